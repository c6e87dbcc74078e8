//! What comes out when durations are drawn: the same plan and policy, many times.

use alloc::{collections::BTreeMap, vec::Vec};

use quantities::{RunTime, Span};
use schedule::ProblemError;

use crate::arrange::{ArrangeError, How, arrange};
use crate::chances::Dice;
use crate::plan::Plan;
use crate::policy::{Live, Policy, Run, follow};
use crate::project::{Project, Standing};
use crate::retime::{later, retime};
use crate::room::{Ready, Share};
use crate::story::{Missed, Story};

/// What still counts as nearly kept.
const GRACE: i64 = 120_000;
/// How early things are done, and when that which can stand.
const WAYS: [(u16, Ready); 7] = [
    (0, Ready::Early),
    (600, Ready::Early),
    (1000, Ready::Early),
    (0, Ready::BeforeAll),
    (1000, Ready::BeforeAll),
    (0, Ready::JustInTime),
    (1000, Ready::JustInTime),
];
/// Schedules tried before a way is given up that gave no plan.
const FEW: u64 = 60;
/// How many other orders are tried for the better ways.
const OTHER_ORDERS: u64 = 12;
/// A way that keeps all windows in so many runs out of as many needs no rival.
const CLEAR: u64 = 50;
/// All windows are to be kept in so many of ten runs before anything else counts.
const ENOUGH: u32 = 8;
/// How often the last ways are tried.
const LAST_RUNS: u32 = 160;
/// How many activities are tried earlier, and in how many runs each.
const TRIED_EARLIER: usize = 5;
const RUNS_EARLIER: u32 = 40;

/// Draws how long each activity takes: from its start, or from now if it runs. In milliseconds.
///
/// The same seed and run give the same durations on every machine.
pub fn draw(project: &Project, seed: u64, run: u64) -> Vec<i64> {
    let mut dice = Dice::new(seed ^ run.wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(17));
    let lasts = project.activities.iter().map(|activity| match activity.standing {
        Standing::Open => activity.lasts.quantile(dice.unit()),
        Standing::Running { left, .. } => left.quantile(dice.unit()),
        Standing::Ended { .. } => Span::ZERO,
    });
    lasts.map(|span| i64::try_from(span.millis()).unwrap_or(i64::MAX / 8)).collect()
}

/// What happens in one run with these durations, as [`draw`] gives them.
pub fn tell(project: &Project, plan: &Plan, policy: Policy, takes: &[i64]) -> Story {
    match policy {
        Policy::Fixed => follow(project, plan, takes),
        Policy::Live(live) => Run::new(project, plan, live).through(takes),
    }
}

/// What many runs of one plan came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outlook {
    /// How many runs there were.
    pub runs: u32,
    /// In how many of them all windows were kept.
    pub all_windows: u32,
    /// In how many none was missed by more than 2 min.
    pub nearly: u32,
    /// The landings, by their index in the project.
    pub landings: Vec<LandingOutlook>,
    /// The windows that were missed, the most often missed first, with the number of runs.
    pub missed: Vec<(Missed, u32)>,
    /// What is better done as early as can be: activities whose earlier start keeps all windows in more of the runs, the
    /// best first, with how many more of [`Outlook::compared`].
    pub sooner: Vec<(usize, u32)>,
    /// In how many runs earlier starts were compared.
    pub compared: u32,
}

/// What many runs of one landing came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LandingOutlook {
    /// In how many runs all its dishes were ready within its windows.
    pub held: u32,
    /// When it came in one run of ten, in half of them, and in nine of ten, or earlier.
    pub at: [RunTime; 3],
}

/// Runs a plan many times.
pub fn outlook(project: &Project, plan: &Plan, policy: Policy, runs: u32, seed: u64) -> Outlook {
    let mut told = Outlook {
        runs,
        all_windows: 0,
        nearly: 0,
        landings: alloc::vec![LandingOutlook::default(); project.landings.len()],
        missed: Vec::new(),
        sooner: Vec::new(),
        compared: 0,
    };
    let mut missed: BTreeMap<Missed, u32> = BTreeMap::new();
    let mut at: Vec<Vec<i64>> = alloc::vec![Vec::new(); project.landings.len()];
    let mut kept: Vec<bool> = Vec::new();
    for run in 0..u64::from(runs) {
        let story = tell(project, plan, policy, &draw(project, seed, run));
        let over = story.missed(project);
        kept.push(over.is_empty());
        told.all_windows += u32::from(over.is_empty());
        told.nearly += u32::from(over.iter().all(|missed| missed.1 <= GRACE));
        for (index, landing) in told.landings.iter_mut().enumerate() {
            let off = over.iter().any(|(missed, _)| match missed {
                Missed::Gap(_) => false,
                Missed::Waited { landing, .. } | Missed::Landing(landing) => *landing == index,
            });
            landing.held += u32::from(!off);
            at[index].push(story.landed(project, index));
        }
        for (window, _) in over {
            *missed.entry(window).or_insert(0) += 1;
        }
    }
    for (landing, mut at) in told.landings.iter_mut().zip(at) {
        at.sort_unstable();
        let part = |tenths: usize| at.get((at.len() * tenths).div_ceil(10).max(1) - 1).copied().unwrap_or(0);
        landing.at = [1, 5, 9].map(|tenths| later(project.now, part(tenths)));
    }
    told.missed = missed.into_iter().collect();
    told.missed.sort_by_key(|missed| core::cmp::Reverse(missed.1));
    if let Policy::Live(live) = policy {
        try_earlier(project, plan, live, seed, &kept, &mut told);
    }
    told
}

