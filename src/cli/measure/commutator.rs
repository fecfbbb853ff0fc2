//! `commsense measure commutator`.

use clap::ValueEnum;

use super::sheet::{Halt, Sheet};
use crate::bench::commutator::{Reserve, overlap, reserve, spindle_speed};
use crate::bench::{Estimate, Kind};
use crate::cli::exit::Failure;
use crate::knowledge::Kind as Known;
use crate::present::measure::Outcome;
use crate::present::text::plural;

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// Diameter when new
    #[arg(long, value_name = "LENGTH")]
    pub nominal: Option<String>,
    /// Diameter now, at one place or more: "7.31 mm, 7.33 mm"
    #[arg(long, value_name = "LENGTHS")]
    pub diameter: Option<String>,
    /// Least diameter, where the maker gives another one
    #[arg(long, value_name = "LENGTH")]
    pub minimum: Option<String>,
    /// Runout, total reading over one turn
    #[arg(long, value_name = "LENGTH")]
    pub runout: Option<String>,
    /// How the brush track looks
    #[arg(long, value_enum)]
    pub surface: Option<Surface>,
    /// Depth of one cut on the radius
    #[arg(long, value_name = "LENGTH")]
    pub cut: Option<String>,
    /// Depth of the shallowest slot
    #[arg(long, value_name = "LENGTH")]
    pub slot_depth: Option<String>,
    /// Width of the slots
    #[arg(long, value_name = "LENGTH")]
    pub slot_width: Option<String>,
    /// Number of bars
    #[arg(long, value_name = "N")]
    pub bars: Option<String>,
    /// Width of a brush along the circumference
    #[arg(long, value_name = "LENGTH")]
    pub brush_width: Option<String>,
    /// Cutting speed of tool and lathe, as metres a minute: "60 m"
    #[arg(long, value_name = "LENGTH")]
    pub cutting_speed: Option<String>,
}

/// How the brush track looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Surface {
    /// Nothing a fingernail feels
    Smooth,
    /// Marks, lines or dark spots that can hardly be felt
    Marked,
    /// Grooves, pits or burnt edges that can be felt
    Grooved,
}

