//! The result of a consultation: gathered once, shown as JSON or as text.

pub mod json;
mod report;
mod speaks;
pub mod text;
pub mod why;

pub use report::{AnswerRow, CautionRow, FaultRow, LookRow, NextRow, Outlook, Report, gather, leading};
pub use speaks::Speaks;
