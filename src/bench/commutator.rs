//! The commutator: what may still be cut off, and how.
//!
//! Lengths in metres, angles in degrees. A *cut* has a depth on the radius, as a tool is fed in; it takes
//! twice that off the diameter.

use super::Estimate;

/// Why a commutator could not be judged.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CommutatorError {
    /// No diameter was given.
    #[error("no diameter is given; measure it at one or more places of the brush track")]
    NoDiameter,
    /// A length that has to be above zero is not.
    #[error("the {what} has to be above zero")]
    NotPositive {
        /// Which length.
        what: &'static str,
    },
    /// A length that can't be negative is.
    #[error("the {what} can't be negative")]
    Negative {
        /// Which length.
        what: &'static str,
    },
    /// The depth of a cut is a large part of the commutator.
    #[error("a cut as deep as a tenth of the diameter is no light cut; give the depth on the radius")]
    CutTooDeep,
    /// A motor with so few bars does not start.
    #[error("a commutator has 3 bars or more")]
    TooFewBars,
    /// The slots are wider than the bars leave room for.
    #[error("slots that wide leave no bar between them")]
    SlotsTooWide,
}

/// What is left of a commutator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reserve {
    /// Smallest diameter measured.
    pub diameter: Estimate,
    /// Diameter less minimum; negative when it is below.
    pub margin: Estimate,
    /// Largest less smallest diameter along and round the track; 0 for a single measurement.
    pub taper: f64,
    /// Cuts that it takes to be round: the runout and the taper cut away, one at least.
    pub cuts_needed: u32,
    /// Diameter after those cuts.
    pub finished: f64,
    /// Whole cuts that leave the diameter at its minimum or above.
    pub cuts_left: u32,
}

/// What is left of a commutator.
///
/// `diameters` as measured, each with one standard deviation `deviation`; `minimum` is the diameter below
/// which it is retired; `runout` is the total reading of a gauge over one turn (twice the eccentricity);
/// `cut` is the depth of one cut on the radius.
///
/// # Formula
///
/// Turning true removes the eccentricity from the radius on every side, so the diameter falls by the total
/// runout, and by the taper besides: n = ceil((runout + taper) / (2 cut)), finished = smallest - 2 n cut,
/// left = floor((smallest - minimum) / (2 cut)). Geometry; derived here.
///
/// # Errors
///
/// [`CommutatorError`] for missing, negative or senseless lengths.
pub fn reserve(
    diameters: &[f64],
    deviation: f64,
    minimum: f64,
    runout: f64,
    cut: f64,
) -> Result<Reserve, CommutatorError> {
    let smallest = diameters.iter().copied().reduce(f64::min).ok_or(CommutatorError::NoDiameter)?;
    let largest = diameters.iter().copied().fold(smallest, f64::max);
    for (what, length) in [("diameter", smallest), ("minimum", minimum), ("depth of a cut", cut)] {
        if !(length > 0.0 && length.is_finite()) {
            return Err(CommutatorError::NotPositive { what });
        }
    }
    for (what, length) in [("runout", runout), ("deviation", deviation)] {
        if !(length >= 0.0 && length.is_finite()) {
            return Err(CommutatorError::Negative { what });
        }
    }
    if cut >= smallest / 10.0 {
        return Err(CommutatorError::CutTooDeep);
    }
    let taper = largest - smallest;
    let whole = |x: f64| (x.max(0.0) as u32).min(10_000);
    // A hair of rounding in decimal lengths must not cost a cut.
    let needed = whole(((runout + taper) / (2.0 * cut) - 1e-9).ceil()).max(1);
    let margin = smallest - minimum;
    Ok(Reserve {
        diameter: Estimate::normal(smallest, deviation),
        margin: Estimate::normal(margin, deviation),
        taper,
        cuts_needed: needed,
        finished: smallest - 2.0 * cut * f64::from(needed),
        cuts_left: whole((margin / (2.0 * cut) + 1e-9).floor()),
    })
}

/// Bars and brushes seen round the shaft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overlap {
    /// Width of a bar along the circumference.
    pub bar_width: f64,
    /// Angle that a brush covers.
    pub brush_angle: f64,
    /// Whether one bar can touch both brushes at once, which short-circuits the supply in every turn.
    pub bridges_brushes: bool,
    /// Whether a brush is narrower than a slot, so that it loses contact in every slot.
    pub loses_contact: bool,
}

/// How bars and brushes of a two-pole motor meet at a diameter.
///
/// `bars` in number; `slot_width` and `brush_width` along the circumference; the brushes stand opposite.
///
/// # Formula
///
/// Angle of an arc a at diameter D: 360 a / (pi D). A bar reaches both brushes when its angle is greater
/// than the gap between them, 180 - brush angle. Geometry; derived here.
///
/// # Errors
///
/// [`CommutatorError`] for too few bars or lengths that leave no bar.
pub fn overlap(
    diameter: f64,
    bars: u32,
    slot_width: f64,
    brush_width: f64,
) -> Result<Overlap, CommutatorError> {
    if bars < 3 {
        return Err(CommutatorError::TooFewBars);
    }
    for (what, length) in [("diameter", diameter), ("width of the brush", brush_width)] {
        if !(length > 0.0 && length.is_finite()) {
            return Err(CommutatorError::NotPositive { what });
        }
    }
    if !(slot_width >= 0.0 && slot_width.is_finite()) {
        return Err(CommutatorError::Negative { what: "width of the slots" });
    }
    let round = std::f64::consts::PI * diameter;
    let bar_width = round / f64::from(bars) - slot_width;
    if bar_width <= 0.0 {
        return Err(CommutatorError::SlotsTooWide);
    }
    let angle = |arc: f64| 360.0 * arc / round;
    let brush_angle = angle(brush_width);
    Ok(Overlap {
        bar_width,
        brush_angle,
        bridges_brushes: angle(bar_width) > 180.0 - brush_angle,
        loses_contact: brush_width <= slot_width,
    })
}

