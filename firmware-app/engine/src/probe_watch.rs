//! Watches the probe of a running step: what is believed, what is a fault, and what comes next.
//!
//! A raw reading is judged (`thermometry`), corrected by the probe's calibration, and only then counts: a good one for
//! everything, a doubtful one for the display and, if it is fit for them, for estimates.

use alloc::{boxed::Box, collections::VecDeque, vec::Vec};

use doneness::reached::{Gauge, Rule};
use quantities::{Celsius, CelsiusStep, NoReading, Reading, RunTime, Span};
use thermometry::{Doubt, Judged, Place, ProbeWatch, Quality, Sensor, ShallowTip, TipDepth};
use trial::{CarryOver, Estimate, Withheld};

use crate::{
    input::{Calibrated, ProbeDevice},
    predict::{Change, Predictor},
};

/// A reading that came, as the watch took it. Values are corrected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Taken {
    /// Believed.
    Good(Celsius),
    /// Believed in part: no target is reached by it.
    Doubtful,
    /// Not believed.
    Bad {
        /// Readings just before it were believed in vain.
        in_vain: bool,
    },
}

/// What the step wants of its probe.
pub(crate) struct Purpose {
    /// Where the probe is.
    pub(crate) place: Place,
    /// How readings count.
    pub(crate) counts: Counts,
    /// The core that is wanted, for estimates.
    pub(crate) target: Option<Celsius>,
    /// Whether the target may be reached in the rest that follows, and the least core at which the food is taken for that.
    pub(crate) in_rest: bool,
    pub(crate) not_below: Option<Celsius>,
    /// Until how long after its beginning a step cannot be near its target: a tenth of the shortest usual time.
    pub(crate) soon: Span,
    /// Whether a shallow tip is looked out for: in an oven, from the beginning of the cooking.
    pub(crate) depth: bool,
    /// What its calibration says.
    pub(crate) calibrated: Calibrated,
    /// The probe in the air beside the food.
    pub(crate) air: Option<ProbeDevice>,
    /// What foretells.
    pub(crate) predictor: Option<Box<dyn Predictor>>,
}

/// How readings count against what the step waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Counts {
    /// As they are: the air of an oven, a rest.
    AsRead,
    /// By the line through them.
    Doneness,
    /// By their mean, the uncertainty of the probe against them.
    Protects,
}

/// What a watch knows; none of it is in the record.
pub(crate) struct Watch {
    pub(crate) device: ProbeDevice,
    pub(crate) began: RunTime,
    pub(crate) purpose: Purpose,
    pub(crate) last_good: Option<(Celsius, RunTime)>,
    pub(crate) bad_since: Option<(RunTime, NoReading)>,
    pub(crate) good_since: Option<RunTime>,
    /// The first good reading of the step: where the rise of a rest begins.
    pub(crate) rest_start: Option<Celsius>,
    pub(crate) highest: Option<(Celsius, RunTime)>,
    /// The most that counted so far.
    pub(crate) most_counted: Option<Celsius>,
    /// The last reading below the target of the step.
    pub(crate) last_below: Option<RunTime>,
    /// Silence counts from here: the start of the step, a restart, an undo, or the last move of the probe.
    silent_from: RunTime,
    /// When its step ended, for one that is laid aside.
    pub(crate) left_at: RunTime,
    judge: ProbeWatch,
    gauge: Gauge,
    doubt: Option<(RunTime, Doubt)>,
    /// How far the corrected reading may be too high, where that counts.
    uncertain_by: CelsiusStep,
    /// The newest value that may be shown.
    shown: Option<(Celsius, RunTime)>,
    newest: Option<RunTime>,
    recent: VecDeque<(Celsius, RunTime)>,
    depth: Option<TipDepth>,
    shallow: Option<ShallowTip>,
    /// The first reading of the step, and whether it rose from there sooner than food can.
    first: Option<Celsius>,
    too_soon: bool,
    /// Good readings of the last seconds, with what they counted as: they may turn out to be believed in vain.
    pending: VecDeque<(RunTime, Celsius, Option<Celsius>)>,
    estimated: Option<(RunTime, Result<Estimate, Withheld>)>,
    carry_over: Option<CarryOver>,
    /// For how many looks in a row the core would come to its target off the heat.
    would_come: u8,
    /// For how many it would fall short of it.
    falls_short: u8,
    /// How it would stand without the last changes that a cook declared, oldest first: an undo goes back to it.
    without: Vec<(RunTime, Watch)>,
}

