//! From a project to a plan.

use alloc::{boxed::Box, vec::Vec};

use quantities::{RunTime, Span};
use schedule::{Draft, Incompatible, Problem, ProblemError, Proven, Schedule, Search, Stability, Tag, Ticks};
use thiserror::Error;

use crate::chain::orders;
use crate::frame::{Aim, Body, Bound, Frame, Meaning, Pair, SHARES, Tie, Who, millis};
use crate::line;
use crate::plan::Plan;
use crate::project::{Edge, Project, Standing};
use crate::retime::plan_of;
use crate::room::Buffers;

/// The grid of the search. Times of a plan are finer: they are set once the order is known.
const GRID: i64 = 30_000;
/// Where the numbers of a project do not fit on the grid.
const FINE_GRID: i64 = 1000;
/// With room kept no number is round, and many steps are short.
const ROOM_GRID: i64 = 5000;
/// What lateness weighs against waiting and length together.
const LATE: i64 = 100;
/// How many steps a landing's own lateness is narrowed down in.
const NARROWINGS: u32 = 12;
/// By how much more than it can take food has to wait, where there is no other way.
pub(crate) const GRACES: [i64; 7] = [30_000, 60_000, 120_000, 300_000, 900_000, 3_600_000, 86_400_000];
/// A landing that cannot be had so much later cannot be had.
const LATEST: i64 = 12 * 3_600_000;

/// How a plan is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct How {
    /// Decides between equals.
    pub seed: u64,
    /// Schedules tried at most; a project of 30 activities has a good plan after some hundreds.
    pub evaluations: u64,
    /// How much room is left for what may come otherwise.
    pub buffers: Buffers,
    /// Whether to stay near the former plan.
    pub keep: Stability,
}

impl Default for How {
    fn default() -> Self {
        Self { seed: 1, evaluations: 4000, buffers: Buffers::NONE, keep: Stability::Ignored }
    }
}

/// A plan and where it came from.
#[derive(Clone, Debug)]
pub struct Arranged {
    /// The plan. `latest` is the start and `critical` is not set: that is judged apart.
    pub plan: Plan,
    /// The problem in ticks of reversed time.
    pub posed: Posed,
    /// The schedule of it that became the plan.
    pub schedule: Schedule,
    /// Its value.
    pub value: i64,
    /// No schedule of the problem has a smaller value.
    pub bound: i64,
    /// What is known of it without doubt.
    pub proven: Proven,
    /// Schedules tried.
    pub evaluations: u64,
    /// By how much more than it can take food has to wait; zero unless [`arrange_anyhow`] had to give way.
    pub grace: Span,
}

/// A project as a problem of the search: reversed time, whole ticks.
#[derive(Clone, Debug)]
pub struct Posed {
    /// The draft, for the search, for a proof or for the reason why there is none.
    pub draft: Draft,
    /// The length of a tick.
    pub tick: Span,
    /// What each lag of the draft stands for.
    meanings: Vec<Meaning>,
    /// What each pair of the draft stands for.
    aparts: Vec<usize>,
    bodies: Vec<Who>,
    /// How many resources the project has; the draft has as many again for what is kept free.
    places: usize,
}

/// Why there is no plan.
#[derive(Clone, Debug, Error)]
pub enum ArrangeError {
    /// A name that nothing has.
    #[error(
        "{what} {index} of the project names something that is not in it: give the index of an activity, resource or gap there is"
    )]
    Unknown {
        /// What names it.
        what: &'static str,
        /// Its index.
        index: usize,
    },
    /// More is needed than there ever is.
    #[error(
        "activity {activity} needs {needs} of resource {resource}, which has {capacity}: get more of it or split the activity"
    )]
    AboveCapacity {
        /// The activity.
        activity: usize,
        /// The resource.
        resource: usize,
        /// What it needs.
        needs: u16,
        /// What there is.
        capacity: u16,
    },
    /// Gaps that chase each other, whatever the resources.
    #[error("activities {activities:?} wait for each other in a ring that asks for {} s more than it leaves: shorten a gap or let one last longer", excess.whole_secs())]
    Ring {
        /// The activities of the ring.
        activities: Vec<usize>,
        /// What makes the ring.
        meanings: Vec<Meaning>,
        /// By how much it is too tight.
        excess: Span,
    },
    /// Too many activities or too long a time.
    #[error("the project is too large: {0}")]
    TooLarge(ProblemError),
    /// It was shown that no plan exists, or none was found.
    #[error("no plan was found in {evaluations} tries: ask for the reason, or let something go")]
    NothingFound {
        /// Schedules tried.
        evaluations: u64,
        /// Whether it is certain that none exists.
        impossible: bool,
        /// The problem, to ask for the reason.
        posed: Box<Posed>,
    },
}

