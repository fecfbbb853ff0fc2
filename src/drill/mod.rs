//! The drill: motors with a hidden fault, to train technicians on and to examine the expert with.
//!
//! A [`specimen`] is a motor of which everything is known: its faults, its history, what can be seen at it
//! and what a meter would show. Chance comes in as a random number generator that the caller hands over, so that
//! the same seed makes the same motor.

pub mod specimen;
