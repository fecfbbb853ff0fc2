//! `commsense measure ripple` through the program, on recordings of a simulated motor.

use super::common::program::{Bench, flowing};
use crate::simulator::{Adc, Drive, Fault, Motor, Noise, csv, run};

/// A recording of a motor with three bars, as a file with time in ms, and its true mean speed.
fn recording(fault: Option<Fault>, volts: f64, seconds: f64, rate: f64) -> (String, f64) {
    let mut noise = Noise::new(4);
    let mut motor = Motor::new(3, 0.02, &mut noise).advanced(6.0);
    motor.faults.extend(fault);
    let wavering = |t: f64| volts * (1.0 + 0.01 * (2.0 * t).sin());
    let drive = Drive { volts: &wavering, load: &|_| 0.0, settle: 0.2, seconds, rate, start: 0.3 };
    let made = run(&motor, &drive);
    let adc = Adc { noise: 0.05, bits: 10, range: 25.0 };
    let current: Vec<f64> = made.current.iter().map(|i| adc.read(*i, &mut noise)).collect();
    let time: Vec<f64> = made.time.iter().map(|t| t * 1e3).collect();
    (csv("time (ms), current (A)", &time, &current), made.rpm())
}

#[test]
fn the_numbers_for_scripts() {
    let (file, truth) = recording(None, 7.2, 1.5, 20e3);
    let bench = Bench::new();
    bench.write("FILE.csv", &file);
    let v = bench.json(&["measure", "ripple", "FILE.csv", "--bars", "3", "--json"]);
    assert_eq!(v["format"], "commsense/measure/1");
    assert_eq!((v["test"].as_str(), v["verdict"].as_str()), (Some("ripple"), Some("even")));
    let (rpm, low, high) =
        (v["rpm"].as_f64().unwrap(), v["low"].as_f64().unwrap(), v["high"].as_f64().unwrap());
    assert!((rpm / truth - 1.0).abs() < 0.002, "{rpm} for {truth}");
    assert!(low < truth && truth < high && high - low < 0.004 * truth, "{low} to {high} for {truth}");
    assert!(v["once_per_turn"].as_f64().unwrap() < 0.03, "{v}");
    assert!(v["observations"].as_object().unwrap().is_empty(), "not told that it ran unloaded: {v}");
    // The same without a column of time.
    let column: String =
        file.lines().skip(1).map(|l| l.split_once(',').unwrap().1.to_owned() + "\n").collect();
    bench.write("one.csv", format!("current (A)\n{column}"));
    let one = bench.json(&["measure", "ripple", "one.csv", "--bars", "3", "--rate", "20 kHz", "--json"]);
    assert!((one["rpm"].as_f64().unwrap() / rpm - 1.0).abs() < 1e-5);
}

#[test]
fn a_faulty_coil_or_bar_is_seen() {
    for fault in [Fault::CoilOpen(1), Fault::CoilShorted(2, 0.3), Fault::BarRaised(0, 12.0)] {
        let (file, truth) = recording(Some(fault), 7.2, 1.0, 20e3);
        let bench = Bench::new();
        bench.write("r.csv", &file);
        let v = bench.json(&["measure", "ripple", "r.csv", "--bars", "3", "--rpm", "20000 rpm", "--json"]);
        assert_eq!(v["verdict"], "one-coil", "{fault:?}: {v}");
        assert!((v["rpm"].as_f64().unwrap() / truth - 1.0).abs() < 0.002, "{fault:?}: {v}");
        assert!(v["findings"].as_array().unwrap().iter().any(|f| f["word"] == "one-coil"));
    }
}

#[test]
fn the_speed_goes_into_a_case_when_it_ran_unloaded_at_its_voltage() {
    let bench = Bench::new();
    bench.write("r.csv", recording(None, 7.2, 0.8, 20e3).0);
    let args = ["measure", "ripple", "r.csv", "--motor", "heron-540-3", "--json", "--no-load"];
    let v = bench.json(&[&args[..], &["7.2 V"]].concat());
    let text = v["readings"]["no-load-speed"].as_str().unwrap_or_default().to_owned();
    assert!(text.contains("rpm ±"), "{v}");
    let v = bench.json(&[&args[..], &["6 V"]].concat());
    assert!(v["observations"].as_object().unwrap().is_empty(), "{v}");
}

