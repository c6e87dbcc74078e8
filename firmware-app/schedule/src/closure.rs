//! All longest lags between activities, and the orders that follow when two can never overlap.

use alloc::vec;
use alloc::vec::Vec;

use crate::draft::{Draft, ProblemError};
use crate::problem::{Lag, Tag, Ticks};

/// Stands for "no lag"; two of them add up without leaving 32 bits.
pub(crate) const NO_LAG: Ticks = -(1 << 29);
const NO_GAP: Ticks = -1;

/// The table of longest lags. The origin of the plan is its last row and column.
#[derive(Clone, Debug)]
pub(crate) struct Closure {
    size: usize,
    lags: Vec<Ticks>,
    gaps: Vec<Ticks>,
    /// Orders without a choice that no given lag states.
    pub(crate) derived: Vec<Lag>,
    /// Whether those orders need more time than there is.
    pub(crate) contradiction: bool,
}

impl Closure {
    /// Works out the table, or the ring of demands that makes it impossible.
    pub(crate) fn of(draft: &Draft) -> Result<Closure, ProblemError> {
        let arcs = arcs_of(draft);
        let count = draft.durations.len();
        if let Some(ring) = find_ring(&arcs, count + 1) {
            return Err(ring);
        }
        let size = count + 1;
        let mut lags = vec![NO_LAG; size * size];
        for node in 0..size {
            lags[node * size + node] = 0;
        }
        for arc in &arcs {
            let cell = &mut lags[arc.from * size + arc.to];
            *cell = (*cell).max(arc.lag);
        }
        longest(&mut lags, size);
        let mut closure = Closure { size, lags, gaps: gaps_of(draft), derived: Vec::new(), contradiction: false };
        closure.order_what_has_no_choice();
        Ok(closure)
    }

    pub(crate) fn raw(&self, from: usize, to: usize) -> Ticks {
        self.lags[from * self.size + to]
    }

    pub(crate) fn get(&self, from: usize, to: usize) -> Option<Ticks> {
        let lag = self.raw(from, to);
        (lag > NO_LAG / 2).then_some(lag)
    }

    pub(crate) fn earliest(&self, activity: usize) -> Ticks {
        self.raw(self.size - 1, activity).max(0)
    }

    pub(crate) fn latest(&self, activity: usize) -> Option<Ticks> {
        self.get(activity, self.size - 1).map(|lag| -lag)
    }

    pub(crate) fn gap(&self, first: usize, second: usize) -> Option<Ticks> {
        let gap = self.gaps[first * (self.size - 1) + second];
        (gap != NO_GAP).then_some(gap)
    }

    /// Where only one order of a pair is left, that order becomes a lag; repeats until nothing follows.
    fn order_what_has_no_choice(&mut self) {
        let count = self.size - 1;
        let mut open: Vec<(usize, usize)> = (0..count)
            .flat_map(|a| (a + 1..count).map(move |b| (a, b)))
            .filter(|&(a, b)| self.gap(a, b).is_some())
            .collect();
        loop {
            let before = open.len();
            let mut left = Vec::with_capacity(before);
            for &(a, b) in &open {
                let gap_ab = self.gaps[a * count + b];
                let gap_ba = self.gaps[b * count + a];
                let b_cannot_lead = self.raw(a, b) > -gap_ba;
                let a_cannot_lead = self.raw(b, a) > -gap_ab;
                let (from, to, lag) = match (a_cannot_lead, b_cannot_lead) {
                    (false, false) => {
                        left.push((a, b));
                        continue;
                    }
                    (true, true) => {
                        self.contradiction = true;
                        return;
                    }
                    (false, true) => (a, b, gap_ab),
                    (true, false) => (b, a, gap_ba),
                };
                if self.raw(from, to) < lag {
                    self.derived.push(Lag { from, to, lag });
                    if !self.add(from, to, lag) {
                        self.contradiction = true;
                        return;
                    }
                }
            }
            if left.len() == before {
                return;
            }
            open = left;
        }
    }

