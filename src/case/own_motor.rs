//! The motor of a case: one of the knowledge, one that the case itself describes, or both.

use std::borrow::Cow;

use super::Case;
use crate::bench::{self, Kind};
use crate::knowledge::{Basis, Knowledge, Motor};

/// Keys of a motor's description that are no nominal values.
const NAME: &str = "name";
const SLOTS: &str = "slots";
const REBUILDABLE: &str = "rebuildable";

impl Case {
    /// The motor of this case, as far as it is known. What the case itself says of it goes before what the
    /// knowledge says. A motor that only the case describes has 0 slots and costs nothing where that is not
    /// known, and counts as rebuildable unless it is said not to be.
    pub fn motor<'k>(&self, knowledge: &'k Knowledge) -> Option<Cow<'k, Motor>> {
        let known = self.motor.as_deref().and_then(|id| knowledge.motor(id));
        if self.motor_data.is_empty() {
            return known.map(Cow::Borrowed);
        }
        let mut motor = known.cloned().unwrap_or_else(|| Motor {
            id: String::new(),
            name: "The owner's motor".into(),
            can: String::new(),
            rebuildable: true,
            slots: 0,
            summary: String::new(),
            replace_cost: 0.0,
            nominal: indexmap::IndexMap::new(),
            basis: Basis::Measured,
        });
        for (key, text) in &self.motor_data {
            match key.as_str() {
                NAME => motor.name.clone_from(text),
                SLOTS => motor.slots = text.trim().parse().unwrap_or(motor.slots),
                REBUILDABLE => motor.rebuildable = text.trim() != "no",
                _ => {
                    motor.nominal.insert(key.clone(), text.clone());
                }
            }
        }
        Some(Cow::Owned(motor))
    }
}

/// The keys by which a motor may be described: its name and build, then the nominal values that readings of
/// the knowledge are compared with or that its motors have, each with its kind where a reading tells it.
pub fn keys(knowledge: &Knowledge) -> Vec<(String, Option<Kind>)> {
    let mut keys = vec![(NAME.to_owned(), None), (SLOTS.to_owned(), None), (REBUILDABLE.to_owned(), None)];
    let compared = knowledge.readings.iter().filter_map(|r| Some((r.derive.nominal()?, r.kind)));
    for (key, kind) in compared {
        if !keys.iter().any(|(k, _)| k == key) {
            keys.push((key.to_owned(), Some(super::of_bench(kind))));
        }
    }
    for key in knowledge.motors.iter().flat_map(|m| m.nominal.keys()) {
        if !keys.iter().any(|(k, _)| k == key) {
            keys.push((key.clone(), None));
        }
    }
    keys
}

/// Whether a text may stand under a key of a motor's description.
///
/// # Errors
/// What would be right.
pub fn check(knowledge: &Knowledge, key: &str, text: &str) -> Result<(), String> {
    let keys = keys(knowledge);
    let Some((_, kind)) = keys.iter().find(|(k, _)| k == key) else {
        let near = crate::knowledge::nearest(key, keys.iter().map(|(k, _)| k.as_str()));
        let all: Vec<&str> = keys.iter().map(|(k, _)| k.as_str()).collect();
        return Err(match near {
            Some(near) => format!("a motor is not described by `{key}`; did you mean `{near}`?"),
            None => format!("a motor is not described by `{key}`: write one of {}", all.join(", ")),
        });
    };
    match (key, kind) {
        (NAME, _) if text.trim().is_empty() => Err("the name is empty".into()),
        (NAME, _) => Ok(()),
        (SLOTS, _) => match text.trim().parse::<u32>() {
            Ok(3..=99) => Ok(()),
            _ => Err("the number of armature slots is a whole number, 3 or more".into()),
        },
        (REBUILDABLE, _) if matches!(text.trim(), "yes" | "no") => Ok(()),
        (REBUILDABLE, _) => Err("write yes when its can is screwed, no when it is crimped shut".into()),
        (_, Some(kind)) => match bench::read(*kind, text) {
            Ok(value) if value > 0.0 => Ok(()),
            Ok(_) => Err("a nominal value is above zero".into()),
            Err(error) => Err(error.to_string()),
        },
        // Of no known kind: it has to be a quantity of some kind with a unit.
        (_, None) if Kind::ALL.iter().any(|k| *k != Kind::Ratio && bench::read(*k, text).is_ok()) => Ok(()),
        (_, None) => Err(format!("`{text}` is not a quantity with a unit, such as `7.2 V`")),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::case::sample::knowledge;

    fn described(pairs: &[(&str, &str)]) -> Case {
        let motor_data = pairs.iter().map(|(k, v)| (k.to_string(), v.to_string())).collect();
        Case { motor_data, ..Case::default() }
    }

    #[test]
    fn a_motor_of_the_knowledge_is_borrowed_as_it_is() {
        let k = knowledge();
        let case = Case { motor: Some(k.motors[0].id.clone()), ..Case::default() };
        assert!(matches!(case.motor(&k), Some(Cow::Borrowed(m)) if *m == k.motors[0]));
        assert!(Case::default().motor(&k).is_none());
    }

    #[test]
    fn what_the_case_says_goes_first() {
        let k = knowledge();
        let mut case = described(&[("no-load-current", "1.1 A")]);
        case.motor = Some(k.motors[0].id.clone());
        let motor = case.motor(&k).unwrap();
        assert_eq!(motor.nominal["no-load-current"], "1.1 A");
        assert_eq!((&motor.name, motor.slots), (&k.motors[0].name, k.motors[0].slots));
    }

    #[test]
    fn a_motor_that_is_nowhere_else_can_be_described() {
        let k = knowledge();
        let case = described(&[("name", "Old boat motor"), ("slots", "5"), ("rebuildable", "no")]);
        let motor = case.motor(&k).unwrap();
        assert_eq!((motor.name.as_str(), motor.slots, motor.rebuildable), ("Old boat motor", 5, false));
    }

    #[test]
    fn a_wrong_description_is_refused() {
        let k = knowledge();
        for (key, text, words) in [
            ("slots", "2", "3 or more"),
            ("rebuildable", "maybe", "write yes"),
            ("name", " ", "empty"),
            ("no-load-curent", "1 A", "did you mean `no-load-current`?"),
            ("no-load-current", "1 V", "is a voltage"),
            ("no-load-current", "0 A", "above zero"),
        ] {
            let said = check(&k, key, text).unwrap_err();
            assert!(said.contains(words), "{said}");
        }
        assert_eq!(check(&k, "no-load-current", "1.1 A"), Ok(()));
    }
}
