use alloc::{
    format,
    string::{String, ToString},
};
use core::array;

use quantities::{RunTime, Span};
use recipe_model::Setting;
use run_engine::view::{AlertState, KeyWord, LaneState, LaneView, LooksView, ProbeView, RunView, StageView};
use trial::{AlertKind, Priority, Withheld};

use super::at_time;
use crate::{
    Screen, StationView,
    asked::word_of,
    desk::{Chosen, Loss, runs},
    number::{self, Figures},
    screen::{Button, Cell, Header, LanePage, Middle, Tone, WindowBar},
};

/// The four lanes in short.
pub(super) fn cells(run: &RunView) -> [Cell; 4] {
    array::from_fn(|i| cell(run, &run.lanes[i]))
}

fn cell(run: &RunView, lane: &LaneView) -> Cell {
    let Some(stage) = &lane.front else {
        return Cell {
            number: lane.number,
            name: lane.name.clone(),
            tone: Tone::Empty,
            figures: Figures::none(),
            word: "",
            sounding: false,
        };
    };
    let of_stage = || run.alerts.iter().filter(|alert| alert.at == stage.at);
    let put_off = of_stage().find_map(|alert| match alert.state {
        AlertState::Shelved { until } => Some(number::cell_left(until.since(run.now))),
        AlertState::Sounding | AlertState::Acknowledged => None,
    });
    let name = if put_off.is_some() {
        "later".into()
    } else if of_stage().any(|alert| alert.kind == AlertKind::WasLost) {
        "was lost".into()
    } else if lane.behind > 0 {
        name_and_more(&lane.name, lane.behind)
    } else {
        lane.name.clone()
    };
    Cell {
        number: lane.number,
        name,
        tone: tone(&stage.state),
        figures: put_off.unwrap_or_else(|| figures(stage, run.now)),
        word: word_of(run, stage).map_or("", word),
        sounding: of_stage().any(|alert| alert.state == AlertState::Sounding && alert.priority != Priority::Low),
    }
}

/// The room in px that a cell has for its lane's name when drawn.
const NAME_ROOM: u32 = 76;

/// `Pan +1`: the lane's name with how many stages wait behind it. A name too wide beside the number loses letters of its
/// word, never the number by which two of a kind are told apart: `Ben +2`, `Ove 2 +1`.
fn name_and_more(name: &str, behind: usize) -> String {
    let (mut word, number) = match name.rsplit_once(' ') {
        Some((word, number)) if number.bytes().all(|b| b.is_ascii_digit()) => (word, &name[word.len()..]),
        Some(_) | None => (name, ""),
    };
    loop {
        let text = format!("{word}{number} +{behind}");
        match word.char_indices().next_back() {
            Some((at, _)) if at > 0 && face::width(face::Size::S, &text) > NAME_ROOM => word = word[..at].trim_end(),
            Some(_) | None => return text,
        }
    }
}

pub(crate) fn tone(state: &LaneState) -> Tone {
    match state {
        LaneState::Waiting { .. } => Tone::Waiting,
        LaneState::Ready { .. } => Tone::Ready,
        LaneState::Running { gone, .. } => Tone::Running(*gone),
        LaneState::Probe => Tone::Probe,
        LaneState::OnHold { .. } => Tone::OnHold,
        LaneState::Window { .. } => Tone::Window,
        LaneState::Question { .. } | LaneState::StillCooking => Tone::Question,
        LaneState::Inside { .. } | LaneState::Due { .. } => Tone::Due,
        LaneState::Overdue { .. } => Tone::Overdue,
        LaneState::ProbeLost { .. } => Tone::Lost,
        LaneState::Done { .. } => Tone::Done,
    }
}

pub(super) fn word(word: KeyWord) -> &'static str {
    match word {
        KeyWord::Start => "START",
        KeyWord::Ok(_) => "OK",
        KeyWord::Done | KeyWord::InsideDone => "DONE",
        KeyWord::Yes | KeyWord::StillOn => "YES",
    }
}

