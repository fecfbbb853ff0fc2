//! No-load test: a motor's constants, drag and curves from current and speed with nothing on the shaft.
//!
//! Without load the current hardly changes with the voltage, and it does so in step with the speed. In
//! the equation of volts (see [`super::motor`]) resistance, brush drop and back-emf can then not be told
//! apart by no-load points alone, however many there are: the resistance has to be known, or comes from
//! points under load ([`Test::loaded`]; a held shaft is one too). With it,
//!
//! - one point gives Ke with the brush drop counted in, and the drag at that speed, not how it grows;
//! - two or more points at clearly different voltages give brush drop, drag at rest and its growth too.
//!
//! What the points do not separate is held at a plain assumption (no brush drop, drag the same at every
//! speed), and each interval is stretched to cover the other end of what is possible.
//!
//! Method: weighted least squares; intervals by propagation of each instrument's error through the whole
//! of it (JCGM 100:2008, Guide to the expression of uncertainty in measurement, clauses 5.1 and G.4; from
//! memory). An instrument errs in two ways: by a scale error common to all its readings, and by a scatter
//! of its own at each. Scatter larger than stated shows in the residuals and widens the intervals, which
//! are then those of Student's t.

mod checks;
mod figures;
mod fit;
mod uncertainty;

pub use figures::PointEstimate;

use super::Estimate;
use super::motor::{Motor, MotorError, RAD_PER_S};
use figures::{Figure, Figures};
use fit::{DragShape, Shape};
use uncertainty::Tried;

/// One reading of the three meters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Volts at the terminals.
    pub volts: f64,
    /// Current in A.
    pub current: f64,
    /// Speed in rpm, always counted positive.
    pub rpm: f64,
}

/// A reading under load, forward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loaded {
    /// The meters; speed 0 means that the shaft was held.
    pub point: Point,
    /// Torque at the shaft in Nm, if it was measured. It only serves to check the rest.
    pub torque: Option<f64>,
}

/// How well an instrument reads; both are one standard deviation as a fraction of the reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Common to all its readings.
    pub scale: f64,
    /// Of each reading by itself.
    pub scatter: f64,
}

/// The three instruments.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Instruments {
    /// Voltmeter.
    pub volts: Accuracy,
    /// Ammeter.
    pub current: Accuracy,
    /// Tachometer.
    pub speed: Accuracy,
}

/// A resistance known from elsewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Known {
    /// Ohm from terminal to terminal.
    pub ohm: f64,
    /// One standard deviation of it in ohm.
    pub deviation: f64,
}

/// What was measured and is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Unloaded, forward; at least one.
    pub forward: Vec<Point>,
    /// Unloaded, in reverse; may be empty.
    pub reverse: Vec<Point>,
    /// Under load, forward; may be empty.
    pub loaded: Vec<Loaded>,
    /// Resistance, if known.
    pub resistance: Option<Known>,
    /// The instruments.
    pub instruments: Instruments,
    /// The largest drop of both brushes together that is thought possible in a sound motor, in V.
    pub brush_drop_most: f64,
    /// Voltage that no-load figures and curves are given for; if `None`, the highest forward voltage.
    pub volts: Option<f64>,
}

/// Where the resistance came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ResistanceFrom {
    /// Known beforehand; points under load, if any, refined it.
    Known,
    /// From the points under load alone.
    Points,
    /// Not known: what depends on it is left out.
    Nowhere,
}

/// What a no-load test tells. Every estimate carries its 95 % interval.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// The voltage of the no-load figures and curves.
    pub volts: f64,
    /// Back-emf constant in V s/rad and torque constant in Nm/A, forward.
    pub ke: Estimate,
    /// Speed constant in rpm/V, forward.
    pub rpm_per_volt: Estimate,
    /// Resistance in ohm.
    pub resistance: Option<Estimate>,
    /// Where it came from.
    pub resistance_from: ResistanceFrom,
    /// Drop of both brushes in V, where the points separate it from the rest.
    pub brush_drop: Option<Estimate>,
    /// Drag in Nm while running unloaded at [`Report::volts`].
    pub drag: Estimate,
    /// Drag at rest in Nm, where the points separate it.
    pub drag_at_rest: Option<Estimate>,
    /// Growth of drag with speed in Nm s/rad, where the points separate it.
    pub drag_per_speed: Option<Estimate>,
    /// No-load current in A, forward, at [`Report::volts`].
    pub current: Estimate,
    /// No-load speed in rpm, forward, at [`Report::volts`].
    pub rpm: Estimate,
    /// The same in reverse.
    pub reverse: Option<Reverse>,
    /// Stall current in A, stall torque at the shaft in Nm, and the same with the drag not taken off.
    pub stall: Option<Stall>,
    /// Point of best efficiency.
    pub best_efficiency: Option<PointEstimate>,
    /// Point of most output.
    pub peak_power: Option<PointEstimate>,
    /// The constants as one motor, for curves; none without a resistance.
    pub motor: Option<Motor>,
    /// How many times larger the scatter of the points is than the instruments explain, where it is more
    /// than chance would have it (1 time in 20); the intervals are widened by it.
    pub excess_scatter: Option<f64>,
}

