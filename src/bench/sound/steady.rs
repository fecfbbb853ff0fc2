//! The steadiest stretch of a recording: running up, running down and silence left out.

use super::{Recording, Settings, SoundError};
use crate::bench::spectrum::{LogAxis, Spectrum, correlate};

/// Places in an octave of the axis on which the speed is followed: 0.17 %.
const PER_OCTAVE: f64 = 400.0;

/// Least correlation of two neighbouring blocks that hold the same tones (judgement: noise alone stays
/// below 0.2, a motor at 10 dB above the noise is at 0.4 and more).
const ALIKE: f64 = 0.3;

/// How far a bin of a single window must stand above the floor to count, dB: noise does it in 3 of 100.
const ABOVE: f64 = 7.0;

/// A stretch of a recording over which the speed hardly changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Steady {
    /// First block, and the one after the last.
    pub blocks: (usize, usize),
    /// Begin and end, s from the begin of the recording.
    pub seconds: (f64, f64),
    /// Lowest to highest speed within the stretch, as a share of it.
    pub drift: f64,
    /// How far the speed next to the stretch is off its mean, as a share, times the share of time that it
    /// is off: small where the motor only ran up and down, large where its speed never settled. Speeds off
    /// by more than a twentieth count as running up or down.
    pub unsettled: f64,
    /// Its mean spectrum, every block brought to the mean speed first, so that slow wavering of the speed
    /// does not smear the lines.
    pub spectrum: Spectrum,
    /// Logarithm of each block's speed over the mean speed, and its spectrum brought to the mean speed.
    pub parts: Vec<(f64, Spectrum)>,
}

/// Finds the longest stretch over which the speed stays within [`Settings::steady_within`].
///
/// # Errors
///
/// [`SoundError::NoTone`] when no four blocks in a row hold the same tones.
pub fn steadiest(recording: &Recording, settings: &Settings) -> Result<Steady, SoundError> {
    let axis = LogAxis::new(settings.lowest, recording.highest, PER_OCTAVE);
    let above: Vec<Vec<f64>> = recording.blocks.iter().map(|b| tones(&b.spectrum, &axis)).collect();
    // Speed of each block, in places from the first of its run; a new run where neighbours do not agree.
    let mut runs: Vec<Vec<f64>> = vec![vec![0.0]];
    let most = (PER_OCTAVE * libm::log2(1.0 + 4.0 * settings.steady_within)).ceil() as usize;
    for pair in above.windows(2) {
        let shift = correlate(&pair[1], &pair[0], most, 1.0).first().copied();
        match (shift.filter(|s| s.height >= ALIKE), runs.last_mut()) {
            (Some(shift), Some(run)) => {
                let before = run.last().copied().unwrap_or(0.0);
                run.push(before + shift.places);
            }
            _ => runs.push(vec![0.0]),
        }
    }
    let within = PER_OCTAVE * libm::log2(1.0 + settings.steady_within);
    let (mut best, mut unsettled) = ((0, 0, 0.0), 0.0);
    let mut begin = 0;
    for run in &runs {
        let (first, last, spread) = longest(run, within);
        if last - first > best.1 - best.0 {
            best = (begin + first, begin + last, spread);
            unsettled = off(run, first, last, libm::log2(1.05) * PER_OCTAVE);
        }
        begin += run.len();
    }
    let (first, last, spread) = best;
    if last - first < 4 {
        return Err(SoundError::NoTone("nothing in the recording keeps its pitch for a second"));
    }
    let speeds = follow(&above[first..last], &runs.concat()[first..last], &axis, most);
    let weights: Vec<f64> = recording.blocks[first..last].iter().map(|b| b.spectrum.windows as f64).collect();
    let mean = speeds.iter().zip(&weights).map(|(s, w)| s * w).sum::<f64>() / weights.iter().sum::<f64>();
    let parts: Vec<(f64, Spectrum)> = recording.blocks[first..last]
        .iter()
        .zip(&speeds)
        .map(|(block, speed)| {
            let factor = axis.ratio(speed - mean);
            (libm::log(factor), block.spectrum.slowed(factor))
        })
        .collect();
    let mut spectrum = parts[0].1.clone();
    for (_, part) in &parts[1..] {
        spectrum.merge(part);
    }
    Ok(Steady {
        blocks: (first, last),
        seconds: (first as f64 * recording.step, last as f64 * recording.step),
        drift: axis.ratio(spread) - 1.0,
        unsettled: axis.ratio(unsettled) - 1.0,
        spectrum,
        parts,
    })
}

