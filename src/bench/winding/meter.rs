//! The instrument.

use super::WindingError;

/// How well an instrument repeats a reading, from one touch of the probes to the next.
///
/// What is wrong by the same factor in every reading does not matter to which coil differs from the others,
/// so it is not part of this.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meter {
    /// One standard deviation as a fraction of the reading; 0.02 is 2 %.
    pub fraction: f64,
    /// The step of the last digit, in the unit of the reading.
    pub step: f64,
}

impl Meter {
    /// Checks what a meter is said to do.
    ///
    /// # Errors
    ///
    /// [`WindingError::NotPossible`] when the fraction is not from 0 to below 0.5, or the step is negative
    /// or not finite.
    pub fn new(fraction: f64, step: f64) -> Result<Self, WindingError> {
        if !(0.0..0.5).contains(&fraction) {
            return Err(WindingError::NotPossible {
                what: "the meter's uncertainty",
                value: fraction,
                must: "from 0 to below 0.5 (50 %)",
            });
        }
        if !(step.is_finite() && step >= 0.0) {
            return Err(WindingError::NotPossible {
                what: "the meter's last digit",
                value: step,
                must: "0 or more",
            });
        }
        Ok(Meter { fraction, step })
    }

    /// One standard deviation at `reading`: the fraction, and the last digit's step as a uniform
    /// distribution over its width, step / sqrt(12) (JCGM 100:2008, 4.3.7; from memory).
    pub fn deviation(&self, reading: f64) -> f64 {
        (self.fraction * reading).hypot(self.step / 12f64.sqrt())
    }

    /// The same meter for what it reads divided by `by`: millivolts at a known current become ohms.
    pub fn over(&self, by: f64) -> Self {
        Meter { fraction: self.fraction, step: self.step / by }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn both_parts_add_as_squares() {
        let meter = Meter::new(0.02, 0.01).unwrap();
        assert!((meter.deviation(0.0) - 0.002_886_75).abs() < 1e-8);
        assert!((meter.deviation(0.1) - (0.002f64.powi(2) + 0.01f64.powi(2) / 12.0).sqrt()).abs() < 1e-12);
        assert_eq!(meter.over(2.0).step, 0.005);
    }

    #[test]
    fn impossible_meters_are_refused() {
        for (fraction, step) in [(-0.1, 0.0), (0.5, 0.0), (f64::NAN, 0.0), (0.0, -1.0), (0.0, f64::NAN)] {
            assert!(Meter::new(fraction, step).is_err());
        }
    }
}
