//! What the planner proposes to do next.

use crate::knowledge::Knowledge;
use crate::plan::assess::{Moment, Planner, Step, Stop};
use crate::plan::sample::{ask, bench, decision, fault, moment, observation, planner, stages};
use crate::plan::stages::{can_ask, forbidden, unsettled, way};

#[test]
fn nothing_left_to_ask_is_a_reason_to_stop() {
    let knowledge = decision(30.0, 80.0, vec![fault("worn", 0.4, &[])], vec![]);
    let planner = planner(&knowledge);
    let step = planner.assess(moment(&planner, 0, &[])).expect("possible").step();
    assert!(matches!(step, Step::Stop(Stop::NothingLeft)));
}

#[test]
fn a_question_that_costs_more_than_it_saves_is_told_but_not_put() {
    let worn = fault("worn", 0.4, &[("look", &[0.1, 0.9])]);
    let put = |minutes: f64| {
        let looks = vec![observation("look", ask("counter", minutes), &[0.9, 0.1])];
        decision(30.0, 80.0, vec![worn.clone()], looks)
    };
    let (dear, cheap) = (put(90.0), put(1.0));
    let dear = planner(&dear);
    let step = dear.assess(moment(&dear, 0, &[])).expect("possible").step();
    assert!(matches!(&step, Step::Stop(Stop::NotWorthIt(v)) if v.candidate.id == "look" && v.worth < 0.0));
    let cheap = planner(&cheap);
    let step = cheap.assess(moment(&cheap, 0, &[])).expect("possible").step();
    assert!(matches!(&step, Step::Ask(list) if list[0].candidate.id == "look"));
}

#[test]
fn what_has_to_be_settled_first_is_put_however_little_it_is_worth() {
    let put = |stage: &str, first: bool| {
        let worn = fault("worn", 0.4, &[("look", &[0.1, 0.9])]);
        let looks = vec![observation("look", ask(stage, 90.0), &[0.9, 0.1])];
        let mut knowledge = decision(30.0, 80.0, vec![worn], looks);
        knowledge.stages = stages();
        for scope in knowledge.scopes.iter_mut().filter(|_| first) {
            scope.settle_first = vec!["look".into()];
        }
        knowledge
    };
    let step = |knowledge: &Knowledge, answers: &[(&str, &str)]| {
        let planner = planner(knowledge);
        let step = planner.assess(moment(&planner, 0, answers)).expect("possible").step();
        match step {
            Step::Ask(list) => format!("ask {}", list[0].candidate.id),
            Step::Open(opening) => format!("open {}", knowledge.stages[opening.stage].id),
            Step::Stop(_) => "stop".to_string(),
        }
    };
    let normal = |knowledge: &Knowledge| knowledge.observations[0].states[0].id.clone();
    let (here, later) = (put("counter", true), put("bench", true));
    assert_eq!(step(&put("counter", false), &[]), "stop");
    assert_eq!(step(&here, &[]), "ask look");
    assert_eq!(step(&here, &[("look", &normal(&here))]), "stop");
    assert_eq!(step(&later, &[]), "open bench");
}

#[test]
fn only_questions_worth_their_minutes_or_of_safety_are_listed() {
    let knowledge = bench();
    let planner = planner(&knowledge);
    for stage in 0..5 {
        let assessment = planner.assess(moment(&planner, stage, &[("power", "some")])).expect("possible");
        if let Step::Ask(list) = assessment.step() {
            let worth = list.iter().all(|v| v.worth >= knowledge.shop.worth_asking);
            // What could forbid the next stage is asked however little it is worth.
            let gates = list.iter().all(|v| v.answers("hand") || v.answers("can"));
            assert!(worth || gates, "{stage}");
        }
    }
}

/// Every moment that can come up in the sample: all answers or none to each question, at every stage.
fn every_moment<'k>(planner: &Planner<'k>, knowledge: &'k Knowledge, mut visit: impl FnMut(Moment<'k>)) {
    let ids: Vec<&str> = (knowledge.factors.iter().map(|f| f.id.as_str()))
        .chain(knowledge.observations.iter().map(|o| o.id.as_str()))
        .collect();
    let states: Vec<Vec<&str>> = (ids.iter())
        .map(|id| knowledge.states(id).expect("it has states").into_iter().map(|s| s.0).collect())
        .collect();
    let mut digits = vec![0; ids.len()];
    loop {
        let answers: Vec<(&str, &str)> =
            (0..ids.len()).filter(|i| digits[*i] > 0).map(|i| (ids[i], states[i][digits[i] - 1])).collect();
        (0..knowledge.stages.len()).for_each(|stage| visit(moment(planner, stage, &answers)));
        let Some(next) = (0..ids.len()).find(|i| digits[*i] < states[*i].len()) else { return };
        digits[next] += 1;
        digits[..next].fill(0);
    }
}

