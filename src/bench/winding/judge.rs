//! Which coil of a ring is at fault.
//!
//! The coils are compared with each other, because what a sound one should have is seldom known. Open and
//! dead ones stand out by themselves. The rest are taken to be alike until one differs from the others by more
//! than the meter can explain: the test is that of one shifted value among equal ones under the full covariance
//! of the solved coils (generalised least squares), repeated without the coil it names, until none is left.

use super::coils::{Coils, Ring};
use super::{Meter, ring};
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, Normal};

/// How often, at most, a ring of equal coils may have one named at fault.
pub const FALSE_ALARM: f64 = 0.003;

/// How surely a defect of the smallest size that is called visible is found.
const FOUND: f64 = 0.95;

/// The whole interval of an open coil lies above so many sound coils.
const OPEN_AT_LEAST: f64 = 2.0;

/// What a coil is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Like the others, as far as this meter shows.
    Sound,
    /// Higher than the others, but it conducts.
    PoorJoint,
    /// Lower than the others: some of its turns are shorted.
    PartShorted,
    /// Next to no resistance.
    Shorted,
    /// Conducts next to nothing.
    Open,
}

impl Verdict {
    /// Its word: sound, poor-joint, part-shorted, shorted or open.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Sound => "sound",
            Verdict::PoorJoint => "poor-joint",
            Verdict::PartShorted => "part-shorted",
            Verdict::Shorted => "shorted",
            Verdict::Open => "open",
        }
    }
}

/// Edges of the verdicts, all as a coil's resistance over that of a sound coil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// From here up it is open.
    pub open_above: f64,
    /// From here up it is a poor joint.
    pub joint_above: f64,
    /// From here down turns are shorted.
    pub part_below: f64,
    /// From here down it is dead short.
    pub shorted_below: f64,
}

/// What is said of the coils.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// Each coil's verdict, in bar order.
    pub verdicts: Vec<Verdict>,
    /// What a sound coil of this ring has, in ohm.
    pub sound: f64,
    /// The smallest part of a coil (0 to 1, or more than 1 when not even a dead coil) whose short this meter
    /// shows with a chance of 95 %.
    pub smallest_short: f64,
    /// Two coils that differ, with no third one to say which is at fault: the lower one was named.
    pub either: Option<(usize, usize)>,
}

/// Names the coils that are at fault. `meter` and `lead` (ohm) are those of the readings.
pub fn judge(coils: &Coils, meter: &Meter, lead: f64, limits: &Limits) -> Judgement {
    let values: Vec<f64> = coils.each.iter().map(|c| c.value).collect();
    let k = values.len();
    let guide = middle(&values);
    let mut verdicts = vec![Verdict::Sound; k];
    for ((verdict, value), coil) in verdicts.iter_mut().zip(&values).zip(&coils.each) {
        // Beside a coil that is nearly dead the others are only seen in parallel, and noise alone may make
        // one of them seem huge: its interval then still holds a sound coil.
        if *value > limits.open_above * guide
            && (!matches!(coils.ring, Ring::Closed) || coil.low > OPEN_AT_LEAST * guide)
        {
            *verdict = Verdict::Open;
        } else if *value < limits.shorted_below * guide {
            *verdict = Verdict::Shorted;
        }
    }
    let strict = threshold(k);
    // A much too high one is told by its conductance, whose deviation stays true far from equal coils.
    if let Some((i, conductance, deviation)) = coils.largest
        && verdicts[i] == Verdict::Sound
        && values[i] > 2.0 * guide
        && 1.0 / guide - conductance > strict * deviation
    {
        verdicts[i] = Verdict::PoorJoint;
    }
    let mut either = None;
    while let Some(found) = odd_ones(coils, &verdicts, limits) {
        for (coil, verdict) in &found.coils {
            verdicts[*coil] = *verdict;
        }
        either = either.or(found.or_else.and_then(|other| Some((found.coils.first()?.0, other))));
    }
    let left: Vec<usize> = (0..k).filter(|i| verdicts[*i] == Verdict::Sound).collect();
    let told = left.iter().all(|i| values[*i] <= limits.open_above * guide);
    let sound = match left.len() {
        n if n > 0 && told => left.iter().map(|i| values[*i]).sum::<f64>() / n as f64,
        _ => guide,
    };
    Judgement { verdicts, sound, smallest_short: smallest_short(sound, k, meter, lead, limits), either }
}

/// The smallest part of a coil whose short a meter shows, in a ring of `k` coils of `sound` ohm each.
///
/// In an even ring the difference of a coil and the mean of the others has the deviation
/// s sqrt(k / (k - 1)) / (1 - 2 / k), s being the meter's at that reading: the leads drop out, and few coils
/// hide each other most.
pub fn smallest_short(sound: f64, k: usize, meter: &Meter, lead: f64, limits: &Limits) -> f64 {
    let n = k as f64;
    let s = meter.deviation(ring::even_pair(sound, k) + lead);
    let deviation = s * (n / (n - 1.0)).sqrt() / (1.0 - 2.0 / n);
    let seen = (threshold(k) + quantile(FOUND)) * deviation / sound;
    if seen.is_finite() { seen.max(1.0 - limits.part_below) } else { f64::INFINITY }
}

