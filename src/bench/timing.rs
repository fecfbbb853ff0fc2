//! Direction and timing: what the end bell and the leads do to a motor.
