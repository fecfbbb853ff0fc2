//! The nominal data of a motor that its physics starts from.

use crate::bench::{self, Kind};
use crate::knowledge::Motor;

pub const VOLTAGE: (&str, Kind) = ("voltage", Kind::Voltage);
pub const RESISTANCE: (&str, Kind) = ("resistance", Kind::Resistance);
pub const CURRENT: (&str, Kind) = ("no-load-current", Kind::Current);
pub const SPEED: (&str, Kind) = ("no-load-speed", Kind::Speed);
pub const START: (&str, Kind) = ("starting-voltage", Kind::Voltage);
pub const SPRING: (&str, Kind) = ("spring-force", Kind::Force);
pub const COMMUTATOR: &str = "commutator-diameter";
pub const MINIMUM: &str = "commutator-minimum";
pub const BRUSH: &str = "brush-length-new";
pub const END_PLAY: &str = "end-play";

/// A value without which there is no physics.
pub fn above_zero(motor: &Motor, (key, kind): (&str, Kind)) -> Result<f64, String> {
    let name = if motor.id.is_empty() { &motor.name } else { &motor.id };
    let text = motor.nominal.get(key).ok_or_else(|| format!("the data of `{name}` lack `{key}`"))?;
    match bench::read(kind, text) {
        Ok(value) if value > 0.0 => Ok(value),
        Ok(_) => Err(format!("the `{key}` of `{name}` is not above zero")),
        Err(error) => Err(format!("the `{key}` of `{name}` can't be read: {error}")),
    }
}

/// A value of a kind that may be lacking.
pub fn of_kind(motor: &Motor, (key, kind): (&str, Kind)) -> Option<f64> {
    bench::read(kind, motor.nominal.get(key)?).ok()
}

/// A length that may be lacking.
pub fn known(motor: &Motor, key: &str) -> Option<f64> {
    of_kind(motor, (key, Kind::Length))
}
