//! A closed ring of coils: what is read from bar to neighbouring bar, and back.
//!
//! The coils r_1 .. r_k of a lap-wound two-pole armature form one closed ring (a delta when k = 3) with a bar
//! at each joint. Between the two bars of coil i the meter sees that coil in parallel with all the others in
//! series:
//!
//! ```text
//! m_i = r_i (S - r_i) / S,   S = r_1 + .. + r_k
//! ```
//!
//! # Solution
//!
//! Let coil 1 be the one with the largest reading, t = r_1 / S its share of the ring, and c_j = m_j / m_1.
//! Then S = m_1 / (t (1 - t)), and every other coil, of which none can have more than half of the ring, is
//!
//! ```text
//! r_j = 2 m_j / (1 + q_j),   q_j = sqrt((1 - 2t)^2 + 4 (1 - c_j) t (1 - t))
//! ```
//!
//! and that the shares sum to 1 says
//!
//! ```text
//! G(t) = t * sum_j 2 c_j / (1 + q_j) - 1 = 0,   0 < t <= 1
//! ```
//!
//! G(0) = -1 and G(1) = sum_j c_j - 1, so there is a solution if and only if **no reading is greater than all
//! the others together**; t = 1 is the open coil, whose resistance m_1 / (1 - t) is then infinite while
//! nothing else in these formulas is. It is the only solution: written in u = 1 / S, the shares of the ring sum
//! to a rising function of u while no coil has more than half; and when coil 1 has more, the sum less 1 is a
//! power series in u with the coefficients Catalan(n) (sum_j m_j^n - m_1^n), which change sign once, because
//! sum_j c_j^n falls with n. No step subtracts nearly equal numbers. The one kind of set that can't be solved is
//! two coils with every other one shorted: both pairs then read those two in parallel.

use super::WindingError;

/// The most coils that are worked out: more than any small motor has.
pub const MOST_COILS: usize = 200;

/// Coils of a ring, solved.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// Each coil's resistance in ohm, in bar order; infinite when open, 0 when dead short.
    pub coils: Vec<f64>,
    /// Which coil has the largest reading, from 0; the one that alone may exceed half of the ring.
    pub largest: usize,
    /// That coil's conductance in siemens, 0 when it is open.
    pub conductance: f64,
    /// The resistance of all the others in series, in ohm.
    pub rest: f64,
}

/// What is read from each bar to the next, in the order of the coils, in the unit of the coils.
///
/// Coils may be infinite (open). With two or more open, those pairs read infinite and the others their own
/// coil; all coils 0 read 0.
pub fn readings(coils: &[f64]) -> Vec<f64> {
    let sum_without =
        |i: usize| -> f64 { coils.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, r)| r).sum() };
    let parallel = |a: f64, b: f64| match (a.is_infinite(), b.is_infinite()) {
        (true, _) => b,
        (_, true) => a,
        _ if a + b == 0.0 => 0.0,
        _ => a * (b / (a + b)),
    };
    coils.iter().enumerate().map(|(i, r)| parallel(*r, sum_without(i))).collect()
}

/// Solves the ring for every coil. `pairs` are finite readings in ohm, 0 or more, leads taken off, from bar
/// i to bar i + 1 in order and from the last bar to the first. Any number from 3 on, odd or even.
///
/// Only exact arithmetic counts here: for readings with noise see [`super::Pairs::coils`].
///
/// # Errors
///
/// [`WindingError`]: too few or too many readings, one that is no resistance, all zero, or one greater than
/// all the others together, which no ring allows.
pub fn solve(pairs: &[f64]) -> Result<Solved, WindingError> {
    check_count(pairs.len())?;
    if let Some(bad) = pairs.iter().find(|m| !(m.is_finite() && **m >= 0.0)) {
        return Err(WindingError::NotPossible {
            what: "a resistance from bar to bar",
            value: *bad,
            must: "0 or more",
        });
    }
    let largest = (1..pairs.len()).fold(0, |best, i| if pairs[i] > pairs[best] { i } else { best });
    let most = pairs[largest];
    if most == 0.0 {
        return Err(WindingError::AllZero);
    }
    let shares: Vec<f64> = pairs.iter().map(|m| m / most).collect();
    let others = || shares.iter().enumerate().filter(|(j, _)| *j != largest).map(|(_, c)| *c);
    // A hair off is rounding: a pair read as the sum of the others is an open coil.
    let rounding = 4.0 * f64::EPSILON * pairs.len() as f64;
    let sum: f64 = others().sum();
    if sum < 1.0 - rounding {
        return Err(WindingError::TooHighForRing { pair: largest + 1, reading: most, others: sum * most });
    }
    // Sought in the gap 1 - t, which is what must be exact near an open coil. Falls as the gap grows.
    let excess = |gap: f64| {
        let (mut sum, mut slope) = (0.0, 0.0);
        for c in others() {
            let q = root(c, gap);
            let part = 2.0 * c / (1.0 + q);
            sum += part;
            slope += part / (1.0 + q) * 2.0 * c * (1.0 - 2.0 * gap) / q;
        }
        ((1.0 - gap) * sum - 1.0, (1.0 - gap) * slope - sum)
    };
    let gap = if excess(0.0).0 <= rounding { 0.0 } else { falling_root(excess) };
    let coils: Vec<f64> = shares
        .iter()
        .enumerate()
        .map(|(j, c)| if j == largest { most / gap } else { 2.0 * c * most / (1.0 + root(*c, gap)) })
        .collect();
    Ok(Solved { coils, largest, conductance: gap / most, rest: most / (1.0 - gap) })
}

