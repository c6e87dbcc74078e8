use super::*;
use recipe_model::TimedEvent;
use trial::{AlertSlot, Verdict};

/// The view without what an undo may change.
fn shown(run: &Run) -> RunView {
    let mut view = run.view();
    view.undo = None;
    view
}

fn check_undo(stages: Vec<Stage>, s: u64, act: Act) {
    let mut run = Run::started(stages);
    run.to(s);
    let before = shown(&run);
    run.act(s, act.clone());
    assert_ne!(before, shown(&run), "{act:?} showed no change");
    run.act(s, Act::Undo);
    assert_eq!(before, shown(&run), "{act:?} was not undone");
    run.check_replay();
}

fn two_steps() -> Vec<Stage> {
    let mut second = in_stage("sauce", ApplianceKind::Burner, vec![step("sauce.stir", fixed(mins(2)))]);
    second.begin = vec![after(place(0, 0))];
    let steps = vec![
        step("loin.roast", looked(mins(8), mins(12), mins(8), mins(1), "gold?")),
        step("loin.carve", fixed(mins(3))),
    ];
    vec![in_stage("loin", ApplianceKind::Oven, steps), second]
}

#[test]
fn every_answer_is_undone_with_all_that_followed_from_it() {
    check_undo(two_steps(), 100, Act::Done(stage(0)));
    check_undo(two_steps(), 480, Act::Look(stage(0), Verdict::Done));
    check_undo(two_steps(), 480, Act::Look(stage(0), Verdict::NotYet));
    check_undo(two_steps(), 481, Act::Acknowledge(stage(0), AlertSlot::Step));
    check_undo(two_steps(), 481, Act::Later(stage(0)));
    check_undo(two_steps(), 50, Act::ChangeTime(stage(0), quantities::Drift::from_millis(60_000)));
    check_undo(two_steps(), 50, Act::Skip(stage(0)));
    check_undo(two_steps(), 50, Act::StopStage(stage(0), trial::EarlyReason::Interrupted));
    check_undo(two_steps(), 50, Act::GiveUp(TrialNo(0)));
    check_undo(two_steps(), 50, Act::StartAnyway(stage(1)));
    check_undo(two_steps(), 50, Act::Quiet(true));
}

#[test]
fn an_undone_done_loses_no_time() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(100, Act::Done(stage(0)));
    run.act(130, Act::Undo);
    run.to(600);
    assert!(run.told(&["step_due"]).contains("600 step_due loin.roast"));
    assert!(run.view().trials[0].closed.is_none());
}

#[test]
fn ten_actions_can_be_undone_and_the_eleventh_cannot() {
    let mut run = Run::started(oven(looked(mins(1), mins(90), mins(1), mins(1), "gold")));
    for i in 0..12 {
        run.act(60 + i, Act::Look(stage(0), Verdict::NotYet));
    }
    for _ in 0..10 {
        run.act(100, Act::Undo);
    }
    assert_eq!(run.refused(100, Act::Undo), Refusal::NothingToUndo);
    assert_eq!(run.view().lanes[0].front.as_ref().unwrap().looks.as_ref().unwrap().count, 2);
    run.check_replay();
}

#[test]
fn both_entries_stay_and_the_record_shows_what_stands() {
    let mut run = Run::started(oven(looked(mins(8), mins(12), mins(8), mins(1), "gold")));
    run.act(480, Act::Look(stage(0), Verdict::Over));
    run.act(483, Act::Undo);
    run.act(485, Act::Look(stage(0), Verdict::NotYet));
    run.act(540, Act::Look(stage(0), Verdict::Done));
    assert_eq!(run.facts(|f| matches!(f, Fact::Looked { .. })), 3);
    let record = trial::record::TrialRecord::of(&run.entries).unwrap();
    let verdicts: Vec<_> = record.steps[0].looks.iter().map(|look| look.verdict).collect();
    assert_eq!(verdicts, [Verdict::NotYet, Verdict::Done]);
    assert_eq!(record.undone, 1);
}

#[test]
fn a_stage_that_was_ready_because_of_an_undone_end_waits_again() {
    let mut stages = two_steps();
    stages[1].begin =
        vec![Begin { anchor: Anchor::Step { step: place(0, 0), edge: Edge::End, wait: mins(1) }, within: None }];
    let mut run = Run::started(stages);
    run.act(480, Act::Look(stage(0), Verdict::Done));
    run.to(545);
    assert!(run.told(&["step_ready"]).contains("540 step_ready sauce.stir"));
    run.act(550, Act::Undo);
    assert!(run.told(&["step_waits"]).contains("550 step_waits sauce.stir"));
    run.check_replay();
}

fn roast() -> Vec<Stage> {
    oven(Until::Core(core(63, secs(30))))
}

#[test]
fn an_undone_done_of_a_probe_step_calls_no_probe_lost_and_keeps_its_prediction() {
    let mut run = Run::started(roast());
    for s in 0..=1000 {
        run.core(s, 20.0 + s as f64 * 0.03);
    }
    run.act(1000, Act::Done(stage(0)));
    run.act(1004, Act::Undo);
    run.to(1008);
    run.core(1009, 50.2);
    assert_eq!(run.told(&["probe_lost"]), "");
    assert!(run.view().lanes[0].front.as_ref().unwrap().probe.as_ref().unwrap().estimate.is_ok());
    run.to(1020);
    assert!(
        run.told(&["probe_lost"]).contains("1019 probe_lost"),
        "silence still counts: {}",
        run.told(&["probe_lost"])
    );
    run.check_replay();
}

