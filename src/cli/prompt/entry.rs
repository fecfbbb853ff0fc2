//! A field of one line on the screen into which a text is typed.
//!
//! However much is typed or pasted, it takes one line, and what would be too long is not taken. Names that
//! can be typed stand below it, those that still fit.

use std::io::Write;
use std::time::Duration;

use crossterm::cursor::{MoveToColumn, MoveUp};
use crossterm::event::{
    DisableBracketedPaste, EnableBracketedPaste, Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers, poll,
    read,
};
use crossterm::queue;
use crossterm::terminal::{Clear, ClearType, disable_raw_mode, enable_raw_mode};

use super::{AskError, Refusal};
use crate::present::text::{Page, Styled, Text, clean, width, wrap};

/// Characters that a field takes at most.
pub(super) const LONGEST: usize = 2000;
/// Columns of the mark before the field and before what stands below it.
const MARK: usize = 2;

/// What a field looks like and which names can be typed.
pub(super) struct Field<'a> {
    /// The sign before it.
    pub mark: &'a str,
    /// What stands before what is typed, such as "Answer:".
    pub message: &'a str,
    /// The keys, for the line below it.
    pub help: &'a str,
    /// Names that can be typed; may be empty.
    pub names: &'a [String],
    /// Lines that the terminal has.
    pub height: usize,
    /// How it is written.
    pub page: Page,
}

/// What was typed so far and where the cursor stands in it (in characters).
#[derive(Debug, Default)]
struct Typing {
    text: Vec<char>,
    at: usize,
    /// Whether something was too long to be taken.
    full: bool,
}

/// What a key did.
#[derive(Debug, PartialEq, Eq)]
enum Did {
    /// It edited, or nothing.
    Edited,
    /// The text is to be taken.
    Enter,
    /// The field was left.
    Left,
    /// Ctrl-C.
    Interrupted,
}

impl Typing {
    fn string(&self) -> String {
        self.text.iter().collect()
    }

    /// Puts a text in at the cursor, as much of it as there is room for; ends of lines become blanks.
    fn put(&mut self, text: &str) {
        for c in text.chars().map(|c| if c.is_control() { ' ' } else { c }) {
            if self.text.len() == LONGEST {
                self.full = true;
                return;
            }
            self.text.insert(self.at, c);
            self.at += 1;
        }
    }

    fn cut(&mut self, from: usize, to: usize) {
        self.text.drain(from..to);
        self.at = from;
        self.full = false;
    }

    /// Where the word before the cursor begins.
    fn word(&self) -> usize {
        let letters = self.text[..self.at].iter().rposition(|c| !c.is_whitespace()).map_or(0, |i| i + 1);
        self.text[..letters].iter().rposition(|c| c.is_whitespace()).map_or(0, |i| i + 1)
    }

    fn key(&mut self, key: KeyEvent) -> Did {
        let end = self.text.len();
        let control = key.modifiers.contains(KeyModifiers::CONTROL);
        let other = key.modifiers.intersects(KeyModifiers::ALT | KeyModifiers::SUPER | KeyModifiers::META);
        match key.code {
            KeyCode::Enter => return Did::Enter,
            KeyCode::Esc => return Did::Left,
            KeyCode::Char('c') if control => return Did::Interrupted,
            KeyCode::Char('d') if control && self.text.is_empty() => return Did::Left,
            KeyCode::Char('u') if control => self.cut(0, self.at),
            KeyCode::Char('k') if control => self.cut(self.at, end),
            KeyCode::Char('w') if control => self.cut(self.word(), self.at),
            KeyCode::Char('a') if control => self.at = 0,
            KeyCode::Char('e') if control => self.at = end,
            KeyCode::Char('h') if control && self.at > 0 => self.cut(self.at - 1, self.at),
            KeyCode::Backspace if self.at > 0 => self.cut(self.at - 1, self.at),
            KeyCode::Delete if self.at < end => self.cut(self.at, self.at + 1),
            KeyCode::Left => self.at = self.at.saturating_sub(1),
            KeyCode::Right => self.at = (self.at + 1).min(end),
            KeyCode::Home => self.at = 0,
            KeyCode::End => self.at = end,
            KeyCode::Char(c) if !control && !other => self.put(c.encode_utf8(&mut [0; 4])),
            _ => {}
        }
        Did::Edited
    }

