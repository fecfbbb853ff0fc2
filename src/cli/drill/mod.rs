//! `commsense drill`: motors with a hidden fault, to learn the trade on.

mod instructor;
mod naming;
mod own;
mod pick;
mod stage;
mod talk;

use std::path::{Path, PathBuf};

use super::desk::{Desk, unknown_id};
use super::exit::Failure;
use super::guard;
use super::triage::refused;
use crate::drill::record::{Kept, Next, Progress, Record, RecordError, Shelf, What};
use crate::drill::task::{HARDEST, TaskError};
use crate::knowledge::{Course, Knowledge};
use crate::network;
use crate::plan::assess::Planner;
use crate::present::drill::course;
use crate::present::text::{Styled, Text};

/// What stands at the beginning of its help.
pub const EXAMPLES: &str = "\
Examples:
  commsense drill                        the course, and what comes next
  commsense drill take --trainee anna    take the next lesson, or go on with it
  commsense drill --level 3 --topic winding --seed 7
                                         a motor drawn at will; the same seed draws it again
  commsense drill report --html class.html";

/// Where lessons are kept, unless said otherwise.
const FOLDER: &str = "drill";
/// Whoever gives no name.
const NOBODY: &str = "trainee";

/// The options of `drill`.
#[derive(Debug, clap::Args)]
pub struct Drill {
    /// What to do; without it, the course and what comes next.
    #[command(subcommand)]
    command: Option<Command>,
    /// Whose lessons these are
    #[arg(long, value_name = "NAME", global = true, default_value = NOBODY)]
    trainee: String,
    /// Where lessons are kept, a folder in it for each trainee
    #[arg(long, value_name = "DIR", global = true, default_value = FOLDER)]
    folder: PathBuf,
    /// Draw a motor of this level, 1 to 5, instead of a lesson
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=i64::from(HARDEST)))]
    level: Option<u32>,
    /// Draw a motor of this topic
    #[arg(long, value_name = "TOPIC")]
    topic: Option<String>,
    /// The number of the motor; the same number draws it again
    #[arg(long, value_name = "N", global = true)]
    seed: Option<u64>,
}

/// What can be done.
#[derive(Debug, clap::Subcommand)]
enum Command {
    /// List the lessons, with the marks so far
    #[command(before_help = "Example: commsense drill list --trainee anna", after_help = super::exit::HELP)]
    List {
        /// Print one JSON document
        #[arg(long)]
        json: bool,
    },
    /// Take a lesson, or go on with one that was begun
    #[command(before_help = "Example: commsense drill take tired-truck", after_help = super::exit::HELP)]
    Take {
        /// The lesson; without it, the one that was begun last, or the next one
        lesson: Option<String>,
        /// Begin anew, even if it was begun
        #[arg(long)]
        anew: bool,
    },
    /// Check a lesson that you wrote, with file, line and column
    #[command(before_help = "Example: commsense drill check my-lesson.yaml", after_help = super::exit::HELP)]
    Check {
        /// The file
        file: PathBuf,
    },
    /// Print a lesson or a drawn motor on paper, as a page for a browser
    #[command(
        before_help = "Examples: commsense drill paper tired-truck --answers > answers.html\n          \
                       commsense drill paper --level 3 --seed 7 > motor-7.html",
        after_help = super::exit::HELP
    )]
    Paper {
        /// The lesson, or the file of one that you wrote
        #[arg(required_unless_present_any = ["level", "topic"], conflicts_with_all = ["level", "topic"])]
        lesson: Option<String>,
        /// A drawn motor of this level, 1 to 5, instead of a lesson
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=i64::from(HARDEST)))]
        level: Option<u32>,
        /// A drawn motor of this topic
        #[arg(long, value_name = "TOPIC")]
        topic: Option<String>,
        /// With the answers, for whoever instructs
        #[arg(long)]
        answers: bool,
    },
    /// Say how all trainees of a folder stand
    #[command(before_help = "Example: commsense drill report --html class.html", after_help = super::exit::HELP)]
    Report {
        /// Print one JSON document
        #[arg(long)]
        json: bool,
        /// Write a page for a browser to this file
        #[arg(long, value_name = "FILE")]
        html: Option<PathBuf>,
    },
}

