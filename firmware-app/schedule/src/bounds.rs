//! Values that no schedule can get below.

use alloc::vec::Vec;

use crate::problem::{Problem, Ticks};

/// Starts that together cannot come earlier: their plain sum is at least `least`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeastSum {
    /// The activities whose starts are summed.
    pub activities: Vec<usize>,
    /// What their sum cannot get below.
    pub least: i64,
}

/// What is known without search: the earliest of each weighted start, and sums of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// The earliest start of each weighted activity, in the order of the weights.
    pub earliest: Vec<Ticks>,
    /// Sums that are larger than the earliest starts add up to.
    pub sums: Vec<LeastSum>,
    /// No schedule has a smaller value than this.
    pub value: i64,
}

/// Works out what no schedule can get below: longest lags, the work that must be done before a start, and starts that
/// need the same resource one after the other.
pub fn bounds(problem: &Problem) -> Bounds {
    let weights = problem.weights();
    let earliest: Vec<Ticks> = weights.iter().map(|weight| by_work(problem, weight.0)).collect();
    let plain: i64 = weights.iter().zip(&earliest).map(|(weight, &start)| weight.1 * i64::from(start)).sum();
    let mut sums = Vec::new();
    let mut gains: Vec<(i64, Vec<usize>)> = Vec::new();
    for resource in 0..problem.capacities().len() {
        let Some((members, excess)) = in_turn(problem, resource, &earliest) else {
            continue;
        };
        let least: i64 = members.iter().map(|&m| i64::from(earliest[m])).sum();
        let lightest = members.iter().map(|&m| weights[m].1).min().unwrap_or(0);
        sums.push(LeastSum { activities: members.iter().map(|&m| weights[m].0).collect(), least: least + excess });
        gains.push((excess * lightest, members));
    }
    // gains of groups that share nobody add up; the largest first
    gains.sort_by_key(|gain| core::cmp::Reverse(gain.0));
    let mut counted: Vec<usize> = Vec::new();
    let mut value = plain;
    for (gain, members) in &gains {
        if members.iter().all(|member| !counted.contains(member)) {
            value += gain;
            counted.extend(members);
        }
    }
    Bounds { earliest, sums, value }
}

/// By how much the weighted starts that hang on one resource come later in sum than each could alone.
///
/// Each weighted activity is stood for by the activity on the resource that holds it closest. If `slack` is how long
/// that one may still wait without moving the weighted start, the sum of delays is at least that of the shortest
/// turns, first to last, against the slacks from small to large.
fn in_turn(problem: &Problem, resource: usize, earliest: &[Ticks]) -> Option<(Vec<usize>, i64)> {
    let capacity = problem.capacities()[resource];
    let mut members = Vec::new();
    let mut durations: Vec<i64> = Vec::new();
    let mut slacks: Vec<i64> = Vec::new();
    let mut least_amount = i32::MAX;
    let mut from = Ticks::MAX;
    let mut taken = Vec::new();
    for (member, &(weighted, _)) in problem.weights().iter().enumerate() {
        let users = (0..problem.len()).filter_map(|user| {
            let amount = problem.demands(user).iter().find(|d| d.0 == resource)?.1;
            let lag = problem.longest_lag(user, weighted)?;
            let fits = problem.duration(user) > 0 && amount > 0 && lag <= 0;
            (fits && !taken.contains(&user)).then_some((lag, problem.duration(user), user, amount))
        });
        let Some((lag, duration, user, amount)) = users.max() else {
            continue;
        };
        taken.push(user);
        members.push(member);
        durations.push(i64::from(duration));
        slacks.push(i64::from(earliest[member]) - i64::from(lag));
        least_amount = least_amount.min(amount);
        from = from.min(problem.earliest(user));
    }
    if members.len() < 2 {
        return None;
    }
    let lanes = (capacity / least_amount).max(1) as usize;
    durations.sort_unstable();
    slacks.sort_unstable();
    let from = i64::from(from);
    let tardy: i64 = (0..members.len())
        .map(|place| {
            // of those begun by then, all but the last on each lane are done
            let done: i64 = durations[..place.saturating_sub(lanes - 1)].iter().sum();
            let start = from + (done + lanes as i64 - 1) / lanes as i64;
            (start - slacks[place]).max(0)
        })
        .sum();
    let latest_slack = slacks.last().copied().unwrap_or(0);
    let in_order: i64 = (0..members.len())
        .map(|place| {
            let before = durations[..place].iter().rev().skip(lanes - 1).step_by(lanes);
            from + before.sum::<i64>() - latest_slack
        })
        .sum();
    let excess = tardy.max(in_order);
    (excess > 0).then_some((members, excess))
}

/// The earliest start of one activity by the work of each resource that must be done before it.
///
/// For every earliest start `a` and every least rest `b`: what cannot begin before `a` and needs `b` after its end
/// takes at least its work over the capacity between them.
fn by_work(problem: &Problem, target: usize) -> Ticks {
    let mut bound = problem.earliest(target);
    for (resource, &capacity) in problem.capacities().iter().enumerate() {
        if capacity == 0 {
            continue;
        }
        // head, rest after the end, work
        let mut users: Vec<(Ticks, Ticks, i64)> = (0..problem.len())
            .filter_map(|i| {
                let amount = problem.demands(i).iter().find(|d| d.0 == resource)?.1;
                let rest = problem.longest_lag(i, target)? - problem.duration(i);
                let work = i64::from(amount) * i64::from(problem.duration(i));
                (rest >= 0 && work > 0).then_some((problem.earliest(i), rest, work))
            })
            .collect();
        users.sort_unstable_by_key(|user| core::cmp::Reverse(user.1));
        let mut heads: Vec<Ticks> = users.iter().map(|user| user.0).collect();
        heads.sort_unstable();
        heads.dedup();
        for &head in &heads {
            let mut work = 0i64;
            for user in users.iter().filter(|user| user.0 >= head) {
                work += user.2;
                let spent = (work + i64::from(capacity) - 1) / i64::from(capacity);
                bound = bound.max(head + spent as Ticks + user.1);
            }
        }
    }
    bound
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::draft::Draft;

    #[test]
    fn plates_that_need_the_same_two_hands_come_one_after_the_other() {
        let mut draft = Draft::new();
        let hands = draft.resource(2);
        for duration in [3, 1, 3, 2, 3, 1] {
            let plate = draft.activity(duration);
            draft.needs(plate, hands, 1);
            draft.weigh(plate, 5);
        }
        let bounds = bounds(&draft.build().unwrap());
        // shortest first on two lanes: 0 0 1 1 3 4
        assert_eq!(bounds.sums[0].least, 9);
        assert_eq!(bounds.value, 45);
    }

    #[test]
    fn work_before_the_end_is_counted_with_heads_and_tails() {
        let mut draft = Draft::new();
        let burner = draft.resource(2);
        let pans: Vec<usize> = (0..5).map(|_| draft.activity(4)).collect();
        let end = draft.activity(0);
        for &pan in &pans {
            draft.needs(pan, burner, 1);
            draft.not_before(pan, 3);
            draft.lag(pan, end, 4 + 2);
        }
        // 3 before, 20 ticks of work on two burners, 2 behind
        assert_eq!(bounds(&draft.build().unwrap()).value, 15);
    }
}
