//! `commsense measure run-in` through the program, and its timer on a pseudo-terminal.
#![allow(clippy::unwrap_used)]

use std::path::Path;

use serde_json::Value;

use super::common::Terminal;
use super::common::program::{Bench, PROGRAM};
use super::{measured, refused};

fn words(v: &Value) -> Vec<&str> {
    v["findings"].as_array().unwrap().iter().map(|f| f["word"].as_str().unwrap()).collect()
}

#[track_caller]
fn near(v: &Value, want: f64) {
    let got = v.as_f64().unwrap_or(f64::NAN);
    assert!((got - want).abs() <= 1e-4 * want.abs(), "{v} not {want}");
}

#[test]
fn the_numbers_for_scripts() {
    let v = measured(
        "run-in",
        &["--volts", "3 V", "--minutes", "3", "--motor", "heron-540-3", "--against", "12 V,30 s"],
    );
    // 20000 rpm at 7.2 V, starts at 0.6 V: 20000 x 2.4 / 6.6 = 7272.7 rpm at 3 V; 7.5 mm x pi x 21818 turns =
    // 514.1 m; 2 A in 0.1 ohm for 180 s: 72 J; 2.4 x 180 over 11.4 x 30 (arithmetic).
    near(&v["brush_travel_m"], 514.08);
    near(&v["winding_J"], 72.0);
    near(&v["ratio_of_travel"], 432.0 / 342.0);
    assert_eq!((v["test"].as_str(), v["verdict"].as_str()), (Some("run-in"), Some("usual")));
    assert_eq!(words(&v), ["dry-only"]);
    assert!(v["brush_travel_low_m"].as_f64().unwrap() < 514.0);
}

#[test]
fn usual_values_are_common_practice() {
    // About 3 V for 3 min, dry and unloaded; some motors 12 V for 30 s: common practice.
    let v = measured("run-in", &["--motor", "heron-540-3"]);
    assert_eq!((v["volts"].as_f64(), v["seconds"].as_f64()), (Some(3.0), Some(180.0)));
    let basis =
        |id: &str| v["limits"].as_array().unwrap().iter().find(|l| l["id"] == id).unwrap()["basis"].clone();
    assert_eq!(
        (basis("slow-volts"), basis("slow-time")),
        ("common practice".into(), "common practice".into())
    );
    let short = v["recipes"].as_array().unwrap().iter().find(|r| r["name"] == "Short").unwrap();
    assert_eq!((short["volts"].as_f64(), short["seconds"].as_f64()), (Some(12.0), Some(30.0)));
}

#[test]
fn too_little_and_too_much() {
    let verdict =
        |args: &[&str]| measured("run-in", &[&["--motor", "heron-540-3"], args].concat())["verdict"].clone();
    assert_eq!(verdict(&["--volts", "3 V", "--minutes", "1"]), "short");
    assert_eq!(verdict(&["--volts", "3 V", "--minutes", "12"]), "long");
    // More for hand-wound high-power armatures, less matter for machine-wound: common practice.
    assert_eq!(verdict(&["--volts", "3 V", "--minutes", "2", "--winding", "machine"]), "usual");
    assert_eq!(verdict(&["--volts", "3 V", "--minutes", "2", "--winding", "hand"]), "short");
}

#[test]
fn more_than_the_rating_is_said() {
    let v = measured("run-in", &["--motor", "heron-540-3", "--volts", "12 V", "--minutes", "30 s"]);
    assert!(words(&v).contains(&"above-rating") && v["warnings"].to_string().contains("made for 7.2 V"));
}

#[test]
fn a_motor_that_is_not_listed_is_described() {
    let v = measured(
        "run-in",
        &["--speed", "20000 rpm", "--rated", "7.2 V", "--diameter", "7.5 mm", "--starting", "0.6 V"],
    );
    near(&v["brush_travel_m"], 514.08);
    assert!(v.get("winding_J").is_none());
}

#[test]
fn a_sheet_for_people() {
    let args = ["measure", "run-in", "--motor", "redshank-540-3", "--volts", "3 V", "--minutes", "3"];
    let done = Bench::new().run(&[&args[..], &["--winding", "hand", "--against", "12 V, 30 s"]].concat());
    assert!(done.stdout.lines().all(|l| l.chars().count() <= 80), "{}", done.stdout);
    insta::assert_snapshot!(done.stdout);
}

#[test]
fn what_is_wrong_is_said() {
    let motor = ["--motor", "heron-540-3"];
    for (args, code, words) in [
        (&[][..], 2, "--speed is missing"),
        (&[motor[0], motor[1], "--volts", "3 A"], 1, "is a current"),
        (&[motor[0], motor[1], "--volts", "0.4 V"], 1, "does not turn"),
        (&[motor[0], motor[1], "--volts=-3 V"], 1, "above zero"),
        (&[motor[0], motor[1], "--minutes", "0"], 1, "above zero"),
        (&[motor[0], motor[1], "--minutes", "NaN"], 1, "no possible number"),
        (&[motor[0], motor[1], "--minutes", "3 V"], 1, "is a voltage"),
        (&[motor[0], motor[1], "--against", "12 V"], 1, "--against"),
        (&[motor[0], motor[1], "--against", "0.1 V, 30 s"], 1, "does not turn"),
        (&[motor[0], motor[1], "--starting", "9 V"], 1, "contradict each other"),
        (&[motor[0], motor[1], "--winding", "round"], 2, "invalid value"),
        (&[motor[0], motor[1], "--timer"], 2, "needs a person at a terminal"),
        (&[motor[0], motor[1], "--timer", "--json"], 2, "needs a person at a terminal"),
        (&[motor[0], motor[1], "--timer", "--line"], 2, "needs a person at a terminal"),
    ] {
        refused("run-in", args, code, words);
    }
}

