//! Small helpers for messages.

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
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn shown_text_is_short_and_harmless() {
        assert_eq!(shown("a\u{1b}[31mb\nc"), "a\u{fffd}[31mb\u{fffd}c");
        assert_eq!(shown(&"x".repeat(99)).len(), 63);
    }
}
