//! Everything that a result says, gathered from the case and the planner.

use std::borrow::Cow;

use super::speaks::{Speaks, evidence, given_by};
use crate::case::evidence::bands;
use crate::case::{Answer, Case, Warning};
use crate::inference::InferenceError;
use crate::knowledge::{Knowledge, Motor, Repair, Stage};
use crate::plan::assess::{Assessment, Step, Stop};
use crate::plan::explain::{Agreement, Change};
use crate::plan::questions::Valued;
use crate::plan::scopes::ScopeRow;
use crate::plan::work::{Job, jobs};

/// A consultation's result.
#[derive(Debug, Clone)]
pub struct Report<'k> {
    /// The knowledge base that it rests on.
    pub knowledge: &'k Knowledge,
    /// The motor, where it is known.
    pub motor: Option<Cow<'k, Motor>>,
    /// The answers, in the order in which they were given.
    pub answers: Vec<AnswerRow>,
    /// Every fault, most probable first.
    pub faults: Vec<FaultRow>,
    /// Probability that no fault at all is present.
    pub healthy: f64,
    /// log10 of the probability of all answers together.
    pub log10_evidence: f64,
    /// How well the answers go together.
    pub agreement: Agreement,
    /// What the answers say of the leading faults (ids), one list for each.
    pub evidence: Vec<(String, Vec<Speaks>)>,
    /// What to do next.
    pub outlook: Outlook,
    /// Every scope of work, best first.
    pub scopes: Vec<ScopeRow>,
    /// The repairs of the best scope, in the order of the work.
    pub repairs: Vec<&'k Repair>,
    /// The same with what opens the motor for them and closes it again.
    pub work: Vec<Job<'k>>,
    /// Minutes to put together again what stands open already. No decision hangs on them, so the scopes hold only what
    /// is still ahead; the owner pays for both.
    pub closing: f64,
    /// Cautions, in the order in which they come up.
    pub cautions: Vec<CautionRow>,
    /// What the person should know about the answers.
    pub warnings: Vec<Warning>,
    /// Answers that would change the decision, the most probable first.
    pub changes: Vec<Change<'k>>,
}

/// An answer of the case.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerRow {
    /// Id of the question.
    pub id: String,
    /// State or reading, as written in the case.
    pub value: String,
    /// Whether `value` is a reading.
    pub reading: bool,
    /// Whether it says anything: not if nobody knew.
    pub informs: bool,
    /// For a reading, the weight of each state of the observations that it bands.
    pub bands: Vec<(String, f64)>,
}

/// A fault with its probability.
#[derive(Debug, Clone, PartialEq)]
pub struct FaultRow {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Probability after the answers.
    pub probability: f64,
    /// Probability before them.
    pub prior: f64,
}

/// A question worth asking.
#[derive(Debug, Clone, PartialEq)]
pub struct NextRow {
    /// Its id.
    pub id: String,
    /// The question.
    pub question: String,
    /// The look that answers it together with others.
    pub look: Option<LookRow>,
    /// Id of the first stage at which it can be answered.
    pub stage: String,
    /// Minutes it takes at its stage.
    pub minutes: f64,
    /// What it is expected to save, less what it takes, in the shop's money.
    pub worth: f64,
}

/// A look that is worth taking.
#[derive(Debug, Clone, PartialEq)]
pub struct LookRow {
    /// Its id.
    pub id: String,
    /// Its question.
    pub question: String,
    /// Ids of the other open questions that it answers.
    pub with: Vec<String>,
}

impl NextRow {
    /// The question in words: of a look, the look's own.
    pub fn wording(&self) -> &str {
        self.look.as_ref().map_or(&self.question, |look| &look.question)
    }

    /// Ids of all questions that are answered.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        let with = self.look.iter().flat_map(|look| &look.with).map(String::as_str);
        std::iter::once(self.id.as_str()).chain(with)
    }
}

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub enum Outlook {
    /// Ask these, the best first.
    Ask(Vec<NextRow>),
    /// Go on to this stage (id), then ask these.
    Open(String, Vec<NextRow>),
    /// Nothing is worth its minutes: the best question left, if any is.
    Stop(Option<NextRow>),
}

/// A caution and what it comes before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CautionRow {
    /// Id of the caution.
    pub id: String,
    /// Id of the question, the repair, or the stage that is entered or undone.
    pub before: String,
    /// The caution.
    pub text: String,
}

/// Changes worth telling: less probable ones would only confuse.
const WORTH_TELLING: f64 = 0.03;

