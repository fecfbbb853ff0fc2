//! Lists on the screen, to be walked through with the arrow keys.

use std::fmt;
use std::io::Write;
use std::time::Duration;

use crossterm::cursor::MoveToColumn;
use crossterm::event::{Event, KeyCode, KeyEventKind, KeyModifiers, poll, read};
use crossterm::queue;
use crossterm::terminal::{Clear, ClearType, disable_raw_mode, enable_raw_mode};
use inquire::list_option::ListOption;
use inquire::validator::Validation;
use inquire::{InquireError, MultiSelect, Select};

use super::entry::Field;
use super::reply::cut;
use super::{AskError, Prompt, Prompter, Refusal, Reply, Several, Side};
use crate::cli::appearance::Appearance;
use crate::present::text::{Page, Styled, Text, width, wrap};

/// Asks by lists on standard error.
pub struct Screen {
    appearance: Appearance,
}

/// What a row of a list stands for.
#[derive(Clone)]
enum Row {
    Reply(Reply),
    Type,
    Again,
    Return,
}

/// A row as the list shows it: broken between words to fit, further lines indented.
struct Shown {
    row: Row,
    label: Styled,
    lines: String,
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.lines)
    }
}

/// What stands before the list or the field.
const MESSAGE: &str = "Answer:";
/// Characters of a typed text that stay in sight when it is taken.
const SHOWN: usize = 300;
/// Columns taken by the mark before a row.
const MARK: usize = 2;
/// Columns taken by the box before a row that may be one of several.
const BOX: usize = 4;

impl Several {
    /// What stands before the list and below it, so that each has a line of this width for itself.
    fn said(&self, width: usize) -> (String, String) {
        let none = self.none.to_lowercase();
        // Brackets stand round what is below.
        let fits = |help: &String| help.chars().count() + 2 <= width;
        let below = ["Space marks, Enter takes it", "Space, Enter"]
            .map(|keys| format!("{keys}; none: {none}; Esc: other actions"));
        match below.into_iter().find(fits) {
            Some(help) => ("Answer:".into(), help),
            None => (format!("None: {none}. Answer:"), "Space, Enter; Esc: other actions".into()),
        }
    }
}

impl Screen {
    /// On a terminal of this appearance.
    pub fn new(appearance: Appearance) -> Self {
        Screen { appearance }
    }

    fn page(&self) -> Page {
        self.appearance.talk_page()
    }

    /// A row; side actions carry a dot that sets them apart from answers.
    fn row(&self, row: Row, label: &Styled) -> Shown {
        self.row_behind(0, row, label)
    }

    /// The same with so many more columns taken before it.
    fn row_behind(&self, taken: usize, row: Row, label: &Styled) -> Shown {
        let page = Page { colour: false, ..self.page() };
        let dot = if page.unicode { "· " } else { "- " };
        let lead = match &row {
            Row::Reply(Reply::Side(_)) | Row::Again | Row::Return => dot,
            _ => "",
        };
        let mut text = Text::new();
        let room = page.width.saturating_sub(MARK + taken + 1);
        text.item(0, lead, label.clone());
        let lines = text.render(&Page { width: room, ..page });
        let lines = lines.trim_end().replace('\n', &format!("\n{}", " ".repeat(MARK)));
        Shown { row, label: label.clone(), lines }
    }

    /// The rows of a list: of a checklist without what may be done instead of answering.
    fn rows(&self, prompt: &Prompt) -> Vec<Shown> {
        if prompt.several.is_some() {
            let choices = prompt.choices.iter().enumerate();
            let mut rows: Vec<Shown> =
                choices.map(|(i, c)| self.row_behind(BOX, Row::Reply(Reply::Choice(i)), &c.line())).collect();
            if prompt.side.contains(&Side::Unknown) {
                rows.push(self.row(Row::Reply(Reply::Side(Side::Unknown)), &"I don't know the rest".into()));
            }
            return rows;
        }
        let answers =
            prompt.choices.iter().enumerate().map(|(i, c)| self.row(Row::Reply(Reply::Choice(i)), &c.line()));
        let typed = prompt.text.iter().map(|t| self.row(Row::Type, &Styled::from("Type ").plain(&t.hint)));
        answers.chain(typed).chain(prompt.sides().map(|s| self.side(s))).collect()
    }

    fn side(&self, side: Side) -> Shown {
        self.row(Row::Reply(Reply::Side(side)), &Styled::from(side.label()))
    }

