//! A planning problem in the making, and everything that can be wrong with it.

use alloc::vec::Vec;

use thiserror::Error;

use crate::closure::Closure;
use crate::problem::{Incompatible, Lag, Problem, Tag, Ticks, Window};

/// The largest sum of durations, lags and set-ups; leaves room for sums of two in 32 bits.
pub(crate) const LONGEST_PLAN: i64 = 1 << 27;
/// The most activities of one problem: the table of all longest lags grows with the square.
pub(crate) const MOST_ACTIVITIES: usize = 1000;

/// Why a draft is not a problem that can be planned. Indices are those under which things were added.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ProblemError {
    /// Nothing to plan.
    #[error("expected at least one activity, found none")]
    Empty,
    /// More activities than the tables are made for.
    #[error("expected at most {MOST_ACTIVITIES} activities, found {found}: plan in parts")]
    TooManyActivities {
        /// How many there are.
        found: usize,
    },
    /// An index that no activity has.
    #[error("{place} names activity {activity}, but there are {count} (0 to one less)")]
    UnknownActivity {
        /// Where the index stands.
        place: Place,
        /// The index.
        activity: usize,
        /// How many activities there are.
        count: usize,
    },
    /// An index that no resource has.
    #[error("activity {activity} needs resource {resource}, but there are {count} (0 to one less)")]
    UnknownResource {
        /// The activity that needs it.
        activity: usize,
        /// The index.
        resource: usize,
        /// How many resources there are.
        count: usize,
    },
    /// A duration below zero.
    #[error("activity {activity} lasts {found} ticks, expected zero or more")]
    NegativeDuration {
        /// The activity.
        activity: usize,
        /// Its duration.
        found: Ticks,
    },
    /// A need or a capacity below zero.
    #[error("activity {activity} needs {found} of resource {resource}, expected zero or more")]
    NegativeDemand {
        /// The activity.
        activity: usize,
        /// The resource.
        resource: usize,
        /// What it needs.
        found: i32,
    },
    /// A resource with less than nothing.
    #[error("resource {resource} has a capacity of {found}, expected zero or more")]
    NegativeCapacity {
        /// The resource.
        resource: usize,
        /// Its capacity.
        found: i32,
    },
    /// More than there is at any time.
    #[error(
        "activity {activity} needs {found} of resource {resource}, which has {capacity}: raise the capacity or split the activity"
    )]
    AboveCapacity {
        /// The activity.
        activity: usize,
        /// The resource.
        resource: usize,
        /// What it needs.
        found: i32,
        /// What there is.
        capacity: i32,
    },
    /// An activity that would be kept from overlapping with itself.
    #[error("incompatible pair {pair} names activity {activity} twice")]
    PairOfOne {
        /// The pair.
        pair: usize,
        /// The activity.
        activity: usize,
    },
    /// A set-up below zero.
    #[error("incompatible pair {pair} has a set-up of {found} ticks, expected zero or more")]
    NegativeSetup {
        /// The pair.
        pair: usize,
        /// The set-up.
        found: Ticks,
    },
    /// A weight below zero: later would be better.
    #[error("activity {activity} weighs {found}, expected zero or more: reverse time if late is good")]
    NegativeWeight {
        /// The activity.
        activity: usize,
        /// Its weight.
        found: i64,
    },
    /// Numbers that would not fit.
    #[error(
        "durations, lags, windows and set-ups add up to {found} ticks, expected at most {LONGEST_PLAN}: use a coarser grid"
    )]
    TooLong {
        /// The sum.
        found: i64,
    },
    /// Demands that chase each other's starts: the plan cannot exist whatever the resources.
    #[error(
        "activities {activities:?} wait for each other in a ring that asks for {excess} ticks more than it leaves: shorten a lag or widen a longest wait"
    )]
    Ring {
        /// The activities of the ring in order; the origin of the plan is left out.
        activities: Vec<usize>,
        /// The lags and windows of the ring.
        tags: Vec<Tag>,
        /// By how many ticks the ring is too tight.
        excess: Ticks,
    },
}

/// Where in a draft an index stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In the lag of this index.
    Lag(usize),
    /// In the incompatible pair of this index.
    Incompatible(usize),
    /// In a weight.
    Weight,
    /// In a window.
    Window,
}

impl core::fmt::Display for Place {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Place::Lag(index) => write!(f, "lag {index}"),
            Place::Incompatible(index) => write!(f, "incompatible pair {index}"),
            Place::Weight => write!(f, "a weight"),
            Place::Window => write!(f, "a window"),
        }
    }
}

