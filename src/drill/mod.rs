//! The drill: motors with a hidden fault, to train technicians on and to examine the expert with.
//!
//! A [`specimen`] is a motor of which everything is known: its faults, its history, what can be seen at it
//! and what a meter would show. Chance comes in as a random number generator that the caller hands over, so that
//! the same seed makes the same motor. A [`task`] adds an owner with a story to it, a [`session`] is somebody at work
//! on a task, [`expert`] is how the planner would have gone about it, [`coach`] says so on the way and [`debrief`] at the
//! end. [`score`] marks what was said, [`record`] keeps it.

pub mod coach;
pub mod debrief;
pub mod exam;
pub mod expert;
pub mod figures;
pub mod record;
pub mod scopes;
pub mod score;
pub mod session;
pub mod specimen;
pub mod task;
pub mod written;
