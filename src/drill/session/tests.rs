use super::*;
use crate::case::BenchUnits;
use crate::drill::{coach, debrief, expert};
use crate::knowledge::{Knowledge, builtin};
use crate::network::compile;

fn knowledge() -> Knowledge {
    builtin(&BenchUnits).unwrap()
}

fn planner(k: &Knowledge) -> Planner<'_> {
    Planner::new(k, compile(k).belief().clone()).unwrap()
}

fn task<'k>(p: &Planner<'k>, id: &str) -> Task<'k> {
    Task::of_lesson(p, p.knowledge.lesson(id).unwrap(), 1).unwrap()
}

fn look(id: &str) -> Act {
    Act::Look(id.to_owned())
}

fn one(id: &str, state: usize) -> Answers<'_> {
    let odd = if state > 0 { vec![id] } else { Vec::new() };
    Answers { given: vec![(id, Answer::State(state))], odd, ..Answers::default() }
}

fn enter(id: &str) -> Act {
    Act::Enter(id.to_owned())
}

/// In every lesson of the course, an expert finds out what is wrong, takes no risk, and chooses work that may be
/// done and is close to the best.
#[test]
fn the_expert_passes_every_lesson() {
    let k = knowledge();
    let p = planner(&k);
    let course = &k.courses[0];
    let mut failed = Vec::new();
    for id in &course.lessons {
        let session = expert::walk(&p, task(&p, id)).unwrap();
        let d = debrief::debrief(&session, course).unwrap();
        let line = format!(
            "{id}: {:?} named {:?} scope {:?} best {:?} {:.0} min risks {} mark {:.2} acts {:?}",
            d.truth,
            d.named,
            session.scope(),
            d.best.as_ref().map(|b| b.scope),
            session.minutes(),
            session.risks(),
            d.mark.whole,
            session.done().iter().map(|x| format!("{:?}", x.act)).collect::<Vec<_>>()
        );
        println!("{line}");
        if !d.mark.passed || session.risks() > 0 {
            failed.push(line);
        }
    }
    assert!(failed.is_empty(), "{failed:#?}");
}

#[test]
fn the_same_seed_makes_the_same_motor() {
    let k = knowledge();
    let p = planner(&k);
    for lesson in &k.lessons {
        let draw = |seed| Task::of_lesson(&p, lesson, seed).unwrap();
        assert_eq!(draw(5).specimen, draw(5).specimen, "{}", lesson.id);
        assert_eq!(draw(5).story, draw(5).story);
    }
    for level in 1..=5 {
        let draw = |seed| Task::drawn(&p, level, Some("winding"), seed).unwrap();
        let (a, b) = (draw(3), draw(3));
        assert_eq!((&a.specimen, &a.story, &a.motor.id), (&b.specimen, &b.story, &b.motor.id), "{level}");
        let others = (4..20).filter(|s| draw(*s).specimen != a.specimen).count();
        assert_eq!(others, 16, "another number is another motor");
    }
    assert!(Task::drawn(&p, 6, None, 1).is_err());
    assert!(Task::drawn(&p, 1, Some("nothing"), 1).is_err());
}

#[test]
fn drawn_motors_are_as_hard_as_their_level() {
    let k = knowledge();
    let p = planner(&k);
    for seed in 0..30 {
        let count = |level| Task::drawn(&p, level, None, seed).unwrap().specimen.count();
        assert_eq!((count(1), count(2), count(5)), (1, 1, 2));
        assert!(count(3) <= 1 && (1..=2).contains(&count(4)));
        let hard = Task::drawn(&p, 5, None, seed).unwrap();
        for lie in &hard.misleading {
            let truth = hard.specimen.answer(&k, &p.net, None, &lie.answer);
            assert_ne!(truth, Some(Answer::State(lie.says)), "a lie is not the truth");
        }
        let task = Task::drawn(&p, 2, Some("bearings"), seed).unwrap();
        let fault = k.fault(task.truth(&p.net)[0]).unwrap();
        assert!(["bearings", "magnets"].contains(&fault.group.as_str()));
        assert!(!task.cautions.is_empty() || fault.group == "outside", "{}", fault.id);
    }
}

