//! From readings with a meter's uncertainty to coils with theirs.
//!
//! To first order the deviations of the readings go through the inverse of the ring's Jacobian (JCGM 102:2011,
//! 6.2; from memory). For the coil with the largest reading the unknown is its conductance, which passes
//! smoothly through 0 where its resistance passes through infinity; for the others it is the resistance. The
//! ends of each interval are not taken from that straight line: the ring is solved again, exactly, at the two
//! sets of readings that lie 1.96 deviations off in the direction that moves this coil most.

use super::ring::{self, Solved};
use super::{Meter, WindingError};
use crate::bench::Estimate;
use crate::bench::estimate::SIGMAS_95;
use nalgebra::{DMatrix, DVector};

/// A reading within this many deviations of what is possible may be put down to the meter.
const MAY_BE_NOISE: f64 = 4.0;

/// A reading that is this many deviations above zero certainly has resistance in it.
const ALIVE: f64 = 3.0;

/// The greatest reading in ohm that any meter shows; above it nothing conducts.
const HIGHEST: f64 = 1e12;

/// Readings with the leads taken off, and how they scatter.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairs {
    values: Vec<f64>,
    covariance: DMatrix<f64>,
}

/// A coil of the ring: its own resistance in ohm, infinite when open.
pub type Coil = Estimate;

/// All coils of a ring.
#[derive(Debug, Clone, PartialEq)]
pub struct Coils {
    /// Each coil's own resistance in ohm, in bar order, with its 95 % interval. Infinite when open.
    pub each: Vec<Coil>,
    /// The covariance of the resistances in ohm squared, to first order; None when it does not exist.
    pub covariance: Option<DMatrix<f64>>,
    /// The coil with the largest reading, its conductance in siemens and that conductance's deviation.
    pub largest: Option<(usize, f64, f64)>,
    /// What kind of set it was.
    pub ring: Ring,
}

/// What kind of set of readings it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ring {
    /// A ring with every coil worked out by itself.
    Closed,
    /// These two coils alone have resistance, so that both pairs read the two in parallel. They are taken as
    /// alike; either may be anything from the reading up to open.
    TwoInParallel(usize, usize),
    /// Two or more coils are open: every other pair reads its own coil.
    Broken,
    /// Two neighbouring pairs show no reading: either both coils are open, or this bar (from 0) is cut off from
    /// the winding.
    BrokenOrBarOff(usize),
}

impl Pairs {
    /// Takes the leads (`lead`, ohm) off `readings` (ohm, infinite where the meter shows none).
    ///
    /// Each reading has the meter's deviation at what it showed, the leads included; the leads' own deviation
    /// is common to all. What falls below zero by no more than the meter explains becomes 0.
    ///
    /// # Errors
    ///
    /// [`WindingError`] for negative numbers or NaN, and for leads greater than a reading.
    pub fn of(meter: &Meter, lead: f64, readings: &[f64]) -> Result<Self, WindingError> {
        if !(0.0..=HIGHEST).contains(&lead) {
            return Err(WindingError::NotPossible {
                what: "the lead resistance",
                value: lead,
                must: "0 or more",
            });
        }
        let of_lead = if lead > 0.0 { meter.deviation(lead) } else { 0.0 };
        let open: Vec<bool> = readings.iter().map(|m| *m == f64::INFINITY).collect();
        let mut values = Vec::with_capacity(readings.len());
        for (i, reading) in readings.iter().enumerate() {
            if open[i] {
                values.push(f64::INFINITY);
                continue;
            }
            if !(0.0..=HIGHEST).contains(reading) {
                return Err(WindingError::NotPossible {
                    what: "a resistance",
                    value: *reading,
                    must: "0 or more and below 1 Tohm",
                });
            }
            let net = reading - lead;
            if net < -ALIVE * meter.deviation(*reading).hypot(of_lead) - 1e-12 * lead {
                return Err(WindingError::LeadTooLarge { pair: i + 1, reading: *reading, lead });
            }
            values.push(net.max(0.0));
        }
        let covariance =
            DMatrix::from_fn(readings.len(), readings.len(), |i, j| match (i == j, open[i] || open[j]) {
                (_, true) => 0.0,
                (true, _) => meter.deviation(readings[i]).powi(2) + of_lead.powi(2),
                (false, _) => of_lead.powi(2),
            });
        Ok(Pairs { values, covariance })
    }

