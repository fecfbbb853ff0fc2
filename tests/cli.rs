//! The program as a whole: help, exit codes, what goes where, and the commands that look at the
//! knowledge.

use std::path::Path;
use std::process::{Command, Output, Stdio};

/// The program with nothing in its environment but these variables.
fn run_in(env: &[(&str, &str)], args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_commsense"));
    command.args(args).env_clear().env("COLUMNS", "80").envs(env.iter().copied()).stdin(Stdio::null());
    command.output().expect("the program runs")
}

fn run(args: &[&str]) -> Output {
    run_in(&[], args)
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("output is UTF-8")
}

/// Standard output of a run that must succeed and say nothing beside it.
#[track_caller]
fn result(args: &[&str]) -> String {
    let output = run(args);
    assert_eq!(text(&output.stderr), "", "{args:?}");
    assert_eq!(output.status.code(), Some(0), "{args:?}");
    text(&output.stdout)
}

/// Exit code and standard error of a run that must fail and print no result.
#[track_caller]
fn failure(args: &[&str]) -> (Option<i32>, String) {
    let output = run(args);
    assert_eq!(text(&output.stdout), "", "{args:?}");
    (output.status.code(), text(&output.stderr))
}

const COMMANDS: [&[&str]; 9] = [
    &[],
    &["triage"],
    &["procedure"],
    &["knowledge"],
    &["knowledge", "check"],
    &["knowledge", "list"],
    &["knowledge", "show"],
    &["knowledge", "draw"],
    &["knowledge", "export"],
];

#[test]
fn help_at_eighty_columns() {
    let mut all = String::new();
    for command in COMMANDS {
        let asked = [command, &["--help"]].concat();
        let help = result(&asked);
        assert!(help.starts_with("Example"), "{asked:?} starts with an example");
        assert!(help.contains("Exit codes: 0 done; 1 "), "{asked:?} names the exit codes");
        assert!(help.contains("130 interrupted") || help.contains("130\ninterrupted"), "{help}");
        assert!(help.lines().all(|line| line.chars().count() <= 80), "{help}");
        all += &format!("$ commsense {}\n{help}\n", asked.join(" "));
        assert_eq!(run(&[command, &["-h"]].concat()).status.code(), Some(0));
    }
    insta::assert_snapshot!(all);
}

#[test]
fn wrong_usage_is_two() {
    for args in [
        &["--colour", "never"][..],
        &["no-such-command"],
        &["knowledge", "list", "spanners"],
        &["knowledge", "draw", "--format", "png"],
        &["procedure"],
        &["knowledge", "show"],
        &["triage", "--top", "many"],
    ] {
        let (code, said) = failure(args);
        assert_eq!(code, Some(2), "{args:?}: {said}");
        assert!(said.starts_with("error: "), "{args:?}: {said}");
    }
    // Without a command there is nothing to do: the help, as an error.
    for args in [&[][..], &["knowledge"]] {
        let (code, said) = failure(args);
        assert_eq!(code, Some(2), "{args:?}");
        assert!(said.starts_with("Example"), "{said}");
    }
}

#[test]
fn figures_below_zero_are_refused_for_what_they_are() {
    for (args, wanted) in [
        (&["knowledge", "assess", "--runs", "-1"][..], "invalid value '-1' for '--runs <N>'"),
        (&["knowledge", "assess", "--perturb", "-1"], "--perturb"),
        (&["triage", "--top", "-1"], "invalid value '-1' for '--top <N>'"),
        (&["measure", "brushes", "--length", "-3 mm"], "must be above zero"),
    ] {
        let (code, said) = failure(args);
        assert_ne!(code, Some(0), "{args:?}");
        assert!(said.contains(wanted) && !said.contains("unexpected argument"), "{args:?}: {said}");
    }
}

#[test]
fn a_file_that_cannot_be_written_is_called_as_the_person_called_it() {
    for args in [
        &["knowledge", "assess", "--runs", "1", "--html", "no-such-folder/x.html"][..],
        &["drill", "report", "--folder", ".", "--html", "no-such-folder/x.html"],
    ] {
        let (code, said) = failure(args);
        assert_eq!(code, Some(1), "{said}");
        assert!(said.contains("no-such-folder/x.html") && !said.contains(".tmp"), "{said}");
    }
}

