//! `commsense measure winding` through the program.
#![allow(clippy::unwrap_used)] // a key that is missing fails the test

use serde_json::Value;

use super::common::program::{Bench, flowing};
use super::{measured, refused};

fn winding(args: &[&str]) -> Value {
    measured("winding", args)
}

fn verdicts(v: &Value) -> Vec<&str> {
    v["coils"].as_array().into_iter().flatten().filter_map(|c| c["verdict"].as_str()).collect()
}

fn has(v: &Value, word: &str) -> bool {
    v["findings"].as_array().into_iter().flatten().any(|f| f["word"] == word)
}

#[test]
fn coils_of_three_bars_for_scripts() {
    let v = winding(&[
        "--bars",
        "82 mohm,83 mohm,165 mohm",
        "--lead",
        "10 mohm",
        "--temperature",
        "31 degC",
        "--meter",
        "2 %",
    ]);
    assert_eq!((v["format"].as_str(), v["verdict"].as_str()), (Some("commsense/measure/1"), Some("open")));
    assert_eq!(verdicts(&v), ["sound", "sound", "open"]);
    assert!(v["coils"][2]["ohm_20C"].is_null() && v["coils"][2]["high"].is_null());
    assert!(v["coils"][2]["low"].as_f64().unwrap() > 0.7);
    // With one coil open the others read themselves: 72 and 73 mohm, times 255 / 266 at 20 degC (k = 235),
    // shifted a little because the third reading is 10 mohm above their sum.
    for (coil, ohm) in [(0, 0.072), (1, 0.073)] {
        let c = &v["coils"][coil];
        let got = c["ohm_20C"].as_f64().unwrap();
        assert!((got / (ohm * 255.0 / 266.0) - 1.0).abs() < 0.04, "{c}");
        assert!(c["low"].as_f64().unwrap() < got && got < c["high"].as_f64().unwrap());
    }
    assert_eq!(v["copper_k"], 235.0);
    assert_eq!(v["observations"]["bar-resistance-high-pair"]["open"], 1.0);
    assert!(v["findings"].as_array().unwrap().iter().any(|f| f["fault"] == "coil-open"));
    assert!(v["limits"].as_array().unwrap().iter().any(|l| l["id"] == "open-above"));
    assert!(!v["cautions"].as_array().unwrap().is_empty());
}

#[test]
fn the_temperature_correction_is_that_of_copper() {
    // 0.0850 ohm at 31 degC is 0.081485 ohm at 20 degC with k = 235.
    let v = winding(&["--terminals", "85.0 mohm", "--temperature", "31 degC"]);
    assert!((v["terminal_ohm_20C"]["value"].as_f64().unwrap() - 0.081_485).abs() < 1e-6);
    // Copper's factor is the same in degF: 31 degC is 87.8 degF.
    let f = winding(&["--terminals", "85.0 mohm", "--temperature", "87.8 degF"]);
    assert!((f["terminal_ohm_20C"]["value"].as_f64().unwrap() - 0.081_485).abs() < 1e-6);
}

#[test]
fn every_kind_of_defect_by_volt_drop() {
    // Coils of 50 mohm at 2 A; pairs by r (S - r) / S, worked out by hand.
    // Five sound: 40 mohm, 80 mV. One open: its pair 4 r, the others r. One shorted: 0, others 3/4 r.
    // One of 0.8 r: S = 4.8 r, its pair 0.8 * 4 / 4.8 = 0.6667 r, the others 3.8 / 4.8 = 0.7917 r.
    // One of 1.5 r: S = 5.5 r, its pair 1.5 * 4 / 5.5 = 1.0909 r, the others 4.5 / 5.5 = 0.8182 r.
    for (drops, want) in [
        ("80 mV, 80 mV, 80 mV, 80 mV, 80 mV", "sound"),
        ("100.0 mV, 400.0 mV, 100.0 mV, 100.0 mV, 100.0 mV", "open"),
        ("75.0 mV, 0.0 mV, 75.0 mV, 75.0 mV, 75.0 mV", "shorted"),
        ("79.2 mV, 66.7 mV, 79.2 mV, 79.2 mV, 79.2 mV", "part-shorted"),
        ("81.8 mV, 109.1 mV, 81.8 mV, 81.8 mV, 81.8 mV", "poor-joint"),
    ] {
        let v = winding(&["--current", "2 A", "--drops", drops, "--temperature", "20 degC"]);
        assert_eq!(v["verdict"], want, "{drops}");
        assert_eq!(verdicts(&v), ["sound", want, "sound", "sound", "sound"], "{drops}");
        assert!((v["sound_ohm_20C"].as_f64().unwrap() - 0.05).abs() < 2e-4, "{drops}: {v}");
    }
}

