//! WAV files as they come from phones and recorders: whole, cut short, or with a wrong length in the head.

use std::io::{Cursor, Read};

use hound::{SampleFormat, WavReader, WavSpec};

use super::SoundError;

/// How much may stand before the samples: pictures and notes of recorder programs.
const LONGEST_HEAD: usize = 16 << 20;

/// Samples asked for at once, of all channels together.
const PIECE: usize = 16_384;

/// A WAV file that is being read.
pub struct Wav<R: Read> {
    reader: WavReader<std::io::Chain<Cursor<Vec<u8>>, R>>,
    /// Share of the promised samples that are not in the file, 0 to 1.
    pub missing: f64,
}

impl<R: Read> Wav<R> {
    /// Opens a WAV file of `length` bytes.
    ///
    /// A head that promises more than the file holds, or was never completed because the recorder stopped
    /// in the middle, is put right: what is there is used, and [`Wav::missing`] says what is not.
    ///
    /// # Errors
    ///
    /// [`SoundError::NotWav`], [`SoundError::Read`], [`SoundError::Rate`].
    pub fn open(mut source: R, length: u64) -> Result<Self, SoundError> {
        let (head, missing) = read_head(&mut source, length)?;
        let reader = WavReader::new(Cursor::new(head).chain(source)).map_err(plain)?;
        let spec = reader.spec();
        if !(8_000..=192_000).contains(&spec.sample_rate) {
            return Err(SoundError::Rate(spec.sample_rate));
        }
        if spec.channels == 0 || spec.channels > 16 {
            return Err(SoundError::NotWav(format!("it has {} channels", spec.channels)));
        }
        Ok(Wav { reader, missing })
    }

    /// Sampling rate, channels and kind of sample.
    pub fn spec(&self) -> WavSpec {
        self.reader.spec()
    }

    /// Reads to the end; `each` is given the samples of all channels in turn, full scale 1, piece by piece.
    /// Reading stops without an error where the file ends early.
    ///
    /// # Errors
    ///
    /// Those of `each`.
    pub fn pieces(
        &mut self,
        mut each: impl FnMut(&[f64]) -> Result<(), SoundError>,
    ) -> Result<(), SoundError> {
        let spec = self.spec();
        let channels = usize::from(spec.channels);
        let size = (PIECE / channels).max(1) * channels;
        match spec.sample_format {
            SampleFormat::Float => {
                run(self.reader.samples::<f32>().map_while(Result::ok), f64::from, size, &mut each)
            }
            SampleFormat::Int => {
                let scale = libm::exp2(1.0 - f64::from(spec.bits_per_sample));
                let samples = self.reader.samples::<i32>().map_while(Result::ok);
                run(samples, |s| f64::from(s) * scale, size, &mut each)
            }
        }
    }
}

/// Hands samples on in pieces of `size`.
fn run<T>(
    samples: impl Iterator<Item = T>,
    to: impl Fn(T) -> f64,
    size: usize,
    each: &mut impl FnMut(&[f64]) -> Result<(), SoundError>,
) -> Result<(), SoundError> {
    let mut piece = Vec::with_capacity(size);
    for sample in samples {
        piece.push(to(sample));
        if piece.len() == size {
            each(&piece)?;
            piece.clear();
        }
    }
    each(&piece)
}

fn plain(error: hound::Error) -> SoundError {
    match error {
        hound::Error::IoError(e) if e.kind() == std::io::ErrorKind::UnexpectedEof => {
            SoundError::NotWav("it ends within its head".to_owned())
        }
        hound::Error::IoError(e) => SoundError::Read(e),
        hound::Error::Unsupported => {
            SoundError::NotWav("its samples are packed in a way not known".to_owned())
        }
        other => SoundError::NotWav(other.to_string()),
    }
}

/// Reads all chunks before the samples, with the length of the samples put right; and the share of them
/// that is missing.
fn read_head(source: &mut impl Read, length: u64) -> Result<(Vec<u8>, f64), SoundError> {
    let mut head = Vec::new();
    take(source, &mut head, 12)?;
    if head.is_empty() {
        return Err(SoundError::Empty);
    }
    if head.len() < 12 || &head[..4] != b"RIFF" || &head[8..12] != b"WAVE" {
        return Err(SoundError::NotWav("it does not begin as one".to_owned()));
    }
    let mut block = 1;
    loop {
        let at = head.len();
        take(source, &mut head, 8)?;
        if head.len() < at + 8 {
            return Err(SoundError::NotWav("it ends before the first sample".to_owned()));
        }
        let size = u32::from_le_bytes([head[at + 4], head[at + 5], head[at + 6], head[at + 7]]);
        if &head[at..at + 4] == b"data" {
            let there = length.saturating_sub(head.len() as u64);
            let promised = u64::from(size);
            // 0 and the largest number stand for "not known yet" where a recorder could not come back.
            let open = promised == 0 || size == u32::MAX;
            let used = if open { there } else { promised.min(there) };
            let whole = used.min(u64::from(u32::MAX) - 1) / block * block;
            let missing = if open || there >= promised { 0.0 } else { 1.0 - there as f64 / promised as f64 };
            head[at + 4..at + 8].copy_from_slice(&(whole as u32).to_le_bytes());
            return Ok((head, missing));
        }
        let padded = size as usize + size as usize % 2;
        if head.len() + padded > LONGEST_HEAD {
            return Err(SoundError::NotWav("a part before its samples is far too long".to_owned()));
        }
        take(source, &mut head, padded)?;
        if &head[at..at + 4] == b"fmt " && head.len() >= at + 22 {
            block = u64::from(u16::from_le_bytes([head[at + 20], head[at + 21]])).max(1);
        }
    }
}

/// Appends up to `count` bytes of `source`.
fn take(source: &mut impl Read, to: &mut Vec<u8>, count: usize) -> std::io::Result<()> {
    source.take(count as u64).read_to_end(to).map(|_| ())
}
