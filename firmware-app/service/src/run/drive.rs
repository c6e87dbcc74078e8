//! The loop: time, keys and readings in, facts and pictures out.
//!
//! It runs in real time with the kernel's timer, at a multiple of it, or jumps from one moment to the next where nobody
//! watches. Whatever the pace, what is due is taken in the order of its moments and with them, so a simulated cook comes
//! out the same at any speed.

use std::{
    collections::{BTreeMap, BTreeSet, VecDeque},
    num::NonZeroU32,
    sync::{Arc, PoisonError},
};

use hardware::KeyEvent;
use quantities::{Reading, RunTime, Span};
use ratatui::backend::CrosstermBackend;
use recipe_model::ProbeName;
use run_engine::{Away, ProbeDevice, TrialNo};
use screens::DeskKey;
use tokio::{
    signal::unix::{Signal, SignalKind, signal},
    sync::mpsc,
};
use trial::TrialId;

use super::{
    devices::{RealProbes, Wanted},
    fingers::Fingers,
    offer::Offer,
    resume::Found,
    sim::{Coming, Sim},
    station::{Chosen, OpenError, ProbeMap, Station},
    tell,
};
use crate::{
    clock::{BootId, Clock, Stamp, WallWatch},
    frames::FrameFolder,
    picture::Rgb888,
    terminal::{Keyboard, LampLine, Live, Press, Scene},
    wake::Wake,
};

/// How time passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// As it does.
    Real,
    /// So many times as fast.
    Times(NonZeroU32),
    /// From one moment to the next.
    Jump,
}

/// Where probes and perhaps the cook come from.
pub enum World {
    /// A simulated kitchen.
    Sim(Box<Sim>),
    /// Real probes.
    Devices {
        /// The probes.
        probes: RealProbes,
        /// What they said.
        readings: mpsc::Receiver<(ProbeDevice, Reading)>,
        /// Which ones to read.
        wanted: Wanted,
    },
}

/// When the loop ends by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Until {
    /// When no trial is open any more.
    AllClosed,
    /// When told to.
    Told,
}

/// Who watches.
#[derive(Default)]
pub struct Watchers {
    /// A terminal with the panel.
    pub live: Option<Live<CrosstermBackend<std::io::Stdout>>>,
    /// Keys of that terminal.
    pub terminal_keys: Option<mpsc::Receiver<crossterm::event::Event>>,
    /// Lines of plain words.
    pub plain: Option<Box<dyn std::io::Write>>,
    /// Pictures.
    pub frames: Option<FrameFolder>,
    /// The service manager is told how things are.
    pub notify: bool,
}

/// How a run of the loop ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// All trials are closed.
    AllClosed,
    /// A person or the system asked for it.
    Told,
}

/// The loop and all it holds.
pub struct Driver {
    /// The station.
    pub station: Station,
    world: World,
    pace: Pace,
    until: Until,
    watchers: Watchers,
    keys: Option<mpsc::Receiver<KeyEvent>>,
    clock: Arc<dyn Clock>,
    base: (u64, RunTime),
    sim_wall: i64,
    now: RunTime,
    fingers: Fingers,
    keyboard: Keyboard,
    wall: WallWatch,
    last_sound: String,
    /// Lines of facts that are not known to be durable yet.
    lines: VecDeque<String>,
    last_drawn_ms: u64,
    opened: BTreeMap<TrialNo, RunTime>,
    wrote_down: bool,
    /// What the panel offers while no trial is open.
    offer: Option<Offer>,
    /// When the offer was looked at last, in boot time.
    offered_ms: u64,
    /// The thread that reads the probes has ended.
    probes_ended: bool,
    /// Since when, in boot time, the end of the last trial stands in a terminal.
    saved_since: Option<u64>,
    /// A picture was left out because one was drawn just before.
    undrawn: bool,
    quit: bool,
}

