//! Copper's resistance and its temperature.
//!
//! Copper's resistance rises in a straight line that would reach zero at -235 degC:
//!
//! ```text
//! R2 / R1 = (k + t2) / (k + t1),   k = 235
//! ```
//!
//! k = 235 is the value of the resistance method of IEC 60034-1, "Determination of temperature rise by
//! resistance" (from memory); US practice has 234.5, which differs by 0.12 K at 80 degC. Cable tables use
//! another rule (230 + t) and schoolbooks quote 0.0043 per kelvin, which belongs to 0 degC; neither is
//! used here.

use super::{Meter, WindingError};
use crate::bench::Estimate;
use nalgebra::DVector;

/// The constant k of copper, in kelvin: resistance would be zero at -k degC.
pub const COPPER_K: f64 = 235.0;

/// The temperature to which resistances are referred, in degC.
pub const REFERENCE: f64 = 20.0;

/// Temperatures between which the straight line is trusted, in degC. Above, the enamel is long gone.
const RANGE: std::ops::RangeInclusive<f64> = -60.0..=400.0;

/// What a resistance measured at `temperature` (degC) has to be multiplied with to refer it to 20 degC.
///
/// # Errors
///
/// [`WindingError::NoSuchTemperature`] outside -60 to 400 degC.
pub fn to_reference(temperature: f64) -> Result<f64, WindingError> {
    check(temperature)?;
    Ok((COPPER_K + REFERENCE) / (COPPER_K + temperature))
}

/// A winding's temperature found from its resistance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heating {
    /// The winding's average temperature at the hot reading, in degC.
    pub winding: Estimate,
    /// Its rise over the coolant at the end of the run, in kelvin.
    pub rise: Estimate,
}

/// Temperature rise by resistance.
///
/// `cold` and `hot` are readings in ohm with the leads, `lead` the resistance of the leads alone, in ohm.
/// `cold_at` is the winding's temperature at the cold reading and `coolant` that of the air around at the
/// END of the run, both in degC. The rise is counted from the coolant at the end, not from the start: air
/// that warms up during the run heats the winding, but not by the motor's own losses.
///
/// # Formula
///
/// t2 = (R2 / R1) (t1 + k) - k; rise = t2 - coolant (IEC 60034-1, resistance method; from memory). The
/// meter's deviations on both readings and on the leads are carried through to first order; the two
/// thermometer readings count as exact.
///
/// # Errors
///
/// [`WindingError`] for a number that is no resistance or temperature, leads greater than a reading, or
/// a hot resistance below the cold one by more than the meter explains.
pub fn heating(
    meter: &Meter,
    lead: f64,
    (cold, cold_at): (f64, f64),
    hot: f64,
    coolant: f64,
) -> Result<Heating, WindingError> {
    check(cold_at)?;
    check(coolant)?;
    for (what, value) in [("the cold resistance", cold), ("the hot resistance", hot)] {
        if !(value.is_finite() && value > 0.0) {
            return Err(WindingError::NotPossible { what, value, must: "above 0" });
        }
    }
    let net = super::Pairs::of(meter, lead, &[cold, hot])?;
    let (r1, r2) = (net.values()[0], net.values()[1]);
    if r1 == 0.0 {
        return Err(WindingError::LeadTooLarge { pair: 1, reading: cold, lead });
    }
    let span = cold_at + COPPER_K;
    let winding = r2 / r1 * span - COPPER_K;
    let slope = DVector::from_row_slice(&[-r2 / r1 / r1 * span, span / r1]);
    let deviation = (slope.transpose() * net.covariance() * &slope)[(0, 0)].max(0.0).sqrt();
    if winding + 3.0 * deviation < cold_at {
        return Err(WindingError::HotBelowCold { cold: r1, hot: r2 });
    }
    check(winding)?;
    Ok(Heating {
        winding: Estimate::normal(winding, deviation),
        rise: Estimate::normal(winding - coolant, deviation),
    })
}

