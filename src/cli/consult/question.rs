//! Putting one question, with all that may be asked back.

use super::super::exit::Failure;
use super::super::measure;
use super::super::prompt::{Choice, Prompt, Reply, Side, TextWanted};
use super::{Consultation, Turn};
use crate::case::Answer;
use crate::knowledge::{Ask, Derive, Kind, Knowledge, Measurement, Motor, Reading};
use crate::plan::assess::Assessment;
use crate::plan::questions::Valued;
use crate::plan::reason::reason;
use crate::present::measure::taken;
use crate::present::text::{Styled, Text, minutes};
use crate::present::triage::text::{cautions_before, name, state_words};
use crate::present::triage::why::{Consequences, because, saving};

impl<'c, 'k> Consultation<'c, 'k> {
    /// Puts the question that is worth most.
    pub(super) fn ask_valued(
        &mut self,
        assessment: &Assessment<'c, 'k>,
        valued: &Valued<'k>,
    ) -> Result<Turn, Failure> {
        let id = valued.candidate.id;
        self.put += 1;
        let stage = &self.knowledge().stages[assessment.moment.stage];
        let heading = format!(
            "Question {} · {} · about {}",
            self.earlier + self.put,
            stage.name.to_lowercase(),
            minutes(valued.own_minutes())
        );
        let sides = self.sides(true);
        let mut said = self.cautioned.clone();
        let mut prompt = self.prompt(id, heading, sides, &mut said);
        loop {
            let reply = self.prompter.ask(&prompt)?;
            // Asked again, it is short: what stands before it was just read.
            prompt.note = Text::new();
            match reply {
                Reply::Side(Side::Why) => {
                    let text = why(assessment, valued);
                    self.prompter.read(&text)?;
                }
                Reply::Side(Side::Ranking) => self.show_ranking(assessment)?,
                Reply::Side(Side::Back) => {
                    self.put -= 1;
                    return self.change();
                }
                Reply::Side(Side::Stop) => return Ok(Turn::Stop),
                other if self.taken(id, &other)? => {
                    self.cautioned = said;
                    return Ok(Turn::Again);
                }
                _ => {}
            }
        }
    }

    /// Asks for an answer to any question, without its worth; false when the person turns back.
    pub(super) fn ask_plainly(
        &mut self,
        id: &'k str,
        heading: String,
        begin: usize,
    ) -> Result<bool, Failure> {
        let mut said = self.cautioned.clone();
        let mut prompt = self.prompt(id, heading, vec![Side::Unknown, Side::How, Side::Back], &mut said);
        prompt.begin = begin;
        loop {
            let reply = self.prompter.ask(&prompt)?;
            prompt.note = Text::new();
            match reply {
                Reply::Side(Side::Back) => return Ok(false),
                other if self.taken(id, &other)? => {
                    self.cautioned = said;
                    return Ok(true);
                }
                _ => {}
            }
        }
    }

