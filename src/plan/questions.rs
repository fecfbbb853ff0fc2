//! The value of the next question, in the shop's money.
//!
//! A question is worth what it is expected to save on the whole job: the cost of the best scope of work
//! now, less the expected cost of the best scope after the answer (Heckerman, Breese & Rommelse 1995). Where
//! no answer would change the scope, information about the faults that can have brought about the complaint
//! still counts, at a price per bit, because a later question may build on it; at a higher price as long as
//! nothing explains the complaint. Answers are imagined exactly; the scopes are compared by the fault
//! marginals, and the candidates at the head of the list again by exact joint probabilities.
//!
//! Going on to another stage is worth what its best questions are worth, less the way, and less what is
//! given up by it: questions that can't be put any more once a stage has been entered.

use super::bets::{Bet, expected_costs};
use super::foresight::Foresight;
use super::looks::{Group, groups, own_minutes};
use super::scopes::{ScopeModel, price};
use super::{Known, stages};
use crate::inference::{Engine, Prediction, Question};
use crate::knowledge::{Ask, Knowledge, Look, Motor};

/// How many of the best candidates are weighed again by exact joint probabilities.
const EXACT_AT_THE_HEAD: usize = 3;

/// How many questions that a stage opens count towards going there.
const COUNTED_AT_A_STAGE: usize = 3;

/// A question that could be put.
#[derive(Debug, Clone, Copy)]
pub struct Candidate<'k> {
    /// Id of the factor or observation.
    pub id: &'k str,
    /// Where it stands in the network.
    pub question: Question,
    /// How it is asked.
    pub ask: &'k Ask,
    /// The look that it belongs to.
    pub look: Option<&'k Look>,
}

/// What one answer to a question would do.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Probability of the answer.
    pub probability: f64,
    /// Probability of each fault after it.
    pub faults: Vec<f64>,
    /// The best scope after it (index), where any is open.
    pub scope: Option<usize>,
}

/// A question with its worth; one of a look stands for all of it.
#[derive(Debug, Clone)]
pub struct Valued<'k> {
    /// The question; of a look, the one that is worth most.
    pub candidate: Candidate<'k>,
    /// The look that answers it together with others.
    pub look: Option<&'k Look>,
    /// All open questions of the look, in the order in which answers are imagined; else the question alone.
    pub together: Vec<Candidate<'k>>,
    /// What its answer is expected to save on the job, before the minutes it takes.
    pub saving: f64,
    /// What it is expected to tell about the faults that the work is for, in bits.
    pub bits: f64,
    /// Minutes: its own, and what every question takes besides.
    pub minutes: f64,
    /// Saving and information together, less the minutes, in the shop's money.
    pub worth: f64,
    /// For each answer, what it would do: of a question each of its states, of a look as in
    /// [`Engine::predict_together`].
    pub outcomes: Vec<Outcome>,
}

/// All that a ranking needs to know.
pub(super) struct Situation<'a, 'k> {
    /// The knowledge base.
    pub knowledge: &'k Knowledge,
    /// Posteriors for what is known.
    pub engine: &'a Engine,
    /// The scopes of work.
    pub scopes: &'a [ScopeModel<'k>],
    /// For each scope, whether what is known blocks it whatever the faults are.
    pub shut: &'a [bool],
    /// For each fault, whether the work is for it ([`super::scopes::wanted_cured`]).
    pub wanted: &'a [bool],
    /// What is known.
    pub known: &'a Known,
    /// The motor, if it is known.
    pub motor: Option<&'a Motor>,
    /// The stage that has been reached (index).
    pub stage: usize,
}

/// A ranking: what can be asked now, and what going on to another stage would offer.
#[derive(Debug, Clone, Default)]
pub struct Ranking<'k> {
    /// Questions that the present stage allows, the most worth per minute first.
    pub here: Vec<Valued<'k>>,
    /// Later stages that may be entered, the most worth per minute first; some are worth less than nothing.
    pub openings: Vec<Opening<'k>>,
}

/// A later stage with the questions that it would offer.
#[derive(Debug, Clone)]
pub struct Opening<'k> {
    /// The stage to enter now (index): the first one on the way to `goal`.
    pub stage: usize,
    /// The stage whose questions make the way worth while (index).
    pub goal: usize,
    /// Minutes of the way to the goal.
    pub minutes: f64,
    /// What its best questions are expected to bring, less the way and their minutes.
    pub worth: f64,
    /// Worth before minutes, over minutes.
    pub rate: f64,
    /// The questions, the most worth per minute first.
    pub questions: Vec<Valued<'k>>,
}

impl<'k> Valued<'k> {
    /// Minutes at its stage, without what every question takes besides.
    pub fn own_minutes(&self) -> f64 {
        own_minutes(self.look, &self.together)
    }

