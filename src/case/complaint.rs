//! Answers found in the owner's own words.
//!
//! The complaint is compared with the phrases of the knowledge. Words are alike by their stem, or with a
//! slip of the keyboard; the words of a phrase must come in order, with at most [`WIDEST_GAP`] others
//! between, in one clause. A denial before the phrase, between its words, or in answer to it ("clicking:
//! no") takes the match away: better to find too little than the opposite of what was said. What is found
//! is a proposal, for a person to confirm.

use std::collections::HashSet;

use super::words::{Cutter, Gap, Word};
use crate::knowledge::{Ask, Knowledge};

/// Words that may stand between one word of a phrase and the next.
pub const WIDEST_GAP: usize = 2;
/// Words that may stand between a denial and the phrase that it denies.
const REACH_OF_DENIAL: usize = 4;

/// What a word of the phrase is worth, and what a gap or a slip takes away from it.
const WORD: i32 = 10;
const GAP: i32 = 2;
const SLIP: i32 = 3;

/// An answer that the complaint seems to give.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Match {
    /// Id of the factor or observation.
    pub id: String,
    /// Index of its state.
    pub state: usize,
    /// The words of the complaint that say so, as they stand there.
    pub words: String,
}

/// The answers that a complaint seems to give, the surest first; at most one for each question.
///
/// Questions about the inside of an opened motor are left out.
/// Only the first 10 000 characters are looked at.
pub fn matches(knowledge: &Knowledge, complaint: &str) -> Vec<Match> {
    let cutter = Cutter::new();
    let (text, every_word) = (cutter.cut(complaint), cutter.cut_all(complaint));
    let phrases: Vec<Phrase> = phrases(knowledge, &cutter);
    let known: HashSet<&str> = phrases.iter().flat_map(|p| p.words.iter().map(|w| &*w.stem)).collect();
    let mut found: Vec<(Found, &Phrase)> = Vec::new();
    for phrase in &phrases {
        let text = if phrase.all_words { &every_word } else { &text };
        let Some(new) = best(&phrase.words, text, &known) else { continue };
        match found.iter_mut().find(|(_, p)| p.question == phrase.question) {
            Some(old) if new.before(&old.0) => *old = (new, phrase),
            Some(_) => {}
            None => found.push((new, phrase)),
        }
    }
    found.sort_by_key(|(f, _)| f.rank());
    let one = |(f, p): (Found, &Phrase)| Match {
        id: p.id.to_owned(),
        state: p.state,
        words: complaint[f.span.0..f.span.1].to_owned(),
    };
    found.into_iter().map(one).collect()
}

/// A phrase of the knowledge and the answer that it stands for.
struct Phrase<'a> {
    question: usize,
    id: &'a str,
    state: usize,
    words: Vec<Word>,
    /// Whether the small words count too. Without them `does nothing` would be any denial at all.
    all_words: bool,
}

fn phrases<'a>(knowledge: &'a Knowledge, cutter: &Cutter) -> Vec<Phrase<'a>> {
    type States<'a> = Vec<&'a [String]>;
    // No owner's words show what is inside a closed motor.
    let inside = knowledge.stages.iter().position(|s| s.opens).unwrap_or(usize::MAX);
    let outside = |ask: &Ask| knowledge.stage_index(&ask.stage).is_none_or(|at| at < inside);
    let factors = (knowledge.factors.iter().filter(|f| outside(&f.ask)))
        .map(|f| (&*f.id, f.states.iter().map(|s| &*s.phrases).collect::<States>()));
    let observations = knowledge
        .observations
        .iter()
        .filter(|o| outside(&o.ask))
        .map(|o| (&*o.id, o.states.iter().map(|s| &*s.phrases).collect::<States>()));
    let mut all = Vec::new();
    for (question, (id, states)) in factors.chain(observations).enumerate() {
        for (state, phrases) in states.into_iter().enumerate() {
            for phrase in phrases {
                let words = cutter.cut(phrase);
                let all_words = words.iter().all(Word::denies);
                let words = if all_words { cutter.cut_all(phrase) } else { words };
                all.push(Phrase { question, id, state, words, all_words });
            }
        }
    }
    all
}

/// Where a phrase was found and how well it fits.
#[derive(Debug, Clone, Copy)]
struct Found {
    score: i32,
    /// From and to which byte of the complaint.
    span: (usize, usize),
}

impl Found {
    /// Best first: the higher score, then the earlier place.
    fn rank(&self) -> (i32, usize) {
        (-self.score, self.span.0)
    }

