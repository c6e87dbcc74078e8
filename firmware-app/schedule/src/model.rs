//! A problem laid out for the search: flat lists, and the table of lags only where longest waits need it.

use alloc::vec;
use alloc::vec::Vec;

use crate::closure::NO_LAG;
use crate::problem::{Problem, Ticks};
use crate::profile::{Lanes, Layout};

/// Lists of lists in one piece.
#[derive(Clone, Debug)]
pub(crate) struct Lists<T> {
    from: Vec<u32>,
    items: Vec<T>,
}

impl<T> Lists<T> {
    pub(crate) fn of(lists: Vec<Vec<T>>) -> Lists<T> {
        let mut from = Vec::with_capacity(lists.len() + 1);
        let mut items = Vec::new();
        from.push(0);
        for list in lists {
            items.extend(list);
            from.push(items.len() as u32);
        }
        Lists { from, items }
    }

    pub(crate) fn get(&self, index: usize) -> &[T] {
        &self.items[self.from[index] as usize..self.from[index + 1] as usize]
    }
}

/// Another activity that never overlaps with this one, apart from shared resources.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Apart {
    pub(crate) other: u32,
    /// Least distance from the start of the other one, if it is first.
    pub(crate) after_other: Ticks,
    /// Least distance to the start of the other one, if this one is first.
    pub(crate) before_other: Ticks,
}

/// All longest lags, for problems with longest waits.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    /// Row by row from each activity to all.
    pub(crate) from: Vec<Ticks>,
    /// What a start leaves to others, and what others leave to it, but for what the activity that leads every list says.
    pub(crate) out: Lists<(u32, Ticks)>,
    pub(crate) into: Lists<(u32, Ticks)>,
}

