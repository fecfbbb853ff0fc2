//! What is given, what the motor's data say, and what is asked for.

use super::{Args, Cell, Setup};
use crate::bench::motor::{Motor, read_constant};
use crate::bench::operating::{Cooling, Load, Supply, Vehicle};
use crate::bench::{self, Kind};
use crate::cli::exit::Failure;
use crate::cli::measure::sheet::{Halt, Sheet};

/// Collects everything.
pub(super) fn setup(args: &Args, sheet: &mut Sheet) -> Result<Setup, Halt> {
    let motor = motor(args, sheet)?;
    let supply = supply(args, sheet)?;
    let load = load(args, sheet)?;
    let run_time = sheet.want("run-time", args.run_time.as_deref(), Kind::Time)?;
    if run_time.is_some_and(|s| !(1.0..=86_400.0).contains(&s)) {
        return Err(Failure::input(
            "--run-time: a run lasts from 1 s to 24 h; write it as: --run-time \"6 min\"",
        )
        .into());
    }
    let current_limit = sheet.given("current-limit", args.current_limit.as_deref(), Kind::Current)?;
    if current_limit.is_some_and(|a| a <= 0.0) {
        return Err(Failure::input(
            "--current-limit: it must be above 0 A, such as: --current-limit \"40 A\"",
        )
        .into());
    }
    let cooling = cooling(args, sheet)?;
    Ok(Setup { motor, supply, load, cooling, run_time, current_limit })
}

fn wrong(why: impl std::fmt::Display) -> Halt {
    Failure::input(format!("this motor can't be: {why}")).into()
}

/// From the constants given, or from the motor's no-load data.
fn motor(args: &Args, sheet: &mut Sheet) -> Result<Motor, Halt> {
    let resistance = args.resistance.as_deref();
    let idle = args.no_load_current.as_deref();
    let listed =
        sheet.nominal("nominal-volts", Kind::Voltage)?.zip(sheet.nominal("nominal-speed", Kind::Speed)?);
    if let (None, Some((volts, rpm))) = (&args.ke, listed) {
        let ohm = sheet.need("resistance", resistance, Kind::Resistance)?;
        let own = sheet.nominal("resistance", Kind::Resistance)?.unwrap_or(ohm);
        let listed_idle = sheet.nominal("no-load-current", Kind::Current)?;
        let current = sheet.need("no-load-current", idle, Kind::Current)?;
        // Its constant is that of the list, whatever resistance and current it has by now.
        let as_new = Motor::from_no_load(volts, listed_idle.unwrap_or(current), rpm, own).map_err(wrong)?;
        return Motor { resistance: ohm, drag: as_new.ke * current, ..as_new }.checked().map_err(wrong);
    }
    let check = |text: &str| read_constant(text).map(|_| ());
    let text = sheet.text("ke", args.ke.as_deref(), false, check)?.ok_or(Halt::Stopped)?;
    let ke = read_constant(&text).map_err(Failure::input)?;
    let resistance = sheet.need("resistance", resistance, Kind::Resistance)?;
    let current = sheet.need("no-load-current", idle, Kind::Current)?;
    Motor { ke, resistance, brush_drop: 0.0, drag: ke * current, drag_per_speed: 0.0 }
        .checked()
        .map_err(wrong)
}

fn supply(args: &Args, sheet: &mut Sheet) -> Result<Supply, Halt> {
    let volts = match sheet.given("cells", args.cells.as_deref(), Kind::Ratio)? {
        Some(cells) => {
            if !(1.0..=100.0).contains(&cells) || cells.fract() != 0.0 {
                return Err(
                    Failure::input("--cells: write a whole number of cells, such as: --cells 2").into()
                );
            }
            let each = match args.cell {
                Some(Cell::Nimh) => sheet.limit("nimh-cell")?,
                Some(Cell::Lithium) | None => sheet.limit("lithium-cell")?,
            };
            cells * each
        }
        None => sheet.need("volts", args.volts.as_deref(), Kind::Voltage)?,
    };
    let resistance = sheet.want("pack-resistance", args.pack_resistance.as_deref(), Kind::Resistance)?;
    Ok(Supply { volts, resistance: resistance.unwrap_or(0.0) })
}

/// What a person may have to be led to.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Drives {
    Vehicle,
    Torque,
}

