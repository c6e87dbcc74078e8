use super::*;
use recipe_model::EventId;
use trial::Verdict;

fn two(first: Until, second: Until, begin: Begin) -> Vec<Stage> {
    let mut pan = in_stage("pan", ApplianceKind::Burner, vec![step("pan.fry", second)]);
    pan.begin = vec![begin];
    vec![in_stage("loin", ApplianceKind::Oven, vec![step("loin.roast", first)]), pan]
}

fn before_end(lead: Span) -> Begin {
    Begin { anchor: Anchor::BeforeEnd { step: place(0, 0), lead }, within: None }
}

#[test]
fn a_stage_after_another_is_ready_when_that_is_done_and_starts_on_the_press() {
    let mut run = Run::started(two(fixed(mins(10)), fixed(mins(3)), after(place(0, 0))));
    run.act(600, Act::Done(stage(0)));
    run.act(620, Act::Start(stage(1)));
    same(
        &run.told(&["step_ready", "step_began"]),
        "0 step_ready loin.roast trial_start
         0 step_began loin.roast PT0S
         600 step_ready pan.fry anchor_ended
         620 step_began pan.fry PT10M",
    );
}

#[test]
fn a_lead_before_a_fixed_end_is_called_at_that_moment() {
    let mut run = Run::started(two(fixed(mins(10)), fixed(mins(3)), before_end(mins(3))));
    run.to(600);
    same(
        &run.told(&["step_ready"]),
        "0 step_ready loin.roast trial_start
         420 step_ready pan.fry lead",
    );
}

#[test]
fn a_lead_moves_with_added_time() {
    let mut run = Run::started(two(fixed(mins(10)), fixed(mins(3)), before_end(mins(3))));
    run.act(60, Act::ChangeTime(stage(0), quantities::Drift::from_millis(120_000)));
    run.to(800);
    assert!(run.told(&["step_ready"]).contains("540 step_ready pan.fry lead"));
}

#[test]
fn a_lead_fires_at_once_when_its_anchor_ends_early() {
    let mut run = Run::started(two(fixed(mins(10)), fixed(mins(3)), before_end(mins(3))));
    run.act(180, Act::Done(stage(0)));
    assert!(run.told(&["step_ready"]).contains("180 step_ready pan.fry anchor_ended_early"));
}

#[test]
fn a_lead_follows_the_prediction_of_a_probe() {
    let mut run = Run::started(two(Until::Core(core(60, secs(10))), fixed(mins(3)), before_end(mins(5))));
    // 20 °C and two degrees a minute: 60 °C after 20 minutes, not after the 60 that the recipe expects
    for s in (0..1190).step_by(2) {
        run.core(s, 20.0 + s as f64 / 30.0);
    }
    let ready = run
        .entries
        .iter()
        .find(|e| matches!(&e.fact, Fact::StepReady { step, .. } if step.as_str() == "pan.fry"))
        .unwrap();
    let at = ready.at.since_start().secs();
    assert!((890.0..=912.0).contains(&at), "expected about 900 s, found {at}");
}

#[test]
fn a_lead_is_never_called_after_its_anchor_has_ended() {
    let mut target = core(60, secs(10));
    target.expect = Range::exactly(mins(6));
    let mut run = Run::started(two(Until::Core(target), fixed(mins(3)), before_end(mins(5))));
    // faster than any line foresaw
    for s in 0..200 {
        run.core(s, 20.0 + s as f64 * 0.3);
    }
    let ready = run
        .entries
        .iter()
        .find(|e| matches!(&e.fact, Fact::StepReady { step, .. } if step.as_str() == "pan.fry"))
        .unwrap();
    let ended = run.entries.iter().find(|e| matches!(e.fact, Fact::StepEnded { .. })).unwrap();
    assert!(ready.at <= ended.at);
}

#[test]
fn an_observed_event_starts_the_count_at_the_press() {
    let mut stages = two(
        Until::Cook { expect: Range::exactly(mins(20)) },
        fixed(mins(15)),
        Begin { anchor: Anchor::Event { event: EventId::new("loin.boil"), wait: Span::ZERO }, within: None },
    );
    stages[0].steps[0].inside.marks.push((EventId::new("loin.boil"), "it boils".into()));
    let mut run = Run::started(stages);
    run.act(333, Act::Mark(stage(0), EventId::new("loin.boil")));
    run.act(333, Act::Start(stage(1)));
    run.to(1300);
    assert!(run.told(&["step_due"]).contains("1233 step_due pan.fry"));
    assert_eq!(run.refused(1300, Act::Mark(stage(0), EventId::new("loin.boil"))), Refusal::SaidAlready);
}

