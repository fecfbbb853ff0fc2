//! Sound recordings: speed ratio, shaft speed, clicks.
