use super::*;
use recipe_model::Branch;
use trial::{AlertKind, Verdict};

use crate::view::LaneState;

fn roast(hold: Span) -> Vec<Stage> {
    oven(Until::Core(core(63, hold)))
}

#[test]
fn the_step_ends_at_the_first_sample_at_which_the_hold_is_full() {
    let mut run = Run::started(roast(secs(30)));
    // crosses 63.0 °C at 430 s
    for s in 0..=500 {
        run.core(s, 20.0 + s as f64 * 0.1);
        if s == 459 {
            assert_eq!(run.facts(|f| matches!(f, Fact::StepEnded { .. })), 0);
        }
    }
    same(
        &run.told(&["target_crossed", "step_ended"]),
        "430 target_crossed loin.roast 63.0
         460 step_ended loin.roast core_held PT7M40S exact(at(PT7M10S)) 66.0",
    );
}

#[test]
fn a_dip_below_target_less_hysteresis_starts_the_hold_again_once() {
    let mut run = Run::started(roast(secs(30)));
    for s in 0..=100 {
        let core = match s {
            0..=20 => 62.0,
            21..=40 => 63.2,
            41 => 62.4,
            _ => 63.3,
        };
        run.core(s, core);
    }
    same(
        &run.told(&["target_crossed", "hold_broken", "step_ended"]),
        "21 target_crossed loin.roast 63.2
         41 hold_broken loin.roast 62.4
         42 target_crossed loin.roast 63.3
         72 step_ended loin.roast core_held PT1M12S exact(at(PT42S)) 63.3",
    );
}

#[test]
fn a_dip_within_the_hysteresis_does_not() {
    let mut run = Run::started(roast(secs(30)));
    for s in 0..=60 {
        run.core(s, if s == 20 { 62.6 } else { 63.0 });
    }
    assert!(run.told(&["step_ended"]).starts_with("30 step_ended"));
}

#[test]
fn a_core_that_does_not_come_to_its_target_in_the_longest_time_foreseen_calls_the_cook() {
    let mut run = Run::started(roast(secs(10)));
    for s in 0..=4800 {
        run.core(s, 55.0);
    }
    assert!(
        run.told(&["alert_raised"]).ends_with("4800 alert_raised loin step due medium\n"),
        "{}",
        run.told(&["alert_raised"])
    );
    assert_eq!(run.view().alerts[0].verb, "CHECK");
    assert_eq!(run.facts(|f| matches!(f, Fact::StepEnded { .. })), 0);
}

#[test]
fn unplugged_probe_never_ends_a_step() {
    let mut run = Run::started(roast(secs(10)));
    for s in 0..=420 {
        run.core(s, 20.0 + s as f64 * 0.102);
    }
    for s in 421..6000 {
        run.lost(s, NoReading::Unplugged);
    }
    assert_eq!(run.facts(|f| matches!(f, Fact::StepEnded { .. })), 0);
    let told = run.told(&["probe_lost", "alert_raised"]);
    assert!(told.contains("423 probe_lost core loin.roast unplugged 62.84 PT3S"), "{told}");
    assert!(told.contains("423 alert_raised loin probe probe_lost high"), "{told}");
    // the looks of the fallback take over: 50 min, no later than 80
    assert!(told.contains("3000 alert_raised loin step question medium"), "{told}");
    assert!(told.contains("4800 alert_raised loin step due medium"), "{told}");
}

#[test]
fn a_probe_that_says_nothing_is_lost_after_ten_seconds() {
    let mut run = Run::started(roast(secs(10)));
    run.core(0, 20.0);
    run.core(1, 20.0);
    run.to(60);
    same(&run.told(&["probe_lost"]), "11 probe_lost core loin.roast timeout 20.0 PT10S");
}

#[test]
fn a_station_without_that_probe_says_so_at_once() {
    let mut target = core(63, secs(10));
    target.probe = ProbeName::new("other");
    let mut run = Run::started(oven(Until::Core(target)));
    run.to(1);
    same(&run.told(&["probe_lost"]), "0 probe_lost other loin.roast unplugged PT0S");
}

#[test]
fn a_probe_that_comes_back_is_believed_when_steady_and_was_lost_stays_until_ok() {
    let mut run = Run::started(roast(secs(10)));
    for s in 0..100 {
        run.core(s, 40.0);
    }
    run.to(140);
    for s in 140..=150 {
        run.core(s, 41.0);
    }
    same(
        &run.told(&["probe_lost", "probe_back"]),
        "109 probe_lost core loin.roast timeout 40.0 PT10S
         145 probe_back core loin.roast PT36S",
    );
    assert_eq!(run.view().alerts[0].kind, AlertKind::WasLost);
    run.act(151, Act::Acknowledge(stage(0), trial::AlertSlot::Probe));
    assert!(run.view().alerts.is_empty());
}

#[test]
fn one_wild_reading_neither_starts_nor_breaks_a_hold() {
    let mut run = Run::started(roast(secs(30)));
    for s in 0..=20 {
        run.core(s, 50.0);
    }
    run.core(21, 95.0);
    assert_eq!(run.facts(|f| matches!(f, Fact::TargetCrossed { .. })), 0);
    let mut run = Run::started(roast(secs(30)));
    for s in 0..=30 {
        run.core(s, if s == 15 { 20.0 } else { 64.0 });
    }
    assert!(run.told(&["step_ended"]).starts_with("30 step_ended"));
}

#[test]
fn going_by_time_keeps_reading_and_ends_by_a_look() {
    let mut run = Run::started(roast(secs(10)));
    run.core(0, 20.0);
    run.to(20);
    run.act(30, Act::UseTime(stage(0)));
    for s in 31..200 {
        run.core(s, 64.0);
    }
    assert_eq!(run.facts(|f| matches!(f, Fact::StepEnded { .. })), 0, "the cook chose time");
    run.act(3000, Act::Look(stage(0), Verdict::Done));
    assert!(run.told(&["step_ended"]).contains("look_done PT50M before"));
}

