//! Bar to bar: every coil by itself, and which is at fault.

use serde_json::json;

use super::{Args, Said, percent, setting, to_reference, written, wrong};
use crate::bench::winding::{
    Coil, Coils, Judgement, Limits, Meter, Pairs, Ring, Verdict, judge, judge::smallest_short,
};
use crate::bench::{Estimate, Kind};
use crate::cli::exit::Failure;
use crate::cli::measure::sheet::{Halt, Sheet};
use crate::knowledge::Kind as Known;
use crate::present::measure::Outcome;
use crate::present::text::{Bar, Styled};

/// What stands for a ratio without end in a case: far beyond every edge.
const ENDLESS: f64 = 1000.0;

/// The most coils that are drawn; more are a wall and no picture.
const MOST_DRAWN: usize = 24;

/// Coils from readings in ohm.
pub fn by_resistance(args: &Args, sheet: &mut Sheet, outcome: &mut Outcome) -> Result<Said, Halt> {
    let (readings, text) = super::ohms(sheet, "bars", args.bars.as_deref())?;
    let set = setting(args, sheet, &text, outcome)?;
    let work = Work { meter: set.meter, lead: set.lead, to_reference: set.to_reference, coarse: true };
    work.judged(args, sheet, &readings, outcome)
}

/// Coils from millivolts at a known current.
pub fn by_volt_drop(args: &Args, sheet: &mut Sheet, outcome: &mut Outcome) -> Result<Said, Halt> {
    let current = sheet.need("current", args.current.as_deref(), Kind::Current)?;
    if current <= 0.0 {
        return Err(Failure::input("--current: write a current above zero").into());
    }
    let given = args.drops.as_deref();
    let check = |text: &str| crate::cli::measure::sheet::several(text, Kind::Voltage).map(|_| ());
    let Some(text) = sheet.text("drops", given, false, check)? else { return Err(Halt::Stopped) };
    let drops = sheet.need_several("drops", Some(&text), Kind::Voltage)?;
    if let Some(i) = drops.iter().position(|v| *v < 0.0) {
        let said =
            format!("--drops: number {} is negative; turn the probes round and write it without", i + 1);
        return Err(Failure::input(said).into());
    }
    if args.lead.is_some() {
        return Err(Failure::usage("a volt drop has no lead resistance in it; leave out --lead").into());
    }
    let meter = super::meter(args, sheet, &text, Kind::Voltage)?.over(current);
    let readings: Vec<f64> = drops.iter().map(|v| v / current).collect();
    let to_reference = to_reference(args, sheet, outcome)?;
    outcome.key("current_A", current);
    Work { meter, lead: 0.0, to_reference, coarse: false }.judged(args, sheet, &readings, outcome)
}

/// What the readings were made with.
struct Work {
    meter: Meter,
    lead: f64,
    to_reference: f64,
    /// Whether a finer method is left to offer.
    coarse: bool,
}

impl Work {
    fn judged(
        &self,
        args: &Args,
        sheet: &mut Sheet,
        readings: &[f64],
        outcome: &mut Outcome,
    ) -> Result<Said, Halt> {
        let coils = Pairs::of(&self.meter, self.lead, readings).and_then(|p| p.coils()).map_err(wrong)?;
        let limits = Limits {
            open_above: sheet.usual("open-above")?,
            joint_above: sheet.usual("joint-above")?,
            part_below: sheet.usual("part-below")?,
            shorted_below: sheet.usual("shorted-below")?,
        };
        let said = judge(&coils, &self.meter, self.lead, &limits);
        cite(sheet, &said)?;
        let worst = said.verdicts.iter().max().copied().unwrap_or(Verdict::Sound);
        self.numbers(&coils, &said, outcome);
        figures(&coils, &said, outcome);
        let unseen = self.unseen(args, sheet, &said, worst, outcome)?;
        draw(&coils, &said, worst == Verdict::Sound && unseen.coarse, outcome);
        self.words(sheet, &coils, &said, worst, unseen.coarse, &limits, outcome)?;
        let word = if worst == Verdict::Sound && unseen.coarse { "cannot-tell" } else { worst.word() };
        let grave = match (worst, unseen.coarse) {
            (Verdict::Sound, false) => 0,
            (Verdict::Sound, true) => 1,
            (Verdict::PoorJoint, _) => 5,
            (Verdict::PartShorted, _) => 6,
            (Verdict::Shorted, _) => 7,
            (Verdict::Open, _) => 8,
        };
        Ok(Said { grave, word, sentence: sentence(&said, &unseen) })
    }

