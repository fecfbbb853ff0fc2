//! Weighted least squares for the constants, with what is not free held fixed.

use super::{Motor, NoLoadError, Point, RAD_PER_S, Test};
use nalgebra::{DMatrix, DVector};

/// How drag is taken to depend on speed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum DragShape {
    /// The same at every speed.
    Constant,
    /// Nothing at rest, growing in proportion to speed.
    Proportional,
    /// A part at rest and a part that grows, both from the points.
    Fitted,
}

/// What is held fixed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shape {
    /// Brush drop in V, or free.
    pub brush_drop: Option<f64>,
    /// Resistance in ohm held at a bare assumption; `None`: free, or drawn to the known one.
    pub resistance: Option<f64>,
    /// Drag.
    pub drag: DragShape,
}

/// Constants of one direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Direction {
    pub ke: f64,
    pub drag: f64,
    pub drag_per_speed: f64,
}

/// All constants; any may come out negative, as the points have it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit {
    pub ke: f64,
    pub drag: f64,
    pub drag_per_speed: f64,
    pub resistance: f64,
    pub brush_drop: f64,
    pub reverse: Option<Direction>,
    /// Weighted sum of squared residuals.
    pub squares: f64,
    /// Degrees of freedom left.
    pub freedom: usize,
}

/// The forward constants as a motor, not checked.
pub(super) fn motor(fit: &Fit) -> Motor {
    Motor {
        ke: fit.ke,
        resistance: fit.resistance,
        brush_drop: fit.brush_drop,
        drag: fit.drag,
        drag_per_speed: fit.drag_per_speed,
    }
}

/// The part of a column of length 1 that the columns before it must leave, for it to be settled by its own.
const DEPENDENT: f64 = 1e-9;

/// Rows of a linear system, each divided by its standard deviation.
struct Rows {
    columns: usize,
    matrix: Vec<f64>,
    wanted: Vec<f64>,
}

impl Rows {
    fn new(columns: usize) -> Self {
        Rows { columns, matrix: Vec::new(), wanted: Vec::new() }
    }

    fn push(&mut self, row: &[f64], wanted: f64, deviation: f64) {
        self.matrix.extend(row.iter().map(|x| x / deviation));
        self.wanted.push(wanted / deviation);
    }

    /// Solution and sum of squared residuals; `None` if the rows do not settle every unknown.
    fn solve(self) -> Option<(Vec<f64>, f64)> {
        let rows = self.wanted.len();
        if rows < self.columns {
            return None;
        }
        let mut matrix = DMatrix::from_row_slice(rows, self.columns, &self.matrix);
        let original = matrix.clone();
        let wanted = DVector::from_vec(self.wanted);
        // The unknowns differ by orders of magnitude; columns of length 1 make their rank meaningful.
        let lengths: Vec<f64> = (0..self.columns).map(|c| matrix.column(c).norm()).collect();
        if lengths.iter().any(|l| !(l.is_finite() && *l > 0.0)) {
            return None;
        }
        for (c, length) in lengths.iter().enumerate() {
            matrix.column_mut(c).unscale_mut(*length);
        }
        let qr = matrix.qr();
        let triangle = qr.r();
        if (0..self.columns).any(|c| triangle[(c, c)].abs() < DEPENDENT) {
            return None;
        }
        let mut turned = wanted.clone();
        qr.q_tr_mul(&mut turned);
        let scaled = triangle.solve_upper_triangular(&turned.rows(0, self.columns))?;
        let solution: Vec<f64> = scaled.iter().zip(&lengths).map(|(x, l)| x / l).collect();
        let squares = (wanted - original * DVector::from_column_slice(&solution)).norm_squared();
        Some((solution, squares))
    }
}

fn speed(point: &Point) -> f64 {
    point.rpm * RAD_PER_S
}

