//! A curve fed to what foretells at the station, moment by moment.

use doneness::reached::{Reach, Rule};
use quantities::{Celsius, CelsiusStep, RunTime, Span};
use run_engine::{
    Calibrated,
    predict::{Change, Job, Predictor, Predictors},
};
use thermometry::{Doubt, Fault, Judged, Place, ProbeWatch, Quality, Sensor};
use trial::{CarryOver, Estimate, Withheld};

use super::curve::Row;
use crate::run::tell::no_reading_words;

/// What to replay.
pub(super) struct Replay<'a> {
    pub(super) job: Job<'a>,
    pub(super) place: Place,
    pub(super) calibrated: Calibrated,
    pub(super) rows: &'a [Row],
    /// What the cook declared, in order.
    pub(super) changes: &'a [(RunTime, Change)],
    pub(super) every: Span,
}

/// What came of it.
#[derive(Debug)]
pub(super) struct Replayed {
    pub(super) lines: Vec<Line>,
    /// When the first single reading was at the target.
    pub(super) first: Option<RunTime>,
    /// When the target was reached, by the line through half a minute: how food is called done.
    pub(super) done: Option<RunTime>,
    /// By the mean of ten seconds.
    pub(super) mean: Option<RunTime>,
    /// By that mean less the uncertainty of the probe: how a minimum that protects is called.
    pub(super) protects: Option<RunTime>,
    /// That uncertainty, at the target.
    pub(super) uncertainty: CelsiusStep,
}

/// Something to tell.
#[derive(Debug)]
pub(super) enum Line {
    Look(Look),
    /// The probe is believed otherwise than before.
    Probe {
        at: RunTime,
        words: String,
    },
    Changed {
        at: RunTime,
        change: Change,
    },
}

/// What would have been told at one moment.
#[derive(Debug)]
pub(super) struct Look {
    pub(super) at: RunTime,
    /// The newest reading that may be shown.
    pub(super) core: Option<Celsius>,
    pub(super) told: Result<Estimate, Withheld>,
    pub(super) carry_over: Option<CarryOver>,
}

/// The mean that protects.
const MEAN: Span = Span::from_secs(10);

impl Replay<'_> {
    pub(super) fn run(&self, predictors: &dyn Predictors) -> Replayed {
        let target = self.job.target.target;
        let mut predictor = predictors.start(&self.job);
        let mut watch = ProbeWatch::new(Sensor::KITCHEN, self.place, self.job.began);
        let Calibrated { by, age } = self.calibrated;
        let uncertainty = by.corrected(target) - by.lower_bound(target, age);
        let mut rules = Rules::new(target, uncertainty);
        let mut lines = Vec::new();
        let mut standing = Standing::Good;
        let mut changes = self.changes.iter().peekable();
        let mut next_look = self.job.began + self.every;
        for (i, row) in self.rows.iter().enumerate() {
            while let Some((at, change)) = changes.next_if(|(at, _)| *at <= row.at) {
                predictor.changed(*change, *at);
                watch.changed(*at);
                lines.push(Line::Changed { at: *at, change: *change });
            }
            if let Some(air) = row.air {
                predictor.air(air, row.at);
            }
            if let Some(reading) = row.core {
                let judged = watch.judge(reading, row.at);
                let now = Standing::of(judged.quality);
                if now != standing {
                    lines.push(Line::Probe { at: row.at, words: words(judged.quality) });
                    standing = now;
                }
                self.take(judged, &mut *predictor, &mut rules);
            }
            // a look sees the readings of its moment and none of the next
            let until = self.rows.get(i + 1).map_or(RunTime::NEVER, |next| next.at);
            while next_look < until && next_look <= self.rows.last().map_or(RunTime::START, |last| last.at) {
                let core = watch.latest(next_look).and_then(|judged| judged.value).map(|read| by.corrected(read));
                let told = predictor.estimate(target, next_look);
                let carry_over = predictor.carry_over();
                lines.push(Line::Look(Look { at: next_look, core, told, carry_over }));
                next_look = next_look + self.every;
            }
        }
        let Rules { first, done, mean, protects, .. } = rules;
        let [done, mean, protects] = [done, mean, protects].map(|(_, at)| at);
        Replayed { lines, first, done, mean, protects, uncertainty }
    }

    fn take(&self, judged: Judged, predictor: &mut dyn Predictor, rules: &mut Rules) {
        if judged.suspect_from.is_some() {
            rules.again();
        }
        if let Some(read) = judged.for_estimate() {
            predictor.reading(self.calibrated.by.corrected(read), judged.at);
        }
        if let Some(read) = judged.for_target() {
            rules.take(self.calibrated.by.corrected(read), judged.at);
        }
    }
}