#[test]
fn a_look_costs_minutes_once_and_is_answered_as_the_lesson_says() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "tired-truck"));
    assert_eq!(s.case().answers.len(), 2, "what was told stands on the ticket");
    let done = s.act(look("hours-since-service")).unwrap().clone();
    assert_eq!(done.outcome, Outcome::Answered(one("hours-since-service", 2)));
    assert!((done.minutes - 0.4).abs() < 1e-12);
    let again = s.act(look("hours-since-service")).unwrap();
    assert_eq!((&again.outcome, again.minutes), (&Outcome::Again(one("hours-since-service", 2)), 0.0));
    assert_eq!(s.act(look("brush-length")), Err(Refusal::TooEarly { stage: "brushes-out".into() }));
    assert!(matches!(s.act(look("brush-lenght")), Err(Refusal::Unknown { .. })));
    assert_eq!(look("brush-lenght").nearest(&k), Some("brush-length"));
    s.act(enter("brushes-out")).unwrap();
    let done = s.act(look("brush-length")).unwrap();
    assert!(
        matches!(done.outcome.answers(), [(_, Answer::Reading { text, .. })] if text == "3.9 mm"),
        "{done:?}"
    );
    assert_eq!(s.act(enter("bench")), Err(Refusal::Passed { stage: "bench".into() }));
}

#[test]
fn what_a_stage_wipes_out_is_gone() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "faster-backwards"));
    s.act(enter("bench")).unwrap();
    s.act(look("end-bell-screws")).unwrap();
    let done = s.act(enter("end-bell-off")).unwrap().clone();
    let Outcome::Entered(lost) = &done.outcome else { panic!("{done:?}") };
    assert!(lost.contains(&"timing-mark".to_owned()), "{lost:?}");
    assert!(!lost.contains(&"end-bell-screws".to_owned()), "it was looked at");
    let gone = s.act(look("timing-mark")).unwrap();
    assert!(matches!(gone.outcome, Outcome::Gone(_)) && gone.minutes == 0.0);
    assert_eq!(s.traps(), [0], "opened before the mark was read");
    // The rest of the look is still to be had, and the mark is no part of it any more.
    s.act(look("outside-of-the-can")).unwrap();
    let offer = s.offers().into_iter().find(|o| o.id == "outside-of-the-can").unwrap();
    let Standing::Had(answers) = &offer.standing else { panic!("{:?}", offer.standing) };
    let has = |id: &str| answers.iter().any(|a| a.0 == id);
    assert!(has("end-bell-screws") && has("rust-outside") && !has("timing-mark"), "{answers:?}");
}

#[test]
fn the_hand_is_stopped_before_harm() {
    let k = knowledge();
    let p = planner(&k);
    let mut wet = Session::new(&p, task(&p, "after-the-pond"));
    wet.act(enter("bench")).unwrap();
    let done = wet.act(enter("powered")).unwrap();
    assert!(matches!(done.outcome, Outcome::Stopped(reason) if reason.contains("wet")), "{done:?}");
    assert_eq!((wet.risks(), wet.stage()), (1, 1));
    assert_eq!(wet.traps(), [0], "a trap, though the hand was stopped");
    // Past the bench supply the way is free.
    wet.act(enter("brushes-out")).unwrap();
    let mut shut = Session::new(&p, task(&p, "closed-for-good"));
    shut.act(enter("bench")).unwrap();
    let done = shut.act(enter("brushes-out")).unwrap();
    assert!(matches!(done.outcome, Outcome::Stopped(_)), "{done:?}");
    assert_eq!(shut.stage(), 1);
}

#[test]
fn owners_are_wrong_where_the_lesson_says_so() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "hot-hill-climber"));
    let said = s.act(look("load-raised")).unwrap();
    assert_eq!(said.outcome, Outcome::Answered(one("load-raised", 0)));
    let f = p.net.factors.iter().position(|f| f.id == "load-raised").unwrap();
    assert_eq!(s.task.specimen.factors[f], 2);
}

