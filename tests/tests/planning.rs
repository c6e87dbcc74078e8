//! Recipes become projects, and projects plans that keep everything; judged by a checker of its own.
#![allow(clippy::unwrap_used, missing_docs)]

use std::collections::{BTreeMap, BTreeSet};

use planner::{
    Edge, GapKind, How, Kitchen, Plan, Planning, PlanningError, Project, Source, Standing, Wish, arrange, mark,
};
use quantities::{Drift, RunTime, Span};
use recipe_model::{Programme, Recipe, StepRef};
use station_tests::repository;

fn library() -> Vec<Recipe> {
    let files = std::fs::read_dir(repository().join("recipes/library")).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<_> = files.filter(|path| path.extension().is_some_and(|end| end == "toml")).collect();
    files.sort();
    let read = |path: &std::path::PathBuf| parse(&std::fs::read_to_string(path).unwrap());
    files.iter().map(read).collect()
}

fn parse(text: &str) -> Recipe {
    let parsed = recipe_parser::parse("test.toml", text);
    parsed.recipe.unwrap_or_else(|| panic!("{:?}", parsed.complaints))
}

fn wish(programme: &Programme) -> Wish<'_> {
    Wish {
        name: String::new(),
        programme,
        wanted: None,
        window: Span::from_mins(3),
        standing: BTreeMap::new(),
        skipped: BTreeSet::new(),
        history: BTreeMap::new(),
        heats_ovens: true,
    }
}

fn planning(recipe: &Recipe) -> Planning {
    Planning::of(RunTime::START, &Kitchen::for_needs([&recipe.kitchen]), &[wish(&recipe.base)]).unwrap()
}

fn planned(project: &Project) -> Plan {
    let mut plan = arrange(project, &How::default(), None, &mut || true).unwrap().plan;
    mark(project, &mut plan);
    plan
}

/// What a plan breaks, written from what the project says of itself and from nothing of the planner's own.
fn broken(project: &Project, plan: &Plan) -> Vec<String> {
    let mut broken = Vec::new();
    let name = |at: usize| &project.activities[at].name;
    let (start, end) = (|at: usize| plan.activities[at].start, |at: usize| plan.activities[at].end);
    for (at, activity) in project.activities.iter().enumerate() {
        if activity.standing == Standing::Open && start(at) < project.now {
            broken.push(format!("{} starts in the past", name(at)));
        }
        if activity.standing == Standing::Open && end(at).since(start(at)) < activity.lasts.low {
            broken.push(format!("{} is too short", name(at)));
        }
    }
    for gap in &project.gaps {
        let from = match gap.edge {
            Edge::Start => start(gap.from),
            Edge::End => end(gap.from),
        };
        let between = start(gap.to).drift_from(from);
        if between < gap.least || gap.most.is_some_and(|most| between > most) {
            broken.push(format!("{} to {}: {between:?}", name(gap.from), name(gap.to)));
        }
    }
    for (resource, of) in project.resources.iter().enumerate() {
        let need = |at: usize| -> u32 {
            let needs = project.activities[at].needs.iter().filter(|need| need.resource == resource);
            needs.map(|need| u32::from(need.amount)).sum()
        };
        // what is used can only grow where something starts
        for at in 0..project.activities.len() {
            let moment = start(at);
            let used: u32 =
                (0..project.activities.len()).filter(|&a| start(a) <= moment && moment < end(a)).map(need).sum();
            if used > u32::from(of.capacity) {
                broken.push(format!("{used} of {} at the start of {}", of.name, name(at)));
            }
        }
    }
    for pair in &project.apart {
        let first = end(pair.first) + pair.first_then_second <= start(pair.second);
        let second = end(pair.second) + pair.second_then_first <= start(pair.first);
        if !first && !second {
            broken.push(format!("{} and {} overlap", name(pair.first), name(pair.second)));
        }
    }
    for landing in &project.landings {
        let ends: Vec<RunTime> = landing.dishes.iter().map(|&dish| end(dish)).collect();
        let last = *ends.iter().max().unwrap();
        for (end, keeps) in ends.iter().zip(&landing.keeps) {
            if keeps.or(landing.within).is_some_and(|most| last.since(*end) > most) {
                broken.push(format!("{} is too far apart", landing.name));
            }
        }
    }
    broken
}

#[test]
fn every_recipe_of_the_library_has_a_plan_in_the_kitchen_that_it_asks_for() {
    let mut plans = 0;
    for recipe in library() {
        let variants = recipe.variants.iter().map(|variant| &variant.programme);
        for programme in std::iter::once(&recipe.base).chain(variants) {
            let planning =
                Planning::of(RunTime::START, &Kitchen::for_needs([&recipe.kitchen]), &[wish(programme)]).unwrap();
            let plan = planned(&planning.project);
            let broken = broken(&planning.project, &plan);
            assert!(broken.is_empty(), "{}: {broken:#?}", recipe.id);
            plans += 1;
        }
    }
    assert!(plans > 20, "{plans}");
}

