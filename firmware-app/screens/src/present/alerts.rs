use alloc::{string::String, vec, vec::Vec};

use quantities::{Celsius, NoReading};
use run_engine::view::{AlertState, AlertView, LaneState, ProbeView, RunView, StageView};
use trial::AlertKind;
use words::{Language, Text};

use super::{joined, probe};
use crate::{
    StationView,
    asked::stage_at,
    desk::{can_say_no, is_look},
    number,
    screen::{Band, Large, PairRow, ProbeLost, Question, Tone},
};

/// One alert in the band.
pub(super) fn single(run: &RunView, station: &StationView, alert: &AlertView) -> Band {
    let sounding = alert.state == AlertState::Sounding;
    match alert.kind {
        AlertKind::Question => question(alert, station, sounding),
        AlertKind::ProbeLost => probe_lost(run, station, alert, sounding),
        AlertKind::Overdue
        | AlertKind::StillCooking
        | AlertKind::Due
        | AlertKind::Inside
        | AlertKind::Window
        | AlertKind::Ready
        | AlertKind::Soon
        | AlertKind::OnHold
        | AlertKind::WasLost => {
            let (digits, note) = digits(run, station, alert);
            let label = label(run, station.settings.language, alert);
            let doubted = |(probe, _): (&ProbeView, _)| probe::is_doubtful(probe, run.now);
            Band::Large(Large {
                lane: alert.lane,
                tone: tone(alert.kind),
                label,
                note,
                facts: facts(run, station, alert),
                digits,
                doubtful: alert.kind == AlertKind::Due && missed(run, alert).is_some_and(doubted),
                sounding,
            })
        }
    }
}

/// Two alerts in the band. A question keeps the whole band, for its words need it; the other then stands in its cell.
pub(super) fn pair(run: &RunView, station: &StationView, first: &AlertView, second: &AlertView) -> Band {
    if first.kind == AlertKind::Question {
        return single(run, station, first);
    }
    Band::Pair([row(run, station, first), row(run, station, second)])
}

/// What the knob does while this alert stands alone.
pub(super) fn knob_text(run: &RunView, station: &StationView, alert: &AlertView) -> Text {
    let w = station.settings.language;
    if !can_say_no(run, alert) {
        return w.knob_menu();
    }
    match alert.kind {
        AlertKind::ProbeLost => w.knob_use_time(),
        AlertKind::StillCooking => w.power_was_off(),
        AlertKind::Overdue | AlertKind::Due | AlertKind::Window if is_look(run, alert) => w.knob_not_yet(),
        AlertKind::Overdue | AlertKind::Due | AlertKind::Inside | AlertKind::Window | AlertKind::Ready => {
            w.knob_later()
        }
        // a question has its own words for the knob
        AlertKind::Question | AlertKind::Soon | AlertKind::OnHold | AlertKind::WasLost => Text::none(),
    }
}

fn row(run: &RunView, station: &StationView, alert: &AlertView) -> PairRow {
    let w = station.settings.language;
    let food = stage_at(run, alert.at).map_or("", |stage| stage.food.as_str());
    let verb = match alert.kind {
        AlertKind::ProbeLost => w.probe_lost_row(),
        AlertKind::Question if alert.verb.is_empty() => w.verb_check(),
        AlertKind::Overdue
        | AlertKind::StillCooking
        | AlertKind::Due
        | AlertKind::Inside
        | AlertKind::Question
        | AlertKind::Window
        | AlertKind::Ready
        | AlertKind::Soon
        | AlertKind::OnHold
        | AlertKind::WasLost => verb(run, w, alert),
    };
    // the verb says enough where neither the words nor the food have room
    let about = Text::from(about(run, w, alert)).or(String::from(food));
    let target = |target| number::whole_degrees(target, station.settings.units);
    let about = match (missed(run, alert), called(run, alert)) {
        (Some((_, wanted)), _) => w.under(target(wanted)),
        (None, Some(wanted)) => w.comes_in_rest(target(wanted)).or(about),
        (None, None) => about,
    };
    let first = if verb.is_empty() { Text::from(String::from(food)) } else { verb };
    PairRow {
        lane: alert.lane,
        tone: tone(alert.kind),
        lines: [first, about],
        digits: digits(run, station, alert).0,
        sounding: alert.state == AlertState::Sounding,
    }
}

