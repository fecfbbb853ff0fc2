//! An uncertain number shared out over bands.
//!
//! A reading of 1.38 with a standard deviation of 0.05 does not say that the quantity lies below an edge
//! at 1.4; it says how likely each side is. [`spread`] gives each band the share of the normal
//! distribution around the reading that falls into it. The shares serve as *soft evidence*: one
//! likelihood weight for each state of an observation, of which only the ratios matter. A reading far
//! from every edge gives weight 1 to one band and is then the same as a plain answer.
//!
//! The error function comes from `libm`.

/// Weights smaller than this are set to 0, so that a far band is ruled out and costs no work.
pub const NEGLIGIBLE: f64 = 1e-6;

/// Why bands could not be weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SpreadError {
    /// The value is not a finite number.
    #[error("the value is not a finite number")]
    ValueInvalid,
    /// The standard deviation is negative or not a finite number.
    #[error("the standard deviation is negative or not a finite number")]
    DeviationInvalid,
    /// The edges are not finite, or do not rise.
    #[error("the edges do not rise from each to the next")]
    EdgesInvalid,
}

/// The weight of each band: below the first edge, between each edge and the next, above the last.
///
/// `value`, `deviation` (one standard deviation) and `edges` are in the same unit; `edges` rise.
///
/// # Formula
///
/// ```text
/// w_i = Phi((e_i - x) / s) - Phi((e_(i-1) - x) / s)
/// ```
///
/// with x the value, s its standard deviation, e_0 = -infinity, e_n+1 = +infinity and Phi the standard
/// normal distribution function. Weights below [`NEGLIGIBLE`] become 0 and the rest is scaled to sum
/// to 1. An exact value (s = 0) falls into one band; exactly at an edge it splits half and half between
/// the two bands that meet there.
///
/// # Errors
///
/// [`SpreadError`] when the value is not finite, the deviation negative or not finite, or the edges not
/// finite or not rising.
///
/// # Examples
///
/// ```
/// use commsense::bench::spread::spread;
/// assert_eq!(spread(1.0, 0.05, &[1.4, 2.2]), Ok(vec![1.0, 0.0, 0.0]));
/// assert_eq!(spread(1.4, 0.0, &[1.4, 2.2]), Ok(vec![0.5, 0.5, 0.0]));
/// ```
pub fn spread(value: f64, deviation: f64, edges: &[f64]) -> Result<Vec<f64>, SpreadError> {
    if !value.is_finite() {
        return Err(SpreadError::ValueInvalid);
    }
    if !(deviation.is_finite() && deviation >= 0.0) {
        return Err(SpreadError::DeviationInvalid);
    }
    if edges.iter().any(|e| !e.is_finite()) || edges.windows(2).any(|w| w[0] >= w[1]) {
        return Err(SpreadError::EdgesInvalid);
    }
    // A deviation too small to divide by is no deviation.
    let z: Vec<f64> = edges.iter().map(|e| standard(e - value, deviation)).collect();
    let mut weights: Vec<f64> = (0..=edges.len())
        .map(|i| {
            let low = if i == 0 { f64::NEG_INFINITY } else { z[i - 1] };
            let high = z.get(i).copied().unwrap_or(f64::INFINITY);
            between(low, high)
        })
        .map(|w| if w < NEGLIGIBLE { 0.0 } else { w })
        .collect();
    let total: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|w| *w /= total);
    Ok(weights)
}

/// Distance in standard deviations; infinite for an exact value, 0 at the edge itself.
fn standard(distance: f64, deviation: f64) -> f64 {
    if distance == 0.0 { 0.0 } else { distance / deviation }
}

