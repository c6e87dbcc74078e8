//! The engine: takes inputs, makes facts, keeps the deadlines.

use alloc::{
    boxed::Box,
    collections::{BTreeMap, BTreeSet, VecDeque},
    sync::Arc,
    vec::Vec,
};

use doneness::History;
use quantities::{Celsius, CelsiusStep, Drift, Reading, RunTime, Span};
use recipe_model::{ApplianceKind, CoreTarget, Step, StepId, StepRef, Until};
use thermometry::{Heat, Place};
use trial::{AlertKind, AlertSlot, BeginCause, Dark, EndCause, Entry, Fact, Priority, TrialId};

use crate::{
    chime::{Chimes, Signal},
    input::{Calibrated, Input, MOST_STAGES, OpenTrial, ProbeDevice, Refusal, StageAt, TrialNo},
    plan::Newest,
    predict::{Change, Job, Plain, Predictors},
    probe_watch::{Counts, HOLD_GAP, Purpose, Watch},
    state::{Phase, Running, Touched, TrialRun},
    timers::Timer,
};

/// What an engine is set up with.
pub struct Setup {
    /// Where predictions come from.
    pub predictors: Box<dyn Predictors>,
    /// The most stages that run at once.
    pub most_stages: usize,
}

impl Default for Setup {
    fn default() -> Self {
        Self { predictors: Box::new(Plain), most_stages: MOST_STAGES }
    }
}

/// The run of a station: its open trials and their timers.
pub struct Engine {
    pub(crate) trials: Vec<Slot>,
    pub(crate) now: RunTime,
    pub(crate) lanes: Vec<alloc::string::String>,
    setup: Setup,
    by_time: BTreeSet<(RunTime, StageAt)>,
    by_stage: BTreeMap<StageAt, (RunTime, Timer)>,
    by_device: BTreeMap<ProbeDevice, BTreeSet<StageAt>>,
    /// The stages whose food has this probe in the air beside it.
    beside: BTreeMap<ProbeDevice, BTreeSet<StageAt>>,
    dirty: BTreeSet<StageAt>,
    may_close: BTreeSet<TrialNo>,
    action: Action,
    facts: VecDeque<(TrialNo, Entry)>,
    signals: VecDeque<Signal>,
}

/// A trial with what is not in its facts.
pub(crate) struct Slot {
    pub(crate) run: TrialRun,
    pub(crate) watches: Vec<Option<Watch>>,
    pub(crate) chimes: Vec<Chimes>,
    pub(crate) lane: Vec<u8>,
    /// The watch of the last step of each stage, for an undo that goes back to it.
    parked: Vec<Option<Watch>>,
    probes: BTreeMap<recipe_model::ProbeName, ProbeDevice>,
    pub(crate) calibrations: BTreeMap<ProbeDevice, Calibrated>,
    history: BTreeMap<StepId, History>,
    /// What the cook did to the food of each running step before a restart, oldest first; its readings are still to come.
    past: Vec<VecDeque<(RunTime, Past)>>,
    /// What the newest plan says besides what it moved.
    pub(crate) newest: Option<Newest>,
}

/// What a watch has to be told again after a restart.
#[derive(Clone, Copy, Debug)]
enum Past {
    Moved,
    Changed(Change),
}

/// Whether facts that are made belong to an action of the cook.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Action {
    None,
    Begins,
    /// In this trial, from this entry on.
    Runs(TrialNo, u64),
}

/// How the station was away before a trial was restored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Away {
    /// For how long.
    pub dark: Dark,
    /// Whether the food may have stood still meanwhile: each running stage then asks whether it is still cooking.
    pub ask: bool,
}

/// Why a record does not restore a trial.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RestoreError {
    /// It does not begin with the opening.
    #[error("the record does not begin with the opening of a trial")]
    NotOpened,
    /// A number is missing or twice there.
    #[error("expected entry {expected}, found entry {found}")]
    Gap {
        /// Number that should come.
        expected: u64,
        /// Number that came.
        found: u64,
    },
    /// It is open already.
    #[error("trial {0} is open already")]
    OpenAlready(TrialId),
}

