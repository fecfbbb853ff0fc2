//! Asking, looking and measuring: a question by itself, or a look with all that it answers.

use super::{Answers, Outcome, Refusal, Session};
use crate::case::{Answer, Case};
use crate::drill::figures;
use crate::knowledge::{Ask, Knowledge, Look};
use crate::plan::looks::fallen;
use crate::plan::{moment, stages};

/// A question of the knowledge, by its id.
pub(super) fn question<'k>(knowledge: &'k Knowledge, id: &str) -> Option<(&'k str, &'k Ask)> {
    let factor = knowledge.factor(id).map(|x| (x.id.as_str(), &x.ask));
    let observation = || knowledge.observation(id).map(|x| (x.id.as_str(), &x.ask));
    let reading = || knowledge.reading(id).map(|x| (x.id.as_str(), &x.ask));
    factor.or_else(observation).or_else(reading)
}

impl<'k> Session<'_, 'k> {
    pub(super) fn look(&mut self, id: &str) -> Result<(Outcome<'k>, f64), Refusal> {
        let knowledge = self.planner.knowledge;
        match (question(knowledge, id), knowledge.look(id)) {
            (Some((id, ask)), _) => self.take(&[(id, ask)], ask.minutes),
            (None, Some(look)) => {
                let parts = self.parts(look);
                self.take(&parts, minutes_of(look, &parts))
            }
            (None, None) => Err(Refusal::Unknown { what: "question", id: id.to_owned() }),
        }
    }

    /// The questions of a look as this motor answers them: a reading in the place of what it bands. Those that only
    /// make sense after certain answers belong to it after them.
    pub fn parts(&self, look: &'k Look) -> Vec<(&'k str, &'k Ask)> {
        let knowledge = self.planner.knowledge;
        let known = self.moment().known;
        let mut out: Vec<(&'k str, &'k Ask)> = Vec::new();
        for id in &look.observations {
            let had = self.case.answers.contains_key(id);
            let reading = self.reading_of(id).filter(|_| !had);
            let Some(part) = question(knowledge, reading.unwrap_or(id)) else { continue };
            let wanted = knowledge.ask(id).and_then(|a| a.ask_when.as_ref()).is_none_or(|w| known.holds(w));
            if wanted && !out.iter().any(|o| o.0 == part.0) {
                out.push(part);
            }
        }
        out
    }

    /// Minutes of what a look still has to answer.
    pub(super) fn look_minutes(&self, look: &Look, parts: &[(&'k str, &'k Ask)]) -> f64 {
        let open: Vec<(&'k str, &'k Ask)> = parts.iter().filter(|p| self.is_open(p)).copied().collect();
        minutes_of(look, &open)
    }

    /// Whether a question can be put now and was not yet.
    pub fn is_open(&self, (id, ask): &(&'k str, &'k Ask)) -> bool {
        let knowledge = self.planner.knowledge;
        let first = knowledge.stage_index(&ask.stage).unwrap_or(0);
        let in_time = (first..=stages::last(knowledge, ask)).contains(&self.stage);
        in_time && !self.case.answers.contains_key(*id)
    }

    fn take(&mut self, parts: &[(&'k str, &'k Ask)], minutes: f64) -> Result<(Outcome<'k>, f64), Refusal> {
        let knowledge = self.planner.knowledge;
        let open: Vec<(&'k str, &'k Ask)> = parts.iter().filter(|p| self.is_open(p)).copied().collect();
        if open.is_empty() {
            return self.not_open(parts).map(|outcome| (outcome, 0.0));
        }
        let mut given: Vec<(&'k str, Answer)> = Vec::new();
        for (id, _) in &open {
            let unknown = || Refusal::Unknown { what: "question", id: (*id).to_owned() };
            given.push((*id, self.task.answer(knowledge, &self.planner.net, id).ok_or_else(unknown)?));
        }
        let fallen = if open.len() > 1 { self.fallen(&given) } else { Vec::new() };
        given.retain(|(id, _)| !fallen.iter().any(|f| f.0 == *id));
        let kept = || open.iter().filter(|(id, _)| given.iter().any(|g| g.0 == *id));
        if let Some(reason) = kept().find_map(|(_, ask)| self.danger(ask)) {
            return Ok((Outcome::Stopped(reason), 0.0));
        }
        for (id, answer) in &given {
            self.case.answer(id, answer.clone());
        }
        // Some questions of a look take no longer than all of it, nor than they would one by one.
        let alone: f64 = kept().map(|(_, ask)| ask.minutes).sum();
        let odd_before = parts.iter().any(|p| !open.contains(p) && self.is_odd(p.0));
        let odd = self.odd(&given);
        Ok((Outcome::Answered(Answers { given, fallen, odd, odd_before }), minutes.min(alone)))
    }

    /// Which of these answers another one of them rules out.
    fn fallen(&self, given: &[(&'k str, Answer)]) -> Vec<(&'k str, Option<&'k str>)> {
        let mut all: Case = self.case.clone();
        for (id, answer) in given {
            all.answer(id, answer.clone());
        }
        let (moment, _) = moment::of(self.planner, &all);
        let ids: Vec<&'k str> = given.iter().map(|g| g.0).collect();
        fallen(self.planner.knowledge, &ids, self.stage, &moment.known)
    }

    /// Whether what stands on the ticket about a question is not as it should be.
    fn is_odd(&self, id: &str) -> bool {
        match self.case.answers.get(id) {
            Some(Answer::State(state)) => *state > 0,
            Some(Answer::Reading { .. }) => self.meaning(id).is_some_and(|(state, _)| state > 0),
            Some(Answer::Unknown) | None => false,
        }
    }

    /// Those of these questions, all on the ticket, whose answer is not as it should be.
    fn odd(&self, given: &[(&'k str, Answer)]) -> Vec<&'k str> {
        given.iter().map(|g| g.0).filter(|id| self.is_odd(id)).collect()
    }

    /// Nothing of it is open: it was had, it is gone, or it comes later.
    fn not_open(&self, parts: &[(&'k str, &'k Ask)]) -> Result<Outcome<'k>, Refusal> {
        let knowledge = self.planner.knowledge;
        let had = |(id, _): &(&'k str, &'k Ask)| Some((*id, self.case.answers.get(*id)?.clone()));
        let given: Vec<(&'k str, Answer)> = parts.iter().filter_map(had).collect();
        if !given.is_empty() {
            return Ok(Outcome::Again(Answers { odd: self.odd(&given), given, ..Answers::default() }));
        }
        let first = |ask: &Ask| knowledge.stage_index(&ask.stage).unwrap_or(0);
        let later = parts.iter().filter(|(_, ask)| self.stage < first(ask)).min_by_key(|p| first(p.1));
        match later {
            Some((_, ask)) => Err(Refusal::TooEarly { stage: ask.stage.clone() }),
            None => {
                let last = parts.iter().map(|(_, ask)| stages::last(knowledge, ask)).max();
                Ok(Outcome::Gone(last.unwrap_or(self.stage)))
            }
        }
    }

    /// What would happen if a question were put to this motor, whether it is known or not.
    fn danger(&self, ask: &'k Ask) -> Option<&'k str> {
        let holds = |when| self.task.specimen.is_so(self.planner.knowledge, &self.planner.net, when);
        ask.not_when.iter().find(|f| holds(&f.when)).map(|f| f.reason.as_str())
    }

    /// What a figure (id of the reading) means: the label of the state that it stands for, one that is not as it
    /// should be before others.
    pub fn meaning(&self, reading: &str) -> Option<(usize, &'k str)> {
        let knowledge = self.planner.knowledge;
        let (own, value) = (knowledge.reading(reading)?, *self.task.specimen.readings.get(reading)?);
        let states = figures::states(knowledge, Some(self.task.motor), own, value).ok()?;
        let means = states
            .into_iter()
            .filter_map(|(observation, state)| Some((state, knowledge.states(&observation)?.get(state)?.1)));
        means.reduce(|a, b| if a.0 == 0 && b.0 > 0 { b } else { a })
    }

    /// Whether a look or a reading (id) answers a question.
    pub fn answers_for(&self, id: &str, question: &str) -> bool {
        let looks = self.planner.knowledge.look(id);
        let own = |o: &String| o == question || self.bands(question, o);
        self.bands(id, question) || looks.is_some_and(|l| l.observations.iter().any(own))
    }

    /// What is chosen on the screen to have an observation answered: the look that it belongs to, where more
    /// of it is still open, else the reading or the observation itself.
    pub fn way_to(&self, observation: &str) -> String {
        let knowledge = self.planner.knowledge;
        let look = knowledge.looks.iter().find(|l| l.observations.iter().any(|o| o == observation));
        let left = |l: &&Look| self.parts(l).iter().filter(|p| self.is_open(p)).count() > 1;
        match look.filter(left) {
            Some(look) => look.id.clone(),
            None => self.reading_of(observation).unwrap_or(observation).to_owned(),
        }
    }
}

/// Some questions of a look take no longer than all of it, nor than they would one by one.
fn minutes_of(look: &Look, parts: &[(&str, &Ask)]) -> f64 {
    look.minutes.min(parts.iter().map(|(_, ask)| ask.minutes).sum())
}
