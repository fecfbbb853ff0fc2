//! `commsense knowledge`: what the program knows, to look at, to check and to hand on.

mod assess;

use std::io::IsTerminal;
use std::path::PathBuf;

use clap::ValueEnum;
use serde_json::{Value, json};

use super::desk::{Desk, unknown_id};
use super::exit::Failure;
use super::show;
use crate::case::BenchUnits;
use crate::knowledge::{Knowledge, Layer, SCALE, layers_to_check, line_form, load, snippet_form, summary};
use crate::network::compile;
use crate::present;
use crate::present::text::{Align, Styled, Table, Text, minutes, money};

/// What stands at the beginning of its help.
pub const EXAMPLES: &str = "\
Examples:
  commsense knowledge list faults
  commsense knowledge show brush-worn
  commsense knowledge draw brush-worn --format svg > brush-worn.svg
  commsense knowledge check knowledge";

/// The commands that look at the knowledge.
#[derive(Debug, clap::Subcommand)]
pub enum Command {
    /// Find every mistake in a folder of knowledge, with file, line and column
    #[command(before_help = "Example: commsense knowledge check my-knowledge", after_help = super::exit::HELP)]
    Check {
        /// The folder; without it, the built-in knowledge and any named by --knowledge
        dir: Option<PathBuf>,
        /// One line for each problem, as into a file or pipe
        #[arg(long)]
        brief: bool,
    },
    /// List all entries of one kind
    #[command(before_help = "Example: commsense knowledge list observations", after_help = super::exit::HELP)]
    List {
        /// The kind of entry
        kind: Kind,
        /// Print one JSON document
        #[arg(long)]
        json: bool,
    },
    /// Show one entry in full: causes, effects, remedies, and where each number comes from
    #[command(before_help = "Example: commsense knowledge show brush-worn", after_help = super::exit::HELP)]
    Show {
        /// The entry
        id: String,
    },
    /// Draw the network, or the part of it around one entry
    #[command(
        before_help = "Example: commsense knowledge draw brush-worn --format svg > brush-worn.svg",
        after_help = super::exit::HELP
    )]
    Draw {
        /// The entry to draw around; without it, everything
        id: Option<String>,
        /// The form of the picture
        #[arg(long, value_enum, default_value_t = Picture::Svg)]
        format: Picture,
    },
    /// Print the compiled network as JSON, for other programs
    #[command(before_help = "Example: commsense knowledge export > network.json", after_help = super::exit::HELP)]
    Export,
    /// Examine the expert on thousands of simulated motors: what to trust, and what not
    #[command(
        before_help = "Example: commsense knowledge assess --runs 1000 --html assessment.html",
        after_help = super::exit::HELP
    )]
    Assess(assess::Assess),
}

/// Kinds of entries that can be listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// History that the network asks for
    Factors,
    /// What can be wrong
    Faults,
    /// What can be seen, asked or measured
    Observations,
    /// Repair procedures
    Repairs,
    /// Scopes of work
    Scopes,
    /// Cautions
    Cautions,
    /// Motors with their nominal data
    Motors,
    /// Measurements at the bench whose result is computed
    Measurements,
    /// Looks: what is seen together and answered by one question
    Looks,
    /// Readings: figures with a unit, and what they stand for
    Readings,
    /// Stages, from the counter to the open motor
    Stages,
    /// Topics of the drill
    Topics,
    /// Lessons of the drill
    Lessons,
    /// Sources of numbers
    Sources,
    /// Words that can stand for a chance
    Scale,
}

/// Forms of a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Picture {
    /// The graph language DOT
    Dot,
    /// A finished picture
    Svg,
}

