//! Who gets a resource from whom: the order that starts give, as links that hold whatever the durations turn out to be.

use alloc::vec::Vec;

use crate::frame::Frame;

/// Why one body waits for another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Over {
    Resource(usize),
    Apart(usize),
}

/// One body before another.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Order {
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// From the end of the first to the start of the second, in milliseconds.
    pub(crate) by: i64,
    pub(crate) over: Over,
}

/// The orders that starts give; none: they ask for more of a resource than there is.
///
/// Each share of a resource is passed from hand to hand; a body takes it from whoever was done last, so that links are
/// few and short. Starts may be of any unit and origin, larger is later; what is compared is their order alone.
pub(crate) fn orders(frame: &Frame<'_>, starts: &[i64], ends: &[i64]) -> Vec<Order> {
    let mut found: Vec<Order> = Vec::new();
    for resource in 0..frame.capacities.len() {
        pass_on(frame, resource, starts, ends, &mut found);
    }
    for pair in &frame.pairs {
        let (first, second) = (pair.first, pair.second);
        let in_order = frame.bodies[first].runs
            || (!frame.bodies[second].runs && (starts[first], ends[first]) <= (starts[second], ends[second]));
        let (from, to, by) = match in_order {
            true => (first, second, pair.first_then_second),
            false => (second, first, pair.second_then_first),
        };
        let by = by + frame.bodies[from].tail + frame.bodies[to].lead.max(frame.bodies[to].early);
        found.push(Order { from, to, by, over: Over::Apart(pair.apart) });
    }
    found
}

fn pass_on(frame: &Frame<'_>, resource: usize, starts: &[i64], ends: &[i64], found: &mut Vec<Order>) {
    let mut users: Vec<(usize, i64)> = Vec::new();
    for (at, body) in frame.bodies.iter().enumerate() {
        let amount: i64 = body.needs.iter().filter(|need| need.0 == resource).map(|need| need.1).sum();
        if amount > 0 && body.lasts + body.lead + body.tail > 0 {
            users.push((at, amount));
        }
    }
    // what runs has what it has, whatever a former plan said
    users.sort_by_key(|user| (!frame.bodies[user.0].runs, starts[user.0], ends[user.0], user.0));
    // who holds how many shares, and until when
    let mut held: Vec<(Option<usize>, i64)> = alloc::vec![(None, frame.capacities[resource])];
    for (user, amount) in users {
        let free = |holder: &Option<usize>| holder.map_or(i64::MIN, |holder| ends[holder]);
        // those that are done by then, the last of them first; if there are too few, those that are done next
        held.sort_by_key(|(holder, _)| {
            let until = free(holder);
            (until > starts[user], if until > starts[user] { until } else { until.saturating_neg() }, *holder)
        });
        let mut missing = amount;
        for (holder, shares) in &mut held {
            if missing == 0 {
                break;
            }
            let taken = (*shares).min(missing);
            if taken == 0 {
                continue;
            }
            *shares -= taken;
            missing -= taken;
            if let Some(from) = *holder {
                let (lead, tail) = (frame.bodies[user].lead, frame.bodies[from].tail);
                found.push(Order { from, to: user, by: lead + tail, over: Over::Resource(resource) });
            }
        }
        held.retain(|entry| entry.1 > 0);
        held.push((Some(user), amount - missing));
    }
}
