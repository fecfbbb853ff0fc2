//! The speed of the shaft, where the spacing of the tones can be tied to it.

use super::{Comparison, Settings, SoundError, Steady};
use crate::bench::Estimate;
use crate::bench::spectrum::Line;
use crate::bench::spectrum::comb::{self, Comb, Tolerance};

/// Least share of the tones' levels that must lie on one row.
const LEAST_SHARE: f64 = 0.6;

/// By how much tones at multiples of the bars must stand above the others to show the bars, dB (judgement).
const SHOWS_BARS: f64 = 4.0;

/// How far an approximate speed may be off and still choose, as a share.
const APPROXIMATE: f64 = 0.25;

/// One way to read the tones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Speed {
    /// Forward speed, rpm.
    pub forward: Estimate,
    /// How often in one turn the spacing of the tones repeats: 1, bars, or twice the bars.
    pub per_turn: u32,
    /// The bars that it supposes; 0 where it needs none.
    pub bars: u32,
}

/// What the tones say about the speed of the shaft.
#[derive(Debug, Clone, PartialEq)]
pub struct Shaft {
    /// Spacing of the forward tones, Hz.
    pub spacing: Estimate,
    /// The speed, where it is settled.
    pub settled: Option<Speed>,
    /// All that come into question, slowest first.
    pub candidates: Vec<Speed>,
    /// The approximate speed that was given fits none of them.
    pub misfit: bool,
}

/// The speed of the shaft from the tones of both recordings; none when they are no row of harmonics.
///
/// A two-pole motor with k bars sounds at the rotation f, at k f (slots) and, for odd k, at 2k f
/// (commutation; LCM of brushes and bars): 333.8 Hz, 1001.4 Hz and 2002.8 Hz for 3 bars at 20,028 rpm. So
/// the spacing of the tones is the rotation itself when weaker tones between the strong ones show it, and
/// may be k or 2k times the rotation when they don't. What the spacing means is settled by tones between
/// (every k-th is stronger), by an approximate speed, or by the speeds that are possible.
///
/// `bars`: those of the motor, or those to think of (each 2 or more). `approximate`: rpm forward, if known.
///
/// # Errors
///
/// [`SoundError::Argument`] for an approximate speed or bars that make no sense.
pub fn shaft_speed(
    compared: &Comparison,
    forward: &Steady,
    bars: &[u32],
    approximate: Option<f64>,
    settings: &Settings,
) -> Result<Option<Shaft>, SoundError> {
    if let Some(rpm) = approximate
        && !(rpm > 0.0 && rpm.is_finite())
    {
        return Err(SoundError::Argument(format!("a speed of {rpm} rpm is none; write one above 0")));
    }
    if bars.is_empty() || bars.iter().any(|k| !(2..=200).contains(k)) {
        return Err(SoundError::Argument("a commutator has 2 bars or more".to_owned()));
    }
    let lines = together(compared);
    let tolerance = Tolerance { hz: forward.spectrum.bin_hz, share: 0.0015 };
    let (slow, fast) = (settings.speeds.0 / 60.0, settings.speeds.1 / 60.0);
    let most = bars.iter().copied().max().unwrap_or(2);
    let found = comb::find(
        &lines,
        slow.max(4.0 * tolerance.hz),
        2.0 * f64::from(most) * fast,
        tolerance,
        LEAST_SHARE,
    );
    let Some(mut comb) = found else { return Ok(None) };
    // Tones between those of the row, at a bar's part of its spacing: the rotation shows itself.
    // Weak ones count as much as strong ones here.
    let even: Vec<Line> = lines.iter().map(|l| Line { db: 1.0, ..*l }).collect();
    let parts = bars.iter().flat_map(|k| [ripples(*k), *k]).chain([2]);
    let between = parts
        .filter_map(|part| finer(&lines, &comb, part, slow, tolerance))
        .map(|finer| (comb::merit(&even, finer.spacing, tolerance), finer))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((_, finer)) = between {
        comb = finer;
    }
    let spread = libm::hypot(comb.deviation, comb.spacing * 2e-4);
    let spacing = Estimate::normal(comb.spacing, spread);
    let speed = |per_turn: u32, bars: u32| Speed {
        forward: spacing.times(60.0 / f64::from(per_turn)),
        per_turn,
        bars,
    };
    let mut candidates = vec![speed(1, 0)];
    for &k in bars {
        candidates.push(speed(k, k));
        if ripples(k) != k {
            candidates.push(speed(ripples(k), k));
        }
    }
    candidates.retain(|s| (settings.speeds.0..=settings.speeds.1).contains(&s.forward.value));
    candidates.sort_by(|a, b| a.forward.value.total_cmp(&b.forward.value));
    let near = |s: &&Speed| {
        approximate.is_none_or(|rpm| libm::log(s.forward.value / rpm).abs() <= libm::log(1.0 + APPROXIMATE))
    };
    let fitting: Vec<Speed> = candidates.iter().filter(near).copied().collect();
    let misfit = approximate.is_some() && fitting.is_empty();
    let own = bars
        .iter()
        .copied()
        .filter(|k| contrast(&comb, *k) >= SHOWS_BARS)
        .max_by(|a, b| contrast(&comb, *a).total_cmp(&contrast(&comb, *b)));
    let settled = match (&fitting[..], own) {
        ([one], _) => Some(*one),
        (several, Some(k)) if several.iter().any(|s| s.per_turn == 1) => {
            Some(Speed { bars: k, ..speed(1, k) })
        }
        _ => None,
    };
    Ok(Some(Shaft { spacing, settled, candidates, misfit }))
}