impl Engine {
    /// An idle station.
    pub fn new(setup: Setup) -> Self {
        Self {
            trials: Vec::new(),
            now: RunTime::START,
            lanes: Vec::new(),
            setup,
            by_time: BTreeSet::new(),
            by_stage: BTreeMap::new(),
            by_device: BTreeMap::new(),
            beside: BTreeMap::new(),
            dirty: BTreeSet::new(),
            may_close: BTreeSet::new(),
            action: Action::None,
            facts: VecDeque::new(),
            signals: VecDeque::new(),
        }
    }

    /// Takes what happened at `now`, after everything that was due by then.
    ///
    /// A refusal says why the input changed nothing; what was due by `now` has happened all the same. A moment before
    /// the last one is refused and changes nothing at all.
    pub fn handle(&mut self, input: Input, now: RunTime) -> Result<(), Refusal> {
        if now < self.now {
            return Err(Refusal::TimeWentBack { by_ms: self.now.since(now).millis() });
        }
        self.now = now;
        self.run_due();
        let result = match input {
            Input::Tick => Ok(()),
            Input::Open(open) => self.open(*open),
            Input::Reading(device, reading) => {
                self.reading(&device, reading);
                Ok(())
            }
            Input::Act(act) => {
                self.action = Action::Begins;
                let result = self.act(act);
                // what follows from a press belongs to it, so that one undo takes all of it back
                self.settle();
                self.action = Action::None;
                result
            }
            Input::ClockStepped(by) => {
                self.clock_stepped(by);
                Ok(())
            }
            Input::Plan(plan) => {
                self.follow(&plan);
                Ok(())
            }
        };
        self.settle();
        result
    }

    /// The next fact to be written down, oldest first.
    pub fn poll_fact(&mut self) -> Option<(TrialNo, Entry)> {
        self.facts.pop_front()
    }

    /// The next sound to be made.
    pub fn poll_signal(&mut self) -> Option<Signal> {
        self.signals.pop_front()
    }

    /// When to call [`Engine::handle`] again if nothing happens before, and what for; none while nothing can come.
    pub fn next_deadline(&self) -> Option<(RunTime, Timer)> {
        let (at, stage) = self.by_time.first()?;
        self.by_stage.get(stage).map(|(_, timer)| (*at, *timer))
    }

    /// The moment of the last input.
    pub fn now(&self) -> RunTime {
        self.now
    }

    /// Whether a trial is open.
    pub fn is_running(&self) -> bool {
        self.trials.iter().any(|slot| slot.run.common.closed.is_none())
    }

    /// The probes that running steps read.
    pub fn probes_wanted(&self) -> impl Iterator<Item = &ProbeDevice> {
        let wanted = self.by_device.iter().chain(&self.beside).filter(|(_, stages)| !stages.is_empty());
        wanted.map(|(device, _)| device).collect::<BTreeSet<_>>().into_iter()
    }

    /// The trial of that number.
    pub fn trial_id(&self, no: TrialNo) -> Option<&TrialId> {
        self.trials.get(usize::from(no.0)).map(|slot| &slot.run.info.trial)
    }

    /// The number of an open or closed trial.
    pub fn trial_no(&self, id: &TrialId) -> Option<TrialNo> {
        self.trials.iter().position(|slot| slot.run.info.trial == *id).map(|i| TrialNo(i as u16))
    }

    /// The number that the next trial gets which is opened or restored, for a plan that is made before.
    pub fn next_trial(&self) -> TrialNo {
        TrialNo(self.trials.len() as u16)
    }

    /// Whether the facts have left two engines in the same state, sounds and readings aside.
    pub fn same_state(&self, other: &Self) -> bool {
        self.trials.len() == other.trials.len() && self.trials.iter().zip(&other.trials).all(|(a, b)| a.run == b.run)
    }

