//! How well the planner does on motors drawn from the network itself: figures, not assertions.
//!
//! A motor with a fault comes in because its owner has noticed something, so one that shows no complaint is
//! not drawn. `first` and `in three` say whether all its faults stand at the head of the ranking, `known` the
//! same as `first` if every question of every stage had been asked; `cost` is labour, parts and come-backs.
//!
//! `cargo bench --bench consultations -- 500 7` runs 500 consultations of each kind from seed 7. Three more
//! numbers put other values in the place of the shop's worth-per-bit, minutes-per-question and come-back; a
//! sixth prints the consultations that missed.
#![allow(clippy::expect_used)]

mod motors;

use std::time::Instant;

use commsense::case::BenchUnits;
use commsense::inference::Question;
use commsense::knowledge::{self, Knowledge, Observation};
use commsense::network::{BeliefNet, Evidence, compile};
use commsense::plan::Known;
use commsense::plan::assess::{Assessment, Moment, Planner, Step};
use commsense::plan::looks::fallen;
use commsense::plan::scopes::price;
use motors::{Motor, everything, plain};
use rand::SeedableRng;
use rand::rngs::StdRng;

/// Draws motors until one has exactly this many faults and, if it has any, something to complain of.
fn draw(net: &BeliefNet, complaints: &[usize], rng: &mut StdRng, wanted: usize) -> Motor {
    loop {
        let motor = Motor::draw(net, rng);
        let complained = wanted == 0 || complaints.iter().any(|o| motor.observations[*o] > 0);
        if motor.count() == wanted && complained {
            return motor;
        }
    }
}

#[derive(Default)]
struct Score {
    first: usize,
    three: usize,
    questions: usize,
    minutes: f64,
    cured: f64,
    cost: f64,
    brier: f64,
    known: usize,
}

/// How many places down the ranking one has to go to meet all faults that are present.
fn places(assessment: &Assessment, truth: &Motor) -> usize {
    let ranked = assessment.ranked();
    ranked.iter().rposition(|f| truth.faults[*f]).map_or(0, |last| last + 1)
}

/// Whether all faults would stand at the head if everything had been asked.
fn known(planner: &Planner, truth: &Motor) -> bool {
    let net = &planner.net;
    let evidence = everything(net, truth);
    let moment = Moment { motor: None, stage: 0, known: Known::default(), evidence };
    let assessment = planner.assess(moment).expect("drawn from the network");
    places(&assessment, truth) == truth.count()
}

