//! All distances between starts in one propagator of the library: lags, and pairs in either order.
//!
//! The library's own sum of two terms keeps incremental state for every single lag and for both orders of every pair;
//! here one list of what has changed does for all.

use pumpkin_core::declare_inference_label;
use pumpkin_core::predicate;
use pumpkin_core::predicates::Predicate;
use pumpkin_core::proof::{ConstraintTag, InferenceCode};
use pumpkin_core::propagation::{
    DomainEvents, EnqueueDecision, EventsToRegister, ExplanationContext, LazyExplanation, LocalId, NotificationContext,
    OpaqueDomainEvent, Priority, PropagationContext, Propagator, PropagatorConstructor, PropagatorConstructorContext,
    PropagatorSpec, ReadDomains, RuntimeCheckers,
};
use pumpkin_core::state::PropagationStatusCP;
use pumpkin_core::variables::{DomainId, Literal};

declare_inference_label!(StartDistance);

/// `to >= from + lag`, always or only if a literal holds.
#[derive(Clone, Copy, Debug)]
struct Arc {
    from: u32,
    to: u32,
    lag: i32,
    /// The predicate on which it hangs, and the one that says that it does not hold.
    hangs_on: Option<(Predicate, Predicate)>,
}

/// The distances of a problem, collected one by one.
#[derive(Clone, Debug)]
pub(crate) struct Distances {
    starts: Vec<DomainId>,
    orders: Vec<(Literal, usize)>,
    arcs: Vec<Arc>,
    tag: ConstraintTag,
}

impl Distances {
    pub(crate) fn between(starts: &[DomainId], tag: ConstraintTag) -> Distances {
        Distances { starts: starts.to_vec(), orders: Vec::new(), arcs: Vec::new(), tag }
    }

    /// Demands that one starts at least `lag` after another.
    pub(crate) fn lag(&mut self, from: usize, to: usize, lag: i32) {
        self.arcs.push(Arc { from: from as u32, to: to as u32, lag, hangs_on: None });
    }

    /// Demands the one distance if the literal holds, and the other one, back, if it does not.
    pub(crate) fn either(&mut self, order: Literal, (one, other): (usize, usize), lag: i32, back: i32) {
        let (holds, fails) = (order.get_true_predicate(), order.get_false_predicate());
        self.orders.push((order, self.arcs.len()));
        let (one, other) = (one as u32, other as u32);
        self.arcs.push(Arc { from: one, to: other, lag, hangs_on: Some((holds, fails)) });
        self.arcs.push(Arc { from: other, to: one, lag: back, hangs_on: Some((fails, holds)) });
    }
}

impl PropagatorConstructor for Distances {
    type PropagatorImpl = DistancePropagator;

    fn create(self, _: PropagatorConstructorContext) -> PropagatorSpec<DistancePropagator> {
        let count = self.starts.len();
        let mut registration = EventsToRegister::builder();
        for (i, start) in self.starts.iter().enumerate() {
            registration = registration.add(start, DomainEvents::BOUNDS, LocalId::from(i as u32));
        }
        for (index, (order, _)) in self.orders.iter().enumerate() {
            registration = registration.add(order, DomainEvents::BOUNDS, LocalId::from((count + index) as u32));
        }
        let mut at = vec![Vec::new(); count];
        for (index, arc) in self.arcs.iter().enumerate() {
            at[arc.from as usize].push(index as u32);
            at[arc.to as usize].push(index as u32);
        }
        let all = count + self.orders.len();
        let propagator = DistancePropagator {
            at,
            first_arc: self.orders.iter().map(|order| order.1 as u32).collect(),
            starts: self.starts,
            arcs: self.arcs,
            changed: (0..all as u32).collect(),
            is_changed: vec![true; all],
            reason: Vec::with_capacity(2),
            code: InferenceCode::new(self.tag, StartDistance),
        };
        PropagatorSpec { registration: registration.build(), checkers: RuntimeCheckers::empty(), propagator }
    }
}

/// What an arc told the library; with the index of the arc this is all that a reason needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Told {
    /// The earliest start of its end.
    Earliest = 0,
    /// The latest start of its beginning.
    Latest = 1,
    /// That there is no room for it.
    NoRoom = 2,
}

/// Keeps the bounds of starts at their distances.
#[derive(Clone, Debug)]
pub(crate) struct DistancePropagator {
    starts: Vec<DomainId>,
    arcs: Vec<Arc>,
    /// The arcs at each start.
    at: Vec<Vec<u32>>,
    /// The first of the two arcs of each order.
    first_arc: Vec<u32>,
    /// Starts, and behind them orders, that changed since they were looked at.
    changed: Vec<u32>,
    is_changed: Vec<bool>,
    reason: Vec<Predicate>,
    code: InferenceCode,
}

