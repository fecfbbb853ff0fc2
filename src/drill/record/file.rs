//! The written form of a record.

use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

use super::{Ended, Record, What};
use crate::drill::score::Mark;
use crate::drill::session::{Act, Named};
use crate::knowledge::Knowledge;

/// What the first key of a record says.
pub const FORMAT: &str = "commsense/drill/1";
/// What stands before the number in it.
const STEM: &str = "commsense/drill/";
/// Bytes of the largest record that is read.
const LARGEST: usize = 1 << 20;
/// Acts of the longest lesson that is read.
const MOST_ACTS: usize = 5000;

/// What is wrong with a record, and what would be right.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Problem(pub String);

#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct Raw {
    format: String,
    trainee: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lesson: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    drawn: Option<RawDrawn>,
    seed: u64,
    #[serde(default)]
    acts: Vec<RawAct>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    result: Option<RawEnded>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct RawDrawn {
    level: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    topic: Option<String>,
}

/// An act is a mapping with one key.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
struct RawAct {
    #[serde(skip_serializing_if = "Option::is_none")]
    look: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    enter: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    wait: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    help: Option<RawHelp>,
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<IndexMap<String, f64>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    scope: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cautions: Option<Vec<String>>,
}

#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum RawHelp {
    Hint,
    Coach,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct RawEnded {
    mark: RawMark,
    truth: Vec<String>,
    named: IndexMap<String, f64>,
    minutes: [f64; 2],
    money: [f64; 2],
    risks: usize,
    scope: String,
    best_scope: String,
    cautions_missed: Vec<String>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct RawMark {
    whole: f64,
    passed: bool,
    diagnosis: f64,
    scope: f64,
    cautions: f64,
    safety: f64,
    minutes: f64,
    // Records from before it was kept were marked without it.
    #[serde(default = "certain")]
    support: f64,
    #[serde(default)]
    needed: f64,
}

fn certain() -> f64 {
    1.0
}

/// Reads a record from its written form. Whether its acts can be done is told when they are.
///
/// # Errors
/// [`Problem`] with what would be right.
pub fn read(bytes: &[u8], knowledge: &Knowledge) -> Result<Record, Problem> {
    let wrong = |words: String| Problem(words);
    if bytes.len() > LARGEST {
        return Err(wrong(format!(
            "the file has more than {LARGEST} bytes, which are the most that is read"
        )));
    }
    let text = std::str::from_utf8(bytes).map_err(|_| wrong("this is not UTF-8 text".into()))?;
    #[derive(Deserialize)]
    struct Head {
        format: String,
    }
    let head: Head = serde_yaml::from_str(text)
        .map_err(|_| wrong(format!("this is no record of a lesson; one begins with `format: {FORMAT}`")))?;
    if head.format != FORMAT {
        let newer = head.format.strip_prefix(STEM).and_then(|n| n.parse::<u32>().ok()).is_some_and(|n| n > 1);
        return Err(wrong(match newer {
            true => "this record is newer than this program; it reads format 1. Use a newer program".into(),
            false => format!("this is no record of a lesson; one begins with `format: {FORMAT}`"),
        }));
    }
    let raw: Raw = serde_yaml::from_str(text).map_err(|e| wrong(format!("this can't be read: {e}")))?;
    if raw.acts.len() > MOST_ACTS {
        return Err(wrong(format!("the record has more than {MOST_ACTS} acts")));
    }
    let what = match (raw.lesson, raw.drawn) {
        (Some(lesson), None) => What::Lesson(lesson),
        (None, Some(drawn)) => What::Drawn(drawn.level, drawn.topic),
        _ => return Err(wrong("a record is either of a `lesson` or of a `drawn` motor".into())),
    };
    let mut acts = Vec::new();
    for (place, act) in raw.acts.into_iter().enumerate() {
        let act = act.act().ok_or_else(|| {
            wrong(format!("act {} is not one of look, enter, wait, help, name, scope, cautions", place + 1))
        })?;
        act.check(knowledge).map_err(|why| {
            let near = act.nearest(knowledge).map(|n| format!("; did you mean `{n}`?"));
            wrong(format!("act {}: {why}{}", place + 1, near.unwrap_or_default()))
        })?;
        acts.push(act);
    }
    let result = raw.result.map(RawEnded::ended).transpose()?;
    Ok(Record { trainee: raw.trainee, what, seed: raw.seed, acts, result })
}

/// The written form of a record.
///
/// # Errors
/// [`Problem`], should it not have one.
pub fn write(record: &Record) -> Result<String, Problem> {
    let (lesson, drawn) = match &record.what {
        What::Lesson(id) => (Some(id.clone()), None),
        What::Drawn(level, topic) => (None, Some(RawDrawn { level: *level, topic: topic.clone() })),
    };
    let raw = Raw {
        format: FORMAT.to_owned(),
        trainee: record.trainee.clone(),
        lesson,
        drawn,
        seed: record.seed,
        acts: record.acts.iter().map(RawAct::of).collect(),
        result: record.result.as_ref().map(RawEnded::of),
    };
    serde_yaml::to_string(&raw).map_err(|e| Problem(e.to_string()))
}

impl RawAct {
    fn of(act: &Act) -> RawAct {
        let mut raw = RawAct::default();
        match act {
            Act::Look(id) => raw.look = Some(id.clone()),
            Act::Enter(id) => raw.enter = Some(id.clone()),
            Act::Wait(minutes) => raw.wait = Some(*minutes),
            Act::Hint => raw.help = Some(RawHelp::Hint),
            Act::Coach => raw.help = Some(RawHelp::Coach),
            Act::Name(named) => raw.name = Some(named.iter().map(|n| (n.fault.clone(), n.chance)).collect()),
            Act::Scope(id) => raw.scope = Some(id.clone()),
            Act::Cautions(ids) => raw.cautions = Some(ids.clone()),
        }
        raw
    }

    /// The act, if it is just one.
    fn act(self) -> Option<Act> {
        let named = |m: IndexMap<String, f64>| m.into_iter().map(|(fault, chance)| Named { fault, chance });
        let help = |h| match h {
            RawHelp::Hint => Act::Hint,
            RawHelp::Coach => Act::Coach,
        };
        let all = [
            self.look.map(Act::Look),
            self.enter.map(Act::Enter),
            self.wait.map(Act::Wait),
            self.help.map(help),
            self.name.map(|m| Act::Name(named(m).collect())),
            self.scope.map(Act::Scope),
            self.cautions.map(Act::Cautions),
        ];
        let mut acts = all.into_iter().flatten();
        acts.next().filter(|_| acts.next().is_none())
    }
}

impl RawEnded {
    fn of(ended: &Ended) -> RawEnded {
        let m = ended.mark;
        RawEnded {
            mark: RawMark {
                whole: m.whole,
                passed: m.passed,
                diagnosis: m.diagnosis,
                scope: m.scope,
                cautions: m.cautions,
                safety: m.safety,
                minutes: m.minutes,
                support: m.support,
                needed: m.needed,
            },
            truth: ended.truth.clone(),
            named: ended.named.iter().cloned().collect(),
            minutes: [ended.minutes.0, ended.minutes.1],
            money: [ended.money.0, ended.money.1],
            risks: ended.risks,
            scope: ended.scopes.0.clone(),
            best_scope: ended.scopes.1.clone(),
            cautions_missed: ended.cautions_missed.clone(),
        }
    }

    fn ended(self) -> Result<Ended, Problem> {
        let m = self.mark;
        let numbers = [m.whole, m.diagnosis, m.scope, m.cautions, m.safety, m.minutes, m.support, m.needed];
        let others = self.minutes.iter().chain(&self.money).chain(self.named.values());
        if !numbers.iter().chain(others).all(|x| x.is_finite()) {
            return Err(Problem("a figure of the result is not finite".into()));
        }
        Ok(Ended {
            mark: Mark {
                diagnosis: m.diagnosis,
                scope: m.scope,
                cautions: m.cautions,
                safety: m.safety,
                minutes: m.minutes,
                whole: m.whole,
                support: m.support,
                needed: m.needed,
                passed: m.passed,
            },
            truth: self.truth,
            named: self.named.into_iter().collect(),
            minutes: (self.minutes[0], self.minutes[1]),
            money: (self.money[0], self.money[1]),
            risks: self.risks,
            scopes: (self.scope, self.best_scope),
            cautions_missed: self.cautions_missed,
        })
    }
}
