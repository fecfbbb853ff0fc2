//! `commsense measure no-load` through the program.

use super::{measured, refused};
use crate::common::program::Bench;
use serde_json::Value;

/// A point and the resistance of the motor whose figures follow from the model.
const POINT: [&str; 4] = ["--point", "7.2 V,2.0 A,20000 rpm", "--resistance", "0.1 ohm"];

#[track_caller]
fn near(value: &Value, wanted: f64, relative: f64) {
    let got = value.as_f64().unwrap_or_else(|| panic!("{value} is no number"));
    assert!((got - wanted).abs() <= relative * wanted.abs(), "{got} is not {wanted}");
}

#[test]
fn the_numbers_for_scripts() {
    // 7.2 V, 0.100 ohm, 2.00 A, 20 000 rpm: follows from V = I R + Ke w, T = Ke (I - I0).
    let v = measured("no-load", &POINT);
    assert_eq!((v["test"].as_str(), v["verdict"].as_str()), (Some("no-load"), Some("measured")));
    near(&v["ke_V_s_per_rad"]["value"], 0.00334225, 1e-5);
    near(&v["kv_rpm_per_V"]["value"], 2857.14, 1e-5);
    near(&v["r_ohm"]["value"], 0.1, 1e-9);
    near(&v["drag_Nm"]["value"], 0.0066845, 1e-5);
    near(&v["stall_A"]["value"], 72.0, 1e-9);
    near(&v["stall_Nm"]["value"], 0.233958, 1e-5);
    near(&v["stall_gross_Nm"]["value"], 0.240642, 1e-5);
    for (key, wanted) in [
        ("best_efficiency", [12.0, 17_142.86, 0.0334225, 60.0, 0.694444]),
        ("peak_power", [37.0, 10_000.0, 0.116979, 122.5, 0.459835]),
    ] {
        for (unit, wanted) in ["A", "rpm", "Nm", "W", "fraction"].into_iter().zip(wanted) {
            let figure = &v[key][unit];
            near(&figure["value"], wanted, 1e-5);
            let (low, high) = (figure["low"].as_f64().unwrap(), figure["high"].as_f64().unwrap());
            assert!(low < wanted && wanted < high, "{key} {unit}: {figure}");
        }
    }
    // The published ordering: most output is slower than best efficiency, and that slower than unloaded.
    let rpm = |key: &str| v[key]["rpm"]["value"].as_f64().unwrap();
    assert!(rpm("peak_power") < rpm("best_efficiency") && rpm("best_efficiency") < 20_000.0);
    // One point separates neither brush drop nor the two kinds of friction, and that is said.
    assert_eq!((&v["brush_drop_V"], &v["drag_at_rest_Nm"]), (&Value::Null, &Value::Null));
    assert_eq!(v["findings"][0]["word"], "one-point");
    assert!(v["cautions"].as_array().unwrap().iter().any(|c| c["id"] == "bench-supply"));
}

#[test]
fn two_voltages_tell_drop_and_frictions_apart() {
    // Readings of a motor with Ke 0.0033, 0.1 ohm, a drop of 0.25 V, drag 4 mNm + 1.2e-6 Nm s/rad.
    let v = measured(
        "no-load",
        &[
            "--point",
            "3.6 V,1.554 A,9243 rpm",
            "--point",
            "7.2 V,1.939 A,19550 rpm",
            "--resistance",
            "100 mohm",
        ],
    );
    near(&v["ke_V_s_per_rad"]["value"], 0.0033, 2e-3);
    near(&v["brush_drop_V"]["value"], 0.25, 0.1);
    near(&v["drag_at_rest_Nm"]["value"], 0.004, 0.02);
    near(&v["drag_per_speed_Nm_s_per_rad"]["value"], 1.2e-6, 0.05);
    assert_eq!(v["findings"], serde_json::json!([]));
}

#[test]
fn figures_are_brought_to_the_motors_own_voltage() {
    // The listed motor measured at 6 V: 0.2 V fall on 0.1 ohm, so 7.0/5.8 times the speed at 7.2 V.
    let v = measured("no-load", &["--motor", "heron-540-3", "--point", "6 V, 2 A, 16571 rpm"]);
    assert_eq!((v["verdict"].as_str(), v["volts_V"].as_f64()), (Some("as-listed"), Some(7.2)));
    near(&v["no_load_rpm"]["value"], 20_000.0, 1e-4);
    assert!(v["readings"]["no-load-speed"].as_str().unwrap().starts_with("20000 rpm ±"), "{}", v["readings"]);
    let normal = |id: &str| v["observations"][id]["no"].as_f64().unwrap();
    assert!(normal("no-load-speed-low") > 0.9 && normal("no-load-current-high") > 0.99);
    // At another voltage than the motor's own the figures are no readings.
    let v =
        measured("no-load", &["--motor", "heron-540-3", "--volts", "6 V", "--point", "6 V,2 A,16571 rpm"]);
    assert_eq!((v["readings"].clone(), v["verdict"].as_str()), (serde_json::json!({}), Some("measured")));
}

