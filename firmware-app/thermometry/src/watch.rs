//! Judging a probe, reading by reading.
//!
//! ```text
//!            calm for 5 readings                off its line at once, or moving as food cannot
//! Settling ----------------------> Following ----------------------------------------------> Out
//!    ^  ^                            |   ^                                                    |
//!    |  '--- silent 30 s, stuck -----'   '--- back on the old line and calm for 5 s ----------|
//!    '--- moved ---                      '--- calm elsewhere: doubtful for a time, or for good '
//! ```
//!
//! Every limit is either a figure of the project's fault study (see the constants) or a multiple of the scatter that the
//! probe itself shows about its line.

use quantities::{Celsius, NoReading, Reading, RunTime, Span};

use crate::{
    line::{Line, Point, Recent},
    quality::{Doubt, Fault, Judged, Quality},
};

#[cfg(test)]
pub(crate) mod curves;
#[cfg(test)]
mod faults;
#[cfg(test)]
mod harsh;
mod plateau;

use plateau::Plateau;

/// What is known of a sensor before it says anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sensor {
    /// The coldest that it can measure.
    pub low: Celsius,
    /// The hottest that it can measure.
    pub high: Celsius,
    /// The value that it holds after power comes on, if it has one.
    pub power_on: Option<Celsius>,
}

/// Where a probe is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In food.
    Food {
        /// What heats the food.
        heat: Heat,
        /// Hotter than this it is doubtful that the tip is in the food: about 105 °C, more for sugar and fat.
        hottest: Celsius,
    },
    /// In the air of an oven or a room, which may move as fast as it likes.
    Air,
}

/// What heats the food, as far as it bounds how fast a core can move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heat {
    /// From outside: an oven, a pan, a pot.
    Outside,
    /// Nothing: a rest, in which a core may fall.
    Nothing,
    /// All through: a microwave.
    Microwave,
}

/// Judges one probe: fed with every reading in order, good or bad.
///
/// A fixed amount of memory, below 4 kB. It never waits: [`Self::latest`] tells how the newest reading has aged.
#[derive(Clone, Debug)]
pub struct ProbeWatch {
    sensor: Sensor,
    place: Place,
    state: State,
    recent: Recent<96>,
    plateau: Plateau,
    changed_at: Option<RunTime>,
    last: Option<Judged>,
    /// The newest reading that had a value.
    heard: Option<RunTime>,
}

#[derive(Clone, Copy, Debug)]
enum State {
    Settling {
        since: RunTime,
    },
    Following {
        /// How many readings in a row stood off the line, and since when.
        sudden: Option<(u8, RunTime)>,
        /// Doubtful until then: it came back to a higher temperature.
        elsewhere: Option<RunTime>,
    },
    Out {
        fault: Fault,
        since: RunTime,
        /// The line that the food was on.
        anchor: f64,
        rate: f64,
        spread: f64,
        calm_since: Option<RunTime>,
        /// It came to rest above where the food was heading: how high it has been there, and how far above it was. Only a
        /// fall takes this away: what is caught up by the food has not come back.
        above: Option<(f64, f64)>,
        /// It has been colder than the food meanwhile, as in room air: what is warmer again after that is in the food.
        colder: bool,
    },
}

/// The longest gap between readings over which a line may be drawn.
const GAP: Span = Span::from_secs(30);
/// When a reading is old, and when the probe counts as silent.
const OLD: Span = Span::from_secs(5);
const SILENT: Span = Span::from_secs(10);
/// Fault study: steepest slope over 5 s of clean curves 0.60 °C/s with noise; pulled out from 0.45 °C/s, in a microwave
/// from 0.8 °C/s. Here they bound the change of slope against the minute before.
const STEEP: f64 = 0.45;
const STEEP_MICROWAVE: f64 = 0.8;
/// Food does not turn down by this, to fall by that, for 15 s: found in room air, where the first seconds show little.
const FALL: f64 = 0.20;
const FALLING: f64 = 0.12;
/// Nor does it fall by this within half a minute while it is heated.
const FALLEN: f64 = 3.0;
/// Deviations of a slope that noise alone does not reach.
const SURE: f64 = 5.5;
/// Off its line at once by more than this and 1 °C for each second: not food.
const JUMP: f64 = 3.0;
const JUMP_SPREADS: f64 = 8.0;
/// Off its line by more than this: to be seen whether the next ones are too.
const SUDDEN: f64 = 0.8;
const SUDDEN_SPREADS: f64 = 4.5;
/// So many in a row are the new line.
const SUDDEN_RUN: u8 = 8;
/// Unless they fall by this much below the line, as food that is heated does not: the slow end of pulled out.
const LOWER: f64 = 1.5;
/// A scatter beyond this is a bad contact.
const NOISY: f64 = 1.0;
/// How long a probe may take to settle after it was put in.
const SETTLE: Span = Span::from_secs(120);
const STEADY: Span = Span::from_secs(5);
const CALM_LOWER: Span = Span::from_secs(20);
const CALM_HIGHER: Span = Span::from_secs(120);
const DOUBT_LOWER: Span = Span::from_secs(60);
/// After a turn or a new setting the limits are twice as wide for this long.
const CHANGED: Span = Span::from_secs(60);
/// Readings closer together than this are judged, but no line is drawn through them.
const APART: Span = Span::from_millis(450);

