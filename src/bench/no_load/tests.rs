//! Known motors come back, intervals hold what they promise, nonsense is refused.

use super::*;
use proptest::prelude::*;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

const METERS: Instruments = Instruments {
    volts: Accuracy { scale: 0.01, scatter: 0.002 },
    current: Accuracy { scale: 0.02, scatter: 0.005 },
    speed: Accuracy { scale: 0.005, scatter: 0.002 },
};

fn at(volts: f64, current: f64, rpm: f64) -> Point {
    Point { volts, current, rpm }
}

fn test_of(forward: Vec<Point>, ohm: Option<f64>) -> Test {
    Test {
        forward,
        reverse: vec![],
        loaded: vec![],
        resistance: ohm.map(|ohm| Known { ohm, deviation: 0.02 * ohm }),
        instruments: METERS,
        brush_drop_most: 0.4,
        volts: None,
    }
}

/// The meters' true readings of a motor unloaded.
fn reads(motor: &Motor, volts: f64) -> Point {
    let free = motor.unloaded(volts).unwrap();
    at(volts, free.current, free.rpm)
}

fn near(got: f64, wanted: f64, relative: f64) {
    assert!((got - wanted).abs() <= relative * wanted.abs(), "got {got}, wanted {wanted}");
}

const SAMPLE: Motor =
    Motor { ke: 0.0033, resistance: 0.1, brush_drop: 0.25, drag: 0.004, drag_per_speed: 1.2e-6 };

/// Follows from the model; the figures are those of the motor's own test.
#[test]
fn one_point_and_resistance_give_the_data_sheet() {
    let report = analyse(&test_of(vec![at(7.2, 2.0, 20_000.0)], Some(0.1))).unwrap();
    near(report.ke.value, 0.00334225, 1e-5);
    near(report.rpm_per_volt.value, 2857.14, 1e-5);
    near(report.drag.value, 2.0 * 0.00334225, 1e-5);
    let stall = report.stall.unwrap();
    near(stall.current.value, 72.0, 1e-9);
    near(stall.gross.value, 0.240642, 1e-5);
    near(stall.torque.value, 0.233958, 1e-5);
    let best = report.best_efficiency.unwrap();
    near(best.current.value, 12.0, 1e-9);
    near(best.efficiency.value, 0.694444, 1e-5);
    near(best.rpm.value, 17_142.857, 1e-6);
    let peak = report.peak_power.unwrap();
    near(peak.output.value, 122.5, 1e-9);
    near(peak.rpm.value, 10_000.0, 1e-9);
    assert_eq!((report.brush_drop, report.drag_at_rest, report.reverse), (None, None, None));
    // What one point cannot separate stretches the interval to one side: a brush drop lowers Ke by up to
    // 0.4 V of 7 V, 5.7 %.
    assert!(report.ke.low < report.ke.value * (1.0 - 0.057) && report.ke.high < report.ke.value * 1.03);
}

#[test]
fn two_voltages_separate_brush_drop_and_drag() {
    let points = vec![reads(&SAMPLE, 3.6), reads(&SAMPLE, 7.2)];
    let report = analyse(&test_of(points, Some(0.1))).unwrap();
    near(report.ke.value, SAMPLE.ke, 1e-9);
    near(report.brush_drop.unwrap().value, 0.25, 1e-9);
    near(report.drag_at_rest.unwrap().value, SAMPLE.drag, 1e-9);
    near(report.drag_per_speed.unwrap().value, SAMPLE.drag_per_speed, 1e-9);
    near(report.stall.unwrap().torque.value, SAMPLE.stalled(7.2).torque, 1e-9);
    assert_eq!(report.resistance_from, ResistanceFrom::Known);
    assert_eq!(report.excess_scatter, None);
}

#[test]
fn voltages_too_near_each_other_separate_nothing() {
    let points = vec![reads(&SAMPLE, 7.1), reads(&SAMPLE, 7.2)];
    let report = analyse(&test_of(points, Some(0.1))).unwrap();
    assert_eq!((report.brush_drop, report.drag_at_rest), (None, None));
    assert!(report.ke.low < SAMPLE.ke && SAMPLE.ke < report.ke.high);
}

