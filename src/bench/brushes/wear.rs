//! Lengths of the brushes, how fast they wear, and how long they last.

use super::{BrushError, deviation, positive};
use crate::bench::Estimate;
use crate::bench::estimate::SIGMAS_95;

/// How well the lengths and the hours are known, as standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Instrument {
    /// Of one measured length, in m.
    pub caliper: f64,
    /// Of the length of a new brush, in m: what brushes of one kind differ by when new.
    pub new: f64,
    /// Of the running time, as a fraction of it.
    pub hours: f64,
}

/// The brushes of one motor, measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Lengths {
    lengths: Vec<f64>,
    minimum: f64,
    new: Option<f64>,
    instrument: Instrument,
}

/// How fast the brushes wear and how long they last at that rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlook {
    /// Wear of the shorter brush in m/s.
    pub rate: Estimate,
    /// Running time in s until the shorter brush is at its minimum; 0 when it is there already. Without
    /// an upper end (infinite) when the wear cannot be told from none.
    pub left: Estimate,
    /// Standard deviation in m of the wear from brush to brush, as far as the caliper does not explain it.
    pub scatter: f64,
}

impl Lengths {
    /// Lengths of all brushes in m, the minimum in m, and the length of a new brush in m where it is known.
    ///
    /// # Errors
    ///
    /// [`BrushError`] when a length is not above zero, a brush is longer than a new one by more than four
    /// standard deviations, or a new one is not longer than the minimum.
    pub fn new(
        lengths: &[f64],
        minimum: f64,
        new: Option<f64>,
        instrument: Instrument,
    ) -> Result<Self, BrushError> {
        if lengths.is_empty() {
            return Err(BrushError::NoBrush);
        }
        let minimum = positive("the minimum length", minimum)?;
        deviation("a length", instrument.caliper)?;
        deviation("the new length", instrument.new)?;
        deviation("the running time", instrument.hours)?;
        for length in lengths {
            positive("a brush length", *length)?;
        }
        if let Some(new) = new {
            let new = positive("the length of a new brush", new)?;
            if new <= minimum {
                return Err(BrushError::NewBelowMinimum { new: new * 1e3, minimum: minimum * 1e3 });
            }
            // Four deviations: 1 in 30 000 of sound readings.
            let slack = 4.0 * instrument.caliper.hypot(instrument.new);
            if let Some(i) = lengths.iter().position(|l| *l > new + slack) {
                let (measured, new) = (lengths[i] * 1e3, new * 1e3);
                return Err(BrushError::LongerThanNew { number: i + 1, measured, new });
            }
        }
        Ok(Lengths { lengths: lengths.to_vec(), minimum, new, instrument })
    }

    /// The shortest, in m.
    pub fn shortest(&self) -> Estimate {
        let shortest = self.lengths.iter().copied().fold(f64::INFINITY, f64::min);
        Estimate::normal(shortest, self.instrument.caliper)
    }

    /// Which is the shortest, counted from 0; the first of equals.
    pub fn shortest_index(&self) -> usize {
        let shortest = self.shortest().value;
        self.lengths.iter().position(|l| *l == shortest).unwrap_or(0)
    }

    /// How much longer each is than the minimum, in m; below 0 when it is shorter.
    pub fn margins(&self) -> Vec<Estimate> {
        self.lengths.iter().map(|l| Estimate::normal(l - self.minimum, self.instrument.caliper)).collect()
    }

    /// Each as a fraction of the new length, where that is known.
    pub fn fractions(&self) -> Option<Vec<Estimate>> {
        let new = self.new?;
        let of = |l: &f64| {
            let spread = (self.instrument.caliper / new).hypot(l * self.instrument.new / (new * new));
            Estimate::normal(l / new, spread)
        };
        Some(self.lengths.iter().map(of).collect())
    }

    /// How far the longest and the shortest are apart, in m; none for a single brush.
    pub fn difference(&self) -> Option<Estimate> {
        let longest = self.lengths.iter().copied().fold(0.0, f64::max);
        let apart = longest - self.shortest().value;
        (self.lengths.len() > 1)
            .then(|| Estimate::normal(apart, self.instrument.caliper * std::f64::consts::SQRT_2))
    }

