//! What a measurement works with: what was given, somebody to ask, the motor, and the limits of the trade.

use std::fmt::Write as _;

use crate::bench::{self, Kind};
use crate::cli::exit::Failure;
use crate::cli::prompt::{AskError, Choice, Prompt, Prompter, Reply, Side, TextWanted};
use crate::knowledge::{Guide, Input, Knowledge, Measurement, Motor};
use crate::present::measure::Outcome;
use crate::present::text::{Styled, Text};
use crate::present::triage::text::cautions_before;

/// Why there is no outcome.
#[derive(Debug)]
pub enum Halt {
    /// The person turned back.
    Stopped,
    /// What was given or measured is wrong.
    Wrong(Failure),
    /// Nobody can be asked any more.
    Lost(Failure),
}

impl From<Failure> for Halt {
    fn from(failure: Failure) -> Self {
        Halt::Wrong(failure)
    }
}

impl From<AskError> for Halt {
    fn from(error: AskError) -> Self {
        Halt::Lost(error.into())
    }
}

/// One measurement in progress.
pub struct Sheet<'a, 'k> {
    knowledge: &'k Knowledge,
    of: &'k Measurement,
    motor: Option<&'k Motor>,
    asker: Option<&'a mut dyn Prompter>,
    /// Whether nothing was given, so that the person is asked for everything that is of use.
    pub(super) guided: bool,
    said: Vec<String>,
    used: Vec<Guide>,
}

impl<'a, 'k> Sheet<'a, 'k> {
    /// A measurement about to begin; without an asker nothing is ever asked.
    pub fn new(
        knowledge: &'k Knowledge,
        of: &'k Measurement,
        motor: Option<&'k Motor>,
        asker: Option<&'a mut dyn Prompter>,
    ) -> Self {
        Sheet { knowledge, of, motor, asker, guided: false, said: Vec::new(), used: Vec::new() }
    }

