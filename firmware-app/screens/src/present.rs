//! From the view of a run to a screen: words are chosen and numbers rounded here.

mod alerts;
mod lanes;
mod lists;
mod noting;
mod plan;
mod probe;
mod setting;

use alloc::{string::String, vec::Vec};

use quantities::{RunTime, Span};
use run_engine::{
    TrialNo,
    view::{LaneState, NextView, NextWhat, RunView, StageView},
};
use trial::AlertKind;
use words::{Language, Text};

pub(crate) use lanes::lane;
pub(crate) use lists::{check, choose, keep, menu, resume, saved, starting};
pub(crate) use noting::{moved, outcome};
pub(crate) use plan::{is_planned, landing_in, plan, rows as plan_rows};
pub(crate) use setting::{join, probe_check, settings};

use crate::{
    Kept, Screen, StationView,
    asked::{claims, stage_at, stage_of},
    number,
    screen::{Band, Board, Header, Large, Tone},
};

/// How long the header says that the last action can be undone.
const UNDO_SHOWN: Span = Span::from_secs(10);

/// The board of a run.
pub(crate) fn board(run: &RunView, station: &StationView) -> Screen {
    let mut standing = claims(run);
    let band = match (standing.next(), standing.next()) {
        (None, _) => next_band(run, station),
        (Some(only), None) => alerts::single(run, station, only),
        (Some(first), Some(second)) => alerts::pair(run, station, first, second),
    };
    let notice = notice(run, station);
    let left = if notice.is_empty() { trials(run) } else { notice.clone() };
    let header = Header { left, right: finish(run, station) };
    Screen::Board(Board { header, notice, band, cells: lanes::cells(run, station) })
}

/// What is said in place of the names of the trials.
fn notice(run: &RunView, station: &StationView) -> Text {
    let w = station.settings.language;
    let standing = claims(run).count();
    let undo = run.undo.as_ref().filter(|undo| run.now.since(undo.at) < UNDO_SHOWN);
    match claims(run).next() {
        _ if station.kept == Kept::DiskFull => w.disk_full(),
        Some(_) if standing > 1 => w.need_you(standing as u64),
        Some(alert) => alerts::knob_text(run, station, alert),
        None if undo.is_some() => w.undo_hold(),
        // its cell has no room for more than the word of its key
        None => was_lost(run, w).unwrap_or_default(),
    }
}

/// The place whose probe gave no signal for a while, until somebody has seen that.
fn was_lost(run: &RunView, w: Language) -> Option<Text> {
    let alert = run.alerts.iter().find(|alert| alert.kind == AlertKind::WasLost)?;
    let lane = run.lanes.iter().find(|lane| lane.number == alert.lane)?;
    Some(w.was_lost_at(&lane.name))
}

/// Recipe and trial; two trials side by side have both their names.
fn trials(run: &RunView) -> Text {
    let mut text = String::new();
    for trial in run.trials.iter().filter(|trial| trial.closed.is_none()) {
        if !text.is_empty() {
            text.push_str(", ");
        }
        text.push_str(&trial.title);
        if trial.variant != "base" {
            text.push(' ');
            text.push_str(&trial.variant);
        }
    }
    text.into()
}

/// When the dishes of the open trials land, the last of them; where none is planned, when all is done.
fn finish(run: &RunView, station: &StationView) -> Text {
    let is_open = |no: TrialNo| run.trials.iter().any(|trial| trial.no == no && trial.closed.is_none());
    let landings = run.landings.iter().filter(|landing| is_open(landing.trial));
    match landings.map(|landing| landing.at).max() {
        Some(at) => plan::lands(station, at, run.now),
        None => all_done(run, station),
    }
}

fn all_done(run: &RunView, station: &StationView) -> Text {
    let w = station.settings.language;
    match (run.all_done, station.clock) {
        (Some(when), Some(clock)) => w.all_done_at(clock.at(when)),
        (Some(when), None) => w.all_done_in(number::band_left(when.since(run.now))),
        (None, _) => Text::none(),
    }
}

fn next_band(run: &RunView, station: &StationView) -> Band {
    let (w, units) = (station.settings.language, station.settings.units);
    let Some(next) = &run.next else { return nearest(run, station) };
    let stage = stage_at(run, next.at);
    let probe = stage.and_then(|stage| stage.probe.as_ref());
    let goal = probe.and_then(|probe| probe::goal_in_short(probe, units));
    // plain, even if the stage itself is put off: nothing is asked here
    let plain = |goal, digits: String| Large {
        lane: next.lane,
        tone: Tone::Running(0),
        label: next_label(w, next, stage, goal),
        note: Text::none(),
        facts: Vec::new(),
        digits: digits.into(),
        doubtful: false,
        sounding: false,
    };
    let estimated = stage.filter(|_| matches!(next.what, NextWhat::End { .. })).and_then(probe::estimated);
    Band::Large(match (next.core, estimated) {
        (Some(core), _) => {
            let doubted = probe.filter(|probe| probe::is_doubtful(probe, run.now)).and_then(|probe| probe.last);
            let digits = match doubted {
                // the mark needs the place of the tenth
                Some((shown, _)) => number::whole_degrees(shown, units),
                None => number::band_temperature(core, units),
            };
            Large { doubtful: doubted.is_some(), ..plain(goal.as_deref(), digits) }
        }
        // a time that is only about right has no seconds, and says from when to when
        (None, Some((probe, estimate))) => {
            let core = probe::marked_reading(probe, run.now, units).into();
            let facts = alloc::vec![core, probe::range(w, &estimate), w.about()];
            Large { facts, ..plain(goal.as_deref(), number::band_about(estimate.median)) }
        }
        (None, None) => {
            let mut large = Large { note: w.left(), ..plain(None, number::band_left(next.when.since(run.now))) };
            // what is planned for later has its time of day too
            if let Some(time) = plan::starts_at(stage, next, station, run.now) {
                let step = stage.map_or("", |stage| stage.step_name.as_str());
                let said = |what: &str| Text::from(String::from(w.next_at(what, &time).full()));
                let shorter = said(step).or(w.next_at(step, &time));
                large.label = said(next_words(w, next).full()).or(shorter).or(large.label);
            }
            large
        }
    })
}

