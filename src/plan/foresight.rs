//! How answers are imagined.

use crate::inference::{Cleared, Draws, Engine, Prediction, Question};

/// How answers are imagined: exactly, or where that would take too long, from motors drawn from the exact
/// posterior. What is shown to a person never comes from draws.
pub(super) enum Foresight {
    Exact,
    Drawn(Box<Draws>),
}

impl Foresight {
    /// Beyond this many operations a pass, ninety questions take longer exactly than from draws.
    const EXACT_UP_TO: usize = 25_000;
    /// Motors drawn: a chance of one half is then known to about one and a half in a hundred.
    const DRAWS: usize = 1_000;
    /// Any fixed number: the same case always ranks its questions alike.
    const SEED: u64 = 0x6d6f_746f_7273;

    /// Exact where an engine is small enough.
    pub fn of(engine: &Engine) -> Self {
        if engine.operations() <= Self::EXACT_UP_TO {
            return Foresight::Exact;
        }
        Foresight::Drawn(Box::new(engine.draw(Self::DRAWS, Self::SEED)))
    }

    /// The answers to expect from several questions, each a group that is answered at one go.
    pub fn predict(&self, engine: &Engine, groups: &[&[Question]]) -> Vec<Prediction> {
        match self {
            Foresight::Exact => engine.predict_together(groups),
            Foresight::Drawn(draws) => engine.predict_together_from(draws, groups),
        }
    }

    /// The chance that each row of chances clears the motor, always exact; and the same for each question and
    /// each answer to it.
    pub fn cleared_given(
        &self,
        engine: &Engine,
        groups: &[&[Question]],
        clears: &[Vec<f64>],
    ) -> (Vec<f64>, Vec<Vec<Vec<f64>>>) {
        match self {
            Foresight::Exact => engine.chance_cleared_together(groups, clears),
            Foresight::Drawn(draws) => {
                let cleared = Cleared::of(draws, clears);
                let given = groups.iter().map(|g| engine.chance_cleared_together_from(draws, g, &cleared));
                (engine.chance_cleared(clears), given.collect())
            }
        }
    }
}