    /// The readings in ohm, leads taken off.
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// Their covariance in ohm squared.
    pub fn covariance(&self) -> &DMatrix<f64> {
        &self.covariance
    }

    /// One reading with its interval, in ohm.
    pub fn estimate(&self, i: usize) -> Estimate {
        floored(self.values[i], self.covariance[(i, i)].sqrt())
    }

    /// Solves the ring: each coil's own resistance with its interval.
    ///
    /// The readings are those from bar i to bar i + 1 in order, the last from the last bar to the first.
    ///
    /// # Errors
    ///
    /// [`WindingError`] for fewer than 3 readings, all of them zero or all open, one alone open, or one greater
    /// than the others together by more than the meter explains.
    pub fn coils(&self) -> Result<Coils, WindingError> {
        ring::check_count(self.values.len())?;
        if self.values.contains(&f64::INFINITY) {
            return self.broken();
        }
        let deviations: Vec<f64> = (0..self.values.len()).map(|i| self.covariance[(i, i)].sqrt()).collect();
        let alive: Vec<usize> =
            (0..self.values.len()).filter(|i| self.values[*i] > ALIVE * deviations[*i]).collect();
        let excess = self.excess();
        if excess.value > MAY_BE_NOISE * excess.deviation {
            // Past rounding as well, or else it is simply an open coil.
            ring::solve(&self.values)?;
        }
        if let [a, b] = alive[..] {
            return Ok(self.two_in_parallel(a, b));
        }
        let nearest = self.possible(&self.values);
        let best = ring::solve(&nearest)?;
        let Some(gains) = jacobian(&best).lu().try_inverse() else {
            return Err(WindingError::AllZero);
        };
        let spread = &gains * &self.covariance * gains.transpose();
        let of_conductance = spread[(best.largest, best.largest)].max(0.0).sqrt();
        // Next to an open coil the straight line runs into sets that no ring gives, so that the intervals are
        // widened by those that hold if this coil is open.
        let if_open = (best.conductance < SIGMAS_95 * of_conductance).then(|| self.if_open());
        let each = (0..self.values.len())
            .map(|i| {
                let deviation = spread[(i, i)].max(0.0).sqrt();
                let (mut low, mut high) = self.ends(&nearest, &gains, i, deviation, best.coils[i]);
                if let Some(own) = if_open.as_ref().filter(|_| i != best.largest).map(|all| all[i]) {
                    (low, high) = (low.min(own.low), high.max(own.high));
                }
                // The largest one's unknown is its conductance: dr = r^2 dg.
                let turned = if i == best.largest { best.coils[i].powi(2) } else { 1.0 };
                let deviation = if deviation == 0.0 { 0.0 } else { deviation * turned };
                Estimate { value: best.coils[i], deviation, low, high }
            })
            .collect();
        let mut covariance = spread;
        let turn = best.coils[best.largest].powi(2);
        covariance.row_mut(best.largest).scale_mut(-turn);
        covariance.column_mut(best.largest).scale_mut(-turn);
        Ok(Coils {
            each,
            covariance: Some(covariance),
            largest: Some((best.largest, best.conductance, of_conductance)),
            ring: Ring::Closed,
        })
    }

    /// By how much the largest reading is above the sum of all the others, which no ring allows.
    fn excess(&self) -> Estimate {
        let signs = self.signs(&self.values);
        let variance = (signs.transpose() * &self.covariance * &signs)[(0, 0)];
        Estimate::normal(signs.dot(&DVector::from_column_slice(&self.values)), variance.max(0.0).sqrt())
    }

