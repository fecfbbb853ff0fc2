//! Measurements: what they ask, their limits, and what their results mean.

use std::collections::HashSet;

use super::Context;
use super::readings::kind;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::model::*;
use crate::knowledge::raw::*;
use crate::knowledge::source::Trail;

impl Context<'_> {
    pub fn measurement(&mut self, raw: &RawMeasurement, at: &Trail) -> Measurement {
        let draft = self.draft;
        Measurement {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            summary: self.text(&raw.summary, &at.key("summary"), "the summary"),
            cautions: self.ids(&draft.cautions, &raw.cautions, &at.key("cautions"), "caution"),
            inputs: self.inputs(&raw.inputs, &at.key("inputs")),
            limits: self.guides(&raw.limits, &at.key("limits")),
            results: self.results(&raw.results, &at.key("results")),
            findings: self.findings(&raw.findings, &at.key("findings")),
        }
    }

    fn inputs(&mut self, inputs: &[RawInput], list: &Trail) -> Vec<Input> {
        let draft = self.draft;
        let mut seen = HashSet::new();
        let mut out = Vec::new();
        for (i, raw) in inputs.iter().enumerate() {
            let at = list.item(i);
            if !seen.insert(&raw.id) {
                self.repeated(&raw.id, &at.key("id"));
            }
            let kind = raw.kind.map(kind);
            // An example may be several quantities, one after the other.
            if let Some(kind) = kind {
                for part in raw.example.split(',').filter(|p| !p.trim().is_empty()) {
                    self.quantity(kind, part, &at.key("example"));
                }
            }
            out.push(Input {
                id: self.id(&raw.id, &at.key("id")),
                kind,
                question: self.text(&raw.question, &at.key("question"), "the question"),
                how: self.optional_text(&raw.how, &at.key("how")),
                nominal: self.nominal_key(raw.nominal.as_deref(), &at.key("nominal")),
                example: self.text(&raw.example, &at.key("example"), "the example"),
                cautions: self.ids(&draft.cautions, &raw.cautions, &at.key("cautions"), "caution"),
            });
        }
        out
    }

    /// A key that at least one motor has, where any motors are known.
    fn nominal_key(&mut self, key: Option<&str>, at: &Trail) -> Option<String> {
        let key = key?;
        let motors = &self.draft.motors;
        let known = || motors.iter().flat_map(|m| m.raw.nominal.keys().map(String::as_str));
        if !motors.torn && !motors.entries.is_empty() && !known().any(|k| k == key) {
            let known: Vec<&str> = known().collect();
            self.unknown(key, at, "nominal value of a motor", known);
        }
        Some(key.to_owned())
    }

    fn guides(&mut self, guides: &[RawGuide], list: &Trail) -> Vec<Guide> {
        let mut out: Vec<Guide> = Vec::new();
        for (i, raw) in guides.iter().enumerate() {
            let at = list.item(i);
            let of = kind(raw.kind);
            let size = raw.r#for.as_ref().map(|size| {
                let read = self.quantity(kind(size.kind), &size.value, &at.key("for").key("value"));
                read.unwrap_or_default()
            });
            let guide = Guide {
                id: self.id(&raw.id, &at.key("id")),
                name: self.text(&raw.name, &at.key("name"), "the name"),
                kind: of,
                text: raw.value.trim().to_owned(),
                value: self.quantity(of, &raw.value, &at.key("value")).unwrap_or_default(),
                size,
                note: self.optional_text(&raw.note, &at.key("note")),
                basis: self.basis(raw.basis.as_ref(), &at),
            };
            if out.iter().any(|g| g.id == guide.id && g.size == guide.size) {
                self.repeated(&guide.id, &at.key("id"));
            }
            out.push(guide);
        }
        out
    }

    fn results(&mut self, results: &[RawResult], list: &Trail) -> Vec<MeasuredReading> {
        let draft = self.draft;
        let mut out = Vec::new();
        for (i, raw) in results.iter().enumerate() {
            let at = list.item(i);
            let figure = self.id(&raw.figure, &at.key("figure"));
            if let Some(reading) = &raw.reading {
                self.knows(&draft.readings, reading, &at.key("reading"), "reading");
            } else if raw.nominal.is_none() {
                let message = "the figure is neither a reading nor a nominal value";
                self.report(Code::Unfitting, &at, message, "Add `reading:`, or `nominal:`.");
            }
            // What a reading is divided by is what a healthy motor reads.
            let known = raw.reading.as_ref().and_then(|id| draft.readings.entries.get(id));
            let divided =
                known.filter(|r| r.raw.derive == RawDerive::Ratio).and_then(|r| r.raw.nominal.clone());
            let own = self.nominal_key(raw.nominal.as_deref(), &at.key("nominal"));
            out.push(MeasuredReading { figure, reading: raw.reading.clone(), nominal: own.or(divided) });
        }
        out
    }

    fn findings(&mut self, findings: &[RawFinding], list: &Trail) -> Vec<Finding> {
        let draft = self.draft;
        let mut seen = HashSet::new();
        let mut out = Vec::new();
        for (i, raw) in findings.iter().enumerate() {
            let at = list.item(i);
            if !seen.insert(&raw.word) {
                self.repeated(&raw.word, &at.key("word"));
            }
            if let Some(fault) = &raw.fault {
                self.knows(&draft.faults, fault, &at.key("fault"), "fault");
            }
            let mut answers = Vec::new();
            for (id, state) in &raw.answers {
                let place = at.key("answers");
                if !self.knows(&draft.observations, id, &place.name(id), "observation") {
                    continue;
                }
                let Some(observation) = draft.observations.entries.get(id) else { continue };
                let states: Vec<&str> = observation.raw.states.iter().map(|s| s.id.as_str()).collect();
                match states.iter().position(|s| s == state) {
                    Some(index) => answers.push((id.clone(), index)),
                    None => self.unknown_state(id, state, &states, &place.key(id)),
                }
            }
            out.push(Finding {
                word: self.id(&raw.word, &at.key("word")),
                says: self.text(&raw.says, &at.key("says"), "what it means"),
                fault: raw.fault.clone(),
                answers,
            });
        }
        out
    }
}