fn consult(planner: &Planner, knowledge: &Knowledge, truth: &Motor, score: &mut Score, verbose: bool) {
    let net = &planner.net;
    let mut moment = Moment { motor: None, stage: 0, known: Known::default(), evidence: Evidence::none(net) };
    let mut trail = Vec::new();
    let mut minutes = 0.0;
    // The owner tells up to three things that are not as they should be.
    let abnormal = |o: &&Observation| {
        o.group == "complaint"
            && net.observations.iter().zip(&truth.observations).any(|(m, s)| m.id == o.id && *s > 0)
    };
    for told in knowledge.observations.iter().filter(abnormal).take(3) {
        let at = net.observations.iter().position(|m| m.id == told.id).expect("the network has it");
        moment.evidence.observations[at] = plain(truth.observations[at], told.states.len());
        moment.known.state(&told.id, &told.states[truth.observations[at]].id);
        trail.push(format!("({}={})", told.id, told.states[truth.observations[at]].id));
    }
    loop {
        let assessment = planner.assess(moment.clone()).expect("answers drawn from the network are possible");
        match assessment.step() {
            Step::Ask(list) => {
                let chosen = &list[0];
                score.questions += 1;
                minutes += chosen.minutes;
                let told: Vec<(&str, Question, usize)> = chosen
                    .together
                    .iter()
                    .map(|c| match c.question {
                        Question::Factor(i) => (c.id, Question::Factor(i), truth.factors[i]),
                        Question::Observation(i) => (c.id, Question::Observation(i), truth.observations[i]),
                    })
                    .collect();
                let state_of = |id: &str, state: usize| knowledge.states(id).expect("it has states")[state].0;
                let mut known = moment.known.clone();
                told.iter().for_each(|(id, _, state)| known.state(id, state_of(id, *state)));
                let ids: Vec<&str> = told.iter().map(|t| t.0).collect();
                let fallen = fallen(knowledge, &ids, moment.stage, &known);
                let mut said = Vec::new();
                for (id, question, state) in told {
                    if fallen.iter().any(|f| f.0 == id) {
                        continue;
                    }
                    let states = knowledge.states(id).expect("a candidate has states").len();
                    match question {
                        Question::Factor(i) => moment.evidence.factors[i] = plain(state, states),
                        Question::Observation(i) => moment.evidence.observations[i] = plain(state, states),
                    }
                    moment.known.state(id, state_of(id, state));
                    if chosen.look.is_none() || state > 0 {
                        said.push(format!("{id}={}", state_of(id, state)));
                    }
                }
                trail.push(match chosen.look {
                    Some(look) => format!("{}{{{}}}", look.id, said.join(" ")),
                    None => said.join(" "),
                });
            }
            Step::Open(opening) => {
                minutes += knowledge.stages[opening.stage].minutes;
                moment.stage = opening.stage;
                trail.push(format!("[{}]", knowledge.stages[opening.stage].id));
            }
            Step::Stop(_) => {
                let present: Vec<usize> = (0..truth.faults.len()).filter(|f| truth.faults[*f]).collect();
                let worst = places(&assessment, truth);
                score.first += usize::from(worst <= present.len());
                score.three += usize::from(worst <= 3);
                let best = assessment.scope_rows().into_iter().find(|r| r.blocked.is_none());
                let best = best.expect("replacing is never blocked");
                let model = assessment.scope(&best.id).expect("it has a row");
                let cured: f64 = present.iter().map(|f| model.clears[*f]).product();
                let chances: Vec<f64> = truth.faults.iter().map(|f| f64::from(u8::from(*f))).collect();
                let work = price(knowledge, model.work(knowledge, assessment.moment.stage, &chances));
                let shop = &knowledge.shop;
                score.cured += cured;
                score.cost += work + minutes * shop.labour_per_minute + (1.0 - cured) * shop.come_back;
                score.minutes += minutes;
                score.brier +=
                    (assessment.faults().iter().zip(&chances)).map(|(p, t)| (p - t).powi(2)).sum::<f64>();
                if verbose && worst > 3 {
                    let ranked = assessment.ranked();
                    let place = |f: usize| ranked.iter().position(|r| *r == f).unwrap_or(usize::MAX);
                    let name = |f: &usize| net.faults[*f].id.as_str();
                    println!(
                        "missed {:?} at {:?}, scope {}, top {:?}\n    {}",
                        present.iter().map(name).collect::<Vec<_>>(),
                        present.iter().map(|f| place(*f) + 1).collect::<Vec<_>>(),
                        best.id,
                        ranked[..3]
                            .iter()
                            .map(|f| format!("{} {:.2}", name(f), assessment.faults()[*f]))
                            .collect::<Vec<_>>(),
                        trail.join(" ")
                    );
                }
                return;
            }
        }
    }
}

fn main() {
    let numbers: Vec<f64> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    let runs = numbers.first().copied().unwrap_or(200.0) as usize;
    let mut rng = StdRng::seed_from_u64(numbers.get(1).copied().unwrap_or(1.0) as u64);
    let mut knowledge = knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
    if let [_, _, bit, per_question, come_back, ..] = numbers[..] {
        knowledge.shop.worth_per_bit = bit;
        knowledge.shop.worth_per_bit_unexplained = 3.0 * bit;
        knowledge.shop.minutes_per_question = per_question;
        knowledge.shop.come_back = come_back;
    }
    let planner =
        Planner::new(&knowledge, compile(&knowledge).belief().clone()).expect("the network is small enough");
    let complaint = |id: &str| knowledge.observation(id).is_some_and(|o| o.group == "complaint");
    let complaints: Vec<usize> =
        (0..planner.net.observations.len()).filter(|i| complaint(&planner.net.observations[*i].id)).collect();
    for wanted in 0..=2 {
        let mut score = Score::default();
        let start = Instant::now();
        for _ in 0..runs {
            let truth = draw(&planner.net, &complaints, &mut rng, wanted);
            score.known += usize::from(known(&planner, &truth));
            consult(&planner, &knowledge, &truth, &mut score, numbers.len() > 5);
        }
        let n = runs as f64;
        println!(
            "{wanted} faults: first {:.3} (known {:.3}), in three {:.3}, cured {:.3}, cost {:.1}, questions {:.2}, \
             minutes {:.1}, brier {:.3}, {:.1} ms each",
            score.first as f64 / n,
            score.known as f64 / n,
            score.three as f64 / n,
            score.cured / n,
            score.cost / n,
            score.questions as f64 / n,
            score.minutes / n,
            score.brier / n,
            start.elapsed().as_secs_f64() * 1e3 / n
        );
    }
}
