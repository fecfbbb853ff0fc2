//! A part of the network: what a picture shows.

use std::collections::{BTreeSet, HashMap};

use petgraph::Direction;
use petgraph::algo::dijkstra;
use petgraph::graph::{EdgeIndex, NodeIndex};
use petgraph::visit::{EdgeFiltered, EdgeRef, IntoEdgeReferences, Reversed};

use super::graph::{DecisionNetwork, Link, NodeKind};

/// Some nodes of the network and some of the links between them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// What it lies around; none for the whole network.
    pub centre: Option<NodeIndex>,
    /// Its nodes, in the order of the network.
    pub nodes: Vec<NodeIndex>,
    /// Its links, in the order of the network.
    pub links: Vec<EdgeIndex>,
    /// Steps of each node from the centre: below 0 for what leads to it, above 0 for what follows from
    /// it. Empty for the whole network.
    pub steps: HashMap<NodeIndex, isize>,
}

impl DecisionNetwork {
    /// Every node and every link.
    pub fn whole(&self) -> Part {
        Part {
            centre: None,
            nodes: self.graph().node_indices().collect(),
            links: self.graph().edge_indices().collect(),
            steps: HashMap::new(),
        }
    }

    /// How far the neighbourhood of a node reaches when nothing else is asked for: one step each way,
    /// and from a scope two, so that its repairs stand there with the faults that they remove.
    pub fn default_depth(&self, node: NodeIndex) -> usize {
        match self.graph()[node].kind {
            NodeKind::Scope => 2,
            _ => 1,
        }
    }

    /// The node with this id and what lies within `depth` steps of it: upwards along what leads to it,
    /// and downwards along what follows from it, but never up and down again (that would be most of the
    /// network). A repair brings its scopes along even beyond `depth`. Cautions are there only where
    /// they are the centre's own. Of the links, those on a shortest way to or from the centre.
    ///
    /// Without a `depth` it is [`DecisionNetwork::default_depth`]. None if no node has this id.
    pub fn neighbourhood(&self, id: &str, depth: Option<usize>) -> Option<Part> {
        let centre = self.find(id)?;
        let depth = depth.unwrap_or_else(|| self.default_depth(centre));
        let graph = self.graph();
        let drawn = EdgeFiltered::from_fn(graph, |e| {
            let own = e.source() == centre || e.target() == centre;
            match e.weight() {
                Link::CallsFor { .. } => own,
                // What leads to the things that block a scope is no part of the scope.
                Link::Blocks { .. } => e.target() != centre,
                _ => true,
            }
        });
        let below = dijkstra(&drawn, centre, None, |_| 1usize);
        let above = dijkstra(Reversed(&drawn), centre, None, |_| 1usize);
        let mut steps = HashMap::new();
        steps.extend(below.iter().filter(|(_, d)| **d <= depth).map(|(&n, &d)| (n, d as isize)));
        steps.extend(above.iter().filter(|(_, d)| **d <= depth).map(|(&n, &d)| (n, -(d as isize))));
        let mut links: BTreeSet<EdgeIndex> = (drawn.edge_references())
            .filter_map(|e| {
                let (from, to) = (steps.get(&e.source())?, steps.get(&e.target())?);
                (to - from == 1).then_some(e.id())
            })
            .collect();
        if depth > 0 {
            self.add_limits(centre, &mut steps, &mut links);
            self.add_scopes(&mut steps, &mut links);
        }
        let mut nodes: Vec<NodeIndex> = steps.keys().copied().collect();
        nodes.sort();
        Some(Part { centre: Some(centre), nodes, links: links.into_iter().collect(), steps })
    }

    /// What blocks the centre, a scope, one step before it.
    fn add_limits(
        &self,
        centre: NodeIndex,
        steps: &mut HashMap<NodeIndex, isize>,
        links: &mut BTreeSet<EdgeIndex>,
    ) {
        let incoming = self.graph().edges_directed(centre, Direction::Incoming);
        for e in incoming.filter(|e| matches!(e.weight(), Link::Blocks { .. })) {
            steps.entry(e.source()).or_insert(-1);
            links.insert(e.id());
        }
    }

    /// The scopes of every repair that follows from the centre, one step after the repair.
    fn add_scopes(&self, steps: &mut HashMap<NodeIndex, isize>, links: &mut BTreeSet<EdgeIndex>) {
        let graph = self.graph();
        let is_repair = |n: NodeIndex| graph[n].kind == NodeKind::Repair;
        let repairs: Vec<(NodeIndex, isize)> =
            steps.iter().filter(|(n, s)| **s >= 0 && is_repair(**n)).map(|(&n, &s)| (n, s)).collect();
        for (repair, step) in repairs {
            for e in graph.edges(repair).filter(|e| matches!(e.weight(), Link::BelongsTo { .. })) {
                // A scope that the centre also blocks stands behind its repairs all the same.
                let at = steps.entry(e.target()).or_insert(step + 1);
                *at = (*at).max(step + 1);
                links.insert(e.id());
            }
        }
    }
}
