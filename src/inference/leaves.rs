//! The tables that the elimination starts from.
//!
//! Three kinds of variables occur (Zhang & Poole 1996):
//!
//! - *plain*: a factor, or a fault; tables that share it are multiplied value by value;
//! - *digit*: an answer that is not normal; tables that share it are combined by the larger value (for two
//!   values: by OR), each holding the mass with which its own causes reach that value;
//! - *latch*: the same for a fault that has open causes of its own. When all tables with the latch have
//!   been combined, the latch is the fault and becomes the plain variable.
//!
//! A *quiet* fault has nothing but normal outcomes below it. The sum over it is
//! w + (1 - w) x P(absent | causes) with w, the likelihood of those outcomes if it is present, at most 1: two positive
//! terms, each a product over the causes. So a plain selector of the two terms replaces fault and latch,
//! and the causes are linked pairwise to the selector (the multiplicative form of Takikawa & D'Ambrosio
//! 1999; Diez & Galan 2003 is its signed cousin).

use super::reduce::Reduced;

/// Quiet faults with more quiet effects than this are treated like any other fault: their table would
/// double with each.
const MOST_QUIET_EFFECTS: usize = 6;

/// How tables that share a variable are combined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Plain,
    /// Index of the answer.
    Digit(usize),
    /// The plain variable that it becomes.
    Latch(u32),
}

/// A variable of the elimination.
#[derive(Debug, Clone, Copy)]
pub(super) struct Var {
    pub radix: usize,
    pub kind: Kind,
    /// The latch of a fault with open causes.
    pub latch: Option<u32>,
}

/// Where the numbers of a leaf come from.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Source {
    /// They never change.
    Fixed,
    /// Weights of the live states of a factor.
    Factor(usize),
    /// (absent, present x weight) of a fault.
    Fault(usize),
    /// (absent, present) of a fault with none of its open causes.
    Leak(usize),
    /// Distribution of an answer's digit with none of its open causes.
    Digit(usize),
    /// A quiet fault: scope is its selector, then those of its effects.
    Quiet(usize),
}

/// A table before anything is combined.
#[derive(Debug, Clone)]
pub(super) struct Leaf {
    pub source: Source,
    /// Variables, the first with the largest stride.
    pub scope: Vec<u32>,
    /// For `Quiet`, the likelihood of the effects' terms without the fault's own weight; for `Digit`, one
    /// over the unit of each value; for `Fixed`, the values themselves.
    pub values: Vec<f64>,
}

/// All variables and leaves.
#[derive(Debug, Clone, Default)]
pub(super) struct Leaves {
    pub vars: Vec<Var>,
    pub leaves: Vec<Leaf>,
    /// Faults that touch nothing open: their posterior is closed-form.
    pub lone: Vec<usize>,
}

impl Leaves {
    pub fn new(reduced: &Reduced) -> Leaves {
        Builder::new(reduced).build()
    }
}

struct Builder<'a> {
    reduced: &'a Reduced,
    effects: Vec<Vec<(usize, f64)>>,
    digits_of: Vec<bool>,
    out: Leaves,
}

impl<'a> Builder<'a> {
    fn new(reduced: &'a Reduced) -> Self {
        let mut effects = vec![Vec::new(); reduced.faults.len()];
        for (j, local) in reduced.faults.iter().enumerate() {
            for &(cause, pair) in &local.faults {
                effects[cause].push((j, pair[0]));
            }
        }
        let mut digits_of = vec![false; reduced.faults.len()];
        for digit in &reduced.digits {
            for (j, _) in &digit.faults {
                digits_of[*j] = true;
            }
        }
        Builder { reduced, effects, digits_of, out: Leaves::default() }
    }

    fn var(&mut self, radix: usize, kind: Kind) -> u32 {
        self.out.vars.push(Var { radix, kind, latch: None });
        (self.out.vars.len() - 1) as u32
    }

    fn leaf(&mut self, source: Source, scope: Vec<u32>, values: Vec<f64>) {
        self.out.leaves.push(Leaf { source, scope, values });
    }

    fn has_causes(&self, j: usize) -> bool {
        self.reduced.faults[j].has_causes()
    }

    /// Effects stand after causes, so one pass from the end finds the faults with a loud effect.
    fn loud(&self) -> Vec<bool> {
        let mut loud = self.digits_of.clone();
        for j in (0..loud.len()).rev() {
            loud[j] |=
                self.effects[j].len() > MOST_QUIET_EFFECTS || self.effects[j].iter().any(|&(e, _)| loud[e]);
        }
        loud
    }

