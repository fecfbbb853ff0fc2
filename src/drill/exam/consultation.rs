//! One simulated consultation: the owner tells, the expert asks, and what comes of it is set against the truth.

use std::borrow::Cow;
use std::sync::Arc;

use rand::Rng;

use super::moves::{Move, Moves, Point};
use super::world::answered;
use crate::drill::specimen::Specimen;
use crate::inference::{Engine, InferenceError, Limits, Question};
use crate::knowledge::{Knowledge, Motor};
use crate::network::{BeliefNet, Evidence};
use crate::plan::assess::{Moment, Planner};
use crate::plan::looks::fallen;
use crate::plan::questions::Candidate;
use crate::plan::scopes::{ScopeModel, models, price, wanted_cured};
use crate::plan::{Known, stages};

/// Complaints that an owner tells without being asked, at most.
const TOLD: usize = 3;

/// A consultation that has been played to its end.
#[derive(Debug, Clone)]
pub struct Played<'k> {
    /// The faults of the motor (indices).
    pub truth: Vec<usize>,
    /// Probability of each fault at the end.
    pub faults: Vec<f64>,
    /// Faults, the most probable first.
    pub ranked: Vec<usize>,
    /// What was put, in order.
    pub asked: Vec<Asking>,
    /// How many times the expert asked; several questions may be answered by one look.
    pub times_asked: usize,
    /// Questions that were worth asking at some moment, put or not.
    pub worth_asking: Vec<Question>,
    /// Minutes of questions and of opening the motor.
    pub minutes: f64,
    /// The scope proposed (index).
    pub scope: usize,
    /// What asking, opening and closing up cost: their minutes.
    pub asking: f64,
    /// What the work cost: work, parts, and what follows when it does not cure.
    pub work: f64,
    /// Chance that the scope cures the motor at the first go.
    pub cured: f64,
    /// What it would have cost somebody who knows everything beforehand.
    pub knowing: f64,
    /// What each scope would have cost if it were always done, without a question; the best allowed one where a
    /// hard limit forbids it.
    pub always: Vec<f64>,
    /// Whether the scope breaks a hard limit by what was known.
    pub broken: bool,
    /// Whether it breaks one by what is true, known or not.
    pub forbidden: bool,
    /// Whether its faults would stand at the head if everything had been asked and answered truly, where that was
    /// looked at.
    pub all_asked: Option<bool>,
    /// Answers that were taken back because they contradicted others.
    pub taken_back: usize,
    /// What was known at the end, where it is kept.
    pub end: Option<Moment<'k>>,
}

/// Questions that were put at one go.
#[derive(Debug, Clone, PartialEq)]
pub struct Asking {
    /// The questions: of a look, those that were open.
    pub questions: Vec<Question>,
    /// What all of them together were expected to be worth.
    pub worth: f64,
}

impl Played<'_> {
    /// What the motor cost altogether.
    pub fn cost(&self) -> f64 {
        self.asking + self.work
    }
}

/// A consultation in progress.
struct Talk<'a, 'k, R> {
    planner: &'a Planner<'k>,
    specimen: &'a Specimen,
    careless: f64,
    rng: &'a mut R,
    moment: Moment<'k>,
    /// The same, as moves are looked up by it.
    point: Point,
    /// What the latest answers were about.
    latest: Vec<Candidate<'k>>,
}

impl<'k, R: Rng> Talk<'_, 'k, R> {
    /// Puts a question and notes what is answered. A wrong answer to a look is wrong in one of its entries.
    fn put(&mut self, together: &[Candidate<'k>]) {
        self.latest.clear();
        let wrong = self.rng.random_range(0..together.len().max(1));
        for (place, &one) in together.iter().enumerate() {
            let truth = match one.question {
                Question::Factor(i) => self.specimen.factors[i],
                Question::Observation(i) => self.specimen.observations[i],
            };
            let careless = if place == wrong { self.careless } else { 0.0 };
            self.note(one.id, one.question, truth, careless);
            self.latest.push(one);
        }
        // What another answer of the same look rules out was not seen.
        let ids: Vec<&str> = self.latest.iter().map(|one| one.id).collect();
        let gone = fallen(self.planner.knowledge, &ids, self.moment.stage, &self.moment.known);
        let gone: Vec<Candidate> =
            self.latest.iter().filter(|one| gone.iter().any(|f| f.0 == one.id)).copied().collect();
        gone.into_iter().for_each(|one| self.forget(one));
    }

    /// Notes an answer, as somebody gives it who errs with this chance.
    fn note(&mut self, id: &str, question: Question, truth: usize, careless: f64) {
        let states = self.planner.knowledge.states(id).unwrap_or_default();
        let state = answered(truth, states.len(), careless, self.rng);
        let weights = (0..states.len()).map(|s| f64::from(u8::from(s == state))).collect();
        *slot(&mut self.moment.evidence, question) = Some(weights);
        self.point.note(question, Some(state));
        if let Some((name, _)) = states.get(state) {
            self.moment.known.state(id, name);
        }
    }

    /// Takes the latest answers back: they were put and led nowhere.
    fn take_back(&mut self) -> usize {
        let latest = std::mem::take(&mut self.latest);
        latest.iter().for_each(|one| self.forget(*one));
        latest.len()
    }

    /// Notes that nobody knows the answer to a question.
    fn forget(&mut self, one: Candidate) {
        *slot(&mut self.moment.evidence, one.question) = None;
        self.moment.known.unknown(one.id);
        self.point.note(one.question, None);
    }

    /// Goes on to a stage (index).
    fn enter(&mut self, stage: usize) {
        self.moment.stage = stage;
        self.point.stage = stage;
    }
}

