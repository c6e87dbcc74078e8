//! Printing quantities for people, and in either unit world.
//!
//! `Display` of the types prints metric: `12 min 30 s`, `74 °C`, `900 g`. [`Written`] prints in the unit that the
//! writer used. Numbers are rounded to three decimals and trailing zeros are dropped.

use alloc::{format, string::String};
use core::fmt;

use crate::{
    Celsius, CelsiusStep, Drift, GAS_MARKS, Kind, Mass, Power, Range, RunTime, Span, Unit, Volume, Written, convert,
};

/// The unit world of a reader.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum World {
    /// °C, grams, millilitres.
    Metric,
    /// °F, ounces, US cups and spoons.
    Us,
}

/// A number without trailing zeros and without a minus before zero.
pub fn decimal(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    String::from(if text == "-0" { "0" } else { text })
}

/// A temperature in the unit of a world: `74 °C` or `165 °F`, at most `places` decimals.
pub fn temperature(value: Celsius, world: World, places: usize) -> String {
    match world {
        World::Metric => format!("{} °C", decimal(value.degrees(), places)),
        World::Us => format!("{} °F", decimal(convert::celsius_to_fahrenheit(value.degrees()), places)),
    }
}

/// A temperature in one world with the other in brackets, whole degrees there: `74 °C (165 °F)`.
pub fn temperature_both(value: Celsius, first: World) -> String {
    let second = match first {
        World::Metric => World::Us,
        World::Us => World::Metric,
    };
    format!("{} ({})", temperature(value, first, 1), temperature(value, second, 0))
}

/// A mass in one world with the other in brackets: `900 g (31.7 oz)`.
pub fn mass_both(value: Mass, first: World) -> String {
    let metric = format!("{value}");
    let us = format!("{} oz", decimal(value.units() / Unit::Ounce.size(), 1));
    match first {
        World::Metric => format!("{metric} ({us})"),
        World::Us => format!("{us} ({metric})"),
    }
}

/// A volume in one world with the other in brackets: `250 ml (8.5 US fl oz)`.
pub fn volume_both(value: Volume, first: World) -> String {
    let metric = format!("{value}");
    let us = format!("{} US fl oz", decimal(value.units() / Unit::UsFluidOunce.size(), 1));
    match first {
        World::Metric => format!("{metric} ({us})"),
        World::Us => format!("{us} ({metric})"),
    }
}

/// A range of durations; one unit is said once: `45-60 min`, `45 min - 1 h 15 min`.
pub fn span_range(range: Range<Span>) -> String {
    let (low, high) = (range.low(), range.high());
    if range.is_exact() {
        return format!("{low}");
    }
    for unit in [Unit::Hour, Unit::Minute, Unit::Second] {
        let size = unit.size() as u64;
        if low.millis() % size == 0 && high.millis() % size == 0 && high.millis() / size < 100 {
            return format!("{}-{} {unit}", low.millis() / size, high.millis() / size);
        }
    }
    format!("{low} - {high}")
}

/// `12 min 30 s`, `1 day 2 h`, `0.5 s`, `0 s`.
impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let secs = self.whole_secs();
        let (days, hours, mins) = (secs / 86_400, secs / 3600 % 24, secs / 60 % 60);
        let rest = (self.millis() % 60_000) as f64 / 1000.0;
        let mut gap = "";
        for (number, word) in [(days, if days == 1 { "day" } else { "days" }), (hours, "h"), (mins, "min")] {
            if number > 0 {
                write!(f, "{gap}{number} {word}")?;
                gap = " ";
            }
        }
        if rest > 0.0 || gap.is_empty() {
            write!(f, "{gap}{} s", decimal(rest, 3))?;
        }
        Ok(())
    }
}

impl fmt::Display for Drift {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", if self.is_early() { "-" } else { "+" }, self.size())
    }
}

impl fmt::Display for RunTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.since_start().fmt(f)
    }
}

impl fmt::Display for Range<Span> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&span_range(*self))
    }
}

impl fmt::Display for Celsius {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&temperature(*self, World::Metric, 3))
    }
}

impl fmt::Display for CelsiusStep {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} °C", decimal(self.degrees(), 3))
    }
}

