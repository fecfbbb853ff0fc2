//! Names and units of columns, and which of them are time and current.

use super::super::{Note, RippleError};
use super::listed;

/// A column as its header describes it; both may be empty.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Column {
    pub name: String,
    pub unit: String,
}

/// What a column holds, as far as its header tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    Time,
    Current,
    Voltage,
    Other,
    Unknown,
}

/// Spellings, in lower case, and what one of the unit is in the base unit.
const TIME: [(&[&str], f64); 5] = [
    (&["s", "sec", "secs", "second", "seconds"], 1.0),
    (&["ms", "msec", "millisecond", "milliseconds"], 1e-3),
    (&["us", "\u{b5}s", "\u{3bc}s", "usec", "microsecond", "microseconds"], 1e-6),
    (&["ns", "nsec", "nanosecond", "nanoseconds"], 1e-9),
    (&["min", "minute", "minutes"], 60.0),
];
const CURRENT: [(&[&str], f64); 3] = [
    (&["a", "amp", "amps", "ampere", "amperes"], 1.0),
    (&["ma", "milliamp", "milliamps", "milliampere"], 1e-3),
    (&["ua", "\u{b5}a", "\u{3bc}a", "microampere"], 1e-6),
];
const VOLTAGE: [(&[&str], f64); 2] =
    [(&["v", "volt", "volts"], 1.0), (&["mv", "millivolt", "millivolts"], 1e-3)];

fn factor(table: &[(&[&str], f64)], unit: &str) -> Option<f64> {
    let unit = unit.to_lowercase();
    table.iter().find(|(names, _)| names.contains(&unit.as_str())).map(|(_, f)| *f)
}

impl Column {
    /// What it holds: by its unit, else by its name.
    pub fn role(&self) -> Role {
        if factor(&TIME, &self.unit).is_some() {
            return Role::Time;
        }
        if factor(&CURRENT, &self.unit).is_some() {
            return Role::Current;
        }
        if factor(&VOLTAGE, &self.unit).is_some() {
            return Role::Voltage;
        }
        let name = self.name.to_lowercase();
        let is = |words: &[&str]| words.contains(&name.as_str());
        match () {
            () if name.contains("time") || is(&["t", "x", "x-axis", "seconds"]) => Role::Time,
            () if name.contains("current") || name.contains("amp") || is(&["i"]) => Role::Current,
            () if name.contains("volt") || is(&["u", "v"]) => Role::Voltage,
            () if !self.unit.is_empty() => Role::Other,
            () => Role::Unknown,
        }
    }
}

/// Columns from up to two header lines: names, or names and units below them.
pub(super) fn columns(head: &[Vec<String>], width: usize) -> Vec<Column> {
    let cell = |row: &[String], i: usize| row.get(i).map(String::as_str).unwrap_or("").trim().to_owned();
    (0..width)
        .map(|i| match head {
            [] => Column::default(),
            [one] => split(&cell(one, i)),
            [first, second, ..] => {
                let below = cell(second, i);
                let bare = below.trim_matches(['(', ')', '[', ']']).trim().to_owned();
                let unit = [&TIME[..], &CURRENT[..], &VOLTAGE[..]].iter().any(|t| factor(t, &bare).is_some());
                // Where the lower line holds no units it is the header, and the upper one something else.
                if unit { Column { unit: bare, ..split(&cell(first, i)) } } else { split(&below) }
            }
        })
        .collect()
}

/// `time (ms)`, `time [ms]`, `time_ms`, `time in ms`, `time/ms`, `time ms`, or a unit alone.
fn split(text: &str) -> Column {
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let (Some(from), Some(to)) = (text.find(open), text.rfind(close))
            && from < to
        {
            let unit = text[from + open.len_utf8()..to].trim().to_owned();
            return Column { name: text[..from].trim().to_owned(), unit };
        }
    }
    if let Some((name, unit)) = text.rsplit_once(['_', ' ', '/']) {
        let known = [&TIME[..], &CURRENT[..], &VOLTAGE[..]].iter().any(|t| factor(t, unit).is_some());
        if known {
            let name = name.trim().trim_end_matches(" in").trim().to_owned();
            return Column { name, unit: unit.to_owned() };
        }
    }
    Column { name: text.to_owned(), unit: String::new() }
}

