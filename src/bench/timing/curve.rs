//! A motor's own answer to its timing, from several positions of the end bell.

use nalgebra::{Matrix2, Vector2};

use super::{Estimate, SpeedRatio, TimingError};

/// Positions nearer to each other than this are one position, degrees.
const SAME: f64 = 0.5;

/// The straight line through the logarithms of the speed ratios: `ln(forward / reverse) = slope (a - zero)`.
///
/// Turning the end bell the other way exchanges the two directions, so that the curve is odd about the
/// true zero, and over the few degrees that are used a straight line describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Change of the logarithm with each degree of advance.
    pub slope: Estimate,
    /// Where the marks stand when both speeds are alike, degrees of advance by the marks. Its interval is
    /// without bounds when the slope can't be told from none.
    pub zero: Estimate,
    /// How many positions it is made from.
    pub positions: usize,
    /// The least and the greatest of them, degrees.
    pub span: (f64, f64),
    /// Root of the mean square distance of the points from the line, in the logarithm; 0 for two points.
    pub scatter: f64,
}

impl Curve {
    /// Fits the line by least squares: `points` are advances by the marks (degrees, for the direction
    /// called forward) with their speed ratios.
    ///
    /// With two points the uncertainty is that of the readings. With more it is what the points scatter,
    /// and never less than the readings' own. The interval of the zero is Fieller's (E. C. Fieller,
    /// J. R. Stat. Soc. B 16 (1954) 175; from memory), because a ratio of two uncertain numbers is not
    /// normal when the slope is weak.
    ///
    /// # Errors
    ///
    /// [`TimingError::Positions`] with fewer than two different positions, [`TimingError::Mark`] for one that
    /// is not finite.
    pub fn fit(points: &[(f64, SpeedRatio)]) -> Result<Curve, TimingError> {
        if let Some((bad, _)) = points.iter().find(|(a, _)| !a.is_finite()) {
            return Err(TimingError::Mark(*bad));
        }
        let lowest = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let highest = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
        if points.len() < 2 || highest - lowest < SAME {
            return Err(TimingError::Positions);
        }
        let n = points.len() as f64;
        // Counted from the middle of the positions, intercept and slope are independent of each other.
        let middle = points.iter().map(|p| p.0).sum::<f64>() / n;
        let mut normal = Matrix2::zeros();
        let mut right = Vector2::zeros();
        for (a, ratio) in points {
            let row = Vector2::new(1.0, a - middle);
            normal += row * row.transpose();
            right += row * ratio.log.value;
        }
        let inverse = normal.try_inverse().ok_or(TimingError::Positions)?;
        let line = inverse * right;
        let (height, slope) = (line[0], line[1]);
        let squares: f64 =
            points.iter().map(|(a, r)| (r.log.value - height - slope * (a - middle)).powi(2)).sum();
        let readings = (points.iter().map(|p| p.1.log.deviation.powi(2)).sum::<f64>() / n).sqrt();
        let freedom = points.len() - 2;
        let scatter = if freedom == 0 { 0.0 } else { (squares / freedom as f64).sqrt() };
        let scattered = scatter > readings;
        let deviation = if scattered { scatter } else { readings };
        let estimate = |value: f64, deviation: f64| {
            if scattered {
                Estimate::student(value, deviation, freedom)
            } else {
                Estimate::normal(value, deviation)
            }
        };
        let of_height = deviation * inverse[(0, 0)].sqrt();
        let of_slope = deviation * inverse[(1, 1)].sqrt();
        let slope = estimate(slope, of_slope);
        let times = estimate(0.0, 1.0).high;
        let zero = crossing(height, of_height, slope.value, of_slope, times, middle);
        Ok(Curve {
            slope,
            zero,
            positions: points.len(),
            span: (lowest, highest),
            scatter: if freedom == 0 { 0.0 } else { (squares / n).sqrt() },
        })
    }

    /// Whether the slope is surely there, with the sign that it has to have.
    pub fn sure(&self) -> bool {
        self.slope.low > 0.0
    }

    /// Whether the slope surely has the sign that it can't have: more advance, slower.
    pub fn impossible(&self) -> bool {
        self.slope.high < 0.0
    }

    /// Whether the zero lies between the positions, or not far beyond: further out the line is no longer
    /// straight (the speeds follow sines), and a zero found there would be a guess.
    pub fn near(&self) -> bool {
        let (low, high) = self.span;
        let beyond = (high - low) / 2.0;
        (low - beyond..=high + beyond).contains(&self.zero.value)
    }

    /// The logarithm of the speed ratio at this advance by the marks.
    pub fn at(&self, advance: f64) -> f64 {
        self.slope.value * (advance - self.zero.value)
    }
}

