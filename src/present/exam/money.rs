//! What a motor costs with the expert, beside rules that ask nothing.

use super::{Sheet, give_or_take, kind_name};
use crate::drill::exam::{Kind, Marks, Spread};

/// Standard errors from which on a difference is taken for one.
const SURE: f64 = 2.0;

/// A rule that asks nothing: what it costs, and how much more the expert does.
pub(super) struct Rule {
    /// The scope that is always done (index).
    pub scope: usize,
    pub cost: Spread,
    pub over: Spread,
}

/// The costs of one kind of motor, under the first condition.
pub(super) struct Costs {
    /// None for all kinds together.
    pub kind: Option<Kind>,
    pub expert: Spread,
    pub asking: Spread,
    pub work: Spread,
    pub knowing: Spread,
    /// Rules that were named beforehand.
    pub named: Vec<Rule>,
    /// The one that turns out cheapest.
    pub hindsight: Option<Rule>,
}

impl Costs {
    pub fn name(&self) -> &'static str {
        self.kind.map_or("all kinds together", kind_name)
    }
}

impl Sheet<'_> {
    /// The name of a rule.
    pub(super) fn rule(&self, rule: &Rule) -> String {
        format!("always {}", self.scope(rule.scope))
    }

    /// The costs kind by kind, then of all together.
    pub(super) fn costs(&self) -> Vec<Costs> {
        let Some(paper) = self.report.papers.first() else { return Vec::new() };
        let mut all: Vec<Costs> =
            paper.marks.iter().map(|m| self.costs_of(Some(m.kind), std::slice::from_ref(m))).collect();
        if all.len() > 1 {
            all.push(self.costs_of(None, &paper.marks));
        }
        all
    }

    fn costs_of(&self, kind: Option<Kind>, marks: &[Marks]) -> Costs {
        let of = |f: &dyn Fn(&Marks) -> Spread| Spread::pooled(marks.iter().map(|m| (m.motors, f(m))));
        let rule = |scope: usize| Rule {
            scope,
            cost: of(&|m| m.always[scope]),
            over: of(&|m| m.over_always[scope]),
        };
        let scopes = &self.knowledge.scopes;
        let named = self.knowledge.shop.without_asking.iter();
        let rules = (0..scopes.len()).map(rule);
        Costs {
            kind,
            expert: of(&|m| m.cost),
            asking: of(&|m| m.asking),
            work: of(&|m| m.work),
            knowing: of(&|m| m.knowing),
            named: named.filter_map(|id| scopes.iter().position(|s| s.id == *id)).map(rule).collect(),
            hindsight: rules.min_by(|a, b| a.cost.mean.total_cmp(&b.cost.mean)),
        }
    }
}

/// A mean in one word with the scope of a rule.
pub(super) fn in_a_cell(sheet: &Sheet, rule: &Rule) -> String {
    format!("{:.0} {}", rule.cost.mean, sheet.scope(rule.scope))
}

/// What is to be said of money: against rules named beforehand, against those picked with hindsight, and why.
pub(super) fn headline(sheet: &Sheet, trust: &mut Vec<String>, doubt: &mut Vec<String>) {
    let costs = sheet.costs();
    let Some(all) = costs.last() else { return };
    for rule in &all.named {
        let (name, over) = (sheet.rule(rule), rule.over);
        let expert = give_or_take(all.expert);
        let than =
            format!("a motor costs {expert} with the expert, {:.0} with the rule “{name}”", rule.cost.mean);
        let apart = format!("{:.0} ± {:.0}", over.mean.abs(), over.error);
        match over.mean {
            x if x < -SURE * over.error => {
                trust.push(format!("Money, {}: {than}, {apart} more.", all.name()))
            }
            x if x > SURE * over.error => doubt.push(format!("Money, {}: {than}, {apart} less.", all.name())),
            _ => {
                doubt.push(format!("Money, {}: {than}; the difference of {apart} may be chance.", all.name()))
            }
        }
    }
    let beaten: Vec<String> = (costs.iter())
        .filter_map(|c| {
            let rule = c.hindsight.as_ref().filter(|rule| rule.over.mean > 0.0)?;
            let (cost, less) = (rule.cost.mean, give_or_take(rule.over));
            Some(format!("{}: {cost:.0} ({}), {less} less", c.name(), sheet.rule(rule)))
        })
        .collect();
    if !beaten.is_empty() {
        doubt.push(format!(
            "In money alone, a rule that asks nothing and is picked with hindsight is cheaper than the expert. {}.",
            beaten.join("; ")
        ));
        doubt.push(format!(
            "Why: {:.0} of what the expert costs goes into asking. That buys a named cause, which this money does not \
             count; and nobody knows beforehand which rule will fit the motors that come.",
            all.asking.mean
        ));
    }
}