/// Judges a commutator.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    let new = sheet.need("nominal", args.nominal.as_deref(), Kind::Length)?;
    let diameters = sheet.need_several("diameter", args.diameter.as_deref(), Kind::Length)?;
    let runout = sheet.want("runout", args.runout.as_deref(), Kind::Length)?;
    let surface = sheet.choose(
        "surface",
        args.surface,
        true,
        &[
            (Surface::Smooth, "smooth", "Smooth: nothing a fingernail feels"),
            (Surface::Marked, "marked", "Marked: lines or dark spots that can hardly be felt"),
            (Surface::Grooved, "grooved", "Grooved: grooves, pits or burnt edges that can be felt"),
        ],
    )?;
    let slot_depth = sheet.want("slot-depth", args.slot_depth.as_deref(), Kind::Length)?;
    let cut = match sheet.given("cut", args.cut.as_deref(), Kind::Length)? {
        Some(cut) => cut,
        None => sheet.limit("usual-cut")?,
    };
    let given = sheet.given("minimum", args.minimum.as_deref(), Kind::Length)?;
    let own = sheet.nominal("minimum", Kind::Length)?;
    let minimum = match given.or(own) {
        Some(minimum) => minimum,
        None => match sheet.limit_for("minimum", new) {
            Some(minimum) => minimum,
            None => new * sheet.limit("minimum-share")?,
        },
    };
    let caliper = sheet.usual("caliper")?;
    let left = reserve(&diameters, caliper, minimum, runout.unwrap_or(0.0), cut).map_err(wrong)?;
    if left.diameter.value > new * 1.02 {
        return Err(wrong("it is larger than when new: check the unit, and which of the two is which").into());
    }

    let too_far = match runout {
        Some(runout) => runout > sheet.limit("runout-most")?,
        None => false,
    };
    let cut_it = too_far || surface == Some(Surface::Grooved);
    let mut outcome = verdict(&left, minimum, cut, cut_it);
    let most = crate::bench::write(Kind::Length, minimum);
    outcome.row("Diameter", Known::Length, left.diameter, format!("{most} at least"));
    outcome.row("Above the minimum", Known::Length, left.margin, "");
    if diameters.len() > 1 {
        outcome.row("Taper, largest less smallest", Known::Length, Estimate::exact(left.taper), "");
    }
    if let Some(runout) = runout {
        let gauge = Estimate::normal(runout, sheet.usual("gauge")?);
        let most = crate::bench::write(Kind::Length, sheet.limit("runout-most")?);
        outcome.row("Runout", Known::Length, gauge, format!("{most} at most"));
        outcome.figure("runout", gauge);
    }
    let each = crate::bench::write(Kind::Length, cut);
    outcome.plain_row("Cuts left", left.cuts_left.to_string(), format!("of {each} on the radius"));
    if cut_it {
        outcome.plain_row("Cuts to be round", left.cuts_needed.to_string(), "");
        outcome.row("Diameter after them", Known::Length, Estimate::exact(left.finished), "");
    }
    match own {
        Some(_) => outcome.figure("diameter", left.diameter),
        None => outcome.figure("margin", left.margin),
    }
    words(&mut outcome, &left, cut, too_far, surface);
    slots(args, sheet, slot_depth, &mut outcome)?;
    brushes(args, sheet, &left, cut_it, &mut outcome)?;
    steps(args, sheet, &left, cut_it, &mut outcome)?;
    let mm = |m: f64| (m * 1e6).round() / 1e3;
    outcome.key("minimum_mm", mm(minimum));
    outcome.key("diameter_mm", mm(left.diameter.value));
    outcome.estimate_key("margin", left.margin, 1e3);
    outcome.key("margin_mm", mm(left.margin.value));
    outcome.key("taper_mm", mm(left.taper));
    outcome.key("cut_mm", mm(cut));
    outcome.key("cuts_needed", left.cuts_needed);
    outcome.key("finished_mm", mm(left.finished));
    outcome.key("cuts_left", left.cuts_left);
    Ok(outcome)
}

fn wrong(why: impl std::fmt::Display) -> Failure {
    Failure::input(format!("this commutator can't be judged: {why}"))
}

fn verdict(left: &Reserve, minimum: f64, cut: f64, cut_it: bool) -> Outcome {
    let mm = |m: f64| crate::bench::write(Kind::Length, m);
    let (now, least) = (mm(left.diameter.value), mm(minimum));
    let unsure = left.margin.low < 0.0 && left.margin.high > 0.0;
    let mut outcome = if left.margin.value < 0.0 {
        Outcome::new("retire", format!("Retire it: {now} is below the least diameter of {least}."))
    } else if cut_it && left.finished < minimum {
        let after = mm(left.finished);
        Outcome::new("retire", format!("Retire it: it needs a cut, and {after} after it is below {least}."))
    } else if cut_it {
        let cuts = plural(left.cuts_needed as usize, "cut", "cuts");
        let (depth, after) = (mm(cut), mm(left.finished));
        let more = left.cuts_left.saturating_sub(left.cuts_needed);
        let said =
            format!("Cut it: {cuts} of {depth} on the radius, down to {after}; {more} more remain then.");
        Outcome::new("cut", said)
    } else {
        let cuts = plural(left.cuts_left as usize, "light cut", "light cuts");
        Outcome::new("keep", format!("Keep it: {now} is above {least}; {cuts} are left."))
    };
    if unsure {
        let said = "The caliper can't tell whether it is above its minimum: use a micrometer.";
        outcome.warnings.push(said.into());
    }
    outcome
}

fn words(outcome: &mut Outcome, left: &Reserve, cut: f64, too_far: bool, surface: Option<Surface>) {
    if left.margin.value < 0.0 {
        outcome.word("below-minimum");
    } else if left.margin.value < 2.0 * cut {
        outcome.word("near-minimum");
    }
    if too_far {
        outcome.word("out-of-round");
    }
    match surface {
        Some(Surface::Grooved) => outcome.word("grooved"),
        Some(Surface::Marked) => outcome.word("marked"),
        Some(Surface::Smooth) => outcome.word("smooth"),
        None => {}
    }
}

