//! Clicks once per turn or once per bar, from what beats in the band above the tones.

use super::{Recording, Steady, ripples};

/// Harmonics of the turn, short of a bar's, that are looked at.
const HARMONICS: u32 = 4;

/// What clicks, and how strongly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clicks {
    /// 0 for none, 1 for once per turn, bars or twice the bars for once per bar; none when it is not clear.
    pub per_turn: Option<u32>,
    /// Height of the squared envelope's lines at the turn and its next harmonics over its mean: a train of
    /// sharp clicks alone has 2, a tone that swells by m has 2m / (1 + m²/2), steady noise nearly 0.
    pub turn: f64,
    /// The same at bars and twice the bars, the greater.
    pub bar: f64,
    /// How high the lines would be by chance.
    pub noise: f64,
}

/// From this height on a click once per turn is clear, and below that there is none (judgement: the tones of
/// even motors with random phases stay below 0.35 at the turn, clicks as loud as the tones are above 0.5).
const TURN: (f64, f64) = (0.55, 0.4);

/// From this height on a click once per bar is clear: slot tones alone beat up to 0.8 at the bars.
const BAR: f64 = 0.9;

/// Looks for clicks in a steady stretch, given the speed of the shaft in turns per second and the
/// bars: those of the motor, or all that come into question.
///
/// None when the recording has no click band, or the shaft is too slow for the window or too fast for the
/// band.
///
/// The squared envelope of the click band is transformed window by window (Randall and Antoni 2011); a
/// click once per turn puts lines at every multiple of the rotation. Sintered bushings make no lines of
/// their own: what beats comes from commutator, brushes or what is loose.
pub fn clicks(recording: &Recording, steady: &Steady, turns: f64, bars: &[u32]) -> Option<Clicks> {
    let blocks = &recording.blocks[steady.blocks.0..steady.blocks.1];
    let bin_hz = blocks.first()?.spectrum.bin_hz;
    let lines = blocks.first()?.envelope.len();
    let reachable = |order: u32| f64::from(order) * turns / bin_hz + 4.0 < lines as f64;
    let first = bars.iter().copied().min().filter(|k| *k >= 2)?;
    if turns < 8.0 * bin_hz || !reachable(first.max(HARMONICS)) {
        return None;
    }
    // Each block at its own speed: a line keeps its order, not its frequency.
    let speeds: Vec<f64> = steady.parts.iter().map(|(log, _)| libm::exp(*log)).collect();
    let mean = blocks.iter().map(|b| b.envelope[0]).sum::<f64>();
    if mean <= 0.0 {
        return None;
    }
    let height = |order: f64| {
        let sum: f64 = blocks
            .iter()
            .zip(&speeds)
            .map(|(block, speed)| {
                let at = (order * turns * speed / bin_hz).round() as usize;
                let near = &block.envelope[at.saturating_sub(1)..(at + 2).min(lines)];
                near.iter().copied().fold(0.0, f64::max)
            })
            .sum();
        libm::sqrt(sum / mean)
    };
    let of_a_bar = |n: &u32| bars.iter().any(|k| n.is_multiple_of(*k));
    let orders: Vec<f64> = (1..=4 * HARMONICS)
        .filter(|n| !of_a_bar(n) && reachable(*n))
        .take(HARMONICS as usize)
        .map(f64::from)
        .collect();
    let average = |off: f64| orders.iter().map(|n| height(n - off)).sum::<f64>() / orders.len().max(1) as f64;
    let (turn, noise) = (average(0.0), average(0.5));
    let (mut bar, mut per_bar) = (0.0, 0);
    for &k in bars {
        let at_bar = if reachable(k) { height(f64::from(k)) } else { 0.0 };
        let twice = ripples(k);
        let at_twice = if reachable(twice) { height(f64::from(twice)) } else { 0.0 };
        if at_bar.max(at_twice) > bar {
            bar = at_bar.max(at_twice);
            // Once per bar has lines at every multiple of the bars; at twice the bars only, it is twice.
            per_bar = if at_bar >= 0.5 * at_twice { k } else { twice };
        }
    }
    let per_turn = if turn >= TURN.0 + noise {
        Some(1)
    } else if turn >= TURN.1 + noise {
        None
    } else if bar >= BAR {
        Some(per_bar)
    } else {
        Some(0)
    };
    Some(Clicks { per_turn, turn, bar, noise })
}
