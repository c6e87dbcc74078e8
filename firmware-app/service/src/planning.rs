//! What commands and the station share when they plan: the kitchen, the search with its proof, and the reasons.

use std::collections::BTreeMap;

use planner::{
    ArrangeError, Buffers, Conflict, Demand, How, Kitchen, Lasts, Lateness, Live, Outlook, OvenPace, Plan, Policy,
    Project, Remedy, Tried, arrange, choose, conflict, mark, outlook, pose, remedies,
};
use quantities::Span;
use recipe_model::{KitchenNeeds, Programme, StepId, StepRef};
use run_engine::predict::History;
use schedule::{Proven, Search};
use schedule_proof::{Limits, Threads, solve};

use crate::config::{Count, Set, Settings};

/// How long core steps take by earlier cooks of the same recipe: their middle, and four in five of them round it.
pub fn lasts_of(programme: &Programme, history: &BTreeMap<StepId, History>) -> BTreeMap<StepRef, Lasts> {
    // the 10 and 90 % points of a normal distribution of the logarithms
    const TENTHS: f64 = 1.281_55;
    let lasts = |known: &History| {
        let factor = (TENTHS * known.spread.abs()).exp();
        let times = |factor: f64| Span::from_millis((known.time.millis() as f64 * factor).round() as u64);
        Lasts { low: times(1.0 / factor).min(known.time), likely: known.time, high: times(factor).max(known.time) }
    };
    let steps = programme.steps();
    steps.filter_map(|(at, _, step)| Some((at, lasts(history.get(&step.id)?)))).collect()
}

/// Nothing is done more than so much before it must be: an oven does not stand hot for an hour, nor cut food on the bench.
/// Common practice, no source.
const SOONEST: Span = Span::from_mins(15);
/// Schedules tried for a plan that a person waits for.
pub const EVALUATIONS: u64 = 6_000;
/// Schedules and conflicts tried for each question whether something can be.
const QUESTION: Limits = Limits { evaluations: 1_500, conflicts: 4_000, threads: Threads::One };

/// What the kitchen has, as far as the settings say; the rest is as the recipes ask for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct KitchenCounts {
    cooks: Option<u16>,
    ovens: Option<u16>,
    shelves: Option<u16>,
    microwaves: Option<u16>,
    burners: Option<u16>,
}

impl KitchenCounts {
    /// As the settings have it.
    pub fn of(settings: &Settings) -> Self {
        let count = |set: &Set<Option<Count>>| set.value.map(|count| count.0);
        Self {
            cooks: count(&settings.cooks),
            ovens: count(&settings.ovens),
            shelves: count(&settings.oven_shelves),
            microwaves: count(&settings.microwaves),
            burners: count(&settings.burners),
        }
    }

    /// The kitchen for recipes with these needs.
    pub fn kitchen<'a>(&self, needs: impl IntoIterator<Item = &'a KitchenNeeds>) -> Kitchen {
        let asked = Kitchen::for_needs(needs);
        Kitchen {
            cooks: self.cooks.unwrap_or(asked.cooks),
            ovens: self.ovens.unwrap_or(asked.ovens),
            shelves: self.shelves.unwrap_or(asked.shelves),
            microwaves: self.microwaves.unwrap_or(asked.microwaves),
            burners: self.burners.unwrap_or(asked.burners),
            pace: OvenPace::default(),
        }
    }
}

/// A plan with what is known of it.
pub struct Found {
    /// The plan, with its latest starts and its critical chain.
    pub plan: Plan,
    /// Whether no plan lands sooner and lets food wait less, on the likely durations.
    pub best: bool,
    /// What comes of it in simulated cooks that are planned anew as they go.
    pub outlook: Outlook,
}

/// What planning came to.
pub enum Planned {
    /// There is a plan.
    Plan(Box<Found>),
    /// There is none.
    None(Reason),
}

/// Why there is no plan, or none on time, and what would help.
pub struct Reason {
    /// What cannot all be had.
    pub conflict: Conflict,
    /// Single changes that help, those that help most first.
    pub remedies: Vec<Remedy>,
    /// Whether it is proven that there is no plan.
    pub proven: bool,
}

