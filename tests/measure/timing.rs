//! `commsense measure timing` through the program.

#[path = "../common/physical_motor.rs"]
mod physical_motor;

use super::common::Terminal;
use super::common::program::{Bench, PROGRAM};
use super::{measured, refused};
use commsense::bench::timing::Turn;
use physical_motor::{ENDS, End, Motor, Vector};
use serde_json::{Value, json};

/// The example of direction, mark and speeds that scripts are written after.
const EXAMPLE: [&str; 18] = [
    "--turns",
    "cw",
    "--wanted",
    "ccw",
    "--seen-from",
    "shaft",
    "--use",
    "one-way",
    "--mark",
    "12 deg",
    "--mark-side",
    "with-wanted",
    "--forward",
    "20100 rpm",
    "--reverse",
    "19200 rpm",
    "--mark-step",
    "12 deg",
];

fn timing(args: &[&str]) -> Value {
    measured("timing", args)
}

fn done(v: &Value) -> Vec<&str> {
    v["actions"].as_array().expect("a list").iter().map(|a| a["do"].as_str().expect("a word")).collect()
}

fn words(v: &Value) -> Vec<&str> {
    v["findings"].as_array().expect("a list").iter().map(|f| f["word"].as_str().expect("a word")).collect()
}

#[test]
fn the_answer_for_scripts() {
    let v = timing(&EXAMPLE);
    assert_eq!((v["format"].as_str(), v["test"].as_str()), (Some("commsense/measure/1"), Some("timing")));
    assert_eq!(v["faults"], json!(["polarity-swapped", "timing-reversed"]));
    assert_eq!(done(&v), ["cross-leads", "turn-end-bell", "tighten"]);
    let turn = &v["actions"][1];
    assert_eq!((turn["degrees"].as_f64(), turn["marks"].as_f64()), (Some(24.0), Some(2.0)));
    // Against the wanted rotation: counter-clockwise is wanted, so the end bell goes clockwise (NEETS Module 5,
    // p. 2-15: in a motor the neutral plane moves against the rotation).
    assert_eq!((&turn["which_way"], &turn["seen_from"]), (&json!("cw"), &json!("shaft")));
    assert_eq!((&turn["to_mark_deg"], &turn["to_side"]), (&json!(12.0), &json!("against-wanted")));
    let then = &v["then_expect"];
    assert_eq!((&then["turns"], &then["mark_deg"]), (&json!("ccw"), &json!(12.0)));
    let (low, high) = (then["speed_ratio"]["low"].as_f64(), then["speed_ratio"]["high"].as_f64());
    assert!(low > Some(1.0) && high < Some(1.12), "{then}");
    assert_eq!(v["observations"]["timing-mark"]["wrong-way"], 1.0);
    assert_eq!(v["observations"]["turns-wrong-way"]["yes"], 1.0);
    assert!(v["observations"]["measured-reverse-faster"]["no"].as_f64() > Some(0.99));
    assert!(v["cautions"].as_array().expect("a list").iter().any(|c| c["id"] == "bench-supply"));
    for limit in v["limits"].as_array().expect("a list") {
        assert!(limit["basis"].as_str().is_some_and(|b| !b.is_empty()), "{limit}");
    }
}

/// 6 to 12 degrees one way and 0 both ways, marks 12 degrees apart, against the rotation: common practice.
#[test]
fn trade_values() {
    let at = |used: &str, mark: &str, side: &str| {
        let v = timing(&[
            "--wanted",
            "cw",
            "--seen-from",
            "shaft",
            "--use",
            used,
            "--mark",
            mark,
            "--mark-side",
            side,
        ]);
        let first = &v["actions"][0];
        let told = (
            first["do"].as_str().map(String::from),
            first["degrees"].as_f64(),
            first["which_way"].as_str().map(String::from),
        );
        (v["faults"].clone(), told)
    };
    let turn =
        |degrees: f64, way: &str| (Some("turn-end-bell".to_owned()), Some(degrees), Some(way.to_owned()));
    let nothing = (Some("none".to_owned()), None, None);
    for (used, mark, side, fault, told) in [
        ("one-way", "12 deg", "against-wanted", json!([]), nothing.clone()),
        ("one-way", "6 deg", "against-wanted", json!([]), nothing.clone()),
        ("one-way", "0 deg", "against-wanted", json!(["timing-at-zero"]), turn(12.0, "ccw")),
        ("one-way", "24 deg", "against-wanted", json!(["timing-excessive"]), turn(12.0, "cw")),
        ("one-way", "12 deg", "with-wanted", json!(["timing-reversed"]), turn(24.0, "ccw")),
        ("both-ways", "0 deg", "with-wanted", json!([]), nothing.clone()),
        ("both-ways", "12 deg", "against-wanted", json!(["timing-uneven-wanted-zero"]), turn(12.0, "cw")),
        ("both-ways", "12 deg", "with-wanted", json!(["timing-uneven-wanted-zero"]), turn(12.0, "ccw")),
    ] {
        assert_eq!(at(used, mark, side), (fault, told), "{used} {mark} {side}");
    }
}

