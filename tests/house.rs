//! The invariants of the house that a program can check.

use std::fs;
use std::path::{Path, PathBuf};

fn sources(folder: &str) -> Vec<(PathBuf, String)> {
    fn collect(folder: &Path, out: &mut Vec<(PathBuf, String)>) {
        for entry in fs::read_dir(folder).expect("a source folder can be read") {
            let path = entry.expect("an entry can be read").path();
            if path.is_dir() {
                collect(&path, out);
            } else if path.extension().is_some_and(|e| e == "rs") && !path.ends_with("tests.rs") {
                let text = fs::read_to_string(&path).expect("a source can be read");
                out.push((path, text));
            }
        }
    }
    let mut out = Vec::new();
    collect(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(folder), &mut out);
    assert!(!out.is_empty(), "no sources in {folder}");
    out
}

/// The program text of a source: without its tests, and without comments.
fn program(text: &str) -> String {
    let code = text.find("\nmod tests {").map_or(text, |at| &text[..at]);
    code.lines().filter(|l| !l.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
}

/// Rooms from the ground up; each may use only those before it.
const ROOMS: [&str; 9] =
    ["bench", "knowledge", "network", "inference", "case", "plan", "drill", "present", "cli"];

#[test]
fn a_room_stands_only_on_rooms_below_it() {
    for (floor, room) in ROOMS.iter().enumerate() {
        let mut above: Vec<&str> = ROOMS[floor + 1..].to_vec();
        if *room == "knowledge" {
            above.push("bench");
        }
        for (path, text) in sources(room) {
            for other in &above {
                let used = format!("crate::{other}");
                assert!(!program(&text).contains(&used), "{} uses {used}", path.display());
            }
        }
    }
}

#[test]
fn only_the_top_floor_talks_and_looks_around() {
    let forbidden = [
        "println!",
        "eprintln!",
        "print!(",
        "std::env",
        "env::var",
        "std::process",
        "SystemTime",
        "Instant::now",
        "inquire",
        "crossterm",
        "std::io::stdin",
        "std::io::stdout",
        "std::io::stderr",
    ];
    for room in &ROOMS[..ROOMS.len() - 1] {
        for (path, text) in sources(room) {
            for word in forbidden {
                assert!(!program(&text).contains(word), "{} has {word}", path.display());
            }
        }
    }
}

#[test]
fn no_fact_of_the_trade_stands_in_the_program() {
    let knowledge =
        commsense::knowledge::builtin(&commsense::case::BenchUnits).expect("the built-in knowledge is sound");
    let ids: Vec<&str> = (knowledge.faults.iter().map(|f| f.id.as_str()))
        .chain(knowledge.factors.iter().map(|f| f.id.as_str()))
        .chain(knowledge.observations.iter().map(|o| o.id.as_str()))
        .chain(knowledge.repairs.iter().map(|r| r.id.as_str()))
        .chain(knowledge.motors.iter().map(|m| m.id.as_str()))
        // One-word ids are words of the language too.
        .filter(|id| id.contains('-'))
        .collect();
    let named_in_help = ["src/cli/triage.rs", "src/cli/procedure.rs", "src/cli/knowledge.rs"];
    for room in ROOMS {
        for (path, text) in sources(room) {
            // Help texts show how a command is called; test-only samples are no program text.
            let shown = named_in_help.iter().any(|n| path.ends_with(n)) || path.ends_with("case/sample.rs");
            // The options of a measurement, and a motor's nominal values, are named like what is measured.
            let named_alike = path.iter().any(|p| p == "measure") || path.ends_with("physics/nominal.rs");
            let measured = |id: &str| named_alike && knowledge.observation(id).is_some();
            for id in ids.iter().filter(|id| !shown && !measured(id)) {
                let quoted = format!("\"{id}\"");
                assert!(!program(&text).contains(&quoted), "{} names {id}", path.display());
            }
        }
    }
}

#[test]
fn colours_are_named_in_one_place() {
    for room in ROOMS {
        for (path, text) in sources(room) {
            let adapter = path.ends_with("present/text/paint.rs") || path.ends_with("cli/appearance.rs");
            assert!(adapter || !program(&text).contains("colored::"), "{} uses colored", path.display());
        }
    }
}
