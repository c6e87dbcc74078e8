//! Every state of every screen, for a sheet of pictures, for the set-up of a panel and for the tests.

mod german;
pub mod views;
pub mod views_of_core;
pub mod views_of_plan;

use alloc::{boxed::Box, string::String, vec::Vec};

use quantities::{NoReading, Span};
use run_engine::view::RunView;
use thermometry::{Doubt, Fault, Quality};
use trial::{Dark, Withheld};
use words::{Language, Text};

use crate::{Desk, DeskKey, JoinView, Kept, Screen, StationView, Units, screen::MovedWay};
use views::*;
use views_of_core::*;
use views_of_plan::*;

/// One state of a screen.
#[derive(Clone, Debug)]
pub struct State {
    /// Screen and state: `s07-overdue`. Sorts in the order of the screens.
    pub name: &'static str,
    /// What is shown.
    pub screen: Screen,
}

/// What leads to a state: where the cook stands, and what the panel is told.
#[derive(Clone, Debug)]
pub struct Scene {
    /// As [`State::name`].
    pub name: &'static str,
    /// The open page.
    pub desk: Desk,
    /// The run.
    pub view: RunView,
    /// What there is besides the run.
    pub station: StationView,
}

impl Scene {
    /// What is shown.
    pub fn screen(&self) -> Screen {
        self.desk.screen(&self.view, &self.station)
    }
}

/// Every state, in a language; temperatures in this unit.
pub fn all(language: Language, units: Units) -> Vec<State> {
    scenes(language, units).iter().map(|scene| State { name: scene.name, screen: scene.screen() }).collect()
}

/// What leads to every state.
pub fn scenes(language: Language, units: Units) -> Vec<Scene> {
    let scenes = states(language, units).into_iter();
    let scene = |(name, led): (_, Led)| {
        let (desk, view, station) = *led;
        Scene { name, desk, view, station }
    };
    scenes.map(scene).collect()
}

/// Run and station as they are told to a panel of this language.
fn said(run: &RunView, mut station: StationView, language: Language, units: Units) -> (RunView, StationView) {
    let mut run = run.clone();
    station.settings.language = language;
    station.settings.units = units;
    station.about = alloc::vec![[language.version("0.1.0"), Text::none()]];
    for recipe in &mut station.recipes {
        recipe.refused = recipe.refused.as_ref().map(|_| language.refused_errors(1));
    }
    match language {
        Language::English => {}
        Language::German => german::translate(&mut run, &mut station),
    }
    (run, station)
}

/// Page, run and station; in a box, for the list of all states is made on the stack.
type Led = Box<(Desk, RunView, StationView)>;

