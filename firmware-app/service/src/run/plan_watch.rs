//! Whether the plan has moved by so much that the cook should know.
//!
//! Pure: it is told a plan and a moment, and says what the panel shows. Where the run follows a plan, its landing counts;
//! otherwise the forecast of the engine is the plan ([`Plan::of`]).

use std::collections::BTreeMap;

use quantities::{RunTime, Span};
use run_engine::{
    StageAt,
    view::{AlertState, LaneState, RunView, StartView},
};
use screens::{CannotView, MovedView, screen::MovedWay};
use trial::AlertKind;

/// A plan that has moved by less is the same plan.
const MOVES: Span = Span::from_mins(2);
/// A stage whose start moves by less is not listed.
const START_MOVES: Span = Span::from_mins(1);
/// So many stages are listed.
const STARTS: usize = 4;

/// When all is done, and what is still to begin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// The landing whose moment counts, the last one; none: it is the moment when all is done.
    pub landing: Option<String>,
    /// When it comes, or all dishes of all open trials are done.
    pub finish: RunTime,
    /// Why it does not fit, if it does not.
    pub cannot: Option<CannotView>,
    /// The stages that wait, each with what it is called and when it begins.
    pub starts: BTreeMap<StageAt, (String, RunTime)>,
}

/// Watches a plan against the one that the cook took last.
#[derive(Clone, Debug, Default)]
pub struct PlanWatch {
    /// The plan that counts: that of the start, or the one taken last.
    taken: Option<Plan>,
    /// The finish that the cook was told last, or the one that was taken.
    told: Option<RunTime>,
    /// The plan of this moment.
    latest: Option<Plan>,
    moved: Option<MovedView>,
    /// How many trials the plan is of: another one makes another plan, and nothing has moved.
    trials: usize,
}

impl Plan {
    /// The plan that the engine follows, or as it foresees it; none before it can tell when all is done. `cannot` says
    /// why it does not fit.
    pub fn of(view: &RunView, cannot: Option<CannotView>) -> Option<Self> {
        if let Some(last) = view.landings.iter().max_by_key(|landing| landing.at) {
            let start =
                |start: &StartView| (start.at, (format!("{} {}", start.food, start.step_name), start.plan.start));
            // the next step of a stage stands for the stage
            let starts = view.starts.iter().filter(|start| !start.ready).rev().map(start).collect();
            return Some(Self { landing: Some(last.name.clone()), finish: last.at, cannot, starts });
        }
        let stages = view.lanes.iter().flat_map(|lane| lane.front.iter().chain(&lane.others));
        let starts = stages.filter_map(|stage| {
            let LaneState::Waiting { ready: Some(when) } = stage.state else { return None };
            Some((stage.at, (format!("{} {}", stage.food, stage.step_name), when)))
        });
        Some(Self { landing: None, finish: view.all_done?, cannot, starts: starts.collect() })
    }
}

impl PlanWatch {
    /// Takes the plan of this moment; says whether a page is new.
    ///
    /// While an alert claims the panel nothing new is said: its time on the panel would pass unseen.
    pub fn look(&mut self, view: &RunView, cannot: Option<CannotView>) -> bool {
        let open = view.trials.iter().filter(|trial| trial.closed.is_none()).count();
        let plan = Plan::of(view, cannot).filter(|_| open > 0);
        self.take_in(plan, open, claimed(view), view.now)
    }

