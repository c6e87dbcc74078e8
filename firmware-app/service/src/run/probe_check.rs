//! The check of a probe in ice water or boiling water: when it stands still, and how far it is off.
//!
//! When a bath is at rest and how hot boiling water is at an altitude is told by `thermometry`.

use quantities::{Celsius, CelsiusStep, NoReading, Reading, RunTime, Span};
use screens::{Bath, ProbeCheckView};
use serde::{Deserialize, Serialize};
use thermometry::{Altitude, BathState, BathWatch, Boiling, Calibration, Settled};

/// How long a probe has to stand still, as [`BathWatch`] wants it.
pub const STEADY_FOR: Span = Span::from_secs(60);
/// A probe that is further off is not cooked with: [`Calibration`] takes no such bath.
pub const MOST_OFF: CelsiusStep = CelsiusStep::whole(3);
/// A reading that is older says nothing about the probe.
const STALE: Span = Span::from_secs(5);
/// Of a saved check that does not say so: half of the fifth of a degree within which it had to stand still, a reading a
/// second for a minute, and the weather's share in a boiling point at the sea.
const OLD_SPREAD: CelsiusStep = CelsiusStep::from_ten_thousandths(1_000);
const OLD_READINGS: u32 = 60;
const OLD_WEATHER: CelsiusStep = CelsiusStep::from_ten_thousandths(2_800);

/// A check of a probe that was saved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SavedCheck {
    /// What recipes call the probe.
    pub probe: String,
    /// The device that stood for it.
    pub device: String,
    /// What it was in.
    pub bath: BathKind,
    /// The day, if the station knew it: `2026-11-02`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub day: Option<String>,
    /// What it read, the mean of the time in which it stood still.
    pub reading: Celsius,
    /// The standard deviation of one of these readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spread: Option<CelsiusStep>,
    /// How many readings that were.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readings: Option<u32>,
    /// What it should have read there.
    pub expected: Celsius,
    /// One standard deviation of that, for boiling water: the weather's share.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_within: Option<CelsiusStep>,
    /// How far it was off: positive if it reads too high.
    pub offset: CelsiusStep,
}

/// What a probe is checked in, as it is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BathKind {
    /// Crushed ice and water.
    Ice,
    /// Boiling water.
    Boiling,
}

impl SavedCheck {
    /// Whether it is one that could have been saved: no other is taken from a file, since trials have it on record.
    pub fn is_sound(&self) -> bool {
        let bath = Calibration::one_point(CelsiusStep::ZERO, self.bath());
        self.reading - self.expected == self.offset && self.offset.abs() <= MOST_OFF && bath.is_ok()
    }

    /// The bath that it was.
    pub fn bath(&self) -> thermometry::Bath {
        let settled = Settled {
            mean: self.reading,
            spread: self.spread.unwrap_or(OLD_SPREAD),
            readings: self.readings.unwrap_or(OLD_READINGS),
        };
        match self.bath {
            BathKind::Ice => thermometry::Bath::ice(settled),
            BathKind::Boiling => {
                let uncertainty = self.expected_within.unwrap_or(OLD_WEATHER);
                thermometry::Bath::boiling(settled, Boiling { at: self.expected, uncertainty })
            }
        }
    }
}

/// A check that is going on.
#[derive(Clone, Debug)]
pub struct ProbeCheck {
    name: String,
    bath: BathKind,
    expected: Celsius,
    expected_within: Option<CelsiusStep>,
    /// Since the last break.
    watch: BathWatch,
    state: Option<BathState>,
    last: Option<(RunTime, Reading)>,
    /// What was found, once it is saved.
    saved: Option<CelsiusStep>,
    checked: Option<String>,
}

impl ProbeCheck {
    /// Begins; `checked` is the day of the last check.
    pub fn new(name: &str, bath: Bath, altitude_m: i32, checked: Option<String>) -> Self {
        let bath = BathKind::from(bath);
        let (expected, expected_within) = expected(bath, altitude_m);
        Self {
            name: name.to_owned(),
            bath,
            expected,
            expected_within,
            watch: BathWatch::new(),
            state: None,
            last: None,
            saved: None,
            checked,
        }
    }

    /// Takes a reading as it is, without any correction.
    pub fn reading(&mut self, reading: Reading, now: RunTime) {
        if self.is_stale(now) {
            self.begin_anew();
        }
        self.last = Some((now, reading));
        match reading {
            Ok(celsius) => self.state = Some(self.watch.take(celsius, now)),
            Err(_) => self.begin_anew(),
        }
    }

