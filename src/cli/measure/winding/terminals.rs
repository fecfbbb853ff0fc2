//! Between the terminals, and from the shaft to the winding.

use serde_json::json;

use super::{Args, Said, setting, written, wrong};
use crate::bench::winding::terminals::{between_brushes, terminals};
use crate::bench::{Estimate, Kind};
use crate::cli::exit::Failure;
use crate::cli::measure::sheet::{Halt, Sheet};
use crate::knowledge::Kind as Known;
use crate::present::measure::Outcome;

/// The top of an ohmmeter that shows nothing, in ohm, where a case wants a number.
const TOP_OF_RANGE: f64 = 2e7;

/// What a case is told of positions of which some do not conduct.
const DEAD: f64 = 1000.0;

/// Several positions of the shaft.
pub fn positions(args: &Args, sheet: &mut Sheet, outcome: &mut Outcome) -> Result<Said, Halt> {
    let (readings, text) = super::ohms(sheet, "terminals", args.terminals.as_deref())?;
    let set = setting(args, sheet, &text, outcome)?;
    let dead_above = sheet.usual("dead-above")?;
    let t = terminals(&set.meter, set.lead, &readings, dead_above).map_err(wrong)?;
    outcome.key("dead_positions", t.dead.iter().map(|i| i + 1).collect::<Vec<_>>());
    let (Some(lowest), Some(highest), Some(mean)) = (t.lowest, t.highest, t.mean) else {
        outcome.word("no-path");
        let sentence = "No position conducts between the terminals.".into();
        return Ok(Said { grave: 8, word: "open", sentence });
    };
    // Brush contact changes from touch to touch, more than the meter does.
    let contact = sheet.usual("contact")? * lowest.value;
    let own = lowest.times(set.to_reference);
    let own = Estimate::normal(own.value, own.deviation.hypot(contact * set.to_reference));
    let own = Estimate { low: own.low.max(0.0), ..own };
    let nominal = sheet.nominal("terminals", Kind::Resistance)?;
    let against = nominal.map_or(String::new(), |r| format!("{} nominal", written(r, 0.0)));
    outcome.row("Lowest, at 20 degC", Known::Resistance, own, against);
    outcome.row("Mean of the positions", Known::Resistance, mean.times(set.to_reference), "");
    if nominal.is_some() {
        outcome.figure("terminal", own);
    }
    outcome.estimate_key("terminal_ohm_20C", own, 1.0);
    outcome.key("lowest_ohm", lowest.value);
    outcome.key("highest_ohm", highest.value);
    outcome.key("mean_ohm_20C", mean.value * set.to_reference);

    // Fewer bars make more of it, so that nothing is called uneven that three bars would explain.
    let bars = sheet.motor().map_or(0, |m| m.slots as usize).max(3);
    let (plain, bridged) = between_brushes(1.0, bars);
    let most = plain / bridged * sheet.limit("contact-swing")?;
    let mut uneven = false;
    if let (Some(swing), true) = (t.swing, readings.len() > 1) {
        let bound = format!("{most:.2} at most, {bars} bars");
        outcome.row("Highest over lowest", Known::Ratio, swing, bound);
        outcome
            .key("swing", json!({"value": swing.value, "low": swing.low, "high": swing.high, "most": most}));
        uneven = swing.value > most;
        if t.dead.is_empty() {
            outcome.figure("swing", swing);
        }
    }
    let lowest_said = written(own.value, own.deviation);
    if !t.dead.is_empty() {
        let list: Vec<String> = t.dead.iter().map(|i| (i + 1).to_string()).collect();
        outcome.word("dead-spot");
        outcome.figure("swing", Estimate::exact(DEAD));
        let dead = crate::present::text::plural(t.dead.len(), "position is dead", "positions are dead");
        let sentence =
            format!("{dead} (reading {}); the lowest of the others is {lowest_said}.", list.join(", "));
        return Ok(Said { grave: 8, word: "dead-spot", sentence });
    }
    if uneven {
        outcome.word("uneven");
        let sentence =
            format!("Between the terminals it varies too much; the lowest is {lowest_said} at 20 degC.");
        return Ok(Said { grave: 4, word: "uneven", sentence });
    }
    // What a motor like it may be compared with from now on.
    outcome.figure("own-terminal", own);
    let sentence = match readings.len() {
        1 => format!(
            "Between the terminals {lowest_said} at 20 degC. One position shows no dead spot: read six round one turn."
        ),
        _ => {
            format!("Between the terminals {lowest_said} at 20 degC at the lowest, alike over the positions.")
        }
    };
    Ok(Said { grave: 0, word: "even", sentence })
}

/// From the shaft to the winding.
pub fn to_shaft(args: &Args, sheet: &mut Sheet, outcome: &mut Outcome) -> Result<Said, Halt> {
    let (readings, _) = super::ohms(sheet, "to-shaft", args.to_shaft.as_deref())?;
    let Some(least) = readings.iter().copied().reduce(f64::min) else {
        return Err(Failure::input("--to-shaft: write at least one reading").into());
    };
    let (pass, fail) = (sheet.limit("shaft-pass")?, sheet.limit("shaft-fail")?);
    let shown = if least.is_finite() { written(least, 0.0) } else { "no reading".into() };
    outcome.plain_row("Shaft to winding", shown.as_str(), format!("{} at least", written(pass, 0.0)));
    outcome.key("to_shaft_ohm", least.is_finite().then_some(least));
    outcome.figure("to-shaft", Estimate::exact(least.min(TOP_OF_RANGE)));
    let (grave, word, sentence) = if least < fail {
        outcome.word("grounded");
        (9, "grounded", format!("The winding is grounded: {shown} to the shaft."))
    } else if least < pass {
        outcome.word("ground-doubtful");
        (3, "doubtful", format!("The insulation is doubtful: {shown} to the shaft."))
    } else {
        (0, "isolated", "The winding is isolated from the shaft.".into())
    };
    Ok(Said { grave, word, sentence })
}
