//! Pictures in DOT, read back by a small parser of the language.

use std::collections::BTreeSet;

use commsense::network::compile;
use commsense::present::{Format, draw};

use crate::fixture::{HOSTILE, knowledge};

#[derive(Debug, PartialEq, Clone)]
enum Token {
    Word(String),
    Quoted(String),
    Sign(&'static str),
}

fn tokens(text: &str) -> Vec<Token> {
    let mut out = Vec::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            c if c.is_whitespace() => assert!(c == ' ' || c == '\n', "{c:?}"),
            '"' => {
                let mut s = String::new();
                loop {
                    match chars.next().expect("an open string") {
                        '"' => break,
                        '\\' => match chars.next().expect("an open escape") {
                            'n' => s.push('\n'),
                            c @ ('"' | '\\') => s.push(c),
                            c => panic!("the escape \\{c} means something to a layout program"),
                        },
                        '\n' => panic!("a line end in a string"),
                        c => s.push(c),
                    }
                }
                out.push(Token::Quoted(s.replace("&amp;", "&")));
            }
            '-' => {
                assert_eq!(chars.next(), Some('>'));
                out.push(Token::Sign("->"));
            }
            '{' => out.push(Token::Sign("{")),
            '}' => out.push(Token::Sign("}")),
            '[' => out.push(Token::Sign("[")),
            ']' => out.push(Token::Sign("]")),
            ';' => out.push(Token::Sign(";")),
            ',' => out.push(Token::Sign(",")),
            '=' => out.push(Token::Sign("=")),
            c if c.is_ascii_alphanumeric() || c == '.' => {
                let mut s = c.to_string();
                while let Some(&c) = chars.peek().filter(|c| c.is_ascii_alphanumeric() || **c == '.') {
                    s.push(c);
                    chars.next();
                }
                out.push(Token::Word(s));
            }
            c => panic!("{c:?} outside a string"),
        }
    }
    out
}

type Attributes = Vec<(String, String)>;

/// What a DOT text declares: nodes with their attributes, links with theirs, and the nodes that stand in
/// each `rank=same`.
#[derive(Debug, Default)]
struct Dot {
    nodes: Vec<(String, Attributes)>,
    links: Vec<(String, String, Attributes)>,
    ranks: Vec<Vec<String>>,
}

fn parse(text: &str) -> Dot {
    use Token::{Quoted, Sign, Word};
    let tokens = tokens(text);
    let mut dot = Dot::default();
    assert_eq!(tokens[..2], [Word("digraph".into()), Word("commsense".into())]);
    let mut i = 2;
    let mut depth = 0;
    let attributes = |i: &mut usize| {
        let mut out = Vec::new();
        assert_eq!(tokens[*i], Sign("["));
        *i += 1;
        loop {
            let Word(key) = &tokens[*i] else { panic!("{:?} is no attribute", tokens[*i]) };
            assert_eq!(tokens[*i + 1], Sign("="));
            let (Word(value) | Quoted(value)) = &tokens[*i + 2] else { panic!("no value of {key}") };
            out.push((key.clone(), value.clone()));
            *i += 4;
            match &tokens[*i - 1] {
                Sign(",") => {}
                Sign("]") => break,
                other => panic!("{other:?} after an attribute"),
            }
        }
        assert_eq!(tokens[*i], Sign(";"));
        *i += 1;
        out
    };
    while i < tokens.len() {
        match &tokens[i] {
            Sign("{") => {
                depth += 1;
                i += 1;
                if tokens[i] == Word("rank".into()) {
                    assert_eq!(tokens[i + 1..i + 4], [Sign("="), Word("same".into()), Sign(";")]);
                    dot.ranks.push(Vec::new());
                    i += 4;
                }
            }
            Sign("}") => {
                depth -= 1;
                i += 1;
            }
            Word(w) if ["graph", "node", "edge"].contains(&&**w) => {
                i += 1;
                attributes(&mut i);
            }
            Quoted(name) if tokens[i + 1] == Sign("->") => {
                let Quoted(to) = &tokens[i + 2] else { panic!("a link to {:?}", tokens[i + 2]) };
                i += 3;
                dot.links.push((name.clone(), to.clone(), attributes(&mut i)));
            }
            Quoted(name) => {
                i += 1;
                let attributes = attributes(&mut i);
                if let Some(rank) = dot.ranks.last_mut() {
                    rank.push(name.clone());
                }
                dot.nodes.push((name.clone(), attributes));
            }
            other => panic!("{other:?} begins no statement"),
        }
    }
    assert_eq!(depth, 0);
    dot
}

fn drawn(id: Option<&str>) -> String {
    let k = knowledge();
    draw(&k, &compile(&k), id, None, Format::Dot).expect("picture")
}

fn attribute<'a>(list: &'a [(String, String)], key: &str) -> &'a str {
    &list.iter().find(|(k, _)| k == key).unwrap_or_else(|| panic!("no {key} in {list:?}")).1
}

#[test]
fn the_whole_has_every_node_and_link_once() {
    let k = knowledge();
    let net = compile(&k);
    let dot = parse(&drawn(None));
    let names: BTreeSet<&String> = dot.nodes.iter().map(|(n, _)| n).collect();
    assert_eq!(names.len(), net.graph().node_count());
    assert_eq!(dot.nodes.len(), net.graph().node_count());
    assert_eq!(dot.links.len(), net.graph().edge_count());
    for (from, to, _) in &dot.links {
        assert!(names.contains(from) && names.contains(to), "{from} -> {to}");
    }
}

#[test]
fn names_label_the_nodes_and_chances_the_links() {
    let dot = parse(&drawn(Some("rusty")));
    let node = dot.nodes.iter().find(|(n, _)| n == "fault:rusty").expect("rusty");
    assert_eq!(attribute(&node.1, "label").replace('\n', " "), "Rust and verdigris on the bars");
    let labels: Vec<&str> = (dot.links.iter())
        .filter(|(from, ..)| from == "factor:water")
        .map(|(_, _, a)| attribute(a, "label"))
        .collect();
    assert_eq!(labels, ["if splashed: 20\u{a0}% (uncertain)", "if sunk: 75\u{a0}% (expected)"]);
    // One rank for each step: water; rusty; burnt, rust, cut, wipe; small, large.
    assert_eq!(dot.ranks.iter().map(Vec::len).collect::<Vec<_>>(), [1, 1, 4, 2]);
}

#[test]
fn a_hostile_name_stays_inside_its_string() {
    let text = drawn(Some("burnt"));
    assert!(text.chars().all(|c| c == '\n' || !c.is_control()), "{text}");
    let dot = parse(&text);
    let node = dot.nodes.iter().find(|(n, _)| n == "fault:burnt").expect("burnt");
    let label = attribute(&node.1, "label").replace(['\n', ' '], "");
    let wanted: String = HOSTILE
        .chars()
        .filter(|c| *c != ' ')
        .map(|c| if c.is_control() || c == '\u{202e}' { '\u{fffd}' } else { c })
        .collect();
    assert_eq!(label, wanted);
}

#[test]
fn the_same_knowledge_gives_the_same_text() {
    for id in [None, Some("rusty"), Some("large")] {
        assert_eq!(drawn(id), drawn(id));
    }
}