/// A picture is not drawn more often than this in a terminal.
const DRAW_EVERY_MS: u64 = 60;
/// How long the saved screen stands where nobody at the terminal presses the keys.
const SAVED_STANDS_MS: u64 = 5_000;
/// A press this soon after the end was not meant for the saved screen.
const SAVED_UNSEEN_MS: u64 = 500;
/// Files of recipes are not looked at more often than this.
const OFFER_EVERY_MS: u64 = 1_000;
/// Half a period of the fast flash.
const FLASH: u64 = 250;
/// Stands below the saved screen.
const SAVED_HELP: &str = "saved: any key leaves, h opens the trial again";
/// The wall clock was set if it moved by more than this against boot time.
const WALL_JUMP: Span = Span::from_secs(2);

impl Driver {
    /// A loop that begins at `from` on the clock of the run.
    #[allow(clippy::too_many_arguments, reason = "called once, with one value of each type")]
    pub fn new(
        station: Station,
        world: World,
        pace: Pace,
        until: Until,
        watchers: Watchers,
        keys: Option<mpsc::Receiver<KeyEvent>>,
        clock: Arc<dyn Clock>,
        from: RunTime,
    ) -> Self {
        let stamp = clock.stamp();
        Self {
            station,
            world,
            pace,
            until,
            watchers,
            keys,
            base: (stamp.boot_ms, from),
            sim_wall: stamp.wall.unwrap_or(0),
            clock,
            now: from,
            fingers: Fingers::default(),
            keyboard: Keyboard::default(),
            wall: WallWatch::new(WALL_JUMP),
            last_sound: String::new(),
            lines: VecDeque::new(),
            last_drawn_ms: 0,
            opened: BTreeMap::new(),
            wrote_down: false,
            offer: None,
            offered_ms: 0,
            probes_ended: false,
            saved_since: None,
            undrawn: false,
            quit: false,
        }
    }

    /// Lets the panel offer recipes; changes to their files are seen while no trial is open.
    pub fn offer(&mut self, mut offer: Offer) {
        offer.renew(&mut self.station);
        self.offer = Some(offer);
    }

    /// The devices for these probes.
    pub fn probes_for(&mut self, wanted: &BTreeSet<ProbeName>) -> BTreeMap<ProbeName, ProbeDevice> {
        self.world.probe_map().devices(wanted)
    }

    /// Opens a trial at this moment.
    pub fn open(&mut self, chosen: Chosen) -> Result<TrialId, OpenError> {
        let stamp = self.stamp();
        let offset = zone_offset(&stamp);
        self.station.set_stamp(stamp, self.now, offset);
        let no = self.station.open_trial(chosen, self.now)?;
        self.follow();
        Ok(self.station.trial_id(no).expect("it was opened just now").clone())
    }

    /// Sets where the clock of the run stands, before it runs.
    pub fn set_now(&mut self, now: RunTime) {
        self.base = (self.clock.boot_ms(), now);
        self.now = now;
    }

    /// Takes a trial up again.
    pub fn take_up(&mut self, found: Found, away: Away, now: RunTime) -> Result<TrialId, String> {
        let stamp = self.stamp();
        let offset = zone_offset(&stamp);
        self.station.set_stamp(stamp, now, offset);
        let mut probes = self.world.probe_map();
        let trial = found.take_up(&mut self.station, &mut *probes, away, now)?;
        drop(probes);
        for trial in self.station.view(now).trials {
            self.opened.insert(trial.no, trial.opened);
        }
        self.follow();
        Ok(trial)
    }

    /// Whether the kitchen is a simulated one.
    pub fn is_simulated(&self) -> bool {
        matches!(self.world, World::Sim(_))
    }

    /// Runs until it is over; inside the runtime only.
    pub async fn run(&mut self) -> std::io::Result<Ended> {
        let mut wake = Wake::new()?;
        let mut end = [signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?];
        self.notify(&[sd_notify::NotifyState::Ready]);
        loop {
            self.catch_up();
            self.renew_offer();
            self.show()?;
            self.notify(&[sd_notify::NotifyState::Watchdog]);
            let over = self.until == Until::AllClosed && self.is_over();
            if over && (self.quit || self.was_seen()) {
                return Ok(self.stop(Ended::AllClosed).await);
            }
            if self.quit {
                return Ok(self.stop(Ended::Told).await);
            }
            if !over {
                // reopened from the saved screen
                self.saved_since = None;
            }
            let next = self.next();
            match self.pace {
                Pace::Jump => match next {
                    Some(next) => {
                        self.station.book_settled().await;
                        self.now = self.now.max(next);
                        if told(&mut end) {
                            return Ok(self.stop(Ended::Told).await);
                        }
                    }
                    // nothing can happen any more: a simulated run whose cook presses nothing
                    None => return Ok(self.stop(Ended::Told).await),
                },
                Pace::Real | Pace::Times(_) => self.sleep(&mut wake, &mut end, next).await?,
            }
        }
    }

