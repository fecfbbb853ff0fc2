//! Where the boxes of a layered picture stand.
//!
//! A column for each step from the centre; in a column, sections by kind; in a section, the strongest
//! links first or, further out, each box near the mean height of the boxes it is linked to, so that
//! few links cross.

use std::collections::HashMap;

use petgraph::graph::{EdgeIndex, NodeIndex};
use petgraph::visit::EdgeRef;

use super::text::Font;
use crate::network::{DecisionNetwork, Link, NodeKind, Part};
use crate::present::wording::{Wording, percent};

pub const NAME: Font = Font::bold(12.5);
pub const NOTE: Font = Font::plain(11.0);
pub const HEADING: Font = Font::bold(11.0);
const BOX_WIDTH: f64 = 222.0;
/// Width of the boxes of a crowded column, whose notes stand beside the name where there is room.
const WIDE_BOX: f64 = 384.0;
/// A column with more boxes than this is crowded.
const CROWD: usize = 13;
/// Space inside a box beside its text.
pub const PAD: f64 = 10.0;
/// Space for the mark of the kind in the upper right corner.
const MARK: f64 = 8.0;
const COLUMN_GAP: f64 = 100.0;
const BOX_GAP: f64 = 9.0;
const CROWDED_GAP: f64 = 5.0;
const SECTION_GAP: f64 = 22.0;
pub const HEADING_HEIGHT: f64 = 22.0;

/// A box with its text.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    pub node: NodeIndex,
    pub x: f64,
    pub y: f64,
    pub width: f64,
    pub height: f64,
    /// Lines of the name.
    pub name: Vec<String>,
    /// Lines below it, or one beside it.
    pub notes: Vec<String>,
    /// Whether the note stands beside the name.
    pub beside: bool,
}

impl Block {
    pub fn middle(&self) -> f64 {
        self.y + self.height / 2.0
    }
}

/// A heading above boxes of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    pub text: String,
    pub x: f64,
    /// Upper edge.
    pub y: f64,
}

/// All boxes and headings, placed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layout {
    pub blocks: Vec<Block>,
    pub headings: Vec<Heading>,
    pub width: f64,
    pub height: f64,
}

fn column_width(part: &Part, column: isize) -> f64 {
    if part.steps.values().filter(|&&s| s == column).count() > CROWD { WIDE_BOX } else { BOX_WIDTH }
}

struct Section {
    heading: String,
    nodes: Vec<NodeIndex>,
}

/// Places the boxes of a part around its centre, in an area that begins at 0, 0.
pub fn place(say: Wording<'_>, part: &Part, centre: NodeIndex) -> Layout {
    let first = part.steps.values().copied().min().unwrap_or(0);
    let last = part.steps.values().copied().max().unwrap_or(0);
    // From the centre outwards, so that the place of a column follows from the one before it.
    let mut columns: Vec<isize> = (first..=last).collect();
    columns.sort_by_key(|c| (c.abs(), *c));
    let mut layout = Layout::default();
    let mut placed: HashMap<NodeIndex, f64> = HashMap::new();
    for column in columns {
        let x: f64 = (first..column).map(|c| column_width(part, c) + COLUMN_GAP).sum();
        let sections = sections(say, part, centre, column, &placed);
        place_column(say, part, centre, x, sections, &placed, &mut layout);
        placed.extend(layout.blocks.iter().map(|b| (b.node, b.middle())));
    }
    let top = layout.blocks.iter().map(|b| b.y).chain(layout.headings.iter().map(|h| h.y));
    let top = top.fold(f64::INFINITY, f64::min);
    let bottom = layout.blocks.iter().map(|b| b.y + b.height).fold(f64::NEG_INFINITY, f64::max);
    layout.blocks.iter_mut().for_each(|b| b.y -= top);
    layout.headings.iter_mut().for_each(|h| h.y -= top);
    layout.width = (first..=last).map(|c| column_width(part, c) + COLUMN_GAP).sum::<f64>() - COLUMN_GAP;
    layout.height = bottom - top;
    layout
}

