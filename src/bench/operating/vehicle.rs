//! A vehicle as the load of its motor.

use super::{OperatingError, rad_per_s, within};
use crate::bench::motor::{Motor, MotorError, RAD_PER_S};

/// Standard gravity in m/s2 (3rd CGPM, 1901; from memory).
const GRAVITY: f64 = 9.806_65;
/// Density of air at sea level and 15 degC in kg/m3 (ISO 2533, standard atmosphere; from memory).
const AIR: f64 = 1.225;

/// A vehicle on a slope. It moves steadily; speeding up asks for more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vehicle {
    /// Mass in kg; above 0.
    pub mass: f64,
    /// Slope in degrees, upwards positive; between -60 and 60.
    pub slope: f64,
    /// Rolling resistance over weight, 0 to 1.
    pub rolling: f64,
    /// Radius of the driven tyres in m; above 0.
    pub tyre_radius: f64,
    /// Motor turns for one turn of the wheel; above 0.
    pub ratio: f64,
    /// Share of the motor's power that reaches the wheels, above 0 up to 1.
    pub drive_efficiency: f64,
    /// Drag area in m2: drag coefficient times frontal area; 0 leaves the air out.
    pub drag_area: f64,
}

impl Vehicle {
    /// The same vehicle with another gear ratio.
    pub fn geared(&self, ratio: f64) -> Vehicle {
        Vehicle { ratio, ..*self }
    }

    /// Speed in m/s at a motor speed in rpm.
    pub fn speed(&self, rpm: f64) -> f64 {
        rad_per_s(rpm) / self.ratio * self.tyre_radius
    }

    /// Force in N that the wheels must give at a speed in m/s: `m g (sin + c cos) + rho A v^2 / 2`.
    pub fn force(&self, speed: f64) -> f64 {
        let slope = self.slope.to_radians();
        let weight = self.mass * GRAVITY;
        weight * (slope.sin() + self.rolling * slope.cos()) + 0.5 * AIR * self.drag_area * speed * speed
    }

    /// Torque in Nm at the motor's shaft at a motor speed in rpm.
    pub fn torque(&self, rpm: f64) -> f64 {
        self.force(self.speed(rpm)) * self.tyre_radius / (self.ratio * self.drive_efficiency)
    }

    pub(super) fn check(&self) -> Result<(), OperatingError> {
        within("the mass", self.mass, self.mass > 0.0, "above 0 kg")?;
        within("the slope", self.slope, self.slope.abs() < 60.0, "between -60 and 60 degrees")?;
        within(
            "the rolling resistance",
            self.rolling,
            (0.0..=1.0).contains(&self.rolling),
            "between 0 and 1",
        )?;
        within("the tyre radius", self.tyre_radius, self.tyre_radius > 0.0, "above 0 m")?;
        within("the gear ratio", self.ratio, self.ratio > 0.0, "above 0")?;
        let share = self.drive_efficiency;
        within("the efficiency of the drive", share, share > 0.0 && share <= 1.0, "above 0 and at most 1")?;
        within("the drag area", self.drag_area, self.drag_area >= 0.0, "0 m2 or more")?;
        if self.force(0.0) < 0.0 { Err(OperatingError::RollsByItself) } else { Ok(()) }
    }

    /// The current at which a motor at these volts drives it steadily.
    pub(super) fn current(&self, motor: &Motor, volts: f64) -> Result<f64, OperatingError> {
        self.check()?;
        let free = motor.unloaded(volts)?;
        if self.drag_area == 0.0 {
            return Ok(motor.at_torque(volts, self.torque(0.0))?.current);
        }
        let current_at =
            |rpm: f64| (volts - motor.brush_drop - motor.ke * rpm * RAD_PER_S) / motor.resistance;
        let spare = |rpm: f64| motor.at_current(volts, current_at(rpm)).torque - self.torque(rpm);
        if spare(0.0) <= 0.0 {
            let stall_mnm = motor.stalled(volts).torque * 1e3;
            return Err(MotorError::Stalls { load_mnm: self.torque(0.0) * 1e3, stall_mnm, volts }.into());
        }
        // The motor's torque falls with speed and the load's rises: they meet once, found by halving.
        let (mut low, mut high) = (0.0, free.rpm);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if spare(middle) > 0.0 { low = middle } else { high = middle }
        }
        Ok(current_at(0.5 * (low + high)))
    }
}
