//! `commsense measure end-play`.

mod said;
mod shims;

use super::sheet::{Halt, Sheet};
use crate::bench::Kind;
use crate::bench::end_play::{Depths, Goal, Place, Room, Shims, Track, offset, plan, room};
use crate::cli::exit::Failure;
use crate::present::measure::Outcome;
use shims::shims;

/// How many sets are listed for each pair of stacks.
const LISTED: usize = 12;

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// Depth inside, between the bearing faces
    #[arg(long, value_name = "LENGTH")]
    pub can: Option<String>,
    /// Length of the armature between its shoulders
    #[arg(long, value_name = "LENGTH")]
    pub stack: Option<String>,
    /// Shims found in it, all together: "0.5 mm x2, 0.1 mm", or "none"
    #[arg(long, value_name = "SHIMS")]
    pub found: Option<String>,
    /// Shims found between end bell and armature
    #[arg(long, value_name = "SHIMS")]
    pub bell_side_now: Option<String>,
    /// Shims found between armature and can
    #[arg(long, value_name = "SHIMS")]
    pub can_side_now: Option<String>,
    /// Play as measured before it was opened; in place of --can and --stack, or beside them
    #[arg(long, value_name = "LENGTH")]
    pub play: Option<String>,
    /// Shims to choose from, beside those found: "0.1 mm x4, 0.2 mm x4"
    #[arg(long, value_name = "SHIMS")]
    pub drawer: Option<String>,
    /// Play wanted
    #[arg(long, value_name = "LENGTH")]
    pub want: Option<String>,
    /// How far the play may be off
    #[arg(long, value_name = "LENGTH")]
    pub tolerance: Option<String>,
    /// How far the core stood from the middle of the magnets as found; above 0 towards the can
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub offset_now: Option<String>,
    /// From the end bell's bearing face to the middle of the magnets
    #[arg(long, value_name = "LENGTH")]
    pub magnet_centre: Option<String>,
    /// From the armature's shoulder at the end bell to the middle of its core
    #[arg(long, value_name = "LENGTH")]
    pub core_centre: Option<String>,
    /// Where the core is wanted, from the middle of the magnets; above 0 towards the can
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub offset: Option<String>,
    /// How far the core may stand off
    #[arg(long, value_name = "LENGTH")]
    pub centre_tolerance: Option<String>,
    /// Bare commutator between the brush and its end at the end bell, as found
    #[arg(long, value_name = "LENGTH")]
    pub track_bell_side: Option<String>,
    /// Bare commutator between the brush and its end at the core, as found
    #[arg(long, value_name = "LENGTH")]
    pub track_can_side: Option<String>,
}

/// What was found in the motor.
struct Found {
    /// Shims of the bell's side and of the can's side, where it is known which lay where.
    sides: Option<(Vec<Shims>, Vec<Shims>)>,
    /// All of them, where they are known.
    all: Option<Vec<Shims>>,
}

/// What the core's place was reckoned from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum From {
    /// Depths of magnets and core.
    Depths,
    /// How far off it stood as found.
    Found,
    /// Nothing but how it was found: it is kept where it was.
    Kept,
    /// Nothing: it is taken as centred between equal stacks.
    Equal,
}

/// Judges the play and chooses shims.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    let found = found(args, sheet)?;
    let space = space(args, &found, sheet)?;
    let given = listed("drawer", args.drawer.as_deref(), sheet)?;
    let no_drawer = given.is_none();
    let mut drawer = given.unwrap_or_default();
    drawer.extend(found.all.iter().flatten().copied());
    let goal = goal(args, sheet)?;
    let (place, from) = place(args, &found, sheet)?;
    let track = track(args, &found, sheet)?;
    let chosen = plan(space.room.value, &drawer, goal, place, track, LISTED).map_err(wrong)?;
    let stands = |(bell, can): &(Vec<Shims>, Vec<Shims>)| {
        offset(space.room.value, goal, place, total(bell), total(can)).map_err(wrong)
    };
    let offset_now = found.sides.as_ref().map(stands).transpose()?;
    // Equal stacks that leave the wanted play stand this far off; half of it more on one side puts it right.
    let off = offset(space.room.value, goal, place, 0.0, 0.0).map_err(wrong)?;
    let half = (space.room.value - goal.play) / 2.0;
    let ideal = ((half - off).max(0.0), (half + off).max(0.0));
    let tracked = track.is_some();
    said::outcome(sheet, &said::Found { space, goal, from, tracked, chosen, offset_now, ideal, no_drawer })
}

fn wrong(why: impl std::fmt::Display) -> Failure {
    Failure::input(format!("the shims can't be chosen: {why}"))
}

fn listed(id: &str, given: Option<&str>, sheet: &mut Sheet) -> Result<Option<Vec<Shims>>, Halt> {
    match sheet.text(id, given, true, |t| shims(t).map(|_| ()))? {
        Some(text) => Ok(Some(shims(&text).map_err(|why| Failure::input(format!("--{id}: {why}")))?)),
        None => Ok(None),
    }
}

