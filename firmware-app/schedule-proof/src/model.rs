//! A problem written down in the library's constraints.

use std::collections::BTreeMap;

use pumpkin_constraints::{cumulative_with_options, disjunctive_strict, less_than_or_equals};
use pumpkin_core::Solver;
use pumpkin_core::options::{RestartOptions, SolverOptions};
use pumpkin_core::rand::SeedableRng;
use pumpkin_core::rand::rngs::SmallRng;
use pumpkin_core::variables::{AffineView, DomainId, TransformableVariable};
use pumpkin_propagators::cumulative::options::{CumulativeOptions, CumulativePropagationMethod};
use pumpkin_propagators::cumulative::time_table::CumulativeExplanationType;
use pumpkin_propagators::disjunctive::ArgDisjunctiveTask;
use schedule::{Bounds, Problem, bounds};

use crate::distances::Distances;
use crate::proof::ProofError;

/// The largest number in the library's sums: they are kept in 32 bits.
const LARGEST: i64 = 1 << 30;

/// The library's side of a problem.
pub(crate) struct Model {
    pub(crate) solver: Solver,
    pub(crate) starts: Vec<DomainId>,
    /// What is minimised; at least the value of the starts.
    pub(crate) value: DomainId,
    /// The value that nothing gets below, known before any search.
    pub(crate) least: i64,
    /// How many pairs have their order still open.
    pub(crate) orders: usize,
    /// Whether windows already leave no start to some activity.
    pub(crate) impossible: bool,
}

/// Writes the problem down; with `most`, only schedules of at most that value are wanted.
pub(crate) fn write_down(problem: &Problem, most: Option<i64>, seed: u64) -> Result<Model, ProofError> {
    let known = bounds(problem);
    let horizon = horizon(problem);
    let largest_value: i64 =
        problem.weights().iter().map(|weight| weight.1.saturating_mul(horizon)).fold(0, i64::saturating_add);
    let most = most.unwrap_or(largest_value);
    if most > LARGEST || largest_value > LARGEST {
        return Err(ProofError::TooLarge { found: largest_value.max(most), largest: LARGEST });
    }
    let mut solver = Solver::with_options(SolverOptions {
        random_generator: SmallRng::seed_from_u64(seed),
        // megabytes set aside for what is learned; it grows when needed
        memory_preallocated: 1,
        restart_options: RestartOptions { min_num_conflicts_before_first_restart: 200, ..RestartOptions::default() },
        ..SolverOptions::default()
    });
    let latest = latest_starts(problem, &known, most, horizon);
    let mut impossible = problem.contradicts_itself();
    let mut earliest: Vec<i32> = (0..problem.len()).map(|i| problem.earliest(i)).collect();
    for (&(i, _), &by_work) in problem.weights().iter().zip(&known.earliest) {
        earliest[i] = by_work;
    }
    let starts: Vec<DomainId> = (0..problem.len())
        .map(|i| {
            let earliest = earliest[i];
            impossible |= latest[i] < i64::from(earliest);
            let latest = latest[i].max(i64::from(earliest)) as i32;
            solver.new_bounded_integer(earliest, latest)
        })
        .collect();
    let mut model = Model { value: starts[0], solver, starts, least: known.value, orders: 0, impossible };
    model.resources(problem);
    let mut distances = Distances::between(&model.starts, model.solver.new_constraint_tag());
    Model::lags(problem, &mut distances);
    model.orders(problem, &mut distances);
    let _ = model.solver.add_propagator(distances);
    model.least_sums(&known);
    model.value(problem, &known, most);
    Ok(model)
}

impl Model {
    /// Lags that were given or derived, and others that do not follow from two more.
    fn lags(problem: &Problem, distances: &mut Distances) {
        let count = problem.len();
        let given = |i: usize, j: usize, lag: i32| {
            let mut lags = problem.lags().iter().chain(problem.derived_lags());
            lags.any(|known| (known.from, known.to, known.lag) == (i, j, lag))
        };
        for i in 0..count {
            for j in (0..count).filter(|&j| j != i) {
                let Some(lag) = problem.longest_lag(i, j) else {
                    continue;
                };
                let follows = (0..count).filter(|&k| k != i && k != j).any(|k| {
                    let first = problem.longest_lag(i, k);
                    let second = problem.longest_lag(k, j);
                    matches!((first, second), (Some(first), Some(second)) if first + second >= lag)
                });
                // in a ring without slack all lags follow from each other, so the given and derived ones stay in any case
                if !follows || given(i, j, lag) {
                    distances.lag(i, j, lag);
                }
            }
        }
    }

    fn resources(&mut self, problem: &Problem) {
        for (resource, &capacity) in problem.capacities().iter().enumerate() {
            let users: Vec<(usize, i32)> = (0..problem.len())
                .filter(|&i| problem.duration(i) > 0)
                .filter_map(|i| {
                    let amount = problem.demands(i).iter().find(|d| d.0 == resource)?.1;
                    (amount > 0).then_some((i, amount))
                })
                .collect();
            let sum: i64 = users.iter().map(|user| i64::from(user.1)).sum();
            if sum <= i64::from(capacity) {
                continue;
            }
            let tag = self.solver.new_constraint_tag();
            if users.iter().all(|user| 2 * i64::from(user.1) > i64::from(capacity)) {
                let tasks: Vec<ArgDisjunctiveTask<DomainId>> = users
                    .iter()
                    .map(|&(i, _)| ArgDisjunctiveTask {
                        start_time: self.starts[i],
                        processing_time: problem.duration(i),
                    })
                    .collect();
                self.solver.add_constraint(disjunctive_strict(tasks, tag)).post();
                // the orders of all pairs, written down besides, say the rest
                continue;
            }
            let options = CumulativeOptions::new(
                false,
                CumulativeExplanationType::BigStep,
                false,
                // the incremental kinds panic more often when asked again after a better schedule was told
                CumulativePropagationMethod::TimeTableOverInterval,
                false,
            );
            self.solver
                .add_constraint(cumulative_with_options(
                    users.iter().map(|user| self.starts[user.0]),
                    users.iter().map(|user| problem.duration(user.0)),
                    users.iter().map(|user| user.1),
                    capacity,
                    options,
                    tag,
                ))
                .post();
        }
    }