fn slot(evidence: &mut Evidence, question: Question) -> &mut Option<Vec<f64>> {
    match question {
        Question::Factor(i) => &mut evidence.factors[i],
        Question::Observation(i) => &mut evidence.observations[i],
    }
}

/// What is looked at beside the consultation itself.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Extras {
    /// Whether what was known at the end is kept.
    pub keep: bool,
    /// Whether it is worked out what asking everything would have told.
    pub all_asked: bool,
}

/// Plays a consultation to its end; `moves` are those of the planner.
///
/// An answer that contradicts all others is taken back, as it would be after asking again in vain.
///
/// # Errors
/// When the network is too large for exact inference.
pub(super) fn play<'k, R: Rng>(
    planner: &Planner<'k>,
    moves: &Moves<'k>,
    specimen: &Specimen,
    motor: Option<&'k Motor>,
    careless: f64,
    rng: &mut R,
    extras: Extras,
) -> Result<Played<'k>, InferenceError> {
    let (knowledge, net) = (planner.knowledge, &planner.net);
    let (point, latest) = (Point::of(motor), Vec::new());
    let motor = motor.map(Cow::Borrowed);
    let (known, evidence) = (Known::default(), Evidence::none(net));
    let moment = Moment { motor: motor.clone(), stage: 0, known, evidence };
    let mut talk = Talk { planner, specimen, careless, rng, moment, point, latest };
    for (id, state) in specimen.complaints(knowledge, net, TOLD) {
        if let Some(place) = net.observations.iter().position(|o| o.id == id) {
            talk.note(&id, Question::Observation(place), state, careless);
        }
    }
    let (mut asked, mut worth_asking) = (Vec::new(), Vec::new());
    let (mut minutes, mut back, mut taken_back, mut times_asked) = (0.0, 0.0, 0, 0);
    let end = loop {
        let next = match moves.at(planner, &talk.point, &talk.moment) {
            Ok(next) => next,
            // What nobody can think through is left out again, as what contradicts itself is.
            Err(InferenceError::ImpossibleEvidence { .. } | InferenceError::TooLarge { .. })
                if !talk.latest.is_empty() =>
            {
                taken_back += talk.take_back();
                continue;
            }
            Err(error) => return Err(error),
        };
        match &*next {
            Move::Ask { together, worth, minutes: more, worth_asking: list } => {
                worth_asking.extend_from_slice(list);
                times_asked += 1;
                minutes += more;
                let questions = together.iter().map(|c| c.question).collect();
                asked.push(Asking { questions, worth: *worth });
                talk.put(together);
            }
            Move::Open(stage) => {
                minutes += knowledge.stages[*stage].minutes;
                back += knowledge.stages[*stage].minutes_back;
                talk.enter(*stage);
            }
            Move::End(end) => break Arc::clone(end),
        }
    };
    worth_asking.sort_unstable();
    worth_asking.dedup();
    let scope = end.scope;
    let bill = Bill::new(planner, specimen, motor.as_ref());
    let stage = talk.moment.stage;
    Ok(Played {
        truth: specimen.present().collect(),
        faults: end.faults.clone(),
        ranked: end.ranked.clone(),
        asked,
        times_asked,
        worth_asking,
        minutes,
        scope,
        asking: (minutes + back) * knowledge.shop.labour_per_minute,
        work: bill.cost(scope, stage),
        cured: bill.cured(scope),
        knowing: bill.best(),
        always: (0..bill.scopes.len()).map(|s| bill.always(s)).collect(),
        broken: end.broken,
        forbidden: bill.forbidden[scope],
        taken_back,
        all_asked: if extras.all_asked { stand_first(planner, specimen)? } else { None },
        end: extras.keep.then_some(talk.moment),
    })
}

/// What every scope costs, by the truth.
///
/// A repair that is done as needed is counted where its fault is there: with the motor open before them,
/// people see what it needs.
struct Bill<'a, 'k> {
    planner: &'a Planner<'k>,
    scopes: Vec<ScopeModel<'k>>,
    chances: Vec<f64>,
    /// Whether a hard limit forbids each scope, by the truth.
    forbidden: Vec<bool>,
}

