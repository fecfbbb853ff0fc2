//! The belief network as other programs read it, and back.

use std::collections::{HashMap, HashSet};

use petgraph::algo::toposort;
use petgraph::graph::{DiGraph, NodeIndex};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::model::{BeliefNet, FactorModel, FaultModel, ObservationModel, Parent};

/// The format that this version writes and reads.
pub const FORMAT: &str = "commsense/network/1";

/// How far the chances of one distribution may sum beside 1.
const SUM_TOLERANCE: f64 = 1e-9;

/// The belief network with ids in place of indices; serializes to the document that
/// `knowledge export` prints.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Export {
    /// Always [`FORMAT`].
    pub format: String,
    /// Root variables.
    pub factors: Vec<ExportFactor>,
    /// Leaky noisy-ORs.
    pub faults: Vec<ExportFault>,
    /// Leaky noisy-MAXes.
    pub observations: Vec<ExportObservation>,
}

/// A root variable.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExportFactor {
    /// Its id.
    pub id: String,
    /// Ids of its states.
    pub states: Vec<String>,
    /// Prior probability of each.
    pub prior: Vec<f64>,
}

/// A fault, present or absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExportFault {
    /// Its id.
    pub id: String,
    /// Probability with none of the causes.
    pub leak: f64,
    /// What brings it about.
    pub causes: Vec<ExportCause>,
}

/// A cause of a fault.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExportCause {
    /// Id of a fault or a factor.
    pub parent: String,
    /// State of the factor; null for a fault.
    pub state: Option<String>,
    /// Chance that this cause alone brings the fault about.
    pub strength: f64,
}

/// An observation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExportObservation {
    /// Its id.
    pub id: String,
    /// Ids of its states, normal first.
    pub states: Vec<String>,
    /// Distribution over the states with none of the causes.
    pub leak: Vec<f64>,
    /// What shows itself in it.
    pub causes: Vec<ExportEffect>,
}

/// A cause of an observation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExportEffect {
    /// Id of a fault or a factor.
    pub parent: String,
    /// State of the factor; null for a fault.
    pub state: Option<String>,
    /// Distribution over the states that this cause alone would give.
    pub effect: Vec<f64>,
}

/// What is wrong with an [`Export`].
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ExportError {
    /// It is of another format.
    #[error("the format is {found:?}; this version reads {FORMAT:?}")]
    Format {
        /// The format it names.
        found: String,
    },
    /// Two variables have one id.
    #[error("the id {id:?} stands for two variables; each needs its own")]
    Twice {
        /// The id.
        id: String,
    },
    /// A cause names no fault and no factor.
    #[error("{child:?} is caused by {parent:?}, which is neither a fault nor a factor of this network")]
    UnknownParent {
        /// What is caused.
        child: String,
        /// What the cause names.
        parent: String,
    },
    /// A cause names a state that its parent does not have, or none where one is needed.
    #[error(
        "{child:?} is caused by {parent:?} in state {state:?}; a factor needs one of its states, a fault null"
    )]
    State {
        /// What is caused.
        child: String,
        /// What the cause names.
        parent: String,
        /// The state it names.
        state: Option<String>,
    },
    /// A number is not a probability.
    #[error("{id:?} holds {value}; a probability lies from 0 to 1")]
    Range {
        /// The variable.
        id: String,
        /// The number.
        value: f64,
    },
    /// A distribution does not fit its states.
    #[error(
        "a distribution of {id:?} has {found} chances that sum to {sum}; it needs {wanted} that sum to 1"
    )]
    Distribution {
        /// The variable.
        id: String,
        /// How many chances there are.
        found: usize,
        /// How many states there are.
        wanted: usize,
        /// What the chances sum to.
        sum: f64,
    },
    /// Faults cause each other in a circle.
    #[error("the fault {id:?} causes itself in a circle")]
    Circle {
        /// One fault of the circle.
        id: String,
    },
}

impl From<&BeliefNet> for Export {
    fn from(net: &BeliefNet) -> Self {
        let name = |p: &Parent| match *p {
            Parent::Fault(f) => (net.faults[f].id.clone(), None),
            Parent::Factor(f, s) => (net.factors[f].id.clone(), Some(net.factors[f].states[s].clone())),
        };
        Export {
            format: FORMAT.to_owned(),
            factors: (net.factors.iter().cloned())
                .map(|FactorModel { id, states, prior }| ExportFactor { id, states, prior })
                .collect(),
            faults: (net.faults.iter())
                .map(|f| ExportFault {
                    id: f.id.clone(),
                    leak: f.leak,
                    causes: (f.causes.iter())
                        .map(|(p, strength)| {
                            let (parent, state) = name(p);
                            ExportCause { parent, state, strength: *strength }
                        })
                        .collect(),
                })
                .collect(),
            observations: (net.observations.iter())
                .map(|o| ExportObservation {
                    id: o.id.clone(),
                    states: o.states.clone(),
                    leak: o.leak.clone(),
                    causes: (o.causes.iter())
                        .map(|(p, effect)| {
                            let (parent, state) = name(p);
                            ExportEffect { parent, state, effect: effect.clone() }
                        })
                        .collect(),
                })
                .collect(),
        }
    }
}

