//! The plan of a run that goes on: made when a trial is opened, moved with what happens, small changes before large ones.
//!
//! Pure: it is told how far the steps are and what moment it is, and gives the plan that the engine is to follow.

mod made;
mod moves;
mod preview;
#[cfg(test)]
mod tests;

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use planner::{
    Arranged, Buffers, How, Lasts, Plan, Planning, Project, Source, Standing, Wish, arrange, arrange_anyhow, choose,
    mark, retime,
};
use quantities::{RunTime, Span};
use recipe_model::{KitchenNeeds, Programme, Recipe, StepId, StepRef};
use run_engine::{
    StationPlan, TrialNo,
    predict::History,
    view::{Standing as Stands, StandingView},
};
use schedule::Stability;
use screens::{CannotView, CannotWhy, Remedy};
use trial::{Entry, Fact, PlanWhy};

use crate::planning::{KitchenCounts, lasts_of, live};
use made::{Made, longest_over, rests, told, too_far_apart};
use moves::{MOVES, breaks, changed, counts, rests_move, spared, steadied, why};
pub use preview::Preview;

/// A landing that moves by so much asks whether another order does better, and is shown.
pub const DRIFT: Span = Span::from_mins(2);
/// So much earlier than wanted the dishes may land, in seconds, where what has begun leaves no other way; in turn.
const EARLIER: [u64; 12] = [0, 30, 60, 90, 120, 180, 240, 300, 450, 600, 900, 1800];
/// While nothing begins or ends, the plan is looked at so often.
const EVERY: Span = Span::from_secs(10);
/// Schedules tried at the opening of a trial, and while a run is on.
const AT_OPENING: u64 = 4_000;
const RUNNING: u64 = 600;
/// So many ways to leave room are tried in simulated cooks at the opening.
const WAYS: u32 = 24;
/// How far around the wanted moment a landing still counts.
const WINDOW: Span = Span::from_mins(3);

/// The plan of the open trials.
#[derive(Default)]
pub struct LivePlan {
    counts: KitchenCounts,
    trials: BTreeMap<TrialNo, Open>,
    /// What is known of the next trial.
    known: BTreeMap<StepId, History>,
    made: Option<Made>,
    /// What was kept against a large move: the landings that were refused.
    refused: Option<Vec<RunTime>>,
    /// The plan before the last large move, to go back to.
    before: Option<Before>,
    /// The landing that was wanted too soon when its trial was opened, and when it can come.
    too_soon: Option<(usize, RunTime)>,
}

/// A plan to go back to.
struct Before {
    plan: Plan,
    /// Where another moment was wanted since: whose, and what was wanted then.
    wanted: Option<(TrialNo, Option<RunTime>)>,
    too_soon: Option<(usize, RunTime)>,
}

