use super::*;
use crate::case::BenchUnits;
use crate::drill::{coach, debrief, expert};
use crate::knowledge::{Knowledge, builtin};
use crate::network::compile;

fn knowledge() -> Knowledge {
    builtin(&BenchUnits).unwrap()
}

fn planner(k: &Knowledge) -> Planner<'_> {
    Planner::new(k, compile(k).belief().clone()).unwrap()
}

fn task<'k>(p: &Planner<'k>, id: &str) -> Task<'k> {
    Task::of_lesson(p, p.knowledge.lesson(id).unwrap(), 1).unwrap()
}

fn look(id: &str) -> Act {
    Act::Look(id.to_owned())
}

fn enter(id: &str) -> Act {
    Act::Enter(id.to_owned())
}

/// In every lesson of the course, an expert finds out what is wrong, takes no risk, and chooses work that may be
/// done and is close to the best.
#[test]
fn the_expert_passes_every_lesson() {
    let k = knowledge();
    let p = planner(&k);
    let course = &k.courses[0];
    let mut failed = Vec::new();
    for id in &course.lessons {
        let session = expert::walk(&p, task(&p, id)).unwrap();
        let d = debrief::debrief(&session, course).unwrap();
        let line = format!(
            "{id}: {:?} named {:?} scope {:?} best {:?} {:.0} min risks {} mark {:.2} acts {:?}",
            d.truth,
            d.named,
            session.scope(),
            d.best.as_ref().map(|b| b.scope),
            session.minutes(),
            session.risks(),
            d.mark.whole,
            session.done().iter().map(|x| format!("{:?}", x.act)).collect::<Vec<_>>()
        );
        println!("{line}");
        if !d.mark.passed || session.risks() > 0 {
            failed.push(line);
        }
    }
    assert!(failed.is_empty(), "{failed:#?}");
}
