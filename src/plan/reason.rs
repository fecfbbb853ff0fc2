//! What a question is good for, in terms of what its likely answers differ in.

use super::assess::Assessment;
use super::questions::{Outcome, Valued};

/// From this chance on, a fault is named.
const NAMED: f64 = 0.5;
/// Answers below this chance are not reckoned with.
const LIKELY: f64 = 0.05;
/// A fault whose chance moves by less is not what a question is about.
const MOVES: f64 = 0.02;

/// What putting a question is good for, as its likely answers show.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason<'k> {
    /// It decides between these scopes of work (ids).
    Work(Vec<&'k str>),
    /// It tells the first fault (index) from the second.
    Apart(usize, usize),
    /// It tells whether this fault (index) is there as well.
    AsWell(usize),
    /// It makes this fault (index), the most likely one, surer or less sure.
    Surer(usize),
    /// It has to be known before this work (id) is done, whatever it shows.
    Before(&'k str),
}

/// What a question is good for: what its likely answers differ in.
pub fn reason<'k>(assessment: &Assessment<'_, 'k>, valued: &Valued<'k>) -> Option<Reason<'k>> {
    let knowledge = assessment.planner.knowledge;
    let best = assessment.scope_rows().into_iter().find(|r| r.blocked.is_none());
    let best = best.and_then(|row| knowledge.scope(&row.id));
    let before = best.filter(|scope| scope.settle_first.iter().any(|id| valued.answers(id)));
    if let Some(scope) = before.filter(|_| changes_nothing(assessment, valued)) {
        return Some(Reason::Before(&scope.id));
    }
    let likely: Vec<_> = likely(valued).collect();
    let mut scopes: Vec<usize> = likely.iter().filter_map(|o| o.scope).collect();
    scopes.sort_unstable();
    scopes.dedup();
    if scopes.len() > 1 {
        let ids = scopes.into_iter().filter_map(|s| Some(knowledge.scopes.get(s)?.id.as_str()));
        return Some(Reason::Work(ids.collect()));
    }
    let top = |faults: &[f64]| (0..faults.len()).max_by(|a, b| faults[*a].total_cmp(&faults[*b]));
    let now = top(assessment.faults())?;
    if let Some(other) = likely.iter().filter_map(|o| top(&o.faults)).find(|t| *t != now) {
        return Some(Reason::Apart(now, other));
    }
    let spread = |f: usize| {
        let all = likely.iter().map(|o| o.faults[f]);
        all.clone().fold(0.0, f64::max) - all.fold(1.0, f64::min)
    };
    let moved = (0..assessment.faults().len()).max_by(|a, b| spread(*a).total_cmp(&spread(*b)))?;
    match spread(moved) >= MOVES {
        true if moved == now => Some(Reason::Surer(now)),
        true => Some(Reason::AsWell(moved)),
        false => None,
    }
}

/// Whether no likely answer to a question would change which faults are named, or the work.
pub fn changes_nothing(assessment: &Assessment, valued: &Valued) -> bool {
    let named = |faults: &[f64]| faults.iter().map(|p| *p >= NAMED).collect::<Vec<bool>>();
    let now = named(assessment.faults());
    let likely: Vec<&Outcome> = likely(valued).collect();
    likely.iter().all(|o| named(&o.faults) == now) && likely.windows(2).all(|w| w[0].scope == w[1].scope)
}

/// The answers to a question that are likely enough to count.
pub fn likely<'v>(valued: &'v Valued) -> impl Iterator<Item = &'v Outcome> {
    valued.outcomes.iter().filter(|o| o.probability >= LIKELY)
}
