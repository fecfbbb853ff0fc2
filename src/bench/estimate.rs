//! A quantity that is known only so far: a value with its spread and its interval.

use statrs::distribution::{ContinuousCDF, StudentsT};

/// How many standard deviations enclose 95 % of a normal distribution on both sides together: the 0.975
/// quantile, 1.959964 (any table of the normal distribution).
pub const SIGMAS_95: f64 = 1.959_963_984_540_054;

/// An estimated quantity. The unit is that of its place; `low` and `high` bound the 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The best single value.
    pub value: f64,
    /// One standard deviation of it; 0 when it is exact.
    pub deviation: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
}

impl Estimate {
    /// A quantity without uncertainty.
    pub fn exact(value: f64) -> Self {
        Estimate { value, deviation: 0.0, low: value, high: value }
    }

    /// A quantity whose standard deviation is known beforehand, from an instrument for example.
    pub fn normal(value: f64, deviation: f64) -> Self {
        let half = SIGMAS_95 * deviation.abs();
        Estimate { value, deviation: deviation.abs(), low: value - half, high: value + half }
    }

    /// A quantity whose standard deviation was itself estimated from scatter with `freedom` degrees of
    /// freedom: its interval is that of Student's t distribution. No freedom leaves it without bounds.
    pub fn student(value: f64, deviation: f64, freedom: usize) -> Self {
        let deviation = deviation.abs();
        let times = StudentsT::new(0.0, 1.0, freedom as f64).map_or(f64::INFINITY, |t| t.inverse_cdf(0.975));
        let half = if deviation == 0.0 { 0.0 } else { times * deviation };
        Estimate { value, deviation, low: value - half, high: value + half }
    }

    /// The same quantity in another unit; `factor` may be negative.
    pub fn times(self, factor: f64) -> Self {
        let (a, b) = (self.low * factor, self.high * factor);
        let deviation = self.deviation * factor.abs();
        Estimate { value: self.value * factor, deviation, low: a.min(b), high: a.max(b) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_follow_the_tables() {
        // t(0.975): 12.706 for 1, 2.571 for 5, 2.042 for 30 degrees of freedom: any table of Student's t.
        for (freedom, t) in [(1, 12.706), (5, 2.571), (30, 2.042)] {
            let e = Estimate::student(10.0, 2.0, freedom);
            assert!(((e.high - 10.0) / 2.0 - t).abs() < 6e-4, "{e:?}");
            assert!((e.high + e.low - 20.0).abs() < 1e-9);
        }
        assert!((Estimate::normal(0.0, 1.0).high - 1.96).abs() < 1e-4);
        assert_eq!(Estimate::student(1.0, 0.5, 0).high, f64::INFINITY);
        assert_eq!(Estimate::student(1.0, 0.0, 0), Estimate::exact(1.0));
    }

    #[test]
    fn another_unit_keeps_low_below_high() {
        let e = Estimate::normal(3.0, 0.5).times(-2.0);
        assert_eq!((e.value, e.deviation), (-6.0, 1.0));
        assert!(e.low < e.value && e.value < e.high);
    }
}
