//! Laws of the worth of a question.

use proptest::prelude::*;

use crate::knowledge::Knowledge;
use crate::plan::questions::{Ranking, Valued};
use crate::plan::sample::{ask, bench, decision, fault, moment, observation, planner};

fn ranking<'k>(knowledge: &'k Knowledge, stage: usize, answers: &[(&str, &str)]) -> Ranking<'k> {
    let planner = planner(knowledge);
    planner.assess(moment(&planner, stage, answers)).expect("possible").ranking()
}

fn find<'r, 'k>(ranking: &'r Ranking<'k>, id: &str) -> &'r Valued<'k> {
    ranking.here.iter().find(|v| v.candidate.id == id).expect("it can be asked")
}

fn ids(list: &[Valued]) -> Vec<String> {
    list.iter().map(|v| v.candidate.id.to_owned()).collect()
}

#[test]
fn a_question_with_one_possible_answer_is_worth_nothing() {
    let looks = vec![observation("idle", ask("counter", 0.5), &[1.0, 0.0])];
    let knowledge = decision(30.0, 80.0, vec![fault("worn", 0.4, &[])], looks);
    let ranking = ranking(&knowledge, 0, &[]);
    let idle = find(&ranking, "idle");
    assert_eq!((idle.saving, idle.bits), (0.0, 0.0));
    assert!((idle.worth + 0.5).abs() < 1e-12, "it still takes its half minute");
}

#[test]
fn an_answer_that_changes_no_scope_saves_nothing_but_may_tell_something() {
    // With a come-back of 31, mending at 30 is hardly ever right.
    let looks = vec![observation("look", ask("counter", 0.0), &[0.9, 0.1])];
    let knowledge = decision(30.0, 31.0, vec![fault("worn", 0.1, &[("look", &[0.6, 0.4])])], looks);
    let ranking = ranking(&knowledge, 0, &[]);
    let look = find(&ranking, "look");
    assert!(look.saving < 1e-12 && look.bits > 0.01);
    assert!(look.outcomes.iter().all(|o| o.scope == Some(0)));
}

#[test]
fn the_bits_are_the_mutual_information() {
    // A symmetric channel with a tenth of errors on an even chance: 1 - H(0.1) bits.
    let looks = vec![observation("look", ask("counter", 0.0), &[0.9, 0.1])];
    let effect = [0.1 / 0.9, 1.0 - 0.1 / 0.9];
    let knowledge = decision(30.0, 80.0, vec![fault("worn", 0.5, &[("look", &effect)])], looks);
    let channel = 1.0 + 0.1 * 0.1f64.log2() + 0.9 * 0.9f64.log2();
    assert!((find(&ranking(&knowledge, 0, &[]), "look").bits - channel).abs() < 1e-12);
}

#[test]
fn later_stages_are_offered_with_the_way_there() {
    let knowledge = bench();
    let ranking = ranking(&knowledge, 0, &[("power", "much")]);
    for opening in &ranking.openings {
        assert!(opening.goal > 0 && (1..=opening.goal).contains(&opening.stage));
        assert!(opening.minutes >= 3.0);
        let own = |v: &Valued| v.candidate.ask.stage == knowledge.stages[opening.goal].id;
        assert!(opening.questions.iter().all(own));
    }
    assert!(ranking.openings.iter().any(|o| o.worth > 0.0));
    assert!(ranking.openings.is_sorted_by(|a, b| a.rate >= b.rate));
}

#[test]
fn a_forbidden_stage_offers_nothing() {
    let knowledge = bench();
    let goals = |answers: &[(&str, &str)]| -> Vec<usize> {
        ranking(&knowledge, 1, answers).openings.iter().map(|o| o.goal).collect()
    };
    assert!(goals(&[("power", "much")]).contains(&2));
    assert!(!goals(&[("power", "much"), ("hand", "much")]).contains(&2));
    assert!(goals(&[("power", "much"), ("can", "crimped")]).iter().all(|g| *g < 3));
}

