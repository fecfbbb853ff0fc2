//! What the figures of an examination mean, a line or two beside each table.

/// By kind of motor.
pub const KINDS: &str = "first: all its faults stand at the head of the list; in three: among the first three. all asked: \
    would stand first if every question of every stage had been asked. asked: questions and looks that were put. cured: \
    chance that the work cures at the first go.";
/// Intervals and standard errors.
pub const INTERVALS: &str = "In brackets: where the true share lies with 95 % confidence. ±: one standard error; the true \
    mean lies within it two times out of three.";
/// Conditions.
pub const CONDITIONS: &str = "one, two: motors with one fault and with two. off: by how many points what is said of the \
    fault named first and what is true differ.";
/// Costs.
pub const COSTS: &str = "In the shop's money. expert: asking (minutes of asking, opening and closing up) and work (with a \
    come-back where it does not cure). all known: for somebody who knows everything beforehand. in hindsight: the rule \
    that turns out cheapest for just these motors, which nobody knows beforehand. all kinds together: as many motors of \
    each kind, as no shop has them; it is no forecast.";
/// Calibration, the table.
pub const SAID: &str =
    "said: mean of the chances that were stated; true: how often it was so; times: statements.";
/// Calibration, the figures.
pub const SCORES: &str = "Brier score: mean squared difference between what is said and what is true, 0 is perfect. It is \
    reliability (how far off what is said is; less is better), less resolution (how well cases are told apart; more is \
    better), plus uncertainty (how mixed the motors are; not the expert's doing). Surprise: how little the truth was \
    expected; 0 bits is not at all, 1 bit is a coin's toss.";
/// Faults one by one.
pub const FAULTS: &str = "drawn: motors with this fault alone. mean place: its place in the list at the end, 1 is the head. \
    asked: questions and looks that were put.";
/// Confusions.
pub const CONFUSIONS: &str = "What happened once is left out. Last column: what was not asked in most of these, and would \
    have told the two apart best.";
/// Questions.
pub const QUESTIONS: &str = "A look is one row: what it answers is worth something together only. worth asking: was worth \
    its minutes at some moment. worth then: what it was expected to save when it was put, in the shop's money.";
/// Numbers.
pub const NUMBERS: &str = "leak: how often it is there without any cause that is written down. prior: how common that \
    history is. cause: how strongly it brings the fault about. shows: how often it shows so.";
