//! Tests of the planner on small knowledge bases, against numbers worked out by hand, by brute force, and
//! against published examples.

mod published;
mod questions;
mod scopes;
mod stages;
mod steps;
