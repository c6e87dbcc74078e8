//! What each key does: one test for each row of the key table, and what no key may ever do.
#![allow(clippy::unwrap_used)]

use quantities::{Drift, RunTime, Span};
use recipe_model::{BranchId, EventId};
use run_engine::{
    Act, TrialNo,
    view::{AlertState, KeyWord, LaneState, RunView, UndoView},
};
use screens::{
    Desk,
    DeskKey::{self, Knob, KnobHold, Lane, Pedal, Turn},
    KeySound, Pressed, Screen, Wish,
    gallery::views::*,
};
use trial::{AlertKind, AlertSlot, Dark, EarlyReason, PauseReason, Verdict};

/// Presses keys one after another and gives what the last one led to.
fn press(keys: &[DeskKey], view: &RunView) -> Pressed {
    let mut desk = Desk::new();
    let mut last = None;
    for key in keys {
        last = Some(desk.key(*key, view, &station(), view.now));
    }
    last.unwrap()
}

/// The keys do nothing before the last one, and the last one does exactly this.
fn check(keys: &[DeskKey], view: &RunView, acts: &[Act]) {
    for count in 1..keys.len() {
        let before = press(&keys[..count], view);
        assert!(before.acts.is_empty(), "{:?} gave {:?}", &keys[..count], before.acts);
    }
    let pressed = press(keys, view);
    assert_eq!(pressed.acts, acts, "{keys:?}");
    assert!(!acts.is_empty() || pressed.sound != KeySound::Undone);
}

fn refused(keys: &[DeskKey], view: &RunView) {
    let pressed = press(keys, view);
    assert_eq!((pressed.acts, pressed.wish, pressed.sound), (vec![], None, KeySound::NotPossible), "{keys:?}");
}

fn is_board(screen: &Screen) -> bool {
    matches!(screen, Screen::Board(_))
}

#[test]
fn lane_key_starts_a_stage_that_is_ready() {
    check(&[Lane(2)], &ready(), &[Act::Start(stage_at(2))]);
}

#[test]
fn lane_key_silences_its_own_alert_only() {
    check(&[Lane(1)], &two_alerts(), &[Act::Acknowledge(stage_at(1), AlertSlot::Step)]);
    check(&[Lane(3)], &two_alerts(), &[Act::Acknowledge(stage_at(3), AlertSlot::Step)]);
    check(&[Lane(3)], &probe_lost(), &[Act::Acknowledge(stage_at(3), AlertSlot::Probe)]);
}

#[test]
fn lane_key_ends_a_stage_that_is_late_and_silenced() {
    check(&[Lane(1)], &overdue_acknowledged(135), &[Act::Done(stage_at(1))]);
    check(&[Lane(1)], &window(), &[Act::Done(stage_at(1))]);
}

#[test]
fn two_presses_of_a_quiet_lane_end_it_early() {
    check(&[Lane(4), Lane(4)], &four_lanes(), &[Act::Done(stage_at(4))]);
    check(&[Lane(3), Lane(3)], &four_lanes(), &[Act::Done(stage_at(3))]);
}

#[test]
fn one_press_of_a_quiet_lane_only_looks() {
    let mut desk = Desk::new();
    let view = four_lanes();
    assert!(desk.key(Lane(1), &view, &station(), view.now).acts.is_empty());
    assert!(matches!(desk.screen(&view, &station()), Screen::Lane(page) if page.lane == 1));
    desk.key(Lane(3), &view, &station(), view.now);
    assert!(matches!(desk.screen(&view, &station()), Screen::Lane(page) if page.lane == 3));
}

#[test]
fn waiting_lane_is_not_ended_by_two_presses() {
    refused(&[Lane(2), Lane(2)], &four_lanes());
}

#[test]
fn question_is_answered_by_its_lane_key_and_the_knob() {
    check(&[Lane(3)], &question(), &[Act::Look(stage_at(3), Verdict::Done)]);
    check(&[Pedal], &question(), &[Act::Look(stage_at(3), Verdict::Done)]);
    check(&[Knob], &question(), &[Act::Look(stage_at(3), Verdict::NotYet)]);
}

