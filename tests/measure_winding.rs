//! How often the faulty coil is named, and how often the intervals hold, over many sets with meter noise.

use commsense::bench::winding::judge::{FALSE_ALARM, smallest_short};
use commsense::bench::winding::ring::readings;
use commsense::bench::winding::{Limits, Meter, Pairs, Verdict, judge};
use proptest::prelude::*;
use rand::{Rng as _, SeedableRng, rngs::StdRng};

const LIMITS: Limits = Limits { open_above: 10.0, joint_above: 1.1, part_below: 0.95, shorted_below: 0.1 };
const METER: Meter = Meter { fraction: 0.02, step: 0.0 };
const SETS: usize = 2000;

/// A normal deviate, by Box and Muller's method.
fn normal(rng: &mut StdRng) -> f64 {
    let u: f64 = rng.random_range(f64::MIN_POSITIVE..1.0);
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * rng.random::<f64>()).cos()
}

fn read_with(meter: &Meter, coils: &[f64], rng: &mut StdRng) -> Vec<f64> {
    readings(coils).iter().map(|m| (m + meter.deviation(*m) * normal(rng)).max(0.0)).collect()
}

/// In how many of the sets exactly the faulty coils are named, and as what they are. `faulty`: times a sound
/// coil, and the verdict; one coil each, not beside each other.
fn named(k: usize, sets: usize, faulty: &[(f64, Verdict)]) -> f64 {
    let mut rng = StdRng::seed_from_u64(k as u64 * 1000 + (faulty[0].0.min(9.0) * 100.0) as u64);
    let hits = (0..sets)
        .filter(|set| {
            let mut coils = vec![0.09; k];
            let mut expected = vec![Verdict::Sound; k];
            for (i, (times, verdict)) in faulty.iter().enumerate() {
                coils[(set + 2 * i) % k] *= times;
                expected[(set + 2 * i) % k] = *verdict;
            }
            let m = read_with(&METER, &coils, &mut rng);
            let Ok(solved) = Pairs::of(&METER, 0.0, &m).and_then(|p| p.coils()) else { return false };
            judge(&solved, &METER, 0.0, &LIMITS).verdicts == expected
        })
        .count();
    hits as f64 / sets as f64
}

const OPEN: (f64, Verdict) = (f64::INFINITY, Verdict::Open);
const DEAD: (f64, Verdict) = (0.0, Verdict::Shorted);
const PART: (f64, Verdict) = (0.75, Verdict::PartShorted);
const JOINT: (f64, Verdict) = (1.4, Verdict::PoorJoint);

#[test]
fn the_faulty_coil_is_named_in_99_of_100_sets() {
    println!("share of sets at 2 % noise in which exactly the faulty coil is named, as what it is");
    println!("bars    open   short   three quarters   smallest short shown");
    let mut poor = Vec::new();
    for k in [3, 4, 5, 7, 12, 24] {
        // Many bars take long without optimisation.
        let sets = if k > 16 { SETS / 4 } else { SETS };
        let rates = [OPEN, DEAD, PART].map(|faulty| named(k, sets, &[faulty]));
        let seen = smallest_short(0.09, k, &METER, 0.0, &LIMITS);
        println!("{k:>4}  {:.4}  {:.4}           {:.4}   {seen:.3}", rates[0], rates[1], rates[2]);
        poor.extend(rates.into_iter().filter(|r| *r < 0.99).map(|r| (k, r)));
    }
    assert!(poor.is_empty(), "{poor:?}");
}

#[test]
fn two_faulty_coils_are_named_together() {
    println!("share of sets at 2 % noise in which exactly both faulty coils are named, as what they are");
    let mut poor = Vec::new();
    for k in [5, 7, 12] {
        for (name, pair) in [
            ("open and short", [OPEN, DEAD]),
            ("open and three quarters", [OPEN, PART]),
            ("twice three quarters", [PART, PART]),
            ("three quarters and a joint of 1.4", [PART, JOINT]),
        ] {
            let rate = named(k, SETS / 4, &pair);
            println!("{k:>4} bars, {name}: {rate:.4}");
            poor.extend((rate < 0.97).then_some((k, name, rate)));
        }
    }
    assert!(poor.is_empty(), "{poor:?}");
}

