//! The result of an examination, as text, as JSON and as a page with pictures.

pub mod html;
pub mod json;
mod legends;
mod money;
mod pictures;
pub mod text;

use crate::drill::exam::{Calibration, Condition, Kind, Marks, QuestionRow, Rate, Report, Spread, What};
use crate::inference::Question;
use crate::knowledge::{Basis, Knowledge, Locator, NumberOf, ParentRef};
use crate::network::{BeliefNet, Parent};

/// A result with what it takes to put it into words.
#[derive(Clone, Copy)]
pub struct Sheet<'a> {
    /// The knowledge that was examined.
    pub knowledge: &'a Knowledge,
    /// Its numbers, which the result's indices are about.
    pub net: &'a BeliefNet,
    /// The result.
    pub report: &'a Report,
    /// Finds the numbers of the knowledge in its files.
    pub places: &'a Locator<'a>,
}

impl<'a> Sheet<'a> {
    fn fault_id(&self, fault: usize) -> &'a str {
        &self.net.faults[fault].id
    }

    fn fault(&self, fault: usize) -> &'a str {
        let id = self.fault_id(fault);
        self.knowledge.fault(id).map_or(id, |f| &f.name)
    }

    fn question_id(&self, question: Question) -> &'a str {
        match question {
            Question::Factor(i) => &self.net.factors[i].id,
            Question::Observation(i) => &self.net.observations[i].id,
        }
    }

    /// Id of a question or a look.
    fn row_id(&self, row: &QuestionRow) -> &'a str {
        match (row.look, row.questions.first()) {
            (Some(look), _) => &self.knowledge.looks[look].id,
            (None, Some(question)) => self.question_id(*question),
            (None, None) => "",
        }
    }

    /// Name of a question or a look.
    fn row_name(&self, row: &QuestionRow) -> &'a str {
        let id = self.row_id(row);
        match row.look {
            Some(look) => &self.knowledge.looks[look].name,
            None => self.name(id),
        }
    }

    /// Name of a factor or an observation.
    fn name(&self, id: &'a str) -> &'a str {
        let factor = self.knowledge.factor(id).map(|f| f.name.as_str());
        factor.or_else(|| self.knowledge.observation(id).map(|o| o.name.as_str())).unwrap_or(id)
    }

    fn observation(&self, observation: usize) -> &'a str {
        self.name(&self.net.observations[observation].id)
    }

    fn scope(&self, scope: usize) -> &'a str {
        &self.knowledge.scopes[scope].name
    }

    fn cause(&self, parent: Parent) -> String {
        match parent {
            Parent::Fault(j) => self.fault_id(j).to_owned(),
            Parent::Factor(i, s) => format!("{}: {}", self.net.factors[i].id, self.net.factors[i].states[s]),
        }
    }

    /// The entry in whose file a number stands, the list in which, and what for.
    fn number(&self, what: What) -> (String, &'static str, String) {
        match what {
            What::Prior(i, s) => {
                (self.net.factors[i].id.clone(), "prior", self.net.factors[i].states[s].clone())
            }
            What::FaultLeak(j) => (self.fault_id(j).to_owned(), "leak", String::new()),
            What::Strength(j, c) => {
                (self.fault_id(j).to_owned(), "cause", self.cause(self.net.faults[j].causes[c].0))
            }
            What::ObservationLeak(i) => (self.net.observations[i].id.clone(), "leak", String::new()),
            What::Effect(i, c) => {
                let observation = &self.net.observations[i];
                (self.cause(observation.causes[c].0), "shows", observation.id.clone())
            }
        }
    }

    fn parent(&self, parent: Parent) -> ParentRef {
        match parent {
            Parent::Fault(j) => ParentRef { parent: self.fault_id(j).to_owned(), state: None },
            Parent::Factor(i, s) => {
                let factor = &self.net.factors[i];
                ParentRef { parent: factor.id.clone(), state: Some(factor.states[s].clone()) }
            }
        }
    }

    /// Where a number comes from, and in which file and line it stands.
    fn source(&self, what: What) -> (Option<&'a Basis>, Option<String>) {
        let k = self.knowledge;
        let place = |number: NumberOf| self.places.find(number).map(|(path, line)| format!("{path}:{line}"));
        match what {
            What::Prior(i, s) => {
                let factor = &self.net.factors[i];
                let basis = k.factor(&factor.id).map(|f| &f.basis);
                (basis, place(NumberOf::Prior { factor: &factor.id, state: &factor.states[s] }))
            }
            What::FaultLeak(j) => {
                let id = self.fault_id(j);
                (k.fault(id).map(|f| &f.basis), place(NumberOf::Leak { entry: id }))
            }
            What::Strength(j, c) => {
                let (id, by) = (self.fault_id(j), self.parent(self.net.faults[j].causes[c].0));
                let cause = k.fault(id).and_then(|f| f.causes.iter().find(|cause| cause.by == by));
                (cause.map(|c| &c.basis), place(NumberOf::Strength { fault: id, by: &by }))
            }
            What::ObservationLeak(i) => {
                let id = &self.net.observations[i].id;
                (k.observation(id).map(|o| &o.basis), place(NumberOf::Leak { entry: id }))
            }
            What::Effect(i, c) => {
                let observation = &self.net.observations[i];
                let by = self.parent(observation.causes[c].0);
                let shows = (k.fault(&by.parent).map(|f| &f.shows))
                    .or_else(|| k.factor(&by.parent).map(|f| &f.shows))
                    .and_then(|all| {
                        all.iter().find(|s| s.observation == observation.id && s.state == by.state)
                    });
                let number = NumberOf::Shows { by: &by, observation: &observation.id };
                (shows.map(|s| &s.basis), place(number))
            }
        }
    }

    /// The figures of a kind under the first condition.
    fn marks(&self, kind: Kind) -> Option<&'a Marks> {
        self.report.papers.first()?.marks.iter().find(|m| m.kind == kind)
    }

    /// The figures that the calibration curve is drawn from: of motors as they come, where these were examined.
    fn calibrated(&self) -> Option<&'a Marks> {
        self.marks(Kind::AsTheyCome).or_else(|| self.report.papers.first()?.marks.first())
    }

    /// Hard limits broken by what was known, and by what was true, of all consultations.
    fn limits(&self) -> (Rate, Rate) {
        let mut sums = (Rate::default(), Rate::default());
        for marks in self.report.papers.iter().flat_map(|p| &p.marks) {
            for (sum, rate) in [(&mut sums.0, marks.broken), (&mut sums.1, marks.forbidden)] {
                sum.hits += rate.hits;
                sum.of += rate.of;
            }
        }
        sums
    }
}