/// q of the module's formulas, with 1 - t for t.
fn root(c: f64, gap: f64) -> f64 {
    let lean = 1.0 - 2.0 * gap;
    (lean * lean + 4.0 * (1.0 - c) * gap * (1.0 - gap)).sqrt()
}

/// The point between 0 and 1 where a falling function, given with its slope, passes through 0: Newton's steps,
/// and halving where they lead out of the bracket or close in slowly.
fn falling_root(f: impl Fn(f64) -> (f64, f64)) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    let mut at: f64 = 0.5;
    // Halving alone needs 52 steps, or a few hundred for answers next to 0.
    for _ in 0..400 {
        let (value, slope) = f(at);
        let width = high - low;
        if value > 0.0 {
            low = at
        } else {
            high = at
        }
        let newton = at - value / slope;
        // NaN, from a slope of no value, is not inside either.
        let inside = newton > low && newton < high;
        let quick = high - low <= 0.5 * width || (newton - at).abs() < 0.25 * (high - low);
        let next = if inside && quick { newton } else { 0.5 * (low + high) };
        if (next - at).abs() <= f64::EPSILON * at || next <= low || next >= high {
            return next;
        }
        at = next;
    }
    at
}

/// Checks the number of pairs.
pub(super) fn check_count(count: usize) -> Result<(), WindingError> {
    match count {
        0..3 => Err(WindingError::TooFewPairs(count)),
        3..=MOST_COILS => Ok(()),
        _ => Err(WindingError::TooManyPairs(count)),
    }
}

