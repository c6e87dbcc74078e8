//! Views of a run that follows a plan.
#![allow(missing_docs, clippy::unwrap_used, reason = "samples with fixed values, which the tests build all of")]

use alloc::{vec, vec::Vec};

use quantities::{RunTime, Span};
use run_engine::{
    TrialNo,
    view::{
        AlertState, AlertView, KeyWord, LandingView, LaneState, NextView, NextWhat, PlanView, RunView, StageView,
        StartView,
    },
};
use trial::{AlertKind, PlanFit, Priority};

use super::views::*;
use crate::{
    CannotView, CannotWhy, MovedView, PreviewView, ReadyAtView, Remedy, Scarce, StationView, WantingView,
    screen::MovedWay,
};

fn plan(start: u64, slack: u64) -> PlanView {
    PlanView { start: after(start), latest: after(start + slack), critical: slack == 0 }
}

/// The planned starts of the stages of a run, as they stand in its lanes.
fn starts(view: &RunView) -> Vec<StartView> {
    let stages = view.lanes.iter().flat_map(|lane| {
        let stages = lane.front.iter().chain(&lane.others);
        stages.map(move |stage| (lane.number, stage))
    });
    let mut starts: Vec<StartView> = stages
        .filter_map(|(lane, stage)| {
            Some(StartView {
                at: stage.at,
                lane,
                step: stage.step.clone(),
                food: stage.food.clone(),
                step_name: stage.step_name.clone(),
                ready: matches!(stage.state, LaneState::Ready { .. }),
                plan: stage.plan?,
            })
        })
        .collect();
    starts.sort_by_key(|start| start.plan.start);
    starts
}

fn landing(at: RunTime) -> LandingView {
    LandingView {
        trial: TrialNo(1),
        name: "tart and cream".into(),
        at,
        wanted: None,
        low: at.earlier(Span::from_mins(2)),
        high: at + Span::from_mins(4),
        late: Span::ZERO,
        chance_thousandths: Some(830),
    }
}

/// An ordinary minute: the milk and the syrup wait for their planned starts.
pub fn planned() -> RunView {
    let mut view = four_lanes();
    view.lanes[1].front.as_mut().unwrap().plan = Some(plan(720, 240));
    view.lanes[2].others[0].plan = Some(plan(900, 0));
    view.starts = starts(&view);
    // steps further on, which no lane shows yet
    let later = |food: &str, step: &str, lane, start, slack| StartView {
        lane,
        food: food.into(),
        step_name: step.into(),
        plan: plan(start, slack),
        ..view.starts[0].clone()
    };
    let later =
        [later("tart", "bake", 1, 1500, 60), later("tart", "cool", 4, 2400, 0), later("cream", "whip", 4, 2460, 300)];
    view.starts.extend(later);
    view.landings = vec![landing(after(2820))];
    view.trials[0].plan = Some(PlanFit::Fits);
    view
}

/// It lands five minutes later than it is wanted.
pub fn planned_late() -> RunView {
    let mut view = planned();
    let late = Span::from_mins(5);
    view.landings[0].wanted = Some(view.landings[0].at.earlier(late));
    view.landings[0].late = late;
    view.trials[0].plan = Some(PlanFit::Late { by: late });
    view
}

/// The milk cannot wait.
pub fn planned_tight() -> RunView {
    let mut view = planned();
    view.lanes[1].front.as_mut().unwrap().plan = Some(plan(720, 0));
    view.starts = starts(&view);
    view
}

/// The trial was opened well before its first start: nothing runs, nothing is asked.
pub fn opened_early(first: u64) -> RunView {
    let mut view = four_lanes();
    let waits = |lane, name, start: u64, slack| StageView {
        plan: Some(plan(start, slack)),
        number: (1, 4),
        began: None,
        setting: None,
        ..stage(lane, name, LaneState::Waiting { ready: Some(after(start)) })
    };
    let fronts = [
        waits(1, "shell bake", first + 1500, 240),
        waits(2, "milk warm", first + 2700, 180),
        waits(3, "curd cook", first + 3000, 0),
        waits(4, "cream prep", first, 900),
    ];
    for (lane, front) in view.lanes.iter_mut().zip(fronts) {
        (lane.front, lane.others) = (Some(front), vec![]);
    }
    let what = NextWhat::Start("prep".into());
    view.next = Some(NextView { lane: 4, at: stage_at(4), what, when: after(first), core: None });
    view.starts = starts(&view);
    view.landings = vec![landing(after(first + 6900))];
    view.all_done = Some(after(first + 6900));
    view.trials[0].plan = Some(PlanFit::Fits);
    view
}

/// The milk can be started; so much is left until its latest start. Its call was silenced.
pub fn ready_planned(left: u64) -> RunView {
    let mut view = ready();
    view.lanes[1].front.as_mut().unwrap().plan =
        Some(PlanView { start: before(4), latest: after(left), critical: false });
    view.alerts[0].state = AlertState::Acknowledged;
    view.starts = starts(&view);
    view.landings = vec![landing(after(2820))];
    view
}

/// The milk was to be started two minutes ago.
pub fn start_due() -> RunView {
    let mut view = planned();
    let front = view.lanes[1].front.as_mut().unwrap();
    front.plan = Some(PlanView { start: before(128), latest: after(112), critical: false });
    let view = with_state(view, 2, LaneState::Due { since: before(128) }, Some(KeyWord::Start));
    let due = alert(2, AlertKind::Due, "START", "milk in the micro", 8);
    with_alert(view, AlertView { priority: Priority::Low, since: before(128), ..due })
}

/// What a plan says: its first step, its landing, and how much later than wanted that is, in seconds.
pub fn plan_says(first: u64, lands: u64, late: u64) -> Option<PreviewView> {
    let first = Some(("cream prep".into(), after(first)));
    Some(PreviewView { first, lands: after(lands), late: Span::from_secs(late) })
}

/// A trial is prepared whose dishes are wanted then.
pub fn wanted_at(secs: u64, plan: Option<PreviewView>) -> StationView {
    let mut here = station();
    here.check.as_mut().unwrap().ready_at = ready_at(Some(secs), plan);
    here
}

/// What is stated for the trial that goes on.
pub fn wanting(secs: Option<u64>, plan: Option<PreviewView>) -> StationView {
    StationView { wanting: Some(WantingView { trial: TrialNo(1), ready_at: ready_at(secs, plan) }), ..station() }
}

fn ready_at(secs: Option<u64>, plan: Option<PreviewView>) -> ReadyAtView {
    ReadyAtView { wanted: secs.map(after), earliest: Some(after(2820)), plan }
}

/// The landing has moved this way.
pub fn landing_moved(way: MovedWay, now: u64, cannot: Option<CannotView>) -> StationView {
    let mut here = plan_moved(way, 2820, now);
    if let Some(moved) = &mut here.moved {
        *moved = MovedView { landing: Some("tart and cream".into()), cannot, ..moved.clone() };
    }
    here
}

pub fn too_few_burners() -> CannotView {
    let why = CannotWhy::TooFew { of: Scarce::Burners, wanted: 2, at: after(1200) };
    CannotView { why, remedy: Some(Remedy::Earliest(after(3120))) }
}

pub fn waits_too_long() -> CannotView {
    let by = Span::from_mins(6);
    CannotView {
        why: CannotWhy::WaitsTooLong { what: "tart".into(), by },
        remedy: Some(Remedy::LetWait { what: "tart".into(), by }),
    }
}

pub fn two_heats() -> CannotView {
    CannotView { why: CannotWhy::TwoHeats { at: after(1200) }, remedy: Some(Remedy::OneMore(Scarce::Ovens)) }
}
