use core::ops::{Add, Neg, Sub};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

/// A temperature, in steps of 0.0001 °C.
///
/// Serialized as a number of degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Celsius(i32);

/// A difference of two temperatures, in steps of 0.0001 °C.
///
/// Serialized as a number of degrees Celsius.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CelsiusStep(i32);

const PER_DEGREE: i32 = 10_000;

impl Celsius {
    /// Nothing in physics is colder.
    pub const ABSOLUTE_ZERO: Self = Self(-2_731_500);
    /// Hotter than any kitchen; keeps sums far from overflow.
    pub const HIGHEST: Self = Self(20_000_000);

    /// Whole degrees; for constants.
    pub const fn whole(degrees: i16) -> Self {
        let ten_thousandths = degrees as i32 * PER_DEGREE;
        assert!(ten_thousandths >= Self::ABSOLUTE_ZERO.0 && ten_thousandths <= Self::HIGHEST.0);
        Self(ten_thousandths)
    }

    /// Rounded to the nearest 0.0001 °C; nothing if it is not a number or outside the range of this type.
    pub fn from_degrees(degrees: f64) -> Option<Self> {
        ten_thousandths(degrees).map(Self).filter(|c| (Self::ABSOLUTE_ZERO..=Self::HIGHEST).contains(c))
    }

    /// From steps of 0.0001 °C; nothing outside the range of this type.
    pub fn from_ten_thousandths(raw: i32) -> Option<Self> {
        Some(Self(raw)).filter(|c| (Self::ABSOLUTE_ZERO..=Self::HIGHEST).contains(c))
    }

    /// Steps of 0.0001 °C.
    pub const fn ten_thousandths(self) -> i32 {
        self.0
    }

    /// For doneness maths and drawing.
    pub fn degrees(self) -> f64 {
        f64::from(self.0) / f64::from(PER_DEGREE)
    }
}

impl CelsiusStep {
    /// No difference.
    pub const ZERO: Self = Self(0);
    /// Half a degree.
    pub const HALF: Self = Self(PER_DEGREE / 2);

    /// Whole degrees of difference; for constants.
    pub const fn whole(degrees: i16) -> Self {
        Self(degrees as i32 * PER_DEGREE)
    }

    /// Rounded to the nearest 0.0001 °C; nothing if it is not a number or is absurdly large.
    pub fn from_degrees(degrees: f64) -> Option<Self> {
        ten_thousandths(degrees).filter(|raw| raw.unsigned_abs() < 100_000_000).map(Self)
    }

    /// From steps of 0.0001 °C; for constants.
    pub const fn from_ten_thousandths(raw: i32) -> Self {
        Self(raw)
    }

    /// Steps of 0.0001 °C.
    pub const fn ten_thousandths(self) -> i32 {
        self.0
    }

    /// For doneness maths and drawing.
    pub fn degrees(self) -> f64 {
        f64::from(self.0) / f64::from(PER_DEGREE)
    }

    /// The size of the difference without its sign.
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

fn ten_thousandths(degrees: f64) -> Option<i32> {
    let scaled = libm::round(degrees * f64::from(PER_DEGREE));
    // NaN fails both comparisons
    (scaled >= f64::from(i32::MIN) && scaled <= f64::from(i32::MAX)).then_some(scaled as i32)
}

impl Sub for Celsius {
    type Output = CelsiusStep;
    fn sub(self, other: Self) -> CelsiusStep {
        CelsiusStep(self.0 - other.0)
    }
}

/// Stops at the ends of the range of [`Celsius`].
impl Add<CelsiusStep> for Celsius {
    type Output = Self;
    fn add(self, step: CelsiusStep) -> Self {
        Self(self.0.saturating_add(step.0)).clamp(Self::ABSOLUTE_ZERO, Self::HIGHEST)
    }
}

/// Stops at the ends of the range of [`Celsius`].
impl Sub<CelsiusStep> for Celsius {
    type Output = Self;
    fn sub(self, step: CelsiusStep) -> Self {
        self + -step
    }
}

impl Neg for CelsiusStep {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl Serialize for Celsius {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_f64(self.degrees())
    }
}

impl<'de> Deserialize<'de> for Celsius {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let degrees = f64::deserialize(from)?;
        Self::from_degrees(degrees).ok_or_else(|| D::Error::custom("expected a temperature from -273.15 to 2000 °C"))
    }
}

impl Serialize for CelsiusStep {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_f64(self.degrees())
    }
}

impl<'de> Deserialize<'de> for CelsiusStep {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let degrees = f64::deserialize(from)?;
        Self::from_degrees(degrees).ok_or_else(|| D::Error::custom("expected a temperature difference in °C"))
    }
}
