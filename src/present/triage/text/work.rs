//! The work as it stands in a result: short, numbered, each caution before its step.

use crate::knowledge::{Knowledge, Motor, Repair, Stage, Step};
use crate::plan::work::Job;
use crate::present::text::{Styled, Text, minutes, money};

/// One piece of the work, for this motor; `said` holds the cautions given in full before it.
pub fn job(
    knowledge: &Knowledge,
    motor: Option<&Motor>,
    job: Job,
    number: usize,
    said: &mut Vec<String>,
    text: &mut Text,
) {
    match job {
        Job::Open(stage) => {
            title(number, &stage.name, &[minutes(stage.minutes), "opening up".into()], text);
            before_stage(knowledge, stage, 3, said, text);
            text.item(3, format!("{number}.1 "), stage.reached_by.as_str());
        }
        Job::Repair(repair) => {
            title(number, &repair.name, &facts(knowledge, motor, repair), text);
            if !repair.tools.is_empty() {
                text.item(
                    3,
                    Styled::new().muted("Have ready: "),
                    Styled::new().muted(repair.tools.join(", ")),
                );
            }
            steps(knowledge, &repair.steps, number, said, text);
        }
        Job::Close(stage) => {
            if let Some(closing) = &stage.closed_by {
                title(number, &closing.name, &[minutes(stage.minutes_back), "closing up".into()], text);
                steps(knowledge, &closing.steps, number, said, text);
            }
        }
    }
}

/// What is read before a stage is entered, in the order in which it is done: the cautions, then what is written
/// down.
pub fn before_stage(
    knowledge: &Knowledge,
    stage: &Stage,
    indent: usize,
    said: &mut Vec<String>,
    text: &mut Text,
) {
    cautions_before(knowledge, &stage.calls_for, indent, said, text);
    write_down(stage, indent, text);
}

/// What is written down before a stage is entered.
pub fn write_down(stage: &Stage, indent: usize, text: &mut Text) {
    if !stage.record_first.is_empty() {
        text.item(indent, "", Styled::new().strong("Write down first:"));
    }
    for record in &stage.record_first {
        text.item(indent + 2, "- ", record.as_str());
    }
}

fn facts(knowledge: &Knowledge, motor: Option<&Motor>, repair: &Repair) -> Vec<String> {
    let stage = knowledge.stages.iter().find(|s| s.id == repair.stage);
    let mut facts = vec![minutes(repair.minutes)];
    facts.extend(stage.map(|s| s.name.to_lowercase()));
    let parts = repair.parts.iter().map(|p| (&p.name, p.price(motor)));
    facts.extend(parts.filter(|(_, price)| *price >= 1.0).map(|(name, p)| format!("{name} ({})", money(p))));
    facts
}

fn title(number: usize, name: &str, facts: &[String], text: &mut Text) {
    text.blank();
    text.item(
        0,
        Styled::new().strong(format!("{number}. ")),
        Styled::new().strong(name).muted(format!(" · {}", facts.join(" · "))),
    );
}

fn steps(knowledge: &Knowledge, steps: &[Step], number: usize, said: &mut Vec<String>, text: &mut Text) {
    for (i, step) in steps.iter().enumerate() {
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
