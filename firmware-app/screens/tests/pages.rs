//! The pages beside a run: what each key does on them.
#![allow(clippy::unwrap_used)]

use quantities::NoReading;
use run_engine::{
    Act, TrialNo,
    view::{AlertView, RunView},
};
use screens::{
    Bath, CannotView, CannotWhy, Desk,
    DeskKey::{self, Knob, KnobHold, Lane, Pedal, Turn},
    JoinView, KeySound, PlanAsked, Pressed, Remedy, Scarce, Screen, SettingChange, StationView, Units, Wish,
    gallery::{views::*, views_of_plan::*},
    screen::{Entry, MovedWay},
};
use words::Language;

fn press(keys: &[DeskKey], view: &RunView, here: &StationView) -> (Desk, Pressed) {
    let mut desk = Desk::new();
    let mut last = None;
    for key in keys {
        last = Some(desk.key(*key, view, here, view.now));
    }
    (desk, last.unwrap())
}

fn wish(keys: &[DeskKey], view: &RunView, here: &StationView) -> Option<Wish> {
    press(keys, view, here).1.wish
}

const SETTINGS: [DeskKey; 3] = [Knob, Turn(4), Knob];

fn setting(row: i8, by: i8) -> Option<Wish> {
    let keys: Vec<DeskKey> = SETTINGS.into_iter().chain([Turn(row), Knob, Turn(by)]).collect();
    wish(&keys, &four_lanes(), &station())
}

#[test]
fn a_moved_plan_is_taken_by_the_knob_and_kept_by_a_turn_and_the_knob() {
    let here = plan_moved(MovedWay::Late, 2820, 3180);
    assert_eq!(wish(&[Knob], &four_lanes(), &here), Some(Wish::TakePlan));
    assert_eq!(wish(&[Turn(1), Knob], &four_lanes(), &here), Some(Wish::KeepPlan));
    assert_eq!(wish(&[Turn(1), Turn(-1), Knob], &four_lanes(), &here), Some(Wish::TakePlan));
    let (desk, _) = press(&[Knob], &four_lanes(), &here);
    assert!(matches!(desk.screen(&four_lanes(), &here), Screen::Board(_)), "answered, it is not shown again");
}

#[test]
fn a_moved_plan_is_shown_for_15_s_and_never_over_an_alert() {
    let here = plan_moved(MovedWay::Late, 2820, 3180);
    let at = here.moved.as_ref().unwrap().at;
    let desk = Desk::new();
    let shown = |view: &RunView| matches!(desk.screen(view, &here), Screen::Moved(_));
    let later = |millis| RunView { now: at + quantities::Span::from_millis(millis), ..four_lanes() };
    assert!(shown(&four_lanes()));
    assert!(shown(&later(14_999)));
    assert!(!shown(&later(15_000)));
    assert_eq!(desk.next_deadline(&four_lanes(), &here), Some(at + quantities::Span::from_secs(15)));
    for alerted in [due(), question(), probe_lost(), ready(), overdue_acknowledged(135)] {
        assert!(!shown(&alerted));
        // and the knob answers the alert, not the plan
        assert_eq!(wish(&[Knob], &alerted, &here), None);
    }
}

#[test]
fn a_moved_plan_needs_half_a_second_in_sight() {
    let mut here = plan_moved(MovedWay::Late, 2820, 3180);
    here.moved.as_mut().unwrap().at = quantities::RunTime::from_millis(NOW.millis() - 499);
    let pressed = press(&[Knob], &four_lanes(), &here).1;
    assert_eq!((pressed.wish, pressed.sound), (None, KeySound::NotPossible));
}

fn noted(at: usize, keys: &[DeskKey]) -> Vec<Act> {
    press(keys, &saved(), &outcome_from(at)).1.acts
}

fn measured(what: &str, thousandths: i64, unit: Option<&str>) -> Vec<Act> {
    vec![Act::Measure(TrialNo(1), what.into(), thousandths, unit.map(Into::into))]
}

