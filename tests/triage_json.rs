//! `triage --json`: what other programs may rely on.

mod common;
#[path = "inference_support/mod.rs"]
mod support;

use std::collections::BTreeSet;
use std::path::Path;

use common::Terminal;
use common::program::{Bench, PROGRAM};
use commsense::case::BenchUnits;
use commsense::inference::{Engine, Limits, weights_of_evidence_for};
use commsense::knowledge::{self, Knowledge};
use commsense::network::{BeliefNet, Evidence, Export, Parent};
use serde_json::{Value, json};

const CASE: &str = "\
format: commsense/case/1
case: Q-17
motor: heron-540-3
complaint: weak since it got wet
stage: powered
answers:
  water-exposure: submerged
  power-loss: severe
  clicking: unknown
  brush-length: 5.1 mm
  no-load-current: 3.1 A
";

fn list<'v>(value: &'v Value, key: &str) -> &'v Vec<Value> {
    value[key].as_array().unwrap_or_else(|| panic!("`{key}` is a list"))
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("a number, not {value}"))
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_else(|| panic!("a text, not {value}"))
}

/// The keys of an object, in their order.
fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap_or_else(|| panic!("an object, not {value}")).keys().map(String::as_str).collect()
}

fn ids<'v>(value: &'v Value, key: &str) -> Vec<&'v str> {
    list(value, key).iter().map(|row| text(&row["id"])).collect()
}

/// All questions that a document asks next, those that a look answers with another among them.
fn asked(document: &Value) -> Vec<&str> {
    let mut out = Vec::new();
    for row in list(document, "next") {
        out.push(text(&row["id"]));
        out.extend(row["with"].as_array().into_iter().flatten().map(text));
    }
    out
}

fn knowledge() -> Knowledge {
    knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound")
}

/// The network as `knowledge export` prints it.
fn exported(bench: &Bench) -> BeliefNet {
    let export: Export = serde_json::from_value(bench.json(&["knowledge", "export"])).expect("an export");
    BeliefNet::from_export(&export).expect("a sound network")
}

/// The answers of a document as evidence for a network, by what the document itself says of them.
fn evidence(net: &BeliefNet, knowledge: &Knowledge, document: &Value) -> Evidence {
    let mut evidence = Evidence::none(net);
    let mut weigh = |id: &str, weights: &dyn Fn(&str) -> f64| {
        let of = |states: &[String]| Some(states.iter().map(|s| weights(s)).collect());
        if let Some(i) = net.factors.iter().position(|f| f.id == id) {
            evidence.factors[i] = of(&net.factors[i].states);
        } else {
            let i = net.observations.iter().position(|o| o.id == id).expect("a known id");
            evidence.observations[i] = of(&net.observations[i].states);
        }
    };
    for row in list(document, "answers") {
        let id = text(&row["id"]);
        match (row["state"].as_str(), row["bands"].as_object()) {
            (Some("unknown"), _) => {}
            (Some(state), _) => weigh(id, &|s| f64::from(u8::from(s == state))),
            (None, Some(bands)) => {
                let reading = knowledge.reading(id).expect("only readings have bands");
                for band in &reading.bands {
                    let key = |state: &str| match reading.bands.len() {
                        1 => state.to_string(),
                        _ => format!("{}:{state}", band.observation),
                    };
                    weigh(&band.observation, &|s| number(&bands[&key(s)]));
                }
            }
            (None, None) => {}
        }
    }
    evidence
}

