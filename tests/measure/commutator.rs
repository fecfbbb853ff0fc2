//! `commsense measure commutator` through the program.

use super::common::program::Bench;
use super::{measured, refused};

#[test]
fn the_numbers_for_scripts() {
    // 7.5 mm commutators are retired below 6.86 mm: common practice.
    let v = measured("commutator", &["--nominal", "7.5 mm", "--diameter", "7.31 mm", "--cut", "0.05 mm"]);
    assert_eq!(v["format"], "commsense/measure/1");
    assert_eq!((v["test"].as_str(), v["verdict"].as_str()), (Some("commutator"), Some("keep")));
    assert_eq!((v["minimum_mm"].as_f64(), v["margin_mm"].as_f64()), (Some(6.86), Some(0.45)));
    assert_eq!(v["cuts_left"], 4);
    assert!(v["observations"]["commutator-diameter"]["ample"].as_f64().expect("the key is there") > 0.999);
    assert!(
        v["limits"]
            .as_array()
            .expect("the key is there")
            .iter()
            .any(|l| l["id"] == "minimum" && l["unit"] == "mm")
    );
    assert!(v["cautions"].as_array().expect("the key is there").iter().any(|c| c["id"] == "lathe"));
    // 10 mm commutators below 9.14 mm: common practice.
    assert_eq!(
        measured("commutator", &["--nominal", "10 mm", "--diameter", "9.2 mm"])["minimum_mm"].as_f64(),
        Some(9.14)
    );
}

#[test]
fn keep_cut_or_retire() {
    let verdict =
        |args: &[&str]| measured("commutator", &[&["--nominal", "7.5 mm"], args].concat())["verdict"].clone();
    assert_eq!(verdict(&["--diameter", "7.3 mm", "--runout", "0.01 mm", "--surface", "smooth"]), "keep");
    assert_eq!(verdict(&["--diameter", "7.3 mm", "--runout", "0.06 mm"]), "cut");
    assert_eq!(verdict(&["--diameter", "7.3 mm", "--surface", "grooved"]), "cut");
    assert_eq!(verdict(&["--diameter", "6.9 mm", "--runout", "0.06 mm"]), "retire");
    assert_eq!(verdict(&["--diameter", "6.8 mm"]), "retire");
}

#[test]
fn the_motor_knows_its_own_sizes() {
    let v = measured(
        "commutator",
        &["--motor", "heron-540-3", "--diameter", "7.31 mm, 7.33 mm", "--brush-width", "5 mm"],
    );
    assert_eq!(v["taper_mm"].as_f64(), Some(0.02));
    assert_eq!(v["readings"]["commutator-diameter"], "7.31 mm ± 0.01 mm");
    assert!(
        v["findings"]
            .as_array()
            .expect("the key is there")
            .iter()
            .any(|f| f["word"] == "bar-bridges-brushes")
    );
}

#[test]
fn a_sheet_for_people() {
    let args = ["measure", "commutator", "--motor", "heron-540-3", "--diameter", "7.31 mm, 7.33 mm"];
    let done = Bench::new().run(&[&args[..], &["--runout", "0.06 mm", "--surface", "grooved"]].concat());
    insta::assert_snapshot!(done.stdout);
}

#[test]
fn what_is_wrong_is_said() {
    for (args, code, words) in [
        (&[][..], 2, "--nominal is missing"),
        (&["--nominal", "7.5 mm"], 2, "--diameter is missing"),
        (&["--nominal", "7.5 V", "--diameter", "7 mm"], 1, "`7.5 V` is a voltage"),
        (&["--nominal", "7.5 mm", "--diameter", "0 mm"], 1, "above zero"),
        (&["--nominal", "7.5 mm", "--diameter", "7.31 in"], 1, "larger than when new"),
        (&["--nominal", "7.5 mm", "--diameter", "7.3 mm", "--cut", "5 mm"], 1, "no light cut"),
        (&["--nominal", "7.5 mm", "--diameter", "7.3 mm", "--runout=-1 mm"], 1, "can't be negative"),
        (&["--motor", "heron-540-4", "--diameter", "7.3 mm"], 1, "Did you mean `heron-540-3`?"),
        (&["--nominal", "7.5 mm", "--diameter", "7.3 mm", "--svg", "x.svg"], 2, "draws no picture"),
    ] {
        refused("commutator", args, code, words);
    }
}

#[test]
fn the_result_goes_into_a_case() {
    let bench = Bench::new();
    let run = |diameter: &str| {
        let args = ["measure", "commutator", "--motor", "heron-540-3", "--diameter", diameter];
        let done = bench.run(&[&args[..], &["--case", "ticket.yaml"]].concat());
        assert_eq!(done.code, Some(0), "{}", done.stderr);
        assert!(done.stderr.contains("commsense triage ticket.yaml"), "{}", done.stderr);
    };
    run("6.8 mm");
    let v = bench.json(&["triage", "ticket.yaml", "--json"]);
    assert_eq!((&v["motor"], &v["faults"][0]["id"]), (&"heron-540-3".into(), &"commutator-undersize".into()));
    run("7.4 mm");
    let text = bench.read("ticket.yaml");
    assert!(text.contains("commutator-diameter: 7.4 mm ± 0.01 mm"), "{text}");
}
