//! In which order to eliminate: greedy on simulated table sizes.
//!
//! Each candidate is tried on the scopes alone: combine all tables that hold it, smallest first, and
//! count the multiply-adds. A digit that two tables share costs three products for two values, a plain variable
//! two. Several ways of scoring are run and the cheapest whole order wins; costly ones
//! are tried again with shaken scores. Nothing is allocated for tables here, so a hopeless case is
//! refused before it costs anything.

use super::leaves::{Kind, Leaves, Var};

/// An order of elimination.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Order {
    /// Plain variables and digits, first eliminated first.
    pub vars: Vec<u32>,
    /// Estimated multiply-adds.
    pub operations: f64,
}

/// How candidates are compared.
#[derive(Debug, Clone, Copy)]
enum Score {
    Operations,
    Growth,
    Ratio,
}

/// Below this many operations a better order is not worth looking for.
const CHEAP: f64 = 20_000.0;
/// Operations that pay for one more try.
const WORTH_A_TRY: f64 = 10_000.0;
const MOST_TRIES: f64 = 60.0;
/// Joint values of a digit cost three products for two values.
const SHARED_DIGIT: f64 = 1.5;

/// The cheapest order found.
pub(super) fn plan(leaves: &Leaves) -> Order {
    let base = Simulation::new(leaves);
    let mut best: Option<Order> = None;
    let mut shake = Shake(0x9e37_79b9_7f4a_7c15);
    for score in [Score::Operations, Score::Growth, Score::Ratio] {
        base.clone().run(score, 0.0, &mut shake, &mut best);
        if best.as_ref().is_some_and(|b| b.operations < CHEAP / 2.0) {
            break;
        }
    }
    let cost = best.as_ref().map_or(0.0, |b| b.operations);
    if cost > CHEAP {
        let tries = (cost / WORTH_A_TRY).min(MOST_TRIES) as usize;
        for t in 0..tries {
            let score = if t % 3 == 2 { Score::Operations } else { Score::Ratio };
            base.clone().run(score, if t % 2 == 0 { 0.5 } else { 0.25 }, &mut shake, &mut best);
        }
    }
    best.unwrap_or(Order { vars: Vec::new(), operations: 0.0 })
}

/// A small deterministic generator (xorshift) to shake scores with.
struct Shake(u64);

impl Shake {
    /// Roughly normal, mean 0, deviation 1.
    fn next(&mut self) -> f64 {
        let mut sum = 0.0;
        for _ in 0..3 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
            sum += (self.0 >> 11) as f64 / (1u64 << 53) as f64;
        }
        (sum - 1.5) * 2.0
    }
}

#[derive(Debug, Clone, Copy)]
struct Trial {
    operations: f64,
    size_in: f64,
    size_out: f64,
    score: f64,
}

#[derive(Clone)]
struct Simulation<'a> {
    vars: &'a [Var],
    /// The scopes of all tables one after another, and where each begins.
    scopes: Vec<u32>,
    starts: Vec<usize>,
    sizes: Vec<f64>,
    /// For each variable, the live tables that hold it.
    held_by: Vec<Vec<u32>>,
    /// Score of each open variable, infinite for the others, and the operations behind it.
    score: Vec<f64>,
    operations: Vec<f64>,
    /// Variables whose score is out of date.
    stale: Vec<u32>,
    is_stale: Vec<bool>,
    done: Vec<bool>,
    // Scratch: how often each variable was seen in the trial at hand.
    seen: Vec<u32>,
    union: Vec<u32>,
    tables: Vec<u32>,
}