fn found(args: &Args, sheet: &mut Sheet) -> Result<Found, Halt> {
    let bell = listed("bell-side-now", args.bell_side_now.as_deref(), sheet)?;
    let can = listed("can-side-now", args.can_side_now.as_deref(), sheet)?;
    let sides = match (bell, can) {
        (Some(bell), Some(can)) => Some((bell, can)),
        (None, None) => None,
        _ => {
            let said = "give the shims found on both sides, --bell-side-now and --can-side-now; a side without any is `none`";
            return Err(Failure::usage(said).into());
        }
    };
    let both = sides.as_ref().map(|(bell, can)| [&bell[..], &can[..]].concat());
    let all = match (args.found.as_deref(), both) {
        (None, Some(both)) => Some(both),
        (given, both) => {
            let all = listed("found", given, sheet)?;
            if let (Some(all), Some(both)) = (&all, &both)
                && (total(all) - total(both)).abs() > 0.5e-6
            {
                let (a, b) = (said::mm(total(all)), said::mm(total(both)));
                let said = format!(
                    "the readings contradict each other: the shims found are {a} together, and those of both sides {b}"
                );
                return Err(Failure::input(said).into());
            }
            all.or(both)
        }
    };
    Ok(Found { sides, all })
}

/// The room for shims and the play as found.
fn space(args: &Args, found: &Found, sheet: &mut Sheet) -> Result<Room, Halt> {
    let play = match found.all {
        Some(_) => sheet.want("play", args.play.as_deref(), Kind::Length)?,
        None => sheet.given("play", args.play.as_deref(), Kind::Length)?,
    };
    if play.is_some() && found.all.is_none() {
        let said = "the play as measured tells the room only together with the shims found: give --found too";
        return Err(Failure::usage(said).into());
    }
    let depths = match (play, &args.can, &args.stack) {
        (Some(_), None, None) => None,
        _ => Some(Depths {
            can: sheet.need("can", args.can.as_deref(), Kind::Length)?,
            stack: sheet.need("stack", args.stack.as_deref(), Kind::Length)?,
            deviation: sheet.usual("depth-scatter")?,
        }),
    };
    let gauge = sheet.usual("gauge-scatter")?;
    let shim = sheet.usual("shim-scatter")?;
    let space = room(depths, play.map(|p| (p, gauge)), found.all.as_deref(), shim).map_err(wrong)?;
    Ok(space)
}

fn goal(args: &Args, sheet: &mut Sheet) -> Result<Goal, Halt> {
    let play = match sheet.want("want", args.want.as_deref(), Kind::Length)? {
        Some(play) => play,
        None => sheet.limit("usual-play")?,
    };
    let mut tolerance = |id: &str, given: Option<&str>| match sheet.given(id, given, Kind::Length)? {
        Some(tolerance) => Ok::<f64, Failure>(tolerance),
        None => sheet.limit(id),
    };
    let play_tolerance = tolerance("tolerance", args.tolerance.as_deref())?;
    let offset_tolerance = tolerance("centre-tolerance", args.centre_tolerance.as_deref())?;
    let offset = sheet.given("offset", args.offset.as_deref(), Kind::Length)?.unwrap_or(0.0);
    Ok(Goal { play, play_tolerance, offset, offset_tolerance })
}

fn total(shims: &[Shims]) -> f64 {
    shims.iter().map(|s| s.thickness * s.pieces as f64).sum()
}

fn place(args: &Args, found: &Found, sheet: &mut Sheet) -> Result<(Place, From), Halt> {
    let magnets = sheet.given("magnet-centre", args.magnet_centre.as_deref(), Kind::Length)?;
    let core = sheet.given("core-centre", args.core_centre.as_deref(), Kind::Length)?;
    match (magnets, core) {
        (Some(magnets), Some(core)) => return Ok((Place::Measured { magnets, core }, From::Depths)),
        (None, None) => {}
        _ => {
            let said =
                "--magnet-centre and --core-centre belong together: give both, or --offset-now instead";
            return Err(Failure::usage(said).into());
        }
    }
    let Some((bell, can)) = &found.sides else {
        if args.offset_now.is_some() {
            let said =
                "--offset-now holds for the armature as found: give --bell-side-now and --can-side-now too";
            return Err(Failure::usage(said).into());
        }
        return Ok((Place::Unknown, From::Equal));
    };
    let (bell, can) = (total(bell), total(can));
    let offset = sheet.want("offset-now", args.offset_now.as_deref(), Kind::Length)?;
    let from = if offset.is_some() { From::Found } else { From::Kept };
    Ok((Place::Found { bell, can, offset: offset.unwrap_or(0.0) }, from))
}

/// Where the brush runs, which is told for the armature as found.
fn track(args: &Args, found: &Found, sheet: &mut Sheet) -> Result<Option<Track>, Halt> {
    let Some((found_bell, found_can)) = &found.sides else {
        if args.track_bell_side.is_some() || args.track_can_side.is_some() {
            let said = "where the brush runs is told for the armature as found: give --bell-side-now and --can-side-now too";
            return Err(Failure::usage(said).into());
        }
        return Ok(None);
    };
    let bell = sheet.want("track-bell-side", args.track_bell_side.as_deref(), Kind::Length)?;
    let can = match bell {
        Some(_) => sheet.want("track-can-side", args.track_can_side.as_deref(), Kind::Length)?,
        None => sheet.given("track-can-side", args.track_can_side.as_deref(), Kind::Length)?,
    };
    match (bell, can) {
        (None, None) => Ok(None),
        (Some(bell), Some(can)) => {
            let (found_bell, found_can) = (total(found_bell), total(found_can));
            Ok(Some(Track { bell, can, found_bell, found_can }))
        }
        _ => {
            let said = "--track-bell-side and --track-can-side belong together: measure both";
            Err(Failure::usage(said).into())
        }
    }
}
