//! What has been answered so far, as the planner sees it: weights of states by question.

use std::collections::{BTreeMap, BTreeSet};

use crate::knowledge::AnswerIs;

/// The answers of a case, whichever way they were given.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Known {
    states: BTreeMap<String, Vec<(String, f64)>>,
    passed: BTreeSet<String>,
}

impl Known {
    /// Notes a state of a factor or an observation.
    pub fn state(&mut self, id: &str, state: &str) {
        self.weights(id, vec![(state.to_string(), 1.0)]);
    }

    /// Notes weights of states, as a reading gives them. Replaces what was noted before.
    pub fn weights(&mut self, id: &str, weights: Vec<(String, f64)>) {
        self.passed.remove(id);
        self.states.insert(id.to_string(), weights);
    }

    /// Notes that nobody knows. It is no evidence, but it is not asked again.
    pub fn unknown(&mut self, id: &str) {
        self.states.remove(id);
        self.passed.insert(id.to_string());
    }

    /// Whether the question has been put, even if nobody knew.
    pub fn asked(&self, id: &str) -> bool {
        self.passed.contains(id) || self.states.contains_key(id)
    }

    /// Whether somebody knew the answer.
    pub fn answered(&self, id: &str) -> bool {
        self.states.contains_key(id)
    }

    /// Whether the answer to a question is, more likely than not, one of these states.
    pub fn holds(&self, when: &AnswerIs) -> bool {
        let Some(weights) = self.states.get(&when.answer) else { return false };
        let total: f64 = weights.iter().map(|(_, w)| w).sum();
        let inside: f64 = weights.iter().filter(|(s, _)| when.states.contains(s)).map(|(_, w)| w).sum();
        inside > 0.5 * total
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wet() -> AnswerIs {
        AnswerIs { answer: "water".into(), states: vec!["splashed".into(), "submerged".into()] }
    }

    #[test]
    fn a_condition_holds_on_the_answer_alone() {
        let mut known = Known::default();
        assert!(!known.holds(&wet()));
        known.state("water", "submerged");
        assert!(known.holds(&wet()));
        known.state("water", "none");
        assert!(!known.holds(&wet()));
    }

    #[test]
    fn not_knowing_is_asked_but_holds_nothing() {
        let mut known = Known::default();
        known.unknown("water");
        assert!(known.asked("water") && !known.holds(&wet()));
    }

    #[test]
    fn weights_need_a_majority() {
        let mut known = Known::default();
        known.weights("water", vec![("none".into(), 0.6), ("splashed".into(), 0.4)]);
        assert!(!known.holds(&wet()));
        known.weights("water", vec![("none".into(), 0.3), ("splashed".into(), 0.7)]);
        assert!(known.holds(&wet()));
    }
}
