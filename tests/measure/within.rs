//! Measuring from inside a consultation, and motors that only their ticket or the shop knows.

use commsense::case::{Answer, BenchUnits, Case};
use commsense::knowledge;

use super::common::program::{Bench, flowing};

/// A ticket on the bench in which everything that can be asked there is as it should be, but for these
/// answers; what is `open` is not answered.
fn almost_answered(answers: &[(&str, &str)], open: &[&str]) -> String {
    let k = knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
    let bench = k.stage_index("bench").expect("there is a bench");
    let early = |stage: &str| k.stage_index(stage).is_some_and(|s| s <= bench);
    let mut case = Case { motor: Some("heron-540-3".into()), stage: Some("bench".into()), ..Case::default() };
    for id in k.factors.iter().filter(|f| early(&f.ask.stage)).map(|f| &f.id) {
        case.answer(id, Answer::State(0));
    }
    for id in k.observations.iter().filter(|o| early(&o.ask.stage)).map(|o| &o.id) {
        case.answer(id, Answer::State(0));
    }
    for (id, text) in answers {
        case.answer(id, Answer::read(&k, id, text).expect("a right answer"));
    }
    open.iter().for_each(|id| {
        case.forget(id);
    });
    commsense::case::file::write(&case, &k).expect("it has a written form")
}

#[test]
fn a_question_is_worked_out_from_measurements() {
    let bench = Bench::new();
    bench.write("job.yaml", almost_answered(&[("reverse-faster", "clearly")], &["timing-mark"]));
    let before = bench.json(&["triage", "job.yaml", "--json"]);
    assert_eq!(before["next"][0]["id"], "timing-mark", "{before}");
    // One way, seen from the shaft end, wanted and turning counter-clockwise, leads right, bell in place,
    // screws snug, 12 deg with the wanted rotation, marks as usual, no speeds, no ratio.
    let lines = ["m", "1", "1", "2", "2", "1", "1", "1", "12 deg", "1", "d", "d", "d", "d", "d", "d", "q"];
    let done = bench.talk(&["triage", "job.yaml", "--line"], &lines);
    let said = flowing(&done.stderr);
    assert!(said.contains("m Work it out from measurements"), "{}", done.stderr);
    assert!(said.contains("How far does the end bell stand from its zero mark?"), "{}", done.stderr);
    assert!(said.contains("advance for the other direction"), "{}", done.stderr);
    assert!(bench.read("job.yaml").contains("timing-mark: wrong-way"), "{}", bench.read("job.yaml"));
    let after = bench.json(&["triage", "job.yaml", "--json"]);
    assert_eq!(after["faults"][0]["id"], "timing-reversed");
}

#[test]
fn turning_back_from_a_measurement_leaves_the_question_open() {
    let bench = Bench::new();
    bench.write("job.yaml", almost_answered(&[("reverse-faster", "clearly")], &["timing-mark"]));
    let done = bench.talk(&["triage", "job.yaml", "--line"], &["m", "q", "q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(!bench.read("job.yaml").contains("timing-mark"), "{}", bench.read("job.yaml"));
}

#[test]
fn a_motor_is_described_at_the_first_question() {
    let bench = Bench::new();
    let lines = ["describe", "no-load-current", "2 V", "1.1 A", "slots", "5", "1", "d", "q"];
    let done = bench.talk(&["triage", "job.yaml", "--line"], &lines);
    assert!(flowing(&done.stderr).contains("is a voltage"), "{}", done.stderr);
    let file = bench.read("job.yaml");
    assert!(file.contains("motor-data:\n  no-load-current: 1.1 A\n  slots: '5'"), "{file}");
    // What is known of it makes a reading speak.
    let v = bench.json(&["triage", "job.yaml", "--json", "--answer", "no-load-current=3.3 A"]);
    assert!(v["answers"][0]["bands"].is_object(), "{v}");
}

#[test]
fn what_a_ticket_says_of_its_motor_is_checked() {
    let bench = Bench::new();
    let case = |data: &str| format!("format: commsense/case/1\nmotor-data:\n  {data}\n");
    for (data, words) in [
        ("no-load-curent: 1 A", "job.yaml:3:19: a motor is not described by `no-load-curent`; did you mean"),
        ("no-load-current: 1 V", "job.yaml:3:20: `1 V` is a voltage"),
        ("slots: many", "job.yaml:3:10: the number of armature slots is a whole number"),
        ("voltage: [1]", "write one value"),
    ] {
        bench.write("job.yaml", case(data));
        let said = flowing(&bench.refusal(&["triage", "job.yaml", "--json"]));
        assert!(said.contains(words), "{said}");
    }
}

#[test]
fn a_healthy_motor_is_saved_and_others_are_measured_against_it() {
    let bench = Bench::new();
    let run = |args: &[&str]| {
        let done = bench.run(args);
        assert_eq!(done.code, Some(0), "{args:?}: {}", done.stderr);
        done
    };
    let healthy = ["measure", "no-load", "--point", "7.2 V, 1.1 A, 18000 rpm", "--resistance", "0.15 ohm"];
    let save = ["--save-motor", "old-boat", "--slots", "3", "--knowledge", "shop"];
    let done = run(&[&healthy[..], &save].concat());
    assert!(flowing(&done.stderr).contains("Saved in shop/motors/old-boat.yaml"), "{}", done.stderr);
    run(&[
        "measure",
        "winding",
        "--terminals",
        "150 mohm, 155 mohm",
        "--save-motor",
        "old-boat",
        "--knowledge",
        "shop",
    ]);
    // What was not measured is missed, and is no error.
    let checked = bench.run(&["knowledge", "check", "shop"]);
    assert!(checked.stdout.contains("K035") && !checked.stdout.contains("error"), "{}", checked.stdout);
    let file = bench.read("shop/motors/old-boat.yaml");
    for line in
        ["no-load-current: 1.1 A", "no-load-speed: 18000 rpm", "voltage: 7.2 V", "resistance: 150 mohm"]
    {
        assert!(file.contains(line), "{file}");
    }
    let args =
        ["triage", "--motor", "old-boat", "--knowledge", "shop", "--json", "--answer", "no-load-current=4 A"];
    let v = bench.json(&args);
    assert!(v["answers"][0]["bands"]["no-load-current-high:very-high"].as_f64().unwrap() > 0.9, "{v}");
}

#[test]
fn saving_a_motor_needs_a_place_and_something_to_save() {
    let bench = Bench::new();
    let point = ["measure", "no-load", "--point", "7.2 V, 1.1 A, 18000 rpm", "--save-motor", "old-boat"];
    for (args, code, words) in [
        (&[][..], 2, "name the shop's own knowledge folder"),
        (&["--knowledge", "shop"], 2, "--slots is missing"),
    ] {
        let done = bench.run(&[&point[..], args].concat());
        assert_eq!(done.code, Some(code), "{}", done.stderr);
        assert!(flowing(&done.stderr).contains(words), "{}", done.stderr);
    }
    let cut = ["measure", "commutator", "--nominal", "7.5 mm", "--diameter", "7.3 mm", "--save-motor", "x"];
    let done = bench.run(&[&cut[..], &["--knowledge", "shop"]].concat());
    assert!(flowing(&done.stderr).contains("describes a healthy motor"), "{}", done.stderr);
}
