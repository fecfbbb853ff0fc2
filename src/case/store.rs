//! Cases on the disk.
//!
//! A save writes a new file beside the old one, brings it to the disk, and only then puts it in the old
//! one's place. Whatever fails before that leaves the old file as it was, so that a consultation that saves
//! each answer before it asks the next question loses nothing to Ctrl-C, a full disk or a dead battery.
//!
//! A save rewrites the file as the program writes it, and so without comments. Before the first save over
//! a file that holds any, a copy of it is kept beside it: `NAME.before.yaml`. A case that has not changed
//! is not written at all. The file keeps its permissions, and a symbolic link its target; its owner becomes
//! whoever saves, and a second hard link keeps the old content.

use std::fs::{self, File, Metadata};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

use super::Case;
use super::file::{self, Problem};
use crate::knowledge::Knowledge;

/// Why a case could not be loaded.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LoadError {
    /// There is no such file.
    #[error("there is no case file `{}`", path.display())]
    Missing {
        /// The path.
        path: PathBuf,
    },
    /// The file can't be read.
    #[error("can't read the case `{}`: {reason}", path.display())]
    Unreadable {
        /// The path.
        path: PathBuf,
        /// Why, in a few words.
        reason: String,
    },
    /// The file is not a sound case; one line for each problem.
    #[error("{}", lines(path, problems))]
    Wrong {
        /// The path.
        path: PathBuf,
        /// What is wrong, in the order of the places.
        problems: Vec<Problem>,
    },
}

/// Why a case could not be saved. The old file is as it was.
#[derive(Debug, thiserror::Error)]
#[error("can't save the case to `{}`: {reason}; what was there before is unharmed", path.display())]
pub struct SaveError {
    /// The path.
    pub path: PathBuf,
    /// Why, in a few words.
    pub reason: String,
}

/// What a save has done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Saved {
    /// The file says the same already; it was left alone.
    Unchanged,
    /// The file was written.
    Written,
    /// The file was written; before that it held comments, and a copy of it was kept here.
    KeptBefore(PathBuf),
}

fn lines(path: &Path, problems: &[Problem]) -> String {
    let one = |p: &Problem| format!("{}:{p}", path.display());
    problems.iter().map(one).collect::<Vec<_>>().join("\n")
}

/// Loads a case.
///
/// # Errors
///
/// [`LoadError`]; a file that is not sound is refused with all of its problems.
pub fn load(path: &Path, knowledge: &Knowledge) -> Result<Case, LoadError> {
    let unreadable = |reason| LoadError::Unreadable { path: path.to_owned(), reason };
    let bytes = match plain_bytes(path) {
        Ok(Some(bytes)) => bytes,
        Ok(None) => return Err(LoadError::Missing { path: path.to_owned() }),
        Err(reason) => return Err(unreadable(reason)),
    };
    file::read(&bytes, knowledge).map_err(|problems| LoadError::Wrong { path: path.to_owned(), problems })
}

/// Saves a case, whole or not at all.
///
/// # Errors
///
/// [`SaveError`]; the file at `path` is then as it was.
pub fn save(path: &Path, case: &Case, knowledge: &Knowledge) -> Result<Saved, SaveError> {
    save_through(path, case, knowledge, &mut |file, bytes| file.write_all(bytes))
}

/// How bytes get into a file; the tests put a disk that fills up in its place.
type Writer<'a> = &'a mut dyn FnMut(&mut File, &[u8]) -> io::Result<()>;

