//! Posteriors, predictions and expectations against plain enumeration.
#![allow(clippy::unwrap_used, missing_docs)]

mod inference_support;

use commsense::inference::{Cleared, Engine, Limits, Question};
use commsense::network::{BeliefNet, Evidence, Parent};
use inference_support::*;

const TOLERANCE: f64 = 1e-12;

fn small(dice: &mut Dice) -> Size {
    Size {
        factors: 1 + dice.below(4),
        faults: 2 + dice.below(7),
        observations: 4 + dice.below(5),
        factor_links: dice.between(0.5, 2.0),
        fault_links: dice.below(8),
        effect_links: dice.between(1.0, 5.0),
        direct: if dice.below(2) == 0 { 0.0 } else { 0.25 },
        most_states: 4,
        rarity: 1.0,
    }
}

/// Plain, soft and missing answers in all mixtures.
fn mixed_evidence(dice: &mut Dice, net: &BeliefNet) -> Evidence {
    let mut evidence = Evidence::none(net);
    let answer = |dice: &mut Dice, states: usize| match dice.below(5) {
        0 | 1 => None,
        2 => plain(states, 0),
        3 => plain(states, dice.below(states)),
        _ => {
            let mut weights: Vec<f64> =
                (0..states).map(|_| if dice.below(3) == 0 { 0.0 } else { dice.between(0.05, 3.0) }).collect();
            if dice.below(3) == 0 {
                weights[1] = weights[0];
            }
            if weights.iter().all(|&w| w == 0.0) {
                weights[states - 1] = 0.7;
            }
            Some(weights)
        }
    };
    for (slot, model) in evidence.observations.iter_mut().zip(&net.observations) {
        *slot = answer(dice, model.states.len());
    }
    for (slot, model) in evidence.factors.iter_mut().zip(&net.factors) {
        *slot = if dice.below(2) == 0 { None } else { answer(dice, model.states.len()) };
    }
    evidence
}

fn compare(engine: &Engine, net: &BeliefNet, evidence: &Evidence, what: &str) {
    let want = enumerate(net, evidence, |_, _| 1.0);
    let got = engine.posterior();
    close(&format!("{what} log10"), got.log10_evidence, want.evidence.log10(), TOLERANCE * 10.0);
    close(&format!("{what} healthy"), got.healthy, want.healthy, TOLERANCE);
    for (j, (g, w)) in got.faults.iter().zip(&want.faults).enumerate() {
        close(&format!("{what} fault {j}"), *g, *w, TOLERANCE);
    }
    for (f, (g, w)) in got.factors.iter().zip(&want.factors).enumerate() {
        for (g, w) in g.iter().zip(w) {
            close(&format!("{what} factor {f}"), *g, *w, TOLERANCE);
        }
    }
}

#[test]
fn small_networks_match_enumeration() {
    for seed in 0..200 {
        let mut dice = Dice(seed);
        let size = small(&mut dice);
        let net = network(&mut dice, &size);
        let evidence = mixed_evidence(&mut dice, &net);
        let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
        compare(&engine, &net, &evidence, &format!("seed {seed}"));
    }
}