/// Phi(high) - Phi(low) through the tail that is nearer, so that small weights lose no digits.
fn between(low: f64, high: f64) -> f64 {
    let tail = |z: f64| 0.5 * libm::erfc(z * std::f64::consts::FRAC_1_SQRT_2);
    if low >= 0.0 { tail(low) - tail(high) } else { tail(-high) - tail(-low) }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Weights against printed four-decimal tables.
    const TABLE: f64 = 5e-5;

    #[test]
    fn weights_follow_the_normal_distribution() {
        // Phi(1) = 0.8413, Phi(2) = 0.9772, Phi(-1) = 0.1587: any table of the normal distribution.
        let w = spread(10.0, 1.0, &[9.0, 11.0, 12.0]).unwrap();
        for (got, want) in w.iter().zip([0.1587, 0.6827, 0.1359, 0.0228]) {
            assert!((got - want).abs() < TABLE, "{w:?}");
        }
    }

    #[test]
    fn exact_reading_at_an_edge_splits_evenly() {
        assert_eq!(spread(2.0, 0.0, &[1.0, 2.0, 3.0]).unwrap(), [0.0, 0.5, 0.5, 0.0]);
        assert_eq!(spread(1.5, 0.0, &[1.0, 2.0, 3.0]).unwrap(), [0.0, 1.0, 0.0, 0.0]);
        assert_eq!(spread(9.0, 0.0, &[1.0, 2.0, 3.0]).unwrap(), [0.0, 0.0, 0.0, 1.0]);
        assert_eq!(spread(-9.0, 0.0, &[1.0]).unwrap(), [1.0, 0.0]);
    }

    #[test]
    fn tiny_weights_are_dropped_and_small_ones_kept() {
        // 4.5 deviations: 3.4e-6; 5 deviations: 2.9e-7.
        assert!(spread(0.0, 1.0, &[4.5]).unwrap()[1] > 3e-6);
        assert_eq!(spread(0.0, 1.0, &[5.0]).unwrap(), [1.0, 0.0]);
    }

    #[test]
    fn no_edges_give_one_band() {
        assert_eq!(spread(3.0, 1.0, &[]).unwrap(), [1.0]);
    }

    #[test]
    fn bad_input_is_refused() {
        assert_eq!(spread(f64::NAN, 1.0, &[1.0]), Err(SpreadError::ValueInvalid));
        assert_eq!(spread(1.0, -1.0, &[1.0]), Err(SpreadError::DeviationInvalid));
        assert_eq!(spread(1.0, f64::INFINITY, &[1.0]), Err(SpreadError::DeviationInvalid));
        assert_eq!(spread(1.0, 1.0, &[2.0, 2.0]), Err(SpreadError::EdgesInvalid));
        assert_eq!(spread(1.0, 1.0, &[f64::NAN]), Err(SpreadError::EdgesInvalid));
    }

    proptest! {
        #[test]
        fn weights_sum_to_one(
            value in -1e9..1e9f64,
            deviation in prop_oneof![Just(0.0), 1e-300..1e9f64],
            start in -1e9..1e9f64,
            steps in prop::collection::vec(1e-3..1e6f64, 0..6),
        ) {
            let edges: Vec<f64> = steps.iter().scan(start, |e, s| { *e += s; Some(*e) }).collect();
            prop_assume!(edges.windows(2).all(|w| w[0] < w[1]));
            let w = spread(value, deviation, &edges).unwrap();
            prop_assert!((w.iter().sum::<f64>() - 1.0).abs() < 1e-12, "{:?}", w);
            prop_assert!(w.iter().all(|x| *x == 0.0 || (*x >= NEGLIGIBLE && *x <= 1.0)), "{:?}", w);
        }

        #[test]
        fn a_greater_reading_never_lowers_the_last_band(a in -10.0..10.0f64, d in 0.0..5.0f64, s in 0.01..3.0f64) {
            let edges = [-1.0, 2.0];
            let low = spread(a, s, &edges).unwrap()[2];
            let high = spread(a + d, s, &edges).unwrap()[2];
            prop_assert!(high >= low - 1e-6);
        }
    }
}