#[test]
fn wrong_input_is_one_and_says_what_would_be_right() {
    for (args, said) in [
        (
            &["knowledge", "show", "brush-wron"][..],
            "error: there is no entry `brush-wron`\n  help: Did you mean `brush-worn`?\n",
        ),
        (
            &["procedure", "fit-new-brush"],
            "error: there is no repair `fit-new-brush`\n  help: Did you mean `fit-new-brushes`?\n",
        ),
        (
            &["procedure", "brush-worn"],
            "error: `brush-worn` is not a repair\n  help: Its repairs are: fit-new-brushes, replace-motor\n",
        ),
        (
            &["procedure", "power-loss"],
            "error: there is no repair `power-loss`\n  help: That is the id of an observation. See it with: commsense knowledge show\n        power-loss\n",
        ),
        (
            &["knowledge", "draw", "heron-540-3"],
            "error: `heron-540-3` is no part of the network\n  help: Drawn are faults, factors, observations, repairs, scopes and cautions.\n",
        ),
        (
            &["knowledge", "show", "\x1b[31m"],
            "error: there is no entry `^[[31m`\n  help: See what there is with: commsense knowledge list faults\n",
        ),
    ] {
        assert_eq!(failure(args), (Some(1), said.to_string()), "{args:?}");
    }
}

