//! A motor at work: vehicle or torque load, current, heat, gearing.
