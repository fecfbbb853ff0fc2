//! The instructor's side: printing a lesson, and how the class stands.

use std::io::Write as _;
use std::path::Path;

use serde_json::Value;

use super::super::desk::Desk;
use super::super::exit::Failure;
use super::super::triage::refused;
use super::{FOLDER, School, record_failure, task_failure};
use crate::case::store::plain;
use crate::drill::expert;
use crate::drill::record::{Progress, Record, What};
use crate::drill::scopes::verdicts;
use crate::drill::session::Session;
use crate::knowledge::Knowledge;
use crate::network;
use crate::plan::assess::Planner;
use crate::present::drill::paper::{self, Key};
use crate::present::drill::{page, report as class};
use crate::present::text::{Styled, Text};

/// Prints a lesson or a drawn motor as a page.
pub(super) fn paper(
    knowledge: &Knowledge,
    what: What,
    seed: u64,
    answers: bool,
    desk: &Desk,
) -> Result<(), Failure> {
    let planner = Planner::new(knowledge, network::compile(knowledge).belief().clone()).map_err(refused)?;
    let record = Record::new("", what, seed);
    let session = Session::new(&planner, record.task(&planner).map_err(task_failure)?);
    let title = record.title(knowledge);
    if !answers {
        return desk.print(&paper::sheet(&session, &title, None));
    }
    let expert = expert::walk(&planner, session.task.clone()).map_err(refused)?;
    let best = verdicts(&planner, &session.task, 0);
    let key = Key { expert: &expert, best: &best };
    desk.print(&paper::sheet(&session, &title, Some(key)))
}

/// How all trainees of the folder stand.
pub(super) fn report(school: &School, json: bool, html: Option<&Path>) -> Result<(), Failure> {
    let course = school.course()?;
    let folder = &school.args.folder;
    // The usual folder need not be there yet; one that was named has to.
    if folder != Path::new(FOLDER) && !folder.exists() {
        let words = format!("there is no folder `{}`", folder.display());
        return Err(Failure::input(words).help("Name the folder in which the lessons are kept."));
    }
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
