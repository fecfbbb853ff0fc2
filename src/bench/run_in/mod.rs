//! Running in: how far the brushes slide for a voltage and a time, what that grinds off, what it heats.
//!
//! Volts, seconds, metres, newtons, joules, amperes, ohms, rpm.

mod watch;

pub use watch::{Rule, Seen, Stop, Watch, rounds};

use crate::bench::Estimate;

/// Why nothing can be said about a run-in.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RunInError {
    /// A quantity that must be above zero.
    #[error("{what} must be above zero")]
    NotPositive {
        /// What it is, with the article.
        what: &'static str,
    },
    /// A quantity that is none.
    #[error("{what} is no possible number")]
    NotFinite {
        /// What it is, with the article.
        what: &'static str,
    },
    /// Too little for the motor to turn.
    #[error("at {volts} V this motor does not turn: it needs {starting} V to start")]
    DoesNotTurn {
        /// The voltage.
        volts: f64,
        /// What it needs.
        starting: f64,
    },
    /// A motor that would not turn at its own voltage.
    #[error("the motor's data contradict each other: it starts at {starting} V and is made for {rated} V")]
    StartsAboveRated {
        /// Where it starts.
        starting: f64,
        /// What it is made for.
        rated: f64,
    },
}

/// What must be known of a motor to tell how fast its brushes slide.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slide {
    /// No-load speed in rpm at [`Slide::volts`].
    pub rpm: f64,
    /// The voltage of that speed, in V.
    pub volts: f64,
    /// The voltage at which it just turns, in V; it drops in brushes and friction.
    pub starting: f64,
    /// Commutator diameter in m.
    pub diameter: f64,
    /// Standard deviation of the speed as a fraction of it: what motors of one kind differ by.
    pub spread: f64,
}

/// A voltage held for a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recipe {
    /// Volts at the terminals.
    pub volts: f64,
    /// Seconds.
    pub seconds: f64,
}

impl Slide {
    /// The same after checking it.
    ///
    /// # Errors
    ///
    /// [`RunInError`] when a quantity is not above zero or the motor starts above its own voltage.
    pub fn checked(self) -> Result<Self, RunInError> {
        positive("the no-load speed", self.rpm)?;
        positive("the voltage of the no-load speed", self.volts)?;
        positive("the commutator's diameter", self.diameter)?;
        at_least_zero("the starting voltage", self.starting)?;
        at_least_zero("the spread of the speed", self.spread)?;
        if self.starting >= self.volts {
            return Err(RunInError::StartsAboveRated { starting: self.starting, rated: self.volts });
        }
        Ok(self)
    }

    /// No-load speed in rpm at another voltage: n = n0 (V - Vs) / (V0 - Vs), the straight line of a motor
    /// with constant friction, through standstill at the starting voltage Vs.
    ///
    /// # Errors
    ///
    /// [`RunInError`], also when it does not turn at that voltage.
    pub fn speed(&self, volts: f64) -> Result<Estimate, RunInError> {
        let Slide { rpm, volts: rated, starting, spread, .. } = self.checked()?;
        let volts = positive("the voltage", volts)?;
        if volts <= starting {
            return Err(RunInError::DoesNotTurn { volts, starting });
        }
        let speed = positive("the speed", rpm * (volts - starting) / (rated - starting))?;
        Ok(Estimate::normal(speed, speed * spread))
    }

    /// How far a brush slides on the commutator, in m: s = pi d n t.
    ///
    /// # Errors
    ///
    /// As [`Slide::speed`].
    pub fn travel(&self, recipe: Recipe) -> Result<Estimate, RunInError> {
        let seconds = positive("the time", recipe.seconds)?;
        let factor = std::f64::consts::PI * self.diameter * seconds / 60.0;
        let travel = self.speed(recipe.volts)?.times(factor);
        positive("the travel", travel.value)?;
        Ok(travel)
    }

    /// Travel of one recipe over that of another. Diameter and nominal speed cancel, and so does how far
    /// this motor's speed is off.
    ///
    /// # Errors
    ///
    /// As [`Slide::speed`].
    pub fn ratio(&self, one: Recipe, other: Recipe) -> Result<f64, RunInError> {
        let exact = Slide { spread: 0.0, ..*self };
        positive("the ratio of travel", exact.travel(one)?.value / exact.travel(other)?.value)
    }

    /// How long the motor must run at a voltage until its brushes have slid so far, in s.
    ///
    /// # Errors
    ///
    /// As [`Slide::speed`].
    pub fn seconds(&self, volts: f64, travel: f64) -> Result<f64, RunInError> {
        let a_second = Slide { spread: 0.0, ..*self }.travel(Recipe { volts, seconds: 1.0 })?.value;
        positive("the time", positive("the travel", travel)? / a_second)
    }
}

/// Work in J that friction does on one brush: W = mu F s. It is what grinds the face to shape.
///
/// # Errors
///
/// [`RunInError`] when the coefficient or the force is not above zero.
pub fn bedding_work(friction: f64, force: f64, travel: Estimate) -> Result<Estimate, RunInError> {
    let factor = positive("the coefficient of friction", friction)? * positive("the spring force", force)?;
    let work = travel.times(factor);
    positive("the work", work.value)?;
    Ok(work)
}

/// Heat in J that the current leaves in the winding: Q = I^2 R t.
///
/// # Errors
///
/// [`RunInError`] when current, resistance or time is not above zero.
pub fn winding_heat(current: f64, resistance: f64, seconds: f64) -> Result<f64, RunInError> {
    let current = positive("the current", current)?;
    let heat = current * current * positive("the resistance", resistance)? * positive("the time", seconds)?;
    positive("the heat", heat)
}

