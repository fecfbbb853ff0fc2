//! The dial as a finished picture, true to its angles.

use svg::Node;
use svg::node::element::{Group, Path};

use super::{Dial, degrees, sense};
use crate::bench::timing::Turn;
use crate::present::svg::canvas::{Align, circle, document, line, n, polygon, rect, text};
use crate::present::svg::palette;
use crate::present::svg::text::Font;

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 610.0;
/// The shaft's centre.
const CENTRE: (f64, f64) = (320.0, 305.0);
/// The can, and the end bell in it.
const CAN: f64 = 196.0;
const BELL: f64 = 172.0;
/// Where the arrow to the goal runs.
const ARROW: f64 = 148.0;

const TITLE: Font = Font::bold(20.0);
const LABEL: Font = Font::plain(16.0);
const STRONG: Font = Font::bold(16.0);

/// Ink for where it stands, where it has to go, and where it may stand.
const NOW: &str = "#B5460F";
const GOAL: &str = "#1F5F99";
const WANTED: &str = "#16724F";
const METAL: &str = "#E4E1D8";
const BAKELITE: &str = "#F6F3EA";

/// The dial as SVG.
pub fn svg(dial: &Dial) -> String {
    let mut page = document(WIDTH, HEIGHT, "End bell and its timing marks", &dial.words());
    page.append(text(WIDTH / 2.0, 34.0, TITLE, Align::Middle, &format!("End bell, seen from {}", dial.from)));
    page.append(
        circle(CENTRE.0, CENTRE.1, CAN).set("fill", METAL).set("stroke", palette::INK).set("stroke-width", 2),
    );
    if let Some((low, high)) = dial.band {
        // A single angle is drawn some degrees wide, to be seen beside its mark; the band is where the end
        // bell is to stand in the end.
        let (low, high) = if high - low < 1.0 { (low - 2.0, high + 2.0) } else { (low, high) };
        let (low, high) = (bell_angle(low, dial.half_then), bell_angle(high, dial.half_then));
        let band = Path::new().set("d", arc((BELL + CAN) / 2.0, low, high));
        page.append(line_only(band, WANTED, CAN - BELL - 4.0).set("stroke-opacity", 0.55));
    }
    let bell = circle(CENTRE.0, CENTRE.1, BELL).set("fill", BAKELITE).set("stroke", palette::INK);
    page.append(bell.set("stroke-width", 1.5));
    page.append(brushes(dial));
    marks(dial, &mut page);
    rotation(dial.wanted, &mut page);
    pointers(dial, &mut page);
    legend(dial, &mut page);
    page.to_string()
}

/// A point at an angle clockwise from the top.
fn at(radius: f64, angle: f64) -> (f64, f64) {
    let (sin, cos) = angle.to_radians().sin_cos();
    (CENTRE.0 + radius * sin, CENTRE.1 - radius * cos)
}

/// An arc between two angles, clockwise when the second is the greater.
fn arc(radius: f64, from: f64, to: f64) -> String {
    let (a, b) = (at(radius, from), at(radius, to));
    let large = u8::from((to - from).abs() > 180.0);
    let sweep = u8::from(to > from);
    format!("M{} {}A{radius} {radius} 0 {large} {sweep} {} {}", n(a.0), n(a.1), n(b.0), n(b.1))
}

fn line_only(path: Path, stroke: &str, width: f64) -> Path {
    path.set("fill", "none").set("stroke", stroke).set("stroke-width", width)
}

/// A head for an arrow that runs along a circle and ends at an angle.
fn head(radius: f64, angle: f64, clockwise: bool, fill: &str) -> Path {
    let back = (if clockwise { -1.0 } else { 1.0 }) * (14.0 / radius).to_degrees();
    polygon(&[at(radius, angle), at(radius - 7.0, angle + back), at(radius + 7.0, angle + back)])
        .set("fill", fill)
}

/// The arrow from one angle to another along a circle.
fn arrow(radius: f64, from: f64, to: f64, stroke: &str, width: f64) -> Group {
    let clockwise = to > from;
    // The line ends inside the head.
    let short = (8.0 / radius).to_degrees().min((to - from).abs());
    let end = if clockwise { to - short } else { to + short };
    Group::new()
        .add(line_only(Path::new().set("d", arc(radius, from, end)), stroke, width))
        .add(head(radius, to, clockwise, stroke))
}