impl Sensor {
    /// A DS18B20 (data sheet, from memory).
    pub const ONE_WIRE: Self =
        Self { low: Celsius::whole(-55), high: Celsius::whole(125), power_on: Some(Celsius::whole(85)) };
    /// A thermocouple, platinum or thermistor probe of a kitchen: food and oven air are within this.
    pub const KITCHEN: Self = Self { low: Celsius::whole(-40), high: Celsius::whole(350), power_on: None };
}

impl Place {
    /// In food that is heated from outside and cannot be hotter than about boiling water.
    pub const WET_FOOD: Self = Self::Food { heat: Heat::Outside, hottest: Celsius::whole(105) };
    /// In food that rests.
    pub const RESTING: Self = Self::Food { heat: Heat::Nothing, hottest: Celsius::whole(105) };
    /// In food in a microwave.
    pub const MICROWAVE: Self = Self::Food { heat: Heat::Microwave, hottest: Celsius::whole(105) };
}

impl ProbeWatch {
    /// For a probe that is listened to from `now` on.
    pub const fn new(sensor: Sensor, place: Place, now: RunTime) -> Self {
        Self {
            sensor,
            place,
            state: State::Settling { since: now },
            recent: Recent::new(),
            plateau: Plateau::new(),
            changed_at: None,
            last: None,
            heard: None,
        }
    }

    /// Takes a reading, or the fault that the probe names, and says how far it can be believed.
    pub fn judge(&mut self, reading: Reading, now: RunTime) -> Judged {
        let judged = match reading {
            Err(why) => Judged { quality: Quality::Bad(Fault::Named(why)), value: None, at: now, suspect_from: None },
            Ok(raw) => {
                let (quality, suspect_from) = self.value(raw, now);
                let value = (!matches!(quality, Quality::Bad(Fault::Named(_)))).then_some(raw);
                Judged { quality, value, at: now, suspect_from }
            }
        };
        self.last = Some(judged);
        judged
    }

    /// The newest reading as it stands at `now`: one that was good is doubtful after 5 s and bad after 10 s. Nothing
    /// before the first.
    pub fn latest(&self, now: RunTime) -> Option<Judged> {
        let last = self.last?;
        let age = last.age(now);
        let quality = match last.quality {
            Quality::Bad(fault) => Quality::Bad(fault),
            Quality::Good | Quality::Doubtful(_) if age > SILENT => Quality::Bad(Fault::Silent(age)),
            Quality::Good | Quality::Doubtful(_) if age > OLD => Quality::Doubtful(Doubt::Old(age)),
            Quality::Good => Quality::Good,
            Quality::Doubtful(doubt) => Quality::Doubtful(doubt),
        };
        Some(Judged { quality, ..last })
    }

    /// Forgets everything: the cook has put the probe elsewhere, or into other food.
    pub fn moved(&mut self, now: RunTime) {
        *self = Self::new(self.sensor, self.place, now);
    }

    /// The cook turned the food, covered it, took it off the heat or changed the setting: the core may bend.
    pub fn changed(&mut self, now: RunTime) {
        self.changed_at = Some(now);
    }

    /// The food goes on elsewhere: what bounds its speed is another.
    pub fn heated_by(&mut self, place: Place, now: RunTime) {
        self.place = place;
        self.changed(now);
    }

