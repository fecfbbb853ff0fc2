//! Which line of the row was followed: speed, and how even the ripple is.

use super::follow::{Path, follow, strongest};
use super::{Recording, RippleError, SAMPLES_PER_RIPPLE, ripple_hz, ripples_per_turn};
use crate::bench::Estimate;
use crate::bench::spectrum::{Spectrum, Welch};

/// What is known of the speed beforehand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// The likely speed, rpm.
    pub rpm: f64,
    /// By what factor it may be off, either way, with one standard deviation; above 1.
    pub factor: f64,
}

/// What recurs a whole number of times a turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Order {
    /// How many times a turn.
    pub per_turn: u32,
    /// Amplitude, ampere.
    pub ampere: f64,
    /// Its share of the power of all that recurs with the turn, 0 to 1.
    pub share: f64,
}

/// Another speed that would explain the ripple too.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rival {
    /// Rpm.
    pub rpm: f64,
    /// How likely it is against the others, 0 to 1.
    pub chance: f64,
}

/// What a recording says.
#[derive(Debug, Clone, PartialEq)]
pub struct Ripple {
    /// Mean speed over the recording, rpm.
    pub rpm: Estimate,
    /// How likely this speed is the right one of those that would explain the ripple, 0 to 1.
    pub chance: f64,
    /// The others, likeliest first.
    pub rivals: Vec<Rival>,
    /// Slowest and fastest part, rpm, each a mean over some forty ripples.
    pub range: (f64, f64),
    /// Share of the power of all that recurs with the turn which is neither commutation ripple nor due to
    /// brushes that do not stand opposite each other, 0 to 1.
    pub unevenness: f64,
    /// Share at odd multiples of the bars (odd bars only): brushes unlike each other or not opposite.
    pub brushes: f64,
    /// Everything found that recurs with the turn, by how often.
    pub orders: Vec<Order>,
    /// Mean current, ampere.
    pub mean: f64,
    /// Turns in the recording.
    pub turns: f64,
    /// Fastest speed that this sampling rate could have shown, rpm.
    pub fastest: f64,
}

/// Lines weaker than this against the strongest are no evidence: what interpolation and converter make, dB.
const FAINTEST: f64 = -32.0;
/// Height above the noise at which a line of the row counts, dB.
const LEAST_DB: f64 = 12.0;
/// As many bins a line of Hann's window is wide to each side.
const LOBE: usize = 2;
/// Turns that a recording must hold for lines once a turn to be told apart.
const LEAST_TURNS: f64 = 8.0;
/// Standard deviation of a usual instrument's clock, relative (judgement; crystals do better, logger software
/// worse).
const CLOCK: f64 = 1e-4;
/// Standard deviation of the count of cycles at either end for a speed that wavers by some percent a second.
const END: f64 = 0.03;
/// Height above the noise, dB, of the followed line once it is followed: what chance makes stays below.
const FOLLOWED_DB: f64 = 18.0;

