//! The expert at work on a task: the planner asks, the task answers, as it would answer a trainee.

use std::collections::BTreeSet;

use super::session::{Act, Named, Outcome, Session};
use super::task::Task;
use crate::inference::InferenceError;
use crate::plan::assess::{Assessment, Planner, Step};
use crate::plan::stages;

/// Faults below this chance are not named.
const WORTH_NAMING: f64 = 0.05;
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
            Step::Ask(list) => list.first().map(|v| Act::Look(looked_at(&session, v.candidate.id))),
            Step::Open(opening) => Some(match gate(&session, opening.stage) {
                Some((id, _)) => Act::Look(id),
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

/// What to do next, without the stages at whose door the hand was stopped.
pub(super) fn step<'k>(session: &Session<'_, 'k>, assessment: &Assessment<'_, 'k>) -> Step<'k> {
    let knowledge = session.planner.knowledge;
    let stopped = session.done().iter().filter(|d| matches!(d.outcome, Outcome::Stopped(_)));
    let shut: BTreeSet<usize> = stopped
        .filter_map(|d| if let Act::Enter(id) = &d.act { knowledge.stage_index(id) } else { None })
        .collect();
    let mut ranking = assessment.ranking();
    ranking.openings.retain(|o| !shut.contains(&o.stage));
    assessment.decide(ranking)
}

/// What has to be known before a stage (index) is entered, and is not: the first question, and why it matters.
///
/// The planner keeps out of a stage that an answer forbids. Whoever stands at the bench also asks before.
pub fn gate<'k>(session: &Session<'_, 'k>, stage: usize) -> Option<(String, &'k str)> {
    let knowledge = session.planner.knowledge;
    let gates = knowledge.stages.get(stage)?.not_when.iter();
    let mut open = gates.filter(|forbid| {
        let id = &forbid.when.answer;
        let Some(ask) = knowledge.ask(id) else { return false };
        let first = knowledge.stage_index(&ask.stage).unwrap_or(0);
        let at_hand = (first..=stages::last(knowledge, ask)).contains(&session.stage());
        at_hand && !session.knows(id)
    });
    open.next().map(|forbid| (looked_at(session, &forbid.when.answer), forbid.reason.as_str()))
}

/// The question that answers an observation at this motor: the reading, where there is one.
pub(super) fn looked_at(session: &Session, observation: &str) -> String {
    session.reading_of(observation).unwrap_or(observation).to_owned()
}

/// What an assessment would name.
pub fn named(assessment: &Assessment) -> Vec<Named> {
    let faults = assessment.faults();
    let net = &assessment.planner.net;
    let worth = assessment.ranked().into_iter().filter(|f| faults[*f] >= WORTH_NAMING);
    worth.map(|f| Named { fault: net.faults[f].id.clone(), chance: faults[f] }).collect()
}
