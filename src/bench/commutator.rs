//! The commutator: what may still be cut off, and how.
