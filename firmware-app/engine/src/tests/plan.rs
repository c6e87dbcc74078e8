use super::*;
use quantities::Drift;
use recipe_model::EventId;
use trial::{AlertKind, BeginCause, PlanFit, PlanWhy};

use crate::{
    Away, PlannedLanding, PlannedRest, PlannedStart, StationPlan,
    view::{KeyWord, LaneState, NextWhat, PlanView},
};

fn at(s: u64) -> RunTime {
    RunTime::from_millis(s * 1000)
}

/// Starts in seconds, each with its latest one.
fn plan(starts: &[(u16, &str, u64, u64)]) -> StationPlan {
    let start = |(n, step, start, latest): &(u16, &str, u64, u64)| PlannedStart {
        at: stage(*n),
        step: StepId::new(step),
        start: at(*start),
        latest: at(*latest),
        critical: start == latest,
    };
    StationPlan {
        why: PlanWhy::Opened,
        starts: starts.iter().map(start).collect(),
        landings: vec![],
        rests: vec![],
        fit: PlanFit::Fits,
    }
}

fn landing(name: &str, s: u64) -> PlannedLanding {
    PlannedLanding {
        trial: TrialNo(0),
        name: name.into(),
        at: at(s),
        wanted: Some(at(s - 60)),
        low: at(s - 120),
        high: at(s + 240),
        chance_thousandths: Some(830),
        late: secs(60),
        dishes: vec![StepId::new("loin.roast")],
    }
}

impl Run {
    /// A plan at a second.
    fn plan(&mut self, s: u64, plan: StationPlan) {
        self.to(s);
        self.input(s * 1000, Input::Plan(plan)).unwrap();
    }

    fn plan_facts(&self) -> Vec<&Fact> {
        let plans = self.entries.iter().filter(|entry| {
            let is = matches!(entry.fact, Fact::PlanMade { .. } | Fact::PlanMoved { .. });
            assert!(!is || entry.action.is_none(), "a plan belongs to no action");
            is
        });
        plans.map(|entry| &entry.fact).collect()
    }
}

/// A loin in the oven, and rice on a burner.
fn two() -> Vec<Stage> {
    vec![
        in_stage("loin", ApplianceKind::Oven, vec![step("loin.roast", fixed(mins(60)))]),
        in_stage("rice", ApplianceKind::Burner, vec![step("rice.boil", fixed(mins(15)))]),
    ]
}

/// The engine with a trial that was opened with its plan.
fn opened_with(stages: Vec<Stage>, plan: StationPlan) -> Run {
    let programme = Arc::new(programme(stages));
    let mut run = Run {
        engine: Engine::new(Setup::default()),
        entries: vec![],
        sounds: vec![],
        programme: Arc::clone(&programme),
    };
    assert_eq!(run.engine.next_trial(), TrialNo(0));
    let open = OpenTrial { plan: Some(plan), ..open_trial("t", &programme) };
    run.input(0, Input::Open(Box::new(open))).unwrap();
    run
}

#[test]
fn a_trial_that_is_opened_two_hours_early_waits_in_silence_and_says_what_is_next() {
    let mut run = opened_with(two(), plan(&[(0, "loin.roast", 3600, 3600), (1, "rice.boil", 6300, 6420)]));
    run.to(3599);
    assert!(run.sounds.is_empty() && run.view().alerts.is_empty());
    let view = run.view();
    let next = view.next.unwrap();
    assert_eq!((next.what, next.when), (NextWhat::Start("roast".into()), at(3600)));
    assert_eq!(view.all_done, Some(at(7200)), "the plan counts, not what could be done at once");
    let front = view.lanes[0].front.as_ref().unwrap();
    assert_eq!(front.state, LaneState::Waiting { ready: Some(at(3600)) });
    assert_eq!(front.plan, Some(PlanView { start: at(3600), latest: at(3600), critical: true }));
    let named: Vec<_> = view.starts.iter().map(|start| (start.step.as_str(), start.lane, start.ready)).collect();
    assert_eq!(named, [("loin.roast", 1, false), ("rice.boil", 2, false)]);
    run.act(3620, Act::Start(stage(0)));
    same(
        &run.told(&["step_ready", "step_began", "alert_raised"]),
        "3600 step_ready loin.roast planned
         3600 alert_raised loin step ready medium
         3620 step_began loin.roast PT1H",
    );
    run.check_replay();
}

