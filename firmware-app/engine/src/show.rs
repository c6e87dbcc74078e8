//! Makes the view of a run from its state.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use quantities::{Celsius, RunTime, Span};
use recipe_model::{Step, StepRef, Until};
use trial::{AlertKind, AlertSlot, Withheld};

use crate::{
    acts::{left, put_off},
    engine::{Engine, Slot},
    input::{StageAt, TrialNo},
    plan::is_open,
    probe_watch::Watch,
    state::{Alert, EventRun, Half, Phase, Running},
    timing::{Forecast, latest_begin, ready_at},
    view::{
        AlertState, AlertView, EndedView, KeyWord, LandingView, LaneState, LaneView, LooksView, NextView, NextWhat,
        PlanView, ProbeView, ResumeView, RunView, StageView, StartView, TrialView, UndoView,
    },
};

const SLOTS: [AlertSlot; 4] = [AlertSlot::Step, AlertSlot::Probe, AlertSlot::Inside, AlertSlot::Resume];

impl Engine {
    /// What is to be shown at the moment of the last input, or at a later one if nothing was due in between.
    pub fn view(&self, now: RunTime) -> RunView {
        let now = now.max(self.now);
        let alerts = self.alerts();
        let lanes = core::array::from_fn(|i| self.lane(i as u8 + 1, now, &alerts));
        let trials: Vec<TrialView> = self.shown_trials().map(|(no, slot)| self.trial(no, slot, now)).collect();
        let all_done = trials.iter().filter(|trial| trial.closed.is_none()).filter_map(|trial| trial.all_done).max();
        RunView {
            now,
            all_done,
            next: if alerts.iter().any(claims) { None } else { self.next(now) },
            starts: self.starts(),
            landings: self.landings(),
            undo: self.undo_view(),
            resume: self.resume(&alerts),
            quiet: self.trials.iter().any(|slot| slot.run.common.closed.is_none() && slot.run.common.quiet),
            trials,
            lanes,
            alerts,
        }
    }

    /// Open trials; when none is open, the last one that was closed.
    pub(crate) fn shown_trials(&self) -> impl Iterator<Item = (TrialNo, &Slot)> {
        let any_open = self.is_running();
        let closed =
            self.trials.iter().enumerate().filter_map(|(i, slot)| Some((slot.run.common.closed.as_ref()?.at, i)));
        let last = closed.max().map(|(_, i)| i).filter(|_| !any_open);
        self.trials
            .iter()
            .enumerate()
            .filter(move |(i, slot)| slot.run.common.closed.is_none() || last == Some(*i))
            .map(|(i, slot)| (TrialNo(i as u16), slot))
    }

    fn trial(&self, no: TrialNo, slot: &Slot, now: RunTime) -> TrialView {
        let run = &slot.run;
        let mut ended = Vec::new();
        for (stage, state) in run.programme.stages.iter().zip(&run.stages) {
            for (plan, step) in stage.steps.iter().zip(&state.steps) {
                if let (Some(_), Some((at, _))) = (step.began, step.ended) {
                    let label = format!("{}: {}", stage.name, plan.name);
                    ended.push((at, EndedView { step: plan.id.clone(), label, ran: step.ran, planned: step.expect }));
                }
            }
        }
        ended.sort_by_key(|(at, _)| *at);
        TrialView {
            no,
            id: run.info.trial.clone(),
            title: run.info.title.clone(),
            variant: run.info.variant.to_string(),
            opened: run.common.opened,
            closed: run.common.closed.as_ref().map(|closed| closed.at),
            given_up: run.common.closed.as_ref().is_some_and(|closed| closed.given_up),
            all_done: Forecast::new(run, &slot.watches, now).all_done(),
            plan: run.plan.as_ref().map(|plan| plan.fit.clone()),
            missing: run.common.closed.as_ref().map(|closed| closed.missing.clone()).unwrap_or_default(),
            ended: ended.into_iter().map(|(_, view)| view).collect(),
        }
    }

