//! The task as it is handed over, and what is known of it on the way.

use super::{entry_name, fault_name, is_odd, lower, said};
use crate::case::Answer;
use crate::drill::figures;
use crate::drill::session::{Answers, Offer, Outcome, Place, Session, Standing};
use crate::drill::task::{Hint, Task};
use crate::knowledge::Knowledge;
use crate::plan::stages;
use crate::present::text::{Styled, Text, minutes, plural};
use crate::present::triage::text::{head, name};

/// Levels up to which a look is explained as it is taken.
const EXPLAINED: u32 = 2;

/// The motor and its owner.
pub fn brief(knowledge: &Knowledge, task: &Task, title: &str) -> Text {
    let mut text = Text::new();
    let topic = knowledge.topic(&task.topic).map_or(task.topic.as_str(), |t| t.name.as_str());
    text.heading(Styled::new().title(title));
    text.para(
        Styled::new().muted(format!("{topic} · level {} of 5 · motor number {}", task.level, task.seed)),
    );
    text.blank();
    text.item(0, Styled::new().muted("The motor: "), format!("{}. {}", task.motor.name, task.motor.summary));
    let words = format!("“{}”", task.story_or_plea());
    text.item(0, Styled::new().muted("The owner: "), Styled::new().strong(words));
    let told = ticket(knowledge, task);
    if !told.is_empty() {
        text.item(0, Styled::new().muted("On the ticket: "), told.join(" · "));
    }
    text.blank();
    text.para(
        "Find out what is wrong, and say how sure you are. Ask, look and measure in any order. Each takes minutes; \
         each further stage wipes something out. Then choose the work, and name the cautions for it.",
    );
    if task.level <= EXPLAINED {
        text.para(
            "A good way: ask the owner, look from outside, then open it step by step. Stuck? The coach says what an \
             expert would do next, and why.",
        );
    }
    text
}

/// What stands on the ticket before anything is asked.
pub(super) fn ticket(knowledge: &Knowledge, task: &Task) -> Vec<String> {
    let told = task.told.iter().map(|(id, state)| {
        let answer = Answer::State(*state);
        format!("{}: {}", name(knowledge, id), said(knowledge, id, &answer))
    });
    told.collect()
}

/// The words of the trade that come up, on a page of their own.
pub fn words(task: &Task) -> Option<Text> {
    let mut text = Text::new();
    text.heading("Words you will meet");
    for word in task.words {
        text.item(0, Styled::new().strong(&word.word).plain(": "), &word.means);
    }
    (!task.words.is_empty()).then_some(text)
}

/// Where the work stands, in a line.
pub fn standing(session: &Session) -> String {
    let stage = &session.planner.knowledge.stages[session.stage()];
    let mut line = format!("{} · {} so far", stage.name, spent(session.minutes()));
    if session.risks() > 0 {
        line += &format!(" · {} taken", plural(session.risks(), "risk", "risks"));
    }
    line
}

/// Minutes, also none.
pub fn spent(m: f64) -> String {
    if m < 0.05 { "0 min".into() } else { minutes(m) }
}

/// What is on the ticket, in columns; one page for each so many lines.
pub fn known(session: &Session) -> Vec<Text> {
    const LINES: usize = 14;
    /// Of a small screen, less the mark before each line and a word that may not fit.
    const WIDE: usize = 68;
    let knowledge = session.planner.knowledge;
    let answers: Vec<Styled> = (session.case().answers.iter())
        .map(|(id, answer)| {
            Styled::from(format!("{}: ", name(knowledge, id))).then(found(session, id, answer))
        })
        .collect();
    let mut pages = Vec::new();
    // A long answer takes two lines.
    let mut parts: Vec<Vec<Styled>> = vec![Vec::new()];
    let mut left = LINES;
    for answer in answers {
        let lines = answer.width().div_ceil(WIDE).max(1);
        if lines > left {
            parts.push(Vec::new());
            left = LINES;
        }
        left = left.saturating_sub(lines);
        if let Some(last) = parts.last_mut() {
            last.push(answer);
        }
    }
    for (n, part) in parts.into_iter().filter(|p| !p.is_empty()).enumerate() {
        let mut text = Text::new();
        let more = if n == 0 { "" } else { " (more)" };
        text.heading(format!("On the ticket{more}"));
        for line in part {
            text.item(0, "- ", line);
        }
        pages.push(text);
    }
    if pages.is_empty() {
        pages.push(Text::from("Nothing is on the ticket yet."));
    }
    pages
}