#[test]
fn a_step_whose_conditions_hold_waits_for_its_planned_start_and_one_whose_start_has_passed_does_not() {
    let mut stages = two();
    stages[1].begin = vec![after(place(0, 0))];
    let mut run = Run::started(stages);
    run.plan(10, plan(&[(1, "rice.boil", 3700, 3900)]));
    run.act(3600, Act::Done(stage(0)));
    assert_eq!(run.refused(3650, Act::Start(stage(1))).to_string(), "rice.boil waits for its planned start, 50 s more");
    run.to(3699);
    assert_eq!(run.when(|fact| matches!(fact, Fact::StepReady { step, .. } if step.as_str() == "rice.boil")), None);
    run.to(3700);
    assert!(run.told(&["step_ready"]).ends_with("3700 step_ready rice.boil planned\n"));

    let mut late = two();
    late[1].begin = vec![after(place(0, 0))];
    let mut run = Run::started(late);
    run.plan(10, plan(&[(1, "rice.boil", 3500, 3900)]));
    run.act(3600, Act::Done(stage(0)));
    assert!(run.told(&["step_ready"]).ends_with("3600 step_ready rice.boil anchor_ended\n"));
    run.act(3610, Act::Start(stage(1)));
    assert!(run.told(&["step_began"]).ends_with("3610 step_began rice.boil PT58M20S\n"), "against the plan");
}

#[test]
fn the_gap_that_the_food_can_take_wins_over_a_plan() {
    let mut stages = two();
    let mut begin = after(place(0, 0));
    begin.within = Some(mins(3));
    stages[1].begin = vec![begin];
    let run = |start: u64| {
        let mut run = Run::started(stages.clone());
        run.plan(10, plan(&[(1, "rice.boil", start, start + 600)]));
        run.act(3600, Act::Done(stage(0)));
        run.to(3790);
        run
    };
    // within the gap it is followed
    assert!(run(3720).told(&["step_ready"]).contains("3720 step_ready rice.boil planned"));
    let past = run(3781);
    assert!(past.told(&["step_ready"]).contains("3600 step_ready rice.boil anchor_ended"));
    assert!(past.told(&["alert_raised"]).contains("3780 alert_raised rice step overdue high"));
    let view = past.view().lanes[1].front.clone().unwrap().plan.unwrap();
    assert_eq!((view.start, view.latest), (at(3780), at(3780)), "no later than the food can take");
}

#[test]
fn the_cook_can_start_a_step_before_its_planned_start() {
    let mut run = opened_with(two(), plan(&[(0, "loin.roast", 3600, 3600)]));
    run.act(100, Act::StartAnyway(stage(0)));
    same(
        &run.told(&["step_ready", "step_began"]),
        "0 step_ready rice.boil trial_start
         100 step_ready loin.roast pressed
         100 step_began loin.roast PT1H",
    );
    // and what comes of a plan that does not know it yet is nothing
    run.plan(101, plan(&[(0, "loin.roast", 3900, 3900)]));
    assert_eq!(run.plan_facts().len(), 1);
    assert!(matches!(run.view().lanes[0].front.as_ref().unwrap().state, LaneState::Running { .. }));
}

#[test]
fn a_step_that_follows_at_once_and_a_rest_are_never_kept_back() {
    let rest = Until::Rest { planned: mins(8), least: mins(3), probe: None };
    let mut stages = vec![
        in_stage(
            "loin",
            ApplianceKind::Oven,
            vec![step("loin.sear", fixed(mins(5))), step("loin.roast", fixed(mins(60)))],
        ),
        in_stage("board", ApplianceKind::Bench, vec![step("board.rest", rest)]),
    ];
    stages[1].begin = vec![after(place(0, 1))];
    let mut run = Run::started(stages);
    run.plan(10, plan(&[(0, "loin.roast", 1000, 1000), (1, "board.rest", 9000, 9000)]));
    assert_eq!(run.view().all_done, Some(at(300 + 3600 + 480)), "the forecast knows it too");
    run.act(300, Act::Done(stage(0)));
    run.act(3900, Act::Done(stage(0)));
    let told = run.told(&["step_ready", "step_began"]);
    assert!(told.contains("300 step_began loin.roast"), "{told}");
    assert!(told.contains("3900 step_ready board.rest anchor_ended"), "{told}");
}

