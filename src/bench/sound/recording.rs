//! One recording, read once: its spectra in a fixed number of blocks, and how good it is.

use std::io::Read;

use super::{Settings, SoundError, Wav};
use crate::bench::spectrum::{Envelope, Frames, Spectrum, window_length};

/// Most blocks that are kept. When they are full, neighbours are merged and each lasts twice as long.
const MOST_BLOCKS: usize = 96;

/// From this share of full scale on a sample counts as clipped.
const CLIPPED: f64 = 0.9985;

/// Levels in the click band are evened out over this distance to both sides, Hz: wider than the rotation of
/// a fast motor, so that its tones stay, narrower than the can's resonances.
const EVENED: f64 = 500.0;

/// Softest recording that still is one, as mean square of full scale: -90 dB.
const SILENCE: f64 = 1e-9;

/// Mean spectra of a short time.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// Power of all channels together, up to the highest frequency looked at.
    pub spectrum: Spectrum,
    /// Squares of the squared envelope's mean (first value) and of its lines, in the click band.
    pub envelope: Vec<f64>,
}

impl Block {
    fn merge(&mut self, other: &Block) {
        let all = (self.spectrum.windows + other.spectrum.windows).max(1) as f64;
        let (a, b) = (self.spectrum.windows as f64 / all, other.spectrum.windows as f64 / all);
        for (mine, theirs) in self.envelope.iter_mut().zip(&other.envelope) {
            *mine = *mine * a + theirs * b;
        }
        self.spectrum.merge(&other.spectrum);
    }
}

/// What is to be said about a recording before anything is read from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Quality {
    /// Length, s.
    pub seconds: f64,
    /// Sampling rate, Hz.
    pub rate: f64,
    /// Channels.
    pub channels: usize,
    /// Level, dB of full scale (a full sine is -3).
    pub level_db: f64,
    /// Share of clipped samples, 0 to 1.
    pub clipped: f64,
    /// Share of samples that are not numbers, 0 to 1; they count as 0.
    pub not_numbers: f64,
    /// Share of the promised samples that is missing at the end, 0 to 1.
    pub missing: f64,
}

/// A recording, boiled down.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// Length, level and faults of the recording.
    pub quality: Quality,
    /// Its spectra, in the order of time.
    pub blocks: Vec<Block>,
    /// Time between the beginnings of two blocks, s.
    pub step: f64,
    /// Highest frequency that was looked at, Hz.
    pub highest: f64,
    /// A number that is the same for the same samples.
    pub fingerprint: u64,
}

impl Recording {
    /// Listens to a WAV file of `length` bytes.
    ///
    /// Channels are added as powers, so that two microphones in opposite phase do not cancel.
    ///
    /// # Errors
    ///
    /// [`SoundError`] for what is no WAV file, too short, empty, silent or damaged.
    pub fn listen(source: impl Read, length: u64, settings: &Settings) -> Result<Self, SoundError> {
        let mut wav = Wav::open(source, length)?;
        let spec = wav.spec();
        let mut listener = Listener::new(f64::from(spec.sample_rate), usize::from(spec.channels), settings)?;
        let missing = wav.missing;
        wav.pieces(|samples| listener.hear(samples))?;
        listener.finish(missing)
    }

    /// Listens to samples in memory: all channels in turn, full scale 1.
    ///
    /// # Errors
    ///
    /// As [`Recording::listen`].
    pub fn of_samples(
        samples: &[f64],
        rate: f64,
        channels: usize,
        settings: &Settings,
    ) -> Result<Self, SoundError> {
        let mut listener = Listener::new(rate, channels.max(1), settings)?;
        for piece in samples.chunks(16_384 / channels.max(1) * channels.max(1)) {
            listener.hear(piece)?;
        }
        listener.finish(0.0)
    }
}

/// Takes samples in, keeps blocks.
struct Listener {
    rate: f64,
    channels: usize,
    length: usize,
    kept: usize,
    frames: Vec<Frames>,
    envelope: Option<Envelope>,
    one: Vec<f64>,
    /// Windows that are being added up over the channels.
    open: Vec<Block>,
    blocks: Vec<Block>,
    windows_a_block: usize,
    lowest: f64,
    highest: f64,
    samples: u64,
    square: f64,
    clipped: u64,
    not_numbers: u64,
    fingerprint: u64,
}

impl Listener {
    fn new(rate: f64, channels: usize, settings: &Settings) -> Result<Self, SoundError> {
        let length = window_length(rate, settings.bin);
        let bin = rate / length as f64;
        let highest = settings.highest.min(0.45 * rate);
        let frames = (0..channels).map(|_| Frames::new(length)).collect::<Result<_, _>>()?;
        // A rate too low for the click band leaves clicks unheard; the speed is heard all the same.
        let band = (settings.click_band.0, settings.click_band.1.min(0.45 * rate));
        let envelope =
            Envelope::new(rate, length, band.0, band.1).ok().map(|e| e.evened(rate, length, EVENED));
        Ok(Listener {
            rate,
            channels,
            length,
            kept: ((highest / bin).ceil() as usize + 3).min(length / 2 + 1),
            frames,
            envelope,
            one: Vec::new(),
            open: Vec::new(),
            blocks: Vec::new(),
            windows_a_block: 1,
            lowest: settings.lowest,
            highest,
            samples: 0,
            square: 0.0,
            clipped: 0,
            not_numbers: 0,
            fingerprint: 0xcbf2_9ce4_8422_2325,
        })
    }