fn positive(what: &'static str, value: f64) -> Result<f64, RunInError> {
    match value {
        v if !v.is_finite() => Err(RunInError::NotFinite { what }),
        v if v <= 0.0 => Err(RunInError::NotPositive { what }),
        v => Ok(v),
    }
}

fn at_least_zero(what: &'static str, value: f64) -> Result<f64, RunInError> {
    if value == 0.0 { Ok(value) } else { positive(what, value) }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// 20000 rpm at 7.2 V, starts at 0.6 V, 7.5 mm commutator.
    const CLUB: Slide = Slide { rpm: 20000.0, volts: 7.2, starting: 0.6, diameter: 7.5e-3, spread: 0.05 };
    /// Common practice: 3 V for 3 min; some motors 12 V for 30 s.
    const SLOW: Recipe = Recipe { volts: 3.0, seconds: 180.0 };
    const FAST: Recipe = Recipe { volts: 12.0, seconds: 30.0 };

    #[test]
    fn the_two_usual_recipes_slide_about_as_far() {
        // 20000 x 2.4 / 6.6 = 7272.7 rpm, 21818 turns of 23.562 mm: 514.1 m. 20000 x 11.4 / 6.6 = 34545
        // rpm, 17273 turns: 407.0 m (arithmetic).
        let (slow, fast) = (CLUB.travel(SLOW).unwrap(), CLUB.travel(FAST).unwrap());
        assert!((slow.value - 514.08).abs() < 0.01, "{slow:?}");
        assert!((fast.value - 406.98).abs() < 0.01, "{fast:?}");
        assert!((slow.deviation / slow.value - 0.05).abs() < 1e-12);
        // 2.4 x 180 over 11.4 x 30, whatever the motor's speed and size.
        assert!((CLUB.ratio(SLOW, FAST).unwrap() - 432.0 / 342.0).abs() < 1e-12);
    }

    #[test]
    fn heat_and_work_follow_their_definitions() {
        // 2 A in 0.1 ohm for 180 s: 72 J; for 30 s: 12 J.
        assert!((winding_heat(2.0, 0.1, 180.0).unwrap() - 72.0).abs() < 1e-12);
        assert!((winding_heat(2.0, 0.1, 30.0).unwrap() - 12.0).abs() < 1e-12);
        // Friction 0.2 of 0.9 N over 500 m: 90 J.
        assert!((bedding_work(0.2, 0.9, Estimate::exact(500.0)).unwrap().value - 90.0).abs() < 1e-12);
    }

    #[test]
    fn the_time_for_a_travel_is_the_way_back() {
        let far = CLUB.travel(SLOW).unwrap().value;
        assert!((CLUB.seconds(3.0, far).unwrap() - 180.0).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_is_said() {
        let said = |e: Result<Estimate, RunInError>| e.unwrap_err().to_string();
        assert_eq!(said(CLUB.speed(0.4)), "at 0.4 V this motor does not turn: it needs 0.6 V to start");
        assert!(said(CLUB.travel(Recipe { seconds: 0.0, ..SLOW })).contains("the time must be above zero"));
        assert!(said(Slide { starting: 8.0, ..CLUB }.speed(3.0)).contains("contradict each other"));
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(Slide { rpm: bad, ..CLUB }.speed(3.0).is_err());
            assert!(Slide { diameter: bad, ..CLUB }.travel(SLOW).is_err());
            assert!(winding_heat(bad, 0.1, 1.0).is_err() && winding_heat(1.0, bad, 1.0).is_err());
            assert!(bedding_work(bad, 1.0, Estimate::exact(1.0)).is_err());
            assert!(CLUB.speed(bad).is_err() && CLUB.seconds(3.0, bad).is_err());
        }
    }

    proptest! {
        #[test]
        fn more_volts_or_more_time_slide_further(v in 0.7..20.0f64, dv in 0.01..5.0f64, t in 1.0..1000.0f64, dt in 0.1..100.0f64) {
            let far = |volts, seconds| CLUB.travel(Recipe { volts, seconds }).unwrap().value;
            prop_assert!(far(v + dv, t) > far(v, t) && far(v, t + dt) > far(v, t));
        }

        #[test]
        fn ratios_are_turned_over_by_turning_them_round(v in 0.7..20.0f64, w in 0.7..20.0f64, t in 1.0..1000.0f64, u in 1.0..1000.0f64) {
            let (a, b) = (Recipe { volts: v, seconds: t }, Recipe { volts: w, seconds: u });
            prop_assert!((CLUB.ratio(a, b).unwrap() * CLUB.ratio(b, a).unwrap() - 1.0).abs() < 1e-9);
        }

        #[test]
        fn no_numbers_panic(a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), d in any::<f64>(), v in any::<f64>(), t in any::<f64>()) {
            let slide = Slide { rpm: a, volts: b, starting: c, diameter: d, spread: c };
            if let Ok(s) = slide.travel(Recipe { volts: v, seconds: t }) {
                prop_assert!(s.value > 0.0 && s.value.is_finite());
            }
            let _ = slide.ratio(Recipe { volts: v, seconds: t }, Recipe { volts: t, seconds: v });
            let _ = (bedding_work(a, b, Estimate::exact(c)), winding_heat(a, b, t));
        }
    }
}
