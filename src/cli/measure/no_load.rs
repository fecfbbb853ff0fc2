//! `commsense measure no-load`.

mod words;

use super::points::{self, Reading};
use super::sheet::{Halt, Sheet};
use crate::bench::no_load::{
    Accuracy, Instruments, Known, Loaded, Point, Report, ResistanceFrom, Test, analyse,
};
use crate::bench::{self, Estimate, Kind, write};
use crate::cli::exit::Failure;
use crate::knowledge::Kind as Of;
use crate::present::curves::{Curves, characters, svg};
use crate::present::measure::Outcome;
use crate::present::text::Styled;
use serde_json::{Map, Value, json};

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// Unloaded, forward: "7.2 V, 2.0 A, 20000 rpm"; better at two voltages or more
    #[arg(long, value_name = "V,A,RPM")]
    pub point: Vec<String>,
    /// Unloaded, in reverse, as many as you like
    #[arg(long, value_name = "V,A,RPM")]
    pub reverse_point: Vec<String>,
    /// Under load or held (0 rpm), forward; a torque may follow: "7.2 V, 12 A, 17100 rpm, 33 mNm"
    #[arg(long, value_name = "V,A,RPM")]
    pub loaded_point: Vec<String>,
    /// Resistance from terminal to terminal
    #[arg(long, value_name = "OHM")]
    pub resistance: Option<String>,
    /// Voltage that figures and curves are given for; else the motor's own, else the highest measured
    #[arg(long, value_name = "VOLTS")]
    pub volts: Option<String>,
    /// No-load current it should have at that voltage, where the motor is not in the list
    #[arg(long, value_name = "AMPS")]
    pub listed_current: Option<String>,
    /// No-load speed it should have at that voltage, where the motor is not in the list
    #[arg(long, value_name = "RPM")]
    pub listed_speed: Option<String>,
    /// Accuracy of the voltmeter
    #[arg(long, value_name = "PERCENT")]
    pub volt_meter: Option<String>,
    /// Accuracy of the ammeter
    #[arg(long, value_name = "PERCENT")]
    pub current_meter: Option<String>,
    /// Accuracy of the tachometer
    #[arg(long, value_name = "PERCENT")]
    pub speed_meter: Option<String>,
}

/// What the motor should do.
#[derive(Debug, Clone, Copy)]
pub(super) struct Listed {
    /// A.
    pub current: Option<f64>,
    /// rpm.
    pub speed: Option<f64>,
    /// Ohm.
    pub resistance: Option<f64>,
}

/// Works out a no-load test.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    let (test, resistance_named) = inputs(args, sheet)?;
    let listed = Listed {
        current: sheet.given("listed-current", args.listed_current.as_deref(), Kind::Current)?,
        speed: sheet.given("listed-speed", args.listed_speed.as_deref(), Kind::Speed)?,
        resistance: sheet.nominal("resistance", Kind::Resistance)?,
    };
    // The motor's own figures hold at its own voltage alone.
    let own = sheet.nominal("volts", Kind::Voltage)?;
    let at_own = own.is_some() && test.volts == own;
    let nominal = |sheet: &Sheet, id: &str, kind| if at_own { sheet.nominal(id, kind) } else { Ok(None) };
    let listed = Listed {
        current: listed.current.or(nominal(sheet, "listed-current", Kind::Current)?),
        speed: listed.speed.or(nominal(sheet, "listed-speed", Kind::Speed)?),
        ..listed
    };
    let report =
        analyse(&test).map_err(|e| Failure::input(format!("this no-load test can't be used: {e}")))?;
    let mut outcome = words::verdict(sheet, &test, &report, listed)?;
    rows(&mut outcome, &report, listed, resistance_named);
    keys(&mut outcome, &report);
    figures(&mut outcome, &report, own.is_some(), at_own, resistance_named == MEASURED);
    pictures(&mut outcome, sheet, &report)?;
    Ok(outcome)
}

/// What a case and a saved motor take. No-load figures at another voltage than the motor's own are neither.
fn figures(outcome: &mut Outcome, report: &Report, has_own: bool, at_own: bool, measured: bool) {
    if at_own {
        outcome.figure("no-load-current", report.current);
        outcome.figure("no-load-speed", report.rpm);
    } else if !has_own {
        outcome.figure("idle-current", report.current);
        outcome.figure("idle-speed", report.rpm);
    }
    if at_own || !has_own {
        outcome.figure("voltage", Estimate::exact(report.volts));
    }
    if let Some(reverse) = report.reverse {
        outcome.figure("speed-ratio", reverse.speed_ratio);
    }
    if let Some(resistance) = report.resistance
        && measured
    {
        outcome.figure("resistance", resistance);
    }
}

/// How a resistance is called that was not taken from a list.
const MEASURED: &str = "measured";

