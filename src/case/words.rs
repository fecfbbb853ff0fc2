//! English text cut into words that can be compared.
//!
//! Only general English is known here: small words that carry no meaning of their own, words of denial,
//! irregular forms. What the words say about a motor stands in the knowledge.

use rust_stemmers::{Algorithm, Stemmer};

/// Characters of a text that are looked at.
const LONGEST: usize = 10_000;

/// The stem of every word of plain denial.
const NOT: &str = "not";

/// Words that are passed over.
const SMALL: &[&str] = &[
    "a", "an", "the", "it", "its", "is", "was", "are", "were", "be", "been", "being", "am", "im", "do",
    "does", "did", "has", "have", "had", "will", "would", "of", "to", "my", "his", "her", "our", "their",
    "i", "ive", "we", "he", "she", "they", "this", "that", "thats", "there", "theres",
];

/// Words of plain denial, without apostrophes: `won't start` says the same as `does not start`.
const PLAIN_DENIAL: &[&str] = &[
    "no", "not", "never", "cannot", "cant", "wont", "dont", "doesnt", "didnt", "isnt", "wasnt", "arent",
    "werent", "aint", "hasnt", "havent", "hadnt", "couldnt", "wouldnt", "shouldnt",
];

/// Words that deny and say something of their own.
const OTHER_DENIAL: &[&str] = &["without", "none", "nor", "neither", "nothing"];

/// Words that end the reach of a denial before them.
const TURNS: &[&str] = &[
    "and", "but", "however", "though", "although", "yet", "then", "now", "when", "whenever", "after",
    "before", "since", "because", "if", "until", "unless", "while", "where", "so", "except",
];

/// Words that may stand between a denial and what it denies: "no real power", "not at all wet".
const EMPHASIS: &[&str] = &[
    "any", "anymore", "at", "all", "even", "ever", "longer", "more", "much", "proper", "properly", "quite",
    "real", "really", "that",
];

/// Words that compare two ways of doing something.
const COMPARATIVES: &[&str] = &["faster", "quicker", "slower", "better", "worse", "stronger", "weaker"];

/// Further words of comparisons.
const THAN: &[&str] = &["than", "more", "less"];

/// Words that say that something was once: "the clicking has stopped".
const OVER: &[&str] = &["gone", "stopped", "disappeared", "vanished", "ceased"];

/// Irregular forms and their stems.
const IRREGULAR: &[(&str, &str)] = &[
    ("bent", "bend"),
    ("blew", "blow"),
    ("blown", "blow"),
    ("broke", "break"),
    ("broken", "break"),
    ("burnt", "burn"),
    ("came", "come"),
    ("fell", "fall"),
    ("fallen", "fall"),
    ("felt", "feel"),
    ("froze", "freez"),
    ("frozen", "freez"),
    ("gone", "go"),
    ("went", "go"),
    ("heard", "hear"),
    ("kept", "keep"),
    ("lost", "lose"),
    ("ran", "run"),
    ("sank", "sink"),
    ("sunk", "sink"),
    ("shaken", "shake"),
    ("shook", "shake"),
    ("slid", "slide"),
    ("smelt", "smell"),
    ("spun", "spin"),
    ("stuck", "stick"),
    ("wore", "wear"),
    ("worn", "wear"),
];

/// What stands between a word and the one before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Gap {
    /// A space or nothing of weight.
    None,
    /// The end of a clause.
    Clause,
    /// The end of a clause that the next one may answer: `clicking: no`.
    Asks,
}

/// A word of a text.
#[derive(Debug, Clone)]
pub(super) struct Word {
    /// In lower case, without apostrophes.
    pub plain: String,
    /// What it is compared by; the same for every plain denial.
    pub stem: String,
    /// From and to which byte of the text it stands.
    pub span: (usize, usize),
    /// What stands before it.
    pub gap: Gap,
    /// Whether it is the beginning of "used to": what follows was once.
    pub used_to: bool,
}

impl Word {
    pub fn denies(&self) -> bool {
        self.stem == NOT || OTHER_DENIAL.contains(&&*self.plain)
    }

    pub fn turns(&self) -> bool {
        TURNS.contains(&&*self.plain)
    }

    pub fn emphasises(&self) -> bool {
        EMPHASIS.contains(&&*self.plain)
    }

    /// Whether it says of something done that it is done otherwise: "goes faster backwards".
    pub fn compares_ways(&self) -> bool {
        COMPARATIVES.contains(&&*self.plain)
    }

    /// Whether it is a word of a comparison.
    pub fn compares(&self) -> bool {
        self.compares_ways() || THAN.contains(&&*self.plain)
    }

    /// Whether it says that what follows ends: "stopped clicking".
    pub fn ends(&self) -> bool {
        matches!(&*self.stem, "stop" | "quit" | "ceas")
    }

