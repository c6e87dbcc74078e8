//! Numbers as the panel writes them. Time to go is rounded up, time over is rounded down: nothing is promised too long
//! and nothing late is shown as later than it is.

use alloc::{format, string::String};

use quantities::{Celsius, CelsiusStep, RunTime, Span};
use words::Text;

const MINUTE: u64 = 60;
const HOUR: u64 = 3600;

/// The unit in which temperatures are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Units {
    /// Degrees Celsius.
    #[default]
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

impl Units {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Celsius, Self::Fahrenheit];

    /// `C` or `F`.
    pub const fn letter(self) -> &'static str {
        match self {
            Self::Celsius => "C",
            Self::Fahrenheit => "F",
        }
    }

    /// Ten-thousandths of a degree of this unit.
    fn of(self, celsius: Celsius) -> i64 {
        let here = i64::from(celsius.ten_thousandths());
        match self {
            Self::Celsius => here,
            Self::Fahrenheit => rounded(here * 9, 5) + 320_000,
        }
    }

    /// A difference in ten-thousandths of a degree of this unit.
    fn of_step(self, step: CelsiusStep) -> i64 {
        let here = i64::from(step.ten_thousandths());
        match self {
            Self::Celsius => here,
            Self::Fahrenheit => rounded(here * 9, 5),
        }
    }
}

/// The mark behind a reading that may be wrong or is old.
pub const DOUBT: &str = "?";

/// A number in a cell: large figures and a small unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figures {
    /// `12`, `4:37`, `64°`, `--`.
    pub digits: Text,
    /// `min`, `m`, `s`, [`DOUBT`] or nothing.
    pub unit: &'static str,
}

impl Figures {
    /// Figures that need no unit.
    pub fn plain(digits: impl Into<Text>) -> Self {
        Self { digits: digits.into(), unit: "" }
    }

    /// Nothing to show.
    pub fn none() -> Self {
        Self::plain("--")
    }

    /// In at most five characters, for a strip: `12m`, `64°`.
    pub fn short(&self) -> Text {
        let unit = if self.unit == "min" { "m" } else { self.unit };
        self.digits.map(|digits| format!("{digits}{unit}"))
    }
}

/// Time to go, for the band: `m:ss` to 59:59, then `1h23`, then `12h`.
pub fn band_left(left: Span) -> String {
    let secs = whole_up(left, 1);
    if secs < HOUR {
        return clock(secs);
    }
    long(whole_up(left, MINUTE))
}

/// Minutes from an hour on: `1h23`, then `12h`.
fn long(mins: u64) -> String {
    if mins < 10 * 60 { hours_and_minutes(mins) } else { format!("{}h", mins.div_ceil(60)) }
}

/// Time to go that is only about right, for the band: `9m`, no seconds, from 100 min on `1h45`; never `0m`.
pub fn band_about(left: Span) -> String {
    let mins = whole_up(left, MINUTE).max(1);
    if mins < 100 { format!("{mins}m") } else { long(mins) }
}

/// Time to go that is only about right, in words: `9 min`, from 100 min on `1h45`; never `0 min`.
pub fn about(left: Span) -> String {
    let mins = whole_up(left, MINUTE).max(1);
    if mins < 100 { format!("{mins} min") } else { hours_and_minutes(mins) }
}

/// From when to when: rounded apart, so that nothing is left out of it. `7` and `12 min`, `1h05` and `2h10`.
pub fn about_from_to(low: Span, high: Span) -> [String; 2] {
    let (first, last) = (low.whole_secs() / MINUTE, whole_up(high, MINUTE).max(1));
    if last < 100 {
        [format!("{first}"), format!("{last} min")]
    } else {
        [hours_and_minutes(first), hours_and_minutes(last)]
    }
}

/// How old a reading is: `12 s`, from 100 s on `2 min`.
pub fn age(span: Span) -> String {
    let secs = span.whole_secs();
    if secs < 100 { format!("{secs} s") } else { format!("{} min", secs / MINUTE) }
}

