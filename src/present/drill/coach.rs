//! The coach's words.

use super::{act, entry_name, fault_name, in_short, lower, stage_name};
use crate::drill::coach::{Advice, Turn, as_good_as_certain};
use crate::drill::session::Session;
use crate::inference::Weight;
use crate::knowledge::Knowledge;
use crate::plan::assess::Assessment;
use crate::plan::questions::{Outcome, Valued};
use crate::plan::reason::{Reason, reason};
use crate::present::text::{Styled, Text, minutes, percent};
use crate::present::triage::text::{head, name, scope_name};
use crate::present::triage::why::because;

/// Answers below this chance are not worth a line.
const WORTH_A_LINE: f64 = 0.05;
/// Things that a look may show, explained by the coach.
const MOST_LINES: usize = 2;
/// A fault that an answer makes so much likelier is named beside the likeliest one.
const RISES: f64 = 0.1;

/// What an expert would do next, and why; before it what the evidence says, and what it rests on.
pub fn advice(session: &Session, assessment: &Assessment, advice: &Advice, grounds: &[Weight]) -> Text {
    let knowledge = assessment.planner.knowledge;
    let mut text = Text::new();
    text.heading("The coach");
    thinking(assessment, &mut text);
    rests_on(session, assessment, grounds, &mut text);
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
        Advice::Wait(left, why) => {
            let words = format!("let the motor stand for {} yet.", minutes(left.ceil()));
            text.item(0, Styled::new().strong("I would: "), words);
            text.item(0, Styled::new().strong("Why: "), *why);
        }
        Advice::Enter(stage, goal, questions) => {
            let on_the_way = *goal != *stage;
            let (stage, goal) = (&knowledge.stages[*stage], &knowledge.stages[*goal]);
            let way = if on_the_way { format!(", on the way to “{}”", goal.name) } else { String::new() };
            let words = format!("go on to “{}” ({}){way}.", stage.name, minutes(stage.minutes));
            text.item(0, Styled::new().strong("I would: "), words);
            let worth: Vec<&str> =
                questions.iter().take(2).map(|v| name(knowledge, v.candidate.id)).collect();
            let words = match worth.as_slice() {
                [] => "nothing here tells more for its minutes.".to_owned(),
                some => {
                    let there =
                        if on_the_way { format!("At “{}”", goal.name) } else { "There".to_owned() };
                    format!(
                        "nothing here tells more for its minutes. {there} I look at: {}.",
                        some.join(", ")
                    )
                }
            };
            text.item(0, Styled::new().strong("Why: "), words);
        }
        Advice::Decide(best) => {
            let scope = best.as_ref().map_or("", |row| scope_name(knowledge, &row.id));
            let words = format!("look no further. Enough: name it. The work is: {scope}.");
            text.item(0, Styled::new().strong("I would: "), words);
            let why = match as_good_as_certain(assessment) {
                Some(fault) => format!(
                    "“{}” is as good as certain, and no answer that is worth its minutes would change that or the \
                     work.",
                    fault_name(knowledge, &assessment.planner.net.faults[fault].id)
                ),
                None => "no further answer is worth its minutes.".to_owned(),
            };
            text.item(0, Styled::new().strong("Why: "), why);
        }
    }
    text
}

fn asked(knowledge: &Knowledge, id: &str) -> Styled {
    let look = knowledge.look(id).map(|l| l.question.as_str());
    let question = knowledge.ask(id).map(|a| a.question.as_str()).or(look).unwrap_or_default();
    let path = found_under(knowledge, id);
    Styled::new().strong(entry_name(knowledge, id)).plain(format!(". {question} ")).muted(format!("({path})"))
}

/// Where a question stands in the menu.
fn found_under(knowledge: &Knowledge, id: &str) -> &'static str {
    let first = knowledge.stages.first().map_or("", |s| s.id.as_str());
    let member = knowledge.look(id).and_then(|l| l.observations.first()).map_or(id, String::as_str);
    match knowledge.ask(id).or_else(|| knowledge.ask(member)) {
        _ if knowledge.factor(id).is_some() => "Ask the owner: what happened before",
        Some(ask) if ask.stage == first => "Ask the owner: what it does now",
        _ => "Look and measure",
    }
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
    let shown = assessment.ranked().into_iter().take(3).map(|f| faults[f]).sum::<f64>();
    if shown + assessment.engine.posterior().healthy > 1.0 {
        text.para(
            Styled::new().muted("Together more than 100 %, because several faults can be there at once."),
        );
    }
}

