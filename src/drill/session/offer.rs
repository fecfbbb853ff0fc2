//! What can be asked, looked at and measured at a moment of a lesson.

use super::{Outcome, Session};
use crate::case::Answer;
use crate::knowledge::Ask;
use crate::plan::stages;

/// Where an answer comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// The owner: what happened before.
    History,
    /// The owner: what it does now.
    Complaint,
    /// The motor, by eye, ear and hand.
    Look,
    /// The motor, by an instrument.
    Measure,
}

/// Whether something can still be had.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// It can be had now.
    Open,
    /// It was had, with this answer.
    Had(Answer),
    /// It is gone: this stage (index) was the last.
    Gone(usize),
}

/// Something that could be asked, looked at or measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer<'k> {
    /// Its id.
    pub id: &'k str,
    /// Its short name.
    pub name: &'k str,
    /// Where its answer comes from.
    pub place: Place,
    /// The first stage at which it can be had (index).
    pub stage: usize,
    /// Minutes that it takes.
    pub minutes: f64,
    /// Whether it can still be had.
    pub standing: Standing,
}

/// Group of the observations that an instrument gives.
const MEASURED: &str = "measured";

impl<'k> Session<'_, 'k> {
    /// Everything that this stage or an earlier one offers or offered, in the order of the knowledge. What only
    /// makes sense after certain answers is offered after them.
    pub fn offers(&self) -> Vec<Offer<'k>> {
        let knowledge = self.planner.knowledge;
        let known = self.moment().known;
        let mut out = Vec::new();
        let mut add = |id: &'k str, name: &'k str, ask: &'k Ask, place: Place| {
            let stage = knowledge.stage_index(&ask.stage).unwrap_or(0);
            let wanted = ask.ask_when.as_ref().is_none_or(|when| known.holds(when));
            if stage > self.stage || !wanted {
                return;
            }
            let last = stages::last(knowledge, ask);
            let standing = match self.case.answers.get(id) {
                Some(answer) => Standing::Had(answer.clone()),
                None if self.stage > last => Standing::Gone(last),
                None => Standing::Open,
            };
            let minutes = ask.minutes + knowledge.shop.minutes_per_question;
            out.push(Offer { id, name, place, stage, minutes, standing });
        };
        for factor in &knowledge.factors {
            add(&factor.id, &factor.name, &factor.ask, Place::History);
        }
        for observation in &knowledge.observations {
            let owner = observation.ask.stage == knowledge.stages.first().map_or("", |s| s.id.as_str());
            let place = match owner {
                true => Place::Complaint,
                false if observation.group == MEASURED => Place::Measure,
                false => Place::Look,
            };
            // Where an instrument gives a figure, the figure is offered.
            if owner || self.reading_of(&observation.id).is_none() || self.answered(&observation.id) {
                add(&observation.id, &observation.name, &observation.ask, place);
            }
        }
        for reading in knowledge.readings.iter().filter(|r| self.task.specimen.readings.contains_key(&r.id)) {
            add(&reading.id, &reading.name, &reading.ask, Place::Measure);
        }
        out
    }

    fn answered(&self, id: &str) -> bool {
        self.case.answers.contains_key(id)
    }

    /// Whether the answer to a question may forbid a stage.
    pub fn is_gate(&self, id: &str) -> bool {
        let knowledge = self.planner.knowledge;
        let asked = |answer: &String| answer == id || self.bands(id, answer);
        knowledge.stages.iter().flat_map(|s| &s.not_when).any(|f| asked(&f.when.answer))
    }

    /// The last act that brought an answer or a stage.
    pub fn last_turn(&self) -> Option<usize> {
        self.done.iter().rposition(|d| matches!(d.outcome, Outcome::Answered(_) | Outcome::Entered(_)))
    }
}
