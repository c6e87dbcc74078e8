use core::ops::{Add, AddAssign, Div, Mul, Sub};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

/// A length of time, never negative, in milliseconds.
///
/// Serialized as an ISO 8601 duration: `"PT12M30S"`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span(u64);

/// A moment of the run: the length of time since the station's run began, counted through power cuts and suspends.
///
/// Never mixed with the time of day. Serialized as an ISO 8601 duration since the start.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RunTime(Span);

/// How far one moment lies after another (positive) or before it (negative), in milliseconds.
///
/// Serialized as an ISO 8601 duration with a sign in front where it is negative.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Drift(i64);

impl Span {
    /// No time.
    pub const ZERO: Self = Self(0);
    /// The longest span that is read or kept: about 285 years, so that sums of two never overflow.
    pub const LONGEST: Self = Self(9_000_000_000_000);

    /// From milliseconds.
    pub const fn from_millis(millis: u64) -> Self {
        Self(millis)
    }

    /// From seconds.
    pub const fn from_secs(secs: u64) -> Self {
        Self(secs * 1000)
    }

    /// From minutes.
    pub const fn from_mins(mins: u64) -> Self {
        Self(mins * 60_000)
    }

    /// In milliseconds.
    pub const fn millis(self) -> u64 {
        self.0
    }

    /// In whole seconds, rounded down.
    pub const fn whole_secs(self) -> u64 {
        self.0 / 1000
    }

    /// In seconds; for maths and drawing.
    pub fn secs(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// The difference, or nothing left.
    pub const fn saturating_sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }

    /// This share of the span, in thousandths, rounded down.
    pub const fn thousandths(self, share: u64) -> Self {
        Self((self.0 as u128 * share as u128 / 1000) as u64)
    }

    /// Whether it is no time at all.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

impl RunTime {
    /// The start of the run.
    pub const START: Self = Self(Span::ZERO);
    /// Later than any moment that can come.
    pub const NEVER: Self = Self(Span(u64::MAX));

    /// From the time since the start.
    pub const fn from_start(span: Span) -> Self {
        Self(span)
    }

    /// From milliseconds since the start.
    pub const fn from_millis(millis: u64) -> Self {
        Self(Span(millis))
    }

    /// The time since the start.
    pub const fn since_start(self) -> Span {
        self.0
    }

    /// Milliseconds since the start.
    pub const fn millis(self) -> u64 {
        self.0.0
    }

    /// The time from `earlier` to this moment; nothing if `earlier` is later.
    pub const fn since(self, earlier: Self) -> Span {
        self.0.saturating_sub(earlier.0)
    }

    /// How far this moment lies after `other`; negative if before.
    pub fn drift_from(self, other: Self) -> Drift {
        Drift(i64::try_from(i128::from(self.millis()) - i128::from(other.millis())).unwrap_or(i64::MAX))
    }

    /// Earlier by `span`, not before the start.
    pub const fn earlier(self, span: Span) -> Self {
        Self(self.0.saturating_sub(span))
    }
}

impl Drift {
    /// No difference.
    pub const ZERO: Self = Self(0);

    /// From milliseconds, positive for later.
    pub const fn from_millis(millis: i64) -> Self {
        Self(millis)
    }

    /// In milliseconds, positive for later.
    pub const fn millis(self) -> i64 {
        self.0
    }

    /// Its length without its direction.
    pub const fn size(self) -> Span {
        Span(self.0.unsigned_abs())
    }

    /// Whether it points back in time.
    pub const fn is_early(self) -> bool {
        self.0 < 0
    }
}

impl Add for Span {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Span {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Mul<u64> for Span {
    type Output = Self;
    fn mul(self, times: u64) -> Self {
        Self(self.0.saturating_mul(times))
    }
}

impl Div<u64> for Span {
    type Output = Self;
    fn div(self, parts: u64) -> Self {
        Self(self.0 / parts)
    }
}

impl Add<Span> for RunTime {
    type Output = Self;
    fn add(self, span: Span) -> Self {
        Self(self.0 + span)
    }
}

/// The length of time between two moments, whichever came first.
impl Sub for RunTime {
    type Output = Drift;
    fn sub(self, other: Self) -> Drift {
        self.drift_from(other)
    }
}

impl Serialize for Span {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(&Iso(self.0, false))
    }
}

impl<'de> Deserialize<'de> for Span {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        match signed(from)? {
            (millis, false) => Ok(Self(millis)),
            (_, true) => Err(D::Error::custom("expected a span that is not negative")),
        }
    }
}

impl Serialize for RunTime {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        self.0.serialize(to)
    }
}

