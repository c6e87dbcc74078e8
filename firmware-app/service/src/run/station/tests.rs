#![allow(clippy::unwrap_used)]
use std::path::Path;

use hardware::{Head, LampState};
use journal::index::Filter;
use quantities::{Celsius, CelsiusStep};
use screens::{CheckState, DeskKey as Key, Settings, Units};
use words::Language;

use super::*;
use crate::{
    clock::{Clock, SystemClock},
    config::ON_PANEL_FILE,
    library::Library,
    run::{
        channels::Channel,
        probe_check::BathKind,
        shelf::{self, probes_of},
    },
};

const SOUP: &str = include_str!("../../../../../recipes/library/soup-reheat.toml");

/// One step by the clock, two things to note.
pub(crate) const TOAST: &str = r#"schema = 1
id = "toast"
title = "Toast"
yield = "1 portion"
hazards = []

[kitchen]
ovens = 1
cooks = 1
probes = 1

[record]
weigh = [{ what = "slice after", after = "slice.toast" }]
score = [{ what = "liking", scale = "1-9" }]

[[ingredient]]
id = "rye"
name = "Rye bread"
amount = "60 g"
tolerance = "5 g"

[[stage]]
id = "slice"
name = "slice"
appliance = "oven"

[[stage.step]]
id = "toast"
name = "toast"
do = "Slice on the rack."
setting = { heat = "165 °C" }
until = { time = "4 min" }
"#;

/// A station whose data lie in a folder that goes away.
struct Here {
    home: tempfile::TempDir,
    station: Station,
    probes: One,
}

/// One device, which stands for every probe.
struct One(Option<ProbeDevice>);

impl ProbeMap for One {
    fn devices(&mut self, wanted: &BTreeSet<ProbeName>) -> BTreeMap<ProbeName, ProbeDevice> {
        wanted.iter().filter_map(|name| Some((name.clone(), self.0.clone()?))).collect()
    }
}

fn device() -> ProbeDevice {
    ProbeDevice("28-1".into())
}

fn open_at(home: &Path) -> Station {
    let library = Library::at(home);
    let book = Book::open(Library::disk(), &library.trials, library.index.clone()).unwrap();
    let mut station = Station::new(book, SystemClock::new().stamp(), None, None, BTreeSet::new());
    let on_panel = OnPanel::read(home).unwrap();
    let lanes = ["Oven", "Micro", "Pan", "Bench"].map(Into::into);
    station.set_panel(Settings { lanes, ..Settings::default() }, on_panel, Some(home.join(ON_PANEL_FILE)));
    station.set_probes(vec![NamedProbe { name: ProbeName::new("core"), device: device() }]);
    station
}

fn at(secs: u64) -> RunTime {
    RunTime::from_millis(secs * 1000)
}

fn parsed(text: &str) -> Shelved {
    match shelf::parse(Path::new("recipe.toml"), text.into()) {
        Ok(shelved) => shelved,
        Err(ShelfError::Refused { complaints, .. }) => panic!("{complaints:#?}"),
        Err(why) => panic!("{why}"),
    }
}

impl Here {
    fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        let mut station = open_at(home.path());
        station.set_shelf(vec![("toast".into(), Ok(parsed(TOAST)))], |_| 0);
        Self { station, home, probes: One(Some(device())) }
    }

    fn press(&mut self, keys: &[Key], now: RunTime) {
        for key in keys {
            self.station.key(*key, &mut self.probes, now);
        }
    }

    /// Lets time pass, and brings up to date what the panel is told.
    fn look(&mut self, now: RunTime) {
        self.station.tick(now);
        self.station.refresh(now);
    }

    async fn heard(&mut self) -> Vec<Head> {
        self.station.book_settled().await;
        let mut heard = Vec::new();
        while let Some(cue) = self.station.next_sound() {
            heard.push(cue.head());
        }
        heard
    }

    /// Starts the toast and has it done.
    fn cooked(&mut self) -> TrialNo {
        self.press(&[Key::Knob, Key::Lane(1)], at(1));
        self.station.tick(at(3));
        self.press(&[Key::Lane(1)], at(4));
        self.station.tick(at(300));
        let view = self.station.view(at(300));
        assert!(!view.alerts.is_empty(), "{view:#?}");
        self.press(&[Key::Lane(1)], at(301));
        self.press(&[Key::Lane(1)], at(303));
        let view = self.station.view(at(303));
        assert!(view.trials[0].closed.is_some() && !view.trials[0].given_up, "{view:#?}");
        view.trials[0].no
    }
}

