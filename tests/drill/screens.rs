//! Lessons on a real pseudo-terminal of eighty columns and twenty-four rows.

use std::collections::HashMap;
use std::path::Path;

use crate::common::Terminal;
use crate::common::program::{Bench, PROGRAM, flowing};

const DOWN: &str = "\x1b[B";
const UP: &str = "\x1b[A";
const CTRL_C: &str = "\x03";
const READY: &str = "other actions";

struct Talk {
    terminal: Terminal,
    bench: Bench,
    /// How often each question was put.
    put: HashMap<String, usize>,
}

fn open(bench: Bench, lesson: &str, env: &[(&str, &str)]) -> Talk {
    let folder = bench.path("drill").to_str().expect("a plain name").to_string();
    let args = ["drill", "take", lesson, "--folder", &folder];
    Talk { terminal: Terminal::start(80, 24, Path::new(PROGRAM), &args, env), bench, put: HashMap::new() }
}

impl Talk {
    /// Waits for a screen on which this stands, looks whether all of it is in sight, and presses keys.
    fn at(&mut self, heading: &str, question: &str, keys: &str) -> &mut Self {
        let times = self.put.entry(question.to_owned()).or_default();
        *times += 1;
        self.terminal.written(question, *times).see(heading).see(question).see(READY);
        let screen = self.terminal.screen();
        assert!(screen.contains(heading), "the beginning ({heading}) has scrolled away:\n{screen}");
        assert!(screen.lines().count() <= 24);
        for line in screen.lines() {
            assert!(commsense::present::text::width(line) <= 80, "{line}");
        }
        self.terminal.press(keys);
        self
    }

    fn interrupted(mut self) -> Bench {
        assert_eq!(self.terminal.end().exit_code(), 130, "{}", self.terminal.screen());
        let end = flowing(&self.terminal.screen());
        assert!(end.contains("stopped: The lesson is saved. Go on with: commsense drill take"), "{end}");
        self.terminal.assert_cooked();
        self.bench
    }
}

/// A row further down in a list, then Enter.
fn down(rows: usize) -> String {
    format!("{}\r", DOWN.repeat(rows))
}

#[test]
fn every_screen_of_the_first_lesson_is_in_sight() {
    let mut talk = open(Bench::new(), "tired-truck", &[]);
    talk.at("── The tired truck", "Read on?", "\r");
    talk.at("── Words you will meet", "Read on?", "\r");
    talk.at("── At the counter · 0 min so far", "What do you do?", "\r");
    talk.at("── At the counter", "Ask the owner about what?", &down(1));
    // The list is longer than a page; its entries may be reached over “More”.
    talk.at("── What happened before", "What?", &down(9));
    talk.at("▌ Contact with water", "What?", &down(2));
    talk.terminal.see("The owner says: “Many");
    talk.at(
        "── What happened before · At the counter · 0.4 min so far",
        "What?",
        &format!("{}\r", UP.repeat(3)),
    );
    talk.at("── At the counter", "Ask the owner about what?", &down(2));
    talk.at("── At the counter", "What do you do?", &down(1));
    talk.at("── At the counter", "Go on to which stage?", "\r");
    talk.at("── Next stage", "Go on, with this written down?", "\r");
    talk.at("── Next stage", "Minded all of it?", "\r");
    talk.at("── On the bench, closed", "What do you do?", &down(2));
    talk.at("── On the bench, closed", "Go on to which stage?", &down(1));
    talk.at("── Next stage · brushes out", "Go on, with this written down?", "\r");
    talk.at("── Next stage · brushes out", "Minded all of it?", "\r");
    talk.at("── Brushes out", "What do you do?", &down(1));
    talk.at("── Look and measure", "Where?", "\r");
    talk.at("── Look and measure", "What?", "\r");
    talk.at("── Brushes, hoods, springs", "Do it?", "\r");
    talk.at("── Brushes, hoods, springs · You find", "Read on?", "\r");
    talk.terminal.see("Brush length: 3.9 mm");
    talk.at("── Look and measure", "What?", CTRL_C);
    let bench = talk.interrupted();
    let kept = bench.read("drill/trainee/0001-tired-truck.yaml");
    assert!(kept.contains("- look: brushes-and-hoods"), "{kept}");

    // Taken up where it was left, and brought to its end.
    let mut talk = open(bench, "tired-truck", &[]);
    talk.terminal.see("Going on where you stopped");
    talk.at("── The tired truck", "Read on?", "\r");
    talk.at("── Brushes out", "What do you do?", &down(6));
    talk.at("── Name the fault", "Where is the fault?", &down(2));
    talk.at("── Name the fault", "Which one?", &down(3));
    talk.at("── Worn-out brushes", "How sure are you?", "\r");
    talk.at("Named so far", "Where is the fault?", &down(7));
    talk.at("── The work", "What is to be done?", &down(2));
    talk.at("── Brush service", "This work?", "\r");
    talk.at("── The cautions", "What can hurt", "\r");
    talk.at("── The cautions", "Is there really nothing that can hurt?", &down(1));
    for heading in [
        "── What was wrong",
        "── Why",
        "── What your evidence supported",
        "── Your path",
        "── The expert's path",
        "── You beside the expert",
        "── What to watch",
        "── Your mark",
        "── What to take with you",
        "── Your lessons so far",
    ] {
        talk.terminal.see(heading);
        talk.at(heading, "Read on?", "\r");
    }
    assert!(talk.terminal.end().success());
    let screen = flowing(&talk.terminal.screen());
    assert!(
        screen.contains("Truth: Worn-out brushes.")
            && screen.contains("not passed yet (no caution was named)"),
        "{screen}"
    );
    talk.terminal.assert_cooked();
}

/// The sheets with the longest cautions and records, and the coach with all his reasons.
#[test]
fn the_longest_screens_are_in_sight() {
    let mut talk = open(Bench::new(), "squealing-boat", &[("NO_COLOR", "1")]);
    talk.at("── The squealing boat", "Read on?", "\r");
    talk.at("── Words you will meet", "Read on?", "\r");
    talk.at("── At the counter", "What do you do?", &down(2));
    talk.at("── The coach", "Read on?", "\r");
    talk.at("── At the counter", "What do you do?", &down(1));
    talk.at("── At the counter", "Go on to which stage?", "\r");
    talk.at("── Next stage", "with this written down?", "\r");
    talk.at("── Next stage", "Minded all of it?", "\r");
    talk.at("── On the bench, closed", "What do you do?", &down(2));
    talk.at("── On the bench, closed", "Go on to which stage?", "\r");
    talk.at("── Next stage · on the bench supply", "with this written down?", "\r");
    talk.at("── Next stage · on the bench supply", "Minded all of it?", "\r");
    talk.at("── On the bench supply", "What do you do?", CTRL_C);
    let raw = talk.terminal.raw();
    talk.interrupted();
    // Without colour the same words stand there.
    assert!(!raw.contains("\x1b[31m") && !raw.contains("\x1b[38"), "colour where none is wanted");
    assert!(raw.contains("CAUTION"));
}

#[test]
fn dumb_terminals_get_lines() {
    let mut talk = open(Bench::new(), "tired-truck", &[("TERM", "dumb")]);
    for (i, line) in ["1\n", "1\n", "q\n"].iter().enumerate() {
        talk.terminal.written("Answer: ", i + 1);
        talk.terminal.press(line);
    }
    assert!(talk.terminal.end().success());
    assert!(!talk.terminal.raw().contains('\x1b'));
}
