//! The engine, the panel and the record as one, without time and without devices.
//!
//! Every input comes with its moment. A fact is handed to the book first; what is shown and sounded waits until it is
//! durable, but for a high alert, which sounds at once.

mod feeds;
mod lamps;
mod stated;
mod wishes;

use std::{
    collections::{BTreeMap, BTreeSet, VecDeque},
    path::PathBuf,
    sync::Arc,
};

use hardware::{LaneKey, SoundCue};
use journal::{
    Kind, Writer,
    readings::{Block, Sample},
};
use quantities::{Drift, Reading, RunTime, Span};
use recipe_model::{ApplianceKind, ProbeName, Programme, StepId, VariantId};
use run_engine::{
    Act, Away, Calibrated, Engine, Head, Input, OpenTrial, ProbeDevice, Refusal, Setup, Signal, TrialNo,
    predict::{History, Predictors},
    view::{AlertState, RunView},
};
use screens::{DayClock, Desk, DeskKey, Kept, KeySound, RecipeLine, Screen, StationView};
use trial::{CookId, Entry, Equipment, KitchenId, Priority, Stamped, TrialId, TrialInfo};

use super::{
    book::{Book, Work},
    calibration,
    channels::Channels,
    history,
    live_plan::{self, LivePlan},
    outcome::Noted,
    plan_watch::PlanWatch,
    probe_check::{ProbeCheck, SavedCheck},
    ready::Ready,
    self_test::SelfTest,
    shelf::{ShelfError, Shelved},
};
use crate::{clock::Stamp, config::OnPanel, library::Library, planning::KitchenCounts};
pub use feeds::NamedProbe;
use stated::Stated;

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
    /// Where earlier trials are; nowhere in a test.
    earlier: Option<Library>,
    /// Trials begin in quiet mode.
    quiet: bool,
    open: BTreeMap<TrialNo, OpenBook>,
    /// Every id that has a record, so that no trial is ever begun without one of its own.
    taken: BTreeSet<TrialId>,
    prepared: Option<Prepared>,
    plan: PlanWatch,
    /// The plan that the run follows, where dishes are wanted at a moment.
    live_plan: LivePlan,
    /// What is stated for a trial that goes on, while the panel asks what a plan would be.
    wanting: Option<(TrialNo, Stated)>,
    self_test: Option<SelfTest>,
    /// The probe that is being checked, with its device.
    checking: Option<(ProbeCheck, ProbeDevice)>,
    /// The probes that have a name here.
    probes: Vec<NamedProbe>,
    /// What each probe said last, as it was read.
    live: BTreeMap<ProbeDevice, (RunTime, Reading)>,
    on_panel: OnPanel,
    /// Where it is kept; nowhere in a test.
    on_panel_file: Option<PathBuf>,
    altitude_m: i32,
    /// What lanes can be called, for the setting.
    lane_names: Vec<String>,
    channels: Channels,
    /// The day of this moment, while the wall clock can be trusted.
    today: Option<String>,
    waiting_sounds: VecDeque<SoundCue>,
    sounds: VecDeque<SoundCue>,
    told: VecDeque<(TrialNo, Entry)>,
    inputs: Vec<String>,
}

