//! Looks: several observations that one question answers.
//!
//! A look is imagined as one graded question. Its answers are: all as it should be, or the first of its members
//! that is not, with its state. That is less than a person will tell, so that a look is never valued too
//! high; and since mostly one thing or none is not as it should be, it is not much less. It is exact, and takes
//! no more work than its members would one by one. Members that are seldom abnormal are imagined first, because
//! they tell most where they are.

use super::questions::Candidate;
use super::{Known, stages};
use crate::inference::{Engine, Question};
use crate::knowledge::{Knowledge, Look};

/// Questions that are answered at one go: the open ones of a look, or a single one.
pub(super) struct Group<'k> {
    /// The look; none where a single question is put.
    pub look: Option<&'k Look>,
    /// The questions, at least one.
    pub members: Vec<Candidate<'k>>,
}

impl<'k> Group<'k> {
    /// A single question.
    pub fn of(candidate: Candidate<'k>) -> Self {
        Group { look: None, members: vec![candidate] }
    }

    /// Where its members stand in the network.
    pub fn questions(&self) -> Vec<Question> {
        self.members.iter().map(|c| c.question).collect()
    }
}

/// Puts the questions of each look together. A look of which a single question is open is that question.
pub(super) fn groups(questions: Vec<Candidate<'_>>) -> Vec<Group<'_>> {
    let mut out: Vec<Group> = Vec::with_capacity(questions.len());
    for candidate in questions {
        let same =
            |g: &&mut Group| g.look.is_some_and(|l| candidate.look.is_some_and(|o| std::ptr::eq(l, o)));
        match out.iter_mut().find(same) {
            Some(group) => group.members.push(candidate),
            None => out.push(Group { look: candidate.look, members: vec![candidate] }),
        }
    }
    for group in &mut out {
        group.look = group.look.filter(|_| group.members.len() > 1);
    }
    out
}

/// Minutes for questions at their stage. Some questions of a look take no longer than all of it, nor than
/// they would one by one.
pub(super) fn own_minutes(look: Option<&Look>, members: &[Candidate]) -> f64 {
    let alone: f64 = members.iter().map(|c| c.ask.minutes).sum();
    look.map_or(alone, |look| look.minutes.min(alone))
}

/// The candidates in the order in which answers are imagined: those that are seldom abnormal first.
pub(super) fn in_order<'k>(unanswered: &Engine, mut candidates: Vec<Candidate<'k>>) -> Vec<Candidate<'k>> {
    let questions: Vec<Question> = candidates.iter().map(|c| c.question).collect();
    let normal: Vec<f64> =
        unanswered.chances(&questions).iter().map(|states| states.first().copied().unwrap_or(1.0)).collect();
    let mut order: Vec<usize> = (0..candidates.len()).collect();
    order.sort_by(|a, b| {
        normal[*b].total_cmp(&normal[*a]).then_with(|| candidates[*a].id.cmp(candidates[*b].id))
    });
    candidates = order.into_iter().map(|i| candidates[i]).collect();
    candidates
}

/// Which answers of a look fall because another answer of the same look rules their question out, as a motor
/// that never starts can't be listened to. `known` holds all of them. With each that falls comes the reason,
/// where there is one.
pub fn fallen<'k, 'a>(
    knowledge: &'k Knowledge,
    ids: &[&'a str],
    stage: usize,
    known: &Known,
) -> Vec<(&'a str, Option<&'k str>)> {
    let falls =
        |id: &&&str| knowledge.ask(id).is_some_and(|ask| !stages::can_ask(knowledge, ask, stage, known));
    let reason = |id: &str| {
        let ask = knowledge.ask(id)?;
        ask.not_when.iter().find(|f| known.holds(&f.when)).map(|f| f.reason.as_str())
    };
    ids.iter().filter(falls).map(|id| (*id, reason(id))).collect()
}