impl Station {
    /// What of the record sheet is on record.
    fn shown_noted(&self, no: TrialNo) -> Vec<String> {
        let open = &self.open[&no];
        let sheet = crate::run::outcome::sheet(no, &open.recipe, &open.noted).unwrap();
        sheet.items.into_iter().filter(|item| item.noted).map(|item| item.what).collect()
    }
}

#[tokio::test]
async fn readings_of_the_last_seconds_are_on_disk_after_a_stop() {
    let home = tempfile::tempdir().unwrap();
    let mut station = open_at(home.path());
    let shelved = parsed(SOUP);
    let probes = probes_of(&shelved.recipe.base).into_iter().map(|name| (name, device())).collect();
    let chosen = Chosen { shelved, variant: None, probes, left_open: Vec::new(), wanted: None };
    let no = station.open_trial(chosen, RunTime::START).unwrap();
    let trial = station.trial_id(no).unwrap().clone();
    for second in 1..=4 {
        station.reading(&device(), Ok(Celsius::whole(20)), at(second));
    }
    station.lay_down(RunTime::from_millis(4_500));
    station.book_settled().await;
    let blocks = Library::at(home.path()).read(trial.as_str()).unwrap().readings().unwrap();
    assert_eq!(blocks.iter().map(|block| block.samples().len()).sum::<usize>(), 4);
}

#[tokio::test]
async fn what_is_noted_after_the_end_is_in_the_journal_and_in_the_index() {
    let mut here = Here::new();
    let no = here.cooked();
    let trial = here.station.trial_id(no).unwrap().clone();
    here.look(at(304));
    let sheet = here.station.shown.outcome.clone().unwrap();
    assert_eq!(sheet.items.iter().filter(|item| item.noted).count(), 0);
    assert!(here.station.asks_outcome(at(305)));
    // 40.0 g by four figures, then the middle of the scale
    here.press(&[Key::Turn(1), Key::Turn(-1), Key::Knob, Key::Turn(4), Key::Knob, Key::Knob, Key::Knob], at(310));
    here.press(&[Key::Turn(1), Key::Knob], at(312));
    assert!(!here.station.asks_outcome(at(313)));
    assert!(here.station.shown.outcome.as_ref().unwrap().items.iter().all(|item| item.noted));
    here.station.book_settled().await;
    let library = Library::at(here.home.path());
    let measured = |library: &Library| {
        let record = Library::record(&library.read(trial.as_str()).unwrap()).unwrap();
        record.measured.iter().map(|(what, value, _)| (what.clone(), *value)).collect::<Vec<_>>()
    };
    let noted = [("slice after".to_owned(), 40_000), ("liking".to_owned(), 5_000)];
    assert_eq!(measured(&library), noted);
    // taking back what was noted last opens nothing again
    here.station.act(Act::Undo, at(314)).unwrap();
    assert!(!here.station.is_running());
    assert_eq!(here.station.shown_noted(no), ["slice after"]);
    here.station.act(Act::Measure(no, "liking".into(), 7_000, None), at(320)).unwrap();
    here.station.book_settled().await;
    let library_at = here.home.path().to_owned();
    drop(here.station);
    // after a restart
    let library = Library::at(&library_at);
    assert_eq!(measured(&library).last(), Some(&("liking".to_owned(), 7_000)));
    let rows = library.open_index().unwrap().list(&Filter::default()).unwrap();
    assert_eq!(rows.len(), 1);
    let facts = library.read(trial.as_str()).unwrap().facts().unwrap();
    assert!(matches!(facts.last().unwrap().entry.fact, trial::Fact::Measured { .. }));
}

#[tokio::test]
async fn a_trial_starts_with_its_check_open_and_the_record_says_so_in_english() {
    let mut here = Here::new();
    here.station.shown.settings.language = Language::German;
    here.press(&[Key::Knob], at(1));
    here.look(at(1));
    let check = here.station.shown.check.clone().unwrap();
    let lines: Vec<&str> = check.lines.iter().map(|line| line.text.full()).collect();
    assert_eq!(lines, ["1 Zutaten", "Ofen auf 165°C"]);
    here.press(&[Key::Knob], at(2));
    here.look(at(2));
    let states: Vec<CheckState> =
        here.station.shown.check.iter().flat_map(|check| &check.lines).map(|line| line.state).collect();
    assert_eq!(states, [CheckState::Ticked, CheckState::Open]);
    here.press(&[Key::Lane(1)], at(3));
    assert!(here.station.is_running());
    here.station.book_settled().await;
    let trial = here.station.view(at(3)).trials[0].id.clone();
    let record = Library::record(&Library::at(here.home.path()).read(trial.as_str()).unwrap()).unwrap();
    assert_eq!(record.info.left_open, ["Oven at 165°C: look for yourself"]);
}

