//! Each code of the lint has a small file that calls it forth, and messages that are kept as snapshots.

#[path = "knowledge/units.rs"]
mod units;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use commsense::knowledge::{Code, Layer, Loaded, Severity, line_form, load, snippet_form};
use units::Units;

const BASE: &str = include_str!("knowledge/base.yaml");

fn base() -> Layer {
    Layer::memory([("base.yaml", BASE)])
}

/// The file laid over the small base; by itself if its name says so.
fn load_fixture(path: &Path) -> Loaded {
    let text = fs::read_to_string(path).expect("the fixture is readable").replace("\r\n", "\n");
    let name = path.file_name().expect("it has a name").to_string_lossy().into_owned();
    let alone = name.contains("-alone");
    let layer = Layer::memory([(name, text)]);
    if alone { load(&[layer], &Units) } else { load(&[base(), layer], &Units) }
}

fn fixtures() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/knowledge/invalid");
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder).expect("the folder is there").map(|e| e.expect("an entry").path()).collect();
    paths.sort();
    paths
}

#[test]
fn the_base_has_no_problem() {
    let loaded = load(&[base()], &Units);
    let lines: Vec<String> = loaded.diagnostics.iter().map(|d| line_form(d, &loaded.files)).collect();
    assert_eq!(lines, Vec::<String>::new());
    assert!(loaded.knowledge.is_some());
}

#[test]
fn messages() {
    insta::glob!("knowledge/invalid/*.yaml", |path| {
        let loaded = load_fixture(path);
        let mut text = String::new();
        for diagnostic in &loaded.diagnostics {
            text += &line_form(diagnostic, &loaded.files);
            text += "\n";
            text += &snippet_form(diagnostic, &loaded.files, false);
            text += "\n\n";
        }
        insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false, snapshot_path => "knowledge/snapshots" }, {
            insta::assert_snapshot!(text);
        });
    });
}

#[test]
fn each_file_calls_forth_the_code_in_its_name() {
    for path in fixtures() {
        let name = path.file_name().expect("it has a name").to_string_lossy().into_owned();
        let loaded = load_fixture(&path);
        let codes: Vec<&str> = loaded.diagnostics.iter().map(|d| d.code.id()).collect();
        assert!(codes.contains(&&name[..4]), "{name}: {codes:?}");
        let errors = loaded.diagnostics.iter().any(|d| d.severity == Severity::Error);
        assert_eq!(loaded.knowledge.is_none(), errors, "{name}");
    }
}

#[test]
fn every_code_has_a_file() {
    let mut have: BTreeSet<String> = fixtures()
        .iter()
        .map(|p| p.file_name().expect("it has a name").to_string_lossy()[..4].to_owned())
        .collect();
    // A folder that cannot be read and a file with hundreds of problems are made in tests of their own.
    have.extend([Code::Unreadable, Code::More].map(|code| code.id().to_owned()));
    let all: BTreeSet<String> = Code::ALL.iter().map(|code| code.id().to_owned()).collect();
    assert_eq!(have, all);
}

#[test]
fn one_line_form_is_what_editors_expect() {
    for path in fixtures() {
        let loaded = load_fixture(&path);
        for diagnostic in &loaded.diagnostics {
            let line = line_form(diagnostic, &loaded.files);
            let mut parts = line.splitn(4, ':');
            assert!(parts.next().is_some_and(|p| p.ends_with(".yaml")), "{line}");
            for _ in 0..2 {
                assert!(parts.next().and_then(|n| n.parse::<u32>().ok()).is_some_and(|n| n > 0), "{line}");
            }
            let rest = parts.next().unwrap_or("");
            let word = diagnostic.severity.word();
            assert!(rest.starts_with(&format!(" {word}[{}]: ", diagnostic.code.id())), "{line}");
        }
    }
}

#[test]
fn colour_adds_only_colour() {
    for path in fixtures() {
        let loaded = load_fixture(&path);
        for diagnostic in &loaded.diagnostics {
            let coloured = snippet_form(diagnostic, &loaded.files, true);
            assert!(coloured.contains('\u{1b}'));
            assert_eq!(without_colour(&coloured), snippet_form(diagnostic, &loaded.files, false));
        }
    }
}

fn without_colour(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("\u{1b}[") {
        plain += before;
        rest = after.split_once('m').map_or("", |(_, after)| after);
    }
    plain + rest
}

/// Each of these makes the deserializer buffer a value and lose the place of an error in it.
#[test]
fn no_raw_type_loses_places() {
    let source = include_str!("../src/knowledge/raw.rs");
    for attribute in ["serde(untagged", "serde(flatten", "serde(tag"] {
        assert!(!source.contains(attribute), "{attribute}");
    }
}
