//! `commsense procedure`: one repair, to be followed at the bench.

use super::desk::{Desk, unknown_id};
use super::exit::Failure;
use super::show;
use crate::knowledge::{Entry, Knowledge};

/// What stands at the beginning of its help.
pub const EXAMPLES: &str = "Example: commsense procedure fit-new-brushes";

/// The options of `procedure`.
#[derive(Debug, clap::Args)]
pub struct Procedure {
    /// The repair, as `commsense knowledge list repairs` names it
    pub id: String,
}

/// Shows the procedure.
///
/// # Errors
/// When there is no such repair, or the knowledge is wrong.
pub fn run(args: &Procedure, desk: &Desk) -> Result<(), Failure> {
    let knowledge = desk.knowledge()?;
    match knowledge.repair(&args.id) {
        Some(repair) => desk.show(&show::repair::procedure(&knowledge, repair)),
        None => Err(no_repair(&knowledge, &args.id)),
    }
}

/// There is no such repair; if it is something that repairs belong to, say which ones.
fn no_repair(k: &Knowledge, id: &str) -> Failure {
    let ids: Vec<&str> = match k.entry(id) {
        Some(Entry::Fault(f)) => k
            .repairs
            .iter()
            .filter(|r| r.removes.iter().any(|x| x.fault == f.id))
            .map(|r| r.id.as_str())
            .collect(),
        Some(Entry::Scope(s)) => s.always.iter().chain(&s.as_needed).map(String::as_str).collect(),
        _ => {
            let known: Vec<&str> = k.repairs.iter().map(|r| r.id.as_str()).collect();
            return unknown_id(k, "repair", id, &known);
        }
    };
    Failure::input(format!("`{id}` is not a repair")).help(format!("Its repairs are: {}", ids.join(", ")))
}