    /// The same with a plan from elsewhere, for so many trials.
    pub fn take_in(&mut self, plan: Option<Plan>, trials: usize, claimed: bool, now: RunTime) -> bool {
        let Some(plan) = plan else {
            *self = Self { trials, ..Self::default() };
            return false;
        };
        // a run that follows a plan from here on has another one, as with another trial
        let like = |taken: &&Plan| self.trials == trials && taken.landing.is_some() == plan.landing.is_some();
        let known = self.taken.as_ref().filter(like);
        let Some(taken) = known else {
            // what does not fit from the start is said at once; there is no other plan to keep
            let moved = plan.cannot.is_some().then(|| MovedView { can_keep: false, ..moved(&plan, &plan, now) });
            let fresh = moved.is_some();
            *self = Self { told: Some(plan.finish), taken: Some(plan.clone()), latest: Some(plan), moved, trials };
            return fresh;
        };
        let told = self.told.unwrap_or(taken.finish);
        let known = self.latest.as_ref().is_some_and(|latest| latest.cannot.is_some());
        let fails = plan.cannot.is_some() && !known;
        let fresh = fails || (far(plan.finish, told) && far(plan.finish, taken.finish));
        if fresh && !claimed {
            self.moved = Some(moved(taken, &plan, now));
            self.told = Some(plan.finish);
        } else if fails {
            // an alert stands: it is said when that is over
            return false;
        } else if !far(plan.finish, taken.finish) && plan.cannot.is_none() {
            // it went back to where it was
            self.moved = None;
        }
        self.latest = Some(plan);
        fresh && !claimed
    }

    /// What the panel shows.
    pub fn moved(&self) -> Option<&MovedView> {
        self.moved.as_ref()
    }

    /// The cook takes the plan of this moment; says whether there was one to take.
    pub fn take(&mut self) -> bool {
        self.told = self.latest.as_ref().map(|plan| plan.finish);
        self.taken.clone_from(&self.latest);
        self.moved.take().is_some()
    }

    /// The cook keeps the plan that counted: nothing new is said until the finish moves on by as much again.
    pub fn keep(&mut self) -> bool {
        self.moved.take().is_some()
    }
}

fn far(a: RunTime, b: RunTime) -> bool {
    a.since(b) >= MOVES || b.since(a) >= MOVES
}

fn moved(taken: &Plan, plan: &Plan, now: RunTime) -> MovedView {
    let shifted = |was: RunTime, now: RunTime| was.since(now).max(now.since(was)) >= START_MOVES;
    let mut starts: Vec<(String, RunTime, RunTime)> = plan
        .starts
        .iter()
        .filter_map(|(at, (what, now))| {
            let (_, was) = taken.starts.get(at)?;
            shifted(*was, *now).then(|| (what.clone(), *was, *now))
        })
        .collect();
    starts.sort_by_key(|(_, _, now)| *now);
    starts.truncate(STARTS);
    let way = match &plan.cannot {
        Some(_) => MovedWay::CannotFit,
        None if plan.finish > taken.finish => MovedWay::Late,
        None => MovedWay::Early,
    };
    MovedView {
        at: now,
        way,
        landing: plan.landing.clone(),
        was: taken.finish,
        now: plan.finish,
        starts,
        cannot: plan.cannot.clone(),
        can_keep: true,
    }
}