/// Spindle speed in rpm for a cutting speed in metres a minute at a diameter in metres: n = v / (pi D).
///
/// # Errors
///
/// [`CommutatorError::NotPositive`] when either is not above zero.
pub fn spindle_speed(cutting_speed: f64, diameter: f64) -> Result<f64, CommutatorError> {
    let positive = |x: f64| x > 0.0 && x.is_finite();
    match (positive(cutting_speed), positive(diameter)) {
        (false, _) => Err(CommutatorError::NotPositive { what: "cutting speed" }),
        (_, false) => Err(CommutatorError::NotPositive { what: "diameter" }),
        _ => Ok(cutting_speed / (std::f64::consts::PI * diameter)),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_is_left_of_a_seven_and_a_half_millimetre_commutator() {
        // Retired below 6.86 mm (common practice). 7.31 mm: 0.45 mm is left, four cuts of 0.05 mm on the radius.
        let r = reserve(&[0.00731], 0.00002, 0.00686, 0.00002, 0.00005).unwrap();
        assert!((r.margin.value - 0.00045).abs() < 1e-12);
        assert_eq!((r.cuts_needed, r.cuts_left), (1, 4));
        assert!((r.finished - 0.00721).abs() < 1e-12);
        // 9.14 mm for 10 mm (common practice): exactly two cuts down to the minimum.
        let r = reserve(&[0.00934, 0.00936], 0.0, 0.00914, 0.0, 0.00005).unwrap();
        assert_eq!(r.cuts_left, 2);
        assert!((r.taper - 0.00002).abs() < 1e-12);
        let r = reserve(&[0.00680], 0.00002, 0.00686, 0.0, 0.00005).unwrap();
        assert!(r.margin.value < 0.0 && r.cuts_left == 0);
    }

    #[test]
    fn runout_asks_for_more_cuts() {
        // 0.2 mm of runout is the limit at which TM 10-3930-653-14&P (p. 4-97) has a starter turned.
        let r = reserve(&[0.0073], 0.0, 0.00686, 0.0002, 0.00005).unwrap();
        assert_eq!(r.cuts_needed, 2);
        assert!((r.finished - 0.0071).abs() < 1e-12);
    }

    #[test]
    fn a_bar_of_three_is_wide() {
        // At 60 degrees of brush a bar of 120 degrees reaches from one brush to the other.
        let round = std::f64::consts::PI * 0.0075;
        assert!(!overlap(0.0075, 3, 0.0, round * 59.0 / 360.0).unwrap().bridges_brushes);
        let o = overlap(0.0075, 3, 0.0, round * 61.0 / 360.0).unwrap();
        assert!(o.bridges_brushes && (o.brush_angle - 61.0).abs() < 1e-9);
        assert!(
            (overlap(0.0075, 3, 0.0005, 0.004).unwrap().bar_width - (round / 3.0 - 0.0005)).abs() < 1e-12
        );
        assert!(overlap(0.0075, 3, 0.0005, 0.0004).unwrap().loses_contact);
    }

    #[test]
    fn spindle_speed_by_hand() {
        // 60 m/min at 7.5 mm: 60 / (3.14159 x 0.0075) = 2546.5 rpm.
        assert!((spindle_speed(60.0, 0.0075).unwrap() - 2546.479).abs() < 1e-3);
        assert!(spindle_speed(0.0, 0.0075).is_err() && spindle_speed(60.0, f64::NAN).is_err());
    }

    #[test]
    fn nonsense_is_refused() {
        use CommutatorError::*;
        assert_eq!(reserve(&[], 0.0, 1.0, 0.0, 0.1), Err(NoDiameter));
        assert_eq!(reserve(&[-1.0], 0.0, 1.0, 0.0, 0.01), Err(NotPositive { what: "diameter" }));
        assert_eq!(reserve(&[1.0], 0.0, 1.0, -0.1, 0.01), Err(Negative { what: "runout" }));
        assert_eq!(reserve(&[1.0], 0.0, 1.0, 0.0, 0.1), Err(CutTooDeep));
        assert_eq!(overlap(0.0075, 2, 0.0, 0.001), Err(TooFewBars));
        assert_eq!(overlap(0.0075, 24, 0.001, 0.001), Err(SlotsTooWide));
    }

    proptest! {
        #[test]
        fn after_the_cuts_that_are_left_it_is_still_good(
            d in 6.0..11.0f64, minimum in 5.0..11.0f64, cut in 0.005..0.2f64, runout in 0.0..0.3f64,
        ) {
            let r = reserve(&[d * 1e-3], 0.0, minimum * 1e-3, runout * 1e-3, cut * 1e-3).unwrap();
            let after = |n: u32| d - 2.0 * cut * f64::from(n);
            if r.cuts_left > 0 {
                prop_assert!(after(r.cuts_left) >= minimum - 1e-6);
            }
            prop_assert!(after(r.cuts_left + 1) < minimum + 1e-6);
            prop_assert!(2.0 * cut * f64::from(r.cuts_needed) >= runout - 1e-6);
        }
    }
}