/// Lets single activities be done as early as can be, in the same runs.
fn try_earlier(project: &Project, plan: &Plan, live: Live, seed: u64, kept: &[bool], told: &mut Outlook) {
    let runs = kept.len().min(RUNS_EARLIER as usize);
    let before = kept[..runs].iter().filter(|&&kept| kept).count();
    told.compared = runs as u32;
    if before == runs {
        return;
    }
    // those that can be done earlier at all, the ones that are next first
    let mut can: Vec<usize> = (0..project.activities.len())
        .filter(|&index| {
            let activity = &project.activities[index];
            activity.standing == Standing::Open && !activity.keeps && plan.activities[index].start > project.now
        })
        .collect();
    can.sort_by_key(|&index| (plan.activities[index].start, index));
    let mut tried = 0;
    for index in can {
        if tried == TRIED_EARLIER {
            break;
        }
        let mut other = project.clone();
        other.activities[index].keeps = true;
        let Ok(earlier) = retime(&other, plan, live.buffers) else { continue };
        if earlier.activities[index].start + Span::from_mins(1) > plan.activities[index].start {
            continue;
        }
        tried += 1;
        let all = (0..runs as u64).filter(|&run| {
            let takes = draw(project, seed, run);
            Run::new(&other, &earlier, live).keeps_all(&takes)
        });
        let gained = all.count().saturating_sub(before);
        if gained > 0 {
            told.sooner.push((index, gained as u32));
        }
    }
    told.sooner.sort_by_key(|sooner| core::cmp::Reverse(sooner.1));
}

/// A plan with room, and how it is to be followed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// The plan.
    pub plan: Plan,
    /// The policy it was chosen with.
    pub live: Live,
    /// In how many of the runs in which it was tried all windows were kept.
    pub kept: u32,
    /// In how many runs it was tried.
    pub runs: u32,
}

impl Choice {
    /// What is better comes first: all windows kept in eight of ten runs; little lateness; all windows kept more often;
    /// an early landing.
    fn rank(&self) -> (u32, Span, u32, RunTime) {
        let late = self.plan.landings.iter().map(|landing| landing.late).max().unwrap_or_default();
        let last = self.plan.landings.iter().map(|landing| landing.at).max().unwrap_or_default();
        let short = (self.runs * ENOUGH).saturating_sub(10 * self.kept);
        (short, Span::from_mins(late.whole_secs() / 60), self.runs - self.kept, last)
    }

    /// The same where not all were tried equally often.
    fn rank_by_share(&self) -> (u32, Span, u32, RunTime) {
        let (_, late, missed, last) = self.rank();
        let missed = missed * 1000 / self.runs.max(1);
        (missed.saturating_sub(1000 - 100 * ENOUGH), late, missed, last)
    }
}

