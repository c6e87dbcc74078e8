//! Reading quantities as people write them in recipes.
//!
//! A number without a unit is refused, never guessed. Decimal point and decimal comma are both read, and so are no-break
//! and thin spaces, every usual dash, fractions (`1 1/2`, `½`) and, for durations, ISO 8601. Every function promises: no
//! panic on any text, and a [`ReadError`] that names the bytes at fault and says what to write instead.

use alloc::{format, string::String};

use crate::{
    Celsius, CelsiusStep, Fault, GAS_MARKS, Kind, Mass, Power, Range, ReadError, Span, Unit, Volume, Written, convert,
    print::decimal,
    scan::{Part, Scan},
    time::read_iso,
};

/// Reads one duration: `12 min 30 s`, `PT12M30S`, `1.5 h`, `2 days`.
///
/// # Errors
/// See [`ReadError`]; a negative one and `12:30` are refused.
pub fn span(text: &str) -> Result<Written<Span>, ReadError> {
    one(text, Kind::Time, span_range)
}

/// Reads one duration or a range of them: `45-60 min`, `45 to 60 min`, `45 min - 1 h`, `PT45M/PT60M`.
///
/// # Errors
/// See [`ReadError`].
pub fn span_range(text: &str) -> Result<Written<Range<Span>>, ReadError> {
    if let Some(read) = iso_range(text) {
        return read;
    }
    range(text, Kind::Time, false, |part| {
        (part.number <= Span::LONGEST.millis() as f64).then(|| Span::from_millis(libm::round(part.number) as u64))
    })
}

/// Reads one temperature: `74 °C`, `165F`, `gas 4`.
///
/// # Errors
/// See [`ReadError`].
pub fn temperature(text: &str) -> Result<Written<Celsius>, ReadError> {
    one(text, Kind::Temperature, temperature_range)
}

/// Reads one temperature or a range of them: `60-65 °C`, `gas 4-5`.
///
/// # Errors
/// See [`ReadError`].
pub fn temperature_range(text: &str) -> Result<Written<Range<Celsius>>, ReadError> {
    let mut scan = Scan::new(text, Kind::Temperature);
    scan.spaces();
    if scan.take("gas") {
        return gas_range(scan);
    }
    range(text, Kind::Temperature, false, |part| match part.unit {
        Some(Unit::Fahrenheit) => Celsius::from_degrees(convert::fahrenheit_to_celsius(part.number)),
        _ => Celsius::from_degrees(part.number),
    })
}

/// Reads a difference of temperatures: `0.5 °C`, `1 °F`, `2 K`.
///
/// # Errors
/// See [`ReadError`].
pub fn temperature_step(text: &str) -> Result<Written<CelsiusStep>, ReadError> {
    let of = |part: &Part| CelsiusStep::from_degrees(part.number * part.unit.map_or(1.0, Unit::size));
    range(text, Kind::Temperature, true, of).and_then(|read| only(text, Kind::Temperature, read))
}

/// Reads a mass: `900 g`, `1.2 kg`, `1 lb 4 oz`. A sign `±` in front is passed over.
///
/// # Errors
/// See [`ReadError`].
pub fn mass(text: &str) -> Result<Written<Mass>, ReadError> {
    let bare = text.trim_start_matches(|c: char| c == '±' || c.is_whitespace());
    let skipped = text.len() - bare.len();
    range(bare, Kind::Mass, false, |part| Mass::from_units(part.number))
        .and_then(|read| only(bare, Kind::Mass, read))
        .map_err(|mut error| {
            error.at = error.at.start + skipped..error.at.end + skipped;
            error
        })
}

/// Reads a volume: `250 ml`, `2 tbsp`, `1/2 US cup`. A plain `cup` is the US one, a plain spoon the metric one; a plain
/// `fl oz` is refused.
///
/// # Errors
/// See [`ReadError`].
pub fn volume(text: &str) -> Result<Written<Volume>, ReadError> {
    range(text, Kind::Volume, false, |part| Volume::from_units(part.number))
        .and_then(|read| only(text, Kind::Volume, read))
}

/// Reads a power: `700 W`, `1.2 kW`.
///
/// # Errors
/// See [`ReadError`].
pub fn power(text: &str) -> Result<Written<Power>, ReadError> {
    range(text, Kind::Power, false, |part| Power::from_units(part.number))
        .and_then(|read| only(text, Kind::Power, read))
}

