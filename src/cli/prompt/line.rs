//! Numbered lines: for terminals that cannot be drawn on, screen readers, and pipes.

use std::io::{BufRead, ErrorKind, IsTerminal, Write};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use super::{AskError, Prompt, Prompter, Reply, Side};
use crate::cli::appearance::Appearance;
use crate::present::text::{Page, Span, Style, Styled, Text, clean};

/// Lines that arrive this soon after another on a terminal were pasted together with it.
const PASTED_WITHIN: Duration = Duration::from_millis(25);

/// Asks by numbered lines and reads one line for each reply.
pub struct Line {
    input: Input,
    talk: Box<dyn Write>,
    talk_page: Page,
    result: Box<dyn Write>,
    result_page: Page,
}

enum Input {
    /// A person types: lines come from a thread, so that pasted surplus can be told from typing.
    Typed(Receiver<std::io::Result<String>>),
    /// A file or pipe: what is read is echoed, as a terminal would have done.
    Piped(Box<dyn BufRead>),
}

impl Line {
    /// On the standard streams.
    pub fn standard(appearance: &Appearance) -> Self {
        let stdin = std::io::stdin();
        let input = match stdin.is_terminal() {
            true => Input::Typed(typed_lines()),
            false => Input::Piped(Box::new(stdin.lock())),
        };
        Line {
            input,
            talk: Box::new(std::io::stderr()),
            talk_page: appearance.talk_page(),
            result: Box::new(std::io::stdout()),
            result_page: appearance.result_page(),
        }
    }

    /// From a reader, to two writers, all on one kind of page.
    pub fn piped(
        input: impl BufRead + 'static,
        talk: impl Write + 'static,
        result: impl Write + 'static,
        page: Page,
    ) -> Self {
        Line {
            input: Input::Piped(Box::new(input)),
            talk: Box::new(talk),
            talk_page: page,
            result: Box::new(result),
            result_page: page,
        }
    }

    fn write(&mut self, text: &str) -> Result<(), AskError> {
        self.talk.write_all(text.as_bytes())?;
        Ok(self.talk.flush()?)
    }

    /// Lines of the terminal on which somebody types; none where nobody turns pages.
    fn height(&self) -> Option<usize> {
        // Read aloud, nothing scrolls away.
        let typed = matches!(self.input, Input::Typed(_)) && std::io::stderr().is_terminal();
        let typed = typed && self.talk_page.drawn;
        typed.then(|| crossterm::terminal::size().ok().map(|(_, rows)| usize::from(rows).max(8))).flatten()
    }

    /// Shows a question without what was read before it. Where its replies alone are taller than the terminal,
    /// it stands once more where the eye is when they have scrolled by.
    fn put_short(&mut self, prompt: &Prompt, height: usize) -> Result<(), AskError> {
        let short = sheet(&prompt.short());
        let lines = short.render(&self.talk_page);
        self.write(&lines)?;
        if lines.lines().count() >= height {
            self.say(&Text::from(Styled::new().strong(&prompt.question)))?;
        }
        Ok(())
    }

    /// Shows a text page by page, each read before the next comes.
    fn turn_pages(&mut self, text: &Text, height: usize) -> Result<(), AskError> {
        for page in text.pages(&self.talk_page, height.saturating_sub(2)) {
            self.write(&format!("\n{page}{READ_ON}"))?;
            self.next_line()?;
        }
        Ok(())
    }

    /// The next line, and how many more were pasted with it and are dropped.
    fn next_line(&mut self) -> Result<(String, usize), AskError> {
        match &mut self.input {
            Input::Typed(lines) => {
                let first = lines.recv().map_err(|_| AskError::Closed)??;
                let mut surplus = 0;
                while let Ok(line) = lines.recv_timeout(PASTED_WITHIN) {
                    surplus += usize::from(!line?.trim().is_empty());
                }
                Ok((first, surplus))
            }
            Input::Piped(reader) => {
                let line = read_line(reader.as_mut())?.ok_or(AskError::Closed)?;
                let echo = format!("{}\n", clean(line.trim()));
                self.write(&echo)?;
                Ok((line, 0))
            }
        }
    }
}

