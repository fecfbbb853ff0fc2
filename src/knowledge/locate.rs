//! Where a number of the knowledge stands: for whoever wants to go and find it out.

use std::cell::OnceCell;

use serde_yaml::Value;

use super::layer::{Content, Layer};
use super::model::ParentRef;
use super::places::{self, Places, Step};

/// A number that an entry gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NumberOf<'a> {
    /// The prior of a factor's state.
    Prior {
        /// Id of the factor.
        factor: &'a str,
        /// Id of the state.
        state: &'a str,
    },
    /// The leak of a fault, or the leaks of an observation's states.
    Leak {
        /// Id of the fault or observation.
        entry: &'a str,
    },
    /// How strongly a cause brings a fault about.
    Strength {
        /// Id of the fault.
        fault: &'a str,
        /// The cause.
        by: &'a ParentRef,
    },
    /// How a fault, or a factor in a state, shows itself.
    Shows {
        /// The fault or the factor.
        by: &'a ParentRef,
        /// Id of the observation.
        observation: &'a str,
    },
}

/// A file, read when something in it is first asked for.
struct File<'l> {
    path: &'l str,
    text: &'l str,
    read: OnceCell<Option<(Value, Places)>>,
}

/// Finds numbers of the knowledge in the files that it was read from.
pub struct Locator<'l> {
    /// Those of the last layer first.
    files: Vec<File<'l>>,
}

impl<'l> Locator<'l> {
    /// Over these layers, each laid over the ones before it.
    pub fn new(layers: &'l [Layer]) -> Locator<'l> {
        let all = layers.iter().rev().flat_map(|layer| &layer.files);
        let file = |(path, content): &'l (String, Content)| {
            let text: &str = match content {
                Content::Text(text) => text,
                Content::Parsed(text, _) => text,
                Content::Unreadable { .. } => return None,
            };
            Some(File { path, text, read: OnceCell::new() })
        };
        Locator { files: all.filter_map(file).collect() }
    }

    /// Path and line (from 1) of a number in the last layer that has its entry; none where it stands nowhere.
    pub fn find(&self, number: NumberOf) -> Option<(&'l str, u32)> {
        let id = match number {
            NumberOf::Prior { factor, .. } => factor,
            NumberOf::Leak { entry } => entry,
            NumberOf::Strength { fault, .. } => fault,
            NumberOf::Shows { by, .. } => &by.parent,
        };
        // Most files do not name the entry at all.
        let mut naming = self.files.iter().filter(|file| file.text.contains(id));
        naming.find_map(|file| Some((file.path, file.line(number, id)?)))
    }
}

impl File<'_> {
    fn line(&self, number: NumberOf, id: &str) -> Option<u32> {
        let read = self.read.get_or_init(|| {
            let document = serde_yaml::from_str(self.text).ok()?;
            Some((document, places::scan(self.text).ok()?))
        });
        let (document, places) = read.as_ref()?;
        let sections = ["factors", "faults", "observations"];
        let (section, index, entry) = sections.iter().find_map(|section| {
            let list = document.get(*section)?.as_sequence()?;
            let index = list.iter().position(|entry| word(entry, "id") == Some(id))?;
            Some((*section, index, &list[index]))
        })?;
        let mut steps = vec![Step::Key(section), Step::Item(index)];
        steps.extend(steps_to(entry, number));
        Some(places.find(&steps).line)
    }
}

/// The way from an entry to one of its numbers; as far as it goes.
fn steps_to<'a>(entry: &Value, number: NumberOf<'a>) -> Vec<Step<'a>> {
    let member = |list: &'static str, is: &dyn Fn(&Value) -> bool, key: &'static str| {
        let at = entry.get(list).and_then(Value::as_sequence).and_then(|all| all.iter().position(is));
        at.map_or(vec![Step::Key(list)], |at| vec![Step::Key(list), Step::Item(at), Step::Key(key)])
    };
    let of_state = |one: &Value, by: &ParentRef| word(one, "state") == by.state.as_deref();
    match number {
        NumberOf::Prior { state, .. } => member("states", &|s| word(s, "id") == Some(state), "prior"),
        NumberOf::Leak { .. } if entry.get("states").is_some() => vec![Step::Key("states")],
        NumberOf::Leak { .. } => vec![Step::Key("leak")],
        NumberOf::Strength { by, .. } => member(
            "causes",
            &|cause| word(cause, "parent") == Some(&by.parent) && of_state(cause, by),
            "strength",
        ),
        NumberOf::Shows { by, observation } => member(
            "shows",
            &|shows| word(shows, "observation") == Some(observation) && of_state(shows, by),
            "as",
        ),
    }
}

fn word<'v>(value: &'v Value, key: &str) -> Option<&'v str> {
    value.get(key)?.as_str()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_found_in_its_line_and_in_the_last_layer() {
        let first = "faults:\n  - id: dry\n    leak: 0.1\n    causes:\n      - parent: wet\n        state: much\n        strength: 0.5\n    shows:\n      - observation: squeal\n        as: {loud: 0.6}\nfactors:\n  - id: wet\n    states:\n      - {id: no, prior: 0.9}\n      - {id: much, prior: 0.1}\n";
        let over = "# new\nfaults:\n  - id: dry\n    leak: 0.2\n";
        let layers = [Layer::memory([("a.yaml", first)])];
        let fault = ParentRef { parent: "dry".into(), state: None };
        let wet = ParentRef { parent: "wet".into(), state: Some("much".into()) };
        let at = |layers: &[Layer], number| {
            Locator::new(layers).find(number).map(|(path, line)| format!("{path}:{line}"))
        };
        assert_eq!(at(&layers, NumberOf::Leak { entry: "dry" }).unwrap(), "a.yaml:3");
        assert_eq!(at(&layers, NumberOf::Strength { fault: "dry", by: &wet }).unwrap(), "a.yaml:7");
        assert_eq!(at(&layers, NumberOf::Shows { by: &fault, observation: "squeal" }).unwrap(), "a.yaml:10");
        assert_eq!(at(&layers, NumberOf::Prior { factor: "wet", state: "much" }).unwrap(), "a.yaml:15");
        assert_eq!(at(&layers, NumberOf::Leak { entry: "gone" }), None);
        let layers = [Layer::memory([("a.yaml", first)]), Layer::memory([("b.yaml", over)])];
        assert_eq!(at(&layers, NumberOf::Leak { entry: "dry" }).unwrap(), "b.yaml:4");
    }
}