#[test]
fn every_key_is_there_with_its_type() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let document = bench.json(&["triage", "q.yaml", "--json"]);
    assert_eq!(
        keys(&document),
        [
            "format",
            "motor",
            "stage",
            "answers",
            "faults",
            "healthy",
            "log10_evidence",
            "conflict",
            "evidence",
            "next",
            "scopes",
            "repairs",
            "cautions",
            "warnings"
        ]
    );
    assert_eq!(document["format"], "commsense/triage/1");
    assert_eq!((&document["motor"], &document["stage"]), (&json!("heron-540-3"), &json!("powered")));
    for key in ["healthy", "log10_evidence", "conflict"] {
        assert!(number(&document[key]).is_finite());
    }
    for (key, wanted) in [
        ("faults", &["id", "name", "probability", "prior"][..]),
        ("evidence", &["fault", "answer", "decibans"]),
        ("next", &["id", "question", "stage", "minutes", "worth"]),
        ("scopes", &["id", "expected_cost", "minutes", "parts", "success", "blocked"]),
        ("cautions", &["id", "before", "text"]),
    ] {
        assert!(!list(&document, key).is_empty(), "{key}");
        for row in list(&document, key) {
            // A question that a look answers names the look, and what else the look answers.
            let look: &[&str] = if row.get("look").is_some() { &["look", "with"] } else { &[] };
            assert!(look.is_empty() || key == "next", "{key}: {row}");
            assert_eq!(keys(row), [wanted, look].concat(), "{key}");
            for (name, value) in row.as_object().expect("an object") {
                match name.as_str() {
                    "probability" | "prior" | "decibans" | "minutes" | "worth" | "expected_cost"
                    | "parts" | "success" => assert!(number(value).is_finite()),
                    "with" => {
                        let with = list(row, "with");
                        assert!(!with.is_empty() && with.iter().all(|id| !text(id).is_empty()), "{row}");
                    }
                    "blocked" => assert!(value.is_null() || value.is_string()),
                    _ => assert!(!text(value).is_empty(), "{key}: {row}"),
                }
            }
        }
    }
    for repair in list(&document, "repairs") {
        assert!(knowledge().repair(text(repair)).is_some());
    }
}

#[test]
fn answers_stand_as_they_were_given() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let document = bench.json(&["triage", "q.yaml", "--json"]);
    let answers = list(&document, "answers");
    assert_eq!(answers[0], json!({"id": "water-exposure", "state": "submerged"}));
    assert_eq!(answers[1], json!({"id": "power-loss", "state": "severe"}));
    assert_eq!(answers[2], json!({"id": "clicking", "state": "unknown"}));
    assert_eq!(keys(&answers[3]), ["id", "reading", "bands"]);
    assert_eq!((&answers[3]["id"], &answers[3]["reading"]), (&json!("brush-length"), &json!("5.1 mm")));
    // 5.1 mm lies between the edges of 5.0 and 5.6 mm, one deviation or so above the lower.
    let bands = &answers[3]["bands"];
    assert_eq!(keys(bands), ["good", "near-limit", "below-limit"]);
    assert!(number(&bands["near-limit"]) > 0.5 && number(&bands["below-limit"]) > 0.01, "{bands}");

    // 3.1 A over 2.0 A is 1.55 with a deviation of 5 %: the edge at 1.4 is 1.94 deviations away. One reading
    // speaks of two observations, and each of them gets a whole distribution.
    let bands = &answers[4]["bands"];
    let wanted = [
        ("no-load-current-high:no", 0.026_5),
        ("no-load-current-high:high", 0.973_5),
        ("no-load-current-high:very-high", 0.0),
        ("no-load-current-low:no", 1.0),
        ("no-load-current-low:low", 0.0),
        ("no-load-current-low:none", 0.0),
    ];
    assert_eq!(keys(bands), wanted.map(|(key, _)| key));
    for (key, weight) in wanted {
        support::close(key, number(&bands[key]), weight, 1e-4);
    }
}

#[test]
fn a_reading_without_its_motor_says_nothing_and_that_is_said() {
    let bench = Bench::new();
    let args = ["triage", "--json", "--answer", "no-load-current=3.1 A", "--answer", "end-play=0.8 mm"];
    let document = bench.json(&args);
    assert_eq!(document["motor"], Value::Null);
    assert_eq!(list(&document, "answers")[0], json!({"id": "no-load-current", "reading": "3.1 A"}));
    let bands = list(&document, "answers")[1]["bands"].as_object().expect("end play needs no motor");
    assert!(number(&bands["end-play-large:yes"]) > 0.99 && number(&bands["end-play-none:no"]) > 0.99);
    let [warning] = &list(&document, "warnings")[..] else { panic!("one warning") };
    assert_eq!(keys(warning), ["id", "text"]);
    assert_eq!(warning["id"], "no-load-current");
    assert!(text(&warning["text"]).contains("Name the motor"), "{warning}");
}

