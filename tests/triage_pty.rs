//! The consultation on a real pseudo-terminal.
#![cfg(unix)]

mod common;

use std::path::Path;

use common::Terminal;
use common::program::{Bench, PROGRAM, flowing};

const DOWN: &str = "\x1b[B";
const UP: &str = "\x1b[A";
const ESC: &str = "\x1b";
const CTRL_C: &str = "\x03";
const READY: &str = "other actions";

const CASE: &str = "\
format: commsense/case/1
case: Q-17
motor: heron-540-3
complaint: weak
answers:
  clicking: no
  squeal: no
  grinding: no
  vibration: no
  radio-interference: no
  power-loss: severe
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
        self.terminal.see(seen);
        self.terminal.turn_pages(READY, "");
        self.terminal.press(keys);
        self
    }

    /// Leaves a checklist for the actions beside it, and takes the one that stands so far down there.
    fn instead(&mut self, seen: &str, down: usize, action: &str) -> &mut Self {
        self.at(seen, ESC);
        self.terminal.see("Return to the question");
        self.terminal.press(&DOWN.repeat(down));
        self.terminal.see(&format!("▌ · {action}"));
        self.terminal.press("\r");
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
        let mut talk = start(columns, 50, &[]);
        talk.terminal.see(READY);
        let screen = talk.terminal.screen();
        for piece in [
            "Triage · Q-17",
            "Motor: Heron 540-3",
            "Complaint: “weak”",
            "Question 3 · at the counter",
            "Answer:",
            "[ ] · I don't know the rest",
        ] {
            assert!(flowing(&screen).contains(piece), "{columns}: {piece}\n{screen}");
        }
        talk.terminal.press(ESC).see("Return to the question");
        let menu = talk.terminal.screen();
        for piece in [
            "· Why do you ask?",
            "· How do I check it?",
            "· Back / change an answer",
            "· Ranking so far",
            "· Stop here",
        ] {
            assert!(flowing(&menu).contains(piece), "{columns}: {piece}\n{menu}");
        }
        let screen = screen + "\n" + &menu;
        // Every word of a narrow screen is a word of the wide one: none is broken by us or by the terminal.
        let mut wide = start(200, 50, &[]);
        wide.terminal.see(READY);
        let mut all = wide.terminal.screen();
        wide.terminal.press(ESC).see("Return to the question");
        all += &wide.terminal.screen();
        // What stands at the beginning of a line or a sentence here may stand in the middle there.
        let bare = |word: &str| word.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase();
        let whole: Vec<String> = words(&all).into_iter().map(bare).collect();
        let path = talk.path.clone();
        for word in
            words(&screen).into_iter().filter(|w| !w.contains(['─', '█', '▌', '/']) && !path.contains(w))
        {
            assert!(
                whole.contains(&bare(word)) || word.chars().all(|c| "▏▎▍▌▋▊▉█".contains(c)),
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
    // Whatever is asked or proposed, the question stands over the list with its heading, and the list is
    // whole; what is too long for that was read before.
    let (mut headings, mut paged, mut before) = (Vec::new(), 0, String::new());
    for _ in 0..9 {
        paged += talk.terminal.turn_pages(READY, &before);
        let screen = talk.terminal.screen();
        let lines: Vec<&str> = screen.lines().collect();
        let list = lines.iter().rposition(|l| l.starts_with("▪ Answer:")).expect("a list");
        let heading = lines[..list].iter().rposition(|l| l.starts_with("── ")).expect("a heading");
        let question = lines[heading + 1..list].join(" ");
        assert!(question.trim_end().ends_with(['?', '.']), "{screen}");
        assert!(lines[list + 1].starts_with("▌ "), "{screen}");
        headings.push(lines[heading].to_owned());
        before = talk.terminal.contents();
        talk.terminal.press("\r");
    }
    for kind in ["Question", "Next stage · on the bench, closed", "Next stage · on the bench supply"] {
        assert!(headings.iter().any(|h| h.contains(kind)), "{kind}: {headings:#?}");
    }
    assert!(paged > 0, "{headings:#?}");
    talk.terminal.turn_pages(READY, &before);
    talk.terminal.press(CTRL_C);
    talk.interrupted(Some(130));
}

/// What may come after the fourth question.
const NEXT: [&str; 2] = ["Question 5", "Next stage"];

#[test]
fn why_unknown_and_back_then_interrupted_and_resumed() {
    let mut talk = start(80, 40, &[]);
    talk.instead("Question 3", 0, "Why do you ask?");
    talk.terminal.see("Why: ");
    // Of the checklist the last row says that the rest is not known; none of it could be checked.
    talk.at("If you see", UP);
    talk.terminal.see("▌ [ ] · I don't know the rest");
    talk.terminal.press(" ").see("▌ [x] · I don't know the rest");
    talk.terminal.press("\r");
    talk.at("Which of these could you not check?", "\r");
    talk.terminal.see("Question 4");
    let file = talk.bench.read("q.yaml");
    assert!(file.starts_with(CASE) && file.lines().count() == CASE.lines().count() + 3, "{file}");
    assert_eq!(file.matches(": unknown").count(), 3, "{file}");
    let last = file.lines().last().expect("answers").to_string() + "\n";
    let before = file.strip_suffix(last.as_str()).expect("it ends so").to_string();

    // Back: the last answer stands first, and is taken back.
    talk.instead("Question 4", 3, "Back / change an answer");
    talk.at("Which answer do you want to change?", "\r").at("What now?", DOWN);
    talk.terminal.see("▌ Take it back");
    talk.terminal.press("\r").see("Answer: Take it back").see(READY);
    assert_eq!(talk.bench.read("q.yaml"), before);

    // An answer, then Ctrl-C in the middle of the next question.
    talk.terminal.press("\r");
    let next = talk.terminal.see_one(&NEXT);
    talk.terminal.see(READY);
    talk.terminal.press(CTRL_C);
    let bench = talk.interrupted(Some(130));
    let after = bench.read("q.yaml");
    assert!(after.starts_with(&before) && after.lines().count() > before.lines().count(), "{after}");

    // It goes on with what was answered in sight, and with what comes next.
    let mut again = open(bench, 80, 40, &[]);
    again.terminal.see("Answered so far:").see("Loss of power: Severe").see(NEXT[next]).see(READY);
    again.terminal.press(CTRL_C);
    let bench = again.interrupted(Some(130));
    assert_eq!(bench.read("q.yaml"), after);
}

#[test]
fn several_things_are_marked_in_a_checklist_on_a_small_screen() {
    let mut talk = start(80, 24, &[]);
    talk.at("Question 3", " ");
    talk.terminal.see("▌ [x] Runs hot: hot");
    talk.terminal.press(DOWN).see("▌ [ ] Runs hot: too hot");
    talk.terminal.press(" ").see("▌ [x] Runs hot: too hot");
    // The question stands over a list that is whole.
    let screen = talk.terminal.screen();
    let lines: Vec<&str> = screen.lines().collect();
    let list = lines.iter().rposition(|l| l.starts_with("▪ Answer:")).expect("a list");
    assert!(lines[list - 1].trim_end().ends_with('?'), "{screen}");
    assert_eq!(lines[list + 1..].iter().filter(|l| l.contains("[ ] ") || l.contains("[x] ")).count(), 6);
    // Two things that can't both be are refused, and the marks stay.
    talk.terminal.press("\r").see("can’t both be so");
    assert_eq!(talk.bench.read("q.yaml"), CASE, "nothing was taken");
    talk.terminal.press(" ").see("▌ [ ] Runs hot: too hot").see("[x] Runs hot: hot");
    talk.terminal.press(&DOWN.repeat(3)).see("▌ [ ] Burnt smell");
    talk.terminal.press(" ").see("▌ [x] Burnt smell");
    talk.terminal.press("\r").see("Question 4").see(READY);
    let file = talk.bench.read("q.yaml");
    assert_eq!(file, format!("{CASE}  runs-hot: hot\n  heavy-sparking: no\n  burnt-smell: yes\n"));
    talk.terminal.press(CTRL_C);
    talk.interrupted(Some(130));
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
    talk.instead("Question 3", 4, "Stop here");
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
        talk.terminal.see("Question 4").see(READY);
        talk.terminal.signal(signal);
        let bench = talk.interrupted(code);
        assert_eq!(bench.read("q.yaml").lines().count(), CASE.lines().count() + 3, "{signal}");
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
        talk.instead("Question 3", 3, "Ranking so far").instead("Cured at once", 4, "Stop here");
        assert!(talk.terminal.end().success());
        assert_eq!(has_colour(&talk.terminal.raw()), wanted, "{env:?}");
    }
}

#[test]
fn plain_terminals_and_screen_readers_get_lines_without_any_escape() {
    for (env, drawn) in [(&[("TERM", "dumb")][..], true), (&[("ACCESSIBLE", "1")], false)] {
        let mut talk = start(80, 40, env);
        talk.lines(&["r\n", "d\n", "0\n", "q\n"]);
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
fn a_list_taller_than_a_plain_terminal_has_its_cautions_before_and_its_question_below() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE.replace("complaint", "stage: bench\ncomplaint"));
    let mut talk = open(bench, 80, 24, &[("TERM", "dumb")]);
    talk.terminal.see("Mind: Loosening the screws").see("Press Enter when it is read:");
    assert!(talk.terminal.screen().contains("-- Question 3 "), "{}", talk.terminal.screen());
    talk.terminal.press("\n");
    talk.terminal.see("Answer:");
    let screen = talk.terminal.screen();
    let last: Vec<&str> = screen.lines().rev().take(2).collect();
    assert_eq!(last[0].trim_end(), "Answer:", "{screen}");
    assert_eq!(last[1], "Look at the motor all round, end bell and leads too. What is not right?");
    talk.terminal.press("q\n");
    assert!(talk.terminal.end().success());
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
