//! A small reader of quantities for these tests.

use commsense::knowledge::{Kind, UnitReader};

pub struct Units;

impl UnitReader for Units {
    fn read(&self, kind: Kind, text: &str) -> Result<f64, String> {
        let units: &[(&str, f64)] = match kind {
            Kind::Current => &[("mA", 1e-3), ("A", 1.0)],
            Kind::Voltage => &[("mV", 1e-3), ("V", 1.0)],
            Kind::Resistance => &[("Mohm", 1e6), ("kohm", 1e3), ("mohm", 1e-3), ("ohm", 1.0)],
            Kind::Length => &[("mm", 1e-3), ("in", 0.0254), ("m", 1.0)],
            Kind::Speed => &[("rpm", 1.0)],
            Kind::Temperature => &[("degC", 1.0), ("K", 1.0)],
            Kind::Angle => &[("deg", 1.0)],
            Kind::Force => &[("N", 1.0)],
            Kind::Mass => &[("kg", 1.0), ("g", 1e-3)],
            Kind::Time => &[("min", 60.0), ("s", 1.0)],
            Kind::Torque => &[("mNm", 1e-3), ("Nm", 1.0)],
            Kind::Power => &[("W", 1.0)],
            Kind::Energy => &[("J", 1.0)],
            Kind::Pressure => &[("kPa", 1e3)],
            Kind::Ratio => &[("%", 0.01), ("", 1.0)],
        };
        for (unit, factor) in units {
            if let Some(number) = text.trim().strip_suffix(unit)
                && let Ok(number) = number.trim().parse::<f64>()
            {
                return Ok(number * factor);
            }
        }
        let names: Vec<&str> = units.iter().map(|(unit, _)| *unit).filter(|unit| !unit.is_empty()).collect();
        Err(format!("Write a number and one of {}.", names.join(", ")))
    }
}
