//! Factors, observations and readings: everything that is asked.

use super::links::{item, shown};
use super::{Sheet, chance, states};
use crate::bench;
use crate::case::of_bench;
use crate::knowledge::{
    AnswerIs, Ask, Derive, Factor, Kind, LimitWhen, Look, Observation, Reading, Shows, Side, Spread,
};
use crate::present::text::{Align, Styled, Table, minutes};

pub(super) fn factor(sheet: &mut Sheet, f: &Factor) {
    let k = sheet.k;
    sheet.title(&f.name, "factor", &f.id);
    ask(sheet, &f.ask);
    sheet.text.blank();
    sheet.text.table(0, states("prior chance", f.states.iter().map(|s| (&*s.id, &*s.label, s.prior))));
    let basis = sheet.basis(&f.basis);
    sheet.fact("Basis of these chances", basis);

    let caused = k.faults.iter().flat_map(|x| x.causes.iter().map(move |c| (x, c)));
    let caused: Vec<_> = caused.filter(|(_, c)| c.by.parent == f.id).collect();
    if !caused.is_empty() {
        sheet.text.subheading("What it brings about");
    }
    for (fault, cause) in caused {
        let state = cause.by.state.as_deref().unwrap_or_default();
        let end = Styled::new().strong(&fault.id).plain(" if ").strong(state);
        item(sheet, end, &chance(cause.strength), &cause.because, &cause.basis);
    }
    let shows = f.shows.iter().map(|s| {
        let state = s.state.as_deref().unwrap_or_default();
        (Styled::new().strong(&s.observation).plain(" if ").strong(state), s)
    });
    shown(sheet, "What it shows by itself", shows.collect());
    hangs_on(sheet, &f.id);
    phrases(sheet, f.states.iter().map(|s| (s.id.as_str(), s.phrases.as_slice())).collect());
}

pub(super) fn observation(sheet: &mut Sheet, o: &Observation) {
    let k = sheet.k;
    sheet.title(&o.name, "observation", &o.id);
    ask(sheet, &o.ask);
    sheet.fact("Group", &o.group);
    sheet.text.blank();
    sheet
        .text
        .table(0, states("with none of its causes", o.states.iter().map(|s| (&*s.id, &*s.label, s.leak))));
    let basis = sheet.basis(&o.basis);
    sheet.fact("Basis of these chances", basis);

    let faults = k.faults.iter().flat_map(|f| {
        f.shows.iter().filter(|s| s.observation == o.id).map(|s| (Styled::new().strong(&f.id), s))
    });
    let factors = k.factors.iter().flat_map(|f| {
        f.shows.iter().filter(|s| s.observation == o.id).map(|s| {
            (Styled::new().strong(&f.id).plain(" is ").strong(s.state.as_deref().unwrap_or_default()), s)
        })
    });
    let links: Vec<(Styled, &Shows)> = faults.chain(factors).collect();
    shown(sheet, "What shows itself here", links);

    let read = k.readings.iter().filter(|r| r.id != o.id && r.bands.iter().any(|b| b.observation == o.id));
    let read = read.map(|r| Styled::new().strong(&r.id).plain(": ").plain(&r.ask.question)).collect();
    sheet.list("Measured by", read);
    let seen = k.look_of(&o.id).map(|l| Styled::new().strong(&l.id).plain(": ").plain(&l.question));
    sheet.list("Seen together with others in the look", seen.into_iter().collect());
    hangs_on(sheet, &o.id);
    phrases(sheet, o.states.iter().map(|s| (s.id.as_str(), s.phrases.as_slice())).collect());
}

pub(super) fn reading(sheet: &mut Sheet, r: &Reading) {
    sheet.title(&r.name, "reading", &r.id);
    ask(sheet, &r.ask);
    sheet.fact("Plausible", format!("{} to {}", r.plausible[0].0, r.plausible[1].0));
    let spread = match r.uncertainty {
        Spread::Relative(fraction) => format!("{} % of the reading", chance(fraction * 100.0)),
        Spread::Absolute(value) => difference(r.kind, value),
    };
    sheet.fact("Scatter of a usual instrument and hand (one standard deviation)", spread);
    let derived = match &r.derive {
        Derive::Value => "the reading itself".to_string(),
        Derive::Ratio(key) => format!("the reading over the motor's nominal `{key}`"),
        Derive::Difference(key) => format!("the reading less the motor's nominal `{key}`"),
    };
    sheet.fact("What is judged", derived);
    sheet.text.blank();
    let mut table =
        Table::new(&[("observation", Align::Left), ("state", Align::Left), ("counts from", Align::Left)]);
    for band in &r.bands {
        let word = match band.side {
            Side::Above => "above",
            Side::Below => "below",
        };
        for (state, edge) in &band.edges {
            let edge = match r.derive {
                Derive::Ratio(_) => chance(*edge),
                _ => difference(r.kind, *edge),
            };
            let states = sheet.k.states(&band.observation).unwrap_or_default();
            let id = states.get(*state).map_or("", |s| s.0);
            table.row(vec![
                band.observation.as_str().into(),
                Styled::new().strong(id),
                format!("{word} {edge}").into(),
            ]);
        }
    }
    sheet.text.table(0, table);
    let basis = sheet.basis(&r.basis);
    sheet.fact("Basis of these edges", basis);
}

