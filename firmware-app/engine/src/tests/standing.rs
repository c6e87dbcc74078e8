use super::*;
use trial::{EarlyReason, Verdict};

use crate::view::Standing;

impl Run {
    fn standing(&self, step: &str) -> Standing {
        let all = self.engine.standing(self.engine.now());
        all.into_iter().find(|view| view.step.as_str() == step).unwrap().state
    }

    /// Seconds left of a running step: hardly ever less, as a rule, hardly ever more.
    fn left(&self, step: &str) -> [u64; 3] {
        match self.standing(step) {
            Standing::Running { left_low, left, left_high, .. } => [left_low, left, left_high].map(Span::whole_secs),
            other => panic!("{step} does not run: {other:?}"),
        }
    }
}

#[test]
fn a_step_is_open_then_runs_then_is_over_and_one_that_is_passed_over_never_ran() {
    let stages = vec![
        in_stage(
            "loin",
            ApplianceKind::Oven,
            vec![step("loin.roast", fixed(mins(10))), step("loin.cool", fixed(mins(2)))],
        ),
        in_stage(
            "rice",
            ApplianceKind::Burner,
            vec![step("rice.wash", fixed(mins(1))), step("rice.boil", fixed(mins(9)))],
        ),
    ];
    let mut run = Run::of(stages);
    assert_eq!(run.standing("loin.roast"), Standing::Open, "ready is not begun");
    run.act(5, Act::Start(stage(0)));
    run.to(65);
    let began = RunTime::from_millis(5000);
    let left = secs(540);
    assert_eq!(run.standing("loin.roast"), Standing::Running { began, left_low: left, left, left_high: left });
    run.act(300, Act::Done(stage(0)));
    assert_eq!(run.standing("loin.roast"), Standing::Ended { began, ended: RunTime::from_millis(300_000) });
    run.act(301, Act::Skip(stage(1)));
    assert_eq!(run.standing("rice.wash"), Standing::Skipped);
    run.act(302, Act::StopStage(stage(1), EarlyReason::Interrupted));
    assert!(matches!(run.standing("rice.boil"), Standing::Ended { .. }));
    run.act(303, Act::GiveUp(TrialNo(0)));
    assert!(run.engine.standing(run.engine.now()).is_empty(), "a closed trial stands nowhere");
}

#[test]
fn what_a_stopped_stage_has_not_begun_is_passed_over() {
    let steps = vec![step("loin.roast", fixed(mins(10))), step("loin.cool", fixed(mins(2)))];
    let mut stages = oven(fixed(mins(30)));
    stages.push(in_stage("pie", ApplianceKind::Bench, steps));
    stages[1].steps[0].id = StepId::new("pie.bake");
    stages[1].steps[1].id = StepId::new("pie.cool");
    let mut run = Run::started(stages);
    run.act(1, Act::StopStage(stage(1), EarlyReason::GivenUp));
    assert_eq!(run.standing("pie.cool"), Standing::Skipped);
    assert_eq!(run.standing("pie.bake"), Standing::Skipped);
}

#[test]
fn a_step_with_looks_still_takes_from_its_next_look_to_its_last_moment() {
    let mut run = Run::started(oven(looked(mins(18), mins(22), mins(18), mins(2), "gold")));
    run.to(600);
    assert_eq!(run.left("loin.roast"), [480, 600, 720]);
    run.act(1080, Act::Look(stage(0), Verdict::NotYet));
    run.to(1090);
    assert_eq!(run.left("loin.roast"), [110, 110, 230], "nothing ends before the next look");
    // not done at the last moment either: it goes on to the look after it
    run.act(1320, Act::Look(stage(0), Verdict::NotYet));
    run.to(1330);
    assert_eq!(run.left("loin.roast"), [0, 110, 170]);
}

#[test]
fn what_is_due_takes_a_minute_at_most_and_so_does_food_that_leaves_the_heat() {
    let mut run = Run::started(oven(fixed(mins(10))));
    for s in [600, 640, 700, 5000] {
        run.to(s);
        assert_eq!(run.left("loin.roast"), [0, 0, 60], "at {s}");
    }
    let mut stages = oven(Until::Core(core(60, secs(10))));
    stages.push(in_stage("rice", ApplianceKind::Burner, vec![step("rice.boil", fixed(mins(9)))]));
    let mut run = Run::started(stages);
    run.cores(0..=1300, 20.0, 63.0);
    assert_eq!(run.facts(|fact| matches!(fact, Fact::StepEnded { .. })), 1);
    assert_eq!(run.left("loin.roast"), [0, 0, 60]);
    run.act(1310, Act::Done(stage(0)));
    assert!(matches!(run.standing("loin.roast"), Standing::Ended { .. }));
}

#[test]
fn a_core_that_is_foreseen_says_its_band_and_one_that_is_not_goes_by_its_usual_time() {
    let mut target = core(60, secs(10));
    target.expect = Range::new(mins(40), mins(80)).unwrap();
    let mut run = Run::started(oven(Until::Core(target)));
    run.cores(0..=60, 20.0, 21.0);
    assert_eq!(run.left("loin.roast"), [2340, 3540, 4740]);
    run.cores(61..=1200, 21.0, 40.0);
    let [low, likely, high] = run.left("loin.roast");
    assert!((1150..1250).contains(&likely) && low < likely && likely < high, "{low} {likely} {high}");
    // lost, it goes by the time of its fallback
    for s in 1201..1300 {
        run.lost(s, NoReading::Open);
    }
    let [low, likely, high] = run.left("loin.roast");
    assert_eq!([low, likely, high], [3000 - 1299, 3600 - 1299, 4800 - 1299]);
}

#[test]
fn hands_on_work_takes_its_range_and_a_minute_more_when_that_is_over() {
    let mut run = Run::started(oven(Until::Cook { expect: Range::new(mins(4), mins(8)).unwrap() }));
    run.to(60);
    assert_eq!(run.left("loin.roast"), [180, 300, 420]);
    run.to(300);
    assert_eq!(run.left("loin.roast"), [0, 60, 180]);
    run.to(900);
    assert_eq!(run.left("loin.roast"), [0, 0, 60]);
}

#[test]
fn a_held_step_still_takes_what_was_left_of_it() {
    let mut stages = oven(fixed(mins(10)));
    stages[0].steps[0].holdable = true;
    let mut run = Run::started(stages);
    run.act(60, Act::Hold(stage(0), trial::PauseReason::Phone));
    run.to(200);
    assert_eq!(run.left("loin.roast"), [540, 540, 540]);
}

#[test]
fn rounds_count_those_that_are_left() {
    let rounds = Until::Rounds { count: Range::new(2, 5).unwrap(), each: mins(4), cue: "tender".into() };
    let mut run = Run::started(oven(rounds));
    run.to(60);
    assert_eq!(run.left("loin.roast"), [420, 780, 1140]);
    run.act(240, Act::Look(stage(0), Verdict::NotYet));
    assert_eq!(run.left("loin.roast"), [240, 600, 960]);
}
