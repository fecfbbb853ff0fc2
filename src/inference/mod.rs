//! Exact posteriors from network and evidence.
//!
//! The network is two-valued faults under multi-valued factors, with graded observations below
//! (noisy-OR and noisy-MAX throughout). Posteriors are exact, over unanswered factors too, and are computed without any
//! subtraction that could cancel: twenty rare findings that are not normal are no harder on the digits than two.
//!
//! The way there:
//!
//! 1. `reduce`: answered factors are folded into the leaks of what they cause. A normal outcome only
//!    multiplies the weights of its causes. Any other answer becomes one digit: for a plain answer the bit "somebody
//!    reached this level", for a soft one as many values as there are runs of levels with different
//!    weights.
//! 2. `leaves`: small tables over faults, factors and digits. Tables that share a digit are combined
//!    by the larger value of independent draws, with positive numbers only.
//! 3. `order`: an order of elimination by simulated table sizes, within a budget.
//! 4. `assemble` and `tape`: a flat list of multiply-adds. One forward pass gives the probability of the evidence, one
//!    reverse pass every posterior.
//! 5. `engine`: an imagined outcome "at most k" only multiplies weights of causes, so every question
//!    is the same tape with other inputs, eight side by side.
//! 6. `leave_out`: an answer taken back, and a factor supposed to be in another state, are the same tape with other
//!    inputs as well: every answer's weight of evidence in one or two passes.
//! 7. `draws` and `estimate`: where a hundred questions on a long tape would take too long, motors drawn from the exact
//!    posterior rank them in a few milliseconds. Only for ranking; posteriors are always exact.
//!
//! References: Heckerman (UAI 1989), the two-level special case and its exponential in the positive
//! findings; Zhang & Poole (JAIR 5, 1996), elimination with a combination operator for causes that act independently; Zhang & Yan
//! (Int. J. Approx. Reasoning 1997), the same in clique trees; Takikawa & D'Ambrosio (UAI 1999) and
//! Diez & Galan (Int. J. Intelligent Systems 18, 2003), factorisations of noisy-MAX; Darwiche (J. ACM 50, 2003),
//! posteriors as derivatives.

mod assemble;
mod check;
mod clash;
mod draws;
mod engine;
mod error;
mod estimate;
mod explain;
mod inputs;
mod joint;
mod lanes;
mod layout;
mod leave_out;
mod leaves;
mod order;
mod questions;
mod readers;
mod reduce;
mod tape;

pub use draws::Draws;
pub use engine::{Engine, Posterior, Prediction, Question};
pub use error::{InferenceError, Limits};
pub use estimate::Cleared;
pub use explain::{Weight, conflict, conflict_with, singles, weights_of_evidence, weights_of_evidence_for};
pub use leave_out::{LeftOut, leave_one_out};
