//! What seems to be absent once everything is there: links, repairs, cautions, uses.
//!
//! Where an entry could not be read, nothing is called absent that it might have held.

use std::collections::{HashMap, HashSet};

use super::Context;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::model::*;
use crate::knowledge::places::quoted;
use crate::knowledge::source::{EntryRef, Trail};

impl Context<'_> {
    pub fn whole(&mut self, knowledge: &Knowledge) {
        self.faults_without(knowledge);
        self.observations_without_cause(knowledge);
        self.repairs_without_caution(knowledge);
        self.ambiguous_phrases(knowledge);
        self.idle(knowledge);
    }

    fn at_id(&mut self, code: Code, at: EntryRef, message: String, help: &str) {
        self.report(code, &Trail::Entry(at).key("id"), message, help);
    }

    fn faults_without(&mut self, knowledge: &Knowledge) {
        let draft = self.draft;
        let removed: HashSet<&str> =
            knowledge.repairs.iter().flat_map(|r| r.removes.iter().map(|x| x.fault.as_str())).collect();
        let mut in_scopes: HashSet<&str> = HashSet::new();
        for scope in &knowledge.scopes {
            in_scopes.extend(scope.always.iter().chain(&scope.as_needed).map(String::as_str));
        }
        let scoped: HashSet<&str> = (knowledge.repairs.iter().filter(|r| in_scopes.contains(r.id.as_str())))
            .flat_map(|r| r.removes.iter().map(|x| x.fault.as_str()))
            .collect();
        for (found, fault) in draft.faults.iter().zip(&knowledge.faults) {
            let id = fault.id.as_str();
            if fault.shows.is_empty() {
                let message = format!("the fault {} shows itself in no observation", quoted(id));
                self.at_id(
                    Code::NoObservation,
                    found.at,
                    message,
                    "Add `shows:` with at least one observation.",
                );
            }
            if !removed.contains(id) {
                if !draft.repairs.torn {
                    let message = format!("no repair removes the fault {}", quoted(id));
                    self.at_id(Code::NoRepair, found.at, message, "Add it to `removes:` of a repair.");
                }
            } else if !scoped.contains(id) && !draft.scopes.torn && !draft.repairs.torn {
                let message = format!("no scope of work removes the fault {}", quoted(id));
                self.at_id(Code::NoScope, found.at, message, "Add a repair that removes it to a scope.");
            }
        }
    }

    fn observations_without_cause(&mut self, knowledge: &Knowledge) {
        let draft = self.draft;
        if draft.faults.torn || draft.factors.torn {
            return;
        }
        let mut effects: HashMap<&str, Vec<&[f64]>> = HashMap::new();
        let by_faults = knowledge.faults.iter().flat_map(|f| &f.shows);
        for shows in by_faults.chain(knowledge.factors.iter().flat_map(|f| &f.shows)) {
            effects.entry(&shows.observation).or_default().push(&shows.effect);
        }
        for (found, observation) in draft.observations.iter().zip(&knowledge.observations) {
            let Some(effects) = effects.get(observation.id.as_str()) else {
                let message = format!("no fault and no factor shows itself in {}", quoted(&observation.id));
                let help = "Add it to `shows:` of a fault, or remove it: its answer says nothing.";
                self.at_id(Code::NoCause, found.at, message, help);
                continue;
            };
            for (k, state) in observation.states.iter().enumerate().skip(1) {
                let reached = effects.iter().any(|e| e.get(k).is_some_and(|p| *p > 0.0));
                if state.leak <= 0.0 && !reached {
                    let entry = Trail::Entry(found.at);
                    let list = entry.key("states");
                    let at = list.item(k);
                    let message = format!(
                        "nothing can bring about the state {} of {}",
                        quoted(&state.id),
                        quoted(&observation.id)
                    );
                    let help = "Name it in an effect, or give it a small `leak`; as it is, the answer is impossible.";
                    self.report(Code::DeadState, &at.key("id"), message, help);
                }
            }
        }
    }

    fn repairs_without_caution(&mut self, knowledge: &Knowledge) {
        let draft = self.draft;
        for (found, repair) in draft.repairs.iter().zip(&knowledge.repairs) {
            let Some(stage) = knowledge.stages.iter().find(|s| s.id == repair.stage) else { continue };
            let given: HashSet<&String> = repair.steps.iter().flat_map(|s| &s.cautions).collect();
            let lacks: Vec<String> =
                stage.calls_for.iter().filter(|c| !given.contains(c)).map(|c| quoted(c)).collect();
            if !lacks.is_empty() {
                let message = format!(
                    "the repair {} does not give {}, which its stage {} calls for",
                    quoted(&repair.id),
                    lacks.join(", "),
                    quoted(&stage.id)
                );
                let help = "Add it to `cautions:` of the step it belongs before.";
                self.at_id(Code::NoCaution, found.at, message, help);
            }
        }
    }

    /// Free text of an owner would be taken for both answers.
    fn ambiguous_phrases(&mut self, knowledge: &Knowledge) {
        let draft = self.draft;
        let factors = (draft.factors.iter().zip(&knowledge.factors))
            .map(|(f, x)| (f.at, &x.id, x.states.iter().map(|s| (&s.id, &s.phrases)).collect::<Vec<_>>()));
        let observations = (draft.observations.iter().zip(&knowledge.observations))
            .map(|(f, x)| (f.at, &x.id, x.states.iter().map(|s| (&s.id, &s.phrases)).collect::<Vec<_>>()));
        let mut seen: HashMap<String, (EntryRef, usize, usize, &String, &String)> = HashMap::new();
        for (at, id, states) in factors.chain(observations) {
            for (i, (state, phrases)) in states.into_iter().enumerate() {
                for (j, phrase) in phrases.iter().enumerate() {
                    let words =
                        phrase.split_whitespace().map(str::to_lowercase).collect::<Vec<_>>().join(" ");
                    let Some(&(other_at, other_i, other_j, other_id, other_state)) = seen.get(&words) else {
                        seen.insert(words, (at, i, j, id, state));
                        continue;
                    };
                    let place = |at: EntryRef, i: usize, j: usize| {
                        let entry = Trail::Entry(at);
                        let states = entry.key("states");
                        let state = states.item(i);
                        let phrases = state.key("phrases");
                        self.docs.place(&phrases.item(j))
                    };
                    let message = if (other_id, other_state) == (id, state) {
                        format!("the phrase {} stands here twice", quoted(phrase))
                    } else {
                        format!(
                            "the phrase {} stands for {} of {} and for {} of {}",
                            quoted(phrase),
                            quoted(state),
                            quoted(id),
                            quoted(other_state),
                            quoted(other_id)
                        )
                    };
                    let found = crate::knowledge::Diagnostic::new(Code::Phrase, place(at, i, j), message)
                        .related(place(other_at, other_i, other_j), "the other place")
                        .help("Keep it where it fits best.");
                    self.sink.push(found);
                }
            }
        }
    }

    fn idle(&mut self, knowledge: &Knowledge) {
        let draft = self.draft;
        let uses = Uses::of(knowledge);
        let torn = draft.stages.torn || draft.observations.torn || draft.factors.torn || draft.readings.torn;
        if !torn && !draft.faults.torn && !draft.scopes.torn {
            for (found, factor) in draft.factors.iter().zip(&knowledge.factors) {
                if factor.shows.is_empty() && !uses.answers.contains(factor.id.as_str()) {
                    let message =
                        format!("the factor {} causes nothing and decides nothing", quoted(&factor.id));
                    let help = "Name it as the parent of a fault, or remove it: its answer says nothing.";
                    self.at_id(Code::Idle, found.at, message, help);
                }
            }
        }
        if !torn && !draft.repairs.torn {
            for (found, caution) in draft.cautions.iter().zip(&knowledge.cautions) {
                if !uses.cautions.contains(caution.id.as_str()) {
                    let message =
                        format!("no question, stage or repair gives the caution {}", quoted(&caution.id));
                    self.at_id(Code::Idle, found.at, message, "Give it where it applies, or remove it.");
                }
            }
        }
        if !draft.scopes.torn {
            for (found, repair) in draft.repairs.iter().zip(&knowledge.repairs) {
                if !uses.repairs.contains(repair.id.as_str()) {
                    let message = format!("no scope of work has the repair {}", quoted(&repair.id));
                    self.at_id(Code::Idle, found.at, message, "Add it to a scope, or remove it.");
                }
            }
        }
    }
}

