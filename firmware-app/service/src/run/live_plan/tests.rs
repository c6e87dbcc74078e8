#![allow(clippy::unwrap_used)]
use run_engine::{PlannedStart, view::Standing as Stands};
use trial::PlanFit;

use super::*;

fn at(mins: u64) -> RunTime {
    RunTime::START + Span::from_mins(mins)
}

fn recipe() -> Recipe {
    let text = include_str!("../../../../../recipes/library/chicken-and-pilaf.toml");
    recipe_parser::parse("chicken-and-pilaf.toml", text).recipe.unwrap()
}

const NO: TrialNo = TrialNo(0);

/// A run of the chicken and its pilaf, as the engine would tell of it.
struct Run {
    plan: LivePlan,
    recipe: Recipe,
    standing: Vec<StandingView>,
}

impl Run {
    /// Opened at 0, wanted at 120 min.
    fn opened() -> (Self, StationPlan) {
        let recipe = recipe();
        let mut run = Self { plan: LivePlan::default(), standing: standing(&recipe, NO), recipe };
        let programme = Arc::new(run.recipe.base.clone());
        let told = run.plan.open(NO, &run.recipe, programme, Some(at(120)), &[], at(0)).unwrap();
        (run, told)
    }

    fn set(&mut self, step: &str, state: Stands) {
        self.standing.iter_mut().find(|view| view.step.as_str() == step).unwrap().state = state;
    }

    fn runs(&mut self, step: &str, began: u64, left: [u64; 3]) {
        let [left_low, left, left_high] = left.map(Span::from_mins);
        self.set(step, Stands::Running { began: at(began), left_low, left, left_high });
    }

    fn ended(&mut self, step: &str, began: u64, ended: u64) {
        self.set(step, Stands::Ended { began: at(began), ended: at(ended) });
    }

    fn look(&mut self, mins: u64) -> Option<StationPlan> {
        self.plan.look(&self.standing, at(mins))
    }

    /// Up to a roast that began as it was planned.
    fn roasting(&mut self, plan: &StationPlan) -> u64 {
        let minutes = |step: &str| start(plan, step).start.millis() / 60_000;
        let roast = minutes("thighs.roast");
        self.ended("prep.season", minutes("prep.season"), minutes("prep.season") + 9);
        let preheat = minutes("oven.preheat");
        self.ended("oven.preheat", preheat, preheat + 14);
        self.runs("thighs.roast", roast, [35, 40, 45]);
        roast
    }
}

fn standing(recipe: &Recipe, trial: TrialNo) -> Vec<StandingView> {
    let view = |(at, _, step): (StepRef, _, &recipe_model::Step)| StandingView {
        trial,
        at,
        step: step.id.clone(),
        state: Stands::Open,
    };
    recipe.base.steps().map(view).collect()
}

fn start<'a>(plan: &'a StationPlan, step: &str) -> &'a PlannedStart {
    plan.starts.iter().find(|start| start.step.as_str() == step).unwrap()
}

#[test]
fn dishes_are_planned_to_the_moment_they_are_wanted_and_what_is_first_comes_first() {
    let (_, told) = Run::opened();
    assert_eq!((told.why.clone(), told.fit.clone()), (PlanWhy::Opened, PlanFit::Fits));
    let landing = &told.landings[0];
    assert!(landing.at <= at(120) && landing.at >= at(117), "{landing:?}");
    assert_eq!(landing.dishes.len(), 2);
    assert!(start(&told, "prep.season").start < start(&told, "thighs.roast").start);
    assert!(told.starts.iter().all(|start| start.latest >= start.start));
    assert_eq!(told.starts.len(), recipe().base.steps().count());
}

#[test]
fn a_roast_that_will_take_six_minutes_longer_moves_the_pilaf_and_says_why() {
    let (mut run, told) = Run::opened();
    let roast = run.roasting(&told);
    run.look(roast);
    run.runs("thighs.roast", roast, [38, 41, 50]);
    let moved = run.look(roast + 6).unwrap();
    assert!(matches!(&moved.why, PlanWhy::Foreseen { step, by } if step.as_str() == "thighs.roast" && !by.is_early()));
    let later = start(&moved, "start.onion").start.since(start(&told, "start.onion").start);
    assert!(later >= Span::from_mins(3), "{later:?}");
    assert!(moved.starts.iter().all(|start| start.step.as_str() != "thighs.roast"), "what has begun is not planned");
}

#[test]
fn forecasts_that_tremble_move_nothing() {
    let (mut run, told) = Run::opened();
    let roast = run.roasting(&told);
    run.look(roast);
    for (minute, left) in [(4, 36), (5, 35), (6, 35), (7, 33)] {
        run.runs("thighs.roast", roast, [left - 5, left, left + 5]);
        assert_eq!(run.look(roast + minute), None, "at {minute}");
    }
}

#[test]
fn a_plan_that_the_cook_kept_stays_until_the_landing_moves_on() {
    let (mut run, told) = Run::opened();
    let roast = run.roasting(&told);
    run.look(roast);
    let before = start(&told, "start.onion").start;
    run.runs("thighs.roast", roast, [44, 48, 55]);
    let moved = run.look(roast + 5).unwrap();
    assert!(start(&moved, "start.onion").start > before);
    let kept = run.plan.keep(at(roast + 5)).unwrap();
    assert_eq!(kept.why, PlanWhy::Kept);
    assert!(start(&kept, "start.onion").start.drift_from(before).size() < Span::from_mins(1));
    run.runs("thighs.roast", roast, [42, 47, 54]);
    assert_eq!(run.look(roast + 6), None, "the same move again");
    run.runs("thighs.roast", roast, [50, 56, 62]);
    assert!(run.look(roast + 7).is_some(), "it moved on");
    assert_eq!(LivePlan::default().keep(at(0)), None);
}