/// The number of a cell: always time to go, time over with its sign, or a reading.
fn figures(stage: &StageView, now: RunTime) -> Figures {
    let left = |moment: &RunTime| number::cell_left(moment.since(now));
    match &stage.state {
        LaneState::Waiting { ready } => ready.as_ref().map_or_else(Figures::none, left),
        LaneState::Ready { .. } => Figures::plain("now"),
        LaneState::Running { due, .. } => due.as_ref().map_or_else(Figures::none, left),
        LaneState::Probe => reading(stage),
        LaneState::OnHold { left, .. } => left.map_or_else(Figures::none, number::cell_left),
        LaneState::Window { closes } | LaneState::Question { closes, .. } => left(closes),
        LaneState::Inside { asked, .. } => number::cell_late(now.since(*asked)),
        LaneState::Due { .. } if ends_by_core(stage) => reading(stage),
        LaneState::Due { since } | LaneState::Overdue { since } => number::cell_late(now.since(*since)),
        LaneState::ProbeLost { .. } => Figures::plain("--°"),
        LaneState::StillCooking if ends_by_core(stage) => reading(stage),
        LaneState::StillCooking => stage.ends.as_ref().map_or_else(Figures::none, left),
        LaneState::Done { .. } => Figures::plain("done"),
    }
}

fn ends_by_core(stage: &StageView) -> bool {
    stage.probe.as_ref().is_some_and(|probe| probe.target.is_some() && probe.last.is_some())
}

fn reading(stage: &StageView) -> Figures {
    let last = stage.probe.as_ref().and_then(|probe| probe.last);
    Figures::plain(last.map_or_else(|| "--°".to_string(), |(celsius, _)| number::whole_degrees(celsius)))
}

/// `0:22 ago at 64°, rising`.
pub(super) fn last_reading(stage: &StageView, now: RunTime) -> Option<String> {
    let probe = stage.probe.as_ref()?;
    let (celsius, at) = probe.last?;
    let trend = match probe.per_minute {
        Some(slope) if slope > 0.2 => ", rising",
        Some(slope) if slope < -0.2 => ", falling",
        Some(_) => ", steady",
        None => "",
    };
    Some(format!("{} ago at {}{trend}", number::length(now.since(at)), number::whole_degrees(celsius)))
}

/// The page of one lane.
pub(crate) fn lane(run: &RunView, station: &StationView, lane: u8, stage: &StageView, chosen: &Chosen) -> Screen {
    let place = run.lanes.iter().find(|found| found.number == lane).map_or("", |found| found.name.as_str());
    let (step, steps) = stage.number;
    let header = Header {
        left: format!("{place}: {} {}", stage.food, stage.step_name),
        right: format!("step {step} of {steps}"),
    };
    Screen::Lane(LanePage {
        header,
        lane,
        tone: tone(&stage.state),
        digits: digits(stage, run.now),
        aside: aside(stage),
        note: note(stage, run.now, station),
        middle: middle(stage, run.now, chosen),
        buttons: buttons(lane, stage, word_of(run, stage), chosen),
        strip: cells(run),
    })
}

fn digits(stage: &StageView, now: RunTime) -> String {
    let left = |moment: &RunTime| number::band_left(moment.since(now));
    let core = || {
        stage
            .probe
            .as_ref()
            .and_then(|probe| probe.last)
            .map_or_else(|| "--°".into(), |(c, _)| number::band_temperature(c))
    };
    match &stage.state {
        LaneState::Waiting { ready } => ready.as_ref().map_or_else(|| "--".into(), left),
        LaneState::Ready { latest, .. } => latest.as_ref().map_or_else(|| "now".into(), left),
        LaneState::Running { due, .. } => due.as_ref().map_or_else(|| "--".into(), left),
        LaneState::Probe | LaneState::ProbeLost { .. } => core(),
        LaneState::OnHold { left, .. } => left.map_or_else(|| "--".into(), number::band_left),
        LaneState::Window { closes } | LaneState::Question { closes, .. } => left(closes),
        LaneState::Inside { asked, .. } => number::band_late(now.since(*asked)),
        LaneState::Due { .. } if ends_by_core(stage) => core(),
        LaneState::Due { since } | LaneState::Overdue { since } => number::band_late(now.since(*since)),
        LaneState::StillCooking => stage.ends.as_ref().map_or_else(core, left),
        LaneState::Done { .. } => "--".into(),
    }
}

/// How the appliance is set.
fn aside(stage: &StageView) -> [String; 2] {
    // a reading needs the width; its target stands with its slope below
    if stage.probe.is_some() {
        return [String::new(), String::new()];
    }
    match &stage.setting {
        Some(Setting::Heat { at, fan }) => {
            [format!("{}C", number::whole_degrees(*at)), if *fan { "fan".into() } else { String::new() }]
        }
        Some(Setting::Power(power)) => [format!("{} W", power.smallest() / 1000), String::new()],
        Some(Setting::Level(words)) => [words.clone(), String::new()],
        None => [String::new(), String::new()],
    }
}

