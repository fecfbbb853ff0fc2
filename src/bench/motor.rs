//! The steady motor: what volts, current, speed and torque have to do with each other.
//!
//! A permanent-magnet motor with brushes, running steadily (any text on DC machines; winding inductance
//! and changes of speed play no part):
//!
//! ```text
//! V    = Vb + I R + Ke w            volts at the terminals
//! T    = Kt I - (T0 + b w)          torque at the shaft
//! Kt   = Ke                         in SI units, from the balance of power
//! Kv   = 60 / (2 pi Ke)             rpm per volt
//! ```
//!
//! with w in rad/s, Vb the drop of both brushes together, T0 the drag at rest and b how it grows with
//! speed. Along the line of working points at one voltage everything is linear in the current, so the
//! points of interest have closed forms (see [`Motor::best_efficiency`]).

use super::{Kind, read};
use std::f64::consts::PI;

/// Radians a second in one turn a minute.
pub const RAD_PER_S: f64 = 2.0 * PI / 60.0;

/// Reads a motor's constant Ke in V s/rad, written as `0.0033 V s/rad`, `3.3 mNm/A` (the torque constant is
/// the same number) or `2857 rpm/V` (its inverse).
///
/// # Errors
///
/// A sentence that says how it is written.
///
/// # Examples
///
/// ```
/// use commsense::bench::motor::read_constant;
/// let ke = read_constant("2857.14 rpm/V").unwrap();
/// assert!((ke - 0.00334225).abs() < 1e-8);
/// ```
pub fn read_constant(text: &str) -> Result<f64, String> {
    let plain: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    let number = |kind, part: &str| read(kind, part).map_err(|e| e.to_string());
    let value = if let Some(per) = plain.strip_suffix("/V") {
        1.0 / (number(Kind::Speed, per)? * RAD_PER_S)
    } else if let Some(torque) = plain.strip_suffix("/A") {
        number(Kind::Torque, torque)?
    } else if let Some(volts) = plain.strip_suffix("s/rad").or_else(|| plain.strip_suffix("/(rad/s)")) {
        number(Kind::Voltage, volts.trim_end_matches(['*', '·']))?
    } else {
        return Err(format!(
            "`{}` is no motor constant: write it as 0.0033 V s/rad, 3.3 mNm/A or 2857 rpm/V",
            text.trim().chars().take(40).collect::<String>()
        ));
    };
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err("a motor constant is above 0, such as 0.0033 V s/rad or 2857 rpm/V".into())
    }
}

/// A motor's constants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motor {
    /// Back-emf constant Ke in V s/rad, the same number as the torque constant in Nm/A; above 0.
    pub ke: f64,
    /// Resistance R from terminal to terminal in ohm, without the brushes' constant drop; above 0.
    pub resistance: f64,
    /// Drop Vb of both brushes together in V, not dependent on current; from 0 up.
    pub brush_drop: f64,
    /// Drag T0 at rest in Nm.
    pub drag: f64,
    /// Growth b of the drag with speed in Nm s/rad.
    pub drag_per_speed: f64,
}

/// One steady working point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Working {
    /// Volts at the terminals.
    pub volts: f64,
    /// Current in A.
    pub current: f64,
    /// Speed in rpm.
    pub rpm: f64,
    /// Torque at the shaft in Nm.
    pub torque: f64,
    /// Power given at the shaft in W.
    pub output: f64,
    /// Power turned into heat in W: everything taken up and not given at the shaft.
    pub heat: f64,
    /// Output over what is taken up, 0 to 1; 0 where nothing is taken up.
    pub efficiency: f64,
}