    fn alerts(&self) -> Vec<AlertView> {
        let mut alerts = Vec::new();
        for (no, slot) in self.trials.iter().enumerate().filter(|(_, slot)| slot.run.common.closed.is_none()) {
            for (i, stage) in slot.run.stages.iter().enumerate() {
                let at = StageAt { trial: TrialNo(no as u16), stage: i as u16 };
                for alert_slot in SLOTS {
                    if let Some(alert) = &stage.alerts[alert_slot as usize] {
                        alerts.push(self.alert(at, slot, alert_slot, alert));
                    }
                }
            }
        }
        alerts.sort_by_key(|alert| {
            (matches!(alert.state, AlertState::Shelved { .. }), alert.kind, alert.raised, alert.at, alert.slot)
        });
        alerts
    }

    fn alert(&self, at: StageAt, slot: &Slot, alert_slot: AlertSlot, alert: &Alert) -> AlertView {
        let stage = &slot.run.programme.stages[usize::from(at.stage)];
        let state = &slot.run.stages[usize::from(at.stage)];
        let plan = state.step().map(|step| slot.run.plan(at.stage, step));
        let running = self.running(at).map(|(run, _)| run);
        let since = match (&state.phase, running.and_then(|run| run.due)) {
            (Phase::Leaving { since, .. }, _) => *since,
            (Phase::Ready { step, since }, _) => latest_begin(&slot.run, StepRef { stage: at.stage, step: *step })
                .filter(|_| alert.kind == AlertKind::Overdue)
                .unwrap_or(*since),
            (Phase::Waiting { .. } | Phase::Running(_) | Phase::Over { .. }, Some(due)) => due,
            (Phase::Waiting { .. } | Phase::Running(_) | Phase::Over { .. }, None) => alert.raised,
        };
        let (verb, text) = alert_words(stage.name.as_str(), &state.phase, plan, running, alert.kind);
        let core = match plan.map(|plan| &plan.until) {
            Some(Until::Core(_)) => slot.watches[usize::from(at.stage)]
                .as_ref()
                .and_then(|watch| watch.last_good)
                .map(|(core, _)| core)
                .or_else(|| state.step().and_then(|step| state.steps[usize::from(step)].core_at_end)),
            Some(
                Until::Time { .. }
                | Until::Cue { .. }
                | Until::Cook { .. }
                | Until::Heat { .. }
                | Until::Rest { .. }
                | Until::Rounds { .. },
            )
            | None => None,
        };
        AlertView {
            at,
            lane: slot.lane[usize::from(at.stage)],
            slot: alert_slot,
            kind: alert.kind,
            priority: alert.priority,
            raised: alert.raised,
            since,
            state: alert.state,
            later_left: put_off(alert.kind, state.later).1,
            verb,
            text,
            core,
        }
    }

    fn lane(&self, number: u8, now: RunTime, alerts: &[AlertView]) -> LaneView {
        let name = self.lanes.get(usize::from(number) - 1).cloned().unwrap_or_default();
        let mut stages: Vec<(Rank, StageAt)> = Vec::new();
        for (no, slot) in self.shown_trials() {
            for (i, lane) in slot.lane.iter().enumerate() {
                if *lane == number {
                    let at = StageAt { trial: no, stage: i as u16 };
                    stages.push((self.rank(at, slot, now, alerts), at));
                }
            }
        }
        stages.sort();
        let front = stages.first().map(|(_, at)| self.stage(*at, now));
        let others = stages.iter().skip(1).filter(|(_, at)| self.is_live(*at)).map(|(_, at)| self.stage(*at, now));
        LaneView { number, name, front, others: others.collect() }
    }

    fn is_live(&self, at: StageAt) -> bool {
        self.slot(at).is_some_and(|slot| !matches!(slot.run.stages[usize::from(at.stage)].phase, Phase::Over { .. }))
    }

