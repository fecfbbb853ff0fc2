//! How well the speed ratio is recovered from noisy recordings whose truth is known.
#![allow(clippy::unwrap_used)]

mod synth;

use commsense::bench::sound::{Comparison, Recording, Settings, SoundError, clicks, compare, shaft_speed, steadiest};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use synth::{Click, Recipe};

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
    let seeds = 200;
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
                if error.abs() > 0.001 || !(c.ratio.low <= truth && truth <= c.ratio.high) || c.other.is_some() {
                    println!(
                        "seed {seed}: {bars} bars {rpm:.0} rpm ratio {truth:.4} found {:?} agreement {:.2} {:?} tones {}/{}/{} wander {wander:.4}",
                        c.ratio, c.agreement, c.other, c.matches.len(), c.forward.len(), c.reverse.len()
                    );
                }
                errors.push(error.abs());
                widths.push(c.ratio.deviation);
            }
            Err(e) => println!("seed {seed}: {bars} bars {rpm:.0} rpm ratio {truth:.4} wander {wander:.4}: {e}"),
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
    let (mut settled, mut right, mut clicked) = (0, 0, [0; 3]);
    let seeds = if cfg!(debug_assertions) { 6 } else { 40 };
    for seed in 1000..1000 + seeds {
        let mut random = StdRng::seed_from_u64(seed);
        let bars = [3, 5, 7][random.random_range(0..3)];
        let rpm: f64 = random.random_range(8_000.0..30_000.0);
        for (kind, click) in [Click::None, Click::PerTurn, Click::PerBar].into_iter().enumerate() {
            let recipe = |take, rpm| Recipe { click, ..Recipe::new(seed, take, bars, rpm) };
            let ((f, truth), (r, _)) =
                (listen(&recipe(2 * seed, rpm), &settings), listen(&recipe(2 * seed + 1, rpm / 1.04), &settings));
            let (sf, sr) = (steadiest(&f, &settings).unwrap(), steadiest(&r, &settings).unwrap());
            let compared = compare((&f, &sf), (&r, &sr), &settings).unwrap();
            let shaft = shaft_speed(&compared, &sf, &[bars], Some(rpm * 1.1), &settings).unwrap();
            let alone = shaft_speed(&compared, &sf, &[bars], None, &settings).unwrap();
            let speed = alone.as_ref().and_then(|s| s.settled).map(|s| s.forward.value);
            if let Some(speed) = speed {
                settled += 1;
                right += i32::from((speed / truth - 1.0).abs() < 0.003);
            }
            let c = clicks(&f, &sf, truth / 60.0, bars).unwrap();
            let want = [0, 1, bars][kind];
            clicked[kind] += i32::from(c.per_turn == Some(want));
            println!(
                "seed {seed} {bars} bars {truth:.0} {click:?}: {:?} alone {speed:?} {c:?}",
                shaft.and_then(|s| s.settled).map(|s| s.forward.value)
            );
        }
    }
    println!("settled {settled} of {}, right {right}; clicks {clicked:?} of {seeds}", 3 * seeds);
}
