//! Two spectra one above the other as SVG, with the tones that both share.

use plotters::prelude::*;

use super::svg::palette;
use crate::bench::sound::Comparison;
use crate::bench::spectrum::{LogAxis, Spectrum};

/// Places in an octave that are drawn: about one for each point of the width.
const PER_OCTAVE: f64 = 120.0;

/// Lowest and highest level of the axis, dB.
const LEVELS: (f64, f64) = (0.0, 45.0);

const SIZE: (u32, u32) = (1000, 640);

/// What is drawn.
#[derive(Debug)]
pub struct SpectrumPlot<'a> {
    /// Spectrum of the forward recording.
    pub forward: &'a Spectrum,
    /// Spectrum of the reverse recording.
    pub reverse: &'a Spectrum,
    /// What they have in common.
    pub compared: &'a Comparison,
    /// Frequencies shown, Hz.
    pub range: (f64, f64),
    /// Title of all.
    pub title: String,
    /// Titles above the two.
    pub names: [String; 2],
}

fn colour(hex: &str) -> RGBColor {
    let part = |at: usize| hex.get(at..at + 2).and_then(|h| u8::from_str_radix(h, 16).ok()).unwrap_or(0);
    RGBColor(part(1), part(3), part(5))
}

/// Draws it.
///
/// # Errors
///
/// A sentence when the drawing library refuses; with a sound range it does not.
pub fn draw(plot: &SpectrumPlot) -> Result<String, String> {
    let (low, high) = plot.range;
    if !(low > 0.0 && high > low && high.is_finite()) {
        return Err(format!("a picture from {low} to {high} Hz can't be drawn"));
    }
    let mut svg = String::new();
    panels(plot, &mut svg).map_err(|e| format!("the picture could not be drawn: {e}"))?;
    Ok(svg)
}

fn panels(plot: &SpectrumPlot, svg: &mut String) -> Result<(), Box<dyn std::error::Error>> {
    let root = SVGBackend::with_string(svg, SIZE).into_drawing_area();
    root.fill(&colour(palette::PAPER))?;
    let ink = colour(palette::INK);
    let soft = colour(palette::SOFT_INK);
    let root = root.margin(10, 10, 14, 14);
    let (head, body) = root.split_vertically(58);
    let size = |points: i32| ("sans-serif", points).into_font();
    head.draw(&Text::new(plot.title.clone(), (4, 4), size(20).color(&ink)))?;
    let legend = "Circles: tones that both recordings share. Pale line below: the forward tones moved to the \
                  reverse speed.";
    head.draw(&Text::new(legend, (4, 32), size(13).color(&soft)))?;
    let (top, bottom) = body.split_vertically(276);
    let axis = LogAxis::new(plot.range.0, plot.range.1, PER_OCTAVE);
    let ratio = plot.compared.ratio.value;
    let (forward, reverse) = (trace(plot.forward, &axis, 1.0), trace(plot.reverse, &axis, 1.0));
    let moved = trace(plot.forward, &axis, ratio);
    let circles = |of: fn(&crate::bench::sound::Match) -> (f64, f64)| -> Vec<(f64, f64)> {
        plot.compared.matches.iter().map(of).collect()
    };
    let ahead = circles(|m| (m.forward.hz, m.forward.db));
    let back = circles(|m| (m.reverse.hz, m.reverse.db));
    let strong = [palette::group(0), palette::group(4)];
    panel(&top, plot, &plot.names[0], false, &[(&forward, colour(strong[0]).to_rgba())], &ahead)?;
    let pale = colour(strong[0]).mix(0.35);
    panel(
        &bottom,
        plot,
        &plot.names[1],
        true,
        &[(&moved, pale), (&reverse, colour(strong[1]).to_rgba())],
        &back,
    )?;
    root.present()?;
    Ok(())
}

/// Levels above the floor over the axis; frequencies divided by `slower`.
fn trace(spectrum: &Spectrum, axis: &LogAxis, slower: f64) -> Vec<(f64, f64)> {
    let levels = spectrum.excess(&spectrum.floor(150.0), LEVELS.1);
    let levels = axis.resample(&levels, spectrum.bin_hz / slower);
    levels.into_iter().enumerate().map(|(k, db)| (axis.hz(k as f64), db)).collect()
}

type Area<'a> = DrawingArea<SVGBackend<'a>, plotters::coord::Shift>;

fn panel(
    area: &Area,
    plot: &SpectrumPlot,
    name: &str,
    foot: bool,
    traces: &[(&Vec<(f64, f64)>, RGBAColor)],
    circles: &[(f64, f64)],
) -> Result<(), Box<dyn std::error::Error>> {
    let ink = colour(palette::INK);
    let mut chart = ChartBuilder::on(area)
        .caption(name, ("sans-serif", 15).into_font().color(&ink))
        .x_label_area_size(if foot { 44 } else { 24 })
        .y_label_area_size(54)
        .build_cartesian_2d((plot.range.0..plot.range.1).log_scale(), LEVELS.0..LEVELS.1)?;
    let mut mesh = chart.configure_mesh();
    mesh.label_style(("sans-serif", 12).into_font().color(&ink))
        .axis_style(colour(palette::SOFT_INK))
        .bold_line_style(colour(palette::RULE))
        .light_line_style(colour(palette::SHADE))
        .y_labels(5)
        .x_labels(12)
        .y_label_formatter(&|db| format!("{db:.0}"))
        .y_desc("dB above noise")
        .x_label_formatter(&|hz| {
            if *hz >= 1000.0 { format!("{} kHz", hz / 1000.0) } else { format!("{hz} Hz") }
        });
    if foot {
        mesh.x_desc("frequency");
    }
    mesh.draw()?;
    for (trace, colour) in traces {
        chart.draw_series(LineSeries::new(trace.iter().copied(), colour.stroke_width(1)))?;
    }
    let inside = |p: &&(f64, f64)| p.0 >= plot.range.0 && p.0 <= plot.range.1;
    let ring = ink.stroke_width(1);
    chart.draw_series(
        circles.iter().filter(inside).map(|p| Circle::new((p.0, p.1.min(LEVELS.1 - 1.0)), 4, ring)),
    )?;
    Ok(())
}