/// Finds the plan with which, of several ways to leave room, all windows are kept most often.
///
/// Each way is tried in simulated runs with the same drawn durations: few runs for all, more for the better ones, then
/// other orders for the best. All windows kept in eight of ten runs counts first, then lateness, then all windows kept
/// more often. `go_on` may look at a clock; when it says no, the best so far is taken.
pub fn choose(
    project: &Project,
    how: &How,
    live: &Live,
    go_on: &mut dyn FnMut() -> bool,
) -> Result<Choice, ArrangeError> {
    let mut field: Vec<Choice> = Vec::new();
    let mut error = None;
    let ahead = project.landings.iter().filter(|landing| landing.wanted.is_some()).map(|landing| landing.window).min();
    'ways: for rung in 0..live.rungs() {
        for shared_by in [Share::Two, Share::Three, Share::One] {
            for ahead in core::iter::once(Span::ZERO).chain(ahead) {
                let mut buffers = live.room(rung);
                (buffers.shared_by, buffers.ahead) = (shared_by, ahead);
                let how = How { buffers, ..*how };
                if !field.is_empty() && !go_on() {
                    break 'ways;
                }
                // where room cannot be had, that is seen soon
                let few = How { evaluations: how.evaluations.min(FEW), ..how };
                let plan = arrange(project, &few, None, &mut || true)
                    .and_then(|few| arrange(project, &how, Some(&few.plan), &mut || true));
                let plan = match plan {
                    Ok(arranged) => arranged.plan,
                    Err(why) => {
                        error = Some(why);
                        continue;
                    }
                };
                for (ease, ready) in WAYS {
                    (buffers.ease, buffers.ready) = (ease, ready);
                    let plan = retime(project, &plan, buffers).unwrap_or_else(|_| plan.clone());
                    let live = Live { buffers, ..*live };
                    let mut choice = Choice { plan, live, kept: 0, runs: 0 };
                    try_runs(project, how.seed, &mut choice, CLEAR, true);
                    if choice.kept == choice.runs && choice.rank().1.is_zero() {
                        return Ok(choice);
                    }
                    choice = Choice { kept: 0, runs: 0, ..choice };
                    field.push(choice);
                }
            }
            if live.room(rung).level <= 1 {
                break;
            }
        }
    }
    sift(project, how.seed, &mut field, 6, 40, go_on);
    sift(project, how.seed, &mut field, 16, 16, go_on);
    sift(project, how.seed, &mut field, 40, 6, go_on);
    let ways = field.clone();
    for seed in 1..=OTHER_ORDERS {
        for way in &ways {
            let other = How { buffers: way.live.buffers, seed: how.seed.wrapping_add(seed), ..*how };
            if way.kept < way.runs
                && go_on()
                && let Ok(arranged) = arrange(project, &other, None, &mut || true)
                && field.iter().all(|known| known.plan != arranged.plan)
            {
                field.push(Choice { plan: arranged.plan, live: way.live, kept: 0, runs: 0 });
            }
        }
    }
    sift(project, how.seed, &mut field, 20, 24, go_on);
    sift(project, how.seed, &mut field, 70, 6, go_on);
    if field.len() > 1 {
        // so far a run was given up once no plan kept all windows; some are kept all the same
        for choice in field.iter_mut().filter(|choice| choice.kept < choice.runs) {
            if go_on() {
                (choice.kept, choice.runs) = to_the_end(project, how.seed, choice);
            }
        }
        field.sort_by_key(Choice::rank_by_share);
    }
    match (field.into_iter().next(), error) {
        (Some(best), _) => Ok(best),
        (None, Some(why)) => Err(why),
        (None, None) => Err(ArrangeError::TooLarge(ProblemError::Empty)),
    }
}

/// In how many of [`LAST_RUNS`] runs all windows were kept, and their number.
fn to_the_end(project: &Project, seed: u64, choice: &Choice) -> (u32, u32) {
    let kept = (0..u64::from(LAST_RUNS)).filter(|&run| {
        let takes = draw(project, seed, run);
        Run::new(project, &choice.plan, choice.live).through(&takes).missed(project).is_empty()
    });
    (kept.count() as u32, LAST_RUNS)
}

/// Tries each until it was tried so often, and keeps the best.
fn sift(
    project: &Project,
    seed: u64,
    field: &mut Vec<Choice>,
    runs: u64,
    keep: usize,
    go_on: &mut dyn FnMut() -> bool,
) {
    if field.len() > 1 {
        for choice in field.iter_mut() {
            if go_on() {
                try_runs(project, seed, choice, runs, false);
            }
        }
        // those that time did not reach come last; stable, so that among equals comes first what has more room
        field.sort_by_key(|choice| (u64::from(choice.runs) < runs, choice.rank()));
        field.truncate(keep);
    }
}

