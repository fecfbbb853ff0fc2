//! Text from outside made harmless, and text for terminals that know letters only.

/// Neutralises what a terminal would obey: control characters and the signs that turn the direction of
/// writing. A tab or a line break becomes a space; the others become visible.
///
/// ```
/// use commsense::present::text::clean;
/// assert_eq!(clean("a\x1b[2Jb\tc\u{202e}d"), "a^[[2Jb c<202E>d");
/// ```
pub fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\t' | '\n' | '\r' | '\u{2028}' | '\u{2029}' => out.push(' '),
            '\0'..='\x1f' => out.extend(['^', char::from(c as u8 + b'@')]),
            '\x7f' => out.push_str("^?"),
            '\u{80}'..='\u{9f}'
            | '\u{200e}'
            | '\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}' => {
                out.push_str(&format!("<{:04X}>", c as u32));
            }
            c => out.push(c),
        }
    }
    out
}

/// Writes common signs in ASCII; letters of any language stay as they are.
pub fn fold(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '·' | '–' | '—' | '−' | '‑' | '•' => out.push('-'),
            '“' | '”' | '„' => out.push('"'),
            '‘' | '’' => out.push('\''),
            '…' => out.push_str("..."),
            '°' => out.push_str(" deg "),
            'µ' | 'μ' => out.push('u'),
            'Ω' | '\u{2126}' => out.push_str("ohm"),
            '×' => out.push('x'),
            '±' => out.push_str("+/-"),
            '≤' => out.push_str("<="),
            '≥' => out.push_str(">="),
            '→' => out.push_str("->"),
            '\u{a0}' | '\u{202f}' | '\u{2009}' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
