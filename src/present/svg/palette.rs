//! The colours of the pictures.
//!
//! Dark inks on pale fills of a warm paper. Neighbours differ in lightness as well as in hue, and every
//! kind has its own outline and heading besides, so that no meaning hangs on colour alone.

use crate::network::{Link, NodeKind};

/// Background.
pub const PAPER: &str = "#FBFAF6";
/// Fill behind headings and every other row.
pub const SHADE: &str = "#F1EEE5";
/// Lines of grids.
pub const RULE: &str = "#DDD8CA";
/// Text.
pub const INK: &str = "#23262B";
/// Text of less weight.
pub const SOFT_INK: &str = "#5B6069";

/// Outline and fill of a kind of node.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Colour of its outline and of the links that belong to it.
    pub stroke: &'static str,
    /// Colour inside.
    pub fill: &'static str,
}

/// The look of a kind of node.
pub fn look(kind: NodeKind) -> Look {
    let (stroke, fill) = match kind {
        NodeKind::Factor => ("#7A6A4F", "#EFE8D8"),
        NodeKind::Fault => ("#B5460F", "#FCE4D6"),
        NodeKind::Observation => ("#1F5F99", "#DDEBF8"),
        NodeKind::Repair => ("#16724F", "#DCF1E6"),
        NodeKind::Scope => ("#5F3A94", "#E9E0F4"),
        NodeKind::Caution => ("#8A6400", "#FFF2BF"),
    };
    Look { stroke, fill }
}

/// The colour of a link: that of the kind it leads to or, for a cause, of what brings on.
pub fn link_colour(link: &Link) -> &'static str {
    match link {
        Link::Causes { .. } => look(NodeKind::Factor).stroke,
        Link::Shows { .. } => look(NodeKind::Observation).stroke,
        Link::RemovedBy { .. } => look(NodeKind::Repair).stroke,
        Link::BelongsTo { .. } => look(NodeKind::Scope).stroke,
        Link::CallsFor { .. } => look(NodeKind::Caution).stroke,
        Link::Blocks { .. } => "#A3123F",
    }
}

/// The colour of a group in a chart, by the place of the group; they repeat after seven.
pub fn group(place: usize) -> &'static str {
    ["#B5460F", "#0B6A7D", "#6D3FA0", "#80620A", "#1D57A8", "#A61E62", "#454F5B"][place % 7]
}