impl Table {
    fn of(problem: &Problem, first: Option<usize>) -> Table {
        let count = problem.len();
        let lag = |i: usize, j: usize| problem.closure.raw(i, j);
        // once the first one has its start, lags by way of it say nothing new
        let is_told = |&(i, j): &(usize, usize)| {
            let by_first = |k: usize| k != i && k != j && lag(i, k) + lag(k, j) >= lag(i, j);
            i != j && lag(i, j) > NO_LAG && !first.is_some_and(by_first)
        };
        let row = |i: usize| (0..count).map(move |j| (i, j));
        let out = |i: usize| row(i).filter(is_told).map(|(i, j)| (j as u32, lag(i, j))).collect();
        let column = |j: usize| (0..count).map(move |i| (i, j));
        let into = |j: usize| column(j).filter(is_told).map(|(i, j)| (i as u32, lag(i, j))).collect();
        Table {
            from: (0..count).flat_map(row).map(|(i, j)| lag(i, j)).collect(),
            out: Lists::of((0..count).map(out).collect()),
            into: Lists::of((0..count).map(into).collect()),
        }
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Model {
    pub(crate) count: usize,
    pub(crate) durations: Vec<Ticks>,
    pub(crate) capacities: Vec<i32>,
    /// What binds at all: resource and amount.
    pub(crate) demands: Lists<(u32, i32)>,
    pub(crate) layout: Layout,
    /// The same laid out: profile and amounts.
    pub(crate) amounts: Lists<(u32, Lanes)>,
    pub(crate) apart: Lists<Apart>,
    /// Direct lags out of an activity, all zero or more; used where there is no table.
    pub(crate) arcs: Lists<(u32, Ticks)>,
    pub(crate) table: Option<Table>,
    pub(crate) earliest: Vec<Ticks>,
    pub(crate) latest: Vec<Ticks>,
    pub(crate) weights: Vec<(usize, i64)>,
    /// Longest lag to the one weighted activity, if there is only one.
    pub(crate) tails: Option<Vec<Ticks>>,
    /// Whether the first must stand before the second in a list, for each pair.
    before: Vec<bool>,
}

impl Model {
    pub(crate) fn of(problem: &Problem) -> Model {
        let count = problem.len();
        let closure = &problem.closure;
        let sparse = problem.lags().iter().all(|lag| lag.lag >= 0)
            && (0..count).all(|activity| problem.window(activity).latest.is_none());
        let mut arcs = vec![Vec::new(); count];
        if sparse {
            for lag in problem.lags().iter().chain(&closure.derived) {
                arcs[lag.from].push((lag.to as u32, lag.lag));
            }
        }
        let far = NO_LAG;
        let tails = match problem.weights() {
            &[(sink, _)] => Some((0..count).map(|i| closure.raw(i, sink).max(far)).collect()),
            _ => None,
        };
        let mut before = vec![false; count * count];
        for i in 0..count {
            for j in 0..count {
                let both = closure.raw(i, j) >= 0 && closure.raw(j, i) >= 0;
                before[i * count + j] = i != j && closure.raw(i, j) >= 0 && (!both || i < j);
            }
        }
        let first = (0..count).find(|&i| (0..count).all(|j| i == j || before[i * count + j]));
        let layout = Layout::of(problem.capacities());
        let demands = binding_demands(problem);
        Model {
            count,
            amounts: Lists::of(demands.iter().map(|demands| laid_out(&layout, demands)).collect()),
            layout,
            durations: (0..count).map(|i| problem.duration(i)).collect(),
            capacities: problem.capacities().to_vec(),
            demands: Lists::of(demands),
            apart: Lists::of(pairs_of(problem)),
            arcs: Lists::of(arcs),
            table: (!sparse).then(|| Table::of(problem, first)),
            earliest: (0..count).map(|i| closure.earliest(i)).collect(),
            latest: (0..count).map(|i| closure.latest(i).unwrap_or(-far)).collect(),
            weights: problem.weights().to_vec(),
            tails,
            before,
        }
    }

    /// Whether `first` must stand before `second` in every list.
    pub(crate) fn stands_before(&self, first: usize, second: usize) -> bool {
        self.before[first * self.count + second]
    }

    /// Whether the two share a resource or never overlap.
    pub(crate) fn clash(&self, a: usize, b: usize) -> bool {
        self.apart.get(a).iter().any(|pair| pair.other as usize == b)
            || self.demands.get(a).iter().any(|own| self.demands.get(b).iter().any(|other| own.0 == other.0))
    }

    pub(crate) fn value(&self, starts: &[Ticks]) -> i64 {
        self.weights.iter().map(|&(activity, weight)| weight * i64::from(starts[activity])).sum()
    }

    /// The same problem with time reversed, or nothing if that has no meaning.
    ///
    /// It has one when a single end is minimised that comes after everything else, and nothing but the order and the
    /// resources holds starts in place.
    pub(crate) fn reversed(&self) -> Option<Model> {
        let tails = self.tails.as_ref()?;
        let free = self.table.is_none()
            && self.earliest_is_only_order()
            && (0..self.count).all(|i| tails[i] >= self.durations[i]);
        if !free {
            return None;
        }
        let mut arcs = vec![Vec::new(); self.count];
        for i in 0..self.count {
            for &(j, lag) in self.arcs.get(i) {
                let turned = lag + self.durations[j as usize] - self.durations[i];
                if turned < 0 {
                    return None;
                }
                arcs[j as usize].push((i as u32, turned));
            }
        }
        let apart = (0..self.count).map(|i| {
            let turn = |pair: &Apart| {
                let other = self.durations[pair.other as usize];
                let own = self.durations[i];
                Apart {
                    other: pair.other,
                    after_other: pair.before_other - own + other,
                    before_other: pair.after_other - other + own,
                }
            };
            self.apart.get(i).iter().map(turn).collect()
        });
        let mut before = vec![false; self.count * self.count];
        for i in 0..self.count {
            for j in 0..self.count {
                before[j * self.count + i] = self.before[i * self.count + j];
            }
        }
        Some(Model {
            apart: Lists::of(apart.collect()),
            arcs: Lists::of(arcs),
            earliest: vec![0; self.count],
            weights: Vec::new(),
            tails: None,
            before,
            ..self.clone()
        })
    }

    fn earliest_is_only_order(&self) -> bool {
        let mut reached = vec![0; self.count];
        let mut order: Vec<usize> = (0..self.count).collect();
        order.sort_by_key(|&i| (0..self.count).filter(|&j| self.stands_before(j, i)).count());
        for &i in &order {
            for &(j, lag) in self.arcs.get(i) {
                reached[j as usize] = reached[j as usize].max(reached[i] + lag);
            }
        }
        reached == self.earliest
    }
}

/// Only what can ever be short: a resource that holds all its users at once binds nobody.
fn binding_demands(problem: &Problem) -> Vec<Vec<(u32, i32)>> {
    let mut sums = vec![0i64; problem.capacities().len()];
    for activity in 0..problem.len() {
        if problem.duration(activity) > 0 {
            for &(resource, amount) in problem.demands(activity) {
                sums[resource] += i64::from(amount);
            }
        }
    }
    let binds = |resource: usize| sums[resource] > i64::from(problem.capacities()[resource]);
    (0..problem.len())
        .map(|activity| {
            let demands = problem.demands(activity).iter();
            demands
                .filter(|demand| problem.duration(activity) > 0 && demand.1 > 0 && binds(demand.0))
                .map(|&(resource, amount)| (resource as u32, amount))
                .collect()
        })
        .collect()
}

/// Demands in lanes, one entry for each profile.
fn laid_out(layout: &Layout, demands: &[(u32, i32)]) -> Vec<(u32, Lanes)> {
    let mut amounts: Vec<(u32, Lanes)> = Vec::new();
    for &(resource, amount) in demands {
        let (profile, lane) = layout.place(resource as usize, amount);
        match amounts.iter_mut().find(|known| known.0 == profile as u32) {
            Some(known) => known.1 += lane,
            None => amounts.push((profile as u32, lane)),
        }
    }
    amounts
}

fn pairs_of(problem: &Problem) -> Vec<Vec<Apart>> {
    let mut apart = vec![Vec::new(); problem.len()];
    for pair in problem.incompatible() {
        let first_first = problem.duration(pair.first) + pair.setup_first;
        let second_first = problem.duration(pair.second) + pair.setup_second;
        apart[pair.first].push(Apart {
            other: pair.second as u32,
            after_other: second_first,
            before_other: first_first,
        });
        apart[pair.second].push(Apart {
            other: pair.first as u32,
            after_other: first_first,
            before_other: second_first,
        });
    }
    apart
}
