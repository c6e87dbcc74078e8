//! What can still move in a plan, and what makes its landings as late as they are.
//!
//! A plan is read as starts that keep their order: each gap of the project holds, what passes a resource on stays before
//! what gets it, a pair that never overlaps keeps its order and set-up. Along that order everything that has not begun may
//! move later; what has begun may not.

use alloc::{collections::BTreeMap, vec, vec::Vec};

use quantities::{RunTime, Span};

use crate::{
    network::{After, Job, Network, NetworkError, Normal},
    plan::{Link, LinkWhy, Plan},
    project::{Edge, Lasts, Project, Standing},
};

/// Less slack than this counts as none on the critical chain: starts lie on the planner's grid of half a minute, what
/// steps take does not.
pub const GRID: Span = Span::from_secs(30);

/// Fills in the links, the latest starts and what is critical, for the starts and ends that the plan has.
///
/// The latest start of an activity misses no gap, no order of the plan and no landing, if all others move along their order
/// as far as they must. A landing may come as late as its window allows, one without a wanted moment and one that is late
/// already as late as it is planned. What leads to no landing may be done until the last activity of the plan ends.
/// Demands that the plan already misses bind no further than it keeps them.
///
/// Critical is what, by itself, makes a landing come later than planned as soon as it starts, or of a running activity ends,
/// half a minute later ([`GRID`]); without landings the end of the plan stands for one.
///
/// # Panics
/// If the plan is not of this project: fewer activities, or a gap, pair or landing that names one that is not there. All
/// functions of this module are so.
pub fn mark(project: &Project, plan: &mut Plan) {
    let links = links(project, plan);
    let latest = latest_starts(project, plan, &links);
    let critical = critical(project, plan, &links);
    for ((planned, latest), critical) in plan.activities.iter_mut().zip(latest).zip(critical) {
        planned.latest = latest;
        planned.critical = critical;
    }
    plan.links = links;
}

/// Gives the chain that makes the last landing as late as it is, first link first; see [`chain_to`].
pub fn chain(project: &Project, plan: &Plan) -> Vec<Link> {
    let lands = |landing: &usize| moment(plan, &project.landings[*landing].dishes);
    let last = (0..project.landings.len()).max_by_key(|landing| (lands(landing), usize::MAX - landing));
    match last {
        Some(landing) => chain_to(project, plan, landing),
        None => chain_of(project, plan, &every(plan)),
    }
}

/// Gives the chain that makes a landing as late as it is, first link first: each activity starts as soon as the one before
/// it lets it, by a gap or because it gets hands, a burner or the oven from it.
///
/// Of several chains the one that reaches back farthest. Empty if the last dish waits for nothing, or there is no such
/// landing. A chain ends where an activity could start earlier, or is held back only by the longest time that its food can
/// wait.
pub fn chain_to(project: &Project, plan: &Plan, landing: usize) -> Vec<Link> {
    project.landings.get(landing).map_or_else(Vec::new, |landing| chain_of(project, plan, &landing.dishes))
}

/// Gives the moments of a landing by the spread of what its activities take, where paths meet by Clark's formulas; in
/// minutes since the start of the run. Nothing if there is no such landing or it has no dishes.
///
/// For a first look: nothing starts earlier than planned, nothing is planned anew, and longest waits break nothing.
pub fn landing_moments(project: &Project, plan: &Plan, landing: usize) -> Result<Option<Normal>, NetworkError> {
    let Some(landing) = project.landings.get(landing) else { return Ok(None) };
    Ok(as_network(project, plan)?.last_of(&landing.dishes))
}

/// Gives the plan as a network of jobs in minutes since the start of the run: nothing starts earlier than planned.
///
/// # Errors
/// If links of the plan wait for each other in a ring, as starts at the same moment can.
pub fn as_network(project: &Project, plan: &Plan) -> Result<Network, NetworkError> {
    let mut jobs: Vec<Job> = project
        .activities
        .iter()
        .zip(&plan.activities)
        .map(|(activity, planned)| {
            let triangular =
                |lasts: Lasts| Normal::triangular(minutes(lasts.low), minutes(lasts.likely), minutes(lasts.high));
            let lasts = match activity.standing {
                Standing::Open => triangular(activity.lasts),
                Standing::Running { began, left } => {
                    Normal::exactly(minutes(project.now.since(began))).and_then(triangular(left))
                }
                Standing::Ended { began, ended } => Normal::exactly(minutes(ended.since(began))),
            };
            Job { lasts, after: Vec::new(), not_before: Some(minutes(planned.start.since_start())) }
        })
        .collect();
    for link in links(project, plan) {
        if !begun(project, link.to) {
            let (edge, lag) = wait(project, link.why, link.from);
            jobs[link.to].after.push(After { job: link.from, edge, lag: lag as f64 / 60_000.0 });
        }
    }
    Network::new(jobs)
}