/// Whether an alert says that a step is at its end.
fn is_end(kind: AlertKind) -> bool {
    matches!(kind, AlertKind::Due | AlertKind::Overdue)
}

/// The core that did not come to what it had to in the rest of which an alert says that it is over.
fn missed<'a>(run: &'a RunView, alert: &AlertView) -> Option<(&'a ProbeView, Celsius)> {
    stage_at(run, alert.at).filter(|_| is_end(alert.kind)).and_then(probe::missed)
}

/// The target to which food comes off the heat, of an alert that calls to take it.
fn called(run: &RunView, alert: &AlertView) -> Option<Celsius> {
    stage_at(run, alert.at).filter(|_| is_end(alert.kind)).and_then(probe::called)
}

/// What food that is called off the heat comes to, or what it did not come to in its rest.
fn facts(run: &RunView, station: &StationView, alert: &AlertView) -> Vec<Text> {
    let (w, units) = (station.settings.language, station.settings.units);
    let target = |target| number::whole_degrees(target, units);
    if let Some((probe, wanted)) = missed(run, alert) {
        return vec![w.core_under(probe::marked_reading(probe, run.now, units), target(wanted))];
    }
    called(run, alert).map(|wanted| w.comes_in_rest(target(wanted))).into_iter().collect()
}

/// The verb of an alert; food that did not come to what it had to goes back on the heat.
fn verb(run: &RunView, w: Language, alert: &AlertView) -> Text {
    match missed(run, alert) {
        Some(_) => w.verb_back_on_heat(),
        None => w.verb(&alert.verb),
    }
}

fn question(alert: &AlertView, station: &StationView, sounding: bool) -> Band {
    let w = station.settings.language;
    let text = Text::from(asked(&alert.text));
    Band::Question(Question { lane: alert.lane, text, yes: w.answer_yes(alert.lane), no: w.answer_no(), sounding })
}

/// A sign of doneness as a question: `knife slides in` becomes `Knife slides in?`.
fn asked(cue: &str) -> String {
    let mut letters = cue.chars();
    let mut text: String = letters.next().map(|letter| letter.to_uppercase().collect()).unwrap_or_default();
    text.push_str(letters.as_str());
    if !cue.ends_with('?') {
        text.push('?');
    }
    text
}

fn probe_lost(run: &RunView, station: &StationView, alert: &AlertView, sounding: bool) -> Band {
    let w = station.settings.language;
    let stage = stage_at(run, alert.at);
    let last = stage.and_then(|stage| probe::last_reading(stage, station, run.now));
    let why = stage.and_then(|stage| stage.probe.as_ref()?.lost).map(|(_, why)| lost_why(w, why));
    let detail = match (why, last) {
        // what is known longest is said shortest first: the reason stays, then the last reading goes
        (Some(why), Some(last)) => {
            let both = |why: &str, last: &str| Text::from(String::from(w.lost_why_and_last(why, last).full()));
            both(why.full(), last.full())
                .or(both(why.least(), last.full()))
                .or(both(why.full(), last.least()))
                .or(both(why.least(), last.least()))
                .or(why)
        }
        (Some(why), None) => why,
        (None, last) => last.unwrap_or_else(|| w.no_reading_so_far()),
    };
    Band::ProbeLost(ProbeLost {
        lane: alert.lane,
        title: w.probe_lost_title(),
        detail,
        offer: w.knob_use_time(),
        sounding,
    })
}

/// Why a probe gives no reading.
pub(super) fn lost_why(w: Language, why: NoReading) -> Text {
    match why {
        NoReading::Unplugged => w.lost_no_signal(),
        NoReading::Timeout => w.lost_no_answer(),
        NoReading::Garbled => w.lost_garbled(),
        NoReading::Open => w.lost_wire(),
        NoReading::ShortToGround | NoReading::ShortToSupply => w.lost_short(),
        NoReading::OutOfRange => w.lost_out_of_range(),
        NoReading::PowerOnValue => w.lost_not_measured(),
        NoReading::Stuck => w.lost_stuck(),
        NoReading::Jumped => w.lost_jumped(),
    }
}

