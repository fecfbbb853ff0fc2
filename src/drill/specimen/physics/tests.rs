use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::*;
use crate::case::BenchUnits;
use crate::drill::specimen::{Maker, Wish};
use crate::inference::{Engine, Limits};
use crate::knowledge::builtin;
use crate::network::{Evidence, compile};

/// Specimens with these faults on this motor.
fn some(k: &Knowledge, net: &BeliefNet, motor: &Motor, faults: &[&str], count: usize) -> Vec<Specimen> {
    let wish = Wish { must_complain: false, ..Wish::exactly(faults.iter().copied()) };
    let maker = Maker::new(k, net, &wish).unwrap();
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    (0..count).map(|_| maker.draw(&mut rng).unwrap().physical(k, net, motor, &mut rng).unwrap()).collect()
}

fn median(all: &[Specimen], reading: &str) -> f64 {
    let mut values: Vec<f64> = all.iter().filter_map(|s| s.readings.get(reading).copied()).collect();
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Each fault shows in the readings that it must, on every motor, against a healthy one.
#[test]
fn faults_show_where_they_must() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    for motor in &k.motors {
        let healthy = some(&k, &net, motor, &[], 60);
        // Fault, reading, least and most of its median over a healthy one's.
        // One bad coil among seven is less than among three.
        let low = [0.87, 0.92, 0.96][(motor.slots.saturating_sub(3) / 2) as usize];
        for (fault, reading, least, most) in [
            ("coil-shorted", "winding-resistance", 0.0, low),
            ("coil-shorted", "no-load-current", 1.3, 4.4),
            ("coil-shorted", "no-load-speed", 0.0, 1.0),
            ("coil-shorted", "case-temperature", 1.1, 5.0),
            ("coil-shorted", "coil-lowest", 0.0, 0.9),
            ("bars-bridged", "no-load-current", 1.5, 4.4),
            ("coil-open", "resistance-swing", 1.1, 1e4),
            ("coil-open", "coil-highest", 9.0, 1e4),
            ("bearing-dry", "no-load-current", 1.2, 2.4),
            ("bearing-dry", "no-load-speed", 0.7, 1.0),
            ("bearing-seized", "no-load-current", 2.5, 4.4),
            ("magnet-weak", "no-load-speed", 1.03, 1.6),
            ("magnet-weak", "no-load-current", 1.1, 2.0),
            ("timing-excessive", "speed-ratio", 1.04, 1.4),
            ("timing-excessive", "no-load-current", 1.15, 2.0),
            ("timing-reversed", "speed-ratio", 0.7, 0.97),
            ("joint-poor", "terminal-voltage-under-load", 0.0, 0.98),
            ("supply-weak", "terminal-voltage-under-load", 0.0, 0.9),
            ("capacitor-shorted", "no-load-current", 2.0, 4.4),
            ("winding-grounded", "insulation-resistance", 0.0, 0.02),
            ("shims-too-loose", "end-play", 2.5, 9.0),
            ("brush-worn", "brush-length", 0.0, 0.7),
            ("shaft-bent", "shaft-runout", 3.0, 80.0),
        ] {
            let bad = some(&k, &net, motor, &[fault], 60);
            let ratio = median(&bad, reading) / median(&healthy, reading);
            assert!((least..=most).contains(&ratio), "{} {fault} {reading}: {ratio}", motor.id);
        }
    }
}

/// Healthy motors read as healthy. The two figures of single coils have edges at two deviations of theirs.
#[test]
fn healthy_motors_are_in_the_normal_band() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    for motor in &k.motors {
        let healthy = some(&k, &net, motor, &[], 400);
        for reading in k.readings.iter().filter(|r| !r.id.starts_with("coil-")) {
            for band in &reading.bands {
                // Brushes wear by use alone. The limits are those of brushes of 8 mm: shorter ones come near them sooner.
                let brush = nominal::known(motor, nominal::BRUSH).unwrap_or(8e-3);
                if band.observation == "brush-length" && brush < 8e-3 {
                    continue;
                }
                let i = net.observations.iter().position(|o| o.id == band.observation).unwrap();
                let read = healthy.iter().filter(|s| s.readings.contains_key(&reading.id));
                let (all, normal) =
                    read.fold((0, 0), |(all, n), s| (all + 1, n + usize::from(s.observations[i] == 0)));
                let least = if band.observation == "brush-length" { 0.85 } else { 0.95 };
                assert!(
                    normal as f64 >= least * all as f64,
                    "{} {}: {normal} of {all}",
                    motor.id,
                    band.observation
                );
            }
        }
    }
}

