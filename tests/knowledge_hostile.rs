//! Files that nobody should write: each ends soon, with a clear error at the right place, and never in a panic.

#[path = "knowledge/units.rs"]
mod units;

use std::fs;
use std::time::{Duration, Instant};

use commsense::knowledge::{Code, Layer, Loaded, line_form, load, snippet_form};
use proptest::prelude::*;
use units::Units;

const BASE: &str = include_str!("knowledge/base.yaml");
const HEAD: &str = "format: commsense/knowledge/1\n";

/// A second; more without the optimiser, so that a busy machine does not fail a sound build.
fn limit() -> Duration {
    Duration::from_secs(if cfg!(debug_assertions) { 5 } else { 1 })
}

/// Loads one text over the small base, and insists on an end in time.
fn over_base(text: impl Into<String>) -> Loaded {
    let layers = [Layer::memory([("base.yaml", BASE)]), Layer::memory([("x.yaml", text.into())])];
    let start = Instant::now();
    let loaded = load(&layers, &Units);
    for diagnostic in &loaded.diagnostics {
        assert!(line_form(diagnostic, &loaded.files).len() < 1000);
        assert!(snippet_form(diagnostic, &loaded.files, true).len() < 20_000);
    }
    assert!(start.elapsed() < limit(), "{:?}", start.elapsed());
    loaded
}

/// Code, line and column of the first problem.
fn first(loaded: &Loaded) -> (Code, u32, u32) {
    let found = loaded.diagnostics.first().expect("something is found");
    (found.code, found.place.line, found.place.column)
}

fn refused(text: impl Into<String>) -> (Code, u32, u32) {
    let loaded = over_base(text);
    assert!(loaded.knowledge.is_none());
    first(&loaded)
}

const MB: usize = 1 << 20;
/// The largest file that is read.
const LARGEST: usize = MB / 2;

#[test]
fn ten_megabytes_are_refused_by_their_size() {
    for text in ["[".repeat(10 * MB), "x".repeat(10 * MB), "a: ".repeat(3 * MB), "- ".repeat(5 * MB)] {
        assert_eq!(refused(text), (Code::TooMuch, 1, 1));
    }
}

#[test]
fn nesting_ends_at_the_limit() {
    assert_eq!(refused("[".repeat(LARGEST)).0, Code::TooMuch);
    assert_eq!(refused("{a: ".repeat(LARGEST / 4)).0, Code::TooMuch);
    assert_eq!(refused("- ".repeat(LARGEST / 2)).0, Code::TooMuch);
    assert_eq!(refused("? ".repeat(LARGEST / 2)).0, Code::Forbidden);
    let steps: String = (0..1000).map(|i| format!("{}a:\n", " ".repeat(i))).collect();
    assert_eq!(refused(steps), (Code::TooMuch, 33, 33));
}

#[test]
fn one_long_line_and_many_short_ones() {
    let almost = LARGEST - HEAD.len() - 20;
    assert_eq!(refused(format!("{HEAD}x: {}", "y".repeat(almost))), (Code::Shape, 2, 1));
    assert_eq!(refused(format!("{HEAD}{}: y", "x".repeat(almost))).0, Code::Syntax);
    assert_eq!(refused(format!("{HEAD}x: \"{}", "y ".repeat(almost / 2))).0, Code::Syntax);
    let list = over_base(format!("{HEAD}faults:\n{}", "- 1\n".repeat(almost / 4)));
    assert_eq!(first(&list), (Code::Shape, 3, 3));
    let last = list.diagnostics.last().expect("something is found");
    assert_eq!(last.code, Code::More);
    let keys: String = (0..40_000).map(|i| format!("k{i}: 1\n")).collect();
    assert_eq!(refused(format!("{HEAD}{keys}")), (Code::Shape, 2, 1));
    let commas = format!("{HEAD}faults: [{}]", "{}, ".repeat(almost / 4));
    assert_eq!(refused(commas).0, Code::Shape);
}

#[test]
fn an_alias_bomb_does_not_go_off() {
    let mut bomb = String::from("format: commsense/knowledge/1\na0: &a0 [x, x, x, x, x, x, x, x, x]\n");
    for i in 1..30 {
        let last = format!("*a{}, ", i - 1).repeat(9);
        bomb += &format!("a{i}: &a{i} [{last}]\n");
    }
    assert_eq!(refused(bomb), (Code::Forbidden, 2, 5));
    assert_eq!(refused(format!("{HEAD}a: *unknown\n")).0, Code::Syntax);
    assert_eq!(refused(format!("{HEAD}a:\n  <<: {{b: 1}}\n")), (Code::Forbidden, 3, 3));
}