/// What the cook declared is taken back together with what the prediction forgot because of it.
#[test]
fn an_undone_change_gives_the_prediction_back() {
    let mut stages = roast();
    stages[0].steps[0].inside.timed = vec![TimedEvent { at: secs(600), text: "UNCOVER loin".into() }];
    let mut run = Run::started(stages);
    for s in 0..=1000 {
        run.core(s, 20.0 + s as f64 * 0.03);
    }
    let estimate = |run: &Run| run.view().lanes[0].front.as_ref().unwrap().probe.as_ref().unwrap().estimate;
    let before = estimate(&run);
    assert!(before.is_ok());
    run.act(1000, Act::InsideDone(stage(0)));
    assert_eq!(estimate(&run), Err(trial::Withheld::TooEarly), "it learns anew");
    run.act(1000, Act::Undo);
    assert_eq!(estimate(&run), before);
    run.check_replay();
}

#[test]
fn an_undone_step_with_a_rest_after_it_gives_the_prediction_back() {
    let mut stages = roast();
    let rest = Until::Rest { least: secs(60), planned: mins(10), probe: Some(ProbeName::new("core")) };
    stages[0].steps.push(step("loin.rest", rest));
    let mut run = Run::started(stages);
    for s in 0..=1000 {
        run.core(s, 20.0 + s as f64 * 0.03);
    }
    run.act(1000, Act::Skip(stage(0)));
    run.core(1001, 50.0);
    run.act(1004, Act::Undo);
    run.core(1005, 50.1);
    assert!(run.view().lanes[0].front.as_ref().unwrap().probe.as_ref().unwrap().estimate.is_ok());
    run.check_replay();
}

#[test]
fn a_saved_trial_is_reopened_and_its_last_done_is_undone() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(300, Act::Done(stage(0)));
    assert!(run.view().trials[0].closed.is_some());
    run.act(310, Act::Reopen(TrialNo(0)));
    run.act(312, Act::Undo);
    assert!(matches!(run.view().lanes[0].front.as_ref().unwrap().state, crate::view::LaneState::Running { .. }));
    run.to(600);
    assert!(run.told(&["step_due"]).contains("600 step_due loin.roast"));
    run.check_replay();
}

#[test]
fn a_reopened_trial_with_nothing_left_is_closed_again_and_not_given_up() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(300, Act::Done(stage(0)));
    run.act(310, Act::Reopen(TrialNo(0)));
    run.act(320, Act::GiveUp(TrialNo(0)));
    let record = trial::record::TrialRecord::of(&run.entries).unwrap();
    assert_eq!((record.given_up, record.closed), (false, Some(RunTime::from_millis(320_000))));
    run.check_replay();
}

#[test]
fn a_trial_closed_long_ago_is_not_reopened() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(300, Act::Done(stage(0)));
    assert_eq!(run.refused(901, Act::Reopen(TrialNo(0))), Refusal::TooLate { most_s: 600 });
}

#[test]
fn an_undo_leaves_a_trial_alone_that_is_not_shown_any_more() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(300, Act::Done(stage(0)));
    let next = Arc::new(programme(oven(fixed(mins(5)))));
    run.input(400_000, Input::Open(Box::new(open_trial("u", &next)))).unwrap();
    assert_eq!(run.view().undo, None);
    assert_eq!(run.refused(401, Act::Undo), Refusal::NothingToUndo);
    assert_eq!(run.view().trials.len(), 1);
}

#[test]
fn undoing_an_earlier_press_does_not_open_a_trial_with_nothing_left_to_do() {
    let heat = Until::Heat {
        at: quantities::Celsius::whole(200),
        probe: Some(ProbeName::new("core")),
        expect: quantities::Range::exactly(mins(10)),
    };
    let mut run = Run::started(oven(heat));
    run.act(1, Act::Quiet(true));
    for s in 2..=20 {
        run.core(s, 200.0);
    }
    assert!(run.view().trials[0].closed.is_some(), "the heat closed it without a press");
    run.act(30, Act::Undo);
    assert!(run.view().trials[0].closed.is_some());
    run.check_replay();
    // the start itself undone: the stage waits again, so the trial goes on
    run.act(31, Act::Undo);
    assert!(run.view().trials[0].closed.is_none());
    assert!(trial::record::TrialRecord::of(&run.entries).unwrap().closed.is_none());
    run.check_replay();
}

#[test]
fn one_undo_takes_quiet_back_in_every_trial() {
    let mut run = Run::started(oven(fixed(mins(10))));
    let next = Arc::new(programme(oven(fixed(mins(5)))));
    run.input(1000, Input::Open(Box::new(open_trial("u", &next)))).unwrap();
    run.act(10, Act::Quiet(true));
    assert!(run.view().quiet);
    run.act(11, Act::Undo);
    assert!(!run.view().quiet);
}

#[test]
fn a_trial_opened_in_quiet_mode_is_quiet_too() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(10, Act::Quiet(true));
    let next = Arc::new(programme(oven(fixed(mins(5)))));
    run.sounds.clear();
    run.input(20_000, Input::Open(Box::new(open_trial("u", &next)))).unwrap();
    run.to(30);
    assert_eq!(run.sounds, []);
}
