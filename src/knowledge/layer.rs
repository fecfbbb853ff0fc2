//! Where knowledge comes from: the built-in files, a folder, or memory.

use std::borrow::Cow;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use super::diagnostic::Code;
use super::places::LARGEST;

include!(concat!(env!("OUT_DIR"), "/knowledge_files.rs"));

/// Files below one folder.
const MOST_FILES: usize = 5000;
/// Folders within one another.
const DEEPEST_FOLDER: usize = 16;

/// What a file of a layer holds.
#[derive(Debug, Clone)]
pub(super) enum Content {
    /// YAML.
    Text(Cow<'static, str>),
    /// YAML, and the same as JSON, which reads several times faster.
    Parsed(&'static str, &'static str),
    /// Nothing that could be read, and why; line and column in the file as far as they are known.
    Unreadable { code: Code, message: String, line: u32, column: u32 },
}

impl Content {
    /// The text of a file, unless it is too much to be kept and pointed into.
    fn of(text: String) -> Content {
        if text.len() > LARGEST { Content::too_large() } else { Content::Text(Cow::Owned(text)) }
    }

    fn too_large() -> Content {
        let message = format!("the file has more than {LARGEST} bytes, which are the most that is read");
        Content::unreadable(Code::TooMuch, message)
    }

    fn unreadable(code: Code, message: impl Into<String>) -> Content {
        Content::Unreadable { code, message: message.into(), line: 1, column: 1 }
    }
}

/// A set of knowledge files that belong together.
#[derive(Debug, Clone, Default)]
pub struct Layer {
    pub(super) files: Vec<(String, Content)>,
}

impl Layer {
    /// The knowledge that the program was built with.
    pub fn builtin() -> Layer {
        let files = BUILTIN.iter().map(|(path, text, json)| {
            let content = if json.is_empty() {
                Content::Text(Cow::Borrowed(text))
            } else {
                Content::Parsed(text, json)
            };
            (builtin_path(path), content)
        });
        Layer { files: files.collect() }
    }

    /// The same as [`Layer::builtin`], read from its YAML; for tests of the faster way.
    pub fn builtin_yaml() -> Layer {
        let files =
            BUILTIN.iter().map(|(path, text, _)| (builtin_path(path), Content::Text(Cow::Borrowed(*text))));
        Layer { files: files.collect() }
    }

    /// Files in memory: path and text of each.
    pub fn memory<P: Into<String>, T: Into<String>>(files: impl IntoIterator<Item = (P, T)>) -> Layer {
        let files = files.into_iter().map(|(path, text)| (path.into(), Content::of(text.into())));
        Layer { files: files.collect() }
    }

    /// All `*.yaml` and `*.yml` files below a folder, in the order of their paths. Links to files are
    /// followed, links to folders are not. What cannot be read becomes a diagnostic of [`load`](super::load).
    pub fn directory(path: &Path) -> Layer {
        let mut layer = Layer::default();
        match fs::metadata(path) {
            Ok(meta) if meta.is_dir() => layer.read_folders(path),
            Ok(_) => layer.refuse(
                path,
                Code::Unreadable,
                "this is not a folder; name the folder that holds the file",
            ),
            Err(error) => layer.refuse(path, Code::Unreadable, format!("cannot be read: {error}")),
        }
        if layer.files.is_empty() {
            layer.refuse(path, Code::Unreadable, "there is no *.yaml file in this folder or below it");
        }
        layer
    }

    fn refuse(&mut self, path: &Path, code: Code, message: impl Into<String>) {
        self.files.push((path.display().to_string(), Content::unreadable(code, message)));
    }

    fn read_folders(&mut self, top: &Path) {
        let mut found: Vec<PathBuf> = Vec::new();
        let mut folders = vec![(top.to_path_buf(), 1)];
        while let Some((folder, depth)) = folders.pop() {
            let entries = match fs::read_dir(&folder) {
                Ok(entries) => entries,
                Err(error) => {
                    self.refuse(&folder, Code::Unreadable, format!("the folder cannot be read: {error}"));
                    continue;
                }
            };
            for entry in entries {
                let (path, kind) = match entry.and_then(|e| Ok((e.path(), e.file_type()?))) {
                    Ok(entry) => entry,
                    Err(error) => {
                        self.refuse(&folder, Code::Unreadable, format!("the folder cannot be read: {error}"));
                        continue;
                    }
                };
                let yaml = path.extension().is_some_and(|e| e == "yaml" || e == "yml");
                if kind.is_dir() {
                    if depth >= DEEPEST_FOLDER {
                        let message =
                            format!("folders stand more than {DEEPEST_FOLDER} deep within one another here");
                        self.refuse(&path, Code::TooMuch, message);
                    } else {
                        folders.push((path, depth + 1));
                    }
                } else if kind.is_symlink() && fs::metadata(&path).is_ok_and(|m| m.is_dir()) {
                    self.refuse(
                        &path,
                        Code::Unreadable,
                        "a link to a folder is not followed; put the folder itself here",
                    );
                } else if yaml {
                    found.push(path);
                }
            }
            if found.len() > MOST_FILES {
                return self.refuse(
                    top,
                    Code::TooMuch,
                    format!("there are more than {MOST_FILES} files in this folder"),
                );
            }
        }
        found.sort();
        for path in found {
            let content = read_file(&path);
            self.files.push((path.display().to_string(), content));
        }
        self.files.sort_by(|a, b| a.0.cmp(&b.0));
    }

    fn has_stages(&self) -> bool {
        let has = |text: &str| text.lines().any(|line| line.starts_with("stages:"));
        self.files.iter().any(|(_, content)| match content {
            Content::Text(text) => has(text),
            Content::Parsed(text, _) => has(text),
            Content::Unreadable { .. } => false,
        })
    }
}

/// The layers to check for one folder given by itself: a folder that writes its own `stages:` is a whole
/// knowledge base and stands alone; any other is laid over the built-in one.
pub fn layers_to_check(layer: Layer) -> Vec<Layer> {
    if layer.has_stages() { vec![layer] } else { vec![Layer::builtin(), layer] }
}

fn builtin_path(path: &str) -> String {
    format!("built-in/{path}")
}

fn read_file(path: &Path) -> Content {
    let refuse =
        |error: std::io::Error| Content::unreadable(Code::Unreadable, format!("cannot be read: {error}"));
    match fs::metadata(path) {
        Ok(meta) if meta.is_file() => {}
        // Opening a pipe or a device could wait for ever.
        Ok(_) => return Content::unreadable(Code::Unreadable, "this is not a plain file"),
        Err(error) => return refuse(error),
    }
    let mut bytes = Vec::new();
    // One byte more than is allowed tells a file that is too large from one that just fits.
    let most = LARGEST as u64 + 1;
    if let Err(error) = fs::File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes)) {
        return refuse(error);
    }
    if bytes.len() > LARGEST {
        return Content::too_large();
    }
    String::from_utf8(bytes).map_or_else(|error| not_utf8(&error), |text| Content::Text(Cow::Owned(text)))
}

fn not_utf8(error: &std::string::FromUtf8Error) -> Content {
    let good = &error.as_bytes()[..error.utf8_error().valid_up_to()];
    let before = String::from_utf8_lossy(good);
    let line = u32::try_from(before.matches('\n').count() + 1).unwrap_or(u32::MAX);
    let column = before.rsplit('\n').next().map_or(1, |last| last.chars().count() + 1);
    Content::Unreadable {
        code: Code::Characters,
        message: "a byte here is not UTF-8 text; save the file as UTF-8".into(),
        line,
        column: u32::try_from(column).unwrap_or(u32::MAX),
    }
}
