//! The rule of direction and timing against a small physical motor that shares no code with it.

#[path = "common/physical_motor.rs"]
mod physical_motor;

use commsense::bench::timing::{
    Act, Curve, Finding, Judgement, Known, Leads, Limits, Seat, Side, SpeedRatio, Turn, Use, judge, standing,
    way,
};
use physical_motor::{ENDS, End, Motor, Vector};

/// Common practice: 6 to 12 degrees one way, 0 both ways, marks 12 degrees apart.
const LIMITS: Limits = Limits {
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

/// Does to a motor what is told.
fn apply(motor: &mut Motor, act: Act, from: End, wanted: Turn) {
    match act {
        Act::CrossLeads => motor.leads = -motor.leads,
        Act::TurnBellHalf => motor.bell += 180.0,
        Act::TurnBell { degrees, against, .. } => {
            motor.bell += from.rotation(way(against, wanted)) * degrees;
        }
        Act::TurnBellBySpeeds { .. } => panic!("the mark is known"),
        Act::Tighten => {}
    }
}

/// One way of asking about one motor.
#[derive(Debug, Clone, Copy)]
struct Question {
    motor: Motor,
    from: End,
    wanted: Turn,
    used: Use,
    /// Whether it is told how leads and end bell are.
    told: bool,
    speeds: bool,
}

impl Question {
    fn wanted_rotation(&self) -> f64 {
        self.from.rotation(self.wanted)
    }

    /// What a person at the bench sees, and what is judged from it.
    fn ask(&self) -> Judgement {
        let motor = &self.motor;
        let turns = self.from.sees_rotation(motor.turns());
        let half = motor.bell.rem_euclid(360.0) > 90.0 && motor.bell.rem_euclid(360.0) < 270.0;
        let nearest = if half {
            motor.bell.rem_euclid(360.0) - 180.0
        } else {
            (motor.bell + 180.0).rem_euclid(360.0) - 180.0
        };
        // The person sees the bell turned away from the zero next to it, one way or the other.
        let side = (nearest.abs() > 1e-9).then(|| {
            let seen = self.from.sees_rotation(nearest);
            if seen == self.wanted { Side::WithWanted } else { Side::AgainstWanted }
        });
        let seat = self.told.then_some(if half { Seat::HalfTurn } else { Seat::InPlace });
        let (mark, seat) = standing(nearest.abs(), side, seat, LIMITS.lift).expect("a possible mark");
        let speeds = self.speeds.then(|| {
            let (forward, reverse) = (motor.speed(motor.turns()), motor.speed(-motor.turns()));
            SpeedRatio::of_speeds(forward, reverse, 0.003, 3.0).expect("two speeds")
        });
        let known = Known {
            used: Some(self.used),
            right_way: Some(turns == self.wanted),
            leads: self.told.then_some(if motor.leads > 0.0 { Leads::Right } else { Leads::Crossed }),
            seat,
            loose: None,
            mark: Some(mark),
            speeds,
            curve: None,
            currents: None,
        };
        judge(&known, &LIMITS).expect("possible readings")
    }
}

/// Every combination: both ways the magnets can be in, leads, end bell in place or half a turn round, -24
/// to 24 degrees, viewing ends, wanted rotation, use, told or not told about leads and end bell, speeds.
fn questions() -> Vec<Question> {
    let mut all = Vec::new();
    for field in [1.0, -1.0] {
        for leads in [1.0, -1.0] {
            for half in [0.0, 180.0] {
                for bell in -24..=24 {
                    let motor = Motor { field: Vector::new(field, 0.0), bell: half + f64::from(bell), leads };
                    for from in ENDS {
                        for wanted in [Turn::Cw, Turn::Ccw] {
                            for used in [Use::OneWay, Use::BothWays] {
                                for told in [false, true] {
                                    for speeds in [false, true] {
                                        all.push(Question { motor, from, wanted, used, told, speeds });
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
    assert_eq!(all.len(), 2 * 2 * 2 * 49 * 2 * 2 * 2 * 2 * 2);
    all
}

fn allowed(used: Use, advance: f64) -> bool {
    match used {
        Use::OneWay => (5.999..=12.001).contains(&advance),
        Use::BothWays => advance.abs() <= 2.001,
    }
}

/// The physical motor behaves as published, before anything is compared with it.
#[test]
fn the_physical_motor_is_one() {
    for field in [1.0, -1.0] {
        for bell in [-20.0, -7.0, 0.0, 7.0, 20.0, 160.0, 180.0, 200.0] {
            let motor = Motor { field: Vector::new(field, 0.0), bell, leads: 1.0 };
            for polarity in [1.0, -1.0] {
                // NEETS Module 5 (NAVEDTRA 14177), p. 2-15: in a motor the neutral plane is shifted in the
                // direction opposite to that of armature rotation.
                let rotation = motor.torque(polarity).signum();
                assert_eq!(motor.neutral_shift(polarity).signum(), -rotation);
            }
            // Crossing the leads, or half a turn of the bell, turns it round; both together do not.
            let crossed = Motor { leads: -1.0, ..motor };
            let half = Motor { bell: bell + 180.0, ..motor };
            let both = Motor { leads: -1.0, ..half };
            assert_eq!(crossed.turns(), -motor.turns());
            assert_eq!(half.turns(), -motor.turns());
            assert_eq!(both.turns(), motor.turns());
            // Advanced, it is faster that way (common practice); at zero both ways are alike (NAVEDTRA 14344,
            // "Setting on neutral").
            for rotation in [1.0, -1.0] {
                let log = (motor.speed(rotation) / motor.speed(-rotation)).ln();
                let advance = motor.advance(rotation);
                assert!((log - 0.005 * advance).abs() < 0.001 * advance.abs() + 1e-9, "{log} at {advance}");
            }
        }
    }
}

#[test]
fn what_is_told_puts_every_motor_right() {
    for question in questions() {
        let told = question.ask();
        let mut after = question;
        for act in &told.acts {
            apply(&mut after.motor, *act, question.from, question.wanted);
        }
        assert_eq!(after.motor.turns(), question.wanted_rotation(), "{question:?}: {told:?}");
        let advance = after.motor.advance(question.wanted_rotation());
        assert!(allowed(question.used, advance), "{advance} after {question:?}: {told:?}");
        // What it says will be seen is seen.
        let said = told.mark_after.expect("the mark is known");
        assert!((said - advance).abs() < 1e-9, "said {said}, is {advance}: {question:?}");
        let ratio =
            after.motor.speed(question.wanted_rotation()) / after.motor.speed(-question.wanted_rotation());
        let (low, high) = told.ratio_after.expect("the mark is known");
        assert!(low <= ratio && ratio <= high, "{ratio} not in {low}..{high}: {question:?}");
    }
}

#[test]
fn nothing_is_done_that_need_not_be() {
    for question in questions() {
        let told = question.ask();
        let wrong_way = question.motor.turns() != question.wanted_rotation();
        let advance = question.motor.advance(question.wanted_rotation());
        let turned_round =
            told.acts.iter().filter(|a| matches!(a, Act::CrossLeads | Act::TurnBellHalf)).count();
        assert_eq!(turned_round, usize::from(wrong_way), "{question:?}: {told:?}");
        let turns: Vec<f64> = told
            .acts
            .iter()
            .filter_map(|a| if let Act::TurnBell { degrees, .. } = a { Some(*degrees) } else { None })
            .collect();
        if allowed(question.used, advance) {
            assert!(turns.is_empty(), "{question:?}: {told:?}");
        } else {
            // The marks are 12 degrees apart: the mark that fits is 12 one way and 0 both ways.
            let goal = if question.used == Use::OneWay { 12.0 } else { 0.0 };
            assert_eq!(turns.len(), 1, "{question:?}: {told:?}");
            assert!((turns[0] - (goal - advance).abs()).abs() < 1e-9, "{question:?}: {told:?}");
        }
        // The end bell comes out only when it is known to be half a turn round and the leads are right.
        let half = told.acts.contains(&Act::TurnBellHalf);
        let known_half = question.told && question.motor.leads > 0.0 && question.motor.bell > 90.0;
        assert_eq!(half, wrong_way && known_half, "{question:?}: {told:?}");
        let tightened = told.acts.iter().filter(|a| **a == Act::Tighten).count();
        assert_eq!(tightened, usize::from(half || !turns.is_empty()), "{question:?}: {told:?}");
        assert!(tightened == 0 || told.acts.last() == Some(&Act::Tighten), "{question:?}: {told:?}");
    }
}

#[test]
fn done_once_it_is_done() {
    for question in questions() {
        let mut after = question;
        for act in question.ask().acts {
            apply(&mut after.motor, act, question.from, question.wanted);
        }
        let again = after.ask();
        assert!(again.acts.is_empty(), "{question:?} again: {again:?}");
        assert!(again.findings.contains(&Finding::RightWay));
    }
}

#[test]
fn findings_name_what_is_physically_so() {
    for question in questions() {
        let told = question.ask();
        let advance = question.motor.advance(question.wanted_rotation());
        let is = |f| told.findings.contains(&f);
        assert!(!told.findings.iter().any(|f| f.is_contradiction()), "{question:?}: {told:?}");
        assert_eq!(is(Finding::RightWay), question.motor.turns() == question.wanted_rotation());
        let one_way = question.used == Use::OneWay;
        assert_eq!(is(Finding::AdvanceBackwards), one_way && advance < -2.5, "{question:?}: {told:?}");
        assert_eq!(is(Finding::AdvanceNone), one_way && advance.abs() < 2.5, "{question:?}: {told:?}");
        assert_eq!(is(Finding::AdvanceTooFar), one_way && advance > 15.5, "{question:?}: {told:?}");
        assert_eq!(is(Finding::AdvanceGood), one_way && allowed(Use::OneWay, advance));
        assert_eq!(is(Finding::ZeroMissed), !one_way && advance.abs() > 2.5);
        assert_eq!(is(Finding::ZeroGood), !one_way && advance.abs() < 2.5);
    }
}

/// Speeds of the two directions taken for each other, or a mark taken to the wrong side.
#[test]
fn mixed_up_readings_are_noticed_and_nothing_is_turned() {
    for question in questions().into_iter().filter(|q| q.speeds) {
        let motor = question.motor;
        let advance = motor.advance(question.wanted_rotation());
        let right_way = motor.turns() == question.wanted_rotation();
        let (forward, reverse) = (motor.speed(-motor.turns()), motor.speed(motor.turns()));
        let known = Known {
            used: Some(question.used),
            right_way: Some(right_way),
            leads: None,
            seat: None,
            loose: None,
            mark: Some(advance),
            speeds: Some(SpeedRatio::of_speeds(forward, reverse, 0.003, 3.0).expect("two speeds")),
            curve: None,
            currents: None,
        };
        let told = judge(&known, &LIMITS).expect("possible readings");
        let noticed = told.findings.iter().any(|f| f.is_contradiction());
        if advance.abs() >= 8.0 {
            assert!(told.findings.contains(&Finding::SpeedsAgainstMark), "{advance}: {told:?}");
        }
        if noticed {
            assert!(
                !told.acts.iter().any(|a| matches!(a, Act::TurnBell { .. } | Act::TurnBellBySpeeds { .. }))
            );
            assert_eq!((told.mark_after, told.ratio_after), (None, None));
        }
    }
}

/// With speeds alone, the sense in which the end bell has to go is never wrong.
#[test]
fn speeds_alone_give_the_side() {
    for question in questions().into_iter().filter(|q| q.speeds && !q.told) {
        let motor = question.motor;
        let wanted = question.wanted_rotation();
        let ratio =
            SpeedRatio::of_speeds(motor.speed(motor.turns()), motor.speed(-motor.turns()), 0.003, 3.0)
                .expect("two speeds");
        let known = Known {
            used: Some(question.used),
            right_way: Some(motor.turns() == wanted),
            leads: None,
            seat: None,
            loose: None,
            mark: None,
            speeds: Some(ratio),
            curve: None,
            currents: None,
        };
        let told = judge(&known, &LIMITS).expect("possible readings");
        assert_eq!(told.mark_after, None, "speeds alone give no angle");
        let (low, high) = ratio.advance_range(&LIMITS);
        let is = motor.advance(motor.turns());
        assert!(low <= is && is <= high, "{is} not in {low}..{high}");
        for act in &told.acts {
            if let Act::TurnBellBySpeeds { against } = *act {
                let mut moved = motor;
                moved.bell += question.from.rotation(way(against, question.wanted)) * 1.0;
                let goal = if question.used == Use::OneWay { 9.0 } else { 0.0 };
                let (before, after) = (motor.advance(wanted), moved.advance(wanted));
                assert!((after - goal).abs() < (before - goal).abs(), "{before} to {after}: {question:?}");
            }
        }
    }
}

/// Marks whose zero is not where the brushes are neutral: two positions on both sides with their speeds see through it.
#[test]
fn marks_that_are_not_true_are_seen_through() {
    for question in questions().into_iter().filter(|q| !q.told && !q.speeds) {
        for off in [-9.0, -5.0, 5.0, 9.0] {
            let motor = question.motor;
            let wanted = question.wanted_rotation();
            let right_way = motor.turns() == wanted;
            // What the marks show where the brushes are neutral, as an advance for the wanted rotation.
            let shown = |m: &Motor| m.advance(wanted) + off;
            let sign = if right_way { 1.0 } else { -1.0 };
            let points: Vec<_> = [-12.0, 12.0]
                .map(|turned| {
                    let half = if motor.bell > 90.0 { 180.0 } else { 0.0 };
                    let at = Motor { bell: half + turned, ..motor };
                    let speeds = (at.speed(motor.turns()), at.speed(-motor.turns()));
                    let ratio = SpeedRatio::of_speeds(speeds.0, speeds.1, 0.001, 3.0).expect("two speeds");
                    (sign * shown(&at), ratio)
                })
                .into();
            let known = Known {
                used: Some(question.used),
                right_way: Some(right_way),
                leads: None,
                seat: None,
                loose: None,
                mark: Some(shown(&motor)),
                speeds: None,
                curve: Some(Curve::fit(&points).expect("two positions")),
                currents: None,
            };
            let told = judge(&known, &LIMITS).expect("possible readings");
            assert!(told.findings.contains(&Finding::ZeroOffset), "{off} {question:?}: {told:?}");
            let mut after = motor;
            for act in told.acts {
                apply(&mut after, act, question.from, question.wanted);
            }
            assert_eq!(after.turns(), wanted);
            let advance = after.advance(wanted);
            let right = match question.used {
                Use::OneWay => (5.5..=12.5).contains(&advance),
                Use::BothWays => advance.abs() <= 2.5,
            };
            assert!(right, "{advance} with {off} {question:?}");
        }
    }
}

/// The range of a ratio is wide on purpose; it must not shrink to an angle however good the readings are.
#[test]
fn a_ratio_alone_never_gives_an_exact_angle() {
    let ratio = SpeedRatio::of_ratio(1.05, 0.0, 3.0).expect("a ratio");
    let (low, high) = ratio.advance_range(&LIMITS);
    assert!(high / low > 5.0, "{low}..{high}");
}
