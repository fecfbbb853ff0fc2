//! The picture of the whole network: a chart with a column for each fault and a row for everything that
//! a fault is linked to. A mark stands where the two are linked; its area grows with the strength.
//!
//! Bands from top to bottom follow the network from cause to cure: history, faults that cause faults,
//! observations by group in the order of the stages they need, repairs, scopes. Within a group, rows and
//! columns are ordered by the mean place of their marks, so that related ones come together.

mod marks;
mod order;

use svg::node::element::Group;

use self::marks::{Marks, draw_mark};
use self::order::{Band, Column, Row, arrange};
use super::canvas::{self, Align, Set, n, rect, text};
use super::palette;
use super::text::Font;
use crate::network::Part;
use crate::present::wording::{Wording, chance_word, percent};

const MARGIN: f64 = 26.0;
const TITLE: Font = Font::bold(20.0);
const LEAD: Font = Font::plain(12.5);
const LABEL: Font = Font::plain(11.0);
const BAND: Font = Font::bold(12.0);
const GROUP: Font = Font::bold(11.0);
/// Greatest width of a row's label and of a column's, each before it breaks into another line.
const ROW_LABEL: f64 = 236.0;
const COLUMN_LABEL: f64 = 150.0;
const CELL: f64 = 17.0;
const GROUP_GAP: f64 = 9.0;
const BAND_GAP: f64 = 20.0;
/// Column labels are repeated when this many rows have passed below them.
const ROWS_BELOW_LABELS: usize = 44;

/// Draws the whole network.
pub fn draw(say: Wording<'_>, part: &Part) -> String {
    let marks = Marks::of(say, part);
    let (mut columns, mut bands) = arrange(say, part, &marks);
    let label_width = label_width(say, &bands);
    let left = MARGIN + label_width + 10.0;
    let right = place_columns(say, &mut columns, left);
    let frame = Frame { left, right, labels: label_width };
    let width = (right + MARGIN).max(560.0);

    let mut out = Group::new();
    let mut y = MARGIN + TITLE.size;
    out = out.add(text(MARGIN, y, TITLE, Align::Start, "The whole network"));
    let lead = "Each column is a fault. Read down it: what brings the fault on, where it shows, what removes it. \
                The larger a mark, the stronger the link. Grey columns on the right: history that shows by itself.";
    for line in LEAD.wrap(lead, (width - 2.0 * MARGIN).min(760.0)) {
        y += LEAD.line();
        out = out.add(text(MARGIN, y, LEAD, Align::Start, &line));
    }
    let (legend, legend_bottom) = legend(y + 24.0, width);
    out = out.add(legend);
    y = legend_bottom;

    let mut since_labels = usize::MAX;
    for band in &mut bands {
        let with_labels = since_labels.saturating_add(band.rows.len()) > ROWS_BELOW_LABELS;
        y += BAND_GAP;
        if with_labels {
            let (labels, height) = column_labels(say, &columns, y);
            out = out.add(labels);
            y += height;
            since_labels = 0;
        }
        since_labels += band.rows.len();
        let (drawn, bottom) = draw_band(say, band, &columns, &marks, frame, y);
        out = out.add(drawn);
        y = bottom;
    }
    let height = y + MARGIN;
    let description = format!(
        "A chart of the whole network: {} columns for faults and history, {} rows for history, faults, observations, repairs and scopes of work.",
        columns.len(),
        bands.iter().map(|b| b.rows.len()).sum::<usize>(),
    );
    format!("{}\n", canvas::document(width, height, "The whole network", &description).add(out))
}

/// Width that the row labels and the titles of the bands need.
fn label_width(say: Wording<'_>, bands: &[Band]) -> f64 {
    let labels = bands.iter().flat_map(|b| &b.rows).flat_map(|r| LABEL.wrap(say.name(r.node), ROW_LABEL));
    let titles = bands.iter().map(|b| BAND.width(&b.title));
    labels.map(|l| LABEL.width(&l)).chain(titles).fold(120.0, f64::max)
}

/// Gives each column its place and width, and returns the right edge. A group is at least as wide as its
/// name.
fn place_columns(say: Wording<'_>, columns: &mut [Column], left: f64) -> f64 {
    let mut x = left;
    for group in columns.chunk_by_mut(|a, b| a.group == b.group) {
        for c in group.iter_mut() {
            c.label = LABEL.wrap(say.name(c.node), COLUMN_LABEL);
            c.width = CELL.max(c.label.len() as f64 * (LABEL.size + 1.0) + 4.0);
        }
        let wide: f64 = group.iter().map(|c| c.width).sum();
        let missing = (GROUP.width(&group[0].group) + 4.0 - wide).max(0.0) / group.len() as f64;
        for c in group.iter_mut() {
            c.width += missing;
            c.x = x;
            x += c.width;
        }
        x += GROUP_GAP;
    }
    if columns.is_empty() { left } else { x - GROUP_GAP }
}

