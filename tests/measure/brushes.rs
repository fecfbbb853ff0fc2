//! `commsense measure brushes` through the program.
#![allow(clippy::unwrap_used)]

use serde_json::Value;

use super::common::program::Bench;
use super::{measured, refused};

fn words(v: &Value) -> Vec<&str> {
    v["findings"].as_array().unwrap().iter().map(|f| f["word"].as_str().unwrap()).collect()
}

#[track_caller]
fn near(v: &Value, want: f64) {
    let got = v.as_f64().unwrap_or(f64::NAN);
    assert!((got - want).abs() <= 1e-3 * want.abs(), "{v} not {want}");
}

#[test]
fn the_numbers_for_scripts() {
    let v = measured(
        "brushes",
        &[
            "--length",
            "6.1 mm,5.8 mm",
            "--new",
            "8 mm",
            "--hours",
            "12",
            "--spring",
            "0.7 N",
            "--face",
            "4 mm x 5 mm",
        ],
    );
    assert_eq!((v["test"].as_str(), v["verdict"].as_str()), (Some("brushes"), Some("keep")));
    // 2.2 mm in 12 h; 0.8 mm more to the least of about 5 mm (common practice); 0.7 N on 20 mm2 (arithmetic).
    near(&v["wear_mm_per_h"], 2.2 / 12.0);
    near(&v["hours_left"], 0.8 / 2.2 * 12.0);
    near(&v["pressure_kPa"], 35.0);
    let (low, high) = (v["hours_left_low"].as_f64().unwrap(), v["hours_left_high"].as_f64().unwrap());
    assert!(low > 2.0 && low < 4.0 && high > 5.0 && high < 12.0, "{low} to {high}");
    assert_eq!(v["minimum_mm"].as_f64(), Some(5.0));
    assert_eq!(v["readings"]["brush-length"], "5.8 mm ± 0.1 mm");
    assert!(v["observations"]["brush-length"]["good"].as_f64().unwrap() > 0.9);
    near(&v["observations"]["brush-wear-uneven"]["even"], 1.0);
    let minimum = v["limits"].as_array().unwrap().iter().find(|l| l["id"] == "minimum").unwrap();
    assert_eq!(
        (&minimum["value"], &minimum["unit"], &minimum["basis"]),
        (&5.0.into(), &"mm".into(), &"common practice".into())
    );
}

#[test]
fn short_brushes_are_replaced() {
    // Shorter than about 5 mm (common practice).
    let v = measured("brushes", &["--length", "4.4 mm, 4.6 mm", "--new", "8 mm", "--hours", "30 h"]);
    assert_eq!(v["verdict"], "replace");
    assert_eq!((v["hours_left"].as_f64(), words(&v)[0]), (Some(0.0), "worn"));
    assert!(v["observations"]["brush-length"]["below-limit"].as_f64().unwrap() > 0.99);
    // The maker's own limit comes before it.
    let own = measured("brushes", &["--length", "4.4 mm, 4.6 mm", "--minimum", "4 mm"]);
    assert_eq!((own["verdict"].as_str(), words(&own).contains(&"near-end")), (Some("keep"), true));
}

#[test]
fn at_the_limit_the_caliper_cannot_tell() {
    let v = measured("brushes", &["--length", "5.05 mm"]);
    let said = v["warnings"].to_string();
    assert!(said.contains("can't tell on which side"), "{said}");
    assert!((v["chance_below_minimum"].as_f64().unwrap() - 0.31).abs() < 0.01);
    let clear = measured("brushes", &["--length", "6 mm"]);
    assert_eq!(clear["warnings"], serde_json::json!([]));
}

#[test]
fn an_uneven_pair_is_named() {
    let v = measured("brushes", &["--length", "7.0 mm, 5.6 mm"]);
    assert!(words(&v).contains(&"uneven"), "{v}");
    near(&v["observations"]["brush-wear-uneven"]["uneven"], 1.0);
    // Half a millimetre apart is neither for a caliper of 0.1 mm.
    let v = measured("brushes", &["--length", "6.5 mm, 6.0 mm"]);
    assert!(v["observations"].get("brush-wear-uneven").is_none());
    assert!(v["warnings"].to_string().contains("unevenly"));
}

#[test]
fn pressure_stands_against_what_is_published() {
    let found = |spring: &str| {
        let v = measured("brushes", &["--length", "7 mm", "--spring", spring, "--face", "4 x 5 mm"]);
        words(&v).into_iter().filter(|w| w.starts_with("pressure")).map(String::from).collect::<Vec<_>>()
    };
    // 1.5 to 8 psi (10.34 to 55.2 kPa) for all machines, about 4 psi below one horsepower: NAVEDTRA 14120.
    // A floor: hobby springs run above it (common practice), which is no finding.
    assert_eq!(found("1.2 N"), Vec::<String>::new());
    assert_eq!(found("0.6 N"), Vec::<String>::new());
    assert_eq!(found("0.5 N"), ["pressure-low"]);
    assert_eq!(found("0.2 N"), ["pressure-very-low"]);
}

#[test]
fn springs_are_compared_with_each_other_and_with_new_ones() {
    let v = measured("brushes", &["--motor", "heron-540-3", "--length", "7 mm", "--spring", "0.9 N, 0.6 N"]);
    assert!(words(&v).contains(&"weak-spring") && words(&v).contains(&"springs-unequal"), "{v}");
    assert_eq!(v["readings"]["spring-force"], "0.6 N ± 0.042 N");
    let v = measured("brushes", &["--length", "7 mm", "--spring", "0.9 N, 0.85 N"]);
    assert_eq!(words(&v), [""; 0]);
    assert!(v["readings"].get("spring-force").is_none(), "without the motor's own spring it tells nothing");
}

