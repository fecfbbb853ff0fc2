//! What next: the value of a question, the way through the stages, the scope of work.

mod known;
pub mod assess;
pub mod questions;
pub mod scopes;
pub mod stages;

pub use known::Known;
