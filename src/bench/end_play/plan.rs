//! Which shims to put on which side.

use super::search::{MOST_PIECES, Table};
use super::ties::{Stack, sets};
use super::{EndPlayError, Shims, finite, micrometres, positive};

/// What the shims are to bring about. Lengths in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goal {
    /// The play wanted.
    pub play: f64,
    /// How far the play may be off.
    pub play_tolerance: f64,
    /// Where the core is wanted in the middle of its play, from the middle of the magnets; above 0 towards
    /// the can.
    pub offset: f64,
    /// How far the core may be off.
    pub offset_tolerance: f64,
}

/// What is known about where the core stands. Lengths in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Place {
    /// Nothing: the core is taken as centred when both stacks are equal.
    Unknown,
    /// With these stacks, as the motor was found, the core stands this far from the middle of the magnets
    /// in the middle of its play; above 0 towards the can.
    Found {
        /// Shims of the bell's side.
        bell: f64,
        /// Shims of the can's side.
        can: f64,
        /// How far the core stands off.
        offset: f64,
    },
    /// By depths.
    Measured {
        /// From the bearing face in the end bell to the middle of the magnets.
        magnets: f64,
        /// From the armature's shoulder at the end bell to the middle of its core.
        core: f64,
    },
}

/// Bare commutator beside the brush on either side, with the armature as found in the middle of its play,
/// in m: so far may the armature move before the brush runs over the end of the track.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Track {
    /// Between the brush and the end of the commutator at the end bell.
    pub bell: f64,
    /// Between the brush and the end of the track at the core (riser or washer).
    pub can: f64,
    /// Shims of the bell's side as found.
    pub found_bell: f64,
    /// Shims of the can's side as found.
    pub found_can: f64,
}

/// How much of what is wanted the drawer can bring about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// All of it.
    All,
    /// Play and track, but the core stands further off than it may.
    OffCentre,
    /// The play, but the brush runs over the end of its track.
    OffTrack,
    /// Not even the play.
    OutOfReach,
}

/// Which shims to put where.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// How much of what is wanted is reached.
    pub reach: Reach,
    /// The best stacks; more than one when they are equally good. Never empty.
    pub best: Vec<Stack>,
    /// The best stacks with fewer pieces, at the price of a core further off; only when all is reached.
    pub fewer: Option<Stack>,
    /// The stacks that centre the core best, at the price of more pieces; only when all is reached.
    pub closer: Option<Stack>,
}

/// How good two stacks are; the least is the best. In um, centring and track in half um.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Rank {
    play_excess: u64,
    overrun: u64,
    offset_excess: u64,
    pieces: usize,
    offset: u64,
    play: u64,
}

/// Everything in whole micrometres.
struct Whole {
    room: i64,
    wanted: i64,
    tolerance: i64,
    /// Twice the core's place with equal stacks, less twice the wanted place.
    place: i64,
    offset_tolerance: i64,
    /// Greatest values of `play + difference` and `play - difference` that keep the brush on its track,
    /// where difference is the bell's stack less the can's.
    track: Option<(i64, i64)>,
}

