//! The result as one JSON document, `commsense/triage/1`.

use serde_json::{Map, Value, json};

use super::{AnswerRow, NextRow, Outlook, Report};

/// Writes a result; `motor` and `stage` are the ids it was made for.
pub fn write(report: &Report, motor: Option<&str>, stage: &str) -> Value {
    let evidence: Vec<Value> = (report.evidence.iter())
        .flat_map(|(fault, list)| list.iter().map(move |s| (fault, s)))
        .map(|(fault, s)| json!({"fault": fault, "answer": s.answer, "decibans": finite(s.decibans)}))
        .collect();
    json!({
        "format": "commsense/triage/1",
        "motor": motor,
        "stage": stage,
        "answers": report.answers.iter().map(answer).collect::<Vec<_>>(),
        "faults": report.faults.iter().map(|f| json!({
            "id": f.id, "name": f.name, "probability": f.probability, "prior": f.prior,
        })).collect::<Vec<_>>(),
        "healthy": report.healthy,
        "log10_evidence": report.log10_evidence,
        "conflict": report.agreement.conflict,
        "evidence": evidence,
        "next": next(&report.outlook).iter().map(question).collect::<Vec<_>>(),
        "scopes": report.scopes.iter().map(|s| json!({
            "id": s.id, "expected_cost": s.expected_cost, "minutes": s.minutes, "parts": s.parts,
            "success": s.success, "blocked": s.blocked,
        })).collect::<Vec<_>>(),
        "repairs": report.repairs.iter().map(|r| &r.id).collect::<Vec<_>>(),
        "cautions": report.cautions.iter().map(|c| json!({
            "id": c.id, "before": c.before, "text": c.text,
        })).collect::<Vec<_>>(),
        "warnings": report.warnings.iter().map(|w| json!({"id": w.id, "text": w.text})).collect::<Vec<_>>(),
    })
}

fn next(outlook: &Outlook) -> &[NextRow] {
    match outlook {
        Outlook::Ask(list) | Outlook::Open(_, list) => list,
        Outlook::Stop(_) => &[],
    }
}

fn question(row: &NextRow) -> Value {
    let mut value = json!({
        "id": row.id, "question": row.question, "stage": row.stage, "minutes": row.minutes, "worth": row.worth,
    });
    if let Some(look) = &row.look {
        value["look"] = json!(look.id);
        value["with"] = json!(look.with);
    }
    value
}

fn answer(row: &AnswerRow) -> Value {
    let mut map = Map::new();
    map.insert("id".into(), json!(row.id));
    map.insert(if row.reading { "reading" } else { "state" }.into(), json!(row.value));
    if !row.bands.is_empty() {
        let bands: Map<String, Value> = row.bands.iter().map(|(s, w)| (s.clone(), json!(w))).collect();
        map.insert("bands".into(), Value::Object(bands));
    }
    Value::Object(map)
}

/// JSON has no infinity: an answer that settles a fault weighs as much as double precision can tell.
fn finite(decibans: f64) -> f64 {
    decibans.clamp(-3000.0, 3000.0)
}
