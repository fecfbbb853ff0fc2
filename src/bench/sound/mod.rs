//! Sound recordings: speed ratio, shaft speed, clicks.
//!
//! Two short recordings of a motor, one for each direction, hold the ratio of its speeds without anyone
//! having to know which tone is which: every tone that belongs to the shaft moves by the same factor. So
//! the spectra, laid over the logarithm of frequency, are the same but for a shift ([`compare`]). The can's
//! own resonances and the room do not move; dividing by the noise floor takes most of them away.
//!
//! Each recording is read once, in pieces ([`Recording::listen`]); what is kept is a fixed number of
//! spectra, however long the file. Small motors of about 30 mm sound from 80 Hz to above 8 kHz
//! (Micromachines 2018, 9(2), 84).

mod clicks;
mod compare;
mod recording;
mod shaft;
mod steady;
mod wav;

pub use clicks::{Clicks, clicks};
pub use compare::{Comparison, Match, Other, compare};
pub use recording::{Block, Quality, Recording};
pub use shaft::{Shaft, Speed, ripples, shaft_speed};
pub use steady::{Steady, steadiest};
pub use wav::Wav;

use thiserror::Error;

use super::spectrum::SpectrumError;

/// How recordings are analysed. [`Settings::default`] suits motors of about 30 mm and a phone.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Lowest frequency that is looked at, Hz.
    pub lowest: f64,
    /// Highest frequency that is looked at, Hz; never above 0.45 of the sampling rate.
    pub highest: f64,
    /// Widest bin of a spectrum, Hz: its window lasts about its inverse.
    pub bin: f64,
    /// Largest speed ratio that is looked for, either way.
    pub widest_ratio: f64,
    /// How far the speed may change within a steady stretch, as a share of it.
    pub steady_within: f64,
    /// Slowest and fastest speed of the shaft to think of, rpm.
    pub speeds: (f64, f64),
    /// Band in which clicks are looked for, Hz.
    pub click_band: (f64, f64),
    /// How many times the recordings are drawn anew to see how far the ratio scatters.
    pub draws: usize,
    /// Seed of these draws.
    pub seed: u64,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            lowest: 80.0,
            highest: 12_000.0,
            bin: 3.0,
            widest_ratio: 1.6,
            steady_within: 0.015,
            speeds: (1_000.0, 60_000.0),
            click_band: (2_000.0, 8_000.0),
            draws: 200,
            seed: 1,
        }
    }
}

/// Why a recording, or a pair of them, says nothing.
#[derive(Debug, Error)]
pub enum SoundError {
    /// Not a WAV file, or one with a content that is not understood.
    #[error("this is no WAV file that can be read ({0}); save the recording as plain WAV (PCM)")]
    NotWav(String),
    /// The file could not be read.
    #[error("the recording can't be read: {0}")]
    Read(#[from] std::io::Error),
    /// A WAV file without a sample.
    #[error("the recording is empty; record at least 3 s of the running motor")]
    Empty,
    /// A sampling rate outside what is handled.
    #[error("a sampling rate of {0} Hz is not handled; record at 8000 to 192000 Hz")]
    Rate(u32),
    /// Too few samples for a spectrum.
    #[error("the recording lasts {0:.2} s, too short to measure; record at least 3 s of the running motor")]
    TooShort(f64),
    /// No sound at all.
    #[error("the recording is silent; check the microphone, hold it 10 cm from the motor")]
    Silent,
    /// More than a tenth of the samples are not numbers.
    #[error("{0:.0} % of the samples are not numbers; the file is damaged, record again")]
    NotNumbers(f64),
    /// Nothing steady stands out of the noise.
    #[error("no motor tone found: {0}; hold the microphone 10 cm from the running motor, in a quiet room")]
    NoTone(&'static str),
    /// Both have tones, but not the same ones moved by a factor.
    #[error(
        "the two recordings have no tones in common at any speed ratio from {low:.2} to {high:.2}; are they \
         the same motor, at the same voltage, unloaded?"
    )]
    NothingInCommon {
        /// Lowest ratio that was tried.
        low: f64,
        /// Highest ratio that was tried.
        high: f64,
    },
    /// An argument that makes no sense.
    #[error("{0}")]
    Argument(String),
    /// The signal library refused.
    #[error(transparent)]
    Spectrum(#[from] SpectrumError),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_band_holds_the_sound_of_small_motors() {
        // Motors of about 30 mm sound from 80 Hz to above 8 kHz: Micromachines 2018, 9(2), 84.
        let settings = Settings::default();
        assert!(settings.lowest <= 80.0 && settings.highest > 8_000.0);
        assert!(settings.click_band.0 >= settings.lowest && settings.click_band.1 <= settings.highest);
    }
}