#[test]
fn two_defects_at_once_and_an_even_number_of_bars() {
    // Four coils of 0.1 ohm, one open and one shorted: 0.1, 0.2, 0, 0.1 ohm.
    let v = winding(&["--bars", "0.100 ohm, 0.200 ohm, 0 ohm, 0.100 ohm", "--meter", "0.5 %"]);
    assert_eq!(verdicts(&v), ["sound", "open", "shorted", "sound"]);
    let v = winding(&["--bars", "100 mohm, open, 100 mohm, OL, 100 mohm, 101 mohm"]);
    assert_eq!(verdicts(&v), ["sound", "open", "sound", "open", "sound", "sound"]);
    assert_eq!(v["ring"], "broken");
}

#[test]
fn what_can_not_be_told_is_said() {
    // 30 mohm coils of three and a meter of 10 mohm steps: nothing can be told.
    let coarse = winding(&["--bars", "0.02 ohm, 0.02 ohm, 0.02 ohm", "--meter", "2 %, 10 mohm"]);
    assert_eq!(coarse["verdict"], "cannot-tell");
    assert!(has(&coarse, "too-coarse") && coarse["smallest_short"].as_f64().unwrap() > 0.5);
    // The same digits as they were written, without a word about the meter.
    assert_eq!(winding(&["--bars", "0.02 ohm, 0.02 ohm, 0.02 ohm"])["verdict"], "cannot-tell");
    // One turn in twenty, 5 %: with seven bars wants about 1 %.
    let seven = ["85.7 mohm"; 7].join(", ");
    let v = winding(&["--bars", &seven, "--meter", "1 %", "--turns", "20"]);
    assert_eq!((v["verdict"].as_str(), v["smallest_short_turns"].as_f64()), (Some("sound"), Some(2.0)));
    let v = winding(&["--bars", &seven, "--meter", "0.5 %", "--turns", "20"]);
    assert_eq!(v["smallest_short_turns"].as_f64(), Some(1.0));
    // Two coils left of three: both pairs read the two in parallel.
    let v = winding(&["--bars", "50.0 mohm, 50.1 mohm, 0.0 mohm", "--meter", "1 %"]);
    assert_eq!(verdicts(&v), ["sound", "sound", "shorted"]);
    assert!(has(&v, "two-in-parallel") && v["coils"][0]["high"].is_null());
    // A star with one open leg: two pairs show nothing.
    assert!(has(&winding(&["--bars", "open, 200 mohm, open"]), "star-or-broken"));
    // A bar that has lost its wires.
    assert!(has(&winding(&["--bars", "80 mohm, open, open, 80 mohm, 80 mohm"]), "bar-off"));
}

#[test]
fn readings_no_armature_can_give_are_refused() {
    for (bars, words) in [
        (
            "80 mohm, 80 mohm, 400 mohm",
            "pair 3 reads 400 mohm, more than all the other pairs together (160 mohm)",
        ),
        ("open, 80 mohm, 80 mohm", "pair 1 alone shows no reading"),
        ("open, open, open", "no pair shows a reading"),
        ("0 ohm, 0 ohm, 0 ohm", "no reading is above zero"),
        ("80 mohm, 80 mohm", "2 readings from bar to bar make no ring"),
        ("80 mohm, 80 mohm, -80 mohm", "number 3 is negative"),
        ("80 mohm, 80 V, 80 mohm", "number 2: `80 V` is a voltage"),
        ("80, 80, 80", "no unit"),
        ("", "nothing is written"),
        ("80 mohm, NaN, 80 mohm", "number 2"),
    ] {
        refused("winding", &["--bars", bars], 1, words);
    }
    let many = ["1 ohm"; 201].join("; ");
    refused("winding", &["--bars", &many], 1, "too many");
}

