//! Marks: proper scores for stated chances, and what else counts.
//!
//! A score is proper when nobody gains by stating another chance than the one believed. Brier, G. W. (1950),
//! "Verification of forecasts expressed in terms of probability", Monthly Weather Review 78, 1-3.

use crate::knowledge::Course;

/// A stated chance, and whether it came true.
pub type Stated = (f64, bool);

/// The sum of squared differences between chances and what came true: 0 for a perfect statement.
pub fn brier_sum(stated: &[Stated]) -> f64 {
    stated.iter().map(|(p, y)| (p - f64::from(u8::from(*y))).powi(2)).sum()
}

/// The mean of the squared differences; 0 where nothing was stated.
pub fn brier(stated: &[Stated]) -> f64 {
    if stated.is_empty() { 0.0 } else { brier_sum(stated) / stated.len() as f64 }
}

/// The natural logarithm of the chance given to what came true, without its sign; infinite for a chance of 0.
pub fn log_loss(chance_of_truth: f64) -> f64 {
    -chance_of_truth.ln()
}

/// One bin of a calibration: statements of about the same chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// How many statements.
    pub count: usize,
    /// The mean of the chances that were stated.
    pub said: f64,
    /// The part of them that came true.
    pub came: f64,
}

/// Statements in so many bins of the same width, empty ones left out.
pub fn calibration(stated: &[Stated], bins: usize) -> Vec<Bin> {
    let bins = bins.max(1);
    let place = |p: f64| ((p * bins as f64) as usize).min(bins - 1);
    let mut out = Vec::new();
    for bin in 0..bins {
        let own: Vec<&Stated> = stated.iter().filter(|(p, _)| place(*p) == bin).collect();
        if own.is_empty() {
            continue;
        }
        let count = own.len();
        let said = own.iter().map(|(p, _)| p).sum::<f64>() / count as f64;
        let came = own.iter().filter(|(_, y)| *y).count() as f64 / count as f64;
        out.push(Bin { count, said, came });
    }
    out
}

/// How far stated chances lie from what came true, on average over the bins.
///
/// Guo, Pleiss, Sun & Weinberger (2017), "On calibration of modern neural networks", ICML, eq. 3.
pub fn calibration_error(stated: &[Stated], bins: usize) -> f64 {
    let all = stated.len().max(1) as f64;
    calibration(stated, bins).iter().map(|b| b.count as f64 / all * (b.came - b.said).abs()).sum()
}

/// What a mark is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// Every fault that was named or is there, with the chance that was stated (0 where it was not named).
    pub stated: Vec<Stated>,
    /// Cost of the chosen scope of work, and of the best one; none where a hard limit forbids the chosen one.
    pub scope: Option<(f64, f64)>,
    /// Cautions that had to be named, and how many of them were.
    pub cautions: (usize, usize),
    /// How often the hand had to be stopped.
    pub risks: usize,
    /// Minutes, own and the expert's.
    pub minutes: (f64, f64),
    /// How often help was taken.
    pub helps: usize,
    /// How many traps were stepped into.
    pub traps: usize,
    /// The chance of what was true, as the own evidence gives it and as the expert's does.
    pub support: (f64, f64),
}

/// A mark: parts from 0 to 1, except that for the diagnosis, which falls below 0 for what is wrong and was stated
/// with confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// For the faults: 1 less the Brier sum over the number of faults, at least one.
    pub diagnosis: f64,
    /// For the scope of work: the best cost over the chosen one.
    pub scope: f64,
    /// For the cautions that were named of those that had to be.
    pub cautions: f64,
    /// For risks that were not taken.
    pub safety: f64,
    /// For time.
    pub minutes: f64,
    /// All of them weighed, less what help and traps cost.
    pub whole: f64,
    /// The chance of what was true, as the own evidence gives it.
    pub support: f64,
    /// The chance that it has to give, so that it was no guess.
    pub needed: f64,
    /// Whether it is enough: the whole mark, the evidence behind it, and at least one caution where some belong.
    pub passed: bool,
}

impl Mark {
    /// Whether the evidence bears what was true.
    pub fn is_sound(&self) -> bool {
        self.support >= self.needed
    }

    /// Whether cautions belong to the work and not a single one was named. The part for cautions alone is small
    /// enough to be made up for; but whoever sees no danger at all is not let near the work.
    pub fn is_careless(&self) -> bool {
        self.cautions == 0.0
    }
}

