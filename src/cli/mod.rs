//! Commands and the conversation: the only floor that prints, prompts, exits, and looks at the
//! environment.

pub mod appearance;
pub mod consult;
pub mod desk;
pub mod drill;
pub mod exit;
pub mod guard;
pub mod knowledge;
pub mod measure;
pub mod procedure;
pub mod prompt;
pub mod show;
pub mod triage;

use std::ffi::OsString;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::builder::styling::{AnsiColor, Styles};
use clap::{CommandFactory, FromArgMatches, Parser, Subcommand, ValueEnum};

use appearance::{Appearance, ColourChoice, Facts};
use desk::Desk;
use exit::Failure;

/// Finds out why a small, rebuildable brushed DC motor underperforms, and what to do about it
#[derive(Debug, Parser)]
#[command(
    name = "commsense",
    version,
    before_help = "Example: commsense triage 2026-0142.yaml",
    after_help = exit::HELP,
    max_term_width = 100,
    disable_help_subcommand = true,
    subcommand_required = true,
    arg_required_else_help = true
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// What every command takes.
    #[command(flatten)]
    pub common: Common,
}

/// Options of every command.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Everywhere")]
pub struct Common {
    /// Lay the knowledge in this folder over the built-in one
    #[arg(long, value_name = "DIR", global = true)]
    pub knowledge: Option<PathBuf>,
    /// Colour: auto, always or never; NO_COLOR and TERM=dumb are respected
    #[arg(long, value_name = "WHEN", global = true, value_enum, default_value_t)]
    #[arg(hide_possible_values = true, hide_default_value = true)]
    pub color: ColourChoice,
    /// Ask by numbered lines, also through a pipe; on a terminal ACCESSIBLE=1 does the same
    #[arg(long, global = true)]
    pub line: bool,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Ask, rank what may be wrong, and say what to do
    #[command(before_help = triage::EXAMPLES, after_help = exit::HELP)]
    Triage(triage::Triage),
    /// Look at what the program knows, and check it
    #[command(before_help = knowledge::EXAMPLES, after_help = exit::HELP)]
    #[command(subcommand_required = true, arg_required_else_help = true, disable_help_subcommand = true)]
    Knowledge {
        /// What to do with it.
        #[command(subcommand)]
        command: knowledge::Command,
    },
    /// Work out what a measurement at the bench means
    #[command(before_help = measure::EXAMPLES, after_help = exit::HELP)]
    #[command(subcommand_required = true, arg_required_else_help = true, disable_help_subcommand = true)]
    Measure(Box<measure::Measure>),
    /// Show one repair: tools, cautions, steps, and the checks that prove it
    #[command(before_help = procedure::EXAMPLES, after_help = exit::HELP)]
    Procedure(procedure::Procedure),
    /// Learn the trade on motors with a hidden fault
    #[command(before_help = drill::EXAMPLES, after_help = exit::HELP)]
    #[command(disable_help_subcommand = true, args_conflicts_with_subcommands = false)]
    Drill(Box<drill::Drill>),
}

/// Runs the program on these arguments, the first being its own name.
pub fn start(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().collect();
    let (colour, line) = early(&args);
    let appearance = Appearance::decide(&Facts::gather(colour, line));
    appearance.apply();
    let outcome =
        guard::Guard::install(appearance.talk_page()).map_err(Failure::from).and_then(|_guard| match parse(
            &args,
            &appearance,
        )? {
            Some(cli) => run(cli, appearance),
            None => Ok(()),
        });
    match outcome {
        Ok(()) => ExitCode::from(exit::DONE),
        Err(failure) => {
            let said = failure.render(&appearance.talk_page());
            // Nobody is left to tell when even this cannot be written.
            let _ = std::io::stderr().write_all(said.as_bytes());
            failure.exit_code()
        }
    }
}

fn run(cli: Cli, appearance: Appearance) -> Result<(), Failure> {
    let desk = Desk { appearance, folder: cli.common.knowledge };
    match cli.command {
        Command::Triage(args) => triage::run(args, &desk),
        Command::Knowledge { command } => knowledge::run(command, &desk),
        Command::Measure(args) => measure::run(&args, &desk),
        Command::Procedure(args) => procedure::run(&args, &desk),
        Command::Drill(args) => drill::run(&args, &desk),
    }
}

