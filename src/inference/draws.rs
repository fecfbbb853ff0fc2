//! Motors drawn from the exact posterior: a quick look at all questions when exact predictions would
//! take too long.
//!
//! The numbers of a forward pass tell, for each entry of a table, how much each product of the two entries below
//! contributes. Going back from the result and picking one product by its share draws a whole motor (factors and faults)
//! from the exact posterior; the cost hardly depends on the size of the tables. Draws that arrive at the
//! same entry are dealt out over its products in equal steps rather than independently, which
//! keeps shares close to exact. Means over the draws are estimates and serve to rank questions, not to be shown.

use super::engine::{Engine, Prediction, Question};
use super::inputs::Tilt;
use super::lanes::Lanes;
use super::leaves::Source;
use super::tape::{Place, Step};
use std::collections::BTreeMap;

/// Motors drawn from the posterior of one engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    count: usize,
    faults: usize,
    /// For each draw and fault, whether it is present.
    present: Vec<bool>,
    /// The faults that are present, draw after draw, and where each draw begins.
    listed: Vec<u32>,
    starts: Vec<usize>,
    factors: usize,
    /// For each draw and factor, the position among its live states.
    roots: Vec<u8>,
}

impl Draws {
    /// Number of motors drawn.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Whether each fault is present in one of them.
    pub fn faults(&self, draw: usize) -> &[bool] {
        &self.present[draw * self.faults..(draw + 1) * self.faults]
    }

    fn listed(&self, draw: usize) -> &[u32] {
        &self.listed[self.starts[draw]..self.starts[draw + 1]]
    }

    fn list(&mut self) {
        self.starts.push(0);
        for draw in 0..self.count {
            let present = (0..self.faults as u32).filter(|&j| self.present[draw * self.faults + j as usize]);
            self.listed.extend(present);
            self.starts.push(self.listed.len());
        }
    }

