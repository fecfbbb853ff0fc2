//! Scopes of work judged by what is really wrong with the motor.

use std::borrow::Cow;

use super::task::Task;
use crate::knowledge::{Knowledge, Motor, Repair};
use crate::plan::Known;
use crate::plan::assess::Planner;
use crate::plan::bets::{Bet, expected_costs};
use crate::plan::scopes::{self, ScopeModel, price};
use crate::plan::work::{Job, jobs};

/// From this chance on, a repair that is done as needed is done.
const NEEDED: f64 = 0.5;
/// Work that removes a fault less surely leaves it as it is.
const CLEARS: f64 = 0.5;

/// A scope of work, as it turns out.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict<'k> {
    /// Its id.
    pub scope: &'k str,
    /// Labour, parts, and what follows when it does not cure, in the shop's money. For a scope that must not be
    /// done, what it would cost if it were.
    pub cost: f64,
    /// Minutes of the work.
    pub minutes: f64,
    /// Chance that it cures.
    pub cures: f64,
    /// The hard limit that forbids it, if one does.
    pub blocked: Option<&'k str>,
    /// What it leaves as it is (ids of faults).
    pub remains: Vec<String>,
    /// The deepest stage (index) that it has to go to.
    pub depth: usize,
}

/// Every scope of work from a stage (index) on: those that may be done, the cheapest first, then the others.
pub fn verdicts<'k>(planner: &Planner<'k>, task: &Task<'k>, stage: usize) -> Vec<Verdict<'k>> {
    let (knowledge, net) = (planner.knowledge, &planner.net);
    let known = everything(planner, task);
    let motor = Cow::Borrowed(task.motor);
    let present: Vec<f64> = task.specimen.faults.iter().map(|f| f64::from(u8::from(*f))).collect();
    let wanted = vec![true; net.faults.len()];
    let models = scopes::models(knowledge, net, Some(&motor), &known, &wanted);
    let blocked: Vec<Option<&'k str>> = models.iter().map(|m| m.blocked(&known, &present)).collect();
    let bet = |m: &ScopeModel<'k>| Bet {
        price: price(knowledge, m.work(knowledge, stage, &present)),
        success: m.success_by_marginals(&present),
        noticed: m.scope.uncured_seen,
    };
    let bets: Vec<Bet> = models.iter().map(bet).collect();
    let cost = |i: usize| {
        // A scope that must not be done is weighed alone beside the open ones.
        let beside = bets.iter().zip(&blocked).enumerate().filter(|(j, (_, b))| *j != i && b.is_none());
        let mut all: Vec<Bet> = beside.map(|(_, (bet, _))| *bet).collect();
        all.push(bets[i]);
        expected_costs(&all, knowledge.shop.come_back).pop().unwrap_or(f64::INFINITY)
    };
    let mut list: Vec<Verdict<'k>> = (models.iter().enumerate())
        .map(|(i, m)| Verdict {
            scope: &m.scope.id,
            cost: cost(i),
            minutes: m.work(knowledge, stage, &present).minutes,
            cures: bets[i].success,
            blocked: blocked[i],
            remains: (task.specimen.present())
                .filter(|f| m.clears[*f] < CLEARS)
                .map(|f| net.faults[f].id.clone())
                .collect(),
            depth: depth(knowledge, m, &present),
        })
        .collect();
    list.sort_by(|a, b| a.blocked.is_some().cmp(&b.blocked.is_some()).then(a.cost.total_cmp(&b.cost)));
    list
}

/// The deepest stage (index) at which a scope has something to do for this motor.
fn depth(knowledge: &Knowledge, model: &ScopeModel, present: &[f64]) -> usize {
    let stages = model.repairs(knowledge, present, NEEDED).into_iter();
    stages.filter_map(|r| knowledge.stage_index(&r.stage)).max().unwrap_or(0)
}

/// What a scope (id) does about each of these faults (ids): the name of its repair, or none where it does nothing.
pub fn handles<'k>(
    planner: &Planner<'k>,
    motor: &'k Motor,
    scope: &str,
    faults: &[&str],
) -> Vec<Option<&'k str>> {
    let net = &planner.net;
    let wanted = vec![true; net.faults.len()];
    let motor = Cow::Borrowed(motor);
    let models = scopes::models(planner.knowledge, net, Some(&motor), &Known::default(), &wanted);
    let model = models.iter().find(|m| m.scope.id == scope);
    let handle = |fault: &&str| {
        let (model, place) = (model?, net.faults.iter().position(|f| f.id == **fault)?);
        if model.clears[place] < CLEARS {
            return None;
        }
        let called = model.as_needed.iter().find(|(_, wants)| wants.contains(&place)).map(|(r, _)| *r);
        let removes = |r: &&&Repair| r.removes.iter().any(|x| x.fault == **fault);
        called.or_else(|| model.always.iter().find(removes).copied()).map(|r| r.name.as_str())
    };
    faults.iter().map(handle).collect()
}

/// The first cautions of the best scope's work, at most so many.
pub(super) fn first_cautions(planner: &Planner, task: &Task, most: usize) -> Vec<String> {
    let best = verdicts(planner, task, 0).into_iter().next();
    let mut out: Vec<String> = best.map_or(Vec::new(), |b| cautions_of(planner, task, b.scope));
    out.truncate(most);
    out
}

/// Every caution of the work that a scope is for this motor, opening and closing it included, in the order in which
/// they come up.
pub fn cautions_of(planner: &Planner, task: &Task, scope: &str) -> Vec<String> {
    let knowledge = planner.knowledge;
    let known = everything(planner, task);
    let motor = Cow::Borrowed(task.motor);
    let present: Vec<f64> = task.specimen.faults.iter().map(|f| f64::from(u8::from(*f))).collect();
    let wanted = vec![true; planner.net.faults.len()];
    let models = scopes::models(knowledge, &planner.net, Some(&motor), &known, &wanted);
    let mut out: Vec<String> = Vec::new();
    for model in models.iter().filter(|m| m.scope.id == scope) {
        let repairs = model.repairs(knowledge, &present, NEEDED);
        for caution in jobs(knowledge, &repairs, 0).iter().flat_map(Job::cautions) {
            if !out.contains(caution) {
                out.push(caution.clone());
            }
        }
    }
    out
}

/// Everything that could be known of the motor.
pub(super) fn everything(planner: &Planner, task: &Task) -> Known {
    let mut known = Known::default();
    let net = &planner.net;
    for (factor, state) in net.factors.iter().zip(&task.specimen.factors) {
        known.state(&factor.id, &factor.states[*state]);
    }
    for (observation, state) in net.observations.iter().zip(&task.specimen.observations) {
        known.state(&observation.id, &observation.states[*state]);
    }
    known
}
