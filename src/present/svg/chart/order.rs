//! Which rows and columns the chart has, and in which order.

use std::collections::HashMap;

use petgraph::Direction;
use petgraph::graph::NodeIndex;

use super::marks::Marks;
use crate::network::{Link, NodeKind, Part};
use crate::present::svg::palette;
use crate::present::wording::{Wording, heading};

/// How often rows and columns are put in the order of each other's marks; more changes little.
const ROUNDS: usize = 8;

/// A column: a fault, or a piece of history that itself shows in observations.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    pub node: NodeIndex,
    /// Name of its group.
    pub group: String,
    pub colour: &'static str,
    /// Left edge.
    pub x: f64,
    pub width: f64,
    /// Lines of its name.
    pub label: Vec<String>,
}

/// A row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub node: NodeIndex,
    /// Upper edge.
    pub y: f64,
    pub height: f64,
}

/// Rows under one title.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    pub title: String,
    pub rows: Vec<Row>,
}

/// The columns and bands of a part in their order; no places yet.
pub fn arrange(say: Wording<'_>, part: &Part, marks: &Marks) -> (Vec<Column>, Vec<Band>) {
    let graph = say.net.graph();
    let of = |kind: NodeKind| part.nodes.iter().copied().filter(move |&n| graph[n].kind == kind);
    let has = |n: NodeIndex, direction, wanted: fn(&Link) -> bool| {
        graph.edges_directed(n, direction).any(|e| wanted(e.weight()))
    };
    let mut columns = by_group(of(NodeKind::Fault).map(|n| (say.group(n), n)));
    let shows = |l: &Link| matches!(l, Link::Shows { .. });
    let history: Vec<NodeIndex> =
        of(NodeKind::Factor).filter(|&n| has(n, Direction::Outgoing, shows)).collect();

    let mut bands = vec![("History".to_owned(), of(NodeKind::Factor).collect::<Vec<_>>())];
    let causing = of(NodeKind::Fault).filter(|&n| has(n, Direction::Outgoing, Link::is_cause));
    bands.push(("Faults that bring on faults".to_owned(), causing.collect()));
    let mut groups = by_group(of(NodeKind::Observation).map(|n| (say.group(n), n)));
    groups.sort_by(|a, b| mean_stage(say, &a.1).total_cmp(&mean_stage(say, &b.1)));
    let first_observations = bands.len();
    bands.extend(
        groups.into_iter().map(|(g, rows)| (format!("Observations: {}", heading(&g).to_lowercase()), rows)),
    );
    let observations = first_observations..bands.len();
    bands.push(("Repairs".to_owned(), of(NodeKind::Repair).collect()));
    bands.push(("Scopes of work".to_owned(), of(NodeKind::Scope).collect()));

    for _ in 0..ROUNDS {
        let places = places(bands[observations.clone()].iter().flat_map(|(_, rows)| rows));
        for (_, group) in &mut columns {
            sort_by_mean(group, &places, |column, row| marks.get(row, column).map(|m| m.strength));
        }
        let places = self::places(columns.iter().flat_map(|(_, group)| group));
        for (_, rows) in &mut bands[observations.clone()] {
            sort_by_mean(rows, &places, |row, column| marks.get(row, column).map(|m| m.strength));
        }
    }
    let places = places(columns.iter().flat_map(|(_, group)| group));
    let count = bands.len();
    for (i, (_, rows)) in bands.iter_mut().enumerate() {
        // Scopes keep their order: it runs from the least work to the most.
        if !observations.contains(&i) && i + 1 < count {
            sort_by_mean(rows, &places, |row, column| marks.get(row, column).map(|m| m.strength));
        }
    }
    let mut out = Vec::new();
    for (i, (group, nodes)) in columns.into_iter().enumerate() {
        let colour = palette::group(i);
        out.extend(nodes.into_iter().map(|n| column(n, heading(&group), colour)));
    }
    let grey = palette::SOFT_INK;
    out.extend(history.into_iter().map(|n| column(n, "History".to_owned(), grey)));
    let bands = bands.into_iter().filter(|(_, rows)| !rows.is_empty()).map(|(title, rows)| Band {
        title,
        rows: rows.into_iter().map(|node| Row { node, y: 0.0, height: 0.0 }).collect(),
    });
    (out, bands.collect())
}

fn column(node: NodeIndex, group: String, colour: &'static str) -> Column {
    Column { node, group, colour, x: 0.0, width: 0.0, label: Vec::new() }
}

/// Nodes by group, groups in the order in which they first occur.
fn by_group<'a>(nodes: impl Iterator<Item = (&'a str, NodeIndex)>) -> Vec<(String, Vec<NodeIndex>)> {
    let mut groups: Vec<(String, Vec<NodeIndex>)> = Vec::new();
    for (group, node) in nodes {
        match groups.iter_mut().find(|(g, _)| g == group) {
            Some((_, nodes)) => nodes.push(node),
            None => groups.push((group.to_owned(), vec![node])),
        }
    }
    groups
}

/// The mean place in the order of the work of the stages that observations need.
fn mean_stage(say: Wording<'_>, observations: &[NodeIndex]) -> f64 {
    let stages = observations.iter().filter_map(|&n| {
        let o = say.k.observations.get(say.net.graph()[n].index)?;
        say.k.stage_index(&o.ask.stage)
    });
    let stages: Vec<f64> = stages.map(|s| s as f64).collect();
    stages.iter().sum::<f64>() / stages.len().max(1) as f64
}

fn places<'a>(nodes: impl Iterator<Item = &'a NodeIndex>) -> HashMap<NodeIndex, f64> {
    nodes.enumerate().map(|(i, &n)| (n, i as f64)).collect()
}

/// Sorts nodes by the mean place, weighted by strength, of what they are linked to. What has no links
/// goes last; ties keep their order.
fn sort_by_mean(
    nodes: &mut [NodeIndex],
    places: &HashMap<NodeIndex, f64>,
    strength: impl Fn(NodeIndex, NodeIndex) -> Option<f64>,
) {
    let mut others: Vec<(&NodeIndex, &f64)> = places.iter().collect();
    others.sort_by_key(|(n, _)| **n);
    let mean = |node: NodeIndex| {
        let (mut sum, mut weight) = (0.0, 0.0);
        for (other, place) in &others {
            if let Some(s) = strength(node, **other) {
                sum += s * *place;
                weight += s;
            }
        }
        if weight > 0.0 { sum / weight } else { f64::INFINITY }
    };
    let means: HashMap<NodeIndex, f64> = nodes.iter().map(|&n| (n, mean(n))).collect();
    nodes.sort_by(|a, b| means[a].total_cmp(&means[b]));
}
