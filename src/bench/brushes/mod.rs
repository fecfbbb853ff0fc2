//! Brushes: their lengths and how long they last, spring force to contact pressure, current density.
//!
//! Lengths in metres, times in seconds, forces in newtons, pressures in pascals, current densities in
//! amperes per square metre. Every standard deviation is in the unit of what it belongs to, and every
//! limit is an argument: nothing here knows how short is too short.

mod contact;
#[cfg(test)]
mod tests;
mod wear;

pub use contact::{Face, density, pressure};
pub use wear::{Instrument, Lengths, Outlook};

/// Why nothing can be said about the brushes.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BrushError {
    /// No brush at all.
    #[error("no brush length is given: measure every brush of the motor")]
    NoBrush,
    /// A length, a force or the like that is none.
    #[error("{what} must be above zero")]
    NotPositive {
        /// What it is, with the article.
        what: &'static str,
    },
    /// Too great, or no number at all.
    #[error("{what} is no possible number")]
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
    /// A brush that has grown.
    #[error(
        "brush {number} is {measured:.2} mm long and a new one {new:.2} mm: a brush cannot grow, so measure \
         again or give the right new length"
    )]
    LongerThanNew {
        /// Which brush, counted from 1.
        number: usize,
        /// Its length in mm.
        measured: f64,
        /// The length of a new one in mm.
        new: f64,
    },
    /// New brushes below the limit.
    #[error(
        "a new brush of {new:.2} mm would be at its minimum of {minimum:.2} mm already: one of the two is wrong"
    )]
    NewBelowMinimum {
        /// The length of a new one in mm.
        new: f64,
        /// The minimum in mm.
        minimum: f64,
    },
}

/// A number above zero, or the error that says what it is.
fn positive(what: &'static str, value: f64) -> Result<f64, BrushError> {
    match value {
        v if !v.is_finite() => Err(BrushError::NotFinite { what }),
        v if v <= 0.0 => Err(BrushError::NotPositive { what }),
        v => Ok(v),
    }
}

/// A standard deviation, or the error that says whose it is.
fn deviation(what: &'static str, value: f64) -> Result<f64, BrushError> {
    if value.is_finite() && value >= 0.0 { Ok(value) } else { Err(BrushError::BadDeviation { what }) }
}
