//! The decision network and its pictures.

mod builtin;
mod dot;
mod export;
mod fixture;
mod graph;
mod svg;
