//! A plan that the run follows: what comes in, and what of it goes on record.

use alloc::{collections::BTreeMap, string::String, vec::Vec};

use quantities::{RunTime, Span};
use recipe_model::{StepId, StepRef, Until};
use trial::{Around, Fact, LandingMoved, LandingPlanned, PlanFit, PlanWhy, StartMoved, StartPlanned};

use crate::{
    engine::{Engine, READY_AGAIN},
    input::{StageAt, TrialNo},
    state::{Phase, TrialRun},
};

/// A plan for all open trials of the station, made elsewhere.
///
/// It says when a step may become ready at the earliest; it starts, ends and moves nothing that has begun. A plan may be a
/// moment old: what it says of steps that have begun, ended or do not exist is passed over. A step or trial that it does
/// not name keeps what an earlier plan said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StationPlan {
    /// Why it was made.
    pub why: PlanWhy,
    /// When the steps that have not begun are to start.
    pub starts: Vec<PlannedStart>,
    /// When the dishes land. For a trial of which it names any, these are all of its landings.
    pub landings: Vec<PlannedLanding>,
    /// Rests that are to go on beyond their own time, so that dishes land together.
    pub rests: Vec<PlannedRest>,
    /// Whether it does what is wanted.
    pub fit: PlanFit,
}

/// How long a rest is to go on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlannedRest {
    /// The stage of the step.
    pub at: StageAt,
    /// The step: one that rests, off the heat; any other is passed over.
    pub step: StepId,
    /// Until when. It is never due before its own time.
    pub until: RunTime,
}

/// When a step is to start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlannedStart {
    /// The stage of the step.
    pub at: StageAt,
    /// The step.
    pub step: StepId,
    /// When.
    pub start: RunTime,
    /// The last moment at which it can start without a landing or a gap being missed.
    pub latest: RunTime,
    /// Whether it lies on the chain that makes the landing as late as it is.
    pub critical: bool,
}

/// When dishes are ready together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlannedLanding {
    /// The trial.
    pub trial: TrialNo,
    /// As a cook calls it, in one trial the only one of this name: `chicken and pilaf`.
    pub name: String,
    /// When its last dish is ready.
    pub at: RunTime,
    /// When it is wanted; none: as early as can be.
    pub wanted: Option<RunTime>,
    /// Eight in ten come after this moment.
    pub low: RunTime,
    /// And before this one.
    pub high: RunTime,
    /// How likely it is that everything lands in its window, in thousandths, if that was worked out.
    pub chance_thousandths: Option<u16>,
    /// How much later than wanted.
    pub late: Span,
    /// The last step of each dish of this trial that lands in it, for the record; none if that is not known.
    pub dishes: Vec<StepId>,
}

/// What moves by less has not moved.
const MOVES: Span = Span::from_secs(1);
/// An end of a rest that moves by less stays where it was.
const REST_MOVES: Span = Span::from_secs(15);

/// The plan of one trial: a fold of its facts.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct PlanRun {
    pub(crate) starts: BTreeMap<StepRef, Start>,
    /// By name.
    pub(crate) landings: BTreeMap<String, (RunTime, Around)>,
    /// Until when rests go on.
    pub(crate) rests: BTreeMap<StepRef, RunTime>,
    pub(crate) fit: PlanFit,
}

/// The planned start of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Start {
    pub(crate) at: RunTime,
    pub(crate) latest: RunTime,
    pub(crate) critical: bool,
}

/// What the newest plan says beside the starts and landings that it did not move. Not in the facts: it decides nothing,
/// and after a restart the next plan says it again.
#[derive(Clone, Debug, Default)]
pub(crate) struct Newest {
    pub(crate) starts: BTreeMap<StepRef, Start>,
    pub(crate) landings: BTreeMap<String, (RunTime, Around)>,
}

