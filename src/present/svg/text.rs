//! Text in a picture whose fonts are not known: how wide it will be at most, and where it breaks.
//!
//! A picture names only common sans-serif fonts and takes what the viewer has. The table holds, for each
//! printable ASCII character, the greater of its widths in two widespread families (DejaVu Sans and
//! Liberation Sans, the latter with the widths of Helvetica and Arial), in thousandths of the font size.
//! Measured text is therefore too wide rather than too narrow: by about a tenth in the narrower family.

use unicode_width::UnicodeWidthChar;

/// Widths of the characters 32 to 126 in thousandths of the font size.
#[rustfmt::skip]
const ASCII: [u16; 95] = [
    318, 401, 460, 838, 637, 951, 780, 275, 391, 391, 500, 838, 318, 361, 318, 337,
    637, 637, 637, 637, 637, 637, 637, 637, 637, 637, 337, 337, 838, 838, 838, 557,
    1016, 685, 687, 723, 771, 667, 611, 778, 752, 295, 500, 667, 558, 863, 749, 788,
    667, 788, 723, 667, 611, 732, 685, 989, 686, 667, 686, 391, 337, 391, 838, 557,
    500, 613, 635, 550, 635, 616, 353, 635, 634, 278, 278, 580, 278, 975, 634, 612,
    635, 635, 412, 521, 393, 634, 592, 818, 592, 592, 525, 637, 337, 637, 838,
];

/// Width of other characters, for each of the columns that a terminal gives them.
const OTHER: u16 = 800;

/// How much wider bold text is; in both families the whole alphabet grows by less.
const BOLD: f64 = 1.15;

/// A face and size of text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Font {
    /// Size in the units of the picture.
    pub size: f64,
    /// Whether it is bold.
    pub bold: bool,
}

impl Font {
    /// Upright text of this size.
    pub const fn plain(size: f64) -> Font {
        Font { size, bold: false }
    }

    /// Bold text of this size.
    pub const fn bold(size: f64) -> Font {
        Font { size, bold: true }
    }

    /// Height of a line.
    pub fn line(self) -> f64 {
        (self.size * 1.28 * 10.0).round() / 10.0
    }

    /// An upper estimate of the width of one line of text.
    pub fn width(self, text: &str) -> f64 {
        let thousandths: u32 = text.chars().map(char_width).sum();
        f64::from(thousandths) / 1000.0 * self.size * if self.bold { BOLD } else { 1.0 }
    }

    /// Breaks text into lines that are at most `width` wide: at spaces, and inside a word only where it
    /// is wider than a line; a no-break space is part of its word. At least one line; a single character may be wider than asked for.
    pub fn wrap(self, text: &str, width: f64) -> Vec<String> {
        wrap_by(text, |line| self.width(line) <= width)
    }
}

fn char_width(c: char) -> u32 {
    let c = if c == '\u{a0}' { ' ' } else { c };
    match (c as u32).checked_sub(32).and_then(|i| ASCII.get(i as usize)) {
        Some(&w) => u32::from(w),
        None => u32::from(OTHER) * c.width().unwrap_or(0) as u32,
    }
}

/// Breaks text into lines of at most so many characters, at spaces where it can.
pub fn wrap_columns(text: &str, columns: usize) -> Vec<String> {
    wrap_by(text, |line| line.chars().count() <= columns)
}

fn wrap_by(text: &str, fits: impl Fn(&str) -> bool) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in clean(text).split(' ').filter(|w| !w.is_empty()) {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if !fits(&line) && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::replace(&mut line, c.to_string()));
            }
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// Text that any XML and any viewer takes: white space becomes a space; a control character, one that
/// turns the direction of writing, and one that XML forbids become the replacement character.
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\t' | '\n' | '\r' | '\u{2028}' | '\u{2029}' => ' ',
            '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
            '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
            c if c.is_control() => '\u{fffd}',
            c => c,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_fit_and_nothing_is_lost() {
        let font = Font::plain(12.0);
        let text = "Commutator below its minimum diameter donaudampfschifffahrtsgesellschaft";
        for width in [30.0, 80.0, 170.0] {
            let lines = font.wrap(text, width);
            assert!(lines.iter().all(|l| font.width(l) <= width), "{width}: {lines:?}");
            let joined: String = lines.concat();
            assert_eq!(joined.replace(' ', ""), text.replace(' ', ""));
        }
        assert_eq!(font.wrap("", 50.0), [""]);
        assert_eq!(font.wrap("W W", 1.0), ["W", "W"]);
        assert_eq!(font.wrap("low 5\u{a0}%", font.width("low 5")), ["low", "5\u{a0}%"]);
    }

    #[test]
    fn wide_characters_and_bold_count_for_more() {
        assert!(Font::plain(10.0).width("電機") > Font::plain(10.0).width("ab"));
        assert!(Font::bold(10.0).width("ab") > Font::plain(10.0).width("ab"));
        assert_eq!(Font::plain(10.0).width("e\u{301}"), Font::plain(10.0).width("e"));
    }

    #[test]
    fn text_is_made_harmless() {
        assert_eq!(clean("a\u{0}b\tc\u{202e}d"), "a\u{fffd}b c\u{fffd}d");
        assert_eq!(clean("<&\"'"), "<&\"'");
    }
}
