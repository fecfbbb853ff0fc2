//! Physics: readings with units to derived quantities.
