//! Examinations of a knowledge small enough to reckon by hand, and of the built-in one.

#![allow(clippy::unwrap_used)]

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::ThreadPoolBuilder;

use super::*;
use crate::case::BenchUnits;
use crate::inference::Question;
use crate::knowledge::{Knowledge, builtin};
use crate::network::compile;
use crate::plan::assess::Planner;

fn plan(runs: usize, kinds: &[Kind]) -> Plan {
    Plan { runs, seed: 11, kinds: kinds.to_vec(), conditions: vec![Condition::default()], situations: 0 }
}

fn planner(knowledge: &Knowledge) -> Planner<'_> {
    Planner::new(knowledge, compile(knowledge).belief().clone()).unwrap()
}

fn report(plan: &Plan) -> Report {
    let knowledge = builtin(&BenchUnits).unwrap();
    examine(&planner(&knowledge), plan, &|| ()).unwrap()
}

#[test]
fn the_same_figures_whatever_the_number_of_threads() {
    let plan = Plan {
        conditions: vec![Condition { careless: 0.3, sigma: 0.5, physics: true }],
        situations: 1,
        ..plan(3, &[Kind::OneFault])
    };
    let with = |threads: usize| {
        let pool = ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| report(&plan))
    };
    assert_eq!(with(1), with(3));
}

#[test]
fn every_step_is_told_and_every_consultation_counts_once() {
    let knowledge = builtin(&BenchUnits).unwrap();
    let plan = Plan { situations: 2, ..plan(2, &[Kind::Healthy, Kind::Outside]) };
    let told = AtomicUsize::new(0);
    let count = || {
        told.fetch_add(1, Ordering::Relaxed);
    };
    let planner = planner(&knowledge);
    let report = examine(&planner, &plan, &count).unwrap();
    assert_eq!(told.into_inner(), plan.steps());
    assert_eq!((plan.consultations(), plan.steps()), (4, 6));
    let [healthy, outside] = &report.papers[0].marks[..] else { panic!("two kinds") };
    assert_eq!((healthy.motors, healthy.first.of, healthy.false_alarm.of), (2, 0, 2));
    assert_eq!((outside.motors, outside.first.of, outside.false_alarm.of), (2, 2, 0));
    assert_eq!(healthy.proposed.iter().sum::<usize>(), 2);
    assert_eq!(report.faults.iter().map(|f| f.first.of).sum::<usize>(), 2);
    for row in &report.faults {
        let fault = knowledge.fault(&planner.net.faults[row.fault].id).unwrap();
        assert_eq!(fault.group, "outside");
    }
    for marks in &report.papers[0].marks {
        assert!(marks.knowing.mean <= marks.cost.mean, "nobody does better than one who knows everything");
        assert!((marks.asking.mean + marks.work.mean - marks.cost.mean).abs() < 1e-9);
        for (always, over) in marks.always.iter().zip(&marks.over_always) {
            assert!(marks.knowing.mean <= always.mean + 1e-9);
            assert!((marks.cost.mean - always.mean - over.mean).abs() < 1e-9);
        }
        assert_eq!(marks.broken.hits, 0);
        assert_eq!(marks.first_named.count, marks.motors);
        assert_eq!(marks.every_fault.count, marks.motors * planner.net.faults.len());
    }
    assert_eq!(report.sensitivity.endings, 2);
    let asked: usize = report.questions.iter().map(|q| q.asked.hits).sum();
    let times: f64 = report.papers[0].marks.iter().map(|m| m.questions.mean * m.motors as f64).sum();
    assert!(asked as f64 <= times && asked > 0);
    let mut questions: Vec<Question> = report.questions.iter().flat_map(|r| r.questions.clone()).collect();
    questions.sort_unstable();
    let every = planner.net.factors.len() + planner.net.observations.len();
    assert_eq!(questions.len(), every, "each question stands in one row");
    questions.dedup();
    assert_eq!(questions.len(), every);
    for row in &report.questions {
        assert_eq!(row.asked.hits > 0, row.worth.is_some());
        assert!(row.look.is_some() || row.questions.len() == 1);
    }
    let looks = report.questions.iter().filter(|r| r.look.is_some()).count();
    assert_eq!(looks, knowledge.looks.len(), "one row a look");
}

/// The same motors come under every condition whose world is the same.
#[test]
fn careless_people_bring_the_same_motors() {
    let careless = Condition { careless: 0.9, ..Condition::default() };
    let plan = Plan { conditions: vec![Condition::default(), careless], ..plan(3, &[Kind::OneFault]) };
    let report = report(&plan);
    let [plain, careless] = [&report.papers[0].marks[0], &report.papers[1].marks[0]];
    assert!((plain.knowing.mean - careless.knowing.mean).abs() < 1e-12);
    assert_ne!(plain.every_fault, careless.every_fault);
}

/// A number that alone decides between two faults is found.
#[test]
fn numbers_that_decide_stand_at_the_head() {
    let plan = Plan { situations: 4, ..plan(4, &[Kind::OneFault]) };
    let sensitivity = report(&plan).sensitivity;
    let numbers = &sensitivity.numbers;
    assert!(numbers.windows(2).all(|w| w[0].moved.hits >= w[1].moved.hits));
    assert!(sensitivity.weighed > numbers.len());
    for number in numbers {
        assert!(number.moved.hits <= number.first.hits + number.scope.hits && number.moved.hits > 0);
        assert_eq!((number.first.of, number.scope.of, number.moved.of), (4, 4, 4));
        assert!(number.cost.mean >= 0.0 && number.cost.error >= 0.0);
        let works = number.scope.hits > 0;
        assert!(number.cost.mean == 0.0 || works, "only other work costs other money: {number:?}");
    }
}
