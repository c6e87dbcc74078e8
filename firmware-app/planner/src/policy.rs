//! What is done when: a plan that is only followed, and one that is moved with everything that happens.

use alloc::vec::Vec;

use quantities::{RunTime, Span};
use schedule::Stability;

use crate::arrange::{GRACES, How, arrange, with_grace};
use crate::chain::{Order, orders};
use crate::frame::{Aim, Frame, Who, millis};
use crate::plan::Plan;
use crate::project::{Edge, Lasts, Project, Standing};
use crate::retime::{later, retime_frame};
use crate::room::Buffers;
use crate::story::Story;

/// How a plan is followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Policy {
    /// As it stands: nothing begins before its planned moment, and the order on every resource is kept.
    Fixed,
    /// With everything that begins or ends the rest is timed anew in the same order, and planned anew where that does not
    /// fit or moves a landing by more than the drift limit.
    Live(Live),
}

/// How a plan is moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Live {
    /// The room that is kept, if it can be had; less otherwise.
    pub buffers: Buffers,
    /// Schedules tried for one new plan.
    pub evaluations: u64,
    /// A landing that moves by more than this is a reason to plan anew.
    pub drift: Span,
    /// Decides between equals.
    pub seed: u64,
}

impl Live {
    /// The rungs of the ladder that are tried for.
    fn ladder(&self) -> &'static [(u16, u16, u64)] {
        let wanted = (self.buffers.level, self.buffers.overrun);
        let first = LADDER.iter().position(|&(level, overrun, _)| (level, overrun) <= wanted);
        &LADDER[first.unwrap_or(LADDER.len() - 1)..]
    }

    /// The room of a rung.
    pub fn room(&self, rung: usize) -> Buffers {
        let (level, overrun, brief) = self.ladder()[rung];
        Buffers { level, overrun, brief: self.buffers.brief.max(Span::from_secs(brief)), ..self.buffers }
    }

    /// How many rungs there are.
    pub fn rungs(&self) -> usize {
        self.ladder().len()
    }
}

impl Default for Live {
    fn default() -> Self {
        Self { buffers: Buffers::of(1000), evaluations: 20, drift: Span::from_mins(2), seed: 1 }
    }
}

/// Room that is tried for, one after the other, where more cannot be had: the level, that of overruns, and the seconds of
/// what counts as brief.
pub(crate) const LADDER: [(u16, u16, u64); 11] = [
    (1000, 1000, 0),
    (1000, 700, 0),
    (950, 0, 0),
    (950, 0, 30),
    (900, 0, 60),
    (800, 0, 60),
    (700, 0, 90),
    (500, 0, 120),
    (300, 0, 120),
    (1, 0, 120),
    (0, 0, 0),
];

/// Schedules tried where hope is small.
const FEW: u64 = 6;
/// With more steps than this fewer schedules are tried.
const OF_STEPS: u64 = 30;

/// Longer than anything waits, in milliseconds.
const DAY: i64 = 86_400_000;

