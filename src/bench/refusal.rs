//! Why a text is no quantity, in words that say what would be right.

use super::units::Kind;

/// Why a text is not the quantity that was wanted. Its message says what would be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum QuantityError {
    /// The text does not begin with a number.
    #[error("`{text}` is not a number with a unit: write {kind} {advice}, such as `{example}`",
        kind = kind.with_article(), advice = kind.advice(), example = example(*kind))]
    NotANumber {
        /// What was written.
        text: String,
        /// What was wanted.
        kind: Kind,
    },
    /// A comma that may set off thousands or decimals.
    #[error("`{written}` can mean {thousands} or {decimal}: write `{thousands}{unit}` or `{decimal}{unit}`")]
    Ambiguous {
        /// The number as written.
        written: String,
        /// Read with the comma as a thousands mark.
        thousands: String,
        /// Read with the comma as the decimal sign.
        decimal: String,
        /// The unit after it, with a space before it; may be empty.
        unit: String,
    },
    /// There is no unit.
    #[error("`{written}` has no unit: write {kind} {advice}, such as `{written} {unit}`",
        kind = kind.with_article(), advice = kind.advice(), unit = kind.usual_unit())]
    NoUnit {
        /// The number as written.
        written: String,
        /// What was wanted.
        kind: Kind,
    },
    /// No unit is spelled like this.
    #[error("`{unit}` is not a known unit{hint}: write {kind} {advice}",
        hint = nearest.map(|n| format!(" (did you mean `{n}`?)")).unwrap_or_default(),
        kind = kind.with_article(), advice = kind.advice())]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// The nearest known unit, if one is near.
        nearest: Option<&'static str>,
        /// What was wanted.
        kind: Kind,
    },
    /// The unit's capitals decide what it means, and fit neither meaning.
    #[error("`{unit}` can mean {a} or {b}: capitals count here, write `{a}` or `{b}`")]
    EitherUnit {
        /// The unit as written.
        unit: String,
        /// One meaning.
        a: &'static str,
        /// The other.
        b: &'static str,
    },
    /// A quantity, but of another kind.
    #[error("`{text}` is {found}; this reading is {wanted}: write it {advice}",
        found = found.with_article(), wanted = wanted.with_article(), advice = wanted.advice())]
    WrongKind {
        /// What was written.
        text: String,
        /// What it is.
        found: Kind,
        /// What was wanted.
        wanted: Kind,
    },
    /// Kelvin, which at the bench is a difference and not a reading.
    #[error("`{text}` is in kelvin: write a temperature in degC or degF")]
    Kelvin {
        /// What was written.
        text: String,
    },
    /// More than one number.
    #[error("`{text}` holds more than one number: write one number and one unit, such as `{example}`",
        example = example(*kind))]
    Several {
        /// What was written.
        text: String,
        /// What was wanted.
        kind: Kind,
    },
    /// Too great to be held, or colder than absolute zero.
    #[error("`{text}` is no possible {kind}", kind = bare(*kind))]
    Impossible {
        /// What was written.
        text: String,
        /// What was wanted.
        kind: Kind,
    },
}

fn example(kind: Kind) -> String {
    match kind {
        Kind::Ratio => "1.05".to_owned(),
        _ => format!("2.4 {}", kind.usual_unit()),
    }
}

fn bare(kind: Kind) -> &'static str {
    kind.with_article().split_once(' ').map_or("", |(_, name)| name)
}

/// A text as it may stand in a message: short, on one line, without control characters.
pub(super) fn shown(text: &str) -> String {
    const MOST: usize = 40;
    let clean: String =
        text.trim().chars().take(MOST).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    if text.trim().chars().count() > MOST { clean + "..." } else { clean }
}
