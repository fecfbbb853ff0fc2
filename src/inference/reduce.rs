//! Evidence entered into the network: answered factors disappear, normal outcomes become weights of
//! causes, and every other answer becomes one digit that its causes raise together.
//!
//! An observation is stored cumulatively, P(O <= k | causes) = L_k times the product of Q_k over the
//! causes that hold. Levels above the highest one with a weight are cut off, which scales each cause by
//! its Q at the cut; neighbouring levels of equal weight are merged. If one run remains, the answer was a
//! mere product of cause weights. Otherwise the runs are the values of a digit.

use super::error::InferenceError;
use crate::network::{BeliefNet, Evidence, Parent};

/// A factor after its evidence.
#[derive(Debug, Clone)]
pub(super) struct Root {
    /// States that are still possible.
    pub live: Vec<usize>,
    /// For each of them, its prior times its likelihood times the weights of normal outcomes.
    pub weight: Vec<f64>,
}

impl Root {
    pub fn is_open(&self) -> bool {
        self.live.len() > 1
    }
}

/// A fault after the evidence.
#[derive(Debug, Clone)]
pub(super) struct Local {
    /// Probability of (absent, present) with none of the open causes.
    pub leak: [f64; 2],
    /// Open factors among its causes: for each live state, the chance of (not caused, caused).
    pub roots: Vec<(usize, Vec<[f64; 2]>)>,
    /// Faults among its causes, with the chance of (not caused, caused).
    pub faults: Vec<(usize, [f64; 2])>,
    /// Likelihood of the normal outcomes if present, relative to absent. In [0, 1].
    pub weight: f64,
}

/// An answer that several causes explain together.
#[derive(Debug, Clone)]
pub(super) struct Digit {
    /// Index of the observation.
    pub observation: usize,
    /// Weight of each run of levels, lowest first; the last is above 0.
    pub weight: Vec<f64>,
    /// Scale of each value: tables store mass divided by it, which keeps rare findings in range.
    pub unit: Vec<f64>,
    /// Distribution over the values with none of the open causes.
    pub leak: Vec<f64>,
    /// Open factors: for each live state, the distribution it alone gives.
    pub roots: Vec<(usize, Vec<Vec<f64>>)>,
    /// Faults with the distribution that each alone gives.
    pub faults: Vec<(usize, Vec<f64>)>,
}

impl Local {
    /// Probability of being absent, or present with its normal outcomes, without open causes.
    pub fn mass(&self) -> f64 {
        self.leak[0] + self.leak[1] * self.weight
    }

    /// True if something open can bring the fault about.
    pub fn has_causes(&self) -> bool {
        !self.faults.is_empty() || !self.roots.is_empty()
    }
}

impl Digit {
    /// A plain answer: only the highest value counts.
    pub fn is_hard(&self) -> bool {
        self.weight[..self.weight.len() - 1].iter().all(|&w| w == 0.0)
    }
}

/// Network and evidence together.
#[derive(Debug, Clone)]
pub(super) struct Reduced {
    /// log10 of what was taken out of the tables; minus infinity if already impossible.
    pub log10_scale: f64,
    pub roots: Vec<Root>,
    pub faults: Vec<Local>,
    pub digits: Vec<Digit>,
}

/// Distribution of the larger of two independent draws. Only sums and products of positive numbers.
pub(super) fn larger(f: &[f64], g: &[f64]) -> Vec<f64> {
    let (mut below_f, mut up_to_g) = (0.0, 0.0);
    f.iter()
        .zip(g)
        .map(|(&f, &g)| {
            up_to_g += g;
            let mass = f * up_to_g + below_f * g;
            below_f += f;
            mass
        })
        .collect()
}

/// An observation's leak and open causes over its own levels.
#[derive(Debug, Clone)]
pub(super) struct Graded {
    pub leak: Vec<f64>,
    pub roots: Vec<(usize, Vec<Vec<f64>>)>,
    pub faults: Vec<(usize, Vec<f64>)>,
}

