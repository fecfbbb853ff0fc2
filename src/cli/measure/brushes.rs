//! `commsense measure brushes`.

use super::sheet::{Halt, Sheet};
use crate::bench::brushes::{Face, Instrument, Lengths, Outlook, density, pressure};
use crate::bench::{self, Estimate, Kind};
use crate::cli::exit::Failure;
use crate::knowledge::Kind as Known;
use crate::present::measure::{Outcome, Row};
use crate::present::text::{Bar, Styled};

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// Length of every brush: "6.1 mm, 5.8 mm"
    #[arg(long, value_name = "LENGTHS")]
    pub length: Option<String>,
    /// Length of a new one
    #[arg(long, value_name = "LENGTH")]
    pub new: Option<String>,
    /// Least length, where the maker gives another one
    #[arg(long, value_name = "LENGTH")]
    pub minimum: Option<String>,
    /// Running hours since they were new: 12, or "90 min"
    #[arg(long, value_name = "HOURS")]
    pub hours: Option<String>,
    /// Force of every spring on its brush: "0.9 N, 0.85 N"
    #[arg(long, value_name = "FORCES")]
    pub spring: Option<String>,
    /// Force of a new spring
    #[arg(long, value_name = "FORCE")]
    pub new_spring: Option<String>,
    /// Face of a brush: "4 mm x 5 mm"
    #[arg(long, value_name = "SIDES")]
    pub face: Option<String>,
    /// Current at work
    #[arg(long, value_name = "CURRENT")]
    pub current: Option<String>,
}

/// Judges the brushes.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    let lengths = sheet.need_several("length", args.length.as_deref(), Kind::Length)?;
    let new = sheet.want("new", args.new.as_deref(), Kind::Length)?;
    let minimum = match sheet.given("minimum", args.minimum.as_deref(), Kind::Length)? {
        Some(minimum) => minimum,
        None => sheet.limit("minimum")?,
    };
    let instrument = Instrument {
        caliper: sheet.usual("caliper")?,
        new: sheet.usual("new-scatter")?,
        hours: sheet.usual("hours-scatter")?,
    };
    let brushes = Lengths::new(&lengths, minimum, new, instrument).map_err(wrong)?;
    let outlook = match new {
        Some(_) => match sheet.text("hours", args.hours.as_deref(), true, |t| hours(t).map(|_| ()))? {
            Some(text) => brushes.outlook(hours(&text).map_err(Failure::input)?).map_err(wrong)?,
            None => None,
        },
        None if args.hours.is_some() => {
            let said = "the wear rate needs the length of a new brush: write it as --new \"8 mm\"";
            return Err(Failure::usage(said).into());
        }
        None => None,
    };

    let mut outcome = verdict(&brushes, minimum, outlook.as_ref());
    rows(&brushes, minimum, outlook.as_ref(), sheet, &mut outcome)?;
    pair(&brushes, sheet, &mut outcome)?;
    let springs = sheet.want_several("spring", args.spring.as_deref(), Kind::Force)?;
    load(args, &springs, sheet, &mut outcome)?;
    picture(&lengths, minimum, new, &mut outcome);
    keys(&brushes, minimum, outlook.as_ref(), &mut outcome);
    outcome.figure("shortest", brushes.shortest());
    if let Some(new) = new {
        outcome.figure("new", Estimate::exact(new));
    }
    Ok(outcome)
}

fn wrong(why: impl std::fmt::Display) -> Failure {
    Failure::input(format!("these brushes can't be judged: {why}"))
}

/// Running time in seconds; a plain number is hours.
fn hours(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(hours) => Ok(hours * 3600.0),
        Err(_) => bench::read(Kind::Time, text).map_err(|e| e.to_string()),
    }
}

