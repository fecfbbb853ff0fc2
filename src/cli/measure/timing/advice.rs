//! What is to be done and what must then be seen: for people, for scripts, and as a dial.

use serde_json::{Value, json};

use super::End;
use super::inputs::Given;
use crate::bench::timing::{Act, Judgement, Leads, Seat, Turn, Use, way};
use crate::present::dial::{Dial, characters, sense, svg};
use crate::present::measure::Outcome;

/// A rotation in the word that scripts use.
pub fn short(turn: Turn) -> &'static str {
    match turn {
        Turn::Cw => "cw",
        Turn::Ccw => "ccw",
    }
}

fn side(advance: f64) -> &'static str {
    if advance > 0.0 { "against" } else { "with" }
}

/// A number of degrees or marks without needless decimals.
fn number(value: f64) -> String {
    format!("{}", (value.abs() * 10.0).round() / 10.0)
}

/// A place by the marks.
pub fn by_mark(advance: f64) -> String {
    if advance.abs() < 0.05 {
        return "at zero".to_owned();
    }
    format!("{} deg {}", number(advance), side(advance))
}

fn end(from: End) -> &'static str {
    match from {
        End::Shaft => "the shaft end",
        End::Bell => "the end bell",
    }
}

fn marks(count: f64) -> String {
    let count = (count * 10.0).round() / 10.0;
    if count == 1.0 { "1 mark".to_owned() } else { format!("{count} marks") }
}

/// What is to be done, in one sentence without its full stop; empty when nothing is.
pub fn in_short(given: &Given, told: &Judgement) -> String {
    let acts = &told.acts;
    let each: Vec<String> = acts
        .iter()
        .filter_map(|act| match act {
            Act::CrossLeads => Some("cross the two leads".to_owned()),
            Act::TurnBellHalf => Some("turn the end bell half a turn".to_owned()),
            Act::TurnBell { degrees, against, .. } => {
                let (degrees, step) = (*degrees, given.limits.step);
                let count = marks(degrees / step);
                Some(format!(
                    "turn the end bell {} deg ({count}) {}",
                    number(degrees),
                    briefly(given, *against)
                ))
            }
            Act::TurnBellBySpeeds { against } => {
                Some(format!("turn the end bell {}, little by little", briefly(given, *against)))
            }
            // Goes without saying after a turn.
            Act::Tighten if acts.len() == 1 => Some("tighten the end bell screws".to_owned()),
            Act::Tighten => None,
        })
        .collect();
    let mut said = each.join(", then ");
    if let Some(first) = said.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    said
}

/// The steps, the dial and the picture.
pub fn say(given: &Given, told: &Judgement, outcome: &mut Outcome) {
    outcome.next = told.acts.iter().map(|act| step(given, told, *act)).collect();
    if outcome.verdict == "measure-again" {
        outcome.next.extend(again());
    }
    if outcome.verdict == "unsure" {
        outcome.next.push(
            "Read both speeds three times at the same volts and take the middle ones, or record the sound of both \
             ways; or read the mark and give --mark with --mark-side."
                .into(),
        );
    }
    if outcome.verdict == "adjust" {
        outcome.next.push(proof(given, told));
    }
    if let Some(dial) = dial(given, told) {
        outcome.body.drawing(characters(&dial));
        outcome.svg = Some(svg(&dial));
    }
}

/// What to do about readings that contradict each other.
fn again() -> [String; 2] {
    [
        "Do not turn the end bell by these readings. Try its screws. Put a flag of tape on the shaft and see which \
         way it turns in each run; read both speeds again at the same volts, and the mark from the same end."
            .into(),
        "If the same comes out, the mark is not true: take two positions a mark apart with their speeds \
         (--position, twice). They show where the brushes' true zero is: there both speeds are alike."
            .into(),
    ]
}

