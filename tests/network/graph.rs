//! Compiling, order, numbers and neighbourhoods.

use std::collections::BTreeSet;

use commsense::knowledge::Knowledge;
use commsense::network::{BeliefNet, DecisionNetwork, Link, NodeKind, Parent, Part, Variable, compile};
use petgraph::visit::EdgeRef;

use crate::fixture::knowledge;

/// Every number of the knowledge, found again in the network by id.
pub fn assert_parity(k: &Knowledge, net: &BeliefNet) {
    let index = net.index();
    let parent = |id: &str, state: Option<&str>| match index.variable(id) {
        Some(Variable::Factor(f)) => {
            let states = &net.factors[f].states;
            Parent::Factor(f, states.iter().position(|s| Some(&**s) == state).expect("state"))
        }
        Some(Variable::Fault(f)) => Parent::Fault(f),
        other => panic!("{id} is {other:?}"),
    };
    assert_eq!(net.factors.len(), k.factors.len());
    assert_eq!(net.faults.len(), k.faults.len());
    assert_eq!(net.observations.len(), k.observations.len());
    for f in &k.factors {
        let m = &net.factors[index.factor(&f.id).expect("factor")];
        assert_eq!(m.states, f.states.iter().map(|s| s.id.clone()).collect::<Vec<_>>());
        assert_eq!(m.prior, f.states.iter().map(|s| s.prior).collect::<Vec<_>>());
    }
    for f in &k.faults {
        let m = &net.faults[index.fault(&f.id).expect("fault")];
        assert_eq!(m.leak, f.leak);
        let wanted: Vec<(Parent, f64)> =
            (f.causes.iter()).map(|c| (parent(&c.by.parent, c.by.state.as_deref()), c.strength)).collect();
        assert_eq!(m.causes, wanted, "{}", f.id);
    }
    for o in &k.observations {
        let m = &net.observations[index.observation(&o.id).expect("observation")];
        assert_eq!(m.leak, o.states.iter().map(|s| s.leak).collect::<Vec<_>>());
        let factors = k.factors.iter().map(|f| (&f.id, &f.shows));
        let mut wanted: Vec<(Parent, Vec<f64>)> = factors
            .chain(k.faults.iter().map(|f| (&f.id, &f.shows)))
            .flat_map(|(id, shows)| shows.iter().map(move |s| (id, s)))
            .filter(|(_, s)| s.observation == o.id)
            .map(|(id, s)| (parent(id, s.state.as_deref()), s.effect.clone()))
            .collect();
        let mut found = m.causes.clone();
        let key = |x: &(Parent, Vec<f64>)| x.0;
        wanted.sort_by_key(key);
        found.sort_by_key(key);
        assert_eq!(found, wanted, "{}", o.id);
    }
    assert_causes_first(net);
}

pub fn assert_causes_first(net: &BeliefNet) {
    for (i, f) in net.faults.iter().enumerate() {
        for (p, _) in &f.causes {
            if let Parent::Fault(p) = p {
                assert!(*p < i, "{} stands at {i}, its cause at {p}", f.id);
            }
        }
    }
}

fn ids(net: &DecisionNetwork, part: &Part) -> BTreeSet<String> {
    part.nodes.iter().map(|&n| net.graph()[n].id.clone()).collect()
}

fn links(net: &DecisionNetwork, part: &Part) -> BTreeSet<(String, String)> {
    let ends = part.links.iter().filter_map(|&e| net.graph().edge_endpoints(e));
    ends.map(|(a, b)| (net.graph()[a].id.clone(), net.graph()[b].id.clone())).collect()
}

fn set(list: &[&str]) -> BTreeSet<String> {
    list.iter().map(|s| s.to_string()).collect()
}

#[test]
fn every_entry_is_a_typed_node_with_its_index() {
    let k = knowledge();
    let net = compile(&k);
    let total = k.factors.len()
        + k.faults.len()
        + k.observations.len()
        + k.repairs.len()
        + k.scopes.len()
        + k.cautions.len();
    assert_eq!(net.graph().node_count(), total);
    let node = |kind, id| &net.graph()[net.node(kind, id).expect("node")];
    assert_eq!(node(NodeKind::Fault, "rusty").index, 2);
    assert_eq!(node(NodeKind::Scope, "large").index, 1);
    assert_eq!(node(NodeKind::Caution, "hands").index, 1);
    assert_eq!(net.node(NodeKind::Factor, "rusty"), None);
    assert_eq!(net.find("no-such-id"), None);
}