#[test]
fn replaying_the_acts_is_the_same_session() {
    let k = knowledge();
    let p = planner(&k);
    let session = expert::walk(&p, task(&p, "squealing-boat")).unwrap();
    let acts: Vec<Act> = session.done().iter().map(|d| d.act.clone()).collect();
    let again = Session::replay(&p, task(&p, "squealing-boat"), &acts).unwrap();
    assert_eq!(again.done(), session.done());
    assert!(again.is_over() && again.minutes() > 10.0);
    let mut over = again;
    assert_eq!(over.act(Act::Hint), Err(Refusal::Over));
    let (place, why) =
        Session::replay(&p, task(&p, "squealing-boat"), &[Act::Hint, look("x")]).err().unwrap();
    assert_eq!((place, why.to_string().as_str()), (1, "there is no question `x`"));
}

#[test]
fn chances_and_ids_are_checked_before_they_count() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "tired-truck"));
    let name = |fault: &str, chance| Named { fault: fault.into(), chance };
    for bad in [
        vec![name("brush-worn", 1.5)],
        vec![name("brush-worn", f64::NAN)],
        vec![name("brush-worn", 0.5), name("brush-worn", 0.2)],
        vec![name("no-such-fault", 0.5)],
    ] {
        assert!(s.act(Act::Name(bad)).is_err());
    }
    assert!(s.act(Act::Scope("no-scope".into())).is_err());
    assert!(s.act(Act::Cautions(vec!["no-caution".into()])).is_err());
    assert!(s.done().is_empty());
}

#[test]
fn the_coach_says_what_an_expert_would_do_and_what_a_wrong_turn_cost() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "faster-backwards"));
    s.act(enter("bench")).unwrap();
    assert!(coach::wrong_turn(&s).unwrap().is_none(), "the way to the bench is the expert's too");
    s.act(enter("end-bell-off")).unwrap();
    let turn = coach::wrong_turn(&s).unwrap().expect("the timing mark was worth a look");
    assert!(turn.lost.contains(&"timing-mark".to_owned()), "{:?}", turn.lost);
    let mut s = Session::new(&p, task(&p, "after-the-winter"));
    let (_, advice) = coach::advise(&s).unwrap();
    assert!(!matches!(advice, coach::Advice::Decide(_)), "{advice:?}");
    s.act(enter("bench")).unwrap();
    s.act(look("known-good-motor-same-trouble")).unwrap();
    let turn = coach::wrong_turn(&s).unwrap().expect("a look that tells nothing");
    assert!(turn.bits.unwrap() < 0.5 && turn.minutes > 0.0, "{turn:?}");
}

#[test]
fn the_debriefing_sets_statement_beside_evidence() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "tired-truck"));
    // Named at once, without a look.
    s.act(Act::Name(vec![Named { fault: "brush-worn".into(), chance: 0.9 }])).unwrap();
    s.act(Act::Scope("replace".into())).unwrap();
    s.act(Act::Cautions(vec!["springs-fly".into()])).unwrap();
    let d = debrief::debrief(&s, &k.courses[0]).unwrap();
    assert_eq!(d.truth, ["brush-worn"]);
    let supported = d.supported.iter().find(|x| x.0 == "brush-worn").unwrap().1;
    assert!(supported < 0.5, "{supported}");
    let settles = d.settles.unwrap();
    assert_eq!((settles.id.as_str(), settles.gone), ("brush-length", false));
    assert!(settles.support > 0.85);
    assert_eq!(d.best.unwrap().scope, "brush-service");
    assert!(d.mark.scope < 1.0 && (d.mark.diagnosis - 0.99).abs() < 1e-12);
    assert!((d.mark.support - supported).abs() < 1e-12 && !d.mark.is_sound() && !d.mark.passed, "a guess");
    assert_eq!(d.cautions_missed, ["carbon-dust"]);
    assert_eq!(d.traps.len(), 1, "replaced for two brushes");
    // Weights of evidence add up to how far the odds moved.
    let expert = &d.expert.rows;
    let sum: f64 = expert.iter().map(|r| r.decibans).sum();
    let odds = |p: f64| (p / (1.0 - p)).log10();
    assert!((sum - 10.0 * (odds(expert.last().unwrap().support) - odds(supported))).abs() < 1e-6);
}

