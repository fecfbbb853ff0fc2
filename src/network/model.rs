//! The numbers of the network, free of wording: what inference works on, and what `knowledge export`
//! writes down for other programs.

use std::collections::HashMap;

use serde::{Deserialize, Serialize};

/// A belief network of factors, faults and observations.
///
/// Factors are independent roots. A fault is absent with probability (1 - leak) times the product of
/// (1 - strength) over its causes that hold. An observation's state is the largest among independent
/// draws: one from its leak and one from the effect of each cause that holds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BeliefNet {
    /// Root variables.
    pub factors: Vec<FactorModel>,
    /// Binary variables, parents before children: a fault's causes stand at lower indices.
    pub faults: Vec<FaultModel>,
    /// Graded variables without children.
    pub observations: Vec<ObservationModel>,
}

/// A root variable.
#[derive(Debug, Clone, PartialEq)]
pub struct FactorModel {
    /// Its id.
    pub id: String,
    /// Ids of its states.
    pub states: Vec<String>,
    /// Prior probability of each state.
    pub prior: Vec<f64>,
}

/// What a cause is: a fault that is present, or a factor in one state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Parent {
    /// Index of a fault that is present.
    Fault(usize),
    /// Index of a factor and of its state.
    Factor(usize, usize),
}

/// A leaky noisy-OR.
#[derive(Debug, Clone, PartialEq)]
pub struct FaultModel {
    /// Its id.
    pub id: String,
    /// Probability with none of the causes.
    pub leak: f64,
    /// Each cause with its strength.
    pub causes: Vec<(Parent, f64)>,
}

/// A leaky noisy-MAX.
#[derive(Debug, Clone, PartialEq)]
pub struct ObservationModel {
    /// Its id.
    pub id: String,
    /// Ids of its states, normal first.
    pub states: Vec<String>,
    /// Distribution over the states with none of the causes.
    pub leak: Vec<f64>,
    /// Each cause with the distribution over the states that it alone would give.
    pub causes: Vec<(Parent, Vec<f64>)>,
}

impl ObservationModel {
    /// The distribution over the states when these faults (indices) are there, no other, and nothing of the history
    /// counts.
    pub fn alone_with(&self, faults: &[usize]) -> Vec<f64> {
        // The worst of several independent draws: its distribution function is the product of theirs.
        let mut up_to = running(&self.leak);
        for (parent, effect) in &self.causes {
            if matches!(parent, Parent::Fault(fault) if faults.contains(fault)) {
                up_to.iter_mut().zip(running(effect)).for_each(|(a, b)| *a *= b);
            }
        }
        let below = std::iter::once(0.0).chain(up_to.iter().copied());
        up_to.iter().zip(below).map(|(a, b)| a - b).collect()
    }
}

fn running(chances: &[f64]) -> Vec<f64> {
    let mut sum = 0.0;
    chances.iter().map(|c| (sum += c, sum).1).collect()
}

/// What is known: a weight (likelihood) for each state of each answered variable.
///
/// A plain answer is 1 for its state and 0 for the others; a reading spread over bands is a weight for
/// each band. Only ratios of weights within one variable matter to posteriors.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evidence {
    /// For each factor of the network, its weights if answered.
    pub factors: Vec<Option<Vec<f64>>>,
    /// For each observation of the network, its weights if answered.
    pub observations: Vec<Option<Vec<f64>>>,
}

impl Evidence {
    /// No answers yet.
    pub fn none(net: &BeliefNet) -> Self {
        Evidence { factors: vec![None; net.factors.len()], observations: vec![None; net.observations.len()] }
    }
}

/// Where a variable stands in a [`BeliefNet`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Variable {
    /// Index into [`BeliefNet::factors`].
    Factor(usize),
    /// Index into [`BeliefNet::faults`].
    Fault(usize),
    /// Index into [`BeliefNet::observations`].
    Observation(usize),
}

/// From ids to the places of the variables of one [`BeliefNet`].
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BeliefIndex {
    factors: HashMap<String, usize>,
    faults: HashMap<String, usize>,
    observations: HashMap<String, usize>,
}

impl BeliefIndex {
    /// The place of the factor with this id.
    pub fn factor(&self, id: &str) -> Option<usize> {
        self.factors.get(id).copied()
    }
    /// The place of the fault with this id.
    pub fn fault(&self, id: &str) -> Option<usize> {
        self.faults.get(id).copied()
    }
    /// The place of the observation with this id.
    pub fn observation(&self, id: &str) -> Option<usize> {
        self.observations.get(id).copied()
    }
    /// The variable with this id, whatever its kind.
    pub fn variable(&self, id: &str) -> Option<Variable> {
        (self.factor(id).map(Variable::Factor))
            .or_else(|| self.fault(id).map(Variable::Fault))
            .or_else(|| self.observation(id).map(Variable::Observation))
    }
}

impl BeliefNet {
    /// The places of all variables by id.
    pub fn index(&self) -> BeliefIndex {
        fn places<'a>(ids: impl Iterator<Item = &'a String>) -> HashMap<String, usize> {
            ids.enumerate().map(|(i, id)| (id.clone(), i)).collect()
        }
        BeliefIndex {
            factors: places(self.factors.iter().map(|x| &x.id)),
            faults: places(self.faults.iter().map(|x| &x.id)),
            observations: places(self.observations.iter().map(|x| &x.id)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_observation_with_one_fault_is_the_worse_of_two_draws() {
        let observation = ObservationModel {
            id: "smell".into(),
            states: vec!["no".into(), "faint".into(), "strong".into()],
            leak: vec![0.9, 0.1, 0.0],
            causes: vec![
                (Parent::Fault(1), vec![0.2, 0.3, 0.5]),
                (Parent::Factor(1, 0), vec![0.0, 0.0, 1.0]),
            ],
        };
        let with = observation.alone_with(&[1]);
        for (seen, expected) in with.iter().zip([0.18, 0.32, 0.5]) {
            assert!((seen - expected).abs() < 1e-12, "{with:?}");
        }
        assert!((observation.alone_with(&[0])[0] - 0.9).abs() < 1e-12);
    }
}
