//! The search: a first answer at once, then better ones for as long as it is asked.

use alloc::vec::Vec;

use crate::bounds::bounds;
use crate::chance::Chance;
use crate::check::{Schedule, check};
use crate::former::{Former, Stability};
use crate::machines::Machines;
use crate::maker::Maker;
use crate::model::Model;
use crate::order;
use crate::problem::{Problem, Ticks};
use crate::rules::first_lists;
use crate::walk::{Footing, Walk};

/// How many evaluations pass between two questions whether to go on.
const BREATH: u64 = 16;
/// Heat of a round, as a share of the energy; less where schedules are pushed to and fro.
const HEAT: f64 = 0.02;
const HEAT_PUSHED: f64 = 0.004;

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

/// Looks for schedules of one problem.
///
/// Make it once, call [`Search::improve`] as often as wanted; two calls with `a` and `b` evaluations do the same as one
/// with `a + b`.
#[derive(Clone, Debug)]
pub struct Search<'p> {
    problem: &'p Problem,
    model: Model,
    maker: Maker,
    machines: Option<Machines>,
    chance: Chance,
    first: Vec<Vec<u16>>,
    walk: Walk,
    best: Option<(i64, i64, Schedule)>,
    former: Former,
    bound: i64,
    evaluations: u64,
}

