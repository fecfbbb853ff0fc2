//! The compiled elimination: a flat list of steps, each a sum of products of two tables.
//!
//! A step adds `a[i] * b[j]` to `c[k]` for a set of index triples (i, j, k). The set is a product of two
//! lists of offsets and one contiguous run, so that it stays small and the innermost loop is straight. The
//! probability of the evidence is multilinear in every table; the reverse sweep over the same triples
//! gives its derivative with respect to every entry (Darwiche 2003), hence every posterior at once.

use super::lanes::Lanes;
use multiversion::multiversion;
use std::ops::{Mul, Range};

/// Where an operand of a step lives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// In the constants, the same for every run.
    Constant(usize),
    /// In the numbers of the run.
    Live(usize),
}

/// Offsets into (a, b, c).
pub(super) type Triple = [u32; 3];

/// c += a x b over all triples.
#[derive(Debug, Clone)]
pub(super) struct Step {
    pub a: Place,
    pub b: Place,
    pub a_len: usize,
    pub b_len: usize,
    /// Start in the live numbers; behind every live operand.
    pub c: usize,
    pub c_len: usize,
    /// Power of two that the result is multiplied by, to keep it in range.
    pub shift: f64,
    pub outer: Range<usize>,
    pub inner: Range<usize>,
    /// Length of the contiguous run.
    pub run: usize,
    /// Whether a, b, c advance along it.
    pub advance: [bool; 3],
}

/// Steps with what they share.
#[derive(Debug, Clone, Default)]
pub(super) struct Tape {
    pub constants: Vec<f64>,
    pub steps: Vec<Step>,
    pub triples: Vec<Triple>,
    /// Live numbers of one run.
    pub live: usize,
    /// The scalar at the end, if anything was computed.
    pub result: Option<Place>,
    /// Multiply-adds of one forward pass.
    pub operations: usize,
}

/// All steps, or some of them, forward; in the widest vectors that the machine has.
#[multiversion(targets("x86_64+avx2"))]
fn forward<const L: usize>(tape: &Tape, some: Option<&[u32]>, numbers: &mut [Lanes<L>]) {
    for n in 0..some.map_or(tape.steps.len(), <[u32]>::len) {
        let step = &tape.steps[some.map_or(n, |some| some[n] as usize)];
        tape.step(step, numbers);
    }
}

/// All steps backward, in the same way.
#[multiversion(targets("x86_64+avx2"))]
fn reverse<const L: usize>(tape: &Tape, numbers: &[Lanes<L>], slopes: &mut [Lanes<L>]) {
    tape.back(numbers, slopes);
}

const A: usize = 0;
const B: usize = 1;
const C: usize = 2;

impl Tape {
    /// Fills everything behind the leaves. Returns the result of each lane.
    pub fn forward<const L: usize>(&self, numbers: &mut [Lanes<L>]) -> Lanes<L> {
        forward(self, None, numbers);
        self.result_of(numbers)
    }

    /// Fills only what these steps (indices, in order) make. Returns the result of each lane.
    pub fn forward_some<const L: usize>(&self, steps: &[u32], numbers: &mut [Lanes<L>]) -> Lanes<L> {
        forward(self, Some(steps), numbers);
        self.result_of(numbers)
    }

    /// The result of a forward pass that was made.
    pub fn result_of<const L: usize>(&self, numbers: &[Lanes<L>]) -> Lanes<L> {
        match self.result {
            None => Lanes::splat(1.0),
            Some(Place::Constant(at)) => Lanes::splat(self.constants[at]),
            Some(Place::Live(at)) => numbers[at],
        }
    }