    /// What was chosen, broken between words beside the message that stays before it.
    fn chosen(&self, label: &Styled, message: &str) -> String {
        let before = MARK + width(message) + 1;
        let room = self.page().width.saturating_sub(before + 1);
        let text = Text::from(label.clone()).render(&Page { width: room, colour: false, ..self.page() });
        text.trim_end().replace('\n', &format!("\n{}", " ".repeat(before)))
    }

    /// Lets one row be chosen, the one at `begin` first; nothing when the list was left by Esc or Ctrl-D.
    /// `above` is how many lines have to stay in sight over it.
    fn choose(
        &self,
        message: &str,
        rows: Vec<Shown>,
        help: &str,
        above: usize,
        begin: usize,
    ) -> Result<Option<Row>, AskError> {
        drop_typed_ahead()?;
        let lines: Vec<usize> = rows.iter().map(|r| r.lines.lines().count()).collect();
        let fitting = fitting(&lines, height().saturating_sub(above + 3));
        let begin = begin.min(rows.len().saturating_sub(1));
        let format = |chosen: ListOption<&Shown>| self.chosen(&chosen.value.label, message);
        let list = Select::new(message, rows)
            .with_page_size(fitting)
            .with_starting_cursor(begin)
            .with_render_config(self.appearance.marks())
            .with_help_message(help)
            .with_formatter(&format)
            // Without a filter no key but the arrows, Enter and Esc does anything, Ctrl-Z included.
            .without_filtering();
        match list.prompt() {
            Ok(shown) => Ok(Some(shown.row)),
            Err(e) => left(e).map(|()| None),
        }
    }

    /// Lets any number of rows be marked; nothing when the list was left by Esc or Ctrl-D.
    fn mark(&self, prompt: &Prompt, several: &Several, above: usize) -> Result<Option<Reply>, AskError> {
        drop_typed_ahead()?;
        let rows = self.rows(prompt);
        let lines: Vec<usize> = rows.iter().map(|r| r.lines.lines().count()).collect();
        let (message, help) = several.said(self.page().width);
        let message = message.as_str();
        let format = |marked: &[ListOption<&Shown>]| match marked {
            [] => several.none.clone(),
            some => {
                let labels: Vec<String> = some.iter().map(|o| o.value.label.to_string()).collect();
                self.chosen(&Styled::from(labels.join("; ")), message)
            }
        };
        let (checked, room) = (prompt.clone(), self.page().width.saturating_sub(MARK + 1));
        let validate = move |marked: &[ListOption<&Shown>]| {
            Ok(match checked.marked(marked.iter().map(|o| &o.value.row)) {
                Ok(_) => Validation::Valid,
                Err(why) => Validation::Invalid(broken(why, room).into()),
            })
        };
        let list = MultiSelect::new(message, rows)
            .with_page_size(fitting(&lines, height().saturating_sub(above + 3)))
            .with_render_config(self.appearance.marks())
            .with_help_message(&help)
            .with_formatter(&format)
            .with_validator(validate)
            .without_filtering();
        match list.prompt() {
            Ok(rows) => Ok(prompt.marked(rows.iter().map(|r| &r.row)).ok()),
            Err(e) => left(e).map(|()| None),
        }
    }

    /// Lets a text be typed; nothing when it was left by Esc or Ctrl-D.
    fn entry(&self, prompt: &Prompt) -> Result<Option<Reply>, AskError> {
        drop_typed_ahead()?;
        let page = self.page();
        let mark = if page.unicode { "▪" } else { "-" };
        let field = Field {
            mark,
            message: MESSAGE,
            help: "Enter takes it; Esc: other actions",
            names: prompt.text.as_ref().map_or(&[], |wanted| &wanted.names),
            height: height(),
            page,
        };
        let Some((typed, reply)) = field.ask(|typed| prompt.entered(typed))? else { return Ok(None) };
        // What was typed stays in sight, were it ever so long.
        let shown = self.chosen(&Styled::new().strong(cut(typed.trim(), SHOWN)), MESSAGE);
        let mut err = std::io::stderr().lock();
        writeln!(err, "{mark} {MESSAGE} {shown}")?;
        Ok(Some(reply))
    }

    /// What may be done instead of answering; nothing to return to the question.
    fn menu(&self, prompt: &Prompt) -> Result<Option<Reply>, AskError> {
        let several = prompt.several.is_some();
        let sides = prompt.sides().filter(|s| !several || *s != Side::Unknown);
        let mut rows: Vec<Shown> = sides.map(|s| self.side(s)).collect();
        if let Some(wanted) = prompt.text.as_ref().filter(|_| several) {
            rows.push(self.row(Row::Type, &Styled::from("Type ").plain(&wanted.hint)));
        }
        if !prompt.note.is_empty() {
            rows.push(self.row(Row::Again, &"Read again what stands before it".into()));
        }
        rows.push(self.row(Row::Return, &"Return to the question".into()));
        match self.choose("Instead of an answer:", rows, "Up, Down, Enter", 0, 0)? {
            Some(Row::Reply(reply)) => Ok(Some(reply)),
            Some(Row::Type) => self.entry(prompt),
            Some(Row::Again) => {
                self.read_pages(&prompt.before())?;
                self.write(&self.above(&prompt.short()))?;
                Ok(None)
            }
            Some(Row::Return) | None => Ok(None),
        }
    }

