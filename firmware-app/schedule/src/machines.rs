//! Search for problems where every resource does one thing at a time and one end is minimised.
//!
//! The order on each resource is changed along a longest chain: an activity of a run of neighbours on one resource
//! goes before the first or behind the last of the run (Balas & Vazacopoulos 1998), what was undone is forbidden for
//! a while, and good schedules are mixed to start anew.

use alloc::vec;
use alloc::vec::Vec;

use crate::chance::Chance;
use crate::model::{Lists, Model};
use crate::order::by_key;
use crate::problem::Ticks;

const NOBODY: u16 = u16::MAX;
const FAR: Ticks = -(1 << 28);
/// Moves without a better schedule before good ones are mixed.
const PATIENCE: u32 = 4000;
/// How many good schedules are kept to be mixed.
const ELITE: usize = 8;

#[derive(Clone, Debug)]
struct Move {
    estimate: Ticks,
    activity: u16,
    /// The activity it goes behind (`later`) or before.
    anchor: u16,
    later: bool,
}

/// The state of the search over orders on machines.
#[derive(Clone, Debug)]
pub(crate) struct Machines {
    count: usize,
    sink: usize,
    durations: Vec<Ticks>,
    into: Lists<(u32, Ticks)>,
    out: Lists<(u32, Ticks)>,
    machine_of: Vec<u16>,
    machine_count: usize,
    before: Vec<u16>,
    behind: Vec<u16>,
    head: Vec<Ticks>,
    tail: Vec<Ticks>,
    head_by_lags: Vec<Ticks>,
    tail_by_lags: Vec<Ticks>,
    sequence: Vec<u16>,
    open: Vec<u16>,
    forbidden: Vec<u64>,
    round: u64,
    fruitless: u32,
    best_of_run: Ticks,
    best_starts_of_run: Vec<Ticks>,
    elite: Vec<(Ticks, Vec<Ticks>)>,
    path: Vec<u16>,
    moves: Vec<Move>,
    run: Vec<(u16, Ticks)>,
}

impl Machines {
    /// Takes the problem if it is of this kind.
    pub(crate) fn of(model: &Model) -> Option<Machines> {
        model.tails.as_ref()?;
        let count = model.count;
        let sink = model.weights.first()?.0;
        if model.table.is_some() || count >= usize::from(NOBODY) {
            return None;
        }
        let mut least = vec![i32::MAX; model.capacities.len()];
        let mut machine_of = vec![NOBODY; count];
        for (i, machine) in machine_of.iter_mut().enumerate() {
            if !model.apart.get(i).is_empty() {
                return None;
            }
            match model.demands.get(i) {
                [] => {}
                &[(resource, amount)] => {
                    *machine = resource as u16;
                    least[resource as usize] = least[resource as usize].min(amount);
                }
                _ => return None,
            }
        }
        let single =
            |(&least, &capacity): (&i32, &i32)| least == i32::MAX || 2 * i64::from(least) > i64::from(capacity);
        if !least.iter().zip(&model.capacities).all(single) {
            return None;
        }
        if machine_of.iter().all(|&machine| machine == NOBODY) {
            return None;
        }
        let mut into = vec![Vec::new(); count];
        let mut out = vec![Vec::new(); count];
        for (i, out) in out.iter_mut().enumerate() {
            for &(j, lag) in model.arcs.get(i) {
                out.push((j, lag));
                into[j as usize].push((i as u32, lag));
            }
        }
        Some(Machines {
            count,
            sink,
            durations: model.durations.clone(),
            into: Lists::of(into),
            out: Lists::of(out),
            machine_of,
            machine_count: model.capacities.len(),
            before: vec![NOBODY; count],
            behind: vec![NOBODY; count],
            head: model.earliest.clone(),
            tail: vec![0; count],
            head_by_lags: vec![0; count],
            tail_by_lags: vec![0; count],
            sequence: Vec::with_capacity(count),
            open: vec![0; count],
            forbidden: vec![0; count * count],
            round: 0,
            fruitless: 0,
            best_of_run: Ticks::MAX,
            best_starts_of_run: vec![0; count],
            elite: Vec::new(),
            path: Vec::new(),
            moves: Vec::new(),
            run: Vec::new(),
        })
    }

