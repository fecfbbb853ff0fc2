//! Finished pictures, read back as XML.

use commsense::knowledge::Knowledge;
use commsense::network::{DecisionNetwork, NodeKind, compile};
use commsense::present::svg::text::{Font, clean};
use commsense::present::{Format, draw};
use roxmltree::{Document, Node};

use crate::fixture::{HOSTILE, knowledge};

/// A box: left, top, right, bottom.
type Area = [f64; 4];

fn drawn(k: &Knowledge, net: &DecisionNetwork, id: Option<&str>, depth: Option<usize>) -> String {
    draw(k, net, id, depth, Format::Svg).expect("picture")
}

fn number(node: Node<'_, '_>, name: &str) -> f64 {
    let text = node.attribute(name).unwrap_or_else(|| panic!("no {name} in {node:?}"));
    text.parse().unwrap_or_else(|_| panic!("{name} is {text:?}"))
}

fn is_class(node: &Node<'_, '_>, class: &str) -> bool {
    node.attribute("class").is_some_and(|c| c.split(' ').any(|c| c == class))
}

/// The area that a text takes at most, turned texts and shifted legends included.
fn text_area(node: Node<'_, '_>) -> Area {
    let size = number(node, "font-size");
    let font =
        if node.attribute("font-weight") == Some("bold") { Font::bold(size) } else { Font::plain(size) };
    let width = font.width(node.text().unwrap_or_default());
    let (x, y) = (number(node, "x"), number(node, "y"));
    if let Some(transform) = node.attribute("transform") {
        let inside = transform.strip_prefix("translate(").and_then(|t| t.strip_suffix(") rotate(-90)"));
        let (dx, dy) = inside.and_then(|t| t.split_once(' ')).expect("a turned text");
        let (dx, dy): (f64, f64) = (dx.parse().expect("dx"), dy.parse().expect("dy"));
        return [dx - 0.75 * size, dy - width, dx + 0.25 * size, dy];
    }
    let left = match node.attribute("text-anchor") {
        Some("end") => x - width,
        Some("middle") => x - width / 2.0,
        _ => x,
    };
    [left, y - 0.75 * size, left + width, y + 0.25 * size]
}

fn rect_area(node: Node<'_, '_>) -> Area {
    let (x, y) = (number(node, "x"), number(node, "y"));
    [x, y, x + number(node, "width"), y + number(node, "height")]
}

fn inside(inner: Area, outer: Area) -> bool {
    let slack = 0.11;
    inner[0] >= outer[0] - slack
        && inner[1] >= outer[1] - slack
        && inner[2] <= outer[2] + slack
        && inner[3] <= outer[3] + slack
}

