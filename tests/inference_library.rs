//! Posteriors that a general-purpose library computed once, from the exported form of the network.
//!
//! `tests/data/inference/posteriors.py` made `posteriors.json` there; library and version stand in it.
#![allow(clippy::unwrap_used, missing_docs)]

mod inference_support;

use commsense::inference::{Engine, Limits, Question};
use commsense::network::{BeliefNet, Evidence};
use inference_support::*;
use serde_json::{Value, json};
use std::path::PathBuf;

const CASES: u64 = 7;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/inference")
}

fn six_digits(x: f64) -> f64 {
    (x * 1e6).round() / 1e6
}

/// Short decimals, which every program reads as the same double.
fn to_six_digits(net: &mut BeliefNet) {
    let distribution = |masses: &mut [f64]| {
        masses.iter_mut().for_each(|m| *m = six_digits(*m));
        masses[0] = six_digits(1.0 - masses[1..].iter().sum::<f64>());
    };
    net.factors.iter_mut().for_each(|f| distribution(&mut f.prior));
    for fault in &mut net.faults {
        fault.leak = six_digits(fault.leak);
        fault.causes.iter_mut().for_each(|(_, strength)| *strength = six_digits(*strength));
    }
    for seen in &mut net.observations {
        distribution(&mut seen.leak);
        seen.causes.iter_mut().for_each(|(_, effect)| distribution(effect));
    }
}

fn seeded(n: u64) -> (BeliefNet, Evidence) {
    let mut dice = Dice(31 * n + 5);
    let size = Size {
        factors: 4 + n as usize % 3,
        faults: 14 + n as usize,
        observations: 24,
        factor_links: 1.3,
        fault_links: 9,
        effect_links: 3.0,
        direct: 0.04,
        most_states: 4,
        rarity: 0.3,
    };
    let mut net = network(&mut dice, &size);
    to_six_digits(&mut net);
    let mut evidence = consultation(&mut dice, &net, 4 + n as usize % 4, 3);
    // One reading spread over its bands, one factor half known.
    let spread = evidence.observations.iter().position(Option::is_none).unwrap();
    let states = net.observations[spread].states.len();
    evidence.observations[spread] = Some((0..states).map(|_| six_digits(dice.between(0.05, 1.0))).collect());
    let half = evidence.factors.iter().position(Option::is_none).unwrap();
    evidence.factors[half] =
        Some((0..net.factors[half].states.len()).map(|_| six_digits(dice.between(0.1, 1.0))).collect());
    (net, evidence)
}

fn case(net: &BeliefNet, evidence: &Evidence) -> Value {
    let factors = net.factors.iter().map(|f| &f.id).zip(&evidence.factors);
    let seen = net.observations.iter().map(|o| &o.id).zip(&evidence.observations);
    let answers: serde_json::Map<String, Value> =
        factors.chain(seen).filter_map(|(id, w)| Some((id.clone(), json!(w.as_ref()?)))).collect();
    json!({"network": to_json(net), "evidence": answers})
}

fn read(name: &str) -> Value {
    serde_json::from_str(&std::fs::read_to_string(folder().join(name)).unwrap()).unwrap()
}

/// The stored networks are what the fixed seeds give. To make them anew, run this test with
/// COMMSENSE_WRITE_CASES set, then the script.
#[test]
fn stored_networks_are_the_seeded_ones() {
    for n in 0..CASES {
        let (net, evidence) = seeded(n);
        let name = format!("case-{n}.json");
        let made = case(&net, &evidence);
        if std::env::var_os("COMMSENSE_WRITE_CASES").is_some() {
            std::fs::write(folder().join(&name), serde_json::to_string_pretty(&made).unwrap() + "\n")
                .unwrap();
        }
        assert!(read(&name) == made, "{name} is not what its seed gives");
    }
}

#[test]
fn posteriors_agree_with_the_library() {
    let stored = read("posteriors.json");
    assert_eq!(stored["cases"].as_object().unwrap().len() as u64, CASES);
    for n in 0..CASES {
        let name = format!("case-{n}.json");
        let net = from_json(&read(&name)["network"]);
        let (same, evidence) = seeded(n);
        assert!(net == same, "{name} reads as another network");
        let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
        let want = &stored["cases"][&name];
        let chance = want["evidence"].as_f64().unwrap();
        close(&format!("{name} log10"), engine.posterior().log10_evidence, chance.log10(), 1e-9);
        let row = |id: &str| -> Vec<f64> {
            want["posteriors"][id].as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
        };
        for (fault, got) in net.faults.iter().zip(&engine.posterior().faults) {
            close(&format!("{name} {}", fault.id), *got, row(&fault.id)[1], 1e-9);
        }
        for (factor, got) in net.factors.iter().zip(&engine.posterior().factors) {
            for (g, w) in got.iter().zip(row(&factor.id)) {
                close(&format!("{name} {}", factor.id), *g, w, 1e-9);
            }
        }
        for (i, model) in
            net.observations.iter().enumerate().filter(|(i, _)| evidence.observations[*i].is_none())
        {
            for (g, w) in engine.predict(Question::Observation(i)).probabilities.iter().zip(row(&model.id)) {
                close(&format!("{name} {}", model.id), *g, w, 1e-9);
            }
        }
    }
}