#[test]
fn the_same_motor_from_the_other_end_is_turned_the_same_way() {
    let told = |from: &str, turns: &str, wanted: &str| {
        let v = timing(&[
            "--seen-from",
            from,
            "--turns",
            turns,
            "--wanted",
            wanted,
            "--use",
            "one-way",
            "--mark",
            "0 deg",
        ]);
        (done(&v).len(), v["actions"][0]["which_way"].clone())
    };
    assert_eq!(told("shaft", "ccw", "ccw"), (2, json!("cw")));
    assert_eq!(told("bell", "cw", "cw"), (2, json!("ccw")));
}

#[test]
fn the_leads_are_crossed_rather_than_the_bell_turned_unless_that_hides_it() {
    let told = |more: &[&str]| {
        let wrong = ["--turns", "cw", "--wanted", "ccw", "--seen-from", "shaft", "--use", "one-way"];
        let v = timing(&[&wrong[..], &["--mark", "12 deg", "--mark-side", "against-wanted"], more].concat());
        assert_eq!(v["faults"], json!(["polarity-swapped"]), "{more:?}");
        assert_eq!(done(&v).len(), 1 + usize::from(done(&v)[0] == "turn-end-bell-half"), "{v}");
        done(&v)[0].to_owned()
    };
    assert_eq!(told(&[]), "cross-leads");
    assert_eq!(told(&["--leads", "crossed"]), "cross-leads");
    assert_eq!(told(&["--leads", "crossed", "--bell", "half-turn"]), "cross-leads");
    assert_eq!(told(&["--leads", "right", "--bell", "in-place"]), "cross-leads");
}

#[test]
fn half_a_turn_is_turned_back_where_the_leads_are_right() {
    let base = ["--turns", "cw", "--wanted", "ccw", "--seen-from", "shaft", "--use", "one-way"];
    let mark =
        ["--mark", "12 deg", "--mark-side", "against-wanted", "--leads", "right", "--bell", "half-turn"];
    let v = timing(&[&base[..], &mark].concat());
    assert_eq!(done(&v), ["turn-end-bell-half", "tighten"]);
    assert_eq!(v["observations"]["turns-backwards"]["yes"], 1.0);
    assert_eq!(v["observations"]["lead-polarity"]["right"], 1.0);
    // A mark 168 degrees off zero is the same end bell: 12 degrees short of half a turn.
    let far = timing(
        &[&base[..], &["--mark", "168 deg", "--mark-side", "with-wanted", "--leads", "right"]].concat(),
    );
    assert_eq!((done(&far), &far["bell"]), (vec!["turn-end-bell-half", "tighten"], &json!("half-turn")));
    assert_eq!(far["advance_deg"], 12.0);
}

#[test]
fn a_phone_gives_the_side_and_a_range() {
    let v = timing(&["--use", "one-way", "--ratio", "1.04 +/- 0.004"]);
    assert_eq!((v["verdict"].as_str(), done(&v)), (Some("in-order"), vec!["none"]));
    let from = &v["advance_from_speeds"];
    assert_eq!(from["side"], "against-wanted");
    let (low, high) =
        (from["low_deg"].as_f64().expect("a number"), from["high_deg"].as_f64().expect("a number"));
    assert!(low > 0.0 && low < 6.0 && high > 12.0, "{from}");
    assert_eq!(v["advance_deg"], Value::Null, "no exact angle");

    let v = timing(&["--use", "one-way", "--ratio", "0.95"]);
    assert_eq!((&v["faults"], done(&v)), (&json!(["timing-reversed"]), vec!["turn-end-bell", "tighten"]));
    assert_eq!(
        (&v["actions"][0]["degrees"], &v["actions"][0]["relative"]),
        (&Value::Null, &json!("against-wanted"))
    );
    let v = timing(&["--use", "one-way", "--ratio", "1.0"]);
    assert_eq!(v["faults"], json!(["timing-at-zero"]));
    assert_eq!(v["observations"]["speeds-alike"]["yes"], 1.0);
    let v = timing(&["--use", "both-ways", "--ratio", "1.1"]);
    assert_eq!(v["faults"], json!(["timing-uneven-wanted-zero"]));
    let v =
        timing(&["--use", "one-way", "--forward", "20000 rpm", "--reverse", "19000 rpm", "--meter", "5 %"]);
    assert_eq!((v["verdict"].as_str(), done(&v)), (Some("unsure"), vec!["none"]));
}