/// The hint in words.
pub fn hint_words(knowledge: &Knowledge, hint: &Hint) -> String {
    match hint {
        Hint::Words(words) => (*words).to_owned(),
        Hint::LookAt(id) => format!("Look closely at this: {}.", name(knowledge, id)),
        Hint::Compare => "Compare every figure with what a sound motor of this kind reads.".to_owned(),
    }
}

/// The hint.
pub fn hint(knowledge: &Knowledge, hint: &Hint) -> Text {
    let words = hint_words(knowledge, hint);
    let mut text = Text::new();
    text.blank();
    text.item(0, Styled::new().strong("Hint: "), words);
    text
}

/// What an offer is called in a list: with its answer once it was had.
pub fn offer_note(knowledge: &Knowledge, offer: &Offer) -> String {
    match &offer.standing {
        Standing::Open => minutes(offer.minutes),
        Standing::Had(answers) => match answers.as_slice() {
            [(id, answer)] if offer.look.is_none() => said(knowledge, id, answer),
            _ => "done".into(),
        },
        Standing::Gone(_) => "too late".into(),
    }
}

/// What became of asking, looking or measuring.
pub fn looked(session: &Session, offer: &Offer, outcome: &Outcome) -> Text {
    let knowledge = session.planner.knowledge;
    let mut text = Text::new();
    match outcome {
        Outcome::Answered(answers) | Outcome::Again(answers) if offer.look.is_some() => {
            seen_together(session, offer, answers, &mut text);
        }
        Outcome::Answered(answers) => {
            text.blank();
            for (id, answer) in &answers.given {
                let asked = knowledge.ask(id).map_or("", |a| a.question.as_str());
                if !asked.is_empty() {
                    text.para(Styled::new().muted(asked));
                }
                let full = in_full(session, id, answer);
                let (who, full) = match (offer.place, answer) {
                    (Place::History | Place::Complaint, _) => ("The owner says: ", format!("“{full}”")),
                    (Place::Bench, Answer::Reading { .. }) => ("You read: ", full),
                    (Place::Bench, _) => ("You find: ", full),
                };
                text.item(0, Styled::new().strong(who), Styled::new().strong(full).then(beside(session, id)));
            }
        }
        Outcome::Again(answers) => {
            text.blank();
            for (id, answer) in &answers.given {
                let words = format!("{}, as before.", said(knowledge, id, answer));
                text.item(0, Styled::new().strong("Again: "), words);
            }
        }
        Outcome::Gone(last) => {
            let stage = knowledge.stages.get(*last).map_or("", |s| s.name.as_str());
            let words = format!(
                "“{}” could be had up to the stage “{stage}”. What came after has wiped it out.",
                entry_name(knowledge, offer.id)
            );
            text.blank();
            text.item(0, Styled::new().warn("Too late: "), words);
        }
        Outcome::Stopped(reason) => {
            text.blank().append(stopped(reason));
        }
        Outcome::Entered(_) | Outcome::Noted => {}
    }
    text
}

