//! Knowledge compiled to a decision network: the graph, its local models, parts of it to look at.

pub mod export;
pub mod graph;
pub mod model;
pub mod part;

pub use export::{Export, ExportError};
pub use graph::{DecisionNetwork, Link, Node, NodeKind, compile};
pub use model::*;
pub use part::Part;
