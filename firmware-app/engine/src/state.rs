//! The state of a trial: a fold of its facts, and the frames that an undo needs.

use alloc::{
    boxed::Box,
    collections::{BTreeMap, BTreeSet, VecDeque},
    string::String,
    sync::Arc,
    vec::Vec,
};

use quantities::{Celsius, Drift, RunTime, Span};
use recipe_model::{Anchor, BranchId, EventId, IngredientId, Programme, StageId, Step, StepId, StepRef};
use trial::{AlertKind, AlertSlot, CarryOver, Dark, DoneTime, EndCause, Entry, Fact, Priority, TrialInfo, Verdict};

use crate::{plan::PlanRun, view::AlertState};

/// How many actions can be undone.
const UNDO_DEPTH: usize = 10;

/// One trial.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TrialRun {
    pub(crate) info: TrialInfo,
    pub(crate) programme: Arc<Programme>,
    pub(crate) next_seq: u64,
    pub(crate) stages: Vec<StageRun>,
    pub(crate) common: Common,
    /// Not part of what an undo puts back.
    pub(crate) plan: Option<PlanRun>,
    frames: VecDeque<Frame>,
    places: Arc<Places>,
}

/// What belongs to the trial as a whole.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Common {
    pub(crate) opened: RunTime,
    pub(crate) closed: Option<Closed>,
    pub(crate) events: BTreeMap<EventId, RunTime>,
    pub(crate) weighed: BTreeSet<IngredientId>,
    pub(crate) measured: BTreeSet<String>,
    pub(crate) quiet: bool,
    pub(crate) dark: Option<Dark>,
}

/// How a trial was closed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Closed {
    pub(crate) at: RunTime,
    pub(crate) given_up: bool,
    pub(crate) missing: Vec<String>,
}

/// One stage.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct StageRun {
    pub(crate) phase: Phase,
    pub(crate) alerts: [Option<Alert>; 4],
    pub(crate) steps: Vec<StepRun>,
    /// How often the alerts of the present step were put off, before and after it was overdue.
    pub(crate) later: (u8, u8),
}

/// What is kept of each step of a stage.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct StepRun {
    pub(crate) began: Option<RunTime>,
    pub(crate) expect: Span,
    pub(crate) ended: Option<(RunTime, EndCause)>,
    pub(crate) ran: Span,
    pub(crate) peak: Option<Celsius>,
    /// What was counted as the least it came to in a rest that had to come to a temperature.
    pub(crate) peak_at_least: Option<Celsius>,
    pub(crate) core_at_end: Option<Celsius>,
    /// What it was to come to when it left the heat.
    pub(crate) carry_over: Option<CarryOver>,
}

/// Where a stage stands.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Phase {
    /// The conditions of this step do not hold yet.
    Waiting { step: u16 },
    /// They do; the cook has not started it.
    Ready { step: u16, since: RunTime },
    /// It runs.
    Running(Box<Running>),
    /// A probe ended it; the food is not off the heat yet.
    Leaving { step: u16, since: RunTime },
    /// All steps are over.
    Over { at: RunTime },
}

/// A running step.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Running {
    pub(crate) step: u16,
    pub(crate) began: RunTime,
    pub(crate) changed: Drift,
    pub(crate) held: Option<RunTime>,
    pub(crate) held_for: Span,
    pub(crate) hold_reminders: u32,
    pub(crate) warned: bool,
    pub(crate) due: Option<RunTime>,
    pub(crate) last_not_yet: Option<RunTime>,
    pub(crate) looks: u16,
    pub(crate) half: Half,
    pub(crate) beats: Vec<Beats>,
    pub(crate) events: Vec<EventRun>,
    pub(crate) branches: BTreeSet<BranchId>,
    pub(crate) round: u16,
    pub(crate) round_began: RunTime,
    /// Since when the target is held, and when it was done if the hold is kept.
    pub(crate) crossed: Option<(RunTime, DoneTime)>,
    pub(crate) points: u8,
    /// When the last place that was held came to its target.
    pub(crate) last_point: Option<RunTime>,
    pub(crate) moving_probe: bool,
    pub(crate) by_time: bool,
    pub(crate) lost: Option<RunTime>,
    /// The last moment at which the probe, lost since, said that the step is not done.
    pub(crate) probe_said: Option<RunTime>,
    pub(crate) peak: Option<(Celsius, RunTime)>,
    pub(crate) tenths_predicted: u8,
    /// When the cook was called to take food that will come to its target in the rest.
    pub(crate) called: Option<RunTime>,
    pub(crate) shallow_tip: bool,
    /// For a rest: until when a plan lets it go on beyond its own time.
    pub(crate) rests_until: Option<RunTime>,
}

