//! The debriefing, page by page: none is longer than a small screen.

use super::{act, caution_name, fault_name, lower, outcome, stage_name};
use crate::drill::debrief::{Debrief, Idle, Path, Row};
use crate::drill::session::{Act, Outcome};
use crate::drill::task::Task;
use crate::knowledge::{Knowledge, TrapAct};
use crate::present::text::{Align, Styled, Table, Text, minutes, money, percent, plural};
use crate::present::triage::text::{head, name, scope_name};

/// Rows of faults on one page, and lines of a path.
const ROWS: usize = 12;
const LINES: usize = 13;
/// Letters that a cell of a path has in a line at least, and letters of the longest.
const NARROW: usize = 22;
const LONGEST_CELL: usize = 160;

/// A weight of evidence, in decibans, from which an answer is worth a word.
const SPOKE: f64 = 1.5;
/// From this weight on, it told a little.
const HARDLY: f64 = 0.3;
/// From this chance on, nothing more had to be settled.
const ENOUGH: f64 = 0.9;
/// Answers that are given as signs of a fault, and letters for all of them.
const SIGNS: usize = 4;
const LONGEST: usize = 400;

/// A stated chance this far above what the evidence supports is worth a word.
const SURER: f64 = 0.3;

/// All pages of the look back on a task: what was wrong and why, before all figures.
pub fn pages(knowledge: &Knowledge, debrief: &Debrief, task: &Task) -> Vec<Text> {
    let teaches = task.teaches;
    let mut pages = vec![truth(knowledge, debrief), why(knowledge, debrief, task)];
    pages.push(evidence(knowledge, debrief));
    pages.extend(own(knowledge, debrief));
    pages.extend(expert(knowledge, debrief));
    pages.push(beside(knowledge, debrief));
    pages.extend(missed(knowledge, debrief));
    pages.push(mark(debrief));
    if !teaches.is_empty() {
        let mut text = Text::new();
        text.heading("What to take with you");
        for one in teaches {
            text.item(0, Styled::new().good("- "), one.as_str());
        }
        let unseen = unseen_of(knowledge, debrief, &teaches.join(" "));
        if !unseen.is_empty() {
            text.item(0, Styled::new().warn("Of this you have not looked at: "), unseen);
        }
        pages.push(text);
    }
    pages
}

fn truth(knowledge: &Knowledge, d: &Debrief) -> Text {
    let mut text = Text::new();
    text.heading("What was wrong");
    for id in &d.truth {
        let summary = knowledge.fault(id).map_or("", |f| f.summary.as_str());
        text.item(0, Styled::new().fault(fault_name(knowledge, id)).plain(": "), summary);
    }
    if d.truth.is_empty() {
        text.para("Nothing: motor and surroundings were sound.");
    }
    text.blank();
    if d.named.is_empty() {
        text.item(0, Styled::new().muted("You said: "), "nothing is wrong.");
    }
    for (id, chance, there) in &d.named {
        let verdict =
            if *there { Styled::new().good("it was there") } else { Styled::new().warn("it was not there") };
        let words =
            Styled::from(format!("{}, {:.0} %: ", fault_name(knowledge, id), chance * 100.0)).then(verdict);
        text.item(0, Styled::new().muted("You said: "), words.plain("."));
    }
    for id in d.truth.iter().filter(|t| !d.named.iter().any(|n| n.0 == **t)) {
        let words = format!("{}.", fault_name(knowledge, id));
        text.item(0, Styled::new().warn("You did not name: "), words);
    }
    text
}