/// Coils that differ from the others, and what they are.
struct Odd {
    coils: Vec<(usize, Verdict)>,
    or_else: Option<usize>,
}

/// The coils, among those still taken as sound, that differ most from the others, if by more than chance: one,
/// or two at once where one hides the other.
fn odd_ones(coils: &Coils, verdicts: &[Verdict], limits: &Limits) -> Option<Odd> {
    let covariance = coils.covariance.as_ref()?;
    if matches!(coils.ring, Ring::TwoInParallel(..)) {
        return None;
    }
    let left: Vec<usize> = (0..verdicts.len()).filter(|i| verdicts[*i] == Verdict::Sound).collect();
    if left.len() < 2 {
        return None;
    }
    let values = DVector::from_fn(left.len(), |i, _| coils.each[left[i]].value);
    // A floor keeps an exact meter's matrix regular.
    let floor = (1e-9 * values.mean()).powi(2);
    let among = DMatrix::from_fn(left.len(), left.len(), |i, j| {
        covariance[(left[i], left[j])] + if i == j { floor } else { 0.0 }
    });
    let weights = among.cholesky()?.inverse();
    let pull = weights.column_sum();
    // Takes the common value out: what is left of the values is how they differ, by their weights.
    let contrast = &weights - &pull * pull.transpose() / pull.sum();
    let shift = &contrast * &values;
    let strict = threshold(verdicts.len()).powi(2);
    let named = |i: usize, apart: f64| {
        let ratio = values[i] / (values[i] - apart);
        let low = ratio <= limits.part_below;
        // Of two alone, the lower one is named.
        let high = ratio >= limits.joint_above && left.len() > 2;
        let verdict = if low { Some(Verdict::PartShorted) } else { high.then_some(Verdict::PoorJoint) };
        verdict.map(|v| (left[i], v))
    };
    // How far one coil is from the common value of the others, and by how much a value of its own improves
    // the fit (chi squared).
    let singles = (0..left.len()).filter_map(|i| {
        let found = named(i, shift[i] / contrast[(i, i)])?;
        Some((shift[i].powi(2) / contrast[(i, i)], i, found))
    });
    let one = singles.max_by(|a, b| a.0.total_cmp(&b.0));
    let pairs = (0..left.len()).flat_map(|i| (i + 1..left.len()).map(move |j| (i, j)));
    // Two of four could as well be the sound ones.
    let two = pairs.filter(|_| left.len() >= 5).filter_map(|(i, j)| {
        let (a, b, c) = (contrast[(i, i)], contrast[(i, j)], contrast[(j, j)]);
        let det = a * c - b * b;
        let (di, dj) = ((c * shift[i] - b * shift[j]) / det, (a * shift[j] - b * shift[i]) / det);
        Some((di * shift[i] + dj * shift[j], [named(i, di)?, named(j, dj)?]))
    });
    let two = two.max_by(|a, b| a.0.total_cmp(&b.0));
    let by_one = one.as_ref().map_or(0.0, |(gain, ..)| *gain);
    if let Some((gain, found)) = two
        && gain > pair_threshold(left.len()).max(by_one + strict)
    {
        return Some(Odd { coils: found.to_vec(), or_else: None });
    }
    let (gain, i, found) = one?;
    let or_else = (left.len() == 2).then(|| left[1 - i]);
    (gain > strict).then(|| Odd { coils: vec![found], or_else })
}

/// What most coils have: the median of those that have any resistance and are not open.
fn middle(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let median = |v: &[f64]| match v.len() {
        0 => 0.0,
        n if n % 2 == 1 => v[n / 2],
        n => 0.5 * (v[n / 2 - 1] + v[n / 2]),
    };
    let plain = median(&sorted);
    if plain > 0.0 && plain.is_finite() {
        return plain;
    }
    let ordinary: Vec<f64> = sorted.into_iter().filter(|r| *r > 0.0 && r.is_finite()).collect();
    median(&ordinary)
}

/// Deviations beyond which one of `k` coils is called different, so that all of them together give a false
/// alarm in [`FALSE_ALARM`] of sound rings at most (Bonferroni).
fn threshold(k: usize) -> f64 {
    quantile(1.0 - FALSE_ALARM / (2.0 * k as f64))
}

/// Gain in fit (chi squared of two degrees of freedom) beyond which two of `k` coils are called different from
/// the rest at once.
fn pair_threshold(k: usize) -> f64 {
    let pairs = (k * (k - 1) / 2) as f64;
    -2.0 * (FALSE_ALARM / 3.0 / pairs).ln()
}

