use alloc::{
    format,
    string::{String, ToString},
};

use face::Limit;
use run_engine::view::{AlertState, AlertView, LaneState, RunView, StageView};
use trial::AlertKind;

use super::{first_that_fits, lanes};
use crate::{
    asked::stage_of,
    desk::{can_say_no, is_look},
    number,
    screen::{Band, Large, PairRow, ProbeLost, Question, Tone},
};

/// One alert in the band.
pub(super) fn single(run: &RunView, alert: &AlertView) -> Band {
    let sounding = alert.state == AlertState::Sounding;
    match alert.kind {
        AlertKind::Question => question(alert, sounding),
        AlertKind::ProbeLost => probe_lost(run, alert, sounding),
        AlertKind::Overdue
        | AlertKind::StillCooking
        | AlertKind::Due
        | AlertKind::Inside
        | AlertKind::Window
        | AlertKind::Ready
        | AlertKind::Soon
        | AlertKind::OnHold
        | AlertKind::WasLost => {
            let (digits, note) = digits(run, alert);
            // hatch and brackets take room from the label
            let limit = if matches!(alert.kind, AlertKind::Overdue | AlertKind::Window) {
                Limit::BandLabelLate
            } else {
                Limit::BandLabel
            };
            Band::Large(Large {
                lane: alert.lane,
                tone: tone(alert.kind),
                label: label(run, alert, limit),
                note,
                digits,
                sounding,
            })
        }
    }
}

/// Two alerts in the band. A question keeps the whole band, for its words need it; the other then stands in its cell.
pub(super) fn pair(run: &RunView, first: &AlertView, second: &AlertView) -> Band {
    if first.kind == AlertKind::Question {
        return single(run, first);
    }
    Band::Pair([row(run, first), row(run, second)])
}

/// What the knob does while this alert stands alone.
pub(super) fn knob_text(run: &RunView, alert: &AlertView) -> String {
    if !can_say_no(run, alert) {
        return "Knob: menu".into();
    }
    match alert.kind {
        AlertKind::ProbeLost => "Knob: use time".into(),
        AlertKind::StillCooking => "Power was off".into(),
        AlertKind::Overdue | AlertKind::Due | AlertKind::Window if is_look(run, alert) => "Knob: NOT YET".into(),
        AlertKind::Overdue | AlertKind::Due | AlertKind::Inside | AlertKind::Window | AlertKind::Ready => {
            "Knob: later 1 min".into()
        }
        // a question has its own words for the knob
        AlertKind::Question | AlertKind::Soon | AlertKind::OnHold | AlertKind::WasLost => super::trials(run),
    }
}

fn row(run: &RunView, alert: &AlertView) -> PairRow {
    let food = stage(run, alert).map_or("", |stage| stage.food.as_str());
    let verb = match alert.kind {
        AlertKind::ProbeLost => "Probe lost",
        AlertKind::Question if alert.verb.is_empty() => "CHECK",
        AlertKind::Overdue
        | AlertKind::StillCooking
        | AlertKind::Due
        | AlertKind::Inside
        | AlertKind::Question
        | AlertKind::Window
        | AlertKind::Ready
        | AlertKind::Soon
        | AlertKind::OnHold
        | AlertKind::WasLost => alert.verb.as_str(),
    };
    let short = face::fits(Limit::AlertPairLine, &alert.text).is_ok();
    let about = if short || food.is_empty() { alert.text.as_str() } else { food };
    let lines =
        if verb.is_empty() { [food.to_string(), about.to_string()] } else { [verb.to_string(), about.to_string()] };
    PairRow {
        lane: alert.lane,
        tone: tone(alert.kind),
        lines,
        digits: digits(run, alert).0,
        sounding: alert.state == AlertState::Sounding,
    }
}

fn question(alert: &AlertView, sounding: bool) -> Band {
    let text = asked(&alert.text);
    let lines = match face::lines(Limit::Question, &text) {
        Ok([first, second]) => [first.to_string(), second.to_string()],
        // the recipe check lets no such text pass; the drawing cuts it
        Err(_) => [text, String::new()],
    };
    let yes = format!("{}  YES", alert.lane);
    Band::Question(Question { lane: alert.lane, lines, yes, no: "Knob  NOT YET".into(), sounding })
}

/// A sign of doneness as a question: `knife slides in` becomes `Knife slides in?`.
fn asked(cue: &str) -> String {
    let mut letters = cue.chars();
    let first = letters.next().map(|letter| letter.to_uppercase().to_string()).unwrap_or_default();
    let end = if cue.ends_with('?') { "" } else { "?" };
    format!("{first}{}{end}", letters.as_str())
}

fn probe_lost(run: &RunView, alert: &AlertView, sounding: bool) -> Band {
    let stage = stage(run, alert);
    let detail =
        stage.and_then(|stage| lanes::last_reading(stage, run.now)).unwrap_or_else(|| "no reading so far".into());
    Band::ProbeLost(ProbeLost { lane: alert.lane, detail, offer: "Knob: use time".into(), sounding })
}

fn label(run: &RunView, alert: &AlertView, limit: Limit) -> String {
    let food = stage(run, alert).map_or("", |stage| stage.food.as_str());
    first_that_fits(limit, [joined(&alert.verb, &alert.text), joined(&alert.verb, food), alert.verb.clone()])
}

fn joined(verb: &str, text: &str) -> String {
    if verb.is_empty() { text.into() } else { format!("{verb} {text}") }
}

/// The number that matters, and `left` if it is time to go.
fn digits(run: &RunView, alert: &AlertView) -> (String, &'static str) {
    let late = number::band_late(run.now.since(alert.since));
    match alert.kind {
        AlertKind::Overdue | AlertKind::Inside | AlertKind::StillCooking => (late, ""),
        AlertKind::ProbeLost => (number::length(run.now.since(alert.since)), ""),
        AlertKind::Due => (alert.core.map_or(late, number::band_temperature), ""),
        AlertKind::Question | AlertKind::Window => match stage(run, alert).and_then(closes) {
            Some(closes) => (number::band_left(closes.since(run.now)), "left"),
            None => (late, ""),
        },
        AlertKind::Ready => match stage(run, alert).map(|stage| &stage.state) {
            Some(LaneState::Ready { latest: Some(latest), .. }) => (number::band_left(latest.since(run.now)), "left"),
            Some(_) | None => ("now".into(), ""),
        },
        AlertKind::Soon | AlertKind::OnHold | AlertKind::WasLost => (late, ""),
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

/// The stage of an alert, if its lane shows it.
fn stage<'a>(run: &'a RunView, alert: &AlertView) -> Option<&'a StageView> {
    stage_of(run, alert.lane).filter(|stage| stage.at == alert.at)
}
