//! How well the analyses recover the truth of motors that they have not seen; modest counts, fixed seeds.
//! `cargo bench --bench recovery` prints the full tables.

mod simulator;
mod trials;

use commsense::bench::winding::Verdict;
use simulator::Fault;
use trials::{coil_named, constants_covered, ripple};

#[test]
fn speed_from_five_seconds_of_ripple_is_within_two_tenths_of_a_percent() {
    for (bars, seed) in [(3, 1), (4, 1), (5, 1), (7, 1)] {
        let r = ripple(bars, None, seed, 5.0, None);
        assert!(r.error() < 0.002, "{bars} bars, seed {seed}: {:?} for {}", r.found, r.rpm);
        let found = r.found.as_ref().expect("a speed");
        assert!(found.rpm.low <= r.rpm && r.rpm <= found.rpm.high, "{:?} for {}", found.rpm, r.rpm);
        assert!(found.unevenness < 0.04, "{found:?}");
    }
}

#[test]
fn a_faulty_coil_or_bar_shows_in_the_ripple() {
    for fault in [Fault::CoilOpen(0), Fault::CoilShorted(1, 0.3), Fault::BarRaised(2, 12.0)] {
        for (bars, seed) in [(3, 1), (5, 1), (7, 1)] {
            let r = ripple(bars, Some(fault), seed, 1.0, Some(1.15));
            assert!(r.error() < 0.002, "{bars} bars, {fault:?}: {:?} for {}", r.found, r.rpm);
            assert!(
                r.found.as_ref().is_ok_and(|f| f.unevenness > 0.1),
                "{bars} bars, {fault:?}: {:?}",
                r.found
            );
        }
    }
}

#[test]
fn the_faulty_coil_is_named() {
    for fault in [Verdict::Open, Verdict::Shorted, Verdict::PartShorted, Verdict::PoorJoint] {
        for bars in [3, 5, 7] {
            let sets: Vec<(bool, bool)> = (0..200).map(|seed| coil_named(bars, fault, seed)).collect();
            let named = sets.iter().filter(|s| s.0).count();
            assert!(named >= 198, "{bars} bars, {fault:?}: named in {named} of 200");
            let alone = sets.iter().filter(|s| s.1).count();
            assert!(alone >= 194, "{bars} bars, {fault:?}: alone in {alone} of 200");
        }
    }
}

#[test]
fn constants_lie_in_their_stated_intervals() {
    let trials: Vec<[bool; 4]> = (0..120).filter_map(constants_covered).collect();
    assert!(trials.len() >= 114, "{} tests gave constants", trials.len());
    for (i, name) in ["Ke", "resistance", "brush drop", "drag at rest"].iter().enumerate() {
        let share = trials.iter().filter(|t| t[i]).count() as f64 / trials.len() as f64;
        assert!(share > 0.9, "{name}: {share}");
    }
}
