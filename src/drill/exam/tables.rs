//! The details: fault by fault, which are taken for which, and what the questions are worth.

use std::collections::BTreeMap;

use super::consultation::Played;
use super::statistics::{Rate, mean};
use crate::inference::Question;
use crate::network::BeliefNet;
use crate::plan::assess::Planner;

/// Times from which on a confusion is listed.
const AGAIN: usize = 2;
/// Confusions that are listed.
const LISTED: usize = 40;

/// How a fault fared where it was the only one.
#[derive(Debug, Clone, PartialEq)]
pub struct FaultRow {
    /// Its place in the network.
    pub fault: usize,
    /// Whether it stood first.
    pub first: Rate,
    /// Whether it stood among the first three.
    pub three: Rate,
    /// Its mean place in the ranking.
    pub rank: f64,
    /// Mean number of questions.
    pub questions: f64,
    /// Mean probability at the end.
    pub said: f64,
}

/// A fault taken for another.
#[derive(Debug, Clone, PartialEq)]
pub struct Confusion {
    /// What was wrong (index).
    pub truth: usize,
    /// What was named first (index).
    pub named: usize,
    /// How often, of all motors with nothing but the true fault.
    pub rate: Rate,
    /// What would have told them apart best.
    pub separator: Option<Separator>,
}

/// An observation that differs between two faults.
#[derive(Debug, Clone, PartialEq)]
pub struct Separator {
    /// The observation (index).
    pub observation: usize,
    /// Half the sum of the differences of its chances, 0 to 1, when either fault is alone.
    pub difference: f64,
    /// In what share of these consultations it was not asked.
    pub unasked: f64,
}

/// How a question fared, or a look: all that it answers is worth something together only.
#[derive(Debug, Clone, PartialEq)]
pub struct QuestionRow {
    /// The look (index); none for a question by itself.
    pub look: Option<usize>,
    /// The question, or those of the look.
    pub questions: Vec<Question>,
    /// In how many consultations it was put.
    pub asked: Rate,
    /// In how many it was worth asking at some moment.
    pub worth_asking: Rate,
    /// Mean worth when it was put, in the shop's money; none if it never was.
    pub worth: Option<f64>,
}

fn alone(played: &Played) -> Option<usize> {
    match played.truth[..] {
        [only] => Some(only),
        _ => None,
    }
}

/// Every fault that was alone in some motor, the worst first.
pub(super) fn faults(all: &[&Played]) -> Vec<FaultRow> {
    let mut by_fault: BTreeMap<usize, Vec<&Played>> = BTreeMap::new();
    for played in all {
        if let Some(fault) = alone(played) {
            by_fault.entry(fault).or_default().push(played);
        }
    }
    let mut rows: Vec<FaultRow> = by_fault
        .into_iter()
        .map(|(fault, list)| {
            let n = list.len() as f64;
            let rate = |within: usize| Rate {
                hits: list.iter().filter(|p| p.depth() <= within).count(),
                of: list.len(),
            };
            let mean = |f: &dyn Fn(&Played) -> f64| list.iter().map(|p| f(p)).sum::<f64>() / n;
            FaultRow {
                fault,
                first: rate(1),
                three: rate(3),
                rank: mean(&|p| p.depth() as f64),
                questions: mean(&|p| p.times_asked as f64),
                said: mean(&|p| p.faults[fault]),
            }
        })
        .collect();
    // By what is surely missed: a fault that was drawn once and missed says little.
    let surely = |r: &FaultRow| r.first.interval().map_or(1.0, |i| i.1);
    rows.sort_by(|a, b| surely(a).total_cmp(&surely(b)).then(a.fault.cmp(&b.fault)));
    rows
}