fn states(language: Language, units: Units) -> Vec<(&'static str, Led)> {
    let pressed_at = |keys: &[DeskKey], view: &RunView, here: StationView| {
        let (view, here) = said(view, here, language, units);
        let mut desk = Desk::new();
        for key in keys {
            desk.key(*key, &view, &here, view.now);
        }
        Box::new((desk, view, here))
    };
    let at = |view: &RunView, here: StationView| pressed_at(&[], view, here);
    let home = |view: &RunView| pressed_at(&[], view, station());
    let pressed = |keys: &[DeskKey], view: &RunView| pressed_at(keys, view, station());
    let keep_to = |clicks| [DeskKey::Lane(1), DeskKey::Turn(-100), DeskKey::Knob, DeskKey::Turn(clicks)];
    let to_settings = |rows: i8| [DeskKey::Knob, DeskKey::Turn(4), DeskKey::Knob, DeskKey::Turn(rows)];
    let open_check = {
        let keys = [DeskKey::Turn(2), DeskKey::Knob, DeskKey::Turn(2)];
        move |here: StationView| pressed_at(&keys, &nothing_open(), here)
    };
    let noting = |at_item: usize, keys: &[DeskKey]| pressed_at(keys, &saved(), outcome_from(at_item));
    let check_then = |here: StationView, then: &[DeskKey]| {
        let mut keys: Vec<DeskKey> = to_settings(7).to_vec();
        keys.push(DeskKey::Knob);
        keys.extend(then);
        pressed_at(&keys, &four_lanes(), here)
    };
    let check = |here: StationView, turn: i8| check_then(here, &[DeskKey::Turn(turn)]);
    let join = |join: JoinView| {
        let mut keys: Vec<DeskKey> = to_settings(13).to_vec();
        keys.push(DeskKey::Knob);
        pressed_at(&keys, &four_lanes(), joining(join))
    };
    let kept = |kept: Kept| at(&saved(), StationView { kept, ..station() });
    let steady = |off: i32| Ok(degrees(f64::from(off) / 10_000.0));
    let no_clock = StationView { clock: None, ..station() };
    let turned = |by: i8| DeskKey::Turn(by);
    // the page of the roast's lane, so many times turned
    let roast_page = |view: &RunView, turns: u64| {
        let mut led = pressed(&[DeskKey::Lane(1)], view);
        led.1.now = after(4 * turns);
        led
    };
    let moved = |keys: &[DeskKey], way, now| {
        let view = RunView { all_done: Some(after(now)), ..four_lanes() };
        pressed_at(keys, &view, plan_moved(way, 2820, now))
    };
    let moved_to = |here: StationView| at(&planned(), here);
    use DeskKey::{Knob, Lane};
    const TO_PLAN: [DeskKey; 3] = [Knob, DeskKey::Turn(1), Knob];
    let to_landing = [TO_PLAN.as_slice(), &[Knob]].concat();
    // the row of the ready check that states when the dishes are wanted
    let to_ready_at = |then: &[DeskKey], here: StationView| {
        pressed_at(&[&[turned(2), Knob, turned(5)], then].concat(), &nothing_open(), here)
    };
    let to_plan_end = [TO_PLAN.as_slice(), &[turned(100)]].concat();
    alloc::vec![
        ("s00-testing", at(&nothing_open(), self_test_in(language, false))),
        ("s00-tested", at(&nothing_open(), self_test_in(language, true))),
        ("s01-choose", pressed(&[turned(2)], &nothing_open())),
        ("s01-choose-end", pressed(&[turned(6)], &nothing_open())),
        ("s01-refused", pressed(&[turned(3)], &nothing_open())),
        ("s01-updating", at(&nothing_open(), StationView { updating: true, ..station() })),
        ("s01-empty", at(&nothing_open(), StationView { recipes: Vec::new(), ..station() })),
        ("s02-check", open_check(station())),
        ("s02-all-ticked", open_check(check_with(&[]))),
        ("s02-oven-not-hot", open_check(check_with(&[1]))),
        ("s02-ready-at", to_ready_at(&[], station())),
        ("s02-ready-at-edited", to_ready_at(&[Knob], wanted_at(2820, plan_says(300, 2820, 0)))),
        ("s02-ready-at-planned", to_ready_at(&[], wanted_at(2820, plan_says(300, 2820, 0)))),
        ("s02-ready-at-too-soon", to_ready_at(&[Knob], wanted_at(2100, plan_says(0, 2820, 720)))),
        (
            "s02-ready-at-no-clock",
            to_ready_at(&[Knob], StationView { clock: None, ..wanted_at(6300, plan_says(2700, 6300, 0)) })
        ),
        (
            "s02-ready-at-too-soon-no-clock",
            to_ready_at(&[], StationView { clock: None, ..wanted_at(2100, plan_says(0, 2820, 720)) })
        ),
        ("s03-board-one-lane", home(&only_lanes(1))),
        ("s03-board-two-lanes", home(&only_lanes(2))),
        ("s03-board", home(&four_lanes())),
        ("s03-board-six-stages", home(&six_stages())),
        ("s03-board-undo", home(&undo_shown())),
        ("s03-board-no-clock", at(&four_lanes(), no_clock.clone())),
        ("s03-board-to-core", home(&next_by_core())),
        ("s03-board-ready", home(&ready())),
        ("s03-board-hold", home(&on_hold())),
        ("s03-board-done", home(&one_done())),
        ("s03-board-wide", home(&wide_numbers())),
        ("s03-board-long", home(&longest_words())),
        ("s03-board-inside", home(&asked_inside())),
        ("s03-board-estimate", home(&next_by_estimate(12, 9, 17))),
        ("s03-board-estimate-soon", home(&next_by_estimate(4, 2, 6))),
        ("s03-board-estimate-long", home(&next_by_estimate(83, 65, 94))),
        ("s03-board-estimate-hours", home(&next_by_estimate(145, 110, 205))),
        ("s03-board-doubtful", home(&core_in_doubt(Quality::Doubtful(Doubt::Sudden(6.3)), 1))),
        ("s03-board-old-reading", home(&core_in_doubt(Quality::Doubtful(Doubt::Old(Span::from_secs(12))), 12))),
        ("s03-board-rest", home(&rest(66.9, 66.9))),
        ("s03-board-rest-wanted", home(&rest_to_target(61.8))),
        ("s03-board-early", home(&opened_early(6600))),
        ("s03-board-early-soon", home(&opened_early(2532))),
        ("s03-board-early-no-clock", at(&opened_early(6600), no_clock.clone())),
        ("s03-board-ready-planned", home(&ready_planned(212))),
        ("s03-board-ready-not-near", home(&ready_planned(790))),
        ("s03-menu", pressed(&[Knob], &four_lanes())),
        ("s03-menu-plan", pressed(&[Knob, turned(1)], &planned())),
        (
            "s03-menu-ready-at",
            pressed_at(&[Knob, turned(1), Knob], &four_lanes(), wanting(Some(3600), plan_says(720, 3600, 0)))
        ),
        ("s03-menu-as-it-comes", pressed_at(&[Knob, turned(1), Knob], &four_lanes(), wanting(None, None))),
        ("s03-plan-want", pressed_at(&to_landing, &planned(), wanting(Some(3600), plan_says(1500, 3600, 0)))),
        ("s03-plan-want-too-soon", pressed_at(&to_landing, &planned(), wanting(Some(2400), plan_says(720, 2820, 420)))),
        ("s03-plan", pressed(&TO_PLAN, &planned())),
        ("s03-plan-end", pressed(&to_plan_end, &planned())),
        ("s03-plan-late", pressed(&TO_PLAN, &planned_late())),
        ("s03-plan-no-clock", pressed_at(&to_plan_end, &planned(), no_clock.clone())),
        ("s03-plan-early", pressed(&TO_PLAN, &opened_early(6600))),
        ("s04-lane-time", pressed(&[Lane(1), turned(1)], &four_lanes())),
        ("s04-lane-probe", pressed(&[Lane(3)], &four_lanes())),
        ("s04-lane-other", pressed(&[Lane(3), turned(-1)], &four_lanes())),
        ("s04-lane-hold", pressed(&[Lane(4), turned(-1)], &on_hold())),
        ("s04-lane-waiting", pressed(&[Lane(2)], &long_instruction())),
        ("s04-lane-planned", pressed(&[Lane(2)], &planned())),
        ("s04-lane-planned-tight", pressed(&[Lane(2)], &planned_tight())),
        ("s04-lane-planned-no-clock", pressed_at(&[Lane(2)], &planned(), no_clock.clone())),
        ("s04-lane-choices", pressed(&[Lane(4), turned(-3)], &many_choices())),
        ("s04-lane-carry-over", roast_page(&roast(), 0)),
        ("s04-lane-carry-over-next", roast_page(&roast(), 1)),
        ("s04-lane-take-at", roast_page(&roast_to_rest(57.1), 0)),
        ("s04-lane-counts-as", roast_page(&counts_as(), 0)),
        ("s04-lane-shallow-tip", roast_page(&shallow_tip(), 0)),
        ("s04-lane-settling", roast_page(&roast_in_doubt(Quality::Doubtful(Doubt::Settling), 1), 0)),
        ("s04-lane-jumped", roast_page(&roast_in_doubt(Quality::Doubtful(Doubt::Sudden(6.3)), 1), 0)),
        ("s04-lane-noisy", roast_page(&roast_in_doubt(Quality::Doubtful(Doubt::Noisy(1.4)), 1), 0)),
        ("s04-lane-never-moved", roast_page(&never_moved(), 0)),
        ("s04-lane-too-hot", roast_page(&too_hot(), 0)),
        (
            "s04-lane-old-reading",
            roast_page(&roast_in_doubt(Quality::Doubtful(Doubt::Old(Span::from_secs(12))), 12), 0)
        ),
        ("s04-lane-old-and-jumped", roast_page(&roast_in_doubt(Quality::Doubtful(Doubt::Elsewhere), 8), 0)),
        ("s04-lane-pulled-out", roast_page(&roast_in_doubt(Quality::Bad(Fault::PulledOut(0.7)), 3), 0)),
        ("s04-lane-too-early", roast_page(&withheld(24.3, Withheld::TooEarly), 0)),
        ("s04-lane-no-rise", roast_page(&withheld(6.1, Withheld::NoRise), 0)),
        ("s04-lane-thawing", roast_page(&withheld(-1.2, Withheld::Thawing), 0)),
        ("s04-lane-may-not-reach", roast_page(&withheld(58.9, Withheld::MayNotReach), 0)),
        ("s04-lane-no-reading", roast_page(&no_reading(), 0)),
        ("s04-lane-rest", roast_page(&rest(65.2, 65.8), 0)),
        ("s04-lane-rest-begun", roast_page(&rest_begun(), 0)),
        ("s04-lane-rest-wanted", roast_page(&rest_to_target(61.8), 0)),
        ("s04-lane-rest-came-to-it", roast_page(&rest_to_target(63.2), 0)),
        ("s04-keep", pressed(&keep_to(1), &four_lanes())),
        ("s04-keep-reached", pressed(&keep_to(3), &four_lanes())),
        ("s04-keep-give-up", pressed(&[Knob, turned(5), Knob], &four_lanes())),
        ("s04-keep-forget", check_then(probe_in_ice(steady(2_500), Some(61), Some(2_500), false), &[turned(2), Knob])),
        ("s05-question", home(&question())),
        ("s05-question-again", home(&question_again())),
        ("s05-question-long", home(&longest_question())),
        ("s05-two-questions", home(&two_questions())),
        ("s06-window", home(&window())),
        ("s06-window-last-minute", home(&window_closing(48))),
        ("s06-window-closing", home(&window_closing(3))),
        ("s07-due", home(&due())),
        ("s07-due-acknowledged", home(&due_acknowledged())),
        ("s07-due-by-core", home(&due_by_core())),
        ("s07-called-to-take", home(&called_to_take())),
        ("s07-called-overdue", home(&called_overdue(135))),
        ("s07-rest-under", home(&rest_under(61.8, 7))),
        ("s07-rest-under-doubtful", home(&rest_under_in_doubt())),
        ("s07-rest-under-overdue", home(&rest_under(61.8, 135))),
        ("s07-later", home(&put_off(42))),
        ("s07-start-due", home(&start_due())),
        ("s07-overdue", home(&overdue(135))),
        ("s07-overdue-acknowledged", home(&overdue_acknowledged(135))),
        ("s07-overdue-12m", home(&overdue(779))),
        ("s07-overdue-long", home(&longest_label())),
        ("s08-no-signal", home(&lost_by(NoReading::Unplugged))),
        ("s08-jumped", home(&lost_by(NoReading::Jumped))),
        ("s08-out-of-range", home(&lost_by(NoReading::OutOfRange))),
        ("s08-was-lost", home(&was_lost())),
        ("s09-overdue-and-due", home(&two_alerts())),
        ("s09-two-due", home(&two_due())),
        ("s09-called-and-due", home(&beside_due_curd(called_to_take()))),
        ("s09-rest-under-and-due", home(&beside_due_curd(rest_under(61.8, 7)))),
        ("s09-lost-and-overdue", home(&lost_and_overdue())),
        ("s09-three", home(&three_alerts())),
        ("s09-four", home(&four_alerts())),
        ("s10-late", moved(&[], MovedWay::Late, 3180)),
        ("s10-late-keep", moved(&[turned(1)], MovedWay::Late, 3180)),
        ("s10-early", moved(&[], MovedWay::Early, 2580)),
        ("s10-cannot-fit", moved(&[], MovedWay::CannotFit, 3540)),
        ("s10-lands-late", moved_to(landing_moved(MovedWay::Late, 3180, None))),
        ("s10-lands-early", moved_to(landing_moved(MovedWay::Early, 2580, None))),
        ("s10-cannot-burners", moved_to(landing_moved(MovedWay::CannotFit, 3540, Some(too_few_burners())))),
        ("s10-cannot-waits", moved_to(landing_moved(MovedWay::CannotFit, 3540, Some(waits_too_long())))),
        ("s10-cannot-heats", moved_to(landing_moved(MovedWay::CannotFit, 3540, Some(two_heats())))),
        (
            "s10-cannot-no-clock",
            at(
                &planned(),
                StationView { clock: None, ..landing_moved(MovedWay::CannotFit, 3540, Some(too_few_burners())) }
            )
        ),
        ("s10-no-clock", at(&four_lanes(), StationView { clock: None, ..plan_moved(MovedWay::Late, 2820, 3180) })),
        ("s11-known", home(&resume(Dark::Known(quantities::Span::from_secs(220))))),
        ("s11-unknown", home(&resume(Dark::AtLeast(quantities::Span::from_secs(220))))),
        ("s11-one-off", pressed(&[turned(2)], &resume(Dark::AtLeast(quantities::Span::from_secs(220))))),
        ("s11-one-answered", home(&resume_one_answered())),
        ("s12-number", noting(0, &[])),
        ("s12-number-turning", noting(0, &[turned(9), Knob, turned(1), Knob, turned(2)])),
        ("s12-words", noting(1, &[turned(1), turned(1)])),
        ("s12-words-skip", noting(1, &[])),
        ("s12-words-long", pressed_at(&[turned(1), turned(2)], &saved(), outcome_in_long_words())),
        ("s12-words-long-skip", at(&saved(), outcome_in_long_words())),
        ("s12-scale", noting(2, &[turned(1), turned(2)])),
        ("s12-scale-skip", noting(2, &[])),
        ("s12-pick", noting(3, &[turned(1)])),
        ("s13-saved", kept(Kept::Here)),
        ("s13-sent", kept(Kept::Sent)),
        ("s13-not-sent", kept(Kept::WillSend)),
        ("s13-disk-full", kept(Kept::DiskFull)),
        ("s13-given-up", home(&given_up())),
        ("s14-settling", check(probe_in_ice(steady(4_200), Some(22), None, false), 0)),
        ("s14-steady", check(probe_in_ice(steady(2_500), Some(61), Some(2_500), false), 0)),
        ("s14-other-bath", check(probe_in_ice(steady(2_500), Some(61), Some(2_500), false), 1)),
        ("s14-too-far", check(probe_in_ice(steady(41_000), Some(61), Some(41_000), false), 0)),
        ("s14-boiling", check(probe_boiling(), 0)),
        ("s14-saved", check(probe_in_ice(steady(2_500), Some(90), Some(2_500), true), 0)),
        ("s14-no-signal", check(probe_in_ice(Err(NoReading::Unplugged), None, None, false), 0)),
        ("s15-open", join(join_open())),
        ("s15-joined", join(JoinView::Joined(String::from("tablet")))),
        ("s15-ended", join(JoinView::Ended)),
        ("s15-no-network", join(JoinView::NoNetwork)),
        ("s16-settings", pressed(&to_settings(2), &four_lanes())),
        ("s16-sound", pressed(&[Knob, turned(4), Knob, turned(1), Knob], &four_lanes())),
        ("s16-language", pressed(&[Knob, turned(4), Knob, turned(4), Knob], &four_lanes())),
        ("s16-lanes", pressed(&to_settings(9), &four_lanes())),
        ("s16-about", pressed(&to_settings(100), &four_lanes())),
    ]
}
