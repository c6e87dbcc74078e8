//! The plan of a run that goes on: made when a trial is opened, moved with what happens, small changes before large ones.
//!
//! Pure: it is told how far the steps are and what moment it is, and gives the plan that the engine is to follow.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use planner::{
    Arranged, Buffers, Edge, Gap, GapKind, How, Live, Plan, Planning, Project, Source, Standing, Wish, arrange,
    arrange_anyhow, choose, landing_moments, mark, retime,
};
use quantities::{Drift, RunTime, Span};
use recipe_model::{KitchenNeeds, Programme, Recipe, StepId, StepRef};
use run_engine::{
    PlannedLanding, PlannedRest, PlannedStart, StageAt, StationPlan, TrialNo,
    view::{Standing as Stands, StandingView},
};
use schedule::Stability;
use screens::{CannotView, CannotWhy, Remedy};
use trial::{Entry, Fact, PlanFit, PlanWhy};

use super::tell::length;
use crate::planning::KitchenCounts;

/// A landing that moves by so much asks whether another order does better, and is shown.
pub const DRIFT: Span = Span::from_mins(2);
/// While every start and landing moves by less, the plan stays as it was: predictions tremble.
const MOVES: Span = Span::from_mins(1);
/// So much earlier than wanted the dishes may land, in seconds, where what has begun leaves no other way; in turn.
const EARLIER: [u64; 12] = [0, 30, 60, 90, 120, 180, 240, 300, 450, 600, 900, 1800];
/// What moves by less is told as it was.
const TREMBLE: Span = Span::from_secs(20);
/// While nothing begins or ends, the plan is looked at so often.
const EVERY: Span = Span::from_secs(10);
/// Schedules tried at the opening of a trial, and while a run is on.
const AT_OPENING: u64 = 4_000;
const RUNNING: u64 = 600;
/// So many ways to leave room are tried in simulated cooks at the opening.
const WAYS: u32 = 24;
/// Whether a rest is to end at another moment than the engine was told.
fn rests_move(now: &[PlannedRest], told: &[PlannedRest]) -> bool {
    let same = |rest: &PlannedRest| {
        let known = told.iter().find(|known| known.at == rest.at && known.step == rest.step);
        known.is_some_and(|known| known.until.drift_from(rest.until).size() < ONE_BY_ONE)
    };
    !now.iter().all(same)
}

/// Of a longest wait of so much a part is kept back when a plan is made.
const LONG_WAIT: Span = Span::from_mins(4);
/// Between the calls to two dishes that land together.
const ONE_BY_ONE: Span = Span::from_secs(30);
/// How far around the wanted moment a landing still counts.
const WINDOW: Span = Span::from_mins(3);

/// The plan of the open trials.
#[derive(Default)]
pub struct LivePlan {
    counts: KitchenCounts,
    trials: BTreeMap<TrialNo, Open>,
    made: Option<Made>,
    /// What was kept against a large move: the landings that were refused.
    refused: Option<Vec<RunTime>>,
    /// The plan before the last large move, to go back to.
    before: Option<Plan>,
    /// The landing that was wanted too soon when its trial was opened, and when it can come.
    too_soon: Option<(usize, RunTime)>,
}

/// A trial of the plan.
struct Open {
    programme: Arc<Programme>,
    needs: KitchenNeeds,
    wanted: Option<RunTime>,
    closed: bool,
}

/// A plan with what it was made from.
struct Made {
    planning: Planning,
    plan: Plan,
    wishes: Vec<TrialNo>,
    programmes: Vec<Arc<Programme>>,
    at: RunTime,
    /// How many steps had begun and how many had ended.
    counts: (usize, usize),
    /// By how much more than it can take food has to wait.
    grace: Span,
    /// The room that is left for what comes otherwise than expected.
    room: Buffers,
    /// What was told of rests.
    rests: Vec<PlannedRest>,
    /// What was told of starts, by activity, and of landings.
    said: (BTreeMap<usize, RunTime>, BTreeMap<usize, RunTime>),
}

impl LivePlan {
    /// Plans with what this kitchen has.
    pub fn set_kitchen(&mut self, counts: KitchenCounts) {
        self.counts = counts;
    }

