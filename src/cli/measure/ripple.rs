//! `commsense measure ripple`.

use std::io::Read;

use super::sheet::{Halt, Sheet};
use crate::bench::ripple::table::{Hints, read};
use crate::bench::ripple::{Expected, Recording, Ripple, RippleError, analyse, ripple_hz, ripples_per_turn};
use crate::bench::{Estimate, Kind, write};
use crate::cli::exit::Failure;
use crate::knowledge::Kind as Known;
use crate::present::measure::Outcome;
use crate::present::ripple_plot;
use crate::present::text::{Bar, Styled};

/// Larger files than this are no recording of some seconds, bytes.
const LARGEST: u64 = 512 << 20;

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// Recording of the current, CSV: columns of time and current, with units in the header
    #[arg(value_name = "FILE")]
    pub file: Option<String>,
    /// Number of commutator bars
    #[arg(long, value_name = "N")]
    pub bars: Option<String>,
    /// Samples a second, for a file without a column of time: "20 kHz"
    #[arg(long, value_name = "RATE")]
    pub rate: Option<String>,
    /// Which column is the current, by name or number
    #[arg(long, value_name = "COLUMN")]
    pub column: Option<String>,
    /// Current that one volt stands for, where a voltage was recorded: "10 A"
    #[arg(long, value_name = "CURRENT")]
    pub per_volt: Option<String>,
    /// Approximate speed, to a seventh
    #[arg(long, value_name = "SPEED")]
    pub rpm: Option<String>,
    /// It ran unloaded at this voltage
    #[arg(long, value_name = "VOLTAGE")]
    pub no_load: Option<String>,
}

/// Reads a recording and judges it.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    if args.file.is_none() && !sheet.can_ask() {
        let failure = Failure::usage("the recording is missing");
        return Err(failure.help("Write it as: commsense measure ripple FILE.csv --bars 3").into());
    }
    let path = sheet.text("file", args.file.as_deref(), false, readable)?.unwrap_or_default();
    let bars = bars(args, sheet)?;
    let rate = sheet.text("rate", args.rate.as_deref(), true, |text| frequency(text).map(|_| ()))?;
    let rate = rate.map(|text| frequency(&text)).transpose().map_err(Failure::input)?;
    let per_volt = sheet.given("per-volt", args.per_volt.as_deref(), Kind::Current)?;
    if per_volt.is_some_and(|a| a <= 0.0) {
        return Err(Failure::input("--per-volt: write a current above zero, such as 10 A").into());
    }
    let rpm = sheet.want("rpm", args.rpm.as_deref(), Kind::Speed)?;
    let no_load = sheet.want("no-load", args.no_load.as_deref(), Kind::Voltage)?;
    let (expected, sure) = expected(rpm, no_load, sheet)?;

    let bytes = content(&path)?;
    let hints = Hints { rate, column: args.column.clone(), per_volt };
    let wrong = |why: RippleError| Failure::input(format!("the recording {}: {why}", path.trim()));
    let recording = read(&bytes, &hints).map_err(wrong)?;
    let ripple = analyse(&recording, bars, expected, sure).map_err(wrong)?;

    let (uneven, one_coil) = (sheet.limit("uneven-from")?, sheet.limit("one-coil-from")?);
    let certain = sheet.usual("certain-from")?;
    let mut outcome = verdict(&ripple, (uneven, one_coil), certain);
    rows(&ripple, &recording, bars, uneven, &mut outcome);
    picture(&ripple, bars, &mut outcome);
    if ripple.brushes > sheet.limit("brushes-from")? {
        outcome.word("brushes-unlike");
    }
    outcome.warnings.extend(recording.notes.iter().map(ToString::to_string));
    if let Some(rival) = ripple.rivals.first() {
        let (other, chance) = (write(Kind::Speed, rival.rpm.round()), 100.0 * rival.chance);
        let said =
            format!("{other} would explain the ripple too ({chance:.0} %): say --rpm if you know better.");
        outcome.warnings.push(said);
    }
    if let Some(volts) = no_load {
        unloaded(volts, &ripple, certain, sheet, &mut outcome)?;
    }
    outcome.svg = Some(
        ripple_plot::draw(&ripple.orders, bars, &format!("Current ripple at {:.0} rpm", ripple.rpm.value))
            .map_err(Failure::input)?,
    );
    keys(&ripple, &recording, bars, &mut outcome);
    Ok(outcome)
}

fn readable(path: &str) -> Result<(), String> {
    match std::fs::metadata(path.trim()) {
        Ok(found) if found.is_file() && found.len() > LARGEST => {
            Err(format!("`{path}` has more than {} MB; some seconds are enough", LARGEST >> 20))
        }
        Ok(found) if found.is_file() => Ok(()),
        Ok(_) => Err(format!("`{path}` is no file; name a CSV file")),
        Err(e) => Err(format!("can't read `{path}`: {e}")),
    }
}

