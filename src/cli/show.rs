//! Entries of the knowledge in full, for people: what belongs to what, and where each number comes from.

mod links;
mod questions;
pub mod repair;
mod work;

use std::collections::BTreeSet;

use crate::knowledge::{Basis, Entry, Knowledge};
use crate::present::text::{Align, Styled, Table, Text};

/// Everything about an entry; nothing when no entry has this id.
///
/// Numbers stand as they are in the knowledge: chances from 0 to 1, each with its basis.
pub fn entry(k: &Knowledge, id: &str) -> Option<Text> {
    let mut sheet = Sheet::new(k);
    match k.entry(id)? {
        Entry::Factor(x) => questions::factor(&mut sheet, x),
        Entry::Fault(x) => links::fault(&mut sheet, x),
        Entry::Observation(x) => questions::observation(&mut sheet, x),
        Entry::Reading(x) => questions::reading(&mut sheet, x),
        Entry::Repair(x) => repair::full(&mut sheet, x),
        Entry::Scope(x) => work::scope(&mut sheet, x),
        Entry::Caution(x) => work::caution(&mut sheet, x),
        Entry::Motor(x) => work::motor(&mut sheet, x),
        Entry::Stage(x) => work::stage(&mut sheet, x),
        Entry::Source(x) => work::source(&mut sheet, x),
        Entry::Measurement(x) => work::measurement(&mut sheet, x),
        Entry::Look(x) => questions::look(&mut sheet, x),
    }
    // A reading may have the id of the observation that it answers.
    if let (Some(reading), false) = (k.reading(id), matches!(k.entry(id), Some(Entry::Reading(_)))) {
        sheet.text.blank();
        questions::reading(&mut sheet, reading);
    }
    Some(sheet.finish())
}

/// A text under construction, and the published sources that its numbers rest on.
struct Sheet<'k> {
    k: &'k Knowledge,
    text: Text,
    sources: BTreeSet<String>,
    cautions: BTreeSet<String>,
}

impl<'k> Sheet<'k> {
    fn new(k: &'k Knowledge) -> Self {
        Sheet { k, text: Text::new(), sources: BTreeSet::new(), cautions: BTreeSet::new() }
    }

    fn title(&mut self, name: &str, kind: &str, id: &str) {
        self.text.heading(Styled::new().title(name).muted(" · ").muted(kind).muted(" ").muted(id));
    }

    /// A fact with its label, unless there is nothing to tell.
    fn fact(&mut self, label: &str, fact: impl Into<Styled>) {
        let fact = fact.into();
        if !fact.is_empty() {
            self.text.item(0, Styled::new().muted(label).plain(": "), fact);
        }
    }

    /// A list with its title, unless it is empty.
    fn list(&mut self, title: &str, items: Vec<Styled>) {
        if !items.is_empty() {
            self.text.subheading(title);
        }
        for item in items {
            self.text.item(2, "- ", item);
        }
    }

    /// A caution, before what it is about: in full the first time, by its name from then on.
    fn caution(&mut self, indent: usize, id: &str) {
        if let Some(caution) = self.k.caution(id) {
            let name = Styled::new().strong(&caution.name);
            let said = match self.cautions.insert(caution.id.clone()) {
                true => name.plain(". ").plain(&caution.text),
                false => name.plain(", as said above."),
            };
            self.text.caution(indent, said);
        }
    }

    /// Where a number comes from; a published source is cited at the end of the sheet.
    fn basis(&mut self, basis: &Basis) -> String {
        match basis {
            Basis::Source(id) => {
                self.sources.insert(id.clone());
                format!("[{id}]")
            }
            Basis::CommonPractice => "common practice".into(),
            Basis::FromMemory => "from memory".into(),
            Basis::Judgement => "judgement".into(),
            Basis::Measured => "measured".into(),
        }
    }

    fn finish(mut self) -> Text {
        let cited = std::mem::take(&mut self.sources);
        if !cited.is_empty() {
            self.text.subheading("Sources");
        }
        for id in cited {
            let Some(source) = self.k.source(&id) else { continue };
            self.text.item(2, Styled::new().muted(format!("[{id}] ")), &source.citation);
            if !source.note.is_empty() {
                self.text.item(4, "", Styled::new().muted(&source.note));
            }
        }
        self.text
    }
}

/// A chance as it stands in the knowledge: from 0 to 1.
fn chance(p: f64) -> String {
    // A remainder such as 1 - 0.82 - 0.14 carries a rounding error that nobody wrote.
    let rounded = (p * 1e9).round() / 1e9;
    format!("{rounded}")
}

/// States and their chances as a table, normal or mildest first.
fn states<'a>(head: &str, rows: impl IntoIterator<Item = (&'a str, &'a str, f64)>) -> Table {
    let mut table =
        Table::new(&[("state", Align::Left), ("as the person reads it", Align::Left), (head, Align::Right)]);
    for (id, label, p) in rows {
        table.row(vec![Styled::new().strong(id), label.into(), chance(p).into()]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::chance;

    #[test]
    fn chances_stand_as_they_were_written() {
        assert_eq!(chance(0.35), "0.35");
        assert_eq!(chance(1.0 - 0.82 - 0.14), "0.04");
        assert_eq!(chance(1.0), "1");
        assert_eq!(chance(0.0), "0");
        assert_eq!(chance(0.0005), "0.0005");
    }
}
