use super::*;
use trial::{AlertKind, AlertSlot};

use crate::view::{AlertState, KeyWord};

fn pair() -> Vec<Stage> {
    vec![
        in_stage("tart", ApplianceKind::Oven, vec![step("tart.bake", fixed(mins(10)))]),
        in_stage("curd", ApplianceKind::Burner, vec![step("curd.stir", fixed(mins(10)))]),
    ]
}

fn both_started() -> Run {
    let mut run = Run::started(pair());
    run.act(0, Act::Start(stage(1)));
    run
}

#[test]
fn ok_on_one_alert_leaves_the_other_sounding() {
    let mut run = both_started();
    run.act(605, Act::Acknowledge(stage(0), AlertSlot::Step));
    let states: Vec<_> = run.view().alerts.iter().map(|alert| (alert.lane, alert.state)).collect();
    assert_eq!(states, [(1, AlertState::Acknowledged), (2, AlertState::Sounding)]);
    let mark = run.sounds.len();
    run.to(660);
    assert!(run.sounds[mark..].iter().all(|(at, _, lane)| *lane == 2 || at.millis() >= 660_000));
}

#[test]
fn an_acknowledged_alert_that_turns_overdue_sounds_again() {
    let mut run = both_started();
    run.act(605, Act::Acknowledge(stage(0), AlertSlot::Step));
    run.to(660);
    let worst = &run.view().alerts[0];
    assert_eq!((worst.kind, worst.state), (AlertKind::Overdue, AlertState::Sounding));
}

#[test]
fn later_ends_by_itself_after_a_minute_and_is_refused_the_fourth_time() {
    let mut run = Run::started(oven(fixed(mins(10))));
    for (i, s) in [601u64, 662, 723].iter().enumerate() {
        run.act(*s, Act::Later(stage(0)));
        assert!(matches!(run.view().alerts[0].state, AlertState::Shelved { .. }), "time {i}");
        run.to(s + 59);
        assert!(matches!(run.view().alerts[0].state, AlertState::Shelved { .. }));
        run.to(s + 60);
        assert_eq!(run.view().alerts[0].state, AlertState::Sounding);
    }
    assert_eq!(run.refused(784, Act::Later(stage(0))), Refusal::LaterTooOften { times: 3 });
}

#[test]
fn due_sounds_at_0_10_20_and_then_as_high_every_four_seconds_until_overdue() {
    let mut stages = oven(fixed(mins(10)));
    stages[0].steps[0].grace = secs(120);
    let mut run = Run::started(stages);
    run.to(645);
    let due: Vec<(u64, Head)> = run
        .sounds
        .iter()
        .filter(|(at, _, _)| at.millis() >= 600_000)
        .map(|(at, h, _)| (at.millis() / 1000, *h))
        .collect();
    assert_eq!(
        due,
        [
            (600, Head::Medium),
            (610, Head::Medium),
            (620, Head::Medium),
            (630, Head::High),
            (634, Head::High),
            (638, Head::High),
            (642, Head::High)
        ]
    );
}

#[test]
fn overdue_never_stops_by_itself() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.to(4 * 3600);
    let late: Vec<u64> =
        run.sounds.iter().map(|(at, _, _)| at.millis() / 1000).filter(|s| *s > 4 * 3600 - 64).collect();
    assert_eq!(late.len(), 8, "one each 8 s: {late:?}");
}

#[test]
fn quiet_mode_lets_only_high_alerts_sound() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(1, Act::Quiet(true));
    let mark = run.sounds.len();
    run.to(700);
    assert!(!run.sounds[mark..].is_empty());
    assert!(run.sounds[mark..].iter().all(|(_, head, _)| *head == Head::High));
}

#[test]
fn three_alerts_at_once_stand_worst_first_and_none_is_lost() {
    let mut stages = pair();
    stages.push(in_stage("loin", ApplianceKind::Bench, vec![step("loin.core", Until::Core(core(63, secs(10))))]));
    stages[1].steps[0].until = looked(mins(10), mins(14), mins(10), mins(1), "coats the spoon?");
    let mut run = Run::started(stages);
    run.act(0, Act::Start(stage(1)));
    run.act(0, Act::Start(stage(2)));
    for s in 0..=590 {
        run.core(s, 30.0);
    }
    run.to(600);
    let kinds: Vec<_> = run.view().alerts.iter().map(|alert| alert.kind).collect();
    assert_eq!(kinds, [AlertKind::ProbeLost, AlertKind::Due, AlertKind::Question]);
}

#[test]
fn a_warning_comes_a_minute_before_and_asks_nothing() {
    let mut stages = oven(fixed(mins(10)));
    stages[0].steps[0].warn = Some(mins(1));
    let mut run = Run::started(stages);
    run.to(545);
    assert!(run.told(&["alert_raised"]).contains("540 alert_raised loin step soon low"));
    assert!(run.view().alerts.is_empty());
}

#[test]
fn the_key_says_ok_first_and_then_done() {
    let mut run = Run::started(oven(fixed(mins(10))));
    let key = |run: &Run| run.view().lanes[0].front.as_ref().unwrap().key;
    assert_eq!(key(&run), None);
    run.to(600);
    assert_eq!(key(&run), Some(KeyWord::Ok(AlertSlot::Step)));
    run.act(602, Act::Acknowledge(stage(0), AlertSlot::Step));
    assert_eq!(key(&run), Some(KeyWord::Done));
}

#[test]
fn a_ready_step_that_is_left_is_due_after_two_minutes_and_called_once_more() {
    let mut run = Run::of(oven(fixed(mins(10))));
    run.to(1000);
    same(
        &run.told(&["alert_raised"]),
        "0 alert_raised loin step ready medium
         120 alert_raised loin step due low",
    );
}
