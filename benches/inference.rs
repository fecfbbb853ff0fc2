//! How long exact answers take on random networks of the sizes that matter. Fixed seeds; every case is
//! another network and another consultation. `cargo bench --bench inference`.
//!
//! First the quantiles over all cases are printed, then divan measures a typical one.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../tests/inference_support/mod.rs"]
mod inference_support;

use commsense::inference::{Engine, InferenceError, Limits, Question};
use commsense::network::{BeliefNet, Evidence};
use inference_support::{Dice, Size, consultation, network};
use std::time::Instant;

const BENCH: Size = Size {
    factors: 8,
    faults: 45,
    observations: 150,
    factor_links: 1.2,
    fault_links: 25,
    effect_links: 3.0,
    direct: 0.0,
    most_states: 3,
    rarity: 1.0,
};
const EVERYDAY: Size = Size { factors: 16, faults: 47, observations: 110, fault_links: 40, ..BENCH };
const LARGE: Size = Size { faults: 200, observations: 1000, fault_links: 60, ..BENCH };
const HUGE: Size = Size {
    factors: 8,
    faults: 600,
    observations: 4000,
    factor_links: 0.0,
    fault_links: 0,
    effect_links: 600.0 * 75.0 / 4000.0,
    ..BENCH
};

struct Setting {
    name: &'static str,
    size: Size,
    abnormal: usize,
    open: usize,
    cases: usize,
    questions: usize,
}

fn case(setting: &Setting, n: usize) -> (BeliefNet, Evidence) {
    let mut dice = Dice(1 + n as u64 * 7919);
    let net = network(&mut dice, &setting.size);
    let evidence = consultation(&mut dice, &net, setting.abnormal, setting.open);
    (net, evidence)
}

fn open_questions(evidence: &Evidence, most: usize) -> Vec<Question> {
    let unanswered = |list: &[Option<Vec<f64>>]| -> Vec<usize> {
        list.iter().enumerate().filter(|(_, w)| w.is_none()).map(|(i, _)| i).collect()
    };
    let factors = unanswered(&evidence.factors).into_iter().map(Question::Factor);
    factors
        .chain(unanswered(&evidence.observations).into_iter().map(Question::Observation))
        .take(most)
        .collect()
}

fn quantiles(mut values: Vec<f64>) -> String {
    values.sort_by(f64::total_cmp);
    let at =
        |q: f64| values.get(((values.len() as f64 - 1.0) * q).round() as usize).copied().unwrap_or(f64::NAN);
    format!("{:9.3} {:9.3} {:9.3}", at(0.5), at(0.9), at(1.0))
}

fn survey(setting: &Setting) {
    let (mut updates, mut questions, mut operations) = (Vec::new(), Vec::new(), Vec::new());
    let mut refused = Vec::new();
    for n in 0..setting.cases {
        let (net, evidence) = case(setting, n);
        let limits = Limits::default();
        let start = Instant::now();
        let engine = match Engine::compile(&net, &evidence, &limits) {
            Ok(engine) => engine,
            Err(InferenceError::TooLarge { .. }) => {
                refused.push(start.elapsed().as_secs_f64() * 1e3);
                continue;
            }
            Err(error) => panic!("{}: {error}", setting.name),
        };
        updates.push(start.elapsed().as_secs_f64() * 1e3);
        operations.push(engine.operations() as f64 / 1e3);
        if engine.operations() > 3_000_000 {
            questions.push(f64::INFINITY);
            continue;
        }
        let asked = open_questions(&evidence, setting.questions);
        let start = Instant::now();
        divan::black_box(engine.predict_all(&asked));
        questions.push(start.elapsed().as_secs_f64() * 1e3);
    }
    println!(
        "{:<44} update ms{}   all questions ms{}   operations/1000{}   refused {} of {}{}",
        setting.name,
        quantiles(updates),
        quantiles(questions),
        quantiles(operations),
        refused.len(),
        setting.cases,
        if refused.is_empty() { String::new() } else { format!(" after ms{}", quantiles(refused)) }
    );
}

const fn setting(
    name: &'static str,
    size: Size,
    abnormal: usize,
    open: usize,
    cases: usize,
    questions: usize,
) -> Setting {
    Setting { name, size, abnormal, open, cases, questions }
}

const ALL: usize = usize::MAX;
const SETTINGS: &[Setting] = &[
    setting("45 faults, 5 abnormal, factors answered", BENCH, 5, 0, 60, ALL),
    setting("45 faults, 10 abnormal, factors answered", BENCH, 10, 0, 60, ALL),
    setting("45 faults, 15 abnormal, factors answered", BENCH, 15, 0, 40, ALL),
    setting("45 faults, 20 abnormal, factors answered", BENCH, 20, 0, 20, ALL),
    setting("45 faults, 5 abnormal, half open", BENCH, 5, 4, 60, ALL),
    setting("45 faults, 10 abnormal, half open", BENCH, 10, 4, 60, ALL),
    setting("45 faults, 15 abnormal, half open", BENCH, 15, 4, 40, ALL),
    setting("47 faults, 16 factors, 5 abnormal, 12 open", EVERYDAY, 5, 12, 40, 100),
    setting("47 faults, 16 factors, 10 abnormal, 6 open", EVERYDAY, 10, 6, 40, 100),
    setting("47 faults, 16 factors, 10 abnormal, 12 open", EVERYDAY, 10, 12, 40, 100),
    setting("200 faults, 1000 observations, 10 abnormal", LARGE, 10, 4, 20, ALL),
    setting("600 faults, 4000 observations, 15 abnormal", HUGE, 15, 0, 10, ALL),
];

fn main() {
    println!("quantiles are median, 90 %, most");
    for setting in SETTINGS {
        survey(setting);
    }
    divan::main();
}

#[divan::bench(args = [5, 10])]
fn update(bencher: divan::Bencher, abnormal: usize) {
    let (net, evidence) = case(&setting("", EVERYDAY, abnormal, 6, 1, 0), 3);
    bencher.bench(|| Engine::compile(&net, &evidence, &Limits::default()));
}

#[divan::bench(args = [5, 10])]
fn hundred_questions(bencher: divan::Bencher, abnormal: usize) {
    let (net, evidence) = case(&setting("", EVERYDAY, abnormal, 6, 1, 0), 3);
    let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
    let asked = open_questions(&evidence, 100);
    bencher.bench(|| engine.predict_all(&asked));
}

/// The same questions from a thousand drawn motors, drawing included.
#[divan::bench(args = [5, 10])]
fn hundred_questions_from_draws(bencher: divan::Bencher, abnormal: usize) {
    let (net, evidence) = case(&setting("", EVERYDAY, abnormal, 6, 1, 0), 3);
    let engine = Engine::compile(&net, &evidence, &Limits::default()).unwrap();
    let asked = open_questions(&evidence, 100);
    bencher.bench(|| engine.predict_from(&engine.draw(1000, 1), &asked));
}