    /// Whether any landing is wanted at a moment: then all open trials are planned.
    pub fn is_active(&self) -> bool {
        self.open_ones().any(|(_, open)| open.wanted.is_some())
    }

    /// Takes a trial in, and gives the plan of all with it; none while no landing is wanted at a moment.
    pub fn open(
        &mut self,
        no: TrialNo,
        recipe: &Recipe,
        programme: Arc<Programme>,
        wanted: Option<RunTime>,
        standing: &[StandingView],
        now: RunTime,
    ) -> Option<StationPlan> {
        self.trials.insert(no, Open { programme, needs: recipe.kitchen.clone(), wanted, closed: false });
        let why = if self.open_ones().count() > 1 { PlanWhy::TrialOpened } else { PlanWhy::Opened };
        self.anew(why, standing, now)
    }

    /// Lets a trial go that is closed.
    pub fn close(&mut self, no: TrialNo) {
        if let Some(open) = self.trials.get_mut(&no) {
            open.closed = true;
            self.made = None;
        }
    }

    /// Takes a closed trial in again.
    pub fn reopen(&mut self, no: TrialNo) {
        if let Some(open) = self.trials.get_mut(&no) {
            open.closed = false;
            self.made = None;
        }
    }

    /// Takes a trial in that goes on after a restart; what is to be followed is said at the next look.
    pub fn resume(&mut self, no: TrialNo, recipe: &Recipe, programme: Arc<Programme>, wanted: Option<RunTime>) {
        self.trials.insert(no, Open { programme, needs: recipe.kitchen.clone(), wanted, closed: false });
        self.made = None;
    }

    /// Changes when the dishes of a trial are wanted.
    pub fn want(
        &mut self,
        no: TrialNo,
        wanted: RunTime,
        standing: &[StandingView],
        now: RunTime,
    ) -> Option<StationPlan> {
        self.trials.get_mut(&no)?.wanted = Some(wanted);
        self.anew(PlanWhy::Wanted, standing, now)
    }

    /// Looks whether the plan has to move; gives the one to follow if it does.
    pub fn look(&mut self, standing: &[StandingView], now: RunTime) -> Option<StationPlan> {
        if !self.is_active() {
            return None;
        }
        let counts = counts(standing);
        let Some(made) = &self.made else { return self.anew(PlanWhy::Resumed, standing, now) };
        if counts == made.counts && now.since(made.at) < EVERY {
            return None;
        }
        let why = why(made, standing, now);
        let planning = self.planning(standing, now)?;
        let (plan, grace, large) = self.moved(&planning, made);
        let landings: Vec<RunTime> = plan.landings.iter().map(|landing| landing.at).collect();
        let near = |refused: &Vec<RunTime>| refused.iter().zip(&landings).all(|(a, b)| a.drift_from(*b).size() < DRIFT);
        let made = self.made.as_mut()?;
        (made.at, made.counts) = (now, counts);
        if self.refused.as_ref().is_some_and(near) {
            return None;
        }
        let changed = changed(&planning, &made.plan, &plan)
            || grace.is_zero() != made.grace.is_zero()
            || (breaks(&planning.project, &made.plan) && !breaks(&planning.project, &plan))
            || rests_move(&rests(&planning, &made.wishes, &made.programmes, &plan), &made.rests);
        if large {
            self.before = Some(made.plan.clone());
        }
        if !changed {
            return None;
        }
        self.refused = None;
        (made.planning, made.plan, made.grace) = (planning, plan, grace);
        made.rests = rests(&made.planning, &made.wishes, &made.programmes, &made.plan);
        Some(told(made, why, now))
    }

    /// Goes back to the plan before the last large move, until the landings move on by as much again.
    pub fn keep(&mut self, now: RunTime) -> Option<StationPlan> {
        let before = self.before.take()?;
        let made = self.made.as_mut()?;
        self.refused = Some(made.plan.landings.iter().map(|landing| landing.at).collect());
        made.plan = before;
        Some(told(made, PlanWhy::Kept, now))
    }