/// From the cause to the cure, in the words of the lesson or else in those of the knowledge.
fn why(knowledge: &Knowledge, d: &Debrief, task: &Task) -> Text {
    let mut text = Text::new();
    text.heading("Why");
    let mut part = |label: &str, words: &str| {
        if !words.is_empty() {
            text.item(0, Styled::new().strong(format!("{label}: ")), words);
        }
    };
    if let Some(why) = task.why {
        part("The cause", &why.cause);
        part("The signs", &why.signs);
        part("Of this you have not looked at", &unseen_of(knowledge, d, &why.signs));
        part("The cure", &why.cure);
        part("The order", &why.order);
        return text;
    }
    let signs: Vec<String> = (d.expert.rows.iter())
        .filter(|row| matches!(row.outcome, Outcome::Answered(_)) && row.decibans >= SPOKE)
        .take(SIGNS)
        .map(|row| match outcome(knowledge, &row.outcome) {
            said if said.is_empty() => act(knowledge, &row.act),
            said => format!("{}: {}", act(knowledge, &row.act), lower(&said)),
        })
        .collect();
    part("What spoke for it most", &short(&signs.join("; "), LONGEST));
    let cure = d.best.as_ref().and_then(|best| knowledge.scope(best.scope));
    if let Some(cure) = cure {
        part("The cure", &format!("{}. {}", cure.name, cure.summary));
    }
    part(
        "The order",
        "Ask first, look next, open last: what is asked and looked at wipes nothing out, and each stage that is \
         opened does.",
    );
    text
}

/// What these words speak of, and what was not looked at.
fn unseen_of(knowledge: &Knowledge, d: &Debrief, words: &str) -> String {
    let words = words.to_lowercase();
    let names = d.unseen.iter().map(|id| name(knowledge, id));
    let mut names: Vec<&str> = names.filter(|name| words.contains(&name.to_lowercase())).collect();
    names.dedup();
    names.join(", ")
}

fn evidence(knowledge: &Knowledge, d: &Debrief) -> Text {
    let mut text = Text::new();
    text.heading("What your evidence supported");
    let mut table =
        Table::new(&[("fault", Align::Left), ("you said", Align::Right), ("your evidence", Align::Right)]);
    for (id, chance) in d.supported.iter().take(ROWS) {
        let said =
            d.named.iter().find(|n| n.0 == *id).map_or("-".into(), |n| format!("{:.0} %", n.1 * 100.0));
        table.row(vec![Styled::new().fault(fault_name(knowledge, id)), said.into(), percent(*chance).into()]);
    }
    if !table.is_empty() {
        text.table(0, table);
    }
    text.para(format!("That nothing is wrong at all: {}.", percent(d.healthy)));
    // The one statement that was furthest from what the evidence allowed.
    let gap = |n: &&(String, f64, bool)| {
        d.supported.iter().find(|(id, _)| *id == n.0).map_or(0.0, |(_, p)| n.1 - p)
    };
    if let Some(n) = d.named.iter().max_by(|a, b| gap(a).total_cmp(&gap(b))).filter(|n| gap(n) > SURER) {
        let words = match n.2 {
            true => {
                "You were right, but surer than your evidence allowed. The next time it may be something else."
            }
            false => "You were surer than your evidence allowed.",
        };
        text.item(0, Styled::new().warn("! "), words);
    }
    text.blank();
    match &d.settles {
        Some(_) if d.mark.support >= ENOUGH => {
            text.para("Your evidence was enough: it left little to doubt.");
        }
        Some(s) => {
            let states = knowledge.states(&s.id).unwrap_or_default();
            let label = states.get(s.state).map_or("", |(_, label)| head(label));
            let gone = if s.gone { " It was wiped out on your way." } else { "" };
            let words = format!(
                "“{}” would have shown “{label}”, and left what was true at {}.{gone}",
                name(knowledge, &s.id),
                percent(s.support)
            );
            let label = match s.support >= ENOUGH {
                true => "This would have settled it: ",
                false => "This would have told most: ",
            };
            text.item(0, Styled::new().strong(label), words);
        }
        None if d.mark.support >= ENOUGH => {
            text.para("Your evidence was enough: it left little to doubt.");
        }
        None => {
            text.para("No single thing that you left out would have told much more.");
        }
    }
    if let Some(idle) = &d.idle {
        text.append(after_all_was_known(knowledge, idle));
    }
    for lie in &d.misled {
        let states = knowledge.states(&lie.answer).unwrap_or_default();
        let label = states.get(lie.says).map_or("", |(_, label)| head(label));
        let why = if lie.why.is_empty() { "That was not so." } else { lie.why.as_str() };
        let words = format!("{}: “{label}”. {why}", name(knowledge, &lie.answer));
        text.item(0, Styled::new().warn("The owner was wrong: "), words);
    }
    text
}