    fn value(&mut self, raw: Celsius, now: RunTime) -> (Quality, Option<RunTime>) {
        if !(self.sensor.low..=self.sensor.high).contains(&raw) {
            return (Quality::Bad(Fault::Named(NoReading::OutOfRange)), None);
        }
        let gap = self.heard.map(|at| now.since(at));
        if self.sensor.power_on == Some(raw) && !self.expects(raw, now) {
            return (Quality::Bad(Fault::Named(NoReading::PowerOnValue)), None);
        }
        self.heard = Some(now);
        if gap.is_some_and(|gap| gap > GAP) {
            self.settle(now);
        }
        let Place::Food { heat, hottest } = self.place else { return (Quality::Good, None) };
        let unchanged = self.plateau.take(raw, now);
        if unchanged >= self.plateau.patience() {
            let since = now.earlier(unchanged);
            self.settle(now);
            return (Quality::Bad(Fault::Stuck(unchanged)), Some(since));
        }
        let (quality, suspect_from) = match self.state {
            State::Settling { since } => (self.settling(raw, heat, since, now), None),
            State::Following { sudden, elsewhere } => self.follow(raw, heat, sudden, elsewhere, now),
            State::Out { .. } => (self.outside(raw, heat, hottest, now), None),
        };
        let quality = match quality {
            Quality::Good if raw > hottest => Quality::Doubtful(Doubt::TooHot),
            Quality::Good if self.plateau.never_moved() && unchanged >= Plateau::LONG => {
                Quality::Doubtful(Doubt::NeverMoved(unchanged))
            }
            Quality::Good | Quality::Doubtful(_) | Quality::Bad(_) => quality,
        };
        (quality, suspect_from)
    }

    /// Starts to settle anew, with nothing to hold the next readings against.
    fn settle(&mut self, now: RunTime) {
        self.recent.clear();
        self.state = State::Settling { since: now };
    }

    fn settling(&mut self, raw: Celsius, heat: Heat, since: RunTime, now: RunTime) -> Quality {
        self.keep(raw, now, true);
        let newest = self.tail(now, Span::from_secs(8), 5);
        let Some(line) = Line::through(newest) else { return Quality::Doubtful(Doubt::Settling) };
        let calm = line.n >= 5 && line.slope.abs() <= steep(heat).max(SURE * line.spread / libm::sqrt(line.lever));
        if calm {
            self.lean_on_newest(now, Span::from_secs(8), 5);
            self.state = State::Following { sudden: None, elsewhere: None };
        } else if now.since(since) > SETTLE {
            return Quality::Bad(Fault::PulledOut(line.slope));
        }
        Quality::Doubtful(Doubt::Settling)
    }

    fn follow(
        &mut self,
        raw: Celsius,
        heat: Heat,
        sudden: Option<(u8, RunTime)>,
        elsewhere: Option<RunTime>,
        now: RunTime,
    ) -> (Quality, Option<RunTime>) {
        let Some((line, last)) = self.line_behind(now, Span::ZERO, Span::from_secs(45)) else {
            // nothing to lean on, as after readings far apart
            self.settle(now);
            return (self.settling(raw, heat, now, now), None);
        };
        let wide = if self.changed_at.is_some_and(|at| now.since(at) < CHANGED) { 2.0 } else { 1.0 };
        let gap = now.since(last).secs().min(GAP.secs());
        let spread = line.spread.max(0.03);
        let off = raw.degrees() - line.at(now);
        if off.abs() > (JUMP.max(JUMP_SPREADS * spread) + gap) * wide {
            let from = sudden.map_or(now, |(_, since)| since);
            self.go_out(Fault::Jumped(off), &line, now);
            self.keep(raw, now, false);
            return (Quality::Bad(Fault::Jumped(off)), Some(from));
        }
        let beyond = off.abs() > SUDDEN.max(SUDDEN_SPREADS * spread) * wide + 0.3 * (gap - 1.5).max(0.0);
        let sudden = match (beyond, sudden) {
            (false, _) => None,
            (true, None) => Some((1, now)),
            (true, Some((n, since))) => Some((n + 1, since)),
        };
        self.keep(raw, now, !beyond);
        if let Some((fault, behind)) = self.pulled_out(heat, wide, now) {
            let from = now.earlier(behind);
            self.go_out(fault, &line, now);
            return (Quality::Bad(fault), Some(from));
        }
        let settled = sudden.filter(|(n, _)| *n < SUDDEN_RUN);
        if let (Some((_, since)), None) = (sudden, settled) {
            if heat == Heat::Outside && wide == 1.0 && off < -LOWER {
                let fault = Fault::PulledOut(off / now.since(since).secs().max(1.0));
                self.go_out(fault, &line, now);
                return (Quality::Bad(fault), Some(since));
            }
            self.recent.lean_on_all();
        }
        let elsewhere = elsewhere.filter(|until| now < *until);
        self.state = State::Following { sudden: settled, elsewhere };
        let quality = if elsewhere.is_some() {
            Quality::Doubtful(Doubt::Elsewhere)
        } else if beyond {
            Quality::Doubtful(Doubt::Sudden(off))
        } else if spread > NOISY && wide == 1.0 {
            Quality::Doubtful(Doubt::Noisy(spread))
        } else {
            Quality::Good
        };
        (quality, None)
    }

