//! Choosing from a long list, page by page, so that it fits a small screen.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Prompter, Reply, Side};
use crate::present::text::Text;

/// Entries of a list that stand on one page.
const PAGE: usize = 10;

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
            text: None,
            side: vec![Side::Stop],
        })?;
        match reply {
            Reply::Choice(i) if i < count => return Ok(Picked::Entry(first + i)),
            Reply::Choice(i) if i == count && pages > 1 => at = (at + 1) % pages,
            Reply::Side(_) => return Ok(Picked::Stop),
            _ => return Ok(Picked::Back),
        }
    }
}