    /// Begins a run from a list.
    pub(crate) fn begin(&mut self, model: &Model, order: &[u16]) {
        let mut last = vec![NOBODY; self.machine_count];
        for &activity in order {
            let i = usize::from(activity);
            self.before[i] = NOBODY;
            self.behind[i] = NOBODY;
            if self.machine_of[i] != NOBODY {
                let machine = usize::from(self.machine_of[i]);
                let previous = last[machine];
                self.before[i] = previous;
                if previous != NOBODY {
                    self.behind[usize::from(previous)] = activity;
                }
                last[machine] = activity;
            }
        }
        self.fruitless = 0;
        self.round += 1000;
        self.best_of_run = Ticks::MAX;
        if self.weigh(model) {
            self.note();
        }
    }

    /// Makes one move and gives the starts if they are the best of this run.
    pub(crate) fn step(&mut self, model: &Model, chance: &mut Chance) -> Option<&[Ticks]> {
        if self.best_of_run == Ticks::MAX || self.fruitless > PATIENCE {
            self.anew(model, chance);
            return (self.best_of_run < Ticks::MAX).then_some(&self.best_starts_of_run);
        }
        self.round += 1;
        self.fruitless += 1;
        self.find_path(chance);
        self.find_moves();
        let mut chosen: Option<usize> = None;
        let mut ties = 0;
        for (index, candidate) in self.moves.iter().enumerate() {
            let allowed = candidate.estimate < self.best_of_run || !self.is_forbidden(candidate);
            if !allowed {
                continue;
            }
            match chosen {
                Some(other) if self.moves[other].estimate < candidate.estimate => {}
                Some(other) if self.moves[other].estimate == candidate.estimate => {
                    ties += 1;
                    if chance.below(ties + 1) == 0 {
                        chosen = Some(index);
                    }
                }
                Some(_) | None => {
                    chosen = Some(index);
                    ties = 0;
                }
            }
        }
        if self.moves.is_empty() {
            // no run of neighbours on the longest chain: nothing shorter exists
            self.fruitless = PATIENCE + 1;
            return None;
        }
        let index = chosen.unwrap_or_else(|| chance.below(self.moves.len()));
        let chosen = self.moves[index].clone();
        self.apply(&chosen, chance);
        if !self.weigh(model) {
            self.fruitless = PATIENCE + 1;
            return None;
        }
        if self.head[self.sink] < self.best_of_run {
            self.note();
            return Some(&self.best_starts_of_run);
        }
        None
    }

    fn note(&mut self) {
        self.best_of_run = self.head[self.sink];
        self.best_starts_of_run.copy_from_slice(&self.head);
        self.fruitless = 0;
    }

    /// Keeps what this run found and mixes two good schedules into the start of the next one.
    fn anew(&mut self, model: &Model, chance: &mut Chance) {
        if self.best_of_run < Ticks::MAX {
            self.keep();
        }
        let order = if self.elite.len() < ELITE {
            let noise: Vec<f64> = (0..self.count).map(|_| chance.unit()).collect();
            let span = f64::from(self.elite.first().map_or(100, |elite| elite.0));
            by_key(model, |i| f64::from(model.earliest[i]) + 0.5 * span * noise[i])
        } else {
            let first = chance.below(self.elite.len());
            let second = (first + 1 + chance.below(self.elite.len() - 1)) % self.elite.len();
            let share = 0.3 + 0.4 * chance.unit();
            let (a, b) = (&self.elite[first].1, &self.elite[second].1);
            let noise: Vec<f64> = (0..self.count).map(|_| chance.unit()).collect();
            let span = 0.02 * f64::from(self.elite[first].0);
            by_key(model, |i| share * f64::from(a[i]) + (1.0 - share) * f64::from(b[i]) + span * noise[i])
        };
        self.begin(model, &order);
    }

