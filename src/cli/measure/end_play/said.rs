//! What the play and the choice of shims mean for a person, and for scripts.

use serde_json::{Value, json};

use super::From;
use crate::bench::end_play::{Arrangement, Goal, Plan, Reach, Room, Stack};
use crate::bench::{self, Estimate, Kind};
use crate::cli::exit::Failure;
use crate::cli::measure::sheet::{Halt, Sheet};
use crate::knowledge::Kind as Known;
use crate::present::measure::Outcome;
use crate::present::text::{Align, Styled, Table};

/// Below this the play is none, in m; nearer to zero it is but rounding.
const BINDS: f64 = -0.5e-6;

/// How many sets a person is shown.
const SHOWN: usize = 6;

/// Everything that was found.
pub struct Found {
    pub space: Room,
    pub goal: Goal,
    pub from: From,
    pub tracked: bool,
    pub chosen: Plan,
    /// Where the core stands as found, from where it is wanted.
    pub offset_now: Option<f64>,
    /// Stacks of the bell's and of the can's side that would give just what is wanted, in m.
    pub ideal: (f64, f64),
    /// Whether nothing but the shims found could be chosen from.
    pub no_drawer: bool,
}

/// A length for people, to a hundredth of a millimetre.
pub fn mm(metres: f64) -> String {
    bench::write(Kind::Length, (metres * 1e5).round() / 1e5)
}

/// Puts it into words, numbers and a picture.
pub fn outcome(sheet: &mut Sheet, found: &Found) -> Result<Outcome, Halt> {
    let Found { space, goal, chosen, .. } = found;
    let best = &chosen.best[0];
    let play_now = space.play.map(|p| p.value);
    let fits = |play: f64| (play - goal.play).abs() <= goal.play_tolerance + 1e-9;
    let centred = found.offset_now.is_none_or(|o| o.abs() <= goal.offset_tolerance + 1e-9);
    let mut outcome = if play_now.is_some_and(fits) && centred {
        let said =
            format!("Leave it as it was: {} of play, {} wanted.", mm(play_now.unwrap_or(0.0)), mm(goal.play));
        Outcome::new("keep", said)
    } else {
        let now = play_now.map_or(String::new(), |p| match p < BINDS {
            true => "As found it binds. ".into(),
            false => format!("As found it has {} of play. ", mm(p)),
        });
        let gives = format!("{} of play", mm(best.play));
        let pieces = crate::present::text::plural(best.pieces, "shim", "shims");
        match chosen.reach {
            Reach::OutOfReach if found.no_drawer && found.ideal != (0.0, 0.0) => {
                let (bell, can) = (mm(found.ideal.0), mm(found.ideal.1));
                let said = format!(
                    "{now}It wants {bell} of shims at the end bell and {can} at the can for {} of play.",
                    mm(goal.play)
                );
                Outcome::new("reshim", said)
            }
            Reach::OutOfReach => {
                let said = format!(
                    "{now}No set of shims gives {}; the nearest leaves {gives}, with {pieces}.",
                    mm(goal.play)
                );
                Outcome::new("out-of-reach", said)
            }
            _ => Outcome::new("reshim", format!("{now}Put in {}: {gives}.", in_words(&best.sets[0]))),
        }
    };
    numbers(found, &mut outcome);
    words(found, sheet, &mut outcome)?;
    pictures(found, &mut outcome);
    steps(found, &mut outcome);
    keys(found, &mut outcome);
    if let Some(play) = space.play {
        // A play below nothing is no reading; nothing is the nearest that there is.
        let value = play.value.max(0.0);
        outcome.figure("play", Estimate { value, ..play });
    }
    Ok(outcome)
}

fn numbers(found: &Found, outcome: &mut Outcome) {
    let Found { space, goal, chosen, .. } = found;
    let best = &chosen.best[0];
    outcome.row("Room for shims", Known::Length, space.room, "");
    let wanted = format!("{} wanted", mm(goal.play));
    if let Some(play) = space.play {
        outcome.row("Play as found", Known::Length, play, &wanted);
    }
    outcome.row("Play then", Known::Length, Estimate::normal(best.play, space.room.deviation), wanted);
    let (bell, can) = found.ideal;
    let fine = |m: f64| bench::write(Kind::Length, (m * 1e6).round() / 1e6);
    outcome.plain_row(
        "Shims for just that",
        fine(bell + can),
        format!("{} bell, {} can", fine(bell), fine(can)),
    );
    let place = match found.from {
        From::Depths => "by the depths",
        From::Found => "measured as found",
        From::Kept => "kept as found",
        From::Equal => "equal stacks",
    };
    if let Some(now) = found.offset_now.filter(|_| found.from != From::Kept) {
        outcome.plain_row("Core as found", aside(now), place);
    }
    outcome.plain_row("Core then", aside(best.offset), place);
    if found.tracked {
        let stays = if best.overrun > 0.0 {
            format!("{} off track", mm(best.overrun))
        } else {
            "on its track".into()
        };
        outcome.plain_row("Brush then", stays, "at both ends");
    }
}

