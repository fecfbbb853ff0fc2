//! Small knowledge bases for the tests, made by hand.

use super::assess::{Moment, Planner};
use super::known::Known;
use crate::knowledge::*;
use crate::network::{Evidence, compile};

pub fn strings(list: &[&str]) -> Vec<String> {
    list.iter().map(|s| (*s).to_owned()).collect()
}

pub fn answer(id: &str, states: &[&str]) -> AnswerIs {
    AnswerIs { answer: id.into(), states: strings(states) }
}

pub fn forbid(id: &str, state: &str) -> Forbid {
    Forbid { when: answer(id, &[state]), reason: format!("{id} is {state}.") }
}

/// Question at a stage, without conditions.
pub fn ask(stage: &str, minutes: f64) -> Ask {
    Ask {
        question: "What is it?".into(),
        how: "Look.".into(),
        stage: stage.into(),
        last_stage: None,
        minutes,
        risk: String::new(),
        cautions: Vec::new(),
        ask_when: None,
        not_when: Vec::new(),
    }
}

pub fn stage(id: &str, minutes: f64, minutes_back: f64) -> Stage {
    Stage {
        id: id.into(),
        name: id.into(),
        reached_by: String::new(),
        minutes,
        minutes_back,
        destroys: String::new(),
        record_first: Vec::new(),
        calls_for: Vec::new(),
        skippable: false,
        opens: false,
        not_when: Vec::new(),
        closed_by: None,
    }
}

pub fn factor(id: &str, states: &[(&str, f64)]) -> Factor {
    let state = |(id, prior): &(&str, f64)| FactorState {
        id: (*id).into(),
        label: (*id).into(),
        prior: *prior,
        phrases: Vec::new(),
    };
    Factor {
        id: id.into(),
        name: id.into(),
        ask: ask("counter", 1.0),
        states: states.iter().map(state).collect(),
        basis: Basis::Judgement,
        shows: Vec::new(),
    }
}

/// A fault that shows itself in some observations, each with the effect's distribution.
pub fn fault(id: &str, leak: f64, shows: &[(&str, &[f64])]) -> Fault {
    let show = |(observation, effect): &(&str, &[f64])| Shows {
        state: None,
        observation: (*observation).into(),
        effect: effect.to_vec(),
        because: String::new(),
        basis: Basis::Judgement,
    };
    Fault {
        id: id.into(),
        name: id.into(),
        group: "any".into(),
        summary: String::new(),
        customer: String::new(),
        leak,
        basis: Basis::Judgement,
        causes: Vec::new(),
        shows: shows.iter().map(show).collect(),
    }
}

/// A fault that a state of a factor brings about for certain, and nothing else does.
pub fn follows(mut fault: Fault, factor: &str, state: &str) -> Fault {
    fault.leak = 0.0;
    fault.causes.push(Cause {
        by: ParentRef { parent: factor.into(), state: Some(state.into()) },
        strength: 1.0,
        because: String::new(),
        basis: Basis::Judgement,
    });
    fault
}

pub fn observation(id: &str, ask: Ask, leak: &[f64]) -> Observation {
    let names = ["normal", "some", "much"];
    let state = |(name, leak): (&&str, &f64)| ObservationState {
        id: (*name).into(),
        label: (*name).into(),
        leak: *leak,
        phrases: Vec::new(),
    };
    Observation {
        id: id.into(),
        name: id.into(),
        group: "complaint".into(),
        ask,
        states: names.iter().zip(leak).map(state).collect(),
        basis: Basis::Judgement,
    }
}

pub fn repair(id: &str, stage: &str, minutes: f64, cost: f64, removes: &[(&str, f64)]) -> Repair {
    let remove = |(fault, sureness): &(&str, f64)| Removes {
        fault: (*fault).into(),
        sureness: *sureness,
        basis: Basis::Judgement,
    };
    Repair {
        id: id.into(),
        name: id.into(),
        stage: stage.into(),
        minutes,
        parts: vec![Part { name: "part".into(), cost, by_motor: false }],
        tools: Vec::new(),
        removes: removes.iter().map(remove).collect(),
        steps: Vec::new(),
        checks: Vec::new(),
        basis: Basis::Judgement,
    }
}

pub fn scope(id: &str, always: &[&str], as_needed: &[&str]) -> Scope {
    Scope {
        id: id.into(),
        name: id.into(),
        summary: String::new(),
        customer: String::new(),
        always: strings(always),
        as_needed: strings(as_needed),
        settle_first: Vec::new(),
        uncured_seen: 0.0,
        blocked_when: Vec::new(),
        basis: Basis::Judgement,
    }
}

pub fn motor(rebuildable: bool) -> Motor {
    Motor {
        id: "wren".into(),
        name: "Wren".into(),
        can: "380".into(),
        rebuildable,
        slots: 3,
        summary: String::new(),
        replace_cost: 25.0,
        nominal: Default::default(),
        basis: Basis::Judgement,
    }
}