/// What holds the activities of a plan in their order: each gap, each pair that never overlaps with nothing of the same
/// resource between it, and from whom each activity gets what it needs of a resource.
///
/// What has ended passes no resource on, and nothing is passed on to it.
pub fn links(project: &Project, plan: &Plan) -> Vec<Link> {
    let gaps = project.gaps.iter().enumerate();
    let mut links: Vec<Link> =
        gaps.map(|(index, gap)| Link { from: gap.from, to: gap.to, why: LinkWhy::Gap(index) }).collect();
    let pairs = pair_links(project, plan);
    let tied = |from: usize, to: usize| pairs.iter().any(|link| (link.from, link.to) == (from, to));
    let mut passed = Vec::new();
    for resource in 0..project.resources.len() {
        pass_on(project, plan, resource, &links, &mut passed);
    }
    passed.retain(|link: &Link| !tied(link.from, link.to) && !follows_anyway(project, link));
    links.extend(pairs.iter().copied().filter(|link| !between(project, plan, &pairs, link)));
    links.extend(passed);
    links
}

/// `S_to >= S_from + least`, in milliseconds.
#[derive(Clone, Copy, Debug)]
struct Bound {
    from: usize,
    to: usize,
    least: i64,
    /// Whether it is counted from the end of `from`.
    after_end: bool,
}

fn latest_starts(project: &Project, plan: &Plan, links: &[Link]) -> Vec<RunTime> {
    let bounds = bounds(project, plan, links, Span::ZERO, true);
    let mut latest: Vec<i64> = (0..plan.activities.len())
        .map(|activity| if begun(project, activity) { start(plan, activity) } else { i64::MAX })
        .collect();
    for landing in &project.landings {
        let planned = moment(plan, &landing.dishes);
        let held = landing.wanted.map_or(planned, |wanted| planned.max(wanted + landing.window));
        for &dish in landing.dishes.iter().filter(|dish| !begun(project, **dish)) {
            latest[dish] = latest[dish].min(millis(held) - lasts(plan, dish));
        }
    }
    settle(&mut latest, &bounds);
    let end = millis(moment(plan, &every(plan)));
    let mut loose = false;
    for (activity, latest) in latest.iter_mut().enumerate().filter(|(_, latest)| **latest == i64::MAX) {
        *latest = end - lasts(plan, activity);
        loose = true;
    }
    if loose {
        settle(&mut latest, &bounds);
    }
    latest.into_iter().map(|latest| RunTime::from_millis(u64::try_from(latest).unwrap_or(0))).collect()
}

fn critical(project: &Project, plan: &Plan, links: &[Link]) -> Vec<bool> {
    let mut bounds = bounds(project, plan, links, GRID, false);
    // what has begun cannot be pushed, and pushes others only by its end
    bounds.retain(|bound| !begun(project, bound.to) && (bound.after_end || !begun(project, bound.from)));
    let mut latest = vec![i64::MAX; plan.activities.len()];
    let mut must_end = |dishes: &[usize]| {
        let end = millis(moment(plan, dishes));
        for &dish in dishes {
            latest[dish] = latest[dish].min(end - lasts(plan, dish));
        }
    };
    match project.landings.as_slice() {
        [] => must_end(&every(plan)),
        landings => landings.iter().for_each(|landing| must_end(&landing.dishes)),
    }
    settle(&mut latest, &bounds);
    let late = |activity: usize| latest[activity].saturating_sub(start(plan, activity)) < millis_of(GRID);
    (0..latest.len()).map(|activity| !ended(project, activity) && late(activity)).collect()
}

/// Lowers latest starts until every bound holds. Planned starts satisfy all bounds, so none falls below its planned start
/// and it ends.
fn settle(latest: &mut [i64], bounds: &[Bound]) {
    loop {
        let mut moved = false;
        for bound in bounds.iter().rev() {
            let last = latest[bound.to];
            if last != i64::MAX && last - bound.least < latest[bound.from] {
                latest[bound.from] = last - bound.least;
                moved = true;
            }
        }
        if !moved {
            return;
        }
    }
}

/// All bounds between starts, none tighter than the plan keeps it; what the plan keeps with less than `snap` to spare is
/// taken as kept to the point.
fn bounds(project: &Project, plan: &Plan, links: &[Link], snap: Span, within: bool) -> Vec<Bound> {
    let mut bounds = Vec::new();
    let mut add = |from: usize, to: usize, least: i64, after_end: bool| {
        let planned = start(plan, to) - start(plan, from);
        let least = if planned - least < millis_of(snap) { planned } else { least };
        bounds.push(Bound { from, to, least: least.min(planned), after_end });
    };
    for link in links {
        let (edge, lag) = wait(project, link.why, link.from);
        let from_start = match edge {
            Edge::Start => lag,
            Edge::End => lag + lasts(plan, link.from),
        };
        let by_gap = matches!(link.why, LinkWhy::Gap(_));
        // what has begun no longer waits for what should have come before, but still keeps the oven from it
        if !(by_gap && begun(project, link.to)) {
            add(link.from, link.to, from_start, edge == Edge::End);
        }
        if let LinkWhy::Gap(index) = link.why
            && let Some(most) = project.gaps[index].most
        {
            let least = project.gaps[index].least.millis();
            add(link.to, link.from, -(from_start - least + most.millis()), false);
        }
    }
    for landing in project.landings.iter().filter(|_| within) {
        for (at, &dish) in landing.dishes.iter().enumerate() {
            let keeps = landing.keeps.get(at).copied().flatten().or(landing.within);
            let Some(keeps) = keeps else { continue };
            for &other in landing.dishes.iter().filter(|other| **other != dish) {
                // the other ends no later than this dish can wait for it
                add(other, dish, lasts(plan, other) - millis_of(keeps) - lasts(plan, dish), true);
            }
        }
    }
    bounds.sort_by_key(|bound| start(plan, bound.from));
    bounds
}

