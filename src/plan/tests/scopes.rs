//! Who removes what, what it costs, what blocks it, and what starting with it leads to.

use std::collections::HashMap;

use super::close;
use crate::knowledge::{Knowledge, Limit, LimitWhen, Motor, Part, Stage};
use crate::plan::Known;
use crate::plan::sample::{answer, bench, moment, motor, planner, repair, scope, stage};
use crate::plan::scopes::{ScopeModel, price, wanted_cured};

/// Faults of the sample in the order of the network that these tests use.
const FAULTS: [&str; 3] = ["dirty", "worn", "shorted"];
const COUNTER: usize = 0;
const BENCH: usize = 1;
const OPEN: usize = 3;
const DEEP: usize = 4;

fn model<'k>(knowledge: &'k Knowledge, id: &str, motor: Option<&'k Motor>) -> ScopeModel<'k> {
    let faults: HashMap<&str, usize> = FAULTS.iter().enumerate().map(|(i, f)| (*f, i)).collect();
    let scope = knowledge.scope(id).expect("the sample has it");
    ScopeModel::new(knowledge, scope, &faults, motor.map(std::borrow::Cow::Borrowed).as_ref(), &|_| false)
}

#[test]
fn each_fault_belongs_to_the_repair_that_removes_it_most_surely() {
    let knowledge = bench();
    let rebuild = model(&knowledge, "rebuild", None);
    // dirty: wipe, always (0.9), not brushes (0.3). worn: brushes (0.95), not armature (0.2).
    assert_eq!(rebuild.clears, [0.9, 0.95, 1.0]);
    let wants: Vec<(&str, &[usize])> =
        rebuild.as_needed.iter().map(|(r, w)| (r.id.as_str(), w.as_slice())).collect();
    assert_eq!(wants, [("brushes", &[1usize][..]), ("armature", &[2])]);
    assert_eq!(model(&knowledge, "look", None).clears, [0.0; 3]);
}

#[test]
fn of_two_repairs_as_sure_the_cheaper_is_called_for() {
    let mut knowledge = bench();
    knowledge.repairs.push(repair("dear", "open", 30.0, 9.0, &[("worn", 0.5)]));
    knowledge.repairs.push(repair("cheap", "open", 10.0, 9.0, &[("worn", 0.5)]));
    knowledge.scopes.push(scope("two", &["check"], &["dear", "cheap"]));
    let two = model(&knowledge, "two", None);
    let wants: Vec<(&str, usize)> = two.as_needed.iter().map(|(r, w)| (r.id.as_str(), w.len())).collect();
    assert_eq!(wants, [("dear", 0), ("cheap", 1)]);
}

#[test]
fn what_is_done_anyway_is_not_called_for_again() {
    let mut knowledge = bench();
    knowledge.repairs.push(repair("again", "open", 1.0, 0.0, &[("dirty", 0.9)]));
    knowledge.scopes.push(scope("two", &["wipe"], &["again"]));
    let two = model(&knowledge, "two", None);
    assert!(two.as_needed[0].1.is_empty());
    // No minute of it is counted: wipe 6, way bench 5 and open 9.
    assert!(close(two.work(&knowledge, COUNTER, &[1.0, 0.0, 0.0]).minutes, 6.0 + 14.0));
}

#[test]
fn work_counts_repairs_parts_and_the_way_with_their_chances() {
    let knowledge = bench();
    let rebuild = model(&knowledge, "rebuild", None);
    let work = rebuild.work(&knowledge, COUNTER, &[0.5, 0.4, 0.1]);
    // wipe 6, check 4, brushes 10 x 0.4, armature 20 x 0.1; bench 5 and open 9 for certain (wipe),
    // deep 13 x 0.1.
    assert!(close(work.minutes, 6.0 + 4.0 + 4.0 + 2.0 + 5.0 + 9.0 + 1.3), "{}", work.minutes);
    assert!(close(work.parts, 0.5 + 8.0 * 0.4 + 30.0 * 0.1), "{}", work.parts);
    // From further in, the ways that lie behind are not paid again.
    let inside = rebuild.work(&knowledge, OPEN, &[0.5, 0.4, 0.1]);
    assert!(close(work.minutes - inside.minutes, 14.0));
    assert!(close(price(&knowledge, inside), inside.minutes + inside.parts));
}

