use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::*;
use crate::case::BenchUnits;
use crate::inference::{Engine, Limits};
use crate::knowledge::builtin;
use crate::network::{Evidence, compile};

fn plain(state: usize, states: usize) -> Option<Vec<f64>> {
    Some((0..states).map(|s| f64::from(u8::from(s == state))).collect())
}

#[test]
fn wishes_are_fulfilled() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    for count in 0..4 {
        let maker = Maker::new(&k, &net, &Wish::count(count)).unwrap();
        for _ in 0..20 {
            let s = maker.draw(&mut rng).unwrap();
            assert_eq!(s.count(), count);
            assert!(count == 0 || !s.complaints(&k, &net, 3).is_empty() || complaint_hidden(&s, &k, &net));
        }
    }
    for fault in &net.faults {
        let s = Specimen::draw(&k, &net, &Wish::exactly([&*fault.id]), &mut rng).unwrap();
        assert_eq!(s.present().map(|j| &net.faults[j].id).collect::<Vec<_>>(), [&fault.id]);
    }
    let topic = Wish { among: vec!["winding".into()], ..Wish::count(1) };
    let error = Specimen::draw(&k, &net, &topic, &mut rng).unwrap_err().to_string();
    assert!(error.contains("no fault or group of faults is called `winding`"), "{error}");
    let wish = Wish {
        among: vec!["brush-gear".into(), "armature".into()],
        without: vec!["brush-worn".into()],
        ..Wish::count(2)
    };
    let wish = Wish {
        history: [("water-exposure".to_owned(), "submerged".to_owned())].into_iter().collect(),
        ..wish
    };
    for _ in 0..50 {
        let s = Specimen::draw(&k, &net, &wish, &mut rng).unwrap();
        for j in s.present() {
            let fault = k.fault(&net.faults[j].id).unwrap();
            assert!(
                fault.id != "brush-worn" && ["brush-gear", "armature"].contains(&&*fault.group),
                "{}",
                fault.id
            );
        }
        assert_eq!(s.answer(&k, &net, None, "water-exposure"), Some(Answer::State(2)));
    }
}

fn complaint_hidden(s: &Specimen, k: &Knowledge, net: &BeliefNet) -> bool {
    k.observations
        .iter()
        .any(|o| o.group == "complaint" && o.ask.ask_when.is_some() && s.state(net, &o.id) > Some(0))
}

/// A history drawn for given faults has the frequencies of the exact posterior.
#[test]
fn histories_come_from_their_posterior() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    // The same by the engine: each fault is made known by an observation that shows it and nothing else.
    let mut known = net.clone();
    for (j, fault) in net.faults.iter().enumerate() {
        known.observations.push(crate::network::ObservationModel {
            id: format!("known-{}", fault.id),
            states: vec!["no".into(), "yes".into()],
            leak: vec![1.0, 0.0],
            causes: vec![(crate::network::Parent::Fault(j), vec![0.0, 1.0])],
        });
    }
    for faults in [vec!["commutator-corroded"], vec!["coil-shorted", "winding-cooked"], vec![]] {
        let mut evidence = Evidence::none(&known);
        for (j, fault) in net.faults.iter().enumerate() {
            let present = faults.contains(&&*fault.id);
            evidence.observations[net.observations.len() + j] = plain(usize::from(present), 2);
        }
        let exact =
            Engine::compile(&known, &evidence, &Limits::default()).unwrap().posterior().factors.clone();
        let wish = Wish { must_complain: false, ..Wish::exactly(faults.clone()) };
        let maker = Maker::new(&k, &net, &wish).unwrap();
        let mut rng = ChaCha8Rng::seed_from_u64(11);
        let draws = 4000;
        let mut counts: Vec<Vec<f64>> = exact.iter().map(|f| vec![0.0; f.len()]).collect();
        for _ in 0..draws {
            let s = maker.draw(&mut rng).unwrap();
            s.factors.iter().zip(&mut counts).for_each(|(state, c)| c[*state] += 1.0 / f64::from(draws));
        }
        for (f, (exact, counted)) in exact.iter().zip(&counts).enumerate() {
            for (p, c) in exact.iter().zip(counted) {
                let deviation = (p * (1.0 - p) / f64::from(draws)).sqrt();
                assert!(
                    (p - c).abs() <= 4.5 * deviation + 1e-9,
                    "{faults:?} {}: {exact:?} {counted:?}",
                    net.factors[f].id
                );
            }
        }
    }
}

/// Patterns of two faults are as frequent as among motors drawn as they come.
#[test]
fn patterns_are_as_frequent_as_they_come() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    let any = Wish { must_complain: false, ..Wish::default() };
    let two = Wish { must_complain: false, ..Wish::count(2) };
    let (any, two) = (Maker::new(&k, &net, &any).unwrap(), Maker::new(&k, &net, &two).unwrap());
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let (mut came, mut wished) = (vec![0.0_f64; net.faults.len()], vec![0.0_f64; net.faults.len()]);
    let mut pairs = 0.0;
    for _ in 0..20_000 {
        let s = any.draw(&mut rng).unwrap();
        if s.count() == 2 {
            pairs += 1.0;
            s.present().for_each(|j| came[j] += 1.0);
        }
    }
    assert!(pairs > 1000.0, "{pairs}");
    for _ in 0..pairs as usize {
        two.draw(&mut rng).unwrap().present().for_each(|j| wished[j] += 1.0);
    }
    for (j, (a, b)) in came.iter().zip(&wished).enumerate() {
        assert!((a - b).abs() <= 4.5 * (a + b).sqrt(), "{}: {a} and {b} of {pairs}", net.faults[j].id);
    }
}

#[test]
fn same_seed_same_motor() {
    let k = builtin(&BenchUnits).unwrap();
    let net = compile(&k).belief().clone();
    let draw =
        |seed| Specimen::draw(&k, &net, &Wish::count(1), &mut ChaCha8Rng::seed_from_u64(seed)).unwrap();
    assert_eq!(draw(8), draw(8));
    assert_ne!(draw(8), draw(9));
}
