//! The expert examined: thousands of simulated consultations, and what they say about it.
//!
//! A [`Plan`] says which motors are put on the bench and under which [`Condition`]s: with the world as the expert
//! believes it to be, with every chance of it off by some amount, with people who answer carelessly. [`examine`] plays all of it and returns a [`Report`].
//!
//! Every consultation has random numbers of its own, named by the seed, the kind of motor and its number. So the
//! figures do not depend on how many threads there are, and the same motors come under every condition.

mod consultation;
mod marks;
mod moves;
mod plan;
mod run;
mod sensitivity;
mod statistics;
mod tables;
#[cfg(test)]
mod tests;
mod world;

pub use consultation::{Asking, Played};
pub use marks::{Marks, Spread};
pub use plan::{Condition, Kind, Plan};
pub use run::{ExamError, Paper, Report, examine};
pub use sensitivity::{MOVED_BY, Number, Sensitivity, What};
pub use statistics::{Bin, Calibration, Rate};
pub use tables::{Confusion, FaultRow, QuestionRow, Separator};
pub use world::{moved, perturbed};