impl PlanRun {
    /// Takes a fact of the plan in; any other changes nothing.
    pub(crate) fn apply(plan: &mut Option<Self>, fact: &Fact, place: impl Fn(&StepId) -> Option<StepRef>) {
        if let Fact::PlanMade { starts, landings, fit, .. } = fact {
            let start = |start: &StartPlanned| {
                let when = Start { at: start.at, latest: start.latest, critical: start.critical };
                Some((place(&start.step)?, when))
            };
            let landings = landings.iter().map(|made| (made.name.clone(), (made.at, made.around.clone())));
            *plan = Some(Self {
                starts: starts.iter().filter_map(start).collect(),
                landings: landings.collect(),
                rests: BTreeMap::new(),
                fit: fit.clone(),
            });
        }
        if let (Fact::RestPlanned { step, until }, Some(plan)) = (fact, plan.as_mut()) {
            plan.rests.extend(place(step).map(|place| (place, *until)));
        }
        if let (Fact::PlanMoved { moved, landings, dropped, fit, .. }, Some(plan)) = (fact, plan) {
            for start in moved {
                let when = Start { at: start.now, latest: start.latest, critical: start.critical };
                plan.starts.extend(place(&start.step).map(|place| (place, when)));
            }
            let moved = landings.iter().map(|moved| (moved.name.clone(), (moved.now, moved.around.clone())));
            plan.landings.extend(moved);
            plan.landings.retain(|name, _| !dropped.contains(name));
            plan.fit.clone_from(fit);
        }
    }
}

impl Engine {
    /// Follows a plan from here on, and writes down what is new in it.
    pub(crate) fn follow(&mut self, plan: &StationPlan) {
        for no in self.open_trials() {
            let slot = &self.trials[usize::from(no.0)];
            let newest = newest(&slot.run, plan, no, self.now);
            let fact = change(&slot.run, plan, &newest);
            let slot = &mut self.trials[usize::from(no.0)];
            if !newest.starts.is_empty() || !newest.landings.is_empty() {
                slot.newest = Some(newest);
            }
            if let Some(fact) = fact {
                self.emit(no, fact);
            }
            for fact in rests(&self.trials[usize::from(no.0)].run, plan, no) {
                self.emit(no, fact);
            }
        }
    }
}

/// The rests of a trial that go on until another moment than was said before. One that is due is not changed any more.
fn rests(run: &TrialRun, plan: &StationPlan, no: TrialNo) -> Vec<Fact> {
    let Some(known) = &run.plan else { return Vec::new() };
    let of_trial = plan.rests.iter().filter(|rest| rest.at.trial == no);
    let changed = of_trial.filter_map(|rest| {
        let place = run.place(&rest.step).filter(|place| place.stage == rest.at.stage)?;
        let stage = run.programme.stages.get(usize::from(place.stage))?;
        let rests = matches!(run.programme.step(place)?.until, Until::Rest { .. }) && !stage.appliance.kind.heats();
        let open = match &run.stages[usize::from(place.stage)].phase {
            Phase::Running(running) if running.step == place.step => running.due.is_none(),
            Phase::Waiting { .. } | Phase::Ready { .. } | Phase::Running(_) => is_open(run, place),
            Phase::Leaving { .. } | Phase::Over { .. } => false,
        };
        let moved = known.rests.get(&place).is_none_or(|until| until.drift_from(rest.until).size() >= REST_MOVES);
        (rests && open && moved).then(|| Fact::RestPlanned { step: rest.step.clone(), until: rest.until })
    });
    changed.collect()
}

/// What a plan says of one trial, as far as it can be followed.
fn newest(run: &TrialRun, plan: &StationPlan, no: TrialNo, now: RunTime) -> Newest {
    let start = |planned: &PlannedStart| {
        let place = run.place(&planned.step).filter(|place| place.stage == planned.at.stage)?;
        let (latest, critical) = (planned.latest.max(planned.start), planned.critical);
        is_open(run, place).then(|| (place, Start { at: taken(run, place, planned.start, now), latest, critical }))
    };
    let of_trial = plan.starts.iter().filter(|planned| planned.at.trial == no);
    let landing = |planned: &PlannedLanding| {
        let around = Around {
            wanted: planned.wanted,
            low: planned.low.min(planned.at),
            high: planned.high.max(planned.at),
            chance_thousandths: planned.chance_thousandths,
            late: planned.late,
            dishes: planned.dishes.clone(),
        };
        (planned.name.clone(), (planned.at, around))
    };
    let landings = plan.landings.iter().filter(|landing| landing.trial == no).map(landing);
    Newest { starts: of_trial.filter_map(start).collect(), landings: landings.collect() }
}

