//! `commsense measure run-in`.

mod dial;
mod said;
mod timer;
mod watching;

use clap::ValueEnum;

use super::sheet::{Halt, Sheet};
use crate::bench::run_in::{Recipe, Slide};
use crate::bench::{self, Kind};
use crate::cli::exit::Failure;
use crate::present::measure::Outcome;

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// Voltage at the motor's terminals
    #[arg(long, value_name = "VOLTAGE")]
    pub volts: Option<String>,
    /// How long: 3, or "30 s"
    #[arg(long, value_name = "MINUTES")]
    pub minutes: Option<String>,
    /// Another recipe to compare with: "12 V, 30 s"
    #[arg(long, value_name = "RECIPE")]
    pub against: Option<String>,
    /// How the armature is wound
    #[arg(long, value_enum)]
    pub winding: Option<Winding>,
    /// No-load speed at the rated voltage
    #[arg(long, value_name = "SPEED")]
    pub speed: Option<String>,
    /// Rated voltage
    #[arg(long, value_name = "VOLTAGE")]
    pub rated: Option<String>,
    /// Voltage at which it begins to turn
    #[arg(long, value_name = "VOLTAGE")]
    pub starting: Option<String>,
    /// Commutator diameter
    #[arg(long, value_name = "LENGTH")]
    pub diameter: Option<String>,
    /// No-load current
    #[arg(long, value_name = "CURRENT")]
    pub current: Option<String>,
    /// Winding resistance
    #[arg(long, value_name = "RESISTANCE")]
    pub resistance: Option<String>,
    /// Spring force
    #[arg(long, value_name = "FORCE")]
    pub spring: Option<String>,
    /// Time the run and watch it, on a terminal
    #[arg(long)]
    pub timer: bool,
}

/// How an armature is wound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Winding {
    /// By hand, for high power
    Hand,
    /// By machine
    Machine,
}

/// What is run in, and how.
struct Run {
    slide: Slide,
    recipe: Recipe,
    against: Option<Recipe>,
    usual: Recipe,
    short: Recipe,
    winding: Option<Winding>,
    /// Current in A and resistance in ohm, where both are known.
    electric: Option<(f64, f64)>,
    /// Spring force in N, where it is known.
    spring: Option<f64>,
}

/// Reckons a run-in, and times it where that is wanted.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    if args.timer {
        watching::refuse_without_terminal(sheet)?;
    }
    let run = read(args, sheet)?;
    // Whatever is wrong with the numbers is said before anything runs.
    run.slide.travel(run.recipe).map_err(wrong)?;
    let ran = match watching::wanted(args.timer, sheet)? {
        true => Some(watching::watch(&run, sheet)?),
        false => None,
    };
    said::outcome(&run, ran, sheet)
}

fn wrong(why: impl std::fmt::Display) -> Failure {
    Failure::input(format!("this run-in can't be reckoned: {why}"))
}

fn read(args: &Args, sheet: &mut Sheet) -> Result<Run, Halt> {
    let usual = Recipe { volts: sheet.limit("slow-volts")?, seconds: sheet.limit("slow-time")? };
    let short = Recipe { volts: sheet.usual("fast-volts")?, seconds: sheet.usual("fast-time")? };
    let volts = sheet.want("volts", args.volts.as_deref(), Kind::Voltage)?.unwrap_or(usual.volts);
    let minutes = sheet.text("minutes", args.minutes.as_deref(), true, |t| time(t).map(|_| ()))?;
    let seconds = minutes.map(|t| time(&t)).transpose().map_err(Failure::input)?.unwrap_or(usual.seconds);
    // What a case is asked for is this motor; another recipe is compared only when it was given.
    let against = args.against.as_deref().map(recipe).transpose();
    let against = against.map_err(|why| Failure::input(format!("--against: {why}")))?;
    let choices = [
        (Winding::Hand, "hand", "By hand, for high power"),
        (Winding::Machine, "machine", "By machine, as most are"),
    ];
    let winding = sheet.choose("winding", args.winding, true, &choices)?;
    let rpm = sheet.need("speed", args.speed.as_deref(), Kind::Speed)?;
    let rated = sheet.need("rated", args.rated.as_deref(), Kind::Voltage)?;
    let starting = match sheet.want("starting", args.starting.as_deref(), Kind::Voltage)? {
        Some(starting) => starting,
        None => sheet.limit("starting")?,
    };
    let diameter = sheet.need("diameter", args.diameter.as_deref(), Kind::Length)?;
    let current = sheet.want("current", args.current.as_deref(), Kind::Current)?;
    let resistance = sheet.want("resistance", args.resistance.as_deref(), Kind::Resistance)?;
    let spring = sheet.want("spring", args.spring.as_deref(), Kind::Force)?;
    let spread = sheet.usual("speed-scatter")?;
    Ok(Run {
        slide: Slide { rpm, volts: rated, starting, diameter, spread },
        recipe: Recipe { volts, seconds },
        against,
        usual,
        short,
        winding,
        electric: current.zip(resistance),
        spring,
    })
}

/// A time in seconds; a plain number is minutes.
fn time(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(minutes) => Ok(minutes * 60.0),
        Err(_) => bench::read(Kind::Time, text).map_err(|e| e.to_string()),
    }
}

/// A recipe: `12 V, 30 s`. A plain second number is minutes.
fn recipe(text: &str) -> Result<Recipe, String> {
    let asked = "write volts and time, such as `12 V, 30 s`";
    let cut = text
        .char_indices()
        .find(|(at, c)| matches!(c, ',' | ';') && text[..*at].contains(char::is_alphabetic));
    let Some((at, _)) = cut else { return Err(format!("that is no recipe: {asked}")) };
    let volts = bench::read(Kind::Voltage, &text[..at]).map_err(|e| e.to_string())?;
    Ok(Recipe { volts, seconds: time(&text[at + 1..])? })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn recipes_as_people_write_them() {
        for text in ["12 V,30 s", "12 V; 0.5 min", "12,0 V, 30 s", "12V,0.5", "12000 mV, 30s"] {
            assert_eq!(recipe(text), Ok(Recipe { volts: 12.0, seconds: 30.0 }), "{text}");
        }
        for (text, words) in [
            ("12 V", "volts and time"),
            ("", "volts and time"),
            ("12,30", "volts and time"),
            ("12 A, 30 s", "is a current"),
            ("12 V, 30 V", "is a voltage"),
            ("30 s, 12 V", "is a time"),
        ] {
            assert!(recipe(text).is_err_and(|e| e.contains(words)), "{text}: {:?}", recipe(text));
        }
    }
}
