//! What the speeds of the two directions say about where the brushes stand.
//!
//! On the neutral both directions are alike at the same volts; that is how neutral is set (NAVEDTRA
//! 14344, "Setting on neutral"). Off it the direction against which the brushes are moved is the faster
//! one. How much faster a degree makes it differs from motor to motor, so that a ratio alone gives the
//! side and a range, and never an angle.

use super::{Estimate, Limits, TimingError};

/// The ratio of the two no-load speeds, as its natural logarithm: above 0 forward is faster.
///
/// *Forward* is the way the shaft turns now, as it is connected; the logarithm makes the two directions
/// mirror images of each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedRatio {
    /// Natural logarithm of forward over reverse, without unit.
    pub log: Estimate,
}

impl SpeedRatio {
    /// From two speeds in the same unit, each with `deviation` (one standard deviation over the value).
    ///
    /// # Errors
    ///
    /// [`TimingError`] when a speed is not a positive number, the two differ more than `absurd` times, or
    /// the deviation is not between 0 and 0.2.
    pub fn of_speeds(forward: f64, reverse: f64, deviation: f64, absurd: f64) -> Result<Self, TimingError> {
        for speed in [forward, reverse] {
            if !(speed.is_finite() && speed > 0.0) {
                return Err(TimingError::Speed(speed));
            }
        }
        // Two readings, each uncertain by itself.
        Self::of_ratio(forward / reverse, deviation * std::f64::consts::SQRT_2, absurd)
    }

    /// From the ratio itself, with its own relative deviation.
    ///
    /// # Errors
    ///
    /// As [`SpeedRatio::of_speeds`].
    pub fn of_ratio(ratio: f64, deviation: f64, absurd: f64) -> Result<Self, TimingError> {
        if !(deviation.is_finite() && (0.0..0.3).contains(&deviation)) {
            return Err(TimingError::Deviation(deviation));
        }
        if !(ratio.is_finite() && ratio > 0.0) {
            return Err(TimingError::Ratio(ratio));
        }
        if ratio.ln().abs() > absurd.ln() {
            return Err(TimingError::Absurd(ratio));
        }
        Ok(SpeedRatio { log: Estimate::normal(ratio.ln(), deviation) })
    }

    /// The ratio itself with its interval.
    pub fn ratio(&self) -> Estimate {
        let value = self.log.value.exp();
        Estimate {
            value,
            deviation: self.log.deviation * value,
            low: self.log.low.exp(),
            high: self.log.high.exp(),
        }
    }

    /// Which direction is surely the faster one: 1 forward, -1 reverse, None when the readings can't tell.
    pub fn faster(&self) -> Option<f64> {
        if self.log.low > 0.0 {
            Some(1.0)
        } else if self.log.high < 0.0 {
            Some(-1.0)
        } else {
            None
        }
    }

    /// Whether the two count as alike: the ratio within `alike` of 1, and neither surely the faster.
    pub fn alike(&self, alike: f64) -> bool {
        self.faster().is_none() && self.log.value.abs() <= (1.0 + alike).ln()
    }

    /// The advance, for the direction `forward`, that may lie behind the ratio, in degrees: a range, not a
    /// value. A range with 0 inside means that the side is not known.
    pub fn advance_range(&self, limits: &Limits) -> (f64, f64) {
        let [least, _, most] = limits.per_degree;
        // The bound nearer to zero belongs to the motor that answers most, the far one to the least.
        let near = |log: f64| log / most;
        let far = |log: f64| log / least;
        let low = if self.log.low > 0.0 { near(self.log.low) } else { far(self.log.low) };
        let high = if self.log.high < 0.0 { near(self.log.high) } else { far(self.log.high) };
        (low.clamp(-limits.lift, limits.lift), high.clamp(-limits.lift, limits.lift))
    }
}

