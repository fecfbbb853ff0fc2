//! Files of current against time, as oscilloscopes and loggers write them.
//!
//! Delimiter (comma, semicolon, tab), decimal sign, lines before the table, header, units and the columns
//! that matter are found from the file itself.

mod header;
mod rows;

use super::even::{Sample, even};
use super::{Note, Recording, RippleError};
use header::Column;

/// What is said about a file beside what stands in it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hints {
    /// Samples a second, Hz; the column of time is then not needed.
    pub rate: Option<f64>,
    /// Which column is the current: its name, or its number from 1.
    pub column: Option<String>,
    /// Ampere for one volt, for a current recorded as a voltage.
    pub per_volt: Option<f64>,
}

/// Reads a file.
///
/// # Errors
///
/// [`RippleError`] when it holds no table, the columns are not clear, or times do not rise.
pub fn read(bytes: &[u8], hints: &Hints) -> Result<Recording, RippleError> {
    if let Some(rate) = hints.rate.filter(|r| !(r.is_finite() && *r > 0.0)) {
        return Err(RippleError::Rate(rate));
    }
    let text = decode(bytes);
    if text.trim().is_empty() {
        return Err(RippleError::Empty);
    }
    let layout = rows::layout(&text)?;
    let columns = layout.columns();
    let mut notes = Vec::new();
    if layout.passed_over > 0 {
        notes.push(Note::Preamble(layout.passed_over));
    }
    let named = columns.iter().any(|c| !c.name.is_empty());
    let time = header::time(&columns);
    if hints.rate.is_none() && time.is_none() {
        return Err(RippleError::NoTime);
    }
    let current = header::current(&columns, time, hints.column.as_deref())?;
    let to_ampere = header::ampere(&columns[current], hints.per_volt, &mut notes)?;
    let to_second = match (time, hints.rate) {
        (Some(_), Some(_)) => {
            notes.push(Note::RateWins);
            None
        }
        (time, _) => time.map(|t| header::second(&columns[t], &mut notes)).transpose()?,
    };
    if !named && time.is_some() {
        notes.retain(|n| !matches!(n, Note::NoUnit { .. }));
        notes.push(Note::NoHeader);
    }
    let mut samples = Vec::new();
    layout.each(|index, line, fields| {
        let seconds = match (time, to_second, hints.rate) {
            (Some(column), Some(factor), _) => fields(column) * factor,
            (_, _, Some(rate)) => index as f64 / rate,
            _ => f64::NAN,
        };
        samples.push(Sample { line, time: seconds, current: fields(current) * to_ampere });
    })?;
    even(&samples, notes)
}

/// Names of columns as they stand in a message.
fn listed(columns: &[Column]) -> String {
    let name = |(i, c): (usize, &Column)| {
        if c.name.is_empty() { format!("number {}", i + 1) } else { format!("`{}`", c.name) }
    };
    columns.iter().enumerate().map(name).collect::<Vec<_>>().join(", ")
}

