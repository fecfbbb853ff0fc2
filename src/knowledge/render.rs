//! Diagnostics as text: one line for editors and scripts, or with the line they point at.

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use super::diagnostic::{Diagnostic, Severity};
use super::source::{FileTable, Place};

/// Longest line, in bytes, that is shown with a problem in it.
const WIDEST: usize = 2000;

/// `path:line:column: error[K012]: message`, and what would be right after a dash, without a line break.
pub fn line_form(diagnostic: &Diagnostic, files: &FileTable) -> String {
    let Diagnostic { place, severity, code, message, help, .. } = diagnostic;
    let path = files.path(place.file);
    let help = help.as_ref().map_or(String::new(), |help| format!(" - {help}"));
    let place = format!("{path}:{}:{}", place.line, place.column);
    harmless(&format!("{place}: {}[{}]: {message}{help}", severity.word(), code.id()))
}

/// The message with the lines that it points at, over several lines; with colour codes if `coloured`.
pub fn snippet_form(diagnostic: &Diagnostic, files: &FileTable, coloured: bool) -> String {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let message = harmless(&diagnostic.message);
    let mut group = Group::with_title(level.primary_title(message).id(diagnostic.code.id()));
    group = add_excerpt(group, files, diagnostic.place, AnnotationKind::Primary, None);
    for related in &diagnostic.related {
        let label = harmless(&related.label);
        group = add_excerpt(group, files, related.place, AnnotationKind::Context, Some(label));
    }
    if let Some(help) = &diagnostic.help {
        group = group.element(Level::HELP.message(harmless(help)));
    }
    let renderer = if coloured { Renderer::styled() } else { Renderer::plain() };
    renderer.render(&[group])
}

/// "2 errors and 1 warning", or "no problems".
pub fn summary(diagnostics: &[Diagnostic]) -> String {
    let count = |severity| diagnostics.iter().filter(|d| d.severity == severity).count();
    let part = |n: usize, word: &str| match n {
        0 => None,
        1 => Some(format!("1 {word}")),
        n => Some(format!("{n} {word}s")),
    };
    let parts = [part(count(Severity::Error), "error"), part(count(Severity::Warning), "warning")];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() { "no problems".into() } else { parts.join(" and ") }
}

/// Adds the line of a place with the place marked in it; of a file that has no text, the place alone.
fn add_excerpt<'f>(
    group: Group<'f>,
    files: &'f FileTable,
    place: Place,
    kind: AnnotationKind,
    label: Option<String>,
) -> Group<'f> {
    let path = files.path(place.file);
    let line = files.line(place.file, place.line);
    let (number, column) = (place.line as usize, place.column as usize);
    if line.len() > WIDEST || files.text(place.file).is_empty() {
        let group = group.element(Origin::path(path).line(number).char_column(column));
        return match label {
            Some(label) => group.element(Level::NOTE.message(label)),
            None => group,
        };
    }
    let byte = |chars: usize| line.char_indices().nth(chars).map_or(line.len(), |(i, _)| i);
    let start = byte(column.saturating_sub(1));
    let end = byte(column.saturating_sub(1).saturating_add(place.length as usize)).max(start);
    let mark = kind.span(start..end).label(label);
    group.element(Snippet::source(line).path(path).line_start(number).annotation(mark))
}

/// Control characters could move the cursor or change colours of a terminal.
fn harmless(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}
