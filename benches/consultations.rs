//! How well the planner does on motors drawn from the network itself: figures, not assertions.
//!
//! `cargo bench --bench consultations -- 500 7` runs 500 consultations of each kind from seed 7. Three more
//! numbers put other values in the place of the shop's worth-per-bit, minutes-per-question and come-back; a
//! sixth prints the consultations that missed.

use std::time::Instant;

use commsense::case::BenchUnits;
use commsense::inference::Question;
use commsense::knowledge::{self, Knowledge, Observation};
use commsense::network::{BeliefNet, Evidence, Parent, compile};
use commsense::plan::Known;
use commsense::plan::assess::{Moment, Planner, Step};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

/// A motor with everything that is true of it.
struct Truth {
    factors: Vec<usize>,
    faults: Vec<bool>,
    observations: Vec<usize>,
}

fn pick(rng: &mut StdRng, weights: &[f64]) -> usize {
    let mut left = rng.random::<f64>() * weights.iter().sum::<f64>();
    for (i, w) in weights.iter().enumerate() {
        left -= w;
        if left < 0.0 {
            return i;
        }
    }
    weights.len() - 1
}

fn holds(parent: Parent, factors: &[usize], faults: &[bool]) -> bool {
    match parent {
        Parent::Fault(f) => faults[f],
        Parent::Factor(f, s) => factors[f] == s,
    }
}

/// Draws motors until one has exactly this many faults.
fn draw(net: &BeliefNet, rng: &mut StdRng, wanted: usize) -> Truth {
    loop {
        let factors: Vec<usize> = net.factors.iter().map(|f| pick(rng, &f.prior)).collect();
        let mut faults = Vec::with_capacity(net.faults.len());
        for fault in &net.faults {
            let causes = fault.causes.iter().filter(|(p, _)| holds(*p, &factors, &faults));
            let absent = causes.fold(1.0 - fault.leak, |a, (_, s)| a * (1.0 - s));
            faults.push(rng.random::<f64>() >= absent);
        }
        if faults.iter().filter(|f| **f).count() != wanted {
            continue;
        }
        let observations = (net.observations.iter())
            .map(|o| {
                let causes = o.causes.iter().filter(|(p, _)| holds(*p, &factors, &faults));
                let leak = pick(rng, &o.leak);
                causes.map(|(_, effect)| pick(rng, effect)).fold(leak, usize::max)
            })
            .collect();
        return Truth { factors, faults, observations };
    }
}

#[derive(Default)]
struct Score {
    first: usize,
    three: usize,
    questions: usize,
    minutes: f64,
    cured: usize,
    brier: f64,
}

fn consult(planner: &Planner, knowledge: &Knowledge, truth: &Truth, score: &mut Score, verbose: bool) {
    let net = &planner.net;
    let mut moment = Moment { motor: None, stage: 0, known: Known::default(), evidence: Evidence::none(net) };
    let mut trail = Vec::new();
    // The owner tells up to three things that are not as they should be.
    let abnormal = |o: &&Observation| {
        o.group == "complaint"
            && net.observations.iter().zip(&truth.observations).any(|(m, s)| m.id == o.id && *s > 0)
    };
    for told in knowledge.observations.iter().filter(abnormal).take(3) {
        let at = net.observations.iter().position(|m| m.id == told.id).expect("the network has it");
        let mut weights = vec![0.0; told.states.len()];
        weights[truth.observations[at]] = 1.0;
        moment.evidence.observations[at] = Some(weights);
        moment.known.state(&told.id, &told.states[truth.observations[at]].id);
        trail.push(format!("({}={})", told.id, told.states[truth.observations[at]].id));
    }
    loop {
        let assessment = planner.assess(moment.clone()).expect("answers drawn from the network are possible");
        match assessment.step() {
            Step::Ask(list) => {
                let chosen = &list[0];
                let id = chosen.candidate.id;
                score.questions += 1;
                score.minutes += chosen.minutes;
                let states = knowledge.states(id).expect("a candidate has states");
                let (state, slot) = match chosen.candidate.question {
                    Question::Factor(i) => (truth.factors[i], &mut moment.evidence.factors[i]),
                    Question::Observation(i) => (truth.observations[i], &mut moment.evidence.observations[i]),
                };
                let mut weights = vec![0.0; states.len()];
                weights[state] = 1.0;
                *slot = Some(weights);
                moment.known.state(id, states[state].0);
                trail.push(format!("{id}={}", states[state].0));
            }
            Step::Open(opening) => {
                score.minutes += opening.minutes;
                moment.stage = opening.stage;
                trail.push(format!("[{}]", knowledge.stages[opening.stage].id));
            }
            Step::Stop(_) => {
                let ranked = assessment.ranked();
                let present: Vec<usize> = (0..truth.faults.len()).filter(|f| truth.faults[*f]).collect();
                let place = |f: usize| ranked.iter().position(|r| *r == f).unwrap_or(usize::MAX);
                let worst = present.iter().map(|f| place(*f)).max().unwrap_or(0);
                score.first += usize::from(worst < present.len());
                score.three += usize::from(worst < 3);
                let best = assessment.scope_rows().into_iter().find(|r| r.blocked.is_none());
                let model = best.as_ref().and_then(|b| assessment.scope(&b.id));
                let clears = model.map(|m| present.iter().map(|f| m.clears[*f]).product::<f64>());
                score.cured += usize::from(clears.unwrap_or(0.0) > 0.5);
                score.brier += (0..truth.faults.len())
                    .map(|f| (assessment.faults()[f] - f64::from(u8::from(truth.faults[f]))).powi(2))
                    .sum::<f64>();
                if verbose && worst >= 3 {
                    let name = |f: &usize| net.faults[*f].id.as_str();
                    println!(
                        "missed {:?} at {:?}, scope {:?}, top {:?}\n    {}",
                        present.iter().map(name).collect::<Vec<_>>(),
                        present.iter().map(|f| place(*f) + 1).collect::<Vec<_>>(),
                        best.map(|b| b.id),
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
        knowledge.shop.minutes_per_question = per_question;
        knowledge.shop.come_back = come_back;
    }
    let planner =
        Planner::new(&knowledge, compile(&knowledge).belief().clone()).expect("the network is small enough");
    for wanted in 0..=2 {
        let mut score = Score::default();
        let start = Instant::now();
        for _ in 0..runs {
            let truth = draw(&planner.net, &mut rng, wanted);
            consult(&planner, &knowledge, &truth, &mut score, numbers.len() > 5);
        }
        let n = runs as f64;
        println!(
            "{wanted} faults: first {:.3}, in three {:.3}, cured {:.3}, questions {:.2}, minutes {:.1}, brier {:.3}, {:.1} ms each",
            score.first as f64 / n,
            score.three as f64 / n,
            score.cured as f64 / n,
            score.questions as f64 / n,
            score.minutes / n,
            score.brier / n,
            start.elapsed().as_secs_f64() * 1e3 / n
        );
    }
}
