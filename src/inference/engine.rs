//! The compiled network: posteriors, predictions, and the chance that a piece of work clears it.

use super::assemble::{Program, assemble};
use super::error::{InferenceError, Limits};
use super::inputs::{Entry, Tilt};
use super::lanes::Lanes;
use super::leaves::Leaves;
use super::order;
use super::questions::Questions;
use super::readers::Readers;
use super::reduce::Reduced;
use crate::network::{BeliefNet, Evidence};

/// Imagined outcomes that are computed side by side.
pub(super) const WIDTH: usize = 8;
/// Live numbers above which they are computed one by one, to keep memory down (64 bytes each, twice).
pub(super) const WIDE_MEMORY: usize = 1_500_000;

/// What is known after the evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// log10 of the probability of the evidence, weights of soft answers included.
    pub log10_evidence: f64,
    /// Probability that each fault is present.
    pub faults: Vec<f64>,
    /// Distribution of each factor over its states.
    pub factors: Vec<Vec<f64>>,
    /// Probability that no fault at all is present.
    pub healthy: f64,
}

/// Something that could be asked: a variable that has not been answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Question {
    /// Index of a factor.
    Factor(usize),
    /// Index of an observation.
    Observation(usize),
}

/// What an answer is expected to be, and what it would change.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// Probability of each state of the variable given the evidence.
    pub probabilities: Vec<f64>,
    /// For each state, the probability of each fault if that were the answer. Where a state is
    /// impossible, or too improbable to tell (below 1e-12), the posterior as it is now.
    pub given: Vec<Vec<f64>>,
}

/// A network and evidence, compiled for exact answers.
#[derive(Debug, Clone)]
pub struct Engine {
    pub(super) reduced: Reduced,
    pub(super) program: Program,
    pub(super) entry: Entry,
    pub(super) questions: Questions,
    /// Result of the forward pass without any tilt.
    pub(super) base: f64,
    posterior: Posterior,
}

/// Answers below this chance are differences of nearly equal numbers.
pub(super) const TOO_RARE: f64 = 1e-12;

impl Engine {
    /// Compiles the network for the evidence and computes the posterior.
    ///
    /// # Errors
    ///
    /// [`InferenceError::Shape`] if lengths, indices or numbers are not usable;
    /// [`InferenceError::ImpossibleEvidence`] if the answers contradict one another;
    /// [`InferenceError::TooLarge`] if the exact computation would exceed the limits. The order of elimination is
    /// planned on scopes alone, so that a refusal is quick.
    pub fn compile(net: &BeliefNet, evidence: &Evidence, limits: &Limits) -> Result<Engine, InferenceError> {
        match Engine::try_compile(net, evidence, limits)? {
            Some(engine) => Ok(engine),
            None => Err(super::clash::impossible(net, evidence, limits)),
        }
    }

