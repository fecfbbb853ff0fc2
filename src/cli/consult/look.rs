//! Putting a look: one list of all that may be seen, of which several things may be chosen.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Reply, Several, Side};
use super::question::{how, measurements_for, nothing, reading_for, wanted};
use super::{Consultation, Turn};
use crate::case::Answer;
use crate::knowledge::{Knowledge, Look, Measurement, Reading};
use crate::plan::assess::Assessment;
use crate::plan::looks::fallen;
use crate::plan::moment;
use crate::plan::questions::Valued;
use crate::plan::reason::reason;
use crate::present::text::{Styled, Text, minutes};
use crate::present::triage::text::{cautions_before, head, name};
use crate::present::triage::why::{Consequences, because, saving};

/// What may be seen that is not as it should be: the observation (index among the open ones) and its state.
type Sight = (usize, usize);

/// How many answers of a look are explained: those that are expected most.
const EXPLAINED: usize = 8;

impl<'c, 'k> Consultation<'c, 'k> {
    /// Puts a look with all of its open questions.
    pub(super) fn ask_look(
        &mut self,
        assessment: &Assessment<'c, 'k>,
        valued: &Valued<'k>,
        look: &'k Look,
    ) -> Result<Turn, Failure> {
        let knowledge = self.knowledge();
        self.put += 1;
        let stage = &knowledge.stages[assessment.moment.stage];
        let heading = format!(
            "Question {} · {} · about {}",
            self.earlier + self.put,
            stage.name.to_lowercase(),
            minutes(valued.own_minutes())
        );
        let mut said = self.cautioned.clone();
        let mut note = self.before_look(look, valued, &mut said);
        let mut figured = false;
        loop {
            let (moment, _) = moment::of(self.planner, &self.case);
            let open: Vec<&'k str> = (look.observations.iter().map(String::as_str))
                .filter(|id| valued.answers(id) && !moment.known.asked(id))
                .collect();
            // What a figure left open is a plain question, if it is worth one.
            if open.is_empty() || (open.len() == 1 && figured) {
                return Ok(Turn::Again);
            }
            let sights = sights(knowledge, &open);
            let prompt = self.checklist(look, &heading, &open, &sights, std::mem::take(&mut note));
            match self.prompter.ask(&prompt)? {
                Reply::Several { chosen, unsure } => {
                    let seen: Vec<Sight> = chosen.iter().filter_map(|i| sights.get(*i).copied()).collect();
                    let Some(dark) = self.not_checked(look, &open, &seen, unsure)? else { continue };
                    self.take_look(&open, &seen, &dark)?;
                    self.cautioned = said;
                    return Ok(Turn::Again);
                }
                Reply::Text(typed) => {
                    if let Some(reading) = readings(knowledge, &open).first() {
                        figured |= self.take_typed(&reading.id, &typed)?;
                    }
                }
                Reply::Side(Side::Measure) => figured |= self.figure(&open)?,
                Reply::Side(Side::Why) => {
                    let text = why(assessment, valued);
                    self.prompter.read(&text)?;
                }
                Reply::Side(Side::How) => {
                    let text = how_to_look(knowledge, look, &open);
                    self.prompter.read(&text)?;
                }
                Reply::Side(Side::Ranking) => self.show_ranking(assessment)?,
                Reply::Side(Side::Back) => {
                    self.put -= 1;
                    return self.change();
                }
                Reply::Side(Side::Stop) => return Ok(Turn::Stop),
                Reply::Side(Side::Unknown) | Reply::Choice(_) => {}
            }
        }
    }

