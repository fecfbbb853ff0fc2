//! How a trainee stands: lessons passed, calibration, confusions, and what comes next.

use std::collections::BTreeMap;

use super::{Record, What};
use crate::drill::score::{self, Bin, Stated};
use crate::knowledge::{Course, Knowledge};

/// Bins of a calibration.
const BINS: usize = 5;
/// From this chance on, a fault counts as named.
const NAMED: f64 = 0.5;

/// How a trainee stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Best whole mark of each lesson of the course that was brought to its end, and whether it was passed.
    pub lessons: Vec<(String, Option<(f64, bool)>)>,
    /// The same of lessons that are not in the course, in the order in which they were first brought to their end.
    pub others: Vec<(String, (f64, bool))>,
    /// Lessons brought to their end, drawn motors included.
    pub ended: usize,
    /// Stated chances with what came true.
    pub stated: Vec<Stated>,
    /// Mean Brier score of the statements; none without any.
    pub brier: Option<f64>,
    /// The statements in bins.
    pub calibration: Vec<Bin>,
    /// How far stated chances lie from what came true, on average.
    pub calibration_error: Option<f64>,
    /// Which faults were taken for which, the most frequent first.
    pub confusions: Vec<Confusion>,
    /// Risks that were taken.
    pub risks: usize,
    /// Cautions that were missed, the most frequent first, with how often.
    pub cautions_missed: Vec<(String, usize)>,
    /// Minutes over the expert's, on average.
    pub pace: Option<f64>,
    /// What comes next.
    pub next: Next,
}

/// A fault that was taken for another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Confusion {
    /// Id of the fault that was there.
    pub there: String,
    /// Id of the fault that was named in its place.
    pub named: String,
    /// How often.
    pub times: usize,
}

/// What comes next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Next {
    /// The lesson with this id, the next in the course.
    Lesson(String),
    /// The lesson with this id again, because of a confusion that it clears up.
    Again(String, Confusion),
    /// The course is passed: a drawn motor of this level, of this topic where one is weak.
    Drawn(u32, Option<String>),
}

impl Progress {
    /// How the trainee of these records stands in a course.
    pub fn of<'r>(
        records: impl IntoIterator<Item = &'r Record>,
        course: &Course,
        knowledge: &Knowledge,
    ) -> Progress {
        let ended: Vec<(&Record, &super::Ended)> =
            records.into_iter().filter_map(|r| Some((r, r.result.as_ref()?))).collect();
        let best = |id: &String| {
            let own = ended.iter().filter(|(r, _)| r.what == What::Lesson(id.clone()));
            own.map(|(_, e)| (e.mark.whole, e.mark.passed))
                .max_by(|a, b| a.1.cmp(&b.1).then(a.0.total_cmp(&b.0)))
        };
        let lessons: Vec<_> = course.lessons.iter().map(|id| (id.clone(), best(id))).collect();
        let mut others: Vec<(String, (f64, bool))> = Vec::new();
        for (record, _) in &ended {
            let What::Lesson(id) = &record.what else { continue };
            if !course.lessons.contains(id) && !others.iter().any(|(other, _)| other == id) {
                others.extend(best(id).map(|best| (id.clone(), best)));
            }
        }
        let mut stated: Vec<Stated> = Vec::new();
        let mut pairs: BTreeMap<(String, String), usize> = BTreeMap::new();
        let mut missed: BTreeMap<String, usize> = BTreeMap::new();
        for (_, end) in &ended {
            stated.extend(end.named.iter().map(|(id, chance)| (*chance, end.truth.contains(id))));
            let chance = |id: &String| end.named.iter().find(|n| n.0 == *id).map_or(0.0, |n| n.1);
            let overlooked = end.truth.iter().filter(|t| chance(t) < NAMED);
            for there in overlooked {
                let wrong = end.named.iter().filter(|(id, p)| *p >= NAMED && !end.truth.contains(id));
                for (named, _) in wrong {
                    *pairs.entry((there.clone(), named.clone())).or_default() += 1;
                }
            }
            for caution in &end.cautions_missed {
                *missed.entry(caution.clone()).or_default() += 1;
            }
        }
        let mut confusions: Vec<Confusion> =
            pairs.into_iter().map(|((there, named), times)| Confusion { there, named, times }).collect();
        confusions.sort_by(|a, b| b.times.cmp(&a.times).then_with(|| a.there.cmp(&b.there)));
        let mut cautions_missed: Vec<(String, usize)> = missed.into_iter().collect();
        cautions_missed.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        let paces: Vec<f64> =
            ended.iter().filter(|(_, e)| e.minutes.1 > 0.0).map(|(_, e)| e.minutes.0 / e.minutes.1).collect();
        let some = |x: f64, n: usize| (n > 0).then_some(x);
        Progress {
            next: next(&lessons, &confusions, &ended, knowledge),
            lessons,
            others,
            ended: ended.len(),
            brier: some(score::brier(&stated), stated.len()),
            calibration: score::calibration(&stated, BINS),
            calibration_error: some(score::calibration_error(&stated, BINS), stated.len()),
            stated,
            confusions,
            risks: ended.iter().map(|(_, e)| e.risks).sum(),
            cautions_missed,
            pace: some(paces.iter().sum::<f64>() / paces.len().max(1) as f64, paces.len()),
        }
    }

    /// The best mark of a lesson, in the course or not, and whether it was passed; none where it was not brought to its
    /// end.
    pub fn mark_of(&self, id: &str) -> Option<(f64, bool)> {
        let of_course = self.lessons.iter().find(|(l, _)| l == id).and_then(|(_, best)| *best);
        of_course.or_else(|| self.others.iter().find(|(l, _)| l == id).map(|(_, best)| *best))
    }

    /// Whether every lesson of the course is passed.
    pub fn passed(&self) -> bool {
        self.lessons.iter().all(|(_, best)| best.is_some_and(|(_, passed)| passed))
    }
}

