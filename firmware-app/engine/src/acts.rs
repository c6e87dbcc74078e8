//! What each act of the cook does.

use quantities::{Drift, RunTime, Span};
use recipe_model::{EventId, Step, StepRef, Until};
use trial::{
    AlertKind, AlertSlot, BeginCause, Dark, DoneTime, EarlyReason, EndCause, Fact, PauseReason, Priority, Verdict,
};

use crate::{
    engine::Engine,
    input::{Act, LATER, Refusal, StageAt, TrialNo},
    predict::Change,
    state::{EventRun, Half, Phase, Running},
    timing::{Forecast, conditions, half_of, planned_start, ready_at},
    view::AlertState,
};

const MOST_LATER: u8 = 3;
const MOST_LATER_OVERDUE: u8 = 1;
/// How long a closed trial can be opened again.
const REOPEN: Span = Span::from_mins(10);

impl Engine {
    pub(crate) fn act(&mut self, act: Act) -> Result<(), Refusal> {
        match act {
            Act::Start(at) => self.start(at),
            Act::StartAnyway(at) => self.start_anyway(at),
            Act::Acknowledge(at, slot) => self.acknowledge(at, slot),
            Act::Done(at) => self.done(at),
            Act::Look(at, verdict) => self.look(at, verdict),
            Act::Pull(at, reason) => self.pull(at, reason),
            Act::Later(at) => self.later(at),
            Act::ChangeTime(at, by) => self.change_time(at, by),
            Act::Hold(at, reason) => self.hold(at, reason),
            Act::GoOn(at) => self.go_on(at),
            Act::UseTime(at) => self.use_time(at),
            Act::InsideDone(at) => self.inside_done(at),
            Act::Mark(at, event) => self.mark(at, event),
            Act::TakeBranch(at, branch) => {
                let (run, plan) = self.live_step(at)?;
                if !plan.inside.branches.iter().any(|known| known.id == branch) {
                    return Err(Refusal::Unknown(branch.as_str().into()));
                }
                if run.branches.contains(&branch) {
                    return Err(Refusal::SaidAlready);
                }
                let step = plan.id.clone();
                self.emit(at.trial, Fact::BranchTaken { step, branch });
                self.food_changed(at, Change::Setting);
                Ok(())
            }
            Act::StillOn(at, yes) => self.still_on(at, yes),
            Act::Undo => self.undo(),
            Act::Skip(at) => self.skip(at),
            Act::StopStage(at, reason) => {
                let stage = &self.live(at)?.run.stages[usize::from(at.stage)];
                if let Phase::Over { .. } = stage.phase {
                    return Err(Refusal::NotRunning);
                }
                self.stop_stage(at, reason, None);
                Ok(())
            }
            Act::GiveUp(no) => self.give_up(no),
            Act::Reopen(no) => {
                let slot = self.trials.get(usize::from(no.0)).ok_or(Refusal::NoSuchStage)?;
                let Some(closed) = &slot.run.common.closed else { return Err(Refusal::SaidAlready) };
                if self.now.since(closed.at) > REOPEN {
                    return Err(Refusal::TooLate { most_s: REOPEN.whole_secs() });
                }
                // not an action: the undo that follows is meant for what was pressed before the trial was closed
                self.emit_outside_action(no, Fact::TrialReopened);
                self.place_in_lanes(no);
                Ok(())
            }
            Act::Weigh(no, ingredient, amount_thousandths) => {
                let within = self.within_tolerance(no, &ingredient, amount_thousandths)?;
                self.emit(no, Fact::Weighed { ingredient, amount_thousandths, within });
                Ok(())
            }
            Act::Measure(no, what, value_thousandths, unit) => {
                self.write_down(no, Fact::Measured { what, value_thousandths, unit })
            }
            Act::Note(no, step, text) => {
                if let (Some(step), Some(slot)) = (&step, self.trials.get(usize::from(no.0)))
                    && slot.run.place(step).is_none()
                {
                    return Err(Refusal::Unknown(step.as_str().into()));
                }
                self.write_down(no, Fact::Noted { step, text })
            }
            Act::Interrupt(no, reason) => self.write_down(no, Fact::Interrupted { reason }),
            Act::Photo(no, what) => self.write_down(no, Fact::PhotoTaken { what }),
            Act::ChangeCook(no, cook) => self.write_down(no, Fact::CookChanged { cook }),
            Act::Quiet(on) => {
                for no in self.open_trials() {
                    if self.trials[usize::from(no.0)].run.common.quiet != on {
                        self.emit(no, Fact::QuietSet { on });
                    }
                }
                Ok(())
            }
            Act::Correct(no, seq, right, why) => {
                let slot = self.trials.get(usize::from(no.0)).ok_or(Refusal::NoSuchStage)?;
                if seq >= slot.run.next_seq {
                    return Err(Refusal::Unknown(alloc::format!("entry {seq}")));
                }
                self.write_down(no, Fact::Corrected { seq, right, why })
            }
        }
    }

