//! Room in a plan for what may come otherwise than expected.

use alloc::vec::Vec;

use quantities::Span;

use crate::frame::{Body, Bound, Frame, Meaning, NOTICE, Tie, Who, millis};
use crate::project::{Edge, GapKind, Standing};

/// How much room a plan leaves for what may come otherwise than expected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Buffers {
    /// The chance, in thousandths, with which an uncertain end lies within what is kept free for the step that has to
    /// follow it at once; zero keeps nothing free and plans on the likely durations.
    pub level: u16,
    /// The same for what a step may take longer than expected before another one gets what it holds.
    pub overrun: u16,
    /// A step of at most so long may be done while something else may end at any moment: it is over soon enough.
    pub brief: Span,
    /// How early things are done, in thousandths: 0 as late as can be, 1000 as early as can be; between the two the time
    /// that food can wait lies on both sides of each start.
    pub ease: u16,
    /// When that is done which can stand as long as it likes.
    pub ready: Ready,
    /// How much before its wanted moment a landing is planned: the last of several dishes is more often late than early.
    pub ahead: Span,
    /// How many such reservations may share one pair of hands, or one place of any other resource.
    pub shared_by: Share,
    /// Nothing is done more than so much before it must be: an oven that stands hot for an hour is no room.
    pub soonest: Span,
}

/// How many reservations may lie over one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Share {
    /// None: each stands alone.
    One,
    /// Two: both ends would have to come in the same minute to be in each other's way.
    Two,
    /// Three.
    Three,
}

/// When that is done which can stand as long as it likes: cutting, weighing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ready {
    /// Just before it is needed.
    JustInTime,
    /// As soon as there are hands for it between other things.
    Early,
    /// Before anything begins that cannot stand.
    BeforeAll,
}

impl Buffers {
    /// Plans on the likely durations alone.
    pub const NONE: Self = Self {
        level: 0,
        overrun: 0,
        brief: Span::ZERO,
        ease: 0,
        ready: Ready::JustInTime,
        ahead: Span::ZERO,
        shared_by: Share::One,
        soonest: Span::LONGEST,
    };

    /// Keeps free what is needed with this chance, in thousandths.
    pub const fn of(level: u16) -> Self {
        Self {
            level,
            overrun: level,
            brief: Span::ZERO,
            ease: 0,
            ready: Ready::JustInTime,
            ahead: Span::ZERO,
            shared_by: Share::Two,
            soonest: Span::LONGEST,
        }
    }
}

/// A step that is shorter keeps free from its own start what has to follow it at once.
const SHORT: i64 = 180_000;

