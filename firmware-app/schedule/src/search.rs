//! The search: a first answer at once, then better ones for as long as it is asked.

use alloc::vec::Vec;

use crate::bounds::bounds;
use crate::chance::Chance;
use crate::check::{Schedule, check};
use crate::decode::Decoder;
use crate::machines::Machines;
use crate::model::Model;
use crate::order;
use crate::problem::{Problem, Ticks};
use crate::rules::first_lists;

/// How many evaluations pass between two questions whether to go on.
const BREATH: u64 = 16;

/// What is known about a problem without doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proven {
    /// Nothing yet.
    Open,
    /// No schedule has a smaller value than the best one.
    Best,
    /// No schedule exists.
    Impossible,
}

/// Whether a schedule should stay near the one it came from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stability {
    /// Only the value counts.
    #[default]
    Ignored,
    /// Among schedules of one value, the one whose starts moved the least in sum is the best.
    BreaksTies,
}

/// What a search has come to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progress {
    /// The best schedule so far, if one was found.
    pub best: Option<Schedule>,
    /// Its value.
    pub value: Option<i64>,
    /// The sum of moved ticks against the schedule it came from, where stability breaks ties.
    pub moved: i64,
    /// No schedule has a smaller value than this.
    pub bound: i64,
    /// What is known without doubt.
    pub proven: Proven,
    /// Schedules tried since the search was made.
    pub evaluations: u64,
}

/// A schedule the search stands on, as a list.
#[derive(Clone, Debug, Default)]
struct Footing {
    order: Vec<u16>,
    energy: f64,
    starts: Vec<Ticks>,
    waiting: Vec<u16>,
}

/// Walks from list to list; worse ones are taken with a chance that falls over a round and rises again with the next.
#[derive(Clone, Debug)]
struct Walk {
    footing: Footing,
    candidate: Vec<u16>,
    kept: Vec<u16>,
    places: Vec<u16>,
    round: u32,
    step: u32,
    steps: u32,
    scale: f64,
}

/// Looks for schedules of one problem.
///
/// Make it once, call [`Search::improve`] as often as wanted; two calls with `a` and `b` evaluations do the same as one
/// with `a + b`.
#[derive(Clone, Debug)]
pub struct Search<'p> {
    problem: &'p Problem,
    model: Model,
    reversed: Option<Model>,
    decoder: Decoder,
    back: Decoder,
    machines: Option<Machines>,
    chance: Chance,
    first: Vec<Vec<u16>>,
    walk: Walk,
    best: Option<(i64, i64, Schedule)>,
    old: Option<Vec<Ticks>>,
    stability: Stability,
    bound: i64,
    evaluations: u64,
}