/// The links of the picture that tie a node to a column nearer the centre.
pub fn inward(net: &DecisionNetwork, part: &Part, node: NodeIndex) -> Vec<EdgeIndex> {
    let graph = net.graph();
    let step = part.steps.get(&node).copied().unwrap_or(0);
    let towards = if step < 0 { petgraph::Direction::Outgoing } else { petgraph::Direction::Incoming };
    let mut links: Vec<EdgeIndex> = graph.edges_directed(node, towards).map(|e| e.id()).collect();
    links.retain(|e| part.links.binary_search(e).is_ok());
    links.sort();
    links
}

fn sections(
    say: Wording<'_>,
    part: &Part,
    centre: NodeIndex,
    column: isize,
    placed: &HashMap<NodeIndex, f64>,
) -> Vec<Section> {
    let net = say.net;
    let graph = net.graph();
    let mut by_heading: Vec<((NodeKind, u8), Section)> = Vec::new();
    for &node in part.nodes.iter().filter(|n| part.steps.get(n) == Some(&column)) {
        let (rank, heading) = role(net, part, centre, node);
        match by_heading.iter_mut().find(|(r, s)| r.1 == rank && s.heading == heading) {
            Some((_, section)) => section.nodes.push(node),
            None => {
                by_heading.push(((graph[node].kind, rank), Section { heading, nodes: vec![node] }));
            }
        }
    }
    by_heading.sort_by_key(|(r, _)| (r.1, r.0));
    for (_, section) in &mut by_heading {
        let key = |node: &NodeIndex| {
            let links = inward(net, part, *node);
            if column.abs() == 1 {
                // A scope names its repairs in the order of the work, and so are its links.
                let work = links.iter().find(|&&e| matches!(graph[e], Link::BelongsTo { .. }));
                let strongest = links.iter().map(|&e| graph[e].strength()).fold(0.0, f64::max);
                work.map_or(-strongest, |e| e.index() as f64)
            } else {
                mean_height(net, &links, *node, placed)
            }
        };
        section.nodes.sort_by(|a, b| key(a).total_cmp(&key(b)));
    }
    by_heading.into_iter().map(|(_, s)| s).collect()
}

fn mean_height(
    net: &DecisionNetwork,
    links: &[EdgeIndex],
    node: NodeIndex,
    placed: &HashMap<NodeIndex, f64>,
) -> f64 {
    let ends = links.iter().filter_map(|&e| net.graph().edge_endpoints(e));
    let heights: Vec<f64> =
        ends.filter_map(|(a, b)| placed.get(&if a == node { b } else { a }).copied()).collect();
    if heights.is_empty() { 0.0 } else { heights.iter().sum::<f64>() / heights.len() as f64 }
}

fn place_column(
    say: Wording<'_>,
    part: &Part,
    centre: NodeIndex,
    x: f64,
    sections: Vec<Section>,
    placed: &HashMap<NodeIndex, f64>,
    layout: &mut Layout,
) {
    let from = (layout.blocks.len(), layout.headings.len());
    let mut y = 0.0;
    let mut wish = Vec::new();
    for (i, section) in sections.into_iter().enumerate() {
        if i > 0 {
            y += SECTION_GAP - BOX_GAP;
        }
        layout.headings.push(Heading { text: section.heading, x, y });
        y += HEADING_HEIGHT;
        for node in section.nodes {
            let block = block(say, part, centre, node, x, y);
            wish.push(mean_height(say.net, &inward(say.net, part, node), node, placed) - block.middle());
            y += block.height + if block.width > BOX_WIDTH { CROWDED_GAP } else { BOX_GAP };
            layout.blocks.push(block);
        }
    }
    // Shift the whole column so that its boxes stand on average where their links want them.
    let shift = if wish.is_empty() { 0.0 } else { wish.iter().sum::<f64>() / wish.len() as f64 };
    layout.blocks[from.0..].iter_mut().for_each(|b| b.y += shift);
    layout.headings[from.1..].iter_mut().for_each(|h| h.y += shift);
}

fn block(say: Wording<'_>, part: &Part, centre: NodeIndex, node: NodeIndex, x: f64, y: f64) -> Block {
    let width = column_width(part, part.steps.get(&node).copied().unwrap_or(0));
    let inner = width - 2.0 * PAD - MARK;
    let name = NAME.wrap(say.name(node), inner);
    let notes = notes(say, part, centre, node);
    let beside = match (&name[..], &notes[..]) {
        ([name], [note]) => width > BOX_WIDTH && NAME.width(name) + 12.0 + NOTE.width(note) <= inner,
        _ => false,
    };
    let notes: Vec<String> =
        if beside { notes } else { notes.iter().flat_map(|note| NOTE.wrap(note, inner)).collect() };
    let below = if beside { 0 } else { notes.len() };
    let rim = if width > BOX_WIDTH { 4.0 } else { 7.0 };
    let height = 2.0 * rim + name.len() as f64 * NAME.line() + below as f64 * NOTE.line();
    Block { node, x, y, width, height, name, notes, beside }
}