    /// +1 for the largest reading, -1 for the others.
    fn signs(&self, values: &[f64]) -> DVector<f64> {
        let largest = (1..values.len()).fold(0, |best, i| if values[i] > values[best] { i } else { best });
        DVector::from_fn(values.len(), |i, _| if i == largest { 1.0 } else { -1.0 })
    }

    /// The nearest readings that a ring can have, weighed by how the meter scatters: readings that no ring
    /// gives move onto those of a ring with one coil open.
    fn possible(&self, values: &[f64]) -> Vec<f64> {
        let values: Vec<f64> = values.iter().map(|m| m.max(0.0)).collect();
        let signs = self.signs(&values);
        let given = DVector::from_column_slice(&values);
        let excess = signs.dot(&given);
        let way = &self.covariance * &signs;
        let reach = signs.dot(&way);
        if excess <= 0.0 || reach <= 0.0 {
            return values;
        }
        let mut moved: Vec<f64> = (given - way * (excess / reach)).iter().map(|m| m.max(0.0)).collect();
        if let Some(largest) = signs.iter().position(|s| *s > 0.0) {
            let others: f64 = moved.iter().sum::<f64>() - moved[largest];
            moved[largest] = others;
        }
        moved
    }

    /// The readings, taken as those of a ring whose largest coil is open: then the largest is the sum of the
    /// others, and each other one its own coil.
    fn if_open(&self) -> Vec<Estimate> {
        let signs = self.signs(&self.values);
        let given = DVector::from_column_slice(&self.values);
        let way = &self.covariance * &signs;
        let reach = signs.dot(&way);
        let share = if reach > 0.0 { signs.dot(&given) / reach } else { 0.0 };
        (0..self.values.len())
            .map(|i| {
                let told = if reach > 0.0 { way[i] * way[i] / reach } else { 0.0 };
                let variance = self.covariance[(i, i)] - told;
                floored((self.values[i] - way[i] * share).max(0.0), variance.max(0.0).sqrt())
            })
            .collect()
    }

    /// The interval's ends for coil `i`: exact solutions at the two least favourable sets of readings around
    /// `nearest`.
    fn ends(
        &self,
        nearest: &[f64],
        gains: &DMatrix<f64>,
        i: usize,
        deviation: f64,
        value: f64,
    ) -> (f64, f64) {
        if deviation == 0.0 {
            return (value, value);
        }
        let step = &self.covariance * gains.row(i).transpose() * (SIGMAS_95 / deviation);
        let at = |sign: f64| {
            let moved: Vec<f64> = nearest.iter().zip(step.iter()).map(|(m, s)| m + sign * s).collect();
            ring::solve(&self.possible(&moved)).map_or(value, |solved| solved.coils[i])
        };
        let (a, b) = (at(1.0), at(-1.0));
        (a.min(b).min(value), a.max(b).max(value))
    }

    fn two_in_parallel(&self, a: usize, b: usize) -> Coils {
        let both = 0.5 * (self.values[a] + self.values[b]);
        let deviation = self.covariance[(a, a)].max(self.covariance[(b, b)]).sqrt();
        let each = (0..self.values.len())
            .map(|i| {
                if i == a || i == b {
                    let low = (both - SIGMAS_95 * deviation).max(0.0);
                    Estimate { value: 2.0 * both, deviation: 2.0 * deviation, low, high: f64::INFINITY }
                } else {
                    self.estimate(i)
                }
            })
            .collect();
        Coils { each, covariance: None, largest: None, ring: Ring::TwoInParallel(a, b) }
    }