impl<'a, 'k> Bill<'a, 'k> {
    fn new(planner: &'a Planner<'k>, specimen: &Specimen, motor: Option<&Cow<'k, Motor>>) -> Self {
        let (knowledge, net) = (planner.knowledge, &planner.net);
        let chances: Vec<f64> = specimen.faults.iter().map(|f| f64::from(u8::from(*f))).collect();
        let known = everything(net, specimen);
        let wanted = wanted_cured(net, &told(planner, specimen));
        let scopes = models(knowledge, net, motor, &known, &wanted);
        let forbidden = scopes.iter().map(|s| s.blocked(&known, &chances).is_some()).collect();
        Bill { planner, scopes, chances, forbidden }
    }

    fn cured(&self, scope: usize) -> f64 {
        self.scopes[scope].success_by_marginals(&self.chances)
    }

    fn price(&self, scope: usize, stage: usize) -> f64 {
        let knowledge = self.planner.knowledge;
        price(knowledge, self.scopes[scope].work(knowledge, stage, &self.chances))
    }

    /// What starting with a scope at a stage costs until the motor is well or comes back.
    ///
    /// Where the shop sees that the work has not cured, the surest work follows, and nothing cleverer: whoever was
    /// wrong the first time does not know everything the second time. Otherwise the motor comes back.
    fn cost(&self, scope: usize, stage: usize) -> f64 {
        let come_back = self.planner.knowledge.shop.come_back;
        let uncured = 1.0 - self.cured(scope);
        if uncured <= 0.0 {
            return self.price(scope, stage);
        }
        let surest = (0..self.scopes.len())
            .filter(|s| !self.forbidden[*s] && self.cured(*s) > self.cured(scope))
            .max_by(|a, b| {
                let dearer = || self.price(*b, stage).total_cmp(&self.price(*a, stage));
                self.cured(*a).total_cmp(&self.cured(*b)).then_with(dearer)
            });
        let second = surest.map_or(come_back, |s| {
            // Surer work cures all that the first would have cured.
            self.price(s, stage) + (1.0 - self.cured(s)) / uncured * come_back
        });
        let seen = self.scopes[scope].scope.uncured_seen;
        self.price(scope, stage) + uncured * (seen * second.min(come_back) + (1.0 - seen) * come_back)
    }

    fn best(&self) -> f64 {
        let allowed = (0..self.scopes.len()).filter(|s| !self.forbidden[*s]);
        let best = allowed.map(|s| self.cost(s, 0)).fold(f64::INFINITY, f64::min);
        if best.is_finite() { best } else { self.planner.knowledge.shop.come_back }
    }

    fn always(&self, scope: usize) -> f64 {
        if self.forbidden[scope] { self.best() } else { self.cost(scope, 0) }
    }
}

/// Whether all faults would stand at the head if everything had been asked; none where that is too much to think
/// through.
fn stand_first(planner: &Planner, specimen: &Specimen) -> Result<Option<bool>, InferenceError> {
    let net = &planner.net;
    let plain =
        |state: &usize, states: usize| Some((0..states).map(|s| f64::from(u8::from(s == *state))).collect());
    let evidence = Evidence {
        factors: net.factors.iter().zip(&specimen.factors).map(|(f, s)| plain(s, f.states.len())).collect(),
        observations: (net.observations.iter().zip(&specimen.observations))
            .map(|(o, s)| plain(s, o.states.len()))
            .collect(),
    };
    let engine = match Engine::compile(net, &evidence, &Limits::default()) {
        Err(InferenceError::TooLarge { .. }) => return Ok(None),
        engine => engine?,
    };
    let faults = &engine.posterior().faults;
    let least = specimen.present().map(|j| faults[j]).fold(f64::INFINITY, f64::min);
    let above = (0..faults.len()).filter(|j| !specimen.faults[*j] && faults[*j] >= least).count();
    Ok(Some(above == 0))
}

/// The first motor of the knowledge base that may be opened if the specimen can be, and only then: the expert is told
/// which motor it is.
pub(super) fn motor_for<'k>(
    knowledge: &'k Knowledge,
    net: &BeliefNet,
    specimen: &Specimen,
) -> Option<&'k Motor> {
    let known = everything(net, specimen);
    let sealed = knowledge.stages.iter().any(|s| stages::closed(s, None, &known).is_some());
    knowledge.motors.iter().find(|m| m.rebuildable != sealed)
}

/// Everything that could be answered about a motor.
fn everything(net: &BeliefNet, specimen: &Specimen) -> Known {
    let mut known = Known::default();
    for (factor, state) in net.factors.iter().zip(&specimen.factors) {
        known.state(&factor.id, &factor.states[*state]);
    }
    for (observation, state) in net.observations.iter().zip(&specimen.observations) {
        known.state(&observation.id, &observation.states[*state]);
    }
    known
}

/// Everything that the owner could complain of: a motor is cured when that is gone.
fn told(planner: &Planner, specimen: &Specimen) -> Evidence {
    let net = &planner.net;
    let mut evidence = Evidence::none(net);
    for (id, state) in specimen.complaints(planner.knowledge, net, usize::MAX) {
        if let Some(i) = net.observations.iter().position(|o| o.id == id) {
            let states = net.observations[i].states.len();
            evidence.observations[i] = Some((0..states).map(|s| f64::from(u8::from(s == state))).collect());
        }
    }
    evidence
}
