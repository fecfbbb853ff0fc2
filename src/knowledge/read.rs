//! From the text of a file to raw entries, each on its own, so that one bad entry hides no other.

use serde::de::DeserializeOwned;
use serde_path_to_error::Segment;
use serde_yaml::Value;

use super::diagnostic::{Code, Diagnostic, Sink};
use super::draft::{Draft, List};
use super::mend::Mend;
use super::places::{self, FORMAT, Places, Refusal, Spot, Step, quoted};
use super::raw::RawFile;
use super::source::{Docs, EntryRef, FileId, Place};
use super::suggest::nearest;

const SECTIONS: [&str; 17] = [
    "stages",
    "sources",
    "cautions",
    "factors",
    "faults",
    "observations",
    "readings",
    "repairs",
    "scopes",
    "motors",
    "measurements",
    "topics",
    "lessons",
    "courses",
    "physics",
    "looks",
    "shop",
];

/// Reads one file that is known as JSON; false if it cannot be read so and has to be read as text.
pub fn parsed(file: FileId, json: &str, draft: &mut Draft) -> bool {
    let Ok(raw) = serde_json::from_str::<RawFile>(json) else { return false };
    if raw.format != FORMAT {
        return false;
    }
    macro_rules! take {
        ($($list:ident)*) => {$(
            for (index, entry) in raw.$list.into_iter().enumerate() {
                let at = EntryRef { file, section: stringify!($list), index: Some(index) };
                draft.$list.add(&entry.id.clone(), entry, at);
            }
        )*};
    }
    take!(stages sources cautions factors faults observations readings repairs scopes motors measurements topics lessons courses physics looks);
    if let Some(shop) = raw.shop {
        draft.add_shop(shop, EntryRef { file, section: "shop", index: None });
    }
    true
}

/// Reads one file of YAML.
pub fn text(file: FileId, docs: &mut Docs, draft: &mut Draft, sink: &mut Sink) {
    match places::scan(docs.files().text(file)) {
        Ok(found) => docs.set_places(file, found),
        Err(refusal) => {
            docs.set_places(file, Places::default());
            draft.lost_file(docs.files().text(file));
            return sink.push(refused(file, *refusal));
        }
    }
    let document: Value = match serde_yaml::from_str(docs.files().text(file)) {
        Ok(document) => document,
        Err(error) => {
            draft.lost_file(docs.files().text(file));
            let place = error.location().map_or(Place::start_of(file), |at| {
                let number = |n| u32::try_from(n).unwrap_or(u32::MAX);
                Place { file, line: number(at.line()), column: number(at.column()), length: 1 }
            });
            return sink.push(Diagnostic::new(Code::Syntax, place, format!("this is not YAML: {error}")));
        }
    };
    Reader { file, docs, draft, sink }.document(document);
}

fn refused(file: FileId, refusal: Refusal) -> Diagnostic {
    let place = |spot: Spot| Place { file, line: spot.line, column: spot.column, length: spot.length };
    let mut found =
        Diagnostic::new(refusal.code, place(refusal.spot), refusal.message).maybe_help(refusal.help);
    if let Some((spot, label)) = refusal.related {
        found = found.related(place(spot), label);
    }
    found
}

struct Reader<'a> {
    file: FileId,
    docs: &'a Docs,
    draft: &'a mut Draft,
    sink: &'a mut Sink,
}

