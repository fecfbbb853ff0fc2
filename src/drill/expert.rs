//! The expert at work on a task: the planner asks, the task answers, as it would answer a trainee.

use std::collections::BTreeSet;

use super::session::{self, Act, Named, Session};
use super::task::Task;
use crate::inference::InferenceError;
use crate::plan::assess::{Assessment, Planner, Step};
use crate::plan::questions::Opening;
use crate::plan::reason::changes_nothing;

/// Faults below this chance are not named.
const WORTH_NAMING: f64 = 0.05;
/// A chance this near to 0 or 1 leaves no doubt that is worth a screw.
const DOUBT: f64 = 0.1;
/// From this chance on, a fault is as good as certain.
pub(super) const SURE: f64 = 1.0 - DOUBT / 2.0;
/// Acts after which nobody goes on.
const MOST_ACTS: usize = 60;

/// The whole session of an expert on a task.
///
/// # Errors
/// As [`Planner::assess`].
pub fn walk<'p, 'k>(planner: &'p Planner<'k>, task: Task<'k>) -> Result<Session<'p, 'k>, InferenceError> {
    let mut session = Session::new(planner, task);
    for _ in 0..MOST_ACTS {
        let assessment = planner.assess(session.moment())?;
        let act = match step(&session, &assessment) {
            Step::Ask(list) => list.first().map(|v| Act::Look(session.way_to(v.candidate.id))),
            Step::Open(opening) => Some(match gate(&session, opening.stage) {
                Some((id, _)) => Act::Look(id),
                None if let Some((_, left)) = session.too_soon_for(opening.stage) => wait(left),
                None => Act::Enter(planner.knowledge.stages[opening.stage].id.clone()),
            }),
            Step::Stop(_) => None,
        };
        // What can't be done ends the way as nothing left to do does.
        if act.is_none_or(|act| session.act(act).is_err()) {
            break;
        }
    }
    let assessment = planner.assess(session.moment())?;
    let scope = assessment.scope_rows().into_iter().find(|r| r.blocked.is_none()).map(|r| r.id);
    let cautions = session.task.cautions.clone();
    let last =
        [Act::Name(named(&assessment)), Act::Scope(scope.unwrap_or_default()), Act::Cautions(cautions)];
    for act in last {
        // A knowledge base without scopes has none to choose.
        let _ = session.act(act);
    }
    Ok(session)
}

/// Waiting for so many minutes.
fn wait(left: f64) -> Act {
    Act::Wait(left.ceil().max(1.0) as u32)
}

/// What to do next, without the stages at whose door the hand was stopped.
pub(super) fn step<'k>(session: &Session<'_, 'k>, assessment: &Assessment<'_, 'k>) -> Step<'k> {
    let knowledge = session.planner.knowledge;
    let stopped = session.done().iter().filter(|d| matches!(d.outcome, session::Outcome::Stopped(_)));
    let shut: BTreeSet<usize> = stopped
        .filter_map(|d| if let Act::Enter(id) = &d.act { knowledge.stage_index(id) } else { None })
        .collect();
    let mut ranking = assessment.ranking();
    ranking.openings.retain(|o| !shut.contains(&o.stage));
    // For what is as good as certain no screw is touched and in the end nothing is asked, except what the work
    // itself calls for.
    if is_settled(assessment.faults(), SURE) {
        ranking.here.iter_mut().for_each(|v| v.worth = f64::NEG_INFINITY);
    }
    // Where one fault is as good as certain, only what may change the naming or the work is worth a minute.
    if assessment.faults().iter().any(|p| *p >= SURE) {
        ranking
            .here
            .iter_mut()
            .filter(|v| changes_nothing(assessment, v))
            .for_each(|v| v.worth = f64::NEG_INFINITY);
        let idle = |o: &&mut Opening<'k>| o.questions.iter().all(|v| changes_nothing(assessment, v));
        ranking.openings.iter_mut().filter(idle).for_each(|o| o.worth = f64::NEG_INFINITY);
    }
    if is_settled(assessment.faults(), 1.0 - DOUBT) {
        let opened = |stage: usize| knowledge.stages.get(stage).is_some_and(|s| s.opens);
        let screws = ranking.openings.iter_mut().filter(|o| opened(o.stage));
        screws.for_each(|o| o.worth = f64::NEG_INFINITY);
    }
    assessment.decide(ranking)
}

/// Whether some fault is at least so sure, and no other is to be reckoned with.
fn is_settled(faults: &[f64], sure: f64) -> bool {
    let doubtful = faults.iter().any(|p| (DOUBT..1.0 - DOUBT).contains(p));
    !doubtful && faults.iter().any(|p| *p >= sure)
}

/// What has to be known before a stage (index) is entered, and is not: the first question, and why it matters.
///
/// The planner asks it before it proposes the stage; a trainee is told.
pub fn gate<'k>(session: &Session<'_, 'k>, stage: usize) -> Option<(String, &'k str)> {
    let (id, reason) = session.unasked(stage).into_iter().next()?;
    Some((session.way_to(id), reason))
}

/// What an assessment would name.
pub fn named(assessment: &Assessment) -> Vec<Named> {
    let faults = assessment.faults();
    let net = &assessment.planner.net;
    let worth = assessment.ranked().into_iter().filter(|f| faults[*f] >= WORTH_NAMING);
    worth.map(|f| Named { fault: net.faults[f].id.clone(), chance: faults[f] }).collect()
}
