//! What is in use of one resource over time, as a list of changes.

use alloc::vec::Vec;

use crate::problem::Ticks;

/// Usage of one resource: from each listed tick on, until the next one, that much is in use.
#[derive(Clone, Debug)]
pub(crate) struct Profile {
    changes: Vec<(Ticks, i32)>,
}

impl Profile {
    pub(crate) fn new() -> Profile {
        Profile {
            changes: Vec::from([(Ticks::MIN, 0)]),
        }
    }

    pub(crate) fn clear(&mut self) {
        self.changes.truncate(1);
    }

    fn at(&self, tick: Ticks) -> usize {
        self.changes.partition_point(|change| change.0 <= tick) - 1
    }

    /// The first tick from `from` on at which no more than `most` is in use for `duration` ticks.
    pub(crate) fn first_fit(&self, from: Ticks, duration: Ticks, most: i32) -> Ticks {
        let mut start = from;
        let mut index = self.at(from);
        loop {
            // the last change always leaves nothing in use, so a fit is found before the list ends
            if self.changes[index].1 > most {
                index += 1;
                start = self.changes[index].0;
                continue;
            }
            match self.changes.get(index + 1) {
                Some(next) if next.0 < start + duration => index += 1,
                Some(_) | None => return start,
            }
        }
    }

    /// Changes the usage by `amount` from `start` until `end`.
    pub(crate) fn change(&mut self, start: Ticks, end: Ticks, amount: i32) {
        let mut index = self.at(start);
        if self.changes[index].0 != start {
            index += 1;
            self.changes
                .insert(index, (start, self.changes[index - 1].1));
        }
        loop {
            match self.changes.get(index + 1) {
                Some(next) if next.0 < end => {
                    self.changes[index].1 += amount;
                    index += 1;
                }
                Some(next) if next.0 == end => {
                    self.changes[index].1 += amount;
                    return;
                }
                Some(_) | None => {
                    let usage = self.changes[index].1;
                    self.changes[index].1 += amount;
                    self.changes.insert(index + 1, (end, usage));
                    return;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_fit_lies_in_the_first_gap_that_is_long_enough() {
        let mut profile = Profile::new();
        profile.change(2, 5, 2);
        profile.change(7, 9, 1);
        profile.change(4, 8, 1);
        assert_eq!(profile.first_fit(0, 2, 0), 0);
        assert_eq!(profile.first_fit(0, 3, 0), 9);
        assert_eq!(profile.first_fit(0, 3, 1), 8);
        assert_eq!(profile.first_fit(3, 1, 1), 5);
        profile.change(4, 8, -1);
        assert_eq!(profile.first_fit(3, 2, 0), 5);
        profile.clear();
        assert_eq!(profile.first_fit(3, 50, 0), 3);
    }
}
