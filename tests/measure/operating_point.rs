//! `commsense measure operating-point` through the program.

use super::{measured, refused};
use crate::common::program::Bench;
use serde_json::Value;

const VEHICLE: [&str; 16] = [
    "--motor",
    "heron-540-3",
    "--volts",
    "7.2 V",
    "--mass",
    "2 kg",
    "--slope",
    "10 %",
    "--rolling",
    "3 %",
    "--tyre-radius",
    "33 mm",
    "--ratio",
    "10",
    "--drive-efficiency",
    "90 %",
];

#[track_caller]
fn near(value: &Value, wanted: f64, relative: f64) {
    let got = value.as_f64().unwrap_or_else(|| panic!("{value} is no number"));
    assert!((got - wanted).abs() <= relative * wanted.abs(), "{got} is not {wanted}");
}

#[test]
fn a_load_by_torque() {
    // 7.2 V, 0.100 ohm, 2 A, 20 000 rpm at 12 A: follows from the model.
    let v =
        measured("operating-point", &["--motor", "heron-540-3", "--volts", "7.2 V", "--load", "33.4225 mNm"]);
    assert_eq!(
        (v["format"].as_str(), v["test"].as_str()),
        (Some("commsense/measure/1"), Some("operating-point"))
    );
    for (key, wanted) in
        [("A", 12.0), ("rpm", 17_142.86), ("W_out", 60.0), ("W_heat", 26.4), ("efficiency", 0.694444)]
    {
        near(&v[key], wanted, 1e-4);
    }
    assert_eq!(v["ratio_advised"], Value::Null, "there is no gear in it");
    assert!(v["torque_allowed_Nm"].as_f64().unwrap() > 0.02);
}

/// A course problem: 12 V, 3800 rpm unloaded without current, 30 mNm held (12.062 ohm); at 2500 rpm it gives
/// 10.263 mNm and 2.6869 W for 0.34034 A.
#[test]
fn a_published_motor_by_its_constants() {
    for ke in ["0.030156 V s/rad", "30.156 mNm/A", "316.667 rpm/V"] {
        let v = measured(
            "operating-point",
            &[
                "--ke",
                ke,
                "--resistance",
                "12.062 ohm",
                "--no-load-current",
                "0 A",
                "--volts",
                "12 V",
                "--load",
                "10.263 mNm",
            ],
        );
        near(&v["A"], 0.34034, 1e-3);
        near(&v["rpm"], 2500.0, 1e-3);
        near(&v["W_out"], 2.6869, 1e-3);
        near(&v["W_heat"], 1.3972, 1e-3);
        assert_eq!(v["verdict"], "computed", "without the size of the can nothing is said about heat");
    }
}

/// By hand: F = 2 kg x 9.80665 m/s2 x (0.099504 + 0.03 x 0.995037) = 2.53708 N; 9.30263 mNm at the motor;
/// 4.78334 A; 19 204.8 rpm; 6.6367 m/s.
#[test]
fn a_vehicle_by_hand() {
    let v = measured("operating-point", &VEHICLE);
    near(&v["torque_Nm"], 9.30263e-3, 1e-4);
    near(&v["A"], 4.78334, 1e-4);
    near(&v["rpm"], 19_204.8, 1e-4);
    near(&v["km_per_h"], 6.6367 * 3.6, 1e-3);
    assert_eq!(v["verdict"], "cool");
    // A slope may be said as an angle too, the cells instead of the volts.
    let angle: Vec<&str> = VEHICLE.iter().map(|a| if *a == "10 %" { "5.7106 deg" } else { a }).collect();
    near(&measured("operating-point", &angle)["A"], 4.78334, 1e-4);
    let cells: Vec<&str> = VEHICLE
        .iter()
        .map(|a| match *a {
            "--volts" => "--cells",
            "7.2 V" => "6",
            a => a,
        })
        .collect();
    let v = measured("operating-point", &[&cells[..], &["--cell", "nimh"]].concat());
    near(&v["supply_V"], 7.2, 1e-9);
    near(&measured("operating-point", &cells)["supply_V"], 22.2, 1e-9);
}

/// A heavier car on a steeper hill, geared too tall: the ratio advised keeps it cool, the one asked about
/// does not.
#[test]
fn the_gearing_is_what_cooks_it() {
    let heavy = |ratio: &str| {
        measured(
            "operating-point",
            &[
                "--motor",
                "heron-540-3",
                "--cells",
                "2",
                "--mass",
                "4 kg",
                "--slope",
                "20 %",
                "--tyre-radius",
                "45 mm",
                "--ratio",
                ratio,
            ],
        )
    };
    let v = heavy("8");
    assert_eq!((&v["verdict"], &v["findings"][0]["word"]), (&"cooks".into(), &"cooks".into()));
    assert!(v["minutes_to_limit"].as_f64().unwrap() < 10.0);
    let advised = v["ratio_advised"].as_f64().unwrap();
    assert!(advised > 8.0);
    let kept = heavy(&format!("{advised}"));
    assert!(kept["winding_degC"].as_f64().unwrap() <= 120.0 && kept["verdict"] != "cooks", "{kept}");
    near(&kept["A"], v["with_ratio_advised"]["A"].as_f64().unwrap(), 1e-9);
    let taller = heavy(&format!("{}", advised - 0.2));
    assert!(taller["winding_degC"].as_f64().is_none_or(|t| t > 120.0), "{taller}");
    // Copper resists more when hot: more heat, less speed.
    let (hot, cold) = (kept["hot"]["W_heat"].as_f64().unwrap(), kept["W_heat"].as_f64().unwrap());
    assert!(hot > cold && kept["hot"]["rpm"].as_f64() < kept["rpm"].as_f64());
    let v = heavy("0.6");
    assert_eq!((v["verdict"].as_str(), v["rpm"].as_f64()), (Some("stalls"), Some(0.0)));
    near(&v["ratio_advised"], advised, 1e-9);
}