/// The two sides of a face, in m: `4 mm x 5 mm`, `4 x 5 mm`.
fn sides(text: &str) -> Result<(f64, f64), String> {
    let asked = "write both sides of the face, such as `4 mm x 5 mm`";
    let parts: Vec<&str> = text.split(['x', 'X', '×', '*']).map(str::trim).collect();
    let [one, other] = parts[..] else { return Err(format!("`{}` is no face: {asked}", shown(text))) };
    let read = |t: &str| bench::read(Kind::Length, t).map_err(|e| e.to_string());
    let second = read(other)?;
    let first = if !one.is_empty() && !one.contains(|c: char| c.is_alphabetic() || c == '"') {
        let unit = other.trim_start_matches(|c: char| c.is_ascii_digit() || "., ".contains(c));
        read(&format!("{one} {unit}"))?
    } else {
        read(one)?
    };
    Ok((first, second))
}

fn shown(text: &str) -> String {
    text.chars().take(40).collect()
}

fn mm(metres: f64) -> String {
    bench::write(Kind::Length, (metres * 1e5).round() / 1e5)
}

fn verdict(brushes: &Lengths, minimum: f64, outlook: Option<&Outlook>) -> Outcome {
    let short = brushes.shortest().value;
    let which = match brushes.difference().map(|d| d.value) {
        None => "the brush".to_owned(),
        Some(0.0) => "each".to_owned(),
        Some(_) => format!("the shortest (number {})", brushes.shortest_index() + 1),
    };
    let (now, least) = (mm(short), mm(minimum));
    let mut outcome = if short < minimum {
        let said = format!("Replace them: {which} has {now}, and {least} is the least.");
        Outcome::new("replace", said)
    } else {
        let left = match outlook {
            Some(o) if o.left.value.is_finite() => {
                format!("; about {} at the wear so far", span(&o.left))
            }
            Some(_) => "; no wear can be measured yet".to_owned(),
            None => String::new(),
        };
        let above = mm(short - minimum);
        Outcome::new(
            "keep",
            format!("Keep them: {which} has {now}, {above} above the least of {least}{left}."),
        )
    };
    // Between one chance in forty on either side, the caliper does not decide.
    if (0.025..0.975).contains(&brushes.chance_below()) {
        let said =
            "A caliper can't tell on which side of the limit it is: treat it as worn if it comes back soon.";
        outcome.warnings.push(said.into());
    }
    outcome
}

/// Hours left for people: two digits are more than is known.
fn span(left: &Estimate) -> String {
    let h = |s: f64| match s / 3600.0 {
        h if h < 9.95 => format!("{h:.1}"),
        h => format!("{h:.0}"),
    };
    match left.high.is_finite() {
        true => format!("{} h left ({} to {} h)", h(left.value), h(left.low), h(left.high)),
        false => format!("{} h left, and at least {} h", h(left.value), h(left.low)),
    }
}

fn rows(
    brushes: &Lengths,
    minimum: f64,
    outlook: Option<&Outlook>,
    sheet: &mut Sheet,
    outcome: &mut Outcome,
) -> Result<(), Halt> {
    let margins = brushes.margins();
    let margin = margins[brushes.shortest_index()];
    outcome.row("Shortest brush", Known::Length, brushes.shortest(), format!("{} at least", mm(minimum)));
    outcome.row("Above the least", Known::Length, margin, "");
    if let Some(fractions) = brushes.fractions() {
        let share = fractions[brushes.shortest_index()];
        let percent = |f: f64| format!("{:.0} %", f * 100.0);
        let rule = percent(sheet.limit("share-published")?);
        let value = percent(share.value);
        let range = format!("{:.0} to {}", share.low * 100.0, percent(share.high));
        let against = format!("{rule} on large machines");
        outcome.rows.push(Row { label: "Of the new length".into(), value, range, against });
    }
    if let Some(o) = outlook {
        let rate = o.rate.times(3600.0 * 1e3);
        let value = format!("{:.2} mm/h", rate.value);
        let range = format!("{:.2} to {:.2} mm/h", rate.low, rate.high);
        outcome.rows.push(Row { label: "Wear".into(), value, range, against: String::new() });
    }
    let near = sheet.usual("near")?;
    if margin.value < 0.0 {
        outcome.word("worn");
    } else if margin.value < near {
        outcome.word("near-end");
    }
    match (outcome.verdict.as_str(), outlook) {
        ("keep", Some(o)) if o.left.low >= 1800.0 => {
            let low = (o.left.low / 3600.0 * 2.0).floor() / 2.0;
            outcome.next.push(format!("Look at them again within {low} running hours."));
        }
        ("keep", Some(_)) => outcome.next.push("Look at them again after the next run.".into()),
        _ => {}
    }
    if outcome.verdict == "keep" {
        let said = "Put each back into its own hood, the same way up: its seat is worn to its place.";
        outcome.next.insert(0, said.into());
    }
    Ok(())
}