    fn start(&mut self, at: StageAt) -> Result<(), Refusal> {
        let slot = self.live(at)?;
        match &slot.run.stages[usize::from(at.stage)].phase {
            Phase::Ready { step, since } => {
                let (step, since) = (*step, *since);
                self.begin(at, step, Some(since));
                Ok(())
            }
            Phase::Waiting { step } => {
                let place = StepRef { stage: at.stage, step: *step };
                Err(Refusal::Waits { step: slot.run.plan(at.stage, *step).id.clone(), what: self.waits_for(at, place) })
            }
            Phase::Running(_) | Phase::Leaving { .. } | Phase::Over { .. } => Err(Refusal::NothingAsked),
        }
    }

    fn start_anyway(&mut self, at: StageAt) -> Result<(), Refusal> {
        let slot = self.live(at)?;
        match &slot.run.stages[usize::from(at.stage)].phase {
            Phase::Waiting { step } => {
                let step = *step;
                let id = slot.run.plan(at.stage, step).id.clone();
                self.emit(at.trial, Fact::StepReady { step: id, cause: BeginCause::Pressed });
                self.begin(at, step, None);
                Ok(())
            }
            Phase::Ready { .. } => self.start(at),
            Phase::Running(_) | Phase::Leaving { .. } | Phase::Over { .. } => Err(Refusal::NothingAsked),
        }
    }

    fn acknowledge(&mut self, at: StageAt, slot: AlertSlot) -> Result<(), Refusal> {
        let run = &self.live(at)?.run;
        let alert = run.stages[usize::from(at.stage)].alerts[slot as usize].ok_or(Refusal::NothingAsked)?;
        let stage = run.programme.stages[usize::from(at.stage)].id.clone();
        if alert.kind == AlertKind::WasLost {
            self.emit(at.trial, Fact::AlertAcknowledged { stage, slot });
            self.clear(at, slot);
            return Ok(());
        }
        match alert.state {
            AlertState::Sounding | AlertState::Shelved { .. } => {
                self.emit(at.trial, Fact::AlertAcknowledged { stage, slot });
                Ok(())
            }
            AlertState::Acknowledged => Err(Refusal::SaidAlready),
        }
    }

