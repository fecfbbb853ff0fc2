//! The marks of the chart: what ties a row to a column, and how it looks.

use std::collections::{BTreeMap, HashMap};

use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef;
use svg::node::element::{Group, Path};

use crate::network::{Link, NodeKind, Part};
use crate::present::svg::canvas::{self, circle, polygon, rect};
use crate::present::wording::{Wording, percent};

/// The shape of a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Brings the fault on.
    Circle,
    /// Shows the fault.
    Square,
    /// Removes the fault.
    Point,
    /// A scope that can remove the fault.
    Diamond,
    /// The fault blocks the scope.
    Cross,
}

/// A mark where a row and a column are linked.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    pub shape: Shape,
    /// From 0 to 1.
    pub strength: f64,
    /// What it says when the pointer rests on it.
    pub title: String,
}

impl Mark {
    /// A mark for the legend.
    pub fn sample(shape: Shape, strength: f64) -> Mark {
        Mark { shape, strength, title: String::new() }
    }
}

/// All marks by row and column.
#[derive(Debug, Default)]
pub struct Marks(HashMap<(NodeIndex, NodeIndex), Mark>);

impl Marks {
    /// The marks of the links of a part, and those that tie scopes to faults through their repairs.
    pub fn of(say: Wording<'_>, part: &Part) -> Marks {
        let graph = say.net.graph();
        let mut marks = Marks::default();
        for &e in &part.links {
            let Some((from, to)) = graph.edge_endpoints(e) else { continue };
            let (row, column, shape) = match &graph[e] {
                Link::Causes { .. } => (from, to, Shape::Circle),
                Link::Shows { .. } => (to, from, Shape::Square),
                Link::RemovedBy { .. } => (to, from, Shape::Point),
                Link::Blocks { .. } => (to, from, Shape::Cross),
                Link::BelongsTo { .. } | Link::CallsFor { .. } => continue,
            };
            marks.add(row, column, Mark { shape, strength: graph[e].strength(), title: say.clause(e) });
        }
        for &scope in part.nodes.iter().filter(|n| graph[**n].kind == NodeKind::Scope) {
            for (fault, (sureness, repair)) in best_repairs(say, scope) {
                let title = format!(
                    "{} can remove {}: {} by {}.",
                    say.name(scope),
                    say.name(fault),
                    percent(sureness),
                    say.name(repair)
                );
                marks.add(scope, fault, Mark { shape: Shape::Diamond, strength: sureness, title });
            }
        }
        marks
    }

    /// Adds a mark; where there is one already the stronger shows, and the title says both.
    fn add(&mut self, row: NodeIndex, column: NodeIndex, mark: Mark) {
        match self.0.get_mut(&(row, column)) {
            None => {
                self.0.insert((row, column), mark);
            }
            Some(old) => {
                old.title = format!("{} {}", old.title, mark.title);
                if old.shape != Shape::Cross && (mark.shape == Shape::Cross || mark.strength > old.strength) {
                    (old.shape, old.strength) = (mark.shape, mark.strength);
                }
            }
        }
    }

    /// The mark in this row and column.
    pub fn get(&self, row: NodeIndex, column: NodeIndex) -> Option<&Mark> {
        self.0.get(&(row, column))
    }
}

/// For each fault that the repairs of a scope remove, the surest of them.
fn best_repairs(say: Wording<'_>, scope: NodeIndex) -> BTreeMap<NodeIndex, (f64, NodeIndex)> {
    let graph = say.net.graph();
    let mut best: BTreeMap<NodeIndex, (f64, NodeIndex)> = BTreeMap::new();
    let repairs = graph.edges_directed(scope, petgraph::Direction::Incoming);
    for repair in repairs.filter(|e| matches!(e.weight(), Link::BelongsTo { .. })).map(|e| e.source()) {
        for e in graph.edges_directed(repair, petgraph::Direction::Incoming) {
            let sureness = e.weight().strength();
            let entry = best.entry(e.source()).or_insert((sureness, repair));
            if sureness > entry.0 || (sureness == entry.0 && repair < entry.1) {
                *entry = (sureness, repair);
            }
        }
    }
    best
}

/// Draws a mark around a point; `cell` is the side of the largest.
pub fn draw_mark(mark: &Mark, x: f64, y: f64, cell: f64, colour: &str) -> Group {
    // The area says the strength; the least is still to be seen.
    let r = (cell / 2.0 * mark.strength.clamp(0.0, 1.0).sqrt()).max(1.4);
    let group = if mark.title.is_empty() {
        Group::new().set("class", "mark")
    } else {
        canvas::titled("mark", &mark.title)
    };
    let group = group.set("fill", colour);
    match mark.shape {
        Shape::Circle => group.add(circle(x, y, r)),
        Shape::Square => group.add(rect(x - r, y - r, 2.0 * r, 2.0 * r).set("rx", 1)),
        Shape::Point => group.add(polygon(&[(x - 0.8 * r, y - r), (x + r, y), (x - 0.8 * r, y + r)])),
        Shape::Diamond => group.add(polygon(&[(x, y - r), (x + r, y), (x, y + r), (x - r, y)])),
        Shape::Cross => {
            let r = cell * 0.32;
            let d = format!(
                "M{} {}L{} {}M{} {}L{} {}",
                canvas::n(x - r),
                canvas::n(y - r),
                canvas::n(x + r),
                canvas::n(y + r),
                canvas::n(x - r),
                canvas::n(y + r),
                canvas::n(x + r),
                canvas::n(y - r)
            );
            group.add(
                Path::new().set("d", d).set("fill", "none").set("stroke", colour).set("stroke-width", 2.2),
            )
        }
    }
}
