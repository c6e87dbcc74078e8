//! Why no schedule exists: the smallest set of demands that cannot all be kept.

use schedule::{Draft, ProblemError, Proven, Search, Tag};
use thiserror::Error;

use crate::proof::Proof;
use crate::solve::Limits;

/// The demands in conflict.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Explanation {
    /// The indices of the groups in conflict, ascending. Empty if what is in no group is already impossible.
    pub groups: Vec<usize>,
    /// The demands of those groups.
    pub tags: Vec<Tag>,
    /// Whether every one of the groups is needed: leave any out, and a schedule exists.
    pub smallest: bool,
}

/// Why there is no explanation.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NoExplanation {
    /// A schedule exists.
    #[error("expected a problem without a schedule, found a schedule")]
    Possible,
    /// The budget was too small to tell.
    #[error("expected a proof within {conflicts} conflicts, found none: raise the budget")]
    Open {
        /// The budget.
        conflicts: u64,
    },
    /// Not a problem at all.
    #[error(transparent)]
    Draft(ProblemError),
}

/// Finds a smallest set of groups that cannot all be kept, by leaving out one after the other.
///
/// Demands in no group are always kept. The limits hold for each question "does a schedule exist without these", of
/// which there is about one for each group; where one is not answered, the group stays and the set is not surely
/// smallest. Groups are left out in their order, so put first what the cook can change least.
pub fn explain(
    draft: &Draft,
    groups: &[Vec<Tag>],
    seed: u64,
    limits: &Limits,
    go_on: &dyn Fn() -> bool,
) -> Result<Explanation, NoExplanation> {
    let mut kept: Vec<bool> = vec![true; groups.len()];
    let judged = |kept: &[bool]| {
        let pairs = groups.iter().zip(kept);
        let dropped: Vec<Tag> = pairs.filter(|pair| !*pair.1).flat_map(|pair| pair.0.clone()).collect();
        judge(&draft.without(&dropped), seed, limits, go_on)
    };
    match judged(&kept)? {
        Judged::Possible => return Err(NoExplanation::Possible),
        Judged::Open => {
            return Err(NoExplanation::Open { conflicts: limits.conflicts });
        }
        Judged::Ring(ring) => {
            // a ring is its own reason; only groups with a part in it are asked about
            let part = |group: &Vec<Tag>| group.iter().any(|tag| ring.contains(tag));
            kept = groups.iter().map(part).collect();
        }
        Judged::Impossible => {}
    }
    let mut smallest = true;
    for group in 0..groups.len() {
        if !kept[group] {
            continue;
        }
        kept[group] = false;
        match judged(&kept)? {
            Judged::Impossible | Judged::Ring(_) => {}
            Judged::Possible => kept[group] = true,
            Judged::Open => {
                kept[group] = true;
                smallest = false;
            }
        }
    }
    let indices: Vec<usize> = (0..groups.len()).filter(|&group| kept[group]).collect();
    let mut tags: Vec<Tag> = indices.iter().flat_map(|&group| groups[group].clone()).collect();
    tags.sort_unstable();
    tags.dedup();
    Ok(Explanation { groups: indices, tags, smallest })
}

enum Judged {
    Possible,
    Impossible,
    Ring(Vec<Tag>),
    Open,
}

/// Whether any schedule exists, whatever its value.
fn judge(draft: &Draft, seed: u64, limits: &Limits, go_on: &dyn Fn() -> bool) -> Result<Judged, NoExplanation> {
    let problem = match draft.unweighted().build() {
        Ok(problem) => problem,
        Err(ProblemError::Ring { tags, .. }) => return Ok(Judged::Ring(tags)),
        Err(ProblemError::AboveCapacity { resource, .. }) => {
            return Ok(Judged::Ring(vec![Tag::Resource(resource)]));
        }
        Err(other) => return Err(NoExplanation::Draft(other)),
    };
    let mut search = Search::new(&problem, seed);
    let progress = search.improve(limits.evaluations, &mut || go_on());
    if progress.best.is_some() {
        return Ok(Judged::Possible);
    }
    if progress.proven == Proven::Impossible {
        return Ok(Judged::Impossible);
    }
    let Ok(mut proof) = Proof::new(&problem, None, seed) else {
        return Ok(Judged::Open);
    };
    Ok(match proof.step(limits.conflicts, &mut || go_on()) {
        Proven::Impossible => Judged::Impossible,
        Proven::Best => Judged::Possible,
        Proven::Open => Judged::Open,
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::solve::Threads;

    fn limits() -> Limits {
        Limits { evaluations: 200, conflicts: 5_000, threads: Threads::One }
    }

    /// Three trays of 30 ticks in an oven of one shelf, all to be done by 80; a sauce that has no part in it.
    fn three_trays() -> Draft {
        let mut draft = Draft::new();
        let (oven, burner) = (draft.resource(1), draft.resource(1));
        for _ in 0..3 {
            let tray = draft.activity(30);
            draft.needs(tray, oven, 1);
            draft.not_after(tray, 50);
        }
        let sauce = draft.activity(10);
        draft.needs(sauce, burner, 1);
        draft.not_after(sauce, 20);
        draft
    }

    #[test]
    fn a_full_oven_is_named_with_the_windows_that_need_it() {
        let draft = three_trays();
        let groups: Vec<Vec<Tag>> = draft.tags().into_iter().map(|tag| vec![tag]).collect();
        let found = explain(&draft, &groups, 1, &limits(), &|| true).unwrap();
        assert_eq!(found.tags, [Tag::Resource(0), Tag::Latest(0), Tag::Latest(1), Tag::Latest(2)]);
        assert!(found.smallest);
        // each of them is needed: without any one there is a schedule
        for tag in found.tags {
            let without = draft.without(&[tag]).build().unwrap();
            let progress = Search::new(&without, 1).improve(500, &mut || true);
            assert!(progress.best.is_some(), "{tag:?}");
        }
    }

    #[test]
    fn a_ring_of_lags_is_named_without_the_rest() {
        let mut draft = three_trays().without(&[Tag::Resource(0)]);
        let (a, b) = (draft.activity(5), draft.activity(5));
        let first = draft.lag(a, b, 9);
        draft.lag(a, b, 2);
        let second = draft.lag(b, a, -7);
        let groups: Vec<Vec<Tag>> = draft.tags().into_iter().map(|tag| vec![tag]).collect();
        let found = explain(&draft, &groups, 1, &limits(), &|| true).unwrap();
        assert_eq!(found.tags, [Tag::Lag(first), Tag::Lag(second)]);
    }

    #[test]
    fn a_possible_plan_has_no_explanation() {
        let draft = three_trays().without(&[Tag::Latest(1)]);
        let groups = [vec![Tag::Resource(0)]];
        assert_eq!(explain(&draft, &groups, 1, &limits(), &|| true), Err(NoExplanation::Possible));
    }
}