/// Finds the speed and how even the ripple is.
///
/// # Errors
///
/// [`RippleError`] when the recording is too short, constant, unsteady, without ripple, or sampled too slowly
/// for the ripple that is found or expected.
pub fn analyse(
    recording: &Recording,
    bars: u32,
    expected: Expected,
    sure: bool,
) -> Result<Ripple, RippleError> {
    if bars < 2 {
        return Err(RippleError::Bars(bars));
    }
    let rate = recording.rate;
    if !(rate.is_finite() && rate > 0.0) {
        return Err(RippleError::Rate(rate));
    }
    let undersampled = |rpm: f64| {
        let ripple = ripple_hz(bars, rpm);
        let needed = SAMPLES_PER_RIPPLE * ripple;
        (rate < needed).then_some(RippleError::Undersampled { rpm, ripple, rate, needed })
    };
    if sure && let Some(refused) = undersampled(expected.rpm) {
        return Err(refused);
    }
    let mean = recording.mean();
    let x: Vec<f64> = recording.samples.iter().map(|s| s - mean).collect();
    let spread = x.iter().map(|v| v.abs()).fold(0.0, f64::max);
    if spread <= 1e-12 * mean.abs().max(1e-9) {
        return Err(RippleError::Constant(mean));
    }
    let lines = strongest(&x, rate, 0.06)?;
    let mut best: Option<(Row, Path, f64)> = None;
    let mut all: Vec<(f64, f64)> = Vec::new();
    let mut failed = RippleError::NoRipple;
    for line in lines.iter().take(3) {
        let path = match follow(&x, rate, line.hz) {
            Ok(path) => path,
            Err(e) => {
                failed = if best.is_none() { e } else { failed };
                continue;
            }
        };
        let table = Table::new(&x, rate, &path)?;
        if !table.followed() {
            continue;
        }
        let hz = path.total() / recording.seconds();
        let mut explained = false;
        for place in 1..=2 * ripples_per_turn(bars) {
            let Some(row) = table.row(bars, place) else { continue };
            let rpm = hz * 60.0 / f64::from(place);
            let off = libm::log(rpm / expected.rpm) / libm::log(expected.factor.max(1.01));
            let score = row.score - 0.5 * off * off;
            all.push((rpm, score));
            if best.as_ref().is_none_or(|b| score > b.2) {
                explained = row.strangers == 0;
                best = Some((row, path.clone(), score));
            }
        }
        if explained {
            break;
        }
    }
    let Some((row, path, _)) = best else { return Err(failed) };
    let place = f64::from(row.place);
    let turns = path.total() / place;
    let seconds = recording.seconds();
    let rpm = turns / seconds * 60.0;
    if turns < LEAST_TURNS {
        return Err(RippleError::TooShort { seconds, wanted: 1.5 * LEAST_TURNS * 60.0 / rpm });
    }
    if let Some(refused) = undersampled(rpm) {
        return Err(refused);
    }
    let (chance, rivals) = weigh(all, rpm);
    // Both ends are extrapolated by half a window; three times the scatter of a window, and what the bend of a
    // wavering speed adds, is ample for each.
    let ends = libm::hypot(3.0 * path.scatter, END) * std::f64::consts::SQRT_2 / path.total();
    Ok(Ripple {
        rpm: Estimate::normal(rpm, rpm * libm::hypot(ends, CLOCK)),
        chance,
        rivals,
        range: range(&path, place, rate),
        unevenness: row.share(|h| !row.commutation(h) && !row.brush(h)),
        brushes: row.share(|h| row.brush(h)),
        mean,
        turns,
        fastest: rate / SAMPLES_PER_RIPPLE * 60.0 / f64::from(ripples_per_turn(bars)),
        orders: row.orders(),
    })
}

/// Slowest and fastest speed over windows of some forty cycles.
fn range(path: &Path, place: f64, rate: f64) -> (f64, f64) {
    let n = path.cycles.len();
    let window = ((40.0 * n as f64 / path.total()) as usize).clamp(1, n - 1);
    let speeds = (0..n - window)
        .step_by((window / 2).max(1))
        .map(|i| (path.cycles[i + window] - path.cycles[i]) / place / (window as f64 / rate) * 60.0);
    speeds.fold((f64::INFINITY, 0.0), |(low, high): (f64, f64), s| (low.min(s), high.max(s)))
}

/// The chance of the best speed, and the others that are worth a word.
fn weigh(mut all: Vec<(f64, f64)>, best: f64) -> (f64, Vec<Rival>) {
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    let top = all.first().map_or(0.0, |a| a.1);
    let mut merged: Vec<Rival> = Vec::new();
    for (rpm, score) in all {
        let chance = libm::exp(score - top);
        // The same speed from another line is the same speed.
        if merged.iter().all(|m| (m.rpm / rpm - 1.0).abs() > 0.005) {
            merged.push(Rival { rpm, chance });
        }
    }
    let sum: f64 = merged.iter().map(|m| m.chance).sum();
    merged.iter_mut().for_each(|m| m.chance /= sum);
    let chance = merged.iter().find(|m| (m.rpm / best - 1.0).abs() <= 0.005).map_or(1.0, |m| m.chance);
    merged.retain(|m| (m.rpm / best - 1.0).abs() > 0.005 && m.chance >= 0.01);
    (chance, merged)
}