#[test]
fn knob_answers_a_look_with_not_yet() {
    check(&[Knob], &window(), &[Act::Look(window().alerts[0].at, Verdict::NotYet)]);
}

#[test]
fn knob_leads_to_the_menu_once_an_alert_was_put_off_often_enough() {
    let mut view = overdue(135);
    view.alerts[0].later_left = 0;
    let mut desk = Desk::new();
    assert!(desk.key(Knob, &view, &station(), view.now).acts.is_empty());
    assert!(matches!(desk.screen(&view, &station()), Screen::List(_)));
    // a lost probe always has an answer
    let mut lost = probe_lost();
    lost.alerts[0].later_left = 0;
    check(&[Knob], &lost, &[Act::UseTime(lost.alerts[0].at)]);
}

#[test]
fn knob_puts_an_alert_off() {
    for view in [due(), overdue(135), overdue_acknowledged(135), ready()] {
        check(&[Knob], &view, &[Act::Later(view.alerts[0].at)]);
    }
    // of two, the top one
    check(&[Knob], &two_alerts(), &[Act::Later(stage_at(1))]);
}

#[test]
fn turning_on_a_lane_changes_its_time() {
    // 4:37 left: ten seconds a click
    let by = |millis| Act::ChangeTime(stage_at(1), Drift::from_millis(millis));
    check(&[Lane(1), Turn(1), Knob], &four_lanes(), &[by(10_000)]);
    check(&[Lane(1), Turn(6), Knob], &four_lanes(), &[by(60_000)]);
    check(&[Lane(1), Turn(3), Turn(4), Knob], &four_lanes(), &[by(120_000)]);
    // 26 min left: a minute a click
    check(&[Lane(4), Turn(1), Knob], &four_lanes(), &[Act::ChangeTime(stage_at(4), Drift::from_millis(60_000))]);
    check(
        &[Lane(4), Turn(3), Turn(-1), Knob],
        &four_lanes(),
        &[Act::ChangeTime(stage_at(4), Drift::from_millis(120_000))],
    );
}

#[test]
fn time_is_taken_on_the_other_side_and_never_below_nothing() {
    // left of "back": early, then less time
    check(&[Lane(1), Turn(-2), Knob], &four_lanes(), &[Act::ChangeTime(stage_at(1), Drift::from_millis(-10_000))]);
    let view = with_state(four_lanes(), 1, running(15, 990), None);
    for clicks in -20..0 {
        let pressed = press(&[Lane(1), Turn(clicks), Knob], &view);
        let too_much = |act: &Act| matches!(act, Act::ChangeTime(_, by) if by.millis() <= -15_000);
        assert!(!pressed.acts.iter().any(too_much), "{clicks}: {:?}", pressed.acts);
    }
}

#[test]
fn hold_and_go_on_are_one_click_and_a_push() {
    check(&[Lane(4), Turn(-1), Knob], &four_lanes(), &[Act::Hold(stage_at(4), PauseReason::Unsaid)]);
    let held =
        with_state(four_lanes(), 4, LaneState::OnHold { since: before(60), left: Some(Span::from_mins(20)) }, None);
    check(&[Lane(4), Turn(-1), Knob], &held, &[Act::GoOn(stage_at(4))]);
}

#[test]
fn heat_is_never_offered_a_hold() {
    for clicks in -20..20 {
        let pressed = press(&[Lane(1), Turn(clicks), Knob], &four_lanes());
        assert!(!pressed.acts.iter().any(|act| matches!(act, Act::Hold(..))), "{clicks}");
    }
}

#[test]
fn knob_goes_by_time_when_the_probe_is_lost() {
    check(&[Knob], &probe_lost(), &[Act::UseTime(stage_at(3))]);
}

#[test]
fn window_offers_every_verdict_on_its_lane() {
    // the word has just come up, so the first press only opens the lane
    let mut fresh = question();
    fresh.lanes[2].front.as_mut().unwrap().key_since = before(0);
    check(&[Lane(3), Turn(-1), Knob], &fresh, &[Act::Look(stage_at(3), Verdict::NotYet)]);
    check(&[Lane(3), Turn(-2), Knob], &fresh, &[Act::Look(stage_at(3), Verdict::Over)]);
}

