//! Where the values of a case file stand.
//!
//! The typed reading gives no positions for good values, keeps the last of two equal keys without a word
//! and follows aliases. This pass goes first, over the same text: it notes what stands where, and refuses
//! what a case file may not hold. It keeps its own stack and a limit on depth, so that a hostile file
//! costs no more than its length.

use std::collections::HashMap;

use indexmap::IndexMap;
use saphyr_parser::{Event, Marker, Parser, ScalarStyle};

use super::file::Problem;
use super::wording::shown;

/// Lists and mappings within one another; the format itself needs two.
const DEEPEST: usize = 16;

/// What a value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// Left empty, `~` or `null`.
    Nothing,
    /// A word, a number or a longer text.
    Text,
    /// A list.
    List,
    /// Keys with values.
    Map,
}

/// A place in the text: line and column (in characters) from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Spot {
    pub line: usize,
    pub column: usize,
}

/// A value, and where it and its key stand; a member of a list has its own place for a key's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Value {
    pub shape: Shape,
    pub key: Spot,
    pub spot: Spot,
}

/// The layout of a case file.
#[derive(Debug, Default)]
pub(super) struct Layout {
    /// What the whole document is; none for an empty one.
    pub root: Option<Value>,
    /// Keys at the top, in order, each with what stands below it.
    pub top: Vec<(String, Value)>,
    /// Values one level below the top, by the key at the top and their own key (or number in a list).
    below: IndexMap<(String, String), Value>,
    /// Whether a person's comments stand in it.
    pub comments: bool,
}

impl Layout {
    /// The value of a key at the top.
    pub fn at(&self, key: &str) -> Option<Value> {
        self.top.iter().find(|(k, _)| k == key).map(|(_, v)| *v)
    }

    /// A value one level below a key at the top.
    pub fn under(&self, key: &str, inner: &str) -> Option<Value> {
        self.below.get(&(key.to_owned(), inner.to_owned())).copied()
    }

    /// All values one level below the top, in order: key at the top, own key or number, value.
    pub fn inner(&self) -> impl Iterator<Item = (&str, &str, Value)> {
        self.below.iter().map(|((top, inner), value)| (&**top, &**inner, *value))
    }
}

/// A list or mapping that is still open.
struct Open {
    map: bool,
    /// In a mapping, the key whose value comes next, and its place.
    key: Option<(String, Spot)>,
    /// Keys that stood in it so far; in a list, how many members.
    keys: HashMap<String, Spot>,
    members: usize,
}

/// Reads the layout of the one document in `text`.
///
/// # Errors
///
/// The first thing that is no YAML, or YAML that a case file may not hold.
pub(super) fn scan(text: &str) -> Result<Layout, Problem> {
    let mut layout = Layout::default();
    let mut open: Vec<Open> = Vec::new();
    let mut scalars: Vec<Masked> = Vec::new();
    let mut path: Vec<String> = Vec::new();
    let mut documents = 0;
    let mut parser = Parser::new_from_str(text);
    while let Some(event) = parser.next_event() {
        let (event, span) = event.map_err(|e| {
            problem(spot(e.marker()), format!("this is not YAML: {}; look at the indentation, quotes and colons here and on the line before", e.info()))
        })?;
        let here = spot(&span.start);
        refuse_shorthand(&event, here)?;
        let (shape, text) = match event {
            Event::DocumentStart(_) => {
                documents += 1;
                if documents > 1 {
                    return Err(problem(
                        here,
                        "a second document begins here; a case file holds one case".into(),
                    ));
                }
                continue;
            }
            Event::SequenceEnd | Event::MappingEnd => {
                open.pop();
                path.truncate(open.len().saturating_sub(1));
                continue;
            }
            Event::Scalar(value, style, ..) => {
                scalars.push(Masked { start: span.start.index(), end: span.end.index(), style });
                let nothing = style == ScalarStyle::Plain && matches!(&*value, "" | "~" | "null");
                (if nothing { Shape::Nothing } else { Shape::Text }, value.into_owned())
            }
            Event::SequenceStart(..) => (Shape::List, String::new()),
            Event::MappingStart(..) => (Shape::Map, String::new()),
            _ => continue,
        };
        let depth = open.len();
        let mut key_spot = here;
        if let Some(inside) = open.last_mut() {
            if inside.map && inside.key.is_none() {
                take_key(inside, shape, text, here)?;
                continue;
            }
            let name = match inside.key.take() {
                Some((name, spot)) => {
                    key_spot = spot;
                    name
                }
                None => inside.members.to_string(),
            };
            inside.members += 1;
            path.truncate(depth - 1);
            path.push(name);
        }
        let value = Value { shape, key: key_spot, spot: here };
        match &path[..] {
            [] => layout.root = Some(value),
            [top] => layout.top.push((top.clone(), value)),
            [top, inner] => {
                layout.below.insert((top.clone(), inner.clone()), value);
            }
            _ => {}
        }
        if matches!(shape, Shape::List | Shape::Map) {
            if depth >= DEEPEST {
                return Err(problem(
                    here,
                    format!(
                        "lists and keys stand more than {DEEPEST} deep within one another here; a case file needs two levels"
                    ),
                ));
            }
            open.push(Open { map: shape == Shape::Map, key: None, keys: HashMap::new(), members: 0 });
        }
    }
    layout.comments = comments(text, &scalars);
    Ok(layout)
}

