//! Looks against their members one by one, and against the sum over all possible motors.

use super::close;
use crate::inference::{Engine, Limits, Prediction, Question};
use crate::knowledge::{Knowledge, Look};
use crate::network::{BeliefNet, Evidence, Parent};
use crate::plan::assess::{Planner, Step};
use crate::plan::looks::{fallen, groups, in_order, own_minutes};
use crate::plan::questions::Valued;
use crate::plan::sample::{bench, moment, planner};

fn look(id: &str, minutes: f64, observations: &[&str]) -> Look {
    let observations = observations.iter().map(|o| (*o).to_string()).collect();
    let (name, question, how) = (id.to_string(), "What do you see?".into(), "Look at all of it.".into());
    Look { id: id.into(), name, question, how, minutes, observations }
}

fn with_looks(looks: Vec<Look>) -> Knowledge {
    Knowledge { looks, ..bench() }
}

/// Which causes hold in a motor with these states of its factors and these faults.
fn holds(parent: Parent, factors: &[usize], faults: &[bool]) -> bool {
    match parent {
        Parent::Fault(j) => faults[j],
        Parent::Factor(f, state) => factors[f] == state,
    }
}

/// Probability that an observation is in at most this state: the product over all that may raise it.
fn at_most(net: &BeliefNet, i: usize, state: usize, factors: &[usize], faults: &[bool]) -> f64 {
    let model = &net.observations[i];
    let sum = |effect: &[f64]| effect[..=state].iter().sum::<f64>();
    let causes = model.causes.iter().filter(|(parent, _)| holds(*parent, factors, faults));
    causes.fold(sum(&model.leak), |p, (_, effect)| p * sum(effect))
}

/// Every motor that there can be: its factors, its faults and its probability, the answers weighed in.
fn motors(net: &BeliefNet, evidence: &Evidence) -> Vec<(Vec<usize>, Vec<bool>, f64)> {
    let mut roots = vec![(Vec::new(), 1.0)];
    for (f, factor) in net.factors.iter().enumerate() {
        let weight = |s: usize| evidence.factors[f].as_ref().map_or(1.0, |w| w[s]) * factor.prior[s];
        let grown = |(states, p): &(Vec<usize>, f64)| -> Vec<(Vec<usize>, f64)> {
            let one = |s: usize| ([&states[..], &[s]].concat(), p * weight(s));
            (0..factor.prior.len()).map(one).collect()
        };
        roots = roots.iter().flat_map(grown).collect();
    }
    let mut out = Vec::new();
    for (factors, root) in roots {
        for bits in 0..1usize << net.faults.len() {
            let faults: Vec<bool> = (0..net.faults.len()).map(|j| bits >> j & 1 == 1).collect();
            let mut p = root;
            for (j, fault) in net.faults.iter().enumerate() {
                let causes = fault.causes.iter().filter(|(parent, _)| holds(*parent, &factors, &faults));
                let absent = causes.fold(1.0 - fault.leak, |p, (_, strength)| p * (1.0 - strength));
                p *= if faults[j] { 1.0 - absent } else { absent };
            }
            for (i, weights) in evidence.observations.iter().enumerate() {
                let Some(weights) = weights else { continue };
                let exactly = |s: usize| {
                    let below = if s == 0 { 0.0 } else { at_most(net, i, s - 1, &factors, &faults) };
                    at_most(net, i, s, &factors, &faults) - below
                };
                p *= weights.iter().enumerate().map(|(s, w)| w * exactly(s)).sum::<f64>();
            }
            out.push((factors.clone(), faults, p));
        }
    }
    out
}

/// What is foreseen of two observations at one go, summed over all motors: both lowest; the second higher with
/// the first lowest; the first higher, whatever the second is.
fn by_enumeration(net: &BeliefNet, evidence: &Evidence, first: usize, second: usize) -> Prediction {
    let states = |i: usize| net.observations[i].states.len();
    let answers = 1 + (states(second) - 1) + (states(first) - 1);
    let mut probabilities = vec![0.0; answers];
    let mut given = vec![vec![0.0; net.faults.len()]; answers];
    let mut whole = 0.0;
    for (factors, faults, weight) in motors(net, evidence) {
        whole += weight;
        let chance = |i: usize, s: usize| {
            let below = if s == 0 { 0.0 } else { at_most(net, i, s - 1, &factors, &faults) };
            at_most(net, i, s, &factors, &faults) - below
        };
        // Given the motor, observations are independent.
        let both = std::iter::once(chance(first, 0) * chance(second, 0));
        let later = (1..states(second)).map(|s| chance(first, 0) * chance(second, s));
        let sooner = (1..states(first)).map(|s| chance(first, s));
        for (k, p) in both.chain(later).chain(sooner).enumerate() {
            probabilities[k] += p * weight;
            for (j, present) in faults.iter().enumerate() {
                given[k][j] += if *present { p * weight } else { 0.0 };
            }
        }
    }
    for (p, faults) in probabilities.iter_mut().zip(&mut given) {
        faults.iter_mut().for_each(|f| *f /= *p);
        *p /= whole;
    }
    Prediction { probabilities, given }
}