/// The ids that anything names.
#[derive(Default)]
struct Uses<'k> {
    /// Factors and observations that cause, ask for or forbid something.
    answers: HashSet<&'k str>,
    cautions: HashSet<&'k str>,
    repairs: HashSet<&'k str>,
}

impl<'k> Uses<'k> {
    fn of(knowledge: &'k Knowledge) -> Uses<'k> {
        let mut uses = Uses::default();
        for fault in &knowledge.faults {
            uses.answers.extend(fault.causes.iter().map(|c| c.by.parent.as_str()));
        }
        let asks = knowledge.factors.iter().map(|x| &x.ask);
        let asks = asks.chain(knowledge.observations.iter().map(|x| &x.ask));
        for ask in asks.chain(knowledge.readings.iter().map(|x| &x.ask)) {
            uses.cautions.extend(ask.cautions.iter().map(String::as_str));
            uses.answers.extend(ask.ask_when.iter().map(|a| a.answer.as_str()));
            uses.answers.extend(ask.not_when.iter().map(|f| f.when.answer.as_str()));
        }
        for stage in &knowledge.stages {
            uses.cautions.extend(stage.calls_for.iter().map(String::as_str));
            let back = stage.closed_by.iter().flat_map(|c| &c.steps);
            uses.cautions.extend(back.flat_map(|s| s.cautions.iter().map(String::as_str)));
            uses.answers.extend(stage.not_when.iter().map(|f| f.when.answer.as_str()));
        }
        for repair in &knowledge.repairs {
            uses.cautions.extend(repair.steps.iter().flat_map(|s| s.cautions.iter().map(String::as_str)));
        }
        for scope in &knowledge.scopes {
            uses.repairs.extend(scope.always.iter().chain(&scope.as_needed).map(String::as_str));
            for limit in &scope.blocked_when {
                if let LimitWhen::Answer(when) = &limit.when {
                    uses.answers.insert(&when.answer);
                }
            }
        }
        uses
    }
}
