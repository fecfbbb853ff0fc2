//! A measurement as a person reads it.

use super::json::basis;
use super::{Sheet, meant, taken};
use crate::knowledge::Basis;
use crate::present::text::{Align, Styled, Table, Text};
use crate::present::triage::text::{cautions_before, name};

/// The whole sheet: cautions, verdict, numbers, what it means, what to do, limits, what a case takes.
pub fn sheet(sheet: &Sheet) -> Text {
    let mut text = Text::new();
    let outcome = sheet.outcome;
    let mut title = Styled::new().title(&sheet.of.name);
    if let Some(motor) = sheet.motor {
        title = title.muted(" · ").muted(&motor.name);
    }
    text.heading(title);
    if !sheet.cautioned {
        cautions_before(sheet.knowledge, &sheet.of.cautions, 0, &mut Vec::new(), &mut text);
    }
    text.para(Styled::new().strong(&outcome.headline));
    for warning in &outcome.warnings {
        text.item(0, Styled::new().warn("! "), warning.as_str());
    }
    numbers(sheet, &mut text);
    if !outcome.body.is_empty() {
        text.append(outcome.body.clone());
    }
    let findings: Vec<_> = meant(sheet.of, outcome).collect();
    if !findings.is_empty() {
        text.subheading("What it means");
    }
    for finding in findings {
        let fault = finding.fault.as_deref().and_then(|id| sheet.knowledge.fault(id));
        let named = match fault {
            Some(fault) => Styled::new().fault(&fault.name).plain(": "),
            None => Styled::new(),
        };
        text.item(2, "- ", named.plain(&finding.says));
    }
    if !outcome.next.is_empty() {
        text.subheading("What to do");
    }
    for (i, step) in outcome.next.iter().enumerate() {
        text.item(2, Styled::new().strong(format!("{}. ", i + 1)), step.as_str());
    }
    limits(sheet, &mut text);
    for_a_case(sheet, &mut text);
    text
}

fn numbers(sheet: &Sheet, text: &mut Text) {
    if sheet.outcome.rows.is_empty() {
        return;
    }
    let rows = &sheet.outcome.rows;
    let ranged = rows.iter().any(|r| !r.range.is_empty());
    let compared = rows.iter().any(|r| !r.against.is_empty());
    let mut head = vec![("", Align::Left), ("value", Align::Right)];
    head.extend(ranged.then_some(("95 % sure of", Align::Left)));
    head.extend(compared.then_some(("compared with", Align::Left)));
    let mut table = Table::new(&head);
    for row in rows {
        let mut cells = vec![Styled::from(&row.label), Styled::new().strong(&row.value)];
        cells.extend(ranged.then(|| Styled::from(&row.range)));
        cells.extend(compared.then(|| Styled::from(&row.against)));
        table.row(cells);
    }
    text.table(2, table);
}

fn limits(sheet: &Sheet, text: &mut Text) {
    if sheet.outcome.limits.is_empty() {
        return;
    }
    text.subheading("Limits used");
    for guide in &sheet.outcome.limits {
        let note = if guide.note.is_empty() { String::new() } else { format!(". {}", guide.note) };
        let from = match &guide.basis {
            Basis::Source(id) => sheet.knowledge.source(id).map_or(id.as_str(), |s| s.citation.as_str()),
            other => basis(other),
        };
        let body = Styled::from(&guide.name).plain(": ").strong(&guide.text).plain(note);
        text.item(2, "- ", body.muted(format!(" ({from})")));
    }
}

fn for_a_case(sheet: &Sheet, text: &mut Text) {
    let (answers, refused) = taken(sheet.knowledge, sheet.of, sheet.outcome);
    for words in &refused {
        text.item(0, Styled::new().warn("! "), words.as_str());
    }
    if answers.is_empty() {
        return;
    }
    text.subheading("For the case");
    let item = |t: &super::Taken| Styled::from(name(sheet.knowledge, &t.id)).plain(": ").strong(&t.text);
    text.flow(2, answers.iter().map(item));
}