    /// Opens a trial again from its record, after the station was away.
    ///
    /// The clocks of running stages have gone on. The moment of the last input moves
    /// to `now`.
    pub fn restore(
        &mut self,
        open: OpenTrial,
        entries: &[Entry],
        away: Option<Away>,
        now: RunTime,
    ) -> Result<TrialNo, RestoreError> {
        let Some(Entry { fact: Fact::TrialOpened(info), .. }) = entries.first() else {
            return Err(RestoreError::NotOpened);
        };
        if self.trials.iter().any(|slot| slot.run.info.trial == info.trial) {
            return Err(RestoreError::OpenAlready(info.trial.clone()));
        }
        let mut run = TrialRun::new(info.clone(), Arc::clone(&open.programme));
        for (expected, entry) in (0..).zip(entries) {
            if entry.seq != expected {
                return Err(RestoreError::Gap { expected, found: entry.seq });
            }
            run.apply(entry);
        }
        let no = self.add(run, open.probes, open.calibrations, open.history);
        self.now = self.now.max(now);
        let slot = usize::from(no.0);
        for stage in 0..self.trials[slot].run.stages.len() {
            self.follow_probe(StageAt { trial: no, stage: stage as u16 });
        }
        self.trials[slot].remember_past(entries);
        for equipment in open.equipment {
            self.emit(no, Fact::EquipmentNoted(equipment));
        }
        if let (Some(away), None) = (away, &self.trials[slot].run.common.closed) {
            self.emit(no, Fact::PowerOff { dark: away.dark });
            self.break_unseen_holds(no, away.dark);
            for stage in 0..self.trials[slot].run.stages.len() {
                let runs =
                    matches!(self.trials[slot].run.stages[stage].phase, Phase::Running(_) | Phase::Leaving { .. });
                if away.ask && runs {
                    let at = StageAt { trial: no, stage: stage as u16 };
                    self.raise(at, AlertSlot::Resume, AlertKind::StillCooking, Priority::Medium);
                }
            }
        }
        self.touch_all(no);
        self.settle();
        Ok(no)
    }

    /// A target that nobody saw being held in the dark was not held.
    fn break_unseen_holds(&mut self, no: TrialNo, dark: Dark) {
        match dark {
            Dark::Known(span) if span <= HOLD_GAP => return,
            Dark::Known(_) | Dark::AtLeast(_) => {}
        }
        for stage in 0..self.trials[usize::from(no.0)].run.stages.len() {
            let running = self.running(StageAt { trial: no, stage: stage as u16 });
            if let Some((_, plan)) = running.filter(|(run, _)| run.crossed.is_some()) {
                let step = plan.id.clone();
                self.emit(no, Fact::HoldBroken { step, core_celsius: None });
            }
        }
    }

    /// Gives a reading from before a restart to the predictions; no fact comes of it. One that is not newer than the
    /// last is left out, so that two trials on one probe may both give theirs.
    pub fn refeed(&mut self, device: &ProbeDevice, at: RunTime, reading: Reading) {
        for stage in self.stages_on(device) {
            let slot = &mut self.trials[usize::from(stage.trial.0)];
            slot.tell_past(usize::from(stage.stage), at);
            if let Some(watch) = &mut slot.watches[usize::from(stage.stage)]
                && at >= watch.began
                && watch.newest().is_none_or(|newest| at > newest)
            {
                watch.take(reading, at);
                watch.refresh_estimate(at);
            }
        }
        if let Ok(air) = reading {
            self.air_reading(device, air, at);
        }
    }