impl Posed {
    /// What a demand of the draft stands for.
    pub fn meaning(&self, tag: Tag) -> Option<Meaning> {
        match tag {
            Tag::Lag(index) => self.meanings.get(index).copied(),
            Tag::Resource(index) => Some(Meaning::Resource(index % self.places.max(1))),
            Tag::Incompatible(index) => self.aparts.get(index).copied().map(Meaning::Apart),
            // moments are lags from now, so no draft has windows of single starts
            Tag::Earliest(_) | Tag::Latest(_) => None,
        }
    }

    /// The activity of the project that an activity of the draft is.
    pub fn activity(&self, index: usize) -> Option<usize> {
        match self.bodies.get(index) {
            Some(Who::Activity(activity)) => Some(*activity),
            Some(Who::Landing(_) | Who::Now | Who::First) | None => None,
        }
    }

    /// The demands of the draft with the same meaning, which are kept or dropped together.
    pub fn groups(&self) -> Vec<(Meaning, Vec<Tag>)> {
        let mut groups: Vec<(Meaning, Vec<Tag>)> = Vec::new();
        for tag in self.draft.tags() {
            let Some(meaning) = self.meaning(tag) else { continue };
            match groups.iter_mut().find(|group| group.0 == meaning) {
                Some(group) => group.1.push(tag),
                None => groups.push((meaning, Vec::from([tag]))),
            }
        }
        groups
    }
}

/// Whether landings may come late.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lateness {
    /// As little as can be.
    Allowed,
    /// Not beyond their windows: for the reason why a landing cannot be held.
    Forbidden,
}

/// States a project as a problem of the search, on the grid that its numbers need.
pub fn pose(project: &Project, buffers: Buffers, lateness: Lateness) -> Result<Posed, ArrangeError> {
    judge(project)?;
    let aim = match lateness {
        Lateness::Allowed => Aim::Together,
        Lateness::Forbidden => Aim::Held,
    };
    let frame = Frame::of(project, buffers, &aim, 0);
    let grid = if fits_grid(&frame) { GRID } else { FINE_GRID };
    Ok(posed(&frame, grid))
}

/// Finds a plan for a project, near a former plan if there is one.
///
/// The order of everything is searched for on a grid of 30 s, or finer if the numbers of the project need it; the times
/// are then exact. Landings come at their wanted moments, or as little late as can be: first all by the same, then, if
/// all but one can be held, that one alone. Without a wanted moment they come as early as can be. What has begun stays.
/// `go_on` is asked every few tries and may look at a clock.
pub fn arrange(
    project: &Project,
    how: &How,
    former: Option<&Plan>,
    go_on: &mut dyn FnMut() -> bool,
) -> Result<Arranged, ArrangeError> {
    judge(project)?;
    let open = |at: usize| project.landings[at].dishes.iter().any(|&dish| is_open(project, dish));
    let landings: Vec<usize> = (0..project.landings.len()).filter(|&at| open(at)).collect();
    let wanted = |at: &usize| project.landings[*at].wanted.is_some();
    let together = once(project, how, &Aim::Together, 0, former, go_on);
    if landings.len() < 2 {
        return together;
    }
    let late = match &together {
        Ok(arranged) => landings
            .iter()
            .filter(|at| wanted(at))
            .map(|&at| millis(arranged.plan.landings[at].late))
            .max()
            .unwrap_or(0),
        Err(ArrangeError::NothingFound { .. } | ArrangeError::Ring { .. }) => i64::MAX,
        Err(_) => return together,
    };
    let mut best = together;
    if late > 0
        && landings.iter().any(wanted)
        && let Some(alone) = one_alone(project, how, &landings, former, go_on)
    {
        best = Ok(alone);
    }
    if landings.iter().any(|at| !wanted(at))
        && let Ok(arranged) = best
    {
        best = Ok(early_ones(project, how, &landings, arranged, go_on));
    }
    best
}

