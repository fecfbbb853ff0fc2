//! The files that were read, and places in them.

use std::borrow::Cow;
use std::cell::OnceCell;

use super::layer::Content;
use super::places::{Places, Step};

/// A file of a [`FileTable`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FileId(pub(super) u32);

/// A place in a file, as an editor shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The file.
    pub file: FileId,
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1; a tab and a wide character count as one.
    pub column: u32,
    /// Length in characters within the line, at least 1.
    pub length: u32,
}

impl Place {
    /// The first character of a file.
    pub fn start_of(file: FileId) -> Place {
        Place { file, line: 1, column: 1, length: 1 }
    }
}

#[derive(Debug)]
struct SourceFile {
    path: String,
    text: Cow<'static, str>,
    line_starts: OnceCell<Vec<usize>>,
}

/// The files that were read: path, text and lines.
#[derive(Debug, Default)]
pub struct FileTable {
    files: Vec<SourceFile>,
}

impl FileTable {
    fn add(&mut self, path: &str, text: Cow<'static, str>) -> FileId {
        let id = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        let text = match text.strip_prefix('\u{feff}') {
            Some(rest) => Cow::Owned(rest.to_owned()),
            None => text,
        };
        self.files.push(SourceFile { path: path.to_owned(), text, line_starts: OnceCell::new() });
        id
    }

    fn get(&self, file: FileId) -> Option<&SourceFile> {
        self.files.get(file.0 as usize)
    }

    /// The path of a file as it was given; empty for a file of another table.
    pub fn path(&self, file: FileId) -> &str {
        self.get(file).map_or("", |f| &f.path)
    }

    /// The text of a file, without a byte order mark.
    pub fn text(&self, file: FileId) -> &str {
        self.get(file).map_or("", |f| &f.text)
    }

    /// A line of a file, counted from 1, without its line break; empty past the end.
    pub fn line(&self, file: FileId, line: u32) -> &str {
        let Some(f) = self.get(file) else { return "" };
        let starts = f.line_starts.get_or_init(|| line_starts(&f.text));
        let Some(&start) = starts.get((line as usize).saturating_sub(1)) else { return "" };
        let end = starts.get(line as usize).copied().unwrap_or(f.text.len());
        f.text[start..end].trim_end_matches(['\n', '\r'])
    }
}

/// Byte offsets at which lines start; CR, LF and CRLF end a line, as in YAML.
fn line_starts(text: &str) -> Vec<usize> {
    let bytes = text.as_bytes();
    let mut starts = vec![0];
    for (i, b) in bytes.iter().enumerate() {
        if *b == b'\n' || (*b == b'\r' && bytes.get(i + 1) != Some(&b'\n')) {
            starts.push(i + 1);
        }
    }
    starts
}

/// Where an entry stands: file, list, and number in that list of that file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EntryRef {
    pub file: FileId,
    /// Key of the list, or of the mapping `shop`.
    pub section: &'static str,
    /// Number in the list; none for a section that is one mapping.
    pub index: Option<usize>,
}

/// The way to a value, kept on the stack while a check walks down; costs nothing until it is needed.
#[derive(Debug, Clone, Copy)]
pub enum Trail<'a> {
    /// An entry.
    Entry(EntryRef),
    /// The value of a key.
    Key(&'a Trail<'a>, &'a str),
    /// The key itself.
    Name(&'a Trail<'a>, &'a str),
    /// A member of a list.
    Item(&'a Trail<'a>, usize),
}

impl<'a> Trail<'a> {
    pub fn key(&'a self, key: &'a str) -> Trail<'a> {
        Trail::Key(self, key)
    }
    pub fn name(&'a self, key: &'a str) -> Trail<'a> {
        Trail::Name(self, key)
    }
    pub fn item(&'a self, index: usize) -> Trail<'a> {
        Trail::Item(self, index)
    }

    fn steps(&self) -> (FileId, Vec<Step<'a>>) {
        let mut steps = Vec::new();
        let mut at = *self;
        loop {
            match at {
                Trail::Entry(entry) => {
                    steps.extend(entry.index.map(Step::Item));
                    steps.push(Step::Key(entry.section));
                    steps.reverse();
                    return (entry.file, steps);
                }
                Trail::Key(up, key) => {
                    steps.push(Step::Key(key));
                    at = *up;
                }
                Trail::Name(up, key) => {
                    steps.push(Step::Name(key));
                    at = *up;
                }
                Trail::Item(up, index) => {
                    steps.push(Step::Item(index));
                    at = *up;
                }
            }
        }
    }
}

/// The file table together with the places of all values, found when first asked for.
#[derive(Debug, Default)]
pub struct Docs {
    files: FileTable,
    places: Vec<OnceCell<Places>>,
}

impl Docs {
    pub fn add(&mut self, path: &str, content: &Content) -> FileId {
        let text = match content {
            Content::Text(text) => text.clone(),
            Content::Parsed(text, _) => Cow::Borrowed(*text),
            Content::Unreadable { .. } => Cow::Borrowed(""),
        };
        self.places.push(OnceCell::new());
        self.files.add(path, text)
    }

    pub fn files(&self) -> &FileTable {
        &self.files
    }

    pub fn into_files(self) -> FileTable {
        self.files
    }

    pub fn set_places(&mut self, file: FileId, places: Places) {
        if let Some(cell) = self.places.get(file.0 as usize) {
            let _ = cell.set(places);
        }
    }

    /// The place of the value that the trail leads to, or of the nearest thing around it.
    pub fn place(&self, trail: &Trail) -> Place {
        let (file, steps) = trail.steps();
        self.find(file, &steps)
    }

    pub fn find(&self, file: FileId, steps: &[Step]) -> Place {
        let Some(cell) = self.places.get(file.0 as usize) else { return Place::start_of(file) };
        let places = cell.get_or_init(|| super::places::scan(self.files.text(file)).unwrap_or_default());
        let spot = places.find(steps);
        Place { file, line: spot.line, column: spot.column, length: spot.length }
    }
}
