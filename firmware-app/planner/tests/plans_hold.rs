//! Plans and runs against a second reading of what a project says: no gap, resource, pair or begun activity is ever broken.
#![allow(clippy::unwrap_used, missing_docs)]

use planner::{
    Activity, Apart, Buffers, Edge, Gap, GapKind, How, Landing, Lasts, Live, Need, Plan, Policy, Project, Ready,
    Resource, Share, Standing, Story, arrange, arrange_anyhow, choose, draw, retime, tell,
};
use proptest::prelude::*;
use quantities::{Drift, RunTime, Span};

fn secs(count: u64) -> Span {
    Span::from_secs(count)
}

fn ms(moment: RunTime) -> i64 {
    moment.millis() as i64
}

/// Everything that a project forbids, of begins and ends in milliseconds of the run; `most` says whether longest waits
/// count.
fn broken(project: &Project, begins: &[i64], ends: &[i64], most: bool) -> Vec<String> {
    let mut broken = Vec::new();
    let now = ms(project.now);
    for (i, activity) in project.activities.iter().enumerate() {
        match activity.standing {
            Standing::Open => {
                if begins[i] < now || activity.not_before.is_some_and(|moment| begins[i] < ms(moment)) {
                    broken.push(format!("{i} begins too early"));
                }
            }
            Standing::Running { began, .. } if begins[i] != ms(began) => broken.push(format!("{i} was moved")),
            Standing::Ended { began, ended } if (begins[i], ends[i]) != (ms(began), ms(ended)) => {
                broken.push(format!("{i} was moved"));
            }
            Standing::Running { .. } | Standing::Ended { .. } => {}
        }
    }
    let open = |i: usize| project.activities[i].standing == Standing::Open;
    for (g, gap) in project.gaps.iter().enumerate().filter(|(_, gap)| open(gap.to)) {
        let edge = match gap.edge {
            Edge::Start => begins[gap.from],
            Edge::End => ends[gap.from],
        };
        let found = begins[gap.to] - edge;
        if !most && gap.least.is_early() {
            // it was so much before the end that was expected
            continue;
        }
        if found < gap.least.millis() || (most && gap.most.is_some_and(|most| found > most.millis())) {
            broken.push(format!("gap {g} is {found}, not {:?} to {:?}", gap.least, gap.most));
        }
    }
    for (a, apart) in project.apart.iter().enumerate() {
        let (one, other) = (apart.first, apart.second);
        if !open(one) && !open(other) {
            continue;
        }
        let in_order = begins[other] - ends[one] >= apart.first_then_second.millis() as i64;
        let turned = begins[one] - ends[other] >= apart.second_then_first.millis() as i64;
        if !in_order && !turned {
            broken.push(format!("pair {a} overlaps"));
        }
    }
    for (r, resource) in project.resources.iter().enumerate() {
        for (i, activity) in project.activities.iter().enumerate().filter(|(i, _)| open(*i)) {
            if activity.needs.iter().all(|need| need.resource != r) || begins[i] == ends[i] {
                continue;
            }
            // the moment at which it begins, and every begin within it
            let moments = (0..begins.len()).map(|j| begins[j]).filter(|&at| begins[i] <= at && at < ends[i]);
            for at in moments {
                let used: u32 = (0..begins.len())
                    .filter(|&j| begins[j] <= at && at < ends[j])
                    .flat_map(|j| project.activities[j].needs.iter())
                    .filter(|need| need.resource == r)
                    .map(|need| u32::from(need.amount))
                    .sum();
                if used > u32::from(resource.capacity) {
                    broken.push(format!("{used} of {} in use at {at}", resource.name));
                }
            }
        }
    }
    broken
}

fn gaps_too_long(project: &Project, begins: &[i64], ends: &[i64]) -> bool {
    project.gaps.iter().any(|gap| {
        let edge = match gap.edge {
            Edge::Start => begins[gap.from],
            Edge::End => ends[gap.from],
        };
        gap.most.is_some_and(|most| begins[gap.to] - edge > most.millis())
    })
}

fn waits_too_long(project: &Project, ends: &[i64]) -> bool {
    project.landings.iter().any(|landing| {
        let at = landing.dishes.iter().map(|&dish| ends[dish]).max().unwrap_or(0);
        landing.dishes.iter().enumerate().any(|(k, &dish)| {
            let keeps = landing.keeps.get(k).copied().flatten().or(landing.within);
            keeps.is_some_and(|keeps| at - ends[dish] > keeps.millis() as i64)
        })
    })
}

fn begins(plan: &Plan) -> Vec<i64> {
    plan.activities.iter().map(|planned| ms(planned.start)).collect()
}

fn ends(plan: &Plan) -> Vec<i64> {
    plan.activities.iter().map(|planned| ms(planned.end)).collect()
}

