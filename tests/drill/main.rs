//! The drill through the program: lessons from beginning to end, on terminals and pipes, and the instructor's side.

#[path = "../common/mod.rs"]
mod common;

mod instructor;
#[cfg(unix)]
mod screens;
mod talk;
