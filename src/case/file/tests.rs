//! What is read, refused and written.

use super::*;
use crate::case::sample::knowledge;

fn problems(text: &str) -> Vec<String> {
    match read(text.as_bytes(), &knowledge()) {
        Ok(case) => panic!("read as {case:?}"),
        Err(problems) => problems.iter().map(ToString::to_string).collect(),
    }
}

const HEAD: &str = "format: commsense/case/1\n";

#[test]
fn a_hand_written_case_is_read() {
    let text = "# by hand\nformat: commsense/case/1\ncase: 0142\nmotor: heron-540-3\ncomplaint: >\n  it is\n  slow\nstage: bench\n\
                answers:\n  wont-start: no\n  power-loss: \"severe\"\n  no-load-current: 2,4 A\n  clicking: unknown\nnotes:\n- mark at 12 deg\n";
    let case = read(text.as_bytes(), &knowledge()).unwrap();
    assert_eq!(
        (&*case.case, case.motor.as_deref(), case.stage.as_deref()),
        ("0142", Some("heron-540-3"), Some("bench"))
    );
    assert_eq!(case.complaint, "it is slow\n");
    assert_eq!(case.notes, ["mark at 12 deg"]);
    let answers: Vec<_> = case.answers.iter().map(|(id, a)| (&**id, a.clone())).collect();
    assert_eq!(answers[..2], [("wont-start", Answer::State(0)), ("power-loss", Answer::State(2))]);
    assert_eq!(
        answers[2],
        ("no-load-current", Answer::Reading { text: "2,4 A".into(), value: 2.4, deviation: None })
    );
    assert_eq!(answers[3], ("clicking", Answer::Unknown));
}

#[test]
fn everything_but_the_format_may_be_left_out() {
    for text in
        [HEAD.to_owned(), format!("{HEAD}answers:\nmotor: ~\ncomplaint:\nnotes: null\ncase:\nstage:\n")]
    {
        assert_eq!(read(text.as_bytes(), &knowledge()).unwrap(), Case::default(), "{text}");
    }
}

#[test]
fn bom_and_crlf_are_no_trouble() {
    let text = "\u{feff}format: commsense/case/1\r\nanswers:\r\n  power-loss: some\r\n";
    assert_eq!(read(text.as_bytes(), &knowledge()).unwrap().answers["power-loss"], Answer::State(1));
}

#[test]
fn all_problems_are_named_in_one_run() {
    let text = format!(
        "{HEAD}motr: heron-540-3\nmotor: heron-540\nstage: bech\nanswers:\n  power-los: some\n  power-loss: sever\n  no-load-current: 2.4\n  brush-worn: yes\n  crash:\n  commutator-diameter: 73 mm\n"
    );
    assert_eq!(
        problems(&text),
        [
            "2:1: a case file has no key `motr` (did you mean `motor`?): its keys are format, case, motor, motor-data, complaint, stage, answers, notes",
            "3:8: no motor is called `heron-540` (did you mean `heron-540-3`?): write one of heron-540-3",
            "4:8: no stage is called `bech` (did you mean `bench`?): write one of counter, bench, powered",
            "6:3: no question is called `power-los` (did you mean `power-loss`?)",
            "7:15: `power-loss` has no state `sever` (did you mean `severe`?): write none, some, severe, or `unknown`",
            "8:20: `no-load-current`: `2.4` has no unit: write a current in A or mA, such as `2.4 A`",
            "9:3: `brush-worn` is a fault and can't be answered; factors, observations and readings can",
            "10:8: `crash` has no answer: write no, yes, or `unknown`",
            "11:24: `commutator-diameter`: `73 mm` is absurd; it should lie between 3 mm and 15 mm: check the reading and its unit",
        ]
    );
}

#[test]
fn places_hold_after_wide_letters_and_crlf() {
    let text = "format: commsense/case/1\r\ncomplaint: é漢字\r\nanswers: {crash: no, power-loss: x}\r\n";
    assert!(problems(text)[0].starts_with("3:34: `power-loss` has no state `x`"), "{:?}", problems(text));
}

#[test]
fn wrong_shapes_are_named_together() {
    let text = format!(
        "{HEAD}case: [1]\nanswers:\n  power-loss: [some]\n  crash: {{a: b}}\nnotes:\n- a: b\n- ok\nbogus: 1\n"
    );
    let found = problems(&text);
    assert_eq!(found.len(), 5, "{found:?}");
    assert!(found[0].starts_with("2:7: `case` is a list; write text"));
    assert!(found[1].starts_with("4:15: the answer to `power-loss` is a list"));
    assert!(found[2].starts_with("5:10: the answer to `crash` is a mapping"));
    assert!(found[3].starts_with("7:3: this note is a mapping"));
    assert!(found[4].starts_with("9:1: a case file has no key `bogus`"));
    assert!(problems(&format!("{HEAD}answers: [a]\n"))[0].contains("`answers` is a list; write each answer"));
}

#[test]
fn other_formats_are_refused_plainly() {
    for (text, want) in [
        ("", "1:1: the file is empty"),
        ("# nothing\n", "1:1: the file is empty"),
        ("just words\n", "1:1: this is not a case file"),
        ("- a\n", "1:1: this is not a case file"),
        ("case: 1\n", "1:1: the file does not say its format"),
        ("format: [1]\n", "1:1: the file does not say its format"),
        (
            "case: x\nformat: commsense/case/2\nnew-key: {a: 1}\n",
            "2:9: this case is written in format 2, which is newer",
        ),
        ("format: commsense/knowledge/1\n", "1:9: this is a file of format `commsense/knowledge/1`"),
        ("format: commsense/case/1\nanswers:\n  crash: 'no\n", "3:10: this is not YAML"),
        (
            "format: commsense/case/1\nanswers:\n  crash: no\n  crash: yes\n",
            "4:3: `crash` stands here twice, first on line 3",
        ),
    ] {
        let found = problems(text);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].starts_with(want), "{text}: {found:?}");
    }
}

#[test]
fn what_is_no_text_is_refused_with_its_place() {
    for (bytes, want) in [
        (&b"format: x\nab\xff"[..], "2:3: this is not UTF-8 text"),
        (b"format: x\n\0", "2:1: a NUL byte"),
        (b"\xff\xfef\0", "1:1: this is not UTF-8 text"),
    ] {
        let found = read(bytes, &knowledge()).unwrap_err();
        assert!(found[0].to_string().starts_with(want), "{found:?}");
    }
    let large = vec![b'#'; LARGEST + 1];
    assert!(read(&large, &knowledge()).unwrap_err()[0].message.contains("too large"));
}

#[test]
fn a_case_is_written_as_people_would() {
    let k = knowledge();
    let mut case = Case {
        case: "2026-0142".into(),
        complaint: "no power\nat all".into(),
        stage: Some("counter".into()),
        ..Case::default()
    };
    case.answer("wont-start", Answer::State(0));
    case.answer("power-loss", Answer::State(2));
    case.answer("no-load-current", Answer::Reading { text: "2.4 A".into(), value: 2.4, deviation: None });
    case.answer("wont-start", Answer::Unknown);
    let text = write(&case, &k).unwrap();
    assert_eq!(
        text,
        "format: commsense/case/1\ncase: 2026-0142\ncomplaint: |-\n  no power\n  at all\nstage: counter\nanswers:\n  power-loss: severe\n  no-load-current: 2.4 A\n  wont-start: unknown\n"
    );
    assert_eq!(read(text.as_bytes(), &k).unwrap(), case);
}