    fn done(&mut self, at: StageAt) -> Result<(), Refusal> {
        let slot = self.live(at)?;
        match &slot.run.stages[usize::from(at.stage)].phase {
            Phase::Leaving { step, .. } => {
                let step = slot.run.plan(at.stage, *step).id.clone();
                let core = self.core_now(at);
                self.keep_carry_over(at, &step);
                self.emit(at.trial, Fact::TakenOff { step, core_celsius: core });
                Ok(())
            }
            Phase::Running(run) => {
                let plan = slot.run.plan(at.stage, run.step);
                if run.looks_of(plan).is_some() || matches!(plan.until, Until::Rounds { .. }) {
                    return self.look(at, Verdict::Done);
                }
                if let Until::Rest { least, .. } = &plan.until {
                    let rested = run.ran(self.now);
                    if rested < *least {
                        let left_s = least.saturating_sub(rested).millis().div_ceil(1000);
                        return Err(Refusal::RestTooShort { step: plan.id.clone(), left_s });
                    }
                }
                let step = plan.id.clone();
                let done = match (&plan.until, run.called) {
                    // it comes to its target off the heat: it was time when the cook was called
                    (Until::Core(_), Some(at)) => DoneTime::Exact { at },
                    // not at its target: what the cook saw is that it was not done yet
                    (Until::Core(_), None) => DoneTime::After { after: self.now, reason: EarlyReason::PulledEarly },
                    (
                        Until::Time { .. }
                        | Until::Cue { .. }
                        | Until::Cook { .. }
                        | Until::Heat { .. }
                        | Until::Rest { .. }
                        | Until::Rounds { .. },
                        _,
                    ) => DoneTime::Timed,
                };
                self.keep_carry_over(at, &step);
                self.last_peak(at);
                self.end(at, EndCause::Press, done);
                Ok(())
            }
            Phase::Waiting { .. } | Phase::Ready { .. } | Phase::Over { .. } => Err(Refusal::NotRunning),
        }
    }

    fn look(&mut self, at: StageAt, verdict: Verdict) -> Result<(), Refusal> {
        let (run, plan) = self.live_step(at)?;
        let rounds = matches!(plan.until, Until::Rounds { .. });
        if run.looks_of(plan).is_none() && !rounds {
            return Err(Refusal::NothingAsked);
        }
        let step = plan.id.clone();
        let (round, took) = (run.round + 1, self.now.since(run.round_began));
        let done = match run.last_not_yet {
            Some(after) => DoneTime::Between { after, by: self.now },
            None => DoneTime::Before { by: self.now },
        };
        let watch = self.slot(at).and_then(|slot| slot.watches[usize::from(at.stage)].as_ref());
        let estimate = watch.and_then(|watch| watch.estimate(self.now).ok());
        let core_celsius = self.core_now(at);
        self.emit(at.trial, Fact::Looked { step: step.clone(), verdict, core_celsius, estimate });
        if rounds {
            self.emit(at.trial, Fact::RoundEnded { step, round, took });
        }
        match verdict {
            Verdict::NotYet => self.clear(at, AlertSlot::Step),
            Verdict::Done => self.end(at, EndCause::LookDone, done),
            Verdict::Over => self.end(at, EndCause::LookOver, done),
        }
        Ok(())
    }

    fn pull(&mut self, at: StageAt, reason: EarlyReason) -> Result<(), Refusal> {
        let (run, plan) = self.live_step(at)?;
        if let Until::Rest { least, .. } = &plan.until
            && run.ran(self.now) < *least
        {
            let left_s = least.saturating_sub(run.ran(self.now)).millis().div_ceil(1000);
            return Err(Refusal::RestTooShort { step: plan.id.clone(), left_s });
        }
        let (step, after) = (plan.id.clone(), not_done_until(run, plan, self.now));
        self.keep_carry_over(at, &step);
        self.last_peak(at);
        self.end(at, EndCause::Press, DoneTime::After { after, reason });
        Ok(())
    }

    fn later(&mut self, at: StageAt) -> Result<(), Refusal> {
        let run = &self.live(at)?.run;
        let stage = &run.stages[usize::from(at.stage)];
        let slots = [AlertSlot::Resume, AlertSlot::Probe, AlertSlot::Step, AlertSlot::Inside];
        let worst = slots
            .into_iter()
            .filter_map(|slot| stage.alerts[slot as usize].map(|alert| (alert.kind, slot, alert)))
            .filter(|(_, _, alert)| !matches!(alert.state, AlertState::Shelved { .. }))
            .min_by_key(|(kind, slot, _)| (*kind, *slot));
        let (kind, slot, _) = worst.ok_or(Refusal::NothingAsked)?;
        let (times, left) = put_off(kind, stage.later);
        if left == 0 {
            return Err(Refusal::LaterTooOften { times });
        }
        let stage = run.programme.stages[usize::from(at.stage)].id.clone();
        let until = self.now + LATER;
        self.emit(at.trial, Fact::AlertShelved { stage, slot, until });
        Ok(())
    }

