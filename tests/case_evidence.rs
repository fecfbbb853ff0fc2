//! Readings of the built-in knowledge become evidence for its network.

#![allow(clippy::unwrap_used)]

use commsense::case::evidence::bands;
use commsense::case::{Answer, BenchUnits, Case, evidence};
use commsense::knowledge::{Derive, Knowledge, builtin};
use commsense::network::compile;

fn knowledge() -> Knowledge {
    builtin(&BenchUnits).unwrap_or_else(|loaded| panic!("{:?}", loaded.diagnostics))
}

/// Any plausible value of any reading, on any motor that has the nominal value, gives weights that sum to 1.
#[test]
fn every_plausible_reading_has_weights() {
    const STEPS: u32 = 40;
    let k = knowledge();
    for reading in &k.readings {
        let [(_, low), (_, high)] = reading.plausible;
        for motor in &k.motors {
            let known = match &reading.derive {
                Derive::Value => true,
                Derive::Ratio(key) | Derive::Difference(key) => motor.nominal.contains_key(key),
            };
            for step in 0..=STEPS {
                let value = low + (high - low) * f64::from(step) / f64::from(STEPS);
                let found = bands(&k, Some(motor), reading, value, None);
                assert_eq!(found.is_ok(), known, "{} of {}: {found:?}", reading.id, motor.id);
                for band in found.into_iter().flatten() {
                    let sum: f64 = band.weights.iter().sum();
                    assert!((sum - 1.0).abs() < 1e-12, "{} of {} at {value}: {band:?}", reading.id, motor.id);
                    let states = k.observation(&band.observation).unwrap().states.len();
                    assert_eq!(band.weights.len(), states);
                }
            }
        }
    }
}

/// A motor read at its own nominal values is normal.
#[test]
fn nominal_readings_are_normal() {
    let k = knowledge();
    for motor in &k.motors {
        for reading in &k.readings {
            let Derive::Ratio(key) = &reading.derive else { continue };
            let Some(text) = motor.nominal.get(key) else { continue };
            let Answer::Reading { value, .. } = Answer::read(&k, &reading.id, text).unwrap() else {
                panic!("{} of {}: {text} is no reading", reading.id, motor.id)
            };
            for band in bands(&k, Some(motor), reading, value, None).unwrap() {
                let normal = band.weights[0];
                assert!(normal > 0.9, "{} of {}: {text} gives {band:?}", reading.id, motor.id);
            }
        }
    }
}

/// Every state of every question is taken by the network as it stands, without a warning.
#[test]
fn every_state_is_evidence() {
    let k = knowledge();
    let network = compile(&k);
    let net = network.belief();
    let factors = k.factors.iter().map(|f| (&f.id, f.states.len()));
    let observations = k.observations.iter().map(|o| (&o.id, o.states.len()));
    for (id, count) in factors.chain(observations) {
        for index in 0..count {
            let mut case = Case::default();
            case.answer(id, Answer::State(index));
            let (evidence, warnings) = evidence(&k, net, None, &case.answers);
            assert_eq!(warnings, [], "{id}");
            let given: Vec<_> = evidence.factors.into_iter().chain(evidence.observations).flatten().collect();
            assert_eq!(given.len(), 1, "{id}");
            assert_eq!(given[0].iter().position(|w| *w == 1.0), Some(index), "{id}");
            assert_eq!(given[0].iter().sum::<f64>(), 1.0, "{id}");
        }
    }
}