    /// The motor, where it is known.
    pub fn motor(&self) -> Option<&'k Motor> {
        self.motor
    }

    /// The numbers of armature slots that the motors of the knowledge have, each once, rising.
    pub fn slot_counts(&self) -> Vec<u32> {
        let counts: std::collections::BTreeSet<u32> =
            self.knowledge.motors.iter().map(|m| m.slots).filter(|s| *s >= 3).collect();
        counts.into_iter().collect()
    }

    /// Whether somebody can be asked.
    pub fn can_ask(&self) -> bool {
        self.asker.is_some()
    }

    /// Whoever is asked, to say something in between or to hold a longer exchange.
    pub fn asker(&mut self) -> Option<&mut (dyn Prompter + 'a)> {
        match &mut self.asker {
            Some(asker) => Some(&mut **asker),
            None => None,
        }
    }

    /// Whether cautions were given before a question.
    pub(super) fn cautioned(&self) -> bool {
        !self.said.is_empty()
    }

    /// The outcome with the limits that were used.
    pub(super) fn finish(&self, mut outcome: Outcome) -> Outcome {
        outcome.limits = self.used.clone();
        outcome
    }

    /// The motor's nominal value that answers this input, in base units; none when the motor or its value is
    /// not known.
    ///
    /// # Errors
    /// When it is written wrongly in the motor's data, or the knowledge does not know the input.
    pub fn nominal(&self, id: &str, kind: Kind) -> Result<Option<f64>, Failure> {
        let key = self.input(id)?.nominal.as_deref();
        let Some((motor, key, text)) = self.motor.zip(key).and_then(|(m, k)| Some((m, k, m.nominal.get(k)?)))
        else {
            return Ok(None);
        };
        let read = bench::read(kind, text);
        read.map(Some).map_err(|e| Failure::input(format!("the `{key}` of `{}`: {e}", motor.id)))
    }

    /// A limit or usual value that holds for all sizes, in base units; it is listed under the result.
    ///
    /// # Errors
    /// When the knowledge has none.
    pub fn limit(&mut self, id: &str) -> Result<f64, Failure> {
        let found = self.of.limits.iter().find(|g| g.id == id && g.size.is_none());
        let guide = found.cloned().ok_or_else(|| self.lacks(&format!("the limit `{id}`")))?;
        Ok(self.use_guide(guide))
    }

    /// The limit for a size (base units, to 2 %); none when the knowledge has none for it.
    pub fn limit_for(&mut self, id: &str, size: f64) -> Option<f64> {
        let near = |g: &&Guide| g.size.is_some_and(|s| (s - size).abs() <= 0.02 * s.abs());
        let guide = self.of.limits.iter().filter(|g| g.id == id).find(near)?.clone();
        Some(self.use_guide(guide))
    }

    /// A number that the computation needs and that is no limit to show.
    ///
    /// # Errors
    /// As [`Sheet::limit`].
    pub fn usual(&self, id: &str) -> Result<f64, Failure> {
        let found = self.of.limits.iter().find(|g| g.id == id && g.size.is_none());
        found.map(|g| g.value).ok_or_else(|| self.lacks(&format!("the value `{id}`")))
    }

    /// A limit as the knowledge gives it, with its name and basis; it is listed under the result.
    pub fn guide(&mut self, id: &str) -> Option<&'k Guide> {
        let guide = self.of.limits.iter().find(|g| g.id == id)?;
        self.use_guide(guide.clone());
        Some(guide)
    }

    /// All limits of an id, one for each size; none is listed under the result.
    pub fn guides(&self, id: &str) -> impl Iterator<Item = &'k Guide> {
        self.of.limits.iter().filter(move |g| g.id == id)
    }

    fn use_guide(&mut self, guide: Guide) -> f64 {
        let value = guide.value;
        if !self.used.iter().any(|g| g.id == guide.id && g.size == guide.size) {
            self.used.push(guide);
        }
        value
    }

    fn lacks(&self, what: &str) -> Failure {
        Failure::input(format!("the knowledge of the measurement `{}` lacks {what}", self.of.id))
    }

    /// The ids of the faults that these words mean, each once.
    pub fn faults(&self, words: &[String]) -> Vec<&'k str> {
        let mut out: Vec<&str> = Vec::new();
        for word in words {
            let fault = self.of.findings.iter().find(|f| f.word == *word).and_then(|f| f.fault.as_deref());
            out.extend(fault.filter(|id| !out.contains(id)));
        }
        out
    }

    /// A quantity that was given, in base units; never asked for.
    ///
    /// # Errors
    /// When it is written wrongly.
    pub fn given(&self, id: &str, given: Option<&str>, kind: Kind) -> Result<Option<f64>, Failure> {
        given.map(|text| read(id, text, kind)).transpose()
    }

    /// A quantity without which nothing can be said, in base units: as given, else the motor's nominal value
    /// where the input names one, else asked for.
    ///
    /// # Errors
    /// When it is written wrongly, or is missing and nobody can be asked.
    pub fn need(&mut self, id: &str, given: Option<&str>, kind: Kind) -> Result<f64, Halt> {
        if let Some(value) = self.known(id, given, kind)? {
            return Ok(value);
        }
        match self.ask(id, false, one(kind))? {
            Some(text) => Ok(read(id, &text, kind)?),
            None => Err(Halt::Stopped),
        }
    }

    /// A quantity that helps, in base units: as given, else the motor's nominal value where the input names
    /// one, else asked for when the person is led through; it may be unknown.
    ///
    /// # Errors
    /// When it is written wrongly.
    pub fn want(&mut self, id: &str, given: Option<&str>, kind: Kind) -> Result<Option<f64>, Halt> {
        let known = self.known(id, given, kind)?;
        if known.is_some() || !self.leads() {
            return Ok(known);
        }
        let typed = self.ask(id, true, one(kind))?;
        Ok(typed.map(|text| read(id, &text, kind)).transpose()?)
    }

    fn known(&self, id: &str, given: Option<&str>, kind: Kind) -> Result<Option<f64>, Failure> {
        match self.given(id, given, kind)? {
            Some(value) => Ok(Some(value)),
            None => self.nominal(id, kind),
        }
    }

    /// Several quantities, such as one for each bar: `82 mohm, 83 mohm`. A comma between digits is decimal,
    /// a comma and a space, a comma after a unit, a semicolon or a line break begins the next.
    ///
    /// # Errors
    /// As [`Sheet::need`].
    pub fn need_several(&mut self, id: &str, given: Option<&str>, kind: Kind) -> Result<Vec<f64>, Halt> {
        if let Some(text) = given {
            return Ok(read_several(id, text, kind)?);
        }
        let typed = self.ask(id, false, move |text| several(text, kind).map(|_| ()))?;
        match typed {
            Some(text) => Ok(read_several(id, &text, kind)?),
            None => Err(Halt::Stopped),
        }
    }

    /// Several quantities that help; empty when they are not known.
    ///
    /// # Errors
    /// As [`Sheet::want`].
    pub fn want_several(&mut self, id: &str, given: Option<&str>, kind: Kind) -> Result<Vec<f64>, Halt> {
        if given.is_none() && !self.leads() {
            return Ok(Vec::new());
        }
        if let Some(text) = given {
            return Ok(read_several(id, text, kind)?);
        }
        let typed = self.ask(id, true, move |text| several(text, kind).map(|_| ()))?;
        Ok(typed.map(|text| read_several(id, &text, kind)).transpose()?.unwrap_or_default())
    }

    /// A text that is checked by `check`; none when it may be unknown and is.
    ///
    /// # Errors
    /// When what was given does not pass, or is needed and missing.
    pub fn text(
        &mut self,
        id: &str,
        given: Option<&str>,
        optional: bool,
        check: impl Fn(&str) -> Result<(), String> + 'static,
    ) -> Result<Option<String>, Halt> {
        if let Some(text) = given {
            check(text).map_err(|why| Failure::input(format!("--{id}: {why}")))?;
            return Ok(Some(text.to_owned()));
        }
        if optional && !self.leads() {
            return Ok(None);
        }
        self.ask(id, optional, check)
    }

    /// One of a few words. `choices`: the value, the word that stands for it on the command line, and what
    /// a person reads.
    ///
    /// # Errors
    /// When it is needed, missing, and nobody can be asked.
    pub fn choose<T: Clone>(
        &mut self,
        id: &str,
        given: Option<T>,
        optional: bool,
        choices: &[(T, &str, &str)],
    ) -> Result<Option<T>, Halt> {
        if given.is_some() || (optional && !self.leads()) {
            return Ok(given);
        }
        let mut prompt = self.prompt(id, optional)?;
        prompt.choices = choices.iter().map(|(_, word, label)| Choice::new(*word, *label)).collect();
        match self.put(id, prompt)? {
            Some(Reply::Choice(i)) => Ok(choices.get(i).map(|(value, ..)| value.clone())),
            _ => Ok(None),
        }
    }

    fn leads(&self) -> bool {
        self.guided && self.can_ask()
    }

    fn input(&self, id: &str) -> Result<&'k Input, Failure> {
        self.of.inputs.iter().find(|i| i.id == id).ok_or_else(|| self.lacks(&format!("the input `{id}`")))
    }

    /// A question as the knowledge words it, with its cautions, for an exchange of its own.
    ///
    /// # Errors
    /// When nobody can be asked, or the knowledge does not know the input.
    pub fn prompt(&mut self, id: &str, optional: bool) -> Result<Prompt, Halt> {
        let input = self.input(id)?;
        if self.asker.is_none() {
            let failure = Failure::usage(format!("--{id} is missing"));
            let asks = format!("{} Write it as: --{id} \"{}\"", input.question, input.example);
            return Err(failure.help(asks).into());
        }
        let mut note = Text::new();
        let cautions: Vec<String> = match self.said.is_empty() {
            true => self.of.cautions.iter().chain(&input.cautions).cloned().collect(),
            false => input.cautions.iter().filter(|c| !self.said.contains(c)).cloned().collect(),
        };
        cautions_before(self.knowledge, &cautions, 0, &mut self.said, &mut note);
        if !input.how.is_empty() {
            note.item(0, "", Styled::new().muted(&input.how));
        }
        let mut side = vec![Side::Stop];
        side.extend(optional.then_some(Side::Unknown));
        Ok(Prompt {
            id: id.into(),
            heading: self.of.name.clone(),
            question: input.question.clone(),
            note,
            side,
            ..Prompt::default()
        })
    }

    /// Asks for a text; none when it is not known.
    fn ask(
        &mut self,
        id: &str,
        optional: bool,
        check: impl Fn(&str) -> Result<(), String> + 'static,
    ) -> Result<Option<String>, Halt> {
        let mut prompt = self.prompt(id, optional)?;
        let example = &self.input(id)?.example;
        prompt.text = Some(TextWanted::checked(format!("it, such as {example}"), check));
        match self.put(id, prompt)? {
            Some(Reply::Text(text)) => Ok(Some(text)),
            _ => Ok(None),
        }
    }

    /// Puts a question; none when the answer is not known.
    fn put(&mut self, _id: &str, prompt: Prompt) -> Result<Option<Reply>, Halt> {
        let Some(asker) = self.asker() else { return Ok(None) };
        match asker.ask(&prompt)? {
            Reply::Side(Side::Unknown) => Ok(None),
            Reply::Side(_) => Err(Halt::Stopped),
            reply => Ok(Some(reply)),
        }
    }
}

