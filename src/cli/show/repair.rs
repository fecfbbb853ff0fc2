//! Repairs, as a procedure to follow at the bench.

use super::{Sheet, chance};
use crate::knowledge::{Knowledge, Part, Repair};
use crate::present::text::{Styled, Text, minutes, money};

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

    let stage = k.stage_index(&repair.stage).map(|i| &k.stages[i]);
    if let Some(stage) = stage {
        sheet.text.subheading(format!("Where: {}", stage.name));
        for id in &stage.calls_for {
            sheet.caution(2, id);
        }
        if !stage.record_first.is_empty() {
            sheet.text.item(2, "", "Before you get there, write down:");
        }
        for record in &stage.record_first {
            sheet.text.item(4, "- ", record.as_str());
        }
        sheet.text.item(2, "", stage.reached_by.as_str());
    }

    sheet.text.subheading("Steps");
    let digits = repair.steps.len().to_string().len();
    for (i, step) in repair.steps.iter().enumerate() {
        for id in &step.cautions {
            sheet.caution(2, id);
        }
        let number = Styled::new().strong(format!("{:>digits$}. ", i + 1));
        sheet.text.item(2, number, step.action.as_str());
    }
    sheet.list("What proves that it worked", repair.checks.iter().map(Styled::from).collect());
}

fn part(part: &Part) -> String {
    match part.by_motor {
        true => format!("{} ({}, or the motor's own price)", part.name, money(part.cost)),
        false => format!("{} ({})", part.name, money(part.cost)),
    }
}