#[test]
fn what_is_noted_after_a_trial_goes_on_record() {
    let weight = [Turn(9), Knob, Turn(1), Knob, Turn(2), Knob, Turn(5), Knob];
    assert_eq!(noted(0, &weight), measured("tart, cooled", 912_500, Some("g")));
    assert_eq!(noted(1, &[Turn(1), Turn(1), Knob]), measured("crust", 4_000, None));
    assert_eq!(noted(2, &[Turn(1), Turn(3), Knob]), measured("liking", 8_000, None));
    assert_eq!(noted(3, &[Turn(1), Turn(-99), Knob]), measured("filling", 1_000, None));
    // a push without a turn skips
    assert_eq!(noted(0, &[Knob]), []);
}

#[test]
fn every_thing_is_asked_once_and_then_the_saved_screen_comes() {
    let here = outcome_from(1);
    let mut desk = Desk::new();
    let mut asked = Vec::new();
    while let Screen::Outcome(page) = desk.screen(&saved(), &here) {
        asked.push(page.question.full().to_owned());
        assert!(asked.len() < 9, "{asked:?}");
        desk.key(Knob, &saved(), &here, NOW);
    }
    assert_eq!(asked, ["crust", "liking", "filling"], "what is on record already is not asked again");
    assert!(matches!(desk.screen(&saved(), &here), Screen::Saved(_)));
}

#[test]
fn a_hold_takes_back_what_was_noted_last_and_asks_it_again() {
    let here = outcome_from(2);
    let mut desk = Desk::new();
    for key in [Turn(1), Turn(1), Knob] {
        desk.key(key, &saved(), &here, NOW);
    }
    let pressed = desk.key(KnobHold, &saved(), &here, NOW);
    assert_eq!((pressed.acts, pressed.sound), (vec![Act::Undo], KeySound::Undone));
    let Screen::Outcome(page) = desk.screen(&saved(), &here) else { panic!("the sheet is left") };
    assert_eq!(page.question.full(), "liking");
    // what is entered but not noted is only cleared
    desk.key(Turn(1), &saved(), &here, NOW);
    assert_eq!(desk.key(KnobHold, &saved(), &here, NOW).acts, []);
    let Screen::Outcome(page) = desk.screen(&saved(), &here) else { panic!("the sheet is left") };
    assert!(matches!(page.entry, Entry::Scale { chosen: None, .. }));
}

#[test]
fn a_hold_asks_what_it_takes_back_though_others_were_skipped_after_it() {
    let here = outcome_from(1);
    let mut desk = Desk::new();
    // the crust is noted, the liking is skipped
    for key in [Turn(1), Knob, Knob] {
        desk.key(key, &saved(), &here, NOW);
    }
    assert_eq!(desk.key(KnobHold, &saved(), &here, NOW).acts, [Act::Undo]);
    let Screen::Outcome(page) = desk.screen(&saved(), &here) else { panic!("the sheet is left") };
    assert_eq!(page.question.full(), "crust");
}

#[test]
fn what_was_chosen_for_a_plan_says_nothing_about_the_next() {
    let here = plan_moved(MovedWay::Late, 2820, 3180);
    let (mut desk, _) = press(&[Turn(1)], &four_lanes(), &here);
    let mut next = here.clone();
    let at = here.moved.as_ref().unwrap().at + quantities::Span::from_mins(5);
    next.moved.as_mut().unwrap().at = at;
    let view = RunView { now: at + quantities::Span::from_secs(1), ..four_lanes() };
    assert_eq!(desk.key(Knob, &view, &next, view.now).wish, Some(Wish::TakePlan));
}

#[test]
fn a_press_meant_for_the_board_notes_nothing() {
    let mut view = saved();
    view.trials[0].closed = Some(quantities::RunTime::from_millis(NOW.millis() - 499));
    let pressed = press(&[Knob], &view, &outcome_from(0)).1;
    assert_eq!((pressed.acts, pressed.sound), (vec![], KeySound::NotPossible));
    // lane keys have nothing to do here
    for key in [Lane(1), Lane(4), Pedal] {
        assert_eq!(press(&[key], &saved(), &outcome_from(0)).1.sound, KeySound::NotPossible);
    }
}

#[test]
fn a_trial_that_was_given_up_asks_for_no_outcome() {
    let screen = Desk::new().screen(&given_up(), &outcome_from(0));
    assert!(matches!(screen, Screen::Saved(_)));
}