/// Whether something asks for the cook at this moment.
fn claimed(view: &RunView) -> bool {
    let asks = |kind: AlertKind, state: AlertState| match kind {
        AlertKind::Overdue
        | AlertKind::ProbeLost
        | AlertKind::StillCooking
        | AlertKind::Due
        | AlertKind::Inside
        | AlertKind::Question
        | AlertKind::Window => !matches!(state, AlertState::Shelved { .. }),
        AlertKind::Ready => state == AlertState::Sounding,
        AlertKind::Soon | AlertKind::OnHold | AlertKind::WasLost => false,
    };
    view.resume.is_some() || view.alerts.iter().any(|alert| asks(alert.kind, alert.state))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use run_engine::TrialNo;
    use screens::gallery::views::{due, four_lanes};

    use super::*;

    fn at(mins: u64) -> RunTime {
        RunTime::START + Span::from_mins(mins)
    }

    fn plan(done: u64, milk: u64) -> Option<Plan> {
        let milk = (StageAt { trial: TrialNo(1), stage: 1 }, ("milk warm".to_owned(), at(milk)));
        Some(Plan { landing: None, finish: at(done), cannot: None, starts: [milk].into() })
    }

    fn watching() -> PlanWatch {
        let mut watch = PlanWatch::default();
        assert!(!watch.take_in(plan(60, 20), 1, false, at(0)));
        watch
    }

    #[test]
    fn a_finish_that_moves_by_two_minutes_is_told_once_with_the_stages_that_move() {
        let mut watch = watching();
        assert!(!watch.take_in(plan(61, 21), 1, false, at(1)));
        assert_eq!(watch.moved(), None);
        assert!(watch.take_in(plan(63, 22), 1, false, at(2)));
        let moved = watch.moved().unwrap();
        assert_eq!((moved.way, moved.was, moved.now, moved.at), (MovedWay::Late, at(60), at(63), at(2)));
        assert_eq!(moved.starts, [("milk warm".to_owned(), at(20), at(22))]);
        assert!(!watch.take_in(plan(64, 23), 1, false, at(3)), "it is told already");
        assert!(watch.take_in(plan(65, 24), 1, false, at(4)), "as much again");
    }

    #[test]
    fn an_earlier_finish_is_told_too() {
        let mut watch = watching();
        assert!(watch.take_in(plan(57, 20), 1, false, at(2)));
        assert_eq!(watch.moved().map(|moved| (moved.way, moved.starts.len())), Some((MovedWay::Early, 0)));
    }

    #[test]
    fn a_plan_that_is_taken_counts_from_there_on() {
        let mut watch = watching();
        watch.take_in(plan(63, 22), 1, false, at(2));
        assert!(watch.take());
        assert_eq!(watch.moved(), None);
        assert!(!watch.take_in(plan(64, 23), 1, false, at(3)));
        assert!(watch.take_in(plan(65, 23), 1, false, at(4)));
        assert_eq!(watch.moved().map(|moved| moved.was), Some(at(63)));
    }

    #[test]
    fn a_plan_that_is_kept_is_not_told_again_before_it_moves_on_by_as_much() {
        let mut watch = watching();
        watch.take_in(plan(63, 22), 1, false, at(2));
        assert!(watch.keep());
        assert!(!watch.take_in(plan(64, 22), 1, false, at(3)));
        assert_eq!(watch.moved(), None);
        assert!(watch.take_in(plan(65, 22), 1, false, at(4)));
        assert_eq!(watch.moved().map(|moved| moved.was), Some(at(60)), "the one that was kept");
    }

    #[test]
    fn a_plan_that_comes_back_leaves_nothing_to_say() {
        let mut watch = watching();
        watch.take_in(plan(63, 22), 1, false, at(2));
        watch.take_in(plan(61, 20), 1, false, at(3));
        assert_eq!(watch.moved(), None);
    }

    #[test]
    fn while_an_alert_claims_nothing_is_told_and_its_time_does_not_pass() {
        let mut watch = watching();
        assert!(!watch.take_in(plan(63, 22), 1, true, at(2)));
        assert_eq!(watch.moved(), None);
        assert!(watch.take_in(plan(63, 22), 1, false, at(9)));
        assert_eq!(watch.moved().map(|moved| moved.at), Some(at(9)));
        assert!(claimed(&due()) && !claimed(&four_lanes()));
    }

    #[test]
    fn another_trial_makes_another_plan() {
        let mut watch = watching();
        assert!(!watch.take_in(plan(90, 20), 2, false, at(2)));
        assert_eq!(watch.moved(), None);
        assert!(!watch.take_in(None, 0, false, at(3)));
        assert!(!watch.take_in(plan(120, 20), 1, false, at(4)));
    }

    #[test]
    fn the_engine_s_forecast_is_a_plan() {
        let found = Plan::of(&four_lanes(), None).unwrap();
        assert_eq!(found.finish, four_lanes().all_done.unwrap());
        let names: Vec<&str> = found.starts.values().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["milk warm", "syrup boil"]);
    }
}