/// Time over, for the band: `+m:ss` to 9:59, then `+12m`, then `+2h`.
pub fn band_late(late: Span) -> String {
    let secs = late.whole_secs();
    if secs < 10 * MINUTE {
        format!("+{}", clock(secs))
    } else if secs < 100 * MINUTE {
        format!("+{}m", secs / MINUTE)
    } else {
        format!("+{}h", secs / HOUR)
    }
}

/// A temperature for the band: `64.2°`; whole degrees from 100 and below -9.
pub fn band_temperature(celsius: Celsius, units: Units) -> String {
    let tenths = rounded(units.of(celsius), 1000);
    if (-90..1000).contains(&tenths) { in_tenths(tenths, "") } else { whole_degrees(celsius, units) }
}

/// A temperature in whole degrees: `64°`.
pub fn whole_degrees(celsius: Celsius, units: Units) -> String {
    let degrees = rounded(units.of(celsius), 10_000);
    let sign = if degrees < 0 { "−" } else { "" };
    format!("{sign}{}°", degrees.unsigned_abs())
}

/// A temperature that has not come to another yet, in whole degrees that it has: `61°` for 61.8°.
pub fn degrees_reached(celsius: Celsius, units: Units) -> String {
    let degrees = units.of(celsius).div_euclid(10_000);
    let sign = if degrees < 0 { "−" } else { "" };
    format!("{sign}{}°", degrees.unsigned_abs())
}

/// The same to a tenth where the band has tenths: `61.8°`, and `62.9°` for 62.96°.
pub fn tenths_reached(celsius: Celsius, units: Units) -> String {
    let tenths = units.of(celsius).div_euclid(1000);
    if (-90..1000).contains(&tenths) { in_tenths(tenths, "") } else { degrees_reached(celsius, units) }
}

/// From which temperature to which, for words, without the sign of the unit: `64.9` and `67.5`.
pub fn degrees_from_to(low: Celsius, high: Celsius, units: Units) -> [String; 2] {
    [low, high].map(|celsius| String::from(band_temperature(celsius, units).trim_end_matches('°')))
}

/// A temperature with its unit, for words: `165°C`.
pub fn with_unit(celsius: Celsius, units: Units) -> String {
    format!("{}{}", whole_degrees(celsius, units), units.letter())
}

/// A difference of temperature with its sign: `+0.3°`, `−1.2°`.
pub fn difference(step: CelsiusStep, units: Units) -> String {
    in_tenths(rounded(units.of_step(step), 1000), "+")
}

/// A rise in °C a minute, in the unit: `+1.2°`.
pub fn slope(celsius_per_minute: f64, units: Units) -> String {
    let here = match units {
        Units::Celsius => celsius_per_minute,
        Units::Fahrenheit => celsius_per_minute * 1.8,
    };
    in_tenths(libm::round(here * 10.0) as i64, "+")
}

fn in_tenths(tenths: i64, plus: &str) -> String {
    let sign = if tenths < 0 { "−" } else { plus };
    let size = tenths.unsigned_abs();
    format!("{sign}{}.{}°", size / 10, size % 10)
}

/// Time to go, for a cell: under 10 min `4:37`, then `26 min`, then `1h23`, then `12 h`.
pub fn cell_left(left: Span) -> Figures {
    let (secs, mins) = (whole_up(left, 1), whole_up(left, MINUTE));
    if secs < 10 * MINUTE {
        Figures::plain(clock(secs))
    } else if mins < 60 {
        Figures { digits: format!("{mins}").into(), unit: "min" }
    } else if mins < 10 * 60 {
        Figures::plain(hours_and_minutes(mins))
    } else {
        Figures { digits: format!("{}", mins.div_ceil(60)).into(), unit: "h" }
    }
}

/// Time to go, for a cell whose frame leaves less room: from an hour on `83 m`, then `2 h`.
pub fn cell_left_framed(left: Span) -> Figures {
    let mins = whole_up(left, MINUTE);
    match mins {
        0..60 => cell_left(left),
        60..100 => Figures { digits: format!("{mins}").into(), unit: "m" },
        _ => Figures { digits: format!("{}", mins.div_ceil(60)).into(), unit: "h" },
    }
}

