//! Quantities: a number and its unit, read as people write them and written back with sensible digits.
//!
//! [`read`] takes `2.4 A`, `2,4 A`, `120mΩ`, `20 krpm`, `77 degF`, `5 %` and the like, for a kind that is
//! known beforehand; see [`super::units`] for the units and `number` for the numbers. Resistances may also
//! be written as on parts and diagrams: `4.7k`, `4k7`, `0R12`, `1M5` (the letter code of IEC 60062; from
//! memory). A ratio needs no unit.

use super::number::{self, Number};
use super::units::{self, Kind, Lookup, Unit};

/// Longest text that is looked at, in bytes.
const LONGEST: usize = 80;

/// Absolute zero in degrees Celsius.
const ABSOLUTE_ZERO: f64 = -273.15;

/// Why a text is not the quantity that was wanted. Its message says what would be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum QuantityError {
    /// The text does not begin with a number.
    #[error("`{text}` is not a number with a unit: write {kind} {advice}, such as `{example}`",
        kind = kind.with_article(), advice = kind.advice(), example = example(*kind))]
    NotANumber {
        /// What was written.
        text: String,
        /// What was wanted.
        kind: Kind,
    },
    /// A comma that may set off thousands or decimals.
    #[error("`{written}` can mean {thousands} or {decimal}: write `{thousands}{unit}` or `{decimal}{unit}`")]
    Ambiguous {
        /// The number as written.
        written: String,
        /// Read with the comma as a thousands mark.
        thousands: String,
        /// Read with the comma as the decimal sign.
        decimal: String,
        /// The unit after it, with a space before it; may be empty.
        unit: String,
    },
    /// There is no unit.
    #[error("`{written}` has no unit: write {kind} {advice}, such as `{written} {unit}`",
        kind = kind.with_article(), advice = kind.advice(), unit = kind.usual_unit())]
    NoUnit {
        /// The number as written.
        written: String,
        /// What was wanted.
        kind: Kind,
    },
    /// No unit is spelled like this.
    #[error("`{unit}` is not a known unit{hint}: write {kind} {advice}",
        hint = nearest.map(|n| format!(" (did you mean `{n}`?)")).unwrap_or_default(),
        kind = kind.with_article(), advice = kind.advice())]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// The nearest known unit, if one is near.
        nearest: Option<&'static str>,
        /// What was wanted.
        kind: Kind,
    },
    /// The unit's capitals decide what it means, and fit neither meaning.
    #[error("`{unit}` can mean {a} or {b}: capitals count here, write `{a}` or `{b}`")]
    EitherUnit {
        /// The unit as written.
        unit: String,
        /// One meaning.
        a: &'static str,
        /// The other.
        b: &'static str,
    },
    /// A quantity, but of another kind.
    #[error("`{text}` is {found}; this reading is {wanted}: write it {advice}",
        found = found.with_article(), wanted = wanted.with_article(), advice = wanted.advice())]
    WrongKind {
        /// What was written.
        text: String,
        /// What it is.
        found: Kind,
        /// What was wanted.
        wanted: Kind,
    },
    /// Kelvin, which at the bench is a difference and not a reading.
    #[error("`{text}` is in kelvin: write a temperature in degC or degF")]
    Kelvin {
        /// What was written.
        text: String,
    },
    /// More than one number.
    #[error("`{text}` holds more than one number: write one number and one unit, such as `{example}`",
        example = example(*kind))]
    Several {
        /// What was written.
        text: String,
        /// What was wanted.
        kind: Kind,
    },
    /// Too great to be held, or colder than absolute zero.
    #[error("`{text}` is no possible {kind}", kind = bare(*kind))]
    Impossible {
        /// What was written.
        text: String,
        /// What was wanted.
        kind: Kind,
    },
}

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

