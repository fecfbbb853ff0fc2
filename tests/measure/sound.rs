//! `commsense measure sound` through the program.

use super::common::program::Bench;
use super::synth::{Click, Recipe, noise, wav};

/// A motor of three bars at 20,100 rpm.
fn forward() -> Recipe {
    Recipe { rate: 16_000, ..Recipe::new(7, 1, 3, 20_100.0) }
}

/// A folder with two recordings: it runs forward in `a.wav`, and at 19,200 rpm in reverse in `b.wav`.
fn bench() -> Bench {
    let bench = Bench::new();
    let reverse = Recipe { way: 2, take: 2, rpm: 19_200.0, ..forward() };
    bench.write("a.wav", forward().wav().0).write("b.wav", reverse.wav().0);
    bench
}

#[test]
fn the_numbers_for_scripts() {
    let bench = bench();
    let v = bench.json(&[
        "measure",
        "sound",
        "--json",
        "--forward",
        "a.wav",
        "--reverse",
        "b.wav",
        "--bars",
        "3",
    ]);
    assert_eq!((v["format"].as_str(), v["test"].as_str()), (Some("commsense/measure/1"), Some("sound")));
    assert_eq!(v["verdict"], "forward-faster");
    let number = |key: &str| v[key].as_f64().unwrap_or(f64::NAN);
    let truth = 20_100.0 / 19_200.0;
    assert!((number("speed_ratio") / truth - 1.0).abs() < 0.002, "{v}");
    assert!(number("low") < number("speed_ratio") && number("speed_ratio") < number("high"), "{v}");
    assert!((number("forward_rpm") / 20_100.0 - 1.0).abs() < 0.003, "{v}");
    assert!((number("reverse_rpm") / 19_200.0 - 1.0).abs() < 0.003, "{v}");
    assert_eq!(v["clicks_per_turn"], 0);
    assert!(v["observations"]["measured-reverse-faster"]["no"].as_f64().unwrap() > 0.99, "{v}");
    assert!(v["readings"]["speed-ratio"].as_str().unwrap().starts_with("1.04"), "{v}");
    assert!(v["limits"].as_array().unwrap().iter().any(|l| l["id"] == "alike-within"));
}

#[test]
fn reverse_faster_and_a_click_reach_the_case() {
    let bench = bench();
    bench.write("click.wav", Recipe { click: Click::PerTurn, ..forward() }.wav().0);
    let args = ["measure", "sound", "--forward", "b.wav", "--reverse", "click.wav", "--bars", "3"];
    let done = bench.run(&[&args[..], &["--rpm", "20 krpm", "--json", "--case", "ticket.yaml"]].concat());
    let v: serde_json::Value = serde_json::from_str(&done.stdout).unwrap();
    assert_eq!((&v["verdict"], &v["clicks_per_turn"]), (&"reverse-faster".into(), &1.into()), "{v}");
    assert!(v["findings"].as_array().unwrap().iter().any(|f| f["fault"] == "timing-reversed"));
    let case = bench.read("ticket.yaml");
    assert!(case.contains("speed-ratio: 0.95") && case.contains("bench-click: per-turn"), "{case}");
    let v = bench.json(&["triage", "ticket.yaml", "--json"]);
    let timing = v["faults"].as_array().unwrap().iter().find(|f| f["id"] == "timing-reversed").unwrap();
    assert!(timing["probability"].as_f64() > timing["prior"].as_f64(), "{timing}");
}

#[test]
fn one_direction_twice_goes_into_no_case() {
    let bench = bench();
    bench.write("again.wav", Recipe { take: 3, ..forward() }.wav().0);
    let v = bench.json(&["measure", "sound", "--forward", "a.wav", "--reverse", "again.wav", "--json"]);
    assert_eq!(v["verdict"], "same-direction", "{v}");
    assert!(v["readings"].as_object().unwrap().is_empty(), "{v}");
}

#[test]
fn a_sheet_for_people() {
    let bench = bench();
    let args = ["measure", "sound", "--forward", "a.wav", "--reverse", "b.wav", "--bars", "3"];
    let done = bench.run(&[&args[..], &["--svg", "tones.svg"]].concat());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(done.stdout.lines().all(|l| l.chars().count() <= 80), "{}", done.stdout);
    insta::assert_snapshot!(done.stdout);
    let svg = bench.read("tones.svg");
    let picture = roxmltree::Document::parse(&svg).unwrap();
    let circles = picture.descendants().filter(|n| n.has_tag_name("circle")).count();
    assert!(circles >= 20, "{circles}");
    assert!(svg.contains("Forward over reverse: 1.04"));
}

#[test]
fn what_is_wrong_is_said() {
    let bench = bench();
    bench.write("noise.wav", wav(&noise(1, 4.0, 16_000, 0.3), 16_000, 1, 16, hound::SampleFormat::Int));
    bench.write("song.wav", b"not a recording at all, whatever its name").write("empty.wav", b"");
    let whole = std::fs::read(bench.path("a.wav")).unwrap();
    bench.write("head.wav", &whole[..44]);
    for (args, code, words) in [
        (&[][..], 2, "--forward is missing"),
        (&["--forward", "a.wav"], 2, "--reverse is missing"),
        (&["--forward", "nowhere.wav", "--reverse", "b.wav"], 1, "can't read `nowhere.wav`"),
        (&["--forward", ".", "--reverse", "b.wav"], 1, "is a folder"),
        (&["--forward", "song.wav", "--reverse", "b.wav"], 1, "no WAV file"),
        (
            &["--forward", "a.wav", "--reverse", "empty.wav"],
            1,
            "the reverse recording, empty.wav: the recording is empty",
        ),
        (&["--forward", "head.wav", "--reverse", "b.wav"], 1, "empty"),
        (&["--forward", "noise.wav", "--reverse", "b.wav"], 1, "no motor tone found"),
        (&["--forward", "a.wav", "--reverse", "a.wav"], 1, "are the same recording"),
        (&["--forward", "a.wav", "--reverse", "b.wav", "--bars", "2.5"], 1, "whole number of bars"),
        (&["--forward", "a.wav", "--reverse", "b.wav", "--bars", "3 V"], 1, "is a voltage"),
        (&["--forward", "a.wav", "--reverse", "b.wav", "--rpm", "3 V"], 1, "is a voltage"),
        (&["--forward", "a.wav", "--reverse", "b.wav", "--rpm", "0 rpm"], 1, "above 0"),
        (&["--forward", "a.wav", "--reverse", "b.wav", "--rpm", "20000"], 1, "--rpm"),
    ] {
        let done = bench.run(&[&["measure", "sound"], args].concat());
        assert_eq!((done.code, done.stdout.as_str()), (Some(code), ""), "{args:?}: {}", done.stderr);
        let said = super::common::program::flowing(&done.stderr);
        assert!(said.contains(words), "{args:?}: {}", done.stderr);
    }
    // Cut in the middle, it is used and said.
    bench.write("half.wav", &whole[..whole.len() / 2]);
    let v = bench.json(&["measure", "sound", "--forward", "half.wav", "--reverse", "b.wav", "--json"]);
    let warned =
        v["warnings"].as_array().unwrap().iter().any(|w| w.as_str().unwrap().contains("cut short: 50 %"));
    assert!(warned, "{v}");
}
