//! The pictures of an examination. Each says in words, for those who can't see it, what it shows.

use svg::Node;
use svg::node::element::{Group, Path};

use super::{Sheet, give_or_take, rate, share};
use crate::drill::exam::Calibration;
use crate::present::svg::canvas::{Align, circle, document, line, n, rect, text, titled};
use crate::present::svg::palette::{self, INK, RULE, SHADE, SOFT_INK};
use crate::present::svg::text::Font;

const WIDTH: f64 = 720.0;
const TITLE: Font = Font::bold(16.0);
const LABEL: Font = Font::plain(13.0);
const SMALL: Font = Font::plain(11.0);
const EDGE: f64 = 16.0;
/// Height of a row with a bar.
const ROW: f64 = 22.0;
/// Faults in the picture of bars, and in the table of confusions.
const FAULTS: usize = 25;
const SIDE: usize = 12;

fn strong() -> &'static str {
    palette::group(4)
}

fn other() -> &'static str {
    palette::group(0)
}

/// Shortens a text until it fits.
fn fitting(font: Font, content: &str, width: f64) -> String {
    if font.width(content) <= width {
        return content.to_owned();
    }
    let mut short: Vec<char> = content.chars().collect();
    while !short.is_empty() && font.width(&format!("{}…", short.iter().collect::<String>())) > width {
        short.pop();
    }
    format!("{}…", short.into_iter().collect::<String>().trim_end())
}

/// What was said against what was true: the curve, and how often each was said.
pub(super) fn calibration(of: &Calibration, what: &str) -> String {
    const SIZE: f64 = 340.0;
    let (left, top) = (70.0, 54.0);
    let used: Vec<_> = of.bins.iter().filter(|b| b.count > 0).collect();
    let said: Vec<String> = used
        .iter()
        .map(|b| format!("said {}, true {}, {} times", share(b.said), share(b.true_share), b.count))
        .collect();
    let mut page = document(
        left + SIZE + 40.0,
        top + SIZE + 60.0,
        &format!("Calibration: {what}"),
        &format!("{}. On the dashed line, what is said is true.", said.join("; ")),
    );
    page.append(text(EDGE, 28.0, TITLE, Align::Start, what));
    let at = |x: f64, y: f64| (left + x * SIZE, top + (1.0 - y) * SIZE);
    page.append(rect(left, top, SIZE, SIZE).set("fill", "#FFFFFF").set("stroke", RULE));
    for tick in 0..=5 {
        let v = f64::from(tick) / 5.0;
        if (1..5).contains(&tick) {
            page.append(line(at(v, 0.0), at(v, 1.0), RULE, 1.0));
            page.append(line(at(0.0, v), at(1.0, v), RULE, 1.0));
        }
        let (x, y) = at(v, 0.0);
        page.append(text(x, y + 18.0, SMALL, Align::Middle, &share(v)));
        let (x, y) = at(0.0, v);
        page.append(text(x - 8.0, y + 4.0, SMALL, Align::End, &share(v)));
    }
    page.append(line(at(0.0, 0.0), at(1.0, 1.0), SOFT_INK, 1.5).set("stroke-dasharray", "6 5"));
    let most = used.iter().map(|b| b.count).max().unwrap_or(1) as f64;
    let mut d = String::new();
    for (i, bin) in used.iter().enumerate() {
        let (x, y) = at(bin.said, bin.true_share);
        d.push_str(&format!("{}{} {}", if i == 0 { "M" } else { "L" }, n(x), n(y)));
    }
    if !d.is_empty() {
        let path = Path::new().set("d", d).set("fill", "none").set("stroke", strong());
        page.append(path.set("stroke-width", 2));
    }
    for (bin, words) in used.iter().zip(&said) {
        let (x, y) = at(bin.said, bin.true_share);
        // The area tells how often it was said.
        let r = 3.0 + 9.0 * (bin.count as f64 / most).sqrt();
        let dot = circle(x, y, r).set("fill", strong()).set("fill-opacity", 0.75).set("stroke", INK);
        page.append(titled("mark", words).add(dot));
    }
    let (x, y) = at(0.5, 0.0);
    page.append(text(x, y + 40.0, LABEL, Align::Middle, "said"));
    page.append(text(EDGE, top - 8.0, LABEL, Align::Start, "true"));
    page.to_string()
}

/// Horizontal bars with a name before and a number behind each; `mark` says which are drawn in the other colour.
fn bars(title: &str, rows: &[(String, f64, String, bool)], full: f64) -> String {
    let names = 240.0;
    let numbers = 110.0;
    let room = WIDTH - names - numbers - 2.0 * EDGE;
    let top = 48.0;
    let words: Vec<String> = rows.iter().map(|(name, _, number, _)| format!("{name}: {number}")).collect();
    let mut page = document(WIDTH, top + rows.len() as f64 * ROW + EDGE, title, &words.join("; "));
    page.append(text(EDGE, 28.0, TITLE, Align::Start, title));
    for (i, (name, value, number, marked)) in rows.iter().enumerate() {
        let y = top + i as f64 * ROW;
        let long = room * (value / full.max(1e-12)).clamp(0.0, 1.0);
        let mut row = titled("mark", &words[i]);
        row.append(text(
            EDGE + names - 10.0,
            y + 15.0,
            LABEL,
            Align::End,
            &fitting(LABEL, name, names - 12.0),
        ));
        row.append(rect(EDGE + names, y + 3.0, room, ROW - 7.0).set("fill", SHADE));
        let fill = if *marked { other() } else { strong() };
        row.append(rect(EDGE + names, y + 3.0, long, ROW - 7.0).set("fill", fill));
        row.append(text(EDGE + names + room + 8.0, y + 15.0, LABEL, Align::Start, number));
        page.append(row);
    }
    page.to_string()
}

