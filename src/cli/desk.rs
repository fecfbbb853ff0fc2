//! What every command works with: where to write, whom to ask, what is known.

use std::io::Write;
use std::path::PathBuf;

use super::appearance::Appearance;
use super::exit::Failure;
use super::prompt::{Line, Prompter, Screen};
use crate::case::BenchUnits;
use crate::knowledge::{Entry, Knowledge, Layer, Severity, load, nearest, snippet_form, summary};
use crate::present::text::Text;

/// The surroundings of a command.
#[derive(Debug, Clone)]
pub struct Desk {
    /// What the terminal can show.
    pub appearance: Appearance,
    /// A folder of knowledge to lay over the built-in one.
    pub folder: Option<PathBuf>,
}

impl Desk {
    /// Shows a result on standard output.
    ///
    /// # Errors
    /// When it cannot be written; quiet when nobody reads it.
    pub fn show(&self, text: &Text) -> Result<(), Failure> {
        self.print(&text.render(&self.appearance.result_page()))
    }

    /// Prints a finished document on standard output.
    ///
    /// # Errors
    /// As [`Desk::show`].
    pub fn print(&self, document: &str) -> Result<(), Failure> {
        let mut out = std::io::stdout().lock();
        out.write_all(document.as_bytes())?;
        if !document.ends_with('\n') {
            out.write_all(b"\n")?;
        }
        Ok(out.flush()?)
    }

    /// Says something beside the result, on standard error.
    ///
    /// # Errors
    /// As [`Desk::show`].
    pub fn say(&self, text: &Text) -> Result<(), Failure> {
        self.whisper(&text.render(&self.appearance.talk_page()))
    }

    fn whisper(&self, text: &str) -> Result<(), Failure> {
        let mut err = std::io::stderr().lock();
        err.write_all(text.as_bytes())?;
        Ok(err.flush()?)
    }

    /// Somebody who can be asked; none when nobody is there, and then nothing may wait for input.
    pub fn prompter(&self) -> Option<Box<dyn Prompter>> {
        match (self.appearance.interactive, self.appearance.line_mode) {
            (false, _) => None,
            (true, true) => Some(Box::new(Line::standard(&self.appearance))),
            (true, false) => Some(Box::new(Screen::new(self.appearance))),
        }
    }

    /// What the knowledge is read from: the built-in files, and over them the folder if one was named.
    pub fn layers(&self) -> Vec<Layer> {
        let mut layers = vec![Layer::builtin()];
        layers.extend(self.folder.as_deref().map(Layer::directory));
        layers
    }

    /// The knowledge: the built-in one, and over it the folder if one was named.
    ///
    /// # Errors
    /// When it has errors; each is said with its place before.
    pub fn knowledge(&self) -> Result<Knowledge, Failure> {
        let loaded = load(&self.layers(), &BenchUnits);
        if let Some(knowledge) = loaded.knowledge {
            return Ok(knowledge);
        }
        let errors: Vec<_> =
            loaded.diagnostics.into_iter().filter(|d| d.severity == Severity::Error).collect();
        for error in &errors {
            self.whisper(&snippet_form(error, &loaded.files, self.appearance.color_stderr))?;
            self.whisper("\n\n")?;
        }
        let what = match &self.folder {
            Some(folder) => format!("the knowledge in {}", folder.display()),
            None => "the built-in knowledge".into(),
        };
        Err(Failure::input(format!("{what} has {}", summary(&errors))))
    }
}

/// The failure that there is no such entry, with the nearest id.
pub fn unknown_id(knowledge: &Knowledge, what: &str, id: &str, known: &[&str]) -> Failure {
    let failure = Failure::input(format!("there is no {what} `{id}`"));
    if let Some(near) = nearest(id, known.iter().copied()) {
        return failure.help(format!("Did you mean `{near}`?"));
    }
    match knowledge.entry(id) {
        Some(entry) => failure
            .help(format!("That is the id of {}. See it with: commsense knowledge show {id}", kind(&entry))),
        None => failure,
    }
}

/// What kind of entry it is, with the article.
pub fn kind(entry: &Entry) -> &'static str {
    match entry {
        Entry::Factor(_) => "a factor",
        Entry::Fault(_) => "a fault",
        Entry::Observation(_) => "an observation",
        Entry::Reading(_) => "a reading",
        Entry::Repair(_) => "a repair",
        Entry::Scope(_) => "a scope",
        Entry::Caution(_) => "a caution",
        Entry::Motor(_) => "a motor",
        Entry::Stage(_) => "a stage",
        Entry::Source(_) => "a source",
        Entry::Measurement(_) => "a bench measurement",
        Entry::Look(_) => "a look",
    }
}
