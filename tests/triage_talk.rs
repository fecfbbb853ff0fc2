//! A consultation by numbered lines through a pipe, from the first question to the result.

mod common;

use std::io::{BufRead, BufReader, Write};
use std::process::Stdio;

use common::program::{Bench, Done, flowing};
use commsense::case::{Answer, BenchUnits, Case};

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

/// The same with two answers only.
const SHORT: &str = "\
format: commsense/case/1
case: Q-17
motor: heron-540-3
complaint: weak
answers:
  power-loss: severe
  clicking: no
";

/// Talks about a case with this content, and hands back how it ended with the file as it is then.
fn talk(content: &str, lines: &[&str]) -> (Done, String) {
    let bench = Bench::new();
    bench.write("job.yaml", content);
    let done = bench.talk(&["triage", "job.yaml", "--line"], lines);
    let file = bench.read("job.yaml");
    (done, file)
}

/// The questions that were put, in order; a question that was put again counts again.
fn questions(talk: &str) -> Vec<&str> {
    talk.lines()
        .filter_map(|l| Some(l.strip_prefix("── Question ")?.split(' ').next().unwrap_or("")))
        .collect()
}

/// From one piece of text to the next after it.
#[track_caller]
fn between<'t>(text: &'t str, from: &str, to: &str) -> &'t str {
    let rest = text.split_once(from).unwrap_or_else(|| panic!("{from:?} in {text}")).1;
    rest.split_once(to).unwrap_or_else(|| panic!("{to:?} in {rest}")).0
}

/// A case on the bench of which the first question is a plain one: of its look, everything else is answered.
fn plain_first() -> String {
    let k = commsense::knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
    let bench = k.stage_index("bench").expect("there is a bench");
    let early = |id: &str| k.ask(id).and_then(|a| k.stage_index(&a.stage)).is_some_and(|s| s <= bench);
    let mut case = Case { motor: Some("heron-540-3".into()), stage: Some("bench".into()), ..Case::default() };
    let ids = k.factors.iter().map(|f| &f.id).chain(k.observations.iter().map(|o| &o.id));
    for id in ids.filter(|id| early(id) && *id != "timing-mark") {
        let text = if id == "reverse-faster" { "clearly" } else { k.states(id).expect("it has states")[0].0 };
        case.answer(id, Answer::read(&k, id, text).expect("a right answer"));
    }
    commsense::case::file::write(&case, &k).expect("it has a written form")
}

