//! A small physical motor for tests of direction and timing; it shares no code with what it tests.
//!
//! The motor is worked out from vectors in the plane across its shaft, as seen from the shaft end: a field
//! from the magnets, a sheet of current whose sign changes at the brushes, the force on each conductor and
//! the armature's own field. Which way it turns, where the neutral plane goes and which direction is faster
//! follow from those; nothing about advance or viewing ends is put in.
#![allow(dead_code)] // each test target uses its own part

use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::LazyLock;

use commsense::bench::timing::Turn;
use nalgebra::Complex;

pub type Vector = Complex<f64>;

/// The armature's field against that of the magnets, without load; makes a degree worth about 0.5 %.
const REACTION: f64 = 0.14;

/// Where the conductors lie, half a degree off every whole degree so that a brush stands between two.
static PLACES: LazyLock<Vec<Vector>> =
    LazyLock::new(|| (0..360).map(|i| Vector::from_polar(1.0, (f64::from(i) + 0.5).to_radians())).collect());

/// An end of the shaft from which one looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    Shaft,
    Bell,
}

pub const ENDS: [End; 2] = [End::Shaft, End::Bell];

impl End {
    /// A point as it appears from this end: from the bell's end left and right are exchanged.
    fn view(self, at: Vector) -> Vector {
        match self {
            End::Shaft => at,
            End::Bell => -at.conj(),
        }
    }

    /// How a small movement of a point round the shaft appears from here.
    fn sees(self, from: Vector, to: Vector) -> Turn {
        let (a, b) = (self.view(from), self.view(to));
        if (a.conj() * b).im > 0.0 { Turn::Ccw } else { Turn::Cw }
    }

    /// How a rotation about the shaft (positive: from x to y as seen from the shaft end) appears from here.
    pub fn sees_rotation(self, rotation: f64) -> Turn {
        self.sees(Vector::new(1.0, 0.0), Vector::from_polar(1.0, 0.1 * rotation.signum()))
    }

    /// The rotation about the shaft that appears so from here.
    pub fn rotation(self, seen: Turn) -> f64 {
        if self.sees_rotation(1.0) == seen { 1.0 } else { -1.0 }
    }
}

/// A motor on the bench.
#[derive(Debug, Clone, Copy)]
pub struct Motor {
    /// Field of the magnets, fixed to the can.
    pub field: Vector,
    /// How far the end bell is turned in the can, degrees; 0 is the zero mark, positive from x to y.
    pub bell: f64,
    /// 1 when the positive lead is on the terminal marked so.
    pub leads: f64,
}

impl Motor {
    /// The brush that belongs to the marked terminal; with the bell at zero it is square to the field.
    fn brush(&self) -> Vector {
        Vector::from_polar(1.0, (90.0 + self.bell).to_radians())
    }

    /// Conductors round the armature with their currents along the shaft, for this polarity.
    fn conductors(&self, polarity: f64) -> impl Iterator<Item = (Vector, f64)> {
        let brush = self.brush();
        // The current changes its sign where a conductor passes a brush.
        PLACES.iter().map(move |at| (*at, polarity * (brush.conj() * at).im.signum() / PLACES.len() as f64))
    }

    /// Torque and the armature's own field, each worked out once for a setting.
    fn worked_out(&self, polarity: f64) -> (f64, Vector) {
        type Setting = (i64, i64, i64);
        thread_local! {
            static KNOWN: RefCell<HashMap<Setting, (f64, Vector)>> = RefCell::default();
        }
        let setting = ((self.field.re * 1e3) as i64, (self.bell * 1e6).round() as i64, polarity as i64);
        KNOWN.with_borrow_mut(|known| {
            *known
                .entry(setting)
                .or_insert_with(|| (self.sum_of_torques(polarity), self.sum_of_fields(polarity)))
        })
    }

    /// Torque about the shaft with this polarity.
    pub fn torque(&self, polarity: f64) -> f64 {
        self.worked_out(polarity).0
    }

    fn reaction(&self, polarity: f64) -> Vector {
        self.worked_out(polarity).1
    }

    /// Torque about the shaft: for each conductor, position x (current x field).
    fn sum_of_torques(&self, polarity: f64) -> f64 {
        self.conductors(polarity)
            .map(|(at, current)| {
                let force = Vector::i() * self.field * current;
                (at.conj() * force).im
            })
            .sum()
    }

    /// Which way it turns when told to go forward.
    pub fn turns(&self) -> f64 {
        self.torque(self.leads).signum()
    }

    /// The armature's own field at the shaft, by the field of each straight conductor.
    fn sum_of_fields(&self, polarity: f64) -> Vector {
        let sum: Vector = self.conductors(polarity).map(|(at, current)| Vector::i() * -at * current).sum();
        sum * REACTION * std::f64::consts::FRAC_PI_2
    }

    /// How far the neutral plane is shifted from its place without current, radians from x to y.
    pub fn neutral_shift(&self, polarity: f64) -> f64 {
        ((self.field + self.reaction(polarity)) / self.field).arg()
    }

    /// The polarity that turns it this way.
    fn polarity_for(&self, rotation: f64) -> f64 {
        if self.torque(1.0).signum() == rotation { 1.0 } else { -1.0 }
    }

    /// No-load speed that way: the volts over the flux that the armature cuts between its brushes, along
    /// the axis where the iron of the poles lets the armature's own field act.
    pub fn speed(&self, rotation: f64) -> f64 {
        let polarity = self.polarity_for(rotation);
        let axis = self.field / self.field.norm();
        let flux = self.field.norm() + (self.reaction(polarity) * axis.conj()).re;
        let square = (self.brush() * axis.conj()).im.abs();
        20_000.0 / (flux * square)
    }

    /// How far the brushes stand from neutral on the side to which it is shifted when the shaft turns this
    /// way, degrees.
    pub fn advance(&self, rotation: f64) -> f64 {
        let shift = self.neutral_shift(self.polarity_for(rotation)).signum();
        // The line through the two brushes: half a turn more or less is the same line.
        let line = (self.bell + 90.0).rem_euclid(180.0) - 90.0;
        shift * line
    }
}