#[test]
fn sound_rings_are_left_alone() {
    for k in [3, 5, 7, 12] {
        let mut rng = StdRng::seed_from_u64(k as u64);
        let alarms = (0..SETS)
            .filter(|_| {
                let m = read_with(&METER, &vec![0.09; k], &mut rng);
                let solved = Pairs::of(&METER, 0.0, &m).unwrap_or_else(|e| panic!("{e}")).coils();
                let solved = solved.unwrap_or_else(|e| panic!("{e}"));
                judge(&solved, &METER, 0.0, &LIMITS).verdicts.iter().any(|v| *v != Verdict::Sound)
            })
            .count();
        println!("{k} bars: {alarms} false alarms in {SETS}");
        // 6 are expected at most; 16 is four deviations above that.
        assert!(alarms as f64 <= FALSE_ALARM * SETS as f64 + 10.0, "{k}: {alarms}");
    }
}

#[test]
fn intervals_hold_the_truth_in_95_of_100() {
    for coils in [
        vec![0.09, 0.09, 0.09],
        vec![0.09, 0.07, 0.09, 0.09, 0.1],
        vec![0.09, 2.0, 0.09],
        vec![0.09, 0.9, 0.09, 0.09, 0.09, 0.09, 0.05],
        vec![0.09, f64::INFINITY, 0.09],
        vec![0.09, f64::INFINITY, 0.09, 0.09, 0.09],
    ] {
        let mut rng = StdRng::seed_from_u64(11);
        let mut held = vec![0usize; coils.len()];
        for _ in 0..SETS {
            let m = read_with(&METER, &coils, &mut rng);
            let solved = Pairs::of(&METER, 0.0, &m).and_then(|p| p.coils()).unwrap_or_else(|e| panic!("{e}"));
            for (i, c) in solved.each.iter().enumerate() {
                held[i] += usize::from(c.low <= coils[i] && coils[i] <= c.high);
            }
        }
        let shares: Vec<f64> = held.iter().map(|h| *h as f64 / SETS as f64).collect();
        println!("{coils:?}: {shares:?}");
        // Four deviations of the count below 95 %, and a little for deviations taken from noisy readings.
        assert!(shares.iter().all(|s| *s > 0.93), "{coils:?}: {shares:?}");
    }
}

/// A resistance of any size, or none.
fn any_reading() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => (-6.0..6.0f64).prop_map(|log| 10f64.powf(log)),
        4 => 0.05..0.1f64,
        2 => Just(0.0),
        1 => Just(f64::INFINITY),
        1 => (-300.0..300.0f64).prop_map(|log| 10f64.powf(log)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 2000, rng_seed: proptest::test_runner::RngSeed::Fixed(235), ..ProptestConfig::default() })]

    /// Whatever is read, there is an answer without a hole in it, or a reason.
    #[test]
    fn any_set_gives_numbers_or_a_reason(
        readings in prop::collection::vec(any_reading(), 0..12),
        fraction in prop_oneof![Just(0.0), 0.0..0.49f64],
        step in prop_oneof![Just(0.0), 0.0..0.2f64],
        lead in prop_oneof![Just(0.0), 0.0..0.2f64],
    ) {
        let meter = Meter { fraction, step };
        let Ok(coils) = Pairs::of(&meter, lead, &readings).and_then(|p| p.coils()) else { return Ok(()) };
        let said = judge(&coils, &meter, lead, &LIMITS);
        prop_assert_eq!(said.verdicts.len(), readings.len());
        prop_assert!(said.sound > 0.0 && said.sound.is_finite(), "{:?}", said);
        prop_assert!(said.smallest_short > 0.0);
        for coil in &coils.each {
            prop_assert!(coil.value >= 0.0 && coil.deviation >= 0.0, "{:?}", coil);
            prop_assert!(coil.low <= coil.value && coil.value <= coil.high, "{:?}", coil);
        }
    }
}
