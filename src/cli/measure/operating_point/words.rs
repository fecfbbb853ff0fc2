//! What a working point means, in words and rows.

use super::{Setup, Worked};
use crate::bench::{Kind, write, write_to};
use crate::cli::measure::sheet::{Halt, Sheet};
use crate::present::measure::Outcome;

/// A value to three digits.
fn short(kind: Kind, value: f64) -> String {
    write_to(kind, value, value.abs() / 10.0)
}

/// Headline, words, next steps.
pub(super) fn verdict(sheet: &mut Sheet, setup: &Setup, result: &Worked) -> Result<Outcome, Halt> {
    let at = &result.at;
    let (amps, heat) = (short(Kind::Current, at.current), short(Kind::Power, at.heat));
    let what = if setup.vehicle().is_some() { "gearing" } else { "load" };
    let mut outcome = match (&result.stalls, &setup.cooling, &result.warmth) {
        (Some(_), ..) => {
            let said = format!("It stands still: this {what} holds it, and {amps} turn into {heat} of heat.");
            let mut outcome = Outcome::new("stalls", said);
            outcome.word("stalls");
            outcome
        }
        (None, Some(cooling), Some(warmth)) => {
            let most = write(Kind::Temperature, cooling.most);
            let time = warmth.seconds_to_most.map(|s| short(Kind::Time, s));
            let end = warmth.winding.unwrap_or(f64::INFINITY);
            let word = match end {
                end if end > cooling.most => "cooks",
                end if end
                    > cooling.ambient + sheet.usual("hot-share")? * (cooling.most - cooling.ambient) =>
                {
                    "hot"
                }
                _ => "cool",
            };
            let said = match (word, time) {
                ("cooks", Some(time)) => {
                    let gearing = setup.vehicle().is_none() || result.ratio.is_some();
                    let lead =
                        if gearing { format!("This {what} cooks it") } else { "It gets too hot".into() };
                    format!("{lead}: {amps} make {heat} of heat, and the winding passes {most} after {time}.")
                }
                ("cooks", None) => format!("This {what} cooks it: {amps} make {heat} of heat."),
                ("hot", _) => format!("It gets hot: {amps}, {heat} of heat, winding about {end:.0} degC."),
                _ => format!(
                    "It stays within its limits: {amps}, {heat} of heat, winding about {end:.0} degC."
                ),
            };
            let mut outcome = Outcome::new(word, said);
            outcome.word(word);
            if warmth.winding.is_none() {
                outcome.word("no-end");
            }
            outcome
        }
        _ => {
            let rpm = short(Kind::Speed, at.rpm);
            let mut outcome =
                Outcome::new("computed", format!("It draws {amps} at {rpm} and turns {heat} into heat."));
            outcome.word("can-unknown");
            outcome
        }
    };
    if result.stalls.is_none() && at.current > result.peak_current {
        outcome.word("beyond-peak");
    }
    if let Some(limit) = setup.current_limit.filter(|limit| at.current > *limit) {
        outcome
            .warnings
            .push(format!("It draws {amps}, more than the {} allowed.", write(Kind::Current, limit)));
        outcome.word("over-current");
    }
    if at.current * setup.supply.resistance > sheet.usual("sag-share")? * setup.supply.volts {
        outcome.word("supply-sags");
    }
    advice(&mut outcome, setup, result);
    Ok(outcome)
}

