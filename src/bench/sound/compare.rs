//! The speed ratio of two recordings, from tones that move together.

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use super::{Recording, Settings, SoundError, Steady};
use crate::bench::Estimate;
use crate::bench::spectrum::{Line, LogAxis, Spectrum, correlate, peak_offset};

/// Places in an octave of the axis on which the spectra are compared: 0.035 %.
const PER_OCTAVE: f64 = 2000.0;

/// Loudest a bin may count above the floor, dB, so that a few loud tones do not outweigh all others.
const MOST_DB: f64 = 25.0;

/// Tones nearer than this to a harmonic of the mains, in bins, may be hum.
const HUM_BINS: f64 = 1.2;

/// Error of the place of a line by its interpolation between bins, in bins.
const INTERPOLATION: f64 = 0.02;

/// Least agreement of two recordings of one motor (judgement: strangers stay below, motors at 10 dB above
/// the noise reach 0.5 and more).
const LEAST_AGREEMENT: f64 = 0.25;

/// Least number of tones that must agree.
const LEAST_TONES: usize = 4;

/// A tone of the forward recording and the one that it is in the reverse recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Match {
    /// Forward.
    pub forward: Line,
    /// Reverse.
    pub reverse: Line,
}

/// Another ratio at which the tones agree nearly as well.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Other {
    /// Forward speed over reverse speed.
    pub ratio: f64,
    /// How well it agrees, as a share of the best.
    pub share: f64,
}

/// A ratio that was tried: how well tones agree at it, and which (their places in both lists).
struct Try {
    score: f64,
    ratio: f64,
    pairs: Vec<(usize, usize)>,
}

/// What two recordings say about the two speeds.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Forward speed over reverse speed.
    pub ratio: Estimate,
    /// Share of the tones' levels that agree at this ratio, 0 to 1.
    pub agreement: f64,
    /// The best other ratio, if one agrees nearly as well.
    pub other: Option<Other>,
    /// The tones that agree.
    pub matches: Vec<Match>,
    /// Lines of the forward recording, hum left out.
    pub forward: Vec<Line>,
    /// Lines of the reverse recording, hum left out.
    pub reverse: Vec<Line>,
    /// Mains frequency whose hum was left out, Hz.
    pub hum: Option<f64>,
    /// How much the levels of tones that agree differ between the recordings, standard deviation, dB.
    pub level_scatter: f64,
    /// The samples are the same.
    pub same_samples: bool,
}

impl Comparison {
    /// Whether both recordings seem to be of the same direction: same speed and the same levels of tones.
    pub fn alike(&self) -> bool {
        let same_speed = (self.ratio.value - 1.0).abs() < 0.003;
        self.same_samples || (same_speed && self.matches.len() >= 6 && self.level_scatter < 1.0)
    }
}

