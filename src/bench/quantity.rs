//! Quantities read: a number and its unit, as people write them.
//!
//! [`read`] takes `2.4 A`, `2,4 A`, `120mΩ`, `20 krpm`, `77 degF`, `5 %` and the like, for a kind that is
//! known beforehand; see [`super::units`] for the units and `number` for the numbers. Resistances may also
//! be written as on parts and diagrams: `4.7k`, `4k7`, `0R12`, `1M5` (the letter code of IEC 60062; from
//! memory). A ratio needs no unit.

use super::number::{self, Number};
use super::refusal::{QuantityError, shown};
use super::units::{self, Kind, Lookup, Unit};

/// Longest text that is looked at, in bytes.
const LONGEST: usize = 80;

/// Absolute zero in degrees Celsius.
pub(super) const ABSOLUTE_ZERO: f64 = -273.15;

/// Reads a quantity of a known kind, in the kind's base unit.
///
/// # Errors
///
/// [`QuantityError`]; its message is one plain sentence that says what would be right.
///
/// # Examples
///
/// ```
/// use commsense::bench::{Kind, read};
/// assert_eq!(read(Kind::Current, "2,4 A"), Ok(2.4));
/// assert_eq!(
///     read(Kind::Current, "2.4 V").unwrap_err().to_string(),
///     "`2.4 V` is a voltage; this reading is a current: write it in A or mA"
/// );
/// ```
pub fn read(kind: Kind, text: &str) -> Result<f64, QuantityError> {
    let (number, unit) = parts(kind, text)?;
    let value = (number + unit.zero) * unit.factor;
    let too_cold = kind == Kind::Temperature && value < ABSOLUTE_ZERO;
    if value.is_finite() && !too_cold {
        Ok(value)
    } else {
        Err(QuantityError::Impossible { text: shown(text), kind })
    }
}

/// Reads the difference of two quantities of a kind, such as a tolerance, in the kind's base unit.
///
/// It differs from [`read`] for temperatures alone: `9 degF` is then 5 degC, and `5 K` is allowed.
///
/// # Errors
///
/// As [`read`].
pub fn read_difference(kind: Kind, text: &str) -> Result<f64, QuantityError> {
    let kelvin = text.trim().strip_suffix('K').filter(|_| kind == Kind::Temperature);
    let celsius = kelvin.map(|number| format!("{number}degC"));
    let (number, unit) = parts(kind, celsius.as_deref().unwrap_or(text))?;
    let value = number * unit.factor;
    if value.is_finite() { Ok(value) } else { Err(QuantityError::Impossible { text: shown(text), kind }) }
}

/// Whether a text is meant as a quantity: it begins with a number. `2.4 A` and `1,000` are, `high` is not.
pub fn looks_like_quantity(text: &str) -> bool {
    !matches!(number::cut(text.trim()), Number::Not)
}

/// Splits a text into its number and its unit, and checks the unit's kind.
fn parts(kind: Kind, text: &str) -> Result<(f64, Unit), QuantityError> {
    let trimmed = text.trim();
    if trimmed.len() > LONGEST {
        return Err(QuantityError::NotANumber { text: shown(text), kind });
    }
    let (number, written, rest) = match number::cut(trimmed) {
        Number::Read { value, written, rest } => (value, written, rest),
        Number::Ambiguous { written, thousands, decimal, rest } => {
            let unit = if rest.is_empty() { String::new() } else { format!(" {}", shown(rest)) };
            return Err(QuantityError::Ambiguous { written: written.to_owned(), thousands, decimal, unit });
        }
        Number::Not => return Err(QuantityError::NotANumber { text: shown(text), kind }),
    };
    if kind == Kind::Resistance
        && let Some(found) = letter_code(number, written, rest)
    {
        return Ok(found);
    }
    if rest.is_empty() {
        return match kind {
            Kind::Ratio => Ok((number, Unit { kind, factor: 1.0, zero: 0.0, spellings: &[] })),
            _ => Err(QuantityError::NoUnit { written: written.to_owned(), kind }),
        };
    }
    match units::look_up(rest, Some(kind)) {
        Lookup::Found(unit) if unit.kind == kind => Ok((number, unit)),
        Lookup::Found(unit) => {
            Err(QuantityError::WrongKind { text: shown(text), found: unit.kind, wanted: kind })
        }
        Lookup::Either(a, b) => Err(QuantityError::EitherUnit { unit: shown(rest), a, b }),
        Lookup::Unknown(_) if kind == Kind::Temperature && matches!(rest, "K" | "k" | "kelvin") => {
            Err(QuantityError::Kelvin { text: shown(text) })
        }
        Lookup::Unknown(_) if rest.bytes().any(|b| b.is_ascii_digit()) => {
            Err(QuantityError::Several { text: shown(text), kind })
        }
        Lookup::Unknown(nearest) => Err(QuantityError::UnknownUnit { unit: shown(rest), nearest, kind }),
    }
}

