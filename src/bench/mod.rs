//! Physics: readings with units to derived quantities.
//!
//! Nothing here knows what a reading means for a motor: [`quantity`] reads and writes numbers with
//! units, [`spread`] shares an uncertain number out over bands.

mod number;
pub mod quantity;
pub mod spread;
pub mod units;

pub use quantity::{QuantityError, looks_like_quantity, read, read_difference, write};
pub use units::Kind;
