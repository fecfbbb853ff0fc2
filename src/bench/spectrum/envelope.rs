//! What beats in a band: squared envelopes and their spectra.
//!
//! Method: band-pass, Hilbert transform, spectrum of the squared envelope (R. B. Randall and J. Antoni,
//! Mechanical Systems and Signal Processing 25 (2011) 485).

use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};
use rustfft::{Fft, FftPlanner};

use super::{SpectrumError, check};

/// The analytic signal of a whole signal within a band: its magnitude is the envelope, its angle the
/// phase. The band's edges are sharp, so a click rings a little at them.
///
/// # Errors
///
/// [`SpectrumError::Rate`] and [`SpectrumError::Band`]; an empty signal gives an empty one.
pub fn analytic(samples: &[f64], rate: f64, low: f64, high: f64) -> Result<Vec<Complex<f64>>, SpectrumError> {
    check(rate, 16)?;
    if !(low >= 0.0 && high > low && low < rate / 2.0) {
        return Err(SpectrumError::Band { low, high, rate });
    }
    let n = samples.len();
    if n == 0 {
        return Ok(Vec::new());
    }
    let mut planner = FftPlanner::<f64>::new();
    let mut bins: Vec<Complex<f64>> = samples.iter().map(|x| Complex::new(*x, 0.0)).collect();
    planner.plan_fft_forward(n).process(&mut bins);
    for (i, bin) in bins.iter_mut().enumerate() {
        let hz = i as f64 * rate / n as f64;
        // Upper half: negative frequencies, which the analytic signal has not.
        let inside = 2 * i <= n && hz >= low && hz <= high;
        let own_mirror = i == 0 || 2 * i == n;
        *bin *= if !inside {
            0.0
        } else if own_mirror {
            1.0 / n as f64
        } else {
            2.0 / n as f64
        };
    }
    planner.plan_fft_inverse(n).process(&mut bins);
    Ok(bins)
}

/// Spectra of the squared envelope within a band, window by window, from the transforms that
/// [`super::Frames`] gives: bins are as wide as there.
pub struct Envelope {
    first: usize,
    bins: usize,
    /// Half the width over which levels are evened out, in bins; 0 for not at all.
    even: usize,
    sums: Vec<f64>,
    back: Arc<dyn Fft<f64>>,
    forward: Arc<dyn RealToComplex<f64>>,
    band: Vec<Complex<f64>>,
    squares: Vec<f64>,
    output: Vec<Complex<f64>>,
    back_scratch: Vec<Complex<f64>>,
    forward_scratch: Vec<Complex<f64>>,
    lines: Vec<f64>,
}

impl Envelope {
    /// For windows of `length` samples at `rate` Hz, between `low` and `high` Hz.
    ///
    /// # Errors
    ///
    /// [`SpectrumError::Band`] when the band has fewer than 8 bins below half the sampling rate.
    pub fn new(rate: f64, length: usize, low: f64, high: f64) -> Result<Self, SpectrumError> {
        check(rate, length)?;
        let bin_hz = rate / length as f64;
        let first = (low / bin_hz).ceil().max(1.0) as usize;
        let last = ((high / bin_hz).floor().max(0.0) as usize).min(length / 2 - 1);
        if !low.is_finite() || last < first + 8 {
            return Err(SpectrumError::Band { low, high, rate });
        }
        let bins = last - first + 1;
        // The square of a band is twice as wide as the band.
        let size = (2 * bins).next_power_of_two();
        let back = FftPlanner::<f64>::new().plan_fft_inverse(size);
        let forward = RealFftPlanner::<f64>::new().plan_fft_forward(size);
        Ok(Envelope {
            first,
            bins,
            even: 0,
            sums: Vec::new(),
            band: vec![Complex::default(); size],
            squares: vec![0.0; size],
            output: forward.make_output_vec(),
            back_scratch: vec![Complex::default(); back.get_inplace_scratch_len()],
            forward_scratch: forward.make_scratch_vec(),
            lines: vec![0.0; size / 2 + 1],
            back,
            forward,
        })
    }

    /// Evens out resonances: every bin is divided by the level around it, over `half_width` Hz to both
    /// sides. A click that rings in a resonance is short again. Take it wider than the tones are apart. The
    /// mean squared envelope is then about the number of bins over the number of samples.
    #[must_use]
    pub fn evened(mut self, rate: f64, length: usize, half_width: f64) -> Self {
        self.even = (half_width * length as f64 / rate).round().max(0.0) as usize;
        self
    }

    /// How many bins [`Envelope::lines`] gives.
    pub fn len(&self) -> usize {
        self.lines.len()
    }