/// The observation's local model with answered factors folded into its leak.
pub(super) fn graded(net: &BeliefNet, roots: &[Root], index: usize) -> Graded {
    let model = &net.observations[index];
    let mut out = Graded { leak: model.leak.clone(), roots: Vec::new(), faults: Vec::new() };
    let mut idle = vec![0.0; model.leak.len()];
    idle[0] = 1.0;
    for (parent, effect) in &model.causes {
        match *parent {
            Parent::Fault(j) => match out.faults.iter_mut().find(|(i, _)| *i == j) {
                Some((_, held)) => *held = larger(held, effect),
                None => out.faults.push((j, effect.clone())),
            },
            Parent::Factor(j, state) => {
                let root = &roots[j];
                let Some(at) = root.live.iter().position(|&s| s == state) else { continue };
                if !root.is_open() {
                    out.leak = larger(&out.leak, effect);
                    continue;
                }
                let slot = match out.roots.iter().position(|(i, _)| *i == j) {
                    Some(slot) => slot,
                    None => {
                        out.roots.push((j, vec![idle.clone(); root.live.len()]));
                        out.roots.len() - 1
                    }
                };
                let held = &mut out.roots[slot].1[at];
                *held = larger(held, effect);
            }
        }
    }
    out
}

impl Reduced {
    pub fn new(net: &BeliefNet, evidence: &Evidence) -> Result<Reduced, InferenceError> {
        super::check::network(net)?;
        super::check::evidence(net, evidence)?;
        Ok(Reduced::of_sound(net, evidence))
    }

    /// As [`Reduced::new`], for a network and evidence that have been checked.
    pub fn of_sound(net: &BeliefNet, evidence: &Evidence) -> Reduced {
        let mut out = Reduced { log10_scale: 0.0, roots: Vec::new(), faults: Vec::new(), digits: Vec::new() };
        for (factor, weights) in net.factors.iter().zip(&evidence.factors) {
            out.enter_factor(&factor.prior, weights.as_deref());
        }
        for j in 0..net.faults.len() {
            let local = out.local(net, j);
            out.faults.push(local);
        }
        let guess = out.rough_marginals();
        for (i, weights) in evidence.observations.iter().enumerate() {
            if let Some(weights) = weights {
                out.enter_observation(net, i, weights, &guess);
            }
        }
        out
    }

    pub fn is_impossible(&self) -> bool {
        self.log10_scale == f64::NEG_INFINITY || self.roots.iter().any(|r| r.live.is_empty())
    }

    fn enter_factor(&mut self, prior: &[f64], weights: Option<&[f64]>) {
        let top = weights.map_or(1.0, |w| w.iter().copied().fold(0.0, f64::max));
        let mut root = Root { live: Vec::new(), weight: Vec::new() };
        let whole: f64 = prior.iter().sum();
        for (state, &p) in prior.iter().enumerate() {
            let joint = p / whole * weights.map_or(1.0, |w| w[state] / top);
            if joint > 0.0 {
                root.live.push(state);
                root.weight.push(joint);
            }
        }
        self.log10_scale += top.log10();
        match root.weight[..] {
            [] => self.log10_scale = f64::NEG_INFINITY,
            [only] => {
                self.log10_scale += only.log10();
                root.weight[0] = 1.0;
            }
            _ => {}
        }
        self.roots.push(root);
    }

    fn local(&self, net: &BeliefNet, index: usize) -> Local {
        let model = &net.faults[index];
        let mut local =
            Local { leak: [1.0 - model.leak, model.leak], roots: vec![], faults: vec![], weight: 1.0 };
        for &(parent, strength) in &model.causes {
            if strength == 0.0 {
                continue;
            }
            match parent {
                Parent::Fault(j) => match local.faults.iter_mut().find(|(i, _)| *i == j) {
                    Some((_, held)) => either(held, strength),
                    None => local.faults.push((j, [1.0 - strength, strength])),
                },
                Parent::Factor(j, state) => {
                    let root = &self.roots[j];
                    let Some(at) = root.live.iter().position(|&s| s == state) else { continue };
                    if !root.is_open() {
                        either(&mut local.leak, strength);
                        continue;
                    }
                    let slot = match local.roots.iter().position(|(i, _)| *i == j) {
                        Some(slot) => slot,
                        None => {
                            local.roots.push((j, vec![[1.0, 0.0]; root.live.len()]));
                            local.roots.len() - 1
                        }
                    };
                    either(&mut local.roots[slot].1[at], strength);
                }
            }
        }
        local
    }

