//! From a case to what the planner needs of it.

use super::Known;
use super::assess::{Moment, Planner};
use crate::case::evidence::bands;
use crate::case::{Answer, Case, Warning, evidence};
use crate::knowledge::{Knowledge, Motor};

/// What is known of the motor of a case, with what the person should know about its answers.
///
/// A case without a stage stands at the first one.
pub fn of<'k>(planner: &Planner<'k>, case: &Case) -> (Moment<'k>, Vec<Warning>) {
    let knowledge = planner.knowledge;
    let motor = case.motor(knowledge);
    let (evidence, warnings) = evidence(knowledge, &planner.net, motor.as_deref(), &case.answers);
    let stage = case.stage.as_deref().and_then(|id| knowledge.stage_index(id)).unwrap_or(0);
    let known = known(knowledge, motor.as_deref(), case);
    (Moment { motor, stage, known, evidence }, warnings)
}

fn known(knowledge: &Knowledge, motor: Option<&Motor>, case: &Case) -> Known {
    let mut known = Known::default();
    for (id, answer) in &case.answers {
        match answer {
            Answer::Unknown => known.unknown(id),
            Answer::State(index) => {
                let states = knowledge.states(id).unwrap_or_default();
                if let Some((state, _)) = states.get(*index) {
                    known.state(id, state);
                }
            }
            Answer::Reading { value, deviation, .. } => {
                let Some(reading) = knowledge.reading(id) else { continue };
                // A reading that says nothing leaves its observations open.
                for band in bands(knowledge, motor, reading, *value, *deviation).unwrap_or_default() {
                    let states = knowledge.states(&band.observation).unwrap_or_default();
                    let weights = states.iter().zip(&band.weights).map(|((s, _), w)| (s.to_string(), *w));
                    known.weights(&band.observation, weights.collect());
                }
            }
        }
    }
    known
}