#[test]
fn several_places_are_held_one_after_another() {
    let mut target = core(74, secs(10));
    target.points = 3;
    let mut run = Run::started(oven(Until::Core(target)));
    for s in 0..=10 {
        run.core(s, 74.5);
    }
    // still in the first piece: nothing counts until the probe is moved
    for s in 11..=40 {
        run.core(s, 75.0);
    }
    run.act(41, Act::InsideDone(stage(0)));
    for s in 42..=60 {
        run.core(s, 71.0);
    }
    for s in 61..=71 {
        run.core(s, 74.0);
    }
    run.act(80, Act::InsideDone(stage(0)));
    for s in 81..=91 {
        run.core(s, 76.0);
    }
    same(
        &run.told(&["point_held", "probe_moved", "step_ended"]),
        "10 point_held loin.roast 1 74.5
         41 probe_moved loin.roast
         71 point_held loin.roast 2 74.0
         80 probe_moved loin.roast
         91 step_ended loin.roast core_held PT1M31S between(after(PT1M1S) by(PT1M21S)) 76.0",
    );
}

#[test]
fn a_target_that_protects_counts_as_a_mean_of_ten_seconds() {
    let mut target = core(63, Span::ZERO);
    target.protects = true;
    let mut run = Run::started(oven(Until::Core(target)));
    for s in 0..=60 {
        run.core(s, 62.0 + s as f64 * 0.05);
    }
    // the raw reading is there at 20 s, the mean of the last ten seconds at 25 s
    assert!(
        run.told(&["target_crossed"]).starts_with("25 target_crossed loin.roast 63.0"),
        "{}",
        run.told(&["target_crossed"])
    );
}

#[test]
fn after_the_target_the_food_is_called_off_the_heat_and_the_rest_sees_the_peak() {
    let rest = Until::Rest { planned: mins(10), least: mins(3), probe: Some(ProbeName::new("core")) };
    let steps = vec![step("loin.roast", Until::Core(core(63, secs(10)))), step("loin.rest", rest)];
    let mut run = Run::started(vec![in_stage("loin", ApplianceKind::Oven, steps)]);
    for s in 0..=20 {
        run.core(s, 63.0);
    }
    assert!(matches!(run.view().lanes[0].front.as_ref().unwrap().state, LaneState::Due { .. }));
    run.act(40, Act::Done(stage(0)));
    for s in 41..=641 {
        let t = (s - 41) as f64;
        run.core(s, 63.5 + 3.0 * (t / 300.0) * (2.0 - t / 300.0));
    }
    run.act(645, Act::Done(stage(0)));
    let record = trial::record::TrialRecord::of(&run.entries).unwrap();
    assert_eq!(record.steps[0].taken_off.unwrap().millis(), 40_000);
    let (peak, when, rise) = record.steps[1].peak.unwrap();
    assert_eq!((peak.degrees(), rise.degrees()), (66.5, 3.0));
    assert!((330_000..=342_000).contains(&when.millis()), "{when:?}");
}

#[test]
fn pulled_below_its_target_is_right_censored_and_named_at_the_close() {
    let mut target = core(63, secs(10));
    target.protects = true;
    let mut stages = oven(Until::Core(target));
    stages[0].steps[0].inside.branches.push(Branch {
        id: recipe_model::BranchId::new("x"),
        text: "X".into(),
        when: "y".into(),
    });
    let mut run = Run::started(stages);
    for s in 0..=100 {
        run.core(s, 50.0);
    }
    run.act(100, Act::Done(stage(0)));
    same(
        &run.told(&["step_ended"]),
        "100 step_ended loin.roast press PT1M40S after(after(PT1M40S) reason(pulled_early)) 50.0",
    );
    let view = run.view();
    assert_eq!(view.trials[0].missing, ["loin.roast: the core was 50.0 °C at most, its target is 63.0 °C"]);
}

#[test]
fn one_sample_never_ends_a_step_even_without_a_hold() {
    let mut run = Run::started(roast(Span::ZERO));
    run.core(1, 85.0);
    assert_eq!(run.facts(|f| matches!(f, Fact::StepEnded { .. })), 0);
    run.core(2, 85.0);
    assert_eq!(run.facts(|f| matches!(f, Fact::StepEnded { .. })), 1);
}

#[test]
fn a_target_crossed_while_the_probe_was_lost_is_done_between_two_readings() {
    let mut run = Run::started(roast(secs(10)));
    for s in 0..=100 {
        run.core(s, 58.0);
    }
    run.to(400);
    for s in 400..=420 {
        run.core(s, 66.0);
    }
    assert!(run.told(&["step_ended"]).contains("between(after(PT1M40S) by("), "{}", run.told(&["step_ended"]));
}

#[test]
fn food_that_is_hot_at_the_first_reading_was_done_before_it() {
    let mut run = Run::started(roast(secs(10)));
    for s in 5..=20 {
        run.core(s, 66.0);
    }
    assert!(run.told(&["step_ended"]).contains("before(by(PT5S))"), "{}", run.told(&["step_ended"]));
}

#[test]
fn the_core_at_which_food_leaves_the_heat_is_written_down() {
    let mut run = Run::started(roast(secs(10)));
    for s in 0..=60 {
        run.core(s, 60.0 + s as f64 * 0.1);
    }
    run.act(60, Act::Done(stage(0)));
    assert!(run.told(&["taken_off"]).contains("60 taken_off loin.roast 66.0"), "{}", run.told(&["taken_off"]));
}
