//! Lengths and wear. Limits are those of small motors: about 5 mm (common practice), and as guides 40 %
//! of the original length (NAVEDTRA 14120) and 65 to 67 % (starters: TM 10-3930-653-14&P and others).
#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use statrs::distribution::{ContinuousCDF, Normal};

use super::*;

const MM: f64 = 1e-3;
const HOUR: f64 = 3600.0;
const USUAL: Instrument = Instrument { caliper: 0.1 * MM, new: 0.1 * MM, hours: 0.0 };
const EXACT: Instrument = Instrument { caliper: 0.0, new: 0.0, hours: 0.0 };

fn lengths(mm: &[f64], new: Option<f64>, instrument: Instrument) -> Result<Lengths, BrushError> {
    let metres: Vec<f64> = mm.iter().map(|l| l * MM).collect();
    Lengths::new(&metres, 5.0 * MM, new.map(|n| n * MM), instrument)
}

fn near(got: f64, want: f64) {
    assert!((got - want).abs() <= 1e-9 * want.abs().max(1e-3), "{got} not {want}");
}

#[test]
fn a_pair_is_judged_by_its_shorter_brush() {
    let pair = lengths(&[6.1, 5.8], Some(8.0), EXACT).unwrap();
    near(pair.shortest().value, 5.8 * MM);
    assert_eq!(pair.shortest_index(), 1);
    let margins: Vec<f64> = pair.margins().iter().map(|m| m.value).collect();
    near(margins[0], 1.1 * MM);
    near(margins[1], 0.8 * MM);
    near(pair.fractions().unwrap()[1].value, 0.725);
    near(pair.difference().unwrap().value, 0.3 * MM);
    // 12 h for 2.2 mm of the shorter: 0.1833 mm/h, and 0.8 mm last 4.364 h (arithmetic). The pair's own
    // scatter, 0.3 mm / sqrt 2, is then the only uncertainty.
    let outlook = pair.outlook(12.0 * HOUR).unwrap().unwrap();
    near(outlook.rate.value * HOUR / MM, 2.2 / 12.0);
    near(outlook.left.value / HOUR, 0.8 * 12.0 / 2.2);
    near(outlook.scatter, 0.3 * MM / 2.0f64.sqrt());
    assert!(outlook.left.low < outlook.left.value && outlook.left.value < outlook.left.high);
}

#[test]
fn published_rules_of_the_new_length_can_be_told() {
    // 40 % of the original length (NAVEDTRA 14120), half of it (a generator set's manual), and the ratios
    // of starters, 8 of 12 mm and 10 of 15.5 mm: 0.67 and 0.65.
    for (length, new, fraction) in
        [(5.0, 12.5, 0.40), (6.0, 12.0, 0.5), (8.0, 12.0, 0.67), (10.0, 15.5, 0.65)]
    {
        let brush = lengths(&[length], Some(new), EXACT).unwrap();
        assert!((brush.fractions().unwrap()[0].value - fraction).abs() < 5e-3);
    }
}

#[test]
fn the_caliper_says_how_sure_the_limit_is() {
    // At the limit it is a toss; 0.1 mm, one deviation, below it 84 % (normal distribution).
    let chance = |mm: f64| lengths(&[mm], None, USUAL).unwrap().chance_below();
    near(chance(5.0), 0.5);
    assert!((chance(4.9) - 0.8413).abs() < 5e-5);
    assert!(chance(5.6) < 1e-8 && chance(4.0) > 1.0 - 1e-8);
    let exact = |mm: f64| lengths(&[mm], None, EXACT).unwrap().chance_below();
    assert_eq!((exact(4.99), exact(5.01)), (1.0, 0.0));
}

#[test]
fn nothing_worn_has_no_upper_end() {
    let fresh = lengths(&[8.0, 8.0], Some(8.0), USUAL).unwrap();
    let outlook = fresh.outlook(2.0 * HOUR).unwrap().unwrap();
    assert_eq!(outlook.rate.low, 0.0);
    assert_eq!(outlook.left.high, f64::INFINITY);
    // It has 3 mm left and can hardly have worn 0.3 mm in the 2 h: more than 15 h.
    assert!(outlook.left.low > 15.0 * HOUR && outlook.left.low < 30.0 * HOUR, "{outlook:?}");
}

#[test]
fn nothing_left_is_no_time_left() {
    let worn = lengths(&[4.2, 4.6], Some(8.0), USUAL).unwrap();
    let outlook = worn.outlook(30.0 * HOUR).unwrap().unwrap();
    assert_eq!((outlook.left.value, outlook.left.low), (0.0, 0.0));
    assert!(outlook.left.high < HOUR);
}

#[test]
fn without_the_new_length_there_is_no_rate() {
    let pair = lengths(&[6.1, 5.8], None, USUAL).unwrap();
    assert_eq!(pair.outlook(HOUR).unwrap(), None);
    assert_eq!(pair.fractions(), None);
}

