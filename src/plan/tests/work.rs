//! The order of the work, and that what was taken apart is put together again.

use crate::knowledge::{Closing, Knowledge, Part, Repair, Step};
use crate::plan::sample::{bench, repair};
use crate::plan::work::{Job, jobs, sort};

const COUNTER: usize = 0;
const BENCH: usize = 1;
const DEEP: usize = 4;

/// The knowledge of the tests, each stage but the first and the powered one with a way back.
fn with_ways_back() -> Knowledge {
    let mut knowledge = bench();
    for stage in knowledge.stages.iter_mut().filter(|s| !s.skippable && s.id != "counter") {
        let step = Step { cautions: Vec::new(), action: "Undo it.".into() };
        stage.closed_by = Some(Closing { name: format!("undo {}", stage.id), steps: vec![step] });
    }
    let mut swap = repair("swap", "bench", 5.0, 40.0, &[("worn", 1.0)]);
    swap.parts = vec![Part { name: "motor".into(), cost: 40.0, by_motor: true }];
    let advise = repair("advise", "counter", 2.0, 0.0, &[]);
    knowledge.repairs.extend([swap, advise, repair("run", "powered", 2.0, 0.0, &[])]);
    knowledge
}

/// The work as short words: `+stage` is opened, `-stage` is undone.
fn told(knowledge: &Knowledge, repairs: &[&str], at: usize) -> Vec<String> {
    let mut list: Vec<&Repair> = repairs.iter().map(|id| knowledge.repair(id).expect("a repair")).collect();
    sort(knowledge, &mut list);
    let word = |job: Job| match job {
        Job::Open(stage) => format!("+{}", stage.id),
        Job::Repair(repair) => repair.id.clone(),
        Job::Close(stage) => format!("-{}", stage.id),
    };
    jobs(knowledge, &list, at).into_iter().map(word).collect()
}

#[test]
fn a_motor_is_opened_once_and_closed_the_deepest_first() {
    let knowledge = with_ways_back();
    assert_eq!(
        told(&knowledge, &["check", "wipe", "run", "armature", "brushes"], COUNTER),
        [
            "+bench", "+open", "+deep", "armature", "wipe", "brushes", "-deep", "-open", "check", "run",
            "-bench"
        ]
    );
}

#[test]
fn what_was_opened_to_find_the_trouble_is_closed_though_no_repair_is_inside() {
    let knowledge = with_ways_back();
    assert_eq!(told(&knowledge, &["check"], DEEP), ["-deep", "-open", "check", "-bench"]);
    assert_eq!(told(&knowledge, &["wipe"], DEEP), ["wipe", "-deep", "-open", "-bench"]);
}

#[test]
fn work_at_the_first_stage_is_done_with_the_motor_in_its_place() {
    let knowledge = with_ways_back();
    assert_eq!(told(&knowledge, &["advise"], COUNTER), ["advise"]);
    assert_eq!(told(&knowledge, &["advise", "check"], BENCH), ["check", "-bench", "advise"]);
}

#[test]
fn a_motor_that_is_replaced_is_not_put_together_again() {
    let knowledge = with_ways_back();
    assert_eq!(told(&knowledge, &["swap", "check"], DEEP), ["swap", "check", "-bench"]);
}
