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
use commsense::plan::stages::can_ask;
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
    let possible = chances.iter().enumerate().filter(|(_, c)| **c > 1e-9);
    let state = possible
        .map(|(state, chance)| {
            left -= chance;
            (state, left < 0.0)
        })
        .reduce(|held, next| if held.1 { held } else { next })
        .map_or(0, |s| s.0);
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

fn consult<'k>(planner: &Planner<'k>, knowledge: &'k Knowledge, motor: Option<&'k Motor>, rng: &mut StdRng) {
    let evidence = Evidence::none(&planner.net);
    let mut moment = Moment { motor, stage: 0, known: Known::default(), evidence };
    let questions = knowledge.factors.len() + knowledge.observations.len();
    let mut put: BTreeSet<String> = BTreeSet::new();
    loop {
        assert!(put.len() <= questions);
        let assessment = planner.assess(moment.clone()).expect("replies by their chances are possible");
        if let Some(best) = assessment.scope_rows().first() {
            assert_eq!(best.blocked, None, "the best of all scopes is blocked");
        }
        match assessment.step() {
            Step::Ask(list) => {
                let next = &list[0];
                let id = next.candidate.id;
                assert!(can_ask(knowledge, next.candidate.ask, moment.stage, &moment.known), "{id}");
                assert!(put.insert(id.to_owned()), "{id} was put twice");
                let chances: Vec<f64> = next.outcomes.iter().map(|o| o.probability).collect();
                reply(rng, knowledge, &mut moment, (id, next.candidate.question), &chances);
            }
            Step::Open(opening) => {
                assert!(opening.stage > moment.stage);
                assert_eq!(assessment.forbidden(opening.stage), None);
                // Whoever declines to open the motor further ends the consultation with what is known.
                if rng.random::<f64>() < 0.1 {
                    return;
                }
                moment.stage = opening.stage;
            }
            Step::Stop(_) => return,
        }
        for scope in assessment.scopes.iter() {
            if scope.blocked(&assessment.moment.known, assessment.faults()).is_some() {
                let index = assessment.scopes.iter().position(|s| s.scope.id == scope.scope.id);
                let ranking = assessment.ranking();
                let outcomes = ranking.here.iter().flat_map(|v| &v.outcomes);
                // What blocks it now is an answer or the motor, which no further answer takes back; a fault
                // above its limit may fall below it again.
                let for_good = scope.blocked(&assessment.moment.known, &vec![0.0; assessment.faults().len()]);
                assert!(for_good.is_none() || outcomes.into_iter().all(|o| o.scope != index));
            }
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
    for (seed, motor) in [None, None, open, sealed, sealed].into_iter().enumerate() {
        let mut rng = StdRng::seed_from_u64(seed as u64);
        (0..2).for_each(|_| consult(&planner, &knowledge, motor, &mut rng));
    }
}