    /// Chance of each fault as if its causes were independent: good enough to choose units by.
    fn rough_marginals(&self) -> Vec<f64> {
        let mut present: Vec<f64> = Vec::with_capacity(self.faults.len());
        for local in &self.faults {
            let mut held = local.leak;
            for (j, pair) in &local.faults {
                either(&mut held, present[*j] * pair[1]);
            }
            for (j, pairs) in &local.roots {
                let root = &self.roots[*j];
                let total: f64 = root.weight.iter().sum();
                let caused: f64 = root.weight.iter().zip(pairs).map(|(w, p)| w * p[1]).sum();
                either(&mut held, caused / total);
            }
            present.push(held[1]);
        }
        present
    }

    fn enter_observation(&mut self, net: &BeliefNet, index: usize, weights: &[f64], guess: &[f64]) {
        let graded = graded(net, &self.roots, index);
        let top = weights.iter().copied().fold(0.0, f64::max);
        self.log10_scale += top.log10();
        let ends = runs(weights);
        let mut digit = Digit {
            observation: index,
            weight: ends.iter().map(|&e| weights[e] / top).collect(),
            unit: vec![],
            leak: vec![],
            roots: vec![],
            faults: vec![],
        };
        let (scale, leak) = over_runs(&graded.leak, &ends);
        self.log10_scale += scale.log10();
        digit.leak = leak;
        for (j, effect) in graded.faults {
            let (scale, masses) = over_runs(&effect, &ends);
            self.faults[j].weight *= scale;
            if scale > 0.0 && masses[0] < 1.0 {
                digit.faults.push((j, masses));
            }
        }
        for (j, effects) in graded.roots {
            let mut rows = Vec::with_capacity(effects.len());
            for (at, effect) in effects.iter().enumerate() {
                let (scale, masses) = over_runs(effect, &ends);
                self.roots[j].weight[at] *= scale;
                rows.push(masses);
            }
            if rows.iter().any(|r| r[0] < 1.0) {
                digit.roots.push((j, rows));
            }
        }
        if ends.len() == 1 {
            self.log10_scale += digit.weight[0].log10();
        } else if digit.faults.is_empty() && digit.roots.is_empty() {
            let chance: f64 = digit.leak.iter().zip(&digit.weight).map(|(l, w)| l * w).sum();
            self.log10_scale += chance.log10();
        } else {
            digit.unit = units(&digit, &self.roots, guess);
            self.digits.push(digit);
        }
    }
}

/// Adds one more cause to an (absent, present) pair.
pub(super) fn either(pair: &mut [f64; 2], strength: f64) {
    pair[1] += pair[0] * strength;
    pair[0] *= 1.0 - strength;
}

/// Last level of each run of equal weights, up to the highest level with a weight above 0.
fn runs(weights: &[f64]) -> Vec<usize> {
    let last = weights.iter().rposition(|&w| w > 0.0).unwrap_or(0);
    (0..=last).filter(|&k| k == last || weights[k] != weights[k + 1]).collect()
}

/// The chance of staying within the runs, and the distribution over them given that.
fn over_runs(effect: &[f64], ends: &[usize]) -> (f64, Vec<f64>) {
    let mut start = 0;
    let mut masses: Vec<f64> = Vec::with_capacity(ends.len());
    for &end in ends {
        masses.push(effect[start..=end].iter().sum());
        start = end + 1;
    }
    let above: f64 = effect[start..].iter().sum();
    let within: f64 = masses.iter().sum();
    if within <= 0.0 {
        masses.fill(0.0);
        masses[0] = 1.0;
        return (0.0, masses);
    }
    let whole = within + above;
    masses.iter_mut().for_each(|m| *m /= within);
    (if above == 0.0 { 1.0 } else { within / whole }, masses)
}

