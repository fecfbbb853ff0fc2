//! After a lesson: the own path beside the expert's, and what the evidence was worth.

use super::expert;
use super::scopes::{self, Verdict, everything, verdicts};
use super::score::{self, Facts, Mark, Stated};
use super::session::{Act, Outcome, Session};
use crate::case::Answer;
use crate::inference::{InferenceError, Posterior, Question};
use crate::knowledge::{Course, Misleading, Trap};
use crate::plan::stages;

/// All that is to be said about a lesson that is over.
#[derive(Debug, Clone)]
pub struct Debrief<'k> {
    /// Ids of what was wrong; none for a healthy motor.
    pub truth: Vec<String>,
    /// What was named: id, chance, and whether it was there.
    pub named: Vec<(String, f64, bool)>,
    /// The own path.
    pub own: Path<'k>,
    /// The expert's path.
    pub expert: Path<'k>,
    /// The chance of each fault that was there or was named, as the own evidence gives it.
    pub supported: Vec<(String, f64)>,
    /// The chance that nothing is wrong, as the own evidence gives it.
    pub healthy: f64,
    /// What would have settled it.
    pub settles: Option<Settles>,
    /// The work that was chosen, as it turns out.
    pub chosen: Option<Verdict<'k>>,
    /// The best work.
    pub best: Option<Verdict<'k>>,
    /// Cautions that had to be named and were not (ids).
    pub cautions_missed: Vec<String>,
    /// Ids of all cautions of the best work, opening and closing included.
    pub cautions_of_work: Vec<String>,
    /// Traps that were stepped into.
    pub traps: Vec<&'k Trap>,
    /// What the owner had wrong, of what was asked.
    pub misled: Vec<Misleading>,
    /// What the words of the lesson speak of, and what was not looked at (ids).
    pub unseen: Vec<String>,
    /// What was done after all was known.
    pub idle: Option<Idle>,
    /// How often help was taken.
    pub helps: usize,
    /// The rules by which it is marked.
    pub course: Course,
    /// The mark.
    pub mark: Mark,
}

/// Stages that were opened when the matter was settled.
#[derive(Debug, Clone, PartialEq)]
pub struct Idle {
    /// The act that settled it.
    pub after: Act,
    /// The chance of what was true after that act.
    pub support: f64,
    /// Stages that were opened since and that the best work does not need.
    pub stages: usize,
    /// Looks at these stages.
    pub looks: usize,
    /// Minutes of these stages and looks, and of closing up again.
    pub minutes: f64,
    /// What these minutes come to, in the shop's money.
    pub money: f64,
}

/// A way through a task.
#[derive(Debug, Clone, PartialEq)]
pub struct Path<'k> {
    /// Its acts.
    pub rows: Vec<Row<'k>>,
    /// Minutes of asking, looking and opening.
    pub minutes: f64,
    /// Those minutes, closing up again, and the work with all that follows from it, in the shop's money.
    pub money: f64,
    /// How often a risk was taken.
    pub risks: usize,
    /// What was not as it should be, and can't be seen any more (ids).
    pub destroyed: Vec<String>,
    /// Id of the scope of work.
    pub scope: Option<String>,
}

/// An act, and what it did to what could be known.
#[derive(Debug, Clone, PartialEq)]
pub struct Row<'k> {
    /// The act.
    pub act: Act,
    /// What became of it.
    pub outcome: Outcome<'k>,
    /// Minutes.
    pub minutes: f64,
    /// Questions (ids) that should have been put before it.
    pub unasked: Vec<&'k str>,
    /// After it, the chance of what was true: of the least likely of the faults that were there, or that there is none.
    pub support: f64,
    /// The weight of evidence that it brought for that, in decibans (Good 1950): ten times the logarithm of how
    /// the odds changed.
    pub decibans: f64,
}

/// A question that would have settled the matter.
#[derive(Debug, Clone, PartialEq)]
pub struct Settles {
    /// Id of the question.
    pub id: String,
    /// Index of the state that it would have shown.
    pub state: usize,
    /// The chance of what was true, after that.
    pub support: f64,
    /// Whether it was gone at the end.
    pub gone: bool,
}