/// Tries one until it was tried so often, or, if asked so, until it fails.
fn try_runs(project: &Project, seed: u64, choice: &mut Choice, runs: u64, until_it_fails: bool) {
    for run in u64::from(choice.runs)..runs {
        let takes = draw(project, seed, run);
        let kept = Run::new(project, &choice.plan, choice.live).keeps_all(&takes);
        choice.runs += 1;
        choice.kept += u32::from(kept);
        if until_it_fails && !kept {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Activity, Edge, Gap, GapKind, Landing, Lasts};
    use crate::room::Buffers;
    use alloc::vec;
    use quantities::Drift;

    fn lasting(lasts: Lasts) -> Activity {
        let name = alloc::string::String::from("step");
        Activity { name, lasts, needs: Vec::new(), standing: Standing::Open, not_before: None, keeps: false }
    }

    fn mins(low: u64, likely: u64, high: u64) -> Lasts {
        Lasts { low: Span::from_mins(low), likely: Span::from_mins(likely), high: Span::from_mins(high) }
    }

    fn landing(dishes: Vec<usize>, wanted: Option<RunTime>) -> Landing {
        Landing {
            name: "dinner".into(),
            dishes,
            within: None,
            keeps: Vec::new(),
            wanted,
            window: Span::from_mins(2),
            waiting_weight: 5,
        }
    }

    fn planned(project: &Project) -> Plan {
        arrange(project, &How::default(), None, &mut || true).map(|arranged| arranged.plan).unwrap_or_default()
    }

    /// The chance that two durations in a row are over by then, by summing over the first in steps of a second.
    fn both_by(one: Lasts, other: Lasts, by: Span) -> f64 {
        let steps = one.high.whole_secs();
        let share = |secs: u64| {
            let (from, to) = (Span::from_secs(secs), Span::from_secs(secs + 1));
            let middle = Span::from_millis(secs * 1000 + 500);
            (one.chance_by(to) - one.chance_by(from)) * other.chance_by(by.saturating_sub(middle))
        };
        (0..steps).map(share).sum()
    }

    #[test]
    fn a_chain_lands_as_its_convolution_says() {
        let (one, other) = (mins(10, 14, 30), mins(20, 22, 25));
        let mut project = Project { activities: vec![lasting(one), lasting(other)], ..Project::default() };
        let least = Drift::ZERO;
        project.gaps.push(Gap { from: 0, edge: Edge::End, to: 1, least, most: None, kind: GapKind::Order });
        let wanted = RunTime::START + Span::from_mins(42);
        project.landings.push(landing(vec![1], Some(wanted)));
        let plan = planned(&project);
        assert_eq!(plan.activities[0].start, RunTime::from_millis(6 * 60_000));
        // it begins at minute 6; a second step that could begin early waits for its planned moment, 14 min later
        let seconds = 0..one.high.whole_secs();
        let truth: f64 = seconds
            .map(|secs| {
                let share = one.chance_by(Span::from_secs(secs + 1)) - one.chance_by(Span::from_secs(secs));
                let begins = Span::from_secs(secs.max(14 * 60));
                let by = |mins: u64| other.chance_by(Span::from_mins(mins).saturating_sub(begins));
                share * (by(38) - by(34))
            })
            .sum();
        let live = Live { buffers: Buffers::NONE, ..Live::default() };
        for policy in [Policy::Fixed, Policy::Live(live)] {
            let told = outlook(&project, &plan, policy, 4000, 1);
            let held = f64::from(told.landings[0].held) / 4000.0;
            // four standard deviations of a share of 4000 are at most 0.032
            assert!((held - truth).abs() < 0.032, "{policy:?}: {held} {truth}");
        }
    }

    #[test]
    fn a_chain_without_a_wanted_moment_lands_as_its_convolution_says() {
        let (one, other) = (mins(10, 14, 30), mins(20, 22, 25));
        let mut project = Project { activities: vec![lasting(one), lasting(other)], ..Project::default() };
        let most = Some(Drift::from_millis(0));
        let least = Drift::ZERO;
        project.gaps.push(Gap { from: 0, edge: Edge::End, to: 1, least, most, kind: GapKind::Order });
        project.landings.push(landing(vec![1], None));
        let plan = planned(&project);
        let told = outlook(&project, &plan, Policy::Live(Live::default()), 4000, 1);
        assert_eq!(told.all_windows, 4000);
        for (at, chance) in told.landings[0].at.iter().zip([0.1, 0.5, 0.9]) {
            let truth = both_by(one, other, at.since_start());
            // four standard deviations of a quantile of 4000
            assert!((truth - chance).abs() < 0.032, "{truth} {chance}");
        }
    }

    #[test]
    fn the_last_of_two_dishes_comes_when_both_have() {
        let bake = mins(40, 50, 70);
        let mut project = Project { activities: vec![lasting(bake), lasting(bake)], ..Project::default() };
        project.landings.push(landing(vec![0, 1], None));
        let plan = planned(&project);
        let told = outlook(&project, &plan, Policy::Live(Live::default()), 4000, 1);
        for (at, chance) in told.landings[0].at.iter().zip([0.1, 0.5, 0.9]) {
            // both are over by then: the chance of one, squared
            let one = bake.chance_by(at.since_start());
            assert!((one * one - chance).abs() < 0.032, "{} {chance}", one * one);
        }
        let median = bake.quantile(0.5);
        assert!(told.landings[0].at[1] > RunTime::from_start(median + Span::from_mins(2)), "the merge is later");
    }

    #[test]
    fn the_same_seed_draws_the_same_runs() {
        let project =
            Project { activities: vec![lasting(mins(1, 2, 5)), lasting(mins(1, 2, 5))], ..Project::default() };
        assert_eq!(draw(&project, 3, 9), draw(&project, 3, 9));
        assert_ne!(draw(&project, 3, 9), draw(&project, 3, 10));
        assert_ne!(draw(&project, 3, 9), draw(&project, 4, 9));
    }
}
