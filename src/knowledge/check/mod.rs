//! From raw entries to checked ones. Every check reports and goes on; what it makes of a bad value is
//! thrown away with the rest, since an error means that there is no [`Knowledge`].

mod alike;
mod basics;
mod causes;
mod circle;
mod courses;
mod lessons;
mod looks;
mod measurements;
mod physics;
mod questions;
mod readings;
mod whole;
mod work;

pub use basics::SCALE;

use super::UnitReader;
use super::diagnostic::{Code, Diagnostic, Sink};
use super::draft::Draft;
use super::model::Knowledge;
use super::source::{Docs, Trail};

/// What every check needs.
pub struct Context<'a> {
    draft: &'a Draft,
    docs: &'a Docs,
    units: &'a dyn UnitReader,
    sink: &'a mut Sink,
}

impl Context<'_> {
    /// A problem at the value that the trail leads to.
    fn found(&self, code: Code, at: &Trail, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(code, self.docs.place(at), message)
    }

    fn report(&mut self, code: Code, at: &Trail, message: impl Into<String>, help: &str) {
        let found = self.found(code, at, message).help(help);
        self.sink.push(found);
    }
}

/// Checks every entry by itself, then all of them together.
pub fn check(draft: &Draft, docs: &Docs, units: &dyn UnitReader, sink: &mut Sink) -> Knowledge {
    draft.refuse_shared_ids(docs, sink);
    let mut ctx = Context { draft, docs, units, sink };
    ctx.check_lists();
    let knowledge = Knowledge {
        shop: ctx.shop(),
        stages: each(&mut ctx, draft.stages.iter(), Context::stage),
        sources: each(&mut ctx, draft.sources.iter(), Context::source),
        cautions: each(&mut ctx, draft.cautions.iter(), Context::caution),
        factors: each(&mut ctx, draft.factors.iter(), Context::factor),
        faults: each(&mut ctx, draft.faults.iter(), Context::fault),
        observations: each(&mut ctx, draft.observations.iter(), Context::observation),
        readings: each(&mut ctx, draft.readings.iter(), Context::reading),
        repairs: each(&mut ctx, draft.repairs.iter(), Context::repair),
        scopes: each(&mut ctx, draft.scopes.iter(), Context::scope),
        motors: each(&mut ctx, draft.motors.iter(), Context::motor),
        measurements: each(&mut ctx, draft.measurements.iter(), Context::measurement),
        topics: each(&mut ctx, draft.topics.iter(), Context::topic),
        lessons: each(&mut ctx, draft.lessons.iter(), Context::lesson),
        courses: each(&mut ctx, draft.courses.iter(), Context::course),
        physics: each(&mut ctx, draft.physics.iter(), Context::physics),
        looks: each(&mut ctx, draft.looks.iter(), Context::look),
    };
    ctx.looks(&knowledge);
    ctx.never_asked(&knowledge);
    ctx.circles(&knowledge);
    ctx.whole(&knowledge);
    ctx.alike(&knowledge);
    knowledge
}

fn each<'a, 'd, R: 'd, T>(
    ctx: &mut Context<'a>,
    entries: impl Iterator<Item = &'d super::draft::Found<R>>,
    check: impl Fn(&mut Context<'a>, &R, &Trail) -> T,
) -> Vec<T> {
    entries.map(|found| check(ctx, &found.raw, &Trail::Entry(found.at))).collect()
}
