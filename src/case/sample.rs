//! A small knowledge base for the tests, made by hand.

use super::model::*;

fn ask(stage: &str) -> Ask {
    Ask {
        question: "What is it?".into(),
        how: "Look.".into(),
        stage: stage.into(),
        last_stage: None,
        minutes: 1.0,
        risk: String::new(),
        cautions: Vec::new(),
        ask_when: None,
        not_when: Vec::new(),
    }
}

fn texts(phrases: &[&str]) -> Vec<String> {
    phrases.iter().map(|p| (*p).to_owned()).collect()
}

fn factor(id: &str, states: &[(&str, &[&str])]) -> Factor {
    let prior = 1.0 / states.len() as f64;
    let state = |(id, phrases): &(&str, &[&str])| FactorState {
        id: (*id).into(),
        label: format!("It is {id}"),
        prior,
        phrases: texts(phrases),
    };
    Factor {
        id: id.into(),
        name: id.into(),
        ask: ask("counter"),
        states: states.iter().map(state).collect(),
        basis: Basis::Judgement,
        shows: Vec::new(),
    }
}

fn observation(id: &str, stage: &str, states: &[(&str, &[&str])]) -> Observation {
    let state = |(i, (id, phrases)): (usize, &(&str, &[&str]))| ObservationState {
        id: (*id).into(),
        label: format!("It is {id}"),
        leak: if i == 0 { 1.0 } else { 0.0 },
        phrases: texts(phrases),
    };
    Observation {
        id: id.into(),
        name: id.into(),
        group: "complaint".into(),
        ask: ask(stage),
        states: states.iter().enumerate().map(state).collect(),
        basis: Basis::Judgement,
    }
}

fn reading(
    id: &str,
    kind: Kind,
    plausible: [(&str, f64); 2],
    uncertainty: Spread,
    derive: Derive,
) -> Reading {
    Reading {
        id: id.into(),
        name: id.into(),
        kind,
        ask: ask("powered"),
        uncertainty,
        plausible: plausible.map(|(text, value)| (text.to_owned(), value)),
        derive,
        figure: None,
        bands: Vec::new(),
        basis: Basis::Judgement,
    }
}

fn band(observation: &str, side: Side, edges: &[(usize, f64)]) -> Band {
    Band { observation: observation.into(), side, edges: edges.to_vec() }
}

/// A fault, so that its id is known.
fn fault(id: &str) -> Fault {
    Fault {
        id: id.into(),
        name: id.into(),
        group: "brush-gear".into(),
        summary: String::new(),
        customer: String::new(),
        leak: 0.05,
        basis: Basis::Judgement,
        causes: Vec::new(),
        shows: Vec::new(),
    }
}

fn stage(id: &str) -> Stage {
    Stage {
        id: id.into(),
        name: id.into(),
        reached_by: String::new(),
        minutes: 1.0,
        minutes_back: 0.0,
        destroys: String::new(),
        record_first: Vec::new(),
        calls_for: Vec::new(),
        skippable: false,
        opens: false,
        not_when: Vec::new(),
        closed_by: None,
    }
}

/// Three stages, two factors, a few complaints, three readings and one motor.
pub fn knowledge() -> Knowledge {
    let current = Reading {
        bands: vec![
            band("no-load-current-high", Side::Above, &[(1, 1.4), (2, 2.2)]),
            band("no-load-current-low", Side::Below, &[(1, 0.7), (2, 0.1)]),
        ],
        ..reading(
            "no-load-current",
            Kind::Current,
            [("0 A", 0.0), ("60 A", 60.0)],
            Spread::Relative(0.05),
            Derive::Ratio("no-load-current".into()),
        )
    };
    let brush = Reading {
        bands: vec![band("brush-length", Side::Below, &[(1, 0.006), (2, 0.005)])],
        ..reading(
            "brush-length",
            Kind::Length,
            [("0 mm", 0.0), ("20 mm", 0.02)],
            Spread::Absolute(1e-4),
            Derive::Value,
        )
    };
    let diameter = Reading {
        bands: vec![band("commutator-diameter", Side::Below, &[(1, 0.0002), (2, 0.0)])],
        ..reading(
            "commutator-diameter",
            Kind::Length,
            [("3 mm", 0.003), ("15 mm", 0.015)],
            Spread::Absolute(1e-5),
            Derive::Difference("commutator-minimum".into()),
        )
    };
    let quiet: &[&str] = &[];
    Knowledge {
        stages: vec![stage("counter"), stage("bench"), stage("powered")],
        factors: vec![
            factor(
                "water-exposure",
                &[
                    ("none", quiet),
                    ("splashed", &["splashed", "puddle", "rain", "wet"]),
                    ("submerged", &["under water", "sank"]),
                ],
            ),
            factor("crash", &[("no", quiet), ("yes", &["crashed", "hit a wall"])]),
        ],
        faults: vec![fault("brush-worn")],
        observations: vec![
            observation(
                "power-loss",
                "counter",
                &[
                    ("none", quiet),
                    ("some", &["a bit slow", "weaker", "lost some power"]),
                    ("severe", &["no power", "very weak", "hardly moves"]),
                ],
            ),
            observation(
                "wont-start",
                "counter",
                &[("no", quiet), ("yes", &["won't start", "dead", "does nothing"])],
            ),
            observation(
                "clicking",
                "counter",
                &[
                    ("no", quiet),
                    ("faint", &["clicks", "ticking"]),
                    ("loud", &["loud clicking", "loud knocking"]),
                ],
            ),
            observation(
                "burnt-smell",
                "counter",
                &[("no", quiet), ("yes", &["burnt smell", "smells burnt", "smell"])],
            ),
            observation(
                "heavy-sparking",
                "counter",
                &[("no", quiet), ("some", &["sparks"]), ("heavy", &["lots of sparks"])],
            ),
            observation(
                "cuts-in-and-out",
                "counter",
                &[("no", quiet), ("sometimes", &["cuts out"]), ("often", &["keeps cutting out"])],
            ),
            observation(
                "no-load-current-high",
                "powered",
                &[("no", quiet), ("high", quiet), ("very-high", quiet)],
            ),
            observation("no-load-current-low", "powered", &[("no", quiet), ("low", quiet), ("none", quiet)]),
            observation(
                "brush-length",
                "bench",
                &[("good", quiet), ("near-limit", quiet), ("below-limit", quiet)],
            ),
            observation(
                "commutator-diameter",
                "bench",
                &[("ample", quiet), ("near-minimum", quiet), ("below-minimum", quiet)],
            ),
        ],
        readings: vec![current, brush, diameter],
        motors: vec![Motor {
            id: "heron-540-3".into(),
            name: "Heron 540-3".into(),
            can: "540".into(),
            rebuildable: true,
            slots: 3,
            summary: String::new(),
            replace_cost: 38.0,
            nominal: [("no-load-current", "2.0 A"), ("voltage", "7.2 V")]
                .map(|(key, text)| (key.to_owned(), text.to_owned()))
                .into_iter()
                .collect(),
            basis: Basis::Judgement,
        }],
        ..Knowledge::default()
    }
}