/// What is next, and to which core if that is its end.
fn next_label(w: Language, next: &NextView, stage: Option<&StageView>, goal: Option<&str>) -> Text {
    let what = next_words(w, next);
    let step = stage.map_or("", |stage| stage.step_name.as_str());
    let (label, with_step) = match (goal, next.core) {
        (Some(goal), _) => {
            let full = what.map(|what| String::from(w.next_to(goal, what).full()));
            (full.or(what.map(|what| String::from(w.next_to(goal, what).least()))), w.next_to(goal, step))
        }
        (None, Some(_)) => (Text::none(), Text::none()),
        (None, None) => (what.map(|what| String::from(w.next(what).full())), w.next(step)),
    };
    let label = label.or(what).or(with_step).or(String::from(step)).or(name_of(stage));
    label.or(w.next("").map(|text| text.trim().into()))
}

fn name_of(stage: Option<&StageView>) -> String {
    stage.map_or_else(String::new, |stage| stage.food.clone())
}

/// What is to be done next, in words.
fn next_words(w: Language, next: &NextView) -> Text {
    match &next.what {
        NextWhat::End { verb, food } => match verb.as_str() {
            "TAKE OUT" => w.next_take_out(food),
            "OFF HEAT" => w.next_off_heat(food),
            "CHECK" => w.next_check(food),
            "TURN" => w.next_turn(food),
            "STIR" => w.next_stir(food),
            "ADD" => w.next_add(food),
            "REST" => w.next_rest(food),
            // any other verb stays as the recipe has it
            other => w.call(other.to_lowercase(), food),
        },
        NextWhat::Start(step) => w.next_start(step),
        NextWhat::Look(cue) => w.next_look(cue),
        NextWhat::Inside(text) => {
            let (verb, rest) = verb_of(text);
            // a verb in the middle of a text is no call: it loses its capitals, the words after it keep theirs
            joined(w, &w.verb(verb).map(|verb| verb.to_lowercase()), rest)
        }
        NextWhat::Finish(step) => w.next_finish(step),
    }
}

/// A call inside a step: its verb in the panel's language, the rest as the recipe has it.
fn inside(w: Language, text: &str) -> Text {
    let (verb, rest) = verb_of(text);
    call(w, verb, rest)
}

/// The words in capitals at the start of a call, and the rest.
fn verb_of(text: &str) -> (&str, &str) {
    let verbs = text.split(' ').take_while(|word| is_capitals(word)).map(|word| word.len() + 1).sum::<usize>();
    let (verb, rest) = text.split_at(verbs.min(text.len()));
    (verb.trim(), rest.trim())
}

fn is_capitals(word: &str) -> bool {
    word.chars().any(char::is_uppercase) && !word.chars().any(char::is_lowercase)
}

/// A verb with what it is about, and shorter: the verb alone.
fn call(w: Language, verb: &str, about: &str) -> Text {
    joined(w, &w.verb(verb), about)
}

fn joined(w: Language, verb: &Text, about: &str) -> Text {
    if about.is_empty() {
        return verb.clone();
    }
    if verb.is_empty() {
        return String::from(about).into();
    }
    // `BASTE, turn tin`: what follows a comma is not what the verb is done to
    let full = |verb: &str| match verb.strip_suffix(',') {
        Some(_) => alloc::format!("{verb} {about}"),
        None => String::from(w.call(verb, about).full()),
    };
    verb.map(full).or(verb.map(|verb| String::from(verb.trim_end_matches(','))))
}

/// The lane that comes to something first; for a run that names nothing as next.
fn nearest(run: &RunView, station: &StationView) -> Band {
    let w = station.settings.language;
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
        return Band::Idle(idle(run, w));
    };
    let label = w.next(alloc::format!("{} {}", stage.food, stage.step_name)).or(w.next(&stage.step_name));
    let label = label.or(stage.step_name.clone()).or(stage.food.clone());
    let digits = number::band_left(when.since(run.now)).into();
    Band::Large(Large {
        lane,
        tone: Tone::Running(0),
        label,
        note: w.left(),
        facts: Vec::new(),
        digits,
        doubtful: false,
        sounding: false,
    })
}

/// What is said while no number can be given: an open step waits for the cook's own word.
fn idle(run: &RunView, w: Language) -> Text {
    let open = |stage: &&StageView| matches!(stage.state, LaneState::Running { due: None, .. });
    let found = run.lanes.iter().find_map(|lane| lane.front.as_ref().filter(open).map(|stage| (lane.number, stage)));
    match found {
        Some((lane, stage)) => w.when_done(&stage.step_name, lane),
        None => w.nothing_is_due(),
    }
}

/// A temperature and the time of day, where it is known.
fn at_time(station: &StationView, when: RunTime, with: impl Fn(String) -> Text, without: Text) -> Text {
    station.clock.map_or_else(|| without.clone(), |clock| with(clock.at(when)))
}

/// The front of a lane.
fn front(run: &RunView, lane: u8) -> Option<&StageView> {
    stage_of(run, lane)
}