/// What was done when the matter was settled.
fn after_all_was_known(knowledge: &Knowledge, idle: &Idle) -> Text {
    let stages = plural(idle.stages, "stage", "stages");
    let looks = plural(idle.looks, "look", "looks");
    let looks = if idle.looks == 0 { String::new() } else { format!(" and the {looks} there") };
    let words = format!(
        "{} after “{}”. The {stages} opened after that{looks} were not needed: {}, {} in the shop's money.",
        percent(idle.support),
        act(knowledge, &idle.after),
        minutes(idle.minutes),
        money(idle.money.round())
    );
    let mut text = Text::new();
    text.item(0, Styled::new().warn("You had: "), words);
    text
}

fn own(knowledge: &Knowledge, d: &Debrief) -> Vec<Text> {
    paths(knowledge, &d.own, "Your path, and what each answer told")
}

fn expert(knowledge: &Knowledge, d: &Debrief) -> Vec<Text> {
    paths(knowledge, &d.expert, "The expert's path on the same motor")
}

fn paths(knowledge: &Knowledge, path: &Path, title: &str) -> Vec<Text> {
    let told = |row: &&Row| {
        !matches!(row.act, Act::Name(_) | Act::Scope(_) | Act::Cautions(_))
            // What was had before told nothing and took no time.
            && !matches!(row.outcome, Outcome::Again(_) | Outcome::Gone(_))
    };
    let mut pages = Vec::new();
    for (n, part) in sheets(knowledge, path.rows.iter().filter(told)).into_iter().enumerate() {
        let mut text = Text::new();
        text.heading(if n == 0 { title.to_owned() } else { format!("{title} (more)") });
        let mut table = Table::new(&[
            ("what", Align::Left),
            ("answer", Align::Left),
            ("time", Align::Right),
            ("told", Align::Left),
            ("truth at", Align::Right),
        ]);
        for row in part {
            table.row(vec![
                act(knowledge, &row.act).into(),
                answer(knowledge, row).into(),
                super::task::spent(row.minutes).into(),
                weight(row),
                percent(row.support).into(),
            ]);
        }
        text.table(0, table);
        if n == 0 {
            text.para(
                Styled::new().muted(
                    "Told: how strongly it spoke for what was true (+) or against it (-); a little where it hardly did. \
                     Truth at: how likely what was true looked after it.",
                ),
            );
        }
        pages.push(text);
    }
    if pages.is_empty() {
        let mut text = Text::new();
        text.heading(title.to_owned());
        text.para("Nothing was asked, looked at or measured.");
        pages.push(text);
    }
    pages
}

/// The rows of a path in parts of which each fits a small screen, as wide as its cells may become there.
fn sheets<'r, 'k: 'r>(
    knowledge: &Knowledge,
    rows: impl Iterator<Item = &'r Row<'k>>,
) -> Vec<Vec<&'r Row<'k>>> {
    let mut sheets: Vec<Vec<&Row>> = Vec::new();
    let mut left = 0;
    for row in rows {
        let high = |text: &str, wide: usize| text.chars().count().div_ceil(wide).max(1);
        let lines = high(&act(knowledge, &row.act), NARROW).max(high(&answer(knowledge, row), NARROW));
        if lines > left {
            sheets.push(Vec::new());
            left = LINES;
        }
        left = left.saturating_sub(lines);
        if let Some(last) = sheets.last_mut() {
            last.push(row);
        }
    }
    sheets
}

/// What an act found, short enough for a cell of a few lines.
fn answer(knowledge: &Knowledge, row: &Row) -> String {
    short(&outcome(knowledge, &row.outcome), LONGEST_CELL)
}

fn short(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars().take(most - 2).collect::<String>().trim_end().to_owned() + ".."
}

/// A weight of evidence as signs: one, two and three for 1.5, 4 and 8 decibans (odds of 7 to 5, 5 to 2, 6 to 1).
fn weight(row: &Row) -> Styled {
    if !matches!(row.outcome, Outcome::Answered(_)) {
        return Styled::new();
    }
    let strength = [1.5, 4.0, 8.0].iter().filter(|edge| row.decibans.abs() >= **edge).count();
    match (strength, row.decibans > 0.0) {
        (0, _) if row.decibans.abs() >= HARDLY => Styled::new().muted("a little"),
        (0, _) => Styled::new().muted("nothing"),
        (n, true) => Styled::new().good("+".repeat(n)),
        (n, false) => Styled::new().warn("-".repeat(n)),
    }
}

