//! `commsense measure timing`.

mod advice;
mod inputs;

use clap::ValueEnum;
use serde_json::json;

use super::sheet::{Halt, Sheet};
use crate::bench::timing::{Finding, Judgement, Known, Limits, Seat, SpeedRatio, TimingError, judge};
use crate::bench::{Estimate, Kind, write};
use crate::cli::exit::Failure;
use crate::knowledge::Kind as Quantity;
use crate::present::measure::Outcome;

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// What the motor is used for
    #[arg(long = "use", value_enum)]
    pub used: Option<Use>,
    /// The end of the shaft from which one looks
    #[arg(long, value_enum)]
    pub seen_from: Option<End>,
    /// The rotation that is wanted
    #[arg(long, value_enum)]
    pub wanted: Option<Turn>,
    /// The rotation when it is told to go forward now
    #[arg(long, value_enum)]
    pub turns: Option<Turn>,
    /// The leads by their colours and marks
    #[arg(long, value_enum)]
    pub leads: Option<Leads>,
    /// How the end bell sits in the can
    #[arg(long, value_enum)]
    pub bell: Option<Bell>,
    /// The end bell screws
    #[arg(long, value_enum)]
    pub screws: Option<Screws>,
    /// Where the end bell stands, from its zero mark: an angle, or how far along the rim, as with a ruler
    #[arg(long, value_name = "ANGLE|LENGTH")]
    pub mark: Option<String>,
    /// Diameter of the can where the marks are, for a mark that was measured with a ruler
    #[arg(long, value_name = "LENGTH")]
    pub can_diameter: Option<String>,
    /// Which way it stands from zero
    #[arg(long, value_enum)]
    pub mark_side: Option<Side>,
    /// From one mark to the next
    #[arg(long, value_name = "ANGLE")]
    pub mark_step: Option<String>,
    /// No-load speed the way it turns now
    #[arg(long, value_name = "SPEED")]
    pub forward: Option<String>,
    /// No-load speed the other way, at the same volts
    #[arg(long, value_name = "SPEED")]
    pub reverse: Option<String>,
    /// Forward over reverse, in place of the two; may carry its uncertainty: "1.04 +/- 0.003"
    #[arg(long, value_name = "RATIO", conflicts_with_all = ["forward", "reverse"])]
    pub ratio: Option<String>,
    /// No-load current the way it turns now
    #[arg(long, value_name = "CURRENT")]
    pub forward_current: Option<String>,
    /// No-load current the other way
    #[arg(long, value_name = "CURRENT")]
    pub reverse_current: Option<String>,
    /// Uncertainty of one speed reading
    #[arg(long, value_name = "RATIO")]
    pub meter: Option<String>,
    /// A position of the end bell with its two speeds, twice or more: "12 deg, 20100 rpm, 19200 rpm"
    #[arg(long, value_name = "ANGLE,SPEED,SPEED", allow_hyphen_values = true)]
    pub position: Vec<String>,
    /// On which side of zero positive positions lie; otherwise against the wanted rotation
    #[arg(long, value_enum)]
    pub position_side: Option<Side>,
}

/// What the motor is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Use {
    /// Mostly one way
    OneWay,
    /// Both ways alike
    BothWays,
}

/// An end of the shaft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum End {
    /// The end where the shaft comes out
    Shaft,
    /// The end bell
    Bell,
}

/// A rotation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Turn {
    /// Clockwise
    Cw,
    /// Counter-clockwise
    Ccw,
}

/// How the leads are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Leads {
    /// As marked
    Right,
    /// Changed over
    Crossed,
}

/// How the end bell sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Bell {
    /// Its mark next to the can's zero
    InPlace,
    /// Its mark opposite the can's zero
    HalfTurn,
}

/// How the screws are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Screws {
    /// Nothing moves
    Snug,
    /// A screw or the end bell moves
    Loose,
}

/// A side of zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Side {
    /// Turned the way of the wanted rotation
    WithWanted,
    /// Turned against the wanted rotation
    AgainstWanted,
}

/// Judges direction and timing.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    let given = inputs::ask(args, sheet)?;
    let limits = given.limits;
    let told = judge(&given.known, &limits).map_err(wrong)?;
    let mut outcome = verdict(&given, &told);
    rows(&given, &told, &mut outcome);
    for finding in &told.findings {
        outcome.word(finding.word());
    }
    list_limits(&given, sheet)?;
    advice::say(&given, &told, &mut outcome);
    keys(&given, &told, sheet, &mut outcome);
    Ok(outcome)
}

fn wrong(why: TimingError) -> Failure {
    Failure::input(format!("this timing can't be judged: {why}"))
}

/// The word for scripts and the sentence for a person in a hurry.
fn verdict(given: &inputs::Given, told: &Judgement) -> Outcome {
    let known = &given.known;
    let contradicted = told.findings.iter().any(|f| f.is_contradiction());
    let unsure = told.findings.iter().any(|f| matches!(f, Finding::SpeedsUnsure | Finding::CurveUnsure));
    let timed = known.mark.is_some() || known.speeds.is_some();
    let doing = advice::in_short(given, told);
    if contradicted {
        let first = if doing.is_empty() { String::new() } else { format!("{doing}. Then m") };
        let rest = if first.is_empty() { "M" } else { "" };
        let said = format!(
            "{first}{rest}easure again before the end bell is turned: the readings contradict each other."
        );
        return Outcome::new("measure-again", said);
    }
    if !told.acts.is_empty() {
        return Outcome::new("adjust", format!("{doing}."));
    }
    if unsure && known.mark.is_none() {
        return Outcome::new("unsure", "The readings can't tell how the timing stands.");
    }
    let said = match (known.right_way, timed) {
        (Some(true), true) => "Nothing to do: direction and timing are as wanted.",
        (Some(true), false) => "It turns the right way. The timing was not looked at.",
        (_, true) => "The timing is as wanted. The direction was not looked at.",
        _ => "Nothing was found wrong in what was looked at.",
    };
    Outcome::new("in-order", said)
}

