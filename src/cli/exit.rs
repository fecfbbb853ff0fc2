//! How the program ends: exit codes, and the one kind of failure that every command hands back.

use std::process::ExitCode;

use super::guard;
use super::prompt::AskError;
use crate::present::text::{Page, Styled, Text};

/// Done.
pub const DONE: u8 = 0;
/// The input or the data is wrong.
pub const WRONG_INPUT: u8 = 1;
/// The command line is wrong.
pub const WRONG_USAGE: u8 = 2;
/// Interrupted; what was answered is saved.
pub const INTERRUPTED: u8 = 130;

/// What stands at the end of every help text.
pub const HELP: &str = "\
Exit codes: 0 done; 1 the input or the data is wrong; 2 wrong usage; 130 interrupted (what was answered is \
saved). With --json, stdout holds one JSON document or nothing; messages go to stderr.";

/// Why a command could not be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// What is wrong, and where; a sentence without "error". Nothing is printed when it is empty.
    pub message: String,
    /// What would be right, or what to do next; a line each.
    pub help: Vec<String>,
    /// The exit code.
    pub code: u8,
}

impl Failure {
    /// The input or the data is wrong.
    pub fn input(message: impl Into<String>) -> Self {
        Failure { message: message.into(), help: Vec::new(), code: WRONG_INPUT }
    }

    /// The command line is wrong in a way that its grammar cannot tell.
    pub fn usage(message: impl Into<String>) -> Self {
        Failure { code: WRONG_USAGE, ..Failure::input(message) }
    }

    /// Ctrl-C. The message is the guard's farewell.
    pub fn interrupted() -> Self {
        Failure { code: INTERRUPTED, ..Failure::input(guard::farewell()) }
    }

    /// Whoever read the output has had enough; that is no failure.
    pub fn unread() -> Self {
        Failure { code: DONE, ..Failure::input("") }
    }

    /// The same with a line of help.
    pub fn help(mut self, line: impl Into<String>) -> Self {
        self.help.push(line.into());
        self
    }

    /// The failure as it is printed.
    pub fn render(&self, page: &Page) -> String {
        self.text().render(page)
    }

    /// The failure with its help, as text.
    pub fn text(&self) -> Text {
        let mut text = Text::new();
        let word = if self.code == INTERRUPTED { "stopped" } else { "error" };
        // Several problems are several lines.
        for line in self.message.lines() {
            text.item(0, Styled::new().danger(word).plain(": "), line);
        }
        for line in &self.help {
            text.item(2, Styled::new().strong("help").plain(": "), line.as_str());
        }
        text
    }

    /// The exit code for the operating system.
    pub fn exit_code(&self) -> ExitCode {
        ExitCode::from(self.code)
    }
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        match error.kind() {
            std::io::ErrorKind::BrokenPipe => Failure::unread(),
            std::io::ErrorKind::StorageFull => Failure::input("cannot write the output: the disk is full"),
            _ => Failure::input(format!("cannot write the output: {error}")),
        }
    }
}

impl From<AskError> for Failure {
    fn from(error: AskError) -> Self {
        match error {
            AskError::Interrupted => Failure::interrupted(),
            AskError::Io(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Failure::unread(),
            other => {
                let failure = Failure::input(other.to_string());
                match guard::farewell() {
                    farewell if farewell.is_empty() => failure,
                    farewell => failure.help(farewell),
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failure_says_what_and_what_would_be_right() {
        let failure = Failure::input("there is no fault `brush-wom`").help("Did you mean `brush-worn`?");
        assert_eq!(
            failure.render(&Page::plain(80)),
            "error: there is no fault `brush-wom`\n  help: Did you mean `brush-worn`?\n"
        );
        assert_eq!(failure.code, WRONG_INPUT);
    }

    #[test]
    fn several_problems_stand_on_lines_of_their_own() {
        let failure = Failure::input("a.yaml:2:8: no motor\na.yaml:3:8: no stage");
        let wanted = "error: a.yaml:2:8: no motor\nerror: a.yaml:3:8: no stage\n";
        assert_eq!(failure.render(&Page::plain(80)), wanted);
    }

    #[test]
    fn a_pipe_that_nobody_reads_ends_quietly() {
        let failure = Failure::from(std::io::Error::from(std::io::ErrorKind::BrokenPipe));
        assert_eq!((failure.code, failure.render(&Page::plain(80)).as_str()), (DONE, ""));
        let asked = AskError::Io(std::io::Error::from(std::io::ErrorKind::BrokenPipe));
        assert_eq!(Failure::from(asked).code, DONE);
    }

    #[test]
    fn help_names_every_code() {
        for code in [DONE, WRONG_INPUT, WRONG_USAGE, INTERRUPTED] {
            assert!(HELP.split([' ', '\n']).any(|word| word == code.to_string()), "{code}");
        }
    }
}