#[test]
fn what_is_wrong_is_said() {
    let bars = "82 mohm, 83 mohm, 81 mohm";
    for (args, code, words) in [
        (&[][..], 2, "--bars is missing"),
        (&["--meter", "2 %"], 2, "--bars is missing"),
        (&["--bars", bars, "--meter", "60 %"], 1, "from 0 to below 0.5"),
        (&["--bars", bars, "--meter", "2"], 1, "no unit"),
        (&["--bars", bars, "--lead", "300 mohm"], 1, "less than the 300 mohm of the leads alone"),
        (&["--bars", bars, "--lead=-1 mohm"], 1, "0 or more"),
        (&["--bars", bars, "--temperature", "900 degC"], 1, "no temperature of a copper winding"),
        (&["--bars", bars, "--turns", "2.5"], 1, "whole number of turns"),
        (&["--bars", bars, "--drops", "3 mV, 3 mV, 3 mV"], 2, "cannot be used with"),
        (&["--drops", "3 mV, 3 mV, 3 mV"], 2, "--current is missing"),
        (&["--current", "2 A"], 2, "--drops"),
        (&["--drops", "3 mV, 3 mV, 3 mV", "--current", "0 A"], 1, "above zero"),
        (&["--drops", "3 mV, -3 mV, 3 mV", "--current", "2 A"], 1, "turn the probes round"),
        (&["--drops", "3 mV, 3 mV, 3 mV", "--current", "2 A", "--lead", "1 mohm"], 2, "leave out --lead"),
        (&["--terminals", ""], 1, "nothing is written"),
        (&["--cold", "0.1 ohm"], 2, "--cold-at is missing"),
        (
            &["--cold", "123 mohm", "--cold-at", "20 degC", "--hot", "80 mohm", "--ambient", "25 degC"],
            1,
            "check whether the two are crossed",
        ),
        (
            &["--cold", "0 mohm", "--cold-at", "20 degC", "--hot", "80 mohm", "--ambient", "25 degC"],
            1,
            "the cold resistance can't be 0",
        ),
    ] {
        refused("winding", args, code, words);
    }
}

#[test]
fn positions_of_the_shaft() {
    let v = winding(&["--terminals", "112 mohm, 114 mohm, 120 mohm, 113 mohm", "--lead", "10 mohm"]);
    assert_eq!(v["verdict"], "even");
    assert!((v["terminal_ohm_20C"]["value"].as_f64().unwrap() - 0.102).abs() < 1e-9);
    assert!((v["mean_ohm_20C"].as_f64().unwrap() - 0.10475).abs() < 1e-9);
    assert!(v["observations"]["resistance-varies"]["no"].as_f64().unwrap() > 0.99);
    // No motor, so nothing to compare the resistance with.
    assert!(v["observations"].get("winding-resistance-high").is_none());
    assert_eq!(winding(&["--terminals", "100 mohm, 180 mohm, 101 mohm"])["verdict"], "uneven");
    let dead = winding(&["--terminals", "100 mohm, open, 101 mohm"]);
    assert_eq!((&dead["verdict"], &dead["dead_positions"]), (&"dead-spot".into(), &serde_json::json!([2])));
    assert_eq!(dead["observations"]["resistance-varies"]["dead-spot"], 1.0);
    let none = winding(&["--terminals", "open, open"]);
    assert_eq!(
        (&none["verdict"], &none["observations"]["winding-resistance-high"]["open"]),
        (&"open".into(), &1.0.into())
    );
    // 100 mohm nominal: 72 mohm is low. Common practice: one coil of three shorted gives 0.75.
    let low = winding(&["--terminals", "72.0 mohm, 73.0 mohm", "--motor", "heron-540-3"]);
    assert!(low["observations"]["winding-resistance-low"]["low"].as_f64().unwrap() > 0.95, "{low}");
}

#[test]
fn shaft_to_winding() {
    // Common practice for these motors: 1 megohm passes, below 0.1 megohm fails.
    for (reading, want, state) in [
        ("5 Mohm", "isolated", "no"),
        ("open", "isolated", "no"),
        ("0.4 Mohm", "doubtful", "low"),
        ("20 kohm", "grounded", "grounded"),
        ("5 Mohm, 3 ohm", "grounded", "grounded"),
    ] {
        let v = winding(&["--to-shaft", reading]);
        assert_eq!(v["verdict"], want, "{reading}");
        assert!(v["observations"]["insulation-low"][state].as_f64().unwrap() > 0.9, "{reading}");
    }
}

