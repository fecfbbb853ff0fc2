//! The result as a person reads it: at the bench, in a hurry.

use super::{FaultRow, NextRow, Outlook, Report, Speaks, leading};
use crate::knowledge::{Knowledge, Shows};
use crate::plan::scopes::ScopeRow;
use crate::present::text::{Align, Bar, Styled, Table, Text, minutes, money, movement, percent, plural};

mod work;

pub use work::{before_stage, cautions_before, job, write_down};

/// Leading faults as bars, each with how it moved since `before` (probabilities by fault id).
pub fn standing(faults: &[FaultRow], before: &dyn Fn(&str) -> f64, most: usize) -> Text {
    let mut text = Text::new();
    let rows = leading(faults, 3, most).iter();
    text.bars(
        rows.map(|f| Bar {
            label: Styled::new().fault(&f.name),
            fraction: f.probability,
            note: Styled::new()
                .plain(percent(f.probability))
                .plain("  ")
                .with(movement(before(&f.id), f.probability)),
        })
        .collect(),
    );
    text
}

/// The ranking so far: faults as bars, then the scopes of work; short enough to stay in sight above the
/// question that is put again after it.
pub fn ranking(knowledge: &Knowledge, faults: &[FaultRow], healthy: f64, scopes: &[ScopeRow]) -> Text {
    let mut text = Text::new();
    text.blank();
    text.heading("Ranking so far");
    let prior = |id: &str| faults.iter().find(|f| f.id == id).map_or(0.0, |f| f.prior);
    text.append(standing(faults, &prior, 5));
    text.para(Styled::new().muted(format!("Nothing wrong at all: {}.", percent(healthy))));
    text.blank();
    text.table(0, scope_table(knowledge, scopes, 3));
    text
}

/// The whole result.
pub fn result(report: &Report, title: &str) -> Text {
    let mut text = Text::new();
    text.heading(title);
    if !report.answers.iter().any(|a| a.informs) {
        text.para(
            "Nobody knew anything yet, so nothing can be concluded: every fault is as likely as it always is.",
        );
        warnings(report, &mut text);
        next(report, &mut text);
        return text;
    }
    faults(report, &mut text);
    warnings(report, &mut text);
    scopes(report, &mut text);
    work_list(report, &mut text);
    customer(report, &mut text);
    changes(report, &mut text);
    next(report, &mut text);
    in_short(report, &mut text);
    text
}

/// The last lines, which are in sight when all has scrolled by: the faults and the work.
fn in_short(report: &Report, text: &mut Text) {
    let (Some(first), Some(best)) = (report.faults.first(), best(report)) else { return };
    text.subheading("In short");
    let probable = report.faults.iter().take_while(|f| f.probability >= 0.5).take(3).count();
    let lead = if probable == 0 { "Not settled; most likely: " } else { "Most likely: " };
    let mut line = Styled::from(lead).fault(&first.name).plain(format!(" ({})", percent(first.probability)));
    for fault in &report.faults[1..probable.max(1)] {
        line = line.plain(", ").fault(&fault.name).plain(format!(" ({})", percent(fault.probability)));
    }
    text.para(line.plain("."));
    let work = if matches!(report.outlook, Outlook::Stop(_)) { "Work: " } else { "Work as it stands: " };
    text.para(Styled::from(work).strong(scope_name(report.knowledge, &best.id)).plain(format!(
        ", about {}, for about {}.",
        minutes(takes(report, best)),
        money(price(report, best).round())
    )));
    // While something is still worth asking, that comes before the work.
    let before = match &report.outlook {
        Outlook::Ask(list) => list.first().map(|row| row.wording().to_string()),
        Outlook::Open(stage, _) => {
            let stage = report.knowledge.stages.iter().find(|s| s.id == *stage);
            stage.map(|s| format!("go on to “{}”.", s.name))
        }
        Outlook::Stop(_) => None,
    };
    if let Some(before) = before {
        text.para(Styled::from("But first: ").plain(before));
    }
}

/// Minutes of a scope, with those that close what stands open already.
fn takes(report: &Report, scope: &ScopeRow) -> f64 {
    scope.minutes + report.closing
}

