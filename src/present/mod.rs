//! Results as terminal text, JSON and pictures.

pub mod text;
