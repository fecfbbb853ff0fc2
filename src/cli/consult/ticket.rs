//! Where a consultation is kept.

use std::path::{Path, PathBuf};

use super::super::exit::Failure;
use super::super::guard;
use super::super::prompt::{Choice, Prompt, Prompter, Reply};
use super::super::triage::note;
use crate::case::{self, Case, Saved};
use crate::knowledge::Knowledge;
use crate::present::text::{Styled, Text};

/// The file of one case.
pub struct Ticket<'k> {
    path: PathBuf,
    shown: String,
    folder: Option<PathBuf>,
    knowledge: &'k Knowledge,
    saved_once: bool,
    given_up: bool,
    /// Whether the last save failed.
    behind: bool,
}

impl<'k> Ticket<'k> {
    /// The case file at this path; it is made with the first save.
    pub fn new(path: &Path, knowledge: &'k Knowledge) -> Self {
        let shown = path.display().to_string();
        Ticket {
            path: path.to_owned(),
            shown,
            folder: None,
            knowledge,
            saved_once: false,
            given_up: false,
            behind: false,
        }
    }

    /// The same, called by another name in what is said.
    pub fn called(self, shown: &str) -> Self {
        Ticket { shown: shown.into(), ..self }
    }

    /// The same, with a folder of knowledge that is laid over the built-in one.
    pub fn over(self, folder: Option<&Path>) -> Self {
        Ticket { folder: folder.map(Path::to_owned), ..self }
    }

    /// Its name for people.
    pub fn shown(&self) -> &str {
        &self.shown
    }

    /// The command that goes on with it.
    pub fn resume(&self) -> String {
        let folder =
            self.folder.as_deref().map(|f| format!(" --knowledge {}", word(&f.display().to_string())));
        format!("commsense triage {}{}", word(&self.shown), folder.unwrap_or_default())
    }

    /// What is said when the talk ends before its end: what is saved, and how to go on.
    pub fn farewell(&self) -> String {
        let saved = match (self.behind, self.saved_once) {
            (false, _) => "The answers are saved.".to_owned(),
            (true, true) => format!("The last answers are not saved in {}; those before are.", self.shown),
            (true, false) => format!("Nothing is saved in {}.", self.shown),
        };
        format!("{saved} Go on with: {}", self.resume())
    }

    /// Saves the case. The first save has to succeed; later the person may try again or go on without.
    ///
    /// # Errors
    /// When nothing can be saved at all, or the person leaves.
    pub fn save(&mut self, case: &Case, prompter: &mut dyn Prompter) -> Result<(), Failure> {
        while !self.given_up {
            let error = match case::save(&self.path, case, self.knowledge) {
                Ok(saved) => {
                    self.saved_once = true;
                    if self.behind {
                        self.behind = false;
                        guard::set_farewell(self.farewell());
                    }
                    return self.kept(saved, prompter);
                }
                Err(error) if !self.saved_once => {
                    // Nobody is told to go on with what is not there.
                    guard::set_farewell("");
                    return Err(Failure::input(error.to_string())
                        .help("Name a case file in a folder where you may write"));
                }
                Err(error) => error,
            };
            self.behind = true;
            guard::set_farewell(self.farewell());
            prompter.say(&Text::from(Styled::new().warn(error.to_string())))?;
            let again = prompter.ask(&Prompt {
                id: "saving".into(),
                question: "The last answer is not saved. What now?".into(),
                choices: vec![
                    Choice::new("again", "Try again to save"),
                    Choice::new("without", "Go on without saving; the answers are lost at the end"),
                ],
                ..Prompt::default()
            })?;
            self.given_up = again == Reply::Choice(1);
        }
        Ok(())
    }

    /// Whether everything that was answered is in the file.
    pub fn up_to_date(&self) -> bool {
        !self.behind
    }

    fn kept(&self, saved: Saved, prompter: &mut dyn Prompter) -> Result<(), Failure> {
        if let Saved::KeptBefore(copy) = saved {
            let words = format!("The file as it was, with its comments, is kept as {}.", copy.display());
            prompter.say(&note(words))?;
        }
        Ok(())
    }
}

/// A path as one word of a command line.
fn word(path: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./".contains(c);
    // A name that begins with a dash would be taken for an option.
    let path = if path.starts_with('-') { format!("./{path}") } else { path.to_string() };
    if path.chars().all(plain) { path } else { format!("'{}'", path.replace('\'', "'\\''")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_to_go_on_can_be_pasted() {
        let knowledge = Knowledge::default();
        for (path, wanted) in [
            ("2026-0142.yaml", "commsense triage 2026-0142.yaml"),
            ("the boat's motor.yaml", r"commsense triage 'the boat'\''s motor.yaml'"),
            ("-7.yaml", "commsense triage ./-7.yaml"),
        ] {
            assert_eq!(Ticket::new(Path::new(path), &knowledge).resume(), wanted);
        }
        let over = Ticket::new(Path::new("a.yaml"), &knowledge).over(Some(Path::new("our notes")));
        assert_eq!(over.resume(), "commsense triage a.yaml --knowledge 'our notes'");
    }
}