/// Marks what somebody did.
///
/// The diagnosis is not cut off at 0, since a score that is cut off is not proper any more.
pub fn mark(course: &Course, facts: &Facts) -> Mark {
    let faults = facts.stated.iter().filter(|(_, there)| *there).count().max(1);
    let diagnosis = 1.0 - brier_sum(&facts.stated) / faults as f64;
    let scope = match facts.scope {
        Some((chosen, best)) if chosen > 0.0 => (best / chosen).clamp(0.0, 1.0),
        Some(_) => 1.0,
        None => 0.0,
    };
    let (wanted, hit) = facts.cautions;
    let cautions = if wanted == 0 { 1.0 } else { hit as f64 / wanted as f64 };
    let safety = (1.0 - facts.risks as f64 * course.per_risk).max(0.0);
    let (own, expert) = facts.minutes;
    let over = if expert > 0.0 { own / expert } else { 1.0 };
    let minutes =
        ((course.minutes_none - over) / (course.minutes_none - course.minutes_full)).clamp(0.0, 1.0);
    let w = course.weights;
    let sum = w.diagnosis * diagnosis
        + w.scope * scope
        + w.cautions * cautions
        + w.safety * safety
        + w.minutes * minutes;
    let whole = sum - facts.helps as f64 * course.per_hint - facts.traps as f64 * course.per_trap;
    let (support, of_expert) = facts.support;
    // Nobody can be asked for more than the expert got out of this motor.
    let needed = course.support.min(of_expert);
    let passed = whole >= course.pass && support >= needed && cautions > 0.0;
    Mark { diagnosis, scope, cautions, safety, minutes, whole, support, needed, passed }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::{Basis, Weights};

    #[test]
    fn brier_as_published() {
        // The definition is Brier's (1950), here in the form from 0 to 1; the example is arithmetic.
        let stated = [(0.1, false), (0.9, true), (0.8, true), (0.3, false)];
        assert!((brier(&stated) - 0.0375).abs() < 1e-12);
        // Three classes, the first is true: (0.3^2 + 0.2^2 + 0.1^2), and -ln 0.7.
        let classes = [(0.7, true), (0.2, false), (0.1, false)];
        assert!((brier_sum(&classes) - 0.14).abs() < 1e-12);
        assert!((log_loss(0.7) - 0.356_675).abs() < 1e-6);
        assert_eq!(brier(&[]), 0.0);
    }

    #[test]
    fn calibration_as_published() {
        // Guo et al. 2017, eq. 3, with two bins: |0 - 0.25| and |1 - 0.75|, each for half of the statements.
        let stated = [(0.25, false), (0.25, false), (0.75, true), (0.75, true)];
        assert!((calibration_error(&stated, 2) - 0.25).abs() < 1e-12);
        let bins = calibration(&stated, 2);
        assert_eq!(bins.len(), 2);
        assert_eq!((bins[0].count, bins[0].said, bins[0].came), (2, 0.25, 0.0));
        assert_eq!(calibration(&[(1.0, true)], 10)[0].count, 1, "a chance of 1 belongs to the last bin");
        assert_eq!(calibration_error(&[], 10), 0.0);
    }

    /// Whoever believes 0.6 gains nothing by saying anything else.
    #[test]
    fn honesty_pays_best() {
        let belief = 0.6;
        let expected = |p: f64| belief * brier_sum(&[(p, true)]) + (1.0 - belief) * brier_sum(&[(p, false)]);
        for said in 0..=100 {
            assert!(expected(f64::from(said) / 100.0) >= expected(belief) - 1e-12);
        }
    }

    fn course() -> Course {
        let weights = Weights { diagnosis: 0.4, scope: 0.2, cautions: 0.1, safety: 0.2, minutes: 0.1 };
        Course {
            id: "c".into(),
            title: "C".into(),
            lessons: vec![],
            pass: 0.7,
            support: 0.5,
            weights,
            per_risk: 0.5,
            per_hint: 0.05,
            per_trap: 0.1,
            minutes_full: 2.0,
            minutes_none: 6.0,
            basis: Basis::Judgement,
        }
    }

    #[test]
    fn a_mark_weighs_its_parts() {
        let best = Facts {
            stated: vec![(1.0, true)],
            scope: Some((50.0, 50.0)),
            cautions: (2, 2),
            risks: 0,
            minutes: (20.0, 15.0),
            helps: 0,
            traps: 0,
            support: (0.97, 0.99),
        };
        let full = mark(&course(), &best);
        assert!((full.whole - 1.0).abs() < 1e-12 && full.passed, "{full:?}");
        let risky = mark(&course(), &Facts { risks: 3, helps: 1, ..best.clone() });
        assert!((risky.whole - 0.75).abs() < 1e-12, "{risky:?}");
        let trapped = mark(&course(), &Facts { traps: 2, ..best.clone() });
        assert!((trapped.whole - 0.8).abs() < 1e-12, "{trapped:?}");
        // Sure and wrong is worse than silent.
        let silent = mark(&course(), &Facts { stated: vec![(0.0, true)], ..best.clone() });
        let wrong = mark(&course(), &Facts { stated: vec![(0.0, true), (1.0, false)], ..best.clone() });
        assert_eq!((silent.diagnosis, wrong.diagnosis), (0.0, -1.0));
        let healthy = mark(&course(), &Facts { stated: vec![], ..best.clone() });
        assert_eq!(healthy.diagnosis, 1.0);
        // Right, but by luck: the same mark, and not passed. Nobody needs more evidence than the expert had.
        let lucky = mark(&course(), &Facts { support: (0.22, 0.99), ..best.clone() });
        assert!((lucky.whole - 1.0).abs() < 1e-12 && !lucky.passed && !lucky.is_sound(), "{lucky:?}");
        assert!(mark(&course(), &Facts { support: (0.31, 0.3), ..best.clone() }).passed);
        // Everything right but for the cautions: one of them is a start, none is no pass.
        assert!(mark(&course(), &Facts { cautions: (2, 1), ..best.clone() }).passed);
        let careless = mark(&course(), &Facts { cautions: (2, 0), ..best.clone() });
        assert!(careless.whole >= 0.7 && careless.is_careless() && !careless.passed, "{careless:?}");
        assert!(mark(&course(), &Facts { cautions: (0, 0), ..best.clone() }).passed);
        let shut = mark(&course(), &Facts { scope: None, minutes: (90.0, 15.0), ..best });
        assert_eq!((shut.scope, shut.minutes), (0.0, 0.0));
    }
}