/// How plans are moved while a run is on, and how much room they try to leave.
pub fn live(seed: u64) -> Live {
    Live { seed, buffers: Buffers { soonest: SOONEST, ..Buffers::of(1000) }, ..Live::default() }
}

/// Makes a plan that holds, or finds the reason why there is none. `go_on` is asked between the ways that are tried.
pub fn plan(project: &Project, how: &How, runs: u32, go_on: &mut dyn FnMut() -> bool) -> Result<Planned, ArrangeError> {
    let likely = match arrange(project, how, None, &mut || true) {
        Ok(arranged) => arranged,
        Err(ArrangeError::NothingFound { .. } | ArrangeError::Ring { .. } | ArrangeError::AboveCapacity { .. }) => {
            return Ok(Planned::None(impossible(project, how.seed)));
        }
        Err(why) => return Err(why),
    };
    let choice = choose(project, how, &live(how.seed), go_on)?;
    let mut plan = choice.plan;
    mark(project, &mut plan);
    let outlook = outlook(project, &plan, Policy::Live(choice.live), runs, how.seed);
    let best = likely.proven == Proven::Best && likely.plan.landings == plan.landings;
    Ok(Planned::Plan(Box::new(Found { plan, best, outlook })))
}

/// Why no plan exists at all, whenever the dishes land.
fn impossible(project: &Project, seed: u64) -> Reason {
    // a late landing is better than none, so what is wanted is no part of the reason
    let wanted = project.demands().into_iter().filter(|demand| matches!(demand, Demand::Wanted(_)));
    let project = project.without(&wanted.collect::<Vec<_>>());
    let mut attempt = |project: &Project| possible(project, seed, Lateness::Allowed);
    let proven = attempt(&project) == Tried::Cannot;
    let conflict = conflict(&project, &mut attempt);
    let remedies = remedies(&project, &conflict.demands, None, &mut attempt);
    Reason { conflict, remedies, proven }
}

/// Why the landings of a plan are late, and what would make them less so.
pub fn late(project: &Project, plan: &Plan, how: &How) -> Reason {
    let mut on_time = |project: &Project| possible(project, how.seed, Lateness::Forbidden);
    let proven = on_time(project) == Tried::Cannot;
    let conflict = conflict(project, &mut on_time);
    let mut at_all = |project: &Project| match arrange(project, how, None, &mut || true) {
        Ok(arranged) => Tried::Fits(arranged.plan),
        Err(_) => Tried::Unknown,
    };
    let remedies = remedies(project, &conflict.demands, Some(plan.latest_landing_late()), &mut at_all);
    Reason { conflict, remedies, proven }
}

/// Whether there is a plan: found by the search, or shown to be none by the proof.
fn possible(project: &Project, seed: u64, lateness: Lateness) -> Tried {
    let posed = match pose(project, Buffers::NONE, lateness) {
        Ok(posed) => posed,
        Err(ArrangeError::Ring { .. } | ArrangeError::AboveCapacity { .. }) => return Tried::Cannot,
        Err(_) => return Tried::Unknown,
    };
    let problem = match posed.draft.unweighted().build() {
        Ok(problem) => problem,
        Err(schedule::ProblemError::Ring { .. } | schedule::ProblemError::AboveCapacity { .. }) => {
            return Tried::Cannot;
        }
        Err(_) => return Tried::Unknown,
    };
    let answer = solve(Search::new(&problem, seed), &problem, seed, &QUESTION, &|| true, &mut |_, _| {});
    match (answer.best, answer.proven) {
        (Some(_), _) => Tried::Fits(Plan::default()),
        (None, Proven::Impossible) => Tried::Cannot,
        (None, Proven::Open | Proven::Best) => Tried::Unknown,
    }
}

/// The plan without buffers whose landings are as little late as can be.
pub fn how(seed: u64) -> How {
    How { seed, evaluations: EVALUATIONS, ..How::default() }
}
