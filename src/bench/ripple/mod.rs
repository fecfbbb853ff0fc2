//! Current against time: speed and defects from commutation ripple.
//!
//! Each time a bar passes a brush, the current of the motor rises and falls a little. In a two-pole motor
//! with `k` bars that happens lcm(2, k) times a turn: 2k times for an odd number of bars, k times for an even
//! one ([`ripples_per_turn`]). [`table`] reads a file of current against time into a [`Recording`] of even
//! steps; [`analyse`] follows its strongest line through the recording, lays the spectrum over turns instead
//! of seconds, and decides which line of the row it followed.
//!
//! What recurs with the turn but is no commutation ripple comes from one coil or bar that differs from the
//! others. Such a part passes both brushes in a turn, and a motor whose brushes stand opposite each other
//! answers alike at both: it shows twice a turn, and its multiples; once a turn only so far as the brushes
//! differ. [`Ripple::unevenness`] counts all of them.

mod error;
mod even;
mod follow;
mod judge;
pub mod table;

pub use error::{Note, RippleError};
pub use judge::{Expected, Order, Ripple, Rival, analyse};

/// Current in even steps.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// Samples a second, Hz.
    pub rate: f64,
    /// Ampere.
    pub samples: Vec<f64>,
    /// What had to be done to get there.
    pub notes: Vec<Note>,
}

impl Recording {
    /// Seconds from the first to the last sample.
    pub fn seconds(&self) -> f64 {
        self.samples.len().saturating_sub(1) as f64 / self.rate
    }

    /// Mean current, ampere; 0 when there is nothing.
    pub fn mean(&self) -> f64 {
        self.samples.iter().sum::<f64>() / self.samples.len().max(1) as f64
    }
}

/// Ripples in a turn of a two-pole motor with `bars` bars: the least common multiple of poles and bars, as
/// drivers that count ripples reckon it.
///
/// # Examples
///
/// ```
/// use commsense::bench::ripple::ripples_per_turn;
/// assert_eq!([3, 4, 5, 7, 12].map(ripples_per_turn), [6, 4, 10, 14, 12]);
/// ```
pub fn ripples_per_turn(bars: u32) -> u32 {
    if bars % 2 == 1 { 2 * bars } else { bars }
}

/// Ripple frequency in Hz at a speed in rpm: ripples a turn times turns a second.
pub fn ripple_hz(bars: u32, rpm: f64) -> f64 {
    f64::from(ripples_per_turn(bars)) * rpm / 60.0
}

/// How many samples a ripple must have to be told apart: two are the theoretical least, and a half more
/// leaves room for the filter of the instrument.
pub const SAMPLES_PER_RIPPLE: f64 = 2.5;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ripples_follow_the_published_count() {
        // "LCM(brushes, commutator_segments)", in a motor-driver header; for two poles and brushes.
        for (bars, ripples) in [(3, 6), (5, 10), (7, 14), (12, 12), (4, 4), (2, 2)] {
            assert_eq!(ripples_per_turn(bars), ripples);
        }
    }

    #[test]
    fn ripple_frequency_of_published_speeds() {
        // Three bars: 30,000 rpm is 3000 Hz; 20,028 rpm is 2002.8 Hz (derived from the count above).
        assert!((ripple_hz(3, 30_000.0) - 3000.0).abs() < 1e-9);
        assert!((ripple_hz(3, 20_028.0) - 2002.8).abs() < 1e-9);
    }
}
