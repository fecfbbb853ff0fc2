//! Where each value of a YAML document stands.
//!
//! The typed reading gives no positions, keeps the last of two equal keys without a word, and follows
//! aliases. This pass goes first, over the same text: it notes the place of every value and refuses what
//! the format does not allow. It works on a stack of its own and stops at the first refusal, so that a
//! hostile file costs no more than its length; and no text is longer than [`LARGEST`].

use std::borrow::Cow;
use std::collections::HashMap;

use saphyr_parser::{Event, Parser, ScalarStyle, ScanError, Span};

use super::diagnostic::Code;

/// Mappings and lists within one another; the format itself needs eight.
pub const DEEPEST: usize = 32;
/// Bytes of one file.
pub const LARGEST: usize = 1 << 19;
/// What the first key of every file must say.
pub const FORMAT: &str = "commsense/knowledge/1";
/// What stands before the number in [`FORMAT`].
pub const FORMAT_STEM: &str = "commsense/knowledge/";

/// Line and column from 1, length in characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spot {
    pub line: u32,
    pub column: u32,
    pub length: u32,
}

impl Spot {
    const START: Spot = Spot { line: 1, column: 1, length: 1 };
}

/// One step down into a document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step<'a> {
    /// To the value of a key.
    Key(&'a str),
    /// To the key itself.
    Name(&'a str),
    /// To a member of a list.
    Item(usize),
}

/// Why a document was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    pub code: Code,
    pub spot: Spot,
    pub message: String,
    /// Another place that belongs to it, and what it is.
    pub related: Option<(Spot, &'static str)>,
    pub help: Option<String>,
}

#[derive(Debug)]
enum Below {
    Nothing,
    List(Vec<usize>),
    Map(HashMap<String, (Spot, usize)>),
}

#[derive(Debug)]
struct Node {
    spot: Spot,
    below: Below,
}

/// The places of all values of one document.
#[derive(Debug, Default)]
pub struct Places {
    nodes: Vec<Node>,
}

impl Places {
    /// The place at the end of the way, or of the last value on it that exists.
    pub fn find(&self, steps: &[Step]) -> Spot {
        let Some(mut node) = self.nodes.first() else { return Spot::START };
        for step in steps {
            let next = match (step, &node.below) {
                (Step::Key(key), Below::Map(map)) => map.get(*key).map(|(_, n)| *n),
                (Step::Name(key), Below::Map(map)) => match map.get(*key) {
                    Some((spot, _)) => return *spot,
                    None => None,
                },
                (Step::Item(i), Below::List(list)) => list.get(*i).copied(),
                _ => None,
            };
            match next.and_then(|n| self.nodes.get(n)) {
                Some(below) => node = below,
                None => break,
            }
        }
        node.spot
    }
}

/// A mapping or list that is still open.
struct Open {
    node: usize,
    /// In a mapping, the key whose value comes next.
    key: Option<(String, Spot)>,
}

/// The places of all values of the one document in `text`.
///
/// # Errors
/// The first thing in it that is not YAML, or is YAML that this format does not allow.
pub fn scan(text: &str) -> Result<Places, Box<Refusal>> {
    refuse_characters(text)?;
    let mut walk = Walk { nodes: Vec::new(), open: Vec::new(), documents: 0 };
    let mut parser = Parser::new_from_str(text);
    while let Some(event) = parser.next_event() {
        let (event, span) = event.map_err(|e| not_yaml(&e))?;
        walk.take(event, span)?;
    }
    Ok(Places { nodes: walk.nodes })
}

struct Walk {
    nodes: Vec<Node>,
    open: Vec<Open>,
    documents: usize,
}

impl Walk {
    fn take(&mut self, event: Event, span: Span) -> Result<(), Box<Refusal>> {
        let spot = spot_of(&span);
        match event {
            Event::DocumentStart(_) => {
                self.documents += 1;
                if self.documents > 1 {
                    return refuse(
                        Code::Syntax,
                        spot,
                        "a second document begins here",
                        "Write one document a file.",
                    );
                }
            }
            Event::Alias(_) => return anchor(spot, "an alias (`*name`)"),
            Event::Scalar(_, _, id, _) if id > 0 => return anchor(spot, "an anchor (`&name`)"),
            Event::SequenceStart(id, _) | Event::MappingStart(id, _) if id > 0 => {
                return anchor(spot, "an anchor (`&name`)");
            }
            Event::Scalar(_, _, _, Some(_))
            | Event::SequenceStart(_, Some(_))
            | Event::MappingStart(_, Some(_)) => {
                return anchor(spot, "a tag (`!name`)");
            }
            Event::Scalar(value, style, ..) => self.scalar(value, style, spot)?,
            Event::SequenceStart(..) => self.opened(Below::List(Vec::new()), spot)?,
            Event::MappingStart(..) => self.opened(Below::Map(HashMap::new()), spot)?,
            Event::SequenceEnd | Event::MappingEnd => {
                self.open.pop();
            }
            Event::Nothing | Event::StreamStart | Event::StreamEnd | Event::DocumentEnd => {}
        }
        Ok(())
    }

    fn scalar(&mut self, value: Cow<str>, style: ScalarStyle, spot: Spot) -> Result<(), Box<Refusal>> {
        let spot = Spot { length: spot.length.max(1), ..spot };
        if let Some(open) = self.open.last_mut()
            && let Below::Map(map) = &self.nodes[open.node].below
            && open.key.is_none()
        {
            if let Some((first, _)) = map.get(value.as_ref()) {
                let mut refusal = Refusal::new(
                    Code::DuplicateKey,
                    spot,
                    format!("the key {} stands here twice", quoted(&value)),
                );
                refusal.related = Some((*first, "it stands here first"));
                refusal.help = Some("Remove or rename one of the two.".into());
                return Err(refusal);
            }
            if style == ScalarStyle::Plain && value == "<<" {
                return anchor(spot, "a merge key (`<<`)");
            }
            open.key = Some((value.into_owned(), spot));
            return Ok(());
        }
        if self.open.len() == 1 && self.open[0].key.as_ref().is_some_and(|(key, _)| key == "format") {
            refuse_newer(&value, spot)?;
        }
        self.add(Below::Nothing, spot);
        Ok(())
    }

    fn opened(&mut self, below: Below, spot: Spot) -> Result<(), Box<Refusal>> {
        let spot = Spot { length: 1, ..spot };
        if self.open.len() >= DEEPEST {
            return Err(too_deep(spot));
        }
        if let Some(open) = self.open.last()
            && matches!(self.nodes[open.node].below, Below::Map(_))
            && open.key.is_none()
        {
            return refuse(
                Code::Forbidden,
                spot,
                "a list or mapping stands where a key belongs",
                "A key is a plain word before a colon.",
            );
        }
        let node = self.add(below, spot);
        self.open.push(Open { node, key: None });
        Ok(())
    }

    /// Adds a value to the mapping or list that is open.
    fn add(&mut self, below: Below, spot: Spot) -> usize {
        let new = self.nodes.len();
        self.nodes.push(Node { spot, below });
        if let Some(open) = self.open.last_mut() {
            match &mut self.nodes[open.node].below {
                Below::List(list) => list.push(new),
                Below::Map(map) => {
                    if let Some((key, key_spot)) = open.key.take() {
                        map.insert(key, (key_spot, new));
                    }
                }
                Below::Nothing => {}
            }
        }
        new
    }
}

impl Refusal {
    fn new(code: Code, spot: Spot, message: impl Into<String>) -> Box<Refusal> {
        Box::new(Refusal { code, spot, message: message.into(), related: None, help: None })
    }
}

fn refuse<T>(code: Code, spot: Spot, message: impl Into<String>, help: &str) -> Result<T, Box<Refusal>> {
    let mut refusal = Refusal::new(code, spot, message);
    refusal.help = Some(help.into());
    Err(refusal)
}

fn anchor<T>(spot: Spot, what: &str) -> Result<T, Box<Refusal>> {
    let spot = Spot { length: 1, ..spot };
    refuse(
        Code::Forbidden,
        spot,
        format!("{what} is not allowed in knowledge files"),
        "Write the value out in full; put text that begins with `*`, `&` or `!` in quotes.",
    )
}

fn too_deep(spot: Spot) -> Box<Refusal> {
    let message = format!("lists and mappings stand more than {DEEPEST} deep within one another here");
    let mut refusal = Refusal::new(Code::TooMuch, spot, message);
    refusal.help = Some("Knowledge needs no more than eight levels.".into());
    refusal
}

fn not_yaml(error: &ScanError) -> Box<Refusal> {
    let mark = error.marker();
    let spot = Spot { line: number(mark.line()), column: number(mark.col() + 1), length: 1 };
    // The scanner looks ahead and has a limit of its own for brackets within one another.
    if error.info().contains("recursion limit") {
        return too_deep(spot);
    }
    let mut refusal = Refusal::new(Code::Syntax, spot, format!("this is not YAML: {}", error.info()));
    refusal.help =
        Some("Look at the indentation, quotes, brackets and colons here and on the line before.".into());
    refusal
}

/// A file of a later format may hold anything, so it is refused before the rest of it is read.
fn refuse_newer(value: &str, spot: Spot) -> Result<(), Box<Refusal>> {
    let Some(version) = value.strip_prefix(FORMAT_STEM) else { return Ok(()) };
    if value == FORMAT || version.is_empty() || !version.bytes().all(|b| b.is_ascii_digit()) {
        return Ok(());
    }
    refuse(
        Code::Format,
        spot,
        format!("this file is written in format {}, which this program does not know", quoted(version)),
        "It knows format 1. A newer program may read the file.",
    )
}

/// Refuses every control character but the line breaks.
fn refuse_characters(text: &str) -> Result<(), Box<Refusal>> {
    let (mut line, mut column, mut after_cr) = (1, 1, false);
    for c in text.chars() {
        let spot = Spot { line, column, length: 1 };
        match c {
            '\n' if after_cr => {}
            '\n' | '\r' => (line, column) = (line + 1, 0),
            '\t' => return refuse(Code::Characters, spot, "a tab stands here", "Use spaces."),
            c if c.is_control() => {
                let message = format!("the control character U+{:04X} stands here", u32::from(c));
                return refuse(Code::Characters, spot, message, "Remove it; the file has to be plain text.");
            }
            _ => {}
        }
        if !(c == '\n' && after_cr) {
            column += 1;
        }
        after_cr = c == '\r';
    }
    Ok(())
}

/// Text from a file, shortened and made harmless, for a message.
pub fn quoted(text: &str) -> String {
    const MOST: usize = 60;
    let harmless = |c: char| if c.is_control() { '\u{fffd}' } else { c };
    let short: String = text.chars().take(MOST).map(harmless).collect();
    let dots = if text.chars().nth(MOST).is_some() { "..." } else { "" };
    format!("`{short}{dots}`")
}

fn number(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn spot_of(span: &Span) -> Spot {
    let (start, end) = (span.start, span.end);
    let length = if end.line() == start.line() { end.index().saturating_sub(start.index()) } else { 1 };
    Spot { line: number(start.line().max(1)), column: number(start.col() + 1), length: number(length.max(1)) }
}
