//! A written talk: for tests, and for transcripts that show what a person would see and type.

use std::collections::{HashMap, VecDeque};

use super::line::{ANSWER, sheet};
use super::{AskError, Prompt, Prompter, Reply};
use crate::present::text::{Page, Text, clean};

/// Replies from a script and writes down the whole talk.
///
/// A question takes the next line written for its id; when there is none, the next line written for
/// whatever comes.
pub struct Script {
    page: Page,
    by_question: HashMap<String, VecDeque<String>>,
    in_order: VecDeque<String>,
    transcript: String,
}

impl Script {
    /// An empty script on this kind of page.
    pub fn new(page: Page) -> Self {
        Script { page, by_question: HashMap::new(), in_order: VecDeque::new(), transcript: String::new() }
    }

    /// Adds lines typed in this order to whatever is asked.
    pub fn typing<S: Into<String>>(mut self, lines: impl IntoIterator<Item = S>) -> Self {
        self.in_order.extend(lines.into_iter().map(Into::into));
        self
    }

    /// Adds a line typed when this question is asked (the next time, for a second line, and so on).
    pub fn answering(mut self, question: impl Into<String>, line: impl Into<String>) -> Self {
        self.by_question.entry(question.into()).or_default().push_back(line.into());
        self
    }

    /// The talk so far.
    pub fn transcript(&self) -> &str {
        &self.transcript
    }

    /// Ids of questions that were written down but not asked (often enough), in alphabetical order.
    pub fn unasked(&self) -> Vec<&str> {
        let left = self.by_question.iter().filter(|(_, lines)| !lines.is_empty());
        let mut ids: Vec<&str> = left.map(|(id, _)| id.as_str()).collect();
        ids.sort_unstable();
        ids
    }
}

impl Prompter for Script {
    fn ask(&mut self, prompt: &Prompt) -> Result<Reply, AskError> {
        self.transcript += &sheet(prompt).render(&self.page);
        self.transcript += ANSWER;
        let own = self.by_question.get_mut(&prompt.id).and_then(VecDeque::pop_front);
        let typed = own
            .or_else(|| self.in_order.pop_front())
            .ok_or_else(|| AskError::ScriptEnded { question: prompt.id.clone() })?;
        self.transcript += &format!("{}\n", clean(&typed));
        prompt.understand(&typed).map_err(|why| AskError::ScriptBad {
            question: prompt.id.clone(),
            typed,
            why,
        })
    }

    fn say(&mut self, text: &Text) -> Result<(), AskError> {
        self.transcript += &text.render(&self.page);
        Ok(())
    }

    fn show(&mut self, text: &Text) -> Result<(), AskError> {
        self.say(text)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Choice, Side};
    use super::*;

    fn question(id: &str) -> Prompt {
        Prompt {
            id: id.into(),
            question: format!("About {id}?"),
            choices: vec![Choice::new("no", "No"), Choice::new("yes", "Yes")],
            side: vec![Side::Unknown, Side::Why],
            ..Prompt::default()
        }
    }

    #[test]
    fn a_transcript_reads_naturally() {
        let mut script = Script::new(Page::plain(60)).typing(["?", "2"]).answering("rust", "no");
        assert!(matches!(script.ask(&question("noise")), Ok(Reply::Side(Side::Why))));
        script.say(&Text::from("Noise tells bearings from brushes.")).expect("a script can always be told");
        assert!(matches!(script.ask(&question("rust")), Ok(Reply::Choice(0))));
        assert!(matches!(script.ask(&question("noise")), Ok(Reply::Choice(1))));
        assert_eq!(
            script.transcript(),
            "
About noise?
  1  No
  2  Yes
  d Don't know   ? Why do you ask?
Answer: ?
Noise tells bearings from brushes.

About rust?
  1  No
  2  Yes
  d Don't know   ? Why do you ask?
Answer: no

About noise?
  1  No
  2  Yes
  d Don't know   ? Why do you ask?
Answer: 2
"
        );
    }

    #[test]
    fn a_missing_answer_names_the_question() {
        let mut script = Script::new(Page::plain(60)).answering("rust", "no");
        let gone = script.ask(&question("noise")).expect_err("nothing is written for it");
        assert_eq!(gone.to_string(), "the script has no answer to `noise`");
        assert_eq!(script.unasked(), ["rust"]);
    }

    #[test]
    fn a_bad_answer_names_the_question_and_what_would_be_right() {
        let mut script = Script::new(Page::plain(60)).typing(["perhaps"]);
        let bad = script.ask(&question("noise")).expect_err("perhaps is no reply");
        assert_eq!(
            bad.to_string(),
            "the script answers `noise` with `perhaps`: “perhaps” is none of the replies. \
             Type a number from 1 to 2, or one of the keys d ?."
        );
    }
}
