//! The hidden motor: everything that is true of it, and what it answers.

mod draw;
mod physics;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
mod wish;

pub use draw::Maker;
#[cfg(test)]
pub(in crate::drill) use physics::tests::impossible;
pub use wish::{Wanted, Wish, WishError};

use indexmap::IndexMap;
use rand::Rng;

use super::figures;
use crate::case::Answer;
use crate::knowledge::{AnswerIs, Knowledge, Motor};
use crate::network::BeliefNet;

/// A motor of which everything is known. Lists are in the order of the network that it was drawn from.
#[derive(Debug, Clone, PartialEq)]
pub struct Specimen {
    /// Whether each fault is present.
    pub faults: Vec<bool>,
    /// The state of each factor.
    pub factors: Vec<usize>,
    /// The state of each observation.
    pub observations: Vec<usize>,
    /// What a meter shows, by the id of the reading, in the base unit of the reading's kind. Empty for a motor that
    /// only the network knows.
    pub readings: IndexMap<String, f64>,
}

impl Specimen {
    /// Draws one motor from a network that was compiled from this knowledge. For many of the same kind,
    /// [`Maker`] prepares the wish once.
    ///
    /// # Errors
    ///
    /// As [`Maker::new`] and [`Maker::draw`].
    pub fn draw<R: Rng + ?Sized>(
        knowledge: &Knowledge,
        net: &BeliefNet,
        wish: &Wish,
        rng: &mut R,
    ) -> Result<Specimen, WishError> {
        Maker::new(knowledge, net, wish)?.draw(rng)
    }

    /// How many faults it has.
    pub fn count(&self) -> usize {
        self.faults.iter().filter(|f| **f).count()
    }

    /// The places of its faults in the network.
    pub fn present(&self) -> impl Iterator<Item = usize> + '_ {
        self.faults.iter().enumerate().filter(|(_, present)| **present).map(|(j, _)| j)
    }

    /// What the motor, or its owner, answers to the question with this id: a state, or a reading where there
    /// is one, written in the units of `motor`. None when nothing is known by this id, or the reading was not worked
    /// out.
    pub fn answer(
        &self,
        knowledge: &Knowledge,
        net: &BeliefNet,
        motor: Option<&Motor>,
        id: &str,
    ) -> Option<Answer> {
        if let (Some(reading), Some(value)) = (knowledge.reading(id), self.readings.get(id)) {
            let text = figures::written(reading, motor, *value);
            // What is written is what was read: the value is taken from the text, as a person's would be.
            return Some(match Answer::read(knowledge, id, &text) {
                Ok(answer @ Answer::Reading { .. }) => answer,
                _ => Answer::Reading { text, value: *value, deviation: None },
            });
        }
        self.state(net, id).map(Answer::State)
    }

    /// The state of the factor or observation with this id.
    pub fn state(&self, net: &BeliefNet, id: &str) -> Option<usize> {
        let factor = net.factors.iter().position(|f| f.id == id).map(|i| self.factors[i]);
        factor.or_else(|| net.observations.iter().position(|o| o.id == id).map(|i| self.observations[i]))
    }

    /// What the owner says first: up to `most` complaints, as ids with states, the worst before the others and otherwise in the
    /// order of the knowledge. Only what is not as it should be; nothing for a motor without complaints.
    pub fn complaints(&self, knowledge: &Knowledge, net: &BeliefNet, most: usize) -> Vec<(String, usize)> {
        let mut all: Vec<(f64, &str, usize)> = Vec::new();
        for known in knowledge.observations.iter().filter(|o| o.group == draw::COMPLAINT) {
            let Some(state) = self.state(net, &known.id).filter(|s| *s > 0) else { continue };
            if known.ask.ask_when.as_ref().is_none_or(|when| self.is_so(knowledge, net, when)) {
                let worst = known.states.len().saturating_sub(1).max(1);
                all.push((state as f64 / worst as f64, &known.id, state));
            }
        }
        all.sort_by(|a, b| b.0.total_cmp(&a.0));
        all.into_iter().take(most).map(|(_, id, state)| (id.to_owned(), state)).collect()
    }

    /// Why a question (id) can't be put to this motor: because of what is true of it, of the question itself or of what
    /// the reading stands for.
    pub fn forbids<'k>(&self, knowledge: &'k Knowledge, net: &BeliefNet, id: &str) -> Option<&'k str> {
        let banded = knowledge.reading(id).into_iter().flat_map(|r| &r.bands).map(|b| b.observation.as_str());
        let asks = std::iter::once(id).chain(banded).filter_map(|id| knowledge.ask(id));
        let mut forbids = asks.flat_map(|ask| &ask.not_when);
        forbids.find(|f| self.is_so(knowledge, net, &f.when)).map(|f| f.reason.as_str())
    }

    /// Whether a question would be answered so.
    pub fn is_so(&self, knowledge: &Knowledge, net: &BeliefNet, what: &AnswerIs) -> bool {
        let states = knowledge.states(&what.answer).unwrap_or_default();
        let state = self.state(net, &what.answer).and_then(|s| states.get(s));
        state.is_some_and(|(id, _)| what.states.iter().any(|s| s == id))
    }
}