/// What an alert is about; the place of a probe that is moved on is said in the panel's language.
fn about(run: &RunView, w: Language, alert: &AlertView) -> String {
    let places = stage_at(run, alert.at).and_then(|stage| stage.probe.as_ref()).map(|probe| probe.points);
    match (alert.kind, alert.verb.as_str(), places) {
        (AlertKind::Inside, "PROBE", Some((held, of))) => w.probe_place(held + 1, of).full().into(),
        _ => alert.text.clone(),
    }
}

fn label(run: &RunView, w: Language, alert: &AlertView) -> Text {
    let food = stage_at(run, alert.at).map_or("", |stage| stage.food.as_str());
    let about = about(run, w, alert);
    let verb = verb(run, w, alert);
    // what it is about is cut before its verb is; the verb alone comes last in every length
    let ways = verb.lengths().count();
    let with = |about: &str| {
        let both = joined(w, &verb, about);
        both.lengths().take(ways).fold(Text::none(), |text, both| text.or(String::from(both)))
    };
    with(&about).or(with(food)).or(verb)
}

/// The number that matters, and `left` if it is time to go.
fn digits(run: &RunView, station: &StationView, alert: &AlertView) -> (Text, Text) {
    let w = station.settings.language;
    let late = || number::band_late(run.now.since(alert.since)).into();
    match alert.kind {
        AlertKind::Overdue | AlertKind::Inside | AlertKind::StillCooking => (late(), Text::none()),
        AlertKind::ProbeLost => (number::length(run.now.since(alert.since)).into(), Text::none()),
        AlertKind::Due => {
            let units = station.settings.units;
            // what stands beside them needs the place of the tenth
            let core = match (missed(run, alert), alert.core) {
                (Some((probe, _)), _) => Some(probe::figures(probe, run.now, units).digits),
                (None, Some(core)) if called(run, alert).is_some() => Some(number::whole_degrees(core, units).into()),
                (None, core) => core.map(|core| number::band_temperature(core, units).into()),
            };
            (core.unwrap_or_else(late), Text::none())
        }
        AlertKind::Question | AlertKind::Window => match stage_at(run, alert.at).and_then(closes) {
            // between the brackets of a window there is no room for five figures
            Some(closes) => {
                let left = closes.since(run.now);
                (Text::from(number::band_left(left)).or(number::band_about(left)), w.left())
            }
            None => (late(), Text::none()),
        },
        AlertKind::Ready => match stage_at(run, alert.at).map(|stage| &stage.state) {
            Some(LaneState::Ready { latest: Some(latest), .. }) => {
                (number::band_left(latest.since(run.now)).into(), w.left())
            }
            Some(_) | None => (w.now(), Text::none()),
        },
        AlertKind::Soon | AlertKind::OnHold | AlertKind::WasLost => (late(), Text::none()),
    }
}

fn closes(stage: &StageView) -> Option<quantities::RunTime> {
    match stage.state {
        LaneState::Window { closes } | LaneState::Question { closes, .. } => Some(closes),
        LaneState::Waiting { .. }
        | LaneState::Ready { .. }
        | LaneState::Running { .. }
        | LaneState::Probe
        | LaneState::OnHold { .. }
        | LaneState::Inside { .. }
        | LaneState::Due { .. }
        | LaneState::Overdue { .. }
        | LaneState::ProbeLost { .. }
        | LaneState::StillCooking
        | LaneState::Done { .. } => stage.looks.as_ref().map(|looks| looks.no_later),
    }
}

fn tone(kind: AlertKind) -> Tone {
    match kind {
        AlertKind::Overdue => Tone::Overdue,
        AlertKind::ProbeLost => Tone::Lost,
        AlertKind::StillCooking | AlertKind::Question => Tone::Question,
        AlertKind::Due | AlertKind::Inside => Tone::Due,
        AlertKind::Window => Tone::Window,
        AlertKind::Ready => Tone::Ready,
        AlertKind::OnHold => Tone::OnHold,
        AlertKind::Soon | AlertKind::WasLost => Tone::Running(0),
    }
}
