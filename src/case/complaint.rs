//! Answers found in the owner's own words.
//!
//! The complaint is compared with the phrases of the knowledge. Words are alike by their stem, or with a
//! slip of the keyboard; the words of a phrase must come in order, with at most [`WIDEST_GAP`] others
//! between, in one clause. Words that say something longer do not say something shorter as well: the stronger
//! match has them. A denial before the phrase, between its words, or in answer to it ("clicking: no") takes
//! the match away, and so does what was once ("used to squeal", "the smell is gone"): better to find too
//! little than the opposite of what was said. What is found is a proposal, for a person to confirm.

use std::collections::{HashMap, HashSet};

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
/// What a comparison is worth more than a plain saying of as many words, where both want the same words:
/// "runs backwards faster" is about faster, not about backwards.
const COMPARISON: i32 = 5;

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
    let mut places: Vec<(Found, &Phrase)> = Vec::new();
    for phrase in &phrases {
        let text = if phrase.all_words { &every_word } else { &text };
        places.extend(found(&phrase.words, text, &known).map(|f| (f, phrase)));
    }
    let mut best: Vec<(Found, &Phrase)> = Vec::new();
    for (new, phrase) in unclaimed(places) {
        match best.iter_mut().find(|(_, p)| p.question == phrase.question) {
            Some(old) if new.rank() < old.0.rank() => *old = (new, phrase),
            Some(_) => {}
            None => best.push((new, phrase)),
        }
    }
    best.sort_by_key(|(f, _)| f.rank());
    let one = |(f, p): (Found, &Phrase)| Match {
        id: p.id.to_owned(),
        state: p.state,
        words: complaint[f.span().0..f.span().1].to_owned(),
    };
    best.into_iter().map(one).collect()
}

/// The places whose words no stronger place of another question has: who says "goes quicker backwards"
/// does not say "goes backwards", nor is "sounds like gravel" a word about gravel. Equally strong places
/// share their words; a person tells which is meant. A denied place has its words for nothing: where the
/// "grinding noise" is gone, no "grinding" is left.
fn unclaimed<'p, 'k>(mut places: Vec<(Found, &'p Phrase<'k>)>) -> Vec<(Found, &'p Phrase<'k>)> {
    places.sort_by_key(|(f, _)| -f.strength);
    // For each word (where it begins) the places that have it: question (none if denied) and strength.
    let mut claims: HashMap<usize, Vec<(Option<usize>, i32)>> = HashMap::new();
    places.retain(|(f, phrase)| {
        let taken = |at: &(usize, usize)| {
            let owners = claims.get(&at.0).map_or(&[][..], Vec::as_slice);
            owners.iter().any(|(owner, strength)| *owner != Some(phrase.question) && *strength > f.strength)
        };
        if f.words.iter().any(taken) {
            return false;
        }
        let owner = (!f.denied).then_some(phrase.question);
        for at in &f.words {
            let owners = claims.entry(at.0).or_default();
            if !owners.iter().any(|(other, _)| *other == owner) {
                owners.push((owner, f.strength));
            }
        }
        !f.denied
    });
    places
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
#[derive(Debug, Clone)]
struct Found {
    score: i32,
    /// Its score among phrases of other questions that want the same words.
    strength: i32,
    /// From and to which byte of the complaint each of its words stands; there is at least one.
    words: Vec<(usize, usize)>,
    /// Whether it is denied.
    denied: bool,
}

impl Found {
    /// From and to which byte of the complaint.
    fn span(&self) -> (usize, usize) {
        let first = self.words.first().map_or(0, |w| w.0);
        (first, self.words.last().map_or(first, |w| w.1))
    }

    /// Best first: the higher score, then the earlier place.
    fn rank(&self) -> (i32, usize) {
        (-self.score, self.span().0)
    }
}

/// All places of a phrase in a text.
fn found(phrase: &[Word], text: &[Word], known: &HashSet<&str>) -> impl Iterator<Item = Found> {
    (0..text.len()).filter_map(|first| {
        let (places, score) = follow(phrase, text, first, known)?;
        let last = *places.last()?;
        let compares = phrase.iter().any(Word::compares);
        let strength = score + if compares { COMPARISON } else { 0 };
        let words = places.into_iter().map(|at| text[at].span).collect();
        Some(Found { score, strength, words, denied: denied(text, first, last) })
    })
}

/// Follows a phrase through a text from one word on: where each of its words stands, and how well it fits.
fn follow(phrase: &[Word], text: &[Word], first: usize, known: &HashSet<&str>) -> Option<(Vec<usize>, i32)> {
    let (head, rest) = phrase.split_first()?;
    let mut score = WORD - alike(head, &text[first], known)?;
    let mut places = vec![first];
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
            // A denial denies what directly follows: "no loss of power" is not "no power". And "goes better
            // backwards" is no "goes backwards".
            let may_stand_between =
                !next.denies() && !next.compares_ways() && (!before.denies() || next.emphasises());
            if gap == WIDEST_GAP || !may_stand_between {
                return None;
            }
            gap += 1;
        }
        places.push(at);
        before = word;
    }
    Some((places, score))
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

