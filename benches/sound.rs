//! How long a minute of sound takes: 48 kHz stereo, read from a WAV file in memory to its steady stretch.
//!
//! `cargo bench --bench sound`

#[path = "../tests/synth/mod.rs"]
mod synth;

use commsense::bench::sound::{Recording, Settings, compare, shaft_speed, steadiest};
use hound::SampleFormat;
use synth::Recipe;

fn main() {
    divan::main();
}

/// A minute of a motor, stereo in opposite phase.
fn minute(take: u64, rpm: f64) -> Vec<u8> {
    let one = Recipe { seconds: 60.0, ..Recipe::new(7, take, 3, rpm) }.samples().0;
    let both: Vec<f64> = one.iter().flat_map(|x| [*x, -x]).collect();
    synth::wav(&both, 48_000, 2, 16, SampleFormat::Int)
}

#[divan::bench(sample_count = 5)]
fn one_minute_48_khz_stereo(bencher: divan::Bencher) {
    let (bytes, settings) = (minute(1, 20_100.0), Settings::default());
    bencher.bench(|| {
        let heard = Recording::listen(&bytes[..], bytes.len() as u64, &settings).expect("a recording");
        steadiest(&heard, &settings).expect("a tone").spectrum.windows
    });
}

#[divan::bench(sample_count = 5)]
fn two_minutes_compared(bencher: divan::Bencher) {
    let (ahead, back, settings) = (minute(1, 20_100.0), minute(2, 19_200.0), Settings::default());
    bencher.bench(|| {
        let listen = |bytes: &[u8]| {
            let heard = Recording::listen(bytes, bytes.len() as u64, &settings).expect("a recording");
            let steady = steadiest(&heard, &settings).expect("a tone");
            (heard, steady)
        };
        let (f, r) = (listen(&ahead), listen(&back));
        let compared = compare((&f.0, &f.1), (&r.0, &r.1), &settings).expect("a ratio");
        shaft_speed(&compared, &f.1, &[3], None, &settings).expect("sound arguments");
        compared.ratio.value
    });
}
