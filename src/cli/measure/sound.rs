//! `commsense measure sound`.

use std::fs::File;
use std::path::Path;

use super::sheet::{Halt, Sheet};
use crate::bench::sound::{
    Clicks, Comparison, Quality, Recording, Settings, Shaft, SoundError, Steady, clicks, compare,
    shaft_speed, steadiest,
};
use crate::bench::{Estimate, Kind};
use crate::cli::exit::Failure;
use crate::knowledge::Kind as Known;
use crate::present::measure::Outcome;
use crate::present::spectrum_plot::{SpectrumPlot, draw};
use crate::present::text::Styled;

/// The options.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
pub struct Args {
    /// Recording of the motor running forward, WAV
    #[arg(long, value_name = "FILE")]
    pub forward: Option<String>,
    /// Recording of the motor running in reverse at the same voltage, WAV
    #[arg(long, value_name = "FILE")]
    pub reverse: Option<String>,
    /// Number of commutator bars
    #[arg(long, value_name = "N")]
    pub bars: Option<String>,
    /// Approximate forward speed, to a quarter
    #[arg(long, value_name = "SPEED")]
    pub rpm: Option<String>,
}

/// One recording with its steady stretch.
struct Heard {
    recording: Recording,
    steady: Steady,
}

/// Compares two recordings.
pub fn run(args: &Args, sheet: &mut Sheet) -> Result<Outcome, Halt> {
    let ahead = sheet.text("forward", args.forward.as_deref(), false, readable)?.unwrap_or_default();
    let back = sheet.text("reverse", args.reverse.as_deref(), false, readable)?.unwrap_or_default();
    let bars = bars(args, sheet)?;
    let rpm = sheet.want("rpm", args.rpm.as_deref(), Kind::Speed)?;
    let settings = Settings {
        speeds: (sheet.usual("slowest")?, sheet.usual("fastest")?),
        widest_ratio: sheet.usual("widest-ratio")?,
        ..Settings::default()
    };
    let (forward, reverse) = (listen(&ahead, "forward", &settings)?, listen(&back, "reverse", &settings)?);
    let pair = ((&forward.recording, &forward.steady), (&reverse.recording, &reverse.steady));
    let compared = compare(pair.0, pair.1, &settings).map_err(wrong)?;
    if compared.same_samples {
        let failure = Failure::input("--forward and --reverse are the same recording");
        return Err(failure.help("Record once more with the leads crossed, at the same voltage.").into());
    }
    let thought_of = bars.map_or(sheet.slot_counts(), |k| vec![k]);
    let shaft = shaft_speed(&compared, &forward.steady, &thought_of, rpm, &settings).map_err(wrong)?;
    let settled = shaft.as_ref().and_then(|s| s.settled);
    let click = settled.and_then(|speed| {
        let bars = if speed.bars == 0 { thought_of.clone() } else { vec![speed.bars] };
        let turns = speed.forward.value / 60.0;
        [(&forward, turns), (&reverse, turns / compared.ratio.value)]
            .into_iter()
            .filter_map(|(h, turns)| clicks(&h.recording, &h.steady, turns, &bars))
            .max_by(|a, b| a.turn.total_cmp(&b.turn))
    });

    let alike = sheet.limit("alike-within")?;
    let mut outcome = verdict(&compared, alike);
    speeds(&compared, shaft.as_ref(), &mut outcome);
    clicking(click, &mut outcome);
    quality("forward", &forward, &mut outcome);
    quality("reverse", &reverse, &mut outcome);
    if let Some(hz) = compared.hum {
        outcome.warnings.push(format!("Hum of the {hz:.0} Hz mains was heard and left out."));
    }
    outcome.key("matched_tones", compared.matches.len());
    outcome.key("agreement", (compared.agreement * 1e3).round() / 1e3);
    outcome.svg = Some(picture(&forward, &reverse, &compared, &settings)?);
    Ok(outcome)
}

fn readable(path: &str) -> Result<(), String> {
    match File::open(path.trim()).and_then(|f| f.metadata()) {
        Ok(found) if found.is_file() => Ok(()),
        Ok(_) => Err(format!("`{path}` is a folder; name a WAV file")),
        Err(e) => Err(format!("can't read `{path}`: {e}")),
    }
}

fn bars(args: &Args, sheet: &mut Sheet) -> Result<Option<u32>, Halt> {
    if let (None, Some(motor)) = (&args.bars, sheet.motor()) {
        return Ok(Some(motor.slots));
    }
    let Some(bars) = sheet.want("bars", args.bars.as_deref(), Kind::Ratio)? else { return Ok(None) };
    if !(3.0..=200.0).contains(&bars) || bars.fract() != 0.0 {
        return Err(Failure::input("--bars: write a whole number of bars, 3 or more").into());
    }
    Ok(Some(bars as u32))
}