/// Chooses shims from a drawer for a room (in m) that is shared by both stacks and the play.
///
/// Every set is weighed, and the best is, in this order: the play within its tolerance; the brush on its
/// track through all of the play; the core within its tolerance; the fewest pieces; the core nearest its
/// place; the play nearest the wanted one. Where a tolerance cannot be kept, the least excess counts. Sets
/// that leave no play at all are never taken. `most` bounds how many sets are listed for each pair of
/// stacks; they are always counted.
///
/// # Errors
///
/// [`EndPlayError`]
pub fn plan(
    room: f64,
    drawer: &[Shims],
    goal: Goal,
    place: Place,
    track: Option<Track>,
    most: usize,
) -> Result<Plan, EndPlayError> {
    let whole = Whole::new(room, goal, place, track)?;
    let mut shims = Vec::new();
    for s in drawer {
        match micrometres(s.thickness) {
            Some(um @ 1..=10_000) => shims.push((um as usize, s.pieces)),
            _ => return Err(EndPlayError::BadShim { millimetres: s.thickness * 1e3 }),
        }
    }
    // Some play must be left.
    let table = Table::new(usize::try_from(whole.room - 1).unwrap_or(0), &shims)?;
    let found = Found::among(&table, &whole).ok_or(EndPlayError::RoomUnknown)?;
    let least = found.least;
    let stack = |rank: Rank, bell: usize, can: usize| {
        let (ties, sets) = sets(&table, bell, can, most);
        let (bell, can) = (bell * table.step, can * table.step);
        let difference = bell as i64 - can as i64;
        Stack {
            bell,
            can,
            pieces: rank.pieces,
            play: (whole.room - bell as i64 - can as i64) as f64 * 1e-6,
            offset: (difference + whole.place) as f64 * 0.5e-6,
            overrun: rank.overrun as f64 * 0.5e-6,
            ties,
            sets,
        }
    };
    let best: Vec<Stack> = found.best.iter().map(|(bell, can)| stack(least, *bell, *can)).collect();
    let reach = match least {
        Rank { play_excess: 1.., .. } => Reach::OutOfReach,
        Rank { overrun: 1.., .. } => Reach::OffTrack,
        Rank { offset_excess: 1.., .. } => Reach::OffCentre,
        _ => Reach::All,
    };
    let other = |(rank, bell, can): (Rank, usize, usize)| stack(rank, bell, can);
    let all = reach == Reach::All;
    let fewer = found.fewer(least.pieces).filter(|_| all).map(other);
    let closer = found.closest.filter(|(rank, ..)| all && rank.offset < least.offset).map(other);
    Ok(Plan { reach, best, fewer, closer })
}

/// Where the core stands with these stacks, in m from where it is wanted, in the middle of its play; above 0
/// towards the can.
///
/// # Errors
///
/// [`EndPlayError`] when a length is none.
pub fn offset(room: f64, goal: Goal, place: Place, bell: f64, can: f64) -> Result<f64, EndPlayError> {
    let whole = Whole::new(room, goal, place, None)?;
    let bell = length("the stack on the bell's side", bell)?;
    let can = length("the stack on the can's side", can)?;
    Ok((bell - can + whole.place) as f64 * 0.5e-6)
}

/// What one walk over all pairs of stacks has found.
struct Found {
    least: Rank,
    /// All pairs of that rank, in steps.
    best: Vec<(usize, usize)>,
    /// The best centred pair for every number of pieces, among those with the wanted play and the brush on
    /// its track.
    by_pieces: Vec<Option<(Rank, usize, usize)>>,
    /// The best centred of all these.
    closest: Option<(Rank, usize, usize)>,
}

impl Found {
    fn among(table: &Table, whole: &Whole) -> Option<Self> {
        let mut found: Option<Found> = None;
        for (bell, can, pieces) in table.pairs() {
            // Most pairs fall short of the play alone; they need no closer look.
            let play = whole.play(bell * table.step, can * table.step);
            if found.as_ref().is_some_and(|f| whole.excess(play) > f.least.play_excess) {
                continue;
            }
            let rank = whole.rank(bell * table.step, can * table.step, pieces);
            let found = found.get_or_insert_with(|| Found {
                least: rank,
                best: Vec::new(),
                by_pieces: vec![None; MOST_PIECES + 1],
                closest: None,
            });
            if rank < found.least {
                found.least = rank;
                found.best.clear();
            }
            if rank == found.least {
                found.best.push((bell, can));
            }
            if rank.play_excess == 0 && rank.overrun == 0 {
                let with = &mut found.by_pieces[pieces];
                *with = nearer(*with, (rank, bell, can));
            }
        }
        let mut found = found?;
        found.closest = found.fewer(usize::MAX);
        Some(found)
    }

