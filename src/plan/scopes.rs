//! Scopes of work set against each other: what each would cost, and how surely it cures the motor.

use std::borrow::Cow;
use std::collections::HashMap;

use super::{Known, stages, work};
use crate::knowledge::{Knowledge, LimitWhen, Motor, Repair, Scope};
use crate::network::{BeliefNet, Evidence, Parent};

/// A scope of work with everything about it that no answer changes.
#[derive(Debug, Clone)]
pub struct ScopeModel<'k> {
    /// The scope itself.
    pub scope: &'k Scope,
    /// Its repairs that are always done.
    pub always: Vec<&'k Repair>,
    /// Its repairs that are done when needed, each with the faults (indices) that call for it.
    pub as_needed: Vec<(&'k Repair, Vec<usize>)>,
    /// For every fault of the network, the chance that it does not trouble the motor any more: that this
    /// scope removes it, or 1 for a fault that has nothing to do with the complaint.
    pub clears: Vec<f64>,
    limits: Vec<Limit<'k>>,
    /// What the repairs that are done when needed take, each in its place.
    takes: Vec<Takes>,
    /// What the repairs that are always done take together, and the stages (indices) that they need.
    takes_always: (Work, Vec<usize>),
    motor: Option<Cow<'k, Motor>>,
}

#[derive(Debug, Clone)]
struct Limit<'k> {
    when: &'k LimitWhen,
    fault: Option<usize>,
    reason: &'k str,
}

/// What one repair takes.
#[derive(Debug, Clone, Copy)]
struct Takes {
    work: Work,
    /// The stage that it needs (index).
    depth: Option<usize>,
}

/// What carrying out a scope takes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Work {
    /// Expected minutes, the way through the stages included.
    pub minutes: f64,
    /// Expected cost of parts.
    pub parts: f64,
}

