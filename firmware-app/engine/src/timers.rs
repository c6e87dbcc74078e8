//! Every timer of a running station in one table: which comes next for a stage, and what it does.

use quantities::{RunTime, Span};
use recipe_model::{StepRef, Until};
use trial::{AlertKind, AlertSlot, BeginCause, Fact, Priority};

use crate::{
    chime::{Head, Signal},
    engine::{Engine, READY_AGAIN},
    input::StageAt,
    state::{EventRun, Phase, Running},
    timing::{Forecast, follows_at_once, latest_begin, planned_start, ready_at},
    view::AlertState,
};

/// Who wants the station to wake.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Timer {
    /// A step follows the one before it.
    Follow,
    /// The conditions of a step hold.
    Ready(BeginCause),
    /// What a ready step hung on was taken back, or a plan moved its start well ahead.
    Unready,
    /// A ready step was not started: it is due.
    ReadyAgain,
    /// The largest gap before a step is over.
    GapOver,
    /// It will be due soon.
    Soon,
    /// A look is to be asked.
    Look,
    /// A step is due.
    Due,
    /// The grace of a step that is due is over.
    Overdue,
    /// Half-time.
    Half,
    /// Something inside a step was not done in the grace.
    InsideLate,
    /// A beat of a rhythm.
    Beat(u8),
    /// Something at a time inside a step.
    Event(u8),
    /// A hold has lasted another five minutes.
    HoldReminder,
    /// A probe has said nothing good for too long.
    ProbeLost,
    /// An alert is over being put off.
    ShelfOver(AlertSlot),
    /// An alert sounds.
    Chime(AlertSlot, Head),
}

const SLOTS: [AlertSlot; 4] = [AlertSlot::Step, AlertSlot::Probe, AlertSlot::Inside, AlertSlot::Resume];
const HOLD_REMINDER: Span = Span::from_mins(5);

impl Engine {
    /// The next timer of a stage; its moment may lie in the past.
    pub(crate) fn next_timer(&self, at: StageAt) -> Option<(RunTime, Timer)> {
        let slot = self.slot(at)?;
        if slot.run.common.closed.is_some() {
            return None;
        }
        let stage = &slot.run.stages[usize::from(at.stage)];
        let mut next = Earliest(None);
        match &stage.phase {
            Phase::Waiting { step } => {
                let place = StepRef { stage: at.stage, step: *step };
                if follows_at_once(&slot.run, place) {
                    return Some((self.now, Timer::Follow));
                }
                let mut forecast = Forecast::new(&slot.run, &slot.watches, self.now);
                if let Some((when, cause)) = ready_at(&slot.run, &mut forecast, place) {
                    next.offer(when, Timer::Ready(cause));
                }
            }
            Phase::Ready { step, since } => {
                let place = StepRef { stage: at.stage, step: *step };
                let mut forecast = Forecast::new(&slot.run, &slot.watches, self.now);
                // a plan takes a call back only for a start that lies well ahead
                let ahead = planned_start(&slot.run, place).is_some_and(|start| start >= self.now + READY_AGAIN);
                if ahead || ready_at(&slot.run, &mut forecast, place).is_none() {
                    return Some((self.now, Timer::Unready));
                }
                let alert = stage.alerts[AlertSlot::Step as usize];
                if alert.is_some_and(|alert| alert.kind == AlertKind::Ready && alert.priority == Priority::Medium) {
                    next.offer(*since + READY_AGAIN, Timer::ReadyAgain);
                }
                if let Some(latest) = latest_begin(&slot.run, place)
                    && alert.is_none_or(|alert| alert.kind != AlertKind::Overdue)
                {
                    next.offer(latest, Timer::GapOver);
                }
            }
            Phase::Running(run) => self.running_timers(at, run, &mut next),
            Phase::Leaving { step, .. } => {
                if let Some(alert) = stage.alerts[AlertSlot::Step as usize].filter(|alert| alert.kind == AlertKind::Due)
                {
                    self.offer_overdue(&alert, slot.run.plan(at.stage, *step).grace, &mut next);
                } else if stage.alerts[AlertSlot::Step as usize].is_none() {
                    next.offer(self.now, Timer::Due);
                }
            }
            Phase::Over { .. } => {}
        }
        for alert_slot in SLOTS {
            let Some(alert) = &stage.alerts[alert_slot as usize] else { continue };
            if let AlertState::Shelved { until } = alert.state {
                next.offer(until, Timer::ShelfOver(alert_slot));
            }
            if let Some((when, head)) = slot.chimes[usize::from(at.stage)].next(alert_slot, alert) {
                next.offer(when, Timer::Chime(alert_slot, head));
            }
        }
        next.0
    }

