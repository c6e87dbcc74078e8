//! What a reading does to the steps that hang on it.

use quantities::{Celsius, CelsiusStep, Reading, RunTime, Span};
use recipe_model::{CoreTarget, StepId, Until};
use thermometry::Sensor;
use trial::{AlertKind, AlertSlot, DoneTime, EndCause, Fact, Priority};

use crate::{
    engine::Engine,
    input::{ProbeDevice, StageAt},
    predict::Change,
    probe_watch::{HOLD_GAP, STEADY, Taken, Watch},
    state::Running,
};

/// An appliance is at temperature when it has been for this long.
const HEAT_HOLD: Span = Span::from_secs(10);
/// A new peak is written when it is over the last one by this much.
const PEAK_STEP: CelsiusStep = CelsiusStep::from_ten_thousandths(5000);

impl Engine {
    pub(crate) fn reading(&mut self, device: &ProbeDevice, reading: Reading) {
        for at in self.stages_on(device) {
            self.stage_reading(at, reading);
        }
        if let Ok(air) = reading {
            self.air_reading(device, air, self.now);
        }
    }

    /// The air beside the food, for the predictions of the steps that have this probe in it.
    pub(crate) fn air_reading(&mut self, device: &ProbeDevice, air: Celsius, now: RunTime) {
        if !(Sensor::KITCHEN.low..=Sensor::KITCHEN.high).contains(&air) {
            return;
        }
        for at in self.stages_beside(device) {
            let slot = &mut self.trials[usize::from(at.trial.0)];
            let air = slot.calibrations.get(device).map_or(air, |known| known.by.corrected(air));
            if let Some(watch) = &mut slot.watches[usize::from(at.stage)] {
                watch.take_air(air, now);
            }
        }
    }

    fn stage_reading(&mut self, at: StageAt, reading: Reading) {
        let now = self.now;
        let slot = &mut self.trials[usize::from(at.trial.0)];
        slot.tell_past(usize::from(at.stage), now);
        let Some(watch) = &mut slot.watches[usize::from(at.stage)] else { return };
        let gap = watch.last_good.map_or(Span::ZERO, |(_, last)| now.since(last));
        let taken = watch.take(reading, now);
        let estimated = watch.refresh_estimate(now);
        let steady = watch.good_since.is_some_and(|since| now.since(since) >= STEADY);
        self.touch(at);
        if estimated {
            self.touch_dependents(at);
            self.keep_prediction(at);
        }
        if let Taken::Good(_) = taken {
            self.note_below(at);
        }
        let Some((run, plan)) = self.running(at) else { return };
        let step = plan.id.clone();
        if let (Some(since), true) = (run.lost, steady) {
            self.probe_back(at, step, since);
            return;
        }
        let core = match taken {
            Taken::Good(core) => core,
            Taken::Doubtful => return,
            Taken::Bad { in_vain } => {
                // what was held by readings that were believed in vain was not held, nor was the call founded
                if in_vain && run.crossed.is_some() {
                    self.emit(at.trial, Fact::HoldBroken { step, core_celsius: None });
                }
                if in_vain {
                    self.take_call_back(at, true);
                }
                return;
            }
        };
        if run.lost.is_some() || run.held.is_some() {
            return;
        }
        match &plan.until {
            Until::Core(target) if !run.by_time && !run.moving_probe => {
                let target = target.clone();
                self.warn_of_tip(at);
                self.core_reading(at, &target, gap);
                if estimated {
                    self.call_early(at);
                    self.take_call_back(at, false);
                }
            }
            Until::Heat { at: wanted, .. } => {
                let wanted = *wanted;
                self.heat_reading(at, wanted, core, gap);
            }
            Until::Rest { .. } => self.rest_reading(at),
            Until::Core(_) | Until::Time { .. } | Until::Cue { .. } | Until::Cook { .. } | Until::Rounds { .. } => {}
        }
    }