#[test]
fn what_is_not_plain_text() {
    assert_eq!(refused(format!("{HEAD}faults: \0\n")), (Code::Characters, 2, 9));
    assert_eq!(refused("\0".repeat(LARGEST)), (Code::Characters, 1, 1));
    assert_eq!(refused(format!("{HEAD}faults:\n\t- id: x\n")), (Code::Characters, 3, 1));
    assert_eq!(refused(format!("{HEAD}# \u{1b}[2J\n")), (Code::Characters, 2, 3));
    let escaped = format!("{HEAD}sources:\n  - {{id: book, citation: \"a\\e[2Jb\"}}\n");
    let loaded = over_base(escaped);
    assert_eq!(first(&loaded), (Code::Characters, 3, 26));
    assert!(!line_form(&loaded.diagnostics[0], &loaded.files).contains('\u{1b}'));
}

#[test]
fn wrong_types_everywhere() {
    for value in ["7", "~", "true", "[]", "{}", "text", "[[1]]", "{a: {b: c}}", "-.inf", "1e999", "''"] {
        for list in ["stages", "faults", "observations", "readings", "repairs", "scopes", "motors", "shop"] {
            over_base(format!("{HEAD}{list}: {value}\n"));
            over_base(format!("{HEAD}{list}:\n  - {value}\n"));
            over_base(format!("{HEAD}{list}:\n  - id: {value}\n    shows: {value}\n    states: [{value}]\n"));
        }
    }
    assert_eq!(refused(""), (Code::Format, 1, 1));
    assert_eq!(refused("7"), (Code::Format, 1, 1));
    assert_eq!(refused("format: [1]"), (Code::Format, 1, 9));
    assert_eq!(refused(format!("{HEAD}7: x\n")).0, Code::Shape);
}

#[test]
fn numbers_that_are_none() {
    for number in [".nan", ".inf", "-.inf", "-1"] {
        let text = BASE.replace("minutes: 10", &format!("minutes: {number}"));
        let loaded = load(&[Layer::memory([("x.yaml", text)])], &Units);
        assert_eq!(first(&loaded).0, Code::Number, "{number}");
    }
}

#[test]
fn columns_count_characters_before_the_error() {
    let line = |before: &str| format!("{HEAD}sources:\n  - {{citation: \"{before}\", id: Bad}}\n");
    assert_eq!(refused(line("abcd")), (Code::BadId, 3, 28));
    assert_eq!(refused(line("éèöü")), (Code::BadId, 3, 28));
    assert_eq!(refused(line("漢字漢字")), (Code::BadId, 3, 28));
    assert_eq!(refused(line("e\u{301}😀x")), (Code::BadId, 3, 28));
    let crlf = line("漢字漢字").replace('\n', "\r\n");
    assert_eq!(refused(crlf.clone()), (Code::BadId, 3, 28));
    assert_eq!(refused(format!("\u{feff}{crlf}")), (Code::BadId, 3, 28));
    let loaded = over_base(crlf);
    assert!(snippet_form(&loaded.diagnostics[0], &loaded.files, false).contains("x.yaml:3:28"));
}

#[test]
fn absurd_ids_cost_no_time() {
    let long = "a-".repeat(20_000) + "a";
    let shows: String =
        (0..10).map(|i| format!("      - {{observation: {long}{i}, as: {{x: 1}}, because: y}}\n")).collect();
    let fault = "  - id: odd\n    group: inside\n    leak: 0.1\n    shows:\n";
    let loaded = over_base(format!("{HEAD}faults:\n{fault}{shows}"));
    assert!(loaded.diagnostics.iter().filter(|d| d.code == Code::UnknownId).count() >= 10);
}

#[test]
fn every_file_is_read_in_one_run() {
    let files = [
        (
            "a.yaml",
            format!("{HEAD}sources:\n  - {{id: Bad}}\n  - {{id: good, citaton: x}}\n  - {{id: good-2}}\n"),
        ),
        ("b.yaml", format!("{HEAD}faults: [\n")),
        ("c.yaml", "format: commsense/knowledge/9\n".to_owned()),
        ("d.yaml", format!("{HEAD}scopes:\n  - {{id: s, always: [claen], basis: guess}}\n")),
    ];
    let layers = [Layer::memory([("base.yaml", BASE)]), Layer::memory(files)];
    let loaded = load(&layers, &Units);
    let found: Vec<String> = loaded.diagnostics.iter().map(|d| line_form(d, &loaded.files)).collect();
    for start in [
        "a.yaml:3:10: error[K009]",
        "a.yaml:3:5: error[K020]",
        "a.yaml:4:16: error[K008]",
        "a.yaml:5:5: error[K020]",
        "b.yaml:",
        "c.yaml:1:9: error[K007]",
        "d.yaml:3:22: error[K011]",
        "d.yaml:3:37: error[K021]",
    ] {
        assert!(found.iter().any(|line| line.starts_with(start)), "{start}\n{}", found.join("\n"));
    }
    assert!(loaded.knowledge.is_none());
}

