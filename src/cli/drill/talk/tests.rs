//! A trainee who does anything that is offered: no screen may be too long or too wide, and nothing may fail.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::*;
use crate::case::BenchUnits;
use crate::cli::prompt::AskError;
use crate::cli::prompt::line::sheet;
use crate::drill::record::{Record, What, read, write};
use crate::drill::session::Named;
use crate::knowledge::builtin;
use crate::network::compile;
use crate::present::text::{Page, width};

const PAGE: usize = 80;
/// Lines of a small terminal, less the one where the answer is typed.
const LINES: usize = 23;

/// Replies by chance, and measures every screen.
struct Anybody {
    rng: ChaCha8Rng,
    since: String,
    asked: usize,
    /// What is replied to questions of these ids, where it matters.
    coach: bool,
}

impl Anybody {
    fn measure(&self, what: &str, screen: &str) {
        let lines = screen.lines().count();
        assert!(lines <= LINES, "{what} has {lines} lines:\n{screen}");
        for line in screen.lines() {
            assert!(width(line) <= PAGE, "{what}: {line}");
        }
    }
}

impl Prompter for Anybody {
    fn ask(&mut self, prompt: &Prompt) -> Result<Reply, AskError> {
        for page in [Page::plain(PAGE), Page::words(PAGE)] {
            let screen = self.since.clone() + &sheet(prompt).render(&page);
            self.measure(&prompt.id, screen.trim_start_matches('\n'));
        }
        self.since.clear();
        self.asked += 1;
        let of = |id: &str| prompt.choices.iter().position(|c| c.id == id);
        // Whoever only turns back sees nothing; whoever names the fault at once neither.
        let shun = ["name", "no", if self.coach { "" } else { "coach" }];
        loop {
            let i = self.rng.random_range(0..prompt.choices.len());
            let id = prompt.choices[i].id.as_str();
            let rarely = self.rng.random::<f64>() < 0.04;
            if !shun.contains(&id) || (rarely && id != "coach") || prompt.choices.len() == 1 {
                return Ok(Reply::Choice(if prompt.id == "cautions" && self.asked.is_multiple_of(5) {
                    of("done").unwrap_or(i)
                } else {
                    i
                }));
            }
        }
    }

    fn say(&mut self, text: &Text) -> Result<(), AskError> {
        self.since += &text.render(&Page::plain(PAGE));
        Ok(())
    }

    fn show(&mut self, text: &Text) -> Result<(), AskError> {
        self.say(text)
    }
}

#[test]
fn every_screen_of_every_lesson_fits_whatever_is_done() {
    let knowledge = builtin(&BenchUnits).unwrap();
    let planner = Planner::new(&knowledge, compile(&knowledge).belief().clone()).unwrap();
    let course = &knowledge.courses[0];
    let lessons = knowledge.lessons.iter().map(|l| What::Lesson(l.id.clone()));
    let drawn = (1..=5).map(|level| What::Drawn(level, None));
    let folder = tempfile::tempdir().unwrap();
    let mut ended = 0;
    for (n, what) in lessons.chain(drawn).enumerate() {
        let seed = n as u64 + 1;
        let record = Record::new("anybody", what, seed);
        let kept = Kept::new(folder.path().join(format!("{n}.yaml")), record);
        let rng = ChaCha8Rng::seed_from_u64(seed);
        // The coach takes long without optimisation; some lessons are enough for him.
        let mut anybody = Anybody { rng, since: String::new(), asked: 0, coach: n % 9 == 0 };
        let mut talk = Talk::new(&planner, course, kept, false, &mut anybody).unwrap();
        let title = talk.kept.record.title(&knowledge);
        let brief = task::brief(&knowledge, &talk.session.task, &title);
        talk.page(brief).unwrap();
        if let Some(words) = task::words(&talk.session.task) {
            talk.page(words).unwrap();
        }
        let mut turns = 0;
        while turns < 40 && talk.menu().unwrap() == Turn::Again {
            turns += 1;
        }
        // What is on the disk is what was done.
        let kept = read(write(&talk.kept.record).unwrap().as_bytes(), &knowledge).unwrap();
        let on_disk = std::fs::read(&talk.kept.path).map(|bytes| read(&bytes, &knowledge).unwrap());
        if let Ok(on_disk) = on_disk {
            assert_eq!(on_disk, kept);
        }
        let acts: Vec<Act> = talk.session.done().iter().map(|d| d.act.clone()).collect();
        let again = Session::replay(&planner, kept.task(&planner).unwrap(), &acts).unwrap();
        assert_eq!(again.done(), talk.session.done());
        if n % 5 == 1 {
            ended += 1;
            let faults = knowledge.faults.iter().step_by(7);
            let named = faults.map(|f| Named { fault: f.id.clone(), chance: 0.5 }).collect();
            for act in [Act::Name(named), Act::Scope("full-rebuild".into()), Act::Cautions(Vec::new())] {
                // Refused where the walk has brought the lesson to its end already.
                let _ = talk.session.act(act);
            }
            let debrief = debrief(&talk.session, course).unwrap();
            for page in pages::pages(&knowledge, &debrief, &talk.session.task) {
                talk.page(page).unwrap();
            }
        }
    }
    assert!(ended > 3, "some lessons were brought to their end");
}
