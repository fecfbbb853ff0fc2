//! Random networks from fixed seeds, and posteriors by plain enumeration.
#![allow(dead_code, clippy::unwrap_used, missing_docs)]

use commsense::network::{BeliefNet, Evidence, FactorModel, FaultModel, ObservationModel, Parent};

/// SplitMix64 (Steele, Lea & Flood 2014): small, and the same everywhere.
#[derive(Clone)]
pub struct Dice(pub u64);

impl Dice {
    pub fn word(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn unit(&mut self) -> f64 {
        (self.word() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn below(&mut self, n: usize) -> usize {
        (self.word() % n as u64) as usize
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Index drawn from a distribution.
    pub fn pick(&mut self, chances: &[f64]) -> usize {
        let mut left = self.unit();
        for (i, p) in chances.iter().enumerate() {
            left -= p;
            if left < 0.0 {
                return i;
            }
        }
        chances.len() - 1
    }

    /// Different numbers below `n`.
    pub fn sample(&mut self, n: usize, count: usize) -> Vec<usize> {
        let mut all: Vec<usize> = (0..n).collect();
        let count = count.min(n);
        for i in 0..count {
            let j = i + self.below(n - i);
            all.swap(i, j);
        }
        all.truncate(count);
        all
    }
}

/// How large a random network is.
#[derive(Clone, Copy)]
pub struct Size {
    pub factors: usize,
    pub faults: usize,
    pub observations: usize,
    /// Mean number of factors that cause a fault.
    pub factor_links: f64,
    /// Links from fault to fault in all.
    pub fault_links: usize,
    /// Mean number of faults that cause an observation.
    pub effect_links: f64,
    /// Chance that a factor causes an observation directly.
    pub direct: f64,
    /// Most states of an observation.
    pub most_states: usize,
    /// Leaks of observations are multiplied by this.
    pub rarity: f64,
}

fn effect(dice: &mut Dice, states: usize) -> Vec<f64> {
    let shown = dice.between(0.1, 0.95);
    spread(dice, states, shown)
}

fn spread(dice: &mut Dice, states: usize, abnormal: f64) -> Vec<f64> {
    let parts: Vec<f64> = (1..states).map(|_| dice.between(0.1, 1.0)).collect();
    let sum: f64 = parts.iter().sum();
    let mut out = vec![1.0 - abnormal];
    out.extend(parts.iter().map(|p| abnormal * p / sum));
    out
}

fn names(kind: &str, count: usize) -> Vec<String> {
    (0..count).map(|i| format!("{kind}{i}")).collect()
}

pub fn network(dice: &mut Dice, size: &Size) -> BeliefNet {
    let mut net = BeliefNet::default();
    for id in names("factor", size.factors) {
        let states = 2 + dice.below(2);
        let abnormal = dice.between(0.05, 0.5);
        net.factors.push(FactorModel {
            id,
            states: names("s", states),
            prior: spread(dice, states, abnormal),
        });
    }
    for id in names("fault", size.faults) {
        let leak = 10f64.powf(dice.between(-2.5, -1.0));
        net.faults.push(FaultModel { id, leak, causes: vec![] });
    }
    for j in 0..size.faults {
        for f in 0..size.factors {
            if dice.unit() < size.factor_links / size.factors as f64 {
                for s in 1..net.factors[f].states.len() {
                    let strength = dice.between(0.02, 0.5);
                    net.faults[j].causes.push((Parent::Factor(f, s), strength));
                }
            }
        }
    }
    let mut links = 0;
    while size.faults > 1 && links < size.fault_links {
        let child = 1 + dice.below(size.faults - 1);
        let cause = dice.below(child);
        let strength = dice.between(0.03, 0.5);
        let causes = &mut net.faults[child].causes;
        if !causes.iter().any(|(p, _)| *p == Parent::Fault(cause)) {
            causes.push((Parent::Fault(cause), strength));
        }
        links += 1;
    }
    for id in names("seen", size.observations) {
        let states = 2 + dice.below(size.most_states - 1);
        let abnormal = dice.between(0.005, 0.05) * size.rarity;
        let mut model = ObservationModel {
            id,
            states: names("s", states),
            leak: spread(dice, states, abnormal),
            causes: vec![],
        };
        let count = (size.effect_links * dice.between(0.5, 1.5)).round().max(1.0) as usize;
        for j in dice.sample(size.faults, count) {
            model.causes.push((Parent::Fault(j), effect(dice, states)));
        }
        for f in 0..size.factors {
            if dice.unit() < size.direct {
                let s = 1 + dice.below(net.factors[f].states.len() - 1);
                model.causes.push((Parent::Factor(f, s), effect(dice, states)));
            }
        }
        net.observations.push(model);
    }
    net
}

pub fn plain(states: usize, state: usize) -> Option<Vec<f64>> {
    let mut weights = vec![0.0; states];
    weights[state] = 1.0;
    Some(weights)
}

/// A motor drawn from the network: states of factors, faults and observations.
pub fn draw(dice: &mut Dice, net: &BeliefNet, force: &[usize]) -> (Vec<usize>, Vec<bool>, Vec<usize>) {
    let factors: Vec<usize> = net.factors.iter().map(|f| dice.pick(&f.prior)).collect();
    let mut faults = vec![false; net.faults.len()];
    for (j, model) in net.faults.iter().enumerate() {
        let mut absent = 1.0 - model.leak;
        for &(cause, strength) in &model.causes {
            if holds(cause, &factors, &faults) {
                absent *= 1.0 - strength;
            }
        }
        faults[j] = dice.unit() >= absent || force.contains(&j);
    }
    let seen = (net.observations.iter())
        .map(|model| {
            let mut state = dice.pick(&model.leak);
            for (cause, effect) in &model.causes {
                if holds(*cause, &factors, &faults) {
                    state = state.max(dice.pick(effect));
                }
            }
            state
        })
        .collect();
    (factors, faults, seen)
}

/// Evidence as a bench would give it: a motor with a few faults, `abnormal` of its findings that are not
/// normal, as many normal ones, and all factors but `open` answered.
pub fn consultation(dice: &mut Dice, net: &BeliefNet, abnormal: usize, open: usize) -> Evidence {
    let mut evidence = Evidence::none(net);
    loop {
        let force = {
            let n = 1 + dice.below(3);
            dice.sample(net.faults.len(), n)
        };
        let (factors, _, seen) = draw(dice, net, &force);
        let mut high: Vec<usize> = (0..seen.len()).filter(|&i| seen[i] > 0).collect();
        if high.len() < abnormal {
            // Not enough to see: add findings that nothing but the leak explains.
            let others: Vec<usize> = (0..seen.len()).filter(|&i| seen[i] == 0).collect();
            let short = abnormal - high.len();
            if short > others.len() || short > abnormal / 3 {
                continue;
            }
            high.extend(dice.sample(others.len(), short).into_iter().map(|i| others[i]));
        }
        for i in dice.sample(high.len(), abnormal) {
            let i = high[i];
            evidence.observations[i] = plain(net.observations[i].states.len(), seen[i].max(1));
        }
        let low: Vec<usize> =
            (0..seen.len()).filter(|&i| seen[i] == 0 && evidence.observations[i].is_none()).collect();
        for i in dice.sample(low.len(), abnormal) {
            evidence.observations[low[i]] = plain(net.observations[low[i]].states.len(), 0);
        }
        let answered = net.factors.len() - open.min(net.factors.len());
        for f in dice.sample(net.factors.len(), answered) {
            evidence.factors[f] = plain(net.factors[f].states.len(), factors[f]);
        }
        return evidence;
    }
}

pub fn holds(cause: Parent, factors: &[usize], faults: &[bool]) -> bool {
    match cause {
        Parent::Fault(j) => faults[j],
        Parent::Factor(f, state) => factors[f] == state,
    }
}

/// Everything, by summing over every configuration of factors and faults.
pub struct Enumerated {
    pub evidence: f64,
    pub faults: Vec<f64>,
    pub factors: Vec<Vec<f64>>,
    pub healthy: f64,
}

/// `extra` multiplies the weight of a configuration.
pub fn enumerate(
    net: &BeliefNet,
    evidence: &Evidence,
    extra: impl Fn(&[usize], &[bool]) -> f64,
) -> Enumerated {
    let mut out = Enumerated {
        evidence: 0.0,
        faults: vec![0.0; net.faults.len()],
        factors: net.factors.iter().map(|f| vec![0.0; f.states.len()]).collect(),
        healthy: 0.0,
    };
    let count: usize = net.factors.iter().map(|f| f.states.len()).product();
    for mut index in 0..count {
        let mut factors = Vec::new();
        let mut weight = 1.0;
        for (f, model) in net.factors.iter().enumerate() {
            let state = index % model.states.len();
            index /= model.states.len();
            weight *= model.prior[state] * evidence.factors[f].as_ref().map_or(1.0, |w| w[state]);
            factors.push(state);
        }
        for bits in 0..1u64 << net.faults.len() {
            let faults: Vec<bool> = (0..net.faults.len()).map(|j| bits >> j & 1 == 1).collect();
            let mut w = weight;
            for (j, model) in net.faults.iter().enumerate() {
                let mut absent = 1.0 - model.leak;
                for &(cause, strength) in &model.causes {
                    if holds(cause, &factors, &faults) {
                        absent *= 1.0 - strength;
                    }
                }
                w *= if faults[j] { 1.0 - absent } else { absent };
            }
            for (model, weights) in net.observations.iter().zip(&evidence.observations) {
                let Some(weights) = weights else { continue };
                w *= distribution(model, &factors, &faults)
                    .iter()
                    .zip(weights)
                    .map(|(p, w)| p * w)
                    .sum::<f64>();
            }
            w *= extra(&factors, &faults);
            out.evidence += w;
            for (f, &state) in factors.iter().enumerate() {
                out.factors[f][state] += w;
            }
            for (j, &present) in faults.iter().enumerate() {
                if present {
                    out.faults[j] += w;
                }
            }
            if bits == 0 {
                out.healthy += w;
            }
        }
    }
    out.faults.iter_mut().chain(out.factors.iter_mut().flatten()).for_each(|p| *p /= out.evidence);
    out.healthy /= out.evidence;
    out
}

/// Distribution of an observation over its states: the largest of independent draws, pair by pair.
pub fn distribution(model: &ObservationModel, factors: &[usize], faults: &[bool]) -> Vec<f64> {
    let mut held = model.leak.clone();
    for (cause, effect) in &model.causes {
        if holds(*cause, factors, faults) {
            let mut next = vec![0.0; held.len()];
            for (i, p) in held.iter().enumerate() {
                for (k, q) in effect.iter().enumerate() {
                    next[i.max(k)] += p * q;
                }
            }
            held = next;
        }
    }
    held
}

#[track_caller]
pub fn close(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!(
        (got - want).abs() <= tolerance,
        "{what}: got {got:.17}, want {want:.17}, off by {:e}",
        got - want
    );
}

/// Reads a network in the shape of `knowledge export`.
pub fn from_json(root: &serde_json::Value) -> BeliefNet {
    let text = |v: &serde_json::Value| v.as_str().unwrap().to_string();
    let numbers = |v: &serde_json::Value| -> Vec<f64> {
        v.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
    };
    let texts = |v: &serde_json::Value| -> Vec<String> { v.as_array().unwrap().iter().map(text).collect() };
    let list = |key: &str| root[key].as_array().unwrap().clone();
    let mut net = BeliefNet::default();
    for f in list("factors") {
        net.factors.push(FactorModel {
            id: text(&f["id"]),
            states: texts(&f["states"]),
            prior: numbers(&f["prior"]),
        });
    }
    let fault_ids: Vec<String> = list("faults").iter().map(|f| text(&f["id"])).collect();
    let parent = |net: &BeliefNet, cause: &serde_json::Value| -> Parent {
        let id = text(&cause["parent"]);
        match cause["state"].as_str() {
            None => Parent::Fault(fault_ids.iter().position(|f| *f == id).unwrap()),
            Some(state) => {
                let f = net.factors.iter().position(|f| f.id == id).unwrap();
                Parent::Factor(f, net.factors[f].states.iter().position(|s| s == state).unwrap())
            }
        }
    };
    for f in list("faults") {
        let causes = f["causes"].as_array().unwrap();
        let causes = causes.iter().map(|c| (parent(&net, c), c["strength"].as_f64().unwrap())).collect();
        net.faults.push(FaultModel { id: text(&f["id"]), leak: f["leak"].as_f64().unwrap(), causes });
    }
    for o in list("observations") {
        let causes = o["causes"].as_array().unwrap();
        let causes = causes.iter().map(|c| (parent(&net, c), numbers(&c["effect"]))).collect();
        net.observations.push(ObservationModel {
            id: text(&o["id"]),
            states: texts(&o["states"]),
            leak: numbers(&o["leak"]),
            causes,
        });
    }
    net
}

/// Writes a network in the shape of `knowledge export`.
pub fn to_json(net: &BeliefNet) -> serde_json::Value {
    use serde_json::json;
    let cause = |parent: Parent| match parent {
        Parent::Fault(j) => (net.faults[j].id.clone(), serde_json::Value::Null),
        Parent::Factor(f, s) => (net.factors[f].id.clone(), json!(net.factors[f].states[s])),
    };
    let factors: Vec<_> =
        (net.factors.iter()).map(|f| json!({"id": f.id, "states": f.states, "prior": f.prior})).collect();
    let faults: Vec<_> = (net.faults.iter())
        .map(|f| {
            let causes: Vec<_> = (f.causes.iter())
                .map(|&(p, strength)| {
                    let (parent, state) = cause(p);
                    json!({"parent": parent, "state": state, "strength": strength})
                })
                .collect();
            json!({"id": f.id, "leak": f.leak, "causes": causes})
        })
        .collect();
    let observations: Vec<_> = (net.observations.iter())
        .map(|o| {
            let causes: Vec<_> = (o.causes.iter())
                .map(|(p, effect)| {
                    let (parent, state) = cause(*p);
                    json!({"parent": parent, "state": state, "effect": effect})
                })
                .collect();
            json!({"id": o.id, "states": o.states, "leak": o.leak, "causes": causes})
        })
        .collect();
    json!({"format": "commsense/network/1", "factors": factors, "faults": faults, "observations": observations})
}