    /// Why the plan does not fit, and what helps, if it does not: food waits too long, dishes end too far apart, or what
    /// was wanted at the opening comes too soon.
    pub fn cannot(&self) -> Option<CannotView> {
        let made = self.made.as_ref()?;
        if let Some((gap, by)) = longest_over(made).filter(|_| !made.grace.is_zero()) {
            let what = made.planning.project.activities[made.planning.project.gaps[gap].to].name.clone();
            let remedy = Some(Remedy::LetWait { what: what.clone(), by });
            return Some(CannotView { why: CannotWhy::WaitsTooLong { what, by }, remedy });
        }
        if let Some(by) = too_far_apart(made).filter(|_| !made.grace.is_zero()) {
            return Some(CannotView { why: CannotWhy::TooFarApart { by }, remedy: Some(Remedy::Spread(by)) });
        }
        let (landing, at) = self.too_soon?;
        let wanted = made.planning.project.landings.get(landing)?.wanted?;
        Some(CannotView { why: CannotWhy::TooSoon { wanted }, remedy: Some(Remedy::Earliest(at)) })
    }

    /// The cook agrees with the plan as it is.
    pub fn take(&mut self) {
        self.before = None;
        self.refused = None;
    }

    fn anew(&mut self, why: PlanWhy, standing: &[StandingView], now: RunTime) -> Option<StationPlan> {
        if !self.is_active() {
            return None;
        }
        let planning = self.planning(standing, now)?;
        let former = self.made.as_ref().and_then(|made| carried(made, &planning, &self.order()));
        let how = How { evaluations: AT_OPENING, ..How::default() };
        let (mut plan, room, grace) = match chosen(&planning.project, &how, former.as_ref()) {
            Some((plan, room)) => (plan, room, Span::ZERO),
            None => {
                let found = arranged(&planning, &how, former.as_ref())?;
                (found.plan, Buffers::NONE, found.grace)
            }
        };
        mark(&planning.project, &mut plan);
        let programmes = self.open_ones().map(|(_, open)| Arc::clone(&open.programme)).collect();
        let made = Made {
            planning,
            plan,
            wishes: self.order(),
            programmes,
            at: now,
            counts: counts(standing),
            grace,
            room,
            rests: Vec::new(),
            said: Default::default(),
        };
        (self.refused, self.before) = (None, None);
        let late = made.plan.landings.iter().enumerate().find(|(_, landing)| !landing.late.is_zero());
        self.too_soon = late.map(|(index, landing)| (index, landing.at));
        Some(told(self.made.insert(made), why, now))
    }

    /// The trials in the order of the wishes.
    fn order(&self) -> Vec<TrialNo> {
        self.open_ones().map(|(no, _)| no).collect()
    }

    fn open_ones(&self) -> impl Iterator<Item = (TrialNo, &Open)> {
        self.trials.iter().filter(|(_, open)| !open.closed).map(|(no, open)| (*no, open))
    }

    fn planning(&self, standing: &[StandingView], now: RunTime) -> Option<Planning> {
        let planned_end = |no: TrialNo, step: StepRef| {
            let made = self.made.as_ref()?;
            let wish = made.wishes.iter().position(|of| *of == no)?;
            let at = made.planning.activity(wish, step)?;
            // before a step began its plan says nothing of its end
            let runs = matches!(made.planning.project.activities[at].standing, Standing::Running { .. });
            runs.then(|| made.plan.activities[at].end)
        };
        let wishes: Vec<Wish<'_>> =
            self.open_ones().map(|(no, open)| open.wish(no, standing, &|step| planned_end(no, step), now)).collect();
        let kitchen = self.counts.kitchen(self.open_ones().map(|(_, open)| &open.needs));
        Planning::of(now, &kitchen, &wishes).inspect_err(|why| tracing::warn!("no plan can be made: {why}")).ok()
    }