/// The spectrum over cycles of the followed line instead of seconds: its "Hz" are cycles in one of those.
struct Table {
    spectrum: Spectrum,
    floor: Vec<f64>,
    /// Cycles in the recording.
    cycles: f64,
    /// Place of the sampling rate itself.
    fold: f64,
    /// Highest place that the sampling rate carries.
    top: f64,
    /// Highest place that is judged.
    used: f64,
    /// Lines above the noise, by place, with their power.
    peaks: Vec<(f64, f64)>,
    strongest: f64,
}

impl Table {
    fn new(x: &[f64], rate: f64, path: &Path) -> Result<Self, RippleError> {
        let cycles = path.total();
        let even = resampled(x, &path.cycles);
        let unreadable = |e: crate::bench::spectrum::SpectrumError| RippleError::Unreadable {
            line: 0,
            why: e.to_string(),
        };
        let mut welch = Welch::new(even.len() as f64 / cycles, even.len()).map_err(unreadable)?;
        welch.push(&even).map_err(unreadable)?;
        let spectrum = welch.spectrum();
        let floor = spectrum.floor((24.0 * spectrum.bin_hz).max(0.15));
        let hz = cycles / (x.len().saturating_sub(1) as f64 / rate);
        let top = 0.45 * rate / hz;
        let lines = spectrum.lines(&floor, 4.0 * spectrum.bin_hz, top, LEAST_DB + 3.0);
        let strongest = lines.iter().map(|l| l.power).fold(0.0, f64::max);
        let loud = strongest * libm::exp10(FAINTEST / 10.0);
        // Where lines have sunk into the noise there is nothing to learn from their absence.
        let tall = strongest * libm::exp10(FAINTEST * 0.8 / 10.0);
        let highest = lines.iter().filter(|l| l.power > tall).map(|l| l.hz).fold(1.0, f64::max);
        let used = (1.2 * highest).max(2.2).min(top);
        let peaks = lines.iter().filter(|l| l.power > loud).map(|l| (l.hz, l.power)).collect();
        Ok(Table { spectrum, floor, cycles, fold: rate / hz, top, used, peaks, strongest })
    }

    /// Whether the followed line is one at all.
    fn followed(&self) -> bool {
        let bin = self.cycles.round() as usize;
        match (self.spectrum.power.get(bin), self.floor.get(bin)) {
            (Some(power), Some(floor)) => *power > floor * libm::exp10(FOLLOWED_DB / 10.0),
            _ => false,
        }
    }

    /// Whether a line may be a multiple of the ripple (at `ripple`) above half the sampling rate, which folds
    /// it down.
    fn folded(&self, at: f64, ripple: f64) -> bool {
        (1..=8).map(|n| f64::from(n) * ripple).any(|true_place| {
            let down = (true_place - self.fold * (true_place / self.fold).round()).abs();
            // The fold moves as the speed wavers.
            true_place > 0.5 * self.fold && (down - at).abs() < 3.5 / self.cycles + 0.004 * true_place
        })
    }

    /// Power of the line at a place, if it stands out of the noise; none where nothing can be told.
    fn power(&self, place: f64) -> Option<f64> {
        let bin = (place * self.cycles).round() as usize;
        let (from, to) = (bin.saturating_sub(LOBE), bin + LOBE);
        let near = self.spectrum.power.get(from..=to)?;
        let floor: f64 = self.floor.get(from..=to)?.iter().sum();
        let top = near.iter().copied().fold(0.0, f64::max);
        let middle = near[1].max(near[2]).max(near[3]);
        let seen = middle == top
            && top > self.floor[bin] * libm::exp10(LEAST_DB / 10.0)
            && top > self.strongest * libm::exp10(FAINTEST / 10.0);
        // Hann's window spreads a line over bins whose powers add up to 1.5 of it.
        Some(if seen { ((near.iter().sum::<f64>() - floor) / 1.5).max(0.0) } else { 0.0 })
    }