#[test]
fn sound_motors_run_as_their_data_say() {
    let k = builtin(&BenchUnits).unwrap();
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    for motor in &k.motors {
        let body = Body::built(motor, &mut rng).unwrap();
        let built = Built::of(motor, &body, 0.003).unwrap();
        let means = Ring { coils: &body.coils, contact: body.get(Quantity::ContactResistance) }.means();
        let run = built.unloaded(&body, &means, 1.0);
        // Field and drag of this very motor differ from the usual by a few percent.
        assert!((run.speed / built.speed - 1.0).abs() < 0.08, "{}", motor.id);
        assert!((run.current / built.current - 1.0).abs() < 0.25, "{}", motor.id);
    }
}

#[test]
fn all_answers_are_possible_together_and_the_same_seed_gives_them_again() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    for seed in 0..60 {
        let draw = || {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            let motor = &k.motors[seed as usize % k.motors.len()];
            let maker = Maker::new(&k, &net, &Wish::count(seed as usize % 3)).unwrap();
            maker.draw(&mut rng).unwrap().physical(&k, &net, motor, &mut rng).unwrap()
        };
        let specimen = draw();
        assert_eq!(specimen, draw());
        let mut evidence = Evidence::none(&net);
        let one = |state: usize, n: usize| Some((0..n).map(|s| f64::from(u8::from(s == state))).collect());
        for (i, o) in net.observations.iter().enumerate() {
            evidence.observations[i] = one(specimen.observations[i], o.states.len());
        }
        for (i, f) in net.factors.iter().enumerate() {
            evidence.factors[i] = one(specimen.factors[i], f.states.len());
        }
        let engine = Engine::compile(&net, &evidence, &Limits::default());
        assert!(engine.is_ok(), "seed {seed}: {:?}", engine.err());
        for reading in specimen.readings.keys() {
            let answer = specimen.answer(&k, &net, None, reading);
            assert!(matches!(answer, Some(crate::case::Answer::Reading { .. })), "{reading}");
        }
    }
}

/// What cannot be of any motor, in words; nothing of one that can be.
pub(in crate::drill) fn impossible(
    k: &Knowledge,
    net: &BeliefNet,
    motor: &Motor,
    s: &Specimen,
) -> Vec<String> {
    let mut wrong = Vec::new();
    let figure = |id: &str| s.readings.get(id).copied();
    let state = |id: &str| k.states(id).unwrap()[s.state(net, id).unwrap()].0;
    for (reading, least, most) in
        [("coil-highest", 1.0, 1e3), ("coil-lowest", 0.0, 1.0), ("resistance-swing", 1.0, 1e3)]
    {
        if figure(reading).is_some_and(|x| !(least..=most).contains(&x)) {
            wrong.push(format!("{reading} is {:?}", figure(reading)));
        }
    }
    for reading in k.readings.iter().filter(|r| s.readings.contains_key(&r.id)) {
        let Some(crate::case::Answer::Reading { value, text, .. }) =
            s.answer(k, net, Some(motor), &reading.id)
        else {
            wrong.push(format!("{} can't be read", reading.id));
            continue;
        };
        for (observation, said) in figures::states(k, Some(motor), reading, value).unwrap() {
            if s.state(net, &observation) != Some(said) {
                wrong.push(format!("{} is {text}, and {observation} is {}", reading.id, state(&observation)));
            }
        }
        if let Some(reason) = s.forbids(k, net, &reading.id) {
            wrong.push(format!("{} is {text}, though: {reason}", reading.id));
        }
    }
    if figure("no-load-speed").is_some_and(|rpm| (rpm <= 200.0) != (state("bench-run") == "dead")) {
        wrong.push(format!("{:?} rpm, and it is {}", figure("no-load-speed"), state("bench-run")));
    }
    if figure("speed-ratio").is_some_and(|r| (0.98..=1.02).contains(&r) != (state("speeds-alike") == "yes")) {
        wrong.push(format!(
            "{:?} forward over reverse, alike: {}",
            figure("speed-ratio"),
            state("speeds-alike")
        ));
    }
    wrong
}