/// Reads the command line; nothing when help or the version was asked for and printed.
fn parse(args: &[OsString], appearance: &Appearance) -> Result<Option<Cli>, Failure> {
    let command = Cli::command().styles(styles()).term_width(appearance.width.min(100));
    let parsed = command.try_get_matches_from(joined(args)).and_then(|m| Cli::from_arg_matches(&m));
    let message = match parsed {
        Ok(cli) => return Ok(Some(cli)),
        Err(message) => message,
    };
    let coloured = match message.use_stderr() {
        true => appearance.color_stderr,
        false => appearance.color_stdout,
    };
    let rendered = message.render();
    let text = if coloured { rendered.ansi().to_string() } else { rendered.to_string() };
    if !message.use_stderr() {
        let mut out = std::io::stdout().lock();
        out.write_all(text.as_bytes())?;
        out.flush()?;
        return Ok(None);
    }
    std::io::stderr().write_all(text.as_bytes())?;
    Err(Failure::usage(""))
}

/// The command line with every figure below 0 joined to the option before it, lest it be taken for an option
/// itself: whether the figure may be below 0 is for the option to say.
fn joined(args: &[OsString]) -> Vec<OsString> {
    let below_zero = |word: &str| {
        let rest = word.strip_prefix('-').unwrap_or_default();
        rest.starts_with(|c: char| c.is_ascii_digit() || c == '.')
    };
    let is_option = |word: &str| word.len() > 2 && word.starts_with("--") && !word.contains('=');
    let mut out: Vec<OsString> = Vec::new();
    let mut options = true;
    for arg in args {
        options &= arg != "--";
        let figure = arg.to_str().is_some_and(below_zero);
        match out.last_mut() {
            Some(last) if options && figure && last.to_str().is_some_and(is_option) => {
                last.push("=");
                last.push(arg);
            }
            _ => out.push(arg.clone()),
        }
    }
    out
}

/// The colours of help texts: the same as of everything else.
fn styles() -> Styles {
    Styles::styled()
        .header(AnsiColor::Cyan.on_default().bold())
        .usage(AnsiColor::Cyan.on_default().bold())
        .literal(AnsiColor::BrightBlack.on_default().bold().fg_color(None))
        .error(AnsiColor::Red.on_default().bold())
        .valid(AnsiColor::Green.on_default())
        .invalid(AnsiColor::Yellow.on_default())
}

/// The options that decide how even a complaint about the command line looks.
fn early(args: &[OsString]) -> (ColourChoice, bool) {
    let mut colour = ColourChoice::default();
    let mut line = false;
    let mut words = args.iter().skip(1).map(|a| a.to_string_lossy()).take_while(|a| a != "--");
    while let Some(word) = words.next() {
        let value = match word.as_ref() {
            "--line" => {
                line = true;
                continue;
            }
            "--color" => words.next(),
            other => other.strip_prefix("--color=").map(|v| v.to_string().into()),
        };
        colour = value.and_then(|v| ColourChoice::from_str(&v, false).ok()).unwrap_or(colour);
    }
    (colour, line)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn a_figure_below_zero_belongs_to_the_option_before_it() {
        let joined = |line: &str| {
            let args: Vec<OsString> = line.split('|').map(OsString::from).collect();
            let words = |args: Vec<OsString>| {
                args.iter().map(|a| a.to_string_lossy().into_owned()).collect::<Vec<_>>()
            };
            words(joined(&args)).join("|")
        };
        for (line, wanted) in [
            ("x|--runs|-1", "x|--runs=-1"),
            ("x|--length|-3 mm|--json", "x|--length=-3 mm|--json"),
            ("x|--perturb|-.5", "x|--perturb=-.5"),
            ("x|--runs=3|-7.yaml", "x|--runs=3|-7.yaml"),
            ("x|--json|--line", "x|--json|--line"),
            ("x|--|--runs|-1", "x|--|--runs|-1"),
            ("x|--runs|-h", "x|--runs|-h"),
        ] {
            assert_eq!(joined(line), wanted);
        }
    }

    #[test]
    fn colour_is_known_before_the_command_line_is_read() {
        let early = |args: &[&str]| early(&args.iter().map(OsString::from).collect::<Vec<_>>());
        assert_eq!(early(&["commsense", "--color", "never", "x"]), (ColourChoice::Never, false));
        assert_eq!(early(&["commsense", "x", "--color=always", "--line"]), (ColourChoice::Always, true));
        assert_eq!(early(&["commsense", "--color", "green"]), (ColourChoice::Auto, false));
        assert_eq!(early(&["commsense", "--", "--line", "--color=never"]), (ColourChoice::Auto, false));
        assert_eq!(early(&["--line"]), (ColourChoice::Auto, false));
    }
}