/// Changes that can be taken back without a loss of what was learnt before them: as many as presses can be.
const UNDOABLE: usize = 10;

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
/// The readings that a slope is made of.
const RECENT: Span = Span::from_secs(60);
/// The cook is called to take food only after so many looks in a row.
const SURE_LOOKS: u8 = 2;
/// A call is taken back when the peak falls short by more than this.
const SHORT: CelsiusStep = CelsiusStep::whole(1);
/// How long back readings can turn out to have been believed in vain.
const LOOK_BACK: Span = Span::from_secs(25);
/// In the first tenth of its time food does not rise by half of its way, if that is more than this.
const SOON_RISE: CelsiusStep = CelsiusStep::whole(8);
/// Off the last good reading by more than this after a doubt, a line does not go through both.
const NEW_LINE: CelsiusStep = CelsiusStep::from_ten_thousandths(8_000);
/// No food is taken by carry-over that has further to go than this.
const FARTHEST_CARRY: CelsiusStep = CelsiusStep::whole(12);

impl Watch {
    /// For the probe of a step that began at `began`, listened to from `now` on; `before` is the watch of the step before
    /// it, if it read the same probe in the same food.
    pub(crate) fn new(
        device: ProbeDevice,
        began: RunTime,
        now: RunTime,
        purpose: Purpose,
        before: Option<&Self>,
    ) -> Self {
        let judge = match before.filter(|before| before.device == device && purpose.place != Place::Air) {
            Some(before) => {
                let mut judge = before.judge.clone();
                judge.heated_by(purpose.place, now);
                judge
            }
            None => ProbeWatch::new(Sensor::KITCHEN, purpose.place, now),
        };
        Self {
            gauge: Gauge::new(purpose.counts.rule()),
            depth: purpose.depth.then(|| TipDepth::new(began)),
            device,
            began,
            purpose,
            last_good: None,
            bad_since: None,
            good_since: None,
            rest_start: None,
            highest: None,
            most_counted: None,
            last_below: None,
            silent_from: now,
            left_at: now,
            judge,
            doubt: None,
            uncertain_by: CelsiusStep::ZERO,
            shown: None,
            newest: None,
            recent: VecDeque::new(),
            shallow: None,
            first: None,
            too_soon: false,
            pending: VecDeque::new(),
            estimated: None,
            carry_over: None,
            would_come: 0,
            falls_short: 0,
            without: Vec::new(),
        }
    }

