//! How the variables of two tables become the index triples of a step.

use super::tape::Triple;

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
    pub outer: Vec<Triple>,
    pub inner: Vec<Triple>,
    pub run: usize,
    pub advance: [bool; 3],
}

impl Layout {
    /// Trailing dims that move on by one in the same operands become the run.
    pub fn new(dims: &[Dim]) -> Layout {
        let mut run = 1;
        let mut advance: Option<[bool; 3]> = None;
        let mut rest = dims.len();
        // Trailing dims that move on by one in the same operands form the run.
        while rest > 0 {
            let Dim::Straight(strides, radix) = &dims[rest - 1] else { break };
            let moves = strides.map(|s| s > 0);
            let straight = strides.iter().all(|&s| s == 0 || s as usize == run);
            if !straight || advance.is_some_and(|a| a != moves) {
                break;
            }
            advance = Some(moves);
            run *= radix;
            rest -= 1;
        }
        let mut lists = [vec![[0; 3]], vec![[0; 3]]];
        let mut to = 0;
        for dim in dims[..rest].iter().rev() {
            if lists[0].len() >= INNER_LIST {
                to = 1;
            }
            let here: Vec<Triple> = match dim {
                Dim::Straight(strides, radix) => (0..*radix as u32).map(|k| strides.map(|s| s * k)).collect(),
                Dim::Listed(list) => list.clone(),
            };
            let list = &lists[to];
            let add = |p: &Triple, q: &Triple| [p[0] + q[0], p[1] + q[1], p[2] + q[2]];
            lists[to] = here.iter().flat_map(|p| list.iter().map(move |q| add(p, q))).collect();
        }
        let [inner, outer] = lists;
        Layout { outer, inner, run, advance: advance.unwrap_or([false; 3]) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn triples(layout: &Layout) -> Vec<Triple> {
        let mut all = Vec::new();
        for p in &layout.outer {
            for q in &layout.inner {
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
        let layout = Layout::new(&[Dim::Straight([2, 1, 2], 3), Dim::Straight([1, 0, 1], 2)]);
        assert_eq!((layout.run, layout.advance), (2, [true, false, true]));
        let want = [[0, 0, 0], [1, 0, 1], [2, 1, 2], [3, 1, 3], [4, 2, 4], [5, 2, 5]];
        assert_eq!(triples(&layout), want);
    }

    #[test]
    fn two_bits_are_combined_by_or() {
        // b is widened to (g0, g1, G1): c0 = f0 g0, c1 = f1 G1 + f0 g1.
        assert_eq!(larger_value([1, 1, 1], 2, false), [[0, 0, 0], [1, 2, 1], [0, 1, 1]]);
        assert_eq!(larger_value([1, 1, 1], 2, true), [[1, 2, 0], [0, 1, 0]]);
    }
}
