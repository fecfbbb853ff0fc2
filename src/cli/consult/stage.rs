//! Proposing to open the motor further.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Reply, Side, TextWanted};
use super::{Consultation, Turn};
use crate::plan::assess::Assessment;
use crate::plan::questions::Opening;
use crate::present::text::{Styled, Text, minutes, plural};
use crate::present::triage::text::before_stage;

impl<'c, 'k> Consultation<'c, 'k> {
    /// Proposes the next stage, with what has to be written down first and what is lost.
    pub(super) fn propose(
        &mut self,
        assessment: &Assessment<'c, 'k>,
        opening: &Opening<'k>,
    ) -> Result<Turn, Failure> {
        let knowledge = self.knowledge();
        let stage = &knowledge.stages[opening.stage];
        let mut note = Text::new();
        if !stage.destroys.is_empty() {
            note.item(0, Styled::new().warn("Lost by it: "), stage.destroys.as_str());
        }
        // In full each time: whoever turned it down did not have to mind it.
        let mut said = Vec::new();
        before_stage(knowledge, stage, 0, &mut said, &mut note);
        note.item(0, Styled::new().strong("Then: "), stage.reached_by.as_str());
        let mut sides = self.sides(false);
        sides.retain(|s| *s != Side::How);
        let mut prompt = Prompt {
            id: format!("stage:{}", stage.id),
            heading: format!("Next stage · {} · about {}", stage.name.to_lowercase(), minutes(stage.minutes)),
            question: "Go on to this stage?".into(),
            note,
            choices: vec![
                Choice::new("done", "Yes: written down, and done"),
                Choice::new("not-now", "Not now: leave the motor as it is"),
            ],
            text: Some(TextWanted::any("a note of what you wrote down")),
            side: sides,
            ..Prompt::default()
        };
        loop {
            let reply = self.prompter.ask(&prompt)?;
            // Asked again, it is short: the list was just read.
            prompt.note = Text::new();
            match reply {
                Reply::Choice(0) => {
                    self.case.stage = Some(stage.id.clone());
                    self.cautioned = std::mem::take(&mut said);
                    self.save()?;
                }
                Reply::Choice(_) => {
                    self.declined.insert(opening.stage);
                }
                Reply::Text(typed) => {
                    self.case.notes.push(format!("{}: {typed}", stage.id));
                    self.save()?;
                    self.prompter.say(&Text::from(Styled::new().good("Noted.")))?;
                    continue;
                }
                Reply::Side(Side::Why) => {
                    self.prompter.read(&self.why_open(opening))?;
                    continue;
                }
                Reply::Side(Side::Ranking) => {
                    self.show_ranking(assessment)?;
                    continue;
                }
                Reply::Side(Side::Back) => return self.change(),
                Reply::Side(Side::Stop) => return Ok(Turn::Stop),
                Reply::Side(_) | Reply::Several { .. } => continue,
            }
            return Ok(Turn::Again);
        }
    }

    fn why_open(&self, opening: &Opening<'k>) -> Text {
        let knowledge = self.knowledge();
        let mut text = Text::new();
        let mut worthy: Vec<_> = opening.questions.iter().filter(|v| v.worth > 0.0).collect();
        if worthy.is_empty() {
            // Worth little, but it has to be known before the work is decided on.
            worthy.extend(opening.questions.first());
        }
        let goal = knowledge.stages[opening.goal].name.to_lowercase();
        let way =
            if opening.goal == opening.stage { String::new() } else { format!(" on the way to: {goal},") };
        let count = plural(worthy.len(), "question is", "questions are");
        text.item(
            2,
            Styled::new().strong("Why: "),
            format!("nothing here tells more for its minutes;{way} {count} worth asking there:"),
        );
        for valued in worthy.iter().take(3) {
            let took = minutes(valued.own_minutes());
            text.item(4, "- ", Styled::from(valued.wording()).muted(format!(" ({took})")));
        }
        text
    }
}
