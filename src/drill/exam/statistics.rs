//! Figures of merit: shares with intervals, calibration, proper scores.

/// How often something held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Rate {
    /// How often it held.
    pub hits: usize,
    /// How often it could have.
    pub of: usize,
}

impl Rate {
    /// One more.
    pub fn add(&mut self, hit: bool) {
        self.hits += usize::from(hit);
        self.of += 1;
    }

    /// The share, 0 to 1; none of nothing.
    pub fn share(self) -> Option<f64> {
        (self.of > 0).then(|| self.hits as f64 / self.of as f64)
    }

    /// The interval that holds the true share with 95 % confidence (Wilson 1927, score interval).
    ///
    /// ```
    /// use commsense::drill::exam::Rate;
    /// // Newcombe 1998, Statistics in Medicine 17: 857-872, table I, method 3: 81 of 263.
    /// let (low, high) = Rate { hits: 81, of: 263 }.interval().unwrap();
    /// assert!((low - 0.2553).abs() < 5e-5 && (high - 0.3662).abs() < 5e-5);
    /// ```
    pub fn interval(self) -> Option<(f64, f64)> {
        /// Quantile of the standard normal distribution at 97.5 %.
        const Z: f64 = 1.959_963_984_540_054;
        let p = self.share()?;
        let n = self.of as f64;
        let middle = p + Z * Z / (2.0 * n);
        let half = Z * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
        let below = 1.0 + Z * Z / n;
        Some((((middle - half) / below).max(0.0), ((middle + half) / below).min(1.0)))
    }
}

/// One stretch of probabilities.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bin {
    /// How many statements fell into it.
    pub count: usize,
    /// The mean of what was said.
    pub said: f64,
    /// The share that was true.
    pub true_share: f64,
}

/// How statements of probability compare with what was true.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// Stretches of equal width from 0 to 1; a border belongs to the stretch below it.
    pub bins: Vec<Bin>,
    /// Statements altogether.
    pub count: usize,
    /// Mean of the squared difference between what was said and what was true, 0 to 1 (Brier 1950, for one event).
    pub brier: f64,
    /// Mean surprise, in bits; what was said is taken as no nearer to 0 or 1 than [`Calibration::SUREST`].
    pub surprise: f64,
    /// Share that was true.
    pub base: f64,
}

impl Calibration {
    /// Nobody is surer than this when surprise is counted: otherwise a single careless answer could make it
    /// infinite.
    pub const SUREST: f64 = 1e-6;

    /// Sorts statements (probability, whether it was true) into so many stretches.
    pub fn of(bins: usize, statements: impl IntoIterator<Item = (f64, bool)>) -> Calibration {
        let mut all = vec![Bin::default(); bins.max(1)];
        let mut sums = Calibration { bins: Vec::new(), count: 0, brier: 0.0, surprise: 0.0, base: 0.0 };
        for (said, is_true) in statements {
            let truth = f64::from(u8::from(is_true));
            let at = ((said * all.len() as f64).ceil() as usize).clamp(1, all.len()) - 1;
            let bin = &mut all[at];
            bin.count += 1;
            bin.said += said;
            bin.true_share += truth;
            sums.count += 1;
            sums.base += truth;
            sums.brier += (said - truth).powi(2);
            let of_truth = if is_true { said } else { 1.0 - said };
            sums.surprise -= of_truth.clamp(Self::SUREST, 1.0 - Self::SUREST).log2();
        }
        for bin in all.iter_mut().filter(|b| b.count > 0) {
            bin.said /= bin.count as f64;
            bin.true_share /= bin.count as f64;
        }
        let n = (sums.count as f64).max(1.0);
        Calibration {
            bins: all,
            count: sums.count,
            brier: sums.brier / n,
            surprise: sums.surprise / n,
            base: sums.base / n,
        }
    }

    fn weighed(&self, part: impl Fn(&Bin) -> f64) -> f64 {
        let n = (self.count as f64).max(1.0);
        self.bins.iter().map(|b| b.count as f64 / n * part(b)).sum()
    }

