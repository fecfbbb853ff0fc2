//! The program run to its end, in a folder of its own, with nobody at a terminal.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The program under test.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_commsense");

/// A folder for case files, and the program started in it.
pub struct Bench(tempfile::TempDir);

/// How a run ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// The exit code; none when a signal ended it.
    pub code: Option<i32>,
    pub stdout: String,
    pub stderr: String,
}

impl Bench {
    /// An empty folder.
    #[allow(clippy::new_without_default)] // it makes a folder, which may fail
    pub fn new() -> Bench {
        Bench(tempfile::tempdir().expect("a folder can be made"))
    }

    pub fn folder(&self) -> &Path {
        self.0.path()
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> &Bench {
        std::fs::write(self.path(name), content).expect("a file can be written");
        self
    }

    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).expect("the file is there")
    }

    /// Names in the folder, in order.
    pub fn names(&self) -> Vec<String> {
        let files = std::fs::read_dir(self.folder()).expect("the folder is there");
        let name = |f: std::io::Result<std::fs::DirEntry>| f.expect("a file").file_name();
        let mut names: Vec<String> = files.map(|f| name(f).to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    /// The program with nothing in its environment, in this folder.
    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(PROGRAM);
        command.args(args).env_clear().env("COLUMNS", "80").current_dir(self.folder());
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    /// Runs it without any input.
    pub fn run(&self, args: &[&str]) -> Done {
        let output = self.command(args).output().expect("the program runs");
        Done::of(output)
    }

    /// Runs it with these lines as its input, then the end of it.
    pub fn talk(&self, args: &[&str], lines: &[&str]) -> Done {
        let mut child = self.command(args).stdin(Stdio::piped()).spawn().expect("the program runs");
        let mut input = child.stdin.take().expect("the input is a pipe");
        // A program that ends early does not read all of it.
        let _ = input.write_all((lines.join("\n") + "\n").as_bytes());
        drop(input);
        Done::of(child.wait_with_output().expect("the program ends"))
    }

    /// The JSON document of a run that must succeed and say nothing beside it.
    #[track_caller]
    pub fn json(&self, args: &[&str]) -> serde_json::Value {
        let done = self.run(args);
        assert_eq!((done.code, done.stderr.as_str()), (Some(0), ""), "{args:?}");
        serde_json::from_str(&done.stdout).expect("one JSON document and nothing else")
    }

    /// Standard error of a run that must fail as wrong input does, without a result.
    #[track_caller]
    pub fn refusal(&self, args: &[&str]) -> String {
        let done = self.run(args);
        assert_eq!((done.code, done.stdout.as_str()), (Some(1), ""), "{args:?}: {}", done.stderr);
        assert!(done.stderr.starts_with("error: "), "{args:?}: {}", done.stderr);
        done.stderr
    }
}

impl Done {
    fn of(output: std::process::Output) -> Done {
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("what is printed is UTF-8");
        Done { code: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) }
    }
}

/// A text with every run of blanks and line ends as one blank, so that it can be searched for sentences.
pub fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