/// As [`arrange`], but never without a plan while a run is on: where the food has to wait longer than it can take, it
/// waits as little longer as can be found.
pub fn arrange_anyhow(
    project: &Project,
    how: &How,
    former: Option<&Plan>,
    go_on: &mut dyn FnMut() -> bool,
) -> Result<Arranged, ArrangeError> {
    match arrange(project, how, former, go_on) {
        Err(ArrangeError::NothingFound { .. } | ArrangeError::Ring { .. }) => {
            with_grace(project, how, former, Span::ZERO, go_on)
        }
        answer @ (Ok(_) | Err(_)) => answer,
    }
}

/// A plan in which food may have to wait longer than it can take, by more than `above` and as little as can be found.
pub(crate) fn with_grace(
    project: &Project,
    how: &How,
    former: Option<&Plan>,
    above: Span,
    go_on: &mut dyn FnMut() -> bool,
) -> Result<Arranged, ArrangeError> {
    let (last, rest) = (GRACES[GRACES.len() - 1], &GRACES[..GRACES.len() - 1]);
    for &grace in rest.iter().filter(|&&grace| grace > millis(above)) {
        if let Ok(arranged) = once(project, how, &Aim::Together, grace, former, go_on) {
            return Ok(arranged);
        }
    }
    once(project, how, &Aim::Together, last, former, go_on)
}

fn is_open(project: &Project, activity: usize) -> bool {
    match project.activities[activity].standing {
        Standing::Open | Standing::Running { .. } => true,
        Standing::Ended { .. } => false,
    }
}

