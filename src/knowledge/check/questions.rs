//! What factors, observations and readings have in common: how and when they are asked.

use std::collections::{HashMap, HashSet};

use super::Context;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::draft::Draft;
use crate::knowledge::model::{AnswerIs, Ask, Forbid, Knowledge};
use crate::knowledge::places::quoted;
use crate::knowledge::raw::{RawAnswer, RawFactor, RawForbid, RawObservation, RawReading};
use crate::knowledge::source::Trail;
use crate::knowledge::suggest::nearest;

/// The fields of a question, wherever they are written.
pub struct RawAsk<'a> {
    question: &'a str,
    how: &'a str,
    stage: &'a str,
    last_stage: Option<&'a String>,
    minutes: f64,
    risk: &'a str,
    cautions: &'a [String],
    ask_when: Option<&'a RawAnswer>,
    not_when: &'a [RawForbid],
}

macro_rules! raw_ask {
    ($($type:ty)*) => {$(
        impl<'a> From<&'a $type> for RawAsk<'a> {
            fn from(raw: &'a $type) -> RawAsk<'a> {
                RawAsk {
                    question: &raw.question,
                    how: &raw.how,
                    stage: &raw.stage,
                    last_stage: raw.last_stage.as_ref(),
                    minutes: raw.minutes,
                    risk: &raw.risk,
                    cautions: &raw.cautions,
                    ask_when: raw.ask_when.as_ref(),
                    not_when: &raw.not_when,
                }
            }
        }
    )*};
}

raw_ask!(RawFactor RawObservation RawReading);

