//! The result of a bench measurement: what was computed, what it means, what a case takes from it.

pub mod json;
pub mod text;

use serde_json::{Map, Value};

use crate::bench::{self, Estimate};
use crate::case::{Answer, AnswerError, of_bench};
use crate::knowledge::{Finding, Guide, Kind, Knowledge, Measurement, Motor};
use crate::present::text::Text;

/// What a measurement has found.
#[derive(Debug, Clone, Default)]
pub struct Outcome {
    /// One word for scripts, such as `cut`.
    pub verdict: String,
    /// The same for a person in a hurry: a sentence or two with the numbers that count.
    pub headline: String,
    /// The numbers, for people.
    pub rows: Vec<Row>,
    /// A picture in characters, and what else a person should see.
    pub body: Text,
    /// What to do now, in order.
    pub next: Vec<String>,
    /// What to be minded about the numbers: a meter that cannot tell, readings that contradict each other.
    pub warnings: Vec<String>,
    /// What scripts read beside the head; units stand in the keys.
    pub keys: Map<String, Value>,
    /// Figures that may be readings of a case, by the names that the knowledge knows them by; base units.
    pub figures: Vec<(String, Estimate)>,
    /// Words that the knowledge says the meaning of.
    pub words: Vec<String>,
    /// Limits that it was compared with.
    pub limits: Vec<Guide>,
    /// A picture of its own, as SVG.
    pub svg: Option<String>,
}

/// A number for people.
#[derive(Debug, Clone, Default)]
pub struct Row {
    /// What it is.
    pub label: String,
    /// The number with its unit.
    pub value: String,
    /// Its 95 % interval, or how sure it is; may be empty.
    pub range: String,
    /// What it is compared with; may be empty.
    pub against: String,
}

impl Outcome {
    /// An outcome with a verdict and what it means.
    pub fn new(verdict: impl Into<String>, headline: impl Into<String>) -> Self {
        Outcome { verdict: verdict.into(), headline: headline.into(), ..Outcome::default() }
    }

    /// Adds a number for people, with its interval where it has one.
    pub fn row(&mut self, label: &str, kind: Kind, of: Estimate, against: impl Into<String>) {
        let range = match of.deviation > 0.0 {
            true => interval(kind, &of),
            false => String::new(),
        };
        let value = bench::write_to(of_bench(kind), of.value, of.deviation);
        self.rows.push(Row { label: label.into(), value, range, against: against.into() });
    }

    /// Adds a number for people that no interval belongs to.
    pub fn plain_row(&mut self, label: &str, value: impl Into<String>, against: impl Into<String>) {
        let (label, value, against) = (label.into(), value.into(), against.into());
        self.rows.push(Row { label, value, range: String::new(), against });
    }

    /// Adds what scripts read. A number that is not finite becomes null: JSON has no other word for it.
    pub fn key(&mut self, key: &str, value: impl Into<Value>) {
        self.keys.insert(key.into(), value.into());
    }

    /// Adds an estimate for scripts: `{"value", "low", "high"}`, each times `factor`.
    pub fn estimate_key(&mut self, key: &str, of: Estimate, factor: f64) {
        let of = of.times(factor);
        self.key(key, serde_json::json!({"value": of.value, "low": of.low, "high": of.high}));
    }

    /// Adds a figure that may be a reading of a case.
    pub fn figure(&mut self, name: &str, of: Estimate) {
        self.figures.push((name.into(), of));
    }

    /// Adds a word that the knowledge says the meaning of.
    pub fn word(&mut self, word: &str) {
        if !self.words.iter().any(|w| w == word) {
            self.words.push(word.into());
        }
    }
}

/// A 95 % interval, such as `7.29 to 7.33 mm`.
pub fn interval(kind: Kind, of: &Estimate) -> String {
    match (of.low.is_finite(), of.high.is_finite()) {
        (true, true) => {
            let low = bench::write_to(of_bench(kind), of.low, of.deviation);
            let high = bench::write_to(of_bench(kind), of.high, of.deviation);
            // The same unit is said once.
            match (low.rsplit_once(' '), high.rsplit_once(' ')) {
                (Some((number, a)), Some((_, b))) if a == b => format!("{number} to {high}"),
                _ => format!("{low} to {high}"),
            }
        }
        (true, false) => format!("at least {}", bench::write_to(of_bench(kind), of.low, of.deviation)),
        (false, true) => format!("at most {}", bench::write_to(of_bench(kind), of.high, of.deviation)),
        (false, false) => "not known".into(),
    }
}

