//! The armature as it runs: a ring of coils between two brushes, with speed held even by the rotor's mass.
//!
//! Coil i, at angle p, makes the voltage K w sin p against the current, in the path from brush to brush that it
//! lies in; it changes over to the other path where sin p is 0. A part of its turns that is a closed loop makes the
//! same voltage for each turn and drives a current through the loop's own resistance, which brakes. At any
//! position current and torque are linear in volts and speed, and so are their means over a turn:
//!
//! ```text
//! I = a V - b w        T = c V - d w
//! ```
//!
//! Inductance plays no part.

use std::f64::consts::TAU;

/// Positions in each of the 2 k sectors of a turn.
const STEPS: usize = 8;

/// One coil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Coil {
    /// Resistance in ohm with all its turns; above 0.
    pub resistance: f64,
    /// Share of its turns that is a closed loop of its own, 0 to below 1.
    pub shorted: f64,
}

impl Coil {
    /// What a meter finds from end to end.
    pub fn outer(self) -> f64 {
        self.resistance * (1.0 - self.shorted)
    }
}

/// Means over a turn, for a peak voltage of 1 V s/rad of each coil: see [`Ring::means`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Means {
    pub a: f64,
    pub b: f64,
    pub c: f64,
    pub d: f64,
    /// Least torque for each volt at standstill, over the positions.
    pub start: f64,
}

pub(super) struct Ring<'a> {
    pub coils: &'a [Coil],
    /// In series with both brushes, ohm.
    pub contact: f64,
}

impl Ring<'_> {
    pub fn means(&self) -> Means {
        let k = self.coils.len();
        let count = 2 * k * STEPS;
        let mut sum = Means { a: 0.0, b: 0.0, c: 0.0, d: 0.0, start: f64::INFINITY };
        for n in 0..count {
            let turned = TAU * (n as f64 + 0.5) / count as f64;
            // Resistance and voltage of the two paths, and what the loops take.
            let (mut ohm, mut volt, mut loops) = ([0.0; 2], [0.0; 2], 0.0);
            for (i, coil) in self.coils.iter().enumerate() {
                let sine = (turned + TAU * i as f64 / k as f64).sin();
                let path = usize::from(sine < 0.0);
                ohm[path] += coil.outer();
                volt[path] += sine.abs() * (1.0 - coil.shorted);
                loops += coil.shorted / coil.resistance * sine * sine;
            }
            let lead = ohm.map(|r| 1.0 / r.max(1e-9));
            let both = lead[0] + lead[1];
            let driven = volt[0] * lead[0] + volt[1] * lead[1];
            let squares = volt[0] * volt[0] * lead[0] + volt[1] * volt[1] * lead[1];
            let share = 1.0 / (1.0 + self.contact * both);
            sum.a += both * share;
            sum.b += driven * share;
            sum.c += driven * share;
            sum.d += squares + loops - self.contact * driven * driven * share;
            sum.start = sum.start.min(driven * share);
        }
        let n = count as f64;
        Means { a: sum.a / n, b: sum.b / n, c: sum.c / n, d: sum.d / n, start: sum.start }
    }

    /// Resistances from brush to brush with the shaft at rest, without contact: with no coil bridged, and with one
    /// bridged by a brush.
    pub fn at_rest(&self) -> Vec<f64> {
        let k = self.coils.len();
        let mut out = Vec::with_capacity(4 * k);
        for n in 0..2 * k {
            for bridging in [false, true] {
                // On a boundary a coil lies under a brush; half a sector on, none does.
                let turned = TAU * (n as f64 + if bridging { 0.0 } else { 0.5 }) / (2 * k) as f64;
                let mut ohm = [0.0; 2];
                for (i, coil) in self.coils.iter().enumerate() {
                    let sine = (turned + TAU * i as f64 / k as f64).sin();
                    if sine.abs() > 1e-9 {
                        ohm[usize::from(sine < 0.0)] += coil.outer();
                    }
                }
                out.push(1.0 / (1.0 / ohm[0].max(1e-9) + 1.0 / ohm[1].max(1e-9)));
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::winding::terminals::between_brushes;

    fn sound(k: usize) -> Vec<Coil> {
        vec![Coil { resistance: 0.3, shorted: 0.0 }; k]
    }

    #[test]
    fn sound_winding_reads_as_the_bench_reckons() {
        for k in [3, 5, 7] {
            let coils = sound(k);
            let all = Ring { coils: &coils, contact: 0.0 }.at_rest();
            let (free, bridged) = between_brushes(0.3, k);
            for r in all {
                assert!((r - free).abs() < 1e-12 || (r - bridged).abs() < 1e-12, "{k}: {r}");
            }
        }
    }

    #[test]
    fn power_is_kept() {
        // At no load of a sound ring volts are all made by the coils: no current, no torque.
        for k in [3, 5, 7] {
            let coils = sound(k);
            let m = Ring { coils: &coils, contact: 0.05 }.means();
            assert!((m.b - m.c).abs() < 1e-12);
            // Ripple makes the mean of squares a little more than the square of the mean.
            let excess = m.d * m.a / (m.b * m.b);
            assert!((1.0..1.02).contains(&excess), "{k}: {excess}");
        }
    }

    #[test]
    fn a_shorted_coil_brakes_and_an_open_one_halves() {
        let mut coils = sound(5);
        let sound = Ring { coils: &coils, contact: 0.02 }.means();
        coils[2].shorted = 0.8;
        let shorted = Ring { coils: &coils, contact: 0.02 }.means();
        assert!(shorted.d > sound.d && shorted.a > sound.a);
        coils[2] = Coil { resistance: 1e6, shorted: 0.0 };
        let open = Ring { coils: &coils, contact: 0.02 }.means();
        assert!(open.a < 0.65 * sound.a && open.c < 0.65 * sound.c, "{open:?} {sound:?}");
    }
}
