//! The consultation on a real pseudo-terminal.
#![cfg(unix)]

mod common;

use std::path::Path;

use common::Terminal;
use common::program::{Bench, PROGRAM, flowing};

const DOWN: &str = "\x1b[B";
const UP: &str = "\x1b[A";
const CTRL_C: &str = "\x03";
const READY: &str = "other actions";

const CASE: &str = "\
format: commsense/case/1
case: Q-17
motor: heron-540-3
complaint: weak
answers:
  power-loss: severe
  clicking: no
";

/// A case on a terminal of so many columns and rows.
struct Talk {
    terminal: Terminal,
    path: String,
    bench: Bench,
}

fn start(columns: u16, rows: u16, env: &[(&str, &str)]) -> Talk {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    open(bench, columns, rows, env)
}

fn open(bench: Bench, columns: u16, rows: u16, env: &[(&str, &str)]) -> Talk {
    let path = bench.path("q.yaml").to_str().expect("a plain name").to_string();
    let terminal = Terminal::start(columns, rows, Path::new(PROGRAM), &["triage", &path], env);
    Talk { terminal, path, bench }
}

impl Talk {
    /// Presses keys when this stands on the screen and the list after it can be chosen from. The list
    /// before is gone by then.
    fn at(&mut self, seen: &str, keys: &str) -> &mut Self {
        self.terminal.see(seen).see(READY);
        self.terminal.press(keys);
        self
    }

    /// Types lines, each where it is asked for.
    fn lines(&mut self, lines: &[&str]) {
        for (i, line) in lines.iter().enumerate() {
            self.terminal.written("Answer: ", i + 1);
            self.terminal.press(line);
        }
    }

    fn interrupted(mut self, code: Option<u32>) -> Bench {
        let status = self.terminal.end();
        match code {
            Some(code) => assert_eq!(status.exit_code(), code, "{}", self.terminal.screen()),
            None => assert!(status.signal().is_some(), "{status:?}"),
        }
        let end = flowing(&self.terminal.screen());
        let command = format!("commsense triage {}", self.path);
        assert!(end.contains("stopped: The answers are saved. Go on with:"), "{end}");
        assert!(end.replace(' ', "").contains(&command.replace(' ', "")), "{end}");
        self.terminal.assert_cooked();
        self.bench
    }
}

/// The words of a text that stand on one line each, whatever else is broken.
fn words(screen: &str) -> Vec<&str> {
    screen.split_whitespace().collect()
}

#[test]
fn the_first_question_at_forty_eighty_and_two_hundred_columns() {
    for columns in [40, 80, 200] {
        let mut talk = start(columns, 40, &[]);
        talk.terminal.see(READY);
        let screen = talk.terminal.screen();
        for piece in [
            "Triage · Q-17",
            "Motor: Heron 540-3",
            "Complaint: “weak”",
            "Question 3 · at the counter",
            "Answer:",
            "· Don't know",
            "· Why do you ask?",
            "· How do I check it?",
            "· Back / change an answer",
            "· Ranking so far",
            "· Stop here",
        ] {
            assert!(flowing(&screen).contains(piece), "{columns}: {piece}\n{screen}");
        }
        // Every word of a narrow screen is a word of the wide one: none is broken by us or by the terminal.
        let mut wide = start(200, 40, &[]);
        wide.terminal.see(READY);
        let all = wide.terminal.screen();
        let whole = words(&all);
        let path = talk.path.clone();
        for word in
            words(&screen).into_iter().filter(|w| !w.contains(['─', '█', '▌', '/']) && !path.contains(w))
        {
            assert!(
                whole.contains(&word) || word.chars().all(|c| "▏▎▍▌▋▊▉█".contains(c)),
                "{columns}: {word}\n{screen}"
            );
        }
        for line in screen.lines() {
            assert!(commsense::present::text::width(line) <= usize::from(columns), "{line}");
        }
        talk.terminal.press(CTRL_C);
        talk.interrupted(Some(130));
        wide.terminal.press(CTRL_C);
        wide.interrupted(Some(130));
    }
}

#[test]
fn the_question_stays_in_sight_on_a_small_screen() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE.replace("complaint", "stage: counter\ncomplaint"));
    let mut talk = open(bench, 80, 24, &[]);
    // Whatever is asked or proposed, the last line of it stands over the list, and the list is whole.
    let (mut question, mut proposed) = (3, false);
    for _ in 0..12 {
        let next = format!("Question {question} ");
        let stage = talk.terminal.see_one(&[&next, "Next stage · "]) == 1;
        talk.terminal.see(READY).see("· Stop here");
        let screen = talk.terminal.screen();
        let lines: Vec<&str> = screen.lines().collect();
        let list = lines.iter().rposition(|l| l.starts_with("▪ Answer:")).expect("a list");
        assert!(list > 0 && lines[list - 1].trim_end().ends_with('?'), "{screen}");
        assert!(lines[list + 1].starts_with("▌ "), "{screen}");
        if stage {
            proposed = true;
            break;
        }
        question += 1;
        talk.terminal.press("\r");
    }
    assert!(question > 3 && proposed, "questions and a stage were put");
    talk.terminal.press(CTRL_C);
    talk.interrupted(Some(130));
}

