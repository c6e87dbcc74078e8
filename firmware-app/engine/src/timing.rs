//! When things are due inside a running step, and when a stage is expected to begin and end.

use alloc::collections::BTreeMap;

use quantities::{Drift, RunTime, Span};
use recipe_model::{Anchor, Begin, Edge, Looks, Step, StepRef, Until};
use trial::{BeginCause, EndCause};

use crate::{
    probe_watch::Watch,
    state::{Half, Phase, Running, TrialRun},
};

impl Running {
    /// A moment of the step's own clock on the run's clock: holds, a late turn and changed time push it back.
    pub(crate) fn moment(&self, plan: &Step, since_begin: Span) -> RunTime {
        let turned_late = match self.half {
            Half::Turned { late } if since_begin > half_of(plan) => late,
            Half::Before | Half::Called(_) | Half::Turned { .. } => Span::ZERO,
        };
        shift(self.began + since_begin + self.held_for + turned_late, self.changed)
    }

    /// When the step is due by time; none for one that only a press, a sign or a probe ends.
    pub(crate) fn due_at(&self, plan: &Step) -> Option<RunTime> {
        if let Half::Called(_) = self.half {
            return None;
        }
        let since_begin = match &plan.until {
            Until::Time { expect, looks } => looks.as_ref().map_or(expect.high(), |looks| looks.window.no_later),
            // a core that does not come to its target in the longest time foreseen wants attention too
            Until::Core(core) => core.fallback.looks.window.no_later,
            Until::Cook { .. } => return None,
            Until::Cue { looks, .. } => looks.window.no_later,
            Until::Heat { expect, .. } => expect.high(),
            Until::Rest { planned, .. } => {
                let own = self.moment(plan, *planned);
                return Some(self.rests_until.map_or(own, |until| until.max(own)));
            }
            Until::Rounds { count, each, .. } => {
                let left = u64::from(count.high().saturating_sub(self.round));
                return Some(shift(self.round_began + *each * left.max(1), self.changed));
            }
        };
        Some(self.moment(plan, since_begin))
    }

    /// The looks that apply: those of the recipe, or those of the fallback while the probe is not trusted.
    pub(crate) fn looks_of<'a>(&self, plan: &'a Step) -> Option<&'a Looks> {
        match &plan.until {
            Until::Core(core) => self.goes_by_time().then_some(&core.fallback.looks),
            Until::Time { .. }
            | Until::Cue { .. }
            | Until::Cook { .. }
            | Until::Heat { .. }
            | Until::Rest { .. }
            | Until::Rounds { .. } => plan.until.looks(),
        }
    }

    /// When the next look is to be asked; none if the step has no looks.
    pub(crate) fn next_look(&self, plan: &Step) -> Option<RunTime> {
        if let Half::Called(_) = self.half {
            return None;
        }
        if let Until::Rounds { each, .. } = &plan.until {
            return Some(shift(self.round_began + *each, self.changed));
        }
        let window = self.looks_of(plan)?.window;
        let first = self.moment(plan, window.first);
        Some(self.last_not_yet.map_or(first, |last| (last + window.every).max(first)))
    }

    /// When half-time comes.
    pub(crate) fn half_at(&self, plan: &Step) -> Option<RunTime> {
        let wanted = plan.inside.half.is_some() && self.half == Half::Before;
        wanted.then(|| self.began + half_of(plan) + self.held_for)
    }

    /// When the hold that runs is full, if it is the last one of the step.
    pub(crate) fn hold_ends(&self, core: &recipe_model::CoreTarget) -> Option<RunTime> {
        let last = self.points + 1 >= core.points;
        self.crossed.filter(|_| last).map(|(since, _)| since + core.hold)
    }

    /// Whether the step goes by time and sign instead of its probe.
    pub(crate) fn goes_by_time(&self) -> bool {
        self.by_time || self.lost.is_some()
    }

    /// How long the step has run, holds taken out.
    pub(crate) fn ran(&self, now: RunTime) -> Span {
        let held_now = self.held.map_or(Span::ZERO, |since| now.since(since));
        now.since(self.began).saturating_sub(self.held_for + held_now)
    }
}

/// Half of the time that a step is to take.
pub(crate) fn half_of(plan: &Step) -> Span {
    plan.until.expected().middle() / 2
}

/// A moment, moved.
pub(crate) fn shift(at: RunTime, by: Drift) -> RunTime {
    if by.is_early() { at.earlier(by.size()) } else { at + by.size() }
}

/// Expected moments of a trial at one moment, each worked out once.
pub(crate) struct Forecast<'a> {
    trial: &'a TrialRun,
    watches: &'a [Option<Watch>],
    now: RunTime,
    ends: BTreeMap<StepRef, Option<RunTime>>,
}

impl<'a> Forecast<'a> {
    pub(crate) fn new(trial: &'a TrialRun, watches: &'a [Option<Watch>], now: RunTime) -> Self {
        Self { trial, watches, now, ends: BTreeMap::new() }
    }