impl<'a> Simulation<'a> {
    fn new(leaves: &'a Leaves) -> Self {
        let vars = &leaves.vars[..];
        let mut held_by = vec![Vec::new(); vars.len()];
        let (mut scopes, mut starts) = (Vec::new(), vec![0]);
        for (t, leaf) in leaves.leaves.iter().enumerate() {
            for &v in &leaf.scope {
                held_by[v as usize].push(t as u32);
            }
            scopes.extend_from_slice(&leaf.scope);
            starts.push(scopes.len());
        }
        let sizes = leaves.leaves.iter().map(|l| size(vars, &l.scope)).collect();
        Simulation {
            vars,
            scopes,
            starts,
            sizes,
            held_by,
            score: vec![f64::INFINITY; vars.len()],
            operations: vec![0.0; vars.len()],
            stale: (0..vars.len() as u32).collect(),
            is_stale: vec![true; vars.len()],
            done: vars.iter().map(|v| matches!(v.kind, Kind::Latch(_))).collect(),
            seen: vec![0; vars.len()],
            union: Vec::new(),
            tables: Vec::new(),
        }
    }

    /// Runs to the end, or until it is dearer than the best so far.
    fn run(mut self, score: Score, noise: f64, shake: &mut Shake, best: &mut Option<Order>) {
        let limit = best.as_ref().map_or(f64::INFINITY, |b| b.operations);
        let mut order = Order { vars: Vec::new(), operations: 0.0 };
        loop {
            for v in std::mem::take(&mut self.stale) {
                self.is_stale[v as usize] = false;
                if self.done[v as usize] {
                    continue;
                }
                let mut trial = self.attempt(v);
                trial.score = match score {
                    Score::Operations => trial.operations,
                    Score::Growth => trial.operations + trial.size_out - trial.size_in,
                    Score::Ratio => trial.size_out / (trial.size_in + 1.0),
                };
                if noise > 0.0 {
                    trial.score *= (noise * shake.next()).exp();
                }
                self.operations[v as usize] = trial.operations;
                self.score[v as usize] = trial.score;
            }
            let (mut v, mut least) = (0, f64::INFINITY);
            for (u, &score) in self.score.iter().enumerate() {
                if score < least {
                    (v, least) = (u as u32, score);
                }
            }
            if least == f64::INFINITY {
                break;
            }
            order.operations += self.operations[v as usize];
            if order.operations >= limit {
                return;
            }
            self.eliminate(v, &mut order.vars);
        }
        *best = Some(order);
    }

    /// Fills the scratch lists with the tables that hold `v` and the union of their scopes.
    fn gather(&mut self, v: u32) -> (f64, f64) {
        let held = &self.held_by;
        self.tables.clear();
        self.tables.extend_from_slice(&held[v as usize]);
        if let Some(latch) = self.vars[v as usize].latch {
            for &t in &held[latch as usize] {
                if !self.tables.contains(&t) {
                    self.tables.push(t);
                }
            }
        }
        let sizes = &self.sizes;
        self.tables.sort_unstable_by(|&a, &b| {
            sizes[a as usize].total_cmp(&sizes[b as usize]).then_with(|| a.cmp(&b))
        });
        self.union.clear();
        let (mut operations, mut whole) = (0.0, 1.0);
        for (n, &t) in self.tables.iter().enumerate() {
            let mut shared = 1.0;
            for &u in &self.scopes[self.starts[t as usize]..self.starts[t as usize + 1]] {
                let var = &self.vars[u as usize];
                if self.seen[u as usize] == 0 {
                    self.union.push(u);
                    whole *= var.radix as f64;
                } else if !matches!(var.kind, Kind::Plain) {
                    shared *= SHARED_DIGIT;
                }
                self.seen[u as usize] += 1;
            }
            if n > 0 || self.tables.len() == 1 {
                operations += whole * shared;
            }
        }
        (operations, self.tables.iter().map(|&t| self.sizes[t as usize]).sum())
    }

    /// True if nothing outside the gathered tables holds `u`, so that it goes with them.
    fn complete(&self, u: u32) -> bool {
        let inside = self.seen[u as usize] as usize == self.held_by[u as usize].len();
        inside
            && self.vars[u as usize]
                .latch
                .is_none_or(|l| self.seen[l as usize] as usize == self.held_by[l as usize].len())
    }