fn save_through(path: &Path, case: &Case, knowledge: &Knowledge, writer: Writer) -> Result<Saved, SaveError> {
    let failed = |reason: String| SaveError { path: path.to_owned(), reason };
    let text = file::write(case, knowledge).map_err(failed)?;
    // A last look before anything is replaced: what is written must be read again as the same case.
    match file::read(text.as_bytes(), knowledge) {
        Ok(again) if again == *case => {}
        _ => return Err(failed("it does not fit the knowledge base in use".into())),
    }
    let target = resolve(path).map_err(|e| failed(plain(&e)))?;
    let old = plain_bytes(&target).map_err(failed)?;
    let mut kept = None;
    if let Some(old) = &old {
        let was = file::read_all(old, knowledge);
        if was.as_ref().is_ok_and(|was| was.case == *case) {
            return Ok(Saved::Unchanged);
        }
        let meta = fs::metadata(&target).map_err(|e| failed(plain(&e)))?;
        if meta.permissions().readonly() {
            return Err(failed("the file is write-protected".into()));
        }
        // A file that can't be read is kept too: it may hold what a person has typed.
        if was.map_or(true, |was| was.comments) {
            kept = Some(
                keep_before(&target, old)
                    .map_err(|e| failed(format!("no copy of it could be kept first: {}", plain(&e))))?,
            );
        }
    }
    replace(&target, text.as_bytes(), writer).map_err(|e| failed(plain(&e)))?;
    Ok(kept.map_or(Saved::Written, Saved::KeptBefore))
}

/// Writes a file beside `target` and puts it in its place.
fn replace(target: &Path, bytes: &[u8], writer: Writer) -> io::Result<()> {
    let folder = folder_of(target);
    let mut new = new_file_options().tempfile_in(folder)?;
    writer(new.as_file_mut(), bytes)?;
    if let Ok(meta) = fs::metadata(target) {
        new.as_file().set_permissions(meta.permissions())?;
    }
    new.as_file().sync_all()?;
    new.persist(target).map_err(|e| e.error)?;
    sync_folder(folder);
    Ok(())
}

/// A new file gets the permissions that any program would give it, not those of a secret.
fn new_file_options() -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".case-").suffix(".tmp");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder
}

/// Brings the new name to the disk. The content is there already, and the change of name is either whole
/// or not there after a power cut; so a file system that can't do this is no reason to report a failure.
fn sync_folder(folder: &Path) {
    if cfg!(unix)
        && let Ok(folder) = File::open(folder)
    {
        let _ = folder.sync_all();
    }
}

/// Keeps a copy of a file's content beside it, under a name that nothing has yet.
fn keep_before(target: &Path, content: &[u8]) -> io::Result<PathBuf> {
    const MOST: u32 = 1000;
    let stem = target.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    for number in 1..MOST {
        let number = if number == 1 { String::new() } else { format!("-{number}") };
        let path = folder_of(target).join(format!("{stem}.before{number}.yaml"));
        match File::create_new(&path) {
            Ok(mut file) => {
                let written = file.write_all(content).and_then(|()| file.sync_all());
                if let Err(e) = written {
                    drop(file);
                    let _ = fs::remove_file(&path);
                    return Err(e);
                }
                return Ok(path);
            }
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {}
            Err(e) => return Err(e),
        }
    }
    Err(io::Error::other("too many copies are there already"))
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if folder.as_os_str().is_empty() => Path::new("."),
        Some(folder) => folder,
        None => path,
    }
}

/// Follows symbolic links to the file itself, which may not exist yet.
fn resolve(path: &Path) -> io::Result<PathBuf> {
    const LONGEST_CHAIN: usize = 40;
    let mut path = path.to_owned();
    for _ in 0..LONGEST_CHAIN {
        match fs::symlink_metadata(&path) {
            Ok(meta) if meta.is_symlink() => path = folder_of(&path).join(fs::read_link(&path)?),
            _ => return Ok(path),
        }
    }
    Err(io::Error::other("its symbolic links lead in a circle"))
}

