//! What a trainee is given: a motor with a hidden fault, and its owner.

use indexmap::IndexMap;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::specimen::{Specimen, Wanted, Wish, WishError};
use super::written::{calm, write};
use crate::case::Answer;
use crate::knowledge::{Knowledge, Lesson, Misleading, Motor, TooSoon, Trap, Why, Word};
use crate::network::{BeliefNet, Parent};
use crate::plan::assess::Planner;

/// Complaints that the owner of a drawn motor begins with.
const FIRST_COMPLAINTS: usize = 2;
/// Cautions of a drawn motor that have to be named.
const FIRST_CAUTIONS: usize = 3;
/// The hardest level.
pub const HARDEST: u32 = 5;

/// A motor to be found out about, and all that belongs to it.
#[derive(Debug, Clone)]
pub struct Task<'k> {
    /// Id of the lesson; none for a motor that was drawn at will.
    pub lesson: Option<&'k str>,
    /// Id of the topic.
    pub topic: String,
    /// How hard it is, from 1 to 5.
    pub level: u32,
    /// What it was drawn with.
    pub seed: u64,
    /// The motor as it should be.
    pub motor: &'k Motor,
    /// The motor as it is.
    pub specimen: Specimen,
    /// What the owner says first: whole sentences in a lesson, else a few words each.
    pub story: Vec<String>,
    /// What the story says already: id and index of the state.
    pub told: Vec<(String, usize)>,
    /// What the owner answers wrongly.
    pub misleading: Vec<Misleading>,
    /// What helps whoever is stuck.
    pub hint: Hint<'k>,
    /// What is tempting and wrong.
    pub traps: &'k [Trap],
    /// What is known afterwards.
    pub teaches: &'k [String],
    /// Why it was so, in the words of the lesson.
    pub why: Option<&'k Why>,
    /// Words of the trade that come up.
    pub words: &'k [Word],
    /// Ids of the cautions that have to be named.
    pub cautions: Vec<String>,
    /// Stages that must not be entered before a while has passed.
    pub too_soon: &'k [TooSoon],
}

/// What helps whoever is stuck.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Hint<'k> {
    /// In words.
    Words(&'k str),
    /// The question with this id tells most.
    LookAt(String),
    /// Everything from outside is as it should be.
    Compare,
}

/// Why there is no such task.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum TaskError {
    /// The motor can't be drawn.
    #[error(transparent)]
    Wish(#[from] WishError),
    /// The knowledge lacks what the lesson names.
    #[error("the knowledge has no {what} `{id}`")]
    Missing {
        /// What it is.
        what: &'static str,
        /// Its id.
        id: String,
    },
    /// There is no such level.
    #[error("there is no level {0}; the levels go from 1 to {HARDEST}")]
    Level(u32),
}

impl<'k> Task<'k> {
    /// The motor of a lesson. The same seed makes the same motor.
    ///
    /// # Errors
    /// [`TaskError`] when the network gives such a motor no chance.
    pub fn of_lesson(planner: &Planner<'k>, lesson: &'k Lesson, seed: u64) -> Result<Task<'k>, TaskError> {
        let (knowledge, net) = (planner.knowledge, &planner.net);
        let missing = || TaskError::Missing { what: "motor", id: lesson.motor.clone() };
        let motor = knowledge.motor(&lesson.motor).ok_or_else(missing)?;
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let state = |(id, state): &(String, usize)| {
            let states = knowledge.states(id).unwrap_or_default();
            Some((id.clone(), states.get(*state)?.0.to_owned()))
        };
        let wish = Wish {
            history: built_as(knowledge, motor)
                .into_iter()
                .chain(lesson.history.iter().filter_map(state))
                .collect(),
            must_complain: false,
            ..Wish::exactly(lesson.faults.iter().cloned())
        };
        let mut specimen = Specimen::draw(knowledge, net, &wish, &mut rng)?;
        if lesson.calm {
            calm(net, &mut specimen);
        }
        let specimen = write(knowledge, net, motor, lesson, specimen, &mut rng);
        let variant = usize::try_from(seed.wrapping_sub(1) % lesson.story.len().max(1) as u64).unwrap_or(0);
        Ok(Task {
            lesson: Some(&lesson.id),
            topic: lesson.topic.clone(),
            level: lesson.level,
            seed,
            motor,
            specimen,
            story: lesson.story.get(variant).cloned().into_iter().collect(),
            told: lesson.told.clone(),
            misleading: lesson.misleading.clone(),
            hint: Hint::Words(&lesson.hint),
            traps: &lesson.traps,
            teaches: &lesson.teaches,
            why: lesson.why.as_ref(),
            words: &lesson.words,
            cautions: lesson.cautions.clone(),
            too_soon: &lesson.too_soon,
        })
    }

    /// A motor drawn at will: of this level and, where one is named, this topic.
    ///
    /// # Errors
    /// [`TaskError`] when there is no such level or topic, or no such motor.
    pub fn drawn(
        planner: &Planner<'k>,
        level: u32,
        topic: Option<&str>,
        seed: u64,
    ) -> Result<Task<'k>, TaskError> {
        if !(1..=HARDEST).contains(&level) {
            return Err(TaskError::Level(level));
        }
        let (knowledge, net) = (planner.knowledge, &planner.net);
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let topic = match topic {
            Some(id) => Some(
                knowledge.topic(id).ok_or_else(|| TaskError::Missing { what: "topic", id: id.to_owned() })?,
            ),
            None => None,
        };
        let motor = knowledge
            .motors
            .choose(&mut rng)
            .ok_or_else(|| TaskError::Missing { what: "motor", id: String::new() })?;
        let faults = match level {
            1 | 2 => 1,
            3 => usize::from(rng.random::<f64>() > 0.15),
            4 => 1 + usize::from(rng.random::<f64>() < 0.4),
            _ => 2,
        };
        let wish = Wish {
            faults: Wanted::Count(faults),
            history: built_as(knowledge, motor),
            among: if faults == 0 { Vec::new() } else { topic.map_or(Vec::new(), |t| t.groups.clone()) },
            ..Wish::default()
        };
        let mut specimen = Specimen::draw(knowledge, net, &wish, &mut rng)?;
        if level <= 2 {
            calm(net, &mut specimen);
        }
        // Numbers that agree with each other; a motor whose data give none keeps what the network said.
        if let Ok(bodied) = specimen.clone().physical(knowledge, net, motor, &mut rng) {
            specimen = bodied;
        }
        let mut told = specimen.complaints(knowledge, net, FIRST_COMPLAINTS);
        let misleading = match level {
            HARDEST => lie(planner, &specimen, &told, &mut rng).into_iter().collect(),
            _ => Vec::new(),
        };
        told.retain(|(id, _)| !misleading.iter().any(|m: &Misleading| m.answer == *id));
        let story = told.iter().filter_map(|(id, state)| words(knowledge, id, *state, &mut rng)).collect();
        let hint = hint(planner, &specimen);
        let mut task = Task {
            lesson: None,
            topic: topic.map_or("mixed".to_owned(), |t| t.id.clone()),
            level,
            seed,
            motor,
            specimen,
            story,
            told,
            misleading,
            hint,
            traps: &[],
            teaches: &[],
            why: None,
            words: &[],
            cautions: Vec::new(),
            too_soon: &[],
        };
        task.cautions = super::scopes::first_cautions(planner, &task, FIRST_CAUTIONS);
        Ok(task)
    }

    /// What is answered to a question: by the owner, who may be wrong, or by the motor.
    pub fn answer(&self, knowledge: &Knowledge, net: &BeliefNet, id: &str) -> Option<Answer> {
        match self.misleading.iter().find(|m| m.answer == id) {
            Some(lie) => Some(Answer::State(lie.says)),
            None => self.specimen.answer(knowledge, net, Some(self.motor), id),
        }
    }

    /// What the owner says first; somebody without a complaint asks for a look.
    pub fn story_or_plea(&self) -> String {
        match self.story.as_slice() {
            [] => "Could you have a look at it?".to_owned(),
            parts => parts.join("; "),
        }
    }

    /// The ids of what is wrong, in the order of the network.
    pub fn truth<'n>(&self, net: &'n BeliefNet) -> Vec<&'n str> {
        self.specimen.present().map(|j| &*net.faults[j].id).collect()
    }
}