    /// Adds one lag and all that follows from it; false if it closes a ring.
    fn add(&mut self, from: usize, to: usize, lag: Ticks) -> bool {
        if self.raw(to, from) + lag > 0 {
            return false;
        }
        let size = self.size;
        let row: Vec<Ticks> = self.lags[to * size..(to + 1) * size].to_vec();
        for node in 0..size {
            let through = self.raw(node, from);
            if through <= NO_LAG / 2 {
                continue;
            }
            let cells = &mut self.lags[node * size..(node + 1) * size];
            for (cell, &rest) in cells.iter_mut().zip(&row) {
                *cell = (*cell).max((through + lag + rest).max(NO_LAG));
            }
        }
        true
    }
}

struct Arc {
    from: usize,
    to: usize,
    lag: Ticks,
    tag: Option<Tag>,
}

/// Lags and windows as arcs; the origin has the index after the last activity.
fn arcs_of(draft: &Draft) -> Vec<Arc> {
    let origin = draft.durations.len();
    let given = draft.lags.iter().enumerate().map(|(index, lag)| Arc {
        from: lag.from,
        to: lag.to,
        lag: lag.lag,
        tag: Some(Tag::Lag(index)),
    });
    let windows = draft.windows.iter().enumerate();
    let earliest = windows.clone().map(|(activity, window)| Arc {
        from: origin,
        to: activity,
        lag: window.earliest,
        tag: (window.earliest > 0).then_some(Tag::Earliest(activity)),
    });
    let latest = windows.filter_map(|(activity, window)| {
        window.latest.map(|latest| Arc { from: activity, to: origin, lag: -latest, tag: Some(Tag::Latest(activity)) })
    });
    given.chain(earliest).chain(latest).collect()
}

/// Relaxes all arcs until nothing moves; if something still moves after that many rounds, there is a ring.
fn find_ring(arcs: &[Arc], size: usize) -> Option<ProblemError> {
    let mut time = vec![0i64; size];
    let mut cause: Vec<Option<usize>> = vec![None; size];
    let mut moved = None;
    for _ in 0..=size {
        moved = None;
        for (index, arc) in arcs.iter().enumerate() {
            let reached = time[arc.from] + i64::from(arc.lag);
            if reached > time[arc.to] {
                time[arc.to] = reached;
                cause[arc.to] = Some(index);
                moved = Some(arc.to);
            }
        }
        moved?;
    }
    // as many steps back as there are nodes lead into the ring itself
    let mut node = moved?;
    for _ in 0..size {
        node = arcs[cause[node]?].from;
    }
    let (mut activities, mut tags) = (Vec::new(), Vec::new());
    let mut excess = 0;
    let entry = node;
    loop {
        let arc = &arcs[cause[node]?];
        excess += arc.lag;
        tags.extend(arc.tag);
        if arc.to < size - 1 {
            activities.push(arc.to);
        }
        node = arc.from;
        if node == entry {
            break;
        }
    }
    activities.reverse();
    tags.reverse();
    Some(ProblemError::Ring { activities, tags, excess })
}

fn longest(lags: &mut [Ticks], size: usize) {
    let mut row = vec![NO_LAG; size];
    for middle in 0..size {
        row.copy_from_slice(&lags[middle * size..(middle + 1) * size]);
        for from in 0..size {
            let through = lags[from * size + middle];
            if through <= NO_LAG / 2 {
                continue;
            }
            let cells = &mut lags[from * size..(from + 1) * size];
            for (cell, &rest) in cells.iter_mut().zip(&row) {
                *cell = (*cell).max((through + rest).max(NO_LAG));
            }
        }
    }
}

