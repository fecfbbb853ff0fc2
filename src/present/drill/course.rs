//! The course, its lessons, and what comes next.

use serde_json::{Value, json};

use super::fault_name;
use crate::drill::record::{Next, Progress};
use crate::knowledge::{Course, Knowledge, Lesson};
use crate::present::text::{Align, Styled, Table, Text, plural};

/// A mark in points of 100.
pub fn points(mark: f64) -> String {
    format!("{:.0}", mark * 100.0)
}

fn result(best: &Option<(f64, bool)>) -> Styled {
    match best {
        None => Styled::new().muted("-"),
        Some((mark, true)) => Styled::new().good(format!("{} passed", points(*mark))),
        Some((mark, false)) => Styled::new().warn(format!("{} not yet", points(*mark))),
    }
}

fn lessons<'k>(
    knowledge: &'k Knowledge,
    progress: &'k Progress,
) -> impl Iterator<Item = (&'k Lesson, &'k Option<(f64, bool)>)> {
    progress.lessons.iter().filter_map(|(id, best)| Some((knowledge.lesson(id)?, best)))
}

fn topic<'k>(knowledge: &'k Knowledge, lesson: &'k Lesson) -> &'k str {
    knowledge.topic(&lesson.topic).map_or(lesson.topic.as_str(), |t| t.name.as_str())
}

/// The course as it stands for a trainee, and how to go on.
pub fn overview(
    knowledge: &Knowledge,
    course: &Course,
    progress: &Progress,
    trainee: &str,
    begun: Option<&str>,
    command: &str,
) -> Text {
    let mut text = Text::new();
    text.heading(Styled::new().title("Drill · ").title(trainee));
    text.para(
        Styled::new()
            .strong(&course.title)
            .plain(format!(". A lesson is passed from {} points of 100 on.", points(course.pass))),
    );
    let mut table = Table::new(&[
        ("", Align::Right),
        ("lesson", Align::Left),
        ("about", Align::Left),
        ("mark", Align::Left),
    ]);
    for (n, (lesson, best)) in lessons(knowledge, progress).enumerate() {
        table.row(vec![
            (n + 1).to_string().into(),
            Styled::new().strong(&lesson.title),
            topic(knowledge, lesson).into(),
            result(best),
        ]);
    }
    text.table(0, table);
    match begun {
        Some(title) => {
            text.item(0, Styled::new().strong("Begun: "), format!("{title}. Go on with: {command}"));
        }
        None => {
            text.append(next(knowledge, progress, command));
        }
    }
    text
}

/// What comes next.
pub fn next(knowledge: &Knowledge, progress: &Progress, command: &str) -> Text {
    let mut text = Text::new();
    let title = |id: &str| knowledge.lesson(id).map_or(id.to_owned(), |l| l.title.clone());
    let words = match &progress.next {
        Next::Lesson(id) => format!("{}. Take it with: {command}", title(id)),
        Next::Again(id, confusion) => format!(
            "{}, because you take “{}” for “{}”. Take it with: {command}",
            title(id),
            fault_name(knowledge, &confusion.there),
            fault_name(knowledge, &confusion.named)
        ),
        Next::Drawn(level, topic) => {
            let name = topic.as_deref().and_then(|t| knowledge.topic(t)).map(|t| t.name.to_lowercase());
            let about = name.map_or(String::new(), |n| format!(" about {n}"));
            let course = if progress.passed() { "The course is passed. " } else { "" };
            format!("{course}A drawn motor of level {level}{about}. Take it with: {command}")
        }
    };
    text.item(0, Styled::new().strong("Next: "), words);
    text
}