/// The half-time of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Half {
    /// Not come, or the step has none.
    Before,
    /// Called, not answered.
    Called(RunTime),
    /// The food is turned; the first half took this much longer than half the time.
    Turned { late: Span },
}

/// A rhythm of a running step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Beats {
    pub(crate) count: u32,
    pub(crate) answered: u32,
}

/// A timed event inside a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EventRun {
    Coming,
    Called(RunTime),
    Done,
}

/// A standing alert.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Alert {
    pub(crate) kind: AlertKind,
    pub(crate) priority: Priority,
    pub(crate) raised: RunTime,
    /// When its state last changed: the word on the key has stood there since then.
    pub(crate) changed: RunTime,
    pub(crate) state: AlertState,
}

/// What an action changed, as it was before.
#[derive(Clone, Debug, PartialEq)]
struct Frame {
    action: u64,
    at: RunTime,
    stages: Vec<(u16, StageRun)>,
    common: Common,
    /// Whether the action itself closed the trial.
    closed_it: bool,
}

/// Where ids stand in the programme, and what hangs on what. Made once a trial.
#[derive(Clone, Debug, PartialEq)]
struct Places {
    steps: BTreeMap<StepId, StepRef>,
    stages: BTreeMap<StageId, u16>,
    /// For each stage, the stages whose beginning hangs on it, directly or through others.
    dependents: Vec<Vec<u16>>,
    on_event: BTreeMap<EventId, Vec<u16>>,
}

/// What a fact touched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Touched {
    Stage(u16),
    All,
    Nothing,
}

impl TrialRun {
    /// A trial before its first fact.
    pub(crate) fn new(info: TrialInfo, programme: Arc<Programme>) -> Self {
        let stages = programme
            .stages
            .iter()
            .map(|stage| StageRun {
                phase: Phase::Waiting { step: 0 },
                alerts: [None; 4],
                steps: alloc::vec![StepRun::default(); stage.steps.len()],
                later: (0, 0),
            })
            .collect();
        let places = Arc::new(Places::of(&programme));
        let (common, frames) = (Common::default(), VecDeque::new());
        Self { info, programme, next_seq: 0, stages, common, plan: None, frames, places }
    }

    /// Applies the next fact.
    pub(crate) fn apply(&mut self, entry: &Entry) -> Touched {
        self.next_seq = entry.seq + 1;
        if entry.action == Some(entry.seq) {
            if self.frames.len() == UNDO_DEPTH {
                self.frames.pop_front();
            }
            let common = self.common.clone();
            self.frames.push_back(Frame {
                action: entry.seq,
                at: entry.at,
                stages: Vec::new(),
                common,
                closed_it: false,
            });
        }
        let touched = self.touched(&entry.fact);
        if let (Some(action), Touched::Stage(stage)) = (entry.action, touched) {
            self.keep_for_undo(action, stage);
        }
        if let (Some(action), Fact::TrialClosed { .. }) = (entry.action, &entry.fact)
            && let Some(frame) = self.frames.back_mut().filter(|frame| frame.action == action)
        {
            frame.closed_it = true;
        }
        self.change(entry);
        touched
    }

    fn keep_for_undo(&mut self, action: u64, stage: u16) {
        let before = &self.stages[usize::from(stage)];
        if let Some(frame) = self.frames.back_mut().filter(|frame| frame.action == action)
            && frame.stages.iter().all(|(kept, _)| *kept != stage)
        {
            frame.stages.push((stage, before.clone()));
        }
    }

