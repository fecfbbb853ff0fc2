//! The first three lessons by lines through a pipe, from beginning to end.

use crate::common::program::{Bench, Done, flowing};

/// Going on to a stage: the menu, the stage, what is lost by it, the cautions.
const GO: [&str; 2] = ["yes", "yes"];

/// The ids that a trainee types in the first lesson: hours, a turn by hand, the brushes.
pub fn first() -> Vec<&'static str> {
    let mut lines = vec!["on", "on", "ask", "before", "hours-since-service", "back", "menu"];
    lines.extend(["next", "bench"].into_iter().chain(GO));
    lines.extend(["look", "in-the-hand", "yes", "on", "back"]);
    lines.extend(["next", "brushes-out"].into_iter().chain(GO));
    lines.extend(["look", "brushes-out", "brushes-and-hoods", "yes", "on", "back", "back"]);
    lines.extend(["name", "brush-gear", "brush-worn", "certain", "all", "brush-service", "yes"]);
    lines.extend(["springs-fly", "carbon-dust", "done"]);
    lines.extend(["on"; 20]);
    lines
}

fn second() -> Vec<&'static str> {
    let mut lines = vec!["on", "on", "hint"];
    lines.extend([
        "ask",
        "before",
        "after-water-care",
        "back",
        "now",
        "noticed-by-the-owner",
        "yes",
        "on",
        "back",
        "menu",
    ]);
    lines.extend(["next", "bench"].into_iter().chain(GO));
    lines.extend(["look", "in-the-hand", "yes", "on", "outside-of-the-can", "yes", "on"]);
    lines.extend(["ohms-at-the-terminals", "yes", "on"]);
    lines.extend(["back", "next", "powered"].into_iter().chain(GO));
    lines.extend(["look", "powered", "run-on-the-supply", "yes", "on", "back", "back"]);
    lines.extend(["name", "bearings", "bearing-dry", "90 %", "all", "clean", "yes"]);
    lines.extend(["spinning-shaft", "bench-supply", "done"]);
    lines.extend(["on"; 20]);
    lines
}

fn third() -> Vec<&'static str> {
    let mut lines = vec!["on", "on"];
    // A wrong turn first: the end bell off before the mark was read.
    lines.extend(["next", "bench"].into_iter().chain(GO));
    lines.extend(["next", "brushes-out"].into_iter().chain(GO));
    lines.extend(["next", "end-bell-off"].into_iter().chain(GO));
    lines.extend([
        "look",
        "bench",
        "outside-of-the-can",
        "yes",
        "on",
        "back",
        "back",
        "coach",
        "on",
        "known",
        "on",
        "on",
    ]);
    lines.extend(["name", "setting", "timing-reversed", "likely", "all", "adjust", "yes"]);
    lines.extend(["bench-supply", "done"]);
    lines.extend(["on"; 20]);
    lines
}

/// What a person sees and types, with the result at the end.
fn transcript(done: &Done) -> String {
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    format!("{}\n{}", done.stderr, done.stdout)
}

fn take(lesson: &str, lines: &[&str]) -> (Bench, String) {
    let bench = Bench::new();
    let done = bench.talk(&["drill", "take", lesson, "--line"], lines);
    let transcript = transcript(&done);
    (bench, transcript)
}

/// A page of the debriefing tells why: the cause, its signs, the cure, and the reason for the order.
fn tells_why(talk: &str) -> bool {
    let page = talk.split("── Why ──").nth(1).unwrap_or_default();
    let page = page.split("Read on?").next().unwrap_or_default();
    ["The cause: ", "The signs: ", "The cure: ", "The order: "].iter().all(|part| page.contains(part))
}

