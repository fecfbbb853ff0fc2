//! `commsense knowledge assess`: the expert examined on simulated motors.

use std::io::Write;
use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::super::desk::Desk;
use super::super::exit::Failure;
use super::super::guard;
use crate::bench::quantity;
use crate::bench::units::Kind as Unit;
use crate::case::store::plain;
use crate::drill::exam::{Condition, ExamError, Kind, Plan, examine};
use crate::knowledge::Locator;
use crate::network::compile;
use crate::plan::assess::Planner;
use crate::present::exam::{Sheet, html, json, text};

/// How far numbers are off in a full examination where nothing else is said, in log-odds.
const USUAL_SIGMA: f64 = 0.5;
/// Columns of the bar.
const BAR: usize = 30;

/// What to examine.
#[derive(Debug, clap::Args)]
pub struct Assess {
    /// How many motors of each kind, under each condition
    #[arg(long, value_name = "N", default_value_t = 300)]
    #[arg(value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub runs: u32,
    /// The seed; the same seed gives the same motors and the same figures
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Kinds of motors, with commas between: one, two (faults), healthy, outside (the motor), any
    #[arg(long, value_name = "KINDS", value_delimiter = ',', default_value = "one,two,healthy,outside,any")]
    pub kinds: Vec<String>,
    /// How many answers are wrong, such as "10 %"; to a look: one entry of it
    #[arg(long, value_name = "SHARE", conflicts_with = "all")]
    pub careless: Option<String>,
    /// How far the world's numbers are off from the expert's, in log-odds (standard deviation), such as 0.5
    #[arg(long, value_name = "SIGMA")]
    pub perturb: Option<f64>,
    /// Take numbers from the physics of a motor and not from the network
    #[arg(long)]
    pub physics: bool,
    /// All conditions side by side: as believed, numbers off, 5, 10 and 20 % of the answers wrong, physics, all at once
    #[arg(long)]
    pub all: bool,
    /// How many consultations are thought through again with every number changed, about a third of a second each; 0
    /// for none
    #[arg(long, value_name = "N", default_value_t = 120)]
    #[arg(value_parser = clap::value_parser!(u32).range(0..=100_000))]
    pub endings: u32,
    /// Print one JSON document
    #[arg(long)]
    pub json: bool,
    /// Write a page with pictures to this file too
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
}

/// Runs it.
///
/// # Errors
/// When an option is wrong, the knowledge is wrong or too large, or the output cannot be written.
pub fn run(args: &Assess, desk: &Desk) -> Result<(), Failure> {
    guard::set_farewell("the examination was not finished; nothing was written");
    let plan = plan(args)?;
    let knowledge = desk.knowledge()?;
    let net = compile(&knowledge).belief().clone();
    let planner = Planner::new(&knowledge, net).map_err(|e| Failure::input(e.to_string()))?;
    // Told before the work, not after it.
    if let Some(path) = &args.html {
        can_write(path)?;
    }
    let bar = bar(plan.steps(), desk);
    let report = examine(&planner, &plan, &|| bar.inc(1)).map_err(failed);
    bar.finish_and_clear();
    guard::set_farewell("");
    let report = report?;
    let layers = desk.layers();
    let places = Locator::new(&layers);
    let sheet = Sheet { knowledge: &knowledge, net: &planner.net, report: &report, places: &places };
    if let Some(path) = &args.html {
        write(path, &html::page(&sheet))?;
    }
    if args.json {
        let document = serde_json::to_string_pretty(&json::write(&sheet))
            .map_err(|e| Failure::input(format!("cannot write the result as JSON: {e}")))?;
        return desk.print(&document);
    }
    desk.show(&text::sheet(&sheet))
}

fn failed(error: ExamError) -> Failure {
    Failure::input(error.to_string())
}

fn plan(args: &Assess) -> Result<Plan, Failure> {
    let mut kinds = Vec::new();
    for word in args.kinds.iter().map(|w| w.trim()) {
        let known = || Kind::ALL.map(Kind::word).join(", ");
        let kind = Kind::by_word(word).ok_or_else(|| {
            Failure::usage(format!("there is no kind of motor `{word}`"))
                .help(format!("Kinds are: {}.", known()))
        })?;
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    let sigma = args.perturb.unwrap_or(0.0);
    if !(0.0..=5.0).contains(&sigma) {
        return Err(Failure::usage(format!("--perturb {sigma} is out of range"))
            .help("It is a standard deviation in log-odds, from 0 to 5; 0.5 is a fair doubt."));
    }
    let careless = args.careless.as_deref().map(careless).transpose()?.unwrap_or(0.0);
    let conditions = match args.all {
        true => Condition::all(if sigma > 0.0 { sigma } else { USUAL_SIGMA }),
        false => vec![Condition { careless, sigma, physics: args.physics }],
    };
    Ok(Plan {
        runs: args.runs as usize,
        seed: args.seed,
        kinds,
        conditions,
        situations: args.endings as usize,
    })
}

fn careless(text: &str) -> Result<f64, Failure> {
    let wrong =
        |what: String| Failure::usage(what).help("Write it with its sign, such as --careless \"10 %\".");
    if text.trim().parse::<f64>().is_ok_and(|n| n != 0.0) {
        return Err(wrong(format!("--careless {text}: of a hundred, or of one?")));
    }
    let share = quantity::read(Unit::Ratio, text).map_err(|e| wrong(format!("--careless {text}: {e}")))?;
    match share {
        share if (0.0..=1.0).contains(&share) => Ok(share),
        _ => Err(wrong(format!("--careless {text} is out of range: 0 to 100 %"))),
    }
}

/// Progress on a terminal that can draw over a line; nothing anywhere else.
fn bar(steps: usize, desk: &Desk) -> ProgressBar {
    if desk.appearance.line_mode || !desk.appearance.drawn {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(steps as u64), ProgressDrawTarget::stderr_with_hz(5));
    let template = format!("  {{pos}} of {{len}} [{{bar:{BAR}}}] {{eta}} left");
    // The template is fixed; were it wrong, the usual one would do.
    if let Ok(style) = ProgressStyle::with_template(&template) {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}

fn cannot_write(path: &Path, error: &std::io::Error) -> Failure {
    Failure::input(format!("cannot write {}: {}", path.display(), plain(error)))
}

/// Tries whether a file could be made beside where the page is to stand.
fn can_write(path: &Path) -> Result<(), Failure> {
    if path.is_dir() {
        return Err(Failure::input(format!("{} is a folder", path.display())).help("Name a file in it."));
    }
    new_file(path).map(drop).map_err(|e| cannot_write(path, &e))
}

/// A file beside where the page is to stand, readable by whoever may read other new files.
fn new_file(path: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder(path))
}

fn folder(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Writes a file whole, or not at all.
fn write(path: &Path, content: &str) -> Result<(), Failure> {
    let written = new_file(path).and_then(|mut file| {
        file.write_all(content.as_bytes())?;
        file.as_file().sync_all()?;
        file.persist(path).map_err(|e| e.error)
    });
    written.map(drop).map_err(|e| cannot_write(path, &e))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_written_with_their_sign() {
        assert_eq!(careless("10 %"), Ok(0.1));
        assert_eq!(careless("5%"), Ok(0.05));
        for text in ["0.1", "10", "-5 %", "120 %", "some", ""] {
            assert!(careless(text).is_err(), "{text}");
        }
    }

    #[test]
    fn the_template_of_the_bar_is_sound() {
        let template = format!("  {{pos}} of {{len}} [{{bar:{BAR}}}] {{eta}} left");
        assert!(ProgressStyle::with_template(&template).is_ok());
    }
}