/// Whether the brushes wear alike.
fn pair(brushes: &Lengths, sheet: &mut Sheet, outcome: &mut Outcome) -> Result<(), Halt> {
    let Some(apart) = brushes.difference() else { return Ok(()) };
    let most = sheet.limit("uneven")?;
    outcome.row("Difference", Known::Length, apart, format!("{} at most", mm(most)));
    match (apart.value - apart.deviation > most, apart.value + apart.deviation > most) {
        (true, _) => outcome.word("uneven"),
        (false, false) => outcome.word("even"),
        (false, true) => {
            let said = "Whether they wear unevenly a caliper can't tell here: measure each three times.";
            outcome.warnings.push(said.into());
        }
    }
    Ok(())
}

/// Springs, pressure and current density.
fn load(args: &Args, springs: &[f64], sheet: &mut Sheet, outcome: &mut Outcome) -> Result<(), Halt> {
    let current = sheet.want("current", args.current.as_deref(), Kind::Current)?;
    let weaker = springs.iter().copied().reduce(f64::min);
    if weaker.is_none() && current.is_none() {
        return match args.face {
            Some(_) => {
                Err(Failure::usage("--face alone tells nothing: give --spring or --current too").into())
            }
            None => Ok(()),
        };
    }
    if let Some(weaker) = weaker {
        force(args, springs, weaker, sheet, outcome)?;
    }
    let text = sheet.text("face", args.face.as_deref(), true, |t| sides(t).map(|_| ()))?;
    let Some(text) = text else { return Ok(()) };
    let (width, height) = sides(&text).map_err(Failure::input)?;
    let face = Face { width, height, deviation: sheet.usual("face-scatter")? };
    if let Some(weaker) = weaker {
        let spread = weaker * sheet.usual("force-scatter")?;
        let pressed = pressure(weaker, spread, face).map_err(wrong)?;
        let floor = sheet.limit("pressure-floor")?;
        let least = format!("{} as a floor", bench::write(Kind::Pressure, floor));
        outcome.row("Pressure", Known::Pressure, pressed, least);
        if pressed.value < sheet.usual("pressure-lowest")? {
            sheet.limit("pressure-lowest")?;
            outcome.word("pressure-very-low");
        } else if pressed.value < floor {
            outcome.word("pressure-low");
        }
        estimate_keys(outcome, "pressure_kPa", pressed.times(1e-3));
    }
    if let Some(current) = current {
        let loaded = density(current, current * sheet.usual("current-scatter")?, face).map_err(wrong)?;
        let per_cm2 = loaded.times(1e-4);
        let most = sheet.limit("density-most")?;
        let value = format!("{:.0} A/cm2", per_cm2.value);
        let range = format!("{:.0} to {:.0} A/cm2", per_cm2.low, per_cm2.high);
        let against = format!("{most} A/cm2 in print");
        outcome.rows.push(Row { label: "Current density".into(), value, range, against });
        if per_cm2.value > most {
            outcome.word("density-high");
        }
        estimate_keys(outcome, "density_A_per_cm2", per_cm2);
    }
    Ok(())
}

