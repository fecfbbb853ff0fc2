//! The beginning: which motor, and what the owner says.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Reply, Side, TextWanted};
use super::question::answered;
use super::{Consultation, Turn};
use crate::case::complaint::Match;
use crate::case::{Answer, complaint};
use crate::present::text::{Styled, Text};

/// Where the person wants to go from a step of the beginning.
enum Go {
    On,
    Back,
    Stop,
}

impl<'k> Consultation<'_, 'k> {
    /// Asks for the motor and the complaint where they are not known yet, and confirms what the complaint
    /// says. Each step can be gone back to.
    pub(super) fn intake(&mut self) -> Result<Turn, Failure> {
        if !self.case.answers.is_empty() {
            return Ok(Turn::Again);
        }
        let (motor, words) = (self.case.motor.is_none(), self.case.complaint.trim().is_empty());
        let mut step = 0;
        loop {
            let go = match step {
                0 if motor => self.which_motor()?,
                1 if words => self.what_is_wrong(motor)?,
                2 => self.confirm(words)?,
                0..2 => Go::On,
                _ => return Ok(Turn::Again),
            };
            match go {
                Go::On => step += 1,
                Go::Back => step -= 1,
                Go::Stop => return Ok(Turn::Stop),
            }
        }
    }

    fn which_motor(&mut self) -> Result<Go, Failure> {
        let knowledge = self.knowledge();
        let motors = knowledge.motors.iter();
        let mut choices: Vec<Choice> = motors
            .map(|m| Choice {
                id: m.id.clone(),
                label: m.name.clone(),
                note: format!("{} can, {} slots", m.can, m.slots),
            })
            .collect();
        choices.push(Choice::new("another", "Another motor, or not known"));
        let reply = self.prompter.ask(&Prompt {
            id: "motor".into(),
            heading: "The motor".into(),
            question: "Which motor is it?".into(),
            choices,
            side: vec![Side::Stop],
            ..Prompt::default()
        })?;
        let Reply::Choice(i) = reply else { return Ok(Go::Stop) };
        self.case.motor = knowledge.motors.get(i).map(|m| m.id.clone());
        self.save()?;
        Ok(Go::On)
    }

    fn what_is_wrong(&mut self, back: bool) -> Result<Go, Failure> {
        let mut side = vec![Side::Unknown, Side::Stop];
        side.extend(back.then_some(Side::Back));
        let reply = self.prompter.ask(&Prompt {
            id: "complaint".into(),
            heading: "The complaint".into(),
            question: "What does the owner say, in their own words?".into(),
            text: Some(TextWanted::any("the complaint, such as “weak and clicks since it got wet”")),
            side,
            ..Prompt::default()
        })?;
        self.case.complaint = match reply {
            Reply::Side(Side::Back) => return Ok(Go::Back),
            Reply::Side(Side::Stop) => return Ok(Go::Stop),
            Reply::Text(words) => words,
            _ => String::new(),
        };
        self.save()?;
        Ok(Go::On)
    }

    /// Offers what the owner's words seem to say; nothing of it counts until it is confirmed.
    fn confirm(&mut self, back: bool) -> Result<Go, Failure> {
        let knowledge = self.knowledge();
        let found = complaint::matches(knowledge, &self.case.complaint);
        if found.is_empty() {
            return Ok(Go::On);
        }
        let mut heard = Text::new();
        for m in &found {
            let says = answered(knowledge, &m.id, &Answer::State(m.state));
            heard.item(2, "- ", Styled::new().strong(says).muted(format!("  (“{}”)", m.words)));
        }
        let mut side = vec![Side::Stop];
        side.extend(back.then_some(Side::Back));
        let prompt = Prompt {
            id: "complaint-heard".into(),
            heading: "What I heard".into(),
            question: "Is this what the owner means?".into(),
            note: heard,
            choices: vec![
                Choice::new("all", "Yes, all of it"),
                Choice::new("each", "Not quite: go through it one by one"),
                Choice::new("none", "No, none of it"),
            ],
            side,
            ..Prompt::default()
        };
        loop {
            match self.prompter.ask(&prompt)? {
                Reply::Choice(0) => {
                    for m in &found {
                        self.case.answer(&m.id, Answer::State(m.state));
                    }
                    self.settle()?;
                    self.save()?;
                }
                Reply::Choice(1) => {
                    if !self.one_by_one(&found)? {
                        continue;
                    }
                }
                Reply::Side(Side::Back) => return Ok(Go::Back),
                Reply::Side(_) => return Ok(Go::Stop),
                _ => {}
            }
            return Ok(Go::On);
        }
    }

    /// Asks each question that the owner's words seem to answer; false when the person goes back from the
    /// first.
    fn one_by_one(&mut self, found: &[Match]) -> Result<bool, Failure> {
        let knowledge = self.knowledge();
        let mut next = 0;
        while let Some(m) = found.get(next) {
            let id = (knowledge.factor(&m.id).map(|f| f.id.as_str()))
                .or_else(|| knowledge.observation(&m.id).map(|o| o.id.as_str()));
            let heading = format!("The owner said “{}”", m.words);
            match id {
                Some(id) if !self.ask_plainly(id, heading)? => match next {
                    0 => return Ok(false),
                    _ => next -= 1,
                },
                _ => next += 1,
            }
        }
        Ok(true)
    }
}