#[test]
fn predictions_match_enumeration() {
    for seed in 1000..1025 {
        let mut dice = Dice(seed);
        let size = small(&mut dice);
        let net = network(&mut dice, &size);
        let evidence = mixed_evidence(&mut dice, &net);
        let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
        let whole = enumerate(&net, &evidence, |_, _| 1.0).evidence;
        let questions: Vec<Question> = (evidence.observations.iter().enumerate())
            .filter(|(_, w)| w.is_none())
            .map(|(i, _)| Question::Observation(i))
            .chain(
                (evidence.factors.iter().enumerate())
                    .filter(|(_, w)| w.is_none())
                    .map(|(f, _)| Question::Factor(f)),
            )
            .collect();
        let clears: Vec<Vec<f64>> =
            (0..3).map(|_| (0..net.faults.len()).map(|_| dice.between(0.0, 1.0)).collect()).collect();
        let cleared = |row: &[f64], faults: &[bool]| -> f64 {
            row.iter().zip(faults).filter(|(_, present)| **present).map(|(c, _)| c).product()
        };
        for (row, got) in clears.iter().zip(engine.chance_cleared(&clears)) {
            let want = enumerate(&net, &evidence, |_, faults| cleared(row, faults)).evidence / whole;
            close(&format!("seed {seed} cleared"), got, want, TOLERANCE);
        }
        for (question, got) in questions.iter().zip(engine.predict_all(&questions)) {
            assert_eq!(got, engine.predict(*question), "packing lanes makes no difference");
            let given = engine.chance_cleared_given(*question, &clears);
            for (state, given) in given.iter().enumerate() {
                let mut with = evidence.clone();
                match *question {
                    Question::Observation(i) => {
                        with.observations[i] = plain(got.probabilities.len(), state);
                    }
                    Question::Factor(f) => with.factors[f] = plain(got.probabilities.len(), state),
                }
                let want = enumerate(&net, &with, |_, _| 1.0);
                let what = format!("seed {seed} {question:?} state {state}");
                close(&what, got.probabilities[state], want.evidence / whole, TOLERANCE);
                // A level is a difference of two: its relative error grows as it gets rarer.
                let tolerance = TOLERANCE / (want.evidence / whole).min(1.0);
                for (g, w) in got.given[state].iter().zip(&want.faults) {
                    close(&what, *g, *w, tolerance);
                }
                for (row, g) in clears.iter().zip(given) {
                    let w = enumerate(&net, &with, |_, faults| cleared(row, faults)).evidence / want.evidence;
                    close(&format!("{what} cleared"), *g, w, tolerance);
                }
            }
        }
    }
}

/// A chain in which each fault causes the next, seen only at the end.
#[test]
fn a_chain_of_faults_matches_enumeration() {
    for seed in 0..20 {
        let mut dice = Dice(9000 + seed);
        let size = Size {
            factors: 2,
            faults: 9,
            observations: 3,
            factor_links: 0.4,
            fault_links: 0,
            effect_links: 1.0,
            direct: 0.1,
            most_states: 3,
            rarity: 1.0,
        };
        let mut net = network(&mut dice, &size);
        for j in 1..9 {
            net.faults[j].causes.push((Parent::Fault(j - 1), 0.6));
        }
        net.observations[0].causes.push((Parent::Fault(8), vec![0.1; 1].into_iter().chain([0.9]).collect()));
        net.observations[0].states.truncate(2);
        net.observations[0].leak = vec![0.97, 0.03];
        for (_, effect) in net.observations[0].causes.iter_mut() {
            *effect = vec![0.2, 0.8];
        }
        let mut evidence = Evidence::none(&net);
        evidence.observations[0] = plain(2, 1);
        let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
        compare(&engine, &net, &evidence, &format!("chain {seed}"));
    }
}

/// Draws come from the exact posterior: their means agree with the exact predictions as well as their
/// number allows.
#[test]
fn draws_agree_with_exact_predictions() {
    for seed in 3000..3010 {
        let mut dice = Dice(seed);
        let size = small(&mut dice);
        let net = network(&mut dice, &size);
        let evidence = mixed_evidence(&mut dice, &net);
        let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
        let draws = engine.draw(20_000, 7);
        assert_eq!(draws, engine.draw(20_000, 7), "the seed fixes the draws");
        for j in 0..net.faults.len() {
            let share =
                (0..draws.count()).filter(|&d| draws.faults(d).any(|f| f == j)).count() as f64 / 20_000.0;
            close(&format!("seed {seed} fault {j}"), share, engine.posterior().faults[j], 0.015);
        }
        let clears = vec![vec![0.3; net.faults.len()]];
        let cleared = Cleared::of(&draws, &clears);
        for i in (0..net.observations.len()).filter(|&i| evidence.observations[i].is_none()) {
            let question = Question::Observation(i);
            let (rough, exact) = (&engine.predict_from(&draws, &[question])[0], engine.predict(question));
            let (rough_clear, clear) = (
                engine.chance_cleared_from(&draws, question, &cleared),
                engine.chance_cleared_given(question, &clears),
            );
            for state in 0..exact.probabilities.len() {
                let chance = exact.probabilities[state];
                close(&format!("seed {seed} {question:?}"), rough.probabilities[state], chance, 0.015);
                let tolerance = 0.02 / chance.sqrt().max(1e-3);
                close("cleared", rough_clear[state][0], clear[state][0], tolerance);
                for (r, e) in rough.given[state].iter().zip(&exact.given[state]) {
                    close(&format!("seed {seed} {question:?} {state}"), *r, *e, tolerance);
                }
            }
        }
    }
}
