//! The upper rim of the dial in characters.
//!
//! A whole circle would give a step of 12 degrees three columns. The sector next to zero, drawn large,
//! gives it eight or more, and nothing else is needed.

use super::{Dial, MOST, degrees, sense};
use crate::bench::timing::Turn;
use crate::present::text::{Span, Style, Styled};

/// Columns and rows of the canvas.
const COLUMNS: usize = 65;
const ROWS: usize = 12;
/// Centre column, and the row on which the rim has its highest point.
const MIDDLE: f64 = 32.0;
const TOP: f64 = 2.0;
/// A character is about twice as high as wide.
const ASPECT: f64 = 2.0;

/// Signs, and the ASCII that stands for them.
struct Signs {
    rim: char,
    mark: char,
    wanted: char,
    path: char,
    left: char,
    right: char,
}

const SIGNS: Signs = Signs { rim: '·', mark: '┼', wanted: '═', path: '─', left: '◄', right: '►' };
const ASCII: Signs = Signs { rim: '.', mark: '+', wanted: '=', path: '-', left: '<', right: '>' };

/// The dial in at most 15 lines of at most 69 columns.
pub fn characters(dial: &Dial) -> Vec<Styled> {
    let plain = draw(dial, &ASCII);
    draw(dial, &SIGNS).into_iter().zip(plain).map(|(a, b)| Span::sign(Style::Plain, &a, &b).into()).collect()
}

fn draw(dial: &Dial, signs: &Signs) -> Vec<String> {
    let mut canvas = Canvas::new(dial);
    let sector = canvas.sector;
    // The rim first, then what lies on it.
    let mut angle = -sector;
    while angle <= sector {
        canvas.put(angle, 0.0, signs.rim);
        angle += 0.25;
    }
    if let Some((low, high)) = dial.band {
        let mut angle = low;
        while angle <= high {
            canvas.put(angle, 0.0, signs.wanted);
            angle += 0.25;
        }
    }
    // Labels that would run into each other are left out, the odd ones first.
    let marks = dial.marks();
    let every = (6.0 / (canvas.radius * (dial.step.to_radians()).sin())).ceil().max(1.0) as i32;
    for mark in &marks {
        canvas.put(*mark, 0.0, signs.mark);
        if ((mark / dial.step).round() as i32) % every == 0 {
            canvas.write(*mark, 3.4, &degrees(*mark));
        }
    }
    let (now, goal) = (dial.now, dial.goal);
    if let (Some(now), Some(goal)) = (now, goal) {
        let (low, high) = (now.min(goal), now.max(goal));
        let mut angle = low;
        while angle <= high {
            canvas.put(angle, -3.0, signs.path);
            angle += 0.25;
        }
        let head = if goal > now { signs.right } else { signs.left };
        canvas.put_before(goal, -3.0, goal > now, head);
    }
    if let Some(now) = now {
        canvas.put(now, -3.0, 'N');
    }
    if let Some(goal) = goal {
        canvas.put(goal, -3.0, 'T');
    }
    let mut out = vec![format!("  Seen from {}, the zero mark on top:", dial.from)];
    out.push(rotation(dial.wanted, signs));
    out.extend(canvas.lines());
    out.extend(legend(dial, signs));
    out
}

/// The rotation that is wanted, as it passes the top of the dial.
fn rotation(wanted: Turn, signs: &Signs) -> String {
    let line: String = std::iter::repeat_n(signs.path, 5).collect();
    let said = format!("wanted rotation, {}", sense(wanted));
    let arrow = match wanted {
        Turn::Cw => format!("{line} {said} {line}{}", signs.right),
        Turn::Ccw => format!("{}{line} {said} {line}", signs.left),
    };
    let before = (MIDDLE as usize + 2).saturating_sub(arrow.chars().count() / 2);
    format!("{}{arrow}", " ".repeat(before))
}

