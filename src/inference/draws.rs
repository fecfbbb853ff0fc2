//! Motors drawn from the exact posterior: a quick look at all questions when exact predictions would
//! take too long.
//!
//! The numbers of a forward pass tell, for each entry of a table, how much each product of the two entries below
//! contributes. Going back from the result and picking one product by its share draws a whole motor (factors and faults)
//! from the exact posterior; the cost hardly depends on the size of the tables. Draws that arrive at the
//! same entry are dealt out over its products in equal steps rather than independently, which
//! keeps shares close to exact. Means over the draws are estimates and serve to rank questions, not to be shown.

use super::engine::Engine;
use super::lanes::Lanes;
use super::leaves::Source;
use super::tape::{Place, Step};
use std::collections::BTreeMap;

/// Motors drawn from the posterior of one engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    pub(super) count: usize,
    pub(super) patterns: Vec<Pattern>,
    /// For each draw, its pattern.
    pub(super) pattern_of: Vec<u32>,
    /// For each fault, the patterns in which it is present.
    pub(super) with: Vec<Vec<u32>>,
    /// For each factor and draw, the position among the factor's live states.
    pub(super) roots: Vec<Vec<u8>>,
}

/// What the draws with the same faults have in common.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Pattern {
    /// The faults that are present.
    pub faults: Vec<u32>,
    /// Number of draws.
    pub draws: f64,
}

impl Draws {
    /// Number of motors drawn.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The faults that are present in one of them.
    pub fn faults(&self, draw: usize) -> impl Iterator<Item = usize> {
        self.patterns[self.pattern_of[draw] as usize].faults.iter().map(|&j| j as usize)
    }

    /// Puts draws with the same faults together; `present` holds each fault's draws.
    fn of(count: usize, present: &[Vec<bool>], roots: Vec<Vec<u8>>) -> Draws {
        let mut listed: Vec<Vec<u32>> = vec![Vec::new(); count];
        for (j, present) in present.iter().enumerate() {
            for (list, _) in listed.iter_mut().zip(present).filter(|(_, p)| **p) {
                list.push(j as u32);
            }
        }
        let mut out = Draws {
            count,
            patterns: Vec::new(),
            pattern_of: Vec::with_capacity(count),
            with: vec![Vec::new(); present.len()],
            roots,
        };
        let mut known: BTreeMap<Vec<u32>, u32> = BTreeMap::new();
        for faults in listed {
            let next = out.patterns.len() as u32;
            let p = *known.entry(faults).or_insert_with_key(|faults| {
                faults.iter().for_each(|&j| out.with[j as usize].push(next));
                out.patterns.push(Pattern { faults: faults.clone(), draws: 0.0 });
                next
            });
            out.patterns[p as usize].draws += 1.0;
            out.pattern_of.push(p);
        }
        out
    }
}

/// SplitMix64 (Steele, Lea & Flood 2014).
struct Random(u64);

impl Random {
    fn word(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn unit(&mut self) -> f64 {
        (self.word() >> 11) as f64 / (1u64 << 53) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        (((self.word() >> 32) * n as u64) >> 32) as usize
    }

    /// Every place of a list of `n` once, in a scattered order: a random start and a random stride that
    /// has no divisor in common with `n`.
    fn scattered(&mut self, n: usize) -> impl Iterator<Item = usize> {
        let prime = |mut a: usize, mut b: usize| {
            while b > 0 {
                (a, b) = (b, a % b);
            }
            a == 1
        };
        let mut stride = 1 + self.below(n);
        while !prime(n, stride) {
            stride = stride % n + 1;
        }
        let mut at = self.below(n);
        (0..n).map(move |_| {
            at += stride;
            at -= if at >= n { n } else { 0 };
            at
        })
    }
}

const NOT_NEEDED: u32 = u32::MAX;

impl Engine {
    /// Draws motors from the posterior, always the same ones for the same seed.
    pub fn draw(&self, count: usize, seed: u64) -> Draws {
        let (program, reduced) = (&self.program, &self.reduced);
        let mut numbers = vec![Lanes::<1>::ZERO; program.tape.live];
        program.fill_base(reduced, &mut numbers);
        program.tape.forward(&mut numbers);
        let mut random = Random(seed);
        let mut picked: BTreeMap<usize, Vec<u32>> = BTreeMap::new();
        if let Some(Place::Live(at)) = program.tape.result {
            picked.insert(at, vec![0; count]);
        }
        for step in program.tape.steps.iter().rev() {
            let Some(at) = picked.remove(&step.c) else { continue };
            let (a, b) = self.split(step, &at, &numbers, &mut random);
            if let Place::Live(start) = step.a {
                picked.insert(start, a);
            }
            if let Place::Live(start) = step.b {
                picked.insert(start, b);
            }
        }
        self.read(count, &picked, &mut random)
    }