impl<'p> Search<'p> {
    /// Prepares a search; nothing is tried yet.
    pub fn new(problem: &'p Problem, seed: u64) -> Search<'p> {
        let model = Model::of(problem);
        let machines = Machines::of(&model);
        let reversed = match machines {
            Some(_) => None,
            None => model.reversed(),
        };
        let first = first_lists(problem, &model);
        Search {
            problem,
            decoder: Decoder::new(&model),
            back: Decoder::new(&model),
            reversed,
            machines,
            chance: Chance::new(seed),
            first,
            walk: Walk {
                footing: Footing::default(),
                candidate: Vec::with_capacity(model.count),
                kept: Vec::with_capacity(model.count),
                places: alloc::vec![0; model.count],
                round: 0,
                step: 0,
                steps: 0,
                scale: 0.0,
            },
            best: None,
            old: None,
            stability: Stability::Ignored,
            bound: bounds(problem).value,
            evaluations: 0,
            model,
        }
    }

    /// Prepares a search that begins with a former schedule of the same activities: a re-plan.
    ///
    /// The former schedule may break demands that are new; a start too many or too few is an empty wish and ignored.
    pub fn from(problem: &'p Problem, former: &Schedule, seed: u64) -> Search<'p> {
        let mut search = Search::new(problem, seed);
        if former.starts.len() != problem.len() {
            return search;
        }
        let starts = former.starts.clone();
        let list = order::by_key(&search.model, |i| starts[i]);
        search.first.insert(0, list);
        search.old = Some(starts);
        search.offer(former);
        search
    }

    /// Says whether to stay near the former schedule; without one there is nothing to stay near.
    pub fn keeping(mut self, stability: Stability) -> Search<'p> {
        self.stability = stability;
        if let Some((value, _, best)) = self.best.take() {
            let moved = self.moved(&best.starts);
            self.best = Some((value, moved, best));
        }
        self
    }

    /// Takes a schedule found elsewhere if it is the best so far and breaks nothing; tells whether it was taken.
    pub fn offer(&mut self, schedule: &Schedule) -> bool {
        match check(self.problem, schedule) {
            Ok(value) => {
                let moved = self.moved(&schedule.starts);
                let better = self.is_better(value, moved);
                if better {
                    self.best = Some((value, moved, schedule.clone()));
                    self.stand_on_best();
                }
                better
            }
            Err(_) => false,
        }
    }

    /// Takes a bound found elsewhere.
    pub fn raise_bound(&mut self, bound: i64) {
        self.bound = self.bound.max(bound);
    }

    /// The value of the best schedule so far.
    pub fn value(&self) -> Option<i64> {
        self.best.as_ref().map(|best| best.0)
    }

    /// Tries that many schedules more, as long as `go_on` says so and nothing is proven.
    ///
    /// `go_on` is asked every few evaluations and may look at a clock or a flag. Where stability breaks ties, a proven
    /// value does not end the search, since a schedule of that value may still lie nearer to the old one.
    pub fn improve(&mut self, evaluations: u64, go_on: &mut dyn FnMut() -> bool) -> Progress {
        let end = self.evaluations.saturating_add(evaluations);
        while self.evaluations < end && !self.is_finished() {
            if self.evaluations.is_multiple_of(BREATH) && !go_on() {
                break;
            }
            self.step();
        }
        self.progress()
    }

    /// What the search has come to.
    pub fn progress(&self) -> Progress {
        Progress {
            best: self.best.as_ref().map(|best| best.2.clone()),
            value: self.value(),
            moved: self.best.as_ref().map_or(0, |best| best.1),
            bound: self.bound,
            proven: self.proven(),
            evaluations: self.evaluations,
        }
    }

    fn proven(&self) -> Proven {
        match &self.best {
            Some(best) if best.0 <= self.bound => Proven::Best,
            Some(_) => Proven::Open,
            None if self.problem.contradicts_itself() => Proven::Impossible,
            None => Proven::Open,
        }
    }

    fn is_finished(&self) -> bool {
        match self.proven() {
            Proven::Open => false,
            Proven::Impossible => true,
            Proven::Best => match self.stability {
                Stability::Ignored => true,
                Stability::BreaksTies => self.best.as_ref().is_some_and(|best| best.1 == 0),
            },
        }
    }

    fn step(&mut self) {
        self.evaluations += 1;
        if let Some(list) = self.first.pop() {
            self.try_first(&list);
            return;
        }
        if let Some(machines) = &mut self.machines {
            let found = machines.step(&self.model, &mut self.chance);
            if let Some(starts) = found {
                let value = self.model.value(starts);
                if self.best.as_ref().is_none_or(|best| value < best.0) {
                    let starts = starts.to_vec();
                    self.note(value, &starts);
                }
            }
            return;
        }
        self.walk_on();
    }

    /// Lists of rules: the best of them is where the walk begins.
    fn try_first(&mut self, list: &[u16]) {
        if let Some(value) = self.decoder.decode(&self.model, list, i64::MAX) {
            let starts = self.decoder.starts.clone();
            let energy = self.energy(value, &starts);
            if self.walk.footing.order.is_empty() || energy < self.walk.footing.energy {
                self.walk.footing = Footing {
                    order: list.to_vec(),
                    energy,
                    waiting: self.waiting(),
                    starts: starts.clone(),
                };
            }
            self.note(value, &starts);
        }
        if self.first.is_empty()
            && let Some(machines) = &mut self.machines
        {
            let order = match self.walk.footing.order.as_slice() {
                [] => list,
                order => order,
            };
            machines.begin(&self.model, order);
        }
    }

    fn walk_on(&mut self) {
        if self.walk.footing.order.is_empty() {
            self.try_anywhere();
            return;
        }
        if self.walk.step >= self.walk.steps {
            self.begin_round();
        }
        let progress = f64::from(self.walk.step) / f64::from(self.walk.steps);
        self.walk.step += 1;
        let heat = self.walk.scale * (1.0 - progress) * (1.0 - progress);
        let limit = self.walk.footing.energy - heat * libm::log(1.0 - self.chance.unit());
        self.vary();
        let candidate = core::mem::take(&mut self.walk.candidate);
        if let Some(value) = self.evaluate(&candidate, limit) {
            let starts = core::mem::take(&mut self.decoder.starts);
            let energy = self.energy(value, &starts);
            if energy <= limit {
                self.note(value, &starts);
                let footing = &mut self.walk.footing;
                footing.energy = energy;
                footing.starts.copy_from_slice(&starts);
                footing.order.copy_from_slice(&candidate);
                if self.reversed.is_some() {
                    sort_by_start(&self.model, &mut footing.order, &starts);
                }
                let waiting = self.waiting();
                self.walk.footing.waiting = waiting;
            }
            self.decoder.starts = starts;
        }
        self.walk.candidate = candidate;
    }

    /// No list gave a schedule yet: any order will do.
    fn try_anywhere(&mut self) {
        let noise: Vec<f64> = (0..self.model.count).map(|_| self.chance.unit()).collect();
        let span = 1.0 + f64::from(self.model.earliest.iter().copied().max().unwrap_or(0));
        let list = order::by_key(&self.model, |i| {
            f64::from(self.model.earliest[i]) + span * noise[i]
        });
        self.try_first(&list);
    }

    fn begin_round(&mut self) {
        let walk = &mut self.walk;
        walk.round += 1;
        walk.step = 0;
        walk.steps = (20 * self.model.count as u32) << walk.round.min(6);
        let spread = match &self.best {
            Some(best) => (best.0 - self.bound).max(1) as f64,
            None => 1.0,
        };
        // pushing schedules to and fro already smooths the way, so less heat is needed
        let share = if self.reversed.is_some() { 0.007 } else { 0.02 };
        walk.scale = (share * walk.footing.energy).min(0.3 * spread).max(0.8);
        if walk.round > 1 {
            self.stand_on_best();
        }
    }

    fn stand_on_best(&mut self) {
        let Some((_, _, best)) = &self.best else {
            return;
        };
        let starts = best.starts.clone();
        let list = order::by_key(&self.model, |i| starts[i]);
        if let Some(value) = self.decoder.decode(&self.model, &list, i64::MAX) {
            let starts = self.decoder.starts.clone();
            let energy = self.energy(value, &starts);
            let waiting = self.waiting();
            self.walk.footing = Footing {
                order: list,
                energy,
                starts: starts.clone(),
                waiting,
            };
            self.note(value, &starts);
        }
    }

    /// Decodes a list; where time can be reversed, the schedule is pushed to its end and back to its start.
    fn evaluate(&mut self, list: &[u16], limit: f64) -> Option<i64> {
        let Some(reversed) = &self.reversed else {
            let limit = (limit + 1.0).min(9e15) as i64;
            return self.decoder.decode(&self.model, list, limit);
        };
        let forward = (limit * 1.06 + 2.0).min(9e15) as i64;
        let value = self.decoder.decode(&self.model, list, forward)?;
        let mut turned = list.to_vec();
        let starts = &self.decoder.starts;
        let durations = &self.model.durations;
        turned.sort_by_key(|&i| {
            let i = usize::from(i);
            core::cmp::Reverse(starts[i] + durations[i])
        });
        repair(reversed, &mut turned);
        if self.back.decode(reversed, &turned, i64::MAX).is_none() {
            return Some(value);
        }
        let ends = &self.back.starts;
        turned.sort_by_key(|&i| {
            let i = usize::from(i);
            core::cmp::Reverse(ends[i] + durations[i])
        });
        repair(&self.model, &mut turned);
        let kept = self.decoder.starts.clone();
        match self.decoder.decode(&self.model, &turned, i64::MAX) {
            Some(better) if better <= value => Some(better),
            Some(_) | None => {
                self.decoder.starts = kept;
                Some(value)
            }
        }
    }

    /// Makes the candidate: a list near the one the walk stands on.
    fn vary(&mut self) {
        let walk = &mut self.walk;
        walk.candidate.clear();
        walk.candidate.extend_from_slice(&walk.footing.order);
        let count = self.model.count;
        if count < 2 {
            return;
        }
        let order = &mut walk.candidate;
        let kind = self.chance.below(10);
        if kind < 3 && !walk.footing.waiting.is_empty() {
            // what waited for a resource goes before something that it waited for
            for (place, &activity) in order.iter().enumerate() {
                walk.places[usize::from(activity)] = place as u16;
            }
            let pick = self.chance.below(walk.footing.waiting.len());
            let waiting = usize::from(walk.footing.waiting[pick]);
            let from = usize::from(walk.places[waiting]);
            let start = walk.footing.starts[waiting];
            let mut chosen = None;
            let mut seen = 0;
            for (place, &other) in order[..from].iter().enumerate() {
                let other = usize::from(other);
                let end = walk.footing.starts[other] + self.model.durations[other];
                let near = end <= start && end > start - 3 * self.model.durations[waiting].max(4);
                if near
                    && !self.model.stands_before(other, waiting)
                    && self.model.clash(other, waiting)
                {
                    seen += 1;
                    if self.chance.below(seen) == 0 {
                        chosen = Some(place);
                    }
                }
            }
            if let Some(to) = chosen {
                order::pull(&self.model, order, from, to, &mut walk.kept);
                return;
            }
        }
        let from = self.chance.below(count);
        let reach = if kind < 8 { 1 + count / 6 } else { count };
        let distance = 1 + self.chance.below(reach);
        if self.chance.below(2) == 0 {
            let to = from.saturating_sub(distance);
            order::pull(&self.model, order, from, to, &mut walk.kept);
        } else {
            let to = (from + distance).min(count - 1);
            order::push(&self.model, order, from, to, &mut walk.kept);
        }
    }

    fn waiting(&self) -> Vec<u16> {
        let waits = self.decoder.waits.iter().enumerate();
        waits
            .filter(|wait| *wait.1 > 0)
            .map(|wait| wait.0 as u16)
            .collect()
    }

    fn moved(&self, starts: &[Ticks]) -> i64 {
        match (&self.old, self.stability) {
            (Some(old), Stability::BreaksTies) => {
                let pairs = old.iter().zip(starts);
                pairs
                    .map(|(&old, &new)| i64::from(old).abs_diff(i64::from(new)) as i64)
                    .sum()
            }
            (Some(_) | None, Stability::Ignored | Stability::BreaksTies) => 0,
        }
    }

    fn energy(&self, value: i64, starts: &[Ticks]) -> f64 {
        value as f64 + self.moved(starts) as f64 / 1024.0
    }

    fn is_better(&self, value: i64, moved: i64) -> bool {
        self.best
            .as_ref()
            .is_none_or(|best| (value, moved) < (best.0, best.1))
    }

    fn note(&mut self, value: i64, starts: &[Ticks]) {
        let moved = self.moved(starts);
        if !self.is_better(value, moved) {
            return;
        }
        let schedule = Schedule {
            starts: starts.to_vec(),
        };
        if check(self.problem, &schedule) == Ok(value) {
            self.best = Some((value, moved, schedule));
        }
    }
}

fn sort_by_start(model: &Model, list: &mut [u16], starts: &[Ticks]) {
    list.sort_by_key(|&i| starts[usize::from(i)]);
    repair(model, list);
}

/// Puts back what sorting by time may have put before something it must stand behind, at the same tick.
fn repair(model: &Model, list: &mut [u16]) {
    for at in 1..list.len() {
        let mut place = at;
        while place > 0
            && model.stands_before(usize::from(list[place]), usize::from(list[place - 1]))
        {
            list.swap(place, place - 1);
            place -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::draft::Draft;
    use crate::problem::Incompatible;
    use alloc::vec;
    use proptest::prelude::*;

    fn always() -> bool {
        true
    }

    /// A random problem of `count` activities; with `waits`, longest waits and windows too.
    fn drafts(count: usize, waits: bool) -> impl Strategy<Value = Draft> {
        let activities = prop::collection::vec((0..4i32, 0..3i32, 0..2i32), count);
        let lags = prop::collection::vec(
            (0..count, 0..count, 0..5i32, 0..4i32, any::<bool>()),
            0..count,
        );
        let pair = (0..count, 0..count, 0..3i32, 0..3i32);
        let windows = prop::collection::vec((0..count, 0..6i32, 4..12i32), 0..2);
        let weights = prop::collection::vec((0..count, 0..4i64), 0..3);
        (activities, lags, pair, windows, weights).prop_map(
            move |(activities, lags, pair, windows, weights)| {
                let mut draft = Draft::new();
                draft.resource(2);
                draft.resource(1);
                for (duration, first, second) in activities {
                    let activity = draft.activity(duration);
                    draft.needs(activity, 0, first);
                    draft.needs(activity, 1, second);
                }
                for (a, b, lag, slack, both) in lags {
                    let (from, to) = (a.min(b), a.max(b));
                    if from != to {
                        draft.lag(from, to, lag);
                        if waits && both {
                            draft.lag(to, from, -lag - slack);
                        }
                    }
                }
                if pair.0 != pair.1 {
                    draft.incompatible(Incompatible {
                        first: pair.0,
                        second: pair.1,
                        setup_first: pair.2,
                        setup_second: pair.3,
                    });
                }
                for (activity, earliest, latest) in windows {
                    if waits {
                        draft.not_before(activity, earliest);
                        draft.not_after(activity, latest);
                    }
                }
                for (activity, weight) in weights {
                    draft.weigh(activity, weight);
                }
                draft
            },
        )
    }

    /// The best value by trying every start up to `last`.
    fn by_trying_all(problem: &Problem, last: Ticks) -> Option<i64> {
        let mut starts = vec![0; problem.len()];
        let mut best = None;
        loop {
            let schedule = Schedule { starts };
            if let Ok(value) = check(problem, &schedule) {
                best = Some(best.map_or(value, |best: i64| best.min(value)));
            }
            starts = schedule.starts;
            let Some(place) = starts.iter().position(|&start| start < last) else {
                return best;
            };
            starts[..place].fill(0);
            starts[place] += 1;
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        #[test]
        fn every_schedule_passes_the_checker(draft in drafts(12, true), seed in 0..9u64) {
            if let Ok(problem) = draft.build() {
                let progress = Search::new(&problem, seed).improve(400, &mut always);
                if let Some(best) = progress.best {
                    prop_assert_eq!(check(&problem, &best).ok(), progress.value);
                    prop_assert!(progress.bound <= progress.value.unwrap());
                }
            }
        }

        #[test]
        fn tiny_problems_without_longest_waits_are_solved(draft in drafts(4, false)) {
            let problem = draft.build().unwrap();
            let progress = Search::new(&problem, 1).improve(600, &mut always);
            prop_assert_eq!(progress.value, by_trying_all(&problem, 18));
        }

        #[test]
        fn tiny_problems_with_longest_waits_are_never_beaten_below_the_best(draft in drafts(4, true)) {
            if let Ok(problem) = draft.build() {
                let progress = Search::new(&problem, 1).improve(600, &mut always);
                let best = by_trying_all(&problem, 20);
                match (progress.value, best) {
                    (Some(value), Some(best)) => prop_assert!(value >= best),
                    (Some(value), None) => prop_assert!(false, "found {} where nothing exists", value),
                    (None, _) => {}
                }
                prop_assert!(best.is_none_or(|best| progress.bound <= best));
                if progress.proven == Proven::Best {
                    prop_assert_eq!(progress.value, best);
                }
                if progress.proven == Proven::Impossible {
                    prop_assert_eq!(best, None);
                }
            }
        }

        #[test]
        fn one_seed_gives_one_answer_however_it_is_cut(draft in drafts(10, true), cut in 1..200u64) {
            if let Ok(problem) = draft.build() {
                let whole = Search::new(&problem, 5).improve(200, &mut always);
                let mut search = Search::new(&problem, 5);
                search.improve(cut, &mut always);
                prop_assert_eq!(search.improve(200 - cut, &mut always), whole);
            }
        }
    }

    /// Eight dishes of preparation, oven and plating with two hands and one oven of two shelves.
    fn eight_dishes() -> Draft {
        let mut draft = Draft::new();
        let (hands, oven) = (draft.resource(2), draft.resource(2));
        let mut plates = Vec::new();
        for dish in 0..8 {
            let prepare = draft.activity(6 + dish);
            let bake = draft.activity(20 + 3 * dish);
            let plate = draft.activity(3);
            draft.needs(prepare, hands, 1);
            draft.needs(bake, oven, 1);
            draft.needs(plate, hands, 1);
            draft.lag(prepare, bake, 6 + dish);
            draft.lag(bake, prepare, -(12 + dish));
            draft.lag(bake, plate, 20 + 3 * dish);
            draft.lag(plate, bake, -(24 + 3 * dish));
            plates.push(plate);
        }
        let end = draft.activity(0);
        for plate in plates {
            draft.lag(plate, end, 3);
        }
        draft
    }

    #[test]
    fn what_has_begun_is_never_moved() {
        let problem = eight_dishes().build().unwrap();
        let plan = Search::new(&problem, 1)
            .improve(3000, &mut always)
            .best
            .unwrap();
        let mut late = eight_dishes();
        let now = 30;
        let begun: Vec<usize> = (0..problem.len())
            .filter(|&i| plan.starts[i] < now)
            .collect();
        for i in 0..problem.len() {
            match begun.contains(&i) {
                true => late.fix(i, plan.starts[i]),
                false => late.not_before(i, now),
            }
        }
        // the dish whose turn comes last cannot even begin when it was planned
        let last = (0..8)
            .map(|dish| 3 * dish)
            .max_by_key(|&i| plan.starts[i])
            .unwrap();
        late.not_before(last, plan.starts[last] + 5);
        let late = late.build().unwrap();
        let mut search = Search::from(&late, &plan, 2);
        for _ in 0..40 {
            let progress = search.improve(50, &mut always);
            if let Some(best) = progress.best {
                assert!(begun.iter().all(|&i| best.starts[i] == plan.starts[i]));
            }
        }
        assert!(search.value().is_some());
    }

    #[test]
    fn a_replan_that_breaks_ties_stays_nearer_to_the_old_plan() {
        let problem = eight_dishes().build().unwrap();
        let plan = Search::new(&problem, 1)
            .improve(3000, &mut always)
            .best
            .unwrap();
        let mut later = eight_dishes();
        later.not_before(3, plan.starts[3] + 2);
        let later = later.build().unwrap();
        let near = Search::from(&later, &plan, 3).keeping(Stability::BreaksTies);
        let free = Search::from(&later, &plan, 3);
        let moved = |mut search: Search| {
            let best = search.improve(4000, &mut always).best.unwrap();
            let pairs = best.starts.iter().zip(&plan.starts);
            (
                problem.value(&best.starts),
                pairs.map(|(a, b)| a.abs_diff(*b)).sum::<u32>(),
            )
        };
        let (near, free) = (moved(near), moved(free));
        assert!(near.0 <= free.0, "{near:?} {free:?}");
        assert!(near.1 <= free.1, "{near:?} {free:?}");
    }

    #[test]
    fn a_stop_is_heard_within_a_few_evaluations() {
        let problem = eight_dishes().build().unwrap();
        let mut search = Search::new(&problem, 1);
        let mut asked = 0;
        let progress = search.improve(u64::MAX, &mut || {
            asked += 1;
            asked < 3
        });
        assert!(progress.evaluations <= 3 * BREATH);
        assert_eq!(
            search.improve(100, &mut || false).evaluations,
            progress.evaluations
        );
    }

    #[test]
    fn offered_schedules_are_taken_only_if_they_hold_and_are_better() {
        let problem = eight_dishes().build().unwrap();
        let mut search = Search::new(&problem, 1);
        let good = Search::new(&problem, 2)
            .improve(3000, &mut always)
            .best
            .unwrap();
        let broken = Schedule {
            starts: vec![0; problem.len()],
        };
        assert!(!search.offer(&broken));
        assert!(search.offer(&good));
        assert!(!search.offer(&good));
        assert_eq!(search.value(), Some(problem.value(&good.starts)));
    }
}