#[test]
fn events_and_branches_of_the_recipe_are_offered() {
    let view = many_choices();
    check(&[Lane(4), Turn(-2), Knob], &view, &[Act::Mark(stage_at(4), EventId::new("cream.set"))]);
    check(&[Lane(4), Turn(-3), Knob], &view, &[Act::TakeBranch(stage_at(4), BranchId::new("chill"))]);
    check(&[Lane(4), Turn(-4), Knob], &view, &[Act::Pull(stage_at(4), EarlyReason::PulledEarly)]);
}

#[test]
fn holding_the_knob_undoes_on_every_page() {
    let view = RunView { undo: Some(UndoView { at: before(60), actions: 3 }), ..four_lanes() };
    for keys in [vec![KnobHold], vec![Lane(1), KnobHold], vec![Knob, KnobHold]] {
        check(&keys, &view, &[Act::Undo]);
        assert_eq!(press(&keys, &view).sound, KeySound::Undone);
    }
    refused(&[KnobHold], &four_lanes());
}

#[test]
fn pedal_does_what_the_key_of_the_top_alert_would() {
    check(&[Pedal], &two_alerts(), &[Act::Acknowledge(stage_at(1), AlertSlot::Step)]);
    check(&[Pedal], &overdue_acknowledged(135), &[Act::Done(stage_at(1))]);
    refused(&[Pedal], &four_lanes());
}

#[test]
fn alert_that_was_put_off_claims_neither_pedal_nor_knob() {
    let mut view = with_state(due(), 1, running(0, 1000), Some(KeyWord::Ok(AlertSlot::Step)));
    view.alerts[0].state = AlertState::Shelved { until: after(42) };
    refused(&[Pedal], &view);
    // its cell says "later" and no word, so its key only looks
    assert!(press(&[Lane(1)], &view).acts.is_empty());
    assert!(press(&[Knob], &view).acts.is_empty());
}

#[test]
fn skip_stop_and_give_up_need_a_turn_on_the_keep_page() {
    let far_left = [Lane(1), Turn(-100), Knob];
    let to =
        |clicks: &[i8]| far_left.into_iter().chain(clicks.iter().map(|by| Turn(*by))).chain([Knob]).collect::<Vec<_>>();
    check(&to(&[3]), &four_lanes(), &[Act::StopStage(stage_at(1), EarlyReason::GivenUp)]);
    check(&to(&[1, 1, 1]), &four_lanes(), &[Act::StopStage(stage_at(1), EarlyReason::GivenUp)]);
    check(&to(&[9]), &four_lanes(), &[Act::StopStage(stage_at(1), EarlyReason::GivenUp)]);
    for kept in [&[][..], &[2], &[-3], &[3, -1]] {
        assert!(press(&to(kept), &four_lanes()).acts.is_empty(), "{kept:?}");
    }
    check(&[Lane(1), Turn(-100), Turn(1), Knob, Turn(3), Knob], &four_lanes(), &[Act::Skip(stage_at(1))]);
    check(&[Knob, Turn(5), Knob, Turn(3), Knob], &four_lanes(), &[Act::GiveUp(TrialNo(1))]);
}

