//! `commsense measure`: readings in, what they mean for this motor out.
//!
//! Each test has a file of its own: its options, and how its figures become an [`Outcome`]. What is asked,
//! which limits hold and what a finding means stands in `knowledge/measurements/`.

mod brushes;
mod commutator;
mod end_play;
mod no_load;
mod operating_point;
mod points;
mod ripple;
mod run_in;
mod save_motor;
mod sheet;
mod sound;
mod timing;
mod winding;

use std::borrow::Cow;
use std::path::{Path, PathBuf};

use clap::Subcommand;

use super::desk::{Desk, unknown_id};
use super::exit::Failure;
use super::prompt::Prompter;
use crate::case::{self, Case};
use crate::knowledge::{Knowledge, Measurement, Motor};
use crate::present::measure::{self, Outcome, json, taken, text};
use crate::present::text::{Styled, Text};
use sheet::Halt;
pub use sheet::Sheet;

/// What stands at the beginning of its help.
pub const EXAMPLES: &str = "\
Examples:
  commsense measure commutator           ask for what is needed
  commsense measure commutator --nominal \"7.5 mm\" --diameter \"7.31 mm\" --cut \"0.05 mm\"
  commsense measure timing --use one-way --ratio 1.04
  commsense measure sound --forward a.wav --reverse b.wav --bars 3 --svg tones.svg
  commsense measure no-load --point \"7.2 V, 2.0 A, 20000 rpm\" --resistance \"0.1 ohm\"
  commsense measure operating-point --motor ID --cells 2 --load \"12 mNm\"";

/// The options of `measure`.
#[derive(Debug, clap::Args)]
pub struct Measure {
    /// Which measurement.
    #[command(subcommand)]
    pub test: Test,
    /// What every measurement takes.
    #[command(flatten)]
    pub common: Common,
}

/// Options of every measurement.
#[derive(Debug, Default, clap::Args)]
#[command(next_help_heading = "Every measurement")]
pub struct Common {
    /// The motor, as `commsense knowledge list motors` names it
    #[arg(long, value_name = "ID", global = true)]
    pub motor: Option<String>,
    /// Add the result to this case; it is made if it does not exist
    #[arg(long, value_name = "FILE", global = true)]
    pub case: Option<PathBuf>,
    /// Save the healthy motor that was measured under this id, in the folder of --knowledge
    #[arg(long, value_name = "ID", global = true)]
    pub save_motor: Option<String>,
    /// Its armature slots, where it is a new motor
    #[arg(long, value_name = "N", global = true, requires = "save_motor")]
    pub slots: Option<u32>,
    /// Write the picture to this file, where there is one
    #[arg(long, value_name = "FILE", global = true)]
    pub svg: Option<PathBuf>,
    /// Never ask; print one JSON document
    #[arg(long, global = true)]
    pub json: bool,
}

