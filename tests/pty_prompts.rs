//! The prompts on a real pseudo-terminal. The program that asks is this very test binary: run with
//! `TALK` set, its test `talk` holds a short talk instead of testing anything.
#![cfg(unix)]

mod common;

use std::path::PathBuf;

use common::Terminal;
use commsense::cli::appearance::{Appearance, ColourChoice, Facts};
use commsense::cli::desk::Desk;
use commsense::cli::exit::Failure;
use commsense::cli::guard::{self, Guard};
use commsense::cli::prompt::{Choice, Prompt, Prompter, Side, TextWanted};
use commsense::present::text::{Styled, Text};

const DOWN: &str = "\x1b[B";
const UP: &str = "\x1b[A";
const ESC: &str = "\x1b";
const CTRL_C: &str = "\x03";
const CTRL_D: &str = "\x04";
const CTRL_Z: &str = "\x1a";

fn power() -> Prompt {
    let mut note = Text::new();
    note.para(Styled::new().muted("Compare it with what the motor did a month ago."));
    Prompt {
        id: "power".into(),
        heading: "Question 1 · at the counter · about 0.5 min".into(),
        question: "How much power has the motor lost?".into(),
        note,
        choices: vec![
            Choice::new("none", "None: full power"),
            Choice::new("some", "Some: noticeably weaker than it was, above all uphill"),
            Choice::new("severe", "Severe: hardly moves"),
        ],
        side: Side::ALL.to_vec(),
        ..Prompt::default()
    }
}

fn current() -> Prompt {
    let check = |typed: &str| {
        assert_ne!(typed, "panic", "a check that fails in the middle of a prompt");
        match typed.strip_suffix('A').map(|n| n.trim().parse::<f64>()) {
            Some(Ok(_)) => Ok(()),
            _ => Err("The current needs its unit: write it in A or mA, such as 2.4 A.".to_string()),
        }
    };
    Prompt {
        id: "current".into(),
        heading: "Question 2 · on the bench supply · about 2 min".into(),
        question: "What current does it draw, unloaded?".into(),
        text: Some(TextWanted::checked("a reading, such as 2.4 A", check)),
        side: Side::ALL.to_vec(),
        ..Prompt::default()
    }
}

fn hold(prompter: &mut dyn Prompter) -> Result<(), Failure> {
    for prompt in [power(), current()] {
        let reply = prompter.ask(&prompt)?;
        prompter.say(&Text::from(format!("noted {}", prompt.id)))?;
        prompter.show(&Text::from(format!("{} = {reply:?}", prompt.id)))?;
    }
    Ok(())
}

#[test]
#[ignore = "the program that the other tests talk to"]
fn talk() {
    let Some(how) = std::env::var_os("TALK") else { return };
    let appearance = Appearance::decide(&Facts::gather(ColourChoice::Auto, how == "line"));
    appearance.apply();
    let outcome = Guard::install(appearance.talk_page()).map_err(Failure::from).and_then(|_guard| {
        guard::set_farewell("answers are saved; go on with: commsense triage demo.yaml");
        match (Desk { appearance, folder: None }).prompter() {
            Some(mut prompter) => hold(prompter.as_mut()),
            None => Err(Failure::input("nobody can be asked here")),
        }
    });
    let failure = outcome.err().unwrap_or(Failure { code: 0, ..Failure::input("") });
    eprint!("{}", failure.render(&appearance.talk_page()));
    std::process::exit(i32::from(failure.code));
}

fn me() -> PathBuf {
    std::env::current_exe().expect("a test knows its own file")
}

/// The arguments that make this binary the program that asks.
const HOLD: [&str; 6] = ["--exact", "talk", "--ignored", "--nocapture", "--color=never", "--test-threads=1"];

fn start(columns: u16, env: &[(&str, &str)]) -> Terminal {
    let mut all = vec![("TALK", "auto")];
    all.extend_from_slice(env);
    Terminal::start(columns, 40, &me(), &HOLD, &all)
}

