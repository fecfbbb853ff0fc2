//! From blocks to lines.

use super::{Bar, Block, Page, Span, Style, Styled, bar, wrap};

/// The lines of a block on a page.
pub(super) fn lines(block: &Block, page: &Page) -> Vec<Styled> {
    match block {
        Block::Blank => vec![Styled::new()],
        Block::Heading(title) => heading(&title.on(page), page),
        Block::Para { indent, lead, body } => para(*indent, &lead.on(page), &body.on(page), page.width),
        Block::Flow { indent, items } => {
            let items = items.iter().map(|i| i.on(page)).collect::<Vec<_>>();
            flow(*indent, &items, page.width)
        }
        Block::Table { indent, table } => table.lines((*indent).min(page.width / 3), page),
        Block::Bars(rows) => bars(rows, page),
        Block::Drawing(rows) => drawing(rows, page),
    }
}

/// Blanks.
pub(super) fn space(columns: usize) -> Styled {
    Styled::from(" ".repeat(columns))
}

fn heading(title: &Styled, page: &Page) -> Vec<Styled> {
    let title = Styled(
        title
            .0
            .iter()
            .map(|s| match s.style {
                Style::Plain => Span { style: Style::Heading, ..s.clone() },
                _ => s.clone(),
            })
            .collect(),
    );
    let stroke = if page.unicode { "─" } else { "-" };
    let taken = title.width() + 4;
    if !page.drawn || taken + 2 > page.width {
        return wrap(&title, page.width, page.width);
    }
    let rule = |n: usize| Span::new(Style::Muted, stroke.repeat(n));
    vec![Styled::from(rule(2)).plain(" ").then(title).plain(" ").with(rule(page.width - taken))]
}

/// A paragraph whose further lines hang beside the lead; a lead that would take more than half of the
/// page stands above it.
pub(super) fn para(indent: usize, lead: &Styled, body: &Styled, width: usize) -> Vec<Styled> {
    let indent = indent.min(width / 3);
    let room = width - indent;
    let hang = lead.width();
    if hang > room / 2 {
        let mut all = indented(indent, wrap(lead, room, room));
        let deeper = (indent + 2).min(width / 3);
        all.extend(indented(deeper, wrap(body, width - deeper, width - deeper)));
        return all;
    }
    let lines = wrap(body, room - hang, room - hang);
    let first = |i: usize| if i == 0 { space(indent).then(lead.clone()) } else { space(indent + hang) };
    lines.into_iter().enumerate().map(|(i, line)| first(i).then(line)).collect()
}

fn indented(indent: usize, lines: Vec<Styled>) -> Vec<Styled> {
    lines.into_iter().map(|line| space(indent).then(line)).collect()
}

fn flow(indent: usize, items: &[Styled], width: usize) -> Vec<Styled> {
    const GAP: usize = 3;
    let indent = indent.min(width / 3);
    let mut lines: Vec<Styled> = Vec::new();
    let mut line = Styled::new();
    for item in items {
        if !line.is_empty() && indent + line.width() + GAP + item.width() > width {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line = line.then(space(GAP));
        }
        line = line.then(item.clone());
    }
    lines.push(line);
    lines.iter().flat_map(|l| indented(indent, wrap(l, width - indent, width - indent))).collect()
}

/// Widest bar, in columns.
const BAR: usize = 24;

fn drawing(rows: &[Styled], page: &Page) -> Vec<Styled> {
    let rows: Vec<Styled> = rows.iter().map(|r| r.on(page)).collect();
    let fits = page.drawn && rows.iter().all(|r| r.width() <= page.width);
    if fits { rows } else { Vec::new() }
}

fn bars(rows: &[Bar], page: &Page) -> Vec<Styled> {
    let rows: Vec<(Styled, f64, Styled)> =
        rows.iter().map(|r| (r.label.on(page), r.fraction, r.note.on(page))).collect();
    let widest = |f: fn(&(Styled, f64, Styled)) -> usize| rows.iter().map(f).max().unwrap_or(0);
    let (label, note) = (widest(|r| r.0.width()), widest(|r| r.2.width()));
    let beside = page.width.saturating_sub(label + note + 4).min(BAR);
    let below = page.width.saturating_sub(note + 4).min(BAR);
    let mut lines = Vec::new();
    for (name, fraction, said) in &rows {
        let drawing = |width: usize| Styled::from(bar(*fraction, width, page.unicode));
        if !page.drawn {
            lines.extend(para(0, &Styled::new(), &name.clone().plain(": ").then(said.clone()), page.width));
        } else if beside >= 10 {
            let drawn = drawing(beside);
            let pad = space(label - name.width() + 2);
            let gap = space(beside - drawn.width() + 2);
            lines.push(name.clone().then(pad).then(drawn).then(gap).then(said.clone()));
        } else {
            lines.extend(wrap(name, page.width, page.width));
            if below < 6 {
                lines.extend(para(2, &Styled::new(), said, page.width));
                continue;
            }
            let drawn = drawing(below);
            let gap = space(below - drawn.width() + 2);
            lines.push(space(2).then(drawn).then(gap).then(said.clone()));
        }
    }
    lines
}
