//! What the answers say, which of them to look at again, and what would change the decision.

use super::assess::Assessment;
use super::questions::{Ranking, Valued};
use crate::inference::{Engine, InferenceError, Limits, Weight, weights_of_evidence_for};
use crate::network::Evidence;

/// An answer to an open question after which other work would be the best.
#[derive(Debug, Clone, PartialEq)]
pub struct Change<'k> {
    /// Id of the question.
    pub question: &'k str,
    /// The answer (index of the state).
    pub state: usize,
    /// Its probability.
    pub probability: f64,
    /// Id of the scope that would then be the best.
    pub scope: &'k str,
}

/// How well the answers go together.
#[derive(Debug, Clone, PartialEq)]
pub struct Agreement {
    /// log10 of the product of the answers' single probabilities over their joint probability: above 0
    /// they speak against each other.
    pub conflict: f64,
    /// Id of the answer without which the conflict is smallest, where there is a conflict.
    pub recheck: Option<String>,
}

/// A conflict below this is chance: with it, the answers are half as probable together as they would be
/// if they had nothing to do with each other.
const WORTH_A_RECHECK: f64 = 0.3;

impl<'k> Assessment<'_, 'k> {
    /// What every answer says about some faults (indices): one list for each fault.
    ///
    /// # Errors
    /// As [`Engine::compile`].
    pub fn weights(&self, faults: &[usize]) -> Result<Vec<Vec<Weight>>, InferenceError> {
        weights_of_evidence_for(&self.planner.net, &self.moment.evidence, faults, &Limits::default())
    }

    /// How well the answers go together, and which one to look at again.
    ///
    /// # Errors
    /// As [`Engine::compile`].
    pub fn agreement(&self) -> Result<Agreement, InferenceError> {
        let whole = self.engine.posterior().log10_evidence;
        let mut conflict = -whole;
        let mut worst: Option<(f64, String)> = None;
        for (id, slot) in self.answered() {
            let alone = self.log10_evidence(|e| only(e, slot))?;
            let others = self.log10_evidence(|e| without(e, slot))?;
            conflict += alone;
            // What the conflict falls by when this answer is taken back.
            let share = alone - (whole - others);
            if worst.as_ref().is_none_or(|(most, _)| share > *most) {
                worst = Some((share, id));
            }
        }
        let recheck = worst.filter(|_| conflict > WORTH_A_RECHECK).map(|(_, id)| id);
        Ok(Agreement { conflict, recheck })
    }

    fn answered(&self) -> Vec<(String, Slot)> {
        let net = &self.planner.net;
        let evidence = &self.moment.evidence;
        let factors = (evidence.factors.iter().enumerate())
            .filter(|(_, w)| w.is_some())
            .map(|(i, _)| (net.factors[i].id.clone(), Slot::Factor(i)));
        let observations = (evidence.observations.iter().enumerate())
            .filter(|(_, w)| w.is_some())
            .map(|(i, _)| (net.observations[i].id.clone(), Slot::Observation(i)));
        factors.chain(observations).collect()
    }

    fn log10_evidence(&self, change: impl Fn(&Evidence) -> Evidence) -> Result<f64, InferenceError> {
        let evidence = change(&self.moment.evidence);
        Ok(Engine::compile(&self.planner.net, &evidence, &Limits::default())?.posterior().log10_evidence)
    }

    /// Answers that would make other work the best than `best`, the most probable first, one for each
    /// question.
    pub fn changes(&self, ranking: &Ranking<'k>, best: &str) -> Vec<Change<'k>> {
        let offered = ranking.openings.iter().flat_map(|o| o.questions.iter());
        let mut list: Vec<Change<'k>> = Vec::new();
        for valued in ranking.here.iter().chain(offered) {
            let seen = list.iter().any(|c| c.question == valued.candidate.id);
            if let Some(change) = self.change(valued, best).filter(|_| !seen) {
                list.push(change);
            }
        }
        list.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.question.cmp(b.question)));
        list
    }

    fn change(&self, valued: &Valued<'k>, best: &str) -> Option<Change<'k>> {
        let states = valued.outcomes.iter().enumerate();
        let others = states.filter_map(|(state, outcome)| {
            let scope = &self.scopes[outcome.scope?].scope.id;
            let (question, probability) = (valued.candidate.id, outcome.probability);
            (scope != best).then_some(Change { question, state, probability, scope })
        });
        others.max_by(|a, b| a.probability.total_cmp(&b.probability))
    }
}

#[derive(Debug, Clone, Copy)]
enum Slot {
    Factor(usize),
    Observation(usize),
}

fn only(evidence: &Evidence, slot: Slot) -> Evidence {
    let mut all = Evidence {
        factors: vec![None; evidence.factors.len()],
        observations: vec![None; evidence.observations.len()],
    };
    match slot {
        Slot::Factor(i) => all.factors[i].clone_from(&evidence.factors[i]),
        Slot::Observation(i) => all.observations[i].clone_from(&evidence.observations[i]),
    }
    all
}

fn without(evidence: &Evidence, slot: Slot) -> Evidence {
    let mut all = evidence.clone();
    match slot {
        Slot::Factor(i) => all.factors[i] = None,
        Slot::Observation(i) => all.observations[i] = None,
    }
    all
}
