//! A two-pole permanent-magnet motor, simulated coil by coil: the truth against which analyses are tried.
//!
//! It shares no code with the library. A closed ring of coils, each with its own resistance, inductance and
//! back-EMF by rotor angle; two brushes of finite width, half a turn apart, that touch the bars through a
//! contact conductance in proportion to the overlap; a brush drop; the shaft with inertia and friction.
//! Everything that is random comes from a seed.
//!
//! Conventions: angles in radians, the shaft turns towards rising angles under a positive voltage. The
//! positive brush stands at minus the advance (advance is against the rotation), the negative one half a turn
//! on. Coil `j` lies between bar `j` and bar `j + 1`; its back-EMF passes zero when the slot between the two
//! stands at angle 0, which is the neutral.
#![allow(dead_code, unused_imports)] // each test uses its own part

pub mod bars;
pub mod instrument;
pub mod ring;
pub mod run;

pub use bars::{bar_to_bar, resistance_at};
pub use instrument::{Adc, Noise, csv};
pub use run::{Drive, Recording, run, steady};

use std::f64::consts::{PI, TAU};

/// What is wrong with a motor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fault {
    /// The wire of this coil is broken.
    CoilOpen(usize),
    /// This share of a coil's turns is a closed loop of its own.
    CoilShorted(usize, f64),
    /// This bar stands proud: each brush is thrown off for so many degrees once it has passed.
    BarRaised(usize, f64),
    /// The joint between this bar and its two wires has so many ohms.
    PoorJoint(usize, f64),
    /// The second brush stands so many degrees from its place opposite the first.
    BrushAskew(f64),
}

/// One coil as the ring sees it.
#[derive(Debug, Clone, Copy)]
pub struct Coil {
    /// Ohm.
    pub ohm: f64,
    /// Henry.
    pub henry: f64,
    /// Greatest back-EMF in V s/rad, and as well greatest torque in Nm/A.
    pub strength: f64,
}

/// The motor as built, before anything went wrong with it.
#[derive(Debug, Clone)]
pub struct Motor {
    /// The coils, one for each bar.
    pub coils: Vec<Coil>,
    /// Relative height of the third and fifth harmonic of the back-EMF; those that the ring would short
    /// (multiples of the number of coils: the fluxes of all teeth together are nothing) are left out.
    pub flux: [f64; 2],
    /// Width of a brush on the commutator, radians.
    pub brush: f64,
    /// Width of the slot between two bars, radians.
    pub slot: f64,
    /// Conductance of each brush that bears fully on one bar, siemens.
    pub contact: [f64; 2],
    /// How far the second brush stands from opposite the first, radians.
    pub askew: f64,
    /// Constant part of the drop of both brushes together, volt.
    pub drop: f64,
    /// Leads, ohm.
    pub leads: f64,
    /// Brush advance, radians, against the rotation.
    pub advance: f64,
    /// Inertia of the armature, kg m2.
    pub inertia: f64,
    /// Dry friction, Nm.
    pub friction: f64,
    /// Friction by speed, Nm s/rad.
    pub drag: f64,
    /// What is wrong.
    pub faults: Vec<Fault>,
}

impl Motor {
    /// A motor with `k` bars whose terminal resistance and speed constant are about those of a club racing
    /// motor (0.1 ohm, 2900 rpm/V). `spread` (one standard deviation, relative) is how much the resistance of
    /// its coils differs, and by a tenth of it their turns, which are counted; the brushes differ by five
    /// times as much in their contact and stand up to a degree from opposite each other.
    pub fn new(k: usize, spread: f64, noise: &mut Noise) -> Self {
        let n = k as f64;
        let coils = (0..k)
            .map(|_| Coil {
                ohm: 0.24 / n * (1.0 + spread * noise.normal()),
                henry: 300e-6 / (n * n) * (1.0 + spread * noise.normal()),
                strength: 0.0032 * PI / n * (1.0 + 0.1 * spread * noise.normal()),
            })
            .collect();
        Motor {
            coils,
            flux: [0.12, 0.03],
            brush: 42f64.to_radians().min(1.6 * TAU / n),
            slot: 4f64.to_radians(),
            contact: [50.0 * (1.0 + 5.0 * spread * noise.even()), 50.0 * (1.0 - 5.0 * spread * noise.even())],
            askew: (30.0 * spread * noise.normal()).clamp(-1.0, 1.0).to_radians(),
            drop: 0.25,
            leads: 0.01,
            advance: 0.0,
            inertia: 2.5e-6,
            friction: 5.0e-3,
            drag: 1.0e-6,
            faults: Vec::new(),
        }
    }