fn content(path: &str) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path.trim());
    file.and_then(|f| f.take(LARGEST).read_to_end(&mut bytes))
        .map_err(|e| Failure::input(format!("can't read `{path}`: {e}")))?;
    Ok(bytes)
}

fn bars(args: &Args, sheet: &mut Sheet) -> Result<u32, Halt> {
    let bars = match (&args.bars, sheet.motor()) {
        (None, Some(motor)) => f64::from(motor.slots),
        (given, _) => sheet.need("bars", given.as_deref(), Kind::Ratio)?,
    };
    if !(2.0..=200.0).contains(&bars) || bars.fract() != 0.0 {
        return Err(Failure::input("--bars: write a whole number of bars, 2 or more").into());
    }
    Ok(bars as u32)
}

/// A sampling rate: `20 kHz`, `20000`, `1 MS/s`.
fn frequency(text: &str) -> Result<f64, String> {
    let said =
        || format!("--rate: `{}` is no sampling rate; write it in Hz or kHz, such as 20 kHz", text.trim());
    let clean: String = text.trim().replace(',', ".").to_lowercase();
    let cut = clean.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(clean.len());
    let (number, unit) = clean.split_at(cut);
    let factor = match unit.trim() {
        "" | "hz" | "s/s" | "sa/s" | "/s" | "sps" => 1.0,
        "k" | "khz" | "ks/s" | "ksa/s" | "ksps" => 1e3,
        "m" | "mhz" | "ms/s" | "msa/s" | "msps" => 1e6,
        _ => return Err(said()),
    };
    match number.parse::<f64>() {
        Ok(value) if value > 0.0 && (value * factor).is_finite() => Ok(value * factor),
        _ => Err(said()),
    }
}

/// What is known of the speed, and whether it is known well enough to refuse what can't show it.
fn expected(rpm: Option<f64>, no_load: Option<f64>, sheet: &mut Sheet) -> Result<(Expected, bool), Halt> {
    if let Some(rpm) = rpm {
        if rpm <= 0.0 {
            return Err(Failure::input("--rpm: write a speed above zero, such as 20000 rpm").into());
        }
        return Ok((Expected { rpm, factor: sheet.usual("given-within")? }, true));
    }
    let nominal = sheet.nominal("rated-speed", Kind::Speed)?;
    let rated = sheet.nominal("rated-voltage", Kind::Voltage)?;
    Ok(match (nominal, rated, no_load) {
        (Some(rpm), Some(rated), Some(volts)) if volts > 0.0 && rated > 0.0 => {
            (Expected { rpm: rpm * volts / rated, factor: sheet.usual("nominal-within")? }, true)
        }
        (Some(rpm), ..) => (Expected { rpm, factor: sheet.usual("usual-within")? }, false),
        _ => (Expected { rpm: sheet.usual("usual-speed")?, factor: sheet.usual("usual-within")? }, false),
    })
}

fn verdict(ripple: &Ripple, (uneven, one_coil): (f64, f64), certain: f64) -> Outcome {
    let speed = format!("{:.0} rpm", ripple.rpm.value);
    let share = crate::present::text::percent(ripple.unevenness);
    let (word, said) = match ripple.unevenness {
        u if u >= one_coil => (
            "one-coil",
            format!("One coil or bar is unlike the others: {share} of the ripple comes from it; {speed}."),
        ),
        u if u >= uneven => {
            ("uneven", format!("Uneven: {share} of the ripple is no commutation ripple; {speed}."))
        }
        _ => ("even", format!("Even ripple: every coil does its share; {speed}.")),
    };
    let said = match ripple.chance < certain {
        true => format!("{said} The speed is not certain, and with it the rest."),
        false => said,
    };
    let mut outcome = Outcome::new(word, said);
    outcome.word(if ripple.chance < certain { "undecided" } else { word });
    outcome
}

fn rows(ripple: &Ripple, recording: &Recording, bars: u32, uneven: f64, outcome: &mut Outcome) {
    outcome.row("Mean speed", Known::Speed, ripple.rpm, "");
    let (low, high) = ripple.range;
    outcome.plain_row("Slowest to fastest", format!("{low:.0} to {high:.0} rpm"), "");
    let ripples = ripples_per_turn(bars);
    outcome.plain_row("Ripples a turn", ripples.to_string(), format!("{bars} bars, 2 poles"));
    let hz = ripple_hz(bars, ripple.rpm.value);
    outcome.plain_row("Ripple", format!("{hz:.0} Hz"), format!("sampled at {:.0} Hz", recording.rate));
    let percent = crate::present::text::percent;
    let limit = format!("even below {}", percent(uneven));
    outcome.plain_row("From one coil or bar", percent(ripple.unevenness), limit);
    outcome.row("Mean current", Known::Current, Estimate::exact(ripple.mean), "");
    let turns = format!("{:.0} in {:.2} s", ripple.turns, recording.seconds());
    outcome.plain_row("Turns looked at", turns, "");
    if ripple.fastest < 1.6 * ripple.rpm.value {
        let fastest = ripple.fastest;
        let said = format!(
            "This sampling rate shows speeds up to {fastest:.0} rpm only; a faster motor would read wrong."
        );
        outcome.warnings.push(said);
    }
}