    /// The row in which the followed line recurs `place` times a turn, and how well it explains the spectrum.
    fn row(&self, bars: u32, place: u32) -> Option<Row> {
        let ripples = ripples_per_turn(bars);
        let all = (self.top * f64::from(place)).floor() as u32;
        let last = ((self.used * f64::from(place)).floor() as u32).max(ripples).min(all);
        // Lines must be some bins apart, and the ripple itself within the band.
        if self.cycles / f64::from(place) < 5.0 || last < ripples {
            return None;
        }
        let powers: Option<Vec<f64>> =
            (1..=last).map(|h| self.power(f64::from(h) / f64::from(place))).collect();
        let mut row = Row { bars, place, powers: powers?, score: 0.0, strangers: 0 };
        let strangers = self.peaks.iter().filter(|(at, _)| {
            let h = at * f64::from(place);
            h.round() < 1.0
                || ((h - h.round()).abs() / f64::from(place) > 2.5 / self.cycles && *at <= self.used)
        });
        let mut cost = 0.0;
        for (at, power) in strangers {
            if self.folded(*at, f64::from(ripples) / f64::from(place)) {
                cost += 2.0;
                continue;
            }
            row.strangers += 1;
            cost += 8.0 + (10.0 * libm::log10(power / self.strongest) - FAINTEST) / 8.0;
        }
        row.score = row.likelihood(self.strongest) - cost;
        Some(row)
    }
}

/// Values at even steps of cycles, as many as there were, by Catmull and Rom's cubic.
fn resampled(x: &[f64], cycles: &[f64]) -> Vec<f64> {
    let n = x.len() & !1;
    let (first, last) = (cycles[0], cycles[cycles.len() - 1]);
    let step = (last - first) / n as f64;
    let mut at = 0;
    (0..n)
        .map(|i| {
            let c = first + i as f64 * step;
            while at + 2 < cycles.len() && cycles[at + 1] <= c {
                at += 1;
            }
            let s = ((c - cycles[at]) / (cycles[at + 1] - cycles[at])).clamp(0.0, 1.0);
            let get = |i: usize| x[i.min(x.len() - 1)];
            let (a, b, c, d) = (get(at.saturating_sub(1)), get(at), get(at + 1), get(at + 2));
            b + 0.5 * s * (c - a + s * (2.0 * a - 5.0 * b + 4.0 * c - d + s * (3.0 * (b - c) + d - a)))
        })
        .collect()
}

/// What recurs with the turn, if the followed line recurs `place` times.
struct Row {
    bars: u32,
    place: u32,
    /// Power of what recurs once, twice, ... a turn; 0 where nothing stands out.
    powers: Vec<f64>,
    score: f64,
    /// Lines that do not belong to the row.
    strangers: usize,
}

/// How often lines of a class are seen: (chance to be seen, share of motors of which that is true).
type Mix = [(f64, f64); 3];
/// Evenly wound motors show none of what recurs twice a turn, others nearly all.
const TWICE: Mix = [(0.02, 0.4), (0.3, 0.2), (0.8, 0.4)];
/// What only brushes that are unlike let through, if it stays faint.
const ONCE: Mix = [(0.02, 0.6), (0.3, 0.25), (0.8, 0.15)];
/// Share of motors in which it does not stay faint.
const LOPSIDED: f64 = 0.01;
/// The same at multiples of the bars, where it is strongest.
const BRUSH: Mix = [(0.02, 0.4), (0.5, 0.3), (0.9, 0.3)];
/// What it costs, in nepers, when lines of unlike brushes outdo the ripple.
const OUTDONE: f64 = 6.0;
/// Chance of a level that follows no rule.
const ODD_ONE: f64 = 0.1;

