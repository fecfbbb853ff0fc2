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

/// Everyday complaints, and all that is heard in each: nothing less, and nothing beside it.
#[test]
fn everyday_complaints_are_heard_as_they_are_meant() {
    let k = knowledge();
    let mut misheard = Vec::new();
    for (text, wanted) in [
        // A comparison of the two ways is no word about the wrong way.
        ("goes quicker backwards than forwards", &["reverse-faster=clearly"][..]),
        ("It goes backwards faster than forwards.", &["reverse-faster=clearly"]),
        ("runs backwards faster", &["reverse-faster=clearly"]),
        ("drives better backwards", &["reverse-faster=clearly"]),
        ("it turns a bit faster in reverse", &["reverse-faster=slightly"]),
        ("goes in reverse when I press forward", &["turns-wrong-way=yes"]),
        ("goes backwards when I want to go forwards", &["turns-wrong-way=yes"]),
        ("much slower in reverse", &["reverse-faster=no"]),
        ("It won't go backwards any more", &["wont-start=no"]),
        // Power and starting.
        ("it isn't as fast as it used to be", &["power-loss=some"]),
        ("sometimes it just stops", &["cuts-in-and-out=sometimes"]),
        ("now it has hardly any power and it smells a bit funny", &["power-loss=severe"]),
        ("it has hardly any power", &["power-loss=severe"]),
        ("barely runs", &["power-loss=severe"]),
        ("it's dead slow now", &["power-loss=severe"]),
        ("no oomph any more", &["power-loss=some"]),
        ("It does not smell and does not get hot, it is just slow.", &["power-loss=some"]),
        ("it is dead", &["wont-start=yes"]),
        ("half the punch it had", &["power-loss=some"]),
        ("stops dead then carries on", &["cuts-in-and-out=sometimes"]),
        ("old batteries but they read ok", &[]),
        ("went for a swim", &["water-exposure=submerged"]),
        ("I rubbed the copper with emery", &["commutator-abrasive=yes"]),
        ("It conked out yesterday", &["wont-start=yes"]),
        ("just hums, then nothing", &["wont-start=yes"]),
        ("needs a nudge to get going", &["starts-with-push=yes"]),
        ("there's a dead spot, I have to flick it", &["starts-with-push=yes"]),
        ("The battery is dead after five minutes", &["battery-flat-early=yes"]),
        ("it goes a bit then stops", &["cuts-in-and-out=sometimes"]),
        ("The esc cuts out after a minute", &["controller-shuts-down=yes"]),
        ("the steering goes mad when I press the throttle", &["radio-interference=yes"]),
        // Noise, heat, sparks and smell.
        ("sounds like gravel inside", &["grinding=yes"]),
        ("it squeaks when it slows down", &["squeal=yes"]),
        ("makes a ticking sound like a clock", &["clicking=faint"]),
        ("shakes like a washing machine", &["vibration=strong"]),
        ("hot enough to fry an egg on", &["runs-hot=too-hot"]),
        ("sparks coming out at the back", &["heavy-sparking=some"]),
        ("smells like burning plastic", &["burnt-smell=yes"]),
        // What happened before.
        ("dropped down the stairs", &["crash=yes"]),
        ("ran it through the sea", &["water-exposure=submerged"]),
        ("drove it on gravel", &["mud-or-grit=some"]),
        ("someone put the wires the wrong way round", &["lead-polarity=crossed"]),
        ("bought second hand, hardly used", &["hours-since-service=few", "long-storage=years"]),
        // What is not so, or no longer so.
        ("no smell", &[]),
        ("doesn't click any more", &[]),
        ("it used to squeal", &[]),
        ("it stopped squealing", &[]),
        ("the smell of burning is gone", &[]),
        ("The grinding noise went away.", &[]),
        ("used to squeal, now it grinds", &["grinding=yes"]),
        ("it won't stop squealing", &["squeal=yes"]),
        ("it squealed last week but not any more", &[]),
        ("not dead, only slow", &["power-loss=some"]),
        ("never squeals, never clicked, no sparks", &[]),
    ] {
        let mut found = found(&k, text);
        found.sort();
        if found != wanted {
            misheard.push(format!("{text}: {found:?} instead of {wanted:?}"));
        }
    }
    assert!(misheard.is_empty(), "{misheard:#?}");
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
