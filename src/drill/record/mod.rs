//! What is kept of a trainee's lessons: one file for each, `commsense/drill/1`.

mod file;
mod folder;
mod progress;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;

pub use file::{FORMAT, Problem, read, write};
pub use folder::{Kept, RecordError, Shelf, name_fits};
pub use progress::{Confusion, Next, Progress};

use super::debrief::Debrief;
use super::score::Mark;
use super::session::{Act, Session};
use super::task::{Task, TaskError};
use crate::knowledge::Knowledge;
use crate::plan::assess::Planner;

/// A lesson of a trainee, in progress or over.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// The trainee's name.
    pub trainee: String,
    /// What is worked on.
    pub what: What,
    /// What the motor was drawn with.
    pub seed: u64,
    /// The acts so far.
    pub acts: Vec<Act>,
    /// How it ended, once it has.
    pub result: Option<Ended>,
}

/// What is worked on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// The lesson with this id.
    Lesson(String),
    /// A motor drawn at will: its level and its topic.
    Drawn(u32, Option<String>),
}

/// How a lesson ended. It is kept as it was found then, whatever the knowledge says later.
#[derive(Debug, Clone, PartialEq)]
pub struct Ended {
    /// The mark.
    pub mark: Mark,
    /// Ids of what was wrong.
    pub truth: Vec<String>,
    /// What was named: id and chance.
    pub named: Vec<(String, f64)>,
    /// Minutes, own and the expert's.
    pub minutes: (f64, f64),
    /// Money, own and the expert's.
    pub money: (f64, f64),
    /// How often the hand was stopped.
    pub risks: usize,
    /// Id of the scope that was chosen, and of the best one.
    pub scopes: (String, String),
    /// Cautions that were missed (ids).
    pub cautions_missed: Vec<String>,
}

impl Record {
    /// A new record.
    pub fn new(trainee: &str, what: What, seed: u64) -> Record {
        Record { trainee: trainee.to_owned(), what, seed, acts: Vec::new(), result: None }
    }

    /// The task that it is about.
    ///
    /// # Errors
    /// [`TaskError`] when the knowledge does not have it any more, or the motor can't be drawn.
    pub fn task<'k>(&self, planner: &Planner<'k>) -> Result<Task<'k>, TaskError> {
        match &self.what {
            What::Lesson(id) => {
                let lesson = planner.knowledge.lesson(id);
                let lesson = lesson.ok_or_else(|| TaskError::Missing { what: "lesson", id: id.clone() })?;
                Task::of_lesson(planner, lesson, self.seed)
            }
            What::Drawn(level, topic) => Task::drawn(planner, *level, topic.as_deref(), self.seed),
        }
    }

    /// Takes over what was done since.
    pub fn follow(&mut self, session: &Session) {
        self.acts = session.done().iter().map(|d| d.act.clone()).collect();
    }

    /// Its title for people.
    pub fn title(&self, knowledge: &Knowledge) -> String {
        match &self.what {
            What::Lesson(id) => knowledge.lesson(id).map_or_else(|| id.clone(), |l| l.title.clone()),
            What::Drawn(level, Some(topic)) => {
                let topic = knowledge.topic(topic).map_or(topic.as_str(), |t| t.name.as_str());
                format!("Drawn motor, {}, level {level}", topic.to_lowercase())
            }
            What::Drawn(level, None) => format!("Drawn motor, level {level}"),
        }
    }
}

impl Ended {
    /// What is kept of a debriefing.
    pub fn of(debrief: &Debrief) -> Ended {
        let id =
            |v: &Option<super::scopes::Verdict>| v.as_ref().map_or(String::new(), |v| v.scope.to_owned());
        Ended {
            mark: debrief.mark,
            truth: debrief.truth.clone(),
            named: debrief.named.iter().map(|n| (n.0.clone(), n.1)).collect(),
            minutes: (debrief.own.minutes, debrief.expert.minutes),
            money: (debrief.own.money, debrief.expert.money),
            risks: debrief.own.risks,
            scopes: (id(&debrief.chosen), id(&debrief.best)),
            cautions_missed: debrief.cautions_missed.clone(),
        }
    }
}