/// What a motor costs, by who decides: of all kinds together.
pub(super) fn costs(sheet: &Sheet) -> String {
    let all = sheet.costs();
    let Some(costs) = all.last() else { return String::new() };
    let mut rows = vec![
        ("somebody who knows everything".to_owned(), costs.knowing, false),
        ("the expert".to_owned(), costs.expert, true),
    ];
    rows.extend(costs.named.iter().map(|rule| (sheet.rule(rule), rule.cost, false)));
    let best = costs.hindsight.iter();
    rows.extend(best.map(|rule| (format!("{} (hindsight)", sheet.rule(rule)), rule.cost, false)));
    let full = rows.iter().map(|r| r.1.mean).fold(0.0, f64::max);
    let rows: Vec<_> =
        rows.into_iter().map(|(name, cost, expert)| (name, cost.mean, give_or_take(cost), expert)).collect();
    bars(&format!("What a motor costs, {}", costs.name()), &rows, full)
}

/// How often each fault stood first when it was alone: the worst ones.
pub(super) fn faults(sheet: &Sheet) -> String {
    let rows: Vec<_> = (sheet.report.faults.iter().take(FAULTS))
        .map(|f| {
            let name = sheet.fault(f.fault).to_owned();
            let number = format!("{} of {}", rate(f.first), f.first.of);
            (name, f.first.share().unwrap_or(0.0), number, false)
        })
        .collect();
    bars("How often it stood first, of motors with this fault alone", &rows, 1.0)
}

/// Which faults are taken for which: the worst pairs as a table of squares.
pub(super) fn confusions(sheet: &Sheet) -> String {
    const CELL: f64 = 36.0;
    let pairs = &sheet.report.confusions;
    let listed = |of: &dyn Fn(usize) -> usize| {
        let mut list: Vec<usize> = Vec::new();
        for i in 0..pairs.len() {
            if !list.contains(&of(i)) && list.len() < SIDE {
                list.push(of(i));
            }
        }
        list
    };
    let (rows, columns) = (listed(&|i| pairs[i].truth), listed(&|i| pairs[i].named));
    let (left, top) = (240.0, 60.0);
    let key = top + rows.len() as f64 * CELL + 28.0;
    let shown = |row: usize, column: usize| pairs.iter().find(|p| (p.truth, p.named) == (row, column));
    let words: Vec<String> = (pairs.iter().filter(|p| rows.contains(&p.truth) && columns.contains(&p.named)))
        .map(|p| {
            let of = (p.rate.hits, p.rate.of);
            format!("{} taken for {}: {} of {}", sheet.fault(p.truth), sheet.fault(p.named), of.0, of.1)
        })
        .collect();
    let height = key + columns.len() as f64 * 18.0 + EDGE;
    let title = "Faults that are taken for others";
    let mut page = document(WIDTH, height, title, &words.join("; "));
    page.append(text(EDGE, 28.0, TITLE, Align::Start, title));
    let greatest = pairs.iter().filter_map(|p| p.rate.share()).fold(0.0, f64::max).max(1e-9);
    for (c, _) in columns.iter().enumerate() {
        let x = left + (c as f64 + 0.5) * CELL;
        page.append(text(x, top - 8.0, Font::bold(13.0), Align::Middle, &letter(c)));
    }
    for (r, row) in rows.iter().enumerate() {
        let y = top + r as f64 * CELL;
        let name = fitting(LABEL, sheet.fault(*row), left - 2.0 * EDGE - 4.0);
        page.append(text(left - 10.0, y + CELL / 2.0 + 5.0, LABEL, Align::End, &name));
        for (c, column) in columns.iter().enumerate() {
            page.append(cell(
                sheet,
                shown(*row, *column),
                row == column,
                greatest,
                (left + c as f64 * CELL, y),
                CELL,
            ));
        }
    }
    for (c, column) in columns.iter().enumerate() {
        let line = format!("{}  named was: {}", letter(c), sheet.fault(*column));
        page.append(text(left, key + c as f64 * 18.0, LABEL, Align::Start, &line));
    }
    page.to_string()
}

fn cell(
    sheet: &Sheet,
    pair: Option<&crate::drill::exam::Confusion>,
    itself: bool,
    greatest: f64,
    (x, y): (f64, f64),
    size: f64,
) -> Group {
    let Some(pair) = pair else {
        let fill = if itself { RULE } else { "#FFFFFF" };
        return Group::new().add(rect(x, y, size, size).set("fill", fill).set("stroke", RULE));
    };
    let depth = pair.rate.share().unwrap_or(0.0) / greatest;
    let (truth, named) = (sheet.fault(pair.truth), sheet.fault(pair.named));
    let words = format!("{truth} taken for {named}: {} of {}", pair.rate.hits, pair.rate.of);
    let fill = rect(x, y, size, size).set("fill", other()).set("fill-opacity", 0.08 + 0.6 * depth);
    let number = pair.rate.hits.to_string();
    titled("mark", &words)
        .add(rect(x, y, size, size).set("fill", "#FFFFFF"))
        .add(fill.set("stroke", RULE))
        .add(text(x + size / 2.0, y + size / 2.0 + 5.0, LABEL, Align::Middle, &number))
}

fn letter(place: usize) -> String {
    char::from(b'A' + (place % 26) as u8).to_string()
}