    /// As [`Engine::compile`], with `None` for impossible evidence.
    pub(super) fn try_compile(
        net: &BeliefNet,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<Option<Engine>, InferenceError> {
        let reduced = Reduced::new(net, evidence)?;
        if reduced.is_impossible() {
            return Ok(None);
        }
        let leaves = Leaves::new(&reduced);
        let order = order::plan(&leaves);
        let limit = limits.max_operations;
        if order.operations > 2.0 * limit as f64 {
            return Err(InferenceError::TooLarge { operations: order.operations, limit: limit as f64 });
        }
        let (program, numbers) = assemble(&reduced, &leaves, &order, limit)?;
        let base = program.tape.result_of(&numbers).0[0];
        let lone: f64 = leaves.lone.iter().map(|&j| reduced.faults[j].mass().log10()).sum();
        let log10_evidence = reduced.log10_scale + program.log10_scale + base.log10() + lone;
        if log10_evidence == f64::NEG_INFINITY || log10_evidence.is_nan() {
            return Ok(None);
        }
        let entry = program.entry(&reduced);
        let questions = Questions::new(net, evidence, &reduced);
        let mut engine = Engine {
            reduced,
            program,
            entry,
            questions,
            base,
            posterior: Posterior { log10_evidence, faults: vec![], factors: vec![], healthy: 0.0 },
        };
        engine.fill_posterior(net, &numbers);
        Ok(Some(engine))
    }

    fn fill_posterior(&mut self, net: &BeliefNet, numbers: &[Lanes<1>]) {
        let tape = &self.program.tape;
        let mut slopes = vec![Lanes::<1>::ZERO; tape.live];
        tape.reverse(numbers, &mut slopes, Lanes::splat(1.0 / self.base));
        let faults = self.program.fault_marginals(&self.reduced, &Tilt::default(), 0, numbers, &slopes);
        let mut factors: Vec<Vec<f64>> = net.factors.iter().map(|f| vec![0.0; f.states.len()]).collect();
        for (factor, root) in factors.iter_mut().zip(&self.reduced.roots) {
            if let [only] = root.live[..] {
                factor[only] = 1.0;
            }
        }
        for (j, chances) in self.program.root_marginals(numbers, &slopes) {
            for (&state, chance) in self.reduced.roots[j].live.iter().zip(chances) {
                factors[j][state] = chance;
            }
        }
        drop(slopes);
        self.posterior.faults = faults;
        self.posterior.factors = factors;
        let none = vec![0.0; net.faults.len()];
        self.posterior.healthy = self.chance_cleared(&[none])[0];
    }

    /// Faults outside the tape.
    pub(super) fn lone(&self) -> impl Iterator<Item = usize> {
        self.entry.fault.iter().enumerate().filter(|(_, n)| n.is_none()).map(|(j, _)| j)
    }

    /// What is known now.
    pub fn posterior(&self) -> &Posterior {
        &self.posterior
    }

    /// Multiply-adds of one forward pass. Predicting a hundred questions exactly takes roughly 0.2 ms for
    /// each thousand; where that is too long, [`Engine::draw`] ranks them in a time that hardly depends on it.
    pub fn operations(&self) -> usize {
        self.program.tape.operations
    }

    /// The answers to expect from one question. The question must not have been answered.
    pub fn predict(&self, question: Question) -> Prediction {
        self.predict_all(&[question]).pop().unwrap_or(Prediction { probabilities: vec![], given: vec![] })
    }

    /// The answers to expect from several questions, computed side by side.
    ///
    /// "At most k" is a mere product of cause weights, exact to rounding; a level above the lowest is the
    /// difference of two of them. That is good for ranking questions; the answer that
    /// is then given is compiled anew, without differences.
    pub fn predict_all(&self, questions: &[Question]) -> Vec<Prediction> {
        self.predict_together(&questions.iter().map(std::slice::from_ref).collect::<Vec<_>>())
    }

    /// As [`Engine::predict_all`], where each group of observations is answered at one go, and what is foreseen
    /// is the first of them that is not in its lowest state.
    ///
    /// The answers of a group of several are: all of them in their lowest state; then, from the last of the
    /// group to the first, each higher state of that one with all before it in their lowest. Factors are no
    /// part of a group of several and count for nothing there.
    pub fn predict_together(&self, groups: &[&[Question]]) -> Vec<Prediction> {
        let tilts: Vec<Vec<Tilt>> = groups.iter().map(|group| self.levels(group)).collect();
        let flat: Vec<&Tilt> = tilts.iter().flatten().collect();
        let mut results = Vec::with_capacity(flat.len());
        self.run(&flat, |result, marginals| results.push((result, marginals())));
        let mut results = results.into_iter();
        let mut out = Vec::with_capacity(groups.len());
        for (&group, tilts) in groups.iter().zip(&tilts) {
            let levels: Vec<(f64, Vec<f64>)> = results.by_ref().take(tilts.len()).collect();
            out.push(match group {
                [Question::Factor(j)] => self.factor_prediction(*j, levels),
                _ => self.graded_prediction(self.answers(group), levels),
            });
        }
        out
    }

    /// The events of which the answers to a group are the differences, each within the next; for a factor,
    /// the answers themselves.
    pub(super) fn levels(&self, group: &[Question]) -> Vec<Tilt> {
        if let [only] = group {
            return self.questions.tilts(&self.reduced, *only);
        }
        let mut lowest = Tilt { scale: 1.0, ..Tilt::default() };
        let mut ladders: Vec<Vec<Tilt>> = Vec::with_capacity(group.len());
        for question in group.iter().filter(|q| matches!(q, Question::Observation(_))) {
            let ladder = self.questions.tilts(&self.reduced, *question);
            ladders.push(ladder.iter().map(|level| lowest.and(level)).collect());
            if let Some(level) = ladder.first() {
                lowest = lowest.and(level);
            }
        }
        ladders.into_iter().rev().flatten().collect()
    }

    /// How many answers a group of observations has.
    pub(super) fn answers(&self, group: &[Question]) -> usize {
        let higher = |q: &Question| match q {
            Question::Observation(i) => self.questions.states(*i).saturating_sub(1),
            Question::Factor(_) => 0,
        };
        1 + group.iter().map(higher).sum::<usize>()
    }

    /// Probability of each state of several questions, as in [`Engine::predict_all`] but without what the
    /// answers would change.
    pub fn chances(&self, questions: &[Question]) -> Vec<Vec<f64>> {
        let tilts = questions.iter().map(|&q| match q {
            Question::Factor(_) => Vec::new(),
            Question::Observation(_) => self.questions.tilts(&self.reduced, q),
        });
        let tilts: Vec<Vec<Tilt>> = tilts.collect();
        let mut levels = self.expectations(tilts.iter().flatten()).into_iter();
        let mut out = Vec::with_capacity(questions.len());
        for (&question, tilts) in questions.iter().zip(&tilts) {
            out.push(match question {
                Question::Factor(j) => self.posterior.factors[j].clone(),
                Question::Observation(i) => {
                    let mut below = 0.0;
                    let at_most =
                        levels.by_ref().take(tilts.len()).chain([1.0]).take(self.questions.states(i));
                    at_most.map(|up_to| (up_to - std::mem::replace(&mut below, up_to)).max(0.0)).collect()
                }
            });
        }
        out
    }

    fn factor_prediction(&self, j: usize, levels: Vec<(f64, Vec<f64>)>) -> Prediction {
        let probabilities = self.posterior.factors[j].clone();
        let mut given = vec![self.posterior.faults.clone(); probabilities.len()];
        for (&state, (chance, faults)) in self.reduced.roots[j].live.iter().zip(levels) {
            if chance > 0.0 {
                given[state] = faults;
            }
        }
        Prediction { probabilities, given }
    }

    /// `levels` holds P(at most k) and the faults given that, for each level but the highest.
    fn graded_prediction(&self, states: usize, levels: Vec<(f64, Vec<f64>)>) -> Prediction {
        let now = &self.posterior.faults;
        let mut below = (0.0, vec![0.0; now.len()]);
        let mut prediction =
            Prediction { probabilities: Vec::with_capacity(states), given: Vec::with_capacity(states) };
        let top = (1.0, now.clone());
        for (up_to, faults) in levels.into_iter().chain([top]).take(states) {
            let chance: f64 = (up_to - below.0).max(0.0);
            let given = if chance < TOO_RARE {
                now.clone()
            } else {
                (faults.iter().zip(&below.1))
                    .map(|(f, b)| ((up_to * f - below.0 * b) / chance).clamp(0.0, 1.0))
                    .collect()
            };
            prediction.probabilities.push(chance);
            prediction.given.push(given);
            below = (up_to, faults);
        }
        prediction
    }

    /// For each row: the expectation of the product, over the faults that are present, of the
    /// row's chances, given the evidence. With the chance that a piece of work removes each fault, it is the chance that
    /// the work leaves none; with 0 for every fault, that there is none.
    pub fn chance_cleared(&self, clears: &[Vec<f64>]) -> Vec<f64> {
        let tilts: Vec<Tilt> = clears.iter().map(|row| Tilt::clearing(row)).collect();
        self.expectations(&tilts)
    }

    /// As [`Engine::chance_cleared`], for each state that the question might be answered with. Where the state is
    /// impossible or too improbable to tell, the value without the question.
    pub fn chance_cleared_given(&self, question: Question, clears: &[Vec<f64>]) -> Vec<Vec<f64>> {
        self.chance_cleared_together(&[&[question]], clears).1.pop().unwrap_or_default()
    }

    /// Result of each tilt over the result without.
    fn expectations<'t>(&self, tilts: impl IntoIterator<Item = &'t Tilt>) -> Vec<f64> {
        let tilts: Vec<&Tilt> = tilts.into_iter().collect();
        let mut out = Vec::with_capacity(tilts.len());
        self.batches(&tilts, false, |results, _| out.extend_from_slice(results));
        out
    }

