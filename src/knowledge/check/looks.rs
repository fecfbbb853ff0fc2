//! Looks: observations that one question answers.

use std::collections::HashMap;

use super::Context;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::model::{Ask, Knowledge, Look};
use crate::knowledge::places::quoted;
use crate::knowledge::raw::RawLook;
use crate::knowledge::source::{EntryRef, Trail};

/// More cannot be taken in at one look, nor listed on one screen.
const MOST: usize = 12;

impl Context<'_> {
    pub fn look(&mut self, raw: &RawLook, at: &Trail) -> Look {
        let draft = self.draft;
        let list = at.key("observations");
        let count = raw.observations.len();
        if !(2..=MOST).contains(&count) {
            let message = format!("this look has {count} observations");
            self.report(Code::Look, &list, message, &format!("Name from 2 to {MOST} of them."));
        }
        Look {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            question: self.text(&raw.question, &at.key("question"), "the question"),
            how: self.text(&raw.how, &at.key("how"), "how to look (`how`)"),
            minutes: self.positive(raw.minutes, &at.key("minutes"), "the time it takes"),
            observations: self.ids(&draft.observations, &raw.observations, &list, "observation"),
        }
    }

    /// No observation belongs to two looks, and all those of a look can be made at one and the same stage.
    pub fn looks(&mut self, knowledge: &Knowledge) {
        let draft = self.draft;
        let mut seen: HashMap<&str, (EntryRef, usize)> = HashMap::new();
        for (found, look) in draft.looks.iter().zip(&knowledge.looks) {
            let entry = Trail::Entry(found.at);
            let list = entry.key("observations");
            // The stages at which everything so far can be made.
            let mut stages = 0..knowledge.stages.len();
            for (i, id) in look.observations.iter().enumerate() {
                match seen.get(id.as_str()) {
                    Some(&(at, j)) if at != found.at => {
                        let other = Trail::Entry(at);
                        let message = format!("{} belongs to another look already", quoted(id));
                        let first = self.docs.place(&other.key("observations").item(j));
                        let problem = self.found(Code::Repeated, &list.item(i), message);
                        let problem = problem.related(first, "it stands here first");
                        self.sink.push(problem.help("Keep it in one of the two."));
                    }
                    _ => {
                        seen.insert(id, (found.at, i));
                    }
                }
                let Some(observation) = knowledge.observation(id) else { continue };
                let own = span(knowledge, &observation.ask);
                stages = stages.start.max(own.start)..stages.end.min(own.end);
                if stages.is_empty() {
                    let message =
                        format!("there is no stage at which {} can be had with the others", quoted(id));
                    let help = "Take it out of the look, or look at the stages of all of them.";
                    self.report(Code::Look, &list.item(i), message, help);
                    break;
                }
            }
        }
    }
}

/// The stages (indices) at which a question can be put.
fn span(knowledge: &Knowledge, ask: &Ask) -> std::ops::Range<usize> {
    let first = knowledge.stage_index(&ask.stage).unwrap_or(0);
    let last = ask.last_stage.as_deref().and_then(|s| knowledge.stage_index(s));
    first..last.map_or(knowledge.stages.len(), |s| s + 1)
}
