//! The beginning: which motor, and what the owner says.

use std::rc::Rc;

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Reply, Side, TextWanted};
use super::question::answered;
use super::{Consultation, Turn};
use crate::case::complaint::Match;
use crate::case::{Answer, check_motor_data, complaint, motor_keys};
use crate::knowledge::Knowledge;
use crate::present::text::{Styled, Text};

/// Where the person wants to go from a step of the beginning.
enum Go {
    On,
    Back,
    Stop,
}

/// How a value of a motor is written: as some motor of the knowledge has it.
fn example<'k>(knowledge: &'k Knowledge, key: &str) -> &'k str {
    let known = knowledge.motors.iter().find_map(|m| m.nominal.get(key));
    match (known, key) {
        (Some(text), _) => text,
        (None, "slots") => "3",
        (None, "rebuildable") => "yes",
        (None, _) => "Old boat motor",
    }
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
        choices.push(Choice::new("describe", "Another motor: say what is known of it"));
        choices.push(Choice::new("another", "Not known"));
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
        if i == knowledge.motors.len() {
            self.describe_motor()?;
        }
        self.save()?;
        Ok(Go::On)
    }

    /// Asks for what is known of a motor that is not in the knowledge: any of it, in any order.
    fn describe_motor(&mut self) -> Result<(), Failure> {
        let knowledge = self.knowledge();
        let keys = motor_keys(knowledge);
        loop {
            let mut choices = vec![Choice::new("enough", "That is all that is known")];
            choices.extend(keys.iter().map(|(key, _)| {
                let words = key.replace('-', " ");
                let said = self.case.motor_data.get(key).cloned().unwrap_or_default();
                Choice { note: said, ..Choice::new(key, format!("Its {words}")) }
            }));
            let reply = self.prompter.ask(&Prompt {
                id: "motor-data".into(),
                heading: "The motor".into(),
                question: "What is known of it? Every value makes the readings say more.".into(),
                choices,
                side: vec![Side::Back],
                ..Prompt::default()
            })?;
            let key = match reply {
                Reply::Choice(i) if i > 0 => keys.get(i - 1).map(|(key, _)| key.clone()),
                _ => None,
            };
            let Some(key) = key else { return Ok(()) };
            let example = example(knowledge, &key);
            let (of, alone) = (key.clone(), Rc::new(knowledge.clone()));
            let text = TextWanted::checked(format!("it, such as {example}"), move |typed| {
                check_motor_data(&alone, &of, typed)
            });
            let reply = self.prompter.ask(&Prompt {
                id: format!("motor-{key}"),
                heading: "The motor".into(),
                question: format!("What is its {} when it is healthy?", key.replace('-', " ")),
                text: Some(text),
                side: vec![Side::Back],
                ..Prompt::default()
            })?;
            if let Reply::Text(typed) = reply {
                self.case.motor_data.insert(key, typed);
                self.save()?;
            }
        }
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
                Reply::Choice(1) if !self.one_by_one(&found)? => continue,
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
                Some(id) if !self.ask_plainly(id, heading, m.state)? => match next {
                    0 => return Ok(false),
                    _ => next -= 1,
                },
                _ => next += 1,
            }
        }
        Ok(true)
    }
}
