//! A lesson or a drawn motor on paper: the task with empty fields, or the same with the answers for whoever instructs.

use maud::{Markup, html};

use super::page::page;
use super::{fault_name, said};
use crate::case::Answer;
use crate::drill::scopes::Verdict;
use crate::drill::session::Session;
use crate::knowledge::{Ask, Knowledge, Look, TrapAct};
use crate::present::text::{minutes, money};
use crate::present::triage::text::{name, scope_name};

/// Something on the sheet: a look by itself, or a question, alone or as a part of the look above it.
struct Line<'k> {
    /// The question; none for a look.
    id: Option<&'k str>,
    name: &'k str,
    question: &'k str,
    /// None for a part of a look.
    minutes: Option<f64>,
    last_stage: Option<&'k str>,
}

impl<'k> Line<'k> {
    fn of(id: &'k str, name: &'k str, ask: &'k Ask) -> Line<'k> {
        let (question, minutes) = (ask.question.as_str(), Some(ask.minutes));
        Line { id: Some(id), name, question, minutes, last_stage: ask.last_stage.as_deref() }
    }
}

/// The answers, for whoever instructs.
pub struct Key<'s, 'p, 'k> {
    /// The expert's session on the same motor.
    pub expert: &'s Session<'p, 'k>,
    /// Every scope of work as it turns out, the best first.
    pub best: &'s [Verdict<'k>],
}

/// The page of a lesson or of a drawn motor; with the key, the answer sheet.
pub fn sheet(session: &Session, title: &str, key: Option<Key>) -> String {
    let knowledge = session.planner.knowledge;
    let task = &session.task;
    let answers = key.is_some();
    let title = if answers { format!("{title}: answer sheet") } else { title.to_owned() };
    let topic = knowledge.topic(&task.topic).map_or(task.topic.as_str(), |t| t.name.as_str());
    let body = html! {
        p.m { (topic) " · level " (task.level) " of 5 · motor number " (task.seed) }
        div.box {
            p { b { "The owner: " } "“" (task.story_or_plea()) "”" }
            @let ticket = super::task::ticket(knowledge, task);
            @if !ticket.is_empty() { p { b { "On the ticket: " } (ticket.join(" · ")) "." } }
            p { b { "The motor: " } (task.motor.name) ". " (task.motor.summary) }
            p.m { @for (key, value) in &task.motor.nominal { (key.replace('-', " ")) " " (value) ". " } }
        }
        @if !answers {
            p { "Find out what is wrong. Ask your instructor for one line at a time and write down the answer and the \
                 minutes. What belongs to a stage can be had only once it is reached; what is marked “up to” is gone \
                 after that stage." }
            @if !task.words.is_empty() {
                h2 { "Words you will meet" }
                dl { @for w in task.words { dt { b { (w.word) } } dd { (w.means) } } }
            }
        }
        @if answers { (truth(session)) }
        h2 { "The owner" }
        (lines(session, &owner(session), answers))
        @for (n, stage) in knowledge.stages.iter().enumerate().skip(1) {
            @let own = at_stage(session, n);
            @if !own.is_empty() {
                h2 { (stage.name) @if stage.minutes > 0.0 { span.m { " · " (minutes(stage.minutes)) } } }
                @for id in &stage.calls_for {
                    @if let Some(c) = knowledge.caution(id) { div.caution { b { (c.name) ". " } (c.text) } }
                }
                @for soon in task.too_soon.iter().filter(|t| answers && t.stage == stage.id) {
                    div.caution { b { "Not before " (minutes(soon.minutes)) " have passed. " } (soon.why) }
                }
                @if !stage.destroys.is_empty() { p { b { "Lost by it: " } (stage.destroys) } }
                (lines(session, &own, answers))
            }
        }
        @match key { Some(key) => { (walk(session, &key)) }, None => { (fields(knowledge)) } }
    };
    page(&title, body)
}

fn owner<'k>(session: &Session<'_, 'k>) -> Vec<Line<'k>> {
    let knowledge = session.planner.knowledge;
    let mut out: Vec<Line<'k>> = knowledge.factors.iter().map(|f| Line::of(&f.id, &f.name, &f.ask)).collect();
    out.extend(at_stage(session, 0));
    out
}

/// What can be had from a stage (index) on: each look with its parts, then the rest; a reading in the place of what
/// it bands, where it was worked out.
fn at_stage<'k>(session: &Session<'_, 'k>, stage: usize) -> Vec<Line<'k>> {
    let knowledge = session.planner.knowledge;
    let Some(stage) = knowledge.stages.get(stage) else { return Vec::new() };
    let mut singles: Vec<Line<'k>> = Vec::new();
    let mut looks: Vec<(&'k Look, Vec<Line<'k>>)> = Vec::new();
    let mut add = |look: Option<&'k Look>, line: Line<'k>| {
        let Some(look) = look else { return singles.push(line) };
        match looks.iter_mut().find(|(l, _)| l.id == look.id) {
            Some((_, parts)) => parts.push(line),
            None => looks.push((look, vec![line])),
        }
    };
    let mut read: Vec<&str> = Vec::new();
    for observation in knowledge.observations.iter().filter(|o| o.ask.stage == stage.id) {
        let look = knowledge.looks.iter().find(|l| l.observations.contains(&observation.id));
        match session.reading_of(&observation.id).and_then(|id| knowledge.reading(id)) {
            Some(reading) if read.contains(&reading.id.as_str()) => {}
            Some(reading) => {
                read.push(&reading.id);
                add(look, Line::of(&reading.id, &reading.name, &reading.ask));
            }
            None => add(look, Line::of(&observation.id, &observation.name, &observation.ask)),
        }
    }
    let mut out = Vec::new();
    for (look, parts) in looks {
        let minutes = Some(look.minutes);
        out.push(Line { id: None, name: &look.name, question: &look.question, minutes, last_stage: None });
        out.extend(parts.into_iter().map(|part| Line { minutes: None, ..part }));
    }
    out.extend(singles);
    out
}