#[test]
fn settings_change_while_the_knob_turns_and_stop_at_their_ends() {
    assert_eq!(setting(1, 1), Some(Wish::Set(SettingChange::Sound(4))));
    assert_eq!(setting(1, -9), Some(Wish::Set(SettingChange::Sound(1))), "the floor: never silent");
    assert_eq!(setting(2, 9), Some(Wish::Set(SettingChange::Brightness(5))));
    assert_eq!(setting(3, 1), Some(Wish::Set(SettingChange::Units(Units::Fahrenheit))));
    assert_eq!(setting(4, 1), Some(Wish::Set(SettingChange::Language(Language::German))));
    assert_eq!(setting(5, 1), Some(Wish::Set(SettingChange::Lamps(false))));
    assert_eq!(setting(6, -1), Some(Wish::Set(SettingChange::Speech(true))));
    assert_eq!(setting(10, 1), Some(Wish::Set(SettingChange::Lane(2, 1))));
    // at its end a level does not move, and says so
    let mut loud = station();
    loud.settings.sound = 5;
    let keys = [Knob, Turn(4), Knob, Turn(1), Knob, Turn(1)];
    assert_eq!(press(&keys, &four_lanes(), &loud).1.sound, KeySound::NotPossible);
}

#[test]
fn a_turn_without_a_push_changes_no_setting() {
    let keys: Vec<DeskKey> = SETTINGS.into_iter().chain([Turn(1), Turn(1), Turn(-1)]).collect();
    assert_eq!(wish(&keys, &four_lanes(), &station()), None);
}

#[test]
fn settings_are_reached_from_the_list_of_recipes_too() {
    let (desk, _) = press(&[Turn(99), Knob], &nothing_open(), &station());
    assert!(
        matches!(desk.screen(&nothing_open(), &station()), Screen::List(list) if list.header.left.full() == "Settings")
    );
    // also where there is no recipe
    let none = StationView { recipes: vec![], ..station() };
    let (desk, _) = press(&[Knob], &nothing_open(), &none);
    assert!(matches!(desk.screen(&nothing_open(), &none), Screen::List(list) if list.header.left.full() == "Settings"));
}

#[test]
fn a_check_is_saved_only_once_the_probe_stands_still_and_is_near_enough() {
    let to_check = |turn: &[DeskKey], here: &StationView| {
        let keys: Vec<DeskKey> = SETTINGS.into_iter().chain([Turn(7), Knob]).chain(turn.iter().copied()).collect();
        press(&keys, &four_lanes(), here).1
    };
    let at = |ten_thousandths| Ok(quantities::Celsius::from_ten_thousandths(ten_thousandths).unwrap());
    let steady = probe_in_ice(at(2_500), Some(61), Some(2_500), false);
    assert_eq!(to_check(&[], &steady).wish, Some(Wish::CheckProbe(0, Bath::Ice)));
    let saved_now = to_check(&[Knob], &steady);
    assert_eq!((saved_now.wish, saved_now.sound), (Some(Wish::SaveCheck), KeySound::Saved));
    for not_yet in [
        probe_in_ice(at(2_500), Some(20), None, false),
        probe_in_ice(at(41_000), Some(61), Some(41_000), false),
        probe_in_ice(at(2_500), Some(90), Some(2_500), true),
        probe_in_ice(Err(NoReading::Unplugged), None, None, false),
    ] {
        assert_eq!(to_check(&[Knob], &not_yet).wish, Some(Wish::EndCheck), "{:?}", not_yet.probe_check);
    }
    assert_eq!(to_check(&[Turn(1), Knob], &steady).wish, Some(Wish::CheckProbe(0, Bath::Boiling)));
    // forgetting is asked once more, with KEEP chosen
    assert_eq!(to_check(&[Turn(2), Knob, Knob], &steady).wish, None);
    assert_eq!(to_check(&[Turn(2), Knob, Turn(3), Knob], &steady).wish, Some(Wish::ForgetCheck(0)));
}

#[test]
fn joining_is_opened_from_the_settings_and_ended_by_the_knob() {
    let keys: Vec<DeskKey> = SETTINGS.into_iter().chain([Turn(13), Knob]).collect();
    assert_eq!(wish(&keys, &four_lanes(), &joining(join_open())), Some(Wish::OpenJoin));
    let ended: Vec<DeskKey> = keys.iter().copied().chain([Knob]).collect();
    assert_eq!(wish(&ended, &four_lanes(), &joining(join_open())), Some(Wish::EndJoin));
    assert_eq!(wish(&ended, &four_lanes(), &joining(JoinView::NoNetwork)), None);
}

