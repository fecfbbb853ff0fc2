//! Single answers: a state, a reading, or "unknown".

use super::kinds;
use super::wording::{hint, shown};
use crate::bench::{self, QuantityError};
use crate::knowledge::{Entry, Knowledge, Reading, nearest};

/// How "I don't know" and "I can't check" are written.
pub const UNKNOWN: &str = "unknown";

/// What was answered to one question.
///
/// The weights of the bands that a reading falls into are not kept here: they hang on the motor, which
/// may be named or changed later. [`super::evidence::bands`] gives them.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// Index of a state of the factor or observation.
    State(usize),
    /// A measured value.
    Reading {
        /// As it was written.
        text: String,
        /// In the base unit of the reading's kind.
        value: f64,
        /// One standard deviation in the same unit, where it was written with the value; otherwise that of
        /// the reading holds.
        deviation: Option<f64>,
    },
    /// Not known, or can't be checked: no evidence.
    Unknown,
}

/// Why an answer was refused. Its message says what would be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum AnswerError {
    /// Not of the form `ID=VALUE`.
    #[error("`{text}` is not an answer: write ID=VALUE, such as `{example}`")]
    NotAPair {
        /// What was written.
        text: String,
        /// An answer that would be right.
        example: String,
    },
    /// No question has this id.
    #[error("no question is called `{id}`{}", hint(nearest.as_deref()))]
    UnknownId {
        /// The id.
        id: String,
        /// The nearest known one.
        nearest: Option<String>,
    },
    /// The id is that of something that is not asked.
    #[error("`{id}` is {what} and can't be answered; factors, observations and readings can")]
    NotAQuestion {
        /// The id.
        id: String,
        /// What it is, with the article.
        what: &'static str,
    },
    /// There is no value.
    #[error("`{id}` has no answer: write {wanted}")]
    Empty {
        /// The id.
        id: String,
        /// What would be right.
        wanted: String,
    },
    /// The question has no such state.
    #[error("`{id}` has no state `{state}`{}: write {wanted}", hint(nearest.as_deref()))]
    UnknownState {
        /// The id.
        id: String,
        /// What was written.
        state: String,
        /// The nearest known state.
        nearest: Option<String>,
        /// What would be right.
        wanted: String,
    },
    /// A quantity could not be read.
    #[error("`{id}`: {error}")]
    Quantity {
        /// The id.
        id: String,
        /// What is wrong with it.
        error: QuantityError,
    },
    /// A quantity is outside of what can be.
    #[error(
        "`{id}`: `{text}` is absurd; it should lie between {least} and {greatest}: check the reading and its unit"
    )]
    Implausible {
        /// The id.
        id: String,
        /// What was written.
        text: String,
        /// Least plausible value.
        least: String,
        /// Greatest plausible value.
        greatest: String,
    },
}

impl Answer {
    /// Reads an answer to the question with this id, which may be a factor, an observation or a reading.
    ///
    /// Where an observation and a reading share the id, a number is the reading and a word is a state of
    /// the observation.
    ///
    /// # Errors
    ///
    /// [`AnswerError`] when there is no such question or the answer does not fit it.
    pub fn read(knowledge: &Knowledge, id: &str, text: &str) -> Result<Answer, AnswerError> {
        let states = knowledge.states(id);
        let reading = knowledge.reading(id);
        if states.is_none() && reading.is_none() {
            return Err(not_a_question(knowledge, id));
        }
        let text = text.trim();
        if text == UNKNOWN {
            return Ok(Answer::Unknown);
        }
        let states = states.unwrap_or_default();
        if let Some(index) = states.iter().position(|(s, _)| *s == text) {
            return Ok(Answer::State(index));
        }
        if text.is_empty() {
            return Err(AnswerError::Empty { id: id.to_owned(), wanted: wanted(&states, reading) });
        }
        match reading {
            Some(reading) if states.is_empty() || bench::looks_like_quantity(text) => measured(reading, text),
            _ => Err(AnswerError::UnknownState {
                id: id.to_owned(),
                state: shown(text),
                nearest: nearest(text, states.iter().map(|(s, _)| *s)).map(str::to_owned),
                wanted: wanted(&states, reading),
            }),
        }
    }

