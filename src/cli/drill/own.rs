//! A lesson that an instructor wrote: found mistakes, taken by the expert, and from its file to paper.

use std::io::IsTerminal;
use std::path::Path;

use super::super::desk::Desk;
use super::super::exit::Failure;
use super::super::triage::refused;
use crate::case::BenchUnits;
use crate::drill::debrief::{Debrief, debrief};
use crate::drill::expert;
use crate::drill::session::Session;
use crate::drill::task::Task;
use crate::drill::written::{against, undone};
use crate::knowledge::{Course, Knowledge, Layer, Lesson, Loaded, line_form, load, snippet_form, summary};
use crate::network;
use crate::plan::assess::Planner;
use crate::present::drill::fault_name;
use crate::present::drill::own::{lost, speaks_against};
use crate::present::text::{Styled, Text, minutes};

/// Bytes of the largest lesson that is read.
const LARGEST: u64 = 1 << 20;

/// Whether a word on the command line is meant as a file and not as an id.
pub(super) fn is_file(word: &str) -> bool {
    word.contains(['/', '\\']) || word.ends_with(".yaml") || word.ends_with(".yml")
}

/// A file over the knowledge in use.
struct Own {
    shown: String,
    loaded: Loaded,
    /// Ids of the lessons that the knowledge has only with it, or has otherwise without it.
    lessons: Vec<String>,
}

impl Own {
    fn read(file: &Path, desk: &Desk) -> Result<Own, Failure> {
        let shown = file.display().to_string();
        let unreadable = |why: String| Failure::input(format!("can't read `{shown}`: {why}"));
        let size = std::fs::metadata(file).map_err(|e| unreadable(e.to_string()))?.len();
        if size > LARGEST {
            return Err(unreadable(format!("it has more than {LARGEST} bytes")));
        }
        let bytes = std::fs::read(file).map_err(|e| unreadable(e.to_string()))?;
        let text = String::from_utf8(bytes).map_err(|_| unreadable("this is not UTF-8 text".into()))?;
        let mut layers = desk.layers();
        let before = load(&layers, &BenchUnits).knowledge.unwrap_or_default();
        layers.push(Layer::memory([(shown.clone(), text)]));
        let loaded = load(&layers, &BenchUnits);
        let all = loaded.knowledge.iter().flat_map(|k| &k.lessons);
        let lessons = all.filter(|l| before.lesson(&l.id) != Some(*l)).map(|l| l.id.clone()).collect();
        Ok(Own { shown, loaded, lessons })
    }

    fn count(&self) -> String {
        format!("{}: {}", self.shown, summary(&self.loaded.diagnostics))
    }

    fn none(&self) -> Failure {
        Failure::input(format!("{}: there is no new lesson in this file", self.shown))
            .help("Write one under `lessons:`; see the README of the knowledge.")
    }
}

/// Checks the lessons of one file over the knowledge in use, and lets the expert take them.
pub(super) fn check(file: &Path, desk: &Desk) -> Result<(), Failure> {
    let own = Own::read(file, desk)?;
    let brief = !std::io::stdout().is_terminal();
    for problem in &own.loaded.diagnostics {
        let form = match brief {
            true => line_form(problem, &own.loaded.files),
            false => {
                format!("{}\n", snippet_form(problem, &own.loaded.files, desk.appearance.color_stdout))
            }
        };
        desk.print(&form)?;
    }
    let Some(knowledge) = &own.loaded.knowledge else { return Err(Failure::input(own.count())) };
    if own.lessons.is_empty() && own.loaded.diagnostics.is_empty() {
        return Err(own.none());
    }
    let planner = Planner::new(knowledge, network::compile(knowledge).belief().clone()).map_err(refused)?;
    let mut hidden = 0;
    for lesson in knowledge.lessons.iter().filter(|l| own.lessons.contains(&l.id)) {
        let Some(course) = knowledge.courses.first() else { continue };
        hidden += usize::from(!is_passed_by_the_expert(&planner, lesson, course, &own.shown, desk)?);
    }
    if hidden > 0 {
        desk.say(&Text::from(
            "What the expert does not find out, no trainee can. Give the motor more to show.",
        ))?;
    }
    match own.loaded.diagnostics.is_empty() {
        true => desk.say(&Text::from(Styled::new().good(own.count()))),
        false => Err(Failure::input(own.count())),
    }
}

