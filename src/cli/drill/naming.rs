//! The end of a lesson: what is wrong, what is to be done, and the cautions for it.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Reply, TextWanted};
use super::pick::{List, Picked, pick};
use super::talk::{Talk, Turn};
use crate::drill::scopes::handles;
use crate::drill::session::{Act, Named};
use crate::knowledge::{Fault, Scope};
use crate::present::drill::task;
use crate::present::text::{Styled, Text};

/// How sure somebody may say to be: id, words, chance.
const SURE: [(&str, &str, f64); 4] = [
    ("certain", "As good as certain: 95 of 100 such motors", 0.95),
    ("likely", "Likely: 75 of 100", 0.75),
    ("even", "As likely as not: 50 of 100", 0.5),
    ("perhaps", "A suspicion: 20 of 100", 0.2),
];

impl<'k> Talk<'_, '_, 'k> {
    /// Asks for all three and only then takes them down, so that it can be thought over until the end.
    pub(super) fn name_it(&mut self) -> Result<Turn, Failure> {
        let named = match self.faults()? {
            Said::This(named) => named,
            Said::Back => return Ok(Turn::Again),
            Said::Stop => return Ok(Turn::Stop),
        };
        let scope = match self.work(&named)? {
            Said::This(scope) => scope,
            Said::Back => return Ok(Turn::Again),
            Said::Stop => return Ok(Turn::Stop),
        };
        let cautions = match self.cautions()? {
            Said::This(cautions) => cautions,
            Said::Back => return Ok(Turn::Again),
            Said::Stop => return Ok(Turn::Stop),
        };
        self.act(Act::Name(named))?;
        self.act(Act::Scope(scope))?;
        self.act(Act::Cautions(cautions))?;
        Ok(Turn::Over)
    }

    fn faults(&mut self) -> Result<Said<Vec<Named>>, Failure> {
        let knowledge = self.session.planner.knowledge;
        let mut groups: Vec<&'k str> = Vec::new();
        for fault in &knowledge.faults {
            if !groups.contains(&fault.group.as_str()) {
                groups.push(&fault.group);
            }
        }
        let mut named: Vec<Named> = Vec::new();
        loop {
            let entry = |g: &&str| {
                let mut words = g.replace('-', " ");
                if let Some(first) = words.get_mut(..1) {
                    first.make_ascii_uppercase();
                }
                let own = named.iter().filter_map(|n| knowledge.fault(&n.fault)).filter(|f| f.group == **g);
                let own: Vec<&str> = own.map(|f| f.name.as_str()).collect();
                let note = if own.is_empty() { String::new() } else { format!("named: {}", own.join(", ")) };
                Choice { note, ..Choice::new(*g, words) }
            };
            let mut entries: Vec<Choice> = groups.iter().map(entry).collect();
            entries.push(match named.is_empty() {
                true => Choice::new("healthy", "Nothing is wrong at all"),
                false => Choice::new("all", "That is all"),
            });
            let list = List {
                id: "faults".into(),
                heading: format!("Name the fault · {}", task::standing(&self.session)),
                question: "Where is the fault?".into(),
                note: task::naming(knowledge, &named),
                entries,
                back: Choice::new("back", "Back to the menu: look further"),
            };
            let place = match pick(self.prompter, list)? {
                Picked::Entry(i) if i == groups.len() => return Ok(Said::This(named)),
                Picked::Entry(i) => groups[i],
                Picked::Back => return Ok(Said::Back),
                Picked::Stop => return Ok(Said::Stop),
            };
            let said_of = |f: &Fault| {
                let said = named.iter().find(|n| n.fault == f.id);
                said.map_or(String::new(), |n| format!("named, {:.0} %", n.chance * 100.0))
            };
            let own: Vec<&'k Fault> = knowledge.faults.iter().filter(|f| f.group == place).collect();
            let list = List {
                id: "fault".into(),
                heading: "Name the fault".into(),
                question: "Which one?".into(),
                note: Text::new(),
                entries: own
                    .iter()
                    .map(|f| Choice { note: said_of(f), ..Choice::new(&f.id, &f.name) })
                    .collect(),
                back: Choice::new("back", "Back"),
            };
            let fault = match pick(self.prompter, list)? {
                Picked::Entry(i) => own[i],
                Picked::Back => continue,
                Picked::Stop => return Ok(Said::Stop),
            };
            let chance = self.how_sure(fault)?;
            let before = named.len();
            named.retain(|n| n.fault != fault.id);
            match chance {
                Some(chance) => named.push(Named { fault: fault.id.clone(), chance }),
                None if named.len() < before => self.prompter.say(&task::taken_back(&fault.name))?,
                None => {}
            }
        }
    }

    /// How sure the person is of a fault; none where it is not to be named, or not any more.
    fn how_sure(&mut self, fault: &Fault) -> Result<Option<f64>, Failure> {
        let mut choices: Vec<Choice> = SURE.iter().map(|(id, label, _)| Choice::new(*id, *label)).collect();
        choices.push(Choice::new("back", "Not this one"));
        let mut note = Text::new();
        note.item(0, Styled::new().fault(&fault.name).plain(": "), fault.summary.as_str());
        let reply = self.prompter.ask(&Prompt {
            id: format!("sure:{}", fault.id),
            heading: fault.name.clone(),
            question: "How sure are you?".into(),
            note,
            choices,
            text: Some(TextWanted::checked("a chance with its sign, such as 85 %", |t| {
                chance(t).map(|_| ())
            })),
            side: Vec::new(),
            ..Prompt::default()
        })?;
        Ok(match reply {
            Reply::Choice(i) => SURE.get(i).map(|(_, _, p)| *p),
            // What has no chance is not named.
            Reply::Text(typed) => chance(&typed).ok().filter(|p| *p > 0.0),
            Reply::Several { .. } | Reply::Side(_) => None,
        })
    }