    /// Runs forward and reverse; hands over each tilt's result and the way to its fault marginals.
    fn run(&self, tilts: &[&Tilt], mut take: impl FnMut(f64, &dyn Fn() -> Vec<f64>)) {
        self.batches(tilts, true, |results, marginals| {
            for (lane, &result) in results.iter().enumerate() {
                take(result, &|| marginals(lane));
            }
        });
    }

    fn batches(&self, tilts: &[&Tilt], reverse: bool, take: impl FnMut(&[f64], &dyn Fn(usize) -> Vec<f64>)) {
        if tilts.len() == 1 || self.program.tape.live > WIDE_MEMORY {
            self.batches_of::<1>(tilts, reverse, take);
        } else {
            self.batches_of::<WIDTH>(tilts, reverse, take);
        }
    }

    fn batches_of<const L: usize>(
        &self,
        tilts: &[&Tilt],
        reverse: bool,
        mut take: impl FnMut(&[f64], &dyn Fn(usize) -> Vec<f64>),
    ) {
        let (program, reduced) = (&self.program, &self.reduced);
        let mut kept = vec![Lanes::<L>::ZERO; program.tape.live];
        let mut slopes = vec![Lanes::<L>::ZERO; if reverse { program.tape.live } else { 0 }];
        program.fill_base(reduced, &mut kept);
        // Where there are many tilts, one pass without any pays: after it, each batch runs only the steps that
        // its own inputs change.
        let mut readers = (tilts.len() > 2 * L).then(|| Readers::of(program));
        if readers.is_some() {
            program.tape.forward(&mut kept);
        }
        let mut numbers = kept.clone();
        for batch in tilts.chunks(L) {
            let mut factors = [1.0; L];
            for (lane, tilt) in batch.iter().enumerate() {
                factors[lane] = program.apply(reduced, &self.entry, tilt, lane, &mut numbers);
            }
            let touched = self.entry.touched(batch);
            let result = match &mut readers {
                Some(readers) => readers.run_again(program, &touched, &mut numbers),
                None => program.tape.forward(&mut numbers),
            };
            if reverse {
                let seed = Lanes(result.0.map(|r| if r > 0.0 { 1.0 / r } else { 0.0 }));
                program.tape.reverse(&numbers, &mut slopes, seed);
            }
            for (lane, factor) in factors.iter_mut().enumerate() {
                *factor *= result.0[lane] / self.base;
            }
            let marginals =
                |lane: usize| program.fault_marginals(reduced, batch[lane], lane, &numbers, &slopes);
            take(&factors[..batch.len()], &marginals);
            match &readers {
                Some(readers) => readers.put_back(program, &touched, &kept, &mut numbers),
                None => numbers[..program.input_len].copy_from_slice(&kept[..program.input_len]),
            }
        }
    }
}
