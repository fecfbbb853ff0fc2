//! Checks of single values: ids, texts, numbers, chances, bases.

use super::Context;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::draft::List;
use crate::knowledge::model::Basis;
use crate::knowledge::places::quoted;
use crate::knowledge::raw::Scalar;
use crate::knowledge::source::Trail;
use crate::knowledge::suggest::nearest;

/// The verbal scale for eliciting chances.
///
/// Renooij & Witteman 1999, "Talking probabilities: communicating probabilistic information with words and
/// numbers", International Journal of Approximate Reasoning 22, 169-194.
pub const SCALE: [(&str, f64); 7] = [
    ("certain", 1.00),
    ("probable", 0.85),
    ("expected", 0.75),
    ("fifty-fifty", 0.50),
    ("uncertain", 0.25),
    ("improbable", 0.15),
    ("impossible", 0.0),
];

/// How far a sum of chances may be off 1 by the rounding of its decimals.
pub const SUM_TOLERANCE: f64 = 1e-6;

/// Ids that are all listed where none comes near the one that was written.
const MOST_LISTED: usize = 12;

/// Letters of an id.
const LONGEST_ID: usize = 64;

impl Context<'_> {
    /// An id, made of lower-case words joined by hyphens.
    pub fn id(&mut self, id: &str, at: &Trail) -> String {
        let word = |w: &str| !w.is_empty() && w.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit());
        if id.len() > LONGEST_ID || !id.split('-').all(word) {
            let message = format!("{} is not an id", quoted(id));
            self.report(
                Code::BadId,
                at,
                message,
                "Use at most 64 small letters and digits, in words joined by hyphens.",
            );
        }
        id.to_owned()
    }

    /// A text that people read.
    pub fn text(&mut self, text: &str, at: &Trail, what: &str) -> String {
        if text.trim().is_empty() {
            self.report(Code::NoWording, at, format!("{what} is empty"), "Write it in plain words.");
        }
        self.optional_text(text, at)
    }

    /// A text that may be empty.
    pub fn optional_text(&mut self, text: &str, at: &Trail) -> String {
        if let Some(c) = text.chars().find(|c| c.is_control() && *c != '\n') {
            let message = format!("the text holds the control character U+{:04X}", u32::from(c));
            self.report(Code::Characters, at, message, "Remove it.");
        }
        text.trim().to_owned()
    }

    /// A text in which the word `none` says that there is nothing.
    pub fn text_or_none(&mut self, text: &str, at: &Trail) -> String {
        let text = self.optional_text(text, at);
        if text.eq_ignore_ascii_case("none") { String::new() } else { text }
    }

    /// The texts of a list; none may be empty.
    pub fn texts(&mut self, texts: &[String], at: &Trail, what: &str) -> Vec<String> {
        texts.iter().enumerate().map(|(i, text)| self.text(text, &at.item(i), what)).collect()
    }

    /// A finite number above zero.
    pub fn positive(&mut self, number: f64, at: &Trail, what: &str) -> f64 {
        if !(number > 0.0 && number.is_finite()) {
            self.report(Code::Number, at, format!("{what} is {number}"), "Write a number above 0.");
        }
        number
    }

    /// A finite number, zero or above.
    pub fn not_negative(&mut self, number: f64, at: &Trail, what: &str) -> f64 {
        if !(number >= 0.0 && number.is_finite()) {
            self.report(Code::Number, at, format!("{what} is {number}"), "Write 0 or a number above 0.");
        }
        number
    }

    /// A chance from 0 to 1, as a number or a word of the scale.
    pub fn chance(&mut self, chance: &Scalar, at: &Trail) -> f64 {
        match chance {
            Scalar::Number(p) if (0.0..=1.0).contains(p) => return *p,
            Scalar::Number(p) => {
                let message = format!("the chance {p} does not lie between 0 and 1");
                self.report(Code::Chance, at, message, "0 is never, 1 is always.");
            }
            Scalar::Text(word) => {
                if let Some((_, p)) = SCALE.iter().find(|(w, _)| w == word) {
                    return *p;
                }
                let words = SCALE.map(|(w, _)| w);
                let help = match nearest(word, words) {
                    Some(near) => format!("Did you mean `{near}`?"),
                    None => format!(
                        "Write a number from 0 to 1 with a decimal point, or one of {}.",
                        words.join(", ")
                    ),
                };
                self.report(Code::Chance, at, format!("{} is not a chance", quoted(word)), &help);
            }
        }
        0.0
    }

    /// The basis of an entry's numbers, which must be given.
    pub fn basis(&mut self, basis: Option<&String>, entry: &Trail) -> Basis {
        match basis {
            Some(text) => self.basis_text(text, &entry.key("basis")),
            None => {
                let help = "Add `basis:` with the id of a source, or `common practice`, `from memory`, `judgement` or `measured`.";
                self.report(Code::Basis, &entry.key("id"), "this entry has no basis for its numbers", help);
                Basis::Judgement
            }
        }
    }

    /// The basis of a single link; that of its entry if it has none of its own.
    pub fn link_basis(&mut self, basis: Option<&String>, entry: &Basis, link: &Trail) -> Basis {
        basis.map_or_else(|| entry.clone(), |text| self.basis_text(text, &link.key("basis")))
    }

    fn basis_text(&mut self, text: &str, at: &Trail) -> Basis {
        match text {
            "common practice" => Basis::CommonPractice,
            "from memory" => Basis::FromMemory,
            "judgement" => Basis::Judgement,
            "measured" => Basis::Measured,
            _ => {
                let draft = self.draft;
                if !draft.sources.knows(text) {
                    let others = ["common practice", "from memory", "judgement", "measured"];
                    let known = draft.sources.entries.keys().map(String::as_str).chain(others);
                    let help = match nearest(text, known) {
                        Some(near) => format!("Did you mean `{near}`?"),
                        None => {
                            "Add it to `sources`, or write `common practice`, `from memory`, `judgement` or `measured`."
                                .into()
                        }
                    };
                    self.report(Code::Basis, at, format!("no source has the id {}", quoted(text)), &help);
                }
                Basis::Source(text.to_owned())
            }
        }
    }

    /// Whether an entry of the list has this id; reports it if not. `what` says what is looked for.
    pub fn knows<T>(&mut self, list: &List<T>, id: &str, at: &Trail, what: &str) -> bool {
        list.knows(id) || {
            self.unknown(id, at, what, list.entries.keys().map(String::as_str));
            false
        }
    }

    /// Reports an id that nothing has, with the nearest of those that could stand there, or all of a few.
    pub fn unknown<'k>(
        &mut self,
        id: &str,
        at: &Trail,
        what: &str,
        known: impl IntoIterator<Item = &'k str>,
    ) {
        let mut known: Vec<&str> = known.into_iter().collect();
        known.sort_unstable();
        known.dedup();
        let help = match nearest(id, known.iter().copied()) {
            Some(near) => Some(format!("Did you mean `{near}`?")),
            None if (1..=MOST_LISTED).contains(&known.len()) => {
                Some(format!("There are {}.", known.join(", ")))
            }
            None => None,
        };
        let found =
            self.found(Code::UnknownId, at, format!("no {what} has the id {}", quoted(id))).maybe_help(help);
        self.sink.push(found);
    }

    /// The ids of a list that exist; unknown and repeated ones are reported.
    pub fn ids<T>(&mut self, list: &List<T>, ids: &[String], at: &Trail, what: &str) -> Vec<String> {
        let mut seen: std::collections::HashSet<&str> = std::collections::HashSet::new();
        for (i, id) in ids.iter().enumerate() {
            if !seen.insert(id) {
                self.repeated(id, &at.item(i));
            } else {
                self.knows(list, id, &at.item(i), what);
            }
        }
        ids.to_vec()
    }

    /// Reports something that was said before.
    pub fn repeated(&mut self, what: &str, at: &Trail) {
        let message = format!("{} is said here a second time", quoted(what));
        self.report(Code::Repeated, at, message, "Keep one of the two.");
    }
}
