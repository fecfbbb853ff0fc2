//! An examination as text: what to trust first, then the details.

use super::{Sheet, condition_name, headline, kind_name, rate, share};
use crate::drill::exam::{Kind, Marks};
use crate::present::text::{Align, Styled, Table, Text, minutes, money, plural};

use Align::{Left, Right};

/// Rows of the longer tables; the other forms have all of them.
const ROWS: usize = 12;
/// Numbers that are listed.
const NUMBERS: usize = 20;
/// A question that is put in fewer consultations than this is listed.
const HARDLY: f64 = 0.01;

/// The whole result.
pub fn sheet(sheet: &Sheet) -> Text {
    let mut text = Text::new();
    text.heading(Styled::new().title("The expert examined"));
    let plan = &sheet.report.plan;
    text.para(format!(
        "{} with {} of each kind, seed {}.",
        plural(plan.consultations(), "consultation", "consultations"),
        plural(plan.runs, "motor", "motors"),
        plan.seed
    ));
    let (trust, doubt) = headline(sheet);
    text.subheading("What to trust");
    for line in &trust {
        text.item(2, "- ", line.as_str());
    }
    text.subheading("What not to trust");
    for line in &doubt {
        text.item(2, Styled::new().warn("! "), line.as_str());
    }
    kinds(sheet, &mut text);
    conditions(sheet, &mut text);
    costs(sheet, &mut text);
    calibration(sheet, &mut text);
    faults(sheet, &mut text);
    confusions(sheet, &mut text);
    questions(sheet, &mut text);
    numbers(sheet, &mut text);
    text
}

fn cells(cells: &[String]) -> Vec<Styled> {
    cells.iter().map(Styled::from).collect()
}

fn kinds(sheet: &Sheet, text: &mut Text) {
    let Some(paper) = sheet.report.papers.first() else { return };
    text.subheading(format!("By kind of motor ({})", condition_name(&paper.condition)));
    let mut table = Table::new(&[
        ("motors with", Left),
        ("first", Right),
        ("in three", Right),
        ("all asked", Right),
        ("asked", Right),
        ("time", Right),
        ("cost", Right),
        ("cured", Right),
    ]);
    for m in &paper.marks {
        table.row(cells(&[
            kind_name(m.kind).to_owned(),
            rate(m.first),
            rate(m.three),
            rate(m.all_asked),
            format!("{:.1}", m.questions.mean),
            minutes(m.minutes.mean),
            money(m.cost.mean.round()),
            share(m.cured.mean),
        ]));
    }
    text.table(2, table);
    text.para("all asked: would stand first if every question of every stage had been asked.");
}

fn conditions(sheet: &Sheet, text: &mut Text) {
    if sheet.report.papers.len() < 2 {
        return;
    }
    text.subheading("When the world is not as believed, and people err");
    text.para(
        "one, two: motors with one fault and with two. off: by how many points what is said of the fault named first \
         and what is true differ.",
    );
    let mut table = Table::new(&[
        ("condition", Left),
        ("one first", Right),
        ("one in three", Right),
        ("two in three", Right),
        ("asked", Right),
        ("off", Right),
        ("cost", Right),
    ]);
    for paper in &sheet.report.papers {
        let of = |kind: Kind| paper.marks.iter().find(|m| m.kind == kind);
        let shown = of(Kind::OneFault).or(paper.marks.first());
        let any = of(Kind::AsTheyCome).or(shown);
        let show = |m: Option<&Marks>, f: &dyn Fn(&Marks) -> String| m.map_or("-".to_owned(), f);
        table.row(cells(&[
            condition_name(&paper.condition),
            show(of(Kind::OneFault), &|m| rate(m.first)),
            show(of(Kind::OneFault), &|m| rate(m.three)),
            show(of(Kind::TwoFaults), &|m| rate(m.three)),
            show(shown, &|m| format!("{:.1}", m.questions.mean)),
            show(any, &|m| format!("{:.1}", m.first_named.expected_error() * 100.0)),
            show(shown, &|m| money(m.cost.mean.round())),
        ]));
    }
    text.table(2, table);
}

fn costs(sheet: &Sheet, text: &mut Text) {
    text.subheading("What a motor costs, all kinds together");
    let mut table = Table::new(&[("", Left), ("cost", Right)]);
    for (name, cost) in sheet.costs() {
        table.row(vec![name.as_str().into(), money(cost.round()).into()]);
    }
    text.table(2, table);
}

