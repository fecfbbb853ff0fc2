//! Scopes, cautions, motors, stages and sources.

use super::questions::answered;
use super::{Sheet, chance};
use crate::knowledge::{Basis, Caution, LimitWhen, Measurement, Motor, Scope, Source, Stage};
use crate::present::text::{Align, Styled, Table, minutes, money};

pub(super) fn scope(sheet: &mut Sheet, s: &Scope) {
    let k = sheet.k;
    sheet.title(&s.name, "scope", &s.id);
    sheet.text.para(&s.summary);
    sheet.fact("Tell the owner", &s.customer);
    let basis = sheet.basis(&s.basis);
    sheet.fact("Basis", basis);
    let named = |ids: &[String]| {
        let name = |id: &str| {
            k.repair(id).map_or(String::new(), |r| format!(": {}, {}", r.name, minutes(r.minutes)))
        };
        ids.iter().map(|id| Styled::new().strong(id).plain(name(id))).collect::<Vec<_>>()
    };
    sheet.list("Always done", named(&s.always));
    sheet.list("Done when one of their faults is there", named(&s.as_needed));
    let limits = s.blocked_when.iter().map(|limit| {
        let when = match &limit.when {
            LimitWhen::Rebuildable(true) => Styled::from("the motor is rebuildable"),
            LimitWhen::Rebuildable(false) => Styled::from("the motor is not rebuildable"),
            LimitWhen::FaultAbove(id, p) => {
                Styled::new().strong(id).plain(format!(" is more likely than {}", chance(*p)))
            }
            LimitWhen::Answer(when) => answered(when),
        };
        when.plain(". ").plain(&limit.reason)
    });
    sheet.list("Blocked when", limits.collect());
}

pub(super) fn caution(sheet: &mut Sheet, c: &Caution) {
    let k = sheet.k;
    sheet.title(&c.name, "caution", &c.id);
    sheet.text.caution(0, c.text.as_str());
    let basis = sheet.basis(&c.basis);
    sheet.fact("Basis", basis);
    let mut uses = Vec::new();
    for stage in k.stages.iter().filter(|s| s.calls_for.contains(&c.id)) {
        uses.push(Styled::from("every repair at the stage ").strong(&stage.id));
    }
    let asks = (k.factors.iter().map(|f| (&f.id, &f.ask)))
        .chain(k.observations.iter().map(|o| (&o.id, &o.ask)))
        .chain(k.readings.iter().map(|r| (&r.id, &r.ask)));
    for (id, _) in asks.filter(|(_, ask)| ask.cautions.contains(&c.id)) {
        uses.push(Styled::from("the question ").strong(id));
    }
    let undoes =
        |s: &&Stage| s.closed_by.iter().flat_map(|x| &x.steps).any(|step| step.cautions.contains(&c.id));
    for stage in k.stages.iter().filter(undoes) {
        uses.push(Styled::from("undoing the stage ").strong(&stage.id));
    }
    for repair in &k.repairs {
        let steps = repair.steps.iter().enumerate().filter(|(_, s)| s.cautions.contains(&c.id));
        let steps: Vec<String> = steps.map(|(i, _)| (i + 1).to_string()).collect();
        if !steps.is_empty() {
            let word = if steps.len() == 1 { "step" } else { "steps" };
            uses.push(Styled::new().strong(&repair.id).plain(format!(", {word} {}", steps.join(", "))));
        }
    }
    sheet.list("Given before", uses);
}

pub(super) fn motor(sheet: &mut Sheet, m: &Motor) {
    sheet.title(&m.name, "motor", &m.id);
    sheet.text.para(&m.summary);
    sheet.fact("Can", &m.can);
    sheet.fact("Made to be taken apart", if m.rebuildable { "yes" } else { "no" });
    sheet.fact("Slots", m.slots.to_string());
    sheet.fact("Another one costs", money(m.replace_cost));
    sheet.text.blank();
    let mut table = Table::new(&[("nominal", Align::Left), ("value", Align::Right)]);
    for (key, value) in &m.nominal {
        table.row(vec![key.into(), Styled::new().strong(value)]);
    }
    sheet.text.table(0, table);
    let basis = sheet.basis(&m.basis);
    sheet.fact("Basis of these data", basis);
}

