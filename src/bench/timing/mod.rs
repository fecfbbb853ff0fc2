//! Direction and timing: which way the shaft turns, where the brushes stand, and what has to be done.
//!
//! Angles are in degrees of arc. The *advance* is how far the brushes stand from the geometric neutral
//! against the rotation that is wanted: positive is advance, negative is advance for the other direction.
//!
//! Everything follows from four facts:
//!
//! - In a motor the armature's own field shifts the neutral plane against the rotation, so advance is
//!   set against it (US Navy NEETS Module 5, NAVEDTRA 14177, p. 2-15; a backward lead).
//! - What is clockwise from one end of the shaft is counter-clockwise from the other.
//! - Crossing the leads turns the rotation round and leaves the brushes where they are: what was advance
//!   is then advance for the other direction.
//! - Half a turn of the end bell changes the two brushes over, which turns the rotation round as well,
//!   and leaves the line through them where it was.
//!
//! [`rule`] judges and says what to do, [`speeds`] weighs the speeds of the two directions, [`curve`]
//! finds a motor's own answer to its timing from several positions of the end bell.

pub mod curve;
mod findings;
pub mod rule;
pub mod speeds;

pub use curve::Curve;
pub use findings::Finding;
pub use rule::{Act, Judgement, Known, judge};
pub use speeds::SpeedRatio;

use super::Estimate;

/// A sense of rotation; from which end it is seen is said beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// Clockwise.
    Cw,
    /// Counter-clockwise.
    Ccw,
}

impl Turn {
    /// The other sense; also the same rotation seen from the other end of the shaft.
    pub fn other(self) -> Turn {
        match self {
            Turn::Cw => Turn::Ccw,
            Turn::Ccw => Turn::Cw,
        }
    }
}

/// What the motor is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// It runs mostly one way and is to be best that way.
    OneWay,
    /// It runs both ways and they are to be alike.
    BothWays,
}

/// On which side of zero something stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Turned from zero the way the shaft is wanted to turn: advance for the other direction.
    WithWanted,
    /// Turned from zero against the way the shaft is wanted to turn: advance.
    AgainstWanted,
}

impl Side {
    /// The side of an advance; None at zero.
    pub fn of(advance: f64) -> Option<Side> {
        if advance > 0.0 {
            Some(Side::AgainstWanted)
        } else if advance < 0.0 {
            Some(Side::WithWanted)
        } else {
            None
        }
    }

    /// 1 for advance, -1 for advance of the other direction.
    pub fn sign(self) -> f64 {
        match self {
            Side::WithWanted => -1.0,
            Side::AgainstWanted => 1.0,
        }
    }
}

/// How the leads are on the terminals, by their colours and marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leads {
    /// As marked.
    Right,
    /// Changed over.
    Crossed,
}

/// How the end bell sits in the can.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seat {
    /// As it belongs.
    InPlace,
    /// Half a turn round.
    HalfTurn,
}

/// What the trade allows and expects; none of it is known here.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least advance for use one way, degrees.
    pub least: f64,
    /// Most advance for use one way that is still of use, degrees.
    pub most: f64,
    /// Advance above which harm is done, degrees.
    pub too_far: f64,
    /// Within this of zero a mark can't be told from zero, and any other mark can be misread by as much;
    /// degrees.
    pub reading: f64,
    /// From one mark to the next, degrees.
    pub step: f64,
    /// How far from its seat an end bell can stand before it lifts out, degrees.
    pub lift: f64,
    /// Change of the speed ratio (natural logarithm) with each degree: least, usual and most.
    pub per_degree: [f64; 3],
    /// Speeds whose ratio is off 1 by no more than this are alike.
    pub alike: f64,
    /// Ratio of forward to reverse above which there is too much advance.
    pub much_faster: f64,
    /// Ratio of two speeds that no timing brings about.
    pub absurd: f64,
    /// Currents of the two directions whose ratio is off 1 by no more than this are alike.
    pub currents_alike: f64,
}

/// Why timing could not be judged.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TimingError {
    /// The mark's angle is not a number, or negative.
    #[error("an angle of {0} deg for the mark makes no sense: give it from 0 up, and its side apart")]
    Mark(f64),
    /// The mark is where no end bell stays.
    #[error(
        "a mark {mark} deg from zero can't be: an end bell lifts out more than about {lift} deg from its seat. \
         Read the mark again from the zero mark, or from the point opposite it when the end bell is half a turn \
         round"
    )]
    Lifted {
        /// As given.
        mark: f64,
        /// How far the end bell can stand from its seat.
        lift: f64,
    },
    /// An arc that does not fit on the can.
    #[error("{:.1} mm along the rim of a can {:.1} mm across can't be: measure both again", arc * 1e3, diameter * 1e3)]
    Arc {
        /// Along the rim, metres.
        arc: f64,
        /// Of the can, metres.
        diameter: f64,
    },
    /// Half a turn by the angle, in place by what was said.
    #[error(
        "a mark {0} deg from zero means that the end bell is half a turn round, but it is said to be in place: \
         look again"
    )]
    Seat(f64),
    /// A mark without its side.
    #[error(
        "the side of the mark is missing: say whether the end bell stands turned with the wanted rotation or \
         against it"
    )]
    SideMissing,
    /// The step from mark to mark makes no sense.
    #[error("marks {0} deg apart make no sense: give a step above 0 and up to 45 deg")]
    Step(f64),
    /// A speed is not a positive number.
    #[error("a speed of {0} rpm makes no sense here: both speeds are given as numbers above zero")]
    Speed(f64),
    /// A ratio is not a positive number.
    #[error("a speed ratio of {0} makes no sense: forward speed divided by reverse speed is above zero")]
    Ratio(f64),
    /// No timing does this.
    #[error(
        "a speed ratio of {0:.3} is not a matter of timing: check that both readings are of the unloaded motor at \
         the same volts"
    )]
    Absurd(f64),
    /// A deviation makes no sense.
    #[error("an uncertainty of {0} makes no sense: give one above 0 and below 20 %")]
    Deviation(f64),
    /// A current is not a positive number.
    #[error("a current of {0} A makes no sense here: both currents are given as numbers above zero")]
    Current(f64),
    /// Too few positions for a curve.
    #[error("a motor's own curve takes at least two different positions of the end bell")]
    Positions,
}

