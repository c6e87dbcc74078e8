//! The estimator of one step: readings in, the time left or a reason out.

use alloc::sync::Arc;

use libm::{exp, log, sqrt};
use quantities::{Celsius, RunTime, Span};
use thiserror::Error;

use crate::{
    bank::{Bank, Likely},
    carry_over::{self, Carry, NoCarry},
    course::Course,
    job::{Change, History, Job},
    models::{Models, ModelsError},
    packed::PackedError,
    signs::{Glance, unmeasure},
};

/// What every estimator of a station shares.
#[derive(Clone, Debug)]
pub struct Knowledge {
    /// Simulated cooks.
    pub bank: Bank<'static>,
    /// Nets trained on others.
    pub models: Models,
}

/// Why the shipped files are not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum KnowledgeError {
    /// The bank.
    #[error("bank: {0}")]
    Bank(#[from] PackedError),
    /// The models.
    #[error("models: {0}")]
    Models(#[from] ModelsError),
}

/// `heat bank --seed 1 --cooks 6000`, `heat rest-bank` with the same, `heat train --seed 2 --cooks 64000 --rounds 24 --nets 5`.
static CURVES: &[u8] = include_bytes!("../data/curves.bin");
static RESTS: &[u8] = include_bytes!("../data/rests.bin");
static MODELS: &[u8] = include_bytes!("../data/models.bin");

impl Knowledge {
    /// The bank and the models that come with this crate; their checksums are tried once.
    pub fn shipped() -> Result<Self, KnowledgeError> {
        Ok(Self { bank: Bank::open(CURVES, RESTS)?, models: Models::open(MODELS)? })
    }

    /// Bytes of the bank and the models together.
    pub const fn size() -> usize {
        CURVES.len() + RESTS.len() + MODELS.len()
    }
}

/// Predicts when the core of one step comes to its target.
///
/// Its memory does not grow; a clone is a copy of some four kilobytes and shares the bank.
#[derive(Clone, Debug)]
pub struct Estimator {
    job: Job,
    began: Option<RunTime>,
    course: Course,
    knowledge: Arc<Knowledge>,
    mix: Mix,
}

/// How the two ways of estimating are put together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mix {
    /// Share of the bank; the rest is the models'.
    pub bank: f64,
    /// The interval is widened by this factor in the learnt measure.
    pub widen: f64,
    /// Share of the bank in the rise after a pull.
    pub rise_bank: f64,
    /// The interval of the rise is widened by this factor.
    pub rise_widen: f64,
    /// Both intervals reach farther by this many times the distance of the nets from each other.
    pub doubt: f64,
}

impl Mix {
    /// Chosen on held-out simulated cooks; shares of the bank from 0 to 0.4 measure alike there, and it is a second opinion.
    /// The doubt is the least of four tried (0, 0.5, 0.75, 1) at which the interval, from half-time, held the truth in at
    /// least 70 % of looks at each of seven families that had been left out of the training.
    pub const USUAL: Self = Self { bank: 0.2, widen: 1.0, rise_bank: 0.2, rise_widen: 1.0, doubt: 0.75 };
}

/// The time left, with what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forecast {
    /// Half of such cooks take longer.
    pub median: Span,
    /// One in ten is faster.
    pub low: Span,
    /// One in ten is slower.
    pub high: Span,
    /// The chance that it comes to the target at all, 0 to 1.
    pub reaches: f64,
    /// What was known.
    pub basis: Basis,
}

/// What an estimate rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Basis {
    /// The seeds of the bank and of the models.
    pub seeds: (u64, u64),
    /// °C at the start.
    pub start: f64,
    /// °C, fitted to the last readings.
    pub level: f64,
    /// Whether the oven's dial was known, the air measured, earlier trials given.
    pub known: (bool, bool, bool),
    /// How often it was turned.
    pub turns: usize,
}

/// Why there is no forecast.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Withheld {
    /// Too few readings, or what they say is still too uncertain to be told.
    TooEarly,
    /// It has hardly warmed.
    NoRise,
    /// Frozen food is thawing.
    Thawing,
    /// It may never come to the target.
    MayNotReach,
    /// Nothing was read for a minute.
    NoReading,
}

/// A rise of fewer °C says nothing about what is to come.
const LEAST_RISE: f64 = 2.0;
/// An interval is told if its width, as a share of the whole time, is at most the first of these and the second times
/// the share of the time that is left: 85 % at a quarter of the cook, 59 % at half, 32 % at three quarters.
const WIDEST: (f64, f64) = (0.06, 1.05);
/// A dial may be off by this much.
const DIAL_OFF: f64 = 10.0;
const SILENT: Span = Span::from_secs(60);

