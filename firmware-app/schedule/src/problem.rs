//! A planning problem that has passed the checks of its draft.

use alloc::vec::Vec;

use crate::closure::Closure;
use crate::draft::Draft;

/// Time in ticks of the plan's own grid, counted from the origin of the plan.
pub type Ticks = i32;

/// A demand that one activity starts at least `lag` after another one; a negative lag is a longest wait.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lag {
    /// The activity that is waited for.
    pub from: usize,
    /// The activity that waits.
    pub to: usize,
    /// `S_to >= S_from + lag`.
    pub lag: Ticks,
}

/// Two activities that never overlap, with the set-up between them for either order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Incompatible {
    /// One of the two.
    pub first: usize,
    /// The other one.
    pub second: usize,
    /// Set-up between the end of `first` and the start of `second`, if `first` is first.
    pub setup_first: Ticks,
    /// Set-up between the end of `second` and the start of `first`, if `second` is first.
    pub setup_second: Ticks,
}

/// The ticks within which an activity may start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// Earliest start; never below zero.
    pub earliest: Ticks,
    /// Latest start, if there is one.
    pub latest: Option<Ticks>,
}

/// One demand of a problem, by which a reason for an impossible plan is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tag {
    /// The lag of this index.
    Lag(usize),
    /// The capacity of the resource of this index.
    Resource(usize),
    /// The incompatible pair of this index.
    Incompatible(usize),
    /// The earliest start of the activity of this index.
    Earliest(usize),
    /// The latest start of the activity of this index.
    Latest(usize),
}

/// A checked planning problem; made by [`Draft::build`].
#[derive(Clone, Debug)]
pub struct Problem {
    pub(crate) draft: Draft,
    pub(crate) weights: Vec<(usize, i64)>,
    pub(crate) closure: Closure,
}

impl Problem {
    /// The number of activities.
    pub fn len(&self) -> usize {
        self.draft.durations.len()
    }

    /// Whether there is nothing to plan; a built problem has at least one activity.
    pub fn is_empty(&self) -> bool {
        self.draft.durations.is_empty()
    }

    /// The duration of an activity.
    pub fn duration(&self, activity: usize) -> Ticks {
        self.draft.durations[activity]
    }

    /// What an activity needs of each resource while it runs: resource and amount.
    pub fn demands(&self, activity: usize) -> &[(usize, i32)] {
        &self.draft.demands[activity]
    }

    /// The capacities of the resources.
    pub fn capacities(&self) -> &[i32] {
        &self.draft.capacities
    }

    /// All lags in the order in which they were given.
    pub fn lags(&self) -> &[Lag] {
        &self.draft.lags
    }

    /// Lags that nobody gave but that hold in every schedule, since one order of a pair has no room.
    pub fn derived_lags(&self) -> &[Lag] {
        &self.closure.derived
    }

    /// All incompatible pairs in the order in which they were given.
    pub fn incompatible(&self) -> &[Incompatible] {
        &self.draft.incompatible
    }

    /// The window of an activity.
    pub fn window(&self, activity: usize) -> Window {
        self.draft.windows[activity]
    }

    /// The weighted starts whose sum is minimised.
    pub fn weights(&self) -> &[(usize, i64)] {
        &self.weights
    }

    /// The draft this problem came from, to change it and build anew.
    pub fn draft(&self) -> &Draft {
        &self.draft
    }

    /// The longest lag that follows from all lags, windows and orders that have no choice, from one activity to another.
    pub fn longest_lag(&self, from: usize, to: usize) -> Option<Ticks> {
        self.closure.get(from, to)
    }

    /// The earliest start of an activity that lags, windows and orders without a choice allow.
    pub fn earliest(&self, activity: usize) -> Ticks {
        self.closure.earliest(activity)
    }

    /// The latest start of an activity that windows and maximum lags allow, if they set one.
    pub fn latest(&self, activity: usize) -> Option<Ticks> {
        self.closure.latest(activity)
    }

    /// Whether orders without a choice already show that no schedule exists.
    pub fn contradicts_itself(&self) -> bool {
        self.closure.contradiction
    }

    /// Whether two activities can never overlap, by an incompatible pair or by a resource that cannot hold both.
    pub fn never_overlap(&self, a: usize, b: usize) -> bool {
        self.closure.gap(a, b).is_some()
    }

    /// The least distance from the start of `first` to that of `second`, if the two never overlap and `first` is first.
    pub fn gap(&self, first: usize, second: usize) -> Option<Ticks> {
        self.closure.gap(first, second)
    }

    /// The value of starts: the sum that is minimised.
    pub fn value(&self, starts: &[Ticks]) -> i64 {
        self.weights.iter().map(|&(activity, weight)| weight * i64::from(starts[activity])).sum()
    }
}