/// What the history has to be so that the motor may be taken apart, or may not, as its data say.
fn built_as(knowledge: &Knowledge, motor: &Motor) -> IndexMap<String, String> {
    let gates = knowledge.stages.iter().filter(|s| s.opens).flat_map(|s| &s.not_when);
    let fitting = gates.filter_map(|gate| {
        let states = &knowledge.factor(&gate.when.answer)?.states;
        let fits = states.iter().filter(|s| gate.when.states.contains(&s.id) != motor.rebuildable);
        let usual = fits.max_by(|a, b| a.prior.total_cmp(&b.prior))?;
        Some((gate.when.answer.clone(), usual.id.clone()))
    });
    fitting.collect()
}

/// A thing that the owner denies: something abnormal of the first stage that is not told first.
fn lie<R: Rng + ?Sized>(
    planner: &Planner,
    specimen: &Specimen,
    told: &[(String, usize)],
    rng: &mut R,
) -> Option<Misleading> {
    let knowledge = planner.knowledge;
    let first = knowledge.stages.first()?;
    let factors = knowledge.factors.iter().filter(|f| f.ask.ask_when.is_none()).map(|f| (&f.id, &f.ask));
    let complaints = knowledge.observations.iter().map(|o| (&o.id, &o.ask));
    let open: Vec<&String> = factors
        .chain(complaints)
        .filter(|(id, ask)| ask.stage == first.id && !told.iter().any(|(t, _)| t == *id))
        .filter(|(id, _)| specimen.state(&planner.net, id).is_some_and(|s| s > 0))
        .map(|(id, _)| id)
        .collect();
    let id = open.choose(rng)?;
    Some(Misleading { answer: (*id).clone(), says: 0, why: String::new() })
}

/// What an owner says of a state.
fn words<R: Rng + ?Sized>(knowledge: &Knowledge, id: &str, state: usize, rng: &mut R) -> Option<String> {
    let observation = knowledge.observation(id)?;
    let state = observation.states.get(state)?;
    Some(match state.phrases.choose(rng) {
        Some(phrase) => phrase.clone(),
        None => format!("{}: {}", observation.name, state.label),
    })
}

/// What tells most about the first of the faults.
fn hint<'k>(planner: &Planner<'k>, specimen: &Specimen) -> Hint<'k> {
    let Some(fault) = specimen.present().next() else { return Hint::Compare };
    let net = &planner.net;
    let tells = |o: &crate::network::ObservationModel| {
        let effect = o.causes.iter().find(|(p, _)| *p == Parent::Fault(fault)).map(|(_, e)| e);
        let leak: f64 = o.leak.iter().skip(1).sum();
        effect.map_or(0.0, |e| e.iter().skip(1).sum::<f64>() - leak)
    };
    let abnormal = net.observations.iter().enumerate().filter(|(o, _)| specimen.observations[*o] > 0);
    let best = abnormal.max_by(|a, b| tells(a.1).total_cmp(&tells(b.1)));
    best.map_or(Hint::Compare, |(_, o)| Hint::LookAt(o.id.clone()))
}
