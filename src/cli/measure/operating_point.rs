//! `commsense measure operating-point`.

mod inputs;
mod words;

use super::sheet::{Halt, Sheet};
use crate::bench::motor::{Motor, MotorError, Working};
use crate::bench::operating::{
    self, Advice, Cooling, Load, OperatingError, Supply, Vehicle, Warmth, allowed_torque, current_advised,
    lowest_ratio,
};
use crate::bench::{self, Kind};
use crate::cli::exit::Failure;
use crate::present::curves::{Curves, characters, svg};
use crate::present::measure::Outcome;
use crate::present::text::Styled;
use clap::ValueEnum;
use serde_json::{Value, json};

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// Volts of the supply without load
    #[arg(long, value_name = "VOLTS", conflicts_with = "cells")]
    pub volts: Option<String>,
    /// Number of cells in series, instead of volts
    #[arg(long, value_name = "N")]
    pub cells: Option<String>,
    /// What cells they are
    #[arg(long, value_enum)]
    pub cell: Option<Cell>,
    /// Resistance of pack, leads and controller together
    #[arg(long, value_name = "OHM")]
    pub pack_resistance: Option<String>,
    /// Torque at the motor's shaft, for a boat, a robot, a winch
    #[arg(long, value_name = "TORQUE", conflicts_with_all = ["mass", "tyre_radius", "ratio", "slope", "rolling", "air"])]
    pub load: Option<String>,
    /// Mass of the vehicle, ready to run
    #[arg(long, value_name = "MASS")]
    pub mass: Option<String>,
    /// Slope: "10 %" or "6 deg"; level when left out
    #[arg(long, value_name = "SLOPE")]
    pub slope: Option<String>,
    /// Rolling resistance over weight: "3 %"
    #[arg(long, value_name = "SHARE")]
    pub rolling: Option<String>,
    /// Radius of the driven tyres
    #[arg(long, value_name = "LENGTH")]
    pub tyre_radius: Option<String>,
    /// Motor turns for one turn of the wheel
    #[arg(long, value_name = "RATIO")]
    pub ratio: Option<String>,
    /// Share of the motor's power that reaches the wheels
    #[arg(long, value_name = "SHARE")]
    pub drive_efficiency: Option<String>,
    /// Drag coefficient times frontal area, in square metres: "0.02 m2"
    #[arg(long, value_name = "AREA")]
    pub air: Option<String>,
    /// Motor constant, where the motor is not in the list: "0.0033 V s/rad", "3.3 mNm/A" or "2857 rpm/V"
    #[arg(long, value_name = "CONSTANT")]
    pub ke: Option<String>,
    /// Resistance of the motor from terminal to terminal
    #[arg(long, value_name = "OHM")]
    pub resistance: Option<String>,
    /// No-load current of the motor
    #[arg(long, value_name = "AMPS")]
    pub no_load_current: Option<String>,
    /// Size class of the can, such as 540
    #[arg(long, value_name = "SIZE")]
    pub can: Option<String>,
    /// Temperature around the motor
    #[arg(long, value_name = "TEMPERATURE")]
    pub ambient: Option<String>,
    /// How long it runs like this before it cools; for ever when left out
    #[arg(long, value_name = "TIME")]
    pub run_time: Option<String>,
    /// The most that pack, fuse or controller bears
    #[arg(long, value_name = "AMPS")]
    pub current_limit: Option<String>,
}

/// Kinds of cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Cell {
    /// Lithium, 3.7 V
    Lithium,
    /// Nickel-metal hydride, 1.2 V
    Nimh,
}

/// Everything that is known before it is worked out.
pub(super) struct Setup {
    motor: Motor,
    supply: Supply,
    load: Load,
    /// None when nothing is known of how the can loses heat.
    cooling: Option<Cooling>,
    run_time: Option<f64>,
    current_limit: Option<f64>,
}

impl Setup {
    fn vehicle(&self) -> Option<Vehicle> {
        match self.load {
            Load::Vehicle(vehicle) => Some(vehicle),
            Load::Torque(_) => None,
        }
    }
}

/// What was worked out.
pub(super) struct Worked {
    /// The cold working point; the held shaft when it stalls.
    at: Working,
    stalls: Option<MotorError>,
    /// The most current that is advised, the pack's own limit counted.
    most_current: f64,
    /// Current of most output.
    peak_current: f64,
    warmth: Option<Warmth>,
    ratio: Option<Advice>,
    torque: Option<f64>,
    /// Heat with nothing to drive.
    idle_heat: f64,
}