fn take_key(inside: &mut Open, shape: Shape, text: String, here: Spot) -> Result<(), Problem> {
    if matches!(shape, Shape::List | Shape::Map) {
        return Err(problem(
            here,
            "a list or mapping stands where a key belongs; a key is a word before a colon".into(),
        ));
    }
    if let Some(first) = inside.keys.get(&text) {
        let message = format!(
            "`{}` stands here twice, first on line {}; keep one of the two",
            shown(&text),
            first.line
        );
        return Err(problem(here, message));
    }
    inside.keys.insert(text.clone(), here);
    inside.key = Some((text, here));
    Ok(())
}

/// Anchors, aliases and tags would let a short file stand for a huge one, or text for something else.
fn refuse_shorthand(event: &Event, here: Spot) -> Result<(), Problem> {
    let what = match event {
        Event::Alias(_) => "an alias (`*name`)",
        Event::Scalar(_, _, id, _) | Event::SequenceStart(id, _) | Event::MappingStart(id, _) if *id > 0 => {
            "an anchor (`&name`)"
        }
        Event::Scalar(_, _, _, Some(_))
        | Event::SequenceStart(_, Some(_))
        | Event::MappingStart(_, Some(_)) => "a tag (`!name`)",
        _ => return Ok(()),
    };
    Err(problem(
        here,
        format!("{what} may not stand in a case file; put text that begins with `*`, `&` or `!` in quotes"),
    ))
}

/// A scalar: from and to which character, as the parser says.
struct Masked {
    start: usize,
    end: usize,
    style: ScalarStyle,
}

/// Whether a `#` that begins a comment stands outside of all scalars, which are given in order.
///
/// In a plain scalar no `#` follows a space. The parser's end of a quoted scalar may lie after a comment
/// behind it, so the closing quote is looked for here.
fn comments(text: &str, scalars: &[Masked]) -> bool {
    let mut scalars = scalars.iter().filter(|s| s.style != ScalarStyle::Plain).peekable();
    let mut chars = text.chars().enumerate().peekable();
    let mut before = '\n';
    while let Some((at, c)) = chars.next() {
        if let Some(scalar) = scalars.next_if(|s| s.start <= at) {
            match scalar.style {
                // Two quotes within single quotes stand for one.
                ScalarStyle::SingleQuoted => {
                    while let Some((_, c)) = chars.next() {
                        if c == '\'' && chars.next_if(|(_, c)| *c == '\'').is_none() {
                            break;
                        }
                    }
                }
                ScalarStyle::DoubleQuoted => {
                    while let Some((_, c)) = chars.next().filter(|(_, c)| *c != '"') {
                        if c == '\\' {
                            chars.next();
                        }
                    }
                }
                _ => while chars.next_if(|(at, _)| *at < scalar.end).is_some() {},
            }
            let quoted = matches!(scalar.style, ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted);
            before = if quoted { c } else { '\n' };
            continue;
        }
        if c == '#' && before.is_whitespace() {
            return true;
        }
        before = c;
    }
    false
}