/// What stands below the name: for the centre its own numbers, for another box what its link says, as
/// long as it has links to one box only.
fn notes(say: Wording<'_>, part: &Part, centre: NodeIndex, node: NodeIndex) -> Vec<String> {
    if node == centre {
        return say.about(node);
    }
    let graph = say.net.graph();
    let links = inward(say.net, part, node);
    if graph[centre].kind == NodeKind::Scope && graph[node].kind == NodeKind::Repair {
        // How it belongs to the scope is said by its heading.
        return say.about(node);
    }
    let ends: Vec<_> = links.iter().filter_map(|&e| graph.edge_endpoints(e)).collect();
    if ends.windows(2).all(|w| w[0] == w[1]) {
        return links.iter().map(|&e| say.label(e)).collect();
    }
    // Links to several boxes: what they all say, or how surely the repairs among them cure.
    let sure: Vec<f64> = (links.iter())
        .filter(|&&e| matches!(graph[e], Link::RemovedBy { .. }))
        .map(|&e| graph[e].strength())
        .collect();
    if sure.len() == links.len() {
        let (low, high) = sure.iter().fold((1.0, 0.0), |(l, h): (f64, f64), &s| (l.min(s), h.max(s)));
        return vec![format!("{} repairs: {} to {}", sure.len(), percent(low), percent(high))];
    }
    let mut notes: Vec<String> = links.iter().map(|&e| say.label(e)).collect();
    notes.dedup();
    if notes.len() == 1 { notes } else { Vec::new() }
}

/// The heading a node stands under, and the place of that heading among those of its kind.
fn role(net: &DecisionNetwork, part: &Part, centre: NodeIndex, node: NodeIndex) -> (u8, String) {
    use NodeKind::{Caution, Factor, Fault, Observation, Repair, Scope};
    let graph = net.graph();
    let (kind, around) = (graph[node].kind, graph[centre].kind);
    let step = part.steps.get(&node).copied().unwrap_or(0);
    let links = inward(net, part, node);
    let only_blocks = !links.is_empty() && links.iter().all(|&e| matches!(graph[e], Link::Blocks { .. }));
    let plural = match kind {
        Factor => "History",
        Fault => "Faults",
        Observation => "Observations",
        Repair => "Repairs",
        Scope => "Scopes of work",
        Caution => "Cautions",
    };
    let heading = match (around, kind, step) {
        (_, _, 0) => match kind {
            Factor => "History",
            Fault => "Fault",
            Observation => "Observation",
            Repair => "Repair",
            Scope => "Scope of work",
            Caution => "Caution",
        },
        (Scope, Factor | Fault | Observation, -1) if only_blocks => return (2, "Blocked by".to_owned()),
        (_, Scope, _) if only_blocks => return (2, "Blocks the scope".to_owned()),
        (Fault, Factor, -1) => "History that brings it on",
        (Fault, Fault, -1) => "Faults that bring it on",
        (Fault | Factor, Fault, 1) => "Faults it brings on",
        (Fault | Factor, Observation, 1) => "Shows itself in",
        (Fault, Repair, 1) => "Removed by",
        (Observation, Factor, -1) => "History that shows in it",
        (Observation, Fault, -1) => "Faults that show in it",
        (Repair, Fault, -1) => "Faults it removes",
        (Repair, Scope, 1) => "Belongs to",
        (Scope, Repair, -1) => {
            let always = links.iter().any(|&e| matches!(graph[e], Link::BelongsTo { always: true }));
            return if always { (0, "Always done".to_owned()) } else { (1, "Done as needed".to_owned()) };
        }
        (Scope, Fault, -2) => "Faults they remove",
        (Caution, Factor | Observation, -1) => "Questions and tests that call for it",
        (Caution, Repair, -1) => "Repairs that call for it",
        _ => plural,
    };
    (0, heading.to_owned())
}
