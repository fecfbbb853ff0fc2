//! What an ohmmeter finds: between the terminals at a rotor angle, and from bar to bar.

use super::ring::{MOST, contact, solve};
use super::{Motor, Noise};

/// Resistance between the terminals with the shaft held at `angle`, ohm: leads, contacts, joints and coils;
/// the constant drop of the brushes is left out.
pub fn resistance_at(motor: &Motor, angle: f64) -> f64 {
    let k = motor.bars();
    let joints: Vec<f64> = (0..k).map(|b| motor.joint(b)).collect();
    let (mut plus, mut minus) = ([0.0; MOST], [0.0; MOST]);
    contact(motor, 0, angle, &joints, &mut plus);
    contact(motor, 1, angle, &joints, &mut minus);
    let mut a = ring(motor);
    let mut b = [0.0; MOST];
    for j in 0..k {
        a[j][j] += plus[j] + minus[j];
        a[k][k] += plus[j];
        a[j][k] -= plus[j];
        a[k][j] -= plus[j];
    }
    b[k] = 1.0;
    solve(&mut a, &mut b, k + 1);
    b[k] + motor.leads
}

/// Resistance from each bar to the next with the brushes off, ohm, as a meter with a relative deviation of
/// `meter` and steps of `resolution` ohm reads it; a broken path reads as infinite.
pub fn bar_to_bar(motor: &Motor, meter: f64, resolution: f64, noise: &mut Noise) -> Vec<f64> {
    let k = motor.bars();
    (0..k)
        .map(|from| {
            let to = (from + 1) % k;
            let mut a = ring(motor);
            let mut b = [0.0; MOST];
            // `to` is the reference: a conductance that nothing in the ring can move.
            a[to][to] += 1e9;
            b[from] = 1.0;
            solve(&mut a, &mut b, k);
            let true_ohm = b[from] - b[to] + motor.joint(from) + motor.joint(to);
            let read = true_ohm * (1.0 + meter * noise.normal());
            if true_ohm > 1e5 {
                f64::INFINITY
            } else if resolution > 0.0 {
                (read / resolution).round() * resolution
            } else {
                read
            }
        })
        .collect()
}

fn ring(motor: &Motor) -> [[f64; MOST]; MOST] {
    let k = motor.bars();
    let mut a = [[0.0; MOST]; MOST];
    for (j, c) in motor.wound().iter().enumerate() {
        let next = (j + 1) % k;
        let y = 1.0 / c.ohm;
        a[j][j] += y;
        a[next][next] += y;
        a[j][next] -= y;
        a[next][j] -= y;
    }
    a
}