#[tokio::test]
async fn what_is_set_on_the_panel_is_heard_at_once_and_known_after_a_restart() {
    let mut here = Here::new();
    let change = |change, here: &mut Here| {
        let granted = here.station.grant(screens::Wish::Set(change), &mut One(None), at(1));
        assert!(!matches!(granted, wishes::Granted::No));
        granted
    };
    let heard = change(screens::SettingChange::Sound(5), &mut here);
    assert!(matches!(heard, wishes::Granted::Heard(cue) if cue.head() == Head::Medium));
    change(screens::SettingChange::Units(Units::Fahrenheit), &mut here);
    change(screens::SettingChange::Language(Language::German), &mut here);
    change(screens::SettingChange::Lamps(false), &mut here);
    change(screens::SettingChange::Lane(2, 1), &mut here);
    change(screens::SettingChange::Brightness(4), &mut here);
    assert_eq!(here.station.settings().sound, 5);
    assert_eq!(here.station.lamps(at(1)), [LampState::Off; 4]);
    here.station.book_settled().await;
    let home = here.home.path().to_owned();
    drop(here.station);
    let again = OnPanel::read(&home).unwrap();
    assert_eq!(again.sound_level.map(crate::config::Level::step), Some(5));
    assert_eq!(again.language.unwrap().of_panel(), Language::German);
    assert_eq!(again.units, Some(crate::config::Units::Fahrenheit));
    assert_eq!((again.lamps, again.brightness), (Some(crate::config::Switch(false)), crate::config::Level::new(4)));
    assert_eq!(again.speech, None, "left alone");
    assert_eq!(again.lanes.unwrap().0[1], "Pan");
}

#[tokio::test]
async fn a_check_of_a_probe_is_saved_noted_with_its_trials_and_forgotten() {
    let mut here = Here::new();
    here.station.set_stamp(SystemClock::new().stamp(), at(0), 0);
    let grant = |here: &mut Here, wish, secs| here.station.grant(wish, &mut One(None), at(secs));
    assert!(matches!(grant(&mut here, screens::Wish::CheckProbe(0, screens::Bath::Ice), 1), wishes::Granted::Yes));
    assert_eq!(here.station.devices(), [device()].into());
    for second in 1..=62 {
        here.station.reading(&device(), Ok(Celsius::from_degrees(0.5).unwrap()), at(second));
    }
    here.look(at(62));
    let shown = here.station.shown.probe_check.clone().unwrap();
    assert_eq!(shown.off.map(CelsiusStep::ten_thousandths), Some(5_000));
    assert!(matches!(grant(&mut here, screens::Wish::SaveCheck, 62), wishes::Granted::Yes));
    assert!(matches!(grant(&mut here, screens::Wish::SaveCheck, 62), wishes::Granted::No), "saved once");
    grant(&mut here, screens::Wish::EndCheck, 63);
    assert!(here.station.devices().is_empty());
    here.look(at(63));
    assert_eq!(here.station.shown.probes[0].checked, here.station.today);
    let programme = parsed(SOUP).recipe.base.clone();
    let core = [(ProbeName::new("core"), device())].into();
    let known = here.station.equipment_of(&programme, &core).0.into_iter().find(|it| it.name == "probe core").unwrap();
    assert_eq!(known.offset_celsius.map(CelsiusStep::ten_thousandths), Some(5_000));
    assert!(known.note.unwrap().starts_with("readings as they came; its checks found +0.50 °C in ice 20"));
    here.station.book_settled().await;
    assert_eq!(OnPanel::read(here.home.path()).unwrap().checks[0].bath, BathKind::Ice);
    assert!(matches!(grant(&mut here, screens::Wish::ForgetCheck(0), 64), wishes::Granted::Yes));
    here.station.book_settled().await;
    assert!(OnPanel::read(here.home.path()).unwrap().checks.is_empty());
}