#[test]
fn speeds_of_the_wrong_way_speak_of_the_other_direction() {
    // It turns backwards and is faster so: the brushes favour the direction that is not wanted.
    let args =
        ["--turns", "cw", "--wanted", "ccw", "--seen-from", "shaft", "--use", "one-way", "--ratio", "1.06"];
    let v = timing(&args);
    assert_eq!(v["faults"], json!(["polarity-swapped", "timing-reversed"]));
    assert_eq!(v["advance_from_speeds"]["side"], "with-wanted");
    assert_eq!(v["actions"][1]["which_way"], "cw");
}

#[test]
fn readings_that_contradict_each_other_turn_nothing() {
    let at = |mark: &str, side: &str, ratio: &str| {
        let v = timing(&["--use", "one-way", "--mark", mark, "--mark-side", side, "--ratio", ratio]);
        assert_eq!((v["verdict"].as_str(), done(&v)), (Some("measure-again"), vec!["none"]), "{v}");
        assert_eq!(v["observations"].get("timing-mark"), None, "a doubtful mark is no evidence");
        assert!(v["then_expect"]["says"].as_str().is_some_and(|s| s.contains("flag of tape")), "{v}");
        (words(&v).last().map(|w| (*w).to_owned()), v["faults"].clone())
    };
    let slipped = json!(["end-bell-slipped"]);
    let is = |word: &str, faults: &Value| (Some(word.to_owned()), faults.clone());
    assert_eq!(at("12 deg", "against-wanted", "0.93"), is("speeds-against-mark", &slipped));
    assert_eq!(at("12 deg", "with-wanted", "1.07"), is("speeds-against-mark", &slipped));
    assert_eq!(at("0 deg", "with-wanted", "1.08"), is("zero-mark-untrue", &slipped));
    assert_eq!(at("24 deg", "against-wanted", "1.005"), is("mark-not-felt", &slipped));
    assert_eq!(at("12 deg", "against-wanted", "1.4"), is("more-than-mark", &json!([])));
}

#[test]
fn two_positions_show_the_true_zero() {
    // Speeds of a motor whose true zero is at 4 degrees by the marks and whose ratio grows 0.6 % a degree.
    let position = |mark: f64| {
        let reverse = 20000.0 / (0.006 * (mark - 4.0) / 2.0f64).exp();
        let forward = 20000.0 * (0.006 * (mark - 4.0) / 2.0f64).exp();
        format!("{mark} deg,{forward:.0} rpm,{reverse:.0} rpm")
    };
    let (a, b) = (position(-12.0), position(12.0));
    let base = ["--use", "both-ways", "--wanted", "cw", "--seen-from", "shaft", "--meter", "0.2 %"];
    let v = timing(&[&base[..], &["--position", &a, "--position", &b]].concat());
    let zero = &v["true_zero_deg"];
    assert!((zero["value"].as_f64().expect("a number") - 4.0).abs() < 0.05, "{zero}");
    assert!(zero["low"].as_f64() < Some(4.0) && zero["high"].as_f64() > Some(4.0), "{zero}");
    assert!((v["ratio_per_degree"]["value"].as_f64().expect("a number") - 0.006).abs() < 1e-4);
    assert!(words(&v).contains(&"zero-offset"));
    // It stands at the last position, 12 degrees against: back with the rotation to the true zero.
    let turn = &v["actions"][0];
    assert!((turn["degrees"].as_f64().expect("a number") - 8.0).abs() < 0.05, "{turn}");
    assert_eq!(turn["which_way"], "cw");
    // The same with positive positions counted with the rotation.
    let (c, d) = (a.trim_start_matches('-').to_owned(), format!("-{b}"));
    let side = ["--position-side", "with-wanted", "--position", &c, "--position", &d];
    assert_eq!(timing(&[&base[..], &side].concat())["actions"][0], *turn);
    // Forward and reverse taken for each other.
    let (e, f) = (position(12.0).replacen("12", "-12", 1), position(-12.0).replacen("-12", "12", 1));
    let v = timing(&[&base[..], &["--position", &e, "--position", &f]].concat());
    assert_eq!(
        (v["verdict"].as_str(), words(&v).contains(&"curve-backwards")),
        (Some("measure-again"), true)
    );
}

