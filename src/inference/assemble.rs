//! From leaves and an order to a tape: real tables, their strides, and the triples of each step.

use super::error::InferenceError;
use super::lanes::Lanes;
use super::layout::{Dim, Layout, larger_value};
use super::leaves::{Kind, Leaves, Source, Var};
use super::order::Order;
use super::reduce::Reduced;
use super::tape::{Place, Step, Tape, Triple};

/// Tables are rescaled when their largest number leaves this range.
const COMFORT: f64 = 1e60;

/// Which live numbers a source fills.
#[derive(Debug, Clone)]
pub(super) struct Input {
    pub source: Source,
    pub at: usize,
    /// As in the leaf.
    pub values: Vec<f64>,
    /// For `Quiet`: which of its two terms each number belongs to; else the value of the variable.
    pub value_of: Vec<u8>,
}

/// A tape with its inputs.
#[derive(Debug, Clone, Default)]
pub(super) struct Program {
    pub tape: Tape,
    pub inputs: Vec<Input>,
    /// Live numbers that are inputs: the first ones.
    pub input_len: usize,
    /// log10 of what the tape's shifts and the digits' units took out.
    pub log10_scale: f64,
}

#[derive(Debug, Clone)]
struct Table {
    scope: Vec<u32>,
    place: Place,
    len: usize,
}

struct Assembler<'a> {
    reduced: &'a Reduced,
    vars: &'a [Var],
    position: Vec<u32>,
    tables: Vec<Option<Table>>,
    /// How many tables hold each variable.
    count: Vec<u32>,
    /// Tables that hold or held it.
    held_by: Vec<Vec<usize>>,
    numbers: Vec<Lanes<1>>,
    program: Program,
    limit: usize,
}

/// Compiles the tape; the first forward pass is made on the way, to choose the scales.
pub(super) fn assemble(
    reduced: &Reduced,
    leaves: &Leaves,
    order: &Order,
    limit: usize,
) -> Result<(Program, Vec<Lanes<1>>), InferenceError> {
    let mut position = vec![0; leaves.vars.len()];
    for (i, &v) in order.vars.iter().enumerate() {
        position[v as usize] = 2 * i as u32 + 1;
        if let Some(latch) = leaves.vars[v as usize].latch {
            position[latch as usize] = 2 * i as u32;
        }
    }
    let mut assembler = Assembler {
        reduced,
        vars: &leaves.vars,
        position,
        tables: Vec::new(),
        count: vec![0; leaves.vars.len()],
        held_by: vec![Vec::new(); leaves.vars.len()],
        numbers: Vec::new(),
        program: Program::default(),
        limit,
    };
    assembler.load(leaves);
    for &v in &order.vars {
        assembler.eliminate(v)?;
    }
    assembler.finish()?;
    Ok((assembler.program, assembler.numbers))
}