fn calibration(sheet: &Sheet, text: &mut Text) {
    let Some(m) = sheet.calibrated() else { return };
    text.subheading(format!("What is said of a fault, and what is true ({})", kind_name(m.kind)));
    let mut table = Table::new(&[
        ("fault named first: said", Right),
        ("true", Right),
        ("times", Right),
        ("any fault: said", Right),
        ("true", Right),
        ("times", Right),
    ]);
    for (one, every) in m.first_named.bins.iter().zip(&m.every_fault.bins) {
        let mut row = Vec::new();
        for bin in [one, every] {
            row.extend(match bin.count {
                0 => ["-".to_owned(), "-".to_owned(), "0".to_owned()],
                n => [share(bin.said), share(bin.true_share), n.to_string()],
            });
        }
        table.row(cells(&row));
    }
    text.table(2, table);
    let (reliability, resolution, uncertainty) = m.every_fault.murphy();
    text.para(format!(
        "Over all faults: Brier score {:.4} (reliability {reliability:.5}, resolution {resolution:.4}, uncertainty \
         {uncertainty:.4}), surprise {:.3} bits a fault.",
        m.every_fault.brier, m.every_fault.surprise
    ));
}

fn faults(sheet: &Sheet, text: &mut Text) {
    if sheet.report.faults.is_empty() {
        return;
    }
    text.subheading("Faults that are hardest to find, when they are alone");
    let mut table = Table::new(&[
        ("fault", Left),
        ("drawn", Right),
        ("first", Right),
        ("in three", Right),
        ("mean place", Right),
        ("asked", Right),
    ]);
    for row in sheet.report.faults.iter().take(ROWS) {
        let mut line = vec![Styled::new().fault(sheet.fault(row.fault))];
        line.extend(cells(&[
            row.first.of.to_string(),
            rate(row.first),
            rate(row.three),
            format!("{:.1}", row.rank),
            format!("{:.1}", row.questions),
        ]));
        table.row(line);
    }
    text.table(2, table);
}

fn confusions(sheet: &Sheet, text: &mut Text) {
    if sheet.report.confusions.is_empty() {
        return;
    }
    text.subheading("Faults that are taken for others");
    let mut table = Table::new(&[
        ("it was", Left),
        ("named was", Left),
        ("times", Right),
        ("not asked, tells them apart", Left),
    ]);
    for pair in sheet.report.confusions.iter().take(ROWS) {
        let apart = match &pair.separator {
            Some(s) => sheet.net.observations[s.observation].id.clone(),
            None => "nothing that is left".to_owned(),
        };
        table.row(vec![
            Styled::new().fault(sheet.fault(pair.truth)),
            Styled::new().fault(sheet.fault(pair.named)),
            format!("{} of {}", pair.rate.hits, pair.rate.of).into(),
            apart.into(),
        ]);
    }
    text.table(2, table);
}

fn questions(sheet: &Sheet, text: &mut Text) {
    let asked = |hits: usize, of: usize| hits as f64 / of.max(1) as f64;
    let never: Vec<&str> = (sheet.report.questions.iter())
        .filter(|q| q.asked.hits == 0 && q.worth_asking.hits == 0)
        .map(|q| sheet.question_id(q.question))
        .collect();
    let hardly: Vec<_> = (sheet.report.questions.iter())
        .filter(|q| q.worth_asking.hits > 0 && asked(q.asked.hits, q.asked.of) < HARDLY)
        .collect();
    if !never.is_empty() {
        text.subheading("Questions that were never worth asking");
        text.flow(2, never.iter().copied());
    }
    if !hardly.is_empty() {
        text.subheading("Questions that were hardly asked (in fewer than one consultation of a hundred)");
        let mut table = Table::new(&[
            ("question", Left),
            ("asked", Right),
            ("worth asking", Right),
            ("worth then", Right),
        ]);
        for row in hardly.iter().take(2 * ROWS) {
            table.row(cells(&[
                sheet.question_id(row.question).to_owned(),
                row.asked.hits.to_string(),
                row.worth_asking.hits.to_string(),
                row.worth.map_or("-".to_owned(), money),
            ]));
        }
        text.table(2, table);
    }
}

fn numbers(sheet: &Sheet, text: &mut Text) {
    let sensitivity = &sheet.report.sensitivity;
    if sensitivity.endings == 0 {
        return;
    }
    text.subheading("Numbers that decide most: find these out first");
    text.para(format!(
        "{} thought through again with one number changed by half a unit of log-odds either way. Lost: what going by the \
         wrong number costs in a hundred motors.",
        plural(sensitivity.endings, "recorded consultation", "recorded consultations")
    ));
    if sensitivity.numbers.is_empty() {
        text.para("No single number changes what is named first, or what is done.");
        return;
    }
    let mut table = Table::new(&[
        ("number", Left),
        ("now", Right),
        ("other first", Right),
        ("other work", Right),
        ("lost", Right),
    ]);
    for n in sensitivity.numbers.iter().take(NUMBERS) {
        let (entry, list, of) = sheet.number(n.what);
        table.row(vec![
            Styled::from(entry).muted(format!(" {list} ")).plain(of),
            share(n.value).into(),
            share(n.first).into(),
            share(n.scope).into(),
            money((n.cost * 1000.0).round() / 10.0).into(),
        ]);
    }
    text.table(2, table);
}