    /// Cautions and risks of everything that is looked at; `said` as for [`cautions_before`].
    fn before_look(&self, look: &Look, valued: &Valued, said: &mut Vec<String>) -> Text {
        let knowledge = self.knowledge();
        let mut text = Text::new();
        let members = look.observations.iter().filter(|id| valued.answers(id));
        let asks: Vec<_> = members.filter_map(|id| Some((id, knowledge.ask(id)?))).collect();
        let mut cautions: Vec<String> = Vec::new();
        for caution in asks.iter().flat_map(|(_, ask)| &ask.cautions) {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
        cautions_before(knowledge, &cautions, 0, said, &mut text);
        for (_, ask) in asks.iter().filter(|(_, ask)| !nothing(&ask.risk)) {
            text.item(0, Styled::new().warn("Mind: "), ask.risk.as_str());
        }
        text
    }

    fn checklist(&self, look: &Look, heading: &str, open: &[&str], sights: &[Sight], note: Text) -> Prompt {
        let knowledge = self.knowledge();
        let motor = self.case.motor(knowledge);
        let readings = readings(knowledge, open);
        let mut side = self.sides(true);
        if !readings.is_empty() || !measurements(knowledge, open).is_empty() {
            side.push(Side::Measure);
        }
        let text = match readings[..] {
            [only] => Some(wanted(only, motor.as_deref())),
            _ => None,
        };
        Prompt {
            id: format!("look:{}", look.id),
            heading: heading.to_string(),
            question: look.question.clone(),
            note,
            choices: sights.iter().map(|sight| line(knowledge, open, *sight)).collect(),
            text,
            several: Some(Several {
                none: "All as it should be".into(),
                about: sights.iter().map(|s| s.0).collect(),
            }),
            side,
            ..Prompt::default()
        }
    }

    /// Which of the open questions nobody could answer; nothing when the person turns back.
    fn not_checked(
        &mut self,
        look: &Look,
        open: &[&'k str],
        seen: &[Sight],
        unsure: bool,
    ) -> Result<Option<Vec<&'k str>>, Failure> {
        let rest: Vec<&'k str> = (open.iter().enumerate())
            .filter(|(i, _)| seen.iter().all(|s| s.0 != *i))
            .map(|(_, id)| *id)
            .collect();
        if !unsure {
            return Ok(Some(Vec::new()));
        }
        if rest.len() < 2 {
            return Ok(Some(rest));
        }
        let knowledge = self.knowledge();
        let reply = self.prompter.ask(&Prompt {
            id: format!("look:{}:unknown", look.id),
            question: "Which of these could you not check? The others are as they should be.".into(),
            choices: rest.iter().map(|id| Choice::new(*id, name(knowledge, id))).collect(),
            several: Some(Several { none: "None of them could be checked".into(), about: Vec::new() }),
            side: vec![Side::Back],
            ..Prompt::default()
        })?;
        Ok(match reply {
            Reply::Several { chosen, .. } if chosen.is_empty() => Some(rest),
            Reply::Several { chosen, .. } => {
                Some(chosen.iter().filter_map(|i| rest.get(*i).copied()).collect())
            }
            _ => None,
        })
    }

    /// Takes the answers of a look, but those that another of them rules out.
    fn take_look(&mut self, open: &[&'k str], seen: &[Sight], dark: &[&str]) -> Result<(), Failure> {
        let knowledge = self.knowledge();
        let answer = |i: usize, id: &str| match seen.iter().find(|s| s.0 == i) {
            Some((_, state)) => Answer::State(*state),
            None if dark.contains(&id) => Answer::Unknown,
            None => Answer::State(0),
        };
        let answers: Vec<(&'k str, Answer)> =
            open.iter().enumerate().map(|(i, id)| (*id, answer(i, id))).collect();
        let mut all = self.case.clone();
        for (id, answer) in &answers {
            all.answer(id, answer.clone());
        }
        let (moment, _) = moment::of(self.planner, &all);
        let fallen = fallen(knowledge, open, moment.stage, &moment.known);
        for (id, answer) in &answers {
            match fallen.iter().find(|f| f.0 == *id) {
                None => {
                    self.case.answer(id, answer.clone());
                }
                Some((_, Some(reason))) if *answer != Answer::State(0) && *answer != Answer::Unknown => {
                    let words = format!("Not counted: {}. {reason}", name(knowledge, id));
                    self.prompter.say(&Text::from(Styled::new().warn(words)))?;
                }
                Some(_) => {}
            }
        }
        self.dark = if dark.len() == open.len() { self.dark + 1 } else { 0 };
        self.settle()?;
        self.save()
    }

    /// Lets a figure be typed, or worked out from a measurement, in the middle of a look; false when none came.
    fn figure(&mut self, open: &[&'k str]) -> Result<bool, Failure> {
        let knowledge = self.knowledge();
        let (readings, measurements) = (readings(knowledge, open), measurements(knowledge, open));
        let typed = readings.iter().map(|r| Choice { note: "type it".into(), ..Choice::new(&r.id, &r.name) });
        let worked =
            measurements.iter().map(|m| Choice { note: m.summary.clone(), ..Choice::new(&m.id, &m.name) });
        let reply = self.prompter.ask(&Prompt {
            id: "figure".into(),
            question: "Which figure?".into(),
            choices: typed.chain(worked).collect(),
            side: vec![Side::Back],
            ..Prompt::default()
        })?;
        let Reply::Choice(i) = reply else { return Ok(false) };
        let Some(reading) = readings.get(i) else {
            return match measurements.get(i - readings.len()) {
                Some(of) => self.measured(of),
                None => Ok(false),
            };
        };
        let motor = self.case.motor(knowledge);
        let reply = self.prompter.ask(&Prompt {
            id: reading.id.clone(),
            question: reading.ask.question.clone(),
            text: Some(wanted(reading, motor.as_deref())),
            side: vec![Side::Back],
            ..Prompt::default()
        })?;
        match reply {
            Reply::Text(typed) => self.take_typed(&reading.id, &typed),
            _ => Ok(false),
        }
    }
}

/// Every state but the first of every open question.
fn sights(knowledge: &Knowledge, open: &[&str]) -> Vec<Sight> {
    let states = |id: &str| knowledge.states(id).map_or(0, |s| s.len());
    open.iter().enumerate().flat_map(|(i, id)| (1..states(id)).map(move |state| (i, state))).collect()
}

/// A thing that may be seen, in a line: "Commutator slots: bridged (burr across)".
fn line(knowledge: &Knowledge, open: &[&str], (i, state): Sight) -> Choice {
    let id = open[i];
    let states = knowledge.states(id).unwrap_or_default();
    let (state, label) = states.get(state).copied().unwrap_or_default();
    let lower = |text: &str| {
        let mut letters = text.trim().chars();
        letters.next().map(|c| c.to_lowercase().chain(letters).collect::<String>()).unwrap_or_default()
    };
    let said = match label.split_once(':') {
        Some(("Yes", rest)) => lower(rest),
        Some((head, rest)) => format!("{} ({})", lower(head), rest.trim()),
        None => lower(label),
    };
    Choice::new(format!("{id}={state}"), format!("{}: {said}", name(knowledge, id)))
}

/// The readings that answer any of some questions.
fn readings<'k>(knowledge: &'k Knowledge, open: &[&str]) -> Vec<&'k Reading> {
    let mut out: Vec<&Reading> = Vec::new();
    for reading in open.iter().filter_map(|id| reading_for(knowledge, id)) {
        if !out.iter().any(|r| r.id == reading.id) {
            out.push(reading);
        }
    }
    out
}

/// The measurements that answer any of some questions.
fn measurements<'k>(knowledge: &'k Knowledge, open: &[&str]) -> Vec<&'k Measurement> {
    let mut out: Vec<&Measurement> = Vec::new();
    for of in open.iter().flat_map(|id| measurements_for(knowledge, id)) {
        if !out.iter().any(|m| m.id == of.id) {
            out.push(of);
        }
    }
    out
}