#[test]
fn the_tired_truck() {
    let (bench, talk) = take("tired-truck", &first());
    assert!(
        talk.contains("Brush length: 3.9 mm · below the limit (as it should be: at least 5.6 mm)"),
        "{talk}"
    );
    assert!(tells_why(&talk));
    let enough = ["Your evidence was enough", "No single thing that you left out would have told much more"];
    assert!(enough.iter().any(|words| flowing(&talk).contains(words)), "{talk}");
    assert!(talk.contains("passed.") && talk.contains("Next: The squealing boat."));
    // A look is one act, and no other act is taken down than was done.
    let kept = bench.read("drill/trainee/0001-tired-truck.yaml");
    let acts: Vec<&str> =
        kept.lines().filter(|l| l.starts_with("- look:") || l.starts_with("- enter:")).collect();
    let wanted = [
        "- look: hours-since-service",
        "- enter: bench",
        "- look: in-the-hand",
        "- enter: brushes-out",
        "- look: brushes-and-hoods",
    ];
    assert_eq!(acts, wanted);
    assert!(kept.contains("passed: true") && kept.contains("support: 0.9"), "{kept}");
}

#[test]
fn the_squealing_boat() {
    let (_, talk) = take("squealing-boat", &second());
    assert!(talk.contains("passed.") && tells_why(&talk), "{talk}");
    // The cautions come before the act, each in full once.
    let read = talk.find("No-load current: 3.2 A").expect("it is read");
    for caution in ["CAUTION: Bench supply.", "CAUTION: Spinning shaft.", "CAUTION: Never power"] {
        assert!(talk.find(caution).is_some_and(|at| at < read), "{caution}");
    }
    assert!(
        flowing(&talk)
            .contains("No-load current: 3.2 A · high (as it should be: 1.1 A to 2.2 A; its data say 1.6 A)"),
        "{talk}"
    );
}

#[test]
fn faster_backwards() {
    let (_, talk) = take("faster-backwards", &third());
    let talk = flowing(&talk);
    let late = talk.split_once("Too late for: ").expect("some of it is gone").1;
    let late = late.split_once("A later stage has wiped it out.").expect("it says why").0;
    assert!(late.contains("Timing mark") && late.contains("End bell screws"), "{late}");
    assert!(
        talk.contains("Your last turn: “The motor from outside”: it took 2.5 min, and told little"),
        "{talk}"
    );
    assert!(talk.contains("Trap: “End bell off”."));
}

/// Whoever names the fault without a look has guessed: the mark is high, and the lesson is not passed.
#[test]
fn a_lucky_guess_does_not_pass() {
    let mut lines =
        vec!["on", "on", "name", "brush-gear", "brush-worn", "certain", "all", "brush-service", "yes"];
    lines.extend(["springs-fly", "carbon-dust", "done"]);
    lines.extend(["on"; 20]);
    let (bench, talk) = take("tired-truck", &lines);
    let talk = flowing(&talk);
    assert!(talk.contains("Right, but your evidence supported only"), "{talk}");
    assert!(talk.contains("not passed yet (your evidence supported only"), "{talk}");
    assert!(talk.contains("Next: The tired truck"), "{talk}");
    assert!(bench.read("drill/trainee/0001-tired-truck.yaml").contains("passed: false"));
}

/// What was named can be taken back, and whoever names no caution is asked again and does not pass.
#[test]
fn a_fault_is_taken_back_and_no_caution_is_no_pass() {
    let mut lines = first();
    let name = lines.iter().position(|l| *l == "name").expect("it is named");
    lines.truncate(name);
    lines.extend(["name", "bearings", "bearing-dry", "5 %", "bearings", "bearing-dry", "back"]);
    lines.extend(["brush-gear", "brush-worn", "likely", "bearings", "bearing-worn", "0 %"]);
    lines.extend(["all", "brush-service", "yes", "done", "no", "done", "none"]);
    lines.extend(["on"; 20]);
    let (bench, talk) = take("tired-truck", &lines);
    let talk = flowing(&talk);
    assert!(talk.contains("Named so far: Dry bearing 5 %"), "{talk}");
    assert!(talk.contains("Taken back: Dry bearing is not named any more."), "{talk}");
    assert!(
        talk.contains("Bearings · named: Dry bearing") && talk.contains("Worn-out brushes: fit new brushes")
    );
    assert!(talk.contains("You named none of the cautions of this work."), "{talk}");
    assert!(talk.contains("not passed yet (no caution was named)"), "{talk}");
    let kept = bench.read("drill/trainee/0001-tired-truck.yaml");
    assert!(kept.contains("brush-worn: 0.75") && !kept.contains("bearing"), "{kept}");
}

