//! Current against time: speed and defects from commutation ripple.
