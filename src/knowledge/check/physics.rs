//! What faults and history change in a motor.

use super::Context;
use super::readings::kind;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::model::*;
use crate::knowledge::places::quoted;
use crate::knowledge::raw::*;
use crate::knowledge::source::Trail;

impl Context<'_> {
    pub fn physics(&mut self, raw: &RawPhysics, at: &Trail) -> Physics {
        let draft = self.draft;
        let observed = draft.observations.knows(&raw.id);
        if !draft.factors.knows(&raw.id) && !draft.faults.knows(&raw.id) && !observed {
            let changing = draft.faults.entries.keys().chain(draft.factors.entries.keys());
            let known = changing.chain(draft.observations.entries.keys()).map(String::as_str);
            self.unknown(&raw.id, &at.key("id"), "fault, factor or observation", known);
        }
        if observed != raw.changes.is_empty() || observed == raw.follows.is_empty() {
            let message = format!("{} says what it has no say in", quoted(&raw.id));
            let help = "A fault or a factor has `changes`; an observation has `follows`.";
            self.report(Code::Unfitting, &at.key("id"), message, help);
        }
        let basis = self.basis(raw.basis.as_ref(), at);
        let list = at.key("changes");
        let changes = (raw.changes.iter().enumerate())
            .map(|(i, change)| self.change(&raw.id, change, &basis, &list.item(i)))
            .collect();
        let list = at.key("follows");
        let follows = (raw.follows.iter().enumerate())
            .filter_map(|(i, follows)| self.follows(&raw.id, follows, &list.item(i)))
            .collect();
        Physics { id: raw.id.clone(), changes, follows, basis }
    }

    fn follows(&mut self, id: &str, raw: &RawFollows, at: &Trail) -> Option<Follows> {
        let draft = self.draft;
        let because = self.text(&raw.because, &at.key("because"), "the reason (`because`)");
        self.knows(&draft.readings, &raw.reading, &at.key("reading"), "reading");
        let observation = draft.observations.entries.get(id)?;
        let states: Vec<&str> = observation.raw.states.iter().map(|s| s.id.as_str()).collect();
        let mut place = |key: &'static str, state: &str| {
            let found = states.iter().position(|s| *s == state);
            if found.is_none() {
                self.unknown_state(id, state, &states, &at.key(key));
            }
            found
        };
        let (state, otherwise) = (place("state", &raw.state), place("otherwise", &raw.otherwise));
        let kind = kind(draft.readings.entries.get(&raw.reading)?.raw.kind);
        let ends = at.key("within");
        let [least, most] = [0, 1].map(|i| self.quantity(kind, &raw.within[i], &ends.item(i)));
        let within = [least?, most?];
        if within[0] > within[1] {
            let message = "the first figure is greater than the second";
            self.report(Code::Number, &ends, message, "Write the least figure first.");
        }
        Some(Follows { reading: raw.reading.clone(), within, state: state?, otherwise: otherwise?, because })
    }

    fn change(&mut self, id: &str, raw: &RawChange, basis: &Basis, at: &Trail) -> Change {
        self.change_state(id, raw, at);
        let quantity = quantity(raw.quantity);
        if raw.of.is_some() && !quantity.of_coils() {
            self.report(Code::Unfitting, &at.key("of"), "this is no quantity of a coil", "Remove `of`.");
        }
        let (by, range) = self.amount(quantity, raw, at);
        Change {
            state: raw.state.clone(),
            quantity,
            one: raw.of == Some(RawOf::One),
            by,
            range,
            chance: raw.chance.as_ref().map_or(1.0, |chance| self.chance(chance, &at.key("chance"))),
            because: self.text(&raw.because, &at.key("because"), "the reason (`because`)"),
            basis: self.link_basis(raw.basis.as_ref(), basis, at),
        }
    }

    /// A change by a factor names one of its states, a change by a fault none.
    fn change_state(&mut self, id: &str, raw: &RawChange, at: &Trail) {
        let draft = self.draft;
        let Some(factor) = draft.factors.entries.get(id) else {
            if raw.state.is_some() && draft.faults.entries.contains_key(id) {
                self.report(Code::Unfitting, &at.key("state"), "a fault has no states", "Remove `state`.");
            }
            return;
        };
        let states: Vec<&str> = factor.raw.states.iter().map(|s| s.id.as_str()).collect();
        match &raw.state {
            Some(state) if states.contains(&state.as_str()) => {}
            Some(state) => self.unknown_state(id, state, &states, &at.key("state")),
            None => {
                let message = format!("{} is a factor, and none of its states is named", quoted(id));
                let help = format!("Add `state:` with one of {}.", states.join(", "));
                self.report(Code::Unfitting, at, message, &help);
            }
        }
    }

    fn amount(&mut self, quantity: Quantity, raw: &RawChange, at: &Trail) -> (ChangeBy, [f64; 2]) {
        let (by, key, range) = match (raw.factor, &raw.add, &raw.set) {
            (Some(range), None, None) => {
                for (i, factor) in range.iter().enumerate() {
                    self.not_negative(*factor, &at.key("factor").item(i), "the factor");
                }
                (ChangeBy::Factor, "factor", range)
            }
            (None, Some(texts), None) => {
                (ChangeBy::Add, "add", self.amounts(quantity, texts, &at.key("add")))
            }
            (None, None, Some(texts)) => {
                (ChangeBy::Set, "set", self.amounts(quantity, texts, &at.key("set")))
            }
            _ => {
                let message = "the change is not said just once";
                self.report(Code::Unfitting, at, message, "Write one of `factor`, `add` and `set`.");
                return (ChangeBy::Factor, [1.0; 2]);
            }
        };
        if range[0] > range[1] {
            let message = "the first amount is greater than the second";
            self.report(Code::Unfitting, &at.key(key), message, "Write the least amount first.");
        }
        (by, range)
    }

    fn amounts(&mut self, quantity: Quantity, texts: &[String; 2], at: &Trail) -> [f64; 2] {
        let mut read = |i: usize| self.quantity(quantity.kind(), &texts[i], &at.item(i)).unwrap_or_default();
        [read(0), read(1)]
    }
}

