//! The instructor's side: checking a lesson, printing it, and the class report.

use crate::common::program::{Bench, flowing};
use crate::talk::first;

const LESSON: &str = "\
format: commsense/knowledge/1
lessons:
  - id: old-tram
    title: \"The old tram\"
    topic: brushes
    level: 2
    motor: heron-540-3
    faults: [brush-worn]
    history: {hours-since-service: many, can-construction: screwed}
    story: [\"It has become slow.\"]
    told: {power-loss: some}
    shows: {brush-length: \"4.1 mm\", heavy-sparking: some}
    calm: true
    hint: \"Measure what wears.\"
    traps: [{scope: replace, why: \"Too dear.\"}]
    teaches: [\"Measure first.\"]
    cautions: [springs-fly]
";

#[test]
fn a_lesson_is_checked_and_taken_by_the_expert() {
    let bench = Bench::new();
    bench.write("tram.yaml", LESSON);
    let done = bench.run(&["drill", "check", "tram.yaml"]);
    assert_eq!((done.code, done.stdout.as_str()), (Some(0), ""), "{}", done.stderr);
    let said = flowing(&done.stderr);
    assert!(said.contains("`old-tram`: the expert names Worn-out brushes"), "{said}");
    assert!(said.contains("tram.yaml: no problems"), "{said}");
}

#[test]
fn a_lesson_that_shows_nothing_is_said_to_be_too_hard() {
    let bench = Bench::new();
    // Everything that would betray it is as it should be.
    let hidden = LESSON.replace(
        "shows: {brush-length: \"4.1 mm\", heavy-sparking: some}",
        "shows: {brush-length: good, heavy-sparking: no, spring-force-low: no, bench-run: normal}",
    );
    bench.write("tram.yaml", hidden);
    let done = bench.run(&["drill", "check", "tram.yaml"]);
    assert!(
        flowing(&done.stderr).contains("What the expert does not find out, no trainee can."),
        "{}",
        done.stderr
    );
}

/// Every mistake is found where it stands.
#[test]
fn mistakes_in_lessons_are_found_with_line_and_column() {
    let bench = Bench::new();
    for (from, to, at, wanted) in [
        ("topic: brushes", "topic: brushs", "5:12", "no topic has the id `brushs`"),
        ("level: 2", "level: 9", "6:12", "the level is 9"),
        ("motor: heron-540-3", "motor: heron", "7:12", "no motor has the id `heron`"),
        ("[brush-worn]", "[brush-wom]", "8:14", "no fault has the id `brush-wom`"),
        ("hours-since-service: many", "hours-since-service: lots", "9:36", "has no state `lots`"),
        ("hours-since-service: many", "power-loss: some", "9:15", "no factor has the id `power-loss`"),
        (
            "told: {power-loss: some}",
            "told: {power-los: some}",
            "11:12",
            "no question has the id `power-los`",
        ),
        ("\"4.1 mm\"", "\"4.1 A\"", "12:27", "a length"),
        ("heavy-sparking: some", "hours-since-service: few", "12:37", "is a factor"),
        ("told: {power-loss: some}", "told: {heavy-sparking: no}", "11:28", "says something else"),
        (
            "scope: replace, why",
            "scope: replace, name: brush-worn, why",
            "15:",
            "a trap is one act; here are 2",
        ),
        ("scope: replace, why", "scope: replac, why", "15:21", "no scope has the id `replac`"),
        ("[springs-fly]", "[springs]", "17:16", "no caution has the id `springs`"),
        ("story: [\"It has become slow.\"]", "story: []", "3:9", "the story is missing"),
        ("calm: true", "clam: true", "13:5", "unknown key `clam`"),
    ] {
        let text = LESSON.replace(from, to);
        assert_ne!(text, LESSON, "{from}");
        bench.write("tram.yaml", &text);
        let done = bench.run(&["drill", "check", "tram.yaml"]);
        assert_eq!(done.code, Some(1), "{to}: {}{}", done.stdout, done.stderr);
        assert!(
            done.stdout.contains(&format!("tram.yaml:{at}")) && done.stdout.contains(wanted),
            "{to}: {}",
            done.stdout
        );
    }
}

/// What would be right stands behind what is wrong, and nothing hides anything else.
#[test]
fn every_mistake_is_told_with_what_would_be_right() {
    let bench = Bench::new();
    for (from, to, wanted) in [
        ("topic: brushes", "topic: brush", "Did you mean `brushes`?"),
        ("level: 2", "level: 9", "Write a level from 1 to 5."),
        ("[brush-worn]", "[brush-wron]", "Did you mean `brush-worn`?"),
        ("scope: replace, why", "scope: replac, why", "Did you mean `replace`?"),
        ("power-loss: some", "power-loss: sme", "Did you mean `some`?"),
        ("calm: true", "clam: true", "Did you mean `calm`?"),
        (
            "\"4.1 mm\"",
            "\"900 mm\"",
            "`900 mm` is absurd for `brush-length` - It lies between 0.5 mm and 25 mm",
        ),
        ("\"4.1 mm\"", "\"-3 mm\"", "`-3 mm` is absurd"),
        ("    faults: [brush-worn]\n", "", "the key `faults` is missing - Write the ids of what is wrong"),
    ] {
        let text = LESSON.replace(from, to);
        assert_ne!(text, LESSON, "{from}");
        bench.write("tram.yaml", &text);
        let done = bench.run(&["drill", "check", "tram.yaml"]);
        assert_eq!(done.code, Some(1), "{to}: {}{}", done.stdout, done.stderr);
        assert!(done.stdout.contains(wanted), "{to}: {}", done.stdout);
    }
    let five = LESSON
        .replace("level: 2", "level: two")
        .replace("topic: brushes", "topic: brush")
        .replace("calm: true", "calm: maybe")
        .replace("motor: heron-540-3", "motor: 5")
        .replace("power-loss: some", "power-loss: sme")
        .replace("    hint", "    hnt: \"\"\n    hint");
    bench.write("tram.yaml", five);
    let done = bench.run(&["drill", "check", "tram.yaml"]);
    for place in ["5:12", "6:12", "7:12", "11:24", "13:11", "14:5"] {
        assert!(done.stdout.contains(&format!("tram.yaml:{place}: error")), "{place}: {}", done.stdout);
    }
    assert_eq!(done.stdout.lines().count(), 6, "each once: {}", done.stdout);
}

#[test]
fn what_does_not_fit_together_is_told() {
    let bench = Bench::new();
    bench.write("tram.yaml", LESSON.replace("The old tram", "Worn by the years"));
    let done = bench.run(&["drill", "check", "tram.yaml"]);
    assert_eq!(done.code, Some(1));
    assert!(
        done.stdout.contains("tram.yaml:4:12: warning") && done.stdout.contains("`worn`"),
        "{}",
        done.stdout
    );
    let stuck = LESSON.replace("brush-worn", "brush-stuck").replace(
        "brush-length: \"4.1 mm\", heavy-sparking: some",
        "brush-freedom: free, bench-run: dead, no-load-speed: \"9000 rpm\"",
    );
    bench.write("tram.yaml", stuck);
    let said = flowing(&bench.run(&["drill", "check", "tram.yaml"]).stderr);
    assert!(
        said.contains("“Brush freedom: Free over its whole travel” speaks against what is wrong"),
        "{said}"
    );
    assert!(said.contains("`bench-run` is `weak`, not `dead`: a figure of the lesson says so"), "{said}");
}

#[test]
fn where_the_expert_loses_points_is_told() {
    let bench = Bench::new();
    bench.write("tram.yaml", LESSON.replace("{scope: replace, why", "{enter: bench, why"));
    let said = flowing(&bench.run(&["drill", "check", "tram.yaml"]).stderr);
    assert!(said.contains("10 points lost: it fell into the trap") && said.contains("Too dear."), "{said}");
}

#[test]
fn a_file_goes_to_paper_and_is_not_taken() {
    let bench = Bench::new();
    bench.write("tram.yaml", LESSON);
    let paper = bench.run(&["drill", "paper", "tram.yaml", "--answers"]);
    assert_eq!(paper.code, Some(0), "{}", paper.stderr);
    assert!(paper.stdout.contains("The old tram") && paper.stdout.contains("4.1 mm"));
    let said = bench.refusal(&["drill", "take", "tram.yaml"]);
    assert!(flowing(&said).contains("drill take old-tram --knowledge FOLDER"), "{said}");
    assert!(bench.refusal(&["drill", "paper", "gone.yaml"]).contains("can't read `gone.yaml`"));
    bench.write("bad.yaml", LESSON.replace("level: 2", "level: 9"));
    assert!(bench.refusal(&["drill", "paper", "bad.yaml"]).contains("drill check bad.yaml"));
}

#[test]
fn lessons_of_ones_own_stand_in_the_class_report() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("own")).expect("a folder can be made");
    bench.write("own/tram.yaml", LESSON);
    let args = ["drill", "take", "old-tram", "--line", "--trainee", "anna", "--knowledge", "own"];
    let done = bench.talk(&args, &first());
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let of = |args: &[&str]| bench.run(&[args, &["--knowledge", "own"]].concat());
    assert_eq!(of(&["drill", "report", "--html", "class.html"]).code, Some(0));
    let page = bench.read("class.html");
    assert!(page.contains("The old tram") && page.contains("(not in the course)"), "{page}");
    assert!(flowing(&of(&["drill", "report"]).stdout).contains("Not in the course: The old tram: anna"));
    let json = bench.json(&["drill", "report", "--json", "--knowledge", "own"]);
    assert_eq!(json["trainees"][0]["other_lessons"][0]["id"], "old-tram");
    let list = flowing(&of(&["drill", "list", "--trainee", "anna"]).stdout);
    assert!(list.contains("100 passed *") && list.contains("* not in the course"), "{list}");
    let said = bench.refusal(&["drill", "report", "--folder", "nowhere"]);
    assert!(said.contains("there is no folder `nowhere`"), "{said}");
}

#[test]
fn hostile_files_are_refused_without_harm() {
    let bench = Bench::new();
    let deep = format!("format: commsense/knowledge/1\nlessons: {}{}\n", "[".repeat(500), "]".repeat(500));
    let bomb = "format: commsense/knowledge/1\nlessons: &a [*a, *a, *a]\n".to_owned();
    let nul = "format: commsense/knowledge/1\n\0\n".to_owned();
    let twice = format!("{LESSON}    level: 3\n");
    for text in [String::new(), "lessons".into(), "- a\n- b\n".into(), deep, bomb, nul, twice] {
        bench.write("x.yaml", &text);
        let done = bench.run(&["drill", "check", "x.yaml"]);
        assert_eq!(done.code, Some(1), "{text:.60}: {}{}", done.stdout, done.stderr);
        assert!(!done.stderr.contains("panicked"), "{}", done.stderr);
    }
    bench.write("x.yaml", [0xff, 0xfe, 0x00]);
    assert!(bench.refusal(&["drill", "check", "x.yaml"]).contains("not UTF-8"));
    bench.write("x.yaml", vec![b'#'; (1 << 20) + 1]);
    assert!(bench.refusal(&["drill", "check", "x.yaml"]).contains("more than"));
    assert!(bench.refusal(&["drill", "check", "none.yaml"]).contains("can't read `none.yaml`"));
    bench.write("x.yaml", "format: commsense/knowledge/1\nlessons: []\n");
    assert!(bench.refusal(&["drill", "check", "x.yaml"]).contains("no new lesson"));
}

/// A page that stands alone and is sound markup: every element is closed, nothing is loaded.
fn sound(page: &str) -> roxmltree::Document<'_> {
    for word in ["<script", "http://", "https://", "src=", "<link", "<img"] {
        assert!(!page.contains(word), "{word}");
    }
    // HTML's void elements are the only ones without an end.
    let at = page.find("<body").expect("a body");
    let body = &page[at..page.find("</html>").expect("an end")];
    roxmltree::Document::parse(Box::leak(body.replace("<br>", "<br/>").into_boxed_str()))
        .expect("sound markup")
}

#[test]
fn a_lesson_on_paper_hides_what_the_answer_sheet_shows() {
    let bench = Bench::new();
    let paper = bench.run(&["drill", "paper", "squealing-boat"]);
    let sheet = bench.run(&["drill", "paper", "squealing-boat", "--answers"]);
    assert_eq!((paper.code, sheet.code), (Some(0), Some(0)));
    assert!(paper.stdout.starts_with("<!DOCTYPE html>"));
    for page in [&paper.stdout, &sheet.stdout] {
        let page = sound(page);
        let rows = page.descendants().filter(|n| n.has_tag_name("tr")).count();
        assert!(rows > 100, "{rows}");
    }
    for secret in ["3.2 A", "oil is enough", "How an expert"] {
        assert!(!paper.stdout.contains(secret), "{secret}");
        assert!(
            sheet.stdout.contains(secret)
                || secret == "oil is enough" && sheet.stdout.contains("so oil is enough"),
            "{secret}"
        );
    }
    assert!(paper.stdout.contains("Your answer") && paper.stdout.contains("Words you will meet"));
    // What stands on the ticket on the screen, and what can be chosen from there, stands on paper too.
    for words in ["On the ticket: ", "Bearings and magnets: ", "Weak magnets", "Springs fly"] {
        assert!(paper.stdout.contains(words), "{words}");
    }
    // Units keep their capitals.
    assert!(!sheet.stdout.contains(" a;") && sheet.stdout.contains(" A"), "{}", sheet.stdout);
    // The same number is the same motor; another is another.
    assert_eq!(bench.run(&["drill", "paper", "squealing-boat", "--answers"]).stdout, sheet.stdout);
    assert_ne!(
        bench.run(&["drill", "paper", "squealing-boat", "--answers", "--seed", "2"]).stdout,
        sheet.stdout
    );
    assert!(bench.refusal(&["drill", "paper", "squealing-bot"]).contains("Did you mean `squealing-boat`?"));
    let lies = bench.run(&["drill", "paper", "hot-hill-climber", "--answers"]);
    assert!(lies.stdout.contains("not true: He fitted a bigger pinion"));
}

#[test]
fn a_drawn_motor_on_paper_is_the_one_that_is_taken() {
    let bench = Bench::new();
    let args = ["drill", "paper", "--level", "3", "--topic", "winding", "--seed", "7"];
    let paper = bench.run(&args);
    let sheet = bench.run(&[&args[..], &["--answers"]].concat());
    assert_eq!((paper.code, sheet.code), (Some(0), Some(0)), "{}{}", paper.stderr, sheet.stderr);
    for page in [&paper.stdout, &sheet.stdout] {
        assert!(sound(page).descendants().filter(|n| n.has_tag_name("tr")).count() > 100);
        assert!(page.contains("Drawn motor, winding, level 3") && page.contains("motor number 7"));
    }
    for secret in ["<h2>What is wrong", "How an expert", "The work, as it turns out"] {
        assert!(!paper.stdout.contains(secret) && sheet.stdout.contains(secret), "{secret}");
    }
    // The owner says the same on paper as at the bench.
    let taken = bench.talk(&["drill", "--level", "3", "--topic", "winding", "--seed", "7", "--line"], &["q"]);
    let story = paper.stdout.split('“').nth(1).and_then(|s| s.split('”').next()).expect("the owner speaks");
    assert!(flowing(&taken.stderr).contains(story), "{story}");
    assert!(bench.refusal(&["drill", "paper", "--topic", "windings"]).contains("Did you mean `winding`?"));
    assert_eq!(bench.run(&["drill", "paper"]).code, Some(2));
    assert_eq!(bench.run(&["drill", "paper", "tired-truck", "--level", "3"]).code, Some(2));
}

#[test]
fn the_class_report_counts_everybody() {
    let bench = Bench::new();
    let none = bench.run(&["drill", "report"]);
    assert_eq!(none.code, Some(0));
    assert!(none.stdout.contains("No trainee has begun"));
    bench.talk(&["drill", "take", "tired-truck", "--line", "--trainee", "anna"], &first());
    let mut wrong = vec![
        "on",
        "on",
        "name",
        "commutator",
        "commutator-burnt",
        "certain",
        "all",
        "commutator-cut",
        "yes",
        "done",
        "none",
    ];
    wrong.extend(["on"; 20]);
    for _ in 0..2 {
        let done = bench.talk(&["drill", "take", "tired-truck", "--line", "--trainee", "ben"], &wrong);
        assert_eq!(done.code, Some(0), "{}", done.stderr);
        let said = flowing(&done.stderr);
        assert!(said.contains("You take: “Worn-out brushes” for “Burnt commutator”"), "{said}");
    }
    std::fs::write(bench.path("drill/ben/0009-x.yaml"), "nonsense").expect("a file can be written");
    let text = bench.run(&["drill", "report"]);
    assert!(
        flowing(&text.stdout).contains("takes “Worn-out brushes” for “Burnt commutator” (2 times)"),
        "{}",
        text.stdout
    );
    assert!(flowing(&text.stderr).contains("A lesson is left out."));
    std::fs::remove_file(bench.path("drill/ben/0009-x.yaml")).expect("it was there");
    let json = bench.json(&["drill", "report", "--json"]);
    assert_eq!(json["format"], "commsense/class/1");
    let ben = &json["trainees"][1];
    assert_eq!((&ben["trainee"], &ben["ended"]), (&serde_json::json!("ben"), &serde_json::json!(2)));
    assert_eq!(ben["confusions"][0]["there"], "brush-worn");
    assert_eq!(ben["next"]["because"]["named"], "commutator-burnt");
    assert!((ben["brier"].as_f64().expect("a number") - 0.9025).abs() < 1e-9);
    let page = bench.run(&["drill", "report", "--html", "class.html"]);
    assert_eq!((page.code, page.stdout.as_str()), (Some(0), ""));
    let page = bench.read("class.html");
    sound(&page);
    assert!(page.contains("anna") && page.contains("ben") && page.contains("<svg"));
    let said = bench.refusal(&["drill", "report", "--html", "no/such/folder/x.html"]);
    assert!(said.contains("can't write"), "{said}");
}
