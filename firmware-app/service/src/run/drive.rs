//! The loop: time, keys and readings in, facts and pictures out.
//!
//! It runs in real time with the kernel's timer, at a multiple of it, or jumps from one moment to the next where nobody
//! watches. Whatever the pace, what is due is taken in the order of its moments and with them, so a simulated cook comes
//! out the same at any speed.

mod keys;
mod watched;

use std::{
    collections::{BTreeMap, BTreeSet, VecDeque},
    num::NonZeroU32,
    sync::{Arc, PoisonError},
};

use hardware::{Contacts, Key};
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

use self::watched::Below;
use super::{
    channels::Channel,
    devices::{KeyNews, RealProbes, Wanted},
    offer::Offer,
    resume::Found,
    signals::Signals,
    sim::{Coming, Sim},
    station::{Chosen, NamedProbe, OpenError, ProbeMap, Station},
    tell,
};
use crate::{
    clock::{BootId, Clock, Stamp, WallWatch},
    config::PanelKind,
    frames::FrameFolder,
    panel::Panel,
    terminal::{Keyboard, Live},
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

/// Where keys come from besides the terminal, and the rules by which a contact counts.
pub struct KeyLine {
    /// What the source tells.
    pub news: mpsc::Receiver<KeyNews>,
    /// What counts as a press there.
    pub contacts: Contacts,
}

/// The loop and all it holds.
pub struct Driver {
    /// The station.
    pub station: Station,
    world: World,
    pace: Pace,
    until: Until,
    watchers: Watchers,
    keys: Option<mpsc::Receiver<KeyNews>>,
    contacts: Contacts,
    /// How the source of the keys stands.
    key_channel: Channel,
    /// The knob is down: a bar fills on the panel.
    knob_down: bool,
    /// Keys that were down when their source was opened, and still are.
    found_down: Vec<Key>,
    signals: Signals,
    panel: Panel,
    /// The panel could not be drawn; it is tried again.
    panel_lost: bool,
    clock: Arc<dyn Clock>,
    base: (u64, RunTime),
    sim_wall: i64,
    now: RunTime,
    keyboard: Keyboard,
    wall: WallWatch,
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
    /// A picture was drawn and not shown yet.
    unsent: bool,
    /// What stands below the picture in the terminal.
    shown_below: Option<Below>,
    quit: bool,
}

/// A picture is not drawn more often than this in a terminal.
const DRAW_EVERY_MS: u64 = 60;
/// How long the saved screen stands where nobody at the terminal presses the keys.
const SAVED_STANDS_MS: u64 = 5_000;
/// How long a thing to note stands there before a simulated cook skips it.
const SKIPPED_AFTER_MS: u64 = 1_000;
/// Files of recipes are not looked at more often than this.
const OFFER_EVERY_MS: u64 = 1_000;
/// The bar of a held knob is drawn this often.
const BAR_EVERY: u64 = 100;
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
        keys: Option<KeyLine>,
        clock: Arc<dyn Clock>,
        from: RunTime,
    ) -> Self {
        let stamp = clock.stamp();
        let (keys, contacts) = keys.map(|line| (line.news, line.contacts)).unzip();
        let pressed = watchers.terminal_keys.is_some() || matches!(world, World::Sim(_));
        Self {
            station,
            world,
            pace,
            until,
            watchers,
            key_channel: if pressed || keys.is_some() { Channel::Works } else { Channel::NotSetUp },
            keys,
            contacts: contacts.unwrap_or_else(Contacts::settled),
            knob_down: false,
            found_down: Vec::new(),
            signals: Signals::default(),
            panel: Panel::new(PanelKind::Colour, from),
            panel_lost: false,
            base: (stamp.boot_ms, from),
            sim_wall: stamp.wall.unwrap_or(0),
            clock,
            now: from,
            keyboard: Keyboard::default(),
            wall: WallWatch::new(WALL_JUMP),
            lines: VecDeque::new(),
            last_drawn_ms: 0,
            opened: BTreeMap::new(),
            wrote_down: false,
            offer: None,
            offered_ms: 0,
            probes_ended: false,
            saved_since: None,
            undrawn: false,
            unsent: false,
            shown_below: None,
            quit: false,
        }
    }

    /// Lets it sound and light through these.
    pub fn set_signals(&mut self, signals: Signals) {
        self.signals = signals;
    }

    /// Draws for a panel of this kind.
    pub fn set_panel(&mut self, kind: PanelKind) {
        self.panel = Panel::new(kind, self.now);
    }

    /// Begins the self test of lamps and sounds, while keys and panel are looked at.
    pub fn begin_self_test(&mut self) {
        self.tell_channels();
        self.station.begin_self_test(self.now);
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

    /// The next moment at which the clock on the wall says so; none while its time is not known.
    pub fn next_at(&self, since_midnight: Span) -> Option<RunTime> {
        let stamp = self.stamp();
        let offset = i64::from(zone_offset(&stamp));
        let day = Span::from_mins(24 * 60);
        let of_day = (stamp.wall? + offset * 1000).rem_euclid(i64::try_from(day.millis()).ok()?);
        let of_day = Span::from_millis(of_day.unsigned_abs());
        let ahead = (since_midnight + day).saturating_sub(of_day);
        Some(self.now + if ahead >= day { ahead.saturating_sub(day) } else { ahead })
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
            self.signal();
            self.show();
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
            let stands = if self.station.asks_outcome(self.now) { SKIPPED_AFTER_MS } else { SAVED_STANDS_MS };
            boot_ms = boot_ms.min((since + stands).max(present + 1));
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
            news = next_of(self.keys.as_mut()) => self.key_news(news),
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

    /// Moves to the present moment, taking what was due on the way.
    fn advance(&mut self) {
        self.catch_up();
    }

    /// Takes everything that is due by the present moment, each thing at its own.
    fn catch_up(&mut self) {
        self.hear();
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
        self.press_what_counts();
        self.follow();
        let running = self.reads();
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
                self.contacts.take(event, now);
                self.press_what_counts();
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
            self.signals.offer(&sound, self.now);
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
        // a person at the keys is asked on the panel
        let World::Sim(sim) = &mut self.world else { return };
        if !sim.cook_presses() {
            return;
        }
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
        if !self.presses_by_itself() {
            return false;
        }
        // a simulated cook has noted what it could, and skips the rest
        if self.station.asks_outcome(self.now) {
            if boot_ms >= since + SKIPPED_AFTER_MS {
                self.key(DeskKey::Knob);
                self.saved_since = Some(boot_ms);
            }
            return false;
        }
        boot_ms >= since + SAVED_STANDS_MS
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
        self.show();
        self.watchers.live = None;
        ended
    }

    /// Whether any probe is to be read.
    fn reads(&self) -> bool {
        self.station.is_running() || !self.station.devices().is_empty()
    }

    /// When something happens that has to be taken at its moment.
    fn next_event(&self) -> Option<RunTime> {
        let running = self.reads();
        let sim = match &self.world {
            World::Sim(sim) => sim.next_deadline(running),
            World::Devices { .. } => None,
        };
        [self.station.engine_deadline(), sim, self.contacts.next_deadline()].into_iter().flatten().min()
    }

    /// When to wake: for an event, or for the picture.
    fn next(&self) -> Option<RunTime> {
        let event = self.next_event();
        if self.pace == Pace::Jump {
            return event;
        }
        let watched = self.watchers.live.is_some() || self.watchers.frames.is_some();
        let tick = (watched && self.reads()).then(|| self.next_tick());
        let held = self.knob_down && self.watchers.live.is_some();
        let bar = held.then(|| RunTime::from_millis((self.now.millis() / BAR_EVERY + 1) * BAR_EVERY));
        let spared = self.panel.next_deadline(self.now).filter(|_| watched);
        [event, tick, bar, spared, self.signals.next_deadline(), self.station.next_deadline()]
            .into_iter()
            .flatten()
            .map(|at| at.max(self.now))
            .min()
    }

    /// The next second, or the next flash while an alert sounds.
    fn next_tick(&self) -> RunTime {
        let sounding = self.watchers.live.is_some() && self.station.sounding(self.now).is_some();
        let every = if sounding && self.pace == Pace::Real { self.flash() } else { 1000 };
        RunTime::from_millis((self.now.millis() / every + 1) * every)
    }

    /// The moment of the run at a boot time.
    fn moment_of(&self, boot_ms: u64) -> RunTime {
        let passed = boot_ms.saturating_sub(self.base.0);
        match self.pace {
            Pace::Real => self.base.1 + Span::from_millis(passed),
            Pace::Times(times) => self.base.1 + Span::from_millis(passed) * u64::from(times.get()),
            Pace::Jump => self.now,
        }
    }

    fn present(&self) -> RunTime {
        self.moment_of(self.clock.boot_ms())
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
    /// The probes that have a name.
    pub fn named_probes(&mut self) -> Vec<NamedProbe> {
        match self {
            Self::Sim(sim) => sim.probes(),
            Self::Devices { probes, .. } => probes.named(),
        }
    }

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

#[cfg(test)]
mod tests;