impl DistancePropagator {
    /// Tells the library what follows from one arc.
    fn follow(&self, index: u32, context: &mut PropagationContext) -> PropagationStatusCP {
        let arc = self.arcs[index as usize];
        let (from, to) = (self.starts[arc.from as usize], self.starts[arc.to as usize]);
        let code = |told: Told| u64::from(index) * 4 + told as u64;
        if let Some((holds, fails)) = arc.hangs_on {
            match context.evaluate_predicate(holds) {
                Some(true) => {}
                Some(false) => return Ok(()),
                None => {
                    if context.lower_bound(&from) + arc.lag > context.upper_bound(&to) {
                        context.post(fails, code(Told::NoRoom))?;
                    }
                    return Ok(());
                }
            }
        }
        let earliest = context.lower_bound(&from) + arc.lag;
        if earliest > context.lower_bound(&to) {
            context.post(predicate![to >= earliest], code(Told::Earliest))?;
        }
        let latest = context.upper_bound(&to) - arc.lag;
        if latest < context.upper_bound(&from) {
            context.post(predicate![from <= latest], code(Told::Latest))?;
        }
        Ok(())
    }
}

impl Propagator for DistancePropagator {
    fn name(&self) -> &str {
        "Distances"
    }

    fn priority(&self) -> Priority {
        Priority::High
    }

    fn notify(&mut self, _: NotificationContext, id: LocalId, _: OpaqueDomainEvent) -> EnqueueDecision {
        let id = id.unpack();
        if !std::mem::replace(&mut self.is_changed[id as usize], true) {
            self.changed.push(id);
        }
        EnqueueDecision::Enqueue
    }

    fn propagate(&mut self, mut context: PropagationContext) -> PropagationStatusCP {
        // what is told here comes back as a change; after a conflict the rest is looked at again in vain, no more
        while let Some(&id) = self.changed.last() {
            let id = id as usize;
            match id.checked_sub(self.starts.len()) {
                None => {
                    for &index in &self.at[id] {
                        self.follow(index, &mut context)?;
                    }
                }
                Some(order) => {
                    let first = self.first_arc[order];
                    self.follow(first, &mut context)?;
                    self.follow(first + 1, &mut context)?;
                }
            }
            self.changed.pop();
            self.is_changed[id] = false;
        }
        Ok(())
    }

    fn propagate_from_scratch(&self, mut context: PropagationContext) -> PropagationStatusCP {
        (0..self.arcs.len() as u32).try_for_each(|index| self.follow(index, &mut context))
    }

    fn lazy_explanation(&mut self, code: u64, context: ExplanationContext) -> LazyExplanation<'_> {
        let arc = self.arcs[(code / 4) as usize];
        let (from, to) = (self.starts[arc.from as usize], self.starts[arc.to as usize]);
        let then = context.get_trail_position();
        let earliest = || predicate![from >= context.lower_bound_at_trail_position(&from, then)];
        let latest = || predicate![to <= context.upper_bound_at_trail_position(&to, then)];
        self.reason.clear();
        if code % 4 == Told::Earliest as u64 {
            self.reason.push(earliest());
            self.reason.extend(arc.hangs_on.map(|literal| literal.0));
        } else if code % 4 == Told::Latest as u64 {
            self.reason.push(latest());
            self.reason.extend(arc.hangs_on.map(|literal| literal.0));
        } else {
            self.reason.extend([earliest(), latest()]);
        }
        LazyExplanation { predicates: &self.reason, inference_code: self.code.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guide::{Guide, Until};
    use pumpkin_conflict_resolvers::resolvers::ResolutionResolver;
    use pumpkin_core::Solver;
    use pumpkin_core::results::{ProblemSolution, SatisfactionResult};

    /// The first solution of three starts of 0 to 20, each as early as it can be.
    fn earliest(lags: &[(usize, usize, i32)], either: (usize, usize, i32, i32)) -> Option<Vec<i32>> {
        let mut solver = Solver::default();
        let starts: Vec<DomainId> = (0..3).map(|_| solver.new_bounded_integer(0, 20)).collect();
        let order = solver.new_literal();
        let mut distances = Distances::between(&starts, solver.new_constraint_tag());
        for &(from, to, lag) in lags {
            distances.lag(from, to, lag);
        }
        let (one, other, lag, back) = either;
        distances.either(order, (one, other), lag, back);
        let _ = solver.add_propagator(distances);
        let mut guide = Guide::by_conflicts(&solver, &starts);
        let mut go_on = || true;
        let mut until = Until::new(&guide, u64::MAX, u64::MAX, &mut go_on);
        match solver.satisfy(&mut guide, &mut until, &mut ResolutionResolver::default()) {
            SatisfactionResult::Satisfiable(found) => {
                let solution = found.solution();
                Some(starts.iter().map(|&start| solution.get_integer_value(start)).collect())
            }
            SatisfactionResult::Unsatisfiable(..) | SatisfactionResult::Unknown(..) => None,
        }
    }

    #[test]
    fn starts_keep_their_distances_and_an_order_without_room_is_turned() {
        // 17 after a start of at least 5 is too late, so the other one is first, with 3 between
        assert_eq!(earliest(&[(0, 1, 5), (1, 0, -9)], (1, 2, 17, 3)), Some(vec![0, 5, 0]));
        // a chain pushes the end, a longest wait pulls the beginning behind it
        assert_eq!(earliest(&[(0, 1, 5), (1, 2, 8), (2, 0, -13)], (0, 2, 2, 2)), Some(vec![0, 5, 13]));
    }

    #[test]
    fn rings_and_pairs_without_room_have_no_solution() {
        assert_eq!(earliest(&[(0, 1, 5), (1, 0, -4)], (0, 2, 0, 0)), None);
        assert_eq!(earliest(&[(0, 1, 15)], (1, 0, 1, 21)), None);
    }
}