    /// Which stage of a lane comes first: one that asks something, then the one due first.
    fn rank(&self, at: StageAt, slot: &Slot, now: RunTime, alerts: &[AlertView]) -> Rank {
        if let Some(place) = alerts.iter().position(|alert| alert.at == at && claims(alert)) {
            return Rank::Asks(place);
        }
        let never = RunTime::NEVER;
        match &slot.run.stages[usize::from(at.stage)].phase {
            Phase::Running(run) => {
                let plan = slot.run.plan(at.stage, run.step);
                let probe = slot.watches[usize::from(at.stage)].as_ref().and_then(Watch::expected_end);
                Rank::Runs(run.next_look(plan).or(run.due_at(plan)).or(probe).unwrap_or(never))
            }
            Phase::Ready { .. } | Phase::Leaving { .. } => Rank::Runs(now),
            Phase::Waiting { step } => {
                let place = StepRef { stage: at.stage, step: *step };
                Rank::Waits(Forecast::new(&slot.run, &slot.watches, now).begin(place).unwrap_or(never))
            }
            Phase::Over { at } => Rank::Over(core::cmp::Reverse(*at)),
        }
    }

    fn stage(&self, at: StageAt, now: RunTime) -> StageView {
        let slot = &self.trials[usize::from(at.trial.0)];
        let stage = &slot.run.programme.stages[usize::from(at.stage)];
        let state = &slot.run.stages[usize::from(at.stage)];
        let last = stage.steps.len() - 1;
        let step = state.step().map_or(last, usize::from);
        let plan = &stage.steps[step];
        let place = StepRef { stage: at.stage, step: step as u16 };
        let running = self.running(at).map(|(run, _)| run);
        let watch = slot.watches[usize::from(at.stage)].as_ref();
        let mut forecast = Forecast::new(&slot.run, &slot.watches, now);
        let (key, key_since) = key_word(state, running, plan, now);
        StageView {
            at,
            food: stage.name.clone(),
            step: plan.id.clone(),
            step_name: plan.name.clone(),
            text: plan.text.clone(),
            then: plan.then.clone(),
            number: (step + 1, stage.steps.len()),
            setting: plan.setting.clone(),
            cautions: plan.cautions.clone(),
            state: self.lane_state(at, slot, plan, running, now, &mut forecast),
            plan: match state.phase {
                Phase::Waiting { .. } | Phase::Ready { .. } => plan_view(slot, place),
                Phase::Running(_) | Phase::Leaving { .. } | Phase::Over { .. } => None,
            },
            key,
            key_since,
            began: running.map(|run| run.began),
            ends: if matches!(state.phase, Phase::Over { .. }) { None } else { forecast.end(place) },
            looks: running.and_then(|run| looks_view(run, plan)),
            probe: running.and_then(|run| probe_view(slot, at.stage, run, watch, now)),
            can_hold: plan.holdable && running.is_some(),
            branches: running.map_or_else(Vec::new, |run| {
                let open = plan.inside.branches.iter().filter(|branch| !run.branches.contains(&branch.id));
                open.map(|branch| (branch.id.clone(), format!("{}: {}", branch.text, branch.when))).collect()
            }),
            marks: running.map_or_else(Vec::new, |_| {
                plan.inside.marks.iter().filter(|(id, _)| !slot.run.common.events.contains_key(id)).cloned().collect()
            }),
            beat: running.and_then(|run| {
                let beats = plan.inside.rhythms.iter().zip(&run.beats);
                beats
                    .map(|(rhythm, beats)| {
                        (run.began + run.held_for + rhythm.every * (u64::from(beats.count) + 1), rhythm.text.clone())
                    })
                    .min()
            }),
        }
    }