    fn running_timers(&self, at: StageAt, run: &Running, next: &mut Earliest) {
        let Some(slot) = self.slot(at) else { return };
        let stage = &slot.run.stages[usize::from(at.stage)];
        let plan = slot.run.plan(at.stage, run.step);
        if run.lost.is_none() && !run.by_time && !run.moving_probe {
            match (&slot.watches[usize::from(at.stage)], &plan.until) {
                (Some(watch), _) => next.offer(watch.lost_at().0, Timer::ProbeLost),
                // the station has no such probe: the cook must know at once that the step goes by time and sign
                (None, Until::Core(_)) => next.offer(run.began, Timer::ProbeLost),
                (
                    None,
                    Until::Time { .. }
                    | Until::Cue { .. }
                    | Until::Cook { .. }
                    | Until::Heat { .. }
                    | Until::Rest { .. }
                    | Until::Rounds { .. },
                ) => {}
            }
        }
        if let Some(since) = run.held {
            next.offer(since + HOLD_REMINDER * u64::from(run.hold_reminders + 1), Timer::HoldReminder);
            return;
        }
        let step_alert = stage.alerts[AlertSlot::Step as usize];
        let due = run.due_at(plan);
        if run.due.is_none()
            && let Some(due) = due
        {
            next.offer(due, Timer::Due);
            if let Some(warn) = plan.warn
                && !run.warned
                && run.looks_of(plan).is_none()
                && !matches!(plan.until, Until::Core(_))
                && due.since(run.began) > warn
            {
                next.offer(due.earlier(warn), Timer::Soon);
            }
        }
        match step_alert {
            Some(alert) if alert.kind == AlertKind::Due => self.offer_overdue(&alert, plan.grace, next),
            Some(_) => {}
            None => {
                // a look at the last moment is the call that it is due
                if let Some(look) = run.next_look(plan)
                    && (run.due.is_some() || due.is_none_or(|due| look < due))
                {
                    next.offer(look, Timer::Look);
                }
            }
        }
        if let Some(half) = run.half_at(plan) {
            next.offer(half, Timer::Half);
        }
        if let Some(alert) = stage.alerts[AlertSlot::Inside as usize].filter(|alert| alert.priority == Priority::Medium)
            && !matches!(alert.state, AlertState::Shelved { .. })
        {
            next.offer(alert.raised + plan.grace, Timer::InsideLate);
        }
        for (i, (rhythm, beats)) in plan.inside.rhythms.iter().zip(&run.beats).enumerate() {
            let when = run.began + run.held_for + rhythm.every * (u64::from(beats.count) + 1);
            // none at the very end: the step's own call comes there
            if due.is_none_or(|due| when < due) {
                next.offer(when, Timer::Beat(i as u8));
            }
        }
        for (i, (event, state)) in plan.inside.timed.iter().zip(&run.events).enumerate() {
            match state {
                EventRun::Coming => next.offer(run.moment(plan, event.at), Timer::Event(i as u8)),
                EventRun::Called(_) | EventRun::Done => {}
            }
        }
    }

    fn offer_overdue(&self, alert: &crate::state::Alert, grace: Span, next: &mut Earliest) {
        match alert.state {
            AlertState::Sounding | AlertState::Acknowledged => next.offer(alert.raised + grace, Timer::Overdue),
            AlertState::Shelved { .. } => {}
        }
    }

