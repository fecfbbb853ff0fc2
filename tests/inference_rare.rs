//! Twenty and more rare findings at bench size against 256-bit arithmetic and another algorithm.
#![allow(clippy::unwrap_used, missing_docs)]

mod inference_support;

use commsense::inference::{Engine, InferenceError, Limits};
use commsense::network::{BeliefNet, Evidence, FactorModel, FaultModel, ObservationModel, Parent};
use inference_support::*;
use num_bigint::BigUint;
use std::collections::BTreeMap;

const BITS: u64 = 256;

/// A number of at least 0 with a mantissa of 256 bits.
#[derive(Clone)]
struct Wide {
    mantissa: BigUint,
    exponent: i64,
}

impl Wide {
    fn new(mantissa: BigUint, exponent: i64) -> Self {
        let extra = mantissa.bits().saturating_sub(BITS);
        Wide { mantissa: mantissa >> extra, exponent: exponent + extra as i64 }
    }

    /// Exactly the double (normal ones only).
    fn from(x: f64) -> Self {
        if x == 0.0 {
            return Wide { mantissa: BigUint::ZERO, exponent: 0 };
        }
        let bits = x.to_bits();
        let fraction = bits & ((1 << 52) - 1) | 1 << 52;
        Wide { mantissa: BigUint::from(fraction), exponent: (bits >> 52 & 0x7ff) as i64 - 1075 }
    }

    fn times(&self, other: &Wide) -> Wide {
        Wide::new(&self.mantissa * &other.mantissa, self.exponent + other.exponent)
    }

    fn plus(&self, other: &Wide) -> Wide {
        let (low, high) = if self.exponent < other.exponent { (self, other) } else { (other, self) };
        if low.mantissa == BigUint::ZERO {
            return high.clone();
        }
        if high.mantissa == BigUint::ZERO {
            return low.clone();
        }
        let up = (high.exponent - low.exponent) as u64;
        if up > 2 * BITS {
            return high.clone();
        }
        Wide::new((&high.mantissa << up) + &low.mantissa, low.exponent)
    }

    /// self / other as a double.
    fn over(&self, other: &Wide) -> f64 {
        let quotient = (&self.mantissa << 300u32) / &other.mantissa;
        let extra = quotient.bits().saturating_sub(64);
        let top = (&quotient >> extra).iter_u64_digits().next().unwrap_or(0) as f64;
        let exponent = self.exponent - other.exponent - 300 + extra as i64;
        top * 2f64.powi(exponent as i32)
    }

    fn log10(&self) -> f64 {
        let extra = self.mantissa.bits().saturating_sub(64);
        let top = (&self.mantissa >> extra).iter_u64_digits().next().unwrap_or(0) as f64;
        top.log10() + (self.exponent + extra as i64) as f64 * std::f64::consts::LOG10_2
    }
}