/// The content of an ordinary file, cut off soon after it gets too large; none if there is no file.
/// Pipes and devices are refused: they may never end, and nothing can be saved to them.
fn plain_bytes(path: &Path) -> Result<Option<Vec<u8>>, String> {
    let meta = match fs::metadata(path) {
        Ok(meta) => meta,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(plain(&e)),
    };
    refuse_other_than_files(&meta)?;
    let most = file::LARGEST as u64 + 1;
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(|e| plain(&e))?;
    file.take(most).read_to_end(&mut bytes).map_err(|e| plain(&e))?;
    Ok(Some(bytes))
}

fn refuse_other_than_files(meta: &Metadata) -> Result<(), String> {
    if meta.is_dir() {
        return Err("it is a folder, not a file".into());
    }
    if !meta.is_file() {
        return Err("it is not an ordinary file".into());
    }
    Ok(())
}

/// Why a file could not be written or made, in a few plain words, without the name of the temporary file
/// that was to take its place: the person named another.
pub fn plain(error: &io::Error) -> String {
    use io::ErrorKind as Kind;
    match error.kind() {
        Kind::PermissionDenied => "you may not read or write there".into(),
        Kind::NotFound => "the folder does not exist".into(),
        Kind::NotADirectory => "a part of the path is not a folder".into(),
        Kind::StorageFull | Kind::QuotaExceeded => "the disk is full".into(),
        Kind::ReadOnlyFilesystem => "the disk is read-only".into(),
        _ => {
            let text = error.to_string();
            text.split(" at path \"").next().unwrap_or(&text).to_owned()
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::case::Answer;
    use crate::case::sample::knowledge;

    const OLD: &str = "format: commsense/case/1\nanswers:\n  power-loss: some\n";

    fn changed() -> Case {
        let mut case = Case::default();
        case.answer("power-loss", Answer::State(2));
        case
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<_> = fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    /// A disk that fills up in the middle of the file.
    fn fills_up(file: &mut File, bytes: &[u8]) -> io::Result<()> {
        file.write_all(&bytes[..bytes.len() / 2])?;
        Err(io::Error::from(io::ErrorKind::StorageFull))
    }

    #[test]
    fn full_disk_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.yaml");
        fs::write(&path, OLD).unwrap();
        let error = save_through(&path, &changed(), &knowledge(), &mut fills_up).unwrap_err();
        assert!(
            error.to_string().ends_with("the disk is full; what was there before is unharmed"),
            "{error}"
        );
        assert_eq!(fs::read_to_string(&path).unwrap(), OLD);
        assert_eq!(names(folder.path()), ["a.yaml"]);
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn the_system_s_own_full_disk_is_told_plainly() {
        // /dev/full answers every write as a full disk does. It can't stand in for the new file itself,
        // which is made in the case's folder, so only its answer is passed on.
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.yaml");
        fs::write(&path, OLD).unwrap();
        let mut writer =
            |_: &mut File, bytes: &[u8]| File::options().write(true).open("/dev/full")?.write_all(bytes);
        let error = save_through(&path, &changed(), &knowledge(), &mut writer).unwrap_err();
        assert_eq!(error.reason, "the disk is full");
        assert_eq!(fs::read_to_string(&path).unwrap(), OLD);
        assert_eq!(names(folder.path()), ["a.yaml"]);
    }

    #[test]
    fn failed_save_over_comments_keeps_both_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.yaml");
        let text = format!("# mine\n{OLD}");
        fs::write(&path, &text).unwrap();
        save_through(&path, &changed(), &knowledge(), &mut fills_up).unwrap_err();
        assert_eq!(fs::read_to_string(&path).unwrap(), text);
        assert_eq!(fs::read_to_string(folder.path().join("a.before.yaml")).unwrap(), text);
    }

    #[test]
    fn case_that_does_not_fit_the_knowledge_is_not_written() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.yaml");
        let mut case = Case::default();
        case.answer("power-loss", Answer::State(77));
        let error = save(&path, &case, &knowledge()).unwrap_err();
        assert!(error.reason.contains("does not fit the knowledge"), "{error}");
        assert!(names(folder.path()).is_empty());
    }
}