    fn lane_state(
        &self,
        at: StageAt,
        slot: &Slot,
        plan: &Step,
        running: Option<&Running>,
        now: RunTime,
        forecast: &mut Forecast<'_>,
    ) -> LaneState {
        let state = &slot.run.stages[usize::from(at.stage)];
        let alert = |slot: AlertSlot| {
            state.alerts[slot as usize].as_ref().filter(|alert| !matches!(alert.state, AlertState::Shelved { .. }))
        };
        if alert(AlertSlot::Resume).is_some() {
            return LaneState::StillCooking;
        }
        match (&state.phase, running) {
            (Phase::Running(_), Some(run)) => {
                if let Some(since) = run.held {
                    return LaneState::OnHold { since, left: left(run, plan, now) };
                }
                let step = alert(AlertSlot::Step).map(|alert| (alert.kind, alert.raised));
                let due = run.due_at(plan);
                let closes = run.due.or(due).unwrap_or(now);
                if let Some((AlertKind::Overdue, raised)) = step {
                    return LaneState::Overdue { since: run.due.unwrap_or(raised) };
                }
                if let Some(since) = run.lost.filter(|_| !run.by_time) {
                    return LaneState::ProbeLost { since };
                }
                match step {
                    Some((AlertKind::Due, raised)) => return LaneState::Due { since: run.due.unwrap_or(raised) },
                    Some((AlertKind::Question, asked)) => return LaneState::Question { asked, closes },
                    Some((AlertKind::Window, _)) => return LaneState::Window { closes },
                    Some(_) | None => {}
                }
                if let Some(alert) = alert(AlertSlot::Inside) {
                    return LaneState::Inside { asked: alert.raised, text: inside_text(run, plan) };
                }
                if matches!(plan.until, Until::Core(_)) && !run.goes_by_time() {
                    return LaneState::Probe;
                }
                if run.last_not_yet.is_some() && !matches!(plan.until, Until::Rounds { .. }) {
                    return LaneState::Window { closes };
                }
                let look = run.next_look(plan);
                let next = match (look, due) {
                    (Some(look), Some(due)) => Some(look.min(due)),
                    (look, due) => look.or(due),
                };
                let whole = next.map_or(plan.until.expected().middle(), |next| next.since(run.began));
                LaneState::Running { due: next, gone: share(now.since(run.began), whole) }
            }
            (Phase::Leaving { since, .. }, _) => match alert(AlertSlot::Step).map(|alert| alert.kind) {
                Some(AlertKind::Overdue) => LaneState::Overdue { since: *since },
                Some(_) | None => LaneState::Due { since: *since },
            },
            (Phase::Ready { step, since }, _) => {
                let latest = latest_begin(&slot.run, StepRef { stage: at.stage, step: *step });
                match (latest, alert(AlertSlot::Step).map(|alert| alert.kind)) {
                    (Some(latest), Some(AlertKind::Overdue)) => LaneState::Overdue { since: latest },
                    (_, Some(AlertKind::Due)) => LaneState::Due { since: *since },
                    (latest, _) => LaneState::Ready { since: *since, latest },
                }
            }
            (Phase::Waiting { step }, _) => LaneState::Waiting {
                ready: forecast.begin(StepRef { stage: at.stage, step: *step }).map(|ready| ready.max(now)),
            },
            (Phase::Over { at }, _) => LaneState::Done { at: *at },
            (Phase::Running(_), None) => LaneState::Probe,
        }
    }

