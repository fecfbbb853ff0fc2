//! The questions that are still open, kept flat.

use super::engine::Question;
use super::inputs::Tilt;
use super::reduce::Reduced;
use crate::network::{BeliefNet, Evidence, Parent};

/// Cumulative local models of the unanswered observations.
#[derive(Debug, Clone, Default)]
pub(super) struct Questions {
    /// For each observation: number of states, start in `causes` and in `cumulative`; states 0 if answered.
    heads: Vec<(usize, usize, usize)>,
    causes: Vec<Parent>,
    /// For each observation its leak, then each cause: P(at most k) for every state but the last.
    cumulative: Vec<f64>,
}

impl Questions {
    pub fn new(net: &BeliefNet, evidence: &Evidence, reduced: &Reduced) -> Questions {
        let mut out = Questions::default();
        for (model, answer) in net.observations.iter().zip(&evidence.observations) {
            let states = if answer.is_none() { model.states.len() } else { 0 };
            out.heads.push((states, out.causes.len(), out.cumulative.len()));
            if states == 0 {
                continue;
            }
            out.push_cumulative(&model.leak);
            for (parent, effect) in &model.causes {
                let possible = match *parent {
                    Parent::Fault(_) => true,
                    Parent::Factor(j, state) => reduced.roots[j].live.contains(&state),
                };
                if possible {
                    out.causes.push(*parent);
                    out.push_cumulative(effect);
                }
            }
        }
        out.heads.push((0, out.causes.len(), out.cumulative.len()));
        out
    }

    fn push_cumulative(&mut self, masses: &[f64]) {
        let whole: f64 = masses.iter().sum();
        let mut sum = 0.0;
        for &mass in masses.iter().take(masses.len().saturating_sub(1)) {
            sum += mass;
            self.cumulative.push((sum / whole).min(1.0));
        }
    }

    /// States of an unanswered observation.
    pub fn states(&self, i: usize) -> usize {
        self.heads[i].0
    }

    /// For an observation, "at most k" for every state but the last; for a factor, each live state.
    pub fn tilts(&self, reduced: &Reduced, question: Question) -> Vec<Tilt> {
        match question {
            Question::Factor(j) => {
                let live = reduced.roots[j].live.len();
                let only = |k: usize| {
                    let roots = (0..live).filter(|&s| s != k).map(|s| (j, s, 0.0)).collect();
                    Tilt { faults: vec![], roots, scale: 1.0 }
                };
                (0..live).map(only).collect()
            }
            Question::Observation(i) => {
                let (states, first, start) = self.heads[i];
                let causes = &self.causes[first..self.heads[i + 1].1];
                (0..states.saturating_sub(1))
                    .map(|k| self.at_most(reduced, causes, start, states - 1, k))
                    .collect()
            }
        }
    }

    fn at_most(&self, reduced: &Reduced, causes: &[Parent], start: usize, row: usize, k: usize) -> Tilt {
        let mut tilt = Tilt {
            faults: Vec::with_capacity(causes.len()),
            roots: Vec::new(),
            scale: self.cumulative[start + k],
        };
        for (n, parent) in causes.iter().enumerate() {
            let weight = self.cumulative[start + (n + 1) * row + k];
            if weight == 1.0 {
                continue;
            }
            match *parent {
                Parent::Fault(j) => match tilt.faults.iter_mut().find(|(i, _)| *i == j) {
                    Some((_, held)) => *held *= weight,
                    None => tilt.faults.push((j, weight)),
                },
                Parent::Factor(j, state) => {
                    let root = &reduced.roots[j];
                    match root.live.iter().position(|&s| s == state) {
                        Some(at) if root.is_open() => tilt.roots.push((j, at, weight)),
                        Some(_) => tilt.scale *= weight,
                        None => {}
                    }
                }
            }
        }
        tilt
    }
}