    async fn sleep(&mut self, wake: &mut Wake, end: &mut [Signal; 2], next: Option<RunTime>) -> std::io::Result<()> {
        let present = self.clock.boot_ms();
        let mut boot_ms = next.map_or(u64::MAX / 2, |next| self.boot_of(next)).min(present + 10_000);
        if self.undrawn {
            boot_ms = boot_ms.min(self.last_drawn_ms + DRAW_EVERY_MS);
        }
        if let Some(since) = self.saved_since.filter(|_| self.presses_by_itself()) {
            boot_ms = boot_ms.min((since + SAVED_STANDS_MS).max(present + 1));
        }
        let [interrupt, terminate] = end;
        let readings = match &mut self.world {
            World::Devices { readings, .. } if !self.probes_ended => Some(readings),
            World::Devices { .. } | World::Sim(_) => None,
        };
        tokio::select! {
            biased;
            _ = interrupt.recv() => self.quit = true,
            _ = terminate.recv() => self.quit = true,
            event = next_of(self.watchers.terminal_keys.as_mut()) => self.terminal_event(event),
            event = next_of(self.keys.as_mut()) => self.key_event(event),
            reading = next_of(readings) => match reading {
                Some((device, reading)) => {
                    self.advance();
                    self.station.reading(&device, reading, self.now);
                    self.follow();
                }
                None => {
                    // the run goes on by time and sign
                    tracing::error!("no probes: the thread that reads the probes has ended: restart the station");
                    self.probes_ended = true;
                }
            },
            () = self.station.book_answered() => {}
            woken = wake.until(boot_ms) => woken?,
        }
        Ok(())
    }

    fn terminal_event(&mut self, event: Option<crossterm::event::Event>) {
        let Some(event) = event else {
            self.watchers.terminal_keys = None;
            return;
        };
        self.advance();
        let key = match self.keyboard.read(&event) {
            Some(Press::Quit) => {
                self.quit = true;
                return;
            }
            Some(Press::Lane(lane)) => DeskKey::Lane(lane),
            Some(Press::Pedal) => DeskKey::Pedal,
            Some(Press::Knob) => DeskKey::Knob,
            Some(Press::KnobHold) => DeskKey::KnobHold,
            Some(Press::Turn(by)) => DeskKey::Turn(by),
            // where all is saved there is nothing to ask, and a key without a meaning leaves too
            None if self.saved_since.is_some() && event.is_key_press() => {
                self.quit = true;
                return;
            }
            None => return,
        };
        // the saved screen stays until a key, but for the one that opens the trial again
        if let Some(since) = self.saved_since
            && key != DeskKey::KnobHold
        {
            // not by the press that was meant for the last step
            self.quit = self.clock.boot_ms() >= since + SAVED_UNSEEN_MS;
            return;
        }
        self.key(key);
    }

    fn key_event(&mut self, event: Option<KeyEvent>) {
        let Some(event) = event else {
            self.keys = None;
            return;
        };
        self.advance();
        if let Some(key) = self.fingers.take(event, self.now) {
            self.key(key);
        }
    }

    fn key(&mut self, key: DeskKey) {
        let now = self.now;
        match &mut self.world {
            World::Sim(sim) => self.station.key(key, &mut sim.probe_map(), now),
            World::Devices { probes, .. } => self.station.key(key, probes, now),
        }
        self.follow();
    }

    /// Moves to the present moment, taking what was due on the way.
    fn advance(&mut self) {
        self.catch_up();
    }