    fn before(&self, other: &Found) -> bool {
        self.rank() < other.rank()
    }
}

/// The best place of a phrase in a text, if any.
fn best(phrase: &[Word], text: &[Word], known: &HashSet<&str>) -> Option<Found> {
    (0..text.len())
        .filter_map(|first| Some((first, follow(phrase, text, first, known)?)))
        .filter(|(first, (last, _))| !denied(text, *first, *last))
        .map(|(first, (last, score))| Found { score, span: (text[first].span.0, text[last].span.1) })
        .min_by_key(Found::rank)
}

/// Follows a phrase through a text from one word on: its last word there, and how well it fits.
fn follow(phrase: &[Word], text: &[Word], first: usize, known: &HashSet<&str>) -> Option<(usize, i32)> {
    let (head, rest) = phrase.split_first()?;
    let mut score = WORD - alike(head, &text[first], known)?;
    let mut at = first;
    let mut before = head;
    for word in rest {
        let mut gap = 0;
        loop {
            let next = text.get(at + 1 + gap).filter(|w| w.gap == Gap::None)?;
            if let Some(slip) = alike(word, next, known) {
                score += WORD - slip - GAP * gap as i32;
                at += 1 + gap;
                break;
            }
            // A denial denies what directly follows: "no loss of power" is not "no power".
            let may_stand_between = !next.denies() && (!before.denies() || next.emphasises());
            if gap == WIDEST_GAP || !may_stand_between {
                return None;
            }
            gap += 1;
        }
        before = word;
    }
    Some((at, score))
}

/// Whether two words are alike: none if not, else what is taken off for a slip.
fn alike(phrase: &Word, word: &Word, known: &HashSet<&str>) -> Option<i32> {
    if phrase.stem == word.stem {
        return Some(0);
    }
    // Words that mean something in other phrases are not slips, nor is a slip likely in the first letter.
    let length = phrase.plain.chars().count();
    let reach = match length {
        0..=4 => return None,
        5..=8 => 1,
        _ => 2,
    };
    let may_slip = !phrase.denies()
        && phrase.plain.chars().next() == word.plain.chars().next()
        && length.abs_diff(word.plain.chars().count()) <= reach
        && !known.contains(&*word.stem);
    (may_slip && strsim::osa_distance(&phrase.plain, &word.plain) <= reach).then_some(SLIP)
}

/// Whether what stands from one word to another is denied.
fn denied(text: &[Word], first: usize, last: usize) -> bool {
    denied_before(text, first) || denied_after(text, last)
}

/// "does not click", "never been wet"; but not "won't stop clicking", "not only clicks", "not hot but slow".
fn denied_before(text: &[Word], first: usize) -> bool {
    let mut at = first;
    while at > 0 && first - at <= REACH_OF_DENIAL && text[at].gap == Gap::None {
        at -= 1;
        let word = &text[at];
        if word.turns() {
            return false;
        }
        if word.denies() {
            let between = &text[at + 1..first];
            let goes_on = between.iter().any(|w| matches!(&*w.stem, "stop" | "quit"));
            let more = between.first().is_some_and(|w| matches!(&*w.plain, "only" | "just"));
            return !(goes_on || more);
        }
    }
    false
}

