//! What the answers say about one another and about a fault.

use super::clash::{Answer, answers, id, only};
use super::engine::Engine;
use super::error::{InferenceError, Limits};
use crate::network::{BeliefNet, Evidence};
use std::collections::BTreeMap;

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
    conflict_with(net, evidence, limits, &whole)
}

/// [`conflict`] when the engine for the evidence exists already.
///
/// # Errors
///
/// As [`Engine::compile`].
pub fn conflict_with(
    net: &BeliefNet,
    evidence: &Evidence,
    limits: &Limits,
    whole: &Engine,
) -> Result<f64, InferenceError> {
    let mut sum = 0.0;
    for answer in answers(evidence) {
        sum += Engine::compile(net, &only(evidence, &[answer]), limits)?.posterior().log10_evidence;
    }
    Ok(sum - whole.posterior().log10_evidence)
}

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
    if let Some(&unknown) = faults.iter().find(|&&j| j >= net.faults.len()) {
        return Err(InferenceError::Shape(format!("there is no fault with index {unknown}")));
    }
    let all = answers(evidence);
    let with = Engine::compile(net, evidence, limits)?;
    let seen = all.iter().filter_map(|a| match *a {
        Answer::Observation(i) => Some(i),
        Answer::Factor(_) => None,
    });
    // Normal outcomes only weigh their causes: they are taken back on the same tape.
    let seen: Vec<usize> = seen.collect();
    let taken_back = with.leaving_out(net, evidence, &seen);
    let mut taken_back: BTreeMap<usize, Vec<f64>> =
        seen.into_iter().zip(taken_back).filter_map(|(i, faults)| Some((i, faults?))).collect();
    let mut out = vec![Vec::with_capacity(all.len()); faults.len()];
    for &answer in &all {
        let quick = match answer {
            Answer::Observation(i) => taken_back.remove(&i),
            Answer::Factor(_) => None,
        };
        let without = match quick {
            Some(faults) => faults,
            None => {
                let rest: Vec<Answer> = all.iter().copied().filter(|&a| a != answer).collect();
                Engine::compile(net, &only(evidence, &rest), limits)?.posterior().faults.clone()
            }
        };
        for (list, &fault) in out.iter_mut().zip(faults) {
            let gain = decibans(with.posterior().faults[fault]) - decibans(without[fault]);
            list.push(Weight { answer: id(net, answer), decibans: if gain.is_nan() { 0.0 } else { gain } });
        }
    }
    Ok(out)
}

/// 10 log10 of the odds.
fn decibans(chance: f64) -> f64 {
    10.0 * (chance.log10() - (1.0 - chance).log10())
}