/// Looks back on a session that is over.
///
/// # Errors
/// As [`crate::plan::assess::Planner::assess`].
pub fn debrief<'k>(session: &Session<'_, 'k>, course: &Course) -> Result<Debrief<'k>, InferenceError> {
    let (planner, task) = (session.planner, &session.task);
    let net = &planner.net;
    let master = expert::walk(planner, task.clone())?;
    let truth: Vec<String> = task.truth(net).into_iter().map(str::to_owned).collect();
    let named: Vec<(String, f64, bool)> = (session.named().unwrap_or_default().iter())
        .map(|n| (n.fault.clone(), n.chance, truth.contains(&n.fault)))
        .collect();
    let assessment = planner.assess(session.moment())?;
    let posterior = assessment.engine.posterior();
    let mut shown = truth.clone();
    shown.extend(named.iter().map(|n| n.0.clone()).filter(|id| !truth.contains(id)));
    let chance = |id: &String| net.faults.iter().position(|f| f.id == *id).map(|f| posterior.faults[f]);
    let supported = shown.iter().filter_map(|id| Some((id.clone(), chance(id)?))).collect();
    let settles = settles(session, &assessment.engine, &posterior.faults);
    let list = verdicts(planner, task, session.stage());
    let chosen = session.scope().and_then(|id| list.iter().find(|v| v.scope == id)).cloned();
    let best = list.first().cloned();
    let cautions_of_work =
        best.as_ref().map_or(Vec::new(), |best| scopes::cautions_of(planner, task, best.scope));
    let wanted = &task.cautions;
    let said = session.cautions().unwrap_or_default();
    let cautions_missed: Vec<String> = wanted.iter().filter(|c| !said.contains(c)).cloned().collect();
    let given = || session.done().iter().flat_map(|d| d.outcome.answers());
    let asked = |id: &str| given().any(|(x, _)| *x == id);
    let told = |id: &str| task.told.iter().any(|(t, _)| t == id);
    let misled = task.misleading.iter().filter(|m| asked(&m.answer) || told(&m.answer)).cloned().collect();
    let support_of = |p: &Posterior| support(session, &p.faults, p.healthy);
    let of_expert = support_of(planner.assess(master.moment())?.engine.posterior());
    let facts = Facts {
        stated: stated(&truth, &named),
        scope: match (&chosen, &best) {
            (Some(chosen), Some(best)) if chosen.blocked.is_none() => Some((chosen.cost, best.cost)),
            _ => None,
        },
        cautions: (wanted.len(), wanted.len() - cautions_missed.len()),
        risks: session.risks(),
        minutes: (session.minutes(), master.minutes()),
        helps: session.helps(),
        traps: session.traps().len(),
        support: (support_of(posterior), of_expert),
    };
    let own = path(session)?;
    Ok(Debrief {
        named,
        unseen: unseen(session),
        idle: idle(session, &own, best.as_ref()),
        own,
        expert: path(&master)?,
        supported,
        healthy: posterior.healthy,
        settles,
        chosen,
        best,
        cautions_missed,
        cautions_of_work,
        traps: session.traps().into_iter().filter_map(|place| task.traps.get(place)).collect(),
        misled,
        helps: facts.helps,
        mark: score::mark(course, &facts),
        course: course.clone(),
        truth,
    })
}

/// What the words of the lesson speak of by its name, and what is not on the ticket.
fn unseen(session: &Session) -> Vec<String> {
    let knowledge = session.planner.knowledge;
    let Some(why) = session.task.why else { return Vec::new() };
    let words = std::iter::once(&why.signs).chain(session.task.teaches).map(|w| w.to_lowercase());
    let words = words.collect::<Vec<String>>().join("\n");
    let observations = knowledge.observations.iter().filter(|o| !session.knows(&o.id));
    let readings = knowledge.readings.iter().filter(|r| {
        let banded = r.bands.iter().any(|b| session.knows(&b.observation));
        !banded && !session.case().answers.contains_key(&r.id)
    });
    let all = observations.map(|o| (&o.id, &o.name)).chain(readings.map(|r| (&r.id, &r.name)));
    all.filter(|(_, name)| words.contains(&name.to_lowercase())).map(|(id, _)| id.clone()).collect()
}