/// Commutations in one turn of a two-pole motor: the least common multiple of 2 brushes and the bars.
pub fn ripples(bars: u32) -> u32 {
    if bars.is_multiple_of(2) { bars } else { 2 * bars }
}

/// The tones of both recordings at the forward speed: those that agree once, the others as they are.
fn together(compared: &Comparison) -> Vec<Line> {
    let ratio = compared.ratio.value;
    let mut lines: Vec<Line> = compared
        .matches
        .iter()
        .map(|m| Line {
            hz: 0.5 * (m.forward.hz + m.reverse.hz * ratio),
            db: 0.5 * (m.forward.db + m.reverse.db),
            power: m.forward.power,
        })
        .collect();
    lines.sort_by(|a, b| a.hz.total_cmp(&b.hz));
    lines
}

/// The row at a part of a row's spacing, if tones off the wider row lie on it, and more than by chance.
fn finer(lines: &[Line], comb: &Comb, part: u32, slow: f64, tolerance: Tolerance) -> Option<Comb> {
    let spacing = comb.spacing / f64::from(part);
    if part < 2 || spacing < slow.max(4.0 * tolerance.hz) {
        return None;
    }
    let off: Vec<Line> =
        lines.iter().filter(|l| comb.members.iter().all(|(_, m)| m.hz != l.hz)).copied().collect();
    let on: Vec<&Line> = off
        .iter()
        .filter(|l| (l.hz - (l.hz / spacing).round() * spacing).abs() <= tolerance.at(l.hz))
        .collect();
    let by_chance: f64 = off.iter().map(|l| (2.0 * tolerance.at(l.hz) / spacing).min(1.0)).sum();
    let enough = on.len() >= 3 && on.len() as f64 > by_chance + 2.5 * libm::sqrt(by_chance) + 1.0;
    if enough && on.len() * 2 > off.len() { comb::refine(lines, spacing, tolerance) } else { None }
}