    fn write(&self, text: &Text) -> Result<(), AskError> {
        let mut err = std::io::stderr().lock();
        err.write_all(text.render(&self.page()).as_bytes())?;
        Ok(err.flush()?)
    }
}

impl Screen {
    /// Whether there is anything to be done instead of choosing a row.
    fn has_menu(prompt: &Prompt) -> bool {
        prompt.text.is_some() || !prompt.side.is_empty()
    }

    /// The keys of a list.
    fn keys(prompt: &Prompt) -> &'static str {
        match (Self::has_menu(prompt), prompt.choices.len()) {
            (true, _) => "Up, Down, Enter; Esc: other actions",
            (false, 0..=1) => "Enter: go on",
            (false, _) => "Up, Down, Enter",
        }
    }

    /// What stands above the list.
    fn above(&self, prompt: &Prompt) -> Text {
        let mut above = Text::new();
        above.blank().append(prompt.above());
        if let (Some(wanted), true) = (&prompt.text, prompt.choices.is_empty()) {
            above.para(Styled::from("Type ").plain(&wanted.hint).plain("."));
        }
        above
    }

    /// Lines of the list, with its own line and that of the keys.
    fn lines_of_list(&self, prompt: &Prompt) -> usize {
        self.rows(prompt).iter().map(|row| row.lines.lines().count()).sum::<usize>() + 2
    }

    fn lines(&self, text: &Text) -> usize {
        text.render(&self.page()).lines().count()
    }

    /// Shows a text in pages that fit, each read before the next comes.
    fn read_pages(&self, text: &Text) -> Result<(), AskError> {
        // An empty line before, the keys after it, and the line of the cursor.
        let pages = text.pages(&self.page(), height().saturating_sub(3));
        for (i, one) in pages.iter().enumerate() {
            let keys = match pages.len() {
                1 => "[Enter: go on]".to_owned(),
                many => format!("[Enter: read on; page {} of {many}]", i + 1),
            };
            // Not locked: a signal that comes meanwhile has its own to say.
            let mut err = std::io::stderr();
            write!(err, "\n{one}{keys}")?;
            err.flush()?;
            drop_typed_ahead()?;
            let turned = turned();
            disable_raw_mode()?;
            queue!(err, MoveToColumn(0), Clear(ClearType::FromCursorDown))?;
            err.flush()?;
            turned?;
        }
        Ok(())
    }
}

/// Waits until the page is turned. Esc does not: it is no way past a caution.
fn turned() -> Result<(), AskError> {
    loop {
        let Event::Key(key) = read()? else { continue };
        match key.code {
            _ if key.kind == KeyEventKind::Release => {}
            KeyCode::Enter | KeyCode::Char(' ') | KeyCode::PageDown => return Ok(()),
            KeyCode::Char('c') if key.modifiers.contains(KeyModifiers::CONTROL) => {
                return Err(AskError::Interrupted);
            }
            _ => {}
        }
    }
}

impl Prompter for Screen {
    fn ask(&mut self, prompt: &Prompt) -> Result<Reply, AskError> {
        let whole = self.above(prompt);
        // The empty line before may scroll away, and the cursor takes one.
        let room = height().saturating_sub(self.lines_of_list(prompt));
        let above = if !prompt.note.is_empty() && self.lines(&whole) > room {
            // What has to be read is read first; then the question has a screen of its own.
            self.read_pages(&prompt.before())?;
            if prompt.is_reading() {
                return Ok(Reply::Choice(0));
            }
            self.above(&prompt.short())
        } else {
            whole
        };
        self.write(&above)?;
        let page = self.page();
        let heading = usize::from(!prompt.heading.is_empty());
        let question = wrap(&Styled::from(&prompt.question), page.width, page.width).len() + heading;
        loop {
            let reply = if let Some(several) = &prompt.several {
                self.mark(prompt, several, question)?
            } else {
                let chosen = match prompt.choices.is_empty() && prompt.text.is_some() {
                    true => Some(Row::Type),
                    false => {
                        self.choose(MESSAGE, self.rows(prompt), Self::keys(prompt), question, prompt.begin)?
                    }
                };
                match chosen {
                    Some(Row::Reply(reply)) => Some(reply),
                    Some(Row::Type) => self.entry(prompt)?,
                    Some(Row::Again | Row::Return) | None => None,
                }
            };
            if let Some(reply) = reply {
                return Ok(reply);
            }
            if Self::has_menu(prompt)
                && let Some(reply) = self.menu(prompt)?
            {
                return Ok(reply);
            }
        }
    }

