//! The network as a finished picture: one SVG without scripts, outside fonts or references, on its own
//! background, that reads the same on a light page and on a dark one.
//!
//! Around an id it is drawn in layers from left to right, causes before what they cause.
//! The whole network has far too many links to follow by eye and is drawn as a chart with a mark where a
//! row and a column are linked.

pub(super) mod canvas;
mod chart;
mod layered;
mod layers;
pub(super) mod palette;
pub mod text;

use super::wording::Wording;
use crate::knowledge::Knowledge;
use crate::network::{DecisionNetwork, Part};

/// Draws a part of the network; the same input always gives the same text.
pub fn draw(knowledge: &Knowledge, network: &DecisionNetwork, part: &Part) -> String {
    let say = Wording { k: knowledge, net: network };
    match part.centre {
        Some(centre) => layered::draw(say, part, centre),
        None => chart::draw(say, part),
    }
}