/// Why a motor or a point of it makes no sense.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MotorError {
    /// A constant is not a finite number above 0 (or, for drop and drag, below 0).
    #[error("{what} is {value}: it must be a number {wanted}")]
    Constant {
        /// Which.
        what: &'static str,
        /// The number given.
        value: f64,
        /// What would be right.
        wanted: &'static str,
    },
    /// The no-load figures do not leave any voltage for the back-emf.
    #[error(
        "{current:.3} A through {resistance:.4} ohm alone drops {drop:.3} V, but only {volts:.3} V are there: \
         current, resistance and voltage contradict each other; measure them again"
    )]
    NoBackEmf {
        /// Current in A.
        current: f64,
        /// Resistance in ohm.
        resistance: f64,
        /// Current times resistance, with the brush drop, in V.
        drop: f64,
        /// Volts.
        volts: f64,
    },
    /// Too little voltage to turn the motor with nothing on its shaft.
    #[error("at {volts:.3} V it does not even turn unloaded: it needs more than {needed:.3} V")]
    TooFewVolts {
        /// Volts given.
        volts: f64,
        /// Volts that just move it.
        needed: f64,
    },
    /// More torque than the motor has at rest.
    #[error(
        "a load of {load_mnm:.2} mNm holds it still: at {volts:.3} V it gives at most {stall_mnm:.2} mNm, at rest; \
         take less load or a higher gear ratio"
    )]
    Stalls {
        /// The load in mNm.
        load_mnm: f64,
        /// Torque at rest in mNm.
        stall_mnm: f64,
        /// Volts at the terminals, or behind the pack's resistance.
        volts: f64,
    },
}

fn above_zero(what: &'static str, value: f64) -> Result<(), MotorError> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(MotorError::Constant { what, value, wanted: "above 0" })
    }
}

fn from_zero(what: &'static str, value: f64) -> Result<(), MotorError> {
    if value.is_finite() && value >= 0.0 {
        Ok(())
    } else {
        Err(MotorError::Constant { what, value, wanted: "from 0 up" })
    }
}

impl Motor {
    /// From one no-load point (volts, A, rpm) and the resistance in ohm: brush drop taken as none, drag
    /// as the same at every speed. This is the `T = Kt (I - I0)` of data sheets.
    ///
    /// # Errors
    ///
    /// [`MotorError::Constant`] for a number that is not above 0 (the current may be 0), and
    /// [`MotorError::NoBackEmf`].
    ///
    /// # Examples
    ///
    /// ```
    /// use commsense::bench::motor::Motor;
    /// let motor = Motor::from_no_load(7.2, 2.0, 20_000.0, 0.1).unwrap();
    /// assert!((motor.rpm_per_volt() - 2857.14).abs() < 0.01);
    /// ```
    pub fn from_no_load(volts: f64, current: f64, rpm: f64, resistance: f64) -> Result<Motor, MotorError> {
        above_zero("the voltage", volts)?;
        from_zero("the no-load current", current)?;
        above_zero("the no-load speed", rpm)?;
        above_zero("the resistance", resistance)?;
        let emf = volts - current * resistance;
        if emf <= 0.0 {
            return Err(MotorError::NoBackEmf { current, resistance, drop: current * resistance, volts });
        }
        let ke = emf / (rpm * RAD_PER_S);
        Motor { ke, resistance, brush_drop: 0.0, drag: ke * current, drag_per_speed: 0.0 }.checked()
    }

    /// The motor, if its constants are numbers that a motor can have.
    ///
    /// # Errors
    ///
    /// [`MotorError::Constant`] names the first that is not.
    pub fn checked(self) -> Result<Motor, MotorError> {
        above_zero("the back-emf constant", self.ke)?;
        above_zero("the resistance", self.resistance)?;
        from_zero("the brush drop", self.brush_drop)?;
        from_zero("the drag torque", self.drag)?;
        from_zero("the growth of the drag with speed", self.drag_per_speed)?;
        Ok(self)
    }

    /// Speed constant Kv in rpm per volt of back-emf.
    pub fn rpm_per_volt(&self) -> f64 {
        1.0 / (self.ke * RAD_PER_S)
    }

    /// Current in A with the shaft held at `volts`: (V - Vb) / R, or 0 below the brush drop.
    pub fn stall_current(&self, volts: f64) -> f64 {
        ((volts - self.brush_drop) / self.resistance).max(0.0)
    }

    /// Torque in Nm that the field makes with the shaft held, drag not yet taken off: Ke times current.
    pub fn stall_torque_gross(&self, volts: f64) -> f64 {
        self.ke * self.stall_current(volts)
    }

    /// The shaft held.
    pub fn stalled(&self, volts: f64) -> Working {
        self.at_current(volts, self.stall_current(volts))
    }

