//! Bad input to `triage`: each message says what is wrong, where, and what would be right; nothing is
//! printed as a result, and no case file is ever damaged.

mod common;

use std::process::Stdio;
use std::time::{Duration, Instant};

use common::program::{Bench, flowing};

const HEAD: &str = "format: commsense/case/1\n";

/// Runs on a case with this content, and checks that the file is left alone.
#[track_caller]
fn refused(content: impl AsRef<[u8]>) -> String {
    let bench = Bench::new();
    bench.write("job.yaml", &content);
    let said = bench.refusal(&["triage", "job.yaml", "--json"]);
    // Somebody who could be asked makes no difference.
    let asked = bench.talk(&["triage", "job.yaml", "--line"], &["1", "d", "1"]);
    assert_eq!((asked.code, asked.stdout.as_str()), (Some(1), ""));
    assert_eq!(asked.stderr, said);
    assert_eq!(std::fs::read(bench.path("job.yaml")).expect("still there"), content.as_ref());
    assert_eq!(bench.names(), ["job.yaml"], "nothing is left beside it");
    flowing(&said)
}

#[track_caller]
fn refused_answer(line: &str) -> String {
    refused(format!("{HEAD}motor: heron-540-3\nanswers:\n  {line}\n"))
}

#[test]
fn unknown_ids_and_states_come_with_the_nearest() {
    for (line, said) in [
        ("power-los: severe", "job.yaml:4:3: no question is called `power-los` (did you mean `power-loss`?)"),
        (
            "power-loss: sevre",
            "job.yaml:4:15: `power-loss` has no state `sevre` (did you mean `severe`?): write none, some, severe, or `unknown`",
        ),
        (
            "power-loss: [some]",
            "job.yaml:4:15: the answer to `power-loss` is a list; write one state or one quantity",
        ),
        ("power-loss:", "job.yaml:4:13: `power-loss` has no answer: write none, some, severe, or `unknown`"),
        (
            "brush-worn: yes",
            "job.yaml:4:3: `brush-worn` is a fault and can't be answered; factors, observations and readings can",
        ),
    ] {
        let all = refused_answer(line);
        assert!(all.starts_with(&format!("error: {said}")), "{line}: {all}");
    }
}

#[test]
fn readings_need_a_unit_of_their_kind_and_a_value_that_can_be() {
    for (value, said) in [
        ("3.1", "`no-load-current`: `3.1` has no unit: write a current in A or mA, such as `3.1 A`"),
        ("3.1 V", "`no-load-current`: `3.1 V` is a voltage; this reading is a current: write it in A or mA"),
        ("-3.1 A", "`no-load-current`: `-3.1 A` is absurd; it should lie between 0 A and 60 A"),
        ("3100 A", "`no-load-current`: `3100 A` is absurd; it should lie between 0 A and 60 A"),
        ("nan A", "`no-load-current`: `nan A` is not a number with a unit: write a current in A or mA"),
        ("some amperes", "`no-load-current`: `some amperes` is not a number with a unit"),
    ] {
        let all = refused_answer(&format!("no-load-current: {value}"));
        assert!(all.starts_with(&format!("error: job.yaml:4:20: {said}")), "{value}: {all}");
        // The same on the command line, where the flag stands for the place.
        let answer = format!("no-load-current={value}");
        let bench = Bench::new();
        let told = flowing(&bench.refusal(&["triage", "--json", "--answer", &answer]));
        assert!(told.starts_with(&format!("error: --answer {answer}: {said}")), "{told}");
    }
}

#[test]
fn all_problems_of_a_file_are_told_at_once_each_on_its_line() {
    let bench = Bench::new();
    let content = format!(
        "{HEAD}motor: heron-540-33\nstage: brushes\nansers: {{}}\nanswers:\n  power-los: severe\n  clicking: lod\n"
    );
    bench.write("job.yaml", &content);
    let said = bench.refusal(&["triage", "job.yaml"]);
    let starts: Vec<&str> = said.lines().filter_map(|l| l.strip_prefix("error: ")).collect();
    let wanted = [
        "job.yaml:2:8: no motor",
        "job.yaml:3:8: no stage",
        "job.yaml:4:1: a case file has no key",
        "job.yaml:6:3: no question",
        "job.yaml:7:13: `clicking` has",
    ];
    assert_eq!(starts.len(), wanted.len(), "{said}");
    for (start, wanted) in starts.iter().zip(wanted) {
        assert!(start.starts_with(wanted), "{start:?} and {wanted:?}");
    }
    assert!(said.lines().all(|line| line.chars().count() <= 80), "{said}");
    for near in ["`heron-540-3`", "`brushes-out`", "`answers`", "`power-loss`", "`loud`"] {
        assert!(flowing(&said).contains(&format!("(did you mean {near}?)")), "{near}: {said}");
    }
}