/// An answer that a case takes from a measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Id of the reading or observation.
    pub id: String,
    /// The answer.
    pub answer: Answer,
    /// The answer as a case file writes it.
    pub text: String,
}

/// What a case takes from an outcome: its figures as readings with their own deviation, then what its words
/// answer; and what it can't take, with the reason.
pub fn taken(knowledge: &Knowledge, of: &Measurement, outcome: &Outcome) -> (Vec<Taken>, Vec<String>) {
    let (mut answers, mut refused): (Vec<Taken>, Vec<String>) = Default::default();
    for result in &of.results {
        let figure = outcome.figures.iter().find(|(name, e)| *name == result.figure && e.value.is_finite());
        let reading = result.reading.as_deref().and_then(|id| knowledge.reading(id));
        let (Some((_, estimate)), Some(reading)) = (figure, reading) else {
            continue;
        };
        let kind = of_bench(reading.kind);
        let mut text = bench::write_to(kind, estimate.value, estimate.deviation);
        if estimate.deviation > 0.0 && estimate.deviation.is_finite() {
            text = format!("{text} ± {}", bench::write_difference(kind, estimate.deviation));
        }
        match Answer::read(knowledge, &reading.id, &text) {
            Ok(answer) => answers.push(Taken { id: reading.id.clone(), answer, text }),
            Err(AnswerError::Implausible { least, greatest, .. }) => refused.push(format!(
                "{} of {text} is left out of the case: it should lie between {least} and {greatest}.",
                reading.name
            )),
            Err(other) => refused.push(other.to_string()),
        }
    }
    for (id, state) in meant(of, outcome).flat_map(|f| &f.answers) {
        let answer = Answer::State(*state);
        let text = answer.text(knowledge, id);
        match answers.iter_mut().find(|t| t.id == *id) {
            Some(_) => {}
            None => answers.push(Taken { id: id.clone(), answer, text }),
        }
    }
    (answers, refused)
}

/// The figures of an outcome that are nominal values of a healthy motor: key and value as a motor's data
/// write it.
pub fn nominal(knowledge: &Knowledge, of: &Measurement, outcome: &Outcome) -> Vec<(String, String)> {
    let mut values = Vec::new();
    for result in &of.results {
        let figure = outcome.figures.iter().find(|(name, e)| *name == result.figure && e.value.is_finite());
        let (Some((_, estimate)), Some(key)) = (figure, &result.nominal) else { continue };
        let reading = result.reading.as_deref().and_then(|id| knowledge.reading(id));
        let kind = match reading.map(|r| r.kind).or_else(|| kind_of(knowledge, key)) {
            Some(kind) => of_bench(kind),
            None => continue,
        };
        if values.iter().any(|(known, _): &(String, String)| known == key) {
            continue;
        }
        values.push((key.clone(), bench::write_to(kind, estimate.value, estimate.deviation)));
    }
    values
}

/// The kind of a nominal value: that of the reading it is compared with, or of an input it answers.
fn kind_of(knowledge: &Knowledge, key: &str) -> Option<Kind> {
    let reading = knowledge.readings.iter().find(|r| r.derive.nominal() == Some(key));
    let inputs = || knowledge.measurements.iter().flat_map(|m| &m.inputs);
    reading.map(|r| r.kind).or_else(|| inputs().find(|i| i.nominal.as_deref() == Some(key))?.kind)
}

/// What the words of an outcome mean, in the order of the words.
pub fn meant<'k>(of: &'k Measurement, outcome: &Outcome) -> impl Iterator<Item = &'k Finding> {
    let found: Vec<&Finding> =
        outcome.words.iter().filter_map(|word| of.findings.iter().find(|f| f.word == *word)).collect();
    found.into_iter()
}

/// An outcome with everything that is said beside it.
#[derive(Debug)]
pub struct Sheet<'k> {
    /// The knowledge.
    pub knowledge: &'k Knowledge,
    /// What the knowledge says about the measurement.
    pub of: &'k Measurement,
    /// The motor, where it is known.
    pub motor: Option<&'k Motor>,
    /// What was found.
    pub outcome: &'k Outcome,
    /// Whether the cautions were given before the questions.
    pub cautioned: bool,
}