/// The answers that speak most for what stands first.
fn rests_on(session: &Session, assessment: &Assessment, grounds: &[Weight], text: &mut Text) {
    let knowledge = assessment.planner.knowledge;
    let Some(top) = assessment.ranked().first().copied() else { return };
    let said = |weight: &Weight| {
        let answer = session
            .case()
            .answers
            .get(&weight.answer)
            .map(|answer| (weight.answer.as_str(), answer))
            .or_else(|| {
                let reading = session.reading_of(&weight.answer)?;
                Some((reading, session.case().answers.get(reading)?))
            });
        answer.map(|(id, answer)| in_short(knowledge, id, answer))
    };
    let said: Vec<String> = grounds.iter().filter_map(said).collect();
    if !said.is_empty() {
        let fault = fault_name(knowledge, &assessment.planner.net.faults[top].id);
        let label = Styled::new().muted(format!("What speaks most for “{fault}”: "));
        text.item(0, label, format!("{}.", said.join("; ")));
    }
}

/// What each likely answer would make of it.
fn why(assessment: &Assessment, valued: &Valued) -> Text {
    let knowledge = assessment.planner.knowledge;
    let mut text = Text::new();
    let mut lines: Vec<(String, &Outcome)> = Vec::new();
    let alone = assessment.alone(valued);
    let reason = reason(assessment, valued);
    if valued.look.is_some() {
        for one in &alone {
            let states = knowledge.states(one.candidate.id).unwrap_or_default();
            let odd = states.iter().zip(&one.outcomes).skip(1);
            let shown = |label: &str| match head(label) {
                "Yes" => name(knowledge, one.candidate.id).to_owned(),
                label => format!("{}: {}", name(knowledge, one.candidate.id), label.to_lowercase()),
            };
            lines.extend(odd.map(|((_, label), outcome)| (shown(label), outcome)));
        }
        // Where the work hangs on it, what leads to other work goes before what is more likely.
        let usual = valued.outcomes.first().and_then(|o| o.scope);
        let same = |o: &Outcome| {
            !matches!(reason, Some(Reason::Work(_))) || o.scope == usual || o.probability < WORTH_A_LINE
        };
        lines.sort_by(|a, b| same(a.1).cmp(&same(b.1)).then(b.1.probability.total_cmp(&a.1.probability)));
        lines.truncate(MOST_LINES);
        lines.extend(valued.outcomes.first().map(|o| ("All as it should be".to_owned(), o)));
    } else {
        let states = knowledge.states(valued.candidate.id).unwrap_or_default();
        let all = states.iter().zip(&valued.outcomes);
        lines.extend(all.map(|((_, label), outcome)| (head(label).to_owned(), outcome)));
        lines.retain(|(_, outcome)| outcome.probability >= WORTH_A_LINE);
    }
    text.item(0, Styled::new().strong("Why: "), because(assessment, reason.as_ref()));
    for (label, outcome) in lines {
        let top = (0..outcome.faults.len()).max_by(|a, b| outcome.faults[*a].total_cmp(&outcome.faults[*b]));
        let Some(top) = top else { continue };
        let fault = fault_name(knowledge, &assessment.planner.net.faults[top].id);
        let mut words = format!(
            "“{label}” ({} likely): then most likely {} {}",
            percent(outcome.probability),
            lower(fault),
            percent(outcome.faults[top])
        );
        if let Some(Reason::AsWell(other)) = reason
            && other != top
        {
            let name = fault_name(knowledge, &assessment.planner.net.faults[other].id);
            words += &format!(", {} {}", lower(name), percent(outcome.faults[other]));
        }
        let scope = outcome.scope.and_then(|s| knowledge.scopes.get(s));
        let rise = |f: &usize| outcome.faults[*f] - assessment.faults()[*f];
        let risen = (0..outcome.faults.len()).max_by(|a, b| rise(a).total_cmp(&rise(b)));
        if let (Some(Reason::Work(_)), Some(risen)) =
            (&reason, risen.filter(|f| *f != top && rise(f) > RISES))
        {
            // What makes other work needed is named beside a leader that stays.
            let name = fault_name(knowledge, &assessment.planner.net.faults[risen].id);
            words += &format!(", {} {}", lower(name), percent(outcome.faults[risen]));
        }
        if let (Some(Reason::Work(_)), Some(scope)) = (&reason, scope) {
            words += &format!(", and “{}”", scope.name);
        }
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
            format!("I would have looked at: {}.", entry_name(knowledge, id))
        }
        Advice::Enter(stage, ..) => {
            let stage = knowledge.stages.get(*stage).map_or("", |s| s.id.as_str());
            format!("I would have gone on to: {}.", stage_name(knowledge, stage).to_lowercase())
        }
        Advice::Wait(..) => "I would have let it stand for a while first.".to_owned(),
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