#[tokio::test]
async fn the_self_test_says_what_it_found_and_ends_by_itself() {
    let mut here = Here::new();
    let [_, _, three, _] = LaneKey::ALL;
    here.station.set_channels(Channels {
        sound: Channel::Works,
        lamps: Channel::Works,
        panel: Channel::NotSetUp,
        keys: Channel::Works,
        stuck: vec![hardware::Key::Lane(three)],
    });
    here.station.begin_self_test(at(1));
    assert_eq!(here.heard().await, [Head::Count]);
    assert_eq!(here.station.devices(), [device()].into(), "named probes are read");
    here.station.reading(&device(), Ok(Celsius::whole(21)), at(2));
    here.station.tick(at(2));
    let found = |here: &Here| -> Vec<(String, String)> {
        let lines = here.station.shown.self_test.iter().flat_map(|test| &test.lines);
        lines.map(|line| (line.what.to_string(), line.found.to_string())).collect()
    };
    let expected = [
        ("Keys", "key 3 stuck"),
        ("Lamps", "lane 1 of 4"),
        ("Sound", "lane 1 of 4"),
        ("Panel", "none set up"),
        ("Probe core", "21.0°"),
        ("Record", "0 trials kept"),
    ];
    assert_eq!(found(&here), expected.map(|(what, found)| (what.to_owned(), found.to_owned())));
    assert_ne!(here.station.lamps(at(2)), [LampState::Off; 4]);
    here.press(&[Key::Lane(4)], at(7));
    assert_eq!(here.heard().await.last(), Some(&Head::Count));
    here.station.tick(at(16));
    assert!(!here.station.is_testing());
    assert_eq!(here.station.lamps(at(16)), [LampState::Off; 4]);
}

#[tokio::test]
async fn while_filming_the_self_test_is_silent() {
    let mut here = Here::new();
    here.station.set_quiet(true);
    here.station.begin_self_test(at(1));
    here.look(at(3));
    assert_eq!(here.heard().await, []);
    assert_ne!(here.station.lamps(at(3)), [LampState::Off; 4]);
}

#[tokio::test]
async fn an_alert_ends_the_self_test_at_once() {
    let mut here = Here::new();
    here.press(&[Key::Knob, Key::Lane(1)], at(1));
    here.station.begin_self_test(at(2));
    // the first step is ready to start, which calls
    here.station.tick(at(2));
    assert!(!here.station.view(at(2)).alerts.is_empty());
    assert!(!here.station.is_testing());
    assert_eq!(here.station.lamps(at(2))[0], LampState::DUE);
}

#[tokio::test]
async fn without_sound_an_alert_flashes_fast_and_the_panel_says_why() {
    let mut here = Here::new();
    here.press(&[Key::Knob, Key::Lane(1)], at(1));
    here.station.tick(at(2));
    assert_eq!(here.station.lamps(at(2))[0], LampState::DUE);
    here.station.set_channels(Channels { sound: Channel::Lost, ..Channels::default() });
    here.look(at(3));
    let fast = LampState::lit(hardware::LampColour::Yellow, hardware::LampPattern::Fast);
    assert_eq!(here.station.lamps(at(3))[0], fast);
    let about: Vec<String> = here.station.shown.about.iter().map(|[what, found]| format!("{what}: {found}")).collect();
    assert!(about.contains(&"Sound: not there".to_owned()), "{about:?}");
}

#[tokio::test]
async fn refusals_and_lists_are_in_the_panel_s_language() {
    let mut here = Here::new();
    here.station.shown.settings.language = Language::German;
    let broken = shelf::parse(Path::new("x.toml"), "id = 3".into());
    here.station.set_shelf(vec![("x".into(), broken)], |_| 0);
    let line = &here.station.offered()[0];
    assert!(line.refused.as_ref().unwrap().full().contains("Fehler"), "{line:?}");
}

#[tokio::test]
async fn a_plan_that_moves_is_shown_with_a_low_sound_and_taken_by_the_knob() {
    let mut here = Here::new();
    here.press(&[Key::Knob, Key::Lane(1)], at(1));
    here.look(at(3));
    here.press(&[Key::Lane(1)], at(4));
    here.look(at(5));
    assert_eq!(here.station.shown.moved, None);
    let _ = here.heard().await;
    let toast = here.station.view(at(5)).lanes[0].front.as_ref().unwrap().at;
    here.station.act(Act::ChangeTime(toast, Drift::from_millis(180_000)), at(6)).unwrap();
    here.look(at(6));
    let moved = here.station.shown.moved.clone().unwrap();
    // three minutes by the cook, three seconds until the start was pressed
    assert_eq!((moved.at, moved.now.since(moved.was)), (at(6), Span::from_secs(183)));
    assert!(matches!(here.station.screen(at(6)), Screen::Moved(_)));
    assert_eq!(here.heard().await, [Head::Low]);
    here.press(&[Key::Knob], at(8));
    assert_eq!(here.station.shown.moved, None);
    assert!(matches!(here.station.screen(at(8)), Screen::Board(_)));
    assert_eq!(here.heard().await, [Head::Taken]);
}