impl Reader<'_> {
    fn document(&mut self, document: Value) {
        let Value::Mapping(map) = document else {
            let help = format!("Begin the file with `format: {FORMAT}`, then a list such as `faults:`.");
            let found =
                Diagnostic::new(Code::Format, Place::start_of(self.file), "this is not a knowledge file");
            self.draft.lost_file("");
            return self.sink.push(found.help(help));
        };
        self.check_format(map.get("format"));
        for (key, value) in map {
            let Value::String(key) = key else {
                let found = Diagnostic::new(
                    Code::Shape,
                    Place::start_of(self.file),
                    "a key of this file is not a word",
                );
                self.sink.push(found.help(format!("The keys are `format`, {}.", SECTIONS.join(", "))));
                continue;
            };
            macro_rules! section {
                ($($list:ident)*) => {
                    match key.as_str() {
                        "format" => {}
                        "shop" => self.shop(value),
                        $(stringify!($list) => self.list(stringify!($list), value, |draft| &mut draft.$list, |e| &e.id),)*
                        _ => self.unknown_section(&key),
                    }
                };
            }
            section!(stages sources cautions factors faults observations readings repairs scopes motors measurements topics lessons courses physics looks);
        }
    }

    fn check_format(&mut self, format: Option<&Value>) {
        let (step, message) = match format {
            Some(Value::String(text)) if text == FORMAT => return,
            Some(Value::String(text)) => {
                (Step::Key("format"), format!("the format {} is not one of knowledge", quoted(text)))
            }
            Some(_) => (Step::Key("format"), "the format is not a word".to_owned()),
            None => (Step::Key(""), "the line `format:` is missing".to_owned()),
        };
        let place = self.docs.find(self.file, &[step]);
        self.sink
            .push(Diagnostic::new(Code::Format, place, message).help(format!("Write `format: {FORMAT}`.")));
    }

    fn unknown_section(&mut self, key: &str) {
        if self.sink.is_full() {
            return self.sink.skip();
        }
        let place = self.docs.find(self.file, &[Step::Name(key)]);
        let help = match nearest(key, SECTIONS) {
            Some(near) => format!("Did you mean `{near}`?"),
            None => format!("The keys of a file are format, {}.", SECTIONS.join(", ")),
        };
        self.sink
            .push(Diagnostic::new(Code::Shape, place, format!("unknown key {}", quoted(key))).help(help));
    }

    fn list<T: DeserializeOwned>(
        &mut self,
        section: &'static str,
        value: Value,
        list: impl Fn(&mut Draft) -> &mut List<T>,
        id: impl Fn(&T) -> &String,
    ) {
        let entries = match value {
            Value::Sequence(entries) => entries,
            Value::Null => return,
            _ => {
                let place = self.docs.find(self.file, &[Step::Name(section)]);
                let found = Diagnostic::new(Code::Shape, place, format!("`{section}` is not a list"));
                self.sink.push(found.help("Begin each entry with a hyphen: `- id: ...`."));
                return list(self.draft).add_broken(None);
            }
        };
        for (index, entry) in entries.into_iter().enumerate() {
            let at = EntryRef { file: self.file, section, index: Some(index) };
            let named = entry.get("id").and_then(Value::as_str).map(str::to_owned);
            // A file with hundreds of bad entries is not worth reading to its end.
            if self.sink.is_full() {
                self.sink.skip();
                list(self.draft).add_broken(named.as_deref());
                continue;
            }
            match self.entry(at, entry) {
                Read::Whole(raw) => {
                    let id = id(&raw).clone();
                    list(self.draft).add(&id, raw, at);
                }
                Read::Mended(raw) => {
                    let id = id(&raw).clone();
                    list(self.draft).add(&id, raw, at);
                    list(self.draft).torn = true;
                }
                Read::Broken => list(self.draft).add_broken(named.as_deref()),
            }
        }
    }

    fn shop(&mut self, value: Value) {
        let at = EntryRef { file: self.file, section: "shop", index: None };
        match self.entry(at, value) {
            Read::Whole(raw) | Read::Mended(raw) => self.draft.add_shop(raw, at),
            Read::Broken => self.draft.shop_torn = true,
        }
    }

    /// Reads one entry and reports everything in it that has the wrong shape.
    ///
    /// The deserializer stops at the first such thing. So that is replaced by something of the right shape, and the
    /// entry read again.
    fn entry<T: DeserializeOwned>(&mut self, at: EntryRef, mut value: Value) -> Read<T> {
        let mut mend = Mend::default();
        loop {
            let error = match serde_path_to_error::deserialize(value.clone()) {
                Ok(raw) if mend.last.is_none() => return Read::Whole(raw),
                Ok(raw) if mend.is_harmless => return Read::Mended(raw),
                Ok(_) => return Read::Broken,
                Err(error) => error,
            };
            let path: Vec<Segment> = error.path().iter().cloned().collect();
            let text = error.inner().to_string();
            // What was put there does not fit either: that is no mistake of the writer.
            if !mend.is_again(&path, &text) {
                self.report_shape(at, &path, &text);
            }
            if !mend.replace(&mut value, path, &text) || self.sink.is_full() {
                return Read::Broken;
            }
        }
    }

    fn report_shape(&mut self, at: EntryRef, path: &[Segment], text: &str) {
        let mut steps = vec![Step::Key(at.section)];
        steps.extend(at.index.map(Step::Item));
        let entry_steps = steps.len();
        steps.extend(path.iter().filter_map(|segment| match segment {
            Segment::Seq { index } => Some(Step::Item(*index)),
            Segment::Map { key } => Some(Step::Key(key)),
            Segment::Enum { .. } | Segment::Unknown => None,
        }));
        let (message, help) = plain(text);
        if text.starts_with("unknown field")
            && let Some(Step::Key(key)) = steps.last().copied()
        {
            steps.pop();
            steps.push(Step::Name(key));
        }
        // A key that is missing from the entry itself is best shown at the entry's id.
        if steps.len() == entry_steps && at.index.is_some() {
            steps.push(Step::Key("id"));
        }
        let place = self.docs.find(at.file, &steps);
        self.sink.push(Diagnostic::new(Code::Shape, place, message).maybe_help(help));
    }
}

