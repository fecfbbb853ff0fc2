//! Lessons and courses after every check: motors with a known fault, on which the trade is learned.

use super::model::Basis;

/// What lessons are about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Topic {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// Groups of faults that it covers.
    pub groups: Vec<String>,
}

/// A motor with a story, to be found out about.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// Its id.
    pub id: String,
    /// Its title. It does not give the fault away.
    pub title: String,
    /// Id of its topic.
    pub topic: String,
    /// How hard it is, from 1 to 5.
    pub level: u32,
    /// Id of the motor.
    pub motor: String,
    /// Ids of the faults; none for a healthy motor.
    pub faults: Vec<String>,
    /// States of factors that are given: id and index of the state.
    pub history: Vec<(String, usize)>,
    /// The owner's words, in several versions.
    pub story: Vec<String>,
    /// What the story says already: id and index of the state.
    pub told: Vec<(String, usize)>,
    /// What the owner answers wrongly.
    pub misleading: Vec<Misleading>,
    /// What can be seen: id of an observation and index of its state.
    pub shows: Vec<(String, usize)>,
    /// What is measured: id of a reading, the text, and the value in the base unit of its kind.
    pub readings: Vec<(String, String, f64)>,
    /// Whether everything that nothing here brings about is as it should be.
    pub calm: bool,
    /// What helps whoever is stuck.
    pub hint: String,
    /// What is tempting and wrong.
    pub traps: Vec<Trap>,
    /// What is known afterwards.
    pub teaches: Vec<String>,
    /// Why it was so, from the cause to the cure; none where the knowledge's own words are enough.
    pub why: Option<Why>,
    /// Words of the trade that come up, in plain words.
    pub words: Vec<Word>,
    /// Ids of the cautions that have to be named before the work.
    pub cautions: Vec<String>,
    /// Stages that must not be entered before a while has passed.
    pub too_soon: Vec<TooSoon>,
}

/// A fault explained, each in one to three plain sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Why {
    /// What brought it about.
    pub cause: String,
    /// What it did, and how that shows.
    pub signs: String,
    /// What puts it right, and why that is enough.
    pub cure: String,
    /// Why an expert looks in this order.
    pub order: String,
}

/// A stage that must not be entered yet, because of how the motor came in.
#[derive(Debug, Clone, PartialEq)]
pub struct TooSoon {
    /// Id of the stage.
    pub stage: String,
    /// Minutes since the motor came in, before which the hand is stopped.
    pub minutes: f64,
    /// What would happen.
    pub why: String,
}

/// A wrong answer of the owner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misleading {
    /// Id of the question.
    pub answer: String,
    /// Index of the state that the owner claims.
    pub says: usize,
    /// Why it is wrong.
    pub why: String,
}

/// Something tempting that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trap {
    /// What is done.
    pub act: TrapAct,
    /// Id of the question before whose answer it is wrong; none when it is wrong at any time.
    pub before: Option<String>,
    /// Why it is wrong.
    pub why: String,
}

/// What is done in a [`Trap`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TrapAct {
    /// The question with this id is put.
    Look(String),
    /// The stage with this id is entered.
    Enter(String),
    /// The fault with this id is named.
    Name(String),
    /// The scope of work with this id is chosen.
    Scope(String),
}

/// A word of the trade.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// The word.
    pub word: String,
    /// What it means.
    pub means: String,
}

/// Lessons in their order, and what it takes to pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Ids of its lessons.
    pub lessons: Vec<String>,
    /// Mark from which a lesson is passed, from 0 to 1.
    pub pass: f64,
    /// The chance that the trainee's own evidence has to give to what was wrong, or what the expert's evidence gives
    /// to it where that is less. 0 where any guess will do.
    pub support: f64,
    /// How much each part of the mark counts; they sum to 1.
    pub weights: Weights,
    /// What a risk that was taken costs of the mark for safety.
    pub per_risk: f64,
    /// What the hint, or a word of the coach, costs of the whole mark.
    pub per_hint: f64,
    /// What a trap that was stepped into costs of the whole mark.
    pub per_trap: f64,
    /// Up to this multiple of the expert's minutes, the mark for time is full.
    pub minutes_full: f64,
    /// From this multiple on, it is nothing.
    pub minutes_none: f64,
    /// Where these figures come from.
    pub basis: Basis,
}

/// How much each part of a mark counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// The faults that were named, each with its chance.
    pub diagnosis: f64,
    /// The scope of work.
    pub scope: f64,
    /// The cautions that were named.
    pub cautions: f64,
    /// Risks that were not taken.
    pub safety: f64,
    /// Minutes.
    pub minutes: f64,
}