/// What is known, and how the resistance came to be known, in words.
fn inputs(args: &Args, sheet: &mut Sheet) -> Result<(Test, &'static str), Halt> {
    let mut forward = points::given("point", &args.point)?;
    if forward.is_empty() {
        forward = points::ask(sheet, "point", false)?;
        forward.extend(points::ask(sheet, "second-point", true)?);
    }
    let mut reverse = points::given("reverse-point", &args.reverse_point)?;
    if reverse.is_empty() {
        reverse = points::ask(sheet, "reverse-point", true)?;
    }
    let loaded = points::given("loaded-point", &args.loaded_point)?;
    let mut named = MEASURED;
    let given = sheet.given("resistance", args.resistance.as_deref(), Kind::Resistance)?;
    let nominal = sheet.nominal("resistance", Kind::Resistance)?;
    let resistance = match given {
        Some(ohm) => Some(Known { ohm, deviation: ohm * sheet.usual("resistance-meter")? }),
        None if !loaded.is_empty() => None,
        None => match (nominal, sheet.want("resistance", None, Kind::Resistance)?) {
            (Some(ohm), _) => {
                named = "the motor's data";
                Some(Known { ohm, deviation: ohm * sheet.limit("listed-resistance")? })
            }
            (None, Some(ohm)) => Some(Known { ohm, deviation: ohm * sheet.usual("resistance-meter")? }),
            (None, None) => None,
        },
    };
    let meter = |id: &str, text: &Option<String>, scatter: &str| -> Result<Accuracy, Halt> {
        let scale = match sheet.given(id, text.as_deref(), Kind::Ratio)? {
            Some(scale) => scale,
            None => sheet.usual(id)?,
        };
        if !(0.0..=0.5).contains(&scale) {
            let why = format!("--{id}: an accuracy lies between 0 and 50 %; write it as: --{id} \"1 %\"");
            return Err(Failure::input(why).into());
        }
        Ok(Accuracy { scale, scatter: sheet.usual(scatter)? })
    };
    let instruments = Instruments {
        volts: meter("volt-meter", &args.volt_meter, "volt-scatter")?,
        current: meter("current-meter", &args.current_meter, "current-scatter")?,
        speed: meter("speed-meter", &args.speed_meter, "speed-scatter")?,
    };
    let volts = match sheet.given("volts", args.volts.as_deref(), Kind::Voltage)? {
        Some(volts) => Some(volts),
        None => sheet.nominal("volts", Kind::Voltage)?,
    };
    let plain = |readings: Vec<Reading>, id: &str| -> Result<Vec<Point>, Failure> {
        match readings.iter().any(|r| r.torque.is_some()) {
            true => {
                Err(Failure::input(format!("--{id}: a torque belongs to --loaded-point; leave it out here")))
            }
            false => Ok(readings.into_iter().map(|r| r.point).collect()),
        }
    };
    let test = Test {
        forward: plain(forward, "point")?,
        reverse: plain(reverse, "reverse-point")?,
        loaded: loaded.into_iter().map(|r| Loaded { point: r.point, torque: r.torque }).collect(),
        resistance,
        instruments,
        brush_drop_most: sheet.limit("brush-drop")?,
        volts,
    };
    Ok((test, named))
}

fn rows(outcome: &mut Outcome, report: &Report, listed: Listed, resistance_named: &str) {
    let against = |kind, value: Option<f64>, of: Estimate| match value {
        Some(listed) => {
            format!("listed {}, {:+.0} %", write(kind, listed), (of.value / listed - 1.0) * 100.0)
        }
        None => String::new(),
    };
    let at = format!("at {}", write(Kind::Voltage, report.volts));
    let label = |what: &str| format!("{what} {at}");
    let speed = against(Kind::Speed, listed.speed, report.rpm);
    outcome.row(&label("Speed"), Of::Speed, report.rpm, speed);
    let current = against(Kind::Current, listed.current, report.current);
    outcome.row(&label("Current"), Of::Current, report.current, current);
    if let Some(reverse) = report.reverse {
        outcome.row("Speed in reverse", Of::Speed, reverse.rpm, "");
        outcome.row("Current in reverse", Of::Current, reverse.current, "");
        outcome.row("Forward over reverse", Of::Ratio, reverse.speed_ratio, "1: both ways alike");
    }
    let per_volt = &report.rpm_per_volt;
    let round = |x: f64| format!("{x:.0}");
    outcome.rows.push(crate::present::measure::Row {
        label: "Speed constant".into(),
        value: format!("{} rpm/V", round(per_volt.value)),
        range: format!("{} to {} rpm/V", round(per_volt.low), round(per_volt.high)),
        against: listed_constant(report, listed),
    });
    let torque_constant = report.ke;
    outcome.row("Torque for each A", Of::Torque, torque_constant, "");
    if let Some(resistance) = report.resistance {
        let from = match report.resistance_from {
            ResistanceFrom::Points => "the loaded points",
            _ => resistance_named,
        };
        outcome.row("Resistance", Of::Resistance, resistance, from);
    }
    if let Some(drop) = report.brush_drop {
        outcome.row("Brush drop, both", Of::Voltage, drop, "");
    }
    outcome.row("Drag, running free", Of::Torque, report.drag, "");
    if let (Some(rest), Some(grows)) = (report.drag_at_rest, report.drag_per_speed) {
        outcome.row("- at any speed", Of::Torque, rest, "");
        let part = grows.times(report.rpm.value * bench::motor::RAD_PER_S);
        outcome.row("- growing with it", Of::Torque, part, "");
    }
    if let Some(stall) = report.stall {
        outcome.row("Held: current", Of::Current, stall.current, "");
        outcome.row("Held: torque", Of::Torque, stall.torque, "");
    }
    for (name, point) in [("Best efficiency", report.best_efficiency), ("Most output", report.peak_power)] {
        let Some(at) = point else { continue };
        let place = format!(
            "{}, {}, {}",
            short(Kind::Current, at.current.value),
            short(Kind::Speed, at.rpm.value),
            short(Kind::Torque, at.torque.value)
        );
        if name == "Best efficiency" {
            let percent = at.efficiency.times(100.0);
            outcome.rows.push(crate::present::measure::Row {
                label: name.into(),
                value: format!("{:.0} %", percent.value),
                range: format!("{:.0} to {:.0} %", percent.low.max(0.0), percent.high),
                against: place,
            });
        } else {
            outcome.row(name, Of::Power, at.output, place);
        }
    }
}

