//! The schedule that a re-plan comes from, and how far starts have moved since.

use alloc::vec::Vec;

use crate::problem::Ticks;

/// Whether a schedule should stay near the one it came from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stability {
    /// Only the value counts.
    #[default]
    Ignored,
    /// Among schedules of one value, the one whose starts moved the least in sum is the best.
    BreaksTies,
}

/// The starts before a re-plan, if there were any.
#[derive(Clone, Debug, Default)]
pub(crate) struct Former {
    pub(crate) starts: Option<Vec<Ticks>>,
    pub(crate) stability: Stability,
}

impl Former {
    /// The sum of moved ticks, where it counts.
    pub(crate) fn moved(&self, starts: &[Ticks]) -> i64 {
        match (&self.starts, self.stability) {
            (Some(old), Stability::BreaksTies) => {
                old.iter().zip(starts).map(|(&old, &new)| i64::from(old.abs_diff(new))).sum()
            }
            (Some(_) | None, Stability::Ignored | Stability::BreaksTies) => 0,
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::search::Search;
    use crate::search::tests::eight_dishes;

    fn always() -> bool {
        true
    }

    #[test]
    fn what_has_begun_is_never_moved() {
        let problem = eight_dishes().build().unwrap();
        let plan = Search::new(&problem, 1).improve(3000, &mut always).best.unwrap();
        let mut late = eight_dishes();
        let now = 30;
        let begun: Vec<usize> = (0..problem.len()).filter(|&i| plan.starts[i] < now).collect();
        for i in 0..problem.len() {
            match begun.contains(&i) {
                true => late.fix(i, plan.starts[i]),
                false => late.not_before(i, now),
            }
        }
        // the dish whose turn comes last cannot even begin when it was planned
        let last = (0..8).map(|dish| 3 * dish).max_by_key(|&i| plan.starts[i]).unwrap();
        late.not_before(last, plan.starts[last] + 5);
        let late = late.build().unwrap();
        let mut search = Search::from(&late, &plan, 2);
        for _ in 0..40 {
            let progress = search.improve(50, &mut always);
            if let Some(best) = progress.best {
                assert!(begun.iter().all(|&i| best.starts[i] == plan.starts[i]));
            }
        }
        assert!(search.value().is_some());
    }

    #[test]
    fn a_replan_that_breaks_ties_stays_nearer_to_the_old_plan() {
        let problem = eight_dishes().build().unwrap();
        let plan = Search::new(&problem, 1).improve(3000, &mut always).best.unwrap();
        let mut later = eight_dishes();
        later.not_before(3, plan.starts[3] + 2);
        let later = later.build().unwrap();
        let near = Search::from(&later, &plan, 3).keeping(Stability::BreaksTies);
        let free = Search::from(&later, &plan, 3);
        let moved = |mut search: Search| {
            let best = search.improve(4000, &mut always).best.unwrap();
            let pairs = best.starts.iter().zip(&plan.starts);
            (problem.value(&best.starts), pairs.map(|(a, b)| a.abs_diff(*b)).sum::<u32>())
        };
        let (near, free) = (moved(near), moved(free));
        assert!(near.0 <= free.0, "{near:?} {free:?}");
        assert!(near.1 <= free.1, "{near:?} {free:?}");
    }
}