/// The strongest of what recurs, as bars.
fn picture(ripple: &Ripple, bars: u32, outcome: &mut Outcome) {
    let mut strongest: Vec<_> = ripple.orders.iter().collect();
    strongest.sort_by(|a, b| b.ampere.total_cmp(&a.ampere));
    strongest.truncate(6);
    strongest.sort_by_key(|o| o.per_turn);
    let most = strongest.iter().map(|o| o.ampere).fold(1e-12, f64::max);
    let bar = |o: &&crate::bench::ripple::Order| {
        let kind = match o.per_turn {
            h if h % ripples_per_turn(bars) == 0 => "ripple",
            h if h % bars == 0 => "brushes",
            _ => "one coil or bar",
        };
        Bar {
            label: Styled::new().plain(format!("{} a turn, {kind}", o.per_turn)),
            fraction: o.ampere / most,
            note: Styled::new().plain(write(Kind::Current, o.ampere)),
        }
    };
    outcome.body.blank().subheading("What recurs with the turn").bars(strongest.iter().map(bar).collect());
}

/// The speed as a reading, where the voltage was the rated one.
fn unloaded(
    volts: f64,
    ripple: &Ripple,
    certain: f64,
    sheet: &mut Sheet,
    outcome: &mut Outcome,
) -> Result<(), Halt> {
    let near = sheet.limit("rated-within")?;
    match sheet.nominal("rated-voltage", Kind::Voltage)? {
        _ if ripple.chance < certain => {}
        Some(rated) if (volts / rated - 1.0).abs() > near => outcome.warnings.push(format!(
            "{} is not its rated {}: the speed is not taken as its no-load speed.",
            write(Kind::Voltage, volts),
            write(Kind::Voltage, rated)
        )),
        _ => outcome.figure("no-load-rpm", ripple.rpm),
    }
    Ok(())
}

fn keys(ripple: &Ripple, recording: &Recording, bars: u32, outcome: &mut Outcome) {
    let rounded = |v: f64, digits: f64| (v * digits).round() / digits;
    outcome.key("rpm", rounded(ripple.rpm.value, 100.0));
    outcome.key("low", rounded(ripple.rpm.low, 100.0));
    outcome.key("high", rounded(ripple.rpm.high, 100.0));
    outcome.key("once_per_turn", rounded(ripple.unevenness, 1e4));
    outcome.key("chance", rounded(ripple.chance, 1e3));
    let rival = |r: &crate::bench::ripple::Rival| serde_json::json!({"rpm": rounded(r.rpm, 1.0), "chance": rounded(r.chance, 1e3)});
    outcome.key("rivals", ripple.rivals.iter().map(rival).collect::<Vec<_>>());
    outcome.key("slowest_rpm", rounded(ripple.range.0, 1.0));
    outcome.key("fastest_rpm", rounded(ripple.range.1, 1.0));
    outcome.key("ripples_per_turn", ripples_per_turn(bars));
    outcome.key("ripple_Hz", rounded(ripple_hz(bars, ripple.rpm.value), 10.0));
    outcome.key("brushes", rounded(ripple.brushes, 1e4));
    outcome.key("mean_A", rounded(ripple.mean, 1e4));
    outcome.key("turns", rounded(ripple.turns, 10.0));
    outcome.key("rate_Hz", rounded(recording.rate, 10.0));
    let order = |o: &crate::bench::ripple::Order| {
        serde_json::json!({
            "per_turn": o.per_turn, "A": rounded(o.ampere, 1e4), "share": rounded(o.share, 1e4)
        })
    };
    outcome.key("lines", ripple.orders.iter().map(order).collect::<Vec<_>>());
}

#[cfg(test)]
mod tests {
    use super::frequency;

    #[test]
    fn rates_as_people_write_them() {
        for (text, hz) in [
            ("20 kHz", 20e3),
            ("20000", 20e3),
            ("20k", 20e3),
            ("1 MS/s", 1e6),
            ("0,5 MHz", 5e5),
            ("96000 Hz", 96e3),
        ] {
            assert_eq!(frequency(text), Ok(hz), "{text}");
        }
        for text in ["", "fast", "0", "-5 kHz", "20 A", "1e400", "20 kHz 3"] {
            assert!(frequency(text).is_err_and(|e| e.contains("kHz")), "{text}");
        }
    }
}
