//! The job ticket: answers, readings, safe storage.
//!
//! A [`Case`] is what is known of one motor on the bench. [`mod@file`] gives it its written form, [`store`]
//! keeps that form on the disk, [`answer`] reads single answers, [`mod@evidence`] turns answers into weights
//! for the network, [`complaint`] finds answers in what the owner says.

pub mod answer;
pub mod complaint;
pub mod evidence;
pub mod file;
mod kinds;
mod own_motor;
#[cfg(test)]
mod sample;
mod scan;
pub mod store;
mod wording;
mod words;

#[cfg(test)]
use crate::knowledge as model;

pub use answer::{Answer, AnswerError};
pub use evidence::{Warning, evidence};
pub use file::Problem;
pub use kinds::{BenchUnits, of_bench};
pub use own_motor::{check as check_motor_data, keys as motor_keys};
pub use store::{LoadError, SaveError, Saved, load, save};

use indexmap::IndexMap;

/// One job: what was said, seen and measured so far, in the order in which it was.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Case {
    /// The shop's ticket number, free text; may be empty.
    pub case: String,
    /// Id of the motor, where it is known.
    pub motor: Option<String>,
    /// What is known of this very motor: the nominal values that it lacks in the knowledge or that differ,
    /// each with its unit, and `name`, `slots`, `rebuildable`.
    pub motor_data: IndexMap<String, String>,
    /// The owner's words; may be empty.
    pub complaint: String,
    /// Id of the stage that the work has reached; none before it has begun.
    pub stage: Option<String>,
    /// Answers by the id of their factor, observation or reading.
    pub answers: IndexMap<String, Answer>,
    /// What was written down before a stage was entered.
    pub notes: Vec<String>,
}

impl Case {
    /// Takes an answer. An earlier one to the same question is forgotten, and the new one counts as the
    /// last that was given.
    pub fn answer(&mut self, id: &str, answer: Answer) {
        self.forget(id);
        self.answers.insert(id.to_owned(), answer);
    }

    /// Forgets an answer, and hands it back if there was one. The order of the others stays.
    pub fn forget(&mut self, id: &str) -> Option<Answer> {
        self.answers.shift_remove(id)
    }
}