    /// What the cook has to do next when nothing is asked.
    fn next(&self, now: RunTime) -> Option<NextView> {
        let mut best: Option<NextView> = None;
        for (no, slot) in self.trials.iter().enumerate().filter(|(_, slot)| slot.run.common.closed.is_none()) {
            let mut forecast = Forecast::new(&slot.run, &slot.watches, now);
            for (i, state) in slot.run.stages.iter().enumerate() {
                let at = StageAt { trial: TrialNo(no as u16), stage: i as u16 };
                let Some(step) = state.step() else { continue };
                let plan = slot.run.plan(at.stage, step);
                let food = &slot.run.programme.stages[i].name;
                let found = match &state.phase {
                    Phase::Running(run) => next_of_running(run, plan, food, slot.watches[i].as_ref(), now),
                    Phase::Waiting { step } => {
                        let place = StepRef { stage: at.stage, step: *step };
                        ready_at(&slot.run, &mut forecast, place)
                            .map(|(when, _)| when)
                            .or_else(|| forecast.begin(place))
                            .map(|when| (when.max(now), NextWhat::Start(plan.name.clone()), None))
                    }
                    Phase::Ready { .. } => Some((now, NextWhat::Start(plan.name.clone()), None)),
                    Phase::Leaving { .. } => {
                        Some((now, NextWhat::End { verb: plan.then.clone(), food: food.clone() }, None))
                    }
                    Phase::Over { .. } => None,
                };
                // at one moment, what runs stands before what waits for it
                let before = |known: &NextView| {
                    when_of(&found) < known.when
                        || when_of(&found) == known.when
                            && matches!(known.what, NextWhat::Start(_))
                            && matches!(state.phase, Phase::Running(_))
                };
                if best.as_ref().is_none_or(before)
                    && let Some((when, what, core)) = found
                {
                    best = Some(NextView { lane: slot.lane[i], at, what, when, core });
                }
            }
        }
        best
    }

    /// The planned steps that have not begun.
    fn starts(&self) -> Vec<StartView> {
        let mut starts = Vec::new();
        for (no, slot) in self.trials.iter().enumerate().filter(|(_, slot)| slot.run.common.closed.is_none()) {
            for (place, stage, plan) in slot.run.programme.steps() {
                let Some(view) = plan_view(slot, place) else { continue };
                let phase = &slot.run.stages[usize::from(place.stage)].phase;
                starts.push(StartView {
                    at: StageAt { trial: TrialNo(no as u16), stage: place.stage },
                    lane: slot.lane[usize::from(place.stage)],
                    step: plan.id.clone(),
                    food: stage.name.clone(),
                    step_name: plan.name.clone(),
                    ready: matches!(phase, Phase::Ready { step, .. } if *step == place.step),
                    plan: view,
                });
            }
        }
        starts.sort_by_key(|start| start.plan.start);
        starts
    }

    fn landings(&self) -> Vec<LandingView> {
        let mut landings = Vec::new();
        for (no, slot) in self.trials.iter().enumerate().filter(|(_, slot)| slot.run.common.closed.is_none()) {
            let Some(plan) = &slot.run.plan else { continue };
            let newest = slot.newest.as_ref().map(|newest| &newest.landings).filter(|newest| !newest.is_empty());
            for (name, (at, around)) in newest.unwrap_or(&plan.landings) {
                landings.push(LandingView {
                    trial: TrialNo(no as u16),
                    name: name.clone(),
                    at: *at,
                    wanted: around.wanted,
                    low: around.low,
                    high: around.high,
                    late: around.late,
                    chance_thousandths: around.chance_thousandths,
                });
            }
        }
        landings.sort_by_key(|landing| landing.at);
        landings
    }

    fn undo_view(&self) -> Option<UndoView> {
        let last = self.shown_trials().filter_map(|(_, slot)| slot.run.last_action());
        let (_, at, actions) = last.max_by_key(|(_, at, _)| *at)?;
        Some(UndoView { at, actions })
    }

    fn resume(&self, alerts: &[AlertView]) -> Option<ResumeView> {
        let open = alerts.iter().filter(|alert| alert.slot == AlertSlot::Resume).count();
        let dark =
            self.trials.iter().filter(|slot| slot.run.common.closed.is_none()).find_map(|slot| slot.run.common.dark)?;
        (open > 0).then_some(ResumeView { dark, open })
    }
}

/// The planned start of a step that has not begun.
fn plan_view(slot: &Slot, place: StepRef) -> Option<PlanView> {
    let known = slot.run.plan.as_ref()?.starts.get(&place).filter(|_| is_open(&slot.run, place))?;
    // the newest plan knows better how long it can wait
    let newest = slot.newest.as_ref().and_then(|newest| newest.starts.get(&place)).unwrap_or(known);
    let gap = latest_begin(&slot.run, place).unwrap_or(RunTime::NEVER);
    Some(PlanView { start: known.at.min(gap), latest: newest.latest.max(known.at).min(gap), critical: newest.critical })
}