    /// When a step ended or is expected to.
    pub(crate) fn end(&mut self, at: StepRef) -> Option<RunTime> {
        if let Some(known) = self.ends.get(&at) {
            return *known;
        }
        // a cycle cannot come out of the parser; one from elsewhere ends here
        self.ends.insert(at, None);
        let end = self.find_end(at);
        self.ends.insert(at, end);
        end
    }

    fn find_end(&mut self, at: StepRef) -> Option<RunTime> {
        let stage = self.trial.stages.get(usize::from(at.stage))?;
        let plan = self.trial.programme.step(at)?;
        if let Some((ended, _)) = stage.steps.get(usize::from(at.step))?.ended {
            return Some(ended);
        }
        match &stage.phase {
            Phase::Over { .. } => None,
            Phase::Running(run) if run.step == at.step => Some(self.running_end(run, plan, at.stage)),
            Phase::Ready { step, .. } if *step == at.step => Some(self.now + plan.until.expected().middle()),
            Phase::Waiting { step } if *step == at.step => {
                Some(self.begin(at)?.max(self.now) + plan.until.expected().middle())
            }
            Phase::Waiting { .. } | Phase::Ready { .. } | Phase::Running(_) | Phase::Leaving { .. } => {
                Some(self.begin(at)? + plan.until.expected().middle())
            }
        }
    }

    fn running_end(&self, run: &Running, plan: &Step, stage: u16) -> RunTime {
        let held_now = run.held.map_or(Span::ZERO, |since| self.now.since(since));
        let by_plan = match run.half {
            Half::Called(_) => self.now + half_of(plan),
            Half::Before | Half::Turned { .. } => run.moment(plan, plan.until.expected().middle()) + held_now,
        };
        let by_probe = match &plan.until {
            Until::Core(core) if !run.goes_by_time() => {
                run.hold_ends(core).or_else(|| self.watches[usize::from(stage)].as_ref().and_then(Watch::expected_end))
            }
            Until::Core(_)
            | Until::Time { .. }
            | Until::Cue { .. }
            | Until::Cook { .. }
            | Until::Heat { .. }
            | Until::Rest { .. }
            | Until::Rounds { .. } => None,
        };
        by_probe.unwrap_or(by_plan).max(self.now)
    }

    /// When a step that has not begun is expected to be ready.
    pub(crate) fn begin(&mut self, at: StepRef) -> Option<RunTime> {
        let mut latest =
            if at.step == 0 { self.trial.common.opened } else { self.end(StepRef { step: at.step - 1, ..at })? };
        let mut gap = RunTime::NEVER;
        for begin in conditions(self.trial, at) {
            let ready = self.anchor(&begin.anchor)?;
            latest = latest.max(ready);
            gap = gap.min(last_after(begin, ready).unwrap_or(RunTime::NEVER));
        }
        // one that will begin with the end of the step before it is not kept back by a plan
        let follows = at.step > 0
            && self.trial.stages[usize::from(at.stage)].steps[usize::from(at.step) - 1].ended.is_none()
            && conditions(self.trial, at).next().is_none()
            && !matches!(self.trial.plan(at.stage, at.step - 1).until, Until::Heat { .. });
        let planned = planned_start(self.trial, at).filter(|start| !follows && *start <= gap);
        Some(planned.map_or(latest, |start| latest.max(start)))
    }

    fn anchor(&mut self, anchor: &Anchor) -> Option<RunTime> {
        match anchor {
            Anchor::Step { step, edge: Edge::End, wait } => self.end(*step).map(|end| end + *wait),
            Anchor::Step { step, edge: Edge::Start, wait } => {
                let began = self.trial.stages.get(usize::from(step.stage))?.steps.get(usize::from(step.step))?.began;
                let began = match began {
                    Some(began) => began,
                    None => self.begin(*step)?,
                };
                Some(began + *wait)
            }
            Anchor::Event { event, wait } => match self.trial.common.events.get(event) {
                Some(seen) => Some(*seen + *wait),
                None => {
                    let (at, _, _) = self
                        .trial
                        .programme
                        .steps()
                        .find(|(_, _, step)| step.inside.marks.iter().any(|(id, _)| id == event))?;
                    self.end(at).map(|end| end + *wait)
                }
            },
            Anchor::BeforeEnd { step, lead } => self.end(*step).map(|end| end.earlier(*lead)),
        }
    }

    /// When all stages are expected to be over.
    pub(crate) fn all_done(&mut self) -> Option<RunTime> {
        let stages = &self.trial.programme.stages;
        (0..stages.len())
            .map(|stage| self.end(StepRef { stage: stage as u16, step: stages[stage].steps.len() as u16 - 1 }))
            .fold(None, |latest, end| latest.max(end))
    }
}

/// The conditions of a step: its own, and for the first step those of its stage.
pub(crate) fn conditions(trial: &TrialRun, at: StepRef) -> impl Iterator<Item = &Begin> {
    let stage = &trial.programme.stages[usize::from(at.stage)];
    let of_stage = if at.step == 0 { stage.begin.as_slice() } else { &[] };
    of_stage.iter().chain(&stage.steps[usize::from(at.step)].begin)
}