/// The same through a shell, which may redirect a stream.
fn redirected(redirection: &str) -> Terminal {
    let command = format!("'{}' {} {redirection}", me().display(), HOLD.join(" "));
    let shell = PathBuf::from("/bin/sh");
    Terminal::start(80, 40, &shell, &["-c", &command], &[("TALK", "auto"), ("PATH", "/usr/bin:/bin")])
}

/// The screen from the first question on; before it stands what the test runner says.
fn talk_on(terminal: &Terminal) -> String {
    let screen = terminal.screen();
    let from = screen.find("Question 1").map_or(0, |at| screen[..at].rfind('\n').map_or(0, |line| line + 1));
    screen[from..].trim_end().to_string()
}

fn has_colour(raw: &str) -> bool {
    raw.split("\x1b[").skip(1).any(|rest| {
        rest.find(|c: char| !c.is_ascii_digit() && c != ';').is_some_and(|end| rest[end..].starts_with('m'))
    })
}

#[test]
fn a_question_at_forty_columns() {
    let mut terminal = start(40, &[]);
    terminal.see("other actions");
    insta::assert_snapshot!(talk_on(&terminal), @r"
    Question 1 · at the counter · about
    0.5 min
    Compare it with what the motor did a
    month ago.
    How much power has the motor lost?
    ▪ Answer:
    ▌ None: full power
      Some: noticeably weaker than it was,
      above all uphill
      Severe: hardly moves
      · Don't know
      · Why do you ask?
      · How do I check it?
      · Work it out from measurements
      · Back / change an answer
      · Ranking so far
      · Stop here
    [Up, Down, Enter; Esc: other actions]
    ");
    terminal.press(DOWN).see("▌ Some");
    terminal.press("\r").see("Question 2").see("Enter takes it");
    insta::assert_snapshot!(talk_on(&terminal), @r"
    Question 1 · at the counter · about
    0.5 min
    Compare it with what the motor did a
    month ago.
    How much power has the motor lost?
    ▪ Answer: Some: noticeably weaker than
              it was, above all uphill
    noted power
    power = Choice(1)

    Question 2 · on the bench supply · about
    2 min
    What current does it draw, unloaded?
    Type a reading, such as 2.4 A.
    ▪ Answer:
    [Enter takes it; Esc: other actions]
    ");
    terminal.press("2.4 A\r");
    assert!(terminal.end().success());
    terminal.see("power = Choice(1)").see("current = Text(\"2.4 A\")");
    terminal.assert_cooked();
}

#[test]
fn a_question_at_two_hundred_columns() {
    let mut terminal = start(200, &[]);
    terminal.see("other actions");
    insta::assert_snapshot!(talk_on(&terminal), @r"
    ── Question 1 · at the counter · about 0.5 min ─────────────────────────────────────────────────────
    Compare it with what the motor did a month ago.
    How much power has the motor lost?
    ▪ Answer:
    ▌ None: full power
      Some: noticeably weaker than it was, above all uphill
      Severe: hardly moves
      · Don't know
      · Why do you ask?
      · How do I check it?
      · Work it out from measurements
      · Back / change an answer
      · Ranking so far
      · Stop here
    [Up, Down, Enter; Esc: other actions]
    ");
    assert!(has_colour(&terminal.raw()));
    terminal.press("\r").see("Question 2").see("Enter takes it");
    // A reading without its unit is refused on the spot, and stays to be mended.
    terminal.press("2.4\r").see("such as 2.4 A.");
    terminal.press(" A\r");
    assert!(terminal.end().success());
    terminal.see("current = Text(\"2.4 A\")");
}

#[test]
fn without_colour_nothing_is_coloured() {
    for (name, value) in [("NO_COLOR", "1"), ("TERM", "dumb")] {
        let mut terminal = start(80, &[(name, value)]);
        terminal.see("How much power");
        terminal.press(CTRL_C);
        terminal.end();
        assert!(!has_colour(&terminal.raw()), "{name}={value}: {:?}", terminal.raw());
    }
}

#[test]
fn plain_terminals_see_no_escape_sequence() {
    for (name, value) in [("TERM", "dumb"), ("TERM", ""), ("ACCESSIBLE", "1"), ("TALK", "line")] {
        let mut terminal = start(40, &[(name, value), ("NO_COLOR", "1")]);
        terminal.see("Answer:");
        // What is typed is echoed at once, so it has to wait for the place where it belongs.
        terminal.press("9\n").see("none of the replies").written("Answer: ", 2);
        terminal.press("sev\n").see("such as 2.4 A").written("Answer: ", 3);
        terminal.press("2.4\n").see("needs its unit").written("Answer: ", 4);
        terminal.press("2.4 A\n");
        assert!(terminal.end().success());
        let raw = terminal.raw();
        assert!(raw.contains("power = Choice(2)") && raw.contains("current = Text(\"2.4 A\")"), "{raw}");
        assert!(!raw.contains('\x1b'), "{name}={value}: {raw:?}");
        for line in raw.lines().filter(|l| !l.contains("test")) {
            assert!(line.trim_end().chars().count() <= 40, "{line}");
        }
    }
}

#[test]
fn escape_and_ctrl_d_open_the_other_actions_and_never_answer() {
    for key in [ESC, CTRL_D] {
        let mut terminal = start(80, &[]);
        terminal.see("other actions");
        terminal.press(key).see("Instead of an answer:").see("· Return to the question");
        terminal.press(key).written("Up, Down, Enter; Esc: other actions", 2);
        terminal.press("\r").see("Question 2").see("Enter takes it");
        terminal.press(key).written("Instead of an answer:", 2).see("· Return to the question");
        terminal.press(&format!("{DOWN}{DOWN}")).see("▌ · How do I check it?");
        terminal.press("\r");
        assert!(terminal.end().success());
        terminal.see("power = Choice(0)").see("current = Side(How)");
    }
}

fn assert_interrupted(mut terminal: Terminal) {
    assert_eq!(terminal.end().exit_code(), 130, "{}", terminal.screen());
    terminal.see("stopped: answers are saved; go on with: commsense triage demo.yaml");
    terminal.assert_cooked();
}

#[test]
fn ctrl_c_leaves_from_everywhere() {
    let mut list = start(80, &[]);
    list.see("other actions");
    list.press(CTRL_C);
    assert_interrupted(list);

    let mut menu = start(80, &[]);
    menu.see("other actions");
    menu.press(ESC).see("Return to the question");
    menu.press(CTRL_C);
    assert_interrupted(menu);

    let mut entry = start(80, &[]);
    entry.see("other actions");
    entry.press("\r").see("Enter takes it");
    entry.press("2.").see("Answer: 2.");
    entry.press(CTRL_C);
    assert_interrupted(entry);

    let mut line = start(80, &[("TERM", "dumb")]);
    line.see("Answer:");
    line.press(CTRL_C);
    assert_interrupted(line);
}

#[test]
fn signals_leave_the_terminal_as_it_was() {
    for (signal, number) in [("TERM", 15), ("HUP", 1), ("INT", 2)] {
        let mut terminal = start(80, &[]);
        terminal.see("other actions");
        assert!(terminal.raw().contains("\x1b[?2004h"), "pastes are marked while a prompt is active");
        terminal.signal(signal);
        let status = terminal.end();
        match number {
            2 => assert_eq!(status.exit_code(), 130),
            _ => assert!(status.signal().is_some(), "{signal}: {status:?}"),
        }
        terminal.see("answers are saved");
        terminal.assert_cooked();
    }
}

#[test]
fn a_panic_leaves_the_terminal_as_it_was() {
    let mut terminal = start(80, &[]);
    terminal.see("other actions");
    terminal.press("\r").see("Enter takes it");
    terminal.press("panic\r");
    assert!(!terminal.end().success());
    terminal.assert_cooked();
}

#[test]
fn ctrl_z_does_nothing_in_a_list() {
    let mut terminal = start(80, &[]);
    terminal.see("other actions");
    let before = terminal.screen();
    terminal.press(&format!("{CTRL_Z}z"));
    terminal.press(DOWN).see("▌ Some");
    let after = terminal.screen();
    let unmarked = |screen: &str| screen.replace('▌', " ");
    assert_eq!(unmarked(&before), unmarked(&after));
    terminal.press(CTRL_C);
    terminal.end();
}

#[test]
fn a_paste_answers_one_question_at_most() {
    // A terminal that marks pastes, one that does not, and one where lines are typed.
    let mut marked = start(80, &[]);
    marked.see("other actions");
    marked.press("\x1b[200~one\rtwo\r\x1b[201~");
    marked.press(DOWN).see("▌ Some");
    assert!(!marked.screen().contains("Question 2"));

    let mut unmarked = start(80, &[]);
    unmarked.see("other actions");
    unmarked.press("\r2.4 A\r\r").see("Question 2").see("Enter takes it");
    unmarked.press("7 A\r");
    assert!(unmarked.end().success());
    unmarked.see("current = Text(\"7 A\")");

    let mut lines = start(80, &[("TERM", "dumb")]);
    lines.see("Answer:");
    lines.press("1\n2.4 A\n3\n").see("only the first was taken").see("Question 2");
    lines.press("7 A\n");
    assert!(lines.end().success());
    lines.see("current = Text(\"7 A\")");
}

#[test]
fn what_stands_before_a_question_can_be_read_again() {
    let mut terminal = start(80, &[]);
    terminal.see("other actions");
    terminal.press(ESC).see("· Read again what stands before it");
    terminal.press(&UP.repeat(2)).see("▌ · Read again");
    // Esc does not turn the page; Enter does, and the question stands there again.
    terminal.press("\r").see("[Enter: go on]");
    terminal.press(ESC);
    terminal.press("\r").written("Compare it with", 2).written("How much power", 2);
    terminal.written("Up, Down, Enter; Esc: other actions", 2);
    terminal.press("\r").see("Question 2").see("Enter takes it");
    terminal.press("2.4 A\r");
    assert!(terminal.end().success());
    terminal.see("power = Choice(0)");
}

#[test]
fn a_huge_paste_into_a_field_is_cut_and_takes_one_line() {
    let mut terminal = start(80, &[]);
    terminal.see("other actions");
    terminal.press("\r").see("Enter takes it");
    let before = terminal.screen().lines().count();
    terminal.press(&format!("\x1b[200~{}\x1b[201~", "paste\r".repeat(900)));
    terminal.see("No more than 2000 characters are taken");
    assert_eq!(terminal.screen().lines().count(), before + 1, "{}", terminal.screen());
    assert!(terminal.screen().contains("Question 1"), "nothing scrolled away");
    // Ctrl-U clears the line.
    terminal.press("\x15").see("▪ Answer: \n[Enter takes it");
    terminal.press("\r").see("! Type a reading, such as 2.4 A. Esc shows what else can be done.");
    terminal.press("2.4 A\r");
    assert!(terminal.end().success());
    terminal.see("current = Text(\"2.4 A\")");
    terminal.assert_cooked();
}

#[test]
fn the_end_of_the_input_is_no_answer() {
    let mut terminal = start(80, &[("TERM", "dumb")]);
    terminal.see("Answer:");
    terminal.press(CTRL_D);
    assert_eq!(terminal.end().exit_code(), 1);
    terminal.see("the input ended before the question was answered").see("help: answers are saved");
}

#[test]
fn a_redirected_input_is_never_bypassed() {
    let mut terminal = redirected("< /dev/null");
    assert_eq!(terminal.end().exit_code(), 1);
    terminal.see("nobody can be asked here");
}

#[test]
fn a_captured_result_holds_no_talk() {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let file = folder.path().join("result.txt");
    let mut terminal = redirected(&format!("> '{}'", file.display()));
    terminal.see("other actions");
    terminal.press("\r").see("Enter takes it");
    terminal.press("2.4 A\r");
    assert!(terminal.end().success());
    terminal.see("noted power");
    let result = std::fs::read_to_string(&file).expect("the result is there");
    // The test runner says something of its own before.
    assert!(result.ends_with("power = Choice(0)\ncurrent = Text(\"2.4 A\")\n"), "{result:?}");
    assert!(
        !result.contains("Question") && !result.contains("noted") && !result.contains('\x1b'),
        "{result:?}"
    );
}
