use serde::{Deserialize, Deserializer, Serialize, de::Error as _};

/// From a low to a high value, both included; the low one is never above the high one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct Range<T> {
    low: T,
    high: T,
}

impl<T: Copy + Ord> Range<T> {
    /// Nothing if `low` is above `high`.
    pub fn new(low: T, high: T) -> Option<Self> {
        (low <= high).then_some(Self { low, high })
    }

    /// A range of one value.
    pub const fn exactly(value: T) -> Self {
        Self { low: value, high: value }
    }

    /// The low end.
    pub const fn low(&self) -> T {
        self.low
    }

    /// The high end.
    pub const fn high(&self) -> T {
        self.high
    }

    /// Whether both ends are the same.
    pub fn is_exact(&self) -> bool {
        self.low == self.high
    }

    /// Whether `value` lies in it, ends included.
    pub fn contains(&self, value: T) -> bool {
        self.low <= value && value <= self.high
    }
}

impl Range<crate::Span> {
    /// Half way between the ends.
    pub fn middle(&self) -> crate::Span {
        self.low + self.high.saturating_sub(self.low) / 2
    }
}

impl<'de, T: Deserialize<'de> + Copy + Ord> Deserialize<'de> for Range<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        struct Ends<T> {
            low: T,
            high: T,
        }
        let ends = Ends::deserialize(from)?;
        Self::new(ends.low, ends.high)
            .ok_or_else(|| D::Error::custom("expected a range whose low end is not above its high end"))
    }
}