fn moments(story: &Story, project: &Project) -> (Vec<i64>, Vec<i64>) {
    let at = |from_now: &i64| from_now + ms(project.now);
    (story.began.iter().map(at).collect(), story.ended.iter().map(at).collect())
}

fn activity(lasts: Lasts, needs: Vec<Need>, keeps: bool) -> Activity {
    Activity { name: "step".into(), lasts, needs, standing: Standing::Open, not_before: None, keeps }
}

/// Random projects of `count` activities in the order of their indices, in numbers that lie on no grid.
fn projects(count: usize) -> impl Strategy<Value = Project> {
    let activities = prop::collection::vec((20..900u64, 0..40u64, 0..3u16, 0..2u16, any::<bool>()), count);
    let gaps =
        prop::collection::vec((0..count, 0..count, any::<bool>(), -60..300i64, prop::option::of(0..900i64)), 0..count);
    let apart = prop::option::of((0..count, 0..count, 0..300u64, 0..300u64));
    let landing = (prop::option::of(100..1500u64), prop::option::of(0..6000u64), 1..4usize);
    let late = prop::collection::vec(prop::option::of(0..2000u64), count);
    (activities, gaps, apart, landing, late).prop_map(move |(activities, gaps, apart, landing, late)| {
        let mut project = Project { now: RunTime::from_millis(1_234_567), ..Project::default() };
        for (name, capacity) in [("hands", 2), ("oven", 1)] {
            project.resources.push(Resource { name: name.into(), capacity });
        }
        for (i, (likely, spread, hands, oven, keeps)) in activities.into_iter().enumerate() {
            let likely = secs(likely);
            let lasts = Lasts {
                low: likely.thousandths(1000 - 5 * spread),
                likely,
                high: likely.thousandths(1000 + 10 * spread),
            };
            let needs = [(0, hands), (1, oven)];
            let needs = needs.iter().filter(|need| need.1 > 0).map(|&(resource, amount)| Need { resource, amount });
            let mut activity = activity(lasts, needs.collect(), keeps && i % 2 == 0);
            activity.not_before = late[i].filter(|_| i % 3 == 0).map(|late| project.now + secs(late));
            project.activities.push(activity);
        }
        for (a, b, from_start, least, most) in gaps {
            let (from, to) = (a.min(b), a.max(b));
            if from != to {
                project.gaps.push(Gap {
                    from,
                    edge: if from_start { Edge::Start } else { Edge::End },
                    to,
                    least: Drift::from_millis(least * 1000 + 7),
                    most: most.map(|most| Drift::from_millis((least + most) * 1000 + 11)),
                    kind: GapKind::Quality,
                });
            }
        }
        if let Some((first, second, there, back)) = apart
            && first != second
        {
            project.apart.push(Apart {
                first,
                second,
                first_then_second: secs(there),
                second_then_first: secs(back),
                resource: 1,
            });
        }
        let (within, wanted, dishes) = landing;
        project.landings.push(Landing {
            name: "dinner".into(),
            dishes: (count - dishes..count).collect(),
            within: within.map(secs),
            keeps: Vec::new(),
            wanted: wanted.map(|after| project.now + secs(after)),
            window: secs(120),
            waiting_weight: 5,
        });
        project
    })
}

const HOW: How = How { seed: 3, evaluations: 200, buffers: Buffers::NONE, keep: schedule::Stability::Ignored };

