//! `commsense triage`: from a complaint to a ranking, a scope of work and repair steps.

use std::path::PathBuf;

use super::consult::{Consultation, Ticket};
use super::desk::{Desk, unknown_id};
use super::exit::Failure;
use super::guard;
use crate::case::{self, Answer, Case, Warning, complaint};
use crate::inference::InferenceError;
use crate::knowledge::{Knowledge, nearest};
use crate::network;
use crate::plan::assess::{Assessment, Planner};
use crate::plan::moment;
use crate::present::text::{Styled, Text};
use crate::present::triage::{Report, gather, json, text};

/// What stands at the beginning of its help.
pub const EXAMPLES: &str = "\
Examples:
  commsense triage                       ask, and save the answers as a new case
  commsense triage 2026-0142.yaml        go on with a case
  commsense triage 2026-0142.yaml --json --answer power-loss=severe
                                         never ask, print the ranking as JSON";

/// For how many leading faults the evidence is listed when nobody says.
const USUAL_TOP: usize = 5;

/// The options of `triage`.
#[derive(Debug, clap::Args)]
pub struct Triage {
    /// The case file; when questions are asked, it is made if it does not exist
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
    /// For how many leading faults the evidence is listed
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub top: Option<u16>,
    /// Never ask; print one JSON document
    #[arg(long)]
    pub json: bool,
}

/// Runs it.
///
/// # Errors
/// When the case, an answer or the knowledge is wrong, or when it is interrupted.
pub fn run(args: Triage, desk: &Desk) -> Result<(), Failure> {
    let knowledge = desk.knowledge()?;
    let prompter = if args.json { None } else { desk.prompter() };
    let mut case = opened(&args, &knowledge, prompter.is_some())?;
    given(&args, &knowledge, &mut case)?;
    let network = network::compile(&knowledge);
    let planner = Planner::new(&knowledge, network.belief().clone()).map_err(refused)?;
    let top = args.top.map_or(USUAL_TOP, usize::from);
    let Some(mut prompter) = prompter else {
        if args.case.is_none() && args.answers.is_empty() && !args.json {
            return Err(Failure::input("there is nobody to ask and nothing to work from")
                .help("Name a case file, or give answers: commsense triage --answer power-loss=severe")
                .help("To be asked through a pipe, add --line"));
        }
        return once(&planner, &case, top, args.json, desk);
    };
    let path = args.case.clone().unwrap_or_else(|| free_name(&case));
    let mut ticket = Ticket::new(&path, &knowledge).over(desk.folder.as_deref());
    guard::set_farewell(ticket.farewell());
    Consultation::new(&planner, case, &mut ticket, prompter.as_mut(), top).run()
}

/// Works from the case alone and prints the result.
fn once(planner: &Planner, case: &Case, top: usize, as_json: bool, desk: &Desk) -> Result<(), Failure> {
    let (assessment, mut warnings) = assess(planner, case)?;
    if !case.complaint.trim().is_empty() && case.answers.is_empty() {
        warnings.extend(heard(planner.knowledge, &case.complaint));
    }
    let report = gather(&assessment, case, warnings, top).map_err(refused)?;
    let stage = &planner.knowledge.stages[assessment.moment.stage].id;
    if as_json {
        let document = json::write(&report, case.motor.as_deref(), stage);
        let text = serde_json::to_string_pretty(&document)
            .map_err(|e| Failure::input(format!("cannot write the result as JSON: {e}")))?;
        return desk.print(&text);
    }
    desk.show(&text::result(&report, &title(case)))
}

/// What the owner's words suggest; without somebody to confirm it, it is no evidence.
fn heard(knowledge: &Knowledge, words: &str) -> Vec<Warning> {
    let found = complaint::matches(knowledge, words);
    let say = |m: complaint::Match| {
        let states = knowledge.states(&m.id).unwrap_or_default();
        let state = states.get(m.state).map_or("", |(id, _)| *id);
        let text = format!(
            "The owner's words “{}” may mean {}={state}. It is not counted until it is answered.",
            m.words, m.id
        );
        Warning { id: m.id, text }
    };
    found.into_iter().map(say).collect()
}

