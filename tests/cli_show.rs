//! Every entry of the built-in knowledge can be shown, on wide and narrow pages.

use commsense::case::BenchUnits;
use commsense::cli::show;
use commsense::knowledge::{Basis, Knowledge, builtin};
use commsense::present::text::{Page, width};

fn knowledge() -> Knowledge {
    builtin(&BenchUnits).expect("the built-in knowledge is sound")
}

fn ids(k: &Knowledge) -> Vec<&str> {
    let mut ids: Vec<&str> = Vec::new();
    ids.extend(k.factors.iter().map(|x| x.id.as_str()));
    ids.extend(k.faults.iter().map(|x| x.id.as_str()));
    ids.extend(k.observations.iter().map(|x| x.id.as_str()));
    ids.extend(k.readings.iter().map(|x| x.id.as_str()));
    ids.extend(k.repairs.iter().map(|x| x.id.as_str()));
    ids.extend(k.scopes.iter().map(|x| x.id.as_str()));
    ids.extend(k.cautions.iter().map(|x| x.id.as_str()));
    ids.extend(k.motors.iter().map(|x| x.id.as_str()));
    ids.extend(k.stages.iter().map(|x| x.id.as_str()));
    ids.extend(k.sources.iter().map(|x| x.id.as_str()));
    ids
}

#[test]
fn everything_can_be_shown_within_the_page() {
    let k = knowledge();
    for id in ids(&k) {
        let text = show::entry(&k, id).unwrap_or_else(|| panic!("{id} cannot be shown"));
        for columns in [40, 80] {
            for page in [Page::plain(columns), Page::words(columns)] {
                let shown = text.render(&page);
                for line in shown.lines() {
                    assert!(width(line) <= columns, "{id} at {columns}: {line}");
                }
                assert!(shown.contains(id), "{id}:\n{shown}");
            }
        }
    }
    assert!(show::entry(&k, "no-such-entry").is_none());
}

/// All words of a text, on one line.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_fault_tells_its_causes_effects_and_remedies_with_their_basis() {
    let k = knowledge();
    for fault in &k.faults {
        let shown = show::entry(&k, &fault.id).expect("a fault can be shown").render(&Page::plain(100));
        let shown = flat(&shown);
        for part in [&fault.summary, &fault.customer] {
            assert!(shown.contains(&flat(part)), "{}: {part}", fault.id);
        }
        for cause in &fault.causes {
            let end = match &cause.by.state {
                Some(state) => format!("- {} is {state}: {}", cause.by.parent, cause.strength),
                None => format!("- {}: {}", cause.by.parent, cause.strength),
            };
            assert!(shown.contains(&end) && shown.contains(&flat(&cause.because)), "{}: {end}", fault.id);
        }
        for shows in &fault.shows {
            assert!(shown.contains(&flat(&shows.because)), "{}: {}", fault.id, shows.observation);
        }
        let bases = fault.causes.iter().map(|c| &c.basis).chain(fault.shows.iter().map(|s| &s.basis));
        for basis in bases.chain([&fault.basis]) {
            if let Basis::Source(id) = basis {
                let source = k.source(id).expect("sources resolve");
                assert!(shown.contains(&flat(&source.citation)), "{} cites {id}", fault.id);
            }
        }
        for repair in k.repairs.iter().filter(|r| r.removes.iter().any(|x| x.fault == fault.id)) {
            assert!(shown.contains(&format!("- {}: ", repair.id)), "{}: {}", fault.id, repair.id);
        }
    }
}

#[test]
fn the_way_in_is_told_in_the_order_of_the_hands_and_the_way_back_after_the_steps() {
    let k = knowledge();
    let shown = flat(
        &show::repair::procedure(&k, k.repair("set-shims").expect("a repair")).render(&Page::plain(100)),
    );
    let at = |words: &str| shown.find(&flat(words)).unwrap_or_else(|| panic!("it lacks {words}"));
    let stage = |id: &str| k.stages.iter().find(|s| s.id == id).expect("a stage");
    let springs = &k.caution("springs-fly").expect("a caution").text;
    let out = stage("brushes-out");
    let order =
        [at(springs), at(&out.record_first[0]), at(&out.reached_by), at(&stage("end-bell-off").reached_by)];
    assert!(order.is_sorted(), "{order:?}");
    let back = |id: &str| at(&stage(id).closed_by.as_ref().expect("a way back").name);
    let order = [order[3], at("Steps"), back("end-bell-off"), back("brushes-out"), back("bench")];
    assert!(order.is_sorted(), "{order:?}");
}

#[test]
fn a_procedure_gives_every_caution_in_full_and_before_its_step() {
    let k = knowledge();
    for repair in &k.repairs {
        let shown = flat(&show::repair::procedure(&k, repair).render(&Page::plain(100)));
        for (i, step) in repair.steps.iter().enumerate() {
            let at = shown.find(&format!("{}. {}", i + 1, flat(&step.action)));
            let at = at.unwrap_or_else(|| panic!("{} lacks step {}", repair.id, i + 1));
            let before = &shown[..at];
            for id in &step.cautions {
                let caution = k.caution(id).expect("cautions resolve");
                assert!(before.contains(&flat(&caution.text)), "{}, step {}: {id}", repair.id, i + 1);
                // Its name stands again directly before the step, after the step before.
                let previous = match i {
                    0 => 0,
                    _ => shown.find(&flat(&repair.steps[i - 1].action)).unwrap_or(0),
                };
                assert!(
                    shown[previous..at].contains(&format!("CAUTION: {}", caution.name)),
                    "{}: {id}",
                    repair.id
                );
            }
        }
        for wanted in repair.tools.iter().chain(&repair.checks).chain(repair.parts.iter().map(|p| &p.name)) {
            assert!(shown.contains(&flat(wanted)), "{}: {wanted}", repair.id);
        }
    }
}
