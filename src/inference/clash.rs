//! Which answers contradict one another.

use super::engine::{Engine, Question};
use super::error::{InferenceError, Limits};
use crate::network::{BeliefNet, Evidence};

/// One answered variable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Answer {
    Factor(usize),
    Observation(usize),
}

impl Answer {
    /// The question that it answers.
    pub fn question(self) -> Question {
        match self {
            Answer::Factor(j) => Question::Factor(j),
            Answer::Observation(i) => Question::Observation(i),
        }
    }

    /// Its weights, none if it was not given.
    pub fn weights(self, evidence: &Evidence) -> &[f64] {
        let weights = match self {
            Answer::Factor(j) => &evidence.factors[j],
            Answer::Observation(i) => &evidence.observations[i],
        };
        weights.as_deref().unwrap_or_default()
    }
}

/// All answers, factors first.
pub(super) fn answers(evidence: &Evidence) -> Vec<Answer> {
    let factors =
        evidence.factors.iter().enumerate().filter(|(_, w)| w.is_some()).map(|(j, _)| Answer::Factor(j));
    let seen = evidence.observations.iter().enumerate().filter(|(_, w)| w.is_some());
    factors.chain(seen.map(|(i, _)| Answer::Observation(i))).collect()
}

/// The evidence with only some of its answers.
pub(super) fn only(evidence: &Evidence, keep: &[Answer]) -> Evidence {
    let mut out = Evidence {
        factors: vec![None; evidence.factors.len()],
        observations: vec![None; evidence.observations.len()],
    };
    for answer in keep {
        match *answer {
            Answer::Factor(j) => out.factors[j] = evidence.factors[j].clone(),
            Answer::Observation(i) => out.observations[i] = evidence.observations[i].clone(),
        }
    }
    out
}

/// The id of an answered variable.
pub(super) fn id(net: &BeliefNet, answer: Answer) -> String {
    match answer {
        Answer::Factor(j) => net.factors[j].id.clone(),
        Answer::Observation(i) => net.observations[i].id.clone(),
    }
}

/// Finds answers of which none can be left out without the rest becoming possible: first the shortest impossible
/// beginning of the list, by halving; then each of its answers is left out if the rest is still
/// impossible.
pub(super) fn impossible(net: &BeliefNet, evidence: &Evidence, limits: &Limits) -> InferenceError {
    let clashes =
        |keep: &[Answer]| matches!(Engine::try_compile(net, &only(evidence, keep), limits), Ok(None));
    let mut clash = answers(evidence);
    // More answers can only be less possible, so the beginnings are sorted.
    let (mut possible, mut impossible) = (0, clash.len());
    while impossible - possible > 1 {
        let middle = possible + (impossible - possible) / 2;
        if clashes(&clash[..middle]) {
            impossible = middle;
        } else {
            possible = middle;
        }
    }
    clash.truncate(impossible);
    let mut at = 0;
    while clash.len() > 1 && at < clash.len() {
        let mut rest = clash.clone();
        rest.remove(at);
        if clashes(&rest) {
            clash = rest;
        } else {
            at += 1;
        }
    }
    InferenceError::ImpossibleEvidence { clash: clash.iter().map(|&a| id(net, a)).collect() }
}