/// What was answered is read again without an act; a gate that was not asked is a risk.
#[test]
fn asked_again_is_no_act_and_unasked_is_a_risk() {
    let mut lines = vec!["on", "on", "ask", "before", "hours-since-service", "hours-since-service"];
    lines.extend(["back", "menu", "next", "bench", "yes", "yes", "next", "powered", "yes", "yes", "q"]);
    let (bench, talk) = take("tired-truck", &lines);
    let talk = flowing(&talk);
    assert!(talk.contains("Again: Many, as before."), "{talk}");
    assert!(talk.contains("A risk taken: you went on without finding out first: Rotation by hand"), "{talk}");
    assert!(talk.contains("On the bench supply · 5.4 min so far · 1 risk taken"), "{talk}");
    let kept = bench.read("drill/trainee/0001-tired-truck.yaml");
    assert_eq!(kept.matches("- look: hours-since-service").count(), 1, "{kept}");
}

/// No screen of any talk is longer than a small terminal, and no line wider.
#[test]
fn every_screen_fits_eighty_by_twenty_four() {
    for (lesson, lines) in
        [("tired-truck", first()), ("squealing-boat", second()), ("faster-backwards", third())]
    {
        let (_, talk) = take(lesson, &lines);
        for screen in talk.split("Answer: ") {
            // The first line is what was typed on the screen before.
            let lines: Vec<&str> = screen.lines().skip(1).collect();
            assert!(lines.len() <= 23, "{} lines:\n{screen}", lines.len());
            for line in lines {
                assert!(commsense::present::text::width(line) <= 80, "{line}");
            }
        }
    }
}

#[test]
fn the_hand_is_stopped_and_the_trap_is_told() {
    let mut lines = vec!["on", "on"];
    lines.extend(["next", "bench", "yes", "yes", "next", "powered", "yes", "yes"]);
    lines.extend(["name", "healthy", "replace", "yes", "done", "none"]);
    lines.extend(["on"; 20]);
    let (_, talk) = take("after-the-pond", &lines);
    let talk = flowing(&talk);
    assert!(talk.contains("STOP: A wet motor must not be powered"), "{talk}");
    assert!(talk.contains("On the bench, closed · 3 min so far · 1 risk taken"));
    assert!(talk.contains("Risk taken: Stage: on the bench supply. A wet motor must not be powered"));
    assert!(talk.contains("Trap: “On the bench supply”."));
    assert!(talk.contains("You did not name: Corroded commutator."));
    assert!(talk.contains("not passed yet."));
}

#[test]
fn stopped_and_taken_up_again() {
    let bench = Bench::new();
    let begun = bench.talk(
        &["drill", "take", "--line", "--trainee", "anna"],
        &["on", "on", "ask", "before", "hours-since-service", "q"],
    );
    assert_eq!(begun.code, Some(0));
    assert!(
        flowing(&begun.stderr).contains("Saved. Go on with: commsense drill take tired-truck --trainee anna")
    );
    let course = bench.run(&["drill", "--trainee", "anna"]);
    assert!(
        flowing(&course.stdout)
            .contains("Begun: The tired truck. Go on with: commsense drill take --trainee anna")
    );
    // One page in the place of the two with which a lesson begins.
    let again = &first()[1..];
    let done = bench.talk(&["drill", "take", "--line", "--trainee", "anna"], again);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert!(
        flowing(&done.stderr).contains("Going on where you stopped: 1 act, At the counter · 0.4 min so far.")
    );
    assert!(flowing(&done.stderr).contains("Again: Many, as before."));
    assert_eq!(bench.names(), ["drill"]);
    // The input ended before the lesson did: nothing is lost, and it is no success.
    let broken = bench.talk(&["drill", "take", "--line", "--trainee", "anna"], &["on", "on", "hint"]);
    assert_eq!(broken.code, Some(1));
    assert!(broken.stderr.contains("the input ended before the question was answered"));
    assert!(bench.read("drill/anna/0002-squealing-boat.yaml").contains("help: hint"));
}

