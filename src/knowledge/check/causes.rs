//! Factors, faults and observations: the causes and what they show.

use std::collections::HashSet;

use super::Context;
use super::basics::SUM_TOLERANCE;
use super::questions::states_of;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::model::*;
use crate::knowledge::places::quoted;
use crate::knowledge::raw::*;
use crate::knowledge::source::Trail;

impl Context<'_> {
    pub fn factor(&mut self, raw: &RawFactor, at: &Trail) -> Factor {
        let basis = self.basis(raw.basis.as_ref(), at);
        let list = at.key("states");
        self.state_ids(raw.states.iter().map(|s| s.id.as_str()), at);
        let mut states = Vec::new();
        let faults_before = self.sink.count();
        for (i, state) in raw.states.iter().enumerate() {
            let at = list.item(i);
            states.push(FactorState {
                id: state.id.clone(),
                label: self.text(&state.label, &at.key("label"), "the label"),
                prior: self.chance(&state.prior, &at.key("prior")),
                phrases: self.texts(&state.phrases, &at.key("phrases"), "a phrase"),
            });
        }
        let sum: f64 = states.iter().map(|s| s.prior).sum();
        if faults_before == self.sink.count() && (sum - 1.0).abs() > SUM_TOLERANCE {
            let message = format!("the priors of {} sum to {}", quoted(&raw.id), rounded(sum));
            self.report(Code::PriorSum, &list, message, "They have to sum to 1.");
        }
        Factor {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            ask: self.ask(raw, at),
            states,
            shows: self.shows(&raw.shows, &basis, Some(raw), at),
            basis,
        }
    }

    pub fn fault(&mut self, raw: &RawFault, at: &Trail) -> Fault {
        let basis = self.basis(raw.basis.as_ref(), at);
        Fault {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            group: self.id(&raw.group, &at.key("group")),
            summary: self.text(&raw.summary, &at.key("summary"), "the summary"),
            customer: self.text(&raw.customer, &at.key("customer"), "what to tell the customer"),
            leak: self.chance(&raw.leak, &at.key("leak")),
            causes: self.causes(&raw.causes, &basis, at),
            shows: self.shows(&raw.shows, &basis, None, at),
            basis,
        }
    }

    fn causes(&mut self, raw: &[RawCause], basis: &Basis, at: &Trail) -> Vec<Cause> {
        let list = at.key("causes");
        let mut seen = HashSet::new();
        let mut causes = Vec::new();
        for (i, cause) in raw.iter().enumerate() {
            let at = list.item(i);
            if !seen.insert((&cause.parent, &cause.state)) {
                self.repeated(&cause.parent, &at.key("parent"));
            }
            self.parent(cause, &at);
            causes.push(Cause {
                by: ParentRef { parent: cause.parent.clone(), state: cause.state.clone() },
                strength: self.chance(&cause.strength, &at.key("strength")),
                because: self.text(&cause.because, &at.key("because"), "the reason (`because`)"),
                basis: self.link_basis(cause.basis.as_ref(), basis, &at),
            });
        }
        causes
    }

    /// A parent is a fault, or one state of a factor.
    fn parent(&mut self, cause: &RawCause, at: &Trail) {
        let draft = self.draft;
        let parent = &cause.parent;
        if draft.factors.knows(parent) {
            let Some(states) = states_of(draft, parent) else { return };
            match &cause.state {
                Some(state) if states.contains(&state.as_str()) => {}
                Some(state) => self.unknown_state(parent, state, &states, &at.key("state")),
                None => {
                    let help = format!("Add `state:` with one of {}.", states.join(", "));
                    let message = format!("{} is a factor, and none of its states is named", quoted(parent));
                    self.report(Code::Unfitting, &at.key("parent"), message, &help);
                }
            }
        } else if draft.faults.knows(parent) {
            if cause.state.is_some() {
                let message = format!("{} is a fault and has no states", quoted(parent));
                self.report(Code::Unfitting, &at.key("state"), message, "Remove `state`.");
            }
        } else {
            let known = draft.factors.entries.keys().chain(draft.faults.entries.keys());
            self.unknown(parent, &at.key("parent"), "factor or fault", known.map(String::as_str));
        }
    }

    /// What a fault shows, or a factor in one of its states.
    fn shows(
        &mut self,
        raw: &[RawShows],
        basis: &Basis,
        factor: Option<&RawFactor>,
        at: &Trail,
    ) -> Vec<Shows> {
        let draft = self.draft;
        let list = at.key("shows");
        let mut seen = HashSet::new();
        let mut all = Vec::new();
        for (i, shows) in raw.iter().enumerate() {
            let at = list.item(i);
            if !seen.insert((&shows.observation, &shows.state)) {
                self.repeated(&shows.observation, &at.key("observation"));
            }
            match (factor, &shows.state) {
                (None, None) => {}
                (None, Some(_)) => {
                    self.report(
                        Code::Unfitting,
                        &at.key("state"),
                        "a fault has no states",
                        "Remove `state`.",
                    );
                }
                (Some(factor), Some(state)) => {
                    let states: Vec<&str> = factor.states.iter().map(|s| s.id.as_str()).collect();
                    if !states.contains(&state.as_str()) {
                        self.unknown_state(&factor.id, state, &states, &at.key("state"));
                    }
                }
                (Some(_), None) => {
                    let help = "Add `state:` with the state of this factor that shows itself so.";
                    self.report(Code::Unfitting, &at, "no state of the factor is named", help);
                }
            }
            self.knows(&draft.observations, &shows.observation, &at.key("observation"), "observation");
            let effect = match states_of(draft, &shows.observation) {
                Some(states) if draft.observations.knows(&shows.observation) => {
                    self.effect(&shows.observation, &states, &shows.r#as, &at.key("as"))
                }
                _ => Vec::new(),
            };
            all.push(Shows {
                state: shows.state.clone(),
                observation: shows.observation.clone(),
                effect,
                because: self.text(&shows.because, &at.key("because"), "the reason (`because`)"),
                basis: self.link_basis(shows.basis.as_ref(), basis, &at),
            });
        }
        all
    }

    /// Chances by state as a distribution over all states, the rest going to the normal one.
    fn effect(&mut self, observation: &str, states: &[&str], by_state: &ByState, at: &Trail) -> Vec<f64> {
        let mut effect = vec![0.0; states.len()];
        if by_state.is_empty() {
            self.report(
                Code::Unfitting,
                at,
                "no state is named here",
                "Give at least one state and its chance.",
            );
        }
        for (state, chance) in by_state {
            let chance = self.chance(chance, &at.key(state));
            match states.iter().position(|s| s == state) {
                Some(0) => {
                    let message =
                        format!("{} is the normal state, which takes the rest of the chance", quoted(state));
                    self.report(Code::Unfitting, &at.name(state), message, "Leave it out.");
                }
                Some(i) => effect[i] = chance,
                None => self.unknown_state(observation, state, states, &at.name(state)),
            }
        }
        let sum: f64 = effect.iter().skip(1).sum();
        if sum > 1.0 + SUM_TOLERANCE {
            let message = format!("the chances of this effect sum to {}", rounded(sum));
            self.report(
                Code::EffectSum,
                at,
                message,
                "They may sum to 1 at most; the rest goes to the normal state.",
            );
        }
        give_rest_to_normal(&mut effect);
        effect
    }

    pub fn observation(&mut self, raw: &RawObservation, at: &Trail) -> Observation {
        let basis = self.basis(raw.basis.as_ref(), at);
        let list = at.key("states");
        self.state_ids(raw.states.iter().map(|s| s.id.as_str()), at);
        let mut leaks = Vec::new();
        for (i, state) in raw.states.iter().enumerate() {
            leaks.push(state.leak.as_ref().map_or(0.0, |leak| self.chance(leak, &list.item(i).key("leak"))));
        }
        if let Some(first) = raw.states.first()
            && first.leak.is_some()
        {
            let message =
                format!("{} is the normal state, which takes the rest of the chance", quoted(&first.id));
            self.report(Code::Unfitting, &list.item(0).key("leak"), message, "Leave its `leak` out.");
        }
        let sum: f64 = leaks.iter().skip(1).sum();
        if sum > 1.0 + SUM_TOLERANCE {
            let message = format!("the leaks of {} sum to {}", quoted(&raw.id), rounded(sum));
            self.report(
                Code::LeakSum,
                &list,
                message,
                "They may sum to 1 at most; the rest goes to the normal state.",
            );
        }
        give_rest_to_normal(&mut leaks);
        let mut states = Vec::new();
        for (i, (state, leak)) in raw.states.iter().zip(leaks).enumerate() {
            let at = list.item(i);
            states.push(ObservationState {
                id: state.id.clone(),
                label: self.text(&state.label, &at.key("label"), "the label"),
                leak,
                phrases: self.texts(&state.phrases, &at.key("phrases"), "a phrase"),
            });
        }
        Observation {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            group: self.id(&raw.group, &at.key("group")),
            ask: self.ask(raw, at),
            states,
            basis,
        }
    }

    /// The ids of a question's states: at least two, each once.
    fn state_ids<'r>(&mut self, ids: impl Iterator<Item = &'r str>, at: &Trail) {
        let list = at.key("states");
        let mut seen = HashSet::new();
        for (i, id) in ids.enumerate() {
            let at = list.item(i);
            self.id(id, &at.key("id"));
            if !seen.insert(id) {
                self.repeated(id, &at.key("id"));
            }
        }
        if seen.len() < 2 {
            let message = format!("this question has {} state", seen.len());
            self.report(
                Code::TooFewStates,
                &list,
                message,
                "Give it at least two: the normal one and another.",
            );
        }
    }
}

fn give_rest_to_normal(chances: &mut [f64]) {
    let rest = 1.0 - chances.iter().skip(1).sum::<f64>();
    if let Some(normal) = chances.first_mut() {
        *normal = rest.max(0.0);
    }
}

/// A sum of decimals without the noise of binary fractions.
fn rounded(sum: f64) -> f64 {
    (sum * 1e6).round() / 1e6
}
