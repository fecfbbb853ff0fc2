//! What a run-in means for a person, and for scripts.

use serde_json::json;

use super::timer::{End, Ran};
use super::{Run, Winding, wrong};
use crate::bench::run_in::{Recipe, Stop, bedding_work, winding_heat};
use crate::bench::{self, Estimate, Kind};
use crate::cli::measure::sheet::{Halt, Sheet};
use crate::knowledge::Kind as Known;
use crate::present::measure::Outcome;
use crate::present::text::{Bar, Styled};

/// Puts it into words, numbers and a picture.
pub fn outcome(run: &Run, ran: Option<Ran>, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    // What it did counts more than what was meant.
    let recipe =
        Recipe { seconds: ran.as_ref().map_or(run.recipe.seconds, |r| r.seconds.max(0.001)), ..run.recipe };
    let travel = run.slide.travel(recipe).map_err(wrong)?;
    let usual = run.slide.travel(run.usual).map_err(wrong)?;
    let times = match run.winding {
        Some(Winding::Hand) => sheet.limit("hand-wound-times")?,
        _ => 1.0,
    };
    let share = run.slide.ratio(recipe, run.usual).map_err(wrong)? / times;
    let verdict = match &ran {
        Some(Ran { end: End::Rule(Stop::Settled { .. }), .. }) => "settled",
        Some(Ran { end: End::Rule(_), .. }) => "stopped",
        _ if share < sheet.limit("least-share")? => "short",
        _ if share > sheet.limit("most-share")? => "long",
        _ => "usual",
    };
    let of = match verdict {
        "short" => "too little: ",
        "long" => "more than it needs: ",
        _ => "",
    };
    let headline = format!(
        "{}{} {}: about {:.0} m of brush travel, {of}{:.0} % of what is usual{}.",
        ended(ran.as_ref()),
        bench::write(Kind::Voltage, recipe.volts),
        lasting(recipe.seconds),
        travel.value,
        share * 100.0,
        if times > 1.0 { " for a hand-wound armature" } else { "" },
    );
    let mut outcome = Outcome::new(verdict, headline);
    let speed = run.slide.speed(recipe.volts).map_err(wrong)?;
    outcome.row("Speed", Known::Speed, speed, "");
    let wanted = format!("{:.0} m usual", usual.value * times);
    outcome.row("Brush travel", Known::Length, travel, wanted);
    if let Some(force) = run.spring {
        let work = bedding_work(sheet.limit("friction")?, force, travel).map_err(wrong)?;
        outcome.row("Friction work on a brush", Known::Energy, work, "");
        outcome.key("bedding_J", work.value);
    }
    if let Some((current, resistance)) = run.electric {
        let heat = winding_heat(current, resistance, recipe.seconds).map_err(wrong)?;
        outcome.row("Heat in the winding", Known::Energy, Estimate::exact(heat), "");
        outcome.key("winding_J", heat);
    }
    if verdict == "short" {
        let all = run.slide.seconds(recipe.volts, usual.value * times).map_err(wrong)?;
        // Up to the next ten seconds, as a person sets a timer.
        let more = bench::write(Kind::Time, ((all - recipe.seconds - 0.5) / 10.0).ceil() * 10.0);
        outcome.next.push(format!("Run it {more} longer at {}.", bench::write(Kind::Voltage, recipe.volts)));
    }
    words(run, ran.as_ref(), &mut outcome);
    outcome.next.push("Draw one brush: its face should shine over at least two thirds of its width.".into());
    outcome.next.push("Turn the shaft by hand, then run it both ways: free, and without a click.".into());
    recipes(run, recipe, &mut outcome)?;
    outcome.key("volts", recipe.volts);
    outcome.key("seconds", recipe.seconds);
    outcome.key("rpm", speed.value);
    outcome.key("turns", speed.value * recipe.seconds / 60.0);
    outcome.key("brush_travel_m", travel.value);
    outcome.key("brush_travel_low_m", travel.low);
    outcome.key("brush_travel_high_m", travel.high);
    outcome.key("share_of_usual", share);
    if let Some(against) = run.against {
        let ratio = run.slide.ratio(recipe, against).map_err(wrong)?;
        outcome.key("ratio_of_travel", ratio);
        let other = lasting(against.seconds);
        let volts = bench::write(Kind::Voltage, against.volts);
        outcome.plain_row("Travel, times the other's", format!("{ratio:.2}"), format!("{volts} {other}"));
    }
    if let Some(ran) = &ran {
        if let (Some(first), Some(last)) = (ran.currents.first(), ran.currents.last()) {
            let last = bench::write(Kind::Current, *last);
            outcome.plain_row(
                "Current at the last look",
                last,
                format!("{} at the first", bench::write(Kind::Current, *first)),
            );
        }
        outcome.key("currents_A", ran.currents.clone());
        outcome.key("hottest_degC", ran.hottest);
    }
    Ok(outcome)
}

