//! The way through the stages, and what may be asked where.

use crate::knowledge::{Ask, Knowledge};
use crate::plan::Known;
use crate::plan::sample::{answer, ask, bench, forbid, motor};
use crate::plan::stages::{can_ask, closed, forbidden, way};

const BENCH: usize = 1;
const POWERED: usize = 2;
const OPEN: usize = 3;
const DEEP: usize = 4;

fn ids(knowledge: &Knowledge, from: usize, to: usize) -> Vec<&str> {
    way(knowledge, from, to).through.iter().map(|s| s.id.as_str()).collect()
}

fn with(id: &str, state: &str) -> Known {
    let mut known = Known::default();
    known.state(id, state);
    known
}

#[test]
fn a_way_passes_over_what_may_be_skipped_unless_it_is_the_goal() {
    let knowledge = bench();
    assert_eq!(ids(&knowledge, 0, OPEN), ["bench", "open"]);
    assert_eq!(ids(&knowledge, 0, POWERED), ["bench", "powered"]);
    assert_eq!(ids(&knowledge, POWERED, DEEP), ["open", "deep"]);
}

#[test]
fn a_way_costs_the_stages_that_it_enters() {
    let knowledge = bench();
    let deep = way(&knowledge, 0, DEEP);
    // bench 3 + 2 back, open 5 + 4, deep 7 + 6; not the powered stage.
    assert_eq!((deep.minutes, deep.minutes_back), (15.0, 12.0));
}

#[test]
fn there_is_no_way_to_where_one_stands_or_back() {
    let knowledge = bench();
    for to in [0, BENCH, OPEN] {
        let none = way(&knowledge, OPEN, to);
        assert!(none.through.is_empty() && none.minutes == 0.0 && none.minutes_back == 0.0);
    }
}

#[test]
fn a_motor_that_can_not_be_rebuilt_is_closed_from_the_first_stage_that_opens_it() {
    let knowledge = bench();
    let (sealed, sound) = (motor(false), motor(true));
    let known = Known::default();
    assert!(closed(&knowledge.stages[OPEN], Some(&sealed), &known).is_some());
    assert!(closed(&knowledge.stages[POWERED], Some(&sealed), &known).is_none());
    assert!(closed(&knowledge.stages[OPEN], Some(&sound), &known).is_none());
    assert!(closed(&knowledge.stages[OPEN], None, &known).is_none());
    assert!(forbidden(&way(&knowledge, 0, DEEP), Some(&sealed), &known).is_some());
    assert!(forbidden(&way(&knowledge, 0, POWERED), Some(&sealed), &known).is_none());
}

#[test]
fn an_answer_closes_a_stage_with_its_own_reason() {
    let knowledge = bench();
    let crimped = with("can", "crimped");
    assert_eq!(closed(&knowledge.stages[OPEN], Some(&motor(true)), &crimped), Some("can is crimped."));
    assert_eq!(forbidden(&way(&knowledge, BENCH, DEEP), None, &crimped), Some("can is crimped."));
}

#[test]
fn a_stage_that_does_not_open_the_motor_is_forbidden_for_now_but_never_closed() {
    let knowledge = bench();
    let locked = with("hand", "much");
    assert!(closed(&knowledge.stages[POWERED], None, &locked).is_none());
    assert_eq!(forbidden(&way(&knowledge, BENCH, POWERED), None, &locked), Some("hand is much."));
    // It may be passed over, so it does not bar the way beyond.
    assert!(forbidden(&way(&knowledge, BENCH, DEEP), None, &locked).is_none());
}

#[test]
fn a_question_is_put_from_its_first_to_its_last_stage() {
    let knowledge = bench();
    let known = Known::default();
    let at = |ask: &Ask| -> Vec<bool> { (0..5).map(|s| can_ask(&knowledge, ask, s, &known)).collect() };
    assert_eq!(at(&ask("powered", 1.0)), [false, false, true, true, true]);
    let seen = Ask { last_stage: Some("open".into()), ..ask("powered", 1.0) };
    assert_eq!(at(&seen), [false, false, true, true, false]);
}

#[test]
fn a_question_waits_for_the_answer_that_it_hangs_on() {
    let knowledge = bench();
    let care = Ask { ask_when: Some(answer("water", &["splashed", "sunk"])), ..ask("counter", 1.0) };
    let mut known = Known::default();
    assert!(!can_ask(&knowledge, &care, 0, &known));
    known.unknown("water");
    assert!(!can_ask(&knowledge, &care, 0, &known));
    assert!(!can_ask(&knowledge, &care, 0, &with("water", "none")));
    assert!(can_ask(&knowledge, &care, 0, &with("water", "sunk")));
}

#[test]
fn a_question_is_not_put_while_an_answer_forbids_it() {
    let knowledge = bench();
    let risky = Ask { not_when: vec![forbid("hand", "much"), forbid("wet", "yes")], ..ask("bench", 1.0) };
    assert!(can_ask(&knowledge, &risky, BENCH, &Known::default()));
    assert!(can_ask(&knowledge, &risky, BENCH, &with("hand", "some")));
    assert!(!can_ask(&knowledge, &risky, BENCH, &with("hand", "much")));
    assert!(!can_ask(&knowledge, &risky, BENCH, &with("wet", "yes")));
}