pub(super) fn look(sheet: &mut Sheet, l: &Look) {
    let k = sheet.k;
    sheet.title(&l.name, "look", &l.id);
    sheet.text.para(Styled::new().strong(&l.question));
    sheet.text.para(&l.how);
    sheet.fact("All of it takes", minutes(l.minutes));
    let seen = l.observations.iter().map(|id| {
        let question = k.ask(id).map_or("", |a| a.question.as_str());
        Styled::new().strong(id).plain(": ").plain(question)
    });
    sheet.list("What is seen", seen.collect());
}

/// A value of this kind with its unit.
fn difference(kind: Kind, value: f64) -> String {
    bench::write(of_bench(kind), value)
}

/// How and when a question is asked.
fn ask(sheet: &mut Sheet, ask: &Ask) {
    let k = sheet.k;
    let stage = |id: &str| k.stage_index(id).map_or(id.to_string(), |i| k.stages[i].name.clone());
    sheet.text.para(Styled::new().strong(&ask.question));
    for id in &ask.cautions {
        sheet.caution(0, id);
    }
    sheet.text.para(&ask.how);
    let until = match &ask.last_stage {
        Some(last) if *last == ask.stage => " only".to_string(),
        Some(last) => format!(", until: {}", stage(last)),
        None => String::new(),
    };
    sheet.fact("Where", format!("{}{until} · {}", stage(&ask.stage), minutes(ask.minutes)));
    sheet.fact("It risks", &ask.risk);
    if let Some(when) = &ask.ask_when {
        sheet.fact("Asked only when", answered(when));
    }
    for forbid in &ask.not_when {
        sheet.fact("Not when", answered(&forbid.when).plain(". ").plain(&forbid.reason));
    }
}

/// "id is this or that".
pub(super) fn answered(when: &AnswerIs) -> Styled {
    Styled::new().strong(&when.answer).plain(" is ").plain(when.states.join(" or "))
}

/// What may not be done, or is only asked, because of an answer to this question.
fn hangs_on(sheet: &mut Sheet, id: &str) {
    let k = sheet.k;
    let mut items = Vec::new();
    let asks = (k.factors.iter().map(|f| (&f.id, &f.ask)))
        .chain(k.observations.iter().map(|o| (&o.id, &o.ask)))
        .chain(k.readings.iter().map(|r| (&r.id, &r.ask)));
    for (other, ask) in asks {
        if let Some(when) = ask.ask_when.as_ref().filter(|w| w.answer == id) {
            items.push(
                Styled::new()
                    .strong(other)
                    .plain(" is asked only when it is ")
                    .plain(when.states.join(" or ")),
            );
        }
        for forbid in ask.not_when.iter().filter(|f| f.when.answer == id) {
            let states = forbid.when.states.join(" or ");
            items.push(
                Styled::new()
                    .strong(other)
                    .plain(format!(" is not asked when it is {states}: "))
                    .plain(&forbid.reason),
            );
        }
    }
    for stage in &k.stages {
        for forbid in stage.not_when.iter().filter(|f| f.when.answer == id) {
            let states = forbid.when.states.join(" or ");
            let stage = Styled::from("the stage ").strong(&stage.id);
            items.push(stage.plain(format!(" is not entered when it is {states}: ")).plain(&forbid.reason));
        }
    }
    for scope in &k.scopes {
        for limit in &scope.blocked_when {
            if let LimitWhen::Answer(when) = &limit.when
                && when.answer == id
            {
                let states = when.states.join(" or ");
                let scope = Styled::from("the scope ").strong(&scope.id);
                items.push(scope.plain(format!(" is blocked when it is {states}: ")).plain(&limit.reason));
            }
        }
    }
    sheet.list("What hangs on it", items);
}

/// What owners say, by state.
fn phrases(sheet: &mut Sheet, states: Vec<(&str, &[String])>) {
    let said = states.into_iter().filter(|(_, phrases)| !phrases.is_empty());
    let said = said.map(|(state, phrases)| Styled::new().strong(state).plain(": ").plain(phrases.join("; ")));
    sheet.list("What owners say", said.collect());
}