/// Whoever does what the coach says, and names what the evidence then says, passes the first lessons.
#[test]
fn whoever_follows_the_coach_passes() {
    let k = knowledge();
    let p = planner(&k);
    for (id, seed) in [("tired-truck", 2), ("squealing-boat", 2), ("faster-backwards", 2)] {
        let task = Task::of_lesson(&p, k.lesson(id).unwrap(), seed).unwrap();
        let mut s = Session::new(&p, task);
        let (named, scope) = loop {
            let (assessment, advice) = coach::advise(&s).unwrap();
            let named = expert::named(&assessment);
            drop(assessment);
            let act = match advice {
                coach::Advice::Look(id, _) | coach::Advice::Check(id, ..) => {
                    assert!(s.offers().iter().any(|o| o.id == id), "{id} stands on no list");
                    Act::Look(id)
                }
                coach::Advice::Wait(minutes, _) => Act::Wait(minutes.ceil() as u32),
                coach::Advice::Enter(stage, goal, questions) => {
                    // What the coach looks forward to can be had where it says.
                    for ask in questions.iter().map(|v| v.candidate.ask) {
                        let first = k.stage_index(&ask.stage).unwrap();
                        assert!((first..=stages::last(&k, ask)).contains(&goal), "{} {goal}", ask.question);
                    }
                    assert!(stage <= goal, "{stage} {goal}");
                    Act::Enter(k.stages[stage].id.clone())
                }
                coach::Advice::Decide(scope) => break (named, scope.unwrap().id),
            };
            let done = s.act(act).unwrap();
            assert!(
                matches!(done.outcome, Outcome::Answered(_) | Outcome::Entered(_) | Outcome::Noted),
                "{done:?}"
            );
        };
        s.act(Act::Name(named)).unwrap();
        s.act(Act::Scope(scope)).unwrap();
        s.act(Act::Cautions(s.task.cautions.clone())).unwrap();
        let d = debrief::debrief(&s, &k.courses[0]).unwrap();
        assert!(d.mark.passed && d.mark.is_sound(), "{id}: {:?}", d.mark);
        let named: Vec<&str> = d.named.iter().filter(|n| n.1 >= 0.5).map(|n| n.0.as_str()).collect();
        assert_eq!(named, d.truth.iter().map(String::as_str).collect::<Vec<_>>(), "{id}");
    }
}

#[test]
fn a_look_answers_all_of_its_questions_and_costs_no_more_than_they_do() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "tired-truck"));
    let brushes = k.look("brushes-and-hoods").unwrap();
    assert_eq!(s.act(look(&brushes.id)), Err(Refusal::TooEarly { stage: "brushes-out".into() }));
    s.act(enter("brushes-out")).unwrap();
    s.act(look("brush-face")).unwrap();
    let done = s.act(look(&brushes.id)).unwrap().clone();
    let ids: Vec<&str> = done.outcome.answers().iter().map(|(id, _)| *id).collect();
    assert!(ids.contains(&"brush-length") && ids.contains(&"brush-grade"), "{ids:?}");
    assert!(!ids.contains(&"brush-face"), "what is known is not looked at again");
    assert!(done.minutes <= brushes.minutes && done.minutes > 0.0);
    let length = done.outcome.answers().iter().find(|(id, _)| *id == "brush-length").unwrap();
    assert!(matches!(&length.1, Answer::Reading { text, .. } if text == "3.9 mm"));
    assert_eq!(s.meaning("brush-length"), Some((2, "Below the limit: under 5 mm")));
    let again = s.act(look(&brushes.id)).unwrap();
    assert!(matches!(again.outcome, Outcome::Again(_)) && again.minutes == 0.0);
    assert_eq!(again.outcome.answers().len(), brushes.observations.len());
    assert!(!s.offers().iter().any(|o| o.id == "brush-length"), "its look stands for it");
    // What another answer of the same look rules out is not answered.
    let mut task = task(&p, "tired-truck");
    let o = |id: &str| p.net.observations.iter().position(|o| o.id == id).unwrap();
    task.specimen.observations[o("bench-run")] = 2;
    let mut s = Session::new(&p, task);
    s.act(enter("bench")).unwrap();
    s.act(enter("powered")).unwrap();
    let done = s.act(look("run-on-the-supply")).unwrap().clone();
    let Outcome::Answered(answers) = &done.outcome else { panic!("{done:?}") };
    for (id, _) in &answers.fallen {
        assert!(!s.case().answers.contains_key(*id), "{id}");
        assert!(!answers.given.iter().any(|g| g.0 == *id), "{id}");
    }
    assert!(answers.fallen.iter().any(|f| f.0 == "bench-sparking"), "{:?}", answers.fallen);
}

