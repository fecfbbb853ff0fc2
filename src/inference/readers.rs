//! Running a part of a tape again after some of its inputs have changed.
//!
//! Each table is read by one later step, so the steps that depend on an input form a path to the result.

use super::assemble::Program;
use super::lanes::Lanes;
use super::tape::Place;

/// What nothing reads: the result.
const NOBODY: u32 = u32::MAX;

/// Which step reads each table.
pub(super) struct Readers {
    /// By input: the step that reads it.
    of_input: Vec<u32>,
    /// By step: the later one that reads what it makes.
    of_step: Vec<u32>,
    /// By step: whether it has to be run again.
    marked: Vec<bool>,
    /// The steps that were run again, in the order of the tape.
    steps: Vec<u32>,
}

impl Readers {
    pub fn of(program: &Program) -> Readers {
        let tape = &program.tape;
        let mut by_start = vec![NOBODY; tape.live];
        for (n, step) in tape.steps.iter().enumerate() {
            for place in [step.a, step.b] {
                if let Place::Live(start) = place {
                    by_start[start] = n as u32;
                }
            }
        }
        Readers {
            of_input: program.inputs.iter().map(|input| by_start[input.at]).collect(),
            of_step: tape.steps.iter().map(|step| by_start[step.c]).collect(),
            marked: vec![false; tape.steps.len()],
            steps: Vec::new(),
        }
    }

    /// Runs the steps that depend on these inputs (indices), and gives the result of each lane.
    pub fn run_again<const L: usize>(
        &mut self,
        program: &Program,
        inputs: &[usize],
        numbers: &mut [Lanes<L>],
    ) -> Lanes<L> {
        self.marked.fill(false);
        for &n in inputs {
            let mut reader = self.of_input[n];
            // Behind a marked step everything is marked.
            while reader != NOBODY && !self.marked[reader as usize] {
                self.marked[reader as usize] = true;
                reader = self.of_step[reader as usize];
            }
        }
        self.steps.clear();
        let marked = self.marked.iter().enumerate().filter(|(_, marked)| **marked);
        self.steps.extend(marked.map(|(n, _)| n as u32));
        program.tape.forward_some(&self.steps, numbers)
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