    fn change_time(&mut self, at: StageAt, by: Drift) -> Result<(), Refusal> {
        let (run, plan) = self.live_step(at)?;
        let Some(due) = run.due_at(plan) else { return Err(Refusal::NothingAsked) };
        if let Until::Rest { .. } = plan.until
            && by.is_early()
        {
            return Err(Refusal::RestTooShort { step: plan.id.clone(), left_s: due.since(self.now).whole_secs() });
        }
        let left = due.since(self.now);
        if by.is_early() && by.size() >= left {
            return Err(Refusal::TooMuchTaken { left_s: left.whole_secs() });
        }
        // more time for a step that is late counts from now
        let by = if by.is_early() {
            by
        } else {
            let late = i64::try_from(self.now.since(due).millis()).unwrap_or(i64::MAX);
            Drift::from_millis(by.millis().saturating_add(late))
        };
        let step = plan.id.clone();
        self.emit(at.trial, Fact::TimeChanged { step, by });
        // it is no longer due or asked: the new time says when
        self.clear(at, AlertSlot::Step);
        Ok(())
    }

    fn hold(&mut self, at: StageAt, reason: PauseReason) -> Result<(), Refusal> {
        let (run, plan) = self.live_step(at)?;
        let step = plan.id.clone();
        if run.held.is_some() {
            return Err(Refusal::HoldUnchanged);
        }
        if !plan.holdable {
            return Err(Refusal::CannotHold { step });
        }
        self.clear(at, AlertSlot::Step);
        self.emit(at.trial, Fact::Held { step, reason });
        Ok(())
    }

    fn go_on(&mut self, at: StageAt) -> Result<(), Refusal> {
        let (run, plan) = self.live_step(at)?;
        if run.held.is_none() {
            return Err(Refusal::HoldUnchanged);
        }
        let step = plan.id.clone();
        self.emit(at.trial, Fact::WentOn { step });
        Ok(())
    }

    fn use_time(&mut self, at: StageAt) -> Result<(), Refusal> {
        let (run, plan) = self.live_step(at)?;
        if run.by_time {
            return Err(Refusal::SaidAlready);
        }
        if !matches!(plan.until, Until::Core(_)) || run.lost.is_none() {
            return Err(Refusal::NothingAsked);
        }
        let step = plan.id.clone();
        self.emit(at.trial, Fact::FellBack { step });
        self.clear(at, AlertSlot::Probe);
        Ok(())
    }

    fn inside_done(&mut self, at: StageAt) -> Result<(), Refusal> {
        let (run, plan) = self.live_step(at)?;
        let step = plan.id.clone();
        let first_half = run.ran(self.now);
        if run.moving_probe {
            // a half or an event that was called meanwhile is asked next
            if !asks_inside(run) {
                self.clear(at, AlertSlot::Inside);
            }
            self.probe_moved(at, step);
            return Ok(());
        }
        if let Half::Called(_) = run.half {
            self.emit(at.trial, Fact::HalfTurned { step, first_half });
            self.food_changed(at, Change::Turned);
        } else if let Some(event) = run.events.iter().position(|event| matches!(event, EventRun::Called(_))) {
            self.emit(at.trial, Fact::EventDone { step, event: event as u8 });
            self.food_changed(at, Change::Setting);
        } else if let Some((rhythm, beats)) =
            run.beats.iter().enumerate().find(|(_, beats)| beats.count > beats.answered)
        {
            let count = beats.count;
            self.emit(at.trial, Fact::BeatDone { step, rhythm: rhythm as u8, count });
        } else {
            return Err(Refusal::NothingAsked);
        }
        let more = self.running(at).is_some_and(|(run, _)| asks_inside(run));
        if !more {
            self.clear(at, AlertSlot::Inside);
        }
        Ok(())
    }

