//! Cases on a real disk: what is saved is loaded again, and nothing is ever damaged.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::Path;

use commsense::case::file::{read, write};
use commsense::case::{Answer, Case, LoadError, Saved, load, save};
use commsense::knowledge as model;
use proptest::prelude::*;
use sample::knowledge;

#[path = "../src/case/sample.rs"]
mod sample;

const PLAIN: &str = "format: commsense/case/1\nanswers:\n  power-loss: some\n";

fn answered(id: &str, text: &str) -> Case {
    let mut case = Case::default();
    case.answer(id, Answer::read(&knowledge(), id, text).unwrap());
    case
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

fn refusal(path: &Path) -> String {
    load(path, &knowledge()).unwrap_err().to_string()
}

#[test]
fn a_new_case_is_written_and_loaded() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.yaml");
    let k = knowledge();
    let case = answered("no-load-current", "2,4 A");
    assert!(matches!(load(&path, &k), Err(LoadError::Missing { .. })));
    assert_eq!(save(&path, &case, &k).unwrap(), Saved::Written);
    assert_eq!(load(&path, &k).unwrap(), case);
    assert_eq!(names(folder.path()), ["a.yaml"]);
}

#[test]
fn unchanged_case_is_not_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.yaml");
    let by_hand = "# mine\nformat: commsense/case/1\nanswers: {power-loss: 'some'}\n";
    fs::write(&path, by_hand).unwrap();
    assert_eq!(save(&path, &answered("power-loss", "some"), &knowledge()).unwrap(), Saved::Unchanged);
    assert_eq!(fs::read_to_string(&path).unwrap(), by_hand);
}

#[test]
fn comments_are_kept_in_a_copy_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job 7.yaml");
    let by_hand = "# rang at nine\nformat: commsense/case/1 # by hand\nanswers:\n  power-loss: some\n";
    fs::write(&path, by_hand).unwrap();
    let k = knowledge();
    let mut case = load(&path, &k).unwrap();
    case.answer("clicking", Answer::State(2));
    let copy = folder.path().join("job 7.before.yaml");
    assert_eq!(save(&path, &case, &k).unwrap(), Saved::KeptBefore(copy.clone()));
    assert_eq!(fs::read_to_string(&copy).unwrap(), by_hand);
    case.complaint = "ticket #5\n # not a comment".into();
    assert_eq!(save(&path, &case, &k).unwrap(), Saved::Written);
    case.answer("crash", Answer::Unknown);
    assert_eq!(save(&path, &case, &k).unwrap(), Saved::Written);
    assert_eq!(names(folder.path()), ["job 7.before.yaml", "job 7.yaml"]);
    // Comments that are added later are kept too, and never over an earlier copy.
    let again = format!("# again\n{}", fs::read_to_string(&path).unwrap());
    fs::write(&path, &again).unwrap();
    case.answer("crash", Answer::State(1));
    save(&path, &case, &k).unwrap();
    assert_eq!(fs::read_to_string(&copy).unwrap(), by_hand);
    assert_eq!(fs::read_to_string(folder.path().join("job 7.before-2.yaml")).unwrap(), again);
}

#[test]
fn a_file_that_cannot_be_read_is_kept_in_a_copy() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.yaml");
    fs::write(&path, "format: [\n").unwrap();
    let saved = save(&path, &answered("power-loss", "some"), &knowledge()).unwrap();
    assert_eq!(saved, Saved::KeptBefore(folder.path().join("a.before.yaml")));
    assert_eq!(fs::read_to_string(folder.path().join("a.before.yaml")).unwrap(), "format: [\n");
}

#[cfg(unix)]
#[test]
fn symbolic_link_keeps_its_target() {
    let folder = tempfile::tempdir().unwrap();
    let (real, link) = (folder.path().join("real"), folder.path().join("link.yaml"));
    fs::create_dir(&real).unwrap();
    std::os::unix::fs::symlink("real/a.yaml", &link).unwrap();
    let k = knowledge();
    // The first save makes the target, the second replaces it.
    for text in ["some", "severe"] {
        save(&link, &answered("power-loss", text), &k).unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(load(&real.join("a.yaml"), &k).unwrap(), answered("power-loss", text));
    }
    assert_eq!(names(&real), ["a.yaml"]);
    let circle = folder.path().join("circle.yaml");
    std::os::unix::fs::symlink("circle.yaml", &circle).unwrap();
    assert!(save(&circle, &Case::default(), &k).unwrap_err().to_string().contains("in a circle"));
}

