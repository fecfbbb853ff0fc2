//! A diagnostic expert system for small, rebuildable brushed DC motors that underperform.
//!
//! The house, from the ground up; a module uses only those before it:
//! [`bench`], [`knowledge`], [`network`], [`inference`], [`case`], [`plan`], [`drill`], [`present`], [`cli`].

pub mod bench;
pub mod case;
pub mod cli;
pub mod drill;
pub mod inference;
pub mod knowledge;
pub mod network;
pub mod plan;
pub mod present;