    /// For each pair that never overlaps and has a choice: one literal for the order.
    fn orders(&mut self, problem: &Problem, distances: &mut Distances) {
        for i in 0..problem.len() {
            for j in i + 1..problem.len() {
                let (Some(ij), Some(ji)) = (problem.gap(i, j), problem.gap(j, i)) else {
                    continue;
                };
                let settled = problem.longest_lag(i, j).is_some_and(|lag| lag >= ij)
                    || problem.longest_lag(j, i).is_some_and(|lag| lag >= ji);
                if settled {
                    continue;
                }
                let i_first = self.solver.new_literal();
                distances.either(i_first, (i, j), ij, ji);
                self.orders += 1;
            }
        }
    }

    /// What is known of sums without search.
    fn least_sums(&mut self, known: &Bounds) {
        for sum in &known.sums {
            let terms: Vec<AffineView<DomainId>> = sum.activities.iter().map(|&i| self.starts[i].scaled(-1)).collect();
            let tag = self.solver.new_constraint_tag();
            let least = -(sum.least as i32);
            self.solver.add_constraint(less_than_or_equals(terms, least, tag)).post();
        }
    }

    /// The value, by way of one sum for each weight: what is learned about a sum is short.
    fn value(&mut self, problem: &Problem, known: &Bounds, most: i64) {
        if let &[(i, 1)] = problem.weights() {
            self.value = self.starts[i];
            return;
        }
        let plain: i64 = problem
            .weights()
            .iter()
            .zip(&known.earliest)
            .map(|(weight, &earliest)| weight.1 * i64::from(earliest))
            .sum();
        let value = self.solver.new_bounded_integer(0, most as i32);
        let mut by_weight: BTreeMap<i64, Vec<(DomainId, i64)>> = BTreeMap::new();
        for (&(i, weight), &earliest) in problem.weights().iter().zip(&known.earliest) {
            let group = by_weight.entry(weight).or_default();
            group.push((self.starts[i], i64::from(earliest)));
        }
        let mut terms = vec![value.scaled(-1)];
        for (weight, group) in by_weight {
            if let [(start, _)] = group.as_slice() {
                terms.push(start.scaled(weight as i32));
                continue;
            }
            let least: i64 = group.iter().map(|member| member.1).sum();
            let room = (most - plain).max(0) / weight;
            let sum = self.solver.new_bounded_integer(least as i32, (least + room) as i32);
            let mut parts: Vec<AffineView<DomainId>> = group.iter().map(|member| member.0.scaled(1)).collect();
            parts.push(sum.scaled(-1));
            let tag = self.solver.new_constraint_tag();
            self.solver.add_constraint(less_than_or_equals(parts, 0, tag)).post();
            terms.push(sum.scaled(weight as i32));
        }
        let tag = self.solver.new_constraint_tag();
        self.solver.add_constraint(less_than_or_equals(terms, 0, tag)).post();
        self.value = value;
    }
}

/// Ticks within which some best schedule ends, if there is any schedule at all: everything one after the other.
fn horizon(problem: &Problem) -> i64 {
    let mut most: Vec<i64> = (0..problem.len()).map(|i| i64::from(problem.duration(i))).collect();
    for lag in problem.lags() {
        most[lag.from] = most[lag.from].max(i64::from(lag.lag));
    }
    for pair in problem.incompatible() {
        for (i, setup) in [(pair.first, pair.setup_first), (pair.second, pair.setup_second)] {
            most[i] = most[i].max(i64::from(problem.duration(i)) + i64::from(setup));
        }
    }
    let window = |i: usize| i64::from(problem.window(i).earliest);
    most.iter().sum::<i64>() + (0..problem.len()).map(window).max().unwrap_or(0)
}

/// The latest starts that windows and the wanted value leave.
fn latest_starts(problem: &Problem, known: &Bounds, most: i64, horizon: i64) -> Vec<i64> {
    let mut latest: Vec<i64> =
        (0..problem.len()).map(|i| problem.latest(i).map_or(horizon, i64::from).min(horizon)).collect();
    let plain: i64 =
        problem.weights().iter().zip(&known.earliest).map(|(weight, &earliest)| weight.1 * i64::from(earliest)).sum();
    for (&(weighted, weight), &earliest) in problem.weights().iter().zip(&known.earliest) {
        let last = i64::from(earliest) + (most - plain).max(0) / weight.max(1);
        for (i, latest) in latest.iter_mut().enumerate() {
            if let Some(lag) = problem.longest_lag(i, weighted) {
                *latest = (*latest).min(last - i64::from(lag));
            }
        }
    }
    latest
}