fn check(temperature: f64) -> Result<(), WindingError> {
    if RANGE.contains(&temperature) { Ok(()) } else { Err(WindingError::NoSuchTemperature(temperature)) }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    const EXACT: Meter = Meter { fraction: 0.0, step: 0.0 };

    #[test]
    fn resistance_follows_the_annealed_copper_standard() {
        // 0.00393 per kelvin at 20 degC: IEC 60028 (1925), standard annealed copper (from memory).
        // R20 = 0.1000 ohm gives 0.12358 ohm at 80 degC; k = 235 gives 0.12353, 0.12 K away.
        let at_80 = 0.1 / to_reference(80.0).unwrap();
        assert!((at_80 - 0.12358).abs() < 6e-5, "{at_80}");
        // 0.0850 ohm at 31 degC: 0.081485 ohm at 20 degC with k = 235, 0.081478 with 234.5 or the coefficient.
        let at_20 = 0.0850 * to_reference(31.0).unwrap();
        assert!((at_20 - 0.081_485).abs() < 1e-6);
        assert!((at_20 / 0.081_478 - 1.0).abs() < 1e-4);
    }

    #[test]
    fn rise_by_resistance() {
        // R1 = 0.1000 ohm at 20 degC, R2 = 0.1236 ohm: 80.18 degC; coolant 25 degC: rise 55.18 K
        // (formula IEC 60034-1, from memory; figures follow by algebra).
        let h = heating(&EXACT, 0.0, (0.1, 20.0), 0.1236, 25.0).unwrap();
        assert!((h.winding.value - 80.18).abs() < 0.01);
        assert!((h.rise.value - 55.18).abs() < 0.01);
        // With 234.5 instead of 235 it would be 0.12 K lower.
        let us: f64 = 1.236 * (20.0 + 234.5) - 234.5;
        assert!((h.winding.value - us - 0.12).abs() < 0.005);
        // 24.8 K below the 105 degC of class A (IEC 60085:2007).
        assert!((105.0 - h.winding.value - 24.8).abs() < 0.05);
    }

    #[test]
    fn the_usual_wrong_constants_are_not_used() {
        // A school problem with 0.0043 per kelvin from 20 degC: 50 to 58 ohm would be 57.2 degC; it is 60.8.
        let h = heating(&EXACT, 0.0, (50.0, 20.0), 58.0, 20.0).unwrap();
        assert!((h.winding.value - 60.8).abs() < 0.05);
        // The cable rule 250 / (230 + t) gives 0.893 at 50 degC; copper with k = 235 gives 0.8947.
        assert!((to_reference(50.0).unwrap() - 0.8947).abs() < 1e-4);
    }

    #[test]
    fn an_ordinary_meter_leaves_a_wide_interval() {
        // 2 % on each of two readings is 2.8 % of (t2 + k), about 9 K: half of the interval is 17 K.
        let h = heating(&Meter { fraction: 0.02, step: 0.0 }, 0.0, (0.1, 20.0), 0.1236, 25.0).unwrap();
        assert!((h.winding.deviation - 0.02 * 2f64.sqrt() * (80.18 + 235.0)).abs() < 0.01);
    }

    #[test]
    fn leads_are_taken_off_both_readings() {
        let h = heating(&EXACT, 0.02, (0.12, 20.0), 0.1436, 25.0).unwrap();
        assert!((h.winding.value - 80.18).abs() < 0.01);
    }

    #[test]
    fn crossed_and_impossible_readings_are_refused() {
        for (cold, at, hot, air, want) in [
            (0.1236, 20.0, 0.1, 25.0, "crossed"),
            (0.1, 20.0, 0.5, 25.0, "no temperature of a copper winding"),
            (0.1, -300.0, 0.12, 25.0, "no temperature of a copper winding"),
            (0.1, 20.0, 0.12, f64::NAN, "no temperature of a copper winding"),
            (0.0, 20.0, 0.12, 25.0, "can't be 0"),
            (-0.1, 20.0, 0.12, 25.0, "can't be -0.1"),
            (0.1, 20.0, f64::INFINITY, 25.0, "can't be inf"),
        ] {
            let got = heating(&EXACT, 0.0, (cold, at), hot, air).unwrap_err().to_string();
            assert!(got.contains(want), "{got}");
        }
    }
}