/// What the owner pays for a scope: work and parts.
fn price(report: &Report, scope: &ScopeRow) -> f64 {
    takes(report, scope) * report.knowledge.shop.labour_per_minute + scope.parts
}

fn faults(report: &Report, text: &mut Text) {
    text.subheading("What is likely wrong");
    let shown = leading(&report.faults, 2, 5);
    let bar = |fault: &FaultRow| Bar {
        label: Styled::new().fault(&fault.name),
        fraction: fault.probability,
        note: Styled::from(percent(fault.probability)).muted(format!("  (was {})", percent(fault.prior))),
    };
    text.bars(shown.iter().map(bar).collect());
    text.para(
        Styled::new()
            .muted(format!("Was: before the answers. Nothing wrong at all: {}.", percent(report.healthy))),
    );
    for fault in shown {
        let Some((_, says)) = report.evidence.iter().find(|(id, _)| *id == fault.id) else { continue };
        reasons(report, fault, says, text);
    }
}

/// Answers of at least this weight are worth a line: 1.5 decibans are odds of 7 to 5.
const WORTH_A_LINE: f64 = 1.5;

fn reasons(report: &Report, fault: &FaultRow, says: &[Speaks], text: &mut Text) {
    let mut list: Vec<&Speaks> = says.iter().filter(|s| s.decibans.abs() >= WORTH_A_LINE).collect();
    if list.is_empty() {
        return;
    }
    text.blank();
    text.para(Styled::new().fault(&fault.name));
    list.sort_by(|a, b| b.decibans.abs().total_cmp(&a.decibans.abs()));
    let (mut pro, mut con): (Vec<&Speaks>, Vec<&Speaks>) = list.into_iter().partition(|s| s.decibans > 0.0);
    pro.truncate(4);
    con.truncate(3);
    for (word, good, says) in
        pro.into_iter().map(|s| ("for", true, s)).chain(con.into_iter().map(|s| ("against", false, s)))
    {
        let lead = format!("{} {word}: ", strength(says.decibans));
        let lead = if good { Styled::new().warn(lead) } else { Styled::new().good(lead) };
        text.item(2, lead, Styled::from(reason(report, &fault.id, says, good)));
    }
}

fn strength(decibans: f64) -> &'static str {
    match decibans.abs() {
        x if x >= 8.0 => "strongly",
        x if x >= 4.0 => "clearly",
        _ => "somewhat",
    }
}

/// What an answer says, in a sentence or two: the answer, and why it goes with the fault.
fn reason(report: &Report, fault: &str, says: &Speaks, good: bool) -> String {
    let knowledge = report.knowledge;
    let answer = said_of(report, &says.answer);
    // Of a reading that speaks of two observations, the one that weighs more.
    let weightier = says.parts.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    let seen = weightier.map_or(says.answer.as_str(), |(id, _)| id);
    let link = knowledge.fault(fault).and_then(|f| f.shows.iter().find(|s| s.observation == seen));
    let cause = knowledge.fault(fault).and_then(|f| f.causes.iter().find(|c| c.by.parent == seen));
    match (link, cause, good) {
        (Some(link), _, true) => format!("{answer}. {}", link.because),
        (Some(link), _, false) => format!("{answer}. {}", expected(knowledge, link)),
        (None, Some(cause), true) => format!("{answer}. {}", cause.because),
        (None, Some(_), false) => format!("{answer}. What usually brings it about is missing."),
        (None, None, true) => format!("{answer}. It makes other explanations less likely."),
        (None, None, false) => format!("{answer}. Other faults explain it better."),
    }
}

/// An answer of the case as people say it: the name of the question and what was answered.
fn said_of(report: &Report, id: &str) -> String {
    let knowledge = report.knowledge;
    let name = name(knowledge, id);
    let Some(row) = report.answers.iter().find(|a| a.id == id) else { return name.into() };
    let states = knowledge.states(id).unwrap_or_default();
    match states.iter().find(|(state, _)| !row.reading && **state == row.value) {
        Some((_, label)) => format!("{name} “{}”", state_words(label)),
        None => format!("{name} {}", row.value),
    }
}

