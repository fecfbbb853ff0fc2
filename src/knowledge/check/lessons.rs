//! Lessons: do their motors, faults, answers and traps exist, and do they agree with each other?

use indexmap::IndexMap;

use super::Context;
use super::readings::kind;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::lessons::*;
use crate::knowledge::places::quoted;
use crate::knowledge::raw::*;
use crate::knowledge::source::Trail;

/// A reading: id, text and value.
type Measured = (String, String, f64);

/// The hardest level.
const HARDEST: u32 = 5;

impl Context<'_> {
    pub fn topic(&mut self, raw: &RawTopic, at: &Trail) -> Topic {
        let draft = self.draft;
        let groups: Vec<&str> = draft.faults.iter().map(|f| f.raw.group.as_str()).collect();
        for (i, group) in raw.groups.iter().enumerate() {
            if !draft.faults.torn && !groups.contains(&group.as_str()) {
                self.unknown(group, &at.key("groups").item(i), "group of faults", groups.iter().copied());
            }
        }
        Topic {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            groups: raw.groups.clone(),
        }
    }

    pub fn lesson(&mut self, raw: &RawLesson, at: &Trail) -> Lesson {
        let draft = self.draft;
        self.knows(&draft.topics, &raw.topic, &at.key("topic"), "topic");
        self.knows(&draft.motors, &raw.motor, &at.key("motor"), "motor");
        if !(1..=HARDEST).contains(&raw.level) {
            let message = format!("the level is {}", raw.level);
            self.report(Code::Number, &at.key("level"), message, "Write a level from 1 to 5.");
        }
        let (shows, readings) = self.shown(&raw.shows, &at.key("shows"));
        let history = self.history(&raw.history, &at.key("history"));
        let told = self.all_said(&raw.told, &at.key("told"));
        let misleading = self.misleading(&raw.misleading, &at.key("misleading"));
        self.agree(&told, &history, &shows, &misleading, &at.key("told"));
        if raw.faults.is_none() {
            let help = "Write the ids of what is wrong, or `faults: []` for a sound motor.";
            self.report(Code::Unfitting, &at.key("id"), "the key `faults` is missing", help);
        }
        let faults = raw.faults.clone().unwrap_or_default();
        self.discreet(&raw.title, &faults, &at.key("title"));
        Lesson {
            id: self.id(&raw.id, &at.key("id")),
            title: self.text(&raw.title, &at.key("title"), "the title"),
            topic: raw.topic.clone(),
            level: raw.level,
            motor: raw.motor.clone(),
            faults: self.ids(&draft.faults, &faults, &at.key("faults"), "fault"),
            history,
            story: self.some_texts(&raw.story, at, "story", "the story"),
            told,
            misleading,
            shows,
            readings,
            calm: raw.calm,
            hint: self.text(&raw.hint, &at.key("hint"), "the hint"),
            traps: self.traps(&raw.traps, &at.key("traps")),
            teaches: self.some_texts(&raw.teaches, at, "teaches", "what it teaches"),
            why: raw.why.as_ref().map(|why| self.why(why, &at.key("why"))),
            words: self.words(&raw.words, &at.key("words")),
            cautions: self.ids(&draft.cautions, &raw.cautions, &at.key("cautions"), "caution"),
            too_soon: self.too_soon(&raw.too_soon, &at.key("too-soon")),
        }
    }

    fn why(&mut self, raw: &RawWhy, at: &Trail) -> Why {
        Why {
            cause: self.text(&raw.cause, &at.key("cause"), "the cause"),
            signs: self.text(&raw.signs, &at.key("signs"), "what shows"),
            cure: self.text(&raw.cure, &at.key("cure"), "the cure"),
            order: self.text(&raw.order, &at.key("order"), "the reason for the order"),
        }
    }

    fn too_soon(&mut self, list: &[RawTooSoon], at: &Trail) -> Vec<TooSoon> {
        let draft = self.draft;
        let mut out = Vec::new();
        for (i, raw) in list.iter().enumerate() {
            let at = at.item(i);
            self.knows(&draft.stages, &raw.enter, &at.key("enter"), "stage");
            out.push(TooSoon {
                stage: raw.enter.clone(),
                minutes: self.positive(raw.minutes, &at.key("minutes"), "the time"),
                why: self.text(&raw.why, &at.key("why"), "why it is too soon"),
            });
        }
        out
    }

    /// Texts of which there has to be at least one.
    fn some_texts(&mut self, texts: &[String], entry: &Trail, key: &'static str, what: &str) -> Vec<String> {
        if texts.is_empty() {
            let message = format!("{what} is missing");
            self.report(Code::NoWording, &entry.key("id"), message, "Write at least one text.");
        }
        self.texts(texts, &entry.key(key), what)
    }

    fn words(&mut self, words: &[RawWord], list: &Trail) -> Vec<Word> {
        let one = |(i, raw): (usize, &RawWord)| Word {
            word: self.text(&raw.word, &list.item(i).key("word"), "the word"),
            means: self.text(&raw.means, &list.item(i).key("means"), "what it means"),
        };
        words.iter().enumerate().map(one).collect()
    }

    /// The states of the factor or the observation with this id; none, and reported, when there is none.
    fn states_of(&mut self, id: &str, at: &Trail, what: &str) -> Option<Vec<&str>> {
        let draft = self.draft;
        if let Some(found) = draft.factors.entries.get(id) {
            return Some(found.raw.states.iter().map(|s| s.id.as_str()).collect());
        }
        if let Some(found) = draft.observations.entries.get(id) {
            return Some(found.raw.states.iter().map(|s| s.id.as_str()).collect());
        }
        if !draft.factors.knows(id) && !draft.observations.knows(id) {
            let factors = draft.factors.entries.keys();
            let known = factors.chain(draft.observations.entries.keys()).map(String::as_str);
            self.unknown(id, at, what, known);
        }
        None
    }

    fn said(&mut self, id: &str, state: &str, name: &Trail, value: &Trail) -> Option<usize> {
        let states: Vec<String> =
            self.states_of(id, name, "question")?.into_iter().map(str::to_owned).collect();
        let states: Vec<&str> = states.iter().map(String::as_str).collect();
        let found = states.iter().position(|s| *s == state);
        if found.is_none() {
            self.unknown_state(id, state, &states, value);
        }
        found
    }

    fn all_said(&mut self, answers: &IndexMap<String, String>, at: &Trail) -> Vec<(String, usize)> {
        let mut out = Vec::new();
        for (id, state) in answers {
            if let Some(state) = self.said(id, state, &at.name(id), &at.key(id)) {
                out.push((id.clone(), state));
            }
        }
        out
    }

    fn history(&mut self, history: &IndexMap<String, String>, at: &Trail) -> Vec<(String, usize)> {
        let draft = self.draft;
        let factors: IndexMap<String, String> = (history.iter())
            .filter(|(id, _)| self.knows(&draft.factors, id, &at.name(id), "factor"))
            .map(|(id, state)| (id.clone(), state.clone()))
            .collect();
        self.all_said(&factors, at)
    }

    /// States of observations, and readings: where both have the same id, a state's name is the observation.
    fn shown(
        &mut self,
        shows: &IndexMap<String, String>,
        at: &Trail,
    ) -> (Vec<(String, usize)>, Vec<Measured>) {
        let draft = self.draft;
        let (mut states, mut readings) = (Vec::new(), Vec::new());
        for (id, text) in shows {
            let observation = draft.observations.entries.get(id);
            let state = observation.and_then(|o| o.raw.states.iter().position(|s| s.id == *text));
            match (state, draft.readings.entries.get(id)) {
                (Some(state), _) => states.push((id.clone(), state)),
                (None, Some(reading)) => {
                    let value = self.quantity(kind(reading.raw.kind), text, &at.key(id));
                    if let Some(value) = value {
                        self.possible(&reading.raw, text, value, &at.key(id));
                    }
                    readings.extend(value.map(|value| (id.clone(), text.clone(), value)));
                }
                (None, None) => {
                    if draft.readings.knows(id) {
                        continue;
                    }
                    if draft.factors.knows(id) {
                        let message = format!("{} is a factor", quoted(id));
                        self.report(Code::Unfitting, &at.name(id), message, "Put it under `history:`.");
                    } else if let Some(state) = self.said(id, text, &at.name(id), &at.key(id)) {
                        states.push((id.clone(), state));
                    }
                }
            }
        }
        (states, readings)
    }

    /// A figure has to be one that the reading can have.
    fn possible(&mut self, reading: &RawReading, text: &str, value: f64, at: &Trail) {
        let (least, most) = &reading.plausible;
        let end = |text: &str| self.units.read(kind(reading.kind), text);
        let (Ok(low), Ok(high)) = (end(least), end(most)) else { return };
        if !(low..=high).contains(&value) {
            let message = format!("{} is absurd for {}", quoted(text), quoted(&reading.id));
            let help = format!("It lies between {least} and {most}: check the figure and its unit.");
            self.report(Code::Number, at, message, &help);
        }
    }

    /// A title must not give the fault away.
    fn discreet(&mut self, title: &str, faults: &[String], at: &Trail) {
        let draft = self.draft;
        for fault in faults {
            let Some(found) = draft.faults.entries.get(fault) else { continue };
            // A word that many faults have in common, such as that of the part, leaves enough to find out.
            let is_rare = |word: &String| {
                let has = |id: &str, name: &str| telling(id).chain(telling(name)).any(|w| is_akin(&w, word));
                draft.faults.entries.iter().filter(|(id, f)| has(id, &f.raw.name)).count() <= SHARED
            };
            let mut of_fault = telling(&found.raw.name).chain(telling(fault)).filter(is_rare);
            let telling = of_fault.find_map(|word| telling(title).find(|own| is_akin(own, &word)));
            if let Some(word) = telling {
                let name = quoted(&found.raw.name);
                let message = format!("the word {} of the title gives {name} away", quoted(&word));
                let help = "Name the motor, its owner or what happened, not what is wrong.";
                let found = self.found(Code::Unfitting, at, message).help(help).warning();
                return self.sink.push(found);
            }
        }
    }

    fn misleading(&mut self, list: &[RawMisleading], at: &Trail) -> Vec<Misleading> {
        let mut out = Vec::new();
        for (i, raw) in list.iter().enumerate() {
            let at = at.item(i);
            let why = self.text(&raw.why, &at.key("why"), "why it is wrong");
            if let Some(says) = self.said(&raw.answer, &raw.says, &at.key("answer"), &at.key("says")) {
                out.push(Misleading { answer: raw.answer.clone(), says, why });
            }
        }
        out
    }

    /// What the story says has to be what the owner says when asked.
    fn agree(
        &mut self,
        told: &[(String, usize)],
        history: &[(String, usize)],
        shows: &[(String, usize)],
        misleading: &[Misleading],
        at: &Trail,
    ) {
        for (id, state) in told {
            let lie = misleading.iter().find(|m| m.answer == *id).map(|m| m.says);
            let truth = history.iter().chain(shows).find(|(other, _)| other == id).map(|(_, s)| *s);
            if lie.or(truth).is_some_and(|other| other != *state) {
                let message = format!("the story says something else of {} than the lesson does", quoted(id));
                self.report(Code::Unfitting, &at.key(id), message, "Make the two the same.");
            }
        }
    }

    fn traps(&mut self, traps: &[RawTrap], list: &Trail) -> Vec<Trap> {
        let draft = self.draft;
        let mut out = Vec::new();
        for (i, raw) in traps.iter().enumerate() {
            let at = list.item(i);
            let why = self.text(&raw.why, &at.key("why"), "why it is wrong");
            if let Some(before) = &raw.before {
                self.question(before, &at.key("before"));
            }
            let mut acts = Vec::new();
            if let Some(id) = &raw.look {
                self.question(id, &at.key("look"));
                acts.push(TrapAct::Look(id.clone()));
            }
            if let Some(id) = &raw.enter {
                self.knows(&draft.stages, id, &at.key("enter"), "stage");
                acts.push(TrapAct::Enter(id.clone()));
            }
            if let Some(id) = &raw.name {
                self.knows(&draft.faults, id, &at.key("name"), "fault");
                acts.push(TrapAct::Name(id.clone()));
            }
            if let Some(id) = &raw.scope {
                self.knows(&draft.scopes, id, &at.key("scope"), "scope");
                acts.push(TrapAct::Scope(id.clone()));
            }
            if acts.len() != 1 {
                let message = format!("a trap is one act; here are {}", acts.len());
                let help = "Write one of `look`, `enter`, `name` and `scope`.";
                self.report(Code::Unfitting, &at.key("why"), message, help);
            }
            out.extend(acts.pop().map(|act| Trap { act, before: raw.before.clone(), why }));
        }
        out
    }

    /// Reports an id that is no factor, observation or reading.
    fn question(&mut self, id: &str, at: &Trail) {
        if !self.draft.readings.knows(id) {
            self.states_of(id, at, "question");
        }
    }
}

/// Letters from which on a word says something.
const TELLING: usize = 4;
/// Faults that may have a word in common before it says too little to give one of them away.
const SHARED: usize = 3;
/// Words of four letters and more that say nothing.
const EMPTY: [&str; 10] =
    ["both", "many", "much", "must", "other", "than", "wanted", "ways", "where", "with"];

/// The words of a text that say something, in small letters.
fn telling(text: &str) -> impl Iterator<Item = String> + '_ {
    let all = text.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase);
    all.filter(|w| w.chars().count() >= TELLING && !EMPTY.contains(&w.as_str()))
}

/// Whether two words are the same but for their ending.
fn is_akin(one: &str, other: &str) -> bool {
    one.starts_with(other) || other.starts_with(one)
}