#[test]
fn a_motor_drawn_at_will_is_the_same_for_the_same_number() {
    let draw = |seed: &str| {
        let bench = Bench::new();
        let args = ["drill", "--level", "3", "--topic", "winding", "--seed", seed, "--line"];
        let done = bench.talk(&args, &["on", "hint", "q"]);
        assert_eq!(done.code, Some(0), "{}", done.stderr);
        done.stderr
    };
    assert_eq!(draw("7"), draw("7"));
    assert_ne!(draw("7"), draw("8"));
    assert!(draw("7").contains("Drawn motor, winding, level 3"));
}

#[test]
fn what_is_asked_for_has_to_exist() {
    let bench = Bench::new();
    let said = bench.refusal(&["drill", "take", "tired-trukc", "--line"]);
    assert!(
        said.contains("there is no lesson `tired-trukc`") && said.contains("Did you mean `tired-truck`?")
    );
    let said = bench.refusal(&["drill", "--topic", "windings"]);
    assert!(said.contains("Did you mean `winding`?"), "{said}");
    let said = bench.refusal(&["drill", "list", "--trainee", "../x"]);
    assert!(said.contains("is no name for a trainee"), "{said}");
    let said = bench.refusal(&["drill", "take"]);
    assert!(said.contains("there is nobody to take the lesson") && said.contains("--line"), "{said}");
    assert_eq!(bench.run(&["drill", "--level", "6"]).code, Some(2));
    assert!(bench.names().is_empty(), "nothing is made by a refusal");
    bench.write("drill", "a file");
    let said = bench.refusal(&["drill", "list"]);
    assert!(said.contains("a file stands where a folder should be"), "{said}");
}

#[test]
fn a_record_that_does_not_fit_is_said_and_kept() {
    let bench = Bench::new();
    std::fs::create_dir_all(bench.path("drill/trainee")).expect("folders can be made");
    let head = "format: commsense/drill/1\ntrainee: trainee\nlesson: tired-truck\nseed: 1\n";
    bench.write("drill/trainee/0001-tired-truck.yaml", format!("{head}acts:\n- look: brush-length\n"));
    let said = bench.talk(&["drill", "take", "--line"], &["on"]);
    assert_eq!(said.code, Some(1));
    assert!(
        flowing(&said.stderr).contains("act 1: this can't be had before the stage `brushes-out`"),
        "{}",
        said.stderr
    );
    bench.write("drill/trainee/0001-tired-truck.yaml", "format: commsense/drill/9\n");
    let list = bench.run(&["drill", "list"]);
    assert_eq!(list.code, Some(0));
    assert!(
        flowing(&list.stderr).contains("A lesson is left out.")
            && flowing(&list.stderr).contains("newer than this program")
    );
    assert_eq!(bench.read("drill/trainee/0001-tired-truck.yaml"), "format: commsense/drill/9\n");
}

#[test]
fn lessons_as_a_document() {
    let bench = Bench::new();
    bench.talk(&["drill", "take", "tired-truck", "--line"], &first());
    let list = bench.json(&["drill", "list", "--json"]);
    assert_eq!(list["format"], "commsense/lessons/1");
    let lessons = list["lessons"].as_array().expect("a list");
    assert!(lessons.len() >= 12);
    let own = lessons.iter().find(|l| l["id"] == "tired-truck").expect("it is there");
    assert_eq!((&own["passed"], &own["level"]), (&serde_json::json!(true), &serde_json::json!(1)));
    assert!(own["mark"].as_f64().is_some_and(|m| m > 0.9));
    assert_eq!(list["next"]["lesson"], "squealing-boat");
}

