//! The common spacing of spectral lines that are harmonics of one frequency.

use super::Line;

/// A row of harmonics.
#[derive(Debug, Clone, PartialEq)]
pub struct Comb {
    /// Spacing of the lines, Hz: their common fundamental, whether or not it is a line itself.
    pub spacing: f64,
    /// Standard deviation of the spacing from the scatter of the lines, Hz.
    pub deviation: f64,
    /// Share of all lines' levels (dB summed) that fit the row, 0 to 1.
    pub share: f64,
    /// The lines that fit: order and line.
    pub members: Vec<(u32, Line)>,
}

/// How far a line may lie from its harmonic: `bins` Hz wide, or a share of its frequency for speed that
/// wavers, whichever is more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Hz.
    pub hz: f64,
    /// Share of the frequency.
    pub share: f64,
}

impl Tolerance {
    /// Hz at a frequency.
    pub fn at(&self, hz: f64) -> f64 {
        self.hz.max(self.share * hz)
    }
}

/// Chance that a line of the row is seen off its harmonic, or that a stranger sounds: what a line off the
/// row costs (judgement; anything from 0.03 to 0.3 finds the same rows).
const STRANGER: f64 = 0.1;

/// How much better a row explains the lines than chance does, in nepers a line: a line on the row counts
/// the more the less likely it is there by chance, a line off it costs. Lines weigh by their level.
pub fn merit(lines: &[Line], spacing: f64, tolerance: Tolerance) -> f64 {
    let (mut sum, mut all) = (0.0, 0.0);
    for line in lines {
        let order = (line.hz / spacing).round();
        let reach = tolerance.at(line.hz);
        let on = order >= 1.0 && (line.hz - order * spacing).abs() <= reach;
        let chance = (2.0 * reach / spacing).min(1.0);
        sum += line.db * libm::log(if on { (1.0 - STRANGER) / chance + STRANGER } else { STRANGER });
        all += line.db;
    }
    if all > 0.0 { sum / all } else { f64::NEG_INFINITY }
}

/// The spacing between `low` and `high` Hz of which the lines are multiples.
///
/// The halves and thirds of a spacing hold its lines as well, but are met by chance more easily: so the
/// widest wins. None when there are fewer than three lines or when less than `least` of their levels (0 to
/// 1) lies on the best row, or when that row explains them no better than chance.
pub fn find(lines: &[Line], low: f64, high: f64, tolerance: Tolerance, least: f64) -> Option<Comb> {
    if lines.len() < 3 || !(low > 0.0 && high > low) {
        return None;
    }
    let top = lines.iter().map(|l| l.hz).fold(0.0, f64::max);
    // Steps so fine that the highest line moves by less than its tolerance.
    let step = 1.0 + (tolerance.at(top) / top).clamp(1e-4, 0.02);
    let count = (libm::log(high / low) / libm::log(step)).ceil() as usize;
    let best = (0..=count)
        .map(|i| low * libm::pow(step, i as f64))
        .map(|spacing| (spacing, merit(lines, spacing, tolerance)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let comb = (best.1 > 0.0).then(|| refine(lines, best.0, tolerance))??;
    (comb.share >= least && comb.members.len() >= 3).then_some(comb)
}

/// The row of harmonics nearest to a spacing that is roughly known, by least squares.
pub fn refine(lines: &[Line], spacing: f64, tolerance: Tolerance) -> Option<Comb> {
    let mut spacing = spacing;
    let mut members: Vec<(u32, Line)> = Vec::new();
    for _ in 0..4 {
        members = lines
            .iter()
            .filter_map(|line| {
                let order = (line.hz / spacing).round();
                let near = (line.hz - order * spacing).abs() <= tolerance.at(line.hz);
                ((1.0..1e6).contains(&order) && near).then_some((order as u32, *line))
            })
            .collect();
        let products = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
            members.iter().map(|(n, l)| l.db * f(f64::from(*n), l.hz)).sum()
        };
        let (up, down) = (products(&|n, hz| n * hz), products(&|n, _| n * n));
        if down <= 0.0 || down.is_nan() {
            return None;
        }
        spacing = up / down;
    }
    let orders: f64 = members.iter().map(|(n, _)| f64::from(*n) * f64::from(*n)).sum();
    let left: f64 = members.iter().map(|(n, l)| (l.hz - f64::from(*n) * spacing).powi(2)).sum();
    let freedom = members.len().saturating_sub(1).max(1) as f64;
    let all: f64 = lines.iter().map(|l| l.db).sum();
    let share = members.iter().map(|(_, l)| l.db).sum::<f64>() / all;
    Some(Comb { spacing, deviation: libm::sqrt(left / freedom / orders), share, members })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    const TOLERANCE: Tolerance = Tolerance { hz: 3.0, share: 0.001 };

    fn lines(hz: &[f64]) -> Vec<Line> {
        hz.iter().map(|hz| Line { hz: *hz, db: 15.0, power: 1.0 }).collect()
    }

    #[test]
    fn spacing_without_its_fundamental() {
        let found = find(&lines(&[1001.4, 1669.0, 2002.8, 3004.2, 3337.9]), 30.0, 2000.0, TOLERANCE, 0.6);
        let found = found.unwrap();
        assert!((found.spacing - 333.8).abs() < 0.1, "{found:?}");
        assert_eq!(found.members.iter().map(|m| m.0).collect::<Vec<_>>(), [3, 5, 6, 9, 10]);
        assert!(found.deviation < 0.1);
    }

    #[test]
    fn a_stranger_among_the_lines_is_left_out() {
        let found =
            find(&lines(&[400.0, 800.0, 1200.0, 1600.0, 1777.0, 2000.0]), 30.0, 2000.0, TOLERANCE, 0.6);
        let found = found.unwrap();
        assert!((found.spacing - 400.0).abs() < 0.1, "{found:?}");
        assert!(found.members.len() == 5 && (found.share - 5.0 / 6.0).abs() < 1e-9);
    }

    #[test]
    fn lines_without_order_have_no_spacing() {
        assert_eq!(
            find(&lines(&[317.0, 1043.0, 1571.0, 2237.0, 3169.0, 5011.0]), 100.0, 2000.0, TOLERANCE, 0.8),
            None
        );
        assert_eq!(find(&lines(&[100.0, 200.0]), 30.0, 2000.0, TOLERANCE, 0.5), None);
        assert_eq!(find(&[], 30.0, 2000.0, TOLERANCE, 0.5), None);
    }
}