    /// The same motor with one more fault.
    pub fn with(mut self, fault: Fault) -> Self {
        self.faults.push(fault);
        self
    }

    /// The same motor with its brushes so many degrees before neutral.
    pub fn advanced(mut self, degrees: f64) -> Self {
        self.advance = degrees.to_radians();
        self
    }

    /// Number of bars.
    pub fn bars(&self) -> usize {
        self.coils.len()
    }

    /// Back-EMF constant of the whole ring between brushes on neutral, averaged over the turn, V s/rad: each
    /// coil gives its half wave to one path, so the coils' means over a half turn (2/pi of the greatest for a
    /// sine, and a third and a fifth of that for the harmonics) add up, halved.
    pub fn mean_constant(&self) -> f64 {
        let [third, fifth] = self.harmonics();
        let shape = 1.0 + third / 3.0 + fifth / 5.0;
        self.coils.iter().map(|c| c.strength).sum::<f64>() * shape / PI
    }

    /// The harmonics that the ring lets through.
    fn harmonics(&self) -> [f64; 2] {
        let k = self.bars();
        [if 3 % k == 0 { 0.0 } else { self.flux[0] }, if 5 % k == 0 { 0.0 } else { self.flux[1] }]
    }

    /// Back-EMF of a coil at an angle of its axis, relative to a pure sine of strength 1.
    pub fn shape(&self, angle: f64) -> f64 {
        let [third, fifth] = self.harmonics();
        angle.sin() + third * (3.0 * angle).sin() + fifth * (5.0 * angle).sin()
    }

    /// Ohms of the joint at a bar.
    pub fn joint(&self, bar: usize) -> f64 {
        self.faults
            .iter()
            .map(
                |f| if let Fault::PoorJoint(at, ohm) = f { if *at == bar { *ohm } else { 0.0 } } else { 0.0 },
            )
            .sum()
    }

    /// The coils as the brushes find them, with what is broken broken and what is shorted left out.
    pub fn wound(&self) -> Vec<Coil> {
        let mut coils = self.coils.clone();
        for fault in &self.faults {
            match *fault {
                Fault::CoilOpen(at) => coils[at].ohm = OPEN,
                Fault::CoilShorted(at, share) => {
                    let rest = 1.0 - share;
                    let c = &mut coils[at];
                    // A coil shorted whole still has the ends of its wire.
                    c.ohm *= rest.max(0.01);
                    c.henry *= (rest * rest).max(1e-4);
                    c.strength *= rest;
                }
                _ => {}
            }
        }
        coils
    }

    /// The closed loops of shorted turns: coil, resistance, inductance and strength.
    pub fn loops(&self) -> Vec<(usize, Coil)> {
        self.faults
            .iter()
            .filter_map(|f| match *f {
                Fault::CoilShorted(at, share) => {
                    let c = self.coils[at];
                    let ohm = c.ohm * share + 1e-3;
                    Some((at, Coil { ohm, henry: c.henry * share * share, strength: c.strength * share }))
                }
                _ => None,
            })
            .collect()
    }

    /// How far, 0 to 1, a brush is off the commutator with the rotor at `angle`.
    pub fn lifted(&self, brush: usize, angle: f64) -> f64 {
        let stands = self.stands(brush);
        let mut lift: f64 = 0.0;
        for fault in &self.faults {
            if let Fault::BarRaised(bar, degrees) = *fault {
                // Leading edge of the bar past the middle of the brush.
                let past = (angle + self.centre(bar) + PI / self.bars() as f64 - stands).rem_euclid(TAU);
                let span = degrees.to_radians();
                if past < span {
                    lift = lift.max((PI * past / span).sin());
                }
            }
        }
        lift
    }

    /// Where a brush stands.
    pub fn stands(&self, brush: usize) -> f64 {
        let askew: f64 =
            self.faults.iter().map(|f| if let Fault::BrushAskew(d) = f { d.to_radians() } else { 0.0 }).sum();
        -self.advance + if brush == 0 { 0.0 } else { PI + askew + self.askew }
    }

    /// Where the middle of a bar stands with the rotor at angle 0.
    pub fn centre(&self, bar: usize) -> f64 {
        TAU * (bar as f64 - 0.5) / self.bars() as f64
    }

    /// Angle of a coil's axis with the rotor at `angle`: 0 when the slot between its bars is at angle 0.
    pub fn axis(&self, coil: usize, angle: f64) -> f64 {
        angle + TAU * coil as f64 / self.bars() as f64
    }
}

/// Ohms of a broken wire.
pub const OPEN: f64 = 1e7;
