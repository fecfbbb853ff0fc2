//! Following one spectral line through a recording, cycle by cycle.

use realfft::num_complex::Complex;
use std::f64::consts::TAU;

use super::RippleError;
use crate::bench::spectrum::{Frames, Line, Welch, peak_offset, window_length};

/// Bins of this width find the lines at first, Hz.
const FIRST_BINS: f64 = 4.0;
/// Below this nothing is looked for, Hz: drift of supply and instrument.
const LOWEST: f64 = 15.0;
/// Least height of a line above the noise, dB.
const LEAST_DB: f64 = 10.0;
/// Cycles of the line in one window while it is followed: enough to keep its neighbours out, few enough for
/// a speed that wavers.
const CYCLES: f64 = 40.0;
/// The line may move by this share of its frequency from a window to the next.
const WAVER: f64 = 0.04;

fn broken(e: crate::bench::spectrum::SpectrumError) -> RippleError {
    // Rates and lengths are checked before; finite samples do not fail.
    RippleError::Unreadable { line: 0, why: e.to_string() }
}

fn power_of_two_below(n: usize) -> usize {
    if n < 2 { n } else { 1 << n.ilog2() }
}

/// The strongest lines of a signal without its mean, strongest first; none nearer than `apart` (a share of
/// its frequency) to a stronger one.
pub(super) fn strongest(x: &[f64], rate: f64, apart: f64) -> Result<Vec<Line>, RippleError> {
    let length = window_length(rate, FIRST_BINS).min(power_of_two_below(x.len() / 2)).max(16);
    let mut welch = Welch::new(rate, length).map_err(broken)?;
    welch.push(x).map_err(broken)?;
    let spectrum = welch.spectrum();
    let floor = spectrum.floor((40.0 * spectrum.bin_hz).max(200.0));
    let low = LOWEST.max(4.0 * spectrum.bin_hz);
    let mut lines = spectrum.lines(&floor, low, 0.49 * rate, LEAST_DB);
    lines.sort_by(|a, b| b.power.total_cmp(&a.power));
    let mut kept: Vec<Line> = Vec::new();
    for line in lines {
        if kept.iter().all(|k| (k.hz - line.hz).abs() > apart * k.hz) {
            kept.push(line);
        }
    }
    Ok(kept)
}

/// A line followed through a recording.
#[derive(Debug, Clone)]
pub(super) struct Path {
    /// Cycles of the line up to each sample; rising.
    pub cycles: Vec<f64>,
    /// Standard deviation of the cycles at a place, from their scatter.
    pub scatter: f64,
}

impl Path {
    /// Cycles from the first to the last sample.
    pub fn total(&self) -> f64 {
        self.cycles[self.cycles.len() - 1] - self.cycles[0]
    }
}

/// Follows the line that is near `hz`.
///
/// Window by window the highest bin near that of the window before gives a first frequency; the signal is
/// then turned back by the phase that this adds up to, and what remains of its phase corrects it, twice.
///
/// # Errors
///
/// [`RippleError::TooShort`] for fewer than some twenty cycles, [`RippleError::Unsteady`] when the phase
/// can't be followed.
pub(super) fn follow(x: &[f64], rate: f64, hz: f64) -> Result<Path, RippleError> {
    let wanted = (CYCLES / hz).max(0.02) * rate;
    let length = (wanted.ceil() as usize).next_power_of_two().min(power_of_two_below(x.len() / 2));
    if length < 16 || length as f64 * hz / rate < 10.0 {
        let seconds = x.len() as f64 / rate;
        return Err(RippleError::TooShort { seconds, wanted: (2.5 * CYCLES / hz).max(0.1) });
    }
    let track = ridge(x, rate, hz, length)?;
    let half = length / 2;
    let centres: Vec<f64> = (0..track.len()).map(|i| (i * half + half) as f64).collect();
    let frequency = between(&centres, &track, x.len());
    let mut cycles = Vec::with_capacity(x.len());
    let mut sum = 0.0;
    for (i, f) in frequency.iter().enumerate() {
        let before = if i == 0 { *f } else { frequency[i - 1] };
        sum += if i == 0 { 0.0 } else { 0.5 * (before + f) / rate };
        cycles.push(sum);
    }
    let mut scatter = 0.0;
    for _ in 0..2 {
        let (places, left) = remains(x, &cycles, length)?;
        scatter = roughness(&left);
        for (c, correction) in cycles.iter_mut().zip(between(&places, &left, x.len())) {
            *c += correction;
        }
    }
    if cycles.windows(2).any(|w| w[1] <= w[0]) {
        return Err(RippleError::Unsteady);
    }
    Ok(Path { cycles, scatter })
}