    fn numbers(&self, coils: &Coils, said: &Judgement, outcome: &mut Outcome) {
        let k = coils.each.len();
        let mut list = Vec::with_capacity(k);
        for (i, (coil, verdict)) in coils.each.iter().zip(&said.verdicts).enumerate() {
            let own = coil.times(self.to_reference);
            let ratio = coil.value / said.sound;
            let next = (i + 1) % k + 1;
            list.push(json!({
                "ohm_20C": finite(own.value), "low": finite(own.low), "high": finite(own.high),
                "verdict": verdict.word(), "bars": [i + 1, next], "of_sound": finite(ratio),
            }));
            let label = format!("Coil {}, bars {}-{next}", i + 1, i + 1);
            let value = if own.value.is_finite() {
                written(own.value, own.deviation.min(own.value.abs()))
            } else {
                "open".into()
            };
            let range = crate::present::measure::interval(Known::Resistance, &capped(own));
            let range = if own.low < own.high { range } else { String::new() };
            let against = match ratio {
                r if r.is_finite() && r < ENDLESS => format!("{} of sound", percent(r)),
                _ => String::new(),
            };
            outcome.rows.push(crate::present::measure::Row { label, value, range, against });
        }
        outcome.key("coils", list);
        outcome.key("sound_ohm_20C", finite(said.sound * self.to_reference));
        outcome.key(
            "ring",
            match coils.ring {
                Ring::Closed => "closed",
                Ring::TwoInParallel(..) => "two-in-parallel",
                Ring::Broken | Ring::BrokenOrBarOff(_) => "broken",
            },
        );
        outcome.key(
            "meter",
            json!({"fraction": self.meter.fraction, "step_ohm": self.meter.step, "lead_ohm": self.lead}),
        );
        outcome.key("smallest_short", finite(said.smallest_short));
    }

    /// What this meter can't show.
    fn unseen(
        &self,
        args: &Args,
        sheet: &mut Sheet,
        said: &Judgement,
        worst: Verdict,
        outcome: &mut Outcome,
    ) -> Result<Unseen, Halt> {
        let turns = sheet.want("turns", args.turns.as_deref(), Kind::Ratio)?;
        if let Some(turns) = turns
            && !(turns >= 1.0 && turns.fract() == 0.0 && turns < 10_000.0)
        {
            return Err(Failure::input("--turns: write a whole number of turns, 1 or more").into());
        }
        let least = said.smallest_short;
        let coarse = least > sheet.usual("worth-knowing")?;
        let of_turns = turns.filter(|t| least * t <= *t).map(|t| {
            let lost = (least * t).ceil();
            outcome.key("smallest_short_turns", lost);
            format!(" ({lost:.0} of {t:.0} turns)")
        });
        let step = match self.meter.step > 0.0 {
            true => format!(", {} steps", written(self.meter.step, 0.0)),
            false => String::new(),
        };
        let value = if least > 1.0 { "none".into() } else { percent(least) };
        let value = format!("{value}{}", of_turns.unwrap_or_default());
        // Beside a coil that is at fault nobody looks for the smallest one.
        if worst == Verdict::Sound {
            let meter = format!("meter {}{step}", scatter(self.meter.fraction));
            outcome.plain_row("Smallest short seen", value, meter);
        }
        Ok(Unseen { coarse, least })
    }