/// Holds all landings but one, and has that one as early as can be.
fn one_alone(
    project: &Project,
    how: &How,
    landings: &[usize],
    former: Option<&Plan>,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<Arranged> {
    let mut best: Option<(i64, Arranged)> = None;
    for &alone in landings {
        let mut late: Vec<Option<i64>> = alloc::vec![None; project.landings.len()];
        for &at in landings {
            if project.landings[at].wanted.is_some() {
                late[at] = Some(0);
            }
        }
        late[alone]?;
        if let Some((by, found)) = narrow(project, how, late, alone, None, former, go_on)
            && best.as_ref().is_none_or(|known| by < known.0)
        {
            best = Some((by, found));
        }
    }
    best.map(|found| found.1)
}

/// Has the landings without a wanted moment as early as can be, one after the other, the others where they are.
fn early_ones(
    project: &Project,
    how: &How,
    landings: &[usize],
    mut arranged: Arranged,
    go_on: &mut dyn FnMut() -> bool,
) -> Arranged {
    let mut late: Vec<Option<i64>> = alloc::vec![None; project.landings.len()];
    let from_now = |moment: RunTime| (moment - project.now).millis();
    let mut by_end: Vec<usize> = landings.to_vec();
    by_end.sort_by_key(|&at| (arranged.plan.landings[at].at, at));
    for &at in &by_end {
        let landed = from_now(arranged.plan.landings[at].at);
        late[at] = Some(landed - project.landings[at].wanted.map_or(0, from_now));
    }
    // the last one came as early as can be already
    for &at in by_end.iter().take(by_end.len() - 1) {
        if project.landings[at].wanted.is_some() {
            continue;
        }
        let landed = late[at];
        let former = arranged.plan.clone();
        if let Some((by, found)) = narrow(project, how, late.clone(), at, landed, Some(&former), go_on) {
            late[at] = Some(by);
            arranged = found;
        }
    }
    arranged
}

/// The least lateness of one landing, the others being held where they are; `known` is one that is possible.
fn narrow(
    project: &Project,
    how: &How,
    mut late: Vec<Option<i64>>,
    at: usize,
    known: Option<i64>,
    former: Option<&Plan>,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<(i64, Arranged)> {
    let how = How { evaluations: (how.evaluations / u64::from(NARROWINGS)).max(64), ..*how };
    let mut attempt = |by: i64| {
        late[at] = Some(by);
        once(project, &how, &Aim::Each(late.clone()), 0, former, go_on).ok()
    };
    let (mut low, mut high, mut best) = match known {
        Some(known) => (0, known, None),
        None => {
            let mut high = 16 * GRID;
            loop {
                if let Some(found) = attempt(high) {
                    break (0, high, Some((high, found)));
                }
                high *= 2;
                if high > LATEST {
                    return None;
                }
            }
        }
    };
    while high - low > GRID {
        let middle = (low + (high - low) / 2) / GRID * GRID;
        if middle <= low {
            break;
        }
        match attempt(middle) {
            Some(found) => {
                high = middle;
                best = Some((middle, found));
            }
            None => low = middle,
        }
    }
    best
}

/// One search for one aim.
fn once(
    project: &Project,
    how: &How,
    aim: &Aim,
    grace: i64,
    former: Option<&Plan>,
    go_on: &mut dyn FnMut() -> bool,
) -> Result<Arranged, ArrangeError> {
    let frame = Frame::of(project, how.buffers, aim, grace);
    let runs = frame.bodies.iter().any(|body| body.runs);
    let grids: &[i64] = match (how.buffers.level, fits_grid(&frame), runs) {
        (0, true, _) => &[GRID],
        (0, false, false) => &[GRID, FINE_GRID],
        // a moment of a run lies on no grid
        (0, false, true) => &[FINE_GRID],
        (_, _, _) => &[ROOM_GRID],
    };
    let mut answer = None;
    for &grid in grids {
        match on_grid(&frame, how, grid, grace, former, go_on) {
            found @ Ok(_) => return found,
            found @ Err(_) => answer = Some(found),
        }
    }
    answer.unwrap_or_else(|| on_grid(&frame, how, FINE_GRID, grace, former, go_on))
}

fn on_grid(
    frame: &Frame<'_>,
    how: &How,
    grid: i64,
    grace: i64,
    former: Option<&Plan>,
    go_on: &mut dyn FnMut() -> bool,
) -> Result<Arranged, ArrangeError> {
    let posed = posed(frame, grid);
    let problem = posed.draft.build().map_err(|error| told(frame, &posed, error))?;
    let hint = former.and_then(|former| schedule_of(frame, former, grid));
    let mut search = match &hint {
        Some(hint) => Search::from(&problem, hint, how.seed).keeping(how.keep),
        None => Search::new(&problem, how.seed),
    };
    let progress = search.improve(how.evaluations, go_on);
    let nothing = |impossible: bool, posed: Posed| ArrangeError::NothingFound {
        evaluations: progress.evaluations,
        impossible,
        posed: Box::new(posed),
    };
    let Some(schedule) = progress.best.clone() else {
        return Err(nothing(progress.proven == Proven::Impossible, posed));
    };
    let Some(starts) = exact_starts(frame, &problem, &schedule, grid) else {
        return Err(nothing(false, posed));
    };
    Ok(Arranged {
        plan: plan_of(frame, &starts),
        posed,
        schedule,
        value: progress.value.unwrap_or_default(),
        bound: progress.bound,
        proven: progress.proven,
        evaluations: progress.evaluations,
        grace: Span::from_millis(grace.unsigned_abs()),
    })
}

/// The times that the order of a schedule leaves, to the millisecond.
fn exact_starts(frame: &Frame<'_>, problem: &Problem, schedule: &Schedule, grid: i64) -> Option<Vec<i64>> {
    let back = |at: usize| -i64::from(schedule.starts[at]) * grid;
    let ends: Vec<i64> = (0..problem.len()).map(back).collect();
    let begins: Vec<i64> = (0..problem.len()).map(|at| ends[at] - i64::from(problem.duration(at)) * grid).collect();
    let orders = orders(frame, &begins, &ends);
    let mut starts = line::starts(frame, &orders, &begins, frame.ease).ok()?;
    line::pull(frame, &mut starts);
    Some(starts)
}

/// Whether all lengths are whole ticks of the grid.
fn fits_grid(frame: &Frame<'_>) -> bool {
    let whole = |millis: i64| millis % GRID == 0;
    frame.bodies.iter().all(|body| whole(body.lasts) && whole(body.lead) && whole(body.tail))
        && frame.ties.iter().all(|tie| whole(tie.by))
        && frame.pairs.iter().all(|pair| whole(pair.first_then_second) && whole(pair.second_then_first))
}

/// The frame in ticks of reversed time: the start of an activity is how long before the end of the plan it ends.
fn posed(frame: &Frame<'_>, grid: i64) -> Posed {
    let mut draft = Draft::new();
    let up = |millis: i64| -(-millis).div_euclid(grid);
    let down = |millis: i64| millis.div_euclid(grid);
    // without buffers nothing is shared, and the draft says whole places
    let shared = frame.bodies.iter().flat_map(|body| body.needs.iter()).any(|need| need.1 % SHARES != 0);
    let share = if shared { 1 } else { SHARES };
    for &capacity in &frame.capacities {
        draft.resource(ticks(capacity / share));
    }
    for body in &frame.bodies {
        let index = draft.activity(ticks(up(body.lasts) + up(body.lead) + up(body.tail)));
        for &(resource, amount) in &body.needs {
            draft.needs(index, resource, ticks(amount / share));
        }
    }
    let mut meanings = Vec::new();
    for &Tie { from, edge, to, by, bound, least, meaning } in &frame.ties {
        let (before, after) = (&frame.bodies[from], &frame.bodies[to]);
        let from_start = match edge {
            Edge::Start => up(before.lasts),
            Edge::End => 0,
        };
        let between = up(after.lasts) + up(after.tail) - up(before.tail) - from_start;
        match bound {
            Bound::Least => draft.lag(to, from, ticks(between + up(by))),
            Bound::Most => draft.lag(from, to, ticks(-between - down(by).max(up(least)))),
        };
        meanings.push(meaning);
    }
    let mut aparts = Vec::new();
    for &Pair { first, second, first_then_second, second_then_first, apart } in &frame.pairs {
        let (one, other) = (&frame.bodies[first], &frame.bodies[second]);
        // room kept around the two comes on top of the set-up
        let setup = |gap: i64, next: &Body| ticks(up(gap) + up((next.early - next.lead).max(0)));
        draft.incompatible(Incompatible {
            first,
            second,
            setup_first: setup(second_then_first, one),
            setup_second: setup(first_then_second, other),
        });
        aparts.push(apart);
    }
    weigh(frame, &mut draft);
    Posed {
        draft,
        tick: Span::from_millis(grid.unsigned_abs()),
        meanings,
        aparts,
        bodies: frame.bodies.iter().map(|body| body.who).collect(),
        places: frame.project.resources.len(),
    }
}

/// Waiting dishes and length, and lateness far above both.
fn weigh(frame: &Frame<'_>, draft: &mut Draft) {
    let mut waiting = 0i64;
    for landing in &frame.project.landings {
        for &dish in &landing.dishes {
            if let Some(body) = frame.of_activity[dish] {
                waiting += i64::from(landing.waiting_weight);
                draft.weigh(body, i64::from(landing.waiting_weight));
            }
        }
    }
    match frame.first {
        Some(first) => {
            draft.weigh(first, 1);
            draft.weigh(frame.now, LATE * (1 + waiting));
        }
        None => draft.weigh(frame.now, 1),
    }
}

/// A former plan as a schedule of the same frame; it may break what is new.
fn schedule_of(frame: &Frame<'_>, former: &Plan, grid: i64) -> Option<Schedule> {
    let starts = frame.starts_in(former)?;
    let ends: Vec<i64> = starts
        .iter()
        .zip(&frame.bodies)
        .map(|(&start, body)| (start - frame.project.now).millis() + body.lasts + body.tail)
        .collect();
    let last = frame.bodies.iter().zip(&ends).map(|(body, end)| end - body.tail).max().unwrap_or(0);
    Some(Schedule { starts: ends.iter().map(|end| ticks(((last - end) / grid).max(0))).collect() })
}

fn ticks(count: i64) -> Ticks {
    Ticks::try_from(count).unwrap_or(if count > 0 { Ticks::MAX / 4 } else { Ticks::MIN / 4 })
}

/// Says in the words of the project what is wrong with a draft.
fn told(frame: &Frame<'_>, posed: &Posed, error: ProblemError) -> ArrangeError {
    match error {
        ProblemError::Ring { activities, tags, excess } => {
            let mut meanings: Vec<Meaning> = tags.iter().filter_map(|&tag| posed.meaning(tag)).collect();
            meanings.dedup();
            ArrangeError::Ring {
                activities: activities.iter().filter_map(|&at| posed.activity(at)).collect(),
                meanings,
                excess: Span::from_millis(posed.tick.millis() * u64::from(excess.unsigned_abs())),
            }
        }
        ProblemError::AboveCapacity { activity, resource, .. } => {
            let at = posed.activity(activity).unwrap_or(0);
            let needs = frame.project.activities.get(at).map(|activity| activity.needs.as_slice()).unwrap_or_default();
            let needs = needs.iter().filter(|need| need.resource == resource).map(|need| need.amount);
            ArrangeError::AboveCapacity {
                activity: at,
                resource,
                needs: needs.fold(0, u16::saturating_add),
                capacity: frame.project.resources.get(resource).map_or(0, |resource| resource.capacity),
            }
        }
        // the frame names only what there is, and nothing below zero
        other @ (ProblemError::Empty
        | ProblemError::TooManyActivities { .. }
        | ProblemError::UnknownActivity { .. }
        | ProblemError::UnknownResource { .. }
        | ProblemError::NegativeDuration { .. }
        | ProblemError::NegativeDemand { .. }
        | ProblemError::NegativeCapacity { .. }
        | ProblemError::PairOfOne { .. }
        | ProblemError::NegativeSetup { .. }
        | ProblemError::NegativeWeight { .. }
        | ProblemError::TooLong { .. }) => ArrangeError::TooLarge(other),
    }
}

/// Whether all indices of a project name something.
fn judge(project: &Project) -> Result<(), ArrangeError> {
    let count = project.activities.len();
    let unknown = |what: &'static str, index: usize| Err(ArrangeError::Unknown { what, index });
    for (index, activity) in project.activities.iter().enumerate() {
        if activity.needs.iter().any(|need| need.resource >= project.resources.len()) {
            return unknown("activity", index);
        }
    }
    for (index, gap) in project.gaps.iter().enumerate() {
        if gap.from >= count || gap.to >= count {
            return unknown("gap", index);
        }
    }
    for (index, apart) in project.apart.iter().enumerate() {
        if apart.first >= count || apart.second >= count || apart.first == apart.second {
            return unknown("pair", index);
        }
    }
    for (index, landing) in project.landings.iter().enumerate() {
        if landing.dishes.iter().any(|&dish| dish >= count) {
            return unknown("landing", index);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::project::{Activity, Gap, GapKind, Landing, Lasts, Need, Resource};
    use alloc::vec;
    use quantities::Drift;

    fn steps(lasts: &[u64]) -> Project {
        let mut project = Project::default();
        project.resources.push(Resource { name: "hands".into(), capacity: 1 });
        for &secs in lasts {
            project.activities.push(Activity {
                name: "step".into(),
                lasts: Lasts::exactly(Span::from_secs(secs)),
                needs: vec![Need { resource: 0, amount: 1 }],
                standing: Standing::Open,
                not_before: None,
                keeps: false,
            });
        }
        project
    }

    fn gap(from: usize, to: usize, least: i64, most: i64) -> Gap {
        let (least, most) = (Drift::from_millis(least * 1000), Some(Drift::from_millis(most * 1000)));
        Gap { from, edge: Edge::End, to, least, most, kind: GapKind::Quality }
    }

    fn arranged(project: &Project) -> Result<Arranged, ArrangeError> {
        arrange(project, &How::default(), None, &mut || true)
    }

    #[test]
    fn a_ring_names_its_activities_and_gaps() {
        let mut project = steps(&[60, 60, 60]);
        project.gaps = vec![gap(0, 1, 0, 60), gap(1, 2, 0, 60), gap(0, 2, 600, 700)];
        match arranged(&project) {
            Err(ArrangeError::Ring { activities, meanings, excess }) => {
                let mut activities = activities;
                activities.sort_unstable();
                assert_eq!(activities, [0, 1, 2]);
                let expected = [Meaning::GapMost(0), Meaning::GapMost(1), Meaning::GapLeast(2)];
                assert!(expected.iter().all(|meaning| meanings.contains(meaning)), "{meanings:?}");
                assert_eq!(excess, Span::from_secs(600 - 180));
            }
            other => panic!("expected a ring, found {other:?}"),
        }
    }

    #[test]
    fn what_is_needed_above_all_there_is_names_the_activity() {
        let mut project = steps(&[60, 60]);
        project.activities[1].needs[0].amount = 2;
        match arranged(&project) {
            Err(ArrangeError::AboveCapacity { activity: 1, resource: 0, needs: 2, capacity: 1 }) => {}
            other => panic!("expected a need above capacity, found {other:?}"),
        }
    }

    #[test]
    fn an_index_that_nothing_has_is_told() {
        let mut project = steps(&[60]);
        project.gaps = vec![gap(0, 3, 0, 1)];
        assert!(matches!(arranged(&project), Err(ArrangeError::Unknown { what: "gap", index: 0 })));
    }

    #[test]
    fn lengths_off_the_grid_leave_no_gap_and_shut_nothing_out() {
        // 45 s and 50 s back to back, and a third of 7 s that starts exactly 95 s after the first
        let mut project = steps(&[45, 50, 7]);
        let mut exact = gap(0, 2, 95, 95);
        exact.edge = Edge::Start;
        project.gaps = vec![gap(0, 1, 0, 0), exact];
        let plan = arranged(&project).unwrap().plan;
        let start = |at: usize| plan.activities[at].start.millis();
        assert_eq!([start(0), start(1), start(2)], [0, 45_000, 95_000]);
    }

    #[test]
    fn every_demand_of_the_draft_has_a_meaning() {
        let mut project = steps(&[60, 60]);
        project.gaps = vec![gap(0, 1, 0, 60)];
        project.landings.push(Landing {
            name: "dinner".into(),
            dishes: vec![1],
            within: Some(Span::from_mins(1)),
            keeps: Vec::new(),
            wanted: Some(RunTime::from_millis(1_000_000)),
            window: Span::from_mins(2),
            waiting_weight: 5,
        });
        for lateness in [Lateness::Allowed, Lateness::Forbidden] {
            let posed = pose(&project, Buffers::NONE, lateness).unwrap();
            assert!(posed.draft.tags().iter().all(|&tag| posed.meaning(tag).is_some()));
            let held = posed.groups().iter().any(|group| group.0 == Meaning::NotLate(0));
            assert_eq!(held, lateness == Lateness::Forbidden);
        }
    }

    #[test]
    fn a_wanted_moment_that_is_too_early_is_missed_by_the_least() {
        let mut project = steps(&[600, 300]);
        project.gaps = vec![gap(0, 1, 0, 60)];
        project.landings.push(Landing {
            name: "dinner".into(),
            dishes: vec![1],
            within: None,
            keeps: Vec::new(),
            wanted: Some(RunTime::from_millis(500_000)),
            window: Span::from_mins(2),
            waiting_weight: 5,
        });
        let plan = arranged(&project).unwrap().plan;
        assert_eq!(plan.landings[0].at, RunTime::from_millis(900_000));
        assert_eq!(plan.landings[0].late, Span::from_secs(400));
    }
}