impl Context<'_> {
    /// How and when a question is asked.
    pub fn ask<'r>(&mut self, raw: impl Into<RawAsk<'r>>, at: &Trail) -> Ask {
        let raw: RawAsk = raw.into();
        let draft = self.draft;
        self.knows(&draft.stages, raw.stage, &at.key("stage"), "stage");
        if let Some(last) = raw.last_stage
            && self.knows(&draft.stages, last, &at.key("last-stage"), "stage")
        {
            let order =
                (draft.stages.entries.get_index_of(raw.stage), draft.stages.entries.get_index_of(last));
            if let (Some(first), Some(last_index)) = order
                && last_index < first
            {
                let message =
                    format!("the last stage {} comes before the first, {}", quoted(last), quoted(raw.stage));
                self.report(
                    Code::StageOrder,
                    &at.key("last-stage"),
                    message,
                    "Stages follow the order of their list.",
                );
            }
        }
        Ask {
            question: self.text(raw.question, &at.key("question"), "the question"),
            how: self.text(raw.how, &at.key("how"), "how to look or measure (`how`)"),
            stage: raw.stage.to_owned(),
            last_stage: raw.last_stage.cloned(),
            minutes: self.positive(raw.minutes, &at.key("minutes"), "the time it takes"),
            risk: self.text_or_none(raw.risk, &at.key("risk")),
            cautions: self.ids(&draft.cautions, raw.cautions, &at.key("cautions"), "caution"),
            ask_when: raw.ask_when.map(|a| self.answer(&a.answer, &a.states, &at.key("ask-when"))),
            not_when: self.forbids(raw.not_when, &at.key("not-when")),
        }
    }

    pub fn forbids(&mut self, raw: &[RawForbid], at: &Trail) -> Vec<Forbid> {
        let mut all = Vec::new();
        for (i, forbid) in raw.iter().enumerate() {
            let at = at.item(i);
            all.push(Forbid {
                when: self.answer(&forbid.answer, &forbid.states, &at),
                reason: self.text(&forbid.reason, &at.key("reason"), "the reason"),
            });
        }
        all
    }

    /// An answer to a factor or an observation.
    pub fn answer(&mut self, answer: &str, states: &[String], at: &Trail) -> AnswerIs {
        let draft = self.draft;
        if let Some(known) = states_of(draft, answer) {
            if states.is_empty() {
                let help = format!("Name one or more of {}.", known.join(", "));
                self.report(Code::Unfitting, &at.key("states"), "no states are named here", &help);
            }
            let mut seen = HashSet::new();
            for (i, state) in states.iter().enumerate() {
                let list = at.key("states");
                let at = list.item(i);
                if !seen.insert(state) {
                    self.repeated(state, &at);
                } else if !known.contains(&state.as_str()) {
                    self.unknown_state(answer, state, &known, &at);
                }
            }
        } else if !draft.factors.knows(answer) && !draft.observations.knows(answer) {
            if draft.readings.knows(answer) {
                let message = format!("{} is a reading, which has no states", quoted(answer));
                let help = "Name the observation that the reading bands.";
                self.report(Code::UnknownId, &at.key("answer"), message, help);
            } else {
                let known = draft.factors.entries.keys().chain(draft.observations.entries.keys());
                self.unknown(answer, &at.key("answer"), "factor or observation", known.map(String::as_str));
            }
        }
        AnswerIs { answer: answer.to_owned(), states: states.to_vec() }
    }

    pub fn unknown_state(&mut self, question: &str, state: &str, known: &[&str], at: &Trail) {
        let help = match nearest(state, known.iter().copied()) {
            Some(near) => format!("Did you mean `{near}`?"),
            None => format!("Its states are {}.", known.join(", ")),
        };
        let message = format!("{} has no state {}", quoted(question), quoted(state));
        self.report(Code::UnknownState, at, message, &help);
    }

    /// Questions whose condition can never hold: because it is only known later than they are asked, because
    /// what asks for them also forbids them, or because they wait for one another.
    pub fn never_asked(&mut self, knowledge: &Knowledge) {
        let draft = self.draft;
        let mut asks: HashMap<&str, (&Ask, Trail)> = HashMap::new();
        let factors = draft.factors.iter().zip(&knowledge.factors).map(|(f, x)| (f.at, &x.id, &x.ask));
        let observations =
            draft.observations.iter().zip(&knowledge.observations).map(|(f, x)| (f.at, &x.id, &x.ask));
        let readings = draft.readings.iter().zip(&knowledge.readings).map(|(f, x)| (f.at, &x.id, &x.ask));
        let all: Vec<_> = factors.chain(observations).chain(readings).collect();
        for (at, id, ask) in &all {
            asks.entry(id).or_insert((ask, Trail::Entry(*at)));
        }
        let mut looked_at: HashSet<&str> = HashSet::new();
        for (at, id, ask) in &all {
            let Some(when) = &ask.ask_when else { continue };
            let entry = Trail::Entry(*at);
            let at = entry.key("ask-when");
            let stage = |id: &str| knowledge.stage_index(id);
            if let Some((first, _)) = asks.get(when.answer.as_str())
                && let Some(last) = &ask.last_stage
                && let (Some(known_at), Some(last_at)) = (stage(&first.stage), stage(last))
                && known_at > last_at
            {
                let message = format!(
                    "{} waits for {}, which is only known at the stage {}, after its own last stage {}",
                    quoted(id),
                    quoted(&when.answer),
                    quoted(&first.stage),
                    quoted(last)
                );
                self.report(
                    Code::NeverAsked,
                    &at,
                    message,
                    "Ask the other question earlier, or this one later.",
                );
            }
            let forbidden = |state: &String| {
                ask.not_when.iter().any(|f| f.when.answer == when.answer && f.when.states.contains(state))
            };
            if !when.states.is_empty() && when.states.iter().all(forbidden) {
                let message = format!("{} is asked only when it must not be asked", quoted(id));
                self.report(Code::NeverAsked, &at, message, "Mend `ask-when` or `not-when`.");
            }
            if let Some(circle) = waiting_circle(id, &asks, &mut looked_at) {
                let names: Vec<String> = circle.iter().chain(circle.first()).map(|c| quoted(c)).collect();
                let message = format!("these questions wait for one another: {}", names.join(", then "));
                self.report(Code::NeverAsked, &at, message, "Take one `ask-when` away.");
            }
        }
    }
}

/// The questions that wait for one another, found on the way from `start`; none if the way ends or leads to
/// questions that were looked at before.
fn waiting_circle<'k>(
    start: &'k str,
    asks: &HashMap<&str, (&'k Ask, Trail)>,
    looked_at: &mut HashSet<&'k str>,
) -> Option<Vec<&'k str>> {
    let mut way = Vec::new();
    let mut at = start;
    while looked_at.insert(at) {
        way.push(at);
        at = asks.get(at)?.0.ask_when.as_ref()?.answer.as_str();
    }
    let first = way.iter().position(|w| *w == at)?;
    Some(way.split_off(first))
}

/// The states of a factor or an observation that could be read.
pub fn states_of<'d>(draft: &'d Draft, id: &str) -> Option<Vec<&'d str>> {
    if let Some(factor) = draft.factors.entries.get(id) {
        return Some(factor.raw.states.iter().map(|s| s.id.as_str()).collect());
    }
    let observation = draft.observations.entries.get(id)?;
    Some(observation.raw.states.iter().map(|s| s.id.as_str()).collect())
}
