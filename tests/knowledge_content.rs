//! The knowledge that ships with the program is free of problems, and its faster way in gives the same.

#[path = "knowledge/units.rs"]
mod units;

use std::path::PathBuf;

use commsense::knowledge::{Knowledge, Layer, Loaded, layers_to_check, line_form, load, summary};
use units::Units;

fn report(loaded: &Loaded) -> String {
    let mut lines: Vec<String> = loaded.diagnostics.iter().map(|d| line_form(d, &loaded.files)).collect();
    lines.push(summary(&loaded.diagnostics));
    lines.join("\n")
}

#[test]
fn built_in_knowledge_has_no_problems() {
    let loaded = load(&[Layer::builtin_yaml()], &Units);
    assert!(loaded.diagnostics.is_empty() && loaded.knowledge.is_some(), "\n{}", report(&loaded));
}

#[test]
fn the_fast_way_in_gives_the_same() {
    let fast = load(&[Layer::builtin()], &Units);
    let full = load(&[Layer::builtin_yaml()], &Units);
    assert_eq!(fast.knowledge, full.knowledge);
    assert_eq!(report(&fast), report(&full));
}

fn built_in() -> Knowledge {
    load(&[Layer::builtin()], &Units).knowledge.expect("it is sound")
}

#[test]
fn every_stage_that_takes_the_motor_apart_tells_the_way_back() {
    let k = built_in();
    for stage in k.stages.iter().filter(|s| s.opens || (s.minutes_back > 0.0 && !s.skippable)) {
        assert!(stage.closed_by.is_some(), "{} is never undone", stage.id);
    }
}

#[test]
fn brushes_are_drawn_and_put_in_by_their_stage_alone() {
    let k = built_in();
    let inside = |id: &str| k.stages.iter().any(|s| s.id == id && s.opens);
    for repair in k.repairs.iter().filter(|r| inside(&r.stage)) {
        for step in &repair.steps {
            let action = step.action.to_lowercase();
            for words in
                ["unhook both", "draw both", "draw the armature", "hook its spring", "hook the spring"]
            {
                assert!(!action.contains(words), "{}: {action}", repair.id);
            }
        }
    }
}

#[test]
fn what_an_act_can_harm_is_said_before_the_act() {
    let k = built_in();
    let stage = |id: &str| k.stages.iter().find(|s| s.id == id).expect("a stage");
    assert!(stage("brushes-out").reached_by.contains("never by its shunt"));
    assert!(stage("brushes-out").record_first.iter().any(|r| r.contains("way up")));
    for id in ["end-bell-off", "armature-out"] {
        assert!(stage(id).calls_for.iter().any(|c| c == "magnets-pinch"), "{id}");
    }
}

/// Where something is wrong, a yes may stand before the rest: the name of the question then says it all.
#[test]
fn a_label_says_what_is_seen_without_its_question() {
    for observation in built_in().observations {
        for (i, state) in observation.states.iter().enumerate() {
            let bare = matches!(state.label.as_str(), "No" | "Yes") || state.label.starts_with("No:");
            let bare = bare || (i == 0 && state.label.starts_with("Yes:"));
            assert!(!bare, "{} “{}”", observation.name, state.label);
        }
    }
}

#[test]
fn words_of_a_lesson_fit_a_line_each() {
    for lesson in built_in().lessons {
        for word in lesson.words {
            assert!(word.word.len() + word.means.len() <= 74, "{}: {}", lesson.id, word.word);
        }
    }
}

/// `KNOWLEDGE_DIR=some/folder cargo test --test knowledge_content -- --ignored --nocapture`
#[test]
#[ignore = "checks a folder that is named in KNOWLEDGE_DIR"]
fn check_folder() {
    let folder = PathBuf::from(std::env::var_os("KNOWLEDGE_DIR").expect("KNOWLEDGE_DIR names a folder"));
    let loaded = load(&layers_to_check(Layer::directory(&folder)), &Units);
    println!("{}", report(&loaded));
}
