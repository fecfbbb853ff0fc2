//! What the answers say about one another and about a fault.

use super::clash::{answers, only};
use super::engine::{Engine, Question};
use super::error::{InferenceError, Limits};
use super::leave_out::leave_one_out;
use crate::network::{BeliefNet, Evidence};

/// What one answer says for or against a fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// Id of the answered factor or observation.
    pub answer: String,
    /// 10 log10 of how much more probable the answer is with the fault than without it, given all
    /// other answers (Good 1950). Above 0 it speaks for the fault; infinite if it settles the matter; 0 if the other
    /// answers had settled it already.
    pub decibans: f64,
}

/// How much the answers disagree: log10 of the product of their single probabilities over the
/// probability of all of them (Jensen 1990). Above 0 they are less probable together than they would be if they had
/// nothing to do with each other: one of them may be wrong, or something rare is going on.
///
/// # Errors
///
/// As [`Engine::compile`].
pub fn conflict(net: &BeliefNet, evidence: &Evidence, limits: &Limits) -> Result<f64, InferenceError> {
    let whole = Engine::compile(net, evidence, limits)?;
    let unanswered = Engine::compile(net, &Evidence::none(net), limits)?;
    conflict_with(net, evidence, limits, &whole, &unanswered)
}

/// [`conflict`] when the engines for the evidence and for no evidence at all exist already.
///
/// # Errors
///
/// As [`Engine::compile`].
pub fn conflict_with(
    net: &BeliefNet,
    evidence: &Evidence,
    limits: &Limits,
    whole: &Engine,
    unanswered: &Engine,
) -> Result<f64, InferenceError> {
    let singles = singles(net, evidence, limits, unanswered)?;
    Ok(singles.iter().sum::<f64>() - whole.posterior().log10_evidence)
}

/// log10 of the probability of each answer alone; in the order factors, then observations. `unanswered` is the engine
/// for no evidence at all.
///
/// # Errors
///
/// As [`Engine::compile`].
pub fn singles(
    net: &BeliefNet,
    evidence: &Evidence,
    limits: &Limits,
    unanswered: &Engine,
) -> Result<Vec<f64>, InferenceError> {
    super::check::evidence(net, evidence)?;
    let all = answers(evidence);
    let questions: Vec<Question> = all.iter().map(|answer| answer.question()).collect();
    let expected = unanswered.chances(&questions);
    let mut out = Vec::with_capacity(all.len());
    for (answer, expected) in all.into_iter().zip(expected) {
        let weights = answer.weights(evidence);
        let top = weights.iter().copied().fold(0.0, f64::max);
        let chance: f64 = weights.iter().zip(&expected).map(|(w, p)| w / top * p).sum();
        // The levels of an observation are differences: a rare one is computed without.
        out.push(if chance > DIFFERENCES_ARE_GOOD_FOR {
            chance.log10() + top.log10()
        } else {
            Engine::compile(net, &only(evidence, &[answer]), limits)?.posterior().log10_evidence
        });
    }
    Ok(out)
}

/// A difference of two chances keeps eleven digits down to here.
const DIFFERENCES_ARE_GOOD_FOR: f64 = 1e-4;

/// What each answer says about one fault (its index), given all other answers; in the order factors, then observations.
///
/// Leaving an answer out and comparing the odds of the fault is exact: the ratio of the two odds is the
/// likelihood ratio of that answer.
///
/// # Errors
///
/// As [`Engine::compile`].
pub fn weights_of_evidence(
    net: &BeliefNet,
    evidence: &Evidence,
    fault: usize,
    limits: &Limits,
) -> Result<Vec<Weight>, InferenceError> {
    Ok(weights_of_evidence_for(net, evidence, &[fault], limits)?.pop().unwrap_or_default())
}

/// [`weights_of_evidence`] for several faults at once, at no more work than for one.
///
/// # Errors
///
/// As [`Engine::compile`].
pub fn weights_of_evidence_for(
    net: &BeliefNet,
    evidence: &Evidence,
    faults: &[usize],
    limits: &Limits,
) -> Result<Vec<Vec<Weight>>, InferenceError> {
    let whole = Engine::compile(net, evidence, limits)?;
    let mut out = vec![Vec::new(); faults.len()];
    for left_out in leave_one_out(net, evidence, faults, limits, &whole)? {
        for (list, decibans) in out.iter_mut().zip(left_out.decibans) {
            list.push(Weight { answer: left_out.answer.clone(), decibans });
        }
    }
    Ok(out)
}