/// Compares a recording of the motor running forward with one of it running in reverse.
///
/// The spectra over the logarithm of frequency give the ratios that come into question; at each, tones are
/// paired, and the ratio of most agreement is taken. Its value is the robust mean over the pairs. Its
/// uncertainty adds up the scatter between pairs, the scatter when the blocks of both recordings are drawn
/// anew ([`Settings::draws`], [`Settings::seed`]), the interpolation between bins, and speeds that were not
/// settled next to the stretches that are compared ([`Steady::unsettled`]).
///
/// # Errors
///
/// [`SoundError::NoTone`] and [`SoundError::NothingInCommon`].
pub fn compare(
    forward: (&Recording, &Steady),
    reverse: (&Recording, &Steady),
    settings: &Settings,
) -> Result<Comparison, SoundError> {
    let (mut ahead, mut back) = (
        Tones::of(forward.1, forward.0.highest, settings),
        Tones::of(reverse.1, reverse.0.highest, settings),
    );
    let hum = [50.0, 60.0].into_iter().find(|hz| ahead.hums(*hz) || back.hums(*hz));
    if let Some(hz) = hum {
        ahead.without_hum(hz);
        back.without_hum(hz);
    }
    for tones in [&ahead, &back] {
        if tones.lines.len() < LEAST_TONES {
            return Err(SoundError::NoTone(if hum.is_some() {
                "only the hum of the mains stands out of the noise"
            } else {
                "nothing but noise, or a single tone"
            }));
        }
    }
    let axis = LogAxis::new(settings.lowest, ahead.highest.min(back.highest), PER_OCTAVE);
    let most = (PER_OCTAVE * libm::log2(settings.widest_ratio)).ceil() as usize;
    let peaks = correlate(&ahead.over(&axis), &back.over(&axis), most, 0.01 * PER_OCTAVE);
    let mut tried: Vec<Try> = peaks
        .iter()
        .take(8)
        .filter_map(|peak| {
            let (ratio, pairs) = settle(&ahead, &back, axis.ratio(peak.places));
            let score = agreement(&ahead, &back, &pairs);
            (pairs.len() >= LEAST_TONES).then_some(Try { score, ratio, pairs })
        })
        .collect();
    tried.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut tried = tried.into_iter();
    let nothing =
        || SoundError::NothingInCommon { low: 1.0 / settings.widest_ratio, high: settings.widest_ratio };
    let Try { score, ratio: value, pairs } =
        tried.next().filter(|t| t.score >= LEAST_AGREEMENT).ok_or_else(nothing)?;
    let other = tried
        .find(|t| (t.ratio / value - 1.0).abs() > 0.008)
        .map(|t| Other { ratio: t.ratio, share: t.score / score })
        .filter(|o| o.share >= 0.8);
    let matches: Vec<Match> =
        pairs.iter().map(|&(f, r)| Match { forward: ahead.lines[f], reverse: back.lines[r] }).collect();
    let differences: Vec<f64> = matches.iter().map(|m| m.forward.db - m.reverse.db).collect();
    let deviation = deviation(&matches, value, (forward, &ahead), (reverse, &back), settings);
    Ok(Comparison {
        ratio: Estimate::normal(value, deviation),
        agreement: score,
        other,
        level_scatter: scatter(&differences),
        matches,
        forward: ahead.lines,
        reverse: back.lines,
        hum,
        same_samples: forward.0.fingerprint == reverse.0.fingerprint,
    })
}

/// Lines and levels of one recording.
struct Tones {
    bin_hz: f64,
    highest: f64,
    excess: Vec<f64>,
    lines: Vec<Line>,
    /// Lines below the lowest frequency too, where hum is strongest.
    low_lines: Vec<Line>,
}

impl Tones {
    fn of(steady: &Steady, highest: f64, settings: &Settings) -> Self {
        let spectrum = &steady.spectrum;
        let floor = spectrum.floor(150.0);
        // The fewer windows, the higher noise alone reaches: about 10 dB for 4, 7 dB for 16, 5 for 100.
        let least = 4.0 + 12.0 / libm::sqrt(spectrum.windows as f64);
        let mut excess = spectrum.excess(&floor, MOST_DB);
        for value in &mut excess {
            *value = (*value - 0.6 * least).max(0.0);
        }
        let all = spectrum.lines(&floor, 40.0, highest, least);
        let (lines, low_lines) = all.iter().copied().partition(|l| l.hz >= settings.lowest);
        let mut tones = Tones { bin_hz: spectrum.bin_hz, highest, excess, lines, low_lines };
        tones.low_lines = all;
        tones
    }

    /// Whether the mains of this frequency hums: three of its first six harmonics stand out.
    fn hums(&self, mains: f64) -> bool {
        let seen = (1..=6).filter(|n| {
            let hz = f64::from(*n) * mains;
            self.low_lines.iter().any(|l| (l.hz - hz).abs() < 0.4 * self.bin_hz && l.db > 8.0)
        });
        seen.count() >= 3
    }

    fn without_hum(&mut self, mains: f64) {
        let near = |hz: f64, reach: f64| {
            let order = (hz / mains).round();
            order <= 20.0 && (hz - order * mains).abs() <= reach
        };
        let bin = self.bin_hz;
        self.lines.retain(|l| !near(l.hz, HUM_BINS * bin));
        for (i, value) in self.excess.iter_mut().enumerate() {
            if near(i as f64 * bin, 2.5 * bin) {
                *value = 0.0;
            }
        }
    }

    fn over(&self, axis: &LogAxis) -> Vec<f64> {
        axis.resample(&self.excess, self.bin_hz)
    }

