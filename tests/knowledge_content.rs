//! The knowledge that ships with the program is free of problems, and its faster way in gives the same.

#[path = "knowledge/units.rs"]
mod units;

use std::path::PathBuf;

use commsense::knowledge::{Layer, Loaded, layers_to_check, line_form, load, summary};
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

/// `KNOWLEDGE_DIR=some/folder cargo test --test knowledge_content -- --ignored --nocapture`
#[test]
#[ignore = "checks a folder that is named in KNOWLEDGE_DIR"]
fn check_folder() {
    let folder = PathBuf::from(std::env::var_os("KNOWLEDGE_DIR").expect("KNOWLEDGE_DIR names a folder"));
    let loaded = load(&layers_to_check(Layer::directory(&folder)), &Units);
    println!("{}", report(&loaded));
}
