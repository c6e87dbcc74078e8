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

/// How many steps of the library pass between two questions whether to go on.
const BREATH: u32 = 16;

/// Decides by what was learned from conflicts, near the best schedule; at first, the earliest start comes first.
pub(crate) type Guide = Counted<AutonomousSearch<DynamicBrancher>>;

/// Counts conflicts, and knows whether the last thing that happened was a decision.
#[derive(Debug)]
pub(crate) struct Counted<B> {
    inner: B,
    pub(crate) conflicts: Rc<Cell<u64>>,
    decided: Rc<Cell<bool>>,
}

impl Guide {
    pub(crate) fn by_conflicts(solver: &Solver, starts: &[DomainId]) -> Guide {
        let earliest_first =
            IndependentVariableValueBrancher::new(Smallest::new(starts), InDomainMin);
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
        }
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
    pub(crate) fn new<B>(
        guide: &Counted<B>,
        end: u64,
        go_on: &'a mut dyn FnMut() -> bool,
    ) -> Until<'a> {
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
            self.stopped = !(self.go_on)();
        }
        self.decided.get() && (self.stopped || self.conflicts.get() >= self.end)
    }
}