#[test]
fn the_self_test_gives_way_to_an_alert_and_ends_by_the_knob() {
    let here = self_test(true);
    assert_eq!(wish(&[Knob], &nothing_open(), &here), Some(Wish::EndSelfTest));
    assert_eq!(wish(&[Lane(3)], &nothing_open(), &here), Some(Wish::TestLane(3)));
    assert!(matches!(Desk::new().screen(&nothing_open(), &here), Screen::Starting(_)));
    assert!(matches!(Desk::new().screen(&overdue(135), &here), Screen::Board(_)));
}

#[test]
fn every_stage_of_a_lane_is_reached_by_its_key_and_the_knob() {
    let view = six_stages();
    // the oven holds two foods: the one behind is opened, and its own key ends it
    let (desk, _) = press(&[Lane(1), Turn(-1), Knob], &view, &station());
    let Screen::Lane(page) = desk.screen(&view, &station()) else { panic!("no page of a lane") };
    assert_eq!(page.header.left.full(), "Oven: potatoes roast");
    let behind = view.lanes[0].others[0].at;
    assert_eq!(press(&[Lane(1), Turn(-1), Knob, Lane(1)], &view, &station()).1.acts, [Act::Done(behind)]);
}

const TO_PLAN: [DeskKey; 3] = [Knob, Turn(1), Knob];

fn rows(desk: &Desk, view: &RunView, here: &StationView) -> (Vec<String>, usize) {
    let Screen::List(list) = desk.screen(view, here) else { panic!("no list") };
    (list.rows.iter().map(|row| format!("{} | {}", row.text.full(), row.aside.full())).collect(), list.chosen)
}

#[test]
fn the_plan_lists_landings_then_starts_with_their_latest_and_scrolls() {
    let (view, here) = (planned_late(), station());
    let (mut desk, _) = press(&TO_PLAN, &view, &here);
    let (all, chosen) = rows(&desk, &view, &here);
    assert_eq!(
        all,
        [
            "tart and cream | lands 12:47",
            "8 in 10 | 12:45-12:51",
            "5 min late | wanted 12:42",
            "milk warm | 12:12, latest 12:16",
            "syrup boil | 12:15, no slack",
            "tart bake | 12:25, latest 12:26",
            "tart cool | 12:40, no slack",
            "cream whip | 12:41, latest 12:46",
        ]
    );
    assert_eq!(chosen, 0);
    desk.key(Turn(99), &view, &here, NOW);
    assert_eq!(rows(&desk, &view, &here).1, 7);
    desk.key(Turn(-2), &view, &here, NOW);
    assert_eq!(rows(&desk, &view, &here).1, 5);
    let pressed = desk.key(Knob, &view, &here, NOW);
    assert_eq!((pressed.acts, pressed.wish), (vec![], None), "a start is only to be read");
    assert!(matches!(desk.screen(&view, &here), Screen::Board(_)));
}

#[test]
fn the_plan_is_in_the_menu_only_where_there_is_one_and_goes_with_it() {
    let here = station();
    let (desk, _) = press(&[Knob], &four_lanes(), &here);
    assert!(rows(&desk, &four_lanes(), &here).0.iter().all(|row| !row.starts_with("Plan")));
    let (desk, _) = press(&TO_PLAN, &planned(), &here);
    assert!(matches!(desk.screen(&planned(), &here), Screen::List(_)));
    assert!(matches!(desk.screen(&four_lanes(), &here), Screen::Board(_)), "the last step has begun");
    let later = |secs| RunView { now: after(secs), ..planned() };
    assert!(matches!(desk.screen(&later(59), &here), Screen::List(_)));
    assert!(matches!(desk.screen(&later(60), &here), Screen::Board(_)));
    // an alert comes first, and a lane key only looks
    let raised = |alert: AlertView| AlertView { raised: NOW, ..alert };
    let called = RunView { alerts: due().alerts.into_iter().map(raised).collect(), ..later(1) };
    assert!(matches!(desk.screen(&called, &here), Screen::Board(_)));
    let (desk, pressed) = press(&[Knob, Turn(1), Knob, Lane(2)], &planned(), &here);
    assert_eq!(pressed.acts, []);
    assert!(matches!(desk.screen(&planned(), &here), Screen::Lane(_)));
}

