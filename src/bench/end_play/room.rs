//! How much room there is for shims, from depths, or from the play as it was found, or both.

use super::{EndPlayError, Shims, deviation, finite, positive};
use crate::bench::Estimate;

/// Depths by caliper, in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depths {
    /// Between the bearing faces, end bell fitted.
    pub can: f64,
    /// Armature between its shoulders, without shims.
    pub stack: f64,
    /// Standard deviation of either.
    pub deviation: f64,
}

/// The room for shims, and the play as it was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Room for shims and play together, in m.
    pub room: Estimate,
    /// The play with the shims that were found, in m; below 0 when they are thicker than the room. None
    /// when it is not known which were there.
    pub play: Option<Estimate>,
}

/// The room from the depths, or from a measured play (with its standard deviation) and the shims found, or
/// from both: then weighted by how sure each is, if they agree within four standard deviations.
///
/// `shim` is the standard deviation of one shim's thickness in m; errors of shims of one thickness are
/// taken as independent.
///
/// # Errors
///
/// [`EndPlayError`] when a length is not above zero, when the armature is longer than the can by more than
/// four standard deviations, when neither way is open, or when both contradict each other.
pub fn room(
    depths: Option<Depths>,
    measured: Option<(f64, f64)>,
    found: Option<&[Shims]>,
    shim: f64,
) -> Result<Room, EndPlayError> {
    let shim = deviation("a shim", shim)?;
    let found = match found {
        Some(shims) => Some(total(shims, shim)?),
        None => None,
    };
    let by_depths = match depths {
        Some(d) => Some(by_depths(d)?),
        None => None,
    };
    let measured = match measured {
        Some((play, spread)) => {
            if finite("the play", play)? < 0.0 {
                return Err(EndPlayError::NotPositive { what: "the play" });
            }
            Some(Estimate::normal(play, deviation("the play", spread)?))
        }
        None => None,
    };
    let by_play = measured.zip(found).map(|(play, shims)| add(play, shims, 1.0));
    let room = match (by_depths, by_play) {
        (Some(depths), Some(play)) => agree(depths, play, found)?,
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => return Err(EndPlayError::RoomUnknown),
    };
    // What was measured directly is surer than anything reckoned.
    let play = measured.or(found.map(|shims| add(room, shims, -1.0)));
    Ok(Room { room, play })
}

fn by_depths(d: Depths) -> Result<Estimate, EndPlayError> {
    let can = positive("the can depth", d.can)?;
    let stack = positive("the armature length", d.stack)?;
    let spread = deviation("the depths", d.deviation)? * std::f64::consts::SQRT_2;
    if can - stack < -4.0 * spread {
        return Err(EndPlayError::NoRoom { can: can * 1e3, stack: stack * 1e3 });
    }
    Ok(Estimate::normal(can - stack, spread))
}

/// Total thickness of some shims.
fn total(shims: &[Shims], shim: f64) -> Result<Estimate, EndPlayError> {
    let (mut sum, mut variance) = (0.0, 0.0);
    for s in shims {
        sum += positive("the thickness of a shim", s.thickness)? * s.pieces as f64;
        variance += shim * shim * s.pieces as f64;
    }
    Ok(Estimate::normal(finite("the shims found", sum)?, variance.sqrt()))
}

fn add(a: Estimate, b: Estimate, sign: f64) -> Estimate {
    Estimate::normal(a.value + sign * b.value, a.deviation.hypot(b.deviation))
}

/// The mean of two ways to the room, weighted by their variances.
fn agree(depths: Estimate, play: Estimate, found: Option<Estimate>) -> Result<Estimate, EndPlayError> {
    let apart = (depths.value - play.value).abs();
    if apart > 4.0 * depths.deviation.hypot(play.deviation) + 0.5e-6 {
        let shims = found.map_or(0.0, |f| f.value);
        let (reckoned, measured) = ((depths.value - shims) * 1e3, (play.value - shims) * 1e3);
        return Err(EndPlayError::Contradiction { reckoned, measured });
    }
    if depths.deviation == 0.0 || play.deviation == 0.0 {
        return Ok(if play.deviation == 0.0 { play } else { depths });
    }
    let (a, b) = (depths.deviation.powi(-2), play.deviation.powi(-2));
    Ok(Estimate::normal((depths.value * a + play.value * b) / (a + b), (a + b).powf(-0.5)))
}