#[test]
fn screws_come_last() {
    let v = timing(&["--turns", "cw", "--wanted", "cw", "--seen-from", "bell", "--screws", "loose"]);
    assert_eq!((done(&v), &v["faults"]), (vec!["tighten"], &json!(["end-bell-slipped"])));
    assert_eq!(v["observations"]["end-bell-screws"]["loose"], 1.0);
}

#[test]
fn a_sheet_for_people() {
    let done = Bench::new().run(&[&["measure", "timing"], &EXAMPLE[..]].concat());
    insta::assert_snapshot!(done.stdout);
}

#[test]
fn every_sheet_fits_eighty_columns() {
    let bench = Bench::new();
    for from in ["shaft", "bell"] {
        for used in ["one-way", "both-ways"] {
            for (mark, side) in
                [("0 deg", "with-wanted"), ("24 deg", "with-wanted"), ("45 deg", "against-wanted")]
            {
                for seat in ["in-place", "half-turn"] {
                    for locale in ["C.UTF-8", "POSIX"] {
                        let args = [
                            "measure",
                            "timing",
                            "--use",
                            used,
                            "--seen-from",
                            from,
                            "--wanted",
                            "ccw",
                            "--turns",
                            "cw",
                            "--mark",
                            mark,
                            "--mark-side",
                            side,
                            "--bell",
                            seat,
                            "--leads",
                            "right",
                            "--mark-step",
                            "5 deg",
                        ];
                        let out =
                            bench.command(&args).env("LC_ALL", locale).output().expect("the program runs");
                        let text = String::from_utf8(out.stdout).expect("UTF-8");
                        assert!(text.lines().count() > 20, "{args:?}");
                        assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
                        assert!(locale != "POSIX" || text.is_ascii(), "{text}");
                    }
                }
            }
        }
    }
}

#[test]
fn the_picture_is_written() {
    let bench = Bench::new();
    let done = bench.run(&[&["measure", "timing", "--svg", "dial.svg"], &EXAMPLE[..]].concat());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let picture = bench.read("dial.svg");
    assert!(picture.contains("Turn it 24 deg clockwise, to 12 deg clockwise of the zero mark"), "{picture}");
    roxmltree::Document::parse(&picture).expect("sound XML");
}

