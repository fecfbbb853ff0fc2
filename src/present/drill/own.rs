//! What an instructor is told about a lesson of his or her own.

use super::course::points;
use super::{fault_name, said};
use crate::case::Answer;
use crate::drill::debrief::Debrief;
use crate::drill::written::Against;
use crate::knowledge::{Course, Knowledge, TrapAct};
use crate::present::text::{minutes, money};
use crate::present::triage::text::{name, scope_name};

/// Points of the mark below which nothing is said about a loss.
const WORTH_SAYING: f64 = 0.01;

/// What the lesson shows and its faults hardly ever do, in sentences.
pub fn speaks_against(knowledge: &Knowledge, all: &[Against]) -> Vec<String> {
    let of_hundred = |p: f64| format!("{:.0} of 100", p * 100.0);
    let one = |a: &Against| {
        let answer = said(knowledge, &a.id, &Answer::State(a.state));
        format!(
            "“{}: {answer}” speaks against what is wrong: {} such motors show it, and {} without the fault",
            name(knowledge, &a.id),
            of_hundred(a.with),
            of_hundred(a.without)
        )
    };
    all.iter().map(one).collect()
}

/// Where points of a mark went, the most costly first, each in a line; nothing for a full mark.
pub fn lost(knowledge: &Knowledge, course: &Course, look: &Debrief) -> Vec<String> {
    let (mark, weights) = (&look.mark, &course.weights);
    let mut all: Vec<(f64, String)> = Vec::new();
    let stated: Vec<String> = (look.truth.iter())
        .map(|id| {
            let chance = look.named.iter().find(|n| n.0 == *id).map_or(0.0, |n| n.1);
            format!("{} was there, and was given {:.0} %", fault_name(knowledge, id), chance * 100.0)
        })
        .chain((look.named.iter().filter(|n| !n.2)).map(|n| {
            format!("{} was not there, and was given {:.0} %", fault_name(knowledge, &n.0), n.1 * 100.0)
        }))
        .collect();
    all.push((weights.diagnosis * (1.0 - mark.diagnosis), stated.join("; ")));
    let work = match (&look.chosen, &look.best) {
        (Some(chosen), _) if chosen.blocked.is_some() => {
            format!(
                "the work, {}, is ruled out: {}",
                scope_name(knowledge, chosen.scope),
                chosen.blocked.unwrap_or("")
            )
        }
        (Some(chosen), Some(best)) => format!(
            "the work, {}, comes to {}; {} to {}",
            scope_name(knowledge, chosen.scope),
            money(chosen.cost.round()),
            scope_name(knowledge, best.scope),
            money(best.cost.round())
        ),
        _ => "no work was chosen".to_owned(),
    };
    all.push((weights.scope * (1.0 - mark.scope), work));
    all.push((weights.safety * (1.0 - mark.safety), "the hand had to be stopped, or it was luck".to_owned()));
    all.push((weights.minutes * (1.0 - mark.minutes), format!("it took {}", minutes(look.own.minutes))));
    for trap in &look.traps {
        let what = match &trap.act {
            TrapAct::Look(id) => super::entry_name(knowledge, id),
            TrapAct::Enter(id) => super::stage_name(knowledge, id),
            TrapAct::Name(id) => fault_name(knowledge, id),
            TrapAct::Scope(id) => scope_name(knowledge, id),
        };
        let before =
            trap.before.as_ref().map_or(String::new(), |id| format!(" before “{}”", name(knowledge, id)));
        all.push((course.per_trap, format!("it fell into the trap “{what}”{before}: {}", trap.why)));
    }
    all.retain(|(loss, _)| *loss >= WORTH_SAYING);
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    all.into_iter().map(|(loss, why)| format!("{} points lost: {why}", points(loss))).collect()
}
