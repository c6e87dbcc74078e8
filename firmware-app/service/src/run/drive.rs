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

use hardware::{Contacts, Press as Pressed};
use quantities::{Reading, RunTime, Span};
use ratatui::backend::CrosstermBackend;
use recipe_model::ProbeName;
use run_engine::{Away, ProbeDevice, TrialNo};
use screens::{DeskKey, Phase};
use tokio::{
    signal::unix::{Signal, SignalKind, signal},
    sync::mpsc,
};
use trial::{Priority, TrialId};

use super::{
    channels::{Channel, Channels},
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
/// A press this soon after the end was not meant for the saved screen.
const SAVED_UNSEEN_MS: u64 = 500;
/// Files of recipes are not looked at more often than this.
const OFFER_EVERY_MS: u64 = 1_000;
/// Half a period of the fast flash: of what is urgent, and of all where no sound can be heard.
const FLASH_FAST: u64 = 250;
/// Half a period of the slow flash.
const FLASH_SLOW: u64 = 1_000;
/// The bar of a held knob is drawn this often.
const BAR_EVERY: u64 = 100;
/// Stands below the saved screen.
const SAVED_HELP: &str = "saved: any key leaves, h opens the trial again";
/// Stands below what is noted after a trial.
const NOTING_HELP: &str = "to note: arrows turn, enter goes on or skips, h takes back; any other key leaves";
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

    fn terminal_event(&mut self, event: Option<crossterm::event::Event>) {
        let Some(event) = event else {
            self.watchers.terminal_keys = None;
            return;
        };
        if matches!(event, crossterm::event::Event::Resize(..)) {
            self.unsent = true;
        }
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
        // what is noted after a trial is turned to and pushed; the saved screen stays until a key, but for the one that
        // opens the trial again
        let notes = matches!(key, DeskKey::Knob | DeskKey::Turn(_)) && self.station.asks_outcome(self.now);
        if let Some(since) = self.saved_since
            && key != DeskKey::KnobHold
            && !notes
        {
            // not by the press that was meant for the last step
            self.quit = self.clock.boot_ms() >= since + SAVED_UNSEEN_MS;
            return;
        }
        self.key(key);
    }

    fn key_news(&mut self, news: Option<KeyNews>) {
        let Some(news) = news else {
            self.keys = None;
            return;
        };
        self.advance();
        match news {
            KeyNews::Event(boot_ms, event) => {
                let at = self.moment_of(boot_ms);
                self.contacts.take(event, at);
            }
            KeyNews::Found(down) => {
                self.key_channel = Channel::Works;
                for key in down {
                    self.contacts.found_down(key, self.now);
                }
            }
            KeyNews::Lost => {
                // what a key does cannot be seen any more: nothing is held
                self.contacts.lose();
                self.key_channel = Channel::Lost;
            }
        }
        self.press_what_counts();
    }

    /// Takes the presses that count by this moment.
    fn press_what_counts(&mut self) {
        for press in self.contacts.due(self.now) {
            let key = match press {
                Pressed::Lane(lane) => DeskKey::Lane(lane.number()),
                Pressed::Pedal => DeskKey::Pedal,
                Pressed::Knob => DeskKey::Knob,
                Pressed::KnobHold => DeskKey::KnobHold,
                Pressed::Turn(by) => DeskKey::Turn(by),
                Pressed::KnobTooLong => {
                    self.station.key_not_possible(self.now);
                    continue;
                }
            };
            self.key(key);
        }
        for key in self.contacts.newly_stuck() {
            tracing::warn!("key {key:?} has been down for more than 10 s: something leans on it, or it sticks");
        }
    }

    fn key(&mut self, key: DeskKey) {
        let now = self.now;
        self.panel.used(now);
        match &mut self.world {
            World::Sim(sim) => self.station.key(key, &mut sim.probe_map(), now),
            World::Devices { probes, .. } => self.station.key(key, probes, now),
        }
        self.follow();
    }

    /// Tells the station how the channels to the cook stand.
    fn tell_channels(&mut self) {
        let shown = self.watchers.live.is_some();
        // a terminal shows lamps and sounds as text
        let or_text = |channel| if channel == Channel::NotSetUp && shown { Channel::Works } else { channel };
        let panel = match (shown || self.watchers.frames.is_some(), self.panel_lost) {
            (false, _) => Channel::NotSetUp,
            (true, lost) => Channel::is(!lost),
        };
        self.station.set_channels(Channels {
            sound: or_text(self.signals.sound_channel()),
            lamps: or_text(self.signals.lamp_channel()),
            panel,
            keys: self.key_channel,
            stuck: self.contacts.stuck().collect(),
        });
    }

    /// Makes sounder and lamps do what they should at this moment.
    fn signal(&mut self) {
        // nobody hears or sees a run that jumps
        if self.pace == Pace::Jump {
            return;
        }
        let view = self.station.view(self.now);
        let lamps = self.station.lamps(self.now);
        self.signals.step(&view, lamps, self.station.settings(), self.now);
        self.tell_channels();
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

    fn show(&mut self) {
        if let Some(plain) = &mut self.watchers.plain
            && self.station.is_durable()
        {
            for line in self.lines.drain(..) {
                // a reader who went away does not stop the food
                let _ = writeln!(plain, "{line}");
            }
        }
        let live = self.watchers.live.is_some();
        if !live && self.watchers.frames.is_none() || !self.station.is_durable() {
            return;
        }
        let boot_ms = self.clock.boot_ms();
        if live && self.pace != Pace::Jump && boot_ms < self.last_drawn_ms + DRAW_EVERY_MS && !self.quit {
            self.undrawn = true;
            return;
        }
        self.undrawn = false;
        self.last_drawn_ms = boot_ms;
        let phase = Phase {
            flash: !live || (boot_ms / self.flash()).is_multiple_of(2),
            held: self.contacts.hold_share(self.now).unwrap_or(0),
        };
        let brightness = self.station.settings().brightness;
        let (screen, running) = (self.station.screen(self.now), self.station.is_running());
        if self.panel.draw(screen, phase, brightness, running, self.now).is_some() {
            self.keep_picture();
            self.unsent = true;
        }
        let below = self.below();
        if live && (self.unsent || self.panel_lost || self.shown_below.as_ref() != Some(&below)) {
            self.send_picture(below);
        }
    }

    /// Keeps the picture as a file, where that is asked for.
    fn keep_picture(&mut self) {
        let Some(frames) = &mut self.watchers.frames else { return };
        let large;
        let pixels = match self.panel.enlarged() {
            1 => self.panel.pixels(),
            times => {
                large = self.panel.pixels().enlarged(times);
                &large
            }
        };
        // a picture is not worth a run
        if let Err(why) = frames.keep(pixels, self.now.since_start()) {
            let cause = std::error::Error::source(&why).map_or_else(String::new, |cause| format!(": {cause}"));
            tracing::error!("{why}{cause}; no more pictures are kept");
            self.watchers.frames = None;
        }
    }

    /// What stands below the picture.
    fn below(&mut self) -> Below {
        let help = if self.station.asks_outcome(self.now) { NOTING_HELP } else { SAVED_HELP };
        let own = &self.station.settings().lanes;
        let lanes = self.station.view(self.now).lanes;
        let name = |(lane, own): (run_engine::view::LaneView, &String)| {
            if lane.name.is_empty() { own.clone() } else { lane.name }
        };
        let notice = self.keyboard.question().or_else(|| self.station.trouble());
        Below {
            lamps: self.station.lamps(self.now),
            names: lanes.into_iter().zip(own).map(name).collect(),
            sound: self.signals.last_sound().to_owned(),
            notice: notice.or_else(|| self.saved_since.map(|_| help)).map(ToOwned::to_owned),
        }
    }

    /// Shows the picture in the terminal. One that cannot be drawn is said once and tried again; the run goes on.
    fn send_picture(&mut self, below: Below) {
        let Some(live) = &mut self.watchers.live else { return };
        let states: Vec<(String, Option<[u8; 3]>)> =
            below.lamps.iter().map(|lamp| (lamp.to_string(), colour_of(*lamp))).collect();
        let lines: Vec<LampLine<'_>> =
            below.names.iter().zip(&states).map(|(name, (state, lit))| LampLine { name, state, lit: *lit }).collect();
        let picture = self.panel.pixels();
        let scene = Scene { picture, lamps: &lines, sound: &below.sound, notice: below.notice.as_deref() };
        match live.draw(&scene) {
            Ok(()) => {
                if std::mem::take(&mut self.panel_lost) {
                    tracing::info!("the panel is back");
                }
                self.unsent = false;
                self.shown_below = Some(below);
            }
            Err(why) => {
                if !std::mem::replace(&mut self.panel_lost, true) {
                    tracing::error!("the panel is lost: {why}; sounds and lamps go on");
                }
            }
        }
    }

    /// Half a period of what flashes on the panel.
    fn flash(&self) -> u64 {
        let unheard = self.signals.sound_channel() == Channel::Lost;
        match self.station.sounding(self.now) {
            Some(Priority::High) => FLASH_FAST,
            Some(Priority::Medium | Priority::Low) if unheard => FLASH_FAST,
            Some(Priority::Medium | Priority::Low) | None => FLASH_SLOW,
        }
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
        let held = self.contacts.hold_share(self.now).filter(|_| self.watchers.live.is_some());
        let bar = held.map(|_| RunTime::from_millis((self.now.millis() / BAR_EVERY + 1) * BAR_EVERY));
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

/// The lines below the picture in a terminal.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Below {
    lamps: [hardware::LampState; 4],
    names: Vec<String>,
    sound: String,
    notice: Option<String>,
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
    use std::{path::Path, sync::Mutex};

    use hardware::{Key, KeyEvent, LampState, LaneKey, RecordingLamps, RecordingSounder};
    use quantities::Celsius;

    use super::*;
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

    const SOUP: &str = include_str!("../../../../recipes/library/soup-reheat.toml");

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
            self.driver.open(Chosen { shelved, variant: None, probes, left_open: Vec::new() }).unwrap()
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
            moved.driver.station.reading(
                &ProbeDevice("made-up".into()),
                Ok(Celsius::whole(20 + second)),
                moved.driver.now,
            );
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
        assert_eq!(moved.driver.station.sounding(moved.driver.now), Some(Priority::Medium));
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
            .open(Chosen { shelved: toast, variant: None, probes: BTreeMap::new(), left_open: vec![] })
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
}
