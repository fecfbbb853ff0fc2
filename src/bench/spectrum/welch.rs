//! Averaged power spectra of overlapping windows (Welch's method).

use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use super::{SpectrumError, check};

/// The power of two whose bins are at most `bin_hz` wide at a sampling rate of `rate` Hz.
///
/// Bin width is rate over length: 48,000 Hz over 65,536 samples is 0.732 Hz.
pub fn window_length(rate: f64, bin_hz: f64) -> usize {
    let wanted = (rate / bin_hz).clamp(16.0, 4_194_304.0);
    (wanted.ceil() as usize).next_power_of_two()
}

/// Windowed transforms of a signal that arrives in pieces: windows of Hann's shape, each half over the one
/// before.
pub struct Frames {
    plan: Arc<dyn RealToComplex<f64>>,
    window: Vec<f64>,
    waiting: Vec<f64>,
    input: Vec<f64>,
    output: Vec<Complex<f64>>,
    scratch: Vec<Complex<f64>>,
}

impl Frames {
    /// Windows of `length` samples.
    ///
    /// # Errors
    ///
    /// [`SpectrumError::Window`] for an odd or very short length.
    pub fn new(length: usize) -> Result<Self, SpectrumError> {
        check(1.0, length)?;
        let plan = RealFftPlanner::<f64>::new().plan_fft_forward(length);
        let turn = std::f64::consts::TAU / length as f64;
        let window = (0..length).map(|i| 0.5 - 0.5 * libm::cos(turn * i as f64)).collect();
        let (input, output, scratch) =
            (plan.make_input_vec(), plan.make_output_vec(), plan.make_scratch_vec());
        Ok(Frames { plan, window, waiting: Vec::with_capacity(length), input, output, scratch })
    }

    /// Takes samples; `each` is given the transform (length/2 + 1 bins) of every window that they complete.
    ///
    /// # Errors
    ///
    /// [`SpectrumError::Transform`], which finite samples do not cause.
    pub fn push(
        &mut self,
        mut samples: &[f64],
        mut each: impl FnMut(&[Complex<f64>]),
    ) -> Result<(), SpectrumError> {
        let length = self.window.len();
        while !samples.is_empty() {
            let take = samples.len().min(length - self.waiting.len());
            let (now, later) = samples.split_at(take);
            self.waiting.extend_from_slice(now);
            samples = later;
            if self.waiting.len() == length {
                for ((to, from), w) in self.input.iter_mut().zip(&self.waiting).zip(&self.window) {
                    *to = from * w;
                }
                self.plan
                    .process_with_scratch(&mut self.input, &mut self.output, &mut self.scratch)
                    .map_err(|e| SpectrumError::Transform(e.to_string()))?;
                each(&self.output);
                self.waiting.drain(..length / 2);
            }
        }
        Ok(())
    }
}

/// A one-sided power spectrum: a sine of amplitude A that falls on a bin has the power A²/2 there.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    /// Width of a bin, Hz; bin `i` is at `i * bin_hz`.
    pub bin_hz: f64,
    /// Mean power in each bin, from 0 Hz to half the sampling rate.
    pub power: Vec<f64>,
    /// How many windows were averaged.
    pub windows: usize,
}

impl Spectrum {
    /// Factor from the squared magnitude of a Hann-windowed transform of `length` samples to power.
    ///
    /// The window's mean is 1/2 and a sine splits between two sides: amplitude A gives A·length/4.
    pub fn scale(length: usize) -> f64 {
        8.0 / (length as f64 * length as f64)
    }

    /// Adds another spectrum of the same bins, weighted by its windows.
    pub fn merge(&mut self, other: &Spectrum) {
        let all = self.windows + other.windows;
        if all == 0 || self.power.len() != other.power.len() {
            return;
        }
        let (a, b) = (self.windows as f64 / all as f64, other.windows as f64 / all as f64);
        for (mine, theirs) in self.power.iter_mut().zip(&other.power) {
            *mine = *mine * a + theirs * b;
        }
        self.windows = all;
    }

    /// The same spectrum with every frequency divided by `factor`: a line at 1010 Hz comes to 1000 Hz for
    /// 1.01. Powers between bins lie on straight lines.
    pub fn slowed(&self, factor: f64) -> Spectrum {
        let n = self.power.len();
        let power = (0..n)
            .map(|i| {
                let at = (i as f64 * factor).max(0.0);
                let below = at.floor() as usize;
                let Some(&first) = self.power.get(below) else {
                    return self.power.last().copied().unwrap_or(0.0);
                };
                let next = self.power.get(below + 1).copied().unwrap_or(first);
                first + (next - first) * (at - at.floor())
            })
            .collect();
        Spectrum { bin_hz: self.bin_hz, power, windows: self.windows }
    }

    /// The bins from `low` to `high` Hz, inside the spectrum.
    pub fn bins(&self, low: f64, high: f64) -> std::ops::Range<usize> {
        let end = self.power.len();
        let first = (low / self.bin_hz).ceil().clamp(0.0, end as f64) as usize;
        let last = (high / self.bin_hz).floor().clamp(-1.0, end as f64 - 1.0) + 1.0;
        first..(last as usize).max(first)
    }

