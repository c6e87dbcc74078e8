//! Watches the probe of a running step: what is believed, what is a fault, and what comes next.

use alloc::{boxed::Box, collections::VecDeque, vec::Vec};

use quantities::{Celsius, CelsiusStep, NoReading, Reading, RunTime, Span};
use trial::{Estimate, Withheld};

use crate::{input::ProbeDevice, predict::Predictor};

/// A reading that came, as the watch took it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Taken {
    /// Believed.
    Good(Celsius),
    /// Not believed.
    Bad(NoReading),
}

/// What a watch knows; none of it is in the record.
pub(crate) struct Watch {
    pub(crate) device: ProbeDevice,
    pub(crate) began: RunTime,
    pub(crate) last_good: Option<(Celsius, RunTime)>,
    pub(crate) bad_since: Option<(RunTime, NoReading)>,
    pub(crate) good_since: Option<RunTime>,
    pub(crate) predictor: Option<Box<dyn Predictor>>,
    /// The first reading of the step: where the rise of a rest begins.
    pub(crate) rest_start: Option<Celsius>,
    pub(crate) highest: Option<(Celsius, RunTime)>,
    /// The last reading below the target of the step.
    pub(crate) last_below: Option<RunTime>,
    /// Silence counts from here: the start of the step, a restart, an undo, or the last move of the probe.
    silent_from: RunTime,
    /// When its step ended, for one that is laid aside.
    pub(crate) left_at: RunTime,
    last_raw: Option<(Celsius, RunTime)>,
    recent: VecDeque<(Celsius, RunTime)>,
    estimated: Option<(RunTime, Result<Estimate, Withheld>)>,
    /// How it would stand without the last changes that a cook declared, oldest first: an undo goes back to it.
    without: Vec<(RunTime, Watch)>,
}

/// Changes that can be taken back without a loss of what was learnt before them.
const UNDOABLE: usize = 2;

/// How long a probe may say nothing before it counts as lost.
pub(crate) const STALE: Span = Span::from_secs(10);
/// How long a probe that names its own fault is waited for.
const NAMED_FAULT: Span = Span::from_secs(2);
/// How long a probe that came back must be steady.
pub(crate) const STEADY: Span = Span::from_secs(5);
/// How far apart two readings of one hold may lie.
pub(crate) const HOLD_GAP: Span = Span::from_secs(5);
/// How often the estimate is made anew.
const ESTIMATE_EVERY: Span = Span::from_secs(10);
/// The readings that a mean or a slope is made of.
const RECENT: Span = Span::from_secs(60);
const MEAN: Span = Span::from_secs(10);
/// Food is never outside this range.
const COLDEST: Celsius = Celsius::whole(-40);
const HOTTEST: Celsius = Celsius::whole(350);
/// No food moves faster than this, in degrees a second, with this much for noise.
const FASTEST: f64 = 1.0;
const NOISE: f64 = 2.0;

impl Watch {
    /// For the probe of a step that began at `began`, listened to from `now` on.
    pub(crate) fn new(
        device: ProbeDevice,
        began: RunTime,
        now: RunTime,
        predictor: Option<Box<dyn Predictor>>,
    ) -> Self {
        Self {
            device,
            began,
            last_good: None,
            bad_since: None,
            good_since: None,
            predictor,
            rest_start: None,
            highest: None,
            last_below: None,
            silent_from: now,
            left_at: now,
            last_raw: None,
            recent: VecDeque::new(),
            estimated: None,
            without: Vec::new(),
        }
    }

    /// Keeps how it stands before a change that may be undone.
    pub(crate) fn remember(&mut self, now: RunTime) {
        if self.without.len() == UNDOABLE {
            self.without.remove(0);
        }
        let twin = Self {
            device: self.device.clone(),
            predictor: self.predictor.as_ref().map(|predictor| predictor.twin()),
            recent: self.recent.clone(),
            without: Vec::new(),
            ..*self
        };
        self.without.push((now, twin));
    }

    /// Goes back to how it would stand without the changes since then; those before it can still be taken back.
    pub(crate) fn go_back(&mut self, since: RunTime) {
        if let Some(place) = self.without.iter().position(|(at, _)| *at >= since) {
            let mut kept = core::mem::take(&mut self.without);
            let (_, before) = kept.remove(place);
            kept.truncate(place);
            *self = Self { without: kept, ..before };
        }
    }

    /// Takes a reading and says whether it is believed. A sudden step is not, until it has been steady there.
    pub(crate) fn take(&mut self, reading: Reading, now: RunTime) -> Taken {
        for (_, watch) in &mut self.without {
            watch.take(reading, now);
        }
        let taken = self.judge(reading, now);
        match taken {
            Taken::Good(core) => {
                // after a silence it has to be steady anew
                if self.last_good.is_some_and(|(_, at)| now.since(at) > HOLD_GAP) {
                    self.good_since = None;
                }
                self.last_good = Some((core, now));
                self.rest_start.get_or_insert(core);
                self.bad_since = None;
                self.good_since.get_or_insert(now);
                self.recent.push_back((core, now));
                while self.recent.front().is_some_and(|(_, at)| now.since(*at) > RECENT) {
                    self.recent.pop_front();
                }
                if let Some(predictor) = &mut self.predictor {
                    predictor.reading(core, now);
                }
                if self.highest.is_none_or(|(peak, _)| core > peak) {
                    self.highest = Some((core, now));
                }
            }
            Taken::Bad(why) => {
                self.good_since = None;
                self.bad_since.get_or_insert((now, why));
            }
        }
        taken
    }