    fn open(&mut self, open: OpenTrial) -> Result<(), Refusal> {
        if self.trials.iter().any(|slot| slot.run.info.trial == open.info.trial) {
            return Err(Refusal::OpenAlready(open.info.trial));
        }
        let live = self.trials.iter().filter(|slot| slot.run.common.closed.is_none());
        let found = live.map(|slot| slot.run.stages.len()).sum::<usize>() + open.programme.stages.len();
        if found > self.setup.most_stages || self.trials.len() >= usize::from(u16::MAX) {
            return Err(Refusal::TooMany { found, most: self.setup.most_stages });
        }
        let run = TrialRun::new(open.info.clone(), open.programme);
        let no = self.add(run, open.probes, open.calibrations, open.history);
        self.emit(no, Fact::TrialOpened(open.info));
        for equipment in open.equipment {
            self.emit(no, Fact::EquipmentNoted(equipment));
        }
        // quiet is of the whole station
        let others = self.trials.iter().any(|slot| slot.run.common.closed.is_none() && slot.run.common.quiet);
        if open.quiet || others {
            self.emit(no, Fact::QuietSet { on: true });
        }
        if let Some(plan) = open.plan {
            self.follow(&plan);
        }
        Ok(())
    }

    fn add(
        &mut self,
        run: TrialRun,
        probes: BTreeMap<recipe_model::ProbeName, ProbeDevice>,
        calibrations: BTreeMap<ProbeDevice, Calibrated>,
        history: BTreeMap<StepId, History>,
    ) -> TrialNo {
        if !self.is_running() {
            self.lanes.clear();
            // no undo goes back to a trial that is not shown any more
            for slot in &mut self.trials {
                slot.parked.iter_mut().for_each(|parked| *parked = None);
            }
        }
        let stages = run.stages.len();
        let lane = run.programme.stages.iter().map(|stage| self.lane_for(&stage.lane)).collect();
        let chimes = core::iter::repeat_with(Chimes::default).take(stages).collect();
        let watches = core::iter::repeat_with(|| None).take(stages).collect();
        let parked = core::iter::repeat_with(|| None).take(stages).collect();
        let past = core::iter::repeat_with(VecDeque::new).take(stages).collect();
        self.trials.push(Slot {
            run,
            watches,
            chimes,
            lane,
            parked,
            probes,
            calibrations,
            history,
            past,
            newest: None,
        });
        TrialNo(self.trials.len() as u16 - 1)
    }

    /// The lane of that name; a new one while there are fewer than four, else the last one.
    fn lane_for(&mut self, name: &str) -> u8 {
        if let Some(lane) = self.lanes.iter().position(|known| known == name) {
            return lane as u8 + 1;
        }
        if self.lanes.len() < 4 {
            self.lanes.push(name.into());
        }
        self.lanes.len() as u8
    }

    /// Gives the stages of a trial their lanes anew: others may have taken them since it was closed.
    pub(crate) fn place_in_lanes(&mut self, no: TrialNo) {
        let programme = Arc::clone(&self.trials[usize::from(no.0)].run.programme);
        self.trials[usize::from(no.0)].lane = programme.stages.iter().map(|stage| self.lane_for(&stage.lane)).collect();
    }

    fn clock_stepped(&mut self, by: Drift) {
        for no in self.open_trials() {
            self.emit(no, Fact::ClockStepped { by });
        }
    }

    pub(crate) fn open_trials(&self) -> Vec<TrialNo> {
        let open = self.trials.iter().enumerate().filter(|(_, slot)| slot.run.common.closed.is_none());
        open.map(|(i, _)| TrialNo(i as u16)).collect()
    }

    /// Makes a fact, applies it, and marks what hangs on it.
    pub(crate) fn emit(&mut self, no: TrialNo, fact: Fact) {
        let slot = &mut self.trials[usize::from(no.0)];
        let seq = slot.run.next_seq;
        let action = match self.action {
            Action::None => None,
            Action::Runs(of, first) if of == no => Some(first),
            // one press that changes several trials is an action of each
            Action::Begins | Action::Runs(..) => {
                self.action = Action::Runs(no, seq);
                Some(seq)
            }
        };
        let entry = Entry { seq, at: self.now, action, fact };
        match slot.run.apply(&entry) {
            Touched::Stage(stage) => {
                if matches!(slot.run.stages[usize::from(stage)].phase, Phase::Over { .. }) {
                    self.may_close.insert(no);
                }
                let at = StageAt { trial: no, stage };
                self.dirty.insert(at);
                let dependents = self.trials[usize::from(no.0)].run.dependents(stage);
                self.dirty.extend(dependents.iter().map(|stage| StageAt { trial: no, stage: *stage }));
                self.follow_probe(at);
            }
            Touched::All => self.touch_all(no),
            Touched::Nothing => {}
        }
        self.facts.push_back((no, entry));
    }