    fn work(&mut self, named: &[Named]) -> Result<Said<String>, Failure> {
        let knowledge = self.session.planner.knowledge;
        let faults: Vec<&str> = named.iter().map(|n| n.fault.as_str()).collect();
        let mut above = Text::new();
        if faults.len() > 1 {
            above.para(
                "One work for all that you named. Before you take it you read what it does about each.",
            );
        }
        loop {
            let list = List {
                id: "scope".into(),
                heading: "The work".into(),
                question: "What is to be done?".into(),
                note: above.clone(),
                entries: knowledge.scopes.iter().map(|s| Choice::new(&s.id, &s.name)).collect(),
                back: Choice::new("back", "Back to the menu: look further"),
            };
            let scope: &Scope = match pick(self.prompter, list)? {
                Picked::Entry(i) => &knowledge.scopes[i],
                Picked::Back => return Ok(Said::Back),
                Picked::Stop => return Ok(Said::Stop),
            };
            let does = handles(self.session.planner, self.session.task.motor, &scope.id, &faults);
            let mut note = Text::from(scope.summary.as_str());
            note.append(task::handled(knowledge, &faults, &does));
            let reply = self.prompter.ask(&Prompt {
                id: format!("work:{}", scope.id),
                heading: scope.name.clone(),
                question: "This work?".into(),
                note,
                choices: vec![Choice::new("yes", "Yes"), Choice::new("no", "No: another")],
                ..Prompt::default()
            })?;
            if reply == Reply::Choice(0) {
                return Ok(Said::This(scope.id.clone()));
            }
        }
    }

    fn cautions(&mut self) -> Result<Said<Vec<String>>, Failure> {
        let knowledge = self.session.planner.knowledge;
        let mut named: Vec<String> = Vec::new();
        loop {
            let open: Vec<_> = knowledge.cautions.iter().filter(|c| !named.contains(&c.id)).collect();
            let mut entries = vec![Choice::new("done", "These are all: go on")];
            entries.extend(open.iter().map(|c| Choice::new(&c.id, &c.name)));
            let names: Vec<&str> =
                named.iter().filter_map(|id| knowledge.caution(id)).map(|c| c.name.as_str()).collect();
            let mut note = Text::new();
            if !names.is_empty() {
                note.item(0, Styled::new().muted("Named so far: "), names.join(", "));
            }
            let list = List {
                id: "cautions".into(),
                heading: "The cautions".into(),
                question: "What can hurt hand, eye or motor in this work? Name the first ones.".into(),
                note,
                entries,
                back: Choice::new("back", "Back to the menu: look further"),
            };
            match pick(self.prompter, list)? {
                Picked::Entry(0) if named.is_empty() && !self.none_belongs()? => {}
                Picked::Entry(0) => return Ok(Said::This(named)),
                Picked::Entry(i) => named.push(open[i - 1].id.clone()),
                Picked::Back => return Ok(Said::Back),
                Picked::Stop => return Ok(Said::Stop),
            }
        }
    }
}

impl Talk<'_, '_, '_> {
    /// Asks once more whether there is really nothing to be minded.
    fn none_belongs(&mut self) -> Result<bool, Failure> {
        let mut note = Text::new();
        note.item(
            0,
            Styled::new().warn("! "),
            "You have named no caution. Where some belong to the work, nobody passes without naming one.",
        );
        let reply = self.prompter.ask(&Prompt {
            id: "no-cautions".into(),
            heading: "The cautions".into(),
            question: "Is there really nothing that can hurt?".into(),
            note,
            choices: vec![Choice::new("no", "No: name some"), Choice::new("none", "There is nothing: go on")],
            ..Prompt::default()
        })?;
        Ok(reply == Reply::Choice(1))
    }
}

/// What came of a question.
enum Said<T> {
    /// This.
    This(T),
    /// To be looked into further.
    Back,
    /// The person wants to stop here.
    Stop,
}

/// A chance as people type it: `85 %`, `85` or `0.85`. A whole number is always in per cent.
fn chance(typed: &str) -> Result<f64, String> {
    let wanted = "Type a chance from 0 to 100 %, such as 85 %, or 0.85.";
    let number = typed.trim().trim_end_matches('%').trim_end().replace(',', ".");
    let value: f64 = number.parse().map_err(|_| wanted.to_owned())?;
    let part = number.contains('.') && value <= 1.0 && !typed.trim_end().ends_with('%');
    let value = if part { value } else { value / 100.0 };
    if (0.0..=1.0).contains(&value) { Ok(value) } else { Err(wanted.to_owned()) }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::chance;

    #[test]
    fn chances_are_read_as_people_type_them() {
        for (typed, wanted) in [
            ("85 %", 0.85),
            ("85", 0.85),
            ("0.85", 0.85),
            ("0,5", 0.5),
            ("1", 0.01),
            ("1.0", 1.0),
            ("0", 0.0),
            ("1 %", 0.01),
        ] {
            assert!((chance(typed).unwrap() - wanted).abs() < 1e-12, "{typed}");
        }
        for typed in ["", "sure", "101", "-3", "NaN", "inf", "120 %"] {
            assert!(chance(typed).is_err(), "{typed}");
        }
    }
}
