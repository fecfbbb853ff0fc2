//! A lesson on paper: the task with empty fields, or the same with the answers for whoever instructs.

use maud::{Markup, html};

use super::page::page;
use super::{fault_name, said};
use crate::case::Answer;
use crate::drill::scopes::Verdict;
use crate::drill::session::Session;
use crate::drill::task::Hint;
use crate::knowledge::{Ask, Knowledge, Lesson, TrapAct};
use crate::present::text::{minutes, money};
use crate::present::triage::text::{name, scope_name};

/// Something on the sheet: id, name, how it is asked.
struct Line<'k> {
    id: &'k str,
    name: &'k str,
    ask: &'k Ask,
}

/// The page; with `answers`, the answer sheet, for which the expert's session and the best work are needed.
pub fn lesson(
    session: &Session,
    lesson: &Lesson,
    expert: &Session,
    best: &[Verdict],
    answers: bool,
) -> String {
    let knowledge = session.planner.knowledge;
    let task = &session.task;
    let title = if answers { format!("{}: answer sheet", lesson.title) } else { lesson.title.clone() };
    let topic = knowledge.topic(&lesson.topic).map_or(lesson.topic.as_str(), |t| t.name.as_str());
    let body = html! {
        p.m { (topic) " · level " (lesson.level) " of 5 · motor number " (task.seed) }
        div.box {
            p { b { "The owner: " } "“" (task.story.join("; ")) "”" }
            p { b { "The motor: " } (task.motor.name) ". " (task.motor.summary) }
            p.m { @for (key, value) in &task.motor.nominal { (key.replace('-', " ")) " " (value) ". " } }
        }
        @if !answers {
            p { "Find out what is wrong. Ask your instructor for one line at a time and write down the answer and the \
                 minutes. What belongs to a stage can be had only once it is reached; what is marked “up to” is gone \
                 after that stage." }
            @if !lesson.words.is_empty() {
                h2 { "Words you will meet" }
                dl { @for w in &lesson.words { dt { b { (w.word) } } dd { (w.means) } } }
            }
        }
        @if answers { (truth(knowledge, lesson, session)) }
        h2 { "The owner" }
        (lines(session, &owner(knowledge), answers))
        @for (n, stage) in knowledge.stages.iter().enumerate() {
            @let own = at_stage(session, &stage.id, n == 0);
            @if !own.is_empty() {
                h2 { (stage.name) @if stage.minutes > 0.0 { span.m { " · " (minutes(stage.minutes)) } } }
                @for id in &stage.calls_for {
                    @if let Some(c) = knowledge.caution(id) { div.caution { b { (c.name) ". " } (c.text) } }
                }
                @if !stage.destroys.is_empty() { p { b { "Lost by it: " } (stage.destroys) } }
                (lines(session, &own, answers))
            }
        }
        @if answers { (walk(knowledge, lesson, expert, best)) } @else { (fields(knowledge)) }
    };
    page(&title, body)
}

fn owner(knowledge: &Knowledge) -> Vec<Line<'_>> {
    let factors = knowledge.factors.iter().map(|f| Line { id: &f.id, name: &f.name, ask: &f.ask });
    let first = knowledge.stages.first().map_or("", |s| s.id.as_str());
    let complaints = knowledge.observations.iter().filter(|o| o.ask.stage == first);
    factors.chain(complaints.map(|o| Line { id: &o.id, name: &o.name, ask: &o.ask })).collect()
}

/// What can be had from a stage on; a reading in the place of what it bands, where it was worked out.
fn at_stage<'k>(session: &Session<'_, 'k>, stage: &str, first: bool) -> Vec<Line<'k>> {
    let knowledge = session.planner.knowledge;
    if first {
        return Vec::new();
    }
    let readings = knowledge.readings.iter();
    let readings =
        readings.filter(|r| r.ask.stage == stage && session.task.specimen.readings.contains_key(&r.id));
    let observations = knowledge.observations.iter();
    let observations = observations.filter(|o| o.ask.stage == stage && session.reading_of(&o.id).is_none());
    let observations = observations.map(|o| Line { id: &o.id, name: &o.name, ask: &o.ask });
    observations.chain(readings.map(|r| Line { id: &r.id, name: &r.name, ask: &r.ask })).collect()
}