/// The rules side by side; each keeps the moment of its call.
struct Rules {
    target: Celsius,
    first: Option<RunTime>,
    done: (Reach, Option<RunTime>),
    mean: (Reach, Option<RunTime>),
    protects: (Reach, Option<RunTime>),
}

impl Rules {
    fn new(target: Celsius, uncertainty: CelsiusStep) -> Self {
        let reach = |rule| (Reach::new(target, rule), None);
        Self {
            target,
            first: None,
            done: reach(Rule::Doneness),
            mean: reach(Rule::Protects { mean: MEAN, uncertainty: CelsiusStep::ZERO }),
            protects: reach(Rule::Protects { mean: MEAN, uncertainty }),
        }
    }

    fn take(&mut self, core: Celsius, at: RunTime) {
        if core >= self.target {
            self.first.get_or_insert(at);
        }
        for (reach, called) in [&mut self.done, &mut self.mean, &mut self.protects] {
            *called = called.or(reach.reading(core, at));
        }
    }

    /// Readings were believed in vain: nothing that was called by them stands.
    fn again(&mut self) {
        for (reach, called) in [&mut self.done, &mut self.mean, &mut self.protects] {
            reach.again();
            *called = None;
        }
        self.first = None;
    }
}

/// How a probe is believed, as far as it is worth a line.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Standing {
    Good,
    /// Shown and used for estimates; the kind of doubt.
    Doubtful(u8),
    Bad,
}

impl Standing {
    fn of(quality: Quality) -> Self {
        match quality {
            // it settles at every start
            Quality::Good | Quality::Doubtful(Doubt::Settling | Doubt::Sudden(_)) => Self::Good,
            Quality::Doubtful(Doubt::Elsewhere) => Self::Doubtful(1),
            Quality::Doubtful(Doubt::Noisy(_)) => Self::Doubtful(2),
            Quality::Doubtful(Doubt::NeverMoved(_)) => Self::Doubtful(3),
            Quality::Doubtful(Doubt::TooHot) => Self::Doubtful(4),
            Quality::Doubtful(Doubt::Old(_)) => Self::Doubtful(5),
            Quality::Bad(_) => Self::Bad,
        }
    }
}

fn words(quality: Quality) -> String {
    match quality {
        Quality::Good | Quality::Doubtful(Doubt::Settling | Doubt::Sudden(_)) => "believed again".into(),
        Quality::Doubtful(Doubt::Elsewhere) => "came back to another temperature: counts for no target yet".into(),
        Quality::Doubtful(Doubt::Noisy(by)) => format!("scatters by {by:.1} °C: counts for no target"),
        Quality::Doubtful(Doubt::NeverMoved(_)) => "has never changed since the start: counts for no target".into(),
        Quality::Doubtful(Doubt::TooHot) => "is hotter than the food can be: the tip may be in air or fat".into(),
        Quality::Doubtful(Doubt::Old(age)) => format!("last read {} s ago", age.whole_secs()),
        Quality::Bad(Fault::Named(why)) => format!("not believed: {}", no_reading_words(why)),
        Quality::Bad(Fault::Silent(age)) => format!("not believed: no answer for {} s", age.whole_secs()),
        Quality::Bad(Fault::Stuck(age)) => format!("not believed: stuck at one value for {} s", age.whole_secs()),
        Quality::Bad(Fault::Jumped(by)) => format!("not believed: jumped by {by:.1} °C"),
        Quality::Bad(Fault::PulledOut(rate)) => {
            format!("not believed: moves by {rate:.2} °C a second as no food does, pulled out?")
        }
    }
}