/// How far the core is off, and which way.
fn aside(offset: f64) -> String {
    match offset {
        o if o.abs() < 0.5e-6 => "in place".into(),
        o if o > 0.0 => format!("{} to can", bench::write(Kind::Length, o)),
        o => format!("{} to bell", bench::write(Kind::Length, -o)),
    }
}

fn words(found: &Found, sheet: &mut Sheet, outcome: &mut Outcome) -> Result<(), Failure> {
    if let Some(play) = found.space.play {
        let (loose, tight) = (sheet.limit("loose")?, sheet.limit("tight")?);
        if play.value < BINDS {
            outcome.word("binds");
        } else if play.value < tight {
            outcome.word("tight");
        } else if play.value > loose {
            outcome.word("loose");
        }
        let unsure = |edge: f64| play.low < edge && edge < play.high;
        if unsure(loose) || unsure(tight) {
            let said = "These readings can't tell on which side of a limit the play is: measure it with a dial gauge.";
            outcome.warnings.push(said.into());
        }
    }
    match found.chosen.reach {
        Reach::All => {}
        Reach::OffCentre => outcome.word("off-centre"),
        Reach::OffTrack => outcome.word("off-track"),
        Reach::OutOfReach if found.no_drawer => outcome.word("no-drawer"),
        Reach::OutOfReach => outcome.word("out-of-reach"),
    }
    if found.space.room.deviation > found.goal.play_tolerance / 2.0 {
        let said =
            "The depths are known less surely than the play is wanted: measure the play once it is together.";
        outcome.warnings.push(said.into());
    }
    Ok(())
}

/// One side as people write it: `0.5 + 2 x 0.1 mm`.
fn side(shims: &[(usize, usize)]) -> String {
    if shims.is_empty() {
        return "none".into();
    }
    let one = |(um, n): &(usize, usize)| {
        let mm = *um as f64 / 1e3;
        if *n == 1 { format!("{mm}") } else { format!("{n} x {mm}") }
    };
    format!("{} mm", shims.iter().map(one).collect::<Vec<_>>().join(" + "))
}

fn in_words(set: &Arrangement) -> String {
    format!("{} at the end bell and {} at the can", side(&set.bell), side(&set.can))
}

/// The best set as it lies on the shaft, and the sets in a table.
fn pictures(found: &Found, outcome: &mut Outcome) {
    let best = &found.chosen.best[0];
    let set = &best.sets[0];
    let blocks = |shims: &[(usize, usize)]| -> String {
        let each = shims
            .iter()
            .flat_map(|(um, n)| std::iter::repeat_n(format!("{}|", *um as f64 / 1e3), (*n).min(6)));
        each.collect()
    };
    // At the can's side the thick ones lie outwards too.
    let mut outward = set.can.clone();
    outward.reverse();
    let drawn = format!(
        "bell |{}#### armature ####|{} play {} | can",
        blocks(&set.bell),
        blocks(&outward),
        bench::write(Kind::Length, best.play)
    );
    outcome.body.blank().item(2, "", Styled::new().strong(drawn));
    let mut table = Table::new(&[
        ("at the end bell", Align::Left),
        ("at the can", Align::Left),
        ("pieces", Align::Right),
        ("play", Align::Right),
        ("core", Align::Left),
    ]);
    let mut row = |s: &Stack, set: &Arrangement, note: &str| {
        let core = format!("{}{note}", aside(s.offset));
        let cells =
            [side(&set.bell), side(&set.can), s.pieces.to_string(), bench::write(Kind::Length, s.play), core];
        table.row(cells.iter().map(Styled::from).collect());
    };
    let ties: u64 = found.chosen.best.iter().fold(0, |n, s| n.saturating_add(s.ties));
    let listed: Vec<(&Stack, &Arrangement)> =
        found.chosen.best.iter().flat_map(|s| s.sets.iter().map(move |set| (s, set))).collect();
    listed.iter().take(SHOWN).for_each(|(s, set)| row(s, set, ""));
    for (other, note) in [(&found.chosen.fewer, ", fewer pieces"), (&found.chosen.closer, ", better centred")]
    {
        if let Some(s) = other {
            row(s, &s.sets[0], note);
        }
    }
    let others = found.chosen.fewer.is_some() || found.chosen.closer.is_some();
    outcome.body.subheading(match (ties, others) {
        (1, false) => "The best set".to_owned(),
        (1, true) => "The best set, and others".to_owned(),
        (n, false) => format!("{n} equally good sets"),
        (n, true) => format!("{n} equally good sets, and others"),
    });
    outcome.body.table(2, table);
    let more = ties.saturating_sub(listed.len().min(SHOWN) as u64);
    if more > 0 {
        outcome.body.item(2, "", Styled::new().muted(format!("{more} more sets are as good.")));
    }
}

