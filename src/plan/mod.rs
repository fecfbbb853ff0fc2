//! What next: the value of a question, the way through the stages, the scope of work.

pub mod assess;
pub mod bets;
pub mod explain;
mod foresight;
mod known;
pub mod looks;
pub mod moment;
pub mod questions;
pub mod reason;
pub mod scopes;
pub mod stages;
pub mod work;

pub use known::Known;

#[cfg(test)]
mod sample;
#[cfg(test)]
mod tests;