fn observation_of(net: &BeliefNet, id: &str) -> usize {
    net.observations.iter().position(|o| o.id == id).expect("an observation")
}

#[test]
fn two_observations_at_one_go_are_what_the_sum_over_all_motors_says() {
    let knowledge = bench();
    let planner = planner(&knowledge);
    let net = &planner.net;
    for answers in [&[][..], &[("smell", "some")], &[("hand", "some"), ("can", "screwed")]] {
        let evidence = moment(&planner, 0, answers).evidence;
        let engine = Engine::compile(net, &evidence, &Limits::default()).expect("small");
        for (one, other) in [("power", "sight"), ("sight", "power"), ("run", "power"), ("sight", "run")] {
            let (first, second) = (observation_of(net, one), observation_of(net, other));
            let group = [Question::Observation(first), Question::Observation(second)];
            let wanted = by_enumeration(net, &evidence, first, second);
            let foreseen = &engine.predict_together(&[&group])[0];
            assert_eq!(foreseen.probabilities.len(), wanted.probabilities.len(), "{one}, {other}");
            for (k, p) in wanted.probabilities.iter().enumerate() {
                assert!(close(foreseen.probabilities[k], *p), "{answers:?} {one}, {other}: {k}: {p}");
                for (j, fault) in wanted.given[k].iter().enumerate() {
                    let found = foreseen.given[k][j];
                    assert!((found - fault).abs() < 1e-8, "{one}, {other}: {k}: {found}, not {fault}");
                }
            }
        }
    }
}

#[test]
fn a_group_of_one_is_that_question() {
    let knowledge = bench();
    let planner = planner(&knowledge);
    let engine = &planner.unanswered;
    let all = [Question::Factor(0), Question::Observation(0), Question::Observation(4)];
    let groups: Vec<&[Question]> = all.iter().map(std::slice::from_ref).collect();
    for (together, alone) in engine.predict_together(&groups).iter().zip(engine.predict_all(&all)) {
        assert_eq!(together, &alone);
    }
}

/// The question with this id, alone or in its look.
fn find<'r, 'k>(list: &'r [Valued<'k>], id: &str) -> &'r Valued<'k> {
    list.iter().find(|v| v.answers(id)).expect("it is put")
}

#[test]
fn a_look_of_which_one_question_is_open_is_that_question() {
    let knowledge = with_looks(vec![look("all", 0.6, &["power", "smell"])]);
    let planner = planner(&knowledge);
    // The smell is asked for only where power is missed: of the look, one question is open.
    for (answers, id, open) in
        [(&[][..], "power", vec!["power"]), (&[("power", "some")], "smell", vec!["smell"])]
    {
        let assessment = planner.assess(moment(&planner, 0, answers)).expect("possible");
        let ranking = assessment.ranking();
        let valued = find(&ranking.here, id);
        assert!(valued.look.is_none(), "{id}");
        assert_eq!(valued.together.iter().map(|c| c.id).collect::<Vec<_>>(), open);
        assert_eq!(valued.wording(), valued.candidate.ask.question);
        assert_eq!(valued.own_minutes(), 0.5, "its own minutes, not those of the look");
    }
}

