//! Pairs of faults that no observation can tell apart.

use std::collections::HashMap;

use super::Context;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::model::{Fault, Knowledge};
use crate::knowledge::places::quoted;
use crate::knowledge::source::Trail;

/// Effects that differ by less in every state of every observation leave two faults alike.
const DIFFER: f64 = 0.1;

/// What a fault shows: number of the observation and effect, in the order of the numbers.
type Signature<'k> = Vec<(usize, &'k [f64])>;

impl Context<'_> {
    /// An error if the two faults want different repairs; a warning if every repair that removes the one
    /// removes the other, since then nothing hangs on the difference.
    pub fn alike(&mut self, knowledge: &Knowledge) {
        let draft = self.draft;
        let number: HashMap<&str, usize> =
            knowledge.observations.iter().enumerate().map(|(i, o)| (o.id.as_str(), i)).collect();
        let signatures: Vec<Signature> = knowledge.faults.iter().map(|f| signature(f, &number)).collect();
        for (i, first) in signatures.iter().enumerate() {
            for (j, second) in signatures.iter().enumerate().skip(i + 1) {
                if first.is_empty() || second.is_empty() || differ(first, second) {
                    continue;
                }
                if self.sink.is_full() {
                    return;
                }
                let (a, b) = (&knowledge.faults[i].id, &knowledge.faults[j].id);
                let shared: Vec<String> = (first.iter())
                    .filter(|(o, _)| second.iter().any(|(other, _)| other == o))
                    .map(|(o, _)| quoted(&knowledge.observations[*o].id))
                    .collect();
                let shared = if shared.is_empty() {
                    "both show themselves hardly at all".to_owned()
                } else {
                    format!("both show themselves alike in {}", shared.join(", "))
                };
                let message =
                    format!("no observation can tell {} and {} apart; {shared}", quoted(a), quoted(b));
                let place = |n: usize| self.docs.place(&Trail::Entry(draft.faults.entries[n].at).key("id"));
                let mut found = self
                    .found(Code::Alike, &Trail::Entry(draft.faults.entries[j].at).key("id"), message)
                    .related(place(i), "the other fault")
                    .help("Add an observation that one of them shows by 0.1 more than the other.");
                if same_repairs(knowledge, a, b) {
                    found = found.warning();
                }
                self.sink.push(found);
            }
        }
    }
}

fn signature<'k>(fault: &'k Fault, number: &HashMap<&str, usize>) -> Signature<'k> {
    let mut signature: Signature = (fault.shows.iter())
        .filter(|s| !s.effect.is_empty())
        .filter_map(|s| Some((*number.get(s.observation.as_str())?, s.effect.as_slice())))
        .collect();
    signature.sort_by_key(|(o, _)| *o);
    signature
}

fn differ(a: &Signature, b: &Signature) -> bool {
    let (mut a, mut b) = (a.iter().peekable(), b.iter().peekable());
    loop {
        let far = match (a.peek(), b.peek()) {
            (None, None) => return false,
            (Some((i, x)), Some((j, y))) if i == j => {
                let far = x.iter().zip(*y).any(|(x, y)| apart(*x, *y));
                a.next();
                b.next();
                far
            }
            (Some((i, x)), other) if other.is_none_or(|(j, _)| i < j) => {
                a.next();
                shown(x)
            }
            (_, Some((_, y))) => {
                b.next();
                shown(y)
            }
            (Some((_, x)), None) => {
                a.next();
                shown(x)
            }
        };
        if far {
            return true;
        }
    }
}

/// Whether an effect is far from that of a fault that does not show itself there.
fn shown(effect: &[f64]) -> bool {
    effect.first().is_some_and(|normal| apart(*normal, 1.0)) || effect.iter().skip(1).any(|p| apart(*p, 0.0))
}

fn apart(x: f64, y: f64) -> bool {
    // Decimals such as 0.8 - 0.7 come out a little below a tenth.
    (x - y).abs() >= DIFFER - 1e-9
}

fn same_repairs(knowledge: &Knowledge, a: &str, b: &str) -> bool {
    knowledge.repairs.iter().all(|repair| {
        let removes = |fault| repair.removes.iter().any(|r| r.fault == fault);
        removes(a) == removes(b)
    })
}
