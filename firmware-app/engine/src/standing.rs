//! How far every step is, for a plan of what is left.

use alloc::vec::Vec;

use quantities::{RunTime, Span};
use recipe_model::{Step, StepRef, Until};
use trial::{AlertKind, AlertSlot, EndCause};

use crate::{
    engine::{Engine, Slot},
    input::TrialNo,
    probe_watch::Watch,
    state::{Half, Phase, Running, StageRun},
    timing::{half_of, shift},
    view::{Standing, StandingView},
};

/// What is due should be over at once; so long it may still take.
const DUE_STILL_TAKES: Span = Span::from_mins(1);

/// Until the probe is in the next place and that one is warm too; common practice, no source.
const NEXT_PLACE: Span = Span::from_secs(60);

impl Engine {
    /// How far every step of every open trial is at the moment of the last input, or at a later one if nothing was due in
    /// between.
    pub fn standing(&self, now: RunTime) -> Vec<StandingView> {
        let now = now.max(self.now);
        let open = self.trials.iter().enumerate().filter(|(_, slot)| slot.run.common.closed.is_none());
        let steps = open.flat_map(|(no, slot)| {
            slot.run.programme.steps().map(move |(at, _, step)| {
                let (trial, step) = (TrialNo(no as u16), step.id.clone());
                StandingView { trial, at, step, state: state(slot, at, now) }
            })
        });
        steps.collect()
    }
}

fn state(slot: &Slot, at: StepRef, now: RunTime) -> Standing {
    let stage = &slot.run.stages[usize::from(at.stage)];
    let step = &stage.steps[usize::from(at.step)];
    match &stage.phase {
        Phase::Running(run) if run.step == at.step => {
            let watch = slot.watches[usize::from(at.stage)].as_ref();
            let [left_low, left, left_high] = left(run, slot.run.plan(at.stage, at.step), stage, watch, now);
            Standing::Running { began: run.began, left_low, left, left_high }
        }
        Phase::Leaving { step: leaving, since } if *leaving == at.step => {
            let began = step.began.unwrap_or(*since);
            Standing::Running { began, left_low: Span::ZERO, left: Span::ZERO, left_high: DUE_STILL_TAKES }
        }
        Phase::Waiting { .. }
        | Phase::Ready { .. }
        | Phase::Running(_)
        | Phase::Leaving { .. }
        | Phase::Over { .. } => match (step.began, step.ended) {
            (Some(began), Some((ended, _))) => Standing::Ended { began, ended },
            (None, Some((_, EndCause::Skipped))) => Standing::Skipped,
            (None, Some((ended, _))) => Standing::Ended { began: ended, ended },
            // what a stage that is over has not done, it will not do
            (_, None) if matches!(stage.phase, Phase::Over { .. }) => Standing::Skipped,
            (_, None) => Standing::Open,
        },
    }
}

/// How long a running step still takes: hardly ever less, as a rule, hardly ever more.
fn left(run: &Running, plan: &Step, stage: &StageRun, watch: Option<&Watch>, now: RunTime) -> [Span; 3] {
    let due = [Span::ZERO, Span::ZERO, DUE_STILL_TAKES];
    let [low, likely, high] = match by_core(run, plan, watch, now) {
        Some(_) if run.called.is_some() => due,
        Some(by_core) => by_core,
        None if is_called(stage) => due,
        None => {
            let ends = match (run.due, run.next_look(plan)) {
                // it was looked at when it was due, and was not done: so it goes on to the next look
                (Some(_), Some(look)) => [now, look, look + DUE_STILL_TAKES],
                (Some(_), None) => [now; 3],
                (None, look) => by_time(run, plan, look, now),
            };
            let held = run.held.map_or(Span::ZERO, |since| now.since(since));
            ends.map(|end| (end + held).since(now))
        }
    };
    let likely = likely.max(low);
    let high = high.max(likely);
    if high.is_zero() { due } else { [low, likely, high] }
}

/// What a probe says of it; nothing where none does. The time of a step may be up and its core still be on the way.
fn by_core(run: &Running, plan: &Step, watch: Option<&Watch>, now: RunTime) -> Option<[Span; 3]> {
    match &plan.until {
        Until::Core(core) if !run.goes_by_time() => match run.hold_ends(core) {
            // the hold of the last place runs
            Some(ends) => Some([ends.since(now); 3]),
            None => {
                // further places have to be found and to come to the target too
                let places = u64::from(core.points.saturating_sub(run.points).max(1));
                let each = core.hold + NEXT_PLACE;
                match watch?.estimate(now) {
                    Ok(estimate) => {
                        let more = core.hold + each * (places - 1);
                        Some([estimate.low, estimate.median, estimate.high].map(|left| left + more))
                    }
                    // the first place was there already: the others are nearly so
                    Err(_) if run.points > 0 => Some([core.hold, each * places, each * (places + 1)]),
                    Err(_) => None,
                }
            }
        },
        Until::Core(_)
        | Until::Time { .. }
        | Until::Cue { .. }
        | Until::Cook { .. }
        | Until::Heat { .. }
        | Until::Rest { .. }
        | Until::Rounds { .. } => None,
    }
}

/// Whether a step is called as due.
fn is_called(stage: &StageRun) -> bool {
    let alert = stage.alerts[AlertSlot::Step as usize];
    alert.is_some_and(|alert| matches!(alert.kind, AlertKind::Due | AlertKind::Overdue))
}

/// The earliest, likely and last moment at which a step ends by its clock.
fn by_time(run: &Running, plan: &Step, look: Option<RunTime>, now: RunTime) -> [RunTime; 3] {
    let expect = plan.until.expected();
    if let Half::Called(_) = run.half {
        return [now + expect.low() / 2, now + half_of(plan), now + expect.high() / 2];
    }
    let [low, likely, high] = [expect.low(), expect.middle(), expect.high()].map(|span| run.moment(plan, span));
    if let Until::Rounds { count, each, .. } = &plan.until {
        let left = |rounds: u16| u64::from(rounds.saturating_sub(run.round).max(1));
        let end = |rounds: u16| shift(run.round_began + *each * left(rounds), run.changed);
        let (first, last) = (end(count.low()), end(count.high()));
        return [first, first + last.since(first) / 2, last];
    }
    if let Until::Rest { planned, .. } = &plan.until {
        // a plan that lets it go on must not be bound by what it said before
        return [run.moment(plan, *planned); 3];
    }
    match (run.looks_of(plan), run.due_at(plan)) {
        (Some(_), Some(last)) => {
            // nothing ends before the next look
            let first = look.unwrap_or(low).min(last);
            [first, likely.max(first).min(last), last]
        }
        // a step that its clock ends, ends with it
        (None, Some(due)) if matches!(plan.until, Until::Time { .. }) => [due; 3],
        (_, _) => [low, likely, high],
    }
}
