//! The written form of a case: `commsense/case/1`, a short YAML file that people may write by hand.

use std::fmt;

use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

use super::scan::{self, Layout, Shape, Spot};
use super::wording::{hint, shown};
use super::{Answer, Case, own_motor};
use crate::knowledge::{Knowledge, nearest};

/// What the first key of a case file must say.
pub const FORMAT: &str = "commsense/case/1";
/// What stands before the number in [`FORMAT`].
const FORMAT_STEM: &str = "commsense/case/";
/// The key under which the case's own motor is described.
const MOTOR_DATA: &str = "motor-data";
/// Bytes of the largest case file that is read or written.
pub const LARGEST: usize = 1 << 20;

/// The keys at the top and what stands below each.
const KEYS: [(&str, Shape); 8] = [
    ("format", Shape::Text),
    ("case", Shape::Text),
    ("motor", Shape::Text),
    (MOTOR_DATA, Shape::Map),
    ("complaint", Shape::Text),
    ("stage", Shape::Text),
    ("answers", Shape::Map),
    ("notes", Shape::List),
];

/// Something wrong in a case file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong, and what would be right.
    pub message: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "{}:{}: {}", self.line, self.column, self.message)
    }
}

/// The file, typed but not yet checked against the knowledge. Every scalar is taken as it is written, so
/// that `1.10`, `no` and `0142` stay what they are.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(default)]
struct Raw {
    #[serde(skip_serializing_if = "Option::is_none")]
    format: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    case: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    motor: Option<String>,
    #[serde(rename = "motor-data", skip_serializing_if = "Option::is_none")]
    motor_data: Option<IndexMap<String, String>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    complaint: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    stage: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    answers: Option<IndexMap<String, String>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    notes: Option<Vec<String>>,
}

/// The one key that is read before all others.
#[derive(Deserialize)]
struct Head {
    format: String,
}

/// A case file that was read.
#[derive(Debug)]
pub(super) struct Read {
    pub case: Case,
    /// Whether a person's comments stand in the file.
    pub comments: bool,
}

/// Reads a case from its written form.
///
/// # Errors
///
/// Every problem in it, in the order of their places. What is no YAML or no case file at all, or of
/// another format, is one problem.
pub fn read(bytes: &[u8], knowledge: &Knowledge) -> Result<Case, Vec<Problem>> {
    read_all(bytes, knowledge).map(|read| read.case)
}

pub(super) fn read_all(bytes: &[u8], knowledge: &Knowledge) -> Result<Read, Vec<Problem>> {
    let text = plain_text(bytes).map_err(|p| vec![p])?;
    let layout = scan::scan(text).map_err(|p| vec![p])?;
    // A file of another format may hold anything, so the rest of it is not worth a look.
    format(text, &layout).map_err(|p| vec![p])?;
    let mut problems = misshapen(&layout);
    if !problems.is_empty() {
        problems.extend(strange_keys(&layout));
        return Err(sorted(problems));
    }
    let raw: Raw = serde_yaml::from_str(text).map_err(|e| vec![not_yaml(&e)])?;
    problems.extend(strange_keys(&layout));
    let case = check(raw, &layout, knowledge, &mut problems);
    if problems.is_empty() { Ok(Read { case, comments: layout.comments }) } else { Err(sorted(problems)) }
}

/// The written form of a case.
///
/// # Errors
///
/// A sentence, should the case not have a written form or be too large.
pub fn write(case: &Case, knowledge: &Knowledge) -> Result<String, String> {
    let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    let answers: IndexMap<_, _> =
        case.answers.iter().map(|(id, a)| (id.clone(), a.text(knowledge, id))).collect();
    let raw = Raw {
        format: Some(FORMAT.to_owned()),
        case: some(&case.case),
        motor: case.motor.clone(),
        motor_data: (!case.motor_data.is_empty()).then(|| case.motor_data.clone()),
        complaint: some(&case.complaint),
        stage: case.stage.clone(),
        answers: (!answers.is_empty()).then_some(answers),
        notes: (!case.notes.is_empty()).then(|| case.notes.clone()),
    };
    let mut text = serde_yaml::to_string(&raw).map_err(|e| e.to_string())?;
    // The writer's block style does not bring every text back: line separators other than `\n` at its
    // start or end, for one. Such a case is written in quotes throughout.
    if !read(text.as_bytes(), knowledge).is_ok_and(|again| again == *case) {
        text = in_quotes(&raw);
    }
    if text.len() > LARGEST {
        return Err(format!(
            "the case would have {} bytes; {LARGEST} are the most that is read again",
            text.len()
        ));
    }
    Ok(text)
}