    /// Reads an answer of the form `ID=VALUE`.
    ///
    /// # Errors
    ///
    /// [`AnswerError`] when it has another form, there is no such question or the answer does not fit it.
    pub fn read_pair(knowledge: &Knowledge, text: &str) -> Result<(String, Answer), AnswerError> {
        let Some((id, value)) = text.split_once('=') else {
            return Err(AnswerError::NotAPair { text: shown(text), example: example(knowledge) });
        };
        let id = id.trim();
        Answer::read(knowledge, id, value).map(|answer| (id.to_owned(), answer))
    }

    /// The answer as it is written in a case file. A state that the question does not have, which can only
    /// come from another knowledge base, is written as unknown.
    pub fn text(&self, knowledge: &Knowledge, id: &str) -> String {
        match self {
            Answer::State(index) => {
                let states = knowledge.states(id).unwrap_or_default();
                states.get(*index).map_or(UNKNOWN, |(state, _)| *state).to_owned()
            }
            Answer::Reading { text, .. } => text.clone(),
            Answer::Unknown => UNKNOWN.to_owned(),
        }
    }
}

impl AnswerError {
    /// Whether the id is wrong, and not the value.
    pub fn is_about_id(&self) -> bool {
        matches!(self, AnswerError::UnknownId { .. } | AnswerError::NotAQuestion { .. })
    }
}

fn measured(reading: &Reading, text: &str) -> Result<Answer, AnswerError> {
    let id = || reading.id.clone();
    let refused = |error| AnswerError::Quantity { id: id(), error };
    let (number, tolerance) = with_tolerance(text);
    let value = kinds::read(reading.kind, number).map_err(refused)?;
    let deviation = match tolerance {
        Some(part) if part.trim_end().ends_with('%') => {
            Some(bench::read(bench::Kind::Ratio, part).map_err(refused)? * value)
        }
        Some(part) => Some(kinds::read_difference(reading.kind, part).map_err(refused)?),
        None => None,
    };
    let deviation = deviation.map(f64::abs);
    let [(least, low), (greatest, high)] = &reading.plausible;
    if value < *low || value > *high {
        let (least, greatest) = (least.clone(), greatest.clone());
        return Err(AnswerError::Implausible { id: id(), text: shown(text), least, greatest });
    }
    Ok(Answer::Reading { text: text.to_owned(), value, deviation })
}

/// The signs between a value and its standard deviation: `2.4 A ± 0.1 A`, `2.4 A +/- 4 %`.
const TOLERANCE_SIGNS: [&str; 3] = ["±", "+/-", "+-"];

fn with_tolerance(text: &str) -> (&str, Option<&str>) {
    let parts = TOLERANCE_SIGNS.iter().find_map(|sign| text.split_once(sign));
    parts.map_or((text, None), |(value, tolerance)| (value, Some(tolerance)))
}

fn not_a_question(knowledge: &Knowledge, id: &str) -> AnswerError {
    let what = match knowledge.entry(id) {
        Some(Entry::Fault(_)) => "a fault",
        Some(Entry::Repair(_)) => "a repair",
        Some(Entry::Scope(_)) => "a scope of work",
        Some(Entry::Caution(_)) => "a caution",
        Some(Entry::Motor(_)) => "a motor",
        Some(Entry::Stage(_)) => "a stage",
        Some(Entry::Source(_)) => "a source",
        Some(Entry::Measurement(_)) => "a bench measurement",
        _ => {
            let nearest = nearest(id, questions(knowledge)).map(str::to_owned);
            return AnswerError::UnknownId { id: shown(id), nearest };
        }
    };
    AnswerError::NotAQuestion { id: shown(id), what }
}

/// The ids of everything that can be answered.
fn questions(knowledge: &Knowledge) -> impl Iterator<Item = &str> {
    let factors = knowledge.factors.iter().map(|f| &*f.id);
    let observations = knowledge.observations.iter().map(|o| &*o.id);
    factors.chain(observations).chain(knowledge.readings.iter().map(|r| &*r.id))
}