    /// An undo takes facts back but is not itself an action.
    pub(crate) fn emit_outside_action(&mut self, no: TrialNo, fact: Fact) {
        self.action = Action::None;
        self.emit(no, fact);
    }

    fn touch_all(&mut self, no: TrialNo) {
        for stage in 0..self.trials[usize::from(no.0)].run.stages.len() {
            let at = StageAt { trial: no, stage: stage as u16 };
            self.dirty.insert(at);
            self.follow_probe(at);
        }
    }

    pub(crate) fn touch(&mut self, at: StageAt) {
        self.dirty.insert(at);
    }

    /// Marks the stages that hang on this one's expected end.
    pub(crate) fn touch_dependents(&mut self, at: StageAt) {
        let dependents = self.trials[usize::from(at.trial.0)].run.dependents(at.stage);
        self.dirty.extend(dependents.iter().map(|stage| StageAt { trial: at.trial, stage: *stage }));
    }

    fn run_due(&mut self) {
        while let Some((at, stage)) = self.by_time.first().copied() {
            if at > self.now {
                return;
            }
            self.by_time.pop_first();
            self.by_stage.remove(&stage);
            self.dirty.insert(stage);
            self.settle();
        }
    }

    fn settle(&mut self) {
        loop {
            while let Some(at) = self.dirty.pop_first() {
                while let Some((due, timer)) = self.next_timer(at) {
                    if due > self.now {
                        break;
                    }
                    self.fire(at, timer);
                }
                self.set_deadline(at);
            }
            let Some(no) = self.may_close.pop_first() else { return };
            self.close_if_over(no);
        }
    }

    fn set_deadline(&mut self, at: StageAt) {
        let next = self.next_timer(at);
        if let Some((old, _)) = self.by_stage.remove(&at) {
            self.by_time.remove(&(old, at));
        }
        if let Some((due, timer)) = next {
            self.by_time.insert((due, at));
            self.by_stage.insert(at, (due, timer));
        }
    }

    fn close_if_over(&mut self, no: TrialNo) {
        let run = &self.trials[usize::from(no.0)].run;
        let over = run.stages.iter().all(|stage| matches!(stage.phase, Phase::Over { .. }));
        if over && run.common.closed.is_none() {
            let missing = crate::closing::missing(run);
            self.emit(no, Fact::TrialClosed { given_up: false, missing });
        }
    }