#[test]
fn colour_is_as_wanted_on_both_streams() {
    type Case = (&'static [(&'static str, &'static str)], &'static [&'static str], bool);
    // environment, arguments, colour wanted; both streams are pipes
    let table: [Case; 6] = [
        (&[("TERM", "xterm")], &[], false),
        (&[("CLICOLOR_FORCE", "1")], &[], true),
        (&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")], &[], false),
        (&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "")], &[], true),
        (&[("NO_COLOR", "1")], &["--color=always"], true),
        (&[("CLICOLOR_FORCE", "1")], &["--color", "never"], false),
    ];
    for (env, args, wanted) in table {
        for command in [
            &["knowledge", "show", "brush-worn"][..],
            &["procedure", "brush-worn"],
            &["knowledge", "--help"],
            &["knowledge", "list", "spanners"],
            &["knowledge", "check", "no-such-folder"],
        ] {
            let output = run_in(env, &[command, args].concat());
            let all = [output.stdout, output.stderr].concat();
            assert_eq!(all.contains(&0x1b), wanted, "{env:?} {args:?} {command:?}");
        }
    }
}

#[test]
fn a_reader_that_leaves_early_is_no_failure() {
    for args in [&["knowledge", "export"][..], &["knowledge", "draw"], &["knowledge", "list", "observations"]]
    {
        let mut child = Command::new(env!("CARGO_BIN_EXE_commsense"))
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program runs");
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("the program ends");
        assert_eq!((output.status.code(), text(&output.stderr)), (Some(0), String::new()), "{args:?}");
    }
}

fn json(args: &[&str]) -> serde_json::Value {
    serde_json::from_str(&result(args)).expect("one JSON document and nothing else")
}

#[test]
fn documents_are_json_with_their_format() {
    let network = json(&["knowledge", "export"]);
    assert_eq!(network["format"], "commsense/network/1");
    for kind in ["factors", "faults", "observations", "repairs", "scopes", "cautions", "motors"] {
        let list = json(&["knowledge", "list", kind, "--json"]);
        assert_eq!((&list["format"], &list["kind"]), (&"commsense/list/1".into(), &kind.into()));
        let entries = list["entries"].as_array().expect("a list");
        assert!(!entries.is_empty(), "{kind}");
        let shown = result(&["knowledge", "list", kind]);
        for entry in entries {
            let id = entry["id"].as_str().expect("an id");
            assert!(entry["name"].is_string(), "{id}");
            assert!(shown.lines().any(|line| line.starts_with(id)), "{kind}: {id}");
        }
    }
}

#[test]
fn pictures_come_in_both_forms() {
    assert!(result(&["knowledge", "draw", "brush-worn", "--format", "dot"]).contains("digraph"));
    for args in [&["knowledge", "draw"][..], &["knowledge", "draw", "brush-worn", "--format", "svg"]] {
        let svg = result(args);
        let document = roxmltree::Document::parse(&svg).expect("well-formed");
        assert_eq!(document.root_element().tag_name().name(), "svg");
    }
}

/// Lays a folder with one file over the built-in knowledge.
fn folder(name: &str, content: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder can be made");
    std::fs::write(folder.path().join(name), content).expect("a file can be written");
    folder
}

fn path(folder: &Path) -> &str {
    folder.to_str().expect("the folder for temporary files has a plain name")
}

const MARTEN: &str = "format: commsense/knowledge/1\ncautions:\n  - id: teeth\n    name: \"Teeth\u{1b}[31m\"\n    \
                      text: \"Martens bite.\"\n    basis: judgement\n";

#[test]
fn sound_knowledge_checks_clean_and_lays_over_the_built_in() {
    let built_in = run(&["knowledge", "check"]);
    assert_eq!((built_in.status.code(), text(&built_in.stdout)), (Some(0), String::new()));
    assert_eq!(text(&built_in.stderr), "the built-in knowledge: no problems\n");

    let own = folder("own.yaml", &MARTEN.replace("\u{1b}", ""));
    let shown = result(&["knowledge", "show", "teeth", "--knowledge", path(own.path())]);
    assert!(shown.contains("CAUTION: Martens bite."), "{shown}");
    let before = result(&["--knowledge", path(own.path()), "knowledge", "list", "cautions"]);
    assert!(before.contains("teeth") && before.contains("springs-fly"), "{before}");
}

#[test]
fn broken_knowledge_is_told_by_place_and_fails() {
    let wrong = MARTEN.replace("\u{1b}", "").replace("basis: judgement", "basis: hearsay");
    let own = folder("own.yaml", &wrong);
    let check = run(&["knowledge", "check", path(own.path())]);
    assert_eq!(check.status.code(), Some(1));
    let said = text(&check.stdout);
    let start = format!("{}/own.yaml:6:12: error[K", path(own.path()));
    assert!(said.lines().any(|line| line.starts_with(&start)), "{said}");
    // Nothing but problems, one a line, on standard output.
    for line in said.lines() {
        let rest = line.split_once(".yaml:").map_or("", |x| x.1);
        let mut parts = rest.splitn(3, ':');
        let numbers = parts.by_ref().take(2).all(|n| n.parse::<u32>().is_ok());
        let word = parts.next().unwrap_or_default();
        assert!(numbers && (word.starts_with(" error[K") || word.starts_with(" warning[K")), "{line}");
    }
    // Any other command refuses such knowledge, and shows where it is wrong.
    let used = run(&["knowledge", "list", "faults", "--knowledge", path(own.path())]);
    assert_eq!((used.status.code(), text(&used.stdout)), (Some(1), String::new()));
    let said = text(&used.stderr);
    assert!(said.contains("own.yaml:6:12") && said.contains("has 1 error"), "{said}");
}

#[test]
fn control_characters_in_knowledge_never_reach_the_terminal() {
    // YAML may hold them in an escape, whatever the file itself may hold. The lint refuses some; signs
    // that turn the direction of writing are made visible.
    for (escape, code, shown) in [("\\e", 1, "U+001B"), ("\\u202e", 0, "Teeth<202E>[31m")] {
        let own = folder("own.yaml", &MARTEN.replace('\u{1b}', escape));
        for args in [&["knowledge", "show", "teeth"][..], &["knowledge", "list", "cautions"]] {
            let output = run(&[args, &["--knowledge", path(own.path())]].concat());
            let all = text(&[output.stdout, output.stderr].concat());
            assert_eq!(output.status.code(), Some(code), "{all}");
            assert!(all.contains(shown) && !all.contains(['\u{1b}', '\u{202e}']), "{all}");
        }
    }
}

#[test]
fn a_procedure_to_follow() {
    insta::assert_snapshot!(result(&["procedure", "fit-new-springs"]));
}
