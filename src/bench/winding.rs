//! Winding resistance: terminals, bar to bar, temperature.