/// Free-run test of a starter (US Army TM 10-3930-671-24): low speed with high current is friction or a
/// shorted armature.
#[test]
fn patterns_have_their_words() {
    let word = |point: &str| {
        let v = measured("no-load", &["--motor", "heron-540-3", "--point", point]);
        (v["verdict"].as_str().unwrap().to_owned(), v["findings"][0]["word"].as_str().unwrap().to_owned())
    };
    for (point, verdict, first) in [
        ("7.2 V,2 A,20000 rpm", "as-listed", "both-near"),
        ("7.2 V,4 A,15000 rpm", "off", "slow-much-current"),
        ("7.2 V,3.4 A,24000 rpm", "off", "fast-much-current"),
        ("7.2 V,1.1 A,15000 rpm", "off", "slow-little-current"),
        ("7.2 V,2 A,15000 rpm", "off", "slow"),
        ("7.2 V,3.4 A,20000 rpm", "off", "much-current"),
    ] {
        assert_eq!(word(point), (verdict.to_owned(), first.to_owned()), "{point}");
    }
}

#[test]
fn forward_over_reverse_is_a_reading_of_its_own() {
    let v = measured("no-load", &[&POINT[..], &["--reverse-point", "7.2 V,2.1 A,21300 rpm"]].concat());
    near(&v["speed_ratio"]["value"], 20_000.0 / 21_300.0, 3e-3);
    let faster = &v["observations"]["measured-reverse-faster"];
    assert!(faster["clearly"].as_f64().unwrap() + faster["slightly"].as_f64().unwrap() > 0.99, "{faster}");
}

#[test]
fn without_resistance_speed_is_still_told() {
    let v = measured("no-load", &["--point", "7.2 V,2.0 A,20000 rpm"]);
    assert_eq!((&v["stall_A"], &v["peak_power"], &v["r_ohm"]), (&Value::Null, &Value::Null, &Value::Null));
    near(&v["no_load_rpm"]["value"], 20_000.0, 1e-9);
    assert!(v["findings"].as_array().unwrap().iter().any(|f| f["word"] == "no-resistance"));
    // A held shaft shows it: 2 V and 20 A are 0.1 ohm.
    let v = measured("no-load", &["--point", "7.2 V,2.0 A,20000 rpm", "--loaded-point", "2 V,20 A,0 rpm"]);
    near(&v["r_ohm"]["value"], 0.1, 1e-6);
    assert_eq!(v["resistance_from"], "points");
}

#[test]
fn a_sheet_for_people() {
    let done = Bench::new().run(&[
        "measure",
        "no-load",
        "--motor",
        "heron-540-3",
        "--point",
        "7.2 V,2.9 A,17000 rpm",
        "--point",
        "3.6 V,2.6 A,8200 rpm",
        "--reverse-point",
        "7.2 V,2.9 A,16500 rpm",
    ]);
    assert!(done.stdout.lines().all(|l| l.chars().count() <= 80), "{}", done.stdout);
    insta::assert_snapshot!(done.stdout);
}

#[test]
fn the_curves_are_written_as_svg() {
    let bench = Bench::new();
    let done = bench.run(&[&["measure", "no-load", "--svg", "curves.svg"], &POINT[..]].concat());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let svg = bench.read("curves.svg");
    let document = roxmltree::Document::parse(&svg).unwrap();
    let words: Vec<&str> = document.descendants().filter_map(|n| n.text()).collect();
    assert!(words.iter().any(|w| w.contains("best 69.4 %")), "{words:?}");
}

