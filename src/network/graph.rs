//! The decision network: everything the knowledge ties together, as one directed graph without circles.
//!
//! ```text
//! factor --causes--> fault --causes--> fault
//! factor, fault --shows--> observation
//! fault --removed by--> repair --belongs to--> scope
//! factor, observation, repair --calls for--> caution
//! factor, fault, observation --blocks--> scope
//! ```
//!
//! Readings are not in it: they answer observations, and a hard limit on the motor's make has no node.

use std::collections::HashMap;
use std::fmt;

use petgraph::algo::toposort;
use petgraph::graph::{DiGraph, EdgeIndex, NodeIndex};
use petgraph::visit::{EdgeFiltered, EdgeRef, IntoNodeReferences};

use super::export::Export;
use super::model::{BeliefNet, FactorModel, FaultModel, ObservationModel, Parent};
use crate::knowledge::{AnswerIs, Ask, Knowledge, LimitWhen};

/// What a node of the network stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum NodeKind {
    /// A piece of history.
    Factor,
    /// Something that can be wrong.
    Fault,
    /// Something that can be seen, asked or measured.
    Observation,
    /// A repair procedure.
    Repair,
    /// A scope of work.
    Scope,
    /// A caution topic.
    Caution,
}

impl NodeKind {
    /// Every kind, in the order in which a picture names them.
    pub const ALL: [NodeKind; 6] = [
        NodeKind::Factor,
        NodeKind::Fault,
        NodeKind::Observation,
        NodeKind::Repair,
        NodeKind::Scope,
        NodeKind::Caution,
    ];

    /// Its name in the singular.
    pub fn word(self) -> &'static str {
        match self {
            NodeKind::Factor => "factor",
            NodeKind::Fault => "fault",
            NodeKind::Observation => "observation",
            NodeKind::Repair => "repair",
            NodeKind::Scope => "scope",
            NodeKind::Caution => "caution",
        }
    }
}

impl fmt::Display for NodeKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A node: an entry of the knowledge base.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node {
    /// What it stands for.
    pub kind: NodeKind,
    /// Its index in the list of that kind in [`Knowledge`].
    pub index: usize,
    /// Its id.
    pub id: String,
}

/// A link between two nodes, in the direction in which the module's picture shows it.
#[derive(Debug, Clone, PartialEq)]
pub enum Link {
    /// Brings a fault about.
    Causes {
        /// The state of the factor that does; none where a fault does.
        state: Option<usize>,
        /// Chance that this cause alone brings the fault about.
        strength: f64,
    },
    /// Shows itself in an observation.
    Shows {
        /// The state of the factor that does; none where a fault does.
        state: Option<usize>,
        /// Chance of each state of the observation with this as the only cause, normal first.
        effect: Vec<f64>,
    },
    /// A fault is removed by a repair.
    RemovedBy {
        /// Chance that the fault is gone afterwards.
        sureness: f64,
    },
    /// A repair belongs to a scope.
    BelongsTo {
        /// Whether it is done every time, or only when one of its faults is there.
        always: bool,
    },
    /// A repair or a test calls for a caution.
    CallsFor {
        /// For a repair, the first of its steps that the caution stands before.
        step: Option<usize>,
    },
    /// A scope is blocked by a fault or an answer.
    Blocks {
        /// Index of the limit in the scope's list.
        limit: usize,
    },
}

impl Link {
    /// How strong the link is, from 0 to 1: the chance that it does what it says. A `Shows` counts the
    /// chance of every state but the normal one; a repair that is done only as needed counts half.
    pub fn strength(&self) -> f64 {
        match self {
            Link::Causes { strength, .. } => *strength,
            Link::Shows { effect, .. } => effect.iter().skip(1).sum(),
            Link::RemovedBy { sureness } => *sureness,
            Link::BelongsTo { always } => {
                if *always {
                    1.0
                } else {
                    0.5
                }
            }
            Link::CallsFor { .. } | Link::Blocks { .. } => 1.0,
        }
    }

    /// Whether it is about the cause of a fault.
    pub fn is_cause(&self) -> bool {
        matches!(self, Link::Causes { .. })
    }

    /// Whether it is about a caution.
    pub fn is_caution(&self) -> bool {
        matches!(self, Link::CallsFor { .. })
    }
}

/// The knowledge compiled to a graph, with the belief network that follows from it.
#[derive(Debug, Clone)]
pub struct DecisionNetwork {
    graph: DiGraph<Node, Link>,
    by_id: HashMap<(NodeKind, String), NodeIndex>,
    fault_order: Vec<NodeIndex>,
    belief: BeliefNet,
}

