//! Winding resistance: between terminals, bar to bar, to the shaft, and what it says of temperature.
//!
//! [`copper`] corrects for temperature and reads temperature from resistance. [`ring`] turns readings from
//! bar to neighbouring bar into the resistance of each coil; [`coils`] adds what the meter leaves open;
//! [`judge`] says which coil is at fault. [`terminals`] compares the positions of the rotor. [`meter`] is
//! the instrument.

pub mod coils;
pub mod copper;
mod error;
pub mod judge;
pub mod meter;
pub mod ring;
pub mod terminals;

pub use coils::{Coil, Coils, Pairs, Ring};
pub use error::WindingError;
pub use judge::{Judgement, Limits, Verdict, judge};
pub use meter::Meter;
