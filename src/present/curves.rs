//! A motor's curves over its torque: speed, output, efficiency and current, in characters and as SVG.

mod characters;
mod drawing;

pub use characters::characters;
pub use drawing::svg;

use crate::bench::motor::{Motor, MotorError, Working};

/// What the curves are drawn from.
#[derive(Debug, Clone, PartialEq)]
pub struct Curves {
    /// Working points from no load to stall, evenly spaced in torque.
    points: Vec<Working>,
    best: Working,
    peak: Working,
    /// The point at which it works, where one is marked.
    at: Option<Working>,
}

impl Curves {
    /// The curves of a motor at a voltage, with a working point to be marked.
    ///
    /// # Errors
    /// When the motor does not turn at that voltage.
    pub fn of(motor: &Motor, volts: f64, at: Option<Working>) -> Result<Curves, MotorError> {
        Ok(Curves {
            points: motor.curve(volts, 241)?,
            best: motor.best_efficiency(volts)?,
            peak: motor.peak_power(volts)?,
            at,
        })
    }

    /// Volts at the terminals.
    fn volts(&self) -> f64 {
        self.best.volts
    }

    /// Unloaded.
    fn free(&self) -> Working {
        self.points[0]
    }

    /// Held.
    fn stalled(&self) -> Working {
        self.points[self.points.len() - 1]
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
