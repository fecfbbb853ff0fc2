//! The examination itself: every consultation of a plan, in parallel.

use rand::SeedableRng;
use rand::seq::IndexedRandom;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::consultation::{Extras, Played, motor_for, play};
use super::marks::Marks;
use super::moves::Moves;
use super::plan::{Condition, Kind, Plan};
use super::sensitivity::{Sensitivity, weigh};
use super::tables::{Confusion, FaultRow, QuestionRow, confusions, faults, questions};
use super::world::perturbed;
use crate::drill::specimen::{Maker, WishError};
use crate::inference::InferenceError;
use crate::plan::assess::Planner;

/// Motors that come from one perturbed world before another one is drawn.
const MOTORS_OF_A_WORLD: usize = 25;

/// What the random numbers of a consultation are for; each use has a stream of its own.
#[derive(Clone, Copy)]
enum Use {
    Motor = 0,
    Answers = 1,
    World = 2,
}

/// The figures under one condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    /// The condition.
    pub condition: Condition,
    /// One for each kind of motor.
    pub marks: Vec<Marks>,
}

/// What an examination has shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// What was examined.
    pub plan: Plan,
    /// The figures under each condition.
    pub papers: Vec<Paper>,
    /// Under the first condition, fault by fault, the worst first.
    pub faults: Vec<FaultRow>,
    /// Which faults were taken for which, the most frequent first.
    pub confusions: Vec<Confusion>,
    /// The questions, the least asked first.
    pub questions: Vec<QuestionRow>,
    /// Which numbers the decisions depend on.
    pub sensitivity: Sensitivity,
}

/// Why there is no result.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ExamError {
    /// There is no motor of one of the kinds.
    #[error("motors of the kind `{}` can't be made: {why}", kind.word())]
    Motor {
        /// The kind.
        kind: Kind,
        /// Why.
        why: WishError,
    },
    /// A motor's own data give no numbers.
    #[error("the data of `{motor}` give no numbers: {why}")]
    Numbers {
        /// Id of the motor.
        motor: String,
        /// Why.
        why: String,
    },
    /// An answer was too long to work out, or impossible.
    #[error(transparent)]
    Inference(#[from] InferenceError),
}

/// Plays all consultations of a plan; calls `done` after each, from any thread, [`Plan::steps`] times altogether.
///
/// The result is the same whatever the number of threads.
///
/// # Errors
/// When motors of a kind can't be made, or the network is too large for exact inference.
pub fn examine(planner: &Planner, plan: &Plan, done: &(dyn Fn() + Sync)) -> Result<Report, ExamError> {
    let scopes = planner.knowledge.scopes.len();
    let moves = Moves::default();
    let mut papers = Vec::new();
    let mut first: Vec<Vec<Played>> = Vec::new();
    for (number, condition) in plan.conditions.iter().enumerate() {
        let mut marks = Vec::new();
        for kind in &plan.kinds {
            let all = consultations(planner, &moves, plan, *kind, condition, number == 0, done)?;
            marks.push(Marks::of(*kind, scopes, &all));
            if number == 0 {
                first.push(all);
            }
        }
        papers.push(Paper { condition: *condition, marks });
    }
    let all: Vec<&Played> = first.iter().flatten().collect();
    let endings: Vec<_> = all.iter().filter_map(|p| p.end.as_ref()).collect();
    Ok(Report {
        plan: plan.clone(),
        faults: faults(&all),
        confusions: confusions(&planner.net, &all),
        questions: questions(planner, &all),
        sensitivity: weigh(planner, &endings, done)?,
        papers,
    })
}

/// The consultations of one kind under one condition, in order; in detail for the first condition.
fn consultations<'k>(
    planner: &Planner<'k>,
    moves: &Moves<'k>,
    plan: &Plan,
    kind: Kind,
    condition: &Condition,
    detailed: bool,
    done: &(dyn Fn() + Sync),
) -> Result<Vec<Played<'k>>, ExamError> {
    let numbers: Vec<usize> = (0..plan.runs).collect();
    let keep = if detailed { plan.recorded_of_each_kind() } else { 0 };
    let no_motor = |why| ExamError::Motor { kind, why };
    let wish = kind.wish();
    let played = |maker: &Maker, number: usize| {
        let mut rng = stream(plan.seed, kind, Use::Motor, number);
        let mut specimen = maker.draw(&mut rng).map_err(no_motor)?;
        if condition.physics
            && let Some(motor) = planner.knowledge.motors.choose(&mut rng)
        {
            let bodied = specimen.physical(planner.knowledge, &planner.net, motor, &mut rng);
            specimen = bodied.map_err(|why| ExamError::Numbers { motor: motor.id.clone(), why })?;
        }
        let mut rng = stream(plan.seed, kind, Use::Answers, number);
        let extras = Extras { keep: number < keep, all_asked: detailed && condition.sigma <= 0.0 };
        let motor = motor_for(planner.knowledge, &planner.net, &specimen);
        let played = play(planner, moves, &specimen, motor, condition.careless, &mut rng, extras)?;
        done();
        Ok(played)
    };
    if condition.sigma <= 0.0 {
        let maker = Maker::new(planner.knowledge, &planner.net, &wish).map_err(no_motor)?;
        return numbers.into_par_iter().map(|number| played(&maker, number)).collect();
    }
    // One after the other within a world; worlds side by side.
    let blocks: Result<Vec<Vec<Played<'k>>>, ExamError> = numbers
        .par_chunks(MOTORS_OF_A_WORLD)
        .map(|block| {
            let mut rng = stream(plan.seed, kind, Use::World, block[0]);
            let world = perturbed(&planner.net, condition.sigma, &mut rng);
            let maker = Maker::new(planner.knowledge, &world, &wish).map_err(no_motor)?;
            block.iter().map(|number| played(&maker, *number)).collect()
        })
        .collect();
    Ok(blocks?.into_iter().flatten().collect())
}

/// The random numbers for one use in one consultation.
fn stream(seed: u64, kind: Kind, of: Use, number: usize) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream((of as u64) << 60 | (kind as u64) << 56 | number as u64);
    rng
}
