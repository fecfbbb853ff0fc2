//! The conversation: what the planner proposes, put to a person, and every answer on the disk before the
//! next question.

mod change;
mod intake;
mod look;
mod question;
mod stage;
mod ticket;

use std::collections::{BTreeSet, HashMap};

use question::answered;
pub use ticket::Ticket;

use super::exit::Failure;
use super::prompt::Prompter;
use super::triage::{assess, note, refused, result};
use crate::case::{Answer, Case, Warning};
use crate::inference::InferenceError;
use crate::knowledge::Knowledge;
use crate::plan::assess::{Assessment, Planner, Step, Stop};
use crate::plan::moment;
use crate::present::text::{Styled, Text};
use crate::present::triage::{FaultRow, gather, text};

/// A consultation in progress.
pub struct Consultation<'c, 'k> {
    planner: &'c Planner<'k>,
    case: Case,
    ticket: &'c mut Ticket<'k>,
    prompter: &'c mut dyn Prompter,
    top: usize,
    /// Stages (indices) that the person does not want to enter now.
    declined: BTreeSet<usize>,
    /// Cautions given in full for what was done since this stage was reached.
    cautioned: Vec<String>,
    /// Questions that the answers in the case took before this talk began.
    earlier: usize,
    /// Questions put in this talk.
    put: usize,
    /// So many of the last questions in a row were answered with nothing known.
    dark: usize,
    /// Probability of each fault after the answer before the last.
    before: HashMap<String, f64>,
}

/// So many answers in a row that nobody knew end a consultation.
const DARK: usize = 6;

/// What became of a question or proposal.
enum Turn {
    /// Something changed, or was put off: think again.
    Again,
    /// The person wants to stop here.
    Stop,
}

impl<'c, 'k> Consultation<'c, 'k> {
    /// A consultation about a case, saved to its ticket.
    pub fn new(
        planner: &'c Planner<'k>,
        case: Case,
        ticket: &'c mut Ticket<'k>,
        prompter: &'c mut dyn Prompter,
        top: usize,
    ) -> Self {
        let (declined, cautioned, before, dark) = Default::default();
        let earlier = questions_behind(&case, planner.knowledge);
        Consultation {
            planner,
            case,
            ticket,
            prompter,
            top,
            declined,
            cautioned,
            earlier,
            put: 0,
            dark,
            before,
        }
    }

