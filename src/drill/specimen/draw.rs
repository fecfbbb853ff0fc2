//! Motors drawn from the network, exactly as it says they are, also where the wished-for ones are rare.
//!
//! Once it is known of every fault whether it is there, an absent one only multiplies the weights of the
//! factors' states, one factor at a time: it is absent with probability (1 - leak) times the product of
//! (1 - strength). A present one is 1 less such a product; for the few present faults the product of those is
//! written out into terms, with alternating signs, each of which again falls apart into factors. So the chance of
//! any pattern of faults is a short sum, and a history is drawn from its posterior factor by factor, without any
//! rejection. Patterns with one or two faults are all weighed; only a motor with three or more faults of its own
//! choosing, or one that has to show a complaint, is drawn again until it fits.

use indexmap::IndexMap;
use rand::Rng;

use super::Specimen;
use super::wish::{Number, Resolved, Wish, WishError};
use crate::knowledge::Knowledge;
use crate::network::{BeliefNet, ObservationModel, Parent};

/// Group of the observations that owners complain of.
pub(super) const COMPLAINT: &str = "complaint";
/// Motors drawn before a wish is given up.
const MOST_TRIES: usize = 100_000;
/// Faults that may be given; each more doubles the terms.
const MOST_FAULTS: usize = 10;

/// Draws motors from one network that are as wished.
#[derive(Debug, Clone)]
pub struct Maker<'k> {
    net: &'k BeliefNet,
    wish: Resolved,
    /// Places of the complaints among the observations.
    complaints: Vec<usize>,
    /// The patterns of faults that the wish allows, with the running sum of their chances; none when they are
    /// too many to weigh.
    patterns: Option<Patterns>,
}

/// Faults that are present together, and the sum of the chances up to here.
type Patterns = Vec<(Vec<usize>, f64)>;

/// One term of the chance that certain faults are present and no others: a number, and weights for the states of
/// each factor.
#[derive(Debug, Clone)]
struct Term {
    scale: f64,
    states: Vec<Vec<f64>>,
}

impl Term {
    fn total(&self) -> f64 {
        self.states.iter().fold(self.scale, |total, weights| total * weights.iter().sum::<f64>())
    }
}

