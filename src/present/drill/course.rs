//! The course, its lessons, and what comes next.

use serde_json::{Value, json};

use super::fault_name;
use crate::drill::record::{Next, Progress};
use crate::knowledge::{Course, Knowledge, Lesson};
use crate::present::text::{Align, Styled, Table, Text};

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
        row(lesson, Styled::new().muted("not in the course"));
    }
    text.table(0, table);
    text
}

/// The same as a document.
pub fn json(knowledge: &Knowledge, course: &Course, progress: &Progress, trainee: &str) -> Value {
    let best = |id: &str| progress.lessons.iter().find(|(l, _)| l == id).and_then(|(_, best)| *best);
    let lessons: Vec<Value> = (knowledge.lessons.iter())
        .map(|l| {
            let best = best(&l.id);
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