    /// What the panel shows.
    pub fn view(&self, now: RunTime) -> ProbeCheckView {
        ProbeCheckView {
            name: self.name.clone(),
            bath: self.bath.into(),
            expected: self.expected,
            reading: match self.last {
                Some(_) if self.is_stale(now) => Some(Err(NoReading::Timeout)),
                last => last.map(|(_, reading)| reading),
            },
            steady: self.steady(now),
            needed: STEADY_FOR,
            // what was saved stays, wherever the probe goes then
            off: self.saved.or_else(|| self.settled(now).map(|settled| settled.mean - self.expected)),
            most: MOST_OFF,
            saved: self.saved.is_some(),
            checked: self.checked.clone(),
        }
    }

    /// Saves what stands still, near enough to what is expected; nothing otherwise.
    pub fn save(&mut self, device: &str, day: Option<String>, now: RunTime) -> Option<SavedCheck> {
        let settled = self.settled(now).filter(|_| self.saved.is_none())?;
        let check = SavedCheck {
            probe: self.name.clone(),
            device: device.to_owned(),
            bath: self.bath,
            day: day.clone(),
            reading: settled.mean,
            spread: Some(settled.spread),
            readings: Some(settled.readings),
            expected: self.expected,
            expected_within: self.expected_within,
            offset: settled.mean - self.expected,
        };
        if !check.is_sound() {
            return None;
        }
        self.saved = Some(check.offset);
        self.checked = day;
        Some(check)
    }

    fn begin_anew(&mut self) {
        self.watch = BathWatch::new();
        self.state = None;
    }

    fn is_stale(&self, now: RunTime) -> bool {
        self.last.is_some_and(|(at, _)| now.since(at) > STALE)
    }

    /// How long it has stood still, as far as that is known.
    fn steady(&self, now: RunTime) -> Option<Span> {
        self.state.filter(|_| !self.is_stale(now)).map(|state| match state {
            BathState::Wait(left) => STEADY_FOR.saturating_sub(left),
            BathState::Moving(_) | BathState::Unsteady(_) => Span::ZERO,
            BathState::Settled(_) => STEADY_FOR,
        })
    }

    fn settled(&self, now: RunTime) -> Option<Settled> {
        match self.state.filter(|_| !self.is_stale(now))? {
            BathState::Settled(settled) => Some(settled),
            BathState::Wait(_) | BathState::Moving(_) | BathState::Unsteady(_) => None,
        }
    }
}

impl From<Bath> for BathKind {
    fn from(bath: Bath) -> Self {
        match bath {
            Bath::Ice => Self::Ice,
            Bath::Boiling => Self::Boiling,
        }
    }
}

impl From<BathKind> for Bath {
    fn from(bath: BathKind) -> Self {
        match bath {
            BathKind::Ice => Self::Ice,
            BathKind::Boiling => Self::Boiling,
        }
    }
}