impl<'k> Maker<'k> {
    /// Draws motors from this network, which was compiled from this knowledge, that are as wished.
    ///
    /// # Errors
    ///
    /// [`WishError`] for ids that are not known, and for a wish that no motor fulfils.
    pub fn new(knowledge: &Knowledge, net: &'k BeliefNet, wish: &Wish) -> Result<Maker<'k>, WishError> {
        let of_owners =
            |o: &ObservationModel| knowledge.observation(&o.id).is_some_and(|known| known.group == COMPLAINT);
        let complaints = (0..net.observations.len()).filter(|i| of_owners(&net.observations[*i])).collect();
        let wish = wish.resolve(knowledge, net)?;
        let mut maker = Maker { net, wish, complaints, patterns: None };
        maker.patterns = maker.weigh()?;
        Ok(maker)
    }

    /// Draws one motor. The same generator in the same state draws the same motor.
    ///
    /// # Errors
    ///
    /// [`WishError::TooRare`] when a hundred thousand motors held none as wished.
    pub fn draw<R: Rng + ?Sized>(&self, rng: &mut R) -> Result<Specimen, WishError> {
        for _ in 0..MOST_TRIES {
            let Some((factors, faults)) = self.hidden(rng) else { continue };
            let observations = observe(self.net, &factors, &faults, rng);
            let complains = self.complaints.iter().any(|o| observations[*o] > 0);
            if !self.wish.must_complain || complains || !faults.contains(&true) {
                return Ok(Specimen { faults, factors, observations, readings: IndexMap::new() });
            }
        }
        Err(WishError::TooRare { tries: MOST_TRIES })
    }

    /// History and faults; none when the draw was not as wished.
    fn hidden<R: Rng + ?Sized>(&self, rng: &mut R) -> Option<(Vec<usize>, Vec<bool>)> {
        let Some(patterns) = &self.patterns else { return self.forward(rng) };
        let mark = rng.random::<f64>() * patterns.last().map_or(0.0, |p| p.1);
        let at = patterns.partition_point(|p| p.1 <= mark).min(patterns.len() - 1);
        let present = &patterns[at].0;
        let faults = (0..self.net.faults.len()).map(|j| present.contains(&j)).collect();
        Some((self.history(present, rng), faults))
    }

    /// From the history down; none when the faults are not as wished.
    fn forward<R: Rng + ?Sized>(&self, rng: &mut R) -> Option<(Vec<usize>, Vec<bool>)> {
        let state = |(f, given): (&crate::network::FactorModel, &Option<usize>), rng: &mut R| {
            given.unwrap_or_else(|| pick(rng, &f.prior))
        };
        let factors: Vec<usize> =
            self.net.factors.iter().zip(&self.wish.history).map(|both| state(both, rng)).collect();
        let mut faults: Vec<bool> = Vec::with_capacity(self.net.faults.len());
        for fault in &self.net.faults {
            let causes = fault.causes.iter().filter(|(p, _)| holds(*p, &factors, &faults));
            let absent = causes.fold(1.0 - fault.leak, |a, (_, s)| a * (1.0 - s));
            faults.push(rng.random::<f64>() >= absent);
        }
        let closed = faults.iter().zip(&self.wish.open).any(|(present, open)| *present && !open);
        let count = faults.iter().filter(|f| **f).count();
        let enough = !matches!(self.wish.faults, Number::Count(wanted) if wanted != count);
        (enough && !closed).then_some((factors, faults))
    }

    fn weigh(&self) -> Result<Option<Patterns>, WishError> {
        let impossible = |why: String| Err(WishError::Impossible(why));
        let open: Vec<usize> = (0..self.net.faults.len()).filter(|j| self.wish.open[*j]).collect();
        let all: Vec<Vec<usize>> = match &self.wish.faults {
            Number::Any => return Ok(None),
            Number::These(given) if given.len() > MOST_FAULTS => {
                return impossible(format!(
                    "{} faults are asked for; at most {MOST_FAULTS} can be",
                    given.len()
                ));
            }
            Number::Count(count) if *count > open.len() => {
                return impossible(format!(
                    "{count} faults are asked for; only {} are open to choice",
                    open.len()
                ));
            }
            Number::These(given) => vec![given.clone()],
            Number::Count(0) => vec![vec![]],
            Number::Count(1) => open.iter().map(|j| vec![*j]).collect(),
            Number::Count(2) => open
                .iter()
                .enumerate()
                .flat_map(|(n, a)| open[n + 1..].iter().map(|b| vec![*a, *b]))
                .collect(),
            Number::Count(_) => return Ok(None),
        };
        let mut sum = 0.0;
        let mut patterns = Patterns::new();
        for present in all {
            let chance: f64 = self.terms(&present).iter().map(Term::total).sum();
            if chance > 0.0 {
                sum += chance;
                patterns.push((present, sum));
            }
        }
        if patterns.is_empty() {
            return impossible("the knowledge gives these faults, with this history, no chance".to_owned());
        }
        Ok(Some(patterns))
    }

    /// The chance that just these faults are present, in terms that fall apart into factors.
    fn terms(&self, present: &[usize]) -> Vec<Term> {
        let prior = |(f, given): (&crate::network::FactorModel, &Option<usize>)| -> Vec<f64> {
            let open = |s: usize| given.is_none_or(|g| g == s);
            f.prior.iter().enumerate().map(|(s, p)| if open(s) { *p } else { 0.0 }).collect()
        };
        let states = self.net.factors.iter().zip(&self.wish.history).map(prior).collect();
        let mut base = Term { scale: 1.0, states };
        for j in (0..self.net.faults.len()).filter(|j| !present.contains(j)) {
            self.spare(&mut base, j, present);
        }
        let mut terms = vec![base];
        for &j in present {
            let mut without = terms.clone();
            for term in &mut without {
                self.spare(term, j, present);
                term.scale = -term.scale;
            }
            terms.extend(without);
        }
        terms
    }

    /// Multiplies a term by the chance that nothing brings a fault about.
    fn spare(&self, term: &mut Term, fault: usize, present: &[usize]) {
        let fault = &self.net.faults[fault];
        term.scale *= 1.0 - fault.leak;
        for (parent, strength) in &fault.causes {
            match parent {
                Parent::Fault(j) if present.contains(j) => term.scale *= 1.0 - strength,
                Parent::Fault(_) => {}
                Parent::Factor(f, s) => term.states[*f][*s] *= 1.0 - strength,
            }
        }
    }

    /// A history from its posterior, given that just these faults are present.
    fn history<R: Rng + ?Sized>(&self, present: &[usize], rng: &mut R) -> Vec<usize> {
        let mut terms = self.terms(present);
        // What the factors that are still open contribute to each term.
        let mut rest: Vec<f64> = terms.iter().map(Term::total).collect();
        let mut drawn = Vec::with_capacity(self.net.factors.len());
        for f in 0..self.net.factors.len() {
            for (rest, term) in rest.iter_mut().zip(&terms) {
                let sum: f64 = term.states[f].iter().sum();
                *rest = if sum > 0.0 { *rest / sum } else { 0.0 };
            }
            let weight = |s: usize| -> f64 {
                terms.iter().zip(&rest).map(|(term, rest)| term.states[f][s] * rest).sum::<f64>().max(0.0)
            };
            let weights: Vec<f64> = (0..self.net.factors[f].states.len()).map(weight).collect();
            let state = pick(rng, &weights);
            rest.iter_mut().zip(&mut terms).for_each(|(rest, term)| *rest *= term.states[f][state]);
            drawn.push(state);
        }
        drawn
    }
}

/// Draws everything that can be seen at a motor, given its history and its faults.
pub(super) fn observe<R: Rng + ?Sized>(
    net: &BeliefNet,
    factors: &[usize],
    faults: &[bool],
    rng: &mut R,
) -> Vec<usize> {
    let mut one = |o: &ObservationModel| {
        let leak = pick(rng, &o.leak);
        let holding = o.causes.iter().filter(|(parent, _)| holds(*parent, factors, faults));
        holding.fold(leak, |worst, (_, effect)| worst.max(pick(rng, effect)))
    };
    net.observations.iter().map(&mut one).collect()
}

fn holds(parent: Parent, factors: &[usize], faults: &[bool]) -> bool {
    match parent {
        Parent::Fault(f) => faults[f],
        Parent::Factor(f, s) => factors[f] == s,
    }
}

/// A place by its weight; never one of weight 0 while another has more.
pub(super) fn pick<R: Rng + ?Sized>(rng: &mut R, weights: &[f64]) -> usize {
    let mut left = rng.random::<f64>() * weights.iter().sum::<f64>();
    let mut last = 0;
    for (i, w) in weights.iter().enumerate().filter(|(_, w)| **w > 0.0) {
        last = i;
        left -= w;
        if left < 0.0 {
            break;
        }
    }
    last
}
