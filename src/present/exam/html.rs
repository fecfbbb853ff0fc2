//! An examination as one page for a browser or for paper: no scripts, nothing fetched, pictures inside.

use maud::{Markup, PreEscaped, html};

use super::{
    Sheet, condition_name, give_or_take, headline, kind_name, legends, pictures, rate, rate_between, share,
};
use crate::drill::exam::{Kind, Marks};
use crate::present::svg::text::clean;
use crate::present::text::{minutes, money};
use crate::present::wording::basis_word;

/// The style of the page: plain tables, one column, black on white on paper.
const STYLE: &str = "\
:root{color-scheme:light}\
body{font:16px/1.5 Helvetica,Arial,'Liberation Sans','DejaVu Sans',sans-serif;color:#23262B;background:#FBFAF6;\
margin:0 auto;padding:1.5rem;max-width:60rem}\
h1{font-size:1.7rem;margin:.2rem 0}h2{font-size:1.2rem;margin:2rem 0 .4rem;border-bottom:2px solid #DDD8CA}\
table{border-collapse:collapse;margin:.5rem 0;width:100%;font-variant-numeric:tabular-nums}\
caption{text-align:left;color:#4D525A;padding:.2rem 0}\
th,td{padding:.25rem .6rem;text-align:left;vertical-align:top;border-bottom:1px solid #DDD8CA}\
thead th{background:#F1EEE5}tbody th{font-weight:normal}.n{text-align:right}\
.box{border-left:.4rem solid #1D57A8;background:#fff;padding:.3rem 1rem;margin:.6rem 0}\
.box.doubt{border-left-color:#B5460F}\
figure{margin:1rem 0}figure svg{max-width:100%;height:auto}.pair{display:flex;flex-wrap:wrap;gap:1rem}\
.pair figure{flex:1 1 20rem;margin:0}.wide{overflow-x:auto}\
code{font-family:ui-monospace,'DejaVu Sans Mono',monospace;font-size:.92em}\
@media print{body{background:#fff;max-width:none;padding:0;font-size:10pt}h2{break-after:avoid}\
table,figure,.box{break-inside:avoid}.long{break-inside:auto}.wide{overflow:visible}tr{break-inside:avoid}}";

/// A table column: its head, and whether it holds numbers.
type Column<'a> = (&'a str, bool);

