//! Lessons as people read them: the task, the coach, the debriefing, the course, and reports.

pub mod coach;
pub mod course;
pub mod debrief;
pub mod own;
pub mod page;
pub mod paper;
pub mod report;
pub mod task;

use crate::case::Answer;
use crate::drill::session::{Act, Outcome};
use crate::knowledge::Knowledge;
use crate::present::text::percent;
use crate::present::triage::text::{name, scope_name, state_words};

/// An answer as people say it.
pub fn said(knowledge: &Knowledge, id: &str, answer: &Answer) -> String {
    match answer {
        Answer::State(state) => {
            let states = knowledge.states(id).unwrap_or_default();
            states.get(*state).map_or(String::new(), |(_, label)| state_words(label))
        }
        Answer::Reading { text, .. } => text.clone(),
        Answer::Unknown => "nobody knows".into(),
    }
}

/// The short name of a question or a look.
pub fn entry_name<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    match knowledge.look(id) {
        Some(look) if knowledge.ask(id).is_none() => &look.name,
        _ => name(knowledge, id),
    }
}

/// Whether an answer is not as it should be; of a reading, nobody knows before it is judged.
pub fn is_odd(answer: &Answer) -> bool {
    matches!(answer, Answer::State(state) if *state > 0)
}

/// An answer with its name before it; where the answer is a plain yes, the name says it all.
fn in_short(knowledge: &Knowledge, id: &str, answer: &Answer) -> String {
    let said = said(knowledge, id, answer);
    let name = name(knowledge, id);
    match answer {
        // The capital of a unit says which unit it is.
        Answer::Reading { .. } => format!("{name}: {said}"),
        _ if said == "Yes" => name.to_owned(),
        _ => format!("{name}: {}", lower(&said)),
    }
}

/// Words to be put after other words.
fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|c| c.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// The name of a stage.
pub fn stage_name<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    knowledge.stages.iter().find(|s| s.id == id).map_or(id, |s| s.name.as_str())
}

/// The name of a fault.
pub fn fault_name<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    knowledge.fault(id).map_or(id, |f| f.name.as_str())
}

/// The name of a caution.
pub fn caution_name<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    knowledge.caution(id).map_or(id, |c| c.name.as_str())
}

/// An act in a few words.
pub fn act(knowledge: &Knowledge, act: &Act) -> String {
    match act {
        Act::Look(id) => entry_name(knowledge, id).to_owned(),
        Act::Enter(id) => format!("Stage: {}", stage_name(knowledge, id).to_lowercase()),
        Act::Wait(m) => format!("Let it stand for {m} min"),
        Act::Hint => "Read the hint".into(),
        Act::Coach => "Asked the coach".into(),
        Act::Name(named) if named.is_empty() => "Named: nothing is wrong".into(),
        Act::Name(named) => {
            let one = |n: &crate::drill::session::Named| {
                format!("{} {}", fault_name(knowledge, &n.fault), percent(n.chance))
            };
            format!("Named: {}", named.iter().map(one).collect::<Vec<_>>().join(", "))
        }
        Act::Scope(id) => format!("Work: {}", scope_name(knowledge, id)),
        Act::Cautions(ids) => {
            let names: Vec<&str> = ids.iter().map(|id| caution_name(knowledge, id)).collect();
            format!("Cautions: {}", if names.is_empty() { "none".into() } else { names.join(", ") })
        }
    }
}

/// What became of an act, in a few words: of a look, what was not as it should be.
pub fn outcome(knowledge: &Knowledge, outcome: &Outcome) -> String {
    match outcome {
        Outcome::Answered(answers) | Outcome::Again(answers) => match answers.given.as_slice() {
            [(id, answer)] => said(knowledge, id, answer),
            all => {
                let told = all.iter().filter(|(id, _)| answers.odd.contains(id));
                let told: Vec<String> = told.map(|(id, answer)| in_short(knowledge, id, answer)).collect();
                match told.is_empty() {
                    true if answers.odd_before => "nothing more than was known".into(),
                    true => "all as it should be".into(),
                    false => told.join("; "),
                }
            }
        },
        Outcome::Gone(_) => "too late: gone".into(),
        Outcome::Stopped(_) => "the hand was stopped".into(),
        Outcome::Entered(_) | Outcome::Noted => String::new(),
    }
}
