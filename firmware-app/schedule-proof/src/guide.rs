//! How the library's search is guided, counted and stopped.

use std::cell::Cell;
use std::rc::Rc;

use pumpkin_core::Solver;
use pumpkin_core::branching::branchers::autonomous_search::AutonomousSearch;
use pumpkin_core::branching::branchers::dynamic_brancher::DynamicBrancher;
use pumpkin_core::branching::branchers::independent_variable_value_brancher::IndependentVariableValueBrancher;
use pumpkin_core::branching::value_selection::InDomainMin;
use pumpkin_core::branching::variable_selection::Smallest;
use pumpkin_core::branching::{Brancher, BrancherEvent, SelectionContext};
use pumpkin_core::predicates::Predicate;
use pumpkin_core::results::SolutionReference;
use pumpkin_core::termination::TerminationCondition;
use pumpkin_core::variables::DomainId;

use crate::quiet::aloud;

/// How many steps of the library pass between two questions whether to go on.
const BREATH: u32 = 16;

/// Decides by what was learned from conflicts, near the best schedule; at first, the earliest start comes first.
pub(crate) type Guide = Counted<AutonomousSearch<DynamicBrancher>>;

/// Counts conflicts and what they speak of, and knows whether the last thing that happened was a decision.
#[derive(Debug)]
pub(crate) struct Counted<B> {
    inner: B,
    pub(crate) conflicts: Rc<Cell<u64>>,
    decided: Rc<Cell<bool>>,
    spoken_of: Spoken,
}

/// About how many different predicates conflicts spoke of. The library keeps a dozen tables of them and forgets none,
/// so this says how much memory it holds.
#[derive(Debug)]
struct Spoken {
    /// One bit for many predicates, by chance.
    bits: Vec<u64>,
    count: Rc<Cell<u32>>,
}

impl Spoken {
    const BITS: usize = 1 << 16;

    fn new() -> Spoken {
        Spoken { bits: vec![0; Spoken::BITS / 64], count: Rc::new(Cell::new(0)) }
    }

    fn note(&mut self, predicate: Predicate) {
        let kind = if predicate.is_lower_bound_predicate() { 1 } else { 2 };
        let word = u64::from(predicate.get_domain().id()) << 34 ^ (kind << 32) ^ predicate.get_right_hand_side() as u64;
        let bit = (word.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 48) as usize;
        let (index, mask) = (bit / 64, 1 << (bit % 64));
        if self.bits[index] & mask == 0 {
            self.bits[index] |= mask;
            self.count.set(self.count.get() + 1);
        }
    }
}

impl Guide {
    pub(crate) fn by_conflicts(solver: &Solver, starts: &[DomainId]) -> Guide {
        let earliest_first = IndependentVariableValueBrancher::new(Smallest::new(starts), InDomainMin);
        let anything = solver.default_brancher();
        let fallback = DynamicBrancher::new(vec![Box::new(earliest_first), Box::new(anything)]);
        Counted::new(AutonomousSearch::new(fallback))
    }
}

impl<B> Counted<B> {
    pub(crate) fn new(inner: B) -> Counted<B> {
        Counted {
            inner,
            conflicts: Rc::new(Cell::new(0)),
            decided: Rc::new(Cell::new(false)),
            spoken_of: Spoken::new(),
        }
    }

    /// About how many different predicates the conflicts spoke of, less where there are many.
    pub(crate) fn spoken_of(&self) -> u32 {
        self.spoken_of.count.get()
    }
}

impl<B: Brancher> Brancher for Counted<B> {
    fn next_decision(&mut self, context: &mut SelectionContext) -> Option<Predicate> {
        let decision = self.inner.next_decision(context);
        self.decided.set(decision.is_some());
        decision
    }

    fn on_conflict(&mut self) {
        self.conflicts.set(self.conflicts.get() + 1);
        self.decided.set(false);
        self.inner.on_conflict();
    }

    fn on_backtrack(&mut self) {
        self.inner.on_backtrack();
    }

    fn on_solution(&mut self, solution: SolutionReference) {
        self.inner.on_solution(solution);
    }

    fn on_unassign_integer(&mut self, variable: DomainId, value: i32) {
        self.inner.on_unassign_integer(variable, value);
    }

    fn on_appearance_in_conflict_predicate(&mut self, predicate: Predicate) {
        self.spoken_of.note(predicate);
        self.inner.on_appearance_in_conflict_predicate(predicate);
    }

    fn on_restart(&mut self) {
        self.inner.on_restart();
    }

    fn synchronise(&mut self, context: &mut SelectionContext) {
        self.inner.synchronise(context);
    }

    fn is_restart_pointless(&mut self) -> bool {
        self.inner.is_restart_pointless()
    }

    fn subscribe_to_events(&self) -> Vec<BrancherEvent> {
        let mut events = self.inner.subscribe_to_events();
        if !events.contains(&BrancherEvent::Conflict) {
            events.push(BrancherEvent::Conflict);
        }
        events
    }
}

/// Stops at a number of conflicts or when told to, but only right after a decision: stopped before the first one, the
/// library does not find its way back to a state in which it can be asked again.
pub(crate) struct Until<'a> {
    conflicts: Rc<Cell<u64>>,
    decided: Rc<Cell<bool>>,
    end: u64,
    breath: u32,
    stopped: bool,
    go_on: &'a mut dyn FnMut() -> bool,
}

impl<'a> Until<'a> {
    pub(crate) fn new<B>(guide: &Counted<B>, end: u64, go_on: &'a mut dyn FnMut() -> bool) -> Until<'a> {
        guide.decided.set(false);
        Until {
            conflicts: guide.conflicts.clone(),
            decided: guide.decided.clone(),
            end,
            breath: 0,
            stopped: false,
            go_on,
        }
    }
}

impl TerminationCondition for Until<'_> {
    fn should_stop(&mut self) -> bool {
        self.breath = self.breath.wrapping_add(1);
        if !self.stopped && self.breath.is_multiple_of(BREATH) {
            self.stopped = !aloud(|| (self.go_on)());
        }
        self.decided.get() && (self.stopped || self.conflicts.get() >= self.end)
    }
}