    /// Lets the watch of a stage follow the probe of the step that runs there.
    fn follow_probe(&mut self, at: StageAt) {
        let slot = &mut self.trials[usize::from(at.trial.0)];
        let stage = usize::from(at.stage);
        let wanted = match &slot.run.stages[stage].phase {
            Phase::Running(run) if slot.run.common.closed.is_none() => {
                let plan = slot.run.plan(at.stage, run.step);
                plan.until.probe().and_then(|name| slot.probes.get(name)).map(|device| (device.clone(), run.began))
            }
            // until the food is off the heat its core is still of interest
            Phase::Leaving { step, .. } if slot.run.common.closed.is_none() => {
                let began = slot.run.stages[stage].steps[usize::from(*step)].began;
                let name = slot.run.plan(at.stage, *step).until.probe();
                name.and_then(|name| slot.probes.get(name)).cloned().zip(began)
            }
            Phase::Running(_)
            | Phase::Waiting { .. }
            | Phase::Ready { .. }
            | Phase::Leaving { .. }
            | Phase::Over { .. } => None,
        };
        let has = slot.watches[stage].as_ref().map(|watch| (watch.device.clone(), watch.began));
        if wanted == has {
            return;
        }
        if let Some((device, _)) = has
            && let Some(stages) = self.by_device.get_mut(&device)
        {
            stages.remove(&at);
        }
        for stages in self.beside.values_mut() {
            stages.remove(&at);
        }
        // what was laid aside is looked at before the last watch takes its place: an undo may want it back
        let now = self.now;
        let mut parked = slot.parked[stage].take();
        let mut last = slot.watches[stage].take();
        if let Some(last) = &mut last {
            last.left_at = now;
        }
        let watch = wanted.map(|(device, began)| {
            self.by_device.entry(device.clone()).or_default().insert(at);
            match parked.take_if(|last| last.device == device && last.began == began) {
                Some(mut last) => {
                    last.listen_again(now);
                    if let Some(air) = &last.purpose.air {
                        self.beside.entry(air.clone()).or_default().insert(at);
                    }
                    last
                }
                None => {
                    let purpose = slot.purpose(&device, at.stage, &*self.setup.predictors);
                    if let Some(air) = &purpose.air {
                        self.beside.entry(air.clone()).or_default().insert(at);
                    }
                    // food that goes on elsewhere with its probe is not strange to it
                    let before = last.as_ref().or(parked.as_ref()).or_else(|| slot.watch_before(at.stage));
                    Watch::new(device, began, now, purpose, before)
                }
            }
        });
        slot.watches[stage] = watch;
        slot.parked[stage] = last.or(parked);
    }

    pub(crate) fn stages_on(&self, device: &ProbeDevice) -> Vec<StageAt> {
        self.by_device.get(device).map(|stages| stages.iter().copied().collect()).unwrap_or_default()
    }

    /// The stages whose food has this probe in the air beside it.
    pub(crate) fn stages_beside(&self, device: &ProbeDevice) -> Vec<StageAt> {
        self.beside.get(device).map(|stages| stages.iter().copied().collect()).unwrap_or_default()
    }

    pub(crate) fn signal(&mut self, signal: Signal) {
        self.signals.push_back(signal);
    }

    /// Raises an alert, or changes the one in that slot.
    pub(crate) fn raise(&mut self, at: StageAt, slot: AlertSlot, kind: AlertKind, priority: Priority) {
        let stage = self.trials[usize::from(at.trial.0)].run.programme.stages[usize::from(at.stage)].id.clone();
        self.emit(at.trial, Fact::AlertRaised { stage, slot, kind, priority });
    }

    /// Clears the alert in a slot, if one stands there.
    pub(crate) fn clear(&mut self, at: StageAt, slot: AlertSlot) {
        let run = &self.trials[usize::from(at.trial.0)].run;
        if run.stages[usize::from(at.stage)].alerts[slot as usize].is_some() {
            let stage = run.programme.stages[usize::from(at.stage)].id.clone();
            self.emit(at.trial, Fact::AlertCleared { stage, slot });
        }
    }

    /// Begins the step that a stage waits for or is ready for; it was to begin as planned, else when it became ready.
    pub(crate) fn begin(&mut self, at: StageAt, step: u16, ready: Option<RunTime>) {
        let place = StepRef { stage: at.stage, step };
        let run = &self.trials[usize::from(at.trial.0)].run;
        let plan = run.plan(at.stage, step);
        let over_gap =
            crate::timing::latest_begin(run, place).map(|latest| self.now.since(latest)).filter(|over| !over.is_zero());
        let planned = run.plan.as_ref().and_then(|plan| plan.starts.get(&place)).map(|start| start.at);
        let fact = Fact::StepBegan {
            step: plan.id.clone(),
            planned: planned.or(ready),
            expect: plan.until.expected().middle(),
            over_gap,
            cautions: plan.cautions.clone(),
        };
        self.clear(at, AlertSlot::Step);
        self.emit(at.trial, fact);
    }

