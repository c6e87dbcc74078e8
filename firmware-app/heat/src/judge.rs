//! Judges the estimator on curves of any source: fed second by second with what a step would know, and nothing else.
//!
//! What a step knows: the appliance, the oven's dial, turns and changes of the dial as they happen, the target, and the
//! readings so far. The true times are used only to score.

mod figures;
mod record;
mod tables;
mod traces;

use std::{
    collections::BTreeMap,
    sync::Arc,
    time::{Duration, Instant},
};

use doneness::{
    Estimator, History, Knowledge, Mix, NoCarry, Withheld,
    reached::{Reach, Rule},
};
use quantities::{CelsiusStep, Span};

pub use figures::{Figure, Grade};
use record::{Truth, celsius, moment};
pub use traces::{Curves, JudgeError, Trace, read, simulated};

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

/// The tables, the figures held against what is accepted, and the cost.
#[derive(Clone, Debug, Default)]
pub struct Verdict {
    /// Tables for people.
    pub text: String,
    /// What is accepted and what was found.
    pub figures: Vec<Figure>,
    /// What it cost.
    pub cost: Cost,
}

impl Verdict {
    /// The figures that are not accepted.
    pub fn missed(&self) -> Vec<&Figure> {
        self.figures.iter().filter(|figure| figure.grade() == Grade::Missed).collect()
    }
}

/// Work done and time spent on it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cost {
    /// Readings that the estimators took.
    pub readings: u64,
    /// Estimates that were asked for, told or not.
    pub estimates: u64,
    /// Time spent on the estimates.
    pub estimating: Duration,
}

/// Looks at these shares of the true time; those at 25, 50 and 75 % are in the tables of errors.
const LOOKS: [f64; 15] = [0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95];
/// The look at half the time.
const HALF: usize = 5;
/// Air is given at most this often, in seconds.
const AIR_EVERY: f64 = 9.5;

/// A forecast against the truth.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Look {
    /// Error of the middle in % of the whole time.
    error: f64,
    inside: bool,
    /// The truth is later than the interval.
    late: bool,
}

/// A told peak against the true one.
#[derive(Clone, Copy, Debug)]
struct Rise {
    /// °C.
    error: f64,
    inside: bool,
    /// The truth is under the interval.
    under: bool,
    /// Error of its time in seconds, if the true one is known.
    after: Option<f64>,
}

/// A target that was called.
#[derive(Clone, Copy, Debug)]
struct Call {
    /// Seconds after the truth.
    late: f64,
    /// How far the tip truly was under the target, °C; over it if negative.
    under: f64,
}

/// Scores of one group.
#[derive(Clone, Debug, Default)]
struct Group {
    curves: usize,
    /// By the share of the true time.
    looks: BTreeMap<usize, Vec<Look>>,
    withheld: BTreeMap<usize, BTreeMap<Withheld, usize>>,
    /// Curves that never reach their target, and the looks from half their length on.
    never: usize,
    never_told: usize,
    never_withheld: BTreeMap<Withheld, usize>,
    rises: Vec<Rise>,
    no_rise: BTreeMap<NoCarry, usize>,
    calls: BTreeMap<&'static str, Vec<Call>>,
    /// Not called before the curve ended.
    uncalled: BTreeMap<&'static str, usize>,
    /// Called though it was never reached.
    wrong: BTreeMap<&'static str, usize>,
}

/// Judges curves.
pub fn judge(traces: &[Trace], ask: &Ask) -> Verdict {
    let mut groups: BTreeMap<String, Group> = BTreeMap::new();
    let mut cost = Cost::default();
    for (n, trace) in traces.iter().enumerate() {
        let record = &trace.record;
        let names =
            ["all".to_owned(), format!("appliance {}", record.place.name()), format!("family {}", record.family)];
        let scored = score(trace, ask, n as u64, &mut cost);
        for name in names {
            groups.entry(name).or_default().add(&scored);
        }
    }
    let mut verdict = Verdict { cost, ..Verdict::default() };
    tables::times(&groups, &mut verdict);
    if ask.reached {
        tables::reached(&groups, &mut verdict);
    }
    tables::rises(&groups, &mut verdict);
    verdict
}

