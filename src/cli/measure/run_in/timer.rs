//! The timer: lets the time pass, looks when a look is due, and ends when it has to.
//!
//! Clock, dial and person stand behind small traits, so that all of it runs in tests without waiting.

use std::time::Duration;

use crate::bench::run_in::{Rule, Seen, Stop, Watch};
use crate::cli::prompt::AskError;

/// How often the dial moves.
const TICK: Duration = Duration::from_millis(200);

/// A clock that can be waited on.
pub trait Clock {
    /// Time since some fixed moment.
    fn now(&self) -> Duration;
    /// Lets so much time pass.
    fn wait(&self, time: Duration);
}

/// What shows how far the time has run.
pub trait Dial {
    /// Shows the time gone, and when the next look is due, all in s.
    fn show(&mut self, gone: f64, next: Option<f64>);
    /// Makes room for a question.
    fn clear(&mut self);
}

/// Whoever looks at the motor.
pub trait Looker {
    /// What is seen in this round, counted from 0, after so many seconds; none when the person ends the run.
    ///
    /// # Errors
    /// When nobody can be asked any more.
    fn look(&mut self, round: usize, gone: f64) -> Result<Option<Vec<Seen>>, AskError>;
}

/// What is to be run.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// How long, in s.
    pub seconds: f64,
    /// When to look, in s, in order.
    pub rounds: Vec<f64>,
    /// When to stop before the time.
    pub rule: Rule,
}

/// Why the run ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    /// The time is over.
    Time,
    /// The stop rule.
    Rule(Stop),
    /// The person ended it.
    Hand,
}

/// How the run went.
#[derive(Debug, Clone, PartialEq)]
pub struct Ran {
    /// How long it ran, in s.
    pub seconds: f64,
    /// Why it ended.
    pub end: End,
    /// Currents that were read, in A.
    pub currents: Vec<f64>,
    /// Highest temperature that was read, in degC.
    pub hottest: Option<f64>,
}