/// Reads a share in thousandths of the whole: `3 %` is 30. A sign `±` in front is passed over.
///
/// # Errors
/// See [`ReadError`]; over 6553 % is refused.
pub fn share(text: &str) -> Result<Written<u16>, ReadError> {
    let bare = text.trim_start_matches(|c: char| c == '±' || c.is_whitespace());
    let skipped = text.len() - bare.len();
    let of = |part: &Part| (part.number <= f64::from(u16::MAX)).then(|| libm::round(part.number) as u16);
    range(bare, Kind::Share, false, of).and_then(|read| only(bare, Kind::Share, read)).map_err(|mut error| {
        error.at = error.at.start + skipped..error.at.end + skipped;
        error
    })
}

/// One value where `read` also takes ranges.
fn one<T: Copy + Ord>(
    text: &str,
    kind: Kind,
    read: fn(&str) -> Result<Written<Range<T>>, ReadError>,
) -> Result<Written<T>, ReadError> {
    read(text).and_then(|found| only(text, kind, found))
}

fn only<T: Copy + Ord>(text: &str, kind: Kind, read: Written<Range<T>>) -> Result<Written<T>, ReadError> {
    if read.value.is_exact() {
        return Ok(Written { value: read.value.low(), unit: read.unit });
    }
    let scan = Scan::new(text, kind);
    Err(scan.error(Fault::Range, 0..text.len(), String::from("write one value")))
}

/// One value or two with a dash between them; a low end without a unit takes that of the high end.
fn range<T: Copy + Ord>(
    text: &str,
    kind: Kind,
    step: bool,
    value: impl Fn(&Part) -> Option<T>,
) -> Result<Written<Range<T>>, ReadError> {
    let mut scan = Scan::new(text, kind);
    scan.step = step;
    if scan.is_at_end() {
        return Err(scan.error(Fault::Empty, 0..text.len(), scan.example()));
    }
    let mut low = sum(&mut scan)?;
    let mut high = None;
    if scan.dash() {
        let read = sum(&mut scan)?;
        low.unit = low.unit.or(read.unit);
        high = Some(read);
    }
    if !scan.is_at_end() {
        let rest = scan.at()..text.len();
        return Err(scan.error(Fault::LeftOver, rest, scan.example()));
    }
    let ends = [Some(&low), high.as_ref()];
    for end in ends.into_iter().flatten() {
        if end.unit.is_none() {
            return Err(no_unit(&scan, end));
        }
    }
    let base = |part: &Part| {
        let mut part = part.clone();
        if kind != Kind::Temperature {
            part.number *= part.unit.map_or(1.0, Unit::size);
        }
        value(&part).ok_or_else(|| {
            let help = match kind {
                Kind::Temperature => String::from("temperatures go from -273.15 °C to 2000 °C"),
                Kind::Time | Kind::Mass | Kind::Volume | Kind::Power | Kind::Share => {
                    String::from("check the number and its unit")
                }
            };
            scan.error(Fault::TooLarge, part.at.clone(), help)
        })
    };
    let unit = low.unit.unwrap_or(Unit::Second);
    let low_value = base(&low)?;
    let high_value = high.as_ref().map_or(Ok(low_value), base)?;
    let value = Range::new(low_value, high_value).ok_or_else(|| {
        let help = match &high {
            // `45 - 1 h` reads as 45 h
            Some(high) if scan.text()[low.at.clone()].ends_with(|c: char| c.is_ascii_digit()) => {
                let (low, high) = (decimal(low.number, 3), decimal(high.number, 3));
                format!("write {high} - {low} {unit}, or give the first number its own unit")
            }
            Some(high) => format!("write {} - {}", &text[high.at.clone()], &text[low.at.clone()]),
            None => String::from("write the low end first"),
        };
        scan.error(Fault::EndsSwapped, 0..text.len(), help)
    })?;
    Ok(Written { value, unit })
}

