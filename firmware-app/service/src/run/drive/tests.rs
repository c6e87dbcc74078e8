#![allow(clippy::unwrap_used)]
use std::{path::Path, sync::Mutex};

use hardware::{KeyEvent, LampState, LaneKey, RecordingLamps, RecordingSounder};
use quantities::Celsius;

use super::{
    watched::{FLASH_FAST, FLASH_SLOW, NOTING_HELP, SAVED_HELP},
    *,
};
use crate::{
    clock::{ScriptedClock, SystemClock},
    library::Library,
    run::{book::Book, shelf},
};

fn driver(folder: &std::path::Path, watchers: Watchers) -> (Driver, mpsc::Sender<(ProbeDevice, Reading)>) {
    let library = Library::at(folder);
    let book = Book::open(Library::disk(), &library.trials, library.index.clone()).unwrap();
    let clock = Arc::new(SystemClock::new());
    let station = Station::new(book, clock.stamp(), None, None, BTreeSet::new());
    let (to, readings) = mpsc::channel(4);
    let probes = RealProbes::new(std::iter::empty(), folder, folder);
    let wanted = Wanted::new(Mutex::new(BTreeSet::new()));
    let world = World::Devices { probes, readings, wanted };
    let driver = Driver::new(station, world, Pace::Real, Until::Told, watchers, None, clock, RunTime::START);
    (driver, to)
}

#[tokio::test]
async fn a_probe_thread_that_ended_does_not_keep_the_loop_spinning() {
    let home = tempfile::tempdir().unwrap();
    let (mut driver, to) = driver(home.path(), Watchers::default());
    drop(to);
    let mut wake = Wake::new().unwrap();
    let mut end = [signal(SignalKind::interrupt()).unwrap(), signal(SignalKind::terminate()).unwrap()];
    let next = RunTime::START + Span::from_millis(200);
    let mut turns = 0;
    while driver.present() < next {
        driver.sleep(&mut wake, &mut end, Some(next)).await.unwrap();
        turns += 1;
    }
    // once for the loss, once for the moment
    assert!(turns <= 2, "{turns} turns");
}

#[tokio::test]
async fn a_picture_that_cannot_be_written_does_not_end_the_run() {
    let home = tempfile::tempdir().unwrap();
    let frames = FrameFolder::open(&home.path().join("frames")).unwrap();
    let (mut driver, _to) = driver(home.path(), Watchers { frames: Some(frames), ..Watchers::default() });
    std::fs::remove_dir(home.path().join("frames")).unwrap();
    driver.show();
    assert!(driver.watchers.frames.is_none());
}

const SOUP: &str = include_str!("../../../../../recipes/library/soup-reheat.toml");

/// A driver on a clock that the test moves, with keys whose contacts bounce.
struct Moved {
    driver: Driver,
    clock: ScriptedClock,
    home: tempfile::TempDir,
    _readings: mpsc::Sender<(ProbeDevice, Reading)>,
}

impl Moved {
    fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        let clock = ScriptedClock::at(SystemClock::new().stamp());
        let library = Library::at(home.path());
        let book = Book::open(Library::disk(), &library.trials, library.index.clone()).unwrap();
        let station = Station::new(book, clock.stamp(), None, None, BTreeSet::new());
        let (to, readings) = mpsc::channel(4);
        let probes = RealProbes::new(std::iter::empty(), home.path(), home.path());
        let world = World::Devices { probes, readings, wanted: Wanted::new(Mutex::new(BTreeSet::new())) };
        let (_, news) = mpsc::channel(1);
        let keys = KeyLine { news, contacts: Contacts::new() };
        let shared = Arc::new(clock.clone());
        let driver = Driver::new(
            station,
            world,
            Pace::Real,
            Until::Told,
            Watchers::default(),
            Some(keys),
            shared,
            RunTime::START,
        );
        Self { driver, clock, home, _readings: to }
    }

    fn pass(&mut self, ms: u64) {
        self.clock.advance(Span::from_millis(ms));
        self.driver.catch_up();
        self.driver.signal();
    }

    fn contact(&mut self, event: KeyEvent) {
        let now = self.clock.boot_ms();
        self.driver.key_news(Some(KeyNews::Event(now, event)));
    }

    fn cook(&mut self) -> TrialId {
        let shelved = shelf::parse(Path::new("soup.toml"), SOUP.into()).unwrap();
        let core = ProbeDevice("made-up".into());
        let probes = shelf::probes_of(&shelved.recipe.base).into_iter().map(|name| (name, core.clone())).collect();
        self.driver.open(Chosen { shelved, variant: None, probes, left_open: Vec::new(), wanted: None }).unwrap()
    }

    fn begun(&self) -> usize {
        let view = self.driver.station.view(self.driver.now);
        let stages = view.lanes.iter().flat_map(|lane| lane.front.iter().chain(&lane.others));
        stages.filter(|stage| stage.began.is_some()).count()
    }
}