fn legend(dial: &Dial, signs: &Signs) -> Vec<String> {
    let mut parts = Vec::new();
    if let Some(now) = dial.now {
        parts.push(format!("N now: {}", short(now)));
    }
    if let Some(goal) = dial.goal {
        parts.push(format!("T turn to: {}", short(goal)));
    }
    if dial.band.is_some_and(|(low, high)| high - low > 0.5) {
        parts.push(format!("{0}{0} wanted", signs.wanted));
    }
    let mut out = vec![format!("  {}", parts.join("   "))];
    if dial.half_now || dial.half_then {
        let when = match (dial.half_now, dial.half_then) {
            (true, true) => "The end bell stands half a turn round: its marks are",
            (true, false) => "Until it is turned half round the marks are",
            _ => "Then its marks are",
        };
        out.push(format!("  {when} opposite the zero mark."));
    }
    out
}

/// A place in few words.
fn short(angle: f64) -> String {
    if angle.abs() < 0.05 {
        return "at zero".to_owned();
    }
    let way = if angle > 0.0 { "cw" } else { "ccw" };
    format!("{} deg {way} of zero", degrees(angle))
}

struct Canvas {
    cells: Vec<Vec<char>>,
    /// Angle from the middle to either end of the rim, degrees.
    sector: f64,
    /// Radius in columns.
    radius: f64,
}

impl Canvas {
    fn new(dial: &Dial) -> Canvas {
        let ends = dial.marks().into_iter().chain(dial.now).chain(dial.goal);
        let most = ends.fold(0.0, |most: f64, a| most.max(a.abs()));
        let sector = (most + 4.0).clamp(30.0, MOST + 2.0);
        // Room for a label beside the outermost mark.
        let radius = (MIDDLE - 3.0) / sector.to_radians().sin();
        Canvas { cells: vec![vec![' '; COLUMNS]; ROWS], sector, radius }
    }

    /// The cell at an angle, `outward` columns from the rim; None outside the canvas.
    fn cell(&self, angle: f64, outward: f64) -> Option<(usize, usize)> {
        let (sin, cos) = angle.to_radians().sin_cos();
        let radius = self.radius + outward;
        let x = (MIDDLE + radius * sin).round();
        let y = (TOP + (self.radius - radius * cos) / ASPECT).round();
        let inside = (0.0..COLUMNS as f64).contains(&x) && (0.0..ROWS as f64).contains(&y);
        inside.then_some((x as usize, y as usize))
    }

    fn put(&mut self, angle: f64, outward: f64, sign: char) {
        if let Some((x, y)) = self.cell(angle, outward) {
            self.cells[y][x] = sign;
        }
    }

    /// Puts a sign one column short of an angle, for whoever comes from the left or from the right.
    fn put_before(&mut self, angle: f64, outward: f64, from_left: bool, sign: char) {
        let Some((x, y)) = self.cell(angle, outward) else { return };
        let x = if from_left { x.checked_sub(1) } else { Some(x + 1) };
        if let Some(cell) = x.and_then(|x| self.cells[y].get_mut(x)) {
            *cell = sign;
        }
    }

    /// Writes a word with its middle there.
    fn write(&mut self, angle: f64, outward: f64, word: &str) {
        let Some((x, y)) = self.cell(angle, outward) else { return };
        let start = x.saturating_sub((word.chars().count() - 1) / 2 + usize::from(angle < -1.0));
        for (i, c) in word.chars().enumerate() {
            if let Some(cell) = self.cells[y].get_mut(start + i) {
                *cell = c;
            }
        }
    }

    /// Its lines, without blanks at their ends and without empty lines at its end.
    fn lines(&self) -> Vec<String> {
        let mut out: Vec<String> = (self.cells.iter())
            .map(|row| format!("  {}", row.iter().collect::<String>()).trim_end().to_owned())
            .collect();
        while out.last().is_some_and(String::is_empty) {
            out.pop();
        }
        out
    }
}