#[test]
fn a_step_that_is_not_started_within_its_largest_gap_is_overdue_and_the_gap_is_on_record() {
    let mut begin = after(place(0, 0));
    begin.within = Some(mins(3));
    let mut run = Run::started(two(fixed(mins(10)), fixed(mins(3)), begin));
    run.act(600, Act::Done(stage(0)));
    run.act(800, Act::Start(stage(1)));
    assert!(run.told(&["alert_raised"]).contains("780 alert_raised pan step overdue high"));
    same(
        &run.told(&["step_began"]),
        "0 step_began loin.roast PT0S
         800 step_began pan.fry PT10M PT20S",
    );
}

#[test]
fn the_next_step_of_a_stage_begins_with_the_press_that_ended_the_one_before() {
    let steps = vec![
        step("loin.roast", fixed(mins(10))),
        step("loin.rest", Until::Rest { planned: mins(8), least: mins(3), probe: None }),
    ];
    let mut run = Run::started(vec![in_stage("loin", ApplianceKind::Oven, steps)]);
    run.act(612, Act::Done(stage(0)));
    assert!(run.told(&["step_began"]).contains("612 step_began loin.rest"));
}

#[test]
fn food_goes_into_a_hot_oven_only_on_the_press() {
    let heat =
        Until::Heat { at: Celsius::whole(180), probe: Some(ProbeName::new("core")), expect: Range::exactly(mins(12)) };
    let steps = vec![step("loin.heat", heat), step("loin.roast", fixed(mins(10)))];
    let mut run = Run::started(vec![in_stage("loin", ApplianceKind::Oven, steps)]);
    for s in 0..320 {
        run.core(s, 20.0 + s as f64 / 2.0);
    }
    run.core(320, 180.0);
    for s in 321..=330 {
        run.core(s, 181.0);
    }
    same(
        &run.told(&["step_ended", "step_ready", "step_began"]),
        "0 step_ready loin.heat trial_start
         0 step_began loin.heat PT0S
         330 step_ended loin.heat heat_reached PT5M30S exact(at(PT5M20S)) 181.0
         330 step_ready loin.roast follows",
    );
}

#[test]
fn a_waiting_stage_says_what_it_waits_for() {
    let mut run = Run::started(two(fixed(mins(10)), fixed(mins(3)), after(place(0, 0))));
    let refusal = run.refused(10, Act::Start(stage(1)));
    assert_eq!(refusal.to_string(), "pan.fry waits for loin.roast");
    run.act(11, Act::StartAnyway(stage(1)));
    assert!(run.told(&["step_ready"]).contains("11 step_ready pan.fry pressed"));
}

#[test]
fn sixty_four_stages_run_side_by_side_and_a_sixty_fifth_is_refused() {
    let stages: Vec<Stage> = (0..64)
        .map(|i| {
            in_stage(
                &format!("s{i}"),
                ApplianceKind::ALL[i % 5],
                vec![step(&format!("s{i}.go"), fixed(secs(60 + i as u64)))],
            )
        })
        .collect();
    let mut run = Run::of(stages);
    for i in 0..64 {
        run.act(0, Act::Start(stage(i)));
    }
    let one = Arc::new(programme(oven(fixed(mins(1)))));
    let refusal = run.input(1000, Input::Open(Box::new(open_trial("u", &one)))).unwrap_err();
    assert_eq!(refusal, Refusal::TooMany { found: 65, most: 64 });
    run.to(200);
    assert_eq!(run.facts(|f| matches!(f, Fact::StepDue { .. })), 64);
    let view = run.view();
    assert_eq!(view.lanes.iter().map(|lane| lane.others.len() + 1).sum::<usize>(), 64);
}

#[test]
fn two_trials_minutes_apart_keep_their_facts_apart() {
    let mut run = Run::started(oven(looked(mins(8), mins(12), mins(8), mins(1), "gold")));
    let programme = Arc::clone(&run.programme);
    run.input(120_000, Input::Open(Box::new(open_trial("u", &programme)))).unwrap();
    let second = StageAt { trial: TrialNo(1), stage: 0 };
    run.input(120_000, Input::Act(Act::Start(second))).unwrap();
    run.to(480);
    let mut of_second = 0;
    run.engine.handle(Input::Act(Act::Look(stage(0), Verdict::Done)), RunTime::from_millis(485_000)).unwrap();
    while let Some((no, _)) = run.engine.poll_fact() {
        of_second += u32::from(no == TrialNo(1));
    }
    assert_eq!(of_second, 0, "an answer to the first trial made a fact of the second");
    run.engine.handle(Input::Tick, RunTime::from_millis(600_000)).unwrap();
    let (no, entry) = run.engine.poll_fact().unwrap();
    assert_eq!((no, entry.at.millis()), (TrialNo(1), 600_000));
}
