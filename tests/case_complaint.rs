//! Complaints as owners put them, against the knowledge that the program is built with.

#![allow(clippy::unwrap_used)]

use commsense::case::{BenchUnits, complaint};
use commsense::knowledge::{Ask, Knowledge, builtin};

fn knowledge() -> Knowledge {
    builtin(&BenchUnits).unwrap_or_else(|loaded| panic!("{:?}", loaded.diagnostics))
}

fn found(k: &Knowledge, text: &str) -> Vec<String> {
    let state = |id: &str, state: usize| k.states(id).unwrap()[state].0.to_owned();
    complaint::matches(k, text).iter().map(|m| format!("{}={}", m.id, state(&m.id, m.state))).collect()
}

#[test]
fn what_owners_say_is_found() {
    let k = knowledge();
    for (text, wanted) in [
        (
            "I drove it through a puddle and now it has no power",
            &["water-exposure=splashed", "power-loss=severe"][..],
        ),
        ("The boat sank last week. Motor is all rusty.", &["water-exposure=submerged", "rust-outside=heavy"]),
        ("The shaft wobbles and there's something loose inside", &["shaft-wobble=clear", "rattle=yes"]),
        ("It is locked solid", &["rotation-by-hand=locked"]),
    ] {
        let found = found(&k, text);
        for w in wanted {
            assert!(found.iter().any(|f| f == w), "{text}: no {w} in {found:?}");
        }
    }
}

/// An owner's guess at what is inside is no look at it.
#[test]
fn what_nobody_can_have_seen_is_not_found() {
    let k = knowledge();
    for text in ["worn brushes I think", "packed with mud"] {
        assert!(
            found(&k, text).iter().all(|f| !f.starts_with("brush-length") && !f.starts_with("grit-inside"))
        );
    }
}

#[test]
fn what_owners_deny_is_not_found() {
    let k = knowledge();
    for text in [
        "It has never been wet, never sank and was not splashed.",
        "no rust, no sparks, no smell",
        "doesn't click, doesn't squeal and doesn't grind",
        "the shaft does not wobble",
    ] {
        assert_eq!(found(&k, text), Vec::<String>::new(), "{text}");
    }
}

/// Every phrase, said alone, leads to the question that it belongs to (another state of it may claim the
/// same words; the knowledge has to keep those apart).
#[test]
fn every_phrase_finds_its_question() {
    let k = knowledge();
    let inside = k.stages.iter().position(|s| s.opens).unwrap();
    let closed = |ask: &Ask| k.stage_index(&ask.stage).unwrap() < inside;
    let factors = k.factors.iter().flat_map(|f| f.states.iter().map(move |s| (&f.id, &s.phrases)));
    let observations = (k.observations.iter().filter(|o| closed(&o.ask)))
        .flat_map(|o| o.states.iter().map(move |s| (&o.id, &s.phrases)));
    for (id, phrases) in factors.chain(observations) {
        for phrase in phrases {
            let found = complaint::matches(&k, phrase);
            assert!(found.iter().any(|m| m.id == *id), "`{phrase}` of `{id}` finds {found:?}");
        }
    }
}