impl Group {
    fn add(&mut self, other: &Self) {
        fn sum<K: Ord + Copy>(to: &mut BTreeMap<K, usize>, from: &BTreeMap<K, usize>) {
            for (key, count) in from {
                *to.entry(*key).or_default() += count;
            }
        }
        self.curves += other.curves;
        for (look, scores) in &other.looks {
            self.looks.entry(*look).or_default().extend(scores);
        }
        for (look, why) in &other.withheld {
            sum(self.withheld.entry(*look).or_default(), why);
        }
        self.never += other.never;
        self.never_told += other.never_told;
        sum(&mut self.never_withheld, &other.never_withheld);
        self.rises.extend(&other.rises);
        sum(&mut self.no_rise, &other.no_rise);
        for (rule, calls) in &other.calls {
            self.calls.entry(rule).or_default().extend(calls);
        }
        sum(&mut self.uncalled, &other.uncalled);
        sum(&mut self.wrong, &other.wrong);
    }
}

/// Feeds one curve, sample by sample. An estimate is asked for after the sample of its moment and before the next.
fn score(trace: &Trace, ask: &Ask, n: u64, cost: &mut Cost) -> Group {
    let record = &trace.record;
    let end = match record.truth {
        Truth::At(end) => Some(end),
        Truth::Never | Truth::Unknown => None,
    };
    let history = end.zip(ask.history).map(|(end, spread)| {
        let before = end * libm::exp(spread * Chance::of(4242, n).normal());
        History { time: Span::from_millis((before * 1000.0) as u64), spread }
    });
    let mut estimator = Estimator::new(record.job(history), Arc::clone(&ask.knowledge)).with_mix(ask.mix);
    let mut rules = Rules::new(record.target_c);
    let mut group = Group { curves: 1, never: usize::from(record.truth == Truth::Never), ..Group::default() };
    let last = trace.rows.last().map_or(0.0, |row| row.0);
    let in_heat = record.pulled.or(end).unwrap_or(last);
    // where there is no true time, looks go by the time in the heat
    let looks = match record.truth {
        Truth::At(end) => Some(end),
        Truth::Never => Some(in_heat),
        Truth::Unknown => None,
    };
    let (mut next_told, mut next_look, mut next_pull, mut next_air) = (0, 0, 0, f64::NEG_INFINITY);
    for (t, core, air) in &trace.rows {
        let at = moment(*t);
        while let Some((when, change)) = record.told.get(next_told).filter(|(when, _)| when <= t) {
            estimator.changed(*change, moment(*when));
            next_told += 1;
        }
        if *t <= in_heat {
            if let Some(core) = core {
                estimator.reading(celsius(*core), at);
                cost.readings += 1;
            }
            if let Some(air) = air
                && *t >= next_air
            {
                estimator.air(celsius(*air), at);
                next_air = t + AIR_EVERY;
            }
        }
        // the rules go on in the rest, as a station does
        if let Some(core) = core {
            rules.reading(*core, *t);
        }
        while looks.zip(LOOKS.get(next_look)).is_some_and(|(whole, share)| share * whole <= *t) {
            let look = next_look;
            next_look += 1;
            let before = Instant::now();
            let told = estimator.estimate(at);
            cost.estimating += before.elapsed();
            cost.estimates += 1;
            match (told, end) {
                (Ok(forecast), Some(end)) => {
                    let truth = end - t;
                    let late = truth > forecast.high.secs();
                    group.looks.entry(look).or_default().push(Look {
                        error: (forecast.median.secs() - truth).abs() / end * 100.0,
                        inside: !late && truth >= forecast.low.secs(),
                        late,
                    });
                }
                (Err(why), Some(_)) => *group.withheld.entry(look).or_default().entry(why).or_default() += 1,
                (Ok(_), None) => group.never_told += usize::from(look >= HALF),
                (Err(why), None) if look >= HALF => *group.never_withheld.entry(why).or_default() += 1,
                (Err(_), None) => {}
            }
        }
        while let Some(pull) = record.pulls.get(next_pull).filter(|pull| pull.at <= *t) {
            next_pull += 1;
            match estimator.carry_over(record.foil) {
                Ok(told) => {
                    let under = pull.peak < told.low.degrees();
                    group.rises.push(Rise {
                        error: (told.median.degrees() - pull.peak).abs(),
                        inside: !under && pull.peak <= told.high.degrees(),
                        under,
                        after: pull.after.map(|after| (told.after.0.secs() - after).abs()),
                    });
                }
                Err(why) => *group.no_rise.entry(why).or_default() += 1,
            }
        }
    }
    for name in RULES {
        match (record.truth, rules.called.get(name)) {
            (Truth::At(end), Some(t)) => {
                if let Some(tip) = record.tip(*t) {
                    group.calls.entry(name).or_default().push(Call { late: t - end, under: record.target_c - tip });
                }
            }
            (Truth::At(_), None) => *group.uncalled.entry(name).or_default() += 1,
            (Truth::Never, Some(_)) => *group.wrong.entry(name).or_default() += 1,
            (Truth::Never, None) | (Truth::Unknown, _) => {}
        }
    }
    group
}