    /// Takes everything that is due by the present moment, each thing at its own.
    fn catch_up(&mut self) {
        let present = self.present();
        while let Some(next) = self.next_event().filter(|next| *next <= present) {
            self.moment(next.max(self.now));
        }
        if self.pace != Pace::Jump {
            self.moment(present.max(self.now));
        }
    }

    /// One moment: time, then the world, then what follows from it.
    fn moment(&mut self, now: RunTime) {
        self.now = now;
        let stamp = self.stamp();
        if matches!(self.world, World::Devices { .. })
            && let Some(by) = self.wall.jump(&stamp)
        {
            self.station.clock_stepped(by, now);
        }
        let offset = zone_offset(&stamp);
        self.station.set_stamp(stamp, now, offset);
        self.station.tick(now);
        if let Some(key) = self.fingers.due(now) {
            self.key(key);
        }
        self.follow();
        let running = self.station.is_running();
        let due = match &mut self.world {
            World::Sim(sim) => sim.due(now, running),
            World::Devices { .. } => Vec::new(),
        };
        for coming in due {
            self.take(coming);
        }
        if let World::Sim(sim) = &mut self.world {
            sim.look(&self.station.view(now));
        }
        self.write_down();
    }

    fn take(&mut self, coming: Coming) {
        let now = self.now;
        match coming {
            Coming::Key(event) => {
                if let Some(key) = self.fingers.take(event, now) {
                    self.key(key);
                }
            }
            Coming::Say(act) => {
                if let Err(why) = self.station.act(act, now) {
                    tracing::debug!("the simulated cook was refused: {why}");
                }
            }
            Coming::Reading => {
                let devices = self.station.devices();
                if let World::Sim(sim) = &mut self.world {
                    for (device, reading) in sim.read(&devices) {
                        self.station.reading(&device, reading, now);
                    }
                }
            }
        }
        self.follow();
    }

    /// Tells the facts that were made to whoever follows the run.
    fn follow(&mut self) {
        while let Some((no, entry)) = self.station.next_told() {
            if matches!(entry.fact, trial::Fact::TrialOpened(_)) {
                self.opened.insert(no, entry.at);
            }
            let opened = self.opened.get(&no).copied().unwrap_or_default();
            if self.watchers.plain.is_some() {
                self.lines.extend(tell::line(&entry, opened));
            }
            if let World::Sim(sim) = &mut self.world {
                sim.follow(no, &entry, &self.station);
            }
        }
        while let Some(sound) = self.station.next_sound() {
            tracing::debug!("sound: {sound}");
            self.last_sound = sound.to_string();
        }
        if let World::Devices { wanted, .. } = &self.world {
            *wanted.lock().unwrap_or_else(PoisonError::into_inner) = self.station.devices();
        }
    }

    /// Looks now and then, while nothing cooks, whether the recipes are as they were.
    fn renew_offer(&mut self) {
        let boot_ms = self.clock.boot_ms();
        if let Some(offer) = &mut self.offer
            && self.pace != Pace::Jump
            && !self.station.is_running()
            && boot_ms >= self.offered_ms + OFFER_EVERY_MS
        {
            self.offered_ms = boot_ms;
            offer.renew(&mut self.station);
        }
    }

    fn is_over(&self) -> bool {
        self.station.has_trial() && !self.station.is_running()
    }

    /// Lets a simulated cook write down what the record sheet asks, at the moment at which the last trial was closed.
    fn write_down(&mut self) {
        if self.until == Until::Told || self.wrote_down || !self.is_over() {
            return;
        }
        let World::Sim(sim) = &mut self.world else { return };
        self.wrote_down = true;
        for act in sim.write_down(TrialNo(0), &self.station) {
            if let Err(why) = self.station.act(act, self.now) {
                tracing::debug!("not written down: {why}");
            }
        }
        self.follow();
    }