fn lines(session: &Session, lines: &[Line], answers: bool) -> Markup {
    let knowledge = session.planner.knowledge;
    html! {
        table {
            tr { th { "What" } th.n { "Minutes" } th { "Up to" } th { "Answer" } }
            @for line in lines {
                tr {
                    td { @if line.minutes.is_some() { b { (line.name) } } @else { "– " (line.name) }
                         br; span.m { (line.question) } }
                    td.n { @if let Some(m) = line.minutes { (m) } }
                    td { (line.last_stage.map_or("", |s| super::stage_name(knowledge, s))) }
                    td { @if let Some(id) = line.id.filter(|_| answers) { (answer(session, id)) } }
                }
            }
        }
    }
}

/// What is answered; what is not as it should be stands out.
fn answer(session: &Session, id: &str) -> Markup {
    let knowledge = session.planner.knowledge;
    let net = &session.planner.net;
    if let Some(reason) = session.task.specimen.forbids(knowledge, net, id) {
        return html! { "can't be had" br; span.m { (reason) } };
    }
    let text = session.task.answer(knowledge, net, id).map_or(String::new(), |a| said(knowledge, id, &a));
    let odd =
        matches!(session.task.specimen.answer(knowledge, net, None, id), Some(Answer::State(s)) if s > 0);
    let meaning = session.meaning(id);
    html! {
        @if odd || meaning.is_some_and(|m| m.0 > 0) { b { (text) } } @else { (text) }
        @if let Some((_, label)) = meaning.filter(|m| m.0 > 0) { br; span.m { (label) } }
        @if let Some(lie) = session.task.misleading.iter().find(|m| m.answer == id) {
            br; span.m { "not true" @if !lie.why.is_empty() { ": " (lie.why) } }
        }
    }
}

fn truth(session: &Session) -> Markup {
    let (knowledge, task) = (session.planner.knowledge, &session.task);
    let faults = task.truth(&session.planner.net);
    html! {
        h2 { "What is wrong" }
        @if faults.is_empty() { p { "Nothing: motor and surroundings are sound." } }
        @for id in faults {
            p { b { (fault_name(knowledge, id)) } ". " (knowledge.fault(id).map_or("", |f| f.summary.as_str())) }
        }
        @if let Some(why) = task.why {
            p { b { "The cause: " } (why.cause) }
            p { b { "The signs: " } (why.signs) }
            p { b { "The cure: " } (why.cure) }
            p { b { "The order: " } (why.order) }
        }
        p { b { "Hint for whoever is stuck: " } (super::task::hint_words(knowledge, &task.hint)) }
    }
}

fn walk(session: &Session, key: &Key) -> Markup {
    let (knowledge, task) = (session.planner.knowledge, &session.task);
    html! {
        h2.new { "How an expert goes about it" }
        table {
            tr { th { "Step" } th { "Answer" } th.n { "Minutes" } }
            @for done in key.expert.done() {
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
            @for v in key.best {
                tr {
                    td { (scope_name(knowledge, v.scope)) } td.n { (money(v.cost.round())) }
                    td.n { (format!("{:.0}", v.minutes)) } td { (v.blocked.unwrap_or("")) }
                }
            }
        }
        @if !task.cautions.is_empty() {
            h2 { "Cautions that have to be named" }
            ul { @for id in &task.cautions { @if let Some(c) = knowledge.caution(id) { li { b { (c.name) ". " } (c.text) } } } }
        }
        @if !task.traps.is_empty() {
            h2 { "Traps" }
            ul { @for t in task.traps {
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
        @if !task.teaches.is_empty() {
            h2 { "What it teaches" }
            ul { @for one in task.teaches { li { (one) } } }
        }
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
        p.m { "Faults to choose from; no fault is an answer too." }
        @for (topic, names) in faults_by_topic(knowledge) {
            p.m { b { (topic) ": " } (names.join(" · ")) }
        }
        p { "The work (one): " (knowledge.scopes.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(" · ")) }
        div.line {}
        p { "The cautions that come first:" }
        p.m { "To choose from: " (knowledge.cautions.iter().map(|c| c.name.as_str()).collect::<Vec<_>>().join(" · ")) }
        div.line {} div.line {}
        p { "Minutes in all:" }
        div.line {}
    }
}

/// Names of all faults under the narrowest topic that covers them; what no topic covers stands last.
fn faults_by_topic(knowledge: &Knowledge) -> Vec<(&str, Vec<&str>)> {
    let topic_of = |group: &str| {
        let covering =
            knowledge.topics.iter().enumerate().filter(|(_, t)| t.groups.iter().any(|g| g == group));
        covering.min_by_key(|(_, t)| t.groups.len()).map_or(knowledge.topics.len(), |(place, _)| place)
    };
    let mut out: Vec<(&str, Vec<&str>)> = Vec::new();
    let names = knowledge.topics.iter().map(|t| t.name.as_str()).chain(std::iter::once("Others"));
    for (place, name) in names.enumerate() {
        let own = knowledge.faults.iter().filter(|f| topic_of(&f.group) == place);
        let own: Vec<&str> = own.map(|f| f.name.as_str()).collect();
        if !own.is_empty() {
            out.push((name, own));
        }
    }
    out
}