#[test]
fn faults_are_all_there_most_probable_first_and_priors_are_those_without_answers() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let document = bench.json(&["triage", "q.yaml", "--json"]);
    let empty = bench.json(&["triage", "--json"]);
    let entries = bench.json(&["knowledge", "list", "faults", "--json"]);
    let known: BTreeSet<&str> = ids(&entries, "entries").into_iter().collect();
    assert!(known.len() >= 40);
    for document in [&document, &empty] {
        let faults = list(document, "faults");
        assert_eq!(faults.len(), known.len());
        assert_eq!(ids(document, "faults").into_iter().collect::<BTreeSet<_>>(), known);
        let chances: Vec<f64> = faults.iter().map(|f| number(&f["probability"])).collect();
        assert!(chances.is_sorted_by(|a, b| a >= b), "most probable first");
        assert!(chances.iter().all(|p| (0.0..=1.0).contains(p)));
    }
    for fault in list(&empty, "faults") {
        assert_eq!(fault["probability"], fault["prior"], "{}", fault["id"]);
        let same = list(&document, "faults").iter().find(|f| f["id"] == fault["id"]).expect("all are there");
        assert_eq!((&same["prior"], &same["name"]), (&fault["prior"], &fault["name"]));
    }
    support::close("log10 of certainty", number(&empty["log10_evidence"]), 0.0, 1e-9);
    support::close("no answers, no conflict", number(&empty["conflict"]), 0.0, 1e-9);
    assert!(list(&empty, "evidence").is_empty());
    assert!(number(&document["log10_evidence"]) < -1.0);
}

#[test]
fn next_is_best_first_and_never_asks_what_was_answered() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let knowledge = knowledge();
    for args in [&["triage", "q.yaml", "--json"][..], &["triage", "--json", "--answer", "clicking=loud"]] {
        let document = bench.json(args);
        let next = list(&document, "next");
        let worth: Vec<f64> = next.iter().map(|n| number(&n["worth"])).collect();
        assert!(worth.iter().all(|w| *w > 0.0), "{worth:?}");
        let answered = ids(&document, "answers");
        for row in next {
            let id = text(&row["id"]);
            let ask = knowledge.ask(id).expect("a question");
            assert!(!answered.contains(&id), "{id}");
            assert_eq!(row["question"], ask.question.as_str(), "{id}");
            assert!(knowledge.stage_index(text(&row["stage"])).is_some(), "{id}");
            assert!(number(&row["minutes"]) > 0.0, "{id}");
            let look = knowledge.looks.iter().find(|l| row["look"] == l.id.as_str());
            assert_eq!(look.is_some(), row.get("look").is_some(), "a look is one that is known: {row}");
            let Some(look) = look else { continue };
            let with = list(row, "with");
            for other in [id].into_iter().chain(with.iter().map(text)) {
                assert!(look.observations.iter().any(|o| o == other), "{other} is no part of {}", look.id);
                assert!(!answered.contains(&other), "{other}");
            }
            assert!(!with.contains(&row["id"]), "{row}");
            assert!(number(&row["minutes"]) <= look.minutes, "{row}");
        }
        let mut once = asked(&document);
        once.sort_unstable();
        assert!(once.windows(2).all(|pair| pair[0] != pair[1]), "each question stands once: {once:?}");
    }
}