fn next(
    lessons: &[(String, Option<(f64, bool)>)],
    confusions: &[Confusion],
    ended: &[(&Record, &super::Ended)],
    knowledge: &Knowledge,
) -> Next {
    // A pair that was confused more than once is cleared up before anything new, unless it was since.
    for confusion in confusions.iter().filter(|c| c.times > 1) {
        let about = |id: &String| {
            let faults = knowledge.lesson(id).map_or(&[][..], |l| &l.faults);
            faults.contains(&confusion.there) || faults.contains(&confusion.named)
        };
        let failed =
            |(_, e): &&(&Record, &super::Ended)| e.truth.contains(&confusion.there) && !e.mark.passed;
        let last = ended.iter().rev().find(|(_, e)| e.truth.contains(&confusion.there));
        if let Some((id, _)) = lessons.iter().find(|(id, _)| about(id))
            && last.as_ref().is_some_and(failed)
        {
            return Next::Again(id.clone(), confusion.clone());
        }
    }
    if let Some((id, _)) = lessons.iter().find(|(_, best)| !best.is_some_and(|(_, passed)| passed)) {
        return Next::Lesson(id.clone());
    }
    // The topic with the worst mean mark of the last motors.
    let mut by_topic: BTreeMap<&str, (f64, usize)> = BTreeMap::new();
    for (record, end) in ended {
        let topic = match &record.what {
            What::Lesson(id) => knowledge.lesson(id).map(|l| l.topic.as_str()),
            What::Drawn(_, topic) => topic.as_deref(),
        };
        if let Some(topic) = topic {
            let sum = by_topic.entry(topic).or_default();
            *sum = (sum.0 + end.mark.whole, sum.1 + 1);
        }
    }
    let mean = |s: &(f64, usize)| s.0 / s.1 as f64;
    let weakest =
        by_topic.iter().min_by(|a, b| mean(a.1).total_cmp(&mean(b.1))).map(|(t, _)| (*t).to_owned());
    let drawn = ended.iter().filter_map(|(r, e)| match &r.what {
        What::Drawn(level, _) if e.mark.passed => Some(*level),
        _ => None,
    });
    let level = drawn.max().map_or(3, |l| (l + 1).min(crate::drill::task::HARDEST));
    Next::Drawn(level, weakest)
}
