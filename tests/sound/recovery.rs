//! How well speed ratio, speed and clicks are recovered from noisy recordings whose truth is known.
//!
//! `cargo test --release --test sound -- --nocapture` plays all seeds and prints what was reached; without
//! optimisation a part of them is played.

use commsense::bench::sound::{
    Comparison, Recording, Settings, SoundError, clicks, compare, shaft_speed, steadiest,
};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use super::synth::{Click, Recipe};

const SEEDS: u64 = if cfg!(debug_assertions) { 8 } else { 200 };

fn listen(recipe: &Recipe, settings: &Settings) -> (Recording, f64) {
    let (bytes, rpm) = recipe.wav();
    (Recording::listen(&bytes[..], bytes.len() as u64, settings).unwrap(), rpm)
}

fn both(forward: &Recipe, reverse: &Recipe) -> (Result<Comparison, SoundError>, f64) {
    let settings = Settings::default();
    let ((f, truth_f), (r, truth_r)) = (listen(forward, &settings), listen(reverse, &settings));
    let compared = steadiest(&f, &settings).and_then(|sf| {
        let sr = steadiest(&r, &settings)?;
        compare((&f, &sf), (&r, &sr), &settings)
    });
    (compared, truth_f / truth_r)
}

#[test]
fn ratio_from_three_seconds_at_ten_decibel() {
    let (mut right, mut covered, mut errors, mut widths) = (0, 0, Vec::new(), Vec::new());
    let seeds = SEEDS;
    for seed in 0..seeds {
        let mut random = StdRng::seed_from_u64(seed);
        let bars = [3, 5, 7][random.random_range(0..3)];
        let rpm: f64 = random.random_range(8_000.0..30_000.0);
        let ratio: f64 = random.random_range(0.85..1.15);
        let wander = random.random_range(0.0..0.003);
        let rate = [44_100, 48_000, 16_000][random.random_range(0..3)];
        let hum = ([50.0, 60.0][random.random_range(0..2)], random.random_range(0.0..0.1));
        let rotation = random.random_range(0.1..0.5);
        let recipe = |take, rpm| Recipe { wander, rate, hum, rotation, ..Recipe::new(seed, take, bars, rpm) };
        let (compared, truth) = both(&recipe(2 * seed, rpm), &recipe(2 * seed + 1, rpm / ratio));
        match compared {
            Ok(c) => {
                let error = c.ratio.value / truth - 1.0;
                right += usize::from(error.abs() < 0.005);
                covered += usize::from(c.ratio.low <= truth && truth <= c.ratio.high);
                if error.abs() > 0.001
                    || !(c.ratio.low <= truth && truth <= c.ratio.high)
                    || c.other.is_some()
                {
                    println!(
                        "seed {seed}: {bars} bars {rpm:.0} rpm ratio {truth:.4} found {:?} agreement {:.2} {:?} tones {}/{}/{} wander {wander:.4}",
                        c.ratio,
                        c.agreement,
                        c.other,
                        c.matches.len(),
                        c.forward.len(),
                        c.reverse.len()
                    );
                }
                errors.push(error.abs());
                widths.push(c.ratio.deviation);
            }
            Err(e) => {
                println!("seed {seed}: {bars} bars {rpm:.0} rpm ratio {truth:.4} wander {wander:.4}: {e}")
            }
        }
    }
    errors.sort_by(f64::total_cmp);
    widths.sort_by(f64::total_cmp);
    println!(
        "within 0.5 %: {right}/{seeds}; covered: {covered}; median error {:.5}, 95 %: {:.5}; median deviation {:.5}",
        errors[errors.len() / 2],
        errors[errors.len() * 95 / 100],
        widths[widths.len() / 2]
    );
    assert!(right * 100 >= seeds as usize * 99, "{right}");
    assert!(covered * 100 >= seeds as usize * 95, "{covered}");
}

