//! A plan with what it was made from, and how the engine is told of it.

use std::{collections::BTreeMap, sync::Arc};

use planner::{Buffers, Edge, Gap, GapKind, Plan, Planning, Source, Standing, landing_moments};
use quantities::{Drift, RunTime, Span};
use recipe_model::{Programme, StepId, StepRef};
use run_engine::{PlannedLanding, PlannedRest, PlannedStart, StageAt, StationPlan, TrialNo};
use trial::{PlanFit, PlanWhy};

use super::WINDOW;
use crate::run::tell::length;

/// What moves by less is told as it was.
const TREMBLE: Span = Span::from_secs(20);
/// Between the calls to two dishes that land together.
pub(super) const ONE_BY_ONE: Span = Span::from_secs(30);

/// A plan with what it was made from.
pub(super) struct Made {
    pub(super) planning: Planning,
    pub(super) plan: Plan,
    pub(super) wishes: Vec<TrialNo>,
    pub(super) programmes: Vec<Arc<Programme>>,
    pub(super) at: RunTime,
    /// How many steps had begun and how many had ended.
    pub(super) counts: (usize, usize),
    /// By how much more than it can take food has to wait.
    pub(super) grace: Span,
    /// The room that is left for what comes otherwise than expected.
    pub(super) room: Buffers,
    /// What was told of rests.
    pub(super) rests: Vec<PlannedRest>,
    /// What was told of starts, by activity, and of landings.
    pub(super) said: (BTreeMap<usize, RunTime>, BTreeMap<usize, RunTime>),
}

/// The plan as the engine takes it. What moved by less than counts is said as before, so that the record tells moves and no
/// tremble.
pub(super) fn told(made: &mut Made, why: PlanWhy, now: RunTime) -> StationPlan {
    let (mut starts_said, mut landings_said) = std::mem::take(&mut made.said);
    let project = &made.planning.project;
    let mut starts = Vec::new();
    for (at, source) in made.planning.sources.iter().enumerate() {
        let Source::Step { wish, step } = *source else { continue };
        if project.activities[at].standing != Standing::Open {
            continue;
        }
        let planned = &made.plan.activities[at];
        starts.push(PlannedStart {
            at: StageAt { trial: made.wishes[wish], stage: step.stage },
            step: made.step_id(wish, step),
            start: as_said(&mut starts_said, at, planned.start),
            latest: planned.latest,
            critical: planned.critical,
        });
    }
    let said: Vec<RunTime> = (0..project.landings.len())
        .map(|landing| as_said(&mut landings_said, landing, made.plan.landings[landing].at))
        .collect();
    let landing = |(landing, at): (usize, RunTime)| PlannedLanding { at, ..landing_of(made, landing, now) };
    let landings = said.into_iter().enumerate().map(landing).collect();
    made.said = (starts_said, landings_said);
    let fit = match (made.grace.is_zero(), made.plan.latest_landing_late()) {
        (false, _) => PlanFit::Cannot { reason: reason(made) },
        (true, by) if by <= WINDOW => PlanFit::Fits,
        (true, by) => PlanFit::Late { by },
    };
    StationPlan { why, starts, landings, rests: made.rests.clone(), fit }
}

/// A moment as it was said before, unless it moved by enough since.
pub(super) fn as_said(said: &mut BTreeMap<usize, RunTime>, index: usize, moment: RunTime) -> RunTime {
    let known = said.entry(index).or_insert(moment);
    if known.drift_from(moment).size() >= TREMBLE {
        *known = moment;
    }
    *known
}