/// To the row of the ready check that states when the dishes are wanted.
const TO_READY_AT: [DeskKey; 3] = [Turn(2), Knob, Turn(5)];

fn stating(then: &[DeskKey], here: &StationView) -> (Desk, Pressed) {
    press(&[TO_READY_AT.as_slice(), then].concat(), &nothing_open(), here)
}

#[test]
fn the_ready_check_states_when_the_dishes_are_wanted_five_minutes_a_click() {
    let untouched = station();
    let (desk, _) = stating(&[], &untouched);
    assert_eq!(rows(&desk, &nothing_open(), &untouched).0[5], "Ready at | as it comes");
    // nothing is stated before the row was pushed: a turn moves on
    let (desk, moved) = stating(&[Turn(1)], &untouched);
    assert_eq!((moved.wish, rows(&desk, &nothing_open(), &untouched).1), (None, 6));
    assert_eq!(stating(&[Knob], &untouched).1.wish, Some(Wish::ReadyAt(None)), "what a plan says is asked");
    // the earliest moment is not known: from now on, 12:00
    assert_eq!(stating(&[Knob, Turn(1)], &untouched).1.wish, Some(Wish::ReadyAt(Some(NOW))));
    assert_eq!(stating(&[Knob, Turn(2)], &untouched).1.wish, Some(Wish::ReadyAt(Some(after(300)))));
    // 12:47 is the earliest: 12:50 is the lowest
    let here = wanted_at(3300, plan_says(300, 3300, 0));
    let turned = |by| stating(&[Knob, Turn(by)], &here).1.wish;
    assert_eq!(turned(1), Some(Wish::ReadyAt(Some(after(3600)))));
    assert_eq!(turned(-1), Some(Wish::ReadyAt(Some(after(3000)))));
    assert_eq!(turned(-2), Some(Wish::ReadyAt(None)));
    // kept by a push, after which turns move on
    assert_eq!(stating(&[Knob, Knob], &here).1, Pressed { acts: vec![], wish: None, sound: KeySound::Taken });
    let (desk, last) = stating(&[Knob, Knob, Turn(1)], &here);
    assert_eq!((last.wish, rows(&desk, &nothing_open(), &here).1), (None, 7), "below its second line");
    // the ticks and the start are as before
    assert_eq!(stating(&[Turn(-1), Knob], &here).1.wish, Some(Wish::Tick(4)));
    assert_eq!(stating(&[Knob, Lane(1)], &here).1.wish, Some(Wish::Start));
}

#[test]
fn a_turn_that_states_nothing_new_gives_the_no_sound_and_a_hold_goes_back() {
    let as_it_comes = stating(&[Knob, Turn(-1)], &station()).1;
    assert_eq!((as_it_comes.wish, as_it_comes.sound), (None, KeySound::NotPossible));
    let here = wanted_at(3300, plan_says(300, 3300, 0));
    let mut desk = stating(&[Knob], &here).0;
    let turned = wanted_at(3600, plan_says(600, 3600, 0));
    let held = desk.key(KnobHold, &nothing_open(), &turned, NOW);
    assert_eq!((held.wish, held.sound), (Some(Wish::ReadyAt(Some(after(3300)))), KeySound::Undone));
    let Screen::List(list) = desk.screen(&nothing_open(), &here) else { panic!("no list") };
    assert!(!list.changing);
}

#[test]
fn the_second_line_of_the_wanted_moment_says_what_is_first_or_how_early_it_can_be() {
    let shown = |here: &StationView| {
        let (desk, _) = stating(&[], here);
        let (rows, chosen) = rows(&desk, &nothing_open(), here);
        assert_eq!(chosen, 5);
        rows[5..].to_vec()
    };
    let back = "Back to the recipes | ";
    assert_eq!(
        shown(&wanted_at(2820, plan_says(300, 2820, 0))),
        ["Ready at | 12:47", "first: cream prep | 12:05", back]
    );
    assert_eq!(shown(&wanted_at(2100, plan_says(0, 2820, 720))), ["Ready at | 12:35", "earliest 12:47 | ", back]);
    assert_eq!(shown(&wanted_at(2100, None)), ["Ready at | 12:35", back], "no plan can be made");
    let no_clock = |here| StationView { clock: None, ..here };
    assert_eq!(
        shown(&no_clock(wanted_at(6300, plan_says(2700, 6300, 0)))),
        ["Ready | in 1h45", "first: cream prep | in 45 min", back]
    );
    assert_eq!(shown(&no_clock(wanted_at(2100, plan_says(0, 2820, 720))))[1], "earliest in 47 min | ");
}