/// What kind of motor, for people.
fn kind_name(kind: Kind) -> &'static str {
    match kind {
        Kind::OneFault => "one fault",
        Kind::TwoFaults => "two faults",
        Kind::Healthy => "no fault",
        Kind::Outside => "a fault outside the motor",
        Kind::AsTheyCome => "as motors come",
    }
}

/// Under what condition, for people.
fn condition_name(condition: &Condition) -> String {
    let mut parts = Vec::new();
    if condition.sigma > 0.0 {
        parts.push(format!("numbers off by {}", condition.sigma));
    }
    if condition.physics {
        parts.push("numbers from physics".to_owned());
    }
    if condition.careless > 0.0 {
        parts.push(format!("{} wrong answers", share(condition.careless)));
    }
    if parts.is_empty() { "as believed".to_owned() } else { parts.join(", ") }
}

/// A share in per cent, to a tenth where that says something.
fn share(p: f64) -> String {
    let tenths = (p * 1000.0).round() / 10.0;
    if tenths.fract() == 0.0 || tenths >= 10.0 { format!("{tenths:.0} %") } else { format!("{tenths:.1} %") }
}

/// A measured share: its per cent, or that there was none.
fn rate(rate: Rate) -> String {
    rate.share().map_or("-".to_owned(), share)
}

/// A measured share with its interval.
fn rate_between(of: Rate) -> String {
    match of.interval() {
        Some((low, high)) => {
            format!("{} ({:.0} to {:.0} %)", rate(of), low * 100.0, high * 100.0)
        }
        None => "none were drawn".to_owned(),
    }
}

/// A mean with its standard error, in whole units.
fn give_or_take(of: Spread) -> String {
    format!("{:.0} ± {:.0}", of.mean, of.error)
}

/// An error of calibration, in points of a hundred.
fn points(calibration: &Calibration) -> String {
    let points = calibration.expected_error() * 100.0;
    format!("{points:.1} {}", if format!("{points:.1}") == "1.0" { "point" } else { "points" })
}

/// A fault that was drawn less often says nothing by itself.
const ENOUGH: usize = 5;
/// A fault that stands first in fewer than this is named in the headline.
const SELDOM: f64 = 0.8;

