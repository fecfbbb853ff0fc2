//! How hot the winding got, by its resistance.

use super::{Args, Said, wrong};
use crate::bench::Kind;
use crate::bench::winding::copper::heating;
use crate::cli::measure::sheet::{Halt, Sheet};
use crate::knowledge::Kind as Known;
use crate::present::measure::{Outcome, Row};

/// Temperature and rise.
pub fn rise(args: &Args, sheet: &mut Sheet, outcome: &mut Outcome) -> Result<Said, Halt> {
    let cold = sheet.need("cold", args.cold.as_deref(), Kind::Resistance)?;
    let cold_at = sheet.need("cold-at", args.cold_at.as_deref(), Kind::Temperature)?;
    let hot = sheet.need("hot", args.hot.as_deref(), Kind::Resistance)?;
    let ambient = sheet.need("ambient", args.ambient.as_deref(), Kind::Temperature)?;
    let lead = sheet.want("lead", args.lead.as_deref(), Kind::Resistance)?.unwrap_or(0.0);
    let texts = [args.cold.as_deref(), args.hot.as_deref()].map(Option::unwrap_or_default).join("; ");
    let meter = super::meter(args, sheet, &texts, Kind::Resistance)?;
    let found = heating(&meter, lead, (cold, cold_at), hot, ambient).map_err(wrong)?;
    let class = sheet.limit("thermal-class")?;
    let degrees = |t: f64| crate::bench::write(Kind::Temperature, t);
    outcome.row(
        "Winding, average",
        Known::Temperature,
        found.winding,
        format!("{} for class A", degrees(class)),
    );
    // A difference is in kelvin, which no reading is.
    let rise = found.rise;
    let range = match rise.deviation > 0.0 {
        true => format!("{:.0} to {:.0} K", rise.low, rise.high),
        false => String::new(),
    };
    outcome.rows.push(Row {
        label: "Rise over the air around".into(),
        value: format!("{:.1} K", rise.value),
        range,
        against: format!("air {} at the end", degrees(ambient)),
    });
    outcome.key("winding_degC", found.winding.value);
    outcome.key("rise_K", rise.value);
    outcome.estimate_key("winding", found.winding, 1.0);
    outcome.estimate_key("rise", rise, 1.0);
    let unsure = found.winding.low < class && found.winding.high > class;
    if unsure {
        outcome.word("heat-unsure");
    }
    let hot = degrees(found.winding.value);
    let margin = class - found.winding.value;
    let (grave, word, sentence) = if found.winding.value > class {
        outcome.word("over-class");
        let over = -margin;
        (
            5,
            "over-class",
            format!("The winding reached {hot}, {over:.0} K above the {} of class A.", degrees(class)),
        )
    } else {
        outcome.word("within-class");
        let below = format!("{margin:.0} K below the {} of class A", degrees(class));
        (0, "within-class", format!("The winding reached {hot}, {below}."))
    };
    Ok(Said { grave, word, sentence })
}
