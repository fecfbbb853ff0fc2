//! Every pair of stacks that a drawer can make, with the fewest pieces for each.
//!
//! A table over (bell's side, can's side) in steps of the greatest common step of the thicknesses holds the
//! fewest pieces that make up both stacks. Thicknesses are taken up one by one, with every number of pieces
//! on either side; a layer of the table is kept after each, from which the sets themselves are read back.
//! That is exact, and its work does not grow with the number of sets.

use super::EndPlayError;

/// The most pieces that may be of use at once; the table holds their number in a byte.
pub const MOST_PIECES: usize = 250;

/// The most places that the layers of the table may have together.
pub const MOST_CELLS: usize = 150_000_000;

/// No pieces make up these stacks.
const NEVER: u8 = u8::MAX;

/// Shims of one thickness, in steps of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Kind {
    /// Thickness in steps.
    pub(super) steps: usize,
    /// How many can be of use.
    pub(super) pieces: usize,
}

/// The fewest pieces for every pair of stacks that fit into the room together.
pub(super) struct Table {
    /// One step in um.
    pub(super) step: usize,
    /// Both stacks together have at most so many steps.
    pub(super) most: usize,
    /// Thicknesses, thinnest first.
    pub(super) kinds: Vec<Kind>,
    /// The table before the first kind, and after each.
    layers: Vec<Vec<u8>>,
}

impl Table {
    /// The table for a room of so many um and shims of (thickness in um, pieces); thicknesses are above 0.
    pub(super) fn new(room: usize, shims: &[(usize, usize)]) -> Result<Self, EndPlayError> {
        let mut merged: Vec<(usize, usize)> = Vec::new();
        for (thickness, pieces) in shims.iter().copied().filter(|(t, n)| *t <= room && *n > 0) {
            match merged.iter_mut().find(|(t, _)| *t == thickness) {
                Some((_, n)) => *n = n.saturating_add(pieces),
                None => merged.push((thickness, pieces)),
            }
        }
        merged.sort_unstable();
        // No more of a thickness can be of use than fit into the room.
        merged.iter_mut().for_each(|(thickness, n)| *n = (*n).min(room / *thickness));
        let pieces: usize = merged.iter().map(|(_, n)| n).sum();
        if pieces > MOST_PIECES {
            return Err(EndPlayError::TooManyPieces { pieces, most: MOST_PIECES });
        }
        let step = merged.iter().fold(0, |g, (thickness, _)| gcd(g, *thickness)).max(1);
        let all: usize = merged.iter().map(|(thickness, n)| thickness * n).sum();
        let most = room.min(all) / step;
        let kinds: Vec<Kind> =
            merged.iter().map(|(thickness, n)| Kind { steps: thickness / step, pieces: *n }).collect();
        let cells = (most + 1).saturating_mul(most + 2) / 2;
        if cells.saturating_mul(kinds.len() + 1) > MOST_CELLS {
            return Err(EndPlayError::TooFine { room: room as f64 * 1e-3, step });
        }
        let mut layers = vec![vec![NEVER; cells]];
        layers[0][0] = 0;
        for kind in &kinds {
            let next = take_up(&layers[layers.len() - 1], most, *kind);
            layers.push(next);
        }
        Ok(Table { step, most, kinds, layers })
    }

    /// The fewest pieces of the first `kinds` thicknesses that make up these stacks, in steps.
    pub(super) fn fewest(&self, kinds: usize, bell: usize, can: usize) -> Option<usize> {
        if bell + can > self.most {
            return None;
        }
        let pieces = self.layers[kinds][row(self.most, bell) + can];
        (pieces != NEVER).then_some(usize::from(pieces))
    }

    /// Every pair of stacks that can be made, in steps, with the fewest pieces for it.
    pub(super) fn pairs(&self) -> impl Iterator<Item = (usize, usize, usize)> + '_ {
        let last = &self.layers[self.layers.len() - 1];
        (0..=self.most).flat_map(move |bell| {
            let start = row(self.most, bell);
            let cells = last[start..start + self.most - bell + 1].iter().enumerate();
            cells.filter(|(_, p)| **p != NEVER).map(move |(can, p)| (bell, can, usize::from(*p)))
        })
    }
}

/// Where the row of a bell's side begins: rows get shorter, because both stacks share the room.
fn row(most: usize, bell: usize) -> usize {
    bell * (most + 1) - bell * bell.saturating_sub(1) / 2
}

/// The table after one more thickness.
///
/// A row of the new table is the least, over the pieces b put on the bell's side, of the row that is b
/// thicknesses before it with up to n - b pieces on the can's side. Rows that are whole thicknesses apart
/// are taken one after the other, so that those that are written to stay near.
fn take_up(old: &[u8], most: usize, kind: Kind) -> Vec<u8> {
    let Kind { steps, pieces } = kind;
    let mut next = vec![NEVER; old.len()];
    let mut with_can = Vec::with_capacity(most + 1);
    for first in 0..steps.min(most + 1) {
        for bell in (first..=most).step_by(steps) {
            let long = most - bell + 1;
            let before = &old[row(most, bell)..row(most, bell) + long];
            if before.iter().all(|p| *p == NEVER) {
                continue;
            }
            with_can.clear();
            with_can.extend_from_slice(before);
            for can in 0..=pieces {
                let shift = can * steps;
                if can > 0 && shift < long {
                    better(&mut with_can[shift..], &before[..long - shift], can);
                }
                let target = bell + (pieces - can) * steps;
                if target <= most {
                    let start = row(most, target);
                    let cells = &mut next[start..start + most - target + 1];
                    let fitting = cells.len();
                    better(cells, &with_can[..fitting], pieces - can);
                }
            }
        }
    }
    next
}

/// Takes so many pieces more than in `with`, where that is fewer.
fn better(cells: &mut [u8], with: &[u8], more: usize) {
    let more = u8::try_from(more).unwrap_or(NEVER);
    for (cell, less) in cells.iter_mut().zip(with) {
        *cell = (*cell).min(less.saturating_add(more));
    }
}

fn gcd(a: usize, b: usize) -> usize {
    if b == 0 { a } else { gcd(b, a % b) }
}
