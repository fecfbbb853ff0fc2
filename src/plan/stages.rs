//! The way through the stages: what it takes to open the motor further, and what forbids it.

use super::Known;
use crate::knowledge::{Ask, Knowledge, Motor, Stage};

/// The way from one stage to a later one.
#[derive(Debug, Clone, PartialEq)]
pub struct Way<'k> {
    /// The stages that are entered, in order; the last is the goal.
    pub through: Vec<&'k Stage>,
    /// Minutes for all of them.
    pub minutes: f64,
    /// Minutes to undo them again.
    pub minutes_back: f64,
}

/// The way from stage `from` to stage `to` (indices), passing over what may be skipped in between.
///
/// A stage at or before `from` takes no way at all.
pub fn way(knowledge: &Knowledge, from: usize, to: usize) -> Way<'_> {
    let through: Vec<&Stage> = (from + 1..=to)
        .filter_map(|i| knowledge.stages.get(i).map(|s| (i, s)))
        .filter(|(i, s)| *i == to || !s.skippable)
        .map(|(_, s)| s)
        .collect();
    let minutes = through.iter().map(|s| s.minutes).sum();
    let minutes_back = through.iter().map(|s| s.minutes_back).sum();
    Way { through, minutes, minutes_back }
}

/// Why a stage must not be entered now, if something forbids it.
pub fn forbidden<'k>(way: &Way<'k>, motor: Option<&Motor>, known: &Known) -> Option<&'k str> {
    way.through.iter().find_map(|stage| {
        let gate = stage.not_when.iter().find(|f| known.holds(&f.when)).map(|f| f.reason.as_str());
        gate.or_else(|| closed(stage, motor, known))
    })
}

/// What has to be known before a stage is entered, and is not: what could forbid it, as long as it can be asked
/// at the stage (index) where the motor is now. With each the reason. Whether a known motor may be taken apart
/// stands in its data.
pub fn unsettled<'k, 'a>(
    knowledge: &'k Knowledge,
    stage: &'k Stage,
    at: usize,
    motor: Option<&Motor>,
    known: &'a Known,
) -> impl Iterator<Item = (&'k str, &'k str)> + use<'k, 'a> {
    let stood = stage.opens && motor.is_some();
    let gates = stage.not_when.iter().filter(move |_| !stood);
    let gates = gates.map(|forbid| (forbid.when.answer.as_str(), forbid.reason.as_str()));
    gates.filter(move |(id, _)| {
        !known.asked(id) && knowledge.ask(id).is_some_and(|ask| can_ask(knowledge, ask, at, known))
    })
}

/// Why a stage that takes the motor apart is closed to this motor for good, if it is.
pub fn closed<'k>(stage: &'k Stage, motor: Option<&Motor>, known: &Known) -> Option<&'k str> {
    if !stage.opens {
        return None;
    }
    let forbids = stage.not_when.iter().find(|f| known.holds(&f.when)).map(|f| f.reason.as_str());
    forbids.or_else(|| {
        let sealed = motor.is_some_and(|m| !m.rebuildable);
        sealed.then_some("This motor is not made to be taken apart.")
    })
}

/// The last stage (index) at which a question can be put; far beyond all of them where there is no last one.
pub fn last(knowledge: &Knowledge, ask: &Ask) -> usize {
    ask.last_stage.as_deref().and_then(|s| knowledge.stage_index(s)).unwrap_or(usize::MAX)
}

/// Whether a question can be put at a stage (index), with what is known.
pub fn can_ask(knowledge: &Knowledge, ask: &Ask, stage: usize, known: &Known) -> bool {
    let first = knowledge.stage_index(&ask.stage).unwrap_or(0);
    (first..=last(knowledge, ask)).contains(&stage)
        && ask.ask_when.as_ref().is_none_or(|w| known.holds(w))
        && !ask.not_when.iter().any(|f| known.holds(&f.when))
}