#[test]
fn a_hot_motor_is_not_opened() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "hot-hill-climber"));
    s.act(enter("bench")).unwrap();
    let done = s.act(enter("end-bell-off")).unwrap();
    assert!(matches!(done.outcome, Outcome::Stopped(why) if why.contains("cool")), "{done:?}");
    assert_eq!((s.risks(), s.stage()), (1, 1));
    assert!(s.too_soon("brushes-out").is_some() && s.too_soon("powered").is_none());
    assert_eq!(s.act(Act::Wait(0)), Err(Refusal::Wait(0)));
    s.act(Act::Wait(30)).unwrap();
    let done = s.act(enter("brushes-out")).unwrap();
    assert!(matches!(done.outcome, Outcome::Entered(_)), "{done:?}");
    assert_eq!(s.risks(), 1);
}

/// Who powers a motor without knowing that it turns, is dry and not shorted has taken a risk, even if it goes well.
#[test]
fn a_gate_that_was_not_asked_is_a_risk() {
    let k = knowledge();
    let p = planner(&k);
    let mut bold = Session::new(&p, task(&p, "tired-truck"));
    bold.act(enter("bench")).unwrap();
    assert_eq!(bold.risks(), 0, "nothing forbids the bench");
    let done = bold.act(enter("powered")).unwrap().clone();
    assert!(matches!(done.outcome, Outcome::Entered(_)) && done.is_risk(), "{done:?}");
    assert!(done.unasked.contains(&"rotation-by-hand"), "{done:?}");
    let d = debrief::debrief(&bold, &k.courses[0]).unwrap();
    assert!((d.own.risks, d.mark.safety < 1.0) == (1, true), "{:?}", d.mark);
    let mut careful = Session::new(&p, task(&p, "tired-truck"));
    for act in [enter("bench"), look("in-the-hand"), look("ohms-at-the-terminals"), enter("powered")] {
        careful.act(act).unwrap();
    }
    assert_eq!(careful.risks(), 0);
    // Past the supply nothing of this matters.
    let mut past = Session::new(&p, task(&p, "tired-truck"));
    past.act(enter("bench")).unwrap();
    past.act(enter("brushes-out")).unwrap();
    assert_eq!(past.risks(), 0);
}

/// Whether a motor can be opened is what its data say, so that the expert's hand is never stopped there.
#[test]
fn drawn_motors_are_built_as_their_data_say_and_the_expert_takes_no_risk() {
    let k = knowledge();
    let p = planner(&k);
    let f = p.net.factors.iter().position(|f| f.id == "can-construction").unwrap();
    let crimped = p.net.factors[f].states.iter().position(|s| s == "crimped").unwrap();
    for seed in 0..40 {
        let task = Task::drawn(&p, 2, None, seed).unwrap();
        assert_eq!(task.specimen.factors[f] != crimped, task.motor.rebuildable, "{seed} {}", task.motor.id);
    }
    for seed in 0..4 {
        let walk = expert::walk(&p, Task::drawn(&p, 2, Some("bearings"), seed).unwrap()).unwrap();
        assert_eq!(walk.risks(), 0, "{seed}: {:?}", walk.done());
    }
}

/// With the armature out nobody turns the rotor any more: of the looks only what can still be done is offered.
#[test]
fn what_is_left_of_a_look_is_offered_by_its_own_name() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "tired-truck"));
    for stage in ["bench", "brushes-out", "end-bell-off", "armature-out"] {
        s.act(enter(stage)).unwrap();
    }
    let open: Vec<&str> = s.offers().iter().filter(|o| o.standing == Standing::Open).map(|o| o.id).collect();
    assert!(!open.contains(&"in-the-hand") && !open.contains(&"ohms-at-the-terminals"), "{open:?}");
    assert!(open.contains(&"insulation-resistance") && open.contains(&"outside-dirt"), "{open:?}");
}

