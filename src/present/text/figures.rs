//! Numbers as people read them. Machine-readable output carries full precision instead.

use super::{Span, Style};

/// A probability in per cent: at most two digits, and never "0 %" or "100 %", which no evidence earns.
///
/// ```
/// use commsense::present::text::percent;
/// assert_eq!(percent(0.618), "62 %");
/// assert_eq!(percent(0.0), "<1 %");
/// assert_eq!(percent(0.999), ">99 %");
/// ```
pub fn percent(p: f64) -> String {
    match p {
        p if p.is_nan() => "not known".into(),
        p if p < 0.01 => "<1 %".into(),
        p if p > 0.99 => ">99 %".into(),
        p => format!("{:.0} %", p * 100.0),
    }
}

/// A span of work time, given in minutes.
///
/// ```
/// use commsense::present::text::minutes;
/// assert_eq!(minutes(0.3), "0.3 min");
/// assert_eq!(minutes(12.2), "12 min");
/// assert_eq!(minutes(95.0), "1 h 35 min");
/// ```
pub fn minutes(m: f64) -> String {
    if !m.is_finite() || m < 0.0 {
        return "not known".into();
    }
    if m < 0.05 {
        return "<0.1 min".into();
    }
    if m < 9.95 {
        return format!("{} min", short(m));
    }
    let whole = m.round() as u64;
    match (whole / 60, whole % 60) {
        (0, _) => format!("{whole} min"),
        (1, 0..30) => format!("{whole} min"),
        (h, 0) => format!("{h} h"),
        (h, rest) => format!("{h} h {rest} min"),
    }
}

/// One decimal, dropped when it is zero.
fn short(x: f64) -> String {
    let s = format!("{x:.1}");
    s.strip_suffix(".0").map(String::from).unwrap_or(s)
}

/// An amount of the shop's own money: with cents below a hundred where there are any.
///
/// ```
/// use commsense::present::text::money;
/// assert_eq!(money(38.0), "38");
/// assert_eq!(money(7.5), "7.50");
/// assert_eq!(money(1234.5), "1235");
/// ```
pub fn money(amount: f64) -> String {
    if !amount.is_finite() {
        return "not known".into();
    }
    let cents = format!("{amount:.2}");
    match cents.strip_suffix(".00") {
        Some("-0") => "0".into(),
        Some(whole) => whole.into(),
        None if amount.abs() >= 99.995 => format!("{:.0}", amount.abs().round().copysign(amount)),
        None => cents,
    }
}

/// A count with its noun.
///
/// ```
/// use commsense::present::text::plural;
/// assert_eq!(plural(1, "question", "questions"), "1 question");
/// assert_eq!(plural(0, "question", "questions"), "0 questions");
/// ```
pub fn plural(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// How a probability moved, in points of a hundred; nothing below one point.
pub fn movement(before: f64, after: f64) -> Span {
    let points = (after - before) * 100.0;
    match points.abs().round() as u64 {
        0 => Span::new(Style::Muted, ""),
        n if points > 0.0 => Span::sign(Style::Warn, &format!("↑{n}"), &format!("up {n}")),
        n => Span::sign(Style::Good, &format!("↓{n}"), &format!("down {n}")),
    }
}

/// A horizontal bar `width` columns long at most, without blanks after it. More than nothing shows as
/// at least the smallest piece; less than everything is never quite full.
///
/// ```
/// use commsense::present::text::bar;
/// assert_eq!(bar(0.55, 10, true), "█████▌");
/// assert_eq!(bar(0.55, 10, false), "######");
/// ```
pub fn bar(fraction: f64, width: usize, unicode: bool) -> String {
    let fraction = if fraction.is_nan() { 0.0 } else { fraction.clamp(0.0, 1.0) };
    let parts = if unicode { width * 8 } else { width };
    let mut filled = (fraction * parts as f64).round() as usize;
    if fraction > 0.0 {
        filled = filled.max(1);
    }
    if fraction < 1.0 {
        filled = filled.min(parts.saturating_sub(1));
    }
    if !unicode {
        return "#".repeat(filled);
    }
    const EIGHTHS: [&str; 8] = ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"];
    format!("{}{}", "█".repeat(filled / 8), EIGHTHS[filled % 8])
}
