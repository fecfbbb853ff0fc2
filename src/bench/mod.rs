//! Physics: readings with units to derived quantities.
//!
//! Nothing here knows what a reading means for a motor: [`quantity`] reads numbers with units, [`write()`]
//! writes them, [`spread`] shares an uncertain number out over bands.

pub mod brushes;
pub mod commutator;
pub mod end_play;
pub mod estimate;
pub mod motor;
pub mod no_load;
mod number;
pub mod operating;
pub mod quantity;
mod refusal;
pub mod ripple;
pub mod run_in;
pub mod sound;
pub mod spectrum;
pub mod spread;
pub mod timing;
pub mod units;
pub mod winding;
mod writing;

pub use estimate::Estimate;
pub use quantity::{looks_like_quantity, read, read_difference};
pub use refusal::QuantityError;
pub use units::Kind;
pub use writing::{in_usual_unit, write, write_difference, write_in_steps, write_to};
