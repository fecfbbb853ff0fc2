//! What can be asked, looked at and measured at a moment of a lesson.

use super::{Outcome, Session};
use crate::case::Answer;
use crate::knowledge::{Ask, Knowledge, Look};
use crate::plan::stages;

/// Where an answer comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// The owner: what happened before.
    History,
    /// The owner: what it does now.
    Complaint,
    /// The motor: by eye, ear and hand, or by an instrument.
    Bench,
}

/// Whether something can still be had.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// It can be had now.
    Open,
    /// It was had, with these answers (id of the question, answer).
    Had(Vec<(String, Answer)>),
    /// It is gone: this stage (index) was the last.
    Gone(usize),
}

/// Something that could be asked, looked at or measured: a question, or a look that answers several.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer<'k> {
    /// Its id.
    pub id: &'k str,
    /// Its short name.
    pub name: &'k str,
    /// The look, where it is one.
    pub look: Option<&'k Look>,
    /// What it answers: each question (id) and how it is asked.
    pub parts: Vec<(&'k str, &'k Ask)>,
    /// Where its answer comes from.
    pub place: Place,
    /// The first stage at which it can be had (index).
    pub stage: usize,
    /// Minutes that it takes.
    pub minutes: f64,
    /// Whether it can still be had.
    pub standing: Standing,
}

/// The short name of an observation or a reading.
fn name_of<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    let observation = knowledge.observation(id).map(|o| o.name.as_str());
    observation.or_else(|| knowledge.reading(id).map(|r| r.name.as_str())).unwrap_or(id)
}

impl<'k> Session<'_, 'k> {
    /// Everything that this stage or an earlier one offers or offered, in the order of the knowledge, with what
    /// is seen together as one. What only makes sense after certain answers is offered after them.
    pub fn offers(&self) -> Vec<Offer<'k>> {
        let knowledge = self.planner.knowledge;
        let known = self.moment().known;
        let first = knowledge.stages.first().map_or("", |s| s.id.as_str());
        let mut out: Vec<Offer<'k>> = Vec::new();
        let mut add = |id: &'k str, name: &'k str, ask: &'k Ask, place: Place| {
            if ask.ask_when.as_ref().is_none_or(|when| known.holds(when)) {
                out.extend(self.offer((id, name), None, vec![(id, ask)], place));
            }
        };
        for factor in &knowledge.factors {
            add(&factor.id, &factor.name, &factor.ask, Place::History);
        }
        let place = |ask: &Ask| if ask.stage == first { Place::Complaint } else { Place::Bench };
        let looks: Vec<(&'k Look, Vec<(&'k str, &'k Ask)>)> = (knowledge.looks.iter())
            .map(|look| (look, self.parts(look)))
            .filter(|(_, parts)| parts.len() > 1)
            .collect();
        let of_a_look = |id: &str| looks.iter().any(|(look, _)| look.observations.iter().any(|o| o == id));
        for observation in knowledge.observations.iter().filter(|o| !of_a_look(&o.id)) {
            // Where an instrument gives a figure, the figure is offered.
            let read = self.reading_of(&observation.id).is_some() && !self.answered(&observation.id);
            if !read || place(&observation.ask) == Place::Complaint {
                add(&observation.id, &observation.name, &observation.ask, place(&observation.ask));
            }
        }
        let shown = |id: &str| looks.iter().any(|(_, parts)| parts.iter().any(|p| p.0 == id));
        for reading in &knowledge.readings {
            if self.task.specimen.readings.contains_key(&reading.id) && !shown(&reading.id) {
                add(&reading.id, &reading.name, &reading.ask, Place::Bench);
            }
        }
        // What is seen together is the more usual, and comes first.
        let mut all: Vec<Offer<'k>> = Vec::new();
        for (look, parts) in looks {
            let place = parts.first().map_or(Place::Bench, |(_, ask)| place(ask));
            // Of a look of which a single thing is left, that thing is offered: the rest can't be done any more.
            let open: Vec<(&'k str, &'k Ask)> = parts.iter().filter(|p| self.is_open(p)).copied().collect();
            let offer = match open.as_slice() {
                [(id, ask)] => self.offer((id, name_of(knowledge, id)), None, vec![(id, ask)], place),
                _ => self.offer((&look.id, &look.name), Some(look), parts, place),
            };
            all.extend(offer);
        }
        all.extend(out);
        all
    }

    /// An offer of this stage or an earlier one.
    fn offer(
        &self,
        (id, name): (&'k str, &'k str),
        look: Option<&'k Look>,
        parts: Vec<(&'k str, &'k Ask)>,
        place: Place,
    ) -> Option<Offer<'k>> {
        let knowledge = self.planner.knowledge;
        let stages = parts.iter().map(|(_, ask)| knowledge.stage_index(&ask.stage).unwrap_or(0));
        let stage = stages.min().filter(|stage| *stage <= self.stage)?;
        let had =
            |(id, _): &(&'k str, &'k Ask)| Some(((*id).to_owned(), self.case.answers.get(*id)?.clone()));
        let answers: Vec<(String, Answer)> = parts.iter().filter_map(had).collect();
        let standing = if parts.iter().any(|p| self.is_open(p)) {
            Standing::Open
        } else if answers.is_empty() {
            let last = parts.iter().map(|(_, ask)| stages::last(knowledge, ask)).max();
            Standing::Gone(last.unwrap_or(self.stage))
        } else {
            Standing::Had(answers)
        };
        let minutes = match look {
            Some(look) => self.look_minutes(look, &parts),
            None => parts.iter().map(|(_, ask)| ask.minutes).sum(),
        };
        Some(Offer { id, name, look, parts, place, stage, minutes, standing })
    }

    fn answered(&self, id: &str) -> bool {
        self.case.answers.contains_key(id)
    }

    /// Whether the answer to a question, or one of a look, may forbid a stage.
    pub fn is_gate(&self, id: &str) -> bool {
        let knowledge = self.planner.knowledge;
        let asked = |answer: &String| answer == id || self.answers_for(id, answer);
        knowledge.stages.iter().flat_map(|s| &s.not_when).any(|f| asked(&f.when.answer))
    }

    /// The last act that brought an answer or a stage.
    pub fn last_turn(&self) -> Option<usize> {
        self.done.iter().rposition(|d| matches!(d.outcome, Outcome::Answered(_) | Outcome::Entered(_)))
    }
}