/// Compiles checked knowledge to the decision network.
///
/// # Panics
///
/// Where the knowledge breaks its own promise: an id in a link that names nothing, or faults that cause
/// each other in a circle. Loading refuses both with the place in the file.
pub fn compile(knowledge: &Knowledge) -> DecisionNetwork {
    let mut draft = Draft { graph: DiGraph::new(), by_id: HashMap::new() };
    draft.add_nodes(knowledge);
    draft.add_causes_and_effects(knowledge);
    draft.add_work(knowledge);
    draft.add_cautions(knowledge);
    draft.add_limits(knowledge);
    let Draft { graph, by_id } = draft;
    let causes = EdgeFiltered::from_fn(&graph, |e| e.weight().is_cause());
    let fault_order: Vec<NodeIndex> = match toposort(&causes, None) {
        Ok(order) => order.into_iter().filter(|&n| graph[n].kind == NodeKind::Fault).collect(),
        Err(circle) => panic!("faults cause each other in a circle at {}", graph[circle.node_id()].id),
    };
    let belief = belief_of(knowledge, &graph, &fault_order);
    DecisionNetwork { graph, by_id, fault_order, belief }
}

struct Draft {
    graph: DiGraph<Node, Link>,
    by_id: HashMap<(NodeKind, String), NodeIndex>,
}

impl Draft {
    fn add_nodes(&mut self, k: &Knowledge) {
        let lists: [(NodeKind, Vec<&str>); 6] = [
            (NodeKind::Factor, k.factors.iter().map(|x| &*x.id).collect()),
            (NodeKind::Fault, k.faults.iter().map(|x| &*x.id).collect()),
            (NodeKind::Observation, k.observations.iter().map(|x| &*x.id).collect()),
            (NodeKind::Repair, k.repairs.iter().map(|x| &*x.id).collect()),
            (NodeKind::Scope, k.scopes.iter().map(|x| &*x.id).collect()),
            (NodeKind::Caution, k.cautions.iter().map(|x| &*x.id).collect()),
        ];
        for (kind, ids) in lists {
            for (index, id) in ids.into_iter().enumerate() {
                let node = self.graph.add_node(Node { kind, index, id: id.to_owned() });
                self.by_id.insert((kind, id.to_owned()), node);
            }
        }
    }

    /// The first node of one of these kinds with this id.
    fn find(&self, kinds: &[NodeKind], id: &str) -> NodeIndex {
        kinds.iter().find_map(|&kind| self.by_id.get(&(kind, id.to_owned())).copied()).unwrap_or_else(|| {
            let kinds: Vec<&str> = kinds.iter().map(|k| k.word()).collect();
            panic!("no {} has the id {id}", kinds.join(" or "))
        })
    }

    fn add_causes_and_effects(&mut self, k: &Knowledge) {
        use NodeKind::{Factor, Fault, Observation};
        for fault in &k.faults {
            let to = self.find(&[Fault], &fault.id);
            for cause in &fault.causes {
                let from = self.find(&[Factor, Fault], &cause.by.parent);
                let state = self.factor_state(k, from, cause.by.state.as_deref());
                self.graph.add_edge(from, to, Link::Causes { state, strength: cause.strength });
            }
        }
        let factors = k.factors.iter().map(|f| (Factor, &f.id, &f.shows));
        let faults = k.faults.iter().map(|f| (Fault, &f.id, &f.shows));
        for (kind, id, shows) in factors.chain(faults) {
            let from = self.find(&[kind], id);
            for s in shows {
                let to = self.find(&[Observation], &s.observation);
                let state = self.factor_state(k, from, s.state.as_deref());
                self.graph.add_edge(from, to, Link::Shows { state, effect: s.effect.clone() });
            }
        }
    }

    /// The index of a state that a link names; none for a fault.
    fn factor_state(&self, k: &Knowledge, from: NodeIndex, state: Option<&str>) -> Option<usize> {
        let node = &self.graph[from];
        if node.kind != NodeKind::Factor {
            return None;
        }
        let named = state.unwrap_or_default();
        let found = k.factors[node.index].states.iter().position(|s| s.id == named);
        assert!(found.is_some(), "the factor {} has no state {named:?}", node.id);
        found
    }

    fn add_work(&mut self, k: &Knowledge) {
        use NodeKind::{Fault, Repair, Scope};
        for repair in &k.repairs {
            let to = self.find(&[Repair], &repair.id);
            for r in &repair.removes {
                let from = self.find(&[Fault], &r.fault);
                self.graph.add_edge(from, to, Link::RemovedBy { sureness: r.sureness });
            }
        }
        for scope in &k.scopes {
            let to = self.find(&[Scope], &scope.id);
            let parts = scope.always.iter().map(|id| (id, true));
            for (id, always) in parts.chain(scope.as_needed.iter().map(|id| (id, false))) {
                let from = self.find(&[Repair], id);
                self.graph.add_edge(from, to, Link::BelongsTo { always });
            }
        }
    }

