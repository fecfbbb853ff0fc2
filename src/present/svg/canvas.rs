//! The few elements that the pictures are made of.

use svg::node::element::{Circle, Description, Element, Group, Line, Path, Rectangle, Style, Title};
use svg::node::{Text, Value};
use svg::{Document, Node};

use super::palette;
use super::text::{Font, clean};

/// What a text is aligned to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Begins there.
    Start,
    /// Has its middle there.
    Middle,
    /// Ends there.
    End,
}

/// Attributes of an element that has no type of its own.
pub trait Set {
    /// The element with this attribute.
    fn set(self, name: &str, value: impl Into<Value>) -> Self;
}

impl Set for Element {
    fn set(mut self, name: &str, value: impl Into<Value>) -> Self {
        self.assign(name, value);
        self
    }
}

/// A straight stroke.
pub fn line(from: (f64, f64), to: (f64, f64), stroke: &str, width: f64) -> Line {
    Line::new()
        .set("x1", n(from.0))
        .set("y1", n(from.1))
        .set("x2", n(to.0))
        .set("y2", n(to.1))
        .set("stroke", stroke)
        .set("stroke-width", width)
}

/// A number of the picture, to a tenth of a unit.
pub fn n(x: f64) -> f64 {
    let x = (x * 10.0).round() / 10.0;
    if x == 0.0 { 0.0 } else { x }
}

/// A document of this size with its background, its title and description for those who can't see it,
/// and what all pictures share.
pub fn document(width: f64, height: f64, title: &str, description: &str) -> Document {
    let style = format!(
        "text{{font-family:Helvetica,Arial,'Liberation Sans','DejaVu Sans',sans-serif;fill:{}}} \
         .soft{{fill:{}}} .link:hover path{{stroke-opacity:1;stroke-width:5}} \
         .mark:hover{{stroke:{};stroke-width:2}}",
        palette::INK,
        palette::SOFT_INK,
        palette::INK,
    );
    Document::new()
        .set("viewBox", (0, 0, n(width), n(height)))
        .set("width", n(width))
        .set("height", n(height))
        .set("role", "img")
        .add(Title::new(clean(title)))
        .add(Description::new().add(Text::new(clean(description))))
        .add(Style::new(style))
        .add(rect(0.0, 0.0, width, height).set("rx", 10).set("fill", palette::PAPER).set("class", "paper"))
}

/// A rectangle.
pub fn rect(x: f64, y: f64, width: f64, height: f64) -> Rectangle {
    Rectangle::new().set("x", n(x)).set("y", n(y)).set("width", n(width)).set("height", n(height))
}

/// A circle.
pub fn circle(x: f64, y: f64, r: f64) -> Circle {
    Circle::new().set("cx", n(x)).set("cy", n(y)).set("r", n(r))
}

/// A closed path through these points.
pub fn polygon(points: &[(f64, f64)]) -> Path {
    let mut d = String::new();
    for (i, &(x, y)) in points.iter().enumerate() {
        d.push_str(&format!("{}{} {}", if i == 0 { "M" } else { "L" }, n(x), n(y)));
    }
    d.push('Z');
    Path::new().set("d", d)
}

/// A line of text with its baseline at `y`.
pub fn text(x: f64, y: f64, font: Font, align: Align, content: &str) -> Element {
    // The crate's own text element puts line ends around its content.
    let mut text = Element::new("text");
    text.append(Text::new(clean(content)));
    let text = text.set("x", n(x)).set("y", n(y)).set("font-size", n(font.size));
    let text = if font.bold { text.set("font-weight", "bold") } else { text };
    match align {
        Align::Start => text,
        Align::Middle => text.set("text-anchor", "middle"),
        Align::End => text.set("text-anchor", "end"),
    }
}

/// A group with a title that shows when the pointer rests on it.
pub fn titled(class: &str, title: &str) -> Group {
    Group::new().set("class", class).add(Title::new(clean(title)))
}