#[test]
fn a_lost_file_makes_nothing_else_seem_absent() {
    let (faults, rest) = BASE.split_once("observations:\n").expect("the base has observations");
    let broken = faults.replace("leak: 0.02", "leak: [");
    let files = [("faults.yaml", broken), ("rest.yaml", format!("{HEAD}observations:\n{rest}"))];
    let loaded = load(&[Layer::memory(files)], &Units);
    let lines: Vec<String> = loaded.diagnostics.iter().map(|d| line_form(d, &loaded.files)).collect();
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert_eq!(loaded.diagnostics[0].code, Code::Syntax);
}

#[test]
fn folders() {
    let top = tempfile::tempdir().expect("a folder");
    let read = |path: &std::path::Path| {
        load(&[Layer::memory([("base.yaml", BASE)]), Layer::directory(path)], &Units)
    };
    assert_eq!(first(&read(&top.path().join("none"))).0, Code::Unreadable);
    assert_eq!(first(&read(top.path())).0, Code::Unreadable);
    let put = |name: &str, bytes: &[u8]| fs::write(top.path().join(name), bytes).expect("written");
    put("note.txt", b"not knowledge");
    put("good.yaml", HEAD.as_bytes());
    fs::create_dir(top.path().join("below")).expect("made");
    put("below/also.yml", HEAD.as_bytes());
    assert!(read(top.path()).diagnostics.is_empty());
    assert_eq!(first(&read(&top.path().join("good.yaml"))).0, Code::Unreadable);
    put("latin.yaml", b"format: commsense/knowledge/1\n# caf\xe9\n");
    put("large.yaml", &vec![b'#'; LARGEST + 1]);
    fs::create_dir(top.path().join("folder.yaml")).expect("made");
    let loaded = read(top.path());
    let found: Vec<_> = loaded.diagnostics.iter().map(|d| (d.code, d.place.line, d.place.column)).collect();
    assert_eq!(found, [(Code::TooMuch, 1, 1), (Code::Characters, 2, 6)]);
}

#[cfg(unix)]
#[test]
fn links_and_pipes() {
    use std::os::unix::fs::symlink;
    let top = tempfile::tempdir().expect("a folder");
    let link = |to: &str, name: &str| symlink(to, top.path().join(name)).expect("linked");
    link(".", "round");
    link("self.yaml", "self.yaml");
    link("/dev/zero", "zero.yaml");
    link("gone", "gone.yaml");
    let start = Instant::now();
    let loaded = load(&[Layer::memory([("base.yaml", BASE)]), Layer::directory(top.path())], &Units);
    assert!(start.elapsed() < limit());
    assert_eq!(loaded.diagnostics.len(), 4);
    assert!(loaded.diagnostics.iter().all(|d| d.code == Code::Unreadable));
}

/// The base with some of its bytes replaced, removed or doubled.
fn mutated() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just(":".to_owned()),
        Just("- ".to_owned()),
        Just("\n".to_owned()),
        Just("{".to_owned()),
        Just("]".to_owned()),
        Just("\"".to_owned()),
        Just("|".to_owned()),
        Just("? ".to_owned()),
        Just("!".to_owned()),
        Just("&a ".to_owned()),
        Just("-1".to_owned()),
        Just("~".to_owned()),
        Just("\r".to_owned()),
        Just("\u{85}\u{2028}".to_owned()),
        "\\PC{0,4}",
    ];
    prop::collection::vec((0.0..1.0f64, 0usize..12, piece), 1..6).prop_map(|edits| {
        let mut chars: Vec<char> = BASE.chars().collect();
        for (at, drop, put) in edits {
            let at = (at * chars.len() as f64) as usize;
            let end = (at + drop).min(chars.len());
            chars.splice(at..end, put.chars());
        }
        chars.into_iter().collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn a_damaged_file_never_panics(text in mutated()) {
        let loaded = load(&[Layer::memory([("x.yaml", text)])], &Units);
        for diagnostic in &loaded.diagnostics {
            prop_assert!(diagnostic.place.line > 0 && diagnostic.place.column > 0);
            snippet_form(diagnostic, &loaded.files, false);
        }
        prop_assert!(loaded.knowledge.is_some() || !loaded.diagnostics.is_empty());
    }

    #[test]
    fn noise_never_panics(text in "(\\PC|[\\[\\]{}:,?&*!|>'\"%@`#\\-\n\r ]){0,200}") {
        let loaded = load(&[Layer::memory([("x.yaml", text)])], &Units);
        for diagnostic in &loaded.diagnostics {
            snippet_form(diagnostic, &loaded.files, false);
        }
        prop_assert!(loaded.knowledge.is_none());
    }
}