#[test]
fn from_the_motor_to_the_result() {
    let bench = Bench::new();
    let words = "it clicks loudly and has no power";
    let done = bench.talk(&["triage", "Q-18.yaml", "--line"], &["1", words, "1", "q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let said = &done.stderr;
    let order = [
        "Triage · Q-18",
        "Which motor is it?",
        "1  Heron 540-3",
        "What does the owner say",
        "What I heard",
        "Is this what the owner means?",
        "Yes, all of it",
        "█",
        "── Question 1 · ",
    ];
    let mut rest = said.as_str();
    for piece in order {
        rest = rest.split_once(piece).unwrap_or_else(|| panic!("{piece:?} comes in its place: {said}")).1;
    }
    assert!(between(said, "What I heard", "Is this").contains("Clicking: "), "{said}");
    assert!(
        said.ends_with("Saved in Q-18.yaml. Go on at any time with: commsense triage Q-18.yaml\n"),
        "{said}"
    );
    // The result alone stands on standard output.
    assert!(done.stdout.starts_with("── Result · Q-18 "), "{}", done.stdout);
    assert!(!done.stdout.contains("Answer:") && !said.contains("What is likely wrong"));
    let file = bench.read("Q-18.yaml");
    for line in [
        "format: commsense/case/1",
        "case: Q-18",
        "motor: heron-540-3",
        "  clicking: loud",
        "complaint: it clicks",
    ] {
        assert!(file.contains(line), "{line}: {file}");
    }
    // The case file alone gives the same result.
    let again = bench.run(&["triage", "Q-18.yaml"]);
    assert_eq!(again.stdout, done.stdout);
}

#[test]
fn a_caution_is_given_in_full_again_where_it_was_not_minded() {
    let (done, _) = talk(SHORT, &["0", "0", "b", "b", "q"]);
    let said = flowing(&done.stderr);
    // Proposed, put off by going back, and proposed again.
    assert_eq!(said.matches("Next stage · on the bench, closed").count(), 2, "{said}");
    assert_eq!(said.matches("Unplug the pack before you touch a lead.").count(), 2, "{said}");
    assert!(!said.contains("as said above"), "{said}");
    // What was done is not said twice at the same stage.
    let (done, _) = talk(&CASE.replace("complaint", "stage: bench\ncomplaint"), &["0", "0", "0", "q"]);
    let said = flowing(&done.stderr);
    assert_eq!(said.matches("Let the motor cool before you touch it.").count(), 1, "{said}");
    assert!(said.contains("CAUTION: Hot parts, as said above."), "{said}");
}

#[test]
fn answers_are_listed_in_their_own_words() {
    let (done, _) = talk(CASE, &["b", "b", "q"]);
    // A bare “No” would leave open what it says no to.
    assert!(between(&done.stderr, "Answered so far", "Every answer").contains("Clicking: No click"));
    let list = between(&done.stderr, "Which answer do you want to change?", "Answer:");
    assert!(list.contains("Clicking: No click") && list.contains("Loss of power: Severe"), "{list}");
}

#[test]
fn without_a_name_a_new_file_is_made_and_none_is_overwritten() {
    let bench = Bench::new();
    bench.write("case-1.yaml", "mine\n");
    let done = bench.talk(&["triage", "--line"], &["another", "d", "q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(
        done.stderr.ends_with("Saved in case-2.yaml. Go on at any time with: commsense triage case-2.yaml\n")
    );
    assert_eq!(bench.names(), ["case-1.yaml", "case-2.yaml"]);
    assert_eq!(bench.read("case-1.yaml"), "mine\n");
}

#[test]
fn the_beginning_can_be_gone_back_to_and_left() {
    let bench = Bench::new();
    let lines = ["1", "b", "2", "it squeals", "b", "it clicks loudly", "3", "q"];
    let done = bench.talk(&["triage", "a.yaml", "--line"], &lines);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let file = bench.read("a.yaml");
    assert!(file.contains("motor: redshank-540-3") && file.contains("complaint: it clicks loudly"), "{file}");
    assert!(!file.contains("answers"), "none of it was meant: {file}");
    for lines in [&["q"][..], &["1", "q"], &["1", "it clicks", "q"]] {
        let done = bench.talk(&["triage", "b.yaml", "--line"], lines);
        assert_eq!(done.code, Some(0), "{}", done.stderr);
        assert!(questions(&done.stderr).is_empty(), "{}", done.stderr);
        assert!(done.stdout.contains("nothing can be concluded"), "{}", done.stdout);
        std::fs::remove_file(bench.path("b.yaml")).expect("the case was saved");
    }
}

#[test]
fn words_of_the_owner_one_by_one() {
    let bench = Bench::new();
    let words = "squeals, and clicks";
    // Back from the second to the first; back from the first to the whole.
    let lines = ["1", words, "2", "b", "2", "yes", "b", "no", "faint", "q"];
    let done = bench.talk(&["triage", "a.yaml", "--line"], &lines);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let heads: Vec<&str> = done.stderr.lines().filter(|l| l.starts_with("── The owner said")).collect();
    assert_eq!(heads.len(), 5, "{}", done.stderr);
    let file = bench.read("a.yaml");
    assert!(file.contains("  squeal: no\n") && file.contains("  clicking: faint\n"), "{file}");
}

#[test]
fn why_how_ranking_and_unknown_come_back_to_the_same_question() {
    // Of a look, and of a plain question; all that is not known of a look is one reply more.
    let (look, plain) = (CASE.to_string(), plain_first());
    for (case, of, number, unknown) in [
        (&look, "If you see", "Type one or more numbers", 3),
        (&plain, "If the answer is", "Type a number", 1),
    ] {
        let answered = case.lines().filter(|l| l.starts_with("  ")).count();
        let lines = ["?", "h", "r", "perhaps", "d", "0", "q"];
        let lines: Vec<&str> = lines.into_iter().filter(|l| unknown > 1 || *l != "0").collect();
        let (done, file) = talk(case, &lines);
        assert_eq!(done.code, Some(0), "{}", done.stderr);
        let said = &done.stderr;
        let put = questions(said);
        assert!(put.len() >= 4 && put[..4].iter().all(|n| *n == put[0]), "the same question: {put:?}");
        if unknown > 1 {
            assert_eq!(put, ["3", "3", "3", "3", "4"], "two answers stood there before");
        }
        let why = between(said, "Answer: ?", "── Question");
        for piece in ["Why: ", of, "Chance", "then most likely", " %"] {
            assert!(why.contains(piece), "{piece}: {why}");
        }
        assert!(between(said, "Answer: h\n", "── Question").contains("How: "), "{said}");
        let ranking = between(said, "Answer: r\n", "── Question");
        for piece in ["Ranking so far", "█", "Nothing wrong at all: ", "Expected cost", "Cured at once"] {
            assert!(ranking.contains(piece), "{piece}: {ranking}");
        }
        let after = said.split_once("Answer: perhaps\n").expect("it is echoed").1;
        let refused = format!("! “perhaps” is none of the replies. {number} from 1 to ");
        assert!(after.starts_with(&refused), "{after}");
        let all: Vec<&str> = file.lines().filter(|l| l.starts_with("  ")).collect();
        assert_eq!(all.len(), answered + unknown, "{file}");
        assert!(all[answered..].iter().all(|l| l.ends_with(": unknown")), "{file}");
        // What nobody knows moves nothing: no bars come between.
        let next = after.split_once("Answer: d\n").expect("it is echoed").1;
        assert!(!next.split("── ").next().unwrap_or("").contains('█'), "{after}");
    }
}

#[test]
fn an_earlier_answer_can_be_changed_or_taken_back() {
    // The last answer stands first.
    let (done, file) = talk(SHORT, &["b", "2", "1", "none", "q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let list = between(&done.stderr, "Answer: b\n", "Answer: 2\n");
    assert!(list.find("1  Clicking: ") < list.find("2  Loss of power: "), "{list}");
    assert!(file.contains("power-loss: none") && file.contains("clicking: no"), "{file}");
    let moved = done.stderr.rsplit_once("Answer: none\n").expect("it is echoed").1;
    assert!(moved.contains(" %  ↓"), "a change shows what it moved: {moved}");

    let (done, file) = talk(SHORT, &["b", "1", "2", "q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(file.contains("power-loss: severe") && !file.contains("clicking"), "{file}");

    // Turned back at each step, nothing is changed.
    for lines in [&["b", "b", "q"][..], &["b", "1", "b", "q"], &["b", "1", "1", "b", "q"]] {
        let (done, file) = talk(SHORT, lines);
        assert_eq!((done.code, file.as_str()), (Some(0), SHORT), "{lines:?}: {}", done.stderr);
    }
}

#[test]
fn answers_that_hang_on_a_changed_one_go_with_it() {
    let case = format!("{CASE}  water-exposure: submerged\n  after-water-care: left-wet\n");
    let (done, file) = talk(&case, &["b", "2", "1", "none", "q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(file.contains("water-exposure: none"), "{file}");
    assert!(!file.contains("left-wet"), "without water there is no care after it: {file}");
}

#[test]
fn stopping_and_going_on_show_what_was_answered() {
    let bench = Bench::new();
    bench.write("job.yaml", CASE);
    let first = bench.talk(&["triage", "job.yaml", "--line"], &["d", "0", "q"]);
    let second = bench.talk(&["triage", "job.yaml", "--line"], &["q"]);
    assert_eq!((first.code, second.code), (Some(0), Some(0)));
    assert_eq!(questions(&first.stderr), ["3", "4"]);
    assert_eq!(questions(&second.stderr), ["4"], "it goes on where it stopped");
    let put = |talk: &str| talk.rsplit_once("── Question 4 ").expect("the question").1.to_string();
    assert_eq!(put(&first.stderr).split("Answer:").next(), put(&second.stderr).split("Answer:").next());
    let beginning = second.stderr.split("── Question").next().expect("something stands before");
    assert!(
        beginning.contains("Motor: Heron 540-3") && beginning.contains("Complaint: “weak”"),
        "{beginning}"
    );
    let shown = flowing(between(beginning, "Answered so far:", "Every answer"));
    assert!(shown.contains("Loss of power: Severe") && shown.contains("Clicking: "), "{shown}");
    assert_eq!(shown.matches(": ").count(), 9, "all nine answers: {shown}");
    assert_eq!(first.stdout, second.stdout, "nothing new, the same result");
}

#[test]
fn notes_are_kept_and_a_stage_can_wait() {
    let bench = Bench::new();
    bench.write("job.yaml", CASE);
    // Normal answers until a stage is proposed: so many.
    let all = bench.talk(&["triage", "job.yaml", "--line"], &["1"; 40]);
    let (before, _) = all.stderr.split_once("── Next stage · ").expect("a stage is proposed");
    let lines = vec!["1"; before.matches("Answer: 1\n").count()];
    let with = |more: &[&str]| {
        bench.write("job.yaml", CASE);
        let done = bench.talk(&["triage", "job.yaml", "--line"], &[&lines, more].concat());
        (done, bench.read("job.yaml"))
    };
    let (why, _) = with(&["?", "q"]);
    assert!(flowing(&why.stderr).contains("worth asking there:"), "{}", why.stderr);
    let sheet = why.stderr.split("── Next stage · ").nth(1).expect("a stage is proposed");
    let order =
        ["Lost by it: ", "CAUTION: ", "Write down first:", "Then: ", "Go on to this stage?", "1  Yes"];
    let places: Vec<Option<usize>> = order.iter().map(|piece| sheet.find(piece)).collect();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{places:?} in {sheet}");

    let (noted, file) = with(&["red lead on the marked terminal", "gears: 2 mm deep", "1", "q"]);
    assert_eq!(noted.code, Some(0), "{}", noted.stderr);
    assert_eq!(noted.stderr.matches("\nNoted.\n").count(), 2, "{}", noted.stderr);
    assert!(file.contains("stage: bench"), "{file}");
    assert!(
        file.contains("- 'bench: red lead on the marked terminal'\n- 'bench: gears: 2 mm deep'\n"),
        "{file}"
    );

    let (later, file) = with(&["2", "q"]);
    assert_eq!(later.code, Some(0), "{}", later.stderr);
    assert!(!file.contains("stage: bench"), "{file}");
    assert_eq!(
        later.stderr.matches("Next stage · on the bench, closed").count(),
        1,
        "it is not proposed again"
    );
    // The result still says that it would be the next thing to do.
    assert!(later.stdout.contains("Go on to: On the bench, closed."), "{}", later.stdout);
}

#[test]
fn when_nobody_knows_anything_it_ends_and_says_so() {
    let bench = Bench::new();
    // Nobody knows, and nobody wants to open the motor: so long until it ends by itself.
    let mut lines = vec!["another", "d"];
    let mut done = bench.talk(&["triage", "dark.yaml", "--line"], &lines);
    while done.code != Some(0) && lines.len() < 30 {
        let last = done.stderr.rfind("── ").map_or("", |at| &done.stderr[at..]);
        lines.push(match last {
            stage if stage.starts_with("── Next stage") => "2",
            look if look.contains("Which of these could you not check?") => "0",
            _ => "d",
        });
        std::fs::remove_file(bench.path("dark.yaml")).expect("the case was made");
        done = bench.talk(&["triage", "dark.yaml", "--line"], &lines);
    }
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert_eq!(questions(&done.stderr).len(), 6);
    assert!(flowing(&done.stderr).contains("more questions would only cost time"), "{}", done.stderr);
    assert!(done.stdout.contains("nothing can be concluded"), "{}", done.stdout);
    assert!(done.stdout.contains("Worth asking "), "what would tell most: {}", done.stdout);
    // Going on is not ended at once by what nobody knew before.
    let again = bench.talk(&["triage", "dark.yaml", "--line"], &["1", "q"]);
    assert_eq!(again.code, Some(0), "{}", again.stderr);
    assert_eq!(questions(&again.stderr).first(), Some(&"7"), "{}", again.stderr);
    assert!(!flowing(&again.stderr).contains("only cost time"), "{}", again.stderr);
}

#[test]
fn the_end_of_the_input_keeps_what_was_answered() {
    let bench = Bench::new();
    bench.write("the job.yaml", CASE);
    let done = bench.talk(&["triage", "the job.yaml", "--line"], &["d"]);
    assert_eq!((done.code, done.stdout.as_str()), (Some(1), ""));
    assert_eq!(bench.read("the job.yaml"), CASE, "what of the look is not known was not said");
    let done = bench.talk(&["triage", "the job.yaml", "--line"], &["d", "0"]);
    assert_eq!((done.code, done.stdout.as_str()), (Some(1), ""));
    let end = flowing(&done.stderr);
    let wanted = "error: the input ended before the question was answered help: The answers are saved. Go on with: commsense triage 'the job.yaml'";
    assert!(end.ends_with(wanted), "{end}");
    let file = bench.read("the job.yaml");
    assert!(file.starts_with(CASE) && file.lines().count() == CASE.lines().count() + 3, "{file}");
    assert_eq!(file.matches(": unknown").count(), 3, "{file}");
}

#[test]
fn a_sudden_end_loses_nothing() {
    let bench = Bench::new();
    bench.write("job.yaml", CASE);
    let mut child = bench
        .command(&["triage", "job.yaml", "--line"])
        .stdin(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut input = child.stdin.take().expect("a pipe");
    let mut said = BufReader::new(child.stderr.take().expect("a pipe")).split(b' ');
    let mut until = |pieces: &[&str]| {
        for word in said.by_ref() {
            let word = String::from_utf8_lossy(&word.expect("it can be read")).into_owned();
            if let Some(at) = pieces.iter().position(|piece| word.contains(piece)) {
                return at;
            }
        }
        panic!("{pieces:?} does not come");
    };
    let (mut answered, mut lines) = (0, Vec::new());
    while answered < 3 {
        // Questions are answered; a stage in between is entered.
        answered += usize::from(until(&["Question", "Next"]) == 0);
        until(&["Answer:"]);
        input.write_all(b"1\n").expect("it reads");
        lines.push("1");
    }
    // The next thing is put only when the answer before it is on the disk.
    until(&["Question", "Next", "Enough"]);
    child.kill().expect("it can be killed");
    child.wait().expect("it ends");
    let file = bench.read("job.yaml");
    let answers = file.lines().filter(|l| l.starts_with("  ")).count();
    assert!(answers >= CASE.lines().filter(|l| l.starts_with("  ")).count() + 3, "{file}");
    // A talk that comes to its end with the same replies leaves the same answers.
    let (whole, wanted) = talk(CASE, &[&lines[..], &["q"]].concat());
    assert_eq!(whole.code, Some(0), "{}", whole.stderr);
    assert_eq!(file, wanted);
    assert_eq!(bench.names(), ["job.yaml"], "no half-written file is left");
    let again = bench.talk(&["triage", "job.yaml", "--line"], &["q"]);
    assert_eq!(again.code, Some(0), "{}", again.stderr);
    assert!(again.stderr.contains("Answered so far:"), "{}", again.stderr);
    assert!(questions(&again.stderr).iter().all(|n| *n == "6"), "{}", again.stderr);
}

#[test]
fn what_the_flags_say_is_kept_in_a_new_case() {
    let bench = Bench::new();
    let args = [
        "triage",
        "new.yaml",
        "--line",
        "--motor",
        "heron-540-3",
        "--answer",
        "clicking=loud",
        "--stage",
        "bench",
    ];
    let done = bench.talk(&args, &["q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let file = bench.read("new.yaml");
    assert_eq!(
        file,
        "format: commsense/case/1\ncase: new\nmotor: heron-540-3\nstage: bench\nanswers:\n  clicking: loud\n"
    );
}

#[test]
fn own_knowledge_is_named_in_the_command_to_go_on() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("own notes")).expect("a folder can be made");
    bench.write("own notes/own.yaml", "format: commsense/knowledge/1\n");
    let args = ["triage", "a.yaml", "--line", "--knowledge", "own notes"];
    let done = bench.talk(&args, &["another", "d", "q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(
        flowing(&done.stderr).ends_with("commsense triage a.yaml --knowledge 'own notes'"),
        "{}",
        done.stderr
    );
}

#[test]
fn a_wide_or_narrow_page_never_breaks_a_word() {
    let bench = Bench::new();
    for columns in [40, 80, 200] {
        bench.write("job.yaml", CASE);
        let mut command = bench.command(&["triage", "job.yaml", "--line"]);
        command.env("COLUMNS", columns.to_string()).stdin(Stdio::piped());
        let mut child = command.spawn().expect("the program runs");
        let mut input = child.stdin.take().expect("a pipe");
        input.write_all(b"?\nh\nr\n1\n1\nq\n").expect("it reads");
        drop(input);
        let output = child.wait_with_output().expect("it ends");
        assert_eq!(output.status.code(), Some(0));
        let all = String::from_utf8([output.stderr, output.stdout].concat()).expect("UTF-8");
        let widest = columns.min(100);
        for line in all.lines() {
            assert!(commsense::present::text::width(line) <= widest, "{columns}: {line:?}");
        }
        // Long words of the trade stand whole.
        for word in ["Expected", "probable", "commutator", "brushes"] {
            let broken = (3..word.len() - 1).any(|cut| {
                all.contains(&format!("{}\n", &format!(" {}", &word[..cut])))
                    && all.contains(&format!(" {}\n{}", &word[..cut], &word[cut..]))
            });
            assert!(!broken, "{columns}: {word} is broken");
        }
    }
}

#[test]
fn the_result_ends_with_the_upshot() {
    let bench = Bench::new();
    let last = |args: &[&str]| {
        let done = bench.run(&[&["triage"], args].concat());
        assert_eq!(done.code, Some(0), "{}", done.stderr);
        done.stdout.rsplit_once("\nIn short\n").expect("it comes last").1.to_string()
    };
    // One answer settles nothing, and more can be asked.
    let open = last(&["--answer", "power-loss=some"]);
    assert!(open.starts_with("Not settled; most likely: "), "{open}");
    assert!(open.contains("\nWork as it stands: ") && open.contains("\nBut first: "), "{open}");
    // Two faults that are both seen are both named.
    let both = last(&[
        "--answer",
        "brush-length=below-limit",
        "--answer",
        "squeal=yes",
        "--answer",
        "bushing-oil=dry",
    ]);
    let line = both.lines().next().expect("a line");
    assert!(
        line.starts_with("Most likely: ")
            && line.contains("Worn-out brushes (")
            && line.contains("Dry bearing ("),
        "{line}"
    );
}

#[test]
fn work_that_can_not_be_done_is_named_with_its_reason_once() {
    let bench = Bench::new();
    let done = bench.run(&["triage", "--motor", "pipit-370-3", "--answer", "power-loss=severe"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let result = flowing(&done.stdout);
    let out = between(&result, "! Out of the question: ", " The work, step by step");
    assert!(out.contains("Full rebuild") && out.contains("Brush service"), "{out}");
    assert_eq!(out.matches("can't be opened").count(), 1, "{out}");
    // The part costs what this motor costs.
    let motor = commsense::knowledge::builtin(&commsense::case::BenchUnits).expect("sound");
    let price = motor.motor("pipit-370-3").expect("it is known").replace_cost;
    if result.contains("Fit another motor") {
        assert!(result.contains(&format!("motor of the same type ({price})")), "{result}");
    }
}

#[test]
fn of_a_look_several_things_are_chosen_none_or_what_is_not_known() {
    let answers = |file: &str| -> Vec<String> {
        let added = file.strip_prefix(CASE).unwrap_or_else(|| panic!("it begins as before: {file}"));
        added.lines().map(|l| l.trim().to_string()).collect()
    };
    for (lines, wanted) in [
        (&["1 5", "q"][..], ["runs-hot: hot", "heavy-sparking: no", "burnt-smell: yes"]),
        (&["4, 2", "q"], ["runs-hot: too-hot", "heavy-sparking: heavy", "burnt-smell: no"]),
        (&["0", "q"], ["runs-hot: no", "heavy-sparking: no", "burnt-smell: no"]),
        (&["", "q"], ["runs-hot: no", "heavy-sparking: no", "burnt-smell: no"]),
        // Nothing is known of it; or of one thing alone; what was seen stays.
        (&["d", "0", "q"], ["runs-hot: unknown", "heavy-sparking: unknown", "burnt-smell: unknown"]),
        (&["d", "2", "q"], ["runs-hot: no", "heavy-sparking: unknown", "burnt-smell: no"]),
        (&["3 d", "2", "q"], ["runs-hot: no", "heavy-sparking: some", "burnt-smell: unknown"]),
        (&["1 3 d", "q"], ["runs-hot: hot", "heavy-sparking: some", "burnt-smell: unknown"]),
        // Turned back, or two things that can't both be: it is asked again.
        (&["d", "b", "5", "q"], ["runs-hot: no", "heavy-sparking: no", "burnt-smell: yes"]),
        (&["1 2", "2", "q"], ["runs-hot: too-hot", "heavy-sparking: no", "burnt-smell: no"]),
    ] {
        let (done, file) = talk(CASE, lines);
        assert_eq!(done.code, Some(0), "{lines:?}: {}", done.stderr);
        assert_eq!(answers(&file), wanted, "{lines:?}");
        assert_eq!(done.stderr.contains("can’t both be so"), lines[0] == "1 2", "{}", done.stderr);
    }
}

/// A motor on which nothing was found. What is as good as certain changes nothing, and is not said to.
#[test]
fn what_is_expected_anyway_is_no_change() {
    let bench = Bench::new();
    bench.write("job.yaml", include_str!("cases/nothing-found-yet.yaml"));
    let done = bench.talk(&["triage", "job.yaml", "--line"], &["q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let all = format!("{}{}", done.stderr, done.stdout);
    let changes: Vec<&str> = all.lines().filter(|l| l.contains("  - If “")).collect();
    assert!(!changes.is_empty(), "{all}");
    assert!(!changes.iter().any(|l| l.contains(">99 %")), "{changes:?}");
}

/// What stands open is closed again whatever is done, and the owner pays for that too.
#[test]
fn the_owner_is_told_the_time_to_close_the_motor_too() {
    let bench = Bench::new();
    bench
        .write("job.yaml", CASE.replace("answers:", "stage: end-bell-off\nanswers:\n  brush-length: 3.5 mm"));
    let said = bench.run(&["triage", "job.yaml"]).stdout;
    let minutes = |text: &str| text.trim().split(' ').next().and_then(|n| n.parse::<f64>().ok());
    let told = minutes(between(&said, "of such cases: about ", " of work").trim());
    let rows = between(&said, "Cured at once\n", "Expected cost:");
    let row = rows.lines().next().unwrap_or_default();
    let ahead = row.split("  ").filter(|cell| cell.trim().ends_with(" min")).find_map(minutes);
    let closing: f64 = said
        .lines()
        .filter(|l| l.contains(" · closing up"))
        .filter_map(|l| minutes(l.split(" · ").nth(1)?))
        .sum();
    assert!(closing >= 12.0, "{said}");
    assert_eq!(told, ahead.map(|ahead| ahead + closing), "{said}");
    assert!(flowing(&said).contains(&format!(": {} min of work", told.unwrap_or_default())), "{said}");
}