/// P(evidence) of a two-level network with roots only, optionally with one fault forced: faults are gone through one by one,
/// with a table from the set of findings explained so far to its weight.
fn probability(net: &BeliefNet, evidence: &Evidence, force: Option<usize>) -> Wide {
    let answers: Vec<(usize, usize)> = (evidence.observations.iter().enumerate())
        .filter_map(|(i, w)| Some((i, w.as_ref()?.iter().position(|&w| w > 0.0)?)))
        .collect();
    let sum = |masses: &[f64]| masses.iter().fold(Wide::from(0.0), |s, &m| s.plus(&Wide::from(m)));
    let effect = |j: usize, i: usize| {
        net.observations[i].causes.iter().find(|(p, _)| *p == Parent::Fault(j)).map(|(_, e)| e)
    };
    // For each answer: below its level, at it.
    let split = |masses: &[f64], level: usize| (sum(&masses[..level]), Wide::from(masses[level]));
    let mut scale = Wide::from(1.0);
    let mut start: Vec<(usize, Wide, Wide)> = Vec::new();
    for &(i, level) in &answers {
        let (below, at) = split(&net.observations[i].leak, level);
        if level == 0 { scale = scale.times(&at) } else { start.push((i, below, at)) }
    }
    let mut order: Vec<usize> = Vec::new();
    let linked = |j: usize| {
        start.iter().filter(|(i, _, _)| effect(j, *i).is_some()).map(|(i, _, _)| *i).collect::<Vec<_>>()
    };
    let mut left: Vec<usize> = (0..net.faults.len()).collect();
    while !left.is_empty() {
        // Next the fault that opens the fewest findings beyond those it closes.
        let cost = |&j: &usize| {
            let mut cost = 0i64;
            for i in linked(j) {
                let others: Vec<usize> =
                    (0..net.faults.len()).filter(|&o| o != j && effect(o, i).is_some()).collect();
                if !others.iter().any(|o| order.contains(o)) {
                    cost += 1;
                }
                if others.iter().all(|o| order.contains(o)) {
                    cost -= 2;
                }
            }
            (cost, j)
        };
        let next = *left.iter().min_by_key(|j| cost(j)).unwrap();
        left.retain(|&j| j != next);
        order.push(next);
    }
    let mut table: BTreeMap<u64, Wide> = BTreeMap::from([(0, scale)]);
    let mut opened = vec![false; start.len()];
    let add = |table: &mut BTreeMap<u64, Wide>, key: u64, value: Wide| {
        let sum = table.get(&key).map_or(value.clone(), |held| held.plus(&value));
        table.insert(key, sum);
    };
    for (at, &j) in order.iter().enumerate() {
        for (bit, (i, below, reached)) in start.iter().enumerate() {
            if !opened[bit] && effect(j, *i).is_some() {
                opened[bit] = true;
                let mut next = BTreeMap::new();
                for (set, weight) in &table {
                    add(&mut next, *set, weight.times(below));
                    add(&mut next, set | 1 << bit, weight.times(reached));
                }
                table = next;
            }
        }
        let mut present: BTreeMap<u64, Wide> = BTreeMap::new();
        let prior = Wide::from(net.faults[j].leak);
        for (set, weight) in &table {
            present.insert(*set, weight.times(&prior));
        }
        for &(i, level) in &answers {
            let Some(masses) = effect(j, i) else { continue };
            let (below, reached) = split(masses, level);
            let mut next = BTreeMap::new();
            for (set, weight) in &present {
                match start.iter().position(|(k, _, _)| *k == i) {
                    None => add(&mut next, *set, weight.times(&reached)),
                    Some(bit) if set >> bit & 1 == 1 => {
                        add(&mut next, *set, weight.times(&below.plus(&reached)))
                    }
                    Some(bit) => {
                        add(&mut next, *set, weight.times(&below));
                        add(&mut next, set | 1 << bit, weight.times(&reached));
                    }
                }
            }
            present = next;
        }
        let absent = Wide::from(1.0 - net.faults[j].leak);
        let mut next = present;
        if force != Some(j) {
            for (set, weight) in &table {
                add(&mut next, *set, weight.times(&absent));
            }
        }
        // Findings whose causes have all been seen must be explained by now.
        for (bit, (i, _, _)) in start.iter().enumerate() {
            let finished = opened[bit] && !order[at + 1..].iter().any(|&o| effect(o, *i).is_some());
            if finished {
                next.retain(|set, _| set >> bit & 1 == 1);
            }
        }
        // Explained and finished findings need no bit any more: they are 1 in every entry.
        table = next;
    }
    let mut total = Wide::from(0.0);
    for (_, weight) in table {
        total = total.plus(&weight);
    }
    for (bit, (_, _, reached)) in start.iter().enumerate() {
        if !opened[bit] {
            total = total.times(reached);
        }
    }
    total
}

fn rare_case(seed: u64, abnormal: usize) -> (BeliefNet, Evidence) {
    let size = Size {
        factors: 0,
        faults: 45,
        observations: 150,
        factor_links: 0.0,
        fault_links: 0,
        effect_links: 2.5,
        direct: 0.0,
        most_states: 3,
        rarity: 1e-5,
    };
    let mut dice = Dice(seed);
    let mut net = network(&mut dice, &size);
    for fault in &mut net.faults {
        fault.leak *= 1e-2;
    }
    let mut evidence = Evidence::none(&net);
    let chosen = dice.sample(150, 2 * abnormal);
    for (n, &i) in chosen.iter().enumerate() {
        let states = net.observations[i].states.len();
        let state = if n < abnormal { 1 + dice.below(states - 1) } else { 0 };
        evidence.observations[i] = plain(states, state);
    }
    (net, evidence)
}

#[test]
fn twenty_rare_findings_are_right_to_ten_digits() {
    for (seed, abnormal) in [(1, 20), (2, 22), (3, 25)] {
        let (net, evidence) = rare_case(seed, abnormal);
        let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
        let whole = probability(&net, &evidence, None);
        let got = engine.posterior();
        close("log10", got.log10_evidence, whole.log10(), 1e-10);
        let mut by_chance: Vec<usize> = (0..45).collect();
        by_chance.sort_by(|&a, &b| (got.faults[a] - 0.5).abs().total_cmp(&(got.faults[b] - 0.5).abs()));
        for &j in &by_chance[..4] {
            let want = probability(&net, &evidence, Some(j)).over(&whole);
            close(&format!("seed {seed} fault {j}"), got.faults[j], want, 1e-10);
        }
    }
}

