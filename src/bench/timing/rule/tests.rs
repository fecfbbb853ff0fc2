use super::super::speeds::tests::LIMITS;
use super::*;
use proptest::prelude::*;

fn known(used: Use, mark: f64) -> Known {
    Known {
        used: Some(used),
        right_way: None,
        leads: None,
        seat: None,
        loose: None,
        mark: Some(mark),
        speeds: None,
        curve: None,
        currents: None,
    }
}

fn goal(step: f64, used: Use, mark: f64) -> Option<f64> {
    let told = judge(&known(used, mark), &Limits { step, ..LIMITS }).unwrap();
    told.acts.iter().find_map(|a| if let Act::TurnBell { to, .. } = a { Some(*to) } else { None })
}

#[test]
fn whole_marks_are_preferred_then_half_marks_then_angles() {
    assert_eq!(goal(12.0, Use::OneWay, 0.0), Some(12.0));
    assert_eq!(goal(5.0, Use::OneWay, 0.0), Some(10.0));
    assert_eq!(goal(4.0, Use::OneWay, 0.0), Some(8.0));
    assert_eq!(goal(4.0, Use::OneWay, 20.0), Some(12.0));
    assert_eq!(goal(15.0, Use::OneWay, 0.0), Some(7.5), "a half mark");
    assert_eq!(goal(30.0, Use::OneWay, 0.0), Some(6.0), "no mark fits");
    assert_eq!(goal(30.0, Use::OneWay, 30.0), Some(12.0), "no mark fits");
    assert_eq!(goal(12.0, Use::BothWays, -24.0), Some(0.0));
    assert_eq!(goal(12.0, Use::OneWay, 8.0), None, "between two marks, and well");
}

#[test]
fn impossible_input_is_refused() {
    for step in [0.0, -1.0, 46.0, f64::NAN, f64::INFINITY] {
        let told = judge(&known(Use::OneWay, 0.0), &Limits { step, ..LIMITS });
        assert!(matches!(told, Err(TimingError::Step(_))), "{step}");
    }
    assert!(matches!(judge(&known(Use::OneWay, f64::NAN), &LIMITS), Err(TimingError::Mark(_))));
    let currents = Known { currents: Some(0.0), ..known(Use::OneWay, 0.0) };
    assert!(matches!(judge(&currents, &LIMITS), Err(TimingError::Current(_))));
}

#[test]
fn unlike_currents_at_like_speeds_are_no_matter_of_timing() {
    let speeds = SpeedRatio::of_ratio(1.0, 0.003, LIMITS.absurd).ok();
    let with = |currents| {
        let k = Known { speeds, currents: Some(currents), ..known(Use::BothWays, 0.0) };
        judge(&k, &LIMITS).unwrap().findings.contains(&Finding::CurrentsDiffer)
    };
    assert!(with(1.3) && with(0.75) && !with(1.1) && !with(0.9));
}

#[test]
fn without_a_use_the_timing_is_not_judged() {
    let told = judge(&Known { used: None, ..known(Use::OneWay, 24.0) }, &LIMITS).unwrap();
    assert!(told.acts.is_empty() && told.findings.is_empty() && told.ratio_after.is_none(), "{told:?}");
}

proptest! {
    #[test]
    fn any_marks_lead_to_a_place_that_is_left_alone(
        mark in -45.0..45.0f64, step in 0.5..45.0f64, one_way: bool,
    ) {
        let used = if one_way { Use::OneWay } else { Use::BothWays };
        let limits = Limits { step, ..LIMITS };
        if let Some(to) = goal(step, used, mark) {
            let again = judge(&known(used, to), &limits).unwrap();
            prop_assert!(again.acts.is_empty(), "{} to {}: {:?}", mark, to, again);
            let marks = to / step;
            let whole = (marks - marks.round()).abs() < 1e-9;
            let any = (1..100).any(|i| (6.0..=12.0).contains(&(f64::from(i) * step)));
            prop_assert!(whole || !(one_way && any), "{} with marks {} apart", to, step);
        }
    }

    #[test]
    fn the_mirror_image_is_told_the_mirror_image(mark in -45.0..45.0f64) {
        // Both ways alike has no preferred side.
        let one = judge(&known(Use::BothWays, mark), &LIMITS).unwrap();
        let other = judge(&known(Use::BothWays, -mark), &LIMITS).unwrap();
        prop_assert_eq!(one.findings, other.findings);
        let way = |acts: &[Act]| acts.iter().find_map(|a| match a {
            Act::TurnBell { degrees, against, .. } => Some((*degrees, *against)),
            _ => None,
        });
        match (way(&one.acts), way(&other.acts)) {
            (Some((a, x)), Some((b, y))) => prop_assert!((a - b).abs() < 1e-9 && x != y),
            (a, b) => prop_assert_eq!(a, b),
        }
    }
}