/// "does not click", "never been wet", "used to squeal", "stopped clicking"; but not "won't stop clicking",
/// "not only clicks", "not hot but slow".
fn denied_before(text: &[Word], first: usize) -> bool {
    let mut at = first;
    while at > 0 && first - at <= REACH_OF_DENIAL && text[at].gap == Gap::None {
        at -= 1;
        let word = &text[at];
        if word.turns() {
            return false;
        }
        if word.used_to {
            return true;
        }
        if word.denies() {
            let between = &text[at + 1..first];
            let goes_on = between.iter().any(Word::ends);
            let more = between.first().is_some_and(|w| matches!(&*w.plain, "only" | "just"));
            return !(goes_on || more);
        }
    }
    // Nothing denies the stopping itself.
    let stopped = first > 0 && text[first].gap == Gap::None && text[first - 1].ends();
    stopped && text[first].plain.ends_with("ing")
}

/// "clicking: no", "any smell? not really", "the smell is gone", "the clicking has stopped", "squealed last
/// week but not any more".
fn denied_after(text: &[Word], last: usize) -> bool {
    let rest = &text[last + 1..];
    let Some(next) = rest.first() else { return false };
    if next.gap == Gap::Asks && next.denies() {
        return rest[1..].iter().take_while(|w| w.gap == Gap::None).all(|w| w.denies() || w.emphasises());
    }
    if taken_back(rest) {
        return true;
    }
    let closes = |at: usize| rest.get(at).is_none_or(|w| w.gap != Gap::None || w.turns() || w.emphasises());
    let gone = if rest.get(1).is_some_and(|w| w.plain == "away") { 2 } else { 1 };
    next.gap == Gap::None && next.is_over(gone == 2) && closes(gone)
}

/// Whether what follows a match takes it back: "but not any more", soon after it.
fn taken_back(rest: &[Word]) -> bool {
    let soon = rest.iter().take(REACH_OF_DENIAL);
    let Some(but) = soon.clone().position(|w| matches!(&*w.plain, "but" | "though")) else { return false };
    let before = &rest[..but];
    let Some((no, after)) = rest[but + 1..].split_first() else { return false };
    let mut after = after.iter().take_while(|w| w.gap == Gap::None).peekable();
    let whole = before.iter().all(|w| w.gap == Gap::None) && no.gap == Gap::None && no.denies();
    whole && after.peek().is_some() && after.all(|w| w.emphasises() || w.plain == "now")
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
            "it used to click",
            "It used to be very weak",
            "stopped clicking",
            "it has stopped sparking",
            "the burnt smell is gone",
            "the clicking went away",
            "the clicking has stopped now",
            "it clicked last week but not any more",
            "it was splashed, but not now",
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
            ("never stops clicking", vec!["clicking=faint"]),
            ("used to be quiet, clicks now", vec!["clicking=faint"]),
            ("used to be quiet but clicks", vec!["clicking=faint"]),
            ("a used motor, clicks", vec!["clicking=faint"]),
            ("the used one clicks", vec!["clicking=faint"]),
            ("it stopped and clicks", vec!["clicking=faint"]),
            ("clicks but not all the time", vec!["clicking=faint"]),
            ("clicks but no smell any more", vec!["clicking=faint"]),
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