    /// The plan of this moment: the order kept if it does, another one if that lands sooner by enough. Also by how much
    /// food has to wait too long, and whether a landing moved so far that the cook has to know.
    fn moved(&self, planning: &Planning, made: &Made) -> (Plan, Span, bool) {
        let project = &planning.project;
        let far = |plan: &Plan| {
            let landings = plan.landings.iter().zip(&made.plan.landings);
            landings.into_iter().any(|(now, was)| now.at.drift_from(was.at).size() >= DRIFT)
        };
        let kept = kept_in_order(project, &made.plan, made.room);
        let (mut plan, grace) = match kept {
            Some(plan) if !far(&plan) => (plan, Span::ZERO),
            kept => {
                let how = How { evaluations: RUNNING, keep: Stability::BreaksTies, ..How::default() };
                let other = arranged(planning, &how, Some(&made.plan));
                match (kept, other) {
                    (Some(kept), Some(other)) if !sooner(&other.plan, &kept) => (kept, Span::ZERO),
                    (_, Some(other)) => (other.plan, other.grace),
                    (Some(kept), None) => (kept, Span::ZERO),
                    (None, None) => (made.plan.clone(), made.grace),
                }
            }
        };
        mark(project, &mut plan);
        let large = far(&plan);
        (plan, grace, large)
    }
}

impl Open {
    /// As a wish; `planned_end` says when the plan of before had a step end.
    fn wish(
        &self,
        no: TrialNo,
        standing: &[StandingView],
        planned_end: &dyn Fn(StepRef) -> Option<RunTime>,
        now: RunTime,
    ) -> Wish<'_> {
        let mut stands = BTreeMap::new();
        let mut skipped = BTreeSet::new();
        for view in standing.iter().filter(|view| view.trial == no) {
            match view.state {
                Stands::Open => {}
                Stands::Skipped => {
                    skipped.insert(view.at);
                    stands.insert(view.at, Standing::Ended { began: now, ended: now });
                }
                Stands::Ended { began, ended } => {
                    stands.insert(view.at, Standing::Ended { began, ended });
                }
                Stands::Running { began, left_low: low, left, left_high: high } => {
                    let likely = planned_end(view.at).map_or(left, |end| steadied(left, end.since(now)));
                    let left = planner::Lasts { low: low.min(likely), likely, high: high.max(likely) };
                    stands.insert(view.at, Standing::Running { began, left });
                }
            }
        }
        Wish {
            name: String::new(),
            programme: &self.programme,
            wanted: self.wanted,
            window: WINDOW,
            standing: stands,
            skipped,
            history: BTreeMap::new(),
            heats_ovens: false,
        }
    }
}

/// When the dishes of a trial were wanted last, by its record.
pub fn wanted_in(entries: &[Entry]) -> Option<RunTime> {
    let mut wanted = None;
    for entry in entries {
        if let Fact::PlanMade { landings, .. } = &entry.fact {
            wanted = landings.iter().filter_map(|landing| landing.around.wanted).max();
        }
        if let Fact::PlanMoved { landings, .. } = &entry.fact {
            wanted = landings.iter().filter_map(|landing| landing.around.wanted).max().or(wanted);
        }
    }
    wanted
}

/// A plan that leaves room for what comes otherwise than expected, and that room; none if no plan keeps everything.
fn chosen(project: &Project, how: &How, former: Option<&Plan>) -> Option<(Plan, Buffers)> {
    if former.is_some() {
        // beside a trial that goes on, near its plan counts more than room
        let found = arrange(&spared(project), how, former, &mut || true).ok()?;
        return found.plan.latest_landing_late().is_zero().then_some((found.plan, Buffers::NONE));
    }
    let mut ways = WAYS;
    let mut go_on = || {
        ways = ways.saturating_sub(1);
        ways > 0
    };
    // a cook takes seconds to press: with a little of each longest wait kept back none of them breaks at once
    let choice = choose(&spared(project), how, &Live::default(), &mut go_on).ok()?;
    choice.plan.latest_landing_late().is_zero().then_some((choice.plan, choice.live.buffers))
}