/// `1 h 15 min`, `1 lb 4 oz`: parts with smaller and smaller units, given in the first one.
fn sum(scan: &mut Scan<'_>) -> Result<Part, ReadError> {
    let first = scan.part()?;
    let Some(unit) = first.unit else {
        return Ok(first);
    };
    let mut total = first.clone();
    let mut smallest = unit;
    while matches!(unit.kind(), Kind::Time | Kind::Mass) {
        scan.spaces();
        let _ = scan.take(",");
        scan.spaces();
        let _ = scan.take("and ");
        scan.spaces();
        if !scan.rest().starts_with(|c: char| c.is_ascii_digit()) {
            break;
        }
        let part = scan.part()?;
        let Some(small) = part.unit else {
            return Err(no_unit(scan, &part));
        };
        if small.size() >= smallest.size() {
            let help = format!("write the larger unit first and each unit once; {small} cannot follow {smallest}");
            return Err(scan.error(Fault::LeftOver, part.at, help));
        }
        smallest = small;
        total.number += part.number * (small.size() / unit.size());
        total.at.end = part.at.end;
    }
    Ok(total)
}

fn no_unit(scan: &Scan<'_>, part: &Part) -> ReadError {
    let number = scan.text()[part.at.clone()].trim();
    let help = match scan.kind() {
        Kind::Time => format!("write {number} s or {number} min"),
        Kind::Temperature => format!("write {number} °C or {number} °F"),
        Kind::Mass => format!("write {number} g or {number} kg"),
        Kind::Volume => format!("write {number} ml or {number} l"),
        Kind::Power => format!("write {number} W"),
        Kind::Share => format!("write {number} %"),
    };
    scan.error(Fault::NoUnit, part.at.clone(), help)
}

/// `PT12M30S`, `PT45M/PT60M`; nothing if the text does not look like ISO 8601.
fn iso_range(text: &str) -> Option<Result<Written<Range<Span>>, ReadError>> {
    let bare = text.trim();
    let unsigned = bare.strip_prefix('-').unwrap_or(bare);
    if !unsigned.starts_with('P') || !unsigned[1..].starts_with(|c: char| c == 'T' || c.is_ascii_digit()) {
        return None;
    }
    let scan = Scan::new(text, Kind::Time);
    let whole = 0..text.len();
    if bare.starts_with('-') {
        return Some(Err(scan.error(Fault::Negative, whole, String::from("write a duration of zero or more"))));
    }
    let (low, high) = bare.split_once('/').unwrap_or((bare, bare));
    let read = |iso: &str| read_iso(iso).map(|(millis, _)| Span::from_millis(millis));
    let (Some(low), Some(high)) = (read(low), read(high)) else {
        let help = String::from("ISO 8601 durations have whole days, hours and minutes: PT12M30S, P1DT2H");
        return Some(Err(scan.error(Fault::NoNumber, whole, help)));
    };
    if low > Span::LONGEST || high > Span::LONGEST {
        return Some(Err(scan.error(Fault::TooLarge, whole, String::from("check the number and its unit"))));
    }
    Some(match Range::new(low, high) {
        Some(value) => Ok(Written { value, unit: Unit::Minute }),
        None => Err(scan.error(Fault::EndsSwapped, whole, String::from("write the low end first"))),
    })
}

/// `4`, `mark 1/2`, `4-5` after the word `gas`.
fn gas_range(mut scan: Scan<'_>) -> Result<Written<Range<Celsius>>, ReadError> {
    scan.spaces();
    let _ = scan.take("mark");
    let low = gas_mark(&mut scan)?;
    let high = if scan.dash() { gas_mark(&mut scan)? } else { low };
    if !scan.is_at_end() {
        let rest = scan.at()..scan.text().len();
        return Err(scan.error(Fault::LeftOver, rest, String::from("write it like gas 4")));
    }
    let whole = 0..scan.text().len();
    let swapped = || scan.error(Fault::EndsSwapped, whole, String::from("write the low mark first"));
    Range::new(low, high).map(|value| Written { value, unit: Unit::GasMark }).ok_or_else(swapped)
}