#[test]
fn two_recipes_share_one_oven_and_one_pair_of_hands() {
    let recipes: Vec<Recipe> = library();
    let of = |id: &str| recipes.iter().find(|recipe| recipe.id.as_str() == id).unwrap();
    for (one, other) in
        [("beef-topside", "potato-gratin"), ("lamb-loaf", "veal-rump"), ("chicken-and-pilaf", "tin-loaf")]
    {
        let (one, other) = (of(one), of(other));
        let kitchen = Kitchen { cooks: 1, ovens: 1, ..Kitchen::for_needs([&one.kitchen, &other.kitchen]) };
        let wishes = [("A", one), ("B", other)].map(|(name, recipe)| Wish { name: name.into(), ..wish(&recipe.base) });
        let planning = Planning::of(RunTime::START, &kitchen, &wishes).unwrap();
        assert!(!planning.project.apart.is_empty(), "{} and {} want different temperatures", one.id, other.id);
        let plan = planned(&planning.project);
        let broken = broken(&planning.project, &plan);
        assert!(broken.is_empty(), "{broken:#?}");
    }
}

#[test]
fn the_checker_sees_what_is_broken() {
    let planning = planning(&library().into_iter().find(|recipe| recipe.id.as_str() == "chicken-and-pilaf").unwrap());
    let plan = planned(&planning.project);
    let mut seen = BTreeSet::new();
    for at in 0..plan.activities.len() {
        for by in [Span::from_mins(6), Span::from_mins(60)] {
            let mut moved = plan.clone();
            moved.activities[at].start = moved.activities[at].start + by;
            moved.activities[at].end = moved.activities[at].end + by;
            if !broken(&planning.project, &moved).is_empty() {
                seen.insert(at);
            }
        }
    }
    // the last one can come as late as it likes
    assert!(seen.len() + 1 >= plan.activities.len(), "{seen:?}");
}

const TWO_BOWLS: &str = r#"
schema = 1
id = "two-bowls"
title = "Two bowls"
yield = "2 portions"

[kitchen]
ovens = 1
microwaves = 1
microwave_power = "800 W"
cooks = 1

[[stage]]
id = "oven"
name = "oven"
appliance = "oven"

[[stage.step]]
id = "preheat"
name = "preheat"
do = "Set the oven."
setting = { heat = "180 °C" }
until = { heat = "175 °C", expect = "10-12 min" }

[[stage]]
id = "prep"
name = "beans"
appliance = "bench"

[[stage.step]]
id = "top"
name = "top"
do = "Top and tail."
until = { cook = "6 min" }

[[stage]]
id = "beans"
name = "beans"
appliance = "microwave"
begin = { after = "prep.top", within = "2 min" }

[[stage.step]]
id = "cook"
name = "cook"
do = "Cook."
setting = { power = "800 W" }
until = { time = "4-6 min", cue = "tender", first_look = "4 min", look_every = "30 s", no_later_than = "8 min" }

[[stage.step]]
id = "stir"
name = "stir"
do = "Stir."
hands = true
until = { time = "1 min" }

[[stage]]
id = "bake"
name = "bake"
appliance = "oven"
begin = [{ after = "oven.preheat" }, { with = "beans.cook", wait = "1 min" }, { before = "beans.stir", lead = "30 s" }]

[[stage.step]]
id = "bake"
name = "bake"
do = "Bake."
setting = { heat = "180 °C" }
until = { time = "20 min" }
"#;

#[test]
fn each_part_of_a_recipe_becomes_what_the_planner_counts_with() {
    let recipe = parse(TWO_BOWLS);
    let planning = planning(&recipe);
    let project = &planning.project;
    let at = |stage: u16, step: u16| planning.activity(0, StepRef { stage, step }).unwrap();
    let (preheat, top, cook, stir, bake) = (at(0, 0), at(1, 0), at(2, 0), at(2, 1), at(3, 0));
    let lasts = |at: usize| project.activities[at].lasts;
    assert_eq!((lasts(cook).low, lasts(cook).likely), (Span::from_mins(4), Span::from_mins(5)));
    assert_eq!(lasts(top).high, Span::from_mins(6));
    let needs = |at: usize| -> Vec<&str> {
        project.activities[at].needs.iter().map(|need| project.resources[need.resource].name.as_str()).collect()
    };
    assert_eq!(needs(top), ["hands"]);
    assert_eq!(needs(cook), ["microwaves"]);
    assert_eq!(needs(stir), ["microwaves", "hands"]);
    assert_eq!((needs(preheat), needs(bake)), (vec![], vec!["oven"]), "an empty oven takes no shelf");
    let gap = |from: usize, to: usize| {
        let mut found = project.gaps.iter().filter(|gap| gap.from == from && gap.to == to);
        let gap = found.next().unwrap();
        assert_eq!(found.next(), None);
        (gap.edge, gap.least.millis() / 1000, gap.most.map(|most| most.millis() / 1000), gap.kind)
    };
    assert_eq!(gap(top, cook), (Edge::End, 0, Some(120), GapKind::Quality));
    assert_eq!(gap(cook, stir), (Edge::End, 0, Some(60), GapKind::Quality), "heat cannot be paused, but for the grace");
    assert_eq!(gap(cook, bake), (Edge::Start, 60, None, GapKind::Order));
    assert_eq!(gap(stir, bake), (Edge::End, -30, Some(0), GapKind::Lead));
    assert_eq!(gap(preheat, bake), (Edge::End, 0, None, GapKind::Order));
    assert!(project.activities[top].keeps && !project.activities[stir].keeps);
    assert!(project.apart.is_empty(), "one temperature");
    assert!(planning.sources.iter().all(|source| matches!(source, Source::Step { .. })), "the recipe heats its oven");
}