/// Collects a planning problem; nothing is judged before [`Draft::build`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft {
    pub(crate) durations: Vec<Ticks>,
    pub(crate) demands: Vec<Vec<(usize, i32)>>,
    pub(crate) windows: Vec<Window>,
    pub(crate) capacities: Vec<i32>,
    pub(crate) lags: Vec<Lag>,
    pub(crate) incompatible: Vec<Incompatible>,
    pub(crate) weights: Vec<(usize, i64)>,
    stray_windows: Vec<usize>,
}

impl Draft {
    /// Makes an empty draft.
    pub fn new() -> Draft {
        Draft::default()
    }

    /// Adds an activity and gives its index; it may start at any tick from zero on.
    pub fn activity(&mut self, duration: Ticks) -> usize {
        self.durations.push(duration);
        self.demands.push(Vec::new());
        self.windows.push(Window { earliest: 0, latest: None });
        self.durations.len() - 1
    }

    /// Adds a resource and gives its index.
    pub fn resource(&mut self, capacity: i32) -> usize {
        self.capacities.push(capacity);
        self.capacities.len() - 1
    }

    /// Lets an activity need an amount of a resource while it runs; needs of one resource add up.
    ///
    /// # Panics
    /// If there is no such activity.
    pub fn needs(&mut self, activity: usize, resource: usize, amount: i32) {
        let demands = &mut self.demands[activity];
        match demands.iter_mut().find(|demand| demand.0 == resource) {
            Some(demand) => demand.1 = demand.1.saturating_add(amount),
            None => demands.push((resource, amount)),
        }
    }

    /// Changes the duration of an activity: something runs late, or was quicker than thought.
    ///
    /// # Panics
    /// If there is no such activity.
    pub fn lasts(&mut self, activity: usize, duration: Ticks) {
        self.durations[activity] = duration;
    }

    /// Demands `S_to >= S_from + lag` and gives the index of the lag; a negative lag is a longest wait.
    pub fn lag(&mut self, from: usize, to: usize, lag: Ticks) -> usize {
        self.lags.push(Lag { from, to, lag });
        self.lags.len() - 1
    }

    /// Keeps two activities from overlapping and gives the index of the pair.
    pub fn incompatible(&mut self, pair: Incompatible) -> usize {
        self.incompatible.push(pair);
        self.incompatible.len() - 1
    }

    /// Lets an activity start no earlier than a tick; a second call replaces the first.
    pub fn not_before(&mut self, activity: usize, earliest: Ticks) {
        match self.windows.get_mut(activity) {
            Some(window) => window.earliest = earliest.max(0),
            None => self.stray_windows.push(activity),
        }
    }

    /// Lets an activity start no later than a tick; a second call replaces the first.
    pub fn not_after(&mut self, activity: usize, latest: Ticks) {
        match self.windows.get_mut(activity) {
            Some(window) => window.latest = Some(latest),
            None => self.stray_windows.push(activity),
        }
    }

    /// Fixes the start of an activity: what has begun is never moved.
    pub fn fix(&mut self, activity: usize, start: Ticks) {
        self.not_before(activity, start);
        self.not_after(activity, start);
    }

    /// Adds the start of an activity to what is minimised; weights of one activity add up.
    pub fn weigh(&mut self, activity: usize, weight: i64) {
        self.weights.push((activity, weight));
    }

    /// Gives the same draft with nothing to minimise: any schedule is as good as any other.
    pub fn unweighted(&self) -> Draft {
        let mut draft = self.clone();
        draft.weights = Vec::from([(0, 0)]);
        draft
    }

    /// Gives the same draft without some of its demands; a capacity that is dropped becomes endless.
    pub fn without(&self, dropped: &[Tag]) -> Draft {
        let mut draft = self.clone();
        let mut lags: Vec<usize> = Vec::new();
        let mut pairs: Vec<usize> = Vec::new();
        for &tag in dropped {
            match tag {
                Tag::Lag(index) => lags.push(index),
                Tag::Incompatible(index) => pairs.push(index),
                Tag::Resource(index) => {
                    for demands in &mut draft.demands {
                        demands.retain(|demand| demand.0 != index);
                    }
                }
                Tag::Earliest(index) => draft.windows[index].earliest = 0,
                Tag::Latest(index) => draft.windows[index].latest = None,
            }
        }
        lags.sort_unstable();
        pairs.sort_unstable();
        let mut index = 0;
        draft.lags.retain(|_| {
            index += 1;
            lags.binary_search(&(index - 1)).is_err()
        });
        let mut index = 0;
        draft.incompatible.retain(|_| {
            index += 1;
            pairs.binary_search(&(index - 1)).is_err()
        });
        draft
    }

