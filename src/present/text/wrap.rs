//! Breaking lines between words, by the columns that a terminal gives them.

use textwrap::WordSeparator;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::{Span, Styled};

/// Columns of a text on a terminal: wide signs take two, combining marks none.
pub fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// Units that stay on the line of their number.
const UNITS: [&str; 16] =
    ["%", "A", "V", "W", "N", "K", "h", "min", "s", "mm", "in", "ohm", "mohm", "rpm", "deg", "degC"];

/// Breaks a stretch of text into lines of at most `first` columns, then of at most `rest`.
///
/// Words are not split, and a unit stays with its number, unless one is wider than a whole line.
pub fn wrap(text: &Styled, first: usize, rest: usize) -> Vec<Styled> {
    let plain = text.to_string();
    let mut lines = Vec::new();
    let mut start = 0; // of the line
    let mut end = 0; // of its last word
    for (from, to) in words(&plain) {
        let room = |lines: &Vec<Styled>| if lines.is_empty() { first } else { rest }.max(1);
        if start < end && width(&plain[start..to]) > room(&lines) {
            lines.push(cut(text, start, end));
            start = from;
        } else if start == end {
            start = from;
        }
        while width(&plain[start..to]) > room(&lines) {
            let split = fitting(&plain[start..to], room(&lines));
            if split == to - start {
                break;
            }
            lines.push(cut(text, start, start + split));
            start += split;
        }
        end = to;
    }
    if start < end || lines.is_empty() {
        lines.push(cut(text, start, end));
    }
    lines
}

/// The words of a text as byte ranges without the blanks around them.
fn words(plain: &str) -> Vec<(usize, usize)> {
    let mut ranges: Vec<(usize, usize)> = Vec::new();
    let mut at = 0;
    for word in WordSeparator::UnicodeBreakProperties.find_words(plain) {
        let (from, to) = (at, at + word.word.len());
        at = to + word.whitespace.len();
        if from == to {
            continue;
        }
        let unit = word.word.trim_end_matches(['.', ',', ';', ':', ')']);
        match ranges.last_mut() {
            Some(last)
                if UNITS.contains(&unit) && plain[last.0..last.1].ends_with(|c: char| c.is_ascii_digit()) =>
            {
                last.1 = to;
            }
            _ => ranges.push((from, to)),
        }
    }
    ranges
}

/// Bytes of the longest beginning of `word` that fits, at least one sign with its combining marks.
fn fitting(word: &str, room: usize) -> usize {
    let mut best = 0;
    let mut joined = false;
    for (i, c) in word.char_indices().skip(1) {
        let fresh = c.width().unwrap_or(0) > 0 && !joined;
        joined = c == '\u{200d}';
        if fresh {
            if best > 0 && width(&word[..i]) > room {
                return best;
            }
            best = i;
        }
    }
    if best == 0 || width(word) <= room { word.len() } else { best }
}

/// The part of a styled text between two byte positions.
fn cut(text: &Styled, from: usize, to: usize) -> Styled {
    let mut at = 0;
    let mut out = Vec::new();
    for span in &text.0 {
        let (a, b) = (from.max(at), to.min(at + span.text.len()));
        if a < b {
            out.push(Span { style: span.style, text: span.text[a - at..b - at].to_string(), ascii: None });
        }
        at += span.text.len();
    }
    Styled(out)
}
