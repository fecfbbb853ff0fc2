//! Which numbers the decisions depend on.
//!
//! Recorded endings are thought through again with one number of the network changed by half a unit of
//! log-odds (a chance of 20 % becomes 13 or 29 %), the answers staying the same. A number counts by in how many
//! endings the fault named first or the best scope changes, and by what it would cost on average to have gone by the
//! wrong number: the expected cost of the scope that the unchanged network proposes, less that of the best one, both
//! by the changed network. That is what a maintainer could gain by finding the number out. Thousands of numbers are
//! tried, so that some decide once or twice by chance: a number stands out only if it decides more often than any
//! would have by chance.
//!
//! Numbers that can't matter in an ending are passed over: effects on observations without an answer, and causes of
//! faults that are all but excluded.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::marks::Spread;
use super::statistics::Rate;
use super::world::{moved, moved_effect};
use crate::inference::{Engine, InferenceError, Limits};
use crate::network::BeliefNet;
use crate::plan::assess::{Assessment, Moment, Planner, REPAIR_THRESHOLD};
use crate::plan::scopes::ScopeRow;

/// How far a number is moved, in log-odds.
pub const MOVED_BY: f64 = 0.5;
/// A fault that is less probable than this at the end stays out of every decision: half a unit of log-odds in
/// one number multiplies its odds by 1.65 at most.
const EXCLUDED: f64 = 0.01;

/// A number of the network.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// The share of one state of a factor (indices).
    Prior(usize, usize),
    /// The chance of a fault without any cause (index).
    FaultLeak(usize),
    /// The strength of a cause: index of the fault, place in its list.
    Strength(usize, usize),
    /// The chance that an observation is abnormal without any cause (index).
    ObservationLeak(usize),
    /// The chance that a cause shows: index of the observation, place in its list.
    Effect(usize, usize),
}

/// What hangs on one number.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// The number.
    pub what: What,
    /// As it stands: the chance of everything abnormal where there are several states.
    pub value: f64,
    /// In how many endings another fault would stand first, of those probable enough to be worked on.
    pub first: Rate,
    /// In how many another scope would be best.
    pub scope: Rate,
    /// In how many either is so.
    pub moved: Rate,
    /// What going by the wrong number costs on average of all endings, in the shop's money.
    pub cost: Spread,
    /// Whether it decides more often than it would by chance if all numbers decided alike.
    pub stands_out: bool,
}

/// Which numbers the decisions depend on.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sensitivity {
    /// Endings that were thought through again.
    pub endings: usize,
    /// Numbers that were changed in any of them.
    pub weighed: usize,
    /// Numbers that decide something in any of them, those that do so most often first.
    pub numbers: Vec<Number>,
}

/// What a changed number does to one ending, moved one way or the other.
#[derive(Default)]
struct Change {
    first: bool,
    scope: bool,
    /// The mean of both ways.
    cost: f64,
}

/// Chance of standing out of all numbers, where all decide alike, that is still taken for chance.
const CHANCE: f64 = 0.05;

/// Weighs every number on recorded endings; calls `done` after each.
pub(super) fn weigh(
    planner: &Planner,
    endings: &[&Moment],
    done: &(dyn Fn() + Sync),
) -> Result<Sensitivity, InferenceError> {
    let all: Result<Vec<BTreeMap<What, Change>>, InferenceError> = endings
        .par_iter()
        .map(|ending| {
            let changes = changes(planner, ending);
            done();
            changes
        })
        .collect();
    let mut by_number: BTreeMap<What, Vec<Change>> = BTreeMap::new();
    for (what, change) in all?.into_iter().flatten() {
        by_number.entry(what).or_default().push(change);
    }
    let weighed = by_number.len();
    let mut numbers: Vec<Number> = by_number
        .into_iter()
        .map(|(what, changes)| {
            let rate = |is: &dyn Fn(&Change) -> bool| Rate {
                hits: changes.iter().filter(|c| is(c)).count(),
                of: endings.len(),
            };
            // It costs nothing in the endings in which it can't matter.
            let nothing = std::iter::repeat_n(0.0, endings.len() - changes.len());
            Number {
                what,
                value: value(&planner.net, what),
                first: rate(&|c| c.first),
                scope: rate(&|c| c.scope),
                moved: rate(&|c| c.first || c.scope),
                cost: Spread::of(changes.iter().map(|c| c.cost).chain(nothing)),
                stands_out: false,
            }
        })
        .filter(|number| number.moved.hits > 0)
        .collect();
    let mean = numbers.iter().map(|n| n.moved.hits as f64).sum::<f64>() / (weighed as f64).max(1.0);
    for number in &mut numbers {
        number.stands_out = weighed as f64 * at_least(number.moved.hits, mean) < CHANCE;
    }
    numbers.sort_by(|a, b| {
        (b.moved.hits.cmp(&a.moved.hits)).then(b.cost.mean.total_cmp(&a.cost.mean)).then(a.what.cmp(&b.what))
    });
    Ok(Sensitivity { endings: endings.len(), weighed, numbers })
}

/// The chance of at least so many hits where so many are expected (Poisson).
fn at_least(hits: usize, expected: f64) -> f64 {
    let mut term = (-expected).exp();
    let mut below = 0.0;
    for k in 0..hits {
        below += term;
        term *= expected / (k + 1) as f64;
    }
    (1.0 - below).max(0.0)
}