#[test]
fn scopes_stand_open_ones_first_by_expected_cost() {
    let bench = Bench::new();
    let entries = bench.json(&["knowledge", "list", "scopes", "--json"]);
    let known: BTreeSet<&str> = ids(&entries, "entries").into_iter().collect();
    let sealed = ["triage", "--json", "--motor", "pipit-370-3", "--answer", "power-loss=severe"];
    let document = bench.json(&sealed);
    assert_eq!(ids(&document, "scopes").into_iter().collect::<BTreeSet<_>>(), known);
    let scopes = list(&document, "scopes");
    let open = scopes.iter().take_while(|s| s["blocked"].is_null()).count();
    assert!(open > 0 && open < scopes.len(), "a motor that can't be opened blocks some scopes: {document}");
    assert!(scopes[open..].iter().all(|s| text(&s["blocked"]).len() > 10), "a reason each");
    for part in [&scopes[..open], &scopes[open..]] {
        let costs: Vec<f64> = part.iter().map(|s| number(&s["expected_cost"])).collect();
        assert!(costs.is_sorted(), "{costs:?}");
    }
    for scope in scopes {
        assert!((0.0..=1.0).contains(&number(&scope["success"])));
        assert!(number(&scope["minutes"]) >= 0.0 && number(&scope["parts"]) >= 0.0);
    }
}

#[test]
fn cautions_come_before_what_is_done_or_asked() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let knowledge = knowledge();
    let document = bench.json(&["triage", "q.yaml", "--json"]);
    let asked = asked(&document);
    let done: Vec<&str> = list(&document, "repairs").iter().map(text).collect();
    for row in list(&document, "cautions") {
        let caution = knowledge.caution(text(&row["id"])).expect("a caution");
        assert_eq!(row["text"], caution.text.as_str());
        let before = text(&row["before"]);
        // Cautions of the way in and back stand before their stage.
        let stage = knowledge.stage_index(before).is_some();
        assert!(asked.contains(&before) || done.contains(&before) || stage, "{before}");
    }
    for id in asked {
        for caution in &knowledge.ask(id).expect("a question").cautions {
            let named = list(&document, "cautions").iter().any(|c| c["id"] == **caution);
            assert!(named, "{caution} for {id}");
        }
    }
    for repair in done {
        let steps = &knowledge.repair(repair).expect("a repair").steps;
        for caution in steps.iter().flat_map(|s| &s.cautions) {
            let named =
                list(&document, "cautions").iter().any(|c| c["id"] == **caution && c["before"] == repair);
            assert!(named, "{caution} before {repair}");
        }
    }
}

#[test]
fn evidence_is_for_as_many_leading_faults_as_wanted_and_names_answers() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let informing = ["water-exposure", "power-loss", "brush-length", "no-load-current"];
    for (args, count) in [(&[][..], 5), (&["--top", "1"], 1), (&["--top", "7"], 7), (&["--top", "999"], 0)] {
        let document = bench.json(&[&["triage", "q.yaml", "--json"], args].concat());
        let leading = ids(&document, "faults");
        let count = if count == 0 { leading.len() } else { count };
        let mut named: Vec<&str> = list(&document, "evidence").iter().map(|e| text(&e["fault"])).collect();
        named.dedup();
        assert_eq!(named, leading[..count], "the leading faults in their order");
        for fault in named {
            let rows = list(&document, "evidence").iter().filter(|e| e["fault"] == fault);
            let of: BTreeSet<&str> = rows.clone().map(|e| text(&e["answer"])).collect();
            assert_eq!(of, BTreeSet::from(informing), "{fault}: every answer that says something");
            assert_eq!(rows.count(), informing.len(), "{fault}: each once");
        }
    }
}

#[test]
fn weights_are_what_the_odds_gain_by_an_answer() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let (net, knowledge) = (exported(&bench), knowledge());
    let document = bench.json(&["triage", "q.yaml", "--json"]);
    let whole = posterior(&net, &evidence(&net, &knowledge, &document));
    for row in list(&document, "evidence") {
        let mut less = document.clone();
        let others = list(&document, "answers").iter().filter(|a| a["id"] != row["answer"]);
        less["answers"] = others.cloned().collect();
        let without = posterior(&net, &evidence(&net, &knowledge, &less));
        let fault = net.faults.iter().position(|f| row["fault"] == f.id).expect("a fault");
        let odds = |p: f64| 10.0 * (p / (1.0 - p)).log10();
        let gain = odds(whole.1[fault]) - odds(without.1[fault]);
        support::close(&row.to_string(), number(&row["decibans"]), gain, 1e-6);
    }
}