    fn touched(&self, fact: &Fact) -> Touched {
        let stage = match fact {
            Fact::StepReady { step, .. }
            | Fact::StepWaits { step }
            | Fact::StepBegan { step, .. }
            | Fact::StepDue { step }
            | Fact::Looked { step, .. }
            | Fact::StepEnded { step, .. }
            | Fact::TakenOff { step, .. }
            | Fact::HalfCalled { step }
            | Fact::HalfTurned { step, .. }
            | Fact::Beat { step, .. }
            | Fact::BeatDone { step, .. }
            | Fact::EventCalled { step, .. }
            | Fact::EventDone { step, .. }
            | Fact::BranchTaken { step, .. }
            | Fact::RoundEnded { step, .. }
            | Fact::Held { step, .. }
            | Fact::WentOn { step }
            | Fact::TimeChanged { step, .. }
            | Fact::TargetCrossed { step, .. }
            | Fact::HoldBroken { step, .. }
            | Fact::PointHeld { step, .. }
            | Fact::ProbeMoved { step }
            | Fact::ProbeLost { step, .. }
            | Fact::ProbeBack { step, .. }
            | Fact::FellBack { step }
            | Fact::PeakSeen { step, .. }
            | Fact::PullAdvised { step, .. }
            | Fact::PullWithdrawn { step }
            | Fact::CarryPredicted { step, .. }
            | Fact::TipMayBeShallow { step, .. }
            | Fact::Predicted { step, .. } => self.place(step).map(|at| at.stage),
            Fact::AlertRaised { stage, .. }
            | Fact::AlertAcknowledged { stage, .. }
            | Fact::AlertShelved { stage, .. }
            | Fact::AlertUnshelved { stage, .. }
            | Fact::AlertCleared { stage, .. }
            | Fact::StillCooking { stage, .. }
            | Fact::StageStopped { stage, .. } => self.places.stages.get(stage).copied(),
            Fact::TrialOpened(_)
            | Fact::Undone { .. }
            | Fact::PowerOff { .. }
            | Fact::Marked { .. }
            | Fact::TrialClosed { .. }
            | Fact::TrialReopened
            | Fact::PlanMade { .. }
            | Fact::PlanMoved { .. }
            | Fact::RestPlanned { .. } => return Touched::All,
            Fact::EquipmentNoted(_)
            | Fact::ClockStepped { .. }
            | Fact::Weighed { .. }
            | Fact::Measured { .. }
            | Fact::Noted { .. }
            | Fact::Interrupted { .. }
            | Fact::PhotoTaken { .. }
            | Fact::CookChanged { .. }
            | Fact::QuietSet { .. }
            | Fact::Corrected { .. } => return Touched::Nothing,
        };
        stage.map_or(Touched::Nothing, Touched::Stage)
    }