    fn build(mut self) -> Leaves {
        let reduced = self.reduced;
        let factor: Vec<Option<u32>> = (reduced.roots.iter().enumerate())
            .map(|(j, root)| {
                root.is_open().then(|| {
                    let var = self.var(root.live.len(), Kind::Plain);
                    self.leaf(Source::Factor(j), vec![var], vec![1.0; root.live.len()]);
                    var
                })
            })
            .collect();
        let loud = self.loud();
        // The plain variable of each fault in the tape: the fault itself, or a quiet fault's selector.
        let fault: Vec<Option<u32>> = (0..reduced.faults.len())
            .map(|j| {
                let lone = !self.has_causes(j) && self.effects[j].is_empty() && !self.digits_of[j];
                if lone {
                    self.out.lone.push(j);
                }
                (!lone).then(|| self.var(2, Kind::Plain))
            })
            .collect();
        for j in 0..reduced.faults.len() {
            let Some(plain) = fault[j] else { continue };
            if !self.has_causes(j) {
                self.leaf(Source::Fault(j), vec![plain], vec![1.0; 2]);
            } else if loud[j] {
                self.loud_fault(j, plain, &factor, &fault);
            } else {
                self.quiet_fault(j, plain, &factor, &fault, &loud);
            }
        }
        for (i, digit) in reduced.digits.iter().enumerate() {
            let var = self.var(digit.leak.len(), Kind::Digit(i));
            let scaled = |masses: &[f64]| masses.iter().zip(&digit.unit).map(|(m, u)| m / u).collect();
            self.leaf(Source::Digit(i), vec![var], digit.unit.iter().map(|u| 1.0 / u).collect());
            let absent = (0..digit.leak.len()).map(|k| if k == 0 { 1.0 } else { 0.0 });
            for (j, masses) in &digit.faults {
                let present: Vec<f64> = scaled(masses);
                if let Some(plain) = fault[*j] {
                    self.leaf(Source::Fixed, vec![plain, var], absent.clone().chain(present).collect());
                }
            }
            for (j, rows) in &digit.roots {
                if let Some(plain) = factor[*j] {
                    let values = rows.iter().flat_map(|row| -> Vec<f64> { scaled(row) }).collect();
                    self.leaf(Source::Fixed, vec![plain, var], values);
                }
            }
        }
        self.out
    }

    fn loud_fault(&mut self, j: usize, plain: u32, factor: &[Option<u32>], fault: &[Option<u32>]) {
        let local = &self.reduced.faults[j];
        let latch = self.var(2, Kind::Latch(plain));
        self.out.vars[plain as usize].latch = Some(latch);
        self.leaf(Source::Fault(j), vec![plain], vec![1.0; 2]);
        self.leaf(Source::Leak(j), vec![latch], vec![1.0; 2]);
        for &(cause, pair) in &local.faults {
            if let Some(cause) = fault[cause] {
                self.leaf(Source::Fixed, vec![cause, latch], vec![1.0, 0.0, pair[0], pair[1]]);
            }
        }
        for (root, rows) in &local.roots {
            if let Some(root) = factor[*root] {
                self.leaf(Source::Fixed, vec![root, latch], rows.iter().flatten().copied().collect());
            }
        }
    }

    fn quiet_fault(
        &mut self,
        j: usize,
        selector: u32,
        factor: &[Option<u32>],
        fault: &[Option<u32>],
        loud: &[bool],
    ) {
        let local = &self.reduced.faults[j];
        // Terms of the effects: a selector at 1 multiplies by the chance that this fault does not cause it.
        let mut scope = vec![selector];
        let mut values = vec![1.0];
        for &(effect, spared) in &self.effects[j] {
            let Some(effect) = fault[effect] else { continue };
            scope.push(effect);
            values = values.iter().flat_map(|v| [*v, v * spared]).collect();
        }
        values = values.repeat(2);
        self.leaf(Source::Quiet(j), scope, values);
        for &(cause, pair) in &local.faults {
            // A quiet cause with causes of its own holds this link in its own table.
            if !loud[cause] && self.has_causes(cause) {
                continue;
            }
            if let Some(cause) = fault[cause] {
                self.leaf(Source::Fixed, vec![cause, selector], vec![1.0, 1.0, 1.0, pair[0]]);
            }
        }
        for (root, rows) in &local.roots {
            if let Some(root) = factor[*root] {
                let values = rows.iter().flat_map(|row| [1.0, row[0]]).collect();
                self.leaf(Source::Fixed, vec![root, selector], values);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{BeliefNet, Evidence, FactorModel, FaultModel, ObservationModel, Parent};

    /// wet -> rust -> seized, bent alone; noise from seized, wobble from bent.
    fn built(noise: usize, wobble: usize) -> Leaves {
        let states = || vec!["no".to_string(), "yes".to_string()];
        let fault = |id: &str, causes| FaultModel { id: id.into(), leak: 0.1, causes };
        let seen = |id: &str, fault| ObservationModel {
            id: id.into(),
            states: states(),
            leak: vec![0.9, 0.1],
            causes: vec![(Parent::Fault(fault), vec![0.2, 0.8])],
        };
        let net = BeliefNet {
            factors: vec![FactorModel { id: "wet".into(), states: states(), prior: vec![0.8, 0.2] }],
            faults: vec![
                fault("rust", vec![(Parent::Factor(0, 1), 0.5)]),
                fault("seized", vec![(Parent::Fault(0), 0.5)]),
                fault("bent", vec![]),
            ],
            observations: vec![seen("noise", 1), seen("wobble", 2)],
        };
        let mut evidence = Evidence::none(&net);
        for (i, state) in [noise, wobble].into_iter().enumerate() {
            let mut weights = vec![0.0; 2];
            weights[state] = 1.0;
            evidence.observations[i] = Some(weights);
        }
        Leaves::new(&Reduced::new(&net, &evidence).expect("a sound network"))
    }

    #[test]
    fn normal_answers_leave_quiet_and_lone_faults() {
        let leaves = built(0, 0);
        assert_eq!(leaves.lone, [2]);
        assert!(leaves.vars.iter().all(|v| v.kind == Kind::Plain));
        let quiet = |j| leaves.leaves.iter().any(|l| l.source == Source::Quiet(j));
        assert!(quiet(0) && quiet(1));
    }

    #[test]
    fn an_abnormal_answer_makes_its_causes_and_theirs_loud() {
        let leaves = built(1, 0);
        let latches = leaves.vars.iter().filter(|v| matches!(v.kind, Kind::Latch(_))).count();
        let digits = leaves.vars.iter().filter(|v| matches!(v.kind, Kind::Digit(_))).count();
        assert_eq!((latches, digits), (2, 1));
        assert_eq!(leaves.lone, [2]);
        assert!(built(0, 1).lone.is_empty());
    }
}