    /// One step of the forward pass.
    #[inline(always)]
    pub fn step<const L: usize>(&self, step: &Step, numbers: &mut [Lanes<L>]) {
        let (before, after) = numbers.split_at_mut(step.c);
        let c = &mut after[..step.c_len];
        c.fill(Lanes::ZERO);
        match (step.a, step.b) {
            (Place::Live(a), Place::Live(b)) => {
                let (a, b) = (&before[a..a + step.a_len], &before[b..b + step.b_len]);
                self.sweep::<L, C, A, B, _>(step, c, a, b);
            }
            (Place::Live(a), Place::Constant(b)) => {
                let (a, b) = (&before[a..a + step.a_len], &self.constants[b..b + step.b_len]);
                self.sweep::<L, C, A, B, _>(step, c, a, b);
            }
            (Place::Constant(a), Place::Live(b)) => {
                let (a, b) = (&self.constants[a..a + step.a_len], &before[b..b + step.b_len]);
                self.sweep::<L, C, B, A, _>(step, c, b, a);
            }
            // Products of constants are constants and never become a step.
            (Place::Constant(_), Place::Constant(_)) => {}
        }
        if step.shift != 1.0 {
            c.iter_mut().for_each(|x| *x = *x * step.shift);
        }
    }

    /// All (a, b, c) of a step.
    pub fn terms(&self, step: &Step) -> impl Iterator<Item = Triple> {
        let inner = &self.triples[step.inner.clone()];
        let advance = step.advance.map(u32::from);
        let run = step.run as u32;
        self.triples[step.outer.clone()].iter().flat_map(move |p| {
            inner.iter().flat_map(move |q| {
                (0..run).map(move |i| std::array::from_fn(|n| p[n] + q[n] + i * advance[n]))
            })
        })
    }

    /// Derivatives of the result times `seed`, after a forward pass; `slopes` is overwritten.
    ///
    /// Each table is read by one later step, so that its slopes are cleared just before they are made, while they
    /// are at hand.
    pub fn reverse<const L: usize>(&self, numbers: &[Lanes<L>], slopes: &mut [Lanes<L>], seed: Lanes<L>) {
        if let Some(Place::Live(at)) = self.result {
            slopes[at] = seed;
        }
        reverse(self, numbers, slopes);
    }

    #[inline(always)]
    fn back<const L: usize>(&self, numbers: &[Lanes<L>], slopes: &mut [Lanes<L>]) {
        for step in self.steps.iter().rev() {
            let (before, after) = slopes.split_at_mut(step.c);
            let c = &mut after[..step.c_len];
            if step.shift != 1.0 {
                c.iter_mut().for_each(|x| *x = *x * step.shift);
            }
            let c = &*c;
            if let Place::Live(a) = step.a {
                let out = &mut before[a..a + step.a_len];
                out.fill(Lanes::ZERO);
                match step.b {
                    Place::Live(b) => {
                        self.sweep::<L, A, C, B, _>(step, out, c, &numbers[b..b + step.b_len]);
                    }
                    Place::Constant(b) => {
                        self.sweep::<L, A, C, B, _>(step, out, c, &self.constants[b..b + step.b_len]);
                    }
                }
            }
            if let Place::Live(b) = step.b {
                let out = &mut before[b..b + step.b_len];
                out.fill(Lanes::ZERO);
                match step.a {
                    Place::Live(a) => {
                        self.sweep::<L, B, C, A, _>(step, out, c, &numbers[a..a + step.a_len]);
                    }
                    Place::Constant(a) => {
                        self.sweep::<L, B, C, A, _>(step, out, c, &self.constants[a..a + step.a_len]);
                    }
                }
            }
        }
    }