    /// The line next to a frequency.
    fn nearest(&self, hz: f64) -> Option<usize> {
        let after = self.lines.partition_point(|l| l.hz < hz);
        let distance = |i: &usize| (self.lines[*i].hz - hz).abs();
        [after.checked_sub(1), (after < self.lines.len()).then_some(after)]
            .into_iter()
            .flatten()
            .min_by(|a, b| distance(a).total_cmp(&distance(b)))
    }
}

/// How far two lines may lie apart and still be the same tone, as a share of their frequency.
fn reach(hz: f64, ahead: &Tones, back: &Tones) -> f64 {
    0.6 * ahead.bin_hz.max(back.bin_hz) / hz + 0.0015
}

/// Pairs tones at a ratio and settles the ratio on them, until both stay.
fn settle(ahead: &Tones, back: &Tones, start: f64) -> (f64, Vec<(usize, usize)>) {
    let mut ratio = start;
    let mut pairs = Vec::new();
    for _ in 0..4 {
        pairs = pair(ahead, back, ratio);
        let logs: Vec<(f64, f64)> = pairs
            .iter()
            .map(|&(f, r)| {
                let (f, r) = (ahead.lines[f], back.lines[r]);
                (libm::log(f.hz / r.hz), weight(f, r))
            })
            .collect();
        if logs.is_empty() {
            break;
        }
        ratio = libm::exp(robust_mean(&logs));
    }
    (ratio, pairs)
}

/// Tones that belong together at a ratio: each is the other's nearest.
fn pair(ahead: &Tones, back: &Tones, ratio: f64) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    for (f, line) in ahead.lines.iter().enumerate() {
        let Some(r) = back.nearest(line.hz / ratio) else { continue };
        let apart = libm::log(line.hz / (back.lines[r].hz * ratio)).abs();
        if apart <= reach(line.hz, ahead, back) && ahead.nearest(back.lines[r].hz * ratio) == Some(f) {
            pairs.push((f, r));
        }
    }
    pairs
}

/// Weight of a pair: a line's place in bins is known alike everywhere, so its ratio is the better known the
/// higher it is; beyond 3 kHz wavering of the speed widens the lines and takes that advantage away. Levels
/// matter where a line is faint.
fn weight(forward: Line, reverse: Line) -> f64 {
    let hz = forward.hz.min(reverse.hz).min(3000.0);
    let db = forward.db.min(reverse.db).min(MOST_DB);
    hz * hz * db
}

/// Weighted mean, values far from the weighted median pulled in (Huber's weights).
fn robust_mean(values: &[(f64, f64)]) -> f64 {
    let middle = weighted_median(values);
    let distances: Vec<(f64, f64)> = values.iter().map(|(v, w)| ((v - middle).abs(), *w)).collect();
    let spread = (1.4826 * weighted_median(&distances)).max(1e-6);
    let (mut sum, mut all) = (0.0, 0.0);
    for (value, weight) in values {
        let far = (value - middle).abs() / spread;
        let weight = weight * if far > 1.5 { 1.5 / far } else { 1.0 };
        sum += weight * value;
        all += weight;
    }
    if all > 0.0 { sum / all } else { middle }
}

fn weighted_median(values: &[(f64, f64)]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = sorted.iter().map(|v| v.1).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    for (value, weight) in &sorted {
        sum += weight;
        if sum >= half {
            return *value;
        }
    }
    sorted.last().map_or(0.0, |v| v.0)
}

/// Share of the levels of both recordings that is paired; what pairs by chance is taken off.
fn agreement(ahead: &Tones, back: &Tones, pairs: &[(usize, usize)]) -> f64 {
    let sum = |tones: &Tones| tones.lines.iter().map(|l| l.db.min(MOST_DB)).sum::<f64>();
    let all = sum(ahead) + sum(back);
    let paired: f64 =
        pairs.iter().map(|&(f, r)| ahead.lines[f].db.min(MOST_DB) + back.lines[r].db.min(MOST_DB)).sum();
    let by_chance = |tones: &Tones, others: &Tones| {
        let chance = |line: &Line| {
            let reach = reach(line.hz, ahead, back) * line.hz;
            let (low, high) = (0.8 * line.hz, 1.25 * line.hz);
            let near = others.lines.iter().filter(|o| o.hz > low && o.hz < high).count();
            (2.0 * reach * near as f64 / (high - low)).min(1.0)
        };
        tones.lines.iter().map(|l| l.db.min(MOST_DB) * chance(l)).sum::<f64>()
    };
    let chance = by_chance(ahead, back) + by_chance(back, ahead);
    if all > chance { ((paired - chance) / (all - chance)).max(0.0) } else { 0.0 }
}