impl Prompter for Line {
    fn ask(&mut self, prompt: &Prompt) -> Result<Reply, AskError> {
        let whole = sheet(prompt).render(&self.talk_page);
        match self.height() {
            Some(height) if whole.lines().count() >= height => {
                if !prompt.note.is_empty() {
                    self.turn_pages(&prompt.before(), height)?;
                    if prompt.is_reading() {
                        return Ok(Reply::Choice(0));
                    }
                }
                self.put_short(prompt, height)?;
            }
            _ => self.write(&whole)?,
        }
        loop {
            self.write(ANSWER)?;
            let (typed, surplus) = match self.next_line() {
                Err(AskError::Closed) => {
                    self.write("\n")?;
                    return Err(AskError::Closed);
                }
                other => other?,
            };
            if surplus > 0 {
                self.say(&remark("Several lines came at once; only the first was taken."))?;
            }
            match prompt.understand(&typed) {
                Ok(reply) => return Ok(reply),
                Err(why) => self.say(&remark(&why))?,
            }
        }
    }

    fn say(&mut self, text: &Text) -> Result<(), AskError> {
        let text = text.render(&self.talk_page);
        self.write(&text)
    }

    fn read(&mut self, text: &Text) -> Result<(), AskError> {
        match self.height() {
            Some(height) if text.render(&self.talk_page).lines().count() >= height => {
                self.turn_pages(text, height)
            }
            _ => self.say(text),
        }
    }

    fn show(&mut self, text: &Text) -> Result<(), AskError> {
        self.result.write_all(text.render(&self.result_page).as_bytes())?;
        Ok(self.result.flush()?)
    }
}

/// Stands before the place where the reply is typed.
pub(super) const ANSWER: &str = "Answer: ";

/// Stands where a page has to be read before the next comes.
const READ_ON: &str = "Press Enter when it is read: ";

/// A word about a reply that could not be taken.
fn remark(why: &str) -> Text {
    let mut text = Text::new();
    text.item(0, Span::new(Style::Warn, "! "), why);
    text
}

/// The whole question as lines: the choices by number, then what may be typed, then the keys.
pub(in crate::cli) fn sheet(prompt: &Prompt) -> Text {
    let mut text = Text::new();
    text.blank().append(prompt.above());
    let digits = prompt.choices.len().to_string().len();
    for (i, choice) in prompt.choices.iter().enumerate() {
        text.item(2, Styled::new().strong(format!("{:>digits$}", i + 1)).plain("  "), choice.line());
    }
    if let Some(several) = &prompt.several {
        text.item(2, Styled::new().strong(format!("{:>digits$}", 0)).plain("  "), several.none.as_str());
        let rest =
            if prompt.side.contains(&Side::Unknown) { ", with d when you don't know the rest" } else { "" };
        text.item(2, "", format!("or several numbers{rest}"));
    }
    if let Some(wanted) = &prompt.text {
        let word = if prompt.choices.is_empty() { "Type " } else { "or type " };
        text.item(2, "", Styled::from(word).plain(&wanted.hint));
    }
    let keys: Vec<Styled> = prompt
        .sides()
        .map(|s| Styled::new().strong(s.key().to_string()).muted(" ").muted(s.label()))
        .collect();
    if !keys.is_empty() {
        text.flow(2, keys);
    }
    text
}

/// One line without its end; nothing at the end of the input. Bytes that are no text are replaced.
fn read_line(reader: &mut (impl BufRead + ?Sized)) -> std::io::Result<Option<String>> {
    let mut bytes = Vec::new();
    loop {
        match reader.read_until(b'\n', &mut bytes) {
            Ok(_) => break,
            Err(e) if e.kind() == ErrorKind::Interrupted => (),
            Err(e) => return Err(e),
        }
    }
    Ok((!bytes.is_empty())
        .then(|| String::from_utf8_lossy(&bytes).trim_end_matches(['\n', '\r']).to_string()))
}

