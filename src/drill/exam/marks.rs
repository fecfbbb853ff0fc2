//! What the consultations of one kind add up to.

use super::consultation::Played;
use super::plan::Kind;
use super::statistics::{Calibration, Rate, mean};

/// Stretches of a calibration curve.
const BINS: usize = 10;
/// A fault that is at least this probable counts as named.
const NAMED: f64 = 0.5;

/// A mean with its standard error.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spread {
    /// The mean.
    pub mean: f64,
    /// Its standard error.
    pub error: f64,
}

impl Spread {
    /// The mean of several groups, as if all their numbers stood in one: each with its size.
    pub fn pooled(groups: impl Iterator<Item = (usize, Spread)> + Clone) -> Spread {
        let total = groups.clone().map(|(n, _)| n as f64).sum::<f64>().max(1.0);
        let mean = groups.clone().map(|(n, s)| n as f64 / total * s.mean).sum();
        let variance: f64 = groups.map(|(n, s)| (n as f64 / total * s.error).powi(2)).sum();
        Spread { mean, error: variance.sqrt() }
    }

    pub(super) fn of(numbers: impl Iterator<Item = f64> + Clone) -> Spread {
        let Some(middle) = mean(numbers.clone()) else { return Spread::default() };
        let n = numbers.clone().count() as f64;
        let variance = numbers.map(|x| (x - middle).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
        Spread { mean: middle, error: (variance / n).sqrt() }
    }
}

/// The figures of one kind of motor under one condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// The kind of motor.
    pub kind: Kind,
    /// Consultations.
    pub motors: usize,
    /// Whether all faults of the motor stood at the head; of the motors that had any.
    pub first: Rate,
    /// Whether all its faults stood among the first three (or first of as many as it had, if more).
    pub three: Rate,
    /// Whether any fault was held to be more likely there than not; of the motors that had none.
    pub false_alarm: Rate,
    /// Questions put.
    pub questions: Spread,
    /// Minutes of questions and of opening the motor.
    pub minutes: Spread,
    /// What the motor cost: asking and work.
    pub cost: Spread,
    /// What asking, opening and closing up cost.
    pub asking: Spread,
    /// What the work cost, with all that follows when it does not cure.
    pub work: Spread,
    /// What it would have cost somebody who knows everything beforehand.
    pub knowing: Spread,
    /// What it would have cost to do one scope with every motor, in the order of the knowledge.
    pub always: Vec<Spread>,
    /// How much more the motor cost with the expert than with each of these rules, motor by motor.
    pub over_always: Vec<Spread>,
    /// Chance that the proposed scope cures at the first go.
    pub cured: Spread,
    /// How often each scope was proposed, in the order of the knowledge.
    pub proposed: Vec<usize>,
    /// Whether the scope broke a hard limit by what was known.
    pub broken: Rate,
    /// Whether it broke one by what was true, known or not.
    pub forbidden: Rate,
    /// Whether all faults would stand at the head if every question had been asked and answered truly; of the
    /// motors that had any, under the first condition and where the world is as believed.
    pub all_asked: Rate,
    /// Answers that were taken back because they contradicted others.
    pub taken_back: usize,
    /// The probability of the fault named first, against whether it was there.
    pub first_named: Calibration,
    /// The probability of every fault, against whether it was there.
    pub every_fault: Calibration,
}

impl Marks {
    /// Adds up consultations; `scopes` is the number of scopes of the knowledge.
    pub(super) fn of(kind: Kind, scopes: usize, all: &[Played]) -> Marks {
        let spread = |f: &dyn Fn(&Played) -> f64| Spread::of(all.iter().map(f));
        let rate = |among: &dyn Fn(&Played) -> bool, hit: &dyn Fn(&Played) -> bool| {
            let mut rate = Rate::default();
            all.iter().filter(|p| among(p)).for_each(|p| rate.add(hit(p)));
            rate
        };
        let any = |_: &Played| true;
        let faulty = |p: &Played| !p.truth.is_empty();
        let healthy = |p: &Played| p.truth.is_empty();
        let mut proposed = vec![0; scopes];
        all.iter().for_each(|p| proposed[p.scope] += 1);
        let first = |p: &Played| p.ranked.first().map(|f| (p.faults[*f], p.truth.contains(f)));
        let every = |p: &Played| {
            let statement = |(j, said): (usize, &f64)| (*said, p.truth.contains(&j));
            p.faults.iter().enumerate().map(statement).collect::<Vec<_>>()
        };
        Marks {
            kind,
            motors: all.len(),
            first: rate(&faulty, &|p| p.depth() <= p.truth.len()),
            three: rate(&faulty, &|p| p.depth() <= p.truth.len().max(3)),
            false_alarm: rate(&healthy, &|p| p.faults.iter().any(|f| *f > NAMED)),
            questions: spread(&|p| p.times_asked as f64),
            minutes: spread(&|p| p.minutes),
            cost: spread(&|p| p.cost()),
            asking: spread(&|p| p.asking),
            work: spread(&|p| p.work),
            knowing: spread(&|p| p.knowing),
            always: (0..scopes).map(|s| spread(&|p| p.always[s])).collect(),
            over_always: (0..scopes).map(|s| spread(&|p| p.cost() - p.always[s])).collect(),
            cured: spread(&|p| p.cured),
            proposed,
            broken: rate(&any, &|p| p.broken),
            forbidden: rate(&any, &|p| p.forbidden),
            all_asked: rate(&|p| faulty(p) && p.all_asked.is_some(), &|p| p.all_asked == Some(true)),
            taken_back: all.iter().map(|p| p.taken_back).sum(),
            first_named: Calibration::of(BINS, all.iter().filter_map(first)),
            every_fault: Calibration::of(BINS, all.iter().flat_map(every)),
        }
    }
}

impl Played<'_> {
    /// How many places down the ranking one has to go to meet all faults; 0 without any.
    pub fn depth(&self) -> usize {
        self.ranked.iter().rposition(|f| self.truth.contains(f)).map_or(0, |last| last + 1)
    }
}