/// A resistance in letter code: the letter stands for the unit, and for the point if digits follow.
fn letter_code(number: f64, written: &str, rest: &str) -> Option<(f64, Unit)> {
    let mut chars = rest.chars();
    let factor = match chars.next()? {
        'R' => 1.0,
        'k' | 'K' => 1e3,
        'M' => 1e6,
        _ => return None,
    };
    let decimals = chars.as_str();
    let whole = written.bytes().all(|b| b.is_ascii_digit());
    let number = match decimals {
        "" => number,
        _ if whole && decimals.bytes().all(|b| b.is_ascii_digit()) => {
            format!("{written}.{decimals}").parse().ok()?
        }
        _ => return None,
    };
    Some((number, Unit { kind: Kind::Resistance, factor, zero: 0.0, spellings: &[] }))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Conversions against exact values: a few units in the last place.
    const EXACT: f64 = 1e-14;

    #[test]
    fn readings_as_people_write_them() {
        for (kind, text, want) in [
            (Kind::Current, "2.4 A", 2.4),
            (Kind::Current, "2,4 A", 2.4),
            (Kind::Current, "2.4A", 2.4),
            (Kind::Current, " 450 mA ", 0.45),
            (Kind::Current, "1.2 amps", 1.2),
            (Kind::Voltage, "7.2 Vdc", 7.2),
            (Kind::Resistance, "0.12 ohm", 0.12),
            (Kind::Resistance, "120 mohm", 0.12),
            (Kind::Resistance, "120 mΩ", 0.12),
            (Kind::Resistance, "120m\u{2126}", 0.12),
            (Kind::Resistance, "4.7 kohm", 4700.0),
            (Kind::Resistance, "4.7k", 4700.0),
            (Kind::Resistance, "4,7 k", 4700.0),
            (Kind::Resistance, "4k7", 4700.0),
            (Kind::Resistance, "0R12", 0.12),
            (Kind::Resistance, "5 M", 5e6),
            (Kind::Resistance, "5 Mohm", 5e6),
            (Kind::Length, "7.3 mm", 7.3e-3),
            (Kind::Length, "0.287 in", 0.287 * 0.0254),
            (Kind::Length, "0.287\"", 0.287 * 0.0254),
            (Kind::Length, "3 thou", 3.0 * 25.4e-6),
            (Kind::Length, "20 µm", 20e-6),
            (Kind::Time, "3 min", 180.0),
            (Kind::Time, "1.5 h", 5400.0),
            (Kind::Angle, "12 deg", 12.0),
            (Kind::Angle, "12°", 12.0),
            (Kind::Temperature, "25 degC", 25.0),
            (Kind::Temperature, "25 °C", 25.0),
            (Kind::Temperature, "25 deg C", 25.0),
            (Kind::Temperature, "77 degF", 25.0),
            (Kind::Temperature, "-40 F", -40.0),
            (Kind::Speed, "20000 rpm", 20000.0),
            (Kind::Speed, "20 000 rpm", 20000.0),
            (Kind::Speed, "20 krpm", 20000.0),
            (Kind::Speed, "20k rpm", 20000.0),
            (Kind::Speed, "333 Hz", 19980.0),
            (Kind::Speed, "333 rev/s", 19980.0),
            (Kind::Force, "0.7 N", 0.7),
            (Kind::Force, "70 gf", 0.686_465_5),
            (Kind::Mass, "40 g", 0.04),
            (Kind::Ratio, "5 %", 0.05),
            (Kind::Ratio, "105%", 1.05),
            (Kind::Ratio, "1.05", 1.05),
            (Kind::Torque, "12 mNm", 0.012),
            (Kind::Torque, "12 mN·m", 0.012),
            (Kind::Torque, "1 oz-in", 0.007_061_551_814_226_043),
            (Kind::Power, "122.5 W", 122.5),
            (Kind::Power, "1 hp", 745.699_871_582_270_2),
            (Kind::Energy, "2 Wh", 7200.0),
        ] {
            let got = read(kind, text).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert!((got - want).abs() <= EXACT * want.abs(), "{text}: {got} not {want}");
        }
    }

    #[test]
    fn refusals_say_what_would_be_right() {
        for (kind, text, want) in [
            (Kind::Current, "2.4", "`2.4` has no unit: write a current in A or mA, such as `2.4 A`"),
            (Kind::Current, "2.4 V", "`2.4 V` is a voltage; this reading is a current: write it in A or mA"),
            (Kind::Force, "70 g", "`70 g` is a mass; this reading is a force: write it in N or gf"),
            (
                Kind::Ratio,
                "3 mm",
                "`3 mm` is a length; this reading is a ratio: write it as a plain number or in %",
            ),
            (
                Kind::Current,
                "2.4 ampss",
                "`ampss` is not a known unit (did you mean `amps`?): write a current in A or mA",
            ),
            (Kind::Speed, "3 parsecs", "`parsecs` is not a known unit: write a speed in rpm or krpm"),
            (Kind::Speed, "1,000 rpm", "`1,000` can mean 1000 or 1.000: write `1000 rpm` or `1.000 rpm`"),
            (
                Kind::Resistance,
                "5 MOHM",
                "`MOHM` can mean mohm or Mohm: capitals count here, write `mohm` or `Mohm`",
            ),
            (Kind::Temperature, "300 K", "`300 K` is in kelvin: write a temperature in degC or degF"),
            (Kind::Temperature, "-300 degC", "`-300 degC` is no possible temperature"),
            (
                Kind::Current,
                "1e308 kV",
                "`1e308 kV` is a voltage; this reading is a current: write it in A or mA",
            ),
            (Kind::Voltage, "1e308 kV", "`1e308 kV` is no possible voltage"),
            (Kind::Voltage, "1e999 V", "`1e999 V` is no possible voltage"),
            (
                Kind::Current,
                "NaN A",
                "`NaN A` is not a number with a unit: write a current in A or mA, such as `2.4 A`",
            ),
            (
                Kind::Current,
                "",
                "`` is not a number with a unit: write a current in A or mA, such as `2.4 A`",
            ),
            (
                Kind::Length,
                "0.2-0.3 mm",
                "`0.2-0.3 mm` holds more than one number: write one number and one unit, such as `2.4 mm`",
            ),
            (
                Kind::Time,
                "1 min 30 s",
                "`1 min 30 s` holds more than one number: write one number and one unit, such as `2.4 s`",
            ),
        ] {
            assert_eq!(read(kind, text).unwrap_err().to_string(), want);
        }
    }

    #[test]
    fn differences_of_temperature_have_no_zero() {
        for (text, want) in [("9 degF", 5.0), ("5 K", 5.0), ("5 degC", 5.0)] {
            assert!((read_difference(Kind::Temperature, text).unwrap() - want).abs() < 1e-12, "{text}");
        }
        assert_eq!(read_difference(Kind::Length, "0.05 mm"), Ok(0.05e-3));
        assert!(read_difference(Kind::Length, "5 K").is_err());
    }

    #[test]
    fn a_quantity_begins_with_a_number() {
        for text in ["2.4 A", "1,000", "-3", ".5", "5%"] {
            assert!(looks_like_quantity(text), "{text}");
        }
        for text in ["high", "unknown", "", "A 2", "not-at-zero"] {
            assert!(!looks_like_quantity(text), "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in ".{0,60}", index in 0..Kind::ALL.len()) {
            match read(Kind::ALL[index], &text) {
                Ok(value) => prop_assert!(value.is_finite()),
                Err(e) => prop_assert!(!e.to_string().contains('\n')),
            }
        }

        #[test]
        fn number_like_text_is_read_or_refused(text in "[-+0-9., 'eEkRMmAVohm%]{0,14}", index in 0..Kind::ALL.len()) {
            if let Ok(value) = read(Kind::ALL[index], &text) {
                prop_assert!(value.is_finite());
            }
        }
    }
}
