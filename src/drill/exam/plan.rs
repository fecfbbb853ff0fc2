//! What is examined: which motors, how many, and under which conditions.

use crate::drill::specimen::Wish;

/// Group of the faults that are not the motor's own.
const OUTSIDE: &str = "outside";

/// A kind of motor that is put on the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Exactly one fault, and something that its owner complains of.
    OneFault,
    /// Exactly two faults, and something that its owner complains of.
    TwoFaults,
    /// No fault at all; what the owner notices has other reasons.
    Healthy,
    /// One fault, and it is not the motor's.
    Outside,
    /// As motors come: any number of faults, also none.
    AsTheyCome,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Kind; 5] =
        [Kind::OneFault, Kind::TwoFaults, Kind::Healthy, Kind::Outside, Kind::AsTheyCome];

    /// The word for it in documents and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Kind::OneFault => "one",
            Kind::TwoFaults => "two",
            Kind::Healthy => "healthy",
            Kind::Outside => "outside",
            Kind::AsTheyCome => "any",
        }
    }

    /// The kind with this word.
    pub fn by_word(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|k| k.word() == word)
    }

    /// What is asked of the motor maker.
    pub(super) fn wish(self) -> Wish {
        match self {
            Kind::OneFault => Wish::count(1),
            Kind::TwoFaults => Wish::count(2),
            Kind::Healthy => Wish::healthy(),
            Kind::Outside => Wish { among: vec![OUTSIDE.into()], ..Wish::count(1) },
            Kind::AsTheyCome => Wish::default(),
        }
    }
}

/// How far the world of the examination is from what the expert takes it to be.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Condition {
    /// The chance that an answer is wrong, 0 to 1; of a wrong answer to a look one entry is wrong.
    pub careless: f64,
    /// Standard deviation, in log-odds (natural), by which every chance of the world departs from the expert's.
    pub sigma: f64,
    /// Whether numbers come from the physics of a motor and not from the network.
    pub physics: bool,
}

impl Condition {
    /// The conditions of a full examination: as it is, strengths off by `sigma`, careless answers, numbers from
    /// physics, and all of it together with 5 % careless ones.
    pub fn all(sigma: f64) -> Vec<Condition> {
        let plain = Condition::default();
        let careless = |careless| Condition { careless, ..plain };
        vec![
            plain,
            Condition { sigma, ..plain },
            careless(0.05),
            careless(0.1),
            careless(0.2),
            Condition { physics: true, ..plain },
            Condition { careless: 0.05, sigma, physics: true },
        ]
    }
}

/// An examination.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Motors of each kind under each condition.
    pub runs: usize,
    /// Seed of everything that is drawn.
    pub seed: u64,
    /// Kinds of motors.
    pub kinds: Vec<Kind>,
    /// Conditions; the first is the one that the detailed tables are about.
    pub conditions: Vec<Condition>,
    /// Of how many recorded consultations the end is thought through again with every number changed.
    pub situations: usize,
}

impl Plan {
    /// Consultations altogether.
    pub fn consultations(&self) -> usize {
        self.runs * self.kinds.len() * self.conditions.len()
    }

    /// Recorded endings that are thought through again: as many of each kind, of the first condition.
    pub(super) fn recorded_of_each_kind(&self) -> usize {
        match (self.kinds.len(), self.conditions.is_empty()) {
            (0, _) | (_, true) => 0,
            (kinds, false) => self.situations.div_ceil(kinds).min(self.runs),
        }
    }

    /// Pieces of work, for showing progress.
    pub fn steps(&self) -> usize {
        self.consultations() + self.recorded_of_each_kind() * self.kinds.len()
    }
}
