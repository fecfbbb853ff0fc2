//! What the expert does at each point of a consultation, thought through once.
//!
//! The expert's next move depends on nothing but the stage and the answers, and many consultations begin
//! alike. So the moves are shared among all
//! consultations of an examination. A move that was looked up is the very one that would be thought out again, so
//! the figures depend neither on what is kept nor on the number of threads.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use crate::inference::{InferenceError, Question};
use crate::knowledge::Motor;
use crate::plan::assess::{Assessment, Moment, Planner, Step};
use crate::plan::questions::Candidate;

/// Moves kept at most, at a kilobyte or two each (judgement); what comes later is thought out anew.
const KEPT: usize = 60_000;

/// One move of the expert.
#[derive(Debug)]
pub(super) enum Move<'k> {
    /// Puts questions, all answered at one go.
    Ask {
        /// The questions.
        together: Vec<Candidate<'k>>,
        /// What they are expected to be worth.
        worth: f64,
        /// Minutes.
        minutes: f64,
        /// All questions that would have been worth asking.
        worth_asking: Vec<Question>,
    },
    /// Goes on to a stage (index).
    Open(usize),
    /// Stops and proposes a scope.
    End(Arc<Ending>),
}

/// What is believed and proposed at the end.
#[derive(Debug)]
pub(super) struct Ending {
    /// Probability of each fault.
    pub faults: Vec<f64>,
    /// Faults, the most probable first.
    pub ranked: Vec<usize>,
    /// The scope proposed (index).
    pub scope: usize,
    /// Whether it breaks a hard limit by what is known.
    pub broken: bool,
}

/// A point of a consultation: the motor, the stage, and what was answered to each question, in order; `None` for an answer
/// that nobody could give.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub(super) struct Point {
    motor: Option<String>,
    pub stage: usize,
    answers: Vec<(Question, Option<usize>)>,
}

impl Point {
    /// Where a consultation about a motor begins.
    pub fn of(motor: Option<&Motor>) -> Self {
        Point { motor: motor.map(|m| m.id.clone()), ..Point::default() }
    }

    /// Notes the state that was answered. Replaces what was noted before.
    pub fn note(&mut self, question: Question, state: Option<usize>) {
        match self.answers.binary_search_by_key(&question, |a| a.0) {
            Ok(at) => self.answers[at].1 = state,
            Err(at) => self.answers.insert(at, (question, state)),
        }
    }
}

/// The moves that have been thought out so far for one planner.
#[derive(Debug, Default)]
pub(super) struct Moves<'k> {
    known: Mutex<HashMap<Point, Arc<Move<'k>>>>,
}

impl<'k> Moves<'k> {
    /// The move at a point; `moment` says the same as `point`.
    ///
    /// # Errors
    /// When the answers are impossible together, or the network is too large for exact inference.
    pub fn at(
        &self,
        planner: &Planner<'k>,
        point: &Point,
        moment: &Moment<'k>,
    ) -> Result<Arc<Move<'k>>, InferenceError> {
        // A thread that broke off while it held the lock has left whole entries behind.
        let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(found) = known().get(point) {
            return Ok(Arc::clone(found));
        }
        let mut thought = planner.assess(moment.clone())?;
        let (mut point, mut moves) = (point.clone(), Vec::new());
        loop {
            let next = Arc::new(Move::of(&thought));
            moves.push((point.clone(), Arc::clone(&next)));
            // Another stage tells nothing by itself, so that what was thought still holds there.
            let Move::Open(stage) = *next else { break };
            (thought.moment.stage, point.stage) = (stage, stage);
        }
        let first = Arc::clone(&moves[0].1);
        let mut known = known();
        let room = KEPT.saturating_sub(known.len());
        known.extend(moves.into_iter().take(room));
        Ok(first)
    }
}

impl<'k> Move<'k> {
    fn of(assessment: &Assessment<'_, 'k>) -> Self {
        match assessment.step() {
            Step::Ask(list) => {
                let worth_asking = list.iter().flat_map(|v| &v.together).map(|c| c.question).collect();
                match list.into_iter().next() {
                    Some(best) => Move::Ask {
                        worth: best.worth,
                        minutes: best.own_minutes(),
                        together: best.together,
                        worth_asking,
                    },
                    None => Move::End(Arc::new(Ending::of(assessment))),
                }
            }
            Step::Open(opening) => Move::Open(opening.stage),
            Step::Stop(_) => Move::End(Arc::new(Ending::of(assessment))),
        }
    }
}

impl Ending {
    fn of(end: &Assessment) -> Self {
        let best = end.scope_rows().into_iter().find(|r| r.blocked.is_none());
        let scope = best.and_then(|b| end.scopes.iter().position(|s| s.scope.id == b.id)).unwrap_or(0);
        Ending {
            faults: end.faults().to_vec(),
            ranked: end.ranked(),
            scope,
            broken: end.scopes[scope].blocked(&end.moment.known, end.faults()).is_some(),
        }
    }
}
