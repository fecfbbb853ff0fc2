//! Repairs, as a procedure to follow at the bench.

use super::{Sheet, chance};
use crate::knowledge::{Knowledge, Part, Repair, Stage, Step};
use crate::plan::work::{Job, jobs};
use crate::present::text::{Styled, Text, minutes, money};
use crate::present::triage::text::write_down;

/// The procedure: what to have at hand, the steps with their cautions before them, and the checks that
/// prove it.
pub fn procedure(k: &Knowledge, repair: &Repair) -> Text {
    let mut sheet = Sheet::new(k);
    body(&mut sheet, repair);
    sheet.finish()
}

pub(super) fn full(sheet: &mut Sheet, repair: &Repair) {
    let k = sheet.k;
    body(sheet, repair);
    sheet.text.subheading("What it removes, and how surely");
    for removes in &repair.removes {
        let name = k.fault(&removes.fault).map_or("", |f| f.name.as_str());
        super::links::item(
            sheet,
            Styled::new().strong(&removes.fault),
            &chance(removes.sureness),
            name,
            &removes.basis,
        );
    }
    let scopes = k.scopes.iter().filter_map(|s| {
        let always = s.always.contains(&repair.id);
        let word = if always { "always" } else { "as needed" };
        (always || s.as_needed.contains(&repair.id))
            .then(|| Styled::new().strong(&s.id).plain(": ").plain(word))
    });
    let scopes = scopes.collect();
    sheet.list("Scopes that hold it", scopes);
}

fn body(sheet: &mut Sheet, repair: &Repair) {
    let k = sheet.k;
    sheet.title(&repair.name, "repair", &repair.id);
    let basis = sheet.basis(&repair.basis);
    sheet.fact("Time", format!("{} · {basis}", minutes(repair.minutes)));
    sheet.fact("Tools", repair.tools.join(", "));
    sheet.fact("Parts", repair.parts.iter().map(part).collect::<Vec<_>>().join(", "));

    let jobs = jobs(k, &[repair], 0);
    let at = jobs.iter().position(|job| matches!(job, Job::Repair(_))).unwrap_or(0);
    let (before, after) = jobs.split_at(at);
    for job in before {
        if let Job::Open(stage) = job {
            way_there(sheet, stage);
        }
    }
    // A stage that may be passed over is no part of the way to others, but this repair is done there.
    if let Some(stage) = k.stages.iter().find(|s| s.skippable && s.id == repair.stage) {
        way_there(sheet, stage);
    }
    sheet.text.subheading("Steps");
    steps(sheet, &repair.steps);
    for job in after {
        if let Job::Close(stage) = job
            && let Some(closing) = &stage.closed_by
        {
            sheet.text.subheading(format!("Afterwards: {}", closing.name));
            steps(sheet, &closing.steps);
        }
    }
    sheet.list("What proves that it worked", repair.checks.iter().map(Styled::from).collect());
}

fn way_there(sheet: &mut Sheet, stage: &Stage) {
    sheet.text.subheading(format!("Way there: {}", stage.name));
    for id in &stage.calls_for {
        sheet.caution(2, id);
    }
    write_down(stage, 2, &mut sheet.text);
    sheet.text.item(2, "", stage.reached_by.as_str());
}

fn steps(sheet: &mut Sheet, steps: &[Step]) {
    let digits = steps.len().to_string().len();
    for (i, step) in steps.iter().enumerate() {
        for id in &step.cautions {
            sheet.caution(2, id);
        }
        let number = Styled::new().strong(format!("{:>digits$}. ", i + 1));
        sheet.text.item(2, number, step.action.as_str());
    }
}

fn part(part: &Part) -> String {
    match part.by_motor {
        true => format!("{} ({}, or the motor's own price)", part.name, money(part.cost)),
        false => format!("{} ({})", part.name, money(part.cost)),
    }
}