/// How the look is taken, then what belongs to each thing alone.
fn how_to_look(knowledge: &Knowledge, look: &Look, open: &[&str]) -> Text {
    let mut text = Text::new();
    text.item(2, Styled::new().strong("How: "), look.how.as_str());
    for id in open {
        if let Some(ask) = knowledge.ask(id) {
            text.item(2, "", Styled::new().strong(name(knowledge, id)));
            text.append(how(knowledge, ask));
        }
    }
    text
}

/// Why a look is taken: what each thing that may be seen would do, the most expected first.
fn why(assessment: &Assessment, valued: &Valued) -> Text {
    let knowledge = assessment.planner.knowledge;
    let alone = assessment.alone(valued);
    let normal: Vec<Option<usize>> = alone.iter().map(|v| v.outcomes.first().and_then(|o| o.scope)).collect();
    let mut seen: Vec<_> = (alone.iter().zip(&normal))
        .flat_map(|(v, normal)| {
            let states = v.outcomes.iter().enumerate().skip(1);
            states.map(move |(state, outcome)| (v.candidate.id, state, outcome, outcome.scope != *normal))
        })
        .collect();
    seen.sort_by(|a, b| b.2.probability.total_cmp(&a.2.probability));
    let same = seen.iter().take(EXPLAINED).all(|s| !s.3);
    let mut text = Text::new();
    let reason = reason(assessment, valued);
    text.item(2, Styled::new().strong("Why: "), because(assessment, reason.as_ref()));
    let mut rows = Consequences::new(assessment, "If you see", reason.as_ref(), !same);
    for (id, state, outcome, _) in seen.iter().take(EXPLAINED) {
        let states = knowledge.states(id).unwrap_or_default();
        let label = states.get(*state).map_or("", |s| s.1);
        let what = format!("{}: {}", name(knowledge, id), head(label).to_lowercase());
        rows.row(Styled::from(what), outcome);
    }
    text.table(2, rows.table());
    saving(valued, "All of it", &mut text);
    text
}
