//! A measurement as one JSON document, `commsense/measure/1`.

use serde_json::{Map, Value, json};

use super::{Sheet, meant, taken};
use crate::bench;
use crate::case::{Answer, evidence, of_bench};
use crate::knowledge::Basis;

/// Writes an outcome with its head.
pub fn write(sheet: &Sheet) -> Value {
    let (answers, refused) = taken(sheet.knowledge, sheet.of, sheet.outcome);
    let mut observations: Map<String, Value> = Map::new();
    let mut warnings = sheet.outcome.warnings.clone();
    warnings.extend(refused);
    for taken in &answers {
        match &taken.answer {
            Answer::Reading { value, deviation, .. } => {
                let Some(reading) = sheet.knowledge.reading(&taken.id) else { continue };
                match evidence::bands(sheet.knowledge, sheet.motor, reading, *value, *deviation) {
                    Ok(all) => all.into_iter().for_each(|band| {
                        observations.entry(band.observation.clone()).or_insert(weights(
                            sheet,
                            &band.observation,
                            &band.weights,
                        ));
                    }),
                    Err(why) => warnings.push(why),
                }
            }
            Answer::State(index) => {
                let count = sheet.knowledge.states(&taken.id).map_or(0, |s| s.len());
                let one: Vec<f64> = (0..count).map(|i| f64::from(u8::from(i == *index))).collect();
                observations.entry(taken.id.clone()).or_insert(weights(sheet, &taken.id, &one));
            }
            Answer::Unknown => {}
        }
    }
    let limits: Vec<Value> = (sheet.outcome.limits.iter())
        .map(|g| {
            let kind = of_bench(g.kind);
            let (value, unit) = bench::in_usual_unit(kind, g.value);
            json!({"id": g.id, "value": value, "unit": unit, "basis": basis(&g.basis)})
        })
        .collect();
    let cautions: Vec<Value> = (sheet.of.cautions.iter())
        .filter_map(|id| sheet.knowledge.caution(id))
        .map(|c| json!({"id": c.id, "text": c.text}))
        .collect();
    let findings: Vec<Value> = meant(sheet.of, sheet.outcome)
        .map(|f| json!({"word": f.word, "says": f.says, "fault": f.fault}))
        .collect();
    let readings: Map<String, Value> = (answers.iter())
        .filter(|t| matches!(t.answer, Answer::Reading { .. }))
        .map(|t| (t.id.clone(), json!(t.text)))
        .collect();
    let mut document = Map::new();
    for (key, value) in [
        ("format", json!("commsense/measure/1")),
        ("test", json!(sheet.of.id)),
        ("motor", json!(sheet.motor.map(|m| &m.id))),
        ("verdict", json!(sheet.outcome.verdict)),
        ("says", json!(sheet.outcome.headline)),
        ("observations", Value::Object(observations)),
        ("readings", Value::Object(readings)),
        ("limits", json!(limits)),
        ("cautions", json!(cautions)),
        ("findings", json!(findings)),
        ("warnings", json!(warnings)),
    ] {
        document.insert(key.into(), value);
    }
    document.extend(sheet.outcome.keys.clone());
    Value::Object(document)
}

/// The states of an observation with their weights.
fn weights(sheet: &Sheet, observation: &str, weights: &[f64]) -> Value {
    let states = sheet.knowledge.states(observation).unwrap_or_default();
    let map: Map<String, Value> =
        states.iter().zip(weights).map(|((id, _), w)| ((*id).to_owned(), json!(w))).collect();
    Value::Object(map)
}

/// Where a number comes from, in a word or the id of its source.
pub fn basis(basis: &Basis) -> &str {
    match basis {
        Basis::Source(id) => id,
        Basis::CommonPractice => "common practice",
        Basis::FromMemory => "from memory",
        Basis::Judgement => "judgement",
        Basis::Measured => "measured",
    }
}