/// What became of an entry.
enum Read<T> {
    /// All of it has the right shape.
    Whole(T),
    /// Single words and numbers were wrong; the rest can be checked.
    Mended(T),
    /// There is nothing left to check.
    Broken,
}

/// The words of the deserializer, in plain English: message and help.
fn plain(text: &str) -> (String, Option<String>) {
    if let Some(rest) = text.strip_prefix("unknown field ") {
        let (key, known) = rest.split_once(", expected ").unwrap_or((rest, ""));
        let help = known_words(key, known, "The keys here are");
        return (format!("unknown key {}", quoted(key.trim_matches('`'))), help);
    }
    if let Some(rest) = text.strip_prefix("unknown variant ") {
        let (word, known) = rest.split_once(", expected ").unwrap_or((rest, ""));
        let help = known_words(word, known, "The words here are");
        return (format!("unknown word {}", quoted(word.trim_matches('`'))), help);
    }
    if let Some(key) = text.strip_prefix("missing field ") {
        return (format!("the key {key} is missing"), None);
    }
    for start in ["invalid type: ", "invalid value: ", "invalid length "] {
        if let Some((found, wanted)) =
            text.strip_prefix(start).and_then(|rest| rest.split_once(", expected "))
        {
            let wanted = wanted_in_words(wanted);
            let help = (wanted == "text").then(|| "Put the text in double quotes.".to_owned());
            return (format!("here stands {}, but {wanted} is wanted", found_in_words(found)), help);
        }
    }
    (text.to_owned(), None)
}

fn known_words(word: &str, known: &str, start: &str) -> Option<String> {
    let words: Vec<&str> = known.split('`').skip(1).step_by(2).collect();
    match nearest(word.trim_matches('`'), words.iter().copied()) {
        Some(near) => Some(format!("Did you mean `{near}`?")),
        None if words.is_empty() => None,
        None => Some(format!("{start} {}.", words.join(", "))),
    }
}

fn found_in_words(found: &str) -> String {
    let (kind, value) = found.split_once(' ').unwrap_or((found, ""));
    let value = value.trim_start_matches("point ").trim_matches(['"', '`']);
    match kind {
        "string" if value.is_empty() => "an empty text".to_owned(),
        "string" => format!("the text {}", quoted(value)),
        "integer" | "floating" => format!("the number {}", quoted(value)),
        "boolean" => format!("the word {}", quoted(value)),
        "unit" | "null" | "Option" => "nothing".to_owned(),
        "map" => "a mapping".to_owned(),
        "sequence" => "a list".to_owned(),
        _ => quoted(found).trim_matches('`').to_owned(),
    }
}

fn wanted_in_words(wanted: &str) -> String {
    match wanted {
        "a string" => "text".to_owned(),
        "f64" => "a number".to_owned(),
        "u32" => "a whole number".to_owned(),
        "a boolean" => "true or false".to_owned(),
        "a map" => "a mapping".to_owned(),
        "a sequence" => "a list".to_owned(),
        "a tuple of size 2" => "a list of two texts".to_owned(),
        _ if wanted.starts_with("struct ") => "a mapping".to_owned(),
        other => other.to_owned(),
    }
}