/// `+1.2° a minute`.
fn slope(per_minute: f64) -> String {
    let tenths = libm::round(per_minute * 10.0) as i64;
    let sign = if tenths < 0 { "−" } else { "+" };
    let size = tenths.unsigned_abs();
    format!("{sign}{}.{}° a minute", size / 10, size % 10)
}

/// The line under the digits.
fn note(stage: &StageView, now: RunTime, station: &StationView) -> String {
    let ends = |when: RunTime| match station.clock {
        Some(_) => format!("left, ends{}", at_time(station.clock, when)),
        None => "left".into(),
    };
    let since = |verb: &str, when: RunTime| format!("{verb} {}{}", stage.food, at_time(station.clock, when));
    match &stage.state {
        LaneState::Waiting { ready: Some(_) } => "until it can start".into(),
        LaneState::Waiting { ready: None } => "waits for another step".into(),
        LaneState::Ready { latest: Some(_), .. } => "left to start it".into(),
        LaneState::Ready { latest: None, .. } => "ready to start".into(),
        LaneState::Running { due: Some(due), .. } => ends(stage.ends.unwrap_or(*due)),
        LaneState::Running { due: None, .. } => {
            stage.began.map_or_else(String::new, |began| format!("runs for {}", number::length(now.since(began))))
        }
        LaneState::Probe => stage.probe.as_ref().map_or_else(String::new, |probe| estimate(probe, now)),
        LaneState::OnHold { since, .. } => format!("left, on hold for {}", number::length(now.since(*since))),
        LaneState::Window { .. } | LaneState::Question { .. } => "until the check window closes".into(),
        LaneState::Inside { text, .. } => text.clone(),
        LaneState::Due { since: when } | LaneState::Overdue { since: when } => since(&stage.then, *when),
        LaneState::ProbeLost { .. } => match last_reading(stage, now) {
            Some(last) => format!("lost {last}"),
            None => "probe lost".into(),
        },
        LaneState::StillCooking => "still cooking?".into(),
        LaneState::Done { at } => format!("done{}", at_time(station.clock, *at)),
    }
}

/// What is known of the time to a probe's target. It says why, where there is no estimate.
fn estimate(probe: &ProbeView, now: RunTime) -> String {
    if let Some(since) = probe.held_since {
        return format!("held {} of {}", number::length(now.since(since)), number::length(probe.hold));
    }
    let (held, wanted) = probe.points;
    if wanted > 1 && held > 0 {
        return format!("{held} of {wanted} places held, probe the next");
    }
    match &probe.estimate {
        Ok(estimate) => {
            let minutes = |span: Span| span.millis().div_ceil(60_000);
            let (low, high) = (minutes(estimate.low), minutes(estimate.high));
            if low == high { format!("about {low} min to go") } else { format!("about {low} to {high} min to go") }
        }
        Err(Withheld::TooEarly) => "too early for an estimate".into(),
        Err(Withheld::NoRise) => "hardly warmer: tip in the food?".into(),
        Err(Withheld::Thawing) => "thawing, no estimate yet".into(),
        Err(Withheld::MayNotReach) => "may not get there as it goes".into(),
        Err(Withheld::NoReading) => "no reading, no estimate".into(),
    }
}

fn middle(stage: &StageView, now: RunTime, chosen: &Chosen) -> Middle {
    // what is chosen in the recipe's own words stands here, where it has room
    if let Chosen::Mark(_, words) | Chosen::Branch(_, words) = chosen {
        return Middle::Words(two_lines(words));
    }
    let in_time = runs(&stage.state) && stage.probe.is_none();
    if let (true, Some(looks), Some(began)) = (in_time, &stage.looks, stage.began) {
        return Middle::Window(window_bar(looks, began, now));
    }
    let caution = stage.cautions.first().map(|caution| caution.text());
    let beat = stage.beat.as_ref().map(|(when, words)| format!("{words} in {}", number::band_left(when.since(now))));
    let first = stage.probe.as_ref().map(what_the_probe_says).or(beat);
    Middle::Words(match (first, caution) {
        // a caution is not cut, so it takes both lines if it can
        (None, Some(caution)) => two_lines(caution),
        (None, None) => two_lines(&stage.text),
        (Some(first), caution) => [first, caution.unwrap_or(&stage.text).into()],
    })
}