    /// Says once that the tip may be shallow.
    fn warn_of_tip(&mut self, at: StageAt) {
        let Some((run, plan)) = self.running(at) else { return };
        let found = self.watch(at).and_then(Watch::shallow).filter(|_| !run.shallow_tip);
        if let Some(found) = found {
            let step = plan.id.clone();
            let ratio_thousandths = libm::round(found.ratio.clamp(0.0, 1.0) * 1000.0) as u16;
            self.emit(at.trial, Fact::TipMayBeShallow { step, ratio_thousandths });
        }
    }

    /// Calls the cook to take food that will come to its target in the rest. It ends nothing: the cook does, or the
    /// target itself.
    fn call_early(&mut self, at: StageAt) {
        let Some((run, plan)) = self.running(at) else { return };
        let Until::Core(target) = &plan.until else { return };
        let watch = self.watch(at).filter(|watch| watch.would_come());
        let Some(carry_over) = watch.and_then(|watch| watch.last_carry_over(self.now)) else { return };
        // a published minimum is measured on the heat, whatever the rest would bring
        let counted = watch.and_then(Watch::counted);
        if target.not_below.is_some_and(|least| counted.is_none_or(|counted| counted < least)) {
            return;
        }
        if run.called.is_some() || run.crossed.is_some() {
            return;
        }
        let step = plan.id.clone();
        let due = run.due.is_some();
        let core_celsius = self.core_now(at);
        self.emit(at.trial, Fact::PullAdvised { step: step.clone(), core_celsius, carry_over });
        if !due {
            self.emit(at.trial, Fact::StepDue { step });
        }
        self.raise(at, AlertSlot::Step, AlertKind::Due, Priority::Medium);
    }

    /// Takes the call back: the food would not come to its target off the heat after all, or nobody knows.
    fn take_call_back(&mut self, at: StageAt, unfounded: bool) {
        let Some((run, plan)) = self.running(at) else { return };
        let short = self.watch(at).is_some_and(Watch::falls_short);
        if run.called.is_none() || run.crossed.is_some() || !(unfounded || short) {
            return;
        }
        let step = plan.id.clone();
        self.emit(at.trial, Fact::PullWithdrawn { step });
        self.clear(at, AlertSlot::Step);
    }

    /// Writes down what the core is to come to, as the food leaves the heat.
    pub(crate) fn keep_carry_over(&mut self, at: StageAt, step: &StepId) {
        let Some(carry_over) = self.watch(at).and_then(|watch| watch.carry_over(self.now)) else { return };
        let core_celsius = self.core_now(at);
        self.emit(at.trial, Fact::CarryPredicted { step: step.clone(), core_celsius, carry_over });
    }

    pub(crate) fn watch(&self, at: StageAt) -> Option<&Watch> {
        self.slot(at)?.watches[usize::from(at.stage)].as_ref()
    }

    /// Remembers when a reading was last below what the step waits for.
    fn note_below(&mut self, at: StageAt) {
        let Some((_, plan)) = self.running(at) else { return };
        let wanted = match &plan.until {
            Until::Core(target) => target.target,
            Until::Heat { at: wanted, .. } => *wanted,
            Until::Time { .. } | Until::Cue { .. } | Until::Cook { .. } | Until::Rest { .. } | Until::Rounds { .. } => {
                return;
            }
        };
        let now = self.now;
        if let Some(watch) = &mut self.trials[usize::from(at.trial.0)].watches[usize::from(at.stage)] {
            let core = watch.counted().or(watch.last_good.map(|(core, _)| core));
            if core.is_some_and(|core| core < wanted) {
                watch.last_below = Some(now);
            }
        }
    }

    /// What is known of a crossing that no two readings close together saw: it lies after the last one below, or,
    /// without one, after the place before it was at target, or is only known to be over.
    fn unseen(&self, at: StageAt, last_point: Option<RunTime>) -> Option<DoneTime> {
        let now = self.now;
        let watch = self.watch(at);
        match (watch.and_then(|watch| watch.last_below), last_point) {
            (Some(below), _) if now.since(below) <= HOLD_GAP => None,
            (Some(after), _) | (None, Some(after)) => Some(DoneTime::Between { after, by: now }),
            (None, None) => Some(DoneTime::Before { by: now }),
        }
    }