impl Estimator {
    /// An estimator for a step that begins.
    pub fn new(job: Job, knowledge: Arc<Knowledge>) -> Self {
        let dial = job.dial.map(|dial| dial.degrees() as f32);
        Self { job, began: None, course: Course::new(dial), knowledge, mix: Mix::USUAL }
    }

    /// The same with another mix; for measuring.
    pub fn with_mix(mut self, mix: Mix) -> Self {
        self.mix = mix;
        self
    }

    /// Takes a good reading of the core.
    pub fn reading(&mut self, core: Celsius, at: RunTime) {
        let began = *self.began.get_or_insert(at);
        self.course.reading(at.since(began).secs(), core.degrees());
    }

    /// Takes a reading of the air beside the food.
    pub fn air(&mut self, air: Celsius, at: RunTime) {
        let began = *self.began.get_or_insert(at);
        self.course.air(at.since(began).secs(), air.degrees());
    }

    /// Takes a change that the cook told of.
    pub fn changed(&mut self, change: Change, at: RunTime) {
        let since = self.began.map_or(0.0, |began| at.since(began).secs());
        self.course.change(since, change);
    }

    /// The time left as of `at`, or why none is told.
    pub fn estimate(&self, at: RunTime) -> Result<Forecast, Withheld> {
        self.estimate_to(self.job.target, at)
    }

    /// The same to another core than the step's target, as to the one at which food is taken to rest.
    pub fn estimate_to(&self, target: Celsius, at: RunTime) -> Result<Forecast, Withheld> {
        let began = self.began.ok_or(Withheld::TooEarly)?;
        let last = began + Span::from_millis((self.course.seconds() * 1000.0) as u64);
        if at.since(last) > SILENT {
            return Err(Withheld::NoReading);
        }
        let target = target.degrees();
        let glance = Glance::at(&self.course, self.job.appliance, target).ok_or(Withheld::TooEarly)?;
        if glance.level < 1.0 {
            return Err(if glance.start < 0.0 { Withheld::Thawing } else { Withheld::NoRise });
        }
        if glance.level >= target {
            return Ok(self.forecast(&glance, [0.0; 3], 1.0, 0.0));
        }
        // what is set that far below the target does not heat the food up to it
        let (_, dial, _) = self.course.changed();
        if dial.is_some_and(|dial| f64::from(dial) + DIAL_OFF < target) {
            return Err(Withheld::MayNotReach);
        }
        if glance.level - glance.start < LEAST_RISE {
            return Err(if glance.t < 120.0 { Withheld::TooEarly } else { Withheld::NoRise });
        }
        let (left, reaches) = self.left(&glance, target).ok_or(Withheld::TooEarly)?;
        if reaches < 0.5 {
            return Err(Withheld::MayNotReach);
        }
        let left = match self.job.history {
            Some(history) => told_before(left, glance.t, history),
            None => left,
        };
        let whole = 1.0 + left[1];
        if (left[2] - left[0]) / whole > WIDEST.0 + WIDEST.1 * left[1] / whole {
            return Err(Withheld::TooEarly);
        }
        Ok(self.forecast(&glance, left, reaches, at.since(last).secs()))
    }

    /// Time left over time so far, mixed from models and bank, and the chance of coming there.
    fn left(&self, glance: &Glance, target: f64) -> Option<([f64; 3], f64)> {
        let ([low, median, high, odds], doubt) = self.knowledge.models.left_and_doubt(&glance.signs)?;
        let mut left = [low, median, high];
        let mut reaches = 1.0 / (1.0 + exp(-odds));
        let likely = (self.mix.bank > 0.0)
            .then(|| self.knowledge.bank.time_left(&self.course, self.job.appliance, target))
            .flatten();
        if let Some(Likely { left: bank, reaches: bank_reaches, alike }) = likely
            && bank_reaches > 0.5
        {
            // few like curves say little
            let share = self.mix.bank * alike / (alike + 3.0);
            for (left, bank) in left.iter_mut().zip(bank) {
                *left += share * (bank - *left);
            }
            reaches += share * (bank_reaches - reaches);
        }
        let middle = left[1].max(0.0);
        let doubt = self.mix.doubt * doubt;
        let mut wide = left.map(|x| middle + (x - middle) * self.mix.widen);
        wide[0] -= doubt;
        wide[2] += doubt;
        let wide = wide.map(|x| unmeasure(x.max(0.0)));
        Some((wide, reaches))
    }

    fn forecast(&self, glance: &Glance, left: [f64; 3], reaches: f64, gone: f64) -> Forecast {
        let span = |share: f64| Span::from_millis(libm::round((share * glance.t - gone).max(0.0) * 1000.0) as u64);
        let (_, dial, _) = self.course.changed();
        Forecast {
            low: span(left[0]),
            median: span(left[1]),
            high: span(left[2]),
            reaches,
            basis: Basis {
                seeds: (self.knowledge.bank.seed, self.knowledge.models.seed),
                start: glance.start,
                level: glance.level,
                known: (dial.is_some(), self.course.air_blocks().is_some(), self.job.history.is_some()),
                turns: self.course.turns().0,
            },
        }
    }