/// Logarithm of a mixture.
fn log_sum(terms: &[f64]) -> f64 {
    let most = terms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most + libm::log(terms.iter().map(|t| libm::exp(t - most)).sum())
}

/// Logarithm of the density of a level (dB) that lies about `about`, or anywhere between the faintest and the
/// strongest.
fn level_near(level: f64, about: f64, deviation: f64) -> f64 {
    let off = (level - about) / deviation;
    let near = libm::exp(-0.5 * off * off) / (deviation * 2.5066);
    libm::log((1.0 - ODD_ONE) * near + ODD_ONE / -FAINTEST)
}

/// Logarithm of the chance that so many lines of a class are seen and so many are not.
fn seen_chance(mix: Mix, seen: u32, unseen: u32) -> f64 {
    let of = |(q, share): &(f64, f64)| {
        libm::log(*share) + f64::from(seen) * libm::log(*q) + f64::from(unseen) * libm::log(1.0 - q)
    };
    log_sum(&mix.iter().map(of).collect::<Vec<_>>())
}

impl Row {
    fn commutation(&self, per_turn: u32) -> bool {
        per_turn.is_multiple_of(ripples_per_turn(self.bars))
    }

    fn brush(&self, per_turn: u32) -> bool {
        per_turn.is_multiple_of(self.bars) && !self.commutation(per_turn)
    }

    fn share(&self, of: impl Fn(u32) -> bool) -> f64 {
        let all: f64 = self.powers.iter().sum();
        let those: f64 = (1..).zip(&self.powers).filter(|(h, _)| of(*h)).map(|(_, p)| p).sum();
        if all > 0.0 { those / all } else { 0.0 }
    }

    fn orders(&self) -> Vec<Order> {
        let all: f64 = self.powers.iter().sum();
        (1..)
            .zip(&self.powers)
            .filter(|(_, p)| **p > 0.0)
            .map(|(per_turn, p)| Order { per_turn, ampere: libm::sqrt(2.0 * p), share: p / all })
            .collect()
    }

