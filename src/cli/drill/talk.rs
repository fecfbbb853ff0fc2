//! A lesson as a conversation. Every act is on the disk before the next one is asked for.

use super::super::exit::Failure;
use super::super::prompt::{Choice, Prompt, Prompter, Reply, Side};
use super::super::triage::{note, refused};
use super::pick::{List, Picked, pick};
use super::{School, record_failure, task_failure};
use crate::drill::coach::{advise, grounds, wrong_turn};
use crate::drill::debrief::{Debrief, debrief};
use crate::drill::record::{Ended, Kept, Progress};
use crate::drill::session::{Act, Answers, Offer, Outcome, Place, Session, Standing};
use crate::knowledge::{Course, Knowledge};
use crate::plan::assess::Planner;
use crate::present::drill::{coach, course, debrief as pages, task};
use crate::present::text::{Styled, Text, minutes, plural};
use crate::present::triage::text::cautions_before;

/// Minutes for which a motor is let stand at one go.
const STAND: u32 = 10;

/// A lesson in progress, and whoever takes it.
pub struct Talk<'t, 'p, 'k> {
    pub(super) session: Session<'p, 'k>,
    pub(super) prompter: &'t mut dyn Prompter,
    course: &'t Course,
    kept: Kept,
    resumed: bool,
    /// Cautions given in full already.
    pub(super) cautioned: Vec<String>,
}

/// Whether the lesson goes on.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// On.
    Again,
    /// The person wants to stop here.
    Stop,
    /// All is said.
    Over,
}

impl<'t, 'p, 'k> Talk<'t, 'p, 'k> {
    /// A lesson from its record.
    ///
    /// # Errors
    /// When the record does not fit the knowledge.
    pub fn new(
        planner: &'p Planner<'k>,
        course: &'t Course,
        kept: Kept,
        resumed: bool,
        prompter: &'t mut dyn Prompter,
    ) -> Result<Self, Failure> {
        let task = kept.record.task(planner).map_err(task_failure)?;
        let session = Session::replay(planner, task, &kept.record.acts).map_err(|(place, why)| {
            Failure::input(format!("{}: act {}: {why}", kept.path.display(), place + 1))
                .help("The knowledge has changed since. Begin anew with: --anew")
        })?;
        Ok(Talk { session, prompter, course, kept, resumed, cautioned: Vec::new() })
    }