    /// Whether the newest readings move as food cannot, and for how long they have.
    fn pulled_out(&self, heat: Heat, wide: f64, now: RunTime) -> Option<(Fault, Span)> {
        let excess = |newest: &Line, behind: Option<&Line>| {
            let before = behind.map_or(0.0, |line| line.slope);
            let spread = behind.map_or(newest.spread, |line| line.spread);
            let levers = 1.0 / newest.lever + behind.map_or(0.0, |line| 1.0 / line.lever);
            (newest.slope - before, SURE * spread * libm::sqrt(levers))
        };
        let (short, short_behind) = (Span::from_secs(5), Span::from_secs(6));
        let newest = Line::through(self.tail(now, short, 4)).filter(|line| line.n >= 4)?;
        let behind = self.line_behind(now, short_behind, Span::from_secs(50)).map(|(line, _)| line);
        let (by, noise) = excess(&newest, behind.as_ref());
        if by.abs() > (steep(heat) * wide).max(noise) {
            return Some((Fault::PulledOut(newest.slope), short_behind));
        }
        let (long, long_behind) = (Span::from_secs(15), Span::from_secs(16));
        let newest = Line::through(self.tail(now, long, 8)).filter(|line| line.n >= 8)?;
        let (behind, _) = self.line_behind(now, long_behind, Span::from_secs(60))?;
        let (by, noise) = excess(&newest, Some(&behind));
        let rises = by > (steep(heat) * wide).max(noise);
        let falls = -by > FALL.max(noise) && -newest.slope > FALLING.max(noise);
        if rises || (wide == 1.0 && falls) {
            return Some((Fault::PulledOut(newest.slope), long_behind));
        }
        if heat != Heat::Outside || wide != 1.0 {
            return None;
        }
        let slow_behind = Span::from_secs(25);
        let (behind, _) = self.line_behind(now, slow_behind, Span::from_secs(90))?;
        let fallen = behind.at(now.earlier(slow_behind)) - newest.at(now);
        let far = newest.slope < 0.0 && fallen > FALLEN + 3.0 * behind.spread;
        far.then_some((Fault::PulledOut(newest.slope), slow_behind))
    }

    fn go_out(&mut self, fault: Fault, line: &Line, now: RunTime) {
        let behind = match fault {
            Fault::PulledOut(_) => self.line_behind(now, Span::from_secs(6), Span::from_secs(50)),
            Fault::Named(_) | Fault::Silent(_) | Fault::Stuck(_) | Fault::Jumped(_) => None,
        };
        let line = behind.map_or(*line, |(line, _)| line);
        self.state = State::Out {
            fault,
            since: now,
            anchor: line.at(now),
            rate: line.slope.clamp(-1.0, 1.0),
            spread: line.spread,
            calm_since: None,
            above: None,
            colder: false,
        };
    }

