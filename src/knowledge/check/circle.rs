//! Faults that cause each other in a circle.

use std::collections::HashMap;

use super::Context;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::model::Knowledge;
use crate::knowledge::places::quoted;
use crate::knowledge::source::Trail;

impl Context<'_> {
    /// Names circles until every fault that is left stands on none; each is found once.
    pub fn circles(&mut self, knowledge: &Knowledge) {
        let draft = self.draft;
        let number: HashMap<&str, usize> =
            knowledge.faults.iter().enumerate().map(|(i, f)| (f.id.as_str(), i)).collect();
        // For each fault its causes that are faults: fault, and place in the list of causes.
        let parents: Vec<Vec<(usize, usize)>> = (knowledge.faults.iter())
            .map(|f| {
                let causes = f.causes.iter().enumerate();
                causes.filter_map(|(i, c)| Some((*number.get(c.by.parent.as_str())?, i))).collect()
            })
            .collect();
        for circle in circles(&parents) {
            let names: Vec<String> = circle
                .iter()
                .chain(circle.first())
                .map(|(fault, _)| quoted(&knowledge.faults[*fault].id))
                .collect();
            let mut places = circle.iter().map(|(fault, cause)| {
                let entry = Trail::Entry(draft.faults.entries[*fault].at);
                let list = entry.key("causes");
                let link = list.item(*cause);
                self.docs.place(&link.key("parent"))
            });
            let Some(first) = places.next() else { continue };
            let message =
                format!("these faults cause each other in a circle: {}", names.join(", caused by "));
            let mut found = crate::knowledge::Diagnostic::new(Code::Circle, first, message)
                .help("Take away the weakest of these links.");
            for place in places {
                found = found.related(place, "and this");
            }
            self.sink.push(found);
        }
    }
}

/// Circles of (node, which of its links leads on); no two share a node, and without their nodes nothing
/// that is left is a circle. Time grows with nodes and links.
fn circles(parents: &[Vec<(usize, usize)>]) -> Vec<Vec<(usize, usize)>> {
    const NEW: u8 = 0;
    const OPEN: u8 = 1;
    const DONE: u8 = 2;
    let mut state = vec![NEW; parents.len()];
    let mut found = Vec::new();
    for start in 0..parents.len() {
        if state[start] != NEW {
            continue;
        }
        // The way down from the start: each node with the number of links of it that were followed.
        let mut way: Vec<(usize, usize)> = vec![(start, 0)];
        state[start] = OPEN;
        while let Some((node, next)) = way.last_mut() {
            let Some(&(parent, _)) = parents[*node].get(*next) else {
                state[*node] = DONE;
                way.pop();
                continue;
            };
            *next += 1;
            match state[parent] {
                NEW => {
                    state[parent] = OPEN;
                    way.push((parent, 0));
                }
                OPEN => {
                    let from = way.iter().position(|(n, _)| *n == parent).unwrap_or(0);
                    let circle = way[from..].iter().map(|(n, next)| (*n, parents[*n][next - 1].1)).collect();
                    found.push(circle);
                    // One circle is named for all that run through these nodes.
                    for (n, _) in way.drain(from..) {
                        state[n] = DONE;
                    }
                }
                _ => {}
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::circles;

    fn graph(links: &[&[usize]]) -> Vec<Vec<(usize, usize)>> {
        links.iter().map(|l| l.iter().enumerate().map(|(i, p)| (*p, i)).collect()).collect()
    }

    #[test]
    fn a_tree_has_none() {
        assert!(circles(&graph(&[&[1, 2], &[2], &[]])).is_empty());
    }

    #[test]
    fn each_circle_is_named_in_order() {
        assert_eq!(circles(&graph(&[&[1], &[2], &[0], &[3]])), [vec![(0, 0), (1, 0), (2, 0)], vec![(3, 0)]]);
    }

    #[test]
    fn a_long_chain_needs_no_deep_stack() {
        let n = 200_000;
        let chain: Vec<Vec<(usize, usize)>> = (0..n).map(|i| vec![((i + 1) % n, 0)]).collect();
        assert_eq!(circles(&chain)[0].len(), n);
    }
}