/// By how many dB the tones at multiples of `bars` stand above the others of a row; a tone that is not there
/// counts as 0 dB. 0 when the row has no others.
fn contrast(comb: &Comb, bars: u32) -> f64 {
    let top = comb.members.iter().map(|(n, _)| *n).max().unwrap_or(0).min(6 * bars);
    let (mut strong, mut weak) = ((0.0, 0), (0.0, 0));
    for order in 1..=top {
        let db = comb.members.iter().filter(|(n, _)| *n == order).map(|(_, l)| l.db).fold(0.0, f64::max);
        let sum = if order % bars == 0 { &mut strong } else { &mut weak };
        *sum = (sum.0 + db, sum.1 + 1);
    }
    // At least some tones must be between: without any, the row is one of slots, not of turns.
    let between = comb.members.iter().filter(|(n, _)| n % bars != 0).count();
    if strong.1 < 2 || between < 3 {
        0.0
    } else {
        strong.0 / f64::from(strong.1) - weak.0 / f64::from(weak.1)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::Match;
    use super::*;
    use crate::bench::spectrum::Spectrum;

    /// Tones at multiples of a spacing: order and level.
    fn heard(spacing: f64, tones: &[(u32, f64)]) -> (Comparison, Steady) {
        let line = |(n, db): &(u32, f64)| Line { hz: f64::from(*n) * spacing, db: *db, power: 1.0 };
        let lines: Vec<Line> = tones.iter().map(line).collect();
        let compared = Comparison {
            ratio: Estimate::exact(1.0),
            agreement: 1.0,
            other: None,
            matches: lines.iter().map(|l| Match { forward: *l, reverse: *l }).collect(),
            forward: lines.clone(),
            reverse: lines,
            hum: None,
            level_scatter: 2.0,
            same_samples: false,
        };
        let spectrum = Spectrum { bin_hz: 3.0, power: vec![], windows: 16 };
        (
            compared,
            Steady {
                blocks: (0, 4),
                seconds: (0.0, 1.0),
                drift: 0.0,
                unsettled: 0.0,
                spectrum,
                parts: vec![],
            },
        )
    }

    fn settle(spacing: f64, tones: &[(u32, f64)], bars: &[u32], rpm: Option<f64>) -> Shaft {
        let (compared, steady) = heard(spacing, tones);
        shaft_speed(&compared, &steady, bars, rpm, &Settings::default()).unwrap().unwrap()
    }

    #[test]
    fn commutations_in_one_turn() {
        // LCM(brushes, commutator segments) for two poles: 3 -> 6, 5 -> 10, 7 -> 14, 12 -> 12 (the rule as
        // printed in the header of a motor driver; the identity 2k / gcd(2, k) is derived).
        assert_eq!([3, 5, 7, 12].map(ripples), [6, 10, 14, 12]);
        // 3 bars at 30,000 rpm: 3000 Hz; at 20,028 rpm: 2002.8 Hz (N rpm / 60).
        for (rpm, hz) in [(30_000.0, 3000.0), (20_028.0, 2002.8)] {
            assert!((f64::from(ripples(3)) * rpm / 60.0 - hz).abs() < 1e-9);
        }
    }

    #[test]
    fn rotation_slots_and_commutation_of_three_bars() {
        // 3 bars at 12 V: rotation 333.8 Hz = 20,028 rpm with peaks at every pole (a maker's tone
        // measurement); slots 1001.4 Hz, commutation 2002.8 Hz = 6 x rotation (LCM of 2 and 3; derived).
        let tones = [(1, 8.0), (3, 18.0), (4, 7.0), (5, 9.0), (6, 25.0), (7, 8.0), (9, 16.0), (12, 22.0)];
        let shaft = settle(333.8, &tones, &[3], None);
        let speed = shaft.settled.unwrap();
        assert!((speed.forward.value - 20_028.0).abs() < 1.0 && speed.per_turn == 1, "{shaft:?}");
        // 3, 5 or 7 bars to think of: the pattern of strong tones shows 3.
        assert_eq!(settle(333.8, &tones, &[3, 5, 7], None).settled.unwrap().bars, 3);
    }

    #[test]
    fn commutation_alone_is_ambiguous_and_says_so() {
        // 30,000 rpm with 3 bars: commutation at 3000 Hz. Alone it may be slots of 60,000 rpm, too.
        let tones = [(1, 25.0), (2, 20.0), (3, 15.0), (4, 12.0)];
        let shaft = settle(3000.0, &tones, &[3], None);
        let rpm: Vec<f64> = shaft.candidates.iter().map(|s| s.forward.value.round()).collect();
        assert_eq!((shaft.settled, rpm), (None, vec![30_000.0, 60_000.0]));
        let shaft = settle(3000.0, &tones, &[3], Some(28_000.0));
        assert_eq!(shaft.settled.unwrap().per_turn, 6);
        // An approximate speed that fits nothing settles nothing.
        let shaft = settle(3000.0, &tones, &[3], Some(9_000.0));
        assert!(shaft.settled.is_none() && shaft.misfit);
    }

    #[test]
    fn one_possible_speed_is_settled() {
        let slow = Settings { speeds: (1_000.0, 40_000.0), ..Settings::default() };
        let (compared, steady) = heard(3000.0, &[(1, 25.0), (2, 20.0), (3, 15.0), (4, 12.0)]);
        let shaft = shaft_speed(&compared, &steady, &[3], None, &slow).unwrap().unwrap();
        assert!((shaft.settled.unwrap().forward.value - 30_000.0).abs() < 1.0);
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        let (compared, steady) = heard(333.0, &[(1, 9.0), (2, 9.0), (3, 9.0)]);
        for (bars, rpm) in
            [(&[][..], None), (&[1][..], None), (&[3][..], Some(0.0)), (&[3][..], Some(f64::NAN))]
        {
            assert!(shaft_speed(&compared, &steady, bars, rpm, &Settings::default()).is_err());
        }
        let (compared, steady) = heard(333.0, &[(1, 9.0)]);
        assert_eq!(shaft_speed(&compared, &steady, &[3], None, &Settings::default()).unwrap(), None);
    }
}