#[test]
fn food_goes_into_a_hot_oven_at_its_planned_start() {
    let heat =
        Until::Heat { at: Celsius::whole(180), probe: Some(ProbeName::new("core")), expect: Range::exactly(mins(12)) };
    let steps = vec![step("loin.heat", heat), step("loin.roast", fixed(mins(10)))];
    let stages = vec![in_stage("loin", ApplianceKind::Oven, steps)];
    let mut run = Run::started(stages.clone());
    run.plan(1, plan(&[(0, "loin.roast", 900, 960)]));
    assert_eq!(run.view().all_done, Some(at(900 + 600)));
    run.cores(2..=320, 20.0, 180.0);
    run.cores(321..=340, 181.0, 181.0);
    run.to(950);
    let told = run.told(&["step_ended", "step_ready", "step_began"]);
    assert!(told.contains("step_ended loin.heat heat_reached"), "{told}");
    assert!(told.ends_with("900 step_ready loin.roast planned\n"), "{told}");
    // where the cook says that it is hot, the hand is there: the food goes in at once
    let mut run = Run::started(stages);
    run.plan(1, plan(&[(0, "loin.roast", 900, 960)]));
    run.act(700, Act::Done(stage(0)));
    assert!(run.told(&["step_began"]).contains("700 step_began loin.roast"));
}

#[test]
fn a_lead_whose_anchor_has_ended_is_not_kept_back() {
    let mut stages = two();
    stages[1].begin = vec![Begin { anchor: Anchor::BeforeEnd { step: place(0, 0), lead: mins(5) }, within: None }];
    let mut run = Run::started(stages);
    run.plan(10, plan(&[(1, "rice.boil", 3400, 3500)]));
    run.to(3399);
    assert_eq!(run.when(|fact| matches!(fact, Fact::StepReady { step, .. } if step.as_str() == "rice.boil")), None);
    run.act(3399, Act::Done(stage(0)));
    assert!(run.told(&["step_ready"]).contains("3399 step_ready rice.boil anchor_ended_early"));
}

#[test]
fn a_plan_is_written_once_and_then_only_what_moved() {
    let mut run = Run::started(two());
    let first = StationPlan { landings: vec![landing("loin and rice", 7200)], ..plan(&[(1, "rice.boil", 3000, 3060)]) };
    run.plan(10, first.clone());
    run.plan(11, first.clone());
    // half a second, a longer slack and a wider band are not written, but shown
    let mut little = first.clone();
    little.starts[0].start = RunTime::from_millis(3_000_500);
    little.starts[0].latest = at(3200);
    little.landings[0].high = at(7700);
    run.plan(12, little);
    assert_eq!(run.plan_facts().len(), 1);
    let view = run.view();
    assert_eq!((view.starts[0].plan.start, view.starts[0].plan.latest), (at(3000), at(3200)));
    assert_eq!((view.landings[0].at, view.landings[0].high), (at(7200), at(7700)));
    let mut moved = first.clone();
    moved.why = PlanWhy::Foreseen { step: StepId::new("loin.roast"), by: Drift::from_millis(90_000) };
    moved.starts[0].start = at(3001);
    run.plan(13, moved);
    let facts = run.plan_facts();
    let Fact::PlanMoved { why, moved, landings, dropped, fit } = facts[1] else { panic!("{facts:?}") };
    assert!(matches!(why, PlanWhy::Foreseen { .. }));
    assert_eq!((moved.len(), landings.len(), dropped.len(), fit), (1, 0, 0, &PlanFit::Fits));
    assert_eq!((moved[0].was, moved[0].now), (Some(at(3000)), at(3001)));
    // another landing takes the dishes, and the plan does not fit
    let cannot = PlanFit::Cannot { reason: "2 burners wanted, 1 there".into() };
    let other = StationPlan { landings: vec![landing("menu", 7300)], fit: cannot.clone(), ..first };
    run.plan(14, other);
    let facts = run.plan_facts();
    let Fact::PlanMoved { landings, dropped, fit, .. } = facts[2] else { panic!("{facts:?}") };
    assert_eq!((landings[0].name.as_str(), landings[0].was, landings[0].now), ("menu", None, at(7300)));
    assert_eq!((dropped.as_slice(), fit), ([String::from("loin and rice")].as_slice(), &cannot));
    assert_eq!(run.view().trials[0].plan, Some(cannot));
    run.check_replay();
}

