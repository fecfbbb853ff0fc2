//! Examples that were published with their numbers, each with its source.
#![allow(clippy::unwrap_used, missing_docs)]

mod inference_support;

use commsense::inference::{Engine, Limits, Question};
use commsense::network::{BeliefNet, Evidence, FactorModel, FaultModel, ObservationModel, Parent};
use inference_support::{Dice, Size, close, network, plain};

fn yes_no() -> Vec<String> {
    vec!["no".into(), "yes".into()]
}

/// One two-state observation under two-state factors that can be set by evidence.
fn noisy_or(leak: f64, strengths: &[f64]) -> BeliefNet {
    let factor = |i: usize| FactorModel { id: format!("cause{i}"), states: yes_no(), prior: vec![0.5, 0.5] };
    let causes = strengths.iter().enumerate();
    BeliefNet {
        factors: (0..strengths.len()).map(factor).collect(),
        faults: vec![],
        observations: vec![ObservationModel {
            id: "effect".into(),
            states: yes_no(),
            leak: vec![1.0 - leak, leak],
            causes: causes.map(|(i, s)| (Parent::Factor(i, 1), vec![1.0 - s, *s])).collect(),
        }],
    }
}

fn effect_given(net: &BeliefNet, causes: &[usize]) -> f64 {
    let mut evidence = Evidence::none(net);
    for (slot, &state) in evidence.factors.iter_mut().zip(causes) {
        *slot = plain(2, state);
    }
    let engine = Engine::compile(net, &evidence, &Limits::default()).unwrap();
    engine.predict(Question::Observation(0)).probabilities[1]
}

/// Russell & Norvig, Artificial Intelligence: A Modern Approach, noisy-OR table for fever: inhibitions cold 0.6, flu
/// 0.2, malaria 0.1.
#[test]
fn fever_table() {
    let net = noisy_or(0.0, &[0.4, 0.8, 0.9]);
    let table = [
        ([0, 0, 0], 0.0),
        ([0, 0, 1], 0.9),
        ([0, 1, 0], 0.8),
        ([0, 1, 1], 0.98),
        ([1, 0, 0], 0.4),
        ([1, 0, 1], 0.94),
        ([1, 1, 0], 0.88),
        ([1, 1, 1], 0.988),
    ];
    for (causes, fever) in table {
        close(&format!("{causes:?}"), effect_given(&net, &causes), fever, 1e-12);
    }
}

/// Leaky noisy-OR with leak 0.1 and strengths 0.2 and 0.4 *without* the leak (Diez, UAI 1993). Henrion's
/// parameters (UAI 1989) hold the leak already, here 0.28 and 0.46, and have to be converted; reading the
/// strengths as his would give 0.466667.
#[test]
fn leaky_noisy_or_uses_strengths_without_the_leak() {
    let net = noisy_or(0.1, &[0.2, 0.4]);
    for (causes, want) in [([0, 0], 0.10), ([1, 0], 0.28), ([0, 1], 0.46), ([1, 1], 0.568)] {
        close(&format!("{causes:?}"), effect_given(&net, &causes), want, 1e-12);
    }
    let with_leak = |p: f64| (p - 0.1) / 0.9;
    let converted = noisy_or(0.1, &[with_leak(0.28), with_leak(0.46)]);
    close("converted", effect_given(&converted, &[1, 1]), 0.568, 1e-12);
    let misread = noisy_or(0.1, &[with_leak(0.2), with_leak(0.4)]);
    close("misread", effect_given(&misread, &[1, 1]), 0.466_667, 1e-6);
}

/// The strength that makes a leaky noisy-OR with this leak reach `with`.
fn strength(leak: f64, with: f64) -> f64 {
    (with - leak) / (1.0 - leak)
}