#[test]
fn what_is_wrong_is_said() {
    let one_way = ["--use", "one-way"];
    let with = |args: &[&'static str]| [&one_way[..], args].concat();
    for (args, code, said) in [
        (vec![], 2, "--use is missing"),
        (with(&[]), 2, "there is nothing to judge"),
        (vec!["--mark", "12 deg", "--mark-side", "with-wanted"], 2, "--use is missing"),
        (with(&["--mark", "12 deg"]), 2, "--mark-side is missing"),
        (with(&["--mark", "12 V", "--mark-side", "with-wanted"]), 1, "is a voltage"),
        (with(&["--mark", "nan deg", "--mark-side", "with-wanted"]), 1, "--mark"),
        (with(&["--mark=-12 deg", "--mark-side", "with-wanted"]), 1, "makes no sense"),
        (with(&["--mark", "90 deg", "--mark-side", "with-wanted"]), 1, "can't be"),
        (with(&["--mark", "170 deg", "--mark-side", "with-wanted", "--bell", "in-place"]), 1, "look again"),
        (with(&["--mark", "12 deg", "--mark-side", "up"]), 2, "invalid value"),
        (
            with(&["--mark", "12 deg", "--mark-side", "with-wanted", "--mark-step", "0 deg"]),
            1,
            "apart make no sense",
        ),
        (with(&["--turns", "cw"]), 2, "--seen-from is missing"),
        (with(&["--turns", "cw", "--seen-from", "shaft"]), 2, "--wanted is missing"),
        (with(&["--forward", "20000 rpm"]), 2, "--reverse is missing"),
        (with(&["--reverse", "20000 rpm"]), 2, "--forward is missing"),
        (with(&["--forward", "0 rpm", "--reverse", "20000 rpm"]), 1, "above zero"),
        (with(&["--forward", "20000 rpm", "--reverse", "2000 rpm"]), 1, "not a matter of timing"),
        (with(&["--forward", "20000 mm", "--reverse", "2000 rpm"]), 1, "is a length"),
        (with(&["--ratio", "-1"]), 1, "above zero"),
        (with(&["--ratio=-1"]), 1, "above zero"),
        (with(&["--ratio", "1.04", "--forward", "20000 rpm"]), 2, "cannot be used with"),
        (with(&["--ratio", "1.04 +/- 3"]), 1, "uncertainty"),
        (with(&["--ratio", "1.04", "--meter", "90 %"]), 1, "uncertainty"),
        (with(&["--ratio", "1.04", "--forward-current", "2 A"]), 2, "--reverse-current is missing"),
        (with(&["--ratio", "1", "--forward-current", "0 A", "--reverse-current", "1 A"]), 1, "above zero"),
        (with(&["--position", "12 deg,20000 rpm"]), 1, "an angle and two speeds"),
        (with(&["--position", "12 deg,20000 rpm,19000 rpm"]), 1, "two different positions"),
        (with(&["--position", "12 deg,20000 V,19000 rpm", "--position", "0 deg,1 rpm,1 rpm"]), 1, "voltage"),
        (with(&["--position", "99 deg,20000 rpm,19000 rpm"]), 1, "can't be"),
        (with(&["--ratio", "1.04", "--svg", "x.svg"]), 2, "draws no picture"),
    ] {
        refused("timing", &args, code, said);
    }
}

#[test]
fn the_result_ranks_the_faults_of_the_same_case() {
    let bench = Bench::new();
    for (mark, side, ratio, fault) in [
        ("12 deg", "with-wanted", "0.93", "timing-reversed"),
        ("24 deg", "against-wanted", "1.14", "timing-excessive"),
    ] {
        let file = format!("{fault}.yaml");
        let args = [
            "measure",
            "timing",
            "--case",
            &file,
            "--use",
            "one-way",
            "--mark",
            mark,
            "--mark-side",
            side,
            "--ratio",
            ratio,
        ];
        let done = bench.run(&args);
        assert_eq!(done.code, Some(0), "{}", done.stderr);
        let v = bench.json(&["triage", &file, "--json"]);
        assert_eq!(v["faults"][0]["id"], fault, "{}", v["faults"][0]);
    }
}

fn said(turn: Turn) -> &'static str {
    if turn == Turn::Cw { "cw" } else { "ccw" }
}