    /// What the core would come to if it were pulled now, with or without foil over it.
    pub fn carry_over(&self, tented: bool) -> Result<Carry, NoCarry> {
        let glance = Glance::at(&self.course, self.job.appliance, carry_over::STAND_IN).ok_or(NoCarry::TooEarly)?;
        carry_over::carry(&self.knowledge, &self.course, self.job.appliance, &glance, tented, self.mix)
    }

    /// The core at which to pull for a wanted peak: the advice is to pull once [`Carry::median`] is at the peak, or
    /// [`Carry::low`] where a minimum protects. True when that is now.
    pub fn pull_now(&self, peak: Celsius, protects: bool, tented: bool) -> Result<bool, NoCarry> {
        let carry = self.carry_over(tented)?;
        Ok(if protects { carry.low >= peak } else { carry.median >= peak })
    }
}

/// Weighs a forecast with the times of earlier trials: two densities of the logarithm of the whole time, multiplied.
fn told_before(left: [f64; 3], so_far: f64, history: History) -> [f64; 3] {
    const STEPS: usize = 240;
    let [low, median, high] = left.map(|share| log(1.0 + share));
    // a tenth of a normal density lies beyond 1.2816 spreads
    let below = ((median - low) / 1.2816).max(1e-4);
    let above = ((high - median) / 1.2816).max(1e-4);
    let before = log(history.time.secs().max(1.0) / so_far);
    let spread = sqrt(history.spread * history.spread + 0.02 * 0.02);
    let top = (median + 5.0 * above).max(before + 3.0 * spread);
    let mut weights = [0.0; STEPS];
    let mut total = 0.0;
    let step = top / STEPS as f64;
    for (i, weight) in weights.iter_mut().enumerate() {
        let y = step * (i as f64 + 0.5);
        let d = (y - median) / if y < median { below } else { above };
        let e = (y - before) / spread;
        // wide tails: a dish that is not like before must be able to say so
        *weight = exp(-0.5 * d * d) * (0.95 * exp(-0.5 * e * e) + 0.05 / (1.0 + e * e));
        total += *weight;
    }
    if total <= 0.0 {
        return left;
    }
    let quantile = |share: f64| {
        let mut left = share * total;
        for (i, weight) in weights.iter().enumerate() {
            if *weight >= left {
                return step * (i as f64 + left / weight);
            }
            left -= weight;
        }
        top
    };
    [0.1, 0.5, 0.9].map(|share| exp(quantile(share)) - 1.0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::job::Appliance;

    fn estimator(appliance: Appliance, target: i16, history: Option<History>) -> Estimator {
        let dial = (appliance == Appliance::Oven).then_some(Celsius::whole(180));
        let job = Job { appliance, target: Celsius::whole(target), dial, history };
        Estimator::new(job, Arc::new(Knowledge::shipped().unwrap()))
    }

    fn at(seconds: u32) -> RunTime {
        RunTime::from_millis(u64::from(seconds) * 1000)
    }

    fn feed(estimator: &mut Estimator, seconds: core::ops::Range<u32>, core: impl Fn(f64) -> f64) -> RunTime {
        let last = at(seconds.end - 1);
        for second in seconds {
            estimator.reading(Celsius::from_degrees(core(f64::from(second))).unwrap(), at(second));
        }
        last
    }

    /// A thick piece in a hot oven: late at first, then rising, 60 °C after about 49 minutes.
    fn roast(t: f64) -> f64 {
        let x = t / 3600.0;
        5.0 + 130.0 * x * x / (0.75 + x)
    }

    #[test]
    fn a_roast_halfway_has_a_middle_between_its_ends_and_near_the_truth() {
        let mut one = estimator(Appliance::Oven, 60, None);
        let now = feed(&mut one, 0..1800, roast);
        let told = one.estimate(now).unwrap();
        assert!(told.low <= told.median && told.median <= told.high, "{told:?}");
        let end = (0..8000).find(|t| roast(f64::from(*t)) >= 60.0).unwrap();
        let error = (told.median.secs() + 1800.0 - f64::from(end)).abs() / f64::from(end);
        assert!(error < 0.15, "{told:?} for {end}");
        assert!((told.basis.start - 5.0).abs() < 0.1 && told.basis.known == (true, false, false));
    }

    #[test]
    fn nothing_is_told_before_the_core_has_risen() {
        let mut one = estimator(Appliance::Oven, 60, None);
        assert_eq!(one.estimate(at(0)), Err(Withheld::TooEarly));
        let now = feed(&mut one, 0..60, |_| 5.0);
        assert_eq!(one.estimate(now), Err(Withheld::TooEarly));
        let now = feed(&mut one, 60..600, |_| 5.5);
        assert_eq!(one.estimate(now), Err(Withheld::NoRise));
    }

    #[test]
    fn frozen_food_thaws_and_gets_no_time() {
        let mut one = estimator(Appliance::Oven, 60, None);
        let now = feed(&mut one, 0..1200, |t| (-15.0 + 0.02 * t).min(-0.8));
        assert_eq!(one.estimate(now), Err(Withheld::Thawing));
        assert_eq!(one.carry_over(false), Err(NoCarry::Thawing));
    }

    #[test]
    fn a_core_that_levels_off_below_its_target_may_not_reach_it() {
        let mut one = estimator(Appliance::Oven, 85, None);
        one.changed(Change::Dial(80.0), at(0));
        let now = feed(&mut one, 0..20_000, |t| 5.0 + 58.0 * (1.0 - libm::exp(-t / 3500.0)));
        assert_eq!(one.estimate(now), Err(Withheld::MayNotReach));
    }

    #[test]
    fn an_interval_as_wide_as_the_time_left_is_not_told() {
        let doubting = |doubt: f64| {
            let mut one = estimator(Appliance::Oven, 60, None).with_mix(Mix { doubt, ..Mix::USUAL });
            let now = feed(&mut one, 0..1800, roast);
            one.estimate(now)
        };
        let (sure, doubtful) = (doubting(0.0).unwrap(), doubting(1.0).unwrap());
        assert!(doubtful.low < sure.low && sure.high < doubtful.high, "{sure:?} {doubtful:?}");
        assert_eq!(sure.median, doubtful.median);
        assert_eq!(doubting(60.0), Err(Withheld::TooEarly));
    }

    #[test]
    fn a_silent_probe_gives_no_time_and_a_short_gap_only_counts_down() {
        let mut one = estimator(Appliance::Oven, 60, None);
        let now = feed(&mut one, 0..1800, roast);
        let before = one.estimate(now).unwrap();
        let after = one.estimate(now + Span::from_secs(30)).unwrap();
        assert_eq!(before.median.saturating_sub(after.median), Span::from_secs(30));
        assert_eq!(one.estimate(now + Span::from_secs(61)), Err(Withheld::NoReading));
    }

    #[test]
    fn a_core_at_its_target_has_no_time_left() {
        let mut one = estimator(Appliance::Oven, 40, None);
        let now = feed(&mut one, 0..2800, roast);
        assert_eq!(one.estimate(now).unwrap().median, Span::ZERO);
    }

    #[test]
    fn earlier_trials_draw_the_middle_and_narrow_the_interval() {
        let told = |history| {
            let mut one = estimator(Appliance::Oven, 60, history);
            let now = feed(&mut one, 0..1000, roast);
            one.estimate(now).unwrap()
        };
        let alone = told(None);
        let before = History { time: Span::from_secs(3600), spread: 0.09 };
        let with = told(Some(before));
        let away = |told: &Forecast| (told.median.secs() + 1000.0 - 3600.0).abs();
        assert!(away(&with) <= away(&alone), "{alone:?} {with:?}");
        assert!(with.high.saturating_sub(with.low) < alone.high.saturating_sub(alone.low));
    }

    #[test]
    fn a_twin_answers_the_same_and_goes_its_own_way() {
        let mut one = estimator(Appliance::Pan, 60, None);
        let now = feed(&mut one, 0..500, |t| 5.0 + 0.12 * t * t / (200.0 + t));
        assert!(one.estimate(now).is_ok());
        let mut twin = one.clone();
        assert_eq!(one.estimate(now), twin.estimate(now));
        twin.changed(Change::Turned, now);
        assert_ne!(one.estimate(now), twin.estimate(now));
    }

    #[test]
    fn an_estimator_is_small_and_does_not_grow() {
        assert!(size_of::<Estimator>() < 6000, "{}", size_of::<Estimator>());
    }

    #[test]
    fn a_roast_carries_over_and_a_microwave_says_nothing() {
        let mut one = estimator(Appliance::Oven, 60, None);
        let now = feed(&mut one, 0..2700, roast);
        let carry = one.carry_over(true).unwrap();
        let level = one.estimate(now).unwrap().basis.level;
        assert!(carry.low <= carry.median && carry.median <= carry.high);
        assert!(carry.median.degrees() > level, "{carry:?}");
        // a minimum that protects waits for the lower end
        let peak = carry.median;
        assert_eq!(one.pull_now(peak, false, true), Ok(true));
        assert_eq!(one.pull_now(peak, true, true), Ok(false));
        let mut other = estimator(Appliance::Microwave, 74, None);
        feed(&mut other, 0..120, |t| 5.0 + 0.3 * t);
        assert_eq!(other.carry_over(false), Err(NoCarry::Microwave));
    }
}