/// "clockwise, seen from the shaft end", or where that is not known "against the wanted rotation".
fn briefly(given: &Given, against: bool) -> String {
    match (given.wanted, given.from) {
        (Some(wanted), Some(from)) => format!("{}, seen from {}", sense(way(against, wanted)), end(from)),
        _ if against => "against the wanted rotation".to_owned(),
        _ => "with the wanted rotation".to_owned(),
    }
}

/// "clockwise seen from the shaft end, against the wanted rotation".
fn turning(given: &Given, against: bool) -> String {
    let relative = if against { "against the wanted rotation" } else { "with the wanted rotation" };
    match (given.wanted, given.from) {
        (Some(wanted), Some(from)) => {
            format!("{} seen from {}, {relative}", sense(way(against, wanted)), end(from))
        }
        _ => relative.to_owned(),
    }
}

fn loosened(given: &Given, told: &Judgement) -> &'static str {
    if told.acts.contains(&Act::TurnBellHalf) {
        "With the screws still loose, turn it"
    } else if given.known.loose == Some(true) {
        "Draw a thin line across end bell and can. The screws are loose already: turn the end bell"
    } else {
        "Draw a thin line across end bell and can. Loosen both screws by half a turn, no more, and turn the end bell"
    }
}

fn step(given: &Given, told: &Judgement, act: Act) -> String {
    match act {
        Act::CrossLeads => {
            let mut said = String::from(
                "Unplug it. Change the two leads over at the motor, one pair only. The brushes stay where they are.",
            );
            if given.known.leads != Some(Leads::Crossed) {
                said += " Mark leads and terminals, for the next person goes by the colours.";
            }
            said
        }
        Act::TurnBellHalf => "Write down the mark and the shims. Take out both screws, lift the end bell, keep springs \
             and brushes in their hoods, and put it back half a turn round, at the same angle from zero. The leads stay as they are: their colours \
             are right."
            .into(),
        Act::TurnBell { degrees, against, to } => {
            let from = given.known.mark.unwrap_or_default();
            let through = if from * to < 0.0 { ", through zero," } else { "" };
            let to = match to {
                to if to.abs() < 0.05 => "to the zero mark".to_owned(),
                to => format!("to {} deg {} the wanted rotation", number(to), side(to)),
            };
            format!(
                "{} {}: {} deg, {}{through} {to}.",
                loosened(given, told),
                turning(given, against),
                number(degrees),
                marks(degrees / given.limits.step),
            )
        }
        Act::TurnBellBySpeeds { against } => format!(
            "{} a third of a mark at a time {}. Stop the motor each time before you touch it, make the screws snug, \
             and read both speeds again.",
            loosened(given, told),
            turning(given, against),
        ),
        Act::Tighten => "Screws in turn until snug, two fingers on the screwdriver; a drop of removable threadlocker \
             if they had worked loose."
            .into(),
    }
}

/// What must be seen then.
fn proof(given: &Given, told: &Judgement) -> String {
    let mut said = String::from("Then look");
    if let (Some(wanted), Some(from)) = (given.wanted, given.from) {
        said += &format!(": it turns {} seen from {}", sense(wanted), end(from));
    } else {
        said += ": it turns the wanted way";
    }
    match told.ratio_after {
        Some((low, high)) => {
            let (low, high) = (format!("{low:.2}"), format!("{high:.2}"));
            said +=
                &format!(", and at the same volts its speed over that of the other way is {low} to {high}.");
        }
        None if given.known.mark.is_none() && given.known.speeds.is_none() => {
            said +=
                ". Crossing the leads changes what its timing means: look at the mark now, and give --mark.";
        }
        None => said += ".",
    }
    if told.mark_after.is_some()
        && given.known.used == Some(Use::OneWay)
        && told.acts.contains(&Act::CrossLeads)
    {
        said += " Do not load it before the end bell stands right.";
    }
    said
}

