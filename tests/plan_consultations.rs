//! Whole consultations on the built-in knowledge with replies at random: they end, and nothing in them is
//! repeated, forbidden or over.
#![allow(clippy::expect_used)]

use std::collections::BTreeSet;

use commsense::case::BenchUnits;
use commsense::inference::Question;
use commsense::knowledge::{self, Knowledge, Motor};
use commsense::network::{Evidence, compile};
use commsense::plan::Known;
use commsense::plan::assess::{Moment, Planner, Step};
use commsense::plan::stages::{can_ask, forbidden, way};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

/// Notes a random reply to a question: a state by its chances, or now and then that nobody knows.
fn reply<'k>(
    rng: &mut StdRng,
    knowledge: &Knowledge,
    moment: &mut Moment<'k>,
    (id, question): (&str, Question),
    chances: &[f64],
) {
    if rng.random::<f64>() < 0.2 {
        moment.known.unknown(id);
        return;
    }
    let mut left = rng.random::<f64>() * chances.iter().sum::<f64>();
    let passed = |chance: &f64| {
        left -= chance;
        left < 0.0
    };
    let state = chances.iter().position(passed).unwrap_or(0);
    let states = knowledge.states(id).expect("a candidate has states");
    moment.known.state(id, states[state].0);
    let mut weights = vec![0.0; states.len()];
    weights[state] = 1.0;
    let slot = match question {
        Question::Factor(i) => &mut moment.evidence.factors[i],
        Question::Observation(i) => &mut moment.evidence.observations[i],
    };
    *slot = Some(weights);
}

fn consult<'k>(
    planner: &Planner<'k>,
    knowledge: &'k Knowledge,
    motor: Option<&'k Motor>,
    rng: &mut StdRng,
) -> usize {
    let evidence = Evidence::none(&planner.net);
    let mut moment =
        Moment { motor: motor.map(std::borrow::Cow::Borrowed), stage: 0, known: Known::default(), evidence };
    let questions = knowledge.factors.len() + knowledge.observations.len();
    let mut put: BTreeSet<String> = BTreeSet::new();
    let mut declined: BTreeSet<usize> = BTreeSet::new();
    loop {
        assert!(put.len() <= questions);
        let assessment = planner.assess(moment.clone()).expect("replies by their chances are possible");
        if let Some(best) = assessment.scope_rows().first() {
            assert_eq!(best.blocked, None, "the best of all scopes is blocked");
        }
        let mut ranking = assessment.ranking();
        // What an answer or the motor blocks stays blocked whatever comes next; a fault above its limit may
        // fall below it again.
        let no_fault = vec![0.0; assessment.faults().len()];
        let open =
            |scope: usize| assessment.scopes[scope].blocked(&assessment.moment.known, &no_fault).is_none();
        let outcomes = ranking.here.iter().flat_map(|v| &v.outcomes);
        assert!(outcomes.filter_map(|o| o.scope).all(open), "an answer would lead to a blocked scope");
        ranking.openings.retain(|o| !declined.contains(&o.stage));
        match assessment.decide(ranking) {
            Step::Ask(list) => {
                let next = &list[0];
                assert!(next.answers(next.candidate.id));
                // Of a look each thing is told by itself, as long as what was told before leaves it open.
                for member in assessment.alone(next) {
                    let id = member.candidate.id;
                    if !can_ask(knowledge, member.candidate.ask, moment.stage, &moment.known) {
                        assert!(member.candidate.id != next.candidate.id || next.look.is_some(), "{id}");
                        continue;
                    }
                    assert!(put.insert(id.to_owned()), "{id} was put twice");
                    let now = planner.assess(moment.clone()).expect("replies by their chances are possible");
                    let chances = match member.candidate.question {
                        Question::Factor(_) => member.outcomes.iter().map(|o| o.probability).collect(),
                        question => now.engine.chances(&[question]).remove(0),
                    };
                    reply(rng, knowledge, &mut moment, (id, member.candidate.question), &chances);
                }
            }
            Step::Open(opening) => {
                assert!(opening.stage > moment.stage);
                let way = way(knowledge, moment.stage, opening.stage);
                assert_eq!(forbidden(&way, motor, &moment.known), None);
                // Whoever declines to open the motor goes on with what is known.
                if rng.random::<f64>() < 0.15 {
                    declined.insert(opening.stage);
                } else {
                    moment.stage = opening.stage;
                }
            }
            Step::Stop(_) => return put.len(),
        }
    }
}

#[test]
fn consultations_with_random_replies_end_without_repeating_themselves() {
    let knowledge = knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
    let net = compile(&knowledge).belief().clone();
    let planner = Planner::new(&knowledge, net).expect("the network is small enough");
    let sealed = knowledge.motors.iter().find(|m| !m.rebuildable);
    let open = knowledge.motors.iter().find(|m| m.rebuildable);
    assert!(sealed.is_some() && open.is_some());
    let mut put = 0;
    for (seed, motor) in [None, open, sealed].into_iter().enumerate() {
        put += consult(&planner, &knowledge, motor, &mut StdRng::seed_from_u64(seed as u64));
    }
    assert!(put > 15, "only {put} questions in three consultations");
}