/// What to do about it.
fn advice(outcome: &mut Outcome, setup: &Setup, result: &Worked) {
    let Some(cooling) = &setup.cooling else { return };
    let fine = matches!(outcome.verdict.as_str(), "cool" | "hot") && result.at.current <= result.most_current;
    match (setup.vehicle(), result.ratio, result.torque) {
        (Some(vehicle), Some(advised), _) if advised.ratio > vehicle.ratio => {
            let speed = vehicle.geared(advised.ratio).speed(advised.at.rpm) * 3.6;
            outcome.next.push(format!(
                "Gear it {:.1} to 1, or a higher number: {}, {} of heat, winding about {:.0} degC, {speed:.0} km/h",
                advised.ratio,
                short(Kind::Current, advised.at.current),
                short(Kind::Power, advised.at.heat),
                advised.winding
            ));
        }
        (Some(_), Some(advised), _) if fine => {
            outcome.next.push(format!(
                "Leave the gearing. It would keep within its limits down to {:.1} to 1",
                advised.ratio
            ));
        }
        (None, _, Some(torque)) => {
            let most = short(Kind::Torque, torque);
            outcome.next.push(match fine {
                true => format!("Leave it. It bears up to {most} in this way"),
                false => format!("Bring the load at the shaft down to {most}: smaller propeller, more gear"),
            });
        }
        (_, None, None) => {
            outcome.word("no-gearing-helps");
            outcome.next.push(format!(
                "Run it shorter, on fewer volts, or fit a larger motor: idling alone makes {}, it loses {}",
                short(Kind::Power, result.idle_heat),
                short(Kind::Power, cooling.continuous_heat())
            ));
        }
        _ => {}
    }
}

/// The numbers, to three digits: nothing here is known better.
pub(super) fn rows(outcome: &mut Outcome, setup: &Setup, result: &Worked) {
    let at = &result.at;
    let limit = match setup.current_limit {
        Some(limit) if limit <= result.most_current => format!("{} allowed", write(Kind::Current, limit)),
        _ => format!("advised up to {}", short(Kind::Current, result.most_current)),
    };
    let cooling = setup.cooling.as_ref();
    let heat = cooling.map(|c| format!("it loses {} for ever", short(Kind::Power, c.continuous_heat())));
    let mut row = |label: &str, value: String, against: String| outcome.plain_row(label, value, against);
    row("Current", short(Kind::Current, at.current), limit);
    row("Heat in the motor", short(Kind::Power, at.heat), heat.unwrap_or_default());
    row(
        "Output at the shaft",
        short(Kind::Power, at.output),
        format!("efficiency {:.0} %", at.efficiency * 100.0),
    );
    row("Torque at the shaft", short(Kind::Torque, at.torque), String::new());
    row("Motor speed", short(Kind::Speed, at.rpm), String::new());
    if let Some(vehicle) = setup.vehicle() {
        let speed = format!("{:.1} km/h", vehicle.speed(at.rpm) * 3.6);
        row("Vehicle speed", speed, format!("ratio {}", write(Kind::Ratio, vehicle.ratio)));
    }
    if setup.supply.resistance > 0.0 {
        let from = format!("{} without load", write(Kind::Voltage, setup.supply.volts));
        row("At its terminals", short(Kind::Voltage, at.volts), from);
    }
    if let (Some(cooling), Some(warmth)) = (cooling, result.warmth) {
        let most = format!("{} at most", write(Kind::Temperature, cooling.most));
        let when =
            setup.run_time.map_or("in the long run".into(), |s| format!("after {}", short(Kind::Time, s)));
        let end = warmth.winding.map_or("no end".into(), |w| format!("{w:.0} degC"));
        row(&format!("Winding {when}"), end, most);
        if let Some(seconds) = warmth.seconds_to_most {
            row("It gets there after", short(Kind::Time, seconds), "from cold".into());
        }
        if let Some(hot) = warmth.hot {
            let speed = short(Kind::Speed, hot.rpm);
            row("Heat when hot", short(Kind::Power, hot.heat), format!("at {speed}: copper resists more"));
        }
    }
    if let Some(advised) = result.ratio {
        row(
            "Ratio advised",
            format!("{:.1}", advised.ratio),
            "the lowest that keeps within heat and current".into(),
        );
    }
    if let Some(torque) = result.torque {
        row("Torque allowed", short(Kind::Torque, torque), "keeps within heat and current".into());
    }
}