/// All that a look has shown, a line for each thing; what is not as it should be stands out.
fn seen_together(session: &Session, offer: &Offer, answers: &Answers, text: &mut Text) {
    let knowledge = session.planner.knowledge;
    let who = if offer.place == Place::Complaint { "The owner says" } else { "You find" };
    text.heading(format!("{} · {who}", offer.name));
    for (id, answer) in &answers.given {
        let label = Styled::new().muted(name(knowledge, id)).plain(": ");
        text.item(0, label, found(session, id, answer));
    }
    // What was known before belongs to the picture.
    for (id, _) in offer.parts.iter().filter(|(id, _)| !answers.given.iter().any(|g| g.0 == *id)) {
        if let Some(answer) = session.case().answers.get(*id) {
            let label = Styled::new().muted(format!("{}: ", name(knowledge, id)));
            text.item(0, label, found(session, id, answer).muted(" (known before)"));
        }
    }
    let seen = |id: &str| answers.given.iter().any(|g| g.0 == id) || session.case().answers.contains_key(id);
    let gone: Vec<&str> = (offer.parts.iter())
        .filter(|(id, ask)| !seen(id) && stages::last(knowledge, ask) < session.stage())
        .map(|(id, _)| name(knowledge, id))
        .collect();
    if !gone.is_empty() {
        let words = format!("{}. A later stage has wiped it out.", gone.join(", "));
        text.item(0, Styled::new().warn("Too late for: "), words);
    }
    for (id, reason) in &answers.fallen {
        let words = Styled::from(reason.unwrap_or("it can't be told now."));
        text.item(0, Styled::new().muted(name(knowledge, id)).plain(": not to be had. "), words);
    }
}

/// An answer wherever it is shown: what is not as it should be in full and strong, a figure with what it means.
fn found(session: &Session, id: &str, answer: &Answer) -> Styled {
    match is_odd(answer) {
        true => Styled::new().strong(in_full(session, id, answer)),
        false => Styled::from(said(session.planner.knowledge, id, answer)).then(beside(session, id)),
    }
}

/// An answer in full: the whole label of a state.
fn in_full(session: &Session, id: &str, answer: &Answer) -> String {
    let knowledge = session.planner.knowledge;
    match answer {
        Answer::State(state) => {
            let states = knowledge.states(id).unwrap_or_default();
            states.get(*state).map_or(String::new(), |(_, label)| (*label).to_string())
        }
        other => said(knowledge, id, other),
    }
}

/// What stands beside a figure: at the first levels whether it is as it should be, with the figures that are; and
/// what the motor's data say.
fn beside(session: &Session, id: &str) -> Styled {
    let knowledge = session.planner.knowledge;
    let Some(reading) = knowledge.reading(id) else { return Styled::new() };
    let motor = Some(session.task.motor);
    let data = figures::data(reading, motor).zip(reading.derive.nominal());
    // Where the data speak of something else, such as a least diameter, that is said.
    let of = |key: &str| match reading.id.contains(key) {
        true => String::new(),
        false => format!(", {}", key.replace('-', " ")),
    };
    let data = data.map(|(value, key)| format!("its data say {value}{}", of(key)));
    let verdict = session.meaning(id).filter(|_| session.task.level <= EXPLAINED);
    let sound = figures::sound(reading, motor).filter(|_| verdict.is_some());
    let in_brackets = |parts: Vec<String>| {
        if parts.is_empty() { String::new() } else { format!(" ({})", parts.join("; ")) }
    };
    match verdict {
        Some((0, _)) => {
            let rest = in_brackets(sound.into_iter().chain(data).collect());
            Styled::new().muted(format!(" · as it should be{rest}"))
        }
        Some((_, label)) => {
            let sound = sound.map(|s| format!("as it should be: {s}"));
            let rest = in_brackets(sound.into_iter().chain(data).collect());
            Styled::new().strong(format!(" · {}", lower(verdict_of(label)))).muted(rest)
        }
        None => Styled::new().muted(in_brackets(data.into_iter().collect())),
    }
}

/// What a label says of a figure: its first words, or the rest where these are only a yes.
fn verdict_of(label: &str) -> &str {
    match label.split_once(": ") {
        Some(("Yes" | "Some", rest)) => rest,
        _ => head(label),
    }
}