/// What happens when a plan is only followed and each activity takes what it takes.
///
/// `takes` holds for each activity how long it takes from its start, or from now if it runs, in milliseconds.
pub(crate) fn follow(project: &Project, plan: &Plan, takes: &[i64]) -> Story {
    let frame = Frame::of(project, Buffers::NONE, &Aim::Together, 0);
    let from_now = |moment: RunTime| (moment - project.now).millis();
    let planned: Vec<i64> = frame
        .bodies
        .iter()
        .map(|body| match body.who {
            Who::Activity(_) if body.runs => 0,
            Who::Activity(index) => from_now(plan.activities[index].start),
            Who::Landing(_) | Who::Now | Who::First => 0,
        })
        .collect();
    let ends: Vec<i64> = planned.iter().zip(&frame.bodies).map(|(start, body)| start + body.lasts).collect();
    let lasts = |body: usize| match frame.bodies[body].who {
        Who::Activity(index) => takes[index],
        Who::Landing(_) | Who::Now | Who::First => 0,
    };
    let orders = orders(&frame, &planned, &ends);
    let mut starts = planned.clone();
    // every round settles at least one more of those that wait for nothing that moves
    for _ in 0..frame.bodies.len() {
        let mut moved = false;
        for tie in &frame.ties {
            let followed = |body: usize| match frame.bodies[body].who {
                Who::Activity(_) => !frame.bodies[body].runs,
                Who::Landing(_) | Who::Now | Who::First => false,
            };
            if tie.bound == crate::frame::Bound::Least && followed(tie.to) {
                let edge = match tie.edge {
                    Edge::Start => 0,
                    Edge::End => lasts(tie.from),
                };
                let least = starts[tie.from] + edge + tie.by;
                if starts[tie.to] < least {
                    starts[tie.to] = least;
                    moved = true;
                }
            }
        }
        for &Order { from, to, by, .. } in &orders {
            let least = starts[from] + lasts(from) + by;
            if !frame.bodies[to].runs && starts[to] < least {
                starts[to] = least;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    let mut story = Story::default();
    for (index, activity) in project.activities.iter().enumerate() {
        let (began, ended) = match (activity.standing, frame.of_activity[index]) {
            (Standing::Ended { began, ended }, _) => (from_now(began), from_now(ended)),
            (Standing::Running { began, .. }, _) => (from_now(began), takes[index]),
            (Standing::Open, Some(body)) => (starts[body], starts[body] + takes[index]),
            (Standing::Open, None) => (0, 0),
        };
        story.began.push(began);
        story.ended.push(ended);
    }
    story
}

/// A run under way: what is known of it, and the plan for the rest.
#[derive(Clone, Debug)]
pub(crate) struct Run<'p> {
    origin: &'p Project,
    known: Project,
    /// How long each running activity was thought to last, and from when.
    thought: Vec<(RunTime, Lasts)>,
    plan: Plan,
    /// Where the landings lay when it was planned anew.
    settled: Vec<i64>,
    rung: usize,
    live: Live,
    /// Whether the run is left as soon as no plan keeps all windows.
    stops_at_a_miss: bool,
    hopeless: bool,
    /// By how much longer than it can take food waits in the plan.
    grace: Span,
    pub(crate) plans: u32,
    pub(crate) retimes: u32,
}

impl<'p> Run<'p> {
    pub(crate) fn new(origin: &'p Project, plan: &Plan, live: Live) -> Run<'p> {
        let thought = origin.activities.iter().map(|activity| match activity.standing {
            Standing::Running { left, .. } => (origin.now, left),
            Standing::Open | Standing::Ended { .. } => (origin.now, activity.lasts),
        });
        Run {
            thought: thought.collect(),
            known: origin.clone(),
            origin,
            plan: plan.clone(),
            settled: landings(plan),
            rung: 0,
            live,
            stops_at_a_miss: false,
            hopeless: false,
            grace: Span::ZERO,
            plans: 0,
            retimes: 0,
        }
    }

    /// Goes on only while all windows can be kept, and tells whether they were.
    pub(crate) fn keeps_all(&mut self, takes: &[i64]) -> bool {
        self.stops_at_a_miss = true;
        let story = self.through(takes);
        !self.hopeless && story.missed(self.origin).is_empty()
    }

    /// Goes through to the end; `takes` as in [`follow`].
    pub(crate) fn through(&mut self, takes: &[i64]) -> Story {
        let count = self.known.activities.len();
        let mut ends: Vec<Option<RunTime>> = alloc::vec![None; count];
        for (index, activity) in self.known.activities.iter().enumerate() {
            if let Standing::Running { .. } = activity.standing {
                ends[index] = Some(later(self.known.now, takes[index]));
            }
        }
        loop {
            // what is due begins, and what ends ends, until neither is the case
            let due = self.due();
            if !due.is_empty() {
                for index in due {
                    let now = self.known.now;
                    self.thought[index] = (now, self.known.activities[index].lasts);
                    self.known.activities[index].standing =
                        Standing::Running { began: now, left: self.known.activities[index].lasts };
                    ends[index] = Some(later(now, takes[index]));
                }
                continue;
            }
            let next_end = ends.iter().flatten().min().copied();
            let next_start = self.next_start();
            let next = match (next_end, next_start) {
                (Some(end), Some(start)) => end.min(start),
                (Some(end), None) => end,
                (None, Some(start)) => start,
                (None, None) if self.known.activities.iter().any(|activity| activity.standing == Standing::Open) => {
                    self.known.now + Span::from_secs(30)
                }
                (None, None) => break,
            };
            self.known.now = self.known.now.max(next);
            for (activity, end) in self.known.activities.iter_mut().zip(&mut ends) {
                if let (Some(ended), Standing::Running { began, .. }) = (*end, activity.standing)
                    && ended <= self.known.now
                {
                    activity.standing = Standing::Ended { began, ended };
                    *end = None;
                }
            }
            self.look_again();
            if self.hopeless && self.stops_at_a_miss {
                break;
            }
        }
        let from_start = |moment: RunTime| (moment - self.origin.now).millis();
        let mut story = Story::default();
        for activity in &self.known.activities {
            let (began, ended) = match activity.standing {
                Standing::Ended { began, ended } => (from_start(began), from_start(ended)),
                // the loop ends when nothing is open and nothing runs
                Standing::Running { .. } | Standing::Open => (0, 0),
            };
            story.began.push(began);
            story.ended.push(ended);
        }
        story
    }

    /// When the next open activity is planned to start.
    fn next_start(&self) -> Option<RunTime> {
        let open = self.known.activities.iter().zip(&self.plan.activities);
        let starts = open.filter(|pair| pair.0.standing == Standing::Open).map(|pair| pair.1.start);
        // what is due but has to wait begins when something ends
        starts.filter(|&start| start > self.known.now).min()
    }

    /// What is planned to have started by now and has what it needs.
    fn due(&self) -> Vec<usize> {
        let project = &self.known;
        let mut free: Vec<i64> = project.resources.iter().map(|resource| i64::from(resource.capacity)).collect();
        for activity in &project.activities {
            if let Standing::Running { .. } = activity.standing {
                for need in &activity.needs {
                    free[need.resource] -= i64::from(need.amount);
                }
            }
        }
        let mut due = Vec::new();
        let mut order: Vec<usize> = (0..project.activities.len())
            .filter(|&index| project.activities[index].standing == Standing::Open)
            .filter(|&index| self.plan.activities[index].start <= project.now)
            .collect();
        order.sort_by_key(|&index| (self.plan.activities[index].start, index));
        for index in order {
            let needs = &project.activities[index].needs;
            let room = needs.iter().all(|need| free[need.resource] >= i64::from(need.amount));
            let apart = due.iter().all(|&other| !never_together(project, index, other));
            if room && apart && may_start(project, index) {
                for need in needs {
                    free[need.resource] -= i64::from(need.amount);
                }
                due.push(index);
            }
        }
        due
    }

    /// Times the rest anew, or plans it anew.
    fn look_again(&mut self) {
        let now = self.known.now;
        for (activity, (since, lasts)) in self.known.activities.iter_mut().zip(&self.thought) {
            if let Standing::Running { left, .. } = &mut activity.standing {
                *left = lasts.left_after(now.since(*since));
            }
        }
        if self.known.activities.iter().all(|activity| activity.standing != Standing::Open) {
            return;
        }
        let frame = Frame::of(&self.known, self.live.room(self.rung), &Aim::Together, 0);
        self.retimes += 1;
        let retimed = retime_frame(&frame, &self.plan).ok();
        let Some(plan) = retimed else {
            self.give_way();
            return;
        };
        let drift = landings(&plan).iter().zip(&self.settled).map(|(a, b)| a.saturating_sub(*b)).max().unwrap_or(0);
        self.plan = plan;
        self.grace = Span::ZERO;
        if drift > self.live.drift.millis() as i64 && self.attempt(self.rung) {
            return;
        }
        // more room is taken where the same order has it
        for rung in (0..self.rung).rev() {
            let frame = Frame::of(&self.known, self.live.room(rung), &Aim::Together, 0);
            match retime_frame(&frame, &self.plan) {
                Ok(plan) => (self.rung, self.plan) = (rung, plan),
                Err(_) => break,
            }
        }
    }

    /// The order cannot be kept: another order with the same room, or less room.
    fn give_way(&mut self) {
        let (from, last) = (self.rung, self.live.rungs() - 1);
        if !self.grace.is_zero() {
            // seldom another plan keeps all windows again: it is looked for at every third look
            if !self.retimes.is_multiple_of(3) || !self.attempt(last) {
                self.wait_longer();
            }
            return;
        }
        if self.attempt(from) {
            return;
        }
        for rung in from + 1..=last {
            let frame = Frame::of(&self.known, self.live.room(rung), &Aim::Together, 0);
            if let Ok(plan) = retime_frame(&frame, &self.plan) {
                self.rung = rung;
                self.plan = plan;
                return;
            }
        }
        // a new order is costly where there is none: a few of the rungs are enough
        for rung in [from + (last - from) / 2, last.saturating_sub(1), last] {
            if rung > from && self.attempt(rung) {
                return;
            }
        }
        self.rung = last;
        self.hopeless = true;
        if self.stops_at_a_miss {
            return;
        }
        self.wait_longer();
    }

    /// No plan keeps all windows: food has to wait longer than it can take.
    fn wait_longer(&mut self) {
        for grace in GRACES {
            let frame = Frame::of(&self.known, Buffers::NONE, &Aim::Together, grace);
            if grace > millis(self.grace) {
                break;
            }
            if let Ok(plan) = retime_frame(&frame, &self.plan) {
                (self.plan, self.grace) = (plan, Span::from_millis(grace.unsigned_abs()));
                return;
            }
        }
        self.plans += 1;
        match with_grace(&self.known, &self.how(Buffers::NONE), Some(&self.plan), Span::ZERO, &mut || true) {
            Ok(arranged) => (self.plan, self.grace) = (arranged.plan, arranged.grace),
            Err(_) => {
                // nothing better is known: what is due begins as soon as it can
                let frame = Frame::of(&self.known, Buffers::NONE, &Aim::Together, DAY);
                if let Ok(plan) = retime_frame(&frame, &self.plan) {
                    self.plan = plan;
                }
            }
        }
    }

    fn attempt(&mut self, rung: usize) -> bool {
        self.plans += 1;
        match arrange(&self.known, &self.how(self.live.room(rung)), Some(&self.plan), &mut || true) {
            Ok(arranged) => {
                self.rung = rung;
                self.settled = landings(&arranged.plan);
                self.plan = arranged.plan;
                self.grace = Span::ZERO;
                true
            }
            Err(_) => false,
        }
    }

    fn how(&self, buffers: Buffers) -> How {
        let Live { seed, evaluations, .. } = self.live;
        // many steps take longer to place, and where there was no plan a moment ago there is seldom one now
        let steps = self.known.activities.len() as u64;
        let evaluations = match self.grace.is_zero() {
            true => (evaluations * OF_STEPS / steps.max(OF_STEPS)).max(FEW),
            false => evaluations.min(FEW),
        };
        How { seed, evaluations, buffers, keep: Stability::BreaksTies }
    }
}

/// Whether an open activity may start by what has happened.
fn may_start(project: &Project, index: usize) -> bool {
    let now = project.now;
    let waits_for = |gap: &&crate::project::Gap| gap.to == index;
    for gap in project.gaps.iter().filter(waits_for) {
        let edge = match (project.activities[gap.from].standing, gap.edge) {
            (Standing::Ended { began, .. } | Standing::Running { began, .. }, Edge::Start) => began,
            (Standing::Ended { ended, .. }, Edge::End) => ended,
            (Standing::Running { .. }, Edge::End) | (Standing::Open, _) => {
                // it may start so much before only by the plan
                if gap.least.is_early() {
                    continue;
                }
                return false;
            }
        };
        if (now - edge).millis() < gap.least.millis() {
            return false;
        }
    }
    for apart in &project.apart {
        let (other, setup) = if apart.second == index {
            (apart.first, apart.first_then_second)
        } else if apart.first == index {
            (apart.second, apart.second_then_first)
        } else {
            continue;
        };
        match project.activities[other].standing {
            Standing::Running { .. } => return false,
            Standing::Ended { ended, .. } if (now - ended).millis() < setup.millis() as i64 => return false,
            Standing::Ended { .. } | Standing::Open => {}
        }
    }
    project.activities[index].not_before.is_none_or(|moment| moment <= now)
}

fn never_together(project: &Project, one: usize, other: usize) -> bool {
    project
        .apart
        .iter()
        .any(|apart| (apart.first, apart.second) == (one, other) || (apart.first, apart.second) == (other, one))
}

fn landings(plan: &Plan) -> Vec<i64> {
    plan.landings.iter().map(|landing| landing.at.millis() as i64).collect()
}