    /// Whether the end was seen: at once where no terminal shows it, after a while where the cook is simulated; a person
    /// at the terminal says so by a key.
    fn was_seen(&mut self) -> bool {
        if self.watchers.live.is_none() || self.watchers.terminal_keys.is_none() || self.pace == Pace::Jump {
            return true;
        }
        let boot_ms = self.clock.boot_ms();
        let since = *self.saved_since.get_or_insert(boot_ms);
        self.presses_by_itself() && boot_ms >= since + SAVED_STANDS_MS
    }

    /// Whether a simulated cook presses the keys.
    fn presses_by_itself(&self) -> bool {
        match &self.world {
            World::Sim(sim) => sim.cook_presses(),
            World::Devices { .. } => false,
        }
    }

    async fn stop(&mut self, ended: Ended) -> Ended {
        self.notify(&[sd_notify::NotifyState::Stopping]);
        self.station.lay_down(self.now);
        self.station.book_settled().await;
        // the last picture, and the terminal given back
        let _ = self.show();
        self.watchers.live = None;
        ended
    }

    fn show(&mut self) -> std::io::Result<()> {
        if let Some(plain) = &mut self.watchers.plain
            && self.station.is_durable()
        {
            for line in self.lines.drain(..) {
                // a reader who went away does not stop the food
                let _ = writeln!(plain, "{line}");
            }
        }
        let live = self.watchers.live.is_some();
        if !live && self.watchers.frames.is_none() {
            return Ok(());
        }
        let boot_ms = self.clock.boot_ms();
        if live && self.pace != Pace::Jump && boot_ms < self.last_drawn_ms + DRAW_EVERY_MS && !self.quit {
            self.undrawn = true;
            return Ok(());
        }
        self.undrawn = false;
        self.last_drawn_ms = boot_ms;
        let flash = !live || (boot_ms / FLASH).is_multiple_of(2);
        let lamps = self.station.lamps(self.now);
        let names: Vec<String> = self.station.view(self.now).lanes.into_iter().map(|lane| lane.name).collect();
        let notice =
            self.keyboard.question().map(ToOwned::to_owned).or_else(|| self.station.trouble().map(ToOwned::to_owned));
        let notice = notice.or_else(|| self.saved_since.map(|_| SAVED_HELP.to_owned()));
        let now = self.now;
        let frame = self.station.draw(flash, now).map(screens::Frame::to_rgb888);
        if let (Some(bytes), Some(frames)) = (&frame, &mut self.watchers.frames)
            && let Ok(picture) = Rgb888::new(screens::WIDTH as usize, screens::HEIGHT as usize, bytes)
        {
            // a picture is not worth a run
            if let Err(why) = frames.keep(&picture, now.since_start()) {
                let cause = std::error::Error::source(&why).map_or_else(String::new, |cause| format!(": {cause}"));
                tracing::error!("{why}{cause}; no more pictures are kept");
                self.watchers.frames = None;
            }
        }
        if let (Some(bytes), Some(live)) = (&frame, &mut self.watchers.live)
            && let Ok(picture) = Rgb888::new(screens::WIDTH as usize, screens::HEIGHT as usize, bytes)
        {
            let states: Vec<(String, Option<[u8; 3]>)> =
                lamps.iter().map(|lamp| (lamp.to_string(), colour_of(*lamp))).collect();
            let lines: Vec<LampLine<'_>> =
                names.iter().zip(&states).map(|(name, (state, lit))| LampLine { name, state, lit: *lit }).collect();
            let scene = Scene { picture: &picture, lamps: &lines, sound: &self.last_sound, notice: notice.as_deref() };
            live.draw(&scene)?;
        }
        Ok(())
    }

    /// When something happens that has to be taken at its moment.
    fn next_event(&self) -> Option<RunTime> {
        let running = self.station.is_running();
        let sim = match &self.world {
            World::Sim(sim) => sim.next_deadline(running),
            World::Devices { .. } => None,
        };
        [self.station.engine_deadline(), sim, self.fingers.next_deadline()].into_iter().flatten().min()
    }

    /// When to wake: for an event, or for the picture.
    fn next(&self) -> Option<RunTime> {
        let event = self.next_event();
        if self.pace == Pace::Jump {
            return event;
        }
        let watched = self.watchers.live.is_some() || self.watchers.frames.is_some();
        let tick = (watched && self.station.is_running()).then(|| self.next_tick());
        [event, tick, self.station.next_deadline()].into_iter().flatten().map(|at| at.max(self.now)).min()
    }