#[test]
fn temperature_rise_by_resistance() {
    // R1 = 100 mohm at 20 degC, R2 = 123.6 mohm: 80.18 degC, rise 55.18 K over 25 degC (k = 235).
    let args = ["--cold", "100 mohm", "--cold-at", "20 degC", "--hot", "123.6 mohm", "--ambient", "25 degC"];
    let v = winding(&args);
    assert!((v["winding_degC"].as_f64().unwrap() - 80.18).abs() < 0.01);
    assert!((v["rise_K"].as_f64().unwrap() - 55.18).abs() < 0.01);
    assert_eq!((&v["verdict"], &v["limits"][0]["basis"]), (&"within-class".into(), &"iec-60085".into()));
    let hotter = winding(&[&args[..5], &["145 mohm"], &args[6..]].concat());
    assert_eq!(hotter["verdict"], "over-class");
    assert!(has(&winding(&[&args[..5], &["132 mohm"], &args[6..]].concat()), "heat-unsure"));
}

#[test]
fn several_at_once_take_the_gravest_verdict() {
    let v =
        winding(&["--bars", "80 mohm, 80 mohm, 81 mohm", "--to-shaft", "1 ohm", "--temperature", "20 degC"]);
    assert_eq!(v["verdict"], "grounded");
    assert!(v["says"].as_str().unwrap().contains("coils agree"), "{}", v["says"]);
}

#[test]
fn a_sheet_for_people() {
    let args = ["measure", "winding", "--bars", "82 mohm,83 mohm,165 mohm", "--lead", "10 mohm"];
    let done = Bench::new().run(&[&args[..], &["--temperature", "31 degC", "--meter", "2 %"]].concat());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(done.stdout.lines().all(|l| l.chars().count() <= 80), "{}", done.stdout);
    insta::assert_snapshot!(done.stdout);
}

#[test]
fn a_finer_way_is_offered_where_the_meter_is_too_coarse() {
    let args = ["measure", "winding", "--bars", "0.04 ohm, 0.04 ohm, 0.04 ohm", "--temperature", "20 degC"];
    let done = Bench::new().run(&args);
    let said = flowing(&done.stdout);
    for words in
        ["can't tell whether the winding is sound", "--current \"2 A\" --drops", "ten seconds at most"]
    {
        assert!(said.contains(words), "{said}");
    }
    assert!(done.stdout.lines().all(|l| l.chars().count() <= 80), "{}", done.stdout);
}

#[test]
fn a_healthy_motor_is_saved_for_others_like_it() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("shop")).unwrap();
    bench.write("shop/shop.yaml", "format: commsense/knowledge/1\nmotors: []\n");
    let args = ["measure", "winding", "--terminals", "95.0 mohm, 96.0 mohm", "--temperature", "20 degC"];
    let shop = ["--save-motor", "own-540", "--slots", "3", "--knowledge", "shop"];
    let done = bench.run(&[&args[..], &shop].concat());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(bench.read("shop/motors/own-540.yaml").contains("resistance: 95 mohm"));
    let args = ["measure", "winding", "--json", "--terminals", "60.0 mohm", "--motor", "own-540"];
    let v = bench.json(&[&args[..], &["--knowledge", "shop"]].concat());
    assert!(v["observations"]["winding-resistance-low"]["low"].as_f64().unwrap() > 0.9, "{v}");
}

#[cfg(unix)]
#[test]
fn a_person_is_led_through_it() {
    use super::common::{Terminal, program::PROGRAM};
    let dumb = [("TERM", "dumb")];
    let mut terminal = Terminal::start(80, 50, std::path::Path::new(PROGRAM), &["measure", "winding"], &dumb);
    for (asked, typed) in [
        ("What do you measure?", "2"),
        ("from each bar to the next", "82 mohm, 83 mohm, open"),
        ("probes pressed together", "10 mohm"),
        ("repeat a reading", "2 %, 1 mohm"),
        ("How warm is the winding", "25 degC"),
    ] {
        terminal.see(asked);
        terminal.press(&format!("{typed}\r"));
    }
    assert!(!terminal.end().success());
    assert!(flowing(&terminal.screen()).contains("pair 3 alone shows no reading"), "{}", terminal.screen());
}

#[test]
fn an_open_coil_found_with_a_meter_leads_the_ranking_of_its_case() {
    let bench = Bench::new();
    let args = ["measure", "winding", "--bars", "100 mohm, 101 mohm, 200 mohm", "--motor", "heron-540-3"];
    let done = bench.run(&[&args[..], &["--temperature", "20 degC", "--case", "ticket.yaml"]].concat());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let v = bench.json(&["triage", "ticket.yaml", "--json"]);
    assert_eq!(v["faults"][0]["id"], "coil-open");
    let (before, after) = (&v["faults"][0]["prior"], &v["faults"][0]["probability"]);
    assert!(after.as_f64().unwrap() > 20.0 * before.as_f64().unwrap(), "{before} {after}");
}