/// What was done once the matter was settled and stayed so. What the work needs anyway is not done for nothing, nor is
/// what keeps hand and motor whole.
fn idle(session: &Session, own: &Path, best: Option<&Verdict>) -> Option<Idle> {
    let knowledge = session.planner.knowledge;
    let settled = own.rows.iter().rposition(|row| row.support < expert::SURE).map_or(0, |last| last + 1);
    let after = own.rows.get(settled)?;
    let needed = best.map_or(0, |b| b.depth);
    let first: &[String] = best.and_then(|b| knowledge.scope(b.scope)).map_or(&[], |s| &s.settle_first);
    let mut at = 0;
    let (mut stages_opened, mut looks, mut minutes) = (0, 0, 0.0);
    // What is looked at again to be sure, before anything is opened for it, is no waste.
    for (place, row) in own.rows.iter().enumerate() {
        match (&row.act, &row.outcome) {
            (Act::Enter(id), Outcome::Entered(_)) => {
                let to = knowledge.stage_index(id).unwrap_or(at);
                let way = stages::way(knowledge, at, to).through;
                let idle = way.into_iter().filter(|s| knowledge.stage_index(&s.id).unwrap_or(0) > needed);
                for stage in idle.filter(|_| place > settled) {
                    stages_opened += 1;
                    minutes += stage.minutes + stage.minutes_back;
                }
                at = to;
            }
            (Act::Look(id), Outcome::Answered(_)) if stages_opened > 0 => {
                let called_for = session.is_gate(id)
                    || first.iter().any(|question| question == id || session.answers_for(id, question));
                if !called_for {
                    looks += 1;
                    minutes += row.minutes;
                }
            }
            _ => {}
        }
    }
    let (after, support) = (after.act.clone(), after.support);
    let money = minutes * knowledge.shop.labour_per_minute;
    let idle = Idle { after, support, stages: stages_opened, looks, minutes, money };
    (stages_opened > 0).then_some(idle)
}

/// Stated chances with what came true: those that were named, and what was there and was not named.
fn stated(truth: &[String], named: &[(String, f64, bool)]) -> Vec<Stated> {
    let silent = truth.iter().filter(|t| !named.iter().any(|n| n.0 == **t)).map(|_| (0.0, true));
    named.iter().map(|n| (n.1, n.2)).chain(silent).collect()
}

/// The chance of what is true: of the least likely fault, or that there is none.
fn support(session: &Session, faults: &[f64], healthy: f64) -> f64 {
    let present: Vec<usize> = session.task.specimen.present().collect();
    if present.is_empty() { healthy } else { present.iter().map(|f| faults[*f]).fold(1.0, f64::min) }
}

fn path<'k>(session: &Session<'_, 'k>) -> Result<Path<'k>, InferenceError> {
    let (planner, task) = (session.planner, &session.task);
    let knowledge = planner.knowledge;
    let of = |p: &Posterior| support(session, &p.faults, p.healthy);
    let mut again = Session::new(planner, task.clone());
    let mut before = of(planner.assess(again.moment())?.engine.posterior());
    let mut rows = Vec::new();
    for done in session.done() {
        let told = matches!(done.outcome, Outcome::Answered(_)) && again.act(done.act.clone()).is_ok();
        if !told {
            let _ = again.act(done.act.clone());
        }
        let now = if told { of(planner.assess(again.moment())?.engine.posterior()) } else { before };
        rows.push(Row {
            act: done.act.clone(),
            outcome: done.outcome.clone(),
            minutes: done.minutes,
            unasked: done.unasked.clone(),
            support: now,
            decibans: decibans(before, now),
        });
        before = now;
    }
    let entered = (1..=session.stage()).filter(|i| {
        let stage = &knowledge.stages[*i];
        let own = session.done().iter().any(|d| matches!(&d.act, Act::Enter(id) if *id == stage.id));
        own || !stage.skippable
    });
    let back: f64 = entered.map(|i| knowledge.stages[i].minutes_back).sum();
    let scope = session.scope().map(str::to_owned);
    let work =
        verdicts(planner, task, session.stage()).into_iter().find(|v| Some(v.scope) == scope.as_deref());
    let minutes = session.minutes();
    let money = (minutes + back) * knowledge.shop.labour_per_minute + work.map_or(0.0, |v| v.cost);
    Ok(Path { rows, minutes, money, risks: session.risks(), destroyed: destroyed(session), scope })
}