fn spot(mark: &Marker) -> Spot {
    Spot { line: mark.line().max(1), column: mark.col() + 1 }
}

fn problem(spot: Spot, message: String) -> Problem {
    Problem { line: spot.line, column: spot.column, message }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn places_of_keys_and_values() {
        let layout = scan("# head\na: 1\nb:\n  c: x\n  漢: y\nn:\n- p\n- q\ne:\n").unwrap();
        let tops: Vec<_> = layout.top.iter().map(|(k, v)| (&**k, v.shape, v.spot.line)).collect();
        assert_eq!(tops[..3], [("a", Shape::Text, 2), ("b", Shape::Map, 4), ("n", Shape::List, 7)]);
        assert_eq!((tops[3].0, tops[3].1), ("e", Shape::Nothing));
        let c = layout.under("b", "c").unwrap();
        assert_eq!((c.key, c.spot), (Spot { line: 4, column: 3 }, Spot { line: 4, column: 6 }));
        assert_eq!(layout.under("b", "漢").unwrap().spot, Spot { line: 5, column: 6 });
        assert_eq!(layout.under("n", "1").unwrap().spot, Spot { line: 8, column: 3 });
        assert!(layout.comments);
    }

    #[test]
    fn only_real_comments_count() {
        for text in [
            "a: 'x # y'\n",
            "a: x#y\n",
            "a: \"# no\"\n",
            "a: |-\n  # no\n  z # no\nb: 1\n",
            "a: >\n  q\n  # no\n",
            "a: |-\n  # no\n\n  # no",
            "a: 'it''s # no'\n",
            "a: \"q \\\" # no\"\n",
            "a: x\nb: 'p\n  # no'\nc:\n- \"#\"\n",
        ] {
            assert!(!scan(text).unwrap().comments, "{text}");
        }
        for text in [
            "a: x # y\n",
            "#\na: x\n",
            "a: |- # y\n  z\n",
            "a:\n  # y\n  b: c\n",
            "a: 'x' # y",
            "a: x\n# end",
        ] {
            assert!(scan(text).unwrap().comments, "{text}");
        }
    }

    #[test]
    fn refusals_name_the_place() {
        for (text, line, column, start) in [
            ("a: 1\nb: 2\na: 3\n", 3, 1, "`a` stands here twice, first on line 1"),
            ("a: &x 1\nb: *x\n", 1, 7, "an anchor"),
            ("a: !t x\n", 1, 7, "a tag"),
            ("a: 1\n---\nb: 1\n", 2, 1, "a second document"),
            ("a: 'x\n", 1, 4, "this is not YAML"),
            ("[a]: 1\n", 1, 1, "a list or mapping stands where a key belongs"),
        ] {
            let got = scan(text).unwrap_err();
            assert!(got.message.starts_with(start), "{text}: {got:?}");
            assert_eq!(got.line, line, "{text}: {got:?}");
            assert!(got.column <= column, "{text}: {got:?}");
        }
    }

    #[test]
    fn deep_nesting_is_refused_at_once() {
        for text in ["[".repeat(500_000), "{a: ".repeat(100_000), "- ".repeat(100_000)] {
            assert!(scan(&text).is_err());
        }
    }

    proptest! {
        #[test]
        fn any_text_is_scanned_or_refused(text in "[-a-c:#'\"|>&*!~{}\\[\\], \t\n漢\\PC]{0,60}") {
            let _ = scan(&text);
        }
    }
}
