use alloc::{format, string::String, vec, vec::Vec};
use core::array;

use quantities::{RunTime, Span};
use recipe_model::{Caution, Setting};
use run_engine::view::{AlertState, KeyWord, LaneState, LaneView, LooksView, ProbeView, RunView, StageView};
use trial::{AlertKind, Priority};
use words::{Language, Text};

use super::{at_time, call, inside, plan, probe};
use crate::{
    Screen, StationView,
    asked::word_of,
    desk::{Chosen, Loss, runs},
    number::{self, Figures},
    screen::{Button, Cell, Header, LanePage, Middle, Tone, WindowBar},
};

/// The four lanes in short.
pub(super) fn cells(run: &RunView, station: &StationView) -> [Cell; 4] {
    array::from_fn(|i| cell(run, station, &run.lanes[i]))
}

fn cell(run: &RunView, station: &StationView, lane: &LaneView) -> Cell {
    let w = station.settings.language;
    let Some(stage) = &lane.front else {
        let named = station.settings.lanes.get(usize::from(lane.number) - 1).filter(|_| lane.name.is_empty());
        return Cell {
            number: lane.number,
            name: named.unwrap_or(&lane.name).clone().into(),
            tone: Tone::Empty,
            figures: Figures::none(),
            word: Text::none(),
            sounding: false,
        };
    };
    let of_stage = || run.alerts.iter().filter(|alert| alert.at == stage.at);
    let put_off = of_stage().find_map(|alert| match alert.state {
        AlertState::Shelved { until } => Some(number::cell_left(until.since(run.now))),
        AlertState::Sounding | AlertState::Acknowledged => None,
    });
    let name = if put_off.is_some() {
        w.later()
    } else if of_stage().any(|alert| alert.kind == AlertKind::WasLost) {
        w.was_lost()
    } else if let Some(said) = said_of_core(stage, station, run.now, lane.others.is_empty()) {
        said
    } else if lane.others.is_empty() {
        lane.name.clone().into()
    } else {
        name_and_more(&lane.name, lane.others.len())
    };
    Cell {
        number: lane.number,
        name,
        tone: tone(&stage.state),
        figures: put_off.unwrap_or_else(|| figures(stage, station, run.now)),
        word: word_of(run, stage).map_or_else(Text::none, |key| word(w, key)),
        sounding: of_stage().any(|alert| alert.state == AlertState::Sounding && alert.priority != Priority::Low),
    }
}

/// What a cell says of a core in place of the lane's name: the age of a reading, or the core in a rest.
fn said_of_core(stage: &StageView, station: &StationView, now: RunTime, alone: bool) -> Option<Text> {
    let (w, units) = (station.settings.language, station.settings.units);
    let probe = stage.probe.as_ref()?;
    if let Some(wanted) = in_rest(stage).and_then(probe::still_wanted) {
        let wanted = number::whole_degrees(wanted, units);
        return Some(w.rest_of(&wanted).or(w.rest_of(wanted.trim_end_matches('°'))));
    }
    if stage.state == LaneState::Probe {
        return probe::age(probe, now).map(|age| w.reading_age(number::age(age)));
    }
    let resting = in_rest(stage).filter(|probe| alone && probe.peak.is_some())?;
    let core = probe::figures(resting, now, units).short();
    Some(w.core_at(core.full()))
}

/// The probe of a stage that rests by time.
fn in_rest(stage: &StageView) -> Option<&ProbeView> {
    stage.probe.as_ref().filter(|_| matches!(stage.state, LaneState::Running { .. }))
}

