//! Spectra of sampled signals: what sound and current recordings share.
//!
//! [`Welch`] averages power spectra of a signal that arrives piece by piece; [`Spectrum::floor`] and
//! [`Spectrum::lines`] find what stands out of the noise; [`LogAxis`] lays a spectrum over the logarithm of
//! frequency, where another speed is a shift; [`Envelope`] shows what beats in a band; [`comb`] finds the
//! common spacing of lines.
//!
//! Frequencies are in Hz, levels in decibel of power. Memory is in proportion to the window.

pub mod comb;
mod envelope;
mod lines;
mod log_axis;
mod welch;

pub use envelope::{Envelope, analytic};
pub use lines::{Line, peak_offset};
pub use log_axis::{LogAxis, Shift, correlate};
pub use welch::{Frames, Spectrum, Welch, window_length};

use thiserror::Error;

/// Why a spectrum cannot be made.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SpectrumError {
    /// The sampling rate is not a usable number.
    #[error("a sampling rate of {0} Hz makes no sense; it must be above 0")]
    Rate(f64),
    /// The window is too short or its length is odd.
    #[error("a window of {0} samples can't be used; take an even number from 16 up")]
    Window(usize),
    /// The band lies outside what the sampling rate can carry, or is too narrow.
    #[error("the band from {low} to {high} Hz does not fit a sampling rate of {rate} Hz")]
    Band {
        /// Lower edge, Hz.
        low: f64,
        /// Upper edge, Hz.
        high: f64,
        /// Sampling rate, Hz.
        rate: f64,
    },
    /// The transform refused its input.
    #[error("the transform failed: {0}")]
    Transform(String),
}

/// Checks a sampling rate and a window length.
fn check(rate: f64, length: usize) -> Result<(), SpectrumError> {
    if !(rate.is_finite() && rate > 0.0) {
        return Err(SpectrumError::Rate(rate));
    }
    if length < 16 || !length.is_multiple_of(2) {
        return Err(SpectrumError::Window(length));
    }
    Ok(())
}
