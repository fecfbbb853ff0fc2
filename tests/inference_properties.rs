//! What must hold for every network and every set of answers.
#![allow(clippy::unwrap_used, missing_docs)]

mod inference_support;

use commsense::inference::{
    Engine, InferenceError, Limits, Question, conflict, leave_one_out, singles, weights_of_evidence,
};
use commsense::network::{BeliefNet, Evidence};
use inference_support::*;
use proptest::prelude::*;

const MIDDLE: Size = Size {
    factors: 4,
    faults: 14,
    observations: 30,
    factor_links: 1.0,
    fault_links: 8,
    effect_links: 3.0,
    direct: 0.05,
    most_states: 4,
    rarity: 1.0,
};

fn compile(net: &BeliefNet, evidence: &Evidence) -> Engine {
    Engine::compile(net, evidence, &Limits::default()).unwrap()
}

fn is_chance(p: f64) -> bool {
    (0.0..=1.0).contains(&p)
}

/// The network with its observations in another order.
fn reordered(net: &BeliefNet, evidence: &Evidence, order: &[usize]) -> (BeliefNet, Evidence) {
    let mut out = (net.clone(), evidence.clone());
    out.0.observations = order.iter().map(|&i| net.observations[i].clone()).collect();
    out.1.observations = order.iter().map(|&i| evidence.observations[i].clone()).collect();
    out
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_240_229),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn order_of_answers_does_not_matter(seed in 0u64..1_000_000) {
        let mut dice = Dice(seed);
        let net = network(&mut dice, &MIDDLE);
        let evidence = consultation(&mut dice, &net, 5, 2);
        let order = dice.sample(30, 30);
        let (other, moved) = reordered(&net, &evidence, &order);
        let (one, two) = (compile(&net, &evidence), compile(&other, &moved));
        for (a, b) in one.posterior().faults.iter().zip(&two.posterior().faults) {
            prop_assert!((a - b).abs() < 1e-12);
        }
        prop_assert!((one.posterior().log10_evidence - two.posterior().log10_evidence).abs() < 1e-11);
    }

    #[test]
    fn removing_an_answer_equals_never_giving_it(seed in 0u64..1_000_000) {
        let mut dice = Dice(seed);
        let net = network(&mut dice, &MIDDLE);
        let mut evidence = consultation(&mut dice, &net, 5, 2);
        let never = compile(&net, &evidence);
        let open = evidence.observations.iter().position(Option::is_none).unwrap();
        let states = net.observations[open].states.len();
        evidence.observations[open] = plain(states, states - 1);
        let given = compile(&net, &evidence);
        prop_assert!(given.posterior() != never.posterior());
        evidence.observations[open] = None;
        let removed = compile(&net, &evidence);
        prop_assert_eq!(removed.posterior(), never.posterior());
        // A soft answer that prefers nothing says nothing.
        evidence.observations[open] = Some(vec![0.4; states]);
        for (a, b) in compile(&net, &evidence).posterior().faults.iter().zip(&never.posterior().faults) {
            prop_assert!((a - b).abs() < 1e-13);
        }
    }

    #[test]
    fn chances_stay_chances_with_many_rare_findings(seed in 0u64..1_000_000) {
        let mut dice = Dice(seed);
        let size = Size { faults: 40, observations: 120, effect_links: 2.5, rarity: 1e-6, fault_links: 5, ..MIDDLE };
        let net = network(&mut dice, &size);
        let mut evidence = Evidence::none(&net);
        for i in dice.sample(120, 25) {
            let states = net.observations[i].states.len();
            evidence.observations[i] = plain(states, 1 + dice.below(states - 1));
        }
        for (slot, model) in evidence.factors.iter_mut().zip(&net.factors) {
            *slot = plain(model.states.len(), 0);
        }
        let engine = match Engine::compile(&net, &evidence, &Limits::default()) {
            Ok(engine) => engine,
            Err(InferenceError::TooLarge { .. }) => return Err(TestCaseError::reject("too large")),
            Err(error) => return Err(TestCaseError::fail(error.to_string())),
        };
        let now = engine.posterior();
        prop_assert!(now.log10_evidence.is_finite() && now.log10_evidence < 0.0);
        prop_assert!(now.faults.iter().all(|&p| is_chance(p)) && is_chance(now.healthy));
        let open: Vec<Question> = (0..120)
            .filter(|&i| evidence.observations[i].is_none())
            .take(10)
            .map(Question::Observation)
            .collect();
        for prediction in engine.predict_all(&open) {
            let sum: f64 = prediction.probabilities.iter().sum();
            prop_assert!((sum - 1.0).abs() < 1e-9);
            prop_assert!(prediction.probabilities.iter().chain(prediction.given.iter().flatten()).all(|&p| is_chance(p)));
            // What the answers would say averages to what is known now.
            for j in 0..now.faults.len() {
                let mean: f64 = prediction.probabilities.iter().zip(&prediction.given).map(|(p, g)| p * g[j]).sum();
                prop_assert!((mean - now.faults[j]).abs() < 1e-9);
            }
        }
    }

    /// Everything that the one tape says about each answer left out, against a compilation without it.
    #[test]
    fn leaving_answers_out_is_the_same_as_never_having_had_them(seed in 0u64..1_000_000) {
        let mut dice = Dice(seed);
        let net = network(&mut dice, &MIDDLE);
        let mut evidence = consultation(&mut dice, &net, 6, 2);
        // Soft answers of all kinds: all states possible, only some, and worth more than 1.
        let soft = |dice: &mut Dice, states: usize, zero: Option<usize>| -> Option<Vec<f64>> {
            Some((0..states).map(|s| if zero == Some(s) { 0.0 } else { dice.between(0.1, 3.0) }).collect())
        };
        evidence.factors[0] = soft(&mut dice, net.factors[0].states.len(), None);
        evidence.factors[1] = soft(&mut dice, net.factors[1].states.len(), Some(0));
        for (i, zero) in dice.sample(30, 3).into_iter().zip([None, Some(0), Some(1)]) {
            evidence.observations[i] = soft(&mut dice, net.observations[i].states.len(), zero);
        }
        let limits = Limits::default();
        let whole = compile(&net, &evidence);
        let faults: Vec<usize> = (0..net.faults.len()).collect();
        let left_out = leave_one_out(&net, &evidence, &faults, &limits, &whole).unwrap();
        let unanswered = compile(&net, &Evidence::none(&net));
        let singles = singles(&net, &evidence, &limits, &unanswered).unwrap();
        let decibans = |p: f64| 10.0 * (p / (1.0 - p)).log10();
        let mut answers = left_out.iter().zip(&singles);
        let slots = (0..net.factors.len()).map(|j| (true, j)).chain((0..30).map(|i| (false, i)));
        for (factor, i) in slots {
            let (mut rest, mut alone) = (evidence.clone(), Evidence::none(&net));
            let (from, to, id) = if factor {
                (&mut rest.factors[i], &mut alone.factors[i], &net.factors[i].id)
            } else {
                (&mut rest.observations[i], &mut alone.observations[i], &net.observations[i].id)
            };
            let Some(weights) = from.take() else { continue };
            *to = Some(weights);
            let (one, single) = answers.next().unwrap();
            prop_assert_eq!(&one.answer, id);
            let without = compile(&net, &rest);
            let gap = one.log10_without - without.posterior().log10_evidence;
            prop_assert!(gap.abs() < 1e-11, "{id} {gap}");
            for &j in &faults {
                let want = decibans(whole.posterior().faults[j]) - decibans(without.posterior().faults[j]);
                prop_assert!((one.decibans[j] - want).abs() < 1e-8, "{id} {j} {} {want}", one.decibans[j]);
            }
            let want = compile(&net, &alone).posterior().log10_evidence;
            prop_assert!((single - want).abs() < 1e-9, "{id} {single} {want}");
        }
        prop_assert!(answers.next().is_none());
    }

    #[test]
    fn weights_of_evidence_are_likelihood_ratios(seed in 0u64..1_000_000) {
        let mut dice = Dice(seed);
        let size = Size { factors: 2, faults: 6, observations: 6, ..MIDDLE };
        let net = network(&mut dice, &size);
        let mut evidence = Evidence::none(&net);
        for (slot, model) in evidence.observations.iter_mut().zip(&net.observations).take(4) {
            *slot = plain(model.states.len(), dice.below(model.states.len()));
        }
        evidence.factors[0] = plain(net.factors[0].states.len(), 1);
        let fault = dice.below(6);
        let limits = Limits::default();
        let weights = weights_of_evidence(&net, &evidence, fault, &limits).unwrap();
        prop_assert_eq!(weights.len(), 5);
        let joint = |evidence: &Evidence, present: bool| {
            enumerate(&net, evidence, |_, faults| f64::from(u8::from(faults[fault] == present))).evidence
        };
        for (n, weight) in weights.iter().enumerate() {
            let mut without = evidence.clone();
            if n == 0 { without.factors[0] = None } else { without.observations[n - 1] = None }
            let ratio = (joint(&evidence, true) / joint(&without, true))
                / (joint(&evidence, false) / joint(&without, false));
            prop_assert!((weight.decibans - 10.0 * ratio.log10()).abs() < 1e-9, "{weight:?} {ratio}");
        }
        let mut product = 1.0;
        for n in 0..4 {
            let mut single = Evidence::none(&net);
            single.observations[n] = evidence.observations[n].clone();
            product *= enumerate(&net, &single, |_, _| 1.0).evidence;
        }
        product *= net.factors[0].prior[1];
        let want = (product / enumerate(&net, &evidence, |_, _| 1.0).evidence).log10();
        prop_assert!((conflict(&net, &evidence, &limits).unwrap() - want).abs() < 1e-10);
    }
}