fn wrong(why: SoundError) -> Failure {
    Failure::input(format!("these recordings can't be compared: {why}"))
}

fn listen(path: &str, which: &str, settings: &Settings) -> Result<Heard, Failure> {
    let failed = |why: SoundError| Failure::input(format!("the {which} recording, {}: {why}", path.trim()));
    let file = File::open(Path::new(path.trim())).map_err(|e| failed(e.into()))?;
    let length = file.metadata().map_err(|e| failed(e.into()))?.len();
    let recording = Recording::listen(std::io::BufReader::with_capacity(1 << 16, file), length, settings)
        .map_err(failed)?;
    let steady = steadiest(&recording, settings).map_err(failed)?;
    Ok(Heard { recording, steady })
}

/// Whether the ratio may go into a case.
fn trusted(compared: &Comparison) -> bool {
    compared.other.is_none() && !compared.alike()
}

fn verdict(compared: &Comparison, alike: f64) -> Outcome {
    let ratio = compared.ratio;
    let percent = 100.0 * (ratio.value.max(1.0 / ratio.value) - 1.0);
    let mut outcome = if let Some(other) = compared.other {
        let said = format!(
            "Can't tell: the tones fit a speed ratio of {:.3}, and nearly as well one of {:.3}.",
            ratio.value, other.ratio
        );
        Outcome::new("undecided", said)
    } else if compared.alike() {
        let said = "Both recordings sound the same, in speed and in every tone: most likely both are of one direction.";
        Outcome::new("same-direction", said)
    } else if (ratio.value - 1.0).abs() <= alike {
        Outcome::new("alike", format!("Both ways alike: the speeds differ by {percent:.1} %."))
    } else if ratio.value > 1.0 {
        Outcome::new("forward-faster", format!("Forward is faster than reverse by {percent:.1} %."))
    } else {
        Outcome::new("reverse-faster", format!("Reverse is faster than forward by {percent:.1} %."))
    };
    outcome.row(
        "Forward speed over reverse",
        Known::Ratio,
        ratio,
        format!("alike within {:.1} %", 100.0 * alike),
    );
    outcome.body.item(2, "", Styled::new().plain(scale(&ratio)));
    let word = outcome.verdict.clone();
    outcome.word(&word);
    let four = |x: f64| (x * 1e5).round() / 1e5;
    outcome.key("speed_ratio", four(ratio.value));
    outcome.key("low", four(ratio.low));
    outcome.key("high", four(ratio.high));
    outcome.key("other_ratio", compared.other.map(|o| four(o.ratio)));
    outcome.next = match word.as_str() {
        "reverse-faster" | "forward-faster" => vec![
            "Look where the timing mark stands before you loosen anything.".into(),
            format!("Go on with: commsense measure timing --ratio {:.3}", ratio.value),
        ],
        "undecided" => vec![
            "Record again: microphone 10 cm from the motor, quiet room, 5 s at a steady voltage each way."
                .into(),
            "With a tachometer reading, add --rpm; it also settles the speed.".into(),
        ],
        "same-direction" => {
            vec![
                "Cross the supply's leads, see that the shaft now turns the other way, and record again."
                    .into(),
            ]
        }
        _ => vec![],
    };
    if trusted(compared) {
        outcome.figure("ratio", ratio);
    }
    outcome
}

/// The ratio on a line from 0.85 to 1.15; `|` is equal speed, `=` is its interval where that is wide enough to see.
fn scale(ratio: &Estimate) -> String {
    const HALF: i32 = 15;
    let place = |x: f64| (((x - 1.0) / 0.15 * f64::from(HALF)).round() as i32).clamp(-HALF, HALF);
    let (low, at, high) = (place(ratio.low), place(ratio.value), place(ratio.high));
    let line: String = (-HALF..=HALF)
        .map(|i| match i {
            i if i == at => '*',
            0 => '|',
            i if (low..=high).contains(&i) => '=',
            _ => '-',
        })
        .collect();
    format!("reverse faster 0.85 {line} 1.15 forward faster")
}

