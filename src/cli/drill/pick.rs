//! Choosing from a long list, page by page, so that it fits a small screen.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Prompter, Reply, Side, TextWanted, fitting};
use crate::present::text::Text;

/// Entries of a list that stand on one page.
const PAGE: usize = 9;

/// A list to choose from.
#[derive(Default)]
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
    /// What ends the choosing, where something does; on every page, after the entries.
    pub end: Option<Choice>,
    /// What ends the choice without choosing: id and label.
    pub back: Choice,
    /// The entry at which the list is opened, on its page; past the last one, it is opened at what follows
    /// the entries.
    pub begin: usize,
}

/// What was chosen.
pub enum Picked {
    /// The entry with this index.
    Entry(usize),
    /// What ends the choosing.
    End,
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
    let end = usize::from(list.end.is_some());
    // A page more would only hold what fits on this one.
    let room = PAGE - end;
    let page = if list.entries.len() <= room + 1 { room + 1 } else { room };
    let pages = list.entries.len().div_ceil(page).max(1);
    let mut at = list.begin.min(list.entries.len().saturating_sub(1)) / page;
    let mut begin = list.begin;
    loop {
        let first = at * page;
        let shown: Vec<Choice> = list.entries.iter().skip(first).take(page).cloned().collect();
        let count = shown.len();
        let more = usize::from(pages > 1);
        // Where nothing is left to choose, the list begins with what ends it.
        let after = if begin >= list.entries.len() { count + more } else { begin.saturating_sub(first) };
        let mut choices = shown;
        if pages > 1 {
            choices.push(Choice::new("more", format!("More ({} of {pages})", at + 1)));
        }
        choices.extend(list.end.clone());
        choices.push(list.back.clone());
        let reply = prompter.ask(&Prompt {
            id: list.id.clone(),
            heading: list.heading.clone(),
            question: list.question.clone(),
            note: std::mem::take(&mut list.note),
            choices,
            text: (pages > 1).then(|| by_name(&list.entries)),
            side: vec![Side::Stop],
            begin: after,
            ..Prompt::default()
        })?;
        match reply {
            Reply::Choice(i) if i < count => return Ok(Picked::Entry(first + i)),
            Reply::Choice(i) if i == count && pages > 1 => {
                at = (at + 1) % pages;
                begin = at * page;
            }
            Reply::Choice(i) if i < count + more + end => return Ok(Picked::End),
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
    let names = entries.iter().map(|c| c.label.clone()).collect();
    let entries = entries.to_vec();
    let check = move |typed: &str| find(&entries, typed).map(|_| ());
    TextWanted::name("the name of any of them", names, check)
}

/// The entry that a typed name means: its id or label, or the beginning of one label, or of a word in it.
fn find(entries: &[Choice], typed: &str) -> Result<usize, String> {
    /// So many names are told of those that fit.
    const TOLD: usize = 6;
    let said = typed.trim().to_lowercase();
    let same = |c: &Choice| c.id == said || c.label.to_lowercase() == said;
    if let Some(found) = entries.iter().position(same) {
        return Ok(found);
    }
    let names: Vec<String> = entries.iter().map(|c| c.label.clone()).collect();
    let fits: Vec<&str> = if said.is_empty() { Vec::new() } else { fitting(&names, typed).collect() };
    match fits.as_slice() {
        [] => Err("Nothing in this list is called so. Type the beginning of a name.".into()),
        [one] => names.iter().position(|name| name == one).ok_or_else(String::new),
        many => {
            let told: Vec<String> = many.iter().take(TOLD).map(|name| format!("“{name}”")).collect();
            let rest = many.len().saturating_sub(TOLD);
            let rest = if rest > 0 { format!(" or {rest} more") } else { String::new() };
            Err(format!("That may be {}{rest}. Type more of it.", told.join(" or ")))
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::super::prompt::Script;
    use super::*;
    use crate::present::text::Page;

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
        assert!(find(&entries, " ").is_err());
    }

    #[test]
    fn what_fits_several_entries_is_asked_and_never_taken_for_one() {
        let entries = [
            Choice::new("commutator-abrasive", "Abrasive on the commutator"),
            Choice::new("water-exposure", "Contact with water"),
            Choice::new("crash", "Crash or fall"),
            Choice::new("iron", "Hot iron: soldering"),
        ];
        let why = find(&entries, "C").unwrap_err();
        assert!(
            why.contains("“Contact with water” or “Crash or fall”") && !why.contains("Abrasive"),
            "{why}"
        );
        assert_eq!(find(&entries, "sol"), Ok(3), "a word within a name");
        // The page on the screen holds one that begins so; the whole list holds more.
        let on_page = Prompt {
            choices: vec![entries[2].clone()],
            text: Some(by_name(&entries)),
            side: vec![Side::Stop],
            ..Prompt::default()
        };
        assert!(on_page.understand("C").is_err());
        assert!(on_page.entered("C").is_err());
        assert_eq!(on_page.understand("cra"), Ok(Reply::Text("cra".into())));
    }

    #[test]
    fn a_list_is_opened_where_it_was_left_and_ends_alike_on_every_page() {
        let entries: Vec<Choice> =
            (0..20).map(|i| Choice::new(format!("e{i}"), format!("Entry {i}"))).collect();
        let list = |begin| List {
            id: "list".into(),
            question: "Which?".into(),
            entries: entries.clone(),
            end: Some(Choice::new("done", "These are all")),
            back: Choice::new("back", "Back"),
            begin,
            ..List::default()
        };
        let open = |begin: usize, typed: &[&str]| {
            let mut script = Script::new(Page::plain(80)).typing(typed.iter().copied());
            let picked = pick(&mut script, list(begin)).unwrap();
            (picked, script.transcript().to_owned())
        };
        let (picked, said) = open(9, &["1"]);
        assert!(matches!(picked, Picked::Entry(8)), "the second page begins with the ninth");
        assert!(said.contains("More (2 of 3)") && said.contains("These are all"), "{said}");
        let (picked, said) = open(0, &["more", "done"]);
        assert!(matches!(picked, Picked::End), "{said}");
        assert_eq!(said.matches("These are all").count(), 2, "on each page: {said}");
        let (picked, _) = open(20, &["back"]);
        assert!(matches!(picked, Picked::Back));
    }
}
