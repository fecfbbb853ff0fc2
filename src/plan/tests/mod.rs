//! Tests of the planner on small knowledge bases, against numbers worked out by hand, by brute force, and
//! against published examples.

mod bets;
mod looks;
mod published;
mod questions;
mod scopes;
mod stages;
mod steps;
mod work;

/// Equal but for rounding.
fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * (1.0 + a.abs().max(b.abs()))
}
