//! Answers foreseen as means over drawn motors: for ranking, never to be shown.
//!
//! Draws with the same faults share everything that depends on faults alone, so the means run over patterns of
//! faults; factors that an answer depends on directly add a weight for each pattern.

use super::draws::{Draws, Pattern};
use super::engine::{Engine, Prediction, Question};
use super::inputs::Tilt;
use super::lanes::Lanes;

/// States of a question whose means are taken side by side.
const ABREAST: usize = 4;

/// For each of several rows of chances, the product over the faults of each draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Cleared {
    rows: Vec<Vec<f64>>,
    /// The mean over all draws.
    means: Vec<f64>,
}

impl Cleared {
    /// Prepares rows (see [`Engine::chance_cleared`]) for [`Engine::chance_cleared_from`].
    pub fn of(draws: &Draws, clears: &[Vec<f64>]) -> Cleared {
        let product =
            |row: &[f64], p: &Pattern| -> f64 { p.faults.iter().map(|&j| row[j as usize]).product() };
        let rows: Vec<Vec<f64>> =
            clears.iter().map(|row| draws.patterns.iter().map(|p| product(row, p)).collect()).collect();
        let whole = draws.count().max(1) as f64;
        let mean = |values: &Vec<f64>| {
            values.iter().zip(&draws.patterns).map(|(v, p)| v * p.draws).sum::<f64>() / whole
        };
        let means = rows.iter().map(mean).collect();
        Cleared { rows, means }
    }
}

impl Draws {
    /// For each pattern, the sum over its draws of what the tilt multiplies them by.
    fn weigh(&self, tilt: &Tilt) -> Vec<f64> {
        let mut sums: Vec<f64> = if tilt.roots.is_empty() {
            self.patterns.iter().map(|p| tilt.scale * p.draws).collect()
        } else {
            let mut each = vec![tilt.scale; self.count];
            for &(j, at, weight) in &tilt.roots {
                for (value, &state) in each.iter_mut().zip(&self.roots[j]) {
                    *value *= if usize::from(state) == at { weight } else { 1.0 };
                }
            }
            let mut sums = vec![0.0; self.patterns.len()];
            for (value, &p) in each.iter().zip(&self.pattern_of) {
                sums[p as usize] += value;
            }
            sums
        };
        for &(j, weight) in &tilt.faults {
            for &p in &self.with[j] {
                sums[p as usize] *= weight;
            }
        }
        sums
    }
}

impl Engine {
    /// For each answer to a group of questions, the expected number of draws of each pattern.
    fn shares(&self, draws: &Draws, group: &[Question]) -> Vec<Vec<f64>> {
        match group {
            [Question::Factor(j)] => {
                let states = self.posterior().factors[*j].len();
                let mut out = vec![vec![0.0; draws.patterns.len()]; states];
                let live = &self.reduced.roots[*j].live;
                for (&at, &p) in draws.roots[*j].iter().zip(&draws.pattern_of) {
                    out[live[usize::from(at)]][p as usize] += 1.0;
                }
                out
            }
            _ => {
                let tilts = self.levels(group);
                let all = draws.patterns.iter().map(|p| p.draws).collect();
                let at_most = tilts.iter().map(|tilt| draws.weigh(tilt)).chain([all]);
                let mut below = vec![0.0; draws.patterns.len()];
                at_most
                    .take(self.answers(group))
                    .map(|here| {
                        let share = here.iter().zip(&below).map(|(h, b)| (h - b).max(0.0)).collect();
                        below = here;
                        share
                    })
                    .collect()
            }
        }
    }

    /// As [`Engine::predict_all`], estimated from draws. The fault chances are shifted so that their mean
    /// over the answers is the exact posterior.
    pub fn predict_from(&self, draws: &Draws, questions: &[Question]) -> Vec<Prediction> {
        self.predict_together_from(draws, &questions.iter().map(std::slice::from_ref).collect::<Vec<_>>())
    }

    /// As [`Engine::predict_together`], estimated in the same way.
    pub fn predict_together_from(&self, draws: &Draws, groups: &[&[Question]]) -> Vec<Prediction> {
        let whole = draws.count().max(1) as f64;
        let mut drawn = vec![0.0; self.posterior().faults.len()];
        for pattern in &draws.patterns {
            pattern.faults.iter().for_each(|&j| drawn[j as usize] += pattern.draws / whole);
        }
        let off: Vec<f64> =
            self.posterior().faults.iter().zip(&drawn).map(|(now, drawn)| now - drawn).collect();
        groups.iter().map(|group| self.predict_one_from(draws, &off, group)).collect()
    }

    /// `off` is what the draws lack of each fault's exact chance.
    fn predict_one_from(&self, draws: &Draws, off: &[f64], group: &[Question]) -> Prediction {
        let now = &self.posterior().faults;
        let shares = self.shares(draws, group);
        let sums: Vec<f64> = shares.iter().map(|share| share.iter().sum()).collect();
        let mut given = Vec::with_capacity(shares.len());
        // Several states at once: finding the faults of a pattern costs more than adding.
        for (shares, sums) in shares.chunks(ABREAST).zip(sums.chunks(ABREAST)) {
            let mut held = vec![Lanes::<ABREAST>::ZERO; now.len()];
            for (p, pattern) in draws.patterns.iter().enumerate() {
                let here = Lanes(std::array::from_fn(|k| shares.get(k).map_or(0.0, |share| share[p])));
                pattern.faults.iter().for_each(|&j| held[j as usize].add(here));
            }
            for (k, &sum) in sums.iter().enumerate() {
                let shifted = |(held, off): (&Lanes<ABREAST>, &f64)| (held.0[k] / sum + off).clamp(0.0, 1.0);
                given.push(if sum > 0.0 { held.iter().zip(off).map(shifted).collect() } else { now.clone() });
            }
        }
        let whole = draws.count().max(1) as f64;
        Prediction { probabilities: sums.iter().map(|sum| sum / whole).collect(), given }
    }

    /// As [`Engine::chance_cleared_given`], estimated from draws; `cleared` was prepared from the same ones.
    pub fn chance_cleared_from(&self, draws: &Draws, question: Question, cleared: &Cleared) -> Vec<Vec<f64>> {
        self.chance_cleared_together_from(draws, &[question], cleared)
    }

    /// As [`Engine::chance_cleared_together`], estimated in the same way.
    pub fn chance_cleared_together_from(
        &self,
        draws: &Draws,
        group: &[Question],
        cleared: &Cleared,
    ) -> Vec<Vec<f64>> {
        let given = |share: &Vec<f64>| -> Vec<f64> {
            let sum: f64 = share.iter().sum();
            if sum <= 0.0 {
                return cleared.means.clone();
            }
            let mean = |row: &Vec<f64>| row.iter().zip(share).map(|(v, s)| v * s).sum::<f64>() / sum;
            cleared.rows.iter().map(mean).collect()
        };
        self.shares(draws, group).iter().map(given).collect()
    }
}