const RAW: &str = "first reading at the target";
const MEAN_10: &str = "mean of 10 s";
const MEAN_30: &str = "mean of 30 s";
const CAREFUL: &str = "mean of 30 s less 0.3 °C";
const LINE: &str = "line of 30 s led by 3 s held 5 s";
const RULES: [&str; 5] = [RAW, MEAN_10, MEAN_30, CAREFUL, LINE];

/// The rules of reaching, side by side on one curve.
struct Rules {
    target: f64,
    rules: [(&'static str, Reach); 4],
    called: BTreeMap<&'static str, f64>,
}

impl Rules {
    fn new(target: f64) -> Self {
        let reach = |rule| Reach::new(celsius(target), rule);
        let mean = |mean, uncertainty| Rule::Protects { mean: Span::from_secs(mean), uncertainty };
        let rules = [
            (MEAN_10, reach(mean(10, CelsiusStep::ZERO))),
            (MEAN_30, reach(mean(30, CelsiusStep::ZERO))),
            (CAREFUL, reach(mean(30, CelsiusStep::from_ten_thousandths(3000)))),
            (LINE, reach(Rule::Doneness)),
        ];
        Self { target, rules, called: BTreeMap::new() }
    }

    fn reading(&mut self, core: f64, t: f64) {
        for (name, rule) in &mut self.rules {
            if rule.reading(celsius(core), moment(t)).is_some() {
                self.called.entry(name).or_insert(t);
            }
        }
        if core >= self.target {
            self.called.entry(RAW).or_insert(t);
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn ask() -> Ask {
        let knowledge = Arc::new(Knowledge::shipped().unwrap());
        Ask { knowledge, mix: Mix::USUAL, reached: true, history: None }
    }

    fn scored(trace: &Trace) -> Group {
        score(trace, &ask(), 0, &mut Cost::default())
    }

    #[test]
    fn no_estimate_knows_what_comes_after_it() {
        let (mut tried, mut told, mut differ) = (0, 0, 0);
        for trace in simulated(77, 12) {
            let Truth::At(end) = trace.record.truth else { continue };
            let mut other = trace.clone();
            // half of the cook is another one, its end, its turns and its pulls too
            for row in other.rows.iter_mut().filter(|row| row.0 > 0.5 * end + 1.0) {
                *row = (row.0, Some(20.0), Some(20.0));
            }
            other.record.told.retain(|(at, _)| *at <= 0.5 * end);
            let (one, two) = (scored(&trace), scored(&other));
            for look in 0..=HALF {
                assert_eq!(one.looks.get(&look), two.looks.get(&look), "{} at look {look}", trace.record.id);
                told += one.looks.get(&look).map_or(0, Vec::len);
            }
            // a look that is withheld in both is no difference
            differ += usize::from(one.looks.get(&(HALF + 3)) != two.looks.get(&(HALF + 3)));
            tried += 1;
        }
        assert!(tried > 4 && told > 20, "{tried} {told}");
        assert!(differ + 2 >= tried, "what came after it made a difference in {differ} of {tried} only");
    }

    #[test]
    fn air_of_every_second_counts_as_air_of_every_ten() {
        let mut tried = 0;
        for trace in simulated(78, 6) {
            let mut often = trace.clone();
            let mut last = None;
            let first = often.rows.iter().position(|row| row.2.is_some());
            for row in often.rows.iter_mut().skip(first.unwrap_or(0)) {
                last = row.2.or(last);
                row.2 = last;
            }
            assert_eq!(scored(&trace).looks, scored(&often).looks, "{}", trace.record.id);
            tried += usize::from(first.is_some());
        }
        assert!(tried > 1, "{tried}");
    }

    #[test]
    fn a_target_that_is_never_reached_takes_no_part_in_the_errors() {
        let mut trace = simulated(77, 3).remove(0);
        let whole = scored(&trace);
        trace.record.truth = Truth::Never;
        let never = scored(&trace);
        assert!(!whole.looks.is_empty() && never.looks.is_empty() && never.withheld.is_empty());
        assert_eq!(never.never_told + never.never_withheld.values().sum::<usize>(), LOOKS.len() - HALF);
    }
}