fn quantity(raw: RawQuantity) -> Quantity {
    match raw {
        RawQuantity::CoilResistance => Quantity::CoilResistance,
        RawQuantity::TurnsShorted => Quantity::TurnsShorted,
        RawQuantity::ContactResistance => Quantity::ContactResistance,
        RawQuantity::LeadResistance => Quantity::LeadResistance,
        RawQuantity::TerminalShunt => Quantity::TerminalShunt,
        RawQuantity::Flux => Quantity::Flux,
        RawQuantity::Drag => Quantity::Drag,
        RawQuantity::SpeedDrag => Quantity::SpeedDrag,
        RawQuantity::StartingDrag => Quantity::StartingDrag,
        RawQuantity::Advance => Quantity::Advance,
        RawQuantity::SupplyResistance => Quantity::SupplyResistance,
        RawQuantity::Load => Quantity::Load,
        RawQuantity::Throttle => Quantity::Throttle,
        RawQuantity::Heat => Quantity::Heat,
        RawQuantity::Insulation => Quantity::Insulation,
        RawQuantity::BrushLength => Quantity::BrushLength,
        RawQuantity::SpringForce => Quantity::SpringForce,
        RawQuantity::EndPlay => Quantity::EndPlay,
        RawQuantity::CommutatorMargin => Quantity::CommutatorMargin,
        RawQuantity::CommutatorRunout => Quantity::CommutatorRunout,
        RawQuantity::SlotDepth => Quantity::SlotDepth,
        RawQuantity::ShaftRunout => Quantity::ShaftRunout,
    }
}
