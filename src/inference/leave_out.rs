//! Each answer left out in turn, on the tape of all answers.
//!
//! Leaving an answer out changes numbers, not the structure: an observation's causes get their weights
//! back, and a digit that no longer counts is raised to its highest value by its own leak, whatever its causes
//! do. A factor that was answered plainly is left out by supposing each of its states in turn: another state only
//! changes leaks. So every case is a lane of the same tape.

use super::clash::{Answer, answers, id};
use super::engine::{Engine, WIDE_MEMORY, WIDTH};
use super::error::{InferenceError, Limits};
use super::inputs::Tilt;
use super::lanes::Lanes;
use super::reduce::Reduced;
use crate::network::{BeliefNet, Evidence};
use std::ops::Range;

/// What is known without one of the answers.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// Id of the answered factor or observation.
    pub answer: String,
    /// log10 of the probability of all other answers.
    pub log10_without: f64,
    /// For each fault asked about, what the answer says for it given all others: 10 log10 of how much more probable
    /// the answer is with the fault than without it (Good 1950). Infinite if it settles the matter; 0
    /// below 1e-8, and if the others had settled it already.
    pub decibans: Vec<f64>,
}

/// A weight below this (decibans) is nothing but the rounding of the two odds.
const ROUNDING: f64 = 1e-8;

/// Evidence of some probability (log10), and the chance of each fault given it.
type Outlook = (f64, Vec<f64>);

/// How an answer is left out.
enum Way {
    /// The sum over some variants, and over the evidence as it is with this much (log10) taken back.
    Variants(Range<usize>, Option<f64>),
    /// Compiled anew.
    Anew,
}

/// Leaves out each answer in turn, factors first; `whole` is the engine for the evidence, `faults` are the indices of those
/// that the answers are weighed for.
///
/// Comparing the odds of a fault with and without an answer is exact: their ratio is the likelihood ratio of
/// that answer given all others.
///
/// # Errors
///
/// [`InferenceError::Shape`] for a fault that does not exist. An answer whose factor has both possible states
/// and states that it rules out is compiled anew, with errors as of [`Engine::compile`].
pub fn leave_one_out(
    net: &BeliefNet,
    evidence: &Evidence,
    faults: &[usize],
    limits: &Limits,
    whole: &Engine,
) -> Result<Vec<LeftOut>, InferenceError> {
    super::check::evidence(net, evidence)?;
    if let Some(&unknown) = faults.iter().find(|&&j| j >= net.faults.len()) {
        return Err(InferenceError::Shape(format!("there is no fault with index {unknown}")));
    }
    let all = answers(evidence);
    let mut variants = Vec::new();
    let ways: Vec<Way> = all.iter().map(|&answer| way(net, evidence, answer, whole, &mut variants)).collect();
    let outlooks = whole.under(&variants);
    let now = whole.posterior();
    let mut out = Vec::with_capacity(all.len());
    for (&answer, way) in all.iter().zip(ways) {
        let on_tape = match way {
            Way::Anew => None,
            Way::Variants(range, share) => {
                let same = share.map(|taken| Some((now.log10_evidence - taken, now.faults.clone())));
                mixed(outlooks[range].iter().cloned().chain(same), faults)
            }
        };
        let (log10_without, chances) = match on_tape {
            Some(outlook) => outlook,
            None => {
                let engine = Engine::compile(net, &without(evidence, answer), limits)?;
                let posterior = engine.posterior();
                (posterior.log10_evidence, faults.iter().map(|&j| posterior.faults[j]).collect())
            }
        };
        let gain = |(&fault, &chance): (&usize, &f64)| {
            let gain = decibans(now.faults[fault]) - decibans(chance);
            if gain.is_nan() || gain.abs() < ROUNDING { 0.0 } else { gain }
        };
        let decibans = faults.iter().zip(&chances).map(gain).collect();
        out.push(LeftOut { answer: id(net, answer), log10_without, decibans });
    }
    Ok(out)
}

/// 10 log10 of the odds.
fn decibans(chance: f64) -> f64 {
    10.0 * (chance.log10() - (1.0 - chance).log10())
}

fn without(evidence: &Evidence, answer: Answer) -> Evidence {
    let mut rest = evidence.clone();
    *slot(&mut rest, answer) = None;
    rest
}