/// Reverse figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reverse {
    /// Back-emf constant in V s/rad.
    pub ke: Estimate,
    /// No-load current in A at [`Report::volts`].
    pub current: Estimate,
    /// No-load speed in rpm at [`Report::volts`].
    pub rpm: Estimate,
    /// Forward speed over reverse speed at the same voltage. The scale errors of the meters cancel.
    pub speed_ratio: Estimate,
}

/// The shaft held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stall {
    /// Current in A.
    pub current: Estimate,
    /// Torque at the shaft in Nm, drag taken off.
    pub torque: Estimate,
    /// Torque of the field in Nm, drag not taken off.
    pub gross: Estimate,
}

/// Why a no-load test tells nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NoLoadError {
    /// No forward point.
    #[error("there is no forward point: give at least one, such as 7.2 V, 2.0 A, 20000 rpm")]
    NoPoint,
    /// A number that no meter shows.
    #[error("{which}: {what} is {value}; it must be a number {wanted}")]
    Number {
        /// Which point, or which other input.
        which: String,
        /// Which number of it.
        what: &'static str,
        /// The number.
        value: f64,
        /// What would be right.
        wanted: &'static str,
    },
    /// Current times resistance is more than the voltage.
    #[error(
        "{which}: {current:.3} A through {ohm:.4} ohm alone drops {drop:.2} V, but only {volts:.2} V were there. \
         Current, resistance and voltage contradict each other; measure them again, in A and ohm"
    )]
    DropAboveVolts {
        /// Which point.
        which: String,
        /// A.
        current: f64,
        /// Ohm.
        ohm: f64,
        /// V.
        drop: f64,
        /// V.
        volts: f64,
    },
    /// More output than input.
    #[error(
        "{which}: it would give {output:.1} W at the shaft and take only {taken:.1} W: efficiency above 1 does not \
         exist. Measure torque, speed and current again"
    )]
    EfficiencyAboveOne {
        /// Which point.
        which: String,
        /// W.
        output: f64,
        /// W.
        taken: f64,
    },
    /// Points that no motor has, with a sentence.
    #[error("the points contradict each other: {0}")]
    Contradiction(String),
}

impl From<MotorError> for NoLoadError {
    fn from(error: MotorError) -> Self {
        NoLoadError::Contradiction(error.to_string())
    }
}

/// Works out a no-load test.
///
/// # Errors
///
/// [`NoLoadError`]: missing or impossible numbers, and points that contradict each other beyond their
/// uncertainty (a back-emf above the supply, speed that falls with rising voltage, negative drag or
/// brush drop, more output than input). Each is one plain sentence.
///
/// # Examples
///
/// ```
/// use commsense::bench::no_load::{Accuracy, Instruments, Known, Point, Test, analyse};
/// let accuracy = |percent: f64| Accuracy { scale: percent / 100.0, scatter: 0.002 };
/// let test = Test {
///     forward: vec![Point { volts: 7.2, current: 2.0, rpm: 20_000.0 }],
///     reverse: vec![],
///     loaded: vec![],
///     resistance: Some(Known { ohm: 0.1, deviation: 0.002 }),
///     instruments: Instruments { volts: accuracy(1.0), current: accuracy(2.0), speed: accuracy(0.5) },
///     brush_drop_most: 0.4,
///     volts: None,
/// };
/// let report = analyse(&test).unwrap();
/// assert!((report.rpm_per_volt.value - 2857.14).abs() < 0.01);
/// assert!((report.stall.unwrap().current.value - 72.0).abs() < 1e-9);
/// ```
pub fn analyse(test: &Test) -> Result<Report, NoLoadError> {
    checks::numbers(test)?;
    let volts = test.volts.unwrap_or_else(|| test.forward.iter().map(|p| p.volts).fold(0.0, f64::max));
    let mut tried = Tried::new(test, volts);
    let (from, shape) = separate(test, &mut tried);
    checks::forbid_impossible(test, shape, &mut tried)?;
    let all = tried.of(shape)?.stretched(test, volts, &other_shapes(test, shape))?;
    let known = from != ResistanceFrom::Nowhere;
    let get = |figure: Figure| all.of(figure);
    let motor = fit::motor(&fit::fit(test, shape)?);
    let point = |five: [Figure; 5]| known.then(|| PointEstimate::of(five, &all));
    Ok(Report {
        volts,
        ke: get(Figure::Ke),
        rpm_per_volt: get(Figure::RpmPerVolt),
        resistance: known.then(|| get(Figure::Resistance)),
        resistance_from: from,
        brush_drop: (shape.brush_drop.is_none() && known).then(|| get(Figure::BrushDrop)),
        drag: get(Figure::Drag),
        drag_at_rest: (shape.drag == DragShape::Fitted).then(|| get(Figure::DragAtRest)),
        drag_per_speed: (shape.drag == DragShape::Fitted).then(|| get(Figure::DragPerSpeed)),
        current: get(Figure::Current),
        rpm: get(Figure::Rpm),
        reverse: (!test.reverse.is_empty()).then(|| Reverse {
            ke: get(Figure::ReverseKe),
            current: get(Figure::ReverseCurrent),
            rpm: get(Figure::ReverseRpm),
            speed_ratio: get(Figure::SpeedRatio),
        }),
        stall: known.then(|| Stall {
            current: get(Figure::StallCurrent),
            torque: get(Figure::StallTorque),
            gross: get(Figure::StallGross),
        }),
        best_efficiency: point(figures::BEST),
        peak_power: point(figures::PEAK),
        motor: known.then_some(motor),
        excess_scatter: all.excess_scatter,
    })
}

