//! Refuses networks and evidence that no computation could be right about.

use super::error::InferenceError;
use crate::network::{BeliefNet, Evidence, Parent};

/// How far a distribution may be from summing to 1 before it is refused.
const SUM_TOLERANCE: f64 = 1e-6;

fn wrong(text: String) -> Result<(), InferenceError> {
    Err(InferenceError::Shape(text))
}

fn chance(p: f64, of: &str) -> Result<(), InferenceError> {
    if (0.0..=1.0).contains(&p) {
        return Ok(());
    }
    wrong(format!("{of}: a chance must be a number from 0 to 1, not {p}"))
}

fn distribution(values: &[f64], states: usize, of: &str) -> Result<(), InferenceError> {
    if values.len() != states {
        return wrong(format!("{of}: {} chances for {states} states", values.len()));
    }
    for &p in values {
        chance(p, of)?;
    }
    let sum: f64 = values.iter().sum();
    if (sum - 1.0).abs() > SUM_TOLERANCE {
        return wrong(format!("{of}: the chances of its states must sum to 1, not {sum}"));
    }
    Ok(())
}

fn parent(net: &BeliefNet, parent: Parent, below: usize, of: &str) -> Result<(), InferenceError> {
    let known = match parent {
        Parent::Fault(j) => j < below,
        Parent::Factor(j, state) => net.factors.get(j).is_some_and(|f| state < f.states.len()),
    };
    if known {
        return Ok(());
    }
    wrong(format!("{of}: {parent:?} is not a cause it can have (causes stand before their effects)"))
}

/// Lengths, indices and chances of the network.
pub(super) fn network(net: &BeliefNet) -> Result<(), InferenceError> {
    for factor in &net.factors {
        distribution(&factor.prior, factor.states.len(), &factor.id)?;
    }
    for (j, fault) in net.faults.iter().enumerate() {
        chance(fault.leak, &fault.id)?;
        for &(cause, strength) in &fault.causes {
            chance(strength, &fault.id)?;
            parent(net, cause, j, &fault.id)?;
        }
    }
    for seen in &net.observations {
        distribution(&seen.leak, seen.states.len(), &seen.id)?;
        for (cause, effect) in &seen.causes {
            distribution(effect, seen.states.len(), &seen.id)?;
            parent(net, *cause, net.faults.len(), &seen.id)?;
        }
    }
    Ok(())
}

/// Lengths and weights of the evidence.
pub(super) fn evidence(net: &BeliefNet, evidence: &Evidence) -> Result<(), InferenceError> {
    if evidence.factors.len() != net.factors.len() || evidence.observations.len() != net.observations.len() {
        return wrong(format!(
            "evidence for {} factors and {} observations does not fit a network of {} and {}",
            evidence.factors.len(),
            evidence.observations.len(),
            net.factors.len(),
            net.observations.len()
        ));
    }
    let factors = net.factors.iter().zip(&evidence.factors).map(|(v, w)| (&v.id, v.states.len(), w));
    let seen = net.observations.iter().zip(&evidence.observations).map(|(v, w)| (&v.id, v.states.len(), w));
    for (id, states, weights) in factors.chain(seen) {
        let Some(weights) = weights else { continue };
        if weights.len() != states {
            return wrong(format!("{id}: {} weights for {states} states", weights.len()));
        }
        if weights.iter().any(|w| !w.is_finite() || *w < 0.0) {
            return wrong(format!("{id}: a weight must be a finite number of at least 0"));
        }
        if weights.iter().all(|&w| w == 0.0) {
            return wrong(format!("{id}: at least one state needs a weight above 0"));
        }
    }
    Ok(())
}