fn load(args: &Args, sheet: &mut Sheet) -> Result<Load, Halt> {
    let of_vehicle = [&args.mass, &args.slope, &args.rolling, &args.tyre_radius, &args.ratio, &args.air];
    let given = match (&args.load, of_vehicle.iter().any(|o| o.is_some())) {
        (Some(_), _) => Some(Drives::Torque),
        (None, true) => Some(Drives::Vehicle),
        (None, false) => None,
    };
    let choices = [
        (Drives::Vehicle, "vehicle", "A vehicle: mass, slope, tyres and gear ratio are known"),
        (Drives::Torque, "torque", "A torque at the motor's shaft: a boat, a robot, a winch"),
    ];
    let drives = if given.is_none() && !sheet.can_ask() {
        None
    } else {
        sheet.choose("drives", given, false, &choices)?
    };
    match drives {
        Some(Drives::Vehicle) => Ok(Load::Vehicle(vehicle(args, sheet)?)),
        Some(Drives::Torque) | None => {
            Ok(Load::Torque(sheet.need("load", args.load.as_deref(), Kind::Torque)?))
        }
    }
}

fn vehicle(args: &Args, sheet: &mut Sheet) -> Result<Vehicle, Halt> {
    let mass = sheet.need("mass", args.mass.as_deref(), Kind::Mass)?;
    let tyre_radius = sheet.need("tyre-radius", args.tyre_radius.as_deref(), Kind::Length)?;
    let ratio = sheet.need("ratio", args.ratio.as_deref(), Kind::Ratio)?;
    let slope = sheet.text("slope", args.slope.as_deref(), true, |text| slope(text).map(|_| ()))?;
    let slope = slope.map(|text| slope_degrees(&text)).transpose()?.unwrap_or(0.0);
    let rolling = match sheet.want("rolling", args.rolling.as_deref(), Kind::Ratio)? {
        Some(rolling) => rolling,
        None => sheet.limit("rolling-usual")?,
    };
    let drive = sheet.given("drive-efficiency", args.drive_efficiency.as_deref(), Kind::Ratio)?;
    let drive_efficiency = match drive {
        Some(share) => share,
        None => sheet.limit("drive-usual")?,
    };
    let drag_area = match &args.air {
        Some(text) => {
            let number = text.trim().trim_end_matches("m2").trim_end_matches("m²");
            bench::read(Kind::Ratio, number).ok().filter(|_| !number.contains('%')).ok_or_else(|| {
                Failure::input(
                    "--air: write drag coefficient times frontal area in m2, such as: --air \"0.02 m2\"",
                )
            })?
        }
        None => 0.0,
    };
    Ok(Vehicle { mass, slope, rolling, tyre_radius, ratio, drive_efficiency, drag_area })
}

fn slope_degrees(text: &str) -> Result<f64, Failure> {
    slope(text).map_err(|why| Failure::input(format!("--slope: {why}")))
}

/// A slope in degrees, from an angle or from rise over run.
fn slope(text: &str) -> Result<f64, String> {
    if let Ok(angle) = bench::read(Kind::Angle, text) {
        return Ok(angle);
    }
    let rise = bench::read(Kind::Ratio, text).map_err(|_| {
        format!(
            "`{}` is no slope: write it as 10 % or 6 deg",
            text.trim().chars().take(40).collect::<String>()
        )
    })?;
    Ok(rise.atan().to_degrees())
}

/// How the can loses heat; none when the knowledge does not know its size.
fn cooling(args: &Args, sheet: &mut Sheet) -> Result<Option<Cooling>, Halt> {
    let ambient = match sheet.given("ambient", args.ambient.as_deref(), Kind::Temperature)? {
        Some(ambient) => ambient,
        None => sheet.usual("heat-ambient")?,
    };
    let own = sheet.motor().map(|m| m.can.clone());
    let can = args.can.clone().or(own).unwrap_or_default();
    let heat = sheet.guide(&format!("heat-{}", can.trim())).map(|g| g.value);
    let capacity = sheet.guide(&format!("capacity-{}", can.trim())).map(|g| g.value);
    let (Some(heat), Some(capacity)) = (heat, capacity) else {
        if let Some(can) = &args.can {
            let why = format!(
                "--can: nothing is known of how a can of size `{can}` loses heat; write a size such as 540"
            );
            return Err(Failure::input(why).into());
        }
        return Ok(None);
    };
    let most = sheet.limit("winding-most")?;
    let reference = sheet.usual("heat-ambient")?;
    Ok(Some(Cooling {
        ambient,
        reference: sheet.usual("resistance-at")?,
        resistance: (most - reference) / heat,
        capacity,
        most,
    }))
}
