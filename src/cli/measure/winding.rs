//! `commsense measure winding`.

mod bars;
mod heat;
mod reading;
mod terminals;

use clap::ValueEnum;

use super::sheet::{Halt, Sheet};
use crate::bench::Kind;
use crate::bench::winding::{Meter, WindingError, copper};
use crate::cli::exit::Failure;
use crate::present::measure::Outcome;

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// What is measured; only asked for when nothing else is given
    #[arg(long, value_enum, hide = true)]
    pub what: Option<What>,
    /// Readings from each bar to the next, in order: "82 mohm, 83 mohm, 165 mohm"; `open` where there is none
    #[arg(long, value_name = "RESISTANCES", conflicts_with = "drops")]
    pub bars: Option<String>,
    /// What the meter reads with its probes together; it is taken off every reading
    #[arg(long, value_name = "RESISTANCE")]
    pub lead: Option<String>,
    /// The winding's temperature; resistances are referred to 20 degC
    #[arg(long, value_name = "TEMPERATURE")]
    pub temperature: Option<String>,
    /// How well the meter repeats a reading, its last digit, or both: "2 %, 1 mohm"
    #[arg(long, value_name = "UNCERTAINTY")]
    pub meter: Option<String>,
    /// Turns of a coil, to say the smallest short in turns
    #[arg(long, value_name = "N")]
    pub turns: Option<String>,
    /// Volt drop of each pair of bars, in order, at --current
    #[arg(long, value_name = "VOLTAGES")]
    pub drops: Option<String>,
    /// The current that is sent through each pair
    #[arg(long, value_name = "CURRENT", requires = "drops")]
    pub current: Option<String>,
    /// Readings between the terminals at several positions of the shaft; `open` where there is none
    #[arg(long, value_name = "RESISTANCES")]
    pub terminals: Option<String>,
    /// Reading from the shaft to the winding; `open` where there is none
    #[arg(long, value_name = "RESISTANCE")]
    pub to_shaft: Option<String>,
    /// Resistance before the run
    #[arg(long, value_name = "RESISTANCE")]
    pub cold: Option<String>,
    /// The winding's temperature then
    #[arg(long, value_name = "TEMPERATURE")]
    pub cold_at: Option<String>,
    /// Resistance right after the run
    #[arg(long, value_name = "RESISTANCE")]
    pub hot: Option<String>,
    /// Temperature of the air around it at the end of the run
    #[arg(long, value_name = "TEMPERATURE")]
    pub ambient: Option<String>,
}

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum What {
    /// Between the terminals
    Terminals,
    /// Bar to bar
    Bars,
    /// Bar to bar by volt drop
    Drops,
    /// Shaft to winding
    Shaft,
    /// Temperature rise
    Heat,
}

/// What one part of the measurement says: how grave it is, 0 being in order, and its word and sentence.
struct Said {
    grave: u8,
    word: &'static str,
    sentence: String,
}

/// What holds for all readings of a sheet.
struct Setting {
    meter: Meter,
    lead: f64,
    to_reference: f64,
}

/// Judges a winding.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    let heat = args.cold.is_some() || args.hot.is_some();
    let any = args.bars.is_some()
        || args.drops.is_some()
        || args.terminals.is_some()
        || args.to_shaft.is_some()
        || heat;
    let what = if any { None } else { choose(args, sheet)? };
    let on = |given: bool, this: What| given || what == Some(this);
    let mut outcome = Outcome::default();
    let mut said = Vec::new();
    if on(args.terminals.is_some(), What::Terminals) {
        said.push(terminals::positions(args, sheet, &mut outcome)?);
    }
    if on(args.drops.is_some(), What::Drops) {
        said.push(bars::by_volt_drop(args, sheet, &mut outcome)?);
    }
    // Without anything said, bar to bar is what is missed.
    if on(args.bars.is_some(), What::Bars) || (!any && what.is_none()) {
        said.push(bars::by_resistance(args, sheet, &mut outcome)?);
    }
    if on(args.to_shaft.is_some(), What::Shaft) {
        said.push(terminals::to_shaft(args, sheet, &mut outcome)?);
    }
    if on(heat, What::Heat) {
        said.push(heat::rise(args, sheet, &mut outcome)?);
    }
    let worst = said.iter().max_by_key(|s| s.grave).map_or("", |s| s.word);
    outcome.verdict = worst.into();
    outcome.headline = said.into_iter().map(|s| s.sentence).collect::<Vec<_>>().join(" ");
    outcome.key("copper_k", copper::COPPER_K);
    Ok(outcome)
}