/// Ten times the logarithm to base 10 of how the odds changed.
fn decibans(before: f64, after: f64) -> f64 {
    let odds = |p: f64| p.clamp(1e-9, 1.0 - 1e-9) / (1.0 - p.clamp(1e-9, 1.0 - 1e-9));
    10.0 * (odds(after) / odds(before)).log10()
}

/// What was lost unseen and was not as it should be. What lay behind a door that the state of the motor forbids was
/// nobody's to see.
fn destroyed(session: &Session) -> Vec<String> {
    let knowledge = session.planner.knowledge;
    let truth = everything(session.planner, &session.task);
    let allowed = |id: &&String| {
        let stage = knowledge.ask(id).and_then(|ask| knowledge.stages.iter().find(|s| s.id == ask.stage));
        stage.is_none_or(|stage| !stage.not_when.iter().any(|gate| truth.holds(&gate.when)))
    };
    let mut out: Vec<String> = Vec::new();
    for done in session.done() {
        let Outcome::Entered(lost) = &done.outcome else { continue };
        let abnormal = |id: &&String| {
            let answer = session.task.specimen.answer(knowledge, &session.planner.net, None, id);
            match answer {
                Some(Answer::State(state)) => state > 0,
                Some(Answer::Reading { .. }) => knowledge.reading(id).is_some_and(|r| {
                    let state = |o: &str| session.task.specimen.state(&session.planner.net, o);
                    r.bands.iter().any(|b| state(&b.observation).is_some_and(|s| s > 0))
                }),
                _ => false,
            }
        };
        out.extend(lost.iter().filter(allowed).filter(abnormal).cloned());
    }
    out.dedup();
    out
}

/// The question whose answer would have raised the chance of what was true the most.
fn settles(session: &Session, engine: &crate::inference::Engine, now: &[f64]) -> Option<Settles> {
    let (knowledge, net) = (session.planner.knowledge, &session.planner.net);
    let healthy = |faults: &[f64]| faults.iter().map(|p| 1.0 - p).product::<f64>();
    let open: Vec<usize> = (0..net.observations.len())
        .filter(|o| !session.knows(&net.observations[*o].id))
        // What the owner says wrongly settles nothing.
        .filter(|o| !session.task.misleading.iter().any(|m| m.answer == net.observations[*o].id))
        .collect();
    let questions: Vec<Question> = open.iter().map(|o| Question::Observation(*o)).collect();
    let mut best: Option<Settles> = None;
    for (o, prediction) in open.iter().zip(engine.predict_all(&questions)) {
        let id = &net.observations[*o].id;
        let Some(ask) = knowledge.ask(id) else { continue };
        let state = session.task.specimen.observations[*o];
        let Some(then) = prediction.given.get(state) else { continue };
        let support = support(session, then, healthy(then));
        if best.as_ref().is_none_or(|b| support > b.support) {
            let gone = session.stage() > stages::last(knowledge, ask);
            best = Some(Settles { id: id.clone(), state, support, gone });
        }
    }
    let was = support(session, now, healthy(now));
    best.filter(|b| b.support > was + 0.01)
}