/// What a fault would more often have shown.
fn expected(knowledge: &Knowledge, link: &Shows) -> String {
    let worst = link.effect.iter().enumerate().skip(1).max_by(|a, b| a.1.total_cmp(b.1));
    let states = knowledge.states(&link.observation).unwrap_or_default();
    match worst.and_then(|(i, _)| states.get(i)) {
        Some((_, label)) => format!("With this fault it is more often “{}”.", state_words(label)),
        None => "With this fault it is more often otherwise.".into(),
    }
}

/// The name of a question.
pub fn name<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    (knowledge.factor(id).map(|f| f.name.as_str()))
        .or_else(|| knowledge.observation(id).map(|o| o.name.as_str()))
        .or_else(|| knowledge.reading(id).map(|r| r.name.as_str()))
        .unwrap_or(id)
}

/// The first words of a label, up to its colon.
pub fn head(label: &str) -> &str {
    label.split(':').next().unwrap_or(label).trim()
}

/// A state in its own words, short: the first words of its label, and what they stand for where they are
/// no more than yes or no.
///
/// ```
/// use commsense::present::triage::text::state_words;
/// assert_eq!(state_words("Severe: hardly moves"), "Severe");
/// assert_eq!(state_words("No: over 1 megohm"), "No (over 1 megohm)");
/// assert_eq!(state_words("No"), "No");
/// ```
pub fn state_words(label: &str) -> String {
    match label.split_once(':') {
        Some((short @ ("Yes" | "No"), rest)) => format!("{short} ({})", rest.trim()),
        _ => head(label).to_owned(),
    }
}

fn warnings(report: &Report, text: &mut Text) {
    if report.warnings.is_empty() {
        return;
    }
    text.subheading("To be minded");
    for warning in &report.warnings {
        text.item(2, Styled::new().warn("! "), said(report.knowledge, &warning.text));
    }
}

/// A text for people: ids in back quotes become the names they stand for.
fn said(knowledge: &Knowledge, text: &str) -> String {
    let parts = text.split('`').enumerate();
    parts
        .map(|(i, part)| if i % 2 == 1 { format!("“{}”", name(knowledge, part)) } else { part.into() })
        .collect()
}

fn scopes(report: &Report, text: &mut Text) {
    text.subheading("What to do");
    if let Some(best) = best(report) {
        let scope = report.knowledge.scope(&best.id);
        let (title, summary) = scope.map_or(("", ""), |s| (s.name.as_str(), s.summary.as_str()));
        text.para(Styled::new().strong(title).plain(": ").plain(summary));
        text.para(format!(
            "It cures the motor at the first go in {} of such cases: about {} of work{}, and parts for {}.",
            percent(best.success),
            minutes(takes(report, best)),
            match report.closing > 0.0 {
                true => format!(" ({} of it to close what is open)", minutes(report.closing)),
                false => String::new(),
            },
            money(best.parts.round())
        ));
        text.blank();
    }
    text.table(0, scope_table(report.knowledge, &report.scopes, 5));
    text.para(Styled::new().muted(
        "Expected cost: work, parts, and what a motor that comes back costs the shop, in its own money.",
    ));
    blocked(report, text);
}

/// Scopes that can't be done, those with the same reason together.
fn blocked(report: &Report, text: &mut Text) {
    let mut groups: Vec<(&str, Vec<&str>)> = Vec::new();
    for scope in &report.scopes {
        let Some(reason) = scope.blocked.as_deref() else { continue };
        let name = scope_name(report.knowledge, &scope.id);
        match groups.iter_mut().find(|(r, _)| *r == reason) {
            Some((_, names)) => names.push(name),
            None => groups.push((reason, vec![name])),
        }
    }
    for (reason, names) in groups {
        let names = Styled::from("Out of the question: ").strong(names.join(", ")).plain(". ").plain(reason);
        text.item(2, Styled::new().warn("! "), names);
    }
}

