//! The value of the next question, in the shop's money.
//!
//! A question is worth what it is expected to save on the whole job: the cost of the best scope of work
//! now, less the expected cost of the best scope after the answer (Heckerman, Breese & Rommelse 1995). Where
//! no answer would change the scope, information about the faults still counts, at a price per bit, because
//! a later question may build on it. Answers are imagined exactly; the scopes are compared by the fault
//! marginals, and the candidates at the head of the list again by exact joint probabilities.

use super::scopes::{ScopeModel, expected_cost};
use super::{Known, stages};
use crate::inference::{Engine, Question};
use crate::knowledge::{Ask, Knowledge, Motor};

/// How many of the best candidates are weighed again by exact joint probabilities.
const EXACT_AT_THE_HEAD: usize = 6;

/// How many questions that a stage opens count towards going there.
const COUNTED_AT_A_STAGE: usize = 3;

/// A question that could be put.
#[derive(Debug, Clone, Copy)]
pub struct Candidate<'k> {
    /// Id of the factor or observation.
    pub id: &'k str,
    /// Where it stands in the network.
    pub question: Question,
    /// How it is asked.
    pub ask: &'k Ask,
}

/// What one answer to a question would do.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Probability of the answer.
    pub probability: f64,
    /// Probability of each fault after it.
    pub faults: Vec<f64>,
    /// The best scope after it (index), where any is open.
    pub scope: Option<usize>,
}

/// A question with its worth.
#[derive(Debug, Clone)]
pub struct Valued<'k> {
    /// The question.
    pub candidate: Candidate<'k>,
    /// What its answer is expected to save on the job, before the minutes it takes.
    pub saving: f64,
    /// What it is expected to tell about the faults, in bits.
    pub bits: f64,
    /// Minutes: its own, and the way to its stage.
    pub minutes: f64,
    /// Saving and information together, less the minutes, in the shop's money.
    pub worth: f64,
    /// For each state, what it would do.
    pub outcomes: Vec<Outcome>,
}

/// All that a ranking needs to know.
pub struct Situation<'a, 'k> {
    /// The knowledge base.
    pub knowledge: &'k Knowledge,
    /// Posteriors for what is known.
    pub engine: &'a Engine,
    /// The scopes of work.
    pub scopes: &'a [ScopeModel<'k>],
    /// What is known.
    pub known: &'a Known,
    /// The motor, if it is in the knowledge base.
    pub motor: Option<&'k Motor>,
    /// The stage that has been reached (index).
    pub stage: usize,
}

/// A ranking: what can be asked now, and what another stage would offer.
#[derive(Debug, Clone, Default)]
pub struct Ranking<'k> {
    /// Questions that the present stage allows, the most worth per minute first.
    pub here: Vec<Valued<'k>>,
    /// Later stages that can be entered, the most worth per minute first.
    pub openings: Vec<Opening<'k>>,
}

/// A later stage with the questions that it would offer.
#[derive(Debug, Clone)]
pub struct Opening<'k> {
    /// The stage (index).
    pub stage: usize,
    /// Minutes of the way there.
    pub minutes: f64,
    /// What its best questions are expected to bring, less the way and their minutes.
    pub worth: f64,
    /// Worth before minutes, over minutes.
    pub rate: f64,
    /// The questions, the most worth per minute first.
    pub questions: Vec<Valued<'k>>,
}

impl Valued<'_> {
    /// Worth before minutes, over minutes: the order in which questions are put.
    pub fn rate(&self, labour: f64) -> f64 {
        (self.worth + self.minutes * labour) / self.minutes.max(1e-3)
    }
}

impl<'a, 'k> Situation<'a, 'k> {
    /// The cheapest open scope by fault marginals: its index and expected cost.
    pub fn best_scope(&self, stage: usize, faults: &[f64]) -> Option<(usize, f64)> {
        self.best_scope_with(stage, faults, |s| self.scopes[s].success_by_marginals(faults))
    }

