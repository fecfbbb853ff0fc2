//! Spectra over the logarithm of frequency, where another speed is a shift.

use super::peak_offset;

/// Frequencies in equal ratios: place `k` (from 0) is at `low * 2^(k / per_octave)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogAxis {
    /// First frequency, Hz.
    pub low: f64,
    /// Places in an octave.
    pub per_octave: f64,
    /// How many places.
    pub places: usize,
}

impl LogAxis {
    /// The axis from `low` to `high` Hz (not above it) with `per_octave` places in an octave.
    pub fn new(low: f64, high: f64, per_octave: f64) -> Self {
        let octaves = libm::log2(high / low);
        let places = if octaves.is_finite() && octaves >= 0.0 {
            (octaves * per_octave + 1e-9).floor() as usize + 1
        } else {
            0
        };
        LogAxis { low, per_octave, places }
    }

    /// Frequency of a place, Hz.
    pub fn hz(&self, place: f64) -> f64 {
        self.low * libm::exp2(place / self.per_octave)
    }

    /// Place of a frequency.
    pub fn place(&self, hz: f64) -> f64 {
        libm::log2(hz / self.low) * self.per_octave
    }

    /// Ratio of frequencies that a shift by `places` stands for.
    pub fn ratio(&self, places: f64) -> f64 {
        libm::exp2(places / self.per_octave)
    }

    /// Values given at the bins of a spectrum, read off at the places of this axis: straight lines where
    /// the axis is the finer one, the largest value where bins are finer. Outside the bins it is 0.
    pub fn resample(&self, values: &[f64], bin_hz: f64) -> Vec<f64> {
        let half = self.ratio(0.5);
        (0..self.places)
            .map(|k| {
                let hz = self.hz(k as f64);
                let at = hz / bin_hz;
                let below = at.floor() as usize;
                let Some(&first) = values.get(below) else { return 0.0 };
                let next = values.get(below + 1).copied().unwrap_or(first);
                let straight = first + (next - first) * (at - at.floor());
                let inner = (hz / half / bin_hz).ceil() as usize..(hz * half / bin_hz).floor() as usize + 1;
                values.get(inner).unwrap_or(&[]).iter().copied().fold(straight, f64::max)
            })
            .collect()
    }
}

/// A shift at which two sequences agree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// By how many places the first lies above the second, interpolated.
    pub places: f64,
    /// Height of the correlation: 1 for sequences that are the same but for the shift and a factor.
    pub height: f64,
}

/// The peaks of the correlation of `a` with `b` for shifts of at most `most` places either way, highest
/// first: at a shift s, `a[i + s]` goes with `b[i]`. Nothing is taken off the sequences first: give them a
/// floor of 0; places at 0 cost no time. Peaks closer than `apart` places to a higher one are left out.
pub fn correlate(a: &[f64], b: &[f64], most: usize, apart: f64) -> Vec<Shift> {
    // One shift more on both sides, to see whether the outermost is a peak.
    let reach = most + 1;
    let mut lagged = vec![0.0; 2 * reach + 1];
    for (i, x) in a.iter().enumerate().filter(|(_, x)| **x != 0.0) {
        // The shift s = i - j lies between -reach and reach.
        let from = i.saturating_sub(reach);
        for (j, y) in b.iter().enumerate().take(i + reach + 1).skip(from) {
            lagged[i + reach - j] += x * y;
        }
    }
    let energy = |x: &[f64]| x.iter().map(|v| v * v).sum::<f64>();
    let norm = libm::sqrt(energy(a) * energy(b));
    if !(norm > 0.0 && norm.is_finite()) {
        return Vec::new();
    }
    let at = |s: i64| lagged[(s + reach as i64) as usize] / norm;
    let most = most as i64;
    let mut peaks: Vec<Shift> = (-most..=most)
        .filter(|&s| at(s) > 0.0 && at(s) >= at(s - 1) && at(s) > at(s + 1))
        .map(|s| {
            let (offset, rise) = peak_offset(at(s - 1), at(s), at(s + 1));
            Shift { places: s as f64 + offset, height: at(s) + rise }
        })
        .collect();
    peaks.sort_by(|x, y| y.height.total_cmp(&x.height));
    let mut kept: Vec<Shift> = Vec::new();
    for peak in peaks {
        if kept.iter().all(|k| (k.places - peak.places).abs() >= apart) {
            kept.push(peak);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_as_published() {
        // f_k = f_min 2^((k-1)/B), k from 1: f_min 100, B 24 gives f_25 = 200 (Praat manual, constant-Q
        // spectrogram).
        let axis = LogAxis::new(100.0, 12_800.0, 24.0);
        assert!((axis.hz(24.0) - 200.0).abs() < 1e-9);
        assert_eq!(axis.places, 7 * 24 + 1);
        assert!((axis.place(400.0) - 48.0).abs() < 1e-9);
    }

    #[test]
    fn sharpness_as_published() {
        // Q = 1 / (2^(r/B) - 2^(-r/B)), same page: 34.6235 for r = 1, B = 48. For B = 24 the page prints
        // 14.26; its own formula gives 17.3099. Frequency over the distance of both neighbours:
        for (b, q) in [(48.0, 34.6235), (24.0, 17.3099)] {
            let axis = LogAxis::new(100.0, 6400.0, b);
            let at = 30.0;
            assert!((axis.hz(at) / (axis.hz(at + 1.0) - axis.hz(at - 1.0)) - q).abs() < 1e-4);
        }
        // Q = 1 / (2^(1/B) - 1) and a window of Q fs/f samples: 16.8172 for 12, 34.1271 for 24, and
        // 16,381 samples for 100 Hz at 48 kHz (J. C. Brown, JASA 89 (1991) 425; from memory).
        for (b, q) in [(12.0, 16.8172), (24.0, 34.1271)] {
            assert!((1.0 / (LogAxis::new(1.0, 2.0, b).ratio(1.0) - 1.0) - q).abs() < 1e-4);
        }
        let q = 1.0 / (LogAxis::new(1.0, 2.0, 24.0).ratio(1.0) - 1.0);
        assert_eq!((q * 48_000.0 / 100.0).round(), 16_381.0);
    }

    #[test]
    fn a_factor_of_frequency_is_a_shift() {
        let bin = 1.0;
        let comb = |f0: f64| -> Vec<f64> {
            (0..8000)
                .map(|i| {
                    let n = (i as f64 / f0).round().max(1.0);
                    let off = i as f64 - n * f0;
                    12.0 * libm::exp(-off * off / 4.0)
                })
                .collect()
        };
        let axis = LogAxis::new(100.0, 7000.0, 1000.0);
        let (a, b) = (axis.resample(&comb(341.0 * 1.05), bin), axis.resample(&comb(341.0), bin));
        let found = correlate(&a, &b, 500, 10.0);
        assert!((axis.ratio(found[0].places) - 1.05).abs() < 3e-4, "{:?}", found[0]);
        assert!(found[0].height > 0.8 && found[1].height < 0.6, "{found:?}");
        let same = correlate(&a, &a, 500, 10.0);
        assert!(same[0].places.abs() < 1e-6 && (same[0].height - 1.0).abs() < 1e-6);
    }

    #[test]
    fn nothing_agrees_with_nothing() {
        assert_eq!(correlate(&[0.0; 50], &[1.0; 50], 10, 2.0), vec![]);
        assert_eq!(correlate(&[], &[], 10, 2.0), vec![]);
        assert_eq!(LogAxis::new(100.0, 50.0, 24.0).places, 0);
    }
}