/// Runs it.
///
/// # Errors
/// When the knowledge, a record or a name is wrong, or the lesson is interrupted.
pub fn run(args: &Drill, desk: &Desk) -> Result<(), Failure> {
    if let Some(Command::Check { file }) = &args.command {
        return own::check(file, desk);
    }
    if let Some(Command::Take { lesson: Some(file), .. }) = &args.command
        && own::is_file(file)
    {
        return Err(own::not_to_take(file, desk));
    }
    if let Some(Command::Paper { lesson: Some(file), answers, .. }) = &args.command
        && own::is_file(file)
    {
        let (knowledge, lesson) = own::lesson_of(file, desk)?;
        return instructor::paper(&knowledge, What::Lesson(lesson), args.seed.unwrap_or(1), *answers, desk);
    }
    let knowledge = desk.knowledge()?;
    let school = School { args, desk, knowledge: &knowledge, shelf: Shelf::new(&args.folder) };
    match &args.command {
        None if args.level.is_some() || args.topic.is_some() => school.drawn(),
        None => school.show_course(),
        Some(Command::List { json }) => school.list(*json),
        Some(Command::Take { lesson, anew }) => school.take(lesson.as_deref(), *anew),
        Some(Command::Paper { lesson, level, topic, answers }) => {
            let what = match lesson {
                Some(id) if knowledge.lesson(id).is_none() => return Err(school.no_lesson(id)),
                Some(id) => What::Lesson(id.clone()),
                None => school.drawn_as(*level, topic.as_deref())?,
            };
            instructor::paper(&knowledge, what, args.seed.unwrap_or(1), *answers, desk)
        }
        Some(Command::Report { json, html }) => instructor::report(&school, *json, html.as_deref()),
        Some(Command::Check { .. }) => Ok(()),
    }
}

/// The lessons of one trainee, and where they are kept.
struct School<'a> {
    args: &'a Drill,
    desk: &'a Desk,
    knowledge: &'a Knowledge,
    shelf: Shelf,
}