    fn keep(&mut self) {
        let found = (self.best_of_run, self.best_starts_of_run.clone());
        if self.elite.iter().any(|known| self.alike(&known.1, &found.1)) {
            return;
        }
        if self.elite.len() < ELITE {
            self.elite.push(found);
            return;
        }
        let worst = (0..self.elite.len()).max_by_key(|&i| self.elite[i].0).unwrap_or(0);
        if found.0 <= self.elite[worst].0 {
            self.elite[worst] = found;
        }
    }

    /// Whether two schedules start nearly everything in the same order on each machine.
    fn alike(&self, a: &[Ticks], b: &[Ticks]) -> bool {
        let mut differ = 0;
        for i in 0..self.count {
            for j in i + 1..self.count {
                if self.machine_of[i] != NOBODY
                    && self.machine_of[i] == self.machine_of[j]
                    && (a[i] < a[j]) != (b[i] < b[j])
                {
                    differ += 1;
                }
            }
        }
        differ < self.machine_count
    }

    /// Works out heads and tails; false if the orders chase each other in a ring.
    fn weigh(&mut self, model: &Model) -> bool {
        self.sequence.clear();
        for i in 0..self.count {
            let waits = self.into.get(i).len() + usize::from(self.before[i] != NOBODY);
            self.open[i] = waits as u16;
            self.head_by_lags[i] = model.earliest[i];
            if waits == 0 {
                self.sequence.push(i as u16);
            }
        }
        let mut next = 0;
        while let Some(&activity) = self.sequence.get(next) {
            next += 1;
            let i = usize::from(activity);
            let mut head = self.head_by_lags[i];
            if self.before[i] != NOBODY {
                let before = usize::from(self.before[i]);
                head = head.max(self.head[before] + self.durations[before]);
            }
            self.head[i] = head;
            for &(j, lag) in self.out.get(i) {
                let j = j as usize;
                self.head_by_lags[j] = self.head_by_lags[j].max(head + lag);
                self.open[j] -= 1;
                if self.open[j] == 0 {
                    self.sequence.push(j as u16);
                }
            }
            if self.behind[i] != NOBODY {
                let j = usize::from(self.behind[i]);
                self.open[j] -= 1;
                if self.open[j] == 0 {
                    self.sequence.push(j as u16);
                }
            }
        }
        if self.sequence.len() < self.count {
            return false;
        }
        for &activity in self.sequence.iter().rev() {
            let i = usize::from(activity);
            let mut tail = if i == self.sink { 0 } else { FAR };
            for &(j, lag) in self.out.get(i) {
                tail = tail.max(lag + self.tail[j as usize]);
            }
            self.tail_by_lags[i] = tail;
            if self.behind[i] != NOBODY {
                tail = tail.max(self.durations[i] + self.tail[usize::from(self.behind[i])]);
            }
            self.tail[i] = tail;
        }
        true
    }

    /// Walks one longest chain back from the end; where two ways are as long, chance decides.
    fn find_path(&mut self, chance: &mut Chance) {
        self.path.clear();
        let mut i = self.sink;
        loop {
            self.path.push(i as u16);
            let head = self.head[i];
            let mut choice = None;
            let mut ties = 0;
            if self.before[i] != NOBODY {
                let before = usize::from(self.before[i]);
                if self.head[before] + self.durations[before] == head {
                    choice = Some(before);
                    ties = 1;
                }
            }
            for &(j, lag) in self.into.get(i) {
                if self.head[j as usize] + lag == head {
                    ties += 1;
                    if ties == 1 || chance.below(ties) == 0 {
                        choice = Some(j as usize);
                    }
                }
            }
            match choice {
                Some(previous) => i = previous,
                None => break,
            }
        }
        self.path.reverse();
    }

    fn find_moves(&mut self) {
        self.moves.clear();
        let path = core::mem::take(&mut self.path);
        let mut from = 0;
        while from < path.len() {
            let mut to = from;
            while to + 1 < path.len() && self.behind[usize::from(path[to])] == path[to + 1] {
                to += 1;
            }
            let run = &path[from..=to];
            if let (&[first, ..], &[.., last]) = (run, run)
                && run.len() > 1
            {
                for &activity in &run[..run.len() - 1] {
                    self.consider(activity, last, true);
                }
                for &activity in &run[1..] {
                    if run.len() > 2 || activity != last {
                        self.consider(activity, first, false);
                    }
                }
            }
            from = to + 1;
        }
        self.path = path;
    }

