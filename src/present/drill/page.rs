//! Pages for a browser and for paper: what they all have, and the class report.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::course::points;
use super::report::{Row, means, next, others, passed};
use super::{caution_name, fault_name};
use crate::drill::score::Bin;
use crate::knowledge::{Course, Knowledge};

const STYLE: &str = "\
body{font:15px/1.45 Georgia,serif;max-width:52rem;margin:2rem auto;padding:0 1rem;color:#111;background:#fff}\
h1{font-size:1.6rem;border-bottom:2px solid #111}h2{font-size:1.15rem;margin-top:1.8rem}\
table{border-collapse:collapse;width:100%;margin:.6rem 0}\
th,td{border:1px solid #888;padding:.25rem .45rem;text-align:left;vertical-align:top}\
th{background:#eee}td.n,th.n{text-align:right}.m{color:#555;font-size:.9em}\
.caution{border-left:5px solid #b00;padding:.2rem .7rem;margin:.6rem 0;background:#fbeeee}\
.box{border:1px solid #888;padding:.5rem .8rem;margin:.8rem 0}.line{border-bottom:1px solid #888;height:1.6rem}\
@media print{body{margin:0;max-width:none}h2{break-after:avoid}tr{break-inside:avoid}.new{break-before:page}}";

/// A whole page that stands alone.
pub(super) fn page(title: &str, body: Markup) -> String {
    let document = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body { h1 { (title) } (body) }
        }
    };
    document.into_string()
}

/// The class report.
pub fn class(knowledge: &Knowledge, course: &Course, rows: &[Row]) -> String {
    let figure = |x: Option<f64>| x.map_or("–".to_owned(), |x| format!("{x:.2}"));
    let body = html! {
        p { (course.title) ". A lesson is passed from " (points(course.pass)) " points of 100 on." }
        @if rows.is_empty() { p { "No trainee has begun a lesson in this folder." } }
        @else {
            h2 { "The class" }
            table {
                tr { th { "Trainee" } th.n { "Passed" } th.n { "Ended" } th.n { "Risks" } th.n { "Pace" }
                     th.n { "Brier" } th.n { "Off by" } th { "Next" } }
                @for (name, p) in rows {
                    tr {
                        td { (name) } td.n { (passed(p)) "/" (p.lessons.len()) } td.n { (p.ended) }
                        td.n { (p.risks) } td.n { (p.pace.map_or("–".to_owned(), |x| format!("{x:.1}×"))) }
                        td.n { (figure(p.brier)) } td.n { (figure(p.calibration_error)) } td { (next(&p.next)) }
                    }
                }
            }
            p.m { "Pace: minutes over the expert's. Brier: mean squared error of stated chances, 0 is perfect. \
                   Off by: how far stated chances lie from what came true." }
            h2 { "Marks by lesson" }
            table {
                tr { th { "Lesson" } @for (name, _) in rows { th.n { (name) } } th.n { "Mean" } }
                @let means = means(rows);
                @for id in course.lessons.iter().map(String::as_str).chain(others(rows)) {
                    tr {
                        td { (knowledge.lesson(id).map_or(id, |l| l.title.as_str()))
                             @if !course.lessons.iter().any(|l| l == id) { span.m { " (not in the course)" } } }
                        @for (_, p) in rows {
                            td.n { (p.mark_of(id).map_or("–".to_owned(), |(mark, ok)| {
                                format!("{}{}", points(mark), if ok { "" } else { " *" })
                            })) }
                        }
                        td.n { (means.iter().find(|m| m.0 == id).map_or("–".to_owned(), |m| points(m.1))) }
                    }
                }
            }
            p.m { "* not passed" }
            @for (name, p) in rows {
                @if p.ended > 0 {
                    h2 { (name) }
                    (calibration(&p.calibration))
                    @if !p.confusions.is_empty() {
                        ul { @for c in &p.confusions {
                            li { "takes “" (fault_name(knowledge, &c.there)) "” for “"
                                 (fault_name(knowledge, &c.named)) "” (" (c.times) "×)" }
                        } }
                    }
                    @if !p.cautions_missed.is_empty() {
                        p { "Cautions missed: " (p.cautions_missed.iter()
                            .map(|(id, n)| format!("{} ({n})", caution_name(knowledge, id)))
                            .collect::<Vec<_>>().join(", ")) "." }
                    }
                }
            }
        }
    };
    page("Class report", body)
}

/// Stated chances against what came true, as a picture.
fn calibration(bins: &[Bin]) -> Markup {
    let at = |p: f64| 10.0 + p.clamp(0.0, 1.0) * 180.0;
    html! {
        @if bins.is_empty() { p.m { "No chances were stated yet." } }
        @else {
            svg viewBox="0 0 200 215" width="220" height="237" role="img" aria-label="Stated chances and what came true" {
                rect x="10" y="10" width="180" height="180" fill="none" stroke="#888" {}
                line x1="10" y1="190" x2="190" y2="10" stroke="#bbb" {}
                @for b in bins {
                    circle cx=(format!("{:.1}", at(b.said))) cy=(format!("{:.1}", 200.0 - at(b.came)))
                        r=(format!("{:.1}", 3.0 + (b.count as f64).sqrt())) fill="#357" fill-opacity="0.7" {}
                }
                text x="10" y="207" font-size="10" { "said 0 %" }
                text x="190" y="207" font-size="10" text-anchor="end" { "100 %" }
            }
            table {
                tr { th.n { "said" } th.n { "came true" } th.n { "statements" } }
                @for b in bins {
                    tr { td.n { (points(b.said)) " %" } td.n { (points(b.came)) " %" } td.n { (b.count) } }
                }
            }
        }
    }
}
