use proptest::prelude::*;

use super::*;

fn sample() -> Text {
    let mut t = Text::new();
    t.heading("Question 4 · at the counter · about 0.5 min");
    t.para(
        Styled::from("The ")
            .strong("brushes")
            .plain(" of this motor are worn to ")
            .warn("4.1 mm")
            .plain(", less than the spring can follow; see the figures below before anything is ordered."),
    );
    t.item(2, "1. ", "Unhook each spring with pliers and lift the brush out of its hood.");
    t.caution(2, "Springs fly. Wear eye protection.");
    t.blank().blank();
    t.bars(vec![
        Bar {
            label: Styled::new().fault("Worn-out brushes"),
            fraction: 0.62,
            note: Styled::from(percent(0.62)).plain(" ").with(movement(0.48, 0.62)),
        },
        Bar { label: Styled::new().fault("Weak springs"), fraction: 0.004, note: percent(0.004).into() },
    ]);
    let mut table = Table::new(&[("scope", Align::Left), ("cost", Align::Right)]);
    table.row(vec!["brush-service".into(), money(38.0).into()]);
    table.row(vec!["漢字 e\u{301} 🔧".into(), money(7.5).into()]);
    t.table(2, table);
    t.flow(2, ["d Don't know", "? Why do you ask?", "h How do I check it?"]);
    t
}

#[test]
fn eighty_columns() {
    assert_eq!(
        sample().render(&Page::plain(80)),
        "\
── Question 4 · at the counter · about 0.5 min ─────────────────────────────────
The brushes of this motor are worn to 4.1 mm, less than the spring can follow;
see the figures below before anything is ordered.
  1. Unhook each spring with pliers and lift the brush out of its hood.
  CAUTION: Springs fly. Wear eye protection.

Worn-out brushes  ██████████████▉           62 % ↑14
Weak springs      ▏                         <1 %
  scope          cost
  brush-service    38
  漢字 e\u{301} 🔧      7.50
  d Don't know   ? Why do you ask?   h How do I check it?
"
    );
}

#[test]
fn forty_columns_in_words() {
    assert_eq!(
        sample().render(&Page::words(40)),
        "\
Question 4 - at the counter - about
0.5 min
The brushes of this motor are worn to
4.1 mm, less than the spring can follow;
see the figures below before anything is
ordered.
  1. Unhook each spring with pliers and
     lift the brush out of its hood.
  CAUTION: Springs fly. Wear eye
           protection.

Worn-out brushes: 62 % up 14
Weak springs: <1 %
  scope          cost
  brush-service    38
  漢字 e\u{301} 🔧      7.50
  d Don't know   ? Why do you ask?
  h How do I check it?
"
    );
}

#[test]
fn a_wide_table_wraps_and_a_very_wide_one_becomes_a_list() {
    let mut table =
        Table::new(&[("scope", Align::Left), ("what it is", Align::Left), ("cost", Align::Right)]);
    table.row(vec!["brush-service".into(), "New brushes and springs, run in dry".into(), "38".into()]);
    let mut t = Text::new();
    t.table(0, table);
    assert_eq!(
        t.render(&Page::plain(40)),
        "\
scope          what it is           cost
brush-service  New brushes and        38
               springs, run in dry
"
    );
    assert_eq!(
        t.render(&Page::plain(26)),
        "\
brush-service
  what it is: New brushes
              and springs,
              run in dry
  cost: 38
"
    );
}

/// Removes colour sequences.
fn strip(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("\x1b[") {
        out.push_str(before);
        rest = after.split_once('m').map_or("", |(_, tail)| tail);
    }
    out + rest
}

#[test]
fn colour_adds_nothing_but_colour() {
    for width in [40, 80, 200] {
        let coloured = sample().render(&Page { colour: true, ..Page::plain(width) });
        assert!(coloured.contains("\x1b["));
        assert_eq!(strip(&coloured), sample().render(&Page::plain(width)));
    }
}

#[test]
fn every_style_is_told_apart() {
    use Style::*;
    let page = Page { colour: true, ..Page::plain(80) };
    let seen: std::collections::BTreeSet<String> =
        [Plain, Heading, Strong, Fault, Good, Warn, Muted, Caution]
            .map(|s| Text::from(Span::new(s, "x")).render(&page))
            .into();
    assert_eq!(seen.len(), 8);
}

#[test]
fn words_are_kept_whole_and_units_with_their_number() {
    let lines = wrap(&Styled::from("It drew 2.4 A at 7.2 V, unloaded"), 11, 11);
    let lines: Vec<String> = lines.iter().map(Styled::to_string).collect();
    assert_eq!(lines, ["It drew", "2.4 A at", "7.2 V,", "unloaded"]);
    let lines = wrap(&Styled::from("an-endless-word-without-blanks"), 12, 12);
    assert_eq!(
        lines.iter().map(Styled::to_string).collect::<Vec<_>>(),
        ["an-endless-w", "ord-without-", "blanks"]
    );
}

#[test]
fn styles_survive_the_break() {
    let lines = wrap(&Styled::from("one ").warn("two three").plain(" four"), 8, 8);
    assert_eq!(lines[0], Styled::from("one ").warn("two"));
    assert_eq!(lines[1], Styled::new().warn("three"));
    assert_eq!(lines[2], Styled::from("four"));
}

#[test]
fn percentages_never_claim_certainty() {
    for (p, shown) in [
        (0.0, "<1 %"),
        (1e-12, "<1 %"),
        (0.0099, "<1 %"),
        (0.01, "1 %"),
        (0.014, "1 %"),
        (0.145, "14 %"),
        (0.5, "50 %"),
        (0.99, "99 %"),
        (0.9901, ">99 %"),
        (1.0, ">99 %"),
        (f64::NAN, "not known"),
    ] {
        assert_eq!(percent(p), shown, "{p}");
    }
}