/// Lines of standard input, read by a thread that ends with the input.
fn typed_lines() -> Receiver<std::io::Result<String>> {
    let (send, lines) = channel();
    std::thread::spawn(move || {
        let mut stdin = std::io::stdin().lock();
        while let Some(line) = read_line(&mut stdin).transpose() {
            let failed = line.is_err();
            if send.send(line).is_err() || failed {
                return;
            }
        }
    });
    lines
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;
    use std::io::Cursor;
    use std::rc::Rc;

    use super::super::{Choice, TextWanted};
    use super::*;

    /// A writer whose text can be read afterwards.
    #[derive(Clone, Default)]
    struct Paper(Rc<RefCell<Vec<u8>>>);

    impl Write for Paper {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            self.0.borrow_mut().write(bytes)
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }

    impl Paper {
        fn text(&self) -> String {
            String::from_utf8_lossy(&self.0.borrow()).into_owned()
        }
    }

    fn question() -> Prompt {
        let mut note = Text::new();
        note.para(Styled::new().muted("Compare it with a motor that runs well."));
        Prompt {
            id: "power-loss".into(),
            heading: "Question 4 · at the counter · about 0.5 min".into(),
            question: "How much power has the motor lost?".into(),
            note,
            choices: vec![
                Choice::new("none", "None: full power"),
                Choice { note: "as with half of the cells".into(), ..Choice::new("some", "Some: weaker") },
            ],
            text: Some(TextWanted::any("the speed, such as 12000 rpm")),
            side: Side::ALL.to_vec(),
            ..Prompt::default()
        }
    }

    fn talk(typed: &str, page: Page) -> (Vec<Result<Reply, AskError>>, String, String) {
        let (talk, result) = (Paper::default(), Paper::default());
        let mut line =
            Line::piped(Cursor::new(typed.as_bytes().to_vec()), talk.clone(), result.clone(), page);
        let replies = (0..2).map(|_| line.ask(&question())).collect();
        line.show(&Text::from("done")).expect("paper takes it");
        (replies, talk.text(), result.text())
    }

    #[test]
    fn a_question_reads_like_a_form() {
        let (replies, talk, result) = talk("\n2\r\nb", Page::plain(60));
        assert!(matches!(replies[0], Ok(Reply::Choice(1))));
        assert!(matches!(replies[1], Ok(Reply::Side(Side::Back))));
        assert_eq!(result, "done\n");
        let sheet = "
── Question 4 · at the counter · about 0.5 min ─────────────
Compare it with a motor that runs well.
How much power has the motor lost?
  1  None: full power
  2  Some: weaker · as with half of the cells
  or type the speed, such as 12000 rpm
  d Don't know   ? Why do you ask?   h How do I check it?
  m Work it out from measurements
  b Back / change an answer   r Ranking so far   q Stop here
";
        assert_eq!(
            talk,
            format!(
                "{sheet}Answer: \n\
                 ! Type a number from 1 to 2, or the speed, such as\n\
                 \u{20} 12000 rpm, or one of the keys d ? h m b r q.\nAnswer: 2\n{sheet}Answer: b\n"
            )
        );
    }

    #[test]
    fn the_end_of_the_input_is_no_answer() {
        let (replies, talk, _) = talk("1", Page::words(60));
        assert!(matches!(replies[0], Ok(Reply::Choice(0))));
        assert!(matches!(replies[1], Err(AskError::Closed)));
        assert!(talk.ends_with("Answer: \n"));
    }

    #[test]
    fn what_is_typed_is_neutralised_when_shown() {
        let (_, talk, _) = talk("\x1b[2J\u{7}\n", Page::plain(60));
        assert!(!talk.contains(['\x1b', '\x07']), "{talk:?}");
        assert!(talk.contains("Answer: ^[[2J^G"));
    }
}
