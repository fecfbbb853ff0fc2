//! How the variables of two tables become the index triples of a step.

use super::tape::Triple;
use std::ops::Range;

/// Offsets of the inner list of a step; the rest go to the outer one.
const INNER_LIST: usize = 48;
/// How one variable's values in a and b make values in c.
#[derive(Debug, Clone)]
pub(super) enum Dim {
    /// A stride each (0 where absent or summed out) and the number of values.
    Straight([u32; 3], usize),
    /// Listed.
    Listed(Vec<Triple>),
}

impl Dim {
    pub fn len(&self) -> usize {
        match self {
            Dim::Straight(_, values) => *values,
            Dim::Listed(list) => list.len(),
        }
    }
}

/// Pairs of values of a shared digit and the larger of them, with b (and for more than two values a)
/// widened by cumulative sums.
pub(super) fn larger_value([a, b, c]: Triple, radix: usize, only_top: bool) -> Vec<Triple> {
    let radix = radix as u32;
    let sum = |k: u32| if k == 0 { 0 } else { radix - 1 + k };
    let mut list = Vec::with_capacity(2 * radix as usize - 1);
    for k in if only_top { radix - 1 } else { 0 }..radix {
        let to = if only_top { 0 } else { k * c };
        list.push([k * a, sum(k) * b, to]);
        if k > 0 {
            list.push([sum(k - 1) * a, k * b, to]);
        }
    }
    list
}

/// The dims of a step as two lists and a run.
pub(super) struct Layout {
    /// Where the lists stand among the triples.
    pub outer: Range<usize>,
    pub inner: Range<usize>,
    pub run: usize,
    pub advance: [bool; 3],
}

impl Layout {
    /// Appends the lists for the dims, the innermost first. Leading dims that move on by one in
    /// the same operands become the run.
    pub fn new(dims: &[Dim], triples: &mut Vec<Triple>) -> Layout {
        let mut run = 1;
        let mut advance: Option<[bool; 3]> = None;
        let mut first = 0;
        while let Some(Dim::Straight(strides, radix)) = dims.get(first) {
            let moves = strides.map(|s| s > 0);
            let straight = strides.iter().all(|&s| s == 0 || s as usize == run);
            if !straight || advance.is_some_and(|a| a != moves) {
                break;
            }
            advance = Some(moves);
            run *= radix;
            first += 1;
        }
        let start = triples.len();
        triples.push([0; 3]);
        let mut dims = dims[first..].iter();
        while triples.len() - start < INNER_LIST {
            let Some(dim) = dims.next() else { break };
            expand(triples, start, dim);
        }
        let middle = triples.len();
        triples.push([0; 3]);
        dims.for_each(|dim| expand(triples, middle, dim));
        let advance = advance.unwrap_or([false; 3]);
        Layout { outer: middle..triples.len(), inner: start..middle, run, advance }
    }
}

/// The triples from `start` on, for each value of one more variable.
fn expand(triples: &mut Vec<Triple>, start: usize, dim: &Dim) {
    let end = triples.len();
    let mut repeat = |by: Triple| {
        for i in start..end {
            let q = triples[i];
            triples.push([q[0] + by[0], q[1] + by[1], q[2] + by[2]]);
        }
    };
    match dim {
        Dim::Straight(strides, radix) => (1..*radix as u32).for_each(|k| repeat(strides.map(|s| s * k))),
        Dim::Listed(list) => {
            let Some((first, others)) = list.split_first() else { return triples.truncate(start) };
            others.iter().for_each(|&by| repeat(by));
            for q in &mut triples[start..end] {
                (0..3).for_each(|n| q[n] += first[n]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn triples(layout: &Layout, lists: &[Triple]) -> Vec<Triple> {
        let mut all = Vec::new();
        for p in &lists[layout.outer.clone()] {
            for q in &lists[layout.inner.clone()] {
                for i in 0..layout.run as u32 {
                    all.push(std::array::from_fn(|n| p[n] + q[n] + i * u32::from(layout.advance[n])));
                }
            }
        }
        all.sort_unstable();
        all
    }

    #[test]
    fn contiguous_dims_become_one_run() {
        // a over (x, y), b over x, c over (x, y), y with two values and x with three.
        let mut lists = Vec::new();
        let layout = Layout::new(&[Dim::Straight([1, 0, 1], 2), Dim::Straight([2, 1, 2], 3)], &mut lists);
        assert_eq!((layout.run, layout.advance), (2, [true, false, true]));
        let want = [[0, 0, 0], [1, 0, 1], [2, 1, 2], [3, 1, 3], [4, 2, 4], [5, 2, 5]];
        assert_eq!(triples(&layout, &lists), want);
    }

    #[test]
    fn a_list_need_not_begin_at_nothing() {
        let mut lists = Vec::new();
        let listed = Dim::Listed(vec![[5, 0, 1], [0, 7, 0]]);
        let layout = Layout::new(&[listed, Dim::Straight([1, 1, 0], 2)], &mut lists);
        assert_eq!((layout.run, layout.advance), (1, [false; 3]));
        assert_eq!(triples(&layout, &lists), [[0, 7, 0], [1, 8, 0], [5, 0, 1], [6, 1, 1]]);
    }

    #[test]
    fn two_bits_are_combined_by_or() {
        // b is widened to (g0, g1, G1): c0 = f0 g0, c1 = f1 G1 + f0 g1.
        assert_eq!(larger_value([1, 1, 1], 2, false), [[0, 0, 0], [1, 2, 1], [0, 1, 1]]);
        assert_eq!(larger_value([1, 1, 1], 2, true), [[1, 2, 0], [0, 1, 0]]);
    }
}
