//! How long a technician waits: the whole program from its start, and what it does at every answer.
//!
//! `cargo bench --bench triage` prints the median and the longest of many runs, in milliseconds, on the
//! built-in knowledge.
#![allow(clippy::expect_used)]

mod motors;

use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use commsense::case::BenchUnits;
use commsense::knowledge;
use commsense::network::{BeliefNet, Evidence, compile};
use commsense::plan::Known;
use commsense::plan::assess::{Moment, Planner};
use motors::{Motor, everything};
use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use rand::SeedableRng;
use rand::rngs::StdRng;

const PROGRAM: &str = env!("CARGO_BIN_EXE_commsense");

/// A ticket with fifteen answers: a motor that is wet inside, with worn brushes.
const TICKET: &str = "\
format: commsense/case/1
case: K-1
stage: brushes-out
answers:
  water-exposure: submerged
  after-water-care: left-wet
  mud-or-grit: some
  hours-since-service: many
  power-loss: severe
  runs-hot: hot
  heavy-sparking: some
  cuts-in-and-out: sometimes
  squeal: no
  rust-outside: some
  rotation-by-hand: gritty
  winding-resistance-high: high
  brush-length: near-limit
  brush-freedom: sluggish
  hood-bore: dull
";

fn report(what: &str, mut times: Vec<f64>) {
    times.sort_by(f64::total_cmp);
    let (median, longest) = (times[times.len() / 2], times[times.len() - 1]);
    println!("{what:56} median {median:8.2} ms   longest {longest:8.2} ms");
}

fn milliseconds(start: Instant) -> f64 {
    start.elapsed().as_secs_f64() * 1e3
}

/// From the start of the process to its end, on a pipe.
fn to_the_end(ticket: &Path) -> f64 {
    let start = Instant::now();
    let mut run = Command::new(PROGRAM);
    let status = run.args(["triage", "--json"]).arg(ticket).stdout(Stdio::null()).status();
    let time = milliseconds(start);
    assert!(status.expect("the program starts").success());
    time
}

/// From the start of the process to the end of its first question, on a terminal.
fn to_the_first_question(ticket: &Path) -> f64 {
    let size = PtySize { rows: 40, cols: 100, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size).expect("a terminal");
    let mut reader = pair.master.try_clone_reader().expect("it can be read");
    let mut writer = pair.master.take_writer().expect("it can be written to");
    let mut command = CommandBuilder::new(PROGRAM);
    command.args(["triage"]);
    command.arg(ticket);
    command.env("TERM", "xterm");
    let start = Instant::now();
    let mut child = pair.slave.spawn_command(command).expect("the program starts");
    drop(pair.slave);
    let (mut seen, mut chunk) = (Vec::new(), [0; 4096]);
    while !String::from_utf8_lossy(&seen).contains("other actions") {
        match reader.read(&mut chunk) {
            Ok(n) if n > 0 => seen.extend_from_slice(&chunk[..n]),
            _ => panic!("no question came: {}", String::from_utf8_lossy(&seen)),
        }
    }
    let time = milliseconds(start);
    // Ctrl-C, then whatever it still writes, so that it can end.
    writer.write_all(b"\x03").expect("it listens");
    while reader.read(&mut chunk).is_ok_and(|n| n > 0) {}
    child.wait().expect("it ends");
    time
}

/// What is known of a motor when this many abnormal answers, half as many normal ones and half of the
/// history have been given.
fn answered(net: &BeliefNet, rng: &mut StdRng, abnormal: usize) -> Evidence {
    loop {
        let motor = Motor::draw(net, rng);
        let count = motor.observations.iter().filter(|s| **s > 0).count();
        if !(1..=3).contains(&motor.count()) || count < abnormal {
            continue;
        }
        let mut evidence = everything(net, &motor);
        let (mut left, mut normal) = (abnormal, abnormal / 2);
        for (weights, state) in evidence.observations.iter_mut().zip(&motor.observations) {
            let kept = if *state > 0 { &mut left } else { &mut normal };
            if *kept == 0 {
                *weights = None;
            } else {
                *kept -= 1;
            }
        }
        evidence.factors.iter_mut().step_by(2).for_each(|f| *f = None);
        return evidence;
    }
}

/// The questions that have been put.
fn put(net: &BeliefNet, evidence: &Evidence) -> Known {
    let mut known = Known::default();
    let factors = net.factors.iter().map(|f| (&f.id, &f.states)).zip(&evidence.factors);
    let observations = net.observations.iter().map(|o| (&o.id, &o.states)).zip(&evidence.observations);
    for ((id, states), weights) in factors.chain(observations) {
        if let Some(weights) = weights {
            known.weights(id, states.iter().cloned().zip(weights.iter().copied()).collect());
        }
    }
    known
}

fn main() {
    let folder = tempfile::tempdir().expect("a folder for tickets");
    let ticket = folder.path().join("K-1.yaml");
    std::fs::write(&ticket, TICKET).expect("a ticket");
    to_the_end(&ticket);
    report("process: triage --json, 15 answers", (0..41).map(|_| to_the_end(&ticket)).collect());
    let fresh = folder.path().join("K-2.yaml");
    let first = |_| {
        let text =
            "format: commsense/case/1\ncase: K-2\ncomplaint: It is slow.\nanswers: {power-loss: some}\n";
        std::fs::write(&fresh, text).expect("a ticket");
        to_the_first_question(&fresh)
    };
    report("process: to the first question on a terminal", (0..21).map(first).collect());

    let knowledge = knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
    let load = |_| {
        let start = Instant::now();
        let knowledge = knowledge::builtin(&BenchUnits).expect("the built-in knowledge is sound");
        let net = compile(&knowledge).belief().clone();
        Planner::new(&knowledge, net).expect("the network is small enough");
        milliseconds(start)
    };
    report("knowledge loaded, network compiled, planner ready", (0..21).map(load).collect());
    let planner =
        Planner::new(&knowledge, compile(&knowledge).belief().clone()).expect("the network is small enough");
    for abnormal in [5, 10, 15] {
        let mut rng = StdRng::seed_from_u64(abnormal as u64);
        let (mut updates, mut rankings) = (Vec::new(), Vec::new());
        for _ in 0..40 {
            let evidence = answered(&planner.net, &mut rng, abnormal);
            let known = put(&planner.net, &evidence);
            let moment = Moment { motor: None, stage: 1, known, evidence };
            let start = Instant::now();
            let assessment = planner.assess(moment).expect("drawn from the network");
            updates.push(milliseconds(start));
            let start = Instant::now();
            std::hint::black_box(assessment.ranking());
            rankings.push(milliseconds(start));
        }
        report(&format!("{abnormal} abnormal answers: posterior update"), updates);
        report(&format!("{abnormal} abnormal answers: all questions ranked"), rankings);
    }
}