/// Which way the end bell is turned, seen from the end from which the wanted rotation is seen.
pub fn way(against: bool, wanted: Turn) -> Turn {
    if against { wanted.other() } else { wanted }
}

/// The angle in degrees that an arc of `arc` metres makes on a can `diameter` metres across:
/// 360 arc / (pi diameter). Geometry.
///
/// # Errors
///
/// [`TimingError::Arc`] when either is no length above zero (the arc may be zero), or the arc goes more than once round.
pub fn angle_of_arc(arc: f64, diameter: f64) -> Result<f64, TimingError> {
    let round = std::f64::consts::PI * diameter;
    match round > 0.0 && round.is_finite() && (0.0..=round).contains(&arc) {
        true => Ok(360.0 * arc / round),
        false => Err(TimingError::Arc { arc, diameter }),
    }
}

/// Where the end bell stands, from a mark as it was read.
///
/// `mark` is the angle from the zero mark, `side` where it lies from there. A mark beyond a quarter turn
/// is that of an end bell half a turn round, on the other side of the opposite point. Returns the
/// advance for the wanted rotation by the marks, and the seat as far as it is known.
///
/// # Errors
///
/// [`TimingError`] when the mark is negative or not finite, where no end bell stays, lacks its side, or
/// contradicts the seat.
pub fn standing(
    mark: f64,
    side: Option<Side>,
    seat: Option<Seat>,
    lift: f64,
) -> Result<(f64, Option<Seat>), TimingError> {
    if !(mark.is_finite() && mark >= 0.0) {
        return Err(TimingError::Mark(mark));
    }
    let round = mark > 90.0;
    let from_nearest = if round { 180.0 - mark } else { mark };
    if from_nearest < -lift || from_nearest > lift {
        return Err(TimingError::Lifted { mark, lift });
    }
    if round && seat == Some(Seat::InPlace) {
        return Err(TimingError::Seat(mark));
    }
    let seat = if round { Some(Seat::HalfTurn) } else { seat };
    if from_nearest == 0.0 {
        return Ok((0.0, seat));
    }
    let side = side.ok_or(TimingError::SideMissing)?;
    // Half a turn less so many degrees one way is so many degrees the other way from the opposite point.
    let sign = if round { -side.sign() } else { side.sign() };
    Ok((sign * from_nearest, seat))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_counted_from_the_nearer_zero() {
        let with = Some(Side::WithWanted);
        let against = Some(Side::AgainstWanted);
        assert_eq!(standing(12.0, against, None, 45.0), Ok((12.0, None)));
        assert_eq!(standing(12.0, with, Some(Seat::HalfTurn), 45.0), Ok((-12.0, Some(Seat::HalfTurn))));
        assert_eq!(standing(168.0, with, None, 45.0), Ok((12.0, Some(Seat::HalfTurn))));
        assert_eq!(standing(192.0, against, None, 45.0), Ok((12.0, Some(Seat::HalfTurn))));
        assert_eq!(standing(180.0, None, None, 45.0), Ok((0.0, Some(Seat::HalfTurn))));
        assert_eq!(standing(0.0, None, None, 45.0), Ok((0.0, None)));
    }

    #[test]
    fn impossible_marks_are_refused() {
        let against = Some(Side::AgainstWanted);
        assert!(matches!(standing(90.0, against, None, 45.0), Err(TimingError::Lifted { .. })));
        assert!(matches!(standing(46.0, against, None, 45.0), Err(TimingError::Lifted { .. })));
        assert!(matches!(standing(300.0, against, None, 45.0), Err(TimingError::Lifted { .. })));
        assert!(matches!(standing(-1.0, against, None, 45.0), Err(TimingError::Mark(_))));
        assert!(matches!(standing(f64::NAN, against, None, 45.0), Err(TimingError::Mark(_))));
        assert!(matches!(standing(f64::INFINITY, against, None, 45.0), Err(TimingError::Mark(_))));
        assert_eq!(standing(12.0, None, None, 45.0), Err(TimingError::SideMissing));
        assert_eq!(standing(170.0, against, Some(Seat::InPlace), 45.0), Err(TimingError::Seat(170.0)));
    }
}
