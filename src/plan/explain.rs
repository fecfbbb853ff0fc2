//! What the answers say, which of them to look at again, and what would change the decision.

use super::assess::Assessment;
use super::questions::{Ranking, Valued};
use crate::inference::{InferenceError, LeftOut, Limits, Weight, leave_one_out, singles};

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
    /// As [`crate::inference::Engine::compile`].
    pub fn weights(&self, faults: &[usize]) -> Result<Vec<Vec<Weight>>, InferenceError> {
        Ok(by_fault(&self.leave_one_out(faults)?, faults.len()))
    }

    /// How well the answers go together, and which one to look at again.
    ///
    /// # Errors
    /// As [`crate::inference::Engine::compile`].
    pub fn agreement(&self) -> Result<Agreement, InferenceError> {
        self.agreement_of(&self.leave_one_out(&[])?)
    }

    /// [`Assessment::weights`] and [`Assessment::agreement`] in one pass.
    ///
    /// # Errors
    /// As [`crate::inference::Engine::compile`].
    pub fn weights_and_agreement(
        &self,
        faults: &[usize],
    ) -> Result<(Vec<Vec<Weight>>, Agreement), InferenceError> {
        let left_out = self.leave_one_out(faults)?;
        Ok((by_fault(&left_out, faults.len()), self.agreement_of(&left_out)?))
    }

    fn leave_one_out(&self, faults: &[usize]) -> Result<Vec<LeftOut>, InferenceError> {
        let (net, evidence) = (&self.planner.net, &self.moment.evidence);
        leave_one_out(net, evidence, faults, &Limits::default(), &self.engine)
    }

    fn agreement_of(&self, left_out: &[LeftOut]) -> Result<Agreement, InferenceError> {
        let (net, evidence) = (&self.planner.net, &self.moment.evidence);
        let singles = singles(net, evidence, &Limits::default(), &self.planner.unanswered)?;
        let whole = self.engine.posterior().log10_evidence;
        let conflict = singles.iter().sum::<f64>() - whole;
        let mut worst: Option<(f64, &str)> = None;
        for (alone, others) in singles.iter().zip(left_out) {
            // What the conflict falls by when this answer is taken back.
            let share = alone - (whole - others.log10_without);
            if worst.is_none_or(|(most, _)| share > most) {
                worst = Some((share, &others.answer));
            }
        }
        let recheck = worst.filter(|_| conflict > WORTH_A_RECHECK).map(|(_, id)| id.to_string());
        Ok(Agreement { conflict, recheck })
    }

    /// Answers that would make other work the best than `best`, the most probable first, one for each
    /// question.
    ///
    /// The work after an answer is compared by the fault marginals, here and now. Only where the answer moves it is it a
    /// change: work that the marginals prefer anyway is none.
    pub fn changes(&self, ranking: &Ranking<'k>, best: &str) -> Vec<Change<'k>> {
        let offered = ranking.openings.iter().flat_map(|o| o.questions.iter());
        let anyway = self.best_by_marginals();
        let mut list: Vec<Change<'k>> = Vec::new();
        for valued in ranking.here.iter().chain(offered) {
            for valued in &self.alone(valued) {
                let seen = list.iter().any(|c| c.question == valued.candidate.id);
                list.extend(self.change(valued, best, anyway).filter(|_| !seen));
            }
        }
        list.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.question.cmp(b.question)));
        list
    }

    fn change(&self, valued: &Valued<'k>, best: &str, anyway: Option<usize>) -> Option<Change<'k>> {
        let states = valued.outcomes.iter().enumerate();
        let others = states.filter_map(|(state, outcome)| {
            let scope = &self.scopes[outcome.scope?].scope.id;
            let (question, probability) = (valued.candidate.id, outcome.probability);
            (scope != best && outcome.scope != anyway).then_some(Change {
                question,
                state,
                probability,
                scope,
            })
        });
        others.max_by(|a, b| a.probability.total_cmp(&b.probability))
    }
}

fn by_fault(left_out: &[LeftOut], faults: usize) -> Vec<Vec<Weight>> {
    let weight = |n: usize, one: &LeftOut| Weight { answer: one.answer.clone(), decibans: one.decibans[n] };
    (0..faults).map(|n| left_out.iter().map(|one| weight(n, one)).collect()).collect()
}
