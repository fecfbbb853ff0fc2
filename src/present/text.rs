//! Labelled text: what is said, marked by what it *is* (a fault, a caution ...), never by a colour.
//!
//! Whoever has something to say builds a [`Text`]; only [`Text::render`] knows how wide the page is and
//! whether it can show colour or anything but ASCII. Colour never carries a meaning alone: without it
//! the same characters stand in the same places.

mod blocks;
mod clean;
mod figures;
mod paint;
mod table;
mod wrap;

pub use clean::{clean, fold};
pub use figures::{bar, minutes, money, movement, percent, plural};
pub use table::{Align, Table};
pub use wrap::{width, wrap};

/// What a piece of text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Style {
    /// Nothing special.
    #[default]
    Plain,
    /// A title.
    Heading,
    /// What the eye should find first.
    Strong,
    /// The name of something that may be wrong.
    Fault,
    /// Good news: normal, proved, speaks for.
    Good,
    /// To be minded.
    Warn,
    /// Of less weight: hints, keys, sources.
    Muted,
    /// A danger, and errors.
    Caution,
}

/// A run of text of one style. Its text is neutralised ([`clean`]) when it is made.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Span {
    /// What it is.
    pub style: Style,
    text: String,
    ascii: Option<String>,
}

impl Span {
    /// A run of text of this style.
    pub fn new(style: Style, text: impl AsRef<str>) -> Self {
        Span { style, text: clean(text.as_ref()), ascii: None }
    }

    /// A sign with the words that stand for it where only letters can be shown.
    pub fn sign(style: Style, sign: &str, words: &str) -> Self {
        Span { style, text: clean(sign), ascii: Some(clean(words)) }
    }

    /// Its text as it stands on this page.
    fn on(&self, page: &Page) -> Span {
        let text = match &self.ascii {
            _ if page.unicode => self.text.clone(),
            Some(words) => words.clone(),
            None => fold(&self.text),
        };
        Span { style: self.style, text, ascii: None }
    }
}

/// A stretch of text made of spans.
///
/// ```
/// use commsense::present::text::Styled;
/// let s = Styled::from("The ").strong("brushes").plain(" are worn.");
/// assert_eq!(s.to_string(), "The brushes are worn.");
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Styled(Vec<Span>);

macro_rules! styles {
    ($($name:ident $style:ident $what:literal;)*) => { $(
        #[doc = concat!("The same with ", $what, " at its end.")]
        pub fn $name(self, text: impl AsRef<str>) -> Self {
            self.with(Span::new(Style::$style, text))
        }
    )* };
}

impl Styled {
    /// Nothing yet.
    pub fn new() -> Self {
        Styled::default()
    }

    styles! {
        plain Plain "plain text";
        title Heading "a title";
        strong Strong "something strong";
        fault Fault "the name of a fault";
        good Good "something good";
        warn Warn "something to be minded";
        muted Muted "something of less weight";
        danger Caution "a danger";
    }

    /// The same with a span at its end.
    pub fn with(mut self, span: Span) -> Self {
        self.0.push(span);
        self
    }

    /// The same with another stretch at its end.
    pub fn then(mut self, other: impl Into<Styled>) -> Self {
        self.0.extend(other.into().0);
        self
    }

    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|s| s.text.is_empty())
    }

    /// Columns that it takes in one line.
    pub fn width(&self) -> usize {
        width(&self.to_string())
    }

    fn on(&self, page: &Page) -> Styled {
        Styled(self.0.iter().map(|s| s.on(page)).collect())
    }
}

impl std::fmt::Display for Styled {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.iter().try_for_each(|s| f.write_str(&s.text))
    }
}

impl From<Span> for Styled {
    fn from(span: Span) -> Self {
        Styled(vec![span])
    }
}

impl<S: AsRef<str>> From<S> for Styled {
    fn from(text: S) -> Self {
        Styled(vec![Span::new(Style::Plain, text)])
    }
}

/// What the text is rendered for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Page {
    /// Columns; no line is wider.
    pub width: usize,
    /// Whether more than ASCII signs can be shown.
    pub unicode: bool,
    /// Whether colours are wanted.
    pub colour: bool,
    /// Whether rules and bars are drawn; without them the words stand alone, as a screen reader wants it.
    pub drawn: bool,
}

impl Page {
    /// A page without colour, with signs and drawings.
    pub fn plain(width: usize) -> Self {
        Page { width, unicode: true, colour: false, drawn: true }
    }

    /// A page in pure words: no colour, ASCII signs, nothing drawn.
    pub fn words(width: usize) -> Self {
        Page { width, unicode: false, colour: false, drawn: false }
    }
}

/// One row of a bar chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// What the bar stands for.
    pub label: Styled,
    /// Its length, 0 to 1.
    pub fraction: f64,
    /// What follows it: the number, how it moved.
    pub note: Styled,
}

#[derive(Debug, Clone, PartialEq)]
enum Block {
    Blank,
    Heading(Styled),
    Para { indent: usize, lead: Styled, body: Styled },
    Flow { indent: usize, items: Vec<Styled> },
    Table { indent: usize, table: Table },
    Bars(Vec<Bar>),
    Drawing(Vec<Styled>),
}

