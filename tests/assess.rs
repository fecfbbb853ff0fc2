//! The expert examined through the program.
#![allow(clippy::expect_used)]

#[allow(dead_code)]
#[path = "common/program.rs"]
mod program;

use program::{Bench, flowing};
use unicode_width::UnicodeWidthStr;

const SMALL: [&str; 9] =
    ["knowledge", "assess", "--runs", "2", "--kinds", "one,healthy", "--endings", "1", "--seed=4"];

fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    SMALL.iter().copied().chain(more.iter().copied()).collect()
}

#[test]
fn one_json_document_with_everything_in_it() {
    let bench = Bench::new();
    let document = bench.json(&with(&["--json"]));
    let keys: Vec<&str> = document.as_object().expect("an object").keys().map(String::as_str).collect();
    assert_eq!(
        keys,
        [
            "format",
            "runs",
            "seed",
            "consultations",
            "conditions",
            "faults",
            "confusions",
            "questions",
            "sensitivity",
            "scopes"
        ]
    );
    assert_eq!(document["format"], "commsense/assess/1");
    assert_eq!((document["runs"].as_u64(), document["seed"].as_u64()), (Some(2), Some(4)));
    let kinds = document["conditions"][0]["kinds"].as_array().expect("a list");
    assert_eq!(kinds.iter().map(|k| k["kind"].as_str()).collect::<Vec<_>>(), [Some("one"), Some("healthy")]);
    for kind in kinds {
        assert_eq!(kind["motors"], 2);
        assert_eq!(kind["limits_broken"]["hits"], 0);
        let error = kind["calibration"]["every_fault"]["expected_error"].as_f64().expect("a number");
        assert!((0.0..0.5).contains(&error));
        assert!(kind["cost_knowing"]["mean"].as_f64() <= kind["cost"]["mean"].as_f64());
        let scopes = document["scopes"].as_array().expect("a list").len();
        assert_eq!(kind["cost_always"].as_object().expect("by scope").len(), scopes);
    }
    assert_eq!(kinds[1]["first"]["share"], serde_json::Value::Null);
    assert_eq!(document["sensitivity"]["endings"], 2);
}

#[test]
fn threads_change_nothing() {
    let bench = Bench::new();
    let with = |threads: &str| {
        let args = with(&["--json", "--careless", "20 %", "--perturb", "0.4"]);
        let output = bench.command(&args).env("RAYON_NUM_THREADS", threads).output().expect("it runs");
        assert!(output.status.success());
        output.stdout
    };
    assert_eq!(with("1"), with("2"));
}

#[test]
fn text_fits_and_begins_with_what_to_trust() {
    let done = Bench::new().run(&SMALL);
    assert_eq!((done.code, done.stderr.as_str()), (Some(0), ""), "no bar without a terminal");
    for line in done.stdout.lines() {
        assert!(line.width() <= 80, "{line}");
    }
    let text = flowing(&done.stdout);
    let places: Vec<Option<usize>> = [
        "What to trust",
        "Hard limits broken: 0 of 4",
        "What not to trust",
        "By kind of motor",
        "What a motor costs",
    ]
    .iter()
    .map(|words| text.find(words))
    .collect();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{places:?}\n{text}");
    assert!(text.contains("not whether they are right"));
    // A rule that wins with hindsight is nothing to trust; each figure has its legend.
    let doubt = text.find("What not to trust");
    assert!(text.find("picked with hindsight").is_none_or(|at| Some(at) > doubt), "{text}");
    for legend in
        ["In brackets: where", "all kinds together: as many", "It is reliability", "mean place: its place"]
    {
        assert!(text.contains(legend), "{legend}: {text}");
    }
}

#[test]
fn all_conditions_stand_side_by_side() {
    let args = ["knowledge", "assess", "--all", "--runs", "1", "--kinds", "two", "--endings", "0"];
    let bench = Bench::new();
    let text = flowing(&bench.run(&args).stdout);
    for condition in ["as believed", "numbers off by 0.5", "5 % wrong answers", "10 %", "20 % wrong answers"]
    {
        assert!(text.contains(condition), "{condition}: {text}");
    }
    assert!(!text.contains("find these out first"));
}

#[test]
fn the_page_stands_alone_and_is_well_formed() {
    let bench = Bench::new();
    let done = bench.run(&with(&["--html", "page.html"]));
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert_eq!(bench.names(), ["page.html"]);
    let page = bench.read("page.html");
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let document = roxmltree::Document::parse_with_options(&page, options).expect("well-formed");
    let named = |name: &'static str| document.descendants().filter(move |n| n.tag_name().name() == name);
    let html = document.root_element();
    assert_eq!((html.tag_name().name(), html.attribute("lang")), ("html", Some("en")));
    assert_eq!(named("h1").count(), 1);
    assert!(named("svg").count() >= 4);
    for picture in named("svg") {
        let child = |name| picture.children().find(|c| c.tag_name().name() == name).map(|c| c.text());
        assert!(
            picture.attribute("role") == Some("img") && child("title").is_some() && child("desc").is_some()
        );
    }
    for table in named("table") {
        assert!(table.children().any(|c| c.tag_name().name() == "caption"));
        let heads = table.descendants().filter(|n| n.tag_name().name() == "th");
        assert!(heads.clone().count() > 0 && heads.clone().all(|h| h.attribute("scope").is_some()));
    }
    assert_eq!(named("script").count() + named("link").count() + named("img").count(), 0);
    let fetched =
        document.descendants().flat_map(|n| n.attributes()).any(|a| a.name() == "href" || a.name() == "src");
    assert!(!fetched && !page.contains("url(") && !page.contains("@import"));
}

#[test]
fn wrong_options_are_told() {
    let bench = Bench::new();
    for (args, words) in [
        (&["--kinds", "three"][..], "Kinds are: one, two, healthy, outside, any."),
        (&["--careless", "0.1"], "of a hundred, or of one?"),
        (&["--careless", "130 %"], "out of range"),
        (&["--perturb", "9"], "from 0 to 5"),
        (&["--runs", "0"], "1..=1000000"),
        (&["--all", "--careless", "5 %"], "cannot be used with"),
    ] {
        let args: Vec<&str> = ["knowledge", "assess"].iter().chain(args).copied().collect();
        let done = bench.run(&args);
        assert_eq!((done.code, done.stdout.as_str()), (Some(2), ""), "{args:?}: {}", done.stderr);
        assert!(flowing(&done.stderr).contains(words), "{args:?}: {}", done.stderr);
    }
    let refused = bench.refusal(&["knowledge", "assess", "--runs", "1", "--html", "nowhere/page.html"]);
    assert!(refused.contains("cannot write nowhere/page.html"), "{refused}");
    let refused = bench.refusal(&["knowledge", "assess", "--runs", "1", "--html", "."]);
    assert!(refused.contains("is a folder"), "{refused}");
}

#[cfg(unix)]
#[test]
fn an_interrupted_examination_leaves_nothing_behind() {
    use std::time::Duration;
    let bench = Bench::new();
    let args = ["knowledge", "assess", "--runs", "100000", "--html", "page.html"];
    let child = bench.command(&args).spawn().expect("it runs");
    std::thread::sleep(Duration::from_secs(3));
    let pid = child.id().to_string();
    let sent = std::process::Command::new("kill").args(["-INT", &pid]).status().expect("kill is there");
    assert!(sent.success());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(130));
    let said = String::from_utf8(output.stderr).expect("text");
    assert!(said.contains("stopped: the examination was not finished"), "{said}");
    assert!(output.stdout.is_empty() && bench.names().is_empty());
}
