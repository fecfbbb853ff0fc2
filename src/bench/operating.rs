//! A motor at work: against a torque, or driving a vehicle; what it draws, gives and turns into heat, how
//! hot its winding gets, and which gear ratio keeps it within its limits.
//!
//! Heat is reckoned with one thermal resistance from winding to surroundings and one heat capacity for the
//! whole motor. Both are rough, and a real winding runs ahead of its can in the first minute; so are the
//! temperatures: good to compare gearings with, not to guarantee one.

mod gearing;
mod heat;
mod vehicle;

pub use gearing::{Advice, allowed_torque, current_advised, lowest_ratio};
pub use heat::{Cooling, Warmth, copper};
pub use vehicle::Vehicle;

use super::motor::{Motor, MotorError, RAD_PER_S, Working};

/// Where the current comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Supply {
    /// Volts without load.
    pub volts: f64,
    /// Resistance of pack, leads and controller together in ohm.
    pub resistance: f64,
}

/// What it works against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Load {
    /// A torque in Nm at the motor's shaft, the same at every speed.
    Torque(f64),
    /// A vehicle.
    Vehicle(Vehicle),
}

/// Why a working point can't be told.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OperatingError {
    /// A number out of its range.
    #[error("{what} is {value}; it must be {wanted}")]
    Number {
        /// Which.
        what: &'static str,
        /// The number.
        value: f64,
        /// What would be right.
        wanted: &'static str,
    },
    /// The slope is steeper downwards than the rolling resistance holds.
    #[error(
        "it rolls down the slope by itself, the motor would have to brake: give a slope upwards or level ground"
    )]
    RollsByItself,
    /// The motor cannot do it.
    #[error(transparent)]
    Motor(#[from] MotorError),
}

fn within(what: &'static str, value: f64, ok: bool, wanted: &'static str) -> Result<(), OperatingError> {
    if value.is_finite() && ok { Ok(()) } else { Err(OperatingError::Number { what, value, wanted }) }
}

impl Supply {
    fn check(&self) -> Result<(), OperatingError> {
        within("the supply voltage", self.volts, self.volts > 0.0, "above 0 V")?;
        within("the resistance of the supply", self.resistance, self.resistance >= 0.0, "0 ohm or more")
    }
}

/// The motor as the supply's own terminals see it: the supply's resistance is in series with the winding.
fn with_supply(motor: &Motor, supply: &Supply) -> Motor {
    Motor { resistance: motor.resistance + supply.resistance, ..*motor }
}

/// The working point; volts are those at the motor's terminals.
///
/// # Errors
///
/// [`OperatingError`]: numbers out of range, a vehicle that rolls by itself, and from [`MotorError`] too
/// little voltage or a load that holds the motor still.
///
/// # Examples
///
/// ```
/// use commsense::bench::motor::Motor;
/// use commsense::bench::operating::{Load, Supply, working};
/// let motor = Motor::from_no_load(7.2, 2.0, 20_000.0, 0.1).unwrap();
/// let supply = Supply { volts: 7.2, resistance: 0.0 };
/// let at = working(&motor, &supply, &Load::Torque(0.0334225)).unwrap();
/// assert!((at.current - 12.0).abs() < 1e-3 && (at.efficiency - 0.6944).abs() < 1e-4);
/// ```
pub fn working(motor: &Motor, supply: &Supply, load: &Load) -> Result<Working, OperatingError> {
    supply.check()?;
    let whole = with_supply(motor, supply);
    let current = match load {
        Load::Torque(torque) => whole.at_torque(supply.volts, *torque)?.current,
        Load::Vehicle(vehicle) => vehicle.current(&whole, supply.volts)?,
    };
    Ok(motor.at_current(supply.volts - current * supply.resistance, current))
}

/// What happens when the load holds the shaft: current, and heat in the motor.
///
/// # Errors
///
/// As [`working`], for the supply.
pub fn held(motor: &Motor, supply: &Supply) -> Result<Working, OperatingError> {
    supply.check()?;
    let current = with_supply(motor, supply).stall_current(supply.volts);
    Ok(motor.at_current(supply.volts - current * supply.resistance, current))
}

/// Speed of a shaft in rad/s.
fn rad_per_s(rpm: f64) -> f64 {
    rpm * RAD_PER_S
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
