//! The motor in motion: steps in time, what is sampled, and where the energy went.

use super::ring::Ring;
use super::{Motor, resistance_at};
use std::f64::consts::TAU;

/// How far the shaft turns in a step, radians, at most (at the speed expected from the supply).
const TURN_PER_STEP: f64 = 0.004;

/// What is done with the motor.
pub struct Drive<'a> {
    /// Voltage at the terminals by time in seconds.
    pub volts: &'a dyn Fn(f64) -> f64,
    /// Torque of the load by time, Nm, against the rotation.
    pub load: &'a dyn Fn(f64) -> f64,
    /// Seconds before sampling begins.
    pub settle: f64,
    /// Seconds of sampling.
    pub seconds: f64,
    /// Samples a second.
    pub rate: f64,
    /// Rotor angle at the start.
    pub start: f64,
}

/// What was sampled, and the truth behind it.
#[derive(Debug, Clone)]
pub struct Recording {
    /// Seconds from the first sample.
    pub time: Vec<f64>,
    /// Ampere, without noise.
    pub current: Vec<f64>,
    /// Rotor angle at each sample, radians.
    pub angle: Vec<f64>,
    /// Energy over the sampled time, joule.
    pub energy: Energy,
}

/// Where the energy went.
#[derive(Debug, Clone, Copy, Default)]
pub struct Energy {
    /// From the supply.
    pub supplied: f64,
    /// Heat in copper, contacts, joints, drop and leads.
    pub heat: f64,
    /// Work of the torque on the shaft.
    pub shaft: f64,
    /// Friction and load.
    pub braked: f64,
    /// Gain of the fields.
    pub fields: f64,
    /// Gain of the armature's motion.
    pub motion: f64,
}

impl Recording {
    /// Mean speed between the first and the last sample, rpm.
    pub fn rpm(&self) -> f64 {
        let turned = self.angle[self.angle.len() - 1] - self.angle[0];
        turned / TAU / (self.time[self.time.len() - 1] - self.time[0]) * 60.0
    }

    /// Mean current, ampere.
    pub fn mean_current(&self) -> f64 {
        self.current.iter().sum::<f64>() / self.current.len() as f64
    }
}

/// Runs the motor; it starts at about the speed it will have.
pub fn run(motor: &Motor, drive: &Drive) -> Recording {
    let constant = motor.mean_constant();
    let volts = (drive.volts)(0.0);
    let ohm = resistance_at(motor, 0.3).min(2.0);
    let guess = ((motor.friction + (drive.load)(0.0)) / constant).max(0.0);
    let mut speed = ((volts - motor.drop - guess * ohm) / constant).max(0.0);
    let fastest = (volts / constant).max(1.0);
    let within = (fastest / drive.rate / TURN_PER_STEP).ceil().max(1.0) as usize;
    let h = 1.0 / drive.rate / within as f64;
    let mut ring = Ring::new(motor);
    let mut angle = drive.start;
    let settling = (drive.settle * drive.rate).ceil() as usize;
    let samples = (drive.seconds * drive.rate).round() as usize;
    let mut out = Recording {
        time: Vec::with_capacity(samples),
        current: Vec::with_capacity(samples),
        angle: Vec::with_capacity(samples),
        energy: Energy::default(),
    };
    let mut energy = Energy::default();
    let mut at_start = (0.0, 0.0);
    let motion = |speed: f64| 0.5 * motor.inertia * speed * speed;
    for sample in 0..settling + samples {
        if sample == settling {
            energy = Energy::default();
            at_start = (ring.stored(), motion(speed));
        }
        let mut current = 0.0;
        for sub in 0..within {
            let t = (sample * within + sub) as f64 * h;
            let volts = (drive.volts)(t);
            let flow = ring.step(h, volts, angle + 0.5 * h * speed, speed);
            // Dry friction holds a shaft that stands.
            let friction = motor.friction * (speed / 2.0).tanh() + motor.drag * speed + (drive.load)(t);
            let next = speed + h * (flow.torque - friction) / motor.inertia;
            energy.supplied += h * volts * flow.current;
            energy.heat += h * flow.heat;
            energy.shaft += h * flow.torque * speed;
            energy.braked += h * friction * 0.5 * (speed + next);
            angle += h * 0.5 * (speed + next);
            speed = next;
            current = flow.current;
        }
        if sample >= settling {
            out.time.push((sample - settling) as f64 / drive.rate);
            out.current.push(current);
            out.angle.push(angle);
        }
    }
    energy.fields = ring.stored() - at_start.0;
    energy.motion = motion(speed) - at_start.1;
    out.energy = energy;
    out
}

/// Mean current in ampere and speed in rpm once the motor runs steadily at a voltage under a load torque.
pub fn steady(motor: &Motor, volts: f64, load: f64) -> (f64, f64) {
    let drive =
        Drive { volts: &|_| volts, load: &|_| load, settle: 0.25, seconds: 0.1, rate: 20e3, start: 0.0 };
    let recording = run(motor, &drive);
    (recording.mean_current(), recording.rpm())
}