/// How a trainee stands after all lessons so far: calibration and confusions. Nothing before the first statement.
pub fn so_far(knowledge: &Knowledge, progress: &Progress) -> Option<Text> {
    let (brier, off) = (progress.brier?, progress.calibration_error?);
    let mut text = Text::new();
    text.heading("Your lessons so far");
    text.para("When you say how sure you are, this is how often it came true:");
    let mut table = Table::new(&[
        ("you said about", Align::Right),
        ("it came true", Align::Right),
        ("times", Align::Right),
    ]);
    for bin in &progress.calibration {
        table.row(vec![
            format!("{} %", points(bin.said)).into(),
            Styled::new().strong(format!("{} %", points(bin.came))),
            bin.count.to_string().into(),
        ]);
    }
    text.table(2, table);
    let lean: f64 = progress.calibration.iter().map(|b| b.count as f64 * (b.said - b.came)).sum();
    // The sum of as many throws scatters by this much even where every chance was stated rightly.
    let chance = progress.stated.iter().map(|(p, _)| p * (1.0 - p)).sum::<f64>().sqrt();
    let verdict = match lean / progress.stated.len().max(1) as f64 {
        _ if progress.stated.len() < ENOUGH => "A few more lessons will show how well the two agree.",
        _ if lean.abs() <= SCATTER * chance => "The two agree as well as so few statements can show.",
        x if x > LEANS => "You are surer than you should be.",
        x if x < -LEANS => "You may trust yourself more.",
        _ => "The two agree well.",
    };
    text.para(verdict);
    text.para(Styled::new().muted(format!(
        "On average they are {} points apart; Brier score {brier:.3} (0 is perfect, 0.25 is guessing at 50 %).",
        points(off)
    )));
    if !progress.confusions.is_empty() {
        text.blank();
    }
    for c in progress.confusions.iter().take(3) {
        let (there, named) = (fault_name(knowledge, &c.there), fault_name(knowledge, &c.named));
        let times = plural(c.times, "time", "times");
        text.item(0, Styled::new().warn("You take: "), format!("“{there}” for “{named}” ({times})."));
    }
    Some(text)
}

/// Statements before which nothing is said about how somebody leans.
const ENOUGH: usize = 10;
/// Standard deviations within which a lean may be chance.
const SCATTER: f64 = 2.0;
/// A mean difference between what was said and what came true that is worth a word.
const LEANS: f64 = 0.1;

/// All lessons with their ids.
pub fn list(knowledge: &Knowledge, course: &Course, progress: &Progress) -> Text {
    let mut text = Text::new();
    let mut table = Table::new(&[
        ("lesson", Align::Left),
        ("title", Align::Left),
        ("about", Align::Left),
        ("level", Align::Right),
        ("mark", Align::Left),
    ]);
    let mut row = |lesson: &Lesson, mark: Styled| {
        table.row(vec![
            Styled::new().strong(&lesson.id),
            lesson.title.as_str().into(),
            topic(knowledge, lesson).into(),
            lesson.level.to_string().into(),
            mark,
        ]);
    };
    for (lesson, best) in lessons(knowledge, progress) {
        row(lesson, result(best));
    }
    // Lessons outside of the course stand below it.
    for lesson in knowledge.lessons.iter().filter(|l| !course.lessons.contains(&l.id)) {
        let mark = match progress.mark_of(&lesson.id) {
            None => Styled::new().muted("not in the course"),
            best => result(&best).muted(" *"),
        };
        row(lesson, mark);
    }
    text.table(0, table);
    if !progress.others.is_empty() {
        text.para(Styled::new().muted("* not in the course"));
    }
    text
}

/// The same as a document.
pub fn json(knowledge: &Knowledge, course: &Course, progress: &Progress, trainee: &str) -> Value {
    let lessons: Vec<Value> = (knowledge.lessons.iter())
        .map(|l| {
            let best = progress.mark_of(&l.id);
            json!({
                "id": l.id, "title": l.title, "topic": l.topic, "level": l.level,
                "in_course": course.lessons.contains(&l.id),
                "mark": best.map(|b| b.0), "passed": best.is_some_and(|b| b.1),
            })
        })
        .collect();
    json!({
        "format": "commsense/lessons/1", "trainee": trainee, "course": course.id, "pass": course.pass,
        "lessons": lessons, "next": next_json(&progress.next),
    })
}

/// What comes next, for a document.
pub fn next_json(next: &Next) -> Value {
    match next {
        Next::Lesson(id) => json!({"lesson": id}),
        Next::Again(id, c) => json!({"lesson": id, "because": {"there": c.there, "named": c.named}}),
        Next::Drawn(level, topic) => json!({"level": level, "topic": topic}),
    }
}