#[cfg(unix)]
#[test]
fn permissions_are_kept() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.yaml");
    let k = knowledge();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    save(&path, &answered("power-loss", "none"), &k).unwrap();
    let other = folder.path().join("other");
    fs::write(&other, "").unwrap();
    assert_eq!(mode(&path), mode(&other), "a new case is no secret");
    for bits in [0o600, 0o664] {
        fs::write(&path, PLAIN).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(bits)).unwrap();
        save(&path, &answered("power-loss", "severe"), &k).unwrap();
        assert_eq!(mode(&path), bits);
    }
}

#[cfg(unix)]
#[test]
fn protected_file_and_folder_are_left_alone() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.yaml");
    let k = knowledge();
    fs::write(&path, PLAIN).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    let error = save(&path, &answered("power-loss", "severe"), &k).unwrap_err().to_string();
    assert!(error.ends_with("the file is write-protected; what was there before is unharmed"), "{error}");
    assert_eq!(fs::read_to_string(&path).unwrap(), PLAIN);

    fs::set_permissions(&path, fs::Permissions::from_mode(0o644)).unwrap();
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o555)).unwrap();
    // The superuser writes even here; then there is nothing to see.
    let protected = fs::write(folder.path().join("probe"), "").is_err();
    if protected {
        let error = save(&path, &answered("power-loss", "severe"), &k).unwrap_err().to_string();
        assert!(error.contains("you may not read or write there"), "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), PLAIN);
    }
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
}

/// /proc takes no new files from anybody, the superuser included.
#[cfg(target_os = "linux")]
#[test]
fn folder_that_takes_no_files_is_told_plainly() {
    let error = save(Path::new("/proc/a.yaml"), &Case::default(), &knowledge()).unwrap_err().to_string();
    assert!(error.starts_with("can't save the case to `/proc/a.yaml`: "), "{error}");
}

#[test]
fn missing_folder_is_told_plainly() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("none/a.yaml");
    let error = save(&path, &Case::default(), &knowledge()).unwrap_err().to_string();
    assert!(error.contains("the folder does not exist"), "{error}");
}

#[test]
fn what_is_no_ordinary_file_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    assert!(refusal(folder.path()).ends_with("it is a folder, not a file"));
    let error = save(folder.path(), &Case::default(), &knowledge()).unwrap_err().to_string();
    assert!(error.contains("it is a folder"), "{error}");
    #[cfg(unix)]
    assert!(refusal(Path::new("/dev/zero")).ends_with("it is not an ordinary file"));
}

#[test]
fn broken_files_are_refused_with_path_and_place() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.yaml");
    let shown = path.display();
    for (content, want) in [
        (
            b"format: commsense/case/1\nanswers:\n  power-loss: \xff\n".to_vec(),
            "3:15: this is not UTF-8 text",
        ),
        (b"format: commsense/case/1\n\0".to_vec(), "2:1: a NUL byte"),
        (b"format: commsense/case/9\n".to_vec(), "1:9: this case is written in format 9"),
        (vec![b' '; 2 << 20], "1:1: the file is too large"),
        (("[".repeat(99) + &"]".repeat(99)).into_bytes(), "1:17: lists and keys stand more than 16 deep"),
        ("[".repeat(200_000).into_bytes(), "1:256: this is not YAML: recursion limit exceeded"),
        (b"format: commsense/case/1\na: &x [1,1]\nb: [*x,*x]\n".to_vec(), "2:4: an anchor"),
    ] {
        fs::write(&path, content).unwrap();
        let error = refusal(&path);
        assert!(error.starts_with(&format!("{shown}:{want}")), "{error}");
    }
    fs::write(&path, "format: commsense/case/1\nstage: x\nmotor: y\n").unwrap();
    assert_eq!(refusal(&path).lines().count(), 2);
}