fn lines(session: &Session, lines: &[Line], answers: bool) -> Markup {
    let knowledge = session.planner.knowledge;
    let answer = |id: &str| session.task.answer(knowledge, &session.planner.net, id);
    let abnormal = |id: &str| matches!(session.task.specimen.answer(knowledge, &session.planner.net, id), Some(Answer::State(s)) if s > 0);
    html! {
        table {
            tr { th { "What" } th.n { "Minutes" } th { "Up to" } th { "Answer" } }
            @for line in lines {
                tr {
                    td { b { (line.name) } br; span.m { (line.ask.question) } }
                    td.n { (line.ask.minutes) }
                    td { (line.ask.last_stage.as_deref().map_or("", |s| super::stage_name(knowledge, s))) }
                    td {
                        @if answers {
                            @let text = answer(line.id).map_or(String::new(), |a| said(knowledge, line.id, &a));
                            @if abnormal(line.id) { b { (text) } } @else { (text) }
                            @if let Some(lie) = session.task.misleading.iter().find(|m| m.answer == line.id) {
                                br; span.m { "not true: " (lie.why) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn truth(knowledge: &Knowledge, lesson: &Lesson, session: &Session) -> Markup {
    html! {
        h2 { "What is wrong" }
        @if lesson.faults.is_empty() { p { "Nothing: motor and surroundings are sound." } }
        @for id in &lesson.faults {
            p { b { (fault_name(knowledge, id)) } ". " (knowledge.fault(id).map_or("", |f| f.summary.as_str())) }
        }
        p { b { "Hint for whoever is stuck: " } @if let Hint::Words(words) = session.task.hint { (words) } }
    }
}

fn walk(knowledge: &Knowledge, lesson: &Lesson, expert: &Session, best: &[Verdict]) -> Markup {
    html! {
        h2.new { "How an expert goes about it" }
        table {
            tr { th { "Step" } th { "Answer" } th.n { "Minutes" } }
            @for done in expert.done() {
                tr {
                    td { (super::act(knowledge, &done.act)) }
                    td { (super::outcome(knowledge, &done.outcome)) }
                    td.n { @if done.minutes > 0.0 { (format!("{:.1}", done.minutes)) } }
                }
            }
        }
        h2 { "The work, as it turns out" }
        table {
            tr { th { "Work" } th.n { "Cost" } th.n { "Minutes" } th { "" } }
            @for v in best {
                tr {
                    td { (scope_name(knowledge, v.scope)) } td.n { (money(v.cost.round())) }
                    td.n { (format!("{:.0}", v.minutes)) } td { (v.blocked.unwrap_or("")) }
                }
            }
        }
        @if !lesson.cautions.is_empty() {
            h2 { "Cautions that have to be named" }
            ul { @for id in &lesson.cautions { @if let Some(c) = knowledge.caution(id) { li { b { (c.name) ". " } (c.text) } } } }
        }
        @if !lesson.traps.is_empty() {
            h2 { "Traps" }
            ul { @for t in &lesson.traps {
                @let what = match &t.act {
                    TrapAct::Look(id) => name(knowledge, id),
                    TrapAct::Enter(id) => super::stage_name(knowledge, id),
                    TrapAct::Name(id) => fault_name(knowledge, id),
                    TrapAct::Scope(id) => scope_name(knowledge, id),
                };
                li { b { (what) }
                     @if let Some(before) = &t.before { " before “" (name(knowledge, before)) "”" } ": " (t.why) }
            } }
        }
        h2 { "What it teaches" }
        ul { @for one in &lesson.teaches { li { (one) } } }
    }
}

fn fields(knowledge: &Knowledge) -> Markup {
    html! {
        h2 { "Your answer" }
        p { "What is wrong, and how sure are you?" }
        table {
            tr { th { "Fault" } th { "Chance in %" } }
            @for _ in 0..3 { tr { td { div.line {} } td { div.line {} } } }
        }
        p { "The work (one): " (knowledge.scopes.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(" · ")) }
        div.line {}
        p { "The cautions that come first:" }
        div.line {} div.line {}
        p { "Minutes in all:" }
        div.line {}
    }
}
