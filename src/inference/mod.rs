//! Exact posteriors from network and evidence.