/// Powers of two near the square root of each value's rough chance. The square root leaves as much room
/// for findings that one rare cause explains together as for findings that need one rare event each.
fn units(digit: &Digit, roots: &[Root], guess: &[f64]) -> Vec<f64> {
    let mut held = digit.leak.clone();
    let mix = |chance: f64, masses: &[f64], into: &mut Vec<f64>| {
        for (slot, &mass) in into.iter_mut().zip(masses) {
            *slot += chance * mass;
        }
    };
    for (j, masses) in &digit.faults {
        let mut one = vec![0.0; held.len()];
        one[0] = 1.0 - guess[*j];
        mix(guess[*j], masses, &mut one);
        held = larger(&held, &one);
    }
    for (j, rows) in &digit.roots {
        let total: f64 = roots[*j].weight.iter().sum();
        let mut one = vec![0.0; held.len()];
        for (&w, masses) in roots[*j].weight.iter().zip(rows) {
            mix(w / total, masses, &mut one);
        }
        held = larger(&held, &one);
    }
    let unit = |mass: f64| if mass > 0.0 { (mass.log2() / 2.0).round().max(-200.0).exp2() } else { 1.0 };
    held.iter().enumerate().map(|(k, &m)| if k == 0 { 1.0 } else { unit(m) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{FactorModel, FaultModel, ObservationModel};

    #[test]
    fn the_larger_of_two_draws() {
        assert_eq!(larger(&[0.5, 0.25, 0.25], &[1.0, 0.0, 0.0]), [0.5, 0.25, 0.25]);
        assert_eq!(larger(&[0.5, 0.5], &[0.5, 0.5]), [0.25, 0.75]);
        // P(max = 2) = 1 - P(both below 2) = 1 - 0.75 x 0.5.
        assert_eq!(larger(&[0.5, 0.25, 0.25], &[0.25, 0.25, 0.5])[2], 0.625);
    }

    #[test]
    fn runs_end_where_weights_change_and_at_the_highest_level_with_a_weight() {
        assert_eq!(runs(&[1.0, 0.0, 0.0]), [0]);
        assert_eq!(runs(&[0.0, 1.0, 0.0]), [0, 1]);
        assert_eq!(runs(&[0.0, 0.0, 0.0, 1.0]), [2, 3]);
        assert_eq!(runs(&[0.3, 0.3, 0.7, 0.1]), [1, 2, 3]);
        assert_eq!(runs(&[0.5, 0.5, 0.5]), [2]);
    }

    #[test]
    fn masses_are_cut_off_above_the_runs() {
        let (scale, masses) = over_runs(&[0.5, 0.3, 0.2], &[0, 1]);
        assert!((scale - 0.8).abs() < 1e-15);
        assert!((masses[0] - 0.625).abs() < 1e-15 && (masses[1] - 0.375).abs() < 1e-15);
        assert_eq!(over_runs(&[0.0, 0.0, 1.0], &[0]), (0.0, vec![1.0]));
    }

    fn one_fault(weights: Vec<f64>) -> Reduced {
        let text = |s: &str| s.to_string();
        let net = BeliefNet {
            factors: vec![FactorModel {
                id: text("wet"),
                states: vec![text("no"), text("yes")],
                prior: vec![0.8, 0.2],
            }],
            faults: vec![FaultModel {
                id: text("rust"),
                leak: 0.1,
                causes: vec![(Parent::Factor(0, 1), 0.5)],
            }],
            observations: vec![ObservationModel {
                id: text("stain"),
                states: vec![text("no"), text("some"), text("much")],
                leak: vec![0.9, 0.1, 0.0],
                causes: vec![(Parent::Fault(0), vec![0.2, 0.3, 0.5])],
            }],
        };
        let mut evidence = Evidence::none(&net);
        evidence.observations[0] = Some(weights);
        evidence.factors[0] = Some(vec![0.0, 2.0]);
        Reduced::new(&net, &evidence).expect("a sound network")
    }

    #[test]
    fn a_normal_answer_only_weighs_its_causes() {
        let reduced = one_fault(vec![1.0, 0.0, 0.0]);
        assert!(reduced.digits.is_empty());
        assert!((reduced.faults[0].weight - 0.2).abs() < 1e-15);
    }

    #[test]
    fn an_answered_factor_becomes_part_of_the_leak() {
        let reduced = one_fault(vec![1.0, 0.0, 0.0]);
        assert!(!reduced.roots[0].is_open() && reduced.faults[0].roots.is_empty());
        assert!((reduced.faults[0].leak[1] - 0.55).abs() < 1e-15);
    }

    #[test]
    fn other_answers_become_digits() {
        let hard = one_fault(vec![0.0, 3.0, 0.0]);
        assert!(hard.digits[0].is_hard() && hard.digits[0].leak.len() == 2);
        assert!((hard.faults[0].weight - 0.5).abs() < 1e-15);
        assert!((hard.digits[0].faults[0].1[1] - 0.6).abs() < 1e-15);
        let soft = one_fault(vec![0.2, 0.4, 0.1]);
        assert!(!soft.digits[0].is_hard() && soft.digits[0].leak.len() == 3);
        assert_eq!(soft.faults[0].weight, 1.0);
        assert_eq!(one_fault(vec![0.4, 0.4, 0.4]).digits.len(), 0);
    }
}