/// The order of the stages of one lane.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    Asks(usize),
    Runs(RunTime),
    Waits(RunTime),
    Over(core::cmp::Reverse<RunTime>),
}

fn when_of<T, C>(found: &Option<(RunTime, T, C)>) -> RunTime {
    found.as_ref().map_or(RunTime::NEVER, |(when, ..)| *when)
}

/// Whether an alert claims the panel.
fn claims(alert: &AlertView) -> bool {
    !matches!(alert.state, AlertState::Shelved { .. })
        && alert.kind != AlertKind::WasLost
        && !(alert.kind == AlertKind::Ready && alert.state == AlertState::Acknowledged)
}

fn alert_words(
    food: &str,
    phase: &Phase,
    plan: Option<&Step>,
    running: Option<&Running>,
    kind: AlertKind,
) -> (String, String) {
    let Some(plan) = plan else { return (String::new(), food.into()) };
    let ready = matches!(phase, Phase::Ready { .. });
    // its target is not reached, nor will it be in the rest: there is nothing to take out yet
    let waits_for_core =
        matches!(plan.until, Until::Core(_)) && running.is_some_and(|run| !run.goes_by_time() && run.called.is_none());
    match kind {
        AlertKind::Overdue | AlertKind::Due if waits_for_core => ("CHECK".into(), food.into()),
        AlertKind::Overdue | AlertKind::Due if !ready => (plan.then.clone(), food.into()),
        AlertKind::Overdue | AlertKind::Due | AlertKind::Ready => ("START".into(), plan.name.clone()),
        AlertKind::ProbeLost | AlertKind::WasLost => {
            (String::new(), plan.until.probe().map_or_else(String::new, ToString::to_string))
        }
        AlertKind::Question => (String::new(), cue(plan, running)),
        AlertKind::Window => ("CHECK".into(), cue(plan, running)),
        AlertKind::Inside => split_verb(&running.map_or_else(String::new, |run| inside_text(run, plan))),
        AlertKind::StillCooking | AlertKind::Soon | AlertKind::OnHold => (String::new(), food.into()),
    }
}

fn cue(plan: &Step, running: Option<&Running>) -> String {
    if let Until::Rounds { cue, .. } = &plan.until {
        return cue.clone();
    }
    running.and_then(|run| run.looks_of(plan)).map_or_else(String::new, |looks| looks.cue.clone())
}

/// What a running step asks inside.
fn inside_text(run: &Running, plan: &Step) -> String {
    if run.moving_probe {
        let (next, of) = match &plan.until {
            Until::Core(core) => (run.points + 1, core.points),
            Until::Time { .. }
            | Until::Cue { .. }
            | Until::Cook { .. }
            | Until::Heat { .. }
            | Until::Rest { .. }
            | Until::Rounds { .. } => (1, 1),
        };
        return format!("PROBE place {next} of {of}");
    }
    if let (Half::Called(_), Some(half)) = (run.half, &plan.inside.half) {
        return half.text.clone();
    }
    let called = run.events.iter().position(|event| matches!(event, EventRun::Called(_)));
    if let Some(event) = called.and_then(|i| plan.inside.timed.get(i)) {
        return event.text.clone();
    }
    plan.inside.rhythms.first().map_or_else(String::new, |rhythm| rhythm.text.clone())
}

/// The leading words in capitals, and the rest.
fn split_verb(text: &str) -> (String, String) {
    let verbs = text
        .split(' ')
        .take_while(|word| word.chars().any(char::is_uppercase) && !word.chars().any(char::is_lowercase));
    let length = verbs.map(|word| word.len() + 1).sum::<usize>().min(text.len());
    let (verb, rest) = text.split_at(length);
    (verb.trim().into(), rest.trim().into())
}

