//! A case at one moment: posteriors, scopes, and what to do next.

use std::borrow::Cow;

use super::Known;
use super::looks::in_order;
use super::questions::{Candidate, Opening, Ranking, Situation, Valued};
use super::scopes::{self, ScopeModel, ScopeRow};
use super::stages;
use crate::inference::{Engine, InferenceError, Limits, Question};
use crate::knowledge::{Knowledge, Motor, Repair};
use crate::network::{BeliefNet, Evidence};

/// From this chance on, an as-needed repair is put on the list of work.
pub const REPAIR_THRESHOLD: f64 = 0.2;

/// How many times as good by the minute it has to be to take an open motor further apart before it is looked at where
/// it is: what lies in the hand is seen first (judgement).
const FURTHER_APART: f64 = 1.6;

/// The planner for one knowledge base; it outlives the cases.
pub struct Planner<'k> {
    /// The knowledge base.
    pub knowledge: &'k Knowledge,
    /// Its numbers.
    pub net: BeliefNet,
    /// Probability of each fault before any answer.
    pub prior: Vec<f64>,
    /// Posteriors before any answer.
    pub(super) unanswered: Engine,
    pub(super) candidates: Vec<Candidate<'k>>,
}

/// What is known of a motor at one moment, as the planner needs it.
#[derive(Debug, Clone)]
pub struct Moment<'k> {
    /// The motor, if it is in the knowledge base or the case describes it.
    pub motor: Option<Cow<'k, Motor>>,
    /// The stage that has been reached (index).
    pub stage: usize,
    /// What has been answered.
    pub known: Known,
    /// The same as weights for inference.
    pub evidence: Evidence,
}

/// A case thought through.
pub struct Assessment<'p, 'k> {
    /// The planner that made it.
    pub planner: &'p Planner<'k>,
    /// What it is based on.
    pub moment: Moment<'k>,
    /// Exact posteriors.
    pub engine: Engine,
    /// For each fault, whether the work is for it: whether it can have brought about the complaint.
    pub wanted: Vec<bool>,
    /// Every scope, worked out for this motor.
    pub scopes: Vec<ScopeModel<'k>>,
    /// For each scope, whether what is known blocks it whatever the faults are.
    shut: Vec<bool>,
}

