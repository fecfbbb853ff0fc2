//! An examination as text: what to trust first, then the details.

use super::{Sheet, condition_name, give_or_take, headline, kind_name, legends, rate, rate_between, share};
use crate::drill::exam::{Kind, Marks};
use crate::present::text::{Align, Styled, Table, Text, minutes, money, plural};
use crate::present::wording::basis_word;

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
    text.para(Styled::new().muted(legends::INTERVALS));
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
            give_or_take(m.cost),
            share(m.cured.mean),
        ]));
    }
    text.table(2, table);
    text.para(Styled::new().muted(legends::KINDS));
}

fn conditions(sheet: &Sheet, text: &mut Text) {
    if sheet.report.papers.len() < 2 {
        return;
    }
    text.subheading("When the world is not as believed, and people err");
    text.para(Styled::new().muted(legends::CONDITIONS));
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
    let costs = sheet.costs();
    let Some(last) = costs.last() else { return };
    text.subheading("What a motor costs");
    let letters: Vec<String> = ('A'..='Z').map(String::from).take(last.named.len()).collect();
    let mut head = vec![("motors with", Left), ("expert", Right), ("asking", Right), ("work", Right)];
    head.push(("all known", Right));
    head.extend(letters.iter().map(|l| (l.as_str(), Right)));
    head.push(("in hindsight", Left));
    let mut table = Table::new(&head);
    for c in &costs {
        let whole = |of: f64| format!("{of:.0}");
        let mut row =
            vec![c.name().to_owned(), give_or_take(c.expert), whole(c.asking.mean), whole(c.work.mean)];
        row.push(whole(c.knowing.mean));
        row.extend(c.named.iter().map(|rule| give_or_take(rule.cost)));
        let best = c.hindsight.as_ref();
        row.push(best.map_or("-".to_owned(), |rule| super::money::in_a_cell(sheet, rule)));
        table.row(cells(&row));
    }
    text.table(2, table);
    let named = letters.iter().zip(&last.named).map(|(l, rule)| format!("{l}: {}", sheet.rule(rule)));
    let named: Vec<String> = named.collect();
    if !named.is_empty() {
        text.para(
            Styled::new().muted(format!("{}; rules without questions, named beforehand.", named.join(", "))),
        );
    }
    text.para(Styled::new().muted(legends::COSTS));
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
    text.para(Styled::new().muted(legends::SAID));
    let (reliability, resolution, uncertainty) = m.every_fault.murphy();
    text.para(format!(
        "Over all faults: Brier score {:.4} (reliability {reliability:.5}, resolution {resolution:.4}, uncertainty \
         {uncertainty:.4}), surprise {:.3} bits a fault.",
        m.every_fault.brier, m.every_fault.surprise
    ));
    text.para(Styled::new().muted(legends::SCORES));
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
    text.para(Styled::new().muted(legends::FAULTS));
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
            Some(s) => sheet.observation(s.observation).to_owned(),
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
    text.para(Styled::new().muted(legends::CONFUSIONS));
}

fn questions(sheet: &Sheet, text: &mut Text) {
    let asked = |hits: usize, of: usize| hits as f64 / of.max(1) as f64;
    let never: Vec<&str> = (sheet.report.questions.iter())
        .filter(|q| q.asked.hits == 0 && q.worth_asking.hits == 0)
        .map(|q| sheet.row_id(q))
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
                sheet.row_id(row).to_owned(),
                row.asked.hits.to_string(),
                row.worth_asking.hits.to_string(),
                row.worth.map_or("-".to_owned(), money),
            ]));
        }
        text.table(2, table);
        text.para(Styled::new().muted(legends::QUESTIONS));
    }
}

fn numbers(sheet: &Sheet, text: &mut Text) {
    let sensitivity = &sheet.report.sensitivity;
    if sensitivity.endings == 0 {
        return;
    }
    text.subheading("Numbers that decide: find these out first");
    text.para(format!(
        "{} thought through again with each of {} changed by half a unit of log-odds either way. Lost: what going by \
         the wrong number costs in a hundred motors.",
        plural(sensitivity.endings, "recorded consultation", "recorded consultations"),
        plural(sensitivity.weighed, "number", "numbers"),
    ));
    if sensitivity.numbers.is_empty() {
        text.para("No single number changes what is named first, or what is done.");
        return;
    }
    let out: Vec<_> = sensitivity.numbers.iter().filter(|n| n.stands_out).collect();
    if out.is_empty() {
        text.para(format!(
            "None decides more often than chance would have one of so many do: {} changed the name or the work in some \
             consultation, the most frequent in {}. More --endings may tell them apart.",
            plural(sensitivity.numbers.len(), "number", "numbers"),
            sensitivity.numbers.first().map_or("none".to_owned(), |n| n.moved.hits.to_string()),
        ));
        return;
    }
    for n in out.iter().take(NUMBERS) {
        let (entry, list, of) = sheet.number(n.what);
        let (basis, place) = sheet.source(n.what);
        let name = Styled::new().strong(entry).muted(format!(" {list} ")).plain(of);
        text.item(
            2,
            name.plain(": "),
            format!(
                "{} now; another name or other work in {} of {}, {}; {:.1} ± {:.1} lost. {}, {}",
                share(n.value),
                n.moved.hits,
                n.moved.of,
                rate_between(n.moved),
                n.cost.mean * 100.0,
                n.cost.error * 100.0,
                basis.map_or("no basis", basis_word),
                place.unwrap_or_default(),
            ),
        );
    }
    text.para(Styled::new().muted(legends::NUMBERS));
    text.para(Styled::new().muted("Numbers whose brackets overlap are not told apart by this."));
}