/// The file with every text in double quotes, as JSON writes them, which YAML reads too.
fn in_quotes(raw: &Raw) -> String {
    let mut text = String::new();
    let named = [
        ("format", &raw.format),
        ("case", &raw.case),
        ("motor", &raw.motor),
        ("complaint", &raw.complaint),
        ("stage", &raw.stage),
    ];
    for (key, value) in named {
        if let Some(value) = value {
            text += &format!("{key}: {}\n", quoted(value));
        }
    }
    for (key, map) in [(MOTOR_DATA, &raw.motor_data), ("answers", &raw.answers)] {
        if let Some(map) = map {
            text += &format!("{key}:\n");
            map.iter().for_each(|(id, said)| text += &format!("  {}: {}\n", quoted(id), quoted(said)));
        }
    }
    if let Some(notes) = &raw.notes {
        text += "notes:\n";
        notes.iter().for_each(|note| text += &format!("- {}\n", quoted(note)));
    }
    text
}

/// A text in double quotes. What is not printable, or breaks a line in YAML but not in JSON, is escaped.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            '\n' => quoted += "\\n",
            c if c.is_control()
                || matches!(c, '\u{2028}' | '\u{2029}' | '\u{feff}')
                || ('\u{fff0}'..='\u{ffff}').contains(&c) =>
            {
                quoted += &format!("\\u{:04X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted + "\""
}

/// The bytes as text without a byte order mark; refused when too large, not UTF-8, or with NUL in it.
fn plain_text(bytes: &[u8]) -> Result<&str, Problem> {
    if bytes.len() > LARGEST {
        let message = format!("the file is too large for a case: more than {LARGEST} bytes");
        return Err(Problem { line: 1, column: 1, message });
    }
    let text = std::str::from_utf8(bytes).map_err(|e| {
        let (line, column) = place(&bytes[..e.valid_up_to()]);
        Problem { line, column, message: "this is not UTF-8 text; save the file as UTF-8".into() }
    })?;
    if let Some(at) = text.bytes().position(|b| b == 0) {
        let (line, column) = place(&bytes[..at]);
        return Err(Problem {
            line,
            column,
            message: "a NUL byte stands here; a case file is plain text".into(),
        });
    }
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

/// Line and column after these bytes, which are UTF-8.
fn place(before: &[u8]) -> (usize, usize) {
    let text = String::from_utf8_lossy(before);
    let line = text.matches('\n').count() + 1;
    let column = text.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
    (line, column)
}

/// Refuses what is not a case file of this format.
fn format(text: &str, layout: &Layout) -> Result<(), Problem> {
    let first_line = format!("a case file begins with `format: {FORMAT}`");
    let root = layout.root.filter(|root| root.shape != Shape::Nothing);
    let Some(root) = root else { return Err(at(START, format!("the file is empty; {first_line}"))) };
    if root.shape != Shape::Map {
        return Err(at(root.spot, format!("this is not a case file; {first_line}")));
    }
    let Some(value) = layout.at("format").filter(|v| v.shape == Shape::Text) else {
        return Err(at(START, format!("the file does not say its format; {first_line}")));
    };
    let head: Head = serde_yaml::from_str(text).map_err(|e| not_yaml(&e))?;
    if head.format == FORMAT {
        return Ok(());
    }
    let number = head.format.strip_prefix(FORMAT_STEM).filter(|n| n.parse::<u32>().is_ok_and(|n| n > 1));
    Err(match number {
        Some(number) => at(
            value.spot,
            format!(
                "this case is written in format {number}, which is newer than this program; it reads format 1. Use a newer program"
            ),
        ),
        None => at(value.spot, format!("this is a file of format `{}`; {first_line}", shown(&head.format))),
    })
}

/// Keys at the top that a case file does not have.
fn strange_keys(layout: &Layout) -> Vec<Problem> {
    let known = KEYS.map(|(key, _)| key);
    let strange = layout.top.iter().filter(|(key, _)| !known.contains(&&**key));
    strange
        .map(|(key, value)| {
            let hint = hint(nearest(key, known));
            let message =
                format!("a case file has no key `{}`{hint}: its keys are {}", shown(key), known.join(", "));
            at(value.key, message)
        })
        .collect()
}

/// Values of known keys that are a list where text is wanted, and the like.
fn misshapen(layout: &Layout) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (key, wanted) in KEYS {
        let Some(value) = layout.at(key).filter(|v| v.shape != Shape::Nothing && v.shape != wanted) else {
            continue;
        };
        let wanted = match wanted {
            Shape::Map if key == MOTOR_DATA => "each value on a line of its own, as `voltage: 7.2 V`",
            Shape::Map => "each answer on a line of its own, as `id: answer`",
            Shape::List => "a list, each member on a line that begins with `- `",
            _ => "text",
        };
        problems.push(at(value.spot, format!("`{key}` is {}; write {wanted}", name(value.shape))));
    }
    for (top, inner, value) in layout.inner().filter(|(_, _, v)| matches!(v.shape, Shape::List | Shape::Map))
    {
        let is = name(value.shape);
        match top {
            "answers" => problems.push(at(
                value.spot,
                format!("the answer to `{}` is {is}; write one state or one quantity", shown(inner)),
            )),
            MOTOR_DATA => {
                problems.push(at(value.spot, format!("`{}` is {is}; write one value", shown(inner))))
            }
            "notes" => {
                problems.push(at(
                    value.spot,
                    format!("this note is {is}; write text, in quotes if a colon is in it"),
                ));
            }
            _ => {}
        }
    }
    problems
}

/// Checks what was read against the knowledge.
fn check(raw: Raw, layout: &Layout, knowledge: &Knowledge, problems: &mut Vec<Problem>) -> Case {
    let mut case = Case {
        case: raw.case.unwrap_or_default(),
        motor: raw.motor.filter(|m| !m.is_empty()),
        motor_data: IndexMap::new(),
        complaint: raw.complaint.unwrap_or_default(),
        stage: raw.stage.filter(|s| !s.is_empty()),
        answers: IndexMap::new(),
        notes: raw.notes.unwrap_or_default(),
    };
    let spot = |key| layout.at(key).map_or(START, |v| v.spot);
    if let Some(motor) = case.motor.as_deref().filter(|m| knowledge.motor(m).is_none()) {
        problems.push(at(spot("motor"), unknown("motor", motor, knowledge.motors.iter().map(|m| &*m.id))));
    }
    if let Some(stage) = case.stage.as_deref().filter(|s| knowledge.stage_index(s).is_none()) {
        problems.push(at(spot("stage"), unknown("stage", stage, knowledge.stages.iter().map(|s| &*s.id))));
    }
    for (key, text) in raw.motor_data.unwrap_or_default() {
        let value = layout.under(MOTOR_DATA, &key);
        match own_motor::check(knowledge, &key, &text) {
            Ok(()) => {
                case.motor_data.insert(key, text);
            }
            Err(why) => problems.push(at(value.map_or(START, |v| v.spot), why)),
        }
    }
    for (id, text) in raw.answers.unwrap_or_default() {
        let value = layout.under("answers", &id);
        let text = if value.is_some_and(|v| v.shape == Shape::Nothing) { "" } else { &*text };
        match Answer::read(knowledge, &id, text) {
            Ok(answer) => {
                case.answers.insert(id, answer);
            }
            Err(error) => {
                let spot = value.map_or(START, |v| if error.is_about_id() { v.key } else { v.spot });
                problems.push(at(spot, error.to_string()));
            }
        }
    }
    case
}

fn unknown<'a>(what: &str, id: &str, known: impl Iterator<Item = &'a str> + Clone) -> String {
    let hint = hint(nearest(id, known.clone()));
    let all: Vec<&str> = known.collect();
    format!("no {what} is called `{}`{hint}: write one of {}", shown(id), all.join(", "))
}

fn name(shape: Shape) -> &'static str {
    match shape {
        Shape::Nothing => "empty",
        Shape::Text => "text",
        Shape::List => "a list",
        Shape::Map => "a mapping",
    }
}

const START: Spot = Spot { line: 1, column: 1 };

fn at(spot: Spot, message: String) -> Problem {
    Problem { line: spot.line, column: spot.column, message }
}

fn sorted(mut problems: Vec<Problem>) -> Vec<Problem> {
    problems.sort_by_key(|p| (p.line, p.column));
    problems
}

fn not_yaml(error: &serde_yaml::Error) -> Problem {
    let (line, column) = error.location().map_or((1, 1), |l| (l.line(), l.column()));
    Problem { line: line.max(1), column: column.max(1), message: format!("this can't be read: {error}") }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
