//! A project as bodies on one line of time: what can still move, what it needs room for, and what holds it.

use alloc::vec::Vec;

use quantities::{Drift, RunTime, Span};

use crate::plan::Plan;
use crate::project::{Edge, GapKind, Lasts, Project, Standing};
use crate::room::{Buffers, Ready};

/// How landings are held to their wanted moments.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Aim {
    /// All landings together as little late as can be.
    Together,
    /// Each so much later than wanted, and the rest of the plan after `now` as it comes. One entry a landing; for a
    /// landing without a wanted moment so much after now; none: it is not held.
    Each(Vec<Option<i64>>),
    /// None later than its window.
    Held,
}

/// What a demand of a draft stands for in the project.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Meaning {
    /// The least time of the gap of this index.
    GapLeast(usize),
    /// The most time of the gap of this index.
    GapMost(usize),
    /// The capacity of the resource of this index.
    Resource(usize),
    /// The pair of this index, which never overlaps.
    Apart(usize),
    /// The landing comes after this dish, by its place in the landing.
    Ready {
        /// The landing.
        landing: usize,
        /// The place of the dish in the landing.
        dish: usize,
    },
    /// How long this dish may wait for the landing.
    Keeps {
        /// The landing.
        landing: usize,
        /// The place of the dish in the landing.
        dish: usize,
    },
    /// The landing does not come before its wanted moment.
    NotEarly(usize),
    /// The landing does not come after its window.
    NotLate(usize),
    /// What is open starts now or later.
    Now(usize),
    /// The activity does not start before its own moment.
    NotBefore(usize),
    /// The activity has begun: it stays where it is.
    Begun(usize),
    /// A measure of the plan's length that never stands in anyone's way.
    Length,
}

/// What stands on the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Who {
    Activity(usize),
    Landing(usize),
    Now,
    /// The first start of all: the length of the plan is counted from it.
    First,
}

/// One body. All lengths in milliseconds.
#[derive(Clone, Debug)]
pub(crate) struct Body {
    pub(crate) who: Who,
    pub(crate) runs: bool,
    /// What the plan counts on.
    pub(crate) lasts: i64,
    /// Room kept before its start and after its end in what it needs.
    pub(crate) lead: i64,
    pub(crate) tail: i64,
    /// How much earlier than planned it may have to start: all else that it waits for is there by then.
    pub(crate) early: i64,
    /// Resource and amount, in shares of one place.
    pub(crate) needs: Vec<(usize, i64)>,
}

/// Which way a tie holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Bound {
    Least,
    Most,
}

/// The time from one end of a body to the start of another.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tie {
    pub(crate) from: usize,
    pub(crate) edge: Edge,
    pub(crate) to: usize,
    pub(crate) by: i64,
    pub(crate) bound: Bound,
    /// The other bound of the same tie, so that rounding never turns them round.
    pub(crate) least: i64,
    pub(crate) meaning: Meaning,
}

/// Two bodies that never overlap.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pair {
    pub(crate) first: usize,
    pub(crate) second: usize,
    pub(crate) first_then_second: i64,
    pub(crate) second_then_first: i64,
    pub(crate) apart: usize,
}

/// Shares of one place of a resource.
pub(crate) const SHARES: i64 = 6;
/// What a step may be warned of in time: a chain that follows a longer notice is planned when the end is known.
pub(crate) const NOTICE: i64 = 300_000;

/// What is counted on for something that may end at any moment.
const ANY_MOMENT: Span = Span::from_secs(30);

/// The whole line.
#[derive(Clone, Debug)]
pub(crate) struct Frame<'p> {
    pub(crate) project: &'p Project,
    pub(crate) bodies: Vec<Body>,
    /// The body of each activity; none: it is over.
    pub(crate) of_activity: Vec<Option<usize>>,
    pub(crate) of_landing: Vec<Option<usize>>,
    pub(crate) now: usize,
    pub(crate) first: Option<usize>,
    pub(crate) ties: Vec<Tie>,
    pub(crate) pairs: Vec<Pair>,
    pub(crate) capacities: Vec<i64>,
    pub(crate) ease: u16,
    /// Whether what can wait is done first.
    pub(crate) early: bool,
    /// How much before it must be anything may be done, in milliseconds.
    pub(crate) soonest: i64,
    /// How long each activity may still take.
    pub(crate) left: Vec<Lasts>,
}

