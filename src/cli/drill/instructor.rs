//! The instructor's side: checking a lesson, printing it, and how the class stands.

use std::io::{IsTerminal, Write as _};
use std::path::Path;

use serde_json::Value;

use super::super::desk::Desk;
use super::super::exit::Failure;
use super::super::triage::refused;
use super::{School, record_failure, task_failure};
use crate::case::BenchUnits;
use crate::case::store::plain;
use crate::drill::record::{Progress, Record, What};
use crate::drill::scopes::verdicts;
use crate::drill::session::Session;
use crate::drill::task::Task;
use crate::drill::{debrief, expert};
use crate::knowledge::{Layer, line_form, load, snippet_form, summary};
use crate::network;
use crate::plan::assess::Planner;
use crate::present::drill::paper::{self, Key};
use crate::present::drill::{fault_name, page, report as class};
use crate::present::text::{Styled, Text, minutes};

/// Bytes of the largest lesson that is read.
const LARGEST: u64 = 1 << 20;

/// Checks the lessons of one file over the knowledge in use, and lets the expert take them.
pub(super) fn check(file: &Path, desk: &Desk) -> Result<(), Failure> {
    let shown = file.display().to_string();
    let unreadable = |why: String| Failure::input(format!("can't read `{shown}`: {why}"));
    let size = std::fs::metadata(file).map_err(|e| unreadable(e.to_string()))?.len();
    if size > LARGEST {
        return Err(unreadable(format!("it has more than {LARGEST} bytes")));
    }
    let bytes = std::fs::read(file).map_err(|e| unreadable(e.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|_| unreadable("this is not UTF-8 text".into()))?;
    let mut layers = vec![Layer::builtin()];
    layers.extend(desk.folder.as_deref().map(Layer::directory));
    layers.push(Layer::memory([(shown.clone(), text)]));
    let loaded = load(&layers, &BenchUnits);
    let brief = !std::io::stdout().is_terminal();
    for problem in &loaded.diagnostics {
        let form = match brief {
            true => line_form(problem, &loaded.files),
            false => format!("{}\n", snippet_form(problem, &loaded.files, desk.appearance.color_stdout)),
        };
        desk.print(&form)?;
    }
    let count = format!("{shown}: {}", summary(&loaded.diagnostics));
    let Some(knowledge) = loaded.knowledge else { return Err(Failure::input(count)) };
    // The lessons of this file are those that the knowledge has only with it, or has otherwise without it.
    let before = load(&layers[..layers.len() - 1], &BenchUnits).knowledge.unwrap_or_default();
    let own: Vec<_> = knowledge.lessons.iter().filter(|l| before.lesson(&l.id) != Some(*l)).collect();
    if own.is_empty() && loaded.diagnostics.is_empty() {
        return Err(Failure::input(format!("{shown}: there is no new lesson in this file"))
            .help("Write one under `lessons:`; see the README of the knowledge."));
    }
    let planner = Planner::new(&knowledge, network::compile(&knowledge).belief().clone()).map_err(refused)?;
    let mut hidden = 0;
    for lesson in own {
        let task = Task::of_lesson(&planner, lesson, 1).map_err(|e| {
            Failure::input(format!("{shown}: the motor of `{}` can't be drawn: {e}", lesson.id))
                .help("Look at its faults and its history: the network gives them no chance together.")
        })?;
        let master = expert::walk(&planner, task).map_err(refused)?;
        let Some(course) = knowledge.courses.first() else { continue };
        let look = debrief::debrief(&master, course).map_err(refused)?;
        let named: Vec<String> = (look.named.iter().filter(|n| n.1 >= 0.5))
            .map(|(id, chance, _)| format!("{} {:.0} %", fault_name(&knowledge, id), chance * 100.0))
            .collect();
        let named = if named.is_empty() { "nothing".to_owned() } else { named.join(", ") };
        let words = format!(
            "`{}`: the expert names {named} after {}, and gets {:.0} points",
            lesson.id,
            minutes(master.minutes()),
            look.mark.whole * 100.0
        );
        hidden += usize::from(!look.mark.passed);
        let styled = if look.mark.passed { Styled::new().good(words) } else { Styled::new().warn(words) };
        desk.say(&Text::from(styled))?;
    }
    if hidden > 0 {
        desk.say(&Text::from(
            "What the expert does not find out, no trainee can. Give the motor more to show.",
        ))?;
    }
    match loaded.diagnostics.is_empty() {
        true => desk.say(&Text::from(Styled::new().good(count))),
        false => Err(Failure::input(count)),
    }
}

/// Prints a lesson or a drawn motor as a page.
pub(super) fn paper(school: &School, what: What, seed: u64, answers: bool) -> Result<(), Failure> {
    let knowledge = school.knowledge;
    let planner = Planner::new(knowledge, network::compile(knowledge).belief().clone()).map_err(refused)?;
    let record = Record::new("", what, seed);
    let session = Session::new(&planner, record.task(&planner).map_err(task_failure)?);
    let title = record.title(knowledge);
    if !answers {
        return school.desk.print(&paper::sheet(&session, &title, None));
    }
    let expert = expert::walk(&planner, session.task.clone()).map_err(refused)?;
    let best = verdicts(&planner, &session.task, 0);
    let key = Key { expert: &expert, best: &best };
    school.desk.print(&paper::sheet(&session, &title, Some(key)))
}

/// How all trainees of the folder stand.
pub(super) fn report(school: &School, json: bool, html: Option<&Path>) -> Result<(), Failure> {
    let course = school.course()?;
    let mut rows = Vec::new();
    for name in school.shelf.trainees().map_err(record_failure)? {
        let (kept, wrong) = school.shelf.of(&name, school.knowledge).map_err(record_failure)?;
        for problem in wrong {
            let words = format!("A lesson is left out. {problem}");
            school.desk.say(&Text::from(Styled::new().warn(words)))?;
        }
        if !kept.is_empty() {
            let records = kept.iter().map(|k| &k.record);
            rows.push((name, Progress::of(records, course, school.knowledge)));
        }
    }
    if let Some(path) = html {
        let failed =
            |e: std::io::Error| Failure::input(format!("can't write `{}`: {}", path.display(), plain(&e)));
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let mut new = tempfile::NamedTempFile::new_in(folder).map_err(failed)?;
        new.write_all(page::class(school.knowledge, course, &rows).as_bytes()).map_err(failed)?;
        new.persist(path).map_err(|e| failed(e.error))?;
        let words = format!("The page is written to {}.", path.display());
        school.desk.say(&Text::from(Styled::new().muted(words)))?;
        if !json {
            return Ok(());
        }
    }
    match json {
        true => school.desk.print(&document(&class::json(course, &rows))?),
        false => school.desk.show(&class::text(school.knowledge, course, &rows)),
    }
}

/// A document as it is printed.
pub(super) fn document(value: &Value) -> Result<String, Failure> {
    serde_json::to_string_pretty(value).map_err(|e| Failure::input(format!("cannot write JSON: {e}")))
}
