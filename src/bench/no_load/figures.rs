//! Every figure that a fit yields, as one row of numbers that uncertainty can be carried through.

use super::fit::{self, Fit};
use super::uncertainty::Estimates;
use super::{Estimate, Motor, RAD_PER_S};

/// The figures, in the order of their row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Figure {
    Ke,
    RpmPerVolt,
    Resistance,
    BrushDrop,
    Drag,
    DragAtRest,
    DragPerSpeed,
    Current,
    Rpm,
    ReverseKe,
    ReverseCurrent,
    ReverseRpm,
    SpeedRatio,
    StallCurrent,
    StallTorque,
    StallGross,
    BestCurrent,
    BestRpm,
    BestTorque,
    BestOutput,
    BestEfficiency,
    PeakCurrent,
    PeakRpm,
    PeakTorque,
    PeakOutput,
    PeakEfficiency,
}

/// How many there are.
pub(super) const COUNT: usize = Figure::PeakEfficiency as usize + 1;

/// One row; NaN where a figure does not exist.
pub(super) type Figures = [f64; COUNT];

/// One working point with uncertainties.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointEstimate {
    /// Current in A.
    pub current: Estimate,
    /// Speed in rpm.
    pub rpm: Estimate,
    /// Torque at the shaft in Nm.
    pub torque: Estimate,
    /// Output in W.
    pub output: Estimate,
    /// Efficiency, 0 to 1.
    pub efficiency: Estimate,
}

/// The figures of the point of best efficiency, in the order of [`PointEstimate`].
pub(super) const BEST: [Figure; 5] =
    [Figure::BestCurrent, Figure::BestRpm, Figure::BestTorque, Figure::BestOutput, Figure::BestEfficiency];

/// The figures of the point of most output.
pub(super) const PEAK: [Figure; 5] =
    [Figure::PeakCurrent, Figure::PeakRpm, Figure::PeakTorque, Figure::PeakOutput, Figure::PeakEfficiency];

impl PointEstimate {
    pub(super) fn of(five: [Figure; 5], all: &Estimates) -> Self {
        let [current, rpm, torque, output, efficiency] = five.map(|figure| all.of(figure));
        PointEstimate { current, rpm, torque, output, efficiency }
    }
}

/// The figures of a fit at a voltage.
pub(super) fn from_fit(fitted: &Fit, volts: f64) -> Figures {
    let mut row = [f64::NAN; COUNT];
    let mut set = |figure: Figure, value: f64| row[figure as usize] = value;
    let motor = fit::motor(fitted);
    set(Figure::Ke, motor.ke);
    set(Figure::RpmPerVolt, motor.rpm_per_volt());
    set(Figure::Resistance, motor.resistance);
    set(Figure::BrushDrop, motor.brush_drop);
    set(Figure::DragAtRest, motor.drag);
    set(Figure::DragPerSpeed, motor.drag_per_speed);
    let (current, rpm) = unloaded(&motor, volts);
    set(Figure::Drag, motor.ke * current);
    set(Figure::Current, current);
    set(Figure::Rpm, rpm);
    if let Some(back) = fitted.reverse {
        let motor = Motor { ke: back.ke, drag: back.drag, drag_per_speed: back.drag_per_speed, ..motor };
        let (back_current, back_rpm) = unloaded(&motor, volts);
        set(Figure::ReverseKe, back.ke);
        set(Figure::ReverseCurrent, back_current);
        set(Figure::ReverseRpm, back_rpm);
        set(Figure::SpeedRatio, rpm / back_rpm);
    }
    let stalled = motor.stalled(volts);
    set(Figure::StallCurrent, stalled.current);
    set(Figure::StallTorque, stalled.torque);
    set(Figure::StallGross, motor.stall_torque_gross(volts));
    for (five, at) in [(BEST, motor.best_efficiency(volts)), (PEAK, motor.peak_power(volts))] {
        if let Ok(at) = at {
            let values = [at.current, at.rpm, at.torque, at.output, at.efficiency];
            five.into_iter().zip(values).for_each(|(figure, value)| row[figure as usize] = value);
        }
    }
    row
}

/// No-load current in A and speed in rpm, also of a fit without a resistance, which has no stall to be
/// checked against.
fn unloaded(motor: &Motor, volts: f64) -> (f64, f64) {
    let per_ke = motor.drag_per_speed / motor.ke;
    let current = (motor.drag + per_ke * (volts - motor.brush_drop)) / (motor.ke + per_ke * motor.resistance);
    let speed = (volts - motor.brush_drop - current * motor.resistance) / motor.ke;
    (current, speed / RAD_PER_S)
}
