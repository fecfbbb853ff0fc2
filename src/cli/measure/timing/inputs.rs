//! What is known: given, asked for, or neither.

use super::{Args, Bell, End, Leads, Screws, Side, Turn, Use, wrong};
use crate::bench::timing::{self, Curve, Known, Limits, SpeedRatio, TimingError, standing};
use crate::bench::{self, Kind};
use crate::cli::exit::Failure;
use crate::cli::measure::sheet::{Halt, Sheet, split};

/// What is known, and how it was looked at.
pub struct Given {
    /// What is judged.
    pub known: Known,
    /// What it is compared with.
    pub limits: Limits,
    /// Whether the step of the marks is only the usual one.
    pub usual_step: bool,
    /// The end from which rotations are seen.
    pub from: Option<End>,
    /// The rotation now.
    pub turns: Option<timing::Turn>,
    /// The rotation that is wanted.
    pub wanted: Option<timing::Turn>,
}

impl Given {
    /// -1 when it turns the wrong way, so that forward speeds are those of the other direction.
    pub fn sign(&self) -> f64 {
        if self.known.right_way == Some(false) { -1.0 } else { 1.0 }
    }
}

/// Collects what is known.
///
/// # Errors
/// When something is written wrongly, contradicts itself, or is missing and nobody can be asked.
pub fn ask(args: &Args, sheet: &mut Sheet) -> Result<Given, Halt> {
    let (limits, usual_step) = limits(args, sheet)?;
    let timed =
        args.mark.is_some() || args.ratio.is_some() || args.forward.is_some() || args.reverse.is_some();
    let timed = timed || !args.position.is_empty();
    let directed = args.turns.is_some() || args.wanted.is_some();
    let looked = directed || args.leads.is_some() || args.screws.is_some();

    let used = sheet.choose("use", args.used, !timed && looked, &USES)?;
    let (from, wanted, turns) = direction(args, sheet, directed)?;
    let leads = sheet.choose("leads", args.leads, true, &LEADS)?;
    let bell = sheet.choose("bell", args.bell, true, &BELLS)?;
    let screws = sheet.choose("screws", args.screws, true, &SCREWS)?;
    let seat = bell.map(|b| match b {
        Bell::InPlace => timing::Seat::InPlace,
        Bell::HalfTurn => timing::Seat::HalfTurn,
    });
    let (mark, seat) = mark(args, sheet, seat, &limits)?;
    let right_way = turns.zip(wanted).map(|(turns, wanted)| turns == wanted);
    let positions = positions(args, sheet, &limits)?;
    let sign = if right_way == Some(false) { -1.0 } else { 1.0 };
    let curve = match positions.as_slice() {
        [] => None,
        some => {
            let forward: Vec<_> = some.iter().map(|(a, r)| (sign * a, *r)).collect();
            Some(Curve::fit(&forward).map_err(wrong)?)
        }
    };
    let speeds = speeds(args, sheet, positions.is_empty(), &limits)?;
    let known = Known {
        used: used.map(|u| match u {
            Use::OneWay => timing::Use::OneWay,
            Use::BothWays => timing::Use::BothWays,
        }),
        right_way,
        leads: leads.map(|l| match l {
            Leads::Right => timing::Leads::Right,
            Leads::Crossed => timing::Leads::Crossed,
        }),
        seat,
        loose: screws.map(|s| s == Screws::Loose),
        // The last position is where it stands now.
        mark: mark.or(positions.last().map(|p| p.0)),
        speeds: speeds.or(positions.last().filter(|_| mark.is_none()).map(|p| p.1)),
        curve,
        currents: currents(args, sheet)?,
    };
    let nothing = known.mark.is_none() && known.speeds.is_none();
    if nothing && known.right_way.is_none() && known.leads.is_none() && known.loose.is_none() {
        return Err(nothing_given().into());
    }
    Ok(Given { known, limits, usual_step, from, turns, wanted })
}

fn nothing_given() -> Failure {
    Failure::usage("there is nothing to judge").help(
        "Give what is known: --turns and --wanted with --seen-from, or --mark with --mark-side, or --forward and \
         --reverse",
    )
}

const USES: [(Use, &str, &str); 2] = [
    (Use::OneWay, "one-way", "Mostly one way"),
    (Use::BothWays, "both-ways", "Both ways, which are to be alike"),
];
const ENDS: [(End, &str, &str); 2] = [
    (End::Shaft, "shaft", "From the shaft end, where the shaft comes out"),
    (End::Bell, "bell", "From the end bell, where the brushes are"),
];
const TURNS: [(Turn, &str, &str); 2] =
    [(Turn::Cw, "cw", "Clockwise"), (Turn::Ccw, "ccw", "Counter-clockwise")];
