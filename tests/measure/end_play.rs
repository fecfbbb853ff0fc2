//! `commsense measure end-play` through the program.
#![allow(clippy::unwrap_used)]

use serde_json::{Value, json};

use super::common::program::Bench;
use super::{measured, refused};

const DRAWER: &str = "0.1 mm x4,0.2 mm x4,0.5 mm x2";

fn words(v: &Value) -> Vec<&str> {
    v["findings"].as_array().unwrap().iter().map(|f| f["word"].as_str().unwrap()).collect()
}

#[test]
fn the_numbers_for_scripts() {
    let v = measured(
        "end-play",
        &[
            "--can",
            "33.4 mm",
            "--stack",
            "31.8 mm",
            "--found",
            "0.5 mm,0.1 mm",
            "--drawer",
            DRAWER,
            "--want",
            "0.2 mm",
        ],
    );
    // 1.6 mm of room less 0.6 mm of shims (arithmetic); of 1.4 mm of shims, 0.5 + 0.2 mm on each side.
    assert_eq!(
        (v["play_mm"].as_f64(), v["room_mm"].as_f64(), v["verdict"].as_str()),
        (Some(1.0), Some(1.6), Some("reshim"))
    );
    assert_eq!(
        v["sets"],
        json!([{"bell_side": [0.5, 0.2], "can_side": [0.5, 0.2], "pieces": 4, "play_mm": 0.2, "offset_mm": 0.0,
                "overrun_mm": 0.0}])
    );
    assert_eq!((&v["ties"], &v["reach"]), (&json!(1), &json!("all")));
    assert_eq!(words(&v), ["loose"]);
    assert!(v["observations"]["end-play-large"]["yes"].as_f64().unwrap() > 0.99);
}

#[test]
fn every_set_keeps_to_the_drawer_and_to_the_play() {
    let v = measured(
        "end-play",
        &[
            "--can",
            "33.85 mm",
            "--stack",
            "31.8 mm",
            "--drawer",
            "0.05 mm x3, 0.1 mm x4, 0.2 mm x4, 0.3 mm x2",
            "--want",
            "0.15 mm",
        ],
    );
    assert!(v["play_mm"].is_null());
    let sets = v["sets"].as_array().unwrap();
    assert!(!sets.is_empty() && sets.len() as u64 <= v["ties"].as_u64().unwrap());
    for set in sets {
        let side = |key: &str| -> Vec<f64> {
            set[key].as_array().unwrap().iter().map(|t| t.as_f64().unwrap()).collect()
        };
        let all = [side("bell_side"), side("can_side")].concat();
        let sum: f64 = all.iter().sum();
        let play = set["play_mm"].as_f64().unwrap();
        assert!((2.05 - sum - play).abs() < 1e-9 && (play - 0.15).abs() <= 0.05 + 1e-9, "{set}");
        for (thickness, most) in [(0.05, 3), (0.1, 4), (0.2, 4), (0.3, 2)] {
            assert!(all.iter().filter(|t| **t == thickness).count() <= most, "{set}");
        }
        assert_eq!(set["pieces"], json!(all.len()));
    }
}

#[test]
fn all_ties_are_shown_both_ways_round() {
    let v = measured(
        "end-play",
        &["--can", "33.1 mm", "--stack", "31.8 mm", "--drawer", DRAWER, "--want", "0.2 mm"],
    );
    let sides: Vec<_> = v["sets"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| (s["bell_side"].clone(), s["can_side"].clone()))
        .collect();
    assert_eq!(sides, [(json!([0.5]), json!([0.5, 0.1])), (json!([0.5, 0.1]), json!([0.5]))]);
    assert_eq!(v["ties"], 2);
}

#[test]
fn play_that_is_right_is_left_alone() {
    let v = measured(
        "end-play",
        &["--can", "33.4 mm", "--stack", "31.8 mm", "--found", "0.5 mm x2, 0.2 mm x2", "--want", "0.2 mm"],
    );
    assert_eq!((v["verdict"].as_str(), v["play_mm"].as_f64()), (Some("keep"), Some(0.2)));
    // Centred matters as much, where it is known.
    let off = measured(
        "end-play",
        &[
            "--can",
            "33.4 mm",
            "--stack",
            "31.8 mm",
            "--bell-side-now",
            "0.5 mm x2, 0.2 mm x2",
            "--can-side-now",
            "none",
            "--offset-now",
            "0.7 mm",
            "--want",
            "0.2 mm",
        ],
    );
    assert_eq!(off["verdict"], "reshim");
    assert_eq!(
        (&off["sets"][0]["bell_side"], &off["sets"][0]["can_side"]),
        (&json!([0.5, 0.2]), &json!([0.5, 0.2]))
    );
}