#[test]
fn what_a_plan_says_of_other_or_unknown_steps_is_passed_over() {
    let mut run = Run::started(two());
    let mut odd = plan(&[(0, "loin.roast", 900, 900), (1, "loin.roast", 900, 900), (1, "rice.fry", 900, 900)]);
    odd.starts.push(PlannedStart { at: StageAt { trial: TrialNo(7), stage: 99 }, ..odd.starts[0].clone() });
    odd.starts.push(PlannedStart { at: stage(99), ..odd.starts[0].clone() });
    run.plan(10, odd);
    assert!(run.plan_facts().is_empty() && run.view().starts.is_empty());
}

#[test]
fn a_step_that_the_cook_was_called_to_start_keeps_its_start_until_that_moves_well_ahead() {
    let mut run = opened_with(two(), plan(&[(0, "loin.roast", 600, 900), (1, "rice.boil", 5000, 5000)]));
    // each new plan starts it a little later: it cannot start before now
    for s in [610, 640, 700] {
        run.plan(s, plan(&[(0, "loin.roast", s + 5, 900), (1, "rice.boil", 5000, 5000)]));
    }
    assert_eq!((run.plan_facts().len(), run.facts(|fact| matches!(fact, Fact::StepWaits { .. }))), (1, 0));
    assert_eq!(run.view().lanes[0].front.as_ref().unwrap().key, Some(KeyWord::Start));
    // the cook wants to serve half an hour later
    run.plan(710, StationPlan { why: PlanWhy::Wanted, ..plan(&[(0, "loin.roast", 2400, 2700)]) });
    assert!(run.view().alerts.is_empty());
    assert_eq!(run.view().lanes[0].front.as_ref().unwrap().state, LaneState::Waiting { ready: Some(at(2400)) });
    run.act(2410, Act::Start(stage(0)));
    same(
        &run.told(&["step_ready", "step_waits", "step_began"]),
        "600 step_ready loin.roast planned
         710 step_waits loin.roast
         2400 step_ready loin.roast planned
         2410 step_began loin.roast PT40M",
    );
    run.check_replay();
}

#[test]
fn a_step_that_is_not_started_two_minutes_after_its_planned_start_is_due_and_its_key_still_starts_it() {
    let mut run = opened_with(two(), plan(&[(0, "loin.roast", 600, 900), (1, "rice.boil", 5000, 5000)]));
    run.to(719);
    assert!(matches!(run.view().lanes[0].front.as_ref().unwrap().state, LaneState::Ready { .. }));
    run.to(735);
    let view = run.view();
    let alert = &view.alerts[0];
    assert_eq!((alert.kind, alert.priority, alert.since), (AlertKind::Due, trial::Priority::Low, at(600)));
    assert_eq!((alert.verb.as_str(), alert.text.as_str()), ("START", "roast"));
    let front = view.lanes[0].front.as_ref().unwrap();
    assert_eq!((&front.state, front.key), (&LaneState::Due { since: at(600) }, Some(KeyWord::Start)));
    assert_eq!(run.sounds.iter().filter(|(when, _, _)| *when >= at(601)).count(), 1, "once, and low");
    run.act(740, Act::Start(stage(0)));
    assert!(run.view().alerts.is_empty());
    assert!(run.told(&["step_began"]).contains("740 step_began loin.roast PT10M"));
}