/// What the program tells to do, done to a physical motor; settings of direction, leads, end bell, viewing
/// end and wanted rotation in every combination, the angle and the use from one to the next.
#[test]
fn what_the_program_tells_puts_the_motor_right() {
    let bench = Bench::new();
    let mut asked = 0;
    for code in 0..64usize {
        let bit = |n: usize| code >> n & 1 == 1;
        let from = ENDS[usize::from(bit(0))];
        let wanted = if bit(1) { Turn::Cw } else { Turn::Ccw };
        let used = if bit(2) { "one-way" } else { "both-ways" };
        let half = if bit(3) { 180.0 } else { 0.0 };
        let angle = [-24.0, 24.0, -9.0, 9.0, -3.0, 0.0, 17.0][code % 7];
        let field = Vector::new(if bit(4) { 1.0 } else { -1.0 }, 0.0);
        let motor = Motor { field, bell: half + angle, leads: if bit(5) { 1.0 } else { -1.0 } };
        let rotation = from.rotation(wanted);
        let turns = from.sees_rotation(motor.turns());
        let side = if angle * rotation > 0.0 { "with-wanted" } else { "against-wanted" };
        let (mark, ratio) = (
            format!("{} deg", angle.abs()),
            format!("{:.5} +/- 0.004", motor.speed(motor.turns()) / motor.speed(-motor.turns())),
        );
        let args = [
            "measure",
            "timing",
            "--use",
            used,
            "--turns",
            said(turns),
            "--wanted",
            said(wanted),
            "--seen-from",
            if from == End::Shaft { "shaft" } else { "bell" },
            "--mark",
            &mark,
            "--mark-side",
            side,
            "--leads",
            if motor.leads > 0.0 { "right" } else { "crossed" },
            "--bell",
            if half > 0.0 { "half-turn" } else { "in-place" },
            "--ratio",
            &ratio,
            "--svg",
            "dial.svg",
            "--json",
        ];
        let v = bench.json(&args);
        let mut after = motor;
        for action in v["actions"].as_array().expect("a list") {
            match action["do"].as_str().expect("a word") {
                "cross-leads" => after.leads = -after.leads,
                "turn-end-bell-half" => after.bell += 180.0,
                "turn-end-bell" => {
                    assert_eq!(action["seen_from"], args[9]);
                    let way = if action["which_way"] == "cw" { Turn::Cw } else { Turn::Ccw };
                    let degrees = action["degrees"].as_f64().expect("the mark is known");
                    assert_eq!(
                        action["marks"].as_f64().map(|m| (m * 12.0 - degrees).abs() < 0.01),
                        Some(true)
                    );
                    after.bell += from.rotation(way) * degrees;
                    // The picture shows the same.
                    let words = if way == Turn::Cw { "clockwise" } else { "counter-clockwise" };
                    let picture = bench.read("dial.svg");
                    let turned = picture.contains(&format!("Turn it {degrees:.0} deg {words},"));
                    assert!(turned || picture.contains("half a turn round, and then"), "{args:?}: {picture}");
                    asked += 1;
                }
                "tighten" | "none" => {}
                other => panic!("what is {other}?"),
            }
        }
        assert_eq!(after.turns(), rotation, "{args:?}: {v}");
        let advance = after.advance(rotation);
        let right = if used == "one-way" { (5.99..12.01).contains(&advance) } else { advance.abs() <= 3.01 };
        assert!(right, "{advance} after {args:?}: {v}");
        assert_ne!(v["verdict"], "measure-again", "{args:?}: {v}");
        assert_eq!(v["then_expect"]["turns"], said(wanted));
    }
    assert!(asked > 30, "{asked}");
}

#[test]
fn who_gives_nothing_is_led_through() {
    let mut terminal = Terminal::start(
        80,
        60,
        std::path::Path::new(PROGRAM),
        &["measure", "timing"],
        &[("ACCESSIBLE", "1")],
    );
    // One way, from the shaft end, counter-clockwise wanted, turns clockwise, leads right, end bell not known,
    // screws snug, 12 degrees with the wanted rotation, no tachometer, and the ratio from a recording.
    let answers = ["1", "1", "2", "1", "1", "d", "1", "12 deg", "1", "d", "1.05 +/- 0.01"];
    for (i, answer) in answers.iter().enumerate() {
        terminal.written("Answer:", i + 1);
        terminal.press(&format!("{answer}\n"));
    }
    assert!(terminal.end().success(), "{}", terminal.screen());
    let said = super::common::program::flowing(&terminal.raw());
    let told =
        "Cross the two leads, then turn the end bell 24 deg (2 marks) clockwise, seen from the shaft end.";
    assert!(said.contains(told), "{said}");
    let caution = said.find("CAUTION: Never power it").expect("a caution");
    assert!(
        said.find("Which way does the shaft turn now").is_some_and(|at| caution < at),
        "cautions come first"
    );
}

#[test]
fn a_ruler_will_do_where_there_are_no_marks() {
    // 3.77 mm on the rim of a 36 mm can: 360 x 3.77 / (pi x 36) = 12.0 degrees.
    let turned = |mark: &[&str]| {
        let args = ["--turns", "ccw", "--wanted", "ccw", "--seen-from", "shaft", "--use", "one-way"];
        measured("timing", &[&args[..], &["--mark-side", "with-wanted"], mark].concat())
    };
    let ruler = turned(&["--mark", "3.77 mm", "--can-diameter", "36 mm"]);
    assert_eq!(ruler["verdict"], turned(&["--mark", "12 deg"])["verdict"]);
    assert!((ruler["advance_deg"].as_f64().unwrap() + 12.0).abs() < 0.01, "{ruler}");
    let args =
        ["--use", "one-way", "--mark-side", "with-wanted", "--mark", "90 mm", "--can-diameter", "20 mm"];
    refused("timing", &args, 1, "can't be: measure both again");
    refused(
        "timing",
        &["--use", "one-way", "--mark-side", "with-wanted", "--mark", "3 A"],
        1,
        "along the rim, in mm",
    );
    refused(
        "timing",
        &["--use", "one-way", "--mark-side", "with-wanted", "--mark", "3 mm"],
        2,
        "--can-diameter is missing",
    );
}