/// What a sound ring of equal coils `coil` reads from bar to neighbouring bar: r (k - 1) / k.
pub fn even_pair(coil: f64, count: usize) -> f64 {
    let k = count as f64;
    coil * (k - 1.0) / k
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Algebra against floating point: a few units in the last place.
    const EXACT: f64 = 1e-12;

    fn even(k: usize, odd_one: f64) -> Vec<f64> {
        let mut coils = vec![1.0; k];
        coils[1] = odd_one;
        coils
    }

    #[test]
    fn readings_of_rings_that_follow_by_algebra() {
        // Rows of the algebra of a closed ring of k equal coils, for 3, 5 and 7 bars.
        for (k, sound, open_pair, short_others, part, part_others) in [
            (3, 0.666_667, 2.0, 0.5, -0.142_86, -0.035_71),
            (5, 0.8, 4.0, 0.75, -0.166_67, -0.010_42),
            (7, 0.857_143, 6.0, 0.833_333, -0.176_47, -0.004_90),
        ] {
            let healthy = readings(&even(k, 1.0));
            assert!(healthy.iter().all(|m| (m - sound).abs() < 1e-6));
            assert!((even_pair(1.0, k) - sound).abs() < 1e-6);
            let open = readings(&even(k, f64::INFINITY));
            assert!((open[1] - open_pair).abs() < EXACT && (open[0] - 1.0).abs() < EXACT);
            // over healthy: the open pair k times, the others k / (k - 1) times
            assert!((open[1] / healthy[1] - k as f64).abs() < EXACT);
            assert!((open[0] / healthy[0] - k as f64 / (k as f64 - 1.0)).abs() < EXACT);
            let dead = readings(&even(k, 0.0));
            assert!(dead[1] == 0.0 && (dead[0] - short_others).abs() < 1e-6);
            let turns = readings(&even(k, 0.8));
            assert!((turns[1] / healthy[1] - 1.0 - part).abs() < 1e-5);
            assert!((turns[0] / healthy[0] - 1.0 - part_others).abs() < 1e-5);
        }
    }

    #[test]
    fn one_turn_in_twenty_hardly_moves_its_pair() {
        // 5 % less in one coil of seven moves its pair by 4.3 % only.
        let moved = readings(&even(7, 0.95))[1] / even_pair(1.0, 7) - 1.0;
        assert!((moved + 0.043).abs() < 5e-4, "{moved}");
    }

    #[test]
    fn delta_agrees_with_the_closed_form_of_three() {
        // Delta-star: with s = sum of the readings / 2 and star legs a = s - m_bc, r = (ab + bc + ca) / a.
        let coils = [0.3, 0.45, 0.28];
        let m = readings(&coils);
        let s = m.iter().sum::<f64>() / 2.0;
        let legs = [s - m[1], s - m[2], s - m[0]];
        let p = legs[0] * legs[1] + legs[1] * legs[2] + legs[2] * legs[0];
        let solved = solve(&m).unwrap();
        for i in 0..3 {
            let opposite = legs[(i + 2) % 3];
            assert!((p / opposite - coils[i]).abs() < EXACT);
            assert!((solved.coils[i] - coils[i]).abs() < EXACT);
        }
    }

    #[test]
    fn an_open_coil_is_infinite_and_the_others_are_themselves() {
        let solved = solve(&[1.0, 2.0, 1.0]).unwrap();
        assert_eq!(solved.coils, [1.0, f64::INFINITY, 1.0]);
        assert_eq!((solved.conductance, solved.rest), (0.0, 2.0));
    }

    #[test]
    fn open_and_short_at_once() {
        let coils = [1.0, f64::INFINITY, 0.0, 1.0];
        assert_eq!(solve(&readings(&coils)).unwrap().coils, coils);
    }

    #[test]
    fn what_no_ring_can_read_is_refused() {
        let err = solve(&[0.1, 0.5, 0.1, 0.1]).unwrap_err();
        assert_eq!(
            err,
            WindingError::TooHighForRing { pair: 2, reading: 0.5, others: 0.300_000_000_000_000_04 }
        );
        assert!(err.to_string().starts_with("pair 2 reads 500 mohm, more than all the other pairs together"));
        assert_eq!(solve(&[0.0; 5]).unwrap_err(), WindingError::AllZero);
        assert_eq!(solve(&[1.0, 1.0]).unwrap_err(), WindingError::TooFewPairs(2));
        assert_eq!(solve(&[1.0; 201]).unwrap_err(), WindingError::TooManyPairs(201));
        for bad in [f64::NAN, -1.0, f64::INFINITY] {
            assert!(matches!(solve(&[1.0, bad, 1.0]), Err(WindingError::NotPossible { .. })));
        }
    }

    /// A ring: coils from 10 milliohm to 1 ohm, some of them shorted, at most one open, at least three alive.
    fn ring() -> impl Strategy<Value = Vec<f64>> {
        (3usize..=24).prop_flat_map(|k| {
            (
                prop::collection::vec(0.01..1.0f64, k),
                prop::collection::vec(prop::bool::weighted(0.15), k),
                prop::option::of(0..k),
            )
                .prop_map(|(mut coils, short, open)| {
                    let mut alive = coils.len();
                    for (i, short) in short.iter().enumerate() {
                        if *short && alive > 3 {
                            coils[i] = 0.0;
                            alive -= 1;
                        }
                    }
                    if let Some(open) = open {
                        coils[open] = f64::INFINITY;
                    }
                    coils
                })
        })
    }

    proptest! {
        #[test]
        fn solving_undoes_reading(coils in ring()) {
            let solved = solve(&readings(&coils)).unwrap();
            for (got, want) in solved.coils.iter().zip(&coils) {
                if want.is_infinite() {
                    // The readings themselves are rounded: what remains of the open coil is beyond measure.
                    prop_assert!(*got > 1e9, "{solved:?}");
                } else {
                    prop_assert!((got - want).abs() <= 1e-7 * want.max(1e-3), "{got} {want}");
                }
            }
        }

        #[test]
        fn a_coil_may_have_any_share_of_the_ring(log in -6.0..9.0f64, k in 3usize..24) {
            let coils = even(k, 10f64.powf(log));
            let solved = solve(&readings(&coils)).unwrap();
            // What can be recovered: a pair's last digit, 1e-16, over how much of it the coil decides.
            let tolerance = 1e-13 * (10f64.powf(log).max(1.0) * k as f64);
            prop_assert!((solved.coils[1] / coils[1] - 1.0).abs() < tolerance.max(1e-9), "{solved:?}");
        }

        #[test]
        fn any_readings_give_a_ring_or_a_reason(m in prop::collection::vec(0.0..1.0f64, 3..30)) {
            match solve(&m) {
                Ok(solved) => {
                    let back = readings(&solved.coils);
                    for (got, want) in back.iter().zip(&m) {
                        prop_assert!((got - want).abs() < 1e-9, "{got} {want}");
                    }
                }
                Err(error) => prop_assert!(
                    matches!(error, WindingError::TooHighForRing { .. } | WindingError::AllZero), "{error}"),
            }
        }
    }
}
