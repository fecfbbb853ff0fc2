//! The ring of coils between the brushes: contact by angle, and one implicit step of the currents.

use super::{Coil, Motor};
use std::f64::consts::TAU;

/// The most bars, and with the positive brush the most unknown potentials.
pub const MOST: usize = 16;

/// Conductance through the arc where a bar has just left a brush, siemens, and the gap in radians over which
/// it dies away by e.
const ARC: (f64, f64) = (0.4, 0.006);
/// Least share of its conductance that a thrown-off brush keeps through the arc.
const THROWN: f64 = 2e-3;
/// Current at which the brush drop is well reached, ampere.
const DROP_AT: f64 = 0.2;

/// Conductances of a brush to all bars at a rotor angle, the joint included.
pub fn contact(motor: &Motor, brush: usize, angle: f64, joints: &[f64], out: &mut [f64; MOST]) {
    let k = motor.bars();
    let (half_bar, half_brush) = (TAU / k as f64 / 2.0 - motor.slot / 2.0, motor.brush / 2.0);
    let lift = motor.lifted(brush, angle);
    let bears = (1.0 - lift).max(THROWN);
    let stands = motor.stands(brush);
    for (bar, g) in out.iter_mut().enumerate().take(k) {
        let mut d = (angle + motor.centre(bar) - stands).rem_euclid(TAU);
        if d > TAU / 2.0 {
            d -= TAU;
        }
        let overlap = (d + half_bar).min(half_brush) - (d - half_bar).max(-half_brush);
        let bare = if overlap > 0.0 {
            motor.contact[brush] * bears * overlap / motor.brush + ARC.0
        } else if -overlap < 8.0 * ARC.1 {
            ARC.0 * (overlap / ARC.1).exp()
        } else {
            0.0
        };
        *g = if bare > 0.0 { 1.0 / (1.0 / bare + joints[bar]) } else { 0.0 };
    }
}

/// What flows during a step.
#[derive(Debug, Clone, Copy, Default)]
pub struct Flow {
    /// Current from the supply, ampere.
    pub current: f64,
    /// Torque on the shaft, Nm.
    pub torque: f64,
    /// Heat in coils, contacts, joints, drop and leads, watt.
    pub heat: f64,
}

/// The state of the ring.
#[derive(Debug, Clone)]
pub struct Ring<'a> {
    motor: &'a Motor,
    coils: Vec<Coil>,
    loops: Vec<(usize, Coil)>,
    joints: Vec<f64>,
    /// Current of each coil from its bar to the next.
    pub currents: [f64; MOST],
    loop_currents: Vec<f64>,
    supply: f64,
}

impl<'a> Ring<'a> {
    /// A ring without current.
    pub fn new(motor: &'a Motor) -> Self {
        assert!((2..MOST).contains(&motor.bars()), "the simulator takes 2 to {} bars", MOST - 1);
        let loops = motor.loops();
        Ring {
            motor,
            coils: motor.wound(),
            loop_currents: vec![0.0; loops.len()],
            loops,
            joints: (0..motor.bars()).map(|b| motor.joint(b)).collect(),
            currents: [0.0; MOST],
            supply: 0.0,
        }
    }

    /// Energy in the coils' fields, joule.
    pub fn stored(&self) -> f64 {
        let ring: f64 = self.coils.iter().zip(&self.currents).map(|(c, i)| 0.5 * c.henry * i * i).sum();
        let loops: f64 =
            self.loops.iter().zip(&self.loop_currents).map(|((_, c), i)| 0.5 * c.henry * i * i).sum();
        ring + loops
    }

    /// One step of `h` seconds (backward Euler, which stays stable however stiff a broken wire or a leaving bar
    /// makes the ring) at `volts`, with the rotor at `angle` and `speed` in rad/s.
    pub fn step(&mut self, h: f64, volts: f64, angle: f64, speed: f64) -> Flow {
        let k = self.motor.bars();
        let mut a = [[0.0; MOST]; MOST];
        let mut b = [0.0; MOST];
        let (mut y, mut s, mut waves) = ([0.0; MOST], [0.0; MOST], [0.0; MOST]);
        for j in 0..k {
            let c = &self.coils[j];
            waves[j] = self.motor.shape(self.motor.axis(j, angle));
            let inertia = c.henry / h;
            y[j] = 1.0 / (c.ohm + inertia);
            s[j] = y[j] * (inertia * self.currents[j] - c.strength * speed * waves[j]);
            let next = (j + 1) % k;
            a[j][j] += y[j];
            a[next][next] += y[j];
            a[j][next] -= y[j];
            a[next][j] -= y[j];
            b[j] -= s[j];
            b[next] += s[j];
        }
        let (mut plus, mut minus) = ([0.0; MOST], [0.0; MOST]);
        contact(self.motor, 0, angle, &self.joints, &mut plus);
        contact(self.motor, 1, angle, &self.joints, &mut minus);
        for j in 0..k {
            a[j][j] += plus[j] + minus[j];
            a[k][k] += plus[j];
            a[j][k] -= plus[j];
            a[k][j] -= plus[j];
        }
        // The drop of the brushes, linear about the current of the step before.
        let bend = (self.supply / DROP_AT).tanh();
        let slope = self.motor.drop * (1.0 - bend * bend) / DROP_AT;
        let series = self.motor.leads.max(1e-3) + slope;
        let offset = self.motor.drop * bend - slope * self.supply;
        a[k][k] += 1.0 / series;
        b[k] += (volts - offset) / series;
        solve(&mut a, &mut b, k + 1);
        let mut flow = Flow { current: (volts - offset - b[k]) / series, ..Flow::default() };
        flow.heat += flow.current * (flow.current * series + offset);
        for j in 0..k {
            let i = y[j] * (b[j] - b[(j + 1) % k]) + s[j];
            self.currents[j] = i;
            flow.torque += self.coils[j].strength * waves[j] * i;
            flow.heat += self.coils[j].ohm * i * i;
            flow.heat += plus[j] * (b[k] - b[j]).powi(2) + minus[j] * b[j] * b[j];
        }
        for ((at, c), i) in self.loops.iter().zip(&mut self.loop_currents) {
            let inertia = c.henry / h;
            *i = (inertia * *i - c.strength * speed * waves[*at]) / (c.ohm + inertia);
            flow.torque += c.strength * waves[*at] * *i;
            flow.heat += c.ohm * *i * *i;
        }
        self.supply = flow.current;
        flow
    }
}

/// Solves the first `n` equations of a symmetric positive definite system (Cholesky); the solution takes the
/// place of `b`.
pub fn solve(a: &mut [[f64; MOST]; MOST], b: &mut [f64; MOST], n: usize) {
    for j in 0..n {
        for m in 0..j {
            let f = a[j][m];
            if f != 0.0 {
                for row in &mut a[j..n] {
                    row[j] -= row[m] * f;
                }
            }
        }
        let root = a[j][j].sqrt();
        assert!(root > 0.0, "no way through the ring");
        for row in &mut a[j..n] {
            row[j] /= root;
        }
    }
    for i in 0..n {
        for m in 0..i {
            b[i] -= a[i][m] * b[m];
        }
        b[i] /= a[i][i];
    }
    for i in (0..n).rev() {
        for m in i + 1..n {
            b[i] -= a[m][i] * b[m];
        }
        b[i] /= a[i][i];
    }
}