/// When the conditions of the step that a stage waits for hold, and what made them; none while one is unknown.
///
/// Only what has happened counts, but for a lead before an expected end, which moves with it.
pub(crate) fn ready_at(trial: &TrialRun, forecast: &mut Forecast<'_>, at: StepRef) -> Option<(RunTime, BeginCause)> {
    let stage = &trial.stages[usize::from(at.stage)];
    let mut latest = if at.step == 0 {
        (trial.common.opened, BeginCause::TrialStart)
    } else {
        (stage.steps[usize::from(at.step) - 1].ended?.0, BeginCause::Follows)
    };
    for begin in conditions(trial, at) {
        let held = match &begin.anchor {
            Anchor::Step { step, edge, wait } => {
                let run = trial.stages.get(usize::from(step.stage))?.steps.get(usize::from(step.step))?;
                match edge {
                    Edge::Start => (run.began? + *wait, BeginCause::AnchorBegan),
                    Edge::End => (run.ended?.0 + *wait, BeginCause::AnchorEnded),
                }
            }
            Anchor::Event { event, wait } => (*trial.common.events.get(event)? + *wait, BeginCause::EventSeen),
            Anchor::BeforeEnd { step, lead } => {
                let run = trial.stages.get(usize::from(step.stage))?.steps.get(usize::from(step.step))?;
                match run.ended {
                    Some((ended, _)) => (ended, BeginCause::AnchorEndedEarly),
                    None => (forecast.end(*step)?.earlier(*lead), BeginCause::Lead),
                }
            }
        };
        if held.0 >= latest.0 {
            latest = held;
        }
    }
    match planned_start(trial, at) {
        Some(start) if start > latest.0 => Some((start, BeginCause::Planned)),
        Some(_) | None => Some(latest),
    }
}

/// The moment until which a plan keeps a step waiting, if it may: food that rests, that leaves the heat or that waits no
/// longer than it can take is never kept back.
pub(crate) fn planned_start(trial: &TrialRun, at: StepRef) -> Option<RunTime> {
    let start = trial.plan.as_ref()?.starts.get(&at)?.at;
    let stage = trial.stages.get(usize::from(at.stage))?;
    let goes_on = at.step > 0 || conditions(trial, at).next().is_some();
    let rests = matches!(trial.plan(at.stage, at.step).until, Until::Rest { .. }) && goes_on;
    // the food that a lead was for is ready already
    let led = conditions(trial, at).any(|begin| match &begin.anchor {
        Anchor::BeforeEnd { step, .. } => {
            let run =
                trial.stages.get(usize::from(step.stage)).and_then(|stage| stage.steps.get(usize::from(step.step)));
            run.is_some_and(|run| run.ended.is_some())
        }
        Anchor::Step { .. } | Anchor::Event { .. } => false,
    });
    let follows = stage.steps.len() > usize::from(at.step) && follows_at_once(trial, at);
    let past_gap = latest_begin(trial, at).is_some_and(|latest| start > latest);
    (!rests && !led && !follows && !past_gap).then_some(start)
}

/// The last moment that the food can take, of a condition that holds, or is expected to, at `ready`.
fn last_after(begin: &Begin, ready: RunTime) -> Option<RunTime> {
    let wait = match &begin.anchor {
        Anchor::Step { wait, .. } | Anchor::Event { wait, .. } => *wait,
        Anchor::BeforeEnd { .. } => return None,
    };
    begin.within.map(|within| ready.earlier(wait) + within)
}

/// The last moment at which a step may begin, by the largest gap that the food can take.
pub(crate) fn latest_begin(trial: &TrialRun, at: StepRef) -> Option<RunTime> {
    let mut earliest: Option<RunTime> = None;
    for begin in conditions(trial, at) {
        let Some(within) = begin.within else { continue };
        let anchor = match &begin.anchor {
            Anchor::Step { step, edge, .. } => {
                let run = trial.stages.get(usize::from(step.stage))?.steps.get(usize::from(step.step))?;
                match edge {
                    Edge::Start => run.began,
                    Edge::End => run.ended.map(|(at, _)| at),
                }
            }
            Anchor::Event { event, .. } => trial.common.events.get(event).copied(),
            Anchor::BeforeEnd { .. } => None,
        };
        if let Some(anchor) = anchor {
            let last = anchor + within;
            earliest = Some(earliest.map_or(last, |known| known.min(last)));
        }
    }
    earliest
}

/// Whether a step begins by itself when the one before it ends: it follows it and the cook's hand was there.
pub(crate) fn follows_at_once(trial: &TrialRun, at: StepRef) -> bool {
    if at.step == 0 || conditions(trial, at).next().is_some() {
        return false;
    }
    match trial.stages[usize::from(at.stage)].steps[usize::from(at.step) - 1].ended {
        Some((
            _,
            EndCause::Press | EndCause::LookDone | EndCause::LookOver | EndCause::CoreHeld | EndCause::Skipped,
        )) => true,
        // the oven is hot: the food still has to go in
        Some((_, EndCause::HeatReached | EndCause::Stopped)) | None => false,
    }
}
