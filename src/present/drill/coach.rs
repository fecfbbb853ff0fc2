//! The coach's words.

use super::{act, fault_name, stage_name};
use crate::drill::coach::{Advice, Turn};
use crate::knowledge::Knowledge;
use crate::plan::assess::Assessment;
use crate::plan::questions::Valued;
use crate::present::text::{Styled, Text, minutes, percent};
use crate::present::triage::text::{head, name, scope_name};

/// Answers below this chance are not worth a line.
const WORTH_A_LINE: f64 = 0.05;

/// What an expert would do next, and why.
pub fn advice(assessment: &Assessment, advice: &Advice) -> Text {
    let knowledge = assessment.planner.knowledge;
    let mut text = Text::new();
    text.heading("The coach");
    thinking(assessment, &mut text);
    match advice {
        Advice::Look(id, valued) => {
            text.item(0, Styled::new().strong("I would: "), asked(knowledge, id));
            text.append(why(assessment, valued));
        }
        Advice::Check(id, stage, reason) => {
            text.item(0, Styled::new().strong("I would: "), asked(knowledge, id));
            let stage = knowledge.stages.get(*stage).map_or("", |s| s.name.as_str());
            text.item(0, Styled::new().strong("Why: "), format!("it comes before “{stage}”. {reason}"));
        }
        Advice::Enter(stage, questions) => {
            let stage = &knowledge.stages[*stage];
            let words = format!("go on to “{}” ({}).", stage.name, minutes(stage.minutes));
            text.item(0, Styled::new().strong("I would: "), words);
            let worth: Vec<&str> =
                questions.iter().take(2).map(|v| name(knowledge, v.candidate.id)).collect();
            let words = match worth.as_slice() {
                [] => "nothing here tells more for its minutes.".to_owned(),
                some => {
                    format!("nothing here tells more for its minutes. There I look at: {}.", some.join(", "))
                }
            };
            text.item(0, Styled::new().strong("Why: "), words);
        }
        Advice::Decide(best) => {
            let scope = best.as_ref().map_or("", |row| scope_name(knowledge, &row.id));
            let words = format!("stop here, name what is wrong, and do this: {scope}.");
            text.item(0, Styled::new().strong("I would: "), words);
            text.item(0, Styled::new().strong("Why: "), "no further question is worth its minutes.");
        }
    }
    text
}

fn asked(knowledge: &Knowledge, id: &str) -> Styled {
    let question = knowledge.ask(id).map_or("", |a| a.question.as_str());
    Styled::new().strong(name(knowledge, id)).plain(format!(". {question}"))
}

/// What the evidence says so far.
fn thinking(assessment: &Assessment, text: &mut Text) {
    let knowledge = assessment.planner.knowledge;
    let faults = assessment.faults();
    let net = &assessment.planner.net;
    let top: Vec<String> = (assessment.ranked().into_iter().take(3))
        .map(|f| format!("{} {}", fault_name(knowledge, &net.faults[f].id), percent(faults[f])))
        .collect();
    let healthy = percent(assessment.engine.posterior().healthy);
    text.item(
        0,
        Styled::new().muted("What your evidence says: "),
        format!("{}; nothing wrong at all {healthy}.", top.join(", ")),
    );
}

/// What each likely answer would make of it.
fn why(assessment: &Assessment, valued: &Valued) -> Text {
    let knowledge = assessment.planner.knowledge;
    let mut text = Text::new();
    let states = knowledge.states(valued.candidate.id).unwrap_or_default();
    let lines = states.iter().zip(&valued.outcomes).filter(|(_, o)| o.probability >= WORTH_A_LINE);
    text.item(0, Styled::new().strong("Why: "), "each answer would leave something else:");
    for ((_, label), outcome) in lines {
        let top = (0..outcome.faults.len()).max_by(|a, b| outcome.faults[*a].total_cmp(&outcome.faults[*b]));
        let Some(top) = top else { continue };
        let fault = fault_name(knowledge, &assessment.planner.net.faults[top].id);
        let words = format!(
            "“{}” ({} likely): most likely {} {}",
            head(label),
            percent(outcome.probability),
            fault.to_lowercase(),
            percent(outcome.faults[top])
        );
        text.item(2, "- ", words);
    }
    text
}

/// What the last turn cost, where it was a wrong one.
pub fn turn(knowledge: &Knowledge, turn: &Turn) -> Text {
    let mut text = Text::new();
    text.blank();
    let better = match &turn.better {
        Advice::Look(id, _) | Advice::Check(id, ..) => {
            format!("I would have looked at: {}.", name(knowledge, id))
        }
        Advice::Enter(stage, _) => {
            let stage = knowledge.stages.get(*stage).map_or("", |s| s.id.as_str());
            format!("I would have gone on to: {}.", stage_name(knowledge, stage).to_lowercase())
        }
        Advice::Decide(_) => "I would have stopped asking.".to_owned(),
    };
    let cost = match (turn.bits, turn.lost.as_slice()) {
        (_, [_, ..]) => {
            let lost: Vec<&str> = turn.lost.iter().take(3).map(|id| name(knowledge, id)).collect();
            format!("it wiped out what was worth a look: {}.", lost.join(", "))
        }
        (Some(bits), _) if bits < 0.05 => {
            format!("it took {} and could hardly tell anything.", minutes(turn.minutes))
        }
        _ => format!("it took {}, and told little for them.", minutes(turn.minutes)),
    };
    let what = act(knowledge, &turn.act);
    text.item(0, Styled::new().warn("Your last turn: "), format!("“{what}”: {cost} {better}"));
    text
}
