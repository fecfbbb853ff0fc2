//! What an expert would do next, and what the last turn cost.

use super::expert::{SURE, gate, step};
use super::session::{Act, Outcome, Session};
use crate::inference::{InferenceError, Weight};
use crate::plan::assess::{Assessment, Step};
use crate::plan::questions::{Ranking, Valued};
use crate::plan::scopes::ScopeRow;

/// What an expert would do next.
#[derive(Debug, Clone)]
pub enum Advice<'k> {
    /// Put this question; the id is that of the look that answers it, or of the reading where an instrument does.
    Look(String, Valued<'k>),
    /// Ask this first, because it may forbid the stage with this index, and for this reason.
    Check(String, usize, &'k str),
    /// Let the motor stand for so many minutes, and for this reason.
    Wait(f64, &'k str),
    /// Go on to the stage with the first index, on the way to the one with the second, for these questions there.
    Enter(usize, usize, Vec<Valued<'k>>),
    /// Enough is known: do this work.
    Decide(Option<ScopeRow>),
}

/// What the last turn cost, beside what an expert would have done in its place.
#[derive(Debug, Clone)]
pub struct Turn<'k> {
    /// What was done.
    pub act: Act,
    /// Minutes that it took.
    pub minutes: f64,
    /// What it was expected to tell, in bits; none for a stage.
    pub bits: Option<f64>,
    /// What an expert would have done.
    pub better: Advice<'k>,
    /// Questions that were worth their minutes and are gone (ids).
    pub lost: Vec<String>,
}

/// A weight of evidence, in decibans, from which an answer speaks for a fault.
const SPEAKS: f64 = 1.5;
/// Answers that are given as grounds.
const GROUNDS: usize = 2;
/// A question worth less than this part of the best one, minute for minute, was a wrong turn.
const WRONG: f64 = 0.5;

/// What an expert would do next.
///
/// # Errors
/// As [`crate::plan::assess::Planner::assess`].
pub fn advise<'p, 'k>(session: &Session<'p, 'k>) -> Result<(Assessment<'p, 'k>, Advice<'k>), InferenceError> {
    let assessment = session.planner.assess(session.moment())?;
    let advice = advice(session, &assessment);
    Ok((assessment, advice))
}

fn advice<'k>(session: &Session<'_, 'k>, assessment: &Assessment<'_, 'k>) -> Advice<'k> {
    let decide = || Advice::Decide(assessment.scope_rows().into_iter().find(|r| r.blocked.is_none()));
    match step(session, assessment) {
        Step::Ask(list) => match list.into_iter().next() {
            Some(valued) => Advice::Look(session.way_to(valued.candidate.id), valued),
            None => decide(),
        },
        Step::Open(opening) => match gate(session, opening.stage) {
            Some((id, reason)) => Advice::Check(id, opening.stage, reason),
            None => match session.too_soon_for(opening.stage) {
                Some((why, left)) => Advice::Wait(left, why),
                None => Advice::Enter(opening.stage, opening.goal, opening.questions),
            },
        },
        Step::Stop(_) => decide(),
    }
}

/// What speaks most for the most likely fault: the answers with their weights of evidence, the heaviest first.
///
/// # Errors
/// As [`Assessment::weights`].
pub fn grounds(assessment: &Assessment) -> Result<Vec<Weight>, InferenceError> {
    let Some(top) = assessment.ranked().first().copied() else { return Ok(Vec::new()) };
    let mut all = assessment.weights(&[top])?.pop().unwrap_or_default();
    all.retain(|w| w.decibans >= SPEAKS);
    all.sort_by(|a, b| b.decibans.total_cmp(&a.decibans));
    all.truncate(GROUNDS);
    Ok(all)
}

/// The most likely fault (index), where it is so sure that only doubt about another one is left.
pub fn as_good_as_certain(assessment: &Assessment) -> Option<usize> {
    let top = assessment.ranked().first().copied()?;
    (assessment.faults()[top] >= SURE).then_some(top)
}

/// The last turn, where it was a wrong one.
///
/// # Errors
/// As [`crate::plan::assess::Planner::assess`].
pub fn wrong_turn<'k>(session: &Session<'_, 'k>) -> Result<Option<Turn<'k>>, InferenceError> {
    let Some(place) = session.last_turn() else { return Ok(None) };
    let done = &session.done()[place];
    let acts: Vec<Act> = session.done()[..place].iter().map(|d| d.act.clone()).collect();
    // What could be done once can be done again.
    let Ok(before) = Session::replay(session.planner, session.task.clone(), &acts) else { return Ok(None) };
    let assessment = before.planner.assess(before.moment())?;
    let better = advice(&before, &assessment);
    let ranking = assessment.ranking();
    let turn = |better, bits, lost| Turn { act: done.act.clone(), minutes: done.minutes, bits, better, lost };
    Ok(match (&done.act, &done.outcome) {
        // A check that keeps hand and motor whole is never wrong.
        (Act::Look(id), _) if before.is_gate(id) => None,
        (Act::Look(id), _) => {
            let own = valued(&before, &ranking, id);
            let bits = own.map_or(0.0, |v| v.bits);
            let labour = before.planner.knowledge.shop.labour_per_minute;
            let rate = own.map_or(0.0, |v| v.rate(labour));
            let wrong = match &better {
                Advice::Look(other, best) => other != id && rate < WRONG * best.rate(labour),
                // A check that keeps hand and motor whole is never wrong.
                // Enough was known, or nothing here was worth its minutes.
                _ => own.is_none_or(|v| v.worth < 0.0),
            };
            wrong.then(|| turn(better, Some(bits), Vec::new()))
        }
        (Act::Enter(id), Outcome::Entered(lost)) => {
            let worth = |id: &String| valued(&before, &ranking, id).map_or(0.0, |v| v.worth);
            let mut lost: Vec<String> = lost.iter().filter(|id| worth(id) > 0.0).cloned().collect();
            lost.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
            let planned = matches!(&better, Advice::Enter(stage, ..) | Advice::Check(_, stage, _)
                if Some(*stage) == before.planner.knowledge.stage_index(id));
            (!planned && !lost.is_empty()).then(|| turn(better, None, lost))
        }
        _ => None,
    })
}

/// The worth that a question or a look had: of a reading, that of the observation about which it told most.
fn valued<'r, 'k>(session: &Session<'_, 'k>, ranking: &'r Ranking<'k>, id: &str) -> Option<&'r Valued<'k>> {
    let fits = |v: &&Valued| v.answers(id) || v.together.iter().any(|c| session.answers_for(id, c.id));
    ranking.here.iter().filter(fits).max_by(|a, b| a.bits.total_cmp(&b.bits))
}