#[test]
fn a_deep_stage_brings_those_before_it_with_its_own_chance() {
    let mut knowledge = bench();
    knowledge.scopes.push(scope("maybe", &["check"], &["brushes", "armature"]));
    let work = model(&knowledge, "maybe", None).work(&knowledge, BENCH, &[0.0, 0.4, 0.1]);
    // open is entered when brushes or armature are needed: 1 - 0.6 x 0.9.
    assert!(close(work.minutes, 4.0 + 4.0 + 2.0 + 9.0 * (1.0 - 0.6 * 0.9) + 13.0 * 0.1), "{}", work.minutes);
}

#[test]
fn a_stage_that_may_be_passed_over_is_entered_for_its_own_repairs_only() {
    let mut knowledge = bench();
    knowledge.repairs.push(repair("run", "powered", 2.0, 0.0, &[("worn", 0.5)]));
    knowledge.scopes.push(scope("bed", &["wipe", "run"], &[]));
    let way = |id: &str| model(&knowledge, id, None).work(&knowledge, BENCH, &[0.0; 3]).minutes;
    assert!(close(way("bed"), 6.0 + 2.0 + 9.0 + 3.0));
    assert!(close(way("clean"), 6.0 + 4.0 + 9.0));
}

#[test]
fn a_motor_brings_its_own_price() {
    let mut knowledge = bench();
    let mut swap = repair("swap", "bench", 5.0, 40.0, &[("worn", 1.0)]);
    swap.parts = vec![Part { name: "motor".into(), cost: 40.0, by_motor: true }];
    knowledge.repairs.push(swap);
    knowledge.scopes.push(scope("another", &["swap"], &[]));
    let parts = |motor| model(&knowledge, "another", motor).work(&knowledge, BENCH, &[0.0, 1.0, 0.0]).parts;
    let own = motor(true);
    assert_eq!((parts(None), parts(Some(&own))), (40.0, 25.0));
}

#[test]
fn a_repair_behind_a_closed_door_removes_nothing_and_costs_nothing() {
    let knowledge = bench();
    let planner = planner(&knowledge);
    let sealed = motor(false);
    let mut shut = moment(&planner, COUNTER, &[]);
    shut.motor = Some(std::borrow::Cow::Borrowed(&sealed));
    let shut = planner.assess(shut).expect("possible");
    let rebuild = shut.scope("rebuild").expect("it is there");
    assert_eq!(rebuild.clears, [0.0; 3]);
    assert!(close(rebuild.work(&knowledge, COUNTER, &[1.0; 3]).minutes, 4.0 + 5.0));
}

#[test]
fn the_chance_of_a_cure_is_the_product_over_faults() {
    let knowledge = bench();
    let service = model(&knowledge, "service", None);
    let chance = service.success_by_marginals(&[0.5, 0.4, 0.1]);
    assert!(close(chance, (1.0 - 0.5 * 0.1) * (1.0 - 0.4 * 0.05) * (1.0 - 0.1)));
}

#[test]
fn hard_limits_of_every_kind() {
    let mut knowledge = bench();
    let limit = |when, reason: &str| Limit { when, reason: reason.into() };
    knowledge.scopes[1].blocked_when = vec![
        limit(LimitWhen::Rebuildable(false), "sealed"),
        limit(LimitWhen::FaultAbove("shorted".into(), 0.5), "shorted"),
        limit(LimitWhen::Answer(answer("hand", &["much"])), "locked"),
    ];
    let (sealed, sound) = (motor(false), motor(true));
    let nothing = Known::default();
    let mut locked = Known::default();
    locked.state("hand", "much");
    let blocked =
        |motor, known: &Known, faults: &[f64]| model(&knowledge, "clean", motor).blocked(known, faults);
    assert_eq!(blocked(None, &nothing, &[0.0; 3]), None);
    assert_eq!(blocked(Some(&sound), &nothing, &[0.0, 0.0, 0.5]), None);
    assert_eq!(blocked(Some(&sealed), &nothing, &[0.0; 3]), Some("sealed"));
    assert_eq!(blocked(None, &nothing, &[0.0, 0.0, 0.51]), Some("shorted"));
    assert_eq!(blocked(None, &locked, &[0.0; 3]), Some("locked"));
}