/// A case thought through, with what the person should know about its answers.
///
/// # Errors
/// When the answers are impossible together or too many abnormal ones are open.
pub fn assess<'p, 'k>(
    planner: &'p Planner<'k>,
    case: &Case,
) -> Result<(Assessment<'p, 'k>, Vec<Warning>), Failure> {
    let (moment, warnings) = moment::of(planner, case);
    Ok((planner.assess(moment).map_err(refused)?, warnings))
}

/// The case at the start: read from its file, or new.
fn opened(args: &Triage, knowledge: &Knowledge, may_be_new: bool) -> Result<Case, Failure> {
    let Some(path) = &args.case else { return Ok(Case::default()) };
    match case::load(path, knowledge) {
        Ok(case) => Ok(case),
        Err(case::LoadError::Missing { .. }) if may_be_new => {
            let name = path.file_stem().map(|s| s.to_string_lossy().into_owned());
            Ok(Case { case: name.unwrap_or_default(), ..Case::default() })
        }
        Err(error @ case::LoadError::Missing { .. }) => Err(Failure::input(error.to_string())
            .help("It is made only where questions are asked: on a terminal, or with --line")
            .help("To work from --answer alone, name no case file")),
        Err(error) => Err(Failure::input(error.to_string())),
    }
}

/// Lays what the command line says over the case.
fn given(args: &Triage, knowledge: &Knowledge, case: &mut Case) -> Result<(), Failure> {
    if let Some(motor) = &args.motor {
        if knowledge.motor(motor).is_none() {
            let known: Vec<&str> = knowledge.motors.iter().map(|m| m.id.as_str()).collect();
            return Err(unknown_id(knowledge, "motor", motor, &known)
                .help("See them with: commsense knowledge list motors"));
        }
        case.motor = Some(motor.clone());
    }
    if let Some(stage) = &args.stage {
        if knowledge.stage_index(stage).is_none() {
            let known: Vec<&str> = knowledge.stages.iter().map(|s| s.id.as_str()).collect();
            let failure = Failure::input(format!("there is no stage `{stage}`"));
            let near = nearest(stage, known.iter().copied()).map(|n| format!("Did you mean `{n}`? "));
            return Err(failure.help(format!(
                "{}The stages are: {}",
                near.unwrap_or_default(),
                known.join(", ")
            )));
        }
        case.stage = Some(stage.clone());
    }
    for text in &args.answers {
        let (id, answer) = Answer::read_pair(knowledge, text)
            .map_err(|e| Failure::input(format!("--answer {text}: {e}")))?;
        case.answer(&id, answer);
    }
    Ok(())
}

/// An exact answer that can't be had, in a failure that says what to do.
pub fn refused(error: InferenceError) -> Failure {
    let failure = Failure::input(error.to_string());
    match error {
        InferenceError::ImpossibleEvidence { .. } => {
            failure.help("Take one of them back, or answer `unknown` where it is not certain")
        }
        _ => failure,
    }
}

/// The title of a result.
pub fn title(case: &Case) -> String {
    match case.case.trim() {
        "" => "Result".into(),
        name => format!("Result · {name}"),
    }
}

/// A file name in this folder that is not taken yet.
fn free_name(case: &Case) -> PathBuf {
    let stem: String =
        (case.case.chars()).map(|c| if c.is_alphanumeric() || c == '-' { c } else { '-' }).collect();
    let stem = if stem.trim_matches('-').is_empty() { "case".into() } else { stem };
    (1..)
        .map(|n| PathBuf::from(format!("{stem}-{n}.yaml")))
        .find(|p| std::fs::symlink_metadata(p).is_err())
        .unwrap_or_else(|| PathBuf::from(format!("{stem}.yaml")))
}

/// Says what the result rests on, where a person reads it.
pub fn result(report: &Report, case: &Case) -> Text {
    text::result(report, &title(case))
}

/// A line of talk.
pub fn note(words: impl AsRef<str>) -> Text {
    Text::from(Styled::new().muted(words))
}