fn chain_of(project: &Project, plan: &Plan, dishes: &[usize]) -> Vec<Link> {
    let mut links = links(project, plan);
    links.retain(|link| {
        let (edge, lag) = wait(project, link.why, link.from);
        let free = match edge {
            Edge::Start => start(plan, link.from) + lag,
            Edge::End => start(plan, link.from) + lag + lasts(plan, link.from),
        };
        let spare = start(plan, link.to) - free;
        !begun(project, link.to) && !ended(project, link.from) && (0..millis_of(GRID)).contains(&spare)
    });
    // how far back each activity is held, and by which link
    let mut back: Vec<i64> = (0..plan.activities.len()).map(|activity| start(plan, activity)).collect();
    let mut held: BTreeMap<usize, Link> = BTreeMap::new();
    loop {
        let mut moved = false;
        for link in &links {
            if back[link.from] < back[link.to] {
                back[link.to] = back[link.from];
                held.insert(link.to, *link);
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    let end = moment(plan, dishes);
    let on_time = |dish: &&usize| plan.activities[**dish].end == end;
    let mut chain = Vec::new();
    let mut at = dishes.iter().filter(on_time).min_by_key(|dish| (back[**dish], **dish)).copied();
    while let Some(activity) = at {
        // each activity once, whatever the links are
        let link = held.remove(&activity);
        chain.extend(link);
        at = link.map(|link| link.from);
    }
    chain.reverse();
    chain
}

/// The least time from an end of the first activity to the start of the second.
fn wait(project: &Project, why: LinkWhy, from: usize) -> (Edge, i64) {
    match why {
        LinkWhy::Gap(index) => (project.gaps[index].edge, project.gaps[index].least.millis()),
        LinkWhy::Resource(_) => (Edge::End, 0),
        LinkWhy::Apart(index) => {
            let pair = &project.apart[index];
            let set_up = if pair.first == from { pair.first_then_second } else { pair.second_then_first };
            (Edge::End, millis_of(set_up))
        }
    }
}

/// All pairs that never overlap, in the order of the plan.
fn pair_links(project: &Project, plan: &Plan) -> Vec<Link> {
    let pairs = project.apart.iter().enumerate();
    pairs
        .map(|(index, pair)| {
            let (first, second) = (plan.activities[pair.first], plan.activities[pair.second]);
            let kept = first.end + pair.first_then_second <= second.start;
            let other_kept = second.end + pair.second_then_first <= first.start;
            // what takes no time can keep both; a plan that keeps neither is read by its starts
            let first_first = match (kept, other_kept) {
                (true, true) => begun(project, pair.first) || !begun(project, pair.second),
                (true, false) => true,
                (false, true) => false,
                (false, false) => first.start <= second.start,
            };
            let (from, to) = if first_first { (pair.first, pair.second) } else { (pair.second, pair.first) };
            Link { from, to, why: LinkWhy::Apart(index) }
        })
        .filter(|link| !ended(project, link.to))
        .collect()
}

/// Whether two other pairs with an activity between keep this pair in order and far enough apart.
fn between(project: &Project, plan: &Plan, pairs: &[Link], link: &Link) -> bool {
    let needs = |link: &Link| wait(project, link.why, link.from).1;
    pairs.iter().filter(|first| first.from == link.from && first.to != link.to).any(|first| {
        pairs.iter().any(|second| {
            let through = first.to == second.from && second.to == link.to;
            through && needs(first) + lasts(plan, first.to) + needs(second) >= needs(link)
        })
    })
}

/// Whether a gap of the project already says that one comes after the end of the other.
fn follows_anyway(project: &Project, link: &Link) -> bool {
    project
        .gaps
        .iter()
        .any(|gap| (gap.from, gap.to, gap.edge) == (link.from, link.to, Edge::End) && !gap.least.is_early())
}

/// So much of a resource, free from a moment on.
struct Share {
    from: Option<usize>,
    free: RunTime,
    amount: u16,
}

/// From whom each activity gets what it needs: first what nobody had, then from what it follows anyway, then what has been
/// free for longest.
fn pass_on(project: &Project, plan: &Plan, resource: usize, gaps: &[Link], passed: &mut Vec<Link>) {
    let mut shares = vec![Share { from: None, free: RunTime::START, amount: project.resources[resource].capacity }];
    let mut order: Vec<usize> = (0..project.activities.len())
        .filter(|activity| !ended(project, *activity) && lasts(plan, *activity) > 0)
        .collect();
    order.sort_by_key(|activity| (plan.activities[*activity].start, *activity));
    for to in order {
        let needs = &project.activities[to].needs;
        let amounts = needs.iter().filter(|need| need.resource == resource).map(|need| need.amount);
        let mut missing = amounts.fold(0, u16::saturating_add);
        let taken = missing;
        while missing > 0 {
            let free = shares.iter().enumerate().filter(|(_, share)| share.free <= plan.activities[to].start);
            let follows = |from: usize| reaches(gaps, passed, from, to);
            let best = free.min_by_key(|(_, share)| match share.from {
                None => (0, share.free),
                Some(from) if follows(from) => (1, share.free),
                Some(_) => (2, share.free),
            });
            // a plan that takes more than there is has no order to keep there
            let Some((at, _)) = best else { break };
            let share = &mut shares[at];
            let amount = missing.min(share.amount);
            share.amount -= amount;
            missing -= amount;
            let link = share.from.map(|from| Link { from, to, why: LinkWhy::Resource(resource) });
            passed.extend(link.filter(|link| !passed.contains(link)));
            if shares[at].amount == 0 {
                shares.swap_remove(at);
            }
        }
        if taken > missing {
            shares.push(Share { from: Some(to), free: plan.activities[to].end, amount: taken - missing });
        }
    }
}

fn reaches(gaps: &[Link], passed: &[Link], from: usize, to: usize) -> bool {
    let mut seen = vec![from];
    let mut next = 0;
    while let Some(&at) = seen.get(next) {
        next += 1;
        for link in gaps.iter().chain(passed).filter(|link| link.from == at) {
            if link.to == to {
                return true;
            }
            if !seen.contains(&link.to) {
                seen.push(link.to);
            }
        }
    }
    false
}

/// When the last of these ends.
fn moment(plan: &Plan, activities: &[usize]) -> RunTime {
    activities.iter().map(|activity| plan.activities[*activity].end).max().unwrap_or_default()
}

fn every(plan: &Plan) -> Vec<usize> {
    (0..plan.activities.len()).collect()
}

fn begun(project: &Project, activity: usize) -> bool {
    match project.activities[activity].standing {
        Standing::Open => false,
        Standing::Running { .. } | Standing::Ended { .. } => true,
    }
}

fn ended(project: &Project, activity: usize) -> bool {
    match project.activities[activity].standing {
        Standing::Open | Standing::Running { .. } => false,
        Standing::Ended { .. } => true,
    }
}

fn start(plan: &Plan, activity: usize) -> i64 {
    millis(plan.activities[activity].start)
}

fn lasts(plan: &Plan, activity: usize) -> i64 {
    millis_of(plan.activities[activity].end.since(plan.activities[activity].start))
}

fn millis(moment: RunTime) -> i64 {
    millis_of(moment.since_start())
}

fn millis_of(span: Span) -> i64 {
    // 285 years at most in anything that is read
    i64::try_from(span.millis()).unwrap_or(i64::MAX / 4)
}

fn minutes(span: Span) -> f64 {
    span.secs() / 60.0
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use alloc::{format, string::String};

    use super::*;
    use crate::{
        plan::Planned,
        project::{Activity, Apart, Gap, GapKind, Landing, Need, Resource},
    };
    use quantities::Drift;

    fn at(minute: u64) -> RunTime {
        RunTime::START + Span::from_mins(minute)
    }

    fn drift(minutes: i64) -> Drift {
        Drift::from_millis(minutes * 60_000)
    }

    /// Activities as (name, start, minutes, resource that it needs), a landing of the last of them by default.
    #[derive(Default)]
    struct Kitchen {
        project: Project,
        plan: Plan,
    }

    impl Kitchen {
        fn new(resources: &[(&str, u16)]) -> Self {
            let resource = |(name, capacity): &(&str, u16)| Resource { name: (*name).into(), capacity: *capacity };
            let resources = resources.iter().map(resource).collect();
            Self { project: Project { resources, ..Project::default() }, plan: Plan::default() }
        }

        fn does(&mut self, name: &str, start: u64, lasts: u64, resources: &[usize]) -> usize {
            let need = |resource: &usize| Need { resource: *resource, amount: 1 };
            self.project.activities.push(Activity {
                name: name.into(),
                lasts: Lasts::exactly(Span::from_mins(lasts)),
                needs: resources.iter().map(need).collect(),
                standing: Standing::Open,
                not_before: None,
                keeps: false,
            });
            self.plan.activities.push(Planned { start: at(start), end: at(start + lasts), ..Planned::default() });
            self.plan.activities.len() - 1
        }

        fn gap(&mut self, from: usize, to: usize, least: i64, most: Option<i64>) {
            let (least, most) = (drift(least), most.map(drift));
            self.project.gaps.push(Gap { from, edge: Edge::End, to, least, most, kind: GapKind::Order });
        }

        fn lands(&mut self, dishes: &[usize], wanted: Option<u64>, within: Option<u64>) {
            self.project.landings.push(Landing {
                name: "supper".into(),
                dishes: dishes.to_vec(),
                within: within.map(Span::from_mins),
                keeps: vec![None; dishes.len()],
                wanted: wanted.map(at),
                window: Span::from_mins(2),
                waiting_weight: 5,
            });
        }

        fn begins(&mut self, activity: usize) {
            let planned = self.plan.activities[activity];
            let left = Lasts::exactly(planned.end.since(self.project.now));
            self.project.activities[activity].standing = Standing::Running { began: planned.start, left };
        }

        /// A line an activity: planned and latest start in minutes, `*` if critical.
        fn marked(&mut self) -> String {
            mark(&self.project, &mut self.plan);
            let lines = self.project.activities.iter().zip(&self.plan.activities).map(|(activity, planned)| {
                let minute = |moment: RunTime| moment.millis() as f64 / 60_000.0;
                let star = if planned.critical { "*" } else { "" };
                format!("{}{star} {}-{}", activity.name, minute(planned.start), minute(planned.latest))
            });
            lines.collect::<Vec<_>>().join(", ")
        }

        fn told(&self, links: &[Link]) -> String {
            let name = |activity: usize| &self.project.activities[activity].name;
            let told = links.iter().map(|link| {
                let why = match link.why {
                    LinkWhy::Gap(_) => "then",
                    LinkWhy::Resource(resource) => &self.project.resources[resource].name,
                    LinkWhy::Apart(_) => "apart",
                };
                format!("{} {why} {}", name(link.from), name(link.to))
            });
            told.collect::<Vec<_>>().join(", ")
        }
    }

    #[test]
    fn chain_goes_through_the_hands_that_are_passed_on() {
        let mut kitchen = Kitchen::new(&[("hands", 1)]);
        let trim = kitchen.does("trim", 0, 10, &[0]);
        let chop = kitchen.does("chop", 10, 5, &[0]);
        let roast = kitchen.does("roast", 10, 20, &[]);
        let sauce = kitchen.does("sauce", 15, 25, &[]);
        kitchen.gap(trim, roast, 0, None);
        kitchen.gap(chop, sauce, 0, None);
        kitchen.lands(&[roast, sauce], None, None);
        assert_eq!(kitchen.marked(), "trim* 0-0, chop* 10-10, roast 10-20, sauce* 15-15");
        let chain = chain(&kitchen.project, &kitchen.plan);
        assert_eq!(kitchen.told(&chain), "trim hands chop, chop then sauce");
    }

    #[test]
    fn wanted_landing_leaves_its_window_and_one_without_leaves_nothing() {
        let mut kitchen = Kitchen::new(&[]);
        let bake = kitchen.does("bake", 5, 20, &[]);
        let wash = kitchen.does("wash", 0, 3, &[]);
        kitchen.lands(&[bake], Some(30), None);
        // may end at 32; what leads to no landing may be done until the plan ends
        assert_eq!(kitchen.marked(), "bake* 5-12, wash 0-22");
        kitchen.project.landings[0].wanted = None;
        assert_eq!(kitchen.marked(), "bake* 5-5, wash 0-22");
        // late already: no more than it is
        kitchen.project.landings[0].wanted = Some(at(20));
        assert_eq!(kitchen.marked(), "bake* 5-5, wash 0-22");
        assert_eq!(kitchen.plan.activities[wash].slack(), Span::from_mins(22));
    }

    #[test]
    fn longest_wait_after_what_runs_holds_the_next_one() {
        let mut kitchen = Kitchen::new(&[]);
        kitchen.project.now = at(5);
        let roast = kitchen.does("roast", 0, 20, &[]);
        let rest = kitchen.does("rest", 21, 5, &[]);
        let carve = kitchen.does("carve", 40, 5, &[]);
        kitchen.begins(roast);
        kitchen.gap(roast, rest, 0, Some(3));
        kitchen.gap(rest, carve, 2, None);
        kitchen.lands(&[carve], Some(45), None);
        // rest could start at 20 and must by 23; carve may end at 47
        assert_eq!(kitchen.marked(), "roast 0-0, rest 21-23, carve* 40-42");
        // with time to spare for the landing, but carve at most 20 min after rest: 23 + 5 + 20
        kitchen.project.landings[0].wanted = Some(at(60));
        kitchen.project.gaps[1].most = Some(drift(20));
        assert_eq!(kitchen.marked(), "roast 0-0, rest 21-23, carve* 40-48");
    }

    #[test]
    fn running_activity_is_critical_when_its_end_moves_the_landing() {
        let mut kitchen = Kitchen::new(&[("oven", 1)]);
        kitchen.project.now = at(5);
        let first = kitchen.does("first", 0, 20, &[0]);
        let second = kitchen.does("second", 20, 10, &[0]);
        kitchen.begins(first);
        kitchen.lands(&[second], None, None);
        assert_eq!(kitchen.marked(), "first* 0-0, second* 20-20");
        let chain = chain(&kitchen.project, &kitchen.plan);
        assert_eq!(kitchen.told(&chain), "first oven second");
    }

    #[test]
    fn set_up_between_two_temperatures_counts_and_names_the_pair() {
        let mut kitchen = Kitchen::new(&[("oven", 2)]);
        let roast = kitchen.does("roast", 0, 20, &[0]);
        let bake = kitchen.does("bake", 28, 10, &[0]);
        kitchen.project.apart.push(Apart {
            first: bake,
            second: roast,
            first_then_second: Span::from_mins(3),
            second_then_first: Span::from_mins(8),
            resource: 0,
        });
        kitchen.lands(&[bake], Some(38), None);
        assert_eq!(kitchen.marked(), "roast* 0-2, bake* 28-30");
        let chain = chain(&kitchen.project, &kitchen.plan);
        assert_eq!(kitchen.told(&chain), "roast apart bake");
        // five minutes more to spare: nothing holds bake back, and roast is off the chain
        kitchen.project.apart[0].second_then_first = Span::from_mins(3);
        assert_eq!(kitchen.marked(), "roast 0-7, bake* 28-30");
        assert_eq!(chain_to(&kitchen.project, &kitchen.plan, 0), []);
    }

    #[test]
    fn three_temperatures_are_linked_from_one_to_the_next() {
        let mut kitchen = Kitchen::new(&[("oven", 2)]);
        for (name, start) in [("one", 0), ("two", 15), ("three", 30)] {
            kitchen.does(name, start, 10, &[0]);
        }
        for (first, second, set_up) in [(0, 1, 5), (0, 2, 5), (1, 2, 5)] {
            let set_up = Span::from_mins(set_up);
            let pair = Apart { first, second, first_then_second: set_up, second_then_first: set_up, resource: 0 };
            kitchen.project.apart.push(pair);
        }
        let found = links(&kitchen.project, &kitchen.plan);
        assert_eq!(kitchen.told(&found), "one apart two, two apart three");
        // a set-up that the one between does not cover is a link of its own
        kitchen.project.apart[1].first_then_second = Span::from_mins(21);
        let found = links(&kitchen.project, &kitchen.plan);
        assert_eq!(kitchen.told(&found), "one apart two, one apart three, two apart three");
    }

    #[test]
    fn dishes_that_must_land_together_hold_each_other() {
        let mut kitchen = Kitchen::new(&[]);
        let fish = kitchen.does("fish", 0, 10, &[]);
        let rice = kitchen.does("rice", 0, 12, &[]);
        kitchen.lands(&[fish, rice], Some(20), Some(3));
        // rice may end at 22, and fish too
        assert_eq!(kitchen.marked(), "fish 0-12, rice* 0-10");
        // fish runs and ends at 10: rice must by 13
        kitchen.begins(fish);
        assert_eq!(kitchen.marked(), "fish 0-0, rice* 0-1");
        // unless fish can wait longer than the others
        kitchen.project.landings[0].keeps[0] = Some(Span::from_mins(7));
        assert_eq!(kitchen.marked(), "fish 0-0, rice* 0-5");
    }

    #[test]
    fn burner_is_taken_from_what_comes_before_anyway() {
        let mut kitchen = Kitchen::new(&[("burner", 2)]);
        let boil = kitchen.does("boil", 0, 10, &[0]);
        kitchen.does("simmer", 0, 8, &[0]);
        let fry = kitchen.does("fry", 10, 5, &[0]);
        kitchen.gap(boil, fry, 0, None);
        let found = links(&kitchen.project, &kitchen.plan);
        // simmer's burner was free for longer, but would bind fry to it for nothing
        assert_eq!(kitchen.told(&found), "boil then fry");
    }

    #[test]
    fn plan_that_breaks_its_demands_is_marked_as_it_stands() {
        let mut kitchen = Kitchen::new(&[("hands", 1)]);
        let cut = kitchen.does("cut", 0, 10, &[0]);
        let fry = kitchen.does("fry", 5, 10, &[0]);
        kitchen.gap(cut, fry, 0, Some(1));
        kitchen.lands(&[cut, fry], Some(3), Some(1));
        assert_eq!(kitchen.marked(), "cut* 0-0, fry* 5-5");
    }

    #[test]
    fn half_minute_of_the_grid_does_not_break_the_chain() {
        let mut kitchen = Kitchen::new(&[("oven", 1)]);
        kitchen.does("first", 0, 10, &[0]);
        let second = kitchen.does("second", 10, 10, &[0]);
        kitchen.plan.activities[0].end = RunTime::from_millis(580_000);
        kitchen.lands(&[second], None, None);
        mark(&kitchen.project, &mut kitchen.plan);
        let first = kitchen.plan.activities[0];
        assert_eq!((first.slack(), first.critical), (Span::from_secs(20), true));
        assert_eq!(chain(&kitchen.project, &kitchen.plan).len(), 1);
        kitchen.plan.activities[0].end = RunTime::from_millis(570_000);
        mark(&kitchen.project, &mut kitchen.plan);
        assert!(!kitchen.plan.activities[0].critical);
    }

    #[test]
    fn landing_moments_count_the_paths_that_meet_and_the_time_that_is_over() {
        let mut kitchen = Kitchen::new(&[("hands", 1)]);
        let one = kitchen.does("one", 0, 20, &[]);
        let two = kitchen.does("two", 0, 20, &[]);
        for activity in [one, two] {
            let lasts = Lasts { low: Span::from_mins(14), likely: Span::from_mins(20), high: Span::from_mins(26) };
            kitchen.project.activities[activity].lasts = lasts;
        }
        kitchen.lands(&[one, two], None, None);
        let found = landing_moments(&kitchen.project, &kitchen.plan, 0).unwrap().unwrap();
        // the larger of two equal ones: their mean and deviation / sqrt(pi); triangular deviation 6 / sqrt(6)
        let expected = 20.0 + libm::sqrt(6.0 / core::f64::consts::PI);
        assert!((found.mean - expected).abs() < 1e-9, "{found:?}");
        // at 15 min both run and end in 5: nothing is unsure any more
        kitchen.project.now = at(15);
        kitchen.begins(one);
        kitchen.begins(two);
        let found = landing_moments(&kitchen.project, &kitchen.plan, 0).unwrap();
        assert_eq!(found, Some(Normal::exactly(20.0)));
        assert_eq!(landing_moments(&kitchen.project, &kitchen.plan, 1), Ok(None));
    }

    mod random {
        use super::*;
        use proptest::prelude::*;

        type Drawn =
            (Vec<(u64, Vec<u16>, u64)>, Vec<(usize, usize, i64, Option<u64>, bool)>, Vec<(usize, usize, u64, u64)>);

        /// Minutes and needs of activities with how much later than it could each starts; gaps with what their longest wait
        /// leaves over; pairs.
        fn drawn() -> impl Strategy<Value = Drawn> {
            (2usize..9).prop_flat_map(|count| {
                let activities = prop::collection::vec((0u64..9, prop::collection::vec(0u16..3, 2), 0u64..4), count);
                let gap = (0..count, 0..count, -2i64..5, prop::option::of(0u64..4), any::<bool>());
                let pair = (0..count, 0..count, 0u64..4, 0u64..4);
                (activities, prop::collection::vec(gap, 0..8), prop::collection::vec(pair, 0..4))
            })
        }

        /// A plan that keeps everything: each activity as early as those of lower index let it, and a little later.
        fn kitchen((activities, gaps, pairs): Drawn, wanted: Option<u64>, within: bool, running: bool) -> Kitchen {
            let mut kitchen = Kitchen::new(&[("hands", 1), ("oven", 2)]);
            let minute = Span::from_mins(1);
            for (lasts, amounts, _) in &activities {
                let new = kitchen.does("", 0, *lasts, &[]);
                let needs = amounts.iter().enumerate().map(|(resource, amount)| Need {
                    resource,
                    amount: (*amount).min(kitchen.project.resources[resource].capacity),
                });
                kitchen.project.activities[new].needs = needs.collect();
            }
            for (one, other, least, _, start) in &gaps {
                if one != other {
                    let edge = if *start { Edge::Start } else { Edge::End };
                    let (from, to) = (*one.min(other), *one.max(other));
                    let gap = Gap { from, edge, to, least: drift(*least), most: None, kind: GapKind::Order };
                    kitchen.project.gaps.push(gap);
                }
            }
            for (one, other, there, back) in &pairs {
                if one != other {
                    kitchen.project.apart.push(Apart {
                        first: *one,
                        second: *other,
                        first_then_second: minute * *there,
                        second_then_first: minute * *back,
                        resource: 1,
                    });
                }
            }
            for (activity, (lasts, _, later)) in activities.iter().enumerate() {
                let lasts = minute * *lasts;
                let mut start = RunTime::START + minute * *later;
                // an hour has room for all of them one after the other, with their set-ups
                loop {
                    let planned = &mut kitchen.plan.activities[activity];
                    planned.start = start;
                    planned.end = start + lasts;
                    if broken(&kitchen.project, &kitchen.plan, activity + 1, None).is_none() {
                        break;
                    }
                    start = start + minute;
                }
            }
            // longest waits that the plan keeps
            let mut longest = gaps.iter().filter(|(one, other, ..)| one != other).map(|gap| gap.3);
            for gap in &mut kitchen.project.gaps {
                let (from, to) = (kitchen.plan.activities[gap.from], kitchen.plan.activities[gap.to]);
                let base = if gap.edge == Edge::Start { from.start } else { from.end };
                let now = to.start.drift_from(base).millis();
                gap.most = longest.next().flatten().map(|spare| Drift::from_millis(now + (spare * 60_000) as i64));
            }
            let count = activities.len();
            let dishes = [count - 1, count / 2];
            let ends = dishes.map(|dish| kitchen.plan.activities[dish].end);
            let spread = ends[0].drift_from(ends[1]).size();
            kitchen.lands(&dishes[..if count / 2 == count - 1 { 1 } else { 2 }], None, None);
            kitchen.project.landings[0].wanted = wanted.map(|later| ends[0].max(ends[1]) + minute * later);
            kitchen.project.landings[0].within = within.then_some(spread + minute);
            // what has begun has not overtaken anything that is open
            let began = kitchen.plan.activities[0].start;
            if running && kitchen.plan.activities.iter().all(|planned| planned.start >= began) {
                kitchen.project.now = began;
                kitchen.begins(0);
            }
            kitchen
        }

        /// What the first activities of a plan break, judged from scratch; landings by the given moment.
        fn broken(project: &Project, plan: &Plan, count: usize, by: Option<RunTime>) -> Option<String> {
            let planned = &plan.activities[..count];
            for gap in project.gaps.iter().filter(|gap| gap.to < count && gap.from < count) {
                let base = if gap.edge == Edge::Start { planned[gap.from].start } else { planned[gap.from].end };
                let wait = planned[gap.to].start.drift_from(base);
                if wait < gap.least || gap.most.is_some_and(|most| wait > most) {
                    return Some(format!("{gap:?} is {wait:?}"));
                }
            }
            for pair in project.apart.iter().filter(|pair| pair.first < count && pair.second < count) {
                let (first, second) = (planned[pair.first], planned[pair.second]);
                let apart = first.end + pair.first_then_second <= second.start
                    || second.end + pair.second_then_first <= first.start;
                if !apart {
                    return Some(format!("{pair:?}"));
                }
            }
            for (resource, what) in project.resources.iter().enumerate() {
                for moment in planned.iter().map(|planned| planned.start) {
                    let running = (0..count).filter(|one| planned[*one].start <= moment && moment < planned[*one].end);
                    let taken: u16 = running.map(|one| project.activities[one].needs[resource].amount).sum();
                    if taken > what.capacity {
                        return Some(format!("{} {taken} at {moment:?}", what.name));
                    }
                }
            }
            let by = by?;
            for landing in &project.landings {
                let end = landing.dishes.iter().map(|dish| planned[*dish].end).max().unwrap();
                let first = landing.dishes.iter().map(|dish| planned[*dish].end).min().unwrap();
                if end > by || landing.within.is_some_and(|within| end.since(first) > within) {
                    return Some(format!("landing at {end:?}"));
                }
            }
            None
        }

        /// The plan with one start moved, all others as early as the order of the plan lets them but not before their own.
        fn pushed(project: &Project, plan: &Plan, activity: usize, to: RunTime) -> Plan {
            let links = links(project, plan);
            let mut moved = plan.clone();
            let shift = |plan: &mut Plan, activity: usize, start: RunTime| {
                let lasts = plan.activities[activity].end.since(plan.activities[activity].start);
                plan.activities[activity].start = start;
                plan.activities[activity].end = start + lasts;
            };
            shift(&mut moved, activity, to);
            for _ in 0..200 {
                let before = moved.clone();
                for link in links.iter().filter(|link| !begun(project, link.to)) {
                    let from = moved.activities[link.from];
                    let (edge, lag) = wait(project, link.why, link.from);
                    let base = if edge == Edge::Start { from.start } else { from.end };
                    let least = RunTime::from_millis(u64::try_from(millis(base) + lag).unwrap_or(0));
                    if moved.activities[link.to].start < least {
                        shift(&mut moved, link.to, least);
                    }
                }
                for gap in &project.gaps {
                    let Some(most) = gap.most else { continue };
                    if begun(project, gap.from) {
                        continue;
                    }
                    let from = moved.activities[gap.from];
                    let base = if gap.edge == Edge::Start { from.start } else { from.end };
                    let over = moved.activities[gap.to].start.drift_from(base).millis() - most.millis();
                    if over > 0 {
                        shift(&mut moved, gap.from, from.start + Span::from_millis(over as u64));
                    }
                }
                for landing in &project.landings {
                    let Some(within) = landing.within else { continue };
                    let end = landing.dishes.iter().map(|dish| moved.activities[*dish].end).max().unwrap();
                    for &dish in landing.dishes.iter().filter(|dish| !begun(project, **dish)) {
                        let waits = end.since(moved.activities[dish].end);
                        if waits > within {
                            let start = moved.activities[dish].start + waits.saturating_sub(within);
                            shift(&mut moved, dish, start);
                        }
                    }
                }
                if moved == before {
                    break;
                }
            }
            moved
        }

        proptest! {
            #![proptest_config(ProptestConfig::with_cases(600))]

            /// At its latest start everything still holds, with the others moved along; a second later something breaks.
            #[test]
            fn latest_start_holds_and_a_second_later_does_not(
                drawn in drawn(), wanted in prop::option::of(0u64..6), within: bool, running: bool,
            ) {
                let mut kitchen = kitchen(drawn, wanted, within, running);
                mark(&kitchen.project, &mut kitchen.plan);
                let Kitchen { project, plan } = &kitchen;
                let landing = &project.landings[0];
                let lands = moment(plan, &landing.dishes);
                let by = landing.wanted.map_or(lands, |wanted| wanted + landing.window);
                let end = moment(plan, &every(plan)).max(by);
                prop_assert_eq!(broken(project, plan, plan.activities.len(), Some(by)), None);
                for (activity, planned) in plan.activities.iter().enumerate() {
                    prop_assert!(planned.latest >= planned.start);
                    if begun(project, activity) {
                        prop_assert_eq!(planned.latest, planned.start);
                        continue;
                    }
                    let moved = pushed(project, plan, activity, planned.latest);
                    prop_assert_eq!(broken(project, &moved, plan.activities.len(), Some(by)), None, "{} {:?}", activity, plan);
                    let moved = pushed(project, plan, activity, planned.latest + Span::from_secs(1));
                    let over = moment(&moved, &every(plan)) > end.min(moment(plan, &every(plan)));
                    let breaks = broken(project, &moved, plan.activities.len(), Some(by)).is_some();
                    prop_assert!(breaks || over, "{} could start later: {:?}", activity, plan);
                }
            }

            /// What is critical makes the landing later when it is moved by a minute, what is not does not.
            #[test]
            fn critical_is_what_moves_the_landing(drawn in drawn()) {
                let mut kitchen = kitchen(drawn, None, false, false);
                mark(&kitchen.project, &mut kitchen.plan);
                let Kitchen { project, plan } = &kitchen;
                let dishes = &project.landings[0].dishes;
                for (activity, planned) in plan.activities.iter().enumerate() {
                    let moved = pushed(project, plan, activity, planned.start + GRID);
                    let later = moment(&moved, dishes) > moment(plan, dishes);
                    prop_assert_eq!(planned.critical, later, "{} {:?}", activity, plan);
                }
                // the chain is of critical ones, hangs together and ends with the last dish
                let chain = chain(project, plan);
                for link in &chain {
                    prop_assert!(plan.activities[link.from].critical && plan.activities[link.to].critical);
                }
                for pair in chain.windows(2) {
                    prop_assert_eq!(pair[0].to, pair[1].from);
                }
                if let Some(last) = chain.last() {
                    prop_assert_eq!(plan.activities[last.to].end, moment(plan, dishes));
                }
            }
        }
    }
}