    /// The question in words: of a look, the look's own.
    pub fn wording(&self) -> &'k str {
        self.look.map_or(&self.candidate.ask.question, |look| &look.question)
    }

    /// Whether it answers this question, alone or in its look.
    pub fn answers(&self, id: &str) -> bool {
        self.together.iter().any(|c| c.id == id)
    }

    /// Worth before minutes, over minutes: the order in which questions are put.
    pub fn rate(&self, labour: f64) -> f64 {
        (self.worth + self.minutes * labour) / self.minutes.max(1e-3)
    }
}

impl<'a, 'k> Situation<'a, 'k> {
    /// The cheapest open scope by fault marginals: its index and expected cost.
    pub fn best_scope(&self, stage: usize, faults: &[f64]) -> Option<(usize, f64)> {
        let success: Vec<f64> = self.scopes.iter().map(|s| s.success_by_marginals(faults)).collect();
        self.best_scope_with(stage, faults, &success)
    }

    fn best_scope_with(&self, stage: usize, faults: &[f64], success: &[f64]) -> Option<(usize, f64)> {
        let costs = self.costs(stage, faults, success).into_iter().enumerate();
        costs.filter(|(_, c)| c.is_finite()).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// What starting with each scope is expected to cost, from a stage on; infinite for a blocked one.
    fn costs(&self, stage: usize, faults: &[f64], success: &[f64]) -> Vec<f64> {
        let mut costs = vec![f64::INFINITY; self.scopes.len()];
        let open = self.open(faults);
        let bets: Vec<Bet> = open.iter().map(|i| self.bet(*i, stage, faults, success[*i])).collect();
        for (i, cost) in open.iter().zip(expected_costs(&bets, self.knowledge.shop.come_back)) {
            costs[*i] = cost;
        }
        costs
    }

    /// The same for the present stage, with a blocked scope put at what it would cost if it were open.
    pub fn costs_if_open(&self, faults: &[f64], success: &[f64]) -> Vec<f64> {
        let mut costs = self.costs(self.stage, faults, success);
        let open = self.open(faults);
        for i in (0..costs.len()).filter(|i| !open.contains(i)) {
            let all = open.iter().chain([&i]);
            let bets: Vec<Bet> = all.map(|j| self.bet(*j, self.stage, faults, success[*j])).collect();
            costs[i] = expected_costs(&bets, self.knowledge.shop.come_back).pop().unwrap_or(f64::INFINITY);
        }
        costs
    }

    fn open(&self, faults: &[f64]) -> Vec<usize> {
        let blocked = |i: &usize| self.shut[*i] || self.scopes[*i].blocked_by_faults(faults);
        (0..self.scopes.len()).filter(|i| !blocked(i)).collect()
    }

    fn bet(&self, scope: usize, stage: usize, faults: &[f64], success: f64) -> Bet {
        let model = &self.scopes[scope];
        let price = price(self.knowledge, model.work(self.knowledge, stage, faults));
        Bet { price, success, noticed: model.scope.uncured_seen }
    }

    /// Ranks all candidates: those of the present stage, and by stage those of later ones.
    pub fn rank(&self, candidates: &[Candidate<'k>]) -> Ranking<'k> {
        let last = self.knowledge.stages.len();
        let stages: Vec<(usize, Vec<Group<'k>>)> =
            (self.stage..last).map(|stage| (stage, groups(self.offered(candidates, stage)))).collect();
        let foresight = Foresight::of(self.engine);
        let asked: Vec<Vec<Question>> = stages.iter().flat_map(|s| &s.1).map(Group::questions).collect();
        let asked: Vec<&[Question]> = asked.iter().map(Vec::as_slice).collect();
        let mut predictions = foresight.predict(self.engine, &asked).into_iter();
        let mut ranking = Ranking::default();
        for (stage, groups) in stages {
            let now = self.best_scope(stage, &self.engine.posterior().faults).map_or(0.0, |b| b.1);
            let mut list: Vec<Valued<'k>> = (groups.into_iter().zip(predictions.by_ref()))
                .map(|(group, foreseen)| self.value(group, stage, now, foreseen))
                .collect();
            self.sort(&mut list);
            if stage == self.stage {
                self.sharpen(&mut list, stage, &foresight);
                ranking.here = list;
            } else {
                let opening = self.opening(stage, list, &ranking);
                ranking.openings.extend(opening);
            }
        }
        ranking.openings.sort_by(|a, b| b.rate.total_cmp(&a.rate).then(a.goal.cmp(&b.goal)));
        ranking
    }

    /// The open questions of a stage: for the present one all that it allows, for a later one only what
    /// comes up there for the first time; nothing where the way is forbidden.
    fn offered(&self, candidates: &[Candidate<'k>], stage: usize) -> Vec<Candidate<'k>> {
        let way = stages::way(self.knowledge, self.stage, stage);
        if stages::forbidden(&way, self.motor, self.known).is_some() {
            return Vec::new();
        }
        let new =
            |c: &&Candidate| stage == self.stage || self.knowledge.stage_index(&c.ask.stage) == Some(stage);
        let open = candidates.iter().filter(|c| !self.known.asked(c.id)).filter(new);
        open.filter(|c| stages::can_ask(self.knowledge, c.ask, stage, self.known)).copied().collect()
    }

    /// What going on to a stage offers, with the ranking of everything before it.
    fn opening(&self, goal: usize, questions: Vec<Valued<'k>>, before: &Ranking) -> Option<Opening<'k>> {
        let shop = &self.knowledge.shop;
        let labour = shop.labour_per_minute;
        let (brought, asked) = self.bring(questions.iter())?;
        // The way costs only what the best scope would not have to go anyway.
        let way = stages::way(self.knowledge, self.stage, goal);
        let faults = &self.engine.posterior().faults;
        let (now, there) = (self.best_scope(self.stage, faults)?.1, self.best_scope(goal, faults)?.1);
        let there_and_back = (way.minutes + way.minutes_back) * labour;
        let extra = (there_and_back - (now - there)).max(0.0);
        let stage = self.knowledge.stage_index(&way.through.first()?.id)?;
        let gross = brought - self.given_up(stage, before);
        let worth = gross - extra - asked * labour;
        let rate = gross / (asked + extra / labour.max(1e-9)).max(1e-3);
        Some(Opening { stage, goal, minutes: way.minutes, worth, rate, questions })
    }

    /// What the best of some questions, sorted, bring together before their minutes, and those minutes. Savings
    /// overlap, so only that of the best one counts; what the next ones tell comes on top.
    fn bring<'v>(&self, questions: impl Iterator<Item = &'v Valued<'k>> + Clone) -> Option<(f64, f64)>
    where
        'k: 'v,
    {
        let best = questions.clone().next()?;
        let mut counted: Vec<&Valued> =
            questions.filter(|v| v.worth > 0.0).take(COUNTED_AT_A_STAGE).collect();
        if counted.is_empty() {
            counted.push(best);
        }
        let bits: f64 = counted.iter().map(|v| v.bits).sum();
        let minutes = counted.iter().map(|v| v.minutes).sum();
        Some((counted[0].saving + bits * self.per_bit(), minutes))
    }

    /// What is given up by entering a stage now: the worth of the best questions that can't be put any more from
    /// there on, the way to them paid.
    fn given_up(&self, stage: usize, before: &Ranking<'k>) -> f64 {
        let labour = self.knowledge.shop.labour_per_minute;
        let over = |v: &&Valued| stages::last(self.knowledge, v.candidate.ask) < stage;
        let lost = |list: &[Valued<'k>]| {
            self.bring(list.iter().filter(over))
                .map_or(0.0, |(brought, asked)| (brought - asked * labour).max(0.0))
        };
        let passed_over = before.openings.iter().filter(|o| o.goal < stage);
        passed_over.map(|o| lost(&o.questions).min(o.worth)).fold(lost(&before.here), f64::max)
    }

    /// Values one question at a stage by the fault marginals after each answer; `now` is what the best
    /// scope would cost without it.
    fn value(&self, group: Group<'k>, stage: usize, now: f64, foreseen: Prediction) -> Valued<'k> {
        let before = &self.engine.posterior().faults;
        let leading = self.leading(&group, &foreseen);
        let mut after = 0.0;
        let mut entropy = 0.0;
        let mut outcomes = Vec::with_capacity(foreseen.given.len());
        for (probability, faults) in foreseen.probabilities.into_iter().zip(foreseen.given) {
            let best = self.best_scope(stage, &faults);
            after += probability * best.map_or(0.0, |b| b.1);
            entropy += probability * self.bits(&faults);
            outcomes.push(Outcome { probability, faults, scope: best.map(|b| b.0) });
        }
        let mut valued = Valued {
            candidate: group.members[leading],
            saving: (now - after).max(0.0),
            bits: (self.bits(before) - entropy).max(0.0),
            minutes: own_minutes(group.look, &group.members) + self.knowledge.shop.minutes_per_question,
            worth: 0.0,
            look: group.look,
            together: group.members,
            outcomes,
        };
        self.settle(&mut valued);
        valued
    }

    /// Which question of a group (index) is expected to move the faults most.
    fn leading(&self, group: &Group, foreseen: &Prediction) -> usize {
        let before = &self.engine.posterior().faults;
        let moved = |faults: &Vec<f64>| -> f64 {
            let wanted = faults.iter().zip(before).zip(self.wanted).filter(|(_, wanted)| **wanted);
            wanted.map(|((after, before), _)| (after - before).powi(2)).sum()
        };
        let mut answers = foreseen.probabilities.iter().zip(&foreseen.given).skip(1);
        let mut best = (0, -1.0);
        for (i, member) in group.members.iter().enumerate().rev().filter(|_| group.look.is_some()) {
            let states = self.knowledge.states(member.id).map_or(1, |s| s.len());
            let sum: f64 = answers.by_ref().take(states - 1).map(|(p, faults)| p * moved(faults)).sum();
            if sum >= best.1 {
                best = (i, sum);
            }
        }
        best.0
    }

    /// The questions that a valued one answers, each valued alone and exactly.
    pub fn alone(&self, valued: &Valued<'k>) -> Vec<Valued<'k>> {
        let now = self.best_scope(self.stage, &self.engine.posterior().faults).map_or(0.0, |b| b.1);
        let questions: Vec<Question> = valued.together.iter().map(|c| c.question).collect();
        let foreseen = self.engine.predict_all(&questions);
        let alone = |(c, p): (&Candidate<'k>, Prediction)| self.value(Group::of(*c), self.stage, now, p);
        valued.together.iter().zip(foreseen).map(alone).collect()
    }

    /// Entropy, in bits, of the faults that the work is for, taken one by one. What an answer tells of
    /// other faults leads nowhere.
    fn bits(&self, faults: &[f64]) -> f64 {
        let part = |p: f64| if p > 0.0 { -p * p.log2() } else { 0.0 };
        let wanted = faults.iter().zip(self.wanted).filter(|(_, wanted)| **wanted);
        wanted.map(|(p, _)| part(*p) + part(1.0 - *p)).sum()
    }

    /// Weighs the head of a sorted list again by exact joint probabilities, and sorts it anew.
    fn sharpen(&self, list: &mut [Valued<'k>], stage: usize, foresight: &Foresight) {
        let head = list.len().min(EXACT_AT_THE_HEAD);
        // A scope that is shut is never the best one, whatever would come of it.
        let open: Vec<usize> = (0..self.scopes.len()).filter(|i| !self.shut[*i]).collect();
        let clears: Vec<Vec<f64>> = open.iter().map(|i| self.scopes[*i].clears.clone()).collect();
        let of_all = |success: &[f64]| {
            let mut all = vec![0.0; self.scopes.len()];
            open.iter().zip(success).for_each(|(i, chance)| all[*i] = *chance);
            all
        };
        let question = |v: &Valued| v.together.iter().map(|c| c.question).collect();
        let asked: Vec<Vec<Question>> = list[..head].iter().map(question).collect();
        let asked: Vec<&[Question]> = asked.iter().map(Vec::as_slice).collect();
        let (cleared, all) = foresight.cleared_given(self.engine, &asked, &clears);
        let before = &self.engine.posterior().faults;
        let Some((_, now)) = self.best_scope_with(stage, before, &of_all(&cleared)) else { return };
        for (valued, given) in list[..head].iter_mut().zip(all) {
            let mut after = 0.0;
            for (outcome, success) in valued.outcomes.iter_mut().zip(&given) {
                if outcome.probability <= 0.0 {
                    continue;
                }
                let best = self.best_scope_with(stage, &outcome.faults, &of_all(success));
                after += outcome.probability * best.map_or(0.0, |b| b.1);
                outcome.scope = best.map(|b| b.0);
            }
            valued.saving = (now - after).max(0.0);
            self.settle(valued);
        }
        self.sort(list);
    }

    /// What a bit is worth now: between its two prices, by the chance that none of the faults is there that can have
    /// brought about the complaint (one by one, as in [`ScopeModel::success_by_marginals`]).
    fn per_bit(&self) -> f64 {
        let shop = &self.knowledge.shop;
        let wanted = self.engine.posterior().faults.iter().zip(self.wanted).filter(|(_, wanted)| **wanted);
        let unexplained: f64 = wanted.map(|(p, _)| 1.0 - p).product();
        (1.0 - unexplained) * shop.worth_per_bit + unexplained * shop.worth_per_bit_unexplained
    }

    fn settle(&self, valued: &mut Valued) {
        let shop = &self.knowledge.shop;
        valued.worth = valued.saving + valued.bits * self.per_bit() - valued.minutes * shop.labour_per_minute;
    }

    fn sort(&self, list: &mut [Valued<'k>]) {
        let labour = self.knowledge.shop.labour_per_minute;
        list.sort_by(|a, b| {
            b.rate(labour).total_cmp(&a.rate(labour)).then_with(|| a.candidate.id.cmp(b.candidate.id))
        });
    }
}
