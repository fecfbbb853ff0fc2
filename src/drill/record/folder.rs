//! The folder in which records are kept: one below it for each trainee, one file for each lesson.

use std::fs::{self, File};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

use super::{Record, file};
use crate::knowledge::Knowledge;

/// Letters of the longest name.
const LONGEST_NAME: usize = 40;
/// Trainees and lessons that are looked through.
const MOST: usize = 5000;

/// A record with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Its file.
    pub path: PathBuf,
    /// What stands in it.
    pub record: Record,
    /// The file's content when it was last read or written here; none where there was no file.
    seen: Option<Vec<u8>>,
}

/// Why records can't be read or kept.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RecordError {
    /// A name that makes no folder.
    #[error(
        "`{0}` is no name for a trainee: use letters, digits, hyphens and underscores, at most {LONGEST_NAME}"
    )]
    Name(String),
    /// A file or folder can't be read.
    #[error("can't read `{}`: {reason}", path.display())]
    Unreadable {
        /// The path.
        path: PathBuf,
        /// Why.
        reason: String,
    },
    /// A file can't be written; what was there before is unharmed.
    #[error("can't save the lesson to `{}`: {reason}; what was there before is unharmed", path.display())]
    Unwritable {
        /// The path.
        path: PathBuf,
        /// Why.
        reason: String,
    },
    /// A file holds something else than when it was last read or written here.
    #[error(
        "`{}` was changed or removed by somebody else since it was read here; nothing is saved over it",
        path.display()
    )]
    Changed {
        /// The path.
        path: PathBuf,
    },
    /// A record is not sound.
    #[error("{}: {problem}", path.display())]
    Wrong {
        /// The path.
        path: PathBuf,
        /// What is wrong.
        problem: file::Problem,
    },
}

/// Whether a name can be a trainee's.
pub fn name_fits(name: &str) -> bool {
    let fits = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    !name.is_empty()
        && name.chars().count() <= LONGEST_NAME
        && name.chars().all(fits)
        && !name.starts_with('-')
}

/// The records of a folder.
#[derive(Debug, Clone)]
pub struct Shelf {
    folder: PathBuf,
}

impl Shelf {
    /// The records below a folder, which need not be there yet.
    pub fn new(folder: &Path) -> Shelf {
        Shelf { folder: folder.to_owned() }
    }

    /// Names of the trainees, in alphabetical order.
    ///
    /// # Errors
    /// [`RecordError::Unreadable`] when the folder is there and can't be read.
    pub fn trainees(&self) -> Result<Vec<String>, RecordError> {
        let mut names = Vec::new();
        for (name, is_folder) in entries(&self.folder)? {
            if is_folder && name_fits(&name) {
                names.push(name);
            }
        }
        Ok(names)
    }

    /// The records of a trainee in the order in which they were begun, and what is wrong with those that can't be
    /// read.
    ///
    /// # Errors
    /// [`RecordError`] for a bad name, or a folder that is there and can't be read.
    pub fn of(
        &self,
        trainee: &str,
        knowledge: &Knowledge,
    ) -> Result<(Vec<Kept>, Vec<RecordError>), RecordError> {
        let folder = self.folder_of(trainee)?;
        let (mut kept, mut wrong) = (Vec::new(), Vec::new());
        for (name, is_folder) in entries(&folder)? {
            if is_folder || !name.ends_with(".yaml") {
                continue;
            }
            let path = folder.join(&name);
            match load(&path, knowledge) {
                Ok(one) => kept.push(one),
                Err(error) => wrong.push(error),
            }
        }
        Ok((kept, wrong))
    }

    /// The file of a trainee's next record.
    ///
    /// # Errors
    /// As [`Shelf::of`].
    pub fn next(&self, trainee: &str, word: &str) -> Result<PathBuf, RecordError> {
        let folder = self.folder_of(trainee)?;
        let number = |name: &str| name.split('-').next().and_then(|n| n.parse::<u32>().ok());
        let last = entries(&folder)?.iter().filter_map(|(name, _)| number(name)).max().unwrap_or(0);
        Ok(folder.join(format!("{:04}-{word}.yaml", last + 1)))
    }

    fn folder_of(&self, trainee: &str) -> Result<PathBuf, RecordError> {
        match name_fits(trainee) {
            true => Ok(self.folder.join(trainee)),
            false => Err(RecordError::Name(trainee.to_owned())),
        }
    }
}

/// Loads a record.
///
/// # Errors
/// [`RecordError`].
pub fn load(path: &Path, knowledge: &Knowledge) -> Result<Kept, RecordError> {
    let unreadable = |e: io::Error| RecordError::Unreadable { path: path.to_owned(), reason: plain(&e) };
    let bytes = content(path).map_err(unreadable)?;
    let record = file::read(&bytes, knowledge)
        .map_err(|problem| RecordError::Wrong { path: path.to_owned(), problem })?;
    Ok(Kept { path: path.to_owned(), record, seen: Some(bytes) })
}

/// What stands in a file; of one that is too large, one byte more than the largest.
fn content(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take((1 << 20) + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

impl Kept {
    /// A record that has no file yet.
    pub fn new(path: PathBuf, record: Record) -> Kept {
        Kept { path, record, seen: None }
    }

    /// Saves the record, whole or not at all. A file that somebody else has changed since is left alone: two
    /// sessions on the same lesson must not wipe out each other's acts.
    ///
    /// # Errors
    /// [`RecordError::Unwritable`] and [`RecordError::Changed`]; the file is then as it was.
    pub fn save(&mut self) -> Result<(), RecordError> {
        let failed = |reason: String| RecordError::Unwritable { path: self.path.clone(), reason };
        let text = file::write(&self.record).map_err(|e| failed(e.to_string()))?;
        let now = match content(&self.path) {
            Ok(bytes) => Some(bytes),
            Err(e) if e.kind() == io::ErrorKind::NotFound => None,
            Err(e) => return Err(failed(plain(&e))),
        };
        if now != self.seen {
            return Err(RecordError::Changed { path: self.path.clone() });
        }
        let folder = self.path.parent().unwrap_or(Path::new("."));
        let write = || -> io::Result<()> {
            fs::create_dir_all(folder)?;
            let mut new = tempfile::Builder::new().prefix(".drill-").suffix(".tmp").tempfile_in(folder)?;
            new.as_file_mut().write_all(text.as_bytes())?;
            new.as_file().sync_all()?;
            new.persist(&self.path).map_err(|e| e.error)?;
            Ok(())
        };
        write().map_err(|e| failed(plain(&e)))?;
        self.seen = Some(text.into_bytes());
        Ok(())
    }
}

/// Names in a folder in their order, with whether each is a folder; nothing when it is not there.
fn entries(folder: &Path) -> Result<Vec<(String, bool)>, RecordError> {
    let unreadable = |e: io::Error| RecordError::Unreadable { path: folder.to_owned(), reason: plain(&e) };
    let list = match fs::read_dir(folder) {
        Ok(list) => list,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(e) => return Err(unreadable(e)),
    };
    let mut out = Vec::new();
    for entry in list.take(MOST) {
        let entry = entry.map_err(unreadable)?;
        let is_folder = entry.file_type().map_err(unreadable)?.is_dir();
        out.push((entry.file_name().to_string_lossy().into_owned(), is_folder));
    }
    out.sort();
    Ok(out)
}

fn plain(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".into(),
        io::ErrorKind::PermissionDenied => "permission denied".into(),
        io::ErrorKind::StorageFull => "the disk is full".into(),
        io::ErrorKind::NotADirectory => "a file stands where a folder should be".into(),
        _ => error.to_string(),
    }
}
