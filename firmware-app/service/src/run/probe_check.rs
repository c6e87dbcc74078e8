//! The check of a probe in ice water or boiling water: when it stands still, and how far it is off.

use std::collections::VecDeque;

use quantities::{Celsius, CelsiusStep, NoReading, Reading, RunTime, Span};
use screens::{Bath, ProbeCheckView};
use serde::{Deserialize, Serialize};

/// How long a probe has to stand still (common practice, no source).
pub const STEADY_FOR: Span = Span::from_secs(60);
/// It stands still while its readings differ by no more than this (common practice, no source).
pub const STEADY_WITHIN: CelsiusStep = CelsiusStep::from_ten_thousandths(2_000);
/// A probe that is further off is not cooked with (common practice, no source).
pub const MOST_OFF: CelsiusStep = CelsiusStep::whole(1);
/// A reading that is older says nothing about the probe.
const STALE: Span = Span::from_secs(5);
/// Nobody waits longer for a number to grow.
const KEPT_FOR: Span = Span::from_mins(10);

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
    /// What it should have read there.
    pub expected: Celsius,
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
        self.reading - self.expected == self.offset && self.offset.abs() <= MOST_OFF
    }
}

/// A check that is going on.
#[derive(Clone, Debug)]
pub struct ProbeCheck {
    name: String,
    bath: BathKind,
    expected: Celsius,
    /// Since the last break, oldest first.
    readings: VecDeque<(RunTime, Celsius)>,
    last: Option<(RunTime, Reading)>,
    /// What was found, once it is saved.
    saved: Option<CelsiusStep>,
    checked: Option<String>,
}

impl ProbeCheck {
    /// Begins; `checked` is the day of the last check.
    pub fn new(name: &str, bath: Bath, altitude_m: i32, checked: Option<String>) -> Self {
        let bath = BathKind::from(bath);
        Self {
            name: name.to_owned(),
            bath,
            expected: expected(bath, altitude_m),
            readings: VecDeque::new(),
            last: None,
            saved: None,
            checked,
        }
    }

    /// Takes a reading as it is, without any correction.
    pub fn reading(&mut self, reading: Reading, now: RunTime) {
        if self.is_stale(now) {
            self.readings.clear();
        }
        self.last = Some((now, reading));
        let Ok(celsius) = reading else {
            self.readings.clear();
            return;
        };
        self.readings.push_back((now, celsius));
        while self.readings.front().is_some_and(|(at, _)| now.since(*at) > KEPT_FOR) {
            self.readings.pop_front();
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
            off: self.saved.or_else(|| self.off(now)),
            most: MOST_OFF,
            saved: self.saved.is_some(),
            checked: self.checked.clone(),
        }
    }

    /// Saves what stands still, near enough to what is expected; nothing otherwise.
    pub fn save(&mut self, device: &str, day: Option<String>, now: RunTime) -> Option<SavedCheck> {
        let offset = self.off(now).filter(|off| off.abs() <= MOST_OFF && self.saved.is_none())?;
        self.saved = Some(offset);
        self.checked.clone_from(&day);
        Some(SavedCheck {
            probe: self.name.clone(),
            device: device.to_owned(),
            bath: self.bath,
            day,
            reading: self.expected + offset,
            expected: self.expected,
            offset,
        })
    }

    fn is_stale(&self, now: RunTime) -> bool {
        self.last.is_some_and(|(at, _)| now.since(at) > STALE)
    }

    /// How long it has stood still.
    fn steady(&self, now: RunTime) -> Option<Span> {
        if self.is_stale(now) {
            return None;
        }
        let (_, newest) = self.readings.back()?;
        let (mut low, mut high, mut since) = (*newest, *newest, now);
        for (at, celsius) in self.readings.iter().rev() {
            (low, high) = (low.min(*celsius), high.max(*celsius));
            if high - low > STEADY_WITHIN {
                break;
            }
            since = *at;
        }
        Some(now.since(since))
    }