fn steps(found: &Found, outcome: &mut Outcome) {
    if outcome.verdict == "keep" {
        outcome.next.push("Put the shims back in the order and on the side in which they lay.".into());
        return;
    }
    if found.chosen.reach == Reach::OutOfReach {
        outcome
            .next
            .push("Get the sizes that are missing before it is closed, or measure the room again.".into());
    }
    outcome.next.push("Measure every shim that goes in; throw away bent, burred and worn ones.".into());
    outcome.next.push("Close it, screws tight, and only then measure the play with a dial gauge.".into());
    if found.from == From::Equal || found.from == From::Kept {
        outcome.next.push(
            "Look through the can's openings: does the core stand in the middle of the magnets? If not, give --offset-now."
                .into(),
        );
    }
    if !found.tracked {
        outcome
            .next
            .push("See that the brushes run on the commutator alone, at both ends of the play.".into());
    }
}

fn set_json(stack: &Stack, set: &Arrangement) -> Value {
    let side = |shims: &[(usize, usize)]| -> Vec<f64> {
        shims.iter().flat_map(|(um, n)| std::iter::repeat_n(*um as f64 / 1e3, *n)).collect()
    };
    json!({
        "bell_side": side(&set.bell),
        "can_side": side(&set.can),
        "pieces": stack.pieces,
        "play_mm": in_mm(stack.play),
        "offset_mm": in_mm(stack.offset),
        "overrun_mm": in_mm(stack.overrun),
    })
}

/// Millimetres to half a micrometre, without digits that nobody measured.
fn in_mm(metres: f64) -> f64 {
    let mm = (metres * 1e7).round() / 1e4;
    if mm == 0.0 { 0.0 } else { mm }
}

fn keys(found: &Found, outcome: &mut Outcome) {
    let Found { space, goal, chosen, .. } = found;
    outcome.key("room_mm", in_mm(space.room.value));
    outcome.key("room_low_mm", in_mm(space.room.low));
    outcome.key("room_high_mm", in_mm(space.room.high));
    outcome.key("play_mm", space.play.map(|p| in_mm(p.value)));
    outcome.key("play_low_mm", space.play.map(|p| in_mm(p.low)));
    outcome.key("play_high_mm", space.play.map(|p| in_mm(p.high)));
    outcome.key("offset_now_mm", found.offset_now.map(in_mm));
    outcome.key("wanted_mm", in_mm(goal.play));
    outcome.key("tolerance_mm", in_mm(goal.play_tolerance));
    outcome.key("ideal_bell_mm", in_mm(found.ideal.0));
    outcome.key("ideal_can_mm", in_mm(found.ideal.1));
    let reach = match chosen.reach {
        Reach::All => "all",
        Reach::OffCentre => "off-centre",
        Reach::OffTrack => "off-track",
        Reach::OutOfReach => "out-of-reach",
    };
    outcome.key("reach", reach);
    let sets: Vec<Value> =
        chosen.best.iter().flat_map(|s| s.sets.iter().map(move |set| set_json(s, set))).collect();
    outcome.key("sets", sets);
    outcome.key("ties", chosen.best.iter().fold(0u64, |n, s| n.saturating_add(s.ties)));
    let other = |s: &Option<Stack>| s.as_ref().map(|s| set_json(s, &s.sets[0]));
    outcome.key("fewer_pieces", other(&chosen.fewer));
    outcome.key("better_centred", other(&chosen.closer));
}
