//! From samples at any times to even steps.

use super::{Note, Recording, RippleError};

/// A sample as it stands in the file: line, time in s, current in A; not a number where it is missing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sample {
    pub line: u64,
    pub time: f64,
    pub current: f64,
}

/// Up to so many samples that are missing one after the other are filled by interpolation.
const FILLED: f64 = 3.0;

/// Puts samples on even steps.
///
/// Samples that are no numbers are left out; a gap of up to three samples is filled by a straight line; of
/// several stretches between longer gaps, the longest is kept. Times that are the even ones up to their own
/// rounding are taken as even.
pub(super) fn even(samples: &[Sample], mut notes: Vec<Note>) -> Result<Recording, RippleError> {
    let whole: Vec<Sample> =
        samples.iter().filter(|s| s.time.is_finite() && s.current.is_finite()).copied().collect();
    if whole.is_empty() {
        return Err(RippleError::NoNumbers);
    }
    for pair in whole.windows(2) {
        let step = pair[1].time - pair[0].time;
        match step {
            s if s < 0.0 => return Err(RippleError::TimeGoesBack { line: pair[1].line }),
            0.0 => return Err(RippleError::TimeStands { line: pair[1].line }),
            _ => {}
        }
    }
    let missing = samples.len() - whole.len();
    if missing > 0 {
        notes.push(Note::Missing(missing));
    }
    if whole.len() < 16 {
        let seconds = whole[whole.len() - 1].time - whole[0].time;
        return Err(RippleError::TooShort { seconds, wanted: 0.5 });
    }
    let mut steps: Vec<f64> = whole.windows(2).map(|p| p[1].time - p[0].time).collect();
    let middle = steps.len() / 2;
    let usual = *steps.select_nth_unstable_by(middle, f64::total_cmp).1;
    let long = (FILLED + 1.5) * usual;
    let mut stretches: Vec<&[Sample]> = whole.chunk_by(|a, b| b.time - a.time <= long).collect();
    let gaps = stretches.len() - 1;
    stretches.sort_by_key(|s| std::cmp::Reverse(s.len()));
    let stretch = stretches[0];
    let (start, end) = (stretch[0].time, stretch[stretch.len() - 1].time);
    if gaps > 0 {
        let first = whole[0].time;
        notes.push(Note::Stretch { gaps, from: start - first, to: end - first });
    }
    let steps = (stretch.len() - 1).max(1) as f64;
    let own = (end - start) / steps;
    if !(own > 0.0 && own.is_finite()) {
        return Err(RippleError::TooShort { seconds: 0.0, wanted: 0.5 });
    }
    // A clock that ticks evenly but for a few double steps has lost samples there.
    let ticks = stretch.windows(2).map(|p| (p[1].time - p[0].time) / usual);
    let lost = ticks.clone().filter(|t| *t > 1.5).count();
    let regular = ticks.filter(|t| (t - 1.0).abs() < 0.01).count() * 20 > 19 * (stretch.len() - 1);
    let straight = |(i, s): (usize, &Sample)| (s.time - start - i as f64 * own).abs() <= own;
    let in_order = !(regular && lost > 0) && stretch.iter().enumerate().all(straight);
    let (rate, values) = if in_order {
        (1.0 / own, stretch.iter().map(|s| s.current).collect())
    } else {
        notes.push(if regular { Note::Filled(lost) } else { Note::Uneven });
        let count = ((end - start) / if regular { usual } else { own }).round().max(1.0);
        let step = (end - start) / count;
        (1.0 / step, interpolated(stretch, start, step, count as usize + 1))
    };
    if let Some(at) = cut_off(&values) {
        notes.push(Note::CutOff(at));
    }
    Ok(Recording { rate, samples: values, notes })
}

/// Straight lines between samples, at even times.
fn interpolated(samples: &[Sample], start: f64, step: f64, count: usize) -> Vec<f64> {
    let mut at = 0;
    (0..count)
        .map(|i| {
            let t = start + i as f64 * step;
            while at + 2 < samples.len() && samples[at + 1].time < t {
                at += 1;
            }
            let (a, b) = (samples[at], samples[at + 1]);
            a.current + (b.current - a.current) * ((t - a.time) / (b.time - a.time)).clamp(0.0, 1.0)
        })
        .collect()
}

