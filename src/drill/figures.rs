//! Figures as whoever holds the instrument writes them down: to what it can show, in the unit of the data beside it.
//!
//! The one place where a lesson's readings get their words, on the screen and on paper; what a figure means is read
//! from the same figure, so that verdict and number can't part.

use crate::bench::{self, write_in_steps};
use crate::case::evidence::bands;
use crate::case::of_bench;
use crate::knowledge::{Derive, Knowledge, Motor, Reading, Side, Spread};

/// A figure in the unit of the data is not written where it is so many times more or less than they are.
const FAR: f64 = 1000.0;

/// A reading's value (in the base unit of its kind) as it is written down: in steps of what the instrument can
/// show, in the unit of the motor's own figure where there is one, else in a handy unit.
pub fn written(reading: &Reading, motor: Option<&Motor>, value: f64) -> String {
    in_steps(reading, motor, value, grain(reading, value))
}

fn in_steps(reading: &Reading, motor: Option<&Motor>, value: f64, grain: f64) -> String {
    let near = |nominal: f64| {
        let size = value.abs() / nominal.abs().max(f64::MIN_POSITIVE);
        value == 0.0 || (1.0 / FAR..FAR).contains(&size)
    };
    let unit = data(reading, motor).filter(|_| nominal(reading, motor).is_some_and(near)).map(unit_of);
    let text = write_in_steps(of_bench(reading.kind), value, grain, unit);
    // Mega and milli differ by a capital only: in full, nobody mistakes them.
    text.strip_suffix("Mohm").map_or(text.clone(), |number| format!("{number}megohm"))
}

/// A value rounded to what the instrument can show.
pub fn rounded(reading: &Reading, value: f64) -> f64 {
    let grain = grain(reading, value);
    if grain > 0.0 && value.is_finite() { (value / grain).round() * grain } else { value }
}

/// A value as whoever reads what is written down takes it: to the last digit the same, also at the edge of a band.
pub fn noted(reading: &Reading, motor: Option<&Motor>, value: f64) -> f64 {
    bench::read(of_bench(reading.kind), &written(reading, motor, value)).unwrap_or(value)
}

/// What the motor's data say of it, as it stands there.
pub fn data<'m>(reading: &Reading, motor: Option<&'m Motor>) -> Option<&'m str> {
    Some(motor?.nominal.get(reading.derive.nominal()?)?.as_str())
}

/// Which figures are as they should be: `at least 0.68 N`, `up to 1.5`, `0.05 mm to 0.50 mm`.
pub fn sound(reading: &Reading, motor: Option<&Motor>) -> Option<String> {
    let of_edge = |edge: f64| match (&reading.derive, nominal(reading, motor)) {
        (Derive::Value, _) => Some(edge),
        (Derive::Ratio(_), Some(n)) => Some(edge * n),
        (Derive::Difference(_), Some(n)) => Some(edge + n),
        (_, None) => None,
    };
    let edges = |side: Side| {
        let own = reading.bands.iter().filter(move |b| b.side == side);
        own.filter_map(|b| b.edges.first()).filter_map(|(_, edge)| of_edge(*edge))
    };
    let (least, most) = (edges(Side::Below).reduce(f64::max), edges(Side::Above).reduce(f64::min));
    // Both ends to the same digits: to those of the coarser one.
    let grain = least.iter().chain(&most).map(|edge| grain(reading, *edge)).fold(0.0, f64::max);
    let said = |edge: Option<f64>| edge.map(|e| in_steps(reading, motor, e, grain));
    Some(match (said(least), said(most)) {
        (Some(least), Some(most)) => format!("{least} to {most}"),
        (Some(least), None) => format!("at least {least}"),
        (None, Some(most)) => format!("up to {most}"),
        (None, None) => return None,
    })
}