    fn change(&mut self, entry: &Entry) {
        let at = entry.at;
        match &entry.fact {
            Fact::TrialOpened(info) => {
                self.info = info.clone();
                self.common.opened = at;
            }
            Fact::StepReady { step, .. } => self.set_phase(step, |step| Phase::Ready { step, since: at }),
            Fact::StepWaits { step } => self.set_phase(step, |step| Phase::Waiting { step }),
            Fact::StepBegan { step, expect, .. } => {
                let Some(place) = self.place(step) else { return };
                let programme = Arc::clone(&self.programme);
                let Some(plan) = programme.step(place) else { return };
                let stage = &mut self.stages[usize::from(place.stage)];
                let mut running = Running::new(place.step, at, plan);
                running.rests_until = self.plan.as_ref().and_then(|plan| plan.rests.get(&place).copied());
                stage.phase = Phase::Running(Box::new(running));
                stage.later = (0, 0);
                let run = &mut stage.steps[usize::from(place.step)];
                *run = StepRun { began: Some(at), expect: *expect, ..StepRun::default() };
            }
            Fact::StepDue { step } => self.running(step, |run| run.due = Some(at)),
            Fact::Looked { step, verdict, .. } => self.running(step, |run| {
                run.looks = run.looks.saturating_add(1);
                match verdict {
                    Verdict::NotYet => run.last_not_yet = Some(at),
                    Verdict::Done | Verdict::Over => {}
                }
            }),
            Fact::StepEnded { step, cause, ran, core_celsius, .. } => {
                self.end_step(step, at, *cause, *ran, *core_celsius)
            }
            Fact::TakenOff { step, .. } => {
                if let Some(place) = self.place(step) {
                    self.leave_step(place, at);
                }
            }
            Fact::HalfCalled { step } => self.running(step, |run| run.half = Half::Called(at)),
            Fact::HalfTurned { step, .. } => self.running(step, |run| {
                if let Half::Called(called) = run.half {
                    run.half = Half::Turned { late: at.since(called) };
                }
            }),
            Fact::Beat { step, rhythm, count } => self.running(step, |run| {
                if let Some(beats) = run.beats.get_mut(usize::from(*rhythm)) {
                    beats.count = *count;
                }
            }),
            Fact::BeatDone { step, rhythm, count } => self.running(step, |run| {
                if let Some(beats) = run.beats.get_mut(usize::from(*rhythm)) {
                    beats.answered = *count;
                }
            }),
            Fact::EventCalled { step, event } => self.running(step, |run| {
                if let Some(event) = run.events.get_mut(usize::from(*event)) {
                    *event = EventRun::Called(at);
                }
            }),
            Fact::EventDone { step, event } => self.running(step, |run| {
                if let Some(event) = run.events.get_mut(usize::from(*event)) {
                    *event = EventRun::Done;
                }
            }),
            Fact::Marked { event } => {
                self.common.events.insert(event.clone(), at);
            }
            Fact::BranchTaken { step, branch } => self.running(step, |run| {
                run.branches.insert(branch.clone());
            }),
            Fact::RoundEnded { step, round, .. } => self.running(step, |run| {
                run.round = *round;
                run.round_began = at;
                // time that was added is part of the round that is over
                run.changed = Drift::ZERO;
            }),
            Fact::Held { step, .. } => self.running(step, |run| run.held = Some(at)),
            Fact::WentOn { step } => self.running(step, |run| {
                if let Some(since) = run.held.take() {
                    let held = at.since(since);
                    run.held_for += held;
                    run.round_began = run.round_began + held;
                    if let Half::Called(called) = run.half {
                        run.half = Half::Called(called + held);
                    }
                    run.hold_reminders = 0;
                    // its call was taken back by the hold, so it is called anew
                    run.due = None;
                }
            }),
            Fact::TimeChanged { step, by } => self.running(step, |run| {
                run.changed = Drift::from_millis(run.changed.millis().saturating_add(by.millis()));
                run.due = None;
            }),
            Fact::TargetCrossed { step, unseen, .. } => {
                self.running(step, |run| run.crossed = Some((at, unseen.unwrap_or(DoneTime::Exact { at }))))
            }
            Fact::HoldBroken { step, .. } => self.running(step, |run| run.crossed = None),
            Fact::PointHeld { step, point, .. } => self.running(step, |run| {
                run.points = *point;
                run.moving_probe = true;
                run.last_point = run.crossed.take().map(|(since, _)| since);
            }),
            Fact::ProbeMoved { step } => self.running(step, |run| run.moving_probe = false),
            Fact::ProbeLost { step, last_celsius, age, .. } => self.running(step, |run| {
                run.lost = Some(at);
                run.probe_said = last_celsius.map(|_| at.earlier(*age)).or(run.probe_said);
                run.crossed = None;
            }),
            Fact::ProbeBack { step, .. } => self.running(step, |run| {
                run.lost = None;
                if !run.by_time {
                    run.due = None;
                }
            }),
            Fact::FellBack { step } => self.running(step, |run| {
                run.by_time = true;
                run.crossed = None;
            }),
            Fact::PeakSeen { step, core_celsius, when, at_least_celsius, .. } => {
                self.running(step, |run| run.peak = Some((*core_celsius, *when)));
                if let Some(step) = self.step_run(step) {
                    step.peak = Some(*core_celsius);
                    step.peak_at_least = step.peak_at_least.max(*at_least_celsius);
                }
            }
            Fact::PullAdvised { step, .. } => self.running(step, |run| run.called = Some(at)),
            Fact::PullWithdrawn { step } => self.running(step, |run| {
                run.called = None;
                run.due = None;
            }),
            Fact::CarryPredicted { step, carry_over, .. } => {
                if let Some(step) = self.step_run(step) {
                    step.carry_over = Some(*carry_over);
                }
            }
            Fact::TipMayBeShallow { step, .. } => self.running(step, |run| run.shallow_tip = true),
            Fact::Predicted { step, .. } => {
                let plan = self.place(step).and_then(|place| self.programme.step(place));
                let Some(tenth) = plan.map(|plan| (plan.until.expected().middle() / 10).millis().max(1)) else {
                    return;
                };
                self.running(step, |run| {
                    run.tenths_predicted = u8::try_from(at.since(run.began).millis() / tenth).unwrap_or(u8::MAX);
                });
            }
            Fact::AlertRaised { stage, slot, kind, priority } => self.raise(stage, *slot, *kind, *priority, at),
            Fact::AlertAcknowledged { stage, slot } => {
                self.alert(stage, *slot, |alert| {
                    alert.state = AlertState::Acknowledged;
                    alert.changed = at;
                });
            }
            Fact::AlertShelved { stage, slot, until } => {
                self.alert(stage, *slot, |alert| {
                    alert.state = AlertState::Shelved { until: *until };
                    alert.changed = at;
                });
                if let Some(place) = self.places.stages.get(stage) {
                    let run = &mut self.stages[usize::from(*place)];
                    match run.alerts[*slot as usize].map(|alert| alert.kind) {
                        Some(AlertKind::Overdue) => run.later.1 += 1,
                        Some(_) | None => run.later.0 += 1,
                    }
                }
            }
            Fact::AlertUnshelved { stage, slot } => self.alert(stage, *slot, |alert| {
                alert.state = AlertState::Sounding;
                alert.raised = at;
                alert.changed = at;
            }),
            Fact::AlertCleared { stage, slot } => {
                if let Some(place) = self.places.stages.get(stage) {
                    self.stages[usize::from(*place)].alerts[*slot as usize] = None;
                }
            }
            Fact::PowerOff { dark } => self.common.dark = Some(*dark),
            // clearing its alert and, for a "no", stopping the stage are facts of their own
            Fact::StillCooking { .. } => {}
            Fact::Weighed { ingredient, .. } => {
                self.common.weighed.insert(ingredient.clone());
            }
            Fact::Measured { what, .. } => {
                self.common.measured.insert(what.clone());
            }
            Fact::QuietSet { on } => self.common.quiet = *on,
            Fact::StageStopped { stage, .. } => {
                if let Some(place) = self.places.stages.get(stage) {
                    let run = &mut self.stages[usize::from(*place)];
                    run.phase = Phase::Over { at };
                    run.alerts = [None; 4];
                }
            }
            Fact::TrialClosed { given_up, missing } => {
                self.common.closed = Some(Closed { at, given_up: *given_up, missing: missing.clone() });
            }
            Fact::TrialReopened => self.common.closed = None,
            Fact::Undone { action } => self.undo(*action),
            Fact::PlanMade { .. } | Fact::PlanMoved { .. } | Fact::RestPlanned { .. } => {
                let places = Arc::clone(&self.places);
                PlanRun::apply(&mut self.plan, &entry.fact, |step| places.steps.get(step).copied());
                self.follow_rests();
            }
            Fact::EquipmentNoted(_)
            | Fact::ClockStepped { .. }
            | Fact::Noted { .. }
            | Fact::Interrupted { .. }
            | Fact::PhotoTaken { .. }
            | Fact::CookChanged { .. }
            | Fact::Corrected { .. } => {}
        }
    }