/// The column of time: the first that its header says is one, or the first of two and more that have no
/// header at all.
pub(super) fn time(columns: &[Column]) -> Option<usize> {
    let bare = columns.iter().all(|c| c.name.is_empty() && c.unit.is_empty());
    match columns.iter().position(|c| c.role() == Role::Time) {
        None if bare && columns.len() > 1 => Some(0),
        found => found,
    }
}

/// The column of the current.
pub(super) fn current(
    columns: &[Column],
    time: Option<usize>,
    wanted: Option<&str>,
) -> Result<usize, RippleError> {
    if let Some(wanted) = wanted {
        let wanted = wanted.trim().to_lowercase();
        let full = |c: &Column| format!("{} ({})", c.name, c.unit).to_lowercase();
        let by_name = columns.iter().position(|c| c.name.to_lowercase() == wanted || full(c) == wanted);
        let by_number = wanted.parse::<usize>().ok().filter(|n| (1..=columns.len()).contains(n));
        return by_name
            .or(by_number.map(|n| n - 1))
            .ok_or_else(|| RippleError::NoSuchColumn { name: wanted, columns: listed(columns) });
    }
    let all = |role: Role| -> Vec<usize> {
        (0..columns.len()).filter(|i| Some(*i) != time && columns[*i].role() == role).collect()
    };
    // What says that it is a current comes before what may be one.
    for role in [Role::Current, Role::Unknown, Role::Voltage] {
        match all(role)[..] {
            [] => {}
            [one] => return Ok(one),
            // Trailing delimiters make columns without a name and without a value.
            [one, _]
                if role == Role::Unknown && columns.len() == one + 2 && columns[one + 1].name.is_empty() =>
            {
                return Ok(one);
            }
            ref several => {
                let named: Vec<Column> = several.iter().map(|i| columns[*i].clone()).collect();
                return Err(RippleError::SeveralCurrents { columns: listed(&named) });
            }
        }
    }
    Err(RippleError::NoCurrent { columns: listed(columns) })
}

/// Ampere in one of the column's unit.
pub(super) fn ampere(
    column: &Column,
    per_volt: Option<f64>,
    notes: &mut Vec<Note>,
) -> Result<f64, RippleError> {
    if let Some(ampere) = factor(&CURRENT, &column.unit) {
        return Ok(ampere);
    }
    let volts = factor(&VOLTAGE, &column.unit).or((column.role() == Role::Voltage).then_some(1.0));
    match (volts, per_volt) {
        (Some(volts), Some(per_volt)) => Ok(volts * per_volt),
        (Some(_), None) => Err(RippleError::Volts { name: column.name.clone() }),
        (None, _) if !column.unit.is_empty() => Err(RippleError::WrongUnit {
            name: column.name.clone(),
            unit: column.unit.clone(),
            wanted: "the current must be in A or mA, or in V with --per-volt",
        }),
        (None, Some(per_volt)) => Ok(per_volt),
        (None, None) => {
            notes.push(Note::NoUnit { name: column.name.clone(), taken: "A" });
            Ok(1.0)
        }
    }
}

/// Seconds in one of the column's unit.
pub(super) fn second(column: &Column, notes: &mut Vec<Note>) -> Result<f64, RippleError> {
    match factor(&TIME, &column.unit) {
        Some(second) => Ok(second),
        None if column.unit.is_empty() => {
            notes.push(Note::NoUnit { name: column.name.clone(), taken: "s" });
            Ok(1.0)
        }
        None => Err(RippleError::WrongUnit {
            name: column.name.clone(),
            unit: column.unit.clone(),
            wanted: "time must be in s, ms or us",
        }),
    }
}
