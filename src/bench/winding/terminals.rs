//! Resistance between the terminals at several positions of the rotor.

use super::{Meter, Pairs, WindingError};
use crate::bench::Estimate;

/// What the positions say together.
#[derive(Debug, Clone, PartialEq)]
pub struct Terminals {
    /// The lowest position in ohm; None when no position conducts.
    pub lowest: Option<Estimate>,
    /// The highest position that conducts, in ohm.
    pub highest: Option<Estimate>,
    /// The mean of the positions that conduct, in ohm.
    pub mean: Option<Estimate>,
    /// The highest over the lowest, dead positions left out.
    pub swing: Option<Estimate>,
    /// Positions, from 0, that are dead: no reading, or far above the lowest.
    pub dead: Vec<usize>,
}

/// Compares the positions. `readings` are in ohm, infinite where the meter shows nothing, `lead` in ohm. A
/// position above `dead_above` times the lowest is dead.
///
/// The lowest of several positions is what comes nearest to the winding alone: brush contact adds to it.
///
/// # Errors
///
/// [`WindingError`] for no reading at all, negative numbers, NaN, or leads greater than a reading.
pub fn terminals(
    meter: &Meter,
    lead: f64,
    readings: &[f64],
    dead_above: f64,
) -> Result<Terminals, WindingError> {
    if readings.is_empty() {
        return Err(WindingError::NoReading);
    }
    let net = Pairs::of(meter, lead, readings)?;
    let values = net.values();
    let floor = values.iter().copied().fold(f64::INFINITY, f64::min);
    let dead: Vec<usize> = (0..values.len())
        .filter(|i| values[*i].is_infinite() || values[*i] > dead_above * floor && floor > 0.0)
        .collect();
    let alive: Vec<usize> = (0..values.len()).filter(|i| !dead.contains(i)).collect();
    let pick = |better: fn(f64, f64) -> bool| {
        alive.iter().copied().reduce(|a, b| if better(values[b], values[a]) { b } else { a })
    };
    let (Some(low), Some(high)) = (pick(|b, a| b < a), pick(|b, a| b > a)) else {
        return Ok(Terminals { lowest: None, highest: None, mean: None, swing: None, dead });
    };
    let covariance = net.covariance();
    let n = alive.len() as f64;
    let of_mean =
        alive.iter().flat_map(|i| alive.iter().map(|j| covariance[(*i, *j)])).sum::<f64>() / (n * n);
    let mean = alive.iter().map(|i| values[*i]).sum::<f64>() / n;
    // Of a quotient: relative deviations add as squares, less twice what the leads have in common.
    let swing = (values[low] > 0.0).then(|| {
        let ratio = values[high] / values[low];
        let a = 1.0 / values[low];
        let variance = a * a * covariance[(high, high)] + (ratio * a).powi(2) * covariance[(low, low)]
            - 2.0 * ratio * a * a * covariance[(high, low)];
        Estimate::normal(ratio, if high == low { 0.0 } else { variance.max(0.0).sqrt() })
    });
    Ok(Terminals {
        lowest: Some(net.estimate(low)),
        highest: Some(net.estimate(high)),
        mean: Some(Estimate::normal(mean, of_mean.max(0.0).sqrt())),
        swing,
        dead,
    })
}

/// Between the brushes of a sound ring of `count` coils of `coil` ohm: with no coil bridged by a brush, and
/// with as many bridged as can be at once (one when the number is odd, one by each brush when it is even).
///
/// Two paths in parallel: r (k^2 - 1) / (4k) and r (k - 1) / 4 for an odd number, r k / 4 and r (k - 2) / 4
/// for an even one. So a sound winding reads up to (k + 1) / k times its lowest value at other positions.
pub fn between_brushes(coil: f64, count: usize) -> (f64, f64) {
    let k = count as f64;
    match count % 2 {
        1 => (coil * (k * k - 1.0) / (4.0 * k), coil * (k - 1.0) / 4.0),
        _ => (coil * k / 4.0, coil * (k - 2.0) / 4.0),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    const METER: Meter = Meter { fraction: 0.02, step: 0.001 };

    #[test]
    fn brushes_bridge_coils() {
        // The algebra of a closed ring between two brushes, for 3, 5 and 7 bars.
        for (k, open, bridged) in [(3, 0.666_667, 0.5), (5, 1.2, 1.0), (7, 1.714_286, 1.5)] {
            let (a, b) = between_brushes(1.0, k);
            assert!((a - open).abs() < 1e-6 && (b - bridged).abs() < 1e-6);
            assert!((a / b - (k as f64 + 1.0) / k as f64).abs() < 1e-9);
        }
        assert_eq!(between_brushes(1.0, 4), (1.0, 0.5));
    }

    #[test]
    fn lowest_mean_and_swing() {
        let t = terminals(&METER, 0.01, &[0.112, 0.114, 0.12, 0.113], 20.0).unwrap();
        assert!((t.lowest.unwrap().value - 0.102).abs() < 1e-12);
        assert!((t.mean.unwrap().value - 0.104_75).abs() < 1e-12);
        assert!((t.swing.unwrap().value - 0.11 / 0.102).abs() < 1e-12);
        assert!(t.dead.is_empty());
        // 2 % of 112 mohm, its digit, and the same of the leads.
        let want = (METER.deviation(0.112).powi(2) + METER.deviation(0.01).powi(2)).sqrt();
        assert!((t.lowest.unwrap().deviation - want).abs() < 1e-12);
    }

    #[test]
    fn dead_spots_are_left_out() {
        let t = terminals(&METER, 0.0, &[0.1, f64::INFINITY, 0.11, 5.0], 20.0).unwrap();
        assert_eq!(t.dead, [1, 3]);
        assert!((t.swing.unwrap().value - 1.1).abs() < 1e-9);
        let all = terminals(&METER, 0.0, &[f64::INFINITY; 2], 20.0).unwrap();
        assert_eq!((all.lowest, all.dead.len()), (None, 2));
        let zero = terminals(&METER, 0.0, &[0.0, 0.0], 20.0).unwrap();
        assert_eq!((zero.swing, zero.lowest.unwrap().value), (None, 0.0));
        assert_eq!(terminals(&METER, 0.0, &[], 20.0), Err(WindingError::NoReading));
        assert!(terminals(&METER, 0.0, &[f64::NAN], 20.0).is_err());
    }

    #[test]
    fn one_position_has_no_swing() {
        let t = terminals(&METER, 0.0, &[0.1], 20.0).unwrap();
        assert_eq!(t.swing, Some(Estimate::exact(1.0)));
    }
}