    fn undo(&mut self, action: u64) {
        if self.frames.back().is_some_and(|frame| frame.action == action)
            && let Some(frame) = self.frames.pop_back()
        {
            // a trial that was closed later stays closed, unless a stage goes on again
            let stays_closed = frame.stages.is_empty() && !frame.closed_it;
            for (stage, before) in frame.stages {
                self.stages[usize::from(stage)] = before;
            }
            let now = core::mem::replace(&mut self.common, frame.common);
            self.common.dark = now.dark;
            if stays_closed {
                self.common.closed = now.closed;
            }
            // plans are no acts of the cook: what they say of a rest holds on
            self.follow_rests();
        }
    }

    /// Lets the rests that run go on as the plan says.
    fn follow_rests(&mut self) {
        let Some(plan) = &self.plan else { return };
        for (place, until) in &plan.rests {
            if let Some(stage) = self.stages.get_mut(usize::from(place.stage))
                && let Phase::Running(run) = &mut stage.phase
                && run.step == place.step
            {
                run.rests_until = Some(*until);
            }
        }
    }

    fn end_step(&mut self, step: &StepId, at: RunTime, cause: EndCause, ran: Span, core: Option<Celsius>) {
        let Some(place) = self.place(step) else { return };
        let stage = &mut self.stages[usize::from(place.stage)];
        let run = &mut stage.steps[usize::from(place.step)];
        run.ended = Some((at, cause));
        run.ran = ran;
        run.core_at_end = core;
        stage.alerts = [None; 4];
        match cause {
            EndCause::CoreHeld => stage.phase = Phase::Leaving { step: place.step, since: at },
            EndCause::Press
            | EndCause::LookDone
            | EndCause::LookOver
            | EndCause::HeatReached
            | EndCause::Skipped
            | EndCause::Stopped => self.leave_step(place, at),
        }
    }