#[test]
fn shaft_speed_and_clicks() {
    let settings = Settings::default();
    let (mut runs, mut settled, mut right, mut approximate, mut found) = (0, 0, 0, 0, [0; 3]);
    let (mut missed, mut invented) = (0, 0);
    let seeds = SEEDS / 4;
    for seed in 1000..1000 + seeds {
        let mut random = StdRng::seed_from_u64(seed);
        let bars = [3, 5, 7][random.random_range(0..3)];
        let rpm: f64 = random.random_range(8_000.0..30_000.0);
        for (kind, click) in [Click::None, Click::PerTurn, Click::PerBar].into_iter().enumerate() {
            let recipe = |take, rpm| Recipe { click, ..Recipe::new(seed, take, bars, rpm) };
            let (f, truth) = listen(&recipe(2 * seed, rpm), &settings);
            let (r, _) = listen(&recipe(2 * seed + 1, rpm / 1.04), &settings);
            let (sf, sr) = (steadiest(&f, &settings).unwrap(), steadiest(&r, &settings).unwrap());
            let compared = compare((&f, &sf), (&r, &sr), &settings).unwrap();
            let speed = |rpm: Option<f64>| {
                let shaft = shaft_speed(&compared, &sf, &[bars], rpm, &settings).unwrap();
                shaft.and_then(|s| s.settled).map(|s| s.forward.value)
            };
            let good = |speed: f64| (speed / truth - 1.0).abs() < 0.002;
            runs += 1;
            let alone = speed(None);
            settled += usize::from(alone.is_some());
            right += usize::from(alone.is_some_and(good));
            approximate += usize::from(speed(Some(rpm * 1.15)).is_some_and(good));
            let heard = clicks(&f, &sf, truth / 60.0, &[bars]).unwrap();
            found[kind] += usize::from(heard.per_turn == Some([0, 1, bars][kind]));
            missed += usize::from(click == Click::PerTurn && heard.per_turn == Some(0));
            invented += usize::from(click != Click::PerTurn && heard.per_turn == Some(1));
        }
    }
    println!(
        "speed alone: {settled} of {runs} settled, {right} of them right; with an approximate speed {approximate} \
         right; clicks named: none {}, per turn {}, per bar {} of {seeds} each; per turn missed {missed}, invented {invented}",
        found[0], found[1], found[2]
    );
    assert_eq!(settled, right, "a speed that is said to be settled is right");
    assert!(approximate * 100 >= runs * 97, "{approximate} of {runs}");
    assert!(invented * 50 <= 2 * seeds as usize, "{invented}");
    assert!(missed * 20 <= seeds as usize, "{missed}");
}

#[test]
fn a_speed_that_never_settles_widens_the_interval() {
    let (seeds, mut covered) = (SEEDS.div_ceil(10), 0);
    for seed in 0..seeds {
        let recipe = |take, rpm| Recipe { drift: 0.04, seconds: 6.0, ..Recipe::new(seed, take, 3, rpm) };
        let (compared, truth) = both(&recipe(2 * seed, 18_000.0), &recipe(2 * seed + 1, 18_000.0 / 1.06));
        let ratio = compared.unwrap().ratio;
        // Each drifts by 4 %: the stretches that are compared may lie at its other ends.
        assert!((ratio.value / truth - 1.0).abs() < 0.03, "seed {seed}: {ratio:?}");
        covered += u64::from(ratio.low <= truth && truth <= ratio.high);
    }
    println!("speeds that drift by 4 %: covered {covered} of {seeds}");
    assert!(covered * 20 >= seeds * 18, "{covered} of {seeds}");
}

#[test]
fn running_up_and_down_is_left_out() {
    let settings = Settings::default();
    for seed in 0..SEEDS.div_ceil(10) {
        let recipe = |take, rpm| Recipe { ramps: 0.8, seconds: 4.0, ..Recipe::new(seed, take, 5, rpm) };
        let (compared, truth) = both(&recipe(2 * seed, 22_000.0), &recipe(2 * seed + 1, 22_000.0 / 0.93));
        assert!((compared.unwrap().ratio.value / truth - 1.0).abs() < 0.005, "seed {seed}");
        let (f, _) = listen(&recipe(2 * seed, 22_000.0), &settings);
        let steady = steadiest(&f, &settings).unwrap();
        // 0.4 s of silence and 0.8 s of running up come first.
        assert!(steady.seconds.0 > 0.9 && steady.seconds.1 < 5.7, "seed {seed}: {:?}", steady.seconds);
        assert!(steady.seconds.1 - steady.seconds.0 > 3.2, "seed {seed}: {:?}", steady.seconds);
    }
}