impl BeliefNet {
    /// The network that an export describes. Its faults may stand in any order: they are put so that
    /// causes stand before what they cause, and where they already do, they stay as they are.
    ///
    /// # Errors
    ///
    /// An [`ExportError`] for the first thing that makes it no network.
    pub fn from_export(export: &Export) -> Result<BeliefNet, ExportError> {
        check(export)?;
        let order = fault_order(export)?;
        let mut place = vec![0; order.len()];
        for (new, &old) in order.iter().enumerate() {
            place[old] = new;
        }
        let faults: HashMap<&str, usize> =
            export.faults.iter().enumerate().map(|(i, f)| (&*f.id, place[i])).collect();
        let factors: HashMap<&str, usize> =
            export.factors.iter().enumerate().map(|(i, f)| (&*f.id, i)).collect();
        let resolve = |child: &str, parent: &str, state: &Option<String>| {
            let wrong_state = || ExportError::State {
                child: child.to_owned(),
                parent: parent.to_owned(),
                state: state.clone(),
            };
            if let Some(&f) = factors.get(parent) {
                let named = state.as_ref().ok_or_else(wrong_state)?;
                let s = export.factors[f].states.iter().position(|s| s == named).ok_or_else(wrong_state)?;
                return Ok(Parent::Factor(f, s));
            }
            match (faults.get(parent), state) {
                (Some(&f), None) => Ok(Parent::Fault(f)),
                (Some(_), Some(_)) => Err(wrong_state()),
                (None, _) => {
                    Err(ExportError::UnknownParent { child: child.to_owned(), parent: parent.to_owned() })
                }
            }
        };
        Ok(BeliefNet {
            factors: (export.factors.iter().cloned())
                .map(|ExportFactor { id, states, prior }| FactorModel { id, states, prior })
                .collect(),
            faults: (order.iter().map(|&i| &export.faults[i]))
                .map(|f| {
                    let causes = f.causes.iter();
                    let causes = causes.map(|c| Ok((resolve(&f.id, &c.parent, &c.state)?, c.strength)));
                    Ok(FaultModel {
                        id: f.id.clone(),
                        leak: f.leak,
                        causes: causes.collect::<Result<_, _>>()?,
                    })
                })
                .collect::<Result<_, ExportError>>()?,
            observations: (export.observations.iter())
                .map(|o| {
                    let causes = o.causes.iter();
                    let causes = causes.map(|c| Ok((resolve(&o.id, &c.parent, &c.state)?, c.effect.clone())));
                    Ok(ObservationModel {
                        id: o.id.clone(),
                        states: o.states.clone(),
                        leak: o.leak.clone(),
                        causes: causes.collect::<Result<_, _>>()?,
                    })
                })
                .collect::<Result<_, ExportError>>()?,
        })
    }
}

/// Everything about an export that needs no look at the links.
fn check(export: &Export) -> Result<(), ExportError> {
    if export.format != FORMAT {
        return Err(ExportError::Format { found: export.format.clone() });
    }
    let mut seen = HashSet::new();
    let ids = (export.factors.iter().map(|x| &x.id))
        .chain(export.faults.iter().map(|x| &x.id))
        .chain(export.observations.iter().map(|x| &x.id));
    for id in ids {
        if !seen.insert(id) {
            return Err(ExportError::Twice { id: id.clone() });
        }
    }
    for f in &export.factors {
        distribution(&f.id, &f.prior, f.states.len())?;
    }
    for f in &export.faults {
        for value in std::iter::once(f.leak).chain(f.causes.iter().map(|c| c.strength)) {
            probability(&f.id, value)?;
        }
    }
    for o in &export.observations {
        for d in std::iter::once(&o.leak).chain(o.causes.iter().map(|c| &c.effect)) {
            distribution(&o.id, d, o.states.len())?;
        }
    }
    Ok(())
}

fn probability(id: &str, value: f64) -> Result<(), ExportError> {
    if (0.0..=1.0).contains(&value) { Ok(()) } else { Err(ExportError::Range { id: id.to_owned(), value }) }
}

fn distribution(id: &str, chances: &[f64], wanted: usize) -> Result<(), ExportError> {
    for &c in chances {
        probability(id, c)?;
    }
    let sum: f64 = chances.iter().sum();
    if chances.len() != wanted || (sum - 1.0).abs() > SUM_TOLERANCE {
        return Err(ExportError::Distribution { id: id.to_owned(), found: chances.len(), wanted, sum });
    }
    Ok(())
}

/// Indices of the faults with causes before what they cause.
fn fault_order(export: &Export) -> Result<Vec<usize>, ExportError> {
    let at: HashMap<&str, usize> = export.faults.iter().enumerate().map(|(i, f)| (&*f.id, i)).collect();
    let links: Vec<(usize, usize)> = (export.faults.iter().enumerate())
        .flat_map(|(child, f)| f.causes.iter().map(move |c| (&*c.parent, child)))
        .filter_map(|(parent, child)| Some((*at.get(parent)?, child)))
        .collect();
    if links.iter().all(|(parent, child)| parent < child) {
        return Ok((0..export.faults.len()).collect());
    }
    let mut graph = DiGraph::<(), ()>::with_capacity(export.faults.len(), links.len());
    for _ in &export.faults {
        graph.add_node(());
    }
    graph.extend_with_edges(links.into_iter().map(|(p, c)| (NodeIndex::new(p), NodeIndex::new(c))));
    match toposort(&graph, None) {
        Ok(order) => Ok(order.into_iter().map(NodeIndex::index).collect()),
        Err(circle) => Err(ExportError::Circle { id: export.faults[circle.node_id().index()].id.clone() }),
    }
}