/// Which faults are taken for which more than once, the most frequent first.
pub(super) fn confusions(net: &BeliefNet, all: &[&Played]) -> Vec<Confusion> {
    let mut drawn: BTreeMap<usize, usize> = BTreeMap::new();
    let mut pairs: BTreeMap<(usize, usize), Vec<&Played>> = BTreeMap::new();
    for played in all {
        let (Some(truth), Some(named)) = (alone(played), played.ranked.first()) else { continue };
        *drawn.entry(truth).or_default() += 1;
        if *named != truth {
            pairs.entry((truth, *named)).or_default().push(played);
        }
    }
    let mut pairs: Vec<_> = pairs.into_iter().collect();
    pairs.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(a.0.cmp(&b.0)));
    let row = |((truth, named), list): ((usize, usize), Vec<&Played>)| Confusion {
        truth,
        named,
        rate: Rate { hits: list.len(), of: drawn.get(&truth).copied().unwrap_or(0) },
        separator: separator(net, truth, named, &list),
    };
    // What happened once is chance.
    pairs.into_iter().filter(|(_, list)| list.len() >= AGAIN).take(LISTED).map(row).collect()
}

/// The observation with the greatest difference between two faults that was not asked in most of these
/// consultations; none if nothing that was left out makes any.
fn separator(net: &BeliefNet, one: usize, other: usize, list: &[&Played]) -> Option<Separator> {
    let weighed = net.observations.iter().enumerate().map(|(i, o)| {
        let asked = |p: &&&Played| p.asked.iter().any(|a| a.questions.contains(&Question::Observation(i)));
        let unasked = 1.0 - list.iter().filter(asked).count() as f64 / list.len().max(1) as f64;
        let (a, b) = (o.alone_with(&[one]), o.alone_with(&[other]));
        let difference = a.iter().zip(&b).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0;
        Separator { observation: i, difference, unasked }
    });
    weighed
        .filter(|s| s.unasked > 0.5 && s.difference > 0.05)
        .max_by(|a, b| a.difference.total_cmp(&b.difference).then(b.observation.cmp(&a.observation)))
}

/// Every look and every question by itself, the least asked first.
pub(super) fn questions(planner: &Planner, all: &[&Played]) -> Vec<QuestionRow> {
    let (knowledge, net) = (planner.knowledge, &planner.net);
    let every = (0..net.factors.len())
        .map(Question::Factor)
        .chain((0..net.observations.len()).map(Question::Observation));
    let look_of = |question: Question| match question {
        Question::Factor(_) => None,
        Question::Observation(i) => {
            knowledge.looks.iter().position(|look| look.observations.contains(&net.observations[i].id))
        }
    };
    let mut rows: Vec<QuestionRow> = Vec::new();
    let mut place: BTreeMap<Question, usize> = BTreeMap::new();
    for question in every {
        let look = look_of(question);
        let at = match rows.iter().position(|row| look.is_some() && row.look == look) {
            Some(at) => at,
            None => {
                let rate = Rate { hits: 0, of: all.len() };
                let row =
                    QuestionRow { look, questions: vec![], asked: rate, worth_asking: rate, worth: None };
                rows.push(row);
                rows.len() - 1
            }
        };
        rows[at].questions.push(question);
        place.insert(question, at);
    }
    let mut worths: Vec<Vec<f64>> = vec![Vec::new(); rows.len()];
    for played in all {
        let (mut asked, mut worth_asking) = (vec![false; rows.len()], vec![false; rows.len()]);
        for asking in &played.asked {
            // Questions that are put together are of one look.
            let Some(at) = asking.questions.first().and_then(|q| place.get(q)) else { continue };
            asked[*at] = true;
            worths[*at].push(asking.worth);
        }
        played.worth_asking.iter().filter_map(|q| place.get(q)).for_each(|at| worth_asking[*at] = true);
        for (at, row) in rows.iter_mut().enumerate() {
            row.asked.hits += usize::from(asked[at]);
            row.worth_asking.hits += usize::from(worth_asking[at]);
        }
    }
    for (row, worths) in rows.iter_mut().zip(worths) {
        row.worth = mean(worths);
    }
    rows.sort_by_key(|r| (r.asked.hits, r.worth_asking.hits));
    rows
}
