//! No-load tests: the constants of a motor from current and speed at known voltages.
