//! Courses: the order of lessons, and how they are marked.

use super::Context;
use super::basics::SUM_TOLERANCE;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::lessons::{Course, Weights};
use crate::knowledge::raw::RawCourse;
use crate::knowledge::source::Trail;

impl Context<'_> {
    pub fn course(&mut self, raw: &RawCourse, at: &Trail) -> Course {
        let draft = self.draft;
        let weights = at.key("weights");
        let w = &raw.weights;
        let weights = Weights {
            diagnosis: self.not_negative(w.diagnosis, &weights.key("diagnosis"), "the weight"),
            scope: self.not_negative(w.scope, &weights.key("scope"), "the weight"),
            cautions: self.not_negative(w.cautions, &weights.key("cautions"), "the weight"),
            safety: self.not_negative(w.safety, &weights.key("safety"), "the weight"),
            minutes: self.not_negative(w.minutes, &weights.key("minutes"), "the weight"),
        };
        let sum = w.diagnosis + w.scope + w.cautions + w.safety + w.minutes;
        if sum.is_nan() || (sum - 1.0).abs() > SUM_TOLERANCE {
            let message = format!("the weights sum to {sum}");
            self.report(Code::Number, &at.key("weights"), message, "They have to sum to 1.");
        }
        let minutes_full = self.positive(raw.minutes_full, &at.key("minutes-full"), "the multiple");
        let minutes_none = self.positive(raw.minutes_none, &at.key("minutes-none"), "the multiple");
        if minutes_none <= minutes_full {
            let message = format!("{minutes_none} is not above {minutes_full}");
            let help =
                "The multiple from which time counts nothing lies above the one up to which it is full.";
            self.report(Code::Number, &at.key("minutes-none"), message, help);
        }
        if raw.lessons.is_empty() {
            let help = "Name its lessons in their order.";
            self.report(Code::Incomplete, &at.key("id"), "this course has no lessons", help);
        }
        Course {
            id: self.id(&raw.id, &at.key("id")),
            title: self.text(&raw.title, &at.key("title"), "the title"),
            lessons: self.ids(&draft.lessons, &raw.lessons, &at.key("lessons"), "lesson"),
            pass: self.chance(&raw.pass, &at.key("pass")),
            support: raw.support.as_ref().map_or(0.0, |s| self.chance(s, &at.key("support"))),
            weights,
            per_risk: self.chance(&raw.per_risk, &at.key("per-risk")),
            per_hint: self.chance(&raw.per_hint, &at.key("per-hint")),
            per_trap: self.chance(&raw.per_trap, &at.key("per-trap")),
            minutes_full,
            minutes_none,
            basis: self.basis(raw.basis.as_ref(), at),
        }
    }
}