/// What a probe should read, and within what: 0 °C in ice and water, and in boiling water what goes with the mean pressure at
/// this altitude; the weather moves that.
fn expected(bath: BathKind, altitude_m: i32) -> (Celsius, Option<CelsiusStep>) {
    match bath {
        BathKind::Ice => (Celsius::whole(0), None),
        BathKind::Boiling => {
            let altitude = Altitude::from_metres(f64::from(altitude_m)).unwrap_or(Altitude::SEA);
            let Boiling { at, uncertainty } = Boiling::at_altitude(altitude);
            (at, Some(uncertainty))
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn at(secs: u64) -> RunTime {
        RunTime::from_millis(secs * 1000)
    }

    fn celsius(degrees: f64) -> Celsius {
        Celsius::from_degrees(degrees).unwrap()
    }

    fn fed(check: &mut ProbeCheck, secs: std::ops::RangeInclusive<u64>, reading: impl Fn(u64) -> f64) {
        for s in secs {
            check.reading(Ok(celsius(reading(s))), at(s));
        }
    }

    // the table of altitudes is held against in `thermometry`
    #[test]
    fn water_boils_cooler_higher_up() {
        let boils = |altitude| expected(BathKind::Boiling, altitude);
        assert!((96.5..96.9).contains(&boils(1000).0.degrees()), "{:?}", boils(1000));
        assert!((89.5..90.5).contains(&boils(3000).0.degrees()), "{:?}", boils(3000));
        assert!((0.2..0.4).contains(&boils(0).1.unwrap().degrees()), "the weather's share: {:?}", boils(0));
        assert_eq!(expected(BathKind::Ice, 3000), (Celsius::whole(0), None));
    }

    #[test]
    fn it_stands_still_once_a_whole_minute_no_longer_moves() {
        let mut check = ProbeCheck::new("core", Bath::Ice, 0, None);
        assert_eq!(check.view(at(0)).reading, None);
        fed(&mut check, 1..=30, |s| 20.0 - 0.66 * s as f64);
        assert_eq!(check.view(at(30)).off, None);
        fed(&mut check, 31..=80, |s| if s % 2 == 0 { 0.2 } else { 0.3 });
        let view = check.view(at(80));
        assert_eq!((view.off, view.steady), (None, Some(Span::ZERO)), "the fall is part of the last minute");
        fed(&mut check, 81..=95, |s| if s % 2 == 0 { 0.2 } else { 0.3 });
        let view = check.view(at(95));
        assert_eq!(view.steady, Some(STEADY_FOR));
        let off = view.off.unwrap().degrees();
        assert!((0.24..0.26).contains(&off), "{off}");
        // one that creeps on does not stand still
        let mut creeping = ProbeCheck::new("core", Bath::Ice, 0, None);
        fed(&mut creeping, 0..=300, |s| 5.0 - 0.01 * s as f64);
        assert_eq!(creeping.view(at(300)).off, None);
    }

    #[test]
    fn a_signal_that_goes_begins_the_wait_anew() {
        let mut check = ProbeCheck::new("core", Bath::Ice, 0, None);
        fed(&mut check, 0..=70, |_| 0.1);
        assert!(check.view(at(70)).off.is_some());
        check.reading(Err(NoReading::Unplugged), at(71));
        assert_eq!((check.view(at(71)).off, check.view(at(71)).steady), (None, None));
        fed(&mut check, 72..=100, |_| 0.1);
        assert_eq!(check.view(at(100)).off, None);
        // no more readings come at all
        fed(&mut check, 101..=140, |_| 0.1);
        assert!(check.view(at(140)).off.is_some());
        let silent = check.view(at(150));
        assert_eq!((silent.off, silent.reading), (None, Some(Err(NoReading::Timeout))));
    }

    #[test]
    fn what_is_off_by_too_much_or_moves_is_never_saved() {
        let mut check = ProbeCheck::new("core", Bath::Ice, 0, None);
        fed(&mut check, 0..=50, |_| 0.4);
        assert_eq!(check.save("28-1", None, at(50)), None, "not long enough");
        fed(&mut check, 51..=61, |_| 0.4);
        let saved = check.save("28-1", Some("2026-11-25".into()), at(61)).unwrap();
        assert_eq!((saved.offset.ten_thousandths(), saved.bath), (4_000, BathKind::Ice));
        assert_eq!((saved.spread, saved.readings.map(|n| n > 50)), (Some(CelsiusStep::ZERO), Some(true)));
        assert!(check.view(at(61)).saved);
        // then it lies on the bench for two minutes
        let mut later = check.clone();
        fed(&mut later, 63..=180, |_| 21.0);
        assert_eq!(later.view(at(180)).off.map(CelsiusStep::ten_thousandths), Some(4_000), "as it was saved");
        assert_eq!(check.save("28-1", None, at(62)), None, "saved once");
        let in_ice = |off: f64| {
            let mut check = ProbeCheck::new("core", Bath::Ice, 0, None);
            fed(&mut check, 0..=61, |_| off);
            (check.view(at(61)).off.map(|off| off > MOST_OFF), check.save("28-1", None, at(61)).is_some())
        };
        // as far as a calibration takes it, and no further
        assert_eq!(in_ice(3.0), (Some(false), true));
        assert_eq!(in_ice(3.01), (Some(true), false));
    }

    #[test]
    fn a_check_saved_before_its_spread_was_kept_still_is_a_bath() {
        let old = "probe = \"core\"\ndevice = \"28-1\"\nbath = \"boiling\"\nday = \"2026-11-02\"\n\
                   reading = 100.2\nexpected = 99.974\noffset = 0.226\n";
        let check: SavedCheck = toml::from_str(old).unwrap();
        assert!(check.is_sound());
        let bath = check.bath();
        assert_eq!((bath.spread, bath.readings, bath.truth), (OLD_SPREAD, 60, celsius(99.974)));
        assert!(bath.truth_uncertainty >= OLD_WEATHER, "{bath:?}");
        let few = SavedCheck { readings: Some(3), ..check };
        assert!(!few.is_sound(), "three readings are no bath");
    }
}