/// What a value stands for: each observation (id) with the state (index) in whose band it lies.
///
/// # Errors
/// As [`bands`].
pub fn states(
    knowledge: &Knowledge,
    motor: Option<&Motor>,
    reading: &Reading,
    value: f64,
) -> Result<Vec<(String, usize)>, String> {
    // Without a deviation a value lies in one band; at the very edge the better one counts.
    let all = bands(knowledge, motor, reading, value, Some(0.0))?.into_iter();
    let heaviest = |weights: &[f64]| {
        let better = |best: usize, i: usize| if weights[i] > weights[best] { i } else { best };
        (0..weights.len()).fold(0, better)
    };
    Ok(all.map(|b| (b.observation, heaviest(&b.weights))).collect())
}

/// The step in which an instrument shows a reading (base unit): the power of ten within its usual scatter.
fn grain(reading: &Reading, value: f64) -> f64 {
    let deviation = match reading.uncertainty {
        Spread::Relative(part) => (part * value).abs(),
        Spread::Absolute(deviation) => deviation,
    };
    // A little slack, since a tenth of 1 must not count as less than 0.1.
    if deviation > 0.0 { 10f64.powi((deviation.log10() + 1e-9).floor() as i32) } else { 0.0 }
}

/// The motor's figure in the base unit.
fn nominal(reading: &Reading, motor: Option<&Motor>) -> Option<f64> {
    bench::read(of_bench(reading.kind), data(reading, motor)?).ok()
}

/// The unit of a quantity in words.
fn unit_of(text: &str) -> &str {
    text.trim_start_matches(|c: char| c.is_ascii_digit() || ".,+- ".contains(c)).trim()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::case::{Answer, BenchUnits};
    use crate::knowledge::builtin;

    #[test]
    fn figures_have_the_digits_of_their_instrument_and_the_unit_of_their_data() {
        let k = builtin(&BenchUnits).unwrap();
        let heron = k.motor("heron-540-3");
        for (id, value, said, sound_at) in [
            ("winding-resistance", 0.09883, "0.099 ohm", "0.085 ohm to 0.125 ohm"),
            ("winding-resistance", 1e6, "1.00 megohm", "0.085 ohm to 0.125 ohm"),
            ("insulation-resistance", 23.15e6, "23 megohm", "at least 1.0 megohm"),
            ("resistance-swing", 1.2934, "1.29", "up to 1.5"),
            ("end-play", 0.000_256_3, "0.26 mm", "0.05 mm to 0.50 mm"),
            ("spring-force", 0.5778, "0.58 N", "at least 0.68 N"),
            ("starting-voltage", 1.249, "1.2 V", "up to 0.90 V"),
            ("no-load-current", 8.377, "8.4 A", "1.4 A to 2.8 A"),
            ("no-load-speed", 20123.0, "20100 rpm", "18000 rpm to 22000 rpm"),
            ("commutator-runout", 4.945e-6, "0.005 mm", "up to 0.025 mm"),
            ("case-temperature", 41.37, "41 degC", "up to 55 degC"),
        ] {
            let reading = k.reading(id).unwrap();
            let text = written(reading, heron, value);
            assert_eq!((text.as_str(), sound(reading, heron).as_deref()), (said, Some(sound_at)), "{id}");
            let Answer::Reading { value: back, .. } = Answer::read(&k, id, &text).unwrap() else {
                panic!("{text} is no reading")
            };
            assert!((back - rounded(reading, value)).abs() <= 1e-9 * back.abs().max(1e-9), "{text}");
        }
    }

    #[test]
    fn a_figure_lies_in_the_band_that_its_range_says() {
        let k = builtin(&BenchUnits).unwrap();
        let heron = k.motor("heron-540-3");
        for (id, value, wanted) in [
            // Beyond the edge by less than the scatter: the side on which it lies counts.
            ("spring-force", 0.67, 1),
            ("spring-force", 0.68, 0),
            ("resistance-swing", 1.5, 0),
            ("resistance-swing", 1.51, 1),
        ] {
            let states = states(&k, heron, k.reading(id).unwrap(), value).unwrap();
            assert_eq!(states[0].1, wanted, "{id} {value}");
        }
    }
}
