//! Tables that fit their page: cells wrap, and where even that is too narrow each row becomes a list.

use super::blocks::{para, space};
use super::{Page, Span, Style, Styled, width, wrap};

/// On which side the text of a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table with a head.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    head: Vec<(String, Align)>,
    rows: Vec<Vec<Styled>>,
}

/// Blanks between columns.
const GAP: usize = 2;
/// A column is not made narrower than this to fit.
const NARROWEST: usize = 8;

impl Table {
    /// An empty table with these columns.
    pub fn new(head: &[(&str, Align)]) -> Self {
        Table {
            head: head.iter().map(|(name, align)| (name.to_string(), *align)).collect(),
            rows: Vec::new(),
        }
    }

    /// One more row; missing cells are empty, surplus ones are dropped.
    pub fn row(&mut self, cells: Vec<Styled>) -> &mut Self {
        let mut cells = cells;
        cells.resize(self.head.len(), Styled::new());
        self.rows.push(cells);
        self
    }

    /// Whether it has no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    pub(super) fn lines(&self, indent: usize, page: &Page) -> Vec<Styled> {
        let head: Vec<Styled> =
            self.head.iter().map(|(name, _)| Styled::from(Span::new(Style::Muted, name)).on(page)).collect();
        let rows: Vec<Vec<Styled>> =
            self.rows.iter().map(|row| row.iter().map(|c| c.on(page)).collect()).collect();
        match self.columns(&head, &rows, page.width - indent) {
            Some(columns) => {
                std::iter::once(&head).chain(&rows).flat_map(|row| self.set(row, &columns, indent)).collect()
            }
            None => list(&head, &rows, indent, page.width),
        }
    }

    /// The width of each column, if the table can be set in `room` columns.
    fn columns(&self, head: &[Styled], rows: &[Vec<Styled>], room: usize) -> Option<Vec<usize>> {
        let cells = |i: usize| std::iter::once(&head[i]).chain(rows.iter().map(move |r| &r[i]));
        let mut columns: Vec<usize> =
            (0..head.len()).map(|i| cells(i).map(Styled::width).max().unwrap_or(0)).collect();
        // No column may become so narrow that a word would have to be split.
        let least: Vec<usize> = (0..head.len())
            .map(|i| cells(i).flat_map(longest_word).max().unwrap_or(0).max(NARROWEST.min(columns[i])))
            .collect();
        let room = room.checked_sub(GAP * head.len().saturating_sub(1))?;
        while columns.iter().sum::<usize>() > room {
            let widest = (0..columns.len()).filter(|&i| columns[i] > least[i]).max_by_key(|&i| columns[i])?;
            columns[widest] -= 1;
        }
        Some(columns)
    }

    fn set(&self, row: &[Styled], columns: &[usize], indent: usize) -> Vec<Styled> {
        let cells: Vec<Vec<Styled>> = row.iter().zip(columns).map(|(cell, &w)| wrap(cell, w, w)).collect();
        let height = cells.iter().map(Vec::len).max().unwrap_or(1);
        let mut lines = Vec::with_capacity(height);
        for i in 0..height {
            let mut line = space(indent);
            for (c, cell) in cells.iter().enumerate() {
                let part = cell.get(i).cloned().unwrap_or_default();
                let pad = space(columns[c].saturating_sub(part.width()));
                let gap = if c == 0 { 0 } else { GAP };
                line = line.then(space(gap));
                line = match self.head[c].1 {
                    Align::Left => line.then(part).then(pad),
                    Align::Right => line.then(pad).then(part),
                };
            }
            lines.push(line);
        }
        lines
    }
}

fn longest_word(cell: &Styled) -> Option<usize> {
    cell.to_string().split_whitespace().map(width).max()
}

/// Every row as a list of "head: cell", for narrow pages.
fn list(head: &[Styled], rows: &[Vec<Styled>], indent: usize, page: usize) -> Vec<Styled> {
    let mut lines = Vec::new();
    for row in rows {
        for (i, (name, cell)) in head.iter().zip(row).enumerate().filter(|(_, (_, c))| !c.is_empty()) {
            match i {
                0 => lines.extend(para(indent, &Styled::new(), cell, page)),
                _ => lines.extend(para(indent + 2, &name.clone().plain(": "), cell, page)),
            }
        }
    }
    lines
}