impl<'de> Deserialize<'de> for RunTime {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Span::deserialize(from).map(Self)
    }
}

impl Serialize for Drift {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(&Iso(self.0.unsigned_abs(), self.0 < 0))
    }
}

impl<'de> Deserialize<'de> for Drift {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let (millis, negative) = signed(from)?;
        let millis = i64::try_from(millis).map_err(|_| D::Error::custom("duration too long"))?;
        Ok(Self(if negative { -millis } else { millis }))
    }
}

fn signed<'de, D: Deserializer<'de>>(from: D) -> Result<(u64, bool), D::Error> {
    struct Text;
    impl serde::de::Visitor<'_> for Text {
        type Value = (u64, bool);
        fn expecting(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
            f.write_str("an ISO 8601 duration such as PT12M30S")
        }
        fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Self::Value, E> {
            read_iso(text).ok_or_else(|| {
                E::custom(format_args!("expected an ISO 8601 duration such as PT12M30S, found {text:?}"))
            })
        }
    }
    from.deserialize_str(Text)
}

/// Milliseconds and whether it is negative, as ISO 8601: hours, minutes and seconds.
struct Iso(u64, bool);

impl core::fmt::Display for Iso {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        if self.1 {
            f.write_str("-")?;
        }
        let (secs, millis) = (self.0 / 1000, self.0 % 1000);
        let (h, m, s) = (secs / 3600, secs / 60 % 60, secs % 60);
        f.write_str("PT")?;
        if h > 0 {
            write!(f, "{h}H")?;
        }
        if m > 0 {
            write!(f, "{m}M")?;
        }
        if millis > 0 {
            let digits = alloc::format!("{millis:03}");
            write!(f, "{s}.{}S", digits.trim_end_matches('0'))?;
        } else if s > 0 || self.0 == 0 {
            write!(f, "{s}S")?;
        }
        Ok(())
    }
}

/// Reads what [`Iso`] writes, and days in front; milliseconds are the finest part that is kept.
pub(crate) fn read_iso(text: &str) -> Option<(u64, bool)> {
    let (text, negative) = match text.strip_prefix('-') {
        Some(rest) => (rest, true),
        None => (text, false),
    };
    let rest = text.strip_prefix('P')?;
    let (days, time) = match rest.split_once('T') {
        Some((days, time)) if !time.is_empty() => (days, time),
        None if !rest.is_empty() => (rest, ""),
        _ => return None,
    };
    let mut millis: u64 = 0;
    if !days.is_empty() {
        let days: u64 = whole(days.strip_suffix('D')?)?;
        millis = days.checked_mul(86_400_000)?;
    }
    let mut rest = time;
    for (unit, worth) in [('H', 3_600_000), ('M', 60_000), ('S', 1000)] {
        if let Some((number, after)) = rest.split_once(unit) {
            let part = if unit == 'S' { decimal_millis(number)? } else { whole(number)?.checked_mul(worth)? };
            millis = millis.checked_add(part)?;
            rest = after;
        }
    }
    rest.is_empty().then_some((millis, negative))
}

fn whole(digits: &str) -> Option<u64> {
    (!digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit())).then(|| digits.parse().ok())?
}

fn decimal_millis(number: &str) -> Option<u64> {
    let (whole_part, fraction) = number.split_once(['.', ',']).unwrap_or((number, "0"));
    let fraction = fraction.get(..3.min(fraction.len()))?;
    let scale = 10u64.pow(3 - fraction.len() as u32);
    whole(whole_part)?.checked_mul(1000)?.checked_add(whole(fraction)? * scale)
}