#[test]
fn an_opening_pays_for_what_can_not_be_asked_any_more() {
    // From `bench`, `open` passes over the powered stage, where a run could be seen for the last time.
    let opened = |last: Option<&str>| -> (f64, f64) {
        let mut knowledge = bench();
        knowledge.observations.iter_mut().filter(|o| o.id == "run").for_each(|run| {
            run.ask.last_stage = last.map(str::to_owned);
        });
        let ranking = ranking(&knowledge, 1, &[("power", "much")]);
        let worth = |goal| ranking.openings.iter().find(|o| o.goal == goal).map_or(0.0, |o| o.worth);
        (worth(2), worth(3))
    };
    let ((run, later), (same, now)) = (opened(None), opened(Some("powered")));
    assert!(run > 0.0 && later > run, "{run} {later}");
    assert_eq!(run, same);
    assert!((later - now - run).abs() < 1e-9, "{later} less {run} is not {now}");
}

#[test]
fn what_was_asked_or_is_over_is_not_ranked() {
    let knowledge = bench();
    let deep = ranking(&knowledge, 4, &[("power", "much")]);
    assert!(!ids(&deep.here).contains(&"sight".to_owned()), "it must be looked at before");
    assert!(ids(&deep.here).contains(&"run".to_owned()));
    let asked = ranking(&knowledge, 4, &[("power", "much"), ("run", "normal"), ("smell", "some")]);
    assert!(["power", "run", "smell"].iter().all(|id| !ids(&asked.here).contains(&(*id).to_owned())));
}

#[test]
fn the_same_case_ranks_alike() {
    let knowledge = bench();
    let twice: Vec<Vec<(String, u64)>> = (0..2)
        .map(|_| {
            let ranking = ranking(&knowledge, 1, &[("power", "some")]);
            ranking.here.iter().map(|v| (v.candidate.id.to_owned(), v.worth.to_bits())).collect()
        })
        .collect();
    assert_eq!(twice[0], twice[1]);
}

#[test]
fn equal_questions_stand_in_the_order_of_their_ids() {
    let looks = ["c", "a", "b"].map(|id| observation(id, ask("counter", 1.0), &[0.9, 0.1]));
    let shows: Vec<(&str, &[f64])> = ["a", "b", "c"].map(|id| (id, &[0.2, 0.8][..])).to_vec();
    let knowledge = decision(30.0, 80.0, vec![fault("worn", 0.4, &shows)], looks.to_vec());
    assert_eq!(ids(&ranking(&knowledge, 0, &[]).here), ["a", "b", "c"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// No answer can be worth less than nothing, nor more than to know the faults themselves; and chances of the
    /// answers, and of the faults over them, add up.
    #[test]
    fn a_look_is_worth_something_between_nothing_and_the_truth(
        price in 1.0..100.0f64,
        more in 1.0..100.0f64,
        leaks in prop::array::uniform2(0.01..0.9f64),
        effects in prop::array::uniform2(0.0..1.0f64),
        normal in 0.05..1.0f64,
    ) {
        let truths = ["first-truth", "second-truth"];
        let faults = (0..2)
            .map(|i| {
                let effect = [effects[i], 1.0 - effects[i]];
                fault(["first", "second"][i], leaks[i], &[("look", &effect), (truths[i], &[0.0, 1.0]), ("any", &[0.0, 1.0])])
            })
            .collect();
        let looks = vec![
            observation("look", ask("counter", 0.0), &[normal, 1.0 - normal]),
            observation("any", ask("counter", 0.0), &[1.0, 0.0]),
        ];
        let looks = [looks, truths.iter().map(|t| observation(t, ask("counter", 0.0), &[1.0, 0.0])).collect()];
        let knowledge = decision(price, price + more, faults, looks.concat());
        let ranking = ranking(&knowledge, 0, &[]);
        // Whether anything at all is wrong is all that this decision hangs on.
        let perfect = find(&ranking, "any").saving;
        let healthy = (1.0 - leaks[0]) * (1.0 - leaks[1]);
        let now = ((1.0 - healthy) * (price + more)).min(price);
        prop_assert!((perfect - (now - (1.0 - healthy) * price)).abs() < 1e-9);
        let planner = planner(&knowledge);
        let prior = &planner.prior;
        for valued in &ranking.here {
            prop_assert!(valued.saving >= 0.0 && valued.bits >= 0.0);
            prop_assert!(valued.saving <= perfect + 1e-9, "{} {}", valued.candidate.id, valued.saving);
            let whole: f64 = valued.outcomes.iter().map(|o| o.probability).sum();
            prop_assert!((whole - 1.0).abs() < 1e-9);
            for (fault, prior) in prior.iter().enumerate() {
                let mean: f64 = valued.outcomes.iter().map(|o| o.probability * o.faults[fault]).sum();
                prop_assert!((mean - prior).abs() < 1e-9);
            }
        }
    }
}