fn key_word(
    state: &crate::state::StageRun,
    running: Option<&Running>,
    plan: &Step,
    now: RunTime,
) -> (Option<KeyWord>, RunTime) {
    let alert = |slot: AlertSlot| state.alerts[slot as usize].as_ref();
    let sounding = |alert: &&Alert| !matches!(alert.state, AlertState::Acknowledged);
    if let Some(alert) = alert(AlertSlot::Resume) {
        return (Some(KeyWord::StillOn), alert.changed);
    }
    if let Some(alert) = alert(AlertSlot::Probe).filter(sounding) {
        return (Some(KeyWord::Ok(AlertSlot::Probe)), alert.changed);
    }
    if let Some(alert) = alert(AlertSlot::Inside) {
        return (Some(KeyWord::InsideDone), alert.changed);
    }
    if let Phase::Ready { since, .. } = &state.phase {
        return (Some(KeyWord::Start), *since);
    }
    match alert(AlertSlot::Step) {
        Some(alert) => {
            let word = match (alert.kind, alert.state) {
                (AlertKind::Question, _) => KeyWord::Yes,
                (AlertKind::Window, _) | (_, AlertState::Acknowledged) => KeyWord::Done,
                (
                    AlertKind::Overdue
                    | AlertKind::ProbeLost
                    | AlertKind::StillCooking
                    | AlertKind::Due
                    | AlertKind::Inside
                    | AlertKind::Ready
                    | AlertKind::Soon
                    | AlertKind::OnHold
                    | AlertKind::WasLost,
                    AlertState::Sounding | AlertState::Shelved { .. },
                ) => KeyWord::Ok(AlertSlot::Step),
            };
            (Some(word), alert.changed)
        }
        None => match running {
            Some(run) if run.due.is_some() => (Some(KeyWord::Done), run.last_not_yet.unwrap_or(run.began)),
            // between two looks the window stays open
            Some(run) if run.last_not_yet.is_some() && run.looks_of(plan).is_some() => {
                (Some(KeyWord::Done), run.last_not_yet.unwrap_or(now))
            }
            // work of the hands is over when the cook says so
            Some(run) if matches!(plan.until, Until::Cook { .. }) && run.held.is_none() => {
                (Some(KeyWord::Done), run.began)
            }
            Some(_) | None => (None, RunTime::START),
        },
    }
}

fn looks_view(run: &Running, plan: &Step) -> Option<LooksView> {
    let looks = run.looks_of(plan)?;
    Some(LooksView {
        cue: looks.cue.clone(),
        first: run.moment(plan, looks.window.first),
        next: run.next_look(plan).unwrap_or(RunTime::NEVER),
        no_later: run.moment(plan, looks.window.no_later),
        last_not_yet: run.last_not_yet,
        count: run.looks,
    })
}