    fn best_scope_with(
        &self,
        stage: usize,
        faults: &[f64],
        success: impl Fn(usize) -> f64,
    ) -> Option<(usize, f64)> {
        (self.scopes.iter().enumerate())
            .filter(|(_, s)| s.blocked(self.known, faults).is_none())
            .map(|(i, s)| {
                (i, expected_cost(self.knowledge, s.work(self.knowledge, stage, faults), success(i)))
            })
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Ranks all candidates: those of the present stage, and by stage those of later ones.
    pub fn rank(&self, candidates: &[Candidate<'k>]) -> Ranking<'k> {
        let labour = self.knowledge.shop.labour_per_minute;
        let open: Vec<&Candidate<'k>> = candidates.iter().filter(|c| !self.known.asked(c.id)).collect();
        let questions: Vec<Question> = open.iter().map(|c| c.question).collect();
        let predictions = self.engine.predict_all(&questions);
        let valued = |stage: usize, way: f64| -> Vec<Valued<'k>> {
            let allowed = (open.iter().zip(&predictions))
                .filter(|(c, _)| stages::can_ask(self.knowledge, c.ask, stage, self.known));
            let mut list: Vec<Valued<'k>> = allowed
                .map(|(c, p)| self.value(**c, stage, way, p.probabilities.clone(), p.given.clone()))
                .collect();
            self.sort(&mut list);
            list
        };
        let mut here = valued(self.stage, 0.0);
        self.sharpen(&mut here, self.stage);
        let mut openings = Vec::new();
        for stage in self.stage + 1..self.knowledge.stages.len() {
            let way = stages::way(self.knowledge, self.stage, stage);
            if stages::forbidden(&way, self.motor, self.known).is_some() {
                continue;
            }
            // Only what the stage adds: the rest can be asked without going there.
            let mut questions = valued(stage, 0.0);
            questions.retain(|v| !stages::can_ask(self.knowledge, v.candidate.ask, self.stage, self.known));
            self.sharpen(&mut questions, stage);
            if let Some(opening) = self.opening(stage, way.minutes, questions, labour) {
                openings.push(opening);
            }
        }
        openings.sort_by(|a, b| b.rate.total_cmp(&a.rate).then(a.stage.cmp(&b.stage)));
        Ranking { here, openings }
    }

    fn opening(
        &self,
        stage: usize,
        way: f64,
        questions: Vec<Valued<'k>>,
        labour: f64,
    ) -> Option<Opening<'k>> {
        let counted: Vec<&Valued> =
            questions.iter().filter(|v| v.worth > 0.0).take(COUNTED_AT_A_STAGE).collect();
        let best = counted.first()?;
        // Savings overlap, so only the best one counts; what the next ones tell comes on top.
        let bits: f64 = counted.iter().skip(1).map(|v| v.bits).sum();
        let asked: f64 = counted.iter().map(|v| v.minutes).sum();
        // The way costs only what the best scope would not have to go anyway.
        let now = self.best_scope(self.stage, &self.engine.posterior().faults)?.1;
        let there = self.best_scope(stage, &self.engine.posterior().faults)?.1;
        let extra = (way * labour - (now - there)).max(0.0);
        let gross = best.worth + best.minutes * labour + bits * self.knowledge.shop.worth_per_bit;
        let worth = gross - extra - asked * labour;
        let minutes = asked + extra / labour.max(1e-9);
        (worth > 0.0).then_some(Opening {
            stage,
            minutes: way,
            worth,
            rate: gross / minutes.max(1e-3),
            questions,
        })
    }

    /// Values one question at a stage by the fault marginals after each answer.
    fn value(
        &self,
        candidate: Candidate<'k>,
        stage: usize,
        way: f64,
        probabilities: Vec<f64>,
        given: Vec<Vec<f64>>,
    ) -> Valued<'k> {
        let before = &self.engine.posterior().faults;
        let now = self.best_scope(stage, before).map_or(0.0, |b| b.1);
        let mut after = 0.0;
        let mut entropy = 0.0;
        let mut outcomes = Vec::with_capacity(given.len());
        for (probability, faults) in probabilities.into_iter().zip(given) {
            let best = self.best_scope(stage, &faults);
            after += probability * best.map_or(0.0, |b| b.1);
            entropy += probability * bits(&faults);
            outcomes.push(Outcome { probability, faults, scope: best.map(|b| b.0) });
        }
        let mut valued = Valued {
            candidate,
            saving: (now - after).max(0.0),
            bits: (bits(before) - entropy).max(0.0),
            minutes: way + candidate.ask.minutes,
            worth: 0.0,
            outcomes,
        };
        self.settle(&mut valued);
        valued
    }

    /// Weighs the head of a sorted list again by exact joint probabilities, and sorts it anew.
    fn sharpen(&self, list: &mut [Valued<'k>], stage: usize) {
        let head = list.len().min(EXACT_AT_THE_HEAD);
        let clears: Vec<Vec<f64>> = self.scopes.iter().map(|s| s.clears.clone()).collect();
        let before = &self.engine.posterior().faults;
        let cleared = self.engine.chance_cleared(&clears);
        let Some((_, now)) = self.best_scope_with(stage, before, |s| cleared[s]) else { return };
        for valued in &mut list[..head] {
            let given = self.engine.chance_cleared_given(valued.candidate.question, &clears);
            let mut after = 0.0;
            for (outcome, success) in valued.outcomes.iter_mut().zip(&given) {
                if outcome.probability <= 0.0 {
                    continue;
                }
                let best = self.best_scope_with(stage, &outcome.faults, |s| success[s]);
                after += outcome.probability * best.map_or(0.0, |b| b.1);
                outcome.scope = best.map(|b| b.0);
            }
            valued.saving = (now - after).max(0.0);
            self.settle(valued);
        }
        self.sort(list);
    }

    fn settle(&self, valued: &mut Valued) {
        let shop = &self.knowledge.shop;
        valued.worth =
            valued.saving + valued.bits * shop.worth_per_bit - valued.minutes * shop.labour_per_minute;
    }

    fn sort(&self, list: &mut [Valued<'k>]) {
        let labour = self.knowledge.shop.labour_per_minute;
        list.sort_by(|a, b| {
            b.rate(labour).total_cmp(&a.rate(labour)).then_with(|| a.candidate.id.cmp(b.candidate.id))
        });
    }
}

/// Entropy of the faults taken one by one, in bits.
fn bits(faults: &[f64]) -> f64 {
    let part = |p: f64| if p > 0.0 { -p * p.log2() } else { 0.0 };
    faults.iter().map(|p| part(*p) + part(1.0 - *p)).sum()
}