    /// Takes a reply that answers, or does what helps to answer; false when the question is still open.
    fn taken(&mut self, id: &'k str, reply: &Reply) -> Result<bool, Failure> {
        match reply {
            Reply::Choice(i) => {
                self.dark = 0;
                self.take(id, Answer::State(*i))?;
            }
            Reply::Text(typed) => return self.take_typed(id, typed),
            Reply::Side(Side::Unknown) => {
                self.dark += 1;
                self.take(id, Answer::Unknown)?;
            }
            Reply::Side(Side::Measure) => return self.work_out(id),
            Reply::Side(_) | Reply::Several { .. } => {
                if let Some(ask) = self.knowledge().ask(id) {
                    self.prompter.read(&how(self.planner.knowledge, ask))?;
                }
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Leads through the measurement that answers a question, and takes all that it gives; false when it was
    /// broken off or gave nothing.
    fn work_out(&mut self, id: &'k str) -> Result<bool, Failure> {
        let knowledge = self.knowledge();
        let fitting = measurements_for(knowledge, id);
        let of = match fitting.as_slice() {
            [] => return Ok(false),
            [one] => *one,
            many => {
                let reply = self.prompter.ask(&Prompt {
                    id: "measurement".into(),
                    heading: "At the bench".into(),
                    question: "From which measurement?".into(),
                    choices: many
                        .iter()
                        .map(|m| Choice { note: m.summary.clone(), ..Choice::new(&m.id, &m.name) })
                        .collect(),
                    side: vec![Side::Back],
                    ..Prompt::default()
                })?;
                let Reply::Choice(i) = reply else { return Ok(false) };
                match many.get(i) {
                    Some(of) => *of,
                    None => return Ok(false),
                }
            }
        };
        self.measured(of)
    }

    /// Leads through a measurement and takes all that it gives; false when that is nothing.
    pub(super) fn measured(&mut self, of: &'k Measurement) -> Result<bool, Failure> {
        let knowledge = self.knowledge();
        let motor = self.case.motor(knowledge);
        let Some(outcome) = measure::within(knowledge, of, motor.as_deref(), self.prompter)? else {
            return Ok(false);
        };
        let (answers, _) = taken(knowledge, of, &outcome);
        for answer in &answers {
            self.case.answer(&answer.id, answer.answer.clone());
        }
        self.dark = if answers.is_empty() { self.dark } else { 0 };
        self.settle()?;
        self.save()?;
        for answer in &answers {
            self.warn_about(&answer.id)?;
        }
        Ok(!answers.is_empty())
    }

    /// The side actions; back only where there is something to go back to.
    pub(super) fn sides(&self, unknown: bool) -> Vec<Side> {
        let mut sides = vec![Side::Why, Side::How, Side::Ranking, Side::Stop];
        if unknown {
            sides.push(Side::Unknown);
        }
        if !self.case.answers.is_empty() {
            sides.push(Side::Back);
        }
        sides
    }

    /// The question; `said` holds the cautions that were given in full, and gets those that it gives.
    fn prompt(&self, id: &'k str, heading: String, side: Vec<Side>, said: &mut Vec<String>) -> Prompt {
        let knowledge = self.knowledge();
        let states = knowledge.states(id).unwrap_or_default();
        let mut text = Text::new();
        let question = match knowledge.ask(id) {
            Some(ask) => {
                cautions_before(knowledge, &ask.cautions, 0, said, &mut text);
                if !nothing(&ask.risk) {
                    text.item(0, Styled::new().warn("Mind: "), ask.risk.as_str());
                }
                ask.question.clone()
            }
            None => String::new(),
        };
        let motor = self.case.motor(knowledge);
        let mut side = side;
        if side.contains(&Side::How) && !measurements_for(knowledge, id).is_empty() {
            side.push(Side::Measure);
        }
        Prompt {
            id: id.into(),
            heading,
            question,
            note: text,
            choices: states.iter().map(|(id, label)| Choice::new(*id, *label)).collect(),
            text: reading_for(knowledge, id).map(|r| wanted(r, motor.as_deref())),
            side,
            ..Prompt::default()
        }
    }

    /// Takes a typed reading; false (and said why) when it is none.
    pub(super) fn take_typed(&mut self, id: &str, typed: &str) -> Result<bool, Failure> {
        let knowledge = self.knowledge();
        let id = reading_for(knowledge, id).map_or(id, |r| r.id.as_str());
        match Answer::read(knowledge, id, typed) {
            Ok(answer) => {
                self.dark = if answer == Answer::Unknown { self.dark + 1 } else { 0 };
                self.take(id, answer)?;
                Ok(true)
            }
            Err(error) => {
                self.prompter.say(&Text::from(Styled::new().warn(error.to_string())))?;
                Ok(false)
            }
        }
    }
}

/// Whether a risk text says that there is none.
pub(super) fn nothing(risk: &str) -> bool {
    risk.trim().is_empty() || risk.trim() == "none"
}

/// The reading that answers an observation, or has its id.
pub(super) fn reading_for<'k>(knowledge: &'k Knowledge, id: &str) -> Option<&'k Reading> {
    knowledge
        .reading(id)
        .or_else(|| knowledge.readings.iter().find(|r| r.bands.iter().any(|b| b.observation == id)))
}

/// The measurements that answer a question: first those that compute its reading, then those whose findings
/// speak of it.
pub(super) fn measurements_for<'k>(knowledge: &'k Knowledge, id: &str) -> Vec<&'k Measurement> {
    let reading = |r: &str| {
        r == id || knowledge.reading(r).is_some_and(|r| r.bands.iter().any(|b| b.observation == id))
    };
    let computes = |m: &&Measurement| m.results.iter().filter_map(|r| r.reading.as_deref()).any(reading);
    let speaks = |m: &&Measurement| m.findings.iter().any(|f| f.answers.iter().any(|(o, _)| o == id));
    let known = || knowledge.measurements.iter().filter(|m| measure::Test::named(&m.id).is_some());
    let first = known().filter(computes);
    first.chain(known().filter(|m| !computes(m)).filter(speaks)).collect()
}