/// Standard deviation of values.
fn scatter(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    if n < 2.0 {
        return 0.0;
    }
    let mean = values.iter().sum::<f64>() / n;
    libm::sqrt(values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0))
}

/// Standard deviation of the ratio.
fn deviation(
    matches: &[Match],
    ratio: f64,
    forward: ((&Recording, &Steady), &Tones),
    reverse: ((&Recording, &Steady), &Tones),
    settings: &Settings,
) -> f64 {
    let logs: Vec<(f64, f64)> = matches
        .iter()
        .map(|m| (libm::log(m.forward.hz / m.reverse.hz / ratio), weight(m.forward, m.reverse)))
        .collect();
    let all: f64 = logs.iter().map(|l| l.1).sum();
    let between = logs.iter().map(|(v, w)| w * w * v * v).sum::<f64>() / (all * all);
    let mean_hz = matches.iter().map(|m| weight(m.forward, m.reverse) * m.forward.hz).sum::<f64>() / all;
    let bins = INTERPOLATION * libm::hypot(forward.1.bin_hz, reverse.1.bin_hz) / mean_hz;
    let redrawn = redraw(matches, forward.0.1, reverse.0.1, settings);
    let unsettled = libm::hypot(forward.0.1.unsettled, reverse.0.1.unsettled);
    ratio * libm::sqrt(between + bins * bins + redrawn * redrawn + unsettled * unsettled)
}

/// Scatter of the logarithm of the ratio when the blocks of both recordings are drawn anew: of the places
/// of the lines, and of the mean speed where that wavers.
fn redraw(matches: &[Match], forward: &Steady, reverse: &Steady, settings: &Settings) -> f64 {
    let mut random = StdRng::seed_from_u64(settings.seed);
    let ratios: Vec<f64> = (0..settings.draws)
        .map(|_| {
            let (ahead, back) = (Redrawn::of(forward, &mut random), Redrawn::of(reverse, &mut random));
            let logs: Vec<(f64, f64)> = matches
                .iter()
                .map(|m| {
                    let (f, r) = (ahead.place(m.forward.hz), back.place(m.reverse.hz));
                    (libm::log(f / r), weight(m.forward, m.reverse))
                })
                .collect();
            robust_mean(&logs) + ahead.speed - back.speed
        })
        .collect();
    scatter(&ratios)
}

/// Blocks of a steady stretch, drawn with putting back.
struct Redrawn<'a> {
    blocks: Vec<&'a Spectrum>,
    /// Logarithm of their mean speed over that of all.
    speed: f64,
}

impl<'a> Redrawn<'a> {
    fn of(steady: &'a Steady, random: &mut StdRng) -> Self {
        let parts: Vec<&(f64, Spectrum)> =
            steady.parts.iter().map(|_| &steady.parts[random.random_range(0..steady.parts.len())]).collect();
        let speed = parts.iter().map(|p| p.0).sum::<f64>() / parts.len() as f64;
        Redrawn { blocks: parts.iter().map(|p| &p.1).collect(), speed }
    }

    /// Where the line next to a frequency lies now.
    fn place(&self, hz: f64) -> f64 {
        let bin_hz = self.blocks.first().map_or(1.0, |b| b.bin_hz);
        let at = (hz / bin_hz).round() as usize;
        let power = |i: usize| {
            self.blocks.iter().map(|b| b.power.get(i).copied().unwrap_or(0.0) * b.windows as f64).sum::<f64>()
        };
        let nearby: [f64; 5] = std::array::from_fn(|i| power((at + i).saturating_sub(2)));
        let top = (1..4).max_by(|a, b| nearby[*a].total_cmp(&nearby[*b])).unwrap_or(2);
        let level = |i: usize| libm::log(nearby[i].max(1e-300));
        let (offset, _) = peak_offset(level(top - 1), level(top), level(top + 1));
        ((at + top) as f64 - 2.0 + offset) * bin_hz
    }
}