    fn core_reading(&mut self, at: StageAt, target: &CoreTarget, gap: Span) {
        let now = self.now;
        let Some((run, plan)) = self.running(at) else { return };
        let step = plan.id.clone();
        let crossed = run.crossed;
        let points = run.points;
        if crossed.is_some() && gap > HOLD_GAP {
            self.emit(at.trial, Fact::HoldBroken { step, core_celsius: None });
            return;
        }
        let Some(counted) = self.watch(at).and_then(Watch::counted) else { return };
        match crossed {
            None if counted >= target.target => {
                // even without a hold the next reading has to say the same: one sample ends nothing
                let unseen = self.unseen(at, run.last_point);
                self.emit(at.trial, Fact::TargetCrossed { step, core_celsius: counted, unseen });
            }
            None => {}
            Some(_) if counted < target.target - target.hysteresis => {
                self.emit(at.trial, Fact::HoldBroken { step, core_celsius: Some(counted) });
            }
            Some((since, done)) if now.since(since) >= target.hold => {
                self.held(at, target, step, points, counted, done)
            }
            Some(_) => {}
        }
    }

    fn held(&mut self, at: StageAt, target: &CoreTarget, step: StepId, points: u8, core: Celsius, done: DoneTime) {
        let point = points + 1;
        if point < target.points {
            self.emit(at.trial, Fact::PointHeld { step, point, core_celsius: core });
            self.raise(at, AlertSlot::Inside, AlertKind::Inside, Priority::Medium);
            return;
        }
        self.end(at, EndCause::CoreHeld, done);
    }

    fn heat_reading(&mut self, at: StageAt, wanted: Celsius, air: Celsius, gap: Span) {
        let Some((run, plan)) = self.running(at) else { return };
        let step = plan.id.clone();
        match run.crossed {
            None if air >= wanted => {
                let unseen = self.unseen(at, None);
                self.emit(at.trial, Fact::TargetCrossed { step, core_celsius: air, unseen });
            }
            None => {}
            Some(_) if air < wanted - CelsiusStep::whole(2) || gap > HOLD_GAP => {
                self.emit(at.trial, Fact::HoldBroken { step, core_celsius: Some(air) });
            }
            Some((since, done)) if self.now.since(since) >= HEAT_HOLD => {
                self.end(at, EndCause::HeatReached, done);
            }
            Some(_) => {}
        }
    }

    fn rest_reading(&mut self, at: StageAt) {
        let Some(watch) = self.watch(at) else { return };
        let (Some((core_celsius, when)), Some(start)) = (watch.highest, watch.rest_start) else { return };
        let Some((run, plan)) = self.running(at) else { return };
        let known = run.peak.map_or(start, |(peak, _)| peak);
        if core_celsius >= known + PEAK_STEP {
            let step = plan.id.clone();
            let at_least_celsius = watch.at_least();
            let rise_celsius = core_celsius - start;
            self.emit(at.trial, Fact::PeakSeen { step, core_celsius, when, rise_celsius, at_least_celsius });
        }
    }

    /// Writes the peak of a rest that is about to end, if it is over what was written.
    pub(crate) fn last_peak(&mut self, at: StageAt) {
        let now = self.now;
        if let Some(watch) = &mut self.trials[usize::from(at.trial.0)].watches[usize::from(at.stage)] {
            watch.settle_peaks(now);
        }
        let Some((run, plan)) = self.running(at) else { return };
        let Some(watch) = self.watch(at) else { return };
        let (Until::Rest { .. }, Some((highest, when)), Some(start)) = (&plan.until, watch.highest, watch.rest_start)
        else {
            return;
        };
        let at_least_celsius = watch.at_least();
        let known =
            self.slot(at).and_then(|slot| slot.run.stages[usize::from(at.stage)].steps.get(usize::from(run.step)));
        let more = at_least_celsius > known.and_then(|step| step.peak_at_least);
        if more || run.peak.is_none_or(|(peak, _)| highest > peak) {
            let step = plan.id.clone();
            let (core_celsius, when) = run.peak.filter(|(peak, _)| *peak >= highest).unwrap_or((highest, when));
            let rise_celsius = core_celsius - start;
            self.emit(at.trial, Fact::PeakSeen { step, core_celsius, when, rise_celsius, at_least_celsius });
        }
    }

