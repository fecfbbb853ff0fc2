//! Commands and the conversation.

pub mod appearance;
pub mod prompt;