fn scope_table(knowledge: &Knowledge, scopes: &[ScopeRow], most: usize) -> Table {
    let mut table = Table::new(&[
        ("Work", Align::Left),
        ("Expected cost", Align::Right),
        ("Time", Align::Right),
        ("Parts", Align::Right),
        ("Cured at once", Align::Right),
    ]);
    let open = scopes.iter().filter(|s| s.blocked.is_none());
    for (i, scope) in open.take(most).enumerate() {
        let name = scope_name(knowledge, &scope.id);
        table.row(vec![
            if i == 0 { Styled::new().strong(name) } else { Styled::from(name) },
            Styled::from(money(scope.expected_cost.round())),
            Styled::from(minutes(scope.minutes)),
            Styled::from(money(scope.parts.round())),
            Styled::from(percent(scope.success)),
        ]);
    }
    table
}

fn best<'r>(report: &'r Report) -> Option<&'r ScopeRow> {
    report.scopes.iter().find(|s| s.blocked.is_none())
}

/// The name of a scope.
pub fn scope_name<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    knowledge.scope(id).map_or(id, |s| s.name.as_str())
}

fn work_list(report: &Report, text: &mut Text) {
    if report.repairs.is_empty() {
        return;
    }
    text.subheading("The work, step by step");
    let mut said = Vec::new();
    for (i, piece) in report.work.iter().enumerate() {
        job(report.knowledge, report.motor.as_deref(), *piece, i + 1, &mut said, text);
    }
    text.subheading("Afterwards, this proves the cure");
    for check in report.repairs.iter().flat_map(|r| &r.checks) {
        text.item(2, Styled::new().good("- "), check.as_str());
    }
}

fn customer(report: &Report, text: &mut Text) {
    let Some(best) = best(report) else { return };
    text.subheading("Tell the owner");
    for fault in report.faults.iter().filter(|f| f.probability >= 0.5).take(3) {
        if let Some(entry) = report.knowledge.fault(&fault.id) {
            text.para(entry.customer.as_str());
        }
    }
    if let Some(scope) = report.knowledge.scope(&best.id) {
        text.para(scope.customer.as_str());
    }
    text.para(format!(
        "It will cost about {}: {} of work, and parts for {}.",
        money(price(report, best).round()),
        minutes(takes(report, best)),
        money(best.parts.round())
    ));
}

fn changes(report: &Report, text: &mut Text) {
    if report.changes.is_empty() {
        return;
    }
    text.subheading("What would change this");
    for change in report.changes.iter().take(4) {
        let states = report.knowledge.states(change.question).unwrap_or_default();
        let label = states.get(change.state).map_or("", |(_, label)| *label);
        text.item(
            2,
            "- ",
            Styled::from(format!(
                "If “{}” is “{}” ",
                name(report.knowledge, change.question),
                state_words(label)
            ))
            .muted(format!("({} likely)", percent(change.probability)))
            .plain(": ")
            .strong(scope_name(report.knowledge, change.scope)),
        );
    }
}

fn next(report: &Report, text: &mut Text) {
    text.subheading("Next");
    match &report.outlook {
        Outlook::Ask(list) => questions(list, "Worth asking now", text),
        Outlook::Open(stage, list) => {
            let stage = report.knowledge.stages.iter().find(|s| s.id == *stage);
            text.para(Styled::from("Go on to: ").strong(stage.map_or("", |s| s.name.as_str())).plain("."));
            questions(list, "Worth asking then", text);
        }
        Outlook::Stop(best) => {
            text.para(stop(best.as_ref()));
        }
    }
}

/// Why nothing more is asked.
pub fn stop(best: Option<&NextRow>) -> String {
    match best {
        None => "Nothing more can be asked at this stage or a later one that is open.".into(),
        Some(best) => format!(
            "No further question is worth its minutes. The best one left would be “{}” ({}).",
            best.wording(),
            minutes(best.minutes)
        ),
    }
}

fn questions(list: &[NextRow], title: &str, text: &mut Text) {
    let rest = list.len().saturating_sub(3);
    for (i, row) in list.iter().take(3).enumerate() {
        let lead = if i == 0 { format!("{title}: ") } else { "then: ".into() };
        text.item(
            2,
            Styled::new().muted(lead),
            Styled::from(row.wording()).muted(format!(" ({})", minutes(row.minutes))),
        );
    }
    if rest > 0 {
        text.item(2, "", Styled::new().muted(format!("and {} more.", plural(rest, "question", "questions"))));
    }
}
