//! The person beside the running motor: asked at the right moments, by the questions of the knowledge.

use std::io::IsTerminal;

use super::Run;
use super::dial::{Face, Wall, minutes};
use super::timer::{self, Looker, Plan, Ran};
use crate::bench::run_in::{Recipe, Rule, Seen, rounds};
use crate::bench::{self, Kind};
use crate::cli::exit::Failure;
use crate::cli::guard;
use crate::cli::measure::sheet::{Halt, Sheet};
use crate::cli::prompt::{AskError, Choice, Prompt, Prompter, Reply, Side, TextWanted};
use crate::present::text::Text;

/// Refuses a timer that nobody could watch.
///
/// # Errors
/// When there is no terminal, or nobody is asked.
pub fn refuse_without_terminal(sheet: &Sheet) -> Result<(), Failure> {
    if sheet.can_ask() && std::io::stdin().is_terminal() && std::io::stderr().is_terminal() {
        return Ok(());
    }
    let failure = Failure::usage("the timer needs a person at a terminal: a running motor is not left alone");
    Err(failure.help("Leave out --timer to reckon the run-in only; --json and pipes never wait."))
}

/// Whether the timer is to run: when asked for it, or when the person wants it. They start it themselves.
pub fn wanted(asked_for: bool, sheet: &mut Sheet) -> Result<bool, Halt> {
    if !asked_for && refuse_without_terminal(sheet).is_err() {
        return Ok(false);
    }
    let choices = [(true, "start", "Start: the motor runs"), (false, "no", "Without the timer")];
    // Who asked for it is asked to start it; who is led through may go without.
    let start = sheet.choose("timer", None, !asked_for, &choices)?;
    Ok(start.unwrap_or(false))
}

/// Times the run with a person looking at it.
pub fn watch(run: &Run, sheet: &mut Sheet) -> Result<Ran, Halt> {
    let rule = Rule {
        still: sheet.usual("still-readings")?.max(1.0) as usize,
        fall: sheet.usual("fall")?,
        rise: sheet.usual("rise")?,
        hottest: sheet.limit("hottest")?,
    };
    let (first, every) = (sheet.usual("first-look")?, sheet.usual("look-every")?);
    let seconds = run.recipe.seconds;
    let plan = Plan { seconds, rounds: rounds(seconds, first, every, sheet.usual("last-spare")?), rule };
    let (current, temperature) = (sheet.prompt("current-now", true)?, sheet.prompt("temperature-now", true)?);
    let (slide, volts) = (run.slide, run.recipe.volts);
    let farewell = move |gone: f64| {
        let travel = slide.travel(Recipe { volts, seconds: gone }).map_or(0.0, |t| t.value);
        format!(
            "the motor ran {} of {}, about {travel:.0} m of brush travel; switch the supply off",
            minutes(gone),
            minutes(seconds)
        )
    };
    let Some(asker) = sheet.asker() else {
        return Err(Failure::usage("the timer needs a person at a terminal").into());
    };
    let drawn = asker.redraws();
    let mut dial = Face::new(seconds, drawn, farewell);
    let mut person = Person {
        asker,
        current: typed(current, Kind::Current),
        temperature: typed(temperature, Kind::Temperature),
    };
    let ran = timer::run(&plan, &Wall::new(), &mut dial, &mut person)?;
    guard::set_farewell("");
    let said = format!("{} gone. Switch the supply off and let the motor stop.", minutes(ran.seconds));
    person.asker.say(&Text::from(said))?;
    Ok(ran)
}

/// The question with a check of what is typed, and the choice that stops the run.
fn typed(mut prompt: Prompt, kind: Kind) -> Prompt {
    let check = move |text: &str| reading(kind, text).map(|_| ());
    prompt.text = Some(TextWanted::checked(format!("it, such as {}", example(kind)), check));
    prompt.choices = vec![Choice::new("danger", "Heavy sparks, smoke or a burnt smell: stop")];
    prompt.side = vec![Side::Unknown, Side::Stop];
    prompt
}

fn example(kind: Kind) -> &'static str {
    if kind == Kind::Current { "1.8 A" } else { "35 degC" }
}

fn reading(kind: Kind, text: &str) -> Result<f64, String> {
    match bench::read(kind, text) {
        Ok(value) if kind == Kind::Current && value < 0.0 => Err("a current can't be below 0 A here".into()),
        other => other.map_err(|e| e.to_string()),
    }
}

struct Person<'a> {
    asker: &'a mut dyn Prompter,
    current: Prompt,
    temperature: Prompt,
}

impl Person<'_> {
    /// One question; none when the person ends the run.
    fn ask(&mut self, kind: Kind, gone: f64) -> Result<Option<Vec<Seen>>, AskError> {
        let mut prompt = if kind == Kind::Current { self.current.clone() } else { self.temperature.clone() };
        prompt.heading = format!("{} · {} gone, the motor runs on", prompt.heading, minutes(gone));
        Ok(match self.asker.ask(&prompt)? {
            Reply::Choice(_) => Some(vec![Seen::Danger]),
            Reply::Text(text) => {
                let seen = |value| {
                    if kind == Kind::Current { Seen::Current(value) } else { Seen::Temperature(value) }
                };
                Some(reading(kind, &text).map(seen).into_iter().collect())
            }
            Reply::Side(Side::Unknown) => Some(Vec::new()),
            Reply::Side(_) | Reply::Several { .. } => None,
        })
    }
}

impl Looker for Person<'_> {
    fn look(&mut self, round: usize, gone: f64) -> Result<Option<Vec<Seen>>, AskError> {
        let Some(mut seen) = self.ask(Kind::Current, gone)? else { return Ok(None) };
        // The can warms up slowly: every second look is enough.
        if round % 2 == 1 && seen != [Seen::Danger] {
            let Some(warm) = self.ask(Kind::Temperature, gone)? else { return Ok(None) };
            seen.extend(warm);
        }
        Ok(Some(seen))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::prompt::Script;
    use crate::present::text::Page;

    fn looks(rounds: &[usize], lines: &[&str]) -> Vec<Option<Vec<Seen>>> {
        let mut script = Script::new(Page::plain(80)).typing(lines.iter().copied());
        let question = |id: &str, kind| typed(Prompt { id: id.into(), ..Prompt::default() }, kind);
        let mut person = Person {
            asker: &mut script,
            current: question("current-now", Kind::Current),
            temperature: question("temperature-now", Kind::Temperature),
        };
        rounds.iter().map(|r| person.look(*r, 15.0).expect("the script goes on")).collect()
    }

    #[test]
    fn every_look_asks_for_the_current_and_every_second_for_the_temperature() {
        assert_eq!(
            looks(&[0, 1, 2], &["1.9 A", "1,8 A", "38 degC", "d"]),
            [
                Some(vec![Seen::Current(1.9)]),
                Some(vec![Seen::Current(1.8), Seen::Temperature(38.0)]),
                Some(vec![])
            ]
        );
    }

    #[test]
    fn danger_asks_nothing_more_and_stopping_ends_it() {
        assert_eq!(looks(&[1], &["danger"]), [Some(vec![Seen::Danger])]);
        assert_eq!(looks(&[1, 0], &["1.8 A", "q", "q"]), [None, None]);
    }

    #[test]
    fn a_current_below_nothing_is_refused() {
        assert!(reading(Kind::Current, "-1 A").is_err() && reading(Kind::Temperature, "-1 degC").is_ok());
        assert!(reading(Kind::Current, "1.8 V").is_err());
    }
}