/// Runs one of the commands.
///
/// # Errors
/// When the knowledge is wrong, an id is unknown, or the output cannot be written.
pub fn run(command: Command, desk: &Desk) -> Result<(), Failure> {
    match command {
        Command::Check { dir, brief } => check(dir, brief, desk),
        Command::List { kind, json: true } => desk.print(&document(&list_json(kind, &desk.knowledge()?))?),
        Command::List { kind, json: false } => {
            let mut text = Text::new();
            text.table(0, list_table(kind, &desk.knowledge()?));
            desk.show(&text)
        }
        Command::Show { id } => {
            let knowledge = desk.knowledge()?;
            let text = show::entry(&knowledge, &id).ok_or_else(|| no_entry(&knowledge, &id))?;
            desk.show(&text)
        }
        Command::Draw { id, format } => {
            let knowledge = desk.knowledge()?;
            let form = match format {
                Picture::Dot => present::Format::Dot,
                Picture::Svg => present::Format::Svg,
            };
            let picture = present::draw(&knowledge, &compile(&knowledge), id.as_deref(), None, form);
            let id = id.unwrap_or_default();
            desk.print(&picture.ok_or_else(|| not_drawn(&knowledge, &id))?)
        }
        Command::Assess(args) => assess::run(&args, desk),
        Command::Export => desk.print(&document(&compile(&desk.knowledge()?).export())?),
    }
}

/// Problems go to standard output, one after the other; the count goes to standard error.
fn check(dir: Option<PathBuf>, brief: bool, desk: &Desk) -> Result<(), Failure> {
    let (layers, what) = match dir.or_else(|| desk.folder.clone()) {
        Some(dir) => (layers_to_check(Layer::directory(&dir)), dir.display().to_string()),
        None => (vec![Layer::builtin()], "the built-in knowledge".to_string()),
    };
    let loaded = load(&layers, &BenchUnits);
    let brief = brief || !std::io::stdout().is_terminal();
    for problem in &loaded.diagnostics {
        match brief {
            true => desk.print(&line_form(problem, &loaded.files))?,
            false => {
                let coloured = desk.appearance.color_stdout;
                desk.print(&format!("{}\n\n", snippet_form(problem, &loaded.files, coloured)))?;
            }
        }
    }
    let count = format!("{what}: {}", summary(&loaded.diagnostics));
    match loaded.diagnostics.is_empty() {
        true => desk.say(&Text::from(Styled::new().good(count))),
        false => Err(Failure::input(count)),
    }
}

fn document(value: &impl serde::Serialize) -> Result<String, Failure> {
    serde_json::to_string_pretty(value).map_err(|e| Failure::input(format!("cannot write JSON: {e}")))
}

/// Every id that something can be shown for.
fn all_ids(k: &Knowledge) -> Vec<&str> {
    let mut ids: Vec<&str> = Vec::new();
    ids.extend(k.faults.iter().map(|x| x.id.as_str()));
    ids.extend(k.observations.iter().map(|x| x.id.as_str()));
    ids.extend(k.factors.iter().map(|x| x.id.as_str()));
    ids.extend(k.repairs.iter().map(|x| x.id.as_str()));
    ids.extend(k.scopes.iter().map(|x| x.id.as_str()));
    ids.extend(k.readings.iter().map(|x| x.id.as_str()));
    ids.extend(k.cautions.iter().map(|x| x.id.as_str()));
    ids.extend(k.motors.iter().map(|x| x.id.as_str()));
    ids.extend(k.stages.iter().map(|x| x.id.as_str()));
    ids.extend(k.sources.iter().map(|x| x.id.as_str()));
    ids.extend(k.measurements.iter().map(|x| x.id.as_str()));
    ids.extend(k.looks.iter().map(|x| x.id.as_str()));
    ids
}

fn no_entry(k: &Knowledge, id: &str) -> Failure {
    let failure = unknown_id(k, "entry", id, &all_ids(k));
    match failure.help.is_empty() {
        true => failure.help("See what there is with: commsense knowledge list faults"),
        false => failure,
    }
}

fn not_drawn(k: &Knowledge, id: &str) -> Failure {
    match k.entry(id) {
        Some(_) => Failure::input(format!("`{id}` is no part of the network"))
            .help("Drawn are faults, factors, observations, repairs, scopes and cautions."),
        None => no_entry(k, id),
    }
}

