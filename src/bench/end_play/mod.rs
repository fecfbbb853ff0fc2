//! End play: how much room the shims leave, and which shims to put on which side.
//!
//! Lengths come in metres. The search works in whole micrometres, finer than anything at the bench
//! resolves, so that it is exact and its ties are true ties.
//!
//! Along the shaft, from the bearing face in the end bell to that in the can, lie: the shims of the bell's
//! side, the armature between its shoulders, the shims of the can's side, and the play. So
//!
//! ```text
//! room = can depth - armature length      play = room - shims of both sides
//! ```
//!
//! In the middle of its play the armature stands further towards the can by half of what the bell's side
//! has more shims than the can's side.

mod plan;
mod room;
mod search;
mod ties;

#[cfg(test)]
mod tests;

pub use plan::{Goal, Place, Plan, Reach, Track, offset, plan};
pub use room::{Depths, Room, room};
pub use search::{MOST_CELLS, MOST_PIECES};
pub use ties::{Arrangement, Stack};

/// Some shims of one thickness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shims {
    /// Thickness of one, in m.
    pub thickness: f64,
    /// How many.
    pub pieces: usize,
}

/// Why no shims can be chosen.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum EndPlayError {
    /// A length that is none.
    #[error("{what} must be above zero")]
    NotPositive {
        /// What it is, with the article.
        what: &'static str,
    },
    /// A number that is none, or beyond any motor.
    #[error("{what} is no possible length")]
    NotFinite {
        /// What it is, with the article.
        what: &'static str,
    },
    /// A standard deviation below zero or no number.
    #[error("the uncertainty of {what} must be zero or more")]
    BadDeviation {
        /// What it belongs to, with the article.
        what: &'static str,
    },
    /// The armature does not fit into the can.
    #[error(
        "the armature is {stack:.2} mm between its shoulders and the can only {can:.2} mm deep between the \
         bearing faces: measure both again"
    )]
    NoRoom {
        /// Can depth in mm.
        can: f64,
        /// Armature length in mm.
        stack: f64,
    },
    /// Neither depths nor a measured play.
    #[error(
        "the room for shims is not known: give the can depth and the armature length, or the play as it is \
         with the shims found"
    )]
    RoomUnknown,
    /// Two ways to the same length that do not agree.
    #[error(
        "the readings contradict each other: can depth, armature length and shims leave {reckoned:.2} mm of \
         play, and {measured:.2} mm was measured; measure again"
    )]
    Contradiction {
        /// Play from the depths, in mm.
        reckoned: f64,
        /// Play as measured, in mm.
        measured: f64,
    },
    /// Thinner than a micrometre or thicker than the search takes.
    #[error("a shim of {millimetres} mm is no possible shim: thicknesses run from 0.001 mm to 10 mm")]
    BadShim {
        /// Its thickness in mm.
        millimetres: f64,
    },
    /// More pieces than any stack holds.
    #[error(
        "these are {pieces} shims that could be used at once: leave out what will not be used, {most} at most"
    )]
    TooManyPieces {
        /// How many.
        pieces: usize,
        /// The most that are searched.
        most: usize,
    },
    /// More places than the search takes.
    #[error(
        "{room:.2} mm of room in steps of {step} um is more than can be searched: give thicknesses in steps \
         of 0.01 mm, and check the room"
    )]
    TooFine {
        /// The room in mm.
        room: f64,
        /// The greatest common step of the thicknesses in um.
        step: usize,
    },
}

/// A length in whole micrometres; nothing when it is no number or beyond 10 m.
fn micrometres(metres: f64) -> Option<i64> {
    let um = (metres * 1e6).round();
    (um.abs() <= 1e7).then_some(um as i64)
}

fn finite(what: &'static str, value: f64) -> Result<f64, EndPlayError> {
    match micrometres(value) {
        Some(_) => Ok(value),
        None => Err(EndPlayError::NotFinite { what }),
    }
}

fn positive(what: &'static str, value: f64) -> Result<f64, EndPlayError> {
    if finite(what, value)? > 0.0 { Ok(value) } else { Err(EndPlayError::NotPositive { what }) }
}

fn deviation(what: &'static str, value: f64) -> Result<f64, EndPlayError> {
    if value.is_finite() && value >= 0.0 { Ok(value) } else { Err(EndPlayError::BadDeviation { what }) }
}
