//! Plays every demo ticket again and compares transcript, case and result with what is stored.
//!
//! `UPDATE_DEMOS=1 cargo test --test demos` writes them anew.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use commsense::case::{BenchUnits, Case};
use commsense::cli::consult::{Consultation, Ticket};
use commsense::cli::prompt::{AskError, Choice, Prompt, Prompter, Reply, Script};
use commsense::knowledge::{self, Knowledge};
use commsense::network;
use commsense::plan::assess::Planner;
use commsense::present::text::{Page, Text};
use commsense::present::{Format, draw};
use serde::Deserialize;

/// What the bench would find if it looked.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Story {
    title: String,
    who: String,
    case: String,
    motor: Option<String>,
    complaint: String,
    /// Faults that the result must believe in; none where the story leaves it open.
    #[serde(default)]
    truth: Vec<String>,
    found: BTreeMap<String, String>,
    otherwise: Otherwise,
    /// Before the reply to the n-th question, these side actions.
    #[serde(default)]
    asides: BTreeMap<usize, String>,
}

/// How questions are answered of which the story says nothing.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Otherwise {
    Normal,
    Unknown,
}

/// Somebody who knows the story and is asked.
struct Bench {
    story: Story,
    talk: Script,
    asked: usize,
    /// Figures of the story that no look has taken yet, each with what it bands.
    figures: Vec<(String, Vec<String>)>,
    /// The figure that is being given.
    figure: String,
}

impl Bench {
    fn reply(&mut self, prompt: &Prompt) -> String {
        match prompt.id.as_str() {
            "motor" => return self.story.motor.clone().unwrap_or_else(|| "another".into()),
            "complaint" if self.story.complaint.is_empty() => return "d".into(),
            "complaint" => return self.story.complaint.clone(),
            "figure" => return self.figure.clone(),
            _ => {}
        }
        // Of a look, what the story has as a figure is given as a figure.
        let of = |c: &Choice| c.id.split_once('=').map_or(String::new(), |(of, _)| of.to_string());
        let open: Vec<String> = prompt.choices.iter().map(of).collect();
        let given = self.figures.iter().position(|(_, bands)| bands.iter().any(|b| open.contains(b)));
        if let Some(at) = given.filter(|_| prompt.several.is_some()) {
            self.figure = self.figures.remove(at).0;
            return "m".into();
        }
        if prompt.several.is_some() {
            return self.seen(prompt);
        }
        if let Some(found) = self.story.found.get(&prompt.id) {
            return found.clone();
        }
        let question = prompt.sides().any(|s| s.key() == 'd');
        match (&self.story.otherwise, question) {
            (Otherwise::Unknown, true) => "d".into(),
            _ => "1".into(),
        }
    }
}

impl Bench {
    /// Of a list of several, the numbers of what the story tells.
    fn seen(&self, prompt: &Prompt) -> String {
        let told = |id: &str| {
            let told = id.split_once('=').and_then(|(of, state)| Some(self.story.found.get(of)? == state));
            told.unwrap_or(false)
        };
        let lines = prompt.choices.iter().enumerate().filter(|(_, c)| told(&c.id));
        let mut typed: Vec<String> = lines.map(|(i, _)| (i + 1).to_string()).collect();
        if matches!(self.story.otherwise, Otherwise::Unknown) && prompt.sides().any(|s| s.key() == 'd') {
            typed.push("d".into());
        }
        if typed.is_empty() { "0".into() } else { typed.join(" ") }
    }
}

impl Prompter for Bench {
    fn ask(&mut self, prompt: &Prompt) -> Result<Reply, AskError> {
        let asides = prompt.sides().any(|s| s.key() == 'h');
        self.asked += usize::from(asides);
        let aside = match self.story.asides.remove(&self.asked).filter(|_| asides).as_deref() {
            Some("why") => Some("?"),
            Some("how") => Some("h"),
            Some("ranking") => Some("r"),
            Some(other) => panic!("a story knows no aside `{other}`"),
            None => None,
        };
        let typed = aside.map_or_else(|| self.reply(prompt), str::to_string);
        let script = std::mem::replace(&mut self.talk, Script::new(PAGE));
        self.talk = script.answering(prompt.id.as_str(), typed);
        self.talk.ask(prompt)
    }

    fn say(&mut self, text: &Text) -> Result<(), AskError> {
        self.talk.say(text)
    }

    fn show(&mut self, text: &Text) -> Result<(), AskError> {
        self.talk.show(text)
    }
}

const PAGE: Page = Page { width: 88, unicode: true, colour: false, drawn: true };

fn stories() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("transcripts-demo");
    let mut found: Vec<PathBuf> = fs::read_dir(root)
        .expect("the demos are there")
        .map(|e| e.expect("a folder entry can be read").path())
        .filter(|p| p.join("story.yaml").exists())
        .collect();
    found.sort();
    found
}