/// The level at which values are cut off, if at least one in a hundred stands exactly at the highest or the
/// lowest, in runs of three and more, while others lie near it (few levels alone are no cut).
fn cut_off(values: &[f64]) -> Option<f64> {
    let (low, high) =
        values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    [high, low].into_iter().find(|edge| {
        let runs: usize = values
            .chunk_by(|a, b| (a == edge) == (b == edge))
            .filter(|c| c[0] == *edge && c.len() >= 3)
            .map(<[f64]>::len)
            .sum();
        // A coarse converter has long runs at every level: a cut holds more samples than the level next to it.
        let next = values
            .iter()
            .filter(|v| *v != edge)
            .min_by(|a, b| (*a - edge).abs().total_cmp(&(*b - edge).abs()));
        let beside = next.map_or(usize::MAX, |n| values.iter().filter(|v| *v == n).count());
        high > low && runs * 100 > values.len() && runs > 2 * beside
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn samples(times: &[f64], f: impl Fn(f64) -> f64) -> Vec<Sample> {
        times
            .iter()
            .enumerate()
            .map(|(i, t)| Sample { line: i as u64 + 1, time: *t, current: f(*t) })
            .collect()
    }

    fn times(n: usize, step: f64) -> Vec<f64> {
        (0..n).map(|i| i as f64 * step).collect()
    }

    #[test]
    fn even_times_stay_as_they_are() {
        let r = even(&samples(&times(100, 1e-3), |t| t), vec![]).unwrap();
        assert!((r.rate - 1000.0).abs() < 1e-6 && r.notes.is_empty());
        assert_eq!(r.samples.len(), 100);
        assert_eq!(r.samples[99], 0.099);
    }

    #[test]
    fn rounded_times_are_even() {
        // Steps of 1/30 ms, written to 0.01 ms: 0.03, 0.03, 0.04.
        let rounded: Vec<f64> =
            (0..3000).map(|i| (f64::from(i) / 30.0 * 100.0).round() / 100.0 * 1e-3).collect();
        let r = even(&samples(&rounded, |t| t), vec![]).unwrap();
        assert!((r.rate / 30_000.0 - 1.0).abs() < 1e-4, "{}", r.rate);
        assert!(r.notes.is_empty(), "{:?}", r.notes);
    }

    #[test]
    fn short_gaps_are_filled_and_long_ones_cut() {
        let mut s = samples(&times(1000, 1e-3), |t| 2.0 * t);
        s[100].current = f64::NAN;
        s[101].current = f64::NAN;
        let r = even(&s, vec![]).unwrap();
        assert_eq!(r.samples.len(), 1000);
        assert!((r.samples[101] - 0.202).abs() < 1e-9);
        assert_eq!(r.notes, [Note::Missing(2), Note::Filled(1)]);
        s.iter_mut().skip(300).take(20).for_each(|s| s.time = f64::NAN);
        let r = even(&s, vec![]).unwrap();
        assert_eq!(r.samples.len(), 680);
        assert!(matches!(r.notes[1], Note::Stretch { gaps: 1, .. }), "{:?}", r.notes);
    }

    #[test]
    fn uneven_times_are_interpolated() {
        let uneven: Vec<f64> = (0..2000)
            .map(|i| {
                1e-3 * (f64::from(i)
                    + 0.9 * libm::sin(f64::from(i) * 0.7)
                    + 2.0 * libm::sin(f64::from(i) * 0.01))
            })
            .collect();
        let r = even(&samples(&uneven, |t| 3.0 * t), vec![]).unwrap();
        assert_eq!(r.notes, [Note::Uneven]);
        let line = |i: usize| r.samples[0] + 3.0 * i as f64 / r.rate;
        assert!((0..r.samples.len()).all(|i| (r.samples[i] - line(i)).abs() < 1e-9));
    }

    #[test]
    fn times_out_of_order_are_refused_with_their_line() {
        let mut s = samples(&times(50, 1e-3), |t| t);
        s[20].time = 0.0;
        assert_eq!(even(&s, vec![]), Err(RippleError::TimeGoesBack { line: 21 }));
        s[20].time = s[19].time;
        assert_eq!(even(&s, vec![]), Err(RippleError::TimeStands { line: 21 }));
    }

    #[test]
    fn nothing_or_little_is_refused() {
        assert_eq!(even(&[], vec![]), Err(RippleError::NoNumbers));
        let few = samples(&times(5, 1e-3), |t| t);
        assert!(matches!(even(&few, vec![]), Err(RippleError::TooShort { .. })));
    }

    #[test]
    fn a_cut_off_top_is_seen_and_coarse_steps_are_not() {
        let wave = |t: f64| (10.0 * libm::sin(t * 400.0) * 20.0).round() / 20.0;
        let r = even(&samples(&times(4000, 1e-4), |t| wave(t).min(7.0)), vec![]).unwrap();
        assert_eq!(r.notes, [Note::CutOff(7.0)]);
        let coarse = even(&samples(&times(4000, 1e-4), |t| (2.0 * wave(t) / 10.0).round()), vec![]).unwrap();
        assert!(coarse.notes.is_empty(), "{:?}", coarse.notes);
    }
}