/// Lauritzen & Spiegelhalter, J. R. Statist. Soc. B 50 (1988) 157-224, without dyspnoea, whose table is
/// not a noisy-OR. Tuberculosis *or* lung cancer is a noisy-OR that never fails.
fn asia() -> BeliefNet {
    let factor =
        |id: &str, yes: f64| FactorModel { id: id.into(), states: yes_no(), prior: vec![1.0 - yes, yes] };
    let fault = |id: &str, leak: f64, causes| FaultModel { id: id.into(), leak, causes };
    let (asia, smoke) = (Parent::Factor(0, 1), Parent::Factor(1, 1));
    let shown = strength(0.05, 0.98);
    BeliefNet {
        factors: vec![factor("asia", 0.01), factor("smoke", 0.5)],
        faults: vec![
            fault("tub", 0.01, vec![(asia, strength(0.01, 0.05))]),
            fault("lung", 0.01, vec![(smoke, strength(0.01, 0.10))]),
            fault("bronc", 0.30, vec![(smoke, strength(0.30, 0.60))]),
            fault("either", 0.0, vec![(Parent::Fault(0), 1.0), (Parent::Fault(1), 1.0)]),
        ],
        observations: vec![ObservationModel {
            id: "xray".into(),
            states: yes_no(),
            leak: vec![0.95, 0.05],
            causes: vec![(Parent::Fault(3), vec![1.0 - shown, shown])],
        }],
    }
}

/// Published: lung .055 and bronc .45 without evidence; the other figures by enumeration of the published tables.
#[test]
fn chest_clinic() {
    let net = asia();
    let none = Engine::compile(&net, &Evidence::none(&net), &Limits::default()).unwrap();
    let faults = [0.010_4, 0.055, 0.45, 0.064_828];
    for (got, want) in none.posterior().faults.iter().zip(faults) {
        close("no evidence", *got, want, 1e-9);
    }
    close("smoke", none.posterior().factors[1][1], 0.5, 1e-12);
    close("xray", none.predict(Question::Observation(0)).probabilities[1], 0.110_29, 5e-8);

    let mut evidence = Evidence::none(&net);
    evidence.observations[0] = plain(2, 1);
    let seen = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
    close("P(xray)", 10f64.powf(seen.posterior().log10_evidence), 0.110_29, 5e-8);
    let faults = [0.092_410_9, 0.488_711_4, 0.506_326_2, 0.576_039_7];
    for (got, want) in seen.posterior().faults.iter().zip(faults) {
        close("xray seen", *got, want, 1e-7);
    }
    close("smoke", seen.posterior().factors[1][1], 0.687_753_9, 1e-7);
    let after = none.predict(Question::Observation(0));
    for (got, want) in after.given[1].iter().zip(faults) {
        close("xray imagined", *got, want, 1e-7);
    }
}

/// Heckerman, "A tractable inference algorithm for diagnosing multiple diseases" (UAI 1989): P(F+, F-) is
/// the sum over subsets F' of F+ of (-1)^|F'| times the product, over the findings in F' and F-, of their leaks being silent, times
/// the product over the diseases of 1 - p + p x their silence about these findings.
#[test]
fn quickscore_formula() {
    let size = Size {
        factors: 0,
        faults: 9,
        observations: 10,
        factor_links: 0.0,
        fault_links: 0,
        effect_links: 3.0,
        direct: 0.0,
        most_states: 2,
        rarity: 1.0,
    };
    for seed in 0..20 {
        let mut dice = Dice(400 + seed);
        let net = network(&mut dice, &size);
        let mut evidence = Evidence::none(&net);
        let (mut present, mut absent) = (Vec::new(), Vec::new());
        for i in 0..net.observations.len() {
            let state = dice.below(2);
            evidence.observations[i] = plain(2, state);
            if state == 1 { present.push(i) } else { absent.push(i) }
        }
        let mut sum = 0.0;
        for subset in 0..1u32 << present.len() {
            let chosen = present.iter().enumerate().filter(|(n, _)| subset >> n & 1 == 1).map(|(_, &i)| i);
            let silent: Vec<usize> = chosen.chain(absent.iter().copied()).collect();
            let mut term: f64 = silent.iter().map(|&i| net.observations[i].leak[0]).product();
            for (j, fault) in net.faults.iter().enumerate() {
                let silence: f64 = (silent.iter().flat_map(|&i| &net.observations[i].causes))
                    .filter(|(cause, _)| *cause == Parent::Fault(j))
                    .map(|(_, effect)| effect[0])
                    .product();
                term *= 1.0 - fault.leak + fault.leak * silence;
            }
            sum += if subset.count_ones() % 2 == 0 { term } else { -term };
        }
        let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
        // The signed sum loses digits; ten findings leave it about six.
        let ratio = 10f64.powf(engine.posterior().log10_evidence) / sum;
        close(&format!("seed {seed}"), ratio, 1.0, 1e-5);
    }
}