impl fmt::Display for Mass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g", decimal(self.units(), 3))
    }
}

impl fmt::Display for Volume {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ml", decimal(self.units(), 3))
    }
}

impl fmt::Display for Power {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} W", decimal(self.units(), 3))
    }
}

/// In the unit that the writer used.
impl fmt::Display for Written<Celsius> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mark = GAS_MARKS.iter().find(|mark| Celsius::whole(mark.celsius) == self.value);
        match (self.unit, mark) {
            (Unit::GasMark, Some(mark)) => write!(f, "gas {}", mark.mark),
            (Unit::Fahrenheit, _) => f.write_str(&temperature(self.value, World::Us, 3)),
            _ => self.value.fmt(f),
        }
    }
}

impl Written<Celsius> {
    /// The world of the unit that it was written in.
    pub fn world(&self) -> World {
        if self.unit == Unit::Fahrenheit { World::Us } else { World::Metric }
    }
}

/// In the unit that the writer used, unless that needs decimals: `90 s`, `90 min`, but `1 min 30 s` for `1.5 min`.
impl fmt::Display for Written<Span> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let size = self.unit.size() as u64;
        let whole = self.unit.kind() == Kind::Time && self.value.millis().is_multiple_of(size);
        if whole { write!(f, "{} {}", self.value.millis() / size, self.unit) } else { self.value.fmt(f) }
    }
}

macro_rules! written {
    ($($name:ident)*) => {$(
        /// In the unit that the writer used.
        impl fmt::Display for Written<$name> {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", decimal(self.value.units() / self.unit.size(), 3), self.unit)
            }
        }
    )*};
}
written!(Mass Volume Power);

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use alloc::string::ToString;

    use super::*;
    use crate::parse;

    #[test]
    fn the_unit_the_writer_used_is_kept() {
        for text in ["74 °C", "165 °F", "gas 4", "gas 1/2", "62.5 °C"] {
            assert_eq!(parse::temperature(text).unwrap().to_string(), text);
        }
        for text in ["90 s", "90 min", "2 d"] {
            assert_eq!(parse::span(text).unwrap().to_string(), text);
        }
        assert_eq!(parse::span("1.5 min").unwrap().to_string(), "1 min 30 s");
        assert_eq!(parse::mass("8 oz").unwrap().to_string(), "8 oz");
        assert_eq!(parse::mass("1.2 kg").unwrap().to_string(), "1.2 kg");
        assert_eq!(parse::volume("1/2 US cup").unwrap().to_string(), "0.5 US cup");
        assert_eq!(parse::power("1.2 kW").unwrap().to_string(), "1.2 kW");
    }

    #[test]
    fn either_world_comes_first() {
        let core = Celsius::whole(74);
        assert_eq!(temperature_both(core, World::Metric), "74 °C (165 °F)");
        assert_eq!(temperature_both(core, World::Us), "165.2 °F (74 °C)");
        assert_eq!(mass_both(Mass::whole(900), World::Metric), "900 g (31.7 oz)");
        assert_eq!(volume_both(Volume::whole(250), World::Us), "8.5 US fl oz (250 ml)");
    }

    #[test]
    fn durations_print_without_empty_parts() {
        for (millis, text) in [
            (0, "0 s"),
            (250, "0.25 s"),
            (750_000, "12 min 30 s"),
            (4_500_000, "1 h 15 min"),
            (93_600_000, "1 day 2 h"),
            (172_800_000, "2 days"),
        ] {
            assert_eq!(Span::from_millis(millis).to_string(), text);
        }
        assert_eq!(Drift::from_millis(-30_000).to_string(), "-30 s");
    }

    #[test]
    fn a_range_says_a_common_unit_once() {
        let range = |low, high| Range::new(Span::from_secs(low), Span::from_secs(high)).unwrap().to_string();
        assert_eq!(range(2700, 3600), "45-60 min");
        assert_eq!(range(30, 45), "30-45 s");
        assert_eq!(range(7200, 10_800), "2-3 h");
        assert_eq!(range(2730, 3600), "45 min 30 s - 1 h");
        assert_eq!(range(60, 60), "1 min");
    }
}
