//! Moves within a list that keep every activity behind what must stand before it.

use alloc::vec::Vec;

use crate::model::Model;

/// Moves the activity at `from` forward to `to`, and with it what must stand before it.
pub(crate) fn pull(model: &Model, order: &mut [u16], from: usize, to: usize, kept: &mut Vec<u16>) {
    let moved = usize::from(order[from]);
    kept.clear();
    let mut write = to;
    for read in to..from {
        let other = order[read];
        if model.stands_before(usize::from(other), moved) {
            order[write] = other;
            write += 1;
        } else {
            kept.push(other);
        }
    }
    order[write] = moved as u16;
    order[write + 1..=from].copy_from_slice(kept);
}

/// Moves the activity at `from` back to `to`, and with it what must stand behind it.
pub(crate) fn push(model: &Model, order: &mut [u16], from: usize, to: usize, kept: &mut Vec<u16>) {
    let moved = usize::from(order[from]);
    kept.clear();
    let mut write = to;
    for read in (from + 1..=to).rev() {
        let other = order[read];
        if model.stands_before(moved, usize::from(other)) {
            order[write] = other;
            write -= 1;
        } else {
            kept.push(other);
        }
    }
    order[write] = moved as u16;
    for (cell, &other) in order[from..write].iter_mut().zip(kept.iter().rev()) {
        *cell = other;
    }
}

/// Sorts by a key and repairs, so that everything stands behind what must stand before it.
pub(crate) fn by_key<K: PartialOrd + Copy>(model: &Model, key: impl Fn(usize) -> K) -> Vec<u16> {
    let mut missing: Vec<usize> =
        (0..model.count).map(|i| (0..model.count).filter(|&j| model.stands_before(j, i)).count()).collect();
    let mut order = Vec::with_capacity(model.count);
    let mut ready: Vec<usize> = (0..model.count).filter(|&i| missing[i] == 0).collect();
    while !ready.is_empty() {
        let mut at = 0;
        for candidate in 1..ready.len() {
            if key(ready[candidate]) < key(ready[at]) {
                at = candidate;
            }
        }
        let next = ready.remove(at);
        order.push(next as u16);
        for (other, missing) in missing.iter_mut().enumerate() {
            if model.stands_before(next, other) {
                *missing -= 1;
                if *missing == 0 {
                    ready.push(other);
                }
            }
        }
    }
    order
}

/// Puts back what sorting by time may have put before something it must stand behind, at the same tick.
pub(crate) fn repair(model: &Model, order: &mut [u16]) {
    for at in 1..order.len() {
        let mut place = at;
        while place > 0 && model.stands_before(usize::from(order[place]), usize::from(order[place - 1])) {
            order.swap(place, place - 1);
            place -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::chance::Chance;
    use crate::draft::Draft;

    #[test]
    fn moved_lists_keep_their_order_and_lose_nobody() {
        let mut draft = Draft::new();
        for _ in 0..12 {
            draft.activity(1);
        }
        for (i, j) in [(0, 3), (3, 6), (1, 4), (4, 6), (6, 9), (2, 5), (5, 11), (9, 11)] {
            draft.lag(i, j, 1);
        }
        let model = Model::of(&draft.build().unwrap());
        let mut order = by_key(&model, |i| i);
        let mut chance = Chance::new(3);
        let mut kept = Vec::new();
        for _ in 0..2000 {
            let (a, b) = (chance.below(12), chance.below(12));
            if a < b {
                push(&model, &mut order, a, b, &mut kept);
            } else {
                pull(&model, &mut order, a, b, &mut kept);
            }
            let mut sorted = order.clone();
            sorted.sort_unstable();
            assert!(sorted.iter().enumerate().all(|(i, &x)| usize::from(x) == i));
            for i in 0..12 {
                for j in i + 1..12 {
                    assert!(!model.stands_before(usize::from(order[j]), usize::from(order[i])));
                }
            }
        }
    }
}