fn rows(given: &inputs::Given, told: &Judgement, outcome: &mut Outcome) {
    let known = &given.known;
    if let (Some(turns), Some(wanted)) = (given.turns, given.wanted) {
        let wanted = format!("{} wanted", advice::short(wanted));
        outcome.plain_row("Turns", advice::short(turns), wanted);
    }
    let goal = match known.used {
        Some(crate::bench::timing::Use::OneWay) => {
            format!("{:.0} to {:.0} deg advance", given.limits.least, given.limits.most)
        }
        Some(crate::bench::timing::Use::BothWays) => "zero".to_owned(),
        None => String::new(),
    };
    if let Some(mark) = known.mark {
        outcome.plain_row("Mark, to the wanted rotation", advice::by_mark(mark), goal);
    }
    if let Some(speeds) = known.speeds {
        let foretold = told.ratio_after.filter(|_| told.acts.is_empty() && known.mark.is_some());
        let against = foretold.map_or(String::new(), |(l, h)| format!("{l:.2} to {h:.2} fits the mark"));
        outcome.row("Forward over reverse", Quantity::Ratio, speeds.ratio(), against);
        outcome.figure("ratio", speeds.ratio());
        if known.mark.is_none() {
            let (low, high) = for_wanted(known, speeds, &given.limits);
            outcome.plain_row("Advance, by speeds alone", range(low, high), "no exact angle");
        }
    }
    if let Some(ratio) = known.currents {
        outcome.row("Current forward over reverse", Quantity::Ratio, Estimate::exact(ratio), "");
    }
    if let Some(curve) = &known.curve {
        outcome.row("A degree is worth", Quantity::Ratio, curve.slope, "of the speed ratio");
        if curve.zero.low.is_finite() && curve.zero.high.is_finite() {
            let zero = curve.zero.times(given.sign());
            outcome.row("True zero, as advance by the marks", Quantity::Angle, zero, "0 deg by the marks");
        }
    }
}

/// The range of advance for the wanted rotation that may lie behind the speeds.
fn for_wanted(known: &Known, speeds: SpeedRatio, limits: &Limits) -> (f64, f64) {
    let (low, high) = speeds.advance_range(limits);
    if known.right_way == Some(false) { (-high, -low) } else { (low, high) }
}

fn range(low: f64, high: f64) -> String {
    if low >= 0.0 {
        format!("{low:.0} to {high:.0} deg")
    } else if high <= 0.0 {
        format!("{:.0} to {:.0} deg for the other way", -high, -low)
    } else {
        format!("{:.0} deg either way, or less", high.max(-low))
    }
}

/// Lists the limits that the judgement rests on.
fn list_limits(given: &inputs::Given, sheet: &mut Sheet) -> Result<(), Halt> {
    let known = &given.known;
    if known.mark.is_some() {
        if known.used == Some(crate::bench::timing::Use::OneWay) {
            for id in ["least", "most", "too-far"] {
                sheet.limit(id)?;
            }
        }
        sheet.limit("reading")?;
        if given.usual_step {
            sheet.limit("mark-step")?;
        }
    }
    if known.speeds.is_some() {
        sheet.limit("alike")?;
        if known.curve.is_none() {
            sheet.limit("per-degree-least")?;
            sheet.limit("per-degree-most")?;
        }
    }
    Ok(())
}

fn keys(given: &inputs::Given, told: &Judgement, sheet: &Sheet, outcome: &mut Outcome) {
    let known = &given.known;
    let faults = sheet.faults(&outcome.words);
    outcome.key("faults", json!(faults));
    outcome.key("actions", advice::actions(given, told));
    outcome.key("then_expect", advice::expected(given, told));
    outcome.key("advance_deg", json!(known.mark));
    outcome
        .key("bell", json!(known.seat.map(|s| if s == Seat::HalfTurn { "half-turn" } else { "in-place" })));
    if let Some(speeds) = known.speeds {
        outcome.estimate_key("speed_ratio", speeds.ratio(), 1.0);
        let (low, high) = for_wanted(known, speeds, &given.limits);
        let side = match (low, high) {
            (l, _) if l > 0.0 => json!("against-wanted"),
            (_, h) if h < 0.0 => json!("with-wanted"),
            _ => json!(null),
        };
        outcome.key("advance_from_speeds", json!({"side": side, "low_deg": low, "high_deg": high}));
    }
    if let Some(curve) = &known.curve {
        outcome.estimate_key("ratio_per_degree", curve.slope, 1.0);
        outcome.estimate_key("true_zero_deg", curve.zero.times(given.sign()), 1.0);
        outcome.key("positions", curve.positions);
        outcome.key("scatter", curve.scatter);
    }
    if given.usual_step && known.mark.is_some_and(|m| m != 0.0) && !told.acts.is_empty() {
        let step = write(Kind::Angle, given.limits.step);
        outcome.warnings.push(format!(
            "The marks are taken to be {step} apart, as is usual; where they are not, give --mark-step."
        ));
    }
}