    fn judge(&mut self, reading: Reading, now: RunTime) -> Taken {
        let core = match reading {
            Ok(core) if (COLDEST..=HOTTEST).contains(&core) => core,
            Ok(_) => return Taken::Bad(NoReading::OutOfRange),
            Err(why) => return Taken::Bad(why),
        };
        let before = self.last_raw.replace((core, now));
        if let Some((last, at)) = self.last_good
            && now.since(at) <= Span::from_secs(30)
            && steps(core - last, now.since(at))
        {
            // believed again once it has stayed near one place for a while
            let near = before.is_some_and(|(raw, then)| !steps(core - raw, now.since(then)));
            let jumped = self.bad_since.map(|(since, _)| since);
            let settled = near && jumped.is_some_and(|since| now.since(since) >= STALE + STEADY);
            if !settled {
                return Taken::Bad(NoReading::Jumped);
            }
            self.recent.clear();
        }
        Taken::Good(core)
    }

    /// When the probe counts as lost if nothing good comes, and why.
    pub(crate) fn lost_at(&self) -> (RunTime, NoReading) {
        match self.bad_since {
            Some((since, why)) => (since + patience(why), why),
            None => (
                self.last_good.map_or(self.silent_from, |(_, at)| at.max(self.silent_from)) + STALE,
                NoReading::Timeout,
            ),
        }
    }

    /// The mean of the last ten seconds.
    pub(crate) fn mean(&self, now: RunTime) -> Option<Celsius> {
        let mut n = 0i64;
        let sum: i64 = self
            .recent
            .iter()
            .filter(|(_, at)| now.since(*at) <= MEAN)
            .map(|(core, _)| {
                n += 1;
                i64::from(core.ten_thousandths())
            })
            .sum();
        // rounded down: a mean never claims more than was measured
        (n > 0).then(|| i32::try_from(sum.div_euclid(n)).ok().and_then(Celsius::from_ten_thousandths))?
    }

    /// The rise in °C a minute over the last minute.
    pub(crate) fn per_minute(&self) -> Option<f64> {
        let (first, last) = (self.recent.front()?, self.recent.back()?);
        let span = last.1.since(first.1);
        (span >= Span::from_secs(15)).then(|| (last.0 - first.0).degrees() / span.secs() * 60.0)
    }

    /// Makes the estimate anew if it is time; says whether it did.
    pub(crate) fn refresh_estimate(&mut self, now: RunTime) -> bool {
        for (_, watch) in &mut self.without {
            watch.refresh_estimate(now);
        }
        let fresh = self.estimated.as_ref().is_some_and(|(at, _)| now.since(*at) < ESTIMATE_EVERY);
        let Some(predictor) = self.predictor.as_ref().filter(|_| !fresh) else { return false };
        self.estimated = Some((now, predictor.estimate(now)));
        true
    }

    /// Makes the next estimate at once: the food was changed.
    pub(crate) fn forget_estimate(&mut self) {
        self.estimated = None;
    }

    /// Listens again after a time in which nobody did: what was missed then is no fault. Where no time passed, nothing
    /// was missed.
    pub(crate) fn listen_again(&mut self, now: RunTime) {
        if now == self.left_at {
            return;
        }
        self.silent_from = now;
        self.bad_since = None;
        self.good_since = None;
    }

    /// The moment of the newest reading, good or bad in its value.
    pub(crate) fn newest(&self) -> Option<RunTime> {
        self.last_raw.map(|(_, at)| at)
    }

    /// Forgets the readings: the probe is moved to another place.
    pub(crate) fn moved(&mut self, now: RunTime) {
        self.silent_from = now;
        self.last_good = None;
        self.last_raw = None;
        self.last_below = None;
        self.bad_since = None;
        self.recent.clear();
    }

    /// The time left, as of `now`.
    pub(crate) fn estimate(&self, now: RunTime) -> Result<Estimate, Withheld> {
        if self.bad_since.is_some() {
            return Err(Withheld::NoReading);
        }
        let Some((at, estimate)) = &self.estimated else { return Err(Withheld::TooEarly) };
        let gone = now.since(*at);
        estimate.map(|e| Estimate {
            median: e.median.saturating_sub(gone),
            low: e.low.saturating_sub(gone),
            high: e.high.saturating_sub(gone),
        })
    }

    /// When the target is expected to be reached.
    pub(crate) fn expected_end(&self) -> Option<RunTime> {
        let (at, estimate) = self.estimated.as_ref()?;
        estimate.ok().map(|e| *at + e.median)
    }
}

fn steps(by: CelsiusStep, over: Span) -> bool {
    by.abs().degrees() > NOISE + FASTEST * over.secs()
}

fn patience(why: NoReading) -> Span {
    match why {
        NoReading::Unplugged | NoReading::Open | NoReading::ShortToGround | NoReading::ShortToSupply => NAMED_FAULT,
        NoReading::Timeout
        | NoReading::Garbled
        | NoReading::OutOfRange
        | NoReading::PowerOnValue
        | NoReading::Stuck
        | NoReading::Jumped => STALE,
    }
}