#[test]
fn links_carry_what_the_knowledge_says() {
    let net = compile(&knowledge());
    let between = |a: &str, b: &str| -> Vec<Link> {
        let (a, b) = (net.find(a).expect("a"), net.find(b).expect("b"));
        let mut links: Vec<_> =
            net.graph().edges_connecting(a, b).map(|e| (e.id(), e.weight().clone())).collect();
        links.sort_by_key(|(e, _)| *e);
        links.into_iter().map(|(_, l)| l).collect()
    };
    let causes = |state, strength| Link::Causes { state, strength };
    assert_eq!(between("water", "rusty"), [causes(Some(1), 0.2), causes(Some(2), 0.75)]);
    assert_eq!(between("weak-spring", "burnt"), [causes(None, 0.5)]);
    assert_eq!(between("water", "rust"), [Link::Shows { state: Some(2), effect: vec![0.4, 0.5, 0.1] }]);
    assert_eq!(between("burnt", "sparks"), [Link::Shows { state: None, effect: vec![0.1, 0.9] }]);
    assert_eq!(between("rusty", "wipe"), [Link::RemovedBy { sureness: 0.4 }]);
    assert_eq!(between("wipe", "large"), [Link::BelongsTo { always: true }]);
    assert_eq!(between("new-spring", "large"), [Link::BelongsTo { always: false }]);
    assert_eq!(between("new-spring", "eyes"), [Link::CallsFor { step: Some(1) }]);
    assert_eq!(between("sparks", "eyes"), [Link::CallsFor { step: None }]);
    assert_eq!(between("undersize", "large"), [Link::Blocks { limit: 1 }]);
    assert_eq!(between("rust", "large"), [Link::Blocks { limit: 2 }]);
    assert!(!petgraph::algo::is_cyclic_directed(net.graph()));
}

#[test]
fn the_belief_network_holds_the_same_numbers() {
    let k = knowledge();
    assert_parity(&k, compile(&k).belief());
}

#[test]
fn causes_come_first_in_any_order_of_the_files() {
    let mut k = knowledge();
    for _ in 0..k.faults.len() {
        k.faults.rotate_left(1);
        let net = compile(&k);
        assert_parity(&k, net.belief());
        let order: Vec<&str> = net.fault_order().iter().map(|&n| &*net.graph()[n].id).collect();
        let belief: Vec<&str> = net.belief().faults.iter().map(|f| &*f.id).collect();
        assert_eq!(order, belief);
    }
}

#[test]
#[should_panic(expected = "faults cause each other in a circle")]
fn a_circle_of_faults_is_refused() {
    let mut k = knowledge();
    let back = k.faults[0].causes[0].clone();
    k.faults[1].causes.push(commsense::knowledge::Cause {
        by: commsense::knowledge::ParentRef { parent: "burnt".to_owned(), state: None },
        ..back
    });
    compile(&k);
}

#[test]
fn a_fault_stands_among_causes_signs_cures_and_their_scopes() {
    let net = compile(&knowledge());
    let part = net.neighbourhood("rusty", None).expect("part");
    assert_eq!(ids(&net, &part), set(&["water", "rusty", "burnt", "rust", "cut", "wipe", "small", "large"]));
    // Rust is also a sign of water, but that is no step to or from the fault.
    assert!(!links(&net, &part).contains(&("water".to_owned(), "rust".to_owned())));
    let step = |id: &str| part.steps[&net.find(id).expect("id")];
    assert_eq!([step("water"), step("rusty"), step("burnt"), step("large")], [-1, 0, 1, 2]);
    // Both states of the water that cause rust are there.
    let water = part.links.iter().filter(|&&e| net.graph()[e].is_cause()).count();
    assert_eq!(water, 3);
}

#[test]
fn depth_counts_steps_each_way() {
    let net = compile(&knowledge());
    let at = |id: &str, depth| ids(&net, &net.neighbourhood(id, Some(depth)).expect("part"));
    assert_eq!(at("burnt", 0), set(&["burnt"]));
    assert_eq!(at("burnt", 1), set(&["weak-spring", "rusty", "burnt", "sparks", "power", "cut", "large"]));
    let two = at("burnt", 2);
    assert!(two.is_superset(&set(&["water", "load"])), "{two:?}");
    // Never up and down again: the other cures of a cause stay away, and so do cautions of others.
    assert!(two.is_disjoint(&set(&["wipe", "new-spring", "rust", "eyes", "small"])), "{two:?}");
}

#[test]
fn an_observation_stands_after_what_shows_in_it() {
    let net = compile(&knowledge());
    let part = net.neighbourhood("power", None).expect("part");
    assert_eq!(ids(&net, &part), set(&["burnt", "weak-spring", "power"]));
    let part = net.neighbourhood("sparks", None).expect("part");
    assert_eq!(ids(&net, &part), set(&["burnt", "sparks", "eyes"]));
}

#[test]
fn a_scope_stands_after_its_repairs_their_faults_and_its_limits() {
    let net = compile(&knowledge());
    let part = net.neighbourhood("large", None).expect("part");
    assert_eq!(
        ids(&net, &part),
        set(&["large", "cut", "wipe", "new-spring", "burnt", "rusty", "weak-spring", "undersize", "rust"])
    );
    let step = |id: &str| part.steps[&net.find(id).expect("id")];
    assert_eq!([step("cut"), step("rusty"), step("undersize"), step("rust")], [-1, -2, -1, -1]);
    // What shows in a limit is no part of the scope.
    assert!(!links(&net, &part).contains(&("rusty".to_owned(), "rust".to_owned())));
}

#[test]
fn what_is_not_in_the_network_has_no_neighbourhood() {
    let net = compile(&knowledge());
    assert_eq!(net.neighbourhood("no-such-id", None), None);
    let alone = net.neighbourhood("unused", Some(9)).expect("part");
    assert_eq!((alone.nodes.len(), alone.links.len()), (1, 0));
}
