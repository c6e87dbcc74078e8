use serde::{Deserialize, Serialize};

macro_rules! measured {
    ($(#[$doc:meta])* $name:ident, $inner:ty, $per_unit:literal, $unit:literal, $smallest:literal, $low:expr, $high:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub struct $name($inner);

        impl $name {
            #[doc = concat!("From ", $unit, ", rounded; nothing if it is not a number or outside the range of this type.")]
            pub fn from_units(units: f64) -> Option<Self> {
                let scaled = libm::round(units * $per_unit);
                // NaN is in no range
                ($low..=$high).contains(&scaled).then_some(Self(scaled as $inner))
            }

            #[doc = concat!("From ", $smallest, "; for constants and converters.")]
            pub const fn from_smallest(raw: $inner) -> Self {
                Self(raw)
            }

            #[doc = concat!("In ", $smallest, ".")]
            pub const fn smallest(self) -> $inner {
                self.0
            }

            #[doc = concat!("In ", $unit, ".")]
            pub fn units(self) -> f64 {
                self.0 as f64 / $per_unit
            }
        }
    };
}

measured!(
    /// A voltage, in nanovolts: a type K thermocouple gives about 4 of them for 0.0001 °C.
    Volts, i64, 1e9, "volts", "nanovolts", -1e15, 1e15
);
measured!(
    /// A resistance, in micro-ohms: a Pt100 gives about 38 of them for 0.0001 °C.
    Ohms, u64, 1e6, "ohms", "micro-ohms", 0.0, 1e18
);
measured!(
    /// A pressure, in millipascals.
    Pascals, u64, 1e3, "pascals", "millipascals", 0.0, 1e15
);

impl Volts {
    /// From millivolts, the unit of the thermocouple tables; nothing if it is not a number or is absurdly large.
    pub fn from_millivolts(millivolts: f64) -> Option<Self> {
        Self::from_units(millivolts / 1e3)
    }

    /// In millivolts.
    pub fn millivolts(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// The sum; stops at the ends of the range.
    pub const fn plus(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }

    /// The difference; stops at the ends of the range.
    pub const fn minus(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Ohms {
    /// From whole ohms; for constants.
    pub const fn whole(ohms: u32) -> Self {
        Self(ohms as u64 * 1_000_000)
    }
}

impl Pascals {
    /// From hectopascals, the unit of a barometer; nothing if it is not a number, negative or absurdly large.
    pub fn from_hectopascals(hectopascals: f64) -> Option<Self> {
        Self::from_units(hectopascals * 100.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_is_no_voltage() {
        assert_eq!(Volts::from_units(f64::NAN), None);
        assert_eq!(Volts::from_units(f64::INFINITY), None);
        assert_eq!(Ohms::from_units(-1.0), None);
        assert_eq!(Pascals::from_units(-0.6), None);
    }

    #[test]
    fn a_nanovolt_is_kept() {
        assert_eq!(Volts::from_millivolts(-1.526948).map(Volts::smallest), Some(-1_526_948));
        assert_eq!(Ohms::whole(100), Ohms::from_units(100.0).unwrap_or_default());
    }
}
