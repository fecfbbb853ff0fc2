//! A terminal for tests: a program runs on a pseudo-terminal, and the screen can be looked at.
#![allow(dead_code)] // each test target uses its own part

pub mod program;

use std::io::{Read, Write};
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};

/// How long anything may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(20);

/// Everything that came out of the program.
struct Output {
    parser: vt100::Parser,
    raw: Vec<u8>,
    ended: bool,
}

/// A program on a pseudo-terminal of a fixed size.
pub struct Terminal {
    child: Box<dyn Child + Send + Sync>,
    master: Box<dyn MasterPty + Send>,
    keys: Box<dyn Write + Send>,
    output: Arc<Mutex<Output>>,
}

impl Terminal {
    /// Starts `program` with `args` and nothing in its environment but `TERM=xterm-256color` and `env`.
    pub fn start(columns: u16, rows: u16, program: &Path, args: &[&str], env: &[(&str, &str)]) -> Terminal {
        let size = PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).expect("a pseudo-terminal can be had");
        let mut command = CommandBuilder::new(program);
        command.args(args);
        command.env_clear();
        command.env("TERM", "xterm-256color");
        for (name, value) in env {
            command.env(name, value);
        }
        let child = pair.slave.spawn_command(command).expect("the program starts");
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().expect("the terminal can be read");
        let keys = pair.master.take_writer().expect("the terminal can be typed on");
        let some = |n| std::num::NonZero::new(n).expect("a terminal has rows and columns");
        let parser = vt100::Parser::new(some(rows), some(columns), 500);
        let output = Arc::new(Mutex::new(Output { parser, raw: Vec::new(), ended: false }));
        let filled = output.clone();
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            loop {
                let count = reader.read(&mut bytes).unwrap_or(0);
                let mut output = filled.lock().expect("no test panics while it looks");
                if count == 0 {
                    output.ended = true;
                    return;
                }
                output.parser.process(&bytes[..count]);
                output.raw.extend_from_slice(&bytes[..count]);
            }
        });
        Terminal { child, master: pair.master, keys, output }
    }

    fn output(&self) -> MutexGuard<'_, Output> {
        self.output.lock().expect("the reader does not panic")
    }

    /// Waits until `true` comes of a look at the output.
    fn until(&self, what: &str, mut done: impl FnMut(&Output) -> bool) {
        let start = Instant::now();
        while !done(&self.output()) {
            if start.elapsed() > PATIENCE {
                panic!("{what} did not come; the screen shows:\n{}", self.screen());
            }
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    /// Waits until this stands on the screen.
    pub fn see(&self, text: &str) -> &Self {
        self.until(&format!("{text:?}"), |o| o.parser.screen().contents().contains(text));
        self
    }

    /// Waits until one of these stands on the screen, and hands back its index.
    pub fn see_one(&self, texts: &[&str]) -> usize {
        let mut found = None;
        self.until(&format!("one of {texts:?}"), |o| {
            let screen = o.parser.screen().contents();
            found = texts.iter().position(|t| screen.contains(t));
            found.is_some()
        });
        found.expect("it stood there")
    }

    /// Waits until the program has written this as often as that, on the screen or above it.
    pub fn written(&self, text: &str, times: usize) -> &Self {
        self.until(&format!("{text:?} {times} times"), |o| {
            String::from_utf8_lossy(&o.raw).matches(text).count() >= times
        });
        self
    }

    /// Turns pages until this stands in the last line of the screen, and tells how many there were. `before`:
    /// what stood on the screen when the last key was pressed; what comes next looks different.
    pub fn turn_pages(&mut self, ready: &str, before: &str) -> usize {
        let (mut pages, mut before) = (0, before.to_owned());
        loop {
            let mut page = false;
            self.until(&format!("{ready:?} or a page"), |o| {
                let screen = o.parser.screen().contents();
                let last = screen.trim_end().lines().last().unwrap_or("");
                page = last.starts_with("[Enter: ") && !last.contains(ready);
                // What was answered still has its keys below it for a moment.
                let open = screen.lines().rfind(|l| l.starts_with("▪ Answer:"));
                let open = open.is_some_and(|l| l.trim_end() == "▪ Answer:");
                screen != before && (page || open && last.contains(ready))
            });
            if !page {
                return pages;
            }
            pages += 1;
            before = self.contents();
            self.press("\r");
        }
    }

    /// What stands on the screen, to the last blank.
    pub fn contents(&self) -> String {
        self.output().parser.screen().contents()
    }

    /// Types.
    pub fn press(&mut self, keys: &str) -> &Self {
        self.keys.write_all(keys.as_bytes()).expect("keys can be typed");
        self.keys.flush().expect("keys can be typed");
        self
    }

    /// What stands on the screen, without blanks at the ends of lines.
    pub fn screen(&self) -> String {
        let contents = self.output().parser.screen().contents();
        contents.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
    }

    /// Every byte that the program wrote.
    pub fn raw(&self) -> String {
        String::from_utf8_lossy(&self.output().raw).into_owned()
    }

    /// Sends a signal by its name.
    pub fn signal(&self, name: &str) {
        let id = self.child.process_id().expect("the program runs").to_string();
        let sent = std::process::Command::new("kill").args([&format!("-{name}"), &id]).status();
        assert!(sent.expect("kill can be run").success());
    }

    /// Waits for the end of the program and of its output.
    pub fn end(&mut self) -> ExitStatus {
        let start = Instant::now();
        let status = loop {
            if let Some(status) = self.child.try_wait().expect("the program can be waited for") {
                break status;
            }
            if start.elapsed() > PATIENCE {
                let _ = self.child.kill();
                panic!("the program does not end; the screen shows:\n{}", self.screen());
            }
            std::thread::sleep(Duration::from_millis(5));
        };
        self.until("the end of the output", |o| o.ended);
        status
    }

    /// Panics unless the terminal is as a shell needs it: lines are edited and echoed, signals are made
    /// of keys, the cursor shows and a paste is not marked.
    pub fn assert_cooked(&self) {
        let flags = self.master.get_termios().map(|t| format!("{:?}", t.local_flags)).unwrap_or_default();
        for flag in ["ICANON", "ECHO", "ISIG"] {
            assert!(flags.contains(flag), "{flag} is off: {flags}");
        }
        let output = self.output();
        assert!(!output.parser.screen().hide_cursor(), "the cursor is hidden");
        assert!(!output.parser.screen().bracketed_paste(), "pastes are still marked");
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        // A failed test must not leave its program waiting for keys for ever.
        let _ = self.child.kill();
    }
}