fn overlap(a: Area, b: Area) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// What holds for every picture; returns the number of its boxes.
pub fn assert_sound(text: &str, what: &str) -> usize {
    let doc = Document::parse(text).unwrap_or_else(|e| panic!("{what}: {e}"));
    let root = doc.root_element();
    assert!(root.has_tag_name(("http://www.w3.org/2000/svg", "svg")), "{what}");
    let view: Vec<f64> =
        root.attribute("viewBox").expect("viewBox").split(' ').map(|n| n.parse().expect("number")).collect();
    let view: Area = [view[0], view[1], view[2], view[3]];
    let first: Vec<&str> =
        root.children().filter(Node::is_element).map(|n| n.tag_name().name()).take(2).collect();
    assert_eq!(first, ["title", "desc"], "{what}");
    for node in doc.descendants().filter(Node::is_element) {
        let name = node.tag_name().name();
        assert!(
            !["script", "image", "use", "foreignObject", "a", "style-sheet"].contains(&name),
            "{what}: {name}"
        );
        for a in node.attributes() {
            assert!(!a.name().starts_with("on") && a.name() != "href", "{what}: {}", a.name());
            assert!(!a.value().contains("url("), "{what}: {}", a.value());
        }
        if name == "style" {
            let style = node.text().unwrap_or_default();
            assert!(!style.contains("@import") && !style.contains("url("), "{what}: {style}");
        }
    }
    let texts: Vec<Node<'_, '_>> = doc.descendants().filter(|n| n.has_tag_name("text")).collect();
    assert!(!texts.is_empty(), "{what}");
    let in_legend = |n: &Node<'_, '_>| n.ancestors().any(|a| is_class(&a, "legend"));
    for t in &texts {
        assert!(inside(text_area(*t), view), "{what}: {:?} leaves the picture", t.text());
    }
    for (i, a) in texts.iter().enumerate() {
        for b in &texts[i + 1..] {
            let (x, y) = (text_area(*a), text_area(*b));
            assert!(!overlap(x, y), "{what}: {:?} {x:?} lies on {:?} {y:?}", a.text(), b.text());
        }
    }
    let boxes: Vec<Node<'_, '_>> = doc.descendants().filter(|n| is_class(n, "box")).collect();
    for (i, b) in boxes.iter().enumerate() {
        let area = rect_area(*b);
        assert!(inside(area, view), "{what}: a box leaves the picture");
        for other in &boxes[i + 1..] {
            assert!(!overlap(area, rect_area(*other)), "{what}: boxes overlap");
        }
        let group = b.parent().expect("group");
        let mut labels = 0;
        for t in group.children().filter(|n| n.has_tag_name("text")) {
            assert!(inside(text_area(t), area), "{what}: {:?} leaves its box", t.text());
            labels += 1;
        }
        assert!(labels > 0, "{what}: a box without a label");
        // No text but its own lies on a box.
        for t in texts.iter().filter(|t| t.parent() != Some(group) && !in_legend(t)) {
            assert!(!overlap(text_area(*t), area), "{what}: {:?} lies on a box", t.text());
        }
    }
    boxes.len()
}

#[test]
fn every_part_is_sound_and_has_a_box_for_each_node() {
    let k = knowledge();
    let net = compile(&k);
    for node in net.graph().node_weights() {
        for depth in [None, Some(0), Some(2), Some(9)] {
            let part = net.neighbourhood(&node.id, depth).expect("part");
            let text = drawn(&k, &net, Some(&node.id), depth);
            let boxes = assert_sound(&text, &format!("{} {depth:?}", node.id));
            assert_eq!(boxes, part.nodes.len(), "{} {depth:?}", node.id);
            let links =
                Document::parse(&text).expect("xml").descendants().filter(|n| is_class(n, "link")).count();
            assert_eq!(links, part.links.len(), "{} {depth:?}", node.id);
        }
    }
}

#[test]
fn boxes_stand_left_to_right_from_cause_to_effect() {
    let k = knowledge();
    let net = compile(&k);
    let text = drawn(&k, &net, Some("rusty"), None);
    let doc = Document::parse(&text).expect("xml");
    let left = |id: &str| {
        let node = doc.descendants().find(|n| {
            is_class(n, "node")
                && n.children().any(|c| c.has_tag_name("title") && c.text().unwrap_or("").contains(id))
        });
        let group = node.unwrap_or_else(|| panic!("no box of {id}"));
        number(group.children().find(|c| is_class(c, "box")).expect("box"), "x")
    };
    assert!(left("factor water") < left("fault rusty"));
    assert!(left("fault rusty") < left("observation rust"));
    assert!(left("repair cut") < left("scope large"));
    assert_eq!(left("repair cut"), left("observation rust"));
}

#[test]
fn the_strongest_signs_stand_first_and_say_their_chances() {
    let k = knowledge();
    let net = compile(&k);
    let text = drawn(&k, &net, Some("burnt"), None);
    let doc = Document::parse(&text).expect("xml");
    let words: Vec<&str> =
        doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    let at = |word: &str| {
        words.iter().position(|w| *w == word).unwrap_or_else(|| panic!("no {word} in {words:?}"))
    };
    assert!(at("Look of sparks") < at("Look of power"));
    assert_eq!(words[at("Look of sparks") + 1], "yes\u{a0}90\u{a0}%");
    assert_eq!(words[at("Look of power") + 1], "some\u{a0}50\u{a0}%, severe\u{a0}20\u{a0}%");
}