/// How to look, where the level is one that explains it.
pub fn how(session: &Session, offer: &Offer) -> Option<Text> {
    let knowledge = session.planner.knowledge;
    let words = match (offer.look, offer.parts.as_slice()) {
        (Some(look), _) => look.how.as_str(),
        (None, [(_, ask)]) => ask.how.as_str(),
        _ => "",
    };
    let mut text = Text::new();
    let left: Vec<&str> =
        (offer.parts.iter()).filter(|p| session.is_open(p)).map(|(id, _)| name(knowledge, id)).collect();
    match offer.look {
        Some(look) if left.len() == offer.parts.len() => {
            text.para(Styled::new().strong(&look.question));
        }
        Some(_) => {
            text.item(0, Styled::new().strong("What is left of it: "), left.join(", "));
        }
        None => {}
    }
    text.item(0, Styled::new().muted("How: "), Styled::new().muted(words));
    (session.task.level <= EXPLAINED && !words.is_empty()).then_some(text)
}

/// The motor was let stand.
pub fn stood(minutes: u32) -> Text {
    let mut text = Text::new();
    text.blank();
    text.item(0, Styled::new().good("Done: "), format!("it stood for {minutes} minutes."));
    text
}

/// The hand is stopped.
pub fn stopped(reason: &str) -> Text {
    let mut text = Text::new();
    text.item(0, Styled::new().danger("STOP").plain(": "), reason);
    text.item(
        0,
        Styled::new().warn("! "),
        "Your hand was held back this time. It counts as a risk taken. Find out first, then act.",
    );
    text
}

/// What going on has cost, and whether it was a risk because something was not found out first.
pub fn entered(session: &Session, lost: &[String]) -> Text {
    let knowledge = session.planner.knowledge;
    let stage = &knowledge.stages[session.stage()];
    let mut text = Text::new();
    text.blank();
    text.item(0, Styled::new().good("Done: "), format!("{}.", stage.name));
    if !lost.is_empty() {
        let gone = plural(lost.len(), "thing", "things");
        text.para(format!("{gone} that you have not looked at can't be seen any more."));
    }
    let unasked: Vec<&str> = session
        .done()
        .last()
        .map_or(Vec::new(), |done| done.unasked.iter().map(|id| name(knowledge, id)).collect());
    if !unasked.is_empty() {
        let words =
            format!("you went on without finding out first: {}. It went well this time.", unasked.join(", "));
        text.item(0, Styled::new().warn("A risk taken: "), words);
    }
    text
}

/// A fault is not named any more.
pub fn taken_back(fault: &str) -> Text {
    let mut text = Text::new();
    text.blank();
    text.item(0, Styled::new().good("Taken back: "), format!("{fault} is not named any more."));
    text
}

/// What a work does about each fault (id) that was named: the name of its repair, or nothing.
pub fn handled(knowledge: &Knowledge, faults: &[&str], does: &[Option<&str>]) -> Text {
    let mut text = Text::new();
    for (fault, does) in faults.iter().zip(does) {
        let label = Styled::new().muted(format!("{}: ", fault_name(knowledge, fault)));
        match does {
            Some(repair) => text.item(0, label, lower(repair)),
            None => text.item(0, label, Styled::new().warn("this work leaves it as it is")),
        };
    }
    text
}

/// What was named so far.
pub fn naming(knowledge: &Knowledge, named: &[crate::drill::session::Named]) -> Text {
    let mut text = Text::new();
    let one = |n: &crate::drill::session::Named| {
        format!("{} {:.0} %", fault_name(knowledge, &n.fault), n.chance * 100.0)
    };
    if !named.is_empty() {
        let all: Vec<String> = named.iter().map(one).collect();
        text.item(0, Styled::new().muted("Named so far: "), all.join(", "));
    }
    text
}