/// Speed of each block against the mean of all, in places. Following from block to block adds up errors:
/// so each block is compared with the mean of all, brought to one speed by the rough values.
fn follow(above: &[Vec<f64>], rough: &[f64], axis: &LogAxis, most: usize) -> Vec<f64> {
    let mut speeds = rough.to_vec();
    for _ in 0..2 {
        let mut mean = vec![0.0; axis.places];
        for (block, speed) in above.iter().zip(&speeds) {
            for (k, to) in mean.iter_mut().enumerate() {
                let at = k as f64 + speed - speeds[0];
                let below = at.floor();
                if below >= 0.0 && (below as usize) + 1 < block.len() {
                    let (a, b) = (block[below as usize], block[below as usize + 1]);
                    *to += a + (b - a) * (at - below);
                }
            }
        }
        let zero = speeds[0];
        for (block, speed) in above.iter().zip(&mut speeds) {
            // The peak next to where the block was thought to be.
            let near = correlate(block, &mean, 2 * most, 1.0)
                .into_iter()
                .filter(|s| (s.places - (*speed - zero)).abs() < 3.0)
                .max_by(|a, b| a.height.total_cmp(&b.height));
            if let Some(shift) = near {
                *speed = shift.places + zero;
            }
        }
    }
    speeds
}

/// What stands out of the noise of one block, over the logarithm of frequency.
fn tones(spectrum: &Spectrum, axis: &LogAxis) -> Vec<f64> {
    let floor = spectrum.floor(150.0);
    let mut above = spectrum.excess(&floor, 30.0);
    for value in &mut above {
        *value = (*value - ABOVE).max(0.0);
    }
    axis.resample(&above, spectrum.bin_hz)
}

/// Root mean square distance of the speeds outside a part of a run from its mean, times their share.
fn off(run: &[f64], first: usize, last: usize, most: f64) -> f64 {
    let mean = run[first..last].iter().sum::<f64>() / (last - first).max(1) as f64;
    let outside = run[..first].iter().chain(&run[last..]).map(|v| v - mean).filter(|d| d.abs() <= most);
    let (sum, count) = outside.fold((0.0, 0), |(sum, n), d| (sum + d * d, n + 1));
    if count == 0 { 0.0 } else { libm::sqrt(sum / f64::from(count)) * f64::from(count) / run.len() as f64 }
}

/// The longest part of a run whose values stay within a range: begin, end (excluded), range used.
fn longest(run: &[f64], within: f64) -> (usize, usize, f64) {
    let range = |part: &[f64]| {
        let (low, high) =
            part.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
        high - low
    };
    let (mut first, mut best) = (0, (0, 0, 0.0));
    for last in 1..=run.len() {
        while range(&run[first..last]) > within {
            first += 1;
        }
        if last - first > best.1 - best.0 {
            best = (first, last, range(&run[first..last]));
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn longest_part_within_a_range() {
        let run = [0.0, 5.0, 9.0, 9.5, 9.2, 9.9, 9.4, 12.0, 20.0];
        let (first, last, spread) = longest(&run, 1.0);
        assert_eq!((first, last), (2, 7));
        assert!((spread - 0.9).abs() < 1e-12);
        // 0 and 20 are too far to count; 5 and 12 count.
        let mean: f64 = run[2..7].iter().sum::<f64>() / 5.0;
        let square = (5.0 - mean) * (5.0 - mean) + (12.0 - mean) * (12.0 - mean);
        assert!((off(&run, 2, 7, 6.0) - (square / 2.0).sqrt() * 2.0 / 9.0).abs() < 1e-12);
        assert_eq!(off(&run, 0, 9, 6.0), 0.0);
        assert_eq!(longest(&[3.0], 1.0), (0, 1, 0.0));
        assert_eq!(longest(&[], 1.0), (0, 0, 0.0));
    }
}
