use super::*;
use trial::{AlertKind, Dark};

fn restored(run: &Run, dark: Dark, now_s: u64) -> Run {
    let mut engine = Engine::new(Setup::default());
    engine
        .restore(
            open_trial("t", &run.programme),
            &run.entries,
            Some(crate::Away { dark, ask: true }),
            RunTime::from_millis(now_s * 1000),
        )
        .unwrap();
    let mut again = Run { engine, entries: run.entries.clone(), sounds: vec![], programme: Arc::clone(&run.programme) };
    again.input(now_s * 1000, Input::Tick).unwrap();
    again
}

#[test]
fn a_power_cut_of_forty_seconds_counts_and_each_stage_asks() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.to(300);
    let mut again = restored(&run, Dark::Known(secs(40)), 340);
    assert_eq!(again.view().alerts[0].kind, AlertKind::StillCooking);
    assert_eq!(again.view().resume.unwrap().dark, Dark::Known(secs(40)));
    again.act(350, Act::StillOn(stage(0), true));
    again.to(600);
    assert!(again.told(&["step_due"]).contains("600 step_due loin.roast"));
    assert!(again.sounds.iter().any(|(at, _, _)| at.millis() == 340_000), "alerts sound again at once");
}

#[test]
fn until_it_is_answered_a_restored_stage_runs_on_and_can_be_due() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.to(300);
    let mut again = restored(&run, Dark::AtLeast(secs(10)), 310);
    again.to(600);
    assert!(again.told(&["step_due"]).contains("600 step_due loin.roast"));
}

#[test]
fn not_cooking_any_more_ends_the_step_as_censored_by_the_cut() {
    let mut run = Run::started(oven(looked(mins(8), mins(12), mins(8), mins(1), "gold")));
    run.act(485, Act::Look(stage(0), trial::Verdict::NotYet));
    let mut again = restored(&run, Dark::Known(mins(30)), 2300);
    again.act(2310, Act::StillOn(stage(0), false));
    same(
        &again.told(&["step_ended"]),
        "2310 step_ended loin.roast stopped PT38M30S after(after(PT8M5S) reason(power_cut))",
    );
}

#[test]
fn a_gap_in_the_record_is_refused() {
    let run = Run::started(oven(fixed(mins(10))));
    let mut entries = run.entries.clone();
    entries.remove(2);
    let mut engine = Engine::new(Setup::default());
    let why = engine.restore(open_trial("t", &run.programme), &entries, None, RunTime::START).unwrap_err();
    assert_eq!(why.to_string(), "expected entry 2, found entry 3");
}

#[test]
fn time_that_goes_back_is_refused_and_changes_nothing() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.to(300);
    let before = run.entries.len();
    assert_eq!(run.input(299_000, Input::Act(Act::Done(stage(0)))), Err(Refusal::TimeWentBack { by_ms: 1000 }));
    assert_eq!(run.entries.len(), before);
}

#[test]
fn a_chill_of_eight_hours_ends_at_the_right_time_across_a_clock_step() {
    let mut run =
        Run::started(vec![in_stage("tart", ApplianceKind::Fridge, vec![step("tart.chill", fixed(mins(480)))])]);
    run.to(3 * 3600);
    run.input(3 * 3600 * 1000, Input::ClockStepped(quantities::Drift::from_millis(3_600_000))).unwrap();
    run.to(9 * 3600);
    assert!(run.told(&["step_due"]).contains("28800 step_due tart.chill"));
    assert_eq!(run.facts(|f| matches!(f, Fact::ClockStepped { .. })), 1);
}

#[test]
fn a_target_that_was_not_seen_held_in_the_dark_does_not_end_the_step() {
    let mut run = Run::started(oven(Until::Core(core(63, mins(10)))));
    run.cores(0..=60, 62.0, 63.4);
    assert_eq!(run.facts(|f| matches!(f, Fact::TargetCrossed { .. })), 1);
    let mut again = restored(&run, Dark::Known(mins(20)), 1260);
    again.cores(1261..=1800, 63.4, 64.0);
    assert_eq!(again.facts(|f| matches!(f, Fact::StepEnded { .. })), 0);
    again.cores(1801..=1900, 64.0, 64.1);
    // five readings to settle, eighteen seconds of good ones for the line, ten minutes to hold
    same(&again.told(&["step_ended"]), "1884 step_ended loin.roast core_held PT31M24S before(by(PT21M24S)) 64.0838");
}

#[test]
fn a_probe_step_that_the_cut_ended_was_not_done_when_the_power_went() {
    let mut run = Run::started(oven(Until::Core(core(63, secs(30)))));
    for s in 0..=300 {
        run.core(s, 40.0);
    }
    let mut again = restored(&run, Dark::Known(mins(30)), 2100);
    again.act(2110, Act::StillOn(stage(0), false));
    assert!(
        again.told(&["step_ended"]).contains("after(after(PT5M) reason(power_cut))"),
        "{}",
        again.told(&["step_ended"])
    );
}

#[test]
fn an_undo_after_a_power_cut_leaves_its_question_standing() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(100, Act::ChangeTime(stage(0), quantities::Drift::from_millis(60_000)));
    let mut again = restored(&run, Dark::Known(mins(1)), 160);
    again.act(170, Act::Undo);
    assert_eq!(again.view().alerts[0].kind, AlertKind::StillCooking);
    assert_eq!(again.view().resume.unwrap().dark, Dark::Known(mins(1)));
    again.check_replay();
}

/// Says how many readings it was given, as the seconds left.
struct Counts(u64);

impl crate::predict::Predictors for Counts {
    fn start(&self, _job: &crate::predict::Job<'_>) -> Box<dyn crate::predict::Predictor> {
        Box::new(Self(0))
    }
}

impl crate::predict::Predictor for Counts {
    fn twin(&self) -> Box<dyn crate::predict::Predictor> {
        Box::new(Self(self.0))
    }

    fn reading(&mut self, _core: quantities::Celsius, _at: RunTime) {
        self.0 += 1;
    }

    fn air(&mut self, _air: quantities::Celsius, _at: RunTime) {}

    fn carry_over(&self) -> Option<trial::CarryOver> {
        None
    }

    fn changed(&mut self, _change: crate::predict::Change, _at: RunTime) {}

    fn estimate(&self, _to: quantities::Celsius, _at: RunTime) -> Result<trial::Estimate, trial::Withheld> {
        Ok(trial::Estimate { median: secs(self.0), low: secs(self.0), high: secs(self.0) })
    }
}

#[test]
fn old_readings_given_twice_count_once() {
    let mut run = Run::started(oven(Until::Core(core(63, secs(30)))));
    for s in 0..=100 {
        run.core(s, 20.0);
    }
    let mut engine = Engine::new(Setup { predictors: Box::new(Counts(0)), ..Setup::default() });
    engine.restore(open_trial("t", &run.programme), &run.entries, None, RunTime::from_millis(102_000)).unwrap();
    // two trials on one probe both give what it said
    for s in (0..=100).chain(0..=100) {
        engine.refeed(&ProbeDevice("p1".into()), RunTime::from_millis(s * 1000), Ok(quantities::Celsius::whole(20)));
    }
    engine
        .handle(
            Input::Reading(ProbeDevice("p1".into()), Ok(quantities::Celsius::whole(20))),
            RunTime::from_millis(150_000),
        )
        .unwrap();
    let probe = engine.view(engine.now()).lanes[0].front.clone().unwrap().probe.unwrap();
    assert_eq!(probe.estimate.map(|estimate| estimate.median), Ok(secs(102)));
}