/// Works out how a motor works.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    let setup = inputs::setup(args, sheet)?;
    let result = work_out(&setup).map_err(|e| Failure::input(format!("this can't be worked out: {e}")))?;
    let mut outcome = words::verdict(sheet, &setup, &result)?;
    words::rows(&mut outcome, &setup, &result);
    keys(&mut outcome, &setup, &result);
    pictures(&mut outcome, sheet, &setup, &result)?;
    Ok(outcome)
}

fn work_out(setup: &Setup) -> Result<Worked, OperatingError> {
    let Setup { motor, supply, load, .. } = setup;
    let whole = Motor { resistance: motor.resistance + supply.resistance, ..*motor };
    let free = whole.unloaded(supply.volts)?;
    let idle_heat = motor.at_current(supply.volts - free.current * supply.resistance, free.current).heat;
    let (at, stalls) = match operating::working(motor, supply, load) {
        Ok(at) => (at, None),
        Err(OperatingError::Motor(error @ MotorError::Stalls { .. })) => {
            (operating::held(motor, supply)?, Some(error))
        }
        Err(other) => return Err(other),
    };
    let advised = current_advised(motor, supply)?;
    let most_current = setup.current_limit.map_or(advised, |limit| limit.min(advised));
    let mut result = Worked {
        at,
        most_current,
        peak_current: whole.peak_power(supply.volts)?.current,
        warmth: None,
        ratio: None,
        torque: None,
        idle_heat,
        stalls,
    };
    if let Some(cooling) = &setup.cooling {
        if result.stalls.is_none() {
            result.warmth = Some(cooling.warmth(motor, supply, load, setup.run_time)?);
        }
        match load {
            Load::Vehicle(vehicle) => {
                result.ratio = lowest_ratio(motor, supply, vehicle, cooling, setup.run_time, most_current)?;
            }
            Load::Torque(_) => {
                result.torque = allowed_torque(motor, supply, cooling, setup.run_time, most_current)?;
            }
        }
    }
    Ok(result)
}

fn keys(outcome: &mut Outcome, setup: &Setup, result: &Worked) {
    let at = &result.at;
    for (key, value) in [
        ("A", at.current),
        ("rpm", at.rpm),
        ("W_out", at.output),
        ("W_heat", at.heat),
        ("efficiency", at.efficiency),
        ("torque_Nm", at.torque),
        ("terminal_V", at.volts),
        ("supply_V", setup.supply.volts),
        ("most_A", result.most_current),
    ] {
        outcome.key(key, value);
    }
    let speed = |vehicle: Vehicle, rpm: f64| vehicle.speed(rpm) * 3.6;
    let vehicle = setup.vehicle();
    outcome.key("ratio", vehicle.map(|v| v.ratio));
    outcome.key("km_per_h", vehicle.map(|v| speed(v, at.rpm)));
    outcome.key("ratio_advised", result.ratio.map(|a| a.ratio));
    let advised = vehicle.zip(result.ratio).map(|(v, a)| (v.geared(a.ratio), a));
    outcome.key(
        "with_ratio_advised",
        advised.map_or(Value::Null, |(v, a)| {
            json!({"A": a.at.current, "W_heat": a.at.heat, "km_per_h": speed(v, a.at.rpm), "winding_degC": a.winding})
        }),
    );
    outcome.key("torque_allowed_Nm", result.torque);
    outcome.key("continuous_heat_W", setup.cooling.map(|c| c.continuous_heat()));
    let warmth = result.warmth;
    outcome.key("winding_degC", warmth.and_then(|w| w.winding));
    outcome.key("minutes_to_limit", warmth.and_then(|w| w.seconds_to_most).map(|s| s / 60.0));
    let hot = warmth.and_then(|w| w.hot);
    outcome.key(
        "hot",
        hot.map_or(Value::Null, |h| {
            json!({"A": h.current, "rpm": h.rpm, "W_out": h.output, "W_heat": h.heat, "efficiency": h.efficiency})
        }),
    );
}

fn pictures(outcome: &mut Outcome, sheet: &Sheet, setup: &Setup, result: &Worked) -> Result<(), Halt> {
    let marked = result.stalls.is_none().then_some(result.at);
    // With the shaft held the volts at the terminals may be too few to turn it at all.
    let volts = if result.stalls.is_none() { result.at.volts } else { setup.supply.volts };
    let Ok(curves) = Curves::of(&setup.motor, volts, marked) else { return Ok(()) };
    outcome.body.blank();
    let title = format!("What the motor gives at {}", bench::write_to(Kind::Voltage, volts, volts / 10.0));
    outcome.body.para(Styled::new().strong(title));
    outcome.body.drawing(characters(&curves));
    let title = sheet.motor().map_or("Motor", |m| m.name.as_str());
    outcome.svg = Some(svg(&curves, title).map_err(Failure::input)?);
    Ok(())
}
