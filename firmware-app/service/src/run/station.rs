//! The engine, the panel and the record as one, without time and without devices.
//!
//! Every input comes with its moment. A fact is handed to the book first; what is shown and sounded waits until it is
//! durable, but for a high alert, which sounds at once.

use std::{
    collections::{BTreeMap, BTreeSet, VecDeque},
    sync::Arc,
};

use hardware::{LampState, LaneKey, SoundCue};
use journal::{
    Kind, Writer,
    readings::{Block, Sample},
};
use quantities::{Drift, Reading, RunTime, Span};
use recipe_model::{ApplianceKind, ProbeName, Programme, VariantId};
use run_engine::{
    Act, Away, Engine, Head, Input, OpenTrial, ProbeDevice, Refusal, Setup, Signal, TrialNo,
    view::{AlertState, AlertView, LaneState, RunView},
};
use screens::{
    CheckLine, CheckState, CheckView, DayClock, Desk, DeskKey, Frame, Kept, KeySound, RecipeLine, StationView, Wish,
};
use trial::{AlertKind, CookId, Entry, Equipment, KitchenId, Stamped, TrialId, TrialInfo};

use super::{
    book::{Book, Work},
    shelf::{ShelfError, Shelved, probes_of},
};
use crate::clock::Stamp;

/// The station.
pub struct Station {
    engine: Engine,
    desk: Desk,
    book: Book,
    stamp: Stamp,
    /// What the panel offers, a line a variant.
    shelf: Vec<Offered>,
    shown: StationView,
    kitchen: Option<KitchenId>,
    cook: Option<CookId>,
    equipment: Vec<Equipment>,
    /// Trials begin in quiet mode.
    quiet: bool,
    open: BTreeMap<TrialNo, OpenBook>,
    /// Every id that has a record, so that no trial is ever begun without one of its own.
    taken: BTreeSet<TrialId>,
    prepared: Option<Prepared>,
    waiting_sounds: VecDeque<SoundCue>,
    sounds: VecDeque<SoundCue>,
    told: VecDeque<(TrialNo, Entry)>,
    inputs: Vec<String>,
    frame: Frame,
}

/// What the station keeps of an open trial besides the engine.
struct OpenBook {
    trial: TrialId,
    recipe: Arc<recipe_model::Recipe>,
    /// More than one name can stand for a device.
    devices: Vec<(ProbeDevice, ProbeName)>,
    closed: bool,
    readings: BTreeMap<ProbeName, Vec<Sample>>,
    oldest_reading: Option<RunTime>,
    last_sign_of_life: RunTime,
}

/// A line of the list of recipes.
struct Offered {
    read: Result<Shelved, ShelfError>,
    /// None for the control.
    variant: Option<String>,
}

/// A trial before its start: what was chosen, kept as it was then, since the list can change meanwhile.
struct Prepared {
    shelved: Shelved,
    variant: Option<String>,
}

/// A trial to be opened.
pub struct Chosen {
    /// Which recipe.
    pub shelved: Shelved,
    /// Which variant; none for the control.
    pub variant: Option<String>,
    /// Which device stands for which probe.
    pub probes: BTreeMap<ProbeName, ProbeDevice>,
    /// What was open when it started.
    pub left_open: Vec<String>,
}