    /// Logarithm of how likely the strongest of all lines recurs as often as it does here: mostly it is the
    /// commutation ripple; in a faulty motor it may be what recurs twice a turn or a multiple of that.
    fn place_of_strongest(&self) -> f64 {
        let ripples = ripples_per_turn(self.bars);
        let top = (1u32..).zip(&self.powers).max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |t| t.0);
        libm::log(match top {
            h if h == ripples => 0.5,
            h if h == 2 * ripples => 0.03,
            2 => 0.1,
            h if h == self.bars => 0.03,
            1 => 0.02,
            h if h % 2 == 0 && h < ripples => 0.05,
            h if h % 2 == 0 => 1e-4,
            _ => 1e-5,
        })
    }

    /// Logarithm of how likely this pattern of lines is, for a motor of any health.
    ///
    /// Commutation ripple is there, and its multiples fall off by some 36 dB a decade. What recurs at other even
    /// multiples of the turn is mostly there or mostly not, and its levels follow each other; what recurs at
    /// odd ones is faint in all but lopsided motors. The chances are judgement; they were tried on simulated
    /// motors, sound and faulty.
    fn likelihood(&self, strongest: f64) -> f64 {
        let ripples = ripples_per_turn(self.bars);
        let level = |p: f64| if p > 0.0 { 10.0 * libm::log10(p / strongest) } else { FAINTEST };
        let any_level = -libm::log(-FAINTEST);
        let of_ripple = |n: u32| self.powers.get((n * ripples) as usize - 1).map_or(FAINTEST, |p| level(*p));
        // Advance and brush width can suppress the first of them, in favour of the second.
        let ground = of_ripple(1).max(of_ripple(2) + 4.0);
        let mut sum = self.place_of_strongest();
        // Brushes that are unlike add to the ripple; they do not outdo it.
        if self.share(|h| self.brush(h)) > self.share(|h| self.commutation(h)) {
            sum -= OUTDONE;
        }
        let (mut before, mut even_before) = (ground, None);
        // Seen, unseen: twice a turn, once a turn, brushes.
        let mut counts = [(0, 0); 3];
        let mut faint = 0.0;
        for (h, power) in (1u32..).zip(&self.powers) {
            let (seen, here) = (*power > 0.0, level(*power));
            if self.commutation(h) {
                let n = h / ripples;
                let there = [0.995, 0.9, 0.8].get(n as usize - 1).copied().unwrap_or(0.7);
                sum += libm::log(if seen { there } else { 1.0 - there });
                if n == 1 && seen {
                    sum += here / 7.0 - libm::log(7.0);
                } else if seen {
                    let rise = ((here - before - 5.0) / 4.0).clamp(0.0, 2.0);
                    sum += level_near(here, ground - 36.0 * libm::log10(f64::from(n)), 7.0);
                    sum -= 0.5 * rise * rise;
                }
                before = here;
                continue;
            }
            let class = if self.brush(h) { 2 } else { (h % 2) as usize };
            if !seen {
                counts[class].1 += 1;
                continue;
            }
            counts[class].0 += 1;
            match class {
                0 => {
                    sum += even_before.map_or(any_level, |b| level_near(here, b - 1.5, 6.0));
                    even_before = Some(here);
                }
                1 => faint += level_near(here, FAINTEST + 10.0, 7.0),
                _ => {
                    sum += level_near(here, ground - 12.0 - 10.0 * libm::log10(f64::from(h / self.bars)), 8.0)
                }
            }
        }
        let [(twice, no_twice), (once, no_once), (brush, no_brush)] = counts;
        let faint = libm::log(1.0 - LOPSIDED) + faint + seen_chance(ONCE, once, no_once);
        let loud = libm::log(LOPSIDED) + f64::from(once) * any_level + seen_chance(TWICE, once, no_once);
        sum + log_sum(&[faint, loud])
            + seen_chance(TWICE, twice, no_twice)
            + seen_chance(BRUSH, brush, no_brush)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    const USUAL: Expected = Expected { rpm: 15_000.0, factor: 1.8 };

    /// Current with lines of these orders and amplitudes, white noise of 20 mA, at a speed that wavers by 1 %.
    fn current(rpm: f64, seconds: f64, rate: f64, lines: &[(f64, f64)]) -> Recording {
        let mut noise = 99u32;
        let mut turns = 0.1;
        let samples = (0..(seconds * rate) as usize)
            .map(|i| {
                turns += rpm / 60.0 * (1.0 + 0.01 * libm::sin(TAU * 0.4 * i as f64 / rate)) / rate;
                noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let white = 0.07 * (f64::from(noise) / f64::from(u32::MAX) - 0.5);
                2.5 + white + lines.iter().map(|(h, a)| a * libm::cos(TAU * h * turns + h)).sum::<f64>()
            })
            .collect();
        Recording { rate, samples, notes: vec![] }
    }

    fn mean(rpm: f64, seconds: f64) -> f64 {
        // The mean of the waver: (1 - cos(2 pi f T)) / (2 pi f T) of its height.
        let w = TAU * 0.4 * seconds;
        rpm * (1.0 + 0.01 * (1.0 - libm::cos(w)) / w)
    }

    #[test]
    fn speed_of_plain_ripple_for_any_number_of_bars() {
        for (bars, ripples) in [(3, 6.0), (4, 4.0), (5, 10.0), (7, 14.0), (12, 12.0)] {
            for rpm in [4_000.0, 12_000.0, 25_000.0] {
                let r = current(rpm, 3.0, 30e3, &[(ripples, 0.3), (2.0 * ripples, 0.06)]);
                let found = analyse(&r, bars, USUAL, false).unwrap();
                let want = mean(rpm, 3.0);
                assert!(
                    (found.rpm.value / want - 1.0).abs() < 1e-4,
                    "{bars} bars: {} for {want}",
                    found.rpm.value
                );
                assert!(found.rpm.low < want && want < found.rpm.high, "{:?} for {want}", found.rpm);
                assert!(found.unevenness < 0.01 && found.chance > 0.5, "{found:?}");
                assert!(
                    (found.range.0 / rpm - 0.99).abs() < 0.002 && (found.range.1 / rpm - 1.01).abs() < 0.002
                );
            }
        }
    }

    #[test]
    fn what_recurs_once_a_turn_has_its_share() {
        // Powers 0.3^2, 0.06^2, 0.2^2 and twice 0.08^2, halved all: 0.0528 of 0.1464 is no ripple.
        let lines = [(6.0, 0.3), (12.0, 0.06), (1.0, 0.2), (5.0, 0.08), (7.0, 0.08)];
        let found = analyse(&current(20_000.0, 5.0, 20e3, &lines), 3, USUAL, false).unwrap();
        assert!((found.rpm.value / mean(20_000.0, 5.0) - 1.0).abs() < 1e-4, "{found:?}");
        assert!((found.unevenness - 0.0528 / 0.1464).abs() < 0.01, "{}", found.unevenness);
        assert_eq!(found.orders.iter().map(|o| o.per_turn).collect::<Vec<_>>(), [1, 5, 6, 7, 12]);
        assert!((found.orders[0].ampere - 0.2).abs() < 0.005);
    }

    #[test]
    fn bars_a_turn_is_told_from_twice_the_bars() {
        // Brushes that are unlike: a line at the number of bars, beside the ripple.
        let found =
            analyse(&current(20_000.0, 3.0, 20e3, &[(3.0, 0.1), (6.0, 0.3), (12.0, 0.05)]), 3, USUAL, false);
        let found = found.unwrap();
        assert!((found.rpm.value / mean(20_000.0, 3.0) - 1.0).abs() < 1e-4);
        assert!(found.brushes > 0.05 && found.unevenness < 0.01);
    }

    #[test]
    fn what_is_known_of_the_speed_decides_between_rivals() {
        let r = current(9_000.0, 3.0, 20e3, &[(2.0, 0.3), (4.0, 0.06), (6.0, 0.1)]);
        for rpm in [9_000.0, 3_000.0] {
            let found = analyse(&r, 3, Expected { rpm, factor: 1.1 }, true).unwrap();
            assert!((found.rpm.value / mean(rpm, 3.0) - 1.0).abs() < 1e-3, "{rpm}: {found:?}");
        }
    }

    #[test]
    fn too_slow_sampling_is_said_with_the_rate_that_would_do() {
        let r = current(20_000.0, 3.0, 4_500.0, &[(6.0, 0.3)]);
        let known = Expected { rpm: 20_000.0, factor: 1.1 };
        // 6 x 20,000 / 60 = 2000 Hz; 2.5 times that.
        assert!(matches!(
            analyse(&r, 3, known, true),
            Err(RippleError::Undersampled { needed, .. }) if (needed - 5000.0).abs() < 1e-6
        ));
        assert!(matches!(analyse(&r, 3, USUAL, false), Err(RippleError::Undersampled { .. })));
    }

    #[test]
    fn what_has_no_ripple_is_refused() {
        let nothing = Recording { rate: 20e3, samples: vec![2.0; 20_000], notes: vec![] };
        assert!(matches!(analyse(&nothing, 3, USUAL, false), Err(RippleError::Constant(_))));
        assert_eq!(analyse(&current(20_000.0, 2.0, 20e3, &[]), 3, USUAL, false), Err(RippleError::NoRipple));
        let short = current(20_000.0, 0.01, 20e3, &[(6.0, 0.3)]);
        assert!(matches!(
            analyse(&short, 3, USUAL, false),
            Err(RippleError::TooShort { .. } | RippleError::NoRipple)
        ));
        assert_eq!(analyse(&nothing, 1, USUAL, false), Err(RippleError::Bars(1)));
        let bad = Recording { rate: f64::NAN, ..nothing };
        assert!(matches!(analyse(&bad, 3, USUAL, false), Err(RippleError::Rate(_))));
    }
}