fn slots(args: &Args, sheet: &mut Sheet, depth: Option<f64>, outcome: &mut Outcome) -> Result<(), Halt> {
    let Some(depth) = depth else { return Ok(()) };
    let least = sheet.limit("slot-depth-least")?;
    let cut = sheet.given("cut", args.cut.as_deref(), Kind::Length)?.unwrap_or(sheet.usual("usual-cut")?);
    let deep = Estimate::normal(depth, sheet.usual("caliper")?);
    outcome.row(
        "Slot depth",
        Known::Length,
        deep,
        format!("{} at least", crate::bench::write(Kind::Length, least)),
    );
    outcome.figure("slot-depth", deep);
    if depth < least || (outcome.verdict == "cut" && depth - cut < least) {
        outcome.word("shallow-slots");
    }
    Ok(())
}

fn brushes(
    args: &Args,
    sheet: &mut Sheet,
    left: &Reserve,
    cut: bool,
    outcome: &mut Outcome,
) -> Result<(), Halt> {
    let width = sheet.want("brush-width", args.brush_width.as_deref(), Kind::Length)?;
    let Some(width) = width else { return Ok(()) };
    let bars = match (args.bars.as_deref(), sheet.motor()) {
        (None, Some(motor)) => f64::from(motor.slots),
        (given, _) => sheet.need("bars", given, Kind::Ratio)?,
    };
    if !(3.0..=200.0).contains(&bars) || bars.fract() != 0.0 {
        return Err(Failure::input("--bars: write a whole number of bars, 3 or more").into());
    }
    let slot = match sheet.given("slot-width", args.slot_width.as_deref(), Kind::Length)? {
        Some(width) => width,
        None => sheet.usual("slot-width")?,
    };
    let diameter = if cut { left.finished } else { left.diameter.value };
    let meet = overlap(diameter, bars as u32, slot, width).map_err(wrong)?;
    outcome.row("Bar width", Known::Length, Estimate::exact(meet.bar_width), "");
    let angle = crate::bench::write(Kind::Angle, meet.brush_angle);
    outcome.plain_row("A brush covers", angle, if meet.bridges_brushes { "too wide" } else { "in order" });
    outcome.key("bar_width_mm", (meet.bar_width * 1e6).round() / 1e3);
    outcome.key("brush_angle_deg", meet.brush_angle);
    if meet.bridges_brushes {
        outcome.word("bar-bridges-brushes");
    }
    if meet.loses_contact {
        outcome.warnings.push("A brush no wider than a slot loses contact in every slot.".into());
    }
    Ok(())
}

fn steps(
    args: &Args,
    sheet: &mut Sheet,
    left: &Reserve,
    cut: bool,
    outcome: &mut Outcome,
) -> Result<(), Halt> {
    match (outcome.verdict.as_str(), cut) {
        ("cut", _) => {
            let speed = match sheet.given("cutting-speed", args.cutting_speed.as_deref(), Kind::Length)? {
                Some(speed) => speed,
                None => sheet.limit("cutting-speed")?,
            };
            let rpm = spindle_speed(speed, left.diameter.value).map_err(wrong)?;
            let rounded = (rpm / 10.0).round() * 10.0;
            outcome.key("spindle_rpm", rounded);
            outcome.plain_row("Spindle speed", crate::bench::write(Kind::Speed, rounded), "at most");
            outcome.next = vec![
                "Goggles on, sleeves rolled up, no gloves; take off the insulating washer so that the tool can't strike it.".into(),
                "One light cut after the other until the track is bright all round; stop the spindle to measure.".into(),
                "Clear every slot, break the edges, blow nothing: vacuum. Then bed the brushes again.".into(),
            ];
        }
        ("retire", _) => {
            outcome.next = vec!["Fit another armature; show the owner the measured diameter.".into()];
        }
        _ => {}
    }
    Ok(())
}