/// Where a line crosses zero: all x for which the line's interval at x holds 0.
fn crossing(height: f64, of_height: f64, slope: f64, of_slope: f64, times: f64, middle: f64) -> Estimate {
    let value = middle - height / slope;
    let unbounded = Estimate { value, deviation: f64::INFINITY, low: f64::NEG_INFINITY, high: f64::INFINITY };
    // (height + slope u)^2 <= times^2 (of_height^2 + of_slope^2 u^2), with u counted from the middle.
    let a = slope.powi(2) - (times * of_slope).powi(2);
    let b = height * slope;
    let c = height.powi(2) - (times * of_height).powi(2);
    let inside = b * b - a * c;
    if !(value.is_finite() && a > 0.0 && inside >= 0.0) {
        return unbounded;
    }
    let half = inside.sqrt() / a;
    let low = middle - b / a - half;
    let high = middle - b / a + half;
    let deviation = (of_height.powi(2) + (of_slope * height / slope).powi(2)).sqrt() / slope.abs();
    Estimate { value, deviation, low, high }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rand::{Rng, SeedableRng, rngs::StdRng};

    fn ratio(log: f64, deviation: f64) -> SpeedRatio {
        SpeedRatio { log: Estimate::normal(log, deviation) }
    }

    #[test]
    fn two_points_give_the_line_through_them() {
        let c = Curve::fit(&[(0.0, ratio(0.01, 0.002)), (12.0, ratio(0.07, 0.002))]).unwrap();
        assert!((c.slope.value - 0.005).abs() < 1e-12);
        assert!((c.zero.value + 2.0).abs() < 1e-9);
        assert!((c.at(6.0) - 0.04).abs() < 1e-12);
        // Deviation of a slope from two points: s sqrt(2) / distance.
        assert!((c.slope.deviation - 0.002 * 2f64.sqrt() / 12.0).abs() < 1e-12);
        assert!(c.sure() && !c.impossible());
        assert!(c.zero.low < -2.0 && -2.0 < c.zero.high);
    }

    #[test]
    fn least_squares_of_a_worked_example() {
        // x 1..5, y 2.2 2.8 3.6 4.5 5.1: slope 0.75, intercept 1.39 by the textbook sums
        // (Sxy 7.5 over Sxx 10; 3.64 - 0.75 x 3).
        let points: Vec<_> =
            [2.2, 2.8, 3.6, 4.5, 5.1].iter().zip(1..).map(|(y, x)| (f64::from(x), ratio(*y, 0.0))).collect();
        let c = Curve::fit(&points).unwrap();
        assert!((c.slope.value - 0.75).abs() < 1e-12);
        assert!((c.zero.value + 1.39 / 0.75).abs() < 1e-9);
        // Residuals 0.06, -0.09, -0.04, 0.11, -0.04: sum of squares 0.027, three degrees of freedom.
        let deviation = (0.027f64 / 3.0 / 10.0).sqrt();
        assert!((c.slope.deviation - deviation).abs() < 1e-9, "{c:?}");
        // t(0.975) for 3 degrees of freedom is 3.182: any table of Student's t.
        assert!(((c.slope.high - c.slope.value) / deviation - 3.182).abs() < 1e-3);
    }

    #[test]
    fn a_weak_slope_leaves_the_zero_open() {
        let c = Curve::fit(&[(0.0, ratio(0.0, 0.02)), (2.0, ratio(0.01, 0.02))]).unwrap();
        assert!(!c.sure() && !c.impossible());
        assert!(c.zero.low.is_infinite() && c.zero.high.is_infinite());
        let flat = Curve::fit(&[(0.0, ratio(0.01, 0.01)), (12.0, ratio(0.01, 0.01))]).unwrap();
        assert!(flat.zero.high.is_infinite() && !flat.sure());
        assert!(Curve::fit(&[(0.0, ratio(0.07, 0.002)), (12.0, ratio(0.0, 0.002))]).unwrap().impossible());
    }

    #[test]
    fn a_zero_far_beyond_the_positions_is_a_guess() {
        let c = |zero: f64| Curve::fit(&[12.0, 24.0].map(|a| (a, ratio(0.005 * (a - zero), 0.001)))).unwrap();
        assert!(c(18.0).near() && c(7.0).near() && c(29.0).near());
        assert!(!c(5.0).near() && !c(-10.0).near() && !c(31.0).near());
    }

    #[test]
    fn one_position_is_no_curve() {
        assert_eq!(Curve::fit(&[]), Err(TimingError::Positions));
        assert_eq!(Curve::fit(&[(3.0, ratio(0.0, 0.01))]), Err(TimingError::Positions));
        assert_eq!(
            Curve::fit(&[(3.0, ratio(0.0, 0.01)), (3.2, ratio(0.1, 0.01))]),
            Err(TimingError::Positions)
        );
        assert!(matches!(Curve::fit(&[(f64::NAN, ratio(0.0, 0.01)); 2]), Err(TimingError::Mark(_))));
    }

    #[test]
    fn intervals_hold_the_truth_nineteen_times_in_twenty() {
        let mut random = StdRng::seed_from_u64(7);
        let noise = |r: &mut StdRng| {
            let (u, v): (f64, f64) = (r.random_range(1e-12..1.0), r.random());
            (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
        };
        const RUNS: usize = 4000;
        for positions in [&[0.0, 12.0][..], &[-12.0, 0.0, 12.0], &[0.0, 6.0, 12.0, 18.0, 24.0]] {
            let (mut slopes, mut zeros) = (0, 0);
            for _ in 0..RUNS {
                let (slope, zero) = (random.random_range(0.004..0.01), random.random_range(-5.0..5.0));
                let points: Vec<_> = positions
                    .iter()
                    .map(|a| (*a, ratio(slope * (a - zero) + 0.004 * noise(&mut random), 0.004)))
                    .collect();
                let c = Curve::fit(&points).unwrap();
                slopes += usize::from(c.slope.low <= slope && slope <= c.slope.high);
                zeros += usize::from(c.zero.low <= zero && zero <= c.zero.high);
            }
            for held in [slopes, zeros] {
                assert!(held as f64 / RUNS as f64 > 0.94, "{held} of {RUNS} at {positions:?}");
            }
        }
    }

    proptest! {
        #[test]
        fn an_exact_line_comes_back(slope in 0.002..0.012f64, zero in -10.0..10.0f64, n in 2usize..7) {
            let points: Vec<_> = (0..n).map(|i| {
                let a = i as f64 * 6.0 - 6.0;
                (a, ratio(slope * (a - zero), 0.001))
            }).collect();
            let c = Curve::fit(&points).unwrap();
            prop_assert!((c.slope.value - slope).abs() < 1e-9);
            prop_assert!((c.zero.value - zero).abs() < 1e-6);
        }
    }
}