    #[allow(clippy::too_many_arguments)]
    fn words(
        &self,
        sheet: &mut Sheet,
        coils: &Coils,
        said: &Judgement,
        worst: Verdict,
        coarse: bool,
        limits: &Limits,
        outcome: &mut Outcome,
    ) -> Result<(), Halt> {
        let has = |v: Verdict| said.verdicts.contains(&v);
        for (verdict, word) in [
            (Verdict::Open, "open-coil"),
            (Verdict::Shorted, "dead-coil"),
            (Verdict::PartShorted, "turns-shorted"),
            (Verdict::PoorJoint, "poor-joint"),
        ] {
            if has(verdict) {
                outcome.word(word);
            }
        }
        match coils.ring {
            Ring::TwoInParallel(..) => outcome.word("two-in-parallel"),
            Ring::BrokenOrBarOff(_) | Ring::Broken if said.verdicts.len() == 3 => {
                outcome.word("star-or-broken")
            }
            Ring::BrokenOrBarOff(_) => outcome.word("bar-off"),
            _ => {}
        }
        if said.either.is_some() {
            outcome.word("either-of-two");
        }
        if worst != Verdict::Sound {
            return Ok(());
        }
        if coarse {
            sheet.limit("worth-knowing")?;
        }
        outcome.word(match (coarse, self.coarse) {
            (false, _) => "even",
            (true, true) => "too-coarse",
            (true, false) => "drop-too-coarse",
        });
        if self.coarse && said.sound > 0.0 {
            let current = sheet.usual("drop-current")?;
            let meter = Meter { fraction: sheet.usual("drop-scatter")?, step: sheet.usual("drop-step")? };
            let seen = smallest_short(said.sound, said.verdicts.len(), &meter.over(current), 0.0, limits);
            if seen < 0.8 * said.smallest_short {
                let amps = crate::bench::write(Kind::Current, current);
                let drop = current * said.sound * 1e3;
                outcome.next.push(format!(
                    "For shorts down to {} of a coil: set the supply's limit to {amps}, clip it on two \
                     neighbouring bars, read the millivolts on the same bars inside the clips (about {drop:.0} mV), ten \
                     seconds at most; every pair in order. Then: commsense measure winding --current \"{amps}\" \
                     --drops \"...\"",
                    percent(seen)
                ));
            }
        }
        Ok(())
    }
}

/// Each coil against a sound one, whose bar takes half of the width.
fn draw(coils: &Coils, said: &Judgement, unsure: bool, outcome: &mut Outcome) {
    if coils.each.len() > MOST_DRAWN {
        return;
    }
    let bar = |(i, (coil, verdict)): (usize, (&Coil, &Verdict))| Bar {
        label: Styled::from(format!("  coil {}", i + 1)),
        fraction: (coil.value / said.sound / 2.0).clamp(0.0, 1.0),
        note: match verdict {
            Verdict::Sound if unsure => Styled::new().warn("can't tell"),
            Verdict::Sound => Styled::new().good(verdict.word()),
            fault => Styled::new().fault(fault.word()),
        },
    };
    let rows = coils.each.iter().zip(&said.verdicts).enumerate().map(bar).collect();
    outcome.body.blank();
    outcome.body.bars(rows);
}

/// Lists the limits that the verdicts come from.
fn cite(sheet: &mut Sheet, said: &Judgement) -> Result<(), Halt> {
    let mut used = Vec::new();
    for verdict in &said.verdicts {
        used.extend(match verdict {
            Verdict::Open => &["open-above"][..],
            Verdict::PoorJoint => &["joint-above"],
            Verdict::PartShorted => &["part-below"],
            Verdict::Shorted => &["shorted-below"],
            Verdict::Sound => &[],
        });
    }
    if used.is_empty() {
        used.extend(["part-below", "joint-above"]);
    }
    used.sort_unstable();
    used.dedup();
    for id in used {
        sheet.limit(id)?;
    }
    Ok(())
}

/// A small share in percent, with the digits it has.
fn scatter(share: f64) -> String {
    format!("{} %", (share * 1e5).round() / 1e3)
}

/// What can't be seen with this meter.
struct Unseen {
    coarse: bool,
    /// The smallest part of a coil whose short shows.
    least: f64,
}

