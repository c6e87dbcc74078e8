//! What is left of the resources over time: a list of changes, with several resources side by side in one word.

use alloc::vec::Vec;

use crate::problem::Ticks;

/// Amounts of several resources, each in a lane of its own; the highest bit of a lane stands guard.
pub(crate) type Lanes = u128;

/// How resources are laid into lanes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Layout {
    /// Bits of a lane.
    width: u32,
    /// The guards of all lanes.
    guards: Lanes,
    /// For each profile, all that there is of its resources, and the guards.
    whole: Vec<Lanes>,
}

impl Layout {
    /// Lays out resources of these capacities; wide lanes only where a capacity asks for them.
    pub(crate) fn of(capacities: &[i32]) -> Layout {
        let width = if capacities.iter().all(|&capacity| capacity < 1 << 15) { 16 } else { 32 };
        let count = (Lanes::BITS / width) as usize;
        let guards = (0..count).fold(0, |guards, lane| guards | 1 << (width * (lane as u32 + 1) - 1));
        let mut layout = Layout { width, guards, whole: Vec::new() };
        layout.whole = capacities.chunks(count).map(|_| guards).collect();
        for (resource, &capacity) in capacities.iter().enumerate() {
            let (profile, amount) = layout.place(resource, capacity);
            layout.whole[profile] += amount;
        }
        layout
    }

    /// The profile of a resource, and an amount of it in its lane.
    pub(crate) fn place(&self, resource: usize, amount: i32) -> (usize, Lanes) {
        let count = (Lanes::BITS / self.width) as usize;
        let lane = (resource % count) as u32;
        (resource / count, (amount as Lanes) << (lane * self.width))
    }

    /// Empty profiles for all resources.
    pub(crate) fn profiles(&self) -> Vec<Profile> {
        self.whole.iter().map(|&whole| Profile::new(whole, self.guards)).collect()
    }
}

/// What is left of some resources: from each listed tick on, until the next one, that much.
#[derive(Clone, Debug)]
pub(crate) struct Profile {
    ticks: Vec<Ticks>,
    left: Vec<Lanes>,
    guards: Lanes,
}

impl Profile {
    fn new(whole: Lanes, guards: Lanes) -> Profile {
        Profile { ticks: Vec::from([Ticks::MIN]), left: Vec::from([whole]), guards }
    }

    pub(crate) fn clear(&mut self) {
        self.ticks.truncate(1);
        self.left.truncate(1);
    }

    fn at(&self, tick: Ticks) -> usize {
        self.ticks.partition_point(|&change| change <= tick) - 1
    }

    /// Whether what is left from a change on holds the amounts: a lane that falls short borrows from its guard.
    fn holds(&self, index: usize, amounts: Lanes) -> bool {
        (self.left[index] - amounts) & self.guards == self.guards
    }

    /// The first tick from `from` on at which the amounts are left for `duration` ticks.
    pub(crate) fn first_fit(&self, from: Ticks, duration: Ticks, amounts: Lanes) -> Ticks {
        let mut start = from;
        let mut index = self.at(from);
        loop {
            // from the last change on everything is left, so a fit is found before the list ends
            while !self.holds(index, amounts) {
                index += 1;
                start = self.ticks[index];
            }
            let end = start + duration;
            loop {
                match self.ticks.get(index + 1) {
                    Some(&next) if next < end => index += 1,
                    Some(_) | None => return start,
                }
                if !self.holds(index, amounts) {
                    break;
                }
            }
        }
    }

    /// Takes the amounts from `start` until `end`.
    pub(crate) fn take(&mut self, start: Ticks, end: Ticks, amounts: Lanes) {
        let (first, last) = self.cut(start, end);
        for left in &mut self.left[first..last] {
            *left -= amounts;
        }
    }

    /// Gives back what was taken from `start` until `end`.
    pub(crate) fn give(&mut self, start: Ticks, end: Ticks, amounts: Lanes) {
        let (first, last) = self.cut(start, end);
        for left in &mut self.left[first..last] {
            *left += amounts;
        }
    }

    /// Makes changes of both ticks, and gives their places.
    fn cut(&mut self, start: Ticks, end: Ticks) -> (usize, usize) {
        let mut first = self.at(start);
        if self.ticks[first] != start {
            first += 1;
            self.ticks.insert(first, start);
            self.left.insert(first, self.left[first - 1]);
        }
        let mut last = first + 1;
        while self.ticks.get(last).is_some_and(|&tick| tick < end) {
            last += 1;
        }
        if self.ticks.get(last) != Some(&end) {
            self.ticks.insert(last, end);
            self.left.insert(last, self.left[last - 1]);
        }
        (first, last)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::Chance;
    use alloc::vec;

    #[test]
    fn the_first_fit_lies_in_the_first_gap_that_is_long_enough() {
        let layout = Layout::of(&[9, 2]);
        let mut profile = layout.profiles().remove(0);
        let one = |amount| layout.place(1, amount).1;
        profile.take(2, 5, one(2));
        profile.take(7, 9, one(1));
        profile.take(4, 8, one(0));
        assert_eq!(profile.first_fit(0, 2, one(2)), 0);
        assert_eq!(profile.first_fit(0, 3, one(2)), 9);
        assert_eq!(profile.first_fit(0, 3, one(1)), 5);
        assert_eq!(profile.first_fit(0, 3, one(0)), 0);
        assert_eq!(profile.first_fit(0, 9, layout.place(0, 9).1), 0);
        profile.give(2, 5, one(2));
        assert_eq!(profile.first_fit(3, 4, one(2)), 3);
        profile.clear();
        assert_eq!(profile.first_fit(3, 50, one(2)), 3);
    }

    /// Resources beyond one word and capacities beyond a narrow lane, against a table tick by tick.
    #[test]
    fn fits_are_those_of_a_plain_table() {
        for scale in [1, 40_000] {
            let capacities: Vec<i32> = (1..12).map(|capacity| capacity * scale).collect();
            let layout = Layout::of(&capacities);
            let mut profiles = layout.profiles();
            let mut chance = Chance::new(7);
            let mut used = vec![[0i32; 11]; 400];
            for _ in 0..120 {
                let resource = chance.below(11);
                let amount = 1 + chance.below(capacities[resource] as usize) as i32;
                let duration = 1 + chance.below(9) as i32;
                let from = chance.below(40) as i32;
                let (profile, amounts) = layout.place(resource, amount);
                let found = profiles[profile].first_fit(from, duration, amounts);
                let fits = |start: i32| {
                    let span = start as usize..(start + duration) as usize;
                    used[span].iter().all(|used| used[resource] + amount <= capacities[resource])
                };
                assert_eq!(Some(found), (from..390).find(|&start| fits(start)), "scale {scale}");
                if chance.below(3) > 0 {
                    profiles[profile].take(found, found + duration, amounts);
                    for used in &mut used[found as usize..(found + duration) as usize] {
                        used[resource] += amount;
                    }
                }
            }
        }
    }
}