/// "clicking: no", "any smell? not really".
fn denied_after(text: &[Word], last: usize) -> bool {
    let mut rest = text[last + 1..].iter();
    let Some(answer) = rest.next().filter(|w| w.gap == Gap::Asks && w.denies()) else { return false };
    debug_assert!(answer.denies());
    rest.take_while(|w| w.gap == Gap::None).all(|w| w.denies() || w.emphasises())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::case::sample::knowledge;
    use proptest::prelude::*;

    /// Each match as `id=state`, best first, and its words.
    fn found(complaint: &str) -> Vec<(String, String)> {
        let k = knowledge();
        let state = |m: &Match| k.states(&m.id).unwrap()[m.state].0.to_owned();
        matches(&k, complaint).into_iter().map(|m| (format!("{}={}", m.id, state(&m)), m.words)).collect()
    }

    fn ids(complaint: &str) -> Vec<String> {
        found(complaint).into_iter().map(|(id, _)| id).collect()
    }

    #[test]
    fn realistic_complaints() {
        for (complaint, want) in [
            (
                "It has no power at all since we drove it through a puddle.",
                vec!["power-loss=severe", "water-exposure=splashed"],
            ),
            ("Motor is a bit slow and it clicks", vec!["power-loss=some", "clicking=faint"]),
            ("won't start, smells burnt", vec!["wont-start=yes", "burnt-smell=yes"]),
            ("Wont start.", vec!["wont-start=yes"]),
            ("it doesn’t really start any more", vec!["wont-start=yes"]),
            ("The boat went under the water and sank", vec!["water-exposure=submerged"]),
            ("keeps on cutting out", vec!["cuts-in-and-out=often"]),
            ("there is a loud metallic knocking", vec!["clicking=loud"]),
            ("LOTS OF SPARKS!!!", vec!["heavy-sparking=heavy"]),
            ("My son crashed it; it's very weak now", vec!["power-loss=severe", "crash=yes"]),
            ("there is a burning smell", vec!["burnt-smell=yes"]),
            ("it does nothing", vec!["wont-start=yes"]),
            ("does absolutely nothing when I pull the trigger", vec!["wont-start=yes"]),
            ("runs nicely, does not do anything odd", vec![]),
            ("", vec![]),
            ("漢字 が 遅い", vec![]),
        ] {
            assert_eq!(ids(complaint), want, "{complaint}");
        }
    }

    #[test]
    fn denials_take_a_match_away() {
        for complaint in [
            "it does not click",
            "doesn't click",
            "no smell",
            "never wet",
            "It has never been wet or near a puddle",
            "there was no sign of any burnt smell",
            "not dead",
            "no clicks, no sparks, no smell",
            "Clicking: no",
            "any smell? none at all",
            "splashed - never",
            "it neither clicks nor sparks",
            "runs without any sparks",
            "no loss of power",
        ] {
            assert_eq!(ids(complaint), Vec::<String>::new(), "{complaint}");
        }
    }

    #[test]
    fn denials_reach_no_further_than_they_should() {
        for (complaint, want) in [
            ("no smell but it clicks", vec!["clicking=faint"]),
            ("It never sparks. It clicks.", vec!["clicking=faint"]),
            ("does not spark, clicks", vec!["clicking=faint"]),
            ("it won't stop clicking", vec!["clicking=faint"]),
            ("not only clicks", vec!["clicking=faint"]),
            ("Smell: no power", vec!["power-loss=severe", "burnt-smell=yes"]),
            ("does it click? No. Power is fine", vec![]),
            ("no power and clicks", vec!["power-loss=severe", "clicking=faint"]),
            ("won't start when wet", vec!["wont-start=yes", "water-exposure=splashed"]),
        ] {
            assert_eq!(ids(complaint), want, "{complaint}");
        }
    }

    #[test]
    fn slips_of_the_keyboard_are_forgiven() {
        assert_eq!(ids("it got splahsed"), ["water-exposure=splashed"]);
        assert_eq!(ids("tikcing noise"), ["clicking=faint"]);
        assert_eq!(ids("it was parking outside"), Vec::<String>::new(), "parking is not sparking");
        assert_eq!(ids("a train"), Vec::<String>::new());
    }

    #[test]
    fn words_are_quoted_as_they_stand() {
        assert_eq!(found("It WON’T really start!")[0].1, "WON’T really start");
        assert_eq!(found("漢 a bit   slow")[0].1, "bit   slow");
    }

    #[test]
    fn the_best_match_of_a_question_is_kept() {
        // "weaker" alone says some, "no power" says severe and fits better.
        assert_eq!(ids("weaker every day, now no power"), ["power-loss=severe"]);
        assert_eq!(ids("loud clicking, it clicks"), ["clicking=loud"]);
    }

    #[test]
    fn gaps_are_narrow_and_within_a_clause() {
        assert_eq!(ids("lots of really big sparks"), ["heavy-sparking=heavy"]);
        assert_eq!(ids("lots of tiny blue and white sparks"), ["heavy-sparking=some"]);
        assert_eq!(ids("very. weak?"), Vec::<String>::new());
    }

    proptest! {
        #[test]
        fn any_text_is_matched_or_not(text in "\\PC{0,200}") {
            for m in matches(&knowledge(), &text) {
                prop_assert!(text.contains(&m.words));
            }
        }

        #[test]
        fn any_order_of_known_words_gives_one_match_a_question(
            words in prop::collection::vec(prop::sample::select(vec!["no", "not", "power", "clicks", "loud", ",", "smell", "but", "wet", ":", "won't", "start"]), 0..30)
        ) {
            let found = ids(&words.join(" "));
            let questions: HashSet<_> = found.iter().map(|f| f.split('=').next()).collect();
            prop_assert_eq!(questions.len(), found.len());
        }
    }
}