    fn add_cautions(&mut self, k: &Knowledge) {
        use NodeKind::{Caution, Factor, Observation, Repair};
        let factors = k.factors.iter().map(|f| (Factor, &f.id, &f.ask));
        let observations = k.observations.iter().map(|o| (Observation, &o.id, &o.ask));
        let tests: Vec<(NodeKind, &String, &Ask)> = factors.chain(observations).collect();
        for (kind, id, ask) in tests {
            let from = self.find(&[kind], id);
            for caution in &ask.cautions {
                let to = self.find(&[Caution], caution);
                self.graph.update_edge(from, to, Link::CallsFor { step: None });
            }
        }
        for repair in &k.repairs {
            let from = self.find(&[Repair], &repair.id);
            for (step, s) in repair.steps.iter().enumerate() {
                for caution in &s.cautions {
                    let to = self.find(&[Caution], caution);
                    if self.graph.find_edge(from, to).is_none() {
                        self.graph.add_edge(from, to, Link::CallsFor { step: Some(step) });
                    }
                }
            }
        }
    }

    fn add_limits(&mut self, k: &Knowledge) {
        use NodeKind::{Factor, Fault, Observation, Scope};
        for scope in &k.scopes {
            let to = self.find(&[Scope], &scope.id);
            for (limit, l) in scope.blocked_when.iter().enumerate() {
                let from = match &l.when {
                    LimitWhen::Rebuildable(_) => continue,
                    LimitWhen::FaultAbove(fault, _) => self.find(&[Fault], fault),
                    LimitWhen::Answer(AnswerIs { answer, .. }) => self.find(&[Factor, Observation], answer),
                };
                self.graph.add_edge(from, to, Link::Blocks { limit });
            }
        }
    }
}

/// The numbers of the graph: its faults renumbered so that causes stand before what they cause.
fn belief_of(k: &Knowledge, graph: &DiGraph<Node, Link>, order: &[NodeIndex]) -> BeliefNet {
    let place: HashMap<NodeIndex, usize> = order.iter().enumerate().map(|(i, &n)| (n, i)).collect();
    let parent = |edge: EdgeIndex, state: Option<usize>| {
        let (from, _) = graph.edge_endpoints(edge)?;
        Some(match graph[from].kind {
            NodeKind::Factor => Parent::Factor(graph[from].index, state?),
            _ => Parent::Fault(*place.get(&from)?),
        })
    };
    let incoming = |node: NodeIndex| {
        let mut edges: Vec<EdgeIndex> =
            graph.edges_directed(node, petgraph::Direction::Incoming).map(|e| e.id()).collect();
        edges.sort();
        edges
    };
    let factors = (k.factors.iter())
        .map(|f| FactorModel {
            id: f.id.clone(),
            states: f.states.iter().map(|s| s.id.clone()).collect(),
            prior: f.states.iter().map(|s| s.prior).collect(),
        })
        .collect();
    let faults = (order.iter())
        .map(|&n| {
            let fault = &k.faults[graph[n].index];
            let causes = incoming(n).into_iter().filter_map(|e| match &graph[e] {
                Link::Causes { state, strength } => Some((parent(e, *state)?, *strength)),
                _ => None,
            });
            FaultModel { id: fault.id.clone(), leak: fault.leak, causes: causes.collect() }
        })
        .collect();
    let observations = (graph.node_references())
        .filter(|(_, node)| node.kind == NodeKind::Observation)
        .map(|(n, node)| {
            let o = &k.observations[node.index];
            let causes = incoming(n).into_iter().filter_map(|e| match &graph[e] {
                Link::Shows { state, effect } => Some((parent(e, *state)?, effect.clone())),
                _ => None,
            });
            ObservationModel {
                id: o.id.clone(),
                states: o.states.iter().map(|s| s.id.clone()).collect(),
                leak: o.states.iter().map(|s| s.leak).collect(),
                causes: causes.collect(),
            }
        })
        .collect();
    BeliefNet { factors, faults, observations }
}

impl DecisionNetwork {
    /// The graph itself.
    pub fn graph(&self) -> &DiGraph<Node, Link> {
        &self.graph
    }

    /// The node of this kind with this id.
    pub fn node(&self, kind: NodeKind, id: &str) -> Option<NodeIndex> {
        self.by_id.get(&(kind, id.to_owned())).copied()
    }

    /// The node with this id, whatever its kind; the first in the order of [`NodeKind::ALL`].
    pub fn find(&self, id: &str) -> Option<NodeIndex> {
        NodeKind::ALL.iter().find_map(|&kind| self.node(kind, id))
    }

    /// The faults in an order in which causes come before what they cause.
    pub fn fault_order(&self) -> &[NodeIndex] {
        &self.fault_order
    }

    /// The numbers that inference works on. Factors and observations stand in the order of the
    /// knowledge, faults in [`DecisionNetwork::fault_order`]; ids tell which is which
    /// ([`BeliefNet::index`]).
    pub fn belief(&self) -> &BeliefNet {
        &self.belief
    }

    /// The same numbers as other programs read them.
    pub fn export(&self) -> Export {
        Export::from(&self.belief)
    }
}