#[test]
fn it_can_be_talked_through() {
    // Volts, minutes and winding; the motor's data answer the rest.
    let done = Bench::new()
        .talk(&["measure", "run-in", "--motor", "heron-540-3", "--line"], &["3 V", "3", "machine"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(done.stdout.contains("about 514 m"), "{}", done.stdout);
}

fn timed(args: &[&str]) -> Terminal {
    let all = [&["measure", "run-in", "--motor", "heron-540-3", "--volts", "3 V", "--timer"], args].concat();
    Terminal::start(80, 40, Path::new(PROGRAM), &all, &[])
}

#[test]
fn the_timer_runs_its_time_and_reckons_it() {
    let mut terminal = timed(&["--minutes", "0.03"]);
    terminal.see("Run the timer now?").see("CAUTION").see("Answer:");
    let start = std::time::Instant::now();
    terminal.press("\r").see("of 0:02 [").see("Switch the supply off");
    assert!(start.elapsed().as_secs_f64() >= 1.7, "{:?}", start.elapsed());
    terminal.see("Done. 3 V for 1.8 s");
    assert!(terminal.end().success(), "{}", terminal.screen());
    terminal.assert_cooked();
}

#[test]
fn who_interrupts_the_timer_is_told_how_long_it_ran() {
    let mut terminal = timed(&["--minutes", "1"]);
    terminal.see("Answer:");
    terminal.press("\r").see("0:01 of 1:00 [");
    terminal.press("\x03").see("the motor ran 0:0");
    assert_eq!(terminal.end().exit_code(), 130, "{}", terminal.screen());
    terminal.see("m of brush travel; switch").assert_cooked();
}

#[test]
fn who_does_not_start_is_not_timed() {
    let mut terminal = timed(&["--minutes", "1"]);
    terminal.see("Answer:");
    terminal.press("\x1b[B");
    terminal.press("\r").see("Limits used");
    assert!(terminal.end().success());
    assert!(!terminal.raw().contains("of 1:00 ["), "{}", terminal.raw());
}

#[test]
fn lines_instead_of_a_bar_for_who_cannot_see_one() {
    let mut terminal = timed(&["--minutes", "0.03", "--line"]);
    terminal.see("Run the timer now?").see("Answer:");
    terminal.press("start\r").see("Switch the supply off").see("Done.");
    assert!(terminal.end().success());
    assert!(!terminal.raw().contains("[="), "{}", terminal.raw());
}

/// The built-in measurement with the first look after one second and the next a second later.
fn hasty() -> Bench {
    let bench = Bench::new();
    let text = include_str!("../../knowledge/measurements/run-in.yaml");
    let hasty =
        text.replace("value: \"15 s\"", "value: \"1 s\"").replace("value: \"10 s\"", "value: \"0 s\"");
    assert_ne!(hasty, text, "the moments stand there");
    bench.write("run-in.yaml", hasty);
    bench
}

#[test]
fn a_look_makes_room_for_itself_and_sparks_end_the_run() {
    let bench = hasty();
    let folder = bench.folder().to_str().expect("a plain path");
    let mut terminal = timed(&["--minutes", "1", "--knowledge", folder]);
    terminal.see("Answer:");
    terminal.press("\r").see("next look at 0:01");
    terminal.see("What current does it draw now?").see("the motor runs on");
    // The first row is the choice that stops it.
    terminal.see("Heavy sparks");
    terminal.press("\r").see("Stop: heavy sparks, smoke or a burnt smell.");
    assert!(terminal.end().success(), "{}", terminal.screen());
    terminal.assert_cooked();
}

#[test]
fn a_current_typed_in_goes_on_to_the_result() {
    let bench = hasty();
    let folder = bench.folder().to_str().expect("a plain path");
    let mut terminal = timed(&["--minutes", "0.05", "--line", "--knowledge", folder]);
    terminal.see("Answer:");
    terminal.press("start\r").see("What current does it draw now?");
    terminal.press("1.8 V\r").see("is a voltage");
    terminal.press("1.8 A\r").see("Done.").see("1.8 A");
    assert!(terminal.end().success(), "{}", terminal.screen());
}

#[test]
fn an_interruption_while_it_asks_says_how_long_it_ran() {
    let bench = hasty();
    let folder = bench.folder().to_str().expect("a plain path");
    let mut terminal = timed(&["--minutes", "1", "--knowledge", folder]);
    terminal.see("Answer:");
    terminal.press("\r").see("What current does it draw now?").see("Heavy sparks");
    terminal.press("\x03").see("the motor ran 0:0");
    assert_eq!(terminal.end().exit_code(), 130, "{}", terminal.screen());
    terminal.assert_cooked();
}