impl Assembler<'_> {
    fn load(&mut self, leaves: &Leaves) {
        for leaf in &leaves.leaves {
            let mut scope = leaf.scope.clone();
            scope.sort_unstable_by_key(|&v| self.position[v as usize]);
            let order: Vec<usize> = permutation(self.vars, &leaf.scope, &scope);
            let values: Vec<f64> = order.iter().map(|&i| leaf.values[i]).collect();
            let len = values.len();
            let place = if leaf.source == Source::Fixed {
                Place::Constant(self.constant(&values))
            } else {
                // The first variable of a leaf is the one whose value is told apart.
                let stride: usize = leaf.scope[1..].iter().map(|&v| self.vars[v as usize].radix).product();
                let value_of = order.iter().map(|&i| (i / stride) as u8).collect();
                let at = self.program.input_len;
                self.program.input_len += len;
                self.program.inputs.push(Input { source: leaf.source.clone(), at, values, value_of });
                Place::Live(at)
            };
            self.add(Table { scope, place, len });
        }
        self.numbers = vec![Lanes::ZERO; self.program.input_len];
        self.program.fill_base(self.reduced, &mut self.numbers);
        self.program.tape.live = self.program.input_len;
    }

    fn constant(&mut self, values: &[f64]) -> usize {
        self.program.tape.constants.extend_from_slice(values);
        self.program.tape.constants.len() - values.len()
    }

    fn add(&mut self, table: Table) {
        for &v in &table.scope {
            self.count[v as usize] += 1;
            self.held_by[v as usize].push(self.tables.len());
        }
        self.tables.push(Some(table));
    }

    fn take(&mut self, id: usize) -> Option<Table> {
        let table = self.tables[id].take()?;
        for &v in &table.scope {
            self.count[v as usize] -= 1;
        }
        Some(table)
    }

    fn eliminate(&mut self, v: u32) -> Result<(), InferenceError> {
        if let Some(latch) = self.vars[v as usize].latch {
            self.join(latch)?;
        }
        self.join(v)
    }

    /// Combines all tables that hold `v`, constant ones first, then smallest first.
    fn join(&mut self, v: u32) -> Result<(), InferenceError> {
        let mut ids = std::mem::take(&mut self.held_by[v as usize]);
        ids.retain(|&t| self.tables[t].is_some());
        // Products of constants cost nothing later, so they come first.
        ids.sort_by_key(|&t| {
            self.tables[t].as_ref().map_or((false, 0), |t| (matches!(t.place, Place::Live(_)), t.len))
        });
        let mut ids = ids.into_iter();
        let Some(mut held) = ids.next().and_then(|id| self.take(id)) else { return Ok(()) };
        let mut combined = false;
        for id in ids {
            let Some(next) = self.take(id) else { continue };
            held = self.combine(held, next)?;
            combined = true;
        }
        if !combined && self.is_complete(v) {
            held = self.close_alone(held)?;
        }
        self.add(held);
        Ok(())
    }

    /// True if no table left holds the variable: the ones at hand are all.
    fn is_complete(&self, v: u32) -> bool {
        self.count[v as usize] == 0
    }

    /// Multiplies what has become scalar.
    fn finish(&mut self) -> Result<(), InferenceError> {
        let mut held: Option<Table> = None;
        for id in 0..self.tables.len() {
            let Some(next) = self.take(id) else { continue };
            held = Some(match held {
                None => next,
                Some(held) => self.combine(held, next)?,
            });
        }
        self.program.tape.result = held.map(|t| t.place);
        Ok(())
    }

    fn one(&mut self) -> Table {
        let place = Place::Constant(self.constant(&[1.0]));
        Table { scope: Vec::new(), place, len: 1 }
    }

    /// Sums out or closes the complete variables of a single table.
    fn close_alone(&mut self, table: Table) -> Result<Table, InferenceError> {
        let one = self.one();
        self.combine(table, one)
    }

    /// Combines two tables and closes every variable that no other table holds.
    fn combine(&mut self, mut a: Table, mut b: Table) -> Result<Table, InferenceError> {
        if a.len < b.len {
            std::mem::swap(&mut a, &mut b);
        }
        let shared: Vec<u32> = (a.scope.iter().copied())
            .filter(|v| self.vars[*v as usize].kind != Kind::Plain && b.scope.contains(v))
            .collect();
        // Cumulative sums of shared digits, beside their values.
        let (mut a_wide, mut b_wide) = (Vec::new(), Vec::new());
        for &v in &shared {
            b = self.widen(b, v, &b_wide)?;
            b_wide.push(v);
            if self.vars[v as usize].radix > 2 {
                a = self.widen(a, v, &a_wide)?;
                a_wide.push(v);
            }
        }
        let mut scope: Vec<u32> = a.scope.iter().chain(&b.scope).copied().collect();
        scope.sort_unstable_by_key(|&v| self.position[v as usize]);
        scope.dedup();
        let kept = |s: &Self, v: u32| match s.vars[v as usize].kind {
            Kind::Latch(_) => true,
            Kind::Digit(i) => !s.is_complete(v) || !s.reduced.digits[i].is_hard(),
            Kind::Plain => {
                !s.is_complete(v) || s.vars[v as usize].latch.is_some_and(|l| !s.is_gone(l, &scope))
            }
        };
        let out: Vec<u32> = scope.iter().copied().filter(|&v| kept(self, v)).collect();
        // From the innermost variable outwards; all scopes are in one order.
        let mut walks = [Walk::new(&a.scope), Walk::new(&b.scope), Walk::new(&out)];
        let mut dims = Vec::with_capacity(scope.len());
        for &v in scope.iter().rev() {
            let radix = self.vars[v as usize].radix;
            let extents = [self.extent(v, &a_wide), self.extent(v, &b_wide), radix];
            let mut stride = [0; 3];
            for ((stride, walk), extent) in stride.iter_mut().zip(&mut walks).zip(extents) {
                *stride = walk.stride(v, extent);
            }
            let closes = stride[2] == 0;
            let plain = self.vars[v as usize].kind == Kind::Plain;
            dims.push(if plain || (!shared.contains(&v) && !closes) {
                Dim::Straight(stride, radix)
            } else if shared.contains(&v) {
                Dim::Listed(larger_value(stride, radix, closes))
            } else {
                let top = radix as u32 - 1;
                Dim::Listed(vec![[top * stride[0], top * stride[1], 0]])
            });
        }
        let len = out.iter().map(|&v| self.vars[v as usize].radix).product();
        for &v in scope.iter().filter(|v| !out.contains(v)) {
            self.account(v);
        }
        let place = self.emit(&a, &b, len, &dims)?;
        self.settle(Table { scope: out, place, len })
    }

    /// True if the variable is neither in another table nor in the tables at hand.
    fn is_gone(&self, v: u32, at_hand: &[u32]) -> bool {
        self.is_complete(v) && !at_hand.contains(&v)
    }

    /// Book-keeping for a hard answer whose highest value was just selected.
    fn account(&mut self, v: u32) {
        if let Kind::Digit(i) = self.vars[v as usize].kind {
            let digit = &self.reduced.digits[i];
            let top = digit.unit.len() - 1;
            self.program.log10_scale += (digit.unit[top] * digit.weight[top]).log10();
        }
    }

    /// Turns finished latches into their faults and weighs finished soft answers.
    fn settle(&mut self, mut table: Table) -> Result<Table, InferenceError> {
        let mut again = false;
        for v in table.scope.clone() {
            if !self.is_complete(v) {
                continue;
            }
            match self.vars[v as usize].kind {
                Kind::Plain => {}
                Kind::Digit(i) => {
                    let digit = &self.reduced.digits[i];
                    let weights: Vec<f64> =
                        digit.weight.iter().zip(&digit.unit).map(|(w, u)| w * u).collect();
                    let place = Place::Constant(self.constant(&weights));
                    let stride = self.stride_in(&table.scope, v);
                    let out: Vec<u32> = table.scope.iter().copied().filter(|&u| u != v).collect();
                    let dims = self.dims_of_one(&table, &out, v, |k| [k * stride, k, 0]);
                    let len = table.len / weights.len();
                    let weigher = Table { scope: vec![v], place, len: weights.len() };
                    let place = self.emit(&table, &weigher, len, &dims)?;
                    table = Table { scope: out, place, len };
                }
                Kind::Latch(plain) if table.scope.contains(&plain) => {
                    // Both halves in one table: keep the entries where they agree.
                    let (s, t) = (self.stride_in(&table.scope, v), self.stride_in(&table.scope, plain));
                    let out: Vec<u32> = table.scope.iter().copied().filter(|&u| u != v).collect();
                    let to = self.stride_in(&out, plain);
                    let mut dims = self.dims_of_one(&table, &out, v, |k| [k * (s + t), 0, k * to]);
                    let skip = table.scope.iter().rev().position(|&u| u == plain);
                    if let Some(skip) = skip {
                        dims.remove(skip);
                    }
                    let one = self.one();
                    let len = table.len / 2;
                    let place = self.emit(&table, &one, len, &dims)?;
                    table = Table { scope: out, place, len };
                    again = true;
                }
                Kind::Latch(plain) => {
                    // Its position is just before its fault's, so the layout stays.
                    for u in table.scope.iter_mut().filter(|u| **u == v) {
                        *u = plain;
                    }
                    again = true;
                }
            }
        }
        let closes = |s: &Self, v: u32| s.vars[v as usize].kind == Kind::Plain && s.is_complete(v);
        if again && table.scope.iter().any(|&v| closes(self, v)) {
            return self.close_alone(table);
        }
        Ok(table)
    }

    /// Dims, the innermost first, of a table where one variable is treated by `special` and the others stay.
    fn dims_of_one(&self, table: &Table, out: &[u32], v: u32, special: impl Fn(u32) -> Triple) -> Vec<Dim> {
        let radix = |v: u32| self.vars[v as usize].radix;
        let entry = |&u: &u32| {
            if u == v {
                Dim::Listed((0..radix(v) as u32).map(&special).collect())
            } else {
                let strides = [self.stride_in(&table.scope, u), 0, self.stride_in(out, u)];
                Dim::Straight(strides, radix(u))
            }
        };
        table.scope.iter().rev().map(entry).collect()
    }

    fn stride_in(&self, scope: &[u32], v: u32) -> u32 {
        let at = scope.iter().position(|&u| u == v).unwrap_or(scope.len());
        scope.iter().skip(at + 1).map(|&u| self.vars[u as usize].radix as u32).product()
    }

    /// Number of values along a variable, with its cumulative sums if widened.
    fn extent(&self, v: u32, wide: &[u32]) -> usize {
        let radix = self.vars[v as usize].radix;
        if wide.contains(&v) { 2 * radix - 1 } else { radix }
    }

    fn strides(&self, scope: &[u32], wide: &[u32]) -> Vec<u32> {
        let mut strides = vec![1; scope.len()];
        for i in (0..scope.len().saturating_sub(1)).rev() {
            strides[i] = strides[i + 1] * self.extent(scope[i + 1], wide) as u32;
        }
        strides
    }

    /// Puts the cumulative sums G_1.. behind the values g_0.. of a digit.
    fn widen(&mut self, table: Table, v: u32, wide: &[u32]) -> Result<Table, InferenceError> {
        let radix = self.vars[v as usize].radix;
        let units = match self.vars[v as usize].kind {
            Kind::Digit(i) => self.reduced.digits[i].unit.clone(),
            _ => vec![1.0; radix],
        };
        let mut coefficients = vec![1.0];
        coefficients.extend(units);
        let place = Place::Constant(self.constant(&coefficients));
        let now: Vec<u32> = wide.iter().copied().chain([v]).collect();
        let (from, to) = (self.strides(&table.scope, wide), self.strides(&table.scope, &now));
        let mut dims = Vec::with_capacity(table.scope.len());
        for (i, &u) in table.scope.iter().enumerate().rev() {
            dims.push(if u == v {
                let mut list = Vec::new();
                for k in 0..radix as u32 {
                    list.push([k * from[i], 0, k * to[i]]);
                    for sum in k.max(1)..radix as u32 {
                        list.push([k * from[i], 1 + k, (radix as u32 - 1 + sum) * to[i]]);
                    }
                }
                Dim::Listed(list)
            } else {
                Dim::Straight([from[i], 0, to[i]], self.extent(u, wide))
            });
        }
        let len = table.len / radix * (2 * radix - 1);
        let weigher = Table { scope: Vec::new(), place, len: coefficients.len() };
        let place = self.emit(&table, &weigher, len, &dims)?;
        Ok(Table { scope: table.scope, place, len })
    }

    /// Adds a step to the tape and runs it; products of constants are folded at once.
    fn emit(&mut self, a: &Table, b: &Table, len: usize, dims: &[Dim]) -> Result<Place, InferenceError> {
        // Counted before anything of that size is allocated.
        let total: f64 = dims.iter().map(|d| d.len() as f64).product();
        let used = self.program.tape.operations as f64 + total;
        if used > self.limit as f64 || self.program.tape.live + len > u32::MAX as usize {
            return Err(InferenceError::TooLarge { operations: used, limit: self.limit as f64 });
        }
        let start = self.program.tape.triples.len();
        let layout = Layout::new(dims, &mut self.program.tape.triples);
        if let (Place::Constant(x), Place::Constant(y)) = (a.place, b.place) {
            let mut values = vec![0.0; len];
            let tape = &mut self.program.tape;
            let constants = &tape.constants;
            for p in &tape.triples[layout.outer] {
                for q in &tape.triples[layout.inner.clone()] {
                    let at = |column: usize| (p[column] + q[column]) as usize;
                    for i in 0..layout.run {
                        let step = |column: usize| if layout.advance[column] { i } else { 0 };
                        values[at(2) + step(2)] +=
                            constants[x + at(0) + step(0)] * constants[y + at(1) + step(1)];
                    }
                }
            }
            tape.triples.truncate(start);
            return Ok(Place::Constant(self.constant(&values)));
        }
        let tape = &mut self.program.tape;
        tape.operations = used as usize;
        let mut step = Step {
            a: a.place,
            b: b.place,
            a_len: a.len,
            b_len: b.len,
            c: tape.live,
            c_len: len,
            shift: 1.0,
            outer: layout.outer,
            inner: layout.inner,
            run: layout.run,
            advance: layout.advance,
        };
        tape.live += len;
        self.numbers.resize(tape.live, Lanes::ZERO);
        tape.step(&step, &mut self.numbers);
        let made = &mut self.numbers[step.c..];
        let largest = made.iter().map(|x| x.0[0]).fold(0.0, f64::max);
        if largest > 0.0 && !(1.0 / COMFORT..=COMFORT).contains(&largest) {
            let exponent = largest.log2().round();
            step.shift = (-exponent).exp2();
            made.iter_mut().for_each(|x| x.0[0] *= step.shift);
            self.program.log10_scale += exponent * std::f64::consts::LOG10_2;
        }
        let place = Place::Live(step.c);
        tape.steps.push(step);
        Ok(place)
    }
}

/// The strides of a table's variables, asked for from the innermost one outwards.
struct Walk<'a> {
    left: &'a [u32],
    stride: u32,
}

impl<'a> Walk<'a> {
    fn new(scope: &'a [u32]) -> Self {
        Walk { left: scope, stride: 1 }
    }

    /// 0 if the table does not hold the variable.
    fn stride(&mut self, v: u32, extent: usize) -> u32 {
        match self.left.split_last() {
            Some((&last, left)) if last == v => {
                self.left = left;
                let stride = self.stride;
                self.stride *= extent as u32;
                stride
            }
            _ => 0,
        }
    }
}

/// Index in the leaf's own layout for each entry of the sorted layout.
fn permutation(vars: &[Var], from: &[u32], to: &[u32]) -> Vec<usize> {
    let mut out = vec![0];
    for &v in to {
        let at = from.iter().position(|&u| u == v).unwrap_or(0);
        let stride: usize = from[at + 1..].iter().map(|&u| vars[u as usize].radix).product();
        out = out.iter().flat_map(|&o| (0..vars[v as usize].radix).map(move |k| o + k * stride)).collect();
    }
    out
}