#[tokio::test]
async fn a_check_whose_page_was_left_reads_its_probe_no_more() {
    let mut here = Here::new();
    here.station.grant(screens::Wish::CheckProbe(0, screens::Bath::Boiling), &mut One(None), at(1));
    assert!(!here.station.devices().is_empty());
    assert!(!matches!(here.station.screen(at(2)), Screen::ProbeCheck(_)));
    assert!(here.station.devices().is_empty());
}

#[tokio::test]
async fn no_check_changes_what_the_record_says_of_a_probe_that_cooks() {
    let mut here = Here::new();
    let soup = parsed(SOUP);
    let probes = probes_of(&soup.recipe.base).into_iter().map(|name| (name, device())).collect();
    here.station
        .open_trial(Chosen { shelved: soup, variant: None, probes, left_open: vec![], wanted: None }, at(0))
        .unwrap();
    assert!(matches!(
        here.station.grant(screens::Wish::CheckProbe(0, screens::Bath::Ice), &mut One(None), at(1)),
        wishes::Granted::Yes
    ));
    for second in 1..=62 {
        here.station.reading(&device(), Ok(Celsius::from_degrees(0.5).unwrap()), at(second));
    }
    let grant = |here: &mut Here, wish| here.station.grant(wish, &mut One(None), at(62));
    assert!(matches!(grant(&mut here, screens::Wish::SaveCheck), wishes::Granted::No));
    let trial = here.station.view(at(62)).trials[0].no;
    here.station.act(Act::GiveUp(trial), at(62)).unwrap();
    assert!(matches!(grant(&mut here, screens::Wish::SaveCheck), wishes::Granted::Yes));
}

/// A core from the first step on.
const RUSK: &str = r#"schema = 1
id = "rusk"
title = "Rusk"
yield = "2 portions"
hazards = []

[kitchen]
ovens = 1
cooks = 1
probes = 1

[[ingredient]]
id = "rye"
name = "Rye flour"
amount = "180 g"
tolerance = "5 g"

[[stage]]
id = "loaf"
name = "rusk"
appliance = "oven"

[[stage.step]]
id = "bake"
name = "bake"
do = "Middle shelf."
setting = { heat = "165 °C" }
until = { core = "94 °C", probe = "core", hold = "30 s", expect = "20-30 min", else = { time = "20-32 min", cue = "Hollow?", first_look = "20 min", look_every = "4 min", no_later_than = "40 min" } }
"#;

#[tokio::test]
async fn a_probe_is_corrected_by_its_check_and_after_a_restart_by_its_own_record() {
    let in_ice = |reading: i32| {
        let step = CelsiusStep::from_ten_thousandths(reading);
        crate::run::probe_check::SavedCheck {
            probe: "core".into(),
            device: device().0,
            bath: BathKind::Ice,
            day: None,
            reading: Celsius::whole(0) + step,
            spread: None,
            readings: None,
            expected: Celsius::whole(0),
            expected_within: None,
            offset: step,
        }
    };
    let shown = |station: &Station, now| {
        let view = station.view(now);
        let front = view.lanes.iter().filter_map(|lane| lane.front.as_ref());
        front.filter_map(|stage| stage.probe.as_ref()).find_map(|probe| probe.last).map(|(core, _)| core.degrees())
    };
    let mut here = Here::new();
    here.station.on_panel.add_check(in_ice(5_000));
    let probes = [(ProbeName::new("core"), device())].into();
    let chosen = Chosen { shelved: parsed(RUSK), variant: None, probes, left_open: Vec::new(), wanted: None };
    let no = here.station.open_trial(chosen, at(0)).unwrap();
    here.station.act(Act::Start(run_engine::StageAt { trial: no, stage: 0 }), at(1)).unwrap();
    let read = |station: &mut Station, secs: std::ops::RangeInclusive<u64>| {
        for second in secs {
            station.reading(&device(), Ok(Celsius::from_degrees(20.5).unwrap()), at(second));
        }
    };
    read(&mut here.station, 2..=12);
    assert_eq!(shown(&here.station, at(12)), Some(20.0));
    here.station.lay_down(at(12));
    here.station.book_settled().await;
    drop(here.station);
    let library = Library::at(here.home.path());
    let [found] =
        crate::run::resume::open_trials(&Library::disk(), &library.trials, &library.index).try_into().ok().unwrap();
    let (away, _) = found.away(&SystemClock::new().stamp());
    // checked again meanwhile: that is for the trials to come
    let mut again = open_at(here.home.path());
    again.on_panel.add_check(in_ice(20_000));
    let trial = found.take_up(&mut again, &mut here.probes, away, at(20)).unwrap();
    read(&mut again, 21..=31);
    assert_eq!(shown(&again, at(31)), Some(20.0));
    again.lay_down(at(31));
    again.book_settled().await;
    let file = library.read(trial.as_str()).unwrap();
    let record = Library::record(&file).unwrap();
    let noted = record.equipment.iter().find(|it| it.name == "probe core").unwrap();
    let corrected = noted.calibration.unwrap().corrected(Celsius::from_degrees(20.5).unwrap());
    assert_eq!((corrected, noted.calibration_age), (Celsius::whole(20), None));
    let raw = Library::samples(&file, &ProbeName::new("core")).unwrap();
    assert_eq!(raw.len(), 22);
    assert!(raw.iter().all(|sample| sample.reading == Ok(Celsius::from_degrees(20.5).unwrap())), "kept as they came");
}