/// The rests that go on so that their dish lands with the others.
pub(super) fn rests(
    planning: &Planning,
    wishes: &[TrialNo],
    programmes: &[Arc<Programme>],
    plan: &Plan,
) -> Vec<PlannedRest> {
    let project = &planning.project;
    let mut rests = Vec::new();
    for (asked, planned) in project.landings.iter().zip(&plan.landings) {
        for (&dish, keeps) in asked.dishes.iter().zip(&asked.keeps) {
            let Source::Step { wish, step } = planning.sources[dish] else { continue };
            // before it runs nothing is due
            let runs = matches!(project.activities[dish].standing, Standing::Running { .. });
            if keeps.is_none() || !runs || asked.dishes.len() < 2 {
                continue;
            }
            let at = StageAt { trial: wishes[wish], stage: step.stage };
            // a little earlier, so that the cook is not called to two dishes at once
            let longest = keeps.unwrap_or(Span::ZERO).saturating_sub(asked.within.unwrap_or(Span::ZERO));
            // never longer than it can take, however late the others are
            let until = planned.at.earlier(ONE_BY_ONE).min(plan.activities[dish].end + longest);
            rests.extend(programmes[wish].step(step).map(|plan| PlannedRest { at, step: plan.id.clone(), until }));
        }
    }
    rests
}

pub(super) fn landing_of(made: &Made, landing: usize, now: RunTime) -> PlannedLanding {
    let project = &made.planning.project;
    let (asked, planned) = (&project.landings[landing], made.plan.landings[landing]);
    // the moments by what the steps take, where paths meet by Clark's formulas
    let spread = landing_moments(project, &made.plan, landing).ok().flatten();
    let moment = |chance: f64| {
        let minutes = spread.map(|normal| normal.moment_at(chance)).filter(|minutes| minutes.is_finite());
        minutes.map_or(planned.at, |minutes| RunTime::from_millis((minutes.max(0.0) * 60_000.0) as u64).max(now))
    };
    let wish = made.planning.landing_of[landing];
    let step = |at: &usize| match made.planning.sources[*at] {
        Source::Step { wish, step } => Some(made.step_id(wish, step)),
        Source::Preheat { .. } => None,
    };
    PlannedLanding {
        trial: made.wishes[wish],
        name: asked.name.clone(),
        at: planned.at,
        wanted: asked.wanted,
        low: moment(0.1).min(planned.at),
        high: moment(0.9).max(planned.at),
        chance_thousandths: None,
        late: planned.late,
        dishes: asked.dishes.iter().filter_map(step).collect(),
    }
}

/// The gap in which food waits longest over what it can take, and by how much.
pub(super) fn longest_over(made: &Made) -> Option<(usize, Span)> {
    let over = |(index, gap): (usize, &Gap)| {
        let most = gap.most.filter(|_| gap.kind != GapKind::Lead)?;
        let (from, to) = (made.plan.activities[gap.from], made.plan.activities[gap.to]);
        let edge = match gap.edge {
            Edge::Start => from.start,
            Edge::End => from.end,
        };
        let over = to.start.drift_from(edge).millis() - most.millis();
        (over > 0).then_some((index, Drift::from_millis(over).size()))
    };
    made.planning.project.gaps.iter().enumerate().filter_map(over).max_by_key(|(_, over)| *over)
}

/// By how much the dishes of a landing end further apart than they may.
pub(super) fn too_far_apart(made: &Made) -> Option<Span> {
    let landings = made.planning.project.landings.iter().zip(&made.plan.landings);
    let over = landings.map(|(asked, planned)| {
        let waits = |(dish, keeps): (&usize, &Option<Span>)| {
            let waits = planned.at.since(made.plan.activities[*dish].end);
            keeps.or(asked.within).map_or(Span::ZERO, |most| waits.saturating_sub(most))
        };
        asked.dishes.iter().zip(&asked.keeps).map(waits).max().unwrap_or(Span::ZERO)
    });
    over.max().filter(|over| !over.is_zero())
}

/// Why a plan that had to give way does not fit, for the record.
pub(super) fn reason(made: &Made) -> String {
    let project = &made.planning.project;
    match (longest_over(made), too_far_apart(made)) {
        (Some((index, over)), _) => {
            let gap = &project.gaps[index];
            let (from, to) = (&project.activities[gap.from].name, &project.activities[gap.to].name);
            format!("{to} comes {} too late after {from}", length(over))
        }
        (None, Some(over)) => format!("the dishes end {} too far apart", length(over)),
        (None, None) => "the dishes do not land when they are wanted".into(),
    }
}

impl Made {
    pub(super) fn step_id(&self, wish: usize, step: StepRef) -> StepId {
        let plan = self.programmes[wish].step(step);
        plan.expect("the plan was made of this programme's steps").id.clone()
    }
}