    fn knowledge(&self) -> &'k Knowledge {
        self.planner.knowledge
    }

    /// Holds the conversation to its end and shows the result.
    ///
    /// # Errors
    /// When the case can't be saved, the person leaves (all answers are saved by then), or the answers are
    /// beyond exact inference.
    pub fn run(mut self) -> Result<(), Failure> {
        self.welcome()?;
        self.save()?;
        if let Turn::Stop = self.intake()? {
            return self.finish();
        }
        let mut shown = Vec::new();
        loop {
            let assessment = match self.think()? {
                Ok(assessment) => assessment,
                Err(Turn::Again) => continue,
                Err(Turn::Stop) => return self.finish(),
            };
            let informing = self.informing();
            if informing != shown {
                shown = informing;
                self.standing(&assessment)?;
            }
            if self.in_the_dark() {
                let words = format!(
                    "Nobody knew the last {DARK} answers, so more questions would only cost time. \
                     What would tell most is said at the end."
                );
                self.prompter.say(&note(words))?;
                return self.finish();
            }
            let turn = match self.step(&assessment) {
                Step::Ask(list) => match list.into_iter().next() {
                    Some(valued) => match valued.look {
                        Some(look) => self.ask_look(&assessment, &valued, look)?,
                        None => self.ask_valued(&assessment, &valued)?,
                    },
                    None => Turn::Stop,
                },
                Step::Open(opening) => self.propose(&assessment, &opening)?,
                Step::Stop(reason) => {
                    self.say_why(&reason)?;
                    Turn::Stop
                }
            };
            if let Turn::Stop = turn {
                return self.finish();
            }
        }
    }

    fn welcome(&mut self) -> Result<(), Failure> {
        let mut text = Text::new();
        let name = match self.case.case.as_str() {
            "" if self.case.answers.is_empty() => "new ticket",
            "" => self.ticket.shown(),
            name => name,
        };
        text.heading(Styled::new().title("Triage · ").title(name));
        if let Some(motor) = self.case.motor(self.knowledge()) {
            text.item(
                0,
                Styled::new().muted("Motor: "),
                Styled::from(&motor.name).plain(". ").plain(&motor.summary),
            );
        }
        if !self.case.complaint.trim().is_empty() {
            text.item(0, Styled::new().muted("Complaint: "), format!("“{}”", self.case.complaint.trim()));
        }
        if !self.case.answers.is_empty() {
            text.item(0, Styled::new().muted("Answered so far:"), "");
            let knowledge = self.knowledge();
            text.flow(2, self.case.answers.iter().map(|(id, answer)| answered(knowledge, id, answer)));
        }
        text.append(note(format!(
            "Every answer is saved in {} before the next question. Ctrl-C loses nothing.",
            self.ticket.shown()
        )));
        Ok(self.prompter.say(&text)?)
    }

    /// Thinks the case through; a turn instead when the answers had to be changed first.
    fn think(&mut self) -> Result<Result<Assessment<'c, 'k>, Turn>, Failure> {
        let (moment, _) = moment::of(self.planner, &self.case);
        match self.planner.assess(moment) {
            Ok(assessment) => Ok(Ok(assessment)),
            Err(InferenceError::ImpossibleEvidence { clash }) => {
                let names: Vec<String> =
                    clash.iter().map(|id| format!("“{}”", text::name(self.knowledge(), id))).collect();
                let words =
                    format!("These answers can't all be true: {}. Change one of them.", names.join(", "));
                self.prompter.say(&Text::from(Styled::new().warn(words)))?;
                Ok(Err(self.change()?))
            }
            Err(other) => Err(refused(other)),
        }
    }

    /// Whether nobody knew an answer to the last questions of this talk.
    fn in_the_dark(&self) -> bool {
        self.dark >= DARK
    }

    /// The answers that say something, by id: what the bars hang on.
    fn informing(&self) -> Vec<(String, Answer)> {
        let known = self.case.answers.iter().filter(|(_, answer)| **answer != Answer::Unknown);
        let mut list: Vec<_> = known.map(|(id, answer)| (id.clone(), answer.clone())).collect();
        list.sort_by(|a, b| a.0.cmp(&b.0));
        list
    }

    fn step(&self, assessment: &Assessment<'c, 'k>) -> Step<'k> {
        let mut ranking = assessment.ranking();
        ranking.openings.retain(|o| !self.declined.contains(&o.stage));
        assessment.decide(ranking)
    }

    /// The leading faults as bars, with how the last answer moved them.
    fn standing(&mut self, assessment: &Assessment) -> Result<(), Failure> {
        let faults = rows(assessment);
        let before = &self.before;
        let prior: HashMap<&str, f64> = faults.iter().map(|f| (&*f.id, f.prior)).collect();
        let was = |id: &str| before.get(id).or_else(|| prior.get(id)).copied().unwrap_or(0.0);
        let mut text = Text::new();
        text.blank();
        text.append(text::standing(&faults, &was, 4));
        self.before = faults.iter().map(|f| (f.id.clone(), f.probability)).collect();
        Ok(self.prompter.say(&text)?)
    }

    fn show_ranking(&mut self, assessment: &Assessment) -> Result<(), Failure> {
        let healthy = assessment.engine.posterior().healthy;
        let text = text::ranking(self.knowledge(), &rows(assessment), healthy, &assessment.scope_rows());
        Ok(self.prompter.read(&text)?)
    }

    fn say_why(&mut self, reason: &Stop) -> Result<(), Failure> {
        let words = match (self.declined.is_empty(), reason) {
            (false, _) => {
                "Enough, as long as the motor stays as it is: nothing more here is worth its minutes."
            }
            (true, Stop::NothingLeft) => "Enough: nothing more can be asked.",
            (true, Stop::NotWorthIt(_)) => "Enough: no further question is worth its minutes.",
        };
        let mut text = Text::new();
        text.blank().append(note(words));
        Ok(self.prompter.say(&text)?)
    }

    fn finish(self) -> Result<(), Failure> {
        let saved = self.ticket.farewell();
        let (assessment, warnings) = assess(self.planner, &self.case).map_err(|e| e.help(saved))?;
        let report = gather(&assessment, &self.case, warnings, self.top).map_err(refused)?;
        self.prompter.say(Text::new().blank())?;
        self.prompter.show(&result(&report, &self.case))?;
        self.prompter.say(Text::new().blank())?;
        let words = match self.ticket.up_to_date() {
            true => {
                format!("Saved in {}. Go on at any time with: {}", self.ticket.shown(), self.ticket.resume())
            }
            false => format!("The last answers are not saved in {}.", self.ticket.shown()),
        };
        Ok(self.prompter.say(&note(words))?)
    }

    /// Takes an answer and saves it; what it settles besides is noted too.
    fn take(&mut self, id: &str, answer: Answer) -> Result<(), Failure> {
        self.case.answer(id, answer);
        self.settle()?;
        self.save()?;
        self.warn_about(id)
    }

    /// A question that is asked only after certain answers, and those were not given, has its mildest state.
    fn settle(&mut self) -> Result<(), Failure> {
        let (moment, _) = moment::of(self.planner, &self.case);
        for factor in &self.knowledge().factors {
            let Some(when) = &factor.ask.ask_when else { continue };
            let known = &moment.known;
            let decided = known.answered(&when.answer) && !known.holds(when);
            if decided && !known.asked(&factor.id) {
                self.case.answer(&factor.id, Answer::State(0));
                let label = factor.states.first().map_or("", |s| s.label.as_str());
                self.prompter.say(&note(format!("Noted with it: {}: {label}.", factor.name)))?;
            }
        }
        Ok(())
    }

    /// Says at once when a reading could not be used.
    fn warn_about(&mut self, id: &str) -> Result<(), Failure> {
        let (_, warnings) = moment::of(self.planner, &self.case);
        for Warning { text, .. } in warnings.iter().filter(|w| w.id == id) {
            self.prompter.say(&Text::from(Styled::new().warn(text)))?;
        }
        Ok(())
    }

    fn save(&mut self) -> Result<(), Failure> {
        self.ticket.save(&self.case, self.prompter)
    }
}

/// How many questions the answers of a case took: those of one look that stand together were given at one go.
fn questions_behind(case: &Case, knowledge: &Knowledge) -> usize {
    let looks: Vec<Option<&str>> =
        case.answers.iter().map(|(id, _)| knowledge.look_of(id).map(|look| look.id.as_str())).collect();
    let together = looks.windows(2).filter(|pair| pair[0].is_some() && pair[0] == pair[1]).count();
    looks.len() - together
}

fn rows(assessment: &Assessment) -> Vec<FaultRow> {
    let planner = assessment.planner;
    (assessment.ranked().into_iter())
        .map(|f| {
            let id = planner.net.faults[f].id.clone();
            FaultRow {
                name: planner.knowledge.fault(&id).map(|x| x.name.clone()).unwrap_or_default(),
                id,
                probability: assessment.faults()[f],
                prior: planner.prior[f],
            }
        })
        .collect()
}
