//! A proof in the making: nothing better exists, something better does, or nothing at all.

use pumpkin_conflict_resolvers::resolvers::{AnalysisMode, ResolutionResolver};
use pumpkin_core::Solver;
use pumpkin_core::branching::Brancher;
use pumpkin_core::branching::branchers::dynamic_brancher::DynamicBrancher;
use pumpkin_core::branching::branchers::warm_start::WarmStart;
use pumpkin_core::predicate;
use pumpkin_core::results::{ProblemSolution, SatisfactionResult};
use schedule::{Problem, Proven, Schedule, Ticks, check};
use thiserror::Error;

use crate::guide::{Counted, Guide, Until};
use crate::model::{Model, write_down};
use crate::quiet::quietly;

/// Conflicts after which a known schedule is no longer followed; it should meet none.
const CONFLICTS_TO_FOLLOW: u64 = 20;

/// Why a problem cannot be handed to the library.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum ProofError {
    /// Sums that do not fit.
    #[error("expected values up to {largest}, found {found}: use smaller weights or a coarser grid")]
    TooLarge {
        /// The largest value that could come up.
        found: i64,
        /// The largest that fits.
        largest: i64,
    },
}

/// How often the problem is written down again after a panic of the library.
const MOST_PANICS: u64 = 5;
/// Bytes for what the library learns, and what each order of a pair takes of them.
const ROOM: u64 = 9_500_000;
const LEAST_ROOM: u64 = 3_000_000;
const ROOM_OF_ORDER: u64 = 5_000;

/// What the library answered.
enum Told {
    Schedule(Vec<Ticks>),
    Nothing,
    Open,
}

/// A proof that can be stopped, taken up again and told of better schedules in between.
///
/// It stays on the thread it was made on. The same problem, seed, schedules told and conflicts give the same result.
pub struct Proof<'p> {
    problem: &'p Problem,
    model: Model,
    guide: Guide,
    resolver: ResolutionResolver,
    best: Option<(i64, Schedule)>,
    bound: i64,
    proven: Proven,
    distrusted: bool,
    seed: u64,
    begun_anew: u64,
    panics: u64,
    /// Bytes that what was learned may take before it is thrown away.
    room: u64,
}