#[test]
fn the_landing_of_a_plan_is_wanted_anew_by_a_turn_and_a_push() {
    let view = planned();
    let trial = TrialNo(1);
    let keys = [TO_PLAN.as_slice(), &[Knob]].concat();
    assert_eq!(wish(&keys, &view, &station()), Some(Wish::AskPlan(trial, None)));
    let then =
        |then: &[DeskKey], view: &RunView, here: &StationView| press(&[keys.as_slice(), then].concat(), view, here);
    let here = wanting(Some(3600), plan_says(1500, 3600, 0));
    assert_eq!(then(&[Turn(1)], &view, &here).1.wish, Some(Wish::AskPlan(trial, Some(after(3900)))));
    let (desk, last) = then(&[Knob], &view, &here);
    assert_eq!(last.wish, Some(Wish::Want(trial, after(3600))));
    assert!(matches!(desk.screen(&view, &here), Screen::Board(_)), "there it is said when the plan moves");
    // nothing new: the page stays
    let mut stated = view.clone();
    stated.landings[0].wanted = Some(after(3600));
    let (desk, last) = then(&[Knob], &stated, &here);
    assert_eq!((last.wish, last.sound), (None, KeySound::Taken));
    assert!(matches!(desk.screen(&stated, &here), Screen::List(list) if !list.changing));
    // what is stated already is not given up by turning back
    assert_eq!(then(&[Turn(-99)], &stated, &here).1.wish, Some(Wish::AskPlan(trial, Some(after(3000)))));
    assert_eq!(then(&[Turn(-99)], &view, &here).1.wish, Some(Wish::AskPlan(trial, None)));
    let held = then(&[KnobHold], &view, &here).1;
    assert_eq!((held.acts, held.wish, held.sound), (vec![], None, KeySound::Undone));
    // what another trial was asked says nothing here
    let mut other = here.clone();
    other.wanting.as_mut().unwrap().trial = TrialNo(2);
    assert_eq!(then(&[Knob], &view, &other).1.wish, None);
}

#[test]
fn a_run_without_a_plan_is_planned_from_the_menu() {
    let view = four_lanes();
    let keys = [Knob, Turn(1), Knob];
    assert_eq!(wish(&keys, &view, &station()), Some(Wish::AskPlan(TrialNo(1), None)));
    let here = wanting(Some(3600), plan_says(720, 3600, 0));
    let (desk, _) = press(&keys, &view, &here);
    let (all, chosen) = rows(&desk, &view, &here);
    assert_eq!((all[1].as_str(), all[2].as_str(), chosen), ("Ready at | 13:00", "first: cream prep | 12:12", 1));
    assert_eq!(wish(&[Knob, Turn(1), Knob, Knob], &view, &here), Some(Wish::Want(TrialNo(1), after(3600))));
    assert_eq!(wish(&[Knob, Turn(1), Knob, Knob], &view, &wanting(None, None)), None);
    // two trials are told apart by their names; a closed one is not offered
    let mut two = view.clone();
    two.trials.push(run_engine::view::TrialView { no: TrialNo(2), title: "Soup".into(), ..view.trials[0].clone() });
    let (desk, _) = press(&[Knob], &two, &station());
    assert_eq!(
        rows(&desk, &two, &station()).0[1..3],
        ["Ready at: Lemon tart | as it comes", "Ready at: Soup | as it comes"]
    );
    two.trials[0].closed = Some(NOW);
    assert_eq!(wish(&keys, &two, &station()), Some(Wish::AskPlan(TrialNo(2), None)));
}

#[test]
fn an_alert_or_a_rest_leaves_what_was_being_stated() {
    let here = wanting(Some(3600), plan_says(720, 3600, 0));
    let asked = |desk: &Desk, view: &RunView| desk.asks_plan(view, &here);
    let (desk, _) = press(&[Knob, Turn(1), Knob], &four_lanes(), &here);
    assert_eq!(asked(&desk, &four_lanes()), Some(PlanAsked::Trial(TrialNo(1))));
    let later = |secs| RunView { now: after(secs), ..four_lanes() };
    assert_eq!(asked(&desk, &later(20)), None);
    let raised = |alert: AlertView| AlertView { raised: NOW, ..alert };
    let called = RunView { alerts: due().alerts.into_iter().map(raised).collect(), ..later(1) };
    assert_eq!(asked(&desk, &called), None);
    assert_eq!(stating(&[Knob], &here).0.asks_plan(&nothing_open(), &here), Some(PlanAsked::Prepared));
}

