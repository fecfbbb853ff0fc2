//! The network in the DOT language, for layout programs.
//!
//! Own writer: a plain dump of the graph could not put nodes of one layer on one rank.

use std::collections::BTreeMap;
use std::fmt::Write;

use petgraph::graph::NodeIndex;

use super::svg::palette;
use super::svg::text::{clean, wrap_columns};
use super::wording::Wording;
use crate::knowledge::Knowledge;
use crate::network::{DecisionNetwork, Link, NodeKind, Part};

/// Above this many links, their labels would cover the picture and are left to the tooltips.
const LABELLED_LINKS: usize = 60;

/// Writes a part of the network as a DOT digraph, left to right, each layer on one rank: around a
/// centre the nodes that are equally many steps away, otherwise the nodes of one kind. Names label the
/// nodes; node names are ids prefixed by the kind.
pub fn write(knowledge: &Knowledge, network: &DecisionNetwork, part: &Part) -> String {
    let graph = network.graph();
    let say = Wording { k: knowledge, net: network };
    let title = part.centre.map_or("commsense: the whole network", |n| say.name(n));
    let mut out = String::new();
    let mut line = |text: String| {
        out.push_str(&text);
        out.push('\n');
    };
    line("digraph commsense {".to_owned());
    line(format!("  graph [rankdir=LR, ranksep=1.2, nodesep=0.15, label={}, labelloc=t];", quote(title)));
    line("  node [style=filled, fontname=\"Helvetica\", fontsize=11, penwidth=1.2];".to_owned());
    line("  edge [fontname=\"Helvetica\", fontsize=9, arrowsize=0.6];".to_owned());
    for (_, nodes) in layers(network, part) {
        line("  {".to_owned());
        // Faults that cause faults stand on several ranks when the whole is drawn.
        if part.centre.is_some() || graph[nodes[0]].kind != NodeKind::Fault {
            line("    rank=same;".to_owned());
        }
        for n in nodes {
            let kind = graph[n].kind;
            let look = palette::look(kind);
            let wide = if part.centre == Some(n) { ", penwidth=3" } else { "" };
            line(format!(
                "    {} [label={}, tooltip={}, {}, fillcolor=\"{}\", color=\"{}\"{wide}];",
                name(network, n),
                quote(&wrap_columns(say.name(n), 22).join("\n")),
                quote(&format!("{kind} {}: {}", graph[n].id, say.summary(n))),
                shape(kind),
                look.fill,
                look.stroke,
            ));
        }
        line("  }".to_owned());
    }
    for &e in &part.links {
        let Some((from, to)) = graph.edge_endpoints(e) else { continue };
        let mut attributes = String::new();
        if part.links.len() <= LABELLED_LINKS {
            let _ = write!(attributes, "label={}, ", quote(&say.label_in_words(e)));
        }
        let _ = write!(attributes, "tooltip={}, ", quote(&say.sentence(e)));
        let link = &graph[e];
        let _ = write!(attributes, "color=\"{}\", ", palette::link_colour(link));
        let style = match link {
            Link::Blocks { .. } | Link::BelongsTo { always: false } => ", style=dashed",
            _ => "",
        };
        let _ = write!(attributes, "penwidth={:.2}{style}", 0.5 + 2.5 * link.strength());
        line(format!("  {} -> {} [{attributes}];", name(network, from), name(network, to)));
    }
    line("}".to_owned());
    out
}

/// The nodes by layer: by steps around a centre, otherwise by kind.
fn layers(network: &DecisionNetwork, part: &Part) -> BTreeMap<isize, Vec<NodeIndex>> {
    let mut layers: BTreeMap<isize, Vec<NodeIndex>> = BTreeMap::new();
    for &n in &part.nodes {
        let layer = part.steps.get(&n).copied().unwrap_or(network.graph()[n].kind as isize);
        layers.entry(layer).or_default().push(n);
    }
    layers
}

fn name(network: &DecisionNetwork, n: NodeIndex) -> String {
    let node = &network.graph()[n];
    quote(&format!("{}:{}", node.kind, node.id))
}

fn shape(kind: NodeKind) -> &'static str {
    match kind {
        NodeKind::Factor => "shape=box, style=\"filled,rounded\"",
        NodeKind::Fault => "shape=box",
        NodeKind::Observation => "shape=ellipse",
        NodeKind::Repair => "shape=cds",
        NodeKind::Scope => "shape=box, peripheries=2",
        NodeKind::Caution => "shape=octagon",
    }
}

/// A quoted string of the DOT language. A backslash would begin an escape of the layout program and an
/// ampersand an entity, so neither stays as it is; a line end becomes the escape `\n`.
fn quote(text: &str) -> String {
    let escape = |l: &str| clean(l).replace('&', "&amp;").replace('\\', "\\\\").replace('"', "\\\"");
    let lines: Vec<String> = text.split('\n').map(escape).collect();
    format!("\"{}\"", lines.join("\\n"))
}

#[cfg(test)]
mod tests {
    use super::quote;

    #[test]
    fn strings_are_quoted() {
        assert_eq!(quote("a \"b\" \\N <c>"), r#""a \"b\" \\N <c>""#);
        assert_eq!(quote("a&lt;b"), r#""a&amp;lt;b""#);
        assert_eq!(quote("two\nlines"), r#""two\nlines""#);
        assert_eq!(quote("bell\u{7}"), "\"bell\u{fffd}\"");
    }
}