    /// Deals the draws at each entry of a step's result out over the products that made it.
    fn split(
        &self,
        step: &Step,
        at: &[u32],
        numbers: &[Lanes<1>],
        random: &mut Random,
    ) -> (Vec<u32>, Vec<u32>) {
        let mut slot = vec![NOT_NEEDED; step.c_len];
        let mut draws: Vec<Vec<u32>> = Vec::new();
        for (draw, &c) in at.iter().enumerate() {
            let s = &mut slot[c as usize];
            if *s == NOT_NEEDED {
                *s = draws.len() as u32;
                draws.push(Vec::new());
            }
            draws[*s as usize].push(draw as u32);
        }
        let constants = &self.program.tape.constants;
        let number = |place: Place, i: u32| match place {
            Place::Live(start) => numbers[start + i as usize].0[0],
            Place::Constant(start) => constants[start + i as usize],
        };
        let mut shares: Vec<Vec<(u32, u32, f64)>> = vec![Vec::new(); draws.len()];
        for [a, b, c] in self.program.tape.terms(step) {
            let s = slot[c as usize];
            if s != NOT_NEEDED {
                let product = number(step.a, a) * number(step.b, b);
                if product > 0.0 {
                    shares[s as usize].push((a, b, product));
                }
            }
        }
        let (mut a, mut b) = (vec![0; at.len()], vec![0; at.len()]);
        for (members, shares) in draws.iter().zip(&shares) {
            if let [(i, k, _)] = shares[..] {
                members.iter().for_each(|&draw| (a[draw as usize], b[draw as usize]) = (i, k));
                continue;
            }
            let whole: f64 = shares.iter().map(|s| s.2).sum();
            let stride = whole / members.len() as f64;
            let mut mark = stride * random.unit();
            let (mut next, mut sum) = (0, shares.first().map_or(0.0, |s| s.2));
            for draw in random.scattered(members.len()).map(|place| members[place]) {
                while sum < mark && next + 1 < shares.len() {
                    next += 1;
                    sum += shares[next].2;
                }
                if let Some(&(i, k, _)) = shares.get(next) {
                    (a[draw as usize], b[draw as usize]) = (i, k);
                }
                mark += stride;
            }
        }
        (a, b)
    }

    /// Factors and faults of the draws whose entries of the inputs are picked.
    fn read(&self, count: usize, picked: &BTreeMap<usize, Vec<u32>>, random: &mut Random) -> Draws {
        let values = |n: usize| -> Vec<u8> {
            let input = &self.program.inputs[n];
            let at = picked.get(&input.at);
            at.map_or(vec![0; count], |at| at.iter().map(|&i| input.value_of[i as usize]).collect())
        };
        let roots: Vec<Vec<u8>> = self.entry.root.iter().map(|n| n.map_or(vec![0; count], values)).collect();
        let mut present: Vec<Vec<bool>> = Vec::with_capacity(self.reduced.faults.len());
        // Causes stand before effects.
        for (j, local) in self.reduced.faults.iter().enumerate() {
            present.push(match self.entry.fault[j] {
                None => {
                    let chance = local.leak[1] * local.weight / local.mass();
                    (0..count).map(|_| random.unit() < chance).collect()
                }
                Some(n) if self.program.inputs[n].source == Source::Fault(j) => {
                    values(n).iter().map(|&v| v == 1).collect()
                }
                // A quiet fault is absent in the second of its terms and as caused in the first.
                Some(n) => {
                    let as_caused = |draw: usize, random: &mut Random| {
                        let mut absent = local.leak[0];
                        for (_, pair) in local.faults.iter().filter(|c| present[c.0][draw]) {
                            absent *= pair[0];
                        }
                        for (root, pairs) in &local.roots {
                            absent *= pairs[usize::from(roots[*root][draw])][0];
                        }
                        random.unit() >= absent
                    };
                    let terms = values(n).into_iter().enumerate();
                    terms.map(|(draw, term)| term == 0 && as_caused(draw, random)).collect()
                }
            });
        }
        Draws::of(count, &present, roots)
    }
}