    /// Adds a move if it surely closes no ring, with an estimate of the longest chain it leaves.
    fn consider(&mut self, activity: u16, anchor: u16, later: bool) {
        let (u, v) = (usize::from(activity), usize::from(anchor));
        let apart = if later {
            self.out.get(u).iter().all(|&(s, _)| {
                let s = s as usize;
                self.tail[v] >= self.tail[s] || self.head[s] + self.durations[s] > self.head[v]
            })
        } else {
            self.into.get(u).iter().all(|&(s, _)| {
                let s = s as usize;
                self.head[v] + self.durations[v] >= self.head[s] + self.durations[s] || self.tail[s] < self.tail[v]
            })
        };
        if apart {
            let estimate = self.estimate(u, v, later);
            self.moves.push(Move { estimate, activity, anchor, later });
        }
    }

    /// The longest chain through what a move touches, by heads and tails of what it does not.
    fn estimate(&mut self, u: usize, v: usize, later: bool) -> Ticks {
        self.run.clear();
        let (first, last) = if later { (u, v) } else { (v, u) };
        let mut at = first;
        if !later {
            self.run.push((u as u16, 0));
        }
        loop {
            if at != u {
                self.run.push((at as u16, 0));
            }
            if at == last {
                break;
            }
            at = usize::from(self.behind[at]);
        }
        if later {
            self.run.push((u as u16, 0));
        }
        let mut ready = match self.before[first] {
            NOBODY => 0,
            before => self.head[usize::from(before)] + self.durations[usize::from(before)],
        };
        for (activity, head) in &mut self.run {
            let i = usize::from(*activity);
            *head = ready.max(self.head_by_lags[i]);
            ready = *head + self.durations[i];
        }
        let mut rest = match self.behind[last] {
            NOBODY => FAR,
            behind => self.tail[usize::from(behind)],
        };
        let mut longest = FAR;
        for &(activity, head) in self.run.iter().rev() {
            let i = usize::from(activity);
            rest = self.tail_by_lags[i].max(self.durations[i] + rest);
            longest = longest.max(head + rest);
        }
        longest
    }

    fn is_forbidden(&self, candidate: &Move) -> bool {
        let u = usize::from(candidate.activity);
        let anchor = usize::from(candidate.anchor);
        let mut at = u;
        while at != anchor {
            at = usize::from(if candidate.later { self.behind[at] } else { self.before[at] });
            let (first, second) = if candidate.later { (at, u) } else { (u, at) };
            if self.forbidden[first * self.count + second] > self.round {
                return true;
            }
        }
        false
    }

    fn apply(&mut self, chosen: &Move, chance: &mut Chance) {
        let u = usize::from(chosen.activity);
        let anchor = usize::from(chosen.anchor);
        let base = 8 + self.count / (self.machine_count.max(1) * 2);
        let until = self.round + (base + chance.below(base)) as u64;
        let mut at = u;
        while at != anchor {
            at = usize::from(if chosen.later { self.behind[at] } else { self.before[at] });
            let (first, second) = if chosen.later { (u, at) } else { (at, u) };
            self.forbidden[first * self.count + second] = until;
        }
        let (left, right) = (self.before[u], self.behind[u]);
        self.join(left, right);
        if chosen.later {
            let next = self.behind[anchor];
            self.join(chosen.anchor, chosen.activity);
            self.join(chosen.activity, next);
        } else {
            let previous = self.before[anchor];
            self.join(previous, chosen.activity);
            self.join(chosen.activity, chosen.anchor);
        }
    }

    fn join(&mut self, first: u16, second: u16) {
        if first != NOBODY {
            self.behind[usize::from(first)] = second;
        }
        if second != NOBODY {
            self.before[usize::from(second)] = first;
        }
    }
}
