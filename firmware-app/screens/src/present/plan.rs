//! What is said of a plan: when a step is to start and how long it can wait, the list of all of it, and why it does not fit.

use alloc::{format, string::String, vec::Vec};

use quantities::{RunTime, Span};
use run_engine::view::{LandingView, LaneState, NextView, NextWhat, PlanView, RunView, StageView, StartView};
use words::{Language, Text};

use crate::{
    CannotView, CannotWhy, ReadyAtView, Remedy, Scarce, Screen, StationView, number,
    screen::{Button, Header, List, ListRow, RowSign},
};

/// What is left to start a step is said in its cell from here on, and its time of day no longer.
const NEAR: Span = Span::from_mins(10);
/// Less slack is none.
const SLACK: Span = Span::from_mins(1);

/// Whether there is a plan to be shown.
pub(crate) fn is_planned(run: &RunView) -> bool {
    !run.starts.is_empty() || !run.landings.is_empty()
}

/// How many rows the list of the plan has.
pub(crate) fn rows(run: &RunView) -> usize {
    run.starts.len() + run.landings.iter().map(rows_of).sum::<usize>()
}

/// How many rows a landing has: its moment, its band, and how late it is if it is.
fn rows_of(landing: &LandingView) -> usize {
    2 + usize::from(!landing.late.is_zero())
}

/// The landing whose moment stands in a row of the list.
pub(crate) fn landing_in(run: &RunView, row: usize) -> Option<&LandingView> {
    let mut first = 0;
    run.landings.iter().find(|landing| {
        let here = first == row;
        first += rows_of(landing);
        here
    })
}

/// The plan as a list: the landings, then the steps in the order of their starts. `asked` is what is stated for the chosen
/// landing while turning states it.
pub(crate) fn plan(run: &RunView, station: &StationView, chosen: usize, asked: Option<&ReadyAtView>) -> Screen {
    let w = station.settings.language;
    // the list can have become shorter
    let chosen = chosen.min(self::rows(run).saturating_sub(1));
    let landing_here = landing_in(run, chosen);
    let mut rows: Vec<ListRow> = Vec::new();
    for landing in &run.landings {
        match asked.filter(|_| landing_here == Some(landing)) {
            Some(asked) => rows.extend(stated_rows(landing, asked, station, run.now)),
            None => rows.extend(landing_rows(landing, station, run.now)),
        }
    }
    rows.extend(run.starts.iter().map(|start| start_row(start, station, run.now)));
    let changing = asked.is_some();
    let buttons = match (changing, landing_here) {
        (true, _) => setting_buttons(w),
        (false, Some(_)) => [Button::plain(w.turn_scroll()), Button::plain(w.knob_change())],
        (false, None) => [Button::plain(w.turn_scroll()), Button::strong(w.knob_back())],
    };
    let right = match run.landings.first() {
        Some(first) => lands(station, first.at, run.now),
        None => super::all_done(run, station),
    };
    Screen::List(List {
        header: Header { left: w.plan_title(), right },
        chosen,
        rows,
        changing,
        empty: Text::none(),
        buttons,
    })
}

/// What the knob does while turning changes a value.
pub(super) fn setting_buttons(w: Language) -> [Button; 2] {
    [Button { turns: true, ..Button::plain(w.turn_set()) }, Button::strong(w.knob_done())]
}

/// The landing with what is stated for it, and what a plan says of that; its band is that of the plan that counts.
fn stated_rows(landing: &LandingView, asked: &ReadyAtView, station: &StationView, now: RunTime) -> Vec<ListRow> {
    let text = landing.name.clone().into();
    let stated = ListRow { sign: RowSign::None, text, aside: wanted(asked, station, now) };
    let band = landing_rows(landing, station, now).into_iter().nth(1);
    let says = if asked.wanted.is_some() { says(asked, station, now) } else { band };
    [Some(stated), says].into_iter().flatten().collect()
}

/// When dishes are wanted: `18:45`, or `in 45 min` where the time of day is not known, or as it comes.
pub(super) fn wanted(asked: &ReadyAtView, station: &StationView, now: RunTime) -> Text {
    let w = station.settings.language;
    match (asked.wanted, station.clock) {
        (Some(wanted), Some(clock)) => clock.at(wanted).into(),
        (Some(wanted), None) => w.start_in(number::about(wanted.since(now))),
        (None, _) => w.as_it_comes(),
    }
}