impl<'p> Search<'p> {
    /// Prepares a search; nothing is tried yet.
    pub fn new(problem: &'p Problem, seed: u64) -> Search<'p> {
        let model = Model::of(problem);
        let machines = Machines::of(&model);
        Search {
            problem,
            maker: Maker::new(&model, machines.is_none()),
            machines,
            chance: Chance::new(seed),
            first: first_lists(problem, &model),
            walk: Walk::new(model.count),
            best: None,
            former: Former::default(),
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
        search.former.starts = Some(starts);
        search.offer(former);
        search
    }

    /// Says whether to stay near the former schedule; without one there is nothing to stay near.
    pub fn keeping(mut self, stability: Stability) -> Search<'p> {
        self.former.stability = stability;
        if let Some((value, _, best)) = self.best.take() {
            let moved = self.former.moved(&best.starts);
            self.best = Some((value, moved, best));
        }
        self
    }

    /// Takes a schedule found elsewhere if it is the best so far and breaks nothing; tells whether it was taken.
    pub fn offer(&mut self, schedule: &Schedule) -> bool {
        match check(self.problem, schedule) {
            Ok(value) => {
                let moved = self.former.moved(&schedule.starts);
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
            Proven::Best => match self.former.stability {
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
        let Some(machines) = &mut self.machines else {
            self.walk_on();
            return;
        };
        if let Some(starts) = machines.step(&self.model, &mut self.chance) {
            let value = self.model.value(starts);
            if self.best.as_ref().is_none_or(|best| value < best.0) {
                let starts = starts.to_vec();
                self.take(value, self.former.moved(&starts), starts);
            }
        }
    }

    /// Lists of rules: the best of them is where the walk begins.
    fn try_first(&mut self, list: &[u16]) {
        if let Some(value) = self.maker.plain(&self.model, list) {
            let energy = self.energy(value, self.maker.starts());
            if !self.walk.stands() || energy < self.walk.footing.energy {
                self.stand_on(list.to_vec(), value);
            }
            self.note(value);
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
        if !self.walk.stands() {
            self.try_anywhere();
            return;
        }
        if self.walk.is_round() {
            self.begin_round();
        }
        let limit = self.walk.limit(&mut self.chance);
        self.walk.vary(&self.model, &mut self.chance);
        let Some(value) = self.maker.best_of(&self.model, &self.walk.candidate, limit) else {
            return;
        };
        let energy = self.energy(value, self.maker.starts());
        if energy > limit {
            return;
        }
        self.note(value);
        let footing = &mut self.walk.footing;
        footing.energy = energy;
        footing.starts.copy_from_slice(self.maker.starts());
        footing.order.copy_from_slice(&self.walk.candidate);
        if self.maker.pushes() {
            footing.order.sort_by_key(|&i| footing.starts[usize::from(i)]);
            order::repair(&self.model, &mut footing.order);
        }
        footing.waiting = self.maker.waiting();
    }

    /// No list gave a schedule yet: any order will do.
    fn try_anywhere(&mut self) {
        let noise: Vec<f64> = (0..self.model.count).map(|_| self.chance.unit()).collect();
        let span = 1.0 + f64::from(self.model.earliest.iter().copied().max().unwrap_or(0));
        let list = order::by_key(&self.model, |i| f64::from(self.model.earliest[i]) + span * noise[i]);
        self.try_first(&list);
    }

    fn begin_round(&mut self) {
        let spread = match &self.best {
            Some(best) => (best.0 - self.bound).max(1) as f64,
            None => 1.0,
        };
        // pushing schedules to and fro already smooths the way, so less heat is needed
        let share = if self.maker.pushes() { HEAT_PUSHED } else { HEAT };
        let is_first = self.walk.begin_round(share, spread);
        if !is_first {
            self.stand_on_best();
        }
    }

    fn stand_on_best(&mut self) {
        let Some((_, _, best)) = &self.best else {
            return;
        };
        let starts = best.starts.clone();
        let list = order::by_key(&self.model, |i| starts[i]);
        if let Some(value) = self.maker.plain(&self.model, &list) {
            self.stand_on(list, value);
            self.note(value);
        }
    }

    /// Lets the walk go on from the list that was decoded last.
    fn stand_on(&mut self, order: Vec<u16>, value: i64) {
        let starts = self.maker.starts().to_vec();
        let energy = self.energy(value, &starts);
        self.walk.footing = Footing { order, energy, starts, waiting: self.maker.waiting() };
    }

    fn energy(&self, value: i64, starts: &[Ticks]) -> f64 {
        value as f64 + self.former.moved(starts) as f64 / 1024.0
    }

    fn is_better(&self, value: i64, moved: i64) -> bool {
        self.best.as_ref().is_none_or(|best| (value, moved) < (best.0, best.1))
    }

    /// Takes the starts that were made last, if they are the best so far.
    fn note(&mut self, value: i64) {
        let moved = self.former.moved(self.maker.starts());
        if self.is_better(value, moved) {
            let starts = self.maker.starts().to_vec();
            self.take(value, moved, starts);
        }
    }

    fn take(&mut self, value: i64, moved: i64, starts: Vec<Ticks>) {
        let schedule = Schedule { starts };
        if check(self.problem, &schedule) == Ok(value) {
            self.best = Some((value, moved, schedule));
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
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
        let lags = prop::collection::vec((0..count, 0..count, 0..5i32, 0..4i32, any::<bool>()), 0..count);
        let pair = (0..count, 0..count, 0..3i32, 0..3i32);
        let windows = prop::collection::vec((0..count, 0..6i32, 4..12i32), 0..2);
        let weights = prop::collection::vec((0..count, 0..4i64), 0..3);
        (activities, lags, pair, windows, weights).prop_map(move |(activities, lags, pair, windows, weights)| {
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
        })
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
    pub(crate) fn eight_dishes() -> Draft {
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
    fn a_stop_is_heard_within_a_few_evaluations() {
        let problem = eight_dishes().build().unwrap();
        let mut search = Search::new(&problem, 1);
        let mut asked = 0;
        let progress = search.improve(u64::MAX, &mut || {
            asked += 1;
            asked < 3
        });
        assert!(progress.evaluations <= 3 * BREATH);
        assert_eq!(search.improve(100, &mut || false).evaluations, progress.evaluations);
    }

    #[test]
    fn offered_schedules_are_taken_only_if_they_hold_and_are_better() {
        let problem = eight_dishes().build().unwrap();
        let mut search = Search::new(&problem, 1);
        let good = Search::new(&problem, 2).improve(3000, &mut always).best.unwrap();
        let broken = Schedule { starts: vec![0; problem.len()] };
        assert!(!search.offer(&broken));
        assert!(search.offer(&good));
        assert!(!search.offer(&good));
        assert_eq!(search.value(), Some(problem.value(&good.starts)));
    }
}