/// Fits the constants.
///
/// Volts: `V - (held) = Ke w + [Vb] + [R] I`, one row a point, and one row for a resistance that is known.
/// Drag, each direction: `I = (T0 + b w) / Ke`.
pub(super) fn fit(test: &Test, shape: Shape) -> Result<Fit, NoLoadError> {
    let unsettled = || {
        NoLoadError::Contradiction("they are too few or too alike to settle every constant asked for".into())
    };
    let reversed = !test.reverse.is_empty();
    let drop_column = 1 + usize::from(reversed);
    let resistance_column = drop_column + usize::from(shape.brush_drop.is_none());
    let columns = resistance_column + usize::from(shape.resistance.is_none());
    let mut rows = Rows::new(columns);
    let about = test.resistance.map(|k| k.ohm).or(shape.resistance).unwrap_or(0.0);
    let directions = [(&test.forward, 0), (&test.reverse, 1)];
    let unloaded = directions.iter().flat_map(|(points, column)| points.iter().map(move |p| (*p, *column)));
    let loaded = test.loaded.iter().map(|l| (l.point, 0));
    for (point, column) in unloaded.chain(loaded) {
        let mut row = vec![0.0; columns];
        let mut wanted = point.volts;
        row[column] = speed(&point);
        match shape.brush_drop {
            None => row[drop_column] = 1.0,
            Some(drop) => wanted -= drop,
        }
        match shape.resistance {
            None => row[resistance_column] = point.current,
            Some(ohm) => wanted -= ohm * point.current,
        }
        // Scatter of the three meters, turned into volts: Ke w is what the winding leaves of V.
        let drop = about * point.current;
        let emf = (point.volts - drop).max(0.0);
        let i = &test.instruments;
        let scatter = [i.volts.scatter * point.volts, i.current.scatter * drop, i.speed.scatter * emf];
        rows.push(&row, wanted, scatter.iter().map(|s| s * s).sum::<f64>().sqrt());
    }
    if let (Some(known), None) = (test.resistance, shape.resistance) {
        let mut row = vec![0.0; columns];
        row[resistance_column] = 1.0;
        // Exactly known still leaves the row a weight that a computer can hold.
        rows.push(&row, known.ohm, known.deviation.max(1e-6 * known.ohm));
    }
    let mut freedom = rows.wanted.len().saturating_sub(columns);
    let (solved, mut squares) = rows.solve().ok_or_else(unsettled)?;
    let mut drags = Vec::with_capacity(2);
    for (points, column) in directions.into_iter().filter(|(points, _)| !points.is_empty()) {
        // In one direction a slope can be free while the other has a single point.
        let shape = match shape.drag {
            DragShape::Fitted if points.len() < 2 => DragShape::Constant,
            other => other,
        };
        let (at_rest, growth, more, left) = currents(test, points, shape).ok_or_else(unsettled)?;
        squares += more;
        freedom += left;
        let ke = solved[column];
        drags.push(Direction { ke, drag: ke * at_rest, drag_per_speed: ke * growth });
    }
    let forward = drags[0];
    Ok(Fit {
        ke: forward.ke,
        drag: forward.drag,
        drag_per_speed: forward.drag_per_speed,
        resistance: shape.resistance.unwrap_or_else(|| solved[resistance_column]),
        brush_drop: shape.brush_drop.unwrap_or_else(|| solved[drop_column]),
        reverse: drags.get(1).copied(),
        squares,
        freedom,
    })
}

/// Current at rest (A) and its growth with speed (A s/rad), with squares and degrees of freedom.
fn currents(test: &Test, points: &[Point], shape: DragShape) -> Option<(f64, f64, f64, usize)> {
    let columns = if shape == DragShape::Fitted { 2 } else { 1 };
    let mut rows = Rows::new(columns);
    for point in points {
        let row: &[f64] = match shape {
            DragShape::Constant => &[1.0],
            DragShape::Proportional => &[speed(point)],
            DragShape::Fitted => &[1.0, speed(point)],
        };
        rows.push(row, point.current, test.instruments.current.scatter * point.current);
    }
    let (solved, squares) = rows.solve()?;
    // What is held at an assumption leaves residuals that are not scatter.
    let (squares, left) = if shape == DragShape::Fitted { (squares, points.len() - 2) } else { (0.0, 0) };
    Some(match shape {
        DragShape::Constant => (solved[0], 0.0, squares, left),
        DragShape::Proportional => (0.0, solved[0], squares, left),
        DragShape::Fitted => (solved[0], solved[1], squares, left),
    })
}