#[test]
fn a_look_is_worth_at_least_as_much_as_the_best_of_it_would_tell() {
    let plain = {
        let mut knowledge = bench();
        knowledge.observations[1].ask.ask_when = None;
        knowledge
    };
    let knowledge = Knowledge { looks: vec![look("all", 0.7, &["power", "smell"])], ..plain.clone() };
    let (together, alone) = (planner(&knowledge), planner(&plain));
    let ranking = |planner: &Planner| -> Vec<(String, f64, f64)> {
        let assessment = planner.assess(moment(planner, 0, &[])).expect("possible");
        let here = assessment.ranking().here;
        here.iter().map(|v| (v.candidate.id.to_string(), v.bits, v.own_minutes())).collect()
    };
    let (with, without) = (ranking(&together), ranking(&alone));
    let of = |list: &[(String, f64, f64)], id: &str| list.iter().find(|v| v.0 == id).cloned();
    let look = of(&with, "power").expect("it leads the look");
    assert!(of(&with, "smell").is_none(), "it is part of the look");
    let (power, smell) = (of(&without, "power").expect("put"), of(&without, "smell").expect("put"));
    assert!(look.1 > power.1.max(smell.1), "{look:?}, {power:?}, {smell:?}");
    assert!(look.1 < power.1 + smell.1, "what both tell counts once");
    assert!(close(look.2, 0.7), "the look's own minutes: {look:?}");
}

#[test]
fn minutes_of_a_part_are_never_more_than_those_one_by_one() {
    let knowledge = with_looks(vec![look("all", 2.2, &["power", "run", "hand"])]);
    let planner = planner(&knowledge);
    let of = |ids: &[&str]| -> Vec<_> {
        ids.iter().map(|id| *planner.candidates.iter().find(|c| c.id == *id).expect("there")).collect()
    };
    let look = knowledge.looks.first();
    assert!(close(own_minutes(look, &of(&["power", "run", "hand"])), 2.2));
    assert!(close(own_minutes(look, &of(&["power", "hand"])), 1.0));
    assert!(close(own_minutes(None, &of(&["run"])), 2.0));
}

#[test]
fn groups_keep_looks_apart_and_everything_in_its_order() {
    let looks = vec![look("one", 1.0, &["power", "smell"]), look("other", 1.0, &["hand", "run"])];
    let knowledge = with_looks(looks);
    let planner = planner(&knowledge);
    let candidates = in_order(&planner.unanswered, planner.candidates.clone());
    let ids: Vec<&str> = candidates.iter().map(|c| c.id).collect();
    assert_eq!(ids.iter().position(|id| *id == "power"), Some(ids.len() - 1), "it is normal least often");
    let mut asked = Vec::new();
    for group in groups(candidates) {
        let members: Vec<&str> = group.members.iter().map(|c| c.id).collect();
        match group.look {
            Some(look) => assert!(members.iter().all(|m| look.observations.iter().any(|o| o == m))),
            None => assert_eq!(members.len(), 1),
        }
        assert!(members.is_sorted_by_key(|m| ids.iter().position(|id| id == m)), "{members:?}");
        asked.extend(members);
    }
    asked.sort_unstable();
    let mut all = ids.clone();
    all.sort_unstable();
    assert_eq!(asked, all, "each is put once");
}

#[test]
fn an_answer_falls_with_its_reason_when_another_one_rules_it_out() {
    // A motor that smells is not run.
    let knowledge = with_looks(vec![look("all", 1.0, &["smell", "run"])]);
    let planner = planner(&knowledge);
    let answers = |smell| moment(&planner, 2, &[("smell", smell), ("run", "some")]).known;
    let ids = ["run"];
    assert_eq!(fallen(&knowledge, &ids, 2, &answers("some")), [("run", Some("smell is some."))]);
    assert_eq!(fallen(&knowledge, &ids, 2, &answers("normal")), []);
    // What is asked at another stage falls without a reason of its own.
    assert_eq!(fallen(&knowledge, &ids, 0, &answers("normal")), [("run", None)]);
}

#[test]
fn a_look_is_put_first_when_one_of_it_has_to_be_settled() {
    let mut knowledge = with_looks(vec![look("all", 50.0, &["power", "hand"])]);
    knowledge.observations[2].ask.stage = "counter".into();
    knowledge.observations[0].ask.minutes = 400.0;
    knowledge.observations[2].ask.minutes = 400.0;
    for scope in &mut knowledge.scopes {
        scope.settle_first = vec!["hand".into()];
    }
    let planner = planner(&knowledge);
    let assessment = planner.assess(moment(&planner, 0, &[])).expect("possible");
    let ranking = assessment.ranking();
    assert!(find(&ranking.here, "hand").worth < 0.0, "not worth its minutes");
    let mut alone = ranking.clone();
    alone.here.retain(|v| v.answers("hand"));
    alone.openings.clear();
    let Step::Ask(list) = assessment.decide(alone) else { panic!("it has to be settled") };
    assert_eq!(list[0].look.map(|l| l.id.as_str()), Some("all"));
}