/// What an answer may be, for a message.
fn wanted(states: &[(&str, &str)], reading: Option<&Reading>) -> String {
    let measured = reading.map(|r| {
        let kind = kinds::of_bench(r.kind);
        format!("{} {}", kind.with_article(), kind.advice())
    });
    let states = (!states.is_empty()).then(|| states.iter().map(|(s, _)| *s).collect::<Vec<_>>().join(", "));
    let both: Vec<String> = states.into_iter().chain(measured).collect();
    format!("{}, or `{UNKNOWN}`", both.join(", or "))
}

fn example(knowledge: &Knowledge) -> String {
    let first = knowledge.observations.first();
    let state = first.and_then(|o| o.states.last());
    match (first, state) {
        (Some(o), Some(s)) => format!("{}={}", o.id, s.id),
        _ => format!("id={UNKNOWN}"),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::case::sample::knowledge;

    fn refusal(pair: &str) -> String {
        Answer::read_pair(&knowledge(), pair).unwrap_err().to_string()
    }

    #[test]
    fn answers_are_states_readings_or_unknown() {
        let k = knowledge();
        for (pair, id, want) in [
            ("power-loss=severe", "power-loss", Answer::State(2)),
            ("water-exposure = splashed", "water-exposure", Answer::State(1)),
            ("power-loss=unknown", "power-loss", Answer::Unknown),
            ("no-load-current=unknown", "no-load-current", Answer::Unknown),
            ("brush-length=near-limit", "brush-length", Answer::State(1)),
        ] {
            assert_eq!(Answer::read_pair(&k, pair), Ok((id.to_owned(), want)), "{pair}");
        }
        let (_, read) = Answer::read_pair(&k, "brush-length=4,5 mm").unwrap();
        assert!(
            matches!(&read, Answer::Reading { text, value, deviation: None } if text == "4,5 mm" && (value - 0.0045).abs() < 1e-12)
        );
        assert_eq!(read.text(&k, "brush-length"), "4,5 mm");
        for (text, want) in
            [("2 A ± 0.1 A", 0.1), ("2 A +/- 5 %", 0.1), ("2 A +-100mA", 0.1), ("2 A ± 5%", 0.1)]
        {
            let (_, read) = Answer::read_pair(&k, &format!("no-load-current={text}")).unwrap();
            let Answer::Reading { value, deviation: Some(deviation), .. } = read else { panic!("{text}") };
            assert!((value - 2.0).abs() < 1e-12 && (deviation - want).abs() < 1e-12, "{text}");
        }
        assert!(refusal("no-load-current=2 A ± 3 V").contains("voltage"));
        assert_eq!(Answer::State(2).text(&k, "power-loss"), "severe");
        assert_eq!(Answer::State(9).text(&k, "power-loss"), "unknown");
    }

    #[test]
    fn refusals_say_what_would_be_right() {
        for (pair, want) in [
            ("severe", "`severe` is not an answer: write ID=VALUE, such as `power-loss=severe`"),
            ("power-los=some", "no question is called `power-los` (did you mean `power-loss`?)"),
            (
                "brush-worn=yes",
                "`brush-worn` is a fault and can't be answered; factors, observations and readings can",
            ),
            (
                "power-loss=sever",
                "`power-loss` has no state `sever` (did you mean `severe`?): write none, some, severe, or `unknown`",
            ),
            ("power-loss=", "`power-loss` has no answer: write none, some, severe, or `unknown`"),
            ("power-loss=3 A", "`power-loss` has no state `3 A`: write none, some, severe, or `unknown`"),
            (
                "no-load-current=2.4",
                "`no-load-current`: `2.4` has no unit: write a current in A or mA, such as `2.4 A`",
            ),
            (
                "no-load-current=2.4 V",
                "`no-load-current`: `2.4 V` is a voltage; this reading is a current: write it in A or mA",
            ),
            (
                "no-load-current=2000 A",
                "`no-load-current`: `2000 A` is absurd; it should lie between 0 A and 60 A: check the reading and its unit",
            ),
            (
                "no-load-current=-2 A",
                "`no-load-current`: `-2 A` is absurd; it should lie between 0 A and 60 A: check the reading and its unit",
            ),
            (
                "brush-length=short",
                "`brush-length` has no state `short`: write good, near-limit, below-limit, or a length in mm or in, or `unknown`",
            ),
        ] {
            assert_eq!(refusal(pair), want);
        }
    }
}
