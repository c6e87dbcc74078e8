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
    held: Held,
}

/// What the library holds for what it learned, in bytes, about: it keeps every learned clause, and a dozen tables of
/// the different predicates that conflicts speak of. Measured on job-shops and kitchens.
#[derive(Debug)]
struct Held {
    /// One bit for several predicates, by chance; where many are set, less is counted.
    bits: Vec<u64>,
    bytes: Rc<Cell<u64>>,
}

impl Held {
    const BITS: usize = 1 << 16;
    const A_CONFLICT: u64 = 450;
    const A_PREDICATE: u64 = 180;

    fn add(&self, bytes: u64) {
        self.bytes.set(self.bytes.get() + bytes);
    }

    fn note(&mut self, predicate: Predicate) {
        let kind = if predicate.is_lower_bound_predicate() { 1 } else { 2 };
        let value = predicate.get_right_hand_side() as u32;
        let word = (u64::from(predicate.get_domain().id()) << 34) ^ (kind << 32) ^ u64::from(value);
        let bit = (word.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 48) as usize % Held::BITS;
        let (index, mask) = (bit / 64, 1 << (bit % 64));
        if self.bits[index] & mask == 0 {
            self.bits[index] |= mask;
            self.add(Held::A_PREDICATE);
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
            held: Held { bits: vec![0; Held::BITS / 64], bytes: Rc::new(Cell::new(0)) },
        }
    }

    /// About how many bytes the library holds for what it learned.
    pub(crate) fn held(&self) -> u64 {
        self.held.bytes.get()
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
        self.held.add(Held::A_CONFLICT);
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
        self.held.note(predicate);
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

/// Stops at a number of conflicts, when what was learned has no room, or when told to, but only right after a decision: stopped before the first one, the
/// library does not find its way back to a state in which it can be asked again.
pub(crate) struct Until<'a> {
    conflicts: Rc<Cell<u64>>,
    decided: Rc<Cell<bool>>,
    held: Rc<Cell<u64>>,
    end: u64,
    room: u64,
    breath: u32,
    stopped: bool,
    go_on: &'a mut dyn FnMut() -> bool,
}

impl<'a> Until<'a> {
    pub(crate) fn new<B>(guide: &Counted<B>, end: u64, room: u64, go_on: &'a mut dyn FnMut() -> bool) -> Until<'a> {
        guide.decided.set(false);
        Until {
            conflicts: guide.conflicts.clone(),
            decided: guide.decided.clone(),
            held: guide.held.bytes.clone(),
            end,
            room,
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
        let is_over = self.stopped || self.conflicts.get() >= self.end || self.held.get() > self.room;
        self.decided.get() && is_over
    }
}
