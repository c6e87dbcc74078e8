//! What is foretold: the time left, the peak off the heat, and the call that comes before the target.

use super::*;
use doneness::Knowledge;
use recipe_model::Setting;
use trial::AlertKind;

use crate::{
    predict::{Change, Job, Learnt, Predictor, Predictors},
    view::ProbeView,
};

/// A piece in an oven at 180 °C as a curve of the lumped kind: late at first, then rising (not food, a shape like it).
fn roast(s: u64) -> f64 {
    let t = s as f64 / 3600.0;
    5.0 + 130.0 * t * t / (0.75 + t)
}

fn stages(target: CoreTarget) -> Vec<Stage> {
    let rest = Until::Rest { planned: mins(15), least: mins(3), probe: Some(ProbeName::new("core")) };
    let mut first = step("loin.roast", Until::Core(target));
    first.setting = Some(Setting::Heat { at: Celsius::whole(180), fan: false });
    vec![in_stage("loin", ApplianceKind::Oven, vec![first, step("loin.rest", rest)])]
}

fn learnt(stages: Vec<Stage>) -> Run {
    let programme = Arc::new(programme(stages));
    let predictors = Box::new(Learnt::new(Arc::new(Knowledge::shipped().unwrap())));
    let engine = Engine::new(Setup { predictors, ..Setup::default() });
    let mut run = Run { engine, entries: vec![], sounds: vec![], programme: Arc::clone(&programme) };
    run.input(0, Input::Open(Box::new(open_trial("t", &programme)))).unwrap();
    run.act(0, Act::Start(stage(0)));
    run
}

fn probe(run: &Run) -> ProbeView {
    run.view().lanes[0].front.clone().unwrap().probe.unwrap()
}

#[test]
fn minutes_before_its_end_a_step_says_when_it_will_be_and_how_far_it_carries_over() {
    let mut run = learnt(stages(core(60, secs(10))));
    let end = (0..10_000).find(|s| roast(*s) >= 60.0).unwrap();
    for s in 0..=end * 3 / 4 {
        run.core(s, roast(s));
    }
    let seen = probe(&run);
    let told = seen.estimate.unwrap();
    let left = (end / 4) as f64;
    assert!((told.median.secs() - left).abs() < 0.08 * end as f64, "{told:?} for {left} s");
    assert!(told.low <= told.median && told.median <= told.high);
    let carry = seen.carry_over.unwrap();
    assert!(carry.low_celsius <= carry.peak_celsius && carry.peak_celsius <= carry.high_celsius, "{carry:?}");
    assert!(carry.peak_celsius > seen.last.unwrap().0);
    assert_eq!(seen.take_at, None, "this target is not left to the rest");
    // nine tenths of the usual hour had not passed yet: predictions are on record as they were made
    assert!(run.facts(|f| matches!(f, Fact::Predicted { .. })) >= 3);
}

#[test]
fn a_lead_before_a_predicted_end_moves_with_the_prediction() {
    let mut stages = stages(core(60, secs(10)));
    let mut sauce = in_stage("sauce", ApplianceKind::Burner, vec![step("sauce.stir", fixed(mins(5)))]);
    let lead = Anchor::BeforeEnd { step: StepRef { stage: 0, step: 0 }, lead: mins(10) };
    sauce.begin.push(Begin { anchor: lead, within: None });
    stages.push(sauce);
    let mut run = learnt(stages);
    let end = (0..10_000).find(|s| roast(*s) >= 60.0).unwrap();
    for s in 0..=end {
        run.core(s, roast(s));
    }
    // the recipe says an hour; the food is done sooner, and the sauce is called ten minutes before that
    let ready = run.when(|f| matches!(f, Fact::StepReady { step, .. } if step.as_str() == "sauce.stir")).unwrap();
    assert!(end < 3300, "{end}");
    assert!((end - 600).abs_diff(ready) < 120, "ready at {ready} for an end at {end}");
}