/// What to trust, and what not: the headline, sentence by sentence.
fn headline(sheet: &Sheet) -> (Vec<String>, Vec<String>) {
    let (mut trust, mut doubt) = (Vec::new(), Vec::new());
    if let Some(m) = sheet.marks(Kind::OneFault) {
        trust.push(format!(
            "One fault: it stands first in {}, among the first three in {}, after {:.1} questions.",
            rate_between(m.first),
            rate_between(m.three),
            m.questions.mean
        ));
    }
    if let Some(m) = sheet.marks(Kind::TwoFaults) {
        trust.push(format!("Two faults: both stand among the first three in {}.", rate_between(m.three)));
    }
    if let Some(m) = sheet.marks(Kind::Healthy) {
        trust.push(format!(
            "No fault: in {} one is held to be likely all the same.",
            rate_between(m.false_alarm)
        ));
    }
    if let Some(m) = sheet.marks(Kind::Outside) {
        trust.push(format!("Fault outside the motor: it stands first in {}.", rate_between(m.first)));
    }
    if let Some(m) = sheet.calibrated() {
        trust.push(format!(
            "What it says and what is true differ by {} on average for the fault named first, by {} over all faults ({}).",
            points(&m.first_named),
            points(&m.every_fault),
            kind_name(m.kind)
        ));
    }
    money::headline(sheet, &mut trust, &mut doubt);
    let (broken, forbidden) = sheet.limits();
    trust.push(format!("Hard limits broken: {} of {}.", broken.hits, broken.of));
    if forbidden.hits > 0 {
        doubt.push(format!(
            "In {} of {} the proposed work was forbidden by something that was not known, or known wrongly.",
            forbidden.hits, forbidden.of
        ));
    }
    let weak: Vec<String> = (sheet.report.faults.iter())
        .filter(|f| f.first.of >= ENOUGH && f.first.interval().is_some_and(|i| i.1 < SELDOM))
        .take(5)
        .map(|f| format!("{} ({} of {})", sheet.fault(f.fault), f.first.hits, f.first.of))
        .collect();
    if !weak.is_empty() {
        doubt.push(format!("Seldom first when they are there: {}.", weak.join(", ")));
    }
    if let Some(pair) = sheet.report.confusions.first() {
        doubt.push(format!(
            "Taken for another most often: {} for {} ({} of {}).",
            sheet.fault(pair.truth),
            sheet.fault(pair.named),
            pair.rate.hits,
            pair.rate.of
        ));
    }
    doubt.push(
        "The motors come from the expert's own beliefs, changed only as said. The figures tell how well it uses them, \
         not whether they are right."
            .to_owned(),
    );
    (trust, doubt)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::case::BenchUnits;
    use crate::drill::exam::{Plan, Sensitivity};
    use crate::knowledge::{Layer, builtin};
    use crate::network::compile;

    /// Whoever is told to find a number out is told where it stands, and what it rests on now.
    #[test]
    fn every_number_has_its_basis_and_its_place() {
        let knowledge = builtin(&BenchUnits).unwrap();
        let net = compile(&knowledge).belief().clone();
        let plan = Plan { runs: 0, seed: 1, kinds: vec![], conditions: vec![], situations: 0 };
        let report = Report {
            plan,
            papers: vec![],
            faults: vec![],
            confusions: vec![],
            questions: vec![],
            sensitivity: Sensitivity::default(),
        };
        let layers = [Layer::builtin()];
        let places = Locator::new(&layers);
        let sheet = Sheet { knowledge: &knowledge, net: &net, report: &report, places: &places };
        let (f, j, o) = (net.factors.len() - 1, net.faults.len() - 1, net.observations.len() - 1);
        let effects = net.observations[o].causes.len();
        let mut all =
            vec![What::Prior(f, 0), What::FaultLeak(j), What::Strength(j, 0), What::ObservationLeak(o)];
        all.extend((0..effects).map(|c| What::Effect(o, c)));
        // A factor that shows itself.
        let by_factor = |(i, o): (usize, &crate::network::ObservationModel)| {
            let at = o.causes.iter().position(|(by, _)| matches!(by, Parent::Factor(..)))?;
            Some(What::Effect(i, at))
        };
        all.extend(net.observations.iter().enumerate().find_map(by_factor));
        for what in all {
            let (basis, place) = sheet.source(what);
            let place = place.unwrap();
            assert!(basis.is_some() && place.starts_with("built-in/"), "{what:?}: {basis:?} {place}");
            assert!(!place.ends_with(":1"), "{what:?}: {place}");
        }
    }
}
