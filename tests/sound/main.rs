//! Sound recordings: what is recovered from them, and what is said about bad ones.
#![allow(clippy::unwrap_used)]

#[path = "../synth/mod.rs"]
mod synth;

mod input;
mod recovery;