    /// Sets with pairs that show no reading.
    fn broken(&self) -> Result<Coils, WindingError> {
        let k = self.values.len();
        let open: Vec<usize> = (0..k).filter(|i| self.values[*i].is_infinite()).collect();
        let ring = match open[..] {
            [one] => return Err(WindingError::OneOpenReading { pair: one + 1 }),
            _ if open.len() == k => return Err(WindingError::NothingConducts),
            [a, b] if b == a + 1 => Ring::BrokenOrBarOff(b),
            [0, b] if b == k - 1 => Ring::BrokenOrBarOff(0),
            _ => Ring::Broken,
        };
        if (0..k).all(|i| open.contains(&i) || self.values[i] == 0.0) {
            return Err(WindingError::AllZero);
        }
        // A meter that shows nothing says no more than that it is above all it has shown.
        let seen = self.values.iter().copied().filter(|m| m.is_finite()).fold(0.0, f64::max);
        let each = (0..k)
            .map(|i| match open.contains(&i) {
                true => Estimate {
                    value: f64::INFINITY,
                    deviation: f64::INFINITY,
                    low: seen,
                    high: f64::INFINITY,
                },
                false => self.estimate(i),
            })
            .collect();
        Ok(Coils { each, covariance: Some(self.covariance.clone()), largest: None, ring })
    }
}

/// A resistance whose interval does not go below zero.
fn floored(value: f64, deviation: f64) -> Estimate {
    let plain = Estimate::normal(value, deviation);
    Estimate { low: plain.low.max(0.0), ..plain }
}