    fn read(&mut self, text: &Text) -> Result<(), AskError> {
        self.read_pages(text)
    }

    fn say(&mut self, text: &Text) -> Result<(), AskError> {
        self.write(text)
    }

    fn show(&mut self, text: &Text) -> Result<(), AskError> {
        let mut out = std::io::stdout().lock();
        out.write_all(text.render(&self.appearance.result_page()).as_bytes())?;
        Ok(out.flush()?)
    }

    fn redraws(&self) -> bool {
        true
    }
}

impl Prompt {
    /// The reply that marked rows are.
    fn marked<'r>(&self, rows: impl Iterator<Item = &'r Row>) -> Result<Reply, Refusal> {
        let (mut chosen, mut unsure) = (Vec::new(), false);
        for row in rows {
            match row {
                Row::Reply(Reply::Choice(i)) => chosen.push(*i),
                _ => unsure = true,
            }
        }
        self.together(chosen, unsure)
    }
}

/// A refusal in lines that fit.
fn broken(why: String, room: usize) -> String {
    let lines: Vec<String> = wrap(&Styled::from(why), room, room).iter().map(Styled::to_string).collect();
    lines.join("\n  ")
}

/// Lines of the terminal.
fn height() -> usize {
    crossterm::terminal::size().map_or(24, |(_, rows)| usize::from(rows)).max(8)
}

/// How many rows of a list to show at once in a room of so many lines: all if they fit, else as many as
/// fit even where the tallest stand together.
fn fitting(lines: &[usize], room: usize) -> usize {
    if lines.iter().sum::<usize>() <= room {
        return lines.len().max(1);
    }
    let tallest = lines.iter().max().copied().unwrap_or(1).max(1);
    (room / tallest).max(3)
}

/// Esc and Ctrl-D leave a prompt without a reply; everything else is an error.
fn left(e: InquireError) -> Result<(), AskError> {
    match e {
        InquireError::OperationCanceled => Ok(()),
        InquireError::OperationInterrupted => Err(AskError::Interrupted),
        InquireError::IO(e) => Err(AskError::Io(e)),
        InquireError::NotTTY => Err(AskError::Io(std::io::Error::other("it is not a terminal"))),
        InquireError::InvalidConfiguration(why) => Err(AskError::Io(std::io::Error::other(why))),
        InquireError::Custom(e) => Err(AskError::Io(std::io::Error::other(e.to_string()))),
    }
}

/// Drops what was typed or pasted before the question could be read, lest it answer it by accident.
fn drop_typed_ahead() -> Result<(), AskError> {
    enable_raw_mode()?;
    let outcome = (|| {
        while poll(Duration::ZERO)? {
            if let Event::Key(key) = read()?
                && key.code == KeyCode::Char('c')
                && key.modifiers.contains(KeyModifiers::CONTROL)
            {
                return Err(AskError::Interrupted);
            }
        }
        Ok(())
    })();
    if outcome.is_err() {
        disable_raw_mode()?;
    }
    outcome
}

#[cfg(test)]
mod tests {
    use super::{Several, fitting};

    #[test]
    fn what_none_means_is_said_at_every_width_and_the_keys_have_a_line_for_themselves() {
        for none in ["All as it should be", "None of them could be checked"] {
            let several = Several { none: none.into(), about: Vec::new() };
            for width in [40, 60, 80, 200] {
                let (message, help) = several.said(width);
                assert!(help.chars().count() + 2 <= width, "{width}: {help}");
                assert!(help.contains("Space") && help.ends_with("Esc: other actions"), "{help}");
                assert!(format!("{message} {help}").contains(&format!("one: {}", none.to_lowercase())));
            }
        }
    }

    #[test]
    fn a_list_shows_all_its_rows_where_they_fit() {
        assert_eq!(fitting(&[1, 2, 1, 1], 5), 4);
        assert_eq!(fitting(&[1; 30], 20), 20);
        assert_eq!(fitting(&[1, 2, 1, 1, 1, 1], 6), 3);
        assert_eq!(fitting(&[2; 30], 2), 3);
        assert_eq!(fitting(&[], 20), 1);
    }
}
