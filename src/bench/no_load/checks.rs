//! What is refused: numbers that are none, and points that no motor has.

use super::figures::Figure;
use super::fit::{self, DragShape, Shape};
use super::uncertainty::{self, Tried};
use super::{Estimate, NoLoadError, Point, RAD_PER_S, Test};

/// How many standard deviations a figure may be on the wrong side of zero before it is a contradiction. A
/// sound set of readings goes that far less than once in ten thousand.
const CONTRADICTS: f64 = 4.0;

/// Scatter so many times larger than the meters explain is no scatter any more.
const HOPELESS: f64 = 10.0;

fn number(which: &str, what: &'static str, value: f64, zero_too: bool) -> Result<(), NoLoadError> {
    if value.is_finite() && (value > 0.0 || (zero_too && value == 0.0)) {
        return Ok(());
    }
    let wanted = if zero_too { "from 0 up" } else { "above 0" };
    Err(NoLoadError::Number { which: which.to_owned(), what, value, wanted })
}

/// Refuses numbers that are none and points that no motor has by themselves.
pub(super) fn numbers(test: &Test) -> Result<(), NoLoadError> {
    if test.forward.is_empty() {
        return Err(NoLoadError::NoPoint);
    }
    let i = &test.instruments;
    for (name, accuracy) in [("voltmeter", i.volts), ("ammeter", i.current), ("tachometer", i.speed)] {
        number(name, "its scale error", accuracy.scale, true)?;
        number(name, "its scatter", accuracy.scatter, false)?;
    }
    number("brushes", "the largest possible drop", test.brush_drop_most, true)?;
    if let Some(volts) = test.volts {
        number("curves", "the voltage", volts, false)?;
    }
    if let Some(known) = test.resistance {
        number("resistance", "it", known.ohm, false)?;
        number("resistance", "its deviation", known.deviation, true)?;
    }
    let plain = |name: &str, points: &[Point]| -> Result<(), NoLoadError> {
        for (n, point) in points.iter().enumerate() {
            let which = format!("{name} point {}", n + 1);
            number(&which, "the voltage", point.volts, false)?;
            number(&which, "the current", point.current, false)?;
            number(&which, "the speed", point.rpm, false)?;
            forbid_drop(test, &which, point)?;
        }
        Ok(())
    };
    plain("forward", &test.forward)?;
    plain("reverse", &test.reverse)?;
    for (n, loaded) in test.loaded.iter().enumerate() {
        let which = format!("loaded point {}", n + 1);
        let point = loaded.point;
        number(&which, "the voltage", point.volts, false)?;
        number(&which, "the current", point.current, false)?;
        number(&which, "the speed", point.rpm, true)?;
        if point.rpm > 0.0 {
            forbid_drop(test, &which, &point)?;
        }
        if let Some(torque) = loaded.torque {
            number(&which, "the torque", torque, true)?;
            let (output, taken) = (torque * point.rpm * RAD_PER_S, point.volts * point.current);
            if output > taken {
                return Err(NoLoadError::EfficiencyAboveOne { which, output, taken });
            }
        }
    }
    Ok(())
}

fn forbid_drop(test: &Test, which: &str, point: &Point) -> Result<(), NoLoadError> {
    match test.resistance {
        Some(known) if point.current * known.ohm >= point.volts => Err(NoLoadError::DropAboveVolts {
            which: which.to_owned(),
            current: point.current,
            ohm: known.ohm,
            drop: point.current * known.ohm,
            volts: point.volts,
        }),
        _ => Ok(()),
    }
}

/// Refuses constants that no motor has, when uncertainty does not explain them.
///
/// Whether a figure is used or held at an assumption, its free value must not be absurd.
pub(super) fn forbid_impossible(test: &Test, shape: Shape, tried: &mut Tried) -> Result<(), NoLoadError> {
    let no = |why: String| Err(NoLoadError::Contradiction(why));
    let below_zero = |e: Estimate| e.value + CONTRADICTS * e.deviation < 0.0;
    let fitted = fit::fit(test, shape)?;
    let excess = uncertainty::excess_scatter(&fitted).unwrap_or(1.0);
    let free = tried.of(Shape { brush_drop: None, ..shape }).ok();
    let backwards = free.is_some_and(|f| below_zero(f.of(Figure::Ke)));
    let drop = free.map(|f| f.of(Figure::BrushDrop)).filter(|d| below_zero(*d));
    if fitted.ke <= 0.0 || fitted.reverse.is_some_and(|r| r.ke <= 0.0) || backwards {
        return no(
            "the speed does not rise with the voltage. Check which speed belongs to which voltage".into()
        );
    }
    if shape.resistance.is_none() && fitted.resistance <= 0.0 {
        return no("under load the speed does not fall as it must, so the resistance comes out negative. \
             Check which current belongs to which speed"
            .into());
    }
    if let Some(drop) = drop {
        return no(format!(
            "drawn out to standstill they leave {:.2} V for the brushes, and a brush drop cannot be negative. A \
             back-emf would stand above the supply. Check volts and speeds, and whether the resistance is too high",
            drop.value
        ));
    }
    if excess > HOPELESS {
        return no(format!(
            "they lie {excess:.0} times further from any motor's line than the meters explain. Check each point's \
             volts, current and speed, and measure again"
        ));
    }
    let sloped = Shape { drag: DragShape::Fitted, ..shape };
    let Some(all) = (test.forward.len() >= 2).then(|| tried.of(sloped).ok()).flatten() else { return Ok(()) };
    if below_zero(all.of(Figure::DragPerSpeed)) {
        return no("the current falls when the speed rises, so friction would shrink with speed. Run the motor warm \
             for half a minute, then measure from the lowest voltage up"
            .into());
    }
    if below_zero(all.of(Figure::DragAtRest)) {
        return no(
            "the current rises faster than the speed, so friction at rest would be negative. Check the \
             ammeter's zero and which current belongs to which voltage"
                .into(),
        );
    }
    Ok(())
}
