use super::*;
use crate::present::text::{Page, Text};

fn sample() -> Curves {
    let motor = Motor::from_no_load(7.2, 2.0, 20_000.0, 0.1).unwrap();
    Curves::of(&motor, 7.2, Some(motor.at_torque(7.2, 0.06).unwrap())).unwrap()
}

#[test]
fn the_picture_in_characters_is_low_and_narrow_and_says_its_scales() {
    let lines = characters(&sample());
    assert!(lines.len() <= 12);
    let mut text = Text::new();
    text.drawing(lines);
    let drawn = text.render(&Page::plain(80));
    assert!(drawn.lines().all(|l| l.chars().count() <= 72), "{drawn}");
    assert!(drawn.is_ascii(), "{drawn}");
    for sign in ["*", "+", ".", "O where it works", "to 122.5 W", "to 20000 rpm", "234 mNm torque"] {
        assert!(drawn.contains(sign), "{sign}\n{drawn}");
    }
    // Best efficiency, 69 %, stands near two thirds of the height and far to the left.
    let row = drawn.lines().position(|l| l.contains("***")).unwrap();
    assert!((2..=4).contains(&row), "{drawn}");
}

#[test]
fn the_svg_is_sound_and_escapes_its_title() {
    let svg = svg(&sample(), "A <motor> & \"more\"").unwrap();
    let document = roxmltree::Document::parse(&svg).unwrap();
    let words: Vec<&str> = document.descendants().filter_map(|n| n.text()).collect();
    assert!(words.iter().any(|w| w.contains("A <motor> & \"more\" at 7.2 V")), "{words:?}");
    assert!(words.iter().any(|w| w.contains("best 69.4 % at 17143 rpm")), "{words:?}");
    assert!(document.descendants().filter(|n| n.has_tag_name("polyline")).count() >= 4);
    assert!(document.descendants().filter(|n| n.has_tag_name("circle")).count() >= 3);
    assert!(!svg.contains("http://") || svg.matches("http").count() == 1, "nothing from outside");
}