    /// All demands that can be dropped one by one: lags, resources, pairs and windows.
    pub fn tags(&self) -> Vec<Tag> {
        let windows = self.windows.iter().enumerate();
        let earliest =
            windows.clone().filter(|(_, window)| window.earliest > 0).map(|(activity, _)| Tag::Earliest(activity));
        let latest = windows.filter(|(_, window)| window.latest.is_some()).map(|(activity, _)| Tag::Latest(activity));
        (0..self.lags.len())
            .map(Tag::Lag)
            .chain((0..self.capacities.len()).map(Tag::Resource))
            .chain((0..self.incompatible.len()).map(Tag::Incompatible))
            .chain(earliest)
            .chain(latest)
            .collect()
    }

    /// Checks the draft and makes the problem of it; the first fault found is told.
    ///
    /// Without a weight the start of the last activity is minimised.
    pub fn build(&self) -> Result<Problem, ProblemError> {
        self.judge()?;
        let mut weights: Vec<(usize, i64)> = Vec::new();
        for &(activity, weight) in &self.weights {
            match weights.iter_mut().find(|known| known.0 == activity) {
                Some(known) => known.1 += weight,
                None => weights.push((activity, weight)),
            }
        }
        weights.retain(|weight| weight.1 > 0);
        weights.sort_unstable();
        if self.weights.is_empty() {
            weights.push((self.durations.len() - 1, 1));
        }
        let closure = Closure::of(self)?;
        Ok(Problem { draft: self.clone(), weights, closure })
    }

    fn judge(&self) -> Result<(), ProblemError> {
        let count = self.durations.len();
        if count == 0 {
            return Err(ProblemError::Empty);
        }
        if count > MOST_ACTIVITIES {
            return Err(ProblemError::TooManyActivities { found: count });
        }
        let known = |place: Place, activity: usize| {
            if activity < count { Ok(()) } else { Err(ProblemError::UnknownActivity { place, activity, count }) }
        };
        if let Some(&activity) = self.stray_windows.first() {
            known(Place::Window, activity)?;
        }
        for (resource, &found) in self.capacities.iter().enumerate() {
            if found < 0 {
                return Err(ProblemError::NegativeCapacity { resource, found });
            }
        }
        let mut sum = 0i64;
        for (activity, &found) in self.durations.iter().enumerate() {
            if found < 0 {
                return Err(ProblemError::NegativeDuration { activity, found });
            }
            sum += i64::from(found);
            self.judge_demands(activity)?;
        }
        for (index, lag) in self.lags.iter().enumerate() {
            known(Place::Lag(index), lag.from)?;
            known(Place::Lag(index), lag.to)?;
            sum += i64::from(lag.lag).abs();
        }
        for (index, pair) in self.incompatible.iter().enumerate() {
            known(Place::Incompatible(index), pair.first)?;
            known(Place::Incompatible(index), pair.second)?;
            if pair.first == pair.second {
                return Err(ProblemError::PairOfOne { pair: index, activity: pair.first });
            }
            for found in [pair.setup_first, pair.setup_second] {
                if found < 0 {
                    return Err(ProblemError::NegativeSetup { pair: index, found });
                }
                sum += i64::from(found);
            }
        }
        for &(activity, found) in &self.weights {
            known(Place::Weight, activity)?;
            if found < 0 {
                return Err(ProblemError::NegativeWeight { activity, found });
            }
        }
        let latest = |window: &Window| window.latest.map_or(0, |latest| i64::from(latest).abs());
        sum += self.windows.iter().map(|window| i64::from(window.earliest).max(latest(window))).max().unwrap_or(0);
        if sum > LONGEST_PLAN {
            return Err(ProblemError::TooLong { found: sum });
        }
        Ok(())
    }

    fn judge_demands(&self, activity: usize) -> Result<(), ProblemError> {
        for &(resource, found) in &self.demands[activity] {
            let Some(&capacity) = self.capacities.get(resource) else {
                return Err(ProblemError::UnknownResource { activity, resource, count: self.capacities.len() });
            };
            if found < 0 {
                return Err(ProblemError::NegativeDemand { activity, resource, found });
            }
            if found > capacity && self.durations[activity] > 0 {
                return Err(ProblemError::AboveCapacity { activity, resource, found, capacity });
            }
        }
        Ok(())
    }
}
