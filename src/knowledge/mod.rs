//! YAML in, checked and cross-referenced types out.
//!
//! [`load`] lays one or more [`Layer`]s over one another, reads every entry, checks it against all the
//! others and hands back a [`Knowledge`] in which every id resolves and every chance lies in [0, 1]; or
//! else every problem it has found, each a [`Diagnostic`] with file, line and column.
//!
//! Nothing here knows a unit of measurement: texts such as `0.3 mm` are read by the [`UnitReader`] that
//! the caller passes in.

mod check;
mod diagnostic;
mod draft;
mod layer;
mod lessons;
mod locate;
mod mend;
pub mod model;
mod places;
mod raw;
mod read;
mod render;
mod source;
mod suggest;

pub use check::SCALE;
pub use diagnostic::{Code, Diagnostic, Related, Severity};
pub use layer::{Layer, layers_to_check};
pub use lessons::*;
pub use locate::{Locator, NumberOf};
pub use model::*;
pub use render::{line_form, snippet_form, summary};
pub use source::{FileId, FileTable, Place};
pub use suggest::nearest;

use diagnostic::Sink;
use draft::Draft;
use layer::Content;
use source::Docs;

/// Reads a quantity as people write it.
pub trait UnitReader {
    /// The value of `text` in the base unit of `kind` (the unit named at each [`Kind`]).
    ///
    /// # Errors
    /// A sentence that says what is wrong with the text and what would be right.
    fn read(&self, kind: Kind, text: &str) -> Result<f64, String>;

    /// The same for the difference of two such quantities, such as an uncertainty. It matters where the
    /// zero of a unit is not that of the base unit: a difference of `9 degF` is one of 5 degC.
    ///
    /// # Errors
    /// As [`UnitReader::read`].
    fn read_difference(&self, kind: Kind, text: &str) -> Result<f64, String> {
        self.read(kind, text)
    }
}

/// What [`load`] has made of its layers.
#[derive(Debug)]
pub struct Loaded {
    /// The knowledge; none if any diagnostic is an error.
    pub knowledge: Option<Knowledge>,
    /// Every problem found, in the order of files and lines.
    pub diagnostics: Vec<Diagnostic>,
    /// The files that the diagnostics point into.
    pub files: FileTable,
}

impl Loaded {
    /// Whether any diagnostic is an error.
    pub fn has_errors(&self) -> bool {
        self.diagnostics.iter().any(|d| d.severity == Severity::Error)
    }
}

/// Reads and checks the layers, each laid over the ones before it: an entry whose id an earlier layer
/// has takes that entry's place, any other is added.
///
/// Never stops at the first problem; the list ends after a few hundred of them.
pub fn load(layers: &[Layer], units: &dyn UnitReader) -> Loaded {
    let mut docs = Docs::default();
    let mut sink = Sink::default();
    let mut draft = Draft::default();
    for layer in layers {
        let mut own = Draft::default();
        for (path, content) in &layer.files {
            let file = docs.add(path, content);
            match content {
                Content::Unreadable { code, message, line, column } => {
                    let place = Place { file, line: *line, column: *column, length: 1 };
                    own.lost_file("");
                    sink.push(Diagnostic::new(*code, place, message.clone()));
                }
                Content::Text(_) => read::text(file, &mut docs, &mut own, &mut sink),
                Content::Parsed(_, json) => {
                    if !read::parsed(file, json, &mut own) {
                        read::text(file, &mut docs, &mut own, &mut sink);
                    }
                }
            }
        }
        own.refuse_duplicates(&docs, &mut sink);
        draft.lay_over(own);
    }
    let knowledge = check::check(&draft, &docs, units, &mut sink);
    let (diagnostics, errors) = sink.finish();
    let knowledge = if errors { None } else { Some(knowledge) };
    Loaded { knowledge, diagnostics, files: docs.into_files() }
}

/// The knowledge that the program was built with.
///
/// # Errors
/// What [`load`] found, if the built-in files have an error (the tests keep them free of any).
pub fn builtin(units: &dyn UnitReader) -> Result<Knowledge, Box<Loaded>> {
    let mut loaded = load(&[Layer::builtin()], units);
    loaded.knowledge.take().ok_or_else(|| Box::new(loaded))
}

#[cfg(test)]
mod tests {
    use super::layer::{Content, Layer};
    use super::{Draft, FileId, read};

    #[test]
    fn every_built_in_file_takes_the_fast_way() {
        for (path, content) in &Layer::builtin().files {
            let mut draft = Draft::default();
            let fast =
                matches!(content, Content::Parsed(_, json) if read::parsed(FileId(0), json, &mut draft));
            assert!(fast, "{path}");
        }
    }
}