/// Writes a value (in the kind's base unit) with a handy unit and four significant digits; digits before
/// the point are all kept, temperatures have one decimal at most.
///
/// # Examples
///
/// ```
/// use commsense::bench::{Kind, write};
/// assert_eq!(write(Kind::Resistance, 0.12), "120 mohm");
/// assert_eq!(write(Kind::Speed, 20123.0), "20123 rpm");
/// ```
pub fn write(kind: Kind, value: f64) -> String {
    if !value.is_finite() {
        return "no value".to_owned();
    }
    if value == 0.0 && kind != Kind::Ratio {
        return format!("0 {}", kind.usual_unit());
    }
    // The unit is chosen by the rounded value, so that 0.99999 ohm is 1 ohm and not 1000 mohm.
    let rounded = format!("{value:.3e}").parse().map_or(value.abs(), f64::abs);
    let (per_unit, unit) = handy(kind, rounded);
    let number = digits(value / per_unit, if kind == Kind::Temperature { 1 } else { usize::MAX });
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// The base units in a handy unit for this size, and the unit's spelling.
fn handy(kind: Kind, size: f64) -> (f64, &'static str) {
    // Smallest size for which a unit is used, base units in one, spelling; greatest first.
    let ladder: &[(f64, f64, &str)] = match kind {
        Kind::Current => &[(0.1, 1.0, "A"), (1e-4, 1e-3, "mA"), (0.0, 1e-6, "uA")],
        Kind::Voltage => &[(0.1, 1.0, "V"), (0.0, 1e-3, "mV")],
        Kind::Resistance => &[
            (1e9, 1e9, "Gohm"),
            (1e6, 1e6, "Mohm"),
            (1e3, 1e3, "kohm"),
            (1.0, 1.0, "ohm"),
            (0.0, 1e-3, "mohm"),
        ],
        Kind::Length => &[(1.0, 1.0, "m"), (0.0, 1e-3, "mm")],
        Kind::Speed => &[(0.0, 1.0, "rpm")],
        Kind::Temperature => &[(0.0, 1.0, "degC")],
        Kind::Angle => &[(0.0, 1.0, "deg")],
        Kind::Force => &[(0.01, 1.0, "N"), (0.0, 1e-3, "mN")],
        Kind::Mass => &[(1.0, 1.0, "kg"), (0.0, 1e-3, "g")],
        Kind::Time => &[(7200.0, 3600.0, "h"), (120.0, 60.0, "min"), (0.0, 1.0, "s")],
        Kind::Ratio => &[(0.0, 1.0, "")],
        Kind::Torque => &[(1.0, 1.0, "Nm"), (0.0, 1e-3, "mNm")],
        Kind::Power => &[(0.1, 1.0, "W"), (0.0, 1e-3, "mW")],
        Kind::Energy => &[(3600.0, 3600.0, "Wh"), (0.0, 1.0, "J")],
    };
    ladder
        .iter()
        .find(|(least, ..)| size >= *least)
        .map_or((1.0, ""), |(_, per_unit, unit)| (*per_unit, *unit))
}

/// Four significant digits, without trailing zeros; a power of ten where it would get long.
fn digits(number: f64, most_decimals: usize) -> String {
    if number == 0.0 {
        return "0".to_owned();
    }
    let size = number.abs();
    if (size < 1e-4 && most_decimals > 4) || size >= 1e9 {
        return format!("{number:e}").parse().map_or_else(|_| format!("{number:e}"), scientific);
    }
    let decimals = usize::try_from(3 - size.log10().floor() as i32).unwrap_or(0).min(most_decimals);
    let text = format!("{number:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn scientific(number: f64) -> String {
    let text = format!("{number:.3e}");
    match text.split_once('e') {
        Some((m, e)) => format!("{}e{e}", m.trim_end_matches('0').trim_end_matches('.')),
        None => text,
    }
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

fn example(kind: Kind) -> String {
    match kind {
        Kind::Ratio => "1.05".to_owned(),
        _ => format!("2.4 {}", kind.usual_unit()),
    }
}

fn bare(kind: Kind) -> &'static str {
    kind.with_article().split_once(' ').map_or("", |(_, name)| name)
}

/// A text as it may stand in a message: short, on one line, without control characters.
fn shown(text: &str) -> String {
    const MOST: usize = 40;
    let clean: String =
        text.trim().chars().take(MOST).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    if text.trim().chars().count() > MOST { clean + "..." } else { clean }
}

#[cfg(test)]
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
    fn values_are_written_with_sensible_digits() {
        for (kind, value, want) in [
            (Kind::Current, 2.4, "2.4 A"),
            (Kind::Current, 0.45, "0.45 A"),
            (Kind::Current, 0.045, "45 mA"),
            (Kind::Current, 0.0, "0 A"),
            (Kind::Current, -0.0, "0 A"),
            (Kind::Current, 1.0 / 3.0, "0.3333 A"),
            (Kind::Voltage, 7.2, "7.2 V"),
            (Kind::Resistance, 0.12, "120 mohm"),
            (Kind::Resistance, 0.99999, "1 ohm"),
            (Kind::Resistance, 4700.0, "4.7 kohm"),
            (Kind::Resistance, 1.2e6, "1.2 Mohm"),
            (Kind::Length, 0.00731, "7.31 mm"),
            (Kind::Length, 0.0, "0 mm"),
            (Kind::Speed, 20123.4, "20123 rpm"),
            (Kind::Temperature, 80.18, "80.2 degC"),
            (Kind::Temperature, -0.01, "0 degC"),
            (Kind::Time, 30.0, "30 s"),
            (Kind::Time, 180.0, "3 min"),
            (Kind::Ratio, 1.05, "1.05"),
            (Kind::Ratio, 0.694_444, "0.6944"),
            (Kind::Force, 0.7, "0.7 N"),
            (Kind::Torque, 0.012, "12 mNm"),
            (Kind::Power, 122.5, "122.5 W"),
            (Kind::Current, 1e-12, "1e-6 uA"),
            (Kind::Speed, 1.25e12, "1.25e12 rpm"),
            (Kind::Current, f64::NAN, "no value"),
        ] {
            assert_eq!(write(kind, value), want);
        }
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
        fn what_is_written_reads_back(index in 0..Kind::ALL.len(), mantissa in -9.999..9.999f64, power in -9i32..12) {
            let kind = Kind::ALL[index];
            let value = mantissa * 10f64.powi(power);
            prop_assume!(kind != Kind::Temperature || value > ABSOLUTE_ZERO);
            let text = write(kind, value);
            let back = read(kind, &text).unwrap_or_else(|e| panic!("{value} as {text}: {e}"));
            let slack = if kind == Kind::Temperature { 0.05 } else { 0.0 };
            prop_assert!((back - value).abs() <= 5.1e-4 * value.abs() + slack, "{} as {} is {}", value, text, back);
        }

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