    /// Never: a band has bins.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// The squared envelope's mean (first value) and the amplitude of each of its lines, from the
    /// transform of one window (length/2 + 1 bins). A tone of amplitude A has a squared envelope of A².
    ///
    /// For a tone x = (1 + m cos wt) cos ct the lines relate to the mean as 2m (at w) and m²/2 (at 2w) to
    /// 1 + m²/2.
    ///
    /// # Errors
    ///
    /// [`SpectrumError::Transform`], which finite values do not cause.
    pub fn lines(&mut self, window: &[Complex<f64>]) -> Result<&[f64], SpectrumError> {
        let length = 2.0 * window.len().saturating_sub(1) as f64;
        let size = self.band.len();
        self.band.fill(Complex::default());
        let from = window.get(self.first..(self.first + self.bins).min(window.len())).unwrap_or(&[]);
        // Moving the band down to 0 Hz leaves its envelope as it is, and needs fewer samples.
        self.band[..from.len()].copy_from_slice(from);
        if self.even > 0 {
            self.even_out(from.len());
        }
        self.back.process_with_scratch(&mut self.band, &mut self.back_scratch);
        for (square, z) in self.squares.iter_mut().zip(&self.band) {
            *square = z.norm_sqr();
        }
        self.forward
            .process_with_scratch(&mut self.squares, &mut self.output, &mut self.forward_scratch)
            .map_err(|e| SpectrumError::Transform(e.to_string()))?;
        // Twice the positive side, over the length; the mean of Hann's window squared is 3/8.
        let scale = 4.0 / (length * length) / size as f64 / 0.375;
        for (i, (line, bin)) in self.lines.iter_mut().zip(&self.output).enumerate() {
            *line = bin.norm() * scale * if i == 0 { 1.0 } else { 2.0 };
        }
        Ok(&self.lines)
    }

    fn even_out(&mut self, bins: usize) {
        self.sums.clear();
        self.sums.push(0.0);
        let mut sum = 0.0;
        for bin in &self.band[..bins] {
            sum += bin.norm_sqr();
            self.sums.push(sum);
        }
        for (i, bin) in self.band[..bins].iter_mut().enumerate() {
            let (from, to) = (i.saturating_sub(self.even), (i + self.even + 1).min(bins));
            let around = (self.sums[to] - self.sums[from]) / (to - from) as f64;
            // Of what is there at all; far below it nothing is lifted.
            let around = around + 1e-6 * sum / bins as f64;
            if around > 0.0 {
                *bin /= libm::sqrt(around);
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::f64::consts::TAU;

    use super::super::Frames;
    use super::*;

    /// A carrier of 3000 Hz whose amplitude beats at 125 Hz, sampled at 16 kHz.
    fn beating(m: f64, samples: usize) -> Vec<f64> {
        (0..samples)
            .map(|i| {
                let t = i as f64 / 16_000.0;
                (1.0 + m * libm::cos(TAU * 125.0 * t)) * libm::cos(TAU * 3000.0 * t)
            })
            .collect()
    }

    #[test]
    fn envelope_and_its_square_have_the_derived_lines() {
        // Envelope: line m at w. Squared: 1 + m²/2 at 0, 2m at w, m²/2 at 2w (derived from the product).
        let m = 0.4;
        let z = analytic(&beating(m, 16_000), 16_000.0, 2000.0, 4000.0).unwrap();
        let line = |hz: f64, power: i32| {
            let sum: Complex<f64> = z
                .iter()
                .enumerate()
                .map(|(i, z)| Complex::from_polar(z.norm().powi(power), -TAU * hz * i as f64 / 16_000.0))
                .sum();
            sum.norm() / z.len() as f64 * if hz == 0.0 { 1.0 } else { 2.0 }
        };
        for (hz, power, want) in
            [(125.0, 1, m), (0.0, 2, 1.0 + m * m / 2.0), (125.0, 2, 2.0 * m), (250.0, 2, m * m / 2.0)]
        {
            assert!((line(hz, power) - want).abs() < 1e-9, "{hz} Hz: {}", line(hz, power));
        }
    }

    #[test]
    fn windows_give_the_same_lines() {
        let m = 0.4;
        let mut frames = Frames::new(4096).unwrap();
        let mut envelope = Envelope::new(16_000.0, 4096, 2000.0, 4000.0).unwrap();
        let mut seen = 0;
        frames
            .push(&beating(m, 16_384), |bins| {
                let lines = envelope.lines(bins).unwrap();
                let at = |hz: f64| lines[(hz / (16_000.0 / 4096.0)).round() as usize];
                assert!((at(0.0) - (1.0 + m * m / 2.0)).abs() < 2e-3, "{}", at(0.0));
                assert!((at(125.0) - 2.0 * m).abs() < 2e-3, "{}", at(125.0));
                assert!((at(250.0) - m * m / 2.0).abs() < 2e-3, "{}", at(250.0));
                assert!(at(700.0) < 1e-3);
                seen += 1;
            })
            .unwrap();
        assert_eq!(seen, 7);
    }

    #[test]
    fn analytic_signal_of_a_sine_turns_evenly() {
        let x: Vec<f64> = (0..1000).map(|i| libm::sin(TAU * 50.0 * i as f64 / 1000.0)).collect();
        let z = analytic(&x, 1000.0, 10.0, 400.0).unwrap();
        assert!(z.iter().all(|z| (z.norm() - 1.0).abs() < 1e-9));
        assert!(z.iter().zip(&x).all(|(z, x)| (z.re - x).abs() < 1e-9));
        assert!(analytic(&[], 1000.0, 10.0, 400.0).unwrap().is_empty());
    }

    #[test]
    fn bands_that_do_not_fit_are_refused() {
        assert!(matches!(Envelope::new(8000.0, 1024, 5000.0, 6000.0), Err(SpectrumError::Band { .. })));
        assert!(matches!(Envelope::new(8000.0, 1024, 1000.0, 1010.0), Err(SpectrumError::Band { .. })));
        assert!(matches!(Envelope::new(8000.0, 1024, f64::NAN, 1010.0), Err(SpectrumError::Band { .. })));
        assert!(matches!(analytic(&[0.0], 8000.0, 3.0, 2.0), Err(SpectrumError::Band { .. })));
        assert!(Envelope::new(8000.0, 1024, 1000.0, 9e9).is_ok());
    }
}
