//! The nearest known word to one that is not known.

/// Slips that a suggestion may be away; more would suggest nonsense.
const REACH: usize = 3;
/// Longest word that is looked up; no id comes near it, and the time grows with its square.
const LONGEST: usize = 64;

/// The known word nearest to `word`, at most three slips and half of its letters away; ties go to the one
/// that comes first.
pub(super) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let length = word.chars().count();
    if length > LONGEST {
        return None;
    }
    let reach = REACH.min(length / 2);
    let folded = word.trim().to_lowercase();
    let distance = |k: &str| strsim::osa_distance(&folded, &k.to_lowercase());
    known
        .into_iter()
        .map(|k| (distance(k), k))
        .filter(|(d, _)| *d <= reach)
        .min_by_key(|(d, _)| *d)
        .map(|(_, k)| k)
}

/// ` (did you mean ...?)` for a message, or nothing.
pub(super) fn hint(nearest: Option<&str>) -> String {
    nearest.map(|n| format!(" (did you mean `{n}`?)")).unwrap_or_default()
}

/// A text as it may stand in a message: short, on one line, without control characters.
pub(super) fn shown(text: &str) -> String {
    const MOST: usize = 60;
    let short: String =
        text.chars().take(MOST).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    if text.chars().nth(MOST).is_some() { short + "..." } else { short }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_word_is_near() {
        let known = ["power-loss", "clicking", "squeal"];
        assert_eq!(nearest("power-los", known), Some("power-loss"));
        assert_eq!(nearest("Squeel", known), Some("squeal"));
        assert_eq!(nearest("no", known), None);
        assert_eq!(nearest("grinding-noise", known), None);
        assert_eq!(nearest(&"x".repeat(1_000_000), known), None);
    }

    #[test]
    fn shown_text_is_short_and_harmless() {
        assert_eq!(shown("a\u{1b}[31mb\nc"), "a\u{fffd}[31mb\u{fffd}c");
        assert_eq!(shown(&"x".repeat(99)).len(), 63);
    }
}