/// Whether a text is a quantity of this kind.
fn one(kind: Kind) -> impl Fn(&str) -> Result<(), String> + 'static {
    move |text| bench::read(kind, text).map(|_| ()).map_err(|e| e.to_string())
}

/// A quantity of the command line.
fn read(id: &str, text: &str, kind: Kind) -> Result<f64, Failure> {
    bench::read(kind, text).map_err(|e| Failure::input(format!("--{id}: {e}")))
}

fn read_several(id: &str, text: &str, kind: Kind) -> Result<Vec<f64>, Failure> {
    several(text, kind).map_err(|why| Failure::input(format!("--{id}: {why}")))
}

/// Quantities one after the other, each in base units. A unit said only at the end holds for all of them:
/// `82, 83, 165 mohm`.
///
/// # Errors
/// A sentence about the first that can't be read.
pub fn several(text: &str, kind: Kind) -> Result<Vec<f64>, String> {
    let parts = split(text);
    if parts.is_empty() {
        return Err(format!("nothing is written; write {} {}", kind.with_article(), kind.advice()));
    }
    let unit: String = parts.last().map_or(String::new(), |last| {
        last.trim_start_matches(|c: char| c.is_ascii_digit() || "+-., ".contains(c)).to_owned()
    });
    let one = |(i, part): (usize, &String)| {
        let mut part = part.clone();
        let bare = part.chars().all(|c| c.is_ascii_digit() || "+-.,".contains(c));
        if bare && !unit.is_empty() {
            let _ = write!(part, " {unit}");
        }
        bench::read(kind, &part).map_err(|e| match parts.len() {
            1 => e.to_string(),
            _ => format!("number {}: {e}", i + 1),
        })
    };
    parts.iter().enumerate().map(one).collect()
}