fn slot(evidence: &mut Evidence, answer: Answer) -> &mut Option<Vec<f64>> {
    match answer {
        Answer::Factor(j) => &mut evidence.factors[j],
        Answer::Observation(i) => &mut evidence.observations[i],
    }
}

/// Adds the variants that leaving the answer out needs.
fn way(
    net: &BeliefNet,
    evidence: &Evidence,
    answer: Answer,
    whole: &Engine,
    variants: &mut Vec<Reduced>,
) -> Way {
    let start = variants.len();
    let base = &whole.reduced;
    match answer {
        Answer::Observation(i) => {
            let mut variant = Reduced::of_sound(net, &without(evidence, answer));
            if let Some(n) = base.digits.iter().position(|d| d.observation == i) {
                let mut digit = base.digits[n].clone();
                let top = digit.leak.len() - 1;
                digit.leak.fill(0.0);
                digit.leak[top] = 1.0;
                variant.log10_scale -= digit.weight[top].log10();
                variant.digits.insert(n, digit);
            }
            variants.push(variant);
            Way::Variants(start..start + 1, None)
        }
        Answer::Factor(j) => {
            let prior = &net.factors[j].prior;
            let possible = prior.iter().filter(|&&p| p > 0.0).count();
            let live = &base.roots[j].live;
            if live.len() == possible {
                variants.push(Reduced::of_sound(net, &without(evidence, answer)));
                return Way::Variants(start..start + 1, None);
            }
            let ([only], Some(weights)) = (&live[..], &evidence.factors[j]) else { return Way::Anew };
            let mut supposed = evidence.clone();
            for state in (0..prior.len()).filter(|&s| s != *only && prior[s] > 0.0) {
                let alone = (0..prior.len()).map(|s| if s == state { 1.0 } else { 0.0 });
                supposed.factors[j] = Some(alone.collect());
                let variant = Reduced::of_sound(net, &supposed);
                if !variant.is_impossible() {
                    variants.push(variant);
                }
            }
            Way::Variants(start..variants.len(), Some(weights[*only].log10()))
        }
    }
}

/// The mixture of several outlooks, for some faults; `None` if one of them is missing.
fn mixed(outlooks: impl Iterator<Item = Option<Outlook>>, faults: &[usize]) -> Option<Outlook> {
    let list: Vec<Outlook> = outlooks.collect::<Option<_>>()?;
    let most = list.iter().map(|o| o.0).fold(f64::NEG_INFINITY, f64::max);
    let share = |o: &Outlook| 10f64.powf(o.0 - most);
    let sum: f64 = list.iter().map(share).sum();
    let chance = |&j: &usize| list.iter().map(|o| share(o) * o.1[j]).sum::<f64>() / sum;
    Some((most + sum.log10(), faults.iter().map(chance).collect()))
}

impl Engine {
    /// The tape with other numbers; `None` where they left the range of the tape's scales.
    fn under(&self, variants: &[Reduced]) -> Vec<Option<Outlook>> {
        if variants.len() == 1 || self.program.tape.live > WIDE_MEMORY {
            self.under_in::<1>(variants)
        } else {
            self.under_in::<WIDTH>(variants)
        }
    }