/// UTF-8, UTF-16 with its mark, or else Latin-1, in which old instruments write the micro sign.
fn decode(bytes: &[u8]) -> String {
    let wide = |low: usize, high: usize| {
        let units: Vec<u16> =
            bytes[2..].chunks_exact(2).map(|p| u16::from_le_bytes([p[low], p[high]])).collect();
        String::from_utf16_lossy(&units)
    };
    match bytes {
        [0xff, 0xfe, ..] => wide(0, 1),
        [0xfe, 0xff, ..] => wide(1, 0),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.trim_start_matches('\u{feff}').to_owned(),
            Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
        },
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use std::fmt::Write;

    fn rows(n: usize, write: impl Fn(usize) -> String) -> String {
        (0..n).map(write).collect::<Vec<_>>().join("\n")
    }

    fn wave(i: usize) -> f64 {
        2.0 + 0.5 * libm::sin(i as f64 * 0.3)
    }

    fn plain(text: &str) -> Result<Recording, RippleError> {
        read(text.as_bytes(), &Hints::default())
    }

    /// Every layout says the same: 100 samples at 10 kHz.
    #[test]
    fn layouts_of_instruments_read_alike() {
        let comma = |v: f64| format!("{v:.6}").replace('.', ",");
        let layouts = [
            format!(
                "time (ms), current (A)\n{}",
                rows(100, |i| format!("{:.1}, {:.6}", i as f64 * 0.1, wave(i)))
            ),
            format!("time_s,current_A\n{}", rows(100, |i| format!("{:e},{:.6}", i as f64 * 1e-4, wave(i)))),
            format!(
                "t [s];I [mA]\n{}",
                rows(100, |i| format!("{};{}", comma(i as f64 * 1e-4), comma(wave(i) * 1e3)))
            ),
            format!("Time\tCurrent\n(us)\t(A)\n{}", rows(100, |i| format!("{}\t{:.6}", i * 100, wave(i)))),
            format!(
                "# made by a logger\n# time (ms),current (A)\n{}\n# end\n",
                rows(100, |i| format!("{:.1},{:.6}", i as f64 * 0.1, wave(i)))
            ),
            format!(
                "Model,Rover 2\nSample Interval,1e-4\nRecord Length,100\n\nTIME,CH1\nSecond,Ampere\n{}",
                rows(100, |i| format!("{:.4},{:.6},", i as f64 * 1e-4, wave(i)))
            ),
            format!(
                "\u{feff}time (s);current (A)\r\n{}\r\n",
                rows(100, |i| format!("{};{}\r", comma(i as f64 * 1e-4), comma(wave(i))))
            ),
            rows(100, |i| format!("{:.4}\t{:.6}", i as f64 * 1e-4, wave(i))),
        ];
        for text in layouts {
            let r = plain(&text).unwrap_or_else(|e| panic!("{e}\n{}", &text[..80]));
            assert!((r.rate - 10_000.0).abs() < 1e-3, "{} in {}", r.rate, &text[..80]);
            assert_eq!(r.samples.len(), 100, "{}", &text[..80]);
            assert!((0..100).all(|i| (r.samples[i] - wave(i)).abs() < 1e-5), "{}", &text[..80]);
        }
    }

    #[test]
    fn micro_signs_of_all_encodings() {
        let text = format!("time (µs),current (A)\n{}", rows(100, |i| format!("{},{:.6}", i * 100, wave(i))));
        let latin: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
        let wide: Vec<u8> =
            [0xff, 0xfe].into_iter().chain(text.encode_utf16().flat_map(u16::to_le_bytes)).collect();
        for bytes in [text.as_bytes(), &latin, &wide] {
            assert!((read(bytes, &Hints::default()).unwrap().rate - 10_000.0).abs() < 1e-3);
        }
    }

    #[test]
    fn one_column_needs_a_rate() {
        let text = format!("current (mA)\n{}", rows(100, |i| format!("{:.3}", wave(i) * 1e3)));
        assert_eq!(plain(&text), Err(RippleError::NoTime));
        let hints = Hints { rate: Some(20e3), ..Hints::default() };
        let r = read(text.as_bytes(), &hints).unwrap();
        assert_eq!(r.rate.round(), 20e3);
        assert!((r.samples[7] - wave(7)).abs() < 1e-5);
        let comma = rows(100, |i| format!("{:.3}", wave(i)).replace('.', ","));
        let r = read(format!("current (A)\n{comma}").as_bytes(), &hints).unwrap();
        assert!((r.samples[7] - wave(7)).abs() < 1e-3);
        for rate in [0.0, -5.0, f64::NAN, f64::INFINITY] {
            let hints = Hints { rate: Some(rate), ..Hints::default() };
            assert!(matches!(read(text.as_bytes(), &hints), Err(RippleError::Rate(_))));
        }
    }

    #[test]
    fn columns_are_chosen_by_unit_or_by_name() {
        let text = format!(
            "time (s),volts (V),left (A),right (A)\n{}",
            rows(100, |i| format!("{:.4},7.2,{:.6},9", i as f64 * 1e-4, wave(i)))
        );
        assert!(
            matches!(plain(&text), Err(RippleError::SeveralCurrents { columns }) if columns == "`left`, `right`")
        );
        for name in ["left", "3", "LEFT (A)"] {
            let hints = Hints { column: Some(name.into()), ..Hints::default() };
            assert!((read(text.as_bytes(), &hints).unwrap().samples[7] - wave(7)).abs() < 1e-5);
        }
        let volts = Hints { column: Some("volts".into()), ..Hints::default() };
        assert!(matches!(read(text.as_bytes(), &volts), Err(RippleError::Volts { name }) if name == "volts"));
        let shunt = Hints { per_volt: Some(10.0), ..volts };
        assert!((read(text.as_bytes(), &shunt).unwrap().samples[3] - 72.0).abs() < 1e-9);
        let none = Hints { column: Some("middle".into()), ..Hints::default() };
        assert!(matches!(read(text.as_bytes(), &none), Err(RippleError::NoSuchColumn { .. })));
        let wrong = text.replace("left (A)", "left (rpm)");
        let rpm = Hints { column: Some("left".into()), ..Hints::default() };
        assert!(
            matches!(read(wrong.as_bytes(), &rpm), Err(RippleError::WrongUnit { unit, .. }) if unit == "rpm")
        );
    }

    #[test]
    fn what_is_no_number_is_counted() {
        let mut text = String::from("time (s),current (A)\n");
        for i in 0..200 {
            let value = match i {
                50 => "NaN".to_owned(),
                51 => String::new(),
                120 => "OL".to_owned(),
                _ => format!("{:.6}", wave(i)),
            };
            writeln!(text, "{:.4},{value}", i as f64 * 1e-4).unwrap();
        }
        let r = plain(&text).unwrap();
        assert_eq!(r.notes, [Note::Missing(3), Note::Filled(2)]);
        assert_eq!(r.samples.len(), 200);
    }

    #[test]
    fn what_is_no_table_is_refused() {
        assert_eq!(plain(""), Err(RippleError::Empty));
        assert_eq!(plain(" \n\n"), Err(RippleError::Empty));
        assert_eq!(plain("time (s),current (A)\n"), Err(RippleError::NoNumbers));
        assert_eq!(plain("a letter\nto a friend\n"), Err(RippleError::NoNumbers));
        assert!(read(&[0, 159, 146, 150, 0, 0, 1], &Hints::default()).is_err());
        assert!(read(&[0xff, 0xfe, 1], &Hints::default()).is_err());
        let back = format!("time (s),current (A)\n{}", rows(100, |i| format!("{},2.0", (i * 37) % 100)));
        assert!(matches!(plain(&back), Err(RippleError::TimeGoesBack { .. })));
        let still = format!("time (s),current (A)\n{}", rows(100, |i| format!("{},2.0", i / 2)));
        assert_eq!(plain(&still), Err(RippleError::TimeStands { line: 3 }));
    }

    proptest::proptest! {
        #[test]
        fn no_bytes_bring_it_down(bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..400)) {
            let _ = read(&bytes, &Hints::default());
        }

        #[test]
        fn no_table_brings_it_down(text in "([-0-9.,;\t enaN\"#]{0,12}\n){0,40}") {
            let _ = read(text.as_bytes(), &Hints { rate: Some(1e4), ..Hints::default() });
            let _ = plain(&text);
        }
    }
}
