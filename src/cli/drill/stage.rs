//! Going on to the next stage: what is lost by it, what is written down before, and the cautions.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Reply, Side};
use super::talk::{Talk, Turn};
use crate::drill::session::{Act, Outcome};
use crate::knowledge::Stage;
use crate::present::drill::task;
use crate::present::text::{Styled, Text, minutes, plural};
use crate::present::triage::text::cautions_before;

impl<'k> Talk<'_, '_, 'k> {
    /// Leads on to the next stage, or past one that may be passed over.
    pub(super) fn next_stage(&mut self) -> Result<Turn, Failure> {
        let knowledge = self.session.planner.knowledge;
        let here = self.session.stage();
        let mut ways: Vec<&'k Stage> = Vec::new();
        for stage in knowledge.stages.iter().skip(here + 1) {
            ways.push(stage);
            if !stage.skippable {
                break;
            }
        }
        let entry = |(n, stage): (usize, &&Stage)| {
            let past = if n == 0 { "" } else { ", without what comes before" };
            Choice {
                note: format!("{}{past}", minutes(stage.minutes)),
                ..Choice::new(&stage.id, &stage.name)
            }
        };
        let mut choices: Vec<Choice> = ways.iter().enumerate().map(entry).collect();
        choices.push(Choice::new("back", "Stay here"));
        let reply = self.prompter.ask(&Prompt {
            id: "next".into(),
            heading: task::standing(&self.session),
            question: "Go on to which stage?".into(),
            choices,
            side: vec![Side::Stop],
            ..Prompt::default()
        })?;
        let stage = match reply {
            Reply::Choice(i) => ways.get(i).copied(),
            _ => return Ok(Turn::Stop),
        };
        match stage {
            Some(stage) => self.enter(stage),
            None => Ok(Turn::Again),
        }
    }

    fn enter(&mut self, stage: &'k Stage) -> Result<Turn, Failure> {
        let knowledge = self.session.planner.knowledge;
        let mut before = Text::new();
        if !stage.destroys.is_empty() {
            before.item(0, Styled::new().warn("Lost by it: "), stage.destroys.as_str());
        }
        if !stage.record_first.is_empty() {
            before.para(Styled::new().strong("Write down first:"));
            stage.record_first.iter().for_each(|r| {
                before.item(2, "- ", r.as_str());
            });
        }
        let to = knowledge.stage_index(&stage.id).unwrap_or(0);
        let lost = self.session.lost_by(to).len();
        if lost > 0 {
            let words = plural(
                lost,
                "thing that you have not looked at is",
                "things that you have not looked at are",
            );
            before.item(0, Styled::new().warn("! "), format!("{words} lost by it."));
        }
        if !before.is_empty() && !self.sure(stage, before, "Go on, with this written down?")? {
            return Ok(Turn::Again);
        }
        let mut note = Text::new();
        let mut cautioned = Vec::new();
        cautions_before(knowledge, &stage.calls_for, 0, &mut cautioned, &mut note);
        note.item(0, Styled::new().strong("Then: "), stage.reached_by.as_str());
        if !self.sure(stage, note, "Minded all of it?")? {
            return Ok(Turn::Again);
        }
        let said = match self.act(Act::Enter(stage.id.clone()))? {
            Some(Outcome::Entered(lost)) => {
                self.cautioned = cautioned;
                task::entered(&self.session, &lost)
            }
            Some(Outcome::Stopped(reason)) => {
                let mut text = Text::new();
                text.blank().append(task::stopped(reason));
                text
            }
            _ => return Ok(Turn::Again),
        };
        self.prompter.say(&said)?;
        Ok(Turn::Again)
    }

    fn sure(&mut self, stage: &Stage, note: Text, question: &str) -> Result<bool, Failure> {
        let reply = self.prompter.ask(&Prompt {
            id: format!("stage:{}", stage.id),
            heading: format!("Next stage · {}", stage.name.to_lowercase()),
            question: question.into(),
            note,
            choices: vec![Choice::new("yes", "Yes: go on"), Choice::new("no", "No: stay here")],
            ..Prompt::default()
        })?;
        Ok(reply == Reply::Choice(0))
    }
}