fn lasting(seconds: f64) -> String {
    format!("for {}", bench::write(Kind::Time, (seconds * 10.0).round() / 10.0))
}

/// Why a timed run ended, before the numbers.
fn ended(ran: Option<&Ran>) -> String {
    let Some(ran) = ran else { return String::new() };
    match ran.end {
        End::Time => "Done. ".into(),
        End::Hand => "Ended by you. ".into(),
        End::Rule(Stop::Settled { amperes }) => {
            format!("Done: the current has settled at {}. ", bench::write(Kind::Current, amperes))
        }
        End::Rule(Stop::Rising { from, to }) => {
            let (from, to) = (bench::write(Kind::Current, from), bench::write(Kind::Current, to));
            format!("Stop: the current rose from {from} to {to}. ")
        }
        End::Rule(Stop::TooHot { celsius }) => {
            format!("Stop: the can is at {}. ", bench::write(Kind::Temperature, celsius))
        }
        End::Rule(Stop::Danger) => "Stop: heavy sparks, smoke or a burnt smell. ".into(),
    }
}

fn words(run: &Run, ran: Option<&Ran>, outcome: &mut Outcome) {
    match ran.map(|r| r.end) {
        Some(End::Rule(Stop::Settled { .. })) => outcome.word("settled"),
        Some(End::Rule(Stop::Rising { .. })) => outcome.word("rising"),
        Some(End::Rule(Stop::TooHot { .. })) => outcome.word("too-hot"),
        Some(End::Rule(Stop::Danger)) => outcome.word("danger"),
        _ => {}
    }
    if run.recipe.volts > run.slide.volts {
        outcome.word("above-rating");
        let rated = bench::write(Kind::Voltage, run.slide.volts);
        outcome.warnings.push(format!("This motor is made for {rated}."));
    }
    match outcome.verdict.as_str() {
        "short" => outcome.word("short"),
        "long" => outcome.word("long"),
        _ => {}
    }
    match run.winding {
        Some(Winding::Hand) => outcome.word("hand-wound"),
        Some(Winding::Machine) => outcome.word("machine-wound"),
        None => {}
    }
    outcome.word("dry-only");
}

/// This recipe beside the usual ones and the one it was to be compared with, on this motor.
fn recipes(run: &Run, recipe: Recipe, outcome: &mut Outcome) -> Result<(), Halt> {
    let others =
        [Some(("Usual", run.usual)), run.against.map(|r| ("The other", r)), Some(("Short", run.short))];
    let mut all = vec![("This one", recipe)];
    for other in others.into_iter().flatten() {
        // The same recipe is not shown twice.
        if all.iter().all(|(_, r)| *r != other.1) {
            all.push(other);
        }
    }
    // A recipe that does not turn this motor has no travel to show.
    let travels: Vec<_> =
        all.iter().filter_map(|(name, r)| Some((*name, *r, run.slide.travel(*r).ok()?.value))).collect();
    let most = travels.iter().map(|(.., t)| *t).fold(f64::MIN_POSITIVE, f64::max);
    let mut listed = Vec::new();
    let mut bars = Vec::new();
    for (name, r, travel) in travels {
        let heat = match run.electric {
            Some((current, resistance)) => Some(winding_heat(current, resistance, r.seconds).map_err(wrong)?),
            None => None,
        };
        let volts = bench::write(Kind::Voltage, r.volts);
        let warm = heat.map_or(String::new(), |h| format!(", {}", bench::write(Kind::Energy, h.round())));
        let above = if r.volts > run.slide.volts { ", above its rating" } else { "" };
        bars.push(Bar {
            label: Styled::from(format!("{name}: {volts} {}", lasting(r.seconds))),
            fraction: travel / most,
            note: Styled::from(format!("{travel:.0} m{warm}{above}")),
        });
        listed.push(json!({
            "name": name, "volts": r.volts, "seconds": r.seconds, "brush_travel_m": travel, "winding_J": heat,
        }));
    }
    outcome.body.blank().bars(bars);
    outcome.key("recipes", listed);
    Ok(())
}