    fn attempt(&mut self, v: u32) -> Trial {
        let (operations, size_in) = self.gather(v);
        let mut size_out = 1.0;
        for &u in &self.union {
            let latch_closed = match self.vars[u as usize].kind {
                // A finished latch turns into its fault: count it unless the fault goes too or is there.
                Kind::Latch(plain) => {
                    self.complete(u) && (self.complete(plain) || self.seen[plain as usize] > 0)
                }
                _ => self.complete(u),
            };
            if u != v && !latch_closed {
                size_out *= self.vars[u as usize].radix as f64;
            }
        }
        for &u in &self.union {
            self.seen[u as usize] = 0;
        }
        Trial { operations, size_in, size_out, score: 0.0 }
    }

    fn eliminate(&mut self, v: u32, order: &mut Vec<u32>) {
        self.gather(v);
        let mut out: Vec<u32> = Vec::with_capacity(self.union.len());
        order.push(v);
        self.done[v as usize] = true;
        for i in 0..self.union.len() {
            let u = self.union[i];
            let kept = match self.vars[u as usize].kind {
                Kind::Latch(plain) if self.complete(u) => {
                    let absorbed = plain == v || self.complete(plain) || self.seen[plain as usize] > 0;
                    if absorbed { None } else { Some(plain) }
                }
                _ if u == v => None,
                Kind::Latch(_) => Some(u),
                _ if self.complete(u) => {
                    if !self.done[u as usize] {
                        self.done[u as usize] = true;
                        order.push(u);
                    }
                    None
                }
                _ => Some(u),
            };
            out.extend(kept);
        }
        let tables = std::mem::take(&mut self.tables);
        for i in 0..self.union.len() {
            let u = self.union[i];
            self.seen[u as usize] = 0;
            self.held_by[u as usize].retain(|t| !tables.contains(t));
            self.forget(u);
        }
        let id = self.sizes.len() as u32;
        for &u in &out {
            self.held_by[u as usize].push(id);
            self.forget(u);
        }
        self.sizes.push(size(self.vars, &out));
        self.scopes.extend_from_slice(&out);
        self.starts.push(self.scopes.len());
        self.tables = tables;
    }

    /// The score of a neighbour is out of date.
    fn forget(&mut self, u: u32) {
        let plain = match self.vars[u as usize].kind {
            Kind::Latch(plain) => plain,
            _ => u,
        };
        if self.score[plain as usize] != f64::INFINITY || !self.done[plain as usize] {
            self.score[plain as usize] = f64::INFINITY;
            if !std::mem::replace(&mut self.is_stale[plain as usize], true) {
                self.stale.push(plain);
            }
        }
    }
}

fn size(vars: &[Var], scope: &[u32]) -> f64 {
    scope.iter().map(|&v| vars[v as usize].radix as f64).product()
}

#[cfg(test)]
mod tests {
    use super::super::leaves::{Leaf, Source};
    use super::*;

    fn plain_chain(length: u32) -> Leaves {
        let var = Var { radix: 2, kind: Kind::Plain, latch: None };
        let link = |i: u32| Leaf { source: Source::Fixed, scope: vec![i, i + 1], values: vec![0.25; 4] };
        Leaves { vars: vec![var; length as usize], leaves: (0..length - 1).map(link).collect(), lone: vec![] }
    }

    #[test]
    fn a_chain_costs_in_proportion_to_its_length() {
        let order = plan(&plain_chain(40));
        assert!(order.operations <= 8.0 * 40.0, "{order:?}");
        let mut vars = order.vars.clone();
        vars.sort_unstable();
        assert_eq!(vars, (0..40).collect::<Vec<u32>>(), "each variable once");
    }

    #[test]
    fn the_same_network_gets_the_same_order() {
        assert_eq!(plan(&plain_chain(25)), plan(&plain_chain(25)));
    }

    #[test]
    fn a_clique_is_seen_to_be_dear() {
        let mut leaves = plain_chain(30);
        for i in 0..30 {
            for k in i + 2..30 {
                leaves.leaves.push(Leaf { source: Source::Fixed, scope: vec![i, k], values: vec![0.25; 4] });
            }
        }
        assert!(plan(&leaves).operations > 2f64.powi(28));
    }
}
