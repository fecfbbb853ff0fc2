//! The number at the front of a quantity, as people write it.
//!
//! A point is always the decimal sign. A single comma is the decimal sign too, except where it could as
//! well set off thousands (`1,000`): that is refused, because guessing wrong is a factor of a thousand.
//! Thousands may be set off by spaces, apostrophes, or whichever of comma and point is not the decimal
//! sign, as long as every group has three digits (`20 000`, `1,234.5`, `1.234,5`).

/// A number cut from the front of a text.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Number<'a> {
    /// Its value, how it was written, and the text after it.
    Read { value: f64, written: &'a str, rest: &'a str },
    /// One comma with three digits after it: the two ways to read it, and the text after it.
    Ambiguous { written: &'a str, thousands: String, decimal: String, rest: &'a str },
    /// The text does not begin with a number, or with one whose grouping makes no sense.
    Not,
}

/// Cuts the number from the front of `text`, which has no space at its front.
pub(super) fn cut(text: &str) -> Number<'_> {
    let (negative, body) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(body) => (true, body),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let mantissa = mantissa_length(body);
    let end = mantissa + exponent_length(&body[mantissa..]);
    let rest = body[end..].trim();
    let written = text[..text.len() - body.len() + end].trim();
    let sign = if negative { "-" } else { "" };
    match plain(&body[..mantissa]) {
        Plain::One(digits) => match format!("{sign}{digits}{}", &body[mantissa..end]).parse::<f64>() {
            Ok(value) => Number::Read { value, written, rest },
            Err(_) => Number::Not,
        },
        Plain::Two { thousands, decimal } => Number::Ambiguous {
            written,
            thousands: format!("{sign}{thousands}"),
            decimal: format!("{sign}{decimal}"),
            rest,
        },
        Plain::None => Number::Not,
    }
}

fn is_space(c: char) -> bool {
    matches!(c, ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' | '\'' | '\u{2019}')
}

/// Bytes of digits and separators at the front of `text`. A separator counts only before a digit, so
/// that the space before a unit is left alone; a point may also end the number.
fn mantissa_length(text: &str) -> usize {
    let mut end = 0;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let digit_follows = chars.peek().is_some_and(|(_, n)| n.is_ascii_digit());
        let counts = match c {
            '0'..='9' => true,
            '.' | ',' => digit_follows || (c == '.' && at > 0),
            c if is_space(c) => digit_follows && at > 0,
            _ => false,
        };
        if !counts {
            break;
        }
        end = at + c.len_utf8();
        if c == '.' && !digit_follows {
            break;
        }
    }
    end
}

/// Bytes of an exponent such as `e-3` at the front of `text`; 0 when there is none.
fn exponent_length(text: &str) -> usize {
    let Some(after) = text.strip_prefix(['e', 'E']) else { return 0 };
    let digits = after.strip_prefix(['-', '+']).unwrap_or(after);
    let count = digits.bytes().take_while(u8::is_ascii_digit).count();
    if count == 0 { 0 } else { text.len() - digits.len() + count }
}

enum Plain {
    /// Digits with at most one point.
    One(String),
    Two {
        thousands: String,
        decimal: String,
    },
    None,
}

/// Takes the separators out of digits.
fn plain(written: &str) -> Plain {
    if !written.bytes().any(|b| b.is_ascii_digit()) {
        return Plain::None;
    }
    let marks: Vec<char> = written.chars().filter(|c| matches!(c, '.' | ',')).collect();
    let alike = marks.windows(2).all(|w| w[0] == w[1]);
    // Which mark, if any, is the decimal sign: the last one, unless the same mark repeats.
    let decimal = marks.last().filter(|_| marks.len() == 1 || !alike);
    let Some(decimal) = decimal else { return grouped(written).map_or(Plain::None, Plain::One) };
    let Some((whole, fraction)) = written.rsplit_once(*decimal) else { return Plain::None };
    if whole.contains(*decimal) || !fraction.bytes().all(|b| b.is_ascii_digit()) {
        return Plain::None;
    }
    let whole_digits = if whole.is_empty() { Some("0".to_owned()) } else { grouped(whole) };
    let Some(whole_digits) = whole_digits else { return Plain::None };
    let read = if fraction.is_empty() { whole_digits } else { format!("{whole_digits}.{fraction}") };
    let could_be_thousands = *decimal == ','
        && fraction.len() == 3
        && (1..=3).contains(&whole.len())
        && whole.bytes().all(|b| b.is_ascii_digit())
        && !whole.starts_with('0');
    if could_be_thousands {
        return Plain::Two { thousands: format!("{whole}{fraction}"), decimal: read };
    }
    Plain::One(read)
}

/// The digits of a whole number; none unless its groups, if any, have three digits after the first and
/// one separator throughout.
fn grouped(whole: &str) -> Option<String> {
    let separators: Vec<char> = whole.chars().filter(|c| !c.is_ascii_digit()).collect();
    if separators.windows(2).any(|w| w[0] != w[1]) {
        return None;
    }
    let groups: Vec<&str> = whole.split(|c: char| !c.is_ascii_digit()).collect();
    let sound = match groups[..] {
        [one] => !one.is_empty(),
        [first, ref others @ ..] => (1..=3).contains(&first.len()) && others.iter().all(|g| g.len() == 3),
        [] => false,
    };
    sound.then(|| groups.concat())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn value(text: &str) -> Option<f64> {
        match cut(text) {
            Number::Read { value, .. } => Some(value),
            _ => None,
        }
    }

    #[test]
    fn numbers_as_people_write_them() {
        for (text, want) in [
            ("2.4", 2.4),
            ("2,4", 2.4),
            ("-2.4", -2.4),
            ("\u{2212}2,4", -2.4),
            ("+7", 7.0),
            (".5", 0.5),
            ("5.", 5.0),
            ("0,287", 0.287),
            ("1,2345", 1.2345),
            ("1.234", 1.234),
            ("20 000", 20000.0),
            ("20\u{202f}000", 20000.0),
            ("20'000", 20000.0),
            ("1,234.5", 1234.5),
            ("1.234,5", 1234.5),
            ("1,000,000", 1e6),
            ("1 234,567", 1234.567),
            ("1e3", 1000.0),
            ("1.2E-3", 0.0012),
        ] {
            assert_eq!(value(text), Some(want), "{text}");
        }
    }

    #[test]
    fn what_is_no_number() {
        for text in ["", "A", "nan", "inf", "-", ".", "1.2.3", "1,2,3", "2 4", "1,23.4,5", "--2", "10,00.5"] {
            assert_eq!(cut(text), Number::Not, "{text}");
        }
    }

    #[test]
    fn comma_before_three_digits_has_two_readings() {
        for (text, thousands, decimal) in [("1,000", "1000", "1.000"), ("-20,500", "-20500", "-20.500")] {
            match cut(text) {
                Number::Ambiguous { thousands: t, decimal: d, .. } => {
                    assert_eq!((&*t, &*d), (thousands, decimal))
                }
                other => panic!("{text}: {other:?}"),
            }
        }
    }

    #[test]
    fn what_follows_is_the_unit() {
        for (text, unit) in
            [("20 000 rpm", "rpm"), ("5%", "%"), ("2.4e A", "e A"), ("5. V", "V"), ("3e2mm", "mm")]
        {
            assert!(matches!(cut(text), Number::Read { rest, .. } if rest == unit), "{text}");
        }
    }
}