    fn mark(&mut self, at: StageAt, event: EventId) -> Result<(), Refusal> {
        let run = &self.live(at)?.run;
        if !run.knows_event(&event) {
            return Err(Refusal::Unknown(event.as_str().into()));
        }
        if run.common.events.contains_key(&event) {
            return Err(Refusal::SaidAlready);
        }
        self.emit(at.trial, Fact::Marked { event });
        Ok(())
    }

    fn still_on(&mut self, at: StageAt, yes: bool) -> Result<(), Refusal> {
        let run = &self.live(at)?.run;
        let asked = run.stages[usize::from(at.stage)].alerts[AlertSlot::Resume as usize];
        let asked = asked.ok_or(Refusal::NothingAsked)?.raised;
        let cut = asked.earlier(run.common.dark.map_or(Span::ZERO, Dark::counted));
        let stage = run.programme.stages[usize::from(at.stage)].id.clone();
        self.emit(at.trial, Fact::StillCooking { stage, yes });
        self.clear(at, AlertSlot::Resume);
        if !yes {
            self.stop_stage(at, EarlyReason::PowerCut, Some(cut));
        }
        Ok(())
    }

    fn undo(&mut self) -> Result<(), Refusal> {
        let last = self.shown_trials().filter_map(|(no, slot)| {
            let (action, at, _) = slot.run.last_action()?;
            Some((at, no, action))
        });
        let last: alloc::vec::Vec<_> = last.collect();
        let newest = last.iter().map(|(at, ..)| *at).max().ok_or(Refusal::NothingToUndo)?;
        // one press may have been an action of several trials
        for (_, no, action) in last.into_iter().filter(|(at, ..)| *at == newest) {
            let asked = self.still_asked(no);
            self.emit_outside_action(no, Fact::Undone { action });
            // what the predictors were told is taken back too
            for watch in self.trials[usize::from(no.0)].watches.iter_mut().flatten() {
                watch.go_back(newest);
            }
            // a power cut is not undone
            let answered = self.still_asked(no);
            for at in asked.into_iter().filter(|at| !answered.contains(at)) {
                let stage = &self.trials[usize::from(no.0)].run.stages[usize::from(at.stage)];
                if matches!(stage.phase, Phase::Running(_) | Phase::Leaving { .. }) {
                    self.raise(at, AlertSlot::Resume, AlertKind::StillCooking, Priority::Medium);
                }
            }
        }
        Ok(())
    }

    /// The stages of a trial that are asked whether they are still cooking.
    fn still_asked(&self, no: TrialNo) -> alloc::vec::Vec<StageAt> {
        let stages = self.trials[usize::from(no.0)].run.stages.iter().enumerate();
        let asked = stages.filter(|(_, stage)| stage.alerts[AlertSlot::Resume as usize].is_some());
        asked.map(|(stage, _)| StageAt { trial: no, stage: stage as u16 }).collect()
    }

    fn skip(&mut self, at: StageAt) -> Result<(), Refusal> {
        let slot = self.live(at)?;
        let stage = &slot.run.stages[usize::from(at.stage)];
        match &stage.phase {
            Phase::Waiting { step } | Phase::Ready { step, .. } => {
                let plan = slot.run.plan(at.stage, *step);
                let id = plan.id.clone();
                // a rest that is part of the cooking is not got round by never beginning it
                if let Until::Rest { least, .. } = &plan.until
                    && !least.is_zero()
                {
                    return Err(Refusal::RestTooShort { step: id, left_s: least.millis().div_ceil(1000) });
                }
                let done = DoneTime::After { after: self.now, reason: EarlyReason::Skipped };
                let fact =
                    Fact::StepEnded { step: id, cause: EndCause::Skipped, ran: Span::ZERO, done, core_celsius: None };
                self.emit(at.trial, fact);
                Ok(())
            }
            Phase::Running(run) => {
                let plan = slot.run.plan(at.stage, run.step);
                if let Until::Rest { least, .. } = &plan.until
                    && run.ran(self.now) < *least
                {
                    let left_s = least.saturating_sub(run.ran(self.now)).millis().div_ceil(1000);
                    return Err(Refusal::RestTooShort { step: plan.id.clone(), left_s });
                }
                let after = not_done_until(run, plan, self.now);
                self.end(at, EndCause::Skipped, DoneTime::After { after, reason: EarlyReason::Skipped });
                Ok(())
            }
            Phase::Leaving { .. } => self.done(at),
            Phase::Over { .. } => Err(Refusal::NotRunning),
        }
    }