    fn outside(&mut self, raw: Celsius, heat: Heat, hottest: Celsius, now: RunTime) -> Quality {
        self.keep(raw, now, false);
        let State::Out { fault, since, anchor, rate, spread, calm_since, above, colder } = self.state else {
            return Quality::Doubtful(Doubt::Settling);
        };
        let gone = now.since(since).secs();
        let expected = anchor + rate * gone.min(120.0);
        // the food may have slowed down meanwhile: it is somewhere between where it was and where it was heading
        let (least, most) = (anchor.min(expected), anchor.max(expected));
        let off = raw.degrees() - raw.degrees().clamp(least, most);
        let bend = if colder && off > 0.0 { 0.6 * rate.abs() * gone } else { 0.0 };
        let near = off.abs() <= (1.5 + 3.0 * spread + 0.03 * gone + bend).min(8.0);
        let one_spike = matches!(fault, Fault::Jumped(_)) && gone <= 3.0;
        if near && one_spike {
            self.recent.forget_since(since);
            self.keep(raw, now, true);
            self.state = State::Following { sudden: None, elsewhere: None };
            return Quality::Good;
        }
        let line = Line::through(self.tail(now, STEADY, 4)).filter(|line| line.n >= 4 && gone >= 3.0);
        let noise = |line: &Line| SURE * spread / libm::sqrt(line.lever);
        let is_calm =
            line.as_ref().is_some_and(|line| (line.slope - rate).abs() <= (0.5 * steep(heat)).max(noise(line)));
        let calm_since = is_calm.then(|| calm_since.unwrap_or(now));
        let calm_for = calm_since.map_or(Span::ZERO, |at| now.since(at));
        let level = line.as_ref().map_or(raw.degrees(), |line| line.at(now));
        let above = match above {
            Some((top, by)) if level < top - (by / 2.0).max(1.5) => None,
            Some((top, by)) => Some((top.max(level), by)),
            None => (is_calm && off > 0.0 && !near).then_some((level, off)),
        };
        let fault = match line {
            Some(line) if line.slope.abs() > steep(heat) + noise(&line) => Fault::PulledOut(line.slope),
            Some(_) | None => fault,
        };
        let colder = colder || level < least - 3.0;
        self.state = State::Out { fault, since, anchor, rate, spread, calm_since, above, colder };
        let in_room_air = off < -4.0 && (Celsius::whole(15)..=Celsius::whole(30)).contains(&raw);
        if near && above.is_none() && calm_for >= STEADY {
            self.believe_newest(now, STEADY, None);
            return Quality::Good;
        }
        // a colder place in the food claims less than before: shown, and after a time believed
        if off < 0.0 && calm_for >= CALM_LOWER && !in_room_air {
            if calm_for >= CALM_LOWER + DOUBT_LOWER {
                self.believe_newest(now, CALM_LOWER, None);
                return Quality::Good;
            }
            return Quality::Doubtful(Doubt::Elsewhere);
        }
        // perhaps food, perhaps warm air: shown, and never more until the cook says that the probe was moved
        if off > 0.0 && off <= 15.0 && raw <= hottest.min(Celsius::whole(100)) && calm_for >= CALM_HIGHER {
            self.believe_newest(now, CALM_LOWER, Some(RunTime::NEVER));
            return Quality::Doubtful(Doubt::Elsewhere);
        }
        Quality::Bad(fault)
    }

    fn believe_newest(&mut self, now: RunTime, span: Span, elsewhere: Option<RunTime>) {
        self.lean_on_newest(now, span, 5);
        self.state = State::Following { sudden: None, elsewhere };
    }

    /// Whether a value lies where the food was heading, so that it needs no other explanation.
    fn expects(&self, raw: Celsius, now: RunTime) -> bool {
        match self.state {
            State::Settling { .. } => false,
            State::Out { anchor, rate, since, .. } => {
                (raw.degrees() - anchor - rate * now.since(since).secs().min(120.0)).abs() <= 2.0
            }
            State::Following { .. } => {
                self.line_behind(now, Span::ZERO, Span::from_secs(60)).is_some_and(|(line, last)| {
                    (raw.degrees() - line.at(now)).abs() <= 2.0 + now.since(last).secs().min(10.0)
                })
            }
        }
    }

    fn keep(&mut self, core: Celsius, at: RunTime, leaned_on: bool) {
        if self.recent.newest().is_none_or(|last| at.since(last.at) >= APART) {
            self.recent.push(Point { at, core, leaned_on });
        }
    }

    /// The readings of the last `span`, or the last `least` of them where they are far apart.
    fn tail(&self, now: RunTime, span: Span, least: usize) -> impl Iterator<Item = Point> + Clone {
        let close = self.recent.iter().rev().take_while(move |p| now.since(p.at) <= span).count();
        let near = self.recent.iter().rev().take(least).take_while(move |p| now.since(p.at) <= span * 3).count();
        self.recent.tail(close.max(near))
    }

    /// The line through the readings that are leaned on and at least `behind` old, with the newest of them.
    fn line_behind(&self, now: RunTime, behind: Span, reach: Span) -> Option<(Line, RunTime)> {
        let points = self.recent.iter().filter(move |p| {
            let age = now.since(p.at);
            p.leaned_on && age >= behind && age <= reach
        });
        let last = points.clone().next_back()?.at;
        let line = Line::through(points)?;
        (line.n >= 5).then_some((line, last))
    }

    /// Leans on the readings of [`Self::tail`] and forgets what led up to them.
    fn lean_on_newest(&mut self, now: RunTime, span: Span, least: usize) {
        let count = self.tail(now, span, least).count();
        self.recent.keep_newest(count);
        self.recent.lean_on_all();
    }
}

const fn steep(heat: Heat) -> f64 {
    match heat {
        Heat::Outside | Heat::Nothing => STEEP,
        Heat::Microwave => STEEP_MICROWAVE,
    }
}