    /// Keeps how it stands before a change that may be undone.
    fn remember(&mut self, now: RunTime) {
        if self.without.len() == UNDOABLE {
            self.without.remove(0);
        }
        let twin = Self {
            device: self.device.clone(),
            purpose: self.purpose.twin(),
            judge: self.judge.clone(),
            gauge: self.gauge.clone(),
            depth: self.depth.clone(),
            recent: self.recent.clone(),
            pending: self.pending.clone(),
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

    /// Takes a reading and says whether it is believed.
    pub(crate) fn take(&mut self, reading: Reading, now: RunTime) -> Taken {
        for (_, watch) in &mut self.without {
            watch.take(reading, now);
        }
        let judged = self.judge.judge(reading, now);
        if judged.value.is_some() {
            self.newest = Some(now);
        }
        let in_vain = judged.suspect_from.is_some_and(|from| from < now);
        if in_vain {
            self.gauge.again();
            self.recent.clear();
            self.pending.clear();
        }
        let value = judged.value.map(|read| (self.purpose.calibrated.by.corrected(read), read));
        let mut judged = judged;
        if let Some((core, _)) = value
            && self.rises_too_soon(core, now)
            && matches!(judged.quality, Quality::Good)
        {
            judged.quality = Quality::Doubtful(Doubt::TooHot);
        }
        if let (Some((core, _)), Some(predictor)) =
            (value.filter(|_| judged.for_estimate().is_some()), &mut self.purpose.predictor)
        {
            predictor.reading(core, now);
        }
        match (judged.quality, value) {
            (Quality::Good, Some((core, read))) => {
                self.good(core, read, now);
                Taken::Good(core)
            }
            (Quality::Doubtful(doubt), value) => {
                self.shown = value.map(|(core, _)| (core, now)).or(self.shown);
                self.good_since = None;
                self.bad_since = None;
                let since = self.doubt.map_or(now, |(since, _)| since);
                self.doubt = Some((since, doubt));
                Taken::Doubtful
            }
            (Quality::Good, None) => self.bad(NoReading::Garbled, &judged, in_vain),
            (Quality::Bad(fault), _) => self.bad(fault.no_reading(), &judged, in_vain),
        }
    }

    /// Whether the probe has risen from the first reading of its step as food that cooks this long cannot: it was never in
    /// it. Back where it began it is believed again.
    fn rises_too_soon(&mut self, core: Celsius, now: RunTime) -> bool {
        let Some(target) = self.purpose.target else { return false };
        let first = *self.first.get_or_insert(core);
        let half = CelsiusStep::from_ten_thousandths((target - first).ten_thousandths() / 2);
        let rose = core > first + half.max(SOON_RISE);
        self.too_soon = rose && (self.too_soon || now.since(self.began) < self.purpose.soon);
        self.too_soon
    }

    fn good(&mut self, core: Celsius, read: Celsius, now: RunTime) {
        // a sudden step that stayed is another line
        if let (Some((_, Doubt::Sudden(_))), Some((last, _))) = (self.doubt, self.last_good)
            && (core - last).abs() > NEW_LINE
        {
            self.gauge.again();
        }
        // after a silence it has to be steady anew
        if let Some((_, at)) = self.last_good {
            let gap = now.since(at);
            if gap > HOLD_GAP {
                self.good_since = None;
            }
            if gap > STALE {
                self.gauge.again();
            }
        }
        self.last_good = Some((core, now));
        self.shown = self.last_good;
        self.rest_start.get_or_insert(core);
        self.bad_since = None;
        self.doubt = None;
        self.good_since.get_or_insert(now);
        self.recent.push_back((core, now));
        while self.recent.front().is_some_and(|(_, at)| now.since(*at) > RECENT) {
            self.recent.pop_front();
        }
        match self.purpose.counts {
            Counts::AsRead => {}
            Counts::Doneness => self.gauge.reading(core, now),
            Counts::Protects => {
                let Calibrated { by, age } = self.purpose.calibrated;
                let at_least = by.lower_bound(read, age);
                self.uncertain_by = core - at_least;
                self.gauge.reading(at_least, now);
            }
        }
        self.pending.push_back((now, core, self.counted()));
        self.settle_peaks(now.earlier(LOOK_BACK));
        if let Some(found) = self.depth.as_mut().and_then(|depth| depth.take(core, now)) {
            self.shallow = Some(found);
        }
    }

    /// Takes the readings up to a moment as sure: none of them was found to be believed in vain.
    pub(crate) fn settle_peaks(&mut self, until: RunTime) {
        while let Some((at, core, counted)) = self.pending.front().copied().filter(|(at, ..)| *at <= until) {
            self.pending.pop_front();
            self.most_counted = self.most_counted.max(counted);
            if self.highest.is_none_or(|(peak, _)| core > peak) {
                self.highest = Some((core, at));
            }
        }
    }

    fn bad(&mut self, why: NoReading, judged: &Judged, in_vain: bool) -> Taken {
        self.good_since = None;
        self.doubt = None;
        self.bad_since.get_or_insert((judged.at, why));
        Taken::Bad { in_vain }
    }

    /// Takes a reading of the air beside the food.
    pub(crate) fn take_air(&mut self, air: Celsius, now: RunTime) {
        for (_, watch) in &mut self.without {
            watch.take_air(air, now);
        }
        if let Some(predictor) = &mut self.purpose.predictor {
            predictor.air(air, now);
        }
    }

    /// When the probe counts as lost if nothing good comes, and why.
    pub(crate) fn lost_at(&self) -> (RunTime, NoReading) {
        let silent = self.newest.map_or(self.silent_from, |at| at.max(self.silent_from)) + STALE;
        if let Some((since, why)) = self.bad_since {
            return (since + patience(why), why);
        }
        match self.doubt.and_then(|(since, doubt)| Some((since + endurance(doubt)?, reason(doubt)))) {
            Some((at, why)) if at < silent => (at, why),
            Some(_) | None => (silent, NoReading::Timeout),
        }
    }

    /// What the readings count as against the target, if they are enough.
    pub(crate) fn counted(&self) -> Option<Celsius> {
        match self.purpose.counts {
            Counts::AsRead => self.last_good.map(|(core, _)| core),
            Counts::Doneness | Counts::Protects => self.gauge.value(),
        }
    }

    /// The most that the core has been for sure, in a rest that has to come to a temperature.
    pub(crate) fn at_least(&self) -> Option<Celsius> {
        match self.purpose.counts {
            Counts::AsRead => None,
            Counts::Doneness | Counts::Protects => self.most_counted,
        }
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
        let (Some(predictor), Some(target)) = (self.purpose.predictor.as_ref().filter(|_| !fresh), self.purpose.target)
        else {
            return false;
        };
        self.carry_over = predictor.carry_over();
        // where it protects, the reading has to come as far above the target as the probe may be off
        let to = self.take_at().unwrap_or(target + self.uncertain_by);
        self.estimated = Some((now, predictor.estimate(to, now)));
        let near = self.last_good.is_some_and(|(core, at)| at == now && core >= target - FARTHEST_CARRY);
        let comes = self.sure_peak().is_some_and(|peak| peak >= target);
        self.would_come = if comes && near { self.would_come.saturating_add(1) } else { 0 };
        let short = self.sure_peak().is_some_and(|peak| peak < target - SHORT);
        self.falls_short = if short { self.falls_short.saturating_add(1) } else { 0 };
        true
    }

    /// Makes the next estimate at once: the food was changed.
    fn forget_estimate(&mut self) {
        self.estimated = None;
        self.carry_over = None;
        self.would_come = 0;
        self.falls_short = 0;
    }

    /// Takes a change that the cook declared.
    pub(crate) fn changed(&mut self, change: Change, now: RunTime) {
        self.remember(now);
        self.judge.changed(now);
        if let Some(predictor) = &mut self.purpose.predictor {
            predictor.changed(change, now);
        }
        self.forget_estimate();
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
        self.doubt = None;
    }

    /// The moment of the newest reading that had a value.
    pub(crate) fn newest(&self) -> Option<RunTime> {
        self.newest
    }

    /// The newest value that may be shown.
    pub(crate) fn shown(&self) -> Option<(Celsius, RunTime)> {
        self.shown
    }

    /// How far the newest reading can be believed.
    pub(crate) fn quality(&self, now: RunTime) -> Option<Quality> {
        let quality = self.judge.latest(now)?.quality;
        Some(if self.too_soon && quality == Quality::Good { Quality::Doubtful(Doubt::TooHot) } else { quality })
    }

    /// The warning of a shallow tip, if there is one.
    pub(crate) fn shallow(&self) -> Option<ShallowTip> {
        self.shallow
    }

    /// Forgets the readings: the probe is moved to another place.
    pub(crate) fn moved(&mut self, now: RunTime) {
        self.remember(now);
        self.silent_from = self.silent_from.max(now);
        self.judge.moved(now);
        self.gauge.again();
        self.last_good = None;
        self.shown = None;
        self.last_below = None;
        self.bad_since = None;
        self.doubt = None;
        self.recent.clear();
        self.pending.clear();
        self.depth = None;
        self.first = None;
        // the food has cooked by now: any place may be hot
        self.purpose.soon = Span::ZERO;
        self.would_come = 0;
    }

    /// The time left, as of `now`.
    pub(crate) fn estimate(&self, now: RunTime) -> Result<Estimate, Withheld> {
        if self.bad_since.is_some() || self.is_silent(now) {
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

    fn is_silent(&self, now: RunTime) -> bool {
        self.newest.is_none_or(|at| now.since(at) > STALE)
    }

    /// When the target is expected to be reached.
    pub(crate) fn expected_end(&self) -> Option<RunTime> {
        let (at, estimate) = self.estimated.as_ref()?;
        estimate.ok().map(|e| *at + e.median)
    }

    /// What the core would come to if the food left the heat now; nothing while the probe is not believed.
    pub(crate) fn carry_over(&self, now: RunTime) -> Option<CarryOver> {
        let fresh = self.last_good.is_some_and(|(_, at)| now.since(at) <= STALE);
        self.purpose.predictor.as_ref().filter(|_| fresh).and_then(|predictor| predictor.carry_over())
    }

    /// The carry-over as of the last estimate.
    pub(crate) fn last_carry_over(&self, now: RunTime) -> Option<CarryOver> {
        self.carry_over.filter(|_| self.bad_since.is_none() && !self.is_silent(now))
    }

    /// For a target that may be reached in the rest: the core at which to take the food, as it looks now.
    pub(crate) fn take_at(&self) -> Option<Celsius> {
        let target = self.purpose.target.filter(|_| self.purpose.in_rest)?;
        let (core, _) = self.last_good?;
        let rise = (self.sure_peak()? - core).max(CelsiusStep::ZERO).min(FARTHEST_CARRY);
        let least = self.purpose.not_below.map_or(Celsius::ABSOLUTE_ZERO, |least| least + self.uncertain_by);
        Some((target - rise).max(least).min(target))
    }

    /// Whether the food comes to its target off the heat, as far as was seen some times in a row.
    pub(crate) fn would_come(&self) -> bool {
        self.purpose.in_rest && self.would_come >= SURE_LOOKS
    }

    /// Whether food that the cook was called for will not come to its target after all.
    pub(crate) fn falls_short(&self) -> bool {
        self.falls_short >= SURE_LOOKS
    }

    /// What is counted on in the rest: halfway from what nine in ten reach to the middle, so that three in four come there;
    /// where the target itself protects, what nine in ten reach. One above the minimum that is measured on the heat is a
    /// target for doneness.
    fn sure_peak(&self) -> Option<Celsius> {
        let carry = self.carry_over?;
        let above = self.purpose.not_below.zip(self.purpose.target).is_some_and(|(least, target)| target > least);
        Some(match self.purpose.counts {
            Counts::Protects if !above => carry.low_celsius - self.uncertain_by,
            Counts::Protects | Counts::AsRead | Counts::Doneness => {
                let half = (carry.peak_celsius - carry.low_celsius).ten_thousandths() / 2;
                carry.low_celsius + CelsiusStep::from_ten_thousandths(half)
            }
        })
    }
}

impl Purpose {
    fn twin(&self) -> Self {
        let predictor = self.predictor.as_ref().map(|predictor| predictor.twin());
        Self { predictor, air: self.air.clone(), ..*self }
    }
}

impl Counts {
    fn rule(self) -> Rule {
        match self {
            // the uncertainty is taken off reading by reading
            Self::Protects => Rule::protects(CelsiusStep::ZERO),
            Self::AsRead | Self::Doneness => Rule::Doneness,
        }
    }
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

/// How long a doubt may last before the probe counts as lost; for ever where it is harmless or has its own end.
fn endurance(doubt: Doubt) -> Option<Span> {
    match doubt {
        Doubt::Settling | Doubt::NeverMoved(_) | Doubt::Old(_) => None,
        Doubt::Sudden(_) | Doubt::TooHot => Some(Span::from_secs(60)),
        Doubt::Noisy(_) => Some(Span::from_secs(120)),
        Doubt::Elsewhere => Some(Span::from_secs(180)),
    }
}

/// A doubt that lasted, in the words of the record.
fn reason(doubt: Doubt) -> NoReading {
    match doubt {
        Doubt::TooHot => NoReading::OutOfRange,
        Doubt::NeverMoved(_) => NoReading::Stuck,
        Doubt::Old(_) => NoReading::Timeout,
        Doubt::Settling | Doubt::Sudden(_) | Doubt::Noisy(_) | Doubt::Elsewhere => NoReading::Jumped,
    }
}