#[test]
fn resistance_comes_from_a_loaded_or_a_held_shaft() {
    for load in [SAMPLE.at_current(7.2, 20.0), SAMPLE.stalled(2.0)] {
        let mut test = test_of(vec![reads(&SAMPLE, 3.6), reads(&SAMPLE, 7.2)], None);
        test.loaded = vec![Loaded { point: at(load.volts, load.current, load.rpm.max(0.0)), torque: None }];
        let report = analyse(&test).unwrap();
        assert_eq!(report.resistance_from, ResistanceFrom::Points);
        near(report.resistance.unwrap().value, 0.1, 1e-6);
        near(report.ke.value, SAMPLE.ke, 1e-6);
    }
}

#[test]
fn without_resistance_stall_is_left_out_and_speed_kept() {
    let report = analyse(&test_of(vec![at(7.2, 2.0, 20_000.0)], None)).unwrap();
    assert_eq!(report.resistance_from, ResistanceFrom::Nowhere);
    assert!(report.stall.is_none() && report.best_efficiency.is_none() && report.motor.is_none());
    assert!(report.resistance.is_none());
    near(report.rpm.value, 20_000.0, 1e-9);
    // Ke lies somewhere between 7.2 V and a tenth less of it, and a brush drop.
    assert!(report.ke.low < 0.00334225 && 0.00334225 < report.ke.high);
}

/// A point at 6 V belongs to 20 000 rpm at 7.2 V when the winding takes 0.2 V of either.
#[test]
fn figures_are_converted_to_the_voltage_asked_for() {
    let motor = Motor::from_no_load(7.2, 2.0, 20_000.0, 0.1).unwrap();
    let mut test = test_of(vec![reads(&motor, 6.0)], Some(0.1));
    test.volts = Some(7.2);
    let report = analyse(&test).unwrap();
    near(report.rpm.value, 20_000.0, 1e-9);
    near(report.current.value, 2.0, 1e-9);
    // The further away, the less sure: at the voltage measured only the meters count.
    test.volts = Some(6.0);
    let there = analyse(&test).unwrap();
    assert!(there.rpm.deviation / there.rpm.value < report.rpm.deviation / report.rpm.value);
    near(there.current.deviation / there.current.value, f64::hypot(0.02, 0.005), 0.02);
}

#[test]
fn speed_ratio_is_freed_of_the_meters_scale() {
    let mut test = test_of(vec![at(7.2, 2.0, 20_100.0)], Some(0.1));
    test.reverse = vec![at(7.2, 2.0, 19_200.0)];
    let ratio = analyse(&test).unwrap().reverse.unwrap().speed_ratio;
    near(ratio.value, 20_100.0 / 19_200.0, 1e-9);
    // Scatter of two voltmeter and two tachometer readings is all that is left.
    near(ratio.deviation / ratio.value, 0.004, 0.05);
    // Reverse measured at another voltage is brought to the same one.
    test.reverse = vec![at(6.0, 2.0, 19_200.0 * 5.8 / 7.0)];
    near(analyse(&test).unwrap().reverse.unwrap().speed_ratio.value, 20_100.0 / 19_200.0, 1e-9);
}

#[test]
fn readings_that_scatter_too_much_widen_the_intervals() {
    let mut points: Vec<Point> = [3.0, 4.0, 5.0, 6.0, 7.2].map(|v| reads(&SAMPLE, v)).to_vec();
    let calm = analyse(&test_of(points.clone(), Some(0.1))).unwrap();
    points[2].rpm *= 1.02;
    points[3].rpm *= 0.98;
    let wild = analyse(&test_of(points, Some(0.1))).unwrap();
    assert_eq!(calm.excess_scatter, None);
    assert!(wild.excess_scatter.unwrap() > 2.0);
    assert!(wild.ke.high - wild.ke.low > 1.5 * (calm.ke.high - calm.ke.low));
    assert!(wild.ke.low < SAMPLE.ke && SAMPLE.ke < wild.ke.high);
}

