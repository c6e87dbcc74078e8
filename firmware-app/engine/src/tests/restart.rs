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