/// A trial of the plan.
struct Open {
    programme: Arc<Programme>,
    needs: KitchenNeeds,
    wanted: Option<RunTime>,
    closed: bool,
    /// How long its steps took in earlier cooks.
    known: BTreeMap<StepRef, Lasts>,
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
        self.trials.insert(no, Open::new(recipe, programme, wanted));
        self.learn(no);
        let why = if self.open_ones().count() > 1 { PlanWhy::TrialOpened } else { PlanWhy::Opened };
        self.anew(why, standing, now)
    }

    /// Lets the next trial that is taken in count on how long these steps took in earlier cooks.
    pub fn know(&mut self, history: &BTreeMap<StepId, History>) {
        self.known.clone_from(history);
    }

    fn learn(&mut self, no: TrialNo) {
        let known = std::mem::take(&mut self.known);
        if let Some(trial) = self.trials.get_mut(&no) {
            trial.known = lasts_of(&trial.programme, &known);
        }
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
        self.trials.insert(no, Open::new(recipe, programme, wanted));
        self.learn(no);
        self.made = None;
    }

    /// Changes when the dishes of an open trial are wanted; [`Self::keep`] goes back to the plan before. Nothing is
    /// changed where no plan can be made.
    pub fn want(
        &mut self,
        no: TrialNo,
        wanted: RunTime,
        standing: &[StandingView],
        now: RunTime,
    ) -> Option<StationPlan> {
        let trial = self.trials.get_mut(&no).filter(|trial| !trial.closed)?;
        let was = trial.wanted.replace(wanted);
        let too_soon = self.too_soon;
        let before = self.made.as_ref().filter(|made| made.wishes == self.order());
        let before = before.map(|made| Before { plan: made.plan.clone(), wanted: Some((no, was)), too_soon });
        let told = self.anew(PlanWhy::Wanted, standing, now);
        match (&told, self.trials.get_mut(&no)) {
            (None, Some(trial)) => trial.wanted = was,
            (Some(_), _) | (None, None) => self.before = before,
        }
        told
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
            self.before = Some(Before { plan: made.plan.clone(), wanted: None, too_soon: self.too_soon });
        }
        if !changed {
            return None;
        }
        self.refused = None;
        (made.planning, made.plan, made.grace) = (planning, plan, grace);
        made.rests = rests(&made.planning, &made.wishes, &made.programmes, &made.plan);
        Some(told(made, why, now))
    }

    /// Goes back to the plan before the last large move, until the landings move on by as much again; and to what was
    /// wanted then, where that was the reason.
    pub fn keep(&mut self, now: RunTime) -> Option<StationPlan> {
        let Before { plan, wanted, too_soon } = self.before.take()?;
        let made = self.made.as_mut()?;
        match wanted {
            Some((no, was)) => {
                if let Some(trial) = self.trials.get_mut(&no) {
                    trial.wanted = was;
                }
                let landings = made.planning.project.landings.iter_mut().zip(&made.planning.landing_of);
                let of_trial = landings.filter(|(_, wish)| made.wishes.get(**wish) == Some(&no));
                of_trial.for_each(|(landing, _)| landing.wanted = was);
                (self.refused, self.too_soon) = (None, too_soon);
            }
            None => self.refused = Some(made.plan.landings.iter().map(|landing| landing.at).collect()),
        }
        made.plan = plan;
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
        self.planning_of(&self.open_ones().collect(), standing, now)
    }

    fn planning_of(
        &self,
        trials: &BTreeMap<TrialNo, &Open>,
        standing: &[StandingView],
        now: RunTime,
    ) -> Option<Planning> {
        let planned_end = |no: TrialNo, step: StepRef, began: RunTime| {
            let made = self.made.as_ref()?;
            let wish = made.wishes.iter().position(|of| *of == no)?;
            let at = made.planning.activity(wish, step)?;
            // of a step that began at another moment than planned the plan says nothing
            let runs = matches!(made.planning.project.activities[at].standing, Standing::Running { .. });
            let planned = made.plan.activities[at];
            (runs || began.drift_from(planned.start).size() < MOVES).then_some(planned.end)
        };
        let wishes: Vec<Wish<'_>> = trials
            .iter()
            .map(|(no, open)| open.wish(*no, standing, &|step, began| planned_end(*no, step, began), now))
            .collect();
        let kitchen = self.counts.kitchen(trials.values().map(|open| &open.needs));
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
    fn new(recipe: &Recipe, programme: Arc<Programme>, wanted: Option<RunTime>) -> Self {
        Self { programme, needs: recipe.kitchen.clone(), wanted, closed: false, known: BTreeMap::new() }
    }

    /// As a wish; `planned_end` says when the plan of before had a step end.
    fn wish(
        &self,
        no: TrialNo,
        standing: &[StandingView],
        planned_end: &dyn Fn(StepRef, RunTime) -> Option<RunTime>,
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
                    let likely = planned_end(view.at, began).map_or(left, |end| steadied(left, end.since(now)));
                    // the band goes with its middle
                    let with_it = |end: Span| (end + likely).saturating_sub(left).max(Span::ZERO);
                    let (low, high) = (with_it(low).min(likely), with_it(high).max(likely));
                    let left = planner::Lasts { low, likely, high };
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
            history: self.known.clone(),
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
        // landings that did not move say nothing; one that is kept as it was before can be wanted at no moment again
        if let Fact::PlanMoved { landings, .. } = &entry.fact
            && !landings.is_empty()
        {
            wanted = landings.iter().filter_map(|landing| landing.around.wanted).max();
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
    let choice = choose(&spared(project), how, &live(how.seed), &mut go_on).ok()?;
    choice.plan.latest_landing_late().is_zero().then_some((choice.plan, choice.live.buffers))
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