/// Time over, for a cell: `+35 s`, then `+2 m`, then `+2 h`.
pub fn cell_late(late: Span) -> Figures {
    let secs = late.whole_secs();
    let (count, unit) = if secs < MINUTE {
        (secs, "s")
    } else if secs < 100 * MINUTE {
        (secs / MINUTE, "m")
    } else {
        (secs / HOUR, "h")
    };
    Figures { digits: format!("+{count}").into(), unit }
}

/// A length of time that is over, for lists and records: `20:45`, `1h23`. Rounded down.
pub fn length(span: Span) -> String {
    let secs = span.whole_secs();
    if secs < HOUR { clock(secs) } else { hours_and_minutes(secs / MINUTE) }
}

/// A change of time: `+1 min`, `−20 s`.
pub fn change(millis: i64) -> String {
    let sign = if millis < 0 { "−" } else { "+" };
    let secs = millis.unsigned_abs() / 1000;
    if secs.is_multiple_of(MINUTE) { format!("{sign}{} min", secs / MINUTE) } else { format!("{sign}{secs} s") }
}

/// How far a finish has moved, in whole minutes: as far apart as the two times of day beside it, `6 min`.
pub fn shift(was: RunTime, now: RunTime, clock: Option<DayClock>) -> String {
    let minute = |moment: RunTime| match clock {
        Some(clock) => clock.minute(moment),
        None => DayClock { start: 0 }.minute(moment),
    };
    format!("{} min", minute(now).abs_diff(minute(was)).max(1))
}

/// What turns a moment of the run into a time of day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayClock {
    /// Seconds from midnight to the start of the run; can lie days back.
    start: i64,
}

impl DayClock {
    /// The clock that shows `seconds_of_day` at `now`. Made anew when the wall clock is set or the zone changes.
    pub fn new(now: RunTime, seconds_of_day: u32) -> Self {
        Self { start: i64::from(seconds_of_day) - (now.millis() / 1000) as i64 }
    }

    /// The time of day at a moment, to the nearest minute: `12:47`.
    pub fn at(self, moment: RunTime) -> String {
        let minutes = self.minute(moment).rem_euclid(24 * 60);
        format!("{}:{:02}", minutes / 60, minutes % 60)
    }

    /// The first whole minute that does not begin before a moment.
    pub(crate) fn minute_from(self, moment: RunTime) -> i64 {
        let millis = self.start.saturating_mul(1000).saturating_add(moment.millis() as i64);
        millis.div_euclid(60_000) + i64::from(millis.rem_euclid(60_000) != 0)
    }

    /// The moment at which a minute begins; the start of the run for one before it.
    pub(crate) fn moment(self, minute: i64) -> RunTime {
        let secs = minute.saturating_mul(60).saturating_sub(self.start);
        RunTime::from_start(Span::from_secs(u64::try_from(secs).unwrap_or(0)))
    }

    /// The nearest whole minute since midnight of the day of the start.
    pub(crate) fn minute(self, moment: RunTime) -> i64 {
        let seconds = self.start.saturating_add((moment.millis() / 1000) as i64).saturating_add(30);
        seconds.div_euclid(60)
    }
}

fn clock(secs: u64) -> String {
    format!("{}:{:02}", secs / MINUTE, secs % MINUTE)
}

fn hours_and_minutes(mins: u64) -> String {
    format!("{}h{:02}", mins / 60, mins % 60)
}

fn whole_up(span: Span, unit_secs: u64) -> u64 {
    span.millis().div_ceil(unit_secs * 1000)
}