    /// The part round the cursor that fits into so many columns, and the cursor's column in it.
    fn window(&self, room: usize) -> (String, usize) {
        let columns = |c: &char| width(&clean(&c.to_string()));
        let room = room.max(2) - 1;
        let mut first = self.at;
        let mut before = 0;
        while first > 0 && before + columns(&self.text[first - 1]) <= room {
            first -= 1;
            before += columns(&self.text[first]);
        }
        let mut taken = before;
        let mut last = self.at;
        while last < self.text.len() && taken + columns(&self.text[last]) <= room {
            taken += columns(&self.text[last]);
            last += 1;
        }
        (clean(&self.text[first..last].iter().collect::<String>()), before)
    }
}

impl Field<'_> {
    /// Lets a text be typed until `check` takes it; none when the field was left.
    ///
    /// # Errors
    /// Ctrl-C, and a terminal that fails.
    pub fn ask<T>(
        &self,
        check: impl Fn(&str) -> Result<T, Refusal>,
    ) -> Result<Option<(String, T)>, AskError> {
        enable_raw_mode()?;
        let mut err = std::io::stderr();
        queue!(err, EnableBracketedPaste)?;
        let asked = self.typed(&mut err, check);
        let put_right = queue!(err, DisableBracketedPaste).and_then(|()| err.flush());
        disable_raw_mode()?;
        put_right?;
        asked
    }

    fn typed<T>(
        &self,
        err: &mut impl Write,
        check: impl Fn(&str) -> Result<T, Refusal>,
    ) -> Result<Option<(String, T)>, AskError> {
        let mut typing = Typing::default();
        let mut refusal: Option<Refusal> = None;
        loop {
            self.draw(err, &typing, refusal.as_deref())?;
            // All that came together is taken in before anything is drawn again.
            let mut event = read()?;
            loop {
                let did = match event {
                    Event::Key(key) if key.kind != KeyEventKind::Release => {
                        refusal = None;
                        typing.key(key)
                    }
                    Event::Paste(text) => {
                        refusal = None;
                        typing.put(&text);
                        Did::Edited
                    }
                    _ => Did::Edited,
                };
                match did {
                    Did::Edited => {}
                    Did::Enter => {
                        let text = typing.string();
                        match check(&text) {
                            Ok(reply) => {
                                self.wipe(err)?;
                                return Ok(Some((text, reply)));
                            }
                            Err(why) => refusal = Some(why),
                        }
                        break;
                    }
                    Did::Left => {
                        self.wipe(err)?;
                        return Ok(None);
                    }
                    Did::Interrupted => {
                        self.wipe(err)?;
                        return Err(AskError::Interrupted);
                    }
                }
                if !poll(Duration::ZERO)? {
                    break;
                }
                event = read()?;
            }
        }
    }

    /// Clears the field and what stands below it; the cursor is on its line.
    fn wipe(&self, err: &mut impl Write) -> std::io::Result<()> {
        queue!(err, MoveToColumn(0), Clear(ClearType::FromCursorDown))?;
        err.flush()
    }

    fn draw(&self, err: &mut impl Write, typing: &Typing, refusal: Option<&str>) -> std::io::Result<()> {
        let lead = MARK + width(self.message) + 1;
        let (window, cursor) = typing.window(self.page.width.saturating_sub(lead + 1));
        let below = self.below(typing, refusal);
        queue!(err, MoveToColumn(0), Clear(ClearType::FromCursorDown))?;
        write!(err, "{} {} {window}", self.mark, self.message)?;
        for line in &below {
            write!(err, "\r\n{line}")?;
        }
        if !below.is_empty() {
            queue!(err, MoveUp(u16::try_from(below.len()).unwrap_or(u16::MAX)))?;
        }
        queue!(err, MoveToColumn(u16::try_from(lead + cursor).unwrap_or(u16::MAX)))?;
        err.flush()
    }

    /// The lines below the field: why it was not taken, the names that fit, the keys.
    fn below(&self, typing: &Typing, refusal: Option<&str>) -> Vec<String> {
        let room = self.page.width.saturating_sub(MARK + 1);
        let mut lines = Vec::new();
        let full = typing
            .full
            .then(|| format!("No more than {LONGEST} characters are taken; the rest is left out."));
        for why in refusal.map(str::to_owned).into_iter().chain(full) {
            let broken = wrap(&Styled::from(why), room, room);
            lines.extend(broken.iter().enumerate().map(|(i, line)| {
                let sign = if i == 0 { "!" } else { " " };
                format!("{sign} {line}")
            }));
        }
        let typed = typing.string();
        let fits: Vec<&str> = fitting(self.names, &typed).collect();
        if !fits.is_empty() {
            let mut names = Text::new();
            names.flow(MARK, fits);
            let flowing = names.render(&Page { colour: false, ..self.page });
            let flowing: Vec<&str> = flowing.lines().collect();
            let most = self.height.saturating_sub(lines.len() + 4).max(1);
            lines.extend(flowing.iter().take(most).map(|line| (*line).to_owned()));
            if flowing.len() > most {
                lines.push("  ...".into());
            }
        }
        let help = wrap(&Styled::from(format!("[{}]", self.help)), self.page.width, self.page.width);
        lines.extend(help.iter().map(Styled::to_string));
        lines
    }
}