#[test]
fn a_blocked_scope_is_never_the_best_however_cheap() {
    let mut knowledge = bench();
    let locked = LimitWhen::Answer(answer("hand", &["much"]));
    let block = |scope: &mut crate::knowledge::Scope| {
        scope.blocked_when = vec![Limit { when: locked.clone(), reason: "locked".into() }];
    };
    let free = {
        let planner = planner(&knowledge);
        let moment = moment(&planner, BENCH, &[("hand", "much")]);
        planner.assess(moment).expect("possible").scope_rows()[0].id.clone()
    };
    knowledge.scopes.iter_mut().filter(|s| s.id == free).for_each(block);
    let planner = planner(&knowledge);
    let assessment = planner.assess(moment(&planner, BENCH, &[("hand", "much")])).expect("possible");
    let rows = assessment.scope_rows();
    assert_ne!(rows[0].id, free);
    let last = rows.last().expect("four rows");
    assert_eq!((last.id.as_str(), last.blocked.as_deref()), (&*free, Some("locked")));
    // It is still told what it would have cost.
    assert!(last.expected_cost.is_finite());
    let ranking = assessment.ranking();
    let offered = ranking.openings.iter().flat_map(|o| &o.questions);
    let outcomes = ranking.here.iter().chain(offered).flat_map(|v| &v.outcomes);
    let chosen: Vec<usize> = outcomes.filter_map(|o| o.scope).collect();
    assert!(!chosen.is_empty() && chosen.iter().all(|s| assessment.scopes[*s].scope.id != free));
}

#[test]
fn work_inside_comes_first_and_the_last_check_last() {
    let knowledge = bench();
    let rebuild = model(&knowledge, "rebuild", None);
    let ids = |faults: &[f64]| -> Vec<String> {
        rebuild.repairs(&knowledge, faults, 0.2).iter().map(|r| r.id.clone()).collect()
    };
    assert_eq!(ids(&[0.0, 0.9, 0.9]), ["armature", "brushes", "wipe", "check"]);
    assert_eq!(ids(&[0.0, 0.21, 0.19]), ["brushes", "wipe", "check"]);
}

#[test]
fn the_work_is_for_faults_that_can_have_caused_the_complaint() {
    let knowledge = bench();
    let planner = planner(&knowledge);
    let wanted = |answers: &[(&str, &str)]| -> Vec<String> {
        let wanted = wanted_cured(&planner.net, &moment(&planner, COUNTER, answers).evidence);
        let ids = planner.net.faults.iter().zip(wanted).filter(|(_, w)| *w);
        ids.map(|(f, _)| f.id.clone()).collect()
    };
    assert_eq!(wanted(&[]).len(), 3);
    assert_eq!(wanted(&[("power", "normal")]).len(), 3);
    assert_eq!(wanted(&[("smell", "some"), ("power", "normal")]), ["shorted"]);
}

#[test]
fn stages_without_repairs_cost_nothing() {
    let mut knowledge = bench();
    knowledge.stages.push(Stage { opens: true, ..stage("deeper", 90.0, 90.0) });
    let work = model(&knowledge, "look", None).work(&knowledge, BENCH, &[1.0; 3]);
    assert!(close(work.minutes, 4.0));
    assert!(close(model(&knowledge, "look", None).work(&knowledge, DEEP, &[1.0; 3]).minutes, 4.0));
}
