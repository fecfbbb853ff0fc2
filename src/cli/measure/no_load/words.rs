//! What the figures of a no-load test say, and what to do next.

use super::Listed;
use crate::bench::no_load::{Report, ResistanceFrom, Test};
use crate::bench::{Estimate, Kind, write};
use crate::cli::measure::sheet::{Halt, Sheet};
use crate::present::measure::Outcome;

/// How a figure stands to what is listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stand {
    Low,
    Near,
    High,
}

/// Where a figure stands, and whether its interval leaves that open.
fn stand(of: Estimate, listed: f64, low: f64, high: f64) -> (Stand, bool) {
    let side = |x: f64| match x / listed {
        r if r < low => Stand::Low,
        r if r > high => Stand::High,
        _ => Stand::Near,
    };
    (side(of.value), side(of.low) != side(of.high))
}

/// Verdict, words and next steps.
pub(super) fn verdict(
    sheet: &mut Sheet,
    test: &Test,
    report: &Report,
    listed: Listed,
) -> Result<Outcome, Halt> {
    let at = write(Kind::Voltage, report.volts);
    let now = |e: Estimate, kind| crate::bench::write_to(kind, e.value, e.deviation);
    let (speed, current) = (now(report.rpm, Kind::Speed), now(report.current, Kind::Current));
    let mut open = Vec::new();
    let mut stands = (None, None);
    if let Some(rpm) = listed.speed {
        let (side, unsure) = stand(report.rpm, rpm, sheet.limit("speed-low")?, sheet.limit("speed-high")?);
        stands.0 = Some(side);
        open.extend(unsure.then_some("speed"));
    }
    if let Some(amps) = listed.current {
        let (low, high) = (sheet.limit("current-low")?, sheet.limit("current-high")?);
        let (side, unsure) = stand(report.current, amps, low, high);
        stands.1 = Some(side);
        open.extend(unsure.then_some("current"));
    }
    let mut outcome = match stands {
        (None, None) => {
            Outcome::new("measured", format!("Measured: {speed} and {current} unloaded at {at}."))
        }
        (None | Some(Stand::Near), None | Some(Stand::Near)) => {
            Outcome::new("as-listed", format!("As it should be: {speed} and {current} unloaded at {at}."))
        }
        (speed_side, current_side) => {
            let side = |s: Option<Stand>, low: &str, high: &str| match s {
                Some(Stand::Low) => format!(", {low}"),
                Some(Stand::High) => format!(", {high}"),
                _ => String::new(),
            };
            let (slow, hungry) =
                (side(speed_side, "too slow", "too fast"), side(current_side, "too little", "too much"));
            let said =
                format!("Not as it should be: {speed}{slow}, and {current}{hungry}, unloaded at {at}.");
            Outcome::new("off", said)
        }
    };
    for figure in open {
        outcome.warnings.push(format!(
            "The meters leave open whether the {figure} is within its limits: see the interval, measure again with \
             a better meter."
        ));
    }
    if let Some(times) = report.excess_scatter {
        outcome.warnings.push(format!(
            "The points scatter {times:.1} times more than such meters do; the intervals are widened by it. Let the \
             current settle before you read, and look at each point again."
        ));
    }
    if let Some(word) = pattern(stands) {
        outcome.word(word);
    }
    if let Some(drop) = report.brush_drop
        && drop.low > test.brush_drop_most
    {
        outcome.word("brush-drop-high");
    }
    if let Some(best) = report.best_efficiency
        && listed.current.is_none()
        && report.current.low / best.current.value > sheet.limit("idle-share")?
    {
        outcome.word("idle-share-high");
    }
    unseparated(&mut outcome, test, report);
    Ok(outcome)
}

/// The word for both stands together.
fn pattern(stands: (Option<Stand>, Option<Stand>)) -> Option<&'static str> {
    use Stand::{High, Low, Near};
    match stands {
        (Some(Low), Some(High)) => Some("slow-much-current"),
        (Some(High), Some(High)) => Some("fast-much-current"),
        (Some(Low), Some(Low)) => Some("slow-little-current"),
        (Some(High), Some(Low)) => Some("fast-little-current"),
        (Some(Low), _) => Some("slow"),
        (Some(High), _) => Some("fast"),
        (_, Some(High)) => Some("much-current"),
        (_, Some(Low)) => Some("little-current"),
        (Some(Near), Some(Near)) => Some("both-near"),
        _ => None,
    }
}

/// What the points leave open, and how to settle it.
fn unseparated(outcome: &mut Outcome, test: &Test, report: &Report) {
    if report.resistance_from == ResistanceFrom::Nowhere {
        outcome.word("no-resistance");
        outcome.next.push("Measure the resistance from terminal to terminal, and add: --resistance".into());
    }
    let half = write(Kind::Voltage, (report.volts * 5.0).round() / 10.0);
    if report.brush_drop.is_none() && report.resistance.is_some() || report.drag_at_rest.is_none() {
        let near = test.forward.len() > 1;
        outcome.word(if near { "points-too-near" } else { "one-point" });
        outcome.next.push(format!("Measure once more at about {half}, and add it as another: --point"));
    }
    if test.reverse.is_empty() {
        let volts = test.forward.first().map_or(report.volts, |p| p.volts);
        let at = write(Kind::Voltage, volts);
        outcome.next.push(format!(
            "Cross the supply's leads, measure in reverse at {at}, and add: --reverse-point. The ratio shows the timing"
        ));
    }
}
