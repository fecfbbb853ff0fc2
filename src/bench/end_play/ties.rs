//! Reading the sets of shims themselves back from the table, and counting them.

use std::collections::HashMap;

use super::search::Table;

/// Shims for both sides; each side as (thickness in um, pieces), thickest first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Arrangement {
    /// Between end bell and armature.
    pub bell: Vec<(usize, usize)>,
    /// Between armature and can.
    pub can: Vec<(usize, usize)>,
}

/// Two stacks of given thickness, and all sets of shims with the fewest pieces that make them up.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    /// Thickness on the bell's side, in um.
    pub bell: usize,
    /// Thickness on the can's side, in um.
    pub can: usize,
    /// Pieces in both together.
    pub pieces: usize,
    /// The play they leave, in m.
    pub play: f64,
    /// How far the core then stands from its wanted place in the middle of its play, in m; above 0 towards
    /// the can.
    pub offset: f64,
    /// By how much the brush runs over the end of the commutator's track at worst, in m; 0 when it stays on
    /// it or nothing is known about it.
    pub overrun: f64,
    /// How many sets make up these stacks with so few pieces; the greatest number there is when more.
    pub ties: u64,
    /// The first of these sets, in a fixed order: thick shims first, on the bell's side first.
    pub sets: Vec<Arrangement>,
}

/// All sets with the fewest pieces for these stacks in steps: how many, and the first `most`.
pub(super) fn sets(table: &Table, bell: usize, can: usize, most: usize) -> (u64, Vec<Arrangement>) {
    let mut out = Vec::new();
    let mut chosen = Arrangement::default();
    list(table, table.kinds.len(), bell, can, most, &mut chosen, &mut out);
    let ties = if out.len() < most {
        out.len() as u64
    } else {
        count(table, table.kinds.len(), bell, can, &mut HashMap::new())
    };
    (ties, out)
}

/// The ways to spend shims of the last of `kinds` thicknesses that leave a shortest rest: pieces on each
/// side and what is left of the stacks. Most pieces first.
fn ways(
    table: &Table,
    kinds: usize,
    bell: usize,
    can: usize,
) -> impl Iterator<Item = (usize, usize, usize, usize)> + '_ {
    let kind = table.kinds[kinds - 1];
    let fewest = table.fewest(kinds, bell, can);
    let most = move |side: usize| kind.pieces.min(side / kind.steps);
    (0..=most(bell)).rev().flat_map(move |b| {
        (0..=most(can).min(kind.pieces - b)).rev().filter_map(move |c| {
            let (left_bell, left_can) = (bell - b * kind.steps, can - c * kind.steps);
            let rest = table.fewest(kinds - 1, left_bell, left_can)?;
            (Some(rest + b + c) == fewest).then_some((b, c, left_bell, left_can))
        })
    })
}

fn list(
    table: &Table,
    kinds: usize,
    bell: usize,
    can: usize,
    most: usize,
    chosen: &mut Arrangement,
    out: &mut Vec<Arrangement>,
) {
    if out.len() == most {
        return;
    }
    if kinds == 0 {
        out.push(chosen.clone());
        return;
    }
    let thickness = table.kinds[kinds - 1].steps * table.step;
    for (b, c, left_bell, left_can) in ways(table, kinds, bell, can) {
        let mut next = chosen.clone();
        next.bell.extend((b > 0).then_some((thickness, b)));
        next.can.extend((c > 0).then_some((thickness, c)));
        list(table, kinds - 1, left_bell, left_can, most, &mut next, out);
    }
}

fn count(
    table: &Table,
    kinds: usize,
    bell: usize,
    can: usize,
    known: &mut HashMap<(usize, usize, usize), u64>,
) -> u64 {
    if kinds == 0 {
        return 1;
    }
    if let Some(n) = known.get(&(kinds, bell, can)) {
        return *n;
    }
    let mut n = 0u64;
    for (_, _, left_bell, left_can) in ways(table, kinds, bell, can) {
        n = n.saturating_add(count(table, kinds - 1, left_bell, left_can, known));
    }
    known.insert((kinds, bell, can), n);
    n
}
