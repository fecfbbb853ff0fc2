//! Asking a person, behind one small trait: lists on the screen, numbered lines, or a script.

use std::rc::Rc;

use crate::present::text::{Styled, Text};

mod entry;
pub mod line;
mod reply;
pub mod screen;
pub mod script;

pub(in crate::cli) use entry::fitting;
pub use line::Line;
pub use screen::Screen;
pub use script::Script;

/// Somebody who can be asked and told.
pub trait Prompter {
    /// Puts a question until it has a reply that is one of those offered.
    ///
    /// # Errors
    /// When no reply can be had; nothing is ever taken as a reply that was not meant as one.
    fn ask(&mut self, prompt: &Prompt) -> Result<Reply, AskError>;

    /// Says something that belongs to the talk (standard error, where there is one).
    ///
    /// # Errors
    /// When it cannot be written.
    fn say(&mut self, text: &Text) -> Result<(), AskError>;

    /// Shows a result (standard output, where there is one).
    ///
    /// # Errors
    /// When it cannot be written.
    fn show(&mut self, text: &Text) -> Result<(), AskError>;

    /// Says something that has to be read before the next question takes its place. Where the question would
    /// push it off the screen, the person reads it in pages and goes on when it is read.
    ///
    /// # Errors
    /// As [`Prompter::ask`].
    fn read(&mut self, text: &Text) -> Result<(), AskError> {
        self.say(text)
    }

    /// Whether a line may be drawn over again, as a moving bar is.
    fn redraws(&self) -> bool {
        false
    }
}

/// A question with everything that may be said to it.
#[derive(Debug, Clone, Default)]
pub struct Prompt {
    /// The id by which scripts and errors name the question.
    pub id: String,
    /// Where we are, such as "Question 4 · at the counter · about 0.5 min".
    pub heading: String,
    /// The question itself.
    pub question: String,
    /// What has to be read before it: cautions, and what helps to answer it. May be empty.
    pub note: Text,
    /// The replies to choose from; may be empty.
    pub choices: Vec<Choice>,
    /// Set when something may be typed instead.
    pub text: Option<TextWanted>,
    /// Set when several of the choices may be chosen together, or none of them.
    pub several: Option<Several>,
    /// What may be done instead of answering. Shown in the order of [`Side::ALL`].
    pub side: Vec<Side>,
    /// Index of the choice on which a list begins.
    pub begin: usize,
}

/// That several choices may be chosen together.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Several {
    /// What it means to choose none, such as "All as it should be".
    pub none: String,
    /// For each choice, what it is about: of choices about the same thing only one can be chosen.
    pub about: Vec<usize>,
}

/// One reply to choose.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Choice {
    /// The id of what is chosen; may be typed instead of the label.
    pub id: String,
    /// What the person reads.
    pub label: String,
    /// A remark beside it; may be empty.
    pub note: String,
}

impl Choice {
    /// A choice without a remark.
    pub fn new(id: impl Into<String>, label: impl Into<String>) -> Self {
        Choice { id: id.into(), label: label.into(), note: String::new() }
    }

    fn line(&self) -> Styled {
        match self.note.as_str() {
            "" => Styled::from(&self.label),
            note => Styled::from(&self.label).muted(" · ").muted(note),
        }
    }
}

/// Why a typed text cannot be taken, in a sentence that says what would be right.
pub type Refusal = String;

type Check = Rc<dyn Fn(&str) -> Result<(), Refusal>>;

/// That a text may be typed, and which.
#[derive(Clone)]
pub struct TextWanted {
    /// What to type, such as "a reading, such as 2.4 A"; it follows the word "Type".
    pub hint: String,
    check: Check,
    /// What can be typed, where that is a choice among names; the choices offered may be a part of them.
    names: Vec<String>,
}

impl TextWanted {
    /// Any text that is not empty.
    pub fn any(hint: impl Into<String>) -> Self {
        TextWanted::checked(hint, |_| Ok(()))
    }

    /// A text that passes a check; the person is asked again until it does.
    pub fn checked(hint: impl Into<String>, check: impl Fn(&str) -> Result<(), Refusal> + 'static) -> Self {
        TextWanted { hint: hint.into(), check: Rc::new(check), names: Vec::new() }
    }