/// What has happened by a moment if all goes by the plan but some things take longer.
fn some_way_in(project: &Project, plan: &Plan, after: u64, longer: u64) -> Project {
    let mut later = project.clone();
    later.now = project.now + secs(after);
    for (activity, planned) in later.activities.iter_mut().zip(&plan.activities) {
        if planned.end <= later.now && !longer.is_multiple_of(3) {
            activity.standing = Standing::Ended { began: planned.start, ended: planned.end };
        } else if planned.start <= later.now {
            let left = planned.end.since(later.now) + secs(longer);
            let left = Lasts { low: left.thousandths(800), likely: left, high: left.thousandths(1300) };
            activity.standing = Standing::Running { began: planned.start, left };
        }
    }
    later
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn an_arranged_plan_breaks_nothing(project in projects(8)) {
        if let Ok(arranged) = arrange(&project, &HOW, None, &mut || true) {
            let plan = &arranged.plan;
            prop_assert_eq!(broken(&project, &begins(plan), &ends(plan), true), Vec::<String>::new());
            prop_assert!(!waits_too_long(&project, &ends(plan)));
            for (planned, activity) in plan.activities.iter().zip(&project.activities) {
                prop_assert_eq!(planned.end, planned.start + activity.lasts.likely);
            }
        }
    }

    #[test]
    fn a_plan_with_room_breaks_nothing_of_the_project_either(project in projects(8), level in 1..1000u16, ease in 0..1000u16, ready in 0..3usize) {
        let ready = [Ready::JustInTime, Ready::Early, Ready::BeforeAll][ready];
        let buffers = Buffers { ease, ready, shared_by: Share::One, ..Buffers::of(level) };
        if let Ok(arranged) = arrange(&project, &How { buffers, ..HOW }, None, &mut || true) {
            let plan = &arranged.plan;
            let found = broken(&project, &begins(plan), &ends(plan), true);
            // what is only reserved may share a place in the plan, never in a run
            let found: Vec<String> = found.into_iter().filter(|what| !what.contains("in use")).collect();
            prop_assert_eq!(found, Vec::<String>::new());
        }
    }

    #[test]
    fn what_has_begun_is_never_moved_and_the_rest_fits_round_it(project in projects(8), after in 0..2500u64, longer in 0..200u64) {
        if let Ok(arranged) = arrange(&project, &HOW, None, &mut || true) {
            let later = some_way_in(&project, &arranged.plan, after, longer);
            if let Ok(plan) = retime(&later, &arranged.plan, Buffers::NONE) {
                prop_assert_eq!(broken(&later, &begins(&plan), &ends(&plan), true), Vec::<String>::new());
            }
            let anyhow = arrange_anyhow(&later, &HOW, Some(&arranged.plan), &mut || true).unwrap();
            let most = anyhow.grace.is_zero();
            prop_assert_eq!(broken(&later, &begins(&anyhow.plan), &ends(&anyhow.plan), most), Vec::<String>::new());
        }
    }

    #[test]
    fn no_run_uses_what_is_not_there(project in projects(8), run in 0..50u64) {
        if let Ok(arranged) = arrange(&project, &HOW, None, &mut || true) {
            let takes = draw(&project, 5, run);
            for policy in [Policy::Fixed, Policy::Live(Live::default())] {
                let story = tell(&project, &arranged.plan, policy, &takes);
                let (begins, ends) = moments(&story, &project);
                prop_assert_eq!(broken(&project, &begins, &ends, false), Vec::<String>::new());
                for (i, takes) in takes.iter().enumerate() {
                    prop_assert_eq!(ends[i] - begins[i], *takes);
                }
                let missed = story.missed(&project);
                let late = gaps_too_long(&project, &begins, &ends) || waits_too_long(&project, &ends);
                let windows = missed.iter().filter(|missed| !matches!(missed.0, planner::Missed::Landing(_)));
                prop_assert_eq!(windows.count() > 0, late);
            }
        }
    }

    #[test]
    fn the_same_project_gives_the_same_plan(project in projects(7)) {
        let once = arrange(&project, &HOW, None, &mut || true).map(|arranged| arranged.plan).ok();
        let again = arrange(&project, &HOW, None, &mut || true).map(|arranged| arranged.plan).ok();
        prop_assert_eq!(&once, &again);
    }

    #[test]
    fn timing_a_fresh_plan_anew_never_lands_later(project in projects(8)) {
        if let Ok(arranged) = arrange(&project, &HOW, None, &mut || true) {
            let plan = retime(&project, &arranged.plan, Buffers::NONE).unwrap();
            // before its wanted moment a landing may lie where its food can take it
            let landed = |plan: &Plan| match project.landings[0].wanted {
                Some(wanted) => plan.landings[0].at.max(wanted),
                None => plan.landings[0].at,
            };
            prop_assert!(landed(&plan) <= landed(&arranged.plan));
        }
    }
}

/// A tray that has to come out within half a minute, and a long cut that can be done at any time.
fn tray_and_cut() -> Project {
    let mins = Span::from_mins;
    let mut project = Project::default();
    project.resources.push(Resource { name: "hands".into(), capacity: 1 });
    project.resources.push(Resource { name: "oven".into(), capacity: 1 });
    let hands = || vec![Need { resource: 0, amount: 1 }];
    let bake = Lasts { low: mins(34), likely: mins(40), high: mins(52) };
    project.activities.push(activity(bake, vec![Need { resource: 1, amount: 1 }], false));
    project.activities.push(activity(Lasts::exactly(secs(30)), hands(), false));
    project.activities.push(activity(Lasts::exactly(mins(12)), hands(), false));
    project.activities.push(activity(Lasts::exactly(mins(5)), hands(), false));
    let gap = |from, to, most: Option<u64>| Gap {
        from,
        edge: Edge::End,
        to,
        least: Drift::ZERO,
        most: most.map(|most| Drift::from_millis(most as i64 * 1000)),
        kind: GapKind::Quality,
    };
    project.gaps = vec![gap(0, 1, Some(30)), gap(1, 3, Some(600)), gap(2, 3, None)];
    project.landings.push(Landing {
        name: "dinner".into(),
        dishes: vec![3],
        within: None,
        keeps: Vec::new(),
        wanted: None,
        window: mins(2),
        waiting_weight: 5,
    });
    project
}

