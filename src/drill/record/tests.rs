use super::*;
use crate::case::BenchUnits;
use crate::drill::session::Named;
use crate::knowledge::builtin;

fn knowledge() -> Knowledge {
    builtin(&BenchUnits).unwrap()
}

fn ended(truth: &[&str], named: &[(&str, f64)], whole: f64) -> Ended {
    let mark = Mark {
        diagnosis: whole,
        scope: 1.0,
        cautions: 1.0,
        safety: 1.0,
        minutes: 1.0,
        whole,
        passed: whole >= 0.7,
        support: 0.91,
        needed: 0.5,
    };
    Ended {
        mark,
        truth: truth.iter().map(|t| (*t).to_owned()).collect(),
        named: named.iter().map(|(id, p)| ((*id).to_owned(), *p)).collect(),
        minutes: (20.0, 10.0),
        money: (60.0, 50.0),
        risks: 1,
        scopes: ("clean".into(), "adjust".into()),
        cautions_missed: vec!["lathe".into()],
    }
}

fn record(lesson: &str, result: Option<Ended>) -> Record {
    let acts = vec![
        Act::Look("power-loss".into()),
        Act::Enter("bench".into()),
        Act::Hint,
        Act::Coach,
        Act::Name(vec![Named { fault: "brush-worn".into(), chance: 0.1 + 0.2 }]),
        Act::Scope("clean".into()),
        Act::Cautions(vec!["lathe".into(), "hot-parts".into()]),
    ];
    Record { acts, result, ..Record::new("anna", What::Lesson(lesson.into()), 3) }
}

#[test]
fn what_is_written_is_read_again() {
    let k = knowledge();
    for record in [
        record("tired-truck", None),
        record("two-at-once", Some(ended(&["spring-weak"], &[("brush-worn", 0.123_456_789)], 1.0 / 3.0))),
        Record::new("b-2", What::Drawn(4, Some("winding".into())), u64::MAX),
        Record::new("c", What::Drawn(1, None), 0),
    ] {
        let text = write(&record).unwrap();
        assert_eq!(read(text.as_bytes(), &k).unwrap(), record, "{text}");
    }
}

#[test]
fn strange_records_are_refused_in_plain_words() {
    let k = knowledge();
    let head = "format: commsense/drill/1\ntrainee: a\nlesson: tired-truck\nseed: 1\n";
    let bomb = format!("{head}acts: &a [*a, *a]\n");
    for (text, wanted) in [
        ("", "one begins with `format: commsense/drill/1`"),
        ("format: commsense/drill/2\n", "newer than this program"),
        ("format: commsense/case/1\n", "no record of a lesson"),
        ("format: [1]\n", "no record of a lesson"),
        ("format: commsense/drill/1\ntrainee: a\nseed: 1\n", "either of a `lesson` or of a `drawn` motor"),
        (
            &format!("{head}acts:\n- look: brush-lenght\n"),
            "act 1: there is no question `brush-lenght`; did you mean `brush-length`?",
        ),
        (&format!("{head}acts:\n- {{look: power-loss, enter: bench}}\n"), "act 1 is not one of"),
        (&format!("{head}acts:\n- {{}}\n"), "act 1 is not one of"),
        (&format!("{head}acts:\n- jump: high\n"), "unknown field"),
        (&format!("{head}acts:\n- name: {{brush-worn: .nan}}\n"), "a chance from 0 to 1"),
        (&format!("{head}acts:\n- name: {{brush-worn: 2}}\n"), "a chance from 0 to 1"),
        (&format!("{head}more: 1\n"), "unknown field"),
        (&head.replace("seed: 1", "seed: -1"), "can't be read"),
        (&bomb, "can't be read"),
    ] {
        let why = read(text.as_bytes(), &k).unwrap_err().to_string();
        assert!(why.contains(wanted), "{text:?}: {why}");
    }
    assert!(read(&[0xff, 0xfe], &k).unwrap_err().to_string().contains("UTF-8"));
    assert!(read(&vec![b' '; (1 << 20) + 1], &k).unwrap_err().to_string().contains("more than"));
    let long = format!("{head}acts:\n{}", "- help: hint\n".repeat(5001));
    assert!(read(long.as_bytes(), &k).unwrap_err().to_string().contains("more than 5000 acts"));
}

#[test]
fn a_shelf_keeps_trainees_apart_and_lessons_in_order() {
    let k = knowledge();
    let folder = tempfile::tempdir().unwrap();
    let shelf = Shelf::new(&folder.path().join("new"));
    assert!(shelf.trainees().unwrap().is_empty(), "a folder that is not there yet is empty");
    for (trainee, lesson) in [("anna", "tired-truck"), ("anna", "squealing-boat"), ("ben", "tired-truck")] {
        let path = shelf.next(trainee, lesson).unwrap();
        Kept::new(path, record(lesson, None)).save().unwrap();
    }
    assert_eq!(shelf.trainees().unwrap(), ["anna", "ben"]);
    let (kept, wrong) = shelf.of("anna", &k).unwrap();
    assert!(wrong.is_empty());
    let names: Vec<String> =
        kept.iter().map(|k| k.path.file_name().unwrap().to_string_lossy().into_owned()).collect();
    assert_eq!(names, ["0001-tired-truck.yaml", "0002-squealing-boat.yaml"]);
    std::fs::write(&kept[0].path, "format: commsense/drill/1\n").unwrap();
    let (kept, wrong) = shelf.of("anna", &k).unwrap();
    assert_eq!((kept.len(), wrong.len()), (1, 1), "a bad record hides no good one");
    for bad in ["", "..", "a/b", "a b", "-x", &"x".repeat(41), "a\u{1b}"] {
        assert!(matches!(shelf.of(bad, &k), Err(RecordError::Name(_))), "{bad:?}");
    }
    std::fs::write(folder.path().join("file"), "x").unwrap();
    assert!(Shelf::new(&folder.path().join("file")).trainees().is_err());
}