/// The verdict in a sentence.
fn sentence(said: &Judgement, unseen: &Unseen) -> String {
    let named = |v: Verdict| -> Vec<String> {
        let k = said.verdicts.len();
        (0..k)
            .filter(|i| said.verdicts[*i] == v)
            .map(|i| format!("coil {} (bars {}-{})", i + 1, i + 1, (i + 1) % k + 1))
            .collect()
    };
    let mut parts = Vec::new();
    for (verdict, one, more) in [
        (Verdict::Open, "is open", "are open"),
        (Verdict::Shorted, "is shorted", "are shorted"),
        (Verdict::PartShorted, "has shorted turns", "have shorted turns"),
        (Verdict::PoorJoint, "has a poor joint", "have poor joints"),
    ] {
        let coils = named(verdict);
        if let [first, rest @ ..] = &coils[..] {
            let list = if rest.is_empty() { first.clone() } else { and(&coils) };
            parts.push(format!("{list} {}", if rest.is_empty() { one } else { more }));
        }
    }
    let mut said = match parts.is_empty() {
        false => parts.join("; ") + ".",
        true if unseen.coarse => "this meter can't tell whether the winding is sound.".into(),
        true => format!(
            "the coils agree; a short of less than {} of a coil would not show.",
            percent(unseen.least)
        ),
    };
    if let Some(first) = said.get(..1).map(str::to_uppercase) {
        said.replace_range(..1, &first);
    }
    said
}

fn and(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [many @ .., last] => format!("{} and {last}", many.join(", ")),
    }
}

/// The highest and the lowest coil over the middle one, as readings of a case.
fn figures(coils: &Coils, said: &Judgement, outcome: &mut Outcome) {
    if said.sound <= 0.0 {
        return;
    }
    let k = coils.each.len();
    let order = |better: fn(f64, f64) -> bool| {
        (0..k).reduce(|a, b| if better(coils.each[b].value, coils.each[a].value) { b } else { a })
    };
    let sides = [("highest-coil", order(|b, a| b > a), 1.0), ("lowest-coil", order(|b, a| b < a), -1.0)];
    for (name, coil, side) in sides {
        let Some(i) = coil else { continue };
        let coil = &coils.each[i];
        // The side towards the sound ones is what counts, and near an open coil the only one with an end.
        let towards = if side > 0.0 { coil.value - coil.low } else { coil.high - coil.value };
        let mut deviation = towards / crate::bench::estimate::SIGMAS_95 / said.sound;
        let mut ratio = coil.value / said.sound;
        if said.verdicts[i] == Verdict::Sound {
            if !deviation.is_finite() {
                // Taken as like the others, because nothing speaks of it.
                continue;
            }
            // The highest of several equal coils is high by chance alone.
            let by_chance = extreme(k) * deviation;
            ratio = if side > 0.0 { (ratio - by_chance).max(1.0) } else { (ratio + by_chance).min(1.0) };
        }
        if !ratio.is_finite() || ratio > ENDLESS {
            (ratio, deviation) = (ENDLESS, 0.0);
        }
        outcome.figure(name, Estimate::normal(ratio, deviation));
    }
}

/// By how many deviations the greatest of `k` equal quantities lies above their mean, on average: Blom's
/// approximation of the normal order statistic, (k - 3/8) / (k + 1/4) as a quantile (Blom 1958; from memory).
fn extreme(k: usize) -> f64 {
    use statrs::distribution::{ContinuousCDF, Normal};
    Normal::standard().inverse_cdf((k as f64 - 0.375) / (k as f64 + 0.25))
}

/// A number for scripts; JSON has no word for an endless one.
fn finite(value: f64) -> Option<f64> {
    value.is_finite().then(|| format!("{value:.6e}").parse().unwrap_or(value))
}

/// For people: an estimate whose deviation does not set the digits where it is endless.
fn capped(of: Estimate) -> Estimate {
    let half = if of.high.is_finite() { of.high - of.low } else { of.low * 0.1 };
    Estimate { deviation: of.deviation.min(half.abs()), ..of }
}
