//! Stages, sources, cautions, repairs, scopes and the shop.

use std::collections::HashSet;

use super::Context;
use crate::knowledge::diagnostic::{Code, Diagnostic};
use crate::knowledge::model::*;
use crate::knowledge::places::quoted;
use crate::knowledge::raw::*;
use crate::knowledge::source::{FileId, Place, Trail};

impl Context<'_> {
    /// The lists that a consultation cannot do without.
    pub fn check_lists(&mut self) {
        let draft = self.draft;
        let missing = [
            ("stages", draft.stages.entries.is_empty() && !draft.stages.torn),
            ("faults", draft.faults.entries.is_empty() && !draft.faults.torn),
            ("observations", draft.observations.entries.is_empty() && !draft.observations.torn),
            ("repairs", draft.repairs.entries.is_empty() && !draft.repairs.torn),
            ("scopes", draft.scopes.entries.is_empty() && !draft.scopes.torn),
            ("shop", draft.shop.is_none() && !draft.shop_torn),
        ];
        let names: Vec<&str> = missing.iter().filter(|(_, gone)| *gone).map(|(name, _)| *name).collect();
        if !names.is_empty() {
            let message = format!("no file has {}", names.join(", "));
            let found = Diagnostic::new(Code::Incomplete, Place::start_of(FileId(0)), message)
                .help("Add them, or lay these files over a knowledge base that has them.");
            self.sink.push(found);
        }
    }

    pub fn shop(&mut self) -> Shop {
        let Some(found) = &self.draft.shop else { return Shop::default() };
        let (raw, at) = (&found.raw, Trail::Entry(found.at));
        self.basis(raw.basis.as_ref(), &at);
        Shop {
            labour_per_minute: self.positive(
                raw.labour_per_minute,
                &at.key("labour-per-minute"),
                "the price",
            ),
            come_back: self.not_negative(raw.come_back, &at.key("come-back"), "the price"),
            worth_asking: self.not_negative(raw.worth_asking, &at.key("worth-asking"), "the least saving"),
            minutes_per_question: self.not_negative(
                raw.minutes_per_question,
                &at.key("minutes-per-question"),
                "the time",
            ),
            worth_per_bit: self.not_negative(
                raw.worth_per_bit,
                &at.key("worth-per-bit"),
                "the worth of a bit",
            ),
            worth_per_bit_unexplained: self.not_negative(
                raw.worth_per_bit_unexplained,
                &at.key("worth-per-bit-unexplained"),
                "the worth of a bit while nothing explains the complaint",
            ),
            without_asking: self.ids(
                &self.draft.scopes,
                &raw.without_asking,
                &at.key("without-asking"),
                "scope",
            ),
        }
    }

    pub fn stage(&mut self, raw: &RawStage, at: &Trail) -> Stage {
        let draft = self.draft;
        Stage {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            reached_by: self.text(
                &raw.reached_by,
                &at.key("reached-by"),
                "how the stage is reached (`reached-by`)",
            ),
            minutes: self.not_negative(raw.minutes, &at.key("minutes"), "the time it takes"),
            minutes_back: self.not_negative(raw.minutes_back, &at.key("minutes-back"), "the time it takes"),
            destroys: self.text_or_none(&raw.destroys, &at.key("destroys")),
            record_first: self.texts(&raw.record_first, &at.key("record-first"), "a text"),
            calls_for: self.ids(&draft.cautions, &raw.calls_for, &at.key("calls-for"), "caution"),
            skippable: raw.skippable,
            opens: raw.opens,
            not_when: self.forbids(&raw.not_when, &at.key("not-when")),
            closed_by: raw.closed_by.as_ref().map(|c| self.closing(c, &at.key("closed-by"))),
        }
    }

    fn closing(&mut self, raw: &RawClosing, at: &Trail) -> Closing {
        if raw.steps.is_empty() {
            self.report(Code::NoProcedure, at, "the way back from the stage has no steps", "Add `steps:`.");
        }
        Closing {
            name: self.text(&raw.name, &at.key("name"), "the name"),
            steps: self.steps(&raw.steps, &at.key("steps")),
        }
    }

    fn steps(&mut self, raw: &[RawStep], list: &Trail) -> Vec<Step> {
        let draft = self.draft;
        let mut steps = Vec::new();
        for (i, step) in raw.iter().enumerate() {
            let at = list.item(i);
            steps.push(Step {
                cautions: self.ids(&draft.cautions, &step.cautions, &at.key("cautions"), "caution"),
                action: self.text(&step.r#do, &at.key("do"), "what to do (`do`)"),
            });
        }
        steps
    }

    pub fn source(&mut self, raw: &RawSource, at: &Trail) -> Source {
        Source {
            id: self.id(&raw.id, &at.key("id")),
            citation: self.text(&raw.citation, &at.key("citation"), "the citation"),
            note: self.optional_text(&raw.note, &at.key("note")),
        }
    }

    pub fn caution(&mut self, raw: &RawCaution, at: &Trail) -> Caution {
        Caution {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            text: self.text(&raw.text, &at.key("text"), "the caution"),
            basis: self.basis(raw.basis.as_ref(), at),
        }
    }

    pub fn repair(&mut self, raw: &RawRepair, at: &Trail) -> Repair {
        let draft = self.draft;
        let basis = self.basis(raw.basis.as_ref(), at);
        self.knows(&draft.stages, &raw.stage, &at.key("stage"), "stage");
        for (list, what) in [(raw.steps.is_empty(), "steps"), (raw.checks.is_empty(), "checks")] {
            if list {
                let message = format!("the repair has no {what}");
                self.report(Code::NoProcedure, &at.key("id"), message, &format!("Add `{what}:`."));
            }
        }
        let part_list = at.key("parts");
        let mut parts = Vec::new();
        for (i, part) in raw.parts.iter().enumerate() {
            let at = part_list.item(i);
            parts.push(Part {
                name: self.text(&part.name, &at.key("name"), "the name"),
                cost: self.not_negative(part.cost, &at.key("cost"), "the price"),
                by_motor: part.by_motor,
            });
        }
        Repair {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            stage: raw.stage.clone(),
            minutes: self.positive(raw.minutes, &at.key("minutes"), "the time it takes"),
            parts,
            tools: self.texts(&raw.tools, &at.key("tools"), "a tool"),
            removes: self.removes(raw, &basis, at),
            steps: self.steps(&raw.steps, &at.key("steps")),
            checks: self.texts(&raw.checks, &at.key("checks"), "a check"),
            basis,
        }
    }

    /// What a repair removes, groups written out. A fault that is named itself as well as by its group
    /// keeps the sureness that was given for it alone.
    fn removes(&mut self, raw: &RawRepair, basis: &Basis, at: &Trail) -> Vec<Removes> {
        let draft = self.draft;
        let list = at.key("removes");
        let named: HashSet<&String> = raw.removes.iter().filter_map(|r| r.fault.as_ref()).collect();
        let mut seen = HashSet::new();
        let mut all = Vec::new();
        for (i, removes) in raw.removes.iter().enumerate() {
            let at = list.item(i);
            let sureness = self.chance(&removes.sureness, &at.key("sureness"));
            let basis = self.link_basis(removes.basis.as_ref(), basis, &at);
            let mut add = |fault: &str| {
                all.push(Removes { fault: fault.to_owned(), sureness, basis: basis.clone() });
            };
            match (&removes.fault, &removes.group) {
                (Some(fault), None) => {
                    add(fault);
                    if self.knows(&draft.faults, fault, &at.key("fault"), "fault")
                        && !seen.insert(("fault", fault))
                    {
                        self.repeated(fault, &at.key("fault"));
                    }
                }
                (None, Some(group)) => {
                    let members = || draft.faults.iter().filter(|f| &f.raw.group == group);
                    members().filter(|f| !named.contains(&f.raw.id)).for_each(|f| add(&f.raw.id));
                    if members().next().is_none() && !draft.faults.torn {
                        let groups = draft.faults.iter().map(|f| f.raw.group.as_str());
                        self.unknown(group, &at.key("group"), "group of faults", groups);
                    } else if !seen.insert(("group", group)) {
                        self.repeated(group, &at.key("group"));
                    }
                }
                _ => {
                    let help = "Write one of the two.";
                    self.report(
                        Code::Unfitting,
                        &at,
                        "a line of `removes` needs either `fault` or `group`",
                        help,
                    );
                }
            }
        }
        all
    }

    pub fn scope(&mut self, raw: &RawScope, at: &Trail) -> Scope {
        let draft = self.draft;
        let always = self.ids(&draft.repairs, &raw.always, &at.key("always"), "repair");
        let as_needed = self.ids(&draft.repairs, &raw.as_needed, &at.key("as-needed"), "repair");
        for (i, repair) in as_needed.iter().enumerate() {
            if always.contains(repair) {
                self.repeated(repair, &at.key("as-needed").item(i));
            }
        }
        let settle_first =
            self.ids(&draft.observations, &raw.settle_first, &at.key("settle-first"), "observation");
        let limits = at.key("blocked-when");
        let mut blocked_when = Vec::new();
        for (i, limit) in raw.blocked_when.iter().enumerate() {
            blocked_when.extend(self.limit(limit, &limits.item(i)));
        }
        Scope {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            summary: self.text(&raw.summary, &at.key("summary"), "the summary"),
            customer: self.text(&raw.customer, &at.key("customer"), "what to tell the customer"),
            always,
            as_needed,
            uncured_seen: raw.uncured_seen.as_ref().map_or(0.0, |p| self.chance(p, &at.key("uncured-seen"))),
            settle_first,
            blocked_when,
            basis: self.basis(raw.basis.as_ref(), at),
        }
    }

    fn limit(&mut self, raw: &RawLimit, at: &Trail) -> Option<Limit> {
        let draft = self.draft;
        let reason = self.text(&raw.reason, &at.key("reason"), "the reason");
        let when = match raw {
            RawLimit { motor: Some(motor), fault: None, above: None, answer: None, states: None, .. } => {
                LimitWhen::Rebuildable(motor.rebuildable)
            }
            RawLimit {
                motor: None,
                fault: Some(fault),
                above: Some(above),
                answer: None,
                states: None,
                ..
            } => {
                self.knows(&draft.faults, fault, &at.key("fault"), "fault");
                LimitWhen::FaultAbove(fault.clone(), self.chance(above, &at.key("above")))
            }
            RawLimit {
                motor: None,
                fault: None,
                above: None,
                answer: Some(answer),
                states: Some(states),
                ..
            } => LimitWhen::Answer(self.answer(answer, states, at)),
            _ => {
                let help =
                    "Write `motor: {rebuildable: ..}`, or `fault` and `above`, or `answer` and `states`.";
                self.report(
                    Code::Unfitting,
                    at,
                    format!("{} is not one condition", quoted("blocked-when")),
                    help,
                );
                return None;
            }
        };
        Some(Limit { when, reason })
    }
}
