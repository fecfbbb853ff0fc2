//! How hot the winding gets.

use super::{Load, OperatingError, Supply, within, working};
use crate::bench::motor::{Motor, Working};

/// Copper's resistance would vanish at -235 degC, drawn out straight (IEC 60034-1, temperature rise by
/// resistance; from memory).
const COPPER: f64 = 235.0;

/// Beyond this no winding lives, so a temperature above it is as good as none, in degC.
const MELTDOWN: f64 = 400.0;

/// Resistance of copper at `hot` that is `ohm` at `cold`, both in degC: R (235 + hot) / (235 + cold).
pub fn copper(ohm: f64, cold: f64, hot: f64) -> f64 {
    ohm * (COPPER + hot) / (COPPER + cold)
}

/// How a motor loses heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooling {
    /// Temperature of the surroundings in degC.
    pub ambient: f64,
    /// Temperature in degC at which the motor's resistance was given.
    pub reference: f64,
    /// Thermal resistance from winding to surroundings in K/W; above 0.
    pub resistance: f64,
    /// Heat capacity in J/K; above 0.
    pub capacity: f64,
    /// The most that the winding bears, in degC; above the surroundings.
    pub most: f64,
}

/// How it warms up at one working point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// Winding in degC at the end of the run, or once it no longer rises; none when it rises without end.
    pub winding: Option<f64>,
    /// The working point at that temperature.
    pub hot: Option<Working>,
    /// Seconds from cold until the winding reaches the most it bears, if it does within the run.
    pub seconds_to_most: Option<f64>,
}

impl Cooling {
    pub(super) fn check(&self) -> Result<(), OperatingError> {
        let kelvin = "a temperature above -100 degC and below 200 degC";
        let real = |t: f64| t > -100.0 && t < 200.0;
        within("the surroundings' temperature", self.ambient, real(self.ambient), kelvin)?;
        within("the temperature of the resistance", self.reference, real(self.reference), kelvin)?;
        within("the thermal resistance", self.resistance, self.resistance > 0.0, "above 0 K/W")?;
        within("the heat capacity", self.capacity, self.capacity > 0.0, "above 0 J/K")?;
        let wanted = "above the surroundings and at most 300 degC";
        within(
            "the most the winding bears",
            self.most,
            self.most > self.ambient && self.most <= 300.0,
            wanted,
        )
    }

    /// Heat in W that it loses for ever with the winding at its most.
    pub fn continuous_heat(&self) -> f64 {
        (self.most - self.ambient) / self.resistance
    }

    /// The motor with its winding at a temperature in degC.
    pub fn at(&self, motor: &Motor, winding: f64) -> Motor {
        Motor { resistance: copper(motor.resistance, self.reference, winding), ..*motor }
    }

    /// How it warms up, running for `seconds`, or for ever.
    ///
    /// Heat makes resistance, and resistance heat: the working point is worked out anew for every
    /// temperature. `C dT/dt = P(T) - (T - Ta) / Rth`, by Heun's method in steps of a hundredth of
    /// `Rth C`. For ever, it is the lowest temperature at which both sides balance; there may be none.
    ///
    /// # Errors
    ///
    /// As [`working`] for the cold motor, and numbers out of range.
    pub fn warmth(
        &self,
        motor: &Motor,
        supply: &Supply,
        load: &Load,
        seconds: Option<f64>,
    ) -> Result<Warmth, OperatingError> {
        self.check()?;
        if let Some(seconds) = seconds {
            within("the time of the run", seconds, seconds > 0.0, "above 0 s")?;
        }
        let at = |winding: f64| working(&self.at(motor, winding), supply, load);
        at(self.ambient)?;
        // A motor that heat brings to a standstill turns all it takes into heat: no end either.
        let climb = |t: f64| at(t).map_or(f64::INFINITY, |w| w.heat - (t - self.ambient) / self.resistance);
        let constant = self.resistance * self.capacity;
        let step = constant / 100.0;
        let (mut t, mut time, mut to_most) = (self.ambient, 0.0, None);
        // After eight time constants it stands, unless it runs away slowly; that is looked for below.
        let end = seconds.unwrap_or(8.0 * constant).min(50.0 * constant);
        while time < end && t < MELTDOWN {
            let step = step.min(end - time);
            let first = climb(t) / self.capacity;
            let second = climb(t + first * step) / self.capacity;
            let next = t + 0.5 * (first + second) * step;
            if to_most.is_none() && next >= self.most {
                to_most = Some(time + step * ((self.most - t) / (next - t)).clamp(0.0, 1.0));
            }
            t = if next.is_finite() { next } else { MELTDOWN };
            time += step;
        }
        let winding = match seconds {
            Some(_) => (t < MELTDOWN).then_some(t),
            None => self.balance(&climb),
        };
        if seconds.is_none() && winding.is_some_and(|w| w < self.most) {
            to_most = None;
        }
        Ok(Warmth { winding, hot: winding.and_then(|w| at(w).ok()), seconds_to_most: to_most })
    }

    /// The lowest temperature from the surroundings up at which it climbs no further.
    fn balance(&self, climb: &dyn Fn(f64) -> f64) -> Option<f64> {
        let mut low = self.ambient;
        while low < MELTDOWN {
            let mut high = low + 2.0;
            if climb(high) <= 0.0 {
                for _ in 0..50 {
                    let middle = 0.5 * (low + high);
                    if climb(middle) > 0.0 { low = middle } else { high = middle }
                }
                return Some(0.5 * (low + high));
            }
            low = high;
        }
        None
    }
}