#[test]
fn files_that_are_no_case() {
    for (content, said) in [
        ("", "job.yaml:1:1: the file is empty; a case file begins with `format: commsense/case/1`"),
        ("answers: {}\n", "job.yaml:1:1: the file does not say its format; a case file begins with"),
        ("just words\n", "job.yaml:1:1: this is not a case file; a case file begins with"),
        (
            "format: commsense/knowledge/1\nfaults: []\n",
            "job.yaml:1:9: this is a file of format `commsense/knowledge/1`; a case file begins with",
        ),
        (
            "format: commsense/case/2\nshelf: 4\n",
            "job.yaml:1:9: this case is written in format 2, which is newer than this program; it reads format 1. Use a newer program",
        ),
        (
            "format: commsense/case/1\nanswers:\n  power-loss: severe\n  clicking: [\n",
            "job.yaml:5:1: this is not YAML",
        ),
        (
            "format: commsense/case/1\nanswers:\n  power-loss: severe\n  power-loss: none\n",
            "job.yaml:4:3: `power-loss` stands here twice, first on line 3; keep one of the two",
        ),
    ] {
        let all = refused(content);
        assert!(all.starts_with(&format!("error: {said}")), "{all}");
    }
}

#[test]
fn hostile_files_are_refused_at_once() {
    let start = Instant::now();
    let nested = format!("{HEAD}answers: {}\n", "[".repeat(500_000));
    let huge = format!("{HEAD}answers: {}{}\n", "[".repeat(5_000_000), "]".repeat(5_000_000));
    let mut bomb = format!("{HEAD}notes:\n- &a lol\n");
    for (name, of) in ('b'..='j').zip('a'..='i') {
        bomb += &format!("- &{name} [{}]\n", vec![format!("*{of}"); 10].join(","));
    }
    let table: [(Vec<u8>, &str); 5] = [
        (
            b"format: commsense/case/1\ncomplaint: \"\xff\xfe\"\n".to_vec(),
            "job.yaml:2:13: this is not UTF-8 text; save the file as UTF-8",
        ),
        (
            b"format: commsense/case/1\ncomplaint: \"a\0b\"\n".to_vec(),
            "job.yaml:2:14: a NUL byte stands here; a case file is plain text",
        ),
        (nested.into_bytes(), "job.yaml:2:"),
        (huge.into_bytes(), "job.yaml:1:1: the file is too large for a case: more than 1048576 bytes"),
        (bomb.into_bytes(), "job.yaml:3:3: an anchor (`&name`) may not stand in a case file"),
    ];
    for (content, said) in table {
        let all = refused(content);
        assert!(all.starts_with(&format!("error: {said}")), "{all}");
        assert!(!all.contains("panicked"), "{all}");
    }
    assert!(start.elapsed() < Duration::from_secs(30), "nothing hangs");
}

#[test]
fn paths_that_are_no_case_file() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("folder")).expect("a folder can be made");
    bench.write("file.yaml", format!("{HEAD}answers: {{}}\n"));
    for (path, said) in [
        ("folder", "error: can't read the case `folder`: it is a folder, not a file"),
        ("nowhere.yaml", "error: there is no case file `nowhere.yaml`"),
        (
            "file.yaml/job.yaml",
            "error: can't read the case `file.yaml/job.yaml`: a part of the path is not a folder",
        ),
    ] {
        let all = flowing(&bench.refusal(&["triage", path]));
        assert!(all.starts_with(said), "{all}");
    }
    assert_eq!(bench.names(), ["file.yaml", "folder"]);
}