impl<'p> Frame<'p> {
    /// Lays a project out; `grace` is added to what the food can take.
    pub(crate) fn of(project: &'p Project, buffers: Buffers, aim: &Aim, grace: i64) -> Frame<'p> {
        let mut frame = Frame {
            project,
            bodies: Vec::new(),
            of_activity: Vec::new(),
            of_landing: Vec::new(),
            now: 0,
            first: None,
            ties: Vec::new(),
            pairs: Vec::new(),
            capacities: project.resources.iter().map(|resource| i64::from(resource.capacity) * SHARES).collect(),
            ease: buffers.ease,
            early: buffers.ready != Ready::JustInTime,
            soonest: millis(buffers.soonest),
            left: Vec::new(),
        };
        if buffers.level > 0 {
            // what is kept free is counted apart from what is in use
            frame.capacities.extend_from_within(..);
        }
        frame.lay_bodies(buffers);
        frame.tie_to_now();
        frame.tie_gaps(grace);
        frame.tie_landings(aim, grace, millis(buffers.ahead));
        frame.keep_apart();
        frame.keep_free(buffers);
        frame.fit_what_runs();
        if buffers.ready == Ready::BeforeAll {
            frame.ready_before_all();
        }
        frame
    }

    fn lay_bodies(&mut self, buffers: Buffers) {
        let project = self.project;
        for (index, activity) in project.activities.iter().enumerate() {
            let (left, runs) = match activity.standing {
                Standing::Open => (activity.lasts, false),
                Standing::Running { left, .. } => (left, true),
                Standing::Ended { .. } => {
                    self.of_activity.push(None);
                    self.left.push(Lasts::exactly(Span::ZERO));
                    continue;
                }
            };
            // a plan with room counts on the mean, which is what a re-plan finds on average
            let lasts = match (buffers.level, runs && left.low.is_zero()) {
                (0, false) => left.likely,
                (_, false) => left.mean(),
                // it may end at any moment: a plan that counted on this one would be wrong again at once
                (_, true) => left.mean().max(left.high.min(ANY_MOMENT)),
            };
            self.left.push(left);
            let places = project.resources.len();
            let needed = activity.needs.iter().filter(|need| need.amount > 0);
            let mut needs: Vec<(usize, i64)> =
                needed.map(|need| (need.resource, i64::from(need.amount) * SHARES)).collect();
            if buffers.level > 0 && activity.lasts.likely > buffers.brief {
                for at in 0..needs.len() {
                    needs.push((needs[at].0 + places, needs[at].1));
                }
            }
            self.of_activity.push(Some(self.bodies.len()));
            self.bodies.push(Body {
                who: Who::Activity(index),
                runs,
                lasts: millis(lasts),
                lead: 0,
                tail: 0,
                early: 0,
                needs,
            });
        }
        for (index, landing) in project.landings.iter().enumerate() {
            let open = landing.dishes.iter().any(|&dish| self.of_activity[dish].is_some());
            self.of_landing.push(open.then_some(self.bodies.len()));
            if open {
                self.bodies.push(mark(Who::Landing(index)));
            }
        }
        if project.landings.iter().any(|landing| landing.wanted.is_some()) {
            self.first = Some(self.bodies.len());
            self.bodies.push(mark(Who::First));
        }
        self.now = self.bodies.len();
        self.bodies.push(mark(Who::Now));
    }

    fn least(&mut self, from: usize, edge: Edge, to: usize, by: i64, meaning: Meaning) {
        self.ties.push(Tie { from, edge, to, by, bound: Bound::Least, least: by, meaning });
    }

    fn most(&mut self, from: usize, edge: Edge, to: usize, by: i64, least: i64, meaning: Meaning) {
        self.ties.push(Tie { from, edge, to, by, bound: Bound::Most, least, meaning });
    }

    fn tie_to_now(&mut self) {
        let now = self.now;
        for body in 0..self.bodies.len() {
            let Who::Activity(index) = self.bodies[body].who else { continue };
            if self.bodies[body].runs {
                self.least(now, Edge::Start, body, 0, Meaning::Begun(index));
                self.most(now, Edge::Start, body, 0, 0, Meaning::Begun(index));
                continue;
            }
            self.least(now, Edge::Start, body, 0, Meaning::Now(index));
            if let Some(first) = self.first {
                self.least(first, Edge::Start, body, 0, Meaning::Length);
            }
            if let Some(moment) = self.project.activities[index].not_before
                && moment > self.project.now
            {
                let by = millis(moment.since(self.project.now));
                self.least(now, Edge::Start, body, by, Meaning::NotBefore(index));
            }
        }
        if let Some(first) = self.first {
            self.least(now, Edge::Start, first, 0, Meaning::Length);
        }
    }

    /// Where an edge of an activity stands: at a body, or at a moment counted from now.
    fn edge(&self, activity: usize, edge: Edge) -> (usize, Edge, i64) {
        let from_now = |moment: RunTime| (moment - self.project.now).millis();
        match (self.project.activities[activity].standing, edge, self.of_activity[activity]) {
            (Standing::Ended { began, .. } | Standing::Running { began, .. }, Edge::Start, _) => {
                (self.now, Edge::Start, from_now(began))
            }
            (Standing::Ended { ended, .. }, Edge::End, _) => (self.now, Edge::Start, from_now(ended)),
            (_, edge, Some(body)) => (body, edge, 0),
            (_, edge, None) => (self.now, edge, 0),
        }
    }

    fn tie_gaps(&mut self, grace: i64) {
        for (index, gap) in self.project.gaps.iter().enumerate() {
            let Standing::Open = self.project.activities[gap.to].standing else { continue };
            let Some(to) = self.of_activity[gap.to] else { continue };
            let (from, edge, at) = self.edge(gap.from, gap.edge);
            let least = at + gap.least.millis();
            self.least(from, edge, to, least, Meaning::GapLeast(index));
            if let Some(most) = gap.most {
                let most = match gap.kind {
                    GapKind::Order | GapKind::Quality | GapKind::Harm => at + most.millis() + grace,
                    GapKind::Lead => at + most.millis() + 4 * grace,
                };
                self.most(from, edge, to, most, least, Meaning::GapMost(index));
            }
        }
    }

    fn tie_landings(&mut self, aim: &Aim, grace: i64, ahead: i64) {
        let mut leader: Option<(usize, i64)> = None;
        for (index, landing) in self.project.landings.iter().enumerate() {
            let Some(land) = self.of_landing[index] else { continue };
            self.least(self.now, Edge::Start, land, 0, Meaning::Length);
            for (place, &dish) in landing.dishes.iter().enumerate() {
                let (from, edge, at) = self.edge(dish, Edge::End);
                self.least(from, edge, land, at, Meaning::Ready { landing: index, dish: place });
                if let Some(keeps) = landing.keeps.get(place).copied().flatten().or(landing.within) {
                    let most = at + millis(keeps) + grace;
                    self.most(from, edge, land, most, at, Meaning::Keeps { landing: index, dish: place });
                }
            }
            let wanted = landing.wanted.map(|moment| (moment - self.project.now).millis() - ahead);
            match (aim, wanted) {
                (Aim::Together, Some(wanted)) => {
                    self.least(self.now, Edge::Start, land, wanted, Meaning::NotEarly(index));
                    match leader {
                        None => leader = Some((land, wanted)),
                        Some((leader, at)) => {
                            let by = wanted - at;
                            self.least(leader, Edge::Start, land, by, Meaning::NotEarly(index));
                            self.most(leader, Edge::Start, land, by, by, Meaning::NotLate(index));
                        }
                    }
                }
                (Aim::Held, Some(wanted)) => {
                    let window = millis(landing.window);
                    self.least(self.now, Edge::Start, land, wanted, Meaning::NotEarly(index));
                    self.most(self.now, Edge::Start, land, wanted + ahead + window, wanted, Meaning::NotLate(index));
                }
                (Aim::Each(late), wanted) => {
                    if let Some(Some(late)) = late.get(index) {
                        let by = wanted.unwrap_or(0) + late;
                        if wanted.is_some() {
                            self.least(self.now, Edge::Start, land, by, Meaning::NotEarly(index));
                        }
                        self.most(self.now, Edge::Start, land, by, by, Meaning::NotLate(index));
                    }
                }
                (Aim::Together | Aim::Held, None) => {}
            }
            self.tie_what_follows(index, land);
        }
    }

    /// What comes after a dish of a landing comes after the landing: it is served when all of it is there.
    fn tie_what_follows(&mut self, landing: usize, land: usize) {
        let project = self.project;
        let dishes = &project.landings[landing].dishes;
        for gap in &project.gaps {
            let Standing::Open = project.activities[gap.to].standing else { continue };
            let Some(to) = self.of_activity[gap.to] else { continue };
            let after = gap.edge == Edge::End && gap.least >= Drift::ZERO && dishes.contains(&gap.from);
            if after && !leads_to(project, gap.to, dishes) {
                self.least(land, Edge::Start, to, 0, Meaning::Length);
            }
        }
    }

    fn keep_apart(&mut self) {
        for (index, apart) in self.project.apart.iter().enumerate() {
            let there = millis(apart.first_then_second);
            let back = millis(apart.second_then_first);
            match (self.of_activity[apart.first], self.of_activity[apart.second]) {
                (Some(first), Some(second)) if self.bodies[first].runs && self.bodies[second].runs => {}
                (Some(first), Some(second)) => self.pairs.push(Pair {
                    first,
                    second,
                    first_then_second: there,
                    second_then_first: back,
                    apart: index,
                }),
                (None, Some(second)) if !self.bodies[second].runs => {
                    let (now, edge, at) = self.edge(apart.first, Edge::End);
                    self.least(now, edge, second, at + there, Meaning::Apart(index));
                }
                (Some(first), None) if !self.bodies[first].runs => {
                    let (now, edge, at) = self.edge(apart.second, Edge::End);
                    self.least(now, edge, first, at + back, Meaning::Apart(index));
                }
                (None, _) | (_, None) => {}
            }
        }
    }

    /// The landings that are held to no latest moment.
    pub(crate) fn free_landings(&self) -> Vec<usize> {
        let held = |land: usize| {
            let most = |tie: &Tie| tie.to == land && tie.from == self.now && tie.bound == Bound::Most;
            self.ties.iter().any(most)
        };
        self.of_landing.iter().filter_map(|land| *land).filter(|&land| !held(land)).collect()
    }

    /// Whether something can be done as early as one likes: nothing that follows it, and it itself, has to come soon.
    pub(crate) fn can_wait(&self, body: usize) -> bool {
        let holds = |tie: &Tie| tie.bound == Bound::Most && (tie.from == body || tie.to == body);
        !self.bodies[body].runs && !self.ties.iter().any(holds)
    }

    /// When something starts that should follow at once what has happened.
    fn at_once(&self, index: usize) -> RunTime {
        let mut moment = RunTime::NEVER;
        for gap in self.project.gaps.iter().filter(|gap| gap.to == index) {
            let room = gap.most.map(|most| most.millis() - gap.least.millis());
            let (from, _, at) = self.edge(gap.from, gap.edge);
            if from == self.now && room.is_some_and(|room| room <= NOTICE) {
                let start = (at + gap.least.millis()).max(0);
                moment = moment.min(self.project.now + Span::from_millis(start.unsigned_abs()));
            }
        }
        moment
    }

    /// The moment of the start of each body in a former plan; what has to follow at once comes first.
    pub(crate) fn starts_in(&self, plan: &Plan) -> Option<Vec<RunTime>> {
        let project = self.project;
        if plan.activities.len() != project.activities.len() || plan.landings.len() != project.landings.len() {
            return None;
        }
        let open = || self.bodies.iter().filter(|body| !body.runs);
        let first = open().filter_map(|body| match body.who {
            Who::Activity(index) => Some(plan.activities[index].start),
            Who::Landing(_) | Who::Now | Who::First => None,
        });
        let first = first.min().unwrap_or(project.now).max(project.now);
        Some(
            self.bodies
                .iter()
                .map(|body| match body.who {
                    Who::Activity(_) if body.runs => project.now,
                    Who::Activity(index) => plan.activities[index].start.min(self.at_once(index)),
                    Who::Landing(index) => plan.landings[index].at,
                    Who::Now => project.now,
                    Who::First => first,
                })
                .collect(),
        )
    }
}

pub(crate) fn millis(span: Span) -> i64 {
    i64::try_from(span.millis()).unwrap_or(i64::MAX / 8).min(i64::MAX / 8)
}

/// Whether one of some activities is this one, or comes after it by gaps.
fn leads_to(project: &Project, from: usize, aims: &[usize]) -> bool {
    let mut seen = alloc::vec![false; project.activities.len()];
    let mut open = alloc::vec![from];
    while let Some(at) = open.pop() {
        if aims.contains(&at) {
            return true;
        }
        if !core::mem::replace(&mut seen[at], true) {
            open.extend(project.gaps.iter().filter(|gap| gap.from == at).map(|gap| gap.to));
        }
    }
    false
}

fn mark(who: Who) -> Body {
    Body { who, runs: false, lasts: 0, lead: 0, tail: 0, early: 0, needs: Vec::new() }
}
