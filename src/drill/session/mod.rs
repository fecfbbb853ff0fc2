//! A lesson in progress: a task, and the acts of whoever works on it, in their order.
//!
//! Everything follows from the task and the acts: the same acts on the same task lead to the same session, so that
//! keeping the acts keeps the session.

mod act;
mod look;
mod offer;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;

pub use act::{Act, Named, Refusal};
pub use offer::{Offer, Place, Standing};

use super::task::Task;
use crate::case::{Answer, Case};
use crate::knowledge::TrapAct;
use crate::plan::assess::{Moment, Planner};
use crate::plan::{moment, stages};

/// What became of an act.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome<'k> {
    /// This was answered, by the owner or by the motor.
    Answered(Answers<'k>),
    /// It was answered before, and nothing has changed.
    Again(Answers<'k>),
    /// The evidence is gone: the stage with this index was the last at which it could be had.
    Gone(usize),
    /// The hand was stopped, because this would have happened.
    Stopped(&'k str),
    /// A stage was entered, and these questions (ids) can't be put any more.
    Entered(Vec<String>),
    /// Taken down.
    Noted,
}

/// What was answered at one go.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answers<'k> {
    /// Each question (id) with its answer.
    pub given: Vec<(&'k str, Answer)>,
    /// Questions (ids) that another answer of the same look rules out, with the reason where there is one.
    pub fallen: Vec<(&'k str, Option<&'k str>)>,
    /// Those of the questions (ids) whose answer is not as it should be; of a figure, as the figure says.
    pub odd: Vec<&'k str>,
    /// Whether something else of the same look was known before, and was not as it should be.
    pub odd_before: bool,
}

impl Outcome<'_> {
    /// What was answered, now or again.
    pub fn answers(&self) -> &[(&str, Answer)] {
        match self {
            Outcome::Answered(answers) | Outcome::Again(answers) => &answers.given,
            _ => &[],
        }
    }
}

/// An act with what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Done<'k> {
    /// The act.
    pub act: Act,
    /// What became of it.
    pub outcome: Outcome<'k>,
    /// Minutes that it took.
    pub minutes: f64,
    /// Of a stage that was entered: questions (ids) whose answers could have forbidden it, and that were not put.
    pub unasked: Vec<&'k str>,
}

impl Done<'_> {
    /// Whether it was a risk: the hand had to be stopped, or it was luck that it had not to be.
    pub fn is_risk(&self) -> bool {
        matches!(self.outcome, Outcome::Stopped(_)) || !self.unasked.is_empty()
    }
}

/// A lesson in progress.
#[derive(Clone)]
pub struct Session<'p, 'k> {
    /// The planner of the knowledge that it rests on.
    pub planner: &'p Planner<'k>,
    /// What is worked on.
    pub task: Task<'k>,
    case: Case,
    stage: usize,
    done: Vec<Done<'k>>,
}

impl<'p, 'k> Session<'p, 'k> {
    /// The beginning: what the owner told stands on the ticket already.
    pub fn new(planner: &'p Planner<'k>, task: Task<'k>) -> Self {
        let mut case = Case { motor: Some(task.motor.id.clone()), ..Case::default() };
        for (id, state) in &task.told {
            case.answer(id, Answer::State(*state));
        }
        Session { planner, task, case, stage: 0, done: Vec::new() }
    }

    /// The same task with these acts done.
    ///
    /// # Errors
    /// The first act that can't be done there, with its place.
    pub fn replay(planner: &'p Planner<'k>, task: Task<'k>, acts: &[Act]) -> Result<Self, (usize, Refusal)> {
        let mut session = Session::new(planner, task);
        for (place, act) in acts.iter().enumerate() {
            session.act(act.clone()).map_err(|refusal| (place, refusal))?;
        }
        Ok(session)
    }

    /// Everything done so far.
    pub fn done(&self) -> &[Done<'k>] {
        &self.done
    }

    /// What is on the ticket.
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// The stage that has been reached (index).
    pub fn stage(&self) -> usize {
        self.stage
    }

