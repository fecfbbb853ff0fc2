//! Looks: several observations that one question answers.
//!
//! A look is worth what its best member saves, plus what all of its open members tell, for the minutes of one
//! question. What several answers tell together is never more than what they tell one by one, and never more
//! than there is to know. Each is taken to leave the same share of what is open about a fault as it would
//! alone: with `H` bits open about a fault, and `l1 .. ln` bits left by each answer alone, all of them leave
//! `H x l1/H x .. x ln/H`.

use super::questions::{Situation, Valued};
use super::{Known, stages};
use crate::knowledge::Knowledge;

/// Puts the questions of each look together, represented by the one that is worth most before its minutes.
/// A look of which a single question is open stays that question.
pub(super) fn together<'k>(situation: &Situation<'_, 'k>, questions: Vec<Valued<'k>>) -> Vec<Valued<'k>> {
    let shop = &situation.knowledge.shop;
    let gross = |v: &Valued| v.saving + v.bits * shop.worth_per_bit;
    let mut out: Vec<Valued<'k>> = Vec::with_capacity(questions.len());
    for mut valued in questions {
        let look = situation.knowledge.look_of(valued.candidate.id);
        let Some(first) = out.iter_mut().find(|v| look.is_some() && v.look == look) else {
            valued.look = look;
            out.push(valued);
            continue;
        };
        if gross(&valued) > gross(first) {
            std::mem::swap(first, &mut valued);
            std::mem::swap(&mut first.look, &mut valued.look);
            std::mem::swap(&mut first.together, &mut valued.together);
        }
        first.together.push(valued);
    }
    let open: Vec<f64> = situation.bits(&situation.engine.posterior().faults).collect();
    for valued in &mut out {
        if valued.together.is_empty() {
            valued.look = None;
            continue;
        }
        valued.bits = joint_bits(&open, valued);
        valued.minutes = valued.own_minutes() + shop.minutes_per_question;
        situation.settle(valued);
    }
    out
}

/// What the questions of a look tell together, with so many bits open about each fault.
fn joint_bits(open: &[f64], look: &Valued) -> f64 {
    let told = |(fault, open): (usize, &f64)| {
        let left = |v: &Valued| (v.left[fault] / open).min(1.0);
        if *open > 0.0 { open * (1.0 - look.members().map(left).product::<f64>()) } else { 0.0 }
    };
    open.iter().enumerate().map(told).sum()
}

/// Which answers of a look stand beside one another: not those to questions that another answer of the same
/// look rules out, as a motor that never starts can't be heard. `known` holds all of them; for each answer
/// that falls it gives the reason, where there is one.
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