/// How the readings change with the unknowns: the resistances, but for the largest one its conductance g.
///
/// With T the others in series and D = 1 + g T: m_1 = T / D, m_j = r_j - r_j^2 g / D.
fn jacobian(ring: &Solved) -> DMatrix<f64> {
    let (g, rest, l) = (ring.conductance, ring.rest, ring.largest);
    let d = 1.0 + g * rest;
    DMatrix::from_fn(ring.coils.len(), ring.coils.len(), |i, j| match (i == l, j == l) {
        (true, true) => -(rest / d).powi(2),
        (true, false) => d.powi(-2),
        (false, true) => -(ring.coils[i] / d).powi(2),
        (false, false) => {
            let own = if i == j { 1.0 - 2.0 * ring.coils[i] * g / d } else { 0.0 };
            own + (ring.coils[i] * g / d).powi(2)
        }
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::ring::readings;
    use super::*;

    fn pairs(percent: f64, step: f64, lead: f64, readings: &[f64]) -> Pairs {
        Pairs::of(&Meter { fraction: percent / 100.0, step }, lead, readings).unwrap()
    }

    #[test]
    fn the_jacobian_agrees_with_small_changes() {
        for coils in [vec![1.0, 1.1, 0.9], vec![0.2, 3.0, 0.4, 0.3, 0.0], vec![1.0, 50.0, 2.0, 1.0]] {
            let solved = ring::solve(&readings(&coils)).unwrap();
            let j = jacobian(&solved);
            for c in 0..coils.len() {
                let h = 1e-6;
                let moved = |sign: f64| {
                    let mut other = coils.clone();
                    other[c] = if c == solved.largest {
                        1.0 / (1.0 / coils[c] + sign * h)
                    } else {
                        coils[c] + sign * h
                    };
                    readings(&other)
                };
                let (up, down) = (moved(1.0), moved(-1.0));
                for r in 0..coils.len() {
                    let slope = (up[r] - down[r]) / (2.0 * h);
                    assert!((slope - j[(r, c)]).abs() < 1e-5 * (1.0 + slope.abs()), "{coils:?} {r} {c}");
                }
            }
        }
    }

    #[test]
    fn the_leads_come_off_and_are_common_to_all() {
        let p = pairs(0.0, 0.001, 0.01, &[0.082, 0.083, 0.165]);
        assert!((p.values()[0] - 0.072).abs() < 1e-12);
        let digit = 0.001f64.powi(2) / 12.0;
        assert!((p.covariance()[(0, 0)] - 2.0 * digit).abs() < 1e-15);
        assert!((p.covariance()[(0, 1)] - digit).abs() < 1e-15);
    }

    #[test]
    fn an_open_coil_has_no_upper_end_and_the_others_keep_theirs() {
        // 72, 73, 155 mohm with leads off: the third pair is greater than the others together, by less than
        // the meter explains.
        let coils = pairs(2.0, 0.001, 0.01, &[0.082, 0.083, 0.165]).coils().unwrap();
        assert_eq!(coils.each[2].value, f64::INFINITY);
        assert_eq!(coils.each[2].high, f64::INFINITY);
        assert!(coils.each[2].low > 0.9, "{:?}", coils.each[2]);
        assert!(coils.each[0].low > 0.065 && coils.each[0].high < 0.08);
    }

    #[test]
    fn a_joint_that_may_be_open_says_so_by_its_interval() {
        // Twenty times its neighbours, and a meter that leaves that open upwards but not downwards.
        let m = readings(&[1.0, 20.0, 1.0]);
        let coils = pairs(3.0, 0.0, 0.0, &m).coils().unwrap();
        assert!((coils.each[1].value - 20.0).abs() < 1e-9);
        assert!(coils.each[1].low > 5.0 && coils.each[1].low < 15.0, "{:?}", coils.each[1]);
        assert_eq!(coils.each[1].high, f64::INFINITY);
    }

    #[test]
    fn three_coils_with_one_shorted_leave_two_in_parallel() {
        let coils = pairs(1.0, 0.0, 0.0, &[0.05, 0.0502, 0.0]).coils().unwrap();
        assert_eq!(coils.ring, Ring::TwoInParallel(0, 1));
        assert!((coils.each[0].value - 0.1002).abs() < 1e-9);
        assert!(coils.each[0].low < 0.0501 && coils.each[0].high == f64::INFINITY);
        assert_eq!(coils.each[2].value, 0.0);
    }

    #[test]
    fn open_readings_mean_two_open_coils_or_a_bar_cut_off() {
        let inf = f64::INFINITY;
        let coils = pairs(1.0, 0.0, 0.0, &[0.1, inf, 0.1, inf, 0.1]).coils().unwrap();
        assert_eq!(coils.ring, Ring::Broken);
        assert_eq!(coils.each[1].value, inf);
        assert!((coils.each[0].value - 0.1).abs() < 1e-12);
        let next = |m: &[f64]| pairs(1.0, 0.0, 0.0, m).coils().map(|c| c.ring);
        assert_eq!(next(&[0.1, inf, inf, 0.1, 0.1]), Ok(Ring::BrokenOrBarOff(2)));
        assert_eq!(next(&[inf, 0.1, 0.1, inf]), Ok(Ring::BrokenOrBarOff(0)));
        assert_eq!(next(&[inf, 0.1, 0.1]), Err(WindingError::OneOpenReading { pair: 1 }));
        assert_eq!(next(&[inf, inf, inf]), Err(WindingError::NothingConducts));
    }

    #[test]
    fn what_the_meter_can_not_explain_is_refused() {
        let meter = Meter { fraction: 0.02, step: 0.0 };
        let far = Pairs::of(&meter, 0.0, &[0.1, 0.1, 0.3]).unwrap().coils();
        assert!(matches!(far, Err(WindingError::TooHighForRing { pair: 3, .. })), "{far:?}");
        let lead = Pairs::of(&meter, 0.15, &[0.1, 0.2, 0.2]);
        assert!(matches!(lead, Err(WindingError::LeadTooLarge { pair: 1, .. })));
        for (lead, reading) in [(f64::NAN, 0.1), (-0.1, 0.1), (0.0, f64::NAN), (0.0, -0.1)] {
            assert!(matches!(Pairs::of(&meter, lead, &[reading; 3]), Err(WindingError::NotPossible { .. })));
        }
    }
}
