//! Knowledge compiled to a decision network: the graph, its local models, its pictures.

pub mod model;

pub use model::*;