/// Runs the plan. The motor runs on while a question waits: the clock is not stopped for it, and rounds that
/// pass in the meantime are left out.
///
/// # Errors
/// When nobody can be asked any more.
pub fn run(
    plan: &Plan,
    clock: &dyn Clock,
    dial: &mut dyn Dial,
    looker: &mut dyn Looker,
) -> Result<Ran, AskError> {
    let start = clock.now();
    let gone = || clock.now().saturating_sub(start).as_secs_f64();
    let mut watch = Watch::new(plan.rule);
    let mut done = 0;
    let end = loop {
        let now = gone();
        if now >= plan.seconds {
            break End::Time;
        }
        let due = plan.rounds.iter().take_while(|at| **at <= now).count();
        if due > done {
            done = due;
            dial.clear();
            let seen = looker.look(due - 1, now);
            if seen.is_err() {
                // The farewell is to say how long it really ran.
                dial.show(gone(), None);
                dial.clear();
            }
            let Some(seen) = seen? else { break End::Hand };
            if let Some(stop) = seen.into_iter().find_map(|s| watch.note(s)) {
                break End::Rule(stop);
            }
            continue;
        }
        let next = plan.rounds.get(done).copied();
        dial.show(now, next);
        let until = next.unwrap_or(plan.seconds).min(plan.seconds) - now;
        clock.wait(Duration::try_from_secs_f64(until).unwrap_or(TICK).clamp(Duration::from_millis(1), TICK));
    };
    dial.clear();
    let seconds = match end {
        // A tick more or less is none of the motor's.
        End::Time if gone() < plan.seconds + 1.0 => plan.seconds,
        _ => gone(),
    };
    Ok(Ran { seconds, end, currents: watch.currents().to_vec(), hottest: watch.hottest() })
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use super::*;

    const RULE: Rule = Rule { still: 3, fall: 0.02, rise: 0.3, hottest: 60.0 };

    /// A clock that jumps.
    #[derive(Default)]
    struct Jumping(Cell<Duration>);

    impl Jumping {
        fn jump(&self, seconds: f64) {
            self.0.set(self.0.get() + Duration::from_secs_f64(seconds));
        }
    }

    impl Clock for Jumping {
        fn now(&self) -> Duration {
            Duration::from_secs(1000) + self.0.get()
        }
        fn wait(&self, time: Duration) {
            assert!(time > Duration::ZERO && time <= TICK, "{time:?}");
            self.0.set(self.0.get() + time);
        }
    }

    #[derive(Default)]
    struct Paper {
        shown: Vec<(f64, Option<f64>)>,
        cleared: usize,
    }

    impl Dial for Paper {
        fn show(&mut self, gone: f64, next: Option<f64>) {
            self.shown.push((gone, next));
        }
        fn clear(&mut self) {
            self.cleared += 1;
        }
    }

    /// What one look brings.
    type Look = Result<Option<Vec<Seen>>, AskError>;

    /// Takes so long for each look, and sees what `sees` says.
    struct Person<'a> {
        clock: &'a Jumping,
        takes: f64,
        sees: Box<dyn FnMut(usize) -> Look + 'a>,
        at: Vec<(usize, f64)>,
    }

    impl Looker for Person<'_> {
        fn look(&mut self, round: usize, gone: f64) -> Look {
            self.at.push((round, gone));
            self.clock.jump(self.takes);
            (self.sees)(round)
        }
    }

    fn plan(seconds: f64, rounds: &[f64]) -> Plan {
        Plan { seconds, rounds: rounds.to_vec(), rule: RULE }
    }

    /// Runs a plan with a person; also hands back when they looked, and the dial.
    fn go(
        plan: &Plan,
        takes: f64,
        sees: impl FnMut(usize) -> Look + 'static,
    ) -> (Result<Ran, AskError>, Vec<(usize, f64)>, Paper) {
        let clock = Jumping::default();
        let mut dial = Paper::default();
        let mut person = Person { clock: &clock, takes, sees: Box::new(sees), at: Vec::new() };
        let ran = run(plan, &clock, &mut dial, &mut person);
        (ran, person.at, dial)
    }

    fn falling(round: usize) -> Look {
        Ok(Some(vec![Seen::Current(2.5 * 0.9f64.powi(round as i32)), Seen::Temperature(30.0 + round as f64)]))
    }

    #[test]
    fn the_whole_time_with_a_look_at_every_moment() {
        let (ran, at, dial) = go(&plan(180.0, &[15.0, 45.0, 75.0, 105.0, 135.0, 165.0]), 4.0, falling);
        let ran = ran.expect("it runs");
        assert_eq!((ran.seconds, ran.end, ran.currents.len()), (180.0, End::Time, 6));
        assert_eq!(ran.hottest, Some(35.0));
        let rounds: Vec<usize> = at.iter().map(|(round, _)| *round).collect();
        assert_eq!(rounds, [0, 1, 2, 3, 4, 5]);
        for ((_, gone), wanted) in at.iter().zip([15.0, 45.0, 75.0, 105.0, 135.0, 165.0]) {
            assert!((gone - wanted).abs() < 0.01, "{gone} not {wanted}");
        }
        // The dial moves often, never back, and always says what comes next.
        assert!(dial.shown.len() > 700 && dial.shown.windows(2).all(|w| w[0].0 <= w[1].0));
        assert_eq!((dial.shown[0].1, dial.shown.last().and_then(|s| s.1)), (Some(15.0), None));
        assert_eq!(dial.cleared, 7);
    }

    #[test]
    fn a_slow_reader_misses_rounds_but_stops_no_clock() {
        let (ran, at, _) = go(&plan(180.0, &[15.0, 45.0, 75.0, 105.0]), 70.0, falling);
        let ran = ran.expect("it runs");
        // 15 s, then at 85 s the round of 75 s, then at 155 s that of 105 s, whose answer comes at 225 s.
        assert_eq!((ran.seconds.round(), ran.end), (225.0, End::Time));
        assert_eq!(at.iter().map(|(round, _)| *round).collect::<Vec<_>>(), [0, 2, 3]);
    }

    #[test]
    fn an_answer_after_the_end_is_time_that_the_motor_ran() {
        let (ran, ..) = go(&plan(60.0, &[30.0]), 100.0, falling);
        let ran = ran.expect("it runs");
        assert_eq!(ran.end, End::Time);
        assert!((ran.seconds - 130.0).abs() < 0.01, "{ran:?}");
    }

    #[test]
    fn the_stop_rule_ends_it() {
        let steady = |_| Ok(Some(vec![Seen::Current(2.0)]));
        let rounds: Vec<f64> = (1..20).map(|i| f64::from(i) * 10.0).collect();
        let (ran, at, _) = go(&plan(300.0, &rounds), 1.0, steady);
        let ran = ran.expect("it runs");
        assert_eq!((ran.end, at.len()), (End::Rule(Stop::Settled { amperes: 2.0 }), 4));
        assert!((ran.seconds - 41.0).abs() < 0.01, "{ran:?}");
        let (ran, ..) = go(&plan(300.0, &rounds), 1.0, |_| Ok(Some(vec![Seen::Danger, Seen::Current(1.0)])));
        let ran = ran.expect("it runs");
        assert_eq!((ran.end, ran.currents.len()), (End::Rule(Stop::Danger), 0));
        let (ran, ..) = go(&plan(300.0, &rounds), 1.0, |_| Ok(Some(vec![Seen::Temperature(75.0)])));
        assert_eq!(ran.expect("it runs").end, End::Rule(Stop::TooHot { celsius: 75.0 }));
    }

    #[test]
    fn nothing_seen_is_no_reason_to_stop() {
        let (ran, at, _) = go(&plan(100.0, &[10.0, 20.0, 30.0, 40.0, 50.0]), 1.0, |_| Ok(Some(vec![])));
        assert_eq!((ran.expect("it runs").end, at.len()), (End::Time, 5));
    }

    #[test]
    fn the_person_may_end_it() {
        let (ran, ..) = go(&plan(100.0, &[10.0]), 2.0, |_| Ok(None));
        let ran = ran.expect("it runs");
        assert_eq!(ran.end, End::Hand);
        assert!((ran.seconds - 12.0).abs() < 0.01);
    }

    #[test]
    fn an_interruption_is_handed_on_with_the_time_shown() {
        let (ran, _, dial) = go(&plan(100.0, &[10.0]), 5.0, |_| Err(AskError::Interrupted));
        assert!(matches!(ran, Err(AskError::Interrupted)));
        assert!((dial.shown.last().expect("it was shown").0 - 15.0).abs() < 0.01);
    }

    #[test]
    fn a_run_of_no_length_is_over_at_once() {
        for seconds in [0.0, -1.0] {
            let (ran, at, _) = go(&plan(seconds, &[10.0]), 1.0, falling);
            assert_eq!((ran.expect("it runs").end, at.len()), (End::Time, 0));
        }
    }
}
