//! The gearing, or the load, that keeps a motor within its limits.

use super::{Cooling, Load, OperatingError, Supply, Vehicle, with_supply, working};
use crate::bench::motor::{Motor, Working};

/// Ratios that are looked through.
const LOWEST: f64 = 0.5;
const HIGHEST: f64 = 300.0;

/// A gear ratio that keeps the motor within its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Advice {
    /// Motor turns for one turn of the wheel, rounded up to a tenth.
    pub ratio: f64,
    /// The cold working point with it.
    pub at: Working,
    /// Winding in degC at the end, as in [`super::Warmth`].
    pub winding: f64,
}

/// The most current in A that is advised: half-way from that of best efficiency to that of most output.
///
/// Beyond most output a taller gear only makes it slower; well before it half of the power is heat.
///
/// # Errors
///
/// As [`working`].
pub fn current_advised(motor: &Motor, supply: &Supply) -> Result<f64, OperatingError> {
    supply.check()?;
    let whole = with_supply(motor, supply);
    let best = whole.best_efficiency(supply.volts)?.current;
    Ok(0.5 * (best + whole.peak_power(supply.volts)?.current))
}

/// Whether the motor stays within current and heat; the working point and the winding's temperature if so.
fn keeps(
    motor: &Motor,
    supply: &Supply,
    load: &Load,
    cooling: &Cooling,
    seconds: Option<f64>,
    most_current: f64,
) -> Option<(Working, f64)> {
    let at = working(motor, supply, load).ok().filter(|at| at.current <= most_current)?;
    let winding = cooling.warmth(motor, supply, load, seconds).ok()?.winding?;
    (winding <= cooling.most).then_some((at, winding))
}

/// The lowest gear ratio, that is the fastest, with which the motor draws no more than `most_current` (A)
/// and its winding stays within what it bears; none if no ratio does it.
///
/// # Errors
///
/// Numbers out of range, and a vehicle that rolls by itself.
pub fn lowest_ratio(
    motor: &Motor,
    supply: &Supply,
    vehicle: &Vehicle,
    cooling: &Cooling,
    seconds: Option<f64>,
    most_current: f64,
) -> Result<Option<Advice>, OperatingError> {
    supply.check()?;
    vehicle.check()?;
    cooling.check()?;
    let with = |ratio: f64| {
        keeps(motor, supply, &Load::Vehicle(vehicle.geared(ratio)), cooling, seconds, most_current)
            .map(|(at, winding)| Advice { ratio, at, winding })
    };
    // Heat falls with the ratio until drag alone is left, so the first that keeps within is the lowest.
    let mut ratio = LOWEST;
    let mut last = ratio;
    while ratio <= HIGHEST {
        if with(ratio).is_some() {
            let (mut low, mut high) = (last, ratio);
            for _ in 0..20 {
                let middle = 0.5 * (low + high);
                if with(middle).is_some() { high = middle } else { low = middle }
            }
            // What is exact to the rounding of numbers must not be pushed to the next tenth.
            let tenth = (high * 10.0 - 1e-6).ceil() / 10.0;
            return Ok(with(tenth).or_else(|| with(high)));
        }
        last = ratio;
        ratio *= 1.03;
    }
    Ok(None)
}

/// The greatest torque in Nm at the shaft that keeps the motor within current and heat; none if it does
/// not even idle within them.
///
/// # Errors
///
/// Numbers out of range.
pub fn allowed_torque(
    motor: &Motor,
    supply: &Supply,
    cooling: &Cooling,
    seconds: Option<f64>,
    most_current: f64,
) -> Result<Option<f64>, OperatingError> {
    supply.check()?;
    cooling.check()?;
    let within =
        |torque: f64| keeps(motor, supply, &Load::Torque(torque), cooling, seconds, most_current).is_some();
    if !within(0.0) {
        return Ok(None);
    }
    let (mut low, mut high) = (0.0, with_supply(motor, supply).stalled(supply.volts).torque);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if within(middle) { low = middle } else { high = middle }
    }
    Ok(Some(low))
}