/// What to do next.
#[derive(Debug, Clone)]
pub enum Step<'k> {
    /// Put the first of these questions; the others are worth asking too, best first.
    Ask(Vec<Valued<'k>>),
    /// Propose to go on to another stage.
    Open(Opening<'k>),
    /// Stop: nothing left is worth its minutes.
    Stop(Stop<'k>),
}

/// Why a consultation ends.
#[derive(Debug, Clone)]
pub enum Stop<'k> {
    /// Everything that could be asked has been asked.
    NothingLeft,
    /// The best question left would cost more than it saves.
    NotWorthIt(Valued<'k>),
}

impl<'k> Planner<'k> {
    /// Prepares a planner.
    ///
    /// # Errors
    /// When the network is too large for exact inference.
    pub fn new(knowledge: &'k Knowledge, net: BeliefNet) -> Result<Self, InferenceError> {
        let factors = (net.factors.iter().enumerate()).filter_map(|(i, f)| {
            let entry = knowledge.factor(&f.id)?;
            Some(Candidate { id: &entry.id, question: Question::Factor(i), ask: &entry.ask, look: None })
        });
        let observations = (net.observations.iter().enumerate()).filter_map(|(i, o)| {
            let entry = knowledge.observation(&o.id)?;
            let (question, look) = (Question::Observation(i), knowledge.look_of(&o.id));
            Some(Candidate { id: &entry.id, question, ask: &entry.ask, look })
        });
        let unanswered = Engine::compile(&net, &Evidence::none(&net), &Limits::default())?;
        let candidates = in_order(&unanswered, factors.chain(observations).collect());
        let prior = unanswered.posterior().faults.clone();
        Ok(Planner { knowledge, net, prior, unanswered, candidates })
    }

    /// Thinks a case through.
    ///
    /// # Errors
    /// When the answers are impossible together, or the network is too large for exact inference.
    pub fn assess(&self, moment: Moment<'k>) -> Result<Assessment<'_, 'k>, InferenceError> {
        let engine = Engine::compile(&self.net, &moment.evidence, &Limits::default())?;
        let wanted = scopes::wanted_cured(&self.net, &moment.evidence);
        let scopes = scopes::models(self.knowledge, &self.net, moment.motor.as_ref(), &moment.known, &wanted);
        let shut = scopes.iter().map(|s| s.blocked_by_answers(&moment.known)).collect();
        Ok(Assessment { planner: self, moment, engine, wanted, scopes, shut })
    }
}

impl<'p, 'k> Assessment<'p, 'k> {
    fn knowledge(&self) -> &'k Knowledge {
        self.planner.knowledge
    }

    /// Probability of each fault (by index).
    pub fn faults(&self) -> &[f64] {
        &self.engine.posterior().faults
    }

    /// Faults by index, most probable first; equal ones by id.
    pub fn ranked(&self) -> Vec<usize> {
        let faults = self.faults();
        let mut order: Vec<usize> = (0..faults.len()).collect();
        let id = |i: usize| &self.planner.net.faults[i].id;
        order.sort_by(|a, b| faults[*b].total_cmp(&faults[*a]).then_with(|| id(*a).cmp(id(*b))));
        order
    }

    /// Every scope: the open ones by expected cost, then the blocked ones.
    pub fn scope_rows(&self) -> Vec<ScopeRow> {
        let clears: Vec<Vec<f64>> = self.scopes.iter().map(|s| s.clears.clone()).collect();
        let success = self.engine.chance_cleared(&clears);
        let costs = self.situation().costs_if_open(self.faults(), &success);
        let mut rows: Vec<ScopeRow> = (self.scopes.iter().zip(success).zip(costs))
            .map(|((model, success), expected_cost)| {
                let work = model.work(self.knowledge(), self.moment.stage, self.faults());
                ScopeRow {
                    id: model.scope.id.clone(),
                    expected_cost,
                    minutes: work.minutes,
                    parts: work.parts,
                    success,
                    blocked: self.blocked(model).map(str::to_string),
                }
            })
            .collect();
        rows.sort_by(|a, b| {
            (a.blocked.is_some().cmp(&b.blocked.is_some()))
                .then(a.expected_cost.total_cmp(&b.expected_cost))
                .then_with(|| a.id.cmp(&b.id))
        });
        rows
    }

    fn blocked(&self, model: &ScopeModel<'k>) -> Option<&'k str> {
        model.blocked(&self.moment.known, self.faults())
    }

    /// The model of a scope.
    pub fn scope(&self, id: &str) -> Option<&ScopeModel<'k>> {
        self.scopes.iter().find(|s| s.scope.id == id)
    }

    /// The repairs of a scope, in the order of the work.
    pub fn repairs(&self, scope: &str) -> Vec<&'k Repair> {
        self.scope(scope)
            .map(|s| s.repairs(self.knowledge(), self.faults(), REPAIR_THRESHOLD))
            .unwrap_or_default()
    }

    /// All questions with their worth.
    pub fn ranking(&self) -> Ranking<'k> {
        self.situation().rank(&self.planner.candidates)
    }

    /// The questions that are answered by one, each valued alone and exactly: of a look all that are open.
    pub fn alone(&self, valued: &Valued<'k>) -> Vec<Valued<'k>> {
        self.situation().alone(valued)
    }

    /// The best scope (index) by the fault marginals.
    pub(super) fn best_by_marginals(&self) -> Option<usize> {
        self.situation().best_scope(self.moment.stage, self.faults()).map(|best| best.0)
    }

    fn situation(&self) -> Situation<'_, 'k> {
        Situation {
            knowledge: self.knowledge(),
            engine: &self.engine,
            scopes: &self.scopes,
            shut: &self.shut,
            wanted: &self.wanted,
            known: &self.moment.known,
            motor: self.moment.motor.as_deref(),
            stage: self.moment.stage,
        }
    }

    /// What to do next.
    pub fn step(&self) -> Step<'k> {
        self.decide(self.ranking())
    }

    /// What to do next, with the questions ranked already.
    ///
    /// Of the stages that are worth going to, the nearest one comes first that, once the motor is there, offers as much
    /// by the minute as the best way: what lies nearer costs less and wipes out less.
    pub fn decide(&self, ranking: Ranking<'k>) -> Step<'k> {
        let shop = &self.knowledge().shop;
        let worth = |v: &Valued| v.worth >= shop.worth_asking;
        let openings = || ranking.openings.iter().filter(|o| o.worth >= shop.worth_asking);
        let best = openings().map(|o| o.rate).fold(f64::NEG_INFINITY, f64::max);
        let offers = |o: &Opening| o.questions.first().map_or(o.rate, |v| v.rate(shop.labour_per_minute));
        let opening = openings().filter(|o| o.rate.max(offers(o)) >= best).min_by_key(|o| o.goal);
        let here: Vec<Valued<'k>> = ranking.here.iter().filter(|v| worth(v)).cloned().collect();
        let open = self.knowledge().stages.get(self.moment.stage).is_some_and(|s| s.opens);
        let hold = if open { FURTHER_APART } else { 1.0 };
        let rate_here = here.first().map(|v| v.rate(shop.labour_per_minute) * hold);
        match (rate_here, opening) {
            (Some(rate), Some(opening)) if opening.rate > rate => self.enter(opening, &ranking),
            (Some(_), _) => Step::Ask(here),
            (None, Some(opening)) => self.enter(opening, &ranking),
            (None, None) => self.settle_first(&ranking).unwrap_or_else(|| {
                Step::Stop(ranking.here.first().cloned().map_or(Stop::NothingLeft, Stop::NotWorthIt))
            }),
        }
    }

    /// Goes on to a stage, or first puts the questions whose answers could forbid that.
    fn enter(&self, opening: &Opening<'k>, ranking: &Ranking<'k>) -> Step<'k> {
        let moment = &self.moment;
        let stage = &self.knowledge().stages[opening.stage];
        let motor = moment.motor.as_deref();
        let gates: Vec<&str> = stages::unsettled(self.knowledge(), stage, moment.stage, motor, &moment.known)
            .map(|(id, _)| id)
            .collect();
        let first: Vec<Valued<'k>> =
            ranking.here.iter().filter(|v| gates.iter().any(|id| v.answers(id))).cloned().collect();
        if first.is_empty() { Step::Open(opening.clone()) } else { Step::Ask(first) }
    }

    /// A question that has to be put before the best scope is decided on, however little it is worth.
    fn settle_first(&self, ranking: &Ranking<'k>) -> Option<Step<'k>> {
        let best = self.scope_rows().into_iter().find(|r| r.blocked.is_none())?;
        let wanted = &self.scope(&best.id)?.scope.settle_first;
        let asks = |v: &&Valued<'k>| wanted.iter().any(|id| v.answers(id));
        if let Some(valued) = ranking.here.iter().find(asks) {
            return Some(Step::Ask(vec![valued.clone()]));
        }
        let opening = ranking.openings.iter().find(|o| o.questions.iter().any(|v| asks(&v)))?;
        let questions = opening.questions.iter().filter(asks).cloned().collect();
        Some(self.enter(&Opening { questions, ..opening.clone() }, ranking))
    }
}
