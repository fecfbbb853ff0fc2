//! What the answers say of the leading faults, by the answers as a person gave them.

use crate::case::evidence::bands;
use crate::case::{Answer, Case};
use crate::inference::{Engine, InferenceError, Limits, Weight};
use crate::network::Evidence;
use crate::plan::assess::Assessment;

/// What one answer says of a fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Speaks {
    /// Id of the answer: a factor, an observation or a reading.
    pub answer: String,
    /// Weight of evidence; above 0 it speaks for the fault.
    pub decibans: f64,
    /// The weight of each factor or observation that the answer speaks of. A reading may speak of two
    /// observations; any other answer speaks of itself.
    pub parts: Vec<(String, f64)>,
}

/// The answer that a factor or observation got its evidence from: itself, or a reading that bands it. Where
/// several speak of it, the last one counts.
pub(super) fn given_by<'c>(assessment: &Assessment, case: &'c Case, seen: &'c str) -> &'c str {
    let knowledge = assessment.planner.knowledge;
    let speaks = |id: &str, answer: &Answer| match answer {
        Answer::Unknown => false,
        Answer::State(_) => id == seen,
        Answer::Reading { value, deviation, .. } => knowledge
            .reading(id)
            .and_then(|r| bands(knowledge, assessment.moment.motor.as_deref(), r, *value, *deviation).ok())
            .is_some_and(|all| all.iter().any(|b| b.observation == seen)),
    };
    let given = case.answers.iter().rev().find(|(id, answer)| speaks(id, answer));
    given.map_or(seen, |(id, _)| id.as_str())
}

/// What each answer says of some faults (indices), one list for each fault (its id); `weights` are those of
/// the single factors and observations.
///
/// # Errors
/// As [`Engine::compile`].
pub(super) fn evidence(
    assessment: &Assessment,
    case: &Case,
    faults: &[usize],
    weights: Vec<Vec<Weight>>,
) -> Result<Vec<(String, Vec<Speaks>)>, InferenceError> {
    let net = &assessment.planner.net;
    let now = assessment.faults();
    let mut out = Vec::with_capacity(faults.len());
    for (&fault, weights) in faults.iter().zip(weights) {
        let mut list: Vec<Speaks> = Vec::new();
        for weight in weights {
            let answer = given_by(assessment, case, &weight.answer);
            let part = (weight.answer.clone(), weight.decibans);
            match list.iter_mut().find(|s| s.answer == answer) {
                Some(same) => same.parts.push(part),
                None => list.push(Speaks {
                    answer: answer.to_string(),
                    decibans: weight.decibans,
                    parts: vec![part],
                }),
            }
        }
        out.push((net.faults[fault].id.clone(), list));
    }
    // The parts of one reading need not add up: it is taken back as a whole.
    let joint: Vec<Vec<String>> = out.first().map_or(Vec::new(), |(_, list)| {
        let several = list.iter().filter(|s| s.parts.len() > 1);
        several.map(|s| s.parts.iter().map(|(id, _)| id.clone()).collect()).collect()
    });
    for parts in joint {
        let rest = without(assessment, &parts);
        let engine = Engine::compile(net, &rest, &Limits::default())?;
        for (&fault, (_, list)) in faults.iter().zip(&mut out) {
            let before = engine.posterior().faults[fault];
            let gain = decibans(now[fault]) - decibans(before);
            if let Some(speaks) = list.iter_mut().find(|s| s.parts.iter().any(|(id, _)| *id == parts[0])) {
                speaks.decibans = if gain.is_nan() { 0.0 } else { gain };
            }
        }
    }
    Ok(out)
}

/// The evidence without that of some observations (ids).
fn without(assessment: &Assessment, observations: &[String]) -> Evidence {
    let mut rest = assessment.moment.evidence.clone();
    for (model, weights) in assessment.planner.net.observations.iter().zip(&mut rest.observations) {
        if observations.contains(&model.id) {
            *weights = None;
        }
    }
    rest
}

/// 10 log10 of the odds.
fn decibans(chance: f64) -> f64 {
    10.0 * (chance.log10() - (1.0 - chance).log10())
}