#[test]
fn current_density_is_no_fault() {
    let v = measured("brushes", &["--length", "7 mm", "--current", "10 A", "--face", "4 mm x 5 mm"]);
    // 10 A through 4 x 5 mm: 50 A/cm2, above any published continuous band (arithmetic).
    near(&v["density_A_per_cm2"], 50.0);
    let high = v["findings"].as_array().unwrap().iter().find(|f| f["word"] == "density-high").unwrap();
    assert!(high["fault"].is_null());
}

#[test]
fn no_wear_yet_has_no_end() {
    let v = measured("brushes", &["--length", "8 mm, 8 mm", "--new", "8 mm", "--hours", "2"]);
    assert!(v["hours_left"].is_null() && v["hours_left_high"].is_null());
    assert!(v["hours_left_low"].as_f64().unwrap() > 10.0);
    assert!(v["says"].as_str().unwrap().contains("no wear can be measured"));
}

#[test]
fn a_sheet_for_people() {
    let args =
        ["measure", "brushes", "--motor", "heron-540-3", "--length", "6.1 mm, 5.4 mm", "--hours", "12"];
    let more = ["--spring", "0.8 N, 0.6 N", "--face", "4 mm x 5 mm", "--current", "10 A"];
    let done = Bench::new().run(&[&args[..], &more].concat());
    assert!(done.stdout.lines().all(|l| l.chars().count() <= 80), "{}", done.stdout);
    insta::assert_snapshot!(done.stdout);
}

#[test]
fn what_is_wrong_is_said() {
    for (args, code, words) in [
        (&[][..], 2, "--length is missing"),
        (&["--length", "6 V"], 1, "`6 V` is a voltage"),
        (&["--length", "6"], 1, "has no unit"),
        (&["--length", "6 mm, 0 mm"], 1, "above zero"),
        (&["--length", "-6 mm"], 1, "must be above zero"),
        (&["--length=-6 mm"], 1, "above zero"),
        (&["--length", "NaN mm"], 1, "is not a number"),
        (&["--length", "9 mm", "--new", "8 mm"], 1, "a brush cannot grow"),
        (&["--length", "6 mm", "--new", "4 mm"], 1, "at its minimum of 5.00 mm already"),
        (&["--length", "6 mm", "--hours", "12"], 2, "needs the length of a new brush"),
        (&["--length", "6 mm", "--new", "8 mm", "--hours", "0"], 1, "running time must be above zero"),
        (&["--length", "6 mm", "--new", "8 mm", "--hours", "inf"], 1, "no possible number"),
        (&["--length", "6 mm", "--new", "8 mm", "--hours", "soon"], 1, "--hours:"),
        (&["--length", "6 mm", "--spring", "70 g"], 1, "is a mass"),
        (&["--length", "6 mm", "--spring", "0 N"], 1, "above zero"),
        (&["--length", "6 mm", "--spring", "1 N", "--face", "4 mm"], 1, "both sides of the face"),
        (&["--length", "6 mm", "--spring", "1 N", "--face", "4 mm x 0 mm"], 1, "above zero"),
        (&["--length", "6 mm", "--face", "4 mm x 5 mm"], 2, "--face alone tells nothing"),
        (&["--length", "1e308 mm, 6 mm"], 1, "measure"),
    ] {
        if words == "measure" {
            // Absurd and yet a number: it must end in order, whatever it says.
            let done = Bench::new().run(&[&["measure", "brushes"], args].concat());
            assert!(matches!(done.code, Some(0 | 1)), "{done:?}");
            continue;
        }
        refused("brushes", args, code, words);
    }
}

#[test]
fn the_result_goes_into_a_case() {
    let bench = Bench::new();
    let args = ["measure", "brushes", "--motor", "heron-540-3", "--length", "4.2 mm, 4.4 mm"];
    let done = bench.run(&[&args[..], &["--case", "ticket.yaml"]].concat());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let v = bench.json(&["triage", "ticket.yaml", "--json"]);
    assert_eq!(v["faults"][0]["id"], "brush-worn");
}

#[test]
fn it_can_be_talked_through() {
    let lines = ["6.1 mm, 5.8 mm", "8 mm", "12", "0.7 N", "d", "4 mm x 5 mm"];
    let done = Bench::new().talk(&["measure", "brushes", "--line"], &lines);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(done.stderr.contains("Springs fly") && done.stdout.contains("35 kPa"), "{}", done.stdout);
}

#[test]
fn a_healthy_motor_is_saved_with_its_brushes() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("shop")).unwrap();
    bench.write("shop/ours.yaml", "format: commsense/knowledge/1\n");
    let args = ["measure", "brushes", "--length", "8 mm, 8 mm", "--new", "8 mm", "--spring", "0.95 N"];
    let done =
        bench.run(&[&args[..], &["--save-motor", "mine", "--slots", "3", "--knowledge", "shop"]].concat());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let saved = bench.read("shop/motors/mine.yaml");
    assert!(saved.contains("brush-length-new: 8 mm") && saved.contains("spring-force: 0.95 N"), "{saved}");
}