const LEADS: [(Leads, &str, &str); 2] =
    [(Leads::Right, "right", "As marked"), (Leads::Crossed, "crossed", "Changed over")];
const BELLS: [(Bell, &str, &str); 2] = [
    (Bell::InPlace, "in-place", "In place: its mark next to the can's zero"),
    (Bell::HalfTurn, "half-turn", "Half a turn round: its mark opposite the can's zero"),
];
const SCREWS: [(Screws, &str, &str); 2] =
    [(Screws::Snug, "snug", "Snug"), (Screws::Loose, "loose", "Loose: a screw or the end bell moves")];
const SIDES: [(Side, &str, &str); 2] = [
    (Side::WithWanted, "with-wanted", "With the wanted rotation"),
    (Side::AgainstWanted, "against-wanted", "Against the wanted rotation"),
];

fn side(side: Side) -> timing::Side {
    match side {
        Side::WithWanted => timing::Side::WithWanted,
        Side::AgainstWanted => timing::Side::AgainstWanted,
    }
}

type Directions = (Option<End>, Option<timing::Turn>, Option<timing::Turn>);

/// The end one looks from, the wanted rotation and the present one. Either rotation needs the end: without
/// it clockwise says nothing.
fn direction(args: &Args, sheet: &mut Sheet, directed: bool) -> Result<Directions, Halt> {
    let turn = |turn| match turn {
        Turn::Cw => timing::Turn::Cw,
        Turn::Ccw => timing::Turn::Ccw,
    };
    let from = sheet.choose("seen-from", args.seen_from, !directed, &ENDS)?;
    if from.is_none() {
        return Ok((None, None, None));
    }
    let wanted = sheet.choose("wanted", args.wanted, args.turns.is_none(), &TURNS)?;
    let turns = sheet.choose("turns", args.turns, true, &TURNS)?;
    Ok((from, wanted.map(turn), turns.map(turn)))
}

fn limits(args: &Args, sheet: &Sheet) -> Result<(Limits, bool), Halt> {
    let step = sheet.given("mark-step", args.mark_step.as_deref(), Kind::Angle)?;
    let limits = Limits {
        least: sheet.usual("least")?,
        most: sheet.usual("most")?,
        too_far: sheet.usual("too-far")?,
        reading: sheet.usual("reading")?,
        step: match step {
            Some(step) => step,
            None => sheet.usual("mark-step")?,
        },
        lift: sheet.usual("lift")?,
        per_degree: [
            sheet.usual("per-degree-least")?,
            sheet.usual("per-degree-usual")?,
            sheet.usual("per-degree-most")?,
        ],
        alike: sheet.usual("alike")?,
        much_faster: sheet.usual("much-faster")?,
        absurd: sheet.usual("absurd")?,
        currents_alike: sheet.usual("currents-alike")?,
    };
    Ok((limits, step.is_none()))
}

type Standing = (Option<f64>, Option<timing::Seat>);

/// The advance by the mark, and the seat.
fn mark(
    args: &Args,
    sheet: &mut Sheet,
    seat: Option<timing::Seat>,
    limits: &Limits,
) -> Result<Standing, Halt> {
    if args.mark.is_none() && !args.position.is_empty() {
        return Ok((None, seat));
    }
    let written = sheet.text("mark", args.mark.as_deref(), true, |text| angle_or_arc(text).map(|_| ()))?;
    let mark = match written.as_deref().map(angle_or_arc) {
        None => return Ok((None, seat)),
        Some(Ok(Mark::Angle(angle))) => angle,
        Some(Ok(Mark::Arc(arc))) => {
            let across = sheet.need("can-diameter", args.can_diameter.as_deref(), Kind::Length)?;
            timing::angle_of_arc(arc, across).map_err(wrong)?
        }
        Some(Err(why)) => return Err(Failure::input(format!("--mark: {why}")).into()),
    };
    // At zero, or just opposite, there is no side to ask for.
    let sided = mark != 0.0 && mark != 180.0;
    let chosen = sheet.choose("mark-side", args.mark_side, !sided, &SIDES)?;
    let (advance, seat) = standing(mark, chosen.map(side), seat, limits.lift).map_err(wrong)?;
    Ok((Some(advance), seat))
}

/// Where the end bell stands: read from the marks, or laid off round the can with a ruler or a strip of paper.
enum Mark {
    /// Degrees.
    Angle(f64),
    /// Metres along the rim.
    Arc(f64),
}

fn angle_or_arc(text: &str) -> Result<Mark, String> {
    match (bench::read(Kind::Angle, text), bench::read(Kind::Length, text)) {
        (Ok(angle), _) => Ok(Mark::Angle(angle)),
        (Err(_), Ok(arc)) => Ok(Mark::Arc(arc)),
        (Err(error), Err(_)) => Err(format!("{error}; or write how far it is along the rim, in mm")),
    }
}