fn probe_view(slot: &Slot, stage: u16, run: &Running, watch: Option<&Watch>, now: RunTime) -> Option<ProbeView> {
    let plan = slot.run.plan(stage, run.step);
    plan.until.probe()?;
    let core = match &plan.until {
        Until::Core(core) => Some(core),
        Until::Time { .. }
        | Until::Cue { .. }
        | Until::Cook { .. }
        | Until::Heat { .. }
        | Until::Rest { .. }
        | Until::Rounds { .. } => None,
    };
    let target = match &plan.until {
        Until::Heat { at, .. } => Some(*at),
        Until::Core(core) => Some(core.target),
        Until::Time { .. } | Until::Cue { .. } | Until::Cook { .. } | Until::Rest { .. } | Until::Rounds { .. } => None,
    };
    let highest = watch.and_then(|watch| watch.highest);
    let resting = matches!(plan.until, Until::Rest { .. });
    let from = slot.run.programme.rested_from(StepRef { stage, step: run.step });
    let left = from.map(|from| &slot.run.stages[usize::from(from.stage)].steps[usize::from(from.step)]);
    Some(ProbeView {
        last: watch.and_then(Watch::shown),
        quality: watch.and_then(|watch| watch.quality(now)),
        target,
        counted: watch.and_then(|watch| if resting { watch.at_least() } else { watch.counted() }),
        per_minute: watch.and_then(Watch::per_minute),
        held_since: run.crossed.map(|(at, _)| at),
        hold: core.map_or(Span::ZERO, |core| core.hold),
        points: (run.points, core.map_or(1, |core| core.points)),
        estimate: watch.map_or(Err(Withheld::NoReading), |watch| watch.estimate(now)),
        lost: run.lost.map(|since| (since, watch.map_or(quantities::NoReading::Unplugged, |watch| watch.lost_at().1))),
        peak: if resting { best_peak(run.peak, highest) } else { None },
        carry_over: watch.and_then(|watch| watch.last_carry_over(now)),
        take_at: watch.and_then(Watch::take_at),
        called: run.called.is_some(),
        said: left.and_then(|step| step.carry_over),
        wanted: slot.wanted_in_rest(stage, run.step).map(|target| target.target),
        shallow_tip: run.shallow_tip,
    })
}

fn best_peak(written: Option<(Celsius, RunTime)>, seen: Option<(Celsius, RunTime)>) -> Option<(Celsius, RunTime)> {
    match (written, seen) {
        (Some(a), Some(b)) => Some(if b.0 > a.0 { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// What a running step wants next: when, in words, and the core where it ends by that and no time is known.
fn next_of_running(
    run: &Running,
    plan: &Step,
    food: &str,
    watch: Option<&Watch>,
    now: RunTime,
) -> Option<(RunTime, NextWhat, Option<Celsius>)> {
    if run.held.is_some() {
        return None;
    }
    let end = || NextWhat::End { verb: plan.then.clone(), food: food.into() };
    let mut found: Vec<(RunTime, NextWhat, Option<Celsius>)> = Vec::new();
    if let Some(half) = run.half_at(plan) {
        let words = plan.inside.half.as_ref().map_or_else(String::new, |half| half.text.clone());
        found.push((half, NextWhat::Inside(words), None));
    }
    for (event, state) in plan.inside.timed.iter().zip(&run.events) {
        if *state == EventRun::Coming {
            found.push((run.moment(plan, event.at), NextWhat::Inside(event.text.clone()), None));
        }
    }
    if let Some(look) = run.next_look(plan) {
        found.push((look, NextWhat::Look(cue(plan, Some(run))), None));
    }
    match &plan.until {
        Until::Core(core) if !run.goes_by_time() => {
            match run.hold_ends(core).or_else(|| watch.and_then(Watch::expected_end)) {
                Some(at) => found.push((at.max(now), end(), None)),
                None => {
                    let core = watch.and_then(|watch| watch.last_good).map(|(core, _)| core);
                    found.push((run.moment(plan, plan.until.expected().middle()).max(now), end(), core));
                }
            }
        }
        Until::Core(_)
        | Until::Time { .. }
        | Until::Cue { .. }
        | Until::Cook { .. }
        | Until::Heat { .. }
        | Until::Rest { .. }
        | Until::Rounds { .. } => {
            if let Some(due) = run.due_at(plan) {
                found.push((due.max(now), end(), None));
            }
            // work of the hands: when it is usually finished; past that, what waits for it must not stand before it
            let usual = run.moment(plan, plan.until.expected().middle());
            if matches!(plan.until, Until::Cook { .. }) {
                found.push((usual.max(now), NextWhat::Finish(plan.name.clone()), None));
            }
        }
    }
    found.into_iter().min_by_key(|(when, _, _)| *when)
}

fn share(gone: Span, whole: Span) -> u16 {
    if whole.is_zero() {
        return 1000;
    }
    u16::try_from((u128::from(gone.millis()) * 1000 / u128::from(whole.millis())).min(1000)).unwrap_or(1000)
}
