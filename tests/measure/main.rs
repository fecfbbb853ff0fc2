//! `commsense measure`, each test through the program.

#![allow(clippy::unwrap_used)]

#[path = "../common/mod.rs"]
mod common;
#[path = "../simulator/mod.rs"]
mod simulator;

mod brushes;
mod commutator;
mod end_play;
mod no_load;
mod operating_point;
mod ripple;
#[cfg(unix)]
mod run_in;
mod sound;
#[path = "../synth/mod.rs"]
mod synth;
mod timing;
mod winding;
mod within;

use common::program::Bench;
use serde_json::Value;

/// The JSON document of a measurement.
#[track_caller]
fn measured(test: &str, args: &[&str]) -> Value {
    let bench = Bench::new();
    bench.json(&[&["measure", test, "--json"], args].concat())
}

/// That these options end with this exit code, without a result and with these words on standard error.
#[track_caller]
fn refused(test: &str, args: &[&str], code: i32, words: &str) {
    let done = Bench::new().run(&[&["measure", test], args].concat());
    assert_eq!((done.code, done.stdout.as_str()), (Some(code), ""), "{args:?}: {}", done.stderr);
    let said = common::program::flowing(&done.stderr);
    assert!(said.contains(words), "{args:?}: {}", done.stderr);
}