#[test]
fn the_whole_has_a_mark_where_two_are_linked() {
    let k = knowledge();
    let net = compile(&k);
    let text = drawn(&k, &net, None, None);
    assert_sound(&text, "whole");
    let doc = Document::parse(&text).expect("xml");
    let titles: Vec<&str> = doc
        .descendants()
        .filter(|n| is_class(n, "mark"))
        .filter_map(|n| n.children().find(|c| c.has_tag_name("title"))?.text())
        .collect();
    // Causes: water and load on rusty and weak-spring, two faults on burnt. Signs: four of faults, one of
    // history. Cures: four. Scopes: small two, large three, and one that undersize blocks.
    assert_eq!(titles.len(), 4 + 5 + 4 + 6, "{titles:#?}");
    let has = |parts: &[&str]| titles.iter().any(|t| parts.iter().all(|p| t.contains(p)));
    assert!(has(&["History of water", "if splashed", "if sunk", "75\u{a0}%"]));
    assert!(has(&["Scope large can remove Rust and verdigris", "95\u{a0}%", "Do cut"]));
    assert!(has(&["Too small blocks Scope large"]));
}

#[test]
fn a_hostile_name_is_shown_and_does_nothing() {
    let k = knowledge();
    let net = compile(&k);
    for id in [Some("burnt"), Some("sparks"), None] {
        let text = drawn(&k, &net, id, None);
        assert!(text.chars().all(|c| c == '\n' || !c.is_control()));
        let doc = Document::parse(&text).expect("xml");
        assert_eq!(doc.descendants().filter(|n| n.has_tag_name("b")).count(), 0);
        let titles = doc.descendants().filter(|n| n.has_tag_name("title")).filter_map(|n| n.text());
        assert!(titles.into_iter().any(|t| t.contains(&clean(HOSTILE))), "{id:?}");
    }
}

#[test]
fn long_words_and_wide_letters_stay_in_their_boxes() {
    let mut k = knowledge();
    k.faults[0].name = "W".repeat(120);
    k.faults[1].name = "整流子の表面が黒く焼けている".repeat(4);
    k.faults[2].group = "a-group-with-a-name-that-is-much-wider-than-its-columns".to_owned();
    k.observations[0].name = String::new();
    let net = compile(&k);
    for id in [None, Some("burnt"), Some("weak-spring"), Some("power"), Some("large")] {
        assert_sound(&drawn(&k, &net, id, None), &format!("{id:?}"));
    }
}

#[test]
fn a_crowd_is_drawn_in_wide_boxes() {
    let mut k = knowledge();
    for i in 0..40 {
        let mut fault = k.faults[1].clone();
        fault.id = format!("extra-{i}");
        fault.name = format!("Another fault, number {i}");
        k.faults.push(fault);
    }
    let net = compile(&k);
    let text = drawn(&k, &net, Some("power"), None);
    assert_eq!(assert_sound(&text, "crowd"), 43);
    assert_sound(&drawn(&k, &net, None, None), "crowded whole");
}

#[test]
fn an_empty_knowledge_base_still_gives_a_picture() {
    let k = Knowledge::default();
    assert_eq!(assert_sound(&drawn(&k, &compile(&k), None, None), "empty"), 0);
}

#[test]
fn the_same_knowledge_gives_the_same_picture() {
    let k = knowledge();
    let ids = || compile(&k).graph().node_weights().map(|n| Some(n.id.clone())).collect::<Vec<_>>();
    for id in ids().into_iter().chain([None]) {
        let once = drawn(&k, &compile(&k), id.as_deref(), Some(2));
        assert_eq!(once, drawn(&k, &compile(&k), id.as_deref(), Some(2)), "{id:?}");
    }
    assert!(NodeKind::ALL.iter().all(|kind| compile(&k).graph().node_weights().any(|n| n.kind == *kind)));
}
