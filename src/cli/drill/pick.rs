//! Choosing from a long list, page by page, so that it fits a small screen.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Prompter, Reply, Side, TextWanted};
use crate::present::text::Text;

/// Entries of a list that stand on one page.
const PAGE: usize = 9;

/// A list to choose from.
pub struct List {
    /// Its id for scripts.
    pub id: String,
    /// Where we are.
    pub heading: String,
    /// What is asked.
    pub question: String,
    /// What stands above it.
    pub note: Text,
    /// The entries.
    pub entries: Vec<Choice>,
    /// What ends the choice without choosing: id and label.
    pub back: Choice,
}

/// What was chosen.
pub enum Picked {
    /// The entry with this index.
    Entry(usize),
    /// None.
    Back,
    /// The person wants to stop altogether.
    Stop,
}

/// Lets one entry be chosen.
///
/// # Errors
/// As [`Prompter::ask`].
pub fn pick(prompter: &mut dyn Prompter, mut list: List) -> Result<Picked, Failure> {
    // A page more would only hold what fits on this one.
    let page = if list.entries.len() <= PAGE + 1 { PAGE + 1 } else { PAGE };
    let pages = list.entries.len().div_ceil(page).max(1);
    let mut at = 0;
    loop {
        let first = at * page;
        let shown: Vec<Choice> = list.entries.iter().skip(first).take(page).cloned().collect();
        let count = shown.len();
        let mut choices = shown;
        if pages > 1 {
            choices.push(Choice::new("more", format!("More ({} of {pages})", at + 1)));
        }
        choices.push(list.back.clone());
        let reply = prompter.ask(&Prompt {
            id: list.id.clone(),
            heading: list.heading.clone(),
            question: list.question.clone(),
            note: std::mem::take(&mut list.note),
            choices,
            text: (pages > 1).then(|| by_name(&list.entries)),
            side: vec![Side::Stop],
            ..Prompt::default()
        })?;
        match reply {
            Reply::Choice(i) if i < count => return Ok(Picked::Entry(first + i)),
            Reply::Choice(i) if i == count && pages > 1 => at = (at + 1) % pages,
            Reply::Text(typed) => {
                if let Ok(found) = find(&list.entries, &typed) {
                    return Ok(Picked::Entry(found));
                }
            }
            Reply::Several { .. } | Reply::Side(_) => return Ok(Picked::Stop),
            Reply::Choice(_) => return Ok(Picked::Back),
        }
    }
}

/// That an entry of any page may be typed.
fn by_name(entries: &[Choice]) -> TextWanted {
    let entries = entries.to_vec();
    TextWanted::checked("the name of any of them", move |typed| find(&entries, typed).map(|_| ()))
}

/// The entry that a typed name means: its id or label, or the beginning of one label.
fn find(entries: &[Choice], typed: &str) -> Result<usize, String> {
    let typed = typed.trim().to_lowercase();
    let same = |c: &Choice| c.id == typed || c.label.to_lowercase() == typed;
    if let Some(found) = entries.iter().position(same) {
        return Ok(found);
    }
    let begins = |c: &Choice| c.label.to_lowercase().starts_with(&typed);
    let mut fitting = entries.iter().enumerate().filter(|(_, c)| begins(c));
    match (fitting.next(), fitting.next()) {
        (Some((found, _)), None) => Ok(found),
        (Some((_, a)), Some((_, b))) => {
            Err(format!("That may be “{}” or “{}”. Type more of it.", a.label, b.label))
        }
        (None, _) => {
            Err("Nothing in this list is called so. Type a number, or the beginning of a name.".into())
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn entries_are_found_by_id_label_and_beginning() {
        let entries = [
            Choice::new("side-play", "Side play"),
            Choice::new("rattle", "Rattle"),
            Choice::new("side-wobble", "Side wobble"),
        ];
        assert_eq!(find(&entries, "side-play"), Ok(0));
        assert_eq!(find(&entries, " rattle "), Ok(1));
        assert_eq!(find(&entries, "Side w"), Ok(2));
        assert!(find(&entries, "side").unwrap_err().contains("Side wobble"));
        assert!(find(&entries, "xyz").is_err());
    }
}