#[test]
fn impossible_numbers_are_refused_in_words() {
    let said = |test: &Test| analyse(test).unwrap_err().to_string();
    assert!(said(&test_of(vec![], Some(0.1))).contains("at least one"));
    let drop = said(&test_of(vec![at(7.2, 2.0, 20_000.0)], Some(4.0)));
    assert!(drop.contains("drops 8.00 V, but only 7.20 V"), "{drop}");
    let slower = said(&test_of(vec![at(3.6, 1.8, 20_000.0), at(7.2, 2.0, 9_000.0)], Some(0.1)));
    assert!(slower.contains("does not rise with the voltage"), "{slower}");
    let falls = said(&test_of(vec![at(3.6, 3.0, 9_500.0), at(7.2, 1.5, 20_000.0)], Some(0.1)));
    assert!(falls.contains("current falls when the speed rises"), "{falls}");
    let steep = said(&test_of(vec![at(3.6, 0.5, 9_500.0), at(7.2, 2.0, 20_000.0)], Some(0.1)));
    assert!(steep.contains("friction at rest would be negative"), "{steep}");
    let emf = said(&test_of(vec![at(3.6, 1.8, 12_000.0), at(7.2, 2.0, 20_000.0)], Some(0.1)));
    assert!(emf.contains("above the supply"), "{emf}");
    let mut test = test_of(vec![at(7.2, 2.0, 20_000.0)], Some(0.1));
    test.loaded = vec![Loaded { point: at(7.2, 12.0, 17_000.0), torque: Some(0.06) }];
    assert!(said(&test).contains("efficiency above 1"), "{}", said(&test));
    test.loaded = vec![Loaded { point: at(7.2, 12.0, 22_000.0), torque: None }];
    test.resistance = None;
    assert!(said(&test).contains("resistance comes out negative"), "{}", said(&test));
    for bad in [f64::NAN, f64::INFINITY, -1.0, 0.0] {
        for point in [at(bad, 2.0, 2e4), at(7.2, bad, 2e4), at(7.2, 2.0, bad)] {
            assert!(matches!(analyse(&test_of(vec![point], Some(0.1))), Err(NoLoadError::Number { .. })));
        }
        assert!(analyse(&test_of(vec![at(7.2, 2.0, 2e4)], Some(bad))).is_err());
    }
}