#[test]
fn the_play_measured_gives_the_room() {
    let v = measured(
        "end-play",
        &["--play", "0.62 mm", "--found", "0.5 mm x2", "--drawer", DRAWER, "--motor", "heron-540-3"],
    );
    assert_eq!((v["room_mm"].as_f64(), v["wanted_mm"].as_f64()), (Some(1.62), Some(0.2)));
    assert_eq!(v["readings"]["end-play"], "0.62 mm ± 0.015 mm");
}

#[test]
fn magnets_and_track_are_minded() {
    let base = ["--can", "33.4 mm", "--stack", "31.8 mm", "--drawer", DRAWER, "--want", "0.2 mm"];
    let v =
        measured("end-play", &[&base[..], &["--magnet-centre", "17 mm", "--core-centre", "16 mm"]].concat());
    assert_eq!(
        (&v["sets"][0]["bell_side"], &v["sets"][0]["can_side"]),
        (&json!([0.5, 0.2, 0.2]), &json!([0.5]))
    );
    let now = ["--bell-side-now", "0.5 mm", "--can-side-now", "0.5 mm"];
    let tight = ["--track-bell-side", "0.05 mm", "--track-can-side", "0.05 mm"];
    let v = measured("end-play", &[&base[..], &now, &tight].concat());
    assert_eq!((v["reach"].as_str(), words(&v).contains(&"off-track")), (Some("off-track"), true));
    assert_eq!(v["sets"][0]["overrun_mm"].as_f64(), Some(0.05), "half of 0.2 mm of play less 0.05 mm");
}

#[test]
fn what_cannot_be_reached_is_said_with_the_nearest() {
    let v = measured(
        "end-play",
        &["--can", "36 mm", "--stack", "31.8 mm", "--drawer", DRAWER, "--want", "0.2 mm"],
    );
    assert_eq!((v["verdict"].as_str(), v["reach"].as_str()), (Some("out-of-reach"), Some("out-of-reach")));
    assert_eq!(v["sets"][0]["play_mm"].as_f64(), Some(2.0));
    assert!(v["says"].as_str().unwrap().contains("the nearest leaves 2 mm"));
}

#[test]
fn without_a_drawer_it_says_what_is_wanted() {
    // 1.6 mm of room less 0.2 mm of play; the core 0.1 mm too far to the can moves back by 0.2 mm of shims.
    let v = measured(
        "end-play",
        &[
            "--can",
            "33.4 mm",
            "--stack",
            "31.8 mm",
            "--bell-side-now",
            "0.5 mm",
            "--can-side-now",
            "0.5 mm",
            "--offset-now",
            "0.1 mm",
            "--want",
            "0.2 mm",
        ],
    );
    assert_eq!((v["ideal_bell_mm"].as_f64(), v["ideal_can_mm"].as_f64()), (Some(0.6), Some(0.8)));
    assert_eq!((v["verdict"].as_str(), words(&v)), (Some("reshim"), vec!["loose", "no-drawer"]));
    assert!(v["says"].as_str().unwrap().contains("0.6 mm of shims at the end bell and 0.8 mm at the can"));
}

#[test]
fn the_result_goes_into_a_case() {
    let bench = Bench::new();
    let args = ["measure", "end-play", "--can", "33.4 mm", "--stack", "31.8 mm", "--found", "0.5 mm"];
    let done = bench.run(&[&args[..], &["--case", "ticket.yaml"]].concat());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let v = bench.json(&["triage", "ticket.yaml", "--json"]);
    let loose = v["faults"].as_array().unwrap().iter().position(|f| f["id"] == "shims-too-loose");
    assert!(loose.is_some_and(|at| at < 3), "{loose:?}");
}