/// Three digits are enough to say where a point lies.
fn short(kind: Kind, value: f64) -> String {
    bench::write_to(kind, value, value.abs() / 10.0)
}

/// The listed speed constant, brush drop counted in, as lists do.
fn listed_constant(report: &Report, listed: Listed) -> String {
    let known = listed.speed.zip(listed.current).zip(listed.resistance);
    let Some(((speed, current), ohm)) = known else { return String::new() };
    let emf = report.volts - current * ohm;
    if emf > 0.0 { format!("listed {:.0} rpm/V", speed / emf) } else { String::new() }
}

fn keys(outcome: &mut Outcome, report: &Report) {
    let number = |e: Estimate| json!({"value": e.value, "low": e.low, "high": e.high});
    let maybe = |e: Option<Estimate>| e.map_or(Value::Null, number);
    outcome.key("volts_V", report.volts);
    for (key, value) in [
        ("ke_V_s_per_rad", Some(report.ke)),
        ("kv_rpm_per_V", Some(report.rpm_per_volt)),
        ("r_ohm", report.resistance),
        ("brush_drop_V", report.brush_drop),
        ("drag_Nm", Some(report.drag)),
        ("drag_at_rest_Nm", report.drag_at_rest),
        ("drag_per_speed_Nm_s_per_rad", report.drag_per_speed),
        ("no_load_A", Some(report.current)),
        ("no_load_rpm", Some(report.rpm)),
        ("stall_A", report.stall.map(|s| s.current)),
        ("stall_Nm", report.stall.map(|s| s.torque)),
        ("stall_gross_Nm", report.stall.map(|s| s.gross)),
        ("reverse_ke_V_s_per_rad", report.reverse.map(|r| r.ke)),
        ("reverse_no_load_A", report.reverse.map(|r| r.current)),
        ("reverse_no_load_rpm", report.reverse.map(|r| r.rpm)),
        ("speed_ratio", report.reverse.map(|r| r.speed_ratio)),
    ] {
        outcome.key(key, maybe(value));
    }
    for (key, point) in [("best_efficiency", report.best_efficiency), ("peak_power", report.peak_power)] {
        let Some(at) = point else {
            outcome.key(key, Value::Null);
            continue;
        };
        let mut map = Map::new();
        let five = [at.current, at.rpm, at.torque, at.output, at.efficiency];
        for (unit, value) in ["A", "rpm", "Nm", "W", "fraction"].into_iter().zip(five) {
            map.insert(unit.into(), number(value));
        }
        outcome.key(key, Value::Object(map));
    }
    let from = match report.resistance_from {
        ResistanceFrom::Known => "known",
        ResistanceFrom::Points => "points",
        ResistanceFrom::Nowhere => "unknown",
    };
    outcome.key("resistance_from", from);
    outcome.key("excess_scatter", report.excess_scatter);
}

fn pictures(outcome: &mut Outcome, sheet: &Sheet, report: &Report) -> Result<(), Halt> {
    let Some(motor) = report.motor else { return Ok(()) };
    // A motor whose constants are at odds within their uncertainty may have no curve to draw.
    let Ok(curves) = Curves::of(&motor, report.volts, None) else { return Ok(()) };
    outcome.body.blank();
    let title =
        format!("What it gives at {}, from nothing on the shaft to held", write(Kind::Voltage, report.volts));
    outcome.body.para(Styled::new().strong(title));
    outcome.body.drawing(characters(&curves));
    let title = sheet.motor().map_or("Motor", |m| m.name.as_str());
    outcome.svg = Some(svg(&curves, title).map_err(Failure::input)?);
    Ok(())
}