/// Uncertainty of one speed reading, relative.
fn meter(args: &Args, sheet: &Sheet) -> Result<f64, Halt> {
    let meter = match sheet.given("meter", args.meter.as_deref(), Kind::Ratio)? {
        Some(meter) => meter,
        None => sheet.usual("meter")?,
    };
    if meter > 0.0 && meter < 0.2 { Ok(meter) } else { Err(wrong(TimingError::Deviation(meter)).into()) }
}

fn speeds(args: &Args, sheet: &mut Sheet, ask: bool, limits: &Limits) -> Result<Option<SpeedRatio>, Halt> {
    let meter = meter(args, sheet)?;
    if let Some(text) = &args.ratio {
        return ratio(text, meter, limits).map(Some);
    }
    if args.forward.is_none() && args.reverse.is_none() && !ask {
        return Ok(None);
    }
    let forward = match &args.reverse {
        Some(_) => Some(sheet.need("forward", args.forward.as_deref(), Kind::Speed)?),
        None => sheet.want("forward", args.forward.as_deref(), Kind::Speed)?,
    };
    let Some(forward) = forward else {
        // Who has no tachometer may have the ratio from the sound.
        let checked = |text: &str| with_tolerance(text).map(|_| ());
        return match sheet.text("ratio", None, true, checked)? {
            Some(text) => ratio(&text, meter, limits).map(Some),
            None => Ok(None),
        };
    };
    let reverse = sheet.need("reverse", args.reverse.as_deref(), Kind::Speed)?;
    Ok(Some(SpeedRatio::of_speeds(forward, reverse, meter, limits.absurd).map_err(wrong)?))
}

/// A ratio as it was written.
fn ratio(text: &str, meter: f64, limits: &Limits) -> Result<SpeedRatio, Halt> {
    let (ratio, deviation) = with_tolerance(text).map_err(|why| Failure::input(format!("--ratio: {why}")))?;
    let deviation = deviation.unwrap_or(meter * std::f64::consts::SQRT_2);
    Ok(SpeedRatio::of_ratio(ratio, deviation, limits.absurd).map_err(wrong)?)
}

/// A ratio and its relative deviation: `1.04`, `1.04 +/- 0.003`, `1.04 ± 0.3 %`.
fn with_tolerance(text: &str) -> Result<(f64, Option<f64>), String> {
    let read = |text: &str| bench::read(Kind::Ratio, text).map_err(|e| e.to_string());
    let Some((value, part)) = ["±", "+/-", "+-"].iter().find_map(|sign| text.split_once(sign)) else {
        return Ok((read(text)?, None));
    };
    let (ratio, tolerance) = (read(value)?, read(part)?);
    let relative = if part.contains('%') { tolerance } else { tolerance / ratio };
    Ok((ratio, Some(relative)))
}

fn currents(args: &Args, sheet: &mut Sheet) -> Result<Option<f64>, Halt> {
    if args.forward_current.is_none() && args.reverse_current.is_none() {
        return Ok(None);
    }
    let forward = sheet.need("forward-current", args.forward_current.as_deref(), Kind::Current)?;
    let reverse = sheet.need("reverse-current", args.reverse_current.as_deref(), Kind::Current)?;
    for current in [forward, reverse] {
        if current <= 0.0 {
            return Err(wrong(TimingError::Current(current)).into());
        }
    }
    Ok(Some(forward / reverse))
}

/// Positions of the end bell, as advances for the wanted rotation, with their speed ratios.
fn positions(args: &Args, sheet: &mut Sheet, limits: &Limits) -> Result<Vec<(f64, SpeedRatio)>, Halt> {
    let positive = args.position_side.map_or(1.0, |s| side(s).sign());
    let meter = meter(args, sheet)?;
    let mut out = Vec::new();
    for text in &args.position {
        let refused = |why: String| Failure::input(format!("--position: {why}"));
        let parts = split(text);
        let [angle, forward, reverse] = parts.as_slice() else {
            let said = format!(
                "`{text}` is not an angle and two speeds: write it as \"12 deg, 20100 rpm, 19200 rpm\""
            );
            return Err(refused(said).into());
        };
        let read = |kind, text: &str| bench::read(kind, text).map_err(|e| refused(e.to_string()));
        let angle = read(Kind::Angle, angle)?;
        if angle.abs() > limits.lift {
            return Err(wrong(TimingError::Lifted { mark: angle.abs(), lift: limits.lift }).into());
        }
        let (forward, reverse) = (read(Kind::Speed, forward)?, read(Kind::Speed, reverse)?);
        let ratio = SpeedRatio::of_speeds(forward, reverse, meter, limits.absurd).map_err(wrong)?;
        out.push((positive * angle, ratio));
    }
    Ok(out)
}
