//! What an input costs at 4, 64 and 4,096 running steps, by straight lines and by learnt estimates.
#![allow(missing_docs, clippy::unwrap_used)]

use std::{collections::BTreeMap, hint::black_box, sync::Arc};

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use doneness::Knowledge;
use quantities::{Celsius, CelsiusStep, Range, RunTime, Span};
use recipe_model::{
    Appliance, ApplianceKind, CoreTarget, Fallback, Hands, Inside, Looks, ProbeName, Programme, RecipeId, Stage,
    StageId, Step, StepId, Until, VariantId, Window,
};
use run_engine::{
    Act, Engine, Input, OpenTrial, ProbeDevice, Setup, StageAt, TrialNo,
    predict::{Learnt, Plain, Predictors},
};
use trial::{TrialId, TrialInfo, Verdict};

fn window(first: u64) -> Window {
    Window { first: Span::from_mins(first), every: Span::from_mins(1), no_later: Span::from_mins(first + 500) }
}

/// A quarter of the steps reads a probe of its own, the rest has looks.
fn stage(i: usize) -> Stage {
    let expect = Range::new(Span::from_mins(60), Span::from_mins(600)).unwrap();
    let looks = Looks { cue: "gold".into(), window: window(60 + i as u64 % 60) };
    let until = if i.is_multiple_of(4) {
        Until::Core(CoreTarget {
            target: Celsius::whole(90),
            hold: Span::from_secs(30),
            hysteresis: CelsiusStep::from_ten_thousandths(5000),
            points: 1,
            probe: ProbeName::new(&format!("p{i}")),
            expect,
            protects: true,
            in_rest: false,
            not_below: None,
            fallback: Fallback { expect, looks },
        })
    } else {
        Until::Time { expect, looks: Some(looks) }
    };
    let step = Step {
        id: StepId::new(&format!("s{i}.go")),
        name: "go".into(),
        text: "go".into(),
        then: "TAKE OUT".into(),
        setting: None,
        hands: Hands::Free,
        until,
        begin: vec![],
        inside: Inside::default(),
        food: None,
        liquid: false,
        holdable: false,
        grace: Span::from_mins(1),
        warn: None,
        cautions: vec![],
        uses: vec![],
    };
    Stage {
        id: StageId::new(&format!("s{i}")),
        name: "food".into(),
        appliance: Appliance { kind: ApplianceKind::Oven, number: 1 },
        lane: format!("L{}", i % 4),
        dish: None,
        begin: vec![],
        steps: vec![step],
    }
}

fn running(n: usize) -> Engine {
    run(n, Box::new(Plain))
}

fn run(n: usize, predictors: Box<dyn Predictors>) -> Engine {
    let programme =
        Programme { ingredients: vec![], stages: (0..n).map(stage).collect(), dishes: vec![], landings: vec![] };
    let mut engine = Engine::new(Setup { predictors, most_stages: 10_000 });
    let info = TrialInfo {
        trial: TrialId::new("bench").unwrap(),
        recipe: RecipeId::new("bench"),
        title: "Bench".into(),
        version: "0".into(),
        variant: VariantId::base(),
        cook: None,
        kitchen: None,
        left_open: vec![],
    };
    let probes: BTreeMap<_, _> =
        (0..n).step_by(4).map(|i| (ProbeName::new(&format!("p{i}")), ProbeDevice(format!("d{i}")))).collect();
    engine
        .handle(
            Input::Open(Box::new(OpenTrial {
                info,
                programme: Arc::new(programme),
                probes,
                equipment: vec![],
                calibrations: BTreeMap::new(),
                history: BTreeMap::new(),
                quiet: false,
                plan: None,
            })),
            RunTime::START,
        )
        .unwrap();
    for i in 0..n {
        engine.handle(Input::Act(Act::Start(StageAt { trial: TrialNo(0), stage: i as u16 })), RunTime::START).unwrap();
    }
    drain(&mut engine);
    engine
}

fn drain(engine: &mut Engine) {
    while engine.poll_fact().is_some() {}
    while engine.poll_signal().is_some() {}
}

fn inputs(c: &mut Criterion) {
    for n in [4usize, 64, 4096] {
        let mut group = c.benchmark_group("input");
        group.bench_function(BenchmarkId::new("reading", n), |b| {
            let mut engine = running(n);
            let (mut now, mut i) = (0u64, 0usize);
            b.iter(|| {
                // each probe once a second, one after another
                now += 4000 / n as u64;
                i = (i + 4) % n;
                let reading = Ok(Celsius::from_ten_thousandths(300_000 + (now % 1000) as i32).unwrap());
                let input = Input::Reading(ProbeDevice(format!("d{i}")), reading);
                engine.handle(input, RunTime::from_millis(now)).unwrap();
                drain(&mut engine);
            });
        });
        if n <= 64 {
            group.bench_function(BenchmarkId::new("reading, learnt", n), |b| {
                let knowledge = Arc::new(Knowledge::shipped().unwrap());
                let mut engine = run(n, Box::new(Learnt::new(knowledge)));
                let (mut now, mut i) = (0u64, 0usize);
                b.iter(|| {
                    now += 4000 / n as u64;
                    i = (i + 4) % n;
                    // warming by 0.01 °C a second, so that there is something to foretell
                    let core = Celsius::from_ten_thousandths(50_000 + (now / 10 % 700_000) as i32).unwrap();
                    let input = Input::Reading(ProbeDevice(format!("d{i}")), Ok(core));
                    engine.handle(input, RunTime::from_millis(now)).unwrap();
                    drain(&mut engine);
                });
            });
        }
        group.bench_function(BenchmarkId::new("press", n), |b| {
            let mut engine = running(n);
            let (mut now, mut i) = (0u64, 0usize);
            b.iter(|| {
                now += 1;
                i = (i + 4) % n;
                let at = StageAt { trial: TrialNo(0), stage: (i + 1) as u16 };
                engine.handle(Input::Act(Act::Look(at, Verdict::NotYet)), RunTime::from_millis(now)).unwrap();
                drain(&mut engine);
            });
        });
        group.bench_function(BenchmarkId::new("tick", n), |b| {
            let mut engine = running(n);
            let mut now = 0u64;
            b.iter(|| {
                now += 1;
                engine.handle(Input::Tick, RunTime::from_millis(now)).unwrap();
                drain(&mut engine);
            });
        });
        group.finish();
    }
    let mut group = c.benchmark_group("view");
    for n in [4usize, 64] {
        let engine = running(n);
        group.bench_function(BenchmarkId::from_parameter(n), |b| {
            b.iter(|| black_box(engine.view(RunTime::from_millis(1000))))
        });
    }
    group.finish();
}

criterion_group!(benches, inputs);
criterion_main!(benches);