fn lane(number: u8) -> Key {
    Key::Lane(LaneKey::new(number).unwrap())
}

/// The lane whose first step can be started.
fn ready(moved: &Moved) -> u8 {
    moved.driver.station.view(moved.driver.now).alerts.first().unwrap().lane
}

#[tokio::test]
async fn a_contact_that_bounces_is_one_press_and_two_at_once_are_none() {
    let mut moved = Moved::new();
    moved.cook();
    moved.pass(1_000);
    let key = lane(ready(&moved));
    let other = lane(if ready(&moved) == 4 { 1 } else { 4 });
    // a palm
    moved.contact(KeyEvent::Down(key));
    moved.pass(40);
    moved.contact(KeyEvent::Down(other));
    moved.pass(500);
    moved.contact(KeyEvent::Up(key));
    moved.contact(KeyEvent::Up(other));
    moved.pass(500);
    assert_eq!(moved.begun(), 0);
    for _ in 0..4 {
        moved.contact(KeyEvent::Down(key));
        moved.pass(5);
        moved.contact(KeyEvent::Up(key));
        moved.pass(5);
    }
    moved.contact(KeyEvent::Down(key));
    assert_eq!(moved.begun(), 0);
    moved.pass(90);
    assert_eq!(moved.begun(), 1);
}

#[tokio::test]
async fn keys_that_go_away_let_everything_go_and_are_told() {
    let mut moved = Moved::new();
    moved.contact(KeyEvent::Down(Key::Knob));
    moved.pass(700);
    assert_eq!(moved.driver.contacts.hold_share(moved.driver.now), Some(500));
    moved.driver.key_news(Some(KeyNews::Lost));
    assert_eq!(moved.driver.contacts.hold_share(moved.driver.now), None);
    assert_eq!(moved.driver.key_channel, Channel::Lost);
    moved.driver.key_news(Some(KeyNews::Found(vec![lane(2)])));
    moved.driver.begin_self_test();
    let test = moved.driver.station.screen(moved.driver.now);
    let screens::Screen::Starting(test) = test else { panic!("{test:?}") };
    assert_eq!(test.lines[0].aside.full(), "key 2 stuck", "named at once, not after ten seconds");
    moved.pass(11_000);
    assert_eq!(moved.driver.key_channel, Channel::Works);
    assert_eq!(moved.driver.contacts.stuck().collect::<Vec<_>>(), [lane(2)], "nothing was pressed, and it sticks");
}

#[tokio::test]
async fn a_run_goes_on_without_sound_lamps_and_panel() {
    let mut moved = Moved::new();
    let sounder = RecordingSounder { dead: true, ..RecordingSounder::default() };
    let lamps = RecordingLamps { dead: LaneKey::ALL.to_vec(), ..RecordingLamps::default() };
    moved.driver.set_signals(Signals::new(Some(Box::new(sounder)), Some(Box::new(lamps)), false));
    let trial = moved.cook();
    moved.pass(1_000);
    let number = ready(&moved);
    let at = usize::from(number) - 1;
    // with no sound the lamp would flash fast; the panel does
    let fast = LampState::lit(hardware::LampColour::Yellow, hardware::LampPattern::Fast);
    assert_eq!(moved.driver.station.lamps(moved.driver.now)[at], fast);
    assert_eq!(moved.driver.flash(), FLASH_FAST);
    moved.contact(KeyEvent::Down(lane(number)));
    moved.pass(100);
    moved.contact(KeyEvent::Up(lane(number)));
    for second in 0..60 {
        moved.driver.station.reading(&ProbeDevice("made-up".into()), Ok(Celsius::whole(20 + second)), moved.driver.now);
        moved.pass(1_000);
        moved.driver.show();
    }
    assert_eq!(moved.begun(), 1);
    moved.driver.stop(Ended::Told).await;
    let file = Library::at(moved.home.path()).read(trial.as_str()).unwrap();
    let began = |fact: &trial::Fact| matches!(fact, trial::Fact::StepBegan { .. });
    assert_eq!(file.facts().unwrap().iter().filter(|stamped| began(&stamped.entry.fact)).count(), 1);
    assert!(file.is_sound());
}

