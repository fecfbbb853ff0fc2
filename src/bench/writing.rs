//! Quantities written with a handy unit and sensible digits.

use super::units::Kind;

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

/// Writes the difference of two quantities, such as a deviation: two significant digits.
///
/// It differs from [`write`] for temperatures, where 0.25 degC is worth writing.
pub fn write_difference(kind: Kind, value: f64) -> String {
    if !value.is_finite() || value == 0.0 {
        return write(kind, value);
    }
    let rounded: f64 = format!("{value:.1e}").parse().unwrap_or(value);
    let (per_unit, unit) = handy(kind, rounded.abs());
    let number = digits(rounded / per_unit, usize::MAX);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// Writes a value with as many decimals as its deviation is worth: to two digits of it, and never more than
/// [`write`] would.
pub fn write_to(kind: Kind, value: f64, deviation: f64) -> String {
    let spread = deviation > 0.0 && deviation.is_finite();
    if !value.is_finite() || !spread {
        return write(kind, value);
    }
    let (per_unit, unit) = handy(kind, value.abs().max(deviation));
    let place = (deviation / per_unit).log10().floor() as i32 - 1;
    let grain = 10f64.powi(place);
    let number = digits((value / per_unit / grain).round() * grain, usize::try_from(-place).unwrap_or(0));
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// Writes a value as an instrument shows it: in steps of `grain` (both in the kind's base unit), with every decimal
/// that the step gives, in `unit` where one is given and fits the kind, else in a handy one.
///
/// # Examples
///
/// ```
/// use commsense::bench::{Kind, write_in_steps};
/// assert_eq!(write_in_steps(Kind::Resistance, 0.0988, 0.001, Some("ohm")), "0.099 ohm");
/// assert_eq!(write_in_steps(Kind::Length, 0.000_296, 1e-5, None), "0.30 mm");
/// assert_eq!(write_in_steps(Kind::Resistance, 23.15e6, 1e6, None), "23 Mohm");
/// ```
pub fn write_in_steps(kind: Kind, value: f64, grain: f64, unit: Option<&str>) -> String {
    let stepped = grain > 0.0 && grain.is_finite();
    if !value.is_finite() || !stepped {
        return write(kind, value);
    }
    let steps = (value / grain).round();
    let asked = unit.filter(|_| kind != Kind::Temperature);
    let asked = asked.and_then(|u| Some((super::read(kind, &format!("1 {u}")).ok()?, u)));
    let (per_unit, unit) = asked.unwrap_or_else(|| handy(kind, (steps * grain).abs()));
    // A step is a power of ten or near it; a little slack, since 0.001 is not exact.
    let place = ((grain / per_unit).log10() + 1e-9).floor();
    let decimals = if place < 0.0 { (-place).min(9.0) as usize } else { 0 };
    // Adding 0 turns -0 into 0.
    let number = format!("{:.decimals$}", steps * (grain / per_unit) + 0.0);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// A value (in the kind's base unit) as a plain number in the unit in which [`write`] would write it, and
/// that unit; for programs that read it.
pub fn in_usual_unit(kind: Kind, value: f64) -> (f64, &'static str) {
    let (per_unit, unit) = handy(kind, value.abs());
    // The division leaves digits behind that nobody measured.
    let number = value / per_unit;
    (format!("{number:.9e}").parse().unwrap_or(number), unit)
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
        Kind::Pressure => &[(0.0, 1e3, "kPa")],
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

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::quantity::{ABSOLUTE_ZERO, read};
    use super::*;
    use proptest::prelude::*;

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
    }
}