#[test]
fn unknown_motors_and_stages_come_with_the_nearest() {
    let bench = Bench::new();
    for (flags, said) in [
        (
            &["--motor", "heron-540"][..],
            "error: there is no motor `heron-540` help: Did you mean `heron-540-3`?",
        ),
        (
            &["--motor", "brush-worn"],
            "error: there is no motor `brush-worn` help: That is the id of a fault.",
        ),
        (
            &["--stage", "brush-out"],
            "error: there is no stage `brush-out` help: Did you mean `brushes-out`? The stages are: counter, bench,",
        ),
        (&["--stage", "x"], "error: there is no stage `x` help: The stages are: counter, bench,"),
        (
            &["--answer", "power-loss"],
            "error: --answer power-loss: `power-loss` is not an answer: write ID=VALUE, such as",
        ),
        (&["--answer", "\u{1b}[31m=no"], "error: --answer ^[[31m=no: no question is called `\u{fffd}[31m`"),
    ] {
        let all = flowing(&bench.refusal(&[&["triage", "--json"], flags].concat()));
        assert!(all.starts_with(said), "{all}");
    }
    let done = bench.run(&["triage", "--top", "0"]);
    assert_eq!((done.code, done.stdout.as_str()), (Some(2), ""));
    assert!(done.stderr.contains("0 is not in 1.."), "{}", done.stderr);
}

#[test]
fn without_anybody_to_ask_it_says_what_to_give() {
    let bench = Bench::new();
    let start = Instant::now();
    let all = flowing(&bench.refusal(&["triage"]));
    assert!(all.contains("there is nobody to ask and nothing to work from"), "{all}");
    assert!(all.contains("--answer power-loss=severe") && all.contains("add --line"), "{all}");
    // An open pipe on which nothing comes is not waited for.
    let mut silent = bench.command(&["triage"]).stdin(Stdio::piped()).spawn().expect("the program runs");
    let open = silent.stdin.take();
    assert_eq!(silent.wait().expect("it ends").code(), Some(1));
    drop(open);
    assert!(start.elapsed() < Duration::from_secs(20));
    assert!(bench.names().is_empty());
}

/// A lamp that is lit when its door is open, and never otherwise.
const LAMP: &str = "\
format: commsense/knowledge/1
factors:
  - id: door
    name: Door
    question: Was the door open?
    how: Ask the owner.
    stage: counter
    minutes: 0.2
    states:
      - {id: shut, label: Shut, prior: 0.9, phrases: []}
      - {id: open, label: Open, prior: 0.1, phrases: [door open]}
    basis: judgement
    shows:
      - {state: open, observation: lamp, as: {lit: 1.0}, because: The door switches the lamp.}
observations:
  - id: lamp
    name: Lamp
    group: complaint
    stage: counter
    minutes: 0.2
    question: Was the lamp lit?
    how: Look at the lamp.
    risk: none
    states:
      - {id: dark, label: Dark, phrases: []}
      - {id: lit, label: Lit, leak: 0, phrases: [lamp lit]}
    basis: judgement
";

#[test]
fn answers_that_rule_each_other_out_are_named_and_can_be_changed() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("own")).expect("a folder can be made");
    let case = format!("{HEAD}answers:\n  power-loss: some\n  door: shut\n  lamp: lit\n");
    bench.write("own/lamp.yaml", LAMP).write("job.yaml", &case);
    let args = ["triage", "job.yaml", "--knowledge", "own"];
    for more in [&["--json"][..], &[]] {
        let all = flowing(&bench.refusal(&[&args[..], more].concat()));
        let wanted = "error: these answers can't all be true together: door, lamp help: Take one of them back, or answer `unknown` where it is not certain";
        assert_eq!(all, wanted);
    }
    let talk = |lines: &[&str]| {
        bench.write("job.yaml", &case);
        bench.talk(&[&args[..], &["--line"]].concat(), lines)
    };
    let mended = talk(&["1", "1", "dark", "q"]);
    assert_eq!(mended.code, Some(0), "{}", mended.stderr);
    assert!(mended.stderr.contains("These answers can't all be true: “Door”, “Lamp”. Change one of them."));
    assert!(bench.read("job.yaml").contains("lamp: dark"));
    // Whoever can't say which one is wrong may leave, and nothing is lost.
    let left = talk(&["b", "q"]);
    assert_eq!((left.code, left.stdout.as_str()), (Some(1), ""));
    let all = flowing(&left.stderr);
    assert!(all.ends_with("Go on with: commsense triage job.yaml --knowledge own"), "{all}");
    assert!(all.contains("help: Take one of them back"), "{all}");
    assert_eq!(bench.read("job.yaml"), case);
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_under_the_result_is_told() {
    let bench = Bench::new();
    let case = format!("{HEAD}answers:\n  power-loss: severe\n");
    bench.write("job.yaml", &case);
    for args in [&["triage", "job.yaml", "--json"][..], &["triage", "job.yaml"]] {
        let full = std::fs::File::options().write(true).open("/dev/full").expect("there is such a device");
        let output = bench.command(args).stdout(full).output().expect("the program runs");
        assert_eq!(output.status.code(), Some(1));
        let said = String::from_utf8(output.stderr).expect("UTF-8");
        assert_eq!(said, "error: cannot write the output: the disk is full\n");
    }
    assert_eq!(bench.read("job.yaml"), case);
}