#[test]
fn an_undone_start_finds_its_plan_again_and_a_plan_is_not_undone() {
    let mut run = opened_with(two(), plan(&[(0, "loin.roast", 600, 900), (1, "rice.boil", 5000, 5000)]));
    run.act(605, Act::Start(stage(0)));
    run.plan(606, plan(&[(1, "rice.boil", 5200, 5200)]));
    run.act(607, Act::Undo);
    let view = run.view();
    assert_eq!(view.lanes[0].front.as_ref().unwrap().plan.unwrap().start, at(600));
    assert_eq!(view.starts[1].plan.start, at(5200));
    run.check_replay();
}

#[test]
fn a_restored_trial_shows_the_same_plan() {
    let mut run = Run::started(two());
    let first = StationPlan { landings: vec![landing("loin and rice", 7200)], ..plan(&[(1, "rice.boil", 3000, 3060)]) };
    run.plan(10, first.clone());
    let mut moved = first;
    moved.why = PlanWhy::Kept;
    moved.starts[0].start = at(3100);
    moved.landings = vec![landing("loin and rice", 7260)];
    run.plan(20, moved);
    let mut again = Engine::new(Setup::default());
    again.restore(open_trial("t", &run.programme), &run.entries, None, at(20)).unwrap();
    let (before, restored) = (run.view(), again.view(at(20)));
    assert_eq!((restored.starts.len(), restored.landings.len()), (1, 1));
    assert_eq!(before, restored);
    // and it is called at the planned start, whatever was missed
    let away = Away { dark: trial::Dark::Known(secs(4000)), ask: false };
    let mut late = Engine::new(Setup::default());
    late.restore(open_trial("t", &run.programme), &run.entries, Some(away), at(4020)).unwrap();
    assert!(matches!(late.view(at(4020)).lanes[1].front.as_ref().unwrap().state, LaneState::Ready { .. }));
}

#[test]
fn a_plan_moves_the_leads_that_hang_on_what_it_plans() {
    let mut stages = two();
    stages[1].begin = vec![Begin { anchor: Anchor::BeforeEnd { step: place(0, 0), lead: mins(10) }, within: None }];
    let mut run = opened_with(stages, plan(&[(0, "loin.roast", 1200, 1200)]));
    assert_eq!(
        run.view().lanes[1].front.as_ref().unwrap().state,
        LaneState::Waiting { ready: Some(at(1200 + 3600 - 600)) }
    );
    run.plan(60, plan(&[(0, "loin.roast", 1800, 1800)]));
    assert_eq!(
        run.view().lanes[1].front.as_ref().unwrap().state,
        LaneState::Waiting { ready: Some(at(1800 + 3600 - 600)) }
    );
}

#[test]
fn an_event_that_is_not_seen_keeps_a_planned_step_waiting() {
    let mut stages = two();
    stages[0].steps[0].inside.marks.push((EventId::new("loin.smell"), "it smells".into()));
    stages[1].begin =
        vec![Begin { anchor: Anchor::Event { event: EventId::new("loin.smell"), wait: Span::ZERO }, within: None }];
    let mut run = Run::started(stages);
    run.plan(10, plan(&[(1, "rice.boil", 100, 100)]));
    run.to(200);
    assert!(matches!(run.view().lanes[1].front.as_ref().unwrap().state, LaneState::Waiting { .. }));
    run.act(201, Act::Mark(stage(0), EventId::new("loin.smell")));
    assert!(run.facts(|fact| matches!(fact, Fact::StepReady { cause: BeginCause::EventSeen, .. })) == 1);
}

#[test]
fn each_trial_has_its_own_part_of_a_plan() {
    let mut run = Run::started(two());
    let programme = Arc::clone(&run.programme);
    run.plan(10, plan(&[(1, "rice.boil", 3000, 3000)]));
    let second = run.engine.next_trial();
    let mut both = plan(&[(1, "rice.boil", 3300, 3300)]);
    let of_second = |step: &str, stage| PlannedStart {
        at: StageAt { trial: second, stage },
        step: StepId::new(step),
        start: at(600),
        latest: at(700),
        critical: false,
    };
    both.why = PlanWhy::TrialOpened;
    both.starts.extend([of_second("loin.roast", 0), of_second("rice.boil", 1)]);
    let open = OpenTrial { plan: Some(both), ..open_trial("u", &programme) };
    run.engine.handle(Input::Open(Box::new(open)), at(20)).unwrap();
    let mut told = vec![];
    while let Some((no, entry)) = run.engine.poll_fact() {
        match entry.fact {
            Fact::PlanMade { starts, .. } => told.push((no, "made", starts.len())),
            Fact::PlanMoved { moved, .. } => told.push((no, "moved", moved.len())),
            Fact::StepReady { .. } => told.push((no, "ready", 0)),
            _ => {}
        }
    }
    told.sort();
    assert_eq!(told, [(TrialNo(0), "moved", 1), (second, "made", 2)], "and nothing of it is called");
}

