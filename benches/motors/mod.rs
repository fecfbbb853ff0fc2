//! Motors drawn from a network, with everything that is true of them.

use commsense::network::{BeliefNet, Evidence, Parent};
use rand::Rng;
use rand::rngs::StdRng;

/// A motor with everything that is true of it.
pub struct Motor {
    /// State of each factor.
    pub factors: Vec<usize>,
    /// Whether each fault is present.
    pub faults: Vec<bool>,
    /// State of each observation.
    pub observations: Vec<usize>,
}

impl Motor {
    /// Draws a motor as the network says that they are.
    pub fn draw(net: &BeliefNet, rng: &mut StdRng) -> Motor {
        let factors: Vec<usize> = net.factors.iter().map(|f| pick(rng, &f.prior)).collect();
        let mut faults = Vec::with_capacity(net.faults.len());
        for fault in &net.faults {
            let causes = fault.causes.iter().filter(|(p, _)| holds(*p, &factors, &faults));
            let absent = causes.fold(1.0 - fault.leak, |a, (_, s)| a * (1.0 - s));
            faults.push(rng.random::<f64>() >= absent);
        }
        let observations = (net.observations.iter())
            .map(|o| {
                let causes = o.causes.iter().filter(|(p, _)| holds(*p, &factors, &faults));
                let leak = pick(rng, &o.leak);
                causes.map(|(_, effect)| pick(rng, effect)).fold(leak, usize::max)
            })
            .collect();
        Motor { factors, faults, observations }
    }

    /// How many faults it has.
    pub fn count(&self) -> usize {
        self.faults.iter().filter(|f| **f).count()
    }
}

/// A plain answer: 1 for its state, 0 for the others.
pub fn plain(state: usize, states: usize) -> Option<Vec<f64>> {
    Some((0..states).map(|s| f64::from(u8::from(s == state))).collect())
}

/// Everything that is true of a motor but its faults.
#[allow(dead_code)]
pub fn everything(net: &BeliefNet, motor: &Motor) -> Evidence {
    let factors = motor.factors.iter().zip(&net.factors);
    let observations = motor.observations.iter().zip(&net.observations);
    Evidence {
        factors: factors.map(|(s, f)| plain(*s, f.states.len())).collect(),
        observations: observations.map(|(s, o)| plain(*s, o.states.len())).collect(),
    }
}

fn pick(rng: &mut StdRng, weights: &[f64]) -> usize {
    let mut left = rng.random::<f64>() * weights.iter().sum::<f64>();
    for (i, w) in weights.iter().enumerate() {
        left -= w;
        if left < 0.0 {
            return i;
        }
    }
    weights.len() - 1
}

fn holds(parent: Parent, factors: &[usize], faults: &[bool]) -> bool {
    match parent {
        Parent::Fault(f) => faults[f],
        Parent::Factor(f, s) => factors[f] == s,
    }
}