#[tokio::test]
async fn the_slow_flash_is_for_what_is_not_urgent() {
    let mut moved = Moved::new();
    moved.cook();
    moved.pass(1_000);
    assert_eq!(moved.driver.station.sounding(moved.driver.now), Some(trial::Priority::Medium));
    assert_eq!(moved.driver.flash(), FLASH_SLOW);
}

#[tokio::test]
async fn what_is_noted_after_the_end_takes_the_keys_and_any_other_key_leaves() {
    use crossterm::event::{Event, KeyCode, KeyEvent as Typed, KeyModifiers};
    let typed = |code| Some(Event::Key(Typed::new(code, KeyModifiers::NONE)));
    let mut moved = Moved::new();
    let toast = shelf::parse(Path::new("toast.toml"), crate::run::station::tests::TOAST.into()).unwrap();
    moved
        .driver
        .open(Chosen { shelved: toast, variant: None, probes: BTreeMap::new(), left_open: vec![], wanted: None })
        .unwrap();
    moved.pass(1_000);
    let at = moved.driver.station.view(moved.driver.now).lanes[0].front.as_ref().unwrap().at;
    moved.driver.station.act(run_engine::Act::Start(at), moved.driver.now).unwrap();
    while moved.driver.station.is_running() {
        moved.pass(1_000);
        let _ = moved.driver.station.act(run_engine::Act::Done(at), moved.driver.now);
    }
    moved.driver.saved_since = Some(moved.clock.boot_ms());
    moved.pass(1_000);
    assert!(moved.driver.station.asks_outcome(moved.driver.now));
    assert_eq!(moved.driver.below().notice.as_deref(), Some(NOTING_HELP));
    moved.driver.terminal_event(typed(KeyCode::Enter));
    assert!(moved.driver.station.asks_outcome(moved.driver.now) && !moved.driver.quit, "the weight was skipped");
    moved.driver.terminal_event(typed(KeyCode::Right));
    moved.driver.terminal_event(typed(KeyCode::Enter));
    assert!(!moved.driver.station.asks_outcome(moved.driver.now) && !moved.driver.quit);
    assert_eq!(moved.driver.below().notice.as_deref(), Some(SAVED_HELP));
    moved.driver.terminal_event(typed(KeyCode::Enter));
    assert!(moved.driver.quit);
}

#[tokio::test]
async fn a_short_press_counts_though_the_loop_was_busy_when_it_came() {
    let mut moved = Moved::new();
    moved.cook();
    moved.pass(1_000);
    let key = lane(ready(&moved));
    let (to, news) = mpsc::channel(8);
    moved.driver.keys = Some(news);
    let pressed = moved.clock.boot_ms() + 10;
    to.try_send(KeyNews::Event(pressed, KeyEvent::Down(key))).unwrap();
    to.try_send(KeyNews::Event(pressed + 70, KeyEvent::Up(key))).unwrap();
    // a picture that takes long, and then the loop as it goes on
    moved.clock.advance(Span::from_millis(200));
    let mut wake = Wake::new().unwrap();
    let mut end = [signal(SignalKind::interrupt()).unwrap(), signal(SignalKind::terminate()).unwrap()];
    for _ in 0..2 {
        moved.driver.catch_up();
        let now = moved.driver.now;
        moved.driver.sleep(&mut wake, &mut end, Some(now)).await.unwrap();
    }
    moved.pass(200);
    assert_eq!(moved.begun(), 1);
}
