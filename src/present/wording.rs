//! Words for the nodes and links of the network, as pictures use them.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::knowledge::{Basis, Knowledge, LimitWhen};
use crate::network::{DecisionNetwork, Link, NodeKind};

/// The verbal scale for chances (Renooij & Witteman 1999).
const SCALE: [(f64, &str); 7] = [
    (1.00, "certain"),
    (0.85, "probable"),
    (0.75, "expected"),
    (0.50, "fifty-fifty"),
    (0.25, "uncertain"),
    (0.15, "improbable"),
    (0.00, "impossible"),
];

/// The word of the verbal scale that lies nearest; but only 0 is impossible, and only 1 is certain.
pub(super) fn chance_word(p: f64) -> &'static str {
    let near = SCALE.iter().filter(|(at, _)| (*at != 0.0 && *at != 1.0) || *at == p);
    near.min_by(|a, b| (a.0 - p).abs().total_cmp(&(b.0 - p).abs())).map_or("", |x| x.1)
}

/// A space at which no line is broken.
const NO_BREAK: char = '\u{a0}';

/// A chance in percent; below 1 % with one significant digit, so that a rare thing does not read as 0. The
/// sign stays with the number where lines are broken.
pub(super) fn percent(p: f64) -> String {
    let x = 100.0 * p;
    if x == 0.0 || x >= 0.95 {
        return format!("{x:.0}{NO_BREAK}%");
    }
    let digits = (-x.log10()).ceil().clamp(1.0, 9.0) as usize;
    format!("{x:.digits$}{NO_BREAK}%")
}

/// An id as words.
pub(super) fn words(id: &str) -> String {
    id.replace('-', " ")
}

/// An id as words with a capital.
pub(super) fn heading(id: &str) -> String {
    let words = words(id);
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Everything a picture says of the network in words.
#[derive(Clone, Copy)]
pub(super) struct Wording<'a> {
    pub k: &'a Knowledge,
    pub net: &'a DecisionNetwork,
}