/// The project with a part of each longer wait kept back.
fn spared(project: &Project) -> Project {
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

/// What a running step still takes: as planned, unless the newest forecast lies well away from that. Forecasts tremble,
/// the more the longer they reach; a plan that follows each of them is none.
fn steadied(left: Span, planned: Span) -> Span {
    let tremble = (left / 20).max(Span::from_secs(45));
    let apart = left.saturating_sub(planned).max(planned.saturating_sub(left));
    if apart < tremble { planned } else { left }
}

fn arranged(planning: &Planning, how: &How, former: Option<&Plan>) -> Option<Arranged> {
    arrange_anyhow(&planning.project, how, former, &mut || true)
        .inspect_err(|why| tracing::warn!("no plan was found: {why}"))
        .ok()
}

/// The former plan in its order, at the moments of now: on time, or as little early as can be where it cannot wait.
fn kept_in_order(project: &Project, former: &Plan, room: Buffers) -> Option<Plan> {
    let mut earlier = project.clone();
    for by in EARLIER.map(Span::from_secs) {
        for (landing, asked) in earlier.landings.iter_mut().zip(&project.landings) {
            landing.wanted = asked.wanted.map(|wanted| wanted.earlier(by));
        }
        // what is kept free is given up before a landing comes late or early
        let timed = retime(&earlier, former, room).or_else(|_| retime(&earlier, former, Buffers::NONE));
        if let Ok(mut plan) = timed {
            for (landing, asked) in plan.landings.iter_mut().zip(&project.landings) {
                landing.late = asked.wanted.map_or(Span::ZERO, |wanted| landing.at.since(wanted));
            }
            return Some(plan);
        }
    }
    None
}

/// Whether the latest landing comes sooner by enough to change the order for it.
fn sooner(other: &Plan, kept: &Plan) -> bool {
    let late = |plan: &Plan| plan.latest_landing_late();
    late(other) + Span::from_mins(1) <= late(kept)
}

/// What of a plan of fewer or more trials still stands, as a plan of these.
fn carried(made: &Made, planning: &Planning, order: &[TrialNo]) -> Option<Plan> {
    let mut plan = Plan::default();
    for source in &planning.sources {
        let Source::Step { wish, step } = *source else { return None };
        let was = made.wishes.iter().position(|no| *no == order[wish]);
        let was = was.and_then(|wish| made.planning.activity(wish, step));
        plan.activities.push(was.map(|at| made.plan.activities[at]).unwrap_or_default());
    }
    Some(plan)
}

/// How many steps have begun, and how many are over.
fn counts(standing: &[StandingView]) -> (usize, usize) {
    let over = |view: &&StandingView| matches!(view.state, Stands::Ended { .. } | Stands::Skipped);
    let open = standing.iter().filter(|view| view.state == Stands::Open).count();
    (standing.len() - open, standing.iter().filter(over).count())
}

/// Whether a start or a landing moved by enough to say so.
fn changed(planning: &Planning, was: &Plan, now: &Plan) -> bool {
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
fn breaks(project: &Project, plan: &Plan) -> bool {
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

/// What moved the plan most: the step that is the furthest from where the plan had it.
fn why(made: &Made, standing: &[StandingView], now: RunTime) -> PlanWhy {
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
            (Standing::Open, Stands::Running { began, .. }) => happened(began, planned.start),
            (Standing::Running { .. }, Stands::Running { left, .. }) => {
                let by = (now + left).drift_from(planned.end);
                (by.size(), PlanWhy::Foreseen { step, by })
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

/// The plan as the engine takes it. What moved by less than counts is said as before, so that the record tells moves and no
/// tremble.
fn told(made: &mut Made, why: PlanWhy, now: RunTime) -> StationPlan {
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
fn as_said(said: &mut BTreeMap<usize, RunTime>, index: usize, moment: RunTime) -> RunTime {
    let known = said.entry(index).or_insert(moment);
    if known.drift_from(moment).size() >= TREMBLE {
        *known = moment;
    }
    *known
}

/// The rests that go on so that their dish lands with the others.
fn rests(planning: &Planning, wishes: &[TrialNo], programmes: &[Arc<Programme>], plan: &Plan) -> Vec<PlannedRest> {
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
            let until = planned.at.earlier(ONE_BY_ONE);
            rests.extend(programmes[wish].step(step).map(|plan| PlannedRest { at, step: plan.id.clone(), until }));
        }
    }
    rests
}

fn landing_of(made: &Made, landing: usize, now: RunTime) -> PlannedLanding {
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
fn longest_over(made: &Made) -> Option<(usize, Span)> {
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
fn too_far_apart(made: &Made) -> Option<Span> {
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
fn reason(made: &Made) -> String {
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
    fn step_id(&self, wish: usize, step: StepRef) -> StepId {
        let plan = self.programmes[wish].step(step);
        plan.expect("the plan was made of this programme's steps").id.clone()
    }
}
