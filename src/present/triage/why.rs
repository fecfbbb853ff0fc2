//! Why a question is asked, in words that its answers bear out.

use super::text::scope_name;
use crate::plan::assess::Assessment;
use crate::plan::questions::{Outcome, Valued};
use crate::plan::reason::Reason;
use crate::present::text::{Align, Styled, Table, Text, minutes, money, percent};

/// What a question is good for, in words that lead on to its answers.
pub fn because(assessment: &Assessment, reason: Option<&Reason>) -> String {
    let knowledge = assessment.planner.knowledge;
    let fault = |f: usize| fault_name(assessment, f);
    match reason {
        Some(Reason::Work(scopes)) => {
            let names: Vec<String> =
                scopes.iter().take(3).map(|id| format!("“{}”", scope_name(knowledge, id))).collect();
            format!("the work hangs on it: {}.", names.join(" or "))
        }
        Some(Reason::Apart(one, other)) => format!("it tells “{}” from “{}”.", fault(*one), fault(*other)),
        Some(Reason::AsWell(other)) => format!("it tells how likely “{}” is.", fault(*other)),
        Some(Reason::Surer(top)) => format!("it makes “{}” surer, or less sure.", fault(*top)),
        Some(Reason::Before(scope)) => {
            format!(
                "it has to be known before the work “{}”, whatever it shows.",
                scope_name(knowledge, scope)
            )
        }
        None => "it tells a little about several faults.".to_owned(),
    }
}

/// What answers would do: for each its chance, then the likeliest fault, or the one that the question is about, and the
/// work where it hangs on the question.
pub struct Consequences<'a, 'k> {
    assessment: &'a Assessment<'a, 'k>,
    /// The fault (index) that the question is about, where it is not the likeliest one.
    about: Option<usize>,
    work: bool,
    table: Table,
}

impl<'a, 'k> Consequences<'a, 'k> {
    /// A table without rows; `what` heads the answers, `work` says whether the work hangs on them.
    pub fn new(assessment: &'a Assessment<'a, 'k>, what: &str, reason: Option<&Reason>, work: bool) -> Self {
        let about = match reason {
            Some(Reason::AsWell(fault)) => Some(*fault),
            _ => None,
        };
        let then =
            about.map_or("then most likely".to_owned(), |f| format!("then {}", fault_name(assessment, f)));
        let columns = [
            (what, Align::Left),
            ("Chance", Align::Right),
            (&*then, Align::Left),
            ("and the work", Align::Left),
        ];
        let table = Table::new(if work { &columns } else { &columns[..3] });
        Consequences { assessment, about, work, table }
    }

    /// One answer.
    pub fn row(&mut self, answer: Styled, outcome: &Outcome) {
        let faults = &outcome.faults;
        let then = match self.about {
            Some(fault) => Styled::from(percent(faults[fault])),
            None => (0..faults.len()).max_by(|a, b| faults[*a].total_cmp(&faults[*b])).map_or(
                Styled::new(),
                |top| {
                    let name = fault_name(self.assessment, top);
                    Styled::new().fault(name).plain(format!(" {}", percent(faults[top])))
                },
            ),
        };
        let mut row = vec![answer, Styled::from(percent(outcome.probability)), then];
        if self.work {
            let knowledge = self.assessment.planner.knowledge;
            let scope = |s: usize| scope_name(knowledge, &self.assessment.scopes[s].scope.id);
            row.push(Styled::from(outcome.scope.map_or("", scope)));
        }
        self.table.row(row);
    }

    /// The rows under each other.
    pub fn table(self) -> Table {
        self.table
    }
}

/// What a question takes and saves, where it saves anything.
pub fn saving(valued: &Valued, what: &str, text: &mut Text) {
    if valued.saving >= 0.005 {
        let words = format!(
            "{what} takes {} and is expected to save {} on the whole job, in the shop's money.",
            minutes(valued.own_minutes()),
            money((valued.saving * 100.0).round() / 100.0)
        );
        text.item(2, "", Styled::new().muted(words));
    }
}

fn fault_name<'k>(assessment: &Assessment<'_, 'k>, fault: usize) -> &'k str {
    let id = &assessment.planner.net.faults[fault].id;
    assessment.planner.knowledge.fault(id).map_or("", |f| f.name.as_str())
}