pub(super) fn measurement(sheet: &mut Sheet, m: &Measurement) {
    sheet.title(&m.name, "bench measurement", &m.id);
    for id in &m.cautions {
        sheet.caution(0, id);
    }
    sheet.text.para(&m.summary);
    let ask = |i: &crate::knowledge::Input| {
        let how = if i.how.is_empty() { String::new() } else { format!(" {}", i.how) };
        Styled::new().strong(format!("--{}", i.id)).plain(format!(": {}{how}", i.question))
    };
    sheet.list("What it takes", m.inputs.iter().map(ask).collect());
    let limits = m.limits.iter().map(|g| {
        let basis = sheet.basis(&g.basis);
        let note = if g.note.is_empty() { String::new() } else { format!(" {}", g.note) };
        Styled::new().strong(&g.text).plain(format!(": {} ({basis}).{note}", g.name))
    });
    let limits = limits.collect();
    sheet.list("Limits and usual values", limits);
    let results = m.results.iter().filter_map(|r| Some((r.reading.as_deref()?, &r.figure)));
    let results = results.map(|(id, figure)| Styled::new().strong(id).muted(format!(" · {figure}")));
    sheet.list("Readings of a case that it gives", results.collect());
    let findings = m.findings.iter().map(|f| Styled::new().strong(&f.word).plain(": ").plain(&f.says));
    sheet.list("What it may find", findings.collect());
}

pub(super) fn stage(sheet: &mut Sheet, s: &Stage) {
    let k = sheet.k;
    sheet.title(&s.name, "stage", &s.id);
    for id in &s.calls_for {
        sheet.caution(0, id);
    }
    sheet.text.para(&s.reached_by);
    sheet.fact("Time from the stage before", minutes(s.minutes));
    sheet.fact("Lost on entering it", &s.destroys);
    sheet.fact("May be passed over", if s.skippable { "yes" } else { "no" });
    sheet.fact("Takes the motor apart", if s.opens { "yes" } else { "no" });
    for forbid in &s.not_when {
        sheet.fact("Not entered when", answered(&forbid.when).plain(". ").plain(&forbid.reason));
    }
    sheet.list("Written down first", s.record_first.iter().map(Styled::from).collect());
    if let Some(closing) = &s.closed_by {
        sheet.text.subheading(format!("Undone by: {} ({})", closing.name, minutes(s.minutes_back)));
        for step in &closing.steps {
            step.cautions.iter().for_each(|id| sheet.caution(2, id));
            sheet.text.item(2, "- ", step.action.as_str());
        }
    }
    let asked = (k.factors.iter().map(|f| (&f.id, &f.ask)))
        .chain(k.observations.iter().map(|o| (&o.id, &o.ask)))
        .filter(|(_, ask)| ask.stage == s.id)
        .map(|(id, ask)| Styled::new().strong(id).plain(": ").plain(&ask.question));
    sheet.list("Asked from here on", asked.collect());
    let done = k.repairs.iter().filter(|r| r.stage == s.id);
    let done = done.map(|r| Styled::new().strong(&r.id).plain(": ").plain(&r.name));
    sheet.list("Repaired here", done.collect());
}

pub(super) fn source(sheet: &mut Sheet, s: &Source) {
    let k = sheet.k;
    sheet.text.heading(Styled::from("Source ").muted(&s.id));
    sheet.text.para(&s.citation);
    sheet.fact("To mind", &s.note);
    let is = |basis: &Basis| *basis == Basis::Source(s.id.clone());
    let mut uses = Vec::new();
    for f in &k.faults {
        let own =
            is(&f.basis) || f.causes.iter().any(|c| is(&c.basis)) || f.shows.iter().any(|x| is(&x.basis));
        if own {
            uses.push(Styled::from("fault ").strong(&f.id));
        }
    }
    let plain = (k.factors.iter().map(|x| ("factor", &x.id, &x.basis)))
        .chain(k.observations.iter().map(|x| ("observation", &x.id, &x.basis)))
        .chain(k.readings.iter().map(|x| ("reading", &x.id, &x.basis)))
        .chain(k.cautions.iter().map(|x| ("caution", &x.id, &x.basis)))
        .chain(k.repairs.iter().map(|x| ("repair", &x.id, &x.basis)))
        .chain(k.scopes.iter().map(|x| ("scope", &x.id, &x.basis)))
        .chain(k.motors.iter().map(|x| ("motor", &x.id, &x.basis)));
    for (kind, id, _) in plain.filter(|(_, _, basis)| is(basis)) {
        uses.push(Styled::from(kind).plain(" ").strong(id));
    }
    sheet.list("What rests on it", uses);
}