    /// Stops a stage; what a probe says counts up to `cut` at most.
    fn stop_stage(&mut self, at: StageAt, reason: EarlyReason, cut: Option<RunTime>) {
        if let Some((run, plan)) = self.running(at) {
            let after = not_done_until(run, plan, cut.map_or(self.now, |cut| cut.max(run.began)));
            self.end(at, EndCause::Stopped, DoneTime::After { after, reason });
        }
        let stage = self.trials[usize::from(at.trial.0)].run.programme.stages[usize::from(at.stage)].id.clone();
        self.emit(at.trial, Fact::StageStopped { stage, reason });
    }

    fn give_up(&mut self, no: TrialNo) -> Result<(), Refusal> {
        let slot = self.trials.get(usize::from(no.0)).ok_or(Refusal::NoSuchStage)?;
        if slot.run.common.closed.is_some() {
            return Err(Refusal::Closed);
        }
        // one that was opened again and has nothing left to do is only closed
        let given_up = slot.run.stages.iter().any(|stage| !matches!(stage.phase, Phase::Over { .. }));
        for stage in 0..slot.run.stages.len() {
            let at = StageAt { trial: no, stage: stage as u16 };
            if !matches!(self.trials[usize::from(no.0)].run.stages[stage].phase, Phase::Over { .. }) {
                self.stop_stage(at, EarlyReason::GivenUp, None);
            }
        }
        let missing = crate::closing::missing(&self.trials[usize::from(no.0)].run);
        self.emit(no, Fact::TrialClosed { given_up, missing });
        Ok(())
    }

    fn within_tolerance(
        &self,
        no: TrialNo,
        ingredient: &recipe_model::IngredientId,
        thousandths: u64,
    ) -> Result<bool, Refusal> {
        let slot = self.trials.get(usize::from(no.0)).ok_or(Refusal::NoSuchStage)?;
        let known = slot.run.programme.ingredients.iter().find(|known| known.id == *ingredient);
        let known = known.ok_or_else(|| Refusal::Unknown(ingredient.as_str().into()))?;
        Ok(crate::closing::within(known, thousandths))
    }

    /// Facts about the trial as a whole, also after it is closed.
    fn write_down(&mut self, no: TrialNo, fact: Fact) -> Result<(), Refusal> {
        if usize::from(no.0) >= self.trials.len() {
            return Err(Refusal::NoSuchStage);
        }
        self.emit(no, fact);
        Ok(())
    }

    /// Ends the running step of a stage.
    pub(crate) fn end(&mut self, at: StageAt, cause: EndCause, done: DoneTime) {
        let Some((run, plan)) = self.running(at) else { return };
        let (step, ran) = (plan.id.clone(), run.ran(self.now));
        let core_celsius = self.core_now(at);
        self.emit(at.trial, Fact::StepEnded { step, cause, ran, done, core_celsius });
    }

    fn live(&self, at: StageAt) -> Result<&crate::engine::Slot, Refusal> {
        let slot = self.slot(at).ok_or(Refusal::NoSuchStage)?;
        if slot.run.common.closed.is_some() { Err(Refusal::Closed) } else { Ok(slot) }
    }