/// What the station keeps of an open trial besides the engine.
struct OpenBook {
    trial: TrialId,
    recipe: Arc<recipe_model::Recipe>,
    /// More than one name can stand for a device.
    devices: Vec<(ProbeDevice, ProbeName)>,
    closed: bool,
    /// What of the record sheet is on record.
    noted: Noted,
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
    ready: Ready,
    /// The devices of the probes that it looks at.
    devices: BTreeMap<ProbeName, ProbeDevice>,
    /// When its dishes are wanted.
    wanted: Stated,
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
    /// When its dishes are wanted; none: nothing is planned for it.
    pub wanted: Option<RunTime>,
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
            earlier: None,
            quiet: false,
            open: BTreeMap::new(),
            taken,
            prepared: None,
            plan: PlanWatch::default(),
            live_plan: LivePlan::default(),
            wanting: None,
            self_test: None,
            checking: None,
            probes: Vec::new(),
            live: BTreeMap::new(),
            on_panel: OnPanel::default(),
            on_panel_file: None,
            altitude_m: 0,
            lane_names: Vec::new(),
            channels: Channels::default(),
            today: None,
            waiting_sounds: VecDeque::new(),
            sounds: VecDeque::new(),
            told: VecDeque::new(),
            inputs: Vec::new(),
        }
    }

    /// Lets trials begin in quiet mode: lamps and panel only, except for high alerts.
    pub fn set_quiet(&mut self, quiet: bool) {
        self.quiet = quiet;
    }

    /// Lets these foretell when a core is at its target. Before the first trial is opened.
    pub fn set_predictors(&mut self, predictors: Box<dyn Predictors>) {
        self.engine = Engine::new(Setup { predictors, ..Setup::default() });
    }

    /// Lets forecasts lean on how long the same steps took in these trials.
    pub fn set_earlier(&mut self, library: Library) {
        self.earlier = Some(library);
    }

    /// Plans with what this kitchen has.
    pub fn set_kitchen(&mut self, kitchen: KitchenCounts) {
        self.live_plan.set_kitchen(kitchen);
    }

    /// Takes what is known of the kitchen's equipment.
    pub fn set_equipment(&mut self, equipment: Vec<Equipment>) {
        self.equipment = equipment;
    }

    /// The equipment that a programme uses: its appliances that heat or cool, and its probes with what corrects them.
    fn equipment_of(
        &self,
        programme: &Programme,
        probes: &BTreeMap<ProbeName, ProbeDevice>,
    ) -> (Vec<Equipment>, BTreeMap<ProbeDevice, Calibrated>) {
        let known = |name: &str| self.equipment.iter().find(|known| known.name == name);
        let named = |name: String| known(&name).cloned().unwrap_or(Equipment { name, ..Equipment::default() });
        let used = programme.stages.iter().map(|stage| stage.appliance);
        let used: BTreeSet<_> = used.filter(|appliance| appliance.kind != ApplianceKind::Bench).collect();
        let mut equipment: Vec<Equipment> = used.into_iter().map(|appliance| named(appliance.to_string())).collect();
        let mut calibrations = BTreeMap::new();
        for (name, device) in probes {
            let settings = known(&calibration::equipment_name(name));
            let checks = self.checks_of(device);
            let (probe, calibrated) = calibration::of_probe(name, device, settings, &checks, self.today.as_deref());
            equipment.push(probe);
            calibrations.insert(device.clone(), calibrated);
        }
        (equipment, calibrations)
    }

    fn history_of(&self, recipe: &recipe_model::Recipe, programme: &Programme) -> BTreeMap<StepId, History> {
        self.earlier.as_ref().map(|library| history::of(library, recipe, programme)).unwrap_or_default()
    }

    /// Takes the recipes to choose from, with how many trials there are of each; each variant is a line of its own.
    pub fn set_shelf(&mut self, shelf: Vec<(String, Result<Shelved, ShelfError>)>, trials_of: impl Fn(&str) -> u32) {
        let w = self.shown.settings.language;
        self.shelf.clear();
        self.shown.recipes.clear();
        for (name, read) in shelf {
            let Ok(shelved) = &read else {
                let refused = read.as_ref().err().map(|why| feeds::refused(why, w));
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

    /// Says in the panel's language why files are refused.
    fn reword_shelf(&mut self) {
        let w = self.shown.settings.language;
        for (line, offered) in self.shown.recipes.iter_mut().zip(&self.shelf) {
            line.refused = offered.read.as_ref().err().map(|why| feeds::refused(why, w));
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
        self.today = stamp.wall.and_then(|wall| {
            let here = wall.saturating_add(i64::from(offset_secs) * 1000);
            Some(jiff::Timestamp::from_millisecond(here).ok()?.strftime("%Y-%m-%d").to_string())
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
        let (equipment, calibrations) = self.equipment_of(&programme, &chosen.probes);
        let history = self.history_of(&recipe, &programme);
        let probes = chosen.probes;
        let standing = self.engine.standing(now);
        let no = self.engine.next_trial();
        self.live_plan.know(&history);
        let plan = self.live_plan.open(no, &recipe, Arc::clone(&programme), chosen.wanted, &standing, now);
        let open = OpenTrial { info, programme, probes, equipment, calibrations, history, quiet: self.quiet, plan };
        if let Err(why) = self.engine.handle(Input::Open(Box::new(open)), now) {
            self.live_plan.close(no);
            return Err(why.into());
        }
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
        let programme = Arc::new(programme);
        let devices: Vec<_> = probes.iter().map(|(name, device)| (device.clone(), name.clone())).collect();
        let trial = info.trial.clone();
        let open = OpenTrial {
            info: info.clone(),
            calibrations: calibration::on_record(entries, &probes),
            history: self.history_of(&shelved.recipe, &programme),
            programme: Arc::clone(&programme),
            probes: probes.clone(),
            // a probe that another device stands for now is noted, so that no check of the old one is claimed for it
            equipment: calibration::changed_devices(entries, &probes),
            quiet: false,
            plan: None,
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
        let mut book = OpenBook::new(trial, Arc::clone(&shelved.recipe), devices, now);
        entries.iter().for_each(|entry| book.noted.take(entry));
        self.live_plan.know(&self.history_of(&shelved.recipe, &programme));
        self.live_plan.resume(no, &shelved.recipe, programme, live_plan::wanted_in(entries));
        self.open.insert(no, book);
        self.pump(now);
        Ok(no)
    }

    /// Takes a reading as the probe gave it, and keeps it so: what its checks found stands beside it on the record.
    pub fn reading(&mut self, device: &ProbeDevice, reading: Reading, now: RunTime) {
        self.live.insert(device.clone(), (now, reading));
        if let Some((check, checked)) = &mut self.checking
            && checked == device
        {
            check.reading(reading, now);
        }
        for open in self.open.values_mut().filter(|open| !open.closed) {
            for (_, name) in open.devices.iter().filter(|(of, _)| of == device) {
                open.readings.entry(name.clone()).or_default().push(Sample { at: now, reading });
                open.oldest_reading.get_or_insert(now);
            }
        }
        self.input(Input::Reading(device.clone(), reading), now);
    }

    /// The saved checks of a device, oldest first.
    fn checks_of(&self, device: &ProbeDevice) -> Vec<&SavedCheck> {
        self.on_panel.checks_of(&device.0)
    }

    /// Takes a key of the panel.
    pub fn key(&mut self, key: DeskKey, probes: &mut dyn ProbeMap, now: RunTime) {
        self.tick(now);
        self.refresh(now);
        let view = self.engine.view(now);
        let pressed = self.desk.key(key, &view, &self.shown, now);
        let mut sound = Some(pressed.sound);
        for act in pressed.acts {
            if let Err(why) = self.act(act, now) {
                tracing::info!("refused: {why}");
                sound = Some(KeySound::NotPossible);
            }
        }
        if let Some(wish) = pressed.wish {
            match self.grant(wish, probes, now) {
                wishes::Granted::Yes => {}
                wishes::Granted::Heard(cue) => {
                    sound = None;
                    self.waiting_sounds.push_back(cue);
                }
                wishes::Granted::No => sound = Some(KeySound::NotPossible),
            }
        }
        if let Some(sound) = sound {
            self.sound_of(sound);
        }
        self.pump(now);
        self.watch(now);
    }

    /// A key that did nothing, such as one that was held neither short nor long.
    pub fn key_not_possible(&mut self, now: RunTime) {
        self.sound_of(KeySound::NotPossible);
        self.pump(now);
    }

    fn sound_of(&mut self, sound: KeySound) {
        self.waiting_sounds.push_back(SoundCue::plain(match sound {
            KeySound::Taken => hardware::Head::Taken,
            KeySound::NotPossible => hardware::Head::NotPossible,
            KeySound::Undone => hardware::Head::Undone,
            KeySound::Saved => hardware::Head::Saved,
        }));
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
        self.watch(now);
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
        let mut undone = Vec::new();
        while let Some((no, entry)) = self.engine.poll_fact() {
            match &entry.fact {
                trial::Fact::TrialOpened(_) => opened.push(no),
                trial::Fact::TrialClosed { given_up, .. } => {
                    closed.push(no);
                    if !given_up {
                        self.waiting_sounds.push_back(SoundCue::plain(hardware::Head::Saved));
                    }
                }
                trial::Fact::TrialReopened => {
                    closed.retain(|closed| *closed != no);
                    opened.push(no);
                }
                trial::Fact::Undone { .. } => undone.push(no),
                _ => {}
            }
            if let Some(open) = self.open.get_mut(&no) {
                open.noted.take(&entry);
            }
            let stamped = Stamped { stamp: self.stamp.for_record(), entry };
            let text = lines.entry(no).or_default();
            if !text.is_empty() {
                text.push('\n');
            }
            text.push_str(&trial::line::write(&stamped));
            self.told.push_back((no, stamped.entry));
        }
        // an undo can take back what closed a trial, or only what was noted after its end
        for no in undone {
            let is_open = |trial: &run_engine::view::TrialView| trial.no == no && trial.closed.is_none();
            if self.engine.view(now).trials.iter().any(is_open) {
                closed.retain(|closed| *closed != no);
                opened.push(no);
            }
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
            let told = facts.is_some();
            if let Some(text) = facts {
                work.push(Work::Append { trial: open.trial.clone(), kind: Kind::Facts, payload: text.into_bytes() });
                open.last_sign_of_life = now;
            }
            if opened.contains(no) {
                self.live_plan.reopen(*no);
                open.closed = false;
                work.push(Work::Index { trial: open.trial.clone() });
            }
            if closed.contains(no) {
                self.live_plan.close(*no);
                open.closed = true;
            }
            // what is noted after the end is in the file and in the index before anything is shown too
            if open.closed && (told || closed.contains(no)) {
                work.push(Work::Finish { trial: open.trial.clone() });
            }
        }
        if !work.is_empty() {
            self.book.write(work);
        }
        self.release();
        // after each input, so that it does not hang on the pace of the loop since when a key has its word
        self.desk.look(&self.engine.view(now));
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
        let desk = self.desk.next_deadline(&self.engine.view(self.engine.now()), &self.shown);
        let test = self.self_test.as_ref().map(SelfTest::next_deadline);
        [engine, desk, test].into_iter().flatten().min()
    }

    /// When the engine has something due.
    pub fn engine_deadline(&self) -> Option<RunTime> {
        self.engine.next_deadline().map(|(at, _)| at)
    }

    /// The view of the run.
    pub fn view(&self, now: RunTime) -> RunView {
        self.engine.view(now)
    }

    /// What the panel shows at this moment.
    pub fn screen(&mut self, now: RunTime) -> Screen {
        self.refresh(now);
        let screen = self.desk.screen(&self.engine.view(now), &self.shown);
        if !matches!(screen, Screen::ProbeCheck(_)) {
            // its page was left, by an alert or a long rest
            self.checking = None;
        }
        screen
    }

    /// The worst alert that waits for a key; none while all are known.
    pub fn sounding(&self, now: RunTime) -> Option<Priority> {
        let view = self.engine.view(now);
        let sounding = view.alerts.iter().filter(|alert| alert.state == AlertState::Sounding);
        // the most urgent is the first
        sounding.map(|alert| alert.priority).min()
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

    /// The devices that are to be read: of open trials, of a ready check, of the self test, and the one being checked.
    pub fn devices(&self) -> BTreeSet<ProbeDevice> {
        let open = self.open.values().filter(|open| !open.closed);
        let open = open.flat_map(|open| open.devices.iter().map(|(device, _)| device));
        let prepared = self.prepared.iter().flat_map(|prepared| prepared.devices.values());
        let tested = self.probes.iter().filter(|_| self.self_test.is_some()).map(|probe| &probe.device);
        let checked = self.checking.iter().map(|(_, device)| device);
        open.chain(prepared).chain(tested).chain(checked).cloned().collect()
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
            noted: Noted::default(),
            readings: BTreeMap::new(),
            oldest_reading: None,
            last_sign_of_life: now,
        }
    }

    /// Whether it still takes readings of a device.
    fn reads(&self, device: &str) -> bool {
        !self.closed && self.devices.iter().any(|(of, _)| of.0 == device)
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

#[cfg(test)]
pub(crate) mod tests;