    /// Mean square of the signal between two frequencies; Hann's window spreads noise over 1.5 bins.
    pub fn mean_square(&self, low: f64, high: f64) -> f64 {
        self.power[self.bins(low, high)].iter().sum::<f64>() / 1.5
    }
}

/// Welch's estimate: the mean of the power spectra of half-overlapping Hann windows.
///
/// P. D. Welch, IEEE Trans. Audio Electroacoustics 15 (1967) 70 (from memory).
pub struct Welch {
    frames: Frames,
    sum: Vec<f64>,
    windows: usize,
    bin_hz: f64,
    scale: f64,
}

impl Welch {
    /// For a signal sampled at `rate` Hz, with windows of `length` samples (even).
    ///
    /// # Errors
    ///
    /// [`SpectrumError::Rate`] and [`SpectrumError::Window`].
    pub fn new(rate: f64, length: usize) -> Result<Self, SpectrumError> {
        check(rate, length)?;
        Ok(Welch {
            frames: Frames::new(length)?,
            sum: vec![0.0; length / 2 + 1],
            windows: 0,
            bin_hz: rate / length as f64,
            scale: Spectrum::scale(length),
        })
    }

    /// Takes the next samples of the signal.
    ///
    /// # Errors
    ///
    /// As [`Frames::push`].
    pub fn push(&mut self, samples: &[f64]) -> Result<(), SpectrumError> {
        let (sum, windows) = (&mut self.sum, &mut self.windows);
        self.frames.push(samples, |bins| {
            for (to, bin) in sum.iter_mut().zip(bins) {
                *to += bin.norm_sqr();
            }
            *windows += 1;
        })
    }

    /// The mean so far; all zero when no window is complete yet.
    pub fn spectrum(&self) -> Spectrum {
        let factor = self.scale / self.windows.max(1) as f64;
        let power = self.sum.iter().map(|p| p * factor).collect();
        Spectrum { bin_hz: self.bin_hz, power, windows: self.windows }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn bin_width_is_rate_over_length() {
        // 48,000 / 65,536 = 0.732422 Hz: a step of 43.945 rpm of a line once per turn, 7.324 rpm of the
        // sixth (derived).
        let bin = Welch::new(48_000.0, 65_536).unwrap().spectrum().bin_hz;
        assert!((bin - 0.732_422).abs() < 1e-6);
        assert!((bin * 60.0 - 43.945).abs() < 1e-3);
        assert!((bin * 60.0 / 6.0 - 7.324).abs() < 1e-3);
        assert_eq!(window_length(48_000.0, 3.0), 16_384);
        assert_eq!(window_length(8_000.0, 3.0), 4_096);
        assert_eq!(window_length(65_536.0, 1.0), 65_536);
    }

    #[test]
    fn sine_on_a_bin_has_its_power_there() {
        let (rate, length) = (8000.0, 1024);
        let mut welch = Welch::new(rate, length).unwrap();
        let hz = 100.0 * rate / length as f64;
        let x: Vec<f64> =
            (0..8192).map(|i| 0.6 * libm::sin(std::f64::consts::TAU * hz * i as f64 / rate)).collect();
        // Pieces of odd sizes must give what one piece gives.
        for piece in x.chunks(777) {
            welch.push(piece).unwrap();
        }
        let s = welch.spectrum();
        assert_eq!(s.windows, 15);
        assert!((s.power[100] - 0.18).abs() < 1e-9);
        assert!((s.mean_square(0.0, 4000.0) - 0.18).abs() < 1e-6);
        let mut whole = Welch::new(rate, length).unwrap();
        whole.push(&x).unwrap();
        assert_eq!(whole.spectrum(), s);
    }

    #[test]
    fn merging_weighs_by_windows() {
        let mut a = Spectrum { bin_hz: 1.0, power: vec![1.0, 4.0], windows: 1 };
        a.merge(&Spectrum { bin_hz: 1.0, power: vec![4.0, 1.0], windows: 2 });
        assert_eq!(a, Spectrum { bin_hz: 1.0, power: vec![3.0, 2.0], windows: 3 });
    }

    #[test]
    fn slowing_moves_lines_down() {
        let s = Spectrum { bin_hz: 1.0, power: vec![0.0, 0.0, 0.0, 8.0, 0.0, 0.0], windows: 3 };
        let slow = s.slowed(1.5);
        assert_eq!(slow, Spectrum { bin_hz: 1.0, power: vec![0.0, 0.0, 8.0, 0.0, 0.0, 0.0], windows: 3 });
        assert_eq!(s.slowed(1.0), s);
    }

    #[test]
    fn what_makes_no_spectrum_is_refused() {
        assert!(matches!(Welch::new(0.0, 1024), Err(SpectrumError::Rate(_))));
        assert!(matches!(Welch::new(f64::NAN, 1024), Err(SpectrumError::Rate(_))));
        assert!(matches!(Welch::new(8000.0, 15), Err(SpectrumError::Window(15))));
        let s = Spectrum { bin_hz: 2.0, power: vec![0.0; 10], windows: 1 };
        assert_eq!(s.bins(3.0, 9.0), 2..5);
        assert_eq!(s.bins(100.0, 200.0), 10..10);
        assert_eq!(s.bins(-5.0, -1.0), 0..0);
    }
}
