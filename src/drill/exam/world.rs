//! A world that differs from what the expert believes, and people who answer wrongly.

use std::f64::consts::TAU;

use rand::Rng;

use crate::network::BeliefNet;

/// Moves a chance by so much in log-odds. What is certain stays so.
///
/// ```
/// use commsense::drill::exam::moved;
/// assert!((moved(0.5, 1.0) - 0.731_058_578_630_005).abs() < 1e-12); // the logistic function of 1
/// assert_eq!(moved(0.0, 2.0), 0.0);
/// ```
pub fn moved(chance: f64, by: f64) -> f64 {
    if chance <= 0.0 || chance >= 1.0 {
        return chance;
    }
    let odds = chance / (1.0 - chance) * by.exp();
    odds / (1.0 + odds)
}

/// Moves the chance of everything but the normal state; how that is split up stays the same.
pub(super) fn moved_effect(effect: &[f64], by: f64) -> Vec<f64> {
    let normal = effect.first().copied().unwrap_or(0.0);
    let abnormal: f64 = effect.iter().skip(1).sum();
    let total = normal + abnormal;
    if normal <= 0.0 || abnormal <= 0.0 {
        return effect.to_vec();
    }
    let now = moved(abnormal / total, by);
    let rest = effect.iter().skip(1).map(|e| e / abnormal * now);
    std::iter::once(1.0 - now).chain(rest).collect()
}

/// Draws a world in which every chance departs from the given one: strengths, leaks and the chances of
/// abnormal states by a normal number of this deviation in log-odds, the states of a factor each in the logarithm of
/// its weight.
pub fn perturbed<R: Rng + ?Sized>(net: &BeliefNet, sigma: f64, rng: &mut R) -> BeliefNet {
    let mut world = net.clone();
    for factor in &mut world.factors {
        factor.prior.iter_mut().for_each(|p| *p *= (sigma * normal(rng)).exp());
        let total: f64 = factor.prior.iter().sum();
        factor.prior.iter_mut().for_each(|p| *p /= total);
    }
    for fault in &mut world.faults {
        fault.leak = moved(fault.leak, sigma * normal(rng));
        for (_, strength) in &mut fault.causes {
            *strength = moved(*strength, sigma * normal(rng));
        }
    }
    for observation in &mut world.observations {
        observation.leak = moved_effect(&observation.leak, sigma * normal(rng));
        for (_, effect) in &mut observation.causes {
            *effect = moved_effect(effect, sigma * normal(rng));
        }
    }
    world
}

/// A standard normal number (Box and Muller 1958).
fn normal<R: Rng + ?Sized>(rng: &mut R) -> f64 {
    let radius = (-2.0 * (1.0 - rng.random::<f64>()).ln()).sqrt();
    radius * (TAU * rng.random::<f64>()).cos()
}

/// The answer that somebody gives who is careless with this chance: half of the wrong answers are a neighbour of the
/// true state, the others any other state.
pub(super) fn answered<R: Rng + ?Sized>(truth: usize, states: usize, careless: f64, rng: &mut R) -> usize {
    // As many draws whatever comes of them, so that the same consultation stays the same.
    let (slips, near, place) = (rng.random::<f64>(), rng.random::<f64>(), rng.random::<f64>());
    if states < 2 || slips >= careless {
        return truth;
    }
    let choice = |n: usize| ((place * n as f64) as usize).min(n - 1);
    if near < 0.5 {
        let neighbours: Vec<usize> =
            [truth.checked_sub(1), Some(truth + 1).filter(|s| *s < states)].into_iter().flatten().collect();
        return neighbours[choice(neighbours.len())];
    }
    let other = choice(states - 1);
    other + usize::from(other >= truth)
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;

    use super::*;

    #[test]
    fn an_effect_keeps_its_shape() {
        let now = moved_effect(&[0.5, 0.3, 0.2], 1.0);
        assert!((now.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!((now[1] / now[2] - 1.5).abs() < 1e-12);
        assert!((now[0] - (1.0 - moved(0.5, 1.0))).abs() < 1e-12);
        assert_eq!(moved_effect(&[0.0, 1.0], 1.0), [0.0, 1.0]);
    }

    #[test]
    fn careless_people_err_as_often_as_said_and_never_say_the_truth_then() {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let mut wrong = [0usize; 4];
        for _ in 0..20_000 {
            wrong[answered(1, 4, 0.2, &mut rng)] += 1;
        }
        // 4000 wrong ones expected, standard deviation 57: 0 and 2 get a quarter and a sixth each, 3 a sixth.
        let total = wrong[0] + wrong[2] + wrong[3];
        assert!((3770..4230).contains(&total), "{wrong:?}");
        let shares = [wrong[0], wrong[2], wrong[3]].map(|n| n as f64 / total as f64);
        for (share, expected) in shares.into_iter().zip([5.0 / 12.0, 5.0 / 12.0, 1.0 / 6.0]) {
            assert!((share - expected).abs() < 0.035, "{shares:?}");
        }
        assert_eq!(answered(0, 1, 1.0, &mut rng), 0);
        assert!((0..500).all(|_| answered(0, 2, 0.0, &mut rng) == 0));
        assert!((0..500).all(|_| answered(0, 2, 1.0, &mut rng) == 1));
    }

    #[test]
    fn normal_numbers_are_normal() {
        let mut rng = ChaCha8Rng::seed_from_u64(9);
        let all: Vec<f64> = (0..20_000).map(|_| normal(&mut rng)).collect();
        let mean = all.iter().sum::<f64>() / 2e4;
        let variance = all.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 2e4;
        let within = all.iter().filter(|x| x.abs() < 1.0).count() as f64 / 2e4;
        // Three standard errors each; 0.6827 is the share within one standard deviation.
        assert!(mean.abs() < 0.022 && (variance - 1.0).abs() < 0.031 && (within - 0.6827).abs() < 0.01);
    }
}