#[test]
fn the_coach_has_grounds_and_stops_when_nothing_can_change() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "tired-truck"));
    // The expert's own path.
    let master = expert::walk(&p, task(&p, "tired-truck")).unwrap();
    let acts = master.done().iter().map(|d| d.act.clone());
    for act in acts.filter(|act| matches!(act, Act::Look(_) | Act::Enter(_))) {
        s.act(act).unwrap();
    }
    let (assessment, advice) = coach::advise(&s).unwrap();
    assert!(matches!(advice, coach::Advice::Decide(_)), "{advice:?}");
    let top = coach::as_good_as_certain(&assessment).unwrap();
    assert_eq!(p.net.faults[top].id, "brush-worn");
    let grounds = coach::grounds(&assessment).unwrap();
    assert!(grounds.iter().any(|g| g.answer == "brush-length"), "{grounds:?}");
    // What is opened after that tells nothing more, and costs.
    for stage in ["end-bell-off", "armature-out"] {
        s.act(enter(stage)).unwrap();
    }
    let idle = debrief::debrief(&s, &k.courses[0]).unwrap().idle.expect("two stages for nothing");
    assert_eq!((idle.after, idle.stages), (look("brushes-and-hoods"), 2));
    assert!(idle.minutes >= 10.0 && idle.money > 0.0 && idle.support > 0.95);
}

/// A fault inside the motor and one outside: the debriefing says what each work does, and what it leaves.
#[test]
fn what_a_work_leaves_as_it_is_is_said() {
    let k = knowledge();
    let p = planner(&k);
    let mut task = task(&p, "squealing-boat");
    let drive = p.net.faults.iter().position(|f| f.id == "drivetrain-binding").unwrap();
    task.specimen.faults[drive] = true;
    let list = crate::drill::scopes::verdicts(&p, &task, 0);
    let leaves = |id: &str| list.iter().find(|v| v.scope == id).unwrap().remains.clone();
    assert_eq!(leaves("clean"), Vec::<String>::new(), "what lies outside may come with it");
    assert_eq!(leaves("not-the-motor"), ["bearing-dry"]);
    let faults = ["bearing-dry", "drivetrain-binding"];
    let does = |scope| crate::drill::scopes::handles(&p, task.motor, scope, &faults);
    assert!(does("clean").iter().all(Option::is_some), "{:?}", does("clean"));
    assert_eq!(does("not-the-motor").iter().map(Option::is_some).collect::<Vec<_>>(), [false, true]);
}

/// What a wet motor would have shown on the supply was nobody's to see; and all cautions of the work are told.
#[test]
fn nobody_is_reproached_for_what_lay_behind_a_forbidden_door() {
    let k = knowledge();
    let p = planner(&k);
    let mut s = Session::new(&p, task(&p, "after-the-pond"));
    for stage in ["bench", "brushes-out", "end-bell-off"] {
        s.act(enter(stage)).unwrap();
    }
    s.act(Act::Name(vec![Named { fault: "commutator-corroded".into(), chance: 0.9 }])).unwrap();
    s.act(Act::Scope("clean".into())).unwrap();
    s.act(Act::Cautions(vec!["springs-fly".into()])).unwrap();
    let d = debrief::debrief(&s, &k.courses[0]).unwrap();
    // The bad signs in the hand are gone with the brushes out; those on the supply do not count.
    let stage = |id: &String| k.ask(id).unwrap().stage.as_str();
    assert!(!d.own.destroyed.is_empty());
    assert!(d.own.destroyed.iter().all(|id| stage(id) != "powered"), "{:?}", d.own.destroyed);
    // Opening and closing have cautions too, and come before those of the repairs.
    assert_eq!(d.cautions_of_work[0], "lithium-packs");
    for id in ["springs-fly", "magnets-pinch", "solvents"] {
        assert!(d.cautions_of_work.iter().any(|c| c == id), "{id}: {:?}", d.cautions_of_work);
    }
}