    /// Makes a step ready.
    pub(crate) fn make_ready(&mut self, at: StageAt, step: u16, cause: BeginCause) {
        let id = self.trials[usize::from(at.trial.0)].run.plan(at.stage, step).id.clone();
        self.emit(at.trial, Fact::StepReady { step: id, cause });
        self.raise(at, AlertSlot::Step, AlertKind::Ready, Priority::Medium);
    }

    pub(crate) fn slot(&self, at: StageAt) -> Option<&Slot> {
        self.trials.get(usize::from(at.trial.0)).filter(|slot| usize::from(at.stage) < slot.run.stages.len())
    }

    /// The running step of a stage with its plan.
    pub(crate) fn running(&self, at: StageAt) -> Option<(&Running, &Step)> {
        let slot = self.slot(at)?;
        match &slot.run.stages[usize::from(at.stage)].phase {
            Phase::Running(run) => Some((run, slot.run.plan(at.stage, run.step))),
            Phase::Waiting { .. } | Phase::Ready { .. } | Phase::Leaving { .. } | Phase::Over { .. } => None,
        }
    }
}

impl Slot {
    /// Keeps what was done to the food of the steps that run, for the readings that are given again.
    fn remember_past(&mut self, entries: &[Entry]) {
        for entry in trial::record::in_force(entries) {
            let turned = matches!(entry.fact, Fact::HalfTurned { .. });
            let past = if let Fact::ProbeMoved { .. } = entry.fact {
                Past::Moved
            } else if turned || matches!(entry.fact, Fact::EventDone { .. } | Fact::BranchTaken { .. }) {
                Past::Changed(if turned { Change::Turned } else { Change::Setting })
            } else {
                continue;
            };
            let place = entry.fact.step().and_then(|step| self.run.place(step));
            let Some(place) = place else { continue };
            let stage = usize::from(place.stage);
            let runs = matches!(&self.run.stages[stage].phase, Phase::Running(run) if run.step == place.step && entry.at >= run.began);
            if runs && self.watches[stage].is_some() {
                self.past[stage].push_back((entry.at, past));
            }
        }
    }

    /// Tells the watch of a stage what was done before a reading.
    pub(crate) fn tell_past(&mut self, stage: usize, until: RunTime) {
        while let Some((at, past)) = self.past[stage].pop_front_if(|(at, _)| *at <= until) {
            let Some(watch) = &mut self.watches[stage] else { continue };
            match past {
                Past::Moved => watch.moved(at),
                Past::Changed(change) => watch.changed(change, at),
            }
        }
    }