    /// Takes samples of all channels in turn; an incomplete last turn is left out.
    fn hear(&mut self, samples: &[f64]) -> Result<(), SoundError> {
        let samples = &samples[..samples.len() / self.channels * self.channels];
        for channel in 0..self.channels {
            self.one.clear();
            for &sample in samples.iter().skip(channel).step_by(self.channels) {
                let sample = if sample.is_finite() && sample.abs() < 1e6 {
                    sample
                } else {
                    self.not_numbers += 1;
                    0.0
                };
                self.square += sample * sample;
                self.clipped += u64::from(sample.abs() >= CLIPPED);
                self.fingerprint = (self.fingerprint ^ sample.to_bits()).wrapping_mul(0x0100_0000_01b3);
                self.one.push(sample);
            }
            self.transform(channel)?;
        }
        self.samples += samples.len() as u64;
        for done in std::mem::take(&mut self.open) {
            self.keep(done);
        }
        Ok(())
    }

    /// Adds the windows that the samples in `one` complete.
    fn transform(&mut self, channel: usize) -> Result<(), SoundError> {
        let (scale, kept, bin_hz) = (Spectrum::scale(self.length), self.kept, self.rate / self.length as f64);
        let (open, envelope) = (&mut self.open, &mut self.envelope);
        let lines = envelope.as_ref().map_or(1, |e| e.len().min(kept));
        let mut window = 0;
        let mut failed = None;
        self.frames[channel].push(&self.one, |bins| {
            if open.len() == window {
                let spectrum = Spectrum { bin_hz, power: vec![0.0; kept], windows: 1 };
                open.push(Block { spectrum, envelope: vec![0.0; lines] });
            }
            let block = &mut open[window];
            window += 1;
            for (to, bin) in block.spectrum.power.iter_mut().zip(bins) {
                *to += bin.norm_sqr() * scale;
            }
            match envelope.as_mut().map(|e| e.lines(bins)) {
                Some(Ok(found)) => {
                    for (to, line) in block.envelope.iter_mut().zip(found) {
                        *to += line * line;
                    }
                }
                Some(Err(e)) => failed = Some(e),
                None => {}
            }
        })?;
        failed.map_or(Ok(()), |e| Err(e.into()))
    }

    fn keep(&mut self, block: Block) {
        match self.blocks.last_mut() {
            Some(last) if last.spectrum.windows < self.windows_a_block => last.merge(&block),
            _ => self.blocks.push(block),
        }
        let full = self.blocks.len() == MOST_BLOCKS
            && self.blocks.last().is_some_and(|b| b.spectrum.windows == self.windows_a_block);
        if full {
            let mut merged = Vec::with_capacity(MOST_BLOCKS);
            let mut old = std::mem::take(&mut self.blocks).into_iter();
            while let Some(mut first) = old.next() {
                if let Some(second) = old.next() {
                    first.merge(&second);
                }
                merged.push(first);
            }
            self.blocks = merged;
            self.windows_a_block *= 2;
        }
    }

    fn finish(self, missing: f64) -> Result<Recording, SoundError> {
        if self.samples == 0 {
            return Err(SoundError::Empty);
        }
        let share = |count: u64| count as f64 / self.samples as f64;
        let seconds = self.samples as f64 / self.channels as f64 / self.rate;
        let mean_square = self.square / self.samples as f64;
        // A constant voltage of the sound card is no sound.
        let heard =
            self.blocks.iter().map(|b| b.spectrum.mean_square(self.lowest, self.highest)).fold(0.0, f64::max);
        if share(self.not_numbers) > 0.1 {
            return Err(SoundError::NotNumbers(100.0 * share(self.not_numbers)));
        }
        if self.blocks.len() < 4 {
            return Err(SoundError::TooShort(seconds));
        }
        if heard < SILENCE {
            return Err(SoundError::Silent);
        }
        let quality = Quality {
            seconds,
            rate: self.rate,
            channels: self.channels,
            level_db: 10.0 * libm::log10(mean_square),
            clipped: share(self.clipped),
            not_numbers: share(self.not_numbers),
            missing,
        };
        let step = self.windows_a_block as f64 * self.length as f64 / 2.0 / self.rate;
        Ok(Recording {
            quality,
            blocks: self.blocks,
            step,
            highest: self.highest,
            fingerprint: self.fingerprint,
        })
    }
}