/// log10 of the evidence, every fault, and nothing wrong at all.
fn posterior(net: &BeliefNet, evidence: &Evidence) -> (f64, Vec<f64>, f64) {
    let engine = Engine::compile(net, evidence, &Limits::default()).expect("small enough");
    let p = engine.posterior();
    (p.log10_evidence, p.faults.clone(), p.healthy)
}

#[track_caller]
fn assert_parity(net: &BeliefNet, knowledge: &Knowledge, document: &Value) {
    let (log10, faults, healthy) = posterior(net, &evidence(net, knowledge, document));
    support::close("log10 of the evidence", number(&document["log10_evidence"]), log10, 1e-9);
    support::close("healthy", number(&document["healthy"]), healthy, 1e-9);
    for row in list(document, "faults") {
        let fault = net.faults.iter().position(|f| row["id"] == f.id).expect("a fault");
        support::close(text(&row["id"]), number(&row["probability"]), faults[fault], 1e-9);
    }
}

#[test]
fn posteriors_are_those_of_the_exported_network() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let (net, knowledge) = (exported(&bench), knowledge());
    assert_parity(&net, &knowledge, &bench.json(&["triage", "q.yaml", "--json"]));
    let demos = Path::new(env!("CARGO_MANIFEST_DIR")).join("transcripts-demo");
    let folders = std::fs::read_dir(demos).expect("there are demos");
    let cases = folders.map(|f| f.expect("a demo").path().join("case.yaml")).filter(|p| p.exists());
    let mut count = 0;
    for case in cases {
        let case = case.to_str().expect("a plain name").to_string();
        assert_parity(&net, &knowledge, &bench.json(&["triage", &case, "--json"]));
        count += 1;
    }
    assert!(count >= 10);
}

/// Everything that an observation hangs on, as a network of its own, with the index of each fault in the
/// whole; none when plain enumeration of it would take too long.
fn behind(net: &BeliefNet, observation: usize) -> Option<(BeliefNet, Vec<usize>)> {
    let mut faults: BTreeSet<usize> = BTreeSet::new();
    let mut factors: BTreeSet<usize> = BTreeSet::new();
    let mut open: Vec<Parent> = net.observations[observation].causes.iter().map(|(p, _)| *p).collect();
    while let Some(parent) = open.pop() {
        match parent {
            Parent::Factor(f, _) => {
                factors.insert(f);
            }
            Parent::Fault(j) => {
                if faults.insert(j) {
                    open.extend(net.faults[j].causes.iter().map(|(p, _)| *p));
                }
            }
        }
    }
    let roots: usize = factors.iter().map(|&f| net.factors[f].states.len()).product();
    if faults.len() > 14 || roots << faults.len() > 1 << 15 {
        return None;
    }
    let faults: Vec<usize> = faults.into_iter().collect();
    let factors: Vec<usize> = factors.into_iter().collect();
    let moved = |parent: Parent| match parent {
        Parent::Factor(f, s) => Parent::Factor(factors.binary_search(&f).expect("kept"), s),
        Parent::Fault(j) => Parent::Fault(faults.binary_search(&j).expect("kept")),
    };
    let mut part = BeliefNet {
        factors: factors.iter().map(|&f| net.factors[f].clone()).collect(),
        faults: faults.iter().map(|&j| net.faults[j].clone()).collect(),
        observations: vec![net.observations[observation].clone()],
    };
    part.faults.iter_mut().flat_map(|f| &mut f.causes).for_each(|(p, _)| *p = moved(*p));
    part.observations[0].causes.iter_mut().for_each(|(p, _)| *p = moved(*p));
    Some((part, faults))
}