#[test]
fn what_was_skipped_holds_nothing_up_and_what_is_known_counts_before_the_recipe() {
    let recipe = parse(TWO_BOWLS);
    let step = |stage: u16, step: u16| StepRef { stage, step };
    let known = planner::Lasts { low: Span::from_mins(5), likely: Span::from_mins(7), high: Span::from_mins(9) };
    let wish = Wish { skipped: [step(2, 0)].into(), history: [(step(1, 0), known)].into(), ..wish(&recipe.base) };
    let planning = Planning::of(RunTime::START, &Kitchen::for_needs([&recipe.kitchen]), &[wish]).unwrap();
    let cook = planning.activity(0, step(2, 0)).unwrap();
    let gaps = &planning.project.gaps;
    assert!(gaps.iter().all(|gap| gap.from != cook && gap.to != cook));
    assert!(planning.project.activities[cook].needs.is_empty());
    let top = planning.activity(0, step(1, 0)).unwrap();
    assert_eq!(planning.project.activities[top].lasts, known);
}

#[test]
fn an_oven_that_no_step_heats_is_heated_by_the_plan() {
    let without = TWO_BOWLS.replace("{ heat = \"175 °C\", expect = \"10-12 min\" }", "{ time = \"10 min\" }");
    let planning = planning(&parse(&without));
    let heated = planning.sources.iter().position(|source| matches!(source, Source::Preheat { .. })).unwrap();
    // from 20 to 180 °C by 10 °C a minute
    assert_eq!(planning.project.activities[heated].lasts.likely, Span::from_mins(16));
    let plan = planned(&planning.project);
    assert!(broken(&planning.project, &plan).is_empty());
}

#[test]
fn a_kitchen_without_the_appliance_is_told_with_the_step() {
    let recipe = parse(TWO_BOWLS);
    let kitchen = Kitchen { microwaves: 0, ..Kitchen::for_needs([&recipe.kitchen]) };
    let why = Planning::of(RunTime::START, &kitchen, &[wish(&recipe.base)]).unwrap_err();
    assert!(matches!(why, PlanningError::NoAppliance { .. }));
    assert_eq!(why.to_string(), "beans.cook runs at microwave, this kitchen has 0: add a microwave or move the stage");
}

#[test]
fn what_has_begun_stays_where_it_is() {
    let recipe = parse(TWO_BOWLS);
    let now = RunTime::START + Span::from_mins(30);
    let began = RunTime::START + Span::from_mins(27);
    let step = |stage: u16, step: u16| StepRef { stage, step };
    let left = planner::Lasts { low: Span::from_mins(1), likely: Span::from_mins(2), high: Span::from_mins(3) };
    let ended = |from: u64, to: u64| Standing::Ended {
        began: RunTime::START + Span::from_mins(from),
        ended: RunTime::START + Span::from_mins(to),
    };
    let standing =
        [(step(0, 0), ended(10, 21)), (step(1, 0), ended(20, 26)), (step(2, 0), Standing::Running { began, left })];
    let wish = Wish { standing: standing.into(), ..wish(&recipe.base) };
    let planning = Planning::of(now, &Kitchen::for_needs([&recipe.kitchen]), &[wish]).unwrap();
    let plan = planned(&planning.project);
    let cook = plan.activities[planning.activity(0, step(2, 0)).unwrap()];
    assert_eq!((cook.start, cook.end), (began, now + Span::from_mins(2)));
    let stir = plan.activities[planning.activity(0, step(2, 1)).unwrap()];
    let late = stir.start.drift_from(cook.end);
    assert!(late >= Drift::ZERO && late <= Drift::from_millis(60_000), "{late:?}");
}