#[test]
fn a_dish_that_is_ready_first_rests_on() {
    let (mut run, told) = Run::opened();
    let roast = run.roasting(&told);
    for (step, from, to) in
        [("start.onion", 12, 18), ("start.boil", 18, 23), ("pilaf.simmer", 23, 35), ("pilaf.tender", 35, 39)]
    {
        run.ended(step, roast + from, roast + to);
    }
    run.runs("thighs.roast", roast, [3, 4, 6]);
    run.set(
        "cover.stand",
        Stands::Running {
            began: at(roast + 40),
            left_low: Span::from_mins(6),
            left: Span::from_mins(6),
            left_high: Span::from_mins(6),
        },
    );
    let moved = run.look(roast + 40).unwrap();
    let rest = moved.rests.iter().find(|rest| rest.step.as_str() == "cover.stand").unwrap();
    // the roast ends at 44, its rest at 50; the pilaf alone would be ready at 46
    let until = rest.until.since(at(roast));
    assert!(until >= Span::from_mins(48) && until <= Span::from_mins(51), "{until:?}");
}

#[test]
fn a_dish_rests_no_longer_than_it_can_take_however_late_the_other_is() {
    let (mut run, told) = Run::opened();
    let roast = run.roasting(&told);
    for (step, from, to) in
        [("start.onion", 12, 18), ("start.boil", 18, 23), ("pilaf.simmer", 23, 35), ("pilaf.tender", 35, 39)]
    {
        run.ended(step, roast + from, roast + to);
    }
    run.runs("cover.stand", roast + 40, [6, 6, 6]);
    run.runs("thighs.roast", roast, [100, 120, 150]);
    let moved = run.look(roast + 40).unwrap();
    let rest = moved.rests.iter().find(|rest| rest.step.as_str() == "cover.stand").unwrap();
    // it stands six minutes, and six more at most
    assert_eq!(rest.until, at(roast + 52));
}

#[test]
fn nothing_is_planned_where_nothing_is_wanted_at_a_moment() {
    let recipe = recipe();
    let mut plan = LivePlan::default();
    let programme = Arc::new(recipe.base.clone());
    assert_eq!(plan.open(NO, &recipe, Arc::clone(&programme), None, &[], at(0)), None);
    assert!(!plan.is_active());
    assert_eq!(plan.look(&standing(&recipe, NO), at(1)), None);
    let wanted = plan.want(NO, at(150), &standing(&recipe, NO), at(2)).unwrap();
    assert_eq!(wanted.why, PlanWhy::Wanted);
    assert!(plan.is_active());
    plan.close(NO);
    assert!(!plan.is_active());
    plan.reopen(NO);
    assert!(plan.look(&standing(&recipe, NO), at(3)).is_some());
}

#[test]
fn two_trials_share_the_oven_and_the_hands_and_each_has_its_own_part() {
    let (mut run, first) = Run::opened();
    let other = TrialNo(1);
    let programme = Arc::new(run.recipe.base.clone());
    let told = run.plan.open(other, &run.recipe, programme, Some(at(135)), &run.standing, at(1)).unwrap();
    assert_eq!(told.why, PlanWhy::TrialOpened);
    let of = |trial: TrialNo| told.starts.iter().filter(move |start| start.at.trial == trial);
    assert_eq!((of(NO).count(), of(other).count()), (first.starts.len(), first.starts.len()));
    // one burner, and one pair of hands to season
    let season: Vec<RunTime> =
        told.starts.iter().filter(|start| start.step.as_str() == "prep.season").map(|start| start.start).collect();
    assert!(season[0].drift_from(season[1]).size() >= Span::from_mins(9), "{season:?}");
    run.plan.close(other);
    let alone = run.look(2).unwrap();
    assert!(alone.starts.iter().all(|start| start.at.trial == NO));
}

#[test]
fn a_moment_too_soon_is_said_with_the_earliest() {
    let recipe = recipe();
    let mut plan = LivePlan::default();
    let told = plan.open(NO, &recipe, Arc::new(recipe.base.clone()), Some(at(40)), &[], at(0)).unwrap();
    assert!(matches!(told.fit, PlanFit::Late { by } if by >= Span::from_mins(20)), "{:?}", told.fit);
    let cannot = plan.cannot().unwrap();
    assert_eq!(cannot.why, CannotWhy::TooSoon { wanted: at(40) });
    assert!(matches!(cannot.remedy, Some(Remedy::Earliest(when)) if when == told.landings[0].at));
}

#[test]
fn what_earlier_cooks_took_counts_before_the_recipe() {
    let recipe = recipe();
    let programme = Arc::new(recipe.base.clone());
    let mut plan = LivePlan::default();
    let took = History { time: Span::from_mins(55), spread: 0.1 };
    plan.know(&[(StepId::new("thighs.roast"), took)].into());
    let told = plan.open(NO, &recipe, Arc::clone(&programme), Some(at(150)), &[], at(0)).unwrap();
    let between = start(&told, "rest.rest").start.since(start(&told, "thighs.roast").start);
    assert!(between >= Span::from_mins(54), "{between:?}");
    // the one after it knows nothing of that
    let other = plan.open(TrialNo(1), &recipe, programme, None, &standing(&recipe, NO), at(0)).unwrap();
    let of = |step: &str| {
        let mut starts = other.starts.iter().filter(|start| start.at.trial == TrialNo(1));
        starts.find(|start| start.step.as_str() == step).unwrap().start
    };
    assert!(of("rest.rest").since(of("thighs.roast")) < Span::from_mins(45));
}