/// What the plan says of the moment that is stated: what is to be started first and when, or how early it can be.
pub(super) fn says(asked: &ReadyAtView, station: &StationView, now: RunTime) -> Option<ListRow> {
    let w = station.settings.language;
    let plan = asked.plan.as_ref()?;
    let row = |text, aside| Some(ListRow { sign: RowSign::None, text, aside });
    if plan.late >= SLACK {
        let earliest = match station.clock {
            Some(clock) => w.remedy_earliest(clock.at(plan.lands)),
            None => w.remedy_earliest_in(number::about(plan.lands.since(now))),
        };
        return row(earliest, Text::none());
    }
    let (what, at) = plan.first.as_ref()?;
    let when = match station.clock {
        Some(clock) => clock.at(*at).into(),
        None if *at <= now => w.now(),
        None => w.start_in(number::about(at.since(now))),
    };
    row(w.plan_first(what), when)
}

/// The landing with its moment, its band, and how late it is if it is.
fn landing_rows(landing: &LandingView, station: &StationView, now: RunTime) -> Vec<ListRow> {
    let w = station.settings.language;
    let row = |text, aside| ListRow { sign: RowSign::None, text, aside };
    let between = |low: RunTime, high: RunTime| match station.clock {
        Some(clock) => format!("{}-{}", clock.at(low), clock.at(high)),
        None => number::about_from_to(low.since(now), high.since(now)).join("-"),
    };
    let mut rows = alloc::vec![
        row(landing.name.clone().into(), lands(station, landing.at, now)),
        row(w.eight_in_ten(), between(landing.low, landing.high).into()),
    ];
    if !landing.late.is_zero() {
        let wanted = landing.wanted.zip(station.clock).map_or(Text::none(), |(at, clock)| w.wanted_at(clock.at(at)));
        rows.push(row(w.late_by(number::about(landing.late)), wanted));
    }
    rows
}

fn start_row(start: &StartView, station: &StationView, now: RunTime) -> ListRow {
    let w = station.settings.language;
    let text = Text::from(format!("{} {}", start.food, start.step_name)).or(start.step_name.clone());
    let aside = match station.clock {
        Some(clock) if is_tight(&start.plan, start.plan.start) => w.start_no_slack(clock.at(start.plan.start)),
        Some(clock) => w.start_latest(clock.at(start.plan.start), clock.at(start.plan.latest)),
        None if start.ready || start.plan.start <= now => w.now(),
        None => w.start_in(number::band_left(start.plan.start.since(now))),
    };
    ListRow { sign: RowSign::None, text, aside }
}

/// When a landing comes.
pub(super) fn lands(station: &StationView, at: RunTime, now: RunTime) -> Text {
    let w = station.settings.language;
    match station.clock {
        Some(clock) => w.lands_at(clock.at(at)),
        None => w.lands_in(number::band_left(at.since(now))),
    }
}

/// Whether a step cannot wait from a moment on.
fn is_tight(plan: &PlanView, from: RunTime) -> bool {
    plan.critical || plan.latest.since(from) < SLACK
}

/// The plan of a stage whose step waits or can be started.
fn of(stage: &StageView) -> Option<&PlanView> {
    match stage.state {
        // one that is ready and was not started is due in the end
        LaneState::Waiting { .. } | LaneState::Ready { .. } | LaneState::Due { .. } | LaneState::Overdue { .. } => {
            stage.plan.as_ref()
        }
        LaneState::Running { .. }
        | LaneState::Probe
        | LaneState::OnHold { .. }
        | LaneState::Window { .. }
        | LaneState::Question { .. }
        | LaneState::Inside { .. }
        | LaneState::ProbeLost { .. }
        | LaneState::StillCooking
        | LaneState::Done { .. } => None,
    }
}

/// `start 18:02, latest 18:06`, where the time of day is known.
pub(super) fn start_and_latest(stage: &StageView, station: &StationView) -> Option<Text> {
    let (plan, clock) = of(stage).zip(station.clock)?;
    let w = station.settings.language;
    let start = clock.at(plan.start);
    if is_tight(plan, plan.start) {
        return Some(w.start_only(start));
    }
    Some(w.start_and_latest(start, clock.at(plan.latest)))
}