    /// How far the mean of the last minute is off, once it stood still for so long.
    fn off(&self, now: RunTime) -> Option<CelsiusStep> {
        self.steady(now).filter(|steady| *steady >= STEADY_FOR)?;
        let last = self.readings.iter().rev().take_while(|(at, _)| now.since(*at) <= STEADY_FOR);
        let (sum, count) = last
            .fold((0i64, 0i64), |(sum, count), (_, celsius)| (sum + i64::from(celsius.ten_thousandths()), count + 1));
        let mean = i32::try_from((sum + count.signum() * count / 2).div_euclid(count.max(1))).ok()?;
        Some(CelsiusStep::from_ten_thousandths(mean - self.expected.ten_thousandths()))
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

/// What a probe should read: 0 °C in ice and water, and in boiling water what goes with the mean pressure at this
/// altitude. The weather of a day moves the boiling point by up to about 0.8 °C, which stays in what a check finds.
fn expected(bath: BathKind, altitude_m: i32) -> Celsius {
    match bath {
        BathKind::Ice => Celsius::whole(0),
        BathKind::Boiling => {
            let celsius = boiling_point(pressure_at(f64::from(altitude_m)));
            Celsius::from_degrees(celsius).unwrap_or(Celsius::whole(100))
        }
    }
}

/// The mean pressure at an altitude, in Pa: the troposphere of the standard atmosphere (ISO 2533:1975, constants from
/// memory), which is that of the ICAO up to 11 km.
fn pressure_at(altitude_m: f64) -> f64 {
    const SEA_LEVEL_PA: f64 = 101_325.0;
    const SEA_LEVEL_K: f64 = 288.15;
    const FALLS_BY_K_PER_M: f64 = 0.0065;
    /// g M / (R L)
    const EXPONENT: f64 = 5.255_88;
    SEA_LEVEL_PA * (1.0 - FALLS_BY_K_PER_M * altitude_m / SEA_LEVEL_K).powf(EXPONENT)
}

/// The temperature in °C at which water boils under a pressure in Pa: the backward saturation equation of IAPWS-IF97
/// (equation 31, coefficients from memory, checked by the values of its table 36).
fn boiling_point(pressure_pa: f64) -> f64 {
    const N: [f64; 10] = [
        1_167.052_145_276_7,
        -724_213.167_032_06,
        -17.073_846_940_092,
        12_020.824_702_470,
        -3_232_555.032_233_3,
        14.915_108_613_530,
        -4_823.265_736_159_1,
        405_113.405_420_57,
        -0.238_555_575_678_49,
        650.175_348_447_98,
    ];
    let beta = (pressure_pa / 1e6).powf(0.25);
    let e = beta * beta + N[2] * beta + N[5];
    let f = N[0] * beta * beta + N[3] * beta + N[6];
    let g = N[1] * beta * beta + N[4] * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = N[9] + d;
    (sum - (sum * sum - 4.0 * (N[8] + N[9] * d)).sqrt()) / 2.0 - 273.15
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

    #[test]
    fn water_boils_as_the_release_tables_it() {
        // IAPWS-IF97 table 36, from memory
        for (mpa, kelvin) in [(0.1, 372.755_919), (1.0, 453.035_632), (10.0, 584.149_488)] {
            let found = boiling_point(mpa * 1e6) + 273.15;
            assert!((found - kelvin).abs() < 1e-5, "{mpa} MPa: {found} K");
        }
        assert!((boiling_point(101_325.0) - 99.974).abs() < 0.001, "{}", boiling_point(101_325.0));
    }

    #[test]
    fn water_boils_cooler_higher_up() {
        // ISO 2533: 898.75 hPa at 1000 m, 701.09 hPa at 3000 m (geopotential, from memory)
        assert!((pressure_at(1000.0) - 89_875.0).abs() < 10.0, "{}", pressure_at(1000.0));
        assert!((pressure_at(3000.0) - 70_109.0).abs() < 10.0, "{}", pressure_at(3000.0));
        let boils = |altitude| expected(BathKind::Boiling, altitude).degrees();
        assert!((96.5..96.9).contains(&boils(1000)), "{}", boils(1000));
        assert!((89.5..90.5).contains(&boils(3000)), "{}", boils(3000));
        assert_eq!(expected(BathKind::Ice, 3000), Celsius::whole(0));
    }

    #[test]
    fn it_stands_still_after_a_minute_within_a_fifth_of_a_degree() {
        let mut check = ProbeCheck::new("core", Bath::Ice, 0, None);
        assert_eq!(check.view(at(0)).reading, None);
        fed(&mut check, 1..=30, |s| 20.0 - 0.66 * s as f64);
        assert_eq!(check.view(at(30)).off, None);
        fed(&mut check, 31..=89, |s| if s % 2 == 0 { 0.2 } else { 0.3 });
        let view = check.view(at(89));
        assert_eq!((view.off, view.steady), (None, Some(Span::from_secs(59))));
        fed(&mut check, 90..=91, |_| 0.25);
        let view = check.view(at(91));
        assert!(view.steady.unwrap() >= STEADY_FOR);
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
        fed(&mut check, 0..=59, |_| 0.4);
        assert_eq!(check.save("28-1", None, at(59)), None, "not long enough");
        fed(&mut check, 60..=61, |_| 0.4);
        let saved = check.save("28-1", Some("2026-11-25".into()), at(61)).unwrap();
        assert_eq!((saved.offset.ten_thousandths(), saved.bath), (4_000, BathKind::Ice));
        assert!(check.view(at(61)).saved);
        // then it lies on the bench for two minutes
        let mut later = check.clone();
        fed(&mut later, 63..=180, |_| 21.0);
        assert_eq!(later.view(at(180)).off.map(CelsiusStep::ten_thousandths), Some(4_000), "as it was saved");
        assert_eq!(check.save("28-1", None, at(62)), None, "saved once");
        let mut far = ProbeCheck::new("core", Bath::Ice, 0, None);
        fed(&mut far, 0..=61, |_| 1.01);
        assert_eq!(far.view(at(61)).off.map(|off| off > MOST_OFF), Some(true));
        assert_eq!(far.save("28-1", None, at(61)), None);
    }
}