/// A reading that may be typed, checked against the knowledge while it is typed.
pub(super) fn wanted(reading: &Reading, motor: Option<&Motor>) -> TextWanted {
    let nominal = match &reading.derive {
        Derive::Ratio(key) | Derive::Difference(key) => motor.and_then(|m| m.nominal.get(key)),
        Derive::Value => None,
    };
    // Where nothing is nominal, the edge of the normal says how large it may be.
    let edge = match &reading.derive {
        Derive::Value => reading.bands.first().and_then(|b| b.edges.first()).map(|(_, edge)| *edge),
        Derive::Ratio(_) | Derive::Difference(_) => None,
    };
    let example = nominal.map_or(example(reading.kind, edge), String::as_str);
    let alone = Knowledge { readings: vec![reading.clone()], ..Knowledge::default() };
    let id = reading.id.clone();
    TextWanted::checked(format!("what you measured, such as {example}"), move |typed| {
        Answer::read(&alone, &id, typed).map(|_| ()).map_err(|e| {
            // Whoever types it sees which question it is for.
            let said = e.to_string();
            said.strip_prefix(&format!("`{id}`: ")).unwrap_or(&said).to_string()
        })
    })
}

/// How a quantity of a kind is written; `edge` is about how large it is, in the base unit, where that is known.
fn example(kind: Kind, edge: Option<f64>) -> &'static str {
    match kind {
        Kind::Resistance if edge.is_some_and(|e| e >= 1000.0) => "2.4 Mohm",
        Kind::Length if edge.is_some_and(|e| e < 0.001) => "0.12 mm",
        Kind::Current => "2.4 A",
        Kind::Voltage => "7.2 V",
        Kind::Resistance => "0.12 ohm",
        Kind::Length => "6.1 mm",
        Kind::Speed => "20000 rpm",
        Kind::Temperature => "45 degC",
        Kind::Angle => "12 deg",
        Kind::Force => "0.7 N",
        Kind::Mass => "40 g",
        Kind::Time => "30 s",
        Kind::Ratio if edge.is_some_and(|e| e < 1.0) => "0.95",
        Kind::Ratio => "1.05",
        Kind::Torque => "12 mNm",
        Kind::Power => "20 W",
        Kind::Energy => "100 J",
        Kind::Pressure => "20 kPa",
    }
}

/// How to look or measure.
pub(super) fn how(knowledge: &Knowledge, ask: &Ask) -> Text {
    let mut text = Text::new();
    cautions_before(knowledge, &ask.cautions, 2, &mut Vec::new(), &mut text);
    text.item(2, Styled::new().strong("How: "), ask.how.as_str());
    if !nothing(&ask.risk) {
        text.item(2, Styled::new().warn("Mind: "), ask.risk.as_str());
    }
    text
}

/// Why a question is asked: what each answer would do.
fn why(assessment: &Assessment, valued: &Valued) -> Text {
    let knowledge = assessment.planner.knowledge;
    let mut text = Text::new();
    let reason = reason(assessment, valued);
    text.item(2, Styled::new().strong("Why: "), because(assessment, reason.as_ref()));
    let work = valued.outcomes.iter().any(|o| o.scope != valued.outcomes[0].scope);
    let mut rows = Consequences::new(assessment, "If the answer is", reason.as_ref(), work);
    let states = knowledge.states(valued.candidate.id).unwrap_or_default();
    for ((_, label), outcome) in states.iter().zip(&valued.outcomes) {
        rows.row(Styled::from(state_words(label)), outcome);
    }
    text.table(2, rows.table());
    saving(valued, "It", &mut text);
    text
}

/// The name of a question and the answer to it, for people.
pub(super) fn answered(knowledge: &Knowledge, id: &str, answer: &Answer) -> String {
    let value = match answer {
        Answer::State(i) => {
            let states = knowledge.states(id).unwrap_or_default();
            states.get(*i).map_or(String::new(), |(_, label)| state_words(label))
        }
        Answer::Reading { text, .. } => text.clone(),
        Answer::Unknown => "don't know".into(),
    };
    format!("{}: {value}", name(knowledge, id))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::BenchUnits;

    #[test]
    fn what_may_be_typed_has_an_example_that_would_be_taken() {
        let knowledge = crate::knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
        let mut tried = 0;
        for reading in &knowledge.readings {
            for motor in knowledge.motors.iter().map(Some).chain([None]) {
                let wanted = wanted(reading, motor);
                let example = wanted.hint.rsplit_once("such as ").map_or("", |(_, example)| example);
                Answer::read(&knowledge, &reading.id, example)
                    .unwrap_or_else(|e| panic!("{}: {example}: {e}", reading.id));
                tried += 1;
            }
        }
        assert!(tried > 50);
    }
}