#[tokio::test]
async fn lamps_that_are_switched_off_stand_in_for_a_sounder_that_is_lost() {
    let mut here = Here::new();
    here.press(&[Key::Knob, Key::Lane(1)], at(1));
    here.look(at(3));
    here.station.shown.settings.lamps = false;
    assert_eq!(here.station.lamps(at(3)), [LampState::Off; 4]);
    here.station.set_channels(Channels { sound: Channel::Lost, ..Channels::default() });
    assert_ne!(here.station.lamps(at(3))[0], LampState::Off);
}

#[tokio::test]
async fn a_word_that_an_undo_brings_back_is_not_answered_by_the_next_press() {
    let mut here = Here::new();
    here.press(&[Key::Knob, Key::Lane(1)], at(1));
    here.station.tick(at(3));
    here.press(&[Key::Lane(1)], at(4));
    here.station.tick(at(300));
    let state = |here: &Here, now| here.station.view(now).alerts[0].state;
    here.press(&[Key::Lane(1)], at(301));
    assert_eq!(state(&here, at(301)), AlertState::Acknowledged);
    here.press(&[Key::KnobHold], at(303));
    assert_eq!(state(&here, at(303)), AlertState::Sounding);
    let soon = at(303) + Span::from_millis(499);
    here.press(&[Key::Lane(1)], soon);
    assert_eq!(state(&here, soon), AlertState::Sounding, "it only opened the lane");
    here.press(&[Key::Lane(1)], at(304));
    assert_eq!(state(&here, at(304)), AlertState::Acknowledged);
}

/// States at the ready check that the toast is wanted in half an hour, and starts its trial; no clock is set.
fn wanted_in_half_an_hour() -> Here {
    let mut here = Here::new();
    here.press(&[Key::Knob, Key::Turn(2), Key::Knob], at(1));
    here.look(at(1));
    let ready_at = here.station.shown.check.clone().unwrap().ready_at;
    // four minutes of toasting, and the way to it
    let earliest = ready_at.earliest.unwrap().since(at(1));
    assert!(earliest >= Span::from_mins(4) && earliest < Span::from_mins(5), "{ready_at:?}");
    assert_eq!((ready_at.wanted, ready_at.plan), (None, None));
    here.press(&[Key::Turn(1), Key::Turn(5)], at(1));
    here.look(at(1));
    let ready_at = here.station.shown.check.clone().unwrap().ready_at;
    assert_eq!(ready_at.wanted, Some(at(1801)));
    let plan = ready_at.plan.unwrap();
    let (first, start) = plan.first.unwrap();
    assert_eq!((first.as_str(), plan.late), ("slice toast", Span::ZERO));
    assert!(start >= at(1200) && start < at(1600), "{start:?}");
    here.press(&[Key::Knob, Key::Lane(1)], at(2));
    assert!(here.station.is_running());
    here
}

/// What a plan said of its landing: why, when it is wanted.
fn of_plan(fact: &trial::Fact) -> Option<(trial::PlanWhy, Option<RunTime>)> {
    use trial::Fact::{PlanMade, PlanMoved};
    if let PlanMade { why, landings, .. } = fact {
        return Some((why.clone(), landings.first()?.around.wanted));
    }
    if let PlanMoved { why, landings, .. } = fact {
        return Some((why.clone(), landings.first()?.around.wanted));
    }
    None
}

