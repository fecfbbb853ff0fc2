//! `commsense triage`: the consultation.

use std::path::PathBuf;

use super::desk::Desk;
use super::exit::Failure;

/// What stands at the beginning of its help.
pub const EXAMPLES: &str = "\
Examples:
  commsense triage                       ask, and save the answers as a new case
  commsense triage 2026-0142.yaml        go on with a case
  commsense triage 2026-0142.yaml --json --answer power-loss=severe
                                         never ask, print the ranking as JSON";

/// The options of `triage`.
#[derive(Debug, clap::Args)]
pub struct Triage {
    /// The case file; it is made if it does not exist
    pub case: Option<PathBuf>,
    /// An answer: the state of a factor or observation, a reading with its unit, or `unknown`
    #[arg(long = "answer", value_name = "ID=VALUE")]
    pub answers: Vec<String>,
    /// The motor, as `commsense knowledge list motors` names it
    #[arg(long, value_name = "ID")]
    pub motor: Option<String>,
    /// The stage that the work has reached
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
    /// How many faults and questions to show
    #[arg(long, value_name = "N")]
    pub top: Option<usize>,
    /// Never ask; print one JSON document
    #[arg(long)]
    pub json: bool,
}

/// Runs it.
///
/// # Errors
/// When the case, an answer or the knowledge is wrong, or when it is interrupted.
pub fn run(args: Triage, desk: &Desk) -> Result<(), Failure> {
    let _ = (args, desk.knowledge()?);
    Err(Failure::input("the consultation is not part of this build"))
}