    /// Chance that the shortest is below the minimum, by the caliper's uncertainty alone.
    pub fn chance_below(&self) -> f64 {
        let short = self.minimum - self.shortest().value;
        match self.instrument.caliper {
            0.0 => f64::from(u8::from(short > 0.0)),
            caliper => 0.5 * libm::erfc(-short / caliper * std::f64::consts::FRAC_1_SQRT_2),
        }
    }

    /// Wear and time left after so many seconds of running since the brushes were new; none while the new
    /// length is not known.
    ///
    /// The shorter brush has worn w = new - length in the time t, so it wears at w / t and has
    /// (length - minimum) / (w / t) left. Both parts of that ratio are uncertain and share the error of
    /// the length; its 95 % interval is Fieller's (E. C. Fieller, Some problems in interval estimation,
    /// J. R. Stat. Soc. B 16, 1954, 175-185; from memory), which has no upper end when the wear itself
    /// could as well be nothing. By how much the brushes differ beyond the caliper's own error counts as
    /// uncertainty of the rate: what one brush did, the other might do next.
    ///
    /// # Errors
    ///
    /// [`BrushError`] when the time is not above zero.
    pub fn outlook(&self, seconds: f64) -> Result<Option<Outlook>, BrushError> {
        let t = positive("the running time", seconds)?;
        let Some(new) = self.new else { return Ok(None) };
        let Instrument { caliper, new: spread_new, hours } = self.instrument;
        let scatter = self.scatter();
        let worn = (new - self.shortest().value).max(0.0);
        let rate = positive_or_zero(worn / t)?;
        // Kept relative to t until the end, so that nothing gets too small to be held.
        let variance_worn = spread_new.powi(2) + caliper.powi(2) + scatter.powi(2) + (worn * hours).powi(2);
        let mut rate = Estimate::normal(rate, positive_or_zero(variance_worn.sqrt() / t)?);
        rate.low = rate.low.max(0.0);
        let margin = self.shortest().value - self.minimum;
        let ratio = fieller(margin, caliper.powi(2), worn, variance_worn, -caliper.powi(2));
        let mut left = ratio.times(t);
        if margin <= 0.0 {
            (left.value, left.deviation) = (0.0, 0.0);
        }
        left.low = left.low.max(0.0);
        left.high = left.high.max(left.value);
        Ok(Some(Outlook { rate, left, scatter }))
    }

    /// Standard deviation of the lengths among each other, less what the caliper explains, in m.
    fn scatter(&self) -> f64 {
        let n = self.lengths.len() as f64;
        if n < 2.0 {
            return 0.0;
        }
        let mean = self.lengths.iter().sum::<f64>() / n;
        let variance = self.lengths.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / (n - 1.0);
        (variance - self.instrument.caliper.powi(2)).max(0.0).sqrt()
    }
}

fn positive_or_zero(value: f64) -> Result<f64, BrushError> {
    deviation("the wear", value)
}

/// The ratio a / b of two estimates with their variances and covariance, with Fieller's 95 % interval.
/// `b` is zero or above. An end that does not exist is infinite.
fn fieller(a: f64, variance_a: f64, b: f64, variance_b: f64, covariance: f64) -> Estimate {
    let z2 = SIGMAS_95 * SIGMAS_95;
    let ratio = if b > 0.0 { a / b } else { f64::INFINITY };
    // Ratios r with (a - r b)^2 <= z^2 Var(a - r b): a quadratic in r.
    let square = b * b - z2 * variance_b;
    let half = a * b - z2 * covariance;
    let constant = a * a - z2 * variance_a;
    let discriminant = (half * half - square * constant).max(0.0).sqrt();
    let deviation = if b > 0.0 {
        ((variance_a - 2.0 * ratio * covariance + ratio * ratio * variance_b).max(0.0)).sqrt() / b
    } else {
        f64::INFINITY
    };
    let (low, high) = if square > 0.0 {
        ((half - discriminant) / square, (half + discriminant) / square)
    } else {
        // The wear may be nothing: only a lower end is left, and that only while the margin is one.
        let low = if constant > 0.0 { constant / (half + discriminant) } else { 0.0 };
        (low, f64::INFINITY)
    };
    // Sizes beyond reason overflow; then nothing is known.
    let low = if low.is_finite() { low.min(ratio) } else { 0.0 };
    let high = if high.is_nan() { f64::INFINITY } else { high.max(ratio) };
    let deviation = if deviation.is_nan() { f64::INFINITY } else { deviation };
    Estimate { value: ratio, deviation, low, high }
}
