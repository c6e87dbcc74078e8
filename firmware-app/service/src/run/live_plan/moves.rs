//! What counts as a move of a plan, and what moved it.

use planner::{Edge, GapKind, Plan, Planning, Project, Standing};
use quantities::{Drift, RunTime, Span};
use run_engine::{
    PlannedRest,
    view::{Standing as Stands, StandingView},
};
use trial::PlanWhy;

use super::made::{Made, ONE_BY_ONE};

/// While every start and landing moves by less, the plan stays as it was: predictions tremble.
pub(super) const MOVES: Span = Span::from_mins(1);
/// Of a longest wait of so much a part is kept back when a plan is made.
const LONG_WAIT: Span = Span::from_mins(4);

/// Whether a rest is to end at another moment than the engine was told.
pub(super) fn rests_move(now: &[PlannedRest], told: &[PlannedRest]) -> bool {
    let same = |rest: &PlannedRest| {
        let known = told.iter().find(|known| known.at == rest.at && known.step == rest.step);
        known.is_some_and(|known| known.until.drift_from(rest.until).size() < ONE_BY_ONE)
    };
    !now.iter().all(same)
}

/// How many steps have begun, and how many are over.
pub(super) fn counts(standing: &[StandingView]) -> (usize, usize) {
    let over = |view: &&StandingView| matches!(view.state, Stands::Ended { .. } | Stands::Skipped);
    let open = standing.iter().filter(|view| view.state == Stands::Open).count();
    (standing.len() - open, standing.iter().filter(over).count())
}

/// Whether a start or a landing moved by enough to say so.
pub(super) fn changed(planning: &Planning, was: &Plan, now: &Plan) -> bool {
    if was.activities.len() != now.activities.len() {
        return true;
    }
    let far = |a: RunTime, b: RunTime| a.drift_from(b).size() >= MOVES;
    let open = planning.project.activities.iter().zip(was.activities.iter().zip(&now.activities));
    let starts = open.filter(|(activity, _)| activity.standing == Standing::Open);
    let landings = was.landings.iter().zip(&now.landings);
    starts.into_iter().any(|(_, (was, now))| far(was.start, now.start))
        || landings.into_iter().any(|(was, now)| far(was.at, now.at) || was.late.is_zero() != now.late.is_zero())
}

/// Whether a plan that was made before breaks what the food can take, as things stand now.
pub(super) fn breaks(project: &Project, plan: &Plan) -> bool {
    let end = |at: usize| match project.activities[at].standing {
        Standing::Open => plan.activities[at].end,
        Standing::Running { left, .. } => project.now + left.likely,
        Standing::Ended { ended, .. } => ended,
    };
    let start = |at: usize| match project.activities[at].standing {
        Standing::Open => plan.activities[at].start,
        Standing::Running { began, .. } | Standing::Ended { began, .. } => began,
    };
    project.gaps.iter().any(|gap| {
        let edge = match gap.edge {
            Edge::Start => start(gap.from),
            Edge::End => end(gap.from),
        };
        let gone = start(gap.to).drift_from(edge);
        let open = project.activities[gap.to].standing == Standing::Open;
        open && gap.kind != GapKind::Lead && gap.most.is_some_and(|most| gone > most)
    })
}

/// What a running step still takes: as planned, unless the newest forecast lies well away from that. Forecasts tremble,
/// the more the longer they reach; a plan that follows each of them is none.
pub(super) fn steadied(left: Span, planned: Span) -> Span {
    let tremble = (left / 20).max(Span::from_secs(45));
    let apart = left.saturating_sub(planned).max(planned.saturating_sub(left));
    if apart < tremble { planned } else { left }
}

/// The project with a part of each longer wait kept back.
pub(super) fn spared(project: &Project) -> Project {
    let mut project = project.clone();
    for gap in project.gaps.iter_mut().filter(|gap| gap.kind != GapKind::Lead) {
        let Some(most) = gap.most.filter(|most| !most.is_early() && most.size() >= LONG_WAIT) else { continue };
        let kept = (most.size() / 10).min(Span::from_mins(2));
        let least = if gap.least.is_early() { 0 } else { gap.least.millis() };
        let millis = i64::try_from(most.size().saturating_sub(kept).millis()).unwrap_or(i64::MAX);
        gap.most = Some(Drift::from_millis(millis.max(least)));
    }
    project
}

/// What moved the plan most: the step that is the furthest from where the plan had it.
pub(super) fn why(made: &Made, standing: &[StandingView], now: RunTime) -> PlanWhy {
    let mut most: Option<(Span, PlanWhy)> = None;
    for view in standing {
        let Some(wish) = made.wishes.iter().position(|no| *no == view.trial) else { continue };
        let Some(at) = made.planning.activity(wish, view.at) else { continue };
        let (was, planned) = (made.planning.project.activities[at].standing, made.plan.activities[at]);
        let step = view.step.clone();
        let happened = |moment: RunTime, planned: RunTime| {
            let by = moment.drift_from(planned);
            let why = if by.is_early() {
                PlanWhy::Early { step: step.clone(), by: by.size() }
            } else {
                PlanWhy::Late { step: step.clone(), by: by.size() }
            };
            (by.size(), why)
        };
        let found = match (was, view.state) {
            (Standing::Open | Standing::Running { .. }, Stands::Ended { ended, .. }) => happened(ended, planned.end),
            (Standing::Open | Standing::Running { .. }, Stands::Running { began, left, .. }) => {
                let by = (now + left).drift_from(planned.end);
                let foreseen = (by.size(), PlanWhy::Foreseen { step: step.clone(), by });
                let begun = (was == Standing::Open).then(|| happened(began, planned.start));
                begun.filter(|begun| begun.0 > foreseen.0).unwrap_or(foreseen)
            }
            (Standing::Open, Stands::Open) if planned.start < now => happened(now, planned.start),
            (Standing::Open | Standing::Running { .. }, Stands::Skipped) => (Span::ZERO, PlanWhy::Skipped { step }),
            (Standing::Open, Stands::Open) | (Standing::Running { .. }, Stands::Open) | (Standing::Ended { .. }, _) => {
                continue;
            }
        };
        if most.as_ref().is_none_or(|most| found.0 > most.0) {
            most = Some(found);
        }
    }
    most.map_or(PlanWhy::Wanted, |(_, why)| why)
}