fn gas_mark(scan: &mut Scan<'_>) -> Result<Celsius, ReadError> {
    let part = scan.part()?;
    let quarters = part.number * 4.0;
    let known = GAS_MARKS.iter().find(|mark| part.unit.is_none() && f64::from(mark.quarters) == quarters);
    known.map(|mark| Celsius::whole(mark.celsius)).ok_or_else(|| {
        scan.error(
            Fault::UnknownMark,
            part.at.clone(),
            String::from("gas marks are 1/4, 1/2 and 1 to 9; write °C for anything else"),
        )
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use alloc::string::ToString;

    use super::*;

    fn secs(text: &str) -> u64 {
        span(text).unwrap_or_else(|e| panic!("{text}: {e}")).value.millis() / 1000
    }

    fn degrees(text: &str) -> f64 {
        temperature(text).unwrap_or_else(|e| panic!("{text}: {e}")).value.degrees()
    }

    #[test]
    fn durations_are_read_in_every_usual_form() {
        for (text, expected) in [
            ("12 min 30 s", 750),
            ("PT12M30S", 750),
            ("1 h 15 min", 4500),
            ("1h15min", 4500),
            ("90 s", 90),
            ("2 days", 172_800),
            ("P1DT2H", 93_600),
            ("1.5 h", 5400),
            ("12,5 min", 750),
            ("1 hour and 15 minutes", 4500),
            ("1\u{202f}h 15\u{a0}min", 4500),
            ("1 1/2 h", 5400),
            ("½ h", 1800),
            ("  90 SEC ", 90),
        ] {
            assert_eq!(secs(text), expected, "{text}");
        }
        assert_eq!(span("PT0.25S").unwrap().value.millis(), 250);
    }

    #[test]
    fn ranges_take_the_unit_from_the_high_end() {
        for text in [
            "45-60 min",
            "45 to 60 min",
            "45 – 60 min",
            "45\u{2212}60min",
            "45 min - 60 min",
            "45 min - 1 h",
            "PT45M/PT60M",
        ] {
            let read = span_range(text).unwrap_or_else(|e| panic!("{text}: {e}")).value;
            assert_eq!((read.low(), read.high()), (Span::from_mins(45), Span::from_mins(60)), "{text}");
        }
        assert!(span_range("12 min").unwrap().value.is_exact());
    }

    #[test]
    fn temperatures_are_read_in_three_scales() {
        for (text, expected) in [
            ("74 °C", 74.0),
            ("74C", 74.0),
            ("62,5 °C", 62.5),
            ("165 °F", 73.8889),
            ("165F", 73.8889),
            ("212 degrees F", 100.0),
            ("-18 °C", -18.0),
            ("\u{2212}18 °C", -18.0),
            ("gas 4", 180.0),
            ("gas mark 1/2", 130.0),
            ("Gas ½", 130.0),
            ("20 ℃", 20.0),
        ] {
            assert_eq!(degrees(text), expected, "{text}");
        }
        let range = temperature_range("60-65 °C").unwrap().value;
        assert_eq!((range.low().degrees(), range.high().degrees()), (60.0, 65.0));
        assert_eq!(temperature_range("gas 4-5").unwrap().value.high().degrees(), 190.0);
        assert_eq!(temperature_range("-20 to -18 °C").unwrap().value.low().degrees(), -20.0);
    }

    #[test]
    fn a_difference_of_degrees_has_no_zero_point() {
        assert_eq!(temperature_step("9 °F").unwrap().value, CelsiusStep::whole(5));
        assert_eq!(temperature_step("0.5 K").unwrap().value.degrees(), 0.5);
        assert_eq!(temperature_step("5 °C").unwrap().value, CelsiusStep::whole(5));
    }

    #[test]
    fn masses_volumes_powers_and_shares_are_read() {
        assert_eq!(mass("900 g").unwrap().value, Mass::whole(900));
        assert_eq!(mass("±5 g").unwrap().value, Mass::whole(5));
        assert_eq!(mass("1 lb 4 oz").unwrap().value.smallest(), 566_990_463);
        assert_eq!(mass("0,125 kg").unwrap().value, Mass::whole(125));
        assert_eq!(volume("1 cup").unwrap().value.smallest(), 236_588_237);
        assert_eq!(volume("1 metric cup").unwrap().value, Volume::whole(250));
        assert_eq!(volume("2 tbsp").unwrap().value, Volume::whole(30));
        assert_eq!(volume("1 imp fl oz").unwrap().value.smallest(), 28_413_063);
        assert_eq!(volume("2.5 dl").unwrap().value, Volume::whole(250));
        assert_eq!(power("1.2 kW").unwrap().value, Power::whole(1200));
        assert_eq!(share("3 %").unwrap().value, 30);
        assert_eq!(share("±2,5%").unwrap().value, 25);
    }

    #[track_caller]
    fn refuses<T: core::fmt::Debug>(read: Result<T, ReadError>, fault: Fault, at: core::ops::Range<usize>, help: &str) {
        let error = read.unwrap_err();
        assert_eq!((error.fault, error.at.clone()), (fault, at), "{error:?}");
        assert!(error.help.contains(help), "{:?} lacks {help:?}", error.help);
    }

    #[test]
    fn what_can_be_two_things_is_refused_with_both() {
        refuses(span("12:30"), Fault::ClockTime, 0..5, "12 min 30 s or 12 h 30 min");
        refuses(span("90"), Fault::NoUnit, 0..2, "90 s or 90 min");
        refuses(span_range("45-60"), Fault::NoUnit, 0..2, "45 s or 45 min");
        refuses(span("5 m"), Fault::Ambiguous, 2..3, "min");
        refuses(mass("1,000 g"), Fault::Thousands, 0..5, "1000 without the comma, or 1.000");
        refuses(volume("8 fl oz"), Fault::Ambiguous, 2..7, "imp fl oz");
        refuses(temperature("74°"), Fault::Ambiguous, 2..4, "°C or °F");
    }

    #[test]
    fn a_sign_where_a_number_must_stand_is_named() {
        for (text, sign) in [("７４ °C", "７"), ("+5 min", "+"), ("∞ min", "∞")] {
            assert_eq!(span(text).unwrap_err().found, sign, "{text}");
        }
    }

    #[test]
    fn what_is_wrong_is_pointed_at() {
        refuses(span("-5 min"), Fault::Negative, 0..6, "zero or more");
        refuses(span("-PT5M"), Fault::Negative, 0..5, "zero or more");
        refuses(span("12 mins 30 sx"), Fault::UnknownUnit, 11..13, "90 s");
        refuses(span("30 s 12 min"), Fault::LeftOver, 5..11, "larger unit first");
        refuses(span("1 h 15"), Fault::NoUnit, 4..6, "15 min");
        refuses(span_range("60-45 min"), Fault::EndsSwapped, 0..9, "45 - 60 min");
        refuses(span("45-60 min"), Fault::Range, 0..9, "one value");
        refuses(span("74 °C"), Fault::WrongKind { found: Kind::Temperature }, 3..6, "12 min 30 s");
        refuses(span(""), Fault::Empty, 0..0, "12 min 30 s");
        refuses(span("soon"), Fault::NoNumber, 0..4, "12 min 30 s");
        refuses(span("P2M"), Fault::NoNumber, 0..3, "PT12M30S");
        refuses(span("99999999 days"), Fault::TooLarge, 0..13, "unit");
        refuses(temperature("-300 °C"), Fault::TooLarge, 0..8, "-273.15");
        refuses(temperature("gas 12"), Fault::UnknownMark, 4..6, "1/4");
        refuses(mass("± 5 min"), Fault::WrongKind { found: Kind::Time }, 5..8, "900 g");
        refuses(mass("5 g of salt"), Fault::LeftOver, 4..11, "900 g");
    }

    proptest::proptest! {
        #[test]
        fn no_text_makes_the_readers_panic(text in "\\PC{0,40}") {
            let _ = (span_range(&text), temperature_range(&text), mass(&text), volume(&text), power(&text), share(&text), temperature_step(&text));
        }

        #[test]
        fn near_misses_point_inside_the_text(text in "[-–0-9.,:/ ½°a-zCFPTMSWkg%±]{0,16}") {
            for error in [span_range(&text).err(), temperature_range(&text).err(), mass(&text).err(), share(&text).err()].into_iter().flatten() {
                assert!(text.get(error.at.clone()).is_some(), "{text:?} {error:?}");
                assert!(!error.help.is_empty() && !error.to_string().is_empty());
            }
        }

        #[test]
        fn a_printed_duration_reads_back(millis in 0u64..10_000_000_000) {
            let written = Span::from_millis(millis);
            assert_eq!(span(&written.to_string()).unwrap().value, written);
        }

        #[test]
        fn a_printed_range_reads_back(low in 0u64..100_000, more in 0u64..100_000) {
            let written = Range::new(Span::from_secs(low), Span::from_secs(low + more)).unwrap();
            assert_eq!(span_range(&written.to_string()).unwrap().value, written, "{written}");
        }

        #[test]
        fn a_fahrenheit_value_prints_as_it_was_written(tenths in -1000i32..6000) {
            let text = alloc::format!("{} °F", crate::print::decimal(f64::from(tenths) / 10.0, 1));
            assert_eq!(temperature(&text).unwrap().to_string(), text);
        }
    }
}
