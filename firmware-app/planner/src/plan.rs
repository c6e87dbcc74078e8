//! What comes out: when to start what.

use alloc::vec::Vec;

use quantities::{RunTime, Span};

/// When each activity starts and each landing comes, with what can still move.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Plan {
    /// The activities, by their index in the project.
    pub activities: Vec<Planned>,
    /// The landings, by their index in the project.
    pub landings: Vec<LandingForecast>,
    /// What holds the activities in their order: the gaps of the project, and the resources that are passed on.
    pub links: Vec<Link>,
}

/// An activity in the plan.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Planned {
    /// When it starts, or began.
    pub start: RunTime,
    /// When it is expected to end, or ended.
    pub end: RunTime,
    /// The last moment at which it can start without a landing, a gap or an order of the plan being missed, the others
    /// moving along as far as they must; its start if it has begun.
    pub latest: RunTime,
    /// Whether it lies on the chain that makes the landing as late as it is.
    pub critical: bool,
}

impl Planned {
    /// How much later it can start.
    pub fn slack(&self) -> Span {
        self.latest.since(self.start)
    }
}

/// A landing in the plan.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LandingForecast {
    /// When its last dish is ready.
    pub at: RunTime,
    /// How much later than wanted.
    pub late: Span,
    /// How far apart its dishes end.
    pub spread: Span,
}

/// One thing that keeps an activity from starting earlier, or later.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// The activity that comes first.
    pub from: usize,
    /// The activity that follows.
    pub to: usize,
    /// Why.
    pub why: LinkWhy,
}

/// Why one activity follows another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinkWhy {
    /// The gap of this index.
    Gap(usize),
    /// It gets this resource from it.
    Resource(usize),
    /// The pair of this index, which never overlaps.
    Apart(usize),
}