fn list_table(kind: Kind, k: &Knowledge) -> Table {
    use Align::{Left, Right};
    let strings = |cells: &[&str]| cells.iter().map(|c| Styled::from(*c)).collect::<Vec<_>>();
    let named = |id: &str| Styled::new().strong(id);
    let mut table = Table::new(match kind {
        Kind::Factors => &[("factor", Left), ("name", Left), ("states", Left)],
        Kind::Faults => &[("fault", Left), ("name", Left), ("group", Left)],
        Kind::Observations => &[("observation", Left), ("name", Left), ("stage", Left), ("time", Right)],
        Kind::Repairs => &[("repair", Left), ("name", Left), ("stage", Left), ("time", Right)],
        Kind::Scopes => &[("scope", Left), ("name", Left), ("always", Left)],
        Kind::Cautions => &[("caution", Left), ("name", Left)],
        Kind::Motors => {
            &[("motor", Left), ("can", Left), ("slots", Right), ("another", Right), ("what it is", Left)]
        }
        Kind::Measurements => &[("measurement", Left), ("what it finds out", Left)],
        Kind::Looks => &[("look", Left), ("time", Right), ("what is seen", Left)],
        Kind::Readings => {
            &[("reading", Left), ("name", Left), ("least", Right), ("greatest", Right), ("stage", Left)]
        }
        Kind::Stages => &[("stage", Left), ("name", Left), ("time", Right)],
        Kind::Topics => &[("topic", Left), ("name", Left), ("groups of faults", Left)],
        Kind::Lessons => &[("lesson", Left), ("title", Left), ("topic", Left), ("level", Right)],
        Kind::Sources => &[("source", Left), ("what it is", Left)],
        Kind::Scale => &[("word", Left), ("chance", Right)],
    });
    let mut row = |id: &str, cells: Vec<Styled>| {
        table.row(std::iter::once(named(id)).chain(cells).collect());
    };
    match kind {
        Kind::Factors => k.factors.iter().for_each(|x| {
            let states: Vec<&str> = x.states.iter().map(|s| s.id.as_str()).collect();
            row(&x.id, strings(&[&x.name, &states.join(", ")]));
        }),
        Kind::Faults => k.faults.iter().for_each(|x| row(&x.id, strings(&[&x.name, &x.group]))),
        Kind::Observations => k
            .observations
            .iter()
            .for_each(|x| row(&x.id, strings(&[&x.name, &x.ask.stage, &minutes(x.ask.minutes)]))),
        Kind::Repairs => {
            k.repairs.iter().for_each(|x| row(&x.id, strings(&[&x.name, &x.stage, &minutes(x.minutes)])));
        }
        Kind::Scopes => k.scopes.iter().for_each(|x| row(&x.id, strings(&[&x.name, &x.always.join(", ")]))),
        Kind::Cautions => k.cautions.iter().for_each(|x| row(&x.id, strings(&[&x.name]))),
        Kind::Motors => k.motors.iter().for_each(|x| {
            row(&x.id, strings(&[&x.can, &x.slots.to_string(), &money(x.replace_cost), &x.summary]));
        }),
        Kind::Measurements => k.measurements.iter().for_each(|x| row(&x.id, strings(&[&x.summary]))),
        Kind::Looks => k
            .looks
            .iter()
            .for_each(|x| row(&x.id, strings(&[&minutes(x.minutes), &x.observations.join(", ")]))),
        Kind::Readings => k.readings.iter().for_each(|x| {
            let [(least, _), (greatest, _)] = &x.plausible;
            row(&x.id, strings(&[&x.name, least, greatest, &x.ask.stage]));
        }),
        Kind::Stages => k.stages.iter().for_each(|x| {
            let time = if x.minutes > 0.0 { minutes(x.minutes) } else { "-".to_owned() };
            row(&x.id, strings(&[&x.name, &time]));
        }),
        Kind::Topics => k.topics.iter().for_each(|x| row(&x.id, strings(&[&x.name, &x.groups.join(", ")]))),
        Kind::Lessons => {
            k.lessons.iter().for_each(|x| row(&x.id, strings(&[&x.title, &x.topic, &x.level.to_string()])))
        }
        Kind::Sources => k.sources.iter().for_each(|x| row(&x.id, strings(&[&x.citation]))),
        Kind::Scale => SCALE.iter().for_each(|(word, chance)| row(word, strings(&[&format!("{chance:.2}")]))),
    }
    table
}