    fn knowledge(&self) -> &'k Knowledge {
        self.session.planner.knowledge
    }

    /// Holds the lesson to its end.
    ///
    /// # Errors
    /// When an act can't be saved, or the person leaves; all acts are saved by then.
    pub(super) fn run(mut self, school: &School) -> Result<(), Failure> {
        let title = self.kept.record.title(self.knowledge());
        let mut text = task::brief(self.knowledge(), &self.session.task, &title);
        if self.resumed && !self.session.done().is_empty() {
            let done = plural(self.session.done().len(), "act", "acts");
            text.append(note(format!(
                "Going on where you stopped: {done}, {}.",
                task::standing(&self.session)
            )));
        }
        text.append(note("Every act is saved before the next one. Ctrl-C loses nothing."));
        self.save()?;
        self.page(text)?;
        if let Some(words) = task::words(&self.session.task)
            && self.session.done().is_empty()
        {
            self.page(words)?;
        }
        loop {
            match if self.session.is_over() { Turn::Over } else { self.menu()? } {
                Turn::Again => {}
                Turn::Stop => {
                    let words = format!("Saved. Go on with: {}", school.again(&self.kept));
                    return Ok(self.prompter.say(&note(words))?);
                }
                Turn::Over => return self.end(school),
            }
        }
    }

    /// A page that is read before anything else is asked.
    pub(super) fn page(&mut self, text: Text) -> Result<Turn, Failure> {
        let reply = self.prompter.ask(&Prompt {
            id: "page".into(),
            note: text,
            question: "Read on?".into(),
            choices: vec![Choice::new("on", "Go on")],
            ..Prompt::default()
        })?;
        Ok(if reply == Reply::Side(Side::Stop) { Turn::Stop } else { Turn::Again })
    }

    fn menu(&mut self) -> Result<Turn, Failure> {
        let knowledge = self.knowledge();
        let offers = self.session.offers();
        let open = |places: &[Place]| {
            let own = offers.iter().filter(|o| places.contains(&o.place));
            let left = own.clone().filter(|o| o.standing == Standing::Open).count();
            (own.count(), left)
        };
        let mut choices = Vec::new();
        let kinds: [(&str, &str, &[Place]); 2] = [
            ("ask", "Ask the owner", &[Place::History, Place::Complaint]),
            ("look", "Look and measure", &[Place::Bench]),
        ];
        for (id, label, places) in kinds {
            let (all, left) = open(places);
            if all > 0 {
                choices.push(Choice { note: format!("{left} left"), ..Choice::new(id, label) });
            }
        }
        if let Some(next) = knowledge.stages.get(self.session.stage() + 1) {
            choices.push(Choice {
                note: next.name.to_lowercase(),
                ..Choice::new("next", "Go on to the next stage")
            });
        }
        // Who is new to it has enough to choose from.
        if self.session.task.level > 2 || !self.session.task.too_soon.is_empty() {
            choices.push(Choice::new("wait", format!("Let it stand for {STAND} minutes")));
        }
        let cost = format!("costs {:.0} points", self.course.per_hint * 100.0);
        choices.push(Choice { note: cost.clone(), ..Choice::new("coach", "Ask the coach") });
        choices.push(Choice { note: cost, ..Choice::new("hint", "Read the hint") });
        let words = if self.session.task.words.is_empty() { "" } else { ", and the words" };
        choices.push(Choice::new("known", format!("What is known so far{words}")));
        choices.push(Choice { note: "ends the lesson".into(), ..Choice::new("name", "Name the fault") });
        let ids: Vec<String> = choices.iter().map(|c| c.id.clone()).collect();
        let reply = self.prompter.ask(&Prompt {
            id: "menu".into(),
            heading: task::standing(&self.session),
            question: "What do you do?".into(),
            choices,
            side: vec![Side::Stop],
            ..Prompt::default()
        })?;
        let Reply::Choice(i) = reply else { return Ok(Turn::Stop) };
        match ids[i].as_str() {
            "ask" => self.ask_owner(),
            "look" => self.list(Place::Bench, "Look and measure"),
            "next" => self.next_stage(),
            "wait" => {
                self.act(Act::Wait(STAND))?;
                self.prompter.say(&task::stood(STAND))?;
                Ok(Turn::Again)
            }
            "coach" => self.coach(),
            "hint" => self.hint(),
            "known" => {
                for page in task::known(&self.session).into_iter().chain(task::words(&self.session.task)) {
                    self.page(page)?;
                }
                Ok(Turn::Again)
            }
            _ => self.name_it(),
        }
    }

    fn ask_owner(&mut self) -> Result<Turn, Failure> {
        loop {
            let choices = vec![
                Choice::new("now", "What it does now"),
                Choice::new("before", "What happened before"),
                Choice::new("menu", "Back to the menu"),
            ];
            let reply = self.prompter.ask(&Prompt {
                id: "owner".into(),
                heading: task::standing(&self.session),
                question: "Ask the owner about what?".into(),
                choices,
                side: vec![Side::Stop],
                ..Prompt::default()
            })?;
            let (place, title) = match reply {
                Reply::Choice(0) => (Place::Complaint, "What it does now"),
                Reply::Choice(1) => (Place::History, "What happened before"),
                Reply::Choice(_) => return Ok(Turn::Again),
                _ => return Ok(Turn::Stop),
            };
            if self.list(place, title)? == Turn::Stop {
                return Ok(Turn::Stop);
            }
        }
    }

    /// Everything of one kind, by stages where it is much; the list comes again until the person turns back.
    fn list(&mut self, place: Place, title: &str) -> Result<Turn, Failure> {
        let knowledge = self.knowledge();
        let mut stage: Option<usize> = None;
        loop {
            let offers: Vec<Offer<'k>> =
                self.session.offers().into_iter().filter(|o| o.place == place).collect();
            let mut stages: Vec<usize> = offers.iter().map(|o| o.stage).collect();
            stages.sort_unstable();
            stages.dedup();
            if stages.len() > 1 && stage.is_none() {
                // The stage that has just been reached comes first.
                stages.reverse();
                let entry = |s: &usize| {
                    let own = offers.iter().filter(|o| o.stage == *s && o.standing == Standing::Open).count();
                    let stage = &knowledge.stages[*s];
                    Choice { note: format!("{own} left"), ..Choice::new(&stage.id, &stage.name) }
                };
                let list = self.choice(title, "Where?", stages.iter().map(entry).collect());
                match pick(self.prompter, list)? {
                    Picked::Entry(i) => stage = Some(stages[i]),
                    Picked::Back => return Ok(Turn::Again),
                    Picked::Stop => return Ok(Turn::Stop),
                }
            }
            let many = stages.len() > 1;
            let shown: Vec<Offer<'k>> =
                offers.into_iter().filter(|o| !many || Some(o.stage) == stage).collect();
            let entry =
                |o: &Offer| Choice { note: task::offer_note(knowledge, o), ..Choice::new(o.id, o.name) };
            let list = self.choice(title, "What?", shown.iter().map(entry).collect());
            match pick(self.prompter, list)? {
                Picked::Entry(i) => self.look(&shown[i])?,
                Picked::Back if many => stage = None,
                Picked::Back => return Ok(Turn::Again),
                Picked::Stop => return Ok(Turn::Stop),
            }
        }
    }

    fn choice(&self, title: &str, question: &str, entries: Vec<Choice>) -> List {
        List {
            id: "list".into(),
            heading: format!("{title} · {}", task::standing(&self.session)),
            question: question.into(),
            note: Text::new(),
            entries,
            back: Choice::new("back", "Back"),
        }
    }

    /// Asks, looks or measures; cautions come before it.
    fn look(&mut self, offer: &Offer<'k>) -> Result<(), Failure> {
        if offer.standing == Standing::Open && !self.ready(offer)? {
            return Ok(());
        }
        // What was had, or is gone, is read again; nothing is done, and nothing is taken down.
        let had = |id: &&'k str| Some((*id, self.session.case().answers.get(*id)?.clone()));
        let outcome = match &offer.standing {
            Standing::Open => self.act(Act::Look(offer.id.into()))?,
            Standing::Had(_) => {
                let given = offer.parts.iter().filter_map(|(id, _)| had(id)).collect();
                Some(Outcome::Again(Answers { given, ..Answers::default() }))
            }
            Standing::Gone(last) => Some(Outcome::Gone(*last)),
        };
        let Some(outcome) = outcome else { return Ok(()) };
        let text = task::looked(&self.session, offer, &outcome);
        // A list of its own is read before the next one comes.
        if offer.look.is_some() && !outcome.answers().is_empty() {
            self.page(text)?;
            return Ok(());
        }
        Ok(self.prompter.say(&text)?)
    }

    /// Gives the cautions and, where the level explains it, the way to look; whether the person goes on.
    fn ready(&mut self, offer: &Offer<'k>) -> Result<bool, Failure> {
        let mut before = Text::new();
        let mut cautions: Vec<String> = Vec::new();
        for caution in offer.parts.iter().flat_map(|(_, ask)| &ask.cautions) {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
        cautions_before(self.knowledge(), &cautions, 0, &mut self.cautioned, &mut before);
        if let Some(how) = task::how(&self.session, offer).filter(|_| offer.place == Place::Bench) {
            before.append(how);
        }
        if before.is_empty() {
            return Ok(true);
        }
        let reply = self.prompter.ask(&Prompt {
            id: format!("do:{}", offer.id),
            heading: format!("{} · {}", offer.name, minutes(offer.minutes)),
            question: "Do it?".into(),
            note: before,
            choices: vec![Choice::new("yes", "Yes"), Choice::new("no", "No: leave it")],
            ..Prompt::default()
        })?;
        Ok(reply == Reply::Choice(0))
    }

    /// Does an act and saves it; none when it can't be done, which is said.
    pub(super) fn act(&mut self, act: Act) -> Result<Option<Outcome<'k>>, Failure> {
        let outcome = match self.session.act(act) {
            Ok(done) => done.outcome.clone(),
            Err(why) => {
                self.prompter.say(&Text::from(Styled::new().warn(why.to_string())))?;
                return Ok(None);
            }
        };
        self.save()?;
        Ok(Some(outcome))
    }

    fn save(&mut self) -> Result<(), Failure> {
        self.kept.record.follow(&self.session);
        self.kept.save().map_err(record_failure)
    }

    fn hint(&mut self) -> Result<Turn, Failure> {
        self.act(Act::Hint)?;
        self.prompter.say(&task::hint(self.knowledge(), &self.session.task.hint))?;
        Ok(Turn::Again)
    }

    fn coach(&mut self) -> Result<Turn, Failure> {
        let mut text = Text::new();
        let (assessment, advice) = advise(&self.session).map_err(refused)?;
        let grounds = grounds(&assessment).map_err(refused)?;
        text.append(coach::advice(&self.session, &assessment, &advice, &grounds));
        if let Some(turn) = wrong_turn(&self.session).map_err(refused)? {
            text.append(coach::turn(self.knowledge(), &turn));
        }
        drop(assessment);
        self.act(Act::Coach)?;
        self.page(text)
    }

    /// Looks back, keeps the result, and says what comes next.
    fn end(mut self, school: &School) -> Result<(), Failure> {
        let debrief: Debrief = debrief(&self.session, self.course).map_err(refused)?;
        self.kept.record.result = Some(Ended::of(&debrief));
        self.save()?;
        for page in pages::pages(self.knowledge(), &debrief, &self.session.task) {
            self.page(page)?;
        }
        let records = school.records()?;
        let progress = Progress::of(records.iter().map(|k| &k.record), self.course, self.knowledge());
        if let Some(page) = course::so_far(self.knowledge(), &progress) {
            self.page(page)?;
        }
        let mut text = pages::in_short(self.knowledge(), &debrief);
        text.append(course::next(self.knowledge(), &progress, &school.command("take")));
        Ok(self.prompter.show(&text)?)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