/// Declares the tests once: option type, command word, and the function that runs it.
macro_rules! tests {
    ($($(#[$doc:meta])* $name:ident $module:ident $word:literal;)*) => {
        /// The measurements.
        #[derive(Debug, Subcommand)]
        pub enum Test {
            $($(#[$doc])* #[command(name = $word)] $name($module::Args),)*
        }

        impl Test {
            /// The word it is called by, which is its id in the knowledge.
            pub fn word(&self) -> &'static str {
                match self { $(Test::$name(_) => $word,)* }
            }

            /// The test that is called by this word, with nothing given yet.
            pub fn named(word: &str) -> Option<Test> {
                match word {
                    $($word => Some(Test::$name(Default::default())),)*
                    _ => None,
                }
            }

            fn run(&self, sheet: &mut Sheet) -> Result<Outcome, Halt> {
                match self {
                    $(Test::$name(args) => {
                        // Who gives options knows what they want; who gives none is led through all of it.
                        sheet.guided = *args == Default::default();
                        $module::run(args, sheet)
                    })*
                }
            }
        }
    };
}

tests! {
    /// Diameter against its minimum, cuts that are left, runout, slots
    Commutator commutator "commutator";
    /// Constants, drag and curves from current and speed with nothing on the shaft
    NoLoad no_load "no-load";
    /// What a motor draws, gives and turns into heat at work, and the gearing that keeps it whole
    OperatingPoint operating_point "operating-point";
    /// Which way it turns, where the end bell stands, and what to turn or cross
    Timing timing "timing";
    /// Lengths against their minimum, hours left, spring pressure
    Brushes brushes "brushes";
    /// Play of the shaft along its length, and which shims to put on which side
    EndPlay end_play "end-play";
    /// Speed, and a coil or bar unlike the others, from a recording of the current
    Ripple ripple "ripple";
    /// Brush travel and heat of a run-in, recipes compared, and a timer
    RunIn run_in "run-in";
    /// Two recordings: speed ratio forward to reverse, speed, clicks
    Sound sound "sound";
    /// Resistance of every coil from bar-to-bar readings, of the terminals, to the shaft; temperature rise
    Winding winding "winding";
}

/// Runs it.
///
/// # Errors
/// When an input is wrong or missing, the knowledge or the case is wrong, or it is interrupted.
pub fn run(args: &Measure, desk: &Desk) -> Result<(), Failure> {
    // A folder that is about to get its first motor adds nothing yet.
    let empty = desk.folder.as_deref().filter(|_| args.common.save_motor.is_some()).is_some_and(is_bare);
    let knowledge = match empty {
        true => Desk { folder: None, ..desk.clone() }.knowledge()?,
        false => desk.knowledge()?,
    };
    let of = described(&knowledge, args.test.word())?;
    let mut prompter = if args.common.json { None } else { desk.prompter() };
    let mut case = args.common.case.as_deref().map(|path| opened(path, &knowledge)).transpose()?;
    let named = args.common.motor.as_deref().or(case.as_ref().and_then(|c| c.motor.as_deref()));
    let named = named.map(|id| motor(&knowledge, id)).transpose()?;
    // What the case says of its motor goes before what the knowledge says.
    let own = match (&case, &args.common.motor) {
        (Some(case), None) => case.motor(&knowledge),
        _ => named.map(Cow::Borrowed),
    };
    let motor = own.as_deref();
    let (outcome, cautioned) = {
        let asker = prompter.as_deref_mut().map(|p| p as &mut dyn Prompter);
        let mut sheet = Sheet::new(&knowledge, of, motor, asker);
        let outcome = match args.test.run(&mut sheet) {
            Ok(outcome) => outcome,
            Err(Halt::Stopped) => return Ok(()),
            Err(Halt::Wrong(failure) | Halt::Lost(failure)) => return Err(failure),
        };
        (sheet.finish(outcome), sheet.cautioned())
    };
    if let Some(path) = &args.common.svg {
        picture(path, &outcome)?;
    }
    let result = measure::Sheet { knowledge: &knowledge, of, motor, outcome: &outcome, cautioned };
    if args.common.json {
        let document = serde_json::to_string_pretty(&json::write(&result))
            .map_err(|e| Failure::input(format!("cannot write the result as JSON: {e}")))?;
        desk.print(&document)?;
    } else {
        if cautioned {
            desk.say(Text::new().blank())?;
        }
        desk.show(&text::sheet(&result))?;
    }
    if let Some(id) = &args.common.save_motor {
        save_motor::save(id, args.common.slots, &result, desk)?;
    }
    if let (Some(path), Some(case)) = (&args.common.case, &mut case) {
        if let Some(motor) = named {
            case.motor = Some(motor.id.clone());
        }
        add(path, case, &result, desk)?;
    }
    Ok(())
}

/// Whether there is nothing at this path, or a folder with nothing in it.
fn is_bare(folder: &Path) -> bool {
    match std::fs::read_dir(folder) {
        Ok(mut entries) => entries.next().is_none(),
        Err(error) => error.kind() == std::io::ErrorKind::NotFound,
    }
}

/// A measurement made within a talk about a case; nothing when the person turned back or what was given made
/// no sense, which was said. The result was shown. `of` is a measurement that [`Test::named`] knows.
///
/// # Errors
/// When nobody can be asked any more.
pub fn within(
    knowledge: &Knowledge,
    of: &Measurement,
    motor: Option<&Motor>,
    prompter: &mut dyn Prompter,
) -> Result<Option<Outcome>, Failure> {
    let Some(test) = Test::named(&of.id) else {
        return Err(Failure::input(format!("there is no measurement `{}` in this program", of.id)));
    };
    let (outcome, cautioned) = {
        let mut sheet = Sheet::new(knowledge, of, motor, Some(&mut *prompter));
        match test.run(&mut sheet) {
            Ok(outcome) => (sheet.finish(outcome), sheet.cautioned()),
            Err(Halt::Stopped) => return Ok(None),
            Err(Halt::Lost(failure)) => return Err(failure),
            // That makes no sense, and is no reason to end the talk.
            Err(Halt::Wrong(failure)) => {
                prompter.say(&failure.text())?;
                return Ok(None);
            }
        }
    };
    let result = measure::Sheet { knowledge, of, motor, outcome: &outcome, cautioned };
    prompter.say(Text::new().blank())?;
    prompter.say(&text::sheet(&result))?;
    Ok(Some(outcome))
}

/// What the knowledge says about a measurement.
fn described<'k>(knowledge: &'k Knowledge, word: &str) -> Result<&'k Measurement, Failure> {
    knowledge.measurement(word).ok_or_else(|| {
        Failure::input(format!("the knowledge does not describe the measurement `{word}`"))
            .help("Add it under `measurements:` in the knowledge folder")
    })
}

fn motor<'k>(knowledge: &'k Knowledge, id: &str) -> Result<&'k Motor, Failure> {
    knowledge.motor(id).ok_or_else(|| {
        let known: Vec<&str> = knowledge.motors.iter().map(|m| m.id.as_str()).collect();
        unknown_id(knowledge, "motor", id, &known).help("See them with: commsense knowledge list motors")
    })
}

/// The case to which the result is added: read from its file, or new.
fn opened(path: &Path, knowledge: &Knowledge) -> Result<Case, Failure> {
    match case::load(path, knowledge) {
        Ok(case) => Ok(case),
        Err(case::LoadError::Missing { .. }) => {
            let name = path.file_stem().map(|s| s.to_string_lossy().into_owned());
            Ok(Case { case: name.unwrap_or_default(), ..Case::default() })
        }
        Err(error) => Err(Failure::input(error.to_string())),
    }
}

fn add(path: &Path, case: &mut Case, result: &measure::Sheet, desk: &Desk) -> Result<(), Failure> {
    let (answers, _) = taken(result.knowledge, result.of, result.outcome);
    for taken in answers {
        case.answer(&taken.id, taken.answer);
    }
    case::save(path, case, result.knowledge).map_err(|e| Failure::input(e.to_string()))?;
    let words = format!("Added to {0}. Go on with: commsense triage {0}", path.display());
    desk.say(&Text::from(Styled::new().muted(words)))
}

fn picture(path: &Path, outcome: &Outcome) -> Result<(), Failure> {
    let Some(svg) = &outcome.svg else {
        return Err(Failure::usage("this measurement draws no picture here; leave out --svg"));
    };
    std::fs::write(path, svg).map_err(|e| Failure::input(format!("cannot write {}: {e}", path.display())))
}