/// How long a step can wait: from its planned start, or from now on once that is over.
pub(super) fn slack(stage: &StageView, now: RunTime, station: &StationView) -> Option<Text> {
    let plan = of(stage)?;
    let w = station.settings.language;
    let from = plan.start.max(now);
    let whole = Span::from_mins(plan.latest.since(from).whole_secs() / 60);
    Some(if is_tight(plan, from) { w.no_slack() } else { w.can_wait(number::about(whole)) })
}

/// What is left to start a step that is ready, once that is not long: by its plan or by what the food can take.
pub(super) fn left_to_start(stage: &StageView, latest: Option<RunTime>, now: RunTime) -> Option<Span> {
    let latest = latest.into_iter().chain(of(stage).map(|plan| plan.latest)).min()?;
    Some(latest.since(now)).filter(|left| !left.is_zero() && *left < NEAR)
}

/// The time of day of what is next, if that is a planned start which is not near.
pub(super) fn starts_at(
    stage: Option<&StageView>,
    next: &NextView,
    station: &StationView,
    now: RunTime,
) -> Option<String> {
    let waits = |stage: &&StageView| matches!(stage.state, LaneState::Waiting { .. }) && stage.plan.is_some();
    stage.filter(|stage| waits(stage) && matches!(next.what, NextWhat::Start(_)))?;
    station.clock.filter(|_| next.when.since(now) >= NEAR).map(|clock| clock.at(next.when))
}

/// Why a plan does not fit, and what helps.
pub(super) fn reason(station: &StationView, cannot: &CannotView, now: RunTime) -> [Text; 2] {
    let w = station.settings.language;
    let minutes = |by: Span| number::about(by);
    let when = |at: RunTime| station.clock.map_or_else(|| w.at_once(), |clock| w.at_time_of_day(clock.at(at)));
    let why = match &cannot.why {
        CannotWhy::TooFew { of, wanted, at } => too_few(w, *of, u64::from(*wanted), when(*at).full()),
        CannotWhy::TwoHeats { at } => w.cannot_two_heats(when(*at).full()),
        CannotWhy::WaitsTooLong { what, by } => {
            let full = w.cannot_waits(what, minutes(*by));
            full.or(w.cannot_waits("", minutes(*by)).map(|text| text.trim().into()))
        }
        CannotWhy::TooSoon { wanted } => match station.clock {
            Some(clock) => w.cannot_too_soon_at(clock.at(*wanted)),
            None => w.cannot_too_soon(),
        },
        CannotWhy::TooFarApart { by } => w.cannot_apart(minutes(*by)),
    };
    let remedy = match &cannot.remedy {
        Some(Remedy::Earliest(at)) => match station.clock {
            Some(clock) => w.remedy_earliest(clock.at(*at)),
            None => w.remedy_earliest_in(number::band_left(at.since(now))),
        },
        Some(Remedy::OneMore(of)) => one_more(w, *of),
        Some(Remedy::LetWait { what, by }) => {
            let full = w.remedy_wait(what, minutes(*by));
            full.or(w.remedy_wait("", minutes(*by)).map(|text| text.trim().into()))
        }
        Some(Remedy::Spread(by)) => w.remedy_spread(minutes(*by)),
        None => Text::none(),
    };
    [why, remedy]
}

fn too_few(w: Language, of: Scarce, count: u64, when: &str) -> Text {
    match of {
        Scarce::Cooks => w.cannot_cooks(count, when),
        Scarce::Ovens => w.cannot_ovens(count, when),
        Scarce::Shelves => w.cannot_shelves(count, when),
        Scarce::Microwaves => w.cannot_microwaves(count, when),
        Scarce::Burners => w.cannot_burners(count, when),
    }
}

fn one_more(w: Language, of: Scarce) -> Text {
    match of {
        Scarce::Cooks => w.remedy_cook(),
        Scarce::Ovens => w.remedy_oven(),
        Scarce::Shelves => w.remedy_shelf(),
        Scarce::Microwaves => w.remedy_microwave(),
        Scarce::Burners => w.remedy_burner(),
    }
}
