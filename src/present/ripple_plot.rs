//! What recurs with the turn of a motor, as SVG.

use plotters::prelude::*;

use super::svg::palette;
use crate::bench::ripple::{Order, ripples_per_turn};
use crate::network::NodeKind;

const SIZE: (u32, u32) = (900, 420);

fn colour(hex: &str) -> RGBColor {
    let part = |at: usize| hex.get(at..at + 2).and_then(|h| u8::from_str_radix(h, 16).ok()).unwrap_or(0);
    RGBColor(part(1), part(3), part(5))
}

/// Draws amplitudes over how often a turn they recur, up to four times the ripple.
///
/// # Errors
///
/// A sentence when the drawing library refuses.
pub fn draw(orders: &[Order], bars: u32, title: &str) -> Result<String, String> {
    let mut svg = String::new();
    stems(orders, bars, title, &mut svg).map_err(|e| format!("the picture could not be drawn: {e}"))?;
    Ok(svg)
}

/// Ripple is drawn like an observation, what one coil does like a fault.
fn kind_of(per_turn: u32, bars: u32) -> NodeKind {
    match per_turn {
        h if h.is_multiple_of(ripples_per_turn(bars)) => NodeKind::Observation,
        h if h.is_multiple_of(bars) => NodeKind::Factor,
        _ => NodeKind::Fault,
    }
}

fn stems(
    orders: &[Order],
    bars: u32,
    title: &str,
    svg: &mut String,
) -> Result<(), Box<dyn std::error::Error>> {
    let ink = colour(palette::INK);
    let size = |points: i32| ("sans-serif", points).into_font().color(&ink);
    let ripples = ripples_per_turn(bars);
    let last = f64::from(4 * ripples) + 1.0;
    let highest = orders.iter().map(|o| o.ampere).fold(1e-6, f64::max) * 1.15;
    let root = SVGBackend::with_string(svg, SIZE).into_drawing_area();
    root.fill(&colour(palette::PAPER))?;
    let mut chart = ChartBuilder::on(&root)
        .margin(14)
        .caption(title, size(18))
        .x_label_area_size(44)
        .y_label_area_size(64)
        .build_cartesian_2d(0.0..last, 0.0..highest)?;
    chart
        .configure_mesh()
        .disable_x_mesh()
        .label_style(size(12))
        .axis_style(colour(palette::SOFT_INK))
        .bold_line_style(colour(palette::RULE))
        .light_line_style(colour(palette::SHADE))
        .x_labels(20)
        .x_label_formatter(&|x| format!("{x:.0}"))
        .x_desc("times a turn")
        .y_desc("ampere")
        .draw()?;
    let kinds = [
        ("commutation ripple", NodeKind::Observation),
        ("brushes unlike", NodeKind::Factor),
        ("one coil or bar unlike the others", NodeKind::Fault),
    ];
    for (name, kind) in kinds {
        let stroke = colour(palette::look(kind).stroke);
        let stems = orders
            .iter()
            .filter(|o| kind_of(o.per_turn, bars) == kind && f64::from(o.per_turn) < last)
            .map(|o| (f64::from(o.per_turn), o.ampere));
        chart
            .draw_series(
                stems.map(|(x, y)| PathElement::new(vec![(x, 0.0), (x, y)], stroke.stroke_width(5))),
            )?
            .label(name)
            .legend(move |(x, y)| PathElement::new(vec![(x, y), (x + 16, y)], stroke.stroke_width(5)));
    }
    chart
        .configure_series_labels()
        .position(SeriesLabelPosition::UpperRight)
        .background_style(colour(palette::PAPER).filled())
        .border_style(colour(palette::RULE))
        .label_font(size(13))
        .draw()?;
    root.present()?;
    Ok(())
}
