//! Re-plans of a kitchen, a quarter, a half and three quarters into the cook.

use std::time::{Duration, Instant};

use schedule::{Problem, Proven, Schedule, Search, Tag, Ticks};
use schedule_proof::{Limits, solve};
use serde::{Deserialize, Serialize};

/// How long a re-plan took to its first plan, and to within one per cent of the best it came to.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub(super) struct Replan {
    pub(super) first_ms: Option<f64>,
    pub(super) near_ms: Option<f64>,
}

/// Re-plans three times; a moment from which no plan is left, proven, is left out.
pub(super) fn at_each_quarter(
    problem: &Problem,
    plan: &Schedule,
    seed: u64,
    limits: &Limits,
    time: Duration,
) -> Vec<Replan> {
    (1..4)
        .filter_map(|quarter| late(problem, plan, quarter))
        .filter_map(|new| run(&new, plan, seed, limits, time))
        .collect()
}

/// The problem that is left at a moment.
///
/// Kitchens run backwards from serving, so what has begun are the late starts: they keep their distance to the last
/// activity and ask nothing of each other any more. The longest of those still running lasts a tenth longer, and
/// everything else must still begin.
fn late(problem: &Problem, plan: &Schedule, quarter: Ticks) -> Option<Problem> {
    let begin = problem.len() - 1;
    let last = plan.starts[begin];
    let now = last - quarter * last / 4;
    let begun = |i: usize| i == begin || plan.starts[i] + problem.duration(i) > now;
    let late = (0..begin)
        .filter(|&i| begun(i) && plan.starts[i] < now && problem.duration(i) > 9)
        .max_by_key(|&i| problem.duration(i));
    let lags = problem.lags().iter().enumerate();
    let past: Vec<Tag> =
        lags.filter(|(_, lag)| begun(lag.from) && begun(lag.to)).map(|(index, _)| Tag::Lag(index)).collect();
    let mut draft = problem.draft().without(&past);
    for i in 0..begin {
        let duration = problem.duration(i);
        if begun(i) {
            let extra = if late == Some(i) { duration / 10 } else { 0 };
            draft.lasts(i, duration + extra);
            draft.lag(i, begin, last - plan.starts[i] + extra);
            draft.lag(begin, i, plan.starts[i] - extra - last);
        } else {
            draft.lag(i, begin, duration + last - now);
        }
    }
    draft.build().ok()
}

fn run(problem: &Problem, plan: &Schedule, seed: u64, limits: &Limits, time: Duration) -> Option<Replan> {
    let begun = Instant::now();
    let mut better: Vec<(Duration, i64)> = Vec::new();
    let go_on = || begun.elapsed() < time;
    let search = Search::from(problem, plan, seed);
    let answer = solve(search, problem, seed, limits, &go_on, &mut |_, value| better.push((begun.elapsed(), value)));
    if answer.proven == Proven::Impossible {
        return None;
    }
    let ms = |at: &(Duration, i64)| at.0.as_secs_f64() * 1e3;
    let near = |best: i64| better.iter().find(|at| at.1 as f64 <= 1.01 * best as f64).map(ms);
    Some(Replan { first_ms: better.first().map(ms), near_ms: answer.value.and_then(near) })
}
