//! Watching a run-in: when to look, and when to stop. Time comes in as an argument.

/// When the run-in has to end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// It is done when so many readings of the current in a row bring no fall.
    pub still: usize,
    /// What counts as a fall, as a fraction of the least current so far.
    pub fall: f64,
    /// What counts as a dangerous rise, as a fraction of the least current so far.
    pub rise: f64,
    /// The case may not be warmer than this, in degC.
    pub hottest: f64,
}

/// What somebody has seen while the motor ran.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seen {
    /// Current in A.
    Current(f64),
    /// Temperature of the case in degC.
    Temperature(f64),
    /// Heavy sparking at the brushes, smoke, or a burnt smell.
    Danger,
}

/// Why the run-in ends before its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stop {
    /// The current has settled: the brushes are bedded as far as it can tell.
    Settled {
        /// The least current in A.
        amperes: f64,
    },
    /// The current rises instead of falling.
    Rising {
        /// The least current before, in A.
        from: f64,
        /// The current now, in A.
        to: f64,
    },
    /// The case is too hot.
    TooHot {
        /// Its temperature in degC.
        celsius: f64,
    },
    /// Heavy sparking, smoke, or a burnt smell.
    Danger,
}

/// What has been seen so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Watch {
    rule: Rule,
    currents: Vec<f64>,
    temperatures: Vec<f64>,
    least: f64,
    without_fall: usize,
}

impl Watch {
    /// Nothing seen yet.
    pub fn new(rule: Rule) -> Self {
        Watch { rule, currents: Vec::new(), temperatures: Vec::new(), least: f64::INFINITY, without_fall: 0 }
    }

    /// Takes down what was seen; says whether to stop, and why. Numbers that are none, and currents below
    /// zero, are passed over.
    pub fn note(&mut self, seen: Seen) -> Option<Stop> {
        match seen {
            Seen::Danger => Some(Stop::Danger),
            Seen::Temperature(celsius) if celsius.is_finite() => {
                self.temperatures.push(celsius);
                (celsius > self.rule.hottest).then_some(Stop::TooHot { celsius })
            }
            Seen::Current(amperes) if amperes.is_finite() && amperes >= 0.0 => self.current(amperes),
            Seen::Temperature(_) | Seen::Current(_) => None,
        }
    }

    fn current(&mut self, amperes: f64) -> Option<Stop> {
        self.currents.push(amperes);
        let before = self.least;
        // The first reading is where it starts from.
        if amperes < before * (1.0 - self.rule.fall) || self.currents.len() == 1 {
            self.least = amperes;
            self.without_fall = 0;
            return None;
        }
        if amperes > before * (1.0 + self.rule.rise) {
            return Some(Stop::Rising { from: before, to: amperes });
        }
        // Small falls count as none, and what they add up to counts when it is enough.
        self.without_fall += 1;
        (self.without_fall >= self.rule.still).then_some(Stop::Settled { amperes: before.min(amperes) })
    }

    /// The currents so far, in A, in order.
    pub fn currents(&self) -> &[f64] {
        &self.currents
    }

    /// The highest temperature so far, in degC.
    pub fn hottest(&self) -> Option<f64> {
        self.temperatures.iter().copied().reduce(f64::max)
    }
}

/// The moments in s at which to look during a run of so many seconds: the first after `first`, then one
/// every `every`, none in the last `spare` seconds. None when `every` is not above zero.
pub fn rounds(total: f64, first: f64, every: f64, spare: f64) -> Vec<f64> {
    /// More looks than anybody takes.
    const MOST: usize = 1000;
    if !(every > 0.0 && total.is_finite() && first >= 0.0) {
        return Vec::new();
    }
    (0..MOST).map(|i| first + i as f64 * every).take_while(|at| *at <= total - spare).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RULE: Rule = Rule { still: 3, fall: 0.02, rise: 0.3, hottest: 60.0 };

    fn currents(amperes: &[f64]) -> Option<(usize, Stop)> {
        let mut watch = Watch::new(RULE);
        amperes.iter().enumerate().find_map(|(i, a)| Some((i, watch.note(Seen::Current(*a))?)))
    }

    #[test]
    fn a_current_that_has_stopped_falling_is_settled() {
        let settled = currents(&[2.6, 2.4, 2.2, 2.19, 2.2, 2.18, 9.0]);
        assert_eq!(settled, Some((5, Stop::Settled { amperes: 2.18 })));
        assert_eq!(currents(&[2.6, 2.5, 2.4, 2.3, 2.2, 2.1]), None);
        assert_eq!(currents(&[2.0, 2.0, 2.0]), None);
        assert_eq!(currents(&[2.0, 2.0, 2.0, 2.0]), Some((3, Stop::Settled { amperes: 2.0 })));
    }

    #[test]
    fn slow_falls_add_up() {
        // 1 % each time: every second or third reading is 2 % below the least that counted.
        let slow: Vec<f64> = (0..12).map(|i| 2.0 * 0.99f64.powi(i)).collect();
        assert_eq!(currents(&slow), None);
    }

    #[test]
    fn heat_rise_and_sparks_stop_at_once() {
        assert_eq!(currents(&[2.0, 2.7]), Some((1, Stop::Rising { from: 2.0, to: 2.7 })));
        let mut watch = Watch::new(RULE);
        assert_eq!(watch.note(Seen::Temperature(60.0)), None);
        assert_eq!(watch.note(Seen::Temperature(60.5)), Some(Stop::TooHot { celsius: 60.5 }));
        assert_eq!(watch.note(Seen::Danger), Some(Stop::Danger));
        assert_eq!(watch.hottest(), Some(60.5));
    }

    #[test]
    fn numbers_that_are_none_are_passed_over() {
        let mut watch = Watch::new(RULE);
        for odd in [f64::NAN, f64::INFINITY, -1.0] {
            assert_eq!(watch.note(Seen::Current(odd)), None);
        }
        assert_eq!(watch.note(Seen::Temperature(f64::NAN)), None);
        assert_eq!((watch.currents(), watch.hottest()), (&[][..], None));
    }

    #[test]
    fn looks_are_spread_over_the_run() {
        assert_eq!(rounds(180.0, 15.0, 30.0, 10.0), [15.0, 45.0, 75.0, 105.0, 135.0, 165.0]);
        assert_eq!(rounds(30.0, 15.0, 30.0, 10.0), [15.0]);
        assert!(rounds(1.8, 15.0, 30.0, 10.0).is_empty());
        assert!(rounds(180.0, 15.0, 0.0, 10.0).is_empty());
        assert!(rounds(f64::INFINITY, 15.0, 30.0, 10.0).is_empty());
        assert_eq!(rounds(1e12, 0.0, 1.0, 0.0).len(), 1000);
    }

    proptest! {
        #[test]
        fn it_settles_only_when_nothing_falls(amperes in prop::collection::vec(0.1..10.0f64, 1..12)) {
            if let Some((i, Stop::Settled { .. })) = currents(&amperes) {
                let least = amperes[..=i - 3].iter().copied().fold(f64::INFINITY, f64::min);
                prop_assert!(amperes[i - 2..=i].iter().all(|a| *a >= least * (1.0 - 2.0 * RULE.fall)));
            }
        }
    }
}