#[test]
fn food_whose_target_is_left_to_the_rest_is_called_before_it_and_the_rest_measures_it() {
    let mut target = core(63, secs(10));
    target.in_rest = true;
    let mut run = learnt(stages(target));
    let mut s = 0;
    while run.facts(|f| matches!(f, Fact::PullAdvised { .. })) == 0 {
        run.core(s, roast(s));
        s += 1;
        assert!(roast(s) < 63.0, "it was never called");
    }
    let seen = probe(&run);
    assert!(seen.called && seen.take_at.unwrap() < Celsius::whole(63));
    let alert = &run.view().alerts[0];
    assert_eq!((alert.kind, alert.verb.as_str()), (AlertKind::Due, "TAKE OUT"));
    assert_eq!(run.facts(|f| matches!(f, Fact::StepEnded { .. })), 0, "a prediction ends nothing");
    let called = s - 1;
    run.act(s + 5, Act::Done(stage(0)));
    let ended = run.told(&["step_ended"]);
    assert!(ended.contains("press") && ended.contains("exact(at("), "{ended}");
    // the rest: six degrees more in eight minutes
    let from = roast(s);
    for later in 0..=900 {
        let t = f64::from(later as u32) / 480.0;
        run.core(s + 6 + later, from + 6.0 * (t * (2.0 - t)).max(if t > 1.0 { 1.0 - 0.2 * (t - 1.0) } else { 0.0 }));
    }
    let seen = probe(&run);
    assert_eq!(seen.wanted, Some(Celsius::whole(63)));
    assert!(seen.said.is_some());
    run.act(s + 1000, Act::Done(stage(0)));
    let record = trial::record::TrialRecord::of(&run.entries).unwrap();
    assert_eq!(record.steps[0].pull_advised.unwrap().0.millis(), called * 1000);
    let (_, at, said) = record.steps[0].carry_over.unwrap();
    assert!(at.is_some() && said.peak_celsius >= Celsius::whole(62), "{said:?}");
    let peak = record.steps[1].peak.unwrap().0;
    assert_eq!(record.missing.is_empty(), peak >= Celsius::whole(63), "{:?} at {peak:?}", record.missing);
    run.check_replay();
}

#[test]
fn a_rest_that_does_not_bring_it_there_is_named_at_the_close() {
    let mut target = core(63, secs(10));
    target.in_rest = true;
    let mut run = Run::started(stages(target));
    run.cores(0..=600, 20.0, 58.0);
    run.act(601, Act::Done(stage(0)));
    run.cores(602..=900, 58.0, 60.5);
    assert_eq!(probe(&run).wanted, Some(Celsius::whole(63)));
    run.act(901, Act::Done(stage(0)));
    let missing = run.view().trials[0].missing.clone();
    assert!(missing[0].starts_with("loin.roast: the core was 60.5 °C at most, its target is 63.0 °C"), "{missing:?}");
}

#[test]
fn a_published_minimum_is_measured_on_the_heat_before_food_is_called_for_the_rest() {
    let mut target = core(70, secs(10));
    (target.in_rest, target.protects, target.not_below) = (true, true, Some(Celsius::whole(63)));
    let mut run = learnt(stages(target));
    let mut s = 0;
    while run.facts(|f| matches!(f, Fact::PullAdvised { .. })) == 0 {
        run.core(s, roast(s));
        s += 1;
        assert!(roast(s) < 70.0, "it was never called");
    }
    // half a degree more than the minimum: nobody checked this probe
    assert!(roast(s) >= 63.5, "called at {} °C", roast(s));
    assert!(probe(&run).take_at.unwrap() >= Celsius::from_degrees(63.5).unwrap());
}

#[test]
fn a_rest_on_the_bench_goes_on_from_the_roast_in_the_oven() {
    let mut target = core(63, secs(10));
    target.in_rest = true;
    let rest = Until::Rest { planned: mins(15), least: mins(3), probe: Some(ProbeName::new("core")) };
    let mut bench = in_stage("rest", ApplianceKind::Bench, vec![step("rest.rest", rest)]);
    bench.begin.push(after(StepRef { stage: 0, step: 0 }));
    let mut run = learnt(vec![stages(target)[0].clone(), bench].into_iter().map(only_first).collect());
    let mut s = 0;
    while roast(s) < 55.0 {
        run.core(s, roast(s));
        s += 1;
    }
    run.act(s, Act::Done(stage(0)));
    run.act(s, Act::Start(stage(1)));
    run.cores(s + 1..=s + 300, 55.0, 58.0);
    let seen = run.view().lanes[1].front.clone().unwrap().probe.unwrap();
    assert_eq!(seen.wanted, Some(Celsius::whole(63)));
    assert!(seen.said.is_some(), "what was said when it left the oven");
    // the probe need not settle anew: it was believed from the first second on
    assert!((seen.peak.unwrap().0 - Celsius::whole(58)).abs() < CelsiusStep::HALF);
    let first = run.when(|f| matches!(f, Fact::PeakSeen { .. })).unwrap();
    // half a degree after fifty seconds, and another 25 until no fault can be found behind it any more
    assert!((s + 70..=s + 78).contains(&first), "half a degree up after {} s", first - s);
    run.act(s + 301, Act::Done(stage(1)));
    assert!(
        run.view().trials[0].missing[0].starts_with("loin.roast: the core was 58"),
        "{:?}",
        run.view().trials[0].missing
    );
    run.check_replay();
}

