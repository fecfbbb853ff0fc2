use commsense::{
    case::BenchUnits,
    knowledge,
    network::{Evidence, compile},
    plan::{
        Known,
        assess::{Moment, Planner},
    },
};
use std::time::Instant;
fn main() {
    let t = Instant::now();
    let k = knowledge::builtin(&BenchUnits).unwrap();
    println!("load {:?}", t.elapsed());
    let t = Instant::now();
    let net = compile(&k);
    println!("compile {:?}", t.elapsed());
    let t = Instant::now();
    let p = Planner::new(&k, net.belief().clone()).unwrap();
    println!("planner {:?}", t.elapsed());
    let mut m = Moment { motor: None, stage: 0, known: Known::default(), evidence: Evidence::none(&p.net) };
    for arg in std::env::args().skip(1).chain(["".to_string()]) {
        let t = Instant::now();
        let a = p.assess(m.clone()).unwrap();
        let t1 = t.elapsed();
        let t = Instant::now();
        let r = a.ranking();
        println!(
            "assess {t1:?} rank {:?} ops {} top {:?}",
            t.elapsed(),
            a.engine.operations(),
            r.here.iter().take(3).map(|v| (v.candidate.id, v.worth, v.saving, v.bits)).collect::<Vec<_>>()
        );
        println!(
            "   open {:?}",
            r.openings
                .iter()
                .map(|o| (o.stage, o.worth, o.rate, o.questions[0].candidate.id))
                .collect::<Vec<_>>()
        );
        println!(
            "   faults {:?}",
            a.ranked()[..4].iter().map(|f| (&p.net.faults[*f].id, a.faults()[*f])).collect::<Vec<_>>()
        );
        println!(
            "   scopes {:?}",
            a.scope_rows()[..4].iter().map(|s| (&s.id, s.expected_cost, s.success)).collect::<Vec<_>>()
        );
        if arg.is_empty() {
            break;
        }
        if let Ok(n) = arg.parse::<usize>() {
            m.stage = n;
            continue;
        }
        let (id, s) = arg.split_once('=').unwrap();
        let i = k.states(id).unwrap().iter().position(|(x, _)| *x == s).unwrap();
        let n = k.states(id).unwrap().len();
        let mut w = vec![0.0; n];
        w[i] = 1.0;
        if let Some(o) = p.net.observations.iter().position(|o| o.id == id) {
            m.evidence.observations[o] = Some(w);
        } else {
            let f = p.net.factors.iter().position(|o| o.id == id).unwrap();
            m.evidence.factors[f] = Some(w);
        }
        m.known.state(id, s);
    }
}