#[test]
fn a_reader_that_has_had_enough_is_no_failure() {
    let bench = Bench::new();
    bench.write("job.yaml", format!("{HEAD}answers:\n  power-loss: severe\n"));
    for args in [&["triage", "job.yaml", "--json"][..], &["triage", "job.yaml"]] {
        let mut child = bench.command(args).spawn().expect("the program runs");
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("the program ends");
        assert_eq!((output.status.code(), output.stderr.as_slice()), (Some(0), &b""[..]), "{args:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_takes_no_files_ends_the_talk_before_it_begins() {
    let bench = Bench::new();
    // No one may make a file here, whoever they are.
    let done = bench.talk(&["triage", "/proc/self/job.yaml", "--line"], &["1", "d", "1"]);
    assert_eq!((done.code, done.stdout.as_str()), (Some(1), ""));
    let all = flowing(&done.stderr);
    assert!(all.contains("error: can't save the case to `/proc/self/job.yaml`"), "{all}");
    assert!(all.contains("help: Name a case file in a folder where you may write"), "{all}");
    assert!(!all.contains("Which motor"), "nothing is asked that can't be kept: {all}");
}

#[test]
fn a_case_that_is_not_there_is_made_only_where_somebody_is_asked() {
    let bench = Bench::new();
    for args in [&["triage", "x1", "--json"][..], &["triage", "x1", "--json", "--answer", "power-loss=some"]]
    {
        let said = flowing(&bench.refusal(args));
        assert!(said.starts_with("error: there is no case file `x1` help: It is made only where"), "{said}");
    }
    assert!(bench.names().is_empty());
}

#[test]
fn a_write_protected_case_can_be_read_but_not_changed() {
    let bench = Bench::new();
    let case = format!("{HEAD}motor: heron-540-3\ncomplaint: weak\nanswers:\n  power-loss: severe\n");
    bench.write("job.yaml", &case);
    let path = bench.path("job.yaml");
    let mut rights = std::fs::metadata(&path).expect("it is there").permissions();
    rights.set_readonly(true);
    std::fs::set_permissions(&path, rights).expect("rights can be set");

    assert_eq!(bench.run(&["triage", "job.yaml", "--json"]).code, Some(0));
    // The first answer can't be kept; the person is told and may go on without.
    let done = bench.talk(&["triage", "job.yaml", "--line"], &["1", "1", "2", "q"]);
    let all = flowing(&done.stderr);
    assert_eq!(done.code, Some(0), "{all}");
    assert_eq!(all.matches("the file is write-protected").count(), 2, "{all}");
    assert!(all.contains("The last answer is not saved. What now?"), "{all}");
    assert!(all.contains("The last answers are not saved in job.yaml."), "{all}");
    assert!(!all.contains("Saved in job.yaml"), "{all}");
    assert!(done.stdout.contains("Result"), "{}", done.stdout);
    // Left in the middle, it does not claim to have kept what it could not keep.
    let left = bench.talk(&["triage", "job.yaml", "--line"], &["1", "2"]);
    assert_eq!(left.code, Some(1));
    let end = flowing(&left.stderr);
    let last = "help: The last answers are not saved in job.yaml; those before are. Go on with: commsense triage \
                job.yaml";
    assert!(end.ends_with(last), "{end}");
    // The same while the question what to do about it is open.
    let left = bench.talk(&["triage", "job.yaml", "--line"], &["1"]);
    let end = flowing(&left.stderr);
    assert!(end.ends_with(last) && !end.contains("The answers are saved"), "{end}");
    assert_eq!(bench.read("job.yaml"), case);
    assert_eq!(bench.names(), ["job.yaml"]);
}