/// Why a trial was not opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// It has no such variant.
    #[error(transparent)]
    Shelf(#[from] ShelfError),
    /// The engine refuses it.
    #[error(transparent)]
    Refused(#[from] Refusal),
}

/// Which device stands for which probe of a recipe.
pub trait ProbeMap {
    /// The devices for these probes; those without one are left out.
    fn devices(&mut self, wanted: &BTreeSet<ProbeName>) -> BTreeMap<ProbeName, ProbeDevice>;
}

/// How often a probe is read.
pub const READ_EVERY: Span = Span::from_secs(1);
/// Readings are made durable at least this often.
const READINGS_WAIT: Span = Span::from_secs(10);
/// While nothing else is written, a sign of life bounds how long the station was dark.
const SIGN_OF_LIFE: Span = Span::from_secs(15);

impl Station {
    /// An idle station.
    pub fn new(
        book: Book,
        stamp: Stamp,
        kitchen: Option<KitchenId>,
        cook: Option<CookId>,
        taken: BTreeSet<TrialId>,
    ) -> Self {
        Self {
            engine: Engine::new(Setup::default()),
            desk: Desk::new(),
            book,
            stamp,
            shelf: Vec::new(),
            shown: StationView::default(),
            kitchen,
            cook,
            equipment: Vec::new(),
            quiet: false,
            open: BTreeMap::new(),
            taken,
            prepared: None,
            waiting_sounds: VecDeque::new(),
            sounds: VecDeque::new(),
            told: VecDeque::new(),
            inputs: Vec::new(),
            frame: Frame::default(),
        }
    }

    /// Lets trials begin in quiet mode: lamps and panel only, except for high alerts.
    pub fn set_quiet(&mut self, quiet: bool) {
        self.quiet = quiet;
    }

    /// Takes what is known of the kitchen's equipment.
    pub fn set_equipment(&mut self, equipment: Vec<Equipment>) {
        self.equipment = equipment;
    }

    /// The equipment that a programme uses: its appliances that heat or cool, and its probes.
    fn equipment_of(&self, programme: &Programme, probes: &BTreeMap<ProbeName, ProbeDevice>) -> Vec<Equipment> {
        let known = |name: &str| self.equipment.iter().find(|known| known.name == name).cloned();
        let named = |name: String| known(&name).unwrap_or(Equipment { name, ..Equipment::default() });
        let used = programme.stages.iter().map(|stage| stage.appliance);
        let used: BTreeSet<_> = used.filter(|appliance| appliance.kind != ApplianceKind::Bench).collect();
        let appliances = used.into_iter().map(|appliance| named(appliance.to_string()));
        let probes = probes
            .iter()
            .map(|(name, device)| Equipment { device: Some(device.0.clone()), ..named(format!("probe {name}")) });
        appliances.chain(probes).collect()
    }

    /// Takes the recipes to choose from, with how many trials there are of each; each variant is a line of its own.
    pub fn set_shelf(&mut self, shelf: Vec<(String, Result<Shelved, ShelfError>)>, trials_of: impl Fn(&str) -> u32) {
        self.shelf.clear();
        self.shown.recipes.clear();
        for (name, read) in shelf {
            let Ok(shelved) = &read else {
                let refused = read.as_ref().err().map(short);
                self.shown.recipes.push(RecipeLine { title: name, trials: 0, refused });
                self.shelf.push(Offered { read, variant: None });
                continue;
            };
            let trials = trials_of(shelved.recipe.id.as_str());
            let title = shelved.recipe.title.clone();
            self.shown.recipes.push(RecipeLine { title, trials, refused: None });
            let others = shelved.recipe.variants.iter().filter(|variant| !variant.control);
            let others: Vec<(String, String)> =
                others.map(|variant| (variant.id.to_string(), variant.title.clone())).collect();
            let again = shelved.clone();
            self.shelf.push(Offered { read, variant: None });
            for (id, title) in others {
                self.shown.recipes.push(RecipeLine { title: format!("{id}: {title}"), trials, refused: None });
                self.shelf.push(Offered { read: Ok(again.clone()), variant: Some(id) });
            }
        }
    }

    /// The list of recipes as the panel shows it.
    pub fn offered(&self) -> &[RecipeLine] {
        &self.shown.recipes
    }

    /// Tells the clocks of this moment; what is written from here on bears them.
    pub fn set_stamp(&mut self, stamp: Stamp, now: RunTime, offset_secs: i32) {
        self.shown.clock = stamp.wall.map(|wall| {
            let of_day = (wall.div_euclid(1000) + i64::from(offset_secs)).rem_euclid(86_400);
            DayClock::new(now, u32::try_from(of_day).unwrap_or(0))
        });
        self.stamp = stamp;
    }

    /// Opens a trial.
    pub fn open_trial(&mut self, chosen: Chosen, now: RunTime) -> Result<TrialNo, OpenError> {
        let (variant, programme) = chosen.shelved.variant(chosen.variant.as_deref())?;
        let recipe = Arc::clone(&chosen.shelved.recipe);
        let trial = self.new_id(recipe.id.as_str(), &variant);
        let info = TrialInfo {
            trial: trial.clone(),
            recipe: recipe.id.clone(),
            title: recipe.title.clone(),
            version: recipe.version.clone(),
            variant,
            cook: self.cook.clone(),
            kitchen: self.kitchen.clone(),
            left_open: chosen.left_open,
        };
        let devices = chosen.probes.iter().map(|(name, device)| (device.clone(), name.clone())).collect();
        let equipment = self.equipment_of(&programme, &chosen.probes);
        let open = OpenTrial { info, programme, probes: chosen.probes, equipment, quiet: self.quiet };
        self.engine.handle(Input::Open(Box::new(open)), now)?;
        let no = self.engine.trial_no(&trial).expect("the engine took it just now");
        self.taken.insert(trial.clone());
        self.open.insert(no, OpenBook::new(trial.clone(), recipe, devices, now));
        self.book.write(vec![Work::Create { trial, recipe: chosen.shelved.text }]);
        self.pump(now);
        Ok(no)
    }

    /// Opens a trial again from its record, with the writer that goes on with it.
    #[allow(clippy::too_many_arguments, reason = "called once, with one value of each type")]
    pub fn take_up(
        &mut self,
        shelved: &Shelved,
        entries: &[Entry],
        readings: &[Block],
        writer: Writer,
        probes: BTreeMap<ProbeName, ProbeDevice>,
        away: Away,
        now: RunTime,
    ) -> Result<TrialNo, run_engine::RestoreError> {
        let Some(trial::Fact::TrialOpened(info)) = entries.first().map(|entry| &entry.fact) else {
            return Err(run_engine::RestoreError::NotOpened);
        };
        let programme = shelved.recipe.programme(&info.variant).cloned().ok_or(run_engine::RestoreError::NotOpened)?;
        let devices: Vec<_> = probes.iter().map(|(name, device)| (device.clone(), name.clone())).collect();
        let trial = info.trial.clone();
        let open = OpenTrial {
            info: info.clone(),
            programme: Arc::new(programme),
            probes: probes.clone(),
            equipment: Vec::new(),
            quiet: false,
        };
        let no = self.engine.restore(open, entries, Some(away), now)?;
        for block in readings {
            if let Some(device) = probes.get(block.probe()) {
                for sample in block.samples() {
                    self.engine.refeed(device, sample.at, sample.reading);
                }
            }
        }
        self.book.write(vec![Work::Resume { writer: Box::new(writer) }]);
        self.open.insert(no, OpenBook::new(trial, Arc::clone(&shelved.recipe), devices, now));
        self.pump(now);
        Ok(no)
    }

    /// Takes a reading.
    pub fn reading(&mut self, device: &ProbeDevice, reading: Reading, now: RunTime) {
        for open in self.open.values_mut().filter(|open| !open.closed) {
            for (_, name) in open.devices.iter().filter(|(of, _)| of == device) {
                open.readings.entry(name.clone()).or_default().push(Sample { at: now, reading });
                open.oldest_reading.get_or_insert(now);
            }
        }
        self.input(Input::Reading(device.clone(), reading), now);
    }

    /// Takes a key of the panel.
    pub fn key(&mut self, key: DeskKey, probes: &mut dyn ProbeMap, now: RunTime) {
        self.input(Input::Tick, now);
        let view = self.engine.view(now);
        let pressed = self.desk.key(key, &view, &self.shown, now);
        let mut sound = pressed.sound;
        for act in pressed.acts {
            if let Err(why) = self.act(act, now) {
                tracing::info!("refused: {why}");
                sound = KeySound::NotPossible;
            }
        }
        if let Some(wish) = pressed.wish
            && !self.grant(wish, probes, now)
        {
            sound = KeySound::NotPossible;
        }
        self.waiting_sounds.push_back(SoundCue::plain(match sound {
            KeySound::Taken => hardware::Head::Taken,
            KeySound::NotPossible => hardware::Head::NotPossible,
            KeySound::Undone => hardware::Head::Undone,
        }));
        self.pump(now);
    }

    /// Takes an act of the cook that no key stands for.
    pub fn act(&mut self, act: Act, now: RunTime) -> Result<(), Refusal> {
        // kept beside the facts that it leads to, to explain a strange trial
        self.inputs.push(serde_json::json!({ "at": now, "act": act }).to_string());
        let result = self.engine.handle(Input::Act(act), now);
        self.pump(now);
        result
    }

    /// Lets time pass.
    pub fn tick(&mut self, now: RunTime) {
        self.input(Input::Tick, now);
    }

    /// Says that the wall clock was set.
    pub fn clock_stepped(&mut self, by: Drift, now: RunTime) {
        self.input(Input::ClockStepped(by), now);
    }

    fn input(&mut self, input: Input, now: RunTime) {
        if let Err(why) = self.engine.handle(input, now) {
            tracing::warn!("an input was refused: {why}");
        }
        self.pump(now);
    }

    /// Carries facts to the book and sounds to the ear.
    #[allow(clippy::wildcard_enum_match_arm, reason = "only the first and the last fact open and end a file")]
    fn pump(&mut self, now: RunTime) {
        while let Some(signal) = self.engine.poll_signal() {
            let cue = cue_of(signal);
            if signal.head == Head::High { self.sounds.push_back(cue) } else { self.waiting_sounds.push_back(cue) }
        }
        let mut lines: BTreeMap<TrialNo, String> = BTreeMap::new();
        let mut closed = Vec::new();
        let mut opened = Vec::new();
        while let Some((no, entry)) = self.engine.poll_fact() {
            match &entry.fact {
                trial::Fact::TrialOpened(_) => opened.push(no),
                trial::Fact::TrialClosed { .. } => closed.push(no),
                trial::Fact::TrialReopened | trial::Fact::Undone { .. } => {
                    closed.retain(|closed| *closed != no);
                    opened.push(no);
                }
                _ => {}
            }
            let stamped = Stamped { stamp: self.stamp.for_record(), entry };
            let text = lines.entry(no).or_default();
            if !text.is_empty() {
                text.push('\n');
            }
            text.push_str(&trial::line::write(&stamped));
            self.told.push_back((no, stamped.entry));
        }
        let mut work = Vec::new();
        let inputs = std::mem::take(&mut self.inputs);
        for (no, open) in &mut self.open {
            let inputs = if open.closed { &[] } else { inputs.as_slice() };
            for input in inputs {
                let payload = input.clone().into_bytes();
                work.push(Work::Append { trial: open.trial.clone(), kind: Kind::Input, payload });
            }
            let facts = lines.remove(no);
            let waited = open.oldest_reading.is_some_and(|oldest| now.since(oldest) >= READINGS_WAIT);
            if facts.is_some() || waited {
                open.take_readings(&mut work);
            }
            if facts.is_none() && !waited && !open.closed && now.since(open.last_sign_of_life) >= SIGN_OF_LIFE {
                let stamp = self.stamp.for_record();
                let line = serde_json::json!({ "at": now, "alive": stamp }).to_string();
                work.push(Work::Append { trial: open.trial.clone(), kind: Kind::Input, payload: line.into_bytes() });
                open.last_sign_of_life = now;
            }
            if let Some(text) = facts {
                work.push(Work::Append { trial: open.trial.clone(), kind: Kind::Facts, payload: text.into_bytes() });
                open.last_sign_of_life = now;
            }
            if opened.contains(no) {
                open.closed = false;
                work.push(Work::Index { trial: open.trial.clone() });
            }
            if closed.contains(no) {
                open.closed = true;
                work.push(Work::Finish { trial: open.trial.clone() });
            }
        }
        if !work.is_empty() {
            self.book.write(work);
        }
        self.release();
    }

    /// Hands in the readings that were still being gathered, and a last sign of life; for the end of a run.
    pub fn lay_down(&mut self, now: RunTime) {
        let line = serde_json::json!({ "at": now, "alive": self.stamp.for_record() }).to_string();
        let mut work = Vec::new();
        for open in self.open.values_mut().filter(|open| !open.closed) {
            open.take_readings(&mut work);
            let payload = line.clone().into_bytes();
            work.push(Work::Append { trial: open.trial.clone(), kind: Kind::Input, payload });
            open.last_sign_of_life = now;
        }
        if !work.is_empty() {
            self.book.write(work);
        }
    }

    /// Lets the sounds go that waited for their facts.
    fn release(&mut self) {
        if self.book.is_durable() {
            self.sounds.append(&mut self.waiting_sounds);
            self.shown.kept = if self.book.trouble().is_some() { Kept::DiskFull } else { Kept::Here };
        }
    }

    /// Whether every fact is durable, or the disk is known to be in trouble.
    pub fn is_durable(&mut self) -> bool {
        self.book.is_durable()
    }

    /// Waits until everything is durable; for a run that jumps in time.
    pub async fn book_settled(&mut self) {
        self.book.settled().await;
        self.release();
    }

    /// Waits for the book's next answer; for the loop.
    pub async fn book_answered(&mut self) {
        self.book.answered().await;
        self.release();
    }

    /// The next sound to be made.
    pub fn next_sound(&mut self) -> Option<SoundCue> {
        self.sounds.pop_front()
    }

    /// The next fact that was made, for whoever follows the run.
    pub fn next_told(&mut self) -> Option<(TrialNo, Entry)> {
        self.told.pop_front()
    }

    /// When something is due, if nothing happens before.
    pub fn next_deadline(&self) -> Option<RunTime> {
        let engine = self.engine.next_deadline().map(|(at, _)| at);
        let desk = self.desk.next_deadline(&self.engine.view(self.engine.now()));
        match (engine, desk) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// When the engine has something due.
    pub fn engine_deadline(&self) -> Option<RunTime> {
        self.engine.next_deadline().map(|(at, _)| at)
    }

    /// The view of the run.
    pub fn view(&self, now: RunTime) -> RunView {
        self.engine.view(now)
    }

    /// Draws the panel; nothing if a fact is not durable yet, or the picture is as it was.
    pub fn draw(&mut self, flash: bool, now: RunTime) -> Option<&Frame> {
        if !self.book.is_durable() {
            return None;
        }
        let screen = self.desk.screen(&self.engine.view(now), &self.shown);
        let mut next = Frame::default();
        // a frame in memory takes every pixel
        let Ok(()) = screen.draw(flash, &mut next);
        if next == self.frame {
            return None;
        }
        self.frame = next;
        Some(&self.frame)
    }

    /// What is wrong with the disk, in words.
    pub fn trouble(&self) -> Option<&str> {
        self.book.trouble()
    }

    /// Whether a trial is open.
    pub fn is_running(&self) -> bool {
        self.engine.is_running()
    }

    /// Whether any trial was opened, closed by now or not.
    pub fn has_trial(&self) -> bool {
        !self.open.is_empty()
    }

    /// The id of a trial.
    pub fn trial_id(&self, no: TrialNo) -> Option<&TrialId> {
        self.engine.trial_id(no)
    }

    /// The recipe of a trial.
    pub fn recipe(&self, no: TrialNo) -> Option<&Arc<recipe_model::Recipe>> {
        self.open.get(&no).map(|open| &open.recipe)
    }

    /// The devices of open trials.
    pub fn devices(&self) -> BTreeSet<ProbeDevice> {
        let open = self.open.values().filter(|open| !open.closed);
        open.flat_map(|open| open.devices.iter().map(|(device, _)| device.clone())).collect()
    }

    /// The lamps, from the left.
    pub fn lamps(&self, now: RunTime) -> [LampState; 4] {
        let view = self.engine.view(now);
        std::array::from_fn(|i| {
            let lane = i as u8 + 1;
            let worst = view.alerts.iter().find(|alert| alert.lane == lane);
            match worst {
                Some(alert) => lamp_of(alert),
                None => match view.lanes[i].front.as_ref().map(|stage| &stage.state) {
                    Some(LaneState::Running { .. } | LaneState::Probe | LaneState::Window { .. }) => LampState::RUNNING,
                    Some(_) | None => LampState::Off,
                },
            }
        })
    }

    /// Does what the cook asked of the service; says whether it could.
    fn grant(&mut self, wish: Wish, probes: &mut dyn ProbeMap, now: RunTime) -> bool {
        match wish {
            Wish::Prepare(recipe) => {
                let Some(Offered { read: Ok(shelved), variant }) = self.shelf.get(recipe) else { return false };
                let lines = check_lines(shelved, variant.as_deref(), probes);
                self.prepared = Some(Prepared { shelved: shelved.clone(), variant: variant.clone() });
                let title = match variant {
                    Some(variant) => format!("{}, {variant}", shelved.recipe.title),
                    None => shelved.recipe.title.clone(),
                };
                self.shown.check = Some(CheckView { title, lines });
                true
            }
            Wish::Tick(line) => {
                let Some(check) = &mut self.shown.check else { return false };
                let Some(line_shown) = check.lines.get_mut(line) else { return false };
                line_shown.state = match line_shown.state {
                    CheckState::Open => CheckState::Ticked,
                    CheckState::Ticked => CheckState::Open,
                    CheckState::NoSignal => return false,
                };
                true
            }
            Wish::Start => {
                let (Some(Prepared { shelved, variant }), Some(check)) =
                    (self.prepared.take(), self.shown.check.take())
                else {
                    return false;
                };
                let left_open = check
                    .lines
                    .iter()
                    .filter(|line| line.state != CheckState::Ticked)
                    .map(|line| line.text.clone())
                    .collect();
                let wanted =
                    shelved.variant(variant.as_deref()).map(|(_, programme)| probes_of(&programme)).unwrap_or_default();
                let chosen = Chosen { shelved, variant, probes: probes.devices(&wanted), left_open };
                match self.open_trial(chosen, now) {
                    Ok(_) => true,
                    Err(why) => {
                        tracing::error!("{why}");
                        false
                    }
                }
            }
        }
    }

    /// An id that sorts by time and says what it is of.
    fn new_id(&self, recipe: &str, variant: &VariantId) -> TrialId {
        let wall = self.stamp.wall.unwrap_or(0);
        let time = jiff::Timestamp::from_millisecond(wall).unwrap_or_default();
        let mut base = format!("{}-{recipe}-{variant}", time.strftime("%Y%m%d-%H%M%S"));
        // room for a number behind it
        base.truncate(70);
        let mut id = base.clone();
        let mut n = 2;
        while self.taken.iter().any(|taken| taken.as_str() == id) {
            id = format!("{base}-{n}");
            n += 1;
        }
        TrialId::new(&id).expect("an id and a number of letters, digits and hyphens within the length")
    }
}

impl OpenBook {
    fn new(
        trial: TrialId,
        recipe: Arc<recipe_model::Recipe>,
        devices: Vec<(ProbeDevice, ProbeName)>,
        now: RunTime,
    ) -> Self {
        Self {
            trial,
            recipe,
            devices,
            closed: false,
            readings: BTreeMap::new(),
            oldest_reading: None,
            last_sign_of_life: now,
        }
    }

    fn take_readings(&mut self, work: &mut Vec<Work>) {
        self.oldest_reading = None;
        for (name, samples) in std::mem::take(&mut self.readings) {
            match Block::new(name, READ_EVERY, samples) {
                Ok(block) => {
                    work.push(Work::Append { trial: self.trial.clone(), kind: Kind::Readings, payload: block.encode() })
                }
                Err(why) => tracing::error!(trial = %self.trial, "{why}"),
            }
        }
    }
}

fn cue_of(signal: Signal) -> SoundCue {
    let head = match signal.head {
        Head::High => hardware::Head::High,
        Head::Medium => hardware::Head::Medium,
        Head::Low => hardware::Head::Low,
        Head::Tick => return SoundCue::plain(hardware::Head::Taken),
    };
    match LaneKey::new(signal.lane) {
        Some(lane) => SoundCue::new(head, &[lane]),
        None => SoundCue::plain(head),
    }
}

fn lamp_of(alert: &AlertView) -> LampState {
    let acknowledged = match alert.state {
        AlertState::Shelved { .. } => return LampState::LATER,
        AlertState::Acknowledged => true,
        AlertState::Sounding => false,
    };
    match (alert.kind, acknowledged) {
        (AlertKind::Overdue | AlertKind::ProbeLost, false) => LampState::OVERDUE,
        (AlertKind::Overdue | AlertKind::ProbeLost, true) => LampState::OVERDUE_ACKNOWLEDGED,
        (AlertKind::Window, false) => LampState::WINDOW,
        (AlertKind::WasLost, _) => LampState::WAS_LOST,
        (
            AlertKind::Due | AlertKind::Inside | AlertKind::Question | AlertKind::StillCooking | AlertKind::Ready,
            false,
        ) => LampState::DUE,
        (
            AlertKind::Due
            | AlertKind::Inside
            | AlertKind::Question
            | AlertKind::StillCooking
            | AlertKind::Ready
            | AlertKind::Window
            | AlertKind::Soon
            | AlertKind::OnHold,
            _,
        ) => LampState::DUE_ACKNOWLEDGED,
    }
}

fn check_lines(shelved: &Shelved, variant: Option<&str>, probes: &mut dyn ProbeMap) -> Vec<CheckLine> {
    let Ok((_, programme)) = shelved.variant(variant) else { return Vec::new() };
    let mut lines = vec![CheckLine {
        text: "Weights".into(),
        found: format!("{} to weigh", programme.ingredients.len()),
        state: CheckState::Open,
    }];
    let wanted = probes_of(&programme);
    let found = probes.devices(&wanted);
    for name in wanted {
        let there = found.contains_key(&name);
        lines.push(CheckLine {
            text: format!("Probe {name}"),
            found: if there { "tick when in" } else { "no signal" }.into(),
            state: if there { CheckState::Open } else { CheckState::NoSignal },
        });
    }
    let needs = &shelved.recipe.kitchen;
    for (count, what) in [(needs.ovens, "Oven"), (needs.microwaves, "Microwave"), (needs.burners, "Burner")] {
        if count > 0 {
            lines.push(CheckLine { text: what.into(), found: format!("{count} free"), state: CheckState::Open });
        }
    }
    lines
}

fn short(why: &ShelfError) -> String {
    match why {
        ShelfError::Refused { errors: 1, .. } => "1 error".into(),
        ShelfError::Refused { errors, .. } => format!("{errors} errors"),
        ShelfError::NotFound { .. } => "not found".into(),
        ShelfError::Unreadable { .. } => "unreadable".into(),
        ShelfError::NoVariant { .. } => "no variant".into(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use quantities::Celsius;

    use super::*;
    use crate::{
        clock::{Clock, SystemClock},
        library::Library,
        run::shelf,
    };

    const SOUP: &str = include_str!("../../../../recipes/library/soup-reheat.toml");

    #[tokio::test]
    async fn readings_of_the_last_seconds_are_on_disk_after_a_stop() {
        let home = tempfile::tempdir().unwrap();
        let library = Library::at(home.path());
        let book = Book::open(Library::disk(), &library.trials, library.index.clone()).unwrap();
        let mut station = Station::new(book, SystemClock::new().stamp(), None, None, BTreeSet::new());
        let shelved = shelf::parse(std::path::Path::new("soup.toml"), SOUP.into()).unwrap();
        let device = ProbeDevice("made-up".into());
        let probes = probes_of(&shelved.recipe.base).into_iter().map(|name| (name, device.clone())).collect();
        let chosen = Chosen { shelved, variant: None, probes, left_open: Vec::new() };
        let no = station.open_trial(chosen, RunTime::START).unwrap();
        let trial = station.trial_id(no).unwrap().clone();
        for second in 1..=4 {
            station.reading(&device, Ok(Celsius::whole(20)), RunTime::from_millis(second * 1000));
        }
        station.lay_down(RunTime::from_millis(4_500));
        station.book_settled().await;
        let blocks = library.read(trial.as_str()).unwrap().readings().unwrap();
        assert_eq!(blocks.iter().map(|block| block.samples().len()).sum::<usize>(), 4);
    }
}