    /// The best centred pair with fewer pieces than that.
    fn fewer(&self, pieces: usize) -> Option<(Rank, usize, usize)> {
        let fewer = &self.by_pieces[..pieces.min(self.by_pieces.len())];
        fewer.iter().flatten().fold(None, |best, pair| nearer(best, *pair))
    }
}

/// The better centred of two; then the one with fewer pieces, then with the play nearer to the wanted one.
fn nearer(best: Option<(Rank, usize, usize)>, pair: (Rank, usize, usize)) -> Option<(Rank, usize, usize)> {
    let key = |(rank, ..): &(Rank, usize, usize)| (rank.offset, rank.pieces, rank.play);
    match best {
        Some(best) if key(&best) <= key(&pair) => Some(best),
        _ => Some(pair),
    }
}

impl Whole {
    fn new(room: f64, goal: Goal, place: Place, track: Option<Track>) -> Result<Self, EndPlayError> {
        let room = whole("the room for shims", positive("the room for shims", room)?)?;
        let wanted = whole("the play wanted", positive("the play wanted", goal.play)?)?;
        let tolerance = tolerance("the tolerance of the play", goal.play_tolerance)?;
        let offset_tolerance = self::tolerance("the tolerance of the core's place", goal.offset_tolerance)?;
        let goal_offset = whole("the wanted offset of the core", goal.offset)?;
        let difference = |bell: f64, can: f64| -> Result<i64, EndPlayError> {
            Ok(length("the shims found on the bell's side", bell)?
                - length("the shims found on the can's side", can)?)
        };
        let twice = match place {
            Place::Unknown => 0,
            Place::Found { bell, can, offset } => {
                2 * whole("the offset of the core as found", offset)? - difference(bell, can)?
            }
            Place::Measured { magnets, core } => {
                let magnets = length("the depth of the magnets' middle", magnets)?;
                room + 2 * length("the middle of the core", core)? - 2 * magnets
            }
        };
        let track = match track {
            None => None,
            Some(t) => {
                let found = difference(t.found_bell, t.found_can)?;
                let bell = length("the bare commutator on the bell's side", t.bell)?;
                let can = length("the bare commutator on the can's side", t.can)?;
                Some((2 * bell + found, 2 * can - found))
            }
        };
        let place = twice - 2 * goal_offset;
        Ok(Whole { room, wanted, tolerance, place, offset_tolerance, track })
    }

    /// The play that these stacks in um leave.
    fn play(&self, bell: usize, can: usize) -> i64 {
        self.room - (bell + can) as i64
    }

    /// How much further a play is off than it may be.
    fn excess(&self, play: i64) -> u64 {
        (play - self.wanted).unsigned_abs().saturating_sub(self.tolerance as u64)
    }

    fn rank(&self, bell: usize, can: usize, pieces: usize) -> Rank {
        let (play, difference) = (self.play(bell, can), bell as i64 - can as i64);
        let offset = (difference + self.place).unsigned_abs();
        let overrun = self.track.map_or(0, |(most_can, most_bell)| {
            (play + difference - most_can).max(play - difference - most_bell).max(0)
        });
        Rank {
            play_excess: self.excess(play),
            overrun: overrun as u64,
            offset_excess: offset.saturating_sub(2 * self.offset_tolerance as u64),
            pieces,
            offset,
            play: (play - self.wanted).unsigned_abs(),
        }
    }
}

fn whole(what: &'static str, metres: f64) -> Result<i64, EndPlayError> {
    micrometres(metres).ok_or(EndPlayError::NotFinite { what })
}

/// A length that may be zero.
fn length(what: &'static str, metres: f64) -> Result<i64, EndPlayError> {
    match whole(what, finite(what, metres)?)? {
        um if um < 0 => Err(EndPlayError::NotPositive { what }),
        um => Ok(um),
    }
}

fn tolerance(what: &'static str, metres: f64) -> Result<i64, EndPlayError> {
    match micrometres(metres) {
        Some(um) if um >= 0 => Ok(um),
        _ => Err(EndPlayError::BadDeviation { what }),
    }
}
