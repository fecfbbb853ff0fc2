//! The one place where a style becomes a colour: the terminal's own 4-bit palette, so that its theme
//! decides what it looks like.

use colored::{ColoredString, Colorize};

use super::{Span, Style, Styled};

/// Appends a line, without trailing blanks.
pub(super) fn line(line: &Styled, colour: bool, out: &mut String) {
    let plain = line.to_string();
    let mut left = plain.trim_end().len();
    for span in &line.0 {
        let text = span.text.get(..left.min(span.text.len())).unwrap_or_default();
        left -= text.len();
        match colour {
            true if !text.is_empty() => out.push_str(&paint(&Span::new(span.style, text)).to_string()),
            _ => out.push_str(text),
        }
    }
}

fn paint(span: &Span) -> ColoredString {
    // The page has decided; the library's own guess from the environment must not undo it.
    colored::control::set_override(true);
    let text = span.text.as_str();
    match span.style {
        Style::Plain => text.normal(),
        Style::Heading => text.cyan().bold(),
        Style::Strong => text.bold(),
        Style::Fault => text.magenta().bold(),
        Style::Good => text.green(),
        Style::Warn => text.yellow(),
        Style::Muted => text.dimmed(),
        Style::Caution => text.red().bold(),
    }
}
