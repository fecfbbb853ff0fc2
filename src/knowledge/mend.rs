//! Something of the right shape in the place of what has the wrong one, so that reading can go on.

use serde_path_to_error::Segment;
use serde_yaml::{Mapping, Value};

use super::suggest::nearest;

/// Mistakes in one entry after which it is left alone.
const MOST: usize = 40;

/// What was replaced in an entry so far.
#[derive(Debug)]
pub struct Mend {
    /// Where something was put last, with how many other things were tried there before; none at first.
    pub last: Option<(String, usize)>,
    /// Whether all that was replaced were single words and numbers, and keys that mean nothing: then the other checks
    /// find nothing that the writer has not written.
    pub is_harmless: bool,
    count: usize,
}

impl Default for Mend {
    fn default() -> Mend {
        Mend { last: None, is_harmless: true, count: 0 }
    }
}

impl Mend {
    /// Whether this mistake is one of what was put there last.
    pub fn is_again(&self, path: &[Segment], text: &str) -> bool {
        self.last.as_ref().is_some_and(|(place, _)| *place == name_of(path, text))
    }

    /// Replaces what is wrong; false if that can't be done.
    pub fn replace(&mut self, entry: &mut Value, path: Vec<Segment>, text: &str) -> bool {
        let place = name_of(&path, text);
        let tried = match &self.last {
            Some((last, tried)) if *last == place => tried + 1,
            _ => 0,
        };
        self.count += usize::from(tried == 0);
        if self.count > MOST {
            return false;
        }
        self.last = Some((place, tried));
        if text.starts_with("unknown field") {
            return remove(entry, &path);
        }
        if let Some(key) = missing(text) {
            self.is_harmless = false;
            let Some(Value::Mapping(map)) = at(entry, &path) else { return false };
            return stand_in(tried).is_some_and(|value| {
                map.insert(Value::String(key.to_owned()), value);
                true
            });
        }
        let Some(wrong) = at(entry, &path) else { return false };
        let meant = text.starts_with("unknown variant").then(|| meant(text)).flatten();
        let Some(value) = meant.or_else(|| stand_in(tried)) else { return false };
        self.is_harmless &= !matches!(value, Value::Sequence(_) | Value::Mapping(_));
        *wrong = value;
        true
    }
}

/// Something of each shape, one after the other.
fn stand_in(tried: usize) -> Option<Value> {
    match tried {
        0 => Some(Value::String(String::new())),
        1 => Some(Value::Number(1.into())),
        2 => Some(Value::Bool(false)),
        3 => Some(Value::Sequence(Vec::new())),
        4 => Some(Value::Mapping(Mapping::new())),
        _ => None,
    }
}

/// The word of a short list that is meant by another one.
fn meant(text: &str) -> Option<Value> {
    let mut words = text.split('`').skip(1).step_by(2);
    let written = words.next()?;
    nearest(written, words).map(|word| Value::String(word.to_owned()))
}

fn missing(text: &str) -> Option<&str> {
    text.strip_prefix("missing field `")?.strip_suffix('`')
}

/// A name for a place in an entry; a missing key has that of the key.
fn name_of(path: &[Segment], text: &str) -> String {
    let mut name: String = path.iter().map(|segment| format!("/{segment}")).collect();
    if let Some(key) = missing(text) {
        name += &format!("/{key}");
    }
    name
}

fn at<'v>(entry: &'v mut Value, path: &[Segment]) -> Option<&'v mut Value> {
    path.iter().try_fold(entry, |value, segment| match segment {
        Segment::Seq { index } => value.get_mut(*index),
        Segment::Map { key } => value.get_mut(key.as_str()),
        Segment::Enum { .. } | Segment::Unknown => Some(value),
    })
}

fn remove(entry: &mut Value, path: &[Segment]) -> bool {
    let Some((Segment::Map { key }, above)) = path.split_last() else { return false };
    match at(entry, above) {
        Some(Value::Mapping(map)) => map.remove(key.as_str()).is_some(),
        _ => false,
    }
}