    /// The next second, or the next flash while an alert sounds.
    fn next_tick(&self) -> RunTime {
        let sounding = self.watchers.live.is_some() && !self.station.view(self.now).alerts.is_empty();
        let every = if sounding && self.pace == Pace::Real { FLASH } else { 1000 };
        RunTime::from_millis((self.now.millis() / every + 1) * every)
    }

    fn present(&self) -> RunTime {
        let passed = self.clock.boot_ms().saturating_sub(self.base.0);
        match self.pace {
            Pace::Real => self.base.1 + Span::from_millis(passed),
            Pace::Times(times) => self.base.1 + Span::from_millis(passed) * u64::from(times.get()),
            Pace::Jump => self.now,
        }
    }

    /// The boot time at which a moment of the run comes, rounded up: never early.
    fn boot_of(&self, at: RunTime) -> u64 {
        let span = at.since(self.base.1).millis();
        match self.pace {
            Pace::Times(times) => self.base.0 + span.div_ceil(u64::from(times.get())),
            Pace::Real | Pace::Jump => self.base.0 + span,
        }
    }

    /// The clocks of this moment; in a simulated kitchen they go with the run.
    fn stamp(&self) -> Stamp {
        match &self.world {
            World::Devices { .. } => self.clock.stamp(),
            World::Sim(_) => {
                let since = self.now.since(self.base.1).millis();
                Stamp {
                    boot: BootId::new("simulated"),
                    boot_ms: self.now.millis(),
                    wall: Some(self.sim_wall.saturating_add_unsigned(since)),
                    synced: true,
                }
            }
        }
    }

    fn notify(&self, states: &[sd_notify::NotifyState<'_>]) {
        if self.watchers.notify
            && let Err(error) = sd_notify::notify(states)
        {
            tracing::debug!("the service manager was not told: {error}");
        }
    }
}

/// The probes of the world a driver runs in.
impl World {
    /// Which device stands for which probe.
    pub fn probe_map(&mut self) -> Box<dyn ProbeMap + '_> {
        match self {
            Self::Sim(sim) => Box::new(sim.probe_map()),
            Self::Devices { probes, .. } => Box::new(Borrowed(probes)),
        }
    }
}

struct Borrowed<'a>(&'a mut RealProbes);

impl ProbeMap for Borrowed<'_> {
    fn devices(&mut self, wanted: &BTreeSet<ProbeName>) -> BTreeMap<ProbeName, ProbeDevice> {
        self.0.devices(wanted)
    }
}

/// The next of a channel; never, if there is none.
async fn next_of<T>(from: Option<&mut mpsc::Receiver<T>>) -> Option<T> {
    match from {
        Some(from) => from.recv().await,
        None => std::future::pending().await,
    }
}

fn told(end: &mut [Signal; 2]) -> bool {
    let waker = std::task::Waker::noop();
    let mut context = std::task::Context::from_waker(waker);
    end.iter_mut().any(|signal| signal.poll_recv(&mut context).is_ready())
}

fn zone_offset(stamp: &Stamp) -> i32 {
    let Some(wall) = stamp.wall else { return 0 };
    let Ok(time) = jiff::Timestamp::from_millisecond(wall) else { return 0 };
    jiff::tz::TimeZone::system().to_offset(time).seconds()
}

fn colour_of(lamp: hardware::LampState) -> Option<[u8; 3]> {
    match lamp {
        hardware::LampState::Off => None,
        hardware::LampState::Lit { colour, .. } => Some(match colour {
            hardware::LampColour::White => [220, 220, 220],
            hardware::LampColour::Yellow => [240, 228, 66],
            hardware::LampColour::Red => [213, 94, 0],
        }),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::sync::Mutex;

    use super::*;
    use crate::{clock::SystemClock, library::Library, run::book::Book};

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
        driver.show().unwrap();
        assert!(driver.watchers.frames.is_none());
    }
}
