use super::*;
use recipe_model::{Branch, BranchId, HalfTime, Rhythm, TimedEvent};
use trial::PauseReason;

#[test]
fn the_second_half_runs_from_the_press() {
    let mut stages = oven(fixed(mins(6)));
    stages[0].steps[0].inside.half = Some(HalfTime { text: "TURN fillets".into() });
    let mut run = Run::started(stages);
    run.act(192, Act::InsideDone(stage(0)));
    run.to(400);
    same(
        &run.told(&["half_called", "half_turned", "step_due"]),
        "180 half_called loin.roast
         192 half_turned loin.roast PT3M12S
         372 step_due loin.roast",
    );
}

#[test]
fn a_turn_that_is_not_answered_never_lets_the_step_be_due() {
    let mut stages = oven(fixed(mins(6)));
    stages[0].steps[0].inside.half = Some(HalfTime { text: "TURN fillets".into() });
    let mut run = Run::started(stages);
    run.to(1000);
    assert_eq!(run.facts(|f| matches!(f, Fact::StepDue { .. })), 0);
    assert!(run.told(&["alert_raised"]).contains("240 alert_raised loin inside inside high"));
}

#[test]
fn a_rhythm_has_no_beat_at_the_very_end() {
    let mut stages = oven(fixed(secs(240)));
    stages[0].steps[0].inside.rhythms.push(Rhythm { every: secs(30), text: "STIR".into(), press: false });
    let mut run = Run::started(stages);
    run.to(300);
    let beats: Vec<u64> =
        run.entries.iter().filter(|e| matches!(e.fact, Fact::Beat { .. })).map(|e| e.at.millis() / 1000).collect();
    assert_eq!(beats, [30, 60, 90, 120, 150, 180, 210]);
    assert_eq!(run.sounds.iter().filter(|(_, head, _)| *head == Head::Tick).count(), 7);
}

#[test]
fn three_missed_beats_raise_one_low_alert_where_each_wants_a_press() {
    let mut stages = oven(fixed(secs(240)));
    stages[0].steps[0].inside.rhythms.push(Rhythm { every: secs(30), text: "STIR".into(), press: true });
    let mut run = Run::started(stages);
    run.act(31, Act::InsideDone(stage(0)));
    run.to(230);
    same(
        &run.told(&["alert_raised"]).lines().skip(1).collect::<Vec<_>>().join("\n"),
        "150 alert_raised loin inside inside low",
    );
    run.act(231, Act::InsideDone(stage(0)));
    assert!(run.view().alerts.is_empty());
}

#[test]
fn something_at_a_time_does_not_change_the_step() {
    let mut stages = oven(fixed(mins(30)));
    stages[0].steps[0].inside.timed.push(TimedEvent { at: mins(20), text: "UNCOVER".into() });
    let mut run = Run::started(stages);
    run.act(1210, Act::InsideDone(stage(0)));
    run.to(1800);
    same(
        &run.told(&["event_called", "event_done", "step_due"]),
        "1200 event_called loin.roast 0
         1210 event_done loin.roast 0
         1800 step_due loin.roast",
    );
}

#[test]
fn an_optional_branch_is_a_deviation_and_leaves_the_times() {
    let mut stages = oven(fixed(mins(30)));
    let tent = BranchId::new("tent");
    stages[0].steps[0].inside.branches.push(Branch {
        id: tent.clone(),
        text: "TENT with foil".into(),
        when: "browning fast".into(),
    });
    let mut run = Run::started(stages);
    run.act(600, Act::TakeBranch(stage(0), tent.clone()));
    assert_eq!(run.refused(601, Act::TakeBranch(stage(0), tent)), Refusal::SaidAlready);
    run.to(1800);
    assert!(run.told(&["step_due"]).contains("1800 step_due loin.roast"));
    let record = trial::record::TrialRecord::of(&run.entries).unwrap();
    assert_eq!(record.steps[0].deviations, ["tent"]);
}

#[test]
fn heat_cannot_be_held_and_a_bench_step_can() {
    let mut run = Run::started(oven(fixed(mins(10))));
    assert_eq!(
        run.refused(5, Act::Hold(stage(0), PauseReason::Phone)).to_string(),
        "loin.roast cannot be held: the food goes on cooking"
    );
    let mut dough = step("dough.knead", fixed(mins(10)));
    dough.holdable = true;
    let mut run = Run::started(vec![in_stage("dough", ApplianceKind::Bench, vec![dough])]);
    run.act(60, Act::Hold(stage(0), PauseReason::Phone));
    run.act(660, Act::GoOn(stage(0)));
    run.to(1300);
    assert!(run.told(&["step_due"]).contains("1200 step_due dough.knead"));
    same(
        &run.told(&["alert_raised"]).lines().skip(1).collect::<Vec<_>>().join("\n"),
        "360 alert_raised dough step on_hold low
         660 alert_raised dough step on_hold low
         1200 alert_raised dough step due medium
         1260 alert_raised dough step overdue high",
    );
}