#[test]
fn it_can_be_talked_through() {
    let lines =
        ["none", "none", "d", "33.4 mm", "31.8 mm", "0.1 mm x4, 0.2 mm x4, 0.5 mm x2", "0.2 mm", "d", "d"];
    let done = Bench::new().talk(&["measure", "end-play", "--line"], &lines);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(done.stderr.contains("CAUTION") && done.stdout.contains("0.5 + 0.2 mm"), "{}", done.stdout);
    assert!(!done.stdout.contains("CAUTION"), "cautions were given before the questions");
}

#[test]
fn shims_thicker_than_the_room_bind() {
    let v = measured(
        "end-play",
        &["--can", "33 mm", "--stack", "31.8 mm", "--found", "0.5 mm x3", "--drawer", DRAWER],
    );
    assert_eq!((words(&v)[0], v["play_mm"].as_f64()), ("binds", Some(-0.3)));
    assert!(v["observations"]["end-play-none"]["yes"].as_f64().unwrap() > 0.9);
}

#[test]
fn a_sheet_for_people() {
    let args = ["measure", "end-play", "--motor", "heron-540-3", "--can", "33.4 mm", "--stack", "31.9 mm"];
    let now = ["--bell-side-now", "0.5 mm, 0.1 mm", "--can-side-now", "0.2 mm", "--offset-now", "0.1 mm"];
    let more = ["--drawer", DRAWER, "--track-bell-side", "0.8 mm", "--track-can-side", "0.6 mm"];
    let done = Bench::new().run(&[&args[..], &now, &more].concat());
    assert!(done.stdout.lines().all(|l| l.chars().count() <= 80), "{}", done.stdout);
    insta::assert_snapshot!(done.stdout);
}

#[test]
fn what_is_wrong_is_said() {
    let both = ["--can", "33.4 mm", "--stack", "31.8 mm"];
    for (args, code, words) in [
        (&[][..], 2, "--can is missing"),
        (&["--can", "33.4 mm"], 2, "--stack is missing"),
        (&["--can", "33.4 V", "--stack", "31.8 mm"], 1, "is a voltage"),
        (&["--can", "31 mm", "--stack", "31.8 mm"], 1, "only 31.00 mm deep"),
        (&["--can", "31.8 mm", "--stack", "31.8 mm"], 1, "above zero"),
        (&["--can", "9999 m", "--stack", "31.8 mm"], 1, "no possible length"),
        (&["--can", "32 mm", "--stack=-31.8 mm"], 1, "above zero"),
        (&["--play", "0.2 mm"], 2, "give --found too"),
        (
            &["--can", "33.4 mm", "--stack", "31.8 mm", "--play", "0.2 mm", "--found", "0.5 mm"],
            1,
            "contradict each other",
        ),
        (&[both[0], both[1], both[2], both[3], "--drawer", "0.1"], 1, "has no unit"),
        (&[both[0], both[1], both[2], both[3], "--drawer", "0.1 mm x many"], 1, "how many"),
        (&[both[0], both[1], both[2], both[3], "--drawer", "0 mm x4"], 1, "no possible shim"),
        (&[both[0], both[1], both[2], both[3], "--want", "0 mm"], 1, "above zero"),
        (&[both[0], both[1], both[2], both[3], "--tolerance=-1 mm"], 1, "zero or more"),
        (&[both[0], both[1], both[2], both[3], "--offset-now", "0.1 mm"], 2, "--bell-side-now"),
        (&[both[0], both[1], both[2], both[3], "--bell-side-now", "0.5 mm"], 2, "both sides"),
        (&[both[0], both[1], both[2], both[3], "--magnet-centre", "17 mm"], 2, "belong together"),
        (&[both[0], both[1], both[2], both[3], "--track-bell-side", "1 mm"], 2, "--bell-side-now"),
        (
            &[
                both[0],
                both[1],
                both[2],
                both[3],
                "--found",
                "0.5 mm",
                "--bell-side-now",
                "0.5 mm",
                "--can-side-now",
                "0.1 mm",
            ],
            1,
            "contradict each other",
        ),
        (&["--can", "40 mm", "--stack", "31.8 mm", "--drawer", "0.01 mm x500"], 1, "250 at most"),
        (
            &[
                "--can",
                "900 mm",
                "--stack",
                "31.8 mm",
                "--drawer",
                "9.999 mm x50, 9.998 mm x50, 9.997 mm x50",
            ],
            1,
            "more than can be searched",
        ),
    ] {
        refused("end-play", args, code, words);
    }
}