/// Five stages: `counter`, `bench`, `powered` (may be passed over, not with a locked shaft), `open` and
/// `deep` (both take the motor apart; not a crimped one).
pub fn stages() -> Vec<Stage> {
    let powered =
        Stage { skippable: true, not_when: vec![forbid("hand", "much")], ..stage("powered", 3.0, 0.0) };
    let apart = |id, minutes, back| Stage {
        opens: true,
        not_when: vec![forbid("can", "crimped")],
        ..stage(id, minutes, back)
    };
    vec![
        stage("counter", 0.0, 0.0),
        stage("bench", 3.0, 2.0),
        powered,
        apart("open", 5.0, 4.0),
        apart("deep", 7.0, 6.0),
    ]
}

/// A motor that is dirty, worn or shorted; three scopes, nested, and one that only looks.
pub fn bench() -> Knowledge {
    let sight = Ask { last_stage: Some("open".into()), ..ask("open", 1.0) };
    let smell = Ask { ask_when: Some(answer("power", &["some", "much"])), ..ask("counter", 0.5) };
    let run = Ask { not_when: vec![forbid("smell", "some")], ..ask("powered", 2.0) };
    Knowledge {
        shop: Shop {
            labour_per_minute: 1.0,
            come_back: 150.0,
            worth_asking: 0.02,
            minutes_per_question: 0.0,
            worth_per_bit: 10.0,
            worth_per_bit_unexplained: 10.0,
            without_asking: Vec::new(),
        },
        stages: stages(),
        factors: vec![factor("can", &[("screwed", 0.8), ("crimped", 0.2)])],
        faults: vec![
            fault("dirty", 0.3, &[("power", &[0.4, 0.6, 0.0]), ("sight", &[0.1, 0.9])]),
            fault("worn", 0.2, &[("power", &[0.3, 0.3, 0.4]), ("run", &[0.2, 0.8])]),
            fault("shorted", 0.05, &[("power", &[0.1, 0.2, 0.7]), ("smell", &[0.3, 0.7])]),
        ],
        observations: vec![
            observation("power", ask("counter", 0.5), &[0.9, 0.08, 0.02]),
            observation("smell", smell, &[0.97, 0.03]),
            observation("hand", ask("bench", 0.5), &[0.95, 0.03, 0.02]),
            observation("run", run, &[0.95, 0.05]),
            observation("sight", sight, &[0.98, 0.02]),
        ],
        repairs: vec![
            repair("wipe", "open", 6.0, 0.5, &[("dirty", 0.9)]),
            repair("brushes", "open", 10.0, 8.0, &[("worn", 0.95), ("dirty", 0.3)]),
            repair("armature", "deep", 20.0, 30.0, &[("shorted", 1.0), ("worn", 0.2)]),
            repair("check", "bench", 4.0, 0.0, &[]),
        ],
        scopes: vec![
            scope("look", &["check"], &[]),
            scope("clean", &["wipe", "check"], &[]),
            scope("service", &["wipe", "check"], &["brushes"]),
            scope("rebuild", &["wipe", "check"], &["brushes", "armature"]),
        ],
        motors: vec![motor(true)],
        ..Knowledge::default()
    }
}

/// One decision at the counter: to do nothing at all, or to do `fix` at a price; what is left uncured
/// costs `come_back`. Any faults and observations may be put in.
pub fn decision(price: f64, come_back: f64, faults: Vec<Fault>, observations: Vec<Observation>) -> Knowledge {
    let all: Vec<(String, f64)> = faults.iter().map(|f| (f.id.clone(), 1.0)).collect();
    let all: Vec<(&str, f64)> = all.iter().map(|(id, sure)| (id.as_str(), *sure)).collect();
    Knowledge {
        shop: Shop { labour_per_minute: 1.0, come_back, ..Shop::default() },
        stages: vec![stage("counter", 0.0, 0.0)],
        repairs: vec![
            repair("nothing", "counter", 0.0, 0.0, &[]),
            repair("fix", "counter", 0.0, price, &all),
        ],
        scopes: vec![scope("leave", &["nothing"], &[]), scope("mend", &["fix"], &[])],
        faults,
        observations,
        ..Knowledge::default()
    }
}

/// A planner for a knowledge base.
pub fn planner(knowledge: &Knowledge) -> Planner<'_> {
    let net = compile(knowledge).belief().clone();
    Planner::new(knowledge, net).expect("a small network is never too large")
}

/// A moment at a stage with plain answers.
pub fn moment<'k>(planner: &Planner<'k>, stage: usize, answers: &[(&str, &str)]) -> Moment<'k> {
    let net = &planner.net;
    let mut moment = Moment { motor: None, stage, known: Known::default(), evidence: Evidence::none(net) };
    for (id, state) in answers {
        let plain = |states: &[String]| states.iter().map(|s| f64::from(u8::from(s == state))).collect();
        moment.known.state(id, state);
        if let Some(i) = net.factors.iter().position(|f| f.id == *id) {
            moment.evidence.factors[i] = Some(plain(&net.factors[i].states));
        }
        if let Some(i) = net.observations.iter().position(|o| o.id == *id) {
            moment.evidence.observations[i] = Some(plain(&net.observations[i].states));
        }
    }
    moment
}
