//! What a lesson writes of its motor, put upon a motor whose figures agree with each other.

use rand::Rng;

use super::figures;
use super::specimen::Specimen;
use crate::case::Answer;
use crate::knowledge::{Knowledge, Lesson, Motor, Reading};
use crate::network::{BeliefNet, Parent};
use crate::plan::assess::Planner;

/// Motors that are tried for one whose figures come near to what the lesson writes.
const BODIES: usize = 200;
/// A state that differs weighs as much as a figure that is off by this part of itself.
const STATE: f64 = 10.0;

/// So many times less likely with the faults than without: then a state speaks against them (judgement).
const SPEAKS: f64 = 5.0;

/// Gives a motor its figures by physics, and what the lesson writes on top of them. Of many motors with the same
/// faults that one is taken whose own figures come nearest, so that little has to be changed and the rest still
/// agrees with it.
pub(super) fn write<R: Rng + ?Sized>(
    knowledge: &Knowledge,
    net: &BeliefNet,
    motor: &Motor,
    lesson: &Lesson,
    drawn: Specimen,
    rng: &mut R,
) -> Specimen {
    let mut specimen = nearest(knowledge, net, motor, lesson, &drawn, rng).unwrap_or(drawn);
    for (id, state) in states(lesson) {
        set(knowledge, net, &mut specimen, id, state);
    }
    for (id, text, value) in &lesson.readings {
        if let Some(reading) = knowledge.reading(id) {
            measure(knowledge, net, motor, &mut specimen, reading, text, *value);
        }
    }
    specimen.follow(knowledge, net);
    specimen
}

/// The states that a lesson writes: what the owner tells truly, and what can be seen.
fn states(lesson: &Lesson) -> impl Iterator<Item = (&str, usize)> {
    let honest = |id: &str| !lesson.misleading.iter().any(|m| m.answer == id);
    let told = lesson.told.iter().filter(move |(id, _)| honest(id));
    told.chain(&lesson.shows).map(|(id, state)| (id.as_str(), *state))
}

/// A state of a lesson that its faults hardly ever bring about.
#[derive(Debug, Clone, PartialEq)]
pub struct Against {
    /// Id of the observation.
    pub id: String,
    /// Index of its state.
    pub state: usize,
    /// The chance of that state with the lesson's faults.
    pub with: f64,
    /// Its chance without any fault.
    pub without: f64,
}

/// What a lesson writes that speaks against its own faults, so that whoever believes it is led away from them: states
/// that are so many times less likely with them than without.
pub fn against(planner: &Planner, lesson: &Lesson) -> Vec<Against> {
    let net = &planner.net;
    let faults: Vec<usize> =
        (0..net.faults.len()).filter(|j| lesson.faults.contains(&net.faults[*j].id)).collect();
    let read = lesson.readings.iter().filter_map(|(id, _, value)| {
        let (reading, motor) = (planner.knowledge.reading(id)?, planner.knowledge.motor(&lesson.motor));
        figures::states(planner.knowledge, motor, reading, *value).ok()
    });
    let read: Vec<(String, usize)> = read.flatten().collect();
    let written = states(lesson).chain(read.iter().map(|(id, state)| (id.as_str(), *state)));
    let one = |(id, state): (&str, usize)| {
        let observation = net.observations.iter().find(|o| o.id == id)?;
        let of = |faults: &[usize]| observation.alone_with(faults).get(state).copied();
        let (with, without) = (of(&faults)?, of(&[])?);
        (with * SPEAKS < without).then(|| Against { id: id.to_owned(), state, with, without })
    };
    written.filter_map(one).collect()
}

/// What a lesson writes and its motor does not have all the same, because something else that it writes rules it out:
/// in sentences.
pub fn undone(knowledge: &Knowledge, net: &BeliefNet, lesson: &Lesson, specimen: &Specimen) -> Vec<String> {
    let words =
        |id: &str, state: usize| knowledge.states(id).and_then(|s| s.get(state).map(|s| s.0.to_owned()));
    let mut all = Vec::new();
    for (id, state) in states(lesson) {
        let is = specimen.state(net, id);
        if is != Some(state) {
            let (wanted, is) = (words(id, state), is.and_then(|s| words(id, s)));
            let (wanted, is) = (wanted.unwrap_or_default(), is.unwrap_or_default());
            all.push(format!("`{id}` is `{is}`, not `{wanted}`: a figure of the lesson says so"));
        }
    }
    for (id, text, _) in &lesson.readings {
        if !specimen.readings.contains_key(id) {
            let why =
                specimen.forbids(knowledge, net, id).unwrap_or("Something that is seen says otherwise.");
            all.push(format!("`{id}: {text}` can't be read on this motor: {why}"));
        }
    }
    all
}