#[test]
fn posteriors_are_those_of_plain_enumeration() {
    let bench = Bench::new();
    let net = exported(&bench);
    let small = (0..net.observations.len()).filter_map(|o| Some((o, behind(&net, o)?)));
    let mut tried = 0;
    for (observation, (part, faults)) in small.take(6) {
        let model = &net.observations[observation];
        let worst = model.states.len() - 1;
        let answer = format!("{}={}", model.id, model.states[worst]);
        let document = bench.json(&["triage", "--json", "--answer", &answer]);
        let mut evidence = Evidence::none(&part);
        evidence.observations[0] = support::plain(model.states.len(), worst);
        let wanted = support::enumerate(&part, &evidence, |_, _| 1.0);
        support::close(&answer, number(&document["log10_evidence"]), wanted.evidence.log10(), 1e-9);
        for (p, &fault) in wanted.faults.iter().zip(&faults) {
            let id = &net.faults[fault].id;
            let row = list(&document, "faults").iter().find(|f| f["id"] == **id).expect("all are there");
            support::close(&format!("{id} given {answer}"), number(&row["probability"]), *p, 1e-9);
        }
        tried += 1;
    }
    assert_eq!(tried, 6, "enough observations hang on little");
}

#[test]
fn the_order_of_answers_makes_no_difference() {
    let bench = Bench::new();
    let answers = [
        "water-exposure: submerged",
        "power-loss: severe",
        "clicking: unknown",
        "brush-length: 5.1 mm",
        "no-load-current: 3.1 A",
        "rust-outside: heavy",
        "rotation-by-hand: gritty",
    ];
    let head = "format: commsense/case/1\nmotor: heron-540-3\nanswers:\n";
    let file = |order: &[&str]| {
        let lines: Vec<String> = order.iter().map(|a| format!("  {a}\n")).collect();
        head.to_string() + &lines.concat()
    };
    let mut backwards = answers;
    backwards.reverse();
    let mut mixed = answers;
    mixed.rotate_left(3);
    mixed.swap(0, 5);
    bench.write("a.yaml", file(&answers)).write("b.yaml", file(&backwards)).write("c.yaml", file(&mixed));
    let [a, b, c] = ["a.yaml", "b.yaml", "c.yaml"].map(|name| {
        let mut document = bench.json(&["triage", name, "--json"]);
        let mut given = ids(&document, "answers").into_iter().map(String::from).collect::<Vec<_>>();
        given.sort();
        document["answers"] = json!(given);
        document
    });
    assert_eq!(a, b);
    assert_eq!(a, c);
}

#[test]
fn the_same_case_gives_the_same_bytes() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let once = bench.run(&["triage", "q.yaml", "--json"]);
    assert_eq!(once.code, Some(0));
    for _ in 0..3 {
        assert_eq!(bench.run(&["triage", "q.yaml", "--json"]), once);
    }
    assert_eq!(bench.read("q.yaml"), CASE, "without a person the case file is left alone");
    assert_eq!(bench.names(), ["q.yaml"]);
}

#[test]
fn flags_lie_over_the_case_file() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let flags = [
        "triage",
        "q.yaml",
        "--json",
        "--motor",
        "redshank-540-3",
        "--stage",
        "brushes-out",
        "--answer",
        "power-loss=none",
        "--answer",
        "clicking = loud",
        "--answer",
        "power-loss=some",
    ];
    let document = bench.json(&flags);
    assert_eq!((&document["motor"], &document["stage"]), (&json!("redshank-540-3"), &json!("brushes-out")));
    let of = |id: &str| {
        let rows: Vec<&Value> = list(&document, "answers").iter().filter(|a| a["id"] == id).collect();
        assert_eq!(rows.len(), 1, "{id} stands once");
        rows[0].clone()
    };
    assert_eq!(of("power-loss")["state"], "some", "the last one counts");
    assert_eq!(of("clicking")["state"], "loud");
    // 3.1 A is low for a motor of 4.5 A, though it was high for the one in the file.
    assert!(number(&of("no-load-current")["bands"]["no-load-current-low:low"]) > 0.5);
    assert_eq!(bench.read("q.yaml"), CASE, "what the flags say is not written into the file");

    // The flags say what a file can say, and nothing else decides.
    let file = bench.json(&["triage", "q.yaml", "--json"]);
    let bare = bench.json(&[
        "triage",
        "--json",
        "--motor",
        "heron-540-3",
        "--stage",
        "powered",
        "--answer",
        "water-exposure=submerged",
        "--answer",
        "power-loss=severe",
        "--answer",
        "clicking=unknown",
        "--answer",
        "brush-length=5.1 mm",
        "--answer",
        "no-load-current=3.1 A",
    ]);
    assert_eq!(file, bare);
}