fn beside(knowledge: &Knowledge, d: &Debrief) -> Text {
    let mut text = Text::new();
    text.heading("You beside the expert");
    let mut table = Table::new(&[("", Align::Left), ("you", Align::Right), ("the expert", Align::Right)]);
    let work = |p: &Path| p.scope.as_deref().map_or("-".into(), |id| scope_name(knowledge, id).to_owned());
    let rows: [(&str, String, String); 5] = [
        ("Minutes to find out", super::task::spent(d.own.minutes), super::task::spent(d.expert.minutes)),
        ("The whole job, in the shop's money", money(d.own.money.round()), money(d.expert.money.round())),
        ("Risks taken", d.own.risks.to_string(), d.expert.risks.to_string()),
        (
            "Bad signs wiped out unseen",
            d.own.destroyed.len().to_string(),
            d.expert.destroyed.len().to_string(),
        ),
        ("Work chosen", work(&d.own), work(&d.expert)),
    ];
    for (what, own, expert) in rows {
        table.row(vec![what.into(), Styled::new().strong(own), expert.into()]);
    }
    text.table(0, table);
    text.blank();
    if !d.own.destroyed.is_empty() {
        let names: Vec<&str> = d.own.destroyed.iter().take(5).map(|id| name(knowledge, id)).collect();
        let more = if d.own.destroyed.len() > names.len() { " and more" } else { "" };
        let words = format!(
            "{}{more}. Each of these was not as it should be, and was gone before you looked.",
            names.join(", ")
        );
        text.item(0, Styled::new().warn("Wiped out unseen: "), words);
    }
    match (&d.chosen, &d.best) {
        (Some(chosen), Some(best)) => {
            let cost = |v: &crate::drill::scopes::Verdict| money(v.cost.round());
            let name = scope_name(knowledge, chosen.scope);
            let words = match chosen.blocked {
                Some(reason) => format!("{name}: it must not be done here. {reason}"),
                None if chosen.scope == best.scope => {
                    format!("{name}: the best choice, for {} from where you stood.", cost(chosen))
                }
                None => format!(
                    "“{name}” comes to {} from where you stood and cures this motor in {} of cases; “{}” comes to {} \
                     and cures it in {}.",
                    cost(chosen),
                    percent(chosen.cures),
                    scope_name(knowledge, best.scope),
                    cost(best),
                    percent(best.cures)
                ),
            };
            text.item(0, Styled::new().strong("The work: "), words);
            let remains: Vec<&str> = chosen.remains.iter().map(|id| fault_name(knowledge, id)).collect();
            if !remains.is_empty() {
                text.item(0, Styled::new().warn("It leaves as it is: "), format!("{}.", remains.join(", ")));
            }
        }
        _ => {
            text.para("No work was chosen.");
        }
    }
    text
}

fn missed(knowledge: &Knowledge, d: &Debrief) -> Option<Text> {
    if d.cautions_missed.is_empty() && d.traps.is_empty() && d.own.risks == 0 {
        return None;
    }
    let mut text = Text::new();
    text.heading("What to watch");
    for row in &d.own.rows {
        let what = act(knowledge, &row.act);
        if let Outcome::Stopped(reason) = row.outcome {
            text.item(0, Styled::new().danger("Risk taken: "), format!("{what}. {reason}"));
        }
        if !row.unasked.is_empty() {
            let names: Vec<&str> = row.unasked.iter().map(|id| name(knowledge, id)).collect();
            let words = format!("{what}, without finding out first: {}.", names.join(", "));
            text.item(0, Styled::new().danger("Risk taken: "), words);
        }
    }
    for trap in &d.traps {
        let what = match &trap.act {
            TrapAct::Look(id) => name(knowledge, id),
            TrapAct::Enter(id) => stage_name(knowledge, id),
            TrapAct::Name(id) => fault_name(knowledge, id),
            TrapAct::Scope(id) => scope_name(knowledge, id),
        };
        text.item(0, Styled::new().warn("Trap: "), format!("“{what}”. {}", trap.why));
    }
    for id in &d.cautions_missed {
        let says = knowledge.caution(id).map_or("", |c| c.text.as_str());
        let words = format!("{}. {says}", caution_name(knowledge, id));
        text.item(0, Styled::new().warn("Caution not named: "), words);
    }
    if !d.cautions_missed.is_empty() && !d.cautions_of_work.is_empty() {
        let all: Vec<&str> = d.cautions_of_work.iter().map(|id| caution_name(knowledge, id)).collect();
        text.item(
            0,
            Styled::new().strong("All cautions of the right work: "),
            format!("{}.", all.join(", ")),
        );
    }
    Some(text)
}