    fn under_in<const L: usize>(&self, variants: &[Reduced]) -> Vec<Option<Outlook>> {
        let program = &self.program;
        let mut numbers = vec![Lanes::<L>::ZERO; program.tape.live];
        let mut slopes = vec![Lanes::<L>::ZERO; program.tape.live];
        let mut out = Vec::with_capacity(variants.len());
        for batch in variants.chunks(L) {
            for lane in 0..L {
                program.fill_lane(batch.get(lane).unwrap_or(&self.reduced), lane, &mut numbers);
            }
            let result = program.tape.forward(&mut numbers);
            let seed = Lanes(result.0.map(|r| if r > 0.0 { 1.0 / r } else { 0.0 }));
            program.tape.reverse(&numbers, &mut slopes, seed);
            for (lane, variant) in batch.iter().enumerate() {
                let lone: f64 = self.lone().map(|j| variant.faults[j].mass().log10()).sum();
                let log10 = variant.log10_scale + program.log10_scale + result.0[lane].log10() + lone;
                let faults = program.fault_marginals(variant, &Tilt::default(), lane, &numbers, &slopes);
                let in_range = log10 < f64::INFINITY && faults.iter().all(|p| p.is_finite());
                out.push(in_range.then_some((log10, faults)));
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{FactorModel, FaultModel, ObservationModel, Parent};

    /// A worn part always squeaks and only a wet one rusts; the lamp is lit unless the fuse is blown.
    fn net() -> BeliefNet {
        let states = || vec!["no".to_string(), "yes".to_string()];
        let fault = |id: &str, leak, causes| FaultModel { id: id.into(), leak, causes };
        let seen =
            |id: &str, leak, causes| ObservationModel { id: id.into(), states: states(), leak, causes };
        BeliefNet {
            factors: vec![FactorModel { id: "wet".into(), states: states(), prior: vec![0.75, 0.25] }],
            faults: vec![
                fault("worn", 0.25, vec![]),
                fault("rust", 0.0, vec![(Parent::Factor(0, 1), 0.5)]),
                fault("fuse", 0.125, vec![]),
            ],
            observations: vec![
                seen("squeak", vec![1.0, 0.0], vec![(Parent::Fault(0), vec![0.0, 1.0])]),
                seen("stain", vec![1.0, 0.0], vec![(Parent::Fault(1), vec![0.5, 0.5])]),
                seen("dark", vec![0.5, 0.5], vec![(Parent::Fault(2), vec![0.0, 1.0])]),
            ],
        }
    }

    fn left_out(wet: Option<usize>, seen: [usize; 3]) -> Vec<LeftOut> {
        let net = net();
        let plain = |state: usize| Some((0..2).map(|s| if s == state { 1.0 } else { 0.0 }).collect());
        let evidence =
            Evidence { factors: vec![wet.and_then(plain)], observations: seen.map(plain).to_vec() };
        let limits = Limits::default();
        let whole = Engine::compile(&net, &evidence, &limits).expect("a possible case");
        leave_one_out(&net, &evidence, &[0, 1, 2], &limits, &whole).expect("small enough")
    }

    fn near(log10: f64, chance: f64) -> bool {
        (10f64.powf(log10) / chance - 1.0).abs() < 1e-13
    }

    #[test]
    fn an_answer_that_rules_a_fault_out_settles_the_matter() {
        let [squeak, stain, dark] = &left_out(None, [0, 0, 0])[..] else { panic!("three answers") };
        assert_eq!(squeak.decibans, [f64::NEG_INFINITY, 0.0, 0.0]);
        assert_eq!(dark.decibans, [0.0, 0.0, f64::NEG_INFINITY]);
        // P(rust) = 1/8, so P(no stain) = 15/16; P(not dark) = 7/8 x 1/2.
        assert!(near(squeak.log10_without, 15.0 / 16.0 * 7.0 / 16.0));
        assert!(near(stain.log10_without, 0.75 * 7.0 / 16.0));
        assert!(near(dark.log10_without, 0.75 * 15.0 / 16.0));
    }

    #[test]
    fn an_answer_that_only_one_fault_explains_proves_it() {
        let all = left_out(None, [1, 1, 1]);
        assert_eq!(all[0].decibans[0], f64::INFINITY);
        assert_eq!(all[1].decibans[1], f64::INFINITY);
        assert!(near(all[0].log10_without, 1.0 / 16.0 * 9.0 / 16.0));
        assert!((all[2].decibans[2] - 10.0 * 2f64.log10()).abs() < 1e-12);
    }

    #[test]
    fn a_factor_that_the_others_had_settled_says_nothing() {
        // Only a wet part rusts and only rust stains.
        let [wet, ..] = &left_out(Some(1), [0, 1, 0])[..] else { panic!("four answers") };
        assert!(wet.decibans.iter().all(|d| *d == 0.0));
        assert!(near(wet.log10_without, 0.75 / 16.0 * 7.0 / 16.0));
        // Dry, it can't rust: the answer settles that.
        let [dry, ..] = &left_out(Some(0), [0, 0, 0])[..] else { panic!("four answers") };
        assert_eq!(dry.decibans[1], f64::NEG_INFINITY);
        assert!(near(dry.log10_without, 0.75 * 15.0 / 16.0 * 7.0 / 16.0));
    }
}
