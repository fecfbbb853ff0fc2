//! Going back: any earlier answer can be changed or forgotten.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Reply, Side};
use super::question::answered;
use super::{Consultation, Turn};

impl Consultation<'_, '_> {
    /// Lets the person pick an earlier answer, the last one first, and give it anew.
    pub(super) fn change(&mut self) -> Result<Turn, Failure> {
        let ids: Vec<String> = self.case.answers.keys().rev().cloned().collect();
        if ids.is_empty() {
            return Ok(Turn::Again);
        }
        let choices = ids
            .iter()
            .map(|id| Choice::new(id.clone(), answered(self.knowledge(), id, &self.case.answers[id])));
        let reply = self.prompter.ask(&Prompt {
            id: "change".into(),
            heading: "Back".into(),
            question: "Which answer do you want to change? The last one stands first.".into(),
            choices: choices.collect(),
            side: vec![Side::Back, Side::Stop],
            ..Prompt::default()
        })?;
        let picked = match reply {
            Reply::Choice(picked) => picked,
            Reply::Side(Side::Stop) => return Ok(Turn::Stop),
            _ => return Ok(Turn::Again),
        };
        let id = ids[picked].as_str();
        let reply = self.prompter.ask(&Prompt {
            id: "change-how".into(),
            question: format!("{}. What now?", answered(self.knowledge(), id, &self.case.answers[id])),
            choices: vec![
                Choice::new("anew", "Answer it anew"),
                Choice::new("forget", "Take it back, as if it had not been asked"),
            ],
            side: vec![Side::Back],
            ..Prompt::default()
        })?;
        match reply {
            Reply::Choice(0) => self.answer_anew(id)?,
            Reply::Choice(_) => {
                self.drop_answer(id);
                self.save()?;
            }
            _ => {}
        }
        Ok(Turn::Again)
    }

    fn answer_anew(&mut self, id: &str) -> Result<(), Failure> {
        // A reading is asked by the observation that it bands, so that its states can be picked too.
        let knowledge = self.knowledge();
        let question = (knowledge.factor(id).map(|f| f.id.as_str()))
            .or_else(|| knowledge.observation(id).map(|o| o.id.as_str()))
            .or_else(|| Some(knowledge.reading(id)?.bands.first()?.observation.as_str()));
        let Some(question) = question else { return Ok(()) };
        let old = self.case.answers.get(id).cloned();
        if !self.ask_plainly(question, "Changing an answer".into(), 0)? {
            return Ok(());
        }
        if id != question && self.case.answers.get(id) == old.as_ref() {
            self.case.forget(id);
        }
        self.drop_dependents(id);
        self.save()
    }

    fn drop_answer(&mut self, id: &str) {
        self.case.forget(id);
        self.drop_dependents(id);
    }

    /// Answers to questions that were asked only because of this one no longer stand.
    fn drop_dependents(&mut self, id: &str) {
        let knowledge = self.knowledge();
        let hangs = |other: &String| {
            let when = knowledge.ask(other).and_then(|a| a.ask_when.as_ref());
            when.is_some_and(|w| w.answer == id)
        };
        let gone: Vec<String> = self.case.answers.keys().filter(|k| hangs(k)).cloned().collect();
        gone.iter().for_each(|k| {
            self.case.forget(k);
        });
    }
}
