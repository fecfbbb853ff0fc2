//! The chance that pieces of work clear the motor, for every answer to a question.
//!
//! The pieces of work stand side by side in the lanes, with the motor as it is in the first one, and go through the
//! tape once. An imagined answer then changes only the inputs of its causes: only the steps that depend on them are
//! run again, and put back afterwards.

use super::engine::{Engine, Question, TOO_RARE, WIDE_MEMORY, WIDTH};
use super::inputs::Tilt;
use super::lanes::Lanes;
use super::readers::Readers;

/// Lanes for few pieces of work.
const NARROW: usize = 4;
/// Lanes for more of them than [`WIDTH`] has room for.
const BROAD: usize = 12;

/// What several pieces of work come to under one imagined answer.
#[derive(Debug, Clone, Default)]
struct Joint {
    /// The chance of the answer.
    chance: f64,
    /// For each piece of work, the chance of the answer and of a clear motor.
    cleared: Vec<f64>,
}

impl Engine {
    /// [`Engine::chance_cleared`], and for several groups [`Engine::chance_cleared_given`], with the answers to a
    /// group as in [`Engine::predict_together`].
    pub fn chance_cleared_together(
        &self,
        groups: &[&[Question]],
        clears: &[Vec<f64>],
    ) -> (Vec<f64>, Vec<Vec<Vec<f64>>>) {
        let levels: Vec<Vec<Tilt>> = groups.iter().map(|group| self.levels(group)).collect();
        let flat: Vec<&Tilt> = levels.iter().flatten().collect();
        let (now, joint) = if self.program.tape.live > WIDE_MEMORY {
            self.joint::<1>(clears, &flat)
        } else {
            // The motor as it is takes a lane beside the pieces of work. All in one pass, if they find room.
            match clears.len() + 1 {
                lanes if lanes <= NARROW => self.joint::<NARROW>(clears, &flat),
                lanes if lanes <= WIDTH => self.joint::<WIDTH>(clears, &flat),
                _ => self.joint::<BROAD>(clears, &flat),
            }
        };
        let mut joint = joint.into_iter();
        let mut out = Vec::with_capacity(groups.len());
        for (&group, levels) in groups.iter().zip(&levels) {
            let here: Vec<Joint> = joint.by_ref().take(levels.len()).collect();
            out.push(match group {
                [Question::Factor(j)] => self.cleared_by_state(*j, &now, &here),
                _ => self.cleared_by_level(self.answers(group), &now, here),
            });
        }
        (now, out)
    }

    fn cleared_by_state(&self, factor: usize, now: &[f64], joint: &[Joint]) -> Vec<Vec<f64>> {
        let mut out = vec![now.to_vec(); self.posterior().factors[factor].len()];
        for (one, &state) in joint.iter().zip(&self.reduced.roots[factor].live) {
            if one.chance > 0.0 {
                out[state] = one.cleared.iter().map(|v| (v / one.chance).clamp(0.0, 1.0)).collect();
            }
        }
        out
    }

    fn cleared_by_level(&self, answers: usize, now: &[f64], joint: Vec<Joint>) -> Vec<Vec<f64>> {
        let mut below = Joint { chance: 0.0, cleared: vec![0.0; now.len()] };
        let top = Joint { chance: 1.0, cleared: now.to_vec() };
        let mut out = Vec::with_capacity(answers);
        for here in joint.into_iter().chain([top]).take(answers) {
            let chance = here.chance - below.chance;
            out.push(if chance < TOO_RARE {
                now.to_vec()
            } else {
                let both = here.cleared.iter().zip(&below.cleared);
                both.map(|(h, b)| ((h - b) / chance).clamp(0.0, 1.0)).collect()
            });
            below = here;
        }
        out
    }

    /// What the pieces of work come to as things are, and under each of the answers.
    fn joint<const L: usize>(&self, clears: &[Vec<f64>], levels: &[&Tilt]) -> (Vec<f64>, Vec<Joint>) {
        let (program, reduced) = (&self.program, &self.reduced);
        let mut readers = Readers::of(program);
        let asis = vec![1.0; reduced.faults.len()];
        let rows: Vec<&[f64]> = std::iter::once(&asis).chain(clears).map(Vec::as_slice).collect();
        let mut now = Vec::with_capacity(rows.len());
        let mut out: Vec<Vec<f64>> = vec![Vec::with_capacity(rows.len()); levels.len()];
        let mut kept = vec![Lanes::<L>::ZERO; program.tape.live];
        for batch in rows.chunks(L) {
            program.fill_base(reduced, &mut kept[..program.input_len]);
            let mut factors = [1.0; L];
            for (lane, row) in batch.iter().enumerate() {
                let tilt = Tilt::clearing(row);
                factors[lane] = program.apply(reduced, &self.entry, &tilt, lane, &mut kept);
            }
            let result = program.tape.forward(&mut kept);
            let share = |lane: usize, factor: f64, result: &Lanes<L>| factor * (result.0[lane] / self.base);
            now.extend((0..batch.len()).map(|lane| share(lane, factors[lane], &result)));
            let mut numbers = kept.clone();
            for (level, out) in levels.iter().zip(&mut out) {
                let mut here = factors;
                let touched =
                    program.apply_beside(reduced, &self.entry, level, batch, &mut here, &mut numbers);
                let result = readers.run_again(program, &touched, &mut numbers);
                out.extend((0..batch.len()).map(|lane| share(lane, here[lane], &result)));
                readers.put_back(program, &touched, &kept, &mut numbers);
            }
        }
        now.remove(0);
        let joint = |mut values: Vec<f64>| Joint { chance: values.remove(0), cleared: values };
        (now, out.into_iter().map(joint).collect())
    }
}