    fn leave_step(&mut self, place: StepRef, at: RunTime) {
        let stage = &mut self.stages[usize::from(place.stage)];
        stage.alerts = [None; 4];
        let next = place.step + 1;
        stage.phase =
            if usize::from(next) < stage.steps.len() { Phase::Waiting { step: next } } else { Phase::Over { at } };
    }

    fn set_phase(&mut self, step: &StepId, phase: impl FnOnce(u16) -> Phase) {
        if let Some(place) = self.place(step) {
            self.stages[usize::from(place.stage)].phase = phase(place.step);
        }
    }

    fn running(&mut self, step: &StepId, change: impl FnOnce(&mut Running)) {
        if let Some(place) = self.place(step)
            && let Phase::Running(run) = &mut self.stages[usize::from(place.stage)].phase
            && run.step == place.step
        {
            change(run);
        }
    }

    fn step_run(&mut self, step: &StepId) -> Option<&mut StepRun> {
        let place = self.place(step)?;
        self.stages.get_mut(usize::from(place.stage))?.steps.get_mut(usize::from(place.step))
    }

    fn alert(&mut self, stage: &StageId, slot: AlertSlot, change: impl FnOnce(&mut Alert)) {
        if let Some(place) = self.places.stages.get(stage)
            && let Some(alert) = &mut self.stages[usize::from(*place)].alerts[slot as usize]
        {
            change(alert);
        }
    }

    fn raise(&mut self, stage: &StageId, slot: AlertSlot, kind: AlertKind, priority: Priority, at: RunTime) {
        let Some(place) = self.places.stages.get(stage) else { return };
        let stage = &mut self.stages[usize::from(*place)];
        match kind {
            // said once, nothing to answer
            AlertKind::Soon | AlertKind::OnHold => {
                if let Phase::Running(run) = &mut stage.phase {
                    if kind == AlertKind::OnHold {
                        run.hold_reminders += 1;
                    } else {
                        run.warned = true;
                    }
                }
            }
            AlertKind::Overdue
            | AlertKind::ProbeLost
            | AlertKind::StillCooking
            | AlertKind::Due
            | AlertKind::Inside
            | AlertKind::Question
            | AlertKind::Window
            | AlertKind::Ready
            | AlertKind::WasLost => {
                stage.alerts[slot as usize] =
                    Some(Alert { kind, priority, raised: at, changed: at, state: AlertState::Sounding });
            }
        }
    }