#[test]
fn the_result_goes_into_a_case() {
    let bench = Bench::new();
    let done = bench.run(&[
        "measure",
        "no-load",
        "--motor",
        "heron-540-3",
        "--point",
        "7.2 V,5.5 A,13000 rpm",
        "--reverse-point",
        "7.2 V,5.5 A,13000 rpm",
        "--case",
        "ticket.yaml",
    ]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let text = bench.read("ticket.yaml");
    assert!(text.contains("no-load-current: 5.5 A ±") && text.contains("speed-ratio: 1"), "{text}");
    let v = bench.json(&["triage", "ticket.yaml", "--json"]);
    let healthy = v["healthy"].as_f64().unwrap();
    assert!(healthy < 0.05, "{healthy}");
}

/// An aerial lift's motor manual asks for less than a fifth of full load; here the limit is a judgement.
#[test]
fn a_motor_that_idles_high_is_told_apart_without_a_list() {
    let words = |point: &str| {
        let v = measured("no-load", &["--point", point, "--resistance", "0.1 ohm"]);
        let all = v["findings"].as_array().unwrap();
        all.iter().any(|f| f["word"] == "idle-share-high")
    };
    assert!(!words("7.2 V,2 A,20000 rpm") && words("7.2 V,12 A,15000 rpm"));
}

#[test]
fn a_healthy_motor_is_saved_and_measured_against() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("shop")).unwrap();
    bench.write("shop/own.yaml", "format: commsense/knowledge/1\nsources: []\n");
    let args = ["--point", "7.2 V,1.5 A,16000 rpm", "--resistance", "0.15 ohm", "--knowledge", "shop"];
    let saved =
        bench.run(&[&["measure", "no-load", "--save-motor", "wren", "--slots", "3"], &args[..]].concat());
    assert_eq!(saved.code, Some(0), "{}", saved.stderr);
    let v = bench.json(&[
        "measure",
        "no-load",
        "--json",
        "--motor",
        "wren",
        "--point",
        "7.2 V,1.5 A,12000 rpm",
        "--knowledge",
        "shop",
    ]);
    assert_eq!((v["verdict"].as_str(), v["findings"][0]["word"].as_str()), (Some("off"), Some("slow")));
    near(&v["r_ohm"]["value"], 0.15, 1e-9);
}

#[test]
fn a_person_is_led_through_it() {
    let lines = [
        "7.2 V, 2.0 A",
        "7.2 V, 2.0 A, 20000 rpm",
        "3.6 V, 1.8 A, 9700 rpm",
        "7.2 V, 2.1 A, 19200 rpm",
        "0.1 ohm",
    ];
    let done = Bench::new().talk(&["measure", "no-load", "--line"], &lines);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(done.stdout.contains("Measured: 20000 rpm and 2 A unloaded at 7.2 V."), "{}", done.stdout);
    assert!(
        done.stdout.contains("Brush drop, both") && done.stdout.contains("Forward over reverse"),
        "{}",
        done.stdout
    );
    assert!(done.stderr.contains("lacks the speed"), "{}", done.stderr);
    // The cautions stand before the first question.
    let place = |words: &str| done.stderr.find(words).unwrap_or_else(|| panic!("{words}: {}", done.stderr));
    assert!(place("CAUTION") < place("with nothing on the shaft?"), "{}", done.stderr);
}

#[test]
fn what_is_wrong_is_said() {
    let known = ["--resistance", "0.1 ohm"];
    for (args, code, words) in [
        (&[][..], 2, "--point is missing"),
        (&["--point", "7.2 V,2.0 A"], 1, "lacks the speed"),
        (&["--point", "7.2 V,2 ohm,20000 rpm"], 1, "`2 ohm` is a resistance"),
        (&["--point", "0 V,2 A,20000 rpm"], 1, "the voltage is 0; it must be a number above 0"),
        (&["--point", "7.2 V,2 A,-20000 rpm"], 1, "must be a number above 0"),
        (&["--point", "7.2 V,2 A,20000 rpm", "--resistance", "5 ohm"], 1, "drops 10.00 V, but only 7.20 V"),
        (&["--point", "7.2 V,2 A,20000 rpm", "--resistance", "5 V"], 1, "`5 V` is a voltage"),
        (&["--point", "7.2 V,2 A,20000 rpm, 3 mNm"], 1, "a torque belongs to --loaded-point"),
        (&["--point", "7.2 V,2 A,20000 rpm", "--speed-meter", "90 %"], 1, "between 0 and 50 %"),
        (&["--point", "7.2 V,2 A,20000 rpm", "--volts", "nan V"], 1, "nan V"),
        (&["--reverse-point", "7.2 V,2 A,20000 rpm"], 2, "--point is missing"),
    ] {
        refused("no-load", args, code, words);
    }
    for (points, words) in [
        (["3.6 V,1.8 A,20000 rpm", "7.2 V,2 A,9000 rpm"], "does not rise with the voltage"),
        (["3.6 V,3 A,9500 rpm", "7.2 V,1.5 A,20000 rpm"], "current falls when the speed rises"),
        (["3.6 V,0.5 A,9500 rpm", "7.2 V,2 A,20000 rpm"], "friction at rest would be negative"),
        (["3.6 V,1.8 A,12000 rpm", "7.2 V,2 A,20000 rpm"], "above the supply"),
    ] {
        let args = [&["--point", points[0], "--point", points[1]], &known[..]].concat();
        refused("no-load", &args, 1, words);
    }
    let args = [&POINT[..], &["--loaded-point", "7.2 V,12 A,17000 rpm,60 mNm"]].concat();
    refused("no-load", &args, 1, "efficiency above 1 does not exist");
}
