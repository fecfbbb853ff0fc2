//! Shims on both sides of the armature: end play and centring.