fn play(folder: &Path, knowledge: &Knowledge, planner: &Planner) -> Vec<(&'static str, String)> {
    let text = fs::read_to_string(folder.join("story.yaml")).expect("a demo has a story");
    let story: Story = serde_yaml::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    let mut head = Text::new();
    head.para(format!("{}. {}", story.title, story.who));
    head.blank();
    let desk = tempfile::tempdir().expect("a temporary folder can be made");
    let path = desk.path().join("case.yaml");
    let case = Case { case: story.case.clone(), ..Case::default() };
    let figures = figures(&story, knowledge);
    let (told, truth) = (story.found.clone(), story.truth.clone());
    let mut bench = Bench { story, talk: Script::new(PAGE), asked: 0, figures, figure: String::new() };
    bench.say(&head).expect("a script can always be told");
    let mut ticket = Ticket::new(&path, knowledge).called("case.yaml");
    Consultation::new(planner, case, &mut ticket, &mut bench, 5)
        .run()
        .unwrap_or_else(|e| panic!("{}: {}", folder.display(), e.message));
    let case = fs::read_to_string(&path).expect("the case was saved");
    // Complaints are heard in the owner's words; all else is answered as the story tells it.
    let heard = |id: &str| knowledge.observation(id).is_some_and(|o| o.group == "complaint");
    let answers = case.lines().filter_map(|l| l.strip_prefix("  ")?.split_once(": "));
    for (id, answer) in answers.filter(|(id, _)| !heard(id)) {
        let told = told.get(id).map_or(answer, String::as_str);
        assert_eq!(answer, told, "{}: {id} is not what the story tells", folder.display());
    }
    let json = assert_cmd::Command::cargo_bin("commsense")
        .expect("the program is built")
        .args(["triage", "--json"])
        .arg(&path)
        .assert()
        .success();
    let json = String::from_utf8(json.get_output().stdout.clone()).expect("JSON is UTF-8");
    let result: serde_json::Value = serde_json::from_str(&json).expect("one JSON document");
    for fault in truth {
        let believed = result["faults"].as_array().expect("a list").iter().find(|f| f["id"] == *fault);
        let chance = believed.and_then(|f| f["probability"].as_f64()).unwrap_or(0.0);
        assert!(chance >= 0.5, "{}: {fault} {chance}", folder.display());
    }
    vec![
        ("transcript.txt", bench.talk.transcript().to_string()),
        ("case.yaml", case),
        ("result.json", rounded(&json)),
    ]
}

/// The figures that a story tells, each with the observations that it bands.
fn figures(story: &Story, knowledge: &Knowledge) -> Vec<(String, Vec<String>)> {
    let figure = |id: &String, said: &String| {
        let reading = knowledge.reading(id).filter(|_| said.starts_with(|c: char| c.is_ascii_digit()))?;
        Some((id.clone(), reading.bands.iter().map(|b| b.observation.clone()).collect()))
    };
    story.found.iter().filter_map(|(id, said)| figure(id, said)).collect()
}

/// Numbers to nine digits, so that the last bits of another processor do not matter.
fn rounded(json: &str) -> String {
    fn round(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Number(n) => {
                if let Some(x) = n.as_f64().filter(|_| n.is_f64()) {
                    let text = format!("{x:.8e}").parse::<f64>().expect("a number stays one");
                    *value = serde_json::json!(text);
                }
            }
            serde_json::Value::Array(list) => list.iter_mut().for_each(round),
            serde_json::Value::Object(map) => map.values_mut().for_each(round),
            _ => {}
        }
    }
    let mut value: serde_json::Value = serde_json::from_str(json).expect("one JSON document");
    round(&mut value);
    serde_json::to_string_pretty(&value).expect("JSON can be written") + "\n"
}

#[test]
fn every_demo_is_what_the_program_does() {
    let knowledge = knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
    let network = network::compile(&knowledge);
    let planner = Planner::new(&knowledge, network.belief().clone()).expect("the network is small enough");
    let update = std::env::var_os("UPDATE_DEMOS").is_some();
    let stories = stories();
    assert!(stories.len() >= 10, "at least ten demos, not {}", stories.len());
    let mut stale = Vec::new();
    for folder in &stories {
        for (name, now) in play(folder, &knowledge, &planner) {
            let path = folder.join(name);
            if update {
                fs::write(&path, &now).expect("a demo can be written");
            } else if fs::read_to_string(&path).unwrap_or_default() != now {
                stale.push(path);
            }
        }
    }
    assert!(stale.is_empty(), "not what the program does any more: {stale:#?}");
}

#[test]
fn the_picture_of_the_network_is_fresh() {
    let knowledge = knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
    let network = network::compile(&knowledge);
    let now = draw(&knowledge, &network, Some("brush-stuck"), None, Format::Svg).expect("the fault is there");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("transcripts-demo/brush-stuck.svg");
    if std::env::var_os("UPDATE_DEMOS").is_some() {
        fs::write(&path, &now).expect("a picture can be written");
    }
    assert_eq!(fs::read_to_string(&path).unwrap_or_default(), now, "draw it anew");
}

#[test]
fn no_line_of_a_transcript_is_wider_than_its_page() {
    for folder in stories() {
        let text = fs::read_to_string(folder.join("transcript.txt")).expect("a demo has a transcript");
        for line in text.lines().filter(|l| !l.starts_with("Answer: ")) {
            assert!(commsense::present::text::width(line) <= PAGE.width, "{}: {line}", folder.display());
        }
    }
}
