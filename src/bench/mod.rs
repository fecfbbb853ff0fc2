//! Physics: readings with units to derived quantities.
//!
//! Nothing here knows what a reading means for a motor: [`quantity`] reads numbers with units, [`write()`]
//! writes them, [`spread`] shares an uncertain number out over bands.

mod number;
pub mod quantity;
mod refusal;
pub mod spread;
pub mod units;
mod writing;

pub use quantity::{looks_like_quantity, read, read_difference};
pub use refusal::QuantityError;
pub use units::Kind;
pub use writing::write;