/// Frequency of the line in each window of `length` samples, half over the one before.
fn ridge(x: &[f64], rate: f64, hz: f64, length: usize) -> Result<Vec<f64>, RippleError> {
    let bin = rate / length as f64;
    let low = (0.6 * hz / bin).floor().max(1.0) as usize;
    let high = ((1.5 * hz / bin).ceil() as usize).min(length / 2 - 1);
    let mut windows: Vec<Vec<f64>> = Vec::new();
    let mut frames = Frames::new(length).map_err(broken)?;
    frames
        .push(x, |bins| windows.push(bins[low - 1..=high + 1].iter().map(Complex::norm_sqr).collect()))
        .map_err(broken)?;
    let top = |window: &[f64], near: f64, reach: f64| -> f64 {
        // Places count from `low - 1`.
        let place = |hz: f64| hz / bin - (low - 1) as f64;
        let from = (place(near - reach).round().max(1.0) as usize).min(window.len() - 2);
        let to = (place(near + reach).round().max(1.0) as usize).clamp(from, window.len() - 2);
        let best = (from..=to).max_by(|a, b| window[*a].total_cmp(&window[*b])).unwrap_or(from);
        let db = |i: usize| 10.0 * libm::log10(window[i].max(1e-300));
        let (offset, _) = peak_offset(db(best - 1), db(best), db(best + 1));
        ((low - 1 + best) as f64 + offset) * bin
    };
    let reach = |hz: f64| (WAVER * hz).max(1.5 * bin);
    let near = |window: &Vec<f64>| {
        let place = ((hz / bin).round() as usize).saturating_sub(low - 1).clamp(2, window.len() - 3);
        window[place - 2..=place + 2].iter().copied().fold(0.0, f64::max)
    };
    let start = (0..windows.len())
        .max_by(|a, b| near(&windows[*a]).total_cmp(&near(&windows[*b])))
        .ok_or(RippleError::Unsteady)?;
    let mut track = vec![0.0; windows.len()];
    track[start] = top(&windows[start], hz, reach(hz));
    for i in start + 1..windows.len() {
        track[i] = top(&windows[i], track[i - 1], reach(track[i - 1]));
    }
    for i in (0..start).rev() {
        track[i] = top(&windows[i], track[i + 1], reach(track[i + 1]));
    }
    Ok(track)
}

/// What remains of the line's phase, in cycles, once the signal is turned back: at places a quarter window
/// apart.
fn remains(x: &[f64], cycles: &[f64], length: usize) -> Result<(Vec<f64>, Vec<f64>), RippleError> {
    let turned: Vec<Complex<f64>> =
        x.iter().zip(cycles).map(|(x, c)| Complex::from_polar(*x, -TAU * (c - c.floor()))).collect();
    let window: Vec<f64> =
        (0..length).map(|i| 0.5 - 0.5 * libm::cos(TAU * (i as f64 + 0.5) / length as f64)).collect();
    let (mut places, mut left) = (Vec::new(), Vec::<f64>::new());
    let mut slips = 0;
    let mut start = 0;
    while start + length <= x.len() {
        let sum: Complex<f64> = turned[start..start + length].iter().zip(&window).map(|(z, w)| z * w).sum();
        let here = sum.arg() / TAU;
        let before = left.last().copied().unwrap_or(here);
        let step = (here - before) - (here - before).round();
        slips += usize::from(step.abs() > 0.25);
        left.push(before + step);
        places.push(start as f64 + (length as f64 - 1.0) / 2.0);
        start += (length / 4).max(1);
    }
    if slips * 20 > left.len() {
        return Err(RippleError::Unsteady);
    }
    Ok((places, left))
}

/// Straight lines between values at rising places, for all whole places below `n`; the outermost lines go on.
fn between(places: &[f64], values: &[f64], n: usize) -> Vec<f64> {
    if places.len() < 2 {
        return vec![values.first().copied().unwrap_or(0.0); n];
    }
    let mut at = 0;
    (0..n)
        .map(|i| {
            let p = i as f64;
            while at + 2 < places.len() && places[at + 1] < p {
                at += 1;
            }
            let share = (p - places[at]) / (places[at + 1] - places[at]);
            values[at] + share * (values[at + 1] - values[at])
        })
        .collect()
}

/// Standard deviation of the values about a smooth course, from second differences of values whose windows
/// do not overlap: their variance is six times that of one value.
fn roughness(left: &[f64]) -> f64 {
    let squares: Vec<f64> = left.windows(9).map(|w| (w[0] - 2.0 * w[4] + w[8]).powi(2)).collect();
    match squares.len() {
        // A twentieth of a cycle is the most that passes the test for slips anyway.
        0 => 0.05,
        n => libm::sqrt(squares.iter().sum::<f64>() / n as f64 / 6.0),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RATE: f64 = 20_000.0;

    /// A line whose frequency wavers about `hz`, beside one at 4/6 of it; and the true cycles.
    fn line(hz: f64, waver: f64, seconds: f64) -> (Vec<f64>, f64) {
        let n = (seconds * RATE) as usize;
        let mut phase = 0.3;
        let mut noise = 12345u32;
        let x = (0..n)
            .map(|i| {
                let t = i as f64 / RATE;
                phase += if i == 0 { 0.0 } else { hz * (1.0 + waver * libm::sin(TAU * 0.7 * t)) / RATE };
                noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let white = f64::from(noise) / f64::from(u32::MAX) - 0.5;
                libm::cos(TAU * phase) + 0.5 * libm::cos(TAU * phase * 4.0 / 6.0) + 0.5 * white
            })
            .collect();
        (x, phase - 0.3)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12))]
        #[test]
        fn cycles_are_counted(hz in 100.0..7000.0f64, waver in 0.0..0.03f64, seconds in 0.6..2.0f64) {
            let (x, want) = line(hz, waver, seconds);
            let near = strongest(&x, RATE, 0.05).unwrap()[0].hz;
            let path = follow(&x, RATE, near).unwrap();
            prop_assert!((path.total() - want).abs() < 0.15 + 5e-5 * want, "{} for {want} at {near} Hz", path.total());
        }
    }

    #[test]
    fn noise_has_no_line_and_little_is_refused() {
        let mut noise = 1u32;
        let x: Vec<f64> = (0..20_000)
            .map(|_| {
                noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                f64::from(noise) / f64::from(u32::MAX) - 0.5
            })
            .collect();
        assert!(strongest(&x, RATE, 0.05).unwrap().is_empty());
        let (x, _) = line(200.0, 0.0, 0.05);
        assert!(matches!(follow(&x, RATE, 200.0).err(), Some(RippleError::TooShort { .. })));
    }
}
