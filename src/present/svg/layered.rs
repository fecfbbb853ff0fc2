//! The picture of a part of the network: boxes in layers, links as curves between them.

use std::collections::HashMap;

use petgraph::graph::{EdgeIndex, NodeIndex};
use svg::Document;
use svg::node::element::{Group, Path, Rectangle};

use super::canvas::{self, Align, Set, n, polygon, rect, text};
use super::layers::{self, Block, HEADING, HEADING_HEIGHT, Layout, NAME, NOTE, PAD};
use super::palette::{self, look};
use super::text::Font;
use crate::network::{Link, NodeKind, Part};
use crate::present::wording::{Wording, chance_word, percent};

const MARGIN: f64 = 28.0;
const TITLE: Font = Font::bold(20.0);
const SUBTITLE: Font = Font::plain(12.5);
const LEGEND_ITEM: f64 = 20.0;

/// Draws the part around a centre.
pub fn draw(say: Wording<'_>, part: &Part, centre: NodeIndex) -> String {
    let graph = say.net.graph();
    let node = &graph[centre];
    let mut layout = layers::place(say, part, centre);
    let width = (layout.width + 2.0 * MARGIN).max(620.0);
    let inner = width - 2.0 * MARGIN;
    let title = TITLE.wrap(say.name(centre), inner);
    let subtitle = SUBTITLE.wrap(&format!("{} · {}", node.kind, node.id), inner);
    let summary = SUBTITLE.wrap(say.summary(centre), inner.min(760.0));

    let mut y = MARGIN;
    let mut head = Group::new().set("class", "head");
    for (lines, font, class) in [(&title, TITLE, ""), (&subtitle, SUBTITLE, "soft"), (&summary, SUBTITLE, "")]
    {
        y += 3.0;
        for l in lines.iter().filter(|l| !l.is_empty()) {
            y += font.line();
            let line = text(MARGIN, y - font.size * 0.3, font, Align::Start, l);
            head = head.add(if class.is_empty() { line } else { line.set("class", class) });
        }
    }
    let top = y + 18.0;
    let left = MARGIN + (inner - layout.width) / 2.0;
    for b in &mut layout.blocks {
        b.x += left;
        b.y += top;
    }
    for h in &mut layout.headings {
        h.x += left;
        h.y += top;
    }
    let (legend, legend_height) = legend(say, part, MARGIN, top + layout.height + 26.0, inner);
    let height = top + layout.height + 26.0 + legend_height + MARGIN - 8.0;

    let description = format!(
        "The {} {} with what leads to it on the left and what follows from it on the right: {} boxes, {} links.",
        node.kind,
        say.name(centre),
        part.nodes.len(),
        part.links.len(),
    );
    let document = canvas::document(width, height, say.name(centre), &description).add(head);
    let document = add_links(document, say, part, &layout);
    let document = add_headings(document, &layout);
    let document = (layout.blocks.iter()).fold(document, |d, b| d.add(draw_block(say, b, b.node == centre)));
    format!("{}\n", document.add(legend))
}

fn add_headings(document: Document, layout: &Layout) -> Document {
    layout.headings.iter().fold(document, |d, h| {
        let line = text(h.x + 1.0, h.y + HEADING_HEIGHT - 9.0, HEADING, Align::Start, &h.text);
        d.add(line.set("class", "soft heading"))
    })
}

/// The weakest links first, so that the strongest lie on top.
fn add_links(mut document: Document, say: Wording<'_>, part: &Part, layout: &Layout) -> Document {
    let graph = say.net.graph();
    let blocks: HashMap<NodeIndex, &Block> = layout.blocks.iter().map(|b| (b.node, b)).collect();
    let ports = Ports::new(say, part, &blocks);
    let mut links = part.links.clone();
    links.sort_by(|&a, &b| graph[a].strength().total_cmp(&graph[b].strength()));
    for e in links {
        let Some((from, to)) = graph.edge_endpoints(e) else { continue };
        let (Some(a), Some(b)) = (blocks.get(&from), blocks.get(&to)) else { continue };
        // A hard limit may stand on the other side of the scope that it blocks.
        let (a, b) = if a.x < b.x { (a, b) } else { (b, a) };
        let curve = curve((a.x + a.width, ports.at(a.node, e, a)), (b.x, ports.at(b.node, e, b)));
        let group = canvas::titled("link", &say.sentence(e));
        document = document.add(group.add(stroke(curve, &graph[e])));
    }
    document
}