    /// Whether it says that what stands before it was once; `away`: that word follows.
    pub fn is_over(&self, away: bool) -> bool {
        OVER.contains(&&*self.plain) || (away && self.plain == "went")
    }
}

/// Cuts texts into words.
pub(super) struct Cutter(Stemmer);

impl Cutter {
    pub fn new() -> Self {
        Cutter(Stemmer::create(Algorithm::English))
    }

    /// The words of a text that carry meaning, in order.
    pub fn cut(&self, text: &str) -> Vec<Word> {
        self.cut_with(text, |plain| !SMALL.contains(&plain))
    }

    /// All words of a text, in order.
    pub fn cut_all(&self, text: &str) -> Vec<Word> {
        self.cut_with(text, |_| true)
    }

    fn cut_with(&self, text: &str, counts: impl Fn(&str) -> bool) -> Vec<Word> {
        let mut words = Vec::new();
        let mut gap = Gap::None;
        let mut start = None;
        let end_of_text = text.char_indices().nth(LONGEST).map_or(text.len(), |(at, _)| at);
        let text = &text[..end_of_text];
        let ends = text.char_indices().map(|(at, c)| (at, Some(c))).chain([(text.len(), None)]);
        for (at, c) in ends {
            match (c, start) {
                (Some(c), _) if c.is_alphanumeric() => start = start.or(Some(at)),
                (Some('\'' | '\u{2019}'), Some(_)) => {}
                (c, begun) => {
                    if let Some(begun) = begun {
                        let before = std::mem::replace(&mut gap, Gap::None);
                        match self.word(text, (begun, at), before, &counts) {
                            Some(word) => words.push(word),
                            None => gap = before,
                        }
                        start = None;
                    }
                    gap = gap.max(c.map_or(Gap::None, |c| gap_of(text, at, c)));
                }
            }
        }
        words
    }

    /// A word, if it counts.
    fn word(
        &self,
        text: &str,
        span: (usize, usize),
        gap: Gap,
        counts: impl Fn(&str) -> bool,
    ) -> Option<Word> {
        let plain: String = text[span.0..span.1].to_lowercase().replace(['\'', '\u{2019}'], "");
        if plain.is_empty() || !counts(&plain) {
            return None;
        }
        let irregular = IRREGULAR.iter().find(|(form, _)| *form == plain);
        let stem = match irregular {
            _ if PLAIN_DENIAL.contains(&&*plain) => NOT.to_owned(),
            Some((_, stem)) => (*stem).to_owned(),
            None => self.0.stem(&plain).into_owned(),
        };
        let used_to = plain == "used" && begins_with_to(&text[span.1..]);
        Some(Word { plain, stem, span, gap, used_to })
    }
}

/// Whether the next word of a text is "to".
fn begins_with_to(text: &str) -> bool {
    text.split_whitespace().next().is_some_and(|word| word.eq_ignore_ascii_case("to"))
}

/// What a character between words means. A dash counts only with a space before it.
fn gap_of(text: &str, at: usize, c: char) -> Gap {
    match c {
        ':' | '?' | '=' => Gap::Asks,
        '-' if text[..at].ends_with(' ') => Gap::Asks,
        '–' | '—' => Gap::Asks,
        '.' | ',' | ';' | '!' | '(' | ')' | '/' | '\n' | '\r' | '。' | '、' | '，' => Gap::Clause,
        _ => Gap::None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stems(text: &str) -> Vec<String> {
        Cutter::new().cut(text).into_iter().map(|w| w.stem).collect()
    }

    #[test]
    fn forms_of_a_word_are_alike() {
        assert_eq!(stems("clicks clicking CLICKED"), ["click", "click", "click"]);
        assert_eq!(stems("burnt burning burned"), ["burn", "burn", "burn"]);
        assert_eq!(stems("It won't start"), stems("does not start"));
        assert_eq!(stems("it’s dead"), ["dead"]);
        assert_eq!(stems("cut-out 漢字 540"), ["cut", "out", "漢字", "540"]);
        assert!(stems("' - ''  !").is_empty());
    }

    #[test]
    fn irregular_forms_meet_their_regular_ones() {
        let cutter = Cutter::new();
        for (form, stem) in IRREGULAR {
            let regular = [format!("{stem}s"), format!("{stem}ing"), format!("{stem}es")];
            assert!(regular.iter().any(|r| cutter.0.stem(r) == *stem), "{form}");
        }
    }

    #[test]
    fn gaps_are_what_stands_before_a_word() {
        let gaps: Vec<_> =
            Cutter::new().cut("slow, hot. Clicks: no - really").iter().map(|w| w.gap).collect();
        assert_eq!(gaps, [Gap::None, Gap::Clause, Gap::Clause, Gap::Asks, Gap::Asks]);
        let gaps: Vec<_> = Cutter::new().cut("hot. It is slow").iter().map(|w| w.gap).collect();
        assert_eq!(gaps, [Gap::None, Gap::Clause], "a gap before a small word is not lost");
    }
}
