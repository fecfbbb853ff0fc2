//! How well the bench's analyses recover the truth of simulated motors, in tables.
//!
//! `cargo bench --bench recovery -- 20` for 20 recordings a line (10 if none is said).

#[path = "../tests/simulator/mod.rs"]
mod simulator;
#[path = "../tests/trials/mod.rs"]
mod trials;

use commsense::bench::winding::Verdict;
use simulator::Fault;
use trials::{Recovered, coil_named, constants_covered, ring_constants, ripple};

fn main() {
    let count = std::env::args().skip(1).find_map(|a| a.parse::<u64>().ok()).unwrap_or(10);
    println!(
        "Speed from 5 s of current ripple, 30 kHz, 8 bits, speed wavering by up to 2 %, {count} recordings a line"
    );
    println!("bars  fault         known      within 0.2 %  in interval  worst right  unevenness");
    let faults = [
        ("none", None),
        ("coil open", Some(Fault::CoilOpen(1))),
        ("3/10 shorted", Some(Fault::CoilShorted(0, 0.3))),
        ("bar raised", Some(Fault::BarRaised(2, 12.0))),
        ("poor joint", Some(Fault::PoorJoint(1, 0.1))),
        ("brush askew", Some(Fault::BrushAskew(3.0))),
    ];
    for bars in [3, 4, 5, 7, 12] {
        for (name, fault) in faults {
            for (known, within) in [("nothing", None), ("to 15 %", Some(1.15))] {
                let trials: Vec<Recovered> =
                    (0..count).map(|seed| ripple(bars, fault, seed, 5.0, within)).collect();
                ripple_line(bars, name, known, &trials);
            }
        }
    }
    println!(
        "\nFaulty coil named rightly, and alone, from bar-to-bar readings with a meter of 2 %, 2000 sets a line"
    );
    for bars in [3, 4, 5, 7, 12] {
        for fault in
            [Verdict::Open, Verdict::Shorted, Verdict::PartShorted, Verdict::PoorJoint, Verdict::Sound]
        {
            let sets: Vec<(bool, bool)> = (0..2000).map(|seed| coil_named(bars, fault, seed)).collect();
            let percent = |of: fn(&&(bool, bool)) -> bool| sets.iter().filter(of).count() as f64 / 20.0;
            println!(
                "{bars:>4}  {:<12} {:6.2} %  {:6.2} %",
                fault.word(),
                percent(|s| s.0),
                percent(|s| s.1)
            );
        }
    }
    let trials: Vec<[bool; 4]> = (0..1000).filter_map(constants_covered).collect();
    println!("\nConstants within their own 95 % intervals, {} of 1000 no-load tests gave any", trials.len());
    for (i, name) in ["Ke", "resistance", "brush drop", "drag at rest"].iter().enumerate() {
        let share = 100.0 * trials.iter().filter(|t| t[i]).count() as f64 / trials.len().max(1) as f64;
        println!("  {name:<14} {share:6.1} %");
    }
    println!(
        "\nConstants of a simulated ring over those by its build (commutation is not in the averaged model)"
    );
    println!("bars  Ke      no-load speed");
    for bars in [3, 4, 5, 7] {
        match ring_constants(bars, 1) {
            Some([ke, rpm]) => println!("{bars:>4}  {ke:.4}  {rpm:.4}"),
            None => println!("{bars:>4}  refused"),
        }
    }
}

fn ripple_line(bars: usize, name: &str, known: &str, trials: &[Recovered]) {
    let count = trials.len();
    let right: Vec<&Recovered> = trials.iter().filter(|t| t.error() < 0.002).collect();
    let inside = right
        .iter()
        .filter(|t| t.found.as_ref().is_ok_and(|f| f.rpm.low <= t.rpm && t.rpm <= f.rpm.high))
        .count();
    let worst = 100.0 * right.iter().map(|t| t.error()).fold(0.0, f64::max);
    let uneven = || right.iter().filter_map(|t| t.found.as_ref().ok()).map(|f| f.unevenness);
    let (low, high) = (uneven().fold(1.0, f64::min), uneven().fold(0.0, f64::max));
    println!(
        "{bars:>4}  {name:<12}  {known:<9} {:>7} of {count:<4} {inside:>6} of {:<4} {worst:>7.4} %   {low:.3} to {high:.3}",
        right.len(),
        right.len()
    );
}