    /// Where a step stands in the programme.
    pub(crate) fn place(&self, step: &StepId) -> Option<StepRef> {
        self.places.steps.get(step).copied()
    }

    /// The stages whose beginning hangs on this one.
    pub(crate) fn dependents(&self, stage: u16) -> &[u16] {
        &self.places.dependents[usize::from(stage)]
    }

    /// The step of the programme at an index of a stage.
    pub(crate) fn plan(&self, stage: u16, step: u16) -> &Step {
        &self.programme.stages[usize::from(stage)].steps[usize::from(step)]
    }

    /// The last action that can be undone, and how many there are.
    pub(crate) fn last_action(&self) -> Option<(u64, RunTime, usize)> {
        self.frames.back().map(|frame| (frame.action, frame.at, self.frames.len()))
    }

    /// Whether the programme has an event of that id.
    pub(crate) fn knows_event(&self, event: &EventId) -> bool {
        self.programme.steps().any(|(_, _, step)| step.inside.marks.iter().any(|(id, _)| id == event))
            || self.places.on_event.contains_key(event)
    }
}

impl StageRun {
    /// The step that a stage is at, none when it is over.
    pub(crate) fn step(&self) -> Option<u16> {
        match &self.phase {
            Phase::Waiting { step } | Phase::Ready { step, .. } | Phase::Leaving { step, .. } => Some(*step),
            Phase::Running(run) => Some(run.step),
            Phase::Over { .. } => None,
        }
    }
}

impl Running {
    fn new(step: u16, at: RunTime, plan: &Step) -> Self {
        Self {
            step,
            began: at,
            changed: Drift::ZERO,
            held: None,
            held_for: Span::ZERO,
            hold_reminders: 0,
            warned: false,
            due: None,
            last_not_yet: None,
            looks: 0,
            half: Half::Before,
            beats: alloc::vec![Beats::default(); plan.inside.rhythms.len()],
            events: alloc::vec![EventRun::Coming; plan.inside.timed.len()],
            branches: BTreeSet::new(),
            round: 0,
            round_began: at,
            crossed: None,
            points: 0,
            last_point: None,
            moving_probe: false,
            by_time: false,
            lost: None,
            probe_said: None,
            peak: None,
            tenths_predicted: 0,
            called: None,
            shallow_tip: false,
            rests_until: None,
        }
    }
}

impl Places {
    fn of(programme: &Programme) -> Self {
        let steps = programme.steps().map(|(at, _, step)| (step.id.clone(), at)).collect();
        let stages = programme.stages.iter().enumerate().map(|(i, stage)| (stage.id.clone(), i as u16)).collect();
        let mut direct = alloc::vec![BTreeSet::new(); programme.stages.len()];
        let mut on_event: BTreeMap<EventId, Vec<u16>> = BTreeMap::new();
        for (i, stage) in programme.stages.iter().enumerate() {
            let all = stage.begin.iter().chain(stage.steps.iter().flat_map(|step| &step.begin));
            for begin in all {
                match &begin.anchor {
                    Anchor::Step { step, .. } | Anchor::BeforeEnd { step, .. } => {
                        direct[usize::from(step.stage)].insert(i as u16);
                    }
                    Anchor::Event { event, .. } => on_event.entry(event.clone()).or_default().push(i as u16),
                }
            }
        }
        let dependents = (0..direct.len()).map(|i| closure(&direct, i as u16)).collect();
        Self { steps, stages, dependents, on_event }
    }
}

fn closure(direct: &[BTreeSet<u16>], from: u16) -> Vec<u16> {
    let mut seen = BTreeSet::new();
    let mut open: Vec<u16> = direct[usize::from(from)].iter().copied().collect();
    while let Some(stage) = open.pop() {
        if seen.insert(stage) {
            open.extend(&direct[usize::from(stage)]);
        }
    }
    seen.remove(&from);
    seen.into_iter().collect()
}
