//! What one look costs: a reading, an estimate from models and bank, a carry-over, a twin, and the start.
#![allow(missing_docs)]

use std::{hint::black_box, sync::Arc};

use criterion::{Criterion, criterion_group, criterion_main};
use doneness::{Appliance, Estimator, Job, Knowledge};
use quantities::{Celsius, RunTime};

fn halfway() -> (Estimator, RunTime) {
    let knowledge = Arc::new(Knowledge::shipped().expect("the shipped files are whole"));
    let job =
        Job { appliance: Appliance::Oven, target: Celsius::whole(68), dial: Some(Celsius::whole(180)), history: None };
    let mut estimator = Estimator::new(job, knowledge);
    let mut at = RunTime::START;
    for second in 0..1800u32 {
        at = RunTime::from_millis(u64::from(second) * 1000);
        // a core that starts late and then rises by a curve
        let t = f64::from(second) / 3600.0;
        let core = 5.0 + 120.0 * t * t / (0.6 + t);
        estimator.reading(Celsius::from_degrees(core).expect("a kitchen temperature"), at);
        if second % 10 == 0 {
            estimator.air(Celsius::whole(178), at);
        }
    }
    (estimator, at)
}

fn looks(c: &mut Criterion) {
    let (mut estimator, at) = halfway();
    assert!(estimator.estimate(at).is_ok());
    c.bench_function("reading", |b| b.iter(|| estimator.reading(Celsius::whole(30), at)));
    let (estimator, at) = halfway();
    c.bench_function("estimate", |b| b.iter(|| black_box(estimator.estimate(at))));
    c.bench_function("carry-over", |b| b.iter(|| black_box(estimator.carry_over(true))));
    c.bench_function("twin", |b| b.iter(|| black_box(estimator.clone())));
    c.bench_function("start", |b| b.iter(|| black_box(Knowledge::shipped().is_ok())));
}

criterion_group!(benches, looks);
criterion_main!(benches);
