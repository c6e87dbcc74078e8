//! From a list of activities to starts: each takes the first place where it fits; what sits where a longest wait would
//! break is taken out again and put in later.

use alloc::vec;
use alloc::vec::Vec;

use crate::model::Model;
use crate::problem::Ticks;
use crate::profile::Profile;

/// Makes a schedule of a list. Its memory is kept between lists.
#[derive(Clone, Debug)]
pub(crate) struct Decoder {
    profiles: Vec<Profile>,
    /// Earliest start that what is placed leaves to each activity.
    lower: Vec<Ticks>,
    /// Latest start that what is placed leaves to each activity.
    upper: Vec<Ticks>,
    /// Earliest start learned by taking out.
    floor: Vec<Ticks>,
    placed: Vec<bool>,
    /// The starts of the last list that gave a schedule.
    pub(crate) starts: Vec<Ticks>,
    /// How long each activity waited for resources alone.
    pub(crate) waits: Vec<Ticks>,
}

impl Decoder {
    pub(crate) fn new(model: &Model) -> Decoder {
        Decoder {
            profiles: model.layout.profiles(),
            lower: vec![0; model.count],
            upper: vec![0; model.count],
            floor: vec![0; model.count],
            placed: vec![false; model.count],
            starts: vec![0; model.count],
            waits: vec![0; model.count],
        }
    }

    /// Places all activities in the order of the list and gives the value, unless no place is found or the value
    /// would be above `limit`.
    pub(crate) fn decode(&mut self, model: &Model, order: &[u16], limit: i64) -> Option<i64> {
        for profile in &mut self.profiles {
            profile.clear();
        }
        self.lower.copy_from_slice(&model.earliest);
        self.placed.fill(false);
        let done = if model.table.is_some() {
            self.upper.copy_from_slice(&model.latest);
            self.floor.copy_from_slice(&model.earliest);
            self.with_longest_waits(model, order, limit)
        } else {
            self.without_longest_waits(model, order, limit)
        };
        done.then(|| model.value(&self.starts))
    }

    fn without_longest_waits(&mut self, model: &Model, order: &[u16], limit: i64) -> bool {
        let most = match (&model.tails, model.weights.as_slice()) {
            (Some(_), &[(_, weight)]) => limit / weight.max(1),
            _ => i64::MAX,
        };
        for &activity in order {
            let activity = usize::from(activity);
            let lower = self.lower[activity];
            let start = self.first_place(model, activity, lower);
            if let Some(tails) = &model.tails
                && i64::from(start) + i64::from(tails[activity]) > most
            {
                return false;
            }
            self.put(model, activity, start);
            self.waits[activity] = start - lower;
            for &(to, lag) in model.arcs.get(activity) {
                let lower = &mut self.lower[to as usize];
                *lower = (*lower).max(start + lag);
            }
        }
        true
    }

    fn with_longest_waits(&mut self, model: &Model, order: &[u16], limit: i64) -> bool {
        let mut taken_out_left = 4 * model.count + 20;
        let mut at = 0;
        while let Some(&activity) = order.get(at) {
            let activity = usize::from(activity);
            if self.placed[activity] {
                at += 1;
                continue;
            }
            let lower = self.lower[activity];
            let start = self.first_place(model, activity, lower);
            if start <= self.upper[activity] {
                self.put(model, activity, start);
                self.waits[activity] = start - lower;
                self.bind(model, activity, start);
                let sure: i64 =
                    model.weights.iter().map(|&(weighted, weight)| weight * i64::from(self.lower[weighted])).sum();
                if sure > limit {
                    return false;
                }
                at += 1;
                continue;
            }
            if taken_out_left == 0 || !self.take_out(model, activity, start) {
                return false;
            }
            taken_out_left -= 1;
            // what was taken out stands somewhere before
            at = 0;
        }
        true
    }

    /// The first start from `from` on at which resources and incompatible activities leave room.
    fn first_place(&self, model: &Model, activity: usize, from: Ticks) -> Ticks {
        let duration = model.durations[activity];
        let mut start = from;
        loop {
            let before = start;
            for &(profile, amounts) in model.amounts.get(activity) {
                start = self.profiles[profile as usize].first_fit(start, duration, amounts);
            }
            if model.apart.get(activity).is_empty() && model.amounts.get(activity).len() < 2 {
                return start;
            }
            for pair in model.apart.get(activity) {
                let other = pair.other as usize;
                if self.placed[other] {
                    let blocked_from = self.starts[other] - pair.before_other;
                    let free_again = self.starts[other] + pair.after_other;
                    if start > blocked_from && start < free_again {
                        start = free_again;
                    }
                }
            }
            if start == before {
                return start;
            }
        }
    }

    fn put(&mut self, model: &Model, activity: usize, start: Ticks) {
        let end = start + model.durations[activity];
        for &(profile, amounts) in model.amounts.get(activity) {
            self.profiles[profile as usize].take(start, end, amounts);
        }
        self.starts[activity] = start;
        self.placed[activity] = true;
    }

    /// Narrows what is left to all others by one start.
    fn bind(&mut self, model: &Model, activity: usize, start: Ticks) {
        let Some(table) = &model.table else {
            return;
        };
        for &(to, lag) in table.out.get(activity) {
            let lower = &mut self.lower[to as usize];
            *lower = (*lower).max(start + lag);
        }
        for &(from, lag) in table.into.get(activity) {
            let upper = &mut self.upper[from as usize];
            *upper = (*upper).min(start - lag);
        }
    }

    /// Takes out what keeps `activity` from starting at `start`, to be put in again late enough.
    fn take_out(&mut self, model: &Model, activity: usize, start: Ticks) -> bool {
        let Some(table) = &model.table else {
            return false;
        };
        if start > model.latest[activity] {
            return false;
        }
        let row = activity * model.count..(activity + 1) * model.count;
        let needed = &table.from[row];
        self.floor[activity] = self.floor[activity].max(start);
        for (other, &lag) in needed.iter().enumerate() {
            let floor = start + lag;
            if other != activity && floor > self.floor[other] {
                if floor > model.latest[other] {
                    return false;
                }
                self.floor[other] = floor;
            }
        }
        for other in 0..model.count {
            if self.placed[other] && self.starts[other] < self.floor[other] {
                let begin = self.starts[other];
                let end = begin + model.durations[other];
                for &(profile, amounts) in model.amounts.get(other) {
                    self.profiles[profile as usize].give(begin, end, amounts);
                }
                self.placed[other] = false;
            }
        }
        self.lower.copy_from_slice(&self.floor);
        self.upper.copy_from_slice(&model.latest);
        for other in 0..model.count {
            if self.placed[other] {
                self.bind(model, other, self.starts[other]);
            }
        }
        true
    }
}
