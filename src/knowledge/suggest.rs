//! "Did you mean ...?"

/// Longest word that is looked up; no id comes near it, and the time grows with its square.
const LONGEST: usize = 64;

/// The candidate nearest to `word`, if it is near enough to be meant: at most three letters (a third of a
/// short word) differ, or one is a part of the other. Of equally near ones, the first in the alphabet.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let length = word.chars().count();
    if length == 0 || length > LONGEST {
        return None;
    }
    let limit = (length / 3).clamp(1, 3);
    let lower = word.to_lowercase();
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let other = candidate.chars().count();
        let distance = if length.abs_diff(other) <= limit {
            strsim::osa_distance(&lower, candidate)
        } else if length >= 4 && other <= LONGEST && (candidate.contains(&lower) || lower.contains(candidate))
        {
            // A part of a name is a worse guess than any misspelling.
            limit + length.abs_diff(other)
        } else {
            continue;
        };
        let near = distance <= limit || length.abs_diff(other) > limit;
        if near && best.is_none_or(|b| (distance, candidate) < b) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    const IDS: [&str; 5] = ["brush-worn", "brush-stuck", "coil-open", "commutator-burnt", "no"];

    #[test]
    fn finds_misspellings_and_parts() {
        assert_eq!(nearest("brush-wron", IDS), Some("brush-worn"));
        assert_eq!(nearest("Brush-Worn", IDS), Some("brush-worn"));
        assert_eq!(nearest("coil-opne", IDS), Some("coil-open"));
        assert_eq!(nearest("commutator", IDS), Some("commutator-burnt"));
    }

    #[test]
    fn offers_nothing_far_off_or_absurdly_long() {
        assert_eq!(nearest("magnet-weak", IDS), None);
        assert_eq!(nearest("", IDS), None);
        assert_eq!(nearest(&"x".repeat(1_000_000), IDS), None);
    }

    #[test]
    fn breaks_ties_by_the_alphabet() {
        assert_eq!(nearest("bax", ["bay", "baz", "bat"]), Some("bat"));
    }
}