/// The logarithm of the speed ratio that an advance (degrees, for the direction called forward) can
/// bring about, when the mark may be misread by `reading` and a degree is worth `least` to `most`.
pub fn foretold(advance: f64, reading: f64, least: f64, most: f64) -> (f64, f64) {
    let (from, to) = (advance - reading, advance + reading);
    let low = from * if from >= 0.0 { least } else { most };
    let high = to * if to >= 0.0 { most } else { least };
    (low, high)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
pub(super) mod tests {
    use super::*;
    use proptest::prelude::*;

    pub const LIMITS: Limits = Limits {
        least: 6.0,
        most: 12.0,
        too_far: 15.0,
        reading: 2.0,
        step: 12.0,
        lift: 45.0,
        per_degree: [0.002, 0.005, 0.012],
        alike: 0.02,
        much_faster: 1.12,
        absurd: 3.0,
        currents_alike: 0.15,
    };

    #[test]
    fn equal_speeds_are_neutral_and_a_difference_gives_the_side() {
        // NAVEDTRA 14344, "Setting on neutral": the brushes are shifted until both speeds are the same.
        let same = SpeedRatio::of_speeds(20000.0, 20000.0, 0.005, 3.0).unwrap();
        assert_eq!(same.faster(), None);
        assert!(same.alike(0.02));
        let (low, high) = same.advance_range(&LIMITS);
        assert!((low + high).abs() < 1e-9 && high > 0.0);

        let forward = SpeedRatio::of_speeds(20100.0, 19200.0, 0.005, 3.0).unwrap();
        assert_eq!(forward.faster(), Some(1.0));
        assert!((forward.ratio().value - 1.046_875).abs() < 1e-9);
        let (low, high) = forward.advance_range(&LIMITS);
        assert!(low > 0.0 && low < 6.0 && high > 12.0 && high <= 45.0, "{low} to {high}");
    }

    #[test]
    fn impossible_speeds_are_refused() {
        for (f, r) in [(0.0, 1.0), (1.0, 0.0), (-1.0, 1.0), (f64::NAN, 1.0), (1.0, f64::INFINITY)] {
            assert!(matches!(SpeedRatio::of_speeds(f, r, 0.01, 3.0), Err(TimingError::Speed(_))), "{f} {r}");
        }
        assert!(matches!(SpeedRatio::of_speeds(4.0, 1.0, 0.01, 3.0), Err(TimingError::Absurd(_))));
        assert!(matches!(SpeedRatio::of_ratio(0.2, 0.01, 3.0), Err(TimingError::Absurd(_))));
        assert!(matches!(SpeedRatio::of_ratio(-1.0, 0.01, 3.0), Err(TimingError::Ratio(_))));
        for bad in [-0.1, 0.5, f64::NAN] {
            assert!(matches!(SpeedRatio::of_ratio(1.0, bad, 3.0), Err(TimingError::Deviation(_))), "{bad}");
        }
    }

    proptest! {
        #[test]
        fn the_two_directions_are_mirror_images(f in 1e3..9e4f64, times in 0.4..2.5f64, dev in 0.0..0.05f64) {
            let one = SpeedRatio::of_speeds(f, f * times, dev, 3.0).unwrap();
            let other = SpeedRatio::of_speeds(f * times, f, dev, 3.0).unwrap();
            let (a, b) = (one.advance_range(&LIMITS), other.advance_range(&LIMITS));
            prop_assert!((a.0 + b.1).abs() < 1e-6 && (a.1 + b.0).abs() < 1e-6);
            prop_assert!(a.0 <= a.1);
        }

        #[test]
        fn the_range_holds_every_motor_it_speaks_of(
            advance in -24.0..24.0f64, per in 0.002..0.012f64, error in -1.9..1.9f64,
        ) {
            // A motor that answers with `per` a degree, read with an error inside the interval.
            let read = (advance * per + error * 0.01).exp();
            let (low, high) = SpeedRatio::of_ratio(read, 0.01, 3.0).unwrap().advance_range(&LIMITS);
            prop_assert!(low <= advance + 1e-9 && advance <= high + 1e-9, "{} not in {}..{}", advance, low, high);
        }

        #[test]
        fn what_is_foretold_holds_what_comes(advance in -24.0..24.0f64, off in -2.0..2.0f64, per in 0.002..0.012f64) {
            let (low, high) = foretold(advance, 2.0, 0.002, 0.012);
            let comes = (advance + off) * per;
            prop_assert!(low - 1e-12 <= comes && comes <= high + 1e-12);
        }
    }
}