#[test]
fn a_motor_that_idles_too_hot_is_helped_by_no_gearing() {
    let args = [&["--motor", "redshank-540-3"], &VEHICLE[2..]].concat();
    let v = measured("operating-point", &args);
    assert_eq!(v["ratio_advised"], Value::Null);
    assert!(v["findings"].as_array().unwrap().iter().any(|f| f["word"] == "no-gearing-helps"));
    // A short run is what it is made for.
    let v = measured("operating-point", &[&args[..], &["--run-time", "3 min"]].concat());
    assert!(v["ratio_advised"].is_number(), "{v}");
}

#[test]
fn limits_of_the_pack_count() {
    let v = measured(
        "operating-point",
        &[&VEHICLE[..], &["--current-limit", "4 A", "--pack-resistance", "0.3 ohm"]].concat(),
    );
    let words: Vec<&str> =
        v["findings"].as_array().unwrap().iter().filter_map(|f| f["word"].as_str()).collect();
    assert!(words.contains(&"over-current") && words.contains(&"supply-sags"), "{words:?}");
    near(&v["terminal_V"], 7.2 - 0.3 * v["A"].as_f64().unwrap(), 1e-9);
    assert!(v["with_ratio_advised"]["A"].as_f64().unwrap() <= 4.0);
}

#[test]
fn a_sheet_for_people() {
    let done = Bench::new().run(&[
        "measure",
        "operating-point",
        "--motor",
        "heron-540-3",
        "--cells",
        "2",
        "--mass",
        "4 kg",
        "--slope",
        "20 %",
        "--tyre-radius",
        "45 mm",
        "--ratio",
        "8",
        "--pack-resistance",
        "30 mohm",
        "--run-time",
        "6 min",
        "--svg",
        "at.svg",
    ]);
    assert!(done.stdout.lines().all(|l| l.chars().count() <= 80), "{}", done.stdout);
    insta::assert_snapshot!(done.stdout);
}

#[test]
fn a_person_is_led_through_it() {
    let done = Bench::new().talk(
        &["measure", "operating-point", "--motor", "heron-540-3", "--line"],
        &["7.4 V", "30 mohm", "vehicle", "4 kg", "45 mm", "8", "20 %", "3 %", "6 min"],
    );
    assert_eq!(done.code, Some(0), "{}{}", done.stderr, done.stdout);
    assert!(done.stdout.contains("This gearing cooks it"), "{}", done.stdout);
}

#[test]
fn what_is_wrong_is_said() {
    let motor = ["--motor", "heron-540-3", "--volts", "7.2 V"];
    for (args, code, words) in [
        (&[][..], 2, "--load is missing"),
        (&["--load", "12 V"], 1, "`12 V` is a voltage"),
        (&["--load=-12 mNm"], 1, "the load torque is -0.012"),
        (&["--load", "12 mNm", "--mass", "2 kg"], 2, "cannot be used with"),
        (&["--load", "12 mNm", "--cells", "2"], 2, "cannot be used with"),
        (&["--mass", "2 kg"], 2, "--tyre-radius is missing"),
        (
            &["--mass", "2 kg", "--tyre-radius", "33 mm", "--ratio", "0"],
            1,
            "the gear ratio is 0; it must be above 0",
        ),
        (
            &["--mass", "2 kg", "--tyre-radius", "33 mm", "--ratio", "9", "--slope", "steep"],
            1,
            "write it as 10 % or 6 deg",
        ),
        (
            &["--mass", "2 kg", "--tyre-radius", "33 mm", "--ratio", "9", "--slope=-10 %"],
            1,
            "rolls down the slope by itself",
        ),
        (
            &["--mass", "2 kg", "--tyre-radius", "33 mm", "--ratio", "9", "--air", "3 mm"],
            1,
            "--air: write drag coefficient",
        ),
        (&["--load", "12 mNm", "--run-time", "0 s"], 1, "a run lasts from 1 s"),
        (&["--load", "12 mNm", "--can", "700"], 1, "nothing is known of how a can of size `700`"),
        (&["--load", "12 mNm", "--current-limit", "0 A"], 1, "above 0 A"),
        (&["--load", "12 mNm", "--ambient", "150 degC"], 1, "above the surroundings"),
        (&["--load", "12 mNm", "--resistance", "0 ohm"], 1, "the resistance is 0"),
        (&["--load", "12 mNm", "--ke", "3"], 1, "is no motor constant"),
    ] {
        refused("operating-point", &[&motor[..], args].concat(), code, words);
    }
    refused("operating-point", &["--volts", "7.2 V", "--load", "12 mNm"], 2, "--ke is missing");
    refused("operating-point", &["--motor", "heron-540-3", "--load", "12 mNm"], 2, "--volts is missing");
    refused(
        "operating-point",
        &["--motor", "heron-540-3", "--volts", "0.1 V", "--load", "1 mNm"],
        1,
        "does not even turn",
    );
    refused(
        "operating-point",
        &["--motor", "heron-540-3", "--cells", "1.5", "--load", "1 mNm"],
        1,
        "whole number of cells",
    );
}
