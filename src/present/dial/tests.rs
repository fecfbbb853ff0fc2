use super::*;
use crate::present::text::{Page, Text, width};

fn dial(wanted: Turn, now: f64, goal: f64) -> Dial {
    Dial {
        from: "the shaft end".into(),
        wanted,
        step: 12.0,
        now: Some(now),
        goal: Some(goal),
        half_now: false,
        half_then: false,
        band: Some((goal - 3.0, goal + 3.0)),
    }
}

fn drawn(dial: &Dial, unicode: bool) -> String {
    let mut text = Text::new();
    text.drawing(characters(dial));
    text.render(&Page { unicode, ..Page::plain(80) })
}

#[test]
fn clockwise_is_to_the_right_of_the_top() {
    for (now, goal) in [(12.0, -12.0), (-12.0, 12.0), (0.0, 12.0), (24.0, 12.0)] {
        for unicode in [true, false] {
            let text = drawn(&dial(Turn::Ccw, now, goal), unicode);
            let column = |sign: char| {
                let rows = text.lines().skip(2).filter(|l| !l.contains("now:"));
                rows.filter_map(|l| l.chars().position(|c| c == sign)).next()
            };
            let (n, t) = (column('N').expect("now"), column('T').expect("the goal"));
            assert_eq!(n < t, now < goal, "{text}");
            let arrow = if goal > now { ['►', '>'] } else { ['◄', '<'] };
            assert!(text.lines().skip(2).any(|l| l.contains(arrow)), "{text}");
        }
    }
}

#[test]
fn the_wanted_rotation_passes_the_top_the_right_way() {
    let cw = drawn(&dial(Turn::Cw, 0.0, -12.0), true);
    let ccw = drawn(&dial(Turn::Ccw, 0.0, 12.0), true);
    assert!(cw.lines().nth(1).is_some_and(|l| l.trim_end().ends_with('►') && l.contains(" clockwise")));
    assert!(ccw.lines().nth(1).is_some_and(|l| l.trim_start().starts_with('◄') && l.contains("counter-")));
}

#[test]
fn it_is_small_enough_for_every_setting() {
    for step in [0.5, 1.0, 3.0, 5.0, 12.0, 15.0, 30.0, 45.0] {
        for now in -45..=45 {
            let d = Dial { step, half_now: now % 2 == 0, ..dial(Turn::Cw, f64::from(now), -12.0) };
            for unicode in [true, false] {
                let text = drawn(&d, unicode);
                assert!(text.lines().count() <= 15 && !text.is_empty(), "{}\n{text}", text.lines().count());
                assert!(text.lines().all(|l| width(l) <= 72), "{text}");
                assert!(unicode || text.is_ascii(), "{text}");
            }
        }
    }
}

#[test]
fn the_words_say_what_the_picture_shows() {
    let said = dial(Turn::Ccw, -12.0, 12.0).words();
    assert!(said.contains("wanted to turn counter-clockwise"), "{said}");
    assert!(said.contains("stands 12 deg counter-clockwise of the zero mark"), "{said}");
    assert!(said.contains("Turn it 24 deg clockwise, to 12 deg clockwise of the zero mark"), "{said}");
    let half = Dial { half_now: true, goal: None, ..dial(Turn::Cw, -12.0, 0.0) };
    assert!(
        half.words().contains("opposite the zero mark. It has to go half a turn round."),
        "{}",
        half.words()
    );
}

#[test]
fn the_picture_is_sound_xml_and_true_to_its_angles() {
    let picture = svg(&dial(Turn::Ccw, -12.0, 12.0));
    let document = roxmltree::Document::parse(&picture).expect("sound XML");
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let named =
        |name: &str| root.descendants().find(|x| x.has_tag_name(("http://www.w3.org/2000/svg", name)));
    assert!(
        named("title").is_some()
            && named("desc").is_some_and(|d| d.text().is_some_and(|t| t.contains("24 deg")))
    );
    let number = |x: roxmltree::Node, name: &str| x.attribute(name).and_then(|v| v.parse::<f64>().ok());
    let line = |ink: &str| {
        root.descendants()
            .filter(|x| {
                x.has_tag_name(("http://www.w3.org/2000/svg", "line")) && x.attribute("stroke") == Some(ink)
            })
            .filter_map(|x| Some((number(x, "x2")? - 320.0, 305.0 - number(x, "y2")?)))
            .find(|(_, up)| *up > 0.0)
            .map(|(right, up)| right.atan2(up).to_degrees())
            .expect("a pointer")
    };
    assert!((line("#B5460F") + 12.0).abs() < 0.1, "now is left of the top");
    assert!((line("#1F5F99") - 12.0).abs() < 0.1, "the goal is right of the top");
    for size in root.descendants().filter_map(|x| number(x, "font-size")) {
        assert!(size >= 14.0, "text of {size} is too small");
    }
}