#[test]
fn unknown_is_no_evidence() {
    let bench = Bench::new();
    let with = bench.json(&["triage", "--json", "--answer", "clicking=loud", "--answer", "squeal=unknown"]);
    let without = bench.json(&["triage", "--json", "--answer", "clicking=loud"]);
    for key in ["faults", "healthy", "log10_evidence", "conflict", "evidence", "scopes", "repairs"] {
        assert_eq!(with[key], without[key], "{key}");
    }
    assert!(!ids(&with, "next").contains(&"squeal"), "what nobody knows is not asked again");
}

#[test]
fn nothing_left_to_ask_is_an_empty_list() {
    let bench = Bench::new();
    let knowledge = knowledge();
    let questions = (knowledge.factors.iter().map(|f| &f.id))
        .chain(knowledge.observations.iter().map(|o| &o.id))
        .chain(knowledge.readings.iter().map(|r| &r.id));
    let unknown: BTreeSet<String> = questions.map(|id| format!("  {id}: unknown\n")).collect();
    let lines: Vec<String> = unknown.into_iter().collect();
    bench.write("dark.yaml", format!("format: commsense/case/1\nanswers:\n{}", lines.concat()));
    let document = bench.json(&["triage", "dark.yaml", "--json"]);
    assert_eq!(document["next"], json!([]));
    for fault in list(&document, "faults") {
        assert_eq!(fault["probability"], fault["prior"]);
    }
}

#[test]
fn warnings_name_the_answer_and_what_to_do() {
    let bench = Bench::new();
    let warnings = |args: &[&str]| {
        let document = bench.json(&[&["triage", "--json"], args].concat());
        let rows = list(&document, "warnings").iter();
        rows.map(|w| (text(&w["id"]).to_string(), text(&w["text"]).to_string())).collect::<Vec<_>>()
    };
    assert_eq!(warnings(&["--answer", "power-loss=severe"]), []);
    let twice = warnings(&[
        "--motor",
        "heron-540-3",
        "--answer",
        "no-load-current=3.1 A",
        "--answer",
        "no-load-current-high=no",
    ]);
    assert_eq!(twice[0].0, "no-load-current-high");
    assert!(twice[0].1.contains("The later answer, `no-load-current-high`, counts"), "{twice:?}");

    // Words alone are no evidence, but they are not lost either.
    bench.write(
        "words.yaml",
        "format: commsense/case/1\ncomplaint: it clicks loudly since it was under water\n",
    );
    let heard = warnings(&["words.yaml"]);
    assert!(heard.iter().any(|(id, _)| id == "clicking"), "{heard:?}");
    assert!(heard.iter().all(|(_, text)| text.contains("not counted until it is answered")), "{heard:?}");

    // Firm answers that hardly go together: the one to look at again is one of them.
    let odd = [
        "--answer",
        "turns-wrong-way=yes",
        "--answer",
        "lead-polarity=right",
        "--answer",
        "turns-backwards=no",
    ];
    let document = bench.json(&[&["triage", "--json"], &odd[..]].concat());
    assert!(number(&document["conflict"]) > 0.3, "{}", document["conflict"]);
    let given = ids(&document, "answers");
    let recheck = list(&document, "warnings").iter().find(|w| text(&w["text"]).contains("Check `"));
    assert!(given.contains(&text(&recheck.expect("a recheck is advised")["id"])));
}