fn resting() -> Vec<Stage> {
    let rest = Until::Rest { planned: mins(6), least: mins(4), probe: None };
    let in_oven = Until::Rest { planned: mins(6), least: mins(4), probe: None };
    vec![
        in_stage("rice", ApplianceKind::Bench, vec![step("rice.stand", rest)]),
        in_stage("veal", ApplianceKind::Oven, vec![step("veal.rest", in_oven)]),
    ]
}

fn rests(of: &[(u16, &str, u64)]) -> StationPlan {
    let rest =
        |(n, step, until): &(u16, &str, u64)| PlannedRest { at: stage(*n), step: StepId::new(step), until: at(*until) };
    StationPlan { rests: of.iter().map(rest).collect(), ..plan(&[(0, "rice.stand", 0, 0)]) }
}

fn state_of(view: &RunView, n: u16) -> LaneState {
    let fronts = view.lanes.iter().filter_map(|lane| lane.front.as_ref());
    fronts.into_iter().find(|front| front.at == stage(n)).unwrap().state.clone()
}

fn due(run: &Run, n: u16) -> Option<RunTime> {
    match state_of(&run.view(), n) {
        LaneState::Running { due, .. } => due,
        _ => None,
    }
}

#[test]
fn a_rest_goes_on_until_the_dishes_land_and_never_ends_before_its_own_time() {
    let mut run = opened_with(resting(), rests(&[(0, "rice.stand", 500), (1, "veal.rest", 500)]));
    run.act(0, Act::Start(stage(0)));
    run.act(0, Act::Start(stage(1)));
    assert_eq!(due(&run, 0), Some(at(500)), "as it was planned before it began");
    assert_eq!(due(&run, 1), Some(at(360)), "food in the oven cooks on: no plan keeps it there");
    run.plan(60, rests(&[(0, "rice.stand", 100)]));
    assert_eq!(due(&run, 0), Some(at(360)), "its own time");
    run.plan(120, rests(&[(0, "rice.stand", 600)]));
    run.plan(130, rests(&[(0, "rice.stand", 610)]));
    assert_eq!(due(&run, 0), Some(at(600)), "a few seconds are no change");
    let told = run.told(&["rest_planned"]);
    same(
        &told,
        "0 rest_planned rice.stand PT8M20S
         60 rest_planned rice.stand PT1M40S
         120 rest_planned rice.stand PT10M",
    );
    let mut again = Engine::new(Setup::default());
    again.restore(open_trial("t", &run.programme), &run.entries, None, at(130)).unwrap();
    assert_eq!(state_of(&again.view(at(130)), 0), state_of(&run.view(), 0));
    run.to(600);
    assert!(matches!(state_of(&run.view(), 0), LaneState::Due { since } if since == at(600)));
    run.plan(610, rests(&[(0, "rice.stand", 900)]));
    assert!(
        matches!(state_of(&run.view(), 0), LaneState::Due { since } if since == at(600)),
        "what was called is not taken back"
    );
}

#[test]
fn an_undo_does_not_undo_what_a_plan_says_of_a_rest() {
    let mut run = opened_with(resting(), rests(&[]));
    run.act(0, Act::Start(stage(0)));
    run.act(10, Act::ChangeTime(stage(0), Drift::from_millis(60_000)));
    run.plan(20, rests(&[(0, "rice.stand", 700)]));
    run.act(30, Act::Undo);
    assert_eq!(due(&run, 0), Some(at(700)));
}
