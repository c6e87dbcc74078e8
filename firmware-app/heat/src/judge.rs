//! Judges the estimator on curves of any source: fed second by second with what a step would know, and nothing else.
//!
//! What a step knows: the appliance, the oven's dial, turns and changes of the dial as they happen, the target, and the
//! readings so far. The true times are used only to score.

mod tables;
mod traces;

use std::{collections::BTreeMap, sync::Arc};

use doneness::{
    Estimator, History, Knowledge, Mix, NoCarry, Withheld,
    reached::{Reach, Rule},
};
use quantities::{CelsiusStep, Span};

pub use traces::{JudgeError, Trace, read, simulated};
use traces::{celsius, moment};

use crate::chance::Chance;

/// How to judge.
#[derive(Clone, Debug)]
pub struct Ask {
    /// Bank and models.
    pub knowledge: Arc<Knowledge>,
    /// How they are mixed.
    pub mix: Mix,
    /// Judge the rules of reaching too; not for simulated probes, whose stems and offsets the rules cannot know.
    pub reached: bool,
    /// Earlier trials are made up from the truth with this spread, if any.
    pub history: Option<f64>,
}

/// The tables and what was missed.
#[derive(Clone, Debug, Default)]
pub struct Verdict {
    /// For people.
    pub text: String,
    /// Accept figures that were not met.
    pub missed: Vec<String>,
}

/// Looks at these shares of the true time; those at 25, 50 and 75 % are in the tables of errors.
const LOOKS: [f64; 15] = [0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95];

/// The error in % of the whole time, whether the truth was inside the interval, whether later than it.
type Look = (f64, bool, bool);

/// Scores of one group.
#[derive(Clone, Debug, Default)]
struct Group {
    /// By the share of the true time.
    looks: BTreeMap<usize, Vec<Look>>,
    withheld: BTreeMap<usize, BTreeMap<Withheld, u32>>,
    /// Errors of the peak in °C, whether inside, whether under the low bound, error of its time in s.
    carry: Vec<(f64, bool, bool, f64)>,
    no_carry: BTreeMap<NoCarry, u32>,
    /// By the rule: seconds after the truth, and how far under the target in °C.
    reached: BTreeMap<&'static str, Vec<(f64, f64)>>,
    missed: BTreeMap<&'static str, u32>,
}

/// Judges curves.
pub fn judge(traces: &[Trace], ask: &Ask) -> Verdict {
    let mut groups: BTreeMap<String, Group> = BTreeMap::new();
    for (n, trace) in traces.iter().enumerate() {
        let names = [
            "all".to_owned(),
            format!("appliance {:?}", trace.record.appliance()),
            format!("family {}", trace.record.family),
        ];
        score(trace, ask, n as u64, &mut |put| {
            for name in &names {
                put(groups.entry(name.clone()).or_default());
            }
        });
    }
    let mut verdict = Verdict::default();
    tables::times(&groups, &mut verdict);
    if ask.reached {
        tables::reached(&groups, &mut verdict);
    }
    tables::carry(&groups, &mut verdict);
    verdict
}

/// Notes a score in each group that a curve belongs to.
type Put<'a> = &'a mut dyn FnMut(&dyn Fn(&mut Group));

fn score(trace: &Trace, ask: &Ask, n: u64, put: Put<'_>) {
    let record = &trace.record;
    let end = record.t_target_s;
    let history = end.zip(ask.history).map(|(end, spread)| {
        let before = end * libm::exp(spread * Chance::of(4242, n).normal());
        History { time: Span::from_millis((before * 1000.0) as u64), spread }
    });
    let mut estimator = Estimator::new(record.job(history), Arc::clone(&ask.knowledge)).with_mix(ask.mix);
    let told = record.told();
    let target = celsius(record.target_c);
    let mut rules: Vec<(&'static str, Reach)> = vec![
        (MEAN_10, Reach::new(target, Rule::Protects { mean: Span::from_secs(10), uncertainty: CelsiusStep::ZERO })),
        (MEAN_30, Reach::new(target, Rule::protects(CelsiusStep::ZERO))),
        (CAREFUL, Reach::new(target, Rule::protects(CelsiusStep::from_ten_thousandths(3000)))),
        (LINE, Reach::new(target, Rule::Doneness)),
    ];
    let mut called: BTreeMap<&'static str, f64> = BTreeMap::new();
    let (mut next_told, mut next_look, mut next_pull) = (0, 0, 0);
    for (t, core, air) in &trace.rows {
        let at = moment(*t);
        while let Some((when, change)) = told.get(next_told).filter(|(when, _)| *when <= *t) {
            estimator.changed(*change, moment(*when));
            next_told += 1;
        }
        let in_heat = record.pull_in_trace_s.or(end).is_none_or(|pull| *t <= pull);
        if in_heat {
            estimator.reading(celsius(*core), at);
            if let Some(air) = air {
                estimator.air(celsius(*air), at);
            }
        }
        // the rules go on in the rest, as a station does
        for (name, rule) in &mut rules {
            if rule.reading(celsius(*core), at).is_some() {
                called.entry(name).or_insert(*t);
            }
        }
        if *core >= record.target_c {
            called.entry(RAW).or_insert(*t);
        }
        if let Some(end) = end {
            while let Some(share) = LOOKS.get(next_look).filter(|share| **share * end <= *t) {
                let look = next_look;
                next_look += 1;
                match estimator.estimate(at) {
                    Ok(forecast) => {
                        let truth = end - t;
                        let error = (forecast.median.secs() - truth).abs() / end * 100.0;
                        let late = truth > forecast.high.secs();
                        let inside = !late && truth >= forecast.low.secs();
                        put(&|group| group.looks.entry(look).or_default().push((error, inside, late)));
                    }
                    Err(why) => {
                        let _ = share;
                        put(&|group| {
                            *group.withheld.entry(look).or_default().entry(why).or_default() += 1;
                        });
                    }
                }
            }
        }
        while let Some(pull) = record.pulls.get(next_pull).filter(|pull| pull.pull_t_s <= *t) {
            next_pull += 1;
            match estimator.carry_over(record.foil) {
                Ok(told) => {
                    let off = told.median.degrees() - pull.peak_c;
                    let under = pull.peak_c < told.low.degrees();
                    let inside = !under && pull.peak_c <= told.high.degrees();
                    let late = told.after.0.secs() - pull.peak_after_s;
                    put(&|group| group.carry.push((off.abs(), inside, under, late.abs())));
                }
                Err(why) => put(&|group| *group.no_carry.entry(why).or_default() += 1),
            }
        }
    }
    if let (Some(end), Some(five)) = (end, record.t_target_m5_s) {
        let slope = 5.0 / (end - five).max(1.0);
        for name in [RAW, MEAN_10, MEAN_30, CAREFUL, LINE] {
            match called.get(name) {
                Some(t) => {
                    let late = t - end;
                    put(&|group| group.reached.entry(name).or_default().push((late, -late * slope)));
                }
                None => put(&|group| *group.missed.entry(name).or_default() += 1),
            }
        }
    }
}

const RAW: &str = "first reading at the target";
const MEAN_10: &str = "mean of 10 s";
const MEAN_30: &str = "mean of 30 s";
const CAREFUL: &str = "mean of 30 s less 0.3 °C";
const LINE: &str = "line of 30 s led by 3 s held 5 s";