#[test]
fn no_step_is_ever_one_that_is_forbidden() {
    let knowledge = bench();
    let planner = planner(&knowledge);
    let (mut asked, mut opened, mut stopped) = (0, 0, 0);
    every_moment(&planner, &knowledge, |moment| {
        let stage = moment.stage;
        let Ok(assessment) = planner.assess(moment) else { return };
        let known = &assessment.moment.known;
        match assessment.step() {
            Step::Ask(list) => {
                asked += 1;
                for ask in list.iter().map(|v| (v.candidate.id, v.candidate.ask)) {
                    assert!(!known.asked(ask.0));
                    assert!(can_ask(&knowledge, ask.1, stage, known));
                }
            }
            Step::Open(opening) => {
                opened += 1;
                assert!(opening.stage > stage);
                for to in [opening.stage, opening.goal] {
                    assert_eq!(forbidden(&way(&knowledge, stage, to), None, known), None);
                }
            }
            Step::Stop(_) => stopped += 1,
        }
    });
    // The test has seen all three kinds of step.
    assert!(asked > 100 && opened > 100 && stopped > 100, "{asked} {opened} {stopped}");
}

#[test]
fn what_could_forbid_a_stage_is_asked_at_its_door() {
    let knowledge = bench();
    let planner = planner(&knowledge);
    let powered = knowledge.stage_index("powered").expect("a stage");
    for m in [("hand", None), ("hand", Some("none")), ("hand", Some("much"))] {
        let answers: Vec<(&str, &str)> = m.1.map(|state| (m.0, state)).into_iter().collect();
        let now = moment(&planner, powered - 1, &answers);
        let open: Vec<&str> = unsettled(&knowledge, &knowledge.stages[powered], now.stage, None, &now.known)
            .map(|(id, _)| id)
            .collect();
        assert_eq!(open.is_empty(), m.1.is_some(), "{m:?}: {open:?}");
    }
    // What may be taken apart stands in the data of a motor that is known.
    let deep = &knowledge.stages[knowledge.stage_index("open").expect("a stage")];
    let now = moment(&planner, powered, &[]);
    let asks = |motor: Option<&crate::knowledge::Motor>| {
        unsettled(&knowledge, deep, now.stage, motor, &now.known).count()
    };
    assert_eq!(asks(knowledge.motors.first()), 0);
}

#[test]
fn the_nearest_stage_worth_going_to_comes_first() {
    // A look that tells something, and behind a farther door one that tells all.
    let worn = fault("worn", 0.4, &[("near", &[0.5, 0.5]), ("far", &[0.0, 1.0])]);
    let looks = vec![
        observation("near", ask("bench", 1.0), &[0.8, 0.2]),
        observation("far", ask("open", 1.0), &[1.0, 0.0]),
    ];
    let mut knowledge = decision(60.0, 160.0, vec![worn], looks);
    knowledge.stages = stages();
    let planner = planner(&knowledge);
    let assessment = planner.assess(moment(&planner, 0, &[])).expect("possible");
    let openings = assessment.ranking().openings;
    let (near, far) = (knowledge.stage_index("bench"), knowledge.stage_index("open"));
    assert_eq!(openings.first().map(|o| o.goal), far, "the farther one has the better rate");
    assert!(matches!(assessment.step(), Step::Open(opening) if Some(opening.goal) == near));
}

#[test]
fn an_open_motor_is_looked_at_before_it_goes_further_apart() {
    // A look at the open motor, and one deeper inside that is better by the minute, but not by much.
    let step = |chance: f64| {
        let worn = fault("worn", 0.4, &[("here", &[1.0 - chance, chance]), ("deep", &[0.0, 1.0])]);
        let looks = vec![
            observation("here", ask("open", 14.0), &[1.0, 0.0]),
            observation("deep", ask("deep", 1.0), &[1.0, 0.0]),
        ];
        let mut knowledge = decision(60.0, 160.0, vec![worn], looks);
        knowledge.stages = stages();
        let planner = planner(&knowledge);
        let open = knowledge.stage_index("open").expect("a stage");
        let assessment = planner.assess(moment(&planner, open, &[])).expect("possible");
        let ranking = assessment.ranking();
        let labour = knowledge.shop.labour_per_minute;
        let better = ranking.openings[0].rate / ranking.here[0].rate(labour);
        (better, matches!(assessment.step(), Step::Ask(_)))
    };
    let (little, asks) = step(0.9);
    assert!(little > 1.0 && little < 1.6 && asks, "{little} {asks}");
    let (much, asks) = step(0.6);
    assert!(much > 1.6 && !asks, "{much} {asks}");
}
