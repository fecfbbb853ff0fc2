//! Shims as people write them.

use crate::bench::end_play::Shims;
use crate::bench::{self, Kind};

/// The most pieces of one thickness; more are a slip of the finger.
const MOST: usize = 1000;

/// What stands between thickness and number.
const SIGNS: [char; 4] = ['x', 'X', '×', '*'];

/// Reads a list of shims: `0.1 mm x4, 0.2 mm x4, 0.5 mm`, `4 x 0.1 mm`, `none`. A unit said only at the end
/// holds for all.
///
/// # Errors
/// A sentence about the first that can't be read.
pub fn shims(text: &str) -> Result<Vec<Shims>, String> {
    if text.trim().eq_ignore_ascii_case("none") {
        return Ok(Vec::new());
    }
    let parts: Vec<(String, usize)> = split(text).iter().map(|p| counted(p)).collect::<Result<_, _>>()?;
    let Some((last, _)) = parts.last() else {
        return Err("nothing is written; write shims such as `0.1 mm x4, 0.5 mm`, or `none`".into());
    };
    let unit = last.trim_start_matches(|c: char| c.is_ascii_digit() || "+-., ".contains(c)).to_owned();
    let read = |(thickness, pieces): &(String, usize)| {
        let bare =
            !thickness.is_empty() && thickness.chars().all(|c| c.is_ascii_digit() || "+-., ".contains(c));
        let written = if bare { format!("{thickness} {unit}") } else { thickness.clone() };
        let thickness = bench::read(Kind::Length, &written).map_err(|e| e.to_string())?;
        Ok(Shims { thickness, pieces: *pieces })
    };
    parts.iter().map(read).collect()
}

/// Cuts a list of shims into its parts. A comma between digits is decimal, except after a number of pieces
/// that follows a thickness with its unit: `0.1 mm x4,0.2 mm x4` are two parts.
fn split(text: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    let chars: Vec<char> = text.chars().collect();
    for (i, c) in chars.iter().enumerate() {
        let digit = |at: Option<usize>| at.and_then(|at| chars.get(at)).is_some_and(char::is_ascii_digit);
        let part = parts.last().map_or("", String::as_str);
        let counted = part.rsplit_once(SIGNS).is_some_and(|(before, _)| has_unit(before));
        let decimal = *c == ',' && digit(i.checked_sub(1)) && digit(Some(i + 1)) && !counted;
        match c {
            ';' | '\n' => parts.push(String::new()),
            ',' if !decimal => parts.push(String::new()),
            _ => parts.last_mut().into_iter().for_each(|p| p.push(*c)),
        }
    }
    parts.iter().map(|p| p.trim().to_owned()).filter(|p| !p.is_empty()).collect()
}

/// Whether a thickness is written with its unit.
fn has_unit(text: &str) -> bool {
    text.contains(|c: char| c.is_alphabetic() || c == '"')
}

/// Takes the number of pieces from one part: after the thickness, or before it.
fn counted(part: &str) -> Result<(String, usize), String> {
    let Some((before, after)) = part.split_once(SIGNS) else {
        return Ok((part.to_owned(), 1));
    };
    let (before, after) = (before.trim(), after.trim());
    let count = |digits: &str| {
        let whole = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
        whole.then(|| digits.parse::<usize>().unwrap_or(usize::MAX))
    };
    // `0.1 mm x4` names the unit before the sign, `4 x 0.1 mm` after it.
    let unit_before = has_unit(before);
    let (thickness, digits) =
        if unit_before || count(before).is_none() { (before, after) } else { (after, before) };
    match count(digits) {
        Some(pieces @ 1..=MOST) => Ok((thickness.to_owned(), pieces)),
        Some(_) => Err(format!("`{}`: write 1 to {MOST} pieces", shown(part))),
        None => Err(format!(
            "`{}` does not say how many shims: write `0.1 mm x4` for four of 0.1 mm",
            shown(part)
        )),
    }
}

fn shown(text: &str) -> String {
    text.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mm(text: &str) -> Result<Vec<(f64, usize)>, String> {
        let round = |s: &Shims| ((s.thickness * 1e6).round() / 1e3, s.pieces);
        shims(text).map(|all| all.iter().map(round).collect())
    }

    #[test]
    fn lists_as_people_write_them() {
        let drawer = Ok(vec![(0.1, 4), (0.2, 4), (0.5, 2)]);
        assert_eq!(mm("0.1 mm x4,0.2 mm x4,0.5 mm x2"), drawer);
        assert_eq!(mm("0.1 mm x 4, 0.2mm x4; 0.5 mm ×2"), drawer);
        assert_eq!(mm("4 x 0.1 mm, 4x0.2 mm, 2 * 0.5 mm"), drawer);
        assert_eq!(mm("0,1 mm x4, 0,2 mm x4, 0,5 mm x2"), drawer);
        assert_eq!(mm("0,1mm x4,0,2 mm x4,0,5 mm x2"), drawer);
        assert_eq!(mm("4 x 0,1 mm, 4 x 0,2 mm, 2x0,5 mm"), drawer);
        assert_eq!(mm("0.1 x4, 0.2 x4, 0.5 mm x2"), drawer);
        assert_eq!(mm("0.5 mm"), Ok(vec![(0.5, 1)]));
        assert_eq!(mm("5 thou x2"), Ok(vec![(0.127, 2)]));
        assert_eq!(mm(" none "), Ok(vec![]));
    }

    #[test]
    fn what_cannot_be_read_is_said() {
        for (text, words) in [
            ("", "nothing is written"),
            ("0.1", "has no unit"),
            ("0.1 mm x", "does not say how many"),
            ("0.1 mm x four", "does not say how many"),
            ("0.1 mm x0", "1 to 1000 pieces"),
            ("0.1 mm x99999999999999999999999", "1 to 1000 pieces"),
            ("0.1 V x2", "is a voltage"),
            ("0.1 mm x2.5", "does not say how many"),
        ] {
            let said = mm(text).expect_err(text);
            assert!(said.contains(words), "{text}: {said}");
        }
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "\\PC{0,40}") {
            let _ = shims(&text);
        }
    }
}