#[test]
fn one_brush_has_neither_difference_nor_scatter() {
    let one = lengths(&[6.0], Some(8.0), USUAL).unwrap();
    assert_eq!(one.difference(), None);
    assert_eq!(one.outlook(HOUR).unwrap().unwrap().scatter, 0.0);
}

#[test]
fn what_cannot_be_is_said() {
    let said = |e: Result<Lengths, BrushError>| e.unwrap_err().to_string();
    assert!(said(lengths(&[], None, USUAL)).contains("no brush length"));
    assert!(said(lengths(&[6.0, 0.0], None, USUAL)).contains("above zero"));
    assert!(said(lengths(&[f64::NAN], None, USUAL)).contains("no possible number"));
    assert!(said(lengths(&[6.0, 8.9], Some(8.0), USUAL)).starts_with("brush 2 is 8.90 mm long"));
    assert!(said(lengths(&[4.0], Some(4.5), USUAL)).contains("at its minimum of 5.00 mm already"));
    // Within what the caliper can be wrong by, a brush may read longer than new.
    assert!(lengths(&[8.2], Some(8.0), USUAL).is_ok());
    let pair = lengths(&[6.1], Some(8.0), USUAL).unwrap();
    for bad in [0.0, -3.0, f64::NAN, f64::INFINITY] {
        assert!(pair.outlook(bad).is_err());
    }
    assert!(lengths(&[6.0], None, Instrument { caliper: -1.0, ..USUAL }).is_err());
}

/// Makes brushes that wear at one rate each for ever, and reads them with a caliper; how often the
/// interval of the hours left holds the truth.
fn coverage(worn_mm: f64, spread_of_rates: f64, seed: u64) -> f64 {
    const RUNS: usize = 4000;
    let mut rng = StdRng::seed_from_u64(seed);
    let unit = Normal::new(0.0, 1.0).unwrap();
    let mut normal = |deviation: f64| deviation * unit.inverse_cdf(rng.random_range(1e-9..1.0 - 1e-9));
    let held = (0..RUNS).filter(|_| {
        let t = 10.0 * HOUR;
        let made: Vec<(f64, f64)> = (0..2)
            .map(|_| (8.0 + normal(0.1), worn_mm * (1.0 + normal(spread_of_rates))))
            .map(|(new, worn)| (new - worn, worn))
            .collect();
        let read: Vec<f64> = made.iter().map(|(length, _)| length + normal(0.1)).collect();
        let pair = lengths(&read, Some(8.0), USUAL).unwrap();
        let (length, worn) = made[pair.shortest_index()];
        let truth = (length - 5.0) / worn * t;
        let left = pair.outlook(t).unwrap().unwrap().left;
        left.low <= truth && truth <= left.high
    });
    held.count() as f64 / RUNS as f64
}

#[test]
fn the_interval_of_the_hours_left_holds_the_truth() {
    // 4000 runs: two deviations of the share are 0.7 %.
    for (worn, spread, seed) in [(2.0, 0.0, 1), (1.0, 0.0, 2), (0.5, 0.0, 3), (2.0, 0.1, 4), (1.0, 0.2, 5)] {
        let share = coverage(worn, spread, seed);
        assert!(share > 0.943, "{worn} mm worn, rates {spread} apart: {share}");
    }
}

proptest! {
    #[test]
    fn longer_brushes_last_longer(a in 5.1..7.5f64, more in 0.01..0.4f64, hours in 0.1..200.0f64) {
        let left = |mm: f64| lengths(&[mm], Some(8.0), USUAL).unwrap().outlook(hours * HOUR).unwrap().unwrap().left;
        let (short, long) = (left(a), left(a + more));
        prop_assert!(long.value > short.value && long.low >= short.low && long.high >= short.high);
    }

    #[test]
    fn hours_left_grow_with_the_hours_run(a in 5.1..7.5f64, hours in 0.1..200.0f64, times in 1.01..5.0f64) {
        let pair = lengths(&[a, a + 0.2], Some(8.0), USUAL).unwrap();
        let (one, more) = (pair.outlook(hours * HOUR).unwrap().unwrap(), pair.outlook(hours * times * HOUR).unwrap().unwrap());
        prop_assert!((more.left.value / one.left.value - times).abs() < 1e-9 * times);
        prop_assert!(more.rate.value < one.rate.value);
    }

    #[test]
    fn no_lengths_panic(
        mm in prop::collection::vec(any::<f64>(), 0..4),
        minimum in any::<f64>(), new in prop::option::of(any::<f64>()),
        caliper in any::<f64>(), other in any::<f64>(), t in any::<f64>(),
    ) {
        if let Ok(l) = Lengths::new(&mm, minimum, new, Instrument { caliper, new: other, hours: other }) {
            let _ = (l.margins(), l.fractions(), l.difference(), l.chance_below());
            if let Ok(Some(o)) = l.outlook(t) {
                prop_assert!(!o.left.low.is_nan() && !o.left.high.is_nan() && o.left.low <= o.left.high, "{:?}", o);
            }
        }
    }
}