    /// One of these names, or what the check takes for one. What it refuses is not looked for among the
    /// choices offered: they may be a part of the names only.
    pub fn name(
        hint: impl Into<String>,
        names: Vec<String>,
        check: impl Fn(&str) -> Result<(), Refusal> + 'static,
    ) -> Self {
        TextWanted { names, ..TextWanted::checked(hint, check) }
    }
}

impl std::fmt::Debug for TextWanted {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TextWanted").field("hint", &self.hint).finish_non_exhaustive()
    }
}

/// What may be done instead of answering.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    /// No answer is known; it counts as no evidence.
    Unknown,
    /// Why is this asked?
    Why,
    /// How is it looked at or measured?
    How,
    /// Let the program work it out from what is measured.
    Measure,
    /// Return to the question before, or to any other.
    Back,
    /// Show the ranking so far.
    Ranking,
    /// End the questions here.
    Stop,
}

impl Side {
    /// All of them, in the order in which they are always shown.
    pub const ALL: [Side; 7] =
        [Side::Unknown, Side::Why, Side::How, Side::Measure, Side::Back, Side::Ranking, Side::Stop];

    /// What the person reads.
    pub fn label(self) -> &'static str {
        match self {
            Side::Unknown => "Don't know",
            Side::Why => "Why do you ask?",
            Side::How => "How do I check it?",
            Side::Measure => "Work it out from measurements",
            Side::Back => "Back / change an answer",
            Side::Ranking => "Ranking so far",
            Side::Stop => "Stop here",
        }
    }

    /// The key that stands for it where lines are typed.
    pub fn key(self) -> char {
        match self {
            Side::Unknown => 'd',
            Side::Why => '?',
            Side::How => 'h',
            Side::Measure => 'm',
            Side::Back => 'b',
            Side::Ranking => 'r',
            Side::Stop => 'q',
        }
    }
}

/// What a person replied.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reply {
    /// The choice with this index.
    Choice(usize),
    /// The choices with these indices, in their order; maybe none. `unsure`: the rest is not known.
    Several {
        /// The indices.
        chosen: Vec<usize>,
        /// Whether the person does not know the rest.
        unsure: bool,
    },
    /// A text that passed its check, without blanks around it.
    Text(String),
    /// Something else than an answer.
    Side(Side),
}

/// Why there is no reply.
#[derive(Debug, thiserror::Error)]
pub enum AskError {
    /// Ctrl-C.
    #[error("interrupted")]
    Interrupted,
    /// The input ended.
    #[error("the input ended before the question was answered")]
    Closed,
    /// The terminal, file or pipe failed.
    #[error("cannot talk on this terminal: {0}")]
    Io(#[from] std::io::Error),
    /// A script has nothing left to say.
    #[error("the script has no answer to `{question}`")]
    ScriptEnded {
        /// Id of the question.
        question: String,
    },
    /// A script says something that is no reply.
    #[error("the script answers `{question}` with `{typed}`: {why}")]
    ScriptBad {
        /// Id of the question.
        question: String,
        /// What it says.
        typed: String,
        /// What would be right.
        why: Refusal,
    },
}

impl Prompt {
    /// The sides offered, in their fixed order.
    pub fn sides(&self) -> impl Iterator<Item = Side> + '_ {
        Side::ALL.into_iter().filter(|s| self.side.contains(s))
    }

    /// What stands above whatever is offered as replies. The question comes last, so that it is still in
    /// sight when a long note scrolls; and a caution comes before what it is about.
    fn above(&self) -> Text {
        let mut text = self.before();
        text.para(Styled::new().strong(&self.question));
        text
    }

    /// What has to be read before the question: the heading and the note.
    fn before(&self) -> Text {
        let mut text = Text::new();
        if !self.heading.is_empty() {
            text.heading(self.heading.as_str());
        }
        text.append(self.note.clone());
        text
    }

    /// Whether it is a text to be read and nothing else.
    fn is_reading(&self) -> bool {
        self.choices.len() == 1 && self.text.is_none() && self.several.is_none() && self.side.is_empty()
    }

    /// The same question without its note.
    fn short(&self) -> Prompt {
        Prompt { note: Text::new(), ..self.clone() }
    }
}
