//! The knowledge that ships with the program, compiled and drawn.

use std::sync::OnceLock;

use commsense::knowledge::{Knowledge, builtin, line_form};
use commsense::network::{BeliefNet, Export, compile};
use commsense::present::{Format, draw};

use crate::graph::assert_parity;
use crate::svg::assert_sound;

#[path = "../knowledge/units.rs"]
mod units;

fn knowledge() -> &'static Knowledge {
    static KNOWLEDGE: OnceLock<Knowledge> = OnceLock::new();
    KNOWLEDGE.get_or_init(|| {
        builtin(&units::Units).unwrap_or_else(|loaded| {
            let lines: Vec<String> = loaded.diagnostics.iter().map(|d| line_form(d, &loaded.files)).collect();
            panic!("{}", lines.join("\n"))
        })
    })
}

#[test]
fn its_numbers_are_those_of_the_network() {
    assert_parity(knowledge(), compile(knowledge()).belief());
}

#[test]
fn its_export_reads_back() {
    let net = compile(knowledge());
    assert_eq!(&BeliefNet::from_export(&net.export()).expect("network"), net.belief());
    let text = serde_json::to_string(&net.export()).expect("json");
    let read: Export = serde_json::from_str(&text).expect("export");
    let read = BeliefNet::from_export(&read).expect("network");
    // A number may come back from text with its last bit changed.
    let near = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| (a - b).abs() <= 1e-15);
    for (a, b) in read.observations.iter().zip(&net.belief().observations) {
        assert!(near(&a.leak, &b.leak), "{}", a.id);
        assert!(a.causes.iter().zip(&b.causes).all(|(a, b)| a.0 == b.0 && near(&a.1, &b.1)), "{}", a.id);
    }
    let ids = |net: &BeliefNet| net.faults.iter().map(|f| f.id.clone()).collect::<Vec<_>>();
    assert_eq!(ids(&read), ids(net.belief()));
}

#[test]
fn every_part_of_it_makes_a_sound_picture() {
    let net = compile(knowledge());
    for node in net.graph().node_weights() {
        let part = net.neighbourhood(&node.id, None).expect("part");
        let text = draw(knowledge(), &net, Some(&node.id), None, Format::Svg).expect("picture");
        assert_eq!(assert_sound(&text, &node.id), part.nodes.len(), "{}", node.id);
    }
}

#[test]
fn the_whole_of_it_makes_a_sound_picture() {
    let net = compile(knowledge());
    let text = draw(knowledge(), &net, None, None, Format::Svg).expect("picture");
    assert_sound(&text, "whole");
    for fault in &knowledge().faults {
        assert!(text.contains(&fault.id) || text.contains(&fault.name), "{}", fault.id);
    }
}