#[test]
fn times_and_amounts() {
    for (m, shown) in [
        (0.0, "<0.1 min"),
        (0.3, "0.3 min"),
        (1.0, "1 min"),
        (2.5, "2.5 min"),
        (9.96, "10 min"),
        (89.4, "89 min"),
        (60.0, "60 min"),
        (90.0, "1 h 30 min"),
        (120.0, "2 h"),
        (-1.0, "not known"),
        (f64::INFINITY, "not known"),
    ] {
        assert_eq!(minutes(m), shown, "{m}");
    }
    for (a, shown) in [
        (0.0, "0"),
        (-0.001, "0"),
        (0.8, "0.80"),
        (99.999, "100"),
        (100.4, "100"),
        (-7.5, "-7.50"),
        (f64::NAN, "not known"),
    ] {
        assert_eq!(money(a), shown, "{a}");
    }
}

#[test]
fn bars_show_a_trace_and_never_fill_up() {
    assert_eq!(bar(0.0, 8, true), "");
    assert_eq!(bar(1e-9, 8, true), "▏");
    assert_eq!(bar(0.5, 8, true), "████");
    assert_eq!(bar(0.999, 2, true), "█▉");
    assert_eq!(bar(1.0, 2, true), "██");
    assert_eq!(bar(0.999, 4, false), "###");
    assert_eq!(bar(f64::NAN, 4, false), "");
}

#[test]
fn movements_have_words() {
    let shown = |a, b, unicode| movement(a, b).on(&Page { unicode, ..Page::plain(80) }).text;
    assert_eq!(shown(0.2, 0.34, true), "↑14");
    assert_eq!(shown(0.2, 0.34, false), "up 14");
    assert_eq!(shown(0.5, 0.46, true), "↓4");
    assert_eq!(shown(0.5, 0.46, false), "down 4");
    assert_eq!(shown(0.5, 0.504, true), "");
}

#[test]
fn a_drawing_stands_line_for_line_or_not_at_all() {
    let mut t = Text::new();
    t.drawing(vec![Span::sign(super::Style::Plain, "  ○──►  x", "  o-->  x").into(), "  a   b".into()]);
    assert_eq!(t.render(&Page::plain(40)), "  ○──►  x\n  a   b\n");
    assert_eq!(t.render(&Page { unicode: false, ..Page::plain(40) }), "  o-->  x\n  a   b\n");
    assert_eq!(t.render(&Page::plain(8)), "", "too narrow");
    assert_eq!(t.render(&Page::words(40)), "", "read aloud");
}

#[test]
fn control_characters_are_shown_not_obeyed() {
    let hostile = "\x1b]0;title\x07\x1b[31mred\u{9b}2J\u{202e}back\x7f";
    let page = Text::from(hostile).render(&Page::plain(80));
    assert_eq!(page, "^[]0;title^G^[[31mred<009B>2J<202E>back^?\n");
}

proptest! {
    #[test]
    fn no_line_is_wider_than_the_page(
        words in prop::collection::vec("[a-z-]{1,14}|漢字{1,30}|e\u{301}{1,3}x|👩\u{200d}🔧|❤\u{fe0f}|\\PC{1,60}|[0-9]{1,3} mm", 0..40),
        page_width in prop::sample::select(vec![40usize, 80, 200]),
        unicode: bool, drawn: bool, indent in 0usize..60,
    ) {
        let said = words.join(" ");
        let mut t = Text::new();
        t.heading(said.as_str()).para(said.as_str()).item(indent, "12. ", said.as_str());
        t.item(indent, words.first().map_or("", String::as_str), said.as_str()).caution(indent, said.as_str());
        t.flow(indent, &words);
        let mut table = Table::new(&[("name", Align::Left), ("cost", Align::Right), ("漢字", Align::Left)]);
        for w in words.chunks(3) {
            table.row(w.iter().map(Styled::from).collect());
        }
        t.table(indent, table);
        t.bars(words.iter().map(|w| Bar { label: w.into(), fraction: 0.3, note: "30 % up 4".into() }).collect());
        t.drawing(words.iter().map(Styled::from).collect());
        let page = Page { width: page_width, unicode, colour: false, drawn };
        for line in t.render(&page).lines() {
            prop_assert!(width(line) <= page_width, "{} > {page_width}: {line:?}", width(line));
        }
    }

    #[test]
    fn wrapping_loses_no_letter(words in prop::collection::vec("[a-z漢é]{1,50}", 1..30), room in 8usize..60) {
        let said = words.join(" ");
        let lines = wrap(&Styled::from(&said), room, room);
        let joined: String = lines.iter().map(Styled::to_string).collect();
        prop_assert_eq!(joined.replace(' ', ""), said.replace(' ', ""));
    }
}

#[test]
fn pages_are_broken_between_blocks_and_never_behind_a_title() {
    let mut text = Text::new();
    text.heading("Next stage").para("one").blank();
    text.para(Styled::new().strong("Write down first:")).item(2, "- ", "two two two two").para("three");
    let page = Page::words(12);
    assert_eq!(
        text.pages(&page, 4),
        ["Next stage\none\n\n", "Write down\nfirst:\n  - two two\n    two two\n", "three\n"]
    );
    assert_eq!(text.pages(&page, 100), [text.render(&page)], "nothing is lost");
    // What is taller than a page is cut where the page ends.
    let tall = Text::from("word ".repeat(30).trim().to_owned());
    let pages = tall.pages(&page, 4);
    assert!(pages.iter().all(|p| p.lines().count() <= 4), "{pages:?}");
    assert_eq!(pages.concat(), tall.render(&page));
    assert!(Text::new().pages(&page, 4).is_empty());
}