impl<'p> Proof<'p> {
    /// Writes the problem down for the library; a known schedule that breaks nothing makes everything shorter.
    pub fn new(problem: &'p Problem, known: Option<&Schedule>, seed: u64) -> Result<Proof<'p>, ProofError> {
        let most = known.and_then(|known| check(problem, known).ok());
        let model = write_down(problem, most, seed)?;
        let mut proof = Proof {
            guide: Guide::by_conflicts(&model.solver, &model.starts),
            resolver: resolver(),
            best: None,
            bound: model.least,
            proven: Proven::Open,
            distrusted: false,
            seed,
            begun_anew: 0,
            panics: 0,
            room: room(&model),
            problem,
            model,
        };
        if proof.model.impossible || proof.model.solver.is_inconsistent() {
            proof.close();
        }
        if let Some(known) = known {
            proof.learn(known);
        }
        Ok(proof)
    }

    /// Tells of a schedule found elsewhere; from then on only better ones are wanted. Worse or broken ones are ignored.
    pub fn learn(&mut self, schedule: &Schedule) {
        let Ok(value) = check(self.problem, schedule) else {
            return;
        };
        if self.best.as_ref().is_some_and(|best| best.0 <= value) {
            return;
        }
        if self.is_open() {
            self.follow(schedule);
        }
        self.want_less_than(value, schedule.clone());
    }

    /// Goes on for that many conflicts, as long as `go_on` says so and nothing is proven; comes back early with a better
    /// schedule, to be asked again for the next one.
    pub fn step(&mut self, conflicts: u64, go_on: &mut dyn FnMut() -> bool) -> Proven {
        let end = self.conflicts().saturating_add(conflicts);
        if self.is_open() && self.conflicts() < end {
            let mut until = Until::new(&self.guide, end, self.room, go_on);
            let asked = || {
                let solver = &mut self.model.solver;
                match solver.satisfy(&mut self.guide, &mut until, &mut self.resolver) {
                    SatisfactionResult::Satisfiable(found) => {
                        let solution = found.solution();
                        let starts = self.model.starts.iter();
                        let starts = starts.map(|&start| solution.get_integer_value(start));
                        Told::Schedule(starts.collect())
                    }
                    SatisfactionResult::Unsatisfiable(..) => Told::Nothing,
                    SatisfactionResult::Unknown(..) => Told::Open,
                }
            };
            // the library panics where it doubts itself; what it holds is then thrown away
            let starts = match quietly(asked) {
                Some(Told::Schedule(starts)) => starts,
                Some(Told::Nothing) => {
                    self.close();
                    return self.proven;
                }
                Some(Told::Open) => {
                    if self.guide.held() > self.room {
                        // more room each time, so that a long proof comes to its end
                        self.room += self.room / 2;
                        self.begin_anew();
                    }
                    return self.proven;
                }
                None => {
                    self.panics += 1;
                    self.begin_anew();
                    return self.proven;
                }
            };
            let schedule = Schedule { starts };
            // what breaks a demand is never passed on, nor anything proven after it
            let Ok(value) = check(self.problem, &schedule) else {
                self.distrusted = true;
                return self.proven;
            };
            self.want_less_than(value, schedule);
        }
        self.proven
    }

    /// Whether more conflicts may bring something: nothing is proven yet, and the library gave no cause for distrust.
    pub fn is_open(&self) -> bool {
        self.proven == Proven::Open && !self.distrusted
    }

    /// What is known without doubt.
    pub fn proven(&self) -> Proven {
        self.proven
    }

    /// The best schedule told or found, with its value.
    pub fn best(&self) -> Option<(i64, &Schedule)> {
        self.best.as_ref().map(|best| (best.0, &best.1))
    }

    /// A value that no schedule gets below.
    pub fn bound(&self) -> i64 {
        self.bound
    }

    /// Conflicts met since the proof was made.
    pub fn conflicts(&self) -> u64 {
        self.guide.conflicts.get()
    }

    /// Throws away what the library holds and writes the problem down again, with the best schedule and the count of conflicts but nothing learned.
    fn begin_anew(&mut self) {
        self.begun_anew += 1;
        let value = self.best.as_ref().map(|best| best.0);
        let seed = self.seed.wrapping_add(self.begun_anew);
        let conflicts = self.conflicts();
        // what there was goes before the new one comes, so that there are never two
        self.model.solver = Solver::default();
        self.guide = Guide::by_conflicts(&self.model.solver, &[]);
        self.resolver = resolver();
        let model = match write_down(self.problem, value, seed) {
            Ok(model) if self.panics <= MOST_PANICS => model,
            Ok(_) | Err(_) => {
                self.distrusted = true;
                return;
            }
        };
        self.guide = Guide::by_conflicts(&model.solver, &model.starts);
        self.guide.conflicts.set(conflicts);
        self.model = model;
        if let Some((_, best)) = self.best.take() {
            self.learn(&best);
        }
    }

    /// Walks the library through a schedule, so that it searches near it.
    fn follow(&mut self, schedule: &Schedule) {
        let warm = WarmStart::new(&self.model.starts, &schedule.starts);
        let rest = self.model.solver.default_brancher();
        let both = DynamicBrancher::new(vec![Box::new(warm), Box::new(rest)]);
        let mut brancher = Counted::new(both);
        let mut go_on = || true;
        let mut until = Until::new(&brancher, CONFLICTS_TO_FOLLOW, u64::MAX, &mut go_on);
        let followed = || {
            let solver = &mut self.model.solver;
            if let SatisfactionResult::Satisfiable(found) =
                solver.satisfy(&mut brancher, &mut until, &mut self.resolver)
            {
                self.guide.on_solution(found.solution());
            }
        };
        if quietly(followed).is_none() {
            self.distrusted = true;
        }
    }

    fn want_less_than(&mut self, value: i64, schedule: Schedule) {
        self.best = Some((value, schedule));
        if self.is_open() && !self.model.solver.is_inconsistent() {
            let tag = self.model.solver.new_constraint_tag();
            let most = (value - 1) as i32;
            self.model.solver.add_clause([predicate![self.model.value <= most]], tag);
        }
        if value <= self.bound || (!self.distrusted && self.model.solver.is_inconsistent()) {
            self.close();
        }
    }

    /// The library has nothing left to search.
    fn close(&mut self) {
        self.proven = match &self.best {
            Some(best) => {
                self.bound = best.0;
                Proven::Best
            }
            None => Proven::Impossible,
        };
    }
}

/// Room for what is learned about a problem; the problem itself takes its share of the memory first.
fn room(model: &Model) -> u64 {
    ROOM.saturating_sub(ROOM_OF_ORDER * model.orders as u64).max(LEAST_ROOM)
}

/// How the library learns: what follows from the rest of a conflict is left out, looked for in both of its ways.
fn resolver() -> ResolutionResolver {
    ResolutionResolver::new(AnalysisMode::OneUIP, true, true)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::instances::read;
    use proptest::prelude::*;
    use schedule::{Draft, Incompatible, Search};

    fn always() -> bool {
        true
    }

    fn finish(proof: &mut Proof) -> Proven {
        while proof.is_open() {
            proof.step(u64::MAX, &mut always);
        }
        proof.proven()
    }

    /// Small problems of every kind of demand; many have no schedule.
    fn drafts(count: usize) -> impl Strategy<Value = Draft> {
        let activities = prop::collection::vec((0..4i32, 0..3i32, 0..2i32), count);
        let lags = prop::collection::vec((0..count, 0..count, -4..5i32), 0..2 * count);
        let pair = (0..count, 0..count, 0..3i32, 0..3i32);
        let windows = prop::collection::vec((0..count, 0..4i32, 2..9i32), 0..3);
        let weights = prop::collection::vec((0..count, 0..4i64), 0..4);
        (activities, lags, pair, windows, weights).prop_map(|(activities, lags, pair, windows, weights)| {
            let mut draft = Draft::new();
            draft.resource(2);
            draft.resource(1);
            for (duration, first, second) in activities {
                let activity = draft.activity(duration);
                draft.needs(activity, 0, first);
                draft.needs(activity, 1, second);
            }
            for (from, to, lag) in lags {
                if from != to {
                    draft.lag(from, to, lag);
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
                draft.not_before(activity, earliest);
                draft.not_after(activity, latest);
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
        let mut best: Option<i64> = None;
        loop {
            let schedule = Schedule { starts };
            if let Ok(value) = check(problem, &schedule) {
                best = Some(best.map_or(value, |best| best.min(value)));
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
        #![proptest_config(ProptestConfig::with_cases(250))]

        #[test]
        fn proofs_agree_with_trying_everything(draft in drafts(4), warm in any::<bool>()) {
            if let Ok(problem) = draft.build() {
                let known = Search::new(&problem, 1).improve(if warm { 30 } else { 0 }, &mut always).best;
                let mut proof = Proof::new(&problem, known.as_ref(), 1).unwrap();
                let proven = finish(&mut proof);
                let best = by_trying_all(&problem, 22);
                match best {
                    Some(best) => {
                        prop_assert_eq!(proven, Proven::Best);
                        prop_assert_eq!(proof.best().map(|found| found.0), Some(best));
                        prop_assert_eq!(proof.bound(), best);
                    }
                    None => prop_assert_eq!(proven, Proven::Impossible),
                }
            }
        }

        #[test]
        fn a_proof_cut_in_pieces_comes_to_the_same_value(draft in drafts(9), piece in 1..9u64) {
            if let Ok(problem) = draft.build() {
                let mut whole = Proof::new(&problem, None, 1).unwrap();
                let mut pieces = Proof::new(&problem, None, 1).unwrap();
                finish(&mut whole);
                for _ in 0..2000 {
                    if pieces.is_open() {
                        pieces.step(piece, &mut always);
                    }
                }
                prop_assert_eq!(pieces.proven(), whole.proven());
                prop_assert_eq!(pieces.best().map(|b| b.0), whole.best().map(|b| b.0));
            }
        }
    }

    #[test]
    fn job_shops_and_kitchens_are_proven_at_their_known_best() {
        let mut seen = 0;
        for text in [include_str!("../tests/data/jobshop.json"), include_str!("../tests/data/kitchen.json")] {
            for instance in read(text).unwrap() {
                let problem = instance.problem().unwrap();
                let known = Search::new(&problem, 1).improve(2000, &mut always).best;
                let mut proof = Proof::new(&problem, known.as_ref(), 1).unwrap();
                assert_eq!(finish(&mut proof), Proven::Best, "{}", instance.name);
                assert_eq!(proof.best().map(|b| b.0), instance.opt, "{}", instance.name);
                seen += 1;
            }
        }
        assert_eq!(seen, 9);
    }

    #[test]
    fn a_proof_can_be_stopped_at_any_time_and_taken_up_again() {
        let instances = read(include_str!("../tests/data/jobshop.json")).unwrap();
        let problem = instances[0].problem().unwrap();
        let known = Search::new(&problem, 1).improve(10, &mut always).best;
        let mut proof = Proof::new(&problem, known.as_ref(), 1).unwrap();
        for stop in 0..200 {
            let mut left = stop % 7;
            proof.step(50, &mut || {
                left -= 1;
                left > 0
            });
        }
        assert_eq!(finish(&mut proof), Proven::Best);
        assert_eq!(proof.best().map(|b| b.0), Some(55));
    }

    #[test]
    fn a_proof_without_room_begins_anew_and_still_comes_to_its_end() {
        let instances = read(include_str!("../tests/data/kitchen.json")).unwrap();
        let instance = instances.iter().max_by_key(|instance| instance.tasks.len()).unwrap();
        let problem = instance.problem().unwrap();
        let known = Search::new(&problem, 1).improve(2000, &mut always).best;
        let mut proof = Proof::new(&problem, known.as_ref(), 1).unwrap();
        proof.room = 10_000;
        assert_eq!(finish(&mut proof), Proven::Best);
        assert_eq!(proof.best().map(|b| b.0), instance.opt);
        assert!(proof.begun_anew > 2, "begun anew {} times", proof.begun_anew);
        assert_eq!(proof.panics, 0);
    }

    #[test]
    fn values_that_do_not_fit_are_refused_in_words() {
        let mut draft = Draft::new();
        let (a, b) = (draft.activity(1000), draft.activity(1000));
        draft.weigh(a, 1 << 40);
        draft.weigh(b, 1);
        let problem = draft.build().unwrap();
        let error = Proof::new(&problem, None, 1).err().unwrap();
        assert!(error.to_string().contains("coarser grid"), "{error}");
    }
}