/// The list as a document: every entry has `id` and `name`, and what tells entries of its kind apart.
fn list_json(kind: Kind, k: &Knowledge) -> Value {
    let states = |all: Option<Vec<(&str, &str)>>| -> Vec<Value> {
        all.unwrap_or_default().into_iter().map(|(id, label)| json!({"id": id, "label": label})).collect()
    };
    let (word, entries): (&str, Vec<Value>) = match kind {
        Kind::Factors => ("factors", k.factors.iter().map(|x| json!({
            "id": x.id, "name": x.name, "question": x.ask.question, "stage": x.ask.stage,
            "minutes": x.ask.minutes, "states": states(k.states(&x.id)),
        })).collect()),
        Kind::Faults => ("faults", k.faults.iter().map(|x| json!({
            "id": x.id, "name": x.name, "group": x.group, "summary": x.summary,
        })).collect()),
        Kind::Observations => ("observations", k.observations.iter().map(|x| json!({
            "id": x.id, "name": x.name, "group": x.group, "question": x.ask.question, "stage": x.ask.stage,
            "minutes": x.ask.minutes, "states": states(k.states(&x.id)),
        })).collect()),
        Kind::Repairs => ("repairs", k.repairs.iter().map(|x| json!({
            "id": x.id, "name": x.name, "stage": x.stage, "minutes": x.minutes,
            "parts": x.parts.iter().map(|p| json!({"name": p.name, "cost": p.cost})).collect::<Vec<_>>(),
            "removes": x.removes.iter().map(|r| r.fault.as_str()).collect::<Vec<_>>(),
        })).collect()),
        Kind::Scopes => ("scopes", k.scopes.iter().map(|x| json!({
            "id": x.id, "name": x.name, "summary": x.summary, "always": x.always, "as_needed": x.as_needed,
        })).collect()),
        Kind::Cautions => ("cautions", k.cautions.iter().map(|x| json!({
            "id": x.id, "name": x.name, "text": x.text,
        })).collect()),
        Kind::Motors => ("motors", k.motors.iter().map(|x| json!({
            "id": x.id, "name": x.name, "can": x.can, "rebuildable": x.rebuildable, "slots": x.slots,
            "replace_cost": x.replace_cost, "nominal": x.nominal,
        })).collect()),
        Kind::Measurements => ("measurements", k.measurements.iter().map(|x| json!({
            "id": x.id, "name": x.name, "summary": x.summary,
            "inputs": x.inputs.iter().map(|i| &i.id).collect::<Vec<_>>(),
            "readings": x.results.iter().filter_map(|r| r.reading.as_ref()).collect::<Vec<_>>(),
        })).collect()),
        Kind::Looks => ("looks", k.looks.iter().map(|x| json!({
            "id": x.id, "name": x.name, "question": x.question, "minutes": x.minutes,
            "observations": x.observations,
        })).collect()),
        Kind::Readings => ("readings", k.readings.iter().map(|x| json!({
            "id": x.id, "name": x.name, "question": x.ask.question, "stage": x.ask.stage,
            "minutes": x.ask.minutes, "plausible": [x.plausible[0].0, x.plausible[1].0],
            "observations": x.bands.iter().map(|b| &b.observation).collect::<Vec<_>>(),
        })).collect()),
        Kind::Stages => ("stages", k.stages.iter().map(|x| json!({
            "id": x.id, "name": x.name, "minutes": x.minutes,
        })).collect()),
        Kind::Topics => ("topics", k.topics.iter().map(|x| json!({
            "id": x.id, "name": x.name, "groups": x.groups,
        })).collect()),
        Kind::Lessons => ("lessons", k.lessons.iter().map(|x| json!({
            "id": x.id, "name": x.title, "topic": x.topic, "level": x.level, "motor": x.motor,
        })).collect()),
        Kind::Sources => ("sources", k.sources.iter().map(|x| json!({
            "id": x.id, "name": x.citation,
        })).collect()),
        Kind::Scale => ("scale", SCALE.iter().map(|(word, chance)| json!({
            "id": word, "name": word, "chance": chance,
        })).collect()),
    };
    json!({"format": "commsense/list/1", "kind": word, "entries": entries})
}
