//! Motor sound made to order: a seeded generator of recordings whose truth is known.
//!
//! The shaft's tones move with the speed; the can's resonances, the room's hum and noise do not. Tones are
//! harmonics of the rotation with random levels and phases: slots at bars times the rotation, commutation
//! at twice that, weaker ones between from unbalance and unequal coils.
#![allow(dead_code)]
#![allow(clippy::unwrap_used)]

use std::f64::consts::TAU;
use std::io::Cursor;

use hound::{SampleFormat, WavSpec, WavWriter};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

/// What clicks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Click {
    None,
    PerTurn,
    PerBar,
}

/// A motor, its microphone and its room.
#[derive(Debug, Clone)]
pub struct Recipe {
    /// Of the motor: levels of its tones that both directions share, its can.
    pub motor: u64,
    /// Of the direction: what it changes in the levels.
    pub way: u64,
    /// Of this recording: phases, noise, wavering.
    pub take: u64,
    pub bars: u32,
    pub rpm: f64,
    pub rate: u32,
    pub seconds: f64,
    /// Power of the motor over that of the noise, dB.
    pub snr_db: f64,
    /// Level of the rotation's own harmonics, those that are no multiple of the bars, against slot tones.
    pub rotation: f64,
    /// Slow random wavering of the speed, as a share of it (standard deviation).
    pub wander: f64,
    /// Change of speed from begin to end, as a share of it.
    pub drift: f64,
    /// Mains frequency and level against the motor's (amplitude); 0 for none.
    pub hum: (f64, f64),
    pub click: Click,
    /// Seconds of running up before, and down after; silence half as long outside them.
    pub ramps: f64,
}

impl Recipe {
    pub fn new(motor: u64, take: u64, bars: u32, rpm: f64) -> Self {
        Recipe {
            motor,
            way: take,
            take,
            bars,
            rpm,
            rate: 48_000,
            seconds: 3.0,
            snr_db: 10.0,
            rotation: 0.3,
            wander: 0.001,
            drift: 0.0,
            hum: (50.0, 0.05),
            click: Click::None,
            ramps: 0.0,
        }
    }

    /// Samples of one channel, peak 0.7 of full scale, and the mean speed of the steady part, rpm.
    pub fn samples(&self) -> (Vec<f64>, f64) {
        let rate = f64::from(self.rate);
        let mut way = StdRng::seed_from_u64(self.way.wrapping_add(1_000_003));
        let mut character = StdRng::seed_from_u64(self.motor);
        let mut random = StdRng::seed_from_u64(self.take.wrapping_mul(0x9e37_79b9).wrapping_add(17));
        let steady = (self.seconds * rate) as usize;
        let ramp = (self.ramps * rate) as usize;
        let quiet = ramp / 2;
        let total = steady + 2 * ramp + 2 * quiet;

        // Tones: order, amplitude, phase.
        let highest = (14_000.0_f64.min(0.45 * rate) * 60.0 / self.rpm) as u32;
        let tones: Vec<(f64, f64, f64)> = (1..=highest.min(80))
            .map(|order| {
                let own = 10f64.powf(character.random_range(-6.0..6.0) / 20.0);
                let direction = 10f64.powf(way.random_range(-3.0..3.0) / 20.0);
                let kind = if order % (2 * self.bars) == 0 {
                    1.0
                } else if order % self.bars == 0 {
                    0.7
                } else {
                    self.rotation
                };
                let fall = (f64::from(order) / f64::from(self.bars)).max(1.0).powf(-0.8);
                (f64::from(order), own * direction * kind * fall, random.random_range(0.0..TAU))
            })
            .collect();

        let wander: Vec<(f64, f64, f64)> = (0..4)
            .map(|_| {
                let hz = random.random_range(0.1..1.5);
                (hz, self.wander * std::f64::consts::FRAC_1_SQRT_2, random.random_range(0.0..TAU))
            })
            .collect();
        let speed = |i: usize| -> f64 {
            let at = i as f64 - (quiet + ramp) as f64;
            let along = (at / steady as f64).clamp(0.0, 1.0) - 0.5;
            let slow: f64 = wander.iter().map(|(hz, a, p)| a * (TAU * hz * at / rate + p).sin()).sum();
            let up = if ramp == 0 {
                1.0
            } else {
                let from_end = i.min(total - 1 - i) as f64 - quiet as f64;
                (from_end / ramp as f64).clamp(0.0, 1.0).sqrt()
            };
            self.rpm / 60.0 * up * (1.0 + self.drift * along + slow)
        };

        let mut can = Can::new(&mut character, rate);
        let (mut turn, mut clean, mut turned) = (0.0, Vec::with_capacity(total), 0.0);
        for i in 0..total {
            let hz = speed(i);
            if (quiet + ramp..quiet + ramp + steady).contains(&i) {
                turned += hz / rate;
            }
            let before = turn;
            turn += hz / rate;
            let strong = hz * 60.0 / self.rpm;
            let mut x: f64 = if strong < 0.02 {
                0.0
            } else {
                tones.iter().map(|(n, a, p)| a * (TAU * n * turn + p).sin()).sum::<f64>() * strong
            };
            let clicks = match self.click {
                Click::None => 0.0,
                Click::PerTurn => 1.0,
                Click::PerBar => f64::from(self.bars),
            };
            if clicks > 0.0 && (before * clicks).floor() < (turn * clicks).floor() {
                x += 120.0 / clicks.sqrt();
            }
            clean.push(can.filter(x));
        }
        let power =
            clean[quiet + ramp..quiet + ramp + steady].iter().map(|x| x * x).sum::<f64>() / steady as f64;

        // Half white, half brown-ish noise (falls with frequency), then hum.
        let level = (power / 10f64.powf(self.snr_db / 10.0)).sqrt();
        let (mut white, mut low) = (Vec::with_capacity(total), Vec::with_capacity(total));
        let mut state = 0.0;
        for _ in 0..total {
            // Sum of three uniforms: near enough to normal.
            let mut even = || (0..3).map(|_| random.random_range(-1.0..1.0)).sum::<f64>();
            white.push(even());
            state = 0.97 * state + even();
            low.push(state);
        }
        let rms = |x: &[f64]| (x.iter().map(|v| v * v).sum::<f64>() / x.len().max(1) as f64).sqrt();
        let (w, l) = (rms(&white), rms(&low));
        let half = level * std::f64::consts::FRAC_1_SQRT_2;
        let (mains, loud) = self.hum;
        let mut all: Vec<f64> = (0..total)
            .map(|i| {
                let t = i as f64 / rate;
                let hum: f64 = (1..=6)
                    .map(|n| (TAU * mains * f64::from(n) * t + f64::from(n * n)).sin() / f64::from(n).sqrt())
                    .sum();
                clean[i] + half * (white[i] / w + low[i] / l) + loud * power.sqrt() * hum
            })
            .collect();
        let peak = all.iter().fold(0.0_f64, |m, x| m.max(x.abs())).max(1e-12);
        all.iter_mut().for_each(|x| *x *= 0.7 / peak);
        (all, turned / self.seconds * 60.0)
    }