/// For each ordered pair that never overlaps, the least distance of starts if the first is first.
fn gaps_of(draft: &Draft) -> Vec<Ticks> {
    let count = draft.durations.len();
    let mut gaps = vec![NO_GAP; count * count];
    let mut users: Vec<Vec<(usize, i32)>> = vec![Vec::new(); draft.capacities.len()];
    for (activity, demands) in draft.demands.iter().enumerate() {
        if draft.durations[activity] > 0 {
            for &(resource, amount) in demands {
                users[resource].push((activity, amount));
            }
        }
    }
    for (resource, users) in users.iter().enumerate() {
        let capacity = i64::from(draft.capacities[resource]);
        for (index, &(a, amount_a)) in users.iter().enumerate() {
            for &(b, amount_b) in &users[index + 1..] {
                if i64::from(amount_a) + i64::from(amount_b) > capacity {
                    gaps[a * count + b] = draft.durations[a];
                    gaps[b * count + a] = draft.durations[b];
                }
            }
        }
    }
    for pair in &draft.incompatible {
        let (a, b) = (pair.first, pair.second);
        let ab = &mut gaps[a * count + b];
        *ab = (*ab).max(draft.durations[a] + pair.setup_first);
        let ba = &mut gaps[b * count + a];
        *ba = (*ba).max(draft.durations[b] + pair.setup_second);
    }
    gaps
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::problem::Incompatible;

    #[test]
    fn lags_add_up_along_the_longest_way() {
        let mut draft = Draft::new();
        let (a, b, c) = (draft.activity(2), draft.activity(3), draft.activity(1));
        draft.lag(a, b, 2);
        draft.lag(b, c, 3);
        draft.lag(a, c, 4);
        draft.lag(c, a, -9);
        let problem = draft.build().unwrap();
        assert_eq!(problem.longest_lag(a, c), Some(5));
        assert_eq!(problem.longest_lag(c, b), Some(-7));
        assert_eq!(problem.earliest(c), 5);
        assert_eq!(problem.latest(c), None);
    }

    #[test]
    fn a_ring_names_its_activities_and_by_how_much_it_is_too_tight() {
        let mut draft = Draft::new();
        let (a, b, c) = (draft.activity(2), draft.activity(3), draft.activity(1));
        draft.lag(a, b, 6);
        draft.lag(b, c, 3);
        draft.lag(c, a, -7);
        match draft.build() {
            Err(ProblemError::Ring { activities, tags, excess }) => {
                let mut sorted = activities;
                sorted.sort_unstable();
                assert_eq!(sorted, [a, b, c]);
                assert_eq!(tags.len(), 3);
                assert_eq!(excess, 2);
            }
            other => panic!("expected a ring, found {other:?}"),
        }
    }

    #[test]
    fn a_window_that_a_chain_cannot_meet_is_a_ring_through_the_origin() {
        let mut draft = Draft::new();
        let (a, b) = (draft.activity(2), draft.activity(3));
        draft.lag(a, b, 6);
        draft.not_before(a, 4);
        draft.not_after(b, 9);
        match draft.build() {
            Err(ProblemError::Ring { activities, tags, excess }) => {
                assert_eq!(activities, [a, b]);
                assert_eq!(tags, [Tag::Earliest(a), Tag::Lag(0), Tag::Latest(b)]);
                assert_eq!(excess, 1);
            }
            other => panic!("expected a ring, found {other:?}"),
        }
    }

    #[test]
    fn a_pair_with_one_order_left_is_ordered() {
        let mut draft = Draft::new();
        let (a, b) = (draft.activity(5), draft.activity(5));
        draft.incompatible(Incompatible { first: a, second: b, setup_first: 2, setup_second: 0 });
        draft.lag(a, b, -4);
        let problem = draft.build().unwrap();
        assert_eq!(problem.longest_lag(a, b), Some(7));
        assert_eq!(problem.earliest(b), 7);
        draft.not_after(b, 6);
        assert!(draft.build().unwrap().contradicts_itself());
    }
}
