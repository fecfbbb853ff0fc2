//! What the face of a brush carries: the push of its spring and the current.

use super::{BrushError, deviation, positive};
use crate::bench::Estimate;

/// The face of a brush as it bears on the commutator, seen along the brush.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    /// One side, in m.
    pub width: f64,
    /// The other side, in m.
    pub height: f64,
    /// Standard deviation of either side, in m.
    pub deviation: f64,
}

impl Face {
    /// Its area in m2.
    fn area(&self) -> Result<f64, BrushError> {
        let sides = positive("a side of the brush face", self.width)?
            * positive("a side of the brush face", self.height)?;
        deviation("the brush face", self.deviation)?;
        // Two sides that are each possible may still have an area too small or too great to be held.
        positive("the area of the brush face", sides)
    }

    /// Variance of the area over the area squared: the sides' relative variances add up.
    fn relative_variance(&self) -> f64 {
        (self.deviation / self.width).powi(2) + (self.deviation / self.height).powi(2)
    }
}

/// Contact pressure p = F / A in Pa, from a spring force in N and its standard deviation.
///
/// The area is that of the face seen along the brush, whether or not all of it is seated: that is how
/// published pressures are reckoned ("Measuring brush tension", NAVEDTRA 14120).
///
/// # Errors
///
/// [`BrushError`] when a size is not above zero or not finite.
pub fn pressure(force: f64, force_deviation: f64, face: Face) -> Result<Estimate, BrushError> {
    let force = positive("the spring force", force)?;
    let spread = deviation("the spring force", force_deviation)?;
    over_area(force, (spread / force).powi(2), face, "the pressure")
}

/// Current density J = I / A in A/m2. In a two-pole motor each brush carries the whole current.
///
/// # Errors
///
/// As [`pressure`].
pub fn density(current: f64, current_deviation: f64, face: Face) -> Result<Estimate, BrushError> {
    let current = positive("the current", current)?;
    let spread = deviation("the current", current_deviation)?;
    over_area(current, (spread / current).powi(2), face, "the current density")
}

fn over_area(
    amount: f64,
    relative_variance: f64,
    face: Face,
    what: &'static str,
) -> Result<Estimate, BrushError> {
    let value = positive(what, amount / face.area()?)?;
    let spread = value * (relative_variance + face.relative_variance()).sqrt();
    Ok(Estimate::normal(value, deviation(what, spread)?))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const PSI: f64 = 6894.757;

    fn face(width: f64, height: f64) -> Face {
        Face { width: width * 1e-3, height: height * 1e-3, deviation: 0.0 }
    }

    #[test]
    fn pressures_follow_the_published_conversions() {
        // NAVEDTRA 14120 (page with fig. 3-10) prints 1.5 to 8 psi; 10.34 and 55.2 kPa. A face of one
        // square inch under 1.5 pound-force is the first, under 8 pound-force the second.
        let inch = Face { width: 0.0254, height: 0.0254, deviation: 0.0 };
        for (pounds, kilopascals) in [(1.5, 10.34), (8.0, 55.2)] {
            let p = pressure(pounds * 4.448_222, 0.0, inch).unwrap();
            assert!((p.value / 1e3 - kilopascals).abs() < 0.05, "{p:?}");
            assert!((p.value / PSI - pounds).abs() < 1e-4);
        }
        // 180 g/cm2 is 17.7 kPa (published as the usual pressure of industrial brushes; the conversion is
        // the check).
        let p = pressure(0.180 * 9.806_65, 0.0, face(10.0, 10.0)).unwrap();
        assert!((p.value / 1e3 - 17.7).abs() < 0.06, "{p:?}");
    }

    #[test]
    fn a_small_motor_stands_above_the_published_band() {
        // 0.7 N on 4 x 5 mm: 35 kPa; 10 A through it: 50 A/cm2 = 322.6 A/in2 (arithmetic).
        let p = pressure(0.7, 0.0, face(4.0, 5.0)).unwrap();
        assert!((p.value - 35e3).abs() < 1e-6);
        let j = density(10.0, 0.0, face(4.0, 5.0)).unwrap();
        assert!((j.value - 50e4).abs() < 1e-6 && (j.value * 0.0254 * 0.0254 - 322.6).abs() < 0.05);
    }

    #[test]
    fn uncertainties_of_force_and_sides_add_as_squares() {
        // 7 % of force, 0.05 mm of 4 mm (1.25 %) and of 5 mm (1 %): 7.18 % together.
        let p = pressure(0.7, 0.049, Face { deviation: 5e-5, ..face(4.0, 5.0) }).unwrap();
        assert!((p.deviation / p.value - 0.071_807).abs() < 1e-5, "{p:?}");
    }

    #[test]
    fn impossible_sizes_are_refused() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(pressure(bad, 0.0, face(4.0, 5.0)).is_err());
            assert!(pressure(0.7, 0.0, face(bad, 5.0)).is_err());
            assert!(pressure(0.7, 0.0, face(4.0, bad)).is_err());
            assert!(density(bad, 0.0, face(4.0, 5.0)).is_err());
        }
        assert!(pressure(0.7, f64::NAN, face(4.0, 5.0)).is_err());
        assert!(pressure(0.7, 0.0, Face { deviation: -1.0, ..face(4.0, 5.0) }).is_err());
        assert!(pressure(1e300, 0.0, face(1e-150, 1e-150)).is_err());
    }

    proptest! {
        #[test]
        fn no_sizes_panic(f in any::<f64>(), s in any::<f64>(), w in any::<f64>(), h in any::<f64>(), d in any::<f64>()) {
            if let Ok(p) = pressure(f, s, Face { width: w, height: h, deviation: d }) {
                prop_assert!(p.value > 0.0 && p.value.is_finite() && p.deviation.is_finite());
            }
        }
    }
}