impl<'k> ScopeModel<'k> {
    /// Works out who removes what in a scope.
    ///
    /// Each fault belongs to the one repair that removes it most surely; a repair that is always done goes
    /// before one that would have to be called for, and a cheap one before a dear one. So no minute is
    /// counted twice for one fault.
    ///
    /// Repairs at a stage that is closed to this motor are left out, with what they would have removed.
    pub fn new(
        knowledge: &'k Knowledge,
        scope: &'k Scope,
        faults: &HashMap<&str, usize>,
        motor: Option<&Cow<'k, Motor>>,
        closed: &dyn Fn(&str) -> bool,
    ) -> Self {
        let find = |ids: &'k [String]| {
            let known = ids.iter().filter_map(|id| knowledge.repair(id));
            known.filter(|r| !closed(&r.stage)).collect::<Vec<_>>()
        };
        let always = find(&scope.always);
        let optional = find(&scope.as_needed);
        let labour = knowledge.shop.labour_per_minute;
        let price = |r: &Repair| r.minutes * labour + parts_cost(r, motor.map(|m| &**m));
        // For each repair, how surely it removes each fault.
        let removals = |repairs: &[&Repair]| -> Vec<Vec<f64>> {
            let of = |r: &&Repair| {
                let mut sure = vec![0.0_f64; faults.len()];
                for x in &r.removes {
                    if let Some(&fault) = faults.get(&*x.fault) {
                        sure[fault] = sure[fault].max(x.sureness);
                    }
                }
                sure
            };
            repairs.iter().map(of).collect()
        };
        let (by_always, by_optional) = (removals(&always), removals(&optional));
        let prices: Vec<f64> = optional.iter().map(|r| price(r)).collect();
        let mut clears = vec![0.0; faults.len()];
        let mut wanted: Vec<Vec<usize>> = vec![Vec::new(); optional.len()];
        for (fault, clear) in clears.iter_mut().enumerate() {
            let done = by_always.iter().map(|sure| sure[fault]).fold(0.0, f64::max);
            let best = (by_optional.iter().zip(&prices).enumerate())
                .map(|(i, (sure, price))| (i, sure[fault], price))
                .filter(|(_, sure, _)| *sure > done)
                .max_by(|a, b| a.1.total_cmp(&b.1).then(b.2.total_cmp(a.2)));
            *clear = done;
            if let Some((i, sure, _)) = best {
                *clear = sure;
                wanted[i].push(fault);
            }
        }
        let limits = (scope.blocked_when.iter())
            .map(|l| Limit {
                when: &l.when,
                fault: match &l.when {
                    LimitWhen::FaultAbove(id, _) => faults.get(&**id).copied(),
                    _ => None,
                },
                reason: &l.reason,
            })
            .collect();
        let takes = |r: &&Repair| Takes {
            work: Work { minutes: r.minutes, parts: parts_cost(r, motor.map(|m| &**m)) },
            depth: knowledge.stage_index(&r.stage),
        };
        let all: Vec<Takes> = always.iter().map(takes).collect();
        let sum = all.iter().fold(Work::default(), |sum, t| Work {
            minutes: sum.minutes + t.work.minutes,
            parts: sum.parts + t.work.parts,
        });
        ScopeModel {
            scope,
            takes: optional.iter().map(takes).collect(),
            takes_always: (sum, all.iter().filter_map(|t| t.depth).collect()),
            always,
            as_needed: optional.into_iter().zip(wanted).collect(),
            clears,
            limits,
            motor: motor.cloned(),
        }
    }

    /// Expected work from a stage (index) on, when the faults are present with these chances.
    ///
    /// A repair that is done when needed counts with the chance that one of its faults is there; the way to
    /// a stage counts with the chance that some repair has to go that deep.
    pub fn work(&self, knowledge: &Knowledge, stage: usize, faults: &[f64]) -> Work {
        let (mut work, needed_always) = (self.takes_always.0, &self.takes_always.1);
        // Chance that nothing needs each stage, over all repairs of the scope.
        let mut untouched = vec![1.0; knowledge.stages.len()];
        needed_always.iter().for_each(|depth| untouched[*depth] = 0.0);
        for (takes, (_, wants)) in self.takes.iter().zip(&self.as_needed) {
            let chance = needed(wants, faults);
            work.minutes += chance * takes.work.minutes;
            work.parts += chance * takes.work.parts;
            if let Some(depth) = takes.depth {
                untouched[depth] *= 1.0 - chance;
            }
        }
        let mut deeper = 1.0;
        for depth in (stage + 1..knowledge.stages.len()).rev() {
            let here = untouched[depth];
            // A stage that can be passed over is entered only for its own repairs.
            let entered = if knowledge.stages[depth].skippable { 1.0 - here } else { 1.0 - deeper * here };
            let stage = &knowledge.stages[depth];
            work.minutes += entered * (stage.minutes + stage.minutes_back);
            deeper *= here;
        }
        work
    }

    /// The chance that every fault present is removed, faults taken one by one.
    ///
    /// Exact when the faults are independent; the planner uses it to compare many imagined answers and the
    /// exact figure for what it shows.
    pub fn success_by_marginals(&self, faults: &[f64]) -> f64 {
        // What is cleared anyway multiplies by 1.
        let open = self.clears.iter().zip(faults).filter(|(c, _)| **c < 1.0);
        open.map(|(c, p)| 1.0 - p * (1.0 - c)).product()
    }

    /// The hard limit that blocks this scope, if one holds.
    pub fn blocked(&self, known: &Known, faults: &[f64]) -> Option<&'k str> {
        let holds = |l: &&Limit| self.holds_by_answers(l, known) || holds_by_faults(l, faults);
        self.limits.iter().find(holds).map(|l| l.reason)
    }

    /// Whether a hard limit blocks this scope whatever the faults are.
    pub fn blocked_by_answers(&self, known: &Known) -> bool {
        self.limits.iter().any(|l| self.holds_by_answers(l, known))
    }

    /// Whether a hard limit on the chance of a fault blocks this scope.
    pub fn blocked_by_faults(&self, faults: &[f64]) -> bool {
        self.limits.iter().any(|l| holds_by_faults(l, faults))
    }

    fn holds_by_answers(&self, limit: &Limit, known: &Known) -> bool {
        match limit.when {
            LimitWhen::Rebuildable(value) => self.motor.as_deref().is_some_and(|m| m.rebuildable == *value),
            LimitWhen::Answer(when) => known.holds(when),
            LimitWhen::FaultAbove(..) => false,
        }
    }

    /// The repairs to carry out, in the order of the work ([`work::sort`]): what is always done, and what is
    /// needed at a chance of at least `threshold`.
    ///
    /// Of the work on the closed motor, what is always done (running in, the final check) is at the end.
    pub fn repairs(&self, knowledge: &Knowledge, faults: &[f64], threshold: f64) -> Vec<&'k Repair> {
        let needed = (self.as_needed.iter()).filter(|(_, w)| needed(w, faults) >= threshold).map(|(r, _)| *r);
        let mut list: Vec<&Repair> = needed.chain(self.always.iter().copied()).collect();
        work::sort(knowledge, &mut list);
        list
    }
}

