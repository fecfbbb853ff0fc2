//! Published examples of the value of information, put as motors on a bench.
//!
//! A choice under doubt becomes a choice between doing nothing and a repair at a price. Only differences
//! between the two choices matter to the value of information, so that a constant may be added in each
//! state of nature: where `leave` is right it costs nothing, and the price of `mend` is what the other
//! choice would have lost.

use crate::knowledge::{Knowledge, Scope, Shop};
use crate::plan::sample::{
    ask, decision, factor, fault, follows, moment, observation, planner, repair, scope, stage,
};

/// What the answer to a question is expected to save, before its minutes.
fn saving(knowledge: &Knowledge, id: &str) -> f64 {
    let planner = planner(knowledge);
    let assessment = planner.assess(moment(&planner, 0, &[])).expect("nothing has been answered");
    let ranking = assessment.ranking();
    let valued = ranking.here.iter().find(|v| v.candidate.id == id).expect("it can be asked");
    valued.saving
}

fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} instead of {expected}");
}

/// Samuelson & Marks, Managerial Economics, ch. 13: P(wet) 0.4, payoffs +600 and -200 or nothing; a test
/// with P(good) 0.5, P(wet | good) 0.6, P(wet | bad) 0.2. Value of perfect information 120, of the test 20.
#[test]
fn drilling_or_not() {
    // "Wet" is the sound motor. Mending a sound one loses 600; leaving a faulty one 200 more than mending.
    let good = [0.75, 1.0 / 3.0];
    let dry = fault(
        "dry",
        0.6,
        &[("survey", &[good[1] / good[0], 1.0 - good[1] / good[0]]), ("truth", &[0.0, 1.0])],
    );
    let looks = vec![
        observation("survey", ask("counter", 0.0), &[good[0], 1.0 - good[0]]),
        observation("truth", ask("counter", 0.0), &[1.0, 0.0]),
    ];
    let knowledge = decision(600.0, 800.0, vec![dry], looks);
    near(saving(&knowledge, "survey"), 20.0, 1e-9);
    near(saving(&knowledge, "truth"), 120.0, 1e-9);
}

/// The oil wildcatter (Raiffa): priors 0.5, 0.3, 0.2 (dry, wet, soaking), net payoffs -70, 50, 200; chances of
/// the three seismic pictures 0.6 0.3 0.1, 0.3 0.4 0.3, 0.1 0.4 0.5. Perfect information is worth 35, the
/// seismic test 12.5. (Likelihoods as published; prior and payoffs from memory of the text.)
#[test]
fn the_oil_wildcatter() {
    // Pictures from the most promising on; each state's shares of them, made of the soaking ground's
    // (the leak) and the effect of the fault by the larger of the two.
    let up_to = |shares: [f64; 3]| [shares[0], shares[0] + shares[1]];
    let soaking = [0.5, 0.4, 0.1];
    let effect = |shares: [f64; 3]| {
        let (with, without) = (up_to(shares), up_to(soaking));
        let (first, second) = (with[0] / without[0], with[1] / without[1]);
        [first, second - first, 1.0 - second]
    };
    let (dry, wet) = (effect([0.1, 0.3, 0.6]), effect([0.3, 0.4, 0.3]));
    let ground = factor("ground", &[("soaking", 0.2), ("wet", 0.3), ("dry", 0.5)]);
    let faults = vec![
        follows(fault("dry-hole", 0.0, &[("picture", &dry)]), "ground", "dry"),
        follows(fault("wet-hole", 0.0, &[("picture", &wet)]), "ground", "wet"),
    ];
    let looks = vec![observation("picture", ask("counter", 0.0), &soaking)];
    // Leaving loses against mending 70 when dry, -50 when wet, -200 when soaking: with a come-back of 300
    // and a price of 200, doing nothing lets 0.9 of the dry ones and 0.5 of the wet ones come back.
    let mut knowledge = decision(200.0, 300.0, faults, looks);
    knowledge.factors.push(ground);
    knowledge.repairs[0] = repair("nothing", "counter", 0.0, 0.0, &[("dry-hole", 0.1), ("wet-hole", 0.5)]);
    near(saving(&knowledge, "picture"), 12.5, 1e-9);
    near(saving(&knowledge, "ground"), 35.0, 1e-9);
}

/// The umbrella network: utilities 100, 0, 20, 70 and a forecast that is good with 0.59; best expected
/// utility 70 without it, 95 or 53 with it; value 7.78. The printed 53 is rounded, hence the tolerance.
#[test]
fn taking_the_umbrella() {
    // Chance of fine weather 0.7 and 0.95 after a good forecast follow from the utilities.
    let good = [0.59 * 0.95 / 0.7, 0.59 * 0.05 / 0.3];
    let rain = fault("rain", 0.3, &[("forecast", &[good[1] / good[0], 1.0 - good[1] / good[0]])]);
    let looks = vec![observation("forecast", ask("counter", 0.0), &[good[0], 1.0 - good[0]])];
    // Taking it in fine weather loses 80, leaving it in rain 70.
    near(saving(&decision(80.0, 150.0, vec![rain], looks), "forecast"), 7.78, 0.01);
}

/// Russell & Norvig, the value of information: one of n blocks holds oil worth C, each costs C/n; a perfect survey
/// of one block is worth C/n. Here n = 10 and C = 1 000 000.
#[test]
fn surveying_one_block_of_ten() {
    let (blocks, oil) = (10, 1_000_000.0);
    let names: Vec<String> = (0..blocks).map(|i| format!("block-{i}")).collect();
    let chances: Vec<(&str, f64)> = names.iter().map(|n| (n.as_str(), 0.1)).collect();
    let hole = |name: &String| {
        let shows: &[(&str, &[f64])] = if name == "block-3" { &[("survey", &[0.0, 1.0])] } else { &[] };
        follows(fault(&format!("at-{name}"), 0.0, shows), "where", name)
    };
    let buy = |name: &String| repair(name, "counter", 0.0, oil / 10.0, &[(&*format!("at-{name}"), 1.0)]);
    let offer = |name: &String| -> Scope { scope(&format!("buy-{name}"), &[name], &[]) };
    let knowledge = Knowledge {
        shop: Shop { labour_per_minute: 1.0, come_back: oil, ..Shop::default() },
        stages: vec![stage("counter", 0.0, 0.0)],
        factors: vec![factor("where", &chances)],
        faults: names.iter().map(hole).collect(),
        observations: vec![observation("survey", ask("counter", 0.0), &[1.0, 0.0])],
        repairs: names.iter().map(buy).collect(),
        scopes: names.iter().map(offer).collect(),
        ..Knowledge::default()
    };
    near(saving(&knowledge, "survey"), 100_000.0, 1e-3);
}
