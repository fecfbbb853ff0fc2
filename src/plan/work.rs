//! The work in order: how the motor is opened for it, the repairs, and how it is closed again.

use super::stages;
use crate::knowledge::{Knowledge, Repair, Stage, Step};

/// One piece of the work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Job<'k> {
    /// Go on to this stage.
    Open(&'k Stage),
    /// Carry out this repair.
    Repair(&'k Repair),
    /// Undo this stage, as its `closed-by` says.
    Close(&'k Stage),
}

impl<'k> Job<'k> {
    /// Ids of the cautions that belong to it, in the order in which they come up.
    pub fn cautions(&self) -> impl Iterator<Item = &'k String> + use<'k> {
        let (first, steps): (&[String], &[Step]) = match self {
            Job::Open(stage) => (&stage.calls_for, &[]),
            Job::Repair(repair) => (&[], &repair.steps),
            Job::Close(stage) => (&[], stage.closed_by.as_ref().map_or(&[], |closing| &closing.steps)),
        };
        first.iter().chain(steps.iter().flat_map(|step| &step.cautions))
    }

    /// Id of the stage or the repair.
    pub fn id(&self) -> &'k str {
        match self {
            Job::Open(stage) | Job::Close(stage) => &stage.id,
            Job::Repair(repair) => &repair.id,
        }
    }
}

/// Puts repairs in the order in which they are done: inside the motor first, the deepest first; then on the
/// closed motor; last what is done at the first stage, with the motor back in its place. Those that are alike in
/// this keep their order.
pub fn sort(knowledge: &Knowledge, repairs: &mut [&Repair]) {
    repairs.sort_by_key(|r| {
        let depth = depth(knowledge, r);
        let inside = opens(knowledge, depth);
        (
            if inside { 0 } else { 1 + u8::from(depth == 0) },
            if inside { knowledge.stages.len() - depth } else { 0 },
        )
    });
}

/// All that is to be done with a motor that stands at a stage (index), for repairs in the order of the work.
///
/// The motor is opened as deep as the repairs need it, all the work inside is done, and then every stage that
/// takes it apart is undone, the deepest first, those included that were entered to find the trouble. So a brush is
/// drawn once and put back once. A stage that may be passed over is entered by the steps of its own repairs. Where
/// another motor takes this one's place, this one is not put together again.
pub fn jobs<'k>(knowledge: &'k Knowledge, repairs: &[&'k Repair], at: usize) -> Vec<Job<'k>> {
    let deepest = repairs.iter().map(|r| depth(knowledge, r)).max().unwrap_or(0);
    let entered = stages::way(knowledge, at, deepest).through;
    let mut jobs: Vec<Job> = entered.into_iter().filter(|s| !s.skippable).map(Job::Open).collect();
    let group = |wanted: fn(bool, usize) -> bool| {
        let belongs = move |r: &&&Repair| {
            let depth = depth(knowledge, r);
            wanted(opens(knowledge, depth), depth)
        };
        repairs.iter().filter(belongs).map(|r| Job::Repair(r))
    };
    let undone = knowledge.stages.iter().take(at.max(deepest) + 1).rev().filter(|s| s.closed_by.is_some());
    let (apart, whole): (Vec<&Stage>, Vec<&Stage>) = undone.partition(|s| s.opens);
    jobs.extend(group(|inside, _| inside));
    if !repairs.iter().any(|r| r.replaces_motor()) {
        jobs.extend(apart.into_iter().map(Job::Close));
    }
    jobs.extend(group(|inside, depth| !inside && depth > 0));
    jobs.extend(whole.into_iter().map(Job::Close));
    jobs.extend(group(|inside, depth| !inside && depth == 0));
    jobs
}

fn depth(knowledge: &Knowledge, repair: &Repair) -> usize {
    knowledge.stage_index(&repair.stage).unwrap_or(0)
}

fn opens(knowledge: &Knowledge, stage: usize) -> bool {
    knowledge.stages.get(stage).is_some_and(|s| s.opens)
}