fn holds_by_faults(limit: &Limit, faults: &[f64]) -> bool {
    match limit.when {
        LimitWhen::FaultAbove(_, above) => limit.fault.is_some_and(|f| faults[f] > *above),
        LimitWhen::Rebuildable(_) | LimitWhen::Answer(_) => false,
    }
}

fn parts_cost(repair: &Repair, motor: Option<&Motor>) -> f64 {
    repair.parts.iter().map(|p| p.price(motor)).sum()
}

/// The chance that at least one of these faults is there.
fn needed(wants: &[usize], faults: &[f64]) -> f64 {
    1.0 - wants.iter().map(|f| 1.0 - faults[*f]).product::<f64>()
}

/// Which faults the work is for: those that can have brought about something abnormal that was answered,
/// or all of them while nothing was.
///
/// A motor is cured when its complaint is gone. Slight wear that shows in nothing does not bring it back.
pub fn wanted_cured(net: &BeliefNet, evidence: &Evidence) -> Vec<bool> {
    let mut wanted = vec![false; net.faults.len()];
    for (observation, weights) in net.observations.iter().zip(&evidence.observations) {
        let Some(weights) = weights else { continue };
        let normal = weights.first().copied().unwrap_or(0.0);
        let abnormal: f64 = weights.iter().skip(1).sum();
        if abnormal <= normal {
            continue;
        }
        for (parent, _) in &observation.causes {
            if let Parent::Fault(fault) = *parent {
                wanted[fault] = true;
            }
        }
    }
    if wanted.iter().any(|w| *w) { wanted } else { vec![true; net.faults.len()] }
}

/// Every scope of the knowledge base, worked out for a network, a motor, what is known of it and the faults
/// that the work is for.
pub fn models<'k>(
    knowledge: &'k Knowledge,
    net: &BeliefNet,
    motor: Option<&Cow<'k, Motor>>,
    known: &Known,
    wanted: &[bool],
) -> Vec<ScopeModel<'k>> {
    let faults: HashMap<&str, usize> = net.faults.iter().enumerate().map(|(i, f)| (&*f.id, i)).collect();
    let closed = |stage: &str| {
        let stage = knowledge.stages.iter().find(|s| s.id == stage);
        stage.is_some_and(|s| stages::closed(s, motor.map(|m| &**m), known).is_some())
    };
    let model = |scope| {
        let mut model = ScopeModel::new(knowledge, scope, &faults, motor, &closed);
        for (clear, _) in model.clears.iter_mut().zip(wanted).filter(|(_, wanted)| !**wanted) {
            *clear = 1.0;
        }
        model
    };
    knowledge.scopes.iter().map(model).collect()
}

/// A scope weighed for a case.
#[derive(Debug, Clone, PartialEq)]
pub struct ScopeRow {
    /// Its id.
    pub id: String,
    /// Labour, parts and the come-back that an uncured motor costs, in the shop's money.
    pub expected_cost: f64,
    /// Expected minutes of work.
    pub minutes: f64,
    /// Expected cost of parts.
    pub parts: f64,
    /// Chance that it cures the motor at the first go.
    pub success: f64,
    /// The hard limit that blocks it, if one does.
    pub blocked: Option<String>,
}

/// Labour and parts in the shop's money.
pub fn price(knowledge: &Knowledge, work: Work) -> f64 {
    work.minutes * knowledge.shop.labour_per_minute + work.parts
}