fn mark(d: &Debrief) -> Text {
    let mut text = Text::new();
    text.heading("Your mark");
    let m = &d.mark;
    let points = |x: f64| format!("{:.0}", x * 100.0);
    let mut table =
        Table::new(&[("part", Align::Left), ("of 100", Align::Right), ("what counts", Align::Left)]);
    let time = format!("full up to {} times the expert's minutes", trim(d.course.minutes_full));
    let rows = [
        ("Diagnosis", m.diagnosis, "how near your chances came to the truth; below 0 for sure and wrong"),
        ("Work", m.scope, "what it costs beside the best work"),
        ("Cautions", m.cautions, "those that had to be named"),
        ("Safety", m.safety, "risks that you did not take"),
        ("Time", m.minutes, time.as_str()),
    ];
    for (name, value, what) in rows {
        table.row(vec![name.into(), points(value).into(), Styled::new().muted(what)]);
    }
    text.table(0, table);
    text.blank();
    let lost: Vec<String> = [
        price(d.helps, d.course.per_hint, "help", "helps"),
        price(d.traps.len(), d.course.per_trap, "trap", "traps"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !lost.is_empty() {
        text.para(format!("Taken off: {}.", lost.join(", ")));
    }
    let verdict = if m.passed { Styled::new().good("passed") } else { Styled::new().warn("not passed yet") };
    if let Some(words) = lucky(d) {
        text.item(0, Styled::new().warn("! "), words);
    }
    if m.is_careless() {
        let words = "You named none of the cautions of this work. Without one, nobody passes.";
        text.item(0, Styled::new().warn("! "), words);
    }
    text.para(
        Styled::new().strong(format!("All in all: {} of 100, ", points(m.whole))).then(verdict).plain("."),
    );
    text
}

/// What something cost that was done so often.
fn price(count: usize, each: f64, one: &str, many: &str) -> Option<String> {
    let points = plural((count as f64 * each * 100.0).round() as usize, "point", "points");
    (count > 0).then(|| format!("{points} for {}", plural(count, one, many)))
}

/// A number without decimals that say nothing.
fn trim(number: f64) -> String {
    let text = format!("{number:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// Why somebody who was right has not passed: the evidence does not bear it.
fn lucky(d: &Debrief) -> Option<String> {
    let right = d.truth.iter().all(|t| d.named.iter().any(|n| n.0 == *t && n.1 >= 0.5));
    let right = right && !d.named.iter().any(|n| n.1 >= 0.5 && !n.2);
    let words = match right {
        true => "Right, but your evidence supported only",
        false => "Your evidence supported what was true with only",
    };
    let (support, needed) = (percent(d.mark.support), percent(d.mark.needed));
    let words =
        format!("{words} {support}. To pass it takes {needed}: look and measure until it is no guess.");
    (!d.mark.is_sound()).then_some(words)
}

/// What stays in sight at the end, in a few lines.
pub fn in_short(knowledge: &Knowledge, debrief: &Debrief) -> Text {
    let mut text = Text::new();
    let truth: Vec<&str> = debrief.truth.iter().map(|id| fault_name(knowledge, id)).collect();
    let truth = if truth.is_empty() { "nothing was wrong".to_owned() } else { truth.join(", ") };
    let verdict = if debrief.mark.passed { "passed" } else { "not passed yet" };
    let luck = match &debrief.mark {
        m if !m.is_sound() => format!(" (your evidence supported only {})", percent(m.support)),
        m if m.is_careless() => " (no caution was named)".to_owned(),
        _ => String::new(),
    };
    text.para(format!(
        "Truth: {truth}. Mark: {:.0} of 100, {verdict}{luck}. {}; {} for you, {} for the expert.",
        debrief.mark.whole * 100.0,
        plural(debrief.own.risks, "risk", "risks"),
        minutes(debrief.own.minutes),
        minutes(debrief.expert.minutes),
    ));
    text
}