/// The look of a link of this kind and strength.
fn stroke(path: Path, link: &Link) -> Path {
    let p = link.strength();
    let (width, opacity) = match link {
        Link::CallsFor { .. } => (1.4, 0.6),
        Link::Blocks { .. } => (1.8, 0.8),
        Link::BelongsTo { .. } => (1.6, 0.55),
        _ => (1.0 + 3.2 * p, 0.28 + 0.57 * p),
    };
    let path = path
        .set("fill", "none")
        .set("stroke", palette::link_colour(link))
        .set("stroke-width", n(width))
        .set("stroke-opacity", (opacity * 100.0).round() / 100.0)
        .set("stroke-linecap", "round");
    match link {
        Link::BelongsTo { always: false } => path.set("stroke-dasharray", "5 5"),
        Link::Blocks { .. } => path.set("stroke-dasharray", "2 5"),
        _ => path,
    }
}

fn curve(from: (f64, f64), to: (f64, f64)) -> Path {
    let bend = ((to.0 - from.0) * 0.5).min(120.0);
    Path::new().set(
        "d",
        format!(
            "M{} {}C{} {} {} {} {} {}",
            n(from.0),
            n(from.1),
            n(from.0 + bend),
            n(from.1),
            n(to.0 - bend),
            n(to.1),
            n(to.0),
            n(to.1)
        ),
    )
}

/// Where links meet the sides of their boxes: spread over the side in the order of their other ends.
struct Ports(HashMap<(NodeIndex, EdgeIndex), f64>);

impl Ports {
    fn new(say: Wording<'_>, part: &Part, blocks: &HashMap<NodeIndex, &Block>) -> Ports {
        let graph = say.net.graph();
        let mut sides: HashMap<(NodeIndex, bool), Vec<(f64, EdgeIndex)>> = HashMap::new();
        for &e in &part.links {
            let Some((from, to)) = graph.edge_endpoints(e) else { continue };
            let (Some(a), Some(b)) = (blocks.get(&from), blocks.get(&to)) else { continue };
            let forward = a.x < b.x;
            sides.entry((from, forward)).or_default().push((b.middle(), e));
            sides.entry((to, !forward)).or_default().push((a.middle(), e));
        }
        let mut ports = HashMap::new();
        for ((node, _), mut ends) in sides {
            ends.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            let last = (ends.len() - 1).max(1) as f64;
            for (i, (_, e)) in ends.iter().enumerate() {
                let share = if ends.len() == 1 { 0.0 } else { i as f64 / last - 0.5 };
                ports.insert((node, *e), share);
            }
        }
        Ports(ports)
    }

    fn at(&self, node: NodeIndex, link: EdgeIndex, block: &Block) -> f64 {
        let share = self.0.get(&(node, link)).copied().unwrap_or(0.0);
        block.middle() + share * (block.height - 16.0).max(0.0)
    }
}

/// A box in the outline of its kind.
fn draw_block(say: Wording<'_>, b: &Block, centre: bool) -> Group {
    let node = &say.net.graph()[b.node];
    let title = format!("{} ({} {}). {}", say.name(b.node), node.kind, node.id, say.summary(b.node));
    let mut group = canvas::titled(&format!("node {}", node.kind), &title);
    let outline = rect(b.x, b.y, b.width, b.height).set("class", "box");
    group = group.add(outlined(outline, node.kind, centre));
    if let Some(mark) = mark(node.kind, b.x, b.y, b.width, b.height) {
        group = group.add(mark);
    }
    let lines = b.name.len() as f64 * NAME.line();
    let below = if b.beside { 0.0 } else { b.notes.len() as f64 * NOTE.line() };
    let mut y = b.y + (b.height - lines - below) / 2.0;
    for line in &b.name {
        y += NAME.line();
        let line = text(b.x + PAD, y - NAME.size * 0.33, NAME, Align::Start, line);
        group = group.add(line.set("class", "name"));
    }
    for line in &b.notes {
        let line = if b.beside {
            text(b.x + b.width - PAD - 8.0, y - NAME.size * 0.33, NOTE, Align::End, line)
        } else {
            y += NOTE.line();
            text(b.x + PAD, y - NOTE.size * 0.33, NOTE, Align::Start, line)
        };
        group = group.add(line.set("class", "soft"));
    }
    group
}

