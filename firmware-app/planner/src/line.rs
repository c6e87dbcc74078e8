//! Exact times for a given order: the longest paths of reversed time, which give every body its best moment at once.

use alloc::vec::Vec;

use crate::chain::Order;
use crate::frame::{Bound, Frame, Who};
use crate::project::Edge;

/// What keeps is done at most so long before it is needed: cut food dries and browns.
const EARLY: i64 = 15 * 60_000;

/// The ties and orders that chase each other's starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct DoesNotFit;

/// The start of each body, in milliseconds from now.
///
/// Among all starts that keep every tie and order the plan ends as early as can be, and landings come as early as can be
/// but not before they are wanted. With `ease` 0 nothing waits that need
/// not wait: all starts are the latest ones. With 1000 all are the earliest ones before the same landing; between the two
/// each start lies so far between, which keeps every tie as well, since all of them are differences.
pub(crate) fn starts(frame: &Frame<'_>, orders: &[Order], hint: &[i64], ease: u16) -> Result<Vec<i64>, DoesNotFit> {
    let bodies = &frame.bodies;
    // start of the second body, counted back: at least so much more than that of the first
    let mut arcs: Vec<(usize, usize, i64)> = Vec::with_capacity(frame.ties.len() + orders.len());
    for tie in &frame.ties {
        let by = match tie.edge {
            Edge::Start => tie.by,
            Edge::End => bodies[tie.from].lasts + tie.by,
        };
        match tie.bound {
            Bound::Least => arcs.push((tie.to, tie.from, by)),
            Bound::Most => arcs.push((tie.from, tie.to, -by)),
        }
    }
    for order in orders {
        arcs.push((order.to, order.from, bodies[order.from].lasts + order.by));
    }
    // late ones first, so that one round settles nearly all
    arcs.sort_by_key(|arc| core::cmp::Reverse(hint[arc.0]));
    let turned = |arcs: &[(usize, usize, i64)]| -> Vec<(usize, usize, i64)> {
        arcs.iter().rev().map(|&(from, to, by)| (to, from, by)).collect()
    };
    let free = frame.free_landings();
    if !free.is_empty() {
        // a landing comes as early as it may, whatever else is to be done after it
        let mut early: Vec<i64> = alloc::vec![i64::MIN / 4; bodies.len()];
        early[frame.now] = 0;
        settle(&mut early, &turned(&arcs))?;
        arcs.extend(free.into_iter().map(|land| (frame.now, land, -early[land])));
    }
    let mut before_end: Vec<i64> = bodies.iter().map(|body| body.lasts).collect();
    settle(&mut before_end, &arcs)?;
    let now = before_end[frame.now];
    let late: Vec<i64> = before_end.iter().map(|&before| now - before).collect();
    if ease == 0 {
        return Ok(late);
    }
    // nothing comes before the earliest of what is open; the landings and what follows them stay
    let mut early: Vec<i64> = late.clone();
    for (at, body) in bodies.iter().enumerate() {
        match body.who {
            Who::Activity(_) => early[at] = early[at].min(0),
            Who::Landing(_) | Who::Now | Who::First => {}
        }
    }
    settle(&mut early, &turned(&arcs))?;
    // what is the less of the two for each keeps every tie too
    let sooner =
        |(late, early): (&i64, &i64)| late - ((late - early) * i64::from(ease.min(1000)) / 1000).min(frame.soonest);
    let between = late.iter().zip(&early).map(sooner);
    Ok(between.collect())
}

/// Raises values until every arc holds.
fn settle(values: &mut [i64], arcs: &[(usize, usize, i64)]) -> Result<(), DoesNotFit> {
    // who raised each value last; a ring of them goes on for ever
    let mut raised_by: Vec<usize> = (0..values.len()).collect();
    for round in 0..=values.len() {
        let mut moved = false;
        for &(from, to, by) in arcs {
            let least = values[from] + by;
            if values[to] < least {
                values[to] = least;
                raised_by[to] = from;
                moved = true;
            }
        }
        if !moved {
            return Ok(());
        }
        if round >= 3 && has_ring(&raised_by) {
            return Err(DoesNotFit);
        }
    }
    Err(DoesNotFit)
}

/// Whether following from one to the next comes back; what points at itself is an end.
fn has_ring(next: &[usize]) -> bool {
    let mut seen_from: Vec<usize> = alloc::vec![usize::MAX; next.len()];
    for start in 0..next.len() {
        let mut at = start;
        while seen_from[at] == usize::MAX {
            seen_from[at] = start;
            if next[at] == at {
                break;
            }
            at = next[at];
        }
        if seen_from[at] == start && next[at] != at {
            return true;
        }
    }
    false
}