#[test]
fn progress_counts_the_best_mark_and_leads_through_the_course() {
    let k = knowledge();
    let course = &k.courses[0];
    let of = |records: &[Record]| Progress::of(records, course, &k);
    let first = &course.lessons[0];
    assert_eq!(of(&[]).next, Next::Lesson(first.clone()));
    let failed = record(first, Some(ended(&["brush-worn"], &[], 0.5)));
    let passed = record(first, Some(ended(&["brush-worn"], &[("brush-worn", 0.9)], 0.9)));
    let p = of(&[failed.clone(), passed.clone(), failed.clone()]);
    assert_eq!(p.lessons[0].1, Some((0.9, true)));
    assert_eq!(p.next, Next::Lesson(course.lessons[1].clone()));
    assert_eq!((p.ended, p.risks, p.pace), (3, 3, Some(2.0)));
    assert_eq!(p.cautions_missed, [("lathe".to_owned(), 3)]);
    assert!((p.brier.unwrap() - 0.01).abs() < 1e-12);
    assert!((p.calibration_error.unwrap() - 0.1).abs() < 1e-12);
    assert!(!p.passed());
    // Everything passed: drawn motors, of the weakest topic, harder each time.
    let mut all: Vec<Record> =
        course.lessons.iter().map(|id| record(id, Some(ended(&[], &[], 0.9)))).collect();
    all[2].result.as_mut().unwrap().mark.whole = 0.71;
    let p = of(&all);
    assert!(p.passed());
    assert_eq!(p.next, Next::Drawn(3, Some("timing".into())));
    all.push(Record { result: Some(ended(&[], &[], 0.95)), ..Record::new("a", What::Drawn(4, None), 1) });
    assert_eq!(of(&all).next, Next::Drawn(5, Some("timing".into())));
}

#[test]
fn a_pair_that_is_confused_again_and_again_is_cleared_up_first() {
    let k = knowledge();
    let course = &k.courses[0];
    let wrong = |id: &str| record(id, Some(ended(&["coil-shorted"], &[("magnet-weak", 0.8)], 0.2)));
    let once = Progress::of(&[wrong("smoke-on-the-ramp")], course, &k);
    assert_eq!(once.confusions[0].times, 1);
    assert_eq!(once.next, Next::Lesson(course.lessons[0].clone()), "once is no habit");
    let twice = Progress::of(&[wrong("smoke-on-the-ramp"), wrong("smoke-on-the-ramp")], course, &k);
    assert_eq!(twice.confusions[0].there, "coil-shorted");
    assert!(matches!(&twice.next, Next::Again(id, _) if id == "smoke-on-the-ramp"), "{:?}", twice.next);
    let since = record("smoke-on-the-ramp", Some(ended(&["coil-shorted"], &[("coil-shorted", 0.9)], 0.9)));
    let cleared = Progress::of(&[wrong("smoke-on-the-ramp"), wrong("smoke-on-the-ramp"), since], course, &k);
    assert_eq!(cleared.next, Next::Lesson(course.lessons[0].clone()));
    // Named with little confidence, it is a suspicion and no confusion.
    let unsure = record("x", Some(ended(&["coil-shorted"], &[("magnet-weak", 0.2)], 0.2)));
    assert!(Progress::of(&[unsure], course, &k).confusions.is_empty());
}

/// Two sessions on the same lesson: the second one to save is refused, and nothing of the first is lost.
#[test]
fn a_record_that_somebody_else_changed_is_not_saved_over() {
    let k = builtin(&BenchUnits).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("0001-tired-truck.yaml");
    let mut first = Kept::new(path.clone(), record("tired-truck", None));
    let mut beside = first.clone();
    first.save().unwrap();
    assert!(matches!(beside.save(), Err(RecordError::Changed { .. })), "a file came into being");
    let (mut one, mut other) = (folder::load(&path, &k).unwrap(), folder::load(&path, &k).unwrap());
    one.record.acts.push(Act::Hint);
    one.save().unwrap();
    one.record.acts.push(Act::Coach);
    one.save().unwrap();
    other.record.acts.push(Act::Wait(10));
    let refused = other.save().unwrap_err();
    assert!(refused.to_string().contains("was changed or removed by somebody else"), "{refused}");
    assert_eq!(folder::load(&path, &k).unwrap().record, one.record);
}