/// Decides what the points can separate, by how uncertain each figure would be if it were set free.
///
/// The decision looks at uncertainties, not at the values found.
fn separate(test: &Test, tried: &mut Tried) -> (ResistanceFrom, Shape) {
    let mut deviation = |shape: Shape, figure: Figure| -> Option<(f64, f64)> {
        let estimate = tried.of(shape).ok()?.of(figure);
        estimate.deviation.is_finite().then_some((estimate.value, estimate.deviation))
    };
    let mut shape = Shape { brush_drop: Some(0.0), resistance: None, drag: DragShape::Constant };
    let from = if test.resistance.is_some() {
        ResistanceFrom::Known
    } else {
        // A resistance off by a third and more would tell nothing about stall.
        let free = if test.loaded.is_empty() { None } else { deviation(shape, Figure::Resistance) };
        match free {
            Some((value, deviation)) if deviation < value.abs() / 3.0 => ResistanceFrom::Points,
            _ => {
                shape.resistance = Some(0.0);
                ResistanceFrom::Nowhere
            }
        }
    };
    let free = Shape { brush_drop: None, ..shape };
    // Set free, the interval is four deviations long; held, it is as long as what is possible.
    if let Some((_, deviation)) = deviation(free, Figure::BrushDrop)
        && 4.0 * deviation < test.brush_drop_most
    {
        shape = free;
    }
    let free = Shape { drag: DragShape::Fitted, ..shape };
    if test.forward.len() >= 2
        && let (Some((_, rest)), Some((drag, _))) =
            (deviation(free, Figure::DragAtRest), deviation(shape, Figure::Drag))
        && 4.0 * rest < drag.abs()
    {
        shape = free;
    }
    (from, shape)
}

/// The other ends of what is possible where something is held at an assumption.
fn other_shapes(test: &Test, shape: Shape) -> Vec<Shape> {
    let mut shapes = vec![shape];
    let mut vary = |change: &dyn Fn(Shape) -> Shape| {
        let more: Vec<Shape> = shapes.iter().map(|s| change(*s)).collect();
        shapes.extend(more);
    };
    if shape.brush_drop.is_some() {
        vary(&|s| Shape { brush_drop: Some(test.brush_drop_most), ..s });
    }
    if shape.resistance.is_some() {
        // Unloaded, a motor worth driving loses hardly more than a tenth of its voltage in the winding.
        let most =
            test.forward.iter().map(|p| 0.1 * p.volts / p.current.max(1e-9)).fold(f64::INFINITY, f64::min);
        vary(&|s| Shape { resistance: Some(most), ..s });
    }
    if shape.drag == DragShape::Constant {
        vary(&|s| Shape { drag: DragShape::Proportional, ..s });
    }
    shapes.remove(0);
    shapes
}

/// The figures of one shape; kept here so that the parts share one definition.
fn figures_of(test: &Test, volts: f64, shape: Shape) -> Result<(Figures, fit::Fit), NoLoadError> {
    let fitted = fit::fit(test, shape)?;
    Ok((figures::from_fit(&fitted, volts), fitted))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
