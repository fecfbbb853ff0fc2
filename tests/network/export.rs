//! The document that other programs read.

use commsense::network::export::ExportError;
use commsense::network::{BeliefNet, Export, compile};
use serde_json::{Value, json};

use crate::fixture::knowledge;
use crate::graph::assert_causes_first;

fn export() -> Export {
    compile(&knowledge()).export()
}

/// The export with one change made to its JSON.
fn changed(change: impl FnOnce(&mut Value)) -> Result<BeliefNet, ExportError> {
    let mut json = serde_json::to_value(export()).expect("json");
    change(&mut json);
    BeliefNet::from_export(&serde_json::from_value(json).expect("export"))
}

/// The place of a fault in the export.
fn fault(json: &Value, id: &str) -> usize {
    json["faults"].as_array().expect("faults").iter().position(|f| f["id"] == id).expect("fault")
}

#[test]
fn the_shape_is_that_of_the_contract() {
    let json = serde_json::to_value(export()).expect("json");
    let keys = |v: &Value| v.as_object().expect("object").keys().cloned().collect::<Vec<_>>();
    assert_eq!(keys(&json), ["format", "factors", "faults", "observations"]);
    assert_eq!(json["format"], "commsense/network/1");
    assert_eq!(
        json["factors"][0],
        json!({"id": "water", "states": ["none", "splashed", "sunk"], "prior": [0.7, 0.2, 0.1]})
    );
    let rusty = &json["faults"][fault(&json, "rusty")];
    assert_eq!(keys(rusty), ["id", "leak", "causes"]);
    assert_eq!(rusty["leak"], 0.002);
    assert_eq!(
        rusty["causes"],
        json!([{"parent": "water", "state": "splashed", "strength": 0.2},
               {"parent": "water", "state": "sunk", "strength": 0.75}])
    );
    let burnt = &json["faults"][fault(&json, "burnt")];
    assert_eq!(burnt["causes"][0], json!({"parent": "weak-spring", "state": null, "strength": 0.5}));
    assert_eq!(
        json["observations"][2],
        json!({"id": "rust", "states": ["none", "some", "heavy"], "leak": [0.97, 0.02, 0.01],
               "causes": [{"parent": "water", "state": "sunk", "effect": [0.4, 0.5, 0.1]},
                          {"parent": "rusty", "state": null, "effect": [0.1, 0.2, 0.7]}]})
    );
    assert_eq!(keys(&json["observations"][2]), ["id", "states", "leak", "causes"]);
}

#[test]
fn reading_it_back_gives_the_same_network() {
    let net = compile(&knowledge());
    let text = serde_json::to_string(&net.export()).expect("json");
    let read: Export = serde_json::from_str(&text).expect("export");
    assert_eq!(&BeliefNet::from_export(&read).expect("network"), net.belief());
}

#[test]
fn faults_may_stand_in_any_order() {
    let mut export = export();
    export.faults.reverse();
    let net = BeliefNet::from_export(&export).expect("network");
    assert_causes_first(&net);
    let mut again = Export::from(&net);
    let by_id = |e: &mut Export| e.faults.sort_by(|a, b| a.id.cmp(&b.id));
    by_id(&mut again);
    by_id(&mut export);
    assert_eq!(again, export);
}

#[test]
fn what_is_no_network_is_refused() {
    use ExportError as E;
    let refused = |change: fn(&mut Value)| changed(change).expect_err("refused");
    assert!(matches!(refused(|j| j["format"] = json!("x/2")), E::Format { found } if found == "x/2"));
    assert!(matches!(refused(|j| j["factors"][0]["id"] = json!("power")), E::Twice { id } if id == "power"));
    let i = |j: &Value| fault(j, "burnt");
    let unknown = changed(|j| {
        let i = i(j);
        j["faults"][i]["causes"][0]["parent"] = json!("nobody");
    });
    assert!(
        matches!(unknown, Err(E::UnknownParent { child, parent }) if child == "burnt" && parent == "nobody")
    );
    let state = changed(|j| {
        let i = fault(j, "rusty");
        j["faults"][i]["causes"][0]["state"] = json!("soaked");
    });
    assert!(matches!(state, Err(E::State { state: Some(s), .. }) if s == "soaked"));
    let no_state = changed(|j| {
        let i = fault(j, "rusty");
        j["faults"][i]["causes"][0]["state"] = Value::Null;
    });
    assert!(matches!(no_state, Err(E::State { state: None, .. })));
    let fault_state = changed(|j| {
        let i = i(j);
        j["faults"][i]["causes"][0]["state"] = json!("yes");
    });
    assert!(matches!(fault_state, Err(E::State { .. })));
    assert!(
        matches!(refused(|j| j["faults"][0]["leak"] = json!(1.5)), E::Range { value, .. } if value == 1.5)
    );
    assert!(matches!(refused(|j| j["observations"][0]["leak"] = json!([0.5, 0.4])), E::Distribution { .. }));
    assert!(matches!(
        refused(|j| j["factors"][1]["prior"] = json!([1.0])),
        E::Distribution { found: 1, wanted: 2, .. }
    ));
    let circle = changed(|j| {
        let i = fault(j, "weak-spring");
        let back = json!({"parent": "burnt", "state": null, "strength": 0.1});
        j["faults"][i]["causes"].as_array_mut().expect("causes").push(back);
    });
    assert!(matches!(circle, Err(E::Circle { .. })));
    // An observation has no children.
    let child = changed(|j| {
        let i = i(j);
        j["faults"][i]["causes"][0]["parent"] = json!("rust");
    });
    assert!(matches!(child, Err(E::UnknownParent { .. })));
}

#[test]
fn a_key_that_is_not_in_the_contract_is_refused() {
    let mut json = serde_json::to_value(export()).expect("json");
    json["faults"][0]["prior"] = json!(0.5);
    assert!(serde_json::from_value::<Export>(json).is_err());
}
