//! What can go wrong before a posterior exists.

/// Why no exact posterior can be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum InferenceError {
    /// A length, index or number of the network or of the evidence is not usable.
    #[error("{0}")]
    Shape(String),
    /// The answers can't all be true in this network.
    #[error("these answers can't all be true together: {}", clash.join(", "))]
    ImpossibleEvidence {
        /// Ids of answered variables that already contradict one another: leave out any one of them and
        /// the others are possible (unless that could not be computed within the limits).
        clash: Vec<String>,
    },
    /// The exact computation would be longer than the caller allows.
    #[error(
        "an exact answer would take about {operations:.1e} operations; the limit is {limit:.1e}. \
         Answer more of the open questions about history, or leave out an abnormal answer"
    )]
    TooLarge {
        /// Estimated multiply-adds of one forward pass.
        operations: f64,
        /// The limit that was given.
        limit: f64,
    },
}

/// How much work one compilation may plan for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Multiply-adds of one forward pass; also bounds the numbers kept in memory. Compiling and running the
    /// default takes about a third of a second. Exact predictions cost three to four passes for each level of each
    /// question: see `Engine::operations` and `Engine::draw`.
    pub max_operations: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Limits { max_operations: 40_000_000 }
    }
}
