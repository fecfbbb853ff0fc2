//! Running a part of a tape again after some of its inputs have changed.
//!
//! Each table is read by one later step, so the steps that depend on an input form a path to the result.

use super::assemble::Program;
use super::lanes::Lanes;
use super::tape::{Place, Tape};

/// What nothing reads: the result.
const NOBODY: u32 = u32::MAX;

/// Which step reads each table.
pub(super) struct Readers {
    /// By the table's start in the live numbers.
    by_start: Vec<u32>,
    /// The steps that were run again, in the order of the tape.
    steps: Vec<u32>,
}

impl Readers {
    pub fn of(tape: &Tape) -> Readers {
        let mut by_start = vec![NOBODY; tape.live];
        for (n, step) in tape.steps.iter().enumerate() {
            for place in [step.a, step.b] {
                if let Place::Live(start) = place {
                    by_start[start] = n as u32;
                }
            }
        }
        Readers { by_start, steps: Vec::new() }
    }

    /// Runs the steps that depend on these inputs (indices), and gives the result of each lane.
    pub fn run_again<const L: usize>(
        &mut self,
        program: &Program,
        inputs: &[usize],
        numbers: &mut [Lanes<L>],
    ) -> Lanes<L> {
        let tape = &program.tape;
        self.steps.clear();
        for &n in inputs {
            let mut reader = self.by_start[program.inputs[n].at];
            while reader != NOBODY {
                self.steps.push(reader);
                reader = self.by_start[tape.steps[reader as usize].c];
            }
        }
        self.steps.sort_unstable();
        self.steps.dedup();
        for &step in &self.steps {
            tape.step(&tape.steps[step as usize], numbers);
        }
        tape.result_of(numbers)
    }

    /// Puts back what these inputs and the steps that were run again for them have changed.
    pub fn put_back<const L: usize>(
        &self,
        program: &Program,
        inputs: &[usize],
        kept: &[Lanes<L>],
        numbers: &mut [Lanes<L>],
    ) {
        let inputs = inputs.iter().map(|&n| (program.inputs[n].at, program.inputs[n].values.len()));
        let steps = self.steps.iter().map(|&n| &program.tape.steps[n as usize]);
        for (start, len) in inputs.chain(steps.map(|step| (step.c, step.c_len))) {
            numbers[start..start + len].copy_from_slice(&kept[start..start + len]);
        }
    }
}
