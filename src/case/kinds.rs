//! Where the kinds of the knowledge meet the units of the bench.

use crate::bench::{self, QuantityError};
use crate::knowledge::{self, UnitReader};

/// Reads quantities of the knowledge with the bench's table of units.
#[derive(Debug, Clone, Copy, Default)]
pub struct BenchUnits;

impl UnitReader for BenchUnits {
    fn read(&self, kind: knowledge::Kind, text: &str) -> Result<f64, String> {
        read(kind, text).map_err(|e| e.to_string())
    }

    fn read_difference(&self, kind: knowledge::Kind, text: &str) -> Result<f64, String> {
        read_difference(kind, text).map_err(|e| e.to_string())
    }
}

/// Reads a quantity in the base unit of its kind.
pub(super) fn read(kind: knowledge::Kind, text: &str) -> Result<f64, QuantityError> {
    bench::read(of_bench(kind), text)
}

/// Reads the difference of two quantities in the base unit of their kind.
pub(super) fn read_difference(kind: knowledge::Kind, text: &str) -> Result<f64, QuantityError> {
    bench::read_difference(of_bench(kind), text)
}

/// The bench's name for a kind of the knowledge; both have the same base units.
pub fn of_bench(kind: knowledge::Kind) -> bench::Kind {
    match kind {
        knowledge::Kind::Current => bench::Kind::Current,
        knowledge::Kind::Voltage => bench::Kind::Voltage,
        knowledge::Kind::Resistance => bench::Kind::Resistance,
        knowledge::Kind::Length => bench::Kind::Length,
        knowledge::Kind::Speed => bench::Kind::Speed,
        knowledge::Kind::Temperature => bench::Kind::Temperature,
        knowledge::Kind::Angle => bench::Kind::Angle,
        knowledge::Kind::Force => bench::Kind::Force,
        knowledge::Kind::Mass => bench::Kind::Mass,
        knowledge::Kind::Time => bench::Kind::Time,
        knowledge::Kind::Ratio => bench::Kind::Ratio,
        knowledge::Kind::Torque => bench::Kind::Torque,
        knowledge::Kind::Power => bench::Kind::Power,
        knowledge::Kind::Energy => bench::Kind::Energy,
        knowledge::Kind::Pressure => bench::Kind::Pressure,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base_units_agree() {
        use knowledge::Kind;
        for (kind, text, want) in [
            (Kind::Current, "1 A", 1.0),
            (Kind::Voltage, "1 V", 1.0),
            (Kind::Resistance, "1 ohm", 1.0),
            (Kind::Length, "1 m", 1.0),
            (Kind::Speed, "1 rpm", 1.0),
            (Kind::Temperature, "1 degC", 1.0),
            (Kind::Angle, "1 deg", 1.0),
            (Kind::Force, "1 N", 1.0),
            (Kind::Mass, "1 kg", 1.0),
            (Kind::Time, "1 s", 1.0),
            (Kind::Ratio, "1", 1.0),
            (Kind::Torque, "1 N m", 1.0),
            (Kind::Power, "1 W", 1.0),
            (Kind::Energy, "1 J", 1.0),
            (Kind::Pressure, "1 Pa", 1.0),
        ] {
            assert_eq!(BenchUnits.read(kind, text), Ok(want));
            assert_eq!(BenchUnits.read_difference(kind, text), Ok(want));
        }
        assert_eq!(BenchUnits.read_difference(Kind::Temperature, "9 degF"), Ok(5.0));
    }
}
