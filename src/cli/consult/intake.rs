//! The beginning: which motor, and what the owner says.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Reply, Side, TextWanted};
use super::Consultation;
use super::question::answered;
use crate::case::{Answer, complaint};
use crate::present::text::{Styled, Text};

impl<'k> Consultation<'_, 'k> {
    /// Asks for the motor and the complaint where they are not known yet, and confirms what the complaint
    /// says.
    pub(super) fn intake(&mut self) -> Result<(), Failure> {
        if !self.case.answers.is_empty() {
            return Ok(());
        }
        if self.case.motor.is_none() {
            self.which_motor()?;
        }
        if self.case.complaint.trim().is_empty() {
            self.what_is_wrong()?;
        }
        self.confirm()
    }

    fn which_motor(&mut self) -> Result<(), Failure> {
        let knowledge = self.knowledge();
        let motors = knowledge.motors.iter();
        let mut choices: Vec<Choice> = motors
            .map(|m| Choice {
                id: m.id.clone(),
                label: m.name.clone(),
                note: format!("{} can, {} slots", m.can, m.slots),
            })
            .collect();
        let known = choices.len();
        choices.push(Choice::new("another", "Another motor, or not known"));
        let reply = self.prompter.ask(&Prompt {
            id: "motor".into(),
            heading: "The motor".into(),
            question: "Which motor is it?".into(),
            choices,
            ..Prompt::default()
        })?;
        if let Reply::Choice(i) = reply
            && i < known
        {
            self.case.motor = Some(knowledge.motors[i].id.clone());
            self.save()?;
        }
        Ok(())
    }

    fn what_is_wrong(&mut self) -> Result<(), Failure> {
        let reply = self.prompter.ask(&Prompt {
            id: "complaint".into(),
            heading: "The complaint".into(),
            question: "What does the owner say, in their own words?".into(),
            text: Some(TextWanted::any("the complaint, such as “weak and clicks since it got wet”")),
            side: vec![Side::Unknown],
            ..Prompt::default()
        })?;
        if let Reply::Text(words) = reply {
            self.case.complaint = words;
            self.save()?;
        }
        Ok(())
    }

    /// Offers what the owner's words seem to say; nothing of it counts until it is confirmed.
    fn confirm(&mut self) -> Result<(), Failure> {
        let knowledge = self.knowledge();
        let found = complaint::matches(knowledge, &self.case.complaint);
        if found.is_empty() {
            return Ok(());
        }
        let mut heard = Text::new();
        for m in &found {
            let says = answered(knowledge, &m.id, &Answer::State(m.state));
            heard.item(2, "- ", Styled::new().strong(says).muted(format!("  (“{}”)", m.words)));
        }
        let reply = self.prompter.ask(&Prompt {
            id: "complaint-heard".into(),
            heading: "What I heard".into(),
            question: "Is this what the owner means?".into(),
            note: heard,
            choices: vec![
                Choice::new("all", "Yes, all of it"),
                Choice::new("each", "Not quite: go through it one by one"),
                Choice::new("none", "No, none of it"),
            ],
            ..Prompt::default()
        })?;
        match reply {
            Reply::Choice(0) => {
                for m in &found {
                    self.case.answer(&m.id, Answer::State(m.state));
                }
                self.settle()?;
                self.save()
            }
            Reply::Choice(1) => {
                for m in &found {
                    let id = (knowledge.factor(&m.id).map(|f| f.id.as_str()))
                        .or_else(|| knowledge.observation(&m.id).map(|o| o.id.as_str()));
                    if let Some(id) = id {
                        self.ask_plainly(id, format!("The owner said “{}”", m.words))?;
                    }
                }
                Ok(())
            }
            _ => Ok(()),
        }
    }
}