/// The actions for scripts.
pub fn actions(given: &Given, told: &Judgement) -> Value {
    let from = given.from.map(|f| if f == End::Shaft { "shaft" } else { "bell" });
    let one = |name: &str, says: String| json!({"do": name, "says": says});
    let turned = |against: bool, degrees: Option<f64>, to: Option<f64>, says: String| {
        let step = given.limits.step;
        json!({
            "do": Word::TurnEndBell.text(),
            "degrees": degrees.map(tidy),
            "marks": degrees.map(|d| tidy(d / step)),
            "which_way": given.wanted.map(|w| short(way(against, w))),
            "seen_from": from,
            "relative": if against { "against-wanted" } else { "with-wanted" },
            "to_mark_deg": to.map(|t| tidy(t.abs())),
            "to_side": to.filter(|t| t.abs() > 1e-9).map(|t| if t > 0.0 { "against-wanted" } else { "with-wanted" }),
            "says": says,
        })
    };
    if told.acts.is_empty() {
        return json!([{"do": Word::None.text()}]);
    }
    let all: Vec<Value> = told
        .acts
        .iter()
        .map(|act| {
            let says = step(given, told, *act);
            match *act {
                Act::CrossLeads => one(&Word::CrossLeads.text(), says),
                Act::TurnBellHalf => one(&Word::TurnEndBellHalf.text(), says),
                Act::TurnBell { degrees, against, to } => turned(against, Some(degrees), Some(to), says),
                Act::TurnBellBySpeeds { against } => turned(against, None, None, says),
                Act::Tighten => one(&Word::Tighten.text(), says),
            }
        })
        .collect();
    json!(all)
}

/// The words that scripts know actions by.
#[derive(Debug, Clone, Copy, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
enum Word {
    CrossLeads,
    TurnEndBellHalf,
    TurnEndBell,
    Tighten,
    None,
}

impl Word {
    fn text(self) -> String {
        json!(self).as_str().unwrap_or_default().to_owned()
    }
}

/// A number without the noise of its last binary digits.
fn tidy(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

/// What must be seen then, for scripts.
pub fn expected(given: &Given, told: &Judgement) -> Value {
    let contradicted = told.findings.iter().any(|f| f.is_contradiction());
    let side = told.mark_after.filter(|m| m.abs() > 1e-9);
    json!({
        "turns": given.wanted.map(short),
        "seen_from": given.from.map(|f| if f == End::Shaft { "shaft" } else { "bell" }),
        "mark_deg": told.mark_after.map(|m| tidy(m.abs())),
        "mark_side": side.map(|m| if m > 0.0 { "against-wanted" } else { "with-wanted" }),
        "speed_ratio": told.ratio_after.map(|(low, high)| json!({"low": low, "high": high})),
        "says": if contradicted { again().join(" ") } else { proof(given, told) },
    })
}

/// The dial; None when there is nothing to draw on it.
fn dial(given: &Given, told: &Judgement) -> Option<Dial> {
    let (wanted, from) = (given.wanted?, given.from?);
    let mark = given.known.mark?;
    let goal = told.acts.iter().find_map(|act| match act {
        Act::TurnBell { to, .. } => Some(*to),
        _ => None,
    });
    let half_now = given.known.seat == Some(Seat::HalfTurn);
    let half_then = half_now != told.acts.contains(&Act::TurnBellHalf);
    let band = given.known.used.map(|used| {
        let (low, high) = match used {
            Use::OneWay => (given.limits.least, given.limits.most),
            Use::BothWays => (0.0, 0.0),
        };
        let (a, b) = (Dial::angle(low, wanted), Dial::angle(high, wanted));
        (a.min(b), a.max(b))
    });
    let corrected = goal.is_some() && told.findings.contains(&crate::bench::timing::Finding::ZeroOffset);
    Some(Dial {
        from: end(from).to_owned(),
        wanted,
        step: given.limits.step,
        now: Some(Dial::angle(mark, wanted)),
        goal: goal.map(|g| Dial::angle(g, wanted)),
        half_now,
        half_then,
        // Where the zero mark is not true, the band by the marks is not either.
        band: band.filter(|_| !corrected),
    })
}