fn plans(here: &mut Here) -> Vec<(trial::PlanWhy, Option<RunTime>)> {
    std::iter::from_fn(|| here.station.next_told()).filter_map(|(_, entry)| of_plan(&entry.fact)).collect()
}

fn header(screen: &Screen) -> String {
    let Screen::Board(board) = screen else { panic!("no board: {screen:?}") };
    board.header.right.full().to_owned()
}

#[tokio::test]
async fn a_trial_that_is_wanted_at_a_moment_waits_for_its_planned_start() {
    use trial::PlanWhy::Opened;
    let mut here = wanted_in_half_an_hour();
    assert_eq!(plans(&mut here), [(Opened, Some(at(1801)))]);
    here.look(at(60));
    let view = here.station.view(at(60));
    assert!(view.alerts.is_empty(), "{:?}", view.alerts);
    let start = view.starts[0].plan.start;
    assert!(start >= at(1200) && start < at(1600), "{start:?}");
    assert_eq!(header(&here.station.screen(at(60))), "lands in 29:01");
    for second in 61..=start.millis() / 1000 + 1 {
        here.station.tick(at(second));
    }
    let now = start + Span::from_secs(1);
    assert!(here.station.view(now).alerts.iter().any(|alert| alert.kind == trial::AlertKind::Ready));
    // not the second time that the list of recipes leads to a check
    here.press(&[Key::Lane(1)], now + Span::from_secs(1));
    assert!(here.station.view(now + Span::from_secs(1)).starts.is_empty());
}

#[tokio::test]
async fn what_is_wanted_later_moves_the_plan_and_the_old_one_can_be_kept() {
    use trial::PlanWhy::{Kept, Wanted};
    let mut here = wanted_in_half_an_hour();
    here.look(at(60));
    let _ = (plans(&mut here), here.heard().await);
    let landing = |here: &Here, now| here.station.view(now).landings[0].clone();
    let old = landing(&here, at(60));
    // the menu, the plan, its landing; two clicks on
    let later = [Key::Knob, Key::Turn(1), Key::Knob, Key::Knob, Key::Turn(2)];
    here.press(&later, at(61));
    here.look(at(61));
    let asked = here.station.shown.wanting.clone().unwrap().ready_at;
    // 29 min are left, so the second click is at 35
    assert_eq!(asked.wanted, Some(at(2161)));
    assert!(asked.plan.unwrap().late.is_zero());
    assert_eq!((plans(&mut here), landing(&here, at(61)).at), (vec![], old.at), "only asked so far");
    here.press(&[Key::Knob], at(62));
    assert_eq!(plans(&mut here), [(Wanted, Some(at(2161)))]);
    let moved = landing(&here, at(62));
    assert!(moved.at.drift_from(at(2161)).size() < Span::from_mins(3), "{moved:?}");
    assert_eq!(moved.wanted, Some(at(2161)));
    assert!(matches!(here.station.screen(at(62)), Screen::Moved(_)));
    here.press(&[Key::Turn(1), Key::Knob], at(64));
    assert_eq!(plans(&mut here), [(Kept, Some(at(1801)))]);
    let kept = landing(&here, at(64));
    assert_eq!((kept.at, kept.wanted), (old.at, old.wanted));
    for second in 65..=120 {
        here.look(at(second));
    }
    assert_eq!((plans(&mut here), landing(&here, at(120)).at), (vec![], old.at), "it stays so");
    assert!(header(&here.station.screen(at(120))).starts_with("lands"));
}

#[tokio::test]
async fn what_is_wanted_is_known_after_a_restart() {
    let mut here = wanted_in_half_an_hour();
    let no = here.station.view(at(3)).trials[0].no;
    let granted = here.station.grant(screens::Wish::Want(no, at(2400)), &mut One(None), at(10));
    assert!(matches!(granted, wishes::Granted::Yes));
    let (_home, again) = restarted(here, at(12), at(20)).await;
    let view = again.view(at(21));
    assert_eq!(view.landings[0].wanted, Some(at(2400)));
    assert!(view.landings[0].at.drift_from(at(2400)).size() < Span::from_mins(3), "{view:#?}");
    assert!(view.alerts.is_empty() && view.starts[0].plan.start > at(1200), "{view:#?}");
}

