//! Recordings as they come: every kind of sample, and everything that can be wrong with a file.

use std::f64::consts::TAU;

use commsense::bench::sound::{Comparison, Recording, Settings, SoundError, compare, steadiest};
use hound::SampleFormat;

use super::synth::{Recipe, noise, speech, wav};

const RATE: u32 = 16_000;

fn recipe(take: u64, rpm: f64) -> Recipe {
    Recipe { rate: RATE, ..Recipe::new(5, take, 3, rpm) }
}

fn hear(bytes: &[u8]) -> Result<Recording, SoundError> {
    Recording::listen(bytes, bytes.len() as u64, &Settings::default())
}

fn compared(forward: &[u8], reverse: &[u8]) -> Result<Comparison, SoundError> {
    let settings = Settings::default();
    let (f, r) = (hear(forward)?, hear(reverse)?);
    compare((&f, &steadiest(&f, &settings)?), (&r, &steadiest(&r, &settings)?), &settings)
}

#[track_caller]
fn says<T: std::fmt::Debug>(result: Result<T, SoundError>, words: &str) {
    let said = result.unwrap_err().to_string();
    assert!(said.contains(words), "{said}");
}

#[test]
fn every_kind_of_sample_gives_the_same_ratio() {
    let ((a, true_a), (b, true_b)) = (recipe(1, 20_000.0).samples(), recipe(2, 19_000.0).samples());
    let truth = true_a / true_b;
    let reverse = wav(&b, RATE, 1, 16, SampleFormat::Int);
    for (bits, format) in [
        (8, SampleFormat::Int),
        (16, SampleFormat::Int),
        (24, SampleFormat::Int),
        (32, SampleFormat::Int),
        (32, SampleFormat::Float),
    ] {
        let found = compared(&wav(&a, RATE, 1, bits, format), &reverse).unwrap();
        assert!((found.ratio.value / truth - 1.0).abs() < 0.002, "{bits} bits {format:?}: {:?}", found.ratio);
    }
}

#[test]
fn channels_in_opposite_phase_do_not_cancel() {
    let (a, b) = (recipe(1, 20_000.0).samples().0, recipe(2, 19_000.0).samples().0);
    let both: Vec<f64> = a.iter().flat_map(|x| [*x, -x]).collect();
    let (one, two) = (wav(&a, RATE, 1, 16, SampleFormat::Int), wav(&both, RATE, 2, 16, SampleFormat::Int));
    let reverse = wav(&b, RATE, 1, 16, SampleFormat::Int);
    let (one, two) = (compared(&one, &reverse).unwrap(), compared(&two, &reverse).unwrap());
    assert!((one.ratio.value / two.ratio.value - 1.0).abs() < 1e-5);
}

#[test]
fn rates_may_differ() {
    let (a, true_a) = Recipe { rate: 8_000, ..recipe(1, 20_000.0) }.samples();
    let (b, true_b) = Recipe { rate: 44_100, ..recipe(2, 19_000.0) }.samples();
    let found =
        compared(&wav(&a, 8_000, 1, 16, SampleFormat::Int), &wav(&b, 44_100, 1, 16, SampleFormat::Int))
            .unwrap();
    assert!((found.ratio.value / (true_a / true_b) - 1.0).abs() < 0.003, "{:?}", found.ratio);
    let fast = wav(&[0.0; 100], 384_000, 1, 16, SampleFormat::Int);
    says(hear(&fast), "384000 Hz is not handled");
    assert!(hear(&wav(&noise(1, 2.0, 192_000, 0.1), 192_000, 1, 16, SampleFormat::Int)).is_ok());
}

#[test]
fn a_file_cut_short_is_used_as_far_as_it_goes() {
    let (whole, rpm) = recipe(1, 20_000.0).wav();
    let (reverse, other) = recipe(2, 19_000.0).wav();
    let cut = &whole[..whole.len() * 6 / 10 + 1];
    let heard = hear(cut).unwrap();
    assert!((heard.quality.missing - 0.4).abs() < 0.01, "{:?}", heard.quality);
    let found = compared(cut, &reverse).unwrap();
    assert!((found.ratio.value / (rpm / other) - 1.0).abs() < 0.005);
    // A recorder that could not come back leaves 0 or the largest number as the length.
    for open in [0u32, u32::MAX] {
        let mut bytes = whole.clone();
        bytes[40..44].copy_from_slice(&open.to_le_bytes());
        let heard = hear(&bytes).unwrap();
        assert!((heard.quality.seconds - 3.0).abs() < 1e-6 && heard.quality.missing == 0.0);
    }
    for end in [0, 3, 11, 20, 40, 44] {
        assert!(hear(&whole[..end]).is_err(), "{end}");
    }
}

#[test]
fn what_is_no_recording_is_refused() {
    says(hear(b""), "empty");
    says(hear(b"ID3\x04 this is a song, not a WAV file at all"), "no WAV file");
    says(hear(&wav(&[], RATE, 1, 16, SampleFormat::Int)), "empty");
    says(hear(&wav(&vec![0.0; 64_000], RATE, 1, 16, SampleFormat::Int)), "silent");
    says(hear(&wav(&vec![0.25; 64_000], RATE, 1, 16, SampleFormat::Int)), "silent");
    says(hear(&wav(&noise(1, 0.3, RATE, 0.2), RATE, 1, 16, SampleFormat::Int)), "0.30 s, too short");
    let mut broken = recipe(1, 20_000.0).samples().0;
    for x in broken.iter_mut().step_by(3) {
        *x = f64::NAN;
    }
    says(hear(&wav(&broken, RATE, 1, 32, SampleFormat::Float)), "not numbers");
}

