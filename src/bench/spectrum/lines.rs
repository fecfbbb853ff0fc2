//! What stands out of the noise: the floor, and the lines above it.

use super::Spectrum;

/// A spectral line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Frequency, interpolated between bins, Hz.
    pub hz: f64,
    /// Level above the noise floor, dB.
    pub db: f64,
    /// Power at the top of the line (a sine of amplitude A: about A²/2).
    pub power: f64,
}

/// Where the top of a parabola through three equally spaced values lies, in steps from the middle one, and
/// how high it is above the middle one. The middle value must be the largest.
pub fn peak_offset(before: f64, middle: f64, after: f64) -> (f64, f64) {
    let bend = 2.0 * middle - before - after;
    if !(bend > 0.0 && bend.is_finite()) {
        return (0.0, 0.0);
    }
    let offset = (0.5 * (after - before) / bend).clamp(-0.5, 0.5);
    (offset, 0.25 * (after - before) * offset)
}

/// Decibel of a power ratio; a floor of zero counts as very small.
fn decibel(power: f64, floor: f64) -> f64 {
    10.0 * libm::log10(power.max(1e-300) / floor.max(1e-300))
}

impl Spectrum {
    /// The noise floor in every bin: the median over `half_width` Hz to both sides.
    ///
    /// A median is not lifted by lines as long as they fill less than half of its width.
    pub fn floor(&self, half_width: f64) -> Vec<f64> {
        let n = self.power.len();
        let half = ((half_width / self.bin_hz).round() as usize).clamp(2, n.max(3));
        let step = (half / 8).max(1);
        let mut nearby = Vec::with_capacity(2 * half + 1);
        let mut median_at = |at: usize| {
            nearby.clear();
            nearby.extend_from_slice(&self.power[at.saturating_sub(half)..(at + half + 1).min(n)]);
            let middle = nearby.len() / 2;
            *nearby.select_nth_unstable_by(middle, f64::total_cmp).1
        };
        // Medians at a few places, straight lines between.
        let places: Vec<usize> =
            (0..n).step_by(step).chain((n > 0 && !(n - 1).is_multiple_of(step)).then(|| n - 1)).collect();
        let known: Vec<f64> = places.iter().map(|&at| median_at(at)).collect();
        let mut floor = Vec::with_capacity(n);
        for (place, value) in places.windows(2).zip(known.windows(2)) {
            let width = (place[1] - place[0]) as f64;
            for i in 0..place[1] - place[0] {
                floor.push(value[0] + (value[1] - value[0]) * i as f64 / width);
            }
        }
        floor.extend(known.last());
        floor
    }

    /// Level of every bin above a floor, dB, no less than 0 and no more than `most`.
    ///
    /// The upper limit keeps one loud line from outweighing all others.
    pub fn excess(&self, floor: &[f64], most: f64) -> Vec<f64> {
        self.power.iter().zip(floor).map(|(p, f)| decibel(*p, *f).clamp(0.0, most)).collect()
    }

    /// The lines between `low` and `high` Hz that stand at least `least_db` above the floor, by frequency.
    ///
    /// Frequencies come from a parabola through the levels of the highest bin and its neighbours: for
    /// Hann's window right to about 0.02 bin. Bins within Hann's main lobe of a higher one are no line.
    pub fn lines(&self, floor: &[f64], low: f64, high: f64, least_db: f64) -> Vec<Line> {
        let n = self.power.len().min(floor.len());
        let mut found = Vec::new();
        for i in self.bins(low, high) {
            if i < 2 || i + 2 >= n {
                continue;
            }
            let p = self.power[i];
            let highest = p > self.power[i - 1]
                && p >= self.power[i + 1]
                && p > self.power[i - 2]
                && p >= self.power[i + 2];
            let db = decibel(p, floor[i]);
            if !highest || db < least_db {
                continue;
            }
            let (offset, rise) =
                peak_offset(decibel(self.power[i - 1], p), 0.0, decibel(self.power[i + 1], p));
            found.push(Line {
                hz: (i as f64 + offset) * self.bin_hz,
                db: db + rise,
                power: p * libm::exp10(rise / 10.0),
            });
        }
        found
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::Welch;
    use super::*;

    #[test]
    fn parabola_gives_its_top() {
        // y = 3 - 2 (x - 0.2)^2 at -1, 0, 1.
        let y = |x: f64| 3.0 - 2.0 * (x - 0.2) * (x - 0.2);
        let (offset, rise) = peak_offset(y(-1.0), y(0.0), y(1.0));
        assert!((offset - 0.2).abs() < 1e-12 && (rise - 0.08).abs() < 1e-12);
        assert_eq!(peak_offset(1.0, 1.0, 1.0), (0.0, 0.0));
        assert_eq!(peak_offset(f64::NAN, 1.0, 1.0), (0.0, 0.0));
    }

    #[test]
    fn lines_are_found_between_bins() {
        let (rate, length) = (8000.0, 2048);
        let mut welch = Welch::new(rate, length).unwrap();
        let tones = [(401.3, 1.0), (1003.9, 0.1), (2500.0, 0.01)];
        let mut noise = 1u32;
        let x: Vec<f64> = (0..32_768)
            .map(|i| {
                let t = i as f64 / rate;
                noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let tone: f64 =
                    tones.iter().map(|(hz, a)| a * libm::sin(std::f64::consts::TAU * hz * t)).sum();
                tone + 1e-3 * (f64::from(noise) / f64::from(u32::MAX) - 0.5)
            })
            .collect();
        welch.push(&x).unwrap();
        let s = welch.spectrum();
        let floor = s.floor(150.0);
        let lines = s.lines(&floor, 50.0, 3900.0, 15.0);
        assert_eq!(lines.len(), 3, "{lines:?}");
        for (line, (hz, a)) in lines.iter().zip(tones) {
            assert!((line.hz - hz).abs() < 0.03 * s.bin_hz, "{line:?}");
            assert!((10.0 * (line.power / (a * a / 2.0)).log10()).abs() < 0.4, "{line:?}");
        }
        assert!(s.lines(&floor, 450.0, 900.0, 15.0).is_empty());
    }

    #[test]
    fn floor_does_not_see_lines() {
        let mut power = vec![2.0; 1000];
        for i in (0..1000).step_by(20) {
            power[i] = 500.0;
        }
        let s = Spectrum { bin_hz: 1.0, power, windows: 1 };
        assert!(s.floor(50.0).iter().all(|f| *f == 2.0));
        assert_eq!(s.floor(50.0).len(), 1000);
        let tops = s.excess(&s.floor(50.0), 20.0);
        assert_eq!((tops[1], tops[20]), (0.0, 20.0));
        let none = Spectrum { bin_hz: 1.0, power: vec![], windows: 0 };
        assert!(none.floor(50.0).is_empty());
    }
}
