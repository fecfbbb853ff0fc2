//! Results as terminal text, JSON and pictures.

pub mod curves;
pub mod dial;
pub mod dot;
pub mod measure;
pub mod ripple_plot;
pub mod spectrum_plot;
pub mod svg;
pub mod text;
pub mod triage;
mod wording;

use crate::knowledge::Knowledge;
use crate::network::DecisionNetwork;

/// The form of a picture of the network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// The graph language DOT, for layout programs and editing.
    Dot,
    /// A finished picture that stands on its own.
    Svg,
}

/// Draws the whole network, or the part around one id; `depth` as in
/// [`DecisionNetwork::neighbourhood`]. `network` has to be compiled from `knowledge`.
///
/// None if no node of the network has the id.
pub fn draw(
    knowledge: &Knowledge,
    network: &DecisionNetwork,
    id: Option<&str>,
    depth: Option<usize>,
    format: Format,
) -> Option<String> {
    let part = match id {
        Some(id) => network.neighbourhood(id, depth)?,
        None => network.whole(),
    };
    Some(match format {
        Format::Dot => dot::write(knowledge, network, &part),
        Format::Svg => svg::draw(knowledge, network, &part),
    })
}