fn speeds(compared: &Comparison, shaft: Option<&Shaft>, outcome: &mut Outcome) {
    let mut forward_rpm = None;
    let mut reverse_rpm = None;
    let mut candidates: Vec<f64> = Vec::new();
    match shaft {
        None => {
            outcome.plain_row("Shaft speed", "not known", "");
            outcome
                .warnings
                .push("The tones are no row of harmonics: the ratio holds, the speed stays open.".into());
        }
        Some(shaft) => {
            candidates = shaft.candidates.iter().map(|s| s.forward.value.round()).collect();
            if shaft.misfit {
                let said =
                    "The approximate speed fits none of the speeds that the tones allow; it is not used.";
                outcome.warnings.push(said.into());
            }
            if let Some(speed) = shaft.settled {
                let share = |e: &Estimate| e.deviation / e.value;
                let reverse = speed.forward.value / compared.ratio.value;
                let deviation = reverse * libm::hypot(share(&speed.forward), share(&compared.ratio));
                let reverse = Estimate::normal(reverse, deviation);
                outcome.row("Forward", Known::Speed, speed.forward, "");
                outcome.row("Reverse", Known::Speed, reverse, "");
                forward_rpm = Some(speed.forward.value.round());
                reverse_rpm = Some(reverse.value.round());
            } else {
                let all: Vec<String> = shaft
                    .candidates
                    .iter()
                    .map(|s| crate::bench::write(Kind::Speed, s.forward.value.round()))
                    .collect();
                outcome.plain_row("Forward", "not settled", all.join(" or "));
                let say =
                    "The tones allow more than one speed of the shaft. Give --bars and an approximate --rpm.";
                outcome.warnings.push(say.into());
            }
        }
    }
    outcome.key("forward_rpm", forward_rpm);
    outcome.key("reverse_rpm", reverse_rpm);
    outcome.key("candidates_rpm", candidates);
}

fn clicking(click: Option<Clicks>, outcome: &mut Outcome) {
    let (said, word) = match click.map(|c| c.per_turn) {
        None => ("not known".to_owned(), None),
        Some(None) => ("can't tell".to_owned(), None),
        Some(Some(0)) => ("none".to_owned(), Some("no-click")),
        Some(Some(1)) => ("once per turn".to_owned(), Some("click-per-turn")),
        Some(Some(n)) => (format!("{n} per turn, as the bars pass"), Some("click-per-bar")),
    };
    let strength = click.map(|c| match c.per_turn {
        Some(n) if n > 1 => c.bar,
        _ => c.turn,
    });
    let height = strength.map_or(String::new(), |s| format!("beat {s:.2} of 2"));
    outcome.plain_row("Clicks", said, height);
    if let Some(word) = word {
        outcome.word(word);
    }
    outcome.key("clicks_per_turn", click.and_then(|c| c.per_turn));
    outcome.key("click_strength", strength.map(|s| (s * 1e3).round() / 1e3));
}

fn quality(which: &str, heard: &Heard, outcome: &mut Outcome) {
    let Quality { seconds, clipped, not_numbers, missing, .. } = heard.recording.quality;
    let (from, to) = heard.steady.seconds;
    let to = to.min(seconds);
    let mut warn = |said: String| outcome.warnings.push(format!("The {which} recording {said}"));
    if clipped > 1e-3 {
        warn(format!("is clipped in {:.1} % of its samples; move the microphone away.", 100.0 * clipped));
    }
    if missing > 0.0 {
        warn(format!("is cut short: {:.0} % of it is missing; what is there was used.", 100.0 * missing));
    }
    if not_numbers > 0.0 {
        warn(format!(
            "has samples that are no numbers ({:.2} %); they count as silence.",
            100.0 * not_numbers
        ));
    }
    if seconds < 3.0 {
        warn(format!("lasts only {seconds:.1} s; 3 s or more tell better."));
    }
    if heard.steady.unsettled > 0.002 {
        warn("is not settled in speed: let it run half a minute first, at a steady voltage.".into());
    }
    if to - from < 0.85 * seconds {
        warn(format!("is steady from {from:.1} s to {to:.1} s of {seconds:.1} s; only that was used."));
    } else if heard.steady.drift > 0.01 {
        warn(format!(
            "changes its speed by {:.1} %; let the motor settle first.",
            100.0 * heard.steady.drift
        ));
    }
    let round = |x: f64| (x * 100.0).round() / 100.0;
    outcome.key(
        which,
        serde_json::json!({
            "seconds": round(seconds), "steady_from_s": round(from), "steady_to_s": round(to),
            "drift": (heard.steady.drift * 1e5).round() / 1e5, "clipped": clipped,
            "level_dB": round(heard.recording.quality.level_db),
        }),
    );
}

fn picture(
    forward: &Heard,
    reverse: &Heard,
    compared: &Comparison,
    settings: &Settings,
) -> Result<String, Failure> {
    let plot = SpectrumPlot {
        forward: &forward.steady.spectrum,
        reverse: &reverse.steady.spectrum,
        compared,
        range: (settings.lowest, forward.recording.highest.min(reverse.recording.highest)),
        title: format!(
            "Forward over reverse: {:.4} (95 % sure of {:.4} to {:.4})",
            compared.ratio.value, compared.ratio.low, compared.ratio.high
        ),
        names: ["Forward".to_owned(), "Reverse".to_owned()],
    };
    draw(&plot).map_err(Failure::input)
}
