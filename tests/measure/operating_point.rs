//! `commsense measure operating-point` through the program.
