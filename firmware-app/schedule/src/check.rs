//! Judges a schedule without a look at how it was made.

use alloc::vec::Vec;

use thiserror::Error;

use crate::problem::{Problem, Ticks};

/// A start for every activity of a problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Schedule {
    /// The starts, by the index of the activity.
    pub starts: Vec<Ticks>,
}

/// The first demand of a problem that a schedule breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum Violation {
    /// Too few or too many starts.
    #[error("expected {expected} starts, found {found}")]
    Size {
        /// The number of activities.
        expected: usize,
        /// The number of starts.
        found: usize,
    },
    /// A start outside its window.
    #[error("activity {activity} starts at {found}, outside its window from {earliest} to {latest:?}")]
    Window {
        /// The activity.
        activity: usize,
        /// Its start.
        found: Ticks,
        /// The earliest start allowed.
        earliest: Ticks,
        /// The latest start allowed.
        latest: Option<Ticks>,
    },
    /// A start too close behind another one, or too far from it where the lag is negative.
    #[error("lag {lag}: expected {expected} ticks or more from one start to the other, found {found}")]
    Lag {
        /// The index of the lag.
        lag: usize,
        /// The least difference of the two starts.
        expected: Ticks,
        /// Their difference.
        found: i64,
    },
    /// Two incompatible activities too close.
    #[error("incompatible pair {pair}: activities {first} and {second} overlap or lack their set-up")]
    Incompatible {
        /// The index of the pair.
        pair: usize,
        /// One activity.
        first: usize,
        /// The other activity.
        second: usize,
    },
    /// More in use than there is.
    #[error("resource {resource}: {found} in use at tick {at}, capacity {capacity}")]
    Overload {
        /// The resource.
        resource: usize,
        /// The first such tick.
        at: Ticks,
        /// What is in use.
        found: i64,
        /// What there is.
        capacity: i32,
    },
}

/// Checks every demand of a problem by sweeping over starts and ends, and gives the value of the schedule.
pub fn check(problem: &Problem, schedule: &Schedule) -> Result<i64, Violation> {
    let starts = &schedule.starts;
    if starts.len() != problem.len() {
        return Err(Violation::Size { expected: problem.len(), found: starts.len() });
    }
    for (activity, &found) in starts.iter().enumerate() {
        let window = problem.window(activity);
        if found < window.earliest || window.latest.is_some_and(|latest| found > latest) {
            return Err(Violation::Window { activity, found, earliest: window.earliest, latest: window.latest });
        }
    }
    for (index, lag) in problem.lags().iter().enumerate() {
        let found = i64::from(starts[lag.to]) - i64::from(starts[lag.from]);
        if found < i64::from(lag.lag) {
            return Err(Violation::Lag { lag: index, expected: lag.lag, found });
        }
    }
    for (index, pair) in problem.incompatible().iter().enumerate() {
        let (first, second) = (pair.first, pair.second);
        let end = |activity: usize| starts[activity] + problem.duration(activity);
        let in_order = end(first) + pair.setup_first <= starts[second];
        let other_way = end(second) + pair.setup_second <= starts[first];
        if !in_order && !other_way {
            return Err(Violation::Incompatible { pair: index, first, second });
        }
    }
    for (resource, &capacity) in problem.capacities().iter().enumerate() {
        sweep(problem, starts, resource, capacity)?;
    }
    Ok(problem.value(starts))
}

/// Walks over the starts and ends of one resource; at the same tick what ends goes before what starts.
fn sweep(problem: &Problem, starts: &[Ticks], resource: usize, capacity: i32) -> Result<(), Violation> {
    let mut events: Vec<(Ticks, i64)> = Vec::new();
    for (activity, &start) in starts.iter().enumerate() {
        let duration = problem.duration(activity);
        for &(needed, amount) in problem.demands(activity) {
            if needed == resource && duration > 0 && amount > 0 {
                events.push((start, i64::from(amount)));
                events.push((start + duration, -i64::from(amount)));
            }
        }
    }
    events.sort_unstable();
    let mut found = 0i64;
    for &(at, change) in &events {
        found += change;
        if found > i64::from(capacity) {
            return Err(Violation::Overload { resource, at, found, capacity });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::draft::Draft;
    use crate::problem::Incompatible;

    /// Two pans of 4 and 3 ticks on one burner, then a plate; the plate waits at most 2 ticks after the second pan.
    fn two_pans() -> Problem {
        let mut draft = Draft::new();
        let burner = draft.resource(1);
        let (a, b) = (draft.activity(4), draft.activity(3));
        let plate = draft.activity(0);
        draft.needs(a, burner, 1);
        draft.needs(b, burner, 1);
        draft.lag(a, plate, 4);
        draft.lag(b, plate, 3);
        draft.lag(plate, b, -5);
        draft.build().unwrap()
    }

    fn judged(problem: &Problem, starts: &[Ticks]) -> Result<i64, Violation> {
        check(problem, &Schedule { starts: starts.to_vec() })
    }

    #[test]
    fn a_schedule_that_keeps_everything_has_its_value() {
        assert_eq!(judged(&two_pans(), &[0, 4, 7]), Ok(7));
        assert_eq!(judged(&two_pans(), &[3, 0, 7]), Err(Violation::Lag { lag: 2, expected: -5, found: -7 }));
    }

    #[test]
    fn each_broken_demand_is_named() {
        let problem = two_pans();
        assert_eq!(judged(&problem, &[0, 4]), Err(Violation::Size { expected: 3, found: 2 }));
        assert_eq!(
            judged(&problem, &[0, 3, 7]),
            Err(Violation::Overload { resource: 0, at: 3, found: 2, capacity: 1 })
        );
        assert_eq!(judged(&problem, &[0, 4, 6]), Err(Violation::Lag { lag: 1, expected: 3, found: 2 }));
        assert_eq!(
            judged(&problem, &[-1, 4, 7]),
            Err(Violation::Window { activity: 0, found: -1, earliest: 0, latest: None })
        );
    }

    #[test]
    fn a_set_up_counts_in_the_order_it_was_given_for() {
        let mut draft = Draft::new();
        let (a, b) = (draft.activity(2), draft.activity(2));
        draft.incompatible(Incompatible { first: a, second: b, setup_first: 3, setup_second: 1 });
        let problem = draft.build().unwrap();
        assert_eq!(judged(&problem, &[0, 5]), Ok(5));
        assert!(judged(&problem, &[0, 4]).is_err());
        assert_eq!(judged(&problem, &[3, 0]), Ok(0));
        assert!(judged(&problem, &[2, 0]).is_err());
    }

    #[test]
    fn what_ends_makes_room_for_what_starts_at_the_same_tick() {
        let mut draft = Draft::new();
        let oven = draft.resource(2);
        for _ in 0..2 {
            let tray = draft.activity(5);
            draft.needs(tray, oven, 2);
        }
        let problem = draft.build().unwrap();
        assert_eq!(judged(&problem, &[0, 5]), Ok(5));
        assert_eq!(judged(&problem, &[5, 0]), Ok(0));
        assert!(judged(&problem, &[0, 4]).is_err());
        draft.fix(0, 5);
        let fixed = draft.build().unwrap();
        assert!(judged(&fixed, &[0, 5]).is_err());
        assert_eq!(judged(&fixed, &[5, 0]), Ok(0));
        assert_eq!(judged(&fixed, &[5, 10]), Ok(10));
    }
}
