//! A small knowledge base, made by hand: three pieces of history, four faults listed with effects before
//! causes, and names that try to break out of any file format.

use commsense::knowledge::*;

pub const HOSTILE: &str = "Burnt <b>&amp;\"bars\"' ]]> \\N\u{1b}[31m\u{0}\u{202e}${x} <!-- --";

fn ask(stage: &str, cautions: &[&str]) -> Ask {
    Ask {
        question: "What do you see?".to_owned(),
        how: "Look.".to_owned(),
        stage: stage.to_owned(),
        last_stage: None,
        minutes: 0.5,
        risk: String::new(),
        cautions: strings(cautions),
        ask_when: None,
        not_when: vec![],
    }
}

fn strings(list: &[&str]) -> Vec<String> {
    list.iter().map(|s| s.to_string()).collect()
}

fn factor(id: &str, states: &[(&str, f64)], shows: Vec<Shows>) -> Factor {
    Factor {
        id: id.to_owned(),
        name: format!("History of {id}"),
        ask: ask("counter", &[]),
        states: (states.iter())
            .map(|(s, prior)| FactorState {
                id: s.to_string(),
                label: s.to_string(),
                prior: *prior,
                phrases: vec![],
            })
            .collect(),
        basis: Basis::Judgement,
        shows,
    }
}

fn shows(state: Option<&str>, observation: &str, effect: &[f64]) -> Shows {
    Shows {
        state: state.map(str::to_owned),
        observation: observation.to_owned(),
        effect: effect.to_vec(),
        because: "That is how it looks.".to_owned(),
        basis: Basis::Judgement,
    }
}

fn cause(parent: &str, state: Option<&str>, strength: f64) -> Cause {
    Cause {
        by: ParentRef { parent: parent.to_owned(), state: state.map(str::to_owned) },
        strength,
        because: "It does.".to_owned(),
        basis: Basis::Source("field-notes".to_owned()),
    }
}

fn fault(id: &str, name: &str, group: &str, leak: f64, causes: Vec<Cause>, shows: Vec<Shows>) -> Fault {
    Fault {
        id: id.to_owned(),
        name: name.to_owned(),
        group: group.to_owned(),
        summary: format!("What {id} is."),
        customer: String::new(),
        leak,
        basis: Basis::Judgement,
        causes,
        shows,
    }
}

fn observation(id: &str, group: &str, cautions: &[&str], states: &[(&str, f64)]) -> Observation {
    Observation {
        id: id.to_owned(),
        name: format!("Look of {id}"),
        group: group.to_owned(),
        ask: ask("bench", cautions),
        states: (states.iter())
            .map(|(s, leak)| ObservationState {
                id: s.to_string(),
                label: s.to_string(),
                leak: *leak,
                phrases: vec![],
            })
            .collect(),
        basis: Basis::Judgement,
    }
}

fn repair(id: &str, removes: &[(&str, f64)], cautions: &[&[&str]]) -> Repair {
    Repair {
        id: id.to_owned(),
        name: format!("Do {id}"),
        stage: "bench".to_owned(),
        minutes: 4.0,
        parts: vec![],
        tools: vec![],
        removes: (removes.iter())
            .map(|(f, sureness)| Removes {
                fault: f.to_string(),
                sureness: *sureness,
                basis: Basis::Judgement,
            })
            .collect(),
        steps: (cautions.iter())
            .map(|c| Step { cautions: strings(c), action: "Do it.".to_owned() })
            .collect(),
        checks: vec![],
        basis: Basis::Judgement,
    }
}

fn scope(id: &str, always: &[&str], as_needed: &[&str], blocked_when: Vec<Limit>) -> Scope {
    Scope {
        id: id.to_owned(),
        name: format!("Scope {id}"),
        summary: "What is done.".to_owned(),
        customer: String::new(),
        always: strings(always),
        as_needed: strings(as_needed),
        uncured_seen: 0.0,
        settle_first: Vec::new(),
        blocked_when,
        basis: Basis::Judgement,
    }
}

fn caution(id: &str) -> Caution {
    Caution {
        id: id.to_owned(),
        name: format!("Mind {id}"),
        text: "Take care.".to_owned(),
        basis: Basis::CommonPractice,
    }
}

pub fn knowledge() -> Knowledge {
    let limits = vec![
        Limit { when: LimitWhen::Rebuildable(false), reason: "Closed for good.".to_owned() },
        Limit { when: LimitWhen::FaultAbove("undersize".to_owned(), 0.5), reason: "Too thin.".to_owned() },
        Limit {
            when: LimitWhen::Answer(AnswerIs { answer: "rust".to_owned(), states: strings(&["heavy"]) }),
            reason: "Too far gone.".to_owned(),
        },
    ];
    Knowledge {
        factors: vec![
            factor(
                "water",
                &[("none", 0.7), ("splashed", 0.2), ("sunk", 0.1)],
                vec![shows(Some("sunk"), "rust", &[0.4, 0.5, 0.1])],
            ),
            factor("load", &[("no", 0.8), ("yes", 0.2)], vec![]),
            factor("nothing", &[("no", 1.0)], vec![]),
        ],
        // The effects stand before their causes, so that the order of the file is no valid order.
        faults: vec![
            fault(
                "burnt",
                HOSTILE,
                "commutator",
                0.01,
                vec![cause("weak-spring", None, 0.5), cause("rusty", None, 0.25)],
                vec![shows(None, "sparks", &[0.1, 0.9]), shows(None, "power", &[0.3, 0.5, 0.2])],
            ),
            fault(
                "weak-spring",
                "A spring that has lost its force",
                "brush-gear",
                0.03,
                vec![cause("load", Some("yes"), 0.15)],
                vec![shows(None, "power", &[0.5, 0.5, 0.0])],
            ),
            fault(
                "rusty",
                "Rust and verdigris on the bars",
                "commutator",
                0.002,
                vec![cause("water", Some("splashed"), 0.2), cause("water", Some("sunk"), 0.75)],
                vec![shows(None, "rust", &[0.1, 0.2, 0.7])],
            ),
            fault("undersize", "Too small", "commutator", 0.02, vec![], vec![]),
        ],
        observations: vec![
            observation("sparks", "measured", &["eyes"], &[("no", 0.95), ("yes", 0.05)]),
            observation("power", "complaint", &[], &[("none", 0.9), ("some", 0.08), ("severe", 0.02)]),
            observation("rust", "outside", &[], &[("none", 0.97), ("some", 0.02), ("heavy", 0.01)]),
        ],
        repairs: vec![
            repair("new-spring", &[("weak-spring", 0.96)], &[&[], &["eyes", "hands"], &["eyes"]]),
            repair("cut", &[("burnt", 0.9), ("rusty", 0.95)], &[&["eyes"]]),
            repair("wipe", &[("rusty", 0.4)], &[]),
        ],
        scopes: vec![
            scope("small", &["wipe"], &["new-spring"], vec![]),
            scope("large", &["cut", "wipe"], &["new-spring"], limits),
        ],
        cautions: vec![caution("eyes"), caution("hands"), caution("unused")],
        ..Knowledge::default()
    }
}