fn choose(args: &Args, sheet: &mut Sheet) -> Result<Option<What>, Halt> {
    sheet.choose(
        "what",
        args.what,
        true,
        &[
            (What::Terminals, "terminals", "Between the terminals, at several positions of the shaft"),
            (What::Bars, "bars", "From bar to bar, armature out"),
            (What::Drops, "drops", "From bar to bar by the volt drop at a known current, armature out"),
            (What::Shaft, "shaft", "From the shaft to the winding"),
            (What::Heat, "heat", "How hot it got: resistance before and after a run"),
        ],
    )
}

/// The meter, leads and temperature of readings in ohm; `texts` are the readings as they were written.
fn setting(args: &Args, sheet: &mut Sheet, texts: &str, outcome: &mut Outcome) -> Result<Setting, Halt> {
    let lead = sheet.want("lead", args.lead.as_deref(), Kind::Resistance)?.unwrap_or(0.0);
    let meter = meter(args, sheet, texts, Kind::Resistance)?;
    let to_reference = to_reference(args, sheet, outcome)?;
    Ok(Setting { meter, lead, to_reference })
}

/// The factor that refers a resistance to 20 degC.
fn to_reference(args: &Args, sheet: &mut Sheet, outcome: &mut Outcome) -> Result<f64, Halt> {
    let temperature = sheet.want("temperature", args.temperature.as_deref(), Kind::Temperature)?;
    if temperature.is_none() && !outcome.keys.contains_key("temperature_degC") {
        let said =
            "No temperature is given: the readings count as taken at 20 degC. Each 10 degrees make 4 %.";
        outcome.warnings.push(said.into());
    }
    let temperature = temperature.unwrap_or(copper::REFERENCE);
    outcome.key("temperature_degC", temperature);
    Ok(copper::to_reference(temperature).map_err(wrong)?)
}

/// The meter as it was described; where it was not, an ordinary one whose step is that of the readings.
fn meter(args: &Args, sheet: &mut Sheet, texts: &str, kind: Kind) -> Result<Meter, Halt> {
    let check = move |text: &str| reading::meter(text, kind).map(|_| ());
    let (fraction, step) = match sheet.text("meter", args.meter.as_deref(), true, check)? {
        Some(text) => reading::meter(&text, kind).map_err(Failure::input)?,
        None => (None, None),
    };
    let usual = if kind == Kind::Voltage { "drop-scatter" } else { "meter" };
    let fraction = match fraction {
        Some(fraction) => fraction,
        None => sheet.usual(usual)?,
    };
    let step = step.or_else(|| reading::step_as_written(texts, kind)).unwrap_or(0.0);
    Ok(Meter::new(fraction, step).map_err(wrong)?)
}

/// Resistances that may be open, and the text they were written in.
fn ohms(sheet: &mut Sheet, id: &str, given: Option<&str>) -> Result<(Vec<f64>, String), Halt> {
    let check = |text: &str| reading::ohms(text).map(|_| ());
    let Some(text) = sheet.text(id, given, false, check)? else { return Err(Halt::Stopped) };
    let values = reading::ohms(&text).map_err(|why| Failure::input(format!("--{id}: {why}")))?;
    Ok((values, text))
}

fn wrong(why: WindingError) -> Failure {
    Failure::input(why.to_string())
}

/// A resistance for a sentence, as exact as its deviation lets it be.
fn written(ohm: f64, deviation: f64) -> String {
    crate::bench::write_to(Kind::Resistance, ohm, deviation)
}

/// A share in percent, for a sentence.
fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}
