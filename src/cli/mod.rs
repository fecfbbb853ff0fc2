//! Commands and the conversation.