    fn value(&self, draw: usize, tilt: &Tilt) -> f64 {
        let present = self.faults(draw);
        let roots = &self.roots[draw * self.factors..(draw + 1) * self.factors];
        let mut value = tilt.scale;
        for &(j, weight) in &tilt.faults {
            if present[j] {
                value *= weight;
            }
        }
        for &(j, at, weight) in &tilt.roots {
            if usize::from(roots[j]) == at {
                value *= weight;
            }
        }
        value
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

    fn shuffle(&mut self, list: &mut [u32]) {
        for i in (1..list.len()).rev() {
            list.swap(i, (self.word() % (i as u64 + 1)) as usize);
        }
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
        for (members, shares) in draws.iter_mut().zip(&shares) {
            random.shuffle(members);
            let whole: f64 = shares.iter().map(|s| s.2).sum();
            let stride = whole / members.len() as f64;
            let mut mark = stride * random.unit();
            let (mut next, mut sum) = (0, shares.first().map_or(0.0, |s| s.2));
            for &draw in members.iter() {
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
        let (faults, factors) = (self.reduced.faults.len(), self.reduced.roots.len());
        let mut out = Draws {
            count,
            faults,
            factors,
            present: vec![false; count * faults],
            listed: Vec::new(),
            starts: Vec::with_capacity(count + 1),
            roots: vec![0; count * factors],
        };
        let value = |n: usize, draw: usize| -> u8 {
            let input = &self.program.inputs[n];
            picked.get(&input.at).map_or(0, |at| input.value_of[at[draw] as usize])
        };
        for (j, entry) in self.entry.root.iter().enumerate() {
            let Some(n) = *entry else { continue };
            for draw in 0..count {
                out.roots[draw * factors + j] = value(n, draw);
            }
        }
        // Causes stand before effects.
        for (j, local) in self.reduced.faults.iter().enumerate() {
            for draw in 0..count {
                let present = match self.entry.fault[j] {
                    None => {
                        let present = local.leak[1] * local.weight;
                        random.unit() * (local.leak[0] + present) < present
                    }
                    Some(n) if self.program.inputs[n].source == Source::Fault(j) => value(n, draw) == 1,
                    // A quiet fault is absent in the second of its terms and as caused in the first.
                    Some(n) => {
                        value(n, draw) == 0 && {
                            let mut absent = local.leak[0];
                            for &(cause, pair) in &local.faults {
                                if out.present[draw * faults + cause] {
                                    absent *= pair[0];
                                }
                            }
                            for (root, pairs) in &local.roots {
                                absent *= pairs[usize::from(out.roots[draw * factors + root])][0];
                            }
                            random.unit() >= absent
                        }
                    }
                };
                out.present[draw * faults + j] = present;
            }
        }
        out.list();
        out
    }

    /// Share of each state of the question in each draw, without the chance of the draw itself.
    fn shares(&self, draws: &Draws, question: Question) -> Vec<Vec<f64>> {
        let tilts = self.questions.tilts(&self.reduced, question);
        let up_to = |k: usize, draw: usize| tilts.get(k).map_or(1.0, |tilt| draws.value(draw, tilt));
        match question {
            Question::Factor(j) => {
                let states = self.posterior().factors[j].len();
                let mut out = vec![vec![0.0; draws.count]; states];
                let live = &self.reduced.roots[j].live;
                for (draw, roots) in draws.roots.chunks(draws.factors).enumerate() {
                    out[live[usize::from(roots[j])]][draw] = 1.0;
                }
                out
            }
            Question::Observation(i) => {
                let mut below = vec![0.0; draws.count];
                (0..self.questions.states(i))
                    .map(|k| {
                        let here: Vec<f64> = (0..draws.count).map(|draw| up_to(k, draw)).collect();
                        let share = here.iter().zip(&below).map(|(h, b)| (h - b).max(0.0)).collect();
                        below = here;
                        share
                    })
                    .collect()
            }
        }
    }

    /// As [`Engine::predict_all`], estimated from draws. The fault chances are shifted so that their mean
    /// over the answers is the exact posterior.
    pub fn predict_from(&self, draws: &Draws, questions: &[Question]) -> Vec<Prediction> {
        questions.iter().map(|&q| self.predict_one_from(draws, q)).collect()
    }

    fn predict_one_from(&self, draws: &Draws, question: Question) -> Prediction {
        let now = &self.posterior().faults;
        let shares = self.shares(draws, question);
        let mut out = Prediction { probabilities: Vec::new(), given: Vec::new() };
        let mut drawn = vec![0.0; now.len()];
        for share in &shares {
            let mut held = vec![0.0; now.len()];
            for (draw, &s) in share.iter().enumerate().filter(|(_, s)| **s > 0.0) {
                for &j in draws.listed(draw) {
                    held[j as usize] += s;
                }
            }
            let sum: f64 = share.iter().sum();
            drawn.iter_mut().zip(&held).for_each(|(d, h)| *d += h / draws.count as f64);
            let given = held.iter().zip(now).map(|(h, now)| if sum > 0.0 { h / sum } else { *now });
            out.given.push(given.collect());
            out.probabilities.push(sum / draws.count as f64);
        }
        for given in &mut out.given {
            for ((g, now), drawn) in given.iter_mut().zip(now).zip(&drawn) {
                *g = (*g + now - drawn).clamp(0.0, 1.0);
            }
        }
        out
    }

    /// As [`Engine::chance_cleared_given`], estimated from draws.
    pub fn chance_cleared_from(
        &self,
        draws: &Draws,
        question: Question,
        clears: &[Vec<f64>],
    ) -> Vec<Vec<f64>> {
        let cleared: Vec<Vec<f64>> = (clears.iter())
            .map(|row| {
                let chance = |draw: usize| -> f64 {
                    row.iter()
                        .zip(draws.faults(draw))
                        .filter(|(_, present)| **present)
                        .map(|(c, _)| c)
                        .product()
                };
                (0..draws.count).map(chance).collect()
            })
            .collect();
        let mean = |share: &[f64], values: &[f64]| -> f64 {
            let sum: f64 = share.iter().sum();
            let held: f64 = share.iter().zip(values).map(|(s, v)| s * v).sum();
            if sum > 0.0 { held / sum } else { values.iter().sum::<f64>() / draws.count.max(1) as f64 }
        };
        let shares = self.shares(draws, question);
        shares.iter().map(|share| cleared.iter().map(|values| mean(share, values)).collect()).collect()
    }
}