    /// What is known, for the planner.
    pub fn moment(&self) -> Moment<'k> {
        let (mut moment, _) = moment::of(self.planner, &self.case);
        moment.stage = self.stage;
        moment
    }

    /// Minutes of all acts.
    pub fn minutes(&self) -> f64 {
        self.done.iter().map(|d| d.minutes).sum()
    }

    /// How often a risk was taken ([`Done::is_risk`]).
    pub fn risks(&self) -> usize {
        self.done.iter().filter(|d| d.is_risk()).count()
    }

    /// How often the hint was read or the coach asked; the hint counts once.
    pub fn helps(&self) -> usize {
        let coached = self.done.iter().filter(|d| d.act == Act::Coach).count();
        coached + usize::from(self.done.iter().any(|d| d.act == Act::Hint))
    }

    /// The faults that were named, each with its chance; none while nothing was named. An empty list is a healthy
    /// motor.
    pub fn named(&self) -> Option<&[Named]> {
        self.done.iter().rev().find_map(|d| if let Act::Name(named) = &d.act { Some(&**named) } else { None })
    }

    /// The scope of work that was chosen.
    pub fn scope(&self) -> Option<&str> {
        self.done.iter().rev().find_map(|d| if let Act::Scope(id) = &d.act { Some(&**id) } else { None })
    }

    /// The cautions that were named.
    pub fn cautions(&self) -> Option<&[String]> {
        self.done.iter().rev().find_map(|d| if let Act::Cautions(ids) = &d.act { Some(&**ids) } else { None })
    }

    /// Whether all is said: faults, scope and cautions.
    pub fn is_over(&self) -> bool {
        self.named().is_some() && self.scope().is_some() && self.cautions().is_some()
    }

    /// Does an act.
    ///
    /// # Errors
    /// When the act names what does not exist, or comes too early or too late to mean anything.
    pub fn act(&mut self, act: Act) -> Result<&Done<'k>, Refusal> {
        act.check(self.planner.knowledge)?;
        if self.is_over() {
            return Err(Refusal::Over);
        }
        let open = match &act {
            Act::Enter(id) => {
                self.planner.knowledge.stage_index(id).map_or(Vec::new(), |to| self.unasked(to))
            }
            _ => Vec::new(),
        };
        let (outcome, minutes) = match &act {
            Act::Look(id) => self.look(id)?,
            Act::Enter(id) => self.enter(id)?,
            Act::Wait(minutes) => (Outcome::Noted, f64::from(*minutes)),
            Act::Hint | Act::Coach | Act::Name(_) | Act::Scope(_) | Act::Cautions(_) => (Outcome::Noted, 0.0),
        };
        let entered = matches!(outcome, Outcome::Entered(_));
        let unasked = open.into_iter().map(|(id, _)| id).filter(|_| entered).collect();
        self.done.push(Done { act, outcome, minutes, unasked });
        // It was just pushed.
        self.done.last().ok_or(Refusal::Over)
    }

    fn enter(&mut self, id: &str) -> Result<(Outcome<'k>, f64), Refusal> {
        let knowledge = self.planner.knowledge;
        let unknown = || Refusal::Unknown { what: "stage", id: id.to_owned() };
        let to = knowledge.stage_index(id).ok_or_else(unknown)?;
        if to <= self.stage {
            return Err(Refusal::Passed { stage: id.to_owned() });
        }
        let way = stages::way(knowledge, self.stage, to);
        let (specimen, net) = (&self.task.specimen, &self.planner.net);
        for stage in &way.through {
            // Whether a motor may be taken apart stands in its data.
            let gates = stage.not_when.iter().filter(|_| !stage.opens);
            let forbids = gates.into_iter().find(|f| specimen.is_so(knowledge, net, &f.when));
            let reason = forbids.map(|f| f.reason.as_str());
            let soon = self.too_soon(&stage.id).map(|(why, _)| why);
            let sealed = stage.opens && !self.task.motor.rebuildable;
            let sealed = sealed.then_some("This motor is not made to be taken apart: its tabs would break.");
            if let Some(reason) = reason.or(sealed).or(soon) {
                return Ok((Outcome::Stopped(reason), 0.0));
            }
        }
        let lost = self.lost_by(to);
        self.stage = to;
        self.case.stage = Some(id.to_owned());
        Ok((Outcome::Entered(lost), way.minutes))
    }

    /// What could forbid the way to a stage (index) and has not been asked, though it could be: each question (id)
    /// with the reason. What said nothing is not asked again.
    pub fn unasked(&self, to: usize) -> Vec<(&'k str, &'k str)> {
        let knowledge = self.planner.knowledge;
        let moment = self.moment();
        let mut out: Vec<(&'k str, &'k str)> = Vec::new();
        for stage in stages::way(knowledge, self.stage, to).through {
            // It can be asked up to the stage before.
            let before = knowledge.stage_index(&stage.id).unwrap_or(0).saturating_sub(1).max(self.stage);
            let open = stages::unsettled(knowledge, stage, before, moment.motor.as_deref(), &moment.known);
            out.extend(open.filter(|(id, _)| !self.knows(id)));
        }
        out
    }

    /// Why a stage (id) must not be entered yet, and for how many minutes more.
    pub fn too_soon(&self, stage: &str) -> Option<(&'k str, f64)> {
        let own = self.task.too_soon.iter().filter(|t| t.stage == stage);
        let left = own.map(|t| (t.why.as_str(), t.minutes - self.minutes()));
        left.filter(|(_, left)| *left > 0.0).max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// The same for the whole way to a stage (index).
    pub fn too_soon_for(&self, stage: usize) -> Option<(&'k str, f64)> {
        let way = stages::way(self.planner.knowledge, self.stage, stage);
        let all = way.through.iter().filter_map(|s| self.too_soon(&s.id));
        all.max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Questions that were not put yet and can't be put any more once this stage (index) is entered. A reading
    /// stands for the observations that it bands.
    pub fn lost_by(&self, to: usize) -> Vec<String> {
        let knowledge = self.planner.knowledge;
        let readings: Vec<&str> = self.task.specimen.readings.keys().map(String::as_str).collect();
        let mut out = Vec::new();
        for observation in &knowledge.observations {
            let last = stages::last(knowledge, &observation.ask);
            let gone = last < to && last >= self.stage;
            if gone && !self.knows(&observation.id) && self.reading_of(&observation.id).is_none() {
                out.push(observation.id.clone());
            }
        }
        for reading in knowledge.readings.iter().filter(|r| readings.contains(&&*r.id)) {
            let last = stages::last(knowledge, &reading.ask);
            if last < to && last >= self.stage && !self.case.answers.contains_key(&reading.id) {
                out.push(reading.id.clone());
            }
        }
        out
    }

    /// Whether an observation, or a reading that bands it, stands on the ticket.
    pub fn knows(&self, observation: &str) -> bool {
        let banded = |id: &String| {
            let reading = self.planner.knowledge.reading(id);
            reading.is_some_and(|r| r.bands.iter().any(|b| b.observation == observation))
        };
        self.case.answers.contains_key(observation) || self.case.answers.keys().any(banded)
    }

    /// The reading that answers an observation at this motor, where one was worked out.
    pub fn reading_of(&self, observation: &str) -> Option<&'k str> {
        let readings = self.planner.knowledge.readings.iter();
        let mut fitting = readings.filter(|r| r.bands.iter().any(|b| b.observation == observation));
        fitting.find(|r| self.task.specimen.readings.contains_key(&r.id)).map(|r| r.id.as_str())
    }

    /// The places of the traps that were stepped into.
    pub fn traps(&self) -> Vec<usize> {
        let stepped = |act: &TrapAct, done: &Act| match (act, done) {
            (TrapAct::Look(a), Act::Look(b)) => a == b || self.answers_for(b, a),
            (TrapAct::Enter(a), Act::Enter(b)) => {
                // Whoever goes further has passed it on the way.
                let place = |id: &str| self.planner.knowledge.stage_index(id);
                a == b || (self.opens(a) && place(b) > place(a))
            }
            (TrapAct::Name(a), Act::Name(named)) => named.iter().any(|n| n.fault == *a && n.chance >= 0.5),
            (TrapAct::Scope(a), Act::Scope(b)) => a == b,
            _ => false,
        };
        let mut out = Vec::new();
        for (place, trap) in self.task.traps.iter().enumerate() {
            let first = self.done.iter().position(|d| stepped(&trap.act, &d.act));
            let answered = |id: &str| {
                let told = self.task.told.iter().any(|(t, _)| t == id);
                let before = &self.done[..first.unwrap_or(0)];
                told || before
                    .iter()
                    .any(|d| d.outcome.answers().iter().any(|(x, _)| *x == id || self.bands(x, id)))
            };
            if first.is_some() && !trap.before.as_deref().is_some_and(answered) {
                out.push(place);
            }
        }
        out
    }

    fn opens(&self, stage: &str) -> bool {
        let knowledge = self.planner.knowledge;
        knowledge.stages.iter().any(|s| s.id == stage && !s.skippable)
    }

    pub(super) fn bands(&self, reading: &str, observation: &str) -> bool {
        let reading = self.planner.knowledge.reading(reading);
        reading.is_some_and(|r| r.bands.iter().any(|b| b.observation == observation))
    }
}