/// Gathers a result; `top` is how many leading faults get their evidence listed.
///
/// # Errors
/// As [`crate::inference::Engine::compile`].
pub fn gather<'k>(
    assessment: &Assessment<'_, 'k>,
    case: &Case,
    mut warnings: Vec<Warning>,
    top: usize,
) -> Result<Report<'k>, InferenceError> {
    let knowledge = assessment.planner.knowledge;
    let net = &assessment.planner.net;
    let ranked = assessment.ranked();
    let leading: Vec<usize> = ranked.iter().copied().take(top).collect();
    let posterior = assessment.engine.posterior();
    let faults: Vec<FaultRow> = (ranked.iter())
        .map(|&f| FaultRow {
            id: net.faults[f].id.clone(),
            name: knowledge.fault(&net.faults[f].id).map(|x| x.name.clone()).unwrap_or_default(),
            probability: posterior.faults[f],
            prior: assessment.planner.prior[f],
        })
        .collect();
    let (weights, agreement) = assessment.weights_and_agreement(&leading)?;
    let evidence = evidence(assessment, case, &leading, weights)?;
    let scopes = assessment.scope_rows();
    let best = scopes.iter().find(|s| s.blocked.is_none()).map(|s| s.id.clone()).unwrap_or_default();
    let repairs = assessment.repairs(&best);
    let ranking = assessment.ranking();
    let work = jobs(knowledge, &repairs, assessment.moment.stage);
    let stands = knowledge.stages.iter().take(assessment.moment.stage + 1);
    let closed = |s: &&Stage| work.iter().any(|job| matches!(job, Job::Close(stage) if stage.id == s.id));
    let closing = stands.filter(closed).map(|s| s.minutes_back).sum();
    let changes = assessment.changes(&ranking, &best);
    let outlook = outlook(knowledge, assessment.decide(ranking));
    if let Some(id) = agreement.recheck.as_deref().map(|seen| given_by(assessment, case, seen)) {
        let text = format!("The answers do not fit together well. Check `{id}` again first.");
        warnings.push(Warning { id: id.to_string(), text });
    }
    Ok(Report {
        knowledge,
        motor: assessment.moment.motor.clone(),
        answers: answers(assessment, case),
        faults,
        healthy: posterior.healthy,
        log10_evidence: posterior.log10_evidence,
        agreement,
        evidence,
        cautions: cautions(knowledge, &work, &outlook),
        outlook,
        scopes,
        repairs,
        work,
        closing,
        warnings,
        changes: changes.into_iter().filter(|c| c.probability >= WORTH_TELLING).collect(),
    })
}

/// The faults worth showing: those of some weight, at least `least` of them, at most `most`.
pub fn leading(faults: &[FaultRow], least: usize, most: usize) -> &[FaultRow] {
    let weighty = faults.iter().take_while(|f| f.probability >= 0.1).count();
    &faults[..weighty.max(least).min(most).min(faults.len())]
}

fn answers(assessment: &Assessment, case: &Case) -> Vec<AnswerRow> {
    let knowledge = assessment.planner.knowledge;
    (case.answers.iter())
        .map(|(id, answer)| AnswerRow {
            id: id.clone(),
            value: answer.text(knowledge, id),
            reading: matches!(answer, Answer::Reading { .. }),
            informs: *answer != Answer::Unknown,
            bands: weights(assessment, id, answer),
        })
        .collect()
}

/// The weight of each state that a reading speaks of. One reading may band two observations, whose states
/// then stand side by side, each with its observation's id before it.
fn weights(assessment: &Assessment, id: &str, answer: &Answer) -> Vec<(String, f64)> {
    let knowledge = assessment.planner.knowledge;
    let (Answer::Reading { value, deviation, .. }, Some(reading)) = (answer, knowledge.reading(id)) else {
        return Vec::new();
    };
    let Ok(all) = bands(knowledge, assessment.moment.motor.as_deref(), reading, *value, *deviation) else {
        return Vec::new();
    };
    let alone = all.len() == 1;
    let mut out = Vec::new();
    for band in &all {
        let states = knowledge.states(&band.observation).unwrap_or_default();
        for ((state, _), weight) in states.iter().zip(&band.weights) {
            let key = if alone { state.to_string() } else { format!("{}:{state}", band.observation) };
            out.push((key, *weight));
        }
    }
    out
}

fn outlook(knowledge: &Knowledge, step: Step) -> Outlook {
    // What has to be known before a decision is asked even where it is worth little.
    let rows = |list: &[Valued]| -> Vec<NextRow> {
        let worthy = list.iter().filter(|v| v.worth >= knowledge.shop.worth_asking);
        let rows: Vec<NextRow> = worthy.map(row).collect();
        if rows.is_empty() { list.first().map(row).into_iter().collect() } else { rows }
    };
    match step {
        Step::Ask(list) => Outlook::Ask(rows(&list)),
        Step::Open(opening) => {
            Outlook::Open(knowledge.stages[opening.stage].id.clone(), rows(&opening.questions))
        }
        Step::Stop(Stop::NothingLeft) => Outlook::Stop(None),
        Step::Stop(Stop::NotWorthIt(best)) => Outlook::Stop(Some(row(&best))),
    }
}

fn row(valued: &Valued) -> NextRow {
    let others = valued.together.iter().map(|c| c.id).filter(|id| *id != valued.candidate.id);
    let look = valued.look.map(|look| LookRow {
        id: look.id.clone(),
        question: look.question.clone(),
        with: others.map(str::to_string).collect(),
    });
    NextRow {
        look,
        id: valued.candidate.id.to_string(),
        question: valued.candidate.ask.question.clone(),
        stage: valued.candidate.ask.stage.clone(),
        minutes: valued.own_minutes(),
        worth: valued.worth,
    }
}

fn cautions(knowledge: &Knowledge, work: &[Job], outlook: &Outlook) -> Vec<CautionRow> {
    let mut rows: Vec<CautionRow> = Vec::new();
    let mut add = |id: &String, before: &str| {
        let Some(caution) = knowledge.caution(id) else { return };
        let row = CautionRow { id: caution.id.clone(), before: before.into(), text: caution.text.clone() };
        if !rows.contains(&row) {
            rows.push(row);
        }
    };
    if let Outlook::Ask(list) | Outlook::Open(_, list) = outlook {
        for id in list.iter().flat_map(NextRow::ids) {
            knowledge.ask(id).iter().flat_map(|ask| &ask.cautions).for_each(|caution| add(caution, id));
        }
    }
    for job in work {
        job.cautions().for_each(|caution| add(caution, job.id()));
    }
    rows
}