impl Frame<'_> {
    /// Widens what has to follow an uncertain end at once by what is not known of that end.
    pub(crate) fn keep_free(&mut self, buffers: Buffers) {
        if buffers.level == 0 {
            return;
        }
        let places = self.project.resources.len();
        let part = |level: u16| f64::from(level.min(1000)) / 1000.0;
        let chance = part(buffers.level);
        let share = match buffers.shared_by {
            Share::One => 1,
            Share::Two => 2,
            Share::Three => 3,
        };
        // how far the end of each activity may lie from where it is planned, once its start is known
        let count = self.project.activities.len();
        let mut early = alloc::vec![0i64; count];
        let mut late = alloc::vec![0i64; count];
        let mut before = alloc::vec![0i64; count];
        let mut sooner = alloc::vec![0i64; count];
        let mut reserved = alloc::vec![false; count];
        let mut after: Vec<Option<usize>> = alloc::vec![None; count];
        for index in 0..count {
            if let Some(body) = self.of_activity[index] {
                let lasts = self.bodies[body].lasts;
                // a short step costs little room, and none of it is left to chance
                let chance = if lasts <= SHORT { 1.0 } else { chance };
                early[index] = lasts - millis(self.left[index].quantile((1.0 - chance) / 2.0));
                late[index] = (millis(self.left[index].quantile((1.0 + chance) / 2.0)) - lasts).max(0);
            }
        }
        let own: Vec<(i64, i64)> = early.iter().copied().zip(late.iter().copied()).collect();
        // three rounds carry it along a chain of as many steps
        for _ in 0..3 {
            for gap in &self.project.gaps {
                let (Some(from), Some(to)) = (self.of_activity[gap.from], self.of_activity[gap.to]) else { continue };
                let (Some(most), Edge::End) = (gap.most, gap.edge) else { continue };
                if self.bodies[to].runs || gap.kind == GapKind::Lead || gap.least.millis() > NOTICE {
                    continue;
                }
                let room = most.millis() - gap.least.millis();
                let spread = early[gap.from] + late[gap.from];
                if spread <= room {
                    continue;
                }
                let mut lead = (early[gap.from] - room).max(0);
                let lasts = self.bodies[from].lasts;
                if !self.bodies[from].runs && lasts <= SHORT {
                    lead = lead.max(lasts);
                }
                let tail = late[gap.from].min(spread - room);
                let shared = self.bodies[to]
                    .needs
                    .iter()
                    .any(|need| self.bodies[from].needs.iter().any(|other| other.0 == need.0));
                if !shared {
                    before[gap.to] = before[gap.to].max(lead);
                }
                sooner[gap.to] = sooner[gap.to].max((early[gap.from] - room).max(0));
                after[gap.to] = Some(from);
                reserved[gap.to] = true;
                early[gap.to] = early[gap.to].max(own[gap.to].0 + (early[gap.from] - room).max(0));
                late[gap.to] = late[gap.to].max(own[gap.to].1 + tail);
            }
        }
        for index in 0..count {
            let Some(at) = self.of_activity[index] else { continue };
            let body = &mut self.bodies[at];
            body.early = if body.runs { 0 } else { sooner[index] };
            if body.needs.is_empty() {
                continue;
            }
            body.lead = if body.runs { 0 } else { before[index] };
            let overrun = self.left[index].quantile((1.0 + part(buffers.overrun)) / 2.0);
            body.tail = match (reserved[index], buffers.overrun) {
                (true, _) => late[index],
                (false, 0) => 0,
                (false, _) => (millis(overrun) - body.lasts).max(0),
            };
            if body.lead + body.tail > body.lasts && reserved[index] {
                // when it will be done is not known: room is kept for it, but nothing is in use
                body.needs.retain(|need| need.0 < places);
                for need in &mut body.needs {
                    *need = (need.0 + places, need.1 / share);
                }
            }
        }
        for tie in &mut self.ties {
            let Who::Activity(index) = self.bodies[tie.to].who else { continue };
            if tie.bound != Bound::Least || after[index] == Some(tie.from) {
                continue;
            }
            match tie.meaning {
                // all else that it waits for is there by then
                Meaning::GapLeast(_) | Meaning::NotBefore(_) | Meaning::Apart(_) => {
                    tie.by += self.bodies[tie.to].early;
                    tie.least = tie.by;
                }
                Meaning::GapMost(_)
                | Meaning::Resource(_)
                | Meaning::Ready { .. }
                | Meaning::Keeps { .. }
                | Meaning::NotEarly(_)
                | Meaning::NotLate(_)
                | Meaning::Now(_)
                | Meaning::Begun(_)
                | Meaning::Length => {}
            }
        }
    }

    /// Lets nothing begin that cannot stand before all that can is done, while none of it has begun.
    pub(crate) fn ready_before_all(&mut self) {
        let project = self.project;
        let open = |index: usize| project.activities[index].standing == Standing::Open;
        let mut stands: Vec<bool> = (0..project.activities.len())
            .map(|index| self.of_activity[index].is_none_or(|body| self.can_wait(body)))
            .collect();
        // what follows something that cannot stand is no preparation
        for _ in 0..project.activities.len() {
            let before = stands.clone();
            for gap in &project.gaps {
                if !stands[gap.from] {
                    stands[gap.to] = false;
                }
            }
            if before == stands {
                break;
            }
        }
        let begun = (0..stands.len()).any(|index| !stands[index] && !open(index));
        if begun {
            return;
        }
        let Some(busiest) = (0..project.resources.len()).map(|resource| self.work(&stands, resource)).max() else {
            return;
        };
        for index in (0..stands.len()).filter(|&index| !stands[index]) {
            if let Some(to) = self.of_activity[index] {
                let (from, by) = (self.now, busiest);
                let (edge, bound, meaning) = (Edge::Start, Bound::Least, Meaning::Length);
                self.ties.push(Tie { from, edge, to, by, bound, least: by, meaning });
            }
        }
    }

    /// How long a resource is kept busy by some activities, in milliseconds.
    fn work(&self, of: &[bool], resource: usize) -> i64 {
        let bodies = self.of_activity.iter().zip(of).filter(|pair| *pair.1).filter_map(|pair| *pair.0);
        let work = bodies.map(|body| {
            let body = &self.bodies[body];
            let needs = body.needs.iter().filter(|need| need.0 == resource).map(|need| need.1);
            (body.lasts + body.tail) * needs.sum::<i64>()
        });
        work.sum::<i64>() / self.capacities[resource].max(1)
    }

    /// What has begun is a fact: it never asks for more than there is.
    pub(crate) fn fit_what_runs(&mut self) {
        for (resource, &capacity) in self.capacities.iter().enumerate() {
            let mut free = capacity;
            // what ends last has its share first: then at every moment just what is there is in use
            let mut running: Vec<&mut Body> = self.bodies.iter_mut().filter(|body| body.runs).collect();
            running.sort_by_key(|body| core::cmp::Reverse(body.lasts + body.tail));
            for body in running {
                for need in body.needs.iter_mut().filter(|need| need.0 == resource) {
                    need.1 = need.1.min(free);
                    free -= need.1;
                }
            }
        }
        // nor is room kept for what cannot have it, since another step holds it
        for at in 0..self.bodies.len() {
            if self.bodies[at].runs || self.bodies[at].lead == 0 {
                continue;
            }
            let Some(start) = self.follows_running(at) else { continue };
            for place in 0..self.bodies[at].needs.len() {
                let (resource, amount) = self.bodies[at].needs[place];
                let busy_until = self
                    .bodies
                    .iter()
                    .filter(|body| body.runs && body.needs.iter().any(|need| need.0 == resource && need.1 > 0))
                    .map(|body| body.lasts + body.tail)
                    .max();
                let held: i64 = self
                    .bodies
                    .iter()
                    .filter(|body| body.runs)
                    .flat_map(|body| body.needs.iter())
                    .filter(|need| need.0 == resource)
                    .map(|need| need.1)
                    .sum();
                if let Some(until) = busy_until
                    && held + amount > self.capacities[resource]
                {
                    let body = &mut self.bodies[at];
                    body.lead = body.lead.min((start - until).max(0));
                }
            }
        }
    }

    /// The expected end, from now, of the running step that this one has to follow.
    fn follows_running(&self, at: usize) -> Option<i64> {
        let follows = |tie: &&Tie| tie.to == at && tie.bound == Bound::Least && tie.edge == Edge::End;
        let ties = self.ties.iter().filter(follows).filter(|tie| self.bodies[tie.from].runs);
        ties.map(|tie| self.bodies[tie.from].lasts + tie.by).max()
    }
}