#[test]
fn a_rest_cannot_be_skipped_before_it_begins() {
    let rest = Until::Rest { planned: mins(10), least: mins(3), probe: None };
    let mut run = Run::of(vec![in_stage("loin", ApplianceKind::Bench, vec![step("loin.rest", rest)])]);
    assert_eq!(
        run.refused(5, Act::Skip(stage(0))),
        Refusal::RestTooShort { step: StepId::new("loin.rest"), left_s: 180 }
    );
}

#[test]
fn a_rest_cannot_be_cut_below_its_least() {
    let steps = vec![step("loin.rest", Until::Rest { planned: mins(10), least: mins(3), probe: None })];
    let mut run = Run::started(vec![in_stage("loin", ApplianceKind::Bench, steps)]);
    assert_eq!(run.refused(100, Act::Done(stage(0))).to_string(), "loin.rest rests 80 s more before it may end");
    assert_eq!(
        run.refused(101, Act::Skip(stage(0))),
        Refusal::RestTooShort { step: StepId::new("loin.rest"), left_s: 79 }
    );
    run.act(180, Act::Done(stage(0)));
}

#[test]
fn a_step_that_was_due_when_it_was_held_is_called_again_when_it_goes_on() {
    let mut stages = oven(fixed(mins(10)));
    stages[0].steps[0].holdable = true;
    let mut run = Run::started(stages);
    run.act(610, Act::Hold(stage(0), trial::PauseReason::Phone));
    run.act(700, Act::GoOn(stage(0)));
    run.to(701);
    assert!(
        run.told(&["alert_raised"]).ends_with("700 alert_raised loin step due medium\n"),
        "{}",
        run.told(&["alert_raised"])
    );
}

#[test]
fn a_hold_before_the_turn_counts_once() {
    let mut stages = oven(fixed(mins(10)));
    stages[0].steps[0].holdable = true;
    stages[0].steps[0].inside.half = Some(recipe_model::HalfTime { text: "TURN".into() });
    let mut run = Run::started(stages);
    run.act(310, Act::Hold(stage(0), trial::PauseReason::Phone));
    run.act(400, Act::GoOn(stage(0)));
    run.act(410, Act::InsideDone(stage(0)));
    run.to(900);
    // the second half runs from the press
    assert!(run.told(&["step_due"]).contains("710 step_due loin.roast"), "{}", run.told(&["step_due"]));
}

#[test]
fn time_added_to_one_round_is_not_added_to_the_next() {
    let rounds = Until::Rounds { count: quantities::Range::new(1, 4).unwrap(), each: mins(4), cue: "tender".into() };
    let mut run = Run::started(oven(rounds));
    run.act(60, Act::ChangeTime(stage(0), quantities::Drift::from_millis(120_000)));
    run.act(360, Act::Look(stage(0), trial::Verdict::NotYet));
    run.to(700);
    let asked = run.told(&["alert_raised"]);
    assert!(
        asked.contains("360 alert_raised loin step question") && asked.contains("600 alert_raised loin step question"),
        "{asked}"
    );
}

#[test]
fn time_added_to_a_late_step_counts_from_now() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(900, Act::ChangeTime(stage(0), quantities::Drift::from_millis(60_000)));
    run.to(959);
    assert_eq!(run.view().alerts, []);
    run.to(960);
    assert!(run.told(&["step_due"]).contains("960 step_due"), "{}", run.told(&["step_due"]));
}

#[test]
fn a_turn_that_is_called_while_the_probe_moves_is_asked_after_it() {
    let mut target = core(63, secs(10));
    target.points = 2;
    let mut stages = oven(Until::Core(target));
    let half = stages[0].steps[0].until.expected().middle() / 2;
    stages[0].steps[0].inside.half = Some(recipe_model::HalfTime { text: "TURN".into() });
    let mut run = Run::started(stages);
    run.cores(half.whole_secs() - 40..=half.whole_secs() + 5, 64.0, 64.5);
    let s = half.whole_secs() + 6;
    run.act(s, Act::InsideDone(stage(0)));
    assert_eq!(run.view().alerts.iter().filter(|alert| alert.kind == trial::AlertKind::Inside).count(), 1);
    run.act(s + 1, Act::InsideDone(stage(0)));
    assert_eq!(run.facts(|f| matches!(f, Fact::HalfTurned { .. })), 1);
    assert_eq!(run.view().alerts.iter().filter(|alert| alert.kind == trial::AlertKind::Inside).count(), 0);
}

#[test]
fn a_stage_that_is_over_is_not_stopped() {
    let mut stages = oven(fixed(mins(10)));
    stages.push(in_stage("sauce", ApplianceKind::Burner, vec![step("sauce.stir", fixed(mins(2)))]));
    let mut run = Run::started(stages);
    run.act(60, Act::Done(stage(0)));
    assert_eq!(run.refused(70, Act::StopStage(stage(0), trial::EarlyReason::Interrupted)), Refusal::NotRunning);
}