/// Lets the expert take a lesson, and says how it went and what of the lesson does not fit together.
fn is_passed_by_the_expert(
    planner: &Planner,
    lesson: &Lesson,
    course: &Course,
    shown: &str,
    desk: &Desk,
) -> Result<bool, Failure> {
    let knowledge = planner.knowledge;
    let task = Task::of_lesson(planner, lesson, 1).map_err(|e| {
        Failure::input(format!("{shown}: the motor of `{}` can't be drawn: {e}", lesson.id))
            .help("Look at its faults and its history: the network gives them no chance together.")
    })?;
    for words in speaks_against(knowledge, &against(planner, lesson)) {
        desk.say(&Text::from(Styled::new().warn(format!("`{}`: {words}", lesson.id))))?;
    }
    for words in undone(knowledge, &planner.net, lesson, &task.specimen) {
        desk.say(&Text::from(Styled::new().warn(format!("`{}`: {words}", lesson.id))))?;
    }
    let master = expert::walk(planner, task).map_err(refused)?;
    let look = debrief(&master, course).map_err(refused)?;
    let words = result(knowledge, lesson, &master, &look);
    let passed = look.mark.passed;
    desk.say(&Text::from(if passed { Styled::new().good(words) } else { Styled::new().warn(words) }))?;
    for words in lost(knowledge, course, &look) {
        let mut text = Text::new();
        text.item(2, "- ", words);
        desk.say(&text)?;
    }
    Ok(passed)
}

fn result(knowledge: &Knowledge, lesson: &Lesson, master: &Session, look: &Debrief) -> String {
    let named: Vec<String> = (look.named.iter().filter(|n| n.1 >= 0.5))
        .map(|(id, chance, _)| format!("{} {:.0} %", fault_name(knowledge, id), chance * 100.0))
        .collect();
    let named = if named.is_empty() { "nothing".to_owned() } else { named.join(", ") };
    let points = look.mark.whole * 100.0;
    let time = minutes(master.minutes());
    format!("`{}`: the expert names {named} after {time}, and gets {points:.0} points", lesson.id)
}

/// The knowledge with the file, and the id of its only lesson.
///
/// # Errors
/// When the file has mistakes, no lesson or several.
pub(super) fn lesson_of(file: &str, desk: &Desk) -> Result<(Knowledge, String), Failure> {
    let mut own = Own::read(Path::new(file), desk)?;
    let Some(knowledge) = own.loaded.knowledge.take() else {
        return Err(Failure::input(own.count())
            .help(format!("See where, and what would be right, with: commsense drill check {file}")));
    };
    match own.lessons.as_slice() {
        [only] => Ok((knowledge, only.clone())),
        [] => Err(own.none()),
        several => Err(Failure::input(format!("{file} has {} lessons", several.len())).help(format!(
            "Keep one lesson a file, or put it into a folder and name one: commsense drill paper {} --knowledge FOLDER",
            several[0]
        ))),
    }
}

/// What to do with a file that is to be taken: its lesson has to be found again when it is gone on with.
pub(super) fn not_to_take(file: &str, desk: &Desk) -> Failure {
    match lesson_of(file, desk) {
        Err(failure) => failure,
        Ok((_, id)) => Failure::input(format!("{file} is a file, and a lesson is taken by its id")).help(
            format!("Put the file into a folder and name both: commsense drill take {id} --knowledge FOLDER"),
        ),
    }
}