    pub(crate) fn lose_probe(&mut self, at: StageAt) {
        let now = self.now;
        let watch = self.watch(at);
        let Some((run, plan)) = self.running(at) else { return };
        let Some(probe) = plan.until.probe().cloned() else { return };
        let why = watch.map_or(quantities::NoReading::Unplugged, |watch| watch.lost_at().1);
        let last = watch.and_then(|watch| watch.last_good);
        let age = now.since(last.map_or(run.began, |(_, at)| at));
        let priority = match plan.until {
            Until::Core(_) => Priority::High,
            Until::Heat { .. }
            | Until::Rest { .. }
            | Until::Time { .. }
            | Until::Cue { .. }
            | Until::Cook { .. }
            | Until::Rounds { .. } => Priority::Medium,
        };
        let step = plan.id.clone();
        self.take_call_back(at, true);
        self.emit(at.trial, Fact::ProbeLost { probe, step, why, last_celsius: last.map(|(core, _)| core), age });
        self.raise(at, AlertSlot::Probe, AlertKind::ProbeLost, priority);
        self.touch_dependents(at);
    }

    fn probe_back(&mut self, at: StageAt, step: StepId, since: RunTime) {
        let now = self.now;
        let Some((run, plan)) = self.running(at) else { return };
        let Some(probe) = plan.until.probe().cloned() else { return };
        let by_time = run.by_time;
        let is_core = matches!(plan.until, Until::Core(_));
        self.emit(at.trial, Fact::ProbeBack { probe, step, lost_for: now.since(since) });
        // the looks of the fallback are not asked any more
        if is_core && !by_time {
            self.clear(at, AlertSlot::Step);
        }
        self.raise(at, AlertSlot::Probe, AlertKind::WasLost, Priority::Low);
        self.touch_dependents(at);
    }

    /// The probe was moved to the next place.
    pub(crate) fn probe_moved(&mut self, at: StageAt, step: StepId) {
        if let Some(watch) = &mut self.trials[usize::from(at.trial.0)].watches[usize::from(at.stage)] {
            watch.moved(self.now);
        }
        self.emit(at.trial, Fact::ProbeMoved { step });
    }

    /// Tells the watch what the cook did to the food.
    pub(crate) fn food_changed(&mut self, at: StageAt, change: Change) {
        let now = self.now;
        if let Some(watch) = &mut self.trials[usize::from(at.trial.0)].watches[usize::from(at.stage)] {
            watch.changed(change, now);
        }
    }

    /// The last good reading of a stage's probe, if it is fresh.
    pub(crate) fn core_now(&self, at: StageAt) -> Option<Celsius> {
        self.watch(at)?
            .last_good
            .filter(|(_, last)| self.now.since(*last) <= crate::probe_watch::STALE)
            .map(|(core, _)| core)
    }

    /// Writes a prediction at every tenth of the expected time, so that predictions can be scored.
    fn keep_prediction(&mut self, at: StageAt) {
        let now = self.now;
        let Some((run, plan)) = self.running(at) else { return };
        if due_tenth(run, plan, now) <= run.tenths_predicted || !matches!(plan.until, Until::Core(_)) {
            return;
        }
        let watch = self.watch(at);
        let Some(Ok(estimate)) = watch.map(|watch| watch.estimate(now)) else { return };
        let step = plan.id.clone();
        self.emit(at.trial, Fact::Predicted { step, estimate });
    }
}

fn due_tenth(run: &Running, plan: &recipe_model::Step, now: RunTime) -> u8 {
    let tenth = (plan.until.expected().middle() / 10).millis().max(1);
    u8::try_from(now.since(run.began).millis() / tenth).unwrap_or(u8::MAX)
}
