//! An examination as one JSON document, `commsense/assess/1`.

use serde_json::{Map, Value, json};

use super::Sheet;
use crate::drill::exam::{Calibration, Condition, Marks, Rate, Spread};

/// Writes the result.
pub fn write(sheet: &Sheet) -> Value {
    let report = sheet.report;
    let scope_id = |s: usize| sheet.knowledge.scopes[s].id.as_str();
    json!({
        "format": "commsense/assess/1",
        "runs": report.plan.runs,
        "seed": report.plan.seed,
        "consultations": report.plan.consultations(),
        "conditions": report.papers.iter().map(|p| json!({
            "condition": condition(&p.condition),
            "kinds": p.marks.iter().map(|m| marks(sheet, m)).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "faults": report.faults.iter().map(|f| json!({
            "id": sheet.fault_id(f.fault), "name": sheet.fault(f.fault), "drawn": f.first.of,
            "first": rate(f.first), "in_three": rate(f.three), "mean_place": f.rank,
            "mean_questions": f.questions, "mean_probability": f.said,
        })).collect::<Vec<_>>(),
        "confusions": report.confusions.iter().map(|c| json!({
            "truth": sheet.fault_id(c.truth), "named": sheet.fault_id(c.named), "rate": rate(c.rate),
            "separator": c.separator.as_ref().map(|s| json!({
                "observation": sheet.net.observations[s.observation].id,
                "difference": s.difference, "unasked": s.unasked,
            })),
        })).collect::<Vec<_>>(),
        "questions": report.questions.iter().map(|q| json!({
            "id": sheet.row_id(q), "name": sheet.row_name(q), "look": q.look.is_some(),
            "questions": q.questions.iter().map(|one| sheet.question_id(*one)).collect::<Vec<_>>(),
            "asked": rate(q.asked), "worth_asking": rate(q.worth_asking), "mean_worth": q.worth,
        })).collect::<Vec<_>>(),
        "sensitivity": {
            "endings": report.sensitivity.endings,
            "weighed": report.sensitivity.weighed,
            "moved_by_log_odds": crate::drill::exam::MOVED_BY,
            "numbers": report.sensitivity.numbers.iter().map(|n| {
                let (entry, list, of) = sheet.number(n.what);
                let (basis, place) = sheet.source(n.what);
                json!({
                    "entry": entry, "list": list, "of": if of.is_empty() { Value::Null } else { of.into() },
                    "value": n.value, "first_changes": n.first.share(), "scope_changes": n.scope.share(),
                    "cost": n.cost.mean, "cost_standard_error": n.cost.error,
                    "moved": rate(n.moved), "stands_out": n.stands_out,
                    "basis": basis.map(crate::present::wording::basis_word), "place": place,
                })
            }).collect::<Vec<_>>(),
        },
        "scopes": (0..sheet.knowledge.scopes.len()).map(scope_id).collect::<Vec<_>>(),
    })
}

fn condition(c: &Condition) -> Value {
    json!({"careless": c.careless, "sigma": c.sigma, "physics": c.physics})
}

fn marks(sheet: &Sheet, m: &Marks) -> Value {
    let scopes = &sheet.knowledge.scopes;
    let by_scope = |value: &dyn Fn(usize) -> Value| -> Map<String, Value> {
        scopes.iter().enumerate().map(|(i, s)| (s.id.clone(), value(i))).collect()
    };
    json!({
        "kind": m.kind.word(),
        "motors": m.motors,
        "first": rate(m.first),
        "in_three": rate(m.three),
        "false_alarm": rate(m.false_alarm),
        "questions": spread(m.questions),
        "minutes": spread(m.minutes),
        "cured": spread(m.cured),
        "cost": spread(m.cost),
        "cost_asking": spread(m.asking),
        "cost_work": spread(m.work),
        "cost_over_always": by_scope(&|i| spread(m.over_always[i])),
        "cost_knowing": spread(m.knowing),
        "cost_always": by_scope(&|i| spread(m.always[i])),
        "proposed": by_scope(&|i| m.proposed[i].into()),
        "limits_broken": rate(m.broken),
        "forbidden_in_truth": rate(m.forbidden),
        "first_if_all_asked": rate(m.all_asked),
        "taken_back": m.taken_back,
        "calibration": {"first_named": calibration(&m.first_named), "every_fault": calibration(&m.every_fault)},
    })
}

fn rate(r: Rate) -> Value {
    let interval = r.interval().map(|(low, high)| json!([low, high]));
    json!({"hits": r.hits, "of": r.of, "share": r.share(), "interval_95": interval})
}

fn spread(s: Spread) -> Value {
    json!({"mean": s.mean, "standard_error": s.error})
}

fn calibration(c: &Calibration) -> Value {
    let (reliability, resolution, uncertainty) = c.murphy();
    json!({
        "statements": c.count,
        "expected_error": c.expected_error(),
        "greatest_error": c.greatest_error(),
        "brier": c.brier,
        "reliability": reliability,
        "resolution": resolution,
        "uncertainty": uncertainty,
        "surprise_bits": c.surprise,
        "bins": c.bins.iter().map(|b| json!({
            "count": b.count, "said": b.said, "true": b.true_share,
        })).collect::<Vec<_>>(),
    })
}