/// Every number that can matter in an ending, changed both ways.
fn changes<'k>(planner: &Planner<'k>, ending: &Moment<'k>) -> Result<BTreeMap<What, Change>, InferenceError> {
    let before = planner.assess(ending.clone())?;
    let mut net = planner.net.clone();
    let mut assessment = planner.assess(ending.clone())?;
    let (first, scope) = (named(&before), best(&before));
    let mut changes: BTreeMap<What, Change> = BTreeMap::new();
    for what in relevant(planner, &before) {
        let entry = changes.entry(what).or_default();
        for by in [-MOVED_BY, MOVED_BY] {
            change(&mut net, what, by);
            let engine = Engine::compile(&net, &ending.evidence, &Limits::default());
            restore(&mut net, &planner.net, what);
            // A changed network finds nothing impossible that was possible before: no chance becomes 0.
            assessment.engine = engine?;
            let rows = assessment.scope_rows();
            let open = |r: &&ScopeRow| r.blocked.is_none();
            let now = rows.iter().find(open);
            let held = rows.iter().filter(open).find(|r| Some(&r.id) == scope.as_ref());
            let cost = match (now, held) {
                (Some(best), Some(held)) => (held.expected_cost - best.expected_cost).max(0.0),
                _ => 0.0,
            };
            entry.first |= named(&assessment) != first;
            entry.scope |= now.map(|r| &r.id) != scope.as_ref();
            entry.cost += cost / 2.0;
        }
    }
    Ok(changes)
}

/// The fault that stands first, if it is probable enough to be worked on.
fn named(assessment: &Assessment) -> Option<usize> {
    assessment.ranked().first().copied().filter(|f| assessment.faults()[*f] >= REPAIR_THRESHOLD)
}

fn best(assessment: &Assessment) -> Option<String> {
    assessment.scope_rows().into_iter().find(|r| r.blocked.is_none()).map(|r| r.id)
}

fn relevant(planner: &Planner, before: &Assessment) -> Vec<What> {
    let net = &planner.net;
    let evidence = &before.moment.evidence;
    let open = |f: &usize| before.faults()[*f] >= EXCLUDED;
    let mut all = Vec::new();
    for (i, factor) in net.factors.iter().enumerate().filter(|(i, _)| evidence.factors[*i].is_none()) {
        all.extend((0..factor.states.len()).map(|s| What::Prior(i, s)));
    }
    for j in (0..net.faults.len()).filter(open) {
        all.push(What::FaultLeak(j));
        all.extend((0..net.faults[j].causes.len()).map(|c| What::Strength(j, c)));
    }
    for (i, o) in net.observations.iter().enumerate().filter(|(i, _)| evidence.observations[*i].is_some()) {
        all.push(What::ObservationLeak(i));
        let matters = |c: &usize| match o.causes[*c].0 {
            crate::network::Parent::Fault(j) => open(&j),
            crate::network::Parent::Factor(f, s) => {
                before.engine.posterior().factors[f].get(s).is_some_and(|p| *p >= EXCLUDED)
            }
        };
        all.extend((0..o.causes.len()).filter(matters).map(|c| What::Effect(i, c)));
    }
    all
}

fn value(net: &BeliefNet, what: What) -> f64 {
    let abnormal = |states: &[f64]| states.iter().skip(1).sum();
    match what {
        What::Prior(i, s) => net.factors[i].prior[s],
        What::FaultLeak(j) => net.faults[j].leak,
        What::Strength(j, c) => net.faults[j].causes[c].1,
        What::ObservationLeak(i) => abnormal(&net.observations[i].leak),
        What::Effect(i, c) => abnormal(&net.observations[i].causes[c].1),
    }
}

fn change(net: &mut BeliefNet, what: What, by: f64) {
    match what {
        What::Prior(i, s) => {
            let prior = &mut net.factors[i].prior;
            let now = moved(prior[s], by);
            let scale = if prior[s] < 1.0 { (1.0 - now) / (1.0 - prior[s]) } else { 1.0 };
            for (t, p) in prior.iter_mut().enumerate() {
                *p = if t == s { now } else { *p * scale };
            }
        }
        What::FaultLeak(j) => net.faults[j].leak = moved(net.faults[j].leak, by),
        What::Strength(j, c) => {
            let strength = &mut net.faults[j].causes[c].1;
            *strength = moved(*strength, by);
        }
        What::ObservationLeak(i) => {
            let leak = &mut net.observations[i].leak;
            *leak = moved_effect(leak, by);
        }
        What::Effect(i, c) => {
            let effect = &mut net.observations[i].causes[c].1;
            *effect = moved_effect(effect, by);
        }
    }
}

fn restore(net: &mut BeliefNet, from: &BeliefNet, what: What) {
    match what {
        What::Prior(i, _) => net.factors[i].prior.clone_from(&from.factors[i].prior),
        What::FaultLeak(j) => net.faults[j].leak = from.faults[j].leak,
        What::Strength(j, c) => net.faults[j].causes[c].1 = from.faults[j].causes[c].1,
        What::ObservationLeak(i) => net.observations[i].leak.clone_from(&from.observations[i].leak),
        What::Effect(i, c) => {
            net.observations[i].causes[c].1.clone_from(&from.observations[i].causes[c].1);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Tables of the Poisson distribution: with 2 expected, at least 5 come in 5.265 of a hundred cases.
    #[test]
    fn tails_as_tabled() {
        assert!((at_least(5, 2.0) - 0.052_653).abs() < 1e-6);
        assert!((at_least(1, 0.03) - (1.0 - (-0.03_f64).exp())).abs() < 1e-12);
        assert_eq!(at_least(0, 3.0), 1.0);
    }
}