/// `Pan +1`: the lane's name with how many stages wait behind it. A name too wide beside the number loses letters of its
/// word, never the number by which two of a kind are told apart: `Ben +2`, `Ove 2 +1`.
fn name_and_more(name: &str, behind: usize) -> Text {
    let (mut word, number) = match name.rsplit_once(' ') {
        Some((word, number)) if number.bytes().all(|b| b.is_ascii_digit()) => (word, &name[word.len()..]),
        Some(_) | None => (name, ""),
    };
    let mut text = Text::from(format!("{word}{number} +{behind}"));
    while let Some((at, _)) = word.char_indices().next_back().filter(|(at, _)| *at > 0) {
        word = word[..at].trim_end();
        text = text.or(format!("{word}{number} +{behind}"));
    }
    text
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

pub(super) fn word(w: Language, word: KeyWord) -> Text {
    match word {
        KeyWord::Start => w.key_start(),
        KeyWord::Ok(_) => w.key_ok(),
        KeyWord::Done | KeyWord::InsideDone => w.key_done(),
        KeyWord::Yes | KeyWord::StillOn => w.key_yes(),
    }
}

/// The number of a cell: always time to go, time over with its sign, or a reading.
fn figures(stage: &StageView, station: &StationView, now: RunTime) -> Figures {
    let (w, units) = (station.settings.language, station.settings.units);
    let left = |moment: &RunTime| number::cell_left(moment.since(now));
    let reading = || match &stage.probe {
        Some(probe) => probe::figures(probe, now, units),
        None => Figures::plain("--°"),
    };
    match &stage.state {
        LaneState::Waiting { ready } => ready.as_ref().map_or_else(Figures::none, left),
        // what is left to start it, once that is not long
        LaneState::Ready { latest, .. } => match plan::left_to_start(stage, *latest, now) {
            Some(left) => number::cell_left(left),
            None => Figures::plain(w.now()),
        },
        LaneState::Running { due, .. } => match in_rest(stage).filter(|probe| probe::still_wanted(probe).is_some()) {
            Some(probe) => probe::figures(probe, now, units),
            None => due.as_ref().map_or_else(Figures::none, left),
        },
        LaneState::Probe => reading(),
        LaneState::OnHold { left, .. } => left.map_or_else(Figures::none, number::cell_left),
        LaneState::Window { closes } => number::cell_left_framed(closes.since(now)),
        LaneState::Question { closes, .. } => left(closes),
        LaneState::Inside { asked, .. } => number::cell_late(now.since(*asked)),
        LaneState::Due { .. } if ends_by_core(stage) => reading(),
        LaneState::Due { since } | LaneState::Overdue { since } => number::cell_late(now.since(*since)),
        LaneState::ProbeLost { .. } => Figures::plain("--°"),
        LaneState::StillCooking if ends_by_core(stage) => reading(),
        LaneState::StillCooking => stage.ends.as_ref().map_or_else(Figures::none, left),
        LaneState::Done { .. } => Figures::plain(w.done()),
    }
}

/// Whether the core is the number that matters once it is due: it ended the step, or it did not come to what it had to.
fn ends_by_core(stage: &StageView) -> bool {
    let by_core = stage.probe.as_ref().is_some_and(|probe| probe.target.is_some() && probe.last.is_some());
    by_core || probe::missed(stage).is_some()
}

/// The page of one lane, on so-and-so many turns of its long texts.
pub(crate) fn lane(
    run: &RunView,
    station: &StationView,
    lane: u8,
    stage: &StageView,
    chosen: &Chosen,
    page: u32,
) -> Screen {
    let w = station.settings.language;
    let place = run.lanes.iter().find(|found| found.number == lane).map_or("", |found| found.name.as_str());
    let (step, steps) = stage.number;
    let (digits, doubtful) = digits(stage, station, run.now);
    let header =
        Header { left: format!("{place}: {} {}", stage.food, stage.step_name).into(), right: w.step_of(step, steps) };
    Screen::Lane(LanePage {
        header,
        lane,
        tone: tone(&stage.state),
        digits,
        doubtful,
        aside: aside(stage, station, run.now),
        note: note(stage, run.now, station),
        middle: middle(stage, run.now, station, chosen, page),
        buttons: buttons(w, lane, stage, word_of(run, stage), chosen),
        strip: cells(run, station),
    })
}

/// The large number, and whether it is a reading that may be wrong.
fn digits(stage: &StageView, station: &StationView, now: RunTime) -> (Text, bool) {
    let (w, units) = (station.settings.language, station.settings.units);
    let sure = |text: Text| (text, false);
    let left = |moment: &RunTime| sure(number::band_left(moment.since(now)).into());
    let none = || sure("--".into());
    let core = || match &stage.probe {
        Some(probe) => (probe::reading(probe, units).into(), probe::is_doubtful(probe, now)),
        None => sure("--°".into()),
    };
    match &stage.state {
        LaneState::Waiting { ready } => ready.as_ref().map_or_else(none, left),
        LaneState::Ready { latest, .. } => latest.as_ref().map_or_else(|| sure(w.now()), left),
        LaneState::Running { .. } if in_rest(stage).and_then(probe::still_wanted).is_some() => core(),
        LaneState::Running { due, .. } => due.as_ref().map_or_else(none, left),
        LaneState::Probe | LaneState::ProbeLost { .. } => core(),
        LaneState::OnHold { left, .. } => left.map_or_else(none, |left| sure(number::band_left(left).into())),
        LaneState::Window { closes } | LaneState::Question { closes, .. } => left(closes),
        LaneState::Inside { asked, .. } => sure(number::band_late(now.since(*asked)).into()),
        LaneState::Due { .. } if ends_by_core(stage) => core(),
        LaneState::Due { since } | LaneState::Overdue { since } => sure(number::band_late(now.since(*since)).into()),
        LaneState::StillCooking => stage.ends.as_ref().map_or_else(core, left),
        LaneState::Done { .. } => none(),
    }
}

/// How the appliance is set, or the core in a rest.
fn aside(stage: &StageView, station: &StationView, now: RunTime) -> [Text; 2] {
    let (w, units) = (station.settings.language, station.settings.units);
    if let Some(probe) = &stage.probe {
        // a reading needs the width; its target stands with its slope below
        let rests = in_rest(stage).is_some() || probe::missed(stage).is_some();
        let core = match probe::still_wanted(probe).filter(|_| rests) {
            Some(wanted) => {
                let wanted = number::whole_degrees(wanted, units);
                w.rest_of(&wanted).or(format!("→{wanted}"))
            }
            None if rests && probe.last.is_some() => w.core_at(probe::marked_reading(probe, now, units)),
            None => Text::none(),
        };
        return [core, Text::none()];
    }
    match &stage.setting {
        Some(Setting::Heat { at, fan }) => {
            [number::with_unit(*at, station.settings.units).into(), if *fan { w.fan() } else { Text::none() }]
        }
        Some(Setting::Power(power)) => [format!("{} W", power.smallest() / 1000).into(), Text::none()],
        Some(Setting::Level(words)) => [words.clone().into(), Text::none()],
        None => [Text::none(), Text::none()],
    }
}

/// The line under the digits.
fn note(stage: &StageView, now: RunTime, station: &StationView) -> Text {
    let w = station.settings.language;
    if let Some(planned) = plan::start_and_latest(stage, station) {
        return planned;
    }
    match &stage.state {
        LaneState::Waiting { ready: Some(_) } => w.until_it_can_start(),
        LaneState::Waiting { ready: None } => w.waits_for_another(),
        LaneState::Ready { latest: Some(_), .. } => w.left_to_start(),
        LaneState::Ready { latest: None, .. } => w.ready_to_start(),
        LaneState::Running { due: Some(due), .. } if in_rest(stage).and_then(probe::still_wanted).is_some() => {
            let left = number::band_left(due.since(now));
            at_time(station, *due, |time| w.rest_left_at(&left, time), w.rest_left(&left))
        }
        LaneState::Running { due: Some(due), .. } => {
            at_time(station, stage.ends.unwrap_or(*due), |time| w.left_ends_at(time), w.left())
        }
        LaneState::Running { due: None, .. } => {
            stage.began.map_or_else(Text::none, |began| w.runs_for(number::length(now.since(began))))
        }
        LaneState::Probe => stage.probe.as_ref().map_or_else(Text::none, |probe| probe::estimate(probe, now, station)),
        LaneState::OnHold { since, .. } => w.left_on_hold(number::length(now.since(*since))),
        LaneState::Window { .. } | LaneState::Question { .. } => w.until_window_closes(),
        LaneState::Inside { text, .. } => match &stage.probe {
            Some(probe) if text.starts_with("PROBE ") => {
                call(w, "PROBE", w.probe_place(probe.points.0 + 1, probe.points.1).full())
            }
            Some(_) | None => inside(w, text),
        },
        LaneState::Due { since: when } | LaneState::Overdue { since: when } => {
            let units = station.settings.units;
            if let Some((probe, wanted)) = probe::missed(stage) {
                return w.rest_under(probe::marked_reading(probe, now, units), number::whole_degrees(wanted, units));
            }
            // what is ready and was not started has nothing to take out
            let call = match stage.key {
                Some(KeyWord::Start) => call(w, "START", &stage.step_name),
                Some(_) | None => call(w, &stage.then, &stage.food),
            };
            if let Some(target) = probe::called(stage) {
                let target = number::whole_degrees(target, units);
                return call.lengths().fold(Text::none(), |text, call| text.or(w.call_to_rest(call, &target)));
            }
            at_time(
                station,
                *when,
                |time| call.map(|call| w.call_at(call, &time).full().into()).or(call.clone()),
                call.clone(),
            )
        }
        LaneState::ProbeLost { .. } => match probe::last_reading(stage, station, now) {
            Some(last) => w.lost_since(last),
            None => w.probe_lost(),
        },
        LaneState::StillCooking => w.still_cooking(),
        LaneState::Done { at } => at_time(station, *at, |time| w.done_at(time), w.done()),
    }
}

fn middle(stage: &StageView, now: RunTime, station: &StationView, chosen: &Chosen, page: u32) -> Middle {
    let w = station.settings.language;
    let words = |facts: Vec<Text>, rest: Vec<Text>| Middle::Words { facts, rest, page };
    // what is chosen in the recipe's own words stands here, where it has room
    if let Chosen::Mark(_, chosen) | Chosen::Branch(_, chosen) | Chosen::Other(_, chosen) = chosen {
        return words(vec![], vec![chosen.clone().into()]);
    }
    let in_time = runs(&stage.state) && stage.probe.is_none();
    if let (true, Some(looks), Some(began)) = (in_time, &stage.looks, stage.began) {
        return Middle::Window(window_bar(w, looks, began, now));
    }
    if let Some(slack) = plan::slack(stage, now, station) {
        let cautions = stage.cautions.iter().map(|caution| caution_text(*caution, station));
        return words(vec![slack], cautions.chain([stage.text.clone().into()]).collect());
    }
    let beat = stage.beat.as_ref();
    let beat = beat.map(|(when, what)| w.stirred_next(inside(w, what).full(), number::band_left(when.since(now))));
    let facts = match &stage.probe {
        Some(probe) => probe::facts(stage, probe, now, station),
        None => beat.into_iter().collect(),
    };
    let cautions = stage.cautions.iter().map(|caution| caution_text(*caution, station));
    words(facts, cautions.chain([stage.text.clone().into()]).collect())
}

fn caution_text(caution: Caution, station: &StationView) -> Text {
    let w = station.settings.language;
    match caution {
        Caution::Steam => w.caution_steam(),
        Caution::HotFat => w.caution_hot_fat(),
        Caution::Superheated => w.caution_superheated(),
        Caution::HotHandle => w.caution_hot_handle(),
        Caution::RawMeat => w.caution_raw_meat(),
        Caution::RawFish => w.caution_raw_fish(),
        Caution::RawEgg => w.caution_raw_egg(),
        Caution::HotSugar => w.caution_hot_sugar(),
        Caution::Blade => w.caution_blade(),
        Caution::Allergen => w.caution_allergen(),
        Caution::KeepHot => w.caution_keep_hot(number::with_unit(KEPT_HOT, station.settings.units)),
    }
}

/// What is not cooled fast is kept at least this hot; the figure of the caution in the record.
const KEPT_HOT: quantities::Celsius = quantities::Celsius::whole(60);

fn window_bar(w: Language, looks: &LooksView, began: RunTime, now: RunTime) -> WindowBar {
    // a tenth more than the last moment, so that being late is seen
    let whole = looks.no_later.since(began).millis().max(1) * 11 / 10;
    let place = |moment: RunTime| (moment.since(began).millis() * 1000 / whole.max(1)).min(1000) as u16;
    let (first, last) = (looks.first.since(began), looks.no_later.since(began));
    WindowBar {
        now: place(now),
        opens: place(looks.first),
        closes: place(looks.no_later),
        look: (looks.next > looks.first && looks.next < looks.no_later).then(|| place(looks.next)),
        now_text: w.now_at(number::length(now.since(began))),
        window_text: window_text(w, first, last),
    }
}

fn window_text(w: Language, first: Span, last: Span) -> Text {
    let whole = |span: Span| span.millis().is_multiple_of(60_000);
    if whole(first) && whole(last) {
        w.look_range_min(first.whole_secs() / 60, last.whole_secs() / 60)
    } else {
        w.look_range(number::length(first), number::length(last))
    }
}

fn buttons(w: Language, lane: u8, stage: &StageView, asked: Option<KeyWord>, chosen: &Chosen) -> [Button; 2] {
    let key = |key: Text| key.map(|key| String::from(w.button_key(lane, key).full())).or(key);
    let key = match asked {
        Some(asked) => Button::strong(key(word(w, asked))),
        None if runs(&stage.state) => Button::plain(key(w.key_done())),
        None => Button::plain(""),
    };
    let text = match chosen {
        Chosen::Back => w.knob_back(),
        Chosen::Time(by) => w.knob_time(number::change(by.millis())),
        Chosen::Hold => w.knob_hold(),
        Chosen::GoOn => w.knob_hold_on(),
        Chosen::UseTime => w.knob_use_time(),
        Chosen::NotYet => w.knob_not_yet(),
        Chosen::Over => w.knob_over(),
        Chosen::StartAnyway => w.knob_start_anyway(),
        Chosen::Mark(..) => w.knob_seen(),
        Chosen::Branch(..) => w.knob_do_it(),
        Chosen::Other(..) => w.knob_other_stage(),
        Chosen::PullEarly => w.knob_early(),
        Chosen::Lose(Loss::Skip(_)) => w.knob_skip_step(),
        Chosen::Lose(Loss::Stop(_)) => w.knob_stop_lane(),
        Chosen::Lose(Loss::GiveUp(_) | Loss::ForgetCheck(_)) => w.knob_give_up(),
    };
    let knob = if *chosen == Chosen::Back { Button::plain(text) } else { Button::strong(text) };
    [key, Button { turns: true, ..knob }]
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_lane_with_more_behind_it_always_fits_and_keeps_both_numbers() {
        assert_eq!(name_and_more("Pan", 1).full(), "Pan +1");
        for name in ["Bench", "Fridge", "Freezer", "Micro", "Oven 2", "Ofen", "WWWWW"] {
            for behind in [1, 9, 61] {
                let text = name_and_more(name, behind);
                let shown = text.fitting(|text| face::width(face::Size::S, text) <= 76);
                assert!(face::width(face::Size::S, shown) <= 76, "{shown}");
                assert!(shown.ends_with(&format!(" +{behind}")) && shown.starts_with(&name[..1]), "{shown}");
                assert_eq!(shown.contains(" 2 "), name.ends_with(" 2"), "{shown}");
            }
        }
    }

    /// No key opens the page of a lane that calls; it can still be open when a call comes back.
    #[test]
    fn the_page_of_a_lane_that_is_due_says_what_is_asked_and_fits_both_panels() {
        use crate::gallery::{views::station, views_of_core::*, views_of_plan::*};
        for language in Language::ALL {
            for units in number::Units::ALL {
                let mut here = station();
                (here.settings.language, here.settings.units) = (language, units);
                let core = [called_to_take(), called_overdue(135), rest_under(61.8, 7), rest_under_in_doubt()];
                let core = core.into_iter().map(|view| (view, 1));
                for (view, lane) in core.chain([(ready_planned(212), 2), (ready_planned(0), 2), (start_due(), 2)]) {
                    let stage = view.lanes[usize::from(lane) - 1].front.as_ref().unwrap();
                    let screen = super::lane(&view, &here, lane, stage, &Chosen::Back, 0);
                    assert_eq!(screen.too_wide(), Vec::<String>::new());
                    assert_eq!(screen.too_wide_mono(), Vec::<String>::new());
                }
            }
        }
        let note = |view: &RunView| {
            let stage = view.lanes[0].front.as_ref().unwrap();
            let Screen::Lane(page) = super::lane(view, &station(), 1, stage, &Chosen::Back, 0) else {
                panic!("no page")
            };
            String::from(page.note.full())
        };
        let to_start = ready_planned(212);
        let stage = to_start.lanes[1].front.as_ref().unwrap();
        let Screen::Lane(page) = super::lane(&to_start, &station(), 2, stage, &Chosen::Back, 0) else {
            panic!("no page")
        };
        assert_eq!(page.note.full(), "start 12:00, latest 12:04");
        let Middle::Words { facts, .. } = page.middle else { panic!("no words") };
        assert_eq!(facts, [Text::from("can wait 3 min")]);
        assert_eq!(note(&called_to_take()), "TAKE OUT loin: comes to 63° in the rest");
        assert_eq!(note(&rest_under(61.8, 7)), "61.8°, under 63°: back on the heat");
        assert_eq!(note(&rest_under(63.2, 7)), "CHECK loin at 12:00");
    }
}