#[test]
fn a_check_again_names_the_answer_and_not_what_was_made_of_it() {
    let bench = Bench::new();
    // The reading is far off what the answers beside it say.
    let document = bench.json(&[
        "triage",
        "--json",
        "--motor",
        "heron-540-3",
        "--answer",
        "no-load-current=0.05 A",
        "--answer",
        "bench-run=normal",
        "--answer",
        "no-load-speed=20000 rpm",
        "--answer",
        "power-loss=none",
    ]);
    let given: BTreeSet<&str> = ids(&document, "answers").into_iter().collect();
    for row in list(&document, "warnings") {
        assert!(given.contains(text(&row["id"])), "{row}");
    }
    for row in list(&document, "evidence") {
        assert!(given.contains(text(&row["answer"])), "{row}");
    }
}

#[test]
fn exit_codes_and_streams() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    for args in [&["triage", "--json"][..], &["triage", "q.yaml", "--json"], &["triage", "q.yaml"]] {
        let done = bench.run(args);
        assert_eq!((done.code, done.stderr.as_str()), (Some(0), ""), "{args:?}");
        assert!(!done.stdout.is_empty());
    }
    for args in [
        &["triage", "nowhere.yaml", "--json"][..],
        &["triage", "--json", "--answer", "power-loss=terrible"],
        &["triage", "--json", "--motor", "heron"],
        &["triage", "--json", "--stage", "opened"],
    ] {
        bench.refusal(args);
    }
    for args in [
        &["triage", "--json", "--top", "0"][..],
        &["triage", "--json", "--top", "-1"],
        &["triage", "--json", "--answers", "x"],
        &["triage", "a.yaml", "b.yaml", "--json"],
        &["triage", "--json", "--answer"],
    ] {
        let done = bench.run(args);
        assert_eq!((done.code, done.stdout.as_str()), (Some(2), ""), "{args:?}");
        assert!(done.stderr.starts_with("error: "), "{args:?}: {}", done.stderr);
    }
}

#[cfg(unix)]
#[test]
fn with_json_nobody_is_asked_even_at_a_terminal() {
    let bench = Bench::new();
    bench.write("q.yaml", CASE);
    let case = bench.path("q.yaml");
    let case = case.to_str().expect("a plain name");
    for args in [&["triage", "--json"][..], &["triage", case, "--json"], &["triage", "--json", "--line"]] {
        let mut terminal = Terminal::start(200, 50, Path::new(PROGRAM), args, &[]);
        assert!(terminal.end().success(), "{args:?}");
        let raw = terminal.raw();
        let document: Value = serde_json::from_str(&raw).expect("the document and nothing else");
        assert_eq!(document["format"], "commsense/triage/1");
        assert!(!raw.contains('\x1b'), "JSON is not coloured");
    }
}

#[test]
fn weights_of_states_are_those_of_the_library() {
    let bench = Bench::new();
    let args = ["triage", "--json", "--answer", "clicking=loud", "--answer", "crash=yes", "--top", "3"];
    let document = bench.json(&args);
    let (net, knowledge) = (exported(&bench), knowledge());
    let leading: Vec<usize> = ids(&document, "faults")[..3]
        .iter()
        .map(|id| net.faults.iter().position(|f| f.id == *id).expect("a fault"))
        .collect();
    let given = evidence(&net, &knowledge, &document);
    let weights = weights_of_evidence_for(&net, &given, &leading, &Limits::default()).expect("small enough");
    let wanted: Vec<(String, f64)> = weights.concat().into_iter().map(|w| (w.answer, w.decibans)).collect();
    let rows = list(&document, "evidence");
    assert_eq!(rows.len(), wanted.len());
    for (row, (answer, decibans)) in rows.iter().zip(wanted) {
        assert_eq!(row["answer"], answer.as_str());
        support::close(&answer, number(&row["decibans"]), decibans, 1e-9);
    }
}