#[test]
fn why_unknown_and_back_then_interrupted_and_resumed() {
    let mut talk = start(80, 40, &[]);
    // Why: the list stands on its first row; the side actions are walked to from the end.
    talk.at("Question 3", &UP.repeat(5));
    talk.terminal.see("▌ · Why do you ask?");
    talk.terminal.press("\r").see("Why: ");
    talk.at("If the answer is", &UP.repeat(6));
    talk.terminal.see("▌ · Don't know");
    talk.terminal.press("\r").see("Question 4");
    let file = talk.bench.read("q.yaml");
    assert!(file.lines().last().is_some_and(|l| l.ends_with(": unknown")), "{file}");

    // Back: the last answer stands first, and is taken back.
    talk.at("Question 4", &UP.repeat(3));
    talk.terminal.see("▌ · Back / change an answer");
    talk.terminal.press("\r");
    talk.at("Which answer do you want to change?", "\r").at("What now?", DOWN);
    talk.terminal.see("▌ Take it back");
    talk.terminal.press("\r").see("Answer: Take it back").see(READY);
    assert_eq!(talk.bench.read("q.yaml"), CASE);

    // A plain answer, then Ctrl-C in the middle of the next question.
    talk.terminal.press("\r");
    talk.at("█", CTRL_C);
    let bench = talk.interrupted(Some(130));
    let after = bench.read("q.yaml");
    assert!(after.starts_with(CASE) && after.lines().count() == CASE.lines().count() + 1, "{after}");

    // It goes on with what was answered in sight, and with what comes next.
    let mut again = open(bench, 80, 40, &[]);
    again.terminal.see("Answered so far:").see("Loss of power: Severe").see("Next stage").see(READY);
    again.terminal.press(CTRL_C);
    let bench = again.interrupted(Some(130));
    assert_eq!(bench.read("q.yaml"), after);
}

#[test]
fn ctrl_c_at_the_very_beginning() {
    let bench = Bench::new();
    let mut talk = open(bench, 80, 30, &[]);
    talk.at("Another motor: say what is known of it", "\r");
    talk.terminal.see("What does the owner say").see("Enter takes it");
    talk.terminal.press("half a sen").see("half a sen");
    talk.terminal.press(CTRL_C);
    let bench = talk.interrupted(Some(130));
    // What was not sent is no complaint.
    assert_eq!(bench.read("q.yaml"), "format: commsense/case/1\ncase: q\nmotor: heron-540-3\n");
}

#[test]
fn a_whole_consultation_ends_with_the_result_in_sight() {
    let mut talk = start(80, 24, &[]);
    talk.at("Question 3", UP);
    talk.terminal.see("▌ · Stop here");
    talk.terminal.press("\r");
    assert!(talk.terminal.end().success());
    let screen = talk.terminal.screen();
    for piece in ["In short", "ost likely: ", "Work as it stands: ", "Saved in", "commsense triage"] {
        assert!(flowing(&screen).contains(piece), "{piece}\n{screen}");
    }
    talk.terminal.assert_cooked();
}

#[test]
fn signals_keep_the_answers_and_put_the_terminal_right() {
    for (signal, code) in [("TERM", None), ("HUP", None), ("INT", Some(130))] {
        let mut talk = start(80, 40, &[]);
        talk.at("Question 3", "\r");
        talk.terminal.see("Next stage").see(READY);
        talk.terminal.signal(signal);
        let bench = talk.interrupted(code);
        assert_eq!(bench.read("q.yaml").lines().count(), CASE.lines().count() + 1, "{signal}");
    }
}

/// Whether a colour or another look is switched on anywhere.
fn has_colour(raw: &str) -> bool {
    raw.split("\x1b[").skip(1).any(|rest| {
        let end = rest.find(|c: char| !c.is_ascii_digit() && c != ';');
        end.is_some_and(|end| rest[end..].starts_with('m') && rest[..end] != *"0" && !rest[..end].is_empty())
    })
}

#[test]
fn no_colour_where_none_is_wanted() {
    for (env, wanted) in [(&[][..], true), (&[("NO_COLOR", "1")], false)] {
        let mut talk = start(80, 40, env);
        talk.at("Question 3", &UP.repeat(2));
        talk.terminal.see("▌ · Ranking so far");
        talk.terminal.press("\r");
        talk.at("Cured at once", UP);
        talk.terminal.see("▌ · Stop here");
        talk.terminal.press("\r");
        assert!(talk.terminal.end().success());
        assert_eq!(has_colour(&talk.terminal.raw()), wanted, "{env:?}");
    }
}

#[test]
fn plain_terminals_and_screen_readers_get_lines_without_any_escape() {
    for (env, drawn) in [(&[("TERM", "dumb")][..], true), (&[("ACCESSIBLE", "1")], false)] {
        let mut talk = start(80, 40, env);
        talk.lines(&["r\n", "d\n", "q\n"]);
        assert!(talk.terminal.end().success(), "{}", talk.terminal.screen());
        let raw = talk.terminal.raw();
        assert!(!raw.contains('\x1b'), "{env:?}: {raw:?}");
        // Signs beyond ASCII only where the owner's own words or a file's name hold them.
        let odd: String = raw.chars().filter(|c| !c.is_ascii()).collect();
        assert_eq!(odd, "", "{env:?}");
        assert_eq!(raw.contains("####") || raw.contains("----"), drawn, "{env:?}: bars and rules");
        assert!(raw.contains("Ranking so far") && raw.contains("In short"), "{raw}");
        for line in raw.lines() {
            assert!(line.trim_end().chars().count() <= 80, "{line}");
        }
        // Ctrl-C there, too.
        let mut left = start(80, 40, env);
        left.lines(&[CTRL_C]);
        left.interrupted(Some(130));
    }
}

#[test]
fn bars_are_read_aloud_as_words() {
    let mut talk = start(80, 40, &[("ACCESSIBLE", "1")]);
    talk.lines(&["1\n", "q\n"]);
    assert!(talk.terminal.end().success());
    let raw = talk.terminal.raw();
    let moved = raw.lines().any(|l| l.contains(" %  up ") || l.contains(" %  down "));
    assert!(moved && raw.contains(": "), "{raw}");
}