    fn live_step(&self, at: StageAt) -> Result<(&Running, &Step), Refusal> {
        self.live(at)?;
        self.running(at).ok_or(Refusal::NotRunning)
    }

    /// What a waiting step waits for, in words.
    fn waits_for(&self, at: StageAt, place: StepRef) -> alloc::string::String {
        let slot = &self.trials[usize::from(at.trial.0)];
        let mut forecast = Forecast::new(&slot.run, &slot.watches, self.now);
        let first_open = conditions(&slot.run, place).find(|begin| match &begin.anchor {
            recipe_model::Anchor::Step { step, edge, .. } => {
                let run = &slot.run.stages[usize::from(step.stage)].steps[usize::from(step.step)];
                match edge {
                    recipe_model::Edge::Start => run.began.is_none(),
                    recipe_model::Edge::End => run.ended.is_none(),
                }
            }
            recipe_model::Anchor::Event { event, .. } => !slot.run.common.events.contains_key(event),
            recipe_model::Anchor::BeforeEnd { .. } => false,
        });
        match first_open.map(|begin| &begin.anchor) {
            Some(recipe_model::Anchor::Step { step, .. } | recipe_model::Anchor::BeforeEnd { step, .. }) => {
                slot.run.programme.step(*step).map_or_else(Default::default, |step| step.id.as_str().into())
            }
            Some(recipe_model::Anchor::Event { event, .. }) => event.as_str().into(),
            None if matches!(ready_at(&slot.run, &mut forecast, place), Some((_, BeginCause::Planned))) => {
                let start = planned_start(&slot.run, place).unwrap_or(self.now);
                alloc::format!("its planned start, {} s more", start.since(self.now).whole_secs())
            }
            None => match forecast.begin(place) {
                Some(when) => alloc::format!("{} s more", when.since(self.now).whole_secs()),
                None => "the step before it".into(),
            },
        }
    }
}

/// How often an alert of this kind was put off, of the counts before and after it was overdue, and how often it still can be.
pub(crate) fn put_off(kind: AlertKind, counts: (u8, u8)) -> (u8, u8) {
    let (times, most) = match kind {
        AlertKind::Overdue => (counts.1, MOST_LATER_OVERDUE),
        AlertKind::ProbeLost | AlertKind::StillCooking => (0, 0),
        AlertKind::Due
        | AlertKind::Inside
        | AlertKind::Question
        | AlertKind::Window
        | AlertKind::Ready
        | AlertKind::Soon
        | AlertKind::OnHold
        | AlertKind::WasLost => (counts.0, MOST_LATER),
    };
    (times, most.saturating_sub(times))
}

/// Whether something inside a running step is called and not answered.
pub(crate) fn asks_inside(run: &Running) -> bool {
    matches!(run.half, Half::Called(_)) || run.events.iter().any(|event| matches!(event, EventRun::Called(_)))
}

/// The last moment at which a running step is known not to be done.
fn not_done_until(run: &Running, plan: &Step, now: RunTime) -> RunTime {
    match &plan.until {
        // the probe says so up to now, or did until it was lost
        Until::Core(_) if !run.by_time && run.lost.is_none_or(|lost| lost > now) => now,
        Until::Core(_) => run.last_not_yet.max(run.probe_said).unwrap_or(run.began),
        Until::Time { .. } | Until::Cue { .. } | Until::Rounds { .. } => run.last_not_yet.unwrap_or(run.began),
        Until::Cook { .. } | Until::Heat { .. } | Until::Rest { .. } => now,
    }
}

/// What is left of a running step, for a hold.
pub(crate) fn left(run: &Running, plan: &Step, now: RunTime) -> Option<Span> {
    let held_now = run.held.map_or(Span::ZERO, |since| now.since(since));
    match run.half {
        Half::Called(_) => Some(half_of(plan)),
        Half::Before | Half::Turned { .. } => run.due_at(plan).map(|due| (due + held_now).since(now)),
    }
}