    /// out += x * y over the triples; `O`, `X` and `Y` say which column of a triple belongs to which.
    #[inline(always)]
    fn sweep<const L: usize, const O: usize, const X: usize, const Y: usize, T>(
        &self,
        step: &Step,
        out: &mut [Lanes<L>],
        x: &[Lanes<L>],
        y: &[T],
    ) where
        T: Copy,
        Lanes<L>: Mul<T, Output = Lanes<L>>,
    {
        let outer = &self.triples[step.outer.clone()];
        let inner = &self.triples[step.inner.clone()];
        let run = step.run;
        let at = |p: &Triple, q: &Triple, column: usize| (p[column] + q[column]) as usize;
        if run == 1 {
            for p in outer {
                for q in inner {
                    let product = x[at(p, q, X)] * y[at(p, q, Y)];
                    out[at(p, q, O)].add(product);
                }
            }
            return;
        }
        let length = |advances: bool| if advances { run } else { 1 };
        let (lo, lx, ly) = (length(step.advance[O]), length(step.advance[X]), length(step.advance[Y]));
        for p in outer {
            for q in inner {
                let (o, x0, y0) = (at(p, q, O), at(p, q, X), at(p, q, Y));
                let (out, x, y) = (&mut out[o..o + lo], &x[x0..x0 + lx], &y[y0..y0 + ly]);
                match (lo > 1, lx > 1, ly > 1) {
                    (true, true, true) => {
                        for ((o, &x), &y) in out.iter_mut().zip(x).zip(y) {
                            o.add(x * y);
                        }
                    }
                    (true, true, false) => {
                        let y = y[0];
                        for (o, &x) in out.iter_mut().zip(x) {
                            o.add(x * y);
                        }
                    }
                    (true, false, true) => {
                        let x = x[0];
                        for (o, &y) in out.iter_mut().zip(y) {
                            o.add(x * y);
                        }
                    }
                    (true, false, false) => {
                        let product = x[0] * y[0];
                        for o in out {
                            o.add(product);
                        }
                    }
                    (false, _, _) => {
                        let mut sum = Lanes::ZERO;
                        for i in 0..run {
                            sum.add(x[if lx > 1 { i } else { 0 }] * y[if ly > 1 { i } else { 0 }]);
                        }
                        out[0].add(sum);
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two live tables of two numbers; the result is (a0 + 2 a1) x (b0 + b1), by a constant table and a
    /// run, then a product.
    fn small() -> Tape {
        let step = |a, b, lens: (usize, usize), c, inner: Range<usize>, run, advance| Step {
            a,
            b,
            a_len: lens.0,
            b_len: lens.1,
            c,
            c_len: 1,
            shift: 1.0,
            outer: 0..1,
            inner,
            run,
            advance,
        };
        let (live, constant) = (Place::Live, Place::Constant);
        Tape {
            constants: vec![1.0, 2.0, 1.0],
            steps: vec![
                step(live(0), constant(0), (2, 2), 4, 0..1, 2, [true, true, false]),
                step(constant(2), live(2), (1, 2), 5, 1..3, 1, [false; 3]),
                step(live(4), live(5), (1, 1), 6, 0..1, 1, [false; 3]),
            ],
            triples: vec![[0, 0, 0], [0, 0, 0], [0, 1, 0]],
            live: 7,
            result: Some(Place::Live(6)),
            operations: 5,
        }
    }

    #[test]
    fn forward_in_lanes() {
        let mut numbers = vec![Lanes::<2>::ZERO; 7];
        for (slot, pair) in numbers.iter_mut().zip([[3.0, 1.0], [4.0, 0.0], [5.0, 2.0], [6.0, 7.0]]) {
            *slot = Lanes(pair);
        }
        assert_eq!(small().forward(&mut numbers).0, [11.0 * 11.0, 9.0]);
    }

    #[test]
    fn reverse_is_the_derivative() {
        let tape = small();
        let mut numbers = vec![Lanes::<1>::ZERO; 7];
        for (slot, x) in numbers.iter_mut().zip([3.0, 4.0, 5.0, 6.0]) {
            *slot = Lanes([x]);
        }
        tape.forward(&mut numbers);
        let mut slopes = vec![Lanes::<1>::ZERO; 7];
        tape.reverse(&numbers, &mut slopes, Lanes([1.0]));
        let got: Vec<f64> = slopes[..4].iter().map(|s| s.0[0]).collect();
        assert_eq!(got, [11.0, 22.0, 11.0, 11.0]);
    }

    #[test]
    fn terms_list_every_product() {
        let tape = small();
        let terms: Vec<Triple> = tape.terms(&tape.steps[0]).collect();
        assert_eq!(terms, [[0, 0, 0], [1, 1, 0]]);
        assert_eq!(tape.terms(&tape.steps[1]).count(), 2);
    }
}