    /// Does what a timer is for.
    pub(crate) fn fire(&mut self, at: StageAt, timer: Timer) {
        let Some(slot) = self.slot(at) else { return };
        let stage = &slot.run.stages[usize::from(at.stage)];
        let Some(step) = stage.step() else { return };
        let plan = slot.run.plan(at.stage, step);
        let id = plan.id.clone();
        match timer {
            Timer::Follow => self.begin(at, step, None),
            Timer::Ready(cause) => self.make_ready(at, step, cause),
            Timer::Unready => {
                self.clear(at, AlertSlot::Step);
                self.emit(at.trial, Fact::StepWaits { step: id });
            }
            Timer::ReadyAgain => self.raise(at, AlertSlot::Step, AlertKind::Due, Priority::Low),
            Timer::GapOver | Timer::Overdue => self.raise(at, AlertSlot::Step, AlertKind::Overdue, Priority::High),
            Timer::Soon => {
                self.raise(at, AlertSlot::Step, AlertKind::Soon, Priority::Low);
                self.sound(at, Head::Low, Some(AlertKind::Soon));
            }
            Timer::Look => {
                let Some((run, plan)) = self.running(at) else { return };
                let kind = if run.due.is_some() { AlertKind::Due } else { look_kind(run, plan) };
                self.raise(at, AlertSlot::Step, kind, Priority::Medium);
            }
            Timer::Due => {
                if self.running(at).is_some() {
                    self.emit(at.trial, Fact::StepDue { step: id });
                }
                self.raise(at, AlertSlot::Step, AlertKind::Due, Priority::Medium);
            }
            Timer::Half => {
                self.emit(at.trial, Fact::HalfCalled { step: id });
                self.raise(at, AlertSlot::Inside, AlertKind::Inside, Priority::Medium);
            }
            Timer::InsideLate => self.raise(at, AlertSlot::Inside, AlertKind::Inside, Priority::High),
            Timer::Beat(rhythm) => self.beat(at, rhythm),
            Timer::Event(event) => {
                self.emit(at.trial, Fact::EventCalled { step: id, event });
                self.raise(at, AlertSlot::Inside, AlertKind::Inside, Priority::Medium);
            }
            Timer::HoldReminder => {
                self.raise(at, AlertSlot::Step, AlertKind::OnHold, Priority::Low);
                self.sound(at, Head::Low, Some(AlertKind::OnHold));
            }
            Timer::ProbeLost => self.lose_probe(at),
            Timer::ShelfOver(slot) => {
                let stage = self.trials[usize::from(at.trial.0)].run.programme.stages[usize::from(at.stage)].id.clone();
                self.emit(at.trial, Fact::AlertUnshelved { stage, slot });
            }
            Timer::Chime(slot, head) => {
                let now = self.now;
                let trial = &mut self.trials[usize::from(at.trial.0)];
                if let Some(alert) = trial.run.stages[usize::from(at.stage)].alerts[slot as usize] {
                    trial.chimes[usize::from(at.stage)].sounded(slot, &alert, now);
                    self.sound(at, head, Some(alert.kind));
                }
                self.touch(at);
            }
        }
    }

    fn beat(&mut self, at: StageAt, rhythm: u8) {
        let Some((run, plan)) = self.running(at) else { return };
        let index = usize::from(rhythm);
        let (Some(plan_rhythm), Some(beats)) = (plan.inside.rhythms.get(index), run.beats.get(index)) else { return };
        // after a long sleep only the last beat is called
        let gone = self.now.since(run.began + run.held_for).millis() / plan_rhythm.every.millis().max(1);
        let count = u32::try_from(gone).unwrap_or(u32::MAX).max(beats.count + 1);
        let missed = count - 1 - beats.answered.min(count - 1);
        let alarm = plan_rhythm.press && missed >= 3 && missed % 3 == 0;
        let step = plan.id.clone();
        let free = self.trials[usize::from(at.trial.0)].run.stages[usize::from(at.stage)].alerts
            [AlertSlot::Inside as usize]
            .is_none();
        self.emit(at.trial, Fact::Beat { step, rhythm, count });
        if alarm && free {
            self.raise(at, AlertSlot::Inside, AlertKind::Inside, Priority::Low);
        } else {
            self.sound(at, Head::Tick, None);
        }
    }

    /// Sends a sound, unless quiet mode keeps it to lamps and panel.
    pub(crate) fn sound(&mut self, at: StageAt, head: Head, kind: Option<AlertKind>) {
        let slot = &self.trials[usize::from(at.trial.0)];
        let lane = slot.lane[usize::from(at.stage)];
        let quiet = slot.run.common.quiet;
        if !quiet || head == Head::High {
            self.signal(Signal { at, lane, head, kind });
        }
    }
}

/// A look is a question if its sign is asked as one or the step goes in rounds, else an open window.
fn look_kind(run: &Running, plan: &recipe_model::Step) -> AlertKind {
    let asks = match &plan.until {
        Until::Rounds { .. } => true,
        Until::Time { .. }
        | Until::Core(_)
        | Until::Cue { .. }
        | Until::Cook { .. }
        | Until::Heat { .. }
        | Until::Rest { .. } => run.looks_of(plan).is_some_and(|looks| looks.cue.ends_with('?')),
    };
    if asks { AlertKind::Question } else { AlertKind::Window }
}

struct Earliest(Option<(RunTime, Timer)>);

impl Earliest {
    fn offer(&mut self, when: RunTime, timer: Timer) {
        if self.0.is_none_or(|known| (when, timer) < known) {
            self.0 = Some((when, timer));
        }
    }
}
