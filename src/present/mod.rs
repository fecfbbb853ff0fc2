//! Results as terminal text, JSON and pictures.