#[test]
fn a_sheet_for_people_and_a_picture() {
    let bench = Bench::new();
    bench.write("r.csv", recording(Some(Fault::CoilOpen(1)), 7.2, 0.8, 20e3).0);
    let args = ["measure", "ripple", "r.csv", "--bars", "3", "--rpm", "20000 rpm", "--svg", "r.svg"];
    let done = bench.run(&args);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(done.stdout.lines().all(|l| l.chars().count() <= 80), "{}", done.stdout);
    insta::assert_snapshot!(done.stdout);
    let svg = bench.read("r.svg");
    let parsed = roxmltree::Document::parse(&svg).unwrap();
    assert!(parsed.descendants().filter(|n| n.has_tag_name("polyline")).count() > 6);
}

#[test]
fn what_is_wrong_is_said() {
    let bench = Bench::new();
    let rows = |f: &dyn Fn(usize) -> String| (0..2000).map(|i| f(i) + "\n").collect::<String>();
    let head = "time (ms), current (A)\n";
    bench.write("empty.csv", "");
    bench.write("letter.csv", "dear friend\nall is well\n");
    bench.write("flat.csv", head.to_owned() + &rows(&|i| format!("{},2.5", i as f64 * 0.05)));
    bench.write("back.csv", head.to_owned() + &rows(&|i| format!("{},2.5", 100 - i as i64)));
    bench.write("twice.csv", head.to_owned() + &rows(&|i| format!("{},2.5", i / 2)));
    bench.write("volts.csv", "time (ms), shunt (mV)\n".to_owned() + &rows(&|i| format!("{},{}", i, i % 7)));
    bench.write("bytes.csv", [0u8, 159, 146, 150, 255, 254]);
    let noise = |i: usize| ((i * i * 7919 + i * 104_729) % 1009) as f64 / 1009.0;
    bench.write("noise.csv", head.to_owned() + &rows(&|i| format!("{},{:.4}", i as f64 * 0.05, noise(i))));
    bench.write("nan.csv", head.to_owned() + &rows(&|i| format!("{},NaN", i as f64 * 0.05)));
    let one = rows(&|i| format!("{:.3}", (i as f64).sin()));
    bench.write("one.csv", format!("current (A)\n{one}"));
    bench.write("slow.csv", head.to_owned() + &rows(&|i| format!("{},{:.3}", i, (i as f64 * 0.9).sin())));
    for (args, code, words) in [
        (&[][..], 2, "the recording is missing"),
        (&["flat.csv"], 2, "--bars is missing"),
        (&["none.csv", "--bars", "3"], 1, "can't read `none.csv`"),
        (&[".", "--bars", "3"], 1, "is no file"),
        (&["empty.csv", "--bars", "3"], 1, "it is empty"),
        (&["letter.csv", "--bars", "3"], 1, "no rows of numbers"),
        (&["bytes.csv", "--bars", "3"], 1, "no rows of numbers"),
        (&["nan.csv", "--bars", "3"], 1, "no rows of numbers"),
        (&["flat.csv", "--bars", "3"], 1, "never changes"),
        (&["flat.csv", "--bars", "2.5"], 1, "whole number of bars"),
        (&["flat.csv", "--bars", "3 V"], 1, "is a voltage"),
        (&["flat.csv", "--bars", "3", "--rate", "fast"], 1, "no sampling rate"),
        (&["flat.csv", "--bars", "3", "--rpm", "0 rpm"], 1, "above zero"),
        (&["back.csv", "--bars", "3"], 1, "the time goes back"),
        (&["twice.csv", "--bars", "3"], 1, "line 3: the same time"),
        (&["volts.csv", "--bars", "3"], 1, "say what current one volt stands for"),
        (&["noise.csv", "--bars", "3"], 1, "ripple"),
        (&["one.csv", "--bars", "3"], 1, "no column of time"),
        (&["slow.csv", "--bars", "3", "--rpm", "20000 rpm"], 1, "record with 5000 Hz or more"),
    ] {
        let done = bench.run(&[&["measure", "ripple"], args].concat());
        assert_eq!((done.code, done.stdout.as_str()), (Some(code), ""), "{args:?}: {}", done.stderr);
        assert!(flowing(&done.stderr).contains(words), "{args:?}: {}", done.stderr);
    }
}
