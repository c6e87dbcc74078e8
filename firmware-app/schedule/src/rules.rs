//! Rules of thumb for the first lists.

use alloc::vec;
use alloc::vec::Vec;

use crate::model::Model;
use crate::order::by_key;
use crate::problem::{Problem, Ticks};

/// The lists of all rules.
pub(crate) fn first_lists(problem: &Problem, model: &Model) -> Vec<Vec<u16>> {
    let count = model.count;
    let tail: Vec<Ticks> = (0..count)
        .map(|i| {
            let to_weighted = model.weights.iter().filter_map(|w| problem.longest_lag(i, w.0));
            to_weighted.max().unwrap_or(0)
        })
        .collect();
    let followers: Vec<usize> = (0..count).map(|i| (0..count).filter(|&j| model.stands_before(i, j)).count()).collect();
    let load: Vec<i64> = (0..count)
        .map(|i| {
            let share = |&(resource, amount): &(u32, i32)| {
                1000 * i64::from(amount) / i64::from(model.capacities[resource as usize].max(1))
            };
            i64::from(model.durations[i]) * model.demands.get(i).iter().map(share).sum::<i64>()
        })
        .collect();
    let mut pull = vec![0i64; count];
    for &(weighted, weight) in &model.weights {
        for (i, pull) in pull.iter_mut().enumerate() {
            if i == weighted || model.stands_before(i, weighted) {
                *pull += weight;
            }
        }
    }
    vec![
        by_key(model, |i| (model.earliest[i], -tail[i])),
        by_key(model, |i| (-tail[i], model.earliest[i])),
        by_key(model, |i| (model.earliest[i] - tail[i], 0)),
        by_key(model, |i| (-(followers[i] as i64), -tail[i])),
        by_key(model, |i| (-pull[i], model.earliest[i])),
        by_key(model, |i| (-load[i], model.earliest[i])),
        by_key(model, |i| i),
    ]
}