/// Text that has tripped readers of YAML before, and any other.
fn odd_text() -> impl Strategy<Value = String> {
    let odd = [
        "no",
        "yes",
        "null",
        "~",
        "1.10",
        "0x1F",
        "1e3",
        "- a",
        "a: b",
        "# x",
        "a # b",
        "'",
        "\"",
        "it's \"so\"",
        "漢字",
        "two\nlines",
        "\n",
        "\r\n",
        "\tx",
        "trailing ",
        " leading",
        "a\n  b\n\nc\n",
        "%x",
        "@x",
        "`",
        "{",
        "[",
        "|",
        ">",
        "&a",
        "*a",
        "!t",
        "?",
        "---",
        "...",
        "<<",
        "\u{85}",
        "\u{2028}",
        "\u{feff}",
        "\u{7f}",
        "\u{1b}[31m",
        "é\u{301}",
        "😀",
        "0142",
        "2026-01-02",
    ];
    prop_oneof![
        prop::sample::select(odd.to_vec()).prop_map(str::to_owned),
        prop::collection::vec(prop::sample::select(odd.to_vec()), 1..5).prop_map(|v| v.join(" ")),
        "\\PC{0,40}",
        "[ -~\n\t]{0,80}",
        any::<String>(),
    ]
}

fn any_case() -> impl Strategy<Value = Case> {
    let answers = prop::collection::vec(
        prop::sample::select(vec![
            ("power-loss", "severe"),
            ("power-loss", "none"),
            ("wont-start", "no"),
            ("wont-start", "yes"),
            ("clicking", "unknown"),
            ("water-exposure", "submerged"),
            ("brush-length", "good"),
            ("brush-length", "4,5 mm"),
            ("no-load-current", "1.10 A"),
            ("no-load-current", "450mA"),
            ("no-load-current", "unknown"),
            ("commutator-diameter", "0.287\""),
        ]),
        0..8,
    );
    let motor = prop::option::of(Just("heron-540-3".to_owned()));
    let stage = prop::option::of(prop::sample::select(vec!["counter", "powered"]).prop_map(str::to_owned));
    let notes = prop::collection::vec(odd_text(), 0..4);
    (odd_text(), odd_text(), motor, stage, answers, notes).prop_map(
        |(name, complaint, motor, stage, answers, notes)| {
            let mut case = Case { case: name, motor, complaint, stage, notes, ..Case::default() };
            for (id, text) in answers {
                case.answer(id, Answer::read(&knowledge(), id, text).unwrap());
            }
            case
        },
    )
}

proptest! {
    // Each of these goes to the disk and waits for it, twice.
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_case_is_loaded_as_it_was_saved(case in any_case()) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.yaml");
        let k = knowledge();
        save(&path, &case, &k).unwrap();
        prop_assert_eq!(&load(&path, &k).unwrap(), &case);
        prop_assert_eq!(save(&path, &case, &k).unwrap(), Saved::Unchanged);
        // What the program has written holds no comments, whatever its text looks like.
        let mut more = case;
        more.notes.push("one more".into());
        prop_assert_eq!(save(&path, &more, &k).unwrap(), Saved::Written);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_case_is_read_as_it_was_written(case in any_case()) {
        let k = knowledge();
        let text = write(&case, &k).unwrap();
        let again = read(text.as_bytes(), &k).unwrap_or_else(|p| panic!("{text}\n{p:?}"));
        prop_assert_eq!(&again, &case);
        let order = |c: &Case| c.answers.keys().cloned().collect::<Vec<_>>();
        prop_assert_eq!(order(&again), order(&case));
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = read(&bytes, &knowledge());
    }

    #[test]
    fn any_change_to_a_good_file_is_read_or_refused(at in 0..200usize, with in prop::collection::vec(any::<u8>(), 0..4), cut in 0..6usize) {
        let mut bytes = b"format: commsense/case/1\ncase: 7\ncomplaint: |\n  slow\nstage: bench\nanswers:\n  power-loss: some\n  no-load-current: 2.4 A\nnotes:\n- mark at 12 deg\n".to_vec();
        let at = at.min(bytes.len());
        let end = (at + cut).min(bytes.len());
        bytes.splice(at..end, with);
        if let Err(problems) = read(&bytes, &knowledge()) {
            prop_assert!(!problems.is_empty());
            for p in problems {
                prop_assert!(p.line >= 1 && p.column >= 1 && !p.message.contains('\n'), "{}", p);
            }
        }
    }
}
