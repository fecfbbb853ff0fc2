//! How fast the expert is examined, and what comes out: figures, not assertions.
//!
//! `cargo bench --bench assess -- 500 7` examines it on 500 motors of each kind from seed 7, as the world is believed
//! to be; a third number is the careless share in per cent, a fourth the deviation of every chance in log-odds, a
//! fifth the number of endings that are thought through again.
#![allow(clippy::expect_used)]

use std::time::Instant;

use commsense::case::BenchUnits;
use commsense::drill::exam::{Condition, Kind, Plan, Rate, examine};
use commsense::knowledge;
use commsense::network::compile;
use commsense::plan::assess::Planner;

fn main() {
    let numbers: Vec<f64> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    let number = |at: usize, otherwise: f64| numbers.get(at).copied().unwrap_or(otherwise);
    let plan = Plan {
        runs: number(0, 200.0) as usize,
        seed: number(1, 1.0) as u64,
        kinds: Kind::ALL.to_vec(),
        conditions: vec![Condition {
            careless: number(2, 0.0) / 100.0,
            sigma: number(3, 0.0),
            physics: number(4, 0.0) > 0.0,
        }],
        situations: 0,
    };
    let knowledge = knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
    let net = compile(&knowledge).belief().clone();
    let planner = Planner::new(&knowledge, net).expect("the network is small enough");
    let start = Instant::now();
    let report = examine(&planner, &plan, &|| ()).expect("there are such motors");
    let seconds = start.elapsed().as_secs_f64();
    let share = |r: Rate| r.share().unwrap_or(f64::NAN);
    for m in &report.papers[0].marks {
        println!(
            "{:8} first {:.3}, in three {:.3}, false alarms {:.3}, cured {:.3}, cost {:.1} (knowing {:.1}), questions {:.2}, \
             minutes {:.1}, ece first {:.3}, ece all {:.4}, broken {}, forbidden {}",
            m.kind.word(),
            share(m.first),
            share(m.three),
            share(m.false_alarm),
            m.cured.mean,
            m.cost.mean,
            m.knowing.mean,
            m.questions.mean,
            m.minutes.mean,
            m.first_named.expected_error(),
            m.every_fault.expected_error(),
            m.broken.hits,
            m.forbidden.hits,
        );
    }
    let played = plan.consultations() as f64;
    println!("{:.1} consultations a second", played / seconds);
    let endings = number(4, 0.0) as usize;
    if endings > 0 {
        let start = Instant::now();
        let plan = Plan { runs: endings.div_ceil(Kind::ALL.len()), situations: endings, ..plan };
        let report = examine(&planner, &plan, &|| ()).expect("there are such motors");
        println!("{} endings thought through again, {:.1} s", endings, start.elapsed().as_secs_f64());
        for n in report.sensitivity.numbers.iter().take(20) {
            println!(
                "{:?} {:.4}: first {}, scope {}, either {} of {}, cost {:.4} ± {:.4}{}",
                n.what,
                n.value,
                n.first.hits,
                n.scope.hits,
                n.moved.hits,
                n.moved.of,
                n.cost.mean,
                n.cost.error,
                if n.stands_out { ", stands out" } else { "" }
            );
        }
    }
}