    /// No-load current in A at `volts`; a formula, not checked to lie below the stall current.
    ///
    /// From `Ke I = T0 + b w` and the equation of volts: I0 = (T0 + b u/Ke) / (Ke + b R/Ke), u = V - Vb.
    fn no_load_current(&self, volts: f64) -> f64 {
        let per_ke = self.drag_per_speed / self.ke;
        (self.drag + per_ke * (volts - self.brush_drop)) / (self.ke + per_ke * self.resistance)
    }

    /// The working point at a current in A and `volts`; beyond stall or below no load the formulas run on.
    pub fn at_current(&self, volts: f64, current: f64) -> Working {
        let speed = (volts - self.brush_drop - current * self.resistance) / self.ke;
        let torque = self.ke * current - self.drag - self.drag_per_speed * speed;
        let (output, taken) = (torque * speed, volts * current);
        let efficiency = if taken > 0.0 { output / taken } else { 0.0 };
        Working { volts, current, rpm: speed / RAD_PER_S, torque, output, heat: taken - output, efficiency }
    }

    /// Nothing on the shaft.
    ///
    /// # Errors
    ///
    /// [`MotorError::TooFewVolts`] when the drag alone holds it still.
    pub fn unloaded(&self, volts: f64) -> Result<Working, MotorError> {
        let current = self.no_load_current(volts);
        if volts.is_finite() && current < self.stall_current(volts) {
            return Ok(self.at_current(volts, current));
        }
        let needed = self.brush_drop + self.drag / self.ke * self.resistance;
        Err(MotorError::TooFewVolts { volts, needed })
    }

    /// The working point against a load in Nm at the shaft.
    ///
    /// # Errors
    ///
    /// [`MotorError::TooFewVolts`], and [`MotorError::Stalls`] for a load that holds it still;
    /// [`MotorError::Constant`] for a load that is negative or no number.
    pub fn at_torque(&self, volts: f64, load: f64) -> Result<Working, MotorError> {
        from_zero("the load torque", load)?;
        let free = self.unloaded(volts)?;
        let per_ke = self.drag_per_speed / self.ke;
        let current = free.current + load / (self.ke + per_ke * self.resistance);
        if current < self.stall_current(volts) {
            return Ok(self.at_current(volts, current));
        }
        let stall_mnm = self.stalled(volts).torque * 1e3;
        Err(MotorError::Stalls { load_mnm: load * 1e3, stall_mnm, volts })
    }

    /// The point of best efficiency: I = sqrt(I0 Is).
    ///
    /// Torque is proportional to I - I0 and speed to Is - I, so efficiency to (I - I0)(Is - I)/I, which is
    /// largest there; with neither brush drop nor growing drag it is (1 - sqrt(I0/Is))^2.
    ///
    /// # Errors
    ///
    /// As [`Motor::unloaded`].
    pub fn best_efficiency(&self, volts: f64) -> Result<Working, MotorError> {
        let free = self.unloaded(volts)?;
        Ok(self.at_current(volts, (free.current * self.stall_current(volts)).sqrt()))
    }

    /// The point of most output: I = (I0 + Is) / 2, half the no-load speed and half the stall torque.
    ///
    /// It is not the point of best efficiency, which lies faster.
    ///
    /// # Errors
    ///
    /// As [`Motor::unloaded`].
    pub fn peak_power(&self, volts: f64) -> Result<Working, MotorError> {
        let free = self.unloaded(volts)?;
        Ok(self.at_current(volts, (free.current + self.stall_current(volts)) / 2.0))
    }

    /// `count` working points (at least 2) from no load to stall, evenly spaced in torque.
    ///
    /// # Errors
    ///
    /// As [`Motor::unloaded`].
    pub fn curve(&self, volts: f64, count: usize) -> Result<Vec<Working>, MotorError> {
        let free = self.unloaded(volts)?;
        let (first, last) = (free.current, self.stall_current(volts));
        let steps = count.max(2) - 1;
        let at = |i: usize| self.at_current(volts, first + (last - first) * i as f64 / steps as f64);
        Ok((0..=steps).map(at).collect())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