impl Block {
    /// Whether it says nothing without what follows it.
    fn is_title(&self) -> bool {
        match self {
            Block::Heading(_) => true,
            Block::Para { lead, body, .. } => {
                lead.is_empty() && !body.is_empty() && body.0.iter().all(|span| span.style == Style::Strong)
            }
            _ => false,
        }
    }
}

/// Something to say: blocks one under the other.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Text(Vec<Block>);

impl Text {
    /// Nothing yet.
    pub fn new() -> Self {
        Text::default()
    }

    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// A title set in a rule across the page.
    pub fn heading(&mut self, title: impl Into<Styled>) -> &mut Self {
        self.add(Block::Heading(title.into()))
    }

    /// A lesser title on a line of its own, after an empty line.
    pub fn subheading(&mut self, title: impl AsRef<str>) -> &mut Self {
        if !self.is_empty() {
            self.blank();
        }
        self.para(Styled::new().strong(title))
    }

    /// A paragraph.
    pub fn para(&mut self, body: impl Into<Styled>) -> &mut Self {
        self.item(0, "", body)
    }

    /// A paragraph that begins with a lead (a number, a sign, a term) and hangs beside it.
    pub fn item(&mut self, indent: usize, lead: impl Into<Styled>, body: impl Into<Styled>) -> &mut Self {
        self.add(Block::Para { indent, lead: lead.into(), body: body.into() })
    }

    /// A caution; its word stands before it.
    pub fn caution(&mut self, indent: usize, body: impl Into<Styled>) -> &mut Self {
        self.item(indent, Styled::new().danger("CAUTION").plain(": "), body)
    }

    /// Short items beside each other, broken between items only.
    pub fn flow<T: Into<Styled>>(&mut self, indent: usize, items: impl IntoIterator<Item = T>) -> &mut Self {
        let items = items.into_iter().map(Into::into).collect();
        self.add(Block::Flow { indent, items })
    }

    /// A table.
    pub fn table(&mut self, indent: usize, table: Table) -> &mut Self {
        self.add(Block::Table { indent, table })
    }

    /// A bar chart.
    pub fn bars(&mut self, rows: Vec<Bar>) -> &mut Self {
        self.add(Block::Bars(rows))
    }

    /// A drawing in characters, line for line. It is left out where nothing is drawn and where the page is too
    /// narrow for it, so what it shows has to be said in words too.
    pub fn drawing(&mut self, lines: Vec<Styled>) -> &mut Self {
        self.add(Block::Drawing(lines))
    }

    /// An empty line; several in a row count as one.
    pub fn blank(&mut self) -> &mut Self {
        match self.0.last() {
            Some(Block::Blank) => self,
            _ => self.add(Block::Blank),
        }
    }

    /// All blocks of another text.
    pub fn append(&mut self, other: Text) -> &mut Self {
        self.0.extend(other.0);
        self
    }

    fn add(&mut self, block: Block) -> &mut Self {
        self.0.push(block);
        self
    }

    /// The text as it stands on a page, each line ended by a newline.
    pub fn render(&self, page: &Page) -> String {
        let mut out = String::new();
        for line in self.0.iter().flat_map(|b| blocks::lines(b, page)) {
            paint::line(&line, page.colour, &mut out);
            out.push('\n');
        }
        out
    }
}

impl Text {
    /// The text in pages of at most so many lines (at least one), broken between blocks where they fit on a
    /// page, and never behind a title.
    pub fn pages(&self, page: &Page, lines: usize) -> Vec<String> {
        let most = lines.max(1);
        let mut pages: Vec<Vec<Styled>> = vec![Vec::new()];
        let mut title: Vec<Styled> = Vec::new();
        for block in &self.0 {
            let mut rows = std::mem::take(&mut title);
            rows.extend(blocks::lines(block, page));
            if block.is_title() {
                title = rows;
                continue;
            }
            let taken = pages.last().map_or(0, Vec::len);
            if taken > 0 && taken + rows.len() > most {
                pages.push(Vec::new());
                if matches!(block, Block::Blank) {
                    continue;
                }
            }
            for row in rows {
                if pages.last().is_some_and(|last| last.len() == most) {
                    pages.push(Vec::new());
                }
                if let Some(last) = pages.last_mut() {
                    last.push(row);
                }
            }
        }
        if let Some(last) = pages.last_mut() {
            last.extend(title);
        }
        pages.retain(|page| page.iter().any(|row| !row.is_empty()));
        let painted = |rows: Vec<Styled>| {
            let mut out = String::new();
            for row in rows {
                paint::line(&row, page.colour, &mut out);
                out.push('\n');
            }
            out
        };
        pages.into_iter().map(painted).collect()
    }
}

impl<S: Into<Styled>> From<S> for Text {
    fn from(body: S) -> Self {
        let mut text = Text::new();
        text.para(body);
        text
    }
}

#[cfg(test)]
mod tests;