/// Pulls what keeps to the front: as early as ties and resources allow, never moving anything else.
pub(crate) fn pull(frame: &Frame<'_>, starts: &mut [i64]) {
    let open = |body: usize| match frame.bodies[body].who {
        Who::Activity(index) if !frame.bodies[body].runs => Some(index),
        Who::Activity(_) | Who::Landing(_) | Who::Now | Who::First => None,
    };
    let keeps = |body: usize| open(body).is_some_and(|index| frame.project.activities[index].keeps);
    let first = |body: usize| frame.early && open(body).is_some() && frame.can_wait(body);
    let mut order: Vec<usize> = (0..frame.bodies.len()).filter(|&body| keeps(body) || first(body)).collect();
    order.sort_by_key(|&body| (starts[body], body));
    for body in order {
        let from = starts[body].saturating_sub(if first(body) { frame.soonest } else { EARLY });
        pull_one(frame, starts, body, from);
    }
}

/// Moves one body to the earliest start that is free, not before `from`; it never comes later.
pub(crate) fn pull_one(frame: &Frame<'_>, starts: &mut [i64], body: usize, from: i64) {
    let planned = starts[body];
    let mut start = from.max(lowest(frame, starts, body));
    // each turn passes at least one of those in the way
    while start < planned {
        match in_the_way(frame, starts, body, start) {
            None => {
                starts[body] = start;
                return;
            }
            Some(free_again) => start = free_again.max(start + 1),
        }
    }
}

/// The earliest start that the ties allow, with all others where they are.
fn lowest(frame: &Frame<'_>, starts: &[i64], body: usize) -> i64 {
    let mut lowest = 0;
    for tie in &frame.ties {
        let length = |edge: Edge| match edge {
            Edge::Start => 0,
            Edge::End => frame.bodies[tie.from].lasts,
        };
        match tie.bound {
            Bound::Least if tie.to == body && tie.from != body => {
                // the first start of all follows, it never holds
                if Some(tie.from) != frame.first {
                    lowest = lowest.max(starts[tie.from] + length(tie.edge) + tie.by);
                }
            }
            Bound::Most if tie.from == body && tie.to != body => {
                lowest = lowest.max(starts[tie.to] - length(tie.edge) - tie.by);
            }
            Bound::Least | Bound::Most => {}
        }
    }
    lowest
}

/// When the first thing that leaves no room for the body at this start is over.
fn in_the_way(frame: &Frame<'_>, starts: &[i64], body: usize, start: i64) -> Option<i64> {
    let own = &frame.bodies[body];
    for pair in &frame.pairs {
        let (other, after_other, before_other) = if pair.first == body {
            (pair.second, pair.second_then_first, pair.first_then_second)
        } else if pair.second == body {
            (pair.first, pair.first_then_second, pair.second_then_first)
        } else {
            continue;
        };
        let held = &frame.bodies[other];
        let free_again = starts[other] + held.lasts + held.tail + after_other + own.lead.max(own.early);
        let needed_by = starts[other] - held.lead.max(held.early) - before_other;
        if start + own.lasts + own.tail > needed_by && start < free_again {
            return Some(free_again);
        }
    }
    let (begin, end) = (start - own.lead, start + own.lasts + own.tail);
    for &(resource, amount) in &own.needs {
        // what is in use is highest where something begins, or at the begin of the body itself
        let spans = frame.bodies.iter().enumerate().filter(|&(other, _)| other != body).filter_map(|(other, held)| {
            let amount: i64 = held.needs.iter().filter(|need| need.0 == resource).map(|need| need.1).sum();
            let (from, to) = (starts[other] - held.lead, starts[other] + held.lasts + held.tail);
            (amount > 0 && from < end && to > begin).then_some((from, to, amount))
        });
        let spans: Vec<(i64, i64, i64)> = spans.collect();
        let moments = spans.iter().map(|span| span.0.max(begin));
        for moment in moments {
            let used: i64 = spans.iter().filter(|span| span.0 <= moment && moment < span.1).map(|span| span.2).sum();
            if used + amount > frame.capacities[resource] {
                let over = spans.iter().filter(|span| span.0 <= moment && moment < span.1).map(|span| span.1).min();
                return over.map(|over| over + own.lead);
            }
        }
    }
    None
}