/// Whatever is typed at a prompt of the drill: it is refused in a short sentence, and the lesson goes on.
#[test]
fn nonsense_is_refused_and_the_lesson_goes_on() {
    let long = "x".repeat(10_240);
    for nonsense in ["", &long, "a\x07\x1b[2Jb", "-1", "99999999999999999999", "3.9 kg"] {
        let plain = [
            "on",
            "on",
            "ask",
            "before",
            "hours-since-service",
            "back",
            "menu",
            "next",
            "bench",
            "yes",
            "yes",
        ];
        let last = [
            "name",
            "brush-gear",
            "brush-worn",
            "85 %",
            "all",
            "brush-service",
            "yes",
            "springs-fly",
            "done",
        ];
        // All of it has to fit into a pipe that nobody reads yet.
        let every = if nonsense.len() > 1000 { 5 } else { 1 };
        let mut lines: Vec<&str> = Vec::new();
        for (place, line) in plain.iter().chain(&last).enumerate() {
            lines.extend((place % every == 2 % every).then_some(nonsense));
            lines.push(line);
        }
        lines.extend(["on"; 20]);
        let bench = Bench::new();
        let done = bench.talk(&["drill", "take", "tired-truck", "--line"], &lines);
        assert_eq!(done.code, Some(0), "{nonsense:.20}: {}", done.stderr);
        for line in done.stderr.lines().filter(|l| l.starts_with('!')) {
            assert!(commsense::present::text::width(line) <= 80, "{line}");
            assert!(!line.contains('\x1b'), "{line}");
        }
        let kept = bench.read("drill/trainee/0001-tired-truck.yaml");
        assert!(kept.contains("brush-worn: 0.85") && kept.contains("- look: hours-since-service"), "{kept}");
    }
    // A chance with a wrong unit, or beyond all chances, is asked for again.
    let lines = ["on", "on", "name", "brush-gear", "brush-worn", "85 V", "120 %", "back", "back", "q"];
    let done = Bench::new().talk(&["drill", "take", "tired-truck", "--line"], &lines);
    assert_eq!(done.stderr.matches("Type a chance from 0 to 100 %, such as 85 %, or 0.85.").count(), 2);
}

/// A damaged record is named and left as it is, and does not stand in the way of the next lesson.
#[test]
fn damaged_records_do_not_stand_in_the_way() {
    let bench = Bench::new();
    std::fs::create_dir_all(bench.path("drill/trainee")).expect("folders can be made");
    let head = "format: commsense/drill/1\ntrainee: trainee\nseed: 1\n";
    let damaged = [
        ("0001-a", b"\xff\xfe\x00".to_vec(), "this is not UTF-8 text"),
        (
            "0002-b",
            format!("{head}lesson: tired-truck\nacts: [{{wait: 9999}}]\n").into_bytes(),
            "1 to 120 minutes",
        ),
        (
            "0003-c",
            format!("{head}lesson: tired-truck\nacts: [{{look: [a]}}]\n").into_bytes(),
            "can't be read",
        ),
        (
            "0004-d",
            format!("{head}lesson: no-such-lesson\n").into_bytes(),
            "has no “no-such-lesson” any more",
        ),
        ("0005-e", Vec::new(), "this is no record of a lesson"),
        ("0006-f", vec![b'a'; (1 << 20) + 1], "more than 1048576 bytes"),
    ];
    for (name, bytes, _) in &damaged {
        bench.write(&format!("drill/trainee/{name}.yaml"), bytes);
    }
    let done = bench.talk(&["drill", "take", "--line"], &["on", "on", "q"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let said = flowing(&done.stderr);
    for (name, bytes, why) in &damaged {
        assert!(said.contains(&format!("{name}.yaml: ")) && said.contains(why), "{name}: {said}");
        let path = bench.path(&format!("drill/trainee/{name}.yaml"));
        assert_eq!(&std::fs::read(path).expect("it is still there"), bytes, "{name}");
    }
    assert!(said.contains("Saved. Go on with: commsense drill take tired-truck"), "{said}");
}