/// Outline and fill of a box: rounded ends for history, square corners for faults, soft ones for the rest.
fn outlined(outline: Rectangle, kind: NodeKind, centre: bool) -> Rectangle {
    let rx = match kind {
        NodeKind::Factor => 16,
        NodeKind::Fault => 0,
        NodeKind::Caution => 2,
        _ => 6,
    };
    let look = look(kind);
    outline
        .set("rx", rx)
        .set("fill", look.fill)
        .set("stroke", look.stroke)
        .set("stroke-width", if centre { 3.0 } else { 1.3 })
}

/// What marks a kind beside its outline: a bar for faults, a corner for observations, a point for repairs,
/// a second line for scopes, a warning triangle for cautions.
fn mark(kind: NodeKind, x: f64, y: f64, width: f64, height: f64) -> Option<Group> {
    let colour = look(kind).stroke;
    let group = Group::new().set("fill", colour);
    Some(match kind {
        NodeKind::Factor => return None,
        NodeKind::Fault => group.add(rect(x, y, 4.5, height)),
        NodeKind::Observation => group.add(canvas::circle(x + width - 9.0, y + 9.0, 3.2)),
        NodeKind::Repair => {
            let (r, t) = (x + width - 5.0, y + 5.0);
            group.add(polygon(&[(r - 8.0, t), (r, t + 4.0), (r - 8.0, t + 8.0)]))
        }
        NodeKind::Scope => {
            let line = rect(x + 2.8, y + 2.8, width - 5.6, height - 5.6);
            let line = line
                .set("rx", n((height / 6.0).min(4.0)))
                .set("fill", "none")
                .set("stroke", colour)
                .set("stroke-width", 0.8);
            group.add(line)
        }
        NodeKind::Caution => {
            let (r, t) = (x + width - 5.0, y + 5.0);
            group.add(polygon(&[(r - 10.0, t + 9.0), (r, t + 9.0), (r - 5.0, t)]))
        }
    })
}

/// The legend with its height: the outlines of the kinds that are there, and what the lines mean.
fn legend(say: Wording<'_>, part: &Part, left: f64, top: f64, width: f64) -> (Group, f64) {
    let graph = say.net.graph();
    let mut items: Vec<(String, Group)> = Vec::new();
    for kind in NodeKind::ALL {
        if part.nodes.iter().any(|&n| graph[n].kind == kind) {
            let swatch = outlined(rect(0.0, -11.0, 26.0, 14.0), kind, false);
            let swatch = swatch.set("rx", if kind == NodeKind::Factor { 7 } else { 0 });
            let mut g = Group::new().add(swatch);
            if let Some(mark) = mark(kind, 0.0, -11.0, 26.0, 14.0) {
                g = g.add(mark);
            }
            items.push((kind.word().to_owned(), g));
        }
    }
    let sample = |link: &Link| Group::new().add(stroke(curve((0.0, -4.0), (30.0, -4.0)), link));
    if part
        .links
        .iter()
        .any(|&e| matches!(graph[e], Link::Causes { .. } | Link::Shows { .. } | Link::RemovedBy { .. }))
    {
        for strength in [0.15, 0.5, 0.85] {
            let text = format!("{} ({})", percent(strength), chance_word(strength));
            items.push((text, sample(&Link::Causes { state: None, strength })));
        }
    }
    for (word, wanted) in [
        ("always done", Link::BelongsTo { always: true }),
        ("done as needed", Link::BelongsTo { always: false }),
        ("blocks the scope", Link::Blocks { limit: 0 }),
    ] {
        let same = |l: &Link| match (l, &wanted) {
            (Link::Blocks { .. }, Link::Blocks { .. }) => true,
            (l, w) => l == w,
        };
        if part.links.iter().any(|&e| same(&graph[e])) {
            items.push((word.to_owned(), sample(&wanted)));
        }
    }
    let mut group = Group::new().set("class", "legend");
    let (mut x, mut y) = (left, top + 12.0);
    for (word, swatch) in items {
        let advance = 38.0 + NOTE.width(&word) + 22.0;
        if x > left && x + advance - 22.0 > left + width {
            x = left;
            y += LEGEND_ITEM;
        }
        group = group
            .add(swatch.set("transform", format!("translate({} {})", n(x), n(y))))
            .add(text(x + 38.0, y, NOTE, Align::Start, &word).set("class", "soft"));
        x += advance;
    }
    (group, y - top + 8.0)
}