impl<'a> Wording<'a> {
    /// The name of a node.
    pub fn name(&self, n: NodeIndex) -> &'a str {
        let node = &self.net.graph()[n];
        let k = self.k;
        let name = match node.kind {
            NodeKind::Factor => k.factors.get(node.index).map(|x| &x.name),
            NodeKind::Fault => k.faults.get(node.index).map(|x| &x.name),
            NodeKind::Observation => k.observations.get(node.index).map(|x| &x.name),
            NodeKind::Repair => k.repairs.get(node.index).map(|x| &x.name),
            NodeKind::Scope => k.scopes.get(node.index).map(|x| &x.name),
            NodeKind::Caution => k.cautions.get(node.index).map(|x| &x.name),
        };
        name.map_or("", |n| n)
    }

    /// What a node is, in a sentence or two.
    pub fn summary(&self, n: NodeIndex) -> &'a str {
        let node = &self.net.graph()[n];
        let k = self.k;
        let text = match node.kind {
            NodeKind::Factor => k.factors.get(node.index).map(|x| &x.ask.question),
            NodeKind::Fault => k.faults.get(node.index).map(|x| &x.summary),
            NodeKind::Observation => k.observations.get(node.index).map(|x| &x.ask.question),
            NodeKind::Repair => k.repairs.get(node.index).and_then(|x| x.steps.first()).map(|s| &s.action),
            NodeKind::Scope => k.scopes.get(node.index).map(|x| &x.summary),
            NodeKind::Caution => k.cautions.get(node.index).map(|x| &x.text),
        };
        text.map_or("", |t| t)
    }

    /// The group that a fault or an observation is listed under.
    pub fn group(&self, n: NodeIndex) -> &'a str {
        let node = &self.net.graph()[n];
        let group = match node.kind {
            NodeKind::Fault => self.k.faults.get(node.index).map(|x| &x.group),
            NodeKind::Observation => self.k.observations.get(node.index).map(|x| &x.group),
            _ => None,
        };
        group.map_or("", |g| g)
    }

    /// What a link says, in a few words: `if submerged: 35 %`, `low 60 %, very low 20 %`.
    pub fn label(&self, link: EdgeIndex) -> String {
        let graph = self.net.graph();
        let Some((from, to)) = graph.edge_endpoints(link) else { return String::new() };
        let given = |state: &Option<usize>| match state.and_then(|s| self.state(from, s)) {
            Some(s) => format!("if {}: ", words(s)),
            None => String::new(),
        };
        match &graph[link] {
            Link::Causes { state, strength } => format!("{}{}", given(state), percent(*strength)),
            Link::Shows { state, effect } => {
                let shown = effect.iter().enumerate().skip(1).filter(|(_, p)| **p > 0.0);
                let shown: Vec<String> = shown
                    .map(|(s, p)| {
                        let state = self.state(to, s).unwrap_or_default();
                        format!("{state}-{}", percent(*p)).replace('-', &NO_BREAK.to_string())
                    })
                    .collect();
                let shown = if shown.is_empty() { "as normal".to_owned() } else { shown.join(", ") };
                format!("{}{shown}", given(state))
            }
            Link::RemovedBy { sureness } => format!("removes it: {}", percent(*sureness)),
            Link::BelongsTo { always } => (if *always { "always" } else { "as needed" }).to_owned(),
            Link::CallsFor { step: Some(step) } => format!("before step {}", step + 1),
            Link::CallsFor { step: None } => "before the test".to_owned(),
            Link::Blocks { limit } => self.limit(to, *limit),
        }
    }

    /// The label, with the word of the verbal scale where there is a single chance.
    pub fn label_in_words(&self, link: EdgeIndex) -> String {
        let label = self.label(link);
        match &self.net.graph()[link] {
            Link::Causes { strength, .. } => format!("{label} ({})", chance_word(*strength)),
            Link::RemovedBy { sureness } => format!("{label} ({})", chance_word(*sureness)),
            _ => label,
        }
    }

    /// A link as one sentence.
    pub fn clause(&self, link: EdgeIndex) -> String {
        let graph = self.net.graph();
        let Some((from, to)) = graph.edge_endpoints(link) else { return String::new() };
        let verb = match &graph[link] {
            Link::Causes { .. } => "brings on",
            Link::Shows { .. } => "shows itself in",
            Link::RemovedBy { .. } => "is removed by",
            Link::BelongsTo { .. } => "belongs to",
            Link::CallsFor { .. } => "calls for",
            Link::Blocks { .. } => "blocks",
        };
        let label = match &graph[link] {
            Link::RemovedBy { sureness } => format!("{} ({})", percent(*sureness), chance_word(*sureness)),
            _ => self.label_in_words(link),
        };
        format!("{} {verb} {}: {label}.", self.name(from), self.name(to))
    }

    /// A link in full: the sentence, why it is so, and where its numbers come from.
    pub fn sentence(&self, link: EdgeIndex) -> String {
        let mut text = self.clause(link);
        let (because, basis) = self.reason(link);
        if !because.is_empty() {
            text.push(' ');
            text.push_str(because);
        }
        if let Some(basis) = basis {
            text.push_str(&format!(" Basis: {}.", basis_word(basis)));
        }
        text
    }

    /// The numbers of a node itself, a line each.
    pub fn about(&self, n: NodeIndex) -> Vec<String> {
        let node = &self.net.graph()[n];
        let k = self.k;
        let stage =
            |id: &str| k.stages.iter().find(|s| s.id == id).map_or_else(|| words(id), |s| s.name.clone());
        let asked = |stage_id: &str, minutes: f64| format!("{}, {minutes} min", stage(stage_id));
        match node.kind {
            NodeKind::Factor => k.factors.get(node.index).map(|f| {
                f.states.iter().map(|s| format!("{}: {}", words(&s.id), percent(s.prior))).collect()
            }),
            NodeKind::Fault => k
                .faults
                .get(node.index)
                .map(|f| vec![heading(&f.group), format!("without any of its causes: {}", percent(f.leak))]),
            NodeKind::Observation => k.observations.get(node.index).map(|o| {
                let states: Vec<String> = o.states.iter().map(|s| words(&s.id)).collect();
                let shows: f64 = o.states.iter().skip(1).map(|s| s.leak).sum();
                vec![
                    states.join(" \u{2192} "),
                    format!("without any of its causes: {}", percent(shows)),
                    asked(&o.ask.stage, o.ask.minutes),
                ]
            }),
            NodeKind::Repair => k.repairs.get(node.index).map(|r| vec![asked(&r.stage, r.minutes)]),
            NodeKind::Scope | NodeKind::Caution => None,
        }
        .unwrap_or_default()
    }

    /// The id of a state of a factor or an observation.
    fn state(&self, n: NodeIndex, state: usize) -> Option<&'a str> {
        let node = &self.net.graph()[n];
        match node.kind {
            NodeKind::Factor => self.k.factors.get(node.index)?.states.get(state).map(|s| &*s.id),
            NodeKind::Observation => self.k.observations.get(node.index)?.states.get(state).map(|s| &*s.id),
            _ => None,
        }
    }

    fn limit(&self, scope: NodeIndex, limit: usize) -> String {
        let scope = self.k.scopes.get(self.net.graph()[scope].index);
        match scope.and_then(|s| s.blocked_when.get(limit)).map(|l| &l.when) {
            Some(LimitWhen::FaultAbove(_, p)) => format!("blocks above {}", percent(*p)),
            Some(LimitWhen::Answer(a)) => {
                format!("blocks if {}", a.states.iter().map(|s| words(s)).collect::<Vec<_>>().join(" or "))
            }
            _ => "blocks".to_owned(),
        }
    }

    /// Why a link is there and where its numbers come from.
    fn reason(&self, link: EdgeIndex) -> (&'a str, Option<&'a Basis>) {
        let graph = self.net.graph();
        let Some((from, to)) = graph.edge_endpoints(link) else { return ("", None) };
        let (from, to) = (&graph[from], &graph[to]);
        let k = self.k;
        match &graph[link] {
            Link::Causes { state, .. } => {
                let state = state.and_then(|s| k.factors.get(from.index)?.states.get(s)).map(|s| &*s.id);
                let causes = k.faults.get(to.index).map_or(&[][..], |f| &f.causes);
                let cause = causes.iter().find(|c| c.by.parent == from.id && c.by.state.as_deref() == state);
                cause.map_or(("", None), |c| (&*c.because, Some(&c.basis)))
            }
            Link::Shows { state, .. } => {
                let shows = match from.kind {
                    NodeKind::Factor => k.factors.get(from.index).map(|f| &f.shows),
                    _ => k.faults.get(from.index).map(|f| &f.shows),
                };
                let state = state.and_then(|s| k.factors.get(from.index)?.states.get(s)).map(|s| &*s.id);
                let mut shows = shows.map_or(&[][..], |s| s).iter();
                let found = shows.find(|s| s.observation == to.id && s.state.as_deref() == state);
                found.map_or(("", None), |s| (&*s.because, Some(&s.basis)))
            }
            Link::RemovedBy { .. } => {
                let removes = k.repairs.get(to.index).map_or(&[][..], |r| &r.removes);
                ("", removes.iter().find(|r| r.fault == from.id).map(|r| &r.basis))
            }
            Link::Blocks { limit } => {
                let limit = k.scopes.get(to.index).and_then(|s| s.blocked_when.get(*limit));
                (limit.map_or("", |l| &l.reason), None)
            }
            Link::BelongsTo { .. } | Link::CallsFor { .. } => ("", None),
        }
    }
}