#[test]
fn some_bad_samples_are_counted() {
    let mut samples = recipe(1, 20_000.0).samples().0;
    for x in samples.iter_mut().step_by(1000) {
        *x = f64::NAN;
    }
    let heard = hear(&wav(&samples, RATE, 1, 32, SampleFormat::Float)).unwrap();
    assert!((heard.quality.not_numbers - 0.001).abs() < 1e-4);
    assert!(steadiest(&heard, &Settings::default()).is_ok());
}

#[test]
fn a_clipped_recording_is_measured_and_marked() {
    let (mut a, true_a) = recipe(1, 20_000.0).samples();
    let (reverse, true_b) = recipe(2, 19_000.0).wav();
    a.iter_mut().for_each(|x| *x = (*x * 4.0).clamp(-1.0, 1.0));
    let bytes = wav(&a, RATE, 1, 16, SampleFormat::Int);
    let clipped = hear(&bytes).unwrap().quality.clipped;
    let truth = a.iter().filter(|x| x.abs() >= 1.0).count() as f64 / a.len() as f64;
    assert!(truth > 0.05 && (clipped - truth).abs() < 0.01, "{clipped} {truth}");
    let found = compared(&bytes, &reverse).unwrap();
    assert!((found.ratio.value / (true_a / true_b) - 1.0).abs() < 0.005, "{:?}", found.ratio);
}

#[test]
fn sounds_that_are_no_motor() {
    let settings = Settings::default();
    let motor = recipe(2, 19_000.0).wav().0;
    for seed in 0..8 {
        let plain = wav(&noise(seed, 4.0, RATE, 0.3), RATE, 1, 16, SampleFormat::Int);
        says(compared(&plain, &motor), "no motor tone found");
        let talk = wav(&speech(seed, 4.0, RATE), RATE, 1, 16, SampleFormat::Int);
        says(compared(&talk, &motor), "no motor tone found");
    }
    for mains in [50.0, 60.0] {
        let mut hum = noise(9, 4.0, RATE, 0.01);
        for (i, x) in hum.iter_mut().enumerate() {
            let t = i as f64 / f64::from(RATE);
            *x += (1..=5).map(|n| 0.1 * (TAU * mains * f64::from(n) * t).sin()).sum::<f64>();
        }
        let hum = wav(&hum, RATE, 1, 16, SampleFormat::Int);
        says(compared(&hum, &motor), "only the hum of the mains");
    }
    let tone: Vec<f64> = (0..64_000)
        .map(|i| 0.3 * (TAU * 1234.0 * i as f64 / f64::from(RATE)).sin())
        .zip(noise(3, 4.0, RATE, 0.01))
        .map(|(a, b)| a + b)
        .collect();
    let heard = Recording::of_samples(&tone, f64::from(RATE), 1, &settings).unwrap();
    let steady = steadiest(&heard, &settings);
    says(steady.and_then(|s| compare((&heard, &s), (&heard, &s), &settings)), "no motor tone found");
}

#[test]
fn hum_does_not_pass_for_equal_speeds() {
    for seed in 0..4u64 {
        let loud = |take, rpm| Recipe { hum: (50.0, 1.5), ..recipe(take + 10 * seed, rpm) };
        let ((a, true_a), (b, true_b)) = (loud(1, 20_000.0).wav(), loud(2, 18_600.0).wav());
        let found = compared(&a, &b).unwrap();
        assert!((found.ratio.value / (true_a / true_b) - 1.0).abs() < 0.005, "{:?}", found.ratio);
        assert_eq!(found.hum, Some(50.0));
    }
}

#[test]
fn one_direction_twice_is_noticed() {
    let once = recipe(1, 20_000.0);
    let again = Recipe { take: 3, ..once.clone() };
    let other = Recipe { way: 9, take: 4, ..once.clone() };
    let found = compared(&once.wav().0, &once.wav().0).unwrap();
    assert!(found.same_samples && found.alike() && (found.ratio.value - 1.0).abs() < 1e-9);
    let found = compared(&once.wav().0, &again.wav().0).unwrap();
    assert!(!found.same_samples && found.alike(), "{}", found.level_scatter);
    // Neutral brushes run alike both ways; the levels of their tones still differ.
    let found = compared(&once.wav().0, &other.wav().0).unwrap();
    assert!(!found.alike() && (found.ratio.value - 1.0).abs() < 0.003, "{}", found.level_scatter);
}

#[test]
fn two_motors_have_nothing_in_common() {
    // Far apart in speed, so that no ratio in the range fits.
    let found = compared(&recipe(1, 27_000.0).wav().0, &recipe(2, 11_100.0).wav().0);
    match found {
        Err(SoundError::NothingInCommon { .. }) => {}
        Ok(found) => assert!(found.agreement < 0.6 || found.other.is_some(), "{found:?}"),
        Err(other) => panic!("{other}"),
    }
}

#[test]
fn what_is_kept_does_not_grow_with_the_file() {
    let settings = Settings::default();
    let second = noise(1, 1.0, RATE, 0.2);
    let size = |seconds: usize| {
        let samples: Vec<f64> = second.iter().copied().cycle().take(seconds * RATE as usize).collect();
        let heard = Recording::of_samples(&samples, f64::from(RATE), 1, &settings).unwrap();
        assert!((heard.quality.seconds - seconds as f64).abs() < 1e-9);
        heard.blocks.len()
    };
    assert!(size(10) < 96 && size(60) <= 96 && size(200) <= 96);
}
