//! Noise, the converter of an oscilloscope, and the files that it writes.

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use std::fmt::Write;

/// Random numbers of a seed.
#[derive(Debug, Clone)]
pub struct Noise(StdRng);

impl Noise {
    /// The stream of this seed.
    pub fn new(seed: u64) -> Self {
        Noise(StdRng::seed_from_u64(seed))
    }

    /// Even between 0 and 1.
    pub fn even(&mut self) -> f64 {
        self.0.random::<f64>()
    }

    /// Even between two bounds.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }

    /// Normal with mean 0 and deviation 1 (Box and Muller).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.even()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.even()).cos()
    }

    /// One of the first `n` whole numbers.
    pub fn below(&mut self, n: usize) -> usize {
        self.0.random_range(0..n)
    }
}

/// A converter: noise, then steps, then its range.
#[derive(Debug, Clone, Copy)]
pub struct Adc {
    /// Noise, one standard deviation, ampere.
    pub noise: f64,
    /// Bits over the whole range.
    pub bits: u32,
    /// Reads from minus this to this, ampere.
    pub range: f64,
}

impl Adc {
    /// What it makes of a current.
    pub fn read(&self, ampere: f64, noise: &mut Noise) -> f64 {
        let step = 2.0 * self.range / f64::from(1u32 << self.bits);
        let noisy = ampere + self.noise * noise.normal();
        (noisy / step).round().clamp(-self.range / step, self.range / step - 1.0) * step
    }
}

/// A file of time and current with a header.
pub fn csv(header: &str, time: &[f64], current: &[f64]) -> String {
    let mut out = format!("{header}\n");
    for (t, i) in time.iter().zip(current) {
        writeln!(out, "{t:.7},{i:.5}").expect("a text can grow");
    }
    out
}