/// The names that begin with what is typed, or have a word that does; all of them while nothing is typed.
pub(in crate::cli) fn fitting<'n>(names: &'n [String], typed: &str) -> impl Iterator<Item = &'n str> {
    let typed = typed.trim().to_lowercase();
    let begins = |name: &str| name.to_lowercase().starts_with(&typed);
    let any = names.iter().any(|name| begins(name));
    names.iter().map(String::as_str).filter(move |name| {
        let name = name.to_lowercase();
        match any {
            true => name.starts_with(&typed),
            false => name.split(|c: char| !c.is_alphanumeric()).any(|word| word.starts_with(&typed)),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn press(typing: &mut Typing, code: KeyCode, modifiers: KeyModifiers) -> Did {
        typing.key(KeyEvent::new(code, modifiers))
    }

    #[test]
    fn keys_edit_as_on_any_line() {
        let mut typing = Typing::default();
        typing.put("two words");
        press(&mut typing, KeyCode::Char('w'), KeyModifiers::CONTROL);
        assert_eq!(typing.string(), "two ");
        press(&mut typing, KeyCode::Backspace, KeyModifiers::NONE);
        press(&mut typing, KeyCode::Home, KeyModifiers::NONE);
        press(&mut typing, KeyCode::Delete, KeyModifiers::NONE);
        press(&mut typing, KeyCode::Char('T'), KeyModifiers::SHIFT);
        assert_eq!(typing.string(), "Two");
        press(&mut typing, KeyCode::End, KeyModifiers::NONE);
        press(&mut typing, KeyCode::Char('u'), KeyModifiers::CONTROL);
        assert_eq!(typing.string(), "", "Ctrl-U clears the line and types nothing");
        press(&mut typing, KeyCode::Char('b'), KeyModifiers::CONTROL);
        assert_eq!(typing.string(), "");
        assert_eq!(press(&mut typing, KeyCode::Char('d'), KeyModifiers::CONTROL), Did::Left);
        assert_eq!(press(&mut typing, KeyCode::Char('c'), KeyModifiers::CONTROL), Did::Interrupted);
    }

    #[test]
    fn a_huge_paste_takes_one_line_and_is_cut() {
        let mut typing = Typing::default();
        typing.put(&"ab\n".repeat(5000));
        assert!(typing.full && typing.text.len() == LONGEST);
        let (window, cursor) = typing.window(40);
        assert!(width(&window) < 40 && cursor < 40, "{window}");
        assert!(!window.contains('\n'));
        press(&mut typing, KeyCode::Home, KeyModifiers::NONE);
        assert_eq!(typing.window(11), ("ab ab ab a".into(), 0));
        typing.text = "漢".repeat(30).chars().collect();
        typing.at = 30;
        assert_eq!(typing.window(11), ("漢".repeat(5), 10));
    }

    #[test]
    fn what_is_typed_leaves_the_names_that_fit() {
        let names: Vec<String> =
            ["Crash or fall", "Contact with water", "Abrasive on the commutator", "Hot iron: soldering"]
                .map(String::from)
                .into();
        let fits = |typed: &str| fitting(&names, typed).collect::<Vec<_>>();
        assert_eq!(fits(""), names);
        assert_eq!(fits("C"), ["Crash or fall", "Contact with water"]);
        assert_eq!(fits("sol"), ["Hot iron: soldering"]);
        assert_eq!(fits("xyz"), Vec::<&str>::new());
    }
}