    /// Expected calibration error: by how much what is said and what is true differ on average (Guo, Pleiss, Sun &
    /// Weinberger, ICML 2017, equation 3).
    pub fn expected_error(&self) -> f64 {
        self.weighed(|b| (b.true_share - b.said).abs())
    }

    /// The greatest difference of any stretch (ibid., equation 5).
    pub fn greatest_error(&self) -> f64 {
        let used = self.bins.iter().filter(|b| b.count > 0);
        used.map(|b| (b.true_share - b.said).abs()).fold(0.0, f64::max)
    }

    /// The Brier score in Murphy's parts (Murphy 1973): reliability (less is better), resolution (more is better),
    /// uncertainty (not the expert's doing). Their sum, with resolution taken off, is the score itself where all
    /// statements of a stretch are alike.
    pub fn murphy(&self) -> (f64, f64, f64) {
        let reliability = self.weighed(|b| (b.true_share - b.said).powi(2));
        let resolution = self.weighed(|b| (b.true_share - self.base).powi(2));
        (reliability, resolution, self.base * (1.0 - self.base))
    }
}

/// The mean of some numbers; none of nothing.
pub(super) fn mean(numbers: impl IntoIterator<Item = f64>) -> Option<f64> {
    let (sum, n) = numbers.into_iter().fold((0.0, 0usize), |(s, n), x| (s + x, n + 1));
    (n > 0).then(|| sum / n as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The worked example of the uncertainty-calibration literature: both errors are a quarter.
    #[test]
    fn calibration_errors_as_defined() {
        let said = [(0.25, false), (0.25, false), (0.75, true), (0.75, true)];
        let c = Calibration::of(2, said);
        assert!((c.expected_error() - 0.25).abs() < 1e-12);
        assert!((c.greatest_error() - 0.25).abs() < 1e-12);
    }

    #[test]
    fn brier_score_as_defined() {
        let c = Calibration::of(10, [(0.1, false), (0.9, true), (0.8, true), (0.3, false)]);
        assert!((c.brier - 0.0375).abs() < 1e-12);
    }

    #[test]
    fn murphys_parts_add_up_where_statements_are_alike() {
        let said: Vec<(f64, bool)> =
            (0..100).map(|i| (if i % 4 == 0 { 0.75 } else { 0.15 }, i % 3 == 0)).collect();
        let c = Calibration::of(10, said);
        let (reliability, resolution, uncertainty) = c.murphy();
        assert!((reliability - resolution + uncertainty - c.brier).abs() < 1e-12);
        assert!(reliability > 0.05 && uncertainty > 0.2);
    }

    #[test]
    fn surprise_is_in_bits_and_finite() {
        let c = Calibration::of(10, [(0.25, true), (0.5, false)]);
        assert!((c.surprise - 1.5).abs() < 1e-12);
        assert!((Calibration::of(10, [(0.0, true)]).surprise - 1e6f64.log2()).abs() < 1e-9);
    }

    #[test]
    fn borders_belong_below_and_nothing_is_lost() {
        let c = Calibration::of(4, [(0.0, false), (0.25, true), (0.250_001, true), (1.0, true)]);
        assert_eq!(c.bins.iter().map(|b| b.count).collect::<Vec<_>>(), [2, 1, 0, 1]);
        assert_eq!(Calibration::of(4, []).expected_error(), 0.0);
    }

    /// Newcombe 1998, table I, method 3.
    #[test]
    fn intervals_as_published() {
        for ((hits, of), (low, high)) in
            [((15, 148), (0.0624, 0.1605)), ((0, 20), (0.0, 0.1611)), ((1, 29), (0.0061, 0.1718))]
        {
            let (l, h) = Rate { hits, of }.interval().expect("there is one");
            assert!((l - low).abs() < 6e-5 && (h - high).abs() < 6e-5, "{hits} of {of}: {l} {h}");
        }
        assert_eq!(Rate::default().interval(), None);
    }
}