#[test]
fn the_board_says_the_landing_of_an_open_trial_in_place_of_all_done() {
    let right = |view: &RunView, here: &StationView| {
        let Screen::Board(board) = Desk::new().screen(view, here) else { panic!("no board") };
        board.header.right.full().to_owned()
    };
    assert_eq!(right(&four_lanes(), &station()), "All done 12:47");
    let mut view = planned();
    view.landings[0].at = after(2700);
    assert_eq!(right(&view, &station()), "lands 12:45");
    assert_eq!(right(&view, &StationView { clock: None, ..station() }), "lands in 45:00");
    view.landings[0].trial = TrialNo(2);
    assert_eq!(right(&view, &station()), "All done 12:47", "a landing of no open trial says nothing");
}

#[test]
fn a_step_that_is_due_to_be_started_is_started_by_its_key_or_put_off_by_the_knob() {
    let (view, here) = (start_due(), station());
    let at = stage_at(2);
    assert_eq!(press(&[Lane(2)], &view, &here).1.acts, [Act::Start(at)]);
    assert_eq!(press(&[Pedal], &view, &here).1.acts, [Act::Start(at)]);
    assert_eq!(press(&[Knob], &view, &here).1.acts, [Act::Later(at)]);
}

#[test]
fn a_landing_that_moves_is_said_in_place_of_all_done_and_one_that_does_not_fit_says_why() {
    let moved = |way, now, cannot| {
        let Screen::Moved(page) = Desk::new().screen(&planned(), &landing_moved(way, now, cannot)) else {
            panic!("no page")
        };
        page
    };
    let late = moved(MovedWay::Late, 3180, None);
    assert_eq!((late.title.full(), late.header.right.full()), ("Lands 6 min later", "lands 12:53"));
    assert_eq!(late.header.left.full(), "tart and cream");
    assert!(late.reason.iter().all(|text| text.is_empty()));
    let said = |cannot| moved(MovedWay::CannotFit, 3540, Some(cannot)).reason.map(|text| text.full().to_owned());
    assert_eq!(said(too_few_burners()), ["2 burners wanted at 12:20", "earliest 12:52"]);
    assert_eq!(said(waits_too_long()), ["tart waits 6 min too long", "let tart wait 6 min more"]);
    assert_eq!(said(two_heats()), ["oven wanted at two heats at 12:20", "with one more oven"]);
}

#[test]
fn every_reason_and_remedy_fits_both_panels_in_both_languages() {
    let span = quantities::Span::from_mins(59);
    let what = || "rye loaves".to_owned();
    let mut whys = vec![
        CannotWhy::TwoHeats { at: after(1200) },
        CannotWhy::WaitsTooLong { what: what(), by: span },
        CannotWhy::TooSoon { wanted: after(1200) },
        CannotWhy::TooFarApart { by: span },
    ];
    let mut remedies = vec![
        None,
        Some(Remedy::Earliest(after(9000))),
        Some(Remedy::LetWait { what: what(), by: span }),
        Some(Remedy::Spread(span)),
    ];
    for of in [Scarce::Cooks, Scarce::Ovens, Scarce::Shelves, Scarce::Microwaves, Scarce::Burners] {
        whys.extend([1, 12].map(|wanted| CannotWhy::TooFew { of, wanted, at: after(1200) }));
        remedies.push(Some(Remedy::OneMore(of)));
    }
    for language in Language::ALL {
        for clock in [None, station().clock] {
            for why in &whys {
                for remedy in &remedies {
                    let cannot = CannotView { why: why.clone(), remedy: remedy.clone() };
                    let mut here = landing_moved(MovedWay::CannotFit, 3540, Some(cannot));
                    (here.clock, here.settings.language) = (clock, language);
                    let screen = Desk::new().screen(&planned(), &here);
                    assert_eq!((screen.too_wide(), screen.too_wide_mono()), (vec![], vec![]), "{why:?} {remedy:?}");
                }
            }
        }
    }
}