/// `to 82°, +1.2° a minute`; in a rest, the peak so far.
fn what_the_probe_says(probe: &ProbeView) -> String {
    if let Some((peak, _)) = probe.peak {
        let core = probe.last.map_or_else(|| "--°".into(), |(celsius, _)| number::band_temperature(celsius));
        return format!("core {core}, peak so far {}", number::band_temperature(peak));
    }
    let target = probe.target.map(|target| format!("to {}", number::whole_degrees(target)));
    match (target, probe.per_minute.map(slope)) {
        (Some(target), Some(slope)) => format!("{target}, {slope}"),
        (Some(only), None) | (None, Some(only)) => only,
        (None, None) => String::new(),
    }
}

/// As much as fits on the first line, the rest on the second.
fn two_lines(text: &str) -> [String; 2] {
    const ROOM: u32 = 308;
    let fits = |at: &usize| face::width(face::Size::S, text[..*at].trim_end()) <= ROOM;
    let mut ends = text.char_indices().filter(|(_, letter)| *letter == ' ').map(|(at, _)| at).chain([text.len()]);
    let at = ends.rfind(fits).unwrap_or(text.len());
    [text[..at].trim_end().into(), text[at..].trim_start().into()]
}

fn window_bar(looks: &LooksView, began: RunTime, now: RunTime) -> WindowBar {
    // a tenth more than the last moment, so that being late is seen
    let whole = looks.no_later.since(began).millis().max(1) * 11 / 10;
    let place = |moment: RunTime| (moment.since(began).millis() * 1000 / whole.max(1)).min(1000) as u16;
    let (first, last) = (looks.first.since(began), looks.no_later.since(began));
    WindowBar {
        now: place(now),
        opens: place(looks.first),
        closes: place(looks.no_later),
        look: (looks.next > looks.first && looks.next < looks.no_later).then(|| place(looks.next)),
        now_text: format!("now {}", number::length(now.since(began))),
        window_text: window_text(first, last),
    }
}

fn window_text(first: Span, last: Span) -> String {
    let whole = |span: Span| span.millis().is_multiple_of(60_000);
    if whole(first) && whole(last) {
        format!("look {} to {} min", first.whole_secs() / 60, last.whole_secs() / 60)
    } else {
        format!("look {} to {}", number::length(first), number::length(last))
    }
}

fn buttons(lane: u8, stage: &StageView, asked: Option<KeyWord>, chosen: &Chosen) -> [Button; 2] {
    let key = match asked {
        Some(asked) => Button::strong(format!("Key {lane}: {}", word(asked))),
        None if runs(&stage.state) => Button::plain(format!("Key {lane}: DONE")),
        None => Button::plain(""),
    };
    let text = match chosen {
        Chosen::Back => "Knob: back".into(),
        Chosen::Time(by) => format!("Knob: {}", number::change(by.millis())),
        Chosen::Hold => "Knob: HOLD".into(),
        Chosen::GoOn => "Knob: GO ON".into(),
        Chosen::UseTime => "Knob: use time".into(),
        Chosen::NotYet => "Knob: NOT YET".into(),
        Chosen::Over => "Knob: OVER".into(),
        Chosen::StartAnyway => "Knob: START".into(),
        Chosen::Mark(..) => "Knob: seen".into(),
        Chosen::Branch(..) => "Knob: do it".into(),
        Chosen::PullEarly => "Knob: early".into(),
        Chosen::Lose(Loss::Skip(_)) => "Knob: SKIP".into(),
        Chosen::Lose(Loss::Stop(_)) => "Knob: STOP".into(),
        Chosen::Lose(Loss::GiveUp(_)) => "Knob: GIVE UP".into(),
    };
    let knob = if *chosen == Chosen::Back { Button::plain(text) } else { Button::strong(text) };
    [key, Button { turns: true, ..knob }]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lane_with_more_behind_it_always_fits_and_keeps_both_numbers() {
        assert_eq!(name_and_more("Pan", 1), "Pan +1");
        for name in ["Bench", "Fridge", "Freezer", "Micro", "Oven 2", "Ofen", "WWWWW"] {
            for behind in [1, 9, 61] {
                let text = name_and_more(name, behind);
                assert!(face::width(face::Size::S, &text) <= NAME_ROOM, "{text}");
                assert!(text.ends_with(&format!(" +{behind}")) && text.starts_with(&name[..1]), "{text}");
                assert_eq!(text.contains(" 2 "), name.ends_with(" 2"), "{text}");
            }
        }
    }
}