/// The names of groups and faults above the columns, with the height they take.
fn column_labels(say: Wording<'_>, columns: &[Column], top: f64) -> (Group, f64) {
    let longest = columns.iter().flat_map(|c| &c.label).map(|l| LABEL.width(l)).fold(0.0, f64::max);
    let base = top + GROUP.line() + 12.0 + longest;
    let mut out = Group::new().set("class", "columns");
    for group in columns.chunk_by(|a, b| a.group == b.group) {
        let (first, last) = (&group[0], &group[group.len() - 1]);
        let (x, right) = (first.x, last.x + last.width);
        let name = text((x + right) / 2.0, top + GROUP.size, GROUP, Align::Middle, &first.group);
        let line = rect(x, top + GROUP.size + 4.0, right - x, 2.5).set("fill", first.colour);
        out = out.add(name.set("style", format!("fill:{}", first.colour))).add(line);
        for c in group {
            let mut titled =
                canvas::titled("column", &format!("{}: {}", say.name(c.node), say.summary(c.node)));
            let leading = LABEL.size + 1.0;
            let block = (c.label.len() - 1) as f64 * leading;
            for (i, line) in c.label.iter().enumerate() {
                let x = c.x + c.width / 2.0 - block / 2.0 + i as f64 * leading + LABEL.size * 0.36;
                let label = text(0.0, 0.0, LABEL, Align::Start, line);
                titled = titled
                    .add(label.set("transform", format!("translate({} {}) rotate(-90)", n(x), n(base))));
            }
            out = out.add(titled);
        }
    }
    (out, base + 6.0 - top)
}

/// Where the columns begin and end, and how wide the row labels may be.
#[derive(Debug, Clone, Copy)]
struct Frame {
    left: f64,
    right: f64,
    labels: f64,
}

/// Draws a band from `top` down, and gives its lower edge.
fn draw_band(
    say: Wording<'_>,
    band: &mut Band,
    columns: &[Column],
    marks: &Marks,
    frame: Frame,
    top: f64,
) -> (Group, f64) {
    let mut out = Group::new().set("class", "band");
    // The title stands beside the column labels, or in the gap above the band.
    out = out.add(text(MARGIN, top - 5.0, BAND, Align::Start, &band.title));
    let mut y = top;
    for (i, row) in band.rows.iter_mut().enumerate() {
        let lines = LABEL.wrap(say.name(row.node), frame.labels);
        row.y = y;
        row.height = CELL.max(lines.len() as f64 * LABEL.line() + 3.0);
        if i % 2 == 0 {
            let stripe = rect(MARGIN - 6.0, row.y, frame.right - MARGIN + 6.0, row.height);
            out = out.add(stripe.set("fill", palette::SHADE));
        }
        y += row.height;
        out = out.add(row_label(say, row, &lines, frame.left - 10.0));
    }
    for group in columns.chunk_by(|a, b| a.group == b.group) {
        let x = group[0].x - GROUP_GAP / 2.0;
        out = out.add(rect(x - 0.4, top, 0.8, y - top).set("fill", palette::RULE));
    }
    for row in &band.rows {
        for c in columns {
            if let Some(mark) = marks.get(row.node, c.node) {
                let (x, y) = (c.x + c.width / 2.0, row.y + row.height / 2.0);
                out = out.add(draw_mark(mark, x, y, CELL - 3.0, c.colour));
            }
        }
    }
    (out, y)
}

fn row_label(say: Wording<'_>, row: &Row, lines: &[String], right: f64) -> Group {
    let mut out = canvas::titled("row", &format!("{}: {}", say.name(row.node), say.summary(row.node)));
    let block = (lines.len() - 1) as f64 * LABEL.line();
    for (i, line) in lines.iter().enumerate() {
        let y = row.y + row.height / 2.0 - block / 2.0 + i as f64 * LABEL.line() + LABEL.size * 0.36;
        out = out.add(text(right, y, LABEL, Align::End, line));
    }
    out
}

/// What the marks mean, with the lower edge.
fn legend(top: f64, width: f64) -> (Group, f64) {
    let mut out = Group::new().set("class", "legend");
    let (mut x, mut y) = (MARGIN, top);
    let sizes = [0.15, 0.5, 1.0].map(|p| {
        let text = format!("{} ({})", percent(p), chance_word(p));
        (marks::Mark::sample(marks::Shape::Square, p), text)
    });
    let shapes = [
        (marks::Shape::Circle, "brings the fault on"),
        (marks::Shape::Square, "the fault shows here"),
        (marks::Shape::Point, "removes the fault"),
        (marks::Shape::Diamond, "scope that can remove it"),
        (marks::Shape::Cross, "the fault blocks the scope"),
    ]
    .map(|(shape, text)| (marks::Mark::sample(shape, 0.75), text.to_owned()));
    for (mark, label) in shapes.into_iter().chain(sizes) {
        let advance = 20.0 + LABEL.width(&label) + 20.0;
        if x > MARGIN && x + advance - 20.0 > width - MARGIN {
            x = MARGIN;
            y += 20.0;
        }
        out = out
            .add(draw_mark(&mark, x + 7.0, y - 4.0, CELL - 3.0, palette::SOFT_INK))
            .add(text(x + 20.0, y, LABEL, Align::Start, &label).set("class", "soft"));
        x += advance;
    }
    (out, y + 6.0)
}