impl School<'_> {
    /// The first course.
    fn course(&self) -> Result<&Course, Failure> {
        let none = || Failure::input("the knowledge has no course").help("Write one under `courses:`.");
        self.knowledge.courses.first().ok_or_else(none)
    }

    /// The trainee's records; what can't be read is said.
    fn records(&self) -> Result<Vec<Kept>, Failure> {
        let (kept, wrong) = self.shelf.of(&self.args.trainee, self.knowledge).map_err(record_failure)?;
        for problem in wrong {
            let words = format!("A lesson is left out. {problem}");
            self.desk.say(&Text::from(Styled::new().warn(words)))?;
        }
        // What was begun and can't be gone on with must not stand in the way of the rest.
        let (known, lost): (Vec<Kept>, Vec<Kept>) = kept.into_iter().partition(|k| match &k.record.what {
            What::Lesson(id) => k.record.result.is_some() || self.knowledge.lesson(id).is_some(),
            What::Drawn(_, topic) => topic.as_ref().is_none_or(|t| self.knowledge.topic(t).is_some()),
        });
        for Kept { path, record, .. } in lost {
            let words = format!(
                "A lesson is left out. {}: the knowledge has no “{}” any more",
                path.display(),
                record.title(self.knowledge)
            );
            self.desk.say(&Text::from(Styled::new().warn(words)))?;
        }
        Ok(known)
    }

    fn progress(&self, records: &[Kept]) -> Result<Progress, Failure> {
        Ok(Progress::of(records.iter().map(|k| &k.record), self.course()?, self.knowledge))
    }

    fn show_course(&self) -> Result<(), Failure> {
        let records = self.records()?;
        let progress = self.progress(&records)?;
        let begun = records.iter().rev().find(|k| k.record.result.is_none());
        let begun = begun.map(|k| k.record.title(self.knowledge));
        let text = course::overview(
            self.knowledge,
            self.course()?,
            &progress,
            &self.args.trainee,
            begun.as_deref(),
            &self.command("take"),
        );
        self.desk.show(&text)
    }

    fn list(&self, json: bool) -> Result<(), Failure> {
        let records = self.records()?;
        let progress = self.progress(&records)?;
        let course = self.course()?;
        if !json {
            return self.desk.show(&course::list(self.knowledge, course, &progress));
        }
        let document = course::json(self.knowledge, course, &progress, &self.args.trainee);
        self.desk.print(&instructor::document(&document)?)
    }

    fn take(&self, lesson: Option<&str>, anew: bool) -> Result<(), Failure> {
        let records = self.records()?;
        let wanted = match lesson {
            Some(id) if self.knowledge.lesson(id).is_none() => return Err(self.no_lesson(id)),
            Some(id) => Some(What::Lesson(id.to_owned())),
            None => None,
        };
        let same = |k: &&Kept| {
            let seed = self.args.seed.is_none_or(|s| s == k.record.seed);
            k.record.result.is_none() && seed && wanted.as_ref().is_none_or(|w| *w == k.record.what)
        };
        if let Some(begun) = records.iter().rev().find(same).filter(|_| !anew) {
            return self.work(begun.clone(), true);
        }
        let what = match wanted {
            Some(what) => what,
            None => match self.progress(&records)?.next {
                Next::Lesson(id) | Next::Again(id, _) => What::Lesson(id),
                Next::Drawn(level, topic) => What::Drawn(level, topic),
            },
        };
        self.begin(&records, what)
    }

    /// A motor drawn at will, of a topic that exists.
    fn drawn_as(&self, level: Option<u32>, topic: Option<&str>) -> Result<What, Failure> {
        if let Some(topic) = topic
            && self.knowledge.topic(topic).is_none()
        {
            let known: Vec<&str> = self.knowledge.topics.iter().map(|t| t.id.as_str()).collect();
            let failure = unknown_id(self.knowledge, "topic", topic, &known);
            return Err(failure.help(format!("The topics are: {}", known.join(", "))));
        }
        Ok(What::Drawn(level.unwrap_or(1), topic.map(str::to_owned)))
    }

    fn drawn(&self) -> Result<(), Failure> {
        let what = self.drawn_as(self.args.level, self.args.topic.as_deref())?;
        let records = self.records()?;
        let same = |k: &&Kept| {
            let seed = self.args.seed.is_none_or(|s| s == k.record.seed);
            k.record.result.is_none() && seed && k.record.what == what
        };
        match records.iter().rev().find(same) {
            Some(begun) => self.work(begun.clone(), true),
            None => self.begin(&records, what),
        }
    }

    /// Begins a lesson: the same motor for everybody the first time, another one each time after that.
    fn begin(&self, records: &[Kept], what: What) -> Result<(), Failure> {
        let times = records.iter().filter(|k| k.record.what == what).count() as u64;
        let seed = self.args.seed.unwrap_or(times + 1);
        let word = match &what {
            What::Lesson(id) => id.clone(),
            What::Drawn(level, topic) => format!("{}-level-{level}", topic.as_deref().unwrap_or("drawn")),
        };
        let path = self.shelf.next(&self.args.trainee, &word).map_err(record_failure)?;
        self.work(Kept::new(path, Record::new(&self.args.trainee, what, seed)), false)
    }

    fn work(&self, kept: Kept, resumed: bool) -> Result<(), Failure> {
        let Some(mut prompter) = self.desk.prompter() else {
            return Err(Failure::input("there is nobody to take the lesson")
                .help("To take it through a pipe, add --line"));
        };
        let course = self.course()?;
        let network = network::compile(self.knowledge);
        let planner = Planner::new(self.knowledge, network.belief().clone()).map_err(refused)?;
        guard::set_farewell(format!("The lesson is saved. Go on with: {}", self.again(&kept)));
        talk::Talk::new(&planner, course, kept, resumed, prompter.as_mut())?.run(self)
    }

    /// The command that goes on with a lesson.
    fn again(&self, kept: &Kept) -> String {
        match &kept.record.what {
            What::Lesson(id) => self.command(&format!("take {id}")),
            What::Drawn(..) => self.command("take"),
        }
    }

    /// A command line with the options that were given.
    fn command(&self, words: &str) -> String {
        let mut line = format!("commsense drill {words}");
        if self.args.trainee != NOBODY {
            line += &format!(" --trainee {}", self.args.trainee);
        }
        if self.args.folder != Path::new(FOLDER) {
            line += &format!(" --folder {}", word(&self.args.folder.display().to_string()));
        }
        if let Some(folder) = &self.desk.folder {
            line += &format!(" --knowledge {}", word(&folder.display().to_string()));
        }
        line
    }

    fn no_lesson(&self, id: &str) -> Failure {
        let known: Vec<&str> = self.knowledge.lessons.iter().map(|l| l.id.as_str()).collect();
        unknown_id(self.knowledge, "lesson", id, &known).help("See them with: commsense drill list")
    }
}

/// A path as one word of a command line.
fn word(path: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./".contains(c);
    if path.chars().all(plain) { path.to_owned() } else { format!("'{}'", path.replace('\'', "'\\''")) }
}

fn record_failure(error: RecordError) -> Failure {
    let failure = Failure::input(error.to_string());
    match error {
        RecordError::Changed { .. } => failure.help(
            "The lesson is open in another window: go on there. Or close that one and start this one again; it then \
             goes on from what is saved.",
        ),
        _ => failure,
    }
}

fn task_failure(error: TaskError) -> Failure {
    Failure::input(error.to_string()).help("See the lessons with: commsense drill list")
}