    /// What the step that a stage has just begun wants of its probe.
    fn purpose(&self, device: &ProbeDevice, stage: u16, predictors: &dyn Predictors) -> Purpose {
        let calibrated = self.calibrations.get(device).copied().unwrap_or_else(Calibrated::never);
        let plan_stage = &self.run.programme.stages[usize::from(stage)];
        let heat = match plan_stage.appliance.kind {
            ApplianceKind::Oven | ApplianceKind::Burner => Heat::Outside,
            ApplianceKind::Microwave => Heat::Microwave,
            // a bath on the bench; with nothing there that heats it may fall
            ApplianceKind::Bench | ApplianceKind::Fridge => Heat::Nothing,
        };
        let bare = |place, counts| Purpose {
            place,
            counts,
            target: None,
            in_rest: false,
            not_below: None,
            soon: Span::ZERO,
            depth: false,
            calibrated,
            air: None,
            predictor: None,
        };
        let state = &self.run.stages[usize::from(stage)];
        let Some(step) = state.step() else { return bare(Place::Air, Counts::AsRead) };
        let plan = self.run.plan(stage, step);
        match &plan.until {
            Until::Core(target) => {
                // sugar and fat may be hotter than boiling water
                let hottest = FOOD_HOTTEST.max(target.target + CelsiusStep::whole(25));
                let began = state.steps[usize::from(step)].began.unwrap_or(RunTime::START);
                let job = Job {
                    began,
                    target,
                    appliance: plan_stage.appliance,
                    setting: plan.setting.as_ref(),
                    history: self.history.get(&plan.id).copied(),
                };
                let before = &plan_stage.steps[..usize::from(step)];
                let fresh = before.iter().all(|step| matches!(step.until, Until::Heat { .. } | Until::Cook { .. }));
                Purpose {
                    target: Some(target.target),
                    in_rest: target.in_rest,
                    not_below: target.not_below,
                    soon: if heat == Heat::Nothing { Span::ZERO } else { target.expect.low() / 10 },
                    depth: plan_stage.appliance.kind == ApplianceKind::Oven && fresh,
                    air: self.air_beside(plan_stage.appliance, device),
                    predictor: Some(predictors.start(&job)),
                    ..bare(
                        Place::Food { heat, hottest },
                        if target.protects { Counts::Protects } else { Counts::Doneness },
                    )
                }
            }
            Until::Rest { .. } => {
                let counts = match self.wanted_in_rest(stage, step) {
                    Some(target) if target.protects && target.not_below.is_none_or(|least| target.target <= least) => {
                        Counts::Protects
                    }
                    Some(_) => Counts::Doneness,
                    None => Counts::AsRead,
                };
                bare(Place::Food { heat: Heat::Nothing, hottest: FOOD_HOTTEST }, counts)
            }
            Until::Heat { .. } => bare(Place::Air, Counts::AsRead),
            Until::Time { .. } | Until::Cue { .. } | Until::Cook { .. } | Until::Rounds { .. } => {
                bare(Place::Food { heat, hottest: FOOD_HOTTEST }, Counts::AsRead)
            }
        }
    }

    /// What a core still has to come to in a rest: the target of the step it rests from, if that was left to the rest, or
    /// protects and was not held on the heat.
    pub(crate) fn wanted_in_rest(&self, stage: u16, step: u16) -> Option<&CoreTarget> {
        let from = self.run.programme.rested_from(StepRef { stage, step })?;
        let Until::Core(target) = &self.run.programme.step(from)?.until else { return None };
        let state = &self.run.stages[usize::from(from.stage)].steps[usize::from(from.step)];
        let held = matches!(state.ended, Some((_, EndCause::CoreHeld)));
        (!held && (target.in_rest || target.protects)).then_some(target)
    }

    /// The watch of the step in another stage that the rest which runs in a stage goes on from, running or laid aside.
    fn watch_before(&self, stage: u16) -> Option<&Watch> {
        let step = self.run.stages[usize::from(stage)].step()?;
        let from = self.run.programme.rested_from(StepRef { stage, step })?;
        let at = usize::from(from.stage);
        self.watches[at].as_ref().or(self.parked[at].as_ref())
    }

    /// The probe in the air of an appliance: the one by which a step heats it.
    fn air_beside(&self, appliance: recipe_model::Appliance, core: &ProbeDevice) -> Option<ProbeDevice> {
        let stages = self.run.programme.stages.iter().filter(|stage| stage.appliance == appliance);
        let mut names = stages.flat_map(|stage| &stage.steps).filter_map(|step| match &step.until {
            Until::Heat { probe, .. } => probe.as_ref(),
            Until::Core(_)
            | Until::Time { .. }
            | Until::Cue { .. }
            | Until::Cook { .. }
            | Until::Rest { .. }
            | Until::Rounds { .. } => None,
        });
        names.find_map(|name| self.probes.get(name)).filter(|device| *device != core).cloned()
    }
}

/// Food that is neither sugar nor fat is hardly hotter than boiling water.
const FOOD_HOTTEST: Celsius = Celsius::whole(105);

/// How long a ready step is left alone before it is called again.
pub(crate) const READY_AGAIN: Span = Span::from_secs(120);