/// Whether a step has neither begun nor been passed over.
pub(crate) fn is_open(run: &TrialRun, place: StepRef) -> bool {
    let stage = &run.stages[usize::from(place.stage)];
    let over = matches!(stage.phase, Phase::Over { .. });
    stage.steps.get(usize::from(place.step)).is_some_and(|step| !over && step.began.is_none() && step.ended.is_none())
}

/// The start that counts. A step that the cook was called to start keeps the moment of the call, although every new plan
/// has to start it a little later than the one before; only a start that lies well ahead takes the call back.
fn taken(run: &TrialRun, place: StepRef, start: RunTime, now: RunTime) -> RunTime {
    let ready = matches!(run.stages[usize::from(place.stage)].phase, Phase::Ready { step, .. } if step == place.step);
    match run.plan.as_ref().and_then(|plan| plan.starts.get(&place)) {
        Some(known) if ready && start > known.at && start < now + READY_AGAIN => known.at,
        Some(_) | None => start,
    }
}

fn far(a: RunTime, b: RunTime) -> bool {
    a.drift_from(b).size() >= MOVES
}

/// The fact that a plan makes in a trial; none if it says nothing new.
fn change(run: &TrialRun, plan: &StationPlan, newest: &Newest) -> Option<Fact> {
    let id = |place: &StepRef| run.programme.step(*place).map(|step| step.id.clone());
    let (why, fit) = (plan.why.clone(), plan.fit.clone());
    let Some(known) = &run.plan else {
        let start = |(place, start): (&StepRef, &Start)| {
            Some(StartPlanned { step: id(place)?, at: start.at, latest: start.latest, critical: start.critical })
        };
        let starts: Vec<StartPlanned> = newest.starts.iter().filter_map(start).collect();
        let landing = |(name, (at, around)): (&String, &(RunTime, Around))| LandingPlanned {
            name: name.clone(),
            at: *at,
            around: around.clone(),
        };
        let landings: Vec<LandingPlanned> = newest.landings.iter().map(landing).collect();
        return (!starts.is_empty() || !landings.is_empty()).then_some(Fact::PlanMade { why, starts, landings, fit });
    };
    let moved = newest.starts.iter().filter_map(|(place, start)| {
        let was = known.starts.get(place).map(|known| known.at);
        was.is_none_or(|was| far(was, start.at)).then_some(())?;
        let Start { at, latest, critical } = *start;
        Some(StartMoved { step: id(place)?, was, now: at, latest, critical })
    });
    let moved: Vec<StartMoved> = moved.collect();
    let landings = newest.landings.iter().filter_map(|(name, (now, around))| {
        let was = known.landings.get(name);
        let same = |(at, of_known): &(RunTime, Around)| {
            !far(*at, *now) && of_known.wanted == around.wanted && of_known.dishes == around.dishes
        };
        let was = if was.is_some_and(same) { return None } else { was.map(|(at, _)| *at) };
        Some(LandingMoved { name: name.clone(), was, now: *now, around: around.clone() })
    });
    let landings: Vec<LandingMoved> = landings.collect();
    let gone = |name: &&String| !newest.landings.is_empty() && !newest.landings.contains_key(*name);
    let dropped: Vec<String> = known.landings.keys().filter(gone).cloned().collect();
    let same = moved.is_empty() && landings.is_empty() && dropped.is_empty() && known.fit.is_like(&fit);
    (!same).then_some(Fact::PlanMoved { why, moved, landings, dropped, fit })
}