#[test]
fn presses_without_a_turn_never_lose_anything() {
    let loses = |act: &Act| {
        matches!(act, Act::Skip(_) | Act::StopStage(..) | Act::GiveUp(_) | Act::Pull(..) | Act::StillOn(_, false))
    };
    let keys = [Lane(1), Lane(2), Lane(3), Lane(4), Knob, KnobHold, Pedal];
    let views = [
        four_lanes(),
        ready(),
        question(),
        window(),
        due(),
        overdue(135),
        overdue_acknowledged(135),
        probe_lost(),
        two_alerts(),
        three_alerts(),
        four_alerts(),
        many_choices(),
        resume(Dark::Known(Span::from_secs(220))),
        saved(),
        nothing_open(),
    ];
    for view in views {
        // every sequence of three presses
        for first in keys {
            for second in keys {
                for third in keys {
                    let mut desk = Desk::new();
                    for key in [first, second, third] {
                        let pressed = desk.key(key, &view, &station(), view.now);
                        assert!(
                            !pressed.acts.iter().any(loses),
                            "{first:?} {second:?} {third:?} gave {:?}",
                            pressed.acts
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn no_single_turn_does_anything() {
    for view in
        [four_lanes(), question(), overdue(135), resume(Dark::Known(Span::from_secs(220))), saved(), nothing_open()]
    {
        for by in [-9, -1, 1, 9] {
            let pressed = press(&[Turn(by)], &view);
            assert_eq!((pressed.acts, pressed.wish), (vec![], None));
        }
    }
}

#[test]
fn press_within_half_a_second_of_a_new_word_answers_nothing() {
    let mut view = due();
    for (age_ms, answers) in [(0, false), (499, false), (500, true)] {
        view.lanes[0].front.as_mut().unwrap().key_since = RunTime::from_millis(NOW.millis() - age_ms);
        assert_eq!(!press(&[Lane(1)], &view).acts.is_empty(), answers, "{age_ms} ms");
        assert_eq!(!press(&[Pedal], &view).acts.is_empty(), answers, "{age_ms} ms by pedal");
        view.alerts[0].raised = RunTime::from_millis(NOW.millis() - age_ms);
        assert_eq!(!press(&[Knob], &view).acts.is_empty(), answers, "{age_ms} ms by knob");
    }
}

#[test]
fn lane_page_goes_back_to_the_board_after_20_s_or_by_the_knob() {
    let mut desk = Desk::new();
    let mut view = four_lanes();
    desk.key(Lane(4), &view, &station(), view.now);
    assert_eq!(desk.next_deadline(&view, &station()), Some(after(20)));
    view.now = RunTime::from_millis(after(20).millis() - 1);
    assert!(!is_board(&desk.screen(&view, &station())));
    view.now = after(20);
    assert!(is_board(&desk.screen(&view, &station())));

    check(&[Lane(4), Knob], &four_lanes(), &[]);
    desk.key(Lane(4), &view, &station(), view.now);
    desk.key(Knob, &view, &station(), view.now);
    assert!(is_board(&desk.screen(&view, &station())));
    assert_eq!(desk.next_deadline(&view, &station()), None);
}

#[test]
fn first_key_after_a_page_went_back_acts_on_the_board() {
    let mut desk = Desk::new();
    let view = four_lanes();
    desk.key(Lane(4), &view, &station(), view.now);
    // on the page of the lane this would end it; on the board it only looks
    let pressed = desk.key(Lane(4), &view, &station(), after(21));
    assert_eq!(pressed.acts, []);
}

#[test]
fn new_alert_brings_the_board_back() {
    let mut desk = Desk::new();
    let quiet = four_lanes();
    desk.key(Lane(4), &quiet, &station(), before(30));
    let called = RunView { alerts: due().alerts, now: before(1), ..due() };
    assert!(is_board(&desk.screen(&called, &station())));

    // one that stood when the page was opened does not
    let mut desk = Desk::new();
    let standing = due();
    desk.key(Lane(4), &standing, &station(), standing.now);
    assert!(!is_board(&desk.screen(&standing, &station())));
}

#[test]
fn no_page_hides_a_standing_alert_for_longer_than_20_s() {
    // put off often enough, so that the knob leads to the menu and on to every page
    let mut view = overdue(135);
    view.alerts[0].later_left = 0;
    let mut here = probe_in_ice(Ok(quantities::Celsius::whole(0)), Some(20), None, false);
    here.settings.speech = None;
    let to_settings = [Knob, Turn(4), Knob];
    // the settings, the check of the first probe, and the last rows
    for keys in [vec![], vec![Turn(6), Knob], vec![Turn(99)]] {
        let mut desk = Desk::new();
        for key in to_settings.into_iter().chain(keys.clone()) {
            desk.key(key, &view, &here, view.now);
        }
        let page = desk.screen(&view, &here);
        assert_eq!(matches!(page, Screen::ProbeCheck(_)), keys.len() == 2, "{page:?}");
        assert!(!is_board(&page));
        let later = RunView { now: after(20), ..view.clone() };
        assert!(is_board(&desk.screen(&later, &here)), "{keys:?}");
    }
}

#[test]
fn power_cut_is_answered_lane_by_lane_or_at_once() {
    let view = resume(Dark::Known(Span::from_secs(220)));
    check(&[Lane(3)], &view, &[Act::StillOn(stage_at(3), true)]);
    let all = [1, 3, 4].map(|lane| Act::StillOn(stage_at(lane), true));
    check(&[Knob], &view, &all);
    check(&[Turn(2), Knob], &view, &[Act::StillOn(stage_at(3), false)]);
    check(&[Turn(2), Turn(-2), Knob], &view, &all);
    // a lane that was waiting is not asked
    refused(&[Lane(2)], &view);
}

#[test]
fn a_lane_that_is_answered_by_its_key_does_not_move_the_choice_of_the_knob() {
    let view = resume(Dark::Known(Span::from_secs(220)));
    let mut desk = Desk::new();
    // lane 3 is chosen as off, then lane 1 is answered by its key
    desk.key(Turn(2), &view, &station(), view.now);
    desk.key(Lane(1), &view, &station(), view.now);
    let mut left = RunView { now: after(1), ..view };
    left.alerts.retain(|alert| alert.lane != 1);
    let pressed = desk.key(Knob, &left, &station(), left.now);
    assert_eq!(pressed.acts, [3, 4].map(|lane| Act::StillOn(stage_at(lane), true)), "nothing is off by a chance");
}

#[test]
fn the_next_alert_is_not_answered_by_a_second_press_meant_for_the_first() {
    let both = two_alerts();
    let mut left = both.clone();
    left.alerts.remove(0);
    for (key, act) in [(Knob, Act::Later(stage_at(3))), (Pedal, Act::Acknowledge(stage_at(3), AlertSlot::Step))] {
        let mut desk = Desk::new();
        desk.look(&RunView { now: before(5), ..both.clone() });
        assert!(!desk.key(key, &both, &station(), both.now).acts.is_empty());
        desk.look(&left);
        let at = |millis| RunTime::from_millis(NOW.millis() + millis);
        assert_eq!(desk.key(key, &left, &station(), at(499)).sound, KeySound::NotPossible, "{key:?}");
        assert_eq!(desk.key(key, &left, &station(), at(500)).acts, [act], "{key:?}");
    }
}

#[test]
fn a_stage_that_comes_to_the_front_is_not_answered_by_a_press_meant_for_the_last() {
    let first = overdue_acknowledged(135);
    let mut second = question();
    let front = second.lanes[2].front.take().unwrap();
    second.lanes[0].front = Some(front);
    let mut desk = Desk::new();
    desk.look(&RunView { now: before(5), ..first.clone() });
    assert_eq!(desk.key(Lane(1), &first, &station(), first.now).acts, [Act::Done(stage_at(1))]);
    desk.look(&second);
    let at = |millis| RunTime::from_millis(NOW.millis() + millis);
    assert_eq!(desk.clone().key(Lane(1), &second, &station(), at(499)).acts, [], "it only opens the lane");
    let answered = [Act::Look(stage_at(3), Verdict::Done)];
    assert_eq!(desk.key(Lane(1), &second, &station(), at(500)).acts, answered);
}

#[test]
fn answer_to_a_power_cut_needs_half_a_second_in_sight() {
    let mut view = resume(Dark::Known(Span::from_secs(220)));
    view.alerts[1].raised = RunTime::from_millis(NOW.millis() - 499);
    refused(&[Knob], &view);
}

#[test]
fn knob_does_what_was_in_sight_though_time_went_on() {
    // 5:00 left when the lane was opened: a click was a minute, and is one still when less is left
    let view = with_state(four_lanes(), 1, running(300, 700), None);
    let mut desk = Desk::new();
    desk.key(Lane(1), &view, &station(), view.now);
    desk.key(Turn(2), &view, &station(), view.now);
    let later = RunView { now: after(10), ..view };
    let pressed = desk.key(Knob, &later, &station(), later.now);
    assert_eq!(pressed.acts, [Act::ChangeTime(stage_at(1), Drift::from_millis(120_000))]);
}

#[test]
fn page_of_a_lane_ends_with_its_step() {
    let view = four_lanes();
    let mut desk = Desk::new();
    desk.key(Lane(1), &view, &station(), view.now);
    desk.key(Turn(1), &view, &station(), view.now);
    let mut next = view;
    next.lanes[0].front.as_mut().unwrap().step = recipe_model::StepId::new("shell.cool");
    assert!(is_board(&desk.screen(&next, &station())));
    assert!(desk.key(Knob, &next, &station(), next.now).acts.is_empty());
}

#[test]
fn resume_claims_the_panel_from_every_page() {
    let mut desk = Desk::new();
    desk.key(Lane(1), &four_lanes(), &station(), NOW);
    assert!(matches!(desk.screen(&resume(Dark::AtLeast(Span::from_secs(60))), &station()), Screen::Resume(_)));
}

#[test]
fn recipe_is_chosen_checked_and_started() {
    let view = nothing_open();
    let mut desk = Desk::new();
    let mut press = |key| desk.key(key, &view, &station(), view.now);
    press(Turn(2));
    assert_eq!(press(Knob).wish, Some(Wish::Prepare(2)));
    press(Turn(3));
    assert_eq!(press(Knob).wish, Some(Wish::Tick(3)));
    assert_eq!(press(Lane(2)).sound, KeySound::NotPossible);
    assert_eq!(press(Lane(1)).wish, Some(Wish::Start));
}

#[test]
fn refused_recipe_cannot_be_opened() {
    refused(&[Turn(3), Knob], &nothing_open());
}

#[test]
fn ready_check_leads_back_to_the_recipes() {
    let view = nothing_open();
    let mut desk = Desk::new();
    for key in [Turn(2), Knob, Turn(99), Knob] {
        desk.key(key, &view, &station(), view.now);
    }
    assert!(
        matches!(desk.screen(&view, &station()), Screen::List(list) if list.header.left.full() == "Choose a recipe" && list.chosen == 2)
    );
}

#[test]
fn saved_trial_is_closed_by_the_knob_and_reopened_by_a_hold() {
    check(&[KnobHold], &saved(), &[Act::Reopen(TrialNo(1))]);
    let mut desk = Desk::new();
    assert!(matches!(desk.screen(&saved(), &station()), Screen::Saved(_)));
    desk.key(Knob, &saved(), &station(), NOW);
    assert!(matches!(desk.screen(&saved(), &station()), Screen::List(_)));
}

#[test]
fn menu_leads_to_quiet_and_to_another_recipe() {
    check(&[Knob, Turn(3), Knob], &four_lanes(), &[Act::Quiet(true)]);
    let quiet = RunView { quiet: true, ..four_lanes() };
    check(&[Knob, Turn(3), Knob], &quiet, &[Act::Quiet(false)]);
    let pressed = press(&[Knob, Turn(2), Knob, Turn(2), Knob], &four_lanes());
    assert_eq!(pressed.wish, Some(Wish::Prepare(2)));
}

#[test]
fn lane_key_on_a_page_without_cells_only_looks() {
    assert!(press(&[Knob, Lane(1)], &overdue_acknowledged(135)).acts.len() <= 1);
    let view = four_lanes();
    let mut desk = Desk::new();
    desk.key(Knob, &view, &station(), view.now);
    desk.key(Lane(4), &view, &station(), view.now);
    assert!(matches!(desk.screen(&view, &station()), Screen::Lane(page) if page.lane == 4));
}

#[test]
fn empty_lane_gives_the_no_sound() {
    refused(&[Lane(4)], &only_lanes(2));
}

#[test]
fn inside_and_lost_words_reach_the_engine() {
    check(&[Lane(4)], &four_alerts(), &[Act::InsideDone(stage_at(4))]);
    let view = with_state(four_lanes(), 3, LaneState::Probe, Some(KeyWord::Ok(AlertSlot::Probe)));
    let view = with_alert(view, alert(3, AlertKind::WasLost, "", "curd", 40));
    check(&[Lane(3)], &view, &[Act::Acknowledge(stage_at(3), AlertSlot::Probe)]);
}