/// Forty findings of 1e-9 each, which only the leaks explain, have a probability below 1e-300; forty that one fault
/// of 1e-9 explains are the other end.
#[test]
fn extreme_evidence_stays_exact() {
    let fault = FaultModel { id: "f".into(), leak: 1e-9, causes: vec![] };
    let mut net = BeliefNet { factors: vec![], faults: vec![fault], observations: vec![] };
    for (n, shown) in [1e-9, 0.9].into_iter().enumerate() {
        net.observations = (0..40)
            .map(|i| ObservationModel {
                id: format!("o{n}{i}"),
                states: vec!["no".into(), "yes".into()],
                leak: vec![1.0 - 1e-9, 1e-9],
                causes: vec![(Parent::Fault(0), vec![1.0 - shown, shown])],
            })
            .collect();
        let mut evidence = Evidence::none(&net);
        evidence.observations.fill(plain(2, 1));
        let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
        let with = 1e-9f64.log10() + 40.0 * (shown + (1.0 - shown) * 1e-9).log10();
        let without = -360.0 + (1.0f64 - 1e-9).log10();
        let want = with.max(without) + (1.0 + 10f64.powf(-(with - without).abs())).log10();
        let off = (engine.posterior().log10_evidence - want).abs();
        assert!(off < 1e-11 * want.abs(), "{} against {want}", engine.posterior().log10_evidence);
        let odds = 10f64.powf(with - without);
        let chance = if odds.is_finite() { odds / (1.0 + odds) } else { 1.0 };
        let relative = engine.posterior().faults[0] / chance;
        close("relative", relative, 1.0, 1e-10);
    }
}

#[test]
fn too_large_is_refused_quickly() {
    // A grid-like tangle: every finding is shared by many faults, all factors open.
    let size = Size {
        factors: 20,
        faults: 60,
        observations: 60,
        factor_links: 6.0,
        fault_links: 100,
        effect_links: 12.0,
        direct: 0.2,
        most_states: 3,
        rarity: 1.0,
    };
    let mut dice = Dice(5);
    let net = network(&mut dice, &size);
    let mut evidence = Evidence::none(&net);
    for (slot, model) in evidence.observations.iter_mut().zip(&net.observations).take(30) {
        *slot = plain(model.states.len(), 1);
    }
    match Engine::compile(&net, &evidence, &Limits { max_operations: 1_000_000 }) {
        Err(InferenceError::TooLarge { operations, limit }) => {
            assert!(operations > 1e6 && limit == 1e6);
        }
        other => panic!("not refused: {:?}", other.map(|e| e.operations())),
    }
}

/// A factor that rules a state out, a fault that can't be: the clash names just these answers.
#[test]
fn impossible_answers_are_named() {
    let states = || vec!["no".to_string(), "yes".to_string()];
    let seen = |id: &str, leak: f64, causes| ObservationModel {
        id: id.into(),
        states: states(),
        leak: vec![1.0 - leak, leak],
        causes,
    };
    let net = BeliefNet {
        factors: vec![FactorModel { id: "wet".into(), states: states(), prior: vec![0.7, 0.3] }],
        faults: vec![FaultModel { id: "rust".into(), leak: 0.0, causes: vec![(Parent::Factor(0, 1), 0.5)] }],
        observations: vec![
            seen("noise", 0.1, vec![]),
            seen("brown", 0.0, vec![(Parent::Fault(0), vec![0.2, 0.8])]),
            seen("smell", 0.1, vec![(Parent::Fault(0), vec![0.5, 0.5])]),
            seen("shine", 0.2, vec![(Parent::Fault(0), vec![0.0, 1.0])]),
        ],
    };
    let mut evidence = Evidence::none(&net);
    for i in [0, 1, 2] {
        evidence.observations[i] = plain(2, 1);
    }
    evidence.factors[0] = plain(2, 0);
    let clash = |evidence: &Evidence| match Engine::compile(&net, evidence, &Limits::default()) {
        Err(InferenceError::ImpossibleEvidence { clash }) => clash,
        other => panic!("{:?}", other.map(|e| e.posterior().clone())),
    };
    assert_eq!(clash(&evidence), ["wet", "brown"]);
    evidence.factors[0] = None;
    evidence.observations[3] = plain(2, 0);
    assert_eq!(clash(&evidence), ["brown", "shine"]);
}
