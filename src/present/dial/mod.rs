//! The end bell as a dial: the zero mark, the marks, where it stands and where it has to go.
//!
//! Angles here are degrees clockwise from the zero mark as they appear from the end from which one looks,
//! so that a dial shows nothing but what the eye will see.

mod characters;
mod drawing;

pub use characters::characters;
pub use drawing::svg;

use crate::bench::timing::Turn;

/// What a dial shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Dial {
    /// The end from which one looks, such as "the shaft end".
    pub from: String,
    /// The rotation that is wanted, seen from there.
    pub wanted: Turn,
    /// From mark to mark, degrees.
    pub step: f64,
    /// Where the end bell stands, from the zero next to it; None when that is not known.
    pub now: Option<f64>,
    /// Where it has to go; None when it stays.
    pub goal: Option<f64>,
    /// Whether it stands half a turn round now, next to the point opposite the zero mark.
    pub half_now: bool,
    /// Whether it will.
    pub half_then: bool,
    /// Where it is wanted to stand, least and most, from the zero mark.
    pub band: Option<(f64, f64)>,
}

impl Dial {
    /// The angle of an advance against a rotation: clockwise is positive.
    pub fn angle(advance: f64, wanted: Turn) -> f64 {
        match wanted {
            Turn::Cw => -advance,
            Turn::Ccw => advance,
        }
    }

    /// The whole marks that are shown, out to where the end bell may have to go, and at least two on each
    /// side; no more than twenty.
    fn marks(&self) -> Vec<f64> {
        let reach = [self.now, self.goal].into_iter().flatten().fold(24.0, |most: f64, a| most.max(a.abs()));
        let count = (reach / self.step).ceil().clamp(1.0, 10.0) as i32;
        (-count..=count).map(|i| f64::from(i) * self.step).filter(|a| a.abs() <= MOST).collect()
    }

    /// What the dial shows, in a sentence or two.
    pub fn words(&self) -> String {
        let rotation = sense(self.wanted);
        let mut out =
            format!("The end bell seen from {}. The shaft is wanted to turn {rotation}.", self.from);
        if let Some(now) = self.now {
            out += &format!(" It stands {}.", place(now, self.half_now));
        }
        match (self.goal, self.half_now == self.half_then) {
            (Some(goal), true) => {
                let by = (goal - self.now.unwrap_or(goal)).abs();
                let way = if goal > self.now.unwrap_or(goal) { Turn::Cw } else { Turn::Ccw };
                out += &format!(" Turn it {by:.0} deg {}, to {}.", sense(way), place(goal, self.half_then));
            }
            (Some(goal), false) => {
                out +=
                    &format!(" It has to go half a turn round, and then to {}.", place(goal, self.half_then));
            }
            (None, false) => out += " It has to go half a turn round.",
            (None, true) => {}
        }
        out
    }
}

/// Marks beyond this are not drawn, degrees.
const MOST: f64 = 48.0;

/// A sense of rotation in words.
pub fn sense(turn: Turn) -> &'static str {
    match turn {
        Turn::Cw => "clockwise",
        Turn::Ccw => "counter-clockwise",
    }
}

/// A number of degrees, without needless decimals.
fn degrees(angle: f64) -> String {
    let tenths = (angle.abs() * 10.0).round() / 10.0;
    format!("{tenths}")
}

/// A place on the dial in words.
fn place(angle: f64, half: bool) -> String {
    let zero = if half { "the point opposite the zero mark" } else { "the zero mark" };
    if angle.abs() < 0.05 {
        return format!("at {zero}");
    }
    let way = if angle > 0.0 { Turn::Cw } else { Turn::Ccw };
    format!("{} deg {} of {zero}", degrees(angle), sense(way))
}

#[cfg(test)]
mod tests;