/// To the nearest whole `unit`, half away from zero.
fn rounded(value: i64, unit: i64) -> i64 {
    (value + value.signum() * unit / 2) / unit
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_finish_moves_by_as_many_minutes_as_lie_between_the_times_shown() {
        let at = |secs: u64| RunTime::from_millis(secs * 1000);
        // 314 s are five minutes or six, as the two times are rounded
        for (begins, was, now, shifted) in
            [(25, "14:54", "15:00", "6 min"), (10, "14:54", "14:59", "5 min"), (35, "14:55", "15:00", "5 min")]
        {
            let clock = DayClock::new(at(0), 14 * 3600 + 54 * 60 + begins);
            assert_eq!((clock.at(at(0)), clock.at(at(314))), (was.into(), now.into()));
            assert_eq!(shift(at(0), at(314), Some(clock)), shifted);
            assert_eq!(shift(at(314), at(0), Some(clock)), shifted);
        }
        assert_eq!(shift(at(2071), at(0), None), "35 min");
    }

    fn secs(secs: u64) -> Span {
        Span::from_secs(secs)
    }

    fn degrees(degrees: f64) -> Celsius {
        Celsius::from_degrees(degrees).unwrap()
    }

    #[test]
    fn time_left_in_the_band_goes_from_minutes_to_hours() {
        for (left, text) in [
            (Span::ZERO, "0:00"),
            (Span::from_millis(1), "0:01"),
            (secs(277), "4:37"),
            (secs(3599), "59:59"),
            (Span::from_millis(3_599_001), "1h00"),
            (secs(3600), "1h00"),
            (secs(4980), "1h23"),
            (secs(4981), "1h24"),
            (secs(35_940), "9h59"),
            (secs(35_941), "10h"),
            (secs(43_200), "12h"),
        ] {
            assert_eq!(band_left(left), text);
        }
    }

    #[test]
    fn time_over_in_the_band_never_claims_more_than_has_passed() {
        for (late, text) in [
            (Span::ZERO, "+0:00"),
            (Span::from_millis(999), "+0:00"),
            (secs(135), "+2:15"),
            (secs(599), "+9:59"),
            (secs(600), "+10m"),
            (secs(779), "+12m"),
            (secs(5999), "+99m"),
            (secs(7200), "+2h"),
        ] {
            assert_eq!(band_late(late), text);
        }
    }

    #[test]
    fn temperatures_drop_their_tenth_where_they_grow_long() {
        for (value, text) in [
            (64.2, "64.2°"),
            (0.04, "0.0°"),
            (-0.36, "−0.4°"),
            (99.94, "99.9°"),
            (99.96, "100°"),
            (165.4, "165°"),
            (-9.0, "−9.0°"),
            (-9.06, "−9°"),
            (-18.0, "−18°"),
        ] {
            assert_eq!(band_temperature(degrees(value), Units::Celsius), text);
        }
        assert_eq!(whole_degrees(degrees(63.5), Units::Celsius), "64°");
        assert_eq!(whole_degrees(degrees(-0.2), Units::Celsius), "0°");
    }

    /// Fixed points of the two scales: 0 °C = 32 °F, 100 °C = 212 °F, and they meet at -40.
    #[test]
    fn degrees_fahrenheit_follow_the_fixed_points_of_both_scales() {
        for (value, text) in
            [(0.0, "32.0°"), (100.0, "212°"), (-40.0, "−40°"), (-17.8, "0.0°"), (37.7, "99.9°"), (63.0, "145°")]
        {
            assert_eq!(band_temperature(degrees(value), Units::Fahrenheit), text, "{value} °C");
        }
        assert_eq!(with_unit(degrees(165.0), Units::Fahrenheit), "329°F");
        assert_eq!(slope(1.24, Units::Celsius), "+1.2°");
        assert_eq!(slope(-1.24, Units::Fahrenheit), "−2.2°");
        let step = CelsiusStep::from_degrees(-0.5).unwrap();
        assert_eq!(
            (difference(step, Units::Celsius), difference(step, Units::Fahrenheit)),
            ("−0.5°".into(), "−0.9°".into())
        );
    }

    #[test]
    fn a_time_that_is_about_right_has_no_seconds_and_is_never_nought() {
        for (left, band, words) in [
            (0, "1m", "1 min"),
            (61, "2m", "2 min"),
            (540, "9m", "9 min"),
            (3540, "59m", "59 min"),
            (3541, "60m", "60 min"),
            (5940, "99m", "99 min"),
            (5941, "1h40", "1h40"),
        ] {
            assert_eq!((band_about(secs(left)).as_str(), about(secs(left)).as_str()), (band, words), "{left} s");
        }
    }

    #[test]
    fn from_when_to_when_leaves_out_no_second_of_it() {
        assert_eq!(about_from_to(secs(7 * 60 + 59), secs(11 * 60 + 1)), ["7", "12 min"]);
        assert_eq!(about_from_to(secs(7 * 60), secs(12 * 60)), ["7", "12 min"]);
        assert_eq!(about_from_to(secs(10), secs(20)), ["0", "1 min"]);
        assert_eq!(about_from_to(secs(65 * 60), secs(130 * 60)), ["1h05", "2h10"]);
    }

    #[test]
    fn a_core_below_what_it_has_to_come_to_is_never_rounded_up_to_it() {
        assert_eq!(tenths_reached(degrees(62.99), Units::Celsius), "62.9°");
        assert_eq!(degrees_reached(degrees(62.99), Units::Celsius), "62°");
        assert_eq!(
            (tenths_reached(degrees(63.0), Units::Celsius), degrees_reached(degrees(63.0), Units::Celsius)),
            ("63.0°".into(), "63°".into())
        );
        // 63 °C is 145.4 °F
        assert_eq!(tenths_reached(degrees(62.7), Units::Fahrenheit), "144°");
        assert_eq!(degrees_reached(degrees(-0.2), Units::Celsius), "−1°");
    }

    #[test]
    fn from_which_temperature_to_which_follows_the_unit() {
        let (low, high) = (degrees(64.9), degrees(67.5));
        assert_eq!(degrees_from_to(low, high, Units::Celsius), ["64.9", "67.5"]);
        assert_eq!(degrees_from_to(low, high, Units::Fahrenheit), ["149", "154"]);
    }

    #[test]
    fn a_reading_tells_its_age_in_seconds_first() {
        assert_eq!(
            (age(secs(6)), age(secs(99)), age(secs(100)), age(secs(125))),
            ("6 s".into(), "99 s".into(), "1 min".into(), "2 min".into())
        );
    }

    #[test]
    fn cell_figures_follow_the_table() {
        for (left, text, unit) in [
            (277, "4:37", ""),
            (599, "9:59", ""),
            (600, "10", "min"),
            (1501, "26", "min"),
            (3540, "59", "min"),
            (3541, "1h00", ""),
            (4980, "1h23", ""),
        ] {
            assert_eq!(cell_left(secs(left)), Figures { digits: text.into(), unit });
        }
        for (late, text, unit) in
            [(35, "+35", "s"), (60, "+1", "m"), (135, "+2", "m"), (720, "+12", "m"), (7300, "+2", "h")]
        {
            assert_eq!(cell_late(secs(late)), Figures { digits: text.into(), unit });
        }
    }

    #[test]
    fn strip_figures_have_at_most_five_characters() {
        for step in 0..4000 {
            let span = secs(step * 23);
            assert!(cell_left(span).short().full().chars().count() <= 5, "{span:?}");
            assert!(cell_late(span).short().full().chars().count() <= 5, "{span:?}");
        }
        assert_eq!(cell_left(secs(720)).short().full(), "12m");
    }

    #[test]
    fn band_figures_fit_beside_the_badge_at_their_full_size() {
        for step in 0..4000 {
            let span = secs(step * 23);
            // a late band has the hatch as well: 68 px for it and the badge, 4 px at the right edge
            assert!(face::width(face::Size::Xxl, &band_left(span)) <= 320 - 58 - 4, "{}", band_left(span));
            assert!(face::width(face::Size::Xxl, &band_late(span)) <= 320 - 68 - 4, "{}", band_late(span));
        }
        for tenths in -400..3000 {
            for units in Units::ALL {
                let text = band_temperature(degrees(f64::from(tenths) / 10.0), units);
                assert!(face::width(face::Size::Xxl, &text) <= 320 - 68 - 4, "{text}");
            }
        }
    }

    #[test]
    fn time_of_day_goes_round_at_midnight_and_never_stops_before_the_run() {
        let clock = DayClock::new(RunTime::from_millis(3_600_000), 23 * 3600 + 30 * 60);
        assert_eq!(clock.at(RunTime::from_millis(3_600_000)), "23:30");
        assert_eq!(clock.at(RunTime::from_millis(3_600_000 + 45 * 60_000)), "0:15");
        assert_eq!(clock.at(RunTime::START), "22:30");
    }

    #[test]
    fn changes_of_time_carry_their_sign() {
        assert_eq!(change(60_000), "+1 min");
        assert_eq!(change(-20_000), "−20 s");
    }
}