fn only_first(mut stage: Stage) -> Stage {
    stage.steps.truncate(1);
    stage
}

#[test]
fn where_it_protects_a_rest_counts_by_what_was_surely_measured() {
    let mut target = core(63, secs(10));
    (target.in_rest, target.protects) = (true, true);
    let mut run = Run::started(stages(target));
    run.cores(0..=600, 20.0, 60.0);
    run.act(601, Act::Done(stage(0)));
    // the reading comes to 63.3, but a probe that nobody checked may be off by half a degree
    run.cores(602..=900, 60.0, 63.3);
    run.act(901, Act::Done(stage(0)));
    let missing = run.view().trials[0].missing.clone();
    assert!(missing[0].starts_with("loin.roast: the core was 62.7 °C at most"), "{missing:?}");
}

#[test]
fn a_probe_in_the_air_beside_the_food_is_wanted_and_given_to_the_prediction() {
    let heat =
        Until::Heat { at: Celsius::whole(180), probe: Some(ProbeName::new("air")), expect: Range::exactly(mins(12)) };
    let mut stages = stages(core(60, secs(10)));
    stages[0].steps.insert(0, step("loin.preheat", heat));
    let plan = Arc::new(programme(stages));
    let mut engine = Engine::new(Setup { predictors: Box::new(Air), ..Setup::default() });
    engine.handle(Input::Open(Box::new(open_trial("t", &plan))), RunTime::START).unwrap();
    let at = RunTime::from_millis;
    engine.handle(Input::Act(Act::Start(stage(0))), at(0)).unwrap();
    engine.handle(Input::Act(Act::Done(stage(0))), at(1000)).unwrap();
    engine.handle(Input::Act(Act::Start(stage(0))), at(2000)).ok();
    let wanted: Vec<&str> = engine.probes_wanted().map(|device| device.0.as_str()).collect();
    assert_eq!(wanted, ["p1", "p2"]);
    engine.handle(Input::Reading(ProbeDevice("p2".into()), Ok(Celsius::whole(171))), at(3000)).unwrap();
    for s in 4..=14 {
        let core = Celsius::from_degrees(20.0 + 0.01 * s as f64).unwrap();
        engine.handle(Input::Reading(ProbeDevice("p1".into()), Ok(core)), at(s * 1000)).unwrap();
    }
    let seen = engine.view(engine.now()).lanes[0].front.clone().unwrap().probe.unwrap();
    assert_eq!(seen.estimate.unwrap().median, secs(171));
}

#[test]
fn a_tip_that_warms_at_once_is_warned_of_once() {
    let mut run = Run::started(oven(Until::Core(core(63, secs(10)))));
    for s in 0..=1500 {
        run.core(s, 5.0 + 60.0 * (1.0 - libm::exp(-(s as f64) / 900.0)) + [0.0, 0.03][s as usize % 2]);
    }
    assert_eq!(run.facts(|f| matches!(f, Fact::TipMayBeShallow { .. })), 1);
    assert!(probe(&run).shallow_tip);
}

/// Foretells as many seconds as the air had degrees.
struct Air;

struct Last(Celsius);

impl Predictors for Air {
    fn start(&self, _job: &Job<'_>) -> Box<dyn Predictor> {
        Box::new(Last(Celsius::whole(0)))
    }
}

impl Predictor for Last {
    fn reading(&mut self, _core: Celsius, _at: RunTime) {}

    fn air(&mut self, air: Celsius, _at: RunTime) {
        self.0 = air;
    }

    fn changed(&mut self, _change: Change, _at: RunTime) {}

    fn estimate(&self, _to: Celsius, _at: RunTime) -> Result<trial::Estimate, trial::Withheld> {
        let span = secs(self.0.degrees() as u64);
        Ok(trial::Estimate { median: span, low: span, high: span })
    }

    fn carry_over(&self) -> Option<trial::CarryOver> {
        None
    }

    fn twin(&self) -> Box<dyn Predictor> {
        Box::new(Self(self.0))
    }
}
