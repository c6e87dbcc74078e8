//! From the view of a run to a screen: words are chosen and numbers rounded here.

mod alerts;
mod lanes;
mod lists;

use alloc::{format, string::String};

use face::Limit;
use quantities::{RunTime, Span};
use run_engine::view::{LaneState, RunView, StageView};

pub(crate) use lanes::lane;
pub(crate) use lists::{check, choose, keep, menu, resume, saved};

use crate::{
    DayClock, Kept, Screen, StationView,
    asked::{claims, stage_of},
    number,
    screen::{Band, Board, Header, Large, Tone},
};

/// How long the header says that the last action can be undone.
const UNDO_SHOWN: Span = Span::from_secs(10);

/// The board of a run.
pub(crate) fn board(run: &RunView, station: &StationView) -> Screen {
    let mut standing = claims(run);
    let band = match (standing.next(), standing.next()) {
        (None, _) => next_band(run),
        (Some(first), None) => alerts::single(run, first),
        (Some(first), Some(second)) => alerts::pair(run, first, second),
    };
    // a record that is not kept is said wherever the cook looks
    let left = if station.kept == Kept::DiskFull { "Disk trouble: not kept".into() } else { header_left(run) };
    let header = Header { left, right: all_done(run, station.clock) };
    Screen::Board(Board { header, band, cells: lanes::cells(run) })
}

/// What the knob does while an alert stands, else whether an action can be undone, else what is cooked.
fn header_left(run: &RunView) -> String {
    let mut standing = claims(run);
    match (standing.next(), standing.count()) {
        (Some(only), 0) => alerts::knob_text(run, only),
        (Some(_), more) => format!("{} need you", more + 1),
        (None, _) if run.undo.as_ref().is_some_and(|undo| run.now.since(undo.at) < UNDO_SHOWN) => {
            "Undo: hold knob".into()
        }
        (None, _) => trials(run),
    }
}

fn trials(run: &RunView) -> String {
    let mut open = run.trials.iter().filter(|trial| trial.closed.is_none());
    match (open.next(), open.count()) {
        (None, _) => String::new(),
        (Some(only), 0) if only.variant == "base" => only.title.clone(),
        (Some(only), 0) => format!("{}, {}", only.title, only.variant),
        (Some(first), more) => format!("{} +{more}", first.title),
    }
}

fn all_done(run: &RunView, clock: Option<DayClock>) -> String {
    match (run.all_done, clock) {
        (Some(when), Some(clock)) => format!("All done {}", clock.at(when)),
        (Some(when), None) => format!("All done in {}", number::band_left(when.since(run.now))),
        (None, _) => String::new(),
    }
}

fn next_band(run: &RunView) -> Band {
    let Some(next) = &run.next else { return nearest(run) };
    let front = stage_of(run, next.lane).filter(|stage| stage.at == next.at);
    let target = front.and_then(|stage| stage.probe.as_ref()).and_then(|probe| probe.target);
    let (digits, note, lead) = match (next.core, target) {
        (Some(core), Some(target)) => {
            (number::band_temperature(core), "", format!("To {}: ", number::whole_degrees(target)))
        }
        (Some(core), None) => (number::band_temperature(core), "", String::new()),
        (None, _) => (number::band_left(next.when.since(run.now)), "left", "Next: ".into()),
    };
    let step = front.map_or("", |stage| stage.step_name.as_str());
    let label =
        first_that_fits(Limit::BandLabel, [format!("{lead}{}", next.text), next.text.clone(), format!("{lead}{step}")]);
    // plain, even if the stage itself is put off: nothing is asked here
    let tone = Tone::Running(0);
    Band::Large(Large { lane: next.lane, tone, label, note, digits, sounding: false })
}

/// The lane that comes to something first; for a run that names nothing as next.
fn nearest(run: &RunView) -> Band {
    let moment = |state: &LaneState| match state {
        LaneState::Waiting { ready } => *ready,
        LaneState::Running { due, .. } => *due,
        LaneState::Window { closes } | LaneState::Question { closes, .. } => Some(*closes),
        LaneState::Ready { .. }
        | LaneState::Probe
        | LaneState::OnHold { .. }
        | LaneState::Inside { .. }
        | LaneState::Due { .. }
        | LaneState::Overdue { .. }
        | LaneState::ProbeLost { .. }
        | LaneState::StillCooking
        | LaneState::Done { .. } => None,
    };
    let fronts = run.lanes.iter().filter_map(|lane| lane.front.as_ref().map(|stage| (lane.number, stage)));
    let timed = fronts.filter_map(|(lane, stage)| moment(&stage.state).map(|when| (when, lane, stage)));
    let Some((when, lane, stage)) = timed.min_by_key(|(when, lane, _)| (*when, *lane)) else {
        return Band::Idle(idle(run));
    };
    let full = format!("Next: {} {}", stage.food, stage.step_name);
    let label = first_that_fits(Limit::BandLabel, [full, stage.step_name.clone(), stage.food.clone()]);
    let digits = number::band_left(when.since(run.now));
    Band::Large(Large { lane, tone: Tone::Running(0), label, note: "left", digits, sounding: false })
}

/// What is said while no number can be given: an open step waits for the cook's own word.
fn idle(run: &RunView) -> String {
    let open = |stage: &&StageView| matches!(stage.state, LaneState::Running { due: None, .. });
    let found = run.lanes.iter().find_map(|lane| lane.front.as_ref().filter(open).map(|stage| (lane.number, stage)));
    let words = found.map(|(lane, stage)| format!("When {} is done: key {lane}", stage.step_name));
    words.filter(|words| face::fits(Limit::BandLabel, words).is_ok()).unwrap_or_else(|| "Nothing is due".into())
}

/// The first of these texts that fits its place, fullest first; the fullest if none does.
fn first_that_fits<const N: usize>(limit: Limit, texts: [String; N]) -> String {
    let fits = texts.iter().position(|text| !text.is_empty() && face::fits(limit, text).is_ok());
    texts.into_iter().nth(fits.unwrap_or(0)).unwrap_or_default()
}

/// ` at 12:09`, or nothing while the clock is not set.
fn at_time(clock: Option<DayClock>, when: RunTime) -> String {
    clock.map_or_else(String::new, |clock| format!(" at {}", clock.at(when)))
}