/// Puts the station down and takes its open trials up again.
async fn restarted(mut here: Here, down: RunTime, up: RunTime) -> (tempfile::TempDir, Station) {
    here.station.lay_down(down);
    here.station.book_settled().await;
    drop(here.station);
    let library = Library::at(here.home.path());
    let mut again = open_at(here.home.path());
    for found in crate::run::resume::open_trials(&Library::disk(), &library.trials, &library.index) {
        let (away, _) = found.away(&SystemClock::new().stamp());
        found.take_up(&mut again, &mut here.probes, away, up).unwrap();
    }
    again.tick(up + Span::from_secs(1));
    (here.home, again)
}

#[tokio::test]
async fn a_trial_that_comes_as_it_comes_again_after_all_does_so_after_a_restart_too() {
    let mut here = wanted_in_half_an_hour();
    let grant = |here: &mut Here, wish, secs| here.station.grant(wish, &mut One(None), at(secs));
    for wish in [screens::Wish::Prepare(0), screens::Wish::Start] {
        assert!(matches!(grant(&mut here, wish, 10), wishes::Granted::Yes));
    }
    here.look(at(11));
    let [first, second] = here.station.view(at(11)).trials.iter().map(|trial| trial.no).collect::<Vec<_>>()[..] else {
        panic!("two trials are open")
    };
    let wanted = |station: &Station, trial, now| {
        let view = station.view(now);
        view.landings.iter().find(|landing| landing.trial == trial).unwrap().wanted
    };
    assert_eq!((wanted(&here.station, first, at(11)), wanted(&here.station, second, at(11))), (Some(at(1801)), None));
    assert!(matches!(grant(&mut here, screens::Wish::Want(second, at(3600)), 61), wishes::Granted::Yes));
    here.look(at(62));
    assert_eq!(wanted(&here.station, second, at(62)), Some(at(3600)));
    assert!(matches!(grant(&mut here, screens::Wish::KeepPlan, 63), wishes::Granted::Yes));
    assert_eq!(wanted(&here.station, second, at(63)), None);
    let (_home, again) = restarted(here, at(70), at(80)).await;
    let mut all: Vec<_> = again.view(at(81)).landings.iter().map(|landing| landing.wanted).collect();
    all.sort();
    assert_eq!(all, [None, Some(at(1801))]);
}

#[tokio::test]
async fn a_run_that_is_wanted_at_a_moment_only_later_is_planned_from_then_on() {
    use trial::PlanWhy::Wanted;
    let mut here = Here::new();
    here.press(&[Key::Knob, Key::Lane(1)], at(1));
    here.look(at(3));
    let ready = |here: &Here, now| here.station.view(now).alerts.len();
    assert_eq!((plans(&mut here), ready(&here, at(3))), (vec![], 1));
    let no = here.station.view(at(3)).trials[0].no;
    let grant = |here: &mut Here, wish, secs| here.station.grant(wish, &mut One(None), at(secs));
    assert!(matches!(grant(&mut here, screens::Wish::Want(no, at(1800)), 4), wishes::Granted::Yes));
    assert_eq!(plans(&mut here), [(Wanted, Some(at(1800)))]);
    here.look(at(5));
    assert_eq!(ready(&here, at(5)), 0, "the call is taken back");
    assert_eq!(here.station.shown.moved, None, "there is no older plan that could be kept");
    assert!(header(&here.station.screen(at(5))).starts_with("lands"));
    here.station.act(Act::GiveUp(no), at(6)).unwrap();
    assert!(matches!(grant(&mut here, screens::Wish::Want(no, at(1900)), 7), wishes::Granted::No));
    assert!(matches!(grant(&mut here, screens::Wish::AskPlan(no, None), 7), wishes::Granted::No));
}

#[tokio::test]
async fn what_became_too_soon_while_the_check_stood_open_says_the_earliest_moment() {
    let mut here = Here::new();
    here.press(&[Key::Knob, Key::Turn(2), Key::Knob, Key::Turn(1), Key::Knob], at(1));
    here.look(at(1));
    let ready_at = |here: &Here| here.station.shown.check.clone().unwrap().ready_at;
    assert_eq!(ready_at(&here).plan.map(|plan| plan.late), Some(Span::ZERO));
    for second in 2..=240 {
        here.look(at(second));
    }
    let late = ready_at(&here);
    assert_eq!(late.wanted, Some(at(301)));
    let plan = late.plan.unwrap();
    assert!(plan.late > Span::from_mins(2) && plan.lands >= at(470), "{plan:?}");
    // another look at the check begins anew
    here.press(&[Key::Turn(9), Key::Knob, Key::Knob], at(241));
    here.look(at(241));
    assert_eq!(ready_at(&here), screens::ReadyAtView::default());
}
