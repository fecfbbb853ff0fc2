//! How the trainees of a folder stand: as text and as a document.

use serde_json::{Value, json};

use super::course::{next_json, points};
use super::{caution_name, fault_name};
use crate::drill::record::{Next, Progress};
use crate::knowledge::{Course, Knowledge};
use crate::present::text::{Align, Styled, Table, Text, plural};

/// A trainee by name, and how he or she stands.
pub type Row = (String, Progress);

/// How many lessons of the course are passed.
pub(super) fn passed(progress: &Progress) -> usize {
    progress.lessons.iter().filter(|(_, best)| best.is_some_and(|b| b.1)).count()
}

/// The report as text.
pub fn text(knowledge: &Knowledge, course: &Course, rows: &[Row]) -> Text {
    let mut text = Text::new();
    text.heading(Styled::new().title("Class report · ").title(&course.title));
    if rows.is_empty() {
        text.para("No trainee has begun a lesson in this folder.");
        return text;
    }
    let mut table = Table::new(&[
        ("trainee", Align::Left),
        ("passed", Align::Right),
        ("ended", Align::Right),
        ("risks", Align::Right),
        ("pace", Align::Right),
        ("Brier", Align::Right),
        ("off by", Align::Right),
        ("next", Align::Left),
    ]);
    for (name, p) in rows {
        let figure = |x: Option<f64>| x.map_or("-".to_owned(), |x| format!("{x:.2}"));
        table.row(vec![
            Styled::new().strong(name),
            format!("{}/{}", passed(p), p.lessons.len()).into(),
            p.ended.to_string().into(),
            p.risks.to_string().into(),
            p.pace.map_or("-".to_owned(), |x| format!("{x:.1}x")).into(),
            figure(p.brier).into(),
            figure(p.calibration_error).into(),
            next(&p.next).into(),
        ]);
    }
    text.table(0, table);
    text.para(Styled::new().muted(
        "Pace: minutes over the expert's. Brier: mean squared error of stated chances, 0 is perfect. Off by: how far \
         stated chances lie from what came true.",
    ));
    for (name, p) in rows {
        if p.confusions.is_empty() && p.cautions_missed.is_empty() {
            continue;
        }
        text.subheading(name);
        for c in p.confusions.iter().take(4) {
            let (there, named) = (fault_name(knowledge, &c.there), fault_name(knowledge, &c.named));
            let times = plural(c.times, "time", "times");
            text.item(2, "- ", format!("takes “{there}” for “{named}” ({times})"));
        }
        if !p.cautions_missed.is_empty() {
            let all = p.cautions_missed.iter().take(5);
            let all: Vec<String> =
                all.map(|(id, n)| format!("{} ({n})", caution_name(knowledge, id))).collect();
            text.item(2, "- ", format!("cautions missed: {}", all.join(", ")));
        }
    }
    for id in others(rows) {
        let title = knowledge.lesson(id).map_or(id, |l| l.title.as_str());
        let marks = rows.iter().filter_map(|(name, p)| Some((name, p.mark_of(id)?)));
        let marks: Vec<String> = marks.map(|(name, best)| format!("{name} {}", points(best.0))).collect();
        text.item(0, "Not in the course: ", format!("{title}: {}", marks.join(", ")));
    }
    text.append(hardest(knowledge, rows));
    text
}

/// Lessons outside of the course that somebody has brought to their end (ids).
pub(super) fn others(rows: &[Row]) -> Vec<&str> {
    let mut out: Vec<&str> = Vec::new();
    for (id, _) in rows.iter().flat_map(|(_, p)| &p.others) {
        if !out.contains(&id.as_str()) {
            out.push(id);
        }
    }
    out
}

/// Lessons by their mean best mark over the class.
pub(super) fn means(rows: &[Row]) -> Vec<(String, f64, usize)> {
    let mut out: Vec<(String, f64, usize)> = Vec::new();
    let of = |p: &Progress| {
        let course = p.lessons.iter().filter_map(|(id, best)| Some((id.clone(), best.as_ref()?.0)));
        course.chain(p.others.iter().map(|(id, best)| (id.clone(), best.0))).collect::<Vec<_>>()
    };
    for (id, mark) in rows.iter().flat_map(|(_, p)| of(p)) {
        match out.iter_mut().find(|(other, ..)| *other == id) {
            Some(entry) => {
                entry.1 += mark;
                entry.2 += 1;
            }
            None => out.push((id, mark, 1)),
        }
    }
    out.iter_mut().for_each(|(_, sum, n)| *sum /= *n as f64);
    out
}

fn hardest(knowledge: &Knowledge, rows: &[Row]) -> Text {
    let mut text = Text::new();
    let mut means = means(rows);
    means.sort_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((id, mean, n)) = means.first() {
        let title = knowledge.lesson(id).map_or(id.as_str(), |l| l.title.as_str());
        let who = plural(*n, "trainee", "trainees");
        text.blank();
        text.para(format!(
            "The hardest lesson so far: {title}, {} points on average ({who}).",
            points(*mean)
        ));
    }
    text
}

pub(super) fn next(next: &Next) -> String {
    match next {
        Next::Lesson(id) => id.clone(),
        Next::Again(id, _) => format!("{id} again"),
        Next::Drawn(level, Some(topic)) => format!("level {level}, {topic}"),
        Next::Drawn(level, None) => format!("level {level}"),
    }
}

/// The report as a document.
pub fn json(course: &Course, rows: &[Row]) -> Value {
    let one = |(name, p): &Row| {
        let lessons: Vec<Value> = (p.lessons.iter())
            .map(|(id, best)| json!({"id": id, "mark": best.map(|b| b.0), "passed": best.is_some_and(|b| b.1)}))
            .collect();
        let others: Vec<Value> =
            (p.others.iter()).map(|(id, best)| json!({"id": id, "mark": best.0, "passed": best.1})).collect();
        let confusions: Vec<Value> = (p.confusions.iter())
            .map(|c| json!({"there": c.there, "named": c.named, "times": c.times}))
            .collect();
        let bins: Vec<Value> =
            p.calibration.iter().map(|b| json!({"count": b.count, "said": b.said, "came": b.came})).collect();
        let missed: Vec<Value> =
            p.cautions_missed.iter().map(|(id, n)| json!({"id": id, "times": n})).collect();
        json!({
            "trainee": name, "passed": passed(p), "ended": p.ended, "lessons": lessons, "other_lessons": others, "risks": p.risks,
            "pace": p.pace, "statements": p.stated.len(), "brier": p.brier,
            "calibration_error": p.calibration_error, "calibration": bins, "confusions": confusions,
            "cautions_missed": missed, "course_passed": p.passed(), "next": next_json(&p.next),
        })
    };
    json!({
        "format": "commsense/class/1", "course": course.id, "pass": course.pass,
        "trainees": rows.iter().map(one).collect::<Vec<_>>(),
    })
}
