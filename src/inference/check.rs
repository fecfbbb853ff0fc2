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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{FaultModel, ObservationModel};

    fn net() -> BeliefNet {
        BeliefNet {
            factors: vec![],
            faults: vec![FaultModel { id: "stuck".into(), leak: 0.1, causes: vec![] }],
            observations: vec![ObservationModel {
                id: "noise".into(),
                states: vec!["no".into(), "yes".into()],
                leak: vec![0.9, 0.1],
                causes: vec![(Parent::Fault(0), vec![0.2, 0.8])],
            }],
        }
    }

    fn message(result: Result<(), InferenceError>) -> String {
        result.err().map(|e| e.to_string()).unwrap_or_default()
    }

    #[test]
    fn a_sound_network_passes() {
        assert_eq!(network(&net()), Ok(()));
        assert_eq!(evidence(&net(), &Evidence::none(&net())), Ok(()));
    }

    #[test]
    fn what_is_wrong_is_named() {
        let mut bad = net();
        bad.faults[0].leak = f64::NAN;
        assert!(message(network(&bad)).starts_with("stuck: a chance"));
        let mut bad = net();
        bad.observations[0].leak = vec![0.9, 0.2];
        assert!(message(network(&bad)).contains("sum to 1"));
        let mut bad = net();
        bad.faults[0].causes.push((Parent::Fault(0), 0.5));
        assert!(message(network(&bad)).contains("causes stand before"));
        let mut bad = net();
        bad.observations[0].causes[0].1.pop();
        assert!(message(network(&bad)).contains("1 chances for 2 states"));
    }

    #[test]
    fn unusable_evidence_is_named() {
        let mut bad = Evidence::none(&net());
        bad.observations[0] = Some(vec![0.0, 0.0]);
        assert!(message(evidence(&net(), &bad)).contains("at least one state"));
        bad.observations[0] = Some(vec![1.0, f64::INFINITY]);
        assert!(message(evidence(&net(), &bad)).contains("finite"));
        bad.observations[0] = Some(vec![1.0]);
        assert!(message(evidence(&net(), &bad)).contains("1 weights for 2 states"));
        bad.observations.clear();
        assert!(message(evidence(&net(), &bad)).contains("does not fit"));
    }
}
