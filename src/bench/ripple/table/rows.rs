//! Where the table stands in a text, and its rows.

use csv::{ReaderBuilder, StringRecord, Trim};

use super::super::RippleError;
use super::header::{self, Column};

/// A way to write tables.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Style {
    delimiter: u8,
    decimal_comma: bool,
}

const STYLES: [Style; 5] = [
    Style { delimiter: b',', decimal_comma: false },
    Style { delimiter: b';', decimal_comma: true },
    Style { delimiter: b'\t', decimal_comma: true },
    Style { delimiter: b';', decimal_comma: false },
    Style { delimiter: b'\t', decimal_comma: false },
];

/// Characters of the text from which its style is judged.
const LOOKED_AT: usize = 1 << 16;
/// So many rows of numbers, alike, make a table.
const TABLE: usize = 3;
/// More columns than any instrument has.
const MOST_COLUMNS: usize = 64;

/// A text with its table found.
pub(super) struct Layout<'t> {
    text: &'t str,
    style: Style,
    /// Line of the first row of numbers, from 1.
    first: u64,
    width: usize,
    /// Lines of text right above the table, nearest last.
    head: Vec<Vec<String>>,
    /// Lines above the table that are neither its header nor remarks.
    pub passed_over: usize,
}

/// Finds the table: the style in which the longest run of rows of numbers can be read; of equals the one
/// whose header has as many fields as the rows, then the one with most columns.
pub(super) fn layout(text: &str) -> Result<Layout<'_>, RippleError> {
    let mut end = text.len().min(LOOKED_AT);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    // The last line may have been cut through.
    let part = if end < text.len() { text[..end].rsplit_once('\n').map_or("", |p| p.0) } else { text };
    let found = STYLES.iter().filter_map(|style| try_style(text, part, *style));
    let best = found.max_by_key(|(rows, layout)| {
        let fits = layout.head.last().is_none_or(|h| h.len() == layout.width);
        // Of equals `max_by_key` takes the last; semicolons come after commas on purpose.
        (*rows, fits, layout.width)
    });
    match best {
        Some((_, layout)) => Ok(layout),
        None => Err(RippleError::NoNumbers),
    }
}

fn try_style<'t>(text: &'t str, part: &str, style: Style) -> Option<(usize, Layout<'t>)> {
    let mut records: Vec<(u64, Vec<String>)> = Vec::new();
    let mut reader = reader(part, style);
    let mut record = StringRecord::new();
    while let Ok(true) = reader.read_record(&mut record) {
        let line = record.position().map_or(0, csv::Position::line);
        records.push((line, record.iter().map(str::to_owned).collect()));
    }
    let width = |fields: &[String]| -> Option<usize> {
        let read: Vec<Field> = fields.iter().map(|f| field(f, style)).collect();
        let numbers = read.iter().filter(|f| matches!(f, Field::Number(_))).count();
        (numbers > 0 && fields.len() <= MOST_COLUMNS && !read.contains(&Field::Text)).then_some(fields.len())
    };
    let widths: Vec<Option<usize>> = records.iter().map(|(_, f)| width(f)).collect();
    let start = widths.windows(TABLE).position(|w| w[0].is_some() && w.iter().all(|x| *x == w[0]))?;
    let rows = widths[start..].iter().filter(|w| w.is_some()).count();
    let columns = widths[start].unwrap_or(0);
    let mut head: Vec<Vec<String>> = Vec::new();
    let (mut remarks, mut above) = (0, 0);
    for (_, fields) in records[..start].iter().rev() {
        let remark = fields.first().is_some_and(|f| f.starts_with(['#', '%', '!']) || f.starts_with("//"));
        let bare: Vec<String> =
            fields.iter().map(|f| f.trim_start_matches(['#', '%', '!', '/']).trim().to_owned()).collect();
        let names = bare.iter().any(|f| field(f, style) == Field::Text);
        // Trailing delimiters give rows one field more than the header, or the other way round.
        let as_wide = bare.len().abs_diff(columns) <= 1;
        if above == 0 && remarks == 0 && head.len() < 2 && names && as_wide {
            head.insert(0, bare);
        } else if remark || fields.iter().all(String::is_empty) {
            remarks += 1;
        } else {
            above += 1;
        }
    }
    let first = records[start].0;
    Some((rows, Layout { text, style, first, width: columns, head, passed_over: above }))
}

fn reader(text: &str, style: Style) -> csv::Reader<&[u8]> {
    ReaderBuilder::new()
        .delimiter(style.delimiter)
        .has_headers(false)
        .flexible(true)
        .trim(Trim::All)
        .from_reader(text.as_bytes())
}

impl Layout<'_> {
    /// The columns with their names and units.
    pub fn columns(&self) -> Vec<Column> {
        header::columns(&self.head, self.width)
    }

    /// Hands over each row: its number from 0, its line, and a function from column to value, which is not a
    /// number where there is none. Remarks are passed over.
    pub fn each(&self, mut take: impl FnMut(usize, u64, &dyn Fn(usize) -> f64)) -> Result<(), RippleError> {
        let mut reader = reader(self.text, self.style);
        let mut record = StringRecord::new();
        let mut index = 0;
        loop {
            match reader.read_record(&mut record) {
                Ok(true) => {}
                Ok(false) => return Ok(()),
                Err(e) => {
                    let line = e.position().map_or(0, csv::Position::line);
                    return Err(RippleError::Unreadable { line, why: e.to_string() });
                }
            }
            let line = record.position().map_or(0, csv::Position::line);
            let first = record.get(0).unwrap_or("");
            if line < self.first || first.starts_with(['#', '%', '!']) || first.starts_with("//") {
                continue;
            }
            let value = |column: usize| match record.get(column).map(|f| field(f, self.style)) {
                Some(Field::Number(v)) => v,
                _ => f64::NAN,
            };
            take(index, line, &value);
            index += 1;
        }
    }
}

/// What a field is.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Field {
    Number(f64),
    /// Empty, not a number, overload.
    Nothing,
    Text,
}

fn field(text: &str, style: Style) -> Field {
    let text = text.trim();
    let parsed = if style.decimal_comma && text.contains(',') {
        if text.contains('.') { None } else { text.replace(',', ".").parse::<f64>().ok() }
    } else {
        text.parse::<f64>().ok()
    };
    let nothing = ["", "-", "--", "---", "ol", "o.l", "ovl", "n/a", "na", "null", "none", "#n/a"];
    match parsed {
        Some(value) if value.is_finite() => Field::Number(value),
        Some(_) => Field::Nothing,
        None if nothing.contains(&text.to_lowercase().as_str()) => Field::Nothing,
        None => Field::Text,
    }
}
