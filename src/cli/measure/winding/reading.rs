//! Readings as they are written: lists with open ones among them, and what a meter is said to do.

use crate::bench::{self, Kind};
use crate::cli::measure::sheet::{several, split};

/// What stands for a reading that the meter does not show.
const OPEN: [&str; 8] = ["open", "ol", "o.l", "o.l.", "o/l", "inf", "infinite", "∞"];

fn is_open(part: &str) -> bool {
    let part = part.trim().to_lowercase();
    OPEN.contains(&part.as_str())
}

/// Resistances one after the other in ohm, infinite where the meter shows none: `82 mohm, open, 83 mohm`.
///
/// # Errors
/// A sentence about what can't be read.
pub fn ohms(text: &str) -> Result<Vec<f64>, String> {
    let parts = split(text);
    let shown: Vec<&str> = parts.iter().filter(|p| !is_open(p)).map(String::as_str).collect();
    let mut values = match shown.is_empty() && !parts.is_empty() {
        true => Vec::new(),
        false => several(&shown.join("; "), Kind::Resistance)?,
    }
    .into_iter();
    let all: Vec<f64> = parts
        .iter()
        .map(|p| if is_open(p) { f64::INFINITY } else { values.next().unwrap_or(f64::INFINITY) })
        .collect();
    match all.iter().position(|r| *r < 0.0) {
        Some(i) => Err(format!("number {} is negative; a resistance is 0 or more", i + 1)),
        None => Ok(all),
    }
}

/// What a meter is said to do: the share by which a reading scatters, and the step of its last digit in the
/// base unit of `kind`; either may be left out. `2 %`, `10 mohm`, `2 %, 1 mohm`, `2 % + 1 mohm`.
///
/// # Errors
/// A sentence that says what would be right.
pub fn meter(text: &str, kind: Kind) -> Result<(Option<f64>, Option<f64>), String> {
    let (mut share, mut step) = (None, None);
    let parts = split(&text.replace(['+', '±'], ";"));
    if parts.is_empty() {
        return Err("nothing is written; write it as \"2 %\", or \"2 %, 1 mohm\"".into());
    }
    for part in &parts {
        // Only what bears the sign is a share; anything else is a step and says its unit.
        let is_share = part.contains(['%', '‰']) || part.ends_with("percent");
        let (of, place) = if is_share { (Kind::Ratio, &mut share) } else { (kind, &mut step) };
        if place.is_some() {
            return Err(format!("`{part}` says the same thing twice: write one share in % and one step"));
        }
        let value = bench::read(of, part).map_err(|e| e.to_string())?;
        if value < 0.0 {
            return Err(format!("`{part}` is negative: write how far readings scatter, such as 2 %"));
        }
        *place = Some(value);
    }
    Ok((share, step))
}

/// The step of the last digit as the readings were written, in the base unit: the finest of them, because a
/// person leaves out zeros at the end. None where it can't be told.
pub fn step_as_written(text: &str, kind: Kind) -> Option<f64> {
    let parts = split(text);
    let values =
        several(&parts.iter().filter(|p| !is_open(p)).cloned().collect::<Vec<_>>().join("; "), kind).ok()?;
    let steps = parts.iter().filter(|p| !is_open(p)).zip(values).filter_map(|(part, value)| {
        let number: String = part.chars().take_while(|c| c.is_ascii_digit() || ".,".contains(*c)).collect();
        let number = number.replace(',', ".");
        let plain: f64 = number.parse().ok()?;
        let decimals = number.split_once('.').map_or(0, |(_, d)| d.len()) as i32;
        (plain > 0.0).then(|| value / plain * 10f64.powi(-decimals))
    });
    steps.reduce(f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_readings_stand_among_others() {
        let inf = f64::INFINITY;
        assert_eq!(ohms("82 mohm, open, 83 mohm"), Ok(vec![0.082, inf, 0.083]));
        assert_eq!(ohms("82, 83, OL"), ohms("82; 83"), "the unit is asked for");
        assert_eq!(ohms("OL; 82; 83 mohm"), Ok(vec![inf, 0.082, 0.083]));
        assert_eq!(ohms("0,5 ohm, O.L, 0,25 ohm"), Ok(vec![0.5, inf, 0.25]));
        assert_eq!(ohms("open, open"), Ok(vec![inf, inf]));
        assert!(ohms("").is_err_and(|e| e.contains("nothing is written")));
        assert!(ohms("82 mohm, -3 mohm").is_err_and(|e| e.contains("number 2 is negative")));
        assert!(ohms("82 mohm, 3 V").is_err_and(|e| e.contains("voltage")));
    }

    #[test]
    fn meters_are_described_in_either_part_or_both() {
        let r = Kind::Resistance;
        assert_eq!(meter("2 %", r), Ok((Some(0.02), None)));
        assert_eq!(meter("10 mohm", r), Ok((None, Some(0.01))));
        assert_eq!(meter("2 %, 1 mohm", r), Ok((Some(0.02), Some(0.001))));
        assert_eq!(meter("± 0,5 % + 0.1 mV", Kind::Voltage), Ok((Some(0.005), Some(0.0001))));
        for (text, want) in [
            ("2", "no unit"),
            ("2 %, 3 %", "twice"),
            ("-2 %", "negative"),
            ("3 mV", "voltage"),
            ("", "nothing is written"),
        ] {
            assert!(meter(text, r).is_err_and(|e| e.contains(want)), "{text}: {:?}", meter(text, r));
        }
    }

    #[test]
    fn digits_tell_the_step() {
        let step = |text| step_as_written(text, Kind::Resistance).map(|s| (s * 1e9).round() / 1e9);
        assert_eq!(step("82 mohm, 83 mohm, open"), Some(0.001));
        assert_eq!(step("0.08 ohm, 0,1 ohm"), Some(0.01));
        assert_eq!(step("82.5, 83, 165 mohm"), Some(0.0001));
        assert_eq!(step("open"), None);
        assert_eq!(step("0 ohm"), None);
    }
}
