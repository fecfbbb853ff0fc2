//! The curves as SVG.

use plotters::prelude::*;

use super::Curves;
use crate::bench::motor::Working;

/// Size of the picture in pixels.
const SIZE: (u32, u32) = (860, 560);

/// How far both axes reach above the curves; the legend stands there.
const HEADROOM: f64 = 1.4;

const SPEED: RGBColor = RGBColor(0x1f, 0x5f, 0xa8);
const CURRENT: RGBColor = RGBColor(0xb0, 0x3a, 0x2e);
const OUTPUT: RGBColor = RGBColor(0x6c, 0x3f, 0x9e);
const EFFICIENCY: RGBColor = RGBColor(0x1e, 0x7d, 0x3c);

/// What of a point is drawn against the right axis, in per cent.
type Share<'a> = &'a dyn Fn(&Working) -> f64;

/// Draws the curves over torque: speed against the left axis; efficiency, output and current against the
/// right one, each in per cent of its greatest value, which the legend names.
///
/// # Errors
/// A sentence, when the picture cannot be made.
pub fn svg(curves: &Curves, title: &str) -> Result<String, String> {
    let mut out = String::new();
    drawn(curves, title, &mut out).map_err(|e| format!("the curves cannot be drawn: {e}"))?;
    Ok(out)
}

fn drawn(curves: &Curves, title: &str, out: &mut String) -> Result<(), Box<dyn std::error::Error>> {
    let root = SVGBackend::with_string(out, SIZE).into_drawing_area();
    root.fill(&WHITE)?;
    let (free, stalled) = (curves.free(), curves.stalled());
    let torque = |at: &Working| at.torque * 1e3;
    let widest = torque(&stalled);
    let caption = format!("{title} at {:.1} V", curves.volts());
    let mut chart = ChartBuilder::on(&root)
        .caption(caption, ("sans-serif", 22))
        .margin(16)
        .x_label_area_size(44)
        .y_label_area_size(68)
        .right_y_label_area_size(56)
        .build_cartesian_2d(0.0..widest, 0.0..free.rpm * HEADROOM)?
        .set_secondary_coord(0.0..widest, 0.0..100.0 * HEADROOM);
    chart
        .configure_mesh()
        .x_desc("torque at the shaft, mNm")
        .y_desc("speed, rpm")
        .x_label_formatter(&|mnm| if widest < 10.0 { format!("{mnm:.1}") } else { format!("{mnm:.0}") })
        .y_label_formatter(&|rpm| format!("{rpm:.0}"))
        .label_style(("sans-serif", 14))
        .light_line_style(WHITE)
        .draw()?;
    chart
        .configure_secondary_axes()
        .y_desc("per cent")
        .y_label_formatter(&|percent| if *percent > 100.0 { String::new() } else { format!("{percent:.0}") })
        .label_style(("sans-serif", 14))
        .draw()?;
    let key =
        |colour: RGBColor| move |(x, y)| PathElement::new(vec![(x, y), (x + 22, y)], colour.stroke_width(3));
    let speed = curves.points.iter().map(|at| (torque(at), at.rpm));
    chart
        .draw_series(LineSeries::new(speed, SPEED.stroke_width(2)))?
        .label(format!("speed, {:.0} rpm unloaded", free.rpm))
        .legend(key(SPEED));
    let shares: [(RGBColor, String, Share); 3] = [
        (
            EFFICIENCY,
            format!("efficiency, best {:.1} % at {:.0} rpm", curves.best.efficiency * 100.0, curves.best.rpm),
            &|at| at.efficiency * 100.0,
        ),
        (
            OUTPUT,
            format!("output, 100 % is {:.1} W at {:.0} rpm", curves.peak.output, curves.peak.rpm),
            &|at| at.output / curves.peak.output * 100.0,
        ),
        (CURRENT, format!("current, 100 % is {:.1} A, held", stalled.current), &|at| {
            at.current / stalled.current * 100.0
        }),
    ];
    for (colour, label, share) in shares {
        let line = curves.points.iter().map(|at| (torque(at), share(at)));
        chart
            .draw_secondary_series(LineSeries::new(line, colour.stroke_width(2)))?
            .label(label)
            .legend(key(colour));
    }
    let marks = [(EFFICIENCY, Some(curves.best)), (OUTPUT, Some(curves.peak)), (BLACK, curves.at)];
    let points = marks.into_iter().filter_map(|(colour, at)| Some((colour, at?)));
    chart.draw_series(points.map(|(colour, at)| Circle::new((torque(&at), at.rpm), 5, colour.filled())))?;
    chart
        .configure_series_labels()
        .position(SeriesLabelPosition::UpperRight)
        .background_style(WHITE.mix(0.9))
        .border_style(BLACK.mix(0.4))
        .label_font(("sans-serif", 14))
        .draw()?;
    root.present()?;
    Ok(())
}