/// Cuts a list of quantities into its parts.
pub(super) fn split(text: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    let chars: Vec<char> = text.chars().collect();
    for (i, c) in chars.iter().enumerate() {
        let digit_before = i > 0 && chars[i - 1].is_ascii_digit();
        let digit_after = chars.get(i + 1).is_some_and(char::is_ascii_digit);
        let decimal = *c == ',' && digit_before && digit_after;
        match c {
            ';' | '\n' => parts.push(String::new()),
            ',' if !decimal => parts.push(String::new()),
            _ => parts.last_mut().into_iter().for_each(|p| p.push(*c)),
        }
    }
    parts.iter().map(|p| p.trim().to_owned()).filter(|p| !p.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_are_cut_where_a_person_means_it() {
        let ohms = |text: &str| several(text, Kind::Resistance);
        assert_eq!(ohms("82 mohm,83 mohm,165 mohm"), Ok(vec![0.082, 0.083, 0.165]));
        assert_eq!(ohms("82 mohm, 83 mohm; 165mohm"), Ok(vec![0.082, 0.083, 0.165]));
        assert_eq!(ohms("0,5 ohm, 0,25 ohm"), Ok(vec![0.5, 0.25]));
        assert_eq!(ohms("82, 83, 165 mohm"), Ok(vec![0.082, 0.083, 0.165]));
        assert!(ohms("82 mohm, 83 V").is_err_and(|e| e.contains("number 2") && e.contains("voltage")));
        assert!(ohms(" , ").is_err_and(|e| e.contains("nothing is written")));
        assert!(ohms("82,83,165 mohm").is_err(), "a comma between digits is ambiguous and is not guessed");
    }
}