fn force(
    args: &Args,
    springs: &[f64],
    weaker: f64,
    sheet: &mut Sheet,
    outcome: &mut Outcome,
) -> Result<(), Halt> {
    if weaker <= 0.0 {
        return Err(wrong("the spring force must be above zero").into());
    }
    let scatter = sheet.usual("force-scatter")?;
    let pressed = Estimate::normal(weaker, weaker * scatter);
    let own = sheet.nominal("new-spring", Kind::Force)?;
    let new = sheet.given("new-spring", args.new_spring.as_deref(), Kind::Force)?.or(own);
    let against = match new {
        Some(new) if new > 0.0 => {
            let least = sheet.limit("weak-spring")?;
            if weaker < least * new {
                outcome.word("weak-spring");
            }
            format!("{} new", bench::write(Kind::Force, new))
        }
        Some(_) => return Err(wrong("the force of a new spring must be above zero").into()),
        None => String::new(),
    };
    outcome.row("Weaker spring", Known::Force, pressed, against);
    outcome.figure("spring-own", pressed);
    // The knowledge compares it with the motor's own spring, which must be known.
    if own.is_some() {
        outcome.figure("spring", pressed);
    }
    let stronger = springs.iter().copied().fold(weaker, f64::max);
    let apart = (stronger - weaker) / stronger;
    if springs.len() > 1 && apart > sheet.limit("spring-uneven")? {
        outcome.word("springs-unequal");
    }
    outcome.key("spring_N", weaker);
    Ok(())
}

/// Each brush as a bar of a new one, and the least length beside them.
fn picture(lengths: &[f64], minimum: f64, new: Option<f64>, outcome: &mut Outcome) {
    let full = lengths.iter().copied().fold(new.unwrap_or(minimum), f64::max);
    let bar = |label: String, length: f64, note: Styled| Bar {
        label: Styled::from(label),
        fraction: length / full,
        note,
    };
    let mut bars: Vec<Bar> = lengths
        .iter()
        .enumerate()
        .map(|(i, l)| {
            let length = mm(*l);
            let note = if *l < minimum { Styled::new().fault(length) } else { Styled::from(length) };
            bar(format!("Brush {}", i + 1), *l, note)
        })
        .collect();
    bars.push(bar("Least".into(), minimum, Styled::new().muted(mm(minimum))));
    bars.extend(new.map(|n| bar("New".into(), n, Styled::new().muted(mm(n)))));
    outcome.body.blank().bars(bars);
}

/// A number for scripts, its interval beside it. What has no end or no value is null.
fn estimate_keys(outcome: &mut Outcome, key: &str, of: Estimate) {
    outcome.key(key, of.value);
    outcome.key(&format!("{key}_low"), of.low);
    outcome.key(&format!("{key}_high"), of.high);
}

fn keys(brushes: &Lengths, minimum: f64, outlook: Option<&Outlook>, outcome: &mut Outcome) {
    let mm = |m: f64| (m * 1e6).round() / 1e3;
    outcome.key("minimum_mm", mm(minimum));
    outcome.key("shortest_mm", mm(brushes.shortest().value));
    outcome.key("margins_mm", brushes.margins().iter().map(|m| mm(m.value)).collect::<Vec<f64>>());
    if let Some(fractions) = brushes.fractions() {
        outcome.key("fractions_of_new", fractions.iter().map(|f| f.value).collect::<Vec<f64>>());
    }
    outcome.key("difference_mm", brushes.difference().map(|d| mm(d.value)));
    outcome.key("chance_below_minimum", brushes.chance_below());
    if let Some(o) = outlook {
        estimate_keys(outcome, "wear_mm_per_h", o.rate.times(3600.0 * 1e3));
        estimate_keys(outcome, "hours_left", o.left.times(1.0 / 3600.0));
    }
}