    /// As a WAV file of 16 bits, and the true speed, rpm.
    pub fn wav(&self) -> (Vec<u8>, f64) {
        let (samples, rpm) = self.samples();
        (wav(&samples, self.rate, 1, 16, SampleFormat::Int), rpm)
    }
}

/// Three resonances at fixed frequencies beside the direct way.
struct Can {
    parts: Vec<[f64; 5]>,
}

impl Can {
    fn new(random: &mut StdRng, rate: f64) -> Self {
        let parts = [(700.0, 1600.0), (2000.0, 3600.0), (4200.0, 7500.0)]
            .into_iter()
            .map(|(low, high)| {
                let (hz, q) = (random.random_range(low..high), random.random_range(4.0..15.0));
                let turn = TAU * f64::min(hz, 0.45 * rate) / rate;
                let radius = (-turn / (2.0 * q)).exp();
                [2.0 * radius * turn.cos(), -radius * radius, 2.0 * (1.0 - radius), 0.0, 0.0]
            })
            .collect();
        Can { parts }
    }

    fn filter(&mut self, x: f64) -> f64 {
        let mut sum = 0.3 * x;
        for part in &mut self.parts {
            let y = part[0] * part[3] + part[1] * part[4] + part[2] * x;
            part[4] = part[3];
            part[3] = y;
            sum += y;
        }
        sum
    }
}

/// Writes samples (all channels in turn, full scale 1) as a WAV file.
pub fn wav(samples: &[f64], rate: u32, channels: u16, bits: u16, format: SampleFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let spec = WavSpec { channels, sample_rate: rate, bits_per_sample: bits, sample_format: format };
    let mut writer = WavWriter::new(&mut bytes, spec).unwrap();
    let full = 2f64.powi(i32::from(bits) - 1) - 1.0;
    for x in samples {
        match format {
            SampleFormat::Float => writer.write_sample(*x as f32).unwrap(),
            SampleFormat::Int => writer.write_sample((x.clamp(-1.0, 1.0) * full).round() as i32).unwrap(),
        }
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

/// Noise alone, evenly spread, of an amplitude.
pub fn noise(seed: u64, seconds: f64, rate: u32, amplitude: f64) -> Vec<f64> {
    let mut random = StdRng::seed_from_u64(seed);
    (0..(seconds * f64::from(rate)) as usize).map(|_| random.random_range(-amplitude..amplitude)).collect()
}

/// Something like speech: a buzz whose pitch glides, in syllables with gaps.
pub fn speech(seed: u64, seconds: f64, rate: u32) -> Vec<f64> {
    let mut random = StdRng::seed_from_u64(seed);
    let (mut out, mut phase) = (Vec::new(), 0.0);
    let total = (seconds * f64::from(rate)) as usize;
    while out.len() < total {
        let length = (random.random_range(0.12..0.35) * f64::from(rate)) as usize;
        let (from, to) = (random.random_range(90.0..220.0), random.random_range(90.0..220.0));
        for i in 0..length {
            let along = i as f64 / length as f64;
            phase += (from + (to - from) * along) / f64::from(rate);
            let buzz: f64 = (1..25).map(|n| (TAU * f64::from(n) * phase).sin() / f64::from(n)).sum();
            out.push(0.2 * buzz * (std::f64::consts::PI * along).sin() + random.random_range(-0.01..0.01));
        }
        let gap = random.random_range(0.03..0.15) * f64::from(rate);
        out.extend((0..gap as usize).map(|_| random.random_range(-0.01..0.01)));
    }
    out.truncate(total);
    out
}