/// The motor whose figures come nearest; none where the motor's data give no figures.
fn nearest<R: Rng + ?Sized>(
    knowledge: &Knowledge,
    net: &BeliefNet,
    motor: &Motor,
    lesson: &Lesson,
    drawn: &Specimen,
    rng: &mut R,
) -> Option<Specimen> {
    let mut best: Option<(f64, Specimen)> = None;
    for _ in 0..BODIES {
        let body = drawn.clone().physical(knowledge, net, motor, rng).ok()?;
        let off = distance(knowledge, net, lesson, drawn, &body);
        if best.as_ref().is_none_or(|(least, _)| off < *least) {
            best = Some((off, body));
        }
    }
    best.map(|(_, body)| body)
}

/// How far a motor is from what a lesson writes, or leaves as it should be.
fn distance(
    knowledge: &Knowledge,
    net: &BeliefNet,
    lesson: &Lesson,
    drawn: &Specimen,
    body: &Specimen,
) -> f64 {
    let follows = |id: &str| knowledge.physics_of(id).is_some_and(|p| !p.follows.is_empty());
    let is_read = |id: &str| reading_of(knowledge, body, id).is_some() || follows(id);
    let written = |id: &str| {
        lesson.readings.iter().any(|(r, ..)| knowledge.reading(r).is_some_and(|r| bands_it(r, id)))
    };
    let states = states(lesson).filter(|(id, state)| is_read(id) && body.state(net, id) != Some(*state));
    let odd = (net.observations.iter().zip(&body.observations).zip(&drawn.observations)).filter(
        |((o, now), before)| lesson.calm && **now > 0 && **before == 0 && !written(&o.id) && !follows(&o.id),
    );
    let figures = lesson.readings.iter().filter_map(|(id, _, value)| {
        let own = body.readings.get(id)?;
        Some((own - value).abs() / value.abs().max(1e-9))
    });
    STATE * states.count() as f64 + odd.count() as f64 + figures.sum::<f64>()
}

fn bands_it(reading: &Reading, observation: &str) -> bool {
    reading.bands.iter().any(|b| b.observation == observation)
}

fn reading_of<'k>(knowledge: &'k Knowledge, specimen: &Specimen, observation: &str) -> Option<&'k Reading> {
    let mut fitting = knowledge.readings.iter().filter(|r| bands_it(r, observation));
    fitting.find(|r| specimen.readings.contains_key(&r.id))
}

/// Puts everything right that nothing here brings about.
pub(super) fn calm(net: &BeliefNet, specimen: &mut Specimen) {
    for (observation, state) in net.observations.iter().zip(&mut specimen.observations) {
        let holding = observation.causes.iter().filter(|(parent, _)| match parent {
            Parent::Fault(f) => specimen.faults[*f],
            Parent::Factor(f, s) => specimen.factors[*f] == *s,
        });
        let caused = holding.map(|(_, effect)| effect[*state]).any(|chance| chance > 0.0);
        if !caused {
            *state = 0;
        }
    }
}

/// Sets a state, and forgets readings that say otherwise.
fn set(knowledge: &Knowledge, net: &BeliefNet, specimen: &mut Specimen, id: &str, state: usize) {
    if let Some(f) = net.factors.iter().position(|f| f.id == id) {
        specimen.factors[f] = state;
    }
    if let Some(o) = net.observations.iter().position(|o| o.id == id) {
        if specimen.observations[o] != state {
            forget(knowledge, specimen, id);
        }
        unfollow(knowledge, specimen, id, state);
        specimen.observations[o] = state;
    }
}

/// Forgets the readings from which another state of an observation would follow.
fn unfollow(knowledge: &Knowledge, specimen: &mut Specimen, observation: &str, state: usize) {
    for follows in knowledge.physics_of(observation).iter().flat_map(|p| &p.follows) {
        let figure = specimen.readings.get(&follows.reading);
        if figure.is_some_and(|figure| follows.with(*figure, state) != state) {
            specimen.readings.shift_remove(&follows.reading);
        }
    }
}