/// Every figure agrees with every other, and with what is seen: whatever is wrong with the motor.
#[test]
fn no_motor_contradicts_itself() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    let mut wrong = Vec::new();
    let mut dead = 0;
    for (f, fault) in std::iter::once(None).chain(net.faults.iter().map(Some)).enumerate() {
        let motor = &k.motors[f % k.motors.len()];
        let faults: Vec<&str> = fault.iter().map(|f| f.id.as_str()).collect();
        for s in some(&k, &net, motor, &faults, 40) {
            dead += usize::from(s.state(&net, "bench-run") == Some(2));
            wrong.extend(impossible(&k, &net, motor, &s).into_iter().map(|w| format!("{faults:?}: {w}")));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(dead > 5, "{dead}");
}

#[test]
fn motors_without_data_are_refused_in_words() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    let mut motor = k.motors[0].clone();
    motor.nominal.shift_remove("no-load-speed");
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    let draw = |motor: &Motor, rng: &mut ChaCha8Rng| {
        Specimen::draw(&k, &net, &Wish::healthy(), rng).unwrap().physical(&k, &net, motor, rng).unwrap_err()
    };
    assert_eq!(draw(&motor, &mut rng), "the data of `heron-540-3` lack `no-load-speed`");
    let mut motor = k.motors[0].clone();
    motor.nominal.insert("no-load-current".into(), "900 A".into());
    assert!(draw(&motor, &mut rng).contains("contradict each other"));
}

/// Where network and physics disagree most about what a fault shows; `cargo test -- --ignored --nocapture`.
#[test]
#[ignore = "prints a table for maintainers of the knowledge"]
fn disagreements_between_network_and_physics() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    let banded: Vec<usize> = (0..net.observations.len())
        .filter(|i| {
            k.readings.iter().any(|r| r.bands.iter().any(|b| b.observation == net.observations[*i].id))
        })
        .collect();
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let mut rows = Vec::new();
    for fault in &net.faults {
        let wish = Wish { must_complain: false, ..Wish::exactly([&*fault.id]) };
        let maker = Maker::new(&k, &net, &wish).unwrap();
        let mut counts = vec![([0.0_f64; 4], [0.0_f64; 4], 0.0_f64); banded.len()];
        for motor in k.motors.iter().filter(|m| m.rebuildable) {
            for _ in 0..100 {
                let drawn = maker.draw(&mut rng).unwrap();
                let physical = drawn.clone().physical(&k, &net, motor, &mut rng).unwrap();
                for (&i, (a, b, n)) in banded.iter().zip(&mut counts) {
                    a[drawn.observations[i]] += 1.0;
                    b[physical.observations[i]] += 1.0;
                    *n += 1.0;
                }
            }
        }
        for (&i, (a, b, n)) in banded.iter().zip(counts) {
            let apart: f64 = a.iter().zip(&b).map(|(a, b)| (a - b).abs()).sum::<f64>() / (2.0 * n);
            let share = |all: [f64; 4]| {
                all[..net.observations[i].states.len()]
                    .iter()
                    .map(|c| format!("{:.2}", c / n))
                    .collect::<Vec<_>>()
                    .join(" ")
            };
            rows.push((
                apart,
                format!(
                    "{:28} {:26} network {:20} physics {}",
                    fault.id,
                    net.observations[i].id,
                    share(a),
                    share(b)
                ),
            ));
        }
    }
    rows.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (apart, row) in rows.iter().take(60) {
        println!("{apart:.2} {row}");
    }
}