/// The shaft and the two hoods on the line square to the bell's mark.
fn brushes(dial: &Dial) -> Group {
    let turned = bell_angle(dial.now.unwrap_or(0.0), dial.half_now);
    let mut group = Group::new().set("transform", format!("rotate({} {} {})", n(turned), CENTRE.0, CENTRE.1));
    for side in [-1.0, 1.0] {
        let x = CENTRE.0 + side * 72.0 - 28.0;
        let hood = rect(x, CENTRE.1 - 13.0, 56.0, 26.0).set("rx", 3).set("fill", palette::SHADE);
        group.append(hood.set("stroke", palette::SOFT_INK).set("stroke-width", 1.5));
    }
    group.append(circle(CENTRE.0, CENTRE.1, 34.0).set("fill", "#EBC9A4").set("stroke", palette::SOFT_INK));
    group.append(circle(CENTRE.0, CENTRE.1, 13.0).set("fill", METAL).set("stroke", palette::INK));
    group
}

fn bell_angle(angle: f64, half: bool) -> f64 {
    angle + if half { 180.0 } else { 0.0 }
}

/// The marks on the can with their degrees; on the opposite side too when the end bell stands there.
fn marks(dial: &Dial, page: &mut impl Node) {
    let tops: &[f64] = if dial.half_now || dial.half_then { &[0.0, 180.0] } else { &[0.0] };
    let marks = dial.marks();
    let every = (26.0 / ((CAN + 26.0) * dial.step.to_radians())).ceil().max(1.0) as i32;
    for top in tops {
        for mark in &marks {
            let zero = mark.abs() < 1e-9;
            let (a, b) = (at(BELL + 1.0, top + mark), at(CAN + if zero { 12.0 } else { 5.0 }, top + mark));
            page.append(line(a, b, palette::INK, if zero { 3.0 } else { 1.8 }));
            if ((mark / dial.step).round() as i32) % every == 0 {
                let out = if zero && *top > 0.0 { 46.0 } else { 26.0 };
                let (x, y) = at(CAN + out, top + mark);
                let label = if zero && *top > 0.0 { "opposite zero".to_owned() } else { degrees(*mark) };
                let font = if zero { STRONG } else { LABEL };
                page.append(text(x, y + 6.0, font, Align::Middle, &label));
            }
        }
    }
}

/// The wanted rotation, as it passes the top.
fn rotation(wanted: Turn, page: &mut impl Node) {
    let (from, to) = match wanted {
        Turn::Cw => (-52.0, 52.0),
        Turn::Ccw => (52.0, -52.0),
    };
    page.append(arrow(108.0, from, to, palette::INK, 4.0));
    page.append(text(CENTRE.0, CENTRE.1 - 60.0, STRONG, Align::Middle, sense(wanted)));
    page.append(text(CENTRE.0, CENTRE.1 - 80.0, LABEL, Align::Middle, "wanted:"));
}

/// Where the end bell stands and where it has to go.
fn pointers(dial: &Dial, page: &mut impl Node) {
    let now = dial.now.map(|a| bell_angle(a, dial.half_now));
    let then = dial.goal.or(dial.now.filter(|_| dial.half_now != dial.half_then));
    let then = then.map(|a| bell_angle(a, dial.half_then));
    if let (Some(now), Some(then)) = (now, then) {
        page.append(arrow(ARROW, now, then, GOAL, 4.0));
    }
    if let Some(then) = then {
        let to = line(at(BELL - 40.0, then), at(BELL, then), GOAL, 4.0);
        page.append(to.set("stroke-dasharray", "6 4"));
    }
    if let Some(now) = now {
        page.append(line(at(BELL - 40.0, now), at(BELL, now), NOW, 5.0));
        let tip = [at(BELL, now), at(BELL - 14.0, now - 3.2), at(BELL - 14.0, now + 3.2)];
        page.append(polygon(&tip).set("fill", NOW));
    }
}

fn legend(dial: &Dial, page: &mut impl Node) {
    let y = HEIGHT - 22.0;
    let mut x = 36.0;
    let mut entry = |ink: &str, dashes: &str, words: &str| {
        let sample = line((x, y - 5.0), (x + 26.0, y - 5.0), ink, 5.0);
        page.append(sample.set("stroke-dasharray", dashes.to_owned()));
        page.append(text(x + 34.0, y, LABEL, Align::Start, words));
        x += 34.0 + LABEL.width(words) + 22.0;
    };
    let place = |angle: f64| match angle {
        a if a.abs() < 0.05 => "at zero".to_owned(),
        a => format!("{} deg {}", degrees(a), if a > 0.0 { "cw" } else { "ccw" }),
    };
    if let Some(now) = dial.now {
        entry(NOW, "none", &format!("now: {}", place(now)));
    }
    if let Some(goal) = dial.goal {
        entry(GOAL, "6 4", &format!("turn it to: {}", place(goal)));
    } else if dial.half_now != dial.half_then {
        entry(GOAL, "6 4", "half a turn round");
    }
    if dial.band.is_some() {
        entry(WANTED, "none", "where it is wanted");
    }
}
