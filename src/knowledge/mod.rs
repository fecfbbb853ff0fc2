//! YAML in, checked and cross-referenced types out.

pub mod model;

pub use model::*;
