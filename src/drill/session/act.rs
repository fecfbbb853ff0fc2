//! What can be done in a lesson.

use crate::knowledge::{Knowledge, nearest};

/// Minutes of the longest wait.
const LONGEST: u32 = 120;

/// One act of a lesson.
#[derive(Debug, Clone, PartialEq)]
pub enum Act {
    /// Ask the owner, look or measure: the id of a question, or of a look that answers several.
    Look(String),
    /// Go on to the stage with this id.
    Enter(String),
    /// Let the motor stand for so many minutes, 1 to 120.
    Wait(u32),
    /// Read the hint.
    Hint,
    /// Ask the coach.
    Coach,
    /// Name what is wrong, each with its chance; nothing for a healthy motor.
    Name(Vec<Named>),
    /// Choose the scope of work with this id.
    Scope(String),
    /// Name the cautions that come before the work, by their ids.
    Cautions(Vec<String>),
}

/// A fault that was named, and how sure its namer is.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// Id of the fault.
    pub fault: String,
    /// The chance, from 0 to 1.
    pub chance: f64,
}

/// Why an act can't be done.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// Nothing has this id.
    #[error("there is no {what} `{id}`")]
    Unknown {
        /// What it should be.
        what: &'static str,
        /// The id.
        id: String,
    },
    /// It comes into reach at a later stage.
    #[error("this can't be had before the stage `{stage}`")]
    TooEarly {
        /// Id of the stage.
        stage: String,
    },
    /// The stage has been reached or passed.
    #[error("the stage `{stage}` has been reached already")]
    Passed {
        /// Id of the stage.
        stage: String,
    },
    /// A chance is no number from 0 to 1, or a fault is named twice.
    #[error("`{fault}`: each fault is named once, with a chance from 0 to 1")]
    Chance {
        /// Id of the fault.
        fault: String,
    },
    /// Nobody waits so long, or not at all.
    #[error("a motor is let stand for 1 to {LONGEST} minutes, not for {0}")]
    Wait(u32),
    /// Everything is said already.
    #[error("the lesson is over")]
    Over,
}

impl Act {
    /// Whether everything exists that an act names.
    ///
    /// # Errors
    /// [`Refusal`] for ids that nothing has and chances that are none.
    pub fn check(&self, knowledge: &Knowledge) -> Result<(), Refusal> {
        let unknown = |what, id: &str| Err(Refusal::Unknown { what, id: id.to_owned() });
        match self {
            Act::Look(id) if knowledge.ask(id).is_none() && knowledge.look(id).is_none() => {
                unknown("question", id)
            }
            Act::Enter(id) if knowledge.stage_index(id).is_none() => unknown("stage", id),
            Act::Wait(minutes) if !(1..=LONGEST).contains(minutes) => Err(Refusal::Wait(*minutes)),
            Act::Scope(id) if knowledge.scope(id).is_none() => unknown("scope of work", id),
            Act::Cautions(ids) => match ids.iter().find(|id| knowledge.caution(id).is_none()) {
                Some(id) => unknown("caution", id),
                None => Ok(()),
            },
            Act::Name(named) => {
                for (place, one) in named.iter().enumerate() {
                    let fault = one.fault.clone();
                    if knowledge.fault(&fault).is_none() {
                        return unknown("fault", &fault);
                    }
                    let twice = named[..place].iter().any(|other| other.fault == fault);
                    if twice || !(0.0..=1.0).contains(&one.chance) {
                        return Err(Refusal::Chance { fault });
                    }
                }
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// The nearest id to one that nothing has, for a message.
    pub fn nearest<'k>(&self, knowledge: &'k Knowledge) -> Option<&'k str> {
        let questions = || {
            let factors = knowledge.factors.iter().map(|x| x.id.as_str());
            let observations = knowledge.observations.iter().map(|x| x.id.as_str());
            let looks = knowledge.looks.iter().map(|x| x.id.as_str());
            factors.chain(observations).chain(knowledge.readings.iter().map(|x| x.id.as_str())).chain(looks)
        };
        match self {
            Act::Look(id) => nearest(id, questions()),
            Act::Enter(id) => nearest(id, knowledge.stages.iter().map(|x| x.id.as_str())),
            Act::Scope(id) => nearest(id, knowledge.scopes.iter().map(|x| x.id.as_str())),
            _ => None,
        }
    }
}
