//! The error of every instrument carried through the whole computation.

use super::figures::{COUNT, Figure, Figures};
use super::fit::{Fit, Shape};
use super::{Estimate, NoLoadError, Point, Test, figures_of};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Size of the step, in standard deviations, by which each input is moved both ways. Small enough for
/// a straight line, large enough for the arithmetic.
const STEP: f64 = 0.1;

/// The figures with their intervals.
pub(super) struct Estimates {
    all: [Estimate; COUNT],
    /// See [`super::Report::excess_scatter`].
    pub excess_scatter: Option<f64>,
}

impl Estimates {
    pub(super) fn of(&self, figure: Figure) -> Estimate {
        self.all[figure as usize]
    }
}

/// One input moved by a number of its standard deviations.
type Move = Box<dyn Fn(&mut Test, f64)>;

/// The shapes that were tried, each worked out once.
pub(super) struct Tried<'a> {
    test: &'a Test,
    volts: f64,
    done: Vec<(Shape, Result<Estimates, NoLoadError>)>,
}

impl<'a> Tried<'a> {
    pub(super) fn new(test: &'a Test, volts: f64) -> Self {
        Tried { test, volts, done: Vec::new() }
    }

    /// The figures of a shape, as far as the instruments leave them open.
    pub(super) fn of(&mut self, shape: Shape) -> Result<&Estimates, NoLoadError> {
        let place = match self.done.iter().position(|(s, _)| *s == shape) {
            Some(place) => place,
            None => {
                self.done.push((shape, estimate(self.test, self.volts, shape)));
                self.done.len() - 1
            }
        };
        self.done[place].1.as_ref().map_err(Clone::clone)
    }
}

fn estimate(test: &Test, volts: f64, shape: Shape) -> Result<Estimates, NoLoadError> {
    let (figures, fitted) = figures_of(test, volts, shape)?;
    let (scatter, scale) = moves(test);
    let alone = squares(test, volts, shape, &scatter)?;
    let common = squares(test, volts, shape, &scale)?;
    let (excess, freedom) = (excess_scatter(&fitted), fitted.freedom);
    let mut all = [Estimate::exact(f64::NAN); COUNT];
    for (n, slot) in all.iter_mut().enumerate() {
        let widened = alone[n] * excess.unwrap_or(1.0).powi(2);
        let deviation = (widened + common[n]).sqrt();
        *slot = match excess {
            // Welch and Satterthwaite: only the part seen in the residuals has few degrees of freedom.
            Some(_) if widened > 0.0 => {
                let effective = freedom as f64 * ((widened + common[n]) / widened).powi(2);
                Estimate::student(figures[n], deviation, effective.min(1e6) as usize)
            }
            _ => Estimate::normal(figures[n], deviation),
        };
    }
    Ok(Estimates { all, excess_scatter: excess })
}

impl Estimates {
    /// The same with every interval stretched to what other shapes, possible as well, would make of the test.
    pub(super) fn stretched(
        &self,
        test: &Test,
        volts: f64,
        others: &[Shape],
    ) -> Result<Estimates, NoLoadError> {
        let mut lines = Vec::new();
        for other in others {
            lines.push(figures_of(test, volts, *other)?.0);
        }
        let mut all = self.all;
        for (n, slot) in all.iter_mut().enumerate() {
            *slot = stretched(*slot, lines.iter().map(|line| line[n]));
        }
        Ok(Estimates { all, excess_scatter: self.excess_scatter })
    }
}

/// The interval moved along to every other value that is possible, and joined.
fn stretched(within: Estimate, others: impl Iterator<Item = f64>) -> Estimate {
    let (mut low, mut high) = (0.0_f64, 0.0_f64);
    for other in others.filter(|o| o.is_finite()) {
        low = low.min(other - within.value);
        high = high.max(other - within.value);
    }
    // A quantity anywhere between value and far end, evenly: its mean square from the value is a third.
    let deviation = (within.deviation.powi(2) + low.abs().max(high).powi(2) / 3.0).sqrt();
    Estimate { value: within.value, deviation, low: within.low + low, high: within.high + high }
}

/// Birge's ratio (R. T. Birge, Phys. Rev. 40 (1932) 207; from memory), where
/// the residuals are larger than one time in twenty by chance.
pub(super) fn excess_scatter(fit: &Fit) -> Option<f64> {
    let freedom = fit.freedom as f64;
    let limit = ChiSquared::new(freedom).map_or(f64::INFINITY, |d| d.inverse_cdf(0.95));
    (fit.freedom > 0 && fit.squares > limit).then(|| (fit.squares / freedom).sqrt())
}

/// Sum of squared changes of each figure over the moves, one standard deviation each.
fn squares(test: &Test, volts: f64, shape: Shape, moves: &[Move]) -> Result<Figures, NoLoadError> {
    let mut sum = [0.0; COUNT];
    for shift in moves {
        let at = |by: f64| {
            let mut moved = test.clone();
            shift(&mut moved, by);
            figures_of(&moved, volts, shape).map(|(figures, _)| figures)
        };
        let (up, down) = (at(STEP)?, at(-STEP)?);
        for (n, total) in sum.iter_mut().enumerate() {
            *total += ((up[n] - down[n]) / (2.0 * STEP)).powi(2);
        }
    }
    Ok(sum)
}

/// A point of the test, by group and number.
fn point(test: &mut Test, group: usize, n: usize) -> Option<&mut Point> {
    match group {
        0 => test.forward.get_mut(n),
        1 => test.reverse.get_mut(n),
        _ => test.loaded.get_mut(n).map(|l| &mut l.point),
    }
}

/// Which number of a point.
type Part = fn(&mut Point) -> &mut f64;

/// The moves of scatter, and those common to a whole test.
fn moves(test: &Test) -> (Vec<Move>, Vec<Move>) {
    let (mut scatter, mut scale): (Vec<Move>, Vec<Move>) = (Vec::new(), Vec::new());
    let sizes = [test.forward.len(), test.reverse.len(), test.loaded.len()];
    let parts: [(Part, _); 3] = [
        (|p| &mut p.volts, test.instruments.volts),
        (|p| &mut p.current, test.instruments.current),
        (|p| &mut p.rpm, test.instruments.speed),
    ];
    for (part, accuracy) in parts {
        for (group, size) in sizes.into_iter().enumerate() {
            for n in 0..size {
                scatter.push(Box::new(move |t, by| {
                    if let Some(p) = point(t, group, n) {
                        *part(p) *= 1.0 + accuracy.scatter * by;
                    }
                }));
            }
        }
        scale.push(Box::new(move |t, by| {
            for (group, size) in sizes.into_iter().enumerate() {
                for n in 0..size {
                    if let Some(p) = point(t, group, n) {
                        *part(p) *= 1.0 + accuracy.scale * by;
                    }
                }
            }
        }));
    }
    scale.push(Box::new(|t, by| {
        if let Some(known) = &mut t.resistance {
            known.ohm += known.deviation * by;
        }
    }));
    (scatter, scale)
}