/// How often the truth lies in each interval, over `sets` simulated tests of motors drawn anew.
///
/// Every set has meters with scale errors of its own and a fresh scatter at each reading, as stated.
fn coverage(sets: usize, seed: u64, voltages: &[f64]) -> Vec<(&'static str, f64, usize)> {
    let mut random = StdRng::seed_from_u64(seed);
    let normal = |random: &mut StdRng| -> f64 {
        // Box and Muller.
        let (u, v): (f64, f64) = (random.random_range(1e-12..1.0), random.random());
        (-2.0 * u.ln()).sqrt() * (2.0 * std::f64::consts::PI * v).cos()
    };
    let mut counts: Vec<(&'static str, usize, usize)> = Vec::new();
    for _ in 0..sets {
        let motor = Motor {
            ke: random.random_range(0.002..0.01),
            resistance: random.random_range(0.05..0.25),
            brush_drop: random.random_range(0.0..0.4),
            drag: random.random_range(0.002..0.006),
            drag_per_speed: random.random_range(0.0..1.5e-6),
        };
        let reversed = Motor { ke: motor.ke * random.random_range(0.93..1.07), ..motor };
        let scales = [METERS.volts, METERS.current, METERS.speed].map(|a| a.scale * normal(&mut random));
        let mut read = |motor: &Motor, volts: f64| {
            let p = reads(motor, volts);
            let mut wrong =
                |x: f64, scale: f64, a: Accuracy| x * (1.0 + scale + a.scatter * normal(&mut random));
            at(
                wrong(p.volts, scales[0], METERS.volts),
                wrong(p.current, scales[1], METERS.current),
                wrong(p.rpm, scales[2], METERS.speed),
            )
        };
        let forward = voltages.iter().map(|v| read(&motor, *v)).collect();
        let reverse = vec![read(&reversed, 7.2)];
        let mut test = test_of(forward, Some(motor.resistance * (1.0 + 0.02 * normal(&mut random))));
        test.reverse = reverse;
        test.volts = Some(7.2);
        let report = analyse(&test).unwrap();
        let (free, back) = (motor.unloaded(7.2).unwrap(), reversed.unloaded(7.2).unwrap());
        let (best, peak) = (motor.best_efficiency(7.2).unwrap(), motor.peak_power(7.2).unwrap());
        let (stall, reverse) = (report.stall.unwrap(), report.reverse.unwrap());
        let (b, p) = (report.best_efficiency.unwrap(), report.peak_power.unwrap());
        let looked_at = [
            ("Ke", Some(report.ke), motor.ke),
            ("R", report.resistance, motor.resistance),
            ("brush drop", report.brush_drop, motor.brush_drop),
            ("drag", Some(report.drag), motor.ke * free.current),
            ("drag at rest", report.drag_at_rest, motor.drag),
            ("drag growth", report.drag_per_speed, motor.drag_per_speed),
            ("no-load A", Some(report.current), free.current),
            ("no-load rpm", Some(report.rpm), free.rpm),
            ("speed ratio", Some(reverse.speed_ratio), free.rpm / back.rpm),
            ("reverse Ke", Some(reverse.ke), reversed.ke),
            ("stall A", Some(stall.current), motor.stall_current(7.2)),
            ("stall Nm", Some(stall.torque), motor.stalled(7.2).torque),
            ("best A", Some(b.current), best.current),
            ("best efficiency", Some(b.efficiency), best.efficiency),
            ("best rpm", Some(b.rpm), best.rpm),
            ("peak W", Some(p.output), peak.output),
            ("peak rpm", Some(p.rpm), peak.rpm),
        ];
        if counts.is_empty() {
            counts = looked_at.iter().map(|l| (l.0, 0, 0)).collect();
        }
        for (count, (_, estimate, truth)) in counts.iter_mut().zip(looked_at) {
            if let Some(e) = estimate {
                count.1 += usize::from(e.low <= truth && truth <= e.high);
                count.2 += 1;
            }
        }
    }
    counts.into_iter().map(|(name, inside, of)| (name, inside as f64 / of.max(1) as f64, of)).collect()
}

/// Asks for 95 in 100 on the whole. In 2000 sets the standard deviation of one figure's share is 0.5 %, and
/// the seventeen figures are looked at one by one, so each alone may fall short by four of them.
fn holds(seed: u64, voltages: &[f64]) {
    let all = coverage(2000, seed, voltages);
    for (name, share, of) in &all {
        println!("{} points: {name}: {share:.4} of {of}", voltages.len());
        assert!(*of == 0 || *share >= 0.93, "{} points: {name}: {share} of {of}", voltages.len());
    }
    let seen: Vec<f64> = all.iter().filter(|(_, _, of)| *of > 0).map(|(_, share, _)| *share).collect();
    let mean = seen.iter().sum::<f64>() / seen.len() as f64;
    assert!(mean >= 0.945, "{} points: {mean}", voltages.len());
    // Two voltages and more do separate what one leaves open, in most sets.
    let separated = |figure: &str| all.iter().find(|a| a.0 == figure).is_some_and(|a| a.2 > 1000);
    assert_eq!(separated("brush drop") && separated("drag at rest"), voltages.len() > 1);
}

#[test]
fn one_point_promises_no_more_than_it_holds() {
    holds(1, &[7.2]);
}

#[test]
fn two_points_hold_the_truth_in_95_of_100_sets() {
    holds(2, &[3.0, 7.2]);
}

#[test]
fn five_points_hold_the_truth_in_95_of_100_sets() {
    holds(3, &[2.4, 3.6, 4.8, 6.0, 7.2]);
}

proptest! {
    /// Any numbers: a report or a plain refusal, never a panic, and finite intervals around the value.
    #[test]
    fn any_points_give_a_report_or_a_refusal(
        points in prop::collection::vec((0.0..30.0, -1.0..50.0, 0.0..60_000.0), 1..5),
        reverse in prop::collection::vec((0.0..30.0, 0.0..50.0, 0.0..60_000.0), 0..3),
        ohm in prop::option::of(0.0..3.0),
    ) {
        let mut test = test_of(points.into_iter().map(|(v, i, n)| at(v, i, n)).collect(), ohm);
        test.reverse = reverse.into_iter().map(|(v, i, n)| at(v, i, n)).collect();
        match analyse(&test) {
            Ok(report) => {
                for e in [report.ke, report.rpm_per_volt, report.drag, report.current, report.rpm] {
                    prop_assert!(e.value.is_finite() && e.low <= e.value && e.value <= e.high);
                }
            }
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}