fn quantile(chance: f64) -> f64 {
    Normal::standard().inverse_cdf(chance)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::Pairs;
    use super::*;

    const LIMITS: Limits =
        Limits { open_above: 10.0, joint_above: 1.1, part_below: 0.95, shorted_below: 0.1 };

    fn words(meter: Meter, lead: f64, readings: &[f64]) -> Vec<&'static str> {
        let coils = Pairs::of(&meter, lead, readings).unwrap().coils().unwrap();
        judge(&coils, &meter, lead, &LIMITS).verdicts.into_iter().map(Verdict::word).collect()
    }

    fn fine() -> Meter {
        Meter { fraction: 0.005, step: 0.0001 }
    }

    #[test]
    fn kinds_of_defect_are_told_apart() {
        for (coils, want) in [
            ([1.0, 1.0, 1.0, 1.0, 1.0], ["sound", "sound", "sound", "sound", "sound"]),
            ([1.0, 0.8, 1.0, 1.0, 1.0], ["sound", "part-shorted", "sound", "sound", "sound"]),
            ([1.0, 1.0, 0.0, 1.0, 1.0], ["sound", "sound", "shorted", "sound", "sound"]),
            ([1.0, 1.0, 1.0, 1.3, 1.0], ["sound", "sound", "sound", "poor-joint", "sound"]),
            ([1.0, 1.0, 1.0, 6.0, 1.0], ["sound", "sound", "sound", "poor-joint", "sound"]),
            ([f64::INFINITY, 1.0, 1.0, 1.0, 1.0], ["open", "sound", "sound", "sound", "sound"]),
            ([f64::INFINITY, 1.0, 0.7, 1.0, 1.0], ["open", "sound", "part-shorted", "sound", "sound"]),
            ([f64::INFINITY, 1.0, 0.0, 1.0, 1.0], ["open", "sound", "shorted", "sound", "sound"]),
            ([0.7, 1.0, 1.5, 1.0, 1.0], ["part-shorted", "sound", "poor-joint", "sound", "sound"]),
            ([f64::INFINITY, 1.0, f64::INFINITY, 1.0, 1.0], ["open", "sound", "open", "sound", "sound"]),
            ([0.0, 1.0, 0.0, 0.0, 1.0], ["shorted", "sound", "shorted", "shorted", "sound"]),
        ] {
            assert_eq!(words(fine(), 0.0, &ring::readings(&coils)), want, "{coils:?}");
        }
    }

    #[test]
    fn the_worked_set_of_three() {
        // 82, 83, 165 mohm with 10 mohm leads: coil 3 open (its pair 2 r, the others 1 r).
        let meter = Meter { fraction: 0.02, step: 0.001 };
        assert_eq!(words(meter, 0.01, &[0.082, 0.083, 0.165]), ["sound", "sound", "open"]);
    }

    #[test]
    fn within_what_the_meter_leaves_open_nothing_is_named() {
        // 4 % low is within a meter of 2 % and within the usual 5 % of sound windings.
        assert!(
            words(fine(), 0.0, &ring::readings(&[1.0, 0.96, 1.0, 1.0, 1.0])).iter().all(|w| *w == "sound")
        );
        let coarse = Meter { fraction: 0.02, step: 0.01 };
        let m: Vec<f64> = ring::readings(&[0.04, 0.03, 0.04]);
        assert!(words(coarse, 0.0, &m).iter().all(|w| *w == "sound"));
    }

    #[test]
    fn two_coils_left_can_not_say_which_is_wrong() {
        let m = ring::readings(&[f64::INFINITY, 1.0, 0.7]);
        let coils = Pairs::of(&fine(), 0.0, &m).unwrap().coils().unwrap();
        let said = judge(&coils, &fine(), 0.0, &LIMITS);
        assert_eq!(said.verdicts[2], Verdict::PartShorted);
        assert_eq!(said.either, Some((2, 1)));
    }

    #[test]
    fn the_smallest_visible_short() {
        // One turn in twenty, 5 %, at seven bars wants about 1 % from the meter; 2 % shows far less.
        let seen = |percent: f64, k| {
            smallest_short(1.0, k, &Meter { fraction: percent / 100.0, step: 0.0 }, 0.0, &LIMITS)
        };
        assert!((0.05..0.07).contains(&seen(1.0, 7)), "{}", seen(1.0, 7));
        assert!(seen(2.0, 7) > 0.1 && seen(2.0, 3) > 0.2 && seen(2.0, 3) < 0.25, "{}", seen(2.0, 3));
        // 10 mohm steps on a 30 mohm coil of three: not even half a coil.
        let coarse = Meter { fraction: 0.0, step: 0.01 };
        assert!(smallest_short(0.03, 3, &coarse, 0.0, &LIMITS) > 1.0);
        assert_eq!(smallest_short(0.0, 3, &coarse, 0.0, &LIMITS), f64::INFINITY);
    }

    #[test]
    fn exact_meters_work() {
        let exact = Meter { fraction: 0.0, step: 0.0 };
        let m = ring::readings(&[1.0, 0.8, 1.0, 1.0]);
        assert_eq!(words(exact, 0.0, &m), ["sound", "part-shorted", "sound", "sound"]);
        assert_eq!(words(exact, 0.0, &[1.0, 1.0, 2.0]), ["sound", "sound", "open"]);
    }
}
