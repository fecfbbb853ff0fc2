//! What goes into the tape: the weights of faults and factor states, as they are and as imagined.

use super::assemble::{Input, Program};
use super::lanes::Lanes;
use super::leaves::Source;
use super::reduce::Reduced;

/// An imagined change of the evidence that multiplies weights of causes: "the outcome is at most k",
/// "this factor is in that state", "the work removes these faults with those chances".
#[derive(Debug, Clone, Default)]
pub(super) struct Tilt {
    /// Faults with what their presence is multiplied by.
    pub faults: Vec<(usize, f64)>,
    /// Open factors, position of a live state, what it is multiplied by.
    pub roots: Vec<(usize, usize, f64)>,
    /// What the whole is multiplied by.
    pub scale: f64,
}

impl Tilt {
    /// Work that clears each fault with the chance in its place.
    pub fn clearing(row: &[f64]) -> Tilt {
        let clears = row.iter().copied().enumerate().filter(|(_, chance)| *chance != 1.0);
        Tilt { faults: clears.collect(), roots: vec![], scale: 1.0 }
    }

    /// This change and another one.
    pub fn and(&self, other: &Tilt) -> Tilt {
        let mut faults = self.faults.clone();
        for &(j, weight) in &other.faults {
            match faults.iter().position(|held| held.0 == j) {
                Some(at) => faults[at].1 *= weight,
                None => faults.push((j, weight)),
            }
        }
        let roots = self.roots.iter().chain(&other.roots).copied().collect();
        Tilt { faults, roots, scale: self.scale * other.scale }
    }
}

/// Where the weight of each fault and factor enters.
#[derive(Debug, Clone, Default)]
pub(super) struct Entry {
    /// Index of the input of each fault; none for lone faults.
    pub fault: Vec<Option<usize>>,
    pub root: Vec<Option<usize>>,
}

impl Entry {
    /// The inputs that some tilts change, each once.
    pub fn touched(&self, tilts: &[&Tilt]) -> Vec<usize> {
        let faults = tilts.iter().flat_map(|t| &t.faults).filter_map(|(j, _)| self.fault[*j]);
        let roots = tilts.iter().flat_map(|t| &t.roots).filter_map(|(j, ..)| self.root[*j]);
        let mut touched: Vec<usize> = faults.chain(roots).collect();
        touched.sort_unstable();
        touched.dedup();
        touched
    }
}

impl Program {
    /// The inputs without any tilt.
    pub fn fill_base<const L: usize>(&self, reduced: &Reduced, numbers: &mut [Lanes<L>]) {
        for input in &self.inputs {
            for i in 0..input.values.len() {
                numbers[input.at + i] = Lanes::splat(value(reduced, input, i, 1.0));
            }
        }
    }

    /// One lane of the inputs.
    pub fn fill_lane<const L: usize>(&self, reduced: &Reduced, lane: usize, numbers: &mut [Lanes<L>]) {
        for input in &self.inputs {
            for i in 0..input.values.len() {
                numbers[input.at + i].0[lane] = value(reduced, input, i, 1.0);
            }
        }
    }

    pub fn entry(&self, reduced: &Reduced) -> Entry {
        let mut entry =
            Entry { fault: vec![None; reduced.faults.len()], root: vec![None; reduced.roots.len()] };
        for (n, input) in self.inputs.iter().enumerate() {
            match input.source {
                Source::Fixed | Source::Leak(_) | Source::Digit(_) => {}
                Source::Factor(j) => entry.root[j] = Some(n),
                Source::Fault(j) | Source::Quiet(j) => entry.fault[j] = Some(n),
            }
        }
        entry
    }

    /// Applies a tilt to one lane of inputs that were filled without any. Returns what the lone faults
    /// and the tilt's own scale multiply the result by.
    pub fn apply<const L: usize>(
        &self,
        reduced: &Reduced,
        entry: &Entry,
        tilt: &Tilt,
        lane: usize,
        numbers: &mut [Lanes<L>],
    ) -> f64 {
        let mut factor = tilt.scale;
        for &(j, weight) in &tilt.faults {
            let Some(n) = entry.fault[j] else {
                let local = &reduced.faults[j];
                let present = local.leak[1] * local.weight;
                factor *= (local.leak[0] + present * weight) / (local.leak[0] + present);
                continue;
            };
            let input = &self.inputs[n];
            for i in 0..input.values.len() {
                numbers[input.at + i].0[lane] = value(reduced, input, i, weight);
            }
        }
        for &(j, at, weight) in &tilt.roots {
            let Some(n) = entry.root[j] else { continue };
            let input = &self.inputs[n];
            numbers[input.at + at].0[lane] *= weight;
        }
        factor
    }