#[test]
fn room_for_the_tray_keeps_the_hands_free_when_it_may_be_done() {
    let project = tray_and_cut();
    let live = Live { buffers: Buffers { level: 0, ..Buffers::of(0) }, ..Live::default() };
    let without = arrange(&project, &HOW, None, &mut || true).unwrap().plan;
    let kept = |plan: &Plan, live: Live| {
        let runs = (0..200).filter(|&run| {
            tell(&project, plan, Policy::Live(live), &draw(&project, 2, run)).missed(&project).is_empty()
        });
        runs.count()
    };
    let how = How { buffers: Buffers::of(1000), ..HOW };
    let with = arrange(&project, &how, None, &mut || true).unwrap().plan;
    assert!(kept(&without, live) < 190, "{}", kept(&without, live));
    assert_eq!(kept(&with, Live::default()), 200);
    // the cut is over before the tray can be done, but for the half minute that it may wait, or begins after it
    let (bake, cut) = (with.activities[0], with.activities[2]);
    let (before, after) = (bake.start + Span::from_mins(34) + secs(30), bake.start + Span::from_mins(52));
    assert!(cut.end <= before || cut.start >= after, "{with:?}");
}

#[test]
fn what_can_stand_is_done_before_anything_else_begins() {
    let mut project = tray_and_cut();
    project.activities[2].lasts = Lasts { low: secs(600), likely: secs(720), high: secs(900) };
    let plan = |ready| {
        let buffers = Buffers { ready, ..Buffers::of(1000) };
        arrange(&project, &How { buffers, ..HOW }, None, &mut || true).unwrap().plan
    };
    let before = plan(Ready::BeforeAll);
    assert_eq!(before.activities[2].start, project.now);
    assert!(before.activities[0].start >= project.now + secs(720));
    let early = plan(Ready::Early);
    assert_eq!(early.activities[2].start, project.now);
    assert_eq!(early.activities[0].start, project.now);
}

#[test]
fn the_way_that_is_chosen_keeps_its_windows_in_new_runs() {
    let project = tray_and_cut();
    let choice = choose(&project, &HOW, &Live::default(), &mut || true).unwrap();
    let outlook = planner::outlook(&project, &choice.plan, Policy::Live(choice.live), 300, 77);
    assert!(outlook.all_windows >= 295, "{outlook:?}");
}

#[test]
fn one_landing_that_cannot_be_held_does_not_move_the_other() {
    let mins = Span::from_mins;
    let mut project = Project::default();
    for lasts in [60, 10] {
        project.activities.push(activity(Lasts::exactly(mins(lasts)), Vec::new(), false));
    }
    for (dish, wanted) in [(0, 40), (1, 45)] {
        project.landings.push(Landing {
            name: "plate".into(),
            dishes: vec![dish],
            within: None,
            keeps: Vec::new(),
            wanted: Some(RunTime::START + mins(wanted)),
            window: mins(2),
            waiting_weight: 5,
        });
    }
    let plan = arrange(&project, &HOW, None, &mut || true).unwrap().plan;
    assert_eq!(plan.landings[0].late, mins(20));
    assert_eq!(plan.landings[1].late, Span::ZERO);
    assert_eq!(plan.landings[1].at, RunTime::START + mins(45));
}

#[test]
fn what_keeps_is_done_early_and_the_rest_just_in_time() {
    let mins = Span::from_mins;
    let mut project = Project { now: RunTime::from_millis(60_000), ..Project::default() };
    project.resources.push(Resource { name: "hands".into(), capacity: 1 });
    let hands = || vec![Need { resource: 0, amount: 1 }];
    project.activities.push(activity(Lasts::exactly(mins(10)), hands(), true));
    project.activities.push(activity(Lasts::exactly(mins(5)), hands(), false));
    project.gaps.push(Gap { from: 0, edge: Edge::End, to: 1, least: Drift::ZERO, most: None, kind: GapKind::Order });
    project.landings.push(Landing {
        name: "soup".into(),
        dishes: vec![1],
        within: None,
        keeps: Vec::new(),
        wanted: Some(project.now + mins(60)),
        window: mins(2),
        waiting_weight: 5,
    });
    let plan = arrange(&project, &HOW, None, &mut || true).unwrap().plan;
    assert!(plan.activities[0].start < project.now + mins(45), "{plan:?}");
    assert_eq!(plan.activities[1].start, project.now + mins(55));
    assert_eq!(plan.landings[0].at, project.now + mins(60));
}
