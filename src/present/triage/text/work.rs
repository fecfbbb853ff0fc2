//! Repairs as they stand in a result: short, numbered, each caution before its step.

use crate::knowledge::{Knowledge, Motor, Repair};
use crate::present::text::{Styled, Text, minutes, money};

/// One repair with its steps, for this motor; `said` holds the cautions given in full before it.
pub fn repair(
    knowledge: &Knowledge,
    motor: Option<&Motor>,
    repair: &Repair,
    number: usize,
    said: &mut Vec<String>,
    text: &mut Text,
) {
    let stage = knowledge.stages.iter().find(|s| s.id == repair.stage);
    let mut facts = vec![minutes(repair.minutes)];
    facts.extend(stage.map(|s| s.name.to_lowercase()));
    let parts = repair.parts.iter().map(|p| (&p.name, p.price(motor)));
    facts.extend(parts.filter(|(_, price)| *price >= 1.0).map(|(name, p)| format!("{name} ({})", money(p))));
    text.blank();
    text.item(
        0,
        Styled::new().strong(format!("{number}. ")),
        Styled::new().strong(&repair.name).muted(format!(" · {}", facts.join(" · "))),
    );
    if !repair.tools.is_empty() {
        text.item(3, Styled::new().muted("Have ready: "), Styled::new().muted(repair.tools.join(", ")));
    }
    for (i, step) in repair.steps.iter().enumerate() {
        cautions_before(knowledge, &step.cautions, 3, said, text);
        text.item(3, format!("{number}.{} ", i + 1), step.action.as_str());
    }
}

/// Cautions, before the step they belong to: in full the first time, by name after that.
pub fn cautions_before(
    knowledge: &Knowledge,
    ids: &[String],
    indent: usize,
    said: &mut Vec<String>,
    text: &mut Text,
) {
    let (again, first): (Vec<&String>, Vec<&String>) = ids.iter().partition(|id| said.contains(id));
    for caution in first.into_iter().filter_map(|id| knowledge.caution(id)) {
        said.push(caution.id.clone());
        text.caution(indent, Styled::new().strong(&caution.name).plain(". ").plain(&caution.text));
    }
    let names: Vec<&str> =
        again.into_iter().filter_map(|id| knowledge.caution(id)).map(|c| c.name.as_str()).collect();
    if !names.is_empty() {
        text.caution(indent, format!("{}, as said above.", names.join("; ")));
    }
}
