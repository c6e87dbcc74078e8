//! When dishes are wanted, as it is stated at the panel, and what a plan would be with that.

use quantities::{RunTime, Span};
use run_engine::{Input, TrialNo, view::RunView};
use screens::{PlanAsked, PreviewView, ReadyAtView};

use super::Station;
use crate::run::live_plan::Preview;

/// What a plan would be is asked anew so often while it is shown: time passes, and with it the earliest moment.
const EVERY: Span = Span::from_secs(10);

/// What is stated, and what a plan would be.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Stated {
    /// None: as it comes.
    wanted: Option<RunTime>,
    /// Once it was asked.
    asked: Option<Asked>,
}

/// What a plan would be at a moment.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Asked {
    at: RunTime,
    /// When the dishes can land at the earliest.
    earliest: Option<RunTime>,
    /// With what is stated.
    plan: Option<Preview>,
}

impl Stated {
    /// When the dishes are wanted.
    pub(super) fn at(&self) -> Option<RunTime> {
        self.wanted
    }

    /// What the panel shows.
    pub(super) fn view(&self) -> ReadyAtView {
        let view = |Preview { first, lands, late }: Preview| PreviewView { first, lands, late };
        ReadyAtView {
            wanted: self.wanted,
            earliest: self.asked.as_ref().and_then(|asked| asked.earliest),
            plan: self.asked.as_ref().and_then(|asked| asked.plan.clone()).map(view),
        }
    }

    fn is_old(&self, now: RunTime) -> bool {
        self.asked.as_ref().is_some_and(|asked| now.since(asked.at) >= EVERY)
    }

    /// States another moment; the earliest one is asked anew only where it is old.
    fn state(&mut self, wanted: Option<RunTime>, preview: impl Fn(RunTime) -> Option<Preview>, now: RunTime) {
        let known = self.asked.take().filter(|asked| now.since(asked.at) < EVERY);
        let (at, earliest) = match known {
            Some(known) => (known.at, known.earliest),
            // wanted at once it comes as early as it can
            None => (now, preview(now).map(|plan| plan.lands)),
        };
        self.wanted = wanted;
        self.asked = Some(Asked { at, earliest, plan: wanted.and_then(preview) });
    }
}

impl Station {
    /// States when the dishes of the prepared trial are wanted.
    pub(super) fn state_ready_at(&mut self, wanted: Option<RunTime>, now: RunTime) -> bool {
        let Some(mut prepared) = self.prepared.take() else { return false };
        let programme = prepared.shelved.variant(prepared.variant.as_deref());
        let stated = programme.is_ok();
        if let Ok((_, programme)) = programme {
            let standing = self.engine.standing(now);
            let recipe = &prepared.shelved.recipe;
            let preview = |wanted| self.live_plan.preview(recipe, &programme, wanted, &standing, now);
            prepared.wanted.state(wanted, preview, now);
        }
        self.prepared = Some(prepared);
        stated
    }

    /// Asks what the plan would be if the dishes of a trial that goes on were wanted at another moment.
    pub(super) fn ask_plan(&mut self, trial: TrialNo, wanted: Option<RunTime>, now: RunTime) -> bool {
        if self.open.get(&trial).is_none_or(|open| open.closed) {
            return false;
        }
        let known = self.wanting.take().filter(|(of, _)| *of == trial);
        let mut stated = known.map(|(_, stated)| stated).unwrap_or_default();
        let standing = self.engine.standing(now);
        let preview = |wanted| self.live_plan.preview_of(trial, wanted, &standing, now);
        stated.state(wanted, preview, now);
        self.wanting = Some((trial, stated));
        true
    }

    /// Moves the plan so that the dishes of a trial that goes on land when they are wanted.
    pub(super) fn want(&mut self, trial: TrialNo, wanted: RunTime, now: RunTime) -> bool {
        self.wanting = None;
        let standing = self.engine.standing(now);
        let Some(plan) = self.live_plan.want(trial, wanted, &standing, now) else { return false };
        self.input(Input::Plan(plan), now);
        true
    }

    /// Keeps what the panel shows of a plan that nothing follows yet no older than it may be.
    pub(super) fn look_ahead(&mut self, view: &RunView, now: RunTime) {
        let asked = self.desk.asks_plan(view, &self.shown);
        if !matches!(asked, Some(PlanAsked::Trial(_))) {
            // its page was left, by an alert or a long rest
            self.wanting = None;
        }
        match asked {
            Some(PlanAsked::Prepared) => {
                let old = self.prepared.as_ref().filter(|prepared| prepared.wanted.is_old(now));
                if let Some(wanted) = old.map(|prepared| prepared.wanted.at()) {
                    self.state_ready_at(wanted, now);
                }
            }
            Some(PlanAsked::Trial(trial)) => {
                let old = self.wanting.as_ref().filter(|(of, stated)| *of == trial && stated.is_old(now));
                if let Some(wanted) = old.map(|(_, stated)| stated.at()) {
                    self.ask_plan(trial, wanted, now);
                }
            }
            None => {}
        }
    }
}