    /// Applies a tilt to all lanes beside what the faults are multiplied by in each lane already (`rows`), and
    /// what it multiplies the whole by to `factors`. Returns the inputs that it changes.
    pub fn apply_beside<const L: usize>(
        &self,
        reduced: &Reduced,
        entry: &Entry,
        tilt: &Tilt,
        rows: &[&[f64]],
        factors: &mut [f64; L],
        numbers: &mut [Lanes<L>],
    ) -> Vec<usize> {
        let mut touched = Vec::with_capacity(tilt.faults.len() + tilt.roots.len());
        factors.iter_mut().for_each(|factor| *factor *= tilt.scale);
        for &(j, weight) in &tilt.faults {
            let Some(n) = entry.fault[j] else {
                let local = &reduced.faults[j];
                for (factor, row) in factors.iter_mut().zip(rows) {
                    let present = local.leak[1] * local.weight * row[j];
                    let whole = local.leak[0] + present;
                    *factor *= if whole > 0.0 { (local.leak[0] + present * weight) / whole } else { 0.0 };
                }
                continue;
            };
            let input = &self.inputs[n];
            for i in 0..input.values.len() {
                for (lane, row) in rows.iter().enumerate() {
                    numbers[input.at + i].0[lane] = value(reduced, input, i, row[j] * weight);
                }
            }
            touched.push(n);
        }
        for &(j, at, weight) in &tilt.roots {
            let Some(n) = entry.root[j] else { continue };
            let input = &self.inputs[n];
            numbers[input.at + at] = numbers[input.at + at] * weight;
            touched.push(n);
        }
        touched
    }

    /// Chance of each fault from the slopes of a reverse sweep seeded with 1 over the result.
    pub fn fault_marginals<const L: usize>(
        &self,
        reduced: &Reduced,
        tilt: &Tilt,
        lane: usize,
        numbers: &[Lanes<L>],
        slopes: &[Lanes<L>],
    ) -> Vec<f64> {
        let mut out: Vec<f64> = reduced
            .faults
            .iter()
            .map(|f| f.leak[1] * f.weight / (f.leak[0] + f.leak[1] * f.weight))
            .collect();
        for &(j, weight) in &tilt.faults {
            let local = &reduced.faults[j];
            let present = local.leak[1] * local.weight * weight;
            out[j] = if present > 0.0 { present / (local.leak[0] + present) } else { 0.0 };
        }
        for input in &self.inputs {
            let mut mass = [0.0; 2];
            let number = |i: usize| numbers[input.at + i].0[lane];
            let slope = |i: usize| slopes[input.at + i].0[lane];
            let j = match input.source {
                Source::Fault(j) => {
                    mass = [number(0) * slope(0), number(1) * slope(1)];
                    j
                }
                Source::Quiet(j) => {
                    // One selector term is w, the other (1 - w) x absent: the fault is absent in the
                    // part of the second that does not hold w.
                    let absent = reduced.faults[j].leak[0];
                    let half = input.value_of.iter().filter(|&&v| v == 1).count();
                    let stride = input.value_of.iter().position(|&v| v == 1).unwrap_or(half);
                    for i in (0..input.values.len()).filter(|&i| input.value_of[i] == 0) {
                        let (present, spared) = (slope(i), absent * slope(i + stride));
                        mass[0] += spared;
                        mass[1] += number(i) * (present - spared).max(0.0);
                    }
                    j
                }
                Source::Factor(_) | Source::Leak(_) | Source::Digit(_) | Source::Fixed => continue,
            };
            let sum = mass[0] + mass[1];
            out[j] = if sum > 0.0 { mass[1] / sum } else { 0.0 };
        }
        out
    }

    /// Distribution of each open factor over its live states.
    pub fn root_marginals(&self, numbers: &[Lanes<1>], slopes: &[Lanes<1>]) -> Vec<(usize, Vec<f64>)> {
        let mut out = Vec::new();
        for input in &self.inputs {
            let Source::Factor(j) = input.source else { continue };
            let span = input.at..input.at + input.values.len();
            let masses: Vec<f64> = span.map(|i| numbers[i].0[0] * slopes[i].0[0]).collect();
            let sum: f64 = masses.iter().sum();
            out.push((j, masses.iter().map(|m| if sum > 0.0 { m / sum } else { 0.0 }).collect()));
        }
        out
    }
}

/// One number of an input; `tilt` multiplies the weight of its fault.
fn value(reduced: &Reduced, input: &Input, i: usize, tilt: f64) -> f64 {
    let state = usize::from(input.value_of[i]);
    match input.source {
        Source::Fixed => input.values[i],
        Source::Factor(j) => reduced.roots[j].weight[state],
        Source::Leak(j) => reduced.faults[j].leak[state],
        Source::Digit(n) => reduced.digits[n].leak[state] * input.values[i],
        Source::Fault(j) => {
            let fault = &reduced.faults[j];
            let leak = if fault.has_causes() { 1.0 } else { fault.leak[state] };
            if state == 0 { leak } else { leak * (fault.weight * tilt) }
        }
        Source::Quiet(j) => {
            let present = input.values[i] * (reduced.faults[j].weight * tilt);
            if state == 0 { present } else { reduced.faults[j].leak[0] * (1.0 - present) }
        }
    }
}
