//! Faults, and the links between causes and what they show.

use super::{Sheet, chance};
use crate::knowledge::{Basis, Fault, LimitWhen, Observation, ParentRef, Shows};
use crate::present::text::Styled;

pub(super) fn fault(sheet: &mut Sheet, f: &Fault) {
    let k = sheet.k;
    sheet.title(&f.name, "fault", &f.id);
    sheet.text.para(&f.summary);
    sheet.fact("Tell the owner", &f.customer);
    sheet.fact("Group", &f.group);

    sheet.text.subheading("What brings it about");
    let basis = sheet.basis(&f.basis);
    let alone = Styled::from("none of these: ").strong(chance(f.leak)).muted(format!(" · {basis}"));
    for cause in &f.causes {
        item(sheet, parent(&cause.by), &chance(cause.strength), &cause.because, &cause.basis);
    }
    sheet.text.item(2, "- ", alone);

    let shows = f.shows.iter().map(|s| (Styled::new().strong(&s.observation), s)).collect();
    shown(sheet, "What it shows", shows);

    let led = k.faults.iter().flat_map(|other| other.causes.iter().map(move |c| (other, c)));
    let led: Vec<_> = led.filter(|(_, c)| c.by.parent == f.id).collect();
    if !led.is_empty() {
        sheet.text.subheading("What it brings about in turn");
    }
    for (other, cause) in led {
        item(sheet, Styled::new().strong(&other.id), &chance(cause.strength), &cause.because, &cause.basis);
    }

    let removed: Vec<_> = k
        .repairs
        .iter()
        .flat_map(|r| r.removes.iter().map(move |x| (r, x)))
        .filter(|(_, x)| x.fault == f.id)
        .collect();
    if !removed.is_empty() {
        sheet.text.subheading("What removes it, and how surely");
    }
    for (repair, removes) in removed {
        item(
            sheet,
            Styled::new().strong(&repair.id),
            &chance(removes.sureness),
            &repair.name,
            &removes.basis,
        );
    }

    let blocked = k.scopes.iter().flat_map(|s| s.blocked_when.iter().map(move |l| (s, l)));
    let blocked = blocked
        .filter_map(|(scope, limit)| match &limit.when {
            LimitWhen::FaultAbove(id, p) if *id == f.id => Some(
                Styled::new()
                    .strong(&scope.id)
                    .plain(format!(" above {}: ", chance(*p)))
                    .plain(&limit.reason),
            ),
            _ => None,
        })
        .collect();
    sheet.list("Scopes that it blocks", blocked);
}

/// A cause as an id, with the state that causes where it is a factor.
pub(super) fn parent(by: &ParentRef) -> Styled {
    let id = Styled::new().strong(&by.parent);
    match &by.state {
        Some(state) => id.plain(" is ").strong(state),
        None => id,
    }
}

/// A link: its other end, its number, its basis, and below it why it is so.
pub(super) fn item(sheet: &mut Sheet, end: Styled, number: &str, because: &str, basis: &Basis) {
    let basis = sheet.basis(basis);
    sheet.text.item(2, "- ", end.plain(": ").plain(number).muted(format!(" · {basis}")));
    if !because.is_empty() {
        sheet.text.item(4, "", Styled::new().muted(because));
    }
}

/// Links to or from observations; the end that is named is given with each.
pub(super) fn shown(sheet: &mut Sheet, title: &str, links: Vec<(Styled, &Shows)>) {
    if !links.is_empty() {
        sheet.text.subheading(title);
    }
    for (end, link) in links {
        let number = match sheet.k.observation(&link.observation) {
            Some(observation) => effect(observation, &link.effect),
            None => String::new(),
        };
        item(sheet, end, &number, &link.because, &link.basis);
    }
}

/// The chance of each abnormal state that can come of it.
fn effect(observation: &Observation, effect: &[f64]) -> String {
    let abnormal = observation.states.iter().zip(effect).skip(1).filter(|(_, p)| **p > 0.0);
    let parts: Vec<String> = abnormal.map(|(s, p)| format!("{} {}", s.id, chance(*p))).collect();
    if parts.is_empty() { "nothing out of the ordinary".into() } else { parts.join(", ") }
}