/// A basis in words.
pub(super) fn basis_word(basis: &Basis) -> &str {
    match basis {
        Basis::Source(id) => id,
        Basis::CommonPractice => "common practice",
        Basis::FromMemory => "from memory",
        Basis::Judgement => "judgement",
        Basis::Measured => "measured",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_read_as_percent_and_word() {
        assert_eq!(percent(0.0), "0\u{a0}%");
        assert_eq!(percent(0.85), "85\u{a0}%");
        assert_eq!(percent(0.0095), "1\u{a0}%");
        assert_eq!(percent(0.004), "0.4\u{a0}%");
        assert_eq!(percent(0.0004), "0.04\u{a0}%");
        assert_eq!(percent(1.0), "100\u{a0}%");
        assert_eq!(chance_word(0.83), "probable");
        assert_eq!(chance_word(0.78), "expected");
        assert_eq!(chance_word(0.01), "improbable");
        assert_eq!(chance_word(0.0), "impossible");
        assert_eq!(chance_word(0.99), "probable");
        assert_eq!(chance_word(1.0), "certain");
    }

    #[test]
    fn ids_read_as_words() {
        assert_eq!(words("very-low"), "very low");
        assert_eq!(heading("brush-gear"), "Brush gear");
        assert_eq!(heading(""), "");
    }
}