/// Forgets the readings that stand for an observation.
fn forget(knowledge: &Knowledge, specimen: &mut Specimen, observation: &str) {
    for reading in knowledge.readings.iter().filter(|r| bands_it(r, observation)) {
        specimen.readings.shift_remove(&reading.id);
    }
}

/// Sets a reading, and the states that it stands for.
fn measure(
    knowledge: &Knowledge,
    net: &BeliefNet,
    motor: &Motor,
    specimen: &mut Specimen,
    reading: &Reading,
    text: &str,
    value: f64,
) {
    // As a person would read it from the text, so that the two agree to the last digit.
    let value = match Answer::read(knowledge, &reading.id, text) {
        Ok(Answer::Reading { value, .. }) => value,
        _ => value,
    };
    let value = figures::noted(reading, Some(motor), value);
    for (observation, state) in figures::states(knowledge, Some(motor), reading, value).unwrap_or_default() {
        // Another figure for the same thing would be another measurement of another motor.
        forget(knowledge, specimen, &observation);
        set(knowledge, net, specimen, &observation, state);
    }
    specimen.readings.insert(reading.id.clone(), value);
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;

    use super::*;
    use crate::case::BenchUnits;
    use crate::drill::specimen::impossible;
    use crate::drill::task::Task;
    use crate::knowledge::builtin;
    use crate::network::compile;

    /// Whatever a lesson writes, its sheet holds nothing that no motor can be.
    #[test]
    fn no_lesson_contradicts_itself() {
        let k = builtin(&BenchUnits).unwrap();
        let planner = Planner::new(&k, compile(&k).belief().clone()).unwrap();
        let mut lessons: Vec<Lesson> = k.lessons.clone();
        let dead = (k.states("bench-run").unwrap().iter()).position(|(id, _)| *id == "dead").unwrap();
        let stuck = Lesson {
            faults: vec!["brush-stuck".into()],
            shows: vec![("bench-run".into(), dead)],
            readings: vec![],
            told: vec![],
            ..lessons[0].clone()
        };
        // What the physics of a sound motor can't do stands all the same, and then has no speed.
        lessons.push(Lesson { faults: vec![], ..stuck.clone() });
        lessons.push(stuck);
        for lesson in &lessons {
            let motor = k.motor(&lesson.motor).unwrap();
            for seed in 1..=8 {
                let s = Task::of_lesson(&planner, lesson, seed).unwrap().specimen;
                let wrong = impossible(&k, &planner.net, motor, &s);
                assert!(wrong.is_empty(), "{} {seed}: {wrong:#?}", lesson.id);
            }
        }
    }

    /// What is written has to be what such a motor can read: then it agrees with all that is not written.
    #[test]
    fn lessons_write_what_their_motors_can_read() {
        const OFF: f64 = 0.2;
        let k = builtin(&BenchUnits).unwrap();
        let planner = Planner::new(&k, compile(&k).belief().clone()).unwrap();
        let net = &planner.net;
        let mut wrong = Vec::new();
        for lesson in &k.lessons {
            let motor = k.motor(&lesson.motor).unwrap();
            for seed in 1..=3 {
                let task = Task::of_lesson(&planner, lesson, seed).unwrap();
                let mut rng = ChaCha8Rng::seed_from_u64(seed);
                let body = nearest(&k, net, motor, lesson, &task.specimen, &mut rng).unwrap();
                for (id, state) in states(lesson) {
                    if reading_of(&k, &body, id).is_some() && body.state(net, id) != Some(state) {
                        wrong.push(format!(
                            "{} {seed}: {id} is written as {state}, is {:?}, readings {:?}",
                            lesson.id,
                            body.state(net, id),
                            reading_of(&k, &body, id).map(|r| body.readings[&r.id])
                        ));
                    }
                }
                for (id, _, value) in &lesson.readings {
                    let own = body.readings.get(id).copied();
                    if own.is_none_or(|own| (own - value).abs() > OFF * value.abs()) {
                        wrong.push(format!("{} {seed}: {id} is written as {value}, is {own:?}", lesson.id));
                    }
                }
            }
        }
        assert!(wrong.is_empty(), "{wrong:#?}");
    }
}