/// The page.
pub fn page(sheet: &Sheet) -> String {
    let (trust, doubt) = headline(sheet);
    let plan = &sheet.report.plan;
    let title = "The expert examined";
    let body = html! {
        header {
            h1 { (title) }
            p {
                (plan.consultations()) " consultations; " (plan.runs) " motors of each kind under each condition; seed "
                (plan.seed) "."
            }
        }
        main {
            section aria-labelledby="trust" {
                h2 id="trust" { "What to trust" }
                div class="box" { ul { @for line in &trust { li { (said(line)) } } } }
                h2 id="doubt" { "What not to trust" }
                div class="box doubt" { ul { @for line in &doubt { li { (said(line)) } } } }
                p { (legends::INTERVALS) }
            }
            (kinds(sheet))
            (conditions(sheet))
            (costs(sheet))
            (calibration(sheet))
            (faults(sheet))
            (confusions(sheet))
            (questions(sheet))
            (numbers(sheet))
        }
    };
    html! {
        (PreEscaped("<!DOCTYPE html>\n"))
        html lang="en" xmlns="http://www.w3.org/1999/xhtml" {
            head {
                (PreEscaped("<meta charset=\"utf-8\"/><meta name=\"viewport\" content=\"width=device-width\"/>"))
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body { (body) }
        }
    }
    .into_string()
}

/// Text from the knowledge, made harmless for any reader.
fn said(text: &str) -> String {
    clean(text)
}

fn table(caption: &str, columns: &[Column], rows: Vec<Vec<Markup>>) -> Markup {
    let number = |i: usize| columns.get(i).is_some_and(|c| c.1).then_some("n");
    html! {
        div class="wide" {
            table class=[(rows.len() > 15).then_some("long")] {
                caption { (caption) }
                thead { tr { @for (i, c) in columns.iter().enumerate() { th scope="col" class=[number(i)] { (c.0) } } } }
                tbody {
                    @for row in &rows {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @if i == 0 { th scope="row" class=[number(i)] { (cell) } }
                                @else { td class=[number(i)] { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn row(cells: &[String]) -> Vec<Markup> {
    cells.iter().map(|c| html! { (said(c)) }).collect()
}

fn kinds(sheet: &Sheet) -> Markup {
    let Some(paper) = sheet.report.papers.first() else { return html! {} };
    let rows = paper.marks.iter().map(|m| {
        row(&[
            kind_name(m.kind).to_owned(),
            rate_between(m.first),
            rate_between(m.three),
            rate(m.all_asked),
            rate(m.false_alarm),
            format!("{:.1}", m.questions.mean),
            minutes(m.minutes.mean),
            give_or_take(m.cost),
            share(m.cured.mean),
        ])
    });
    let columns = [
        ("motors with", false),
        ("first", true),
        ("in the first three", true),
        ("first if all were asked", true),
        ("false alarms", true),
        ("questions", true),
        ("time", true),
        ("cost", true),
        ("cured", true),
    ];
    html! {
        section {
            h2 { "By kind of motor" }
            (table(&format!("Condition: {}. {}", condition_name(&paper.condition), legends::KINDS), &columns,
                rows.collect()))
        }
    }
}

fn costs(sheet: &Sheet) -> Markup {
    let all = sheet.costs();
    let Some(last) = all.last() else { return html! {} };
    let names: Vec<String> = last.named.iter().map(|rule| sheet.rule(rule)).collect();
    let mut columns = vec![("motors with", false), ("expert", true), ("asking", true), ("work", true)];
    columns.push(("all known", true));
    columns.extend(names.iter().map(|name| (name.as_str(), true)));
    columns.push(("in hindsight", false));
    let rows = all.iter().map(|c| {
        let mut cells = vec![c.name().to_owned(), give_or_take(c.expert), give_or_take(c.asking)];
        cells.extend([give_or_take(c.work), give_or_take(c.knowing)]);
        cells.extend(c.named.iter().map(|rule| give_or_take(rule.cost)));
        let best = c.hindsight.as_ref();
        cells.push(
            best.map_or("-".to_owned(), |rule| format!("{}: {}", sheet.rule(rule), give_or_take(rule.cost))),
        );
        row(&cells)
    });
    html! {
        section {
            h2 { "What a motor costs" }
            figure { (PreEscaped(pictures::costs(sheet))) }
            (table(legends::COSTS, &columns, rows.collect()))
        }
    }
}

fn conditions(sheet: &Sheet) -> Markup {
    if sheet.report.papers.len() < 2 {
        return html! {};
    }
    let of = |m: Option<&Marks>, f: &dyn Fn(&Marks) -> String| m.map_or("-".to_owned(), f);
    let rows = sheet.report.papers.iter().map(|paper| {
        let kind = |kind: Kind| paper.marks.iter().find(|m| m.kind == kind);
        let shown = kind(Kind::OneFault).or(paper.marks.first());
        row(&[
            condition_name(&paper.condition),
            of(kind(Kind::OneFault), &|m| rate_between(m.first)),
            of(kind(Kind::OneFault), &|m| rate_between(m.three)),
            of(kind(Kind::TwoFaults), &|m| rate_between(m.three)),
            of(kind(Kind::Healthy), &|m| rate(m.false_alarm)),
            of(shown, &|m| format!("{:.1}", m.questions.mean)),
            of(kind(Kind::AsTheyCome).or(shown), &|m| {
                format!("{:.1}", m.first_named.expected_error() * 100.0)
            }),
            of(shown, &|m| money(m.cost.mean.round())),
        ])
    });
    let columns = [
        ("condition", false),
        ("one fault: first", true),
        ("one fault: in three", true),
        ("two faults: in three", true),
        ("false alarms", true),
        ("questions", true),
        ("calibration error, points", true),
        ("cost", true),
    ];
    html! {
        section {
            h2 { "When the world is not as believed, and people err" }
            (table("The same motors under each condition, as far as the condition lets them be the same.", &columns,
                rows.collect()))
        }
    }
}

fn calibration(sheet: &Sheet) -> Markup {
    let Some(m) = sheet.calibrated() else { return html! {} };
    let (reliability, resolution, uncertainty) = m.every_fault.murphy();
    html! {
        section {
            h2 { "What is said, and what is true (" (kind_name(m.kind)) ")" }
            div class="pair" {
                figure { (PreEscaped(pictures::calibration(&m.first_named, "The fault named first"))) }
                figure { (PreEscaped(pictures::calibration(&m.every_fault, "Every fault"))) }
            }
            p {
                "Over all faults: Brier score " (format!("{:.4}", m.every_fault.brier)) " (reliability "
                (format!("{reliability:.5}")) ", resolution " (format!("{resolution:.4}")) ", uncertainty "
                (format!("{uncertainty:.4}")) "); surprise " (format!("{:.3}", m.every_fault.surprise)) " bits a fault."
            }
            p { (legends::SCORES) }
        }
    }
}

fn faults(sheet: &Sheet) -> Markup {
    if sheet.report.faults.is_empty() {
        return html! {};
    }
    let rows = sheet.report.faults.iter().map(|f| {
        row(&[
            sheet.fault(f.fault).to_owned(),
            f.first.of.to_string(),
            rate_between(f.first),
            rate(f.three),
            format!("{:.1}", f.rank),
            share(f.said),
            format!("{:.1}", f.questions),
        ])
    });
    let columns = [
        ("fault", false),
        ("drawn", true),
        ("first", true),
        ("in three", true),
        ("mean place", true),
        ("mean probability", true),
        ("questions", true),
    ];
    html! {
        section {
            h2 { "Fault by fault" }
            figure { (PreEscaped(pictures::faults(sheet))) }
            (table(&format!("The hardest to find first. {}", legends::FAULTS), &columns, rows.collect()))
        }
    }
}

fn confusions(sheet: &Sheet) -> Markup {
    if sheet.report.confusions.is_empty() {
        return html! {};
    }
    let rows = sheet.report.confusions.iter().map(|c| {
        let (apart, difference) = match &c.separator {
            Some(s) => (sheet.observation(s.observation).to_owned(), format!("{:.2}", s.difference)),
            None => ("nothing that is left".to_owned(), "-".to_owned()),
        };
        row(&[
            sheet.fault(c.truth).to_owned(),
            sheet.fault(c.named).to_owned(),
            format!("{} of {}", c.rate.hits, c.rate.of),
            apart,
            difference,
        ])
    });
    let columns = [
        ("it was", false),
        ("named was", false),
        ("times", true),
        ("not asked, would tell them apart", false),
        ("difference", true),
    ];
    html! {
        section {
            h2 { "Faults that are taken for others" }
            figure { (PreEscaped(pictures::confusions(sheet))) }
            (table(&format!("{} Difference: of the chances of its answers with either fault alone, 0 to 1.",
                legends::CONFUSIONS), &columns, rows.collect()))
        }
    }
}

fn questions(sheet: &Sheet) -> Markup {
    let rows = sheet.report.questions.iter().map(|q| {
        row(&[
            sheet.row_name(q).to_owned(),
            sheet.row_id(q).to_owned(),
            rate(q.asked),
            rate(q.worth_asking),
            q.worth.map_or("-".to_owned(), money),
        ])
    });
    let columns = [
        ("question", false),
        ("id", false),
        ("asked", true),
        ("worth asking", true),
        ("mean worth then", true),
    ];
    html! {
        section {
            h2 { "Questions" }
            (table(&format!("Of all consultations under the first condition; the least asked first. {}",
                legends::QUESTIONS), &columns, rows.collect()))
        }
    }
}

fn numbers(sheet: &Sheet) -> Markup {
    let sensitivity = &sheet.report.sensitivity;
    if sensitivity.endings == 0 {
        return html! {};
    }
    let rows: Vec<_> = (sensitivity.numbers.iter().filter(|n| n.stands_out).take(60))
        .map(|n| {
            let (entry, list, of) = sheet.number(n.what);
            let (basis, place) = sheet.source(n.what);
            row(&[
                entry,
                format!("{list} {of}").trim().to_owned(),
                share(n.value),
                format!("{} of {}: {}", n.moved.hits, n.moved.of, rate_between(n.moved)),
                format!("{:.1} ± {:.1}", n.cost.mean * 100.0, n.cost.error * 100.0),
                basis.map_or("none", basis_word).to_owned(),
                place.unwrap_or_default(),
            ])
        })
        .collect();
    let columns = [
        ("entry", false),
        ("number", false),
        ("now", true),
        ("another name or other work", true),
        ("lost in 100 motors", true),
        ("basis", false),
        ("where", false),
    ];
    let caption = format!(
        "{} recorded consultations thought through again with each of {} numbers changed by half a unit of log-odds \
         either way. {} Numbers whose brackets overlap are not told apart by this.",
        sensitivity.endings,
        sensitivity.weighed,
        legends::NUMBERS
    );
    html! {
        section {
            h2 { "Numbers that decide: find these out first" }
            @if rows.is_empty() {
                p { "None decides more often than chance would have one of so many do. More endings may tell them apart." }
            } @else { (table(&caption, &columns, rows)) }
        }
    }
}
